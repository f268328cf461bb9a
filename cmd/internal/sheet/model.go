// Package sheet makes the calculation sheet of an axis, that of a machine, and what a
// sizing found, as documents; package document writes them.
package sheet

import (
	"cmp"
	"fmt"
	"math"
	"path"
	"slices"
	"sort"
	"strings"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/formula"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// Options of a sheet.
type Options struct {
	Sys  unit.System
	Show func(spec.Place) spec.Place
	Date string // "" for none: the same input gives the same bytes

	Version string // of the program, "" for none
	State   string // of the files: their commit; "" for none
}

// sections are those of the calculation, with what stands over each.
var sections = [mechanics.Sections]struct{ id, title, intro string }{
	mechanics.OfMotion:      {"motion", "Motion", "A move consists of acceleration, constant speed, deceleration and dwell. A move too short to reach its speed has no constant-speed part."},
	mechanics.OfForces:      {"forces", "Forces by phase", "Positive forces push the carriage toward positive travel."},
	mechanics.OfMeans:       {"means", "Mean load and mean speed", "Loads are weighted by revolutions, not by time; the mean speed leaves out dwells."},
	mechanics.OfLife:        {"life", "Required rating and life", ""},
	mechanics.OfSpeedLimits: {"speed", "Speed limits", ""},
	mechanics.OfStrength:    {"strength", "Buckling and stress", ""},
	mechanics.OfAccuracy:    {"accuracy", "Stiffness and accuracy", ""},
	mechanics.OfDrive:       {"drive", "Torque and motor", ""},
	mechanics.OfStopping:    {"stop", "Emergency stop and end stop", ""},
	mechanics.OfLayout:      {"layout", "Layout", ""},
	mechanics.OfService:     {"service", "Supports and service", ""},
}

// inSection are the quantities of a section, each behind those it needs.
func inSection(n mechanics.Section) []*mechanics.Quantity {
	var out []*mechanics.Quantity
	for _, q := range mechanics.All() {
		if q.Section == n {
			out = append(out, q)
		}
	}
	return out
}

// Build makes the sheet of a judged axis: its whole calculation in the order of a hand
// calculation.
func Build(rep *judge.Report, o Options) *document.Document {
	a := rep.View.Axis
	// The plots are drawn when the report's own values are gone.
	v := *rep.View
	v.Calc = mechanics.NewCalc()
	v.Calc.CopyFrom(rep.View.Calc)
	m := &maker{rep: rep, v: &v, o: o}
	s := m.head("Calculation sheet: axis " + a.Name)
	s.Front = m.front(s.Title)
	if list := numbered(rep); len(list) > 0 {
		s.Sections = append(s.Sections, m.details(list))
	}
	if shaft, ok := m.modelled(); ok {
		s.Sections = append(s.Sections, shaft)
	}
	for n := mechanics.Declared + 1; n < mechanics.Sections; n++ {
		sec, quantities := sections[n], inSection(n)
		out := document.Section{ID: sec.id, Title: sec.title}
		intro(&out, sec.intro)
		steps := m.seriesSteps(quantities)
		for _, q := range quantities {
			if q.Shape == mechanics.Scalar {
				steps = append(steps, m.step(q))
			}
		}
		if len(steps) > 0 {
			out.Add(steps)
		}
		for _, t := range m.phaseTable(quantities) {
			out.Add(t)
		}
		s.Sections = append(s.Sections, out)
	}
	m.plots(s)
	given := m.given()
	s.Sections = append(s.Sections, given, symbols(s.Sections, given), m.margins(), m.waived(), m.unjudged(), m.sensitivity(), m.unseen())
	return s
}

// intro begins a section with a text, if there is one.
func intro(s *document.Section, text string) {
	if text != "" {
		s.Add(document.Paragraph(text))
	}
}

type maker struct {
	rep *judge.Report
	v   *judge.View
	o   Options
}

func (m *maker) text(path string) string {
	if x := m.v.Axis.Get(spec.Language().FieldAt(path)); x != nil {
		return x.Text
	}
	return ""
}

// show writes a value of a quantity.
func (m *maker) show(q *mechanics.Quantity, x float64) string {
	switch {
	case x != x:
		return "not known"
	case len(q.Words) > 0:
		return q.Words[int(x)]
	}
	return readable(x, q.Kind, m.o.Sys)
}

// readable writes a value for reading. What is a thousand percent or a thousand years is said
// to be more: its digits would say no more.
func readable(x float64, k unit.Kind, sys unit.System) string {
	switch {
	case k == unit.Percentage && x > 10 && !math.IsInf(x, 0):
		return "> 1000 %"
	case k == unit.Span && x > 1000*mechanics.Year && !math.IsInf(x, 0):
		return "> 1000 years"
	}
	return unit.Readable(unit.Format(x, k, sys))
}

func (m *maker) step(q *mechanics.Quantity) document.Step {
	s := document.Step{Title: q.Title, Symbol: q.Symbol, Source: q.Source, Result: m.show(q, m.v.V(q))}
	s.Formula = formula.Parse(m.v.Calc.FormulaFor(q))
	s.Values, s.Assumed, s.Aside = map[string]string{"π": "π"}, map[string]bool{}, m.aside(q)
	for _, n := range append(append([]*mechanics.Quantity(nil), q.Needs...), q.May...) {
		switch {
		case n.Shape != mechanics.Scalar || len(n.Words) > 0:
		case n == mechanics.Unevenness && !(m.v.V(mechanics.Screws) > 1):
			s.Values[n.Symbol] = "1" // one screw has no uneven share
		case m.v.Calc.Known(n):
			s.Values[n.Symbol], s.Assumed[n.Symbol] = m.show(n, m.v.V(n)), m.assumed(n)
		default:
			s.Values[n.Symbol] = "—"
		}
	}
	s.Values["g"] = unit.Format(mechanics.Gravity, unit.Acceleration, m.o.Sys)
	if s.Result == "not known" {
		s.Note = m.lacking(q)
	}
	return s
}

// assumed reports a value that nobody declared.
func (m *maker) assumed(q *mechanics.Quantity) bool {
	if f := spec.Language().FieldAt(q.Name); f != nil && q.Shape == mechanics.Scalar {
		x := m.v.Axis.Get(f)
		return x == nil || x.Origin == spec.Default
	}
	return false
}

// aside says why a quantity that rules compare with limits is not compared here: the questions
// of all of them do not arise. It is "" where one does arise, or compares what follows from it.
func (m *maker) aside(q *mechanics.Quantity) string {
	if m.rep == nil {
		return ""
	}
	why := ""
	for i, r := range rules.Book().All() {
		var looks []*mechanics.Quantity
		for k := range r.Tests {
			t := &r.Tests[k]
			looks = slices.Concat(looks, []*mechanics.Quantity{t.Value, t.Against}, t.Needs, t.Also)
		}
		idle := m.rep.Results[i].State == judge.NotApplicable
		switch {
		case idle && why == "" && slices.Contains(looks, q):
			why = "not compared with a limit: " + r.Name + " does not apply, " + m.rep.Results[i].Why
		case !idle && slices.ContainsFunc(looks, func(n *mechanics.Quantity) bool { return n != nil && (n == q || n.DependsOn(q)) }):
			return ""
		}
	}
	return why
}

func (m *maker) lacking(q *mechanics.Quantity) string {
	note := ""
	for _, g := range m.v.Calc.Gaps(q) {
		if note != "" {
			note += ", "
		}
		note += g.Leaf.Name
	}
	if note == "" {
		return "not defined for what is declared"
	}
	return "missing: " + note
}

// seriesSteps gives the formulas of the quantities that are shown as columns.
func (m *maker) seriesSteps(list []*mechanics.Quantity) document.Steps {
	var out document.Steps
	for _, q := range list {
		if q.Shape == mechanics.Scalar {
			continue
		}
		s := document.Step{Title: q.Title, Symbol: q.Symbol, Source: q.Source, Result: document.SeeTable, Formula: formula.Parse(q.Formula), Aside: m.aside(q)}
		if !m.v.Calc.Known(q) {
			s.Result, s.Note = "not known", m.lacking(q)
		}
		out = append(out, s)
	}
	return out
}

// phaseTable tabulates the quantities with a value for each move or phase.
func (m *maker) phaseTable(list []*mechanics.Quantity) []*document.Table {
	var moves, phases []*mechanics.Quantity
	for _, q := range list {
		switch q.Shape {
		case mechanics.PerMove:
			moves = append(moves, q)
		case mechanics.PerPhase:
			phases = append(phases, q)
		}
	}
	var out []*document.Table
	head := func(first []string, qs []*mechanics.Quantity) *document.Table {
		t := &document.Table{Head: first, Number: make([]bool, len(first)), Symbols: make([]string, len(first))}
		for _, q := range qs {
			t.Head, t.Symbols = append(t.Head, q.Title+" "+q.Symbol), append(t.Symbols, q.Symbol)
			t.Number = append(t.Number, true)
		}
		return t
	}
	if len(moves) > 0 {
		t := head([]string{"move"}, moves)
		t.Caption = "Moves"
		for i, mv := range m.v.Axis.Moves {
			row := []string{mv.Name}
			for _, q := range moves {
				row = append(row, m.show(q, m.v.Calc.Series(q)[i]))
			}
			t.Rows = append(t.Rows, row)
		}
		out = append(out, t)
	}
	if len(phases) > 0 {
		t := head([]string{"move", "phase"}, phases)
		t.Caption = "Phases"
		times := m.v.Calc.Series(mechanics.PhaseTime)
		for i, mv := range m.v.Axis.Moves {
			for p := range mechanics.PhasesPerMove {
				k := i*mechanics.PhasesPerMove + p
				if times[k] == 0 {
					continue
				}
				row := []string{mv.Name, mechanics.Part(p).String()}
				for _, q := range phases {
					row = append(row, m.show(q, m.v.Calc.Series(q)[k]))
				}
				t.Rows = append(t.Rows, row)
			}
		}
		out = append(out, t)
	}
	return out
}

// Declared writes a declared value in the units of a sheet.
func Declared(x *spec.Value, sys unit.System) string {
	exact := func(v float64) string { return unit.FormatExact(v, x.Field.Unit, sys) }
	switch {
	case x.Bad:
		return "not readable"
	case x.Field.Pair:
		return exact(x.Ends[0].Nominal) + ", " + exact(x.Ends[1].Nominal)
	case x.Field.Sort != spec.Quantity:
		return x.Text
	case !x.Num.Exact():
		return exact(x.Num.Nominal) + " (" + exact(x.Num.Low) + " … " + exact(x.Num.High) + ")"
	}
	return exact(x.Num.Nominal)
}

// given lists every declared value with its place, and the assumed ones.
func (m *maker) given() document.Section {
	s := document.Section{ID: "given", Title: "Declared and assumed values"}
	own := m.o.Show(m.v.Axis.Place).File
	files := m.files()
	intro(&s, "Every input of the calculation, with the line that declares it; lines without a file are those of "+own+". Undeclared values are marked as assumed. Where a range is assumed, a rule passes only if it passes over the whole range; the calculation shows the usual value.")
	t := &document.Table{Head: []string{"input", "symbol", "value", "from"}, Number: []bool{false, false, true, false}}
	lang := spec.Language()
	add := func(name string, x *spec.Value) {
		if x == nil || x.Field.Sort == spec.Text && x.Field.Name == "description" {
			return
		}
		symbol, shown := "", Declared(x, m.o.Sys)
		if q := mechanics.ByName(name); q != nil {
			symbol = q.Symbol
		}
		from := ""
		if x.Origin == spec.Default {
			from = "assumed: " + x.Field.Why
		} else {
			from = judge.At(m.o.Show(x.Place), own)
			if p := m.o.Show(x.Place); p.File != own {
				from = files[p.File] + ":" + fmt.Sprint(p.Line)
			}
		}
		t.Rows = append(t.Rows, []string{inWords(name), symbol, shown, from})
	}
	for _, f := range lang.Fields[:lang.Moves] {
		add(f.Path, m.v.Axis.Get(f))
	}
	for _, mv := range m.v.Axis.Moves {
		for _, f := range lang.Fields[lang.Moves:] {
			if x := mv.Get(f); x != nil {
				before := len(t.Rows)
				add(f.Path, x)
				if len(t.Rows) > before {
					t.Rows[before][0] = "move " + mv.Name + ": " + judge.Readable(f.Name)
				}
			}
		}
	}
	ranges := &document.Table{Caption: "Assumed as a range", Head: []string{"input", "symbol", "range", "reason"}, Number: []bool{false, false, true, false}}
	for _, r := range m.v.Assumed() {
		low, high := unit.Format(r.Low, r.Leaf.Kind, m.o.Sys), unit.Format(r.High, r.Leaf.Kind, m.o.Sys)
		ranges.Add(inWords(r.Leaf.Name), r.Taken.Symbol, low+" to "+high, r.Why)
	}
	var others []string
	for file, short := range files {
		if file != own && short != file {
			others = append(others, file)
		}
	}
	if slices.Sort(others); len(others) > 0 {
		t.Rest = "The other files: " + strings.Join(others, ", ") + "."
	}
	s.Add(t)
	if len(ranges.Rows) > 0 {
		s.Add(ranges)
	}
	return s
}

// symbols is the legend of the formulas in sections: what the symbols mean that neither the
// table of declared values lists nor a step of the same section computes.
func symbols(sections []document.Section, given document.Section) document.Section {
	used := map[string]bool{}
	for i := range sections {
		for _, name := range fromElsewhere(&sections[i]) {
			used[name] = true
		}
	}
	for _, b := range given.Blocks {
		if t, ok := b.(*document.Table); ok && slices.Contains(t.Head, "symbol") {
			for _, row := range t.Rows {
				delete(used, row[slices.Index(t.Head, "symbol")])
			}
		}
	}
	t := &document.Table{Head: []string{"symbol", "meaning"}, Legend: true}
	if used["g"] {
		t.Add("g", "standard acceleration of free fall")
	}
	for _, q := range mechanics.All() {
		if used[q.Symbol] {
			t.Add(q.Symbol, q.Title)
			delete(used, q.Symbol)
		}
	}
	slices.SortStableFunc(t.Rows, func(a, b []string) int { return strings.Compare(strings.ToLower(a[0]), strings.ToLower(b[0])) })
	out := document.Section{ID: "symbols", Title: "Symbols"}
	intro(&out, "Symbols of the formulas that are not among the declared values and that the section does not compute itself. Index i: of a move; j: of a phase.")
	out.Add(t)
	return out
}

// fromElsewhere are the symbols in the formulas of a section that none of its steps has
// beside its title: a step without a result names no symbol.
func fromElsewhere(sec *document.Section) []string {
	own, out := map[string]bool{}, []string(nil)
	for _, b := range sec.Blocks {
		steps, _ := b.(document.Steps)
		for _, st := range steps {
			own[st.Symbol] = own[st.Symbol] || st.Note == ""
			out = append(out, st.Formula.Symbols()...)
		}
	}
	return slices.DeleteFunc(out, func(name string) bool { return own[name] })
}

// files names the files that values come from by their last part, where no other has the
// same.
func (m *maker) files() map[string]string {
	out, seen := map[string]string{}, map[string]int{}
	note := func(x *spec.Value) {
		if x == nil || x.Origin == spec.Default {
			return
		}
		if file := m.o.Show(x.Place).File; out[file] == "" {
			out[file] = path.Base(file)
			seen[out[file]]++
		}
	}
	lang := spec.Language()
	for _, f := range lang.Fields[:lang.Moves] {
		note(m.v.Axis.Get(f))
	}
	for _, mv := range m.v.Axis.Moves {
		for _, f := range lang.Fields[lang.Moves:] {
			note(mv.Get(f))
		}
	}
	for file, base := range out {
		if seen[base] > 1 {
			out[file] = file
		}
	}
	return out
}

// ofSupport tells fields of the two support units apart.
var ofSupport = map[string]string{"drive_support": "support of the driven end: ", "far_support": "support of the far end: "}

// inWords names an input for a reader who writes no file: by its quantity, "root diameter of the
// shaft", else by what the field means, else by its path, "load carries".
func inWords(path string) string {
	if q := mechanics.ByName(path); q != nil && !strings.HasPrefix(q.Title, "1 where ") {
		return strings.TrimPrefix(q.Title, "declared ")
	}
	if f := spec.Language().FieldAt(path); f != nil && f.Sort != spec.AxisRefs && f.Sort != spec.Text {
		words, _, _ := strings.Cut(f.Doc, ";")
		role, _, _ := strings.Cut(path, ".")
		return ofSupport[role] + judge.Readable(strings.TrimPrefix(words, "the "))
	}
	return strings.ReplaceAll(judge.Readable(path), ".", " ")
}

// margins tabulates how every rule came out, the tightest first.
func (m *maker) margins() document.Section {
	s := document.Section{ID: "margins", Title: "Margins"}
	intro(&s, "Used: the share of the limit of each rule that is used. Margin: what remains. Where a rule asks whether declared values fit each other, the share is near 100 % on a sound axis and no margin.")
	t := &document.Table{Head: []string{"rule", "verdict", "used", "margin"}, Number: []bool{false, false, true, true}}
	results := append([]judge.Result(nil), m.rep.Results...)
	sort.SliceStable(results, func(i, k int) bool { return rank(results[i]) > rank(results[k]) })
	var plain, idle, off []string
	for _, r := range results {
		switch {
		case r.State == judge.NotApplicable:
			idle = append(idle, r.Rule+" ("+r.Why+")")
			continue
		case r.State == judge.Disabled:
			off = append(off, r.Rule)
			continue
		case r.State == judge.Passed && r.Utilisation != r.Utilisation:
			plain = append(plain, r.Rule)
			continue
		}
		used, margin := "", ""
		if r.Utilisation == r.Utilisation {
			used = readable(r.Utilisation, unit.Percentage, m.o.Sys)
			margin = readable(judge.Margin(r.Utilisation), unit.Percentage, m.o.Sys)
			if r.Fit {
				margin = "fit"
			}
		}
		verdict := r.State.String()
		if r.Why != "" {
			verdict += ": " + r.Why
		}
		t.Rows = append(t.Rows, []string{r.Rule, verdict, used, margin})
	}
	if len(t.Rows) > 0 {
		s.Add(t)
	}
	for _, l := range []struct {
		words, sep string
		list       []string
	}{{"Passed, without numbers: ", ", ", plain}, {"Do not apply: ", "; ", idle}, {"Switched off: ", ", ", off}} {
		if slices.Sort(l.list); len(l.list) > 0 {
			intro(&s, l.words+strings.Join(l.list, l.sep)+".")
		}
	}
	if p := marginPlot(slices.DeleteFunc(results, func(r judge.Result) bool { return r.Fit })); p != nil {
		s.Add(p)
	}
	return s
}

// rank sorts results by how tight they are; those without a number follow.
func rank(r judge.Result) float64 {
	switch {
	case r.Utilisation == r.Utilisation && (!r.Fit || r.State == judge.Failed):
		return r.Utilisation
	case r.State == judge.Failed:
		return -1
	case r.State == judge.Passed:
		return -2
	case r.State == judge.Unjudged:
		return -3
	}
	return -4
}

// all are the findings about an axis and about the parts it uses.
func all(rep *judge.Report) []judge.Finding {
	return append(slices.Clone(rep.Findings), rep.OfParts()...)
}

// numbered are the findings that no waiver accepts, the gravest first: their numbers are
// those of the drawing.
func numbered(rep *judge.Report) []judge.Finding {
	list := slices.DeleteFunc(all(rep), func(f judge.Finding) bool { return f.Waiver != nil })
	slices.SortStableFunc(list, func(a, b judge.Finding) int { return cmp.Compare(b.Severity, a.Severity) })
	return list
}

// fewFindings are as many as the first page has room for with their fixes.
const fewFindings = 3

// findings are those of the first page; what entered them stands in details, and of many
// their fixes too.
func (m *maker) findings(list []judge.Finding) document.Section {
	s := document.Section{ID: "findings", Title: "Findings"}
	for i := range list {
		f := m.finding(&list[i])
		f.Number, f.Place = i+1, judge.At(m.o.Show(list[i].Place), m.o.Show(m.v.Axis.Place).File)
		f.More = slices.DeleteFunc(f.More, func(l string) bool { return len(list) > fewFindings || !strings.HasPrefix(l, "fix with") })
		s.Add(f)
	}
	if len(s.Blocks) == 0 {
		intro(&s, "No findings in the rules that were judged.")
	}
	return s
}

// details are the findings with all that is said of them.
func (m *maker) details(list []judge.Finding) document.Section {
	s := document.Section{ID: "details", Title: "Findings in detail"}
	for i := range list {
		f := m.finding(&list[i])
		f.Number = i + 1
		s.Add(f)
	}
	return s
}

// finding shows a finding with what entered it, its fixes and its caution.
func (m *maker) finding(f *judge.Finding) *document.Finding {
	at := m.o.Show(f.Place)
	out := &document.Finding{Place: fmt.Sprintf("%s:%d", at.File, at.Line), Level: f.Severity.String(), Message: f.Message, Rule: f.Rule}
	if len(f.Inputs) > 0 {
		var list []string
		for _, e := range f.Inputs {
			s := e.Words
			switch {
			case e.Assumed != "":
				s += " (assumed: " + e.Assumed + ")"
			case e.Place.Valid():
				s += " (" + judge.At(m.o.Show(e.Place), at.File) + ")"
			}
			list = append(list, s)
		}
		out.More = append(out.More, "inputs: "+strings.Join(list, ", "))
	}
	if fixes := judge.FixWords(f.Fixes); fixes != "" {
		out.More = append(out.More, fixes)
	}
	if c := rules.Book().Caution(f.Rule); c != "" {
		out.More = append(out.More, "caution: "+c)
	}
	return out
}

// listed is a section that is a list, or says that there is nothing on it.
func listed(id, title, none string, list []string) document.Section {
	s := document.Section{ID: id, Title: title}
	if len(list) == 0 {
		intro(&s, none)
	} else {
		s.Add(document.ListOf(list...))
	}
	return s
}

func (m *maker) waived() document.Section {
	var list []string
	for _, f := range all(m.rep) {
		if f.Waiver != nil {
			p := m.o.Show(f.WaiverPlace)
			list = append(list, fmt.Sprintf("%s, waived until %s: %s (%s:%d). The finding: %s", f.Rule, f.Waiver.Until.Text, f.Waiver.Reason.Text, p.File, p.Line, f.Message))
		}
	}
	return listed("waivers", "Waivers", "No finding is waived.", list)
}

func (m *maker) unseen() document.Section {
	return document.Section{ID: "unseen", Title: "To be checked by the engineer", Blocks: []document.Block{
		document.Paragraph("No rule judges these."), document.ListOf(rules.Unseen()...),
	}}
}

func (m *maker) unjudged() document.Section {
	var list []string
	for _, g := range m.rep.MissingInputs {
		p := m.o.Show(g.Place)
		what := g.Missing + " is missing"
		if g.Why != "" {
			what = g.Why
		}
		list = append(list, fmt.Sprintf("%s (%s:%d): %s", what, p.File, p.Line, strings.Join(g.Rules, ", ")))
	}
	return listed("not-judged", "Not judged", "All rules that apply were judged.", list)
}

func (m *maker) sensitivity() document.Section {
	s := document.Section{ID: "sensitivity", Title: "Sensitivity"}
	const how = "How the smallest margins change when one declared value grows by 1 %, largest change first. Where a value has a tolerance: the margin at both its limits."
	var tables []document.Block
	for _, sv := range m.rep.Sensitivities(5) {
		t := &document.Table{
			Caption: fmt.Sprintf("%s: margin %s", sv.Rule, unit.Format(judge.Margin(sv.Utilisation), unit.Percentage, m.o.Sys)),
			Head:    []string{"value", "declared", "change of margin", "margin over its tolerance"}, Number: []bool{false, true, true, true},
		}
		for i, in := range sv.Inputs {
			if i == 8 {
				break
			}
			over, shift := "", fmt.Sprintf("%+.2f points", in.Shift*100)
			if in.Low != in.Low && strings.Trim(shift, "+-0.") == " points" {
				continue // it does not count
			}
			if in.Low == in.Low {
				over = unit.Format(in.Low, unit.Percentage, m.o.Sys) + " … " + unit.Format(in.High, unit.Percentage, m.o.Sys)
			}
			// Named as where it was given: two parts may each have a length.
			name, x := inWords(in.Field.Path), (*spec.Value)(nil)
			if in.Move >= 0 {
				mv := m.v.Axis.Moves[in.Move]
				name, x = "move "+mv.Name+": "+judge.Readable(in.Field.Name), mv.Get(in.Field)
			} else {
				x = m.v.Axis.Get(in.Field)
			}
			t.Rows = append(t.Rows, []string{name, Declared(x, m.o.Sys), shift, over})
		}
		if !slices.ContainsFunc(t.Rows, func(r []string) bool { return r[3] != "" }) { // nothing has a tolerance
			t.Head, t.Number = t.Head[:3], t.Number[:3]
			for i, r := range t.Rows {
				t.Rows[i] = r[:3]
			}
		}
		if len(t.Rows) > 0 {
			tables = append(tables, t)
		}
	}
	if len(tables) == 0 {
		intro(&s, "No rule with numbers was judged.")
		return s
	}
	intro(&s, how)
	s.Add(tables...)
	return s
}

// cautions are those of the axis, with that of wear, which concerns its owner and not
// whoever offers a screw.
func (m *maker) cautions() []string {
	list := rules.Cautions(m.v)
	if c := rules.WearCaution(m.v); c != "" {
		list = append(list, c)
	}
	return list
}

// caution holds what goes for every axis, and what the axis adds to it.
func (m *maker) caution(more ...string) document.Section {
	list := cautionList(more...)
	return listed("caution", "Cautions and signature", "", append(list, "Checked and approved by the responsible engineer: ______________________  Date: ______________"))
}

// cautionList is what goes for every axis, and what one adds to it.
func cautionList(more ...string) []string {
	return append([]string{
		"The results are a design check. They are valid for the declared values and the formulas shown; they do not make a machine safe.",
		"Guarding, safe stop and lockout belong to the machine's risk assessment (ISO 12100, ISO 13849-1) and to local codes and rules, which take precedence over this sheet.",
		"An axis that can fall needs a device that holds it without power. Stay clear until it is secured.",
	}, more...)
}
