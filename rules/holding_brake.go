package rules

import (
	"fmt"
	"math"
	"strings"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// holdsItself are the reasons why nothing moves when power goes.
var holdsItself = []judge.Reason{
	{Words: "the axis is horizontal and no force acts at rest", If: func(v *judge.View) bool { return v.V(m.Incline) == 0 && v.V(m.StandingForce) == 0 }},
	{Words: "the thread is self-locking", If: func(v *judge.View) bool { return v.V(m.BackEfficiency) <= 0 }},
	{Words: "guide friction holds it", If: func(v *judge.View) bool { return stays(v) && !(v.V(m.Counterbalance) > 0) }},
	{Words: "counterbalance and guide friction hold it", If: func(v *judge.View) bool { return stays(v) && v.V(m.Counterbalance) > 0 }},
}

var holdingBrake = judge.Rule{
	Name:     "holding-brake",
	Question: "Does something hold an axis that weight or a force at rest can move?",
	Doc: `A ball screw is not self-locking. Where weight, a process force or a standstill force
acts at rest, more than guide friction can hold, and the thread back-drives, the carriage moves
when power fails: a horizontal press opens, a lift comes down. A brake (drive.brake_torque on
the screw, brake_torque of the motor through the ratio) must hold 1.5 times the torque of the
load, heaviest payload or none. A counterbalance is included: one that exceeds the weight drives
the axis up, and the finding says so. Its loss is a case of its own (see counterbalance). A move
with thrust and dwell must declare its hold. A brake that is not declared is taken as not
present. Where one motor turns several screws (drive.screws) the brakes hold all of them.

The back-driving efficiency is that of the thread friction alone. Drag of preload, grease and
seals may hold a small load and is never counted as a brake: where it is more than the torque of
the load, the finding says that the load may move. A brake in a motor behind a belt holds
nothing if the belt tears: the machine's risk assessment decides whether it is enough.`,
	Source:   "statics of the thread; ISO 12100 and ISO 13849-1 for what the machine needs; 1.5: common practice, no source",
	Caution:  holdTheLoad,
	Severity: judge.Error,
	Facts:    judge.Fields("drive.motor"),
	Reasons:  holdsItself,
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "holding torque over the torque of the load", Kind: unit.None, Sense: judge.AtLeast, Default: 1.5},
		Value: m.HoldingSafety,
		Needs: quantities(m.HoldingTorque, m.SelfMotion, m.Incline, m.StandingForce),
		Say: func(v *judge.View, limit float64) string {
			what := fmt.Sprintf("brakes hold %s times that, minimum %s", v.Ratio(v.V(m.HoldingSafety)), v.Ratio(limit))
			if v.V(m.HoldingSafety) == 0 {
				what = "no brake declared"
			}
			screws := "screw"
			if n := v.V(m.MotorScrews); n > 1 {
				screws = fmt.Sprintf("%s screws of the motor", v.Ratio(n))
			}
			cause, moves := stands(v), "moves"
			switch {
			case cause == overWeight:
				moves = "rises"
			case strings.HasPrefix(cause, "weight"):
				moves = "falls"
			}
			torque := v.Show(v.V(m.HoldingTorque)*v.V(m.MotorScrews), unit.Torque)
			if drag := v.V(m.DragTorque); drag > v.V(m.HoldingTorque) {
				moves = "may " + strings.TrimSuffix(moves, "s")
				torque += fmt.Sprintf(" (drag %s does not count as a brake)", v.Show(drag*v.V(m.MotorScrews), unit.Torque))
			}
			return fmt.Sprintf("without power the load %s (%s): back-driving torque on the %s %s; %s", moves, cause, screws, torque, what)
		},
		At: func(v *judge.View) (*spec.Field, int) {
			if v.Declared(judge.Field("drive.brake_torque")) {
				return judge.Field("drive.brake_torque"), -1
			}
			return judge.Field("drive.motor"), -1
		},
		Inputs:     quantities(m.BrakeGiven, m.MotorBrake, m.Ratio, m.MotorScrewsGiven, m.Mass, m.MovedMassGiven, m.CarriedMass, m.Counterbalance, m.Standstill, m.Lead),
		More:       payload,
		Parameters: parameters(moreBrake, motorBrake, balance, lighter, lessPayload, lessHold, lowerLead),
	}},
}

// overWeight is the cause of an axis that moves up at rest.
const overWeight = "counterbalance exceeds weight"

// stands names the force that wants to move the axis at rest.
func stands(v *judge.View) string {
	switch f := v.V(m.StandingForce) * (1 - judge.Slack); {
	case v.V(m.LostBalance) >= f:
		return "weight, counterbalance lost"
	case math.Abs(v.V(m.StandstillForce)) >= f:
		return "force at standstill"
	default:
		for i, rest := range v.Calc.Series(m.MoveRestForce) {
			if math.Abs(rest) >= f && v.Calc.Series(m.MoveStanding)[i] != 0 {
				return "force held at rest"
			}
		}
		if v.V(m.Counterbalance) > 0 && v.V(m.WeightForce) < f {
			return overWeight // of the empty carriage
		}
	}
	return "weight"
}

// stays reports whether nothing that drives the axis at rest is more than its guides
// hold. A full counterbalance leaves what was rounded.
func stays(v *judge.View) bool { return v.V(m.SelfMotion) <= judge.Slack*v.V(m.HeaviestMass)*m.Gravity }
