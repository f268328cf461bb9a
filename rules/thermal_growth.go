package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var thermalGrowth = judge.Rule{
	Name:     "thermal-growth",
	Question: "Does thermal growth stay within its share of the required positioning accuracy?",
	Doc: `Growth of the shaft over the stroke at the declared temperature rise, less what a
stretched mounting takes up, compared with half the required positioning. The lead of a
stretched shaft is taken to be ordered short by the growth, as is usual; more stretch than
growth makes the travel too long by the difference, which is judged the same way. Growth moves
all positions the same way for hours, so it should not eat the whole budget even where the sum
still holds.`,
	Source:   "elementary physics; 50 %: common practice, no source",
	Severity: judge.Warning,
	Reasons: []judge.Reason{
		required("accuracy.positioning", "positioning"),
		{Words: "the position loop reads a linear scale", If: func(v *judge.View) bool { return v.Declared(judge.Field("accuracy.scale")) }},
	},
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "growth over the required positioning", Kind: unit.Percentage, Sense: judge.AtMost, Default: 0.5},
		Value:   m.ThermalGrowth,
		Against: m.Positioning,
		Needs:   quantities(m.TemperatureRise),
		Say: func(v *judge.View, limit float64) string {
			if s := v.V(m.StretchTemperature); bothEndsFixed(v) && s > v.V(m.TemperatureRise) {
				return fmt.Sprintf("stretch %s is for a rise of %s, the declared rise is %s: travel is %s too long over the stroke; limit %s of the required %s",
					v.F(m.Stretch), v.F(m.StretchTemperature), v.F(m.TemperatureRise), v.F(m.ThermalGrowth), v.Percent(limit), v.F(m.Positioning))
			}
			return fmt.Sprintf("shaft grows %s over the stroke; limit %s of the required %s", v.F(m.ThermalGrowth), v.Percent(limit), v.F(m.Positioning))
		},
		At:         at("accuracy.temperature_rise"),
		Inputs:     quantities(m.Stroke, m.Positioning, m.Stretch, m.Expansion),
		Parameters: parameters(cooler, lessStretch, moreStretch),
	}},
}
