package rules

import (
	"fmt"
	"slices"

	"trammel/rules/tables"
	"trammel/spec"
)

var _ = register(Rule{
	Name:     "preferred-size",
	Question: "Are nominal diameter and lead preferred sizes?",
	Doc: `ISO 3408-2 lists nominal diameters and leads to prefer. Others can be had, at a price
and a wait: a note. Which diameters go with which leads differs between makers and is
not looked at. Screws declared in inches are not asked. A screw part is asked once,
where it is declared; an axis, for what it says itself.`,
	Source:   "ISO 3408-2:1991 (series from memory)",
	Severity: Note,
	Facts:    fields("screw.nominal_diameter", "screw.lead"),
	Reasons: []Reason{
		{"the screw is measured in inches", func(v *View) bool {
			return slices.ContainsFunc(sizeOf(v), func(x *spec.Value) bool { return isInch(x.Text) })
		}},
		{"its part is asked", func(v *View) bool {
			size := sizeOf(v)
			return len(size) == 2 && size[0].Origin == spec.OfPart && size[1].Origin == spec.OfPart
		}},
	},
	Check: func(v *View) []Fault {
		var out []Fault
		for _, f := range fields("screw.nominal_diameter", "screw.lead") {
			if x := v.Value(f); x.Origin != spec.OfPart && !preferred(x) {
				out = append(out, Fault{At: f, Move: -1, Message: fmt.Sprintf("%s %s is no preferred size of ISO 3408-2", words(f.Name), v.Text(x))})
			}
		}
		return out
	},
	Part: func(p *PartView) []PartFault {
		var out []PartFault
		for _, name := range []string{"nominal_diameter", "lead"} {
			if p.Has(name) && !isInch(p.Get(name).Text) && !preferred(p.Get(name)) {
				out = append(out, PartFault{At: name, Message: fmt.Sprintf("%s of %s is no preferred size of ISO 3408-2", p.Say(name), p.Ref())})
			}
		}
		return out
	},
})

// sizeOf lists the values of nominal diameter and lead, as far as they are given.
func sizeOf(v *View) (out []*spec.Value) {
	for _, f := range fields("screw.nominal_diameter", "screw.lead") {
		if x := v.Value(f); x != nil {
			out = append(out, x)
		}
	}
	return out
}

// preferred reports whether a nominal diameter or lead is one of ISO 3408-2.
func preferred(x *spec.Value) bool {
	diameter, lead, _ := tables.IsPreferred(x.Num.Nominal, x.Num.Nominal)
	if x.Field.Name == "lead" {
		return lead
	}
	return diameter
}
