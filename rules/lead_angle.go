package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var leadAngle = judge.Rule{
	Name:     "lead-angle",
	Question: "Is the lead angle of a screw in the usual range?",
	Doc: `The lead angle of real ball screws keeps to a range: below about 1° the turns of balls
find no room in a nut of useful size, above about 35° (a lead of more than twice the diameter)
no nut returns its balls. A lead angle outside is more often a lead in the wrong unit or a
misplaced decimal point than a special screw. The angle is taken on the ball circle, or on the
nominal diameter where none is given.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Fit:      true,
	Limits: []judge.Limit{
		{Name: "least", Doc: "lead angle", Kind: unit.Angle, Sense: judge.AtLeast, Default: 0.017453292519943295},
		{Name: "most", Doc: "lead angle", Kind: unit.Angle, Sense: judge.AtMost, Default: 35 * 0.017453292519943295},
	},
	Given: []string{"lead", "nominal_diameter"},
	Part: func(p *judge.PartView) []judge.PartFault {
		d, from := ballCircle(p)
		angle := m.AngleOfLead(p.Num("lead"), d)
		least, most := p.Limit("least"), p.Limit("most")
		f := judge.PartFault{At: "lead", Inputs: []string{from}}
		what := func(than string, limit float64) string {
			is, usual := p.Apart(angle, limit, unit.Angle)
			return fmt.Sprintf("%s of %s gives a lead angle of %s; usual %s %s", p.Say("lead"), p.Ref(), is, than, usual)
		}
		switch {
		case judge.Above(least, angle):
			f.Limit, f.Message = "least", what("minimum", least)
			f.Compared = judge.Compared{Value: angle, Limit: least, Kind: unit.Angle, Sense: judge.AtLeast}
		case judge.Above(angle, most):
			f.Limit, f.Message = "most", what("maximum", most)
			f.Compared = judge.Compared{Value: angle, Limit: most, Kind: unit.Angle, Sense: judge.AtMost}
		default:
			return nil
		}
		return []judge.PartFault{f}
	},
}
