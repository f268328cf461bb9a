package sheet

import (
	"fmt"
	"io"
	"strings"
)

// md makes untrusted text harmless in Markdown: shown as text, never as markup.
func md(s string) string {
	s = mdEscape.Replace(strings.TrimSpace(plainText(s)))
	// What makes a list or a heading where it begins a line.
	digits := len(s) - len(strings.TrimLeft(s, "0123456789"))
	switch rest := s[digits:]; {
	case digits > 0 && (strings.HasPrefix(rest, ". ") || strings.HasPrefix(rest, ") ")):
		s = s[:digits] + `\` + rest
	case digits == 0 && rest != "" && strings.ContainsRune("-+=", rune(rest[0])) && !isNumber(rest):
		s = `\` + s
	}
	return s
}

// isNumber reports a negative number, which begins no list.
func isNumber(s string) bool { return len(s) > 1 && s[1] >= '0' && s[1] <= '9' }

var mdEscape = strings.NewReplacer(
	`\`, `\\`, "`", "\\`", "*", `\*`, "_", `\_`, "[", `\[`, "]", `\]`, "<", "&lt;", ">", "&gt;", "&", "&amp;", "|", `\|`, "#", `\#`, "~", `\~`, "!", `\!`, "$", `\$`, "@", "&#64;",
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
	fmt.Fprintf(b, "# %s\n\n", md(s.Title))
	if s.About != "" {
		fmt.Fprintf(b, "%s\n\n", md(s.About))
	}
	for _, f := range s.Facts {
		fmt.Fprintf(b, "- %s: %s\n", f[0], md(f[1]))
	}
	for i := range s.Sections {
		sec := &s.Sections[i]
		fmt.Fprintf(b, "\n## %d %s\n", i+1, sec.Title)
		if sec.Intro != "" {
			fmt.Fprintf(b, "\n%s\n", md(sec.Intro))
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
			fmt.Fprintf(b, "| %s | %s | %s | %s | %s | %s |\n", md(st.Title), md(st.Symbol), md(general), md(put), md(result), md(st.Source))
		}
		for k := range sec.Tables {
			sec.Tables[k].markdown(b)
		}
		for _, p := range sec.Plots {
			fmt.Fprintf(b, "\n%s: %s\n", p.Title, md(p.Alt))
		}
		if len(sec.Findings)+len(sec.List) > 0 {
			b.WriteString("\n")
		}
		for _, f := range sec.Findings {
			for k, l := range findingLines(&f) {
				if k == 0 {
					fmt.Fprintf(b, "- %s\n", md(l))
				} else {
					fmt.Fprintf(b, "  - %s\n", md(strings.TrimSpace(l)))
				}
			}
		}
		for _, l := range sec.List {
			fmt.Fprintf(b, "- %s\n", md(l))
		}
	}
}

func (t *Table) markdown(b *strings.Builder) {
	b.WriteString("\n")
	if t.Caption != "" {
		fmt.Fprintf(b, "%s\n\n", md(t.Caption))
	}
	row := func(cells []string) {
		b.WriteString("|")
		for _, c := range cells {
			b.WriteString(" " + md(c) + " |")
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
