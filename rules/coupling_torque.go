package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var _ = register(Rule{
	Name:     "coupling-torque",
	Question: "Does the coupling carry the greatest torque on the screw?",
	Doc: `The greatest torque on the screw over the phases, its own acceleration included, in an
emergency stop and when a counterbalance is lost,
against the coupling's rated torque. Shock factors of the coupling's data sheet are
for a policy to set, as a lower limit.`,
	Source:   "the part's data; elementary mechanics",
	Severity: Error,
	Applies: func(v *View) string {
		if v.Axis.Get(field("drive.coupling")) == nil {
			return "no coupling is declared"
		}
		return ""
	},
	Tests: []Test{{
		Limit:   Limit{Name: "limit", Doc: "greatest torque over the coupling's rated torque", Kind: unit.Percentage, Sense: AtMost, Default: 1},
		Value:   m.PeakScrewTorque,
		Against: m.CouplingTorque,
		Say: func(v *View, _ float64) string {
			return fmt.Sprintf("the screw takes up to %s; the coupling is rated for %s", v.F(m.PeakScrewTorque), v.F(m.CouplingTorque))
		},
		At:     at("drive.coupling"),
		Enters: quantities(m.CouplingTorque, m.Mass, m.CarriedMass, m.Lead, m.EmergencyDecel, m.StopBy),
		Levers: levers(coupler, gentleStop, longerRamp, gentler, lighter, lessPayload, lessThrust),
	}},
})
