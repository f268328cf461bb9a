package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
)

var bucklingEnds = judge.Rule{
	Name:     "buckling-ends",
	Question: "Do the supports justify the end condition declared for buckling?",
	Doc: `supports.buckling_ends replaces the end condition that follows from drive_end and
far_end. A stiffer one multiplies the buckling load: fixed-fixed carries twice the load of
fixed-supported and four times that of supported-supported. It is justified only where something
else keeps the shaft straight, such as a nut on long, stiff guides; say what in
supports.buckling_reason. A softer one is cautious and passes.`,
	Source:   "Euler's cases",
	Severity: judge.Warning,
	Reasons:  []judge.Reason{{Words: "no end condition is declared for buckling", If: undeclared("supports.buckling_ends")}},
	Facts:    judge.Fields("supports.drive_end", "supports.far_end"),
	Check: func(v *judge.View) []judge.Fault {
		ends := v.Value(judge.Field("supports.buckling_ends"))
		if ends == nil || v.Declared(judge.Field("supports.buckling_reason")) {
			return nil
		}
		held := m.EndPair(v.V(m.DriveEnd), v.V(m.FarEnd))
		if !(float64(ends.Word) > held) {
			return nil
		}
		return []judge.Fault{{At: ends.Field, Move: -1, Inputs: judge.Fields("supports.drive_end", "supports.far_end"),
			Message: fmt.Sprintf("buckling end condition %s is stiffer than the supports (%s and %s); if something else holds the shaft, declare buckling_reason",
				ends.Text, v.Word(judge.Field("supports.drive_end")), v.Word(judge.Field("supports.far_end")))}}
	},
}
