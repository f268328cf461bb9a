package judge

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/spec"
	"trammel/spec/unit"
)

func TestAboveAndReaches(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		x, y           float64
		above, reaches bool
	}{
		{1, 1, false, true}, {1.001, 1, true, true}, {0.999, 1, false, false}, {3, 2, true, true}, {2, 3, false, false},
		{0.1 + 0.2, 0.3, false, true}, {0.3, 0.1 + 0.2, false, true}, // apart by rounding
		{1 + Slack, 1, false, true}, {1 - Slack, 1, false, true},
		{1 + 2*Slack, 1, true, true}, {1 - 2*Slack, 1, false, false},
		{inf, 1, true, true}, {nan, 1, false, false}, {1, nan, false, false}, {nan, nan, false, false},
	} {
		if Above(c.x, c.y) != c.above || Reaches(c.x, c.y) != c.reaches {
			t.Errorf("%g and %g: above %v, reaches %v", c.x, c.y, Above(c.x, c.y), Reaches(c.x, c.y))
		}
	}
}

// onePart is what a rule finds about one part, with limits of a policy.
func onePart(t *testing.T, rule, kind, lines, limits string) []Finding {
	t.Helper()
	files := []string{"s.parts.hcl", kind + " \"p\" {\n" + strings.ReplaceAll(lines, "; ", "\n") + "\n}\n"}
	if limits != "" {
		files = append(files, "p.policy.hcl", "rule \""+rule+"\" {\n"+strings.ReplaceAll(limits, "; ", "\n")+"\nreason = \"r\"\n}\n")
	}
	o := run(testaxis.Memory(files...), Options{}, "s.parts.hcl")
	for _, f := range o.Findings {
		if f.OfText() {
			t.Fatalf("%s\n%v", f.Message, files)
		}
	}
	return ofRule(o.Findings, rule)
}

// A part at a limit holds, and one a little beyond does not, with the share of
// the limit it uses. A lead of π · d makes a lead angle of 45°, and leaves
// d · π · cos 45° between neighbouring turns.
func TestPartLimits(t *testing.T) {
	steep := fmt.Sprintf("nominal_diameter = \"16 mm\"; lead = \"%.15g mm\"", 16*math.Pi)
	room := 16 * math.Pi * math.Cos(math.Pi/4)
	ball := func(d float64) string { return fmt.Sprintf("; ball_diameter = \"%.15g mm\"", d) }
	for _, c := range []struct {
		rule, kind, lines, limits string
		use                       float64 // NaN: nothing is found; 0: found, without a limit
	}{
		{"lead-angle", "screw", steep, `most = "45 deg"`, math.NaN()},
		{"lead-angle", "screw", steep, `most = "44.9 deg"`, 45 / 44.9},
		{"lead-angle", "screw", steep, `most = "60 deg"; least = "45 deg"`, math.NaN()},
		{"lead-angle", "screw", steep, `most = "60 deg"; least = "45.1 deg"`, 45.1 / 45},
		{"ball-room", "screw", steep + ball(room/2), `turns = "50 %"; circle = "200 %"`, math.NaN()},
		{"ball-room", "screw", steep + ball(room/2), `turns = "49 %"; circle = "200 %"`, 50.0 / 49},
		{"ball-room", "screw", steep + ball(0.999*room), `circle = "300 %"`, 0.999 / 0.9},
		{"ball-room", "screw", steep + ball(room), `circle = "300 %"`, math.NaN()}, // they overlap: see below
		{"ball-room", "screw", steep + ball(4), `circle = "25 %"`, math.NaN()},
		{"ball-room", "screw", steep + ball(4), `circle = "24 %"`, 25.0 / 24},
		{"static-rating", "screw", `dynamic_rating = "10 kN"; static_rating = "20 kN"`, `limit = 2`, math.NaN()},
		{"static-rating", "screw", `dynamic_rating = "10 kN"; static_rating = "20 kN"`, `limit = 2.5`, 1.25},
		{"static-rating", "screw", `dynamic_rating = "10 kN"`, `limit = 2.5`, math.NaN()},
		{"part-contradiction", "screw", steep + ball(room), "", 0},
		{"part-contradiction", "screw", steep + ball(0.999*room), "", math.NaN()},
		{"part-contradiction", "screw", `nominal_diameter = "16 mm"; root_diameter = "16 mm"`, "", 0},
		{"part-contradiction", "screw", `nominal_diameter = "16 mm"; root_diameter = "15.99 mm"`, "", math.NaN()},
		{"part-contradiction", "screw", `ball_circle_diameter = "16 mm"; root_diameter = "16 mm"`, "", 0},
		{"part-contradiction", "screw", `ball_circle_diameter = "16 mm"; root_diameter = "15.99 mm"`, "", math.NaN()},
		// 20 mm less 85 % of 4 mm are 16.6 mm.
		{"part-contradiction", "screw", `ball_circle_diameter = "20 mm"; ball_diameter = "4 mm"; root_diameter = "16.6 mm"`, "", math.NaN()},
		{"part-contradiction", "screw", `ball_circle_diameter = "20 mm"; ball_diameter = "4 mm"; root_diameter = "16.61 mm"`, "", 0},
		{"part-contradiction", "motor", `rated_torque = "2 N m"; peak_torque = "2 N m"`, "", math.NaN()},
		{"part-contradiction", "motor", `rated_torque = "2.01 N m"; peak_torque = "2 N m"`, "", 0},
		{"part-contradiction", "motor", `rated_speed = "3000 rpm"; max_speed = "3000 rpm"`, "", math.NaN()},
		{"part-contradiction", "motor", `rated_speed = "3001 rpm"; max_speed = "3000 rpm"`, "", 0},
		{"part-contradiction", "grease", `min_temperature = "20 °C"; max_temperature = "20 °C"`, "", 0},
		{"part-contradiction", "grease", `min_temperature = "19 °C"; max_temperature = "20 °C"`, "", math.NaN()},
		{"part-contradiction", "environment", `min_temperature = "20 °C"; max_temperature = "20 °C"`, "", math.NaN()},
		// At a lead angle of 45° a friction of 0.003 leaves 0.994; 0.03 more is not to be
		// had, and three quarters of it are 0.7455.
		{"part-contradiction", "screw", steep + `; friction = 0.02; efficiency = 0.99`, "", math.NaN()},
		{"part-contradiction", "screw", steep + `; friction = 0.02; efficiency = 0.992`, "", 0},
		{"part-contradiction", "screw", steep + `; friction = 0.003; efficiency = 0.746`, "", math.NaN()},
		{"part-contradiction", "screw", steep + `; friction = 0.003; efficiency = 0.745`, "", 0},
		{"part-contradiction", "grease", `min_temperature = "21 °C"; max_temperature = "20 °C"`, "", 0},
		// Balls larger than the circle they run on: nothing can be estimated.
		{"rating-estimate", "screw", `nominal_diameter = "20 mm"; ball_diameter = "20 mm"; lead = "60 mm"; loaded_turns = 3; dynamic_rating = "1 N"; static_rating = "1 N"`, "", math.NaN()},
	} {
		found := onePart(t, c.rule, c.kind, c.lines, c.limits)
		switch {
		case math.IsNaN(c.use):
			if len(found) > 0 {
				t.Errorf("%s of %q with %q: %s", c.rule, c.lines, c.limits, found[0].Message)
			}
		case len(found) != 1:
			t.Errorf("%s of %q with %q: %d findings", c.rule, c.lines, c.limits, len(found))
		case c.use == 0 && !math.IsNaN(found[0].Utilisation), c.use > 0 && math.Abs(found[0].Utilisation-c.use) > 1e-9:
			t.Errorf("%s of %q with %q uses %g, want %g", c.rule, c.lines, c.limits, found[0].Utilisation, c.use)
		}
	}
}

// What an estimate is written to two digits, and a limit is kept at the factor
// itself. The estimate is read from the finding of a rating ten times as large.
func TestRatingEstimateWords(t *testing.T) {
	const balls = `nominal_diameter = "16 mm"; ball_circle_diameter = "16.7 mm"; ball_diameter = "3.1 mm"; lead = "5 mm"; loaded_turns = 3; `
	found := onePart(t, "rating-estimate", "screw", balls+`dynamic_rating = "100 kN"`, "")
	if len(found) != 1 {
		t.Fatalf("%d findings", len(found))
	}
	_, about, _ := strings.Cut(found[0].Message, "about ")
	about, _, _ = strings.Cut(about, " estimated")
	q, err := unit.Parse(about, unit.Force)
	if err != nil || strings.Contains(found[0].Message, "NaN") {
		t.Fatalf("%q: %v", found[0].Message, err)
	}
	if digits := strings.Trim(strings.TrimRight(strings.Fields(about)[0], "0"), "."); len(strings.ReplaceAll(digits, ".", "")) > 2 {
		t.Errorf("%q has more than two digits", about)
	}
	estimate := 100e3 / (2 * found[0].Utilisation) // the limit is a factor of 2
	if math.Abs(q.Nominal-estimate) > 0.05*estimate {
		t.Errorf("about %g N, but a rating of 100 kN is %g times that", q.Nominal, 2*found[0].Utilisation)
	}
	for factor, n := range map[float64]int{1.9999: 0, 2.0001: 1, 1 / 1.9999: 0, 1 / 2.0001: 1} {
		if found := onePart(t, "rating-estimate", "screw", balls+fmt.Sprintf("dynamic_rating = \"%.12g N\"", factor*estimate), ""); len(found) != n {
			t.Errorf("%g times what is expected: %d findings", factor, len(found))
		}
	}
	exact := onePart(t, "rating-estimate", "screw", balls+`dynamic_rating = "100 kN"`, fmt.Sprintf("limit = %.15g", 2*found[0].Utilisation))
	if len(exact) != 0 {
		t.Errorf("at the limit itself: %s", exact[0].Message)
	}
}

// A run that asks for units shows the lines of a part in them.
func TestPartInAskedUnits(t *testing.T) {
	in := unit.Inch
	o := run(testaxis.Memory("s.parts.hcl", "screw \"p\" {\n  nominal_diameter = \"25.4 mm\"\n  root_diameter = \"25.4 mm\"\n  starts = 2\n lead = \"1 in\"\nball_diameter = \"1 in\"\n}\n"), Options{Units: &in}, "s.parts.hcl")
	f := wantFinding(t, o.Findings, "part-contradiction", `root diameter 1 in of screw.p is not smaller than its nominal diameter 1 in`)
	if f != nil && strings.Contains(f.Message, "mm") {
		t.Error(f.Message)
	}
	wantFinding(t, o.Findings, "part-contradiction", `overlap between turns: lead 1 in with starts 2 leaves`)
}

// A part that an axis uses twice is spoken of once.
func TestOfPartsOnce(t *testing.T) {
	files := testaxis.Memory("a.axis.hcl", "axis \"a\" {\n  supports {\n    drive_end_part = support.s\n    far_end_part = support.s\n  }\n screw {\n part = screw.p\n}\n}\n",
		"s.parts.hcl", "screw \"p\" {\n  nominal_diameter = \"16 mm\"\n  lead = \"40 mm\"\n}\nsupport \"s\" {\n kind = \"fixed\"\n bore = \"11 mm\"\n}\n")
	n := 0
	run(files, Options{Each: func(r *Report) {
		n++
		parts := r.View.Axis.Parts()
		if len(parts) < 2 {
			t.Errorf("%d parts", len(parts))
		}
		seen := map[string]int{}
		for _, f := range r.OfParts() {
			seen[f.Rule+" "+f.Cause]++
		}
		if seen["lead-angle screw.p.lead"] != 1 {
			t.Errorf("%v", seen)
		}
		for what, times := range seen {
			if times > 1 {
				t.Errorf("%s is said %d times", what, times)
			}
		}
	}})
	if n != 1 {
		t.Errorf("%d axes", n)
	}
}

// A policy's limit is in the words of every rule of parts, and its place beside.
func TestPartPolicyWords(t *testing.T) {
	screw := `nominal_diameter = "16 mm"; lead = "40 mm"; ball_diameter = "3 mm"; loaded_turns = 3; dynamic_rating = "1 kN"; static_rating = "0.5 kN"`
	for _, r := range Book().All() {
		for _, l := range r.Limits {
			if !r.OfParts() || r.Name == "magnitude" { // which names the range, not the factor
				continue
			}
			value := map[string]string{"lead-angle least": `"60 deg"`, "lead-angle most": `"30 deg"`, "ball-room turns": `"7 %"`, "ball-room circle": `"7 %"`, "static-rating limit": "7", "rating-estimate limit": "1.1"}[r.Name+" "+l.Name]
			found := onePart(t, r.Name, "screw", screw, l.Name+" = "+value)
			found = slices.DeleteFunc(found, func(f Finding) bool { return len(f.Related) == 0 })
			if len(found) == 0 {
				t.Errorf("%s: nothing is found with %s %s", r.Name, l.Name, value)
			}
			for _, f := range found {
				if shown := strings.NewReplacer(`"`, "", " deg", "°").Replace(value); !strings.HasSuffix(f.Message, " "+shown) || f.Related[0].Place.File != "p.policy.hcl" {
					t.Errorf("%s: %q does not end with %s; beside it: %+v", r.Name, f.Message, shown, f.Related)
				}
			}
		}
	}
}

// A waiver of another rule does not reach a finding, nor does one that cannot be
// read; one for a rule of all parts together does.
func TestWaiversOfParts(t *testing.T) {
	waive := func(rule, part, until string) string {
		return fmt.Sprintf("waive %q {\n  parts = [%q]\n  reason = \"x\"\n  until = %q\n}\n", rule, part, until)
	}
	for _, x := range []struct {
		policy, rule string
		waived       bool
	}{
		{waive("static-rating", "screw.steep", "2030-01-01"), "lead-angle", false},
		{waive("lead-angle", "screw.steep", "2030-01-01"), "lead-angle", true},
		{waive("lead-angle", "screw.steep", "soon"), "lead-angle", false},
		{waive("unused-part", "screw.steep", "2030-01-01"), "unused-part", true},
		{waive("unused-part", "screw.flat", "2030-01-01"), "unused-part", false},
	} {
		o := run(testaxis.Memory("s.parts.hcl", steepScrews, "p.policy.hcl", x.policy+"rule \"unused-part\" {\n  severity = \"warning\"\n}\n"), Options{Whole: true}, "s.parts.hcl")
		n := 0
		for _, f := range ofRule(o.Findings, x.rule) {
			if strings.HasPrefix(f.Cause, "screw.steep") {
				n++
				if (f.Waiver != nil) != x.waived || x.waived && f.WaiverPlace.File != "p.policy.hcl" {
					t.Errorf("%q: %s waived: %v, at %v", x.policy, x.rule, f.Waiver != nil, f.WaiverPlace)
				}
			}
		}
		if n != 1 {
			t.Errorf("%q: %d findings of %s", x.policy, n, x.rule)
		}
	}
}

// Two parts hardly differ up to 15 % of rating, and the later one is named,
// whatever order they come in.
func TestVarietyInAnyOrder(t *testing.T) {
	part := func(name string, line int32, rating float64) PartFacts {
		f := PartFacts{Kind: "screw", Name: name, Ref: "screw." + name, Place: spec.Place{File: "s.parts.hcl", Line: line, Col: 1}, Listed: true, Values: map[string]PartValue{
			"nominal_diameter": {"20 mm", 0.02}, "lead": {"10 mm", 0.01}, "process": {"rolled", 0}, "dynamic_rating": {fmt.Sprint(rating), rating},
		}}
		for range Book().AcrossParts() {
			f.Asked = append(f.Asked, PartAsked{Severity: Warning})
		}
		return f
	}
	yes := func(spec.Place) bool { return true }
	for second, want := range map[float64]string{8500: "screw.a and screw.b are nearly the same", 8499: "", 10000: "screw.a and screw.b are nearly the same"} {
		a, b := part("a", 1, 10000), part("b", 9, second)
		for _, list := range [][]PartFacts{{a, b}, {b, a}} {
			got := ""
			for _, f := range ofRule(Book().InTree(list, yes, true), "variety") {
				got += f.Message
			}
			if (got == "") != (want == "") || !strings.HasPrefix(got, want) {
				t.Errorf("10 kN and %g N, %s first: %q, want %q", second, list[0].Name, got, want)
			}
		}
	}
}

// A fault of a part without a limit uses none, and one milder than its rule is
// as mild as it says.
func TestPartFinding(t *testing.T) {
	tree := spec.NewTree(testaxis.Memory("a.axis.hcl", "axis \"a\" {\n}\n", "s.parts.hcl", "screw \"p\" {\n  lead = \"10 mm\"\n}\n"))
	folder := tree.ReadAxes("a.axis.hcl").Axes[0].Folder
	j := Book().NewJudge(testaxis.SomeDay, false)
	v := j.ViewPart(folder, folder.Visible("screw")[0])
	r := Book().ByName("part-contradiction")
	for _, c := range []struct {
		fault    PartFault
		use      float64
		severity Severity
	}{
		{PartFault{}, math.NaN(), Error},
		{PartFault{Compared: Compared{Value: 3, Limit: 2}}, 1.5, Error},
		{PartFault{Compared: Compared{Value: 2, Limit: 2, Sense: AtLeast}, Severity: Note}, 1, Note},
		{PartFault{Severity: Warning}, math.NaN(), Warning},
	} {
		f := j.partFinding(r, v, c.fault)
		if f.Severity != c.severity || f.Utilisation != c.use && !(math.IsNaN(f.Utilisation) && math.IsNaN(c.use)) {
			t.Errorf("%+v: severity %v, use %g", c.fault, f.Severity, f.Utilisation)
		}
	}
}

// Names of the language's own checks are proposed too, and so are the rules'.
func TestNamesNearby(t *testing.T) {
	for wrong, want := range map[string]string{"sintax": "syntax", "duplicate-nam": "duplicate-name", "lead-angel": "lead-angle"} {
		if got := DidYouMean(wrong, Book().names()); got != "did you mean "+want+"?" {
			t.Errorf("%s: %q", wrong, got)
		}
	}
	if !slices.IsSortedFunc(Book().All(), func(a, b *Rule) int { return strings.Compare(a.Name, b.Name) }) {
		t.Error("the rules are not in order of their names")
	}
	for i, r := range Book().All() {
		if r.Index != i {
			t.Errorf("%s stands at %d", r.Name, i)
		}
	}
}
