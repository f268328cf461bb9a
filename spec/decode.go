package spec

import (
	"cmp"
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
	"github.com/zclconf/go-cty/cty"

	"trammel/spec/plain"
	"trammel/spec/unit"
)

// Syntax lists what keeps a text from being read at all: its size, encoding,
// depth, an unresolved merge conflict, and errors of syntax. Names and values
// are not looked at.
func Syntax(path string, src []byte) []Problem {
	_, _, problems := parse(path, src, new(plain.Memory))
	d := &decoder{path: path, problems: problems}
	return d.sorted()
}

// parse turns the bytes of one file into a syntax tree, which may be in the memory given. Broken
// reports syntax errors: the tree may then be a part of what was meant.
func parse(path string, src []byte, memory *plain.Memory) (body *hclsyntax.Body, broken bool, problems []Problem) {
	if p := screen(path, src); p != nil {
		return nil, true, []Problem{*p}
	}
	problems = turned(path, src)
	if body, ok := memory.Read(path, src); ok {
		return body, false, problems
	}
	f, diags := hclsyntax.ParseConfig(src, path, hcl.InitialPos)
	quote, stray := false, map[int32]bool{}
	for _, d := range diags {
		if d.Severity != hcl.DiagError {
			continue
		}
		p := syntaxProblem(path, src, d)
		if p.Message == openQuote || p.Message == openText {
			if quote {
				continue // behind an open quote, texts and the rest change roles
			}
			quote = true
		}
		if stray[p.Place.Line] {
			continue // what follows a stray character on its line follows from it
		}
		if d.Summary == "Invalid character" {
			stray[p.Place.Line] = true
		}
		problems = append(problems, p)
		if len(problems) > full {
			break
		}
	}
	if f != nil {
		body, _ = f.Body.(*hclsyntax.Body)
	}
	return body, diags.HasErrors(), problems
}

// A decoder reads the body of one file.
type decoder struct {
	path      string
	scope     *Folder         // where parts are looked up; nil while a folder's parts are read
	instead   map[*Part]*Part // parts taken for others, see Tree.WithSubstitutes
	problems  []Problem
	broken    bool
	given     map[string]*givenValue
	givenLost bool // there may be given values whose names could not be read
	flag      bool // true or false is being read
	arena     []Value
	left      int           // about how many attributes the file has that are no Value yet
	memory    *plain.Memory // of the tree; nil for one of its own
	lasting   bool          // what is read stays as long as its folder
	lost      []lostLine    // left out so that the rest could be parsed
	bad       []hcl.Range   // where errors of syntax stand that could not be left out
}

func (d *decoder) report(rule string, at Place, help, format string, args ...any) *Problem {
	d.problems = append(d.problems, Problem{Rule: rule, Place: at, Message: fmt.Sprintf(format, args...), Help: help})
	return &d.problems[len(d.problems)-1]
}

// full is the number of problems of one file from which on nothing more is
// read: the rest would only be more of the same.
const full = 5 * maxProblems

func (d *decoder) full() bool { return len(d.problems) >= full }

// dropConsequences leaves out what is wrong with a value only because the quote at its
// end is missing: in a block on one line it runs on over the closing brace.
func (d *decoder) dropConsequences() {
	open := map[int32]bool{}
	for _, p := range d.problems {
		if p.Message == openQuote {
			open[p.Place.Line] = true
		}
	}
	if len(open) > 0 {
		d.problems = slices.DeleteFunc(d.problems, func(p Problem) bool { return p.Rule != "syntax" && open[p.Place.Line] })
	}
}

// sorted orders the problems of the file. Of very many the first are kept.
func (d *decoder) sorted() []Problem {
	d.dropConsequences()
	list := SortProblems(d.problems)
	if len(list) <= maxProblems {
		return list
	}
	more := fmt.Sprintf("%d more problems in this file are not shown", len(list)-maxProblems)
	if d.full() {
		more = "many more problems in this file are not shown"
	}
	list = slices.Clone(list[:maxProblems])
	return append(list, Problem{Rule: "syntax", Place: list[maxProblems-1].Place, Message: more, Help: "fix those above first"})
}

func (d *decoder) place(r hcl.Range) Place { return placeOf(d.path, r) }

func (d *decoder) newValue() *Value {
	if len(d.arena) == 0 {
		// The values of an axis file go together. Those of a folder stay, and a
		// machine may have one.
		n := min(max(d.left, 8), 256)
		if d.lasting {
			n = 4
		}
		d.arena, d.left = make([]Value, n), d.left-n
	}
	v := &d.arena[0]
	d.arena = d.arena[1:]
	return v
}

// entries calls attr for each known attribute of a body and block for each
// known block, and reports the unknown ones. It calls lose, where there is one, for
// everything that could not be read.
func (d *decoder) entries(body *hclsyntax.Body, b *Block, where string, attr func(*Field, *hclsyntax.Attribute), block func(*Block, *hclsyntax.Block), lose func(lost)) {
	if d.tooMany(body) {
		return
	}
	if lose == nil {
		lose = func(lost) {}
	}
	var unknown []*hclsyntax.Attribute
	for name, a := range body.Attributes {
		if f := b.field(name); f != nil {
			attr(f, a)
			continue
		}
		unknown = append(unknown, a)
	}
	// What they may have said is lost in their order, not in that of the map.
	slices.SortFunc(unknown, func(a, b *hclsyntax.Attribute) int {
		return cmp.Compare(a.NameRange.Start.Byte, b.NameRange.Start.Byte)
	})
	for _, a := range unknown {
		name, at := a.Name, d.place(a.NameRange)
		lose(lost{in: b, name: name, at: at, block: b.block(name) != nil})
		if b.block(name) != nil {
			d.report("unknown-name", at, "write it as a block: "+b.block(name).head()+" { … }", "%s is a block, not an attribute", name)
			continue
		}
		d.report("unknown-name", at, b.unknown(name, false), "%s has no attribute %q", where, clip(name))
	}
	for _, blk := range body.Blocks {
		if d.full() {
			break
		}
		c := b.block(blk.Type)
		at := d.place(blk.TypeRange)
		if c == nil {
			if b.field(blk.Type) != nil {
				d.report("unknown-name", at, fmt.Sprintf("write it with an equals sign: %s = …", blk.Type), "%s is an attribute, not a block", blk.Type)
			} else {
				d.report("unknown-name", at, b.unknown(blk.Type, true), "%s has no block %q", where, clip(blk.Type))
			}
			lose(lost{in: b, name: blk.Type, at: at, block: b.field(blk.Type) == nil})
			continue
		}
		if !d.labels(c, blk, at) {
			lose(lost{in: b, name: blk.Type, at: at, block: true})
			continue
		}
		block(c, blk)
	}
	d.lostIn(body, func(l lostLine, of *hclsyntax.Attribute) {
		if of != nil {
			l.name = of.Name
		}
		lose(lost{in: b, name: l.name, at: l.place})
	})
}

// tooMany refuses a body with more in it than anybody writes.
func (d *decoder) tooMany(body *hclsyntax.Body) bool {
	switch {
	case d.full():
		return true
	case len(body.Attributes) > maxAttributes:
		d.report("syntax", d.place(body.Range()), "", "more than %d attributes in one block are not read", maxAttributes)
	case len(body.Blocks) > maxBlocks:
		d.report("syntax", d.place(body.Blocks[maxBlocks].TypeRange), "split the file", "more than %d blocks in one place are not read", maxBlocks)
	default:
		return false
	}
	d.broken = true
	return true
}

// isName reports whether text can be a name: letters, digits and . _ + - only,
// a letter, digit or _ first, 100 characters at most. It is no regular
// expression, since one with these bounds takes milliseconds to compile.
func isName(s string) bool {
	n := 0
	for _, r := range s {
		if !unicode.IsLetter(r) && !unicode.IsNumber(r) && r != '_' && (n == 0 || r != '.' && r != '+' && r != '-') {
			return false
		}
		n++
	}
	return n > 0 && n <= 100
}

const badName = "%q cannot be a name: letters, digits and . _ + - only, a letter or digit first, 100 characters at most"

// head is how a block begins.
func (b *Block) head() string {
	if b.Label == "" {
		return b.Name
	}
	return b.Name + ` "…"`
}

func (d *decoder) labels(c *Block, blk *hclsyntax.Block, at Place) bool {
	need := "a name"
	if c.Label != "name" {
		need = "the name of a " + c.Label
	}
	switch {
	case c.Label == "" && len(blk.Labels) > 0:
		d.report("syntax", d.place(blk.LabelRanges[0]), "", "block %s takes no name, found %q", c.Name, clip(blk.Labels[0]))
		return false
	case c.Label != "" && len(blk.Labels) == 0:
		d.report("syntax", at, "", "block %s needs %s: %s { … }", c.Name, need, c.head())
		return false
	case len(blk.Labels) > 1:
		d.report("syntax", d.place(blk.LabelRanges[1]), "", "block %s takes one name, found %d", c.Name, len(blk.Labels))
		return false
	case c.Label != "" && !isName(blk.Labels[0]):
		d.report("syntax", d.place(blk.LabelRanges[0]), "", badName, clip(blk.Labels[0]))
		return false
	}
	return true
}

// clip shortens text for a message.
func clip(s string) string { return clipTo(s, 60) }

func clipTo(s string, most int) string {
	if len(s) <= most {
		return s
	}
	n := most - 3
	for !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n] + "…"
}

// value reads one attribute into a Value of its field. It never returns nil:
// what could not be read is Bad.
func (d *decoder) value(f *Field, a *hclsyntax.Attribute) *Value {
	v := d.newValue()
	v.Field = f
	v.Place = d.place(a.Expr.Range())
	v.Bad = !d.fill(v, f, a.Expr)
	if t, is := a.Expr.(*hclsyntax.ScopeTraversalExpr); is && len(t.Traversal) == 2 {
		if name, is := givenName(t.Traversal); is && d.given[name] != nil {
			v.given = d.given[name].use
		}
	}
	return v
}

func (d *decoder) fill(v *Value, f *Field, expr hclsyntax.Expression) bool {
	switch f.Sort {
	case Quantity:
		if f.Pair {
			return d.fillPair(v, f, expr)
		}
		q, text, ok := d.quantity(f, expr)
		v.Num, v.Text = q, text
		return ok
	case Number:
		n, ok := d.number(f, expr)
		v.Num = unit.Quantity{Nominal: n, Low: n, High: n}
		v.Text = trimNumber(n)
		return ok && d.inRange(f, v.Num, v.Text, v.Place)
	case Text, Date:
		s, ok := d.text(f, expr)
		v.Text = s
		if ok && f.File {
			if wrong, help := modelName(path.Dir(d.path), s); wrong != "" {
				d.report("value", v.Place, help, "%s %q %s", f.Name, clip(s), wrong)
				return false
			}
		}
		if ok && f.Thread {
			if _, _, fine := MetricThread(s); !fine && s != "none" {
				d.report("value", v.Place, "", "%s %q is not a metric thread; write M, diameter and pitch, such as %s, or \"none\"", f.Name, clip(s), f.Example)
				return false
			}
		}
		if ok && f.Sort == Date {
			if _, err := time.Parse(time.DateOnly, s); err != nil {
				d.report("value", v.Place, "", "%q is not a day; write it as year-month-day, such as %s", clip(s), f.Example)
				return false
			}
		}
		return ok
	case Word:
		s, ok := d.text(f, expr)
		v.Text = s
		if !ok {
			return false
		}
		for i, w := range f.Words {
			if w == s {
				v.Word = i
				return true
			}
		}
		help := ""
		if n := Nearest(s, f.Words); n != "" {
			help = "did you mean " + n + "?"
		}
		d.report("unknown-name", v.Place, help, "%s is one of %s, not %q", f.Name, list(f.Words), clip(s))
		return false
	case Flag:
		if word := hcl.ExprAsKeyword(expr); word != "" && bareWords[strings.ToLower(word)] == "" {
			d.report("value", v.Place, "", "%s is true or false, not %s", f.Name, clip(word))
			return false
		}
		d.flag = true
		c, ok := d.eval(expr)
		d.flag = false
		if !ok {
			return false
		}
		if c.Type() != cty.Bool || c.IsNull() {
			d.report("value", v.Place, saysYes(f.Name, c), "%s is true or false, not %s", f.Name, found(c))
			return false
		}
		v.Flag = c.True()
		v.Text = fmt.Sprint(v.Flag)
		return true
	case PartRef:
		return d.partRef(v, f, expr)
	case AxisRefs:
		return d.axisRefs(v, f, expr)
	}
	return false
}

// found says what a value is that should be something else.
func found(c cty.Value) string {
	switch {
	case c == cty.NilVal || !c.IsKnown():
		return "this"
	case c.IsNull():
		return "null"
	case c.Type() == cty.Bool:
		if c.True() {
			return "true"
		}
		return "false"
	case c.Type() == cty.Number:
		n, _ := c.AsBigFloat().Float64()
		return "the number " + trimNumber(n)
	case c.Type() == cty.String:
		return fmt.Sprintf("the text %q", clip(c.AsString()))
	case c.Type().IsTupleType() || c.Type().IsListType():
		return "a list"
	}
	return "a group in braces"
}

func trimNumber(n float64) string { return fmt.Sprintf("%.12g", n) }

func (d *decoder) fillPair(v *Value, f *Field, expr hclsyntax.Expression) bool {
	t, ok := expr.(*hclsyntax.TupleConsExpr)
	if !ok || len(t.Exprs) != 2 {
		d.report("value", v.Place, "write both ends, driven end first: "+f.Name+" = "+f.Example, "%s takes a list of two quantities", f.Name)
		return false
	}
	for i, e := range t.Exprs {
		q, text, fine := d.quantity(f, e)
		if i == 0 {
			v.Text = text
		} else {
			v.Text += ", " + text
		}
		v.Ends[i] = q
		ok = ok && fine
	}
	return ok
}

func (d *decoder) quantity(f *Field, expr hclsyntax.Expression) (unit.Quantity, string, bool) {
	c, s, isText, ok := d.literal(expr)
	if !ok {
		return unit.Quantity{}, "", false
	}
	at := d.place(expr.Range())
	if !isText {
		if c.Type() == cty.Number && !c.IsNull() {
			n, _ := c.AsBigFloat().Float64()
			like := unit.WithUnit(trimNumber(n), f.Unit, strings.Trim(f.Example, `"`))
			d.report("unit", at, fmt.Sprintf("write it in quotes, such as %q", like), "%s needs a unit; the bare number %s has none", f.Name, trimNumber(n))
		} else {
			d.report("value", at, "", "%s is %s, such as %s, not %s", f.Name, f.Unit.WithArticle(), f.Example, found(c))
		}
		return unit.Quantity{}, "", false
	}
	s = f.OfTurn(s)
	q, fine := d.readQuantity(f, s, at)
	return q, s, fine
}

// readQuantity reads the text of a quantity.
func (d *decoder) readQuantity(f *Field, s string, at Place) (unit.Quantity, bool) {
	q, err := unit.Parse(s, f.Unit)
	if err != nil {
		rule := "unit"
		var e *unit.Error
		if errors.As(err, &e) {
			switch e.Problem {
			case unit.BadNumber, unit.NoNumber, unit.Empty, unit.OutOfRange, unit.BadTolerance:
				rule = "value"
			}
		}
		d.report(rule, at, f.other(e), "%s: %v", f.Name, err)
		return q, false
	}
	return q, d.inRange(f, q, s, at)
}

func (d *decoder) inRange(f *Field, q unit.Quantity, text string, at Place) bool {
	if f.NotZero && q.Low <= 0 && q.High >= 0 {
		d.report("value", at, "", "%s must not be zero, found %s", f.Name, clip(text))
		return false
	}
	if f.Min != f.Max && !(q.Low > f.Min && q.High <= f.Max || q.Low == f.Min && !f.Above && q.High <= f.Max) {
		d.report("value", at, "", "%s must be %s, found %s", f.Name, f.Permitted(), clip(text))
		return false
	}
	if f.Whole && q.Nominal != float64(int(q.Nominal)) {
		d.report("value", at, "", "%s must be a whole number, found %s", f.Name, clip(text))
		return false
	}
	size, want := max(q.Nominal, -q.Nominal), "zero or at least "
	if f.Above {
		size, want = q.Low, "at least "
	}
	if size > 0 && size < f.Least {
		d.report("value", at, "", "%s must be %s%s, found %s", f.Name, want, f.show(f.Least), clip(text))
		return false
	}
	return true
}

// show writes a bound of the field.
func (f *Field) show(x float64) string {
	if f.Sort == Number {
		return trimNumber(x)
	}
	return unit.FormatExact(x, f.Unit, unit.Metric)
}

// Permitted says which values a field may have, as words that go behind "must
// be"; "" where all may be.
func (f *Field) Permitted() string {
	if f.Min == f.Max {
		return ""
	}
	switch open := f.Max >= unbounded; {
	case open && f.Min == 0 && f.Above:
		return "above zero"
	case open && f.Min == 0:
		return "zero or more"
	case f.Above:
		return fmt.Sprintf("above %s and at most %s", f.show(f.Min), f.show(f.Max))
	}
	return fmt.Sprintf("from %s to %s", f.show(f.Min), f.show(f.Max))
}

// Bare says how to write the text of a number; "" where it holds none.
func Bare(name, text string) string {
	var e *unit.Error
	switch _, err := unit.Parse(text, unit.None); {
	case err == nil:
		return fmt.Sprintf("write %s = %s", name, strings.TrimSpace(text))
	case errors.As(err, &e) && e.Near != "":
		return fmt.Sprintf("write %s = %s", name, e.Near)
	}
	return ""
}

func (d *decoder) number(f *Field, expr hclsyntax.Expression) (float64, bool) {
	c, s, isText, ok := d.literal(expr)
	if !ok {
		return 0, false
	}
	at := d.place(expr.Range())
	if isText {
		d.report("value", at, Bare(f.Name, s), "%s is a number without unit or quotes, found the text %q", f.Name, clip(s))
		return 0, false
	}
	if c.Type() != cty.Number || c.IsNull() {
		d.report("value", at, "", "%s is a number, such as %s, not %s", f.Name, f.Example, found(c))
		return 0, false
	}
	n, fine := asNumber(c)
	if !fine {
		d.report("value", at, "", "%s is a number that is too large", f.Name)
		return 0, false
	}
	return n, true
}

func (d *decoder) text(f *Field, expr hclsyntax.Expression) (string, bool) {
	c, s, isText, ok := d.literal(expr)
	if !ok {
		return "", false
	}
	if !isText {
		d.report("value", d.place(expr.Range()), "", "%s is text in quotes, such as %s, not %s", f.Name, f.Example, found(c))
		return "", false
	}
	if len(s) > maxText {
		d.report("value", d.place(expr.Range()), "", "%s is longer than %d bytes", f.Name, maxText)
		return "", false
	}
	return s, true
}

// partRef reads a reference such as screw.g20x10 or screw["20x10"].
func (d *decoder) partRef(v *Value, f *Field, expr hclsyntax.Expression) bool {
	kind, name, ok := reference(expr)
	if !ok {
		help := "write " + f.Example
		if t, is := expr.(*hclsyntax.ScopeTraversalExpr); is && t.Traversal.RootName() == f.Part && len(t.Traversal) == 2 {
			if _, is := t.Traversal[1].(hcl.TraverseIndex); is {
				help = fmt.Sprintf(`a name that begins with a digit stands in brackets and quotes: %s = %s["20x10"]`, f.Name, f.Part)
			}
		}
		if _, s, isText, fine := d.quietLiteral(expr); fine && isText && isName(s) {
			help = fmt.Sprintf("write it without quotes: %s = %s", f.Name, refText(f.Part, s))
			if kind, name, cut := strings.Cut(s, "."); cut && kind == f.Part {
				help = fmt.Sprintf("write it without quotes: %s = %s", f.Name, refText(kind, name))
			}
		}
		d.report("value", v.Place, help, "%s must refer to one %s of a parts file", f.Name, f.Part)
		return false
	}
	v.Text = refText(kind, name)
	if kind != f.Part {
		d.report("value", v.Place, "", "%s takes %s, found %s", f.Name, unit.WithArticle(f.Part), v.Text)
		return false
	}
	if d.scope == nil {
		d.report("value", v.Place, "", "a part cannot refer to another")
		return false
	}
	v.Part = d.scope.Part(kind, name)
	if _, unread := d.scope.unreadParts(); v.Part == nil && unread {
		return false // what keeps it from being found has its own finding
	}
	if v.Part == nil {
		names := d.scope.partNames(kind)
		help := ""
		if n := Nearest(name, names); n != "" {
			help = "did you mean " + refText(kind, n) + "?"
		} else if len(names) == 0 {
			help = fmt.Sprintf("no *%s in this folder or above declares %s", PartsSuffix, unit.WithArticle(kind))
		}
		if d.scope.ends != "" {
			help = strings.TrimPrefix(help+"; "+d.scope.ends, "; ")
		}
		d.report("unknown-name", v.Place, help, "no part %s is declared in this folder or above", v.Text)
		return false
	}
	return true
}

// refText is a reference as it would be written: screw.g20x10, and
// screw["20x10"] where the name cannot stand bare.
func refText(root, name string) string {
	if (plainName(name) || hclsyntax.ValidIdentifier(name)) && len(name) <= 60 {
		return clip(root) + "." + name
	}
	return clip(root) + fmt.Sprintf("[%q]", clip(name))
}

// plainName reports whether a name is an identifier beyond doubt, in a fraction of the
// time it takes the scanner.
func plainName(name string) bool {
	for i := range len(name) {
		c := name[i] | 0x20
		if letter := 'a' <= c && c <= 'z'; !letter && (i == 0 || byteClass[name[i]] != isWord || name[i] >= utf8.RuneSelf) {
			return false
		}
	}
	return name != ""
}

func reference(expr hclsyntax.Expression) (root, name string, ok bool) {
	t, isRef := expr.(*hclsyntax.ScopeTraversalExpr)
	if !isRef || len(t.Traversal) != 2 {
		return "", "", false
	}
	root = t.Traversal.RootName()
	switch s := t.Traversal[1].(type) {
	case hcl.TraverseAttr:
		return root, s.Name, true
	case hcl.TraverseIndex:
		if s.Key.Type() == cty.String && s.Key.IsKnown() && !s.Key.IsNull() {
			return root, s.Key.AsString(), true
		}
	}
	return "", "", false
}

func (d *decoder) axisRefs(v *Value, f *Field, expr hclsyntax.Expression) bool {
	t, ok := expr.(*hclsyntax.TupleConsExpr)
	if !ok {
		d.report("value", v.Place, "write "+f.Name+" = "+f.Example, "%s is a list of axes", f.Name)
		return false
	}
	if len(t.Exprs) > maxCarried {
		d.report("value", v.Place, "", "%s lists more than %d axes", f.Name, maxCarried)
		return false
	}
	for _, e := range t.Exprs {
		at := d.place(e.Range())
		root, name, isRef := reference(e)
		if !isRef || root != "axis" {
			d.report("value", at, "write "+f.Name+" = "+f.Example, "%s lists axes of the same folder, such as axis.lift", f.Name)
			ok = false
			continue
		}
		for _, r := range v.Axes {
			if r.Name == name {
				p := d.report("duplicate-name", at, "", "%s is listed twice", refText("axis", name))
				p.Related = []Related{{r.Place, "first listed here"}}
				ok = false
				break
			}
		}
		v.Axes = append(v.Axes, AxisRef{Name: name, Place: at})
		if v.Text != "" {
			v.Text += ", "
		}
		v.Text += refText("axis", name)
	}
	return ok
}

// literal evaluates an expression to text or another primitive. Plain quoted
// text and plain numbers, nearly all there is, take no detour.
func (d *decoder) literal(expr hclsyntax.Expression) (c cty.Value, s string, isText, ok bool) {
	switch e := expr.(type) {
	case *hclsyntax.TemplateExpr:
		if len(e.Parts) == 1 {
			if l, is := e.Parts[0].(*hclsyntax.LiteralValueExpr); is && l.Val.Type() == cty.String {
				return cty.NilVal, l.Val.AsString(), true, true
			}
		}
	case *hclsyntax.LiteralValueExpr:
		if e.Val.Type() == cty.Number && sane(e.Val) {
			return e.Val, "", false, true
		}
	}
	c, ok = d.eval(expr)
	if !ok {
		return c, "", false, false
	}
	if c.Type() == cty.String && !c.IsNull() {
		return c, c.AsString(), true, true
	}
	return c, "", false, true
}

// quietLiteral is literal without reports.
func (d *decoder) quietLiteral(expr hclsyntax.Expression) (cty.Value, string, bool, bool) {
	n := len(d.problems)
	c, s, t, ok := d.literal(expr)
	d.problems = d.problems[:n]
	return c, s, t, ok
}
