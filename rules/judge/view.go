package judge

import (
	"math"
	"strconv"
	"strings"
	"time"

	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A View is one axis with everything computed, as a rule sees it.
type View struct {
	Axis     *spec.Axis
	Calc     *mechanics.Calc
	Sys      unit.System // in which the axis is shown, once Units was asked
	sysKnown bool
	forced   bool // Sys was requested: declared values are shown in it too
	Carried  []CarriedAxis
	InForce  *InForce
	whole    bool         // the masses of all carried axes are known
	varied   *Parameter   // the parameter that is varied in this view, if any
	to       float64      // where it stands
	met      **spec.Value // where unread notes a move's unreadable value that was read
	Digits   int          // that numbers are written with; 0: as few as usual
	today    time.Time    // the day it is judged on
	cites    bool         // a message says on which line something stands
}

// CarriedAxis is an axis this one carries.
type CarriedAxis struct {
	Ref  spec.AxisRef
	Mass unit.Quantity
}

// Today is the day on which the axis is judged.
func (v *View) Today() time.Time { return v.today }

// V is a scalar quantity, NaN where it is not known.
func (v *View) V(q *mechanics.Quantity) float64 { return v.Calc.V(q) }

// F writes a scalar quantity with its unit.
func (v *View) F(q *mechanics.Quantity) string {
	if len(q.Words) > 0 {
		return v.Calc.Word(q)
	}
	return v.Show(v.Calc.V(q), q.Kind)
}

// Show writes a number in SI units with the unit it is to be read in.
func (v *View) Show(x float64, k unit.Kind) string {
	return unit.FormatDigits(x, k, v.Units(), max(v.Digits, unit.RoughDigits))
}

// Percent writes a share.
func (v *View) Percent(x float64) string { return v.Show(x, unit.Percentage) }

// Ratio writes a bare number.
func (v *View) Ratio(x float64) string { return v.Show(x, unit.None) }

// Apart writes two numbers of which one exceeds the other, with the digits it
// takes to see that.
func (v *View) Apart(x, y float64, k unit.Kind) (string, string) {
	return unit.Apart(x, y, k, v.Units())
}

// say words a test. A value and the limit it breaks read differently: digits are
// added until they do.
func (v *View) say(t *Test, limit float64) string {
	x, y := v.V(t.Value), limit
	if t.Against != nil {
		y *= v.V(t.Against)
	}
	defer func() { v.Digits = 0 }()
	for v.Digits = unit.RoughDigits; ; v.Digits++ {
		if v.Digits == unit.MostDigits || v.Show(x, t.Value.Kind) != v.Show(y, t.Value.Kind) && v.Ratio(x/y) != "1" {
			return t.Say(v, limit)
		}
	}
}

// Value returns the declared value of a field where there is a readable one.
func (v *View) Value(f *spec.Field) *spec.Value {
	x := v.Axis.Get(f)
	if x == nil || x.Bad {
		return nil
	}
	if v.varied != nil && FieldOfLeaf[v.varied.Leaf.ID()] == f {
		return v.varied.value(x, v.to)
	}
	return x
}

// Word returns the chosen word or text of a field, "" where there is none.
func (v *View) Word(f *spec.Field) string {
	if x := v.Value(f); x != nil {
		return x.Text
	}
	return ""
}

// Flag reports whether a flag is declared true.
func (v *View) Flag(f *spec.Field) bool {
	x := v.Value(f)
	return x != nil && x.Flag
}

// DeclaredFor returns the value a leaf was declared with, nil for a computed
// quantity or where there is none. move is -1 for an axis's own fields.
func (v *View) DeclaredFor(q *mechanics.Quantity, move int) *spec.Value {
	f := FieldOfLeaf[q.ID()]
	switch {
	case f == nil:
		return nil
	case move < 0:
		return v.Value(f)
	}
	if q.Shape != mechanics.PerMove {
		return nil
	}
	return v.MoveValue(v.Axis.Moves[move], f)
}

// MoveValue returns the declared value of a field of a move where there is a
// readable one.
func (v *View) MoveValue(m *spec.Move, f *spec.Field) *spec.Value {
	x := m.Get(f)
	if x == nil || x.Bad {
		if x != nil && v.met != nil {
			*v.met = x
		}
		return nil
	}
	return x
}

// Declared reports whether someone wrote the value; a built-in default does
// not count.
func (v *View) Declared(f *spec.Field) bool {
	x := v.Value(f)
	return x != nil && x.Origin != spec.Default
}

// Largest gives the index of the largest value of a series, 0 where it is
// empty.
func (v *View) Largest(q *mechanics.Quantity) int {
	best, at := math.Inf(-1), 0
	for i, x := range v.Calc.Series(q) {
		if x > best {
			best, at = x, i
		}
	}
	return at
}

// Phase names a phase: "ramp up of move out".
func (v *View) Phase(j int) string {
	m := j / mechanics.PhasesPerMove
	if m >= len(v.Axis.Moves) {
		return ""
	}
	return mechanics.Part(j%mechanics.PhasesPerMove).String() + " of move " + v.Axis.Moves[m].Name
}

// An Entry is one thing that took part in a finding.
type Entry struct {
	Words   string     // "span 900 mm"
	Place   spec.Place // not valid for a computed or assumed value
	Assumed string     // why a value nobody declared was taken; "" for declared ones
}

// entry describes a quantity that took part.
func (v *View) entry(q *mechanics.Quantity, move int) (Entry, bool) {
	if !q.Leaf() {
		if q.Shape != mechanics.Scalar || !v.Calc.Known(q) {
			return Entry{}, false
		}
		return Entry{Words: q.Title + " " + v.F(q), Assumed: v.whyAssumed(q)}, true
	}
	f := FieldOfLeaf[q.ID()]
	if f == nil {
		if len(v.Carried) == 0 || !v.Calc.Known(q) {
			return Entry{}, false
		}
		return Entry{Words: "carried " + v.F(q), Place: v.Carried[0].Ref.Place}, true
	}
	return v.fieldEntry(f, move)
}

// whyAssumed says why a quantity is assumed, "" where it is not.
func (v *View) whyAssumed(q *mechanics.Quantity) string {
	for _, a := range mechanics.Assumptions() {
		if a.Taken == q {
			if _, _, ok := a.Ends(v.Calc); ok {
				return a.Why
			}
		}
	}
	return ""
}

func (v *View) fieldEntry(f *spec.Field, move int) (Entry, bool) {
	var x *spec.Value
	name := Readable(f.Name)
	if strings.HasPrefix(f.Path, "motion.move.") {
		if move < 0 || move >= len(v.Axis.Moves) {
			return Entry{}, false
		}
		x = v.Axis.Moves[move].Get(f)
		name += " of move " + v.Axis.Moves[move].Name
	} else {
		x = v.Axis.Get(f)
	}
	if x == nil || x.Bad {
		return Entry{}, false
	}
	e := Entry{Words: name + " " + v.Text(x), Place: x.Place}
	if x.Origin == spec.Default {
		if f.Why == "not declared, not counted" {
			return Entry{}, false
		}
		e.Assumed = f.Why
	}
	return e, true
}

// Text is a declared value as it was written, or in the units the run asked
// for.
func (v *View) Text(x *spec.Value) string {
	if v.forced && x.Field.Sort == spec.Quantity && !x.Field.Pair {
		return unit.FormatExact(x.Num.Nominal, x.Field.Unit, v.Units())
	}
	return x.Text
}

var minMax = strings.NewReplacer("min_", "minimum ", "max_", "maximum ", "_", " ")

// Readable makes "root_diameter" readable, and "max_speed" "maximum speed".
func Readable(name string) string {
	switch name {
	case "regrease_every":
		return "regreasing interval"
	case "standstill":
		return "standstill force"
	case "longest":
		return "maximum length"
	}
	return minMax.Replace(name)
}

// At writes where a place is, for a reader who stands in file: "line 54" or
// "parts/screws.parts.hcl:12".
func At(p spec.Place, file string) string {
	if p.File == file {
		return "line " + strconv.Itoa(int(p.Line))
	}
	return p.File + ":" + strconv.Itoa(int(p.Line))
}

// At is At for a message about the axis.
func (v *View) At(p spec.Place) string {
	v.cites = true
	return At(p, v.Axis.Place.File)
}

// system finds in which units an axis is written: inch where more of its own
// values are in inch units than in metric ones.
func system(a *spec.Axis) unit.System {
	inch, metric := 0, 0
	count := func(x *spec.Value) {
		if x == nil || x.Origin != spec.Own || x.Field.Sort != spec.Quantity {
			return
		}
		switch {
		case IsInch(x.Text):
			inch++
		case x.Field.Unit != unit.Time && x.Field.Unit != unit.Span && x.Field.Unit != unit.Percentage && x.Field.Unit != unit.Angle:
			metric++
		}
	}
	for i := range axisBindings {
		count(a.Get(axisBindings[i].Field))
	}
	for _, m := range a.Moves {
		for i := range moveBindings {
			count(m.Get(moveBindings[i].Field))
		}
	}
	if inch > metric {
		return unit.Inch
	}
	return unit.Metric
}

func IsInch(text string) bool {
	u := unit.UnitOf(text)
	for _, s := range []string{"in", "ft", "lb", "oz", "psi", "mil", "thou", "°F", "degF", "ksi", "kip"} {
		if strings.HasPrefix(u, s) {
			return true
		}
	}
	return strings.HasSuffix(u, "lbf")
}
