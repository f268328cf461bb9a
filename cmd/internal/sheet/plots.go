package sheet

import (
	"fmt"
	"image/color"
	"math"
	"sort"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/svg"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec/unit"
)

// figure makes a figure that is drawn when it is written.
func figure(id, title, alt string, draw func() (*picture, error)) *document.Figure {
	return &document.Figure{ID: id, Title: title, Alt: alt, Draw: func() (string, error) {
		pic, err := draw()
		if err != nil {
			return "", err
		}
		return pic.element(title + ". " + alt)
	}}
}

const (
	plotHeight = 3.6 * vg.Inch
	legendRow  = 16 // points
)

// Shades that differ in lightness, so that they can be told apart in grey, and
// dashes and marks that tell lines and points apart without any shade. The page
// has its own values for each shade, light and dark.
var (
	ink    = color.Gray{Y: 0}
	shades = []color.Color{
		color.RGBA{R: 0x1b, G: 0x4f, B: 0x72, A: 255}, color.RGBA{R: 0xb8, G: 0x6e, B: 0x00, A: 255},
		color.RGBA{R: 0x5d, G: 0x8a, B: 0x3c, A: 255}, color.RGBA{R: 0x94, G: 0x3c, B: 0x5b, A: 255}, color.RGBA{R: 0x80, G: 0x80, B: 0x80, A: 255},
	}
	dashes = [][]vg.Length{nil, {vg.Points(7), vg.Points(3)}, {vg.Points(2), vg.Points(2)}, {vg.Points(9), vg.Points(2), vg.Points(2), vg.Points(2)}}
	marks  = []draw.GlyphDrawer{draw.CircleGlyph{}, draw.SquareGlyph{}, draw.TriangleGlyph{}, draw.CrossGlyph{}, draw.PlusGlyph{}, draw.RingGlyph{}, draw.PyramidGlyph{}, draw.BoxGlyph{}}
)

// A picture is a plot with its key above it, where it covers no curve.
type picture struct {
	*plot.Plot
	key    []keyEntry
	height vg.Length
}

type keyEntry struct {
	name string
	mark plot.Thumbnailer
}

func newPlot(x, y string) *picture { return &picture{Plot: svg.New(x, y), height: plotHeight} }

// label names an axis with its unit in brackets, since "in in" reads badly.
func label(name, unit string) string { return name + " (" + unit + ")" }

// explain adds an entry to the key.
func (p *picture) explain(name string, mark plot.Thumbnailer) {
	if name != "" {
		p.key = append(p.key, keyEntry{name, mark})
	}
}

// element writes a picture as one SVG element that follows the page's colours.
func (p *picture) element(alt string) (string, error) {
	if err := svg.Drawable(p.Plot); err != nil {
		return "", err
	}
	rows := p.keyRows()
	strip := vg.Length(len(rows)) * vg.Points(legendRow)
	if strip > 0 {
		strip += vg.Points(6)
	}
	c := vgsvg.New(svg.Width, p.height+strip)
	whole := draw.New(c)
	p.drawKey(whole, rows)
	// Room at the right for the last tick's label, half of which stands out.
	p.Draw(draw.Crop(whole, vg.Points(2), vg.Points(-24), vg.Points(2), -strip-vg.Points(6)))
	return svg.Element(c, alt)
}

const (
	keyMark = vg.Length(26)
	keyGap  = vg.Length(16)
)

func (p *picture) keyStyle() draw.TextStyle {
	sty := p.Legend.TextStyle
	sty.Font = svg.Letters(10.5)
	return sty
}

// keyRows breaks the key into rows as wide as the picture.
func (p *picture) keyRows() [][]keyEntry {
	var rows [][]keyEntry
	sty, x := p.keyStyle(), vg.Length(0)
	for _, e := range p.key {
		w := keyMark + keyGap + sty.Width(e.name)
		if len(rows) == 0 || x+w > svg.Width-vg.Points(40) {
			rows, x = append(rows, nil), 0
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], e)
		x += w
	}
	return rows
}

func (p *picture) drawKey(c draw.Canvas, rows [][]keyEntry) {
	sty := p.keyStyle()
	for i, row := range rows {
		x, y := c.Min.X+vg.Points(36), c.Max.Y-vg.Points(legendRow)*vg.Length(i+1)
		for _, e := range row {
			icon := c
			icon.Rectangle = vg.Rectangle{Min: vg.Point{X: x, Y: y}, Max: vg.Point{X: x + keyMark, Y: y + vg.Points(9)}}
			e.mark.Thumbnail(&icon)
			c.FillText(sty, vg.Point{X: x + keyMark + vg.Points(4), Y: y}, e.name)
			x += keyMark + keyGap + sty.Width(e.name)
		}
	}
}

// scale picks the unit of an axis from its largest value.
func (m *maker) scale(k unit.Kind, largest float64) (string, func(float64) float64) {
	u := unit.UnitOf(unit.Format(largest, k, m.o.Sys))
	if u == "" {
		return "", func(x float64) float64 { return x }
	}
	return u, func(x float64) float64 { v, _ := unit.In(x, k, u); return v }
}

func line(p *picture, i int, name string, pts plotter.XYs) error {
	l, err := plotter.NewLine(pts)
	if err != nil {
		return err
	}
	l.Color, l.Width, l.Dashes = shades[i%len(shades)], vg.Points(1.8), dashes[i%len(dashes)]
	p.Add(l)
	p.explain(name, l)
	return nil
}

func point(p *picture, i int, name string, pts plotter.XYs) error {
	s, err := plotter.NewScatter(pts)
	if err != nil {
		return err
	}
	s.GlyphStyle = draw.GlyphStyle{Color: ink, Radius: vg.Points(4), Shape: marks[i%len(marks)]}
	p.Add(s)
	p.explain(name, s)
	return nil
}

// plots adds the pictures to their sections.
func (m *maker) plots(s *document.Document) {
	add := func(section string, p *document.Figure) {
		if p != nil {
			s.Section(section).Add(p)
		}
	}
	add("motion", m.cyclePlot("speed"))
	add("forces", m.cyclePlot("force"))
	add("life", m.lifePlot())
	add("speed", m.speedPlot())
	add("strength", m.bucklingPlot())
	add("accuracy", m.budgetPlot())
	add("drive", m.torquePlot())
}

// cyclePlot shows speed or force over one cycle.
func (m *maker) cyclePlot(what string) *document.Figure {
	c := m.v.Calc
	q := mechanics.PhaseTopSpeed
	title, alt := "Speed over the cycle", "travel speed"
	if what == "force" {
		q, title, alt = mechanics.PhaseForce, "Force over the cycle", "axial force"
	}
	if !c.Known(q) || !c.Known(mechanics.PhaseTime) || !c.Known(mechanics.CycleTime) {
		return nil
	}
	times, vals, dir := c.Series(mechanics.PhaseTime), c.Series(q), c.Series(mechanics.MoveDirection)
	tu, ts := m.scale(unit.Time, c.V(mechanics.CycleTime))
	top := 0.0
	for _, v := range vals {
		top = math.Max(top, math.Abs(v))
	}
	if top == 0 {
		return nil
	}
	yu, ys := m.scale(q.Kind, top)
	var pts plotter.XYs
	t, low, high := 0.0, math.Inf(1), math.Inf(-1)
	put := func(t, v float64) {
		pts = append(pts, plotter.XY{X: ts(t), Y: ys(v)})
		low, high = math.Min(low, v), math.Max(high, v)
	}
	for j, d := range times {
		if d == 0 {
			continue
		}
		a, b := vals[j], vals[j]
		if what == "speed" {
			v := vals[j] * dir[j/mechanics.PhasesPerMove]
			switch mechanics.Part(j % mechanics.PhasesPerMove) {
			case mechanics.RampUp:
				a, b = 0, v
			case mechanics.RampDown:
				a, b = v, 0
			default:
				a, b = v, v
			}
		}
		put(t, a)
		put(t+d, b)
		t += d
	}
	words := fmt.Sprintf("%s from %s to %s over a cycle of %s", alt, m.show(q, low), m.show(q, high), m.show(mechanics.CycleTime, t))
	return figure("plot-"+what, title, words, func() (*picture, error) {
		p := newPlot(label("time", tu), label(alt, yu))
		if err := line(p, 0, "", pts); err != nil {
			return nil, err
		}
		return p, nil
	})
}

// speedPlot shows the permitted travel speed against the free length for the
// four end conditions, with the axis's own point.
func (m *maker) speedPlot() *document.Figure {
	c := m.v.Calc
	need := []*mechanics.Quantity{mechanics.Span, mechanics.RootDiameter, mechanics.ElasticModulus, mechanics.Density, mechanics.Lead, mechanics.TopSpeed}
	for _, q := range need {
		if !c.Known(q) {
			return nil
		}
	}
	span, top := c.V(mechanics.Span), c.V(mechanics.TopSpeed)
	ends := []struct {
		name string
		a, b float64
	}{{"fixed–fixed", 0, 0}, {"fixed–supported", 0, 1}, {"supported–supported", 1, 1}, {"fixed–free", 0, 2}}
	speed := func(a, b, l float64) float64 {
		n := mechanics.CriticalSpeed(mechanics.Lambda(a, b), l, c.V(mechanics.RootDiameter), c.V(mechanics.ElasticModulus), c.V(mechanics.Density))
		return 0.8 * n / (2 * math.Pi) * c.V(mechanics.Lead)
	}
	title := "Travel speed against free length"
	limit := 2.5 * top
	words := fmt.Sprintf("this axis: %s over %s; 80 %% of the critical speed there would be %s fixed–fixed, %s fixed–supported, %s supported–supported, %s fixed–free",
		m.show(mechanics.TopSpeed, top), m.show(mechanics.Span, span),
		m.show(mechanics.TopSpeed, speed(0, 0, span)), m.show(mechanics.TopSpeed, speed(0, 1, span)), m.show(mechanics.TopSpeed, speed(1, 1, span)), m.show(mechanics.TopSpeed, speed(0, 2, span)))
	return figure("plot-critical", title, words, func() (*picture, error) {
		xu, xs := m.scale(unit.Length, span)
		yu, ys := m.scale(unit.Speed, top)
		p := newPlot(label("free length", xu), label("travel speed at 80 % of critical", yu))
		for i, e := range ends {
			var pts plotter.XYs
			for k := range 60 {
				l := span * (0.4 + 1.4*float64(k)/59)
				if v := speed(e.a, e.b, l); v <= limit {
					pts = append(pts, plotter.XY{X: xs(l), Y: ys(v)})
				}
			}
			if len(pts) > 1 {
				if err := line(p, i, e.name, pts); err != nil {
					return nil, err
				}
			}
		}
		if err := point(p, 0, "this axis", plotter.XYs{{X: xs(span), Y: ys(top)}}); err != nil {
			return nil, err
		}
		p.Y.Min = 0
		return p, nil
	})
}

// bucklingPlot shows the buckling load against the loaded length.
func (m *maker) bucklingPlot() *document.Figure {
	c := m.v.Calc
	for _, q := range []*mechanics.Quantity{mechanics.Buckling, mechanics.PushedForce, mechanics.LoadedLength, mechanics.BucklingFixity} {
		if !c.Known(q) {
			return nil
		}
	}
	length, pushed := c.V(mechanics.LoadedLength), c.V(mechanics.PushedForce)
	load := func(l float64) float64 {
		return mechanics.BucklingLoad(c.V(mechanics.BucklingFixity), l, c.V(mechanics.RootDiameter), c.V(mechanics.ElasticModulus), c.V(mechanics.YieldStrength))
	}
	title := "Buckling load against loaded length"
	words := fmt.Sprintf("over %s the buckling load is %s, half of it %s; peak compressive load %s", m.show(mechanics.LoadedLength, length), m.show(mechanics.Buckling, load(length)), m.show(mechanics.Buckling, load(length)/2), m.show(mechanics.PushedForce, pushed))
	return figure("plot-buckling", title, words, func() (*picture, error) {
		xu, xs := m.scale(unit.Length, length)
		yu, ys := m.scale(unit.Force, load(length))
		p := newPlot(label("loaded length", xu), label("force", yu))
		var whole, half plotter.XYs
		for k := range 60 {
			l := length * (0.4 + 1.4*float64(k)/59)
			whole = append(whole, plotter.XY{X: xs(l), Y: ys(load(l))})
			half = append(half, plotter.XY{X: xs(l), Y: ys(load(l) / 2)})
		}
		if err := line(p, 0, "buckles", whole); err != nil {
			return nil, err
		}
		if err := line(p, 1, "with safety 2", half); err != nil {
			return nil, err
		}
		if err := point(p, 0, "this axis", plotter.XYs{{X: xs(length), Y: ys(pushed)}}); err != nil {
			return nil, err
		}
		p.Y.Min = 0
		return p, nil
	})
}

// lifePlot shows life against load.
func (m *maker) lifePlot() *document.Figure {
	c := m.v.Calc
	for _, q := range []*mechanics.Quantity{mechanics.LifeYears, mechanics.MeanPlus, mechanics.MeanMinus, mechanics.Life, mechanics.RevsPerYear, mechanics.LoadFactor, mechanics.ModifiedRating, mechanics.ReliabilityFactor} {
		if !c.Known(q) {
			return nil
		}
	}
	worse := math.Max(c.V(mechanics.MeanPlus), c.V(mechanics.MeanMinus))
	years := c.V(mechanics.LifeYears)
	if worse <= 0 || math.IsInf(years, 0) {
		return nil
	}
	// The whole life scales with the cube of a common factor on all loads.
	at := func(f float64) float64 { return years * math.Pow(worse/f, 3) }
	title := "Life against load"
	asked, hasAsked := c.Value(mechanics.RequiredLife)
	alt := fmt.Sprintf("%s at a mean load of %s on the more heavily loaded flank; half the load gives eight times the life", m.show(mechanics.LifeYears, years), m.show(mechanics.MeanLoad, worse))
	if hasAsked {
		alt += "; " + m.show(mechanics.RequiredLife, asked) + " required"
	}
	return figure("plot-life", title, alt, func() (*picture, error) {
		xu, xs := m.scale(unit.Force, worse)
		p := newPlot(label("mean load on the more heavily loaded flank", xu), label("life", "years"))
		ys := func(x float64) float64 { return x / mechanics.Year }
		var pts plotter.XYs
		for k := range 60 {
			f := worse * math.Pow(4, float64(k)/59-0.5)
			pts = append(pts, plotter.XY{X: xs(f), Y: ys(at(f))})
		}
		if err := line(p, 0, "life", pts); err != nil {
			return nil, err
		}
		if hasAsked {
			if err := line(p, 1, "required", plotter.XYs{{X: pts[0].X, Y: ys(asked)}, {X: pts[len(pts)-1].X, Y: ys(asked)}}); err != nil {
				return nil, err
			}
		}
		if err := point(p, 0, "this axis", plotter.XYs{{X: xs(worse), Y: ys(years)}}); err != nil {
			return nil, err
		}
		p.Y.Scale, p.Y.Tick.Marker = plot.LogScale{}, plot.LogTicks{Prec: -1}
		return p, nil
	})
}

// torquePlot shows every phase's torque at its speed inside the motor's
// limits.
func (m *maker) torquePlot() *document.Figure {
	c := m.v.Calc
	for _, q := range []*mechanics.Quantity{mechanics.MotorPhaseTorque, mechanics.PhaseTime, mechanics.PhaseTopSpeed, mechanics.MotorPeakTorque, mechanics.MotorTorque, mechanics.MotorMaxSpeed, mechanics.Lead, mechanics.Ratio} {
		if !c.Known(q) {
			return nil
		}
	}
	maxN := c.V(mechanics.MotorMaxSpeed)
	avail := func(n float64) float64 {
		return mechanics.AvailableTorque(n, c.V(mechanics.MotorPeakTorque), c.V(mechanics.MotorRatedSpeed), c.V(mechanics.MotorTopTorque), maxN)
	}
	times, torque, speed := c.Series(mechanics.PhaseTime), c.Series(mechanics.MotorPhaseTorque), c.Series(mechanics.PhaseTopSpeed)
	title := "Torque and speed of every phase"
	words := fmt.Sprintf("peak motor torque %s; the motor gives %s peak, %s continuous, up to %s", m.show(mechanics.PeakTorque, c.V(mechanics.PeakTorque)), m.show(mechanics.PeakTorque, c.V(mechanics.MotorPeakTorque)), m.show(mechanics.PeakTorque, c.V(mechanics.MotorTorque)), m.show(mechanics.MotorMaxSpeed, maxN))
	return figure("plot-torque", title, words, func() (*picture, error) {
		yu, ys := m.scale(unit.Torque, c.V(mechanics.MotorPeakTorque))
		p := newPlot(label("motor speed", "rpm"), label("torque", yu))
		rpm := func(x float64) float64 { v, _ := unit.In(x, unit.RotationSpeed, "rpm"); return v }
		var peak plotter.XYs
		for k := range 41 {
			n := maxN * float64(k) / 40
			peak = append(peak, plotter.XY{X: rpm(n), Y: ys(avail(n))})
		}
		peak = append(peak, plotter.XY{X: rpm(maxN), Y: 0})
		if err := line(p, 0, "peak torque", peak); err != nil {
			return nil, err
		}
		if err := line(p, 1, "continuous", plotter.XYs{{X: 0, Y: ys(c.V(mechanics.MotorTorque))}, {X: rpm(maxN), Y: ys(c.V(mechanics.MotorTorque))}}); err != nil {
			return nil, err
		}
		for part := range mechanics.PhasesPerMove {
			var pts plotter.XYs
			for j := range torque {
				if times[j] > 0 && j%mechanics.PhasesPerMove == part {
					pts = append(pts, plotter.XY{X: rpm(mechanics.ScrewSpeed(speed[j], c.V(mechanics.Lead)) * c.V(mechanics.Ratio)), Y: ys(math.Abs(torque[j]))})
				}
			}
			if len(pts) > 0 {
				if err := point(p, part, mechanics.Part(part).String(), pts); err != nil {
					return nil, err
				}
			}
		}
		p.Y.Min, p.X.Min = 0, 0
		return p, nil
	})
}

// rows names the rows of a picture of horizontal bars, the first one on top,
// and makes it as high as they need. Row i stands at len(names)-1-i.
func (p *picture) rows(names []string) {
	n := len(names)
	labels := make([]string, n)
	for i := range names {
		labels[n-1-i] = names[i] + " "
	}
	p.NominalY(labels...)
	p.Y.Min, p.Y.Max = -0.6, float64(n)-0.4
	p.height = vg.Points(58 + 18*float64(n))
}

// bar adds a bar from a to b in a row, edged so that neighbours part without
// any shade.
func (p *picture) bar(row, a, b float64, shade int) error {
	box, err := plotter.NewPolygon(plotter.XYs{{X: a, Y: row - 0.32}, {X: b, Y: row - 0.32}, {X: b, Y: row + 0.32}, {X: a, Y: row + 0.32}})
	if err != nil {
		return err
	}
	box.Color, box.LineStyle.Color, box.LineStyle.Width = shades[shade%len(shades)], ink, vg.Points(0.7)
	p.Add(box)
	return nil
}

// budgetPlot shows the parts of the positioning budget.
func (m *maker) budgetPlot() *document.Figure {
	c := m.v.Calc
	if !c.Known(mechanics.AccuracyBudget) {
		return nil
	}
	parts := []struct {
		name string
		v    float64
	}{
		{"travel deviation", c.V(mechanics.MeanDeviation)}, {"half the variation", c.V(mechanics.Variation) / 2}, {"thermal growth", c.V(mechanics.ThermalGrowth)},
		{"deflection", c.V(mechanics.ElasticPart)}, {"play", c.V(mechanics.HalfPlay)},
	}
	title := "Positioning budget"
	u, scale := m.scale(unit.Length, c.V(mechanics.AccuracyBudget))
	alt := "sum " + m.show(mechanics.AccuracyBudget, c.V(mechanics.AccuracyBudget))
	for _, p := range parts {
		alt += "; " + p.name + " " + m.show(mechanics.AccuracyBudget, p.v)
	}
	asked, hasAsked := c.Value(mechanics.Positioning)
	if !hasAsked {
		asked = 0
	} else {
		alt += "; required " + m.show(mechanics.Positioning, asked)
	}
	return figure("plot-budget", title, alt, func() (*picture, error) {
		p := newPlot(label("error, ±", u), "")
		names := []string{"sum " + m.show(mechanics.AccuracyBudget, c.V(mechanics.AccuracyBudget))}
		for _, part := range parts {
			names = append(names, part.name+" "+m.show(mechanics.AccuracyBudget, part.v))
		}
		p.rows(names)
		// The whole bar in its parts, and below it each part where it stands.
		at := 0.0
		for i, part := range parts {
			for _, row := range []int{len(parts), len(parts) - 1 - i} {
				if err := p.bar(float64(row), scale(at), scale(at+part.v), i); err != nil {
					return nil, err
				}
			}
			at += part.v
		}
		if hasAsked {
			if err := line(p, 1, "required "+m.show(mechanics.Positioning, asked), plotter.XYs{{X: scale(asked), Y: -0.6}, {X: scale(asked), Y: p.Y.Max}}); err != nil {
				return nil, err
			}
		}
		p.X.Min, p.X.Max = 0, scale(math.Max(at, asked))*1.05
		return p, nil
	})
}

// marginPlot shows the use of every rule that compares numbers, the tightest
// on top.
func marginPlot(results []judge.Result) *document.Figure {
	type bar struct {
		name string
		use  float64
	}
	var list []bar
	for _, r := range results {
		if r.Utilisation == r.Utilisation && (r.State == judge.Passed || r.State == judge.Failed) {
			list = append(list, bar{r.Rule, r.Utilisation})
		}
	}
	if len(list) == 0 {
		return nil
	}
	sort.SliceStable(list, func(i, k int) bool { return list[i].use > list[k].use })
	var names []string
	var vals []float64
	over := 0
	for _, b := range list {
		names = append(names, b.name)
		vals = append(vals, math.Min(b.use, 2)*100)
		if b.use > 1+1e-9 {
			over++
		}
	}
	title := "Margins of all rules"
	words := fmt.Sprintf("%d rules with numbers, %d over their limit; the smallest margin is that of %s, with %s of its limit used", len(list), over, list[0].name, unit.Format(list[0].use, unit.Percentage, unit.Metric))
	return figure("plot-margins", title, words, func() (*picture, error) {
		p := newPlot(label("limit used, cut off at 200 %", "%"), "")
		p.rows(names)
		for i, v := range vals {
			if err := p.bar(float64(len(vals)-1-i), 0, v, 0); err != nil {
				return nil, err
			}
		}
		if err := line(p, 1, "limit", plotter.XYs{{X: 100, Y: p.Y.Min}, {X: 100, Y: p.Y.Max}}); err != nil {
			return nil, err
		}
		p.X.Min, p.X.Max = 0, math.Max(105, p.X.Max)
		return p, nil
	})
}
