package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var minLead = judge.Rule{
	Name:     "min-lead",
	Question: "Is the lead large enough for the motor to reach the travel speed?",
	Doc: `The motor turns no faster than its maximum speed. Through the ratio (turns of the
motor for one turn of the screw) and the lead, that gives the highest travel speed. The lead
must be at least v·i/n. The speed used is the one a move really reaches: a short move that never
gets to its declared speed does not need the lead for it (see peak-speed). Where a policy makes
motor-speed stricter, that rule reports instead.`,
	Source:   "elementary mechanics; the first step of every hand calculation",
	Severity: judge.Error,
	Reasons: []judge.Reason{{Words: "motor-speed requires more of the motor", If: func(v *judge.View) bool {
		return speaks(v, "motor-speed", "min-lead") && limitOf(v, "min-lead")*limitOf(v, "motor-speed") < 1
	}}},
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "lead over the minimum lead", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
		Value:   m.Lead,
		Against: m.MinLead,
		Needs:   quantities(m.TopSpeed, m.MotorMaxSpeed, m.Ratio),
		Say: func(v *judge.View, limit float64) string {
			needs := unit.Format(v.V(m.MinLead)*limit, unit.Length, v.Units())
			if limit != 1 {
				needs += fmt.Sprintf(", %s times the %s it takes", v.Ratio(limit), v.F(m.MinLead))
			}
			return fmt.Sprintf("lead %s needs %s for %s; motor maximum %s; minimum lead %s",
				v.F(m.Lead), v.F(m.MotorSpeed), v.F(m.TopSpeed), v.F(m.MotorMaxSpeed), needs)
		},
		At:         atFastest,
		Inputs:     quantities(m.Lead, m.MotorMaxSpeed, m.Ratio),
		Parameters: parameters(slower, higherLead, lowerRatio, fasterMotor),
	}},
}
