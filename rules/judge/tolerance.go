package judge

import (
	"fmt"
	"math"
	"slices"

	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A worstCase is where within the tolerances a test comes out worst.
type worstCase struct {
	view      *View  // nil where the question does not arise anywhere
	decides   string // words for the input whose spread decides; may be empty
	undefined bool   // somewhere within the tolerances a value is not defined
	spent     bool   // there were too many inputs to search; the rest says nothing
}

// worst finds the values within the tolerances at which a test comes out worst.
// The view has a Calc of its own, as tolerances are rare and the view outlives
// the next use of the scratch memory.
func (v *View) worst(b *Scratch, r *Rule, t *Test) worstCase {
	var at []toleranceRange
	for _, s := range b.tolerances {
		if mechanics.AnyDepends(t.watch, s.leaf) {
			at = append(at, s)
		}
	}
	if len(at) == 0 {
		return worstCase{view: v}
	}
	if !b.affords(len(at), Phases(v.Calc.Moves())) {
		return worstCase{spent: true}
	}
	leaves := make([]*mechanics.Quantity, len(at))
	for i, s := range at {
		leaves[i] = s.leaf
	}
	bad, found := *v, worstCase{}
	w := &bad
	w.Calc = mechanics.NewCalc()
	w.Calc.CopyFrom(v.Calc)
	plan := mechanics.Plan(t.watch, leaves...)
	x := make([]float64, len(at))
	use := func(x []float64) float64 {
		if !b.spend(Phases(v.Calc.Moves())) {
			found.spent = true
			return math.NaN()
		}
		for i, s := range at {
			s.set(w.Calc, x[i])
		}
		w.Calc.RunPlan(plan)
		if t.Applies != nil && t.Applies(w) != "" || r.Applies != nil && r.Applies(w) != "" {
			return math.Inf(-1)
		}
		limit, _, ok := w.limit(r, &t.Limit)
		if u := t.utilisation(w.Calc, limit); ok && w.knows(t) && !math.IsNaN(u) {
			return u
		}
		found.undefined = true
		return math.Inf(-1)
	}
	for i, s := range at {
		x[i] = s.get(v.Calc)
	}
	best, top := climb(at, x, use)
	if found.spent || math.IsInf(top, -1) {
		return found
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
	found.view = w
	if which < 0 {
		return found
	}
	s := at[which]
	name := s.leaf.Title
	if f := FieldOfLeaf[s.leaf.ID()]; f != nil {
		name = Readable(f.Name)
		if s.move >= 0 {
			name += " of move " + v.Axis.Moves[s.move].Name
		}
	}
	v.Units()
	found.decides = fmt.Sprintf("worst within tolerances, decided by %s %s", name, unit.FormatExact(best[which], s.leaf.Kind, v.Sys))
	return found
}

// arises reports whether the question of a test that does not arise at the
// middle values may arise somewhere within the tolerances.
func (v *View) arises(b *Scratch, r *Rule, t *Test) bool {
	if t.Nominal || !slices.ContainsFunc(b.tolerances, func(s toleranceRange) bool { return mechanics.AnyDepends(t.watch, s.leaf) }) {
		return false
	}
	for _, q := range t.all {
		if len(v.Calc.Gaps(q)) > 0 {
			return false // what is missing cannot be searched
		}
	}
	w := v.worst(b, r, t)
	return w.view != nil || w.spent
}

// climb looks within the tolerances for the point at which f is largest. It
// begins at start and ends early where f gives no number.
//
// Most quantities are monotone in each input, so corners of the tolerance box
// come first; some are not (the mean load of a counterbalanced lifting axis has
// its least in between, its use of life has not), so each input is also tried
// along its width from the best point so far, until nothing gets better.
func climb(at []toleranceRange, start []float64, f func([]float64) float64) (best []float64, top float64) {
	x := slices.Clone(start)
	best, top = slices.Clone(start), f(start)
	stopped := top != top
	try := func(y []float64) {
		if stopped {
			return
		}
		u := f(y)
		if u > top {
			top = u
			copy(best, y)
		}
		stopped = u != u
	}
	// All corners for a few inputs; of many both ends and some scattered ones,
	// always the same.
	n, scattered := 1<<min(len(at), maxCorners), len(at) > maxCorners
	bits := uint64(0)
	for c := range n {
		if !scattered {
			bits = uint64(c)
		} else if c > 1 {
			bits = bits*6364136223846793005 + 1442695040888963407
		}
		for i, s := range at {
			up := bits>>i&1 == 1
			if scattered {
				up = c == 1 || c > 1 && bits>>(63-i*7%64)&1 == 1
			}
			x[i] = s.low
			if up {
				x[i] = s.high
			}
		}
		try(x)
	}
	for range 4 {
		before := top
		for i, s := range at {
			if stopped {
				return best, top
			}
			copy(x, best)
			for k := range samples + 1 {
				x[i] = s.low + (s.high-s.low)*float64(k)/samples
				try(x)
			}
			// Narrow down on a best point between two samples.
			step := (s.high - s.low) / samples
			for range 30 {
				step /= 2
				mid := best[i]
				if y := mid - step; y >= s.low {
					x[i] = y
					try(x)
				}
				if y := mid + step; y <= s.high {
					x[i] = y
					try(x)
				}
			}
		}
		if top <= before || top-before < 1e-12*math.Abs(top) {
			break
		}
	}
	return best, top
}

const (
	maxCorners = 8
	samples    = 16
)

// FullBudget bounds the work spent on tolerances and on fixes of one axis,
// counted in phases evaluated: far more than any honest axis takes, and less
// than a second.
const FullBudget = 6_000_000

// fileBudget is what the axes of one file share, where that is less for each:
// enough for a thousand with a few tolerances.
const fileBudget = 50_000_000

// BudgetOf is what may be spent on an axis.
func (b *Scratch) BudgetOf(a *spec.Axis) int {
	n := min(FullBudget, fileBudget/max(1, a.InFile))
	if b.Most > 0 {
		n = min(n, b.Most)
	}
	return n
}

// wholeRun is what the quantities that are no phase's count in an evaluation of
// all of them.
const wholeRun = 40

// Phases is what one evaluation of a cycle counts.
func Phases(moves int) int { return max(4, moves) * mechanics.PhasesPerMove }

// affords reports whether what is left of the budget can be enough for a search
// over n inputs with evaluations of so many phases. If not the search is not
// begun, so that others still are.
func (b *Scratch) affords(n, phases int) bool { return n*(samples+30)*phases < b.Left }

// spend takes one evaluation from the budget; false when it is used up.
func (b *Scratch) spend(phases int) bool {
	b.Left -= phases
	return b.Left > 0
}

func (s toleranceRange) get(c *mechanics.Calc) float64 {
	if s.move < 0 {
		return c.V(s.leaf)
	}
	return c.Series(s.leaf)[s.move]
}

func (s toleranceRange) set(c *mechanics.Calc, x float64) {
	if s.move < 0 {
		c.Set(s.leaf, x)
		return
	}
	c.SetMove(s.leaf, s.move, x)
}
