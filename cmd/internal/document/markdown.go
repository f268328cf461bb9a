package document

import (
	"io"
	"strings"

	"trammel/cmd/internal/sanitize"
)

// Markdown writes documents as Markdown. The title of a summary is no heading but strong,
// since it stands in a page of somebody else's.
func Markdown(w io.Writer, docs ...*Document) error {
	var m markdownWriter
	for i, d := range docs {
		if i > 0 {
			m.WriteString("\n")
		}
		d.markdown(&m)
	}
	_, err := io.WriteString(w, m.String())
	return err
}

type markdownWriter struct {
	strings.Builder
	inList bool // the block before ended with an item
}

func (w *markdownWriter) put(format string, args ...any) { sanitize.Fprintf(w, format, args...) }

// item begins an item of a list, which goes on the list before it.
func (w *markdownWriter) item() {
	if !w.inList {
		w.WriteString("\n")
	}
	w.inList = true
	w.WriteString("- ")
}

// block begins anything else.
func (w *markdownWriter) block() {
	w.inList = false
	w.WriteString("\n")
}

func (d *Document) markdown(w *markdownWriter) {
	w.inList = false
	if d.Layout == Summary {
		w.put("**%s**\n", sanitize.Markdown(d.Title))
	} else {
		w.put("# %s\n\n", sanitize.Markdown(d.Title))
	}
	if d.About != "" {
		w.put("%s\n\n", sanitize.Markdown(d.About))
	}
	d.Facts.lines(w)
	for i := range d.Front {
		if s := &d.Front[i]; s.Title != "" {
			w.block()
			w.put("## %s\n", sanitize.Markdown(s.Title))
		}
		for _, b := range d.Front[i].Blocks {
			b.markdown(w)
		}
		w.inList = false
	}
	for i := range d.Sections {
		s := &d.Sections[i]
		switch {
		case d.Layout != Summary:
			w.block()
			w.put("## %d %s\n", i+1, sanitize.Markdown(s.Title))
		case s.Title != "":
			w.block()
			w.put("**%s**\n", sanitize.Markdown(s.Title))
		}
		for _, b := range s.Blocks {
			b.markdown(w)
		}
		w.inList = false
	}
}

func (p Paragraph) markdown(w *markdownWriter) {
	w.block()
	w.put("%s\n", sanitize.Markdown(string(p)))
}

func (f Facts) markdown(w *markdownWriter) {
	w.block()
	f.lines(w)
}

func (f Facts) lines(w *markdownWriter) {
	for _, x := range f {
		w.put("- %s: %s\n", sanitize.Markdown(x.Name), sanitize.Markdown(x.Value))
	}
}

func (s Steps) markdown(w *markdownWriter) {
	w.block()
	w.WriteString("| quantity | symbol | formula | with numbers | result | source |\n|---|---|---|---|--:|---|\n")
	for i := range s {
		st := &s[i]
		general, put := st.formula()
		result := st.Result
		if st.Note != "" {
			result += " (" + st.Note + ")"
		}
		if st.Aside != "" {
			result += " (" + st.Aside + ")"
		}
		w.row([]string{st.Title, st.Symbol, general, put, result, st.Source})
	}
}

func (f *Figure) markdown(w *markdownWriter) {
	w.block()
	w.put("%s: %s\n", f.Title, sanitize.Markdown(f.Alt))
}

func (f *Finding) markdown(w *markdownWriter) {
	for i, l := range f.lines() {
		if i == 0 {
			w.item()
		} else {
			w.WriteString("  - ")
		}
		w.put("%s\n", sanitize.Markdown(l))
	}
}

func (l List) markdown(w *markdownWriter) {
	for _, x := range l {
		w.item()
		w.WriteString(sanitize.Markdown(x.Text))
		if x.At != "" {
			w.put(" (%s)", sanitize.Markdown(x.At))
		}
		w.WriteString("\n")
		for _, below := range x.Items {
			w.put("  - %s\n", sanitize.Markdown(below))
		}
	}
}

func (c Code) markdown(w *markdownWriter) {
	w.block()
	for _, l := range c {
		w.put("    %s\n", l)
	}
}

func (Widget) markdown(*markdownWriter) {}

func (t *Table) markdown(w *markdownWriter) {
	w.block()
	if t.Caption != "" {
		w.put("%s\n\n", sanitize.Markdown(t.Caption))
	}
	head := t.Head
	if len(head) == 0 && len(t.Rows) > 0 { // Markdown has no table without
		head = make([]string, len(t.Rows[0]))
	}
	w.row(head)
	w.WriteString("|")
	for i := range head {
		if t.number(i) {
			w.WriteString("--:|")
		} else {
			w.WriteString("---|")
		}
	}
	w.WriteString("\n")
	for i, r := range t.Rows {
		w.row(r, func(column int, text string) string {
			if t.Marks[[2]int{i, column}].Strong {
				return "**" + text + "**"
			}
			return text
		})
	}
	if t.Rest != "" {
		w.put("\n%s\n", sanitize.Markdown(t.Rest))
	}
}

// row writes the cells of a table, each as it is marked.
func (w *markdownWriter) row(cells []string, mark ...func(int, string) string) {
	w.WriteString("|")
	for i, c := range cells {
		c = sanitize.Markdown(c)
		for _, m := range mark {
			c = m(i, c)
		}
		w.WriteString(" " + c + " |")
	}
	w.WriteString("\n")
}
