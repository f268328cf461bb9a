package rules

import "fmt"

var waiverExpired = Rule{
	Name:     "waiver-expired",
	Question: "Is every waiver still in date?",
	Doc: `A waiver accepts the findings of one rule for an axis until a day. From the
day after, it accepts nothing any more: the findings stand again and the waiver
is reported, so that nobody believes it still holds. Decide again: mend the
axis, or give a new day and reason.`,
	Source:   "common practice, no source",
	Severity: Warning,
	Reasons:  []Reason{noWaiver},
	Waiver: func(w *WaiverView) string {
		if !w.Expired {
			return ""
		}
		return fmt.Sprintf("the waiver of %s held until %s; it accepts nothing any more", w.Rule, w.Until.Text)
	},
}

var noWaiver = Reason{"no waiver is declared", func(v *View) bool { return len(v.Axis.Waivers) == 0 }}
