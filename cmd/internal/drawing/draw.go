package drawing

import (
	"fmt"
	"html"
	"math"
	"slices"
	"strings"
)

// Widths of both forms, in units of the drawing.
const (
	wideFrame   = 760
	narrowFrame = 360
)

// lane is how far dimension lines are apart.
const lane = 20

// A sheet is one drawing in the making. y runs downward.
type sheet struct {
	*canvas
	p      *Picture
	small  bool       // the narrow form
	scale  float64    // units per metre along the axis
	zero   float64    // where the left end of the shaft stands
	axis   float64    // y of the axis
	times  float64    // by how much diameters are larger than to scale
	half   float64    // half of the thread, as drawn
	core   float64    // half of its root
	seat   [2]float64 // halves of both ends
	nut    float64    // half of the nut
	flange float64    // half of its flange, or of the nut where none is drawn
	load   box
	bottom float64 // of what has been drawn
	anchor map[string][2]float64
}

// SVG draws the axis as one SVG element. id begins the IDs of its parts, which must
// differ within a page.
func (p *Picture) SVG(id string, small bool) string {
	s := p.sheet(id, small)
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %.0f" role="img" aria-labelledby="%s-t %s-d" fill="none" stroke="currentColor" stroke-linejoin="round" font-family="Liberation Sans, Arial, Helvetica, sans-serif"><title id="%s-t">Axis %s</title><desc id="%s-d">%s</desc>%s</svg>`,
		s.width, s.bottom+2, id, id, id, html.EscapeString(p.name), id, html.EscapeString(p.Words()), s.String())
}

func (p *Picture) sheet(id string, small bool) *sheet {
	s := &sheet{canvas: &canvas{width: wideFrame, id: id}, p: p, small: small, anchor: map[string][2]float64{}}
	if small {
		s.width = narrowFrame
	}
	s.measure()
	s.shaft()
	s.drawCover()
	s.supports()
	s.drawNut()
	s.drawLoad()
	s.forces()
	s.drive()
	s.letters()
	s.held()
	s.dimensions()
	s.partMarks()
	s.foot()
	return s
}

func (s *sheet) x(u float64) float64 { return s.zero + s.scale*u }

// driveRoom is how much room the drive needs beyond the shaft.
func (s *sheet) driveRoom() float64 {
	if s.p.nutTurns {
		return 0
	}
	return 24 + s.couplingLong() + s.motorSide() + float64(min(1, max(s.p.brakes, s.missingBrake())))*s.brakeLong()
}

func (s *sheet) of(usual, small float64) float64 {
	if s.small {
		return small
	}
	return usual
}

func (s *sheet) couplingLong() float64 { return s.of(20, 14) }
func (s *sheet) motorSide() float64    { return s.of(40, 26) }
func (s *sheet) brakeLong() float64    { return s.of(15, 11) }

// missingBrake is 1 where a finding says that a brake is wanted and none is there.
func (s *sheet) missingBrake() int {
	if s.p.brakes == 0 && slices.ContainsFunc(s.p.marks, func(m Mark) bool { return place(m) == "brake" }) {
		return 1
	}
	return 0
}

// measure finds scale and heights before anything is drawn.
func (s *sheet) measure() {
	p := s.p
	// Of a contradiction, such as ends longer than the shaft, either plane may be the outer one.
	low := min(0, p.planes[0], p.planes[1], p.ends[0], p.length-p.ends[1], p.start-p.nut/2)
	high := max(p.length, p.planes[0], p.planes[1], p.ends[0], p.length-p.ends[1], p.start+p.stroke+p.nut/2)
	if !p.lacks["overtravel"] {
		low, high = math.Min(low, p.start-p.overtravel), math.Max(high, p.start+p.stroke+p.overtravel)
	}
	if known(p.loaded) {
		from, to := p.loadedFrom()
		low, high = math.Min(low, from), math.Max(high, to)
	}
	rim := s.of(50, 22)
	left, right := s.driveRoom()+10, rim
	if p.nutTurns {
		left = rim
	} else if p.right {
		left, right = right, left
	}
	room := s.width - left - right
	s.scale = room / (high - low)
	if most := s.of(30, 24) / p.thread; s.scale > most {
		s.scale = most
		left += (room - s.scale*(high-low)) / 2
	}
	s.zero = left - s.scale*low
	least := s.of(14, 11)
	s.times = 12
	for _, k := range []float64{1, 1.5, 2, 3, 4, 6, 8, 12} {
		if p.thread*s.scale*k >= least {
			s.times = k
			break
		}
	}
	s.half = math.Min(math.Max(p.thread*s.scale*s.times/2, 3), 24)
	s.core = s.half * p.root / p.thread
	for i, d := range p.journals {
		s.seat[i] = math.Min(math.Max(s.half*d/p.thread, 2), s.half*1.6)
	}
	s.nut = s.half + 11
	s.flange = s.nut
	if p.flange != 0 {
		s.flange += 6
	}
	rows := 0.0
	if !s.small {
		rows = 13.5 * float64(len(p.rows))
	}
	stack := s.flange + 1 + 5 + 28
	if p.nutTurns {
		stack += 26
	}
	cover := s.half + 6
	s.axis = math.Max(math.Max(stack+20, rows+cover+36), math.Max(math.Max(s.seat[0], s.seat[1])+15+34, 62))
	// Balloons of the parts of the drive stand above the motor.
	s.axis = math.Max(s.axis, s.motorSide()/2+30)
}

// dashIf is a pen: wide for what is declared, dashed for what is not.
func (s *sheet) dashIf(lacks string) pen {
	if s.p.lacks[lacks] {
		return pen{w: narrow, dash: dashed}
	}
	return pen{w: wide}
}

// shaft draws the shaft but for what the nut covers.
func (s *sheet) shaft() {
	p := s.p
	n0, n1 := p.start-p.nut/2, p.start+p.nut/2
	end := [2][2]float64{{0, p.ends[0]}, {p.length - p.ends[1], p.length}}
	for i, e := range end {
		if e[1] > e[0] {
			s.rect(s.x(e[0]), s.axis-s.seat[i], s.scale*(e[1]-e[0]), 2*s.seat[i], s.dashIf("ends"))
		}
	}
	from, to := p.ends[0], p.length-p.ends[1]
	outline, root := s.dashIf("length"), pen{w: thin, opacity: .75}
	for _, r := range [2][2]float64{{from, math.Min(n0, to)}, {math.Max(n1, from), to}} {
		if r[1] <= r[0] {
			continue
		}
		for _, side := range []float64{-1, 1} {
			s.line(s.x(r[0]), s.axis+side*s.half, s.x(r[1]), s.axis+side*s.half, outline)
			s.line(s.x(r[0]), s.axis+side*s.core, s.x(r[1]), s.axis+side*s.core, root)
		}
	}
	for _, u := range []float64{from, to} {
		s.line(s.x(u), s.axis-s.half, s.x(u), s.axis+s.half, outline)
	}
	axis := pen{w: thin, dash: centre, opacity: .8}
	s.line(s.x(0)-6, s.axis, s.x(n0), s.axis, axis)
	s.line(s.x(n1), s.axis, s.x(p.length)+6, s.axis, axis)
	s.claim(s.x(0), s.axis-s.half, s.x(p.length), s.axis+s.half)
}

// drawCover draws the cover on both sides of the nut.
func (s *sheet) drawCover() {
	p := s.p
	left, right := math.Max(p.planes[0], p.ends[0]), math.Min(p.planes[1], p.length-p.ends[1])
	flange := [2]float64{}
	if p.flange != 0 {
		flange[(p.flange+1)/2] = 6
	}
	s.coverOver(s.x(left)+2, s.x(p.start-p.nut/2)-flange[0])
	s.coverOver(s.x(p.start+p.nut/2)+flange[1], s.x(right)-2)
}

func (s *sheet) coverOver(a, b float64) {
	if b-a < 8 {
		return
	}
	for _, side := range []float64{-1, 1} {
		near, far := s.axis+side*(s.half+3), s.axis+side*(s.half+8)
		switch s.p.cover {
		case "bellows":
			n := math.Round((b - a) / 7)
			step := (b - a) / n
			var d strings.Builder
			fmt.Fprintf(&d, "M%.1f %.1f", a, near)
			for range int(n) {
				fmt.Fprintf(&d, "l%.2f %.1fl%.2f %.1f", step/2, far-near, step/2, near-far)
			}
			s.path(d.String(), pen{w: thin, opacity: .7})
		case "telescopic":
			for i := range 4 {
				y := near + side*1.5*float64(i)
				s.line(a+(b-a)*float64(i)/4, y, math.Min(b, a+(b-a)*float64(i+1)/4+3), y, pen{w: narrow, opacity: .8})
			}
		case "enclosed":
			s.line(a, far-side*2, b, far-side*2, pen{w: .8})
		}
	}
}

// supports draws the bearings: a square with a cross that stays free of the outline
// (ISO 8826-1, from memory). One that takes thrust stands between walls.
func (s *sheet) supports() {
	for i, k := range s.p.kinds {
		if k == "free" {
			continue
		}
		s.bearing(s.x(s.p.planes[i]), s.seat[i], k, i == 0)
		s.anchor[fmt.Sprint("support ", i)] = [2]float64{s.x(s.p.planes[i]) + []float64{-7.5, 7.5}[i], s.axis - s.seat[i] - 20}
	}
}

func (s *sheet) bearing(x, seat float64, kind string, left bool) {
	const side = 15.0
	if left {
		x -= side
	}
	outline := pen{w: wide}
	if kind == "" {
		outline = pen{dash: dashed}
	}
	for _, up := range []float64{-1, 1} {
		y := s.axis + up*seat
		if up < 0 {
			y -= side
		}
		s.rect(x, y, side, side, outline)
		s.claim(x-3, y-5, x+side+3, y+side+5)
		if kind == "" {
			continue
		}
		s.line(x+3, y+side/2, x+side-3, y+side/2, pen{})
		s.line(x+side/2, y+3, x+side/2, y+side-3, pen{})
		wall := y - 1.8
		if up > 0 {
			wall = y + side + 1.8
		}
		s.line(x-3, wall, x+side+3, wall, outline)
		if kind == "fixed" {
			for _, at := range []float64{x - 3, x + side + 3} {
				s.line(at, wall, at, wall-up*8, outline)
			}
		}
		for k := range 4 {
			at := x - 1 + float64(k)*4.6
			s.line(at, wall+up*.5+2-up*2, at+3, wall+up*4-2+up*2, pen{w: thin})
		}
	}
}

// drawNut draws the nut at the start of its travel, and where it gets to.
func (s *sheet) drawNut() {
	p := s.p
	x, w := s.x(p.start-p.nut/2), s.scale*p.nut
	outline := s.dashIf("nut")
	s.rect(x, s.axis-s.nut, w, 2*s.nut, outline)
	if p.flange != 0 {
		at := x + w
		if p.flange < 0 {
			at = x - 5
		}
		s.rect(at, s.axis-s.flange, 5, 2*s.flange, outline)
	}
	s.rect(s.x(p.start+p.stroke-p.nut/2), s.axis-s.nut, w, 2*s.nut, pen{w: .7, dash: phantom, opacity: .85})
	s.claim(x-5, s.axis-s.flange, x+w+5, s.axis+s.flange)
	s.anchor["nut"] = [2]float64{x + w/2, s.axis + s.flange}
}

// drawLoad draws carriage and load on the nut, with gravity in the frame of the axis.
func (s *sheet) drawLoad() {
	p := s.p
	x, w := s.x(p.start-p.nut/2), math.Max(s.scale*p.nut, 38)
	x = math.Min(x, s.width-w-2)
	y := s.axis - s.flange - 1
	if p.nutTurns {
		s.motorOnNut(x, y, w)
		y -= 26
	}
	s.rect(x, y-5, w, 5, pen{})
	outline := pen{}
	if !p.mass {
		outline.dash = dashed
	}
	s.rect(x, y-33, w, 28, outline)
	s.load = box{x, y - 33, x + w, y, ""}
	s.claim(x, y-33, x+w, y)
	s.anchor["load"] = [2]float64{x, y - 33}
	if !p.stands {
		return
	}
	const long = 20
	dx, dy := -math.Sin(p.incline*math.Pi/180), math.Cos(p.incline*math.Pi/180)
	gx, gy := x+w/2-dx*long/2, y-19-dy*long/2
	s.dot(gx, gy, 1.8)
	s.line(gx, gy, gx+dx*(long-5), gy+dy*(long-5), pen{w: 1.4})
	s.arrow(gx+dx*long, gy+dy*long, dx, dy, 8, 5)
	s.text(gx+4.5, gy+3+5*dx, "g", hand{italic: true})
}

// motorOnNut draws the motor that turns the nut, on the carriage.
func (s *sheet) motorOnNut(x, y, w float64) {
	outline := pen{}
	if !s.p.motor {
		outline.dash = dashed
	}
	side := math.Max(w, 36)
	s.rect(x, y-24, side, 22, outline)
	s.circle(x+side/2, y-13, 8, outline)
	s.text(x+side/2, y-9.4, "M", hand{size: 10, anchor: "middle"})
	pulley := x + side + 3
	s.line(x+side, y-13, pulley+6, y-13, pen{w: wide})
	s.rect(pulley, y-20, 6, 14, pen{w: 1})
	s.rect(pulley, s.axis-s.half-5, 6, 2*s.half+10, pen{w: 1})
	for _, at := range []float64{pulley + .8, pulley + 5.2} {
		s.line(at, y-6, at, s.axis-s.half-5, pen{w: thin})
	}
	for _, up := range []float64{-1, 1} {
		s.line(s.x(s.p.start+s.p.nut/2), s.axis+up*(s.half+2), pulley, s.axis+up*(s.half+2), pen{})
	}
	s.claim(x, y-24, pulley+6, y)
	s.claim(pulley, y-24, pulley+6, s.axis+s.half+5)
	s.anchor["motor"] = [2]float64{pulley + 6, y - 18}
	s.anchor["coupling"] = [2]float64{pulley + 6, s.axis - s.half - 4}
	if s.p.brakes > 0 || s.missingBrake() > 0 {
		s.brake(pulley+15, y-13, s.p.brakes == 0)
		s.line(pulley+6, y-13, pulley+15, y-13, pen{w: wide})
	}
}

// brake is a disc between shoes; dashed where it is missing.
func (s *sheet) brake(x, y float64, missing bool) {
	disc, shoe := pen{w: wide}, pen{}
	if missing {
		disc, shoe = pen{dash: dashed}, pen{dash: "2 1.5"}
	}
	s.line(x, y-8, x, y+8, disc)
	for _, up := range []float64{-1, 1} {
		s.rect(x-4.5, y+up*11.5-3, 9, 6, shoe)
	}
	s.claim(x-5, y-15, x+5, y+15)
	s.anchor["brake"] = [2]float64{x, y + 15}
}

// forces lists mass and forces beside the load, or above it where there is no room.
func (s *sheet) forces() {
	if s.small {
		r := s.p.rows[0]
		x := s.load.x1 + 6
		h := hand{bold: !r.lacking, italic: r.lacking}
		b := boxOf(x, s.load.y0+9, r.bold, h)
		if b.x1 > s.width-2 {
			x = s.load.x0 - 6 - (b.x1 - b.x0)
		}
		if s.free(boxOf(x, s.load.y0+9, r.bold, h)) {
			s.text(x, s.load.y0+9, r.bold, h)
		}
		return
	}
	most := 0.0
	for _, r := range s.p.rows {
		most = math.Max(most, s.rowWidth(r))
	}
	x := s.load.x1 + 12
	if s.p.nutTurns {
		x += 34
	}
	y := 11.0
	if x+most > s.width-2 {
		x = math.Max(2, s.load.x0-12-most)
	}
	for _, r := range s.p.rows {
		s.row(x, y, r)
		y += 13.5
	}
}

const arrowRoom = 33

func (s *sheet) rowWidth(r row) float64 {
	if r.bold != "" {
		return advance(r.bold, 11, !r.lacking) + 6 + advance(r.rest, 11, false)
	}
	return arrowRoom + advance(r.rest, 11, false)
}

func (s *sheet) row(x, y float64, r row) {
	if r.bold != "" {
		s.text(x, y, r.bold, hand{bold: !r.lacking, italic: r.lacking})
		s.text(x+advance(r.bold, 11, !r.lacking)+6, y, r.rest, hand{})
		return
	}
	if r.left || r.right {
		a, b := x, x+26
		s.line(a+3, y-3.8, b-3, y-3.8, pen{w: 1.2})
		s.claim(a, y-8, b, y)
		if r.left {
			s.arrow(a, y-3.8, -1, 0, 7, 4.4)
		}
		if r.right {
			s.arrow(b, y-3.8, 1, 0, 7, 4.4)
		}
	}
	s.text(x+arrowRoom, y, fit(r.rest, 11, s.width-x-arrowRoom-2, false), hand{})
}

// drive draws coupling or belt, brake and motor beyond the driven end.
func (s *sheet) drive() {
	p := s.p
	if p.nutTurns {
		return
	}
	out, end, plane := -1.0, s.x(0), s.x(p.planes[0])-20
	at := math.Min(end, plane)
	if p.right {
		out, end, plane = 1, s.x(p.length), s.x(p.planes[1])+20
		at = math.Max(end, plane)
	}
	if at != end {
		s.line(end, s.axis, at, s.axis, pen{w: wide})
	}
	long := s.couplingLong()
	if p.gear {
		s.rect(math.Min(at, at+out*long), s.axis-16, long, 32, pen{})
		s.line(at, s.axis-9, at+out*long, s.axis+9, pen{w: .7})
		s.line(at, s.axis+9, at+out*long, s.axis-9, pen{w: .7})
	} else {
		s.drawCoupling(at, out, long)
	}
	s.claim(at, s.axis-16, at+out*long, s.axis+16)
	s.anchor["coupling"] = [2]float64{at + out*long/2, s.axis - 16}
	at += out * long
	if p.brakes > 0 || s.missingBrake() > 0 {
		s.line(at, s.axis, at+out*s.brakeLong(), s.axis, pen{w: wide})
		s.brake(at+out*s.brakeLong()/2, s.axis, p.brakes == 0)
		at += out * s.brakeLong()
	}
	side := s.motorSide()
	outline := pen{}
	if !p.motor {
		outline.dash = dashed
	}
	s.rect(math.Min(at, at+out*side), s.axis-side/2, side, side, outline)
	s.circle(at+out*side/2, s.axis, side*.28, outline)
	s.text(at+out*side/2, s.axis+4, "M", hand{anchor: "middle"})
	s.claim(at, s.axis-side/2, at+out*side, s.axis+side/2)
	s.anchor["motor"] = [2]float64{at + out*side/2, s.axis - side/2}
}

func (s *sheet) drawCoupling(at, out, long float64) {
	halves, between := pen{w: wide}, pen{}
	if !s.p.coupling {
		halves, between = pen{dash: dashed}, pen{dash: dashed}
	}
	for _, k := range []float64{.25, .75} {
		s.line(at+out*long*k, s.axis-9, at+out*long*k, s.axis+9, halves)
	}
	s.line(at, s.axis, at+out*long*.25, s.axis, halves)
	s.line(at+out*long*.75, s.axis, at+out*long, s.axis, halves)
	for _, y := range []float64{-6, 6} {
		s.line(at+out*long*.25, s.axis+y, at+out*long*.75, s.axis+y, between)
	}
}

// letters puts the letters of the list at their parts.
func (s *sheet) letters() {
	letter := 'A'
	for i, p := range s.p.parts {
		if p.what == "" {
			continue
		}
		if i > 0 && letter > 'Z' {
			return
		}
		s.letter(p.what, string(letter))
		letter++
	}
}

func (s *sheet) letter(what, letter string) {
	p := s.p
	try := func(x, y float64) bool {
		if !s.free(box{x - 8, y - 8, x + 8, y + 8, ""}) {
			return false
		}
		s.balloon(x, y, letter)
		return true
	}
	inside := box{s.x(p.start) - 8, s.axis - 8, s.x(p.start) + 8, s.axis + 8, ""}
	if what == "nut" && s.scale*p.nut >= 18 && !slices.ContainsFunc(s.texts, inside.meets) {
		s.balloon(s.x(p.start), s.axis, letter)
		return
	}
	to, from := s.anchor[what], 11.0
	steps := []float64{0, -17, 17, -34, 34, -51, 51}
	if what == "screw" || what == "cover" {
		// They lie along the shaft, where the nut leaves it free.
		a, b := s.x(p.start+p.nut/2), s.x(p.start+p.stroke-p.nut/2)
		if b-a < 60 {
			a, b = s.x(p.ends[0]), s.x(p.length-p.ends[1])
		}
		share, y := .62, s.axis-s.core
		if what == "cover" {
			share, y = .25, s.axis-s.half-6
		}
		to = [2]float64{a + share*(b-a), y}
		from = s.half + 22 - (s.axis - y - s.half)
		steps = append(steps, -80, 80, -120, 120, -160, 160, -200, 200, 260, -260)
	}
	if what == "nut" {
		to[1] = s.axis - s.flange
	}
	for _, up := range []float64{0, 16, 32, 48} {
		for _, dx := range steps {
			x, y := to[0]+dx, to[1]-from-up
			if what == "screw" || what == "cover" {
				if x < s.x(p.ends[0]) || x > s.x(p.length-p.ends[1]) {
					continue
				}
				if try(x+6, y) {
					s.leader(x+6, y, x, to[1])
					return
				}
				continue
			}
			if try(x, y) {
				if dx != 0 || up != 0 {
					s.leader(x, y, to[0], to[1])
				}
				return
			}
		}
	}
}

// leader leads from a letter to its part.
func (s *sheet) leader(x, y, tx, ty float64) {
	n := math.Hypot(tx-x, ty-y)
	s.line(x+(tx-x)/n*letterRadius, y+(ty-y)/n*letterRadius, tx, ty, pen{})
	s.dot(tx, ty, 1.4)
}

// held says in words how both ends are held.
func (s *sheet) held() {
	y := s.axis + math.Max(s.flange, math.Max(s.seat[0], s.seat[1])+22) + 13
	for i, k := range s.p.kinds {
		h := hand{size: 10.5, italic: k == ""}
		if k == "" {
			k = lacking
		}
		w := advance(k, 10.5, false)
		x := s.x(s.p.planes[i]) - 3 - w
		if i == 1 {
			x = s.x(s.p.planes[i]) + 3
		}
		x = math.Max(1, math.Min(x, s.width-w-1))
		if i == 1 && !s.free(boxOf(x, y, k, h)) {
			x = s.width - w - 1
		}
		s.text(x, y, k, h)
	}
	s.bottom = y + 3
}
