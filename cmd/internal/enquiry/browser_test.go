package enquiry

import (
	"cmp"
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
	"trammel/rules/judge"
	"trammel/spec/amount"
)

// pages counts the pages of a PDF.
var pages = regexp.MustCompile(`/Type\s*/Page\b`)

// layout lists what is wrong with a page as it is laid out.
const layout = `(() => {
	const bad = [];
	if (document.documentElement.scrollWidth > innerWidth) bad.push('the page is ' + document.documentElement.scrollWidth + ' wide in ' + innerWidth);
	for (const e of document.querySelectorAll('script, img, iframe, link, a')) bad.push('an element ' + e.tagName);
	for (const e of document.querySelectorAll('section, dl, table')) if (!(e.getBoundingClientRect().height > 0)) bad.push('no room for ' + e.tagName);
	for (const e of document.querySelectorAll('th')) if (!e.textContent.trim()) bad.push('an empty head');
	for (const e of document.querySelectorAll('dd, dt, td')) if (e.scrollWidth > e.clientWidth + 1) bad.push('cut off: ' + e.textContent);
	return bad;
})()`

// TestLongTwoPages prints the enquiry of each axis of the demo: two pages of A4 at most, and
// of Letter.
func TestLongTwoPages(t *testing.T) {
	amount.Long(t)
	ctx := browsertest.Start(t, 2*time.Minute)
	var sheets []*document.Document
	build(t, fixture("bakery"), nil, func(rep *judge.Report, s *document.Document) { sheets = append(sheets, s) })
	if len(sheets) < 20 {
		t.Fatalf("only %d axes", len(sheets))
	}
	open := func(page string, width int64) {
		t.Helper()
		file := filepath.Join(t.TempDir(), "x.html")
		if err := os.WriteFile(file, []byte(page), 0o644); err != nil {
			t.Fatal(err)
		}
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate((&url.URL{Scheme: "file", Path: file}).String())); err != nil {
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
	some := amount.Some(sheets, 6, func(s *document.Document) string { return s.Title })
	longest := slices.MaxFunc(sheets, func(a, b *document.Document) int {
		return cmp.Compare(len(write(t, "text", a)), len(write(t, "text", b)))
	})
	if !slices.Contains(some, longest) {
		some = append(some, longest)
	}
	for _, s := range some {
		open(write(t, "html", s), 1200)
		for _, paper := range []chromedp.PaperSize{chromedp.PaperA4, chromedp.PaperLetter} {
			if n := count(paper); n > 2 {
				t.Errorf("%s takes %d pages of %v", s.Title, n, paper)
			}
		}
	}
	for _, width := range []int64{360, 1200} {
		open(write(t, "html", sheets[0]), width)
		bad, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](layout))
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range bad {
			t.Errorf("%d: %s", width, b)
		}
	}
	// Several in one file: each begins a page.
	open(write(t, "html", sheets[:3]...), 1200)
	if n := count(chromedp.PaperA4); n < 3 || n > 6 {
		t.Errorf("three axes take %d pages", n)
	}
}
