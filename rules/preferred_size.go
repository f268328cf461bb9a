package rules

import (
	"fmt"

	"trammel/rules/tables"
	"trammel/spec"
)

var _ = register(Rule{
	Name:     "preferred-size",
	Question: "Are nominal diameter and lead preferred sizes?",
	Doc: `ISO 3408-2 lists nominal diameters and leads to prefer. Others can be had, at a price
and a wait: a note. Which diameters go with which leads differs between makers and is
not looked at. Screws declared in inches are not asked.`,
	Source:   "ISO 3408-2:1991 (series from memory)",
	Severity: Note,
	Facts:    fields("screw.nominal_diameter", "screw.lead"),
	Applies: func(v *View) string {
		for _, f := range fields("screw.nominal_diameter", "screw.lead") {
			if x := v.Value(f); x != nil && isInch(x.Text) {
				return "the screw is measured in inches"
			}
		}
		return ""
	},
	Check: func(v *View) []Fault {
		d, p := v.Value(field("screw.nominal_diameter")), v.Value(field("screw.lead"))
		dOK, pOK, _ := tables.IsPreferred(d.Num.Nominal, p.Num.Nominal)
		var out []Fault
		for _, x := range []struct {
			v  *spec.Value
			ok bool
		}{{d, dOK}, {p, pOK}} {
			if !x.ok {
				out = append(out, Fault{At: x.v.Field, Move: -1, Message: fmt.Sprintf("%s %s is no preferred size of ISO 3408-2", words(x.v.Field.Name), v.Text(x.v))})
			}
		}
		return out
	},
})
