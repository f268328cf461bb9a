package rules

import (
	"fmt"
	"math"
	"sort"

	"trammel/spec"
)

var variety = register(Rule{
	Name:     "variety",
	Question: "Could screws that hardly differ be one part?",
	Doc: `Two screw parts in use with the same nominal diameter, lead and process, whose dynamic
ratings lie within 15 % of each other, are often one screw under two names, or two where
one would do. It is looked for only when a whole tree is checked. A note at the later
part, naming the earlier.`,
	Source:   "common practice, no source",
	Severity: Note,
	Applies:  func(*View) string { return "it is asked of parts, not of axes" },
})

// similar finds screw parts in use that could be one.
func similar(j *Judge, folders []*spec.Folder) []Finding {
	type screw struct {
		part   *spec.Part
		folder *spec.Folder
		rating float64
	}
	byKind := map[string][]screw{}
	for _, f := range folders {
		for _, p := range f.Parts() {
			if p.Kind != "screw" || !p.Used() {
				continue
			}
			d, lead, ca, process := p.Get("nominal_diameter"), p.Get("lead"), p.Get("dynamic_rating"), p.Get("process")
			if d == nil || lead == nil || ca == nil || process == nil || d.Bad || lead.Bad || ca.Bad || process.Bad {
				continue
			}
			key := fmt.Sprintf("%.9f %.9f %s", d.Num.Nominal, lead.Num.Nominal, process.Text)
			byKind[key] = append(byKind[key], screw{p, f, ca.Num.Nominal})
		}
	}
	var out []Finding
	for _, list := range byKind {
		sort.Slice(list, func(i, k int) bool { return spec.ComparePlaces(list[i].part.Place, list[k].part.Place) < 0 })
		for i := 1; i < len(list); i++ {
			s := j.policies.of(list[i].folder).settings[variety.index()].Severity
			a, b := list[i-1], list[i]
			if s == Off || math.Abs(a.rating-b.rating) > 0.15*math.Max(a.rating, b.rating) {
				continue
			}
			out = append(out, Finding{
				Rule: variety.Name, Severity: s, Place: b.part.Place, Use: math.NaN(), Cause: "screw." + b.part.Name,
				Message: fmt.Sprintf("screw.%s hardly differs from screw.%s: same diameter, lead and process, dynamic ratings %s and %s; one part may do",
					b.part.Name, a.part.Name, a.part.Get("dynamic_rating").Text, b.part.Get("dynamic_rating").Text),
				Related: []spec.Related{{Place: a.part.Place, Message: "the other one"}},
			})
		}
	}
	return out
}
