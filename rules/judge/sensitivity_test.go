package judge

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
)

// sensitive finds what moves the margins of a sheet, of rules that are the only
// ones there are.
func sensitive(s *testaxis.Sheet, t *testing.T, states []State, rules ...*Rule) []Sensitivity {
	t.Helper()
	_, _, v := load(s, t)
	v.InForce = &InForce{book: &Rulebook{all: rules}}
	rep := &Report{View: v}
	for i, r := range rules {
		for k := range r.Tests {
			p := &r.Tests[k]
			p.all = append([]*mechanics.Quantity{p.Value}, p.Needs...)
			p.watches()
		}
		r.Index = i
		v.InForce.Settings = append(v.InForce.Settings, Setting{Rule: r})
		rep.Results = append(rep.Results, Result{Rule: r.Name, State: states[i]})
	}
	return rep.Sensitivities(100)
}

// TestSensitiveRules: rules that were judged, and of them tests that are evaluated,
// known and used in part; the tightest first, equal ones as they come.
func TestSensitiveRules(t *testing.T) {
	no := func(*View) string { return "no" }
	yes := func(*View) string { return "" }
	rule := func(name string, x Test) *Rule { return &Rule{Name: name, Tests: []Test{x}} }
	with := func(x Test, change func(*Test)) Test {
		change(&x)
		return x
	}
	short := mostOf(mechanics.Span, 1) // 0.8 m
	rules := []*Rule{
		rule("a", short), rule("b", mostOf(mechanics.Span, 0.5)), rule("c", short), rule("d", short), rule("e", short),
		rule("f", with(short, func(x *Test) { x.Applies = yes })),
		rule("g", with(short, func(x *Test) { x.Applies = no })),
		rule("h", with(short, func(x *Test) { x.Needs = quantities(mechanics.LoadedLengthGiven) })),
		rule("i", with(short, func(x *Test) {
			x.Limit.By = func(*View) (float64, string, bool) { return 1, "", false }
		})),
		rule("j", mostOf(mechanics.Stretch, 1)), rule("k", mostOf(mechanics.Span, 0)),
		{Name: "l", Applies: no, Tests: []Test{short}}, {Name: "m", Applies: yes, Tests: []Test{short}},
	}
	states := slices.Repeat([]State{Passed}, len(rules))
	states[1], states[3], states[4] = Failed, Unjudged, NotApplicable
	var got []string
	for _, s := range sensitive(testaxis.WholeSheet().With("supports.stretch", `"0 mm"`), t, states, rules...) {
		got = append(got, fmt.Sprintf("%s %.3g", s.Rule, s.Utilisation))
	}
	if want := []string{"b 1.6", "a 0.8", "c 0.8", "f 0.8", "m 0.8"}; !slices.Equal(got, want) {
		t.Errorf("%q, expected %q", got, want)
	}
}

// TestInfluencesByHand: a margin of L/l − 1 goes with a limit that is L and
// against a value that is l; what moves it by less than a billionth, or only to
// where there is no limit, does not count.
func TestInfluencesByHand(t *testing.T) {
	limited := func(by func(v *View) float64, also ...*mechanics.Quantity) *Rule {
		return &Rule{Name: "r", Tests: []Test{{Value: mechanics.Span, Also: also, Limit: Limit{Name: "limit", By: func(v *View) (float64, string, bool) {
			if x := by(v); x == x {
				return x, "", true
			}
			return 5, "", false
		}}}}}
	}
	shifts := func(s *testaxis.Sheet, r *Rule) string {
		out := ""
		for _, x := range sensitive(s, t, []State{Passed}, r) {
			for _, in := range x.Inputs {
				out += fmt.Sprintf("%s %.4g %.4g %.4g; ", in.Name, in.Shift, in.Low, in.High)
			}
		}
		return out
	}
	// 0.98 m over 0.8 m are 1.225; over 0.808 m 1.21287.
	length := func(v *View) float64 { return v.V(mechanics.ShaftLength) }
	if got, want := shifts(testaxis.WholeSheet(), limited(length, mechanics.ShaftLength)), "length 0.01225 NaN NaN; span -0.01213 NaN NaN; "; got != want {
		t.Errorf("%s, expected %s", got, want)
	}
	// 0.5 … 1.1 m: 0.96 and −0.109.
	if got, want := shifts(testaxis.WholeSheet().With("supports.span", `"0.5 m .. 1.1 m"`), limited(length, mechanics.ShaftLength)), "length 0.01225 NaN NaN; span -0.01213 0.96 -0.1091; "; got != want {
		t.Errorf("%s, expected %s", got, want)
	}
	for each, want := range map[float64]string{1.5e-9: "span -0.01238 NaN NaN; mass 1.5e-09 NaN NaN; ", 0.8e-9: "span -0.01238 NaN NaN; "} {
		// One per cent of the mass moves the limit of 1 m by 0.8 times so much.
		if got := shifts(testaxis.WholeSheet(), limited(func(v *View) float64 { return 1 + each*80*(v.V(mechanics.Mass)/30-1) }, mechanics.Mass)); got != want {
			t.Errorf("%s, expected %s", got, want)
		}
	}
	if got, want := shifts(testaxis.WholeSheet(), limited(func(v *View) float64 {
		if v.V(mechanics.Mass) != 30 {
			return math.NaN()
		}
		return 1
	}, mechanics.Mass)), "span -0.01238 NaN NaN; "; got != want {
		t.Errorf("%s, expected %s", got, want)
	}
	// Equal ones stay in the order of the language and of the moves.
	fast := &Rule{Name: "r", Tests: []Test{{Value: mechanics.Span, Also: quantities(mechanics.MoveSpeed), Limit: Limit{Name: "limit", By: func(v *View) (float64, string, bool) {
		speeds := v.Calc.Series(mechanics.MoveSpeed)
		return 1 + (speeds[0] + speeds[1]), "", true
	}}}}}
	if got, want := shifts(testaxis.WholeSheet(), fast), "span -0.02228 NaN NaN; speed of move out 0.005 NaN NaN; speed of move back 0.005 NaN NaN; "; got != want {
		t.Errorf("%s, expected %s", got, want)
	}
}
