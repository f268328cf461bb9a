package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	"trammel/spec"
)

var variety = judge.Rule{
	Name:     "variety",
	Question: "Could nearly equal screws be one part?",
	Doc: `Two screw parts in use with the same nominal diameter, lead and process, whose dynamic
ratings lie within 15 % of each other, are often one screw under two names, or two where one
would do. The rule runs only when a whole tree is checked. The note is at the later part and
names the earlier.`,
	Source:     "common practice, no source",
	Severity:   judge.Note,
	PartFields: []string{"nominal_diameter", "lead", "dynamic_rating", "process"},
	Parts: func(all []*judge.PartFacts) []judge.PartsFault {
		var out []judge.PartsFault
		before := map[string]*judge.PartFacts{} // the one before of each size
		for _, b := range all {
			if b.Kind != "screw" || !b.Used || !b.Has("nominal_diameter", "lead", "dynamic_rating", "process") {
				continue
			}
			key := fmt.Sprintf("%.9f %.9f %s", b.Values["nominal_diameter"].Number, b.Values["lead"].Number, b.Values["process"].Text)
			a := before[key]
			before[key] = b
			if a == nil {
				continue
			}
			x, y := a.Values["dynamic_rating"], b.Values["dynamic_rating"]
			if math.Abs(x.Number-y.Number) > 0.15*math.Max(x.Number, y.Number) {
				continue
			}
			out = append(out, judge.PartsFault{Part: b,
				Message: fmt.Sprintf("%s and %s are nearly the same (%s × %s, %s, dynamic rating %s and %s): one part may do",
					a.Ref, b.Ref, b.Values["nominal_diameter"].Text, b.Values["lead"].Text, b.Values["process"].Text, x.Text, y.Text),
				Related: []spec.Related{{Place: a.Place, Message: "the earlier part"}},
			})
		}
		return out
	},
}
