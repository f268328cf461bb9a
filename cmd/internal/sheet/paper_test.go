package sheet

import (
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"trammel/cmd/internal/browsertest"
	"trammel/cmd/internal/document"
	"trammel/spec/amount"
)

// ordinary is the most pages of paper that the sheet of one axis without very many moves takes.
const ordinary = 8

// pages counts the pages of a PDF.
var pages = regexp.MustCompile(`/Type\s*/Page\b`)

// TestLongPaper prints the sheets of the demo on both papers: page 1 holds verdict, drawing,
// bars, findings, signature and cautions whole, and an ordinary sheet takes 8 pages.
func TestLongPaper(t *testing.T) {
	amount.Long(t)
	ctx := browsertest.Start(t, 5*time.Minute)
	file := filepath.Join(t.TempDir(), "sheet.html")
	open := func(list ...*document.Document) {
		t.Helper()
		if err := os.WriteFile(file, []byte(forms[2].write(t, list...)), 0o644); err != nil {
			t.Fatal(err)
		}
		if err := chromedp.Do(ctx, chromedp.Navigate((&url.URL{Scheme: "file", Path: file}).String())); err != nil {
			t.Fatal(err)
		}
	}
	count := func(paper chromedp.PaperSize) int {
		t.Helper()
		pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
		if err != nil {
			t.Fatal(err)
		}
		return len(pages.FindAll(pdf, -1))
	}
	papers := map[string]chromedp.PaperSize{"A4": chromedp.PaperA4, "Letter": chromedp.PaperLetter}
	var sheets []*document.Document
	for _, a := range bakerySheets(t) {
		sheets = append(sheets, a.sheet)
	}
	// fronts leaves the first pages alone in the browser; each begins a page.
	fronts := func(list ...*document.Document) {
		open(list...)
		evaluate[bool](t, ctx, `document.querySelectorAll('.calculation').forEach(e => e.remove()), true`)
	}
	fronts(sheets...)
	var cut []string
	for name, paper := range papers {
		if count(paper) != len(sheets) {
			cut = append(cut, name)
		}
	}
	for _, name := range cut {
		for _, s := range sheets {
			if fronts(s); count(papers[name]) > 1 {
				t.Errorf("%s: what belongs on page 1 of %s runs to page 2", s.Title, name)
			}
		}
	}
	some := amount.Some(sheets, 15, func(s *document.Document) string { return s.Title })
	most := slices.MaxFunc(sheets, func(a, b *document.Document) int { return len(forms[0].write(t, a)) - len(forms[0].write(t, b)) })
	if !slices.Contains(some, most) {
		some = append(slices.Clone(some), most)
	}
	for i, s := range some {
		open(s)
		for name, paper := range papers {
			if !amount.All() && (name == "A4") != (i%2 == 1) {
				continue // one paper each
			}
			if n := count(paper); n > ordinary {
				t.Errorf("%s takes %d pages of %s, at most %d", s.Title, n, name, ordinary)
			}
		}
	}
}
