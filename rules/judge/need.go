package judge

import (
	"math"
	"slices"

	"trammel/rules/mechanics"
)

// A Need says what a declared quantity must be for one limit of a rule to be
// kept, everything else as declared.
type Need struct {
	Rule          string
	Limit         *Limit              // the limit it is solved for: a test's own, or its advice
	Advised       bool                // the limit is an advice: its breach is a warning only
	Asked         float64             // that limit as in force, SI; NaN where it is not known
	Because       string              // why it is this for the axis; may be empty
	Leaf          *mechanics.Quantity // what must be so
	Least         bool                // Value is the least that passes, else the greatest
	Value         float64             // SI, on the side that passes and not rounded; 0 or infinite where every value passes; NaN where it cannot be told
	Why           string              // why it cannot be told, or why the question does not arise
	NotApplicable bool                // the question does not arise: nothing is required
	Never         bool                // no value of it suffices
	Missing       []MissingLine       // the lines that would have to be there
}

// Known reports whether the need could be told.
func (n *Need) Known() bool { return !math.IsNaN(n.Value) }

// Needs finds what a scalar leaf must be for each test that can be made to hold by it
// to pass: the least dynamic rating for the required life, the least root diameter
// for the critical speed. The value declared for the leaf plays no part, so
// there need be none; tolerances of the others are taken at their worst.
//
// Leaves that were given other values in v.Calc (set, then run) than the axis
// declares count at those, without tolerance.
func (v *View) Needs(leaf *mechanics.Quantity) []Need {
	b := v.bench()
	b.tolerances = slices.DeleteFunc(b.tolerances, func(s toleranceRange) bool { return s.leaf == leaf })
	var out []Need
	for _, r := range v.InForce.book.all {
		for i := range r.Tests {
			t := &r.Tests[i]
			for _, l := range t.Parameters {
				if l.Leaf != leaf || leaf.Shape != mechanics.Scalar || len(leaf.Words) > 0 {
					continue
				}
				out = append(out, v.need(b, r, t, l.Leaf, l.Up, &t.Limit))
				if t.Advice != nil {
					out = append(out, v.need(b, r, t, l.Leaf, l.Up, t.Advice))
				}
			}
		}
	}
	return out
}

// bench gives working memory with the tolerances of the axis, but for leaves
// that were given another value than the declared one.
func (v *View) bench() *Scratch {
	b := NewScratch()
	b.tolerances = slices.DeleteFunc(Load(b.Calc, v.Axis, CarriedMass(v.Carried), nil), func(s toleranceRange) bool { return s.get(v.Calc) != s.get(b.Calc) })
	b.Left = FullBudget
	return b
}

// Most finds the greatest value within the tolerances of something that f reads
// from the given quantities; NaN where it is not known, not defined everywhere
// within the tolerances, or too much to search.
func (v *View) Most(f func(c *mechanics.Calc) float64, from ...*mechanics.Quantity) float64 {
	b := v.bench()
	at := slices.DeleteFunc(b.tolerances, func(s toleranceRange) bool { return !mechanics.AnyDepends(from, s.leaf) })
	if !b.affords(len(at), Phases(v.Calc.Moves())) {
		return math.NaN()
	}
	b.trial.CopyFrom(v.Calc)
	start := make([]float64, len(at))
	leaves := make([]*mechanics.Quantity, len(at))
	for i, s := range at {
		start[i], leaves[i] = s.get(v.Calc), s.leaf
	}
	plan := mechanics.Plan(from, leaves...)
	undefined := false
	_, most := climb(at, start, func(x []float64) float64 {
		for i, s := range at {
			s.set(b.trial, x[i])
		}
		b.trial.RunPlan(plan)
		y := f(b.trial)
		if undefined = undefined || y != y || !b.spend(Phases(v.Calc.Moves())); undefined {
			return math.NaN()
		}
		return y
	})
	if undefined {
		return math.NaN()
	}
	return most
}

func (v *View) need(b *Scratch, r *Rule, t *Test, leaf *mechanics.Quantity, least bool, limit *Limit) Need {
	n := Need{Rule: r.Name, Limit: limit, Advised: limit == t.Advice, Leaf: leaf, Least: least, Asked: math.NaN(), Value: math.NaN()}
	w := *v
	w.Calc = mechanics.NewCalc()
	w.Calc.CopyFrom(v.Calc)
	w.put(leaf, 1) // any value: only whether what follows is known matters
	b.Left = FullBudget
	if n.Why = w.noNeed(b, r, t); n.Why != "" {
		n.NotApplicable = true
		return n
	}
	var res Result
	for _, f := range r.Facts {
		if w.Value(f) == nil {
			res.lack(w.Axis, f, -1)
		}
	}
	for _, q := range t.all {
		if !w.Calc.Known(q) {
			w.missing(q, &res)
		}
	}
	asked, because, ok := w.limit(r, limit)
	if ok {
		n.Asked, n.Because = asked, because
	} else {
		for _, f := range limit.Lacks {
			if w.Value(f) == nil {
				res.lack(w.Axis, f, -1)
			}
		}
	}
	n.Missing, n.Why = res.Missing, res.Why
	if !ok && n.Why == "" && len(n.Missing) == 0 {
		n.Why = "its limit is not defined for the declared values"
	}
	if n.Why != "" || len(n.Missing) > 0 {
		return n
	}
	defer b.giveBack(b.taken)
	// The worst case moves with the value: solve again from where it then lies.
	at := &w
	for range 8 {
		x := at.solveNeed(b, r, t, leaf, least, limit)
		if b.Left <= 0 {
			n.Value, n.Why = math.NaN(), "the cycle is too long to solve for it"
			return n
		}
		if x != x {
			n.Value, n.Why, n.Never = x, "no value is enough", true
			return n
		}
		n.Value = x
		if t.Nominal || x == 0 || math.IsInf(x, 0) {
			return n
		}
		w.put(leaf, x)
		found := w.worst(b, r, t)
		found.settle()
		switch {
		case found.spent:
			n.Value, n.Why = math.NaN(), "too many values with a tolerance in a cycle this long"
			return n
		case found.undefined:
			n.Value, n.Why = math.NaN(), t.Value.Title+" is not defined everywhere within the tolerances"
			return n
		case found.view == nil || found.view.keeps(b, r, t, limit):
			return n
		}
		at = found.view
	}
	n.Value, n.Why = math.NaN(), "no worst case was found within the tolerances"
	return n
}

// noNeed says why a test makes no demand on an axis, "" if it does.
func (v *View) noNeed(b *Scratch, r *Rule, t *Test) string {
	if v.InForce.Settings[r.Index].Severity == Off {
		return "a policy switches " + r.Name + " off"
	}
	if v.Axis.Broken {
		return "the axis has syntax errors"
	}
	res, unread := v.unread(func(w *View) Result { return Result{Why: w.idle(b, r, t)} })
	if unread {
		return res.Why
	}
	return v.idle(b, r, t)
}

// idle says why the question of a test does not arise, "" if it does.
func (v *View) idle(b *Scratch, r *Rule, t *Test) string {
	idle := ""
	if r.Applies != nil {
		idle = r.Applies(v)
	}
	if idle == "" && t.Applies != nil {
		idle = t.Applies(v)
	}
	if idle != "" && v.arises(b, r, t) {
		idle = ""
	}
	return idle
}

// put gives a scalar leaf a value and computes what follows.
func (v *View) put(leaf *mechanics.Quantity, x float64) {
	v.Calc.Set(leaf, x)
	v.Calc.Run()
}

// keeps reports whether a test passes under one of its limits, whatever is assumed.
func (v *View) keeps(b *Scratch, r *Rule, t *Test, limit *Limit) bool {
	asked, _, ok := v.limit(r, limit)
	if !ok || t.utilisation(v.Calc, asked) > 1+Slack {
		return false
	}
	if !v.assumesNow(t) {
		return true
	}
	all := b.tolerances
	b.tolerances = nil // the worst within the tolerances is where the view stands
	o := v.overRange(b, r, t, nil)
	b.tolerances = all
	if limit == t.Advice {
		return !o.spent && o.worst <= 1+Slack
	}
	return !o.spent && o.limit.Use() <= 1+Slack
}

// solveNeed finds the end of the values of leaf that pass, from the side that
// fails; NaN where none does. Everything in SI units that an axis could have lies
// between the ends it looks at. It leaves another value of leaf in v.Calc.
func (v *View) solveNeed(b *Scratch, r *Rule, t *Test, leaf *mechanics.Quantity, least bool, limit *Limit) float64 {
	const smallest, largest, step = 1e-9, 1e12, 1.2
	plan := mechanics.Plan(t.watch, leaf)
	passes := func(x float64) bool {
		v.Calc.Set(leaf, x)
		v.Calc.RunPlan(plan)
		return b.spend(Phases(v.Calc.Moves())) && v.keeps(b, r, t, limit)
	}
	bad, factor, any := smallest, step, 0.0
	if !least {
		bad, factor, any = largest, 1/step, math.Inf(1)
	}
	if passes(bad) {
		return any
	}
	good := bad * factor
	for !passes(good) {
		bad, good = good, good*factor
		if good > largest || good < smallest {
			return math.NaN()
		}
	}
	for range 60 { // until nothing lies between
		mid := (bad + good) / 2
		if passes(mid) {
			good = mid
		} else {
			bad = mid
		}
	}
	return good
}
