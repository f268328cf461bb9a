package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var preloadRange = judge.Rule{
	Name:     "preload-range",
	Question: "Is the preload low enough for the life and high enough for the load?",
	Doc: `A preload above about 10 % of the dynamic rating reduces life and warms the nut. One
below the peak force of the cycle over 2^(3/2) lets the relieved side lose
contact, so that play opens where there should be none; that is judged only where
a positioning or a repeatability is required, and never for a nut with play (preload "0 N").`,
	Source:   "ISO 3408-5:2006, 7.1.3 (2^(3/2), from memory); 10 %: common practice, no source",
	Severity: judge.Warning,
	Reasons: []judge.Reason{
		{Words: "the nut is not preloaded", If: func(v *judge.View) bool { return v.V(m.Preload) == 0 }},
		{Words: "backlash of the nut is declared, and no preload", If: func(v *judge.View) bool { return !v.Calc.Known(m.Preload) && v.Calc.Known(m.Backlash) }},
	},
	Tests: []judge.Test{
		{
			Limit: judge.Limit{Name: "limit", Doc: "preload over dynamic rating", Kind: unit.Percentage, Sense: judge.AtMost, Default: 0.1},
			Value: m.PreloadShare,
			Also:  quantities(m.Backlash),
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("preload %s is %s of the dynamic rating %s; usual maximum %s", v.F(m.Preload), v.F(m.PreloadShare), v.F(m.DynamicRating), v.Percent(limit))
			},
			At:         at("nut.preload"),
			Inputs:     quantities(m.DynamicRating),
			Parameters: parameters(lessPreload, higherCa),
		},
		{
			Limit:   judge.Limit{Name: "contact", Doc: "preload over the minimum preload that keeps contact", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
			Value:   m.Preload,
			Against: m.GapPreload,
			Needs:   quantities(m.WorkingForce),
			Also:    quantities(m.Backlash),
			Reasons: []judge.Reason{{Words: "no accuracy is required", If: func(v *judge.View) bool {
				return v.Value(judge.Field("accuracy.positioning")) == nil && v.Value(judge.Field("accuracy.repeatability")) == nil
			}}},
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("preload %s loses contact at %s; minimum %s", v.F(m.Preload), v.F(m.WorkingForce), v.F(m.GapPreload))
			},
			At:         at("nut.preload"),
			Inputs:     quantities(m.Mass, m.CarriedMass),
			Parameters: parameters(morePreload, gentler, longerRamp, lessThrust),
		},
	},
}
