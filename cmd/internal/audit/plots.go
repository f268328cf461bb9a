package audit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/sanitize"
	"trammel/cmd/internal/svg"
	"trammel/rules/judge"
)

// figure makes a figure of a chart, which is drawn when it is written.
func figure(id, title, alt string, c *svg.Chart) *document.Figure {
	return &document.Figure{ID: id, Title: title, Alt: alt, Draw: func() (string, error) { return c.Draw(title, alt) }}
}

// cut is the use at which the plot of margins ends.
const cut = 200.0

// A spread is how the use of a rule's limit spreads over the axes, in %.
type spread struct {
	name             string
	low, q1, mid, q3 float64
	high             float64
	n                int
	over             []float64 // the uses beyond the limit
	share            float64
}

// marginPlot shows for each rule that compares numbers how its use spreads over
// the axes.
func (f *Fleet) marginPlot() *document.Figure {
	const id, title = "plot-margins", "Use of each rule's limit over the fleet"
	var list []spread
	for _, i := range f.ruleOrder() {
		var uses []float64
		for _, r := range f.rows {
			if s, use := r.result(i); use == use && (s == judge.Passed || s == judge.Failed) {
				uses = append(uses, math.Min(use*100, cut))
			}
		}
		if len(uses) == 0 {
			continue
		}
		slices.Sort(uses)
		at := func(q float64) float64 { return uses[int(math.Round(q*float64(len(uses)-1)))] }
		s := spread{name: f.ruleShown(i), low: at(0.05), q1: at(0.25), mid: at(0.5), q3: at(0.75), high: at(0.95), n: len(uses)}
		for _, u := range uses {
			if u > 100+1e-4 {
				s.over = append(s.over, u)
			}
		}
		s.share = float64(len(s.over)) / float64(s.n)
		list = append(list, s)
	}
	if len(list) == 0 {
		return &document.Figure{ID: id, Title: title, Alt: "no rule that compares numbers could be judged"}
	}
	slices.SortStableFunc(list, func(a, b spread) int { return cmp.Or(cmp.Compare(b.share, a.share), cmp.Compare(b.high, a.high)) })
	const most = 40
	more := len(list) - most
	if more > 0 {
		list = list[:most]
	}
	var broken []string
	for _, s := range list {
		if len(s.over) > 0 {
			broken = append(broken, fmt.Sprintf("%s %d of %d", s.name, len(s.over), s.n))
		}
	}
	alt := fmt.Sprintf("%s; thin line: 5th to 95th percentile of the axes, thick line: middle half, stroke: median, square: an axis over the limit; 100 %% is the limit. ", plural(len(list), "rule", "rules"))
	if len(broken) == 0 {
		alt += "No axis is over a limit"
	} else {
		alt += "Over the limit: " + strings.Join(broken, ", ")
	}
	if more > 0 {
		alt += fmt.Sprintf("; %d further rules are left out", more)
	}
	return figure(id, title, alt, drawSpreads(list))
}

// drawSpreads draws a row for each rule, with every axis that is over its limit.
func drawSpreads(list []spread) *svg.Chart {
	c := &svg.Chart{X: svg.Axis{Label: "limit used in % (cut off at 200 %)", End: cut}, Limit: 100, Name: "limit"}
	for i, s := range list {
		y := float64(i)
		c.Rows = append(c.Rows, sanitize.Line(s.name))
		c.Bars = append(c.Bars, svg.Bar{Row: y, From: s.low, To: s.high, Thin: true}, svg.Bar{Row: y, From: s.q1, To: math.Min(s.q3, 100)})
		c.Spots = append(c.Spots, svg.Spot{Point: svg.Point{X: s.mid, Y: y}, Shape: svg.Tick})
		if len(s.over) > 0 {
			c.Bars[len(c.Bars)-1].Name = fmt.Sprintf("%d of %d", len(s.over), s.n)
		}
		last := 0.0
		for _, u := range s.over {
			if u = math.Round(u); u != last { // of those on one place one is drawn
				c.Spots = append(c.Spots, svg.Spot{Point: svg.Point{X: u, Y: y}, Shape: svg.Square})
			}
			last = u
		}
	}
	return c
}

// agePlot shows life against years in service.
func (f *Fleet) agePlot() *document.Figure {
	const id, title = "plot-age", "Life against years in service"
	list, noAge, noLife := f.aging()
	if len(list) == 0 {
		return &document.Figure{ID: id, Title: title, Alt: "no axis has both a declared age (duty.commissioned or duty.hours_so_far) and a computed life"}
	}
	const top = topYears
	over, soon := 0, 0
	// Thousands of points fall on few places; each place is drawn once.
	seen := map[[2]int]bool{}
	var spots []svg.Spot
	for _, l := range list {
		x, y := math.Min(l.Years, top), math.Min(l.lifeYears, top)
		if l.Remaining <= 0 {
			over++
		} else if l.Remaining <= 2 {
			soon++
		}
		k := [2]int{int(x * 3), int(y * 3)}
		if seen[k] {
			continue
		}
		seen[k] = true
		spots = append(spots, svg.Spot{Point: svg.Point{X: x, Y: y}, Shape: map[bool]svg.Shape{true: svg.Square, false: svg.Ring}[l.Remaining <= 0]})
	}
	alt := fmt.Sprintf("%s with a known age: %d past the end of their life (below the line, squares), %d within two years of it, %d later (rings). Values above %g years are drawn at the edge",
		plural(len(list), "axis", "axes"), over, soon, len(list)-over-soon, top)
	if noAge+noLife > 0 {
		alt += fmt.Sprintf("; %d axes without known age or life are not shown", noAge+noLife)
	}
	return figure(id, title, alt, &svg.Chart{
		X: svg.Axis{Label: "years in service at the declared duty", End: top}, Y: svg.Axis{Label: "life in years", End: top}, Spots: spots,
		Lines: []svg.Line{{Name: "end of life", Weight: svg.LimitRight, Points: []svg.Point{{}, {X: top, Y: top}}}},
	})
}

// topYears ends the plot of ages: beyond, the position says no more.
const topYears = 40.0

// coveragePlot shows the machines of which least could be judged.
func (f *Fleet) coveragePlot() *document.Figure {
	const id, title = "plot-coverage", "Coverage by machine"
	var list []MachineSum
	whole := 0
	for _, m := range f.Machines() {
		switch c := m.Coverage(); {
		case c != c:
		case c == 1:
			whole++
		default:
			list = append(list, m)
		}
	}
	slices.SortStableFunc(list, func(a, b MachineSum) int { return cmp.Compare(a.Coverage(), b.Coverage()) })
	if len(list) == 0 {
		return &document.Figure{ID: id, Title: title, Alt: "all rules that apply were judged on every machine"}
	}
	const most = 30
	alt := fmt.Sprintf("%s fully judged, %d not; lowest: %s, %s", plural(whole, "machine", "machines"), len(list), list[0].Machine, percent(list[0].Coverage()))
	if len(list) > most {
		list = list[:most]
		alt += fmt.Sprintf("; the %d lowest are shown", most)
	}
	c := &svg.Chart{X: svg.Axis{Label: "rules judged in % of those that apply", End: 100}}
	for i, m := range list {
		c.Rows = append(c.Rows, sanitize.Line(m.Machine))
		c.Bars = append(c.Bars, svg.Bar{Row: float64(i), To: m.Coverage() * 100, Name: percent(m.Coverage())})
	}
	return figure(id, title, alt, c)
}

// greasingPlot shows how many axes are due in each month.
func greasingPlot(months []Month) *document.Figure {
	c := &svg.Chart{X: svg.Axis{Label: "axes due"}}
	var words []string
	for i, m := range months {
		name := fmt.Sprintf("%s, %s", plural(m.Axes, "axis", "axes"), plural(m.Greasings, "greasing", "greasings"))
		c.Rows = append(c.Rows, m.Month)
		c.Bars = append(c.Bars, svg.Bar{Row: float64(i), To: float64(m.Axes), Name: name})
		words = append(words, m.Month+": "+name)
	}
	return figure("plot-greasing", "Regreasing by month", strings.Join(words, "; "), c)
}
