package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
)

var bucklingEnds = Rule{
	Name:     "buckling-ends",
	Question: "Is the end condition declared for buckling one that the supports give?",
	Doc: `supports.buckling_ends takes the place of the end condition that follows from drive_end
and far_end. A firmer one multiplies the buckling load: fixed-fixed bears twice the load of
fixed-supported and four times that of supported-supported. It is right only where something
else holds the shaft square, such as a nut on long, stiff guides; a reason says what
(supports.buckling_reason). A softer one is the cautious reading and is not asked about.`,
	Source:   "elementary; Euler's cases",
	Severity: Warning,
	Reasons:  []Reason{{"no end condition is declared for buckling", undeclared("supports.buckling_ends")}},
	Facts:    fields("supports.drive_end", "supports.far_end"),
	Check: func(v *View) []Fault {
		ends := v.Value(field("supports.buckling_ends"))
		if ends == nil || v.Declared(field("supports.buckling_reason")) {
			return nil
		}
		held := m.EndPair(v.V(m.DriveEnd), v.V(m.FarEnd))
		if !(float64(ends.Word) > held) {
			return nil
		}
		return []Fault{{At: ends.Field, Move: -1, Enters: fields("supports.drive_end", "supports.far_end"),
			Message: fmt.Sprintf("end condition %s for buckling is firmer than the supports, %s and %s; buckling_reason may say what holds the shaft",
				ends.Text, v.Word(field("supports.drive_end")), v.Word(field("supports.far_end")))}}
	},
}
