package report

import (
	"slices"
	"sync"

	"trammel/cmd/internal/codec"
	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/mechanics"
)

// Encode writes the axis, without what is the same for all of them.
func (a *Axis) Encode(w *codec.Writer) {
	w.String(a.Axis)
	w.String(a.Machine)
	w.Place(a.sortKey)
	encodePlace(w, a.Place)
	w.Strings(a.Moves)
	w.Int(len(a.Rules))
	for i := range a.Rules {
		r := &a.Rules[i]
		n := -1 // a rule of the house
		if k := rules.Book().ByName(r.Rule); k != nil {
			n = slices.Index(rules.Book().All(), k)
		}
		if w.Int(n); n < 0 {
			w.String(r.Rule)
		}
		w.String(r.State)
		encodeNumber(w, r.Use)
		w.Bool(r.Fit)
		w.String(r.Of)
		encodeValue(w, r.Value)
		encodeValue(w, r.Limit)
		w.String(r.Unit)
		w.String(r.Sense)
		w.String(r.Why)
		w.Int(len(r.Missing))
		for _, m := range r.Missing {
			w.String(m.What)
			encodePlace(w, m.Place)
		}
	}
	w.Bool(a.Quantities != nil)
	w.Int(len(a.Quantities))
	for i := range a.Quantities {
		q := &a.Quantities[i]
		of := quantityAt()[q.Name]
		w.Int(of)
		encodeValue(w, q.Value)
		w.Int(len(q.Values))
		for _, v := range q.Values {
			encodeValue(w, v)
		}
		encodeNumber(w, q.Low)
		encodeNumber(w, q.High)
		w.String(q.Text)
		w.Strings(q.Texts)
		w.String(q.Origin)
		encodePlace(w, q.Place)
		w.Int(len(q.Places))
		for _, p := range q.Places {
			encodePlace(w, p)
		}
		w.Strings(q.Needs[len(mechanics.All()[of].Needs):])
	}
}

// quantityAt gives the index of a quantity by its name.
var quantityAt = sync.OnceValue(func() map[string]int {
	out := map[string]int{}
	for i, q := range mechanics.All() {
		out[q.Name] = i
	}
	return out
})

// DecodeAxis reads what Encode wrote.
func DecodeAxis(r *codec.Reader) *Axis {
	a := &Axis{Axis: r.String(), Machine: r.String(), sortKey: r.Place(), Place: decodePlace(r), Moves: []string{}}
	a.Moves = append(a.Moves, r.Strings()...)
	for range r.Count() {
		jr := jsonRule{}
		switch n := r.Int(); {
		case n >= 0 && n < len(rules.Book().All()):
			jr.Rule = rules.Book().All()[n].Name
		case n == -1:
			jr.Rule = r.String()
		default:
			r.Fail()
		}
		jr.State, jr.Use, jr.Fit = r.String(), decodeNumber(r), r.Bool()
		jr.Of, jr.Value, jr.Limit, jr.Unit, jr.Sense, jr.Why = r.String(), decodeValue(r), decodeValue(r), r.String(), r.String(), r.String()
		for range r.Count() {
			jr.Missing = append(jr.Missing, jsonMissing{r.String(), decodePlace(r)})
		}
		a.Rules = append(a.Rules, jr)
	}
	if r.Bool() {
		a.Quantities = []jsonQuantity{}
	}
	for range r.Count() {
		q := described(mechanics.All()[r.Within(len(mechanics.All()))])
		q.Value = decodeValue(r)
		for range r.Count() {
			q.Values = append(q.Values, decodeValue(r))
		}
		q.Low, q.High = decodeNumber(r), decodeNumber(r)
		q.Text, q.Texts, q.Origin, q.Place = r.String(), r.Strings(), r.String(), decodePlace(r)
		for range r.Count() {
			q.Places = append(q.Places, decodePlace(r))
		}
		q.Needs = append(q.Needs, r.Strings()...)
		a.Quantities = append(a.Quantities, q)
	}
	return a
}

func encodePlace(w *codec.Writer, p *jsonPlace) {
	if w.Bool(p != nil); p != nil {
		w.Place(p.place())
	}
}

func decodePlace(r *codec.Reader) *jsonPlace {
	if !r.Bool() {
		return nil
	}
	return placeJSON(r.Place())
}

func encodeNumber(w *codec.Writer, x *float64) {
	if w.Bool(x != nil); x != nil {
		w.Float(*x)
	}
}

func decodeNumber(r *codec.Reader) *float64 {
	if !r.Bool() {
		return nil
	}
	return sanitize.Finite(r.Float())
}

// encodeValue writes what a quantity's value may be: nothing, a number, a word.
func encodeValue(w *codec.Writer, v any) {
	switch v := v.(type) {
	case float64:
		w.Int(1)
		w.Float(v)
	case string:
		w.Int(2)
		w.String(v)
	default:
		w.Int(0)
	}
}

func decodeValue(r *codec.Reader) any {
	switch r.Within(3) {
	case 1:
		return number(r.Float())
	case 2:
		return r.String()
	}
	return nil
}
