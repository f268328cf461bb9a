package document

import (
	"bufio"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html"
	"io"
	"regexp"
	"slices"

	"trammel/cmd/internal/formula"
	"trammel/cmd/internal/sanitize"
)

//go:embed paper.css
var paper string

//go:embed live.css
var liveStyle string

// A Page is what an HTML page has besides its documents. It is one file and loads
// nothing; its own script runs and no other.
type Page struct {
	Title  string
	Style  string                // "" for that of papers
	Script string                // "" for none
	Data   func(io.Writer) error // writes the JSON that the script reads
	Live   *Live                 // nil where nobody changes the page once it is written
}

// Live is what stands at the foot of a page that its script keeps up to date, from the
// server that the page came from and no other.
type Live struct {
	Words string
	Stale bool // what is shown is not the latest state
}

func esc(s string) string { return html.EscapeString(sanitize.Cell(s)) }

// HTML writes documents as one self-contained page.
func HTML(out io.Writer, p Page, docs ...*Document) error {
	w := &htmlWriter{Writer: bufio.NewWriter(out)}
	p.head(w)
	for i, d := range docs {
		w.prefix = ""
		if len(docs) > 1 {
			w.prefix = fmt.Sprintf("s%d-", i+1)
		}
		d.html(w)
	}
	if p.Live != nil {
		class := "live"
		if p.Live.Stale {
			class += " stale"
		}
		w.put("<p class=\"%s\" role=\"status\">%s</p>\n", class, esc(p.Live.Words))
	}
	w.WriteString("</main>\n")
	if p.Data != nil {
		w.WriteString("<script type=\"application/json\" id=\"data\">")
		if err := p.Data(w); err != nil {
			return err
		}
		w.WriteString("</script>\n")
	}
	if p.Script != "" {
		w.put("<script>%s</script>\n", sanitize.Safe(p.Script))
	}
	w.WriteString("</body>\n</html>\n")
	return w.Flush()
}

func (p *Page) head(w *htmlWriter) {
	style, policy, icon := p.Style, "style-src 'unsafe-inline'; img-src data:", ""
	if style == "" {
		style = paper + frontStyle
	}
	if p.Script != "" {
		sum := sha256.Sum256([]byte(p.Script))
		policy = fmt.Sprintf("script-src 'sha256-%s'; %s; base-uri 'none'; form-action 'none'", base64.StdEncoding.EncodeToString(sum[:]), policy)
		icon = "<link rel=\"icon\" href=\"data:,\">\n"
	}
	if p.Live != nil {
		policy += "; connect-src 'self'"
		style += liveStyle
	}
	w.put(`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; %s">
<title>%s</title>
%s<style>
%s</style>
</head>
<body>
<main>
`, policy, esc(p.Title), sanitize.Safe(icon), sanitize.Safe(style))
}

type htmlWriter struct {
	*bufio.Writer
	prefix  string // of the IDs, which differ where a page holds several documents
	summary bool
}

func (w *htmlWriter) put(format string, args ...any) { sanitize.Fprintf(w, format, args...) }

func (d *Document) html(w *htmlWriter) {
	w.summary = d.Layout == Summary
	class := ""
	if d.Layout == Brief {
		class = ` class="brief"`
	}
	w.put("<article%s>\n<header>\n<h1>%s</h1>\n", class, esc(d.Title))
	if d.About != "" {
		w.put("<p class=\"about\">%s</p>\n", esc(d.About))
	}
	d.Facts.list(w, "facts")
	if d.Layout != Brief && d.Front == nil {
		d.contents(w)
	}
	w.WriteString("</header>\n")
	if d.Front != nil {
		d.frontHTML(w)
		if d.Layout != Brief {
			d.contents(w)
		}
	}
	if d.Front != nil { // set in columns on paper
		w.WriteString("<div class=\"calculation\">\n")
	}
	for i := range d.Sections {
		s := &d.Sections[i]
		s.head(w, i+1)
		for _, b := range s.Blocks {
			b.html(w)
		}
		w.WriteString("</section>\n")
	}
	if d.Front != nil {
		w.WriteString("</div>\n")
	}
	w.WriteString("</article>\n")
}

// contents lists the sections.
func (d *Document) contents(w *htmlWriter) {
	list := "ol"
	if w.summary {
		list = "ul"
	}
	name := "Sections"
	if w.prefix != "" { // landmarks of a page have names of their own
		name += ": " + d.Title
	}
	w.put("<nav aria-label=\"%s\">\n<%s>\n", esc(name), list)
	for i := range d.Sections {
		s := &d.Sections[i]
		name := s.Short
		if name == "" {
			name = s.Title
		}
		if name != "" {
			w.put("<li><a href=\"#%s%s\">%s</a></li>\n", w.prefix, s.ID, esc(name))
		}
	}
	w.put("</%s>\n</nav>\n", list)
}

func (s *Section) head(w *htmlWriter, n int) {
	id := w.prefix + s.ID
	switch {
	case s.Title == "":
		w.put("<section id=\"%s\">\n", id)
	case w.summary:
		w.put("<section id=\"%s\" aria-labelledby=\"h-%s\">\n<h2 id=\"h-%s\">%s</h2>\n", id, id, id, esc(s.Title))
	default:
		w.put("<section id=\"%s\">\n<h2><span class=\"no\">%d</span> %s</h2>\n", id, n, esc(s.Title))
	}
}

func (p Paragraph) html(w *htmlWriter) { w.put("<p>%s</p>\n", esc(string(p))) }

func (f Facts) html(w *htmlWriter) { f.list(w, "items") }

func (f Facts) list(w *htmlWriter, class string) {
	w.put("<dl class=\"%s\">\n", class)
	for _, x := range f {
		level := ""
		if x.Level != "" {
			level = fmt.Sprintf(` class="%s"`, x.Level)
		}
		w.put("<div><dt>%s</dt><dd%s>%s</dd></div>\n", esc(x.Name), level, esc(x.Value))
	}
	w.WriteString("</dl>\n")
}

func (f *Figure) html(w *htmlWriter) {
	w.put("<figure id=\"%s%s\">\n", w.prefix, f.ID)
	if f.Draw != nil {
		pic, err := f.Draw()
		if err != nil { // its words still say what it would have shown
			pic = fmt.Sprintf("<p>No picture: %s.</p>", esc(err.Error()))
		}
		w.put("<div class=\"plot\">\n%s\n</div>\n", sanitize.Safe(pic))
	}
	w.put("<figcaption>%s: %s</figcaption>\n</figure>\n", esc(f.Title), esc(f.Alt))
}

func (f *Finding) html(w *htmlWriter) {
	if f.Number > 0 {
		w.put("<div class=\"finding %s\">\n<p class=\"message\">%s%s</p>\n<p><strong>%s</strong> <code>%s</code> <span class=\"where\">%s</span></p>\n", f.Level, sanitize.Safe(f.mark()), esc(f.Message), f.Level, esc(f.Rule), esc(f.Place))
	} else {
		w.put("<div class=\"finding %s\">\n<p><strong>%s</strong> %s <code>%s</code></p>\n<p class=\"where\">%s</p>\n", f.Level, f.Level, esc(f.Message), esc(f.Rule), esc(f.Place))
	}
	for _, l := range f.More {
		w.put("<p>%s</p>\n", esc(l))
	}
	w.WriteString("</div>\n")
}

func (l List) html(w *htmlWriter) {
	w.WriteString("<ul>\n")
	for _, x := range l {
		w.put("<li>%s", esc(x.Text))
		if x.At != "" {
			w.put(" <span class=\"where\">%s</span>", esc(x.At))
		}
		if len(x.Items) > 0 {
			w.WriteString("<ul>")
			for _, below := range x.Items {
				w.put("<li>%s</li>", esc(below))
			}
			w.WriteString("</ul>")
		}
		w.WriteString("</li>\n")
	}
	w.WriteString("</ul>\n")
}

func (c Code) html(w *htmlWriter) {
	w.WriteString("<pre>")
	for _, l := range c {
		w.put("%s\n", html.EscapeString(sanitize.Line(l)))
	}
	w.WriteString("</pre>\n")
}

func (x Widget) html(w *htmlWriter) { w.WriteString(string(x)) }

func (s Steps) html(w *htmlWriter) {
	w.WriteString("<div class=\"steps\">\n")
	for i := range s {
		s[i].html(w)
	}
	w.WriteString("</div>\n")
}

// html writes a step in two lines: what is computed and its result; formula, the same with
// numbers, and source.
func (s *Step) html(w *htmlWriter) {
	class := ""
	if s.Aside != "" {
		class = " aside"
	}
	w.put("<div class=\"step%s\">\n<h3>%s</h3>\n", class, esc(s.Title))
	if s.Note != "" {
		w.put("<p class=\"result open\">%s (%s)</p>\n", esc(s.Result), esc(s.Note))
	} else {
		w.put("<p class=\"result\">%s = <b>%s</b></p>\n", sanitize.Safe(formula.SymbolHTML(s.Symbol)), esc(s.Result))
	}
	put := ""
	if _, text := s.formula(); text != "" {
		put = " <span class=\"eq\">=</span> " + s.Formula.HTML(s.Values, s.Assumed)
	}
	w.put("<div class=\"work\"><p class=\"formula\">%s%s</p><p class=\"source\">%s</p></div>\n", sanitize.Safe(s.Formula.HTML(nil, nil)), sanitize.Safe(put), sanitize.Safe(indexed(s.Source)))
	if s.Aside != "" {
		w.put("<p class=\"why\">%s</p>\n", esc(s.Aside))
	}
	w.WriteString("</div>\n")
}

// longTable is how many rows a table of a summary has before it is scrolled by itself.
const longTable = 15

func (t *Table) html(w *htmlWriter) {
	if t.Legend {
		t.legend(w)
		return
	}
	long, name := "", "Table"
	if w.summary && len(t.Rows) > longTable {
		long = " long"
	}
	if t.Caption != "" {
		name = t.Caption
	}
	w.put("<div class=\"scroll%s\" tabindex=\"0\" role=\"group\" aria-label=\"%s\">\n<table%s>\n", long, esc(name), sanitize.Safe(t.fold()))
	if t.Caption != "" {
		w.put("<caption>%s</caption>\n", esc(t.Caption))
	}
	if len(t.Head) > 0 {
		w.WriteString("<thead><tr>")
		for i, h := range t.Head {
			w.put("<th scope=\"col\"%s>%s</th>", t.class(i), sanitize.Safe(t.head(i, h)))
		}
		w.WriteString("</tr></thead>\n")
	}
	w.WriteString("<tbody>\n")
	for k, r := range t.Rows {
		w.WriteString("<tr>")
		for i, c := range r {
			cell := t.Marks[[2]int{k, i}].html(t.cell(i, c, false))
			switch {
			case i == 0 && len(t.Head) > 1 && c != "":
				w.put("<th scope=\"row\"%s>%s</th>", sanitize.Safe(t.class(i)), sanitize.Safe(cell))
			case t.fold() != "" && i < len(t.Head):
				w.put("<td%s data-head=\"%s\">%s</td>", sanitize.Safe(t.class(i)), esc(t.Head[i]), sanitize.Safe(cell))
			default:
				w.put("<td%s>%s</td>", sanitize.Safe(t.class(i)), sanitize.Safe(cell))
			}
		}
		w.WriteString("</tr>\n")
	}
	w.WriteString("</tbody>\n</table>\n</div>\n")
	if t.Rest != "" {
		w.put("<p>%s</p>\n", esc(t.Rest))
	}
}

// legend writes symbols with their meanings, in as many columns as there is room for.
func (t *Table) legend(w *htmlWriter) {
	w.WriteString("<dl class=\"legend\">\n")
	for _, r := range t.Rows {
		w.put("<div><dt>%s</dt><dd>%s</dd></div>\n", sanitize.Safe(formula.SymbolHTML(sanitize.Cell(r[0]))), esc(r[1]))
	}
	w.WriteString("</dl>\n")
}

// html puts a mark around what stands in a cell.
func (m Mark) html(cell string) string {
	if m.Strong {
		cell = "<b>" + cell + "</b>"
	}
	if m.Href == "" {
		return cell
	}
	data := ""
	if m.Data[0] != "" {
		data = fmt.Sprintf(` data-%s="%s"`, m.Data[0], esc(m.Data[1]))
	}
	return fmt.Sprintf(`<a href="%s"%s>%s</a>`, esc(m.Href), data, cell)
}

// indexed sets the symbols in a text of our own with their indices below. Text
// from spec files does not pass through it: a name may hold an underscore.
func indexed(s string) string { return withIndex.ReplaceAllString(esc(s), "<i>$1</i><sub>$2</sub>") }

var withIndex = regexp.MustCompile(`(\pL+)_([\pL0-9]+)`)

// head writes the head of a column. On paper, where columns are narrow, its symbol stands
// alone: the steps above say what it is.
func (t *Table) head(i int, h string) string {
	if i >= len(t.Symbols) || t.Symbols[i] == "" {
		return t.cell(i, h, true)
	}
	return fmt.Sprintf(`<span class="said">%s</span><span class="short">%s</span>`, t.cell(i, h, true), formula.SymbolHTML(t.Symbols[i]))
}

func (t *Table) cell(i int, c string, head bool) string {
	if head && !t.Named || i < len(t.Head) && t.Head[i] == "symbol" {
		return indexed(c)
	}
	return esc(c)
}

// fold is the class of a table whose rows fold on a phone, where its columns have no room:
// each cell then bears its head. Columns of marks have room.
func (t *Table) fold() string {
	if len(t.Head) < 3 || slices.ContainsFunc(t.Head, func(h string) bool { return len(h) <= 2 }) && !t.Named {
		return ""
	}
	return ` class="fold"`
}

// shortName is how long the names of rows may be that are not broken.
const shortName = 36

func (t *Table) class(i int) string {
	switch {
	case i == 0 && !t.number(0) && !slices.ContainsFunc(t.Rows, func(r []string) bool { return len(r) > 0 && len(r[0]) > shortName }):
		return ` class="k"`
	case t.number(i):
		return ` class="n"`
	case i < len(t.Head) && t.Head[i] == "symbol":
		return ` class="s"`
	case i < len(t.Head) && !t.Named && len(t.Head[i]) <= 2: // a month's mark needs little room
		return ` class="m"`
	}
	return ""
}
