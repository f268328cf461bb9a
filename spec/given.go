package spec

import (
	"fmt"
	"math/big"
	"path"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
	"github.com/zclconf/go-cty/cty"
	"github.com/zclconf/go-cty/cty/function"
	"github.com/zclconf/go-cty/cty/function/stdlib"
)

// functions are all that an expression may call.
var functions = map[string]function.Function{
	"abs":   stdlib.AbsoluteFunc,
	"ceil":  stdlib.CeilFunc,
	"floor": stdlib.FloorFunc,
	"max":   stdlib.MaxFunc,
	"min":   stdlib.MinFunc,
}

// Functions lists the functions an expression may call.
func Functions() []string {
	var names []string
	for n := range functions {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}

// A givenValue is one attribute of a given block; it is evaluated when first
// used, so that given values may stand in any order.
type givenValue struct {
	name  string
	place Place // of the name
	expr  hclsyntax.Expression
	state givenState
	value cty.Value
	use   *givenUse
}

// A givenUse is what is known of the use of a given value.
type givenUse struct {
	value  Place // of the text of its value
	uses   int   // how often the file names it
	shared bool  // more than one reader counts the uses: there may be others
}

type givenState uint8

const (
	waiting givenState = iota
	running
	done
	failed
)

// readGiven collects the given blocks of a file and evaluates them all.
func (d *decoder) readGiven(body *hclsyntax.Body) {
	for _, blk := range body.Blocks {
		if blk.Type != "given" {
			continue
		}
		for _, inner := range blk.Body.Blocks {
			d.report("unknown-name", d.place(inner.TypeRange), "", "given holds attributes only, found block %q", clip(inner.Type))
		}
		if d.tooMany(blk.Body) {
			break
		}
		if len(d.given)+len(blk.Body.Attributes) > maxAttributes {
			d.report("syntax", d.place(blk.TypeRange), "", "more than %d given values in one file are not read", maxAttributes)
			d.broken = true
			break
		}
		for name, a := range blk.Body.Attributes {
			at := d.place(a.NameRange)
			if first := d.given[name]; first != nil {
				// Map order does not decide which one is the first.
				if ComparePlaces(at, first.place) < 0 {
					at, first.place, first.expr = first.place, at, a.Expr
					first.use.value = d.place(a.Expr.Range())
				}
				p := d.report("duplicate-name", at, "", "given.%s is declared twice in this file", clip(name))
				p.Related = []Related{{first.place, "first declared here"}}
				continue
			}
			if d.given == nil {
				d.given = map[string]*givenValue{}
			}
			d.given[name] = &givenValue{name: name, place: at, expr: a.Expr,
				use: &givenUse{value: d.place(a.Expr.Range()), shared: path.Base(d.path) == MachineFile}}
		}
		d.loseGiven(blk)
	}
	if d.given == nil {
		return
	}
	order := make([]*givenValue, 0, len(d.given))
	for _, g := range d.given {
		order = append(order, g)
	}
	sort.Slice(order, func(i, j int) bool { return ComparePlaces(order[i].place, order[j].place) < 0 })
	for _, g := range order {
		d.settle(g, nil)
	}
}

// loseGiven notes what could not be read of a given block.
func (d *decoder) loseGiven(blk *hclsyntax.Block) {
	d.givenLost = d.givenLost || d.isBad(blk.DefRange())
	d.lostIn(blk.Body, func(l lostLine, of *hclsyntax.Attribute) {
		name := l.name
		if of != nil {
			name = of.Name
		}
		if name == "" {
			d.givenLost = true
			return
		}
		if d.given == nil {
			d.given = map[string]*givenValue{}
		}
		d.given[name] = &givenValue{name: name, place: l.place, state: failed, use: &givenUse{value: l.place, shared: true}}
	})
}

// settle evaluates a given value after those it uses. path is the way that led
// here, to name a cycle.
func (d *decoder) settle(g *givenValue, path []*givenValue) bool {
	switch g.state {
	case done:
		return true
	case failed:
		return false
	case running:
		names := []string{}
		for i := len(path) - 1; i >= 0; i-- {
			names = append([]string{"given." + clip(path[i].name)}, names...)
			if path[i] == g {
				break
			}
		}
		d.report("value", g.place, "", "given.%s refers to itself: %s", clip(g.name), strings.Join(append(names, "given."+clip(g.name)), " → "))
		return false
	}
	if len(path) > MaxDepth {
		d.report("value", g.place, "", "given.%s stands at the end of a chain of more than %d given values", clip(g.name), MaxDepth)
		g.state = failed
		return false
	}
	g.state = running
	path = append(path, g)
	ok := true
	for _, t := range g.expr.Variables() {
		if name, is := givenName(t); is && d.given[name] != nil {
			ok = d.settle(d.given[name], path) && ok
		}
	}
	if !ok {
		g.state = failed
		return false
	}
	c, ok := d.eval(g.expr)
	if ok {
		at := d.place(g.expr.Range())
		switch {
		case c.IsNull() || c.Type() != cty.String && c.Type() != cty.Number && c.Type() != cty.Bool:
			d.report("value", at, "", "given.%s must be a number, a text, true or false, not %s", clip(g.name), found(c))
			ok = false
		case c.Type() == cty.Number && !sane(c):
			d.report("value", at, "", "given.%s is too large or too small a number", clip(g.name))
			ok = false
		case c.Type() == cty.String && len(c.AsString()) > maxText:
			d.report("value", at, "", "given.%s is longer than %d bytes", clip(g.name), maxText)
			ok = false
		}
	}
	if !ok {
		g.state = failed
		return false
	}
	g.value, g.state = c, done
	return true
}

func givenName(t hcl.Traversal) (string, bool) {
	if t.RootName() != "given" || len(t) < 2 {
		return "", false
	}
	a, ok := t[1].(hcl.TraverseAttr)
	return a.Name, ok
}

// sane keeps numbers in a range whose text is short.
func sane(c cty.Value) bool {
	return !c.IsNull() && c.IsKnown() && NumberFits(c.AsBigFloat()) // unknown: a literal that the parser could not read
}

// NumberFits reports whether a bare number is one that spec files are read with:
// zero, or its size between 2⁻¹⁰⁰ and 2⁹⁹, about 10⁻³⁰ and 10³⁰.
func NumberFits(f *big.Float) bool {
	if f.IsInf() {
		return false
	}
	e := f.MantExp(nil)
	return f.Sign() == 0 || e < 100 && e > -100
}

// eval evaluates an expression that is more than a literal. It reports what it
// does not allow; a panic of the evaluator becomes a report too.
func (d *decoder) eval(expr hclsyntax.Expression) (c cty.Value, ok bool) {
	if !d.allowed(expr) {
		return cty.NilVal, false
	}
	defer func() {
		if r := recover(); r != nil {
			d.report("value", d.place(expr.Range()), "", "this expression has no value")
			c, ok = cty.NilVal, false
		}
	}()
	ctx := d.context(expr)
	if d.divides(expr, ctx) {
		return cty.NilVal, false
	}
	c, diags := shortNumbers(expr, ctx).Value(ctx)
	for _, diag := range diags {
		if diag.Severity == hcl.DiagError {
			p := syntaxProblem(d.path, nil, diag)
			p.Rule = "value"
			d.problems = append(d.problems, p)
		}
	}
	if diags.HasErrors() || !c.IsWhollyKnown() {
		return cty.NilVal, false
	}
	if c.Type() == cty.Number && !c.IsNull() && c.AsBigFloat().IsInf() {
		d.report("value", d.place(expr.Range()), "", "this expression has no finite value")
		return cty.NilVal, false
	}
	return c, true
}

// divides reports remainders of a division by zero, to which the evaluator
// would give a value.
func (d *decoder) divides(expr hclsyntax.Expression, ctx *hcl.EvalContext) (byZero bool) {
	_ = hclsyntax.VisitAll(expr, func(n hclsyntax.Node) hcl.Diagnostics {
		if b, is := n.(*hclsyntax.BinaryOpExpr); is && b.Op == hclsyntax.OpModulo && !byZero {
			c, diags := b.RHS.Value(ctx)
			if n, fine := asNumber(c); fine && n == 0 && !diags.HasErrors() {
				d.report("value", d.place(b.SrcRange), "", "this divides by zero")
				byZero = true
			}
		}
		return nil
	})
	return byZero
}

// context offers the functions and the given values that an expression names.
func (d *decoder) context(expr hclsyntax.Expression) *hcl.EvalContext {
	ctx := &hcl.EvalContext{Functions: functions}
	known := map[string]cty.Value{}
	for _, t := range expr.Variables() {
		if name, is := givenName(t); is && d.given[name] != nil && d.given[name].state == done {
			known[name] = d.given[name].value
		}
	}
	if len(known) > 0 {
		ctx.Variables = map[string]cty.Value{"given": cty.ObjectVal(known)}
	}
	return ctx
}

// shortNumbers writes the numbers within a text with twelve digits, as a person
// would: a third of 10 is 3.33333333333, not a hundred and fifty threes.
func shortNumbers(expr hclsyntax.Expression, ctx *hcl.EvalContext) hclsyntax.Expression {
	t, ok := expr.(*hclsyntax.TemplateExpr)
	if !ok {
		return expr
	}
	out := &hclsyntax.TemplateExpr{SrcRange: t.SrcRange, Parts: slices.Clone(t.Parts)}
	for i, part := range t.Parts {
		if _, plain := part.(*hclsyntax.LiteralValueExpr); plain {
			continue
		}
		c, diags := part.Value(ctx)
		if diags.HasErrors() || !c.IsWhollyKnown() {
			continue // evaluating the whole reports it
		}
		n, fine := asNumber(c)
		if !fine {
			continue
		}
		n, _ = strconv.ParseFloat(strconv.FormatFloat(n, 'g', 12, 64), 64)
		out.Parts[i] = &hclsyntax.LiteralValueExpr{Val: cty.StringVal(strconv.FormatFloat(n, 'f', -1, 64)), SrcRange: part.Range()}
	}
	return out
}

// allowed looks through an expression for what may not stand in it: names
// other than given values, functions not listed, loops.
func (d *decoder) allowed(expr hclsyntax.Expression) bool {
	before := len(d.problems)
	silent := false
	references := 0
	_ = hclsyntax.VisitAll(expr, func(n hclsyntax.Node) hcl.Diagnostics {
		if len(d.problems) > before+10 {
			return nil // enough is said about this one
		}
		switch e := n.(type) {
		case *hclsyntax.ScopeTraversalExpr:
			at := d.place(e.Range())
			if references++; references > maxReferences {
				if references == maxReferences+1 {
					d.report("value", at, "", "an expression with more than %d names is not read", maxReferences)
				}
				return nil
			}
			name, is := givenName(e.Traversal)
			if !is {
				root := clip(rootOf(e.Traversal))
				d.report("unknown-name", at, bareWord(strings.Trim(root, `"`), d.flag), "%s is not a value", root)
				break
			}
			g := d.given[name]
			if g != nil {
				g.use.uses++
			}
			if g == nil && d.givenLost {
				silent = true // it may be what could not be read
			} else if g == nil {
				d.report("unknown-name", at, d.nearGiven(name), "given.%s is not declared in this file", clip(name))
			} else if g.state == failed || g.state == running {
				silent = true // reported where it stands
			}
		case *hclsyntax.FunctionCallExpr:
			if _, is := functions[e.Name]; !is {
				d.report("unknown-name", d.place(e.NameRange), "known functions: "+list(Functions()), "there is no function %s", clip(e.Name))
			}
		case *hclsyntax.ForExpr, *hclsyntax.SplatExpr:
			d.report("value", d.place(n.Range()), "", "loops are not part of the language")
		case *hclsyntax.LiteralValueExpr:
			if !e.Val.IsKnown() {
				silent = true // the parser has reported it
			} else if e.Val.Type() == cty.Number && !e.Val.IsNull() && !sane(e.Val) {
				d.report("value", d.place(e.Range()), "", "this number is too large or too small to compute with")
			}
		}
		return nil
	})
	return len(d.problems) == before && !silent
}

// nearGiven is the help for a given value that is not there.
func (d *decoder) nearGiven(name string) string {
	switch {
	case len(d.given) == 0:
		return "this file has no given block"
	case len(d.given) > 200:
		return "" // as many wrong names could stand in this file
	}
	names := make([]string, 0, len(d.given))
	for n := range d.given {
		names = append(names, n)
	}
	sort.Strings(names)
	if n := Nearest(name, names); n != "" {
		return "did you mean given." + n + "?"
	}
	return ""
}

func rootOf(t hcl.Traversal) string {
	s := t.RootName()
	if len(t) > 1 {
		if a, ok := t[1].(hcl.TraverseAttr); ok {
			s += "." + a.Name
		}
	}
	return fmt.Sprintf("%q", s)
}
