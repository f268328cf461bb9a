package spec

import (
	"math"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
	"github.com/zclconf/go-cty/cty"
)

// An Expr is a condition of a house rule as a tree of its own, so that those
// who evaluate it need not know HCL.
type Expr struct {
	Op    string // "name", "text", "number", "true", "false"; or + - * / % == != < <= > >= && || ! neg if; or "call"
	Name  string // of a name (as "screw.lead") or call
	Text  string // of a text
	Num   float64
	Args  []*Expr
	Place Place
}

func asNumber(c cty.Value) (float64, bool) {
	if c.IsNull() || !c.IsKnown() || c.Type() != cty.Number {
		return 0, false
	}
	n, _ := c.AsBigFloat().Float64()
	return n, !math.IsInf(n, 0)
}

func (d *decoder) houseRule(b *Block, blk *hclsyntax.Block) *HouseRule {
	h := &HouseRule{Name: blk.Labels[0], Place: d.place(blk.LabelRanges[0]), Severity: "error"}
	broken := false
	d.entries(blk.Body, b, "require", func(f *Field, a *hclsyntax.Attribute) {
		switch f.Name {
		case "that", "when":
			e := d.expr(a.Expr)
			if e == nil {
				broken = true
			}
			if f.Name == "that" {
				h.That, h.ThatPlace = e, d.place(a.Expr.Range())
			} else {
				h.When = e
			}
			return
		}
		v := d.value(f, a)
		broken = broken || v.Bad
		switch f.Name {
		case "message":
			h.Message = v.Text
		case "severity":
			h.Severity = v.Text
		case "reason":
			h.Reason = v.Text
		}
	}, nil, func(l lost) { broken = broken || l.name == "" || l.name == "that" })
	if h.That == nil && !broken {
		d.report("value", h.Place, `write that = life_hours >= "40000 h"`, "house rule %q has no condition", h.Name)
		broken = true
	}
	if broken {
		return nil
	}
	if h.Message == "" {
		h.Message = "house rule " + h.Name + " is not met"
	}
	return h
}

var binaryOps = map[*hclsyntax.Operation]string{
	hclsyntax.OpAdd: "+", hclsyntax.OpSubtract: "-", hclsyntax.OpMultiply: "*", hclsyntax.OpDivide: "/", hclsyntax.OpModulo: "%",
	hclsyntax.OpEqual: "==", hclsyntax.OpNotEqual: "!=", hclsyntax.OpLessThan: "<", hclsyntax.OpLessThanOrEqual: "<=",
	hclsyntax.OpGreaterThan: ">", hclsyntax.OpGreaterThanOrEqual: ">=", hclsyntax.OpLogicalAnd: "&&", hclsyntax.OpLogicalOr: "||",
}

// expr turns a syntax tree into an Expr; nil where something in it is not part
// of the language, which is reported.
func (d *decoder) expr(x hclsyntax.Expression) *Expr {
	e := &Expr{Place: d.place(x.Range())}
	args := func(xs ...hclsyntax.Expression) *Expr {
		for _, x := range xs {
			a := d.expr(x)
			if a == nil {
				return nil
			}
			e.Args = append(e.Args, a)
		}
		return e
	}
	switch x := x.(type) {
	case *hclsyntax.ParenthesesExpr:
		return d.expr(x.Expression)
	case *hclsyntax.BinaryOpExpr:
		e.Op = binaryOps[x.Op]
		return args(x.LHS, x.RHS)
	case *hclsyntax.UnaryOpExpr:
		e.Op = "neg"
		if x.Op == hclsyntax.OpLogicalNot {
			e.Op = "!"
		}
		return args(x.Val)
	case *hclsyntax.ConditionalExpr:
		e.Op = "if"
		return args(x.Condition, x.TrueResult, x.FalseResult)
	case *hclsyntax.FunctionCallExpr:
		if _, ok := functions[x.Name]; !ok && x.Name != "declared" {
			d.report("unknown-name", d.place(x.NameRange), "known functions: "+list(append(Functions(), "declared")), "there is no function %s", clip(x.Name))
			return nil
		}
		e.Op, e.Name = "call", x.Name
		return args(x.Args...)
	case *hclsyntax.ScopeTraversalExpr:
		if _, ok := givenName(x.Traversal); ok {
			break
		}
		e.Op, e.Name = "name", x.Traversal.RootName()
		for _, s := range x.Traversal[1:] {
			a, ok := s.(hcl.TraverseAttr)
			if !ok {
				d.report("value", e.Place, "", "a quantity is named like screw.lead or life_hours")
				return nil
			}
			e.Name += "." + a.Name
		}
		return e
	}
	c, s, isText, ok := d.literal(x)
	if !ok {
		return nil
	}
	switch {
	case isText:
		e.Op, e.Text = "text", s
	case c.Type() == cty.Bool && !c.IsNull():
		e.Op = "false"
		if c.True() {
			e.Op = "true"
		}
	default:
		n, fine := asNumber(c)
		if !fine {
			d.report("value", e.Place, "", "this is not allowed in a condition")
			return nil
		}
		e.Op, e.Num = "number", n
	}
	return e
}
