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

// screw fills in what the rule asks of a screw part.
func (f *PartFacts) screw(p *spec.Part) {
	d, lead, ca, process := p.Get("nominal_diameter"), p.Get("lead"), p.Get("dynamic_rating"), p.Get("process")
	if d == nil || lead == nil || ca == nil || process == nil || d.Bad || lead.Bad || ca.Bad || process.Bad {
		return
	}
	f.Sort = fmt.Sprintf("%.9f %.9f %s", d.Num.Nominal, lead.Num.Nominal, process.Text)
	f.Rating, f.RatingText = ca.Num.Nominal, ca.Text
}

// similar finds screw parts in use, of one sort, that could be one.
func similar(list []*PartFacts) []Finding {
	var out []Finding
	sort.Slice(list, func(i, k int) bool { return spec.ComparePlaces(list[i].Place, list[k].Place) < 0 })
	for i := 1; i < len(list); i++ {
		a, b := list[i-1], list[i]
		if b.Similar == Off || math.Abs(a.Rating-b.Rating) > 0.15*math.Max(a.Rating, b.Rating) {
			continue
		}
		out = append(out, Finding{
			Rule: variety.Name, Severity: b.Similar, Place: b.Place, Use: math.NaN(), Cause: "screw." + b.Name,
			Message: fmt.Sprintf("screw.%s hardly differs from screw.%s: same diameter, lead and process, dynamic ratings %s and %s; one part may do",
				b.Name, a.Name, a.RatingText, b.RatingText),
			Related: []spec.Related{{Place: a.Place, Message: "the other one"}},
		})
	}
	return out
}
