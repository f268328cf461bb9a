package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var temperatureRise = judge.Rule{
	Name:     "temperature-rise",
	Question: "Is the declared temperature rise possible with this friction and environment?",
	Doc: `Growth, thermal push and accuracy depend on the declared accuracy.temperature_rise. The mean
friction power over the cycle (drag torque and thread loss, both at their usual values) leaves
the shaft through its surface. At best half of the nut's heat stays out of the shaft and the air
takes 60 W/(m²·K): a declared rise below that is impossible. At worst all heat enters the shaft
and still air takes 5 W/(m²·K). Between the two, measure the rise and declare
accuracy.rise_measured, or declare environment.cooling. The rise is the mean of the shaft in
steady running; under a short stroke its middle gets warmer. In vacuum only the ends take heat:
measure.

An environment far warmer than 20 °C, where machines are measured, with a small declared rise
gives a note: the machine may not be as warm as the environment at the screw. Ignore it where the
rise was measured.`,
	Source:   "steady convection; 5 to 60 W/(m²·K), half of the heat, 40 K: common practice, no source; ISO 1 for 20 °C",
	Severity: judge.Warning,
	Fit:      true,
	Reasons: []judge.Reason{
		{Words: "no temperature rise is declared", If: undeclared("accuracy.temperature_rise")},
		{Words: "the temperature rise was measured", If: func(v *judge.View) bool { return v.Flag(judge.Field("accuracy.rise_measured")) }},
	},
	Check: func(v *judge.View) []judge.Fault {
		rise, place := v.Value(judge.Field("accuracy.temperature_rise")), v.Value(judge.Field("environment.max_temperature"))
		if rise == nil || place == nil || !judge.Above(v.V(m.EnvironmentOverRise), farWarmer) {
			return nil
		}
		return []judge.Fault{{At: rise.Field, Move: -1, Severity: judge.Note, Inputs: judge.Fields("environment.max_temperature", "environment"),
			Message: fmt.Sprintf("temperature rise %s in an environment of %s: is the machine itself that warm?", v.Text(rise), v.Text(place))}}
	},
	WantsBy: func(v *judge.View) []*spec.Field {
		rise := v.V(m.TemperatureRise)
		if !v.Calc.Known(m.EnvironmentCooling) && judge.Above(v.V(m.MostRise), rise) && !judge.Above(v.V(m.LeastRise), rise) {
			return judge.Fields("environment.cooling")
		}
		return nil
	},
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "minimum rise from friction over the declared rise", Kind: unit.None, Sense: judge.AtMost, Default: 1},
		Value:   m.LeastRise,
		Against: m.TemperatureRise,
		Nominal: true, // half of the heat and the best air are in the axis's favour
		Needs:   quantities(m.NutHeat, m.MostRise),
		Say: func(v *judge.View, _ float64) string {
			return fmt.Sprintf("friction heat %s of the nut warms the shaft by %s or more (%s in still air); declared rise %s",
				v.F(m.NutHeat), v.F(m.LeastRise), v.F(m.MostRise), v.F(m.TemperatureRise))
		},
		At:         at("accuracy.temperature_rise"),
		Inputs:     quantities(m.Preload, m.Lead, m.NominalDiameter, m.ShaftLength, m.EnvironmentCooling),
		Parameters: parameters(warmer, lessPreload, longerMove),
	}},
}

// farWarmer is how much warmer than a machine at 20 °C the place may be, beyond
// the declared rise, without a question.
const farWarmer = 40

var warmer = &judge.Parameter{Leaf: m.TemperatureRise, Words: "temperature rise ≥ %s", Up: true}
