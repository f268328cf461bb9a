package sheet

import (
	"fmt"
	"io"
	"strings"

	"github.com/mattn/go-runewidth"

	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
)

// formula gives a step's formula and the same with numbers put in, which is
// empty where it says nothing new.
func (s *Step) formula() (general, put string) {
	general = s.Formula.put(nil)
	if s.Formula.op == "=" {
		general = s.Formula.kids[1].put(nil)
	}
	if s.Note == "" && s.Result != "see table" {
		put = s.Formula.put(s.Values)
	}
	if put == general || put == s.Result {
		put = ""
	}
	return general, put
}

// Text writes sheets for a terminal.
func Text(w io.Writer, sheets ...*Sheet) error {
	var b strings.Builder
	for i, s := range sheets {
		if i > 0 {
			b.WriteString("\n\n")
		}
		s.text(&b)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (s *Sheet) text(b *strings.Builder) {
	heading(b, sanitize.Cell(s.Title), "=")
	if s.About != "" {
		sanitize.Fprintf(b, "%s\n", sanitize.Cell(s.About))
	}
	factsText(b, s.Facts)
	n := 0
	for i := range s.Sections {
		sec := &s.Sections[i]
		b.WriteString("\n")
		n++
		heading(b, fmt.Sprintf("%d  %s", n, sec.Title), "-")
		if sec.Intro != "" {
			for _, l := range fold(sec.Intro, 96) {
				sanitize.Fprintf(b, "%s\n", l)
			}
		}
		factsText(b, sec.Facts)
		for k := range sec.Steps {
			sec.Steps[k].text(b)
		}
		for k := range sec.Tables {
			b.WriteString("\n")
			sec.Tables[k].text(b)
		}
		for _, p := range sec.Plots {
			sanitize.Fprintf(b, "\n%s: %s\n", p.Title, sanitize.Cell(p.Alt))
		}
		for _, f := range sec.Findings {
			for _, l := range findingLines(&f) {
				sanitize.Fprintf(b, "%s\n", l)
			}
		}
		for _, l := range sec.List {
			sanitize.Fprintf(b, "* %s\n", sanitize.Cell(l))
		}
	}
}

func factsText(b *strings.Builder, facts [][2]string) {
	for _, f := range facts {
		sanitize.Fprintf(b, "%s: %s\n", f[0], sanitize.Cell(f[1]))
	}
}

func heading(b *strings.Builder, title, rule string) {
	sanitize.Fprintf(b, "%s\n%s\n", title, strings.Repeat(rule, runewidth.StringWidth(title)))
}

func (s *Step) text(b *strings.Builder) {
	sanitize.Fprintf(b, "\n%s\n", s.Title)
	left := strings.Repeat(" ", runewidth.StringWidth(s.Symbol))
	sanitize.Fprintf(b, "   %s = ", s.Symbol)
	s.Formula.lines(b, nil, left)
	if _, put := s.formula(); put != "" {
		sanitize.Fprintf(b, "   %s = ", left)
		s.Formula.lines(b, s.Values, left)
	}
	result := sanitize.Cell(s.Result)
	if s.Note != "" {
		result += " (" + sanitize.Cell(s.Note) + ")"
	}
	sanitize.Fprintf(b, "   %s = %s\n", left, result)
	sanitize.Fprintf(b, "   source: %s\n", s.Source)
}

// lines writes a formula, each of its own names on a line, behind what left makes room
// for.
func (n *node) lines(b *strings.Builder, values map[string]string, left string) {
	if n.op != "where" {
		sanitize.Fprintf(b, "%s\n", n.put(values))
		return
	}
	values = without(values, n.own())
	for i, k := range n.kids {
		before := []string{"", "   " + left + "   where ", "   " + left + "     and "}[min(i, 2)]
		sanitize.Fprintf(b, "%s%s\n", before, k.put(values))
	}
}

// findingLines are a finding's lines, the same in all forms.
func findingLines(f *judge.Finding) []string {
	out := []string{fmt.Sprintf("%s:%d: %s: %s [%s]", sanitize.Cell(f.Place.File), f.Place.Line, f.Severity, sanitize.Cell(f.Message), f.Rule)}
	if len(f.Enters) > 0 {
		var list []string
		for _, e := range f.Enters {
			s := sanitize.Cell(e.Words)
			switch {
			case e.Assumed != "":
				s += " (assumed: " + e.Assumed + ")"
			case e.Place.Valid():
				s += " (" + sanitize.Cell(judge.At(e.Place, f.Place.File)) + ")"
			}
			list = append(list, s)
		}
		out = append(out, "   enters: "+strings.Join(list, ", "))
	}
	var fixes []string
	for i := range f.Fixes {
		fixes = append(fixes, f.Fixes[i].Words)
	}
	if len(fixes) > 0 {
		out = append(out, "   fix with any one of: "+sanitize.Cell(strings.Join(fixes, " · ")))
	}
	if c := rules.Book().Caution(f.Rule); c != "" {
		out = append(out, "   caution: "+c)
	}
	return out
}

func (t *Table) text(b *strings.Builder) {
	if t.Caption != "" {
		sanitize.Fprintf(b, "%s\n", sanitize.Cell(t.Caption))
	}
	width := make([]int, len(t.Head))
	cell := func(rows [][]string) {
		for _, r := range rows {
			for i, c := range r {
				width[i] = max(width[i], runewidth.StringWidth(sanitize.Cell(c)))
			}
		}
	}
	// A head as wide as its column's longest word, folded over several lines.
	heads := make([][]string, len(t.Head))
	lines := 1
	for i, h := range t.Head {
		for _, w := range strings.Fields(h) {
			width[i] = max(width[i], runewidth.StringWidth(w))
		}
	}
	cell(t.Rows)
	for i, h := range t.Head {
		heads[i] = fold(h, max(width[i], 12))
		for _, l := range heads[i] {
			width[i] = max(width[i], runewidth.StringWidth(l))
		}
		lines = max(lines, len(heads[i]))
	}
	row := func(cells []string) {
		var l strings.Builder
		for i, c := range cells {
			c = sanitize.Cell(c)
			pad := strings.Repeat(" ", width[i]-runewidth.StringWidth(c))
			if i > 0 {
				l.WriteString("  ")
			}
			if t.Number[i] {
				l.WriteString(pad + c)
			} else {
				l.WriteString(c + pad)
			}
		}
		sanitize.Fprintf(b, "   %s\n", strings.TrimRight(l.String(), " "))
	}
	for k := range lines {
		var cells []string
		for i := range t.Head {
			if k < len(heads[i]) {
				cells = append(cells, heads[i][k])
			} else {
				cells = append(cells, "")
			}
		}
		row(cells)
	}
	total := 2 * (len(width) - 1)
	for _, w := range width {
		total += w
	}
	sanitize.Fprintf(b, "   %s\n", strings.Repeat("-", total))
	for _, r := range t.Rows {
		row(r)
	}
}

func fold(s string, width int) []string {
	var out []string
	cur := ""
	for _, w := range strings.Fields(s) {
		if cur != "" && runewidth.StringWidth(cur)+1+runewidth.StringWidth(w) > width {
			out = append(out, cur)
			cur = ""
		}
		if cur != "" {
			cur += " "
		}
		cur += w
	}
	return append(out, cur)
}
