package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var shaftStress = judge.Rule{
	Name:     "shaft-stress",
	Question: "Does the root section carry the peak force and torque?",
	Doc: `Axial stress from the peak force (cycle, emergency stop, loss of a counterbalance)
and torsion from the peak torque on the screw, combined by von Mises in the root section,
against 147 N/mm². Both peaks are combined although they may not occur together: cautious.
Between two fixed ends the force of stretch is added, as mounted or as heat or cold changes it,
whichever is greater. The journals, often thinner than the root, are not judged here (see
journal-strength).`,
	Source:   "von Mises; 147 N/mm²: common practice, no source",
	Severity: judge.Error,
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "equivalent stress in the root section", Kind: unit.Stress, Sense: judge.AtMost, Default: 147e6},
		Value: m.EquivalentStress,
		Needs: quantities(m.PeakForce, m.PeakScrewTorque, m.AxialStress, m.HeldForce),
		Say: func(v *judge.View, limit float64) string {
			if v.V(m.HeldForce) > 0 {
				return fmt.Sprintf("equivalent stress %s in the root section (axial %s and %s between the fixed ends, torque %s); limit %s",
					v.F(m.EquivalentStress), v.F(m.PeakForce), v.F(m.HeldForce), v.F(m.PeakScrewTorque), v.Show(limit, unit.Stress))
			}
			return fmt.Sprintf("equivalent stress %s in the root section (axial %s, torque %s); limit %s", v.F(m.EquivalentStress), v.F(m.PeakForce), v.F(m.PeakScrewTorque), v.Show(limit, unit.Stress))
		},
		At:         at("screw.root_diameter"),
		Inputs:     quantities(m.RootDiameter, m.Lead, m.Mass, m.CarriedMass, m.EmergencyDecel),
		More:       strained,
		Parameters: parameters(thicker, lighter, lessPayload, gentler, longerRamp, lessThrust, gentleStop, lessStretch, cooler),
	}},
}
