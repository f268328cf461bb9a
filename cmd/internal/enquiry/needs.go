package enquiry

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/sheet"
	"trammel/rules"
	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/rules/tables"
	"trammel/spec"
	"trammel/spec/unit"
)

// required holds what the screw must be for the rules to pass, whatever part
// the axis names.
func (w *writer) required() {
	w.section("required", "Required values of the ball screw", "")
	w.asked = map[*m.Quantity]string{}
	w.declared("Nominal diameter", "screw.nominal_diameter")
	w.declared("Lead", "screw.lead")
	w.need("Dynamic rating Ca", m.DynamicRating, "life-margin", "preload-range")
	w.need("Static rating C0a", m.StaticRating, "static-safety")
	w.need("Root diameter", m.RootDiameter, "critical-speed", "buckling", "shaft-stress")
	w.counted()
	if dn := w.most(m.DN); dn == dn {
		w.asked[m.DN] = "at least " + w.up(dn, unit.None)
		how := "ball circle diameter " + w.near(w.v.V(m.BallCircle), unit.Length)
		if !w.v.Calc.Known(m.BallCircleGiven) {
			how += " (assumed: the nominal diameter)"
		}
		w.add("dn value, mm·rpm", w.asked[m.DN]+", "+how)
	} else {
		w.lack("dn value, mm·rpm", w.gaps(m.DN))
	}
	w.declared("Accuracy grade", "screw.grade")
	w.travel()
	w.declared("Thread process", "screw.process")
	if p := w.preload(); p != "" {
		w.add("Preload or axial play", p)
	} else {
		w.lack("Preload or axial play", nil)
	}
	w.declared("Drag torque, for acceptance", "nut.drag_torque")
	w.positions()
}

// need adds what a leaf must be for the named rules to pass, and keeps the
// greatest of what their limits require. An advice, and a rule that only warns, say
// what would be better. What no value reaches is said to be out of reach.
func (w *writer) need(name string, leaf *m.Quantity, names ...string) {
	d := w.demands(leaf, names)
	all := strings.Join(slices.Concat(d.musts, d.betters, d.nevers, d.opens, d.idles), "; ")
	switch {
	case d.least == d.least:
		w.asked[leaf] = "no minimum"
		if d.least > 0 {
			w.asked[leaf] = "at least " + w.up(d.least, leaf.Kind)
		}
		if remark := w.beyond(leaf, d.least); remark != "" {
			all += "; " + remark
			w.asked[leaf] += ", " + remark
		}
		w.asked[leaf] = strings.Join(append([]string{w.asked[leaf]}, d.nevers...), ", ")
		w.add(name, all)
		if len(d.opens) > 0 {
			w.asked[leaf] += ", partly not known"
			w.open = append(w.open, name+" (in part)")
		}
	case len(d.nevers) > 0:
		w.asked[leaf] = strings.Join(d.nevers, ", ")
		w.add(name, all)
	case len(d.waits) > 0:
		w.lack(name, d.waits)
	default:
		w.open = append(w.open, name)
		w.add(name, "not known; "+all)
	}
}

// demands are what limits require of a leaf, in words, and the greatest of it.
type demands struct {
	least                                float64 // NaN where none could be told
	musts, betters, nevers, opens, idles []string
	waits                                []string // lines
}

func (w *writer) demands(leaf *m.Quantity, names []string) demands {
	d := demands{least: math.NaN()}
	var advised []judge.Need
	for _, n := range w.v.Needs(leaf) {
		if !n.Least || !slices.Contains(names, n.Rule) {
			continue
		}
		better := n.Advised || rules.Book().ByName(n.Rule).Severity < judge.Error
		switch {
		case n.Never && better:
			d.nevers = append(d.nevers, fmt.Sprintf("the preferred value cannot be reached (%s)", w.because(n)))
		case n.Never:
			d.nevers = append(d.nevers, fmt.Sprintf("no value is sufficient (%s)", w.because(n)))
		case n.Known() && better:
			advised = append(advised, n)
		case n.Known():
			d.must(n, w)
		case better: // what it waits for, its rule's limit waits for too
		case n.NotApplicable:
			d.idles = append(d.idles, fmt.Sprintf("nothing required: %s (%s)", n.Why, n.Rule))
		case len(n.Missing) > 0:
			var lines []string
			for _, x := range n.Missing {
				lines = append(lines, x.Path())
				if !slices.Contains(d.waits, x.Path()) {
					d.waits = append(d.waits, x.Path())
				}
			}
			d.opens = append(d.opens, fmt.Sprintf("%s (%s)", waiting(lines), n.Rule))
		default:
			d.opens = append(d.opens, fmt.Sprintf("not known: %s (%s)", n.Why, n.Rule))
		}
	}
	for _, n := range advised {
		if n.Value > d.least {
			d.betters = append(d.betters, fmt.Sprintf("preferably %s (%s)", w.up(n.Value, leaf.Kind), w.because(n)))
		}
	}
	if leaf != m.DynamicRating && !w.v.Calc.Known(m.EmergencyForce) {
		d.idles = append(d.idles, "emergency stop not included")
	}
	return d
}

func (d *demands) must(n judge.Need, w *writer) {
	if n.Value > 0 {
		d.musts = append(d.musts, fmt.Sprintf("at least %s (%s)", w.up(n.Value, n.Leaf.Kind), w.because(n)))
	} else {
		d.musts = append(d.musts, "no minimum ("+n.Rule+")")
	}
	if !(n.Value <= d.least) {
		d.least = n.Value
	}
}

// beyond remarks on a root diameter that no screw of the nominal diameter has.
func (w *writer) beyond(leaf *m.Quantity, least float64) string {
	if d := w.v.V(m.NominalDiameter); leaf == m.RootDiameter && least >= d {
		return "not below the nominal diameter " + w.near(d, unit.Length) + ": not possible in this size"
	}
	return ""
}

// because says which limit asks for a need.
func (w *writer) because(n judge.Need) string {
	how := n.Rule
	if n.Limit.Kind != unit.None || n.Asked != 1 {
		how += " " + w.near(n.Asked, n.Limit.Kind)
	}
	if n.Because != "" {
		how += ", " + n.Because
	}
	return how
}

// counted names the factors in the needed values, assumed ones with their
// reason.
func (w *writer) counted() {
	var list []string
	factor := func(name string, q *m.Quantity) {
		if x := w.v.V(q); x == x {
			list = append(list, name+" "+w.near(x, q.Kind))
		}
	}
	value := func(name, path string) {
		if x := w.value(path); x != nil {
			list = append(list, name+" "+w.shown(x))
		}
	}
	if w.asked[m.DynamicRating] != "" || w.asked[m.StaticRating] != "" {
		factor("grade factor", m.GradeFactor)
		value("hardness in HRC", "screw.hardness")
	}
	if w.asked[m.RootDiameter] != "" {
		e, rho := w.value("screw.elastic_modulus"), w.value("screw.density")
		if e != nil && rho != nil {
			list = append(list, "Young's modulus and density "+w.both(e, rho))
		}
		value("yield strength", "screw.yield_strength")
		ends := strings.Trim(w.text("supports.drive_end")+"–"+w.text("supports.far_end"), "–")
		if ends != "" {
			list = append(list, "end conditions "+ends)
		}
	}
	if len(list) > 0 {
		here, text := w.here(), document.Paragraph("The required values take into account: "+strings.Join(list, "; ")+".")
		here.Blocks = slices.Insert(here.Blocks, 0, document.Block(text))
	}
}

// both writes two values, one reason where the same is assumed for both.
func (w *writer) both(a, b *spec.Value) string {
	if a.Origin == spec.Default && b.Origin == spec.Default && a.Field.Why == b.Field.Why {
		return sheet.Declared(a, w.sys) + ", " + w.shown(b)
	}
	return w.shown(a) + ", " + w.shown(b)
}

// travel is the travel deviation that the grade permits over the useful travel.
func (w *writer) travel() {
	name := "Travel deviation"
	e, v := w.v.V(m.MeanDeviation), w.v.V(m.Variation)
	if e != e {
		w.lack(name, w.gaps(m.MeanDeviation))
		return
	}
	down := func(x float64) string { return unit.FormatDown(x, unit.Length, w.sys) }
	s := fmt.Sprintf("up to ±%s over the stroke", down(e))
	if v > 0 {
		s += fmt.Sprintf(", variation %s", down(v))
	}
	if g, ok := tables.ParseGrade(w.v.Calc.Word(m.Grade)); ok && g.Number >= 7 {
		if x := w.value("accuracy.transport_factor"); x != nil {
			s += ", transport factor " + w.shown(x)
		}
	}
	w.add(name, s)
}

// positions holds the required accuracy and the stiffness for it; nothing
// of it is open where none is required.
func (w *writer) positions() {
	any := false
	for _, p := range [][2]string{{"Required positioning accuracy, ±", "accuracy.positioning"}, {"Required repeatability, ±", "accuracy.repeatability"}, {"Control loop bandwidth", "accuracy.bandwidth"}} {
		if x := w.value(p[1]); x != nil {
			w.add(p[0], w.shown(x))
			any = true
		}
	}
	if !any {
		w.lack("Positioning, repeatability, bandwidth", nil)
		return
	}
	w.stiffness()
}

func (w *writer) stiffness() {
	name := "Nut stiffness (catalogue value)"
	least, why := math.NaN(), ""
	var waits, nevers []string
	for _, n := range w.v.Needs(m.NutStiffness) {
		if n.Never {
			nevers = append(nevers, fmt.Sprintf("no value is sufficient (%s)", w.because(n)))
		}
		for _, x := range n.Missing {
			if !slices.Contains(waits, x.Path()) {
				waits = append(waits, x.Path())
			}
		}
		if n.Known() && !(n.Value <= least) {
			least, why = n.Value, n.Rule
		}
	}
	switch {
	case len(nevers) > 0:
		w.asked[m.NutStiffness] = strings.Join(nevers, ", ")
		w.add(name, w.asked[m.NutStiffness])
	case least > 0:
		w.asked[m.NutStiffness] = "at least " + w.up(least, unit.Stiffness)
		how := why
		if x := w.value("screw.dynamic_rating"); x != nil && x.Origin != spec.Default {
			how += ", at the declared Ca of " + sheet.Declared(x, w.sys)
		}
		w.add(name, fmt.Sprintf("%s (%s)", w.asked[m.NutStiffness], how))
	case least == 0:
		w.add(name, "no minimum")
	default:
		w.lack(name, waits)
	}
}
