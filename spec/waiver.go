package spec

import (
	"strings"

	"github.com/hashicorp/hcl/v2/hclsyntax"
)

func (d *decoder) waiver(b *Block, blk *hclsyntax.Block) *Waiver {
	w := &Waiver{Rule: blk.Labels[0], RulePlace: d.place(blk.LabelRanges[0])}
	d.entries(blk.Body, b, "waive", func(f *Field, at *hclsyntax.Attribute) {
		if f.Name == "axes" || f.Name == "parts" {
			names := d.names(f, at)
			w.Broken = w.Broken || names == nil
			if f.Name == "axes" {
				w.Axes, w.AxesPlace = names, d.place(at.Expr.Range())
			} else {
				w.Parts, w.PartsPlace = names, d.place(at.Expr.Range())
			}
			return
		}
		v := d.value(f, at).apart()
		w.Broken = w.Broken || v.Bad
		switch f.Name {
		case "reason":
			w.Reason = v
		case "until":
			w.Until = v
		}
	}, nil, func(lost) { w.Broken = true })
	for _, miss := range []struct {
		v    *Value
		name string
		eg   string
	}{{w.Reason, "reason", `reason = "…"`}, {w.Until, "until", `until = "2027-06-30"`}} {
		if miss.v == nil || !miss.v.Bad && miss.v.Text == "" {
			d.report("value", w.RulePlace, "write "+miss.eg, "a waiver needs a %s", map[string]string{"reason": "reason", "until": "last day (until)"}[miss.name])
			w.Broken = true
		}
	}
	return w
}

// apart is a copy of a value that keeps nothing of its file in memory: a waiver is told with a
// finding, long after its axis.
func (v *Value) apart() *Value {
	own := *v
	own.Text = strings.Clone(own.Text)
	return &own
}

// names reads a list of texts; nil where it is none.
func (d *decoder) names(f *Field, a *hclsyntax.Attribute) []string {
	t, ok := a.Expr.(*hclsyntax.TupleConsExpr)
	if !ok {
		d.report("value", d.place(a.Expr.Range()), "", "%s is a list of names, such as %s", f.Name, f.Example)
		return nil
	}
	out := []string{}
	for _, e := range t.Exprs {
		_, s, isText, ok := d.literal(e)
		if ok && !isText {
			d.report("value", d.place(e.Range()), "", "%s is a list of names in quotes", f.Name)
		}
		if !ok || !isText {
			return nil
		}
		out = append(out, s)
	}
	return out
}
