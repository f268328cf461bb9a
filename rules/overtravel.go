package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var _ = register(Rule{
	Name:     "overtravel",
	Question: "Does an emergency stop end before the overtravel does?",
	Doc: `From top speed at the end of the stroke the axis runs on for v²/2a plus what it
travels until the stop takes hold. The overtravel must hold that, or the carriage hits
the stop. Limit switches, their delay and buffers are not in it: declare the delay as
motion.reaction_time.`,
	Source:   "kinematics",
	Severity: Error,
	Tests: []Test{{
		Limit:   Limit{Name: "limit", Doc: "overtravel over stopping distance", Kind: unit.None, Sense: AtLeast, Default: 1},
		Value:   m.Overtravel,
		Against: m.StoppingDistance,
		Needs:   quantities(m.TopSpeed),
		Say: func(v *View, _ float64) string {
			return fmt.Sprintf("an emergency stop from %s runs on for %s; the overtravel is %s", v.F(m.TopSpeed), v.F(m.StoppingDistance), v.F(m.Overtravel))
		},
		At:     at("motion.overtravel"),
		Enters: quantities(m.EmergencyDecel, m.ReactionTime),
		Levers: levers(moreRoom, slower, harderStop),
	}},
})
