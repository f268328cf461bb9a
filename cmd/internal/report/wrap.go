package report

import (
	"strings"

	"github.com/mattn/go-runewidth"
)

// narrowest is the width below which wrapping would help nobody.
const narrowest = 40

// wrap breaks a line between words so that it has the width at most, what follows its
// first line indented. Sequences that colour take no width. A word that is longer stays
// whole: it may be a path to be copied.
func wrap(line string, width, indent int) string {
	if width < narrowest || visible(line) <= width {
		return line
	}
	start := len(line) - len(strings.TrimLeft(line, " "))
	var b strings.Builder
	b.WriteString(line[:start])
	at := start
	for i, word := range words(line[start:]) {
		n := visible(word)
		switch {
		case i == 0:
		case at+1+n > width:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			at = indent
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += n
	}
	return b.String()
}

// words splits a text between words, but not between a number and its unit.
func words(text string) (out []string) {
	number := false
	for _, w := range strings.Split(text, " ") {
		if last := len(out) - 1; number && len(w) <= 6 {
			out[last] += " " + w
		} else {
			out = append(out, w)
		}
		number = w != "" && strings.Trim(w, "(-+±.,0123456789") == ""
	}
	return out
}

// visible is the width of a text on a terminal, without sequences that colour.
func visible(s string) int {
	n := 0
	for {
		head, rest, found := strings.Cut(s, "\x1b[")
		n += runewidth.StringWidth(head)
		if !found {
			return n
		}
		_, s, _ = strings.Cut(rest, "m")
	}
}

// A span is a piece of a line between two columns of a terminal, from 0, the end not
// included.
type span struct{ from, to int }

// cutOut takes of a line what fits into a width around a mark, and says where the mark is in
// it. What is left out shows as an ellipsis.
func cutOut(text string, mark span, width int) (string, span) {
	line := []rune(text)
	column := make([]int, len(line)+1)
	for i, r := range line {
		column[i+1] = column[i] + runewidth.RuneWidth(r)
	}
	total := column[len(line)]
	if total <= width {
		return text, mark
	}
	from, before := 0, ""
	if mark.to > width-1 { // a third of the width shows what stands before the mark, unless the end needs less
		for from < len(line) && column[from] < mark.from-width/3 && total-column[from]+1 > width {
			from++
		}
	}
	if from > 0 {
		before = "…"
	}
	shift := column[from] - len([]rune(before))
	to := from
	for to < len(line) && (column[to+1]-shift < width || to == len(line)-1 && column[to+1]-shift <= width) {
		to++
	}
	after := ""
	if to < len(line) {
		after = "…"
	}
	end := min(mark.to, column[to]) - shift
	return before + string(line[from:to]) + after, span{mark.from - shift, max(end, mark.from-shift+1)}
}

// spread puts spaces in the place of tabs, whose stops are eight columns apart.
func spread(line string) string {
	var b strings.Builder
	at := 0
	for _, r := range line {
		if r == '\t' {
			n := 8 - at%8
			b.WriteString(strings.Repeat(" ", n))
			at += n
			continue
		}
		b.WriteRune(r)
		at += runewidth.RuneWidth(r)
	}
	return b.String()
}
