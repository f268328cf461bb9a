package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

// asked is for rules about an accuracy nobody may have asked for.
func asked(path, what string) Reason {
	return Reason{"no " + what + " is asked", undeclared(path)}
}

var _ = register(Rule{
	Name:     "accuracy-budget",
	Question: "Do the errors of screw, heat, stiffness and play stay within the asked positioning?",
	Doc: `The parts are added, not combined by squares: mean travel deviation of the grade
over the stroke, half its variation, thermal growth, deflection under the friction
that turns round on reversal, and half the play where positions are approached from
both sides (the default; declare accuracy.approach otherwise). The asked positioning
is half the band: ± the value. Encoder, guide and frame are not in it.

Transport grades (C7, C10, T) have no mean deviation over the travel but only one per
300 mm. ISO 3408-3 reads that as 2·l_u/300·v300, many trade tables as half of it; the
first, cautious one counts unless accuracy.transport_factor says 1. A measured and
compensated lead is not covered: waive with the measurement as reason.`,
	Source:   "JIS B 1192, ISO 3408-3:2006 (tables with their provenance); adding up: common practice, no source",
	Severity: Error,
	Reasons:  []Reason{asked("accuracy.positioning", "positioning")},
	Tests: []Test{{
		Limit:   Limit{Name: "limit", Doc: "budget over the asked positioning", Kind: unit.Percentage, Sense: AtMost, Default: 1},
		Value:   m.AccuracyBudget,
		Against: m.Positioning,
		Needs:   quantities(m.MeanDeviation, m.Variation, m.ThermalGrowth, m.ElasticPart, m.HalfPlay),
		Say: func(v *View, _ float64) string {
			half := v.Show(v.V(m.Variation)/2, unit.Length)
			return fmt.Sprintf("errors add up to ±%s; ±%s is asked: travel deviation %s, half its variation %s, heat %s, deflection %s, play %s",
				v.F(m.AccuracyBudget), v.F(m.Positioning), v.F(m.MeanDeviation), half, v.F(m.ThermalGrowth), v.F(m.ElasticPart), v.F(m.HalfPlay))
		},
		At:     at("accuracy.positioning"),
		Enters: quantities(m.Grade, m.Stroke, m.TemperatureRise, m.Backlash, m.TransportFactor),
		Levers: levers(finer, cooler, lessPlay, lessFriction, lessDrag, stifferNut, oneSide),
	}},
})
