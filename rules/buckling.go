package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var buckling = judge.Rule{
	Name:     "buckling",
	Question: "Is the compressed length of the shaft safe against buckling?",
	Doc: `Only compression buckles a shaft, over the length between thrust bearing and nut.
Declare supports.drive_at: a lifting axis that hangs from a fixed end at the top is pulled by
its weight; on a fixed end at the bottom it is pushed. If it is not declared, or both ends take
thrust, every force is taken as compression: cautious. An emergency stop is included, and
load.standstill in the direction of its sign.

The length is supports.loaded_length, the longest distance from thrust bearing to nut over the
travel; if not declared, the whole span. The end condition is that of the two supports, as is
usual; declare supports.buckling_ends if yours differs (a nut on a stiff carriage next to a
fixed end is nearer to fixed–fixed).

Between two fixed ends a warm shaft cannot grow: what supports.stretch does not take up pushes
with E·A·(α·ΔT − δ_s/L_s) over the whole span, in addition to the push of the carriage. The
lower buckling load decides: that of the whole span between two fixed ends, or that of the
pushed length. Compliance of bearings and housings is ignored: cautious. Without a declared
temperature rise such a shaft is not judged. Let the shaft grow (far end supported), stretch it,
or keep it cool; see stretch for the force this stores.

Long shafts follow Euler, short ones Johnson's parabola with the yield strength. The safety of 2
is applied once: trade coefficients already include 0.5.`,
	Source:   "Euler column theory; Shigley's Mechanical Engineering Design, ch. 4 (Johnson); safety 2: common practice, no source",
	Severity: judge.Error,
	Reasons: []judge.Reason{{Words: "the shaft is never in compression", If: func(v *judge.View) bool {
		f, ok := v.Calc.Value(m.WholePush)
		return ok && f <= 0
	}}},
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "safety against buckling", Kind: unit.None, Sense: judge.AtLeast, Default: 2},
		Value: m.BucklingSafety,
		Needs: quantities(m.Buckling, m.WholePush, m.LoadedLength),
		Say: func(v *judge.View, limit float64) string {
			if v.V(m.ThermalPush) > 0 {
				return sayWarm(v, limit)
			}
			assumed := ""
			if v.Value(judge.Field("supports.loaded_length")) == nil {
				assumed = " (whole span; no loaded length declared)"
			}
			return fmt.Sprintf("compressive load %s over %s%s; buckling load %s: safety %s, minimum %s",
				v.F(m.WholePush), v.F(m.LoadedLength), assumed, v.F(m.Buckling), v.Ratio(v.V(m.BucklingSafety)), v.Ratio(limit))
		},
		At: func(v *judge.View) (*spec.Field, int) {
			if v.Value(judge.Field("supports.loaded_length")) != nil {
				return judge.Field("supports.loaded_length"), -1
			}
			return judge.Field("supports.span"), -1
		},
		Inputs: quantities(m.DriveEnd, m.FarEnd, m.DriveAt, m.BucklingEnds, m.RootDiameter, m.Mass, m.CarriedMass, m.Standstill),
		More: func(v *judge.View) []*m.Quantity {
			out := payload(v)
			if v.V(m.ThermalPush) > 0 {
				out = append(out, m.Stretch, m.Expansion, m.TemperatureRise, m.Span)
			}
			slender := 4 * v.V(m.LoadedLength) / v.V(m.RootDiameter)
			if slender < m.TransitionSlenderness(v.V(m.BucklingFixity), v.V(m.ElasticModulus), v.V(m.YieldStrength)) {
				out = append(out, m.YieldStrength) // Johnson
			}
			return out
		},
		Parameters: parameters(shorterPush, shorterSpan, thicker, lighter, lessPayload, gentler, longerRamp, lessThrust, held, cooler, moreStretch, farLoose, driveMoved),
	}},
}

// sayWarm words what pushes a warm shaft between two fixed ends.
func sayWarm(v *judge.View, limit float64) string {
	load, over := v.F(m.Buckling), v.F(m.LoadedLength)
	if v.V(m.SpanBuckling) <= v.V(m.Buckling) {
		load, over = v.F(m.SpanBuckling), "the span of "+v.F(m.Span)
	}
	return fmt.Sprintf("compressive load %s over %s, %s of it from a shaft %s warmer between two fixed ends; buckling load %s: safety %s, minimum %s",
		v.F(m.WholePush), over, v.F(m.ThermalPush), v.F(m.TemperatureRise), load, judge.Rough(v.V(m.BucklingSafety)), judge.Rough(limit))
}

// moreStretch takes up growth between two fixed ends.
var moreStretch = &judge.Parameter{Leaf: m.Stretch, Words: "stretch (a stored force) ≥ %s", Up: true, Create: true, If: bothEndsFixed}

// farLoose lets a shaft between two fixed ends grow.
var farLoose = &judge.Parameter{Leaf: m.FarEnd, Words: "far end free to move axially, supported", To: m.SupportedEnd, If: bothEndsFixed}

func bothEndsFixed(v *judge.View) bool {
	return v.V(m.DriveEnd) == m.FixedEnd && v.V(m.FarEnd) == m.FixedEnd
}

// driveMoved turns the shaft round, so that what pushed it pulls.
var driveMoved = &judge.Parameter{Leaf: m.DriveAt, Words: "drive end at the top", To: m.DriveAtTop, If: func(v *judge.View) bool {
	return v.V(m.Incline) > 0
}}
