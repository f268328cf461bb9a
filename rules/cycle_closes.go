package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var _ = register(Rule{
	Name:     "cycle-closes",
	Question: "Does the cycle return to its start and stay within the stroke?",
	Doc: `The moves of a cycle repeat for years. Their signed distances must add up to zero,
or the axis walks away; and the outermost positions must not lie further apart than
the stroke. A micrometre is allowed for rounding. Distances count at their middle
values here: a tolerance of a distance moves both ends together.`,
	Source:   "kinematics",
	Severity: Error,
	Tests: []Test{
		{
			Limit:   Limit{Name: "gap", Doc: "distance between start and end of a cycle", Kind: unit.Length, Sense: AtMost, Default: 1e-6},
			Value:   m.CycleOffset,
			Needs:   quantities(m.NetDistance),
			Nominal: true,
			Say: func(v *View, _ float64) string {
				return fmt.Sprintf("the cycle does not close: its moves add up to %s instead of zero, so each cycle ends %s from where it began",
					unit.FormatExact(v.V(m.NetDistance), unit.Length, v.Sys), unit.FormatExact(v.V(m.CycleOffset), unit.Length, v.Sys))
			},
			At: func(v *View) (*spec.Field, int) { return field("motion.move.distance"), len(v.Axis.Moves) - 1 },
		},
		{
			Limit:   Limit{Name: "reach", Doc: "travel between the outermost positions over the stroke", Kind: unit.Percentage, Sense: AtMost, Default: 1},
			Value:   m.Reach,
			Against: m.Stroke,
			Nominal: true,
			Say: func(v *View, _ float64) string {
				return fmt.Sprintf("the moves reach over %s; the stroke is %s", v.F(m.Reach), v.F(m.Stroke))
			},
			At:     at("motion.stroke"),
			Levers: levers(moreStroke),
		},
	},
})
