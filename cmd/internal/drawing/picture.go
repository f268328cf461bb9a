// Package drawing draws an axis: to scale along its shaft, from what is declared. What is
// not declared is dashed and named; what is assumed is said. It makes one
// SVG element, or lines of text for a terminal, and judges nothing.
package drawing

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A Mark is a finding as it stands in a drawing.
type Mark struct {
	Number      int
	Level       string // error, warning or note
	Rule, Cause string // as in judge.Finding
}

// A Picture is an axis as it is drawn: lying, positive travel to the right, lengths in
// metres from the left end of the shaft.
type Picture struct {
	name         string
	sys          unit.System
	incline      float64 // degrees
	stands       bool    // how it stands is declared
	right        bool    // the driven end is the right one
	driven       bool    // which end is driven is declared
	nutTurns     bool
	length       float64
	ends         [2]float64 // left, right
	journals     [2]float64
	thread, root float64 // diameters
	kinds        [2]string
	planes       [2]float64 // of the supports
	span         float64
	nut          float64 // its length
	flange       int     // the side its flange is on: -1 left, 1 right, 0 not declared
	start        float64 // middle of the nut at the start of its travel
	stroke       float64
	overtravel   float64
	loaded       float64
	cover        string
	motor        bool
	coupling     bool
	gear         bool
	brakes       int // on motor and screw
	mass         bool
	balance      string
	lacks        map[string]bool // what is not declared and drawn as if
	rows         []row
	parts        []part
	marks        []Mark
	sizeless     bool // no length at all is declared: nothing is to scale
	nutPlaced    bool // where the nut travels along the shaft is declared
	heldPlaced   bool // where the bearings stand is declared
}

// A row is a mass or a force as it stands at the load. Its arrow points right or left, or
// both ways; 0 for none.
type row struct {
	left, right bool
	bold, rest  string
	lacking     bool
}

// A part is a line of the list below the drawing.
type part struct {
	what    string // motor, coupling, support 0, support 1, screw, nut, cover or ""
	text    string
	lacking bool
}

// Of makes the picture of a judged axis with its findings.
func Of(v *judge.View, marks []Mark) *Picture { return of(declared{v, true}, marks) }

// Nameless makes a picture that names no part: what a supplier is to offer has none yet.
func Nameless(v *judge.View) *Picture { return of(declared{v, false}, nil) }

func of(d declared, marks []Mark) *Picture {
	p := &Picture{name: d.v.Axis.Name, sys: d.v.Units(), marks: marks, lacks: map[string]bool{}}
	p.attitude(d)
	p.shaft(d)
	p.travel(d)
	p.held(d)
	p.driveTrain(d)
	p.forces(d)
	p.list(d)
	return p
}

// declared reads what an axis says.
type declared struct {
	v     *judge.View
	names bool // of parts are shown
}

func (d declared) value(path string) *spec.Value {
	x := d.v.Axis.Get(spec.Language().FieldAt(path))
	if x == nil || x.Bad || x.Origin == spec.Default {
		return nil
	}
	return x
}

func (d declared) word(path string) string {
	if x := d.value(path); x != nil {
		return sanitize.Cell(x.Text)
	}
	return ""
}

// number is NaN where there is none.
func (d declared) number(path string) float64 {
	if x := d.value(path); x != nil {
		return x.Num.Nominal
	}
	return math.NaN()
}

func (d declared) pair(path string) (out [2]float64, ok bool) {
	x := d.value(path)
	if x == nil {
		return out, false
	}
	return [2]float64{x.Ends[0].Nominal, x.Ends[1].Nominal}, true
}

// part is the name of a part that an axis refers to.
func (d declared) part(path string) string {
	x := d.value(path)
	if x == nil || x.Part == nil {
		return ""
	}
	return sanitize.Cell(x.Part.Name)
}

func (d declared) shown(path string, sys unit.System) string {
	x := d.value(path)
	if x == nil {
		return ""
	}
	return unit.FormatExact(x.Num.Nominal, x.Field.Unit, sys)
}

func known(x float64) bool { return x == x && !math.IsInf(x, 0) }

func (p *Picture) attitude(d declared) {
	switch x := d.number("incline"); {
	case known(x):
		p.incline, p.stands = x*180/math.Pi, true
	case d.word("orientation") == "vertical":
		p.incline, p.stands = 90, true
	default:
		p.stands = d.word("orientation") != ""
	}
	at := d.word("supports.drive_at")
	p.right, p.driven = at == "end" || at == "top", at != ""
	p.nutTurns = d.word("screw.turning") == "nut"
	p.cover = d.word("screw.cover")
}

// side puts what is declared for the driven and the far end to the left and right.
func (p *Picture) side(x [2]float64) [2]float64 {
	if p.right {
		return [2]float64{x[1], x[0]}
	}
	return x
}

func (p *Picture) shaft(d declared) {
	p.span, p.stroke = d.number("supports.span"), d.number("motion.stroke")
	p.thread, p.root = d.number("screw.nominal_diameter"), d.number("screw.root_diameter")
	p.length = d.number("screw.length")
	if !known(p.length) {
		p.lacks["length"] = true
		switch {
		case known(p.span):
			p.length = p.span * 1.12
		case known(p.stroke):
			p.length = p.stroke * 1.4
		default:
			p.length, p.sizeless = 1, true
		}
	}
	if !known(p.thread) {
		p.lacks["diameter"] = true
		p.thread = p.length / 40
	}
	if !known(p.root) || p.root > p.thread {
		p.root = p.thread * 0.85
	}
	ends, ok := d.pair("screw.end_lengths")
	if !ok {
		p.lacks["ends"] = true
		ends = [2]float64{0.06 * p.length, 0.04 * p.length}
	}
	p.ends = p.side(ends)
	journals, ok := d.pair("screw.end_diameters")
	if !ok {
		p.lacks["journals"] = true
		journals = [2]float64{p.thread * 0.7, p.thread * 0.7}
	}
	p.journals = p.side(journals)
}

// threadLength is what is left between the ends.
func (p *Picture) threadLength() float64 { return p.length - p.ends[0] - p.ends[1] }

func (p *Picture) travel(d declared) {
	p.nut, p.overtravel = d.number("nut.length"), d.number("motion.overtravel")
	p.loaded = d.number("supports.loaded_length")
	if !known(p.nut) {
		p.lacks["nut"] = true
		p.nut = math.Min(2*p.thread, p.length/4)
	}
	if !known(p.stroke) {
		p.lacks["stroke"] = true
		p.stroke = math.Max(0, p.threadLength()-p.nut) * 0.8
	}
	p.lacks["overtravel"] = !known(p.overtravel)
	p.start = p.ends[0] + (p.threadLength()-p.stroke)/2
	nearest := d.number("motion.nut_nearest")
	switch p.nutPlaced = known(nearest); {
	case p.nutPlaced && p.right:
		p.start = p.length - nearest - p.stroke
	case p.nutPlaced:
		p.start = nearest
	}
}

func (p *Picture) held(d declared) {
	drive, far := d.word("supports.drive_end"), d.word("supports.far_end")
	p.kinds = [2]string{drive, far}
	if p.right {
		p.kinds = [2]string{far, drive}
	}
	span := p.span
	if !known(span) {
		p.lacks["span"] = true
		span = p.threadLength()
	}
	// What the span has over the thread is shared evenly, or lies at the end that is held.
	over := span - p.threadLength()
	p.planes[0] = p.ends[0] - over/2
	switch {
	case p.kinds[1] == "free":
		p.planes[0] = p.ends[0] - over
	case p.kinds[0] == "free":
		p.planes[0] = p.ends[0]
	}
	bearing := d.number("supports.drive_bearing_at")
	switch p.heldPlaced = known(bearing); {
	case p.heldPlaced && p.right:
		p.planes[0] = p.length - bearing - span
	case p.heldPlaced:
		p.planes[0] = bearing
	}
	p.planes[1] = p.planes[0] + span
	if toward := d.word("nut.flange_toward"); toward != "" {
		for i, k := range p.kinds {
			if k == toward && p.flange == 0 {
				p.flange = 2*i - 1
			}
		}
	}
}

func (p *Picture) driveTrain(d declared) {
	p.motor = d.part("drive.motor") != "" || known(d.number("motor.rated_torque"))
	p.coupling = d.part("drive.coupling") != "" || known(d.number("coupling.rated_torque"))
	if x := d.number("drive.ratio"); known(x) && x != 1 || known(d.number("drive.gear_torque")) || known(d.number("drive.belt_pull")) {
		p.gear = true
	}
	for _, path := range []string{"motor.brake_torque", "drive.brake_torque"} {
		if d.number(path) > 0 {
			p.brakes++
		}
	}
}

// forces lists what stands at the load: its mass, and the greatest forces on the screw.
func (p *Picture) forces(d declared) {
	show := func(x float64, k unit.Kind) string { return unit.Format(x, k, p.sys) }
	p.mass = d.value("load.mass") != nil || d.value("load.moved_mass") != nil
	if x := d.v.V(m.HeaviestMass); known(x) {
		r := row{bold: show(x, unit.Mass), rest: "moved"}
		if top := d.v.V(m.TopPayload); top > 0 {
			r.rest += ", payload up to " + show(top, unit.Mass)
		}
		p.rows = append(p.rows, r)
	} else {
		p.rows = append(p.rows, row{bold: "mass not declared", lacking: true})
	}
	if x := d.number("load.counterbalance"); x > 0 {
		p.balance = show(x, unit.Force)
		p.rows = append(p.rows, row{right: true, rest: p.balance + " counterbalance"})
	}
	plus, minus := math.Inf(-1), math.Inf(-1)
	for i, f := range d.v.Calc.Series(m.PhaseForce) {
		if d.v.Calc.Series(m.PhaseTime)[i] > 0 {
			plus, minus = math.Max(plus, f), math.Max(minus, -f)
		}
	}
	if plus > 0 && known(plus) {
		p.rows = append(p.rows, row{right: true, rest: show(plus, unit.Force) + " peak in the cycle"})
	}
	if minus > 0 && known(minus) {
		p.rows = append(p.rows, row{left: true, rest: show(minus, unit.Force) + " peak in the cycle"})
	}
	thrust, by := 0.0, ""
	for i, mv := range d.v.Axis.Moves {
		if x := d.v.Calc.Series(m.MoveThrust)[i]; math.Abs(x) > math.Abs(thrust) {
			thrust, by = x, mv.Name
		}
	}
	if thrust != 0 {
		p.rows = append(p.rows, row{rest: show(math.Abs(thrust), unit.Force) + " process force in move " + sanitize.Cell(by)})
	}
	if x := d.v.V(m.EmergencyForce); x > 0 && known(x) {
		p.rows = append(p.rows, row{left: true, right: true, rest: show(x, unit.Force) + " at an emergency stop"})
	}
}

const lacking = "not declared"

// list makes the list of parts.
func (p *Picture) list(d declared) {
	add := func(what, text string, lacking bool) { p.parts = append(p.parts, part{what, text, lacking}) }
	name := func(path, kind string) string {
		if n := d.part(path); n != "" && d.names {
			return kind + " " + n
		}
		return kind
	}
	detail := func(text string, more ...string) string {
		for _, x := range more {
			if x != "" {
				text += ", " + x
			}
		}
		return text
	}
	with := func(word, path string) string {
		if s := d.shown(path, p.sys); s != "" {
			return word + s
		}
		return ""
	}
	if p.motor {
		brake := "no brake"
		if s := with("brake ", "motor.brake_torque"); s != "" {
			brake = s
		}
		add("motor", detail(name("drive.motor", "motor"), with("rated ", "motor.rated_torque"), brake, with("brake on the screw ", "drive.brake_torque")), false)
	} else {
		add("motor", "motor: "+lacking, true)
	}
	if p.gear {
		ratio := ""
		if x := d.value("drive.ratio"); x != nil {
			ratio = "ratio " + sanitize.Cell(x.Text)
		}
		add("coupling", detail("belt or gear", ratio, with("rated ", "drive.gear_torque")), false)
	}
	switch {
	case p.coupling && !p.gear:
		add("coupling", detail(name("drive.coupling", "coupling"), with("rated ", "coupling.rated_torque")), false)
	case !p.gear && !p.nutTurns:
		add("coupling", "coupling: "+lacking, true)
	}
	for i, end := range [2]string{"drive", "far"} {
		side := i
		if p.right {
			side = 1 - i
		}
		kind := p.kinds[side]
		if kind == "free" {
			continue
		}
		words := [2]string{"driven", "far"}[i] + " end"
		switch part := d.part("supports." + end + "_end_part"); {
		case kind == "":
			add(fmt.Sprint("support ", side), words+": "+lacking, true)
		case part == "":
			add(fmt.Sprint("support ", side), words+" "+kind+", support "+lacking, true)
		default:
			part = "support " + part
			if !d.names {
				part = words
			}
			add(fmt.Sprint("support ", side), detail(part, kind, with("bore ", end+"_support.bore")), false)
		}
	}
	screw := []string{}
	if !p.lacks["diameter"] {
		size := "⌀" + p.mm(p.thread)
		if x := d.number("screw.lead"); known(x) {
			size += " × " + p.mm(x)
		}
		screw = append(screw, size)
		if x := d.number("screw.root_diameter"); known(x) {
			screw = append(screw, "root ⌀"+p.mm(x))
		}
	} else {
		screw = append(screw, "diameter "+lacking)
	}
	screw = append(screw, d.word("screw.process"))
	if g := d.word("screw.grade"); g != "" {
		screw = append(screw, g)
	} else {
		screw = append(screw, "grade "+lacking)
	}
	if p.nutTurns {
		screw = append(screw, "stands still")
	}
	add("screw", detail(name("screw.part", "screw"), screw...), false)
	if d.part("nut.part") == "" && p.lacks["nut"] {
		add("nut", "nut: "+lacking, true)
	} else {
		nut := []string{with("length ", "nut.length")}
		switch x := d.value("nut.preload"); {
		case x != nil && x.Num.Nominal > 0:
			nut = append(nut, with("preload ", "nut.preload"))
		case d.value("nut.backlash") != nil:
			nut = append(nut, with("play ", "nut.backlash"))
		case x == nil:
			nut = append(nut, "preload "+lacking)
		}
		if p.nutTurns {
			nut = append(nut, "turns")
		}
		if p.flange == 0 {
			nut = append(nut, "flange side "+lacking)
		}
		add("nut", detail(name("nut.part", "nut"), nut...), false)
	}
	switch p.cover {
	case "":
		add("", "cover: "+lacking, true)
	case "none":
		add("", "no cover", false)
	default:
		add("cover", "cover: "+p.cover, false)
	}
	for _, x := range []struct{ key, words string }{{"ends", "ends of the shaft"}, {"stroke", "stroke"}, {"overtravel", "overtravel"}} {
		if p.lacks[x.key] {
			add("", x.words+": "+lacking, true)
		}
	}
}

// loadedFrom is where the loaded length begins and ends: at the end that takes the thrust.
func (p *Picture) loadedFrom() (from, to float64) {
	if p.kinds[0] != "fixed" && p.kinds[1] == "fixed" {
		return p.planes[1] - p.loaded, p.planes[1]
	}
	return p.planes[0], p.planes[0] + p.loaded
}

// mm writes a length as drawings do, without its unit.
func (p *Picture) mm(x float64) string {
	if p.sys == unit.Inch {
		return trim(x/0.0254, 4)
	}
	return trim(x*1000, 3)
}

func (p *Picture) unit() string {
	if p.sys == unit.Inch {
		return "in"
	}
	return "mm"
}

// trim writes a number with at most so many decimals, and none that say nothing.
func trim(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if len(s) > 9 {
		s = strconv.FormatFloat(x, 'g', 4, 64)
	}
	if s == "-0" {
		return "0"
	}
	return s
}
