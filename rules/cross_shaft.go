package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var crossShaft = Rule{
	Name:     "cross-shaft",
	Question: "Does the shaft or belt between the screws of one motor carry them?",
	Doc: `Where one motor turns several screws (drive.screws), all but the first hang on a shaft, a
belt or a row of gears between them. When it breaks or jumps a tooth the carriage racks, and
on a lift the brake of the motor holds one side only. It passes on the torque of all screws
but one, at its peak: an emergency stop and the loss of a counterbalance included. Declare
what it may pass on as drive.cross_torque, the weakest link, its couplings included.

Its twist is not computed: it lets the far screw lag a little, on the way there and back.
Where the motor stands in the middle each side carries its own screws only; a policy sets the
limit for that.`,
	Source:   "the part's data; elementary mechanics",
	Severity: Error,
	Caution:  holdTheLoad,
	Reasons: []Reason{
		{"one screw moves the carriage", func(v *View) bool { return v.V(m.Screws) == 1 }},
		{"each screw has a motor of its own", func(v *View) bool { return v.V(m.MotorScrews) == 1 }},
	},
	Tests: []Test{{
		Limit:   Limit{Name: "limit", Doc: "peak torque between the screws over what may be passed on", Kind: unit.Percentage, Sense: AtMost, Default: 1},
		Value:   m.CrossTorque,
		Against: m.CrossRating,
		Needs:   quantities(m.MotorScrews),
		Say: func(v *View, _ float64) string {
			return fmt.Sprintf("%s pass from screw to screw; shaft or belt between them may pass on %s", v.F(m.CrossTorque), v.F(m.CrossRating))
		},
		At: func(v *View) (*spec.Field, int) {
			if v.Declared(field("drive.cross_torque")) {
				return field("drive.cross_torque"), -1
			}
			return field("drive.screws"), -1
		},
		Enters: quantities(m.MotorScrewsGiven, m.Mass, m.CarriedMass, m.Lead, m.EmergencyDecel, m.StopBy),
		Levers: levers(strongerCross, gentleStop, longerRamp, gentler, lighter, lessPayload, lessThrust),
	}},
}
