package rules

import (
	"fmt"
	"math"

	"trammel/spec"
)

var _ = register(Rule{
	Name:     "variety",
	Question: "Could screws that hardly differ be one part?",
	Doc: `Two screw parts in use with the same nominal diameter, lead and process, whose dynamic
ratings lie within 15 % of each other, are often one screw under two names, or two where
one would do. It is looked for only when a whole tree is checked. A note at the later
part, naming the earlier.`,
	Source:   "common practice, no source",
	Severity: Note,
	Parts: func(all []*PartView) []PartFault {
		var out []PartFault
		before := map[string]*PartView{} // the one before of each size
		for _, b := range all {
			if b.Kind != "screw" || !b.Used() || !b.Has("nominal_diameter", "lead", "dynamic_rating", "process") {
				continue
			}
			key := fmt.Sprintf("%.9f %.9f %s", b.Num("nominal_diameter"), b.Num("lead"), b.Get("process").Text)
			a := before[key]
			before[key] = b
			if a == nil {
				continue
			}
			x, y := a.Num("dynamic_rating"), b.Num("dynamic_rating")
			if math.Abs(x-y) > 0.15*math.Max(x, y) {
				continue
			}
			out = append(out, PartFault{Part: b,
				Message: fmt.Sprintf("%s hardly differs from %s: same diameter, lead and process, dynamic ratings %s and %s; one part may do",
					b.Ref(), a.Ref(), a.Text("dynamic_rating"), b.Text("dynamic_rating")),
				Related: []spec.Related{{Place: a.Place, Message: "the other one"}},
			})
		}
		return out
	},
})
