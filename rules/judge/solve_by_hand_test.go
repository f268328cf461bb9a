package judge

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec/unit"
)

// mostOf and leastOf are tests of one declared quantity, whose right lever is plain.
func mostOf(q *mechanics.Quantity, limit float64) Test {
	return Test{Limit: Limit{Name: "limit", Default: limit}, Value: q}
}

func leastOf(q *mechanics.Quantity, limit float64) Test {
	return Test{Limit: Limit{Name: "limit", Default: limit, Sense: AtLeast}, Value: q}
}

// pulls pulls a lever for a test that is none of a rule there is. It says how
// many evaluations it took.
func pulls(s *testaxis.Sheet, t *testing.T, x Test, l *Parameter) (to float64, ok bool, took int) {
	t.Helper()
	j, b, v := load(s, t)
	r := onTrial(v, Error, x)
	each := Phases(len(v.Axis.Moves))
	to, ok = j.pullTo(b, v, r, &r.Tests[0], l)
	if (FullBudget-b.Left)%each != 0 {
		t.Errorf("%d is no number of evaluations", FullBudget-b.Left)
	}
	return to, ok, (FullBudget - b.Left) / each
}

// TestPullByHand: from the value that stands there in steps of 7 % to the first
// that does, then halved to a millionth, then rounded: to three digits if that
// does, else to the safe side.
func TestPullByHand(t *testing.T) {
	// 1 m to 0.3 m: 1.07^18 = 3.38; the last step is 0.0207 m, of which 2^-17 is
	// less than 0.3 µm; one more for the round value.
	s := testaxis.WholeSheet().With("supports.span", `"1 m"`)
	if to, ok, took := pulls(s, t, mostOf(mechanics.Span, 0.3), lever("span ≤ %s")); !ok || to != 0.3 || took != 18+17+1 {
		t.Errorf("%g %v, %d evaluations", to, ok, took)
	}
	// Upwards as well, and one more where the round value does not do.
	longer := &Parameter{Leaf: mechanics.Span, Words: "%s", Up: true}
	for _, x := range []struct{ limit, want float64 }{{3, 3}, {3.123, 3.13}, {3.129, 3.13}, {1.001, 1.01}} {
		if to, ok, _ := pulls(s, t, leastOf(mechanics.Span, x.limit), longer); !ok || math.Abs(to-x.want) > 1e-12 {
			t.Errorf("from %g m: %g %v", x.limit, to, ok)
		}
	}
	for _, x := range []struct{ limit, want float64 }{{0.3, 0.3}, {0.3129, 0.312}, {0.3121, 0.312}, {0.999, 0.999}} {
		if to, ok, _ := pulls(s, t, mostOf(mechanics.Span, x.limit), lever("span ≤ %s")); !ok || math.Abs(to-x.want) > 1e-12 {
			t.Errorf("up to %g m: %g %v", x.limit, to, ok)
		}
	}
	// A value that is used to the limit and a billionth does.
	limit := 0.8 / (1 + Slack)
	for 0.8/limit > 1+Slack {
		limit = math.Nextafter(limit, 1)
	}
	if 0.8/limit != 1+Slack {
		t.Fatalf("%.17g", 0.8/limit)
	}
	if to, ok, _ := pulls(s, t, mostOf(mechanics.Span, limit), lever("span ≤ %s")); !ok || to != 0.8 {
		t.Errorf("%.17g %v", to, ok)
	}
}

// TestPullFromZero: what is declared as nothing can be raised from a thousandth
// on, as any value to four times it; what is below zero cannot be pulled.
func TestPullFromZero(t *testing.T) {
	room := &Parameter{Leaf: mechanics.Overtravel, Words: "%s", Up: true}
	for from, want := range map[string]float64{`"0 mm"`: 0.002, `"0.5 mm"`: 0.002, `"1 mm"`: 0.002, `"0.4 mm"`: 0} {
		to, ok, _ := pulls(testaxis.WholeSheet().With("motion.overtravel", from), t, leastOf(mechanics.Overtravel, 0.002), room)
		if ok != (want > 0) || ok && math.Abs(to-want) > 1e-12 {
			t.Errorf("from %s: %g %v", from, to, ok)
		}
	}
	brake := &Parameter{Leaf: mechanics.BrakeGiven, Words: "%s", Up: true}
	if to, ok, took := pulls(testaxis.WholeSheet(), t, leastOf(mechanics.BrakeGiven, 0.002), brake); ok || took > 0 {
		t.Errorf("a brake that nobody declared is raised to %g, with %d evaluations", to, took)
	}
	// A brake from nothing, up to 600 kN m and no further; no axis has such a one.
	for limit, want := range map[float64]bool{0.0005: true, 0.002: true, 25: true, 6e5: true, 6.2e5: false} {
		if to, ok, _ := pulls(testaxis.WholeSheet(), t, leastOf(mechanics.BrakeGiven, limit), lever("brake torque on the screw ≥ %s")); ok != want || ok && math.Abs(to-limit) > 1e-9*limit {
			t.Errorf("%g: %g %v", limit, to, ok)
		}
	}
	// Next to nothing is found, or not, but is not looked for without end.
	if to, ok, took := pulls(testaxis.WholeSheet(), t, leastOf(mechanics.BrakeGiven, 1e-320), lever("brake torque on the screw ≥ %s")); took > 1100 || ok && !(to >= 1e-320) {
		t.Errorf("%g %v, %d evaluations", to, ok, took)
	}
	// A temperature below zero is not lowered by dividing it.
	if to, ok, took := pulls(testaxis.WholeSheet().With("motion.move.thrust", `"-100 N"`), t, Test{Limit: Limit{Name: "limit", Default: 1, By: func(v *View) (float64, string, bool) { return 1e-3, "", true }}, Value: mechanics.Span, Also: quantities(mechanics.MoveThrust)}, lever("thrust ≤ %s")); ok || took > 0 {
		t.Errorf("%g %v, %d evaluations", to, ok, took)
	}
}

// TestPullChoice: a choice that is declared is changed where that does, one that
// nobody made is not made.
func TestPullChoice(t *testing.T) {
	hung := Test{Value: mechanics.Span, Also: quantities(mechanics.DriveAt), Limit: Limit{Name: "limit", Default: 1, By: func(v *View) (float64, string, bool) {
		if v.Calc.Known(mechanics.DriveAt) && v.Calc.Word(mechanics.DriveAt) == "top" {
			return 1, "", true
		}
		return 0.5, "", true
	}}}
	for drive, want := range map[string]bool{`"bottom"`: true, "": false} {
		if to, ok, _ := pulls(testaxis.WholeSheet().With("supports.drive_at", drive), t, hung, lever("drive end at the top")); ok != want || ok && to != mechanics.DriveAtTop {
			t.Errorf("%s: %g %v", drive, to, ok)
		}
	}
	hung.Limit.Default, hung.Limit.By = 0.5, nil
	if _, ok, _ := pulls(testaxis.WholeSheet().With("supports.drive_at", `"bottom"`), t, hung, lever("drive end at the top")); ok {
		t.Error("a choice that does not help is made")
	}
}

// TestPullMiddleValues: a test of the middle values asks for what they ask for.
// The moves reach over 720 mm, with their tolerance over 730 mm.
func TestPullMiddleValues(t *testing.T) {
	s := testaxis.WholeSheet().With("motion.stroke", `"700 mm"`)
	s.Set("motion.move.distance", 0, `"720 mm ± 10 mm"`)
	if got := ways(s, "cycle-closes"); !slices.Contains(got, "stroke ≥ 720 mm") {
		t.Errorf("%q", got)
	}
	// Nor do the ends of a tolerance keep a cycle from closing, for another rule.
	s = testaxis.WholeSheet().With("motor.rated_torque", `"0.1 N m"`)
	s.Set("motion.move.distance", 0, `"720 mm ± 10 mm"`)
	if got := ways(s, "motor-rms-torque"); !offers(got, "rated motor torque ≥") {
		t.Errorf("%q", got)
	}
}

// TestPullBrakeWithTolerances: a brake from nothing holds the heaviest load.
func TestPullBrakeWithTolerances(t *testing.T) {
	brake := func(mass string) float64 {
		t.Helper()
		got := ways(testaxis.WholeSheet().With("orientation", `"vertical"`, "load.mass", mass), "holding-brake")
		i := slices.IndexFunc(got, func(w string) bool { return strings.HasPrefix(w, "brake torque on the screw ≥ ") })
		if i < 0 {
			t.Errorf("%s: %q", mass, got)
			return 0
		}
		q, err := unit.Parse(strings.TrimPrefix(got[i], "brake torque on the screw ≥ "), unit.Torque)
		if err != nil {
			t.Error(err)
		}
		return q.Nominal
	}
	if wide, heavy := brake(`"30 kg ± 6 kg"`), brake(`"36 kg"`); wide != heavy || wide <= brake(`"30 kg"`) {
		t.Errorf("%g N m with the tolerance, %g N m of the heaviest", wide, heavy)
	}
}

// TestFixesInUnitsAskedFor: a fix is shown in the units the run requested,
// and in those of its line where it did not; a line of nothing does not count.
func TestFixesInUnitsAskedFor(t *testing.T) {
	s := testaxis.WholeSheet().With("supports.span", `"900 mm"`, "motion.move.speed", `"0.65 m/s"`)
	inch := unit.Inch
	for units, suffix := range map[*unit.System]string{nil: " mm", &inch: " in"} {
		ok := false
		for _, f := range judge(s, Options{Fixes: true, Units: units}).of("critical-speed") {
			for _, fix := range f.Fixes {
				w := fix.Words
				ok = ok || strings.HasPrefix(w, "span ≤ ") && strings.HasSuffix(w, suffix)
			}
		}
		if !ok {
			t.Errorf("no span in%s", suffix)
		}
	}
	s = testaxis.WholeSheet().With("motion.move.thrust", "")
	s.Set("motion.move.thrust", 1, `"20 lbf"`)
	_, _, v := load(s, t)
	if got := (&trial{v: *v, l: lever("thrust ≤ %s"), only: -1}).unitFor(1); got != "lbf" {
		t.Errorf("thrust is written in %q", got)
	}
}

// TestNoWayAgainstTheHouseWithTolerances: a way that breaks a house rule at one
// end of a tolerance is not offered, nor one for which that cannot be said for
// want of work left; a house rule that fails already, or waits for a line, is not
// in the way.
func TestNoWayAgainstTheHouseWithTolerances(t *testing.T) {
	s := testaxis.WholeSheet().With("supports.span", `"900 mm"`, "motion.move.speed", `"0.65 m/s"`, "motion.overtravel", `"10 mm ± 5 mm"`, "screw.length", `"1100 mm"`, "screw.end_lengths", `["180 mm", "120 mm"]`)
	span := 0.0
	for _, w := range ways(s, "critical-speed") {
		if x, ok := strings.CutPrefix(w, "span ≤ "); ok {
			q, err := unit.Parse(x, unit.Length)
			if err != nil {
				t.Fatal(err)
			}
			span = q.Nominal * 1000
		}
	}
	if span < 700 || span > 880 {
		t.Fatalf("the span is to be %g mm", span)
	}
	for least, want := range map[float64]bool{span + 4: true, span + 6: false, span + 16: false} {
		house := fmt.Sprintf(`require "roomy" { that = supports.span + motion.overtravel >= "%g mm" }`, least)
		if got := ways(s, "critical-speed", "h.policy.hcl", house); offers(got, "span ≤") != want {
			t.Errorf("%s: %q", house, got)
		}
	}
	for _, house := range []string{
		`require "waits" { that = supports.span + motion.overtravel + supports.loaded_length >= "1 mm" }`,
		"require \"first\" { that = true }\nrequire \"fails\" { that = motion.overtravel >= \"1 m\" }",
	} {
		if got := ways(s, "critical-speed", "h.policy.hcl", house); !offers(got, "span ≤") {
			t.Errorf("%s: %q", house, got)
		}
	}
}

// TestOffRulesAreNotInTheWay: a lead that asks too much of the motor is offered
// where a policy has switched that question off, and not where it is but a note.
func TestOffRulesAreNotInTheWay(t *testing.T) {
	s := certain().With("motion.move.speed", `"0.9 m/s"`, "motor.rated_speed", `"4500 rpm"`, "motor.rated_torque", `"5 N m"`, "motor.peak_torque", `"3 N m"`, "motor.rotor_inertia", `"1 kg cm2"`, "motion.move.thrust", `"1000 N"`,
		"coupling.rated_torque", `"30 N m"`, "motion.overtravel", `"80 mm"`, "screw.length", `"1200 mm"`, "motion.move.ramp", `"0.4 s"`, "supports.span", `"700 mm"`)
	for severity, want := range map[string]bool{"error": false, "note": false, "off": true} {
		policy := "rule \"motor-peak-torque\" {\n  severity = \"" + severity + "\"\n  reason = \"r\"\n}\n"
		if got := ways(s, "min-lead", "h.policy.hcl", policy); offers(got, "lead ≥") != want {
			t.Errorf("%s: %q", severity, got)
		}
	}
}

// TestLeverSet: a lever moves what it helps and leaves alone what is beyond it
// already; a choice is made, and what is not there stays so in moves.
func TestLeverSet(t *testing.T) {
	s := testaxis.WholeSheet()
	s.Set("motion.move.speed", 1, `"0.2 m/s"`)
	s.Moves = append(s.Moves, &testaxis.SheetMove{Name: "up", Lines: map[string]string{"distance": `"20 mm"`}})
	_, b, v := load(s, t)
	for _, x := range []struct {
		l    *Parameter
		x    float64
		want []float64
	}{
		{lever("span ≤ %s"), 0.7, []float64{0.7}}, {lever("span ≤ %s"), 0.9, []float64{0.8}}, {lever("static rating ≥ %s"), 30e3, []float64{30e3}}, {lever("static rating ≥ %s"), 2e3, []float64{21e3}},
		{lever("far end fixed"), mechanics.FixedEnd, []float64{mechanics.FixedEnd}}, {lever("brake torque on the screw ≥ %s"), 2, []float64{2}}, {lever("lead ≤ %s"), 0.02, []float64{0.02}},
		{lever("speed ≤ %s"), 0.3, []float64{0.3, 0.2, math.NaN()}}, {lever("speed ≤ %s"), 0.1, []float64{0.1, 0.1, math.NaN()}}, {lever("speed ≤ %s"), 0.5, []float64{0.4, 0.2, math.NaN()}},
	} {
		b.trial.CopyFrom(v.Calc)
		tr := trial{v: *v, l: x.l, only: -1}
		tr.v.Calc = b.trial
		tr.set(v.Calc, x.x)
		got := []float64{b.trial.V(x.l.Leaf)}
		if x.l.Leaf.Shape != mechanics.Scalar {
			got = b.trial.Series(x.l.Leaf)
		}
		if fmt.Sprintf("%.9g", got) != fmt.Sprintf("%.9g", x.want) || tr.v.varied != x.l || tr.v.to != x.x {
			t.Errorf("%s at %g: %v, expected %v", x.l.Leaf.Name, x.x, got, x.want)
		}
	}
}

// TestUseOfWhatIsNotKnown: a test of which something it needs is not known, or a
// limit, has no use.
func TestUseOfWhatIsNotKnown(t *testing.T) {
	_, _, v := load(testaxis.WholeSheet(), t)
	missing := mostOf(mechanics.Span, 1)
	missing.Needs = quantities(mechanics.LoadedLengthGiven)
	none := mostOf(mechanics.Span, 1)
	none.Limit.By = func(*View) (float64, string, bool) { return 1, "", false }
	for want, x := range map[float64]Test{0.8: mostOf(mechanics.Span, 1), -1: missing, -2: none} {
		r := onTrial(v, Error, x)
		if got := v.utilisation(r, &r.Tests[0]); got != want && !(want < 0 && got != got) {
			t.Errorf("%g, expected %g", got, want)
		}
	}
}

// TestPullNotPaidFor: where the worst case cannot be searched for, nothing is
// pulled; nor where what is left does not reach to the value that would do.
func TestPullNotPaidFor(t *testing.T) {
	for _, x := range []struct {
		span string
		left int
		want bool
	}{{`"1 m ± 0.1 m"`, 100, false}, {`"1 m ± 0.1 m"`, FullBudget, true}, {`"1 m"`, 100, false}, {`"1 m"`, 36*16 + 1, true}} {
		j, b, v := load(testaxis.WholeSheet().With("supports.span", x.span), t)
		r := onTrial(v, Error, mostOf(mechanics.Span, 0.3))
		b.Left = x.left
		if to, ok := j.pullTo(b, v, r, &r.Tests[0], lever("span ≤ %s")); ok != x.want || ok && to != 0.3 {
			t.Errorf("%s with %d: %g %v", x.span, x.left, to, ok)
		}
	}
}
