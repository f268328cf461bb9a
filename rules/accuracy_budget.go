package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

// required is for rules about an accuracy that need not be required.
func required(path, what string) judge.Reason {
	return judge.Reason{Words: "no " + what + " is required", If: undeclared(path)}
}

var accuracyBudget = judge.Rule{
	Name:     "accuracy-budget",
	Question: "Do lead error, heat, deflection and play stay within the required positioning accuracy?",
	Doc: `The contributions are added, not combined as a root of squares: mean travel deviation
of the grade over the stroke, half its variation, thermal growth, deflection under the friction
that changes sign on reversal, and half the play of nut and drive where positions are approached
from both sides (the default; declare accuracy.approach otherwise). The required positioning is
half the band: ± the value. Encoder, guide and frame are not included.

Where a move has a process force, declare accuracy.force: "process" where positions must hold
under it, as in cutting; its deflection is then added. Declare "none" where no force acts when
the position counts.

With a linear scale (accuracy.scale, its own accuracy) the lead error and the growth of the
screw are left out and the error of the scale is added instead; play and deflection stay, since
a position loop that reverses through them hunts or waits.

Transport grades (C7, C10, T) have no mean deviation over the travel but only one per 300 mm.
ISO 3408-3 reads that as 2·l_u/300·v300, many trade tables as half of it; the first, cautious
reading is used unless accuracy.transport_factor says 1. A measured and compensated lead is not
judged: waive the rule and give the measurement as reason.`,
	Source:   "JIS B 1192, ISO 3408-3:2006 (tables with their provenance); adding up: common practice, no source",
	Severity: judge.Error,
	Reasons:  []judge.Reason{required("accuracy.positioning", "positioning")},
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "positioning error over the required positioning", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
		Value:   m.AccuracyBudget,
		Against: m.Positioning,
		Needs:   quantities(m.ScrewPart, m.ElasticPart, m.ForcePart, m.HalfPlay),
		Say: func(v *judge.View, _ float64) string {
			screw := fmt.Sprintf("travel deviation %s, half its variation %s, thermal growth %s",
				v.F(m.MeanDeviation), v.Show(v.V(m.Variation)/2, unit.Length), v.F(m.ThermalGrowth))
			if _, ok := v.Calc.Value(m.Scale); ok {
				screw = "linear scale " + v.F(m.Scale)
			}
			force := ""
			if v.V(m.ForcePart) > 0 {
				force = ", process force " + v.F(m.ForcePart)
			}
			return fmt.Sprintf("positioning error ±%s exceeds ±%s: %s, deflection %s%s, play %s",
				v.F(m.AccuracyBudget), v.F(m.Positioning), screw, v.F(m.ElasticPart), force, v.F(m.HalfPlay))
		},
		At:         at("accuracy.positioning"),
		Inputs:     quantities(m.Grade, m.Stroke, m.TemperatureRise, m.Backlash, m.GearPlayGiven, m.Scale, m.UnderForce, m.MoveThrust, m.CouplingTwistGiven, m.TransportFactor),
		Parameters: parameters(finer, cooler, lessPlay, lessGearPlay, finerScale, lessFriction, lessDrag, stifferNut, stifferLink, oneSide),
	}},
}
