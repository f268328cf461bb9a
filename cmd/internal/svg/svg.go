// Package svg turns plots into SVG elements that take the letters and colours of
// the page they stand in.
package svg

import (
	"bytes"
	"fmt"
	"html"
	"image/color"
	"math"
	"regexp"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgsvg"

	"trammel/cmd/internal/sanitize"
)

// Width is that of all pictures; a page scales them.
const Width = 7.2 * vg.Inch

// New returns a plot with named axes and a grid.
func New(x, y string) *plot.Plot {
	p := plot.New()
	p.X.Label.Text, p.Y.Label.Text = x, y
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle.Font, a.Tick.Label.Font = Letters(11), Letters(10.5)
	}
	g := plotter.NewGrid()
	g.Vertical.Color, g.Horizontal.Color = color.Gray{Y: 0xd0}, color.Gray{Y: 0xd0}
	p.Add(g)
	return p
}

// Letters are of the page's kind, so that texts are as wide as the plot thinks.
func Letters(points float64) font.Font {
	return font.Font{Typeface: plot.DefaultFont.Typeface, Variant: "Sans", Size: vg.Points(points)}
}

// Drawable holds both axes of a plot within what can be drawn.
func Drawable(p *plot.Plot) error {
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		if err := drawable(a); err != nil {
			return err
		}
	}
	return nil
}

// drawable holds an axis within what can be drawn: the tick marks of an axis
// without end, or of one too short for its numbers, would be counted for ever.
func drawable(a *plot.Axis) error {
	width, far := a.Max-a.Min, math.Max(math.Abs(a.Max), math.Abs(a.Min))
	if !(width >= 0) || math.IsInf(width, 0) || far > 1e30 {
		return fmt.Errorf("an axis of the plot runs from %g to %g", a.Min, a.Max)
	}
	if _, log := a.Scale.(plot.LogScale); log && !(a.Min > 1e-30) {
		return fmt.Errorf("a logarithmic axis of the plot runs from %g to %g", a.Min, a.Max)
	}
	if width < 1e-6*far || width < 1e-30 {
		a.Min, a.Max = a.Min-far/2, a.Max+far/2
		if far < 1e-30 {
			a.Min, a.Max = a.Min-0.5, a.Max+0.5
		}
	}
	return nil
}

var (
	size   = regexp.MustCompile(`\b(width|height)="[0-9.]+pt"`)
	family = regexp.MustCompile(`font-family:[^;"]+;`)
	// The page's colours in place of the plot's. Black ink is the page's text
	// colour and a white ground the page's own; of each shade the page has a
	// light and a dark value.
	colours = strings.NewReplacer("#000000", "currentColor", "#FFFFFF", "none", "#D0D0D0", "var(--line)",
		"#1B4F72", "var(--c1)", "#B86E00", "var(--c2)", "#5D8A3C", "var(--c3)", "#943C5B", "var(--c4)", "#808080", "var(--c5)")
)

// Element is what was drawn as one SVG element, with words for those who do not
// see it.
func Element(c *vgsvg.Canvas, words string) (string, error) {
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return "", err
	}
	s := b.String()
	if i := strings.Index(s, "<svg"); i >= 0 {
		s = s[i:]
	}
	s = family.ReplaceAllString(colours.Replace(size.ReplaceAllString(s, "")), "font-family:inherit;")
	// Black is what SVG fills with where nothing is said, and is left out.
	head := fmt.Sprintf(`<svg role="img" fill="currentColor" aria-label="%s" `, html.EscapeString(sanitize.Cell(words)))
	return strings.Replace(s, "<svg ", head, 1), nil
}
