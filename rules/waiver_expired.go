package rules

import (
	"fmt"
	"trammel/rules/judge"
)

var waiverExpired = judge.Rule{
	Name:     "waiver-expired",
	Question: "Is every waiver still in date?",
	Doc: `A waiver accepts the findings of one rule for an axis until a day. From the day
after, it accepts nothing: the findings count again and the waiver is reported. Fix the axis, or
give a new date and reason.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Reasons:  []judge.Reason{noWaiver},
	Waiver: func(w *judge.WaiverView) string {
		if !w.Expired {
			return ""
		}
		return fmt.Sprintf("waiver of %s expired on %s", w.Rule, w.Until.Text)
	},
}

var noWaiver = judge.Reason{Words: "no waiver is declared", If: func(v *judge.View) bool { return len(v.Axis.Waivers) == 0 }}
