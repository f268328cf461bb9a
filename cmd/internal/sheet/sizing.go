package sheet

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/drawing"
	"trammel/cmd/internal/sanitize"
	"trammel/cmd/internal/svg"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/rules/sizing"
	"trammel/spec"
	"trammel/spec/unit"
)

// Sizing makes the sheet that says which parts would carry an axis.
func Sizing(z *sizing.Result, o Options) *document.Document {
	v := z.View
	m := &maker{v: v, o: o}
	s := m.head("Part combinations that pass for axis " + v.Axis.Name)
	s.Facts.Add("Passing combinations", holding(z))
	declared := "fails"
	if z.Declared {
		declared = "passes"
		if z.Partly {
			declared = "passes apart from what does not depend on the parts"
		}
	}
	s.Facts.Add("Design as declared", declared)
	p := &sizingPage{z: z, m: m, o: o}
	order := []document.Section{p.answers(), p.misses(), p.least(), p.thrown(), p.standing(), p.tried(), p.weighed()}
	if z.Partly { // what nobody could judge comes first
		order = slices.Insert(slices.Delete(order, 4, 5), 0, p.standing())
		order[1].Title = "Combinations that pass every rule judged"
	}
	for _, sec := range append(order, p.drawings()) {
		if len(sec.Blocks) > 0 {
			s.Sections = append(s.Sections, sec)
		}
	}
	s.Sections = append(s.Sections, m.caution())
	return s
}

// drawings shows the axis as declared and with the first combination.
func (p *sizingPage) drawings() document.Section {
	s := document.Section{ID: "drawings", Title: "Declared and proposed"}
	if len(p.z.Answers) == 0 {
		return s
	}
	first := &p.z.Answers[0]
	proposed := *p.z.View
	proposed.Axis, proposed.Calc = p.z.View.Axis.Copy(), mechanics.NewCalc()
	proposed.Axis.Put(first.Changes)
	judge.Load(proposed.Calc, proposed.Axis, judge.CarriedMass(proposed.Carried), nil)
	draw := func(id, title string, v *judge.View) {
		pic := drawing.Of(v, nil)
		s.Add(document.Paragraph(title), &document.Drawing{ID: id, Title: title, Words: pic.Words(), Draw: pic.SVG, Sketch: pic.Sketch()})
	}
	draw("declared", "As declared", p.z.View)
	draw("proposed", "With combination 1: "+first.Shown(), &proposed)
	return s
}

// head is a sheet with what heads every sheet about one axis.
func (m *maker) head(title string) *document.Document {
	s := &document.Document{Title: title, About: m.text("description")}
	a := m.v.Axis
	place := m.o.Show(a.Place)
	if n := a.Folder.MachineName(); n != "" {
		s.Facts.Add("Machine", n)
	}
	s.Facts.Add("Declared in", fmt.Sprintf("%s:%d", place.File, place.Line))
	s.Facts.Add("Units", [...]string{"metric", "inch"}[m.o.Sys])
	if m.o.Date != "" {
		s.Facts.Add("Date", m.o.Date)
	}
	return s
}

// holding says in words how much of what was tried holds.
func holding(z *sizing.Result) string {
	all := sanitize.Count(z.All, "combination", "combinations")
	out := "none of " + all
	if z.Holding > 0 {
		out = fmt.Sprintf("%d of %s, with %s", z.Holding, all, sanitize.Count(z.Screws, "screw", "screws"))
	}
	if n := openRules(z.Open); n > 0 {
		out += fmt.Sprintf("; %s could not be judged", sanitize.Count(n, "rule", "rules"))
	}
	return out
}

// openRules counts the rules that wait for something.
func openRules(open []judge.MissingInput) int {
	seen := map[string]bool{}
	for _, g := range open {
		for _, r := range g.Rules {
			seen[r] = true
		}
	}
	return len(seen)
}

type sizingPage struct {
	z *sizing.Result
	m *maker
	o Options
}

// varied lists the choices that had more than one option.
func (p *sizingPage) varied() (out []int) {
	for i, c := range p.z.Choices {
		if !c.Kept {
			out = append(out, i)
		}
	}
	return out
}

func (p *sizingPage) table(list []sizing.Answer, others bool) *document.Table {
	t := &document.Table{}
	column := func(head string, number bool) {
		t.Head, t.Number = append(t.Head, head), append(t.Number, number)
	}
	column("no.", true)
	varied := p.varied()
	for _, i := range varied {
		column(p.z.Choices[i].Name, false)
	}
	if p.z.ByCost {
		column("cost", true)
	}
	column("diameter", true)
	column("inertia", true)
	column("minimum margin", true)
	column("of rule", false)
	if others {
		column("others", true)
	}
	for i := range list {
		a := &list[i]
		row := []string{strconv.Itoa(i + 1)}
		for _, k := range varied {
			words := a.Picks[k].Words
			if !a.Picks[k].Different {
				words += " ="
			}
			row = append(row, words)
		}
		if p.z.ByCost {
			row = append(row, costShown(a.Cost))
		}
		row = append(row, p.known(a.Diameter, unit.Length), p.known(a.Inertia, unit.Inertia), a.Margin(), a.UtilisationOf)
		if others {
			row = append(row, strconv.Itoa(a.Others))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func costShown(x float64) string {
	if x != x {
		return "—"
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

func (p *sizingPage) known(x float64, k unit.Kind) string {
	if x != x || math.IsInf(x, 0) {
		return "—"
	}
	return unit.Format(x, k, p.o.Sys)
}

// order says by what the answers are ranked.
func (p *sizingPage) order() string {
	first := ""
	if p.z.ByCost {
		first = "lowest cost, "
	}
	return "One line for each screw with its best combination. Order: " + first +
		"smallest nominal diameter, smallest shaft inertia, coarsest grade, fewest fixed ends, smallest motor, largest margin. = means as declared; others counts the other passing combinations with the same screw."
}

func (p *sizingPage) answers() document.Section {
	s := document.Section{ID: "holds", Title: "Passing combinations"}
	if len(p.z.Answers) == 0 {
		return s
	}
	text := p.order()
	if p.z.Spread {
		text += " Values have tolerances: each line passes over the whole tolerance; the counts are for nominal values."
	}
	s.Add(document.Paragraph(text), p.table(p.z.Answers, true))
	if more := p.z.Screws - len(p.z.Answers); more > 0 && !p.z.Spread {
		s.Add(document.ListOf(sanitize.Count(more, "more screw", "more screws")))
	}
	return s
}

func (p *sizingPage) least() document.Section {
	var list []string
	for i := range p.z.Least {
		a := &p.z.Least[i]
		if a.Different() == 0 {
			list = append(list, "none: the design as declared passes")
			break
		}
		var words []string
		for _, k := range p.varied() {
			if x := a.Picks[k]; x.Different {
				words = append(words, x.Choice+" "+x.Words)
			}
		}
		list = append(list, fmt.Sprintf("%s (minimum margin %s, %s)", strings.Join(words, ", "), a.Margin(), a.UtilisationOf))
	}
	return listed("least", "Smallest change to the declared design", "", list)
}

func (p *sizingPage) misses() document.Section {
	s := document.Section{ID: "misses", Title: "Nearest combinations"}
	if len(p.z.Misses) == 0 {
		return s
	}
	text := "No combination passes. For each screw: the combination that fails the fewest rules, by the least. The rules it fails are listed below the table."
	if p.z.Holding > 0 {
		text = "Some combinations pass at nominal values, but no screw's best combination passes over all tolerances. What they lack is listed below."
	}
	s.Add(document.Paragraph(text), p.table(p.z.Misses, false))
	var list []string
	for i := range p.z.Misses {
		a := &p.z.Misses[i]
		for _, f := range a.Findings {
			list = append(list, fmt.Sprintf("no. %d: %s [%s]", i+1, f.Message, f.Rule))
		}
		for _, why := range unjudged(a.Unjudged) {
			list = append(list, fmt.Sprintf("no. %d: not judged: %s", i+1, why))
		}
	}
	if len(list) > 0 {
		s.Add(document.ListOf(list...))
	}
	return s
}

// unjudged says of rules why they could not be judged, those that lack the same together.
func unjudged(list []judge.Result) (out []string) {
	rules := map[string][]string{}
	var order []string
	for _, r := range list {
		key := r.Why
		if len(r.Missing) > 0 && !r.Assumed {
			var lines []string
			for _, m := range r.Missing {
				lines = append(lines, m.Words+" is missing")
			}
			key = strings.Join(lines, "; ")
		}
		if rules[key] == nil {
			order = append(order, key)
		}
		rules[key] = append(rules[key], r.Rule)
	}
	for _, key := range order {
		out = append(out, fmt.Sprintf("%s (%s)", strings.Join(rules[key], ", "), key))
	}
	return out
}

func (p *sizingPage) thrown() document.Section {
	s := document.Section{ID: "rejected", Title: "Rejected by"}
	if len(p.z.Rejected) == 0 {
		return s
	}
	intro(&s, "Choices are made one after another. A combination is counted for every rule it fails at the first choice where it fails any.")
	t := &document.Table{Head: []string{"choice", "rule", "rejected", "not judged"}, Number: []bool{false, false, true, true}}
	for _, x := range p.z.Rejected {
		unjudged := ""
		if x.Unjudged > 0 {
			unjudged = strconv.Itoa(x.Unjudged)
		}
		t.Rows = append(t.Rows, []string{x.Choice, x.Rule, strconv.Itoa(x.Count), unjudged})
	}
	s.Add(t)
	return s
}

// standing says what stands whatever the parts, and more.
func (p *sizingPage) standing(more ...string) document.Section {
	s := document.Section{ID: "stands", Title: "Independent of the parts"}
	for i := range p.z.Standing {
		s.Add(p.m.finding(&p.z.Standing[i]))
	}
	var list []string
	for _, f := range p.z.LeftOut {
		at := p.o.Show(f.Place)
		list = append(list, fmt.Sprintf("not tried: %s (%s:%d): %s [%s]", strings.TrimSuffix(f.Cause, "."), at.File, at.Line, f.Message, f.Rule))
	}
	for _, g := range p.z.Open {
		what := g.Why
		if what == "" {
			what = g.Missing + " is missing"
		}
		list = append(list, fmt.Sprintf("not judged: %s (%s)", strings.Join(g.Rules, ", "), what))
	}
	for _, r := range p.z.Waived {
		list = append(list, fmt.Sprintf("not used: %s is waived for this axis", r))
	}
	if p.z.NutStays && (p.m.v.Declared(nutLength) || p.m.v.Declared(nutStiffness)) {
		var have []string
		for _, f := range []*spec.Field{nutLength, nutStiffness} {
			if x := p.m.v.Value(f); x != nil {
				have = append(have, f.Name+" "+p.m.v.Text(x))
			}
		}
		list = append(list, fmt.Sprintf("screws without their own nut in the parts files were judged with the declared nut: %s; compare their nuts with it", strings.Join(have, ", ")))
	}
	list = append(list, p.dropped()...)
	if list = append(list, more...); len(list) > 0 {
		s.Add(document.ListOf(list...))
	}
	return s
}

// dropped says which lines of the axis do not hold for another screw.
func (p *sizingPage) dropped() (out []string) {
	var list []string
	for _, path := range p.z.Dropped {
		f := spec.Language().FieldAt(path)
		block, _, _ := strings.Cut(path, ".")
		if f == nutDrag {
			out = append(out, "not used: the declared drag torque of the nut, which is that of one screw at one preload")
			continue
		}
		words := block + " " + judge.Readable(f.Name)
		if x := p.m.v.Value(f); x != nil {
			words += " " + p.m.v.Text(x)
		}
		list = append(list, words)
	}
	if len(list) > 0 {
		out = append(out, "lines of the axis that another screw replaces: "+strings.Join(list, ", "))
	}
	return out
}

var nutDrag = spec.Language().FieldAt("nut.drag_torque")

var nutLength, nutStiffness = spec.Language().FieldAt("nut.length"), spec.Language().FieldAt("nut.stiffness")

// mostOptions is how many options of a choice are named.
const mostOptions = 12

func (p *sizingPage) tried() document.Section {
	var list []string
	for _, c := range p.z.Choices {
		if c.Kept {
			list = append(list, fmt.Sprintf("%s: %s, kept", c.Name, c.Options[0]))
			continue
		}
		shown := c.Options
		if len(shown) > mostOptions {
			shown = append(slices.Clone(shown[:mostOptions]), fmt.Sprintf("and %d more", len(c.Options)-mostOptions))
		}
		list = append(list, fmt.Sprintf("%s, %d: %s", c.Name, len(c.Options), strings.Join(shown, "; ")))
	}
	list = append(list, fmt.Sprintf("%s judged; a finding of level %s or above rejects a combination", sanitize.Count(p.z.Judged, "rule", "rules"), p.z.Level))
	return listed("tried", "Combinations tried", "", list)
}

// weighed shows what more margin costs.
func (p *sizingPage) weighed() document.Section {
	s := document.Section{ID: "weighed", Title: "Margin against size"}
	if p.z.ByCost {
		s.Title = "Margin against cost"
	}
	if len(p.z.Front) < 2 {
		return s // nothing to weigh
	}
	t := p.table(p.z.Front, false)
	intro(&s, "Combinations for which no other is both "+map[bool]string{true: "cheaper", false: "smaller"}[p.z.ByCost]+" and larger in its minimum margin.")
	s.Add(t)
	var spots []svg.Spot
	xu := ""
	scale := func(x float64) float64 { return x }
	if !p.z.ByCost {
		xu, scale = p.m.scale(unit.Length, p.z.Front[len(p.z.Front)-1].Diameter)
	}
	add := func(list []sizing.Answer, shape svg.Shape) {
		for i := range list {
			x, use := list[i].Diameter, list[i].Utilisation
			if p.z.ByCost {
				x = list[i].Cost
			}
			if x == x && !math.IsInf(x, 0) && !math.IsInf(use, 0) {
				spots = append(spots, svg.Spot{Point: svg.Point{X: scale(x), Y: use * 100}, Shape: shape})
			}
		}
	}
	add(p.z.Answers, svg.Ring)
	others := len(spots)
	add(p.z.Front, svg.Dot)
	if len(spots) == others {
		return s
	}
	what, name := "nominal diameter", ""
	if p.z.ByCost {
		what, name = "cost", "cost"
	} else {
		name = label(what, xu)
	}
	first, last := &p.z.Front[0], &p.z.Front[len(p.z.Front)-1]
	alt := fmt.Sprintf("%s (dots; rings: the best of each screw); the smallest %s leaves a margin of %s (%s), the largest %s", sanitize.Count(len(spots)-others, "combination", "combinations"), what, first.Margin(), first.UtilisationOf, last.Margin())
	far := 0.0
	for _, x := range spots {
		far = math.Max(far, x.X)
	}
	s.Add(figure("plot-weighed", "Highest use of a limit against "+what, alt, &svg.Chart{
		X: svg.Axis{Label: name}, Y: svg.Axis{Label: "highest use of a limit (%)"}, Spots: spots,
		Lines: []svg.Line{{Name: "limit", Weight: svg.LimitLeft, Points: []svg.Point{{Y: 100}, {X: far, Y: 100}}}},
	}))
	return s
}

// SizingSchema names the version of the JSON written by SizingJSON. Within a
// version fields are only added.
const SizingSchema = "trammel.size/1"

type sizingJSON struct {
	Schema       string         `json:"schema"`
	Machine      string         `json:"machine"`
	Axis         string         `json:"axis"`
	File         string         `json:"file"`
	Line         int32          `json:"line"`
	Combinations int            `json:"combinations"`
	Holding      int            `json:"holding"`
	Screws       int            `json:"screws_holding"`
	Declared     bool           `json:"declared_holds"`
	ByCost       bool           `json:"ranked_by_cost"`
	Tolerances   bool           `json:"tolerances"`
	Judged       int            `json:"rules_judged"`
	Partly       bool           `json:"errors_not_judged"`
	Level        string         `json:"rejected_from"`
	Choices      []choiceJSON   `json:"choices"`
	Answers      []answerJSON   `json:"answers"`
	Least        []answerJSON   `json:"least_change"`
	Misses       []answerJSON   `json:"nearest_misses"`
	Front        []answerJSON   `json:"margin_against_size"`
	Rejected     []rejectedJSON `json:"rejected"`
	Standing     []findingJSON  `json:"standing"`
	Open         []gapJSON      `json:"not_judged"`
	Waived       []string       `json:"waived"`
	Dropped      []string       `json:"lines_replaced"`
	LeftOut      []findingJSON  `json:"parts_left_out"`
	NutStays     bool           `json:"nut_as_declared"`
}

type choiceJSON struct {
	Name    string   `json:"name"`
	Kept    bool     `json:"kept"`
	Options []string `json:"options"`
}

type answerJSON struct {
	Picks    []pickJSON    `json:"picks"`
	Cost     *float64      `json:"cost"`
	Diameter *float64      `json:"nominal_diameter"` // m
	Inertia  *float64      `json:"shaft_inertia"`    // kg m²
	Use      *float64      `json:"largest_use"`
	UseOf    string        `json:"largest_use_of"`
	Others   int           `json:"others"`
	Findings []findingJSON `json:"findings,omitempty"`
	Unjudged []string      `json:"not_judged,omitempty"`
}

type pickJSON struct {
	Choice    string `json:"choice"`
	Take      string `json:"take"`
	Different bool   `json:"different"`
}

type rejectedJSON struct {
	Choice   string `json:"after_choice"`
	Rule     string `json:"rule"`
	Count    int    `json:"combinations"`
	Unjudged int    `json:"not_judged"`
}

type findingJSON struct {
	Rule     string `json:"rule"`
	Severity string `json:"severity"`
	Message  string `json:"message"`
}

func ruleNames(list []judge.Result) (out []string) {
	for _, r := range list {
		out = append(out, r.Rule)
	}
	return out
}

type gapJSON struct {
	Missing string   `json:"missing,omitempty"`
	Why     string   `json:"why,omitempty"`
	Rules   []string `json:"rules"`
}

// SizingJSON writes a sizing as JSON; numbers are in SI units.
func SizingJSON(w io.Writer, z *sizing.Result, o Options) error {
	a := z.View.Axis
	at := o.Show(a.Place)
	out := sizingJSON{Schema: SizingSchema, Machine: a.Folder.MachineName(), Axis: a.Name, File: at.File, Line: at.Line,
		Combinations: z.All, Holding: z.Holding, Screws: z.Screws, Declared: z.Declared, ByCost: z.ByCost, Tolerances: z.Spread, Judged: z.Judged, Partly: z.Partly, Level: z.Level.String(),
		Choices: []choiceJSON{}, Rejected: []rejectedJSON{}, Open: gapsJSON(z.Open),
		Answers: answersJSON(z.Answers), Least: answersJSON(z.Least), Misses: answersJSON(z.Misses), Front: answersJSON(z.Front),
		LeftOut: findingsJSON(z.LeftOut), Standing: findingsJSON(z.Standing), Waived: append([]string{}, z.Waived...), Dropped: append([]string{}, z.Dropped...), NutStays: z.NutStays}
	for _, c := range z.Choices {
		out.Choices = append(out.Choices, choiceJSON{c.Name, c.Kept, c.Options})
	}
	for _, t := range z.Rejected {
		out.Rejected = append(out.Rejected, rejectedJSON{t.Choice, t.Rule, t.Count, t.Unjudged})
	}
	return encode(w, out)
}

func gapsJSON(list []judge.MissingInput) []gapJSON {
	out := []gapJSON{}
	for _, g := range list {
		out = append(out, gapJSON{g.Missing, g.Why, g.Rules})
	}
	return out
}

func answersJSON(list []sizing.Answer) []answerJSON {
	out := []answerJSON{}
	for i := range list {
		a := &list[i]
		x := answerJSON{Cost: sanitize.Finite(a.Cost), Diameter: sanitize.Finite(a.Diameter), Inertia: sanitize.Finite(a.Inertia), Use: sanitize.Finite(a.Utilisation), UseOf: a.UtilisationOf, Others: a.Others, Unjudged: ruleNames(a.Unjudged)}
		for _, p := range a.Picks {
			x.Picks = append(x.Picks, pickJSON{p.Choice, p.Words, p.Different})
		}
		if len(a.Findings) > 0 {
			x.Findings = findingsJSON(a.Findings)
		}
		out = append(out, x)
	}
	return out
}

func findingsJSON(list []judge.Finding) []findingJSON {
	out := []findingJSON{}
	for _, f := range list {
		out = append(out, findingJSON{f.Rule, f.Severity.String(), f.Message})
	}
	return out
}
