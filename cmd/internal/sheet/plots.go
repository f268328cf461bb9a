package sheet

import (
	"bytes"
	"fmt"
	"html"
	"image/color"
	"math"
	"regexp"
	"sort"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"trammel/rules"
	"trammel/rules/mechanics"
	"trammel/spec/unit"
)

// A Plot is a picture with words that say the same.
type Plot struct {
	ID, Title string
	Alt       string // what the picture shows, in words
	draw      func() (string, error)
}

// SVG draws the plot as an SVG element.
func (p *Plot) SVG() (string, error) { return p.draw() }

const (
	plotWidth  = 7.2 * vg.Inch
	plotHeight = 3.4 * vg.Inch
)

// Shades that differ in lightness, so that they can be told apart in grey, and
// dashes that tell lines apart without any shade.
var (
	ink    = color.Gray{Y: 0}
	shades = []color.Color{
		color.RGBA{R: 0x1b, G: 0x4f, B: 0x72, A: 255}, color.RGBA{R: 0xd3, G: 0x84, B: 0x00, A: 255},
		color.RGBA{R: 0x5d, G: 0x8a, B: 0x3c, A: 255}, color.RGBA{R: 0x94, G: 0x3c, B: 0x5b, A: 255}, color.RGBA{R: 0x80, G: 0x80, B: 0x80, A: 255},
	}
	dashes = [][]vg.Length{nil, {vg.Points(7), vg.Points(3)}, {vg.Points(2), vg.Points(2)}, {vg.Points(9), vg.Points(2), vg.Points(2), vg.Points(2)}}
	marks  = []draw.GlyphDrawer{draw.CircleGlyph{}, draw.SquareGlyph{}, draw.TriangleGlyph{}, draw.CrossGlyph{}, draw.PlusGlyph{}, draw.RingGlyph{}, draw.PyramidGlyph{}, draw.BoxGlyph{}}
)

func newPlot(x, y string) *plot.Plot {
	p := plot.New()
	p.X.Label.Text, p.Y.Label.Text = x, y
	p.Legend.Top = true
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle.Font.Size = vg.Points(11)
		a.Tick.Label.Font.Size = vg.Points(10)
	}
	p.Legend.TextStyle.Font.Size = vg.Points(10)
	g := plotter.NewGrid()
	g.Vertical.Color, g.Horizontal.Color = color.Gray{Y: 0xd0}, color.Gray{Y: 0xd0}
	p.Add(g)
	return p
}

// svg writes a plot as one SVG element that follows the page's colours.
func svg(p *plot.Plot, title, alt string, height vg.Length) (string, error) {
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		// The tick marks of an axis without end would be counted for ever.
		if width := a.Max - a.Min; !(width >= 0) || math.IsInf(width, 0) || math.Abs(a.Max) > 1e30 || math.Abs(a.Min) > 1e30 {
			return "", fmt.Errorf("an axis of the plot runs from %g to %g", a.Min, a.Max)
		}
	}
	c := vgsvg.New(plotWidth, height)
	p.Draw(draw.New(c))
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return "", err
	}
	s := b.String()
	if i := strings.Index(s, "<svg"); i >= 0 {
		s = s[i:]
	}
	s = svgSize.ReplaceAllString(s, "")
	// Black ink is the page's text colour, so that it shows on a dark page too;
	// the white background is the page's.
	s = strings.NewReplacer("#000000", "currentColor", "#FFFFFF", "none", "#D0D0D0", "var(--line)").Replace(s)
	s = fontFamily.ReplaceAllString(s, `font-family:inherit;`)
	head := fmt.Sprintf(`<svg role="img" aria-label="%s" `, html.EscapeString(title+". "+alt))
	return strings.Replace(s, "<svg ", head, 1), nil
}

var (
	svgSize    = regexp.MustCompile(`\b(width|height)="[0-9.]+pt"`)
	fontFamily = regexp.MustCompile(`font-family:[^;"]+;`)
)

// scale picks the unit of an axis from its largest value.
func (m *maker) scale(k unit.Kind, largest float64) (string, func(float64) float64) {
	u := unit.UnitOf(unit.Format(largest, k, m.o.Sys))
	if u == "" {
		return "", func(x float64) float64 { return x }
	}
	return u, func(x float64) float64 { v, _ := unit.In(x, k, u); return v }
}

func line(p *plot.Plot, i int, name string, pts plotter.XYs) error {
	l, err := plotter.NewLine(pts)
	if err != nil {
		return err
	}
	l.Color, l.Width, l.Dashes = shades[i%len(shades)], vg.Points(1.8), dashes[i%len(dashes)]
	p.Add(l)
	if name != "" {
		p.Legend.Add(name, l)
	}
	return nil
}

func point(p *plot.Plot, i int, name string, pts plotter.XYs) error {
	s, err := plotter.NewScatter(pts)
	if err != nil {
		return err
	}
	s.GlyphStyle = draw.GlyphStyle{Color: ink, Radius: vg.Points(4), Shape: marks[i%len(marks)]}
	p.Add(s)
	if name != "" {
		p.Legend.Add(name, s)
	}
	return nil
}

// plots adds the pictures to their sections.
func (m *maker) plots(s *Sheet) {
	add := func(section string, p *Plot) {
		if p != nil {
			sec := s.section(section)
			sec.Plots = append(sec.Plots, *p)
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
func (m *maker) cyclePlot(what string) *Plot {
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
	return &Plot{ID: "plot-" + what, Title: title,
		Alt: fmt.Sprintf("%s from %s to %s over a cycle of %s", alt, m.show(q, low), m.show(q, high), m.show(mechanics.CycleTime, t)),
		draw: func() (string, error) {
			p := newPlot("time in "+tu, alt+" in "+yu)
			if err := line(p, 0, "", pts); err != nil {
				return "", err
			}
			return svg(p, title, alt+" over time", plotHeight)
		}}
}

// speedPlot shows the permitted travel speed against the free length for the
// four end conditions, with the axis's own point.
func (m *maker) speedPlot() *Plot {
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
	return &Plot{ID: "plot-critical", Title: title,
		Alt: fmt.Sprintf("this axis: %s over %s; 80 %% of the critical speed there would be %s fixed–fixed, %s fixed–supported, %s supported–supported, %s fixed–free",
			m.show(mechanics.TopSpeed, top), m.show(mechanics.Span, span),
			m.show(mechanics.TopSpeed, speed(0, 0, span)), m.show(mechanics.TopSpeed, speed(0, 1, span)), m.show(mechanics.TopSpeed, speed(1, 1, span)), m.show(mechanics.TopSpeed, speed(0, 2, span))),
		draw: func() (string, error) {
			xu, xs := m.scale(unit.Length, span)
			yu, ys := m.scale(unit.Speed, top)
			p := newPlot("free length in "+xu, "travel speed at 80 % of critical in "+yu)
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
						return "", err
					}
				}
			}
			if err := point(p, 0, "this axis", plotter.XYs{{X: xs(span), Y: ys(top)}}); err != nil {
				return "", err
			}
			p.Y.Min = 0
			return svg(p, title, "four curves and the axis's point", plotHeight)
		}}
}

// bucklingPlot shows the buckling load against the loaded length.
func (m *maker) bucklingPlot() *Plot {
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
	return &Plot{ID: "plot-buckling", Title: title,
		Alt: fmt.Sprintf("over %s the shaft buckles at %s, half of it is %s; it is pushed with %s", m.show(mechanics.LoadedLength, length), m.show(mechanics.Buckling, load(length)), m.show(mechanics.Buckling, load(length)/2), m.show(mechanics.PushedForce, pushed)),
		draw: func() (string, error) {
			xu, xs := m.scale(unit.Length, length)
			yu, ys := m.scale(unit.Force, load(length))
			p := newPlot("loaded length in "+xu, "force in "+yu)
			var whole, half plotter.XYs
			for k := range 60 {
				l := length * (0.4 + 1.4*float64(k)/59)
				whole = append(whole, plotter.XY{X: xs(l), Y: ys(load(l))})
				half = append(half, plotter.XY{X: xs(l), Y: ys(load(l) / 2)})
			}
			if err := line(p, 0, "buckles", whole); err != nil {
				return "", err
			}
			if err := line(p, 1, "with safety 2", half); err != nil {
				return "", err
			}
			if err := point(p, 0, "this axis", plotter.XYs{{X: xs(length), Y: ys(pushed)}}); err != nil {
				return "", err
			}
			p.Y.Min = 0
			return svg(p, title, "two curves and the axis's point", plotHeight)
		}}
}

// lifePlot shows life against load.
func (m *maker) lifePlot() *Plot {
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
	asked, hasAsked := c.Value(mechanics.ServiceLife)
	alt := fmt.Sprintf("%s at a mean load of %s on the worse flank; half the load gives eight times the life", m.show(mechanics.LifeYears, years), m.show(mechanics.MeanLoad, worse))
	if hasAsked {
		alt += "; " + m.show(mechanics.ServiceLife, asked) + " are asked"
	}
	return &Plot{ID: "plot-life", Title: title, Alt: alt, draw: func() (string, error) {
		xu, xs := m.scale(unit.Force, worse)
		p := newPlot("mean load of the worse flank in "+xu, "life in years")
		ys := func(x float64) float64 { return x / mechanics.Year }
		var pts plotter.XYs
		for k := range 60 {
			f := worse * math.Pow(4, float64(k)/59-0.5)
			pts = append(pts, plotter.XY{X: xs(f), Y: ys(at(f))})
		}
		if err := line(p, 0, "life", pts); err != nil {
			return "", err
		}
		if hasAsked {
			if err := line(p, 1, "asked", plotter.XYs{{X: pts[0].X, Y: ys(asked)}, {X: pts[len(pts)-1].X, Y: ys(asked)}}); err != nil {
				return "", err
			}
		}
		if err := point(p, 0, "this axis", plotter.XYs{{X: xs(worse), Y: ys(years)}}); err != nil {
			return "", err
		}
		p.Y.Scale, p.Y.Tick.Marker = plot.LogScale{}, plot.LogTicks{Prec: -1}
		return svg(p, title, "a falling line and the axis's point", plotHeight)
	}}
}

// torquePlot shows every phase's torque at its speed inside the motor's
// limits.
func (m *maker) torquePlot() *Plot {
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
	return &Plot{ID: "plot-torque", Title: title,
		Alt: fmt.Sprintf("the motor needs up to %s; it gives %s peak, %s continuous and turns up to %s", m.show(mechanics.PeakTorque, c.V(mechanics.PeakTorque)), m.show(mechanics.PeakTorque, c.V(mechanics.MotorPeakTorque)), m.show(mechanics.PeakTorque, c.V(mechanics.MotorTorque)), m.show(mechanics.MotorMaxSpeed, maxN)),
		draw: func() (string, error) {
			yu, ys := m.scale(unit.Torque, c.V(mechanics.MotorPeakTorque))
			p := newPlot("motor speed in rpm", "torque in "+yu)
			rpm := func(x float64) float64 { v, _ := unit.In(x, unit.RotationSpeed, "rpm"); return v }
			var peak plotter.XYs
			for k := range 41 {
				n := maxN * float64(k) / 40
				peak = append(peak, plotter.XY{X: rpm(n), Y: ys(avail(n))})
			}
			peak = append(peak, plotter.XY{X: rpm(maxN), Y: 0})
			if err := line(p, 0, "peak torque", peak); err != nil {
				return "", err
			}
			if err := line(p, 1, "continuous", plotter.XYs{{X: 0, Y: ys(c.V(mechanics.MotorTorque))}, {X: rpm(maxN), Y: ys(c.V(mechanics.MotorTorque))}}); err != nil {
				return "", err
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
						return "", err
					}
				}
			}
			p.Y.Min, p.X.Min = 0, 0
			return svg(p, title, "points inside the motor's limits", plotHeight)
		}}
}

// bars draws horizontal bars with a line at one. Names stand at the left.
func bars(title, x string, names []string, values []float64, atOne bool) (string, error) {
	p := newPlot(x, "")
	n := len(names)
	vals := make(plotter.Values, n)
	labels := make([]string, n)
	for i := range names { // the first one on top
		vals[n-1-i] = values[i]
		labels[n-1-i] = names[i]
	}
	b, err := plotter.NewBarChart(vals, vg.Points(11))
	if err != nil {
		return "", err
	}
	b.Horizontal, b.Color, b.LineStyle.Width = true, shades[0], 0
	p.Add(b)
	p.NominalY(labels...)
	if atOne {
		if err := line(p, 1, "limit", plotter.XYs{{X: 100, Y: -0.7}, {X: 100, Y: float64(n) - 0.3}}); err != nil {
			return "", err
		}
		p.Legend.Top = false
	}
	p.X.Min = 0
	return svg(p, title, "bars, the longest on top", vg.Points(70+17*float64(n)))
}

// budgetPlot shows the parts of the positioning budget.
func (m *maker) budgetPlot() *Plot {
	c := m.v.Calc
	if !c.Known(mechanics.AccuracyBudget) {
		return nil
	}
	parts := []struct {
		name string
		v    float64
	}{
		{"travel deviation", c.V(mechanics.MeanDeviation)}, {"half the variation", c.V(mechanics.Variation) / 2}, {"heat", c.V(mechanics.ThermalGrowth)},
		{"deflection", c.V(mechanics.ElasticPart)}, {"play", c.V(mechanics.HalfPlay)},
	}
	title := "Positioning budget"
	u, scale := m.scale(unit.Length, c.V(mechanics.AccuracyBudget))
	alt := "together " + m.show(mechanics.AccuracyBudget, c.V(mechanics.AccuracyBudget))
	for _, p := range parts {
		alt += "; " + p.name + " " + m.show(mechanics.AccuracyBudget, p.v)
	}
	asked, hasAsked := c.Value(mechanics.Positioning)
	if !hasAsked {
		asked = 0
	} else {
		alt += "; asked " + m.show(mechanics.Positioning, asked)
	}
	return &Plot{ID: "plot-budget", Title: title, Alt: alt, draw: func() (string, error) {
		p := newPlot("error, half the band, in "+u, "")
		var below *plotter.BarChart
		for i, part := range parts {
			b, err := plotter.NewBarChart(plotter.Values{scale(part.v)}, vg.Points(26))
			if err != nil {
				return "", err
			}
			b.Horizontal, b.Color = true, shades[i%len(shades)]
			b.LineStyle.Color = ink
			if below != nil {
				b.StackOn(below)
			}
			below = b
			p.Add(b)
			p.Legend.Add(part.name, b)
		}
		if hasAsked {
			if err := line(p, 1, "asked", plotter.XYs{{X: scale(asked), Y: -0.6}, {X: scale(asked), Y: 0.6}}); err != nil {
				return "", err
			}
		}
		p.NominalY("")
		p.Y.Min, p.Y.Max = -0.6, 2.2
		p.X.Min = 0
		p.X.Max = scale(math.Max(c.V(mechanics.AccuracyBudget), asked)) * 1.05
		return svg(p, title, "one bar in parts", 2.6*vg.Inch)
	}}
}

// marginPlot shows the use of every rule that compares numbers, the tightest
// on top.
func marginPlot(results []rules.Result) *Plot {
	type bar struct {
		name string
		use  float64
	}
	var list []bar
	for _, r := range results {
		if r.Use == r.Use && (r.State == rules.Passed || r.State == rules.Failed) {
			list = append(list, bar{r.Rule, r.Use})
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
	return &Plot{ID: "plot-margins", Title: title,
		Alt: fmt.Sprintf("%d rules with numbers, %d over their limit; the tightest is %s with %s of what is permitted", len(list), over, list[0].name, unit.Format(list[0].use, unit.Percentage, unit.Metric)),
		draw: func() (string, error) {
			return bars(title, "used of what is permitted in % (cut off at 200 %)", names, vals, true)
		}}
}
