package rules

import (
	"trammel/rules/judge"
)

var unusedPart = judge.Rule{
	Name:     "unused-part",
	Question: "Is every declared part used by some axis?",
	Doc: `A part that no axis uses is often a leftover, or the reference has a typing error. The
rule runs only when a whole tree is checked, and is off by default, since a library of standard
parts is meant to hold more than is in use: switch it on where parts files belong to one
machine.`,
	Source:   "common practice, no source",
	Severity: judge.Off,
	Parts: func(all []*judge.PartFacts) []judge.PartsFault {
		var out []judge.PartsFault
		for _, p := range all {
			if !p.Used {
				out = append(out, judge.PartsFault{Part: p, Message: "no axis uses " + p.Ref})
			}
		}
		return out
	},
}
