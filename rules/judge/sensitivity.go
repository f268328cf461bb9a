package judge

import (
	"math"
	"sort"

	"trammel/rules/mechanics"
	"trammel/spec"
)

// A Sensitivity says how one rule's margin moves with each declared input.
type Sensitivity struct {
	Rule        string
	Limit       string  // which of the rule's limits
	Utilisation float64 // how much of what is permitted is used
	Inputs      []Influence
}

// An Influence is the effect of one declared input on a rule's margin.
type Influence struct {
	Field *spec.Field
	Move  int     // -1 for an axis's own fields
	Name  string  // in words
	Text  string  // as declared
	Shift float64 // what the margin 1/use − 1 becomes with 1 % more of the input, less what it is
	Low   float64 // margin at the lower end of the tolerance; NaN without one
	High  float64 // margin at its upper end
}

// Margin turns a use into a margin: 0.25 means a quarter to spare, below zero
// the limit is broken. A use that is 1 but for rounding leaves none.
func Margin(use float64) float64 {
	switch {
	case use <= 0:
		return math.Inf(1)
	case math.Abs(use-1) <= Slack:
		return 0
	}
	return 1/use - 1
}

// Sensitivities finds, for the governing tests of the report's axis, what moves
// their margins most. At most n tests are taken, the tightest first. The
// report must still hold its View.
func (rep *Report) Sensitivities(n int) []Sensitivity {
	v, b := rep.View, NewScratch()
	type tight struct {
		r   *Rule
		t   *Test
		use float64
	}
	var list []tight
	for i, r := range v.InForce.book.all {
		if s := rep.Results[i].State; s != Passed && s != Failed {
			continue
		}
		for k := range r.Tests {
			t := &r.Tests[k]
			if r.Fit { // no margin
				break
			}
			if r.Applies != nil && r.Applies(v) != "" || t.Applies != nil && t.Applies(v) != "" || !v.knows(t) {
				continue
			}
			limit, _, ok := v.limit(r, &t.Limit)
			if !ok {
				continue
			}
			if use := t.utilisation(v.Calc, limit); use > 0 && !math.IsInf(use, 0) {
				list = append(list, tight{r, t, use})
			}
		}
	}
	sort.SliceStable(list, func(i, k int) bool { return list[i].use > list[k].use })
	var out []Sensitivity
	for _, l := range list[:min(n, len(list))] {
		s := Sensitivity{Rule: l.r.Name, Limit: l.t.Limit.Name, Utilisation: l.use}
		at := func(q *mechanics.Quantity, move int, x float64) float64 {
			b.trial.CopyFrom(v.Calc)
			w := *v
			w.Calc = b.trial
			toleranceRange{leaf: q, move: move}.set(b.trial, x)
			b.trial.RunPlan(mechanics.Plan(l.t.watch, q))
			limit, _, ok := w.limit(l.r, &l.t.Limit)
			if !ok {
				return math.NaN()
			}
			return Margin(l.t.utilisation(b.trial, limit))
		}
		take := func(bd *Binding, move int, x *spec.Value) {
			if x == nil || x.Bad || len(bd.Leaf.Words) > 0 || counted(bd.Leaf) || !mechanics.AnyDepends(l.t.watch, bd.Leaf) {
				return
			}
			q := bd.Number(x)
			in := Influence{Field: bd.Field, Move: move, Name: Readable(bd.Field.Name), Text: x.Text, Low: math.NaN(), High: math.NaN()}
			if move >= 0 {
				in.Name += " of move " + v.Axis.Moves[move].Name
			}
			// Not the slope: the curve may bend right there, as that of a hardness does.
			in.Shift = at(bd.Leaf, move, q.Nominal*1.01) - at(bd.Leaf, move, q.Nominal)
			if q.Low < q.High {
				in.Low, in.High = at(bd.Leaf, move, q.Low), at(bd.Leaf, move, q.High)
			}
			if in.Shift == in.Shift && math.Abs(in.Shift) > 1e-9 {
				s.Inputs = append(s.Inputs, in)
			}
		}
		for i := range axisBindings {
			take(&axisBindings[i], -1, v.Axis.Get(axisBindings[i].Field))
		}
		for m, mv := range v.Axis.Moves {
			for i := range moveBindings {
				take(&moveBindings[i], m, mv.Get(moveBindings[i].Field))
			}
		}
		sort.SliceStable(s.Inputs, func(i, k int) bool { return math.Abs(s.Inputs[i].Shift) > math.Abs(s.Inputs[k].Shift) })
		out = append(out, s)
	}
	return out
}

// counted reports a leaf that counts things: there is no 1 % more of two screws.
func counted(q *mechanics.Quantity) bool {
	return q == mechanics.Screws || q == mechanics.MotorScrewsGiven
}
