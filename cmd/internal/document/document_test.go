package document

import (
	"errors"
	"io"
	"strings"
	"testing"
)

// written is a document as text, as Markdown and as what stands in the body of a page.
func written(t *testing.T, d *Document) (text, mark, page string) {
	t.Helper()
	var out [3]strings.Builder
	for i, write := range []func(io.Writer) error{
		func(w io.Writer) error { return Text(w, d) },
		func(w io.Writer) error { return Markdown(w, d) },
		func(w io.Writer) error { return HTML(w, Page{Title: "T"}, d) },
	} {
		if err := write(&out[i]); err != nil {
			t.Fatal(err)
		}
	}
	page = out[2].String()
	_, page, _ = strings.Cut(page, "<main>\n")
	page, _, _ = strings.Cut(page, "</main>")
	return out[0].String(), out[1].String(), page
}

func blocks() []Block {
	t := &Table{Caption: "Parts", Head: []string{"part", "kg"}, Number: []bool{false, true}, Named: true, Rest: "and 3 more"}
	t.Add("a<b", "1")
	t.Mark(0, Mark{Href: "#axes", Data: [2]string{"machine", "7"}})
	t.Add("c", "22")
	t.Mark(1, Mark{Strong: true})
	return []Block{
		Paragraph("Said first."), Facts{{Name: "mass", Value: "35 kg", Level: "error"}}, t,
		&Figure{ID: "f", Title: "Picture", Alt: "a line", Draw: func() (string, error) { return "<svg></svg>", nil }},
		&Finding{Place: "x.hcl:3", Level: "error", Message: "too weak", Rule: "buckling", More: []string{"fix: none"}},
		List{{Text: "one", At: "x.hcl:4", Items: []string{"below"}}, {Text: "two"}},
		Code{"1   2"}, Widget("<b id=w></b>\n"),
	}
}

func hold(t *testing.T, form, got, want string) {
	t.Helper()
	if got != want {
		t.Errorf("%s:\n%s\nexpected\n%s", form, got, want)
	}
}

// TestPaper writes every block on paper.
func TestPaper(t *testing.T) {
	text, mark, page := written(t, &Document{Title: "Sheet", About: "of one axis", Facts: Facts{{Name: "Units", Value: "metric"}}, Sections: []Section{{ID: "s", Title: "Loads", Blocks: blocks()}}})
	hold(t, "text", text, `Sheet
=====
of one axis
Units: metric

1  Loads
--------
Said first.
mass: 35 kg

Parts
   part  kg
   --------
   a<b    1
   c     22
   and 3 more

Picture: a line
x.hcl:3: error: too weak [buckling]
   fix: none
* x.hcl:4: one
    below
* two
1   2
`)
	hold(t, "Markdown", mark, `# Sheet

of one axis

- Units: metric

## 1 Loads

Said first.

- mass: 35 kg

Parts

| part | kg |
|---|--:|
| a&lt;b | 1 |
| c | **22** |

and 3 more

Picture: a line

- x.hcl:3: error: too weak \[buckling\]
  - fix: none
- one (x.hcl:4)
  - below
- two

    1   2
`)
	hold(t, "HTML", page, `<article>
<header>
<h1>Sheet</h1>
<p class="about">of one axis</p>
<dl class="facts">
<div><dt>Units</dt><dd>metric</dd></div>
</dl>
<nav aria-label="Sections">
<ol>
<li><a href="#s">Loads</a></li>
</ol>
</nav>
</header>
<section id="s">
<h2><span class="no">1</span> Loads</h2>
<p>Said first.</p>
<dl class="items">
<div><dt>mass</dt><dd class="error">35 kg</dd></div>
</dl>
<div class="scroll" tabindex="0" role="group" aria-label="Parts">
<table>
<caption>Parts</caption>
<thead><tr><th scope="col" class="k">part</th><th scope="col" class="n">kg</th></tr></thead>
<tbody>
<tr><th scope="row" class="k"><a href="#axes" data-machine="7">a&lt;b</a></th><td class="n">1</td></tr>
<tr><th scope="row" class="k">c</th><td class="n"><b>22</b></td></tr>
</tbody>
</table>
</div>
<p>and 3 more</p>
<figure id="f">
<div class="plot">
<svg></svg>
</div>
<figcaption>Picture: a line</figcaption>
</figure>
<div class="finding error">
<p><strong>error</strong> too weak <code>buckling</code></p>
<p class="where">x.hcl:3</p>
<p>fix: none</p>
</div>
<ul>
<li>one <span class="where">x.hcl:4</span><ul><li>below</li></ul></li>
<li>two</li>
</ul>
<pre>1   2
</pre>
<b id=w></b>
</section>
</article>
`)
}

// TestSummary writes every block of a summary, a section without title first.
func TestSummary(t *testing.T) {
	d := &Document{Layout: Summary, Title: "2 axes differ", Sections: []Section{
		{Blocks: []Block{ListOf("cause")}}, {Blocks: []Block{&Table{Rows: [][]string{{"a", "1"}}}}}, {ID: "s", Title: "Machines: worst first", Short: "Machines", Blocks: blocks()},
	}}
	text, mark, page := written(t, d)
	hold(t, "text", text, `2 axes differ
  cause

a  1

Machines: worst first
  Said first.
  mass: 35 kg
  Parts
    part  kg
    a<b    1
    c     22
    and 3 more

  Picture: a line
  x.hcl:3: error: too weak [buckling]
     fix: none
    x.hcl:4: one
      below
    two
  1   2
`)
	if want := "**2 axes differ**\n\n- cause\n\n|  |  |\n|---|---|\n| a | 1 |\n\n**Machines: worst first**\n\nSaid first.\n"; !strings.HasPrefix(mark, want) {
		t.Errorf("Markdown:\n%s\nexpected at first\n%s", mark, want)
	}
	for _, want := range []string{"<ul>\n<li><a href=\"#s\">Machines</a></li>\n</ul>", "<h2 id=\"h-s\">Machines: worst first</h2>", "<table>\n<tbody>"} {
		if !strings.Contains(page, want) {
			t.Errorf("HTML:\n%s\nlacks\n%s", page, want)
		}
	}
}

// TestTextTablesAlign holds the columns of a table in the text form together,
// wide letters included.
func TestTextTablesAlign(t *testing.T) {
	tb := Table{Head: []string{"a long head of many words", "n"}, Number: []bool{false, true}, Rows: [][]string{{"日本語", "1"}, {"x", "22 mm"}}}
	var w textWriter
	tb.text(&w)
	hold(t, "text", w.String(), "\n   a long head      n\n   of many\n   words\n   ------------------\n   日本語           1\n   x            22 mm\n")
}

// TestPage: a page with a script lets that one run and no other; a picture that cannot be
// drawn leaves its words; of several documents each has IDs of its own.
func TestPage(t *testing.T) {
	d := &Document{Title: "D", Sections: []Section{{ID: "s", Title: "S", Blocks: []Block{&Figure{ID: "f", Title: "P", Alt: "words", Draw: func() (string, error) { return "", errors.New("<no>") }}}}}}
	var b strings.Builder
	data := func(w io.Writer) error { _, err := io.WriteString(w, "[1]"); return err }
	if err := HTML(&b, Page{Title: "a</title>", Style: "p {}\n", Script: "run()", Data: data}, d, d); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		// The hash is that of openssl dgst -sha256 -binary | base64.
		"script-src 'sha256-AvyuiL0SD1mVY3NNxR+V2uo+lhk6RMFrytWmRt6CrJQ='", "<title>a&lt;/title&gt;</title>", "<style>\np {}\n</style>", "No picture: &lt;no&gt;.", "P: words",
		"id=\"s1-s\"", "href=\"#s2-s\"", "id=\"s2-f\"", "<script type=\"application/json\" id=\"data\">[1]</script>\n<script>run()</script>",
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("%s\nlacks %s", b.String(), want)
		}
	}
	full := errors.New("disk full")
	if err := HTML(io.Discard, Page{Data: func(io.Writer) error { return full }}, d); !errors.Is(err, full) {
		t.Errorf("%v", err)
	}
}
