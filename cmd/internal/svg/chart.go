package svg

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// A Chart is what is drawn over two axes. What counts most is heaviest: a limit, then what
// breaks it, then what holds, then the words; the grid is faint.
type Chart struct {
	X, Y  Axis
	Rows  []string // in place of the axis Y: names of rows, the first on top; row i lies at Y = i
	Limit float64  // of the rows, drawn through all of them; 0 for none
	Name  string   // of that limit
	Lines []Line
	Ends  bool // the names of lines stand in a column at their right ends
	Bars  []Bar
	Spots []Spot
	Spans []Span
}

// A Weight is how a line is drawn.
type Weight int

const (
	Thin       Weight = iota // what is shown beside
	Own                      // what the chart is about
	LimitLeft                // a limit, hatched on its far side: to the left of its way
	LimitRight               // or to the right
)

// A Line joins points, named where there is room.
type Line struct {
	Name   string
	Weight Weight
	Points []Point
}

// A Bar lies in a row. What is beyond the limit of the chart is set off and black. A name
// stands at the right.
type Bar struct {
	Row, From, To float64
	Thin          bool
	Name          string
}

// A Shape is how a spot is drawn; states differ in it, not in colour.
type Shape int

const (
	Ring   Shape = iota // holds
	Tick                // a middle
	Square              // over its limit
	Dot                 // what the chart is about, within its limit
)

// A Spot is a point, named where there is room.
type Spot struct {
	Point
	Shape Shape
	Name  string
}

// A Span names a stretch of the axis X, above the chart.
type Span struct {
	From, To float64
	Name     string
}

// Wide and Narrow are the widths for which a chart is drawn.
const (
	Wide   = 720.0
	Narrow = 336.0
)

const rowHeight = 18.0

// Draw gives the chart twice, for wide and narrow pages, which show one of both.
func (c *Chart) Draw(title, words string) (string, error) {
	wide, err := c.draw(Wide, "wide", title, words)
	if err != nil {
		return "", err
	}
	narrow, err := c.draw(Narrow, "narrow", title, words)
	return wide + "\n" + narrow, err
}

// A frame is a chart being drawn.
type frame struct {
	*Chart
	canvas
	x, y scale
}

func (c *Chart) draw(width float64, class, title, words string) (string, error) {
	f := &frame{Chart: c}
	if err := f.layout(width); err != nil {
		return "", err
	}
	f.grid()
	for i := range c.Bars {
		f.bar(&c.Bars[i])
	}
	for _, l := range c.Lines {
		f.line(&l)
	}
	if c.Limit > 0 {
		f.line(&Line{Name: c.Name, Weight: LimitRight, Points: []Point{{c.Limit, float64(len(c.Rows)) - 0.5}, {c.Limit, -0.5}}})
	}
	for _, s := range c.Spots {
		f.spot(s)
	}
	f.names()
	return f.element(class, title, words), nil
}

// layout finds the scales and the room for what stands around them.
func (f *frame) layout(w float64) error {
	var xs, ys []float64
	right := 10.0
	for _, l := range f.Lines {
		for _, p := range l.Points {
			xs, ys = append(xs, p.X), append(ys, p.Y)
		}
		if f.Ends {
			right = math.Max(right, math.Min(width(l.Name, bold), 0.5*w)+14)
		}
	}
	for _, s := range f.Spots {
		xs, ys = append(xs, s.X), append(ys, s.Y)
	}
	for _, b := range f.Bars {
		xs, right = append(xs, b.From, b.To), math.Max(right, Width(b.Name, Letter)+8)
	}
	var err error
	if f.x, err = f.X.span(append(xs, f.Limit)); err != nil {
		return err
	}
	if f.y, err = f.Y.span(ys); err != nil {
		return err
	}
	top, field, left := 22.0, math.Min(210, 0.5*w+30), 0.0
	if len(f.Spans) > 0 {
		top += 15
	}
	if f.Rows != nil {
		field = rowHeight * float64(len(f.Rows))
		f.y.low, f.y.high = float64(len(f.Rows))-0.5, -0.5
		for _, n := range f.Rows {
			left = math.Max(left, math.Min(Width(n, Letter), 0.45*w))
		}
		right = math.Min(right, 0.3*w)
	}
	f.size(w, top+field+36)
	f.y.from, f.y.to = top+field, top
	if f.Rows == nil {
		for _, v := range f.y.ticks(34) {
			left = math.Max(left, Width(number(v), Letter))
		}
	}
	f.x.from, f.x.to = left+8, f.w-right
	return nil
}

// grid draws ticks, grid and the names of axes, rows and stretches.
func (f *frame) grid() {
	const faint = `stroke="currentColor" stroke-width="0.6" stroke-opacity="0.3"`
	f.put(`<path fill="none" `+faint+` d="M%v %vV%vH%v"/>`, f.x.from, f.y.to, f.y.from, f.x.to)
	f.trace([][2]float64{{f.x.from, f.y.to}, {f.x.from, f.y.from}, {f.x.to, f.y.from}})
	end := -math.MaxFloat64 // of the tick before
	for _, v := range f.x.ticks(70) {
		x, w := f.x.at(v), Width(number(v), Letter)/2
		f.put(`<path `+faint+` d="M%v %vV%v"/>`, x, f.y.to, f.y.from)
		if at := math.Max(w, math.Min(x, f.w-w)); at-w > end {
			f.text(at, f.y.from+16, "middle", number(v), "")
			end = at + w + 4
		}
	}
	f.text(f.x.to, f.y.from+31, "end", Fit(f.X.Label, Letter, f.x.to), "")
	if f.Rows == nil {
		for _, v := range f.y.ticks(34) {
			f.put(`<path `+faint+` d="M%v %vH%v"/>`, f.x.from, f.y.at(v), f.x.to)
			f.text(f.x.from-5, f.y.at(v)+4, "end", number(v), "")
		}
		f.text(0, 10, "", Fit(f.Y.Label, Letter, f.w), "")
	}
	for i, n := range f.Rows {
		f.text(f.x.from-8, f.y.at(float64(i))+4, "end", Fit(n, Letter, f.x.from-8), "")
	}
	for _, s := range f.Spans {
		a, b := f.x.at(s.From), f.x.at(s.To)
		if b-a < 6 {
			continue
		}
		f.put(`<path `+faint+` stroke-dasharray="2 3" d="M%v %vV%v"/>`, b, f.y.to-13, f.y.from)
		if name := Fit(s.Name, Letter, b-a-4); name != "" {
			f.text((a+b)/2, f.y.to-4, "middle", name, "")
		}
	}
}

// bar draws a bar: what holds at half ink, what is over the limit black behind a gap. One
// that goes on beyond the axis ends in a break.
func (f *frame) bar(b *Bar) {
	y, half := f.y.at(b.Row), 5.0
	if b.Thin {
		half = 1
	}
	piece := func(from, to float64, ink string) {
		if to > from {
			f.put(`<path`+ink+` d="M%v %vH%vV%vH%vZ"/>`, from, y-half, to, y+half, from)
			f.cover(from, y-half, to, y+half)
		}
	}
	from, to, limit := f.x.at(b.From), f.x.at(b.To), f.w
	if f.Limit > 0 && !b.Thin {
		limit = f.x.at(f.Limit)
	}
	piece(from, math.Min(to, limit), ` fill-opacity="0.5"`)
	if b.To > f.x.high && !b.Thin { // a break: its last piece stands apart
		piece(math.Max(from, limit+2), to-10, "")
		to, from = to-3, to-7
	}
	piece(math.Max(from, limit+2), to, "")
	if b.Name != "" {
		f.text(f.w, y+4, "end", Fit(b.Name, Letter, f.w-f.x.to-6), "")
	}
}

// line draws a line by its weight; a limit is hatched where nothing may be.
func (f *frame) line(l *Line) {
	if len(l.Points) < 2 {
		return
	}
	pts := f.places(l.Points)
	width, more := 1.5, ""
	switch l.Weight {
	case Thin:
		width, more = 1, ` stroke-opacity="0.5"`
	case Own:
		width = 2
	}
	f.put(`<path fill="none" stroke="currentColor" stroke-width="%v"%v stroke-linejoin="round" d="%v"/>`, width, more, way(pts))
	f.trace(pts)
	if l.Weight >= LimitLeft {
		f.hatch(pts, map[Weight]float64{LimitLeft: 1, LimitRight: -1}[l.Weight])
	}
}

// places are those of points, without what would lie on the place before.
func (f *frame) places(list []Point) [][2]float64 {
	var out [][2]float64
	for _, p := range list {
		at := [2]float64{f.x.at(p.X), f.y.at(p.Y)}
		if n := len(out); n == 0 || math.Abs(out[n-1][0]-at[0])+math.Abs(out[n-1][1]-at[1]) > 0.05 {
			out = append(out, at)
		}
	}
	return out
}

// way writes places as the way of a path.
func way(pts [][2]float64) string {
	var b strings.Builder
	for i, p := range pts {
		b.WriteString([]string{"M", "L"}[min(i, 1)] + num(p[0]) + " " + num(p[1]))
	}
	return b.String()
}

// hatch draws short strokes along a line, on the side where its values are not permitted.
func (f *frame) hatch(pts [][2]float64, side float64) {
	const every, long = 8.0, 5.0
	var b strings.Builder
	next := every / 2
	for i := 1; i < len(pts); i++ {
		dx, dy := pts[i][0]-pts[i-1][0], pts[i][1]-pts[i-1][1]
		d := math.Hypot(dx, dy)
		for ; next <= d; next += every {
			x, y := pts[i-1][0]+dx*next/d, pts[i-1][1]+dy*next/d
			// Half forward, half to the side; y runs downward.
			u, v := x+long*0.7*(dx+side*dy)/d, y+long*0.7*(dy-side*dx)/d
			if u >= f.x.from && u <= f.w && v >= 0 && v <= f.y.from {
				b.WriteString(way([][2]float64{{x, y}, {u, v}}))
				f.cover(math.Min(x, u), math.Min(y, v), math.Max(x, u), math.Max(y, v))
			}
		}
		next -= d
	}
	f.put(`<path fill="none" stroke="currentColor" stroke-width="0.8" d="%v"/>`, b.String())
}

// spot draws a point by its shape.
func (f *frame) spot(s Spot) {
	x, y := f.x.at(s.X), f.y.at(s.Y)
	const open = ` fill="none" stroke="currentColor" stroke-width="1.3"`
	switch s.Shape {
	case Ring:
		f.put(`<circle`+open+` cx="%v" cy="%v" r="3.5"/>`, x, y)
	case Dot:
		f.put(`<circle cx="%v" cy="%v" r="4.5"/>`, x, y)
	case Square:
		f.put(`<path d="M%v %vh7v7h-7z"/>`, x-3.5, y-3.5)
	case Tick:
		f.put(`<path`+open+` d="M%v %vv14"/>`, x, y-7)
	}
	f.cover(x-5, y-5, x+5, y+5)
}

// names writes the names of lines and spots where nothing else is: those of what counts most
// first. What the chart is about is named in any case.
func (f *frame) names() {
	if f.Limit > 0 {
		name := Fit(f.Name, Letter, f.w)
		w := Width(name, Letter) / 2
		f.text(math.Min(math.Max(f.x.at(f.Limit), w), f.w-w), f.y.to-6, "middle", name, "")
	}
	spots, lines := slices.Clone(f.Spots), slices.Clone(f.Lines)
	slices.SortStableFunc(spots, func(a, b Spot) int { return cmp.Compare(b.Shape, a.Shape) })
	slices.SortStableFunc(lines, func(a, b Line) int { return cmp.Compare(b.Weight, a.Weight) })
	if f.Ends {
		f.column(lines)
		lines = nil
	}
	k := 0
	for ; k < len(spots) && spots[k].Shape >= Square; k++ {
		f.nameSpot(spots[k])
	}
	for _, l := range lines {
		f.nameLine(&l)
	}
	for _, s := range spots[k:] {
		f.nameSpot(s)
	}
}

func (f *frame) nameSpot(s Spot) {
	if s.Name == "" {
		return
	}
	x, y, w := f.x.at(s.X), f.y.at(s.Y), width(s.Name, bold)
	var places [][2]float64
	for _, far := range []float64{9, 16} {
		places = append(places, [][2]float64{{x + far, y + 4}, {x - far - w, y + 4}, {x + far, y - far}, {x - far - w, y - far}, {x + far, y + far + 8}, {x - far - w, y + far + 8}, {x - w/2, y - far}, {x - w/2, y + far + 8}}...)
	}
	if !f.label(s.Name, bold, places...) && s.Shape >= Square {
		f.near(s.Name, bold, x, y)
	}
}

// nameLine tries both sides of a line, from its end to its beginning.
func (f *frame) nameLine(l *Line) {
	if l.Name == "" || len(l.Points) < 2 {
		return
	}
	pts, w := f.places(l.Points), width(l.Name, weight(l))
	var places [][2]float64
	for i := len(pts) - 1; i >= 1; i-- {
		a, b := pts[i-1], pts[i]
		for _, share := range []float64{1, 0.75, 0.5, 0.25, 0} {
			x, y := a[0]+(b[0]-a[0])*share, a[1]+(b[1]-a[1])*share
			places = append(places, [][2]float64{{x - w, y - 6}, {x - w, y + 14}, {x + 6, y - 6}, {x + 6, y + 4}, {x - w - 6, y + 4}}...)
		}
	}
	if !f.label(l.Name, weight(l), places...) {
		f.near(l.Name, weight(l), pts[len(pts)/2][0], pts[len(pts)/2][1])
	}
}

// weight is that of a line's name.
func weight(l *Line) string {
	if l.Weight == Thin {
		return ""
	}
	return bold
}

// column writes the names of lines at their right ends, moved apart, each with a line that
// leads to it.
func (f *frame) column(lines []Line) {
	at := func(l *Line) [2]float64 {
		p := l.Points[len(l.Points)-1]
		return [2]float64{f.x.at(p.X), f.y.at(p.Y)}
	}
	lines = slices.DeleteFunc(lines, func(l Line) bool { return len(l.Points) < 2 })
	slices.SortStableFunc(lines, func(a, b Line) int { return cmp.Compare(at(&b)[1], at(&a)[1]) })
	low := f.y.from + 2
	for _, l := range lines { // the lowest first
		p := at(&l)
		y := math.Min(p[1]+4, low)
		if low = y - Letter - 2; low < 0 {
			return // their words stand in the description
		}
		f.put(`<path fill="none" stroke="currentColor" stroke-width="0.6" stroke-opacity="0.6" d="M%v %vL%v %v"/>`, p[0]+1, p[1], f.x.to+6, y-4)
		f.text(f.x.to+8, y, "", Fit(l.Name, Letter, (f.w-f.x.to-8)/1.12), weight(&l))
	}
}
