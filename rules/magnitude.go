package rules

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// beyondUsual is how far outside the usual range a value is reported.
var beyondUsual = judge.Limit{Name: "beyond", Doc: "factor by which a value lies outside its usual range", Kind: unit.None, Sense: judge.AtMost, Default: 1}

var magnitude = judge.Rule{
	Name:     "magnitude",
	Question: "Is every value in the range of real axes?",
	Doc: `Every field has a range in which the values of real ball-screw axes lie; the table
below lists them all. A value outside may be right: the note names the likely mistake, the same
number in another unit or with the decimal point in the wrong place. The ranges are wide, so
that a sound axis rarely gets a note, and a mistake within them goes unnoticed: 380 g for 380 kg
is still a mass that some axis has. So some values are also compared with the size of the screw:

- moved mass: 0.001 to 8 kg for each square millimetre of d_0², 0.4 kg to 3.2 t on 20 mm, and
  together with the axes it carries, at least a tenth of the heaviest payload;
- preload: at least 0.2 % of the dynamic rating;
- nut stiffness: 1.5 to 70 N/µm for each kilonewton of dynamic rating;
- drag torque of the nut: 0.3 to 3 times the reference torque of its preload.

Some are compared with a value beside them, where two columns of a data sheet are easily mixed
up:

- a brake on the screw holds 0.1 to 10 times the peak torque of its motor (through the ratio);
- coupling, belt, gear or cross shaft is rated at up to 20 times that peak torque;
- the belt pull, both strands together, transmits the torque at the driven end with a pulley of
  at most 300 mm;
- the fastest move turns the motor at 1 % of its maximum speed or more, through lead and ratio;
- all moves of a cycle together take at least 1/300 of the longest dwell;
- the brake of a motor holds 0.2 to 6 times the motor's rated torque, the peak torque of a motor
  is at least 1.05 times its rated torque, and its maximum speed at most 6 times its rated
  speed;
- the maximum torque of a coupling is 1 to 6 times its rated torque, and its torsional stiffness
  20 to 4000 times that a radian;
- the static rating of a support, or of the bearing of a turning nut, is 0.5 to 5 times its
  dynamic rating, and not the same number;
- two moves do not declare the same number in different units, such as 15 in/s and 15 in/min.

What no axis can have is an error as soon as the file is read: less than a thousandth of the
lower end, a thread friction of 0.5, half a thread start. A looser "beyond" widens all ranges.

If the axis is meant to be this small or this large, waive the rule for it.`,
	Source:   "common practice, no source",
	Severity: judge.Note,
	Fit:      true,
	Limits:   []judge.Limit{beyondUsual},
	Check: func(v *judge.View) (out []judge.Fault) {
		beyond := v.CheckLimit("magnitude", "beyond")
		ask := func(x *spec.Value, move int) {
			if x == nil || x.Bad || x.Origin == spec.OfPart || x.Origin == spec.Default {
				return
			}
			if said, c := unusual(x, v.Text(x), beyond, v.Units()); said != "" {
				out = append(out, judge.Fault{At: x.Field, Move: move, Message: said, Compared: c, Limit: "beyond"})
			}
		}
		for _, f := range sizedAxis {
			ask(v.Value(f), -1)
		}
		for i, mv := range v.Axis.Moves {
			for _, f := range sizedMove {
				ask(v.MoveValue(mv, f), i)
			}
		}
		return slices.Concat(out, forItsScrew(v, beyond), forItsPayload(v, beyond), forItsMotor(v, beyond), forItsPreload(v, beyond), forItsTorque(v, beyond), forItsMoves(v, beyond), forItsSpeed(v, beyond), sameNumbers(v))
	},
	Part: func(p *judge.PartView) (out []judge.PartFault) {
		for _, x := range p.Values() {
			if x.Bad || x.Field.Usual[0] == "" {
				continue
			}
			if said, c := unusual(x, p.Text(x.Field.Name)+" of "+p.Ref(), p.Limit("beyond"), p.Sys); said != "" {
				out = append(out, judge.PartFault{At: x.Field.Name, Message: said, Compared: c, Limit: "beyond"})
			}
		}
		return append(out, besideItself(p)...)
	},
}

// pairsOfParts are fields of a part with the range of the first for the second:
// common practice, no source.
var pairsOfParts = []struct {
	kind, at, of string
	low, high    float64
}{
	{"motor", "brake_torque", "rated_torque", 0.2, 6},
	{"motor", "max_speed", "rated_speed", 0, 6}, // lower contradicts, see part-contradiction
	{"coupling", "max_torque", "rated_torque", 1, 6},
	{"coupling", "torsional_stiffness", "rated_torque", 20, 4000},
	{"support", "static_rating", "dynamic_rating", 0.5, 5},
	{"nut", "bearing_static_rating", "bearing_dynamic_rating", 0.5, 5},
}

// besideItself compares values of a part that are easily mixed up.
func besideItself(p *judge.PartView) (out []judge.PartFault) {
	beyond := p.Limit("beyond")
	ask := func(at, of string, c judge.Compared, said string) {
		out = append(out, judge.PartFault{At: at, Inputs: []string{of}, Limit: "beyond", Compared: c, Message: fmt.Sprintf("%s of %s %s", p.Say(at), p.Ref(), said)})
	}
	for _, c := range pairsOfParts {
		if p.Kind != c.kind || !p.Has(c.at, c.of) || p.Num(c.at) == 0 {
			continue
		}
		x, low, high := p.Get(c.at), c.low*p.Num(c.of), c.high*p.Num(c.of)
		times := outside(p.Num(c.at), low, high)
		if judge.Above(times, beyond) {
			side, name, end := endNear(p.Num(c.at), low, high)
			ask(c.at, c.of, usual(p.Num(c.at), low, high, beyond, x.Field.Unit), fmt.Sprintf("is %s for its %s; usual %s %s%s", side, p.Say(c.of), name,
				unit.Format(end, x.Field.Unit, p.Sys), slip(x.Num.Nominal, x.Text, x.Field, low, high)))
		}
	}
	if p.Kind == "motor" {
		if times := p.Num("peak_torque") / p.Num("rated_torque"); times >= 1-judge.Slack && judge.Above(1.05, times*beyond) {
			ask("rated_torque", "peak_torque", judge.Compared{Value: times, Limit: 1.05 / beyond, Kind: unit.None, Sense: judge.AtLeast},
				fmt.Sprintf("is nearly as high as its %s; a servo motor gives 2 to 4 times its rated torque as peak: was one column read twice?", p.Say("peak_torque")))
		}
	}
	for _, at := range [][2]string{{"static_rating", "dynamic_rating"}, {"bearing_static_rating", "bearing_dynamic_rating"}} {
		if p.Kind != "screw" && math.Abs(p.Num(at[0])/p.Num(at[1])-1) < judge.Slack {
			ask(at[0], at[1], judge.Compared{}, fmt.Sprintf("equals its %s: was the right column read?", p.Say(at[1])))
		}
	}
	return out
}

// A neighbour gives a value of an axis its range.
type neighbour struct {
	low, high float64       // in SI
	words     func() string // what it is, with its number; asked only of an unusual value
	inputs    []*spec.Field // where it is declared
	most      float64       // what may have been meant is at most this; 0: high
}

// ask asks about a value outside that range, 0 being none. The field is the axis's: that of a
// value from a part is the part's.
func (n neighbour) ask(v *judge.View, f *spec.Field, move int, x *spec.Value, beyond float64) []judge.Fault {
	if x == nil || x.Bad || x.Num.Nominal == 0 {
		return nil
	}
	times := outside(x.Num.Nominal, n.low, n.high)
	if !judge.Above(times, beyond) {
		return nil
	}
	side, name, end := endNear(x.Num.Nominal, n.low, n.high)
	if f.Unit == unit.Time {
		side = map[string]string{"low": "short", "high": "long"}[side]
	}
	most := n.high
	if n.most > 0 {
		most = n.most
	}
	return []judge.Fault{{At: f, Move: move, Inputs: n.inputs, Compared: usual(x.Num.Nominal, n.low, n.high, beyond, f.Unit), Limit: "beyond",
		Message: fmt.Sprintf("%s %s is %s for %s; usual %s %s%s", judge.Readable(f.Name), v.Text(x), side, n.words(), name,
			v.Show(end, f.Unit), slip(x.Num.Nominal, x.Text, f, n.low, most))}}
}

// forItsPayload compares the empty carriage, with the axes it carries, with what
// it is laden with.
func forItsPayload(v *judge.View, beyond float64) []judge.Fault {
	if !v.Calc.Known(m.TopPayload) || !v.Calc.Known(m.CarriedMass) {
		return nil
	}
	n := neighbour{low: v.V(m.TopPayload)/10 - v.V(m.CarriedMass), high: math.Inf(1), words: func() string { return "payload " + v.F(m.TopPayload) }, inputs: atPayload, most: 5 * v.V(m.TopPayload)}
	return n.ask(v, atMass, -1, v.Value(atMass), beyond)
}

// forItsMotor compares a brake on the screw, and what passes the torque on, with
// the motor that turns it.
func forItsMotor(v *judge.View, beyond float64) (out []judge.Fault) {
	motor, ratio := v.Value(atMotorPeak), v.Value(atRatio)
	if motor == nil || ratio == nil {
		return nil
	}
	peak := motor.Num.Nominal * ratio.Num.Nominal
	for _, c := range torquesOfDrive {
		n := neighbour{low: c.low * peak, high: c.high * peak, words: func() string { return "the motor's peak torque " + v.Text(motor) }, inputs: []*spec.Field{atMotorPeak, atRatio}}
		out = append(out, n.ask(v, c.of, -1, v.Value(c.of), beyond)...)
	}
	return out
}

// torquesOfDrive are ranges for the motor's peak torque at the screw.
var torquesOfDrive = []struct {
	of        *spec.Field
	low, high float64
}{
	{judge.Field("drive.brake_torque"), 0.1, 10},
	{judge.Field("drive.gear_torque"), 0, 20},
	{judge.Field("drive.cross_torque"), 0, 20},
	{judge.Field("coupling.rated_torque"), 0, 20},
}

// widestPulley is the largest radius of a pulley on a screw, in m.
const widestPulley = 0.15

// forItsTorque asks whether any pulley passes the torque on with the declared
// pull: both strands together pull at least the torque over the radius.
func forItsTorque(v *judge.View, beyond float64) []judge.Fault {
	pull := v.Value(atPull)
	if pull == nil || !v.Calc.Known(m.DriveEndTorque) {
		return nil
	}
	n := neighbour{low: v.V(m.DriveEndTorque) / widestPulley, high: math.Inf(1), words: func() string { return "peak torque " + v.F(m.DriveEndTorque) + " at the driven end" }, most: 300 * v.V(m.DriveEndTorque)}
	return n.ask(v, atPull, -1, pull, beyond)
}

// forItsMoves asks about a dwell beside which the axis hardly moves: in a year of
// such cycles nothing wears.
func forItsMoves(v *judge.View, beyond float64) (out []judge.Fault) {
	if !v.Calc.Known(m.MovingTime) {
		return nil
	}
	n := neighbour{low: 0, high: 300 * v.V(m.MovingTime), words: func() string { return "the " + v.F(m.MovingTime) + " that all moves of a cycle take" }}
	for i, mv := range v.Axis.Moves {
		if x := v.MoveValue(mv, atDwell); x != nil && x.Origin != spec.Default {
			out = append(out, n.ask(v, atDwell, i, x, beyond)...)
		}
	}
	return out
}

// slowest is the lowest usual speed of a motor in the fastest move, over its maximum speed.
const slowest = 0.01

// forItsSpeed asks about a cycle whose fastest move hardly turns the motor.
func forItsSpeed(v *judge.View, beyond float64) []judge.Fault {
	if !v.Calc.Known(m.MotorMaxSpeed) || !v.Calc.Known(m.Ratio) || !v.Calc.Known(m.Lead) {
		return nil
	}
	fastest, at := (*spec.Value)(nil), -1
	for i, mv := range v.Axis.Moves {
		x := v.MoveValue(mv, atSpeed)
		if x == nil || x.Bad {
			return nil // it may be faster
		}
		if fastest == nil || x.Num.Nominal > fastest.Num.Nominal {
			fastest, at = x, i
		}
	}
	if fastest == nil {
		return nil
	}
	turns := m.ScrewSpeed(1, v.V(m.Lead)) * v.V(m.Ratio) // of the motor, for a metre a second
	top := v.V(m.MotorMaxSpeed) / turns
	n := neighbour{low: slowest * top, high: math.Inf(1), inputs: []*spec.Field{atMotorTop, atRatio, atLead}, most: top, words: func() string {
		return fmt.Sprintf("a motor of %s, which turns at %s", v.F(m.MotorMaxSpeed), v.Show(fastest.Num.Nominal*turns, unit.RotationSpeed))
	}}
	return n.ask(v, atSpeed, at, fastest, beyond)
}

// forItsPreload compares a declared drag torque with the reference torque of the
// preload.
func forItsPreload(v *judge.View, beyond float64) []judge.Fault {
	drag, preload := v.Value(atDrag), v.Value(atPreload)
	if drag == nil || preload == nil {
		return nil
	}
	usual := m.PreloadDrag(v.V(m.LeadAngle), preload.Num.Nominal, v.V(m.Lead))
	n := neighbour{low: 0.3 * usual, high: 3 * usual, words: func() string { return "preload " + v.Text(preload) }, inputs: asksPreload}
	return n.ask(v, atDrag, -1, drag, beyond)
}

// The fields of an axis with such a neighbour, and where their neighbours are
// declared.
var (
	atMass      = judge.Field("load.mass")
	atPayload   = judge.Fields("motion.move.payload")
	atMotorPeak = judge.Field("motor.peak_torque")
	atRatio     = judge.Field("drive.ratio")
	atPull      = judge.Field("drive.belt_pull")
	atDwell     = judge.Field("motion.move.dwell")
	atSpeed     = judge.Field("motion.move.speed")
	atMotorTop  = judge.Field("motor.max_speed")
	atLead      = judge.Field("screw.lead")
	atDrag      = judge.Field("nut.drag_torque")
	atPreload   = judge.Field("nut.preload")
	asksPreload = judge.Fields("nut.preload", "screw.lead", "screw.nominal_diameter")
)

// sameNumbers asks about moves that give one number in two units.
func sameNumbers(v *judge.View) (out []judge.Fault) {
	for _, f := range sizedMove {
		if oneUnit(v, f) {
			continue
		}
		first := map[float64]int{}
		for i, mv := range v.Axis.Moves {
			x := v.MoveValue(mv, f)
			if x == nil || x.Bad || x.Origin != spec.Own || x.Num.Nominal == 0 {
				continue
			}
			n, ok := unit.In(math.Abs(x.Num.Nominal), f.Unit, unit.UnitOf(x.Text))
			if !ok {
				continue
			}
			n, _ = strconv.ParseFloat(strconv.FormatFloat(n, 'g', 9, 64), 64)
			k, seen := first[n]
			if !seen {
				first[n] = i
				continue
			}
			other := v.MoveValue(v.Axis.Moves[k], f)
			if outside(math.Abs(x.Num.Nominal/other.Num.Nominal), 0.9, 1.1) == 0 {
				continue
			}
			out = append(out, judge.Fault{At: f, Move: i,
				Message: fmt.Sprintf("%s is %s in move %s and %s in move %s: same number, different unit; is one of them a mistake?", judge.Readable(f.Name), v.Text(x), mv.Name, v.Text(other), v.Axis.Moves[k].Name),
				Related: []spec.Related{{Place: other.Place, Message: "the other is declared here"}}})
		}
	}
	return out
}

// oneUnit reports whether all moves give a field in the same unit, as most do.
func oneUnit(v *judge.View, f *spec.Field) bool {
	first, seen := "", false
	for _, mv := range v.Axis.Moves {
		x := v.MoveValue(mv, f)
		if x == nil || x.Bad || x.Origin != spec.Own {
			continue
		}
		if u := unit.UnitOf(x.Text); !seen {
			first, seen = u, true
		} else if u != first {
			return false
		}
	}
	return true
}

// sizedAxis and sizedMove are the fields with a usual range that an axis or its
// machine can write; what only parts give is evaluated for the parts.
var sizedAxis, sizedMove = func() (axis, move []*spec.Field) {
	lang := spec.Language()
	for _, f := range lang.Fields {
		switch block, _, _ := strings.Cut(f.Path, "."); {
		case f.Usual[0] == "":
		case f.Index() >= lang.Moves:
			move = append(move, f)
		case f.Path == f.Name, slices.ContainsFunc(lang.Axis.Blocks, func(b *spec.Block) bool { return b.Name == block }):
			axis = append(axis, f)
		}
	}
	return axis, move
}()

// outside says how many times outside its usual range a size lies, 0 for inside.
func outside(x, low, high float64) float64 {
	switch {
	case x < low*(1-judge.Slack):
		return low / x
	case x > high*(1+judge.Slack):
		return x / high
	}
	return 0
}

// endNear is on which side of a range a value lies, in words, and the end there.
func endNear(x, low, high float64) (side, name string, end float64) {
	if x > high {
		return "high", "maximum", high
	}
	return "low", "minimum", low
}

// usual compares a value with the end of its usual range that it is nearer to, widened by beyond.
func usual(x, low, high, beyond float64, kind unit.Kind) judge.Compared {
	if x < low {
		return judge.Compared{Value: x, Limit: low / beyond, Kind: kind, Sense: judge.AtLeast}
	}
	return judge.Compared{Value: x, Limit: high * beyond, Kind: kind, Sense: judge.AtMost}
}

// unusual words a value outside its usual range; "" for none. The range of a temperature
// is not widened: ratios of absolute temperatures say little.
func unusual(x *spec.Value, text string, beyond float64, sys unit.System) (said string, c judge.Compared) {
	f := x.Field
	for _, q := range each(x) {
		if q.Nominal == 0 && f.Unit != unit.Temperature {
			continue
		}
		size, widened := q.Nominal, 1.0
		if f.Unit != unit.Temperature {
			size, widened = math.Abs(size), beyond
		}
		if !judge.Above(outside(size, f.Low, f.High), widened) {
			continue
		}
		side, end := "below the usual minimum", f.Low
		if size > f.High {
			side, end = "above the usual maximum", f.High
		}
		is, shown := unit.Apart(size, end, f.Unit, sys)
		of := judge.Readable(f.Name) + " " + text
		if f.Pair {
			of += ": " + is
		}
		return fmt.Sprintf("%s is %s %s%s", of, side, shown, slip(q.Nominal, x.Text, f, f.Low, f.High)), usual(size, f.Low, f.High, widened, f.Unit)
	}
	return "", judge.Compared{}
}

// each are the numbers of a value, two for a pair of ends.
func each(x *spec.Value) []unit.Quantity {
	if x.Field.Pair {
		return x.Ends[:]
	}
	return []unit.Quantity{x.Num}
}

// slips are the units that are taken for one another, the likeliest first.
var slips = map[unit.Kind][]string{
	unit.Length:                {"mm", "µm", "m", "in", "mil"},
	unit.Speed:                 {"m/s", "mm/s", "m/min", "mm/min", "in/s"},
	unit.Acceleration:          {"m/s2", "mm/s2", "g", "in/s2"},
	unit.Force:                 {"N", "kN", "lbf"},
	unit.Mass:                  {"kg", "g", "t", "lb"},
	unit.Torque:                {"N m", "mN m", "N cm", "kN m", "lbf in"},
	unit.Inertia:               {"kg cm2", "kg m2", "kg mm2", "g cm2"},
	unit.Time:                  {"s", "ms", "min"},
	unit.Span:                  {"years", "months", "days", "h"},
	unit.Temperature:           {"°C", "°F", "K"},
	unit.RotationSpeed:         {"rpm", "rev/s", "rad/s"},
	unit.Stiffness:             {"N/µm", "N/mm", "kN/mm", "N/m"},
	unit.Stress:                {"MPa", "GPa", "Pa", "ksi"},
	unit.Density:               {"kg/m3", "g/cm3"},
	unit.Expansion:             {"µm/(m K)", "1/K"},
	unit.TemperatureDifference: {"K", "°F"},
	unit.Frequency:             {"Hz", "kHz"},
	unit.Angle:                 {"deg", "rad"},
}

// slip names the likely slip behind a number: the same number in another unit,
// or the point in another place.
func slip(si float64, text string, f *spec.Field, low, high float64) string {
	u := unit.UnitOf(text)
	n, ok := unit.In(si, f.Unit, u)
	if f.Pair {
		ok = false // two numbers stand in the text
	}
	within := func(x float64) bool { return outside(math.Abs(x), low, high) == 0 }
	if ok && f.Unit != unit.None {
		units := slips[f.Unit]
		if of, minutes := strings.CutSuffix(u, "/min"); minutes {
			units = slices.Insert(slices.Clone(units), 0, of+"/s")
		}
		for _, other := range units {
			if x, fine := unit.SIOf(n, f.Unit, other); fine && within(x) {
				return fmt.Sprintf(": was %s %s meant?", strconv.FormatFloat(n, 'g', 6, 64), other)
			}
		}
	}
	for _, by := range []float64{10, 0.1, 100, 0.01, 1000, 0.001} {
		if within(si*by) && f.Unit != unit.Temperature {
			return ": is the decimal point in the right place?"
		}
	}
	if f.Unit == unit.None {
		return ""
	}
	return ": is the unit right?"
}

// sizesOfScrew are ranges for a power of a size of the screw, in SI.
var sizesOfScrew = []struct {
	at, of    *spec.Field
	power     float64
	low, high float64
}{
	{atMass, judge.Field("screw.nominal_diameter"), 2, 0.001e6, 8e6},
	{judge.Field("load.moved_mass"), judge.Field("screw.nominal_diameter"), 2, 0.001e6, 8e6},
	{atPreload, judge.Field("screw.dynamic_rating"), 1, 0.002, math.Inf(1)},
	{judge.Field("nut.stiffness"), judge.Field("screw.dynamic_rating"), 1, 1.5e3, 70e3},
}

// forItsScrew compares values with the size of the screw they belong to.
func forItsScrew(v *judge.View, beyond float64) (out []judge.Fault) {
	for _, c := range sizesOfScrew {
		x, of := v.Value(c.at), v.Value(c.of)
		if x == nil || of == nil || outside(x.Num.Nominal, c.at.Low, c.at.High) > 0 {
			continue // what lies outside for every axis is said already
		}
		by := math.Pow(of.Num.Nominal, c.power)
		n := neighbour{low: c.low * by, high: c.high * by, words: func() string { return judge.Readable(c.of.Name) + " " + v.Text(of) }, inputs: []*spec.Field{c.of}}
		out = append(out, n.ask(v, c.at, -1, x, beyond)...)
	}
	return out
}

// A UsualRange is one line of the list of ranges.
type UsualRange struct {
	Path, Low, High string
	Permitted       string // what is refused outside; "" where nothing is
}

// UsualRanges lists the ranges of all fields in the order of the language, those
// of parts behind.
func UsualRanges() (out []UsualRange) {
	add := func(path string, f *spec.Field) {
		if f.Usual[0] != "" && !slices.ContainsFunc(out, func(o UsualRange) bool { return o.Path == path }) {
			out = append(out, UsualRange{path, f.Usual[0], f.Usual[1], f.Permitted()})
		}
	}
	for _, f := range append(slices.Clone(sizedAxis), sizedMove...) {
		add(f.Path, f)
	}
	for _, k := range spec.Language().PartKinds() {
		for _, f := range k.Fields {
			add(k.Name+"."+f.Name, f)
		}
	}
	return out
}
