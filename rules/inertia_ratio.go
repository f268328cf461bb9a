package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var inertiaRatio = judge.Rule{
	Name:     "inertia-ratio",
	Question: "Does the inertia of the load suit the rotor?",
	Doc: `Inertia of screw, coupling and moved mass, seen by the motor through the ratio, over
that of the rotor. Up to 10 most drives can be tuned well; above, it depends on the drive.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "inertia of the load over that of the rotor", Kind: unit.None, Sense: judge.AtMost, Default: 10},
		Value: m.InertiaRatio,
		Needs: quantities(m.LoadInertia, m.TurningInertia),
		Say: func(v *judge.View, limit float64) string {
			return fmt.Sprintf("load inertia is %s × rotor inertia (%s to %s); usual maximum %s",
				v.Ratio(v.V(m.InertiaRatio)), v.F(m.LoadInertia), v.F(m.RotorInertia), v.Ratio(limit))
		},
		At:         at("drive.motor"),
		Inputs:     quantities(m.RotorInertia, m.NominalDiameter, m.ShaftLength, m.Mass, m.CarriedMass, m.Lead, m.Ratio),
		Parameters: parameters(moreRotor, higherRatio, lowerLead, lighter),
	}},
}
