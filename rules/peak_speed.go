package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// shortMove is the move that misses its declared speed most.
func shortMove(v *judge.View) (*spec.Field, int) {
	at, worst := 0, 2.0
	reached, asked := v.Calc.Series(m.MovePeakSpeed), v.Calc.Series(m.MoveSpeed)
	for i := range reached {
		if r := reached[i] / asked[i]; r < worst {
			at, worst = i, r
		}
	}
	return judge.Field("motion.move.speed"), at
}

var peakSpeed = judge.Rule{
	Name:     "peak-speed",
	Question: "Does every move reach the speed it declares?",
	Doc: `A move too short for its ramps never reaches its declared speed: its profile is a
triangle. That is no fault of the screw, and everything is computed with the speed
really reached, but the declared cycle time is usually built on the declared speed.
Set the limit lower where triangles are intended.`,
	Source:   "kinematics of uniform acceleration",
	Severity: judge.Warning,
	Fit:      true,
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "reached over declared speed", Kind: unit.Percentage, Sense: judge.AtLeast, Default: 1},
		Value: m.ShortestPeak,
		Needs: quantities(m.MovePeakSpeed),
		Say: func(v *judge.View, _ float64) string {
			_, i := shortMove(v)
			return fmt.Sprintf("move %s reaches %s, not the declared %s: %s is too short for its ramps", v.Axis.Moves[i].Name,
				v.Show(v.Calc.Series(m.MovePeakSpeed)[i], unit.Speed), v.Show(v.Calc.Series(m.MoveSpeed)[i], unit.Speed),
				v.Show(math.Abs(v.Calc.Series(m.MoveDistance)[i]), unit.Length))
		},
		At:     shortMove,
		Inputs: quantities(m.MoveDistance, m.MoveRamp, m.MoveRampUp, m.MoveRampDown, m.MoveAcceleration, m.MoveDeceleration),
		Of: func(v *judge.View, i int, limit float64) float64 {
			return limit * v.Calc.Series(m.MoveSpeed)[i] / v.Calc.Series(m.MovePeakSpeed)[i]
		},
		Parameters: parameters(slower, shorterRamp, sharper),
	}},
}
