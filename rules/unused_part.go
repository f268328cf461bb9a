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

func (p *PartFacts) unused() Finding {
	return Finding{Rule: unusedPart.Name, Severity: p.Unused, Place: p.Place, Use: math.NaN(), Cause: p.Kind + "." + p.Name,
		Message: fmt.Sprintf("no axis uses %s.%s", p.Kind, p.Name)}
}

// PartFacts are what the rules about the parts of a whole tree ask of one part.
type PartFacts struct {
	Kind, Name string
	Place      spec.Place
	Unused     Severity // of unused-part where it stands
	Similar    Severity // of variety where it stands
	Sort       string   // of a screw: what two that could be one have in common; "" where that is not known
	Rating     float64  // of a screw: the dynamic rating in N
	RatingText string   // as declared
}

// factsOf gathers the facts of the parts of a folder.
func factsOf(j *Judge, f *spec.Folder) []PartFacts {
	var out []PartFacts
	for _, p := range f.Parts() {
		set := j.policies.of(f).settings
		facts := PartFacts{Kind: p.Kind, Name: p.Name, Place: p.Place, Unused: set[unusedPart.index()].Severity, Similar: set[variety.index()].Severity}
		if p.Kind == "screw" {
			facts.screw(p)
		}
		out = append(out, facts)
	}
	return out
}

// AcrossParts judges the parts of a whole tree. used says of the place of a
// part whether an axis refers to it.
func AcrossParts(parts []PartFacts, used func(spec.Place) bool) []Finding {
	var out []Finding
	bySort := map[string][]*PartFacts{}
	for i := range parts {
		switch p := &parts[i]; {
		case !used(p.Place):
			if p.Unused != Off {
				out = append(out, p.unused())
			}
		case p.Sort != "":
			bySort[p.Sort] = append(bySort[p.Sort], p)
		}
	}
	for _, list := range bySort {
		out = append(out, similar(list)...)
	}
	return out
}
