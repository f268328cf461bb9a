package drawing

import (
	"fmt"
	"math"
	"strings"

	"trammel/rules/judge"
)

// places says where findings stand whose rule tells it better than the line they are about.
var places = map[string]string{
	"critical-speed": "span", "shaft-sag": "span", "standing-shaft": "span", "stretch": "span", "thermal-growth": "span", "travel-room": "span",
	"temperature-rise": "span", "buckling": "loaded", "buckling-ends": "loaded",
	"overtravel": "stroke", "end-stop": "stroke", "cycle-closes": "stroke", "short-stroke": "stroke", "peak-speed": "stroke",
	"shaft-length": "overall", "slenderness": "overall", "shaft-layout": "thread",
	"holding-brake": "brake", "brake-behind-belt": "brake", "emergency-stop": "motor",
	"motor-peak-torque": "motor", "motor-rms-torque": "motor", "motor-speed": "motor", "motor-standstill": "motor", "inertia-ratio": "motor", "min-lead": "motor",
	"coupling-torque": "coupling", "coupling-service": "coupling", "gear-rating": "coupling", "gear-ratio": "coupling", "cross-shaft": "coupling",
	"support-life": "support", "support-kind": "support", "end-journal": "support", "journal-strength": "support",
	"life-margin": "nut", "static-safety": "nut", "preload-range": "nut", "ball-speed": "nut", "flange-orientation": "nut", "nut-fits": "nut",
	"nut-bearing": "nut", "nut-transfer": "nut", "grease-access": "nut", "regrease-interval": "nut", "lubricant-environment": "nut",
	"repeatability": "nut", "worn-preload": "nut", "safety-nut": "nut", "side-load": "nut", "shaft-stress": "screw", "contamination": "cover",
	"counterbalance": "load", "counterbalance-weight": "load", "carried-mass": "load", "stiffness": "load",
}

// place says at what a finding stands, "" for nothing in the drawing.
func place(m Mark) string {
	if at := places[m.Rule]; at != "" {
		return at
	}
	block, _, _ := strings.Cut(m.Cause, ".")
	return map[string]string{
		"motion": "stroke", "screw": "screw", "nut": "nut", "supports": "support", "drive_support": "support", "far_support": "support",
		"drive_journal": "support", "far_journal": "support", "drive": "motor", "motor": "motor", "coupling": "coupling", "load": "load", "lubrication": "nut", "grease": "nut",
	}[block]
}

// at lists the findings that stand at something.
func (p *Picture) at(where ...string) (out []Mark) {
	for _, m := range p.marks {
		for _, w := range where {
			if place(m) == w {
				out = append(out, m)
			}
		}
	}
	return out
}

// A dimension is one dimension line with its words.
type dimension struct {
	from, to float64 // in units of the drawing
	words    string
	lacking  bool
	marks    []Mark
	quiet    bool // without words: they stand with another
}

// whole is how long the line must be for words and marks.
func (d *dimension) whole() float64 {
	return advance(d.words, 11, true) + float64(len(d.marks))*(markSide+2) + 10
}

// dim draws a dimension line (ISO 129, from memory): arrows from 26 units on, else
// strokes. Numbers that do not fit stand beside it.
func (s *canvas) dim(y float64, d dimension) {
	if d.from > d.to {
		d.from, d.to = d.to, d.from
	}
	p, long := pen{opacity: .8}, d.to-d.from
	if d.lacking {
		p.dash = dashed
	}
	if len(d.marks) > 0 {
		p = pen{w: heavy}
	}
	h := hand{italic: d.lacking, bold: len(d.marks) > 0}
	marks := float64(len(d.marks)) * (markSide + 2)
	words := advance(d.words, 11, h.bold)
	whole := words
	if marks > 0 {
		whole += marks + 4
	}
	x := (d.from + d.to - whole) / 2
	inside := whole+6 <= long
	switch {
	case d.quiet || d.words == "":
	case inside:
	case d.to+6+whole < s.width-1:
		x = d.to + 6
	case d.from-6-whole > 1:
		x = d.from - 6 - whole
	default:
		x = math.Max(1, math.Min(x, s.width-whole-1))
	}
	if marks > 0 && inside {
		s.line(d.from, y, x-2, y, p)
		s.line(x+marks+2, y, d.to, y, p)
	} else {
		s.line(d.from, y, d.to, y, p)
	}
	if long >= 26 {
		s.arrow(d.from, y, -1, 0, 7.5, 3)
		s.arrow(d.to, y, 1, 0, 7.5, 3)
	} else {
		for _, at := range []float64{d.from, d.to} {
			s.line(at-3, y+3, at+3, y-3, pen{w: 1})
		}
	}
	if d.quiet || d.words == "" {
		return
	}
	for i, m := range d.marks {
		at := y
		if !inside {
			at = y - 4
		}
		s.mark(x+markSide/2.0+float64(i)*(markSide+2), at, m)
	}
	if marks > 0 {
		x += marks + 4
	}
	base := y - 3.5
	if !inside {
		base = y + 3.8
		if x > d.from && x < d.to {
			base = y - 3.5
		}
	}
	s.text(x, base, d.words, h)
}

// extend draws an extension line down to a dimension.
func (s *canvas) extend(x, from, to float64) {
	if to > from {
		s.line(x, from, x, to+3, pen{w: thin, opacity: .6})
	}
}

// most are as many findings as stand at one line.
const most = 4

// group cuts a list of marks, which would not end.
func group(list []Mark) []Mark { return list[:min(len(list), most)] }

// dimensions draws the dimension lines below the shaft, the shorter nearer.
func (s *sheet) dimensions() {
	p := s.p
	below := s.axis + s.flange + 3
	y := s.bottom + lane
	s.travelLine(y, below)
	y += lane
	if known(p.loaded) {
		from, to := p.loadedFrom()
		from, to = s.x(from), s.x(to)
		s.extend(from, s.bottom, y)
		s.extend(to, s.bottom, y)
		s.dim(y, dimension{from: from, to: to, words: "loaded length " + p.mm(p.loaded), marks: group(p.at("loaded"))})
		y += lane
	}
	span := dimension{from: s.x(p.planes[0]), to: s.x(p.planes[1]), words: "span " + p.mm(p.span), marks: p.at("span")}
	if p.lacks["span"] {
		span.words, span.lacking = "span "+lacking, true
	}
	if !known(p.loaded) {
		span.marks = append(span.marks, p.at("loaded")...)
	}
	span.marks = group(span.marks)
	for _, at := range []float64{span.from, span.to} {
		s.extend(at, s.bottom, y)
	}
	s.dim(y, span)
	y += lane
	overall := dimension{from: s.x(0), to: s.x(p.length), words: "overall " + p.mm(p.length), marks: p.at("overall")}
	if s.small || p.lacks["ends"] {
		overall.marks = append(overall.marks, p.at("thread")...)
	} else {
		s.endLine(y)
		y += lane
	}
	overall.marks = group(overall.marks)
	if p.lacks["length"] {
		overall.words, overall.lacking = "overall length "+lacking, true
	}
	s.extend(overall.from, s.bottom, y)
	s.extend(overall.to, s.bottom, y)
	s.dim(y, overall)
	s.bottom = y + 6
}

// travelLine is the stroke with its overtravel.
func (s *sheet) travelLine(y, below float64) {
	p := s.p
	d := dimension{from: s.x(p.start), to: s.x(p.start + p.stroke), words: "stroke " + p.mm(p.stroke), marks: group(p.at("stroke"))}
	if p.lacks["stroke"] {
		d.words, d.lacking = "stroke "+lacking, true
	}
	s.extend(d.from, below, y)
	s.extend(d.to, below, y)
	over := p.overtravel * s.scale
	switch words := p.mm(p.overtravel); {
	case p.lacks["overtravel"]:
	case advance(words, 11, false)+6 <= over && d.whole() <= d.to-d.from:
		for _, o := range []dimension{{from: d.from - over, to: d.from, words: words}, {from: d.to, to: d.to + over, words: words}} {
			s.extend(o.from, below, y)
			s.extend(o.to, below, y)
			s.dim(y, o)
		}
	default:
		d.words += ", overtravel " + words + " each end"
		if d.whole() > d.to-d.from {
			d.words = "stroke " + p.mm(p.stroke) + " + 2 × " + words
		}
		if over > 1.5 {
			for _, o := range []dimension{{from: d.from - over, to: d.from, quiet: true}, {from: d.to, to: d.to + over, quiet: true}} {
				s.extend(o.from, below, y)
				s.extend(o.to, below, y)
				s.dim(y, o)
			}
			s.outside(y, d, over)
			return
		}
	}
	s.dim(y, d)
}

// outside draws a stroke whose words may not fit, clear of its overtravel.
func (s *sheet) outside(y float64, d dimension, over float64) {
	if d.whole() <= d.to-d.from {
		s.dim(y, d)
		return
	}
	words, marks := d.words, d.marks
	d.quiet = true
	s.dim(y, d)
	s.dim(y, dimension{from: d.from - over, to: d.to + over, words: words, marks: marks})
}

// endLine is thread and ends, on one line.
func (s *sheet) endLine(y float64) {
	p := s.p
	a, b := s.x(p.ends[0]), s.x(p.length-p.ends[1])
	for _, x := range []float64{a, b} {
		s.extend(x, s.bottom, y)
	}
	thread := dimension{from: a, to: b, words: "thread (" + p.mm(p.threadLength()) + ")", marks: group(p.at("thread"))}
	left := dimension{from: s.x(0), to: a, words: p.mm(p.ends[0])}
	right := dimension{from: b, to: s.x(p.length), words: p.mm(p.ends[1])}
	s.extend(left.from, s.bottom, y)
	s.extend(right.to, s.bottom, y)
	if thread.whole() > b-a {
		thread.words = left.words + " + thread (" + p.mm(p.threadLength()) + ") + " + right.words
		left.quiet, right.quiet, thread.quiet = true, true, true
		s.dim(y, left)
		s.dim(y, right)
		s.dim(y, dimension{from: left.from, to: right.to, words: thread.words, marks: thread.marks})
		return
	}
	for _, e := range []struct {
		d   *dimension
		out float64
	}{{&left, -1}, {&right, 1}} {
		w := advance(e.d.words, 11, false)
		if w+6 <= e.d.to-e.d.from {
			s.dim(y, *e.d)
			continue
		}
		words := e.d.words
		e.d.quiet = true
		s.dim(y, *e.d)
		x := e.d.from - 5 - w
		if e.out > 0 {
			x = e.d.to + 5
		}
		s.text(math.Max(1, math.Min(x, s.width-w-1)), y-3.5, words, hand{})
	}
	s.dim(y, thread)
}

// partMarks puts the numbers of findings at the parts they are about, where nothing else
// stands.
func (s *sheet) partMarks() {
	p := s.p
	for _, m := range p.marks {
		at := place(m)
		switch at {
		case "", "stroke", "span", "loaded", "overall", "thread":
			continue
		case "support":
			at = "support 0"
			if p.kinds[0] == "free" || p.kinds[1] == "fixed" && p.kinds[0] != "fixed" {
				at = "support 1"
			}
		}
		to, ok := s.anchor[at]
		if !ok {
			to = [2]float64{s.x(p.start + p.nut/2 + (p.stroke-p.nut)/2), s.axis + s.half}
		}
		s.near(to, m)
	}
}

// near puts a mark as near to a point as nothing else stands.
func (s *sheet) near(to [2]float64, m Mark) {
	const r = markSide/2.0 + 1
	best, at := math.Inf(1), to
	for _, dy := range []float64{-11, 11, -28, 28, -45, 45, -62, 62} {
		for dx := -150.0; dx <= 150; dx += 6 {
			x, y := to[0]+dx, to[1]+dy
			if y > s.bottom-6 || !s.free(box{x - r, y - r, x + r, y + r, ""}) {
				continue
			}
			if far := math.Hypot(dx, dy); far < best {
				best, at = far, [2]float64{x, y}
			}
		}
	}
	if !math.IsInf(best, 1) {
		s.mark(at[0], at[1], m)
	}
}

// foot holds how the axis stands, the scale and the list of parts.
func (s *sheet) foot() {
	p := s.p
	y := s.bottom + 12
	ground := s.stand(y)
	bar := s.scaleBar(s.of(104, 170), y)
	bottom := math.Max(ground, bar)
	if s.small {
		bottom = s.partList(6, bottom+14, s.width-8, p.parts, 'A')
	} else {
		half := (len(p.parts) + 1) / 2
		next := 'A'
		for _, x := range p.parts[:half] {
			if x.what != "" {
				next++
			}
		}
		const first, second = 214, 492
		bottom = math.Max(bottom, s.partList(first, y+8, second-first-12, p.parts[:half], 'A'))
		bottom = math.Max(bottom, s.partList(second, y+8, s.width-second-2, p.parts[half:], next))
	}
	s.bottom = s.taken(bottom + 4)
}

// partList writes parts with their letters, one a line.
func (s *sheet) partList(x, y, room float64, parts []part, letter rune) float64 {
	for _, p := range parts {
		mark := "–"
		if p.what != "" {
			mark = string(letter)
			letter++
		}
		s.text(x, y, mark, hand{size: 10.5, bold: true})
		for _, l := range wrap(p.text, 10.5, room-15) {
			s.text(x+15, y, fit(l, 10.5, room-15, false), hand{size: 10.5, italic: p.lacking})
			y += 14
		}
	}
	return y - 10
}

// stand is the small figure of how the axis stands.
func (s *sheet) stand(y float64) float64 {
	p := s.p
	if !p.stands {
		s.text(6, y+8, "orientation", hand{size: 10.5, italic: true})
		s.text(6, y+22, lacking, hand{size: 10.5, italic: true})
		return y + 26
	}
	const long = 34
	ground := y + 10
	if p.incline > 0 {
		ground = y + 38
	}
	th := p.incline * math.Pi / 180
	x := 14.0
	if p.incline > 60 {
		x = 26
	}
	x0, y0 := x, ground-5
	x1, y1 := x+long*math.Cos(th), ground-5-long*math.Sin(th)
	s.line(6, ground, 56, ground, pen{w: 1})
	for k := range 8 {
		s.line(9+float64(k)*6, ground+.5, 6+float64(k)*6, ground+4, pen{w: thin})
	}
	s.line(x0, y0, x1, y1, pen{w: 2.2})
	if p.right {
		x0, y0 = x1, y1
	}
	s.dot(x0, y0, 3.6)
	words := "horizontal"
	switch {
	case p.incline == 90:
		words = "vertical"
	case p.incline > 0:
		words = "incline " + trim(p.incline, 1) + "°"
	}
	s.text(6, ground+17, words, hand{size: 10.5})
	s.text(6, ground+30, "● driven end", hand{size: 10.5})
	return ground + 34
}

func (s *sheet) scaleBar(x, y float64) float64 {
	p := s.p
	if p.sizeless {
		s.text(x, y+8, "not to scale", hand{size: 10.5, italic: true})
		return y + 12
	}
	step := s.step()
	long := step * s.scale
	for _, at := range []float64{x, x + long} {
		s.line(at, y, at, y+6, pen{w: wide})
	}
	s.line(x, y+3, x+long, y+3, pen{w: wide})
	lines := []string{p.mm(step) + " " + p.unit(), "lengths in " + p.unit()}
	if s.times != 1 {
		lines = append(lines, "diameters × "+trim(s.times, 1))
	}
	for i, l := range lines {
		s.text(x, y+18+float64(i)*13, l, hand{size: 10.5})
	}
	return y + 18 + float64(len(lines))*13 - 8
}

// step is the length of the scale bar: a round one at least 36 units long.
func (s *sheet) step() float64 {
	unit := 1e-3
	if s.p.unit() == "in" {
		unit = 0.0254
	}
	for decade := unit / 100; decade < 1e20; decade *= 10 {
		for _, k := range []float64{1, 2, 5} {
			if k*decade*s.scale >= 36 {
				return k * decade
			}
		}
	}
	return unit
}

// taken says what the drawing assumes where nothing is declared.
func (s *sheet) taken(y float64) float64 {
	for _, l := range wrap("Taken for the drawing: "+s.p.takenWords()+".", 10.5, s.width-8) {
		y += 13
		s.text(6, y, l, hand{size: 10.5, italic: true})
	}
	return y + 3
}

func (p *Picture) takenWords() string {
	list := []string{"the nut stands at the start of its travel"}
	if !p.nutPlaced {
		list[0] += ", the stroke in the middle of the thread"
	}
	switch {
	case p.lacks["span"]:
		list = append(list, "supports at the ends of the thread")
	case !p.heldPlaced:
		list = append(list, "supports even about the thread")
	}
	if !p.driven && !p.nutTurns {
		list = append(list, "driven end at the start of travel")
	}
	var guessed []string
	for _, x := range []string{"length", "diameter", "ends", "nut", "stroke"} {
		if p.lacks[x] {
			guessed = append(guessed, map[string]string{"length": "overall length", "diameter": "diameter", "ends": "ends", "nut": "nut length", "stroke": "stroke"}[x])
		}
	}
	if len(guessed) > 0 {
		list = append(list, strings.Join(guessed, ", ")+" at a usual proportion")
	}
	return strings.Join(list, "; ")
}

// wrap breaks a text into lines.
func wrap(text string, size, width float64) (out []string) {
	line := ""
	for _, w := range strings.Fields(text) {
		next := strings.TrimSpace(line + " " + w)
		if line != "" && advance(next, size, false) > width {
			out = append(out, line)
			next = w
		}
		line = next
	}
	return append(out, line)
}

// Words say what the drawing shows, for those who do not see it.
func (p *Picture) Words() string {
	var b strings.Builder
	switch {
	case !p.stands:
		b.WriteString("Axis, orientation not declared.")
	case p.incline == 0:
		b.WriteString("Horizontal axis.")
	case p.incline == 90:
		b.WriteString("Vertical axis.")
	default:
		fmt.Fprintf(&b, "Axis inclined %s°.", trim(p.incline, 1))
	}
	if p.lacks["length"] {
		b.WriteString(" Overall length not declared.")
	} else {
		fmt.Fprintf(&b, " Shaft %s %s overall.", p.mm(p.length), p.unit())
	}
	for i, k := range p.kinds {
		if k == "" {
			k = lacking
		}
		side := [2]string{"Left", "Right"}[i]
		if (i == 1) == p.right && p.driven {
			side += ", driven"
		}
		fmt.Fprintf(&b, " %s end: %s.", side, k)
	}
	for _, x := range []struct {
		key, words string
		v          float64
	}{{"span", "Span", p.span}, {"stroke", "Stroke", p.stroke}, {"overtravel", "Overtravel", p.overtravel}, {"", "Loaded length", p.loaded}} {
		switch {
		case x.key != "" && p.lacks[x.key]:
			fmt.Fprintf(&b, " %s not declared.", x.words)
		case known(x.v):
			fmt.Fprintf(&b, " %s %s %s.", x.words, p.mm(x.v), p.unit())
		}
	}
	for _, x := range p.parts {
		fmt.Fprintf(&b, " %s.", strings.ToUpper(x.text[:1])+x.text[1:])
	}
	for _, m := range p.marks {
		at := place(m)
		if at == "" {
			at = "no part of the drawing"
		}
		fmt.Fprintf(&b, " Finding %d, %s, %s: at %s.", m.Number, m.Level, m.Rule, at)
	}
	return b.String()
}

// Number numbers findings in the order in which they are shown, the gravest first.
func Number(findings []judge.Finding) []Mark {
	var out []Mark
	for i, f := range findings {
		out = append(out, Mark{i + 1, f.Severity.String(), f.Rule, f.Cause})
	}
	return out
}
