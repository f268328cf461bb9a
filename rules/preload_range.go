package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var preloadRange = Rule{
	Name:     "preload-range",
	Question: "Is the preload neither too high for the life nor too low for the load?",
	Doc: `A preload above about 10 % of the dynamic rating costs life and warms the nut. One
below the greatest force of the cycle over 2^(3/2) lets the relieved side lose
contact, so that play opens where none should; that is asked only where accuracy
declares a positioning or a repeatability. A nut with play (preload "0 N") is not
asked either.`,
	Source:   "ISO 3408-5:2006, 7.1.3 (2^(3/2), from memory); 10 %: common practice, no source",
	Severity: Warning,
	Reasons: []Reason{
		{"the nut is not preloaded", func(v *View) bool { return v.V(m.Preload) == 0 }},
		{"the play of the nut is declared, and no preload", func(v *View) bool { return !v.Calc.Known(m.Preload) && v.Calc.Known(m.Backlash) }},
	},
	Tests: []Test{
		{
			Limit: Limit{Name: "limit", Doc: "preload over dynamic rating", Kind: unit.Percentage, Sense: AtMost, Default: 0.1},
			Value: m.PreloadShare,
			Also:  quantities(m.Backlash),
			Say: func(v *View, limit float64) string {
				return fmt.Sprintf("preload %s is %s of the dynamic rating %s; at most %s is usual", v.F(m.Preload), v.F(m.PreloadShare), v.F(m.DynamicRating), v.Percent(limit))
			},
			At:     at("nut.preload"),
			Enters: quantities(m.DynamicRating),
			Levers: levers(lessPreload, higherCa),
		},
		{
			Limit:   Limit{Name: "contact", Doc: "preload over the least preload that keeps contact", Kind: unit.None, Sense: AtLeast, Default: 1},
			Value:   m.Preload,
			Against: m.GapPreload,
			Needs:   quantities(m.WorkingForce),
			Also:    quantities(m.Backlash),
			Reasons: []Reason{{"no accuracy is asked", func(v *View) bool {
				return v.Value(field("accuracy.positioning")) == nil && v.Value(field("accuracy.repeatability")) == nil
			}}},
			Say: func(v *View, _ float64) string {
				return fmt.Sprintf("preload %s loses contact under %s; from %s on both sides stay in contact", v.F(m.Preload), v.F(m.WorkingForce), v.F(m.GapPreload))
			},
			At:     at("nut.preload"),
			Enters: quantities(m.Mass, m.CarriedMass),
			Levers: levers(morePreload, gentler, longerRamp, lessThrust),
		},
	},
}
