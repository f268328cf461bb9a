package rules

import (
	"trammel/rules/judge"
	m "trammel/rules/mechanics"
)

var safetyNut = judge.Rule{
	Name:     "safety-nut",
	Question: "If people may be below, is the load held when the nut fails?",
	Doc: `A brake holds the screw, not the load: when the balls are lost or the thread is
worn through, the nut runs down the shaft past any brake. Where people may be below a load that
is lifted (load.people_below), a second nut that carries without balls (nut.safety_nut), or
another device that catches the load, is common practice, and in many places required by law.
This is a note: the machine's risk assessment and local rules decide what is needed (ISO 12100;
EN 1570-1 for lifting tables, among others). Nothing declared here makes it safe to be under a
load.`,
	Source:   "common practice, no source; ISO 12100",
	Caution:  "no answer here makes a place under a load safe; local rules and the machine's risk assessment decide",
	Severity: judge.Note,
	Reasons:  []judge.Reason{{Words: "the axis is horizontal", If: func(v *judge.View) bool { return v.V(m.Incline) == 0 }}},
	Check: func(v *judge.View) []judge.Fault {
		below := judge.Field("load.people_below")
		if _, ok := v.Calc.Value(m.Incline); !ok || !v.Flag(below) || v.Flag(judge.Field("nut.safety_nut")) {
			return nil
		}
		return []judge.Fault{{At: below, Move: -1, Inputs: judge.Fields("nut.safety_nut"),
			Message: "people may be below a load that hangs on one nut: a safety nut or another catch is usual; risk assessment and local rules decide"}}
	},
	Wants: judge.Fields("load.people_below"),
}
