package sheet

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"trammel/cmd/internal/browsertest"
	"trammel/cmd/internal/document"
	"trammel/spec/amount"
)

// A watch notes what a page does that it must not do.
type watch struct {
	sync.Mutex
	page  string
	notes []string
}

func (w *watch) note(ev any) {
	w.Lock()
	defer w.Unlock()
	switch ev := ev.(type) {
	case *network.EventRequestWillBeSent:
		if ev.Request.URL != w.page {
			w.notes = append(w.notes, "asks for "+ev.Request.URL)
		}
	case *runtime.EventConsoleAPICalled:
		w.notes = append(w.notes, "writes to the console")
	case *runtime.EventExceptionThrown:
		w.notes = append(w.notes, "throws "+ev.ExceptionDetails.Text)
	case *log.EventEntryAdded:
		w.notes = append(w.notes, "logs "+ev.Entry.Text)
	}
}

func (w *watch) open(page string) {
	w.Lock()
	defer w.Unlock()
	w.page, w.notes = page, nil
}

func (w *watch) check(t *testing.T) {
	w.Lock()
	defer w.Unlock()
	for _, n := range w.notes {
		t.Error("the page", n)
	}
}

// audit looks at a page as it is laid out and lists what is wrong.
const audit = `(() => {
	const bad = [];
	const note = s => { if (bad.length < 12) bad.push(s); };
	const name = e => e.tagName.toLowerCase() + (e.id ? '#' + e.id : '') + (typeof e.className == 'string' && e.className ? '.' + e.className : '') + ' "' + (e.textContent || '').trim().slice(0, 40) + '"';
	const root = document.documentElement;
	if (root.scrollWidth > innerWidth) note('the page is ' + root.scrollWidth + ' wide in ' + innerWidth);

	// Of the two forms of a drawing one is shown.
	const shown = e => e.getClientRects().length > 0;
	for (const e of document.querySelectorAll('figure.drawing')) if ([...e.querySelectorAll('svg')].filter(shown).length != 1) note('not one form is shown of ' + name(e));
	for (const e of document.querySelectorAll('section, figure, figure:not(.drawing) svg')) {
		if (getComputedStyle(e).display == 'none') continue; // a chart for another width
		const r = e.getBoundingClientRect();
		if (!(r.width > 0 && r.height > 0)) note('no room for ' + name(e));
	}
	for (const e of document.querySelectorAll('figure svg')) {
		if (!shown(e)) continue;
		if (e.getAttribute('role') != 'img' || !e.querySelector(':scope > title').textContent || !e.querySelector(':scope > desc').textContent) note('no words for the picture of ' + name(e.closest('figure')));
		for (const x of e.querySelectorAll('text')) {
			if (x.closest('mask')) continue;
			const size = x.getBoundingClientRect().height;
			if (size < 9 && x.textContent.trim()) note('letters of ' + size.toFixed(1) + ' px in ' + name(e.closest('figure')));
			const a = x.getBoundingClientRect(), b = e.getBoundingClientRect();
			for (const y of e.querySelectorAll('text')) {
				if (y == x) break;
				const c = y.getBoundingClientRect(); // taller than its letters by a third
				if (a.left < c.right && c.left < a.right && a.top + 3 < c.bottom - 3 && c.top + 3 < a.bottom - 3) note(x.textContent + ' overlaps ' + y.textContent + ' in ' + name(e.closest('figure')));
			}
			if (a.left < b.left - 1 || a.right > b.right + 1 || a.top < b.top - 1 || a.bottom > b.bottom + 1) note('cut off: ' + x.textContent + ' in ' + name(e.closest('figure')));
		}
	}
	for (const e of document.querySelectorAll('table')) {
		const r = e.parentElement;
		if (r.tabIndex != 0 || r.getAttribute('role') != 'group' || !r.getAttribute('aria-label')) note('no scrolled group around ' + name(e));
		for (const h of e.querySelectorAll('th')) {
			if (!h.textContent.trim()) note('an empty head in ' + name(e));
			if (!h.scope) note('a head without scope in ' + name(e));
		}
	}
	// On a phone rows fold: nothing of a table, and no formula, is moved sideways.
	if (innerWidth < 640) for (const e of document.querySelectorAll('.scroll:has(> .fold), .step')) if (e.scrollWidth > e.clientWidth + 1) note('wider than the page: ' + name(e));
	if (!document.documentElement.lang || document.querySelectorAll('main').length != 1 || [...document.querySelectorAll('nav')].some(e => !e.getAttribute('aria-label'))) note('no language, or landmarks without name');
	const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
	for (const id of ids.filter((x, i) => ids.indexOf(x) != i)) note('two elements are #' + id);
	let level = 0;
	for (const h of document.querySelectorAll('h1,h2,h3,h4,h5,h6')) {
		const l = +h.tagName[1];
		if (l > level + 1) note('h' + l + ' follows h' + level);
		level = l;
	}

	const parse = c => { const m = c.match(/[\d.]+/g).map(Number); return m.length < 4 ? [...m, 1] : m; };
	const lum = c => { const f = c.slice(0, 3).map(v => { v /= 255; return v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * f[0] + 0.7152 * f[1] + 0.0722 * f[2]; };
	const ratio = (a, b) => { const [x, y] = [lum(a), lum(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
	const ground = e => { for (; e; e = e.parentElement) { const c = parse(getComputedStyle(e).backgroundColor); if (c[3] > 0) return c; } return [255, 255, 255]; };
	const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	let texts = 0;
	for (let n; n = walk.nextNode();) {
		const e = n.parentElement;
		if (!n.nodeValue.trim() || ['STYLE', 'SCRIPT', 'title', 'desc'].includes(e.tagName) || !shown(e) || e.closest('mask')) continue;
		const style = getComputedStyle(e);
		if (style.visibility == 'hidden' || style.opacity == '0') continue;
		texts++;
		const c = ratio(parse(e.ownerSVGElement ? style.fill : style.color), ground(e));
		if (c < 4.5) note('contrast ' + c.toFixed(2) + ' of ' + name(e));
	}
	if (texts < 100) note('only ' + texts + ' texts');
	const page = ground(document.body);
	for (const e of document.querySelectorAll('figure svg path')) {
		const style = getComputedStyle(e);
		if (e.getAttribute('stroke-opacity') == '0.3') continue; // the grid
		for (const c of [style.stroke, style.fill]) {
			if (c == 'none' || !c) continue;
			const r = ratio(parse(c), page);
			if (r < 3) note('contrast ' + r.toFixed(2) + ' of a line in ' + name(e.closest('figure')));
		}
	}
	return bad;
})()`

func TestLongInBrowser(t *testing.T) {
	amount.Long(t)
	ctx := browsertest.Start(t, 5*time.Minute)
	var w watch
	if err := chromedp.Listen(ctx, w.note); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	axes := build(t, fixtureTree("bakery"), buildOptions{under: "machines/loader"})
	table := &document.Table{Head: nasty[:3], Named: true}
	for i := 2; i < len(nasty); i += 3 {
		table.Add(nasty[i-2 : i+1]...)
	}
	hostile := &document.Document{Title: nasty[0], Sections: []document.Section{{ID: "a", Title: "A", Blocks: []document.Block{table, document.ListOf(nasty...)}}}}
	for len(hostile.Facts) < 100 { // the audit wants something to read
		hostile.Facts.Add("x", "<b>y</b>")
	}
	z, free := sizings(t)
	type page struct {
		name   string
		sheets []*document.Document
		plots  int
	}
	pages := []page{
		{"axis", []*document.Document{axes[len(axes)-1].sheet}, 8},
		{"machine and axis", machineOf(axes)[:2], 4},
		{"hostile", []*document.Document{hostile}, 0},
		{"sizing", []*document.Document{Sizing(z, Options{Show: show})}, 1},
		{"free", []*document.Document{Free(free, Options{Show: show})}, 0},
	}
	if amount.All() { // many sheets in one page
		six := build(t, fixtureTree("bakery"), buildOptions{under: "machines"})
		pages = append(pages, page{"machine", machineOf(axes), 24}, page{"six", machineOf(six[:6])[:2], 4})
	}
	for _, p := range pages {
		file := filepath.Join(dir, p.name+".html")
		if err := os.WriteFile(file, []byte(forms[2].write(t, p.sheets...)), 0o644); err != nil {
			t.Fatal(err)
		}
		address := (&url.URL{Scheme: "file", Path: file}).String()
		for _, scheme := range []string{"light", "dark"} {
			for _, width := range []int64{360, 1400} {
				if p.name != "axis" && (scheme == "dark") != (width == 360) {
					continue // each colour and each width once
				}
				t.Run(fmt.Sprint(p.name, "/", scheme, "/", width), func(t *testing.T) {
					lay(t, ctx, &w, address, width, "screen", scheme)
					for _, bad := range evaluate[[]string](t, ctx, audit) {
						t.Error(bad)
					}
					if n := evaluate[int](t, ctx, `[...document.querySelectorAll('figure svg')].filter(e => getComputedStyle(e).display != 'none').length`); n < p.plots {
						t.Errorf("%d plots, expected %d", n, p.plots)
					}
					for i, s := range p.sheets {
						for _, sec := range s.Sections {
							id := sec.ID
							if len(p.sheets) > 1 {
								id = fmt.Sprintf("s%d-%s", i+1, id)
							}
							if !evaluate[bool](t, ctx, fmt.Sprintf(`!!document.getElementById(%q)`, id)) {
								t.Errorf("no section %s", id)
							}
						}
					}
					if n := evaluate[int](t, ctx, `document.querySelectorAll('script, img, iframe, link, b b').length`); n != 0 {
						t.Errorf("%d elements that are not ours", n)
					}
					ground := evaluate[string](t, ctx, `getComputedStyle(document.documentElement).backgroundColor`)
					if (ground == "rgb(255, 255, 255)") != (scheme == "light") {
						t.Errorf("the page is %s", ground)
					}
					keys(t, ctx)
					w.check(t)
				})
			}
		}
		for _, paper := range []struct {
			name  string
			width int64 // in pixels, less the margins
			size  chromedp.PaperSize
			bytes string // of the paper in the file
		}{{"A4", 688, chromedp.PaperA4, "/MediaBox"}, {"Letter", 710, chromedp.PaperLetter, "612 792"}} {
			if !amount.All() && (paper.name == "A4") != (p.name == "axis" || p.name == "sizing") {
				continue // each paper twice
			}
			t.Run(p.name+"/print/"+paper.name, func(t *testing.T) {
				lay(t, ctx, &w, address, paper.width, "print", "dark")
				for _, bad := range evaluate[[]string](t, ctx, `[...document.querySelectorAll('body *')].filter(e => e.getClientRects().length && e.getBoundingClientRect().right > innerWidth + 1).slice(0, 5).map(e => e.tagName + ' ' + e.textContent.slice(0, 40) + ' ' + e.getBoundingClientRect().right)`) {
					t.Error("wider than the paper:", bad)
				}
				if c := evaluate[string](t, ctx, `getComputedStyle(document.documentElement).color`); c != "rgb(0, 0, 0)" {
					t.Errorf("the print is %s", c)
				}
				pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper.size)))
				if err != nil {
					t.Fatal(err)
				}
				if !strings.HasPrefix(string(pdf), "%PDF-") || len(pdf) < 10_000 || !strings.Contains(string(pdf), paper.bytes) {
					t.Errorf("a file of %d bytes", len(pdf))
				}
			})
		}
	}
}

func evaluate[T any](t *testing.T, ctx context.Context, js string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](js))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func lay(t *testing.T, ctx context.Context, w *watch, address string, width int64, media, scheme string) {
	t.Helper()
	w.open(address)
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Media: media, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(address)); err != nil {
		t.Fatal(err)
	}
}

// keys walks the page by keyboard: what has the focus shows it.
func keys(t *testing.T, ctx context.Context) {
	t.Helper()
	seen := map[string]bool{}
	for range 2 {
		if err := chromedp.Do(ctx, chromedp.KeyEvent("\t")); err != nil {
			t.Fatal(err)
		}
		at := evaluate[string](t, ctx, `(e => { const s = getComputedStyle(e); return e.tagName + ' ' + (e.getAttribute('href') || e.getAttribute('aria-label')) + (s.outlineStyle != 'none' && parseFloat(s.outlineWidth) >= 2 ? '' : ': no outline') })(document.activeElement)`)
		if strings.HasSuffix(at, "no outline") {
			t.Error(at)
		}
		seen[at] = true
	}
	if len(seen) < 2 {
		t.Errorf("the focus does not move: %v", seen)
	}
}
