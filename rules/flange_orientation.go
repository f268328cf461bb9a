package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
)

var flangeOrientation = judge.Rule{
	Name:     "flange-orientation",
	Question: "Does the nut's flange face the fixed end?",
	Doc: `The flange is usually turned toward the fixed end, so that the thrust takes the short
way from flange to thrust bearing and the nut can be mounted from the free side. Where the
layout requires the other direction, give the reason in flange_reason. With both ends fixed, or
none, the rule does not apply.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Facts:    judge.Fields("supports.drive_end", "supports.far_end", "nut.flange_toward"),
	Reasons: []judge.Reason{
		{Words: "both ends are fixed", If: func(v *judge.View) bool { return endsFixed(v) == 2 }},
		{Words: "no end is fixed", If: func(v *judge.View) bool { return endsFixed(v) == 0 }},
	},
	Check: func(v *judge.View) []judge.Fault {
		faces := v.Word(judge.Field("nut.flange_toward"))
		if faces == "fixed" || v.Word(judge.Field("nut.flange_reason")) != "" {
			return nil
		}
		if drive, far := v.Word(judge.Field("supports.drive_end")), v.Word(judge.Field("supports.far_end")); faces != drive && faces != far {
			return []judge.Fault{{
				At: judge.Field("nut.flange_toward"), Move: -1,
				Message: fmt.Sprintf("flange is declared to face the %s end, but the ends are %s and %s", faces, drive, far),
				Inputs:  judge.Fields("supports.drive_end", "supports.far_end"),
			}}
		}
		fixed := "driven"
		if v.V(m.FarEnd) == m.FixedEnd {
			fixed = "far"
		}
		return []judge.Fault{{
			At: judge.Field("nut.flange_toward"), Move: -1,
			Message: fmt.Sprintf("flange faces the %s end; the fixed end is the %s end", faces, fixed),
			Inputs:  judge.Fields("supports.drive_end", "supports.far_end"),
			Fixes:   []judge.Draft{judge.Change("flange toward the fixed end", "nut.flange_toward", "fixed"), judge.Remark("a flange_reason that says why not")},
		}}
	},
}

// endsFixed counts the ends that are declared fixed, -1 where one is not known.
func endsFixed(v *judge.View) int {
	n := 0
	for _, f := range judge.Fields("supports.drive_end", "supports.far_end") {
		switch v.Word(f) {
		case "":
			return -1
		case "fixed":
			n++
		}
	}
	return n
}
