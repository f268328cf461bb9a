package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var _ = register(Rule{
	Name:     "holding-brake",
	Question: "Does something hold an axis that its weight can drive?",
	Doc: `A ball screw is not self-locking. Where weight acts along the axis, more than guide
friction holds, and the thread back-drives, the carriage comes down when power goes.
A brake (drive.brake_torque on the screw, brake_torque of the motor through the ratio)
must hold 1.5 times the torque of the load, heaviest payload or none, counterbalance
counted. A brake that is not declared counts as not there. Where one motor turns
several screws (drive.screws) the brakes hold all of them.

The back-driving efficiency is that of the thread friction alone; grease and seals only
help. A brake in a motor behind a belt holds nothing if the belt tears: the machine's
risk assessment decides whether it is enough.`,
	Source:   "statics of the thread; ISO 12100 and ISO 13849-1 for what the machine needs; 1.5: common practice, no source",
	Severity: Error,
	Facts:    fields("drive.motor"),
	Reasons: []Reason{
		{"the axis is horizontal", func(v *View) bool { return v.V(m.Incline) == 0 }},
		{"the thread holds by itself", func(v *View) bool { return v.V(m.BackEfficiency) <= 0 }},
		{"guide friction holds it", func(v *View) bool { return stays(v) && !(v.V(m.Counterbalance) > 0) }},
		{"counterbalance and guide friction hold it", func(v *View) bool { return stays(v) && v.V(m.Counterbalance) > 0 }},
	},
	Tests: []Test{{
		Limit: Limit{Name: "limit", Doc: "holding torque over the torque of the load", Kind: unit.None, Sense: AtLeast, Default: 1.5},
		Value: m.HoldingSafety,
		Needs: quantities(m.HoldingTorque, m.SelfMotion, m.Incline),
		Say: func(v *View, limit float64) string {
			what := fmt.Sprintf("the brakes hold %s times that, at least %s is asked", v.Ratio(v.V(m.HoldingSafety)), v.Ratio(limit))
			if v.V(m.HoldingSafety) == 0 {
				what = "no brake is declared"
			}
			screws := "screw"
			if n := v.V(m.MotorScrews); n > 1 {
				screws = fmt.Sprintf("%s screws of the motor", v.Ratio(n))
			}
			torque := v.Show(v.V(m.HoldingTorque)*v.V(m.MotorScrews), unit.Torque)
			return fmt.Sprintf("without power the weight turns the %s with %s and the load moves by itself; %s", screws, torque, what)
		},
		At: func(v *View) (*spec.Field, int) {
			if v.Declared(field("drive.brake_torque")) {
				return field("drive.brake_torque"), -1
			}
			return field("drive.motor"), -1
		},
		Enters: quantities(m.BrakeGiven, m.MotorBrake, m.Ratio, m.MotorScrewsGiven, m.Mass, m.MovedMassGiven, m.CarriedMass, m.Counterbalance, m.Lead),
		More:   payload,
		Levers: levers(moreBrake, motorBrake, balance, lighter, lessPayload, lowerLead),
	}},
})

// stays reports whether nothing that drives the axis at rest is more than its guides
// hold. A full counterbalance leaves what was rounded.
func stays(v *View) bool { return v.V(m.SelfMotion) <= slack*v.V(m.HeaviestMass)*m.Gravity }
