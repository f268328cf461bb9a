package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// leadsDown reports whether weight acts along the axis.
func leadsDown(v *judge.View) bool { return v.V(m.Incline) > 0 }

var staticSafety = judge.Rule{
	Name:     "static-safety",
	Question: "Is the static rating safe against the peak force?",
	Doc: `The static rating (hardness and grade corrected) over the peak axial force of
cycle, emergency stop, standstill and loss of a counterbalance. Required: 1.5 for smooth running, 2 for
ordinary, 2.5 with shocks, and 0.5 more where weight acts along the axis, since a
dented raceway there can let the load down. Where duty gives a load factor instead
of shock, up to 1.2 is taken as smooth, up to 1.5 as ordinary.

Declare motion.emergency_deceleration: without it the emergency stop is not included.`,
	Source:   "ISO 3408-5:2006 (corrections, from memory); the safeties: common practice, no source",
	Severity: judge.Error,
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "static safety", Kind: unit.None, Sense: judge.AtLeast, Default: 2, Spread: "1.5 smooth, 2 ordinary, 2.5 shocks; 0.5 more with weight along the axis",
			Lacks: []*spec.Field{judge.Field("duty.shock")},
			By: func(v *judge.View) (float64, string, bool) {
				base, why := 0.0, ""
				fw := v.V(m.LoadFactorGiven)
				switch s := v.V(m.Shock); {
				case s == m.Smooth || fw <= 1.2:
					base, why = 1.5, "smooth"
				case s == m.Ordinary || fw <= 1.5:
					base, why = 2, "ordinary"
				case s == m.Shocks || fw > 1.5:
					base, why = 2.5, "with shocks"
				default:
					return 0, "", false
				}
				if leadsDown(v) {
					base, why = base+0.5, why+", weight along the axis"
				}
				return base, why, true
			}},
		Value: m.StaticSafety,
		Needs: quantities(m.PeakForce, m.ModifiedStaticRating, m.Incline),
		Also:  quantities(m.Shock, m.LoadFactorGiven),
		Say: func(v *judge.View, limit float64) string {
			because := ""
			if _, why, _ := v.TestLimit("static-safety", 0); why != "" {
				because = " (" + why + ")"
			}
			if v.V(m.EmergencyDecel) != v.V(m.EmergencyDecel) {
				because += "; emergency stop not included: no emergency_deceleration declared"
			}
			return fmt.Sprintf("peak axial force %s, effective static rating %s: safety %s, minimum %s%s",
				v.F(m.PeakForce), v.F(m.ModifiedStaticRating), v.Ratio(v.V(m.StaticSafety)), v.Ratio(limit), because)
		},
		At:         at("screw.static_rating"),
		Inputs:     quantities(m.StaticRating, m.Grade, m.Mass, m.CarriedMass, m.EmergencyDecel, m.Standstill),
		Parameters: parameters(higherC0a, lighter, lessPayload, gentler, longerRamp, lessThrust, gentleStop),
	}},
}
