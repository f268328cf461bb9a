package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var shortStroke = judge.Rule{
	Name:     "short-stroke",
	Question: "Do the balls roll far enough to renew their grease film, in the cycle and in each move?",
	Doc: `Where the travel of the cycle is shorter than the nut, the same balls oscillate on the
same spots: the grease film starves and the raceway marks (false brinelling), long before the
computed life. Full strokes now and then, or a shorter nut, help.

A long stroke in the same cycle does not undo it: two moves to and fro that both stay below one
turn of the screw rock the same balls on the same spot, once a cycle or more. Each move is
compared with the one before it, the first with the last. Moves that continue in one direction
leave the spot and are not judged.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Fit:      true,
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "travel of the cycle over nut length", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
		Value: m.StrokeToNut,
		Needs: quantities(m.Reach),
		Say: func(v *judge.View, _ float64) string {
			return fmt.Sprintf("travel %s is shorter than the nut (%s): balls do not recirculate; plan a full stroke at intervals", v.F(m.Reach), v.F(m.NutLength))
		},
		At:     at("motion.stroke"),
		Inputs: quantities(m.NutLength),
	}, {
		Limit:   judge.Limit{Name: "turns", Doc: "revolutions of the shortest back-and-forth movement in the cycle", Kind: unit.Revolutions, Sense: judge.AtLeast, Default: 2 * math.Pi},
		Value:   m.RockingTurns,
		Needs:   quantities(m.Reach, m.MoveDistance, m.CyclesPerYear),
		Also:    quantities(m.StrokeToNut),
		Reasons: []judge.Reason{{Words: "the whole cycle is shorter than the nut", If: func(v *judge.View) bool { return v.V(m.StrokeToNut) < 1 }}},
		Say: func(v *judge.View, limit float64) string {
			i := rockingMove(v)
			return fmt.Sprintf("moves %s and %s oscillate over %s turns at one spot, %s times a year; less than %s turn marks the raceway: plan a stroke of several turns between them",
				v.Axis.Moves[before(v, i)].Name, v.Axis.Moves[i].Name, v.F(m.RockingTurns), v.F(m.CyclesPerYear), v.Show(limit, unit.Revolutions))
		},
		At:     func(v *judge.View) (*spec.Field, int) { return judge.Field("motion.move.distance"), rockingMove(v) },
		Inputs: quantities(m.Lead, m.HoursPerDay, m.DaysPerYear),
	}},
}

// before is the move before move i that goes somewhere, the last one before the first.
func before(v *judge.View, i int) int {
	s := v.Calc.Series(m.MoveDistance)
	for k := range s {
		if j := (i - 1 - k + 2*len(s)) % len(s); s[j] != 0 {
			return j
		}
	}
	return i
}

// rockingMove is the second move of the shortest to-and-fro of the cycle, the later one
// where there are several.
func rockingMove(v *judge.View) int {
	s, at := v.Calc.Series(m.MoveDistance), 0
	least := math.Inf(1)
	for i, d := range s {
		if b := s[before(v, i)]; d*b < 0 && math.Max(math.Abs(d), math.Abs(b)) <= least {
			at, least = i, math.Max(math.Abs(d), math.Abs(b))
		}
	}
	return at
}
