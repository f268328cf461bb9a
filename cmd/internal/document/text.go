package document

import (
	"fmt"
	"io"
	"strings"

	"github.com/mattn/go-runewidth"

	"trammel/cmd/internal/sanitize"
)

// Text writes documents for a terminal.
func Text(w io.Writer, docs ...*Document) error {
	var t textWriter
	for i, d := range docs {
		if i > 0 {
			t.WriteString("\n\n")
		}
		d.text(&t)
	}
	_, err := io.WriteString(w, t.String())
	return err
}

// A textWriter writes blocks for a terminal. In a summary what stands below a title is
// set in and runs as it is; on paper text is folded.
type textWriter struct {
	strings.Builder
	summary bool
	indent  string
}

func (w *textWriter) put(format string, args ...any) { sanitize.Fprintf(w, format, args...) }

func (d *Document) text(w *textWriter) {
	w.summary, w.indent = d.Layout == Summary, ""
	w.heading(d.Title, "=")
	if d.About != "" {
		w.put("%s\n", sanitize.Cell(d.About))
	}
	d.Facts.text(w)
	for i := range d.Front {
		s := &d.Front[i]
		w.WriteString("\n")
		if s.Title != "" {
			w.heading(s.Title, "-")
		}
		for _, b := range s.Blocks {
			b.text(w)
		}
	}
	for i := range d.Sections {
		s := &d.Sections[i]
		w.indent = ""
		if i > 0 || s.Title != "" {
			w.WriteString("\n")
		}
		switch {
		case w.summary && s.Title != "":
			w.heading(s.Title, "")
			w.indent = "  "
		case !w.summary:
			w.heading(fmt.Sprintf("%d  %s", i+1, s.Title), "-")
		}
		for _, b := range s.Blocks {
			b.text(w)
		}
	}
}

// heading writes a title, on paper underlined.
func (w *textWriter) heading(title, rule string) {
	title = sanitize.Cell(title)
	w.put("%s\n", title)
	if !w.summary {
		w.put("%s\n", strings.Repeat(rule, runewidth.StringWidth(title)))
	}
}

func (p Paragraph) text(w *textWriter) {
	if w.summary {
		w.put("%s%s\n", w.indent, string(p))
		return
	}
	for _, l := range fold(string(p), 96) {
		w.put("%s\n", l)
	}
}

func (f Facts) text(w *textWriter) {
	for _, x := range f {
		w.put("%s%s: %s\n", w.indent, x.Name, sanitize.Cell(x.Value))
	}
}

func (s Steps) text(w *textWriter) {
	for i := range s {
		s[i].text(w)
	}
}

// formula gives a step's formula and the same with numbers put in, which is
// empty where it says nothing new.
func (s *Step) formula() (general, put string) {
	general = s.Formula.Text(nil)
	if s.Note == "" && s.Result != SeeTable {
		put = s.Formula.Text(s.Values)
	}
	if put == general || put == s.Result {
		put = ""
	}
	return general, put
}

func (s *Step) text(w *textWriter) {
	w.put("\n%s\n", s.Title)
	left := strings.Repeat(" ", runewidth.StringWidth(s.Symbol))
	s.lines(w, s.Symbol, nil)
	if _, put := s.formula(); put != "" {
		s.lines(w, left, s.Values)
	}
	result := sanitize.Cell(s.Result)
	if s.Note != "" {
		result += " (" + sanitize.Cell(s.Note) + ")"
	}
	w.put("   %s = %s\n", left, result)
	if s.Aside != "" {
		w.put("   %s\n", s.Aside)
	}
	w.put("   source: %s\n", s.Source)
}

// lines writes a formula behind its symbol, its own names below it.
func (s *Step) lines(w *textWriter, symbol string, values map[string]string) {
	for i, l := range s.Formula.Lines(values) {
		if i == 0 {
			w.put("   %s = %s\n", symbol, l)
		} else {
			w.put("   %s   %s\n", strings.Repeat(" ", runewidth.StringWidth(s.Symbol)), l)
		}
	}
}

func (f *Figure) text(w *textWriter) {
	w.put("\n%s%s: %s\n", w.indent, f.Title, sanitize.Cell(f.Alt))
}

// lines are those of a finding, the same in text and Markdown.
func (f *Finding) lines() []string {
	head := fmt.Sprintf("%s: %s: %s [%s]", sanitize.Cell(f.Place), f.Level, sanitize.Cell(f.Message), f.Rule)
	if f.Number > 0 {
		head = fmt.Sprintf("[%d] ", f.Number) + head
	}
	return append([]string{head}, f.More...)
}

func (f *Finding) text(w *textWriter) {
	for i, l := range f.lines() {
		w.put("%s%s%s\n", w.indent, []string{"", "   "}[min(i, 1)], sanitize.Cell(l))
	}
}

func (l List) text(w *textWriter) {
	sign := "* "
	if w.summary {
		sign = w.indent + "  "
	}
	for _, x := range l {
		t := sanitize.Cell(x.Text)
		if x.At != "" {
			t = sanitize.Cell(x.At) + ": " + t
		}
		w.put("%s%s\n", sign, t)
		for _, below := range x.Items {
			w.put("%s  %s\n", strings.Repeat(" ", len(sign)), sanitize.Cell(below))
		}
	}
}

func (c Code) text(w *textWriter) {
	for _, l := range c {
		w.put("%s%s\n", w.indent, l)
	}
}

func (Widget) text(*textWriter) {}

func (t *Table) text(w *textWriter) {
	indent := "   "
	if w.summary {
		indent = w.indent
	} else {
		w.WriteString("\n")
	}
	if t.Caption != "" {
		w.put("%s%s\n", w.indent, sanitize.Cell(t.Caption))
		if w.summary {
			indent += "  "
		}
	}
	width, heads := t.widths(w.summary)
	for _, h := range heads {
		t.line(w, indent, width, h)
	}
	if !w.summary {
		total := 2 * (len(width) - 1)
		for _, n := range width {
			total += n
		}
		w.put("%s%s\n", indent, strings.Repeat("-", total))
	}
	for _, r := range t.Rows {
		t.line(w, indent, width, r)
	}
	if t.Rest != "" {
		w.put("%s%s\n", indent, t.Rest)
	}
}

// widths are those of the columns, with the lines of the head: a head is as wide as its
// column's longest word and folded over several lines, in a summary as wide as it is.
func (t *Table) widths(summary bool) (width []int, heads [][]string) {
	measure := func(cells []string) {
		for i, c := range cells {
			if i == len(width) {
				width = append(width, 0)
			}
			width[i] = max(width[i], runewidth.StringWidth(sanitize.Cell(c)))
		}
	}
	for _, r := range t.Rows {
		measure(r)
	}
	if len(t.Head) == 0 {
		return width, nil
	}
	if summary {
		measure(t.Head)
		return width, [][]string{t.Head}
	}
	for i, h := range t.Head {
		if i == len(width) {
			width = append(width, 0)
		}
		for _, word := range strings.Fields(h) {
			width[i] = max(width[i], runewidth.StringWidth(word))
		}
		for k, l := range fold(h, max(width[i], 12)) {
			if k == len(heads) {
				heads = append(heads, make([]string, len(t.Head)))
			}
			heads[k][i] = l
		}
	}
	for _, h := range heads {
		measure(h)
	}
	return width, heads
}

// line writes cells in their columns.
func (t *Table) line(w *textWriter, indent string, width []int, cells []string) {
	var l strings.Builder
	for i, c := range cells {
		c = sanitize.Cell(c)
		pad := strings.Repeat(" ", width[i]-runewidth.StringWidth(c))
		if i > 0 {
			l.WriteString("  ")
		}
		if t.number(i) {
			l.WriteString(pad + c)
		} else {
			l.WriteString(c + pad)
		}
	}
	w.put("%s%s\n", indent, strings.TrimRight(l.String(), " "))
}

// fold breaks a text into lines of a width, between words.
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
