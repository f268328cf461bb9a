package rules

import (
	"trammel/rules/judge"
)

var greaseAccess = judge.Rule{
	Name:     "grease-access",
	Question: "Can the nut be greased at all?",
	Doc: `A nut without a grease port can only be greased along the shaft, by hand or brush,
with the machine open. If that is planned, declare it in
lubrication.along_shaft.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Facts:    judge.Fields("nut.grease_port"),
	Reasons: []judge.Reason{
		{Words: "greasing along the shaft is declared", If: func(v *judge.View) bool { return v.Word(judge.Field("lubrication.along_shaft")) != "" }},
		dryRunning,
	},
	Check: func(v *judge.View) []judge.Fault {
		if v.Flag(judge.Field("nut.grease_port")) {
			return nil
		}
		return []judge.Fault{{At: judge.Field("nut.grease_port"), Move: -1,
			Message: "nut has no grease port and no other lubrication path is declared",
			Fixes:   []judge.Draft{judge.Remark("a nut with grease port"), judge.Remark("along_shaft declared under lubrication")}}}
	},
}
