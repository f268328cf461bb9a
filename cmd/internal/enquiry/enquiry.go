// Package enquiry makes the enquiry for the ball screw of an axis: what an
// engineer sends to a supplier to be offered one. It is a brief document.
package enquiry

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/drawing"
	"trammel/cmd/internal/sanitize"
	"trammel/cmd/internal/sheet"
	"trammel/rules"
	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// Build makes the enquiry of a judged axis. Whatever the axis does not declare,
// and what follows from it, is open in it.
func Build(rep *judge.Report, o sheet.Options) *document.Document {
	w := &writer{rep: rep, v: rep.View, sys: o.Sys}
	a := rep.View.Axis
	s := &document.Document{Layout: document.Brief, Title: "Enquiry: ball screw for axis " + a.Name, About: w.text("description")}
	if n := a.Folder.MachineName(); n != "" {
		s.Facts.Add("Machine", n)
	}
	s.Facts.Add("Axis", a.Name)
	s.Facts.Add("Units", [...]string{"metric", "inch"}[o.Sys])
	if o.Date != "" {
		s.Facts.Add("Date", o.Date)
	}
	w.s = s
	w.standing()
	w.picture()
	w.ends()
	w.duty()
	w.loads()
	w.speeds()
	w.drive()
	w.required()
	w.geometry()
	w.surroundings()
	w.delivery()
	w.confirm()
	w.left()
	w.caution()
	return s
}

// A writer fills in an enquiry.
type writer struct {
	rep  *judge.Report
	v    *judge.View
	sys  unit.System
	s    *document.Document
	open []string // names of what is open
	// Of the requirements that are repeated in the table.
	asked map[*m.Quantity]string
}

func (w *writer) section(id, title, intro string) {
	w.s.Sections = append(w.s.Sections, document.Section{ID: id, Title: title})
	if intro != "" {
		w.here().Add(document.Paragraph(intro))
	}
}

func (w *writer) here() *document.Section { return &w.s.Sections[len(w.s.Sections)-1] }

// add adds an item in the section that is being made.
func (w *writer) add(name, value string) {
	blocks := w.here().Blocks
	if n := len(blocks); n > 0 {
		if f, ok := blocks[n-1].(document.Facts); ok {
			f.Add(name, value)
			blocks[n-1] = f
			return
		}
	}
	w.here().Add(document.Facts{{Name: name, Value: value}})
}

// lack adds an item that is open, with the lines it waits for.
func (w *writer) lack(name string, lines []string) {
	w.open = append(w.open, name)
	w.add(name, waiting(lines))
}

const notSpecified = "not specified"

// waiting says that something is open, and for which lines it waits.
func waiting(lines []string) string {
	const most = 3
	switch n := len(lines); {
	case n == 0:
		return notSpecified
	case n > most:
		return fmt.Sprintf("not known (depends on %s and others)", strings.Join(lines[:most], ", "))
	}
	return "not known (depends on " + strings.Join(lines, ", ") + ")"
}

func field(path string) *spec.Field { return spec.Language().FieldAt(path) }

func (w *writer) value(path string) *spec.Value {
	x := w.v.Axis.Get(field(path))
	if x == nil || x.Bad {
		return nil
	}
	return x
}

// text is a declared text or word, "" where there is none.
func (w *writer) text(path string) string {
	if x := w.value(path); x != nil {
		return x.Text
	}
	return ""
}

// flag gives a declared flag.
func (w *writer) flag(path string) (yes, declared bool) {
	x := w.value(path)
	return x != nil && x.Flag, x != nil
}

// shown writes a declared value; one that is assumed says so with its reason.
func (w *writer) shown(x *spec.Value) string {
	s := sheet.Declared(x, w.sys)
	if x.Origin == spec.Default {
		s += " (assumed: " + x.Field.Why + ")"
	}
	return s
}

// declared adds what was declared, or that it is open. Nothing assumed
// stands in its place.
func (w *writer) declared(name, path string) {
	if x := w.value(path); x != nil && x.Origin != spec.Default {
		w.add(name, w.shown(x))
	} else {
		w.lack(name, nil)
	}
}

// gaps names the lines a quantity waits for.
func (w *writer) gaps(q *m.Quantity) []string {
	var out []string
	for _, g := range w.v.Calc.Gaps(q) {
		n := g.Leaf.Name
		if g.Leaf == m.CarriedMass {
			n = "the mass of a carried axis"
		}
		if !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// up writes a computed value, rounded up: what is offered has to bear it.
func (w *writer) up(x float64, k unit.Kind) string { return unit.Readable(unit.FormatUp(x, k, w.sys)) }

// below and above write the ends of a range, rounded outward.
func (w *writer) below(x float64, k unit.Kind) string {
	if x > 0 {
		return unit.FormatDown(x, k, w.sys)
	}
	return unit.FormatUp(x, k, w.sys)
}

func (w *writer) above(x float64, k unit.Kind) string {
	if x < 0 {
		return unit.FormatDown(x, k, w.sys)
	}
	return unit.FormatUp(x, k, w.sys)
}

// most is the greatest value of a quantity within what is declared with a
// tolerance.
func (w *writer) most(q *m.Quantity) float64 {
	return w.v.Most(func(c *m.Calc) float64 { return c.V(q) }, q)
}

// greatest adds the greatest value of a computed quantity, or that it is open.
func (w *writer) greatest(name string, q *m.Quantity) {
	if x := w.most(q); x == x {
		w.add(name, w.up(x, q.Kind))
	} else {
		w.lack(name, w.gaps(q))
	}
}

func (w *writer) near(x float64, k unit.Kind) string { return unit.Readable(unit.Format(x, k, w.sys)) }

// standing says what the paper is, and whether the design holds.
func (w *writer) standing() {
	w.section("standing", "Purpose", "")
	list := []string{"This is a request for quotation, not an order. Please quote a ball screw for the axis below, confirm the figures with your own calculation and point out every item you understand differently."}
	byLevel := map[judge.Severity][]string{}
	counts := map[judge.Severity]int{}
	var waived []string
	note := func(list []string, name string) []string {
		if slices.Contains(list, name) {
			return list
		}
		return append(list, name)
	}
	for _, f := range w.rep.Findings {
		if f.Waiver != nil {
			waived = note(waived, f.Rule)
			continue
		}
		counts[f.Severity]++
		byLevel[f.Severity] = note(byLevel[f.Severity], f.Rule)
	}
	if n := counts[judge.Error]; n > 0 {
		list = append(list, fmt.Sprintf("The design as declared fails its own check: %s (%s). The figures below are those of this design.", sanitize.Count(n, "error", "errors"), strings.Join(byLevel[judge.Error], ", ")))
	}
	if n := counts[judge.Warning]; n > 0 {
		list = append(list, fmt.Sprintf("The design check gives %s (%s).", sanitize.Count(n, "warning", "warnings"), strings.Join(byLevel[judge.Warning], ", ")))
	}
	if len(waived) > 0 {
		list = append(list, "Findings accepted by the engineer: "+strings.Join(waived, ", ")+".")
	}
	w.here().Add(document.ListOf(list...))
}

// picture draws the axis as declared, without the names of its parts.
func (w *writer) picture() {
	w.section("drawing", "Axis", "")
	p := drawing.Nameless(w.v)
	w.here().Add(&document.Drawing{ID: "axis", Title: "Axis " + w.v.Axis.Name, Words: p.Words(), Draw: p.SVG, Sketch: p.Sketch()})
}

// ends draws both machined ends of the shaft.
func (w *writer) ends() {
	w.section("ends", "Ends of the shaft", "")
	e := drawing.OfEnds(w.v)
	w.here().Add(&document.Drawing{ID: "shaft-ends", Title: "Ends of the shaft", Words: e.Words(), Draw: e.SVG, Sketch: e.Sketch()})
}

func (w *writer) duty() {
	w.section("duty", "Duty", "")
	w.declared("Stroke (useful travel)", "motion.stroke")
	w.declared("Overtravel at each end", "motion.overtravel")
	w.assumedWith("Screws on the axis", "load.screws", m.PeakForce)
	if x := w.v.V(m.CycleTime); x == x {
		w.add("Cycle time", w.near(x, unit.Time))
	} else {
		w.lack("Cycle time", w.gaps(m.CycleTime))
	}
	h, d := w.value("duty.hours_per_day"), w.value("duty.days_per_year")
	if h != nil && d != nil {
		w.add("Working time", w.shown(h)+" hours a day, "+w.shown(d)+" days a year")
	} else {
		w.declared("Working hours a day", "duty.hours_per_day")
		w.declared("Working days a year", "duty.days_per_year")
	}
	w.declared("Required service life", "duty.service_life")
	w.assumedWith("Required reliability", "duty.reliability", m.RequiredRevs)
	w.greatest("Revolutions in the service life", m.RequiredRevs)
	if x := w.value("duty.load_factor"); x != nil {
		w.add("Load factor", sheet.Declared(x, w.sys))
	} else if x := w.value("duty.shock"); x != nil {
		w.add("Load factor", fmt.Sprintf("%s (%s)", w.near(w.v.V(m.LoadFactor), unit.None), x.Text))
	} else {
		w.lack("Load factor", nil)
	}
	w.moves()
}

// assumedWith adds a value with a default, which is named where something
// that was computed rests on it.
func (w *writer) assumedWith(name, path string, q *m.Quantity) {
	x := w.value(path)
	if x == nil || x.Origin == spec.Default && !w.v.Calc.Known(q) {
		w.lack(name, nil)
		return
	}
	w.add(name, w.shown(x))
}

// moves tabulates the cycle.
func (w *writer) moves() {
	if len(w.v.Axis.Moves) == 0 {
		w.lack("Cycle", nil)
		return
	}
	t := &document.Table{
		Caption: "Cycle (force: minimum … maximum axial force on the screw, dwell included; positive toward positive travel)",
		Head:    []string{"move", "distance", "peak speed", "acceleration", "deceleration", "force", "dwell after"},
		Number:  []bool{false, true, true, true, true, true, true},
	}
	c := w.v.Calc
	openIn := false
	cell := func(x float64, k unit.Kind, write func(float64, unit.Kind) string) string {
		if x != x {
			openIn = true
			return "not known"
		}
		return write(x, k)
	}
	for i, mv := range w.v.Axis.Moves {
		speed := c.Series(m.MovePeakSpeed)[i]
		if speed != speed {
			speed = c.Series(m.MoveSpeed)[i]
		}
		low, high := w.forces(i)
		force := cell(low, unit.Force, w.below)
		if low == low && low != high {
			force += " … " + w.above(high, unit.Force)
		}
		rest := "none"
		if x := mv.Get(field("motion.move.dwell")); x != nil && x.Origin != spec.Default {
			rest = sheet.Declared(x, w.sys)
		}
		distance := notSpecified
		if x := mv.Get(field("motion.move.distance")); x != nil {
			distance = sheet.Declared(x, w.sys)
		} else {
			openIn = true
		}
		t.Rows = append(t.Rows, []string{
			mv.Name, distance,
			cell(speed, unit.Speed, w.up), cell(c.Series(m.MoveUp)[i], unit.Acceleration, w.up), cell(c.Series(m.MoveDown)[i], unit.Acceleration, w.up), force, rest,
		})
	}
	if openIn {
		w.open = append(w.open, "parts of the cycle")
	}
	w.here().Add(t)
}

// forces gives the least and greatest axial force of a move while it lasts, NaN
// where one is not known.
func (w *writer) forces(move int) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	times := w.v.Calc.Series(m.PhaseTime)
	for j := move * m.PhasesPerMove; j < (move+1)*m.PhasesPerMove; j++ {
		f := w.v.Calc.Series(m.PhaseForce)[j]
		if f != f || times[j] != times[j] {
			return math.NaN(), math.NaN()
		}
		if times[j] > 0 {
			low, high = math.Min(low, f), math.Max(high, f)
		}
	}
	if low > high {
		return math.NaN(), math.NaN()
	}
	return low, high
}

func (w *writer) loads() {
	intro := ""
	if w.spread() {
		intro = "Figures hold for the worst of what is declared with a tolerance, those of the cycle move by move for its middle."
	}
	w.section("loads", "Loads and speeds", intro)
	w.greatest("Moved mass with the heaviest payload", m.HeaviestMass)
	name := "Peak axial load in the cycle"
	if plus, minus := w.toward(1), w.toward(-1); plus == plus && minus == minus {
		w.add(name, w.up(plus, unit.Force)+" toward positive travel, "+w.up(minus, unit.Force)+" toward negative")
	} else {
		w.lack(name, w.gaps(m.PhaseForce))
	}
	if x := w.most(m.EmergencyForce); x == x {
		w.add("Axial load at an emergency stop", w.up(x, unit.Force))
	} else {
		w.open = append(w.open, "Axial load at an emergency stop")
		w.add("Axial load at an emergency stop", waiting(w.gaps(m.EmergencyForce))+"; not included below")
	}
	w.declared("Axial load at rest", "load.standstill")
	w.counterbalance()
	w.greatest("Peak axial load", m.PeakForce)
	w.greatest("Mean axial load", m.MeanLoad)
	if plus, minus := w.most(m.MeanPlus), w.most(m.MeanMinus); plus == plus && minus == minus {
		with := ""
		if w.v.V(m.Preload) > 0 {
			with = ", preload included"
		}
		w.add("Mean load of each flank", w.up(plus, unit.Force)+" toward positive travel, "+w.up(minus, unit.Force)+" toward negative"+with)
	} else {
		w.lack("Mean load of each flank", w.gaps(m.MeanPlus))
	}
	var side []string
	for _, p := range []string{"load.side_force", "load.side_moment"} {
		if x := w.value(p); x != nil {
			side = append(side, judge.Readable(x.Field.Name)+" "+sheet.Declared(x, w.sys))
		}
	}
	if len(side) > 0 {
		w.add("Side load on the nut", strings.Join(side, ", "))
	} else {
		w.add("Side load on the nut", "none specified (a ball nut must not carry any)")
	}
}

// counterbalance is that of an axis which weight can move.
func (w *writer) counterbalance() {
	if x := w.value("load.counterbalance"); x != nil && x.Origin != spec.Default {
		s := w.shown(x)
		if by := w.text("load.counterbalance_by"); by != "" {
			s += ", " + by
		}
		w.add("Counterbalance", s)
	} else if w.text("orientation") == "vertical" || w.value("incline") != nil {
		w.lack("Counterbalance", nil)
	}
}

// toward is the greatest axial force of the cycle in one direction, 0 where it
// never points there.
func (w *writer) toward(sign float64) float64 {
	if len(w.v.Axis.Moves) == 0 {
		return math.NaN()
	}
	return w.v.Most(func(c *m.Calc) float64 {
		most := 0.0
		times := c.Series(m.PhaseTime)
		for j, f := range c.Series(m.PhaseForce) {
			switch {
			case f != f || times[j] != times[j]:
				return math.NaN()
			case times[j] > 0:
				most = math.Max(most, sign*f)
			}
		}
		return most
	}, m.PhaseForce, m.PhaseTime)
}

// spread reports whether anything is declared with a tolerance.
func (w *writer) spread() bool {
	lang := spec.Language()
	wide := func(x *spec.Value) bool { return x != nil && !x.Bad && x.Field.Sort == spec.Quantity && !x.Num.Exact() }
	for _, f := range lang.Fields[:lang.Moves] {
		if wide(w.v.Axis.Get(f)) && m.ByName(f.Path) != nil {
			return true
		}
	}
	for _, mv := range w.v.Axis.Moves {
		for _, f := range lang.Fields[lang.Moves:] {
			if wide(mv.Get(f)) {
				return true
			}
		}
	}
	return false
}

func (w *writer) speeds() {
	pair := func(name string, travel, turning *m.Quantity) {
		x, y := w.most(travel), w.most(turning)
		switch {
		case x == x && y == y:
			w.add(name, w.up(x, unit.Speed)+", "+w.up(y, unit.RotationSpeed))
		case x == x:
			w.open = append(w.open, name+" of rotation")
			w.add(name, w.up(x, unit.Speed)+"; of rotation "+waiting(w.gaps(turning)))
		default:
			w.lack(name, w.gaps(travel))
		}
	}
	pair("Peak speed", m.TopSpeed, m.MaxRotation)
	pair("Mean speed in motion", m.MeanSpeed, m.MeanRotation)
	top := w.v.Most(func(c *m.Calc) float64 {
		most := math.Inf(-1) // of no move: nothing is known
		for _, q := range []*m.Quantity{m.MoveUp, m.MoveDown} {
			for _, x := range c.Series(q) {
				most = math.Max(most, x)
			}
		}
		return most
	}, m.MoveUp, m.MoveDown)
	if top == top && len(w.v.Axis.Moves) > 0 {
		w.add("Peak acceleration", w.up(top, unit.Acceleration))
	} else {
		w.lack("Peak acceleration", w.gaps(m.MoveUp))
	}
	if x := w.value("screw.turning"); x != nil {
		w.add("Rotating part", w.shown(x))
	}
}

// delivery is what is ordered, besides what the screw must do.
func (w *writer) delivery() {
	w.section("delivery", "Scope of supply", "")
	w.declared("Quantity", "order.quantity")
	w.declared("Spares among them", "order.spares")
	w.declared("Inspection records", "order.inspection")
	w.declared("Preservation and packing", "order.preservation")
	w.declared("First grease by", "order.first_grease")
}

func (w *writer) geometry() {
	w.section("geometry", "Geometry", "")
	if x := w.value("incline"); x != nil {
		w.add("Orientation", "inclined by "+sheet.Declared(x, w.sys)+", positive travel uphill")
	} else {
		w.declared("Orientation", "orientation")
	}
	w.declared("Hand of the thread", "screw.hand")
	w.declared("Overall length", "screw.length")
	if x := w.most(m.ThreadNeeded); x == x {
		w.add("Minimum thread length", w.up(x, unit.Length)+", for a nut length of "+w.up(w.most(m.NutLength), unit.Length))
	} else {
		w.lack("Minimum thread length", w.gaps(m.ThreadNeeded))
	}
	w.declared("End lengths, driven end first", "screw.end_lengths")
	w.declared("End diameters, driven end first", "screw.end_diameters")
	drive, far, at := w.text("supports.drive_end"), w.text("supports.far_end"), w.text("supports.drive_at")
	if drive != "" && at != "" {
		drive += ", at the " + at
	}
	for _, e := range [][2]string{{"Driven end", drive}, {"Far end", far}} {
		if e[1] == "" {
			w.lack(e[0], nil)
		} else {
			w.add(e[0], e[1])
		}
	}
	w.declared("Span between supports", "supports.span")
	if f := w.text("nut.flange_toward"); f != "" {
		f = "toward the " + f + " end"
		if why := w.text("nut.flange_reason"); why != "" {
			f += ": " + why
		}
		w.add("Nut flange", f)
	} else {
		w.lack("Nut flange", nil)
	}
	w.declared("Nut form", "nut.form")
	w.declared("Preload by", "nut.preload_by")
	w.yes("Safety nut", "nut.safety_nut")
	w.declared("Ball return", "screw.recirculation")
	w.yes("Wipers", "nut.wipers")
	w.declared("Shaft cover", "screw.cover")
}

// yes adds a flag.
func (w *writer) yes(name, path string) {
	switch yes, declared := w.flag(path); {
	case yes:
		w.add(name, "yes")
	case declared:
		w.add(name, "no")
	default:
		w.lack(name, nil)
	}
}

// greases are what a grease may be declared fit for.
var greases = [][2]string{{"food_grade", "food grade"}, {"low_particle", "low particle emission"}, {"water_resistant", "water resistant"}, {"vacuum", "suitable for vacuum"}}

// places are what a place may bring, with what that demands of a ball screw:
// the demands of the rules contamination and lubricant-environment.
var places = [][3]string{
	{"dust", "dust", "wipers on the nut or a cover over the shaft"},
	{"chips", "chips", "a cover over the shaft"},
	{"wash_down", "wash-down", "corrosion-resistant shaft, raceway, nut and balls; water-resistant grease"},
	{"clean_room", "clean room", "low-particle grease"},
	{"open_product", "open product", "food-grade grease"},
	{"vacuum", "vacuum", "vacuum grease or dry-film lubrication"},
}

// surroundings holds lubrication and environment.
func (w *writer) surroundings() {
	w.section("surroundings", "Lubrication and environment", "")
	var grease []string
	if t := w.text("grease.thickener"); t != "" {
		grease = append(grease, "thickener "+t)
	}
	if t := w.text("grease.base_oil"); t != "" {
		grease = append(grease, "base oil "+t)
	}
	for _, g := range greases {
		if yes, _ := w.flag("grease." + g[0]); yes {
			grease = append(grease, g[1])
		}
	}
	if t := w.temperatures("grease"); t != "" {
		grease = append(grease, t)
	}
	if len(grease) > 0 {
		w.add("Lubricant", strings.Join(grease, ", "))
	} else {
		w.lack("Lubricant", nil)
	}
	w.declared("Regreasing interval", "lubrication.regrease_every")
	along := w.text("lubrication.along_shaft")
	switch port, declared := w.flag("nut.grease_port"); {
	case port && along != "":
		w.add("Grease supply", "port on the nut; along the shaft: "+along)
	case port:
		w.add("Grease supply", "port on the nut")
	case along != "":
		w.add("Grease supply", "along the shaft: "+along)
	case declared:
		w.lack("Grease supply (the nut has no port)", nil)
	default:
		w.lack("Grease supply", nil)
	}
	if t := w.temperatures("environment"); t != "" {
		w.add("Temperature at the screw", t)
	} else {
		w.lack("Temperature at the screw", nil)
	}
	var brings, not, silent, demands []string
	wet := false
	for _, p := range places {
		switch yes, declared := w.flag("environment." + p[0]); {
		case yes:
			brings = append(brings, p[1])
			demands = append(demands, p[2])
			wet = wet || p[0] == "wash_down"
		case declared:
			not = append(not, p[1])
		default:
			silent = append(silent, p[1])
		}
	}
	switch {
	case w.value("environment") == nil:
		w.lack("Environment", nil)
	default:
		var parts []string
		if len(brings) > 0 {
			parts = append(parts, strings.Join(brings, ", "))
		}
		if len(not) > 0 {
			parts = append(parts, "no "+strings.Join(not, ", no "))
		}
		if len(silent) > 0 {
			parts = append(parts, "not specified: "+strings.Join(silent, ", "))
		}
		w.add("Environment", strings.Join(parts, "; "))
	}
	for _, p := range [][2]string{{"screw.corrosion_proof", "corrosion-resistant shaft and raceway"}, {"nut.corrosion_proof", "corrosion-resistant nut and balls"}} {
		if yes, _ := w.flag(p[0]); yes && !wet {
			demands = append(demands, p[1])
		}
	}
	if len(demands) > 0 {
		w.add("Required for this environment", strings.Join(demands, "; "))
	}
}

// temperatures writes those of a grease or environment, "" where neither end is
// declared.
func (w *writer) temperatures(of string) string {
	low, high := w.value(of+".min_temperature"), w.value(of+".max_temperature")
	switch {
	case low != nil && high != nil:
		return sheet.Declared(low, w.sys) + " … " + sheet.Declared(high, w.sys)
	case low != nil:
		return "from " + sheet.Declared(low, w.sys) + ", upper limit not specified"
	case high != nil:
		return "up to " + sheet.Declared(high, w.sys) + ", lower limit not specified"
	}
	return ""
}

// drive adds what is declared of the motor; nothing is open where nothing is.
func (w *writer) drive() {
	var list []string
	for _, p := range [][2]string{
		{"motor.rated_torque", "rated torque"}, {"motor.peak_torque", "peak torque"}, {"motor.max_speed", "maximum speed"}, {"motor.rotor_inertia", "rotor inertia"},
		{"motor.brake_torque", "motor brake"}, {"drive.brake_torque", "brake on the screw"},
	} {
		if x := w.value(p[0]); x != nil {
			list = append(list, p[1]+" "+w.shown(x))
		}
	}
	if len(list) == 0 {
		return
	}
	if x := w.value("drive.ratio"); x != nil {
		list = append(list, "gear ratio (motor turns per screw turn) "+w.shown(x))
	}
	w.add("Motor", strings.Join(list, ", "))
}

// confirm is the table the supplier fills in.
func (w *writer) confirm() {
	w.section("confirm", "Please confirm", "")
	table := func(head string) *document.Table {
		return &document.Table{Head: []string{head, "required", "offered"}, Number: make([]bool, 3)}
	}
	t := table("size and ratings")
	row := func(item, asked string) { t.Rows = append(t.Rows, []string{item, orOpen(asked), ""}) }
	of := func(path string) string {
		if x := w.value(path); x != nil && x.Origin != spec.Default {
			return sheet.Declared(x, w.sys)
		}
		return ""
	}
	size := ""
	if d, p := of("screw.nominal_diameter"), of("screw.lead"); d != "" || p != "" {
		size = orOpen(d) + " × " + orOpen(p)
	}
	row("Nominal diameter × lead", size)
	row("Dynamic rating Ca", w.asked[m.DynamicRating])
	row("Static rating C0a", w.asked[m.StaticRating])
	row("Root diameter", w.asked[m.RootDiameter])
	row("Permitted dn value", w.asked[m.DN])
	row("Maximum shaft length in this size", w.least("screw.length"))
	first := t
	t = table("design and terms")
	row("Accuracy grade", of("screw.grade"))
	row("Preload or axial play", w.preload())
	row("Nut stiffness", w.asked[m.NutStiffness])
	row("Ball diameter, loaded turns", please)
	row("Price", please)
	row("Delivery", please)
	w.here().Add(first, t)
}

const please = "please state"

func orOpen(s string) string {
	if s == "" {
		return notSpecified
	}
	return s
}

func (w *writer) least(path string) string {
	if x := w.value(path); x != nil {
		return "at least " + unit.FormatExact(x.Num.High, x.Field.Unit, w.sys)
	}
	return ""
}

func (w *writer) preload() string {
	pr, play := w.value("nut.preload"), w.value("nut.backlash")
	var out []string
	switch {
	case pr != nil && pr.Num.Nominal == 0:
		out = append(out, "no preload, with play")
	case pr != nil:
		out = append(out, "preload "+sheet.Declared(pr, w.sys))
	}
	if play != nil {
		out = append(out, "axial play up to "+sheet.Declared(play, w.sys))
	}
	return strings.Join(out, ", ")
}

func (w *writer) left() {
	text := "All items above are specified."
	if len(w.open) > 0 {
		text = "These items are not specified. Please do not assume values for them; ask us: " + strings.Join(w.open, "; ") + "."
	}
	if slices.ContainsFunc(w.rep.Results, func(r judge.Result) bool { return r.State == judge.Unjudged }) {
		text += " Some rules of the design check could not be judged without them."
	}
	w.section("open", "Not specified", text)
}

func (w *writer) caution() {
	w.section("caution", "Cautions", "")
	w.here().Add(document.ListOf(append([]string{
		"The figures are a design check; minimum values are rounded up. The supplier confirms them, the responsible engineer signs them. They do not make a machine safe.",
		"Local codes and rules, licensed practice and the machine's risk assessment (ISO 12100, ISO 13849-1) take precedence over this document.",
	}, rules.Cautions(w.rep.View)...)...))
}
