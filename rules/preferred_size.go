package rules

import (
	"fmt"
	"slices"

	"trammel/rules/judge"
	"trammel/rules/tables"
	"trammel/spec"
)

var preferredSize = judge.Rule{
	Name:     "preferred-size",
	Question: "Are nominal diameter and lead preferred sizes?",
	Doc: `ISO 3408-2 lists nominal diameters and leads to prefer. Others cost more and take
longer to get: a note. Which leads go with which diameter differs between makers and is not
judged. Screws declared in inches are not judged.`,
	Source:   "ISO 3408-2:1991 (series from memory)",
	Severity: judge.Note,
	Given:    []string{"nominal_diameter", "lead"},
	Reasons: []judge.Reason{{Words: "the screw is declared in inches", If: func(v *judge.View) bool {
		return slices.ContainsFunc(judge.Fields("screw.nominal_diameter", "screw.lead"), func(f *spec.Field) bool {
			x := v.Value(f)
			return x != nil && judge.IsInch(x.Text)
		})
	}}},
	Part: func(p *judge.PartView) []judge.PartFault {
		var out []judge.PartFault
		for _, name := range []string{"nominal_diameter", "lead"} {
			if p.Has(name) && !judge.IsInch(p.Get(name).Text) && !preferred(p.Get(name)) {
				out = append(out, judge.PartFault{At: name, Message: fmt.Sprintf("%s of %s is not a preferred size of ISO 3408-2", p.Say(name), p.Ref())})
			}
		}
		return out
	},
}

// preferred reports whether a nominal diameter or lead is one of ISO 3408-2.
func preferred(x *spec.Value) bool {
	diameter, lead, _ := tables.IsPreferred(x.Num.Nominal, x.Num.Nominal)
	if x.Field.Name == "lead" {
		return lead
	}
	return diameter
}
