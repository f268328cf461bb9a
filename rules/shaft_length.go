package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var shaftLength = judge.Rule{
	Name:     "shaft-length",
	Question: "Is the shaft long enough for its travel, and is the part available in this length?",
	Doc: `The shaft must hold stroke, overtravel at both ends, the nut and both ends without
thread. Nor may it be longer than the maximum length of the part (screw.longest), where that is
declared.`,
	Source:   "geometry",
	Severity: judge.Error,
	Fit:      true,
	Tests: []judge.Test{
		{
			Limit:   judge.Limit{Name: "limit", Doc: "shaft length over the minimum length", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
			Value:   m.ShaftLength,
			Against: m.ShaftNeeded,
			Needs:   quantities(m.Stroke, m.Overtravel, m.NutLength, m.EndLengths),
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("shaft %s is too short: stroke %s, overtravel 2 × %s, nut %s and ends %s need %s",
					v.F(m.ShaftLength), v.F(m.Stroke), v.F(m.Overtravel), v.F(m.NutLength), v.F(m.EndLengths), v.F(m.ShaftNeeded))
			},
			At:         at("screw.length"),
			Inputs:     quantities(m.Stroke, m.Overtravel, m.NutLength, m.EndLengths),
			Parameters: parameters(longerShaft),
		},
		{
			Limit:   judge.Limit{Name: "longest", Doc: "shaft length over the maximum length of the part", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
			Value:   m.ShaftLength,
			Against: m.LongestShaft,
			Reasons: []judge.Reason{{Words: "no maximum length is declared", If: func(v *judge.View) bool { return !v.Calc.Known(m.LongestShaft) }}},
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("shaft %s exceeds the maximum length of the part, %s", v.F(m.ShaftLength), v.F(m.LongestShaft))
			},
			At:         at("screw.length"),
			Inputs:     quantities(m.LongestShaft),
			Parameters: parameters(shorterBar),
		},
	},
}
