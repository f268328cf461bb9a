package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var counterbalance = judge.Rule{
	Name:     "counterbalance",
	Question: "Is the kind of counterbalance declared, and does the axis allow for its loss?",
	Doc: `Declare with load.counterbalance_by what it is. A weight moves too: its mass adds to
what the motor accelerates (load.rope_ratio: its travel over that of the carriage), and a rope
can only pull: at more than the acceleration of free fall it goes slack and jerks. A spring, a
gas spring or a cylinder moves no mass to speak of, but loses force with travel, heat and leaks:
declare the force with a tolerance.

A counterbalance can be lost: a rope breaks, a gas spring leaks, a supply fails. The loss is a
load case of the brake (holding-brake), of the motor at rest (motor-standstill) and of the peak
force on screw, shaft and bearings. load.counterbalance_cannot_fail gives the reason why it is
left out; the reason is shown as a note and is for the machine's risk assessment to judge. A
stop at the moment of the loss is not computed. Local rules for lifting and for pressure take
precedence.`,
	Source:   "elementary mechanics; ISO 12100 and ISO 13849-1 for what the machine needs",
	Caution:  relieveBalance,
	Severity: judge.Error,
	Reasons:  []judge.Reason{{Words: "there is no counterbalance", If: func(v *judge.View) bool { return !(v.V(m.Counterbalance) > 0) }}},
	WantsBy:  func(*judge.View) []*spec.Field { return judge.Fields("load.counterbalance_by") },
	Check: func(v *judge.View) []judge.Fault {
		why := v.Value(judge.Field("load.counterbalance_cannot_fail"))
		if why == nil {
			return nil
		}
		return []judge.Fault{{At: why.Field, Move: -1, Severity: judge.Note, Inputs: judge.Fields("load.counterbalance", "load.counterbalance_by"),
			Message: fmt.Sprintf("loss of the counterbalance is excluded, as declared: %s; risk assessment and local rules decide", why.Text)}}
	},
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "rope", Doc: "acceleration of a counterweight", Kind: unit.Acceleration, Sense: judge.AtMost, Default: m.Gravity},
		Value: m.RopeAcceleration,
		Reasons: []judge.Reason{{Words: "the counterbalance is not a weight", If: func(v *judge.View) bool {
			return v.Calc.Known(m.BalanceKind) && v.V(m.BalanceKind) != m.BalanceWeight
		}}},
		Say: func(v *judge.View, limit float64) string {
			return fmt.Sprintf("counterweight accelerates at %s; above %s its rope goes slack and jerks", v.F(m.RopeAcceleration), v.Show(limit, unit.Acceleration))
		},
		At:         at("load.counterbalance"),
		Inputs:     quantities(m.RopeRatio, m.EmergencyDecel, m.StopBy, m.MotorBrake, m.BrakeGiven),
		Parameters: parameters(gentler, longerRamp, gentleStop),
	}},
}
