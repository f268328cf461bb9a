package audit

import (
	"cmp"
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/sanitize"
	"trammel/cmd/internal/svg"
	"trammel/rules/judge"
)

var (
	ink    = color.Gray{Y: 0}
	shades = []color.Color{color.RGBA{R: 0x1b, G: 0x4f, B: 0x72, A: 255}, color.RGBA{R: 0xb8, G: 0x6e, B: 0x00, A: 255}}
)

// figure makes a figure of a fleet, drawn with plot when it is written.
func figure(id, title, alt string, height vg.Length, plot func() (*plot.Plot, error)) *document.Figure {
	return &document.Figure{ID: id, Title: title, Alt: alt, Draw: func() (string, error) {
		p, err := plot()
		if err != nil {
			return "", err
		}
		if err := svg.Drawable(p); err != nil {
			return "", err
		}
		c := vgsvg.New(svg.Width, height)
		p.Draw(draw.New(c))
		return svg.Element(c, title+". "+alt)
	}}
}

func stroke(p *plot.Plot, shade color.Color, width float64, pts ...plotter.XY) error {
	l, err := plotter.NewLine(plotter.XYs(pts))
	if err != nil {
		return err
	}
	l.Color, l.Width = shade, vg.Points(width)
	p.Add(l)
	return nil
}

func points(p *plot.Plot, shade color.Color, radius float64, shape draw.GlyphDrawer, pts plotter.XYs) error {
	s, err := plotter.NewScatter(pts)
	if err != nil {
		return err
	}
	s.GlyphStyle = draw.GlyphStyle{Color: shade, Radius: vg.Points(radius), Shape: shape}
	p.Add(s)
	return nil
}

// cut is the use at which the plot of margins ends.
const cut = 200.0

// A spread is how the use of a rule's limit spreads over the axes, in %.
type spread struct {
	name             string
	low, q1, mid, q3 float64
	high             float64
	n, over          int
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
				s.over++
			}
		}
		s.share = float64(s.over) / float64(s.n)
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
		if s.over > 0 {
			broken = append(broken, fmt.Sprintf("%s %d of %d", s.name, s.over, s.n))
		}
	}
	alt := fmt.Sprintf("%s; thin line: 5th to 95th percentile of the axes, thick line: middle half, dot: median; 100 %% is the limit. ", plural(len(list), "rule", "rules"))
	if len(broken) == 0 {
		alt += "No axis is over a limit"
	} else {
		alt += "Over the limit: " + strings.Join(broken, ", ")
	}
	if more > 0 {
		alt += fmt.Sprintf("; %d further rules are left out", more)
	}
	n := len(list)
	return figure(id, title, alt, vg.Points(60+17*float64(n)), func() (*plot.Plot, error) { return drawSpreads(list) })
}

// drawSpreads draws a line for each rule.
func drawSpreads(list []spread) (*plot.Plot, error) {
	p := svg.New("limit used in % (cut off at 200 %)", "")
	names := make([]string, len(list))
	n := len(list)
	var mids plotter.XYs
	for i, s := range list {
		y := float64(n - 1 - i)
		names[n-1-i] = sanitize.Line(s.name)
		if err := stroke(p, shades[0], 1.2, plotter.XY{X: s.low, Y: y}, plotter.XY{X: s.high, Y: y}); err != nil {
			return nil, err
		}
		if err := stroke(p, shades[0], 7, plotter.XY{X: s.q1, Y: y}, plotter.XY{X: s.q3, Y: y}); err != nil {
			return nil, err
		}
		mids = append(mids, plotter.XY{X: s.mid, Y: y})
	}
	if err := stroke(p, shades[1], 1.8, plotter.XY{X: 100, Y: -0.7}, plotter.XY{X: 100, Y: float64(n) - 0.3}); err != nil {
		return nil, err
	}
	if err := points(p, ink, 3, draw.CircleGlyph{}, mids); err != nil {
		return nil, err
	}
	p.NominalY(names...)
	p.X.Min, p.X.Max = 0, cut
	p.Y.Min, p.Y.Max = -0.7, float64(n)-0.3
	return p, nil
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
	var past, alive plotter.XYs
	for _, l := range list {
		x, y := math.Min(l.Years, top), math.Min(l.lifeYears, top)
		if l.Remaining <= 0 {
			over++
		} else if l.Remaining <= 2 {
			soon++
		}
		k := [2]int{int(x * 5), int(y * 5)}
		if seen[k] {
			continue
		}
		seen[k] = true
		if l.Remaining <= 0 {
			past = append(past, plotter.XY{X: x, Y: y})
		} else {
			alive = append(alive, plotter.XY{X: x, Y: y})
		}
	}
	alt := fmt.Sprintf("%s with a known age: %d past the end of their life (below the line, crosses), %d within two years of it, %d later (rings). Values above %g years are drawn at the edge",
		plural(len(list), "axis", "axes"), over, soon, len(list)-over-soon, top)
	if noAge+noLife > 0 {
		alt += fmt.Sprintf("; %d axes without known age or life are not shown", noAge+noLife)
	}
	return figure(id, title, alt, 3.6*vg.Inch, func() (*plot.Plot, error) { return drawAges(alive, past) })
}

// topYears ends the plot of ages: beyond, the position says no more.
const topYears = 40.0

// drawAges draws the axes whose life goes on and those whose life is over.
func drawAges(alive, past plotter.XYs) (*plot.Plot, error) {
	const top = topYears
	p := svg.New("years in service at the declared duty", "life in years")
	if err := stroke(p, shades[1], 1.8, plotter.XY{}, plotter.XY{X: top, Y: top}); err != nil {
		return nil, err
	}
	if len(alive) > 0 {
		if err := points(p, shades[0], 3, draw.RingGlyph{}, alive); err != nil {
			return nil, err
		}
	}
	if len(past) > 0 {
		if err := points(p, ink, 3.5, draw.CrossGlyph{}, past); err != nil {
			return nil, err
		}
	}
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 0, top*1.02, 0, top*1.02
	return p, nil
}

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
	return figure(id, title, alt, vg.Points(60+17*float64(len(list))), func() (*plot.Plot, error) { return drawCoverage(list) })
}

// drawCoverage draws a bar for each machine.
func drawCoverage(list []MachineSum) (*plot.Plot, error) {
	n := len(list)
	names, vals := make([]string, n), make(plotter.Values, n)
	for i, m := range list {
		names[n-1-i], vals[n-1-i] = shorten(sanitize.Line(m.Machine)), m.Coverage()*100
	}
	p := svg.New("rules judged in % of those that apply", "")
	b, err := plotter.NewBarChart(vals, vg.Points(11))
	if err != nil {
		return nil, err
	}
	b.Horizontal, b.Color, b.LineStyle.Width = true, shades[0], 0
	p.Add(b)
	p.NominalY(names...)
	p.X.Min, p.X.Max = 0, 100
	return p, nil
}

// shorten keeps names from pushing the plot off the page.
func shorten(s string) string {
	if r := []rune(s); len(r) > 32 {
		return string(r[:31]) + "…"
	}
	return s
}
