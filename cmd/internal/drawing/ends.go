package drawing

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/unit"
)

// Ends is the shaft of an axis as its maker sees it: both machined ends with their steps,
// the thread between them broken. Lengths and diameters in metres.
type Ends struct {
	name         string
	sys          unit.System
	right        bool // the driven end is the right one
	ends         [2]end
	thread, root float64
	threadWords  string
	length       float64 // overall; NaN where it is not declared
	between      float64 // of the thread, by subtraction; NaN
	holes        string  // centre holes, in words
	open         []openItem
	lacksRoot    bool     // the root diameter is not declared
	missing      []string // what must be declared to draw it true to scale
}

// An end is one end of the shaft, outward from the thread.
type end struct {
	words   string // driven end, far end
	length  float64
	lacks   bool // its length is not declared
	largest float64
	steps   []endStep
	groove  *cut
	keyway  *cut
	face    string // permitted axial run-out of the shoulder
	faceKey string // letter where that is open
}

// An endStep is a step of an end, its sizes taken where they are not declared.
type endStep struct {
	what                 string // shoulder, bearing seat, …; "" for what is left of the end
	diameter, length     float64
	noDiameter, noLength bool
	usual                bool    // nothing of it is declared; ends like this one have it as a rule
	size                 string  // as drawings write the diameter, "" where it is not declared
	runOut               string  // permitted radial run-out; "" where the step has none
	letter               string  // of what is open
	more                 string  // after the size
	core                 float64 // of a thread whose size is declared
}

// plain is how drawings name what is left of an end beside its steps.
const plain = "plain"

// A cut is a keyway or a groove. Its sizes are zero where they are not declared.
type cut struct {
	at, width, length, depth float64
	bottom                   float64 // of a groove, as declared
	words                    string
	dashed                   bool
	letter                   string
}

// An openItem is what a drawing leaves to be agreed, by its letter.
type openItem struct{ letter, words string }

// OfEnds makes the drawing of the ends of an axis, which names no part.
func OfEnds(v *judge.View) *Ends {
	d := declared{v, false}
	p := Nameless(v)
	e := &Ends{name: p.name, sys: p.sys, right: p.right, thread: p.thread, root: p.root, length: math.NaN(), between: math.NaN()}
	if !p.lacks["length"] {
		e.length = p.length
		if !p.lacks["ends"] {
			e.between = p.threadLength()
		}
	}
	for _, path := range []string{"screw.length", "screw.nominal_diameter", "screw.end_lengths", "screw.end_diameters"} {
		if d.value(path) == nil {
			e.missing = append(e.missing, path)
		}
	}
	e.lacksRoot = d.value("screw.root_diameter") == nil
	e.threadText(d, p)
	for i := range e.ends {
		side := i
		if e.right {
			side = 1 - i
		}
		e.ends[side] = e.endOf(d, p, i, side)
	}
	e.centreHoles(d)
	return e
}

// threadText says what the thread is.
func (e *Ends) threadText(d declared, p *Picture) {
	list := []string{"diameter not declared"}
	if !p.lacks["diameter"] {
		list[0] = "⌀" + p.mm(p.thread)
		if x := d.number("screw.lead"); known(x) {
			list[0] += " × " + p.mm(x)
		}
	}
	if n := d.number("screw.starts"); n > 1 {
		list = append(list, fmt.Sprintf("%g starts", n))
	}
	if h := d.word("screw.hand"); h != "" {
		list = append(list, h+" hand")
	} else {
		list = append(list, "hand ("+e.lack("hand of the thread", nil)+")")
	}
	list = append(list, d.word("screw.process"), d.word("screw.grade"))
	e.threadWords = strings.Join(nonEmpty(list), ", ")
}

func nonEmpty(list []string) (out []string) {
	for _, x := range list {
		if x != "" {
			out = append(out, x)
		}
	}
	return out
}

// lack gives a letter to something that is open.
func (e *Ends) lack(words string, fields []string) string {
	letter := string(rune('a' + len(e.open)))
	if len(fields) > 0 {
		words += ": " + strings.Join(fields, ", ")
	}
	e.open = append(e.open, openItem{letter, words})
	return letter
}

func (e *Ends) mm(x float64) string { return (&Picture{sys: e.sys}).mm(x) }

// An endReader reads the block of one end.
type endReader struct {
	declared
	path string
}

func (r endReader) number(name string) float64 {
	if spec.Language().FieldAt(r.path+name) == nil {
		return math.NaN()
	}
	return r.declared.number(r.path + name)
}

func (r endReader) word(name string) string {
	if spec.Language().FieldAt(r.path+name) == nil {
		return ""
	}
	return r.declared.word(r.path + name)
}

// any reports whether any of several values is declared.
func (r endReader) any(names ...string) bool {
	for _, n := range names {
		if spec.Language().FieldAt(r.path+n) != nil && r.value(r.path+n) != nil {
			return true
		}
	}
	return false
}

// endOf reads one end: i is 0 for the driven one, side 0 for the left.
func (e *Ends) endOf(d declared, p *Picture, i, side int) end {
	r := endReader{d, [2]string{"drive_journal.", "far_journal."}[i]}
	out := end{words: [2]string{"driven end", "far end"}[i], length: p.ends[side], lacks: p.lacks["ends"], largest: p.journals[side]}
	held := p.kinds[side]
	seat := e.seat(r, out.words, held, d.number([2]string{"drive_support.bore", "far_support.bore"}[i]), out.largest)
	if s := e.shoulder(r, &out, held, seat); s != nil {
		out.steps = append(out.steps, *s)
	}
	base := out.largest
	if seat != nil {
		out.steps = append(out.steps, *seat)
		base = seat.diameter
	}
	if s := e.lockThread(r, out.words, held, base); s != nil {
		out.steps = append(out.steps, *s)
	}
	e.cuts(r, &out, held, base)
	if s := e.stub(r, &out, i == 0 && !p.nutTurns, base); s != nil {
		out.steps = append(out.steps, *s)
	}
	out.share()
	return out
}

// size is a diameter with its tolerance class.
func (e *Ends) size(x float64, fit string) string {
	if !known(x) {
		return ""
	}
	return strings.TrimSpace("⌀" + e.mm(x) + " " + fit)
}

// missing lists what of several things is open.
func missing(list ...string) (out []string) {
	for i := 0; i < len(list); i += 2 {
		if list[i] == "" {
			out = append(out, list[i+1])
		}
	}
	return out
}

// mark is "declared" for what is known, "" for what is not.
func mark(x float64) string {
	if known(x) {
		return "declared"
	}
	return ""
}

// seat is the bearing seat; an end that is free has none unless it is declared.
func (e *Ends) seat(r endReader, of, held string, bore, largest float64) *endStep {
	if held == "free" && !r.any("seat_diameter", "seat_length", "seat_fit") {
		return nil
	}
	s := &endStep{what: "bearing seat", diameter: r.number("seat_diameter"), length: r.number("seat_length")}
	if !known(s.diameter) {
		s.diameter = bore
	}
	s.size = e.size(s.diameter, r.word("seat_fit"))
	open := missing(s.size, "diameter", mark(s.length), "length", r.word("seat_fit"), "fit (ISO 286-2)", mark(r.number("run_out")), "run-out")
	s.finish(e, r, of, open, largest)
	return s
}

// finish takes a size where none is declared, and gives a letter to what is open.
func (s *endStep) finish(e *Ends, r endReader, of string, open []string, taken float64) {
	s.noDiameter, s.noLength = !known(s.diameter), !known(s.length)
	if s.noDiameter {
		s.diameter = taken
	}
	if s.what == "bearing seat" || s.what == "stub" {
		s.runOut = "?"
		if x := r.number("run_out"); known(x) {
			s.runOut = e.mm(x)
		}
	}
	if len(open) > 0 {
		s.letter = e.lack(s.what+", "+of, open)
	}
}

// shoulder is that of the bearing: declared, or what the end is thicker than its seat.
func (e *Ends) shoulder(r endReader, out *end, held string, seat *endStep) *endStep {
	s := &endStep{what: "shoulder", diameter: r.number("shoulder_diameter"), length: r.number("shoulder_length")}
	s.size = e.size(s.diameter, "")
	if x := r.number("face_run_out"); known(x) {
		out.face = e.mm(x)
	}
	thick := seat != nil && !seat.noDiameter && judge.Above(out.largest, seat.diameter)
	if s.size == "" && !known(s.length) && !thick && held != "fixed" {
		return nil
	}
	open := missing(s.size, "diameter")
	if held == "fixed" {
		open = append(open, missing(out.face, "axial run-out of its face")...)
	}
	if s.size == "" && !known(s.length) && !thick { // the end of the thread is all there is
		out.faceKey = e.lack("shoulder, "+out.words, open)
		return nil
	}
	open = append(open, missing(mark(s.length), "length")...)
	s.finish(e, r, out.words, open, out.largest)
	out.faceKey = s.letter
	return s
}

// lockThread is the thread for the lock nut; a fixed end has one as a rule.
func (e *Ends) lockThread(r endReader, of, held string, base float64) *endStep {
	text := r.word("lock_thread")
	if text == "none" || text == "" && held != "fixed" && !r.any("lock_thread_length") {
		return nil
	}
	s := &endStep{what: "thread for the lock nut", diameter: math.NaN(), length: r.number("lock_thread_length"), size: sanitize.Cell(text)}
	if d, pitch, ok := spec.MetricThread(text); ok {
		s.diameter, s.core = d, spec.ThreadCore(d, pitch)
	}
	s.usual = text == "" && !known(s.length)
	s.finish(e, r, of, missing(text, "size (or none)", mark(s.length), "length"), 0.95*base)
	return s
}

// stub is what the coupling sits on; only the driven end has one as a rule.
func (e *Ends) stub(r endReader, out *end, usual bool, base float64) *endStep {
	if !usual && !r.any("stub_diameter", "stub_length", "stub_fit") {
		return nil
	}
	s := &endStep{what: "stub", diameter: r.number("stub_diameter"), length: r.number("stub_length")}
	s.size = e.size(s.diameter, r.word("stub_fit"))
	open := missing(s.size, "diameter", mark(s.length), "length", r.word("stub_fit"), "fit (ISO 286-2)", mark(r.number("run_out")), "run-out")
	s.usual = s.size == "" && !known(s.length) && out.keyway == nil
	switch {
	case out.keyway != nil:
		s.more = out.keyway.words
		open = append(open, missing(mark(r.number("keyway_width")), "width of the keyway", mark(r.number("keyway_length")), "its length", mark(r.number("keyway_depth")), "its depth")...)
	case usual && r.word("keyway") == "":
		open = append(open, "keyway (or none)")
	}
	s.finish(e, r, out.words, open, 0.8*base)
	return s
}

// cuts are keyway and groove.
func (e *Ends) cuts(r endReader, out *end, held string, base float64) {
	if r.word("keyway") == "end-milled" || r.any("keyway_width", "keyway_length") {
		k := &cut{width: r.number("keyway_width"), length: r.number("keyway_length"), depth: r.number("keyway_depth")}
		k.words = "keyway"
		if known(k.width) && known(k.length) {
			k.words += " " + e.mm(k.width) + " × " + e.mm(k.length)
			if known(k.depth) {
				k.words += ", " + e.mm(k.depth) + " deep"
			}
		}
		k.dashed = !known(k.width) || !known(k.length)
		out.keyway = k
	}
	ring := r.word("groove") == "ring" || r.any("groove_width", "groove_diameter", "groove_at")
	if !ring && (held != "supported" || r.word("groove") == "none" || r.word("lock_thread") != "") {
		return
	}
	g := &cut{width: r.number("groove_width"), depth: r.number("groove_diameter"), at: r.number("groove_at"), words: "groove"}
	g.bottom = g.depth
	if known(g.depth) {
		g.words += " ⌀" + e.mm(g.depth)
	}
	if known(g.width) {
		g.words += " × " + e.mm(g.width)
	}
	if known(g.at) {
		g.words += ", " + e.mm(g.at) + " from the end"
	}
	open := missing(mark(g.depth), "diameter", mark(g.width), "width", mark(g.at), "position")
	g.dashed = len(open) > 0
	what := "ring groove"
	if !ring {
		what = "ring groove or another stop for the bearing"
	}
	if g.dashed {
		g.letter = e.lack(what+", "+out.words, open)
	}
	if !known(g.depth) || g.depth >= base {
		g.depth = 0.92 * base
	}
	out.groove = g
}

// share gives steps without a length what the end has left, and the end a plain step where
// something is left over.
func (e *end) share() {
	left, weight := e.length, 0.0
	weights := map[string]float64{"shoulder": 0.3, "bearing seat": 1, "thread for the lock nut": 0.5, "stub": 1}
	for _, s := range e.steps {
		if s.noLength {
			weight += weights[s.what]
		} else {
			left -= s.length
		}
	}
	if weight == 0 {
		if left > 1e-9 && !e.lacks {
			e.steps = append([]endStep{{diameter: e.largest, length: left}}, e.steps...)
		}
		return
	}
	for i := range e.steps {
		if s := &e.steps[i]; s.noLength {
			s.length = math.Max(left*weights[s.what]/weight, 0.2*e.largest)
		}
	}
}

// whole is how long the steps are together.
func (e *end) whole() (sum float64) {
	for _, s := range e.steps {
		sum += s.length
	}
	return math.Max(sum, 1e-4)
}

func (e *Ends) centreHoles(d declared) {
	var list []string
	for i := range e.ends {
		side := i
		if e.right {
			side = 1 - i
		}
		if w := d.word([2]string{"drive_journal.", "far_journal."}[i] + "centre_hole"); w != "" {
			list = append(list, e.ends[side].words+" "+w)
		}
	}
	if len(list) < 2 {
		e.lack("centre holes (ISO 6411)", nil)
	}
	if len(list) > 0 {
		e.holes = "Centre holes (ISO 6411): " + strings.Join(list, ", ") + "."
	}
}

// steps says what an end is made of.
func (e *Ends) steps(x *end) string {
	var list []string
	for _, s := range x.steps {
		text := cmp.Or(s.what, plain)
		if s.size != "" {
			text += " " + s.size
		} else if s.what != "" {
			text += " " + lacking
		}
		if !s.noLength {
			text += " × " + e.mm(s.length)
		}
		if s.more != "" {
			text += ", " + s.more
		}
		if s.runOut != "" && s.runOut != "?" {
			text += ", run-out " + s.runOut + " to A–B"
		}
		list = append(list, text)
	}
	if x.groove != nil && !x.groove.dashed {
		list = append(list, x.groove.words)
	}
	if x.face != "" {
		list = append(list, "axial run-out of the shoulder "+x.face)
	}
	if len(list) == 0 {
		list = []string{plain}
	}
	length := lacking
	if !x.lacks {
		length = e.mm(x.length)
	}
	return fmt.Sprintf("%s, length %s: %s", strings.ToUpper(x.words[:1])+x.words[1:], length, strings.Join(list, "; "))
}

// Words say what the drawing shows, for those who do not see it.
func (e *Ends) Words() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Shaft with both machined ends, lengths in %s. Thread %s.", (&Picture{sys: e.sys}).unit(), e.threadWords)
	for i := range e.ends {
		fmt.Fprintf(&b, " %s.", e.steps(&e.ends[i]))
	}
	if e.holes != "" {
		b.WriteString(" " + e.holes)
	}
	for _, o := range e.open {
		fmt.Fprintf(&b, " Not specified (%s): %s.", o.letter, o.words)
	}
	return b.String()
}

// Sketch is the drawing and what it says, in lines for a terminal.
func (e *Ends) Sketch() []string {
	const width = 76
	out, legend := e.profile()
	add := func(text string) {
		line := ""
		for _, w := range strings.Fields(text) {
			if line != "" && utf8.RuneCountInString(line+" "+w) > width {
				out = append(out, line)
				line = " "
			}
			line = strings.TrimPrefix(line+" "+w, map[bool]string{true: " "}[line == ""])
		}
		out = append(out, line)
	}
	add(legend)
	add("Thread " + e.threadWords + ", lengths in " + (&Picture{sys: e.sys}).unit())
	for i := range e.ends {
		add(e.steps(&e.ends[i]))
	}
	if e.holes != "" {
		add(e.holes)
	}
	for _, o := range e.open {
		add("Not specified (" + o.letter + "): " + o.words)
	}
	return out
}
