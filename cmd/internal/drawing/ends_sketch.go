package drawing

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// Columns that an end and the thread take in a sketch, and at most how many rows from its
// axis to the thickest part.
const (
	endColumns    = 28
	threadColumns = 16
	sketchRows    = 4
)

// sketchLetters stand in the steps of a sketch.
var sketchLetters = []struct{ what, letter string }{{"shoulder", "o"}, {"bearing seat", "b"}, {"thread for the lock nut", "m"}, {"stub", "s"}, {"", "p"}}

// profile draws both ends in lines of text, the thread between them broken: lengths roughly
// in proportion, a row for each diameter, what is not declared dotted. The legend names its
// letters.
func (e *Ends) profile() (lines []string, legend string) {
	g := &endsGrid{sizes: []float64{e.thread}}
	for i := range e.ends {
		for _, s := range e.ends[i].steps {
			g.sizes = append(g.sizes, s.diameter)
		}
	}
	slices.Sort(g.sizes)
	g.sizes = slices.CompactFunc(g.sizes, func(a, b float64) bool { return math.Abs(a-b) < 1e-6 })
	g.sizes = g.sizes[max(0, len(g.sizes)-sketchRows):]
	g.rows = make([][]rune, 2*len(g.sizes)+1)
	for i := range g.rows {
		g.rows[i] = []rune(strings.Repeat(" ", 2*endColumns+threadColumns+1))
	}
	g.part(endColumns, endColumns+threadColumns, e.thread, '=', "//")
	seen := map[string]bool{}
	for side := range e.ends {
		at, out := endColumns, -1
		if side == 1 {
			at, out = endColumns+threadColumns, 1
		}
		for i, wide := range e.ends[side].columns() {
			s := &e.ends[side].steps[i]
			line := '-'
			if s.noLength || s.what != "" && s.size == "" {
				line = '.'
			}
			seen[s.what] = true
			g.part(min(at, at+out*wide), max(at, at+out*wide), s.diameter, line, letterOf(s.what))
			at += out * wide
		}
	}
	for _, r := range g.rows {
		lines = append(lines, strings.TrimRight(string(r), " "))
	}
	return lines, legendOf(seen)
}

func letterOf(what string) string {
	for _, x := range sketchLetters {
		if x.what == what {
			return x.letter
		}
	}
	return ""
}

// legendOf names the letters that were used.
func legendOf(seen map[string]bool) string {
	list := []string{"= thread, broken"}
	for _, x := range sketchLetters {
		if seen[x.what] {
			list = append(list, x.letter+" "+cmp.Or(x.what, plain))
		}
	}
	return strings.Join(list, ", ") + "; dotted: not declared; not to scale"
}

// columns is how wide each step of an end is drawn: by its length, three at least.
func (e *end) columns() []int {
	out := make([]int, len(e.steps))
	room := float64(endColumns - 3*len(e.steps))
	for i, s := range e.steps {
		out[i] = 3 + int(room*s.length/e.whole())
	}
	return out
}

// An endsGrid is a sketch in the making: its rows, and the diameters in it in order.
type endsGrid struct {
	rows  [][]rune
	sizes []float64
}

// part draws a cylinder between two columns with a word at its axis.
func (g *endsGrid) part(from, to int, d float64, line rune, word string) {
	high, axis := 1, len(g.sizes)
	for i, x := range g.sizes {
		if d > x-1e-6 {
			high = i + 1
		}
	}
	for _, row := range []int{axis - high, axis + high} {
		for x := from + 1; x < to; x++ {
			g.rows[row][x] = line
		}
	}
	for row := axis - high; row <= axis+high; row++ {
		g.rows[row][from], g.rows[row][to] = '|', '|'
	}
	for i, r := range word {
		g.rows[axis][(from+to-len(word)+1)/2+i] = r
	}
}
