package editor

import (
	"context"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/unit"
)

// A completer gathers what can be written at a place.
type completer struct {
	s        *server
	d        *doc
	from, to int // what is replaced
	items    []completionItem
}

func (s *server) completion(ctx context.Context, p *atPosition) (any, *wireError) {
	d, at, ok := s.at(p)
	if !ok {
		return completionList{Items: []completionItem{}}, nil
	}
	s.fresh(ctx, d)
	c := &completer{s: s, d: d, from: at, to: at, items: []completionItem{}}
	o := d.outline()
	line := d.text.lines[d.text.position(at, true).Line]
	before := string(d.text.src[line:at])
	a := o.attrAt(at)
	switch head := headLabel(before); {
	case strings.Contains(before, "#") || strings.Contains(before, "//"):
	case head != "":
		c.from = line + strings.LastIndexByte(before, '"') + 1
		c.to = c.wordEnd(c.from)
		c.rules(head)
	case a != nil && a.equals && at >= a.valueAt:
		c.value(ctx, a, at)
	default:
		c.from = at - len(lastWord(before))
		c.to = c.wordEnd(c.from)
		if strings.TrimSpace(string(d.text.src[line:c.from])) == "" || strings.HasSuffix(strings.TrimSpace(string(d.text.src[line:c.from])), "{") {
			c.entries(o.within(c.from))
		}
	}
	return completionList{Items: c.items}, nil
}

// headLabel is the kind of block in whose name, in quotes, a line ends: rule or waive.
func headLabel(before string) string {
	kind, name, ok := strings.Cut(strings.TrimLeft(before, " \t"), ` "`)
	if ok && !strings.Contains(name, `"`) && (kind == "rule" || kind == "waive") {
		return kind
	}
	return ""
}

func lastWord(s string) string {
	i := len(s)
	for i > 0 && (isNameByte(s[i-1])) {
		i--
	}
	return s[i:]
}

func isNameByte(b byte) bool {
	return b == '_' || b == '-' || b >= '0' && b <= '9' || b|0x20 >= 'a' && b|0x20 <= 'z' || b >= 0x80
}

// wordEnd is the end of the name that begins at a byte.
func (c *completer) wordEnd(at int) int {
	for at < len(c.d.text.src) && isNameByte(c.d.text.src[at]) {
		at++
	}
	return max(at, c.to)
}

// add offers a text. plain is put in where the client knows no snippets.
func (c *completer) add(it completionItem, text, plain string) {
	if c.s.client.Capabilities.TextDocument.Completion.CompletionItem.SnippetSupport {
		it.InsertTextFormat = snippet
	} else {
		text = plain
	}
	it.TextEdit = &textEdit{Range: c.s.span(c.d.text, c.from, c.to), NewText: text}
	c.items = append(c.items, it)
}

// word offers a text as it is.
func (c *completer) word(it completionItem, text string) {
	it.TextEdit = &textEdit{Range: c.s.span(c.d.text, c.from, c.to), NewText: text}
	c.items = append(c.items, it)
}

// escaped keeps a text from being taken for a snippet.
func escaped(s string) string {
	return strings.NewReplacer(`\`, `\\`, "$", `\$`, "}", `\}`, ",", `\,`, "|", `\|`).Replace(s)
}

// entries offers the fields and blocks that a block may hold and does not yet, first
// those for whose lack most rules are not judged.
func (c *completer) entries(in *node) {
	if in.block == nil {
		return
	}
	if in.kind == "rule" {
		c.limits(in)
	}
	has := func(name string) bool {
		return slices.ContainsFunc(in.attrs, func(a *attr) bool { return a.name() == name && a.equals })
	}
	waiting := c.waiting(in)
	for i, f := range in.block.Fields {
		if has(f.Name) {
			continue
		}
		it := completionItem{Label: f.Name, Kind: itemProperty, Detail: f.Doc, SortText: fmt.Sprintf("5%03d", i)}
		if n := waiting[f.Path]; n > 0 {
			it.SortText = fmt.Sprintf("1%03d", 999-min(n, 999))
			it.Detail = fmt.Sprintf("%s; %d rules wait for it", f.Doc, n)
			if n == 1 {
				it.Detail = f.Doc + "; a rule waits for it"
			}
		}
		c.add(it, f.Name+" = "+fill(f), f.Name+" = ")
	}
	for i, b := range in.block.Blocks {
		if !b.Many && slices.ContainsFunc(in.blocks, func(n *node) bool { return n.kind == b.Name }) {
			continue
		}
		head, plain := b.Name+" {\n\t$0\n}", b.Name+" "
		if b.Label != "" {
			head, plain = b.Name+" \"$1\" {\n\t$0\n}", b.Name+` "`
		}
		it := completionItem{Label: b.Name, Kind: itemClass, Detail: b.Doc, SortText: fmt.Sprintf("6%03d", i)}
		for path, n := range waiting {
			if strings.HasPrefix(path, b.Name+".") && n > 0 {
				it.SortText = fmt.Sprintf("2%03d", i)
			}
		}
		c.add(it, head, plain)
	}
}

// waiting counts, by the path of a field, the rules that are not judged without it.
func (c *completer) waiting(in *node) map[string]int {
	out := map[string]int{}
	view := c.d.views[in.top().label()]
	if view == nil || in.top().kind != "axis" {
		return out
	}
	for i := range view.rep.Results {
		for _, m := range view.rep.Results[i].Missing {
			out[m.Path()]++
		}
	}
	return out
}

// fill is the value of a field with the cursor where its number or name belongs. What it
// says is for the designer: no number is proposed.
func fill(f *spec.Field) string {
	switch f.Sort {
	case spec.Quantity:
		u := escaped(unit.UnitOf(strings.Trim(f.Example, `"[`)))
		if f.Pair {
			first, _, _ := strings.Cut(f.Example, ",")
			u = escaped(unit.UnitOf(strings.Trim(first, `"[`)))
			return fmt.Sprintf(`["$1 %s", "$2 %s"]$0`, u, u)
		}
		return fmt.Sprintf(`"$1 %s"$0`, u)
	case spec.Word:
		var words []string
		for _, w := range f.Words {
			words = append(words, escaped(w))
		}
		return `"${1|` + strings.Join(words, ",") + `|}"$0`
	case spec.Flag:
		return "${1|true,false|}$0"
	case spec.PartRef:
		return f.Part + ".$0"
	case spec.AxisRefs:
		return "[axis.$1]$0"
	case spec.Text, spec.Date:
		return `"$1"$0`
	}
	return "$0"
}

// limits offers the limits of the rule that a block of a policy sets.
func (c *completer) limits(in *node) {
	set, ok := c.s.settingOf(c.d, in.label())
	if !ok {
		return
	}
	for _, l := range set.Limits {
		if slices.ContainsFunc(in.attrs, func(a *attr) bool { return a.name() == l.Limit.Name && a.equals }) {
			continue
		}
		text := l.Limit.Name + " = $0"
		if l.Limit.Kind != unit.None {
			text = fmt.Sprintf(`%s = "$1 %s"$0`, l.Limit.Name, escaped(unit.UnitOf(unit.FormatExact(l.Limit.Default, l.Limit.Kind, unit.Metric))))
		}
		c.add(completionItem{Label: l.Limit.Name, Kind: itemProperty, Detail: limitWords(l), SortText: "1"}, text, l.Limit.Name+" = ")
	}
}

// rules offers the names of rules; of those to waive first the ones that have findings.
func (c *completer) rules(kind string) {
	found := map[string]bool{}
	for i := range c.d.found {
		found[c.d.found[i].Rule] = true
	}
	for _, r := range c.s.Book.All() {
		it := completionItem{Label: r.Name, Kind: itemValue, Detail: r.Question, SortText: "5" + r.Name}
		if kind == "waive" && found[r.Name] {
			it.SortText = "1" + r.Name
		}
		c.word(it, r.Name)
	}
}

// value offers what a value can be.
func (c *completer) value(ctx context.Context, a *attr, at int) {
	src := string(c.d.text.src[a.valueAt:at])
	quoted := strings.Count(src, `"`)%2 == 1
	if i := strings.LastIndex(src, "given."); i >= 0 && lastWord(src) == src[i+len("given."):] {
		c.from, c.to = a.valueAt+i+len("given."), c.wordEnd(at)
		c.given()
		return
	}
	if a.in.kind == "require" && (a.name() == "that" || a.name() == "when") {
		c.names(src, at, quoted)
		return
	}
	if a.field == nil {
		return
	}
	switch a.field.Sort {
	case spec.Quantity:
		if i := strings.LastIndexByte(src, '"'); quoted {
			c.units(a.field, src[i+1:], at)
		}
	case spec.Word:
		c.choice(a.field.Words, src, quoted, at)
	case spec.Flag:
		c.from, c.to = at-len(lastWord(src)), c.wordEnd(at)
		for _, w := range []string{"true", "false"} {
			c.word(completionItem{Label: w, Kind: itemKeyword}, w)
		}
	case spec.PartRef:
		c.parts(ctx, a, at, src)
	case spec.AxisRefs:
		c.axes(a, at, src)
	}
}

func (c *completer) choice(words []string, src string, quoted bool, at int) {
	c.from, c.to = at-len(lastWord(src)), c.wordEnd(at)
	for i, w := range words {
		text := w
		if !quoted {
			text = strconv.Quote(w)
		}
		c.word(completionItem{Label: w, Kind: itemConstant, SortText: fmt.Sprintf("%03d", i)}, text)
	}
}

// units offers the units of a quantity behind its number.
func (c *completer) units(f *spec.Field, text string, at int) {
	number := strings.TrimRight(text, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ°µ²³/·%^ ")
	if number == "" || strings.ContainsAny(number, "${") {
		return
	}
	c.from = at - len(strings.TrimLeft(text[len(number):], " "))
	space := ""
	if number == text {
		space = " "
	}
	for i, u := range f.Unit.Units() {
		c.word(completionItem{Label: u, FilterText: u, Kind: itemUnit, SortText: fmt.Sprintf("%03d", i)}, space+u)
	}
}

func (c *completer) given() {
	for _, b := range c.d.outline().file.blocks {
		for _, g := range b.attrs {
			if b.kind == "given" {
				c.word(completionItem{Label: g.name(), Kind: itemVariable, Detail: g.written()}, g.name())
			}
		}
	}
}

// names offers the quantities that a house rule may use.
func (c *completer) names(src string, at int, quoted bool) {
	if quoted {
		return
	}
	i := len(src)
	for i > 0 && (isNameByte(src[i-1]) || src[i-1] == '.') {
		i--
	}
	c.from, c.to = at-len(src)+i, c.wordEnd(at)
	for _, name := range judge.HouseNames() {
		d := judge.Describe(name)
		c.word(completionItem{Label: name, Kind: itemVariable, Detail: strings.TrimSpace(d.Unit + " " + d.Meaning)}, name)
	}
}

func (c *completer) axes(a *attr, at int, src string) {
	c.from, c.to = at-len(lastWord(src)), c.wordEnd(at)
	if strings.HasSuffix(src[:len(src)-(at-c.from)], "axis.") {
		c.from -= len("axis.")
	}
	files, source := c.d.root.files(path.Dir(c.d.name))
	for _, file := range files {
		text := source[file]
		if text == nil {
			text = c.d.root.textOf(file).src
		}
		for _, b := range outlineOf(file, text).file.blocks {
			if b.kind == "axis" && b.label() != a.in.top().label() {
				c.word(completionItem{Label: "axis." + b.label(), Kind: itemClass}, "axis."+b.label())
			}
		}
	}
}

// mostTried is how many parts are tried in the axis.
const mostTried = 40

// parts offers the parts of a kind with their main numbers, and says of each how the
// axis would stand with it.
func (c *completer) parts(ctx context.Context, a *attr, at int, src string) {
	c.from, c.to = a.valueAt, max(at, a.valueEnd)
	visible := c.d.root.tree.Folder(path.Dir(c.d.name)).Visible(a.field.Part)
	var now *judge.Report
	if v := c.d.views[a.in.top().label()]; v != nil && a.in.top().kind == "axis" {
		now = v.rep
	}
	scratch := judge.NewScratch()
	for i, p := range visible {
		it := completionItem{Label: p.Ref(), Kind: itemClass, Detail: keyNumbers(p), SortText: fmt.Sprintf("5%04d", i)}
		if now != nil && len(visible) <= mostTried && ctx.Err() == nil {
			words, errors := c.with(scratch, now, a.field, p)
			it.Detail = strings.TrimPrefix(it.Detail+"; "+words, "; ")
			it.SortText = fmt.Sprintf("%d%04d", min(errors, 9), i)
		}
		c.word(it, p.Ref())
	}
}

// with says how an axis would stand with another part.
func (c *completer) with(scratch *judge.Scratch, now *judge.Report, ref *spec.Field, p *spec.Part) (words string, errors int) {
	a := now.View.Axis.Copy()
	a.Put(now.View.Axis.ReplacePart(ref, p))
	rep := now.Judge.JudgeCarrier(scratch, a, now.View.Carried, true)
	var rules []string
	for i := range rep.Findings {
		f := &rep.Findings[i]
		if f.Severity == judge.Error && f.Waiver == nil {
			errors++
			if !slices.Contains(rules, f.Rule) {
				rules = append(rules, f.Rule)
			}
		}
	}
	switch {
	case errors == 0:
		return "no errors with it here", 0
	case len(rules) > 3:
		rules = append(rules[:2], fmt.Sprintf("%d more", len(rules)-2))
	}
	return "here: " + strings.Join(rules, ", "), errors
}

// keyFields are what a part is told apart by, by its kind.
var keyFields = map[string][]string{
	"screw": {"nominal_diameter", "lead", "dynamic_rating"}, "nut": {"length"}, "support": {"kind", "bore", "dynamic_rating"},
	"motor": {"rated_torque", "max_speed"}, "coupling": {"rated_torque", "bore"}, "grease": {"thickener", "max_temperature"}, "environment": {"description", "max_temperature"},
}

func keyNumbers(p *spec.Part) string {
	var out []string
	for _, name := range keyFields[p.Kind] {
		if v := p.Get(name); v != nil && !v.Bad {
			out = append(out, v.Text)
		}
	}
	return strings.Join(out, ", ")
}
