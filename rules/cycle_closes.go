package rules

import (
	"fmt"
	"math"
	"strings"

	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// closing drafts what closes a cycle: the last move whose sign was forgotten, or
// else the last move as long as it must be.
func closing(v *View) []Draft {
	net, last := v.V(m.NetDistance), len(v.Axis.Moves)-1
	if !(math.Abs(net) > 1e-6) {
		return nil
	}
	distance := field("motion.move.distance")
	for i := last; i >= 0; i-- {
		have, d := v.Axis.Moves[i].Get(distance), v.Calc.Series(m.MoveDistance)[i]
		if have == nil || have.Bad || math.Abs(net-2*d) > 1e-6 {
			continue
		}
		text, negative := strings.CutPrefix(have.Text, "-")
		if !negative {
			text = "-" + text
		}
		return []Draft{{fmt.Sprintf("distance of move %s = %s", v.Axis.Moves[i].Name, text), []spec.Line{{Field: distance, Move: i, Text: text}}}}
	}
	have, d := v.Axis.Moves[last].Get(distance), v.Calc.Series(m.MoveDistance)[last]-net
	if have == nil || have.Bad {
		return nil
	}
	text, x, ok := writeOut(d, unit.Length, unit.UnitOf(have.Text), 9, math.Round)
	if !ok || math.Abs(x-d) > 1e-7 {
		return nil
	}
	return []Draft{{fmt.Sprintf("distance of move %s = %s", v.Axis.Moves[last].Name, text), []spec.Line{{Field: distance, Move: last, Text: text}}}}
}

var cycleCloses = Rule{
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
			At:    func(v *View) (*spec.Field, int) { return field("motion.move.distance"), len(v.Axis.Moves) - 1 },
			Fixes: closing,
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
			Fixes:  closing,
		},
	},
}
