package livepage

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"trammel/cmd/internal/browsertest"
	"trammel/spec/amount"
)

// long is a page of many sections, of which the first has so many lines.
func long(first int) []byte {
	var b strings.Builder
	fmt.Fprintf(&b, `<!DOCTYPE html><html><head><meta charset="utf-8"><title>n%d</title></head><body><main>`, first)
	for i := range 40 {
		fmt.Fprintf(&b, "<section id=\"s%d\"><h2>section %d</h2>", i, i)
		n := 10
		if i == 0 {
			n = first
		}
		b.WriteString(strings.Repeat("<p>a line</p>", n) + "</section>")
	}
	b.WriteString(`<p class="live">now</p></main><script>` + Script + "</script></body></html>")
	return []byte(b.String())
}

// is what a script comes to.
func is[T any](t *testing.T, ctx context.Context, js string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](js))
	if err != nil {
		t.Fatal(js, err)
	}
	return v
}

// TestLongInBrowser: the page is exchanged under the reader's eyes, who stays where they
// were; and it says so when the server has ended.
func TestLongInBrowser(t *testing.T) {
	t.Parallel()
	amount.Long(t)
	ctx := browsertest.Start(t, time.Minute)
	s := started(t)
	p := s.Open()
	p.Set(long(10))
	until := func(js string) {
		t.Helper()
		for range 200 {
			if is[bool](t, ctx, js) {
				return
			}
			time.Sleep(50 * time.Millisecond)
		}
		t.Fatalf("never: %s; %s", js, is[string](t, ctx, "document.title + document.querySelector('.live').outerHTML"))
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(p.Address())); err != nil {
		t.Fatal(err)
	}
	const top = "document.getElementById('s20').getBoundingClientRect().top"
	before := is[float64](t, ctx, "window.scrollBy(0, "+top+" - 30), "+top)
	p.Set(long(90))
	until("document.title === 'n90'")
	if after := is[float64](t, ctx, top); after < before-2 || after > before+2 {
		t.Errorf("section 20 stood at %g and stands at %g", before, after)
	}
	p.Set([]byte(strings.Replace(string(long(3)), "<p>a line</p>", "<p>a line</p><script>document.title = 'run'</script><img src=x onerror=\"document.title = 'run'\">", 1)))
	until("document.title === 'n3'")
	if after := is[float64](t, ctx, top); after < before-2 || after > before+2 {
		t.Errorf("section 20 stood at %g and stands at %g", before, after)
	}
	time.Sleep(100 * time.Millisecond)
	until("document.title === 'n3'") // what came in runs nothing
	s.Close()
	until("document.querySelector('.live').textContent.startsWith('NOT CURRENT: the editor has ended')")
}
