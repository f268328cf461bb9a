package audit

import (
	"fmt"
	"io"
	"strings"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/sanitize"
	"trammel/rules"
)

// Text writes the summary for people. Of each list it shows the first most
// entries and says how many there are.
func (f *Fleet) Text(w io.Writer, most int) error {
	t := f.Totals()
	d := &document.Document{Layout: document.Summary, Title: fmt.Sprintf("%s, %s: %s, %s, %s, %s waived", plural(t.Machines, "machine", "machines"), plural(t.Axes, "axis", "axes"),
		plural(t.Counts.Errors, "error", "errors"), plural(t.Counts.Warnings, "warning", "warnings"), plural(t.Counts.Notes, "note", "notes"), thousands(t.Counts.Waived))}
	p := &summary{f: f, most: most}
	p.head("", "")
	p.line("%s judged (%s of those that apply), %s not judged, as of %s", plural(t.Judged, "rule", "rules"), percent(coverage(t.Judged, t.Unjudged)), thousands(t.Unjudged), f.today.Format("2006-01-02"))
	if n := len(f.broken); n > 0 {
		p.line("%s could not be read completely and are missing from these numbers, in whole or in part", plural(n, "file", "files"))
	}
	p.danger()
	p.worst()
	p.life()
	p.sums()
	p.gaps()
	p.variety()
	p.greasing()
	p.waivers()
	p.broken()
	p.head("To be checked by the engineer", "no rule judges these")
	for _, u := range rules.Unseen() {
		p.line("%s", u)
	}
	d.Sections = p.sections
	return document.Text(w, d)
}

// A summary is made for a terminal.
type summary struct {
	f        *Fleet
	most     int
	sections []document.Section
}

func (p *summary) head(title, more string) {
	if more != "" {
		title += ": " + more
	}
	p.sections = append(p.sections, document.Section{Title: title})
}

func (p *summary) add(b document.Block) { p.sections[len(p.sections)-1].Add(b) }

func (p *summary) line(format string, args ...any) {
	p.add(document.Paragraph(fmt.Sprintf(format, args...)))
}

// table shows the first most of rows in columns, or says that there are none.
func (p *summary) table(head []string, rows [][]string, none string) {
	if len(rows) == 0 {
		p.line("%s", none)
		return
	}
	p.add(p.cut(&document.Table{Head: head, Rows: rows}))
}

// cut leaves the first most rows of a table.
func (p *summary) cut(t *document.Table) *document.Table {
	if more := len(t.Rows) - p.most; more > 0 {
		t.Rows, t.Rest = t.Rows[:p.most], fmt.Sprintf("and %s more", thousands(more))
	}
	return t
}

func (p *summary) danger() {
	p.head("Axes without a sufficient holding brake", "")
	some := false
	for _, b := range []struct {
		brake brake
		words string
	}{
		{brakeFails, "brake too weak or missing"},
		{brakeWaived, "brake too weak or missing, accepted by a waiver"},
		{brakeOpen, "brake not judged"},
		{brakeOff, "rule switched off by a policy"},
		{brakeUnsure, "not known whether the axis lifts"},
	} {
		list := p.f.held(b.brake)
		if len(list) == 0 {
			continue
		}
		some = true
		t := &document.Table{Caption: b.words + ": " + plural(len(list), "axis", "axes")}
		for _, r := range list {
			t.Add(p.f.machineName(r), r.Axis, p.f.show(r).String(), r.lackBrake)
		}
		p.add(p.cut(t))
	}
	if !some {
		p.line("none")
	}
}

func (p *summary) worst() {
	p.head("Worst axes", "errors first, then by margin; a negative margin exceeds its limit")
	f := p.f
	var rows [][]string
	for _, r := range f.Worst() {
		use := float64(r.worstUse)
		if margin(use) > 0.25 && f.worstRank(r) == 0 {
			break // with a quarter to spare nothing is bad
		}
		rows = append(rows, []string{f.machineName(r), r.Axis, r.word(), f.ruleShown(int(r.worst)), percent(margin(use)), f.show(r).String()})
	}
	p.table([]string{"machine", "axis", "state", "worst rule", "margin", "location"}, rows, "no axis is near a limit")
}

func (p *summary) life() {
	f := p.f
	list, noAge, noLife := f.aging()
	p.head("Remaining life of the ball screws", "at the declared duty")
	if len(list) > 0 {
		var parts []string
		for i, n := range byHorizon(list) {
			if n > 0 {
				parts = append(parts, fmt.Sprintf("%s: %s", horizons[i].name, thousands(n)))
			}
		}
		p.line("%s", strings.Join(parts, ", "))
	}
	if noAge > 0 {
		p.line("%s without declared age (duty.commissioned or duty.hours_so_far)", plural(noAge, "axis", "axes"))
	}
	if noLife > 0 {
		p.line("%s with a declared age whose life could not be computed", plural(noLife, "axis", "axes"))
	}
	if len(list) == 0 {
		return
	}
	var rows [][]string
	for _, l := range list {
		if l.Remaining > far {
			break
		}
		rows = append(rows, []string{f.machineName(l.Row), l.Axis, years(l.Years), percent(l.Share), years(l.Remaining), l.ends(), l.Basis})
	}
	p.table([]string{"machine", "axis", "in service", "used", "remaining", "until", "age from"}, rows, "no life ends within 100 years")
}

// sums counts by rule and by machine.
func (p *summary) sums() {
	p.head("Findings by rule", "")
	var rows [][]string
	for _, s := range p.f.Rules() {
		if s.Counts.total()+s.Counts.Waived > 0 {
			rows = append(rows, []string{s.Rule, count(s.Counts.Errors), count(s.Counts.Warnings), count(s.Counts.Notes), count(s.Counts.Waived), count(s.Unjudged)})
		}
	}
	p.table([]string{"rule", "errors", "warnings", "notes", "waived", "not judged"}, rows, "no findings")
	p.head("Machines", "most errors first")
	rows = nil
	for _, m := range p.f.Machines() {
		rows = append(rows, []string{m.Machine, fmt.Sprint(m.Axes), count(m.Counts.Errors), count(m.Counts.Warnings), count(m.Counts.Notes), count(m.Counts.Waived), percent(m.Coverage())})
	}
	p.table([]string{"machine", "axes", "errors", "warnings", "notes", "waived", "judged"}, rows, "no axes")
}

func (p *summary) gaps() {
	g := &p.f.gaps
	p.head("Not judged", "")
	if g.waiting == 0 && g.other == 0 {
		p.line("all rules that apply were judged")
		return
	}
	if g.waiting > 0 {
		p.line("%s not judged because lines are missing; these lines would let the most be judged:", plural(g.waiting, "rule", "rules"))
		t := &document.Table{Head: []string{"line", "where", "rules", "total"}}
		for _, s := range g.steps(p.most) {
			t.Add(s.shown(), s.Where, "+"+thousands(s.Judged), percent(float64(s.Sum)/float64(g.waiting)))
		}
		p.add(t)
	}
	if g.other > 0 {
		p.line("%s could not be judged for another reason", plural(g.other, "rule", "rules"))
	}
}

func (p *summary) variety() {
	p.head("Variety", "")
	for k, names := range [][2]string{{"screw", "screws"}, {"motor", "motors"}, {"grease", "greases"}} {
		list, without := p.f.Variety(k)
		var some []string
		for i, x := range list {
			if i == p.most {
				some = append(some, fmt.Sprintf("and %s more", thousands(len(list)-i)))
				break
			}
			some = append(some, fmt.Sprintf("%s %d×", sanitize.Line(x.Part), x.Axes))
		}
		if without > 0 {
			some = append(some, plural(without, "axis", "axes")+" without")
		}
		p.line("%s: %s", plural(len(list), names[0], names[1]), strings.Join(some, ", "))
	}
	if p.f.mergesNote != "" {
		p.line("%s", p.f.mergesNote)
	}
	if len(p.f.merges) > 0 {
		p.line("One screw for several: every rule of every axis judged again with it (nut and supports unchanged):")
		p.add(p.f.mergeList(p.most))
	}
}

// mergeList lists what came of trying one screw for others, for the first most sizes.
func (f *Fleet) mergeList(most int) document.List {
	var out document.List
	for i := range f.merges {
		if i == most {
			return append(out, document.Item{Text: fmt.Sprintf("and %s more sizes", thousands(len(f.merges)-i))})
		}
		lines := f.merges[i].lines()
		out = append(out, document.Item{Text: lines[0], Items: lines[1:]})
	}
	return out
}

// lines say what came of trying one screw for others.
func (m *Merge) lines() []string {
	head := fmt.Sprintf("%s: ", m.Size)
	if m.Skipped {
		return []string{head + fmt.Sprintf("%d screws in use; not tried, because the limit of axes to judge again is reached", m.OutOf)}
	}
	out := []string{head + fmt.Sprintf("%s for %s", m.Into, plural(len(m.Parts), "other", "others"))}
	if m.Tried < m.OutOf {
		out[0] += fmt.Sprintf(" (%d of %d screws tried)", m.Tried, m.OutOf)
	}
	for i := range m.Parts {
		p := &m.Parts[i]
		s := fmt.Sprintf("%s (%s): ", p.Part, plural(p.Axes, "axis", "axes"))
		if len(p.Worse) == 0 {
			s += "can be replaced, no rule gets worse"
			if p.Moved {
				s += "; declare the new screw in a folder these axes can use"
			}
		} else {
			w := p.Worse[0]
			s += fmt.Sprintf("worse in %s, such as %s/%s (%s)", plural(len(p.Worse), "axis", "axes"), w.Machine, w.Axis, strings.Join(w.Rules, ", "))
		}
		out = append(out, s)
	}
	return out
}

func (p *summary) greasing() {
	months, without := p.f.Greasing()
	p.head("Regreasing", "axes due in each month")
	most := 1
	for _, m := range months {
		most = max(most, m.Axes)
	}
	var bars document.Code
	for _, m := range months {
		bars = append(bars, fmt.Sprintf("%s %6d  %s", m.Month, m.Axes, strings.Repeat("■", m.Axes*40/most)))
	}
	p.add(bars)
	if without > 0 {
		p.line("%s without a regreasing interval", plural(without, "axis", "axes"))
	}
}

func (p *summary) waivers() {
	if list := p.f.inForce(); len(list) > 0 {
		p.head("Waivers", thousands(len(list)))
		var rows [][]string
		for _, w := range list {
			rows = append(rows, w.cells())
		}
		p.table(waiverHead, rows, "")
	}
	if len(p.f.expired) == 0 {
		return
	}
	p.head("Expired waivers", thousands(len(p.f.expired)))
	var rows [][]string
	for _, x := range p.f.expired {
		rows = append(rows, []string{x.Place.String(), x.Axis, x.Message})
	}
	p.table([]string{"location", "axis", ""}, rows, "")
}

// broken lists the files that could not be read whole.
func (p *summary) broken() {
	broken := p.f.Broken()
	if len(broken) == 0 {
		return
	}
	p.head("Files not read completely", thousands(len(broken)))
	var rows [][]string
	for _, b := range broken {
		what := "a line could not be read"
		if b.lost() {
			what = "not readable"
		}
		rows = append(rows, []string{b.Place.String(), what, fmt.Sprint(b.Problems), b.Message + " [" + b.Rule + "]"})
	}
	p.table([]string{"location", "", "problems", "first problem"}, rows, "")
}

// count leaves a zero out, so that the eye finds the rest.
func count(n int) string {
	if n == 0 {
		return "·"
	}
	return thousands(n)
}
