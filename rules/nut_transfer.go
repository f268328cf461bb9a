package rules

import (
	"trammel/rules/judge"
)

var nutTransfer = judge.Rule{
	Name:     "nut-transfer",
	Question: "Is a transfer sleeve specified where the nut is removed from the shaft?",
	Doc: `A ball nut that leaves its shaft without a sleeve loses its balls. Where the nut comes
off (nut.comes_off: ends machined after assembly, nut changed in service) the spec must
include a transfer sleeve.`,
	Source:   "common practice, no source",
	Caution:  "hold the carriage by something else before its nut leaves the shaft",
	Severity: judge.Warning,
	Reasons:  []judge.Reason{{Words: "the nut is not declared to come off the shaft", If: func(v *judge.View) bool { return !v.Flag(judge.Field("nut.comes_off")) }}},
	Check: func(v *judge.View) []judge.Fault {
		if v.Flag(judge.Field("nut.transfer_sleeve")) {
			return nil
		}
		return []judge.Fault{{At: judge.Field("nut.comes_off"), Move: -1, Message: "nut is removed from the shaft but no transfer sleeve is specified: the balls will fall out",
			Fixes: []judge.Draft{judge.Declare(v, "a transfer sleeve", "nut.transfer_sleeve", "true")}}}
	},
}
