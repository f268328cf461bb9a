package editor

import (
	"context"
	"fmt"
	"math"
	"path"
	"slices"
	"sort"
	"strings"

	"trammel/cmd/internal/sheet"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// at finds an open file and the byte of a position in it.
func (s *server) at(p *atPosition) (d *doc, at int, ok bool) {
	d = s.docs[p.TextDocument.URI]
	if d == nil {
		return nil, 0, false
	}
	d.root.settle()
	return d, d.text.offset(p.Position, s.utf8), true
}

// A note is what is told about the place under the cursor.
type note struct {
	lines    []string
	from, to int
}

func (n *note) say(format string, args ...any) {
	n.lines = append(n.lines, fmt.Sprintf(format, args...))
}

// list adds lines below a heading, if there are any.
func (n *note) list(head string, items []string) {
	if len(items) == 0 {
		return
	}
	n.say("")
	n.say("%s", head)
	n.say("")
	for _, i := range items {
		n.say("- %s", i)
	}
}

// markup is a note as the client can show it.
func (s *server) markup(n *note) markup {
	text := strings.Join(n.lines, "\n")
	if s.plain {
		return markup{"plaintext", strings.NewReplacer("**", "", "`", "").Replace(text)}
	}
	return markup{"markdown", text}
}

// literal keeps text from a file from being taken for Markdown.
func literal(text string) string {
	return strings.NewReplacer("\\", "\\\\", "`", "\\`", "*", "\\*", "_", "\\_", "<", "&lt;", "[", "\\[", "!", "\\!", "#", "\\#", "|", "\\|", "\n", " ", "\r", " ").Replace(text)
}

// words is literal where Markdown is shown.
func (s *server) words(text string) string {
	if s.plain {
		return text
	}
	return literal(text)
}

func (s *server) hover(ctx context.Context, p *atPosition) (any, *wireError) {
	d, at, ok := s.at(p)
	if !ok {
		return nil, nil
	}
	s.fresh(ctx, d)
	o, n := d.outline(), &note{}
	if a := o.attrAt(at); a != nil {
		s.aboutAttr(d, a, at, n)
	} else if b := o.head(at); b != nil {
		n.from, n.to = b.start, b.open
		s.aboutBlock(d, b, n)
	}
	s.aboutFindings(d, at, n)
	if len(n.lines) == 0 {
		return nil, nil
	}
	r := s.span(d.text, n.from, n.to)
	return hover{s.markup(n), &r}, nil
}

// aboutFindings tells of the rules of what is found at a byte: few editors show a page that
// a finding names.
func (s *server) aboutFindings(d *doc, at int, n *note) {
	told := map[string]bool{}
	for i := range d.found {
		it := &d.found[i]
		if it.notJudged || at < it.from || it.to < at || told[it.Rule] || s.Book.ByName(it.Rule) == nil {
			continue
		}
		if len(n.lines) == 0 {
			n.from, n.to = it.from, it.to
		} else {
			n.say("")
		}
		told[it.Rule] = true
		s.aboutRule(d, it.Rule, n)
		n.say("")
		n.say("More: trammel explain %s %s", it.Rule, s.words(path.Dir(d.name)))
	}
}

// aboutAttr tells of an attribute: of what its value refers to, or of its field.
func (s *server) aboutAttr(d *doc, a *attr, at int, n *note) {
	n.from, n.to = a.from, a.to
	if at > a.to || at == a.to && a.equals && at >= a.valueAt {
		n.from, n.to = a.valueAt, a.valueEnd
		for _, ref := range a.references() {
			if ref.from <= at && at <= ref.to {
				n.from, n.to = ref.from, ref.to
				s.aboutReference(d, ref, n)
				return
			}
		}
	}
	top := a.in.top()
	switch {
	case a.in.kind == "require" && n.from == a.valueAt:
		s.aboutName(a, at, n)
	case a.in.kind == "rule" && a.name() != "severity" && a.name() != "reason":
		s.aboutLimit(d, a, n)
	case a.field == nil:
	case top.kind == "axis" && a.in.kind != "waive":
		s.aboutAxisField(d, top, a, n)
	default:
		s.aboutField(a.field, n)
		s.bothSystems(a, n)
	}
}

func (a *attr) name() string { return a.text }

// aboutField tells what a field means.
func (s *server) aboutField(f *spec.Field, n *note) {
	n.say("**%s**: %s", f.Path, s.words(f.Doc))
	var more []string
	switch f.Sort {
	case spec.Quantity:
		more = append(more, f.Unit.String()+" in "+f.Unit.Examples())
	case spec.Number:
		more = append(more, "a number without unit")
	case spec.Word:
		more = append(more, "one of "+strings.Join(f.Words, ", "))
	case spec.Flag:
		more = append(more, "true or false")
	case spec.PartRef:
		more = append(more, "the name of a "+f.Part)
	}
	if f.Usual[0] != "" {
		more = append(more, "usual "+f.Usual[0]+" to "+f.Usual[1])
	}
	if f.Default != "" {
		more = append(more, "by default "+f.Default+" ("+f.Why+")")
	}
	if f.Inherit {
		more = append(more, "a machine block may declare it for all its axes")
	}
	if len(more) > 0 {
		n.say("")
		n.say("%s", s.words(strings.Join(more, "; ")))
	}
}

// bothSystems writes a quantity in metric and in inch units.
func (s *server) bothSystems(a *attr, n *note) {
	if a.field.Sort != spec.Quantity || a.field.Pair {
		return
	}
	q, err := unit.Parse(strings.Trim(a.written(), `"`), a.field.Unit)
	if err != nil {
		return
	}
	metric, inch := unit.FormatExact(q.Nominal, a.field.Unit, unit.Metric), unit.FormatExact(q.Nominal, a.field.Unit, unit.Inch)
	if metric != inch {
		n.say("")
		n.say("%s = %s", metric, inch)
	}
}

// written is the value's text.
func (a *attr) written() string {
	var b strings.Builder
	for _, t := range a.value {
		b.Write(t.Bytes)
	}
	return b.String()
}

// aboutAxisField tells of a field of an axis, and what follows from its value.
func (s *server) aboutAxisField(d *doc, top *node, a *attr, n *note) {
	s.aboutField(a.field, n)
	s.bothSystems(a, n)
	view := d.views[top.label()]
	if view == nil {
		return
	}
	v := view.rep.View
	move := -1
	var have *spec.Value
	if a.in.kind == "move" {
		move = slices.IndexFunc(v.Axis.Moves, func(m *spec.Move) bool { return m.Name == a.in.label() })
		if move < 0 {
			return
		}
		have = v.Axis.Moves[move].Get(a.field)
	} else {
		have = v.Axis.Get(a.field)
	}
	if have == nil || have.Bad {
		return
	}
	leaf := mechanics.ByName(a.field.Path)
	if leaf == nil || !leaf.Leaf() {
		return
	}
	s.follows(v, leaf, move, n)
	n.list("Compared with limits:", s.compared(view.rep, leaf, 6))
}

// mostSteps is how many quantities that follow from a value are shown.
const mostSteps = 6

// follows lists what is computed from a leaf directly.
func (s *server) follows(v *judge.View, leaf *mechanics.Quantity, move int, n *note) {
	var out []string
	for _, q := range mechanics.All() {
		if q.Leaf() || !slices.Contains(q.Needs, leaf) && !slices.Contains(q.May, leaf) || len(out) == mostSteps {
			continue
		}
		switch {
		case q.Shape == mechanics.Scalar && v.Calc.Known(q):
			out = append(out, s.stepWords(v, q))
		case q.Shape == mechanics.PerMove && move >= 0 && v.Calc.Known(q):
			x := v.Calc.Series(q)[move]
			out = append(out, s.words(fmt.Sprintf("%s: %s = %s", q.Title, q.Symbol, v.Show(x, q.Kind))))
		}
	}
	n.list("Computed from it:", out)
}

// stepWords writes a quantity with its formula and the numbers in it, as the sheet has it.
func (s *server) stepWords(v *judge.View, q *mechanics.Quantity) string {
	st := sheet.StepOf(v, q, v.Units())
	parts := []string{st.Symbol}
	general := st.Formula.Text(nil)
	put := st.Formula.Text(st.Values)
	for _, p := range []string{general, put, st.Result} {
		if p != "" && p != parts[len(parts)-1] {
			parts = append(parts, p)
		}
	}
	return s.words(st.Title + ": " + strings.Join(parts, " = "))
}

// compared lists the rules whose tests hang on a leaf, the tightest first.
func (s *server) compared(rep *judge.Report, leaf *mechanics.Quantity, most int) (out []string) {
	results := slices.DeleteFunc(slices.Clone(rep.Results), func(r judge.Result) bool { return math.IsNaN(r.Utilisation) })
	sort.SliceStable(results, func(i, k int) bool { return results[i].Utilisation > results[k].Utilisation })
	for _, r := range results {
		rule := rep.Judge.Book.ByName(r.Rule)
		if rule == nil || len(out) == most {
			continue
		}
		for i := range rule.Tests {
			q := rule.Tests[i].Value
			if leaf != nil && !q.DependsOn(leaf) || q.Shape != mechanics.Scalar || !rep.View.Calc.Known(q) {
				continue
			}
			out = append(out, s.words(fmt.Sprintf("%s: %s %s, %s of the limit, %s", r.Rule, q.Title, rep.View.F(q), judge.Percent(r.Utilisation), r.State)))
			break
		}
	}
	return out
}

// aboutReference tells of a part, an axis or a given value that is referred to.
func (s *server) aboutReference(d *doc, ref reference, n *note) {
	switch ref.kind {
	case "given":
		for _, b := range d.outline().file.blocks {
			for _, g := range b.attrs {
				if b.kind == "given" && g.name() == ref.name.text {
					n.say("**given.%s** = `%s`", s.words(ref.name.text), strings.ReplaceAll(g.written(), "`", "'"))
				}
			}
		}
	case "axis":
		n.say("**axis %s** of this folder", s.words(ref.name.text))
		if v := d.views[ref.name.text]; v != nil {
			s.aboutAxis(v, n)
		}
	default:
		if p := d.root.tree.Folder(path.Dir(d.name)).Part(ref.kind, ref.name.text); p != nil {
			s.aboutPart(d, p, n)
		}
	}
}

// aboutPart lists the values of a part and who uses it.
func (s *server) aboutPart(d *doc, p *spec.Part, n *note) {
	n.say("**%s** (%s)", s.words(p.Ref()), s.words(judge.At(p.Place, d.name)))
	var values []string
	for _, v := range p.Values() {
		values = append(values, s.words(judge.Readable(v.Field.Name)+" "+v.Text))
	}
	n.list("Values:", values)
	users := s.users(d.root, p)
	if len(users) > 10 {
		users = append(users[:10], fmt.Sprintf("%d more", len(users)-10))
	}
	n.list("Used by:", users)
}

// users names the axis files that are known to use a part: all of the tree once it is
// indexed, else the open ones.
func (s *server) users(r *root, p *spec.Part) (out []string) {
	for _, d := range r.inOrder() {
		for name, v := range d.views {
			if slices.ContainsFunc(v.rep.View.Axis.Parts(), func(o *spec.Part) bool { return o.Place == p.Place }) {
				out = append(out, s.words(d.name+", axis "+name))
			}
		}
	}
	if r.index != nil {
		for file := range r.index.uses {
			if r.open[file] == nil && r.index.usesPart(r, file, p) {
				out = append(out, s.words(file))
			}
		}
	}
	slices.Sort(out)
	return out
}

// aboutBlock tells of a block whose head is pointed at.
func (s *server) aboutBlock(d *doc, b *node, n *note) {
	switch {
	case b.kind == "rule" || b.kind == "waive":
		s.aboutRule(d, b.label(), n)
	case b.kind == "axis" && b.up.up == nil:
		n.say("**axis %s**", s.words(b.label()))
		if v := d.views[b.label()]; v != nil {
			s.aboutAxis(v, n)
		}
	case b.up.up == nil && b.block != nil && b.label() != "" && strings.HasSuffix(d.name, spec.PartsSuffix):
		if p := d.root.tree.Folder(path.Dir(d.name)).Part(b.kind, b.label()); p != nil {
			s.aboutPart(d, p, n)
		}
	case b.block != nil:
		n.say("**%s**: %s", b.kind, s.words(b.block.Doc))
	}
}

// aboutAxis tells how an axis stands.
func (s *server) aboutAxis(v *viewed, n *note) {
	n.say("")
	n.say("%s", s.words(standing(v.rep)))
	n.list("Tightest:", s.compared(v.rep, nil, 5))
	if next := v.rep.NextInputs; next != nil {
		n.say("")
		n.say("%s", s.words(fmt.Sprintf("To judge %d of the %d rules that wait, declare %s", next.Judged, next.Waiting, strings.Join(next.Lines, ", "))))
	}
}

// standing counts how the rules came out.
func standing(rep *judge.Report) string {
	count := map[judge.State]int{}
	for i := range rep.Results {
		count[rep.Results[i].State]++
	}
	return fmt.Sprintf("%d passed, %d failed, %d not judged", count[judge.Passed], count[judge.Failed], count[judge.Unjudged])
}

// settingOf is what is in force for a rule in a folder.
func (s *server) settingOf(d *doc, rule string) (judge.Setting, bool) {
	r := s.Book.ByName(rule)
	if r == nil {
		return judge.Setting{}, false
	}
	return s.Book.NewJudge(s.Today(), false).InForce(d.root.tree.Folder(path.Dir(d.name)))[r.Index], true
}

// aboutRule tells what a rule asks and what is in force for it here.
func (s *server) aboutRule(d *doc, name string, n *note) {
	set, ok := s.settingOf(d, name)
	if !ok {
		if q := judge.TextRules()[name]; q != "" {
			n.say("**%s**: %s", name, s.words(q))
		}
		return
	}
	n.say("**%s**: %s", name, s.words(set.Rule.Question))
	var limits []string
	for _, l := range set.Limits {
		limits = append(limits, s.words(limitWords(l)+at(l.From, d.name)))
	}
	n.list("In force here, severity "+set.Severity.String()+":", limits)
	n.say("")
	n.say("Source: %s", s.words(set.Rule.Source))
	if c := set.Rule.Caution; c != "" {
		n.say("")
		n.say("Caution: %s", s.words(c))
	}
}

// at is where a policy sets something, for a reader of a file.
func at(p spec.Place, file string) string {
	if !p.Valid() {
		return ""
	}
	return " (set at " + judge.At(p, file) + ")"
}

func limitWords(l judge.LimitSetting) string {
	x, shown := l.Value, ""
	switch {
	case math.IsNaN(x) && l.Limit.Spread != "":
		shown = l.Limit.Spread
	case math.IsNaN(x):
		x = l.Limit.Default
		fallthrough
	default:
		shown = unit.FormatExact(x, l.Limit.Kind, unit.Metric)
	}
	return fmt.Sprintf("%s: %s %s, %s", l.Limit.Name, l.Limit.Sense, shown, l.Limit.Doc)
}

// aboutLimit tells of one limit of a rule in a policy.
func (s *server) aboutLimit(d *doc, a *attr, n *note) {
	set, ok := s.settingOf(d, a.in.label())
	if !ok {
		return
	}
	for _, l := range set.Limits {
		if l.Limit.Name == a.name() {
			n.say("**%s** of %s: %s", a.name(), a.in.label(), s.words(l.Limit.Doc))
			n.say("")
			n.say("%s", s.words("in force here: "+limitWords(l)+at(l.From, d.name)))
			l.Value = math.NaN()
			n.say("")
			n.say("%s", s.words("by default: "+limitWords(l)))
		}
	}
}

// aboutName tells of a quantity that a house rule names.
func (s *server) aboutName(a *attr, at int, n *note) {
	for i, t := range a.value {
		if t.Range.Start.Byte > at || at > t.Range.End.Byte {
			continue
		}
		name := string(t.Bytes)
		for k := i - 1; k > 0 && string(a.value[k].Bytes) == "."; k -= 2 {
			name = string(a.value[k-1].Bytes) + "." + name
		}
		if slices.Contains(judge.HouseNames(), name) {
			d := judge.Describe(name)
			n.from, n.to = t.Range.Start.Byte, t.Range.End.Byte
			n.say("**%s** (%s): %s", d.Name, d.Unit, s.words(d.Meaning))
			return
		}
	}
}
