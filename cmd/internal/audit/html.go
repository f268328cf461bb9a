package audit

import (
	"bufio"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html"
	"io"
	"math"
	"strings"

	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
)

var (
	//go:embed audit.css
	style string
	//go:embed audit.js
	script string
)

// scriptHash lets the page's own script run and no other.
var scriptHash = func() string {
	sum := sha256.Sum256([]byte(script))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}()

func esc(s string) string { return html.EscapeString(sanitize.Line(s)) }

// listed is how many entries of a list the page shows; the other forms have all.
const listed = 200

// states are those of an axis as a whole, in the order the table sorts them.
var states = []string{"error", "warning", "note", "not judged", "clean so far", "clean"}

// HTML writes one page that needs nothing besides.
func (f *Fleet) HTML(w io.Writer) error {
	b := bufio.NewWriter(w)
	p := &page{w: b, f: f}
	sanitize.Fprintf(b, `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src '%s'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'">
<title>Audit of %s</title>
<link rel="icon" href="data:,">
<style>
%s</style>
</head>
<body>
<main>
`, scriptHash, esc(plural(len(f.rows), "axis", "axes")), sanitize.Safe(style))
	p.summary()
	p.danger()
	p.axes()
	if err := p.pictures(); err != nil {
		return err
	}
	p.life()
	p.sums()
	p.gaps()
	p.variety()
	p.greasing()
	p.files()
	p.unseen()
	b.WriteString(`<p class="soft">trammel computes and compares; it does not make a machine safe. Its numbers are a design check, to be signed by the engineer who is responsible.</p>
</main>
`)
	if err := p.data(); err != nil {
		return err
	}
	sanitize.Fprintf(b, "<script>%s</script>\n</body>\n</html>\n", sanitize.Safe(script))
	return b.Flush()
}

type page struct {
	w *bufio.Writer
	f *Fleet
}

func (p *page) put(format string, args ...any) { sanitize.Fprintf(p.w, format, args...) }

func (p *page) summary() {
	t := p.f.Totals()
	p.put("<h1>Audit of %s on %s</h1>\n<p class=\"soft\">As of %s.</p>\n", esc(plural(t.Axes, "axis", "axes")), esc(plural(t.Machines, "machine", "machines")), p.f.today.Format("2006-01-02"))
	p.put("<dl class=\"totals\">\n")
	for _, x := range []struct{ name, value, class string }{
		{"errors", thousands(t.Counts.Errors), "error"},
		{"warnings", thousands(t.Counts.Warnings), "warning"},
		{"notes", thousands(t.Counts.Notes), "note"},
		{"waived", thousands(t.Counts.Waived), ""},
		{"rules judged", thousands(t.Judged), ""},
		{"rules not judged", thousands(t.Unjudged), ""},
		{"covered", percent(coverage(t.Judged, t.Unjudged)), ""},
		{"files not read whole", thousands(len(p.f.broken)), ""},
	} {
		p.put("<div><dt>%s</dt><dd class=\"%s\">%s</dd></div>\n", x.name, x.class, esc(x.value))
	}
	p.put(`</dl>
<nav aria-label="Sections"><ul>
<li><a href="#danger">Lifting axes</a></li><li><a href="#axes">All axes</a></li><li><a href="#plots">Plots</a></li><li><a href="#life">Life</a></li><li><a href="#rules">Rules and machines</a></li><li><a href="#gaps">Not judged</a></li><li><a href="#variety">Variety</a></li><li><a href="#greasing">Regreasing</a></li><li><a href="#files">Files and waivers</a></li><li><a href="#unseen">What no rule looks at</a></li>
</ul></nav>
`)
}

// section opens a section; the caller closes it.
func (p *page) section(id, title string) {
	p.put("<section id=\"%s\" aria-labelledby=\"h-%s\">\n<h2 id=\"h-%s\">%s</h2>\n", id, id, id, esc(title))
}

func (p *page) end() { p.put("</section>\n") }

// A column of a plain table; cells of one whose name ends in # are numbers.
func (p *page) table(caption string, head []string, n int, row func(i int) []string) {
	if n == 0 {
		return
	}
	long := ""
	if n > 15 {
		long = " long"
	}
	p.put("<div class=\"scroll%s\" tabindex=\"0\" role=\"region\" aria-label=\"%s\">\n<table>\n<caption>%s</caption>\n<thead><tr>", long, esc(caption), esc(caption))
	class := make([]string, len(head))
	for i, h := range head {
		if strings.HasSuffix(h, "#") {
			h, class[i] = h[:len(h)-1], ` class="n"`
		}
		p.put("<th scope=\"col\"%s>%s</th>", class[i], esc(h))
	}
	p.put("</tr></thead>\n<tbody>\n")
	for i := range min(n, listed) {
		p.put("<tr>")
		for k, c := range row(i) {
			p.put("<td%s>%s</td>", sanitize.Safe(class[k]), sanitize.Safe(c))
		}
		p.put("</tr>\n")
	}
	p.put("</tbody>\n</table>\n</div>\n")
	if n > listed {
		p.put("<p>and %s more, which the JSON and CSV forms hold</p>\n", thousands(n-listed))
	}
}

// cells escapes texts for a row.
func cells(s ...string) []string {
	for i := range s {
		s[i] = esc(s[i])
	}
	return s
}

func (p *page) axis(r *Row) string {
	if link := p.f.sheets[r]; link != "" {
		return fmt.Sprintf("<a href=\"%s\">%s</a>", esc(link), esc(r.Axis))
	}
	return esc(r.Axis)
}

func (p *page) machine(i int32) string {
	return fmt.Sprintf("<a href=\"#axes\" data-machine=\"%d\">%s</a>", i, esc(p.f.machines[i].shown))
}

func (p *page) danger() {
	p.section("danger", "Lifting axes without a brake that holds")
	some := false
	for b := brakeFails; b <= brakeOff; b++ {
		list := p.f.held(b)
		some = some || len(list) > 0
		caption := [...]string{"", "The brake does not hold, or there is none", "The same, accepted by a waiver", "Lifting, but the brake could not be judged", "Not even whether it lifts is known", "Lifting, but a policy switched the rule off"}[b]
		head := []string{"machine", "axis", "place"}
		if b == brakeOpen || b == brakeUnsure {
			head = append(head, "why")
		}
		p.table(caption+": "+plural(len(list), "axis", "axes"), head, len(list), func(i int) []string {
			r := list[i]
			return []string{p.machine(r.machine), p.axis(r), esc(p.f.show(r).String()), esc(r.lackBrake)}[:len(head)]
		})
	}
	if !some {
		p.put("<p>None.</p>\n")
	}
	p.end()
}

func (p *page) axes() {
	p.section("axes", "All axes")
	p.put(`<noscript><p>The table of all axes needs JavaScript; the CSV form holds the same.</p></noscript>
<div class="filters" role="search">
<div><label for="search">Search in names, files, screws</label><input id="search" type="search" autocomplete="off"></div>
<div><label for="machine">Machine</label><select id="machine"></select></div>
<div><label for="rule">Rule</label><select id="rule"></select></div>
<div><label for="state">State</label><select id="state"></select></div>
<div><button type="button" class="reset">Show all axes</button></div>
</div>
<p id="count" role="status"></p>
<div id="empty" hidden><p>No axis fits this choice. Choose another machine, rule or state, or search for less.</p><button type="button" class="reset">Show all axes</button></div>
<div id="table"><div class="scroll" tabindex="0" role="region" aria-label="All axes">
<table id="fleet">
<thead><tr>`)
	for _, h := range []string{"Machine", "Axis", "State", "Errors#", "Warnings#", "Notes#", "Not judged#", "Worst rule", "Margin#", "Rule#", "Life#", "Life used#", "Remains#", "Ends on", "Screw", "Place"} {
		class := ""
		if strings.HasSuffix(h, "#") {
			h, class = h[:len(h)-1], ` class="n"`
		}
		p.put("<th scope=\"col\"%s><button type=\"button\">%s</button></th>", class, h)
	}
	p.put("</tr></thead>\n<tbody></tbody>\n</table>\n</div>\n<button type=\"button\" id=\"more\" hidden></button></div>\n")
	p.end()
}

func (p *page) pictures() error {
	p.section("plots", "Plots")
	for _, draw := range []func() (picture, error){p.f.marginPlot, p.f.agePlot, p.f.coveragePlot} {
		pic, err := draw()
		if err != nil {
			return err
		}
		p.put("<figure id=\"%s\">\n<h3>%s</h3>\n", pic.id, esc(pic.title))
		if pic.svg != "" {
			p.put("<div class=\"plot\" tabindex=\"0\" role=\"region\" aria-label=\"%s\">%s</div>\n", esc(pic.title), sanitize.Safe(pic.svg))
		}
		p.put("<figcaption>%s.</figcaption>\n</figure>\n", esc(upper(pic.alt)))
	}
	p.end()
	return nil
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func (p *page) life() {
	list, noAge, noLife := p.f.aging()
	p.section("life", "Life of the ball screws")
	p.put("<p>What remains of the life at the asked reliability, if the duty stays as declared.</p>\n")
	if len(list) > 0 {
		n := byHorizon(list)
		p.table("Remaining life", []string{"remaining life", "axes#"}, len(n), func(i int) []string { return cells(horizons[i].name, thousands(n[i])) })
	}
	if noAge > 0 {
		p.put("<p>%s without declared age (duty.commissioned or duty.hours_so_far).</p>\n", esc(plural(noAge, "axis", "axes")))
	}
	if noLife > 0 {
		p.put("<p>%s with a declared age whose life could not be computed.</p>\n", esc(plural(noLife, "axis", "axes")))
	}
	p.table("The shortest", []string{"machine", "axis", "in service#", "used#", "remains#", "until", "age counted by"}, min(len(list), 50), func(i int) []string {
		l := list[i]
		return append([]string{p.machine(l.machine), p.axis(l.Row)}, cells(years(l.Years), percent(l.Share), years(l.Remaining), l.ends(), l.Basis)...)
	})
	p.end()
}

func (p *page) sums() {
	p.section("rules", "Rules and machines")
	var list []RuleSum
	at := map[int]int{} // index among the rules of the table by index of the rule
	for k, i := range p.f.ruleOrder() {
		at[i] = k
	}
	for _, s := range p.f.Rules() {
		if s.Counts.total()+s.Counts.Waived+s.Unjudged > 0 {
			list = append(list, s)
		}
	}
	p.table("Findings by rule", []string{"rule", "errors#", "warnings#", "notes#", "waived#", "axes passed#", "axes not judged#"}, len(list), func(i int) []string {
		s := &list[i]
		name := esc(s.Rule)
		if s.rule >= 0 {
			name = fmt.Sprintf("<a href=\"#axes\" data-rule=\"%d\">%s</a>", at[s.rule], name)
		}
		return append([]string{name}, cells(count(s.Counts.Errors), count(s.Counts.Warnings), count(s.Counts.Notes), count(s.Counts.Waived), count(s.Passed), count(s.Unjudged))...)
	})
	byName := map[string]int32{}
	for i, m := range p.f.machines {
		byName[m.shown] = int32(i)
	}
	machines := p.f.Machines()
	p.table("Machines", []string{"machine", "folder", "axes#", "errors#", "warnings#", "notes#", "waived#", "covered#"}, len(machines), func(i int) []string {
		m := &machines[i]
		return append([]string{p.machine(byName[m.Machine])}, cells(m.Folder, thousands(m.Axes), count(m.Counts.Errors), count(m.Counts.Warnings), count(m.Counts.Notes), count(m.Counts.Waived), percent(m.Coverage()))...)
	})
	p.end()
}

func (p *page) gaps() {
	g := &p.f.gaps
	p.section("gaps", "What could not be judged")
	if g.waiting == 0 && g.other == 0 {
		p.put("<p>Everything that applies was judged.</p>\n")
	}
	if g.waiting > 0 {
		p.put("<p>%s wait for missing lines. These would let most of them be judged, each step with those before it:</p>\n", esc(plural(g.waiting, "rule", "rules")))
		steps := g.steps(mostSteps)
		p.table("Missing lines", []string{"line", "to be written", "rules judged with it#", "of the waiting ones so far#"}, len(steps), func(i int) []string {
			s := &steps[i]
			return cells(strings.Join(s.Lines, " + "), s.Where, "+"+thousands(s.Judged), percent(float64(s.Sum)/float64(g.waiting)))
		})
	}
	if g.other > 0 {
		p.put("<p>%s could not be judged for another reason.</p>\n", esc(plural(g.other, "rule", "rules")))
	}
	p.end()
}

func (p *page) variety() {
	p.section("variety", "Variety")
	p.put("<p>Where one screw could take the place of others of its nominal diameter and lead: every rule of every axis concerned was judged anew with it. Nut and supports stayed as they are.</p>\n")
	if p.f.mergesNote != "" {
		p.put("<p>%s</p>\n", esc(p.f.mergesNote))
	} else if len(p.f.merges) == 0 {
		p.put("<p>No two screws in use have the same nominal diameter and lead.</p>\n")
	}
	if len(p.f.merges) > 0 {
		p.put("<ul>\n")
		for i := range p.f.merges {
			if i == listed {
				p.put("<li>and %s more sizes</li>\n", thousands(len(p.f.merges)-i))
				break
			}
			lines := p.f.merges[i].lines()
			p.put("<li>%s", esc(lines[0]))
			if len(lines) > 1 {
				p.put("<ul>")
				for _, l := range lines[1:] {
					p.put("<li>%s</li>", esc(strings.TrimSpace(l)))
				}
				p.put("</ul>")
			}
			p.put("</li>\n")
		}
		p.put("</ul>\n")
	}
	for k, name := range []string{"Screws", "Motors", "Greases"} {
		list, without := p.f.Variety(k)
		caption := name + " in use"
		if without > 0 {
			caption += ", " + plural(without, "axis", "axes") + " without"
		}
		p.table(caption, []string{"part", "declared in", "axes#"}, len(list), func(i int) []string {
			return cells(list[i].Part, list[i].Place.String(), thousands(list[i].Axes))
		})
	}
	p.end()
}

func (p *page) greasing() {
	months, without := p.f.Greasing()
	p.section("greasing", "Regreasing")
	p.put("<p>Axes due in each month, counted from the day of commissioning; where that is not declared, from 1 January.</p>\n")
	p.table("Regreasing by month", []string{"month", "axes due#", "greasings#"}, len(months), func(i int) []string {
		return cells(months[i].Month, thousands(months[i].Axes), thousands(months[i].Greasings))
	})
	if without > 0 {
		p.put("<p>%s without regreasing interval.</p>\n", esc(plural(without, "axis", "axes")))
	}
	p.end()
}

func (p *page) unseen() {
	p.section("unseen", "What no rule looks at")
	p.put("<p>These are left to the engineer.</p>\n<ul>\n")
	for _, u := range rules.Unseen() {
		p.put("<li>%s</li>\n", esc(u))
	}
	p.put("</ul>\n")
	p.end()
}

func (p *page) files() {
	p.section("files", "Files and waivers")
	broken, expired := p.f.Broken(), p.f.expired
	if len(broken) == 0 {
		p.put("<p>All files could be read whole.</p>\n")
	}
	p.table("Files that could not be read whole", []string{"place", "problems#", "the first"}, len(broken), func(i int) []string {
		x := &broken[i]
		return cells(x.Place.String(), thousands(x.Problems), x.Message+" ["+x.Rule+"]")
	})
	if len(expired) == 0 {
		p.put("<p>No waiver has expired.</p>\n")
	}
	p.table("Expired waivers", []string{"place", "machine", "axis", "what"}, len(expired), func(i int) []string {
		x := &expired[i]
		return cells(x.Place.String(), x.Machine, x.Axis, x.Message)
	})
	p.end()
}

// unlimited stands for a number without end, which JSON has no word for.
const unlimited = 1e99

// data writes the rows of the table. The encoder writes < > and & as \u003c and
// so on, so that nothing in it ends the element it stands in.
func (p *page) data() error {
	f := p.f
	order := f.ruleOrder()
	at := map[int]int{}
	var names, machines, screwNames []string
	for k, i := range order {
		at[i] = k
		names = append(names, sanitize.Line(f.ruleShown(i)))
	}
	for _, m := range f.machines {
		machines = append(machines, sanitize.Line(m.shown))
	}
	for _, s := range f.parts[screws] {
		screwNames = append(screwNames, sanitize.Line(s.shown))
	}
	head, err := json.Marshal(map[string]any{"machines": list(machines), "rules": list(names), "screws": list(screwNames), "states": states})
	if err != nil {
		return err
	}
	p.put("<script type=\"application/json\" id=\"data\">%s,\"rows\":[", head[:len(head)-1])
	num := func(x float64) any {
		switch {
		case math.IsNaN(x):
			return nil
		case math.IsInf(x, 1):
			return unlimited
		}
		return float32(round(x))
	}
	var row []any
	var ruleStates []byte
	for i, r := range f.rows {
		show, wear := f.show(r), r.wear(f.today)
		ruleStates = ruleStates[:0]
		margins := []any{}
		for k, i := range order {
			s, use := r.result(i)
			ruleStates = append(ruleStates, "pfuio"[s])
			if use == use && (s == judge.Passed || s == judge.Failed) {
				margins = append(margins, k, short(margin(use)))
			}
		}
		state := 0
		for states[state] != r.word() {
			state++
		}
		worst, ends := -1, ""
		var m any
		if r.worst >= 0 {
			worst, m = at[int(r.worst)], short(margin(float64(r.worstUse)))
		}
		if !wear.Out.IsZero() {
			ends = wear.ends()
		}
		row = append(row[:0], r.machine, sanitize.Line(r.Axis), sanitize.Line(show.File), show.Line, state, r.errors, r.warnings, r.notes, r.unjudged, worst, m,
			num(r.lifeYears), num(wear.Share), num(wear.Remaining), ends, r.parts[screws], f.sheets[r], string(ruleStates), margins)
		b, err := json.Marshal(row)
		if err != nil {
			return err
		}
		if i > 0 {
			p.w.WriteByte(',')
		}
		p.w.WriteByte('\n')
		if _, err := p.w.Write(b); err != nil {
			return err
		}
	}
	p.put("\n]}</script>\n")
	return nil
}

// short keeps three digits behind the point: a thousandth of a margin is more
// than anyone can see.
func short(x float64) any {
	switch {
	case math.IsNaN(x):
		return nil
	case math.IsInf(x, 1):
		return unlimited
	}
	return float32(math.Round(x*1000) / 1000)
}

// list is never null in JSON.
func list(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}
