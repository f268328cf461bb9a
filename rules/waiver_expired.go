package rules

import (
	"fmt"
	"trammel/rules/judge"
)

var waiverExpired = judge.Rule{
	Name:     "waiver-expired",
	Question: "Is every waiver still in date?",
	Doc: `A waiver accepts the findings of one rule for an axis until a day. From the
day after, it accepts nothing any more: the findings stand again and the waiver
is reported, so that nobody believes it still holds. Decide again: mend the
axis, or give a new day and reason.`,
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
