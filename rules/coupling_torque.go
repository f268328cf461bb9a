package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var noCoupling = []judge.Reason{{Words: "no coupling is declared: the motor drives by a belt or gear", If: func(v *judge.View) bool {
	return v.Axis.Get(judge.Field("drive.coupling")) == nil && geared(v)
}}}

var couplingTorque = judge.Rule{
	Name:     "coupling-torque",
	Question: "Does the coupling carry the peak torque on the screw?",
	Doc: `The peak torque on the screw over the phases, its own acceleration included, in an
emergency stop and when a counterbalance is lost, against the coupling's rated torque. Where one
motor turns several screws (drive.screws) the coupling carries them all. A direct drive needs a
coupling: where none is declared the rule is not judged. Set shock factors from the coupling's
data sheet in a policy, as a lower limit.`,
	Source:   "the part's data; elementary mechanics",
	Severity: judge.Error,
	Reasons:  noCoupling,
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "peak torque over the coupling's rated torque", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
		Value:   m.DriveEndTorque,
		Against: m.CouplingTorque,
		Say: func(v *judge.View, _ float64) string {
			return fmt.Sprintf("peak screw torque %s exceeds the coupling rating %s", v.F(m.DriveEndTorque), v.F(m.CouplingTorque))
		},
		At:         at("drive.coupling"),
		Inputs:     quantities(m.CouplingTorque, m.Mass, m.CarriedMass, m.Lead, m.EmergencyDecel, m.StopBy),
		Parameters: parameters(coupler, gentleStop, longerRamp, gentler, lighter, lessPayload, lessThrust),
	}},
}

// geared reports whether something is declared of a belt or gear between motor and
// screw.
func geared(v *judge.View) bool { return v.V(m.Ratio) != 1 || gearLine(v) != nil }
