package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var stiffness = judge.Rule{
	Name:     "stiffness",
	Question: "Is the axis stiff enough for its ramps and its position loop?",
	Doc: `The moved mass has a natural frequency on the axial stiffness of shaft, nut,
bearing and housings, and on the twist of shaft and coupling, which the lead turns into travel.
At a lead of 1.4 times the root diameter twist halves the stiffness of the shaft. The compliance
of a belt is not included. A ramp much shorter than two periods leaves the mass swinging; where
accuracy.bandwidth is declared, the frequency must be at least twice the bandwidth of the
position loop. Both are rules of thumb: a warning.`,
	Source:   "ISO 3408-4:2006 (stiffness chain, from memory); both limits: common practice, no source",
	Severity: judge.Warning,
	Tests: []judge.Test{
		{
			Limit: judge.Limit{Name: "ramp", Doc: "natural periods in the shortest ramp", Kind: unit.None, Sense: judge.AtLeast, Default: 2},
			Value: m.RampPeriods,
			Needs: quantities(m.NaturalFrequency, m.DriveRigidity, m.ShortestRamp, m.HeaviestMass),
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("natural frequency %s (%s on %s): the shortest ramp %s lasts %s periods, minimum %s",
					v.F(m.NaturalFrequency), v.F(m.HeaviestMass), v.F(m.DriveRigidity), v.F(m.ShortestRamp), v.Ratio(v.V(m.RampPeriods)), v.Ratio(limit))
			},
			At:         at("load.mass"),
			Inputs:     quantities(m.NutStiffness, m.RootDiameter, m.LoadedLengthGiven, m.Span, m.DriveSupportStiffness, m.CouplingTwistGiven),
			Parameters: parameters(longerRamp, gentler, lighter, stifferNut, stifferEnd, stifferLink, thicker),
		},
		{
			Limit:   judge.Limit{Name: "bandwidth", Doc: "natural frequency over the required bandwidth", Kind: unit.None, Sense: judge.AtLeast, Default: 2},
			Value:   m.NaturalFrequency,
			Against: m.Bandwidth,
			Needs:   quantities(m.DriveRigidity, m.HeaviestMass),
			Reasons: []judge.Reason{required("accuracy.bandwidth", "bandwidth")},
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("natural frequency %s (%s on %s) is too low; minimum %s times the required bandwidth %s",
					v.F(m.NaturalFrequency), v.F(m.HeaviestMass), v.F(m.DriveRigidity), v.Ratio(limit), v.F(m.Bandwidth))
			},
			At:         at("accuracy.bandwidth"),
			Inputs:     quantities(m.Mass, m.NutStiffness, m.RootDiameter, m.LoadedLengthGiven, m.Span, m.DriveSupportStiffness, m.CouplingTwistGiven),
			Parameters: parameters(lessBandwidth, lighter, stifferNut, stifferEnd, stifferLink, thicker),
		},
	},
}
