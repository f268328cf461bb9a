package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var counterbalance = Rule{
	Name:     "counterbalance",
	Question: "What is the counterbalance, and what if it is lost?",
	Doc: `Say by load.counterbalance_by what it is. A weight moves too: its mass adds to what the
motor accelerates (load.rope_ratio is its travel for one of the carriage), and a rope can
only pull: at more than the acceleration of free fall it goes slack and jerks. A spring, a
gas spring or a cylinder moves no mass to speak of, but loses force with travel, heat and
leaks: declare the force with a tolerance.

A counterbalance can be lost: a rope breaks, a gas spring leaks, a supply fails. The loss
is a load case of the brake (holding-brake), of the motor at rest (motor-standstill) and
of the greatest force on screw, shaft and bearings. load.counterbalance_cannot_fail gives
the reason why it is left out; the reason is shown as a note and is for the machine's risk
assessment to judge. A stop in the moment of the loss is not computed.
Local rules for lifting and for pressure go before this page.`,
	Source:   "elementary mechanics; ISO 12100 and ISO 13849-1 for what the machine needs",
	Caution:  relieveBalance,
	Severity: Error,
	Reasons:  []Reason{{"there is no counterbalance", func(v *View) bool { return !(v.V(m.Counterbalance) > 0) }}},
	WantsBy:  func(*View) []*spec.Field { return fields("load.counterbalance_by") },
	Check: func(v *View) []Fault {
		why := v.Value(field("load.counterbalance_cannot_fail"))
		if why == nil {
			return nil
		}
		return []Fault{{At: why.Field, Move: -1, Severity: Note, Enters: fields("load.counterbalance", "load.counterbalance_by"),
			Message: fmt.Sprintf("loss of the counterbalance is no load case, as declared: %s; risk assessment and local rules decide", why.Text)}}
	},
	Tests: []Test{{
		Limit: Limit{Name: "rope", Doc: "acceleration of a counterweight", Kind: unit.Acceleration, Sense: AtMost, Default: m.Gravity},
		Value: m.RopeAcceleration,
		Reasons: []Reason{{"the counterbalance is no weight", func(v *View) bool {
			return v.Calc.Known(m.BalanceKind) && v.V(m.BalanceKind) != m.BalanceWeight
		}}},
		Say: func(v *View, limit float64) string {
			return fmt.Sprintf("counterweight is accelerated with %s; beyond %s its rope goes slack and jerks", v.F(m.RopeAcceleration), v.Show(limit, unit.Acceleration))
		},
		At:     at("load.counterbalance"),
		Enters: quantities(m.RopeRatio, m.EmergencyDecel, m.StopBy, m.MotorBrake, m.BrakeGiven),
		Levers: levers(gentler, longerRamp, gentleStop),
	}},
}
