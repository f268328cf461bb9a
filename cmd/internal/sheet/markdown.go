package sheet

import (
	"io"
	"strings"

	"trammel/cmd/internal/sanitize"
)

// Markdown writes sheets as Markdown.
func Markdown(w io.Writer, sheets ...*Sheet) error {
	var b strings.Builder
	for i, s := range sheets {
		if i > 0 {
			b.WriteString("\n")
		}
		s.markdown(&b)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (s *Sheet) markdown(b *strings.Builder) {
	sanitize.Fprintf(b, "# %s\n\n", sanitize.Markdown(s.Title))
	if s.About != "" {
		sanitize.Fprintf(b, "%s\n\n", sanitize.Markdown(s.About))
	}
	factsMarkdown(b, s.Facts)
	for i := range s.Sections {
		sec := &s.Sections[i]
		sanitize.Fprintf(b, "\n## %d %s\n", i+1, sec.Title)
		if sec.Intro != "" {
			sanitize.Fprintf(b, "\n%s\n", sanitize.Markdown(sec.Intro))
		}
		if len(sec.Facts) > 0 {
			b.WriteString("\n")
			factsMarkdown(b, sec.Facts)
		}
		if len(sec.Steps) > 0 {
			b.WriteString("\n| quantity | symbol | formula | with numbers | result | source |\n|---|---|---|---|--:|---|\n")
		}
		for k := range sec.Steps {
			st := &sec.Steps[k]
			general, put := st.formula()
			result := st.Result
			if st.Note != "" {
				result += " (" + st.Note + ")"
			}
			sanitize.Fprintf(b, "| %s | %s | %s | %s | %s | %s |\n", sanitize.Markdown(st.Title), sanitize.Markdown(st.Symbol), sanitize.Markdown(general), sanitize.Markdown(put), sanitize.Markdown(result), sanitize.Markdown(st.Source))
		}
		for k := range sec.Tables {
			sec.Tables[k].markdown(b)
		}
		for _, p := range sec.Plots {
			sanitize.Fprintf(b, "\n%s: %s\n", p.Title, sanitize.Markdown(p.Alt))
		}
		if len(sec.Findings)+len(sec.List) > 0 {
			b.WriteString("\n")
		}
		for _, f := range sec.Findings {
			for k, l := range findingLines(&f) {
				if k == 0 {
					sanitize.Fprintf(b, "- %s\n", sanitize.Markdown(l))
				} else {
					sanitize.Fprintf(b, "  - %s\n", sanitize.Markdown(strings.TrimSpace(l)))
				}
			}
		}
		for _, l := range sec.List {
			sanitize.Fprintf(b, "- %s\n", sanitize.Markdown(l))
		}
	}
}

func factsMarkdown(b *strings.Builder, facts [][2]string) {
	for _, f := range facts {
		sanitize.Fprintf(b, "- %s: %s\n", f[0], sanitize.Markdown(f[1]))
	}
}

func (t *Table) markdown(b *strings.Builder) {
	b.WriteString("\n")
	if t.Caption != "" {
		sanitize.Fprintf(b, "%s\n\n", sanitize.Markdown(t.Caption))
	}
	row := func(cells []string) {
		b.WriteString("|")
		for _, c := range cells {
			b.WriteString(" " + sanitize.Markdown(c) + " |")
		}
		b.WriteString("\n")
	}
	row(t.Head)
	b.WriteString("|")
	for i := range t.Head {
		if t.Number[i] {
			b.WriteString("--:|")
		} else {
			b.WriteString("---|")
		}
	}
	b.WriteString("\n")
	for _, r := range t.Rows {
		row(r)
	}
}
