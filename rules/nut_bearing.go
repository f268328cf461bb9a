package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var nutBearing = judge.Rule{
	Name:     "nut-bearing",
	Question: "Does the bearing of a driven nut reach the required life and static safety?",
	Doc: `A nut that turns has a bearing of its own, which takes all the axial load. Its
life by ISO 281:2007 at the required reliability, under the mean load with the load factor, must
reach the required life; its static rating must be 1.5 times the peak axial force. The ratings
are nut.bearing_dynamic_rating and nut.bearing_static_rating, axial. Preload of the bearing and
the pull of its belt are not counted.`,
	Source:   "ISO 281:2007, ISO 76; 1.5: common practice, no source",
	Severity: judge.Error,
	Reasons:  []judge.Reason{shaftTurns},
	Tests: []judge.Test{
		{
			Limit: judge.Limit{Name: "life", Doc: "life of the nut's bearing over the required life", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
			Value: m.NutBearingLifeRatio,
			Needs: quantities(m.NutBearingLife, m.MeanLoad),
			Also:  quantities(m.Turning),
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("nut bearing life %s at %s and load factor %s; required %s", v.F(m.NutBearingLife), v.F(m.MeanLoad), v.F(m.LoadFactor), v.F(m.ServiceLife))
			},
			At:         at("nut.bearing_dynamic_rating"),
			Inputs:     quantities(m.NutBearingDynamic, m.Mass, m.CarriedMass, m.LoadFactor, m.ServiceLife),
			More:       payload,
			Parameters: parameters(nutBearingC, lighter, lessPayload, gentler, lessThrust, fewerHours, lessLife),
		},
		{
			Limit: judge.Limit{Name: "static", Doc: "static rating of the nut's bearing over the peak axial force", Kind: unit.None, Sense: judge.AtLeast, Default: 1.5},
			Value: m.NutBearingStaticSafety,
			Needs: quantities(m.PeakForce),
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("peak axial force %s, static rating of the nut bearing %s: safety %s, minimum %s",
					v.F(m.PeakForce), v.F(m.NutBearingStatic), judge.Rough(v.V(m.NutBearingStaticSafety)), v.Ratio(limit))
			},
			At:         at("nut.bearing_static_rating"),
			Inputs:     quantities(m.NutBearingStatic, m.Mass, m.CarriedMass, m.EmergencyDecel),
			More:       payload,
			Parameters: parameters(nutBearingC0, lighter, lessPayload, gentler, lessThrust, gentleStop),
		},
	},
}

var (
	nutBearingC  = &judge.Parameter{Leaf: m.NutBearingDynamic, Words: "dynamic rating of the nut bearing ≥ %s", Up: true}
	nutBearingC0 = &judge.Parameter{Leaf: m.NutBearingStatic, Words: "static rating of the nut bearing ≥ %s", Up: true}
)
