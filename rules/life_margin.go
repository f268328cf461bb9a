package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var lifeMargin = judge.Rule{
	Name:     "life-margin",
	Question: "Does the ball screw reach the required life?",
	Doc: `The life by ISO 3408-5 at the required reliability is turned into calendar time:
revolutions of a cycle, cycles a year from cycle time (rests included) and duty. It must reach
the required service life (see [life-basis](life-basis.md) for one in hours); less than 1.25
times that is a warning, since a life is a statistical figure and loads tend to grow.

Each direction of load works on its own flank; the lives of both combine by the 10/9 law. A
preload loads both flanks all the time and counts in full. The load factor includes what the
motion profile does not show. It raises the loads from outside (weight, friction, acceleration,
process), never the preload, which is built into the nut. The ranges are smooth 1.0 to 1.2,
ordinary 1.2 to 1.5, shocks 1.5 to 3.0: the life must hold at the upper end, and where only that
end fails the rule is not judged; declare load_factor to use a number. Declare whether the nut
is preloaded: nut.preload, or nut.backlash.

The life is that of the rolling contact, clean and well greased. Dirt, side load and short
strokes end it sooner; other rules look at those.`,
	Source:   "ISO 3408-5:2006 (formulas from memory); load factor, what it applies to, and the margin of 1.25: common practice, no source",
	Severity: judge.Error,
	Tests: []judge.Test{{
		Limit:  judge.Limit{Name: "limit", Doc: "calendar life over the required life", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
		Advice: &judge.Limit{Name: "advice", Doc: "calendar life over the required life below which there is a warning", Kind: unit.None, Sense: judge.AtLeast, Default: 1.25},
		Value:  m.LifeRatio,
		Needs:  quantities(m.LifeYears, m.LifeHours, m.RequiredLife),
		Say: func(v *judge.View, limit float64) string {
			required := "; required " + requiredLife(v)
			if limit != 1 {
				required = fmt.Sprintf(" is less than %s times the required %s", v.Ratio(limit), requiredLife(v))
			}
			return fmt.Sprintf("screw life %s (%s in motion)%s; mean load on the more heavily loaded flank, with load factor, %s",
				v.F(m.LifeYears), v.F(m.LifeHours), required, v.Show(max(v.V(m.MeanPlus), v.V(m.MeanMinus)), unit.Force))
		},
		At:         at("duty.service_life"),
		Inputs:     quantities(m.DynamicRating, m.Mass, m.MovedMassGiven, m.CarriedMass, m.LoadFactor, m.Preload, m.Grade, m.Lead, m.HoursPerDay, m.DaysPerYear, m.LifeBasis),
		More:       payload,
		Parameters: parameters(higherCa, lighter, lessPayload, gentler, longerRamp, lessThrust, lessPreload, fewerHours, lessLife),
	}},
}
