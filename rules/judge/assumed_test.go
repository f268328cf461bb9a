package judge

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
)

// open leaves out what can be assumed.
func open(s *testaxis.Sheet) *testaxis.Sheet {
	o := s.Copy()
	for _, a := range mechanics.Assumptions() {
		delete(o.Lines, a.Leaf.Name)
	}
	return o
}

// TestAssumedEndsAreWorst: no combination of values within what is assumed is worse
// than the worse of both ends by more than 1 %, so that a rule which passes passes whatever
// the values are.
func TestAssumedEndsAreWorst(t *testing.T) {
	compared := map[string]int{}
	testaxis.Check(t, 40, func(rt *rapid.T) {
		s := open(testaxis.DrawSheet(rt))
		if rapid.Bool().Draw(rt, "gear") {
			s.Set("drive.ratio", -1, "1.7")
		}
		_, b, v := load(s, rt)
		for _, r := range Book().All() {
			for i := range r.Tests {
				x := &r.Tests[i]
				list := v.assumed(b, x)
				if len(list) == 0 || !v.knows(x) {
					continue
				}
				o := v.overRange(b, r, x, nil)
				leaves := make([]*mechanics.Quantity, len(list))
				for i, a := range list {
					leaves[i] = a.Leaf
				}
				plan := mechanics.Plan(x.watch, leaves...)
				w := *v
				w.Calc = mechanics.NewCalc()
				for c := range 40 {
					w.Calc.CopyFrom(v.Calc)
					var at []float64
					for i, a := range list {
						k := rapid.Float64Range(0, 1).Draw(rt, "share")
						if c < 1<<len(list) {
							k = float64(c >> i & 1)
						}
						at = append(at, a.Low+k*(a.High-a.Low))
						w.Calc.Set(a.Leaf, at[i])
					}
					w.Calc.RunPlan(plan)
					if r.Applies != nil && r.Applies(&w) != "" || x.Applies != nil && x.Applies(&w) != "" {
						continue
					}
					if u := w.utilisation(r, x); u > o.worst*1.01 && (o.worst > nearLimit && o.worst <= 1 || o.worst <= nearLimit && u > 1) {
						rt.Fatalf("%s (%s) uses %.9g with %v of %v, at the ends %.9g\n%s", r.Name, x.Limit.Name, u, at, leaves, o.worst, s)
					}
				}
				compared[r.Name]++
			}
		}
	})
	for _, r := range []string{"motor-peak-torque", "motor-rms-torque", "life-margin", "buckling", "overtravel", "shaft-stress", "inertia-ratio"} {
		if compared[r] < 5 {
			t.Errorf("%s was compared %d times", r, compared[r])
		}
	}
}

// TestAssumedNotJudged: what passes for a part of what is assumed is not judged, and
// says truly from which value on it passes.
func TestAssumedNotJudged(t *testing.T) {
	for _, x := range []struct {
		rule, missing string
		lines         []string
		why           string
		good, bad     string // a value that passes, one that does not
	}{
		// 0.4 m/s: 10 mm of braking; 15 mm leave 12.5 ms.
		{"overtravel", "motion.reaction_time", []string{"motion.overtravel", `"15 mm"`, "motion.reaction_time", ""}, "passes only if motion.reaction_time, which is not declared, is at most 12.5 ms", `"12.5 ms"`, `"12.6 ms"`},
		{"motor-peak-torque", "drive.gear_efficiency", []string{"drive.ratio", "1.2", "drive.gear_inertia", `"0 kg m2"`, "motor.peak_torque", `"0.85 N m"`, "motor.rated_speed", `"4500 rpm"`}, "passes only if drive.gear_efficiency, which is not declared, is at least 0.", "0.999", "0.71"},
	} {
		s := sure(testaxis.WholeSheet()).With(x.lines...)
		s.Set(x.missing, -1, "")
		v := judge(s, Options{})
		r := v.results[x.rule]
		if r.State != Unjudged || !strings.HasPrefix(r.Why, x.why) || len(r.Missing) != 1 || r.Missing[0].Words != x.missing {
			t.Errorf("%s: %+v", x.rule, r)
		}
		for text, want := range map[string]State{x.good: Passed, x.bad: Failed} {
			if r := judge(s.With(x.missing, text), Options{}).results[x.rule]; r.State != want {
				t.Errorf("%s with %s: %s, expected %s", x.rule, text, r.State, want)
			}
		}
	}
}

// TestAssumedGap: a rule that is open over what is assumed stands in one gap, with
// the line and the value from which on it passes.
func TestAssumedGap(t *testing.T) {
	o := run(testaxis.WholeSheet().With("motion.overtravel", `"15 mm"`, "motion.reaction_time", "").Files(), Options{})
	i := slices.IndexFunc(o.MissingInputs, func(g MissingInput) bool { return slices.Contains(g.Rules, "overtravel") })
	if i < 0 || o.MissingInputs[i].Missing != "motion.reaction_time" || !strings.HasPrefix(o.MissingInputs[i].Why, "passes only if") || len(o.MissingInputs[i].Rules) != 1 {
		t.Errorf("%+v", o.MissingInputs)
	}
	if o.Unjudged != 1 {
		t.Errorf("%d rules are not judged", o.Unjudged)
	}
}

// TestAssumedFailsThroughout: what fails whatever the value is fails.
func TestAssumedFailsThroughout(t *testing.T) {
	v := judge(testaxis.WholeSheet().With("motion.overtravel", `"11 mm"`, "motion.reaction_time", ""), Options{})
	if r := v.results["overtravel"]; r.State != Failed || len(v.of("overtravel")) != 1 { // 10 ms are 4 mm, after 10 mm of braking
		t.Errorf("%+v", r)
	}
	v = judge(testaxis.WholeSheet().With("motion.overtravel", `"91 mm"`, "motion.reaction_time", ""), Options{})
	if r := v.results["overtravel"]; r.State != Passed || math.Abs(r.Utilisation-90.0/91) > 1e-6 { // 200 ms are 80 mm
		t.Errorf("%+v", r)
	}
}
