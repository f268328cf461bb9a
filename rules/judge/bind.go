package judge

import (
	"math"
	"slices"

	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A Binding joins a field of the language to the leaf of the same name.
type Binding struct {
	Field *spec.Field
	Leaf  *mechanics.Quantity
	Pair  bool // the leaf is the sum of both ends
}

var axisBindings, moveBindings = bind()

// FieldOfLeaf gives the field of a leaf, by the leaf's ID; nil for a leaf that
// no one declares.
var FieldOfLeaf = func() []*spec.Field {
	out := make([]*spec.Field, len(mechanics.All()))
	for _, b := range axisBindings {
		out[b.Leaf.ID()] = b.Field
	}
	for _, b := range moveBindings {
		out[b.Leaf.ID()] = b.Field
	}
	return out
}()

// LeafOfField gives the leaf of a field, by the field's index; nil for a field that
// is no number or choice of the graph.
var LeafOfField = func() []*mechanics.Quantity {
	out := make([]*mechanics.Quantity, len(spec.Language().Fields))
	for _, b := range axisBindings {
		out[b.Field.Index()] = b.Leaf
	}
	return out
}()

func bind() (axis, move []Binding) {
	lang := spec.Language()
	for _, q := range mechanics.All() {
		if !q.Leaf() || q == mechanics.CarriedMass || q == mechanics.Case {
			continue
		}
		f := lang.FieldAt(q.Name)
		if f == nil {
			panic("rules: the language has no field for the leaf " + q.Name)
		}
		if !alike(f, q) {
			panic("rules: field and leaf " + q.Name + " differ in kind")
		}
		b := Binding{f, q, f.Pair}
		if q.Shape == mechanics.PerMove {
			move = append(move, b)
		} else {
			axis = append(axis, b)
		}
	}
	return axis, move
}

// alike reports whether what a field declares is of the leaf's kind.
func alike(f *spec.Field, q *mechanics.Quantity) bool {
	switch f.Sort {
	case spec.Quantity:
		return f.Unit == q.Kind && len(q.Words) == 0
	case spec.Word:
		return slices.Equal(f.Words, q.Words)
	case spec.Number:
		return q.Kind == unit.None && len(q.Words) == 0
	case spec.Text: // that there is a reason
		return q == mechanics.BalanceKept
	}
	return false
}

// Number gives what a value counts in the graph, NaN where there is none.
func (b *Binding) Number(v *spec.Value) unit.Quantity {
	if v == nil || v.Bad {
		nan := math.NaN()
		return unit.Quantity{Nominal: nan, Low: nan, High: nan}
	}
	switch {
	case v.Field.Sort == spec.Word:
		w := float64(v.Word)
		return unit.Quantity{Nominal: w, Low: w, High: w}
	case v.Field.Sort == spec.Text:
		return unit.Quantity{Nominal: 1, Low: 1, High: 1}
	case b.Pair:
		return unit.Quantity{
			Nominal: v.Ends[0].Nominal + v.Ends[1].Nominal,
			Low:     v.Ends[0].Low + v.Ends[1].Low,
			High:    v.Ends[0].High + v.Ends[1].High,
		}
	}
	return v.Num
}

// A toleranceRange is a leaf whose value has a tolerance.
type toleranceRange struct {
	leaf      *mechanics.Quantity
	move      int // -1 for a scalar
	low, high float64
}

// Load puts an axis's declared values into a Calc and lists those with a
// tolerance.
func Load(c *mechanics.Calc, a *spec.Axis, carried unit.Quantity, spreads []toleranceRange) []toleranceRange {
	c.Reset(len(a.Moves))
	spreads = fill(c, a, carried, spreads)
	c.Run()
	return spreads
}

// fill is Load without what is computed.
func fill(c *mechanics.Calc, a *spec.Axis, carried unit.Quantity, spreads []toleranceRange) []toleranceRange {
	for i := range axisBindings {
		b := &axisBindings[i]
		x := a.Get(b.Field)
		n := b.Number(x)
		c.Set(b.Leaf, n.Nominal)
		if n.Low < n.High {
			spreads = append(spreads, toleranceRange{b.Leaf, -1, n.Low, n.High})
		}
		if x != nil && x.Bad {
			c.Lose(b.Leaf, -1)
		}
	}
	_, lostMove := a.LostMove()
	for m, mv := range a.Moves {
		for i := range moveBindings {
			b := &moveBindings[i]
			x := mv.Get(b.Field)
			n := b.Number(x)
			if lostMove || x != nil && x.Bad {
				c.Lose(b.Leaf, m)
			}
			c.SetMove(b.Leaf, m, n.Nominal)
			if n.Low < n.High {
				spreads = append(spreads, toleranceRange{b.Leaf, m, n.Low, n.High})
			}
		}
	}
	c.Set(mechanics.CarriedMass, carried.Nominal)
	if carried.Low < carried.High {
		spreads = append(spreads, toleranceRange{mechanics.CarriedMass, -1, carried.Low, carried.High})
	}
	c.Set(mechanics.Case, mechanics.Usual)
	return spreads
}
