package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// hardest is the phase that uses most of what the motor gives at its speed. Near
// the motor's highest speed that need not be the one of the greatest torque.
func hardest(v *judge.View) int {
	worst, at := -1.0, 0
	times, speeds := v.Calc.Series(m.PhaseTime), v.Calc.Series(m.PhaseTopSpeed)
	for j, t := range v.Calc.Series(m.MotorPhaseTorque) {
		gives := m.AvailableTorque(m.ScrewSpeed(speeds[j], v.V(m.Lead))*v.V(m.Ratio), v.V(m.MotorPeakTorque), v.V(m.MotorRatedSpeed), v.V(m.MotorTopTorque), v.V(m.MotorMaxSpeed))
		if share := math.Abs(t) / gives; times[j] > 0 && share > worst {
			worst, at = share, j
		}
	}
	return at
}

// atHardest points at the move of that phase.
func atHardest(v *judge.View) (*spec.Field, int) {
	i := hardest(v) / m.PhasesPerMove
	for _, path := range []string{"motion.move.ramp", "motion.move.ramp_up", "motion.move.acceleration"} {
		if i < len(v.Axis.Moves) && v.Axis.Moves[i].Get(judge.Field(path)) != nil {
			return judge.Field(path), i
		}
	}
	return judge.Field("motion.move.speed"), i
}

var motorPeakTorque = judge.Rule{
	Name:     "motor-peak-torque",
	Question: "Does the motor give the torque of every phase at its speed?",
	Doc: `The torque of each phase (load through the efficiency, drag of preload and supports,
acceleration of screw, coupling and rotor) against what the motor gives at the phase's top
speed: its peak torque up to the rated speed, from there along a straight line to
torque_at_max_speed. Where the part does not declare them they are assumed, from constant power
up to the peak torque. The limit of 90 % leaves a reserve for the control. Without a declared
efficiency that of the thread is taken as 0.9 at most.`,
	Source:   "elementary mechanics; 90 %: common practice, no source",
	Severity: judge.Error,
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "torque over what the motor gives at the speed", Kind: unit.Percentage, Sense: judge.AtMost, Default: 0.9},
		Value: m.TorqueShare,
		Needs: quantities(m.MotorPhaseTorque, m.MotorPeakTorque),
		Say: func(v *judge.View, limit float64) string {
			j := hardest(v)
			torque := v.Show(math.Abs(v.Calc.Series(m.MotorPhaseTorque)[j]), unit.Torque)
			return fmt.Sprintf("motor torque %s (%s) is %s of what the motor gives at that speed; limit %s",
				torque, v.Phase(j), v.F(m.TorqueShare), v.Percent(limit))
		},
		At:         atHardest,
		Inputs:     quantities(m.MotorPeakTorque, m.Mass, m.CarriedMass, m.Lead, m.Ratio, m.RotorInertia),
		Parameters: parameters(longerRamp, gentler, lighter, lessPayload, lessThrust, lowerLead, higherRatio, morePeak),
	}},
}
