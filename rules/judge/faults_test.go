package judge

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// TestUse: how much of a limit is used, on either side of it and where there is
// nothing to divide by.
func TestUse(t *testing.T) {
	inf := math.Inf(1)
	for _, x := range []struct {
		sense        Sense
		value, limit float64
		want         float64
	}{
		{AtMost, 3, 4, 0.75}, {AtMost, 4, 4, 1}, {AtMost, 8, 4, 2}, {AtMost, 0, 4, 0}, {AtMost, 3, inf, 0},
		{AtMost, 3, 0, inf}, {AtMost, 0, 0, 0}, {AtMost, -1, 0, 0}, {AtMost, 1, -1, inf},
		{AtLeast, 4, 3, 0.75}, {AtLeast, 4, 4, 1}, {AtLeast, 4, 8, 2}, {AtLeast, inf, 3, 0},
		{AtLeast, 0, 3, inf}, {AtLeast, 0, 0, 0}, {AtLeast, 3, 0, 0},
	} {
		c := mechanics.NewCalc()
		c.Set(mechanics.Lead, x.value)
		c.Set(mechanics.Span, 2)
		for _, against := range []*mechanics.Quantity{nil, mechanics.Span} {
			test, limit := &Test{Limit: Limit{Sense: x.sense}, Value: mechanics.Lead, Against: against}, x.limit
			if against != nil {
				limit /= 2
			}
			if got := test.utilisation(c, limit); got != x.want {
				t.Errorf("%s: %g against %g uses %g, expected %g", x.sense, x.value, x.limit, got, x.want)
			}
		}
	}
}

// TestTheLimitItself: a length that is just enough holds, one a little short
// does not.
func TestTheLimitItself(t *testing.T) {
	for _, x := range []struct {
		rule  string
		holds []string
		fails []string
	}{
		// 720 mm of stroke, twice 15 mm, a nut of 50 mm and ends of 170 mm: 970 mm.
		{"shaft-length", []string{"screw.length", `"970 mm"`}, []string{"screw.length", `"969.99 mm"`}},
		{"travel-room", []string{"supports.span", `"800 mm"`}, []string{"supports.span", `"799.99 mm"`}},
		{"travel-room", []string{"supports.loaded_length", `"750 mm"`}, []string{"supports.loaded_length", `"749.99 mm"`}},
		// 980 mm less ends of 170 mm are 810 mm of thread, 98 % of it 793.8 mm.
		{"shaft-layout", []string{"supports.span", `"793.8 mm"`}, []string{"supports.span", `"793.79 mm"`}},
		// 980 mm less a quarter of 170 mm.
		{"shaft-layout", []string{"supports.span", `"937.5 mm"`}, []string{"supports.span", `"937.51 mm"`}},
		{"shaft-length", []string{"screw.longest", `"980 mm"`}, []string{"screw.longest", `"979.99 mm"`}},
		{"end-journal", []string{"screw.end_diameters", `["15 mm", "12 mm"]`}, []string{"screw.end_diameters", `["14.99 mm", "12 mm"]`}}, // the bore is 15 mm
		{"end-journal", []string{"screw.end_diameters", `["17.3 mm", "20 mm"]`}, []string{"screw.end_diameters", `["17.31 mm", "20 mm"]`}},
		{"end-journal", []string{"screw.end_diameters", `["20 mm", "17.3 mm"]`}, []string{"screw.end_diameters", `["20 mm", "17.31 mm"]`}},
		{"contradiction", []string{"supports.span", `"980 mm"`}, []string{"supports.span", `"980.01 mm"`}},
		{"contradiction", []string{"supports.loaded_length", `"800 mm"`}, []string{"supports.loaded_length", `"800.01 mm"`}},
		{"part-contradiction", []string{"screw.root_diameter", `"19.99 mm"`}, []string{"screw.root_diameter", `"20 mm"`}},
		{"contradiction", []string{"load.counterbalance", `"0 N"`}, []string{"load.counterbalance", `"0.5 N"`}},
		{"contradiction", []string{"nut.backlash", `"0 mm"`}, []string{"nut.backlash", `"0.01 mm"`}},
		{"contradiction", []string{"nut.backlash", `"0.01 mm"`, "nut.preload", `"0 N"`}, []string{"nut.backlash", `"0.01 mm"`, "nut.preload", `"0.1 N"`}},
	} {
		if r := judge(testaxis.WholeSheet().With(x.holds...), Options{}).results[x.rule]; r.State != Passed {
			t.Errorf("%s with %q: %s %s", x.rule, x.holds, r.State, r.Why)
		}
		v := judge(testaxis.WholeSheet().With(x.fails...), Options{})
		if r := v.results[x.rule]; r.State != Failed {
			t.Errorf("%s with %q: %s %s", x.rule, x.fails, r.State, r.Why)
		}
		for _, f := range v.of(x.rule) {
			if strings.Contains(f.Cause, "[") || f.Cause == "" {
				t.Errorf("%s with %q is about %q, expected a line of the axis", x.rule, x.fails, f.Cause)
			}
		}
	}
}

// TestWeakerFaults: some faults of a rule are less than the rule's other ones,
// as its page says.
func TestWeakerFaults(t *testing.T) {
	for _, x := range []struct {
		rule  string
		lines []string
		want  Severity
	}{
		{"grade-process", []string{"screw.grade", `"C3"`, "screw.process", `"rolled"`}, Error},
		{"grade-process", []string{"screw.grade", `"C10"`, "screw.process", `"ground"`}, Warning},
		{"support-kind", []string{"drive_support.kind", `"supported"`}, Error},
		{"support-kind", []string{"supports.drive_end", `"supported"`, "supports.far_end", `"fixed"`}, Warning},
		{"shared-load", []string{"load.screws", "2"}, Error},
		{"shared-load", []string{"load.screws", "2", "load.unevenness", "1"}, Note},
		{"shared-load", []string{"load.screws", "2", "load.unevenness", "1.2", "screw.grade", `"T7"`}, Warning},
		{"shared-load", []string{"load.screws", "2", "load.unevenness", "2.1"}, Error},
		{"shared-load", []string{"load.screws", "2", "load.unevenness", "1.2", "drive.screws", "3"}, Error},
	} {
		found := judge(testaxis.WholeSheet().With(x.lines...), Options{}).of(x.rule)
		if len(found) != 1 || found[0].Severity != x.want {
			t.Errorf("%s with %q: expected one %s, found %+v", x.rule, x.lines, x.want, found)
		}
		if len(found) > 0 && (strings.Contains(found[0].Cause, "[") || found[0].Cause == "") {
			t.Errorf("%s with %q is about %q, expected a line of the axis", x.rule, x.lines, found[0].Cause)
		}
		// A policy that makes the rule a note makes all of its faults notes.
		found = judge(testaxis.WholeSheet().With(x.lines...), Options{}, "line/x.policy.hcl", "rule \""+x.rule+"\" {\n  severity = \"note\"\n  reason = \"r\"\n}").of(x.rule)
		if len(found) != 1 || found[0].Severity != Note {
			t.Errorf("%s as a note, with %q: found %+v", x.rule, x.lines, found)
		}
	}
}

// inputs lists what a finding names as having taken part.
func (f *Finding) inputs() (words []string) {
	for _, e := range f.Inputs {
		words = append(words, e.Words)
	}
	return words
}

// TestFaultNamesWhatEnters: a fault names the other lines it was seen by, and
// not its own.
func TestFaultNamesWhatEnters(t *testing.T) {
	for _, x := range []struct {
		rule  string
		lines []string
		want  []string
	}{
		{"flange-orientation", []string{"nut.flange_toward", `"supported"`}, []string{"drive end fixed", "far end supported"}},
		{"grade-process", []string{"screw.grade", `"C3"`, "screw.process", `"rolled"`}, []string{"process rolled"}},
		{"end-journal", []string{"screw.end_diameters", `["18 mm", "19 mm"]`}, []string{"root diameter 17.3 mm"}},
		{"end-journal", []string{"drive_support.bore", `"16 mm"`}, []string{"bore 16 mm"}},
		{"support-kind", []string{"drive_support.kind", `"supported"`}, []string{"drive end fixed", "kind supported"}},
		{"preferred-size", []string{"screw.lead", `"11 mm"`}, nil},
		{"contamination", []string{"environment.dust", "true"}, nil},
	} {
		found := judge(testaxis.WholeSheet().With(x.lines...), Options{}).of(x.rule)
		if len(found) != 1 || !slices.Equal(found[0].inputs(), x.want) {
			t.Errorf("%s with %q: %+v, expected one that names %q", x.rule, x.lines, found, x.want)
		}
		for _, f := range found {
			if strings.Contains(f.Cause, "[") || f.Cause == "" {
				t.Errorf("%s with %q is about %q, expected a line of the axis", x.rule, x.lines, f.Cause)
			}
		}
	}
}

// TestMoveInputs: what a finding about a move names is of that move. 40 mm are
// too short for two ramps of 0.15 s to 0.4 m/s.
func TestMoveInputs(t *testing.T) {
	for i, name := range []string{"out", "back"} {
		s := testaxis.WholeSheet()
		s.Set("motion.move.distance", i, `"40 mm"`)
		f := wantFinding(t, judge(s, Options{}).findings, "peak-speed", "too short for its ramps")
		if f == nil {
			continue
		}
		if want := []string{"distance of move " + name + " 40 mm", "ramp of move " + name + " 0.15 s"}; !slices.Equal(f.inputs(), want) {
			t.Errorf("%q take part, expected %q", f.inputs(), want)
		}
		if want := "motion.move.speed[" + name + "]"; f.Cause != want {
			t.Errorf("it is about %s, expected %s", f.Cause, want)
		}
		// √(0.04 m · 0.4 m/s / 0.15 s) = 0.3266 m/s.
		if want := "move " + name + " reaches 0.327 m/s, not the declared 0.4 m/s: 40 mm is too short for its ramps"; f.Message != want {
			t.Errorf("%q, expected %q", f.Message, want)
		}
	}
	// Of two moves that are as short the first is named.
	if f := wantFinding(t, judge(testaxis.WholeSheet().With("motion.move.distance", `"40 mm"`), Options{}).findings, "peak-speed"); f != nil && f.Cause != "motion.move.speed[out]" {
		t.Errorf("it is about %s", f.Cause)
	}
	// The harder move is the one with the thrust.
	for i, name := range []string{"out", "back"} {
		s := testaxis.WholeSheet().With("motion.move.thrust", "")
		s.Set("motion.move.thrust", i, `"3 kN"`)
		if f := wantFinding(t, judge(s, Options{}).findings, "motor-peak-torque"); f != nil && !strings.HasSuffix(f.Cause, "["+name+"]") && f.Cause != "drive.motor" {
			t.Errorf("the thrust is in move %s: it is about %s", name, f.Cause)
		}
	}
}

// TestTorqueOfTheWorstShare: the torque and the share of what the motor gives
// that are said together are of one phase. Out, the thrust asks the greatest
// torque of a slow motor that gives much; back, at 4200 rpm, little torque is
// most of the little the motor gives there: 3.9 − 3.8·4100/4400 = 0.359 N·m.
func TestTorqueOfTheWorstShare(t *testing.T) {
	s := testaxis.WholeSheet().With("motor.rated_speed", `"100 rpm"`, "motor.torque_at_max_speed", `"0.1 N m"`, "motion.move.thrust", "")
	s.Set("motion.move.speed", 0, `"0.01 m/s"`)
	s.Set("motion.move.thrust", 0, `"1500 N"`)
	s.Set("motion.move.speed", 1, `"0.7 m/s"`)
	f := wantFinding(t, judge(s, Options{}).findings, "motor-peak-torque", "ramp up of move back")
	if f == nil {
		return
	}
	if f.Cause != "motion.move.ramp[back]" {
		t.Errorf("it is about %s", f.Cause)
	}
	var torque, share float64
	if _, err := fmt.Sscanf(f.Message, "motor torque %g N·m (ramp up of move back) is %g %%", &torque, &share); err != nil || math.Abs(torque/0.3591-share/100) > 0.01*share/100 {
		t.Errorf("%s: %g N·m are not %g %% of 0.359 N·m", f.Message, torque, share)
	}
}

// TestPayloadEnters: the heaviest payload takes part where there is one.
func TestPayloadEnters(t *testing.T) {
	for _, payload := range []string{"", "0", "0.5", "3"} {
		s := testaxis.WholeSheet().With("load.standstill", `"500 kN"`)
		if payload != "" {
			s.Set("motion.move.payload", 1, `"`+payload+` kg"`)
		}
		f := wantFinding(t, judge(s, Options{}).findings, "buckling")
		if f == nil {
			continue
		}
		got := slices.DeleteFunc(f.inputs(), func(s string) bool { return !strings.HasPrefix(s, "heaviest payload") })
		if want := payload > "0"; len(got) > 1 || (len(got) == 1) != want || want && got[0] != "heaviest payload of the cycle "+payload+" kg" {
			t.Errorf("with a payload of %s: %q", payload, f.inputs())
		}
	}
}

// TestSeverityWords: the words of severities, and no others.
func TestSeverityWords(t *testing.T) {
	for word, want := range map[string]Severity{"off": Off, "note": Note, "warning": Warning, "error": Error} {
		if got, ok := ParseSeverity(word); got != want || !ok || got.String() != word {
			t.Errorf("%s is %s, %v", word, got, ok)
		}
	}
	for _, word := range []string{"", "fatal", "Error", "errors"} {
		if got, ok := ParseSeverity(word); ok {
			t.Errorf("%q is taken for %s", word, got)
		}
	}
}

// TestBothEndsOfAPair: the tolerances of the two ends of a shaft add up: 58 ± 30
// and 22 ± 20 mm are 30 to 130 mm.
func TestBothEndsOfAPair(t *testing.T) {
	s := testaxis.WholeSheet().With("screw.end_lengths", `["58 mm ± 30 mm", "22 mm ± 20 mm"]`)
	for that, want := range map[string]State{
		`screw.end_lengths >= "30 mm"`: Passed, `screw.end_lengths >= "30.1 mm"`: Failed,
		`screw.end_lengths <= "130 mm"`: Passed, `screw.end_lengths <= "129.9 mm"`: Failed,
	} {
		if r := require(s, "that = "+that).reports["cross"].results["house"]; r.State != want {
			t.Errorf("%s: %s, expected %s", that, r.State, want)
		}
	}
}

// TestYieldStrengthEnters: a long shaft buckles by Euler, whatever it yields at;
// for a short stretch (200 mm of 17.3 mm, slenderness 46) the yield strength
// takes part. With one end fixed and one supported the parabola holds below 166:
// 700 mm are 162 and 730 mm are 169.
func TestYieldStrengthEnters(t *testing.T) {
	for length, want := range map[string]bool{`"790 mm"`: false, `"730 mm"`: false, `"700 mm"`: true, `"430 mm"`: true, `"200 mm"`: true} {
		f := wantFinding(t, judge(testaxis.WholeSheet().With("supports.loaded_length", length, "load.standstill", `"500 kN"`), Options{}).findings, "buckling")
		if f == nil {
			continue
		}
		if got := slices.ContainsFunc(f.inputs(), func(s string) bool { return strings.HasPrefix(s, "yield strength") }); got != want {
			t.Errorf("loaded length %s: the yield strength takes part: %v; %q", length, got, f.inputs())
		}
		if f.Cause != "supports.loaded_length" {
			t.Errorf("the finding is about %s", f.Cause)
		}
	}
}

// TestWhyIdle: a rule that does not apply says why, by the right reason; where
// that cannot be told, what is missing is named.
func TestWhyIdle(t *testing.T) {
	for _, x := range []struct {
		rule    string
		lines   []string
		state   State
		why     string
		missing string
	}{
		{"flange-orientation", []string{"supports.far_end", `"fixed"`}, NotApplicable, "both ends are fixed", ""},
		{"flange-orientation", []string{"supports.drive_end", `"supported"`}, NotApplicable, "no end is fixed", ""},
		{"flange-orientation", []string{"supports.drive_end", ""}, Unjudged, "", "supports.drive_end"},
		{"flange-orientation", []string{"supports.far_end", "", "supports.drive_end", `"supported"`}, Unjudged, "", "supports.far_end"},
		{"holding-brake", nil, NotApplicable, "the axis is horizontal and no force acts at rest", ""},
		{"holding-brake", []string{"orientation", "", "incline", `"5 mrad"`}, NotApplicable, "guide friction holds it", ""},
		{"shared-load", nil, NotApplicable, "one screw moves the carriage", ""},
		{"motor-speed", nil, NotApplicable, "min-lead requires at least as much of the motor", ""},
		{"ball-speed", []string{"screw.process", ""}, Unjudged, "", "screw.process"},
		{"ball-speed", []string{"screw.recirculation", ""}, Unjudged, "", "screw.recirculation"},
		{"side-load", []string{"load.side_force", ""}, Unjudged, "", "load.side_force"},
		{"side-load", []string{"load.side_force", "", "load.side_moment", `"0 N m"`}, Unjudged, "", "load.side_force"},
	} {
		r := judge(testaxis.WholeSheet().With(x.lines...), Options{}).results[x.rule]
		missing := ""
		for _, m := range r.Missing {
			missing += m.Words
		}
		if r.State != x.state || r.Why != x.why || missing != x.missing {
			t.Errorf("%s with %q is %s, %q, missing %q; expected %s, %q, %q", x.rule, x.lines, r.State, r.Why, missing, x.state, x.why, x.missing)
		}
	}
}

// TestUnreadableIsNotMissing: a line that is there but cannot be read has its own
// finding; what rests on it is not judged, says so, and misses nothing.
func TestUnreadableIsNotMissing(t *testing.T) {
	for path, rule := range map[string]string{
		"supports.span": "critical-speed", "motion.move.speed": "critical-speed", "screw.root_diameter": "end-journal", "drive_support.kind": "support-kind",
	} {
		name := strings.Replace(path, "drive_support", "support", 1) // it stands in the part
		s := testaxis.WholeSheet()
		s.Set(path, 0, `"17 K"`)
		o := run(s.Files(), Options{})
		r := o.reports["cross"].results[rule]
		if r.State != Unjudged || len(r.Missing) > 0 || !strings.HasPrefix(r.Why, name+" could not be read (") {
			t.Errorf("%s without a readable %s: %s, %q, missing %v", rule, path, r.State, r.Why, r.Missing)
		}
	}
}

// TestPolicyIsNamed: a finding by a limit a policy set points at the policy, and
// says the limit where its own words do not.
func TestPolicyIsNamed(t *testing.T) {
	short := testaxis.WholeSheet().With("motion.move.ramp", `"2 s"`) // 0.8 m of ramps in 0.72 m
	for _, x := range []struct {
		s            *testaxis.Sheet
		rule, policy string
		has, hasNot  string
	}{
		{testaxis.WholeSheet(), "critical-speed", `limit = "20 %"`, "limit 20 %", "a policy asks"},
		{short, "peak-speed", `limit = "96 %"`, "; policy limit: at least 96 % (reached over declared speed)", "none"},
		{short, "peak-speed", ``, "is too short for its ramps", "a policy asks"},
	} {
		v := judge(x.s, Options{}, "line/x.policy.hcl", "rule \""+x.rule+"\" { "+x.policy+" }")
		f := wantFinding(t, v.findings, x.rule, x.has)
		if f == nil {
			continue
		}
		if strings.Contains(f.Message, x.hasNot) {
			t.Errorf("%s: %s", x.rule, f.Message)
		}
		by := slices.ContainsFunc(f.Related, func(r spec.Related) bool {
			return r.Place.File == "line/x.policy.hcl" && r.Place.Line == 1 && r.Message == "the policy sets the limit here"
		})
		if by != (x.policy != "") {
			t.Errorf("%s: the policy is pointed at: %v, %+v", x.rule, by, f.Related)
		}
	}
}

// TestUnitsAskedFor: a run that asks for inches gets inches, in computed and in
// declared values; one that asks for nothing gets what the axis is written in.
func TestUnitsAskedFor(t *testing.T) {
	inch, metric := unit.Inch, unit.Metric
	for _, units := range []*unit.System{nil, &metric, &inch} {
		v := judge(testaxis.WholeSheet().With("supports.span", `"1400 mm"`, "screw.length", `"1600 mm"`, "screw.end_diameters", `["18 mm", "19 mm"]`), Options{Units: units})
		words := strings.Join(append(v.of("critical-speed")[0].inputs(), v.of("end-journal")[0].Message), "\n")
		if asked := units == &inch; strings.Contains(words, " mm") == asked || strings.Contains(words, " in") != asked {
			t.Errorf("inches are requested: %v\n%s", asked, words)
		}
	}
}

// TestWrittenInInches: an axis written in inches is shown in inches, by a check
// of declared lines as by a house rule about a computed value.
func TestWrittenInInches(t *testing.T) {
	axis := `axis "a" {
  screw {
    root_diameter = "0.7 in"
    end_diameters = ["0.8 in", "0.9 in"]
  }
}
`
	o := run(testaxis.Memory("m/a.axis.hcl", axis, "m/h.policy.hcl", `require "thick" { that = root_area > "2 in2" }`), Options{})
	wantFinding(t, o.reports["a"].of("end-journal"), "end-journal", "journals 0.8 in and 0.9 in, root diameter 0.7 in")
	// π/4·0.7² = 0.385 in².
	if f := wantFinding(t, o.reports["a"].of("thick"), "thick", "thick"); f != nil && !slices.Contains(f.inputs(), "cross-section of the shaft at the root diameter 0.385 in²") {
		t.Errorf("%q take part", f.inputs())
	}
	o = run(testaxis.Memory("m/a.axis.hcl", axis, "m/h.policy.hcl", `require "thick" { that = root_area > "2 in2" }`+"\n"+`rule "end-journal" {
  severity = "off"
  reason   = "seen"
}`), Options{})
	if f := wantFinding(t, o.reports["a"].of("thick"), "thick", "thick"); f != nil && !slices.Contains(f.inputs(), "cross-section of the shaft at the root diameter 0.385 in²") {
		t.Errorf("%q take part", f.inputs())
	}
}

// TestTestInInches: the same by a test of computed values: stroke 40, twice 1, nut
// 2 and ends of 2 in need 46 in.
func TestTestInInches(t *testing.T) {
	o := run(testaxis.Memory("m/a.axis.hcl", `axis "a" {
  motion {
    stroke     = "40 in"
    overtravel = "1 in"
  }
  screw {
    length      = "30 in"
    end_lengths = ["1 in", "1 in"]
  }
  nut {
    length = "2 in"
  }
}
`), Options{})
	wantFinding(t, o.reports["a"].of("shaft-length"), "shaft-length", "shaft 30 in is too short: stroke 40 in, overtravel 2 × 1 in, nut 2 in and ends 2 in need 46 in")
}

// TestFinerGrade: of the finer grades the mildest that passes is offered, and to a
// rolled shaft none finer than C7. Over 720 mm C10 may be 1 mm out, C7 250 µm,
// C5 about 30 µm (twice 210 and 52 µm in 300 mm; JIS B 1192).
func TestFinerGrade(t *testing.T) {
	for _, x := range []struct{ process, asked, want string }{
		{`"rolled"`, `"400 um"`, "grade C7"}, {`"ground"`, `"400 um"`, "grade C7"},
		{`"rolled"`, `"80 um"`, ""}, {`"ground"`, `"80 um"`, "grade C5"},
	} {
		s := testaxis.WholeSheet().With("screw.grade", `"C10"`, "screw.process", x.process, "accuracy.positioning", x.asked, "accuracy.transport_factor", "2")
		var grades []string
		for _, w := range ways(s, "accuracy-budget") {
			if strings.HasPrefix(w, "grade ") {
				grades = append(grades, w)
			}
		}
		if got := strings.Join(grades, ", "); got != x.want {
			t.Errorf("%s, %s: %q is offered, expected %q", x.process, x.asked, got, x.want)
		}
	}
}

// TestCycleThatMisses: out 720 mm and back 700 mm.
func TestCycleThatMisses(t *testing.T) {
	s := testaxis.WholeSheet()
	s.Set("motion.move.distance", 1, `"-700 mm"`)
	wantFinding(t, judge(s, Options{}).findings, "cycle-closes",
		"moves add up to 20 mm instead of 0: each cycle ends 20 mm from its start")
}

// TestUnlockOfTwo: one missing line is named as it is; of two a list is made.
func TestUnlockOfTwo(t *testing.T) {
	if u := judge(testaxis.WholeSheet().With("supports.span", ""), Options{}).unlock; u != nil {
		t.Errorf("of one line: %+v", u)
	}
	// Span: what rests on it. Grade: accuracy and process. More wait for the span.
	u := judge(testaxis.WholeSheet().With("supports.span", "", "accuracy.temperature_rise", ""), Options{}).unlock
	if u == nil || !slices.Equal(u.Lines, []string{"supports.span"}) || u.Judged >= u.Waiting {
		t.Errorf("of two lines: %+v", u)
	}
}

// TestHouseArithmetic: kinds of what is reckoned in house rules.
func TestHouseArithmetic(t *testing.T) {
	for that, want := range map[string]State{
		`load.mass * screw.lead / screw.lead == load.mass`: Passed,
		`load.mass == load.mass * screw.lead / screw.lead`: Passed,
		`2 * screw.lead == "20 mm"`:                        Passed,
		`screw.lead * 2 == "20 mm"`:                        Passed,
		`screw.lead / 2 == "5 mm"`:                         Passed,
		`environment.max_temperature - environment.min_temperature > accuracy.temperature_rise`:      Passed,
		`max(screw.nominal_diameter, screw.lead) == "20 mm"`:                                         Passed,
		`min(screw.nominal_diameter, screw.lead) == "10 mm"`:                                         Passed,
		`max(screw.lead, screw.nominal_diameter, "25 mm") == "25 mm"`:                                Passed,
		`accuracy.positioning == "80 um"`:                                                            Passed,
		`accuracy.positioning == "80.001 um"`:                                                        Failed,
		`accuracy.positioning < "80.001 um"`:                                                         Passed,
		`supports.span >= "0.80000000001 m"`:                                                         Failed,
		`supports.span % (15 * screw.nominal_diameter) == "200 mm"`:                                  Passed,
		`supports.span % (1.0005 * screw.nominal_diameter) == "0 mm"`:                                Failed,
		`supports.span % screw.nominal_diameter == "0 mm"`:                                           Passed,
		`declared(supports.span) && !declared(screw.longest)`:                                        Passed,
		`(screw.grade == "C3" ? screw.lead : screw.nominal_diameter) == "20 mm"`:                     Passed,
		`screw.process == "ground" && screw.recirculation == "end-cap" || orientation == "vertical"`: Passed,
	} {
		o := require(testaxis.WholeSheet(), "that = "+that)
		if r, judged := o.reports["cross"].results["house"]; !judged || r.State != want {
			t.Errorf("%s: %s (%s), expected %s; %+v", that, r.State, r.Why, want, o.Findings)
		}
	}
	wantFinding(t, require(testaxis.WholeSheet(), `that = max(screw.leed, screw.lead) > "1 mm"`).Findings, "unknown-name", "did you mean screw.lead?")
	for that, words := range map[string]string{
		`screw.lead % load.mass > "1 mm"`: "a length is compared with a mass",
		`drive.ratio == nut.grease_port`:  "is compared with",
		`nut.grease_port == drive.ratio`:  "is compared with",
		`screw.grade == nut.grease_port`:  "is compared with",
	} {
		o := require(testaxis.WholeSheet(), "that = "+that)
		wantFinding(t, o.Findings, "unit", words)
		if _, judged := o.reports["cross"].results["house"]; judged {
			t.Errorf("%s is judged all the same", that)
		}
	}
}

// TestNamesForHouseRules: flags and words of an axis are names, those of moves
// are not; the list is in order, and a choice says its words.
func TestNamesForHouseRules(t *testing.T) {
	names := HouseNames()
	if !slices.IsSorted(names) || len(slices.Compact(slices.Clone(names))) != len(names) {
		t.Error("the names are not in order, or stand twice")
	}
	for _, n := range []string{"screw.grade", "nut.grease_port", "environment.dust", "supports.span", "critical_speed", "orientation", "nut.flange_toward"} {
		if !slices.Contains(names, n) {
			t.Errorf("%s is no name", n)
		}
	}
	for _, n := range names {
		if strings.HasPrefix(n, "motion.move.") {
			t.Errorf("%s is the name of a value for each move", n)
		}
	}
	for name, want := range map[string]Description{
		"screw.process":       {"screw.process", "one of a list", "ground, rolled, whirled"},
		"nut.grease_port":     {"nut.grease_port", "true or false", ""},
		"supports.span":       {"supports.span", "length", ""},
		"duty.hours_per_day":  {"duty.hours_per_day", "bare number", ""},
		"inertia_ratio":       {"inertia_ratio", "bare number", "load inertia over rotor inertia"},
		"buckling_load":       {"buckling_load", "force", "buckling load of the length under compression"},
		"no such name at all": {"no such name at all", "", ""},
	} {
		d := Describe(name)
		if d.Name != want.Name || d.Unit != want.Unit || !strings.HasSuffix(d.Meaning, want.Meaning) || d.Meaning == "" != (want.Unit == "") {
			t.Errorf("%+v, expected %+v", d, want)
		}
	}
}

// TestIdentity: a finding is known again by rule, machine, axis and cause; one
// of no axis by its folder, and by its words where it has no cause.
func TestIdentity(t *testing.T) {
	f := Finding{Rule: "r", Machine: "m", Axis: "a", Cause: "c", Message: "w"}
	f.Place.File = "x/y/z.axis.hcl"
	for want, change := range map[string]func(*Finding){
		"r|m|a|c":   func(*Finding) {},
		"r|x/y|a|c": func(f *Finding) { f.Machine = "" },
		"r|m|a|":    func(f *Finding) { f.Cause = "" },
		"r|m||c":    func(f *Finding) { f.Axis = "" },
		"r|m||w":    func(f *Finding) { f.Axis, f.Cause = "", "" },
	} {
		g := f
		change(&g)
		if got := g.Identity(); got != want {
			t.Errorf("%s, expected %s", got, want)
		}
	}
}

// TestLeversSayWhatTheyDo: a lever's words tell its direction, and those of a
// choice the word it goes to; and pulled that way, it helps more axes than it
// harms, by each test that offers it. Left out is what may be too much as well as
// too little: preferred sizes, counterbalance and stretch.
func TestLeversSayWhatTheyDo(t *testing.T) {
	type key struct {
		rule, limit, words string
	}
	helped, harmed := map[key]int{}, map[key]int{}
	each := func(do func(*Rule, *Test, *Parameter, key)) {
		for _, r := range Book().All() {
			for i := range r.Tests {
				for _, l := range r.Tests[i].Parameters {
					do(r, &r.Tests[i], l, key{r.Name, r.Tests[i].Limit.Name, l.Words})
				}
			}
		}
	}
	each(func(_ *Rule, _ *Test, l *Parameter, k key) {
		if len(l.Leaf.Words) > 0 {
			if to := l.Leaf.Words[int(l.To)]; !strings.HasSuffix(l.Words, strings.ReplaceAll(to, "-", " ")) || strings.Contains(l.Words, "%s") {
				t.Errorf("%v goes to %s", k, to)
			}
			return
		}
		if up := strings.HasSuffix(l.Words, " ≥ %s"); up != l.Up || !up && !strings.HasSuffix(l.Words, " ≤ %s") && !strings.HasSuffix(l.Words, " every %s") {
			t.Errorf("%v goes up: %v", k, l.Up)
		}
	})
	testaxis.Check(t, 40, func(rt *rapid.T) {
		_, _, v := load(testaxis.DrawSheet(rt), rt)
		calc := mechanics.NewCalc()
		w := *v
		w.Calc = calc
		each(func(r *Rule, test *Test, l *Parameter, k key) {
			before := v.utilisation(r, test)
			if len(l.Leaf.Words) > 0 || l.Steps != nil || l.Leaf == mechanics.Counterbalance || l.Leaf == mechanics.Stretch || r.Applies != nil && r.Applies(v) != "" || test.Applies != nil && test.Applies(v) != "" {
				return
			}
			move := func(x float64) float64 {
				if x < 0 {
					return x // a force that helps is not touched
				}
				if l.Up {
					return x * 1.3
				}
				return x / 1.3
			}
			calc.CopyFrom(v.Calc)
			if x, ok := calc.Value(l.Leaf); ok && l.Leaf.Shape == mechanics.Scalar {
				calc.Set(l.Leaf, move(x))
			}
			for i, x := range calc.Series(l.Leaf) {
				calc.SetMove(l.Leaf, i, move(x))
			}
			calc.Run()
			switch after := w.utilisation(r, test); {
			case after < before*(1-1e-9):
				helped[k]++
			case after > before*(1+1e-9):
				harmed[k]++
			}
		})
	})
	tried := 0
	each(func(_ *Rule, _ *Test, l *Parameter, k key) {
		if helped[k] < harmed[k] {
			t.Errorf("%v helps %d axes and harms %d", k, helped[k], harmed[k])
		}
		if helped[k] > 0 {
			tried++
		}
	})
	if tried < 60 {
		t.Errorf("only %d levers were pulled", tried)
	}
}

// TestStaticSafetyByDuty: 1.5 for smooth running, 2 for ordinary, 2.5 with
// shocks, 0.5 more with weight along the axis; a load factor up to 1.2 counts as
// smooth, up to 1.5 as ordinary.
func TestStaticSafetyByDuty(t *testing.T) {
	r := Book().ByName("static-safety")
	for _, x := range []struct {
		lines []string
		want  float64
	}{
		{[]string{"duty.shock", `"smooth"`}, 1.5},
		{[]string{"duty.shock", `"ordinary"`}, 2},
		{[]string{"duty.shock", `"shocks"`}, 2.5},
		{[]string{"duty.shock", "", "duty.load_factor", "1.2"}, 1.5},
		{[]string{"duty.shock", "", "duty.load_factor", "1.21"}, 2},
		{[]string{"duty.shock", "", "duty.load_factor", "1.5"}, 2},
		{[]string{"duty.shock", "", "duty.load_factor", "1.51"}, 2.5},
		{[]string{"duty.shock", `"smooth"`, "orientation", `"vertical"`}, 2},
		{[]string{"duty.shock", `"shocks"`, "orientation", "", "incline", `"1 deg"`}, 3},
		{[]string{"duty.shock", `"shocks"`, "orientation", "", "incline", `"0 deg"`}, 2.5},
	} {
		_, _, v := load(testaxis.WholeSheet().With(x.lines...), t)
		if got, _, ok := v.limit(r, &r.Tests[0].Limit); got != x.want || !ok {
			t.Errorf("with %q %g is required, expected %g", x.lines, got, x.want)
		}
	}
}

// TestSensitivities: the critical speed goes with d/L², the speed with v/P_h, so
// that one per cent of span, diameter, lead or speed moves the margin 1/use − 1
// by known powers. Both moves go as fast, and either alone would go faster.
func TestSensitivities(t *testing.T) {
	s := testaxis.WholeSheet().With("supports.span", `"800 mm ± 8 mm"`)
	var list []Sensitivity
	var use float64
	run(s.Files(), Options{Workers: 1, Each: func(r *Report) {
		list = r.Sensitivities(100)
		if one := r.Sensitivities(1); len(one) != 1 || one[0].Rule != list[0].Rule {
			t.Errorf("the tightest is %+v", one)
		}
		limit, _, _ := r.View.limit(Book().ByName("critical-speed"), &Book().ByName("critical-speed").Tests[0].Limit)
		use = Book().ByName("critical-speed").Tests[0].utilisation(r.View.Calc, limit)
	}})
	for i := 1; i < len(list); i++ {
		if list[i].Utilisation > list[i-1].Utilisation {
			t.Errorf("%s, used to %g, stands behind %s, used to %g", list[i].Rule, list[i].Utilisation, list[i-1].Rule, list[i-1].Utilisation)
		}
	}
	i := slices.IndexFunc(list, func(s Sensitivity) bool { return s.Rule == "critical-speed" })
	if i < 0 {
		t.Fatalf("%+v", list)
	}
	got := list[i]
	both := func(power float64) float64 { return (math.Pow(1.01, power) - 1) / use }
	want := map[string]float64{
		"span": both(-2), "root diameter": both(1), "lead": both(1),
		"speed of move out": (1/1.01 - 1) / use, "speed of move back": (1/1.01 - 1) / use,
		"elastic modulus": both(0.5), "density": both(-0.5),
	}
	last := math.Inf(1)
	for _, in := range got.Inputs {
		w, known := want[in.Name]
		if delete(want, in.Name); !known || math.Abs(in.Shift-w) > 1e-9 {
			t.Errorf("%s shifts the margin by %g, expected %g", in.Name, in.Shift, w)
		}
		if math.Abs(in.Shift) > last {
			t.Errorf("%s stands behind what shifts less", in.Name)
		}
		last = math.Abs(in.Shift)
		if in.Name == "span" {
			// 792 and 808 mm.
			low, high := math.Pow(0.99, -2)/use-1, math.Pow(1.01, -2)/use-1
			if !(math.Abs(in.Low-low) <= 1e-9) || !(math.Abs(in.High-high) <= 1e-9) || in.Text != "800 mm ± 8 mm" || in.Move != -1 {
				t.Errorf("%+v, expected margins of %g and %g", in, low, high)
			}
		} else if in.Low == in.Low || in.High == in.High {
			t.Errorf("%s has no tolerance: %+v", in.Name, in)
		}
	}
	if len(want) > 0 {
		t.Errorf("not named: %v", want)
	}
	for _, use := range []float64{0, -1} {
		if got := Margin(use); !math.IsInf(got, 1) {
			t.Errorf("the margin of nothing used, %g, is %g", use, got)
		}
	}
	for use, want := range map[float64]float64{1: 0, 0.8: 0.25, 2: -0.5} {
		if got := Margin(use); math.Abs(got-want) > 1e-15 {
			t.Errorf("the margin of %g is %g", use, got)
		}
	}
}

// TestOneInchValue: one value in inches against none in metric units; times,
// shares and angles are written alike in both and do not count.
func TestOneInchValue(t *testing.T) {
	axis := `axis "a" {
  incline = "10 deg"
  duty {
    service_life = "5 years"
    reliability  = "95 %"
  }
  screw {
    root_diameter = "0.7 in"
  }
}
`
	o := run(testaxis.Memory("m/a.axis.hcl", axis, "m/h.policy.hcl", `require "thick" { that = root_area > "2 in2" }`), Options{})
	if f := wantFinding(t, o.reports["a"].of("thick"), "thick", "thick"); f != nil && !slices.Contains(f.inputs(), "cross-section of the shaft at the root diameter 0.385 in²") {
		t.Errorf("%q take part", f.inputs())
	}
}

// TestVarietyOfParts: screws of one diameter, lead and process whose ratings lie
// within 15 % of the greater are named, neighbours in the file each; those that
// lack a line are not compared.
func TestVarietyOfParts(t *testing.T) {
	screw := func(name, lines string) string {
		return "screw \"" + name + "\" {\n" + lines + "\n}\n"
	}
	like := "  nominal_diameter = \"20 mm\"\n  lead = \"5 mm\"\n  process = \"ground\"\n  dynamic_rating = "
	tree := func(parts ...string) []Finding {
		axes := ""
		for i, p := range parts {
			name, _, _ := strings.Cut(strings.TrimPrefix(p, "screw \""), "\"")
			axes += fmt.Sprintf("axis \"a%d\" {\n  screw {\n    part = screw.%s\n  }\n}\n", i, name)
		}
		return run(testaxis.Memory("m/a.axis.hcl", axes, "m/s.parts.hcl", strings.Join(parts, "")), Options{Whole: true}).Findings
	}
	count := func(list []Finding) (out []string) {
		for _, f := range list {
			if f.Rule == "variety" {
				out = append(out, f.Cause)
			} else if f.Rule != "preferred-size" {
				t.Errorf("%s: %s", f.Place, f.Message)
			}
		}
		return out
	}
	// 11.7 and 10: 1.7 of 1.755; 13.6 and 11.7: 1.9 of 2.04; 11.8 and 10: 1.8 of 1.77.
	if got := count(tree(screw("a", like+`"10 kN"`), screw("b", like+`"11.7 kN"`), screw("c", like+`"13.6 kN"`))); !slices.Equal(got, []string{"screw.b", "screw.c"}) {
		t.Errorf("%q", got)
	}
	if got := count(tree(screw("a", like+`"10 kN"`), screw("b", like+`"11.8 kN"`))); len(got) > 0 {
		t.Errorf("%q", got)
	}
	whole := screw("a", like+`"10 kN"`)
	for _, line := range []string{"nominal_diameter", "lead", "process", "dynamic_rating"} {
		var less []string
		for _, l := range strings.Split(like+`"10 kN"`, "\n") {
			if !strings.Contains(l, line+" =") {
				less = append(less, l)
			}
		}
		if got := count(tree(whole, screw("b", strings.Join(less, "\n")))); len(got) > 0 {
			t.Errorf("without %s: %q", line, got)
		}
	}
}

// TestSupportOfTheFixedEnd: the finding stands at the support that takes the
// thrust; between two fixed ends stretch and warming take part.
func TestSupportOfTheFixedEnd(t *testing.T) {
	base := testaxis.WholeSheet().With("supports.far_end_part", "support.s2", "far_support.kind", `"fixed"`, "far_support.stiffness", `"120 N/um"`, "far_support.bore", `"12 mm"`,
		"far_support.dynamic_rating", `"300 N"`, "far_support.static_rating", `"400 N"`, "drive_support.dynamic_rating", `"300 N"`, "drive_support.static_rating", `"400 N"`, "supports.stretch", `"5 um"`)
	for _, x := range []struct {
		drive, far, cause string
		both              bool
	}{
		{`"fixed"`, `"supported"`, "supports.drive_end_part", false},
		{`"supported"`, `"fixed"`, "supports.far_end_part", false},
		{`"fixed"`, `"fixed"`, "supports.drive_end_part", true},
	} {
		found := judge(base.With("supports.drive_end", x.drive, "supports.far_end", x.far), Options{}).of("support-life")
		if len(found) == 0 {
			t.Errorf("%s, %s: nothing is found", x.drive, x.far)
		}
		for _, f := range found {
			if f.Cause != x.cause {
				t.Errorf("%s, %s: it is about %s", x.drive, x.far, f.Cause)
			}
			if got := slices.Contains(f.inputs(), "stretch 5 um") && slices.Contains(f.inputs(), "temperature rise 2 K"); got != x.both {
				t.Errorf("%s, %s: %q take part", x.drive, x.far, f.inputs())
			}
		}
	}
	if r := judge(base.With("supports.drive_end", `"supported"`), Options{}).results["support-life"]; r.State != NotApplicable || r.Why != "no end is fixed (see support-kind)" {
		t.Errorf("%s, %s", r.State, r.Why)
	}
}

// TestCarriedTolerances: a carrier counts what it carries at both ends of its
// tolerance: 20 kg and z of 10 ± 2 kg with 3 ± 1 kg on it are 30 to 36 kg.
func TestCarriedTolerances(t *testing.T) {
	_, y, z := testaxis.Zyx()
	z.Set("load.mass", -1, `"10 kg ± 2 kg"`)
	z.Set("motion.move.payload", 0, `"3 kg ± 1 kg"`)
	axes, parts := testaxis.Texts(y, z)
	for that, want := range map[string]State{
		`moved_mass >= "30 kg"`: Passed, `moved_mass >= "30.01 kg"`: Failed, `moved_mass <= "36 kg"`: Passed, `moved_mass <= "35.99 kg"`: Failed,
	} {
		o := run(testaxis.Memory("m/a.axis.hcl", axes[0]+axes[1], "parts/all.parts.hcl", parts, "m/h.policy.hcl", `require "house" { that = `+that+" }"), Options{})
		if r := o.reports["y"].results["house"]; r.State != want {
			t.Errorf("%s: %s, expected %s", that, r.State, want)
		}
	}
}

// TestNoSuchLimit: a limit a rule does not have is answered with those it has.
func TestNoSuchLimit(t *testing.T) {
	for rule, help := range map[string]string{
		"critical-speed": "it has limit, severity and reason", "support-life": "it has life, static, severity and reason", "side-load": "it has no limit to set",
	} {
		o := run(testaxis.WholeSheet().Files("line/x.policy.hcl", "rule \""+rule+"\" { limits = 3 }"), Options{})
		wantFinding(t, o.Findings, "unknown-name", `rule `+rule+` has no limit "limits"`, help)
	}
}

// TestFixesAreOffered: axes that miss one limit by much are offered their plain
// fixes. Each passes when it is followed, and hardly less would fail.
func TestFixesAreOffered(t *testing.T) {
	tried := 0
	for _, x := range []struct {
		rule  string
		lines []string
		ways  []string
	}{
		{"life-margin", []string{"screw.dynamic_rating", `"2.2 kN"`, "nut.preload", `"150 N"`, "duty.shock", "", "duty.load_factor", "1.2"}, []string{"dynamic rating ≥ ", "service life ≤ ", "hours per day ≤ "}},
		{"static-safety", []string{"screw.static_rating", `"200 N"`}, []string{"static rating ≥ ", "mass ≤ "}},
		{"min-lead", []string{"motor.max_speed", `"2000 rpm"`}, []string{"maximum motor speed ≥ ", "speed ≤ "}},
		{"motor-rms-torque", []string{"motor.rated_torque", `"0.2 N m"`}, []string{"rated motor torque ≥ "}},
		{"motor-peak-torque", []string{"motor.peak_torque", `"0.5 N m"`}, []string{"peak motor torque ≥ ", "ramp ≥ "}},
		{"inertia-ratio", []string{"motor.rotor_inertia", `"0.15 kg cm2"`}, []string{"rotor inertia ≥ "}},
		{"coupling-torque", []string{"coupling.rated_torque", `"0.5 N m"`}, []string{"rated torque of the coupling ≥ "}},
		{"overtravel", []string{"motion.overtravel", `"9 mm"`}, []string{"overtravel ≥ ", "emergency deceleration ≥ "}},
		{"shaft-length", []string{"screw.length", `"900 mm"`}, []string{"length ≥ "}},
		{"shaft-length", []string{"screw.longest", `"950 mm"`, "screw.end_lengths", `["90 mm", "50 mm"]`}, []string{"length ≤ "}},
		{"critical-speed", []string{"supports.span", `"900 mm"`, "motion.move.speed", `"0.65 m/s"`}, []string{"speed ≤ ", "span ≤ ", "far end fixed"}},
		{"support-life", []string{"drive_support.dynamic_rating", `"500 N"`}, []string{"dynamic bearing rating at the driven end ≥ "}},
		{"support-life", []string{"drive_support.static_rating", `"300 N"`}, []string{"static bearing rating at the driven end ≥ "}},
		{"thermal-growth", []string{"accuracy.temperature_rise", `"6 K"`}, []string{"temperature rise ≤ "}},
		{"regrease-interval", []string{"lubrication.regrease_every", `"8 months"`}, []string{"regreasing interval ≤ "}},
		{"stiffness", []string{"accuracy.bandwidth", `"100 Hz"`}, []string{"bandwidth ≤ "}},
		{"repeatability", []string{"nut.stiffness", `"1 N/um"`}, []string{"nut stiffness ≥ "}},
		{"preload-range", []string{"nut.preload", `"4 kN"`}, []string{"preload ≤ "}},
		{"holding-brake", []string{"orientation", `"vertical"`}, []string{"brake torque on the screw ≥ "}},
	} {
		s := certain().With(x.lines...)
		for _, f := range judge(s, Options{Fixes: true}).of(x.rule) {
			for _, fix := range f.Fixes {
				way := fix.Words
				l, value := pulled(f.test, way)
				if l == nil {
					t.Fatalf("%s: no lever says %q", x.rule, way)
				}
				if value == "" || l.Steps != nil || l.Leaf.Kind == unit.None {
					continue
				}
				q, err := unit.Parse(value, l.Leaf.Kind)
				if err != nil {
					t.Fatal(err)
				}
				fails := func(si float64) bool {
					text := fmt.Sprintf("\"%.9g %s\"", si/siOf(t, l.Leaf.Kind, unit.UnitOf(value)), unit.UnitOf(value))
					y := s.With(l.Leaf.Name, text)
					for i := range s.Moves {
						// A bound on moves: what holds already stays.
						if at, key := s.Line(l.Leaf.Name, i); strings.HasPrefix(l.Leaf.Name, "motion.move.") && at[key] == "" {
							y.Set(l.Leaf.Name, i, "")
						}
					}
					v := judge(y, Options{})
					return v.results[x.rule].State == Unjudged || slices.ContainsFunc(v.of(x.rule), func(o Finding) bool { return o.test == f.test })
				}
				less := 0.97
				if !l.Up {
					less = 1.03
				}
				if fails(q.Nominal) || !fails(q.Nominal*less) {
					t.Errorf("%s with %q: %q is not the least change: it fails %v, a little less fails %v", x.rule, x.lines, way, fails(q.Nominal), fails(q.Nominal*less))
				}
				tried++
			}
		}
		got := ways(s, x.rule)
		for _, w := range x.ways {
			if !slices.ContainsFunc(got, func(way string) bool { return strings.HasPrefix(way, w) }) {
				t.Errorf("%s with %q: %q lack %q", x.rule, x.lines, got, w)
			}
		}
	}
	if tried < 25 {
		t.Errorf("only %d ways were tried", tried)
	}
}

func siOf(t *testing.T, k unit.Kind, name string) float64 {
	t.Helper()
	si, ok := unit.SIOf(1, k, name)
	if !ok {
		t.Fatalf("%s is no unit of %s", name, k)
	}
	return si
}

// TestNoOtherDesign: what takes up to four times the value is a fix; what
// takes more is another design. 1.5 times 219.06 N of force ask for 328.6 N.
func TestNoOtherDesign(t *testing.T) {
	for rating, want := range map[string]bool{`"83 N"`: true, `"78 N"`: false} { // 3.96 and 4.21 times
		if got := ways(certain().With("screw.static_rating", rating), "static-safety"); offers(got, "static rating ≥ 329 N") != want {
			t.Errorf("a static rating of %s: %q", rating, got)
		}
	}
}

// TestBudget: an evaluation that uses the last of the budget is refused, as is
// one that is not paid for whole.
func TestBudget(t *testing.T) {
	if Phases(10) != 40 || Phases(1) != 16 {
		t.Errorf("ten moves have %d phases, one counts as %d", Phases(10), Phases(1))
	}
	b := &Scratch{Left: 100}
	for i, want := range []bool{true, true, false} {
		if got := b.spend(40); got != want || b.Left != 60-40*i {
			t.Errorf("evaluation %d: %v, %d are left", i, got, b.Left)
		}
	}
	b.Left = 17
	for i, want := range []bool{true, false} {
		if got := b.spend(16); got != want || b.Left != 1-16*i {
			t.Errorf("evaluation %d of the last 17: %v, %d are left", i, got, b.Left)
		}
	}
	b.Left = 32 // nothing is left of it
	for i, want := range []bool{true, false} {
		if got := b.spend(16); got != want {
			t.Errorf("evaluation %d of the last 32: %v", i, got)
		}
	}
	for _, x := range []struct{ most, inFile, want int }{
		{0, 0, 6_000_000}, {0, 1, 6_000_000}, {0, 8, 6_000_000}, {0, 10, 5_000_000}, {0, 19, 2_631_578}, {0, 1000, 50_000}, {1, 1, 1}, {1000, 1, 1000}, {70_000, 1000, 50_000},
	} {
		b := &Scratch{Most: x.most}
		if got := b.BudgetOf(&spec.Axis{InFile: x.inFile}); got != x.want {
			t.Errorf("%+v: %d", x, got)
		}
	}
}

// TestMovesInInches: the lines of moves count for the units an axis is written in.
func TestMovesInInches(t *testing.T) {
	o := run(testaxis.Memory("m/a.axis.hcl", `axis "a" {
  motion {
    move "out" {
      distance = "4 in"
      speed    = "8 in/s"
      ramp     = "0.2 s"
    }
  }
}
`), Options{})
	wantFinding(t, o.reports["a"].of("cycle-closes"), "cycle-closes", "moves add up to 4 in instead of 0: each cycle ends 4 in from its start")
}

// TestDeclaredFor: what a leaf was declared with, of the axis or of a move;
// nothing for what is computed, not there, or not readable.
func TestDeclaredFor(t *testing.T) {
	s := testaxis.WholeSheet()
	s.Set("motion.move.thrust", 1, `"1 K"`)
	tree := spec.NewTree(s.Files())
	a := tree.ReadAxes(testaxis.SheetFile).Axes[0]
	v := &View{Axis: a}
	text := func(x *spec.Value) string {
		if x == nil {
			return ""
		}
		return x.Text
	}
	for _, x := range []struct {
		q    *mechanics.Quantity
		move int
		want string
	}{
		{mechanics.Span, -1, "800 mm"}, {mechanics.Span, 0, ""}, {mechanics.Critical, -1, ""}, {mechanics.Critical, 0, ""}, {mechanics.LongestShaft, -1, ""},
		{mechanics.MoveDistance, 0, "720 mm"}, {mechanics.MoveDistance, 1, "-720 mm"}, {mechanics.MoveThrust, 0, "80 N"}, {mechanics.MoveThrust, 1, ""}, {mechanics.MoveRampUp, 0, ""},
	} {
		if got := text(v.DeclaredFor(x.q, x.move)); got != x.want {
			t.Errorf("%s of move %d: %q, expected %q", x.q.Name, x.move, got, x.want)
		}
	}
}

// TestFirstRuleInInches: the first rule that finds something writes inches too:
// 2 in at 40 in/s over a lead of 1 in are 50.8 mm at 2400 rpm, a dn value of
// 121 920.
func TestFirstRuleInInches(t *testing.T) {
	o := run(testaxis.Memory("m/a.axis.hcl", `axis "a" {
  motion {
    move "out" {
      distance = "40 in"
      speed    = "40 in/s"
      ramp     = "0.2 s"
    }
  }
  screw {
    nominal_diameter = "2 in"
    lead             = "1 in"
    process          = "ground"
    recirculation    = "end-cap"
  }
}
`), Options{})
	wantFinding(t, o.reports["a"].of("ball-speed"), "ball-speed", "dn value 121920 (2 in × 2400 rpm)")
}

// TestNoTopOfALyingShaft: the driven end of a horizontal axis is not offered at
// the top.
func TestNoTopOfALyingShaft(t *testing.T) {
	s := testaxis.WholeSheet().With("supports.drive_at", `"start"`, "motion.move.thrust", "")
	s.Set("motion.move.thrust", 0, `"60 kN"`)
	got := ways(s, "buckling")
	if offers(got, "drive end at the top") {
		t.Errorf("%q", got)
	}
}

// TestBudgetAddsUp: the parts that the finding names add up to the sum it names.
func TestBudgetAddsUp(t *testing.T) {
	f := wantFinding(t, judge(testaxis.WholeSheet().With("accuracy.positioning", `"20 um"`, "nut.preload", "", "nut.backlash", `"14 um"`, "accuracy.approach", `"both-sides"`), Options{}).findings, "accuracy-budget")
	if f == nil {
		return
	}
	var all, asked, mean, half, heat, bend, play float64
	message := strings.NewReplacer(",", "", ":", "", "±", "", "µm", "").Replace(f.Message)
	if _, err := fmt.Sscanf(message, "positioning error %g exceeds %g travel deviation %g half its variation %g thermal growth %g deflection %g play %g", &all, &asked, &mean, &half, &heat, &bend, &play); err != nil {
		t.Fatalf("%s: %v", f.Message, err)
	}
	if math.Abs(all-mean-half-heat-bend-play) > 0.3 || play != 7 || asked != 20 {
		t.Errorf("%s", f.Message)
	}
}
