package judge

import (
	"math"
	"slices"
	"sort"
	"strings"

	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A HouseRule is a condition of the house, checked for its units and ready to
// be asked of every axis.
type HouseRule struct {
	Rule     *spec.HouseRule
	Severity Severity
	that     *term
	when     *term // nil: always
	uses     []*mechanics.Quantity
	facts    []*spec.Field
	Terms    int // it is made of
}

// TermsPerPhase is how many terms take as long as one phase of a cycle.
const TermsPerPhase = 8

// sortOf is the sort of a term's value.
type sortOf uint8

const (
	isNumber sortOf = iota
	isBool
	isWord
)

// A term is one node of a checked condition. Its value is a float64: a number
// in SI, 0 or 1 for false and true, a word's index.
type term struct {
	sort  sortOf
	kind  unit.Kind // of a number with a named kind
	named bool      // kind says it; else only exps do
	exps  [4]int8
	words []string // of a word
	value func(v *View) float64
	slope func(v *View) float64  // of a condition: how far it is from turning, above zero where it holds; nil: infinitely
	size  func(v *View) float64  // of a number: how large those are that it was made of; nil: as large as it is
	sides func(v *View) Compared // of a condition that turns with a number: what it compares, or nothing
}

// compared is what decides a condition: of several comparisons the one nearest to turning it.
func (t *term) compared(v *View) Compared {
	if t.sides == nil {
		return Compared{}
	}
	return t.sides(v)
}

// distance is how far a condition is from turning, for searching a case in which it
// does not hold. Only its ups and downs count. One that turns with no number is
// infinitely far, so that it stands in the way of no other.
func (t *term) distance(v *View) float64 {
	if t.slope != nil {
		return t.slope(v)
	}
	switch t.value(v) {
	case 0:
		return math.Inf(-1)
	case 1:
		return math.Inf(1)
	}
	return math.NaN()
}

// scale is what differences of a number are measured by: a difference of two
// lengths is small or large beside the lengths, not beside itself.
func (t *term) scale(v *View) float64 {
	if t.size != nil {
		return t.size(v)
	}
	return math.Abs(t.value(v))
}

// HouseNames lists what a house rule may name, in order: declared values and
// computed quantities.
func HouseNames() []string {
	seen := map[string]bool{}
	for _, q := range mechanics.All() {
		if q.Shape == mechanics.Scalar {
			seen[q.Name] = true
		}
	}
	for _, f := range spec.Language().Fields {
		if !strings.HasPrefix(f.Path, "motion.move.") && (f.Sort == spec.Flag || f.Sort == spec.Word) {
			seen[f.Path] = true
		}
	}
	var names []string
	for n := range seen {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}

// A Description says what a name in a house rule stands for.
type Description struct{ Name, Unit, Meaning string }

// Describe describes one of HouseNames.
func Describe(name string) Description {
	d := Description{Name: name}
	if f := spec.Language().FieldAt(name); f != nil {
		d.Meaning = f.Doc
		switch f.Sort {
		case spec.Flag:
			d.Unit = "true or false"
		case spec.Word:
			d.Unit = "one of a list"
			d.Meaning += ": " + strings.Join(f.Words, ", ")
		case spec.Number:
			d.Unit = "bare number"
		default:
			d.Unit = f.Unit.String()
		}
		return d
	}
	if q := mechanics.ByName(name); q != nil {
		d.Unit, d.Meaning = q.Kind.String(), q.Title
		if q.Kind == unit.None {
			d.Unit = "bare number"
		}
	}
	return d
}

// compile checks a house rule; nil where it makes no sense, which is reported.
func (f *InForce) compile(h *spec.HouseRule) *HouseRule {
	if f.book.known(h.Name) {
		f.report("duplicate-name", h.Place, "give the house rule another name", "there is a built-in rule %q", h.Name)
		return nil
	}
	for _, o := range f.House {
		if o.Rule.Name == h.Name {
			f.report("duplicate-name", h.Place, "give one of them another name", "the house rule %q is declared above too", h.Name)
			f.problems[len(f.problems)-1].Related = []spec.Related{{Place: o.Rule.Place, Message: "the other is declared here"}}
			return nil
		}
	}
	out := &HouseRule{Rule: h}
	out.Severity, _ = ParseSeverity(h.Severity)
	c := &compiler{force: f, rule: out}
	condition := func(e *spec.Expr, name string) *term {
		if e == nil {
			return nil
		}
		t := c.term(e)
		if t != nil && t.sort != isBool {
			f.report("value", e.Place, "compare it with a value", "%s must be a condition, true or false", name)
			return nil
		}
		return t
	}
	out.that, out.when = condition(h.That, "that"), condition(h.When, "when")
	if out.that == nil || h.When != nil && out.when == nil {
		return nil
	}
	return out
}

type compiler struct {
	force *InForce
	rule  *HouseRule
}

func (c *compiler) fail(at spec.Place, rule, help, format string, args ...any) *term {
	c.force.report(rule, at, help, format, args...)
	return nil
}

func numberTerm(k unit.Kind, value func(*View) float64) *term {
	return &term{sort: isNumber, kind: k, named: true, exps: k.Exponents(), value: value}
}

func (t *term) what() string {
	switch {
	case t.sort == isBool:
		return "true or false"
	case t.sort == isWord:
		return "one of " + strings.Join(t.words, ", ")
	case t.named:
		return t.kind.WithArticle()
	}
	return "a quantity of another kind"
}

func (c *compiler) term(e *spec.Expr) *term {
	c.rule.Terms++
	switch e.Op {
	case "number":
		x := e.Num
		return numberTerm(unit.None, func(*View) float64 { return x })
	case "true", "false":
		x := 0.0
		if e.Op == "true" {
			x = 1
		}
		return &term{sort: isBool, value: func(*View) float64 { return x }}
	case "text":
		return c.fail(e.Place, "value", "", "the kind of the text %q is not known here; compare it with a quantity", e.Text)
	case "name":
		return c.name(e)
	case "neg":
		a := c.term(e.Args[0])
		if a == nil {
			return nil
		}
		if a.sort != isNumber {
			return c.fail(e.Place, "value", "", "only a number has a sign")
		}
		t := *a
		t.value = func(v *View) float64 { return -a.value(v) }
		return &t
	case "!":
		a := c.bools(e)
		if a == nil {
			return nil
		}
		return &term{
			sort: isBool, value: func(v *View) float64 { return 1 - a[0].value(v) },
			slope: func(v *View) float64 { return -a[0].distance(v) },
		}
	case "&&", "||":
		a := c.bools(e)
		if a == nil {
			return nil
		}
		if e.Op == "&&" {
			return &term{
				sort: isBool, value: func(v *View) float64 { return decided(0, a[0].value(v), a[1].value(v)) },
				slope: func(v *View) float64 { return -larger(-a[0].distance(v), -a[1].distance(v)) },
				sides: func(v *View) Compared { return nearer(a, -1, v).compared(v) },
			}
		}
		return &term{
			sort: isBool, value: func(v *View) float64 { return decided(1, a[0].value(v), a[1].value(v)) },
			slope: func(v *View) float64 { return larger(a[0].distance(v), a[1].distance(v)) },
			sides: func(v *View) Compared { return nearer(a, 1, v).compared(v) },
		}
	case "==", "!=", "<", "<=", ">", ">=":
		return c.compare(e)
	case "+", "-", "*", "/", "%":
		return c.arithmetic(e)
	case "if":
		cond := c.bools(&spec.Expr{Args: e.Args[:1]})
		a, b := c.pair(e.Args[1], e.Args[2])
		if cond == nil || a == nil || b == nil || !c.alike(e, a, b) {
			return nil
		}
		t := *a
		t.value = func(v *View) float64 {
			switch q := cond[0].value(v); {
			case q != q:
				return q
			case q != 0:
				return a.value(v)
			}
			return b.value(v)
		}
		branch := func(v *View) *term {
			if cond[0].value(v) == 1 {
				return a
			}
			return b
		}
		if t.sort == isBool {
			t.slope = func(v *View) float64 { return branch(v).distance(v) }
			t.sides = func(v *View) Compared { return branch(v).compared(v) }
		}
		t.size = func(v *View) float64 { return branch(v).scale(v) }
		return &t
	case "call":
		return c.call(e)
	}
	return c.fail(e.Place, "value", "", "a condition cannot contain this")
}

func (c *compiler) name(e *spec.Expr) *term {
	if q := mechanics.ByName(e.Name); q != nil {
		if q.Shape != mechanics.Scalar {
			return c.fail(e.Place, "value", "", "%s has a value for each move or phase; a condition takes quantities with one value", e.Name)
		}
		c.rule.uses = append(c.rule.uses, q)
		value := func(v *View) float64 { return v.Calc.V(q) }
		if len(q.Words) > 0 {
			return &term{sort: isWord, words: q.Words, value: value}
		}
		return numberTerm(q.Kind, value)
	}
	if f := spec.Language().FieldAt(e.Name); f != nil && !strings.HasPrefix(f.Path, "motion.move.") {
		switch f.Sort {
		case spec.Flag:
			return &term{sort: isBool, value: func(v *View) float64 {
				if v.Flag(f) {
					return 1
				}
				return 0
			}}
		case spec.Word:
			c.rule.facts = append(c.rule.facts, f)
			return &term{sort: isWord, words: f.Words, value: func(v *View) float64 {
				if x := v.Value(f); x != nil {
					return float64(x.Word)
				}
				return math.NaN()
			}}
		}
		return c.fail(e.Place, "value", "", "%s cannot be compared", e.Name)
	}
	return c.fail(e.Place, "unknown-name", DidYouMean(e.Name, HouseNames()), "there is no quantity %q", e.Name)
}

func (c *compiler) bools(e *spec.Expr) []*term {
	var out []*term
	for _, a := range e.Args {
		t := c.term(a)
		if t != nil && t.sort != isBool {
			t = c.fail(a.Place, "value", "compare it with a value", "expected true or false here, found %s", t.what())
		}
		out = append(out, t)
	}
	for _, t := range out {
		if t == nil {
			return nil
		}
	}
	return out
}

// pair compiles two terms that stand beside each other; a text takes the kind
// of the other.
func (c *compiler) pair(x, y *spec.Expr) (a, b *term) {
	switch {
	case x.Op == "text" && y.Op == "text":
		return c.fail(x.Place, "value", "", "two texts cannot be compared; one side must be a quantity"), nil
	case x.Op == "text":
		if b = c.term(y); b != nil {
			a = c.text(x, b)
		}
	case y.Op == "text":
		if a = c.term(x); a != nil {
			b = c.text(y, a)
		}
	default:
		a, b = c.term(x), c.term(y)
	}
	return a, b
}

func (c *compiler) text(e *spec.Expr, like *term) *term {
	switch {
	case like.sort == isWord:
		for i, w := range like.words {
			if w == e.Text {
				x := float64(i)
				return &term{sort: isWord, words: like.words, value: func(*View) float64 { return x }}
			}
		}
		return c.fail(e.Place, "unknown-name", DidYouMean(e.Text, append([]string(nil), like.words...)), "%q is not one of %s", e.Text, strings.Join(like.words, ", "))
	case like.sort == isBool:
		return c.fail(e.Place, "value", "write true or false without quotes", "true or false is compared with the text %q", e.Text)
	case !like.named:
		return c.fail(e.Place, "value", "", "the text %q cannot be compared with a product of this kind: it has no unit of its own", e.Text)
	}
	q, err := unit.Parse(e.Text, like.kind)
	if err != nil {
		return c.fail(e.Place, "unit", "", "%v", err)
	}
	if !q.Exact() {
		return c.fail(e.Place, "value", "", "a limit has no tolerance")
	}
	return numberTerm(like.kind, func(*View) float64 { return q.Nominal })
}

// alike reports whether two terms can be compared, and says so if not.
func (c *compiler) alike(e *spec.Expr, a, b *term) bool {
	ok := a.sort == b.sort
	if ok && a.sort == isNumber {
		ok = a.exps == b.exps
		if a.named && b.named {
			ok = unit.Convertible(a.kind, b.kind)
		}
	}
	if ok && a.sort == isWord {
		ok = strings.Join(a.words, "|") == strings.Join(b.words, "|")
	}
	if !ok {
		c.fail(e.Place, "unit", "", "%s is compared with %s", a.what(), b.what())
	}
	return ok
}

func (c *compiler) compare(e *spec.Expr) *term {
	a, b := c.pair(e.Args[0], e.Args[1])
	if a == nil || b == nil || !c.alike(e, a, b) {
		return nil
	}
	if a.sort != isNumber && e.Op != "==" && e.Op != "!=" {
		return c.fail(e.Place, "value", "", "only numbers have an order; use == or !=")
	}
	op := e.Op
	out := &term{sort: isBool}
	if a.sort == isNumber {
		out.slope = func(v *View) float64 {
			x, y := a.value(v), b.value(v)
			d := y - x
			if d != 0 {
				d /= math.Max(a.scale(v), b.scale(v))
			}
			switch op {
			case ">", ">=":
				return -d
			case "==":
				return -math.Abs(d)
			case "!=":
				return math.Abs(d)
			}
			return d
		}
		out.sides = sides(e, a, b)
	}
	out.value = func(v *View) float64 {
		x, y := a.value(v), b.value(v)
		if x != x || y != y {
			return math.NaN()
		}
		near := math.Abs(x-y) <= 1e-12*math.Max(math.Abs(x), math.Abs(y))
		var ok bool
		switch op {
		case "==":
			ok = near
		case "!=":
			ok = !near
		case "<":
			ok = x < y && !near
		case "<=":
			ok = x < y || near
		case ">":
			ok = x > y && !near
		case ">=":
			ok = x > y || near
		}
		if ok {
			return 1
		}
		return 0
	}
	return out
}

// nearer is the one of two conditions that decides both: the one further from holding (way
// -1), or nearer to it (1).
func nearer(a []*term, way float64, v *View) *term {
	if x, y := way*a[0].distance(v), way*a[1].distance(v); x != x || y > x {
		return a[1]
	}
	return a[0]
}

// sides gives what an order compares: a number with a limit, which is the constant of both
// or else the second. Nothing where neither has a unit of its own.
func sides(e *spec.Expr, a, b *term) func(v *View) Compared {
	sense, is := map[string]Sense{"<": AtMost, "<=": AtMost, ">": AtLeast, ">=": AtLeast}, e.Args[0]
	c := Compared{Kind: a.kind, Sense: sense[e.Op]}
	if _, order := sense[e.Op]; !order || !a.named && !b.named {
		return nil
	}
	if constant(e.Args[0]) && !constant(e.Args[1]) {
		a, b, is = b, a, e.Args[1]
		c.Sense = AtMost + AtLeast - c.Sense
	}
	if c.Kind = a.kind; !a.named {
		c.Kind = b.kind
	}
	if is.Op == "name" {
		c.Of = mechanics.ByName(is.Name)
	}
	return func(v *View) Compared {
		out := c
		out.Value, out.Limit = a.value(v), b.value(v)
		return out
	}
}

func constant(e *spec.Expr) bool {
	return e.Op == "text" || e.Op == "number" || e.Op == "neg" && constant(e.Args[0])
}

func (c *compiler) arithmetic(e *spec.Expr) *term {
	var a, b *term
	if e.Op == "+" || e.Op == "-" {
		a, b = c.pair(e.Args[0], e.Args[1])
	} else {
		a, b = c.term(e.Args[0]), c.term(e.Args[1])
	}
	if a == nil || b == nil {
		return nil
	}
	if a.sort != isNumber || b.sort != isNumber {
		return c.fail(e.Place, "value", "", "only numbers can be added, subtracted, multiplied or divided")
	}
	t := &term{sort: isNumber}
	plain := func(x *term) bool { return x.exps == [4]int8{} }
	switch e.Op {
	case "+", "-", "%":
		if !c.alike(e, a, b) {
			return nil
		}
		t.kind, t.named, t.exps = a.kind, a.named, a.exps
		if e.Op == "-" && a.kind == unit.Temperature {
			t.kind = unit.TemperatureDifference
		}
	case "*", "/":
		for i := range t.exps {
			if e.Op == "*" {
				t.exps[i] = a.exps[i] + b.exps[i]
			} else {
				t.exps[i] = a.exps[i] - b.exps[i]
			}
		}
		switch {
		case t.exps == [4]int8{}:
			t.kind, t.named = unit.None, true
		case plain(b):
			t.kind, t.named = a.kind, a.named
		case plain(a) && e.Op == "*":
			t.kind, t.named = b.kind, b.named
		}
	}
	op := e.Op
	t.value = func(v *View) float64 {
		x, y := a.value(v), b.value(v)
		switch op {
		case "+":
			return x + y
		case "-":
			return x - y
		case "*":
			return x * y
		case "/":
			return x / y
		}
		return remainder(x, y)
	}
	t.size = func(v *View) float64 {
		x, y := a.scale(v), b.scale(v)
		switch op {
		case "*":
			return x * y
		case "/":
			return x / math.Abs(b.value(v))
		}
		return x + y
	}
	return t
}

// remainder is what is left of x in steps of y. What rounding leaves of a whole
// number of steps is nothing: in floating point 0.8 is a little less than forty
// times 0.02.
func remainder(x, y float64) float64 {
	r := math.Mod(x, y)
	if rounding := 1e-12 * math.Abs(x); math.Abs(r) <= rounding || math.Abs(y)-math.Abs(r) <= rounding {
		return 0
	}
	return r
}

// decided combines two truths: one that equals by decides alone, even if the
// other is not known.
func decided(by, x, y float64) float64 {
	switch {
	case x == by || y == by:
		return by
	case x != x || y != y:
		return math.NaN()
	}
	return 1 - by
}

// larger is the larger of two numbers, or the one that is known.
func larger(x, y float64) float64 {
	switch {
	case x != x:
		return y
	case y != y:
		return x
	}
	return math.Max(x, y)
}

// declared asks whether someone declared a value.
func (c *compiler) declared(e *spec.Expr) *term {
	if len(e.Args) != 1 || e.Args[0].Op != "name" {
		return c.fail(e.Place, "value", "write declared(accuracy.positioning)", "declared takes the name of one declared value")
	}
	name := e.Args[0].Name
	f := spec.Language().FieldAt(name)
	if f == nil || strings.HasPrefix(f.Path, "motion.move.") {
		return c.fail(e.Args[0].Place, "unknown-name", DidYouMean(name, HouseNames()), "an axis declares no value %q", name)
	}
	return &term{sort: isBool, value: func(v *View) float64 {
		if v.Declared(f) {
			return 1
		}
		return 0
	}}
}

func (c *compiler) call(e *spec.Expr) *term {
	if e.Name == "declared" {
		return c.declared(e)
	}
	want := 1
	if e.Name == "max" || e.Name == "min" {
		want = 2
	}
	if len(e.Args) < want || want == 1 && len(e.Args) != 1 {
		return c.fail(e.Place, "value", "", "%s takes %d or more values, found %d", e.Name, want, len(e.Args))
	}
	// A text takes the kind of the first that is none. Each is compiled once: in
	// calls within calls, twice would be without end.
	i := slices.IndexFunc(e.Args, func(a *spec.Expr) bool { return a.Op != "text" })
	if i < 0 && want == 2 {
		return c.fail(e.Args[0].Place, "value", "", "two texts cannot be compared; one side must be a quantity")
	}
	first := max(i, 0)
	like := c.term(e.Args[first])
	if like == nil {
		return nil
	}
	args := make([]*term, len(e.Args))
	for i, a := range e.Args {
		switch {
		case i == first:
			args[i] = like
		case a.Op == "text":
			args[i] = c.text(a, like)
		default:
			args[i] = c.term(a)
		}
		if args[i] == nil || !c.alike(e, like, args[i]) {
			return nil
		}
	}
	if args[0].sort != isNumber {
		return c.fail(e.Place, "value", "", "%s takes numbers", e.Name)
	}
	if (e.Name == "ceil" || e.Name == "floor") && args[0].exps != [4]int8{} {
		return c.fail(e.Place, "value", "", "%s of a quantity with a unit has no meaning", e.Name)
	}
	t := *args[0]
	name := e.Name
	t.value = func(v *View) float64 {
		x := args[0].value(v)
		switch name {
		case "abs":
			return math.Abs(x)
		case "ceil":
			return math.Ceil(x)
		case "floor":
			return math.Floor(x)
		}
		for _, a := range args[1:] {
			if name == "max" {
				x = math.Max(x, a.value(v))
			} else {
				x = math.Min(x, a.value(v))
			}
		}
		return x
	}
	t.size = func(v *View) float64 {
		most := 0.0
		for _, a := range args {
			most = math.Max(most, a.scale(v))
		}
		return most
	}
	return &t
}

// ask evaluates a house rule: 1 it holds, 0 it does not, NaN not known; idle
// where its when does not hold.
func (h *HouseRule) ask(v *View) (verdict float64, idle bool) {
	if h.when != nil {
		switch w := h.when.value(v); {
		case w != w:
			return w, false
		case w != 1:
			return 1, true
		}
	}
	return h.that.value(v), false
}

// A tightest is what a house rule compares where it is nearest to failing.
type tightest struct {
	far  float64
	seen bool
	Compared
}

func (t *tightest) see(h *HouseRule, v *View) {
	if far := h.that.distance(v); !t.seen || far < t.far || t.far != t.far {
		*t = tightest{far, true, h.that.compared(v)}
	}
}

// made is what was compared, if it says the same as the verdict: a share of a limit of zero
// says nothing.
func (t *tightest) made(verdict float64) Compared {
	use := t.Use()
	if verdict == 1 && use > 1+Slack || verdict == 0 && use < 1-Slack || t.Value != t.Value || t.Limit != t.Limit {
		return Compared{}
	}
	return t.Compared
}

// AskHouse asks a house rule of an axis.
func (j *Judge) AskHouse(b *Scratch, v *View, h *HouseRule, rep *Report) Result {
	res := Result{Rule: h.Rule.Name, Utilisation: math.NaN()}
	if v.Axis.Broken {
		res.State, res.Why = Unjudged, "the axis has syntax errors"
		return res
	}
	verdict, idle := h.ask(v)
	where, near := "", tightest{}
	if verdict == 1 {
		w, undefined, ok := v.anyCase(b, h, &near)
		switch {
		case undefined && w == nil:
			res.State, res.Why = Unjudged, "its condition is not defined everywhere within the tolerances"
			return res
		case !ok:
			res.State, res.Why = Unjudged, "too many values with a tolerance in a cycle this long"
			return res
		case w != nil:
			v, verdict, idle, where, near = w, 0, false, "fails somewhere within the tolerances", tightest{}
		}
	}
	if !idle {
		near.see(h, v)
	}
	if over := v.houseOver(b, h, verdict, &near); over != "" {
		res.State, res.Why = Unjudged, over
		return res
	}
	if verdict == verdict && !idle {
		res.Compared = near.made(verdict)
		res.Utilisation = res.Compared.Use()
	}
	switch {
	case verdict != verdict:
		for _, q := range h.uses {
			if !v.Calc.Known(q) {
				v.missing(q, &res)
			}
		}
		for _, f := range h.facts {
			if v.Value(f) == nil {
				res.lack(v.Axis, f, -1)
			}
		}
		if len(res.Missing) == 0 && res.Why == "" {
			res.Why = "its condition is not defined for the declared values"
		}
		res.State = Unjudged
	case idle:
		res.State, res.Why = NotApplicable, "its condition (when) does not hold"
	case verdict == 0:
		res.finds(h.Severity)
		if rep == nil {
			break
		}
		var at *spec.Field
		for _, q := range h.uses {
			if f := FieldOfLeaf[q.ID()]; f != nil && v.Declared(f) && at == nil {
				at = f
			}
		}
		f := v.findingAt(&Rule{Name: h.Rule.Name}, h.Severity, at, -1)
		f.Message, f.Utilisation, f.Compared = h.Rule.Message, res.Utilisation, res.Compared
		f.Related = append(f.Related, spec.Related{Place: h.Rule.Place, Message: "house rule " + h.Rule.Name})
		listed := map[*mechanics.Quantity]bool{}
		for _, q := range h.uses {
			if e, ok := v.entry(q, -1); ok && !listed[q] {
				listed[q] = true
				f.Inputs = append(f.Inputs, e)
			}
		}
		if where != "" {
			f.Inputs = append(f.Inputs, Entry{Words: where})
		}
		rep.Findings = append(rep.Findings, f)
	}
	return res
}

// houseOver says, where a house rule holds for some of what is assumed and not for
// the rest, on which undeclared lines that hangs.
func (v *View) houseOver(b *Scratch, h *HouseRule, verdict float64, near *tightest) string {
	if !mechanics.AnyDepends(h.uses, mechanics.Case) {
		return ""
	}
	var names []string
	for _, a := range v.Assumed() {
		if mechanics.AnyDepends(h.uses, a.Taken) {
			names = append(names, v.Axis.Wants(FieldOfLeaf[a.Leaf.ID()]))
		}
	}
	if len(names) == 0 {
		return ""
	}
	for _, k := range ends {
		w := v.atAll(b, k)
		x, idle := h.ask(w)
		if x != verdict && !(x != x && verdict != verdict) {
			return "holds or fails depending on assumed values; declare " + strings.Join(names, ", ")
		}
		if !idle {
			near.see(h, w)
		}
	}
	return ""
}

// anyCase looks within the tolerances for a case in which a house rule does not
// hold and returns a view of that case, or nil. undefined says that there are
// cases in which it has no answer; ok is false where there are too many inputs
// to search. near sees all that were tried.
func (v *View) anyCase(b *Scratch, h *HouseRule, near *tightest) (w *View, undefined, ok bool) {
	s := b.search(v, h.uses)
	if len(s.at) == 0 {
		return nil, false, true
	}
	each := wholeRun + Phases(v.Calc.Moves()) + h.Terms/TermsPerPhase
	if !b.affords(len(s.at), each) {
		return nil, false, false
	}
	bad := *v
	found, spent := false, false
	s.f = func(x []float64) float64 {
		if !b.spend(each) {
			spent = true
			return math.NaN()
		}
		bad.Calc = s.values(x)
		verdict, idle := h.ask(&bad)
		if verdict == 0 {
			found, bad.Calc = true, s.settle(x)
			return math.NaN()
		}
		if verdict != verdict {
			undefined = true
			return math.Inf(-1)
		}
		if !idle {
			near.see(h, &bad)
		}
		far := h.that.distance(&bad)
		if h.when != nil {
			far = larger(far, -h.when.distance(&bad))
		}
		return -far
	}
	s.climb(s.middle())
	if found {
		return &bad, undefined, true
	}
	return nil, undefined, !spent
}
