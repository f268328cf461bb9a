package sheet

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"trammel/cmd/internal/document"
)

// TestLandmarks reads pages of one axis and of a machine as someone does who does not see
// them: one main part, landmarks and IDs that differ, headings in steps of one, heads of
// tables with their scope, words for every picture or a sign that it says nothing new.
// (WAI-ARIA 1.2 and WCAG 2.1, success criteria 1.1.1, 1.3.1 and 2.4.1.)
func TestLandmarks(t *testing.T) {
	t.Parallel()
	axes := build(t, fixtureTree("bakery"), buildOptions{under: "machines/palletiser"})
	for name, docs := range map[string][]*document.Document{"axis": {axes[0].sheet}, "machine": machineOf(axes)} {
		var b bytes.Buffer
		if err := document.HTML(&b, document.Page{Title: name}, docs...); err != nil {
			t.Fatal(err)
		}
		for _, w := range landmarks(t, b.String()) {
			t.Errorf("%s: %s", name, w)
		}
	}
}

// landmarks lists what is wrong with a page.
func landmarks(t *testing.T, page string) (out []string) {
	t.Helper()
	seen := map[string]int{}
	mains, level := 0, 0
	once := func(kind, what string) {
		if seen[kind+what]++; what == "" || seen[kind+what] == 2 {
			out = append(out, kind+" named twice or not at all: "+what)
		}
	}
	d := asXML(page)
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		a := map[string]string{}
		for _, x := range e.Attr {
			a[x.Name.Local] = x.Value
		}
		if a["id"] != "" {
			once("element", a["id"])
		}
		if a["role"] == "region" {
			out = append(out, "a region that is no landmark: "+a["aria-label"])
		}
		switch n := e.Name.Local; n {
		case "html":
			if a["lang"] == "" {
				out = append(out, "a page without language")
			}
		case "main":
			mains++
		case "nav":
			once("nav", a["aria-label"])
		case "th":
			if a["scope"] == "" {
				out = append(out, "a head without scope")
			}
		case "svg":
			if a["aria-hidden"] == "true" {
				break
			}
			next, _ := d.Token() // SVG Accessibility API Mappings: a title that comes first names the picture
			title, _ := next.(xml.StartElement)
			if a["role"] != "img" || a["aria-label"]+a["aria-labelledby"] == "" && title.Name.Local != "title" {
				out = append(out, "a picture without words")
			}
		case "h1", "h2", "h3", "h4":
			if l := int(n[1] - '0'); l > level+1 {
				out = append(out, n+" follows a heading of level "+strings.Repeat("#", level))
			}
			level = int(n[1] - '0')
		}
	}
	if mains != 1 {
		out = append(out, "not one main part")
	}
	return out
}
