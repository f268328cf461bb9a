package drawing

import (
	"fmt"
	"io"
	"math"
	"strings"

	"trammel/spec/unit"
)

// DXF writes the shaft with both ends for CAD systems, one to one in millimetres. What is
// not declared lies dashed on a layer of its own. It is an error where the outline does not
// follow from what is declared, or the steps contradict it.
func (e *Ends) DXF(w io.Writer) error {
	d := &endsDXF{dxf: newDXF(), e: e}
	if len(e.missing) > 0 {
		return fmt.Errorf("shaft of %s cannot be drawn: declare %s", e.name, strings.Join(e.missing, ", "))
	}
	if e.between < same {
		return fmt.Errorf("shaft of %s cannot be drawn: its ends leave no thread; check screw.length and end_lengths", e.name)
	}
	for i := range e.ends {
		list, err := e.ends[i].pieces()
		if err != nil {
			return fmt.Errorf("shaft of %s cannot be drawn: %s: %w", e.name, e.ends[i].words, err)
		}
		d.pieces[i] = list
	}
	d.draw()
	return d.write(w)
}

// An endsDXF is the drawing in the making.
type endsDXF struct {
	*dxf
	e      *Ends
	pieces [2][]piece
}

// x is the place of something so far outward from the thread, in millimetres from the
// left end of the shaft.
func (d *endsDXF) x(side int, u float64) float64 {
	if side == 0 {
		return 1000 * (d.e.ends[0].length - u)
	}
	return 1000 * (d.e.length - d.e.ends[1].length + u)
}

// both draws a line above the axis and its mirror image.
func (d *endsDXF) both(layer string, x0, y0, x1, y1 float64) {
	d.line(layer, x0, y0, x1, y1)
	d.line(layer, x0, -y0, x1, -y1)
}

// layerOf is where something goes that is declared or not.
func layerOf(open bool) string {
	if open {
		return onOpen
	}
	return onOutline
}

func (d *endsDXF) draw() {
	e := d.e
	a, b := d.x(0, 0), d.x(1, 0)
	d.both(onOutline, a, 500*e.thread, b, 500*e.thread)
	if !e.lacksRoot {
		d.both(onThread, a, 500*e.root, b, 500*e.root)
	}
	d.line(onCentre, -5, 0, 1000*e.length+5, 0)
	most := e.thread
	for side := range e.ends {
		d.outline(side)
		for _, p := range d.pieces[side] {
			most = max(most, p.d)
		}
	}
	y := -500*most - 10
	for side := range e.ends {
		d.chain(side, y)
		d.dim(d.x(side, 0), d.x(side, e.ends[side].length), y-10, e.mm(e.ends[side].length), onDimensions)
		d.labels(side, 500*most+8)
	}
	d.dim(a, b, y-10, "("+e.mm(e.between)+")", onDimensions)
	d.dim(0, 1000*e.length, y-20, e.mm(e.length), onDimensions)
	d.notes(y - 32)
}

// outline draws the pieces of an end, and the faces between them.
func (d *endsDXF) outline(side int) {
	last := piece{d: d.e.thread}
	for _, p := range d.pieces[side] {
		d.face(side, p.from, last, p)
		unsure := p.unsure() || last.loose
		d.both(layerOf(unsure), d.x(side, p.from), 500*p.d, d.x(side, p.to), 500*p.d)
		if s := p.step; s.core > 0 && !unsure && !p.groove {
			d.both(onThread, d.x(side, p.from), 500*s.core, d.x(side, p.to), 500*s.core)
		}
		last = p
	}
	for i := range d.e.ends[side].steps {
		if s := &d.e.ends[side].steps[i]; s.what == "stub" {
			from, to := d.reach(side, s)
			d.keyway(side, from, to)
		}
	}
	d.face(side, d.e.ends[side].length, last, piece{})
}

// face draws what is seen of a face: the step between two diameters, and the edge behind it.
func (d *endsDXF) face(side int, u float64, a, b piece) {
	layer, x := layerOf(a.open || b.open || a.loose || a.rest || b.rest), d.x(side, u)
	small, large := 500*min(a.d, b.d), 500*max(a.d, b.d)
	if small > 0 && large-small > 1000*same {
		d.both(layer, x, small, x, large)
		large = small
	}
	d.line(layer, x, -large, x, large)
}

// keyway draws one as seen from above. Where it lies along the stub is never declared.
func (d *endsDXF) keyway(side int, from, to float64) {
	k := d.e.ends[side].keyway
	if k == nil || k.dashed || k.length < k.width || k.length > to-from {
		return
	}
	mid, r, half := d.x(side, (from+to)/2), 500*k.width, 500*(k.length-k.width)
	d.both(onOpen, mid-half, r, mid+half, r)
	d.arc(onOpen, mid-half, 0, r, 90, 270)
	d.arc(onOpen, mid+half, 0, r, 270, 90)
}

// dim draws a dimension between two places.
func (d *endsDXF) dim(x0, x1, y float64, words, layer string) {
	x0, x1 = min(x0, x1), max(x0, x1)
	d.line(layer, x0, y, x1, y)
	for i, x := range [2]float64{x0, x1} {
		d.line(layer, x, y-1.5, x, y+4)
		in := 3 * float64(1-2*i)
		if x1-x0 < 10 {
			d.line(layer, x-1, y-1, x+1, y+1)
			continue
		}
		d.line(layer, x, y, x+in, y+.5)
		d.line(layer, x, y, x+in, y-.5)
	}
	d.text(layer, (x0+x1)/2, y+1, 1, words)
}

// chain draws the lengths of the steps. One without room for its number has it in the
// words above.
func (d *endsDXF) chain(side int, y float64) {
	for i := range d.e.ends[side].steps {
		s := &d.e.ends[side].steps[i]
		from, to := d.reach(side, s)
		switch {
		case from > to: // not there
		case s.noLength:
			d.dim(d.x(side, from), d.x(side, to), y, s.letter, onOpen)
		case s.what == "" && len(d.e.ends[side].steps) > 1:
			d.dim(d.x(side, from), d.x(side, to), y, "", onOpen)
		case d.fits(s, to-from):
			d.dim(d.x(side, from), d.x(side, to), y, d.lengthText(s), onDimensions)
		default:
			d.dim(d.x(side, from), d.x(side, to), y, "", onDimensions)
		}
	}
}

// reach is from where to where a step goes, a groove in it included; of one that was left
// out, from behind its end.
func (d *endsDXF) reach(side int, s *endStep) (from, to float64) {
	from = math.Inf(1)
	for _, p := range d.pieces[side] {
		if p.step == s {
			from, to = min(from, p.from), max(to, p.to)
		}
	}
	return from, to
}

func (d *endsDXF) fits(s *endStep, long float64) bool {
	return dxfWidth(d.lengthText(s))+4 <= 1000*long
}

// lengthText is in brackets where it follows from the others.
func (d *endsDXF) lengthText(s *endStep) string {
	if s.what == "" {
		return "(" + d.e.mm(s.length) + ")"
	}
	return d.e.mm(s.length)
}

// labels writes what each step is, outward from a line down to it, the outermost lowest: so
// no line crosses words.
func (d *endsDXF) labels(side int, y float64) {
	out := [2]float64{-1, 1}[side]
	e := &d.e.ends[side]
	for i := len(e.steps) - 1; i >= 0; i-- {
		s := &e.steps[i]
		from, to := d.reach(side, s)
		if from > to {
			continue
		}
		x := d.x(side, (from+to)/2)
		d.line(onDimensions, x, 500*s.diameter, x, y)
		d.line(onDimensions, x, y, x+2*out, y)
		d.text(onWords, x+3*out, y-dxfTall/2, 2-2*side, d.label(e, s, side, to-from))
		y += 2 * dxfTall
	}
	if e.groove != nil {
		x := d.x(side, e.length)
		d.text(onWords, x+3*out, y-dxfTall/2, 2-2*side, d.lettered(e.groove.words, e.groove.letter))
	}
}

func (d *endsDXF) lettered(words, letter string) string {
	if letter != "" {
		words += " [" + letter + "]"
	}
	return words
}

// label says what a step is, as far as it is declared.
func (d *endsDXF) label(e *end, s *endStep, side int, long float64) string {
	list := nonEmpty([]string{s.what})
	switch {
	case s.what == "":
		list = append(list, plain+" ⌀"+d.e.mm(s.diameter))
		if len(e.steps) > 1 {
			list = append(list, "(position not declared)")
		}
	case s.size != "":
		list = append(list, s.size)
	default:
		list = append(list, lacking)
	}
	text := strings.Join(list, " ")
	if !s.noLength && !d.fits(s, long) {
		text += " × " + d.lengthText(s)
	}
	if s.more != "" {
		text += ", " + s.more
	}
	if s.what == "bearing seat" {
		text += ", datum " + [2]string{"A", "B"}[side]
	}
	if s.runOut != "" && s.runOut != "?" {
		text += ", run-out " + s.runOut + " to A–B"
	}
	if s.what == "shoulder" && e.face != "" {
		text += ", axial run-out of its face " + e.face
	}
	return d.lettered(text, s.letter)
}

// notes says what the drawing is, and what is open.
func (d *endsDXF) notes(y float64) {
	e := d.e
	list := []string{
		"Shaft of axis " + e.name + ". Scale 1:1, one drawing unit is 1 mm; dimensions in " + map[unit.System]string{unit.Metric: "millimetres", unit.Inch: "inches"}[e.sys] + ".",
		"Driven end " + map[bool]string{false: "left", true: "right"}[e.right] + ". Thread " + e.threadWords + ".",
		"Radii, undercuts, chamfers, centre holes and length tolerances are not drawn.",
	}
	if e.holes != "" {
		list = append(list, e.holes)
	}
	if len(e.open) > 0 {
		list = append(list, "Layer "+onOpen+", dashed, and letters: not declared, to be agreed. Do not scale from them.")
	}
	for _, o := range e.open {
		list = append(list, o.letter+": "+o.words)
	}
	for _, text := range list {
		for _, l := range wrap(text, 1, 60) {
			d.text(onWords, 0, y, 0, l)
			y -= 1.7 * dxfTall
		}
	}
}
