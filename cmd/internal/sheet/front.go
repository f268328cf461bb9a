package sheet

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/drawing"
	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// front is the first page: what came out and what it rests on, what it is about, how near
// the limits are, what to do, and who signs.
func (m *maker) front(title string) []document.Section {
	list := numbered(m.rep)
	return []document.Section{
		m.verdict(list),
		{ID: "axis", Blocks: []document.Block{m.drawing(list)}},
		m.limits(),
		m.findings(list),
		m.assumptions(list),
		m.signature(title),
		{ID: "caution", Title: "Cautions", Blocks: []document.Block{document.ListOf(cautionList(m.cautions()...)...)}},
	}
}

// counts of how the rules came out that arise for the axis.
func (m *maker) counts() (judged, open, off int) {
	for _, r := range m.rep.Results {
		switch r.State {
		case judge.Passed, judge.Failed:
			judged++
		case judge.Unjudged:
			open++
		case judge.Disabled:
			off++
		}
	}
	return judged, open, off
}

// verdict says whether the axis holds. What could not be judged is never called passed.
func (m *maker) verdict(list []judge.Finding) document.Section {
	judged, open, off := m.counts()
	bySeverity := [4][]string{}
	counts := [4]int{}
	for _, f := range list {
		counts[f.Severity]++
		if !slices.Contains(bySeverity[f.Severity], f.Rule) {
			bySeverity[f.Severity] = append(bySeverity[f.Severity], f.Rule)
		}
	}
	v := document.Verdict{}
	switch errors, warnings := counts[judge.Error], counts[judge.Warning]; {
	case errors > 0:
		v.Fails = true
		v.Words = "Fails: " + sanitize.Count(errors, "error", "errors") + " (" + some(bySeverity[judge.Error]) + ")"
		v.Because = sentence(list[0].Message)
	case open > 0 || judged == 0:
		v.Open = true
		v.Words = fmt.Sprintf("Not judged in full: %d of %s could not be judged", open, sanitize.Count(judged+open, "rule", "rules"))
		v.Because = "No errors in those that were judged."
		if warnings > 0 {
			v.Because = "No errors in those that were judged; " + sanitize.Count(warnings, "warning", "warnings") + " (" + some(bySeverity[judge.Warning]) + ")."
		}
		if next := m.rep.NextInputs; next != nil {
			var lines []string
			for _, l := range next.Lines {
				lines = append(lines, inWords(l))
			}
			v.Because += fmt.Sprintf(" To judge %d more, declare %s.", next.Judged, strings.Join(lines, ", "))
		}
	case warnings > 0:
		v.Words = "Passes with " + sanitize.Count(warnings, "warning", "warnings") + " (" + some(bySeverity[judge.Warning]) + ")"
		v.Because = sentence(list[0].Message)
	default:
		v.Words = fmt.Sprintf("Passes: no errors or warnings in %s", sanitize.Count(judged, "rule", "rules"))
	}
	var found []string
	for i, s := range []judge.Severity{judge.Error, judge.Warning, judge.Note} {
		if n := counts[s]; n > 0 {
			found = append(found, sanitize.Count(n, s.String(), []string{"errors", "warnings", "notes"}[i]))
		}
	}
	rests := document.Facts{}
	rests.Add("Rules judged", fmt.Sprintf("%d of %d", judged, judged+open))
	rests.Add("Findings", none(found))
	rests.Add("Waived", none(m.waivedRules()))
	rests.Add("Values assumed", fmt.Sprint(m.assumedCount()))
	if off > 0 {
		rests.Add("Rules switched off", fmt.Sprint(off))
	}
	return document.Section{ID: "verdict", Blocks: []document.Block{v, rests}}
}

// sentence begins a message with a capital and ends it with a full stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:] + "."
}

func none(list []string) string {
	if len(list) == 0 {
		return "none"
	}
	return some(list)
}

// some lists names, of many the first.
func some(list []string) string {
	const most = 4
	if len(list) <= most {
		return strings.Join(list, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(list[:most], ", "), len(list)-most)
}

func (m *maker) waivedRules() (out []string) {
	for _, f := range all(m.rep) {
		if f.Waiver != nil && !slices.Contains(out, f.Rule) {
			out = append(out, f.Rule)
		}
	}
	return out
}

// assumedCount is how many values were taken that nobody declared.
func (m *maker) assumedCount() int {
	n := len(m.v.Assumed())
	lang := spec.Language()
	for _, f := range lang.Fields[:lang.Moves] {
		if x := m.v.Axis.Get(f); x != nil && x.Origin == spec.Default {
			n++
		}
	}
	return n
}

func (m *maker) drawing(list []judge.Finding) *document.Drawing {
	p := drawing.Of(m.v, drawing.Number(list))
	return &document.Drawing{ID: "drawing", Title: "Axis " + m.v.Axis.Name, Words: p.Words(), Draw: p.SVG, Sketch: p.Sketch()}
}

// key lists the rules whose limits stand on the first page of every sheet, in an order
// that does not change, so that a reader learns where to look: speed, strength, life,
// brake, motor, accuracy, travel, service.
var key = []struct {
	rule, title string
	value, of   *mechanics.Quantity // the two sides of a ratio, for words; nil for the ratio
}{
	{"critical-speed", "critical speed", mechanics.MaxRotation, mechanics.Critical},
	{"ball-speed", "ball speed, dn value", nil, nil},
	{"min-lead", "minimum lead", nil, nil},
	{"motor-speed", "motor speed", nil, nil},
	{"buckling", "buckling safety", nil, nil},
	{"shaft-stress", "shaft stress", nil, nil},
	{"journal-strength", "shaft ends", nil, nil},
	{"static-safety", "static safety", nil, nil},
	{"life-margin", "life of the screw", mechanics.LifeYears, mechanics.RequiredLife},
	{"support-life", "fixed-side bearing", nil, nil},
	{"holding-brake", "holding torque", nil, nil},
	{"motor-rms-torque", "motor, rms torque", nil, nil},
	{"motor-peak-torque", "motor, peak torque", nil, nil},
	{"coupling-torque", "coupling torque", nil, nil},
	{"inertia-ratio", "inertia ratio", nil, nil},
	{"accuracy-budget", "positioning", nil, nil},
	{"repeatability", "repeatability", nil, nil},
	{"overtravel", "overtravel", nil, nil},
	{"regrease-interval", "regreasing", nil, nil},
}

// tight is the use from which on a margin stands on the first page whatever its rule.
const tight = 0.8

// limits shows the margins as bars: what fails first, then those of the key rules in
// their order, then what else is tight. The others are counted.
func (m *maker) limits() document.Section {
	type entry struct {
		r     judge.Result
		title string
		place int
	}
	var shown, left []entry
	fits := 0
	for _, r := range m.rep.Results {
		if r.State != judge.Passed && r.State != judge.Failed || r.Utilisation != r.Utilisation {
			continue
		}
		over := r.Utilisation > 1+judge.Slack
		if r.Fit && !over {
			fits++
			continue
		}
		e := entry{r, strings.ReplaceAll(r.Rule, "-", " "), len(key)}
		for i, k := range key {
			if k.rule == r.Rule {
				e.place, e.title = i, k.title
			}
		}
		if over {
			e.place -= 2 * len(key)
		}
		if e.place < len(key) || r.Utilisation >= tight {
			shown = append(shown, e)
		} else {
			left = append(left, e)
		}
	}
	sort.SliceStable(shown, func(i, k int) bool { return shown[i].place < shown[k].place })
	b := &document.Bars{}
	for _, e := range shown {
		value, limit := m.sides(e.r)
		b.Rows = append(b.Rows, document.Bar{Name: e.title, Value: value, Limit: limit, Use: e.r.Utilisation})
	}
	var rest []string
	if len(left) > 0 {
		worst := slices.MaxFunc(left, func(a, b entry) int {
			if a.r.Utilisation > b.r.Utilisation {
				return 1
			}
			return -1
		})
		rest = append(rest, fmt.Sprintf("%s below %.0f %%, the tightest %s", sanitize.Count(len(left), "more margin", "more margins"), tight*100, worst.r.Rule))
	}
	if fits > 0 {
		rest = append(rest, sanitize.Count(fits, "rule", "rules")+" on whether declared values fit each other passed")
	}
	if len(rest) > 0 {
		b.Rest = strings.Join(rest, "; ") + ". All stand under Margins."
	}
	s := document.Section{ID: "limits", Title: "Against the limits"}
	if len(b.Rows) == 0 {
		intro(&s, "No rule with numbers was judged.")
		return s
	}
	s.Add(b)
	return s
}

// sides writes what a rule compared with its limit, in the limit's unit. A limit that is
// a floor says so.
func (m *maker) sides(r judge.Result) (value, limit string) {
	c := r.Compared
	if !c.Made() {
		return "", ""
	}
	show := func(x float64, k unit.Kind) string {
		if math.IsInf(x, 0) {
			return "unlimited"
		}
		return readable(x, k, m.o.Sys)
	}
	sign := ""
	if c.Sense == judge.AtLeast {
		sign = "≥ "
	}
	for _, k := range key {
		if k.rule != r.Rule || k.value == nil {
			continue
		}
		x, y := m.v.V(k.value), m.v.V(k.of)
		if !(math.Abs(x/y-c.Value) <= 1e-9*math.Abs(c.Value)) || math.IsInf(x, 0) {
			break // the worst case is another than the usual one
		}
		if limit = show(y, k.of.Kind); c.Limit != 1 {
			limit = unit.Format(c.Limit, unit.Percentage, m.o.Sys) + " of " + limit
		}
		return show(x, k.value.Kind), sign + limit
	}
	return show(c.Value, c.Kind), sign + show(c.Limit, c.Kind)
}

// assumptions lists what is not declared and therefore assumed, where it takes part in a finding
// or decides whether a rule passes.
func (m *maker) assumptions(list []judge.Finding) document.Section {
	s := document.Section{ID: "assumed", Title: "Assumptions that matter"}
	var items []string
	add := func(text string) {
		if !slices.Contains(items, text) {
			items = append(items, text)
		}
	}
	for _, r := range m.rep.Results {
		if r.Assumed && r.State == judge.Unjudged {
			add(r.Rule + " " + r.Why)
		}
	}
	for _, f := range list {
		for _, e := range f.Inputs {
			if e.Assumed != "" {
				add(e.Words + ": " + e.Assumed)
			}
		}
	}
	most := 5
	if len(list) > fewFindings { // the page is one
		most = 2
	}
	if n := len(items) - most; n > 0 {
		items = append(items[:most], fmt.Sprintf("%d more", n))
	}
	if len(items) > 0 {
		s.Add(document.ListOf(items...))
	}
	var ranges []string
	for _, r := range m.v.Assumed() {
		ranges = append(ranges, inWords(r.Leaf.Name))
	}
	switch {
	case len(ranges) > 0:
		intro(&s, "Assumed as a range; every rule that passes does so over the whole range: "+strings.Join(ranges, ", ")+".")
	case len(items) == 0:
		intro(&s, "No assumed value takes part in a finding, and none is assumed as a range.")
	}
	return s
}

// signature is the block that says which paper it is and who stands for it (after
// ISO 7200, from memory). What is not declared is left to be filled in.
func (m *maker) signature(title string) document.Section {
	at := m.o.Show(m.v.Axis.Place)
	s := document.Signature{}
	add := func(name, value string) { s = append(s, document.Fact{Name: name, Value: value}) }
	add("Project", m.text("document.project"))
	add("Document", title)
	add("Number", m.text("document.number"))
	add("Revision", m.text("document.revision"))
	add("Author", m.text("document.author"))
	add("Reviewer", m.text("document.reviewer"))
	add("Signature of the responsible engineer", "")
	add("Signed on", "")
	add("Files", fmt.Sprintf("%s:%d", at.File, at.Line))
	if m.o.State != "" {
		add("State of the files", m.o.State)
	}
	if m.o.Version != "" {
		add("Checked with", "trammel "+m.o.Version)
	}
	return document.Section{ID: "signature", Blocks: []document.Block{s}}
}
