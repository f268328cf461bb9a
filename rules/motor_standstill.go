package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var motorStandstill = judge.Rule{
	Name:     "motor-standstill",
	Question: "Does the motor hold the load at rest?",
	Doc: `Weight, the process force of a move's hold and load.standstill need torque while
nothing moves, as if no brake were closed. Friction of thread, nut and gear may help or
not, so none of it is counted. At standstill one winding carries the whole current: in a
rest of a second or longer, and for a force held at standstill, the torque may not exceed
the motor's continuous torque. It may never exceed what the motor gives at all, its peak torque or drive.torque_limit.

The thrust of a move that rests afterwards is assumed to continue where the move declares no
hold. A motor that must hold a load whose counterbalance is lost, until a brake closes, may
use its peak torque.

A motor holds only while it has power; see holding-brake.`,
	Source:   "elementary mechanics; a second: common practice, no source",
	Severity: judge.Error,
	Facts:    judge.Fields("drive.motor"),
	Tests: []judge.Test{
		{
			Limit:   judge.Limit{Name: "rated", Doc: "torque at rest over continuous torque", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
			Value:   m.LastingTorque,
			Against: m.MotorTorque,
			Reasons: []judge.Reason{{Words: "no rest under load lasts a second", If: func(v *judge.View) bool {
				return v.V(m.LastingTorque) == 0
			}}},
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("holding torque at rest %s is %s of rated %s; limit %s",
					v.F(m.LastingTorque), v.Percent(v.V(m.LastingTorque)/v.V(m.MotorTorque)), v.F(m.MotorTorque), v.Percent(limit))
			},
			At:         at("drive.motor"),
			Inputs:     quantities(m.MotorTorque, m.Standstill, m.Mass, m.CarriedMass, m.Counterbalance, m.Lead, m.Ratio),
			More:       payload,
			Parameters: parameters(lessHold, lighter, lessPayload, lowerLead, higherRatio, moreTorque),
		},
		{
			Limit:   judge.Limit{Name: "peak", Doc: "torque at rest over the torque the motor can give", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
			Value:   m.StandingTorque,
			Against: m.StallTorque,
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("holding torque at rest %s exceeds the %s that the motor can give", v.F(m.StandingTorque), v.F(m.StallTorque))
			},
			At:         atLimit,
			Inputs:     quantities(m.MotorPeakTorque, m.TorqueLimit, m.Standstill, m.Mass, m.CarriedMass, m.Counterbalance, m.Lead, m.Ratio),
			More:       payload,
			Parameters: parameters(lessHold, lighter, lessPayload, lowerLead, higherRatio, morePeak),
		},
		{
			Limit:   judge.Limit{Name: "lost", Doc: "torque that holds the load without its counterbalance over the torque the motor can give", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
			Value:   m.LostTorque,
			Against: m.StallTorque,
			Reasons: []judge.Reason{{Words: "no counterbalance can be lost", If: func(v *judge.View) bool { return v.V(m.LostBalance) == 0 }}},
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("if the counterbalance is lost the motor must hold %s until a brake closes; motor maximum %s", v.F(m.LostTorque), v.F(m.StallTorque))
			},
			At:         atLimit,
			Inputs:     quantities(m.Counterbalance, m.MotorPeakTorque, m.TorqueLimit, m.Mass, m.CarriedMass, m.Lead, m.Ratio),
			More:       payload,
			Parameters: parameters(lighter, lessPayload, lowerLead, higherRatio, morePeak),
		},
	},
}
