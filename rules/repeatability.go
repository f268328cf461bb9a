package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var _ = register(Rule{
	Name:     "repeatability",
	Question: "Do play and lost motion allow the asked repeatability?",
	Doc: `A position approached from both sides scatters by the lost motion: the play, and
twice the friction that turns round on reversal over the axial stiffness. Half of it
is compared with the asked repeatability, which is half the band. Where positions are
approached from one side only (accuracy.approach = "one-side") lost motion does not
enter.`,
	Source:   "common practice, no source",
	Severity: Error,
	Reasons: []Reason{
		asked("accuracy.repeatability", "repeatability"),
		{"positions are approached from one side only", func(v *View) bool { return v.V(m.Approach) == m.OneSide }},
	},
	Tests: []Test{{
		Limit:   Limit{Name: "limit", Doc: "half the lost motion over the asked repeatability", Kind: unit.Percentage, Sense: AtMost, Default: 1},
		Value:   m.RepeatError,
		Against: m.Repeatability,
		Needs:   quantities(m.LostMotion, m.Play, m.Rigidity, m.ReversalFriction),
		Also:    quantities(m.Approach),
		Say: func(v *View, _ float64) string {
			return fmt.Sprintf("lost motion is %s (play %s, the rest %s of friction on %s): ±%s, ±%s is asked",
				v.F(m.LostMotion), v.F(m.Play), v.F(m.ReversalFriction), v.F(m.Rigidity), v.F(m.RepeatError), v.F(m.Repeatability))
		},
		At:     at("accuracy.repeatability"),
		Enters: quantities(m.Backlash, m.Preload, m.Friction, m.Drag),
		Levers: levers(lessPlay, lessFriction, lessDrag, stifferNut, stifferEnd, oneSide),
	}},
})
