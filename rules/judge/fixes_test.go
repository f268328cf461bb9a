package judge

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/rules/tables"
	"trammel/spec"
	"trammel/spec/amount"
	"trammel/spec/unit"
)

// pulled finds the lever a fix speaks of, and the value it names.
func pulled(test *Test, fix string) (l *Parameter, value string) {
	for _, l := range test.Parameters {
		words := regexp.QuoteMeta(l.Words)
		m := regexp.MustCompile("^" + strings.Replace(words, "%s", "(.+)", 1) + "$").FindStringSubmatch(fix)
		switch {
		case m == nil:
		case len(m) == 2:
			return l, m[1]
		default:
			return l, ""
		}
	}
	return nil, ""
}

// pullTo is pull, and the number at which the lever then stands.
func (j *Judge) pullTo(b *Scratch, v *View, r *Rule, test *Test, l *Parameter) (float64, bool) {
	d, ok := j.solve(b, v, r, test, l)
	if !ok || len(d.Lines) == 0 {
		return 0, false
	}
	if len(l.Leaf.Words) > 0 {
		return float64(slices.Index(l.Leaf.Words, d.Lines[0].Text)), true
	}
	q, err := unit.Parse(d.Lines[0].Text, l.Leaf.Kind)
	return q.Nominal, err == nil
}

// key tells tests of one rule from another; faults by what they are about.
func (f *Finding) key() string {
	if f.test != nil {
		return f.Rule + "/" + f.test.Limit.Name
	}
	return f.Rule + "/" + f.Cause
}

func keys(list []Finding) map[string]bool {
	out := map[string]bool{}
	for i := range list {
		out[list[i].key()] = true
	}
	return out
}

// everyFixHelps makes each fix of an axis in the text of its files and judges
// again: the finding is gone, and no other has come.
func everyFixHelps(t *rapid.T, s *testaxis.Sheet, followed map[string]int) {
	v := judge(s, Options{Fixes: true})
	before := keys(v.findings)
	for i := range v.findings {
		f := &v.findings[i]
		for _, fix := range f.Fixes {
			if len(fix.Edits) == 0 {
				continue
			}
			followed[fix.Changes[0].Path]++
			files := s.Files()
			for name, file := range files {
				file.Data = spec.Apply(file.Data, slices.DeleteFunc(slices.Clone(fix.Edits), func(e spec.Edit) bool { return e.Place.File != name }))
			}
			o := run(files, Options{})
			if len(o.reports) == 0 {
				t.Fatalf("%s: after %q: %v\n%s", f.Rule, fix.Words, o.Findings, s)
			}
			for k := range keys(o.reports[s.Name].findings) {
				if k == f.key() {
					t.Fatalf("%s: %s\nremains after %q:\n%s", k, f.Message, fix.Words, s)
				}
				if !before[k] {
					t.Fatalf("%s came by %q of %s: %v\n%s", k, fix.Words, f.key(), o.Findings, s)
				}
			}
		}
	}
}

// Each fix of a random axis, made in its text, does what it says.
func TestEveryWayHelps(t *testing.T) {
	followed := map[string]int{}
	testaxis.Check(t, amount.Of(60, 16), func(rt *rapid.T) { everyFixHelps(rt, testaxis.DrawSheet(rt), followed) })
	if len(followed) < amount.Of(25, 12) {
		t.Errorf("only %d levers were followed", len(followed))
	}
}

// The same with tolerances: the way holds everywhere within those left.
func TestEveryWayHelpsWithTolerances(t *testing.T) {
	followed := map[string]int{}
	testaxis.Check(t, amount.Of(9, 3), func(rt *rapid.T) {
		s := testaxis.DrawSheet(rt)
		widen(rt, s)
		everyFixHelps(rt, s, followed)
	})
	if len(followed) < 5 {
		t.Errorf("only %d levers were followed", len(followed))
	}
}

func ways(s *testaxis.Sheet, rule string, more ...string) []string {
	var out []string
	for _, f := range judge(s, Options{Fixes: true}, more...).of(rule) {
		for _, fix := range f.Fixes {
			out = append(out, fix.Words)
		}
	}
	return out
}

func offers(list []string, words string) bool {
	return slices.ContainsFunc(list, func(w string) bool { return strings.Contains(w, words) })
}

// Values are rounded on the safe side, to three digits of the unit they are
// declared in.
func TestRounding(t *testing.T) {
	for _, speed := range []string{"0.6 m/s", "600 mm/s", "36 m/min"} {
		s := testaxis.WholeSheet().With("supports.span", `"1000 mm"`, "screw.length", `"1200 mm"`, "motion.move.speed", strconv.Quote(speed))
		got := ways(s, "critical-speed")
		u := speed[strings.IndexByte(speed, ' '):]
		i := slices.IndexFunc(got, func(w string) bool { return strings.HasPrefix(w, "speed ≤ ") && strings.HasSuffix(w, u) })
		if i < 0 {
			t.Errorf("%s: %q", speed, got)
			continue
		}
		digits := strings.Trim(strings.NewReplacer(".", "", u, "", "speed ≤ ", "").Replace(got[i]), "0")
		if len(digits) > 3 {
			t.Errorf("%q has more than three digits", got[i])
		}
		// A little more would fail: the rounding is not far off.
		n, _ := strconv.ParseFloat(strings.TrimSuffix(strings.TrimPrefix(got[i], "speed ≤ "), u), 64)
		if f := judge(s.With("motion.move.speed", fmt.Sprintf(`"%g%s"`, n*1.01, u)), Options{}).results["critical-speed"]; f.State != Failed {
			t.Errorf("%q is further than it needs", got[i])
		}
	}
}

// A lever on a value with a tolerance bounds the tolerance.
func TestLeverOnTolerance(t *testing.T) {
	s := testaxis.WholeSheet().With("load.mass", `"38 kg ± 8 kg"`)
	heavy := s.With("orientation", `"vertical"`, "motor.brake_torque", `"3 N m"`, "screw.dynamic_rating", `"6 kN"`, "motor.rated_torque", `"0.75 N m"`, "motor.rotor_inertia", `"0.6 kg cm2"`)
	got := ways(heavy, "motor-rms-torque")
	i := slices.IndexFunc(got, func(w string) bool { return strings.HasPrefix(w, "mass ≤ ") })
	if i < 0 {
		t.Fatalf("%q", got)
	}
	q, err := unit.Parse(strings.TrimPrefix(got[i], "mass ≤ "), unit.Mass)
	if err != nil || q.Nominal <= 30 || q.Nominal >= 46 {
		t.Errorf("%q", got[i])
	}
}

// Leads are offered in preferred sizes, and only where no other rule minds.
func TestPreferredLead(t *testing.T) {
	s := certain().With("motion.move.speed", `"0.9 m/s"`, "motor.rated_speed", `"4500 rpm"`, "motor.rated_torque", `"5 N m"`, "motor.peak_torque", `"15 N m"`, "motor.rotor_inertia", `"1 kg cm2"`,
		"coupling.rated_torque", `"30 N m"`, "motion.overtravel", `"80 mm"`, "screw.length", `"1200 mm"`, "motion.move.ramp", `"0.4 s"`, "supports.span", `"700 mm"`)
	got := ways(s, "min-lead")
	if !offers(got, "lead ≥ 16 mm") && !offers(got, "lead ≥ 12 mm") {
		t.Errorf("%q", got)
	}
	for _, w := range got {
		if x, ok := strings.CutPrefix(w, "lead ≥ "); ok {
			q, err := unit.Parse(x, unit.Length)
			if err != nil || !slices.Contains(tables.PreferredLeads(), q.Nominal) {
				t.Errorf("%s is no preferred lead", x)
			}
		}
	}
	// The same with a motor that cannot turn a larger lead.
	for torque, want := range map[string]bool{"4 N m": true, "3 N m": false} {
		weak := ways(s.With("motion.move.thrust", `"1000 N"`, "motor.peak_torque", strconv.Quote(torque)), "min-lead")
		if offers(weak, "lead ≥") != want || !offers(weak, "speed ≤") {
			t.Errorf("%s: %q", torque, weak)
		}
	}
}

// A far end is not offered fixed where the part that holds it takes no thrust.
func TestFarEndPart(t *testing.T) {
	s := testaxis.WholeSheet().With("supports.span", `"1000 mm"`, "screw.length", `"1200 mm"`, "motion.move.speed", `"0.55 m/s"`,
		"supports.far_end_part", "support.s2", "far_support.stiffness", `"120 N/um"`, "far_support.dynamic_rating", `"30 kN"`, "far_support.static_rating", `"40 kN"`, "far_support.bore", `"12 mm"`)
	for kind, want := range map[string]bool{"fixed": true, "supported": false} {
		x := s.With("far_support.kind", strconv.Quote(kind))
		if got := ways(x, "critical-speed"); offers(got, "far end fixed") != want {
			t.Errorf("a far part of kind %s: %q", kind, got)
		}
	}
}

// A lever whose value would contradict another line is not offered.
func TestNoWayIntoContradiction(t *testing.T) {
	s := testaxis.WholeSheet().With("supports.span", `"900 mm"`, "motion.move.speed", `"0.65 m/s"`)
	if got := ways(s, "critical-speed"); !offers(got, "span ≤") {
		t.Fatalf("%q", got)
	}
	if got := ways(s.With("supports.loaded_length", `"890 mm"`), "critical-speed"); offers(got, "span ≤") {
		t.Errorf("a span shorter than the loaded length is offered: %q", got)
	}
}

// A way that would break a house rule is not offered.
func TestNoWayAgainstTheHouse(t *testing.T) {
	s := testaxis.WholeSheet().With("supports.span", `"900 mm"`, "motion.move.speed", `"0.65 m/s"`)
	house := `require "quick" { that = top_speed >= "0.65 m/s" }`
	if got := ways(s, "critical-speed", "h.policy.hcl", house); offers(got, "speed ≤") || !offers(got, "span ≤") {
		t.Errorf("%q", got)
	}
	// One that is broken already is in the way only where it would be broken further.
	house = `require "quick" { that = top_speed == "2 m/s" }`
	if got := ways(s, "critical-speed", "h.policy.hcl", house); !offers(got, "speed ≤") {
		t.Errorf("%q", got)
	}
	house = `require "quick" { that = top_speed >= "2 m/s" }`
	if got := ways(s, "critical-speed", "h.policy.hcl", house); offers(got, "speed ≤") || !offers(got, "span ≤") {
		t.Errorf("%q", got)
	}
}

// A waived finding needs no fix.
func TestNoWayForWaived(t *testing.T) {
	s := testaxis.WholeSheet().With("supports.span", `"900 mm"`, "motion.move.speed", `"0.65 m/s"`)
	s.More = "  waive \"critical-speed\" {\n    reason = \"seen\"\n    until = \"2027-01-01\"\n  }\n"
	if got := ways(s, "critical-speed"); len(got) > 0 {
		t.Errorf("%q", got)
	}
}

// A lever's plan computes all a test looks at: for every rule, test and lever,
// and every leaf a tolerance may stand on, the use after the plan is that after
// computing everything.
func TestPlansAreWhole(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	testaxis.Check(t, amount.Of(7, 3), func(rt *rapid.T) {
		s := testaxis.DrawSheet(rt)
		_, _, v := load(s, rt)
		planned, whole := mechanics.NewCalc(), mechanics.NewCalc()
		compare := func(rule *Rule, test *Test, leaf *mechanics.Quantity, set func(c *mechanics.Calc)) {
			ask := func(c *mechanics.Calc) string {
				w := *v
				w.Calc = c
				if rule.Applies != nil && rule.Applies(&w) != "" {
					return "rule: " + rule.Applies(&w)
				}
				if test.Applies != nil && test.Applies(&w) != "" {
					return "test: " + test.Applies(&w)
				}
				return fmt.Sprint(w.utilisation(rule, test))
			}
			planned.CopyFrom(v.Calc)
			set(planned)
			planned.RunPlan(mechanics.Plan(test.watch, leaf))
			whole.CopyFrom(v.Calc)
			set(whole)
			whole.Run()
			if a, b := ask(planned), ask(whole); a != b {
				rt.Fatalf("%s %s, %s: with the plan %s, computed whole %s\n%s", rule.Name, test.Limit.Name, leaf.Name, a, b, s)
			}
		}
		for _, rule := range Book().All() {
			for i := range rule.Tests {
				test := &rule.Tests[i]
				for _, b := range slices.Concat(axisBindings, moveBindings) {
					leaf := b.Leaf
					switch {
					case len(leaf.Words) > 0:
						if v.Calc.Known(leaf) {
							x := float64(r.IntN(len(leaf.Words)))
							compare(rule, test, leaf, func(c *mechanics.Calc) { c.Set(leaf, x) })
						}
					case leaf.Shape == mechanics.Scalar:
						if x, ok := v.Calc.Value(leaf); ok {
							k := math.Exp(r.NormFloat64())
							compare(rule, test, leaf, func(c *mechanics.Calc) { c.Set(leaf, x*k) })
						}
					case len(v.Axis.Moves) > 0:
						m := r.IntN(len(v.Axis.Moves))
						if x := v.Calc.Series(leaf)[m]; x == x {
							k := math.Exp(r.NormFloat64())
							compare(rule, test, leaf, func(c *mechanics.Calc) { c.SetMove(leaf, m, x*k) })
						}
					}
				}
			}
		}
	})
}

// fixes lists the fixes of the findings of a rule.
func fixes(s *testaxis.Sheet, rule string) (out []Fix) {
	for _, f := range judge(s, Options{Fixes: true}).of(rule) {
		out = append(out, f.Fixes...)
	}
	return out
}

// TestForgottenMinus: where the return of a cycle lacks its sign, the fix is the
// sign, whatever the tolerance, and not a stroke twice as long; where the distances
// differ a little it is the distance of the last move.
func TestForgottenMinus(t *testing.T) {
	for _, x := range []struct{ out, back, want string }{
		{`"720 mm"`, `"720 mm"`, "distance of move back = -720 mm"}, {`"-720 mm"`, `"-720 mm"`, "distance of move back = 720 mm"},
		{`"0.72 m ± 1 mm"`, `"0.72 m ± 1 mm"`, "distance of move back = -0.72 m ± 1 mm"}, {`"28 in"`, `"711.2 mm"`, "distance of move back = -711.2 mm"},
		{`"720 mm"`, `"-712 mm"`, "distance of move back = -720 mm"}, {`"28.125 in"`, `"-28.25 in"`, "distance of move back = -28.125 in"},
	} {
		s := testaxis.WholeSheet()
		s.Set("motion.move.distance", 0, x.out)
		s.Set("motion.move.distance", 1, x.back)
		for _, f := range fixes(s, "cycle-closes") {
			if f.Words != x.want {
				t.Errorf("%s and %s: %q, expected %q", x.out, x.back, f.Words, x.want)
			}
		}
		if len(fixes(s, "cycle-closes")) == 0 {
			t.Errorf("%s and %s: no fix", x.out, x.back)
		}
	}
}

// TestEveryShortMoveIsFixed: a fix for moves that are too short for their ramps has
// an edit for each of them, and each move keeps what it can reach. 40 mm with ramps
// of 0.15 s to 0.6 m/s: the speed is v where v·0.15 s = 40 mm, 0.266 m/s; of 30 mm
// 0.2 m/s.
func TestEveryShortMoveIsFixed(t *testing.T) {
	s := testaxis.WholeSheet()
	s.Moves = nil
	for _, m := range [][2]string{{"out", "40 mm"}, {"on", "30 mm"}, {"back", "-70 mm"}} {
		s.Moves = append(s.Moves, &testaxis.SheetMove{Name: m[0], Lines: map[string]string{"distance": strconv.Quote(m[1]), "speed": `"0.6 m/s"`, "ramp": `"0.15 s"`}})
	}
	s.Set("motion.move.speed", 2, `"0.4 m/s"`)
	list := fixes(s, "peak-speed")
	i := slices.IndexFunc(list, func(f Fix) bool { return strings.HasPrefix(f.Words, "speed") })
	if i < 0 {
		t.Fatalf("%+v", list)
	}
	if f := list[i]; f.Words != "speed of move out ≤ 0.266 m/s and speed of move on ≤ 0.2 m/s" || len(f.Edits) != 2 || len(f.Changes) != 2 ||
		f.Changes[0] != (FixChange{"motion.move.speed", "out", "0.6 m/s", "0.266 m/s"}) || f.Edits[0].Text != `"0.266 m/s"` || f.Edits[0].Place.File != testaxis.SheetFile {
		t.Errorf("%+v", f)
	}
}

// TestUntrueFixes: fixes that were offered once and did harm.
func TestUntrueFixes(t *testing.T) {
	// An end is not fixed by a unit that takes no thrust.
	s := testaxis.WholeSheet().With("supports.drive_end", `"supported"`, "drive_support.kind", `"supported"`)
	if got := ways(s, "support-kind"); offers(got, "drive end fixed") || !offers(got, "far end fixed") {
		t.Errorf("support-kind: %q", got)
	}
	// A coarser grade that the positioning does not bear, and one that it does.
	s = testaxis.WholeSheet().With("screw.grade", `"C3"`, "screw.process", `"rolled"`)
	if got := ways(s, "grade-process"); offers(got, "grade C7") {
		t.Errorf("grade-process: %q", got)
	}
	if got := ways(s.With("accuracy.positioning", `"500 um"`), "grade-process"); !offers(got, "grade C7") {
		t.Errorf("grade-process, ±500 µm: %q", got)
	}
	// Too high for the rating and too low for the force: neither more nor less of it.
	s = testaxis.WholeSheet().With("nut.preload", `"400 N"`, "screw.dynamic_rating", `"3 kN"`, "motion.move.thrust", `"1800 N"`)
	got := ways(s, "preload-range")
	if n := len(judge(s, Options{}).of("preload-range")); n != 2 || offers(got, "preload ≤") || offers(got, "preload ≥") {
		t.Errorf("preload-range, %d findings: %q", n, got)
	}
}

// TestNoWarningBecomesAnError: a fix is left out where it takes a rule that warns
// beyond its limit, or further beyond.
func TestNoWarningBecomesAnError(t *testing.T) {
	finding := func(rule string, s Severity, use float64) Finding {
		return Finding{Rule: rule, Cause: rule, Severity: s, Utilisation: use}
	}
	gone := finding("a", Error, 1.5)
	for _, x := range []struct {
		was, is []Finding
		want    bool
	}{
		{nil, nil, true}, {nil, []Finding{gone}, false}, {nil, []Finding{finding("b", Note, 1)}, false},
		{[]Finding{finding("b", Warning, 1.1)}, []Finding{finding("b", Warning, 1.1)}, true},
		{[]Finding{finding("b", Warning, 1.1)}, []Finding{finding("b", Warning, 1.05)}, true},
		{[]Finding{finding("b", Warning, 1.1)}, []Finding{finding("b", Error, 1.1)}, false},
		{[]Finding{finding("b", Error, 1.1)}, []Finding{finding("b", Error, 1.2)}, false},
		{[]Finding{finding("b", Error, 1.1)}, []Finding{finding("b", Error, 1.1), finding("b", Error, 1.1)}, false},
		{nil, []Finding{finding("waiver-unneeded", Note, math.NaN())}, true},
		{[]Finding{{Rule: "b", Cause: "b", Severity: Error, Waiver: &spec.Waiver{}}}, []Finding{finding("b", Error, math.NaN())}, false},
	} {
		was, is := &Report{Findings: append(x.was, gone), Judge: &Judge{Book: Book()}}, &Report{Findings: x.is}
		if got := was.better(is, &gone); got != x.want {
			t.Errorf("%+v, then %+v: %v", x.was, x.is, got)
		}
	}
	// What cannot be judged any more has not gone.
	for before, want := range map[State]bool{Failed: false, Passed: true, Unjudged: true} {
		was, is := &Report{Judge: &Judge{Book: Book()}, Findings: []Finding{gone}, Results: []Result{{State: before}}}, &Report{Results: []Result{{State: Unjudged}}}
		if got := was.better(is, &gone); got != want {
			t.Errorf("%s, then not judged: %v", before, got)
		}
	}
}

// TestLeadsInInch: a preferred lead is written as it is preferred, in millimetres,
// where the line is in inch and the axis is not; where the axis is, what is found is
// rounded up.
func TestLeadsInInch(t *testing.T) {
	s := testaxis.WholeSheet().With("screw.lead", `"0.393701 in"`, "motor.max_speed", `"2000 rpm"`, "motor.peak_torque", `"38 N m"`, "motor.rated_torque", `"12 N m"`,
		"motor.rotor_inertia", `"5 kg cm2"`, "coupling.rated_torque", `"50 N m"`)
	if got := ways(s, "min-lead"); !offers(got, "lead ≥ 12 mm") {
		t.Errorf("%q", got)
	}
}

// A fix is refused where some rules are asked, and no more, if and only if all rules
// together refuse it.
func TestRefusedEarlyIsRefused(t *testing.T) {
	var refused, taken int
	ask := func(rep *Report) {
		j, b, first, whole := Book().NewJudge(testaxis.SomeDay, true), NewScratch(), NewScratch(), NewScratch()
		a, carried := rep.View.Axis, rep.View.Carried
		for i, n := 0, len(rep.Findings); i < n; i++ {
			b.Left, first.Left, whole.Left = 1<<30, 1<<30, 1<<30
			before := j.ask(first, a, carried, true)
			if i >= len(before.Findings) || before.Findings[i].test == nil {
				continue
			}
			f := &before.Findings[i]
			for _, l := range f.test.Parameters {
				d, ok := j.solve(b, before.View, j.Book.byName[f.Rule], f.test, l)
				if !ok || len(d.Lines) == 0 {
					continue
				}
				with, _, ok := a.Rewrite(d.Lines)
				if !ok {
					continue
				}
				want := before.better(j.ask(whole, with, carried, true), f)
				if got := j.offer(first, before, f, d); got != want {
					t.Errorf("%s, %q: offered: %v; all rules say %v", f.Rule, d.Words, got, want)
				} else if got {
					taken++
				} else {
					refused++
				}
			}
		}
	}
	testaxis.Check(t, amount.Of(40, 10), func(rt *rapid.T) {
		s := testaxis.DrawSheet(rt)
		run(s.Files(), Options{Each: ask})
	})
	if refused == 0 || taken == 0 {
		t.Errorf("%d fixes were refused and %d taken; some of each were expected", refused, taken)
	}
}
