package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// atFixedSupport points at the support of the fixed end.
func atFixedSupport(v *judge.View) (*spec.Field, int) {
	if v.V(m.DriveEnd) == m.FixedEnd {
		return judge.Field("supports.drive_end_part"), -1
	}
	return judge.Field("supports.far_end_part"), -1
}

// bothFixed names what strains a shaft between two fixed ends.
func bothFixed(v *judge.View) []*m.Quantity {
	return append(payload(v), strained(v)...)
}

// strained names what two fixed ends hold a shaft by.
func strained(v *judge.View) []*m.Quantity {
	if v.V(m.HeldForce) > 0 {
		return quantities(m.Stretch, m.TemperatureRise)
	}
	return nil
}

var supportLife = judge.Rule{
	Name:     "support-life",
	Question: "Does the thrust bearing reach the required life and static safety?",
	Doc: `The fixed-side bearing takes the mean axial load with the load factor, and where both
ends are fixed the force of stretch or thermal growth all the time, without it. Its life
by ISO 281:2007 at the required reliability must reach the required life (the factor is
0.64 at 95 % and 0.25 at 99 %; editions before 2007, and ball screws to this day, have
0.62 and 0.21); its static rating must be 1.5 times the peak
force. With both ends fixed the lower rating is used and each end is taken to carry the
whole load, which is cautious. Where the nut turns, the bearings at the ends stand still:
only their static rating is judged.`,
	Source:   "ISO 281:2007, ISO 76; 1.5: common practice, no source",
	Severity: judge.Error,
	Reasons: []judge.Reason{{Words: "no end is fixed (see support-kind)", If: func(v *judge.View) bool {
		return v.V(m.DriveEnd) > m.FixedEnd && v.V(m.FarEnd) > m.FixedEnd
	}}},
	Tests: []judge.Test{
		{
			Limit:   judge.Limit{Name: "life", Doc: "life of the bearing over the required life", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
			Value:   m.SupportLifeRatio,
			Needs:   quantities(m.SupportLife, m.SupportLoad, m.SupportDynamic, m.RequiredLife),
			Also:    quantities(m.Turning),
			Reasons: []judge.Reason{nutTurns},
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("fixed-side bearing life %s at %s; required %s", v.F(m.SupportLife), v.F(m.SupportLoad), requiredLife(v))
			},
			At:         atFixedSupport,
			Inputs:     quantities(m.DriveSupportDynamic, m.FarSupportDynamic, m.Mass, m.CarriedMass, m.LoadFactor, m.ServiceLife, m.LifeBasis, m.Reliability),
			More:       bothFixed,
			Parameters: parameters(bearingC, lighter, lessPayload, gentler, lessThrust, lessStretch, cooler, fewerHours, lessLife),
		},
		{
			Limit: judge.Limit{Name: "static", Doc: "static rating of the bearing over the peak force", Kind: unit.None, Sense: judge.AtLeast, Default: 1.5},
			Value: m.SupportStaticSafety,
			Needs: quantities(m.SupportStatic, m.SupportPeak, m.PeakForce),
			Say: func(v *judge.View, limit float64) string {
				held := ""
				if strain := v.V(m.SupportPeak) - v.V(m.PeakForce); strain > 0 {
					held = fmt.Sprintf(" (axial force %s, stretch or thermal growth %s)", v.F(m.PeakForce), v.Show(strain, unit.Force))
				}
				return fmt.Sprintf("peak load of the fixed-side bearing %s%s, static rating %s: safety %s, minimum %s",
					v.F(m.SupportPeak), held, v.F(m.SupportStatic), v.Ratio(v.V(m.SupportStaticSafety)), v.Ratio(limit))
			},
			At:         atFixedSupport,
			Inputs:     quantities(m.DriveSupportStatic, m.FarSupportStatic, m.Mass, m.CarriedMass, m.EmergencyDecel),
			More:       bothFixed,
			Parameters: parameters(bearingC0, lighter, lessPayload, gentler, lessThrust, gentleStop, lessStretch, cooler),
		},
	},
}
