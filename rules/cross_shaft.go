package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var crossShaft = judge.Rule{
	Name:     "cross-shaft",
	Question: "Is the shaft or belt between the screws of one motor strong enough?",
	Doc: `Where one motor turns several screws (drive.screws), all but the first are driven
through a shaft, a belt or gears between them. When it breaks or jumps a tooth the carriage
racks, and on a lift the brake of the motor holds one side only. It transmits the peak torque of
all screws but one, including an emergency stop and the loss of a counterbalance. Declare what
it may transmit as drive.cross_torque: its weakest link, couplings included.

Its twist, by which the far screw lags in both directions, is not computed. Where the motor
stands in the middle each side carries its own screws only; a policy sets the limit for that.`,
	Source:   "the part's data; elementary mechanics",
	Severity: judge.Error,
	Caution:  holdTheLoad,
	Reasons: []judge.Reason{
		{Words: "one screw moves the carriage", If: func(v *judge.View) bool { return v.V(m.Screws) == 1 }},
		{Words: "each screw has a motor of its own", If: func(v *judge.View) bool { return v.V(m.MotorScrews) == 1 }},
	},
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "peak torque between the screws over its rating", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
		Value:   m.CrossTorque,
		Against: m.CrossRating,
		Needs:   quantities(m.MotorScrews),
		Say: func(v *judge.View, _ float64) string {
			return fmt.Sprintf("peak torque between the screws %s exceeds the rating %s of the shaft or belt between them", v.F(m.CrossTorque), v.F(m.CrossRating))
		},
		At: func(v *judge.View) (*spec.Field, int) {
			if v.Declared(judge.Field("drive.cross_torque")) {
				return judge.Field("drive.cross_torque"), -1
			}
			return judge.Field("drive.screws"), -1
		},
		Inputs:     quantities(m.MotorScrewsGiven, m.Mass, m.CarriedMass, m.Lead, m.EmergencyDecel, m.StopBy),
		Parameters: parameters(strongerCross, gentleStop, longerRamp, gentler, lighter, lessPayload, lessThrust),
	}},
}
