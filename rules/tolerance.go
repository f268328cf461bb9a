package rules

import (
	"fmt"
	"math"

	"trammel/rules/mechanics"
	"trammel/spec/unit"
)

// worst finds the values within the tolerances at which a test comes out worst
// and returns a view of them, with words for the input whose spread decides.
// The view's Calc is new memory: tolerances are rare, and the view outlives
// the bench's next use.
//
// Most quantities are monotone in each input, so corners of the tolerance box
// come first; some are not (the mean load of a counterbalanced lifting axis has
// its least in between, its use of life has not), so each input is also tried
// along its width from the worst point so far, until nothing gets worse.
//
// ok is false where there are too many inputs with a tolerance to search.
func (v *View) worst(b *Bench, r *Rule, t *Test) (w *View, decides string, ok bool) {
	var at []spread
	for _, s := range b.spreads {
		if mechanics.AnyDepends(t.watch, s.leaf) {
			at = append(at, s)
		}
	}
	if len(at) == 0 {
		return v, "", true
	}
	leaves := make([]*mechanics.Quantity, len(at))
	for i, s := range at {
		leaves[i] = s.leaf
	}
	bad := *v
	w = &bad
	w.Calc = mechanics.NewCalc()
	w.Calc.CopyFrom(v.Calc)
	plan := mechanics.Plan(t.watch, leaves...)
	x := make([]float64, len(at))
	spent := false
	use := func(x []float64) float64 {
		if !b.spend(v.Calc.Moves()) {
			spent = true
			return math.Inf(-1)
		}
		for i, s := range at {
			s.set(w.Calc, x[i])
		}
		w.Calc.RunPlan(plan)
		if t.Applies != nil && t.Applies(w) != "" || r.Applies != nil && r.Applies(w) != "" {
			return math.Inf(-1)
		}
		limit, _, ok := w.limit(r, &t.Limit)
		if !ok {
			return math.Inf(1)
		}
		u := t.use(w.Calc, limit)
		if math.IsNaN(u) {
			return math.Inf(1)
		}
		return u
	}
	for i, s := range at {
		x[i] = s.get(v.Calc)
	}
	best := append([]float64(nil), x...)
	top := use(x)
	try := func(y []float64) {
		if u := use(y); u > top {
			top = u
			copy(best, y)
		}
	}
	// Corners: all of them for a few inputs, else each input from the middle.
	if len(at) <= maxCorners {
		for c := range 1 << len(at) {
			for i, s := range at {
				x[i] = s.low
				if c>>i&1 == 1 {
					x[i] = s.high
				}
			}
			try(x)
		}
	}
	for range 4 {
		before := top
		for i, s := range at {
			copy(x, best)
			for k := range samples + 1 {
				x[i] = s.low + (s.high-s.low)*float64(k)/samples
				try(x)
			}
			// Narrow down on a worst point between two samples.
			step := (s.high - s.low) / samples
			for range 30 {
				step /= 2
				mid := best[i]
				copy(x, best)
				if y := mid - step; y >= s.low {
					x[i] = y
					try(x)
				}
				if y := mid + step; y <= s.high {
					copy(x, best)
					x[i] = y
					try(x)
				}
			}
		}
		if top <= before*(1+1e-12) {
			break
		}
	}
	if spent {
		return v, "", false
	}

	// Which input's spread decides: the one whose return to its middle value
	// relieves the test most.
	which, relief := -1, 0.0
	for i, s := range at {
		copy(x, best)
		x[i] = s.get(v.Calc)
		if d := top - use(x); d > relief {
			which, relief = i, d
		}
	}
	use(best)
	w.Calc.Run()
	if which < 0 {
		return w, "", true
	}
	s := at[which]
	name := s.leaf.Title
	if f := leafField[s.leaf.ID()]; f != nil {
		name = words(f.Name)
		if s.move >= 0 {
			name += " of move " + v.Axis.Moves[s.move].Name
		}
	}
	v.units()
	return w, fmt.Sprintf("worst within tolerances, decided by %s %s", name, unit.FormatExact(best[which], s.leaf.Kind, v.Sys)), true
}

const (
	maxCorners = 8
	samples    = 16
)

// budget bounds the work spent on tolerances and on ways out of one axis,
// counted in phases evaluated: far more than any honest axis takes, and less
// than a second.
const budget = 6_000_000

// spend takes one evaluation from the budget; false when it is used up.
func (b *Bench) spend(moves int) bool {
	b.left -= max(4, moves) * mechanics.PhasesPerMove
	return b.left > 0
}

func (s spread) get(c *mechanics.Calc) float64 {
	if s.move < 0 {
		return c.V(s.leaf)
	}
	return c.Series(s.leaf)[s.move]
}

func (s spread) set(c *mechanics.Calc, x float64) {
	if s.move < 0 {
		c.Set(s.leaf, x)
		return
	}
	c.SetMove(s.leaf, s.move, x)
}
