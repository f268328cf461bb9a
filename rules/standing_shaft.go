package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

// shaftTurns is for questions about a shaft that stands still.
var shaftTurns = judge.Reason{Words: "the shaft turns", If: func(v *judge.View) bool { return v.V(m.Turning) == m.ShaftTurns }}

var standingShaft = judge.Rule{
	Name:     "standing-shaft",
	Question: "Is a fixed shaft stiff enough for the nut that turns on it?",
	Doc: `Where the nut turns the shaft cannot whip, but it still bends. The nut shakes it once a
turn: a move should not run for long near the natural frequency of bending of the shaft, which
equals its critical speed, thermal push included. Far above it is as good as far below; ramps
pass through it quickly. The nut steadies the shaft and moves along it, which shifts the
frequency: 80 to 125 % counts as near.

A horizontal shaft sags under its own weight, and the nut meets it at a slope. Where the nut is
held square by its bearing a slope above 1 in 2000 loads the balls from the side; the thinner
the shaft, the less it takes to straighten it. The slope is largest at or near the ends of the
span. A stretch lessens the sag; that is not counted. Consider a support under a long shaft, or
a nut that may tilt.`,
	Source:   "Euler–Bernoulli beam, beam tables; 80 to 125 % and 1/2000: common practice, no source",
	Severity: judge.Note,
	Reasons:  []judge.Reason{shaftTurns},
	Check: func(v *judge.View) []judge.Fault {
		var out []judge.Fault
		for i, top := range v.Calc.Series(m.MovePeakSpeed) {
			speed := m.ScrewSpeed(top, v.V(m.Lead))
			if share := speed / v.V(m.Critical); judge.Above(share, 0.8) && judge.Above(1.25, share) {
				out = append(out, judge.Fault{At: judge.Field("motion.move.speed"), Move: i, Inputs: judge.Fields("supports.span", "screw.root_diameter", "screw.lead"),
					Message: fmt.Sprintf("nut speed %s is %s of the natural frequency %s of the fixed shaft; keep out of 80 to 125 %%", unit.Format(speed, unit.RotationSpeed, v.Units()), judge.Percent(share), v.F(m.Critical))})
			}
		}
		return out
	},
	Tests: []judge.Test{
		{
			Limit: judge.Limit{Name: "slope", Doc: "slope of the shaft under its own weight", Kind: unit.None, Sense: judge.AtMost, Default: 1.0 / 2000},
			Value: m.ShaftSlope,
			Needs: quantities(m.ShaftSag, m.Critical, m.MaxRotation),
			Also:  quantities(m.Turning),
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("shaft sags %s over %s: slope 1:%.0f, limit 1:%.0f", v.F(m.ShaftSag), v.F(m.Span), 1/v.V(m.ShaftSlope), 1/limit)
			},
			At:         at("supports.span"),
			Inputs:     quantities(m.RootDiameter, m.DriveEnd, m.FarEnd, m.Density, m.ElasticModulus),
			Parameters: parameters(shorterSpan, thicker, held),
		},
	},
}
