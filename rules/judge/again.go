package judge

import (
	"slices"

	"trammel/rules/mechanics"
	"trammel/spec"
)

// An axis that says something else in a few fields is judged again for each fix that is
// offered. Only those rules are asked whose answers may be others: what each answer rests
// on was watched, not declared, when the axis itself was judged.

// A basis is what an answer rests on: all that was read for it.
type basis struct {
	fields     spec.FieldSet
	quantities mechanics.Set
	costly     bool // it took some of the budget
}

// watch has what a rule reads of the axis that is judged noted in b.read. What rules read
// once for all of them is read before: in which units the axis is written, and what is
// assumed of it.
func (b *Scratch) watch(v *View) {
	v.Units()
	v.ranges(b)
	v.Axis = v.Axis.Watched(&b.read.fields)
	v.Calc.Watch(mechanics.Watch{Set: &b.read.quantities, Far: true})
	b.casesOf = v.Axis
}

// unwatch ends it.
func (b *Scratch) unwatch(v *View, a *spec.Axis) {
	v.Axis, b.casesOf = a, a
	v.Calc.Watch(mechanics.Watch{})
	if b.short {
		b.bases = b.bases[:0] // with what is left of the budget answers may be others
	}
}

// costly reports whether an answer is known to have taken some of the budget.
func (b *Scratch) costly(i int) bool { return len(b.bases) > 0 && b.bases[i].costly }

// A difference is what may be other with an axis than with the one that was judged.
type difference struct {
	all     bool // anything
	fields  spec.FieldSet
	moved   mechanics.Set // leaves, and what hangs on them
	assumed []Range       // what is assumed with either, where it is not the same
}

// touches reports whether an answer may be another: that of the i-th result.
func (d *difference) touches(j *Judge, b *Scratch, i int) bool {
	if d.all || b.bases[i].fields.Meets(&d.fields) || b.bases[i].quantities.Meets(&d.moved) {
		return true
	}
	if len(d.assumed) == 0 || i >= len(j.Book.all) {
		return false // a house rule reads itself what is assumed
	}
	return slices.ContainsFunc(j.Book.all[i].Tests, func(t Test) bool { return slices.ContainsFunc(d.assumed, t.looksAt) })
}

// load makes b.again ready for an axis with the same moves that differs from the one of
// the view, which b has judged.
func (v *View) load(b *Scratch, with *spec.Axis) (w *View, d difference) {
	own := *v
	w = &own
	t := b.again
	w.Axis, w.Calc, w.cites = with, t.Calc, false
	mass := v.carriedMass()
	if d.all = len(b.bases) == 0 || system(with) != system(v.Axis); d.all {
		w.sysKnown = w.forced
		t.tolerances = Load(t.Calc, with, mass, t.tolerances[:0])
		t.begin(with)
		return w, d
	}
	d.fields = v.Axis.Differs(with)
	var leaves []*mechanics.Quantity
	for _, list := range [...][]Binding{axisBindings, moveBindings} {
		for i := range list {
			if d.fields.Has(list[i].Field) {
				d.moved.AddOver(list[i].Leaf)
				leaves = append(leaves, list[i].Leaf)
			}
		}
	}
	t.Calc.CopyFrom(v.Calc)
	t.tolerances = fill(t.Calc, with, mass, t.tolerances[:0])
	t.Calc.RunAfter(leaves...)
	t.begin(with)
	d.all = !within(t.tolerances, b.tolerances)
	d.assumed = apart(v.ranges(b), w.ranges(t))
	return w, d
}

// within reports whether all that has a tolerance in a list has one in another, of
// the same order.
func within(list, of []toleranceRange) bool {
	for _, r := range of {
		if len(list) > 0 && list[0].leaf == r.leaf && list[0].move == r.move {
			list = list[1:]
		}
	}
	return len(list) == 0
}

// apart lists the ranges of two lists, each in order, that are not in both.
func apart(x, y []Range) (out []Range) {
	for _, r := range x {
		if !slices.Contains(y, r) {
			out = append(out, r)
		}
	}
	for _, r := range y {
		if !slices.Contains(x, r) {
			out = append(out, r)
		}
	}
	return out
}

// helps reports whether with an axis as it is after a fix a finding is gone, and all else
// no worse. Rules whose answer took nothing of the budget are asked first: most of what
// does not help is refused by one of them.
func (j *Judge) helps(b *Scratch, rep *Report, f *Finding, with *spec.Axis) bool {
	if b.again == nil {
		b.again = NewScratch()
	}
	t := b.again
	v, d := rep.View.load(b, with)
	if own := slices.IndexFunc(rep.Results, func(r Result) bool { return r.Rule == f.Rule }); !d.touches(j, b, own) {
		return false
	}
	t.Left = b.Left
	defer func() { b.Left = t.Left }()
	after := &Report{View: v, Judge: j, Results: append(t.results[:0], rep.Results...)}
	t.results = nil
	defer t.TakeBack(after)
	for _, costly := range [...]bool{false, true} {
		for i := range rep.Results {
			if b.costly(i) != costly || !d.touches(j, b, i) {
				continue
			}
			seen := len(after.Findings)
			after.Results[i] = j.answer(t, v, i, after)
			if rep.refuses(after, f, i, after.Findings[seen:]) {
				return false
			}
		}
	}
	j.waive(v, after)
	return rep.better(after, f)
}
