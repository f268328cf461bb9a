package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var wornPreload = judge.Rule{
	Name:     "worn-preload",
	Question: "Does repeatability survive the loss of half the preload?",
	Doc: `Wear reduces preload long before the fatigue life ends: balls and raceway need to lose
only a few micrometres. With half of it the nut is a fifth less stiff, and lost motion at
reversal grows. A position approached from both sides is judged again with that nut: its
scatter, half the band, must stay within accuracy.repeatability. Where it does not, the axis
holds its repeatability when new, and needs its preload measured and restored. Play, where the
preload is gone altogether, is not computed here.`,
	Source:   "half of the preload, and stiffness with its cube root: common practice, no source",
	Severity: judge.Note,
	Reasons: []judge.Reason{
		required("accuracy.repeatability", "repeatability"),
		{Words: "positions are approached from one side", If: func(v *judge.View) bool { return v.V(m.Approach) == m.OneSide }},
		{Words: "the nut has no preload", If: func(v *judge.View) bool {
			return v.Calc.Known(m.Backlash) && !v.Calc.Known(m.Preload) || v.V(m.Preload) == 0
		}},
	},
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "scatter with half the preload over the required repeatability", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
		Value:   m.WornError,
		Against: m.Repeatability,
		Also:    quantities(m.RepeatError),
		Say: func(v *judge.View, _ float64) string {
			return fmt.Sprintf("with half of preload %s lost to wear, positions scatter by ±%s (new: ±%s); required ±%s", v.F(m.Preload), v.F(m.WornError), v.F(m.RepeatError), v.F(m.Repeatability))
		},
		At:         at("accuracy.repeatability"),
		Inputs:     quantities(m.Preload, m.NutStiffness, m.Friction, m.Drag),
		Parameters: parameters(lessFriction, lessDrag, stifferNut, stifferEnd, stifferLink, oneSide),
	}},
}
