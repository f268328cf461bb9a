package audit

import (
	"context"
	"fmt"
	"io/fs"
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
	"trammel/spec/amount"
)

// A tab is one page in the browser, with notes of what it must not do.
type tab struct {
	*testing.T
	ctx context.Context

	mu    sync.Mutex
	page  string
	notes []string
}

func newTab(t *testing.T) *tab {
	b := &tab{T: t, ctx: browsertest.Start(t, 2*time.Minute)}
	err := chromedp.Listen(b.ctx, func(ev any) {
		b.mu.Lock()
		defer b.mu.Unlock()
		switch ev := ev.(type) {
		case *network.EventRequestWillBeSent:
			if address, _, _ := strings.Cut(ev.Request.URL, "#"); address != b.page && !strings.HasPrefix(address, "data:") {
				b.notes = append(b.notes, "asks for "+ev.Request.URL)
			}
		case *runtime.EventConsoleAPICalled:
			b.notes = append(b.notes, "writes to the console")
		case *runtime.EventExceptionThrown:
			b.notes = append(b.notes, "throws "+ev.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			b.notes = append(b.notes, "logs "+ev.Entry.Text)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(b.ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	return b
}

// open shows a fleet's page.
func (b *tab) open(f *Fleet, width int64, media, scheme string) {
	b.Helper()
	file := filepath.Join(b.TempDir(), "fleet.html")
	if err := os.WriteFile(file, render(b, f.HTML), 0o644); err != nil {
		b.Fatal(err)
	}
	address := (&url.URL{Scheme: "file", Path: file}).String()
	b.mu.Lock()
	b.page, b.notes = address, nil
	b.mu.Unlock()
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Media: media, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	})
	if err != nil {
		b.Fatal(err)
	}
	b.do(chromedp.EmulateViewport(width, 900), chromedp.Navigate(address))
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.Fatal(err)
	}
}

func (b *tab) check() {
	b.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, n := range b.notes {
		b.Error("the page", n)
	}
}

func get[T any](b *tab, js string) T {
	b.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](js))
	if err != nil {
		b.Fatalf("%s: %v", js, err)
	}
	return v
}

// column is the text of the first n cells of a column of the table.
func (b *tab) column(i, n int) []string {
	b.Helper()
	return get[[]string](b, fmt.Sprintf(`[...document.querySelectorAll('#fleet tbody tr')].slice(0, %d).map(r => r.cells[%d].textContent)`, n, i))
}

func (b *tab) count() string {
	b.Helper()
	return get[string](b, `document.getElementById('count').textContent`)
}

// choose sets a control of the filter and waits for the table.
func (b *tab) choose(id, value string) {
	b.Helper()
	event := "change"
	if id == "search" {
		event = "input"
	}
	get[bool](b, fmt.Sprintf(`(() => { const e = document.getElementById(%q); e.value = %q; e.dispatchEvent(new Event(%q, {bubbles: true})); return true })()`, id, value, event))
	time.Sleep(150 * time.Millisecond) // the search waits for the end of the word
}

func (b *tab) option(id, text string) string {
	b.Helper()
	return get[string](b, fmt.Sprintf(`([...document.getElementById(%q).options].find(o => o.textContent === %q) || {value: 'none'}).value`, id, text))
}

const looks = `(() => {
	const bad = [];
	const note = s => { if (bad.length < 12) bad.push(s); };
	const name = e => e.tagName.toLowerCase() + (e.id ? '#' + e.id : '') + ' "' + (e.textContent || '').trim().slice(0, 40) + '"';
	if (document.documentElement.scrollWidth > innerWidth) note('the page is ' + document.documentElement.scrollWidth + ' wide in ' + innerWidth);
	for (const e of document.querySelectorAll('figure svg')) {
		if (e.getAttribute('role') != 'img' || !e.querySelector(':scope > title').textContent || !e.querySelector(':scope > desc').textContent) note('no words for the picture of ' + name(e.closest('figure')));
	}
	for (const e of document.querySelectorAll('table')) {
		const r = e.parentElement;
		if (r.tabIndex != 0 || r.getAttribute('role') != 'group' || !r.getAttribute('aria-label')) note('no scrolled group around ' + name(e));
	}
	for (const e of document.querySelectorAll('input, select')) if (!e.labels.length) note('no label: ' + name(e));
	if (!document.documentElement.lang || document.querySelectorAll('main').length != 1 || [...document.querySelectorAll('nav')].some(e => !e.getAttribute('aria-label'))) note('no language, or landmarks without name');
	const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
	for (const id of ids.filter((x, i) => ids.indexOf(x) != i)) note('two elements are #' + id);
	let level = 0;
	for (const h of document.querySelectorAll('h1,h2,h3')) {
		const l = +h.tagName[1];
		if (l > level + 1) note('h' + l + ' follows h' + level);
		level = l;
	}
	const parse = c => { const m = c.match(/[\d.]+/g).map(Number); return m.length < 4 ? [...m, 1] : m; };
	const lum = c => { const f = c.slice(0, 3).map(v => { v /= 255; return v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * f[0] + 0.7152 * f[1] + 0.0722 * f[2]; };
	const ratio = (a, b) => { const [x, y] = [lum(a), lum(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
	const ground = e => { for (; e; e = e.parentElement) { const c = parse(getComputedStyle(e).backgroundColor); if (c[3] > 0) return c; } return [255, 255, 255]; };
	const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	for (let n; n = walk.nextNode();) {
		const e = n.parentElement;
		if (!n.nodeValue.trim() || ['STYLE', 'SCRIPT', 'NOSCRIPT', 'OPTION'].includes(e.tagName) || !e.getClientRects().length) continue;
		const style = getComputedStyle(e);
		const c = ratio(parse(e.ownerSVGElement ? style.fill : style.color), ground(e));
		if (c < 4.5) note('contrast ' + c.toFixed(2) + ' of ' + name(e));
	}
	return bad;
})()`

func TestLongPageLooks(t *testing.T) {
	amount.Long(t)
	b := newTab(t)
	f, _ := build(t, manyBakeries(t, 2), 0)
	hostile, _ := build(t, hostileFiles(), 0)
	none, _ := build(t, hostileFilesOnly("bad/z.axis.hcl"), 0)
	for name, f := range map[string]*Fleet{"many": f, "hostile": hostile, "nearly none": none} {
		for _, scheme := range []string{"light", "dark"} {
			for _, width := range []int64{360, 1400} {
				if !amount.All() && (scheme == "dark") != (width == 360) {
					continue // each colour and each width once
				}
				b.open(f, width, "screen", scheme)
				for _, bad := range get[[]string](b, looks) {
					t.Error(name, scheme, width, bad)
				}
				if ground := get[string](b, `getComputedStyle(document.documentElement).backgroundColor`); (ground == "rgb(255, 255, 255)") != (scheme == "light") {
					t.Errorf("%s: the page is %s", scheme, ground)
				}
				if got := get[string](b, `document.title`); !strings.HasPrefix(got, "Audit of ") {
					t.Errorf("the title is %s", got)
				}
				if n := get[int](b, `document.querySelectorAll('img, iframe, object, b, [onclick], [onerror]').length`); n != 0 {
					t.Errorf("%d elements that are not ours", n)
				}
				b.check()
			}
		}
	}
	b.open(f, 1000, "print", "dark")
	get[bool](b, `(dispatchEvent(new Event('beforeprint')), true)`)
	if n := get[int](b, `document.querySelectorAll('#fleet tbody tr').length`); n != f.Axes() {
		t.Errorf("%d of %d axes are printed", n, f.Axes())
	}
	if n := get[int](b, `[...document.querySelectorAll('body *')].filter(e => e.getClientRects().length && e.getBoundingClientRect().right > innerWidth + 1).length`); n != 0 {
		t.Errorf("%d elements are wider than the paper", n)
	}
	b.check()
}

// hostileFilesOnly is one of the hostile files.
func hostileFilesOnly(name string) fs.FS {
	m := hostileFiles()
	for n := range m {
		if n != name {
			delete(m, n)
		}
	}
	return m
}

func TestLongPageWorks(t *testing.T) {
	amount.Long(t)
	b := newTab(t)
	f, _ := build(t, manyBakeries(t, 10), 0)
	for _, r := range f.rows[:1] {
		f.sheets[r] = "sheets/a%20b.html"
	}
	b.open(f, 1400, "screen", "light")
	all := fmt.Sprintf("%d of %d axes", f.Axes(), f.Axes())
	if c := b.count(); !strings.HasPrefix(c, all) {
		t.Errorf("at first: %s", c)
	}
	if n := get[int](b, `document.querySelectorAll('#fleet tbody tr').length`); n < 100 || n > f.Axes() {
		t.Errorf("%d rows at first", n)
	}
	if a := get[string](b, `document.querySelector('#fleet tbody tr td:nth-child(3)').textContent`); a != "error" {
		t.Errorf("the first axis is %s: those with errors come first", a)
	}

	// Sorting by each column, both ways, by click and by key.
	heads := get[[]string](b, `[...document.querySelectorAll('#fleet thead th')].map(h => h.textContent)`)
	numeric := map[string]bool{"Errors": true, "Warnings": true, "Margin": true, "Life": true, "Remains": true}
	for i, h := range heads {
		if get[bool](b, fmt.Sprintf(`document.querySelectorAll('#fleet thead th')[%d].hidden`, i)) {
			continue
		}
		var states []string
		for k := range 2 {
			if k == 0 {
				get[bool](b, fmt.Sprintf(`(document.querySelectorAll('#fleet thead button')[%d].click(), true)`, i))
			} else {
				get[bool](b, fmt.Sprintf(`(document.querySelectorAll('#fleet thead button')[%d].focus(), true)`, i))
				b.do(chromedp.KeyEvent("\r"))
			}
			states = append(states, get[string](b, fmt.Sprintf(`document.querySelectorAll('#fleet thead th')[%d].getAttribute('aria-sort')`, i)))
			if n := get[int](b, `document.querySelectorAll('[aria-sort]').length`); n != 1 {
				t.Errorf("%d columns say they are sorted", n)
			}
			column := i
			if i > 9 {
				column-- // that of the rule is hidden
			}
			cells := b.column(column, 60)
			if !numeric[h] {
				continue
			}
			var last float64
			for j, c := range cells {
				var x float64
				fmt.Sscanf(strings.NewReplacer("−", "-", "> ", "", "< ", "", "unlimited", "1e9").Replace(c), "%g", &x)
				if j > 0 && (states[k] == "ascending" && x < last || states[k] == "descending" && x > last) && !strings.Contains(c, "–") {
					t.Errorf("%s %s: %s comes after %s", h, states[k], c, cells[j-1])
					break
				}
				last = x
			}
		}
		if len(states) != 2 || states[0] == states[1] {
			t.Errorf("%s: sorted %v", h, states)
		}
	}
	if at := get[string](b, `document.activeElement.textContent`); at != "Location" {
		t.Errorf("after sorting by key the focus is on %s", at)
	}

	// Filters alone and together, with counts.
	b.choose("machine", b.option("machine", "n3_tipper"))
	if c := b.count(); !strings.HasPrefix(c, "3 of ") {
		t.Errorf("one machine: %s", c)
	}
	b.choose("state", b.option("state", "error"))
	for _, s := range b.column(2, 100) {
		if s != "error" {
			t.Errorf("state %s", s)
		}
	}
	b.choose("machine", "")
	b.choose("rule", b.option("rule", "holding-brake"))
	b.choose("state", b.option("state", "failed"))
	if c := b.count(); !strings.HasPrefix(c, "30 of ") { // seal, flattener and hoist, ten times
		t.Errorf("failed holding-brake: %s", c)
	}
	if cells := b.column(9, 100); len(cells) != 30 || !strings.HasSuffix(cells[0], "failed") {
		t.Errorf("the rule's column: %v", cells)
	}
	b.choose("state", b.option("state", "not judged"))
	if cells := b.column(9, 100); len(cells) != 10 || cells[0] != "not judged" {
		t.Errorf("the rule's column: %v", cells)
	}
	b.choose("rule", "")
	b.choose("state", "")

	// Search: any words in any order.
	b.choose("search", "HOIST hall7")
	if c := b.count(); !strings.HasPrefix(c, "1 of ") {
		t.Errorf("search: %s", c)
	}
	b.choose("search", "no such axis")
	if get[bool](b, `document.getElementById('empty').hidden`) || !get[bool](b, `document.getElementById('table').hidden`) {
		t.Error("no words where nothing fits")
	}
	if s := get[string](b, `document.getElementById('empty').innerText`); !strings.Contains(s, "No axis matches") {
		t.Errorf("the words are %q", s)
	}
	get[bool](b, `(document.querySelector('#empty button').click(), true)`)
	if c := b.count(); !strings.HasPrefix(c, all) {
		t.Errorf("after all: %s", c)
	}

	// By keyboard alone: from the search to the machine, the rule, the state.
	get[bool](b, `(document.getElementById('search').focus(), true)`)
	b.do(chromedp.KeyEvent("mast"))
	time.Sleep(200 * time.Millisecond)
	if c := b.count(); !strings.HasPrefix(c, "10 of ") {
		t.Errorf("typed: %s", c)
	}
	var reached []string
	for range 6 {
		b.do(chromedp.KeyEvent("\t"))
		reached = append(reached, get[string](b, `(e => { const s = getComputedStyle(e); return (e.id || e.className || e.textContent || e.getAttribute('aria-label')) + (s.outlineStyle != 'none' && parseFloat(s.outlineWidth) >= 2 ? '' : ': no outline') })(document.activeElement)`))
	}
	if got := strings.Join(reached, ", "); got != "machine, rule, state, reset, scroll, Machine" {
		t.Errorf("the keys lead to %s", got)
	}

	// A machine or rule of the summary leads to its axes.
	get[bool](b, `(document.querySelector('#rules a[data-rule]').click(), true)`)
	if rule := get[string](b, `document.getElementById('rule').selectedOptions[0].textContent`); rule != f.Rules()[0].Rule {
		t.Errorf("the first rule's link chose %s", rule)
	}
	get[bool](b, `(document.querySelector('#rules a[data-machine]').click(), true)`)
	if m := get[string](b, `document.getElementById('machine').selectedOptions[0].textContent`); m != f.Machines()[0].Machine {
		t.Errorf("the first machine's link chose %s", m)
	}
	get[bool](b, `(document.querySelector('.reset').click(), true)`)
	if n := get[int](b, `document.querySelectorAll('#fleet a').length`); n > 1 {
		t.Errorf("%d links to sheets", n)
	}
	b.choose("search", f.rows[0].Axis+" hall0")
	if link := get[string](b, `document.querySelector('#fleet a').getAttribute('href')`); link != "sheets/a%20b.html" {
		t.Errorf("the sheet is %s", link)
	}
	b.check()
}

// Five thousand axes must not feel slow, nor may a thousand.
func TestLongPageOfManyAxes(t *testing.T) {
	amount.Long(t)
	b := newTab(t)
	f, _ := gather(t, manyBakeries(t, amount.Of(179, 30)), 0)
	if f.Axes() < amount.Of(5000, 900) {
		t.Fatalf("only %d axes", f.Axes())
	}
	b.open(f, 1400, "screen", "light")
	if get[bool](b, `document.getElementById('count').textContent === ''`) {
		t.Fatal("the table is not there")
	}
	// The time of a change is that of the script and of the layout after it.
	timed := func(js string) float64 {
		return get[float64](b, `(() => { const t = performance.now(); `+js+`; document.body.offsetHeight; return performance.now() - t })()`)
	}
	slowest := 0.0
	for i := range 16 {
		if i == 9 {
			continue // the rule's column is hidden
		}
		for range 2 {
			slowest = max(slowest, timed(fmt.Sprintf(`document.querySelectorAll('#fleet thead button')[%d].click()`, i)))
		}
	}
	rule := timed(`const r = document.getElementById('rule'); r.value = '7'; r.dispatchEvent(new Event('change'))`)
	byRule := timed(`document.querySelectorAll('#fleet thead button')[9].click()`)
	none := timed(`const r = document.getElementById('rule'); r.value = ''; r.dispatchEvent(new Event('change'))`)
	// The search waits 80 ms for the end of a word and is drawn by itself.
	get[bool](b, `(() => { window.took = -1; const e = document.getElementById('search'), c = document.getElementById('count'), t = performance.now();
		new MutationObserver((_, o) => { o.disconnect(); document.body.offsetHeight; window.took = performance.now() - t }).observe(c, {childList: true, characterData: true, subtree: true});
		e.value = 'hoist'; e.dispatchEvent(new Event('input')); return true })()`)
	search := -1.0
	for range 50 {
		if search = get[float64](b, `window.took`); search >= 0 {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	if search < 0 {
		t.Error("the search brings nothing")
	}
	load := get[float64](b, `performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd`)
	t.Logf("%d axes: page loaded in %.0f ms; slowest sort %.0f ms, by a rule %.0f ms, choice of a rule %.0f and %.0f ms, search %.0f ms with its wait", f.Axes(), load, slowest, byRule, rule, none, search)
	// A bound far above what anybody would wait for: how fast it is depends on
	// the machine and what else it does, that it does not hang does not.
	for name, x := range map[string]float64{"sorting": slowest, "sorting by a rule": byRule, "choosing a rule": max(rule, none), "searching": search - 80} {
		if x > amount.Of(10_000.0, 2_000) {
			t.Errorf("%s takes %.0f ms", name, x)
		}
	}
	// More rows come with scrolling and with the button.
	b.choose("search", "")
	before := get[int](b, `document.querySelectorAll('#fleet tbody tr').length`)
	get[bool](b, `(document.getElementById('more').click(), true)`)
	if after := get[int](b, `document.querySelectorAll('#fleet tbody tr').length`); after <= before {
		t.Errorf("%d rows, then %d", before, after)
	}
	get[bool](b, `(document.getElementById('more').scrollIntoView(), true)`)
	time.Sleep(300 * time.Millisecond)
	if scrolled := get[int](b, `document.querySelectorAll('#fleet tbody tr').length`); scrolled <= before+100 {
		t.Errorf("scrolling brings no rows: %d", scrolled)
	}
	b.check()
}
