package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var carriedMass = Rule{
	Name:     "carried-mass",
	Question: "Is the declared whole mass at least what the axis carries?",
	Doc: `Where load.moved_mass gives the whole moved mass, as weighed or taken from the model,
it is counted instead of the sum of carriage and carried axes. It must not be less than
that sum: then something was added to a carried axis and the whole was not weighed
again. A carried axis counts with its heaviest payload.`,
	Source:   "arithmetic",
	Severity: Error,
	Reasons:  []Reason{{"no whole moved mass is declared; the sum counts", undeclared("load.moved_mass")}},
	Tests: []Test{{
		Limit:   Limit{Name: "limit", Doc: "declared whole mass over the sum", Kind: unit.None, Sense: AtLeast, Default: 1},
		Value:   m.MovedMassGiven,
		Against: m.SumOfMasses,
		Needs:   quantities(m.Mass, m.CarriedMass),
		Say: func(v *View, _ float64) string {
			return fmt.Sprintf("moved_mass is %s; the carriage of %s and the carried axes of %s weigh %s", v.F(m.MovedMassGiven), v.F(m.Mass), v.F(m.CarriedMass), v.F(m.SumOfMasses))
		},
		At:     at("load.moved_mass"),
		Enters: quantities(m.Mass, m.CarriedMass),
	}},
}
