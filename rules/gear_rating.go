package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var gearRating = judge.Rule{
	Name:     "gear-rating",
	Question: "Does the belt or gear between motor and screw withstand torque and speed?",
	Doc: `A belt jumps teeth and a gear breaks them in the hardest stop, not on average. The peak
torque at the driven end, an emergency stop and the loss of a counterbalance included, of all
screws that the motor turns, is compared with drive.gear_torque: the permitted torque of the
stage, at the screw. Data sheets of gears mostly give it at the slow side, those of belts at the
small pulley: convert it by the ratio. Where they give a lower torque for continuous load, set a
lower limit in a policy.

The highest speed of the motor in the cycle is compared with drive.gear_speed. Service factors,
belt width and the life of the teeth are in the maker's documents.`,
	Source:   "the part's data; elementary mechanics",
	Severity: judge.Error,
	Reasons:  []judge.Reason{{Words: "no belt or gear is declared", If: func(v *judge.View) bool { return !geared(v) && v.Calc.Known(m.Ratio) && !v.Calc.Known(m.GearTorque) }}},
	Tests: []judge.Test{
		{
			Limit:   judge.Limit{Name: "limit", Doc: "peak torque at the screw over the rating of belt or gear", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
			Value:   m.DriveEndTorque,
			Against: m.GearTorque,
			Needs:   quantities(m.Ratio),
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("peak torque %s at the screw exceeds the rating %s of belt or gear", v.F(m.DriveEndTorque), v.F(m.GearTorque))
			},
			At: func(v *judge.View) (*spec.Field, int) {
				if v.Declared(judge.Field("drive.gear_torque")) {
					return judge.Field("drive.gear_torque"), -1
				}
				return judge.Field("drive.ratio"), -1
			},
			Inputs:     quantities(m.Ratio, m.Mass, m.CarriedMass, m.Lead, m.EmergencyDecel, m.StopBy),
			Parameters: parameters(strongerGear, gentleStop, longerRamp, gentler, lighter, lessPayload, lessThrust),
		},
		{
			Limit:   judge.Limit{Name: "speed", Doc: "motor speed over the maximum speed of belt or gear", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
			Value:   m.MotorSpeed,
			Against: m.GearSpeed,
			Needs:   quantities(m.Ratio),
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("motor turns belt or gear at %s; its maximum speed is %s", v.F(m.MotorSpeed), v.F(m.GearSpeed))
			},
			At:         atFastest,
			Inputs:     quantities(m.Ratio, m.Lead, m.GearSpeedGiven),
			Parameters: parameters(fasterGear, slower, higherLead, lowerRatio),
		},
	},
}
