package judge

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec/amount"
)

// TestPointsSharedSame: whether tests share what is computed at places within the
// tolerances or each computes its own makes no difference to any of them, in the usual
// case and at both ends of what is assumed. Nor does it make one to look at the ends alone
// where a test is known to be worst there: what shares does, what is alone does not.
func TestPointsSharedSame(t *testing.T) {
	compared := 0
	testaxis.Check(t, amount.Of(600, 20), func(t *rapid.T) {
		s := testaxis.DrawSheet(t)
		if len(widen(t, s)) == 0 {
			return
		}
		_, b, v := load(s, t)
		v.Calc.Run()
		_, own, w := load(s, t)
		w.Calc.Run()
		b.casesOf = v.Axis // as Judge has it: own knows no axis and shares nothing
		for _, r := range Book().all {
			for i := range r.Tests {
				test := &r.Tests[i]
				if test.Nominal {
					continue
				}
				got, want := v.worst(b, r, test), w.worst(own, r, test)
				if !v.spreadsOver(b, test) {
					got = asItIs(v, r, test, want)
				}
				if !sameCase(got, want) {
					t.Fatalf("%s: shared %+v, alone %+v", r.Name, got, want)
				}
				if got.view != nil {
					if x, y := got.view.utilisation(r, test), want.view.utilisation(r, test); x != y && !(x != x && y != y) {
						t.Fatalf("%s: shared %g, alone %g\n%s", r.Name, x, y, s)
					}
					compared++
				}
				b.Left, own.Left = FullBudget, FullBudget
				for _, a := range v.assumed(b, test) {
					x, y := v.with(b, r, test, a, a.High, mechanics.Light), w.with(own, r, test, a, a.High, mechanics.Light)
					if x != y && !(x != x && y != y) {
						t.Fatalf("%s: with %s shared %g, alone %g\n%s", r.Name, a.Leaf.Name, x, y, s)
					}
				}
				for _, k := range ends {
					x, y := v.worstAt(b, r, test, k).use, w.worstAt(own, r, test, k).use
					if x != y && !(x != x && y != y) {
						t.Fatalf("%s: at %g shared %g, alone %g\n%s", r.Name, k, x, y, s)
					}
				}
			}
		}
	})
	if compared < 100 {
		t.Errorf("only %d worst cases were compared", compared)
	}
}

// asItIs is the worst case of a test that no tolerance can change, as a search would have it.
func asItIs(v *View, r *Rule, t *Test, want worstCase) (c worstCase) {
	limit, _, ok := v.limit(r, &t.Limit)
	c.value = math.NaN()
	switch {
	case want.search == nil && !want.undefined && want.view != nil, t.idle(r, v) == "" && ok && v.knows(t) && !math.IsNaN(t.utilisation(v.Calc, limit)):
		c.view = v
	case t.idle(r, v) == "":
		c.undefined = true
	}
	return c
}

func sameCase(a, b worstCase) bool {
	same := a.value == b.value || math.IsNaN(a.value) && math.IsNaN(b.value)
	return same && (a.view == nil) == (b.view == nil) && a.undefined == b.undefined && a.spent == b.spent && a.input.leaf == b.input.leaf && a.input.move == b.input.move
}
