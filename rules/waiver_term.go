package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var waiverTerm = judge.Rule{
	Name:     "waiver-term",
	Question: "Does every waiver end within the permitted term?",
	Doc: `Nobody looks again at a waiver that ends in twenty years. The time from today to its last day
is compared. Let a waiver end when somebody will look at the axis again, and renew it then. The
limit ` + "`term`" + ` is the longest term your house permits.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Reasons:  []judge.Reason{noWaiver},
	Limits:   []judge.Limit{{Name: "term", Doc: "time from today to the last day of a waiver", Kind: unit.Span, Sense: judge.AtMost, Default: 2 * m.Year}},
	Waiver: func(w *judge.WaiverView) string {
		term := w.Limit("term")
		if !judge.Above(w.Ahead, term) {
			return ""
		}
		const day = 86400
		return fmt.Sprintf("waiver of %s ends on %s, %.0f days from today; maximum %.0f days", w.Rule, w.Until.Text, w.Ahead/day, math.Floor(term/day))
	},
}
