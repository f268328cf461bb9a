package sheet

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/svg"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec/unit"
)

// figure makes a figure of a chart, which is drawn when it is written.
func figure(id, title, alt string, c *svg.Chart) *document.Figure {
	return &document.Figure{ID: id, Title: title, Alt: alt, Draw: func() (string, error) { return c.Draw(title, alt) }}
}

// label names an axis with its unit in brackets, since "in in" reads badly.
func label(name, unit string) string { return name + " (" + unit + ")" }

// scale picks the unit of an axis from its largest value.
func (m *maker) scale(k unit.Kind, largest float64) (string, func(float64) float64) {
	u := unit.UnitOf(unit.Format(largest, k, m.o.Sys))
	if u == "" {
		return "", func(x float64) float64 { return x }
	}
	return u, func(x float64) float64 { v, _ := unit.In(x, k, u); return v }
}

// curve is a function between two values.
func curve(from, to float64, f func(x float64) svg.Point) []svg.Point {
	var out []svg.Point
	for k := range 60 {
		out = append(out, f(from+(to-from)*float64(k)/59))
	}
	return out
}

// limit is the first limit of a rule that is in force.
func (m *maker) limit(rule string) float64 {
	l := m.v.InForce.Settings[rules.Book().ByName(rule).Index].Limits[0]
	if l.Value == l.Value {
		return l.Value
	}
	return l.Limit.Default
}

// own is the point of an axis, a square where it is over its limit.
func own(x, y float64, over bool, name string) []svg.Spot {
	return []svg.Spot{{Point: svg.Point{X: x, Y: y}, Shape: map[bool]svg.Shape{false: svg.Dot, true: svg.Square}[over], Name: name}}
}

// plots adds the pictures to their sections, behind the steps.
func (m *maker) plots(s *document.Document) {
	add := func(section string, p *document.Figure) {
		if p == nil {
			return
		}
		at := s.Section(section)
		i := slices.IndexFunc(at.Blocks, func(b document.Block) bool { _, is := b.(*document.Table); return is })
		if i < 0 {
			i = len(at.Blocks)
		}
		at.Blocks = slices.Insert(at.Blocks, i, document.Block(p))
	}
	add("motion", m.cyclePlot("speed"))
	add("forces", m.cyclePlot("force"))
	add("life", m.lifePlot())
	add("speed", m.speedPlot())
	add("strength", m.bucklingPlot())
	add("accuracy", m.budgetPlot())
	add("drive", m.torquePlot())
}

func (m *maker) known(list ...*mechanics.Quantity) bool {
	for _, q := range list {
		if !m.v.Calc.Known(q) {
			return false
		}
	}
	return true
}

// cyclePlot shows speed or force over one cycle, with its peak and the names of the moves.
func (m *maker) cyclePlot(what string) *document.Figure {
	c := m.v.Calc
	q, title, name := mechanics.PhaseTopSpeed, "Speed over the cycle", "travel speed"
	if what == "force" {
		q, title, name = mechanics.PhaseForce, "Force over the cycle", "axial force"
	}
	if !m.known(q, mechanics.PhaseTime, mechanics.CycleTime) {
		return nil
	}
	times, vals, dir := c.Series(mechanics.PhaseTime), c.Series(q), c.Series(mechanics.MoveDirection)
	var pts []svg.Point // in SI units
	spans := make([]svg.Span, len(m.v.Axis.Moves))
	var peak svg.Point
	t, low, high := 0.0, math.Inf(1), math.Inf(-1)
	put := func(t, v float64) {
		pts = append(pts, svg.Point{X: t, Y: v})
		low, high = math.Min(low, v), math.Max(high, v)
		if math.Abs(v) > math.Abs(peak.Y) {
			peak = pts[len(pts)-1]
		}
	}
	for j, d := range times {
		s := &spans[j/mechanics.PhasesPerMove]
		if j%mechanics.PhasesPerMove == 0 {
			s.Name, s.From = m.v.Axis.Moves[j/mechanics.PhasesPerMove].Name, t
		}
		if s.To = t + d; d == 0 {
			continue
		}
		a, b := vals[j], vals[j]
		if what == "speed" {
			v := vals[j] * dir[j/mechanics.PhasesPerMove]
			a, b = v, v
			switch mechanics.Part(j % mechanics.PhasesPerMove) {
			case mechanics.RampUp:
				a = 0
			case mechanics.RampDown:
				b = 0
			}
		}
		put(t, a)
		put(t+d, b)
		t += d
	}
	if peak.Y == 0 {
		return nil
	}
	tu, ts := m.scale(unit.Time, c.V(mechanics.CycleTime))
	yu, ys := m.scale(q.Kind, peak.Y)
	for i := range pts {
		pts[i] = svg.Point{X: ts(pts[i].X), Y: ys(pts[i].Y)}
	}
	for i := range spans {
		spans[i].From, spans[i].To = ts(spans[i].From), ts(spans[i].To)
	}
	return figure("plot-"+what, title, fmt.Sprintf("%s from %s to %s over a cycle of %s", name, m.show(q, low), m.show(q, high), m.show(mechanics.CycleTime, t)), &svg.Chart{
		X: svg.Axis{Label: label("time", tu)}, Y: svg.Axis{Label: label(name, yu)}, Spans: spans,
		Lines: []svg.Line{{Weight: svg.Own, Points: pts}}, Spots: own(ts(peak.X), ys(peak.Y), false, "peak "+m.show(q, peak.Y)),
	})
}

// speedPlot shows the permitted travel speed against the free length for the four pairs of
// ends, those of the axis as its limit, with the axis's own point.
func (m *maker) speedPlot() *document.Figure {
	c := m.v.Calc
	if !m.known(mechanics.Critical, mechanics.Lead, mechanics.TopSpeed) || c.V(mechanics.Turning) == mechanics.NutTurns {
		return nil
	}
	span, top, share := c.V(mechanics.Span), c.V(mechanics.TopSpeed), m.limit("critical-speed")
	xu, xs := m.scale(unit.Length, span)
	yu, ys := m.scale(unit.Speed, top)
	title, permitted := "Travel speed against free length", unit.Format(share, unit.Percentage, m.o.Sys)+" of critical"
	words := fmt.Sprintf("this axis: %s over %s; %s speed there would be", m.show(mechanics.TopSpeed, top), m.show(mechanics.Span, span), permitted)
	chart := &svg.Chart{X: svg.Axis{Label: label("free length", xu)}, Y: svg.Axis{Label: label("travel speed at "+permitted, yu)}, Ends: true}
	sign, over := " ", false
	for _, e := range []struct {
		name string
		a, b float64
	}{{"fixed–fixed", mechanics.FixedEnd, mechanics.FixedEnd}, {"fixed–supported", mechanics.FixedEnd, mechanics.SupportedEnd}, {"supported–supported", mechanics.SupportedEnd, mechanics.SupportedEnd}, {"fixed–free", mechanics.FixedEnd, mechanics.FreeEnd}} {
		lambda, line := mechanics.Lambda(e.a, e.b), svg.Line{Name: e.name}
		push := 0.0
		if lambda == c.V(mechanics.EndRoot) {
			push, line.Weight = c.V(mechanics.ThermalPush), svg.LimitLeft
		}
		speed := func(l float64) float64 {
			n := mechanics.CriticalSpeed(lambda, l, c.V(mechanics.RootDiameter), c.V(mechanics.ElasticModulus), c.V(mechanics.Density)) * mechanics.UnderPush(push, l, c.V(mechanics.ElasticModulus)*c.V(mechanics.RootMoment))
			return share * n / (2 * math.Pi) * c.V(mechanics.Lead)
		}
		for _, p := range curve(0.4*span, 1.8*span, func(l float64) svg.Point { return svg.Point{X: l, Y: speed(l)} }) {
			if p.Y <= 2.5*top {
				line.Points = append(line.Points, svg.Point{X: xs(p.X), Y: ys(p.Y)})
			}
		}
		chart.Lines = append(chart.Lines, line)
		words += sign + m.show(mechanics.TopSpeed, speed(span)) + " " + e.name
		sign, over = ", ", over || line.Weight == svg.LimitLeft && top > speed(span)
	}
	chart.Spots = own(xs(span), ys(top), over, "this axis: "+m.show(mechanics.TopSpeed, top))
	return figure("plot-critical", title, words, chart)
}

// bucklingPlot shows the buckling load against the loaded length.
func (m *maker) bucklingPlot() *document.Figure {
	c := m.v.Calc
	if !m.known(mechanics.Buckling, mechanics.WholePush) || c.V(mechanics.WholePush) <= 0 {
		return nil
	}
	length, fixity, pushed, safety := c.V(mechanics.LoadedLength), c.V(mechanics.BucklingFixity), c.V(mechanics.WholePush), m.limit("buckling")
	if c.V(mechanics.ThermalPush) > 0 && c.V(mechanics.SpanBuckling) < c.V(mechanics.Buckling) { // the whole span, between two fixed ends
		length, fixity = c.V(mechanics.Span), mechanics.Fixity(mechanics.FixedFixed)
	}
	load := func(l float64) float64 {
		return mechanics.BucklingLoad(fixity, l, c.V(mechanics.RootDiameter), c.V(mechanics.ElasticModulus), c.V(mechanics.YieldStrength))
	}
	xu, xs := m.scale(unit.Length, length)
	yu, ys := m.scale(unit.Force, load(length))
	at := func(safety float64) []svg.Point {
		return curve(0.4*length, 1.8*length, func(l float64) svg.Point { return svg.Point{X: xs(l), Y: ys(load(l) / safety)} })
	}
	limit := "safety " + unit.Format(safety, unit.None, m.o.Sys)
	alt := fmt.Sprintf("over %s the buckling load is %s, with %s %s; peak compressive load %s", m.show(mechanics.LoadedLength, length), m.show(mechanics.Buckling, load(length)), limit, m.show(mechanics.Buckling, load(length)/safety), m.show(mechanics.WholePush, pushed))
	return figure("plot-buckling", "Buckling load against loaded length", alt, &svg.Chart{
		X: svg.Axis{Label: label("loaded length", xu)}, Y: svg.Axis{Label: label("force", yu)},
		Lines: []svg.Line{{Name: "buckles", Points: at(1)}, {Name: "limit, " + limit, Weight: svg.LimitLeft, Points: at(safety)}},
		Spots: own(xs(length), ys(pushed), pushed > load(length)/safety, "this axis: "+m.show(mechanics.WholePush, pushed)),
	})
}

// lifePlot shows life against load.
func (m *maker) lifePlot() *document.Figure {
	c := m.v.Calc
	if !m.known(mechanics.LifeYears, mechanics.MeanPlus, mechanics.MeanMinus) {
		return nil
	}
	worse, years := math.Max(c.V(mechanics.MeanPlus), c.V(mechanics.MeanMinus)), c.V(mechanics.LifeYears)
	if worse <= 0 || math.IsInf(years, 0) {
		return nil
	}
	alt := fmt.Sprintf("%s at a mean load of %s on the more heavily loaded flank; half the load gives eight times the life", m.show(mechanics.LifeYears, years), m.show(mechanics.MeanLoad, worse))
	xu, xs := m.scale(unit.Force, worse)
	ys := func(x float64) float64 { return x / mechanics.Year }
	// The whole life scales with the cube of a common factor on all loads.
	line := curve(-0.5, 0.5, func(k float64) svg.Point {
		f := worse * math.Pow(4, k)
		return svg.Point{X: xs(f), Y: ys(years * math.Pow(worse/f, 3))}
	})
	chart := &svg.Chart{X: svg.Axis{Label: label("mean load on the more heavily loaded flank", xu)}, Y: svg.Axis{Label: label("life", "years"), Log: true}, Lines: []svg.Line{{Name: "life", Weight: svg.Own, Points: line}}}
	required, ok := c.Value(mechanics.RequiredLife)
	if ok {
		alt += "; " + m.show(mechanics.RequiredLife, required) + " required"
		chart.Lines = append(chart.Lines, svg.Line{Name: "required " + m.show(mechanics.RequiredLife, required), Weight: svg.LimitRight, Points: []svg.Point{{X: line[0].X, Y: ys(required)}, {X: line[59].X, Y: ys(required)}}})
	}
	chart.Spots = own(xs(worse), ys(years), ok && years < required, "this axis: "+m.show(mechanics.LifeYears, years))
	return figure("plot-life", "Life against load", alt, chart)
}

// torquePlot shows every phase's torque at its speed inside the motor's limits.
func (m *maker) torquePlot() *document.Figure {
	c := m.v.Calc
	if !m.known(mechanics.MotorPhaseTorque, mechanics.PhaseTime, mechanics.PhaseTopSpeed, mechanics.MotorPeakTorque, mechanics.MotorTorque, mechanics.MotorMaxSpeed, mechanics.Lead, mechanics.Ratio) {
		return nil
	}
	top, share := c.V(mechanics.MotorMaxSpeed), m.limit("motor-peak-torque")
	yu, ys := m.scale(unit.Torque, c.V(mechanics.MotorPeakTorque))
	rpm := func(x float64) float64 { v, _ := unit.In(x, unit.RotationSpeed, "rpm"); return v }
	available := func(n float64) float64 {
		return mechanics.AvailableTorque(n, c.V(mechanics.MotorPeakTorque), c.V(mechanics.MotorRatedSpeed), c.V(mechanics.MotorTopTorque), top)
	}
	gives := func(share float64) []svg.Point {
		return curve(0, top, func(n float64) svg.Point { return svg.Point{X: rpm(n), Y: ys(share * available(n))} })
	}
	across := func(torque float64) []svg.Point { return []svg.Point{{Y: ys(torque)}, {X: rpm(top), Y: ys(torque)}} }
	chart := &svg.Chart{
		X: svg.Axis{Label: label("motor speed", "rpm")}, Y: svg.Axis{Label: label("torque", yu)},
		Lines: []svg.Line{{Name: "peak torque of the motor", Points: gives(1)}, {Name: "limit, " + unit.Format(share, unit.Percentage, m.o.Sys) + " of it", Weight: svg.LimitLeft, Points: append(gives(share), svg.Point{X: rpm(top)})}, {Name: "rated torque", Points: across(c.V(mechanics.MotorTorque))}},
	}
	if rms, ok := c.Value(mechanics.RMSTorque); ok {
		chart.Lines = append(chart.Lines, svg.Line{Name: "rms torque " + m.show(mechanics.RMSTorque, rms), Weight: svg.Own, Points: across(rms)})
	}
	times, torque, speed := c.Series(mechanics.PhaseTime), c.Series(mechanics.MotorPhaseTorque), c.Series(mechanics.PhaseTopSpeed)
	for j, x := range torque {
		if times[j] == 0 {
			continue
		}
		n := mechanics.ScrewSpeed(speed[j], c.V(mechanics.Lead)) * c.V(mechanics.Ratio)
		s := svg.Spot{Point: svg.Point{X: rpm(n), Y: ys(math.Abs(x))}}
		if math.Abs(x) > share*available(n) {
			s.Shape = svg.Square
		}
		if math.Abs(x) == c.V(mechanics.PeakTorque) {
			s.Name = fmt.Sprintf("peak %s, %s, %s", m.show(mechanics.PeakTorque, math.Abs(x)), m.v.Axis.Moves[j/mechanics.PhasesPerMove].Name, mechanics.Part(j%mechanics.PhasesPerMove))
			if s.Shape == svg.Ring {
				s.Shape = svg.Dot
			}
		}
		chart.Spots = append(chart.Spots, s)
	}
	words := fmt.Sprintf("peak motor torque %s; the motor gives %s peak, %s continuous, up to %s", m.show(mechanics.PeakTorque, c.V(mechanics.PeakTorque)), m.show(mechanics.PeakTorque, c.V(mechanics.MotorPeakTorque)), m.show(mechanics.PeakTorque, c.V(mechanics.MotorTorque)), m.show(mechanics.MotorMaxSpeed, top))
	return figure("plot-torque", "Torque and speed of every phase", words, chart)
}

// budgetPlot shows the parts of the positioning budget, each where it stands in the sum.
func (m *maker) budgetPlot() *document.Figure {
	c := m.v.Calc
	if !m.known(mechanics.AccuracyBudget) {
		return nil
	}
	sum := c.V(mechanics.AccuracyBudget)
	u, scale := m.scale(unit.Length, sum)
	show := func(x float64) string { return m.show(mechanics.AccuracyBudget, x) }
	alt := "sum " + show(sum)
	chart := &svg.Chart{X: svg.Axis{Label: label("error, ±", u)}, Rows: []string{"sum"}, Bars: []svg.Bar{{To: scale(sum), Name: show(sum)}}}
	at := 0.0
	for _, p := range []struct {
		name string
		v    float64
	}{
		{"travel deviation", c.V(mechanics.MeanDeviation)}, {"half the variation", c.V(mechanics.Variation) / 2}, {"thermal growth", c.V(mechanics.ThermalGrowth)},
		{"deflection", c.V(mechanics.ElasticPart)}, {"play", c.V(mechanics.HalfPlay)},
	} {
		chart.Bars = append(chart.Bars, svg.Bar{Row: float64(len(chart.Rows)), From: scale(at), To: scale(at + p.v), Name: show(p.v)})
		chart.Rows = append(chart.Rows, p.name)
		alt += "; " + p.name + " " + show(p.v)
		at += p.v
	}
	if required, ok := c.Value(mechanics.Positioning); ok {
		chart.Limit, chart.Name = scale(required), "required "+show(required)
		alt += "; " + chart.Name
	}
	return figure("plot-budget", "Positioning budget", alt, chart)
}

// marginPlot shows the use of every rule that compares numbers, the tightest on top.
func marginPlot(results []judge.Result) *document.Figure {
	var list []judge.Result
	for _, r := range results {
		if r.Utilisation == r.Utilisation && (r.State == judge.Passed || r.State == judge.Failed) {
			list = append(list, r)
		}
	}
	if len(list) == 0 {
		return nil
	}
	sort.SliceStable(list, func(i, k int) bool { return list[i].Utilisation > list[k].Utilisation })
	chart, over := &svg.Chart{X: svg.Axis{Label: label("limit used", "%"), End: 125}, Limit: 100, Name: "limit"}, 0
	share := func(x float64) string { return unit.Format(x, unit.Percentage, unit.Metric) }
	for i, r := range list {
		chart.Rows = append(chart.Rows, r.Rule)
		chart.Bars = append(chart.Bars, svg.Bar{Row: float64(i), To: math.Min(r.Utilisation, 10) * 100, Name: share(r.Utilisation)})
		if r.Utilisation > 1+1e-9 {
			over++
		}
	}
	words := fmt.Sprintf("%d rules with numbers, %d over their limit; the smallest margin is that of %s, with %s of its limit used", len(list), over, list[0].Rule, share(list[0].Utilisation))
	return figure("plot-margins", "Margins of all rules", words, chart)
}
