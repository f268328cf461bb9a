package judge

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
)

// TestAlsoIsWhatIsLookedAt watches what the questions and limits of every test
// look at, over many axes, and holds Also to it: what is looked at must be
// computed again where tolerances and levers move it, so a quantity that the
// test watches must rest on it. An entry that could go as well may not stand
// there; that is, each is taken away in turn, and something must then be missed.
func TestAlsoIsWhatIsLookedAt(t *testing.T) {
	looked := map[*Test]*mechanics.Set{}
	for _, r := range Book().All() {
		for i := range r.Tests {
			looked[&r.Tests[i]] = &mechanics.Set{}
		}
	}
	for _, s := range []*testaxis.Sheet{testaxis.WholeSheet(), testaxis.WholeSheet().With("accuracy.positioning", "", "accuracy.repeatability", "")} {
		_, _, v := load(s, t)
		nominal, rnd := v.Calc, rand.New(rand.NewPCG(5, 6))
		for range 400 {
			v.Calc = mechanics.NewCalc()
			v.Calc.CopyFrom(nominal)
			scatter(v.Calc, rnd)
			for _, r := range Book().All() {
				for i := range r.Tests {
					p := &r.Tests[i]
					v.Calc.Watch(mechanics.Watch{Set: looked[p]})
					p.questions(v, r)
				}
			}
		}
	}
	for _, r := range Book().All() {
		for i := range r.Tests {
			p := &r.Tests[i]
			missed := func(watch []*mechanics.Quantity) (out []string) {
				for _, q := range looked[p].List() {
					if !mechanics.AnyDepends(watch, q) {
						out = append(out, q.Name)
					}
				}
				return out
			}
			if out := missed(p.watch); len(out) > 0 {
				t.Errorf("%s, %s looks at %q, which Also does not name", r.Name, p.Limit.Name, out)
			}
			for k := range p.Also {
				without := slices.Concat(p.all, p.Also[:k], p.Also[k+1:])
				if len(missed(without)) == 0 {
					t.Errorf("%s, %s: nothing it looks at is missed without %s in Also", r.Name, p.Limit.Name, p.Also[k].Name)
				}
			}
		}
	}
}

// questions asks whether the test applies, and for its limits.
func (t *Test) questions(v *View, r *Rule) {
	for _, applies := range []func(*View) string{r.Applies, t.Applies} {
		if applies != nil {
			applies(v)
		}
	}
	for _, l := range []*Limit{&t.Limit, t.Advice} {
		if l != nil && l.By != nil {
			l.By(v)
		}
	}
}

// scatter gives the leaves other values and words, and takes some away.
func scatter(c *mechanics.Calc, rnd *rand.Rand) {
	for _, q := range mechanics.All() {
		switch {
		case !q.Leaf() || q.Shape != mechanics.Scalar:
		case rnd.IntN(8) == 0:
			c.Set(q, math.NaN())
		case len(q.Words) > 0:
			c.Set(q, float64(rnd.IntN(len(q.Words))))
		case c.Known(q):
			c.Set(q, c.V(q)*(0.2+2*rnd.Float64()))
		default:
			c.Set(q, rnd.Float64()*2)
		}
	}
	c.Run()
}
