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
	Doc: `Growth, thermal push and accuracy rest on accuracy.temperature_rise, a declared
value. Friction in nut and supports gives a mean power over the cycle (drag torque and the
loss of the thread times the angle turned, both at their usual values); the shaft gives it off to the air from its
surface. At best half of the nut's heat stays out of the shaft, that of the supports goes
into their housings, and the air around the turning shaft takes 60 W/(m²·K): a declared
rise below that cannot be. At worst all heat goes into the shaft and still air takes 5
W/(m²·K). Between the two the rise is uncertain: measure it and declare
accuracy.rise_measured, or declare environment.cooling. The rise is the mean of the shaft in steady running; under
a short stroke the middle of the shaft gets warmer than the mean. In vacuum nothing takes
the heat but the ends: measure.

An environment far warmer than the 20 °C at which machines are measured, beside a small rise, gives
a note: the rise is that of the shaft over its machine, and the machine may
not be as warm as the environment at the screw. Do not worry where the rise was measured.`,
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
		Nominal: true, // half of the heat and the best of airs are more to the side of the axis than any nut
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
