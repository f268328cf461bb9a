package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var _ = register(Rule{
	Name:     "motor-speed",
	Question: "Does the motor keep the speed reserve that is asked?",
	Doc: `The highest speed of the motor, lead and ratio counted, against the highest speed
its part permits. At the default of 100 % this is the same comparison as min-lead,
which then speaks for both; set a lower limit in a policy to ask for a reserve.`,
	Source:   "elementary mechanics",
	Severity: Error,
	Tests: []Test{{
		Limit:   Limit{Name: "limit", Doc: "motor speed over its highest permitted speed", Kind: unit.Percentage, Sense: AtMost, Default: 1},
		Value:   m.MotorSpeed,
		Against: m.MotorMaxSpeed,
		Also:    quantities(m.Lead, m.MinLead),
		Applies: func(v *View) string {
			if v.V(m.Lead) < v.V(m.MinLead) {
				return "min-lead asks the same and is not met"
			}
			return ""
		},
		Say: func(v *View, limit float64) string {
			return fmt.Sprintf("the motor turns at %s; at most %s of its %s is allowed", v.F(m.MotorSpeed), v.Percent(limit), v.F(m.MotorMaxSpeed))
		},
		At:     atFastest,
		Enters: quantities(m.Lead, m.Ratio, m.MotorMaxSpeed),
		Levers: levers(slower, higherLead, lowerRatio, fasterMotor),
	}},
})
