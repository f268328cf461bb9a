package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var carriedMass = judge.Rule{
	Name:     "carried-mass",
	Question: "Is the declared total mass at least what the axis carries?",
	Doc: `Where load.moved_mass gives the total moved mass, as weighed or taken from the model,
it is used instead of the sum of carriage and carried axes. It must not be less than that sum:
otherwise something was added to a carried axis and the total was not updated. A carried axis
counts with its heaviest payload.`,
	Source:   "arithmetic",
	Severity: judge.Error,
	Fit:      true,
	Reasons:  []judge.Reason{{Words: "no total moved mass is declared; the sum is used", If: undeclared("load.moved_mass")}},
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "declared total mass over the sum", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
		Value:   m.MovedMassGiven,
		Against: m.SumOfMasses,
		Needs:   quantities(m.Mass, m.CarriedMass),
		Say: func(v *judge.View, _ float64) string {
			return fmt.Sprintf("moved_mass %s is less than carriage %s plus carried axes %s", v.F(m.MovedMassGiven), v.F(m.Mass), v.F(m.CarriedMass))
		},
		At:     at("load.moved_mass"),
		Inputs: quantities(m.Mass, m.CarriedMass),
	}},
}
