package rules

import (
	"fmt"
	"trammel/rules/judge"
)

var waiverUnneeded = judge.Rule{
	Name:     "waiver-unneeded",
	Question: "Does every waiver accept something?",
	Doc: `A waiver whose rule was judged and passed, or does not apply, has outlived its
reason. Remove it, so that it does not hide a later fault. A waiver is called
unneeded only where its rule could be judged.`,
	Source:   "common practice, no source",
	Severity: judge.Note,
	Reasons:  []judge.Reason{noWaiver},
	Waiver: func(w *judge.WaiverView) string {
		if w.Expired || w.Accepts || !w.Judged {
			return ""
		}
		return fmt.Sprintf("waiver of %s is not needed; remove it", w.Rule)
	},
}
