package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var _ = register(Rule{
	Name:     "min-lead",
	Question: "Is the lead large enough for the motor to reach the travel speed?",
	Doc: `The motor turns at most at its highest speed. Through the ratio (turns of the
motor for one turn of the screw) and the lead, that gives the highest travel speed.
The lead must be at least v·i/n. The speed counted is the one a move really
reaches: a short move that never gets to its declared speed does not need the lead
for it (see peak-speed).`,
	Source:   "elementary mechanics; the first step of every hand calculation",
	Severity: Error,
	Tests: []Test{{
		Limit:   Limit{Name: "limit", Doc: "lead over the least lead", Kind: unit.None, Sense: AtLeast, Default: 1},
		Value:   m.Lead,
		Against: m.MinLead,
		Needs:   quantities(m.TopSpeed, m.MotorMaxSpeed, m.Ratio),
		Say: func(v *View, limit float64) string {
			reserve := ""
			if limit != 1 {
				reserve = fmt.Sprintf(", with the asked reserve of %s times", v.Ratio(limit))
			}
			return fmt.Sprintf("lead %s is too small for %s: the motor has to turn at %s and reaches at most %s; the lead must be at least %s%s",
				v.F(m.Lead), v.F(m.TopSpeed), v.F(m.MotorSpeed), v.F(m.MotorMaxSpeed), v.Show(v.V(m.MinLead)*limit, unit.Length), reserve)
		},
		At:     atFastest,
		Enters: quantities(m.Lead, m.MotorMaxSpeed, m.Ratio),
		Levers: levers(slower, higherLead, lowerRatio, fasterMotor),
	}},
})
