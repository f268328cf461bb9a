package drawing

import (
	"fmt"
	"html"
	"math"
	"strings"
)

// Heights of the drawing of ends.
const (
	labelRow  = 20   // of the words above the shaft
	threadEnd = 70.0 // how much of the thread is drawn at each end
	frameTall = 16   // of a tolerance frame
	keyWide   = 14   // of the letter of what is open
)

// An endSheet is the drawing of the ends in the making.
type endSheet struct {
	*canvas
	e     *Ends
	small bool
	scale float64 // units per metre
	times float64 // by how much diameters are larger than to scale
	axis  float64
	top   float64 // of what has been drawn
	below float64
}

// SVG draws the ends as one SVG element.
func (e *Ends) SVG(id string, small bool) string {
	s := e.sheet(id, small)
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %.0f" role="img" aria-labelledby="%s-t %s-d" fill="none" stroke="currentColor" stroke-linejoin="round" font-family="Liberation Sans, Arial, Helvetica, sans-serif"><title id="%s-t">Ends of the shaft of axis %s</title><desc id="%s-d">%s</desc>%s</svg>`,
		s.width, s.below+2, id, id, id, html.EscapeString(e.name), id, html.EscapeString(e.Words()), s.String())
}

func (e *Ends) sheet(id string, small bool) *endSheet {
	const high = 1000.0 // more than the words above the shaft take
	s := e.start(id, small)
	s.draw(high)
	tall := high - s.top
	s = e.start(id, small)
	s.draw(tall + 4)
	return s
}

func (e *Ends) start(id string, small bool) *endSheet {
	s := &endSheet{canvas: &canvas{width: wideFrame, id: id}, e: e, small: small}
	room := wideFrame/2 - threadEnd - 44.0
	if small {
		s.width, room = narrowFrame, narrowFrame-threadEnd-44.0
	}
	s.measure(room)
	return s
}

// measure finds the scale: both ends have the same, and true proportions where they can.
func (s *endSheet) measure(room float64) {
	thick := s.e.thread
	for i := range s.e.ends {
		for _, x := range s.e.ends[i].steps {
			thick = math.Max(thick, x.diameter)
		}
	}
	long := math.Max(s.e.ends[0].whole(), s.e.ends[1].whole())
	s.scale = math.Min(room/long, 68/thick)
	s.times = 12
	for _, k := range []float64{1, 1.5, 2, 3, 4, 6, 8, 12} {
		if s.e.thread*s.scale*k >= 26 {
			s.times = k
			break
		}
	}
}

// half is half of a diameter as it is drawn.
func (s *endSheet) half(d float64) float64 {
	return math.Min(math.Max(d*s.scale*s.times/2, 2), 44)
}

// draw draws both ends beside each other, or below each other in the narrow form.
func (s *endSheet) draw(axis float64) {
	s.axis, s.top = axis, axis
	s.below = axis
	if s.small {
		s.drawNarrow()
	} else {
		s.drawWide()
	}
	s.notes()
}

func (s *endSheet) drawWide() {
	mid := s.width / 2
	left, right := &endView{s, &s.e.ends[0], mid - 8 - threadEnd, -1, 0, nil}, &endView{s, &s.e.ends[1], mid + 8 + threadEnd, 1, 0, nil}
	left.outline()
	right.outline()
	s.threadLabel(mid)
	low := s.axis - s.tallest() - 36
	for _, v := range []*endView{left, right} {
		v.labels(low)
		v.datum([2]string{"A", "B"}[(v.out+1)/2])
	}
	y := s.axis + s.tallest() + 46
	left.chain(y)
	right.chain(y)
	y += lane
	left.overall(y)
	right.overall(y)
	e := s.e
	thread := dimension{from: left.x, to: right.x, words: "thread (" + e.mm(e.between) + ")"}
	if !known(e.between) {
		thread.words, thread.lacking = "thread length "+lacking, true
	}
	s.dim(y, thread)
	y += lane
	whole := dimension{from: left.at(left.end.whole()), to: right.at(right.end.whole()), words: e.mm(e.length)}
	if !known(e.length) {
		whole.words, whole.lacking = "overall length "+lacking, true
	}
	s.extend(whole.from, s.axis+s.tallest()+4, y)
	s.extend(whole.to, s.axis+s.tallest()+4, y)
	s.dim(y, whole)
	s.below = y + 8
}

// drawNarrow draws the left end above the right one.
func (s *endSheet) drawNarrow() {
	s.drawEnd(0)
	s.axis = s.below + 14 + s.rise(1)
	s.drawEnd(1)
}

// drawEnd draws one end with its labels and lengths.
func (s *endSheet) drawEnd(i int) {
	v := &endView{s, &s.e.ends[i], s.width - 14 - threadEnd, -1, 0, nil}
	if i > 0 {
		v.x, v.out = 14+threadEnd, 1
	}
	v.outline()
	v.labels(s.axis - s.tallest() - 12)
	v.datum([2]string{"A", "B"}[i])
	y := s.axis + s.tallest() + 46
	v.chain(y)
	v.overall(y + lane)
	s.below = y + lane + 8
}

// rise is how much room an end and its labels take above the axis.
func (s *endSheet) rise(i int) float64 {
	const high = 1000.0
	trial := s.e.start(s.id, s.small)
	trial.axis, trial.top = high, high
	trial.drawEnd(i)
	return math.Max(high-trial.top, s.tallest())
}

// tallest is half of the thickest thing drawn.
func (s *endSheet) tallest() float64 {
	most := s.half(s.e.thread)
	for i := range s.e.ends {
		for _, x := range s.e.ends[i].steps {
			most = math.Max(most, s.half(x.diameter))
		}
	}
	return most
}

// threadLabel says what the thread is, above it.
func (s *endSheet) threadLabel(mid float64) {
	lines := wrap("thread "+s.e.threadWords, 11, 2*threadEnd+10)
	y := s.axis - s.tallest() - 8 - 13*float64(len(lines)-1)
	for _, l := range lines {
		s.text(mid, y, fit(l, 11, 2*threadEnd+40, false), hand{anchor: "middle"})
		y += 13
	}
}

// An endView is one end as it is drawn: x is where its thread ends, out is -1 for an end
// that points left.
type endView struct {
	*endSheet
	end  *end
	x    float64
	out  int
	rise float64 // lowest base line that is left for words
	taps []float64
}

// at is the place of something so far out from the thread.
func (v *endView) at(u float64) float64 { return v.x + float64(v.out)*u*v.scale }

// outline draws the end, and the thread up to its break.
func (v *endView) outline() {
	r := v.half(v.e.thread)
	inner := v.x - float64(v.out)*threadEnd
	for _, side := range []float64{-1, 1} {
		v.line(v.x, v.axis+side*r, inner, v.axis+side*r, pen{w: wide})
		v.line(v.x, v.axis+side*v.half(v.e.root), inner, v.axis+side*v.half(v.e.root), pen{w: thin, opacity: .75})
	}
	v.line(v.x, v.axis-r, v.x, v.axis+r, pen{w: wide})
	v.broken(inner)
	v.claim(v.x, v.axis-r, inner, v.axis+r)
	u := 0.0
	for _, s := range v.end.steps {
		v.step(&s, u)
		u += s.length
	}
	if v.end.groove != nil {
		v.drawGroove()
	}
	v.line(inner, v.axis, v.at(u)+float64(v.out)*10, v.axis, pen{w: thin, dash: centre, opacity: .8})
}

// broken is the line of a break.
func (v *endView) broken(x float64) {
	r := v.half(v.e.thread)
	v.path(fmt.Sprintf("M%.1f %.1fV%.1fL%.1f %.1fL%.1f %.1fL%.1f %.1fV%.1f", x, v.axis-r-6, v.axis-10, x-5, v.axis-5, x+5, v.axis+5, x, v.axis+10, v.axis+r+6), pen{w: .7})
}

// step draws a step from so far out.
func (v *endView) step(s *endStep, from float64) {
	r, a, b := v.half(s.diameter), v.at(from), v.at(from+s.length)
	outline := pen{w: wide}
	if s.noDiameter || s.what != "" && s.size == "" {
		outline = pen{dash: dashed}
	}
	v.rect(math.Min(a, b), v.axis-r, math.Abs(b-a), 2*r, outline)
	v.claim(a, v.axis-r, b, v.axis+r)
	if s.what == "thread for the lock nut" {
		for _, side := range []float64{-1, 1} {
			v.line(a, v.axis+side*(r-math.Min(2.2, r*.2)), b, v.axis+side*(r-math.Min(2.2, r*.2)), pen{w: thin, dash: outline.dash, opacity: .75})
		}
	}
	if s.what != "stub" || v.end.keyway == nil {
		return
	}
	k := v.end.keyway
	wide, long := r/2, math.Abs(b-a)*.7
	if !k.dashed {
		wide, long = math.Min(k.width*v.scale*v.times, 2*r), math.Min(k.length*v.scale, math.Abs(b-a))
	}
	p := pen{}
	if k.dashed {
		p.dash = "4 2.5"
	}
	v.put(`<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" rx="%.1f"%s/>`, (a+b)/2-long/2, v.axis-wide/2, long, wide, wide/2, p.attributes())
}

// drawGroove draws the ring groove near the end, or where it is declared.
func (v *endView) drawGroove() {
	g, far := v.end.groove, v.end.whole()
	at, width := g.at, g.width
	if !known(at) {
		at = far * .2
	}
	if !known(width) {
		width = far * .05
	}
	a, b := v.at(math.Max(far-at-width, 0)), v.at(far-at)
	if math.Abs(b-a) < 3 {
		b = a + float64(v.out)*3
	}
	r := v.half(v.thickAt(far - at - width/2))
	deep := math.Min(math.Max(v.half(g.depth), 1), r-2)
	p := pen{}
	if g.dashed {
		p.dash = "4 2.5"
	}
	for _, side := range []float64{-1, 1} {
		v.path(fmt.Sprintf("M%.1f %.1fV%.1fH%.1fV%.1f", a, v.axis+side*r, v.axis+side*deep, b, v.axis+side*r), p)
	}
}

// thickAt is the diameter so far out from the thread.
func (v *endView) thickAt(u float64) float64 {
	from, d := 0.0, v.end.largest
	for _, s := range v.end.steps {
		d = s.diameter
		if from += s.length; u <= from {
			break
		}
	}
	return d
}

// A label is what stands above the shaft: words, a tolerance frame and a letter, with a
// line down to what they are about.
type label struct {
	at, top float64 // of the line's lower end
	words   string
	frame   string // the value of a run-out; "" for none, "?" where it is open
	face    bool   // the frame is for a face: the line ends with an arrow from the side
	letter  string
}

// labels stands the words of an end in rows, those of the innermost step lowest: so no
// line crosses words.
func (v *endView) labels(low float64) {
	v.rise = low
	u := 0.0
	for i, s := range v.end.steps {
		if i == 0 && s.what == "bearing seat" { // the end of the thread is the shoulder
			v.faceLabel(u, &s)
		}
		mid := u + s.length/2
		words := s.size
		if words == "" && s.what != "" {
			words = "⌀"
			if s.what == "thread for the lock nut" {
				words = "M"
			}
		}
		if s.what == "" {
			words = "⌀" + v.e.mm(s.diameter)
		}
		if !s.noLength && !v.fits(&s) {
			words += " × " + v.lengthText(&s)
		}
		if s.more != "" {
			words += ", " + s.more
		}
		v.label(label{v.at(mid), v.axis - v.half(s.diameter), words, s.runOut, false, s.letter})
		if s.what == "shoulder" {
			v.faceLabel(u, &s)
		}
		u += s.length
	}
	if g := v.end.groove; g != nil {
		at := g.at
		if !known(at) {
			at = v.end.whole() * .2
		}
		place := math.Max(v.end.whole()-at, 0)
		v.label(label{v.at(place), v.axis - v.half(v.thickAt(place)) + 3, g.words, "", false, g.letter})
	}
}

// faceLabel is the axial run-out of the shoulder's face, where one is declared or open.
func (v *endView) faceLabel(u float64, s *endStep) {
	if v.end.face == "" && v.end.faceKey == "" {
		return
	}
	frame, letter := v.end.face, ""
	if frame == "" {
		frame, letter = "?", v.end.faceKey
	}
	at, r := v.at(u), v.half(v.e.thread)
	if s.what == "shoulder" {
		at, r = v.at(u+s.length), v.half(s.diameter)
	}
	v.label(label{at, v.axis - r + 5, "", frame, true, letter})
}

// label writes one row, the line to its left for an end that points left.
func (v *endView) label(l label) {
	w := v.labelWide(l)
	out := float64(v.out)
	for _, taken := range v.taps { // lines that are near each other are kept apart
		if math.Abs(taken-l.at) < 5 {
			l.at = taken + out*5
		}
	}
	v.taps = append(v.taps, l.at)
	x := l.at + 5
	if v.out > 0 {
		x = l.at - 5 - w
	}
	beside := x
	x = math.Max(2, math.Min(x, v.width-w-2))
	y := v.rise
	for !v.free(box{x, y - frameTall/2 - 6, x + w, y + 5, ""}) && y > v.axis-600 {
		y -= 5
	}
	v.rise = y - labelRow
	v.top = math.Min(v.top, y-18)
	v.claim(l.at-1, y-10, l.at+1, v.axis)
	switch {
	case x != beside: // no room beside the line: the words stand on it
		v.line(l.at, y+5, l.at, l.top, pen{})
		v.arrow(l.at, l.top, 0, 1, 7, 3)
	case l.face:
		from := x
		if v.out > 0 {
			from += w
		}
		v.path(fmt.Sprintf("M%.1f %.1fH%.1fV%.1fH%.1f", from, y-4, l.at+out*9, l.top, l.at+out*1), pen{})
		v.arrow(l.at+out*.8, l.top, -out, 0, 7, 3)
	default:
		v.path(fmt.Sprintf("M%.1f %.1fH%.1fV%.1f", l.at-out*5, y-4, l.at, l.top), pen{})
		v.arrow(l.at, l.top, 0, 1, 7, 3)
	}
	if l.words != "" {
		v.text(x, y, l.words, hand{})
		x += advance(l.words, 11, false) + 6
	}
	if l.frame != "" {
		x = v.frame(x, y, l) + 4
	}
	if l.letter != "" && l.frame != "?" {
		v.key(x+keyWide/2, y-4, l.letter)
	}
}

func (v *endView) labelWide(l label) float64 {
	w := 0.0
	if l.words != "" {
		w += advance(l.words, 11, false) + 6
	}
	if l.frame != "" {
		w += v.frameWide(l) + 4
	}
	if l.letter != "" && l.frame != "?" {
		w += keyWide
	}
	return w
}

// datums are what run-outs are referred to: the common axis of both seats, or of the one.
func (v *endView) datums() string {
	both := ""
	for i := range v.e.ends {
		if v.e.ends[i].seat() {
			both = strings.TrimPrefix(both+"–"+[2]string{"A", "B"}[i], "–")
		}
	}
	return both
}

func (e *end) seat() bool {
	for _, s := range e.steps {
		if s.what == "bearing seat" {
			return true
		}
	}
	return false
}

func (v *endView) frameWide(l label) float64 {
	value := float64(keyWide)
	if l.frame != "?" {
		value = advance(l.frame, 11, false)
	}
	return 18 + value + 8 + advance(v.datums(), 11, false) + 8
}

// frame draws the tolerance frame of a run-out (ISO 1101, from memory).
func (v *endView) frame(x, y float64, l label) float64 {
	value := v.frameWide(l) - 18 - advance(v.datums(), 11, false) - 8
	top := y - 12.0
	v.rect(x, top, 18, frameTall, pen{w: 1})
	v.line(x+4, top+12.5, x+12, top+4.5, pen{w: 1})
	v.arrow(x+14, top+2.5, 1, -1, 6, 4)
	v.rect(x+18, top, value, frameTall, pen{w: 1})
	if l.frame == "?" {
		v.key(x+18+value/2, top+frameTall/2, l.letter)
	} else {
		v.text(x+18+value/2, y, l.frame, hand{anchor: "middle"})
	}
	rest := advance(v.datums(), 11, false) + 8
	v.rect(x+18+value, top, rest, frameTall, pen{w: 1})
	v.text(x+18+value+rest/2, y, v.datums(), hand{anchor: "middle"})
	v.claim(x, top, x+18, top+frameTall)
	return x + 18 + value + rest
}

// key is the letter of what is open.
func (s *canvas) key(x, y float64, letter string) {
	s.put(`<rect x="%.1f" y="%.1f" width="%d" height="14" rx="3"%s/>`, x-keyWide/2.0, y-7, keyWide, pen{w: thin}.attributes())
	s.text(x, y+3.8, letter, hand{size: 10.5, anchor: "middle", bold: true})
}

// datum is the mark of a datum below the seat.
func (v *endView) datum(name string) {
	u := 0.0
	for _, s := range v.end.steps {
		if s.what == "bearing seat" {
			x, y := v.at(u+s.length/2), v.axis+v.half(s.diameter)
			v.put(`<path d="M%.1f %.1fH%.1fL%.1f %.1fZ" fill="currentColor" stroke="none"/>`, x-5, y+9, x+5, x, y+.5)
			v.line(x, y+9, x, y+15, pen{})
			v.rect(x-7.5, y+15, 15, 15, pen{w: 1})
			v.text(x, y+26.5, name, hand{anchor: "middle"})
			v.claim(x-7.5, y, x+7.5, y+30)
		}
		u += s.length
	}
}

// fits reports whether the length of a step stands in its dimension line.
func (v *endView) fits(s *endStep) bool {
	return advance(v.lengthText(s), 11, false)+20 <= s.length*v.scale
}

// lengthText is in brackets where it follows from the others.
func (v *endView) lengthText(s *endStep) string {
	if s.what == "" {
		return "(" + v.e.mm(s.length) + ")"
	}
	return v.e.mm(s.length)
}

// chain draws the lengths of the steps. One without room for its number has it in the
// words above.
func (v *endView) chain(y float64) {
	u := 0.0
	if len(v.end.steps) < 2 {
		return
	}
	for _, s := range v.end.steps {
		a, b := v.at(u), v.at(u+s.length)
		v.extend(a, v.axis+v.half(s.diameter)+3, y)
		v.extend(b, v.axis+v.half(s.diameter)+3, y)
		u += s.length
		switch d := (dimension{from: math.Min(a, b), to: math.Max(a, b), words: v.lengthText(&s)}); {
		case s.noLength:
			d.words, d.lacking, d.quiet = "", true, true
			v.dim(y, d)
			if math.Abs(b-a) > keyWide+18 && s.letter != "" {
				v.key((a+b)/2, y-11, s.letter)
			}
		default:
			d.quiet = !v.fits(&s)
			v.dim(y, d)
		}
	}
}

// overall draws the length of the end.
func (v *endView) overall(y float64) {
	a, b := v.x, v.at(v.end.whole())
	v.extend(a, v.axis+v.half(v.e.thread)+4, y)
	v.extend(b, v.axis+v.tallest()+4, y)
	d := dimension{from: math.Min(a, b), to: math.Max(a, b), words: v.e.mm(v.end.length)}
	if v.end.lacks {
		d.words, d.lacking = "length "+lacking, true
	}
	v.dim(y, d)
}

// notes are the words below: units, what is open, what is only taken.
func (s *endSheet) notes() {
	e := s.e
	y := s.below + 10
	line := func(text string, h hand) {
		h.size = 10.5
		for _, l := range wrap(text, 10.5, s.width-8) {
			s.text(4, y, fit(l, 10.5, s.width-8, h.bold), h)
			y += 14
		}
	}
	unit := (&Picture{sys: e.sys}).unit()
	text := "Lengths in " + unit + ", ends to scale, thread broken."
	if s.times != 1 {
		text = fmt.Sprintf("Lengths in %s, to scale at the ends, diameters × %s; thread broken.", unit, trim(s.times, 1))
	}
	side := map[bool]string{false: "left", true: "right"}[e.right]
	if s.small {
		side = map[bool]string{false: "above", true: "below"}[e.right]
		line("Thread "+e.threadWords+".", hand{})
	}
	line("Driven end "+side+". "+text+" "+e.holes, hand{})
	if len(e.open) > 0 {
		line("Dashed lines and letters: not declared, to be agreed. Usual for run-outs: those of ISO 3408-3 for the accuracy grade.", hand{italic: true})
		y = s.openList(y + 2)
	}
	s.below = y - 8
}

// openList lists what is open by its letter, in two columns where there is room.
func (s *endSheet) openList(top float64) float64 {
	columns := 2
	if s.small {
		columns = 1
	}
	rows, room, bottom := (len(s.e.open)+columns-1)/columns, s.width/float64(columns), top
	for c := range columns {
		y := top
		for _, o := range s.e.open[min(c*rows, len(s.e.open)):min((c+1)*rows, len(s.e.open))] {
			s.text(4+room*float64(c), y, o.letter, hand{size: 10.5, bold: true})
			for _, l := range wrap(o.words, 10.5, room-24) {
				s.text(18+room*float64(c), y, fit(l, 10.5, room-24, false), hand{size: 10.5})
				y += 14
			}
		}
		bottom = math.Max(bottom, y)
	}
	return bottom
}
