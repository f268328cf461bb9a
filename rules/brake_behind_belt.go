package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var brakeBehindBelt = judge.Rule{
	Name:     "brake-behind-belt",
	Question: "Does something hold the load when belt or gear breaks?",
	Doc: `A brake in the motor holds the load through the belt or gear between motor and screw.
When that tears, slips off or strips its teeth, the brake holds nothing and the load comes down.
So where a load can move by itself (see holding-brake) and there is a belt or gear (drive.ratio
other than 1, gear_efficiency or gear_inertia), the brake on the screw (drive.brake_torque) must
hold it alone.

Whether an oversized, monitored belt is enough is for the machine's risk assessment and local
rules to decide; waive the rule with that reason. Nobody may stand or reach below such an axis
until it is held by something that does not need power.`,
	Source:   "ISO 12100 and ISO 13849-1 for what the machine needs; the limit: common practice, no source",
	Caution:  holdTheLoad,
	Severity: judge.Warning,
	Facts:    judge.Fields("drive.motor"),
	Reasons: append([]judge.Reason{{Words: "motor and screw are coupled directly", If: func(v *judge.View) bool { return !geared(v) }}},
		holdsItself...),
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "holding torque of the brake on the screw over the torque of the load", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
		Value: m.ScrewBrakeSafety,
		Needs: quantities(m.HoldingTorque, m.SelfMotion, m.Incline, m.StandingForce, m.Ratio),
		Say: func(v *judge.View, limit float64) string {
			torque := v.Show(v.V(m.HoldingTorque)*v.V(m.MotorScrews), unit.Torque)
			if v.V(m.ScrewBrakeSafety) == 0 {
				return fmt.Sprintf("nothing holds the load if belt or gear breaks (%s): back-driving torque %s, no brake on the screw declared", stands(v), torque)
			}
			return fmt.Sprintf("if belt or gear breaks, the brake on the screw holds %s times the back-driving torque %s (%s), minimum %s",
				v.Ratio(v.V(m.ScrewBrakeSafety)), torque, stands(v), v.Ratio(limit))
		},
		At: func(v *judge.View) (*spec.Field, int) {
			for _, path := range []string{"drive.brake_torque", "drive.ratio"} {
				if v.Declared(judge.Field(path)) {
					return judge.Field(path), -1
				}
			}
			return judge.Field("drive.motor"), -1
		},
		Inputs:     quantities(m.BrakeGiven, m.Ratio, m.MotorBrake, m.Mass, m.MovedMassGiven, m.CarriedMass, m.Counterbalance, m.Standstill, m.Lead),
		More:       payload,
		Parameters: parameters(moreBrake, lighter, lessPayload, lowerLead),
		Fixes: func(v *judge.View) []judge.Draft {
			return []judge.Draft{judge.Remark("a brake or a catch on the screw itself")}
		},
	}},
}
