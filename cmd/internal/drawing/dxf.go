package drawing

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"trammel/cmd/internal/sanitize"
)

// Layers of a drawing for CAD systems.
const (
	onOutline    = "OUTLINE"    // what is declared, to scale
	onThread     = "THREAD"     // roots of threads
	onOpen       = "OPEN"       // what is not declared: dashed, not to be measured
	onCentre     = "CENTRE"     // axis of symmetry
	onDimensions = "DIMENSIONS" // dimension lines with their numbers
	onWords      = "WORDS"
)

// dxfLayers gives each its colour number and line type.
var dxfLayers = []struct {
	name, lines string
	colour      int
}{
	{onOutline, "CONTINUOUS", 7}, {onThread, "CONTINUOUS", 8}, {onOpen, "DASHED", 1},
	{onCentre, "CENTER", 5}, {onDimensions, "CONTINUOUS", 3}, {onWords, "CONTINUOUS", 7},
}

// dxfLines are the line types with their dashes and, negative, gaps in millimetres.
var dxfLines = []struct {
	name   string
	dashes []float64
}{{"CONTINUOUS", nil}, {"DASHED", []float64{4, -2}}, {"CENTER", []float64{12, -2.5, 1.5, -2.5}}}

// Height of letters, and how wide one is at most, in millimetres.
const (
	dxfTall = 3.5
	dxfWide = 0.8 * dxfTall
)

// A dxf is a drawing in the text form of DXF R12 (AC1009, group codes from memory), which
// every CAD system reads. Coordinates are millimetres, y upwards.
type dxf struct {
	entities  strings.Builder
	low, high [2]float64
}

func newDXF() *dxf {
	return &dxf{low: [2]float64{math.Inf(1), math.Inf(1)}, high: [2]float64{math.Inf(-1), math.Inf(-1)}}
}

// dxfGroup writes one group: a code and its value.
func dxfGroup(b *strings.Builder, code int, value any) {
	if x, ok := value.(float64); ok {
		text := strconv.FormatFloat(math.Round(x*1e6)/1e6+0, 'f', -1, 64)
		if !strings.Contains(text, ".") {
			text += ".0"
		}
		value = text
	}
	fmt.Fprintf(b, "%3d\r\n%v\r\n", code, value)
}

func groups(b *strings.Builder, pairs ...any) {
	for i := 0; i < len(pairs); i += 2 {
		dxfGroup(b, pairs[i].(int), pairs[i+1])
	}
}

func (d *dxf) covers(x, y float64) {
	d.low, d.high = [2]float64{min(d.low[0], x), min(d.low[1], y)}, [2]float64{max(d.high[0], x), max(d.high[1], y)}
}

func (d *dxf) line(layer string, x0, y0, x1, y1 float64) {
	d.covers(x0, y0)
	d.covers(x1, y1)
	groups(&d.entities, 0, "LINE", 8, layer, 10, x0, 20, y0, 11, x1, 21, y1)
}

// arc goes against the clock, angles in degrees.
func (d *dxf) arc(layer string, x, y, radius, from, to float64) {
	d.covers(x-radius, y-radius)
	d.covers(x+radius, y+radius)
	groups(&d.entities, 0, "ARC", 8, layer, 10, x, 20, y, 40, radius, 50, from, 51, to)
}

// text writes at a base line: side 0 begins at x, 1 has its middle there, 2 ends there.
func (d *dxf) text(layer string, x, y float64, side int, s string) {
	if s == "" {
		return
	}
	from := x - float64(side)/2*dxfWidth(s)
	d.covers(from, y)
	d.covers(from+dxfWidth(s), y+dxfTall)
	groups(&d.entities, 0, "TEXT", 8, layer, 10, x, 20, y, 40, dxfTall, 1, dxfText(s))
	if side > 0 {
		groups(&d.entities, 72, side, 11, x, 21, y)
	}
}

func dxfWidth(s string) float64 { return dxfWide * float64(len([]rune(s))) }

// dxfText writes letters that R12 has no code for as readers take them: %%c, %%p and %%d
// for the signs of diameter, tolerance and degree, \U+ and four digits for others.
func dxfText(s string) string {
	var b strings.Builder
	for _, r := range sanitize.Line(s) {
		switch {
		case dxfSigns[r] != "":
			b.WriteString(dxfSigns[r])
		case r == '%' || r == '\\' || r == '^' || r > '~' && r < 0x10000:
			fmt.Fprintf(&b, `\U+%04X`, r)
		case r < ' ' || r > '~':
			b.WriteByte('?')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

var dxfSigns = map[rune]string{'⌀': "%%c", '±': "%%p", '°': "%%d", '×': "x", '–': "-"}

// write writes the file.
func (d *dxf) write(w io.Writer) error {
	var b strings.Builder
	groups(&b, 0, "SECTION", 2, "HEADER", 9, "$ACADVER", 1, "AC1009",
		9, "$EXTMIN", 10, d.low[0], 20, d.low[1], 30, 0.0, 9, "$EXTMAX", 10, d.high[0], 20, d.high[1], 30, 0.0,
		9, "$LTSCALE", 40, 1.0, 0, "ENDSEC", 0, "SECTION", 2, "TABLES", 0, "TABLE", 2, "LTYPE", 70, len(dxfLines))
	for _, l := range dxfLines {
		long := 0.0
		for _, x := range l.dashes {
			long += math.Abs(x)
		}
		groups(&b, 0, "LTYPE", 2, l.name, 70, 0, 3, "", 72, 65, 73, len(l.dashes), 40, long)
		for _, x := range l.dashes {
			dxfGroup(&b, 49, x)
		}
	}
	groups(&b, 0, "ENDTAB", 0, "TABLE", 2, "LAYER", 70, 1+len(dxfLayers), 0, "LAYER", 2, "0", 70, 0, 62, 7, 6, "CONTINUOUS")
	for _, l := range dxfLayers {
		groups(&b, 0, "LAYER", 2, l.name, 70, 0, 62, l.colour, 6, l.lines)
	}
	groups(&b, 0, "ENDTAB", 0, "TABLE", 2, "STYLE", 70, 1,
		0, "STYLE", 2, "STANDARD", 70, 0, 40, 0.0, 41, 0.8, 50, 0.0, 71, 0, 42, dxfTall, 3, "txt", 4, "",
		0, "ENDTAB", 0, "ENDSEC", 0, "SECTION", 2, "BLOCKS", 0, "ENDSEC", 0, "SECTION", 2, "ENTITIES")
	b.WriteString(d.entities.String())
	groups(&b, 0, "ENDSEC", 0, "EOF")
	_, err := io.WriteString(w, b.String())
	return err
}
