package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var motorRmsTorque = judge.Rule{
	Name:     "motor-rms-torque",
	Question: "Does the motor stay within its continuous torque over the cycle?",
	Doc: `The root mean square of the motor's torque over the whole cycle, rests included,
against its continuous torque. The limit is 90 %. At rest the torque that holds weight and
process force (hold of a move) counts, as if no brake were closed and friction held nothing.`,
	Source:   "elementary mechanics; 90 %: common practice, no source",
	Severity: judge.Error,
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "rms torque over continuous torque", Kind: unit.Percentage, Sense: judge.AtMost, Default: 0.9},
		Value:   m.RMSTorque,
		Against: m.MotorTorque,
		Say: func(v *judge.View, limit float64) string {
			return fmt.Sprintf("rms torque %s is %s of rated %s; limit %s",
				v.F(m.RMSTorque), v.Percent(v.V(m.RMSTorque)/v.V(m.MotorTorque)), v.F(m.MotorTorque), v.Percent(limit))
		},
		At:         at("drive.motor"),
		Inputs:     quantities(m.MotorTorque, m.Mass, m.CarriedMass, m.Lead, m.Ratio, m.RotorInertia),
		Parameters: parameters(longerRamp, gentler, longerMove, lighter, lessPayload, lessThrust, lessHold, lowerLead, higherRatio, moreTorque),
	}},
}
