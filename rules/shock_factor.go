package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// leastFactor are the lower ends of the usual load factors of a word.
var leastFactor = []float64{m.Smooth: 1, m.Ordinary: 1.2, m.Shocks: 1.5}

var shockFactor = judge.Rule{
	Name:     "shock-factor",
	Question: "Does the load factor of the axis suit the shocks declared for its machine?",
	Doc: `The machine declares the kind of load (duty.shock); an axis may declare a load
factor of its own, which takes precedence. A factor below what is usual for the word (smooth 1.0
to 1.2, ordinary 1.2 to 1.5, shocks 1.5 to 3.0) makes the axis an exception, and its computed
life grows with the third power of the reduction. A factor above is cautious and passes. Where
the axis is such an exception, declare duty.shock in the axis.`,
	Source:   "common practice, no source: the ranges of handbooks and data sheets",
	Severity: judge.Warning,
	Fit:      true,
	Reasons: []judge.Reason{
		{Words: "the axis declares no load factor of its own", If: func(v *judge.View) bool {
			own := v.Value(judge.Field("duty.load_factor"))
			return own == nil || own.Origin != spec.Own
		}},
		{Words: "its machine declares no shock", If: func(v *judge.View) bool {
			machine := v.Axis.OfMachine(judge.Field("duty.shock"))
			return machine == nil || machine.Bad
		}},
		{Words: "the axis declares its own shock", If: func(v *judge.View) bool { return v.Value(judge.Field("duty.shock")) != nil }},
	},
	Check: func(v *judge.View) []judge.Fault {
		own, machine := v.Value(judge.Field("duty.load_factor")), v.Axis.OfMachine(judge.Field("duty.shock"))
		if own == nil || machine == nil || machine.Bad || !judge.Above(leastFactor[machine.Word], own.Num.Low) {
			return nil
		}
		is, least := v.Apart(own.Num.Low, leastFactor[machine.Word], unit.None)
		return []judge.Fault{{At: own.Field, Move: -1, Compared: judge.Compared{Value: own.Num.Low, Limit: leastFactor[machine.Word], Kind: unit.None, Sense: judge.AtLeast},
			Message: fmt.Sprintf("load factor %s is below %s, the usual minimum for shock %q of the machine", is, least, machine.Text),
			Related: []spec.Related{{Place: machine.Place, Message: "shock of the machine is declared here"}}}}
	},
}
