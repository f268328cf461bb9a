package sheet

import (
	_ "embed"
	"fmt"
	"html"
	"io"
	"regexp"
	"strings"

	"trammel/cmd/internal/sanitize"
)

//go:embed sheet.css
var style string

func esc(s string) string { return html.EscapeString(sanitize.Cell(s)) }

// HTML writes sheets as one self-contained page.
func HTML(w io.Writer, title string, sheets ...*Sheet) error {
	var b strings.Builder
	sanitize.Fprintf(&b, `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<title>%s</title>
<style>
%s</style>
</head>
<body>
<main>
`, esc(title), sanitize.Safe(style))
	for i, s := range sheets {
		s.html(&b, i, len(sheets) > 1)
	}
	b.WriteString("</main>\n</body>\n</html>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

func (s *Sheet) html(b *strings.Builder, index int, many bool) {
	prefix := ""
	if many {
		prefix = fmt.Sprintf("s%d-", index+1)
	}
	class := ""
	if s.Brief {
		class = ` class="brief"`
	}
	sanitize.Fprintf(b, "<article%s>\n<header>\n<h1>%s</h1>\n", class, esc(s.Title))
	if s.About != "" {
		sanitize.Fprintf(b, "<p class=\"about\">%s</p>\n", esc(s.About))
	}
	factsHTML(b, "facts", s.Facts)
	if !s.Brief {
		b.WriteString("<nav aria-label=\"Sections\">\n<ol>\n")
		for i := range s.Sections {
			sanitize.Fprintf(b, "<li><a href=\"#%s%s\">%s</a></li>\n", prefix, s.Sections[i].ID, esc(s.Sections[i].Title))
		}
		b.WriteString("</ol>\n</nav>\n")
	}
	b.WriteString("</header>\n")
	for i := range s.Sections {
		s.Sections[i].html(b, prefix, i+1)
	}
	b.WriteString("</article>\n")
}

func factsHTML(b *strings.Builder, class string, facts [][2]string) {
	sanitize.Fprintf(b, "<dl class=\"%s\">\n", class)
	for _, f := range facts {
		sanitize.Fprintf(b, "<div><dt>%s</dt><dd>%s</dd></div>\n", esc(f[0]), esc(f[1]))
	}
	b.WriteString("</dl>\n")
}

func (sec *Section) html(b *strings.Builder, prefix string, n int) {
	sanitize.Fprintf(b, "<section id=\"%s%s\">\n<h2><span class=\"no\">%d</span> %s</h2>\n", prefix, sec.ID, n, esc(sec.Title))
	if sec.Intro != "" {
		sanitize.Fprintf(b, "<p>%s</p>\n", esc(sec.Intro))
	}
	if len(sec.Facts) > 0 {
		factsHTML(b, "items", sec.Facts)
	}
	for i := range sec.Steps {
		sec.Steps[i].html(b)
	}
	for i := range sec.Tables {
		sec.Tables[i].html(b)
	}
	for i := range sec.Plots {
		p := &sec.Plots[i]
		pic, err := p.SVG()
		if err != nil { // its words still say what it would have shown
			pic = fmt.Sprintf("<p>No picture: %s.</p>", esc(err.Error()))
		}
		sanitize.Fprintf(b, "<figure id=\"%s%s\">\n<div class=\"plot\" tabindex=\"0\" role=\"region\" aria-label=\"%s\">\n%s\n</div>\n<figcaption>%s: %s</figcaption>\n</figure>\n", prefix, p.ID, esc(p.Title), sanitize.Safe(pic), esc(p.Title), esc(p.Alt))
	}
	for i := range sec.Findings {
		f := &sec.Findings[i]
		lines := findingLines(f)
		sanitize.Fprintf(b, "<div class=\"finding %s\">\n<p><strong>%s</strong> %s <code>%s</code></p>\n<p class=\"where\">%s:%d</p>\n", f.Severity, f.Severity, esc(f.Message), esc(f.Rule), esc(f.Place.File), f.Place.Line)
		for _, l := range lines[1:] {
			sanitize.Fprintf(b, "<p>%s</p>\n", esc(strings.TrimSpace(l)))
		}
		b.WriteString("</div>\n")
	}
	if len(sec.List) > 0 {
		b.WriteString("<ul>\n")
		for _, l := range sec.List {
			sanitize.Fprintf(b, "<li>%s</li>\n", esc(l))
		}
		b.WriteString("</ul>\n")
	}
	b.WriteString("</section>\n")
}

func (s *Step) html(b *strings.Builder) {
	sanitize.Fprintf(b, "<div class=\"step\">\n<h3>%s</h3>\n<div class=\"math\">", esc(s.Title))
	symbol := symbolML(s.Symbol)
	f := s.Formula
	if f.op == "=" {
		f = f.kids[1]
	}
	sanitize.Fprintf(b, "<math display=\"block\"><mrow>%s<mo>=</mo>%s</mrow></math>", symbol, f.mathML(nil))
	if _, put := s.formula(); put != "" {
		sanitize.Fprintf(b, "<math display=\"block\"><mrow><mphantom>%s</mphantom><mo>=</mo>%s</mrow></math>", symbol, f.mathML(s.Values))
	}
	b.WriteString("</div>\n")
	if s.Note != "" {
		sanitize.Fprintf(b, "<p class=\"result open\">%s (%s)</p>\n", esc(s.Result), esc(s.Note))
	} else {
		sanitize.Fprintf(b, "<p class=\"result\">%s = <b>%s</b></p>\n", symbolHTML(s.Symbol), esc(s.Result))
	}
	sanitize.Fprintf(b, "<p class=\"source\">%s</p>\n</div>\n", indexed(s.Source))
}

func (t *Table) html(b *strings.Builder) {
	b.WriteString("<div class=\"scroll\" tabindex=\"0\" role=\"region\"")
	if t.Caption != "" {
		sanitize.Fprintf(b, " aria-label=\"%s\"", esc(t.Caption))
	} else {
		b.WriteString(" aria-label=\"Table\"")
	}
	b.WriteString(">\n<table>\n")
	if t.Caption != "" {
		sanitize.Fprintf(b, "<caption>%s</caption>\n", esc(t.Caption))
	}
	b.WriteString("<thead><tr>")
	for i, h := range t.Head {
		sanitize.Fprintf(b, "<th scope=\"col\"%s>%s</th>", t.class(i), t.cell(i, h, true))
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	for _, r := range t.Rows {
		b.WriteString("<tr>")
		for i, c := range r {
			sanitize.Fprintf(b, "<td%s>%s</td>", t.class(i), t.cell(i, c, false))
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody>\n</table>\n</div>\n")
}

// indexed sets the symbols in a text of our own with their indices below. Text
// from spec files does not pass through it: a name may hold an underscore.
func indexed(s string) string { return withIndex.ReplaceAllString(esc(s), "<i>$1</i><sub>$2</sub>") }

var withIndex = regexp.MustCompile(`(\pL+)_([\pL0-9]+)`)

func (t *Table) cell(i int, c string, head bool) string {
	if head && !t.Named || t.Head[i] == "symbol" {
		return indexed(c)
	}
	return esc(c)
}

func (t *Table) class(i int) string {
	switch {
	case t.Number[i]:
		return ` class="n"`
	case !t.Named && len(t.Head[i]) <= 2: // a month's mark needs little room
		return ` class="m"`
	}
	return ""
}
