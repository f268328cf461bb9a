package rules

import (
	"fmt"
	"math"
	"strings"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// closing drafts what closes a cycle: the last move whose sign was forgotten, or
// else the last move as long as it must be.
func closing(v *judge.View) []judge.Draft {
	net, last := v.V(m.NetDistance), len(v.Axis.Moves)-1
	if !(math.Abs(net) > 1e-6) {
		return nil
	}
	distance := judge.Field("motion.move.distance")
	for i := last; i >= 0; i-- {
		have, d := v.Axis.Moves[i].Get(distance), v.Calc.Series(m.MoveDistance)[i]
		if have == nil || have.Bad || math.Abs(net-2*d) > 1e-6 {
			continue
		}
		text, negative := strings.CutPrefix(have.Text, "-")
		if !negative {
			text = "-" + text
		}
		return []judge.Draft{{Words: fmt.Sprintf("distance of move %s = %s", v.Axis.Moves[i].Name, text), Lines: []spec.Line{{Field: distance, Move: i, Text: text}}}}
	}
	have, d := v.Axis.Moves[last].Get(distance), v.Calc.Series(m.MoveDistance)[last]-net
	if have == nil || have.Bad {
		return nil
	}
	text, x, ok := judge.WriteOut(d, unit.Length, unit.UnitOf(have.Text), 9, math.Round)
	if !ok || math.Abs(x-d) > 1e-7 {
		return nil
	}
	return []judge.Draft{{Words: fmt.Sprintf("distance of move %s = %s", v.Axis.Moves[last].Name, text), Lines: []spec.Line{{Field: distance, Move: last, Text: text}}}}
}

var cycleCloses = judge.Rule{
	Name:     "cycle-closes",
	Question: "Does the cycle return to its start and stay within the stroke?",
	Doc: `The moves of a cycle repeat for years. Their signed distances must add up to zero, or
the axis drifts away; and the outermost positions must not be further apart than the stroke. A
micrometre is allowed for rounding. Nominal distances are used: a tolerance of a distance moves
both ends together.`,
	Source:   "kinematics",
	Severity: judge.Error,
	Fit:      true,
	Tests: []judge.Test{
		{
			Limit:   judge.Limit{Name: "gap", Doc: "distance between start and end of a cycle", Kind: unit.Length, Sense: judge.AtMost, Default: 1e-6},
			Value:   m.CycleOffset,
			Needs:   quantities(m.NetDistance),
			Nominal: true,
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("moves add up to %s instead of 0: each cycle ends %s from its start",
					unit.FormatExact(v.V(m.NetDistance), unit.Length, v.Units()), unit.FormatExact(v.V(m.CycleOffset), unit.Length, v.Units()))
			},
			At: func(v *judge.View) (*spec.Field, int) {
				return judge.Field("motion.move.distance"), len(v.Axis.Moves) - 1
			},
			Fixes: closing,
		},
		{
			Limit:   judge.Limit{Name: "reach", Doc: "travel between the outermost positions over the stroke", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
			Value:   m.Reach,
			Against: m.Stroke,
			Nominal: true,
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("moves need a travel of %s; the stroke is %s", v.F(m.Reach), v.F(m.Stroke))
			},
			At:         at("motion.stroke"),
			Parameters: parameters(moreStroke),
			Fixes:      closing,
		},
	},
}
