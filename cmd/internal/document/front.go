package document

import (
	_ "embed"
	"fmt"
	"strings"

	"trammel/cmd/internal/sanitize"
)

//go:embed front.css
var frontStyle string

// A Verdict is what came out, in words, with a mark that needs no colour: a filled square
// with a cross where it Fails, a dashed circle where something is Open, else an open square
// with a tick.
type Verdict struct {
	Fails, Open    bool
	Words, Because string
}

// A Drawing is a picture of the page's own in two forms, of which a page shows the one
// that fits, with words that say the same and a sketch in lines of text.
type Drawing struct {
	ID, Title, Words string
	Draw             func(id string, small bool) string // one SVG element, its IDs beginning with id
	Sketch           []string
}

// Bars show how much of a limit each of several values uses.
type Bars struct {
	Rows []Bar
	Rest string // what is said below of those left out
}

// A Bar is one value with its limit, both as written. Use is 1 at the limit.
type Bar struct {
	Name, Value, Limit string
	Use                float64
}

// Over reports whether the limit is exceeded, but for rounding.
func (b Bar) Over() bool { return b.Use > 1+1e-9 }

// Used writes the share: whole percent from 10 on, one decimal below.
func (b Bar) Used() string {
	switch x := b.Use * 100; {
	case x > 1000:
		return "> 1000 %"
	case b.Over() && x < 100.5: // never a bare 100 % for what is over
		return "> 100 %"
	case x >= 10:
		return fmt.Sprintf("%.0f %%", x)
	case x >= 0.1:
		return fmt.Sprintf("%.1f %%", x)
	case x > 0:
		return "< 0.1 %"
	}
	return "0 %"
}

// A Signature is the block of a paper that says which it is and who stands for it. Empty
// values are lines to fill in.
type Signature Facts

const fillIn = "____________________"

func (v Verdict) text(w *textWriter) {
	w.put("%s\n", sanitize.Cell(v.Words))
	if v.Because != "" {
		Paragraph(v.Because).text(w)
	}
	w.WriteString("\n")
}

func (d *Drawing) text(w *textWriter) {
	for _, l := range d.Sketch {
		w.put("   %s\n", sanitize.Line(l))
	}
}

// textBar is how many columns a bar takes up to its limit.
const textBar = 20

func (b *Bars) table() *Table {
	t := &Table{Head: []string{"rule", "value", "limit", "used"}, Number: []bool{false, false, false, true}, Named: true, Rest: b.Rest}
	for _, r := range b.Rows {
		t.Add(r.Name, r.Value, r.Limit, r.Used())
		t.Mark(0, Mark{Strong: r.Over()})
		t.Mark(3, Mark{Strong: r.Over()})
	}
	return t
}

func (b *Bars) text(w *textWriter) {
	t := b.table()
	t.Head, t.Number = append(t.Head, "| is the limit"), append(t.Number, false)
	for i, r := range b.Rows {
		n := int(min(r.Use, 1.25) * textBar)
		bar := strings.Repeat("#", min(n, textBar)) + strings.Repeat(" ", textBar-min(n, textBar)) + "|"
		if r.Over() {
			bar += strings.Repeat("#", max(1, n-textBar))
		}
		t.Rows[i] = append(t.Rows[i], bar)
	}
	t.text(w)
}

func (s Signature) text(w *textWriter) {
	for _, x := range s {
		value := sanitize.Cell(x.Value)
		if value == "" {
			value = fillIn
		}
		w.put("%s: %s\n", x.Name, value)
	}
}

func (v Verdict) markdown(w *markdownWriter) {
	w.block()
	w.put("**%s**\n", sanitize.Markdown(v.Words))
	if v.Because != "" {
		w.put("\n%s\n", sanitize.Markdown(v.Because))
	}
}

func (d *Drawing) markdown(w *markdownWriter) { Code(d.Sketch).markdown(w) }

func (b *Bars) markdown(w *markdownWriter) { b.table().markdown(w) }

func (s Signature) markdown(w *markdownWriter) {
	w.block()
	for _, x := range s {
		value := x.Value
		if value == "" {
			value = fillIn
		}
		w.put("- %s: %s\n", sanitize.Markdown(x.Name), sanitize.Markdown(value))
	}
}

// Marks of a verdict, drawn with lines of the page's own colour.
const (
	crossed = `<path d="M1 1h18v18H1zM6.6 5.2L5.2 6.6 8.6 10l-3.4 3.4 1.4 1.4L10 11.4l3.4 3.4 1.4-1.4L11.4 10l3.4-3.4-1.4-1.4L10 8.6z" fill="currentColor" fill-rule="evenodd"/>`
	unknown = `<circle cx="10" cy="10" r="8.5" fill="none" stroke="currentColor" stroke-width="1.6" stroke-dasharray="3 2.3"/>`
	ticked  = `<path d="M1.8 1.8h16.4v16.4H1.8zM5.5 10.5l3.2 3.2 6-7.4" fill="none" stroke="currentColor" stroke-width="1.6"/>`
)

func (v Verdict) html(w *htmlWriter) {
	mark, word := ticked, "passes"
	switch {
	case v.Fails:
		mark, word = crossed, "fails"
	case v.Open:
		mark, word = unknown, "not judged in full"
	}
	w.put("<div class=\"verdict\"><svg viewBox=\"0 0 20 20\" role=\"img\" aria-label=\"%s\">%s</svg><p><b>%s</b>", word, sanitize.Safe(mark), esc(v.Words))
	if v.Because != "" {
		w.put("<span>%s</span>", esc(v.Because))
	}
	w.WriteString("</p></div>\n")
}

func (d *Drawing) html(w *htmlWriter) {
	id := w.prefix + d.ID
	w.put("<figure class=\"drawing\" id=\"%s\">\n<div class=\"wide\">%s</div>\n<div class=\"narrow\">%s</div>\n</figure>\n",
		id, sanitize.Safe(d.Draw(id+"-w", false)), sanitize.Safe(d.Draw(id+"-n", true)))
}

// barWidth is how wide a bar is at its limit, of 250 units.
const barWidth = 200

func (b *Bars) html(w *htmlWriter) {
	w.WriteString("<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"Against the limits\">\n<table class=\"bars\">\n<thead><tr><th scope=\"col\">rule</th><th scope=\"col\">value</th><th scope=\"col\">limit</th><th scope=\"col\">the line is the limit</th><th scope=\"col\" class=\"n\">used</th></tr></thead>\n<tbody>\n")
	for _, r := range b.Rows {
		class, shape := "", fmt.Sprintf(`<rect x="0" y="8" width="%.1f" height="7" fill="currentColor" fill-opacity=".5"/>`, max(1, min(r.Use, 1)*barWidth))
		if r.Over() {
			class = ` class="over"`
			shape = fmt.Sprintf(`<path d="M0 6H196.5V17H0ZM203.5 6H%.1fV17H203.5Z" fill="currentColor"/>`, max(208, min(r.Use, 1.25)*barWidth))
		}
		w.put("<tr%s><th scope=\"row\">%s</th><td>%s</td><td class=\"lim\">%s</td><td class=\"b\"><svg viewBox=\"0 0 250 23\" preserveAspectRatio=\"none\" aria-hidden=\"true\">%s<path d=\"M200 0V23\" stroke=\"currentColor\" stroke-width=\"1.5\" vector-effect=\"non-scaling-stroke\"/></svg></td><td class=\"n\">%s</td></tr>\n",
			sanitize.Safe(class), esc(r.Name), esc(r.Value), esc(r.Limit), sanitize.Safe(shape), esc(r.Used()))
	}
	w.WriteString("</tbody>\n</table>\n</div>\n")
	if b.Rest != "" {
		w.put("<p class=\"more\">%s</p>\n", esc(b.Rest))
	}
}

func (s Signature) html(w *htmlWriter) {
	w.WriteString("<dl class=\"signature\">\n")
	for _, x := range s {
		w.put("<div><dt>%s</dt><dd>%s</dd></div>\n", esc(x.Name), esc(x.Value))
	}
	w.WriteString("</dl>\n")
}

// front writes the first page.
func (d *Document) frontHTML(w *htmlWriter) {
	w.WriteString("<div class=\"front\">\n")
	for i := range d.Front {
		s := &d.Front[i]
		class, id := "f-"+s.ID, w.prefix+s.ID
		if s.Title == "" {
			w.put("<section id=\"%s\" class=\"%s\">\n", id, class)
		} else {
			w.put("<section id=\"%s\" class=\"%s\">\n<h2>%s</h2>\n", id, class, esc(s.Title))
		}
		for _, b := range s.Blocks {
			b.html(w)
		}
		w.WriteString("</section>\n")
	}
	w.WriteString("</div>\n")
}

// mark is the number of a finding in a square, as in a drawing.
func (f *Finding) mark() string {
	if f.Number == 0 {
		return ""
	}
	return fmt.Sprintf(`<span class="mark %s">%d</span> `, f.Level, f.Number)
}
