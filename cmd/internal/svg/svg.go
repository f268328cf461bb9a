// Package svg draws charts as SVG elements that take the letters and the colour of the
// page they stand in: ink is currentColor, shades are opacity, and both stand in
// attributes, so that dark pages, print and any policy for content take them as they are.
package svg

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"

	"github.com/mattn/go-runewidth"

	"trammel/cmd/internal/sanitize"
)

// Letter is the size of letters in a chart.
const Letter = 11.0

// advances are the widths of the signs from space to tilde in thousandths of the size, as
// Helvetica has them and Liberation Sans and Arial after it.
var advances = [...]uint16{
	278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
	556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
	1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
	667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
	333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
	556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
}

// spare is how much wider the letters of a page may be: where none of its fonts is
// installed it is set in a wider one.
const spare = 1.2

// Width is the room that a text of a size takes at most.
func Width(s string, size float64) float64 {
	sum := 0.0
	for _, r := range s {
		if i := int(r) - ' '; i >= 0 && i < len(advances) {
			sum += float64(advances[i])
		} else {
			sum += 620 * float64(runewidth.RuneWidth(r))
		}
	}
	return sum * size / 1000 * spare
}

// Fit is as much of a text as a width holds, "" for none of it.
func Fit(s string, size, width float64) string {
	if Width(s, size) <= width+1e-6 {
		return s
	}
	r := []rune(s[:min(len(s), 400)])
	for len(r) > 0 && Width(string(r)+"…", size) > width {
		r = r[:len(r)-1]
	}
	if len(r) == 0 {
		return ""
	}
	return strings.TrimSpace(string(r)) + "…"
}

// cell is the size of the squares of which a canvas knows whether they hold ink.
const cell = 3.0

// A canvas collects the elements of a picture, and knows where ink is.
type canvas struct {
	strings.Builder
	w, h float64
	ink  []bool // of the cells, row by row
}

func (c *canvas) size(w, h float64) {
	c.w, c.h = w, h
	c.ink = make([]bool, (int(w/cell)+1)*(int(h/cell)+1))
}

// num writes a coordinate.
func num(x float64) string {
	return strconv.FormatFloat(math.Round(x*10)/10+0, 'f', -1, 64)
}

// put writes an element, its numbers as coordinates; texts are attributes of our own.
func (c *canvas) put(format string, args ...any) {
	for i, a := range args {
		if x, ok := a.(float64); ok {
			args[i] = num(x)
		}
	}
	fmt.Fprintf(c, format, args...)
}

// cover notes ink in a rectangle.
func (c *canvas) cover(x0, y0, x1, y1 float64) {
	c.cells(x0, y0, x1, y1, func(ink *bool) bool { *ink = true; return true })
}

// free reports a rectangle without ink within the picture.
func (c *canvas) free(x0, y0, x1, y1 float64) bool {
	return x0 >= 0 && y0 >= 0 && x1 <= c.w && y1 <= c.h && c.cells(x0, y0, x1, y1, func(ink *bool) bool { return !*ink })
}

func (c *canvas) cells(x0, y0, x1, y1 float64, each func(*bool) bool) bool {
	wide := int(c.w/cell) + 1
	for k := int(max(y0, 0) / cell); k <= int(min(y1, c.h)/cell); k++ {
		for i := int(max(x0, 0) / cell); i <= int(min(x1, c.w)/cell); i++ {
			if !each(&c.ink[k*wide+i]) {
				return false
			}
		}
	}
	return true
}

// trace notes ink along a line.
func (c *canvas) trace(pts [][2]float64) {
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		n := math.Ceil(math.Max(math.Abs(b[0]-a[0]), math.Abs(b[1]-a[1]))/cell) + 1
		for k := 0.0; k <= n; k++ {
			x, y := a[0]+(b[0]-a[0])*k/n, a[1]+(b[1]-a[1])*k/n
			c.cover(x-1, y-1, x+1, y+1)
		}
	}
}

// bold are the attributes of a text that counts more; its letters are wider.
const bold = ` font-weight="700"`

func width(s, more string) float64 {
	if more == bold {
		return 1.12 * Width(s, Letter)
	}
	return Width(s, Letter)
}

// text writes a text with its baseline at y; x is its middle, its end or, by default, its
// beginning. More are further attributes.
func (c *canvas) text(x, y float64, anchor, s, more string) {
	if s == "" {
		return
	}
	w, x0 := width(s, more), x
	switch anchor {
	case "middle":
		x0 = x - w/2
	case "end":
		x0 = x - w
	}
	c.cover(x0, y-Letter+1, x0+w, y+2)
	if anchor != "" {
		anchor = ` text-anchor="` + anchor + `"`
	}
	c.put(`<text x="%v" y="%v"%v%v>%v</text>`, x, y, anchor, more, html.EscapeString(sanitize.Cell(s)))
}

// label writes a text at the first of some places that is free, and reports whether one was.
func (c *canvas) label(s, more string, places ...[2]float64) bool {
	w := width(s, more)
	for _, p := range places {
		if c.free(p[0]-2, p[1]-Letter, p[0]+w+2, p[1]+3) {
			c.text(p[0], p[1], "", s, more)
			return true
		}
	}
	return false
}

// near writes a text at the free place nearest to a point, with a line that leads to it.
func (c *canvas) near(s, more string, x, y float64) {
	w, best, least := width(s, more), [2]float64{}, math.Inf(1)
	for v := Letter; v < c.h; v += cell {
		for u := 2.0; u+w+2 < c.w; u += 2 * cell {
			d := math.Hypot(x-math.Max(u, math.Min(x, u+w)), y-(v-4))
			if d < least && c.free(u-2, v-Letter, u+w+2, v+3) {
				best, least = [2]float64{u, v}, d
			}
		}
	}
	if math.IsInf(least, 1) {
		return // its words stand in the description
	}
	end := math.Max(best[0], math.Min(x, best[0]+w))
	foot := best[1] + 3
	if y < best[1] {
		foot = best[1] - Letter
	}
	c.put(`<path fill="none" stroke="currentColor" stroke-width="0.6" stroke-opacity="0.6" d="M%v %vL%v %v"/>`, x, y, end, foot)
	c.text(best[0], best[1], "", s, more)
}

// element is the picture as one SVG element, named and described for those who do not see it.
func (c *canvas) element(class, title, words string) string {
	esc := func(s string) string { return html.EscapeString(sanitize.Cell(s)) }
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" class="%s" role="img" viewBox="0 0 %s %s" fill="currentColor" font-size="%s"><title>%s</title><desc>%s</desc>%s</svg>`,
		class, num(c.w), num(c.h), num(Letter), esc(title), esc(words), c.String())
}
