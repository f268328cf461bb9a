package drawing

import (
	"fmt"
	"html"
	"math"
	"slices"
	"strings"
)

// Strokes of ISO 128, from memory: wide for what is declared and to scale, narrow for
// symbols, dimensions and what is only taken.
const (
	wide   = 1.5
	narrow = 0.75
	thin   = 0.6
	heavy  = 1.8
)

// Dashes: of an axis of symmetry, of a part in its other position, of what is not declared.
const (
	centre  = "12 2.5 1.5 2.5"
	phantom = "10 2 1.5 2 1.5 2"
	dashed  = "5 3"
)

// A box is what a text or a part covers, in units of the drawing.
type box struct {
	x0, y0, x1, y1 float64
	text           string // "" for a part
}

func (b box) meets(o box) bool {
	return math.Min(b.x1, o.x1)-math.Max(b.x0, o.x0) > 0.5 && math.Min(b.y1, o.y1)-math.Max(b.y0, o.y0) > 0.5
}

// A canvas collects shapes, and what they cover.
type canvas struct {
	strings.Builder
	width  float64
	id     string // begins the IDs within the page
	texts  []box
	solids []box
	marks  int
}

func (c *canvas) put(format string, args ...any) { fmt.Fprintf(&c.Builder, format, args...) }

// free reports whether nothing covers a box and it lies within the frame.
func (c *canvas) free(b box) bool {
	return b.x0 >= 0 && b.x1 <= c.width && b.y0 >= 0 && !slices.ContainsFunc(c.texts, b.meets) && !slices.ContainsFunc(c.solids, b.meets)
}

// claim keeps letters off a place.
func (c *canvas) claim(x0, y0, x1, y1 float64) {
	c.solids = append(c.solids, box{math.Min(x0, x1), y0, math.Max(x0, x1), y1, ""})
}

// A pen is how a line is drawn; its zero value is a narrow continuous one.
type pen struct {
	w       float64
	dash    string
	opacity float64
}

func (p pen) attributes() string {
	if p.w == 0 {
		p.w = narrow
	}
	s := fmt.Sprintf(` stroke-width="%g"`, p.w)
	if p.dash != "" {
		s += fmt.Sprintf(` stroke-dasharray="%s"`, p.dash)
	}
	if p.opacity > 0 {
		s += fmt.Sprintf(` stroke-opacity="%g"`, p.opacity)
	}
	return s
}

func (c *canvas) line(x0, y0, x1, y1 float64, p pen) {
	c.put(`<path d="M%.1f %.1fL%.1f %.1f"%s/>`, x0, y0, x1, y1, p.attributes())
}

func (c *canvas) path(d string, p pen) { c.put(`<path d="%s"%s/>`, d, p.attributes()) }

func (c *canvas) rect(x, y, w, h float64, p pen) {
	c.put(`<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f"%s/>`, x, y, w, h, p.attributes())
}

func (c *canvas) circle(x, y, r float64, p pen) {
	c.put(`<circle cx="%.1f" cy="%.1f" r="%.1f"%s/>`, x, y, r, p.attributes())
}

func (c *canvas) dot(x, y, r float64) {
	c.put(`<circle cx="%.1f" cy="%.1f" r="%.1f" fill="currentColor" stroke="none"/>`, x, y, r)
}

// arrow is a filled head with its tip at a point, pointing along (dx, dy).
func (c *canvas) arrow(x, y, dx, dy, long, broad float64) {
	n := math.Hypot(dx, dy)
	dx, dy = dx/n, dy/n
	c.put(`<path d="M%.1f %.1fL%.1f %.1fL%.1f %.1fZ" fill="currentColor" stroke="none"/>`, x, y,
		x-dx*long-dy*broad/2, y-dy*long+dx*broad/2, x-dx*long+dy*broad/2, y-dy*long-dx*broad/2)
}

// A hand is how letters are written; its zero value is the usual one.
type hand struct {
	size         float64
	anchor       string // "middle", "end" or "" for the start
	bold, italic bool
}

// text writes a text at a base line. A renderer with other letters is told how wide it
// is to be: two texts that do not meet here meet nowhere.
func (c *canvas) text(x, y float64, s string, h hand) {
	if s == "" {
		return
	}
	b := boxOf(x, y, s, h)
	c.texts = append(c.texts, b)
	style := ""
	if h.bold {
		style += ` font-weight="700"`
	}
	if h.italic {
		style += ` font-style="italic"`
	}
	c.put(`<text x="%.1f" y="%.1f" font-size="%g" textLength="%.1f" lengthAdjust="spacingAndGlyphs"%s fill="currentColor" stroke="none">%s</text>`,
		b.x0, y, size(h), b.x1-b.x0, style, html.EscapeString(s))
}

func size(h hand) float64 {
	if h.size == 0 {
		return 11
	}
	return h.size
}

// boxOf is what a text covers.
func boxOf(x, y float64, s string, h hand) box {
	w := advance(s, size(h), h.bold)
	switch h.anchor {
	case "middle":
		x -= w / 2
	case "end":
		x -= w
	}
	return box{x, y - size(h)*0.76, x + w, y + size(h)*0.21, s}
}

// balloon is a letter in a circle.
func (c *canvas) balloon(x, y float64, letter string) {
	c.circle(x, y, letterRadius, pen{})
	c.text(x, y+3.8, letter, hand{size: 10.5, anchor: "middle"})
	c.claim(x-letterRadius, y-letterRadius, x+letterRadius, y+letterRadius)
}

const (
	letterRadius = 7.5
	markSide     = 15
)

// mark is the number of a finding in a square: filled for an error, heavy for a warning,
// thin for a note, so that no colour is needed to tell them apart.
func (c *canvas) mark(x, y float64, m Mark) {
	const r = markSide / 2.0
	n := fmt.Sprint(m.Number)
	w := advance(n, 11, true)
	switch m.Level {
	case "error":
		c.marks++
		c.texts = append(c.texts, box{x - r, y - r, x + r, y + r, n})
		c.put(`<mask id="%s-m%d" maskUnits="userSpaceOnUse" x="%.1f" y="%.1f" width="17" height="17"><rect x="%.1f" y="%.1f" width="17" height="17" fill="#fff" stroke="none"/><text x="%.1f" y="%.1f" font-size="11" font-weight="700" textLength="%.1f" fill="#000" stroke="none">%s</text></mask>`,
			c.id, c.marks, x-8.5, y-8.5, x-8.5, y-8.5, x-w/2, y+4, w, n)
		c.put(`<rect x="%.1f" y="%.1f" width="%d" height="%d" fill="currentColor" stroke="none" mask="url(#%s-m%d)"/>`, x-r, y-r, markSide, markSide, c.id, c.marks)
		return
	case "warning":
		c.rect(x-r+.8, y-r+.8, markSide-1.6, markSide-1.6, pen{w: 1.6})
	default:
		c.rect(x-r+.4, y-r+.4, markSide-.8, markSide-.8, pen{})
	}
	c.text(x, y+4, n, hand{anchor: "middle", bold: true})
	c.claim(x-r, y-r, x+r, y+r)
}
