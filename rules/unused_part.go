package rules

import (
	"fmt"
	"math"

	"trammel/spec"
)

var unusedPart = register(Rule{
	Name:     "unused-part",
	Question: "Is every declared part used by some axis?",
	Doc: `A part no axis uses is often a leftover, or a reference with a slip of the pen.
It is looked for only when a whole tree is checked, and switched off by default, since
a library of standard parts is meant to hold more than is in use: switch it on where
parts files belong to one machine.`,
	Source:   "common practice, no source",
	Severity: Off,
	Applies:  func(*View) string { return "it is asked of parts, not of axes" },
})

func unused(j *Judge, f *spec.Folder, p *spec.Part) []Finding {
	s := j.policies.of(f).settings[unusedPart.index()].Severity
	if s == Off {
		return nil
	}
	return []Finding{{Rule: unusedPart.Name, Severity: s, Place: p.Place, Use: math.NaN(), Cause: p.Kind + "." + p.Name,
		Message: fmt.Sprintf("no axis uses %s.%s", p.Kind, p.Name)}}
}
