package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

// byBrakes reports whether the brakes stop the axis in an emergency.
func byBrakes(v *judge.View) bool { return v.V(m.StopMeans) == m.StopByBrake }

// stopper names what stops the axis with what it has.
func stopper(v *judge.View) string {
	if byBrakes(v) {
		return "the brakes give " + v.F(m.StopAvailable) + " while slipping"
	}
	return "the motor gives " + v.F(m.StopAvailable) + " at that speed"
}

// stoppers is what takes part of that which stops the axis.
func stoppers(v *judge.View) []*m.Quantity {
	if byBrakes(v) {
		return quantities(m.MotorBrake, m.BrakeGiven, m.BrakeSlip, m.BrakeDelay)
	}
	return quantities(m.MotorPeakTorque, m.TorqueLimit)
}

var emergencyStop = judge.Rule{
	Name:     "emergency-stop",
	Question: "Can the motor or the brake reach the emergency deceleration?",
	Doc: `Carriage, screw and rotor must be slowed down, weight must be held meanwhile, and a
process that helps a move goes on pulling. Friction in thread and gear helps, by their
back-driving efficiency. The motor torque needed for the declared deceleration is compared with
what is available, in the declared moves and in travel in either direction, empty and with the
heaviest payload.

motion.stop_by says what stops the axis. The motor gives its peak torque at top speed, or
drive.torque_limit. The brakes give drive.brake_slip of their holding torque while they slip:
60 % where nothing is declared. Without a brake the motor is assumed; with one, motion.stop_by
must be declared. A brake does not follow a ramp: where it can stop harder than declared, the
forces are those of the harder stop (hardest_deceleration).

This rule judges the stop alone: whether the stop may rely on the drive at all is for the
machine's risk assessment and local rules to decide.`,
	Source:   "Newton's law; statics of the thread; 60 %: common practice, no source; ISO 13850 and IEC 60204-1 for the categories of stop",
	Severity: judge.Error,
	Facts:    judge.Fields("drive.motor"),
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "deceleration that can be reached over the declared one", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
		Value:   m.StopReached,
		Against: m.EmergencyDecel,
		Needs:   quantities(m.StopTorque, m.StopAvailable, m.StopMeans),
		Say: func(v *judge.View, _ float64) string {
			reach := "it reaches only " + v.F(m.StopReached)
			if v.V(m.StopReached) <= 0 {
				reach = "too little to stop the axis"
			}
			return fmt.Sprintf("emergency stop at %s needs %s at the motor; %s: %s", v.F(m.EmergencyDecel), v.F(m.StopTorque), stopper(v), reach)
		},
		At:         at("motion.emergency_deceleration"),
		Inputs:     quantities(m.Mass, m.CarriedMass, m.RotorInertia, m.Lead, m.Ratio),
		More:       func(v *judge.View) []*m.Quantity { return append(stoppers(v), payload(v)...) },
		Parameters: parameters(gentleStop, morePeak, motorBrake, moreBrake, lighter, lessPayload, lowerLead),
	}},
}
