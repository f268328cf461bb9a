package spec

import (
	"fmt"
	"slices"

	"trammel/spec/unit"
)

// A Change gives a field of an axis another value; nil for none.
type Change struct {
	Field *Field
	Value *Value
}

// A FieldSet notes fields of an axis by their index.
type FieldSet [8]uint64

// Add puts a field in the set.
func (s *FieldSet) Add(f *Field) { s[f.index>>6] |= 1 << (f.index & 63) }

// Has reports whether the field is in the set.
func (s *FieldSet) Has(f *Field) bool { return s[f.index>>6]&(1<<(f.index&63)) != 0 }

// Meets reports whether both sets have a field in common.
func (s *FieldSet) Meets(o *FieldSet) bool {
	for i := range s {
		if s[i]&o[i] != 0 {
			return true
		}
	}
	return false
}

// Copy returns an axis with the same values that can be changed by Put.
func (a *Axis) Copy() *Axis {
	c := *a
	c.values = slices.Clone(a.values)
	return &c
}

// Put makes changes to a copy of an axis.
func (a *Axis) Put(changes []Change) {
	for _, c := range changes {
		a.values[c.Field.index] = c.Value
	}
}

// Watch notes in s every field whose value is read from now on, of the moves too; nil
// ends it. It is for copies: an axis of a run is read by several goroutines.
func (a *Axis) Watch(s *FieldSet) {
	a.seen = s
	moves := make([]Move, len(a.Moves))
	own := make([]*Move, len(a.Moves))
	for i, m := range a.Moves {
		moves[i], own[i] = *m, &moves[i]
		moves[i].seen = s
	}
	a.Moves = own
}

// Watched is an axis that says the same and notes in s every field whose value is read
// from it. It is for reading only.
func (a *Axis) Watched(s *FieldSet) *Axis {
	c := *a
	c.Watch(s)
	return &c
}

// Differs lists the fields that have another value in b, a copy of a or of what it is a
// copy of: of a move those that differ in any of them.
func (a *Axis) Differs(b *Axis) (out FieldSet) {
	for i, v := range a.values {
		if v != b.values[i] {
			out.Add(theSchema.Fields[i])
		}
	}
	for k, m := range a.Moves {
		for i, v := range m.values {
			if v != b.Moves[k].values[i] {
				out.Add(theSchema.Fields[theSchema.Moves+i])
			}
		}
	}
	return out
}

// ReplacePart lists what changes in the axis where the reference ref names the part
// p, or no part where p is nil. The values of the part come in; of those the
// axis gives itself none is kept that a part of this kind can give, since they
// were said of another part; what the new part leaves open comes from the
// machine or the built-in default, as ever.
func (a *Axis) ReplacePart(ref *Field, p *Part) []Change {
	r := theSchema.refs[slices.IndexFunc(theSchema.refs, func(r roleRef) bool { return r.field == ref })]
	changes := []Change{{Field: ref}}
	if p != nil {
		changes[0].Value = &Value{Field: ref, Part: p, Text: p.Ref(), Place: a.OwnPlace(ref)}
	}
	for i, t := range r.target {
		if t < 0 {
			continue
		}
		var v *Value
		if p != nil {
			v = p.values[i]
		}
		if v == nil {
			v = a.below(theSchema.Fields[t])
		}
		changes = append(changes, Change{theSchema.Fields[t], v})
	}
	return changes
}

// below is the value a field has where neither the axis nor a part gives one.
func (a *Axis) below(f *Field) *Value {
	if m := a.Folder.nearestMachine(); m != nil && f.Inherit && !a.saysOtherwise(f) {
		if v := m.values[f.index]; v != nil {
			return v
		}
	}
	return theSchema.defaults[f.index]
}

// WithText gives the change that writes a word or a quantity in the axis's own
// line for the field. text is as it would be written, without quotes.
func (a *Axis) WithText(f *Field, text string) (Change, error) {
	v := &Value{Field: f, Text: text, Place: a.OwnPlace(f)}
	switch f.Sort {
	case Word:
		if v.Word = slices.Index(f.Words, text); v.Word < 0 {
			return Change{}, fmt.Errorf("%s is none of the words of %s", text, f.Path)
		}
	case Quantity:
		q, err := unit.Parse(text, f.Unit)
		if err != nil {
			return Change{}, fmt.Errorf("%s: %w", f.Path, err)
		}
		v.Num = q
	default:
		return Change{}, fmt.Errorf("%s is neither a word nor a quantity", f.Path)
	}
	return Change{f, v}, nil
}
