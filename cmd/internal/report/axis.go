package report

import (
	"slices"
	"sync"

	"trammel/cmd/internal/codec"
	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
)

// An Axis is what the JSON says of one axis. It is a few kilobytes: of all that is the same
// in every axis, which is most of the JSON, it has nothing.
type Axis struct {
	axis, machine string
	at            spec.Place
	passed        int    // rules
	record        string // all of it, as axisText reads it
}

var recorders = sync.Pool{New: func() any { return new(codec.Writer) }}

// AxisOf takes from a report what the JSON says of the axis. Without
// quantities, those are left out.
func AxisOf(rep *judge.Report, quantities bool) *Axis {
	of := rep.View.Axis
	a := &Axis{axis: of.Name, machine: of.Folder.MachineName(), at: of.Place}
	for i := range rep.Results {
		if rep.Results[i].State == judge.Passed {
			a.passed++
		}
	}
	w := recorders.Get().(*codec.Writer)
	defer recorders.Put(w)
	w.Reset()
	w.String(a.axis)
	w.String(a.machine)
	w.Place(a.at)
	w.Int(a.passed)
	w.Int(len(of.Moves))
	for _, m := range of.Moves {
		w.String(m.Name)
	}
	w.Int(len(rep.Results))
	for i := range rep.Results {
		recordRule(w, &rep.Results[i])
	}
	if w.Bool(quantities); quantities {
		for _, q := range mechanics.All() {
			recordQuantity(w, rep.View, q)
		}
		w.Int(0)
	}
	a.record = string(w.Bytes())
	return a
}

// Encode writes the axis.
func (a *Axis) Encode(w *codec.Writer) { w.String(a.record) }

// DecodeAxis reads what Encode wrote.
func DecodeAxis(r *codec.Reader) *Axis {
	a := &Axis{record: r.String()}
	own := codec.NewReader([]byte(a.record))
	if a.axis, a.machine, a.at, a.passed = own.String(), own.String(), own.Place(), own.Int(); own.Err() != nil {
		r.Fail()
	}
	return a
}

func recordRule(w *codec.Writer, r *judge.Result) {
	if known := rules.Book().ByName(r.Rule); known != nil {
		w.Int(known.Index + 1)
	} else { // a rule of the house
		w.Int(0)
		w.String(r.Rule)
	}
	w.Int(int(r.State))
	known := sanitize.Finite(r.Utilisation) != nil
	if w.Bool(known); known {
		w.Float(r.Utilisation)
	}
	w.Bool(r.Fit && r.Utilisation == r.Utilisation)
	c := r.Compared
	if w.Bool(c.Made()); c.Made() {
		of := 0
		if c.Of != nil {
			of = c.Of.ID() + 1
		}
		w.Int(of)
		w.Float(c.Value)
		w.Float(c.Limit)
		w.Int(int(c.Kind))
		w.Int(int(c.Sense))
	}
	w.String(r.Why)
	w.Int(len(r.Missing))
	for _, m := range r.Missing {
		w.String(m.Words)
		w.Place(m.Place)
	}
}

// recordQuantity writes what is known of a quantity; nothing of one that is not.
func recordQuantity(w *codec.Writer, v *judge.View, q *mechanics.Quantity) {
	if q.Shape != mechanics.Scalar {
		recordSeries(w, v, q)
		return
	}
	x, ok := v.Calc.Value(q)
	if !ok {
		return
	}
	w.Int(q.ID() + 1)
	w.Float(x)
	d := v.DeclaredFor(q, -1)
	if w.Bool(d != nil); d != nil {
		ranges := !d.Num.Exact() && !d.Field.Pair
		if w.Bool(ranges); ranges {
			w.Float(d.Num.Low)
			w.Float(d.Num.High)
		}
		w.String(d.Text)
		w.Int(int(d.Origin))
		w.Place(d.Place)
	}
	recordMay(w, v, q)
}

// recordSeries writes a series of which some value is known.
func recordSeries(w *codec.Writer, v *judge.View, q *mechanics.Quantity) {
	series := v.Calc.Series(q)
	if !slices.ContainsFunc(series, func(x float64) bool { return x == x }) {
		return
	}
	w.Int(q.ID() + 1)
	w.Int(len(series))
	for _, x := range series {
		w.Float(x)
	}
	if declaredPerMove(q) {
		recordMoves(w, v, q, len(series))
	}
	recordMay(w, v, q)
}

// recordMoves writes what each move declares of a quantity: all texts, then all places.
func recordMoves(w *codec.Writer, v *judge.View, q *mechanics.Quantity, moves int) {
	declared := func(i int) *spec.Value {
		if d := v.DeclaredFor(q, i); d != nil {
			return d
		}
		return &spec.Value{}
	}
	for i := range moves {
		w.String(declared(i).Text)
	}
	for i := range moves {
		w.Place(declared(i).Place)
	}
}

// declaredPerMove reports a quantity of which each move declares its own.
func declaredPerMove(q *mechanics.Quantity) bool { return q.Shape == mechanics.PerMove && q.Leaf() }

// recordMay says which of what a quantity uses where it is known is known.
func recordMay(w *codec.Writer, v *judge.View, q *mechanics.Quantity) {
	for _, n := range q.May {
		w.Bool(v.Calc.Known(n))
	}
}
