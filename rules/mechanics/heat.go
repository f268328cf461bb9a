package mechanics

import (
	"math"

	u "trammel/spec/unit"
)

const srcHeld = "elementary strength of materials (a bar between rigid walls)"

// HeldBarForce is the force in N of two rigid ends on a bar of section area in
// m² and modulus e in Pa that would be longer by the strain warm and was
// stretched by the strain stretch: E·A·(warm − stretch), a push above zero
// (Hibbeler, Mechanics of Materials, ch. 4).
func HeldBarForce(e, area, warm, stretch float64) float64 { return e * area * (warm - stretch) }

// fixedBoth reports whether both ends, the first two values, take thrust.
func fixedBoth(a []float64) bool { return a[0] == FixedEnd && a[1] == FixedEnd }

// heldLacks asks for what the force between two fixed ends is made of.
func heldLacks(c *Calc) []*Quantity {
	if c.V(DriveEnd) == FixedEnd && c.V(FarEnd) == FixedEnd {
		return qs(Expansion, TemperatureRise, Span, RootArea, ElasticModulus)
	}
	return nil
}

// Heat between two fixed ends.
var (
	ThermalForce = calc(Quantity{
		Name: "thermal_force", Section: OfStrength, Symbol: "F_th", Title: "force of two fixed ends on the shaft in service, positive in compression", Kind: u.Force,
		Formula: "E·A·(α·ΔT − δ_s/L_s) if ends is fixed-fixed; 0", Source: srcHeld,
		Needs: qs(DriveEnd, FarEnd), May: qs(ElasticModulus, RootArea, Expansion, TemperatureRise, Span, Stretch),
		Lacks: qs(TemperatureRise), lackOf: heldLacks,
		inForce: func(a []float64) string {
			if !fixedBoth(a) {
				return "0"
			}
			return given("E·A·(α·ΔT − δ_s/L_s)", a[7], " − δ_s/L_s")
		},
	}, func(a []float64) float64 {
		if !fixedBoth(a) {
			return 0
		}
		return HeldBarForce(a[2], a[3], a[4]*a[5], or(a[7], 0)/a[6])
	})

	ThermalPush = calc(Quantity{
		Name: "thermal_push", Section: OfStrength, Symbol: "F_thp", Title: "compressive force of two fixed ends on the warm shaft", Kind: u.Force,
		Formula: "max(0, F_th)", Source: srcHeld, Needs: qs(ThermalForce),
	}, f1(func(f float64) float64 { return math.Max(0, f) }))

	HeldForce = calc(Quantity{
		Name: "held_force", Section: OfStrength, Symbol: "F_ff", Title: "peak force of two fixed ends on the shaft, as mounted or in service", Kind: u.Force,
		Formula: "max(F_str, |F_th|) if ends is fixed-fixed; 0", Source: srcHeld,
		Needs: qs(DriveEnd, FarEnd, ThermalForce), May: qs(StretchForce),
		inForce: func(a []float64) string {
			if !fixedBoth(a) {
				return "0"
			}
			return given("max(F_str, |F_th|)", a[3], "F_str, ")
		},
	}, func(a []float64) float64 {
		if !fixedBoth(a) {
			return 0
		}
		return math.Max(or(a[3], 0), math.Abs(a[2]))
	})

	StretchTemperature = calc(Quantity{
		Name: "stretch_temperature", Section: OfStrength, Symbol: "ΔT_s", Title: "temperature rise that the stretch compensates", Kind: u.TemperatureDifference,
		Formula: "δ_s/(α·L_s)", Source: srcElementary, Needs: qs(Stretch, Expansion, Span),
	}, f3(func(d, alpha, l float64) float64 { return d / (alpha * l) }))

	WholePush = calc(Quantity{
		Name: "whole_push", Section: OfStrength, Symbol: "F_ph", Title: "peak compressive force in the shaft, thermal force included", Kind: u.Force,
		Formula: "F_p + F_thp", Source: srcElementary, Needs: qs(PushedForce, ThermalPush),
	}, f2(func(f, h float64) float64 { return f + h }))

	SpanBuckling = calc(Quantity{
		Name: "span_buckling_load", Section: OfStrength, Symbol: "F_ks", Title: "buckling load of the whole span between two fixed ends", Kind: u.Force,
		Formula: "π·d_2²/4·S_y·(1 − S_y·(4·L_s/d_2)²/(16·π²·E)) if 4·L_s/d_2 < √(8·π²·E/S_y); π³·E·d_2⁴/(16·L_s²)", Source: "Shigley's Mechanical Engineering Design, ch. 4",
		Needs: qs(Span, RootDiameter, ElasticModulus, YieldStrength),
		inForce: func(a []float64) string {
			if 4*a[0]/a[1] < TransitionSlenderness(4, a[2], a[3]) {
				return "π·d_2²/4·S_y·(1 − S_y·(4·L_s/d_2)²/(16·π²·E))"
			}
			return "π³·E·d_2⁴/(16·L_s²)"
		},
	}, f4(func(l, d, e, sy float64) float64 { return BucklingLoad(4, l, d, e, sy) }))
)

// UnderPush is the part that is left of the critical speed of a shaft of length
// l in m between two fixed ends that push it with p in N; ei is its bending
// stiffness in N·m²: √(1 − P/P_k) with Euler's P_k = 4·π²·E·I/L², 0 from P_k on.
// Exact for two hinged ends; for two fixed ones up to 2 % low, as the square of
// the frequency falls along a curve above this line.
func UnderPush(p, l, ei float64) float64 {
	return math.Sqrt(math.Max(0, 1-p*l*l/(4*math.Pi*math.Pi*ei)))
}
