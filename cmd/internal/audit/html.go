package audit

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"trammel/cmd/internal/document"
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

// listed is how many entries of a list the page shows; the other forms have all.
const listed = 200

// states are those of an axis as a whole, in the order the table sorts them.
var states = []string{"error", "warning", "note", "not judged", "no findings yet", "clean"}

// HTML writes one page that needs nothing besides.
func (f *Fleet) HTML(w io.Writer) error {
	p := &page{f: f, d: &document.Document{Layout: document.Summary}}
	p.totals()
	p.danger()
	p.lifting()
	p.pictures()
	p.sums()
	p.axes()
	p.life()
	p.gaps()
	p.variety()
	p.greasing()
	p.files()
	p.section("unseen", "To be checked by the engineer", "")
	p.add(document.Paragraph("No rule judges these."), document.ListOf(rules.Unseen()...))
	p.section("caution", "", "")
	p.add(document.Paragraph("The results are a design check: the responsible engineer confirms and signs them. They do not make a machine safe; local rules take precedence."))
	return document.HTML(w, document.Page{Title: "Audit of " + plural(len(f.rows), "axis", "axes"), Style: style, Script: script, Data: f.data}, p.d)
}

// A page is the document that HTML writes.
type page struct {
	f *Fleet
	d *document.Document
}

func (p *page) section(id, title, short string) {
	p.d.Sections = append(p.d.Sections, document.Section{ID: id, Title: title, Short: short})
}

func (p *page) add(b ...document.Block) { p.d.Sections[len(p.d.Sections)-1].Add(b...) }

func (p *page) line(format string, args ...any) {
	p.add(document.Paragraph(fmt.Sprintf(format, args...)))
}

func (p *page) totals() {
	t := p.f.Totals()
	p.d.Title = fmt.Sprintf("Audit of %s on %s", plural(t.Axes, "axis", "axes"), plural(t.Machines, "machine", "machines"))
	fails, open := 0, 0
	for _, r := range p.f.rows {
		switch {
		case r.errors > 0:
			fails++
		case r.unjudged > 0:
			open++
		}
	}
	p.d.About = fmt.Sprintf("As of %s: %s with errors, %d more not judged completely.", p.f.today.Format("2006-01-02"), plural(fails, "axis", "axes"), open)
	p.d.Facts = document.Facts{
		{Name: "errors", Value: thousands(t.Counts.Errors), Level: "error"},
		{Name: "warnings", Value: thousands(t.Counts.Warnings), Level: "warning"},
		{Name: "notes", Value: thousands(t.Counts.Notes), Level: "note"},
		{Name: "waived", Value: thousands(t.Counts.Waived)},
		{Name: "rules judged", Value: thousands(t.Judged)},
		{Name: "rules not judged", Value: thousands(t.Unjudged)},
		{Name: "judged of those that apply", Value: percent(coverage(t.Judged, t.Unjudged))},
		{Name: "files not read completely", Value: thousands(len(p.f.broken))},
	}
}

// table adds a table of n rows, of which row writes one, if there are any; columns whose
// name ends in # hold numbers.
func (p *page) table(caption string, head []string, n int, row func(t *document.Table, i int)) {
	if n == 0 {
		return
	}
	t := &document.Table{Caption: caption, Named: true}
	for _, h := range head {
		name, number := strings.CutSuffix(h, "#")
		t.Head, t.Number = append(t.Head, name), append(t.Number, number)
	}
	for i := range min(n, listed) {
		row(t, i)
	}
	if n > listed {
		t.Rest = fmt.Sprintf("and %s more, listed in the JSON and CSV forms", thousands(n-listed))
	}
	p.add(t)
}

// sheet marks the name of an axis with the link to its sheet, if there is one.
func (p *page) sheet(r *Row) document.Mark { return document.Mark{Href: p.f.sheets[r]} }

// machine marks the name of a machine: it leads to its axes.
func machineMark(i int32) document.Mark {
	return document.Mark{Href: "#axes", Data: [2]string{"machine", fmt.Sprint(i)}}
}

// danger shows what can hurt someone, with the finding's sentence.
func (p *page) danger() {
	p.section("danger", "Hazards first", "")
	if list := p.f.dangers; len(list) > 0 {
		p.line("%s that can hurt someone.", plural(len(list), "error", "errors"))
		p.table("What can hurt someone", []string{"machine", "axis", "finding", "rule", "location"}, len(list), func(t *document.Table, i int) {
			d := &list[i]
			t.Add(p.f.machineName(d.Row), d.Axis, d.Message, d.Rule, p.f.show(d.Row).String())
			t.Mark(0, machineMark(d.machine))
			t.Mark(1, p.sheet(d.Row))
		})
		p.drawings()
	} else {
		p.line("No error that can hurt someone. That is not the same as safe: see what was not judged, and what no rule covers.")
	}
}

// drawings shows the most dangerous axes, what is wrong with them by its number.
func (p *page) drawings() {
	for i := range p.f.drawn {
		d := &p.f.drawn[i]
		name := p.f.machineName(d.Row) + ", " + d.Axis
		p.line("%s:", name)
		p.add(&document.Drawing{ID: fmt.Sprintf("danger-%d", i+1), Title: name, Words: d.picture.Words(), Draw: d.picture.SVG, Sketch: d.picture.Sketch()})
		for k, x := range d.dangers {
			p.add(&document.Finding{Number: k + 1, Place: p.f.show(d.Row).String(), Level: "error", Message: x.Message, Rule: x.Rule})
		}
	}
	if axes := p.dangerAxes(); axes > len(p.f.drawn) {
		p.line("The first %d of %s are drawn; the sheets draw each.", len(p.f.drawn), plural(axes, "axis", "axes"))
	}
}

// dangerAxes is how many axes have such errors.
func (p *page) dangerAxes() (n int) {
	var last *Row
	for i := range p.f.dangers {
		if p.f.dangers[i].Row != last {
			n, last = n+1, p.f.dangers[i].Row
		}
	}
	return n
}

func (p *page) lifting() {
	p.section("lifting", "Axes without a sufficient holding brake", "Holding brakes")
	for b := brakeFails; b <= brakeOff; b++ {
		list := p.f.held(b)
		caption := [...]string{"", "Brake too weak or missing", "Brake too weak or missing, accepted by a waiver", "Brake not judged", "Not known whether the axis lifts", "Rule switched off by a policy"}[b]
		head := []string{"machine", "axis", "location"}
		if b == brakeOpen || b == brakeUnsure {
			head = append(head, "why")
		}
		p.table(caption+": "+plural(len(list), "axis", "axes"), head, len(list), func(t *document.Table, i int) {
			r := list[i]
			t.Add([]string{p.f.machineName(r), r.Axis, p.f.show(r).String(), r.lackBrake}[:len(head)]...)
			t.Mark(0, machineMark(r.machine))
			t.Mark(1, p.sheet(r))
		})
	}
	if len(p.d.Section("lifting").Blocks) == 0 {
		p.line("None.")
	}
}

func (p *page) axes() {
	p.section("axes", "All axes", "")
	var b strings.Builder
	b.WriteString(filters)
	for _, h := range []string{"Machine", "Axis", "State", "Errors#", "Warnings#", "Notes#", "Not judged#", "Worst rule", "Margin#", "Rule#", "Life#", "Life used#", "Remaining#", "Ends on", "Screw", "Location"} {
		name, number := strings.CutSuffix(h, "#")
		class := ""
		if number {
			class = ` class="n"`
		}
		fmt.Fprintf(&b, "<th scope=\"col\"%s><button type=\"button\">%s</button></th>", class, name)
	}
	b.WriteString("</tr></thead>\n<tbody></tbody>\n</table>\n</div>\n<button type=\"button\" id=\"more\" hidden></button></div>\n")
	p.add(document.Widget(b.String()))
}

// filters stand above the table of all axes, which the script fills.
const filters = `<noscript><p>The table of all axes needs JavaScript; the CSV form holds the same.</p></noscript>
<div class="filters" role="search">
<div><label for="search">Search in names, files, screws</label><input id="search" type="search" autocomplete="off"></div>
<div><label for="machine">Machine</label><select id="machine"></select></div>
<div><label for="rule">Rule</label><select id="rule"></select></div>
<div><label for="state">State</label><select id="state"></select></div>
<div><button type="button" class="reset">Show all axes</button></div>
</div>
<p id="count" role="status"></p>
<div id="empty" hidden><p>No axis matches. Choose another machine, rule or state, or change the search text.</p><button type="button" class="reset">Show all axes</button></div>
<div id="table"><div class="scroll" tabindex="0" role="group" aria-label="All axes">
<table id="fleet">
<thead><tr>`

func (p *page) pictures() {
	p.section("plots", "Plots", "")
	p.add(p.f.marginPlot(), p.f.agePlot(), p.f.coveragePlot())
}

func (p *page) life() {
	list, noAge, noLife := p.f.aging()
	p.section("life", "Remaining life of the ball screws", "Life")
	p.line("Remaining life is the computed life of the ball screw, at the required reliability and the declared duty, less the years in service: hours_so_far over the hours of a year where both are declared, else the calendar since commissioned. It is arithmetic on a rating life: at 90 %% reliability ten screws in a hundred fail sooner.")
	if len(list) > 0 {
		n := byHorizon(list)
		p.table("Remaining life", []string{"remaining life", "axes#"}, len(n), func(t *document.Table, i int) { t.Add(horizons[i].name, thousands(n[i])) })
	}
	if noAge > 0 {
		p.line("%s without declared age (duty.commissioned or duty.hours_so_far).", plural(noAge, "axis", "axes"))
	}
	if noLife > 0 {
		p.line("%s with a declared age whose life could not be computed.", plural(noLife, "axis", "axes"))
	}
	p.table("Axes with a declared age, the shortest remaining life first", []string{"machine", "axis", "life#", "in service#", "used#", "remaining#", "until", "age from"}, len(list), func(t *document.Table, i int) {
		l := list[i]
		t.Add(p.f.machineName(l.Row), l.Axis, years(l.lifeYears), years(l.Years), percent(l.Share), years(l.Remaining), l.ends(), l.Basis)
		t.Mark(0, machineMark(l.machine))
		t.Mark(1, p.sheet(l.Row))
	})
}

func (p *page) sums() {
	p.section("rules", "Rules, product lines and machines", "Rules and machines")
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
	p.table("Findings by rule", []string{"rule", "errors#", "warnings#", "notes#", "waived#", "axes passed#", "axes not judged#"}, len(list), func(t *document.Table, i int) {
		s := &list[i]
		t.Add(s.Rule, count(s.Counts.Errors), count(s.Counts.Warnings), count(s.Counts.Notes), count(s.Counts.Waived), count(s.Passed), count(s.Unjudged))
		if s.rule >= 0 {
			t.Mark(0, document.Mark{Href: "#axes", Data: [2]string{"rule", fmt.Sprint(at[s.rule])}})
		}
	})
	byName := map[string]int32{}
	for i, m := range p.f.machines {
		byName[m.shown] = int32(i)
	}
	if lines := p.f.Lines(); len(lines) > 1 {
		p.table("Product lines", []string{"folder", "machines#", "axes#", "errors#", "warnings#", "notes#", "waived#", "judged#"}, len(lines), func(t *document.Table, i int) {
			l := &lines[i]
			t.Add(l.Folder, thousands(l.Machines), thousands(l.Axes), count(l.Counts.Errors), count(l.Counts.Warnings), count(l.Counts.Notes), count(l.Counts.Waived), percent(l.Coverage()))
		})
	}
	machines := p.f.Machines()
	p.table("Machines", []string{"machine", "folder", "axes#", "errors#", "warnings#", "notes#", "waived#", "judged#"}, len(machines), func(t *document.Table, i int) {
		m := &machines[i]
		t.Add(m.Machine, m.Folder, thousands(m.Axes), count(m.Counts.Errors), count(m.Counts.Warnings), count(m.Counts.Notes), count(m.Counts.Waived), percent(m.Coverage()))
		t.Mark(0, machineMark(byName[m.Machine]))
	})
}

func (p *page) gaps() {
	g := &p.f.gaps
	p.section("gaps", "Not judged", "")
	if g.waiting == 0 && g.other == 0 {
		p.line("All rules that apply were judged.")
	}
	if g.waiting > 0 {
		p.line("%s not judged because lines are missing. These lines would let the most be judged, each together with those above it:", plural(g.waiting, "rule", "rules"))
		steps := g.steps(mostSteps)
		p.table("Missing lines", []string{"line", "where", "more rules judged#", "share of those not judged#"}, len(steps), func(t *document.Table, i int) {
			s := &steps[i]
			t.Add(s.shown(), s.Where, "+"+thousands(s.Judged), percent(float64(s.Sum)/float64(g.waiting)))
		})
	}
	if g.other > 0 {
		p.line("%s could not be judged for another reason.", plural(g.other, "rule", "rules"))
	}
}

func (p *page) variety() {
	p.section("variety", "Variety", "")
	p.line("Screws that could replace others of the same nominal diameter and lead. Every rule of every axis concerned was judged again with the new screw; nut and supports unchanged.")
	switch {
	case p.f.mergesNote != "":
		p.line("%s", p.f.mergesNote)
	case len(p.f.merges) == 0:
		p.line("No two screws in use have the same nominal diameter and lead.")
	}
	if len(p.f.merges) > 0 {
		p.add(p.f.mergeList(listed))
	}
	for k, name := range []string{"Screws", "Motors", "Greases"} {
		list, without := p.f.Variety(k)
		caption := name + " in use"
		if without > 0 {
			caption += ", " + plural(without, "axis", "axes") + " without"
		}
		p.table(caption, []string{"part", "declared in", "axes#"}, len(list), func(t *document.Table, i int) {
			t.Add(list[i].Part, list[i].Place.String(), thousands(list[i].Axes))
		})
	}
}

func (p *page) greasing() {
	months, without := p.f.Greasing()
	p.section("greasing", "Regreasing", "")
	p.line("Axes due in each month, counted from the commissioning date, or from 1 January if that is not declared. --write ics=FILE writes a calendar with every due day.")
	p.add(greasingPlot(months))
	if without > 0 {
		p.line("%s without a regreasing interval.", plural(without, "axis", "axes"))
	}
}

func (p *page) files() {
	p.section("files", "Files and waivers", "")
	broken, expired := p.f.Broken(), p.f.expired
	if len(broken) == 0 {
		p.line("All files were read completely.")
	}
	p.table("Files not read completely", []string{"location", "problems#", "first problem"}, len(broken), func(t *document.Table, i int) {
		x := &broken[i]
		t.Add(x.Place.String(), thousands(x.Problems), x.Message+" ["+x.Rule+"]")
	})
	waivers := p.f.inForce()
	p.table("Waivers", waiverHead, len(waivers), func(t *document.Table, i int) { t.Add(waivers[i].cells()...) })
	if len(expired) == 0 {
		p.line("No waiver has expired.")
	}
	p.table("Expired waivers", []string{"location", "machine", "axis", "waiver"}, len(expired), func(t *document.Table, i int) {
		x := &expired[i]
		t.Add(x.Place.String(), x.Machine, x.Axis, x.Message)
	})
}

// unlimited stands for a number without end, which JSON has no word for.
const unlimited = 1e99

// data writes the rows of the table. The encoder writes < > and & as \u003c and
// so on, so that nothing in it ends the element it stands in.
func (f *Fleet) data(w io.Writer) error {
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
	fmt.Fprintf(w, "%s,\"rows\":[", head[:len(head)-1])
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
		sep := ",\n"
		if i == 0 {
			sep = "\n"
		}
		if _, err := io.WriteString(w, sep+string(b)); err != nil {
			return err
		}
	}
	_, err = io.WriteString(w, "\n]}")
	return err
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
