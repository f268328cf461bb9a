package mechanics

import (
	"math"
	"strings"

	u "trammel/spec/unit"
)

// Sag gives the greatest deflection over w·L⁴/(E·I), and the greatest slope over
// w·L³/(E·I), of a uniform beam under its own weight for a pair of ends: 5/384 and
// 1/24 supported, 0.0054161 and 1/48 fixed and supported, 1/384 and √3/216 fixed,
// 1/8 and 1/6 fixed and free (beam tables; the values in between by calculus).
func Sag(pair float64) (deflection, slope float64) {
	switch pair {
	case FixedFree:
		return 1.0 / 8, 1.0 / 6
	case SupportedSupported:
		return 5.0 / 384, 1.0 / 24
	case FixedSupported:
		// w·x·(L³ − 3·L·x² + 2·x³)/(48·E·I) is greatest at x = (1 + √33)/16·L.
		x := (1 + math.Sqrt(33)) / 16
		return x * (1 - 3*x*x + 2*x*x*x) / 48, 1.0 / 48
	case FixedFixed:
		return 1.0 / 384, math.Sqrt(3) / 216
	}
	return math.NaN(), math.NaN()
}

// sags and slopes are the formulas of Sag by pair of ends.
var (
	sags   = []string{"ρ·A·g·cos θ_i·L_s⁴/(8·E·I)", "5/384·ρ·A·g·cos θ_i·L_s⁴/(E·I)", "ρ·A·g·cos θ_i·L_s⁴/(E·I)·(1 + √33)/16·(1 − 3·((1 + √33)/16)² + 2·((1 + √33)/16)³)/48", "ρ·A·g·cos θ_i·L_s⁴/(384·E·I)"}
	slopes = []string{"ρ·A·g·cos θ_i·L_s³/(6·E·I)", "ρ·A·g·cos θ_i·L_s³/(24·E·I)", "ρ·A·g·cos θ_i·L_s³/(48·E·I)", "√3/216·ρ·A·g·cos θ_i·L_s³/(E·I)"}
)

// byEnds writes the cases of a formula, one for each pair of ends.
func byEnds(values []string) string {
	var out []string
	for pair := range values {
		out = append(out, pairText("ends", float64(pair), values...))
	}
	return strings.Join(out, "; ")
}

// caseOfEnds gives the case for the ends, which are a node's first two values.
func caseOfEnds(values []string) func(a []float64) string {
	return func(a []float64) string { return pairText("ends", EndPair(a[0], a[1]), values...) }
}

// The shaft under its own weight.
var (
	ShaftSag = calc(Quantity{
		Name: "shaft_sag", Section: OfSpeedLimits, Symbol: "δ_g", Title: "sag of the shaft under its own weight", Kind: u.Length,
		Formula: byEnds(sags), Source: "beam tables",
		Needs: qs(DriveEnd, FarEnd, Density, RootArea, Incline, Span, ElasticModulus, RootMoment), inForce: caseOfEnds(sags),
	}, func(a []float64) float64 {
		k, _ := Sag(EndPair(a[0], a[1]))
		return k * weightAcross(a) * math.Pow(a[5], 4) / (a[6] * a[7])
	})

	ShaftSlope = calc(Quantity{
		Name: "shaft_slope", Section: OfSpeedLimits, Symbol: "φ_g", Title: "maximum slope of the shaft under its own weight", Kind: u.Angle,
		Formula: byEnds(slopes), Source: "beam tables",
		Needs: qs(DriveEnd, FarEnd, Density, RootArea, Incline, Span, ElasticModulus, RootMoment), inForce: caseOfEnds(slopes),
	}, func(a []float64) float64 {
		_, k := Sag(EndPair(a[0], a[1]))
		return k * weightAcross(a) * math.Pow(a[5], 3) / (a[6] * a[7])
	})

	NutBearingLife = calc(Quantity{
		Name: "nut_bearing_life_years", Section: OfService, Symbol: "L_nb", Title: "calendar life of the bearing of a turning nut at the required reliability", Kind: u.Span,
		Formula: "f_rb·(C_nb/(F_m·f_w))³·10⁶/N_r", Source: "ISO 281:2007 (rating life of ball bearings)",
		Needs: qs(NutBearingDynamic, LoadFactor, MeanLoad, RevsPerYear, BearingReliability),
	}, func(a []float64) float64 { return a[4] * NominalLife(a[0], a[1], a[2]) / a[3] * Year })

	NutBearingLifeRatio = calc(Quantity{
		Name: "nut_bearing_life_ratio", Section: OfService, Symbol: "k_Ln", Title: "calendar life of the nut's bearing over the required life", Kind: u.None,
		Formula: "L_nb/L_rq", Source: srcElementary, Needs: qs(NutBearingLife, RequiredLife),
	}, f2(func(l, a float64) float64 { return l / a }))

	NutBearingStaticSafety = calc(Quantity{
		Name: "nut_bearing_static_safety", Section: OfService, Symbol: "S_0n", Title: "static safety of the bearing of a turning nut", Kind: u.None,
		Formula: "C_0nb/F_max", Source: "ISO 76 (static safety of rolling bearings)", Needs: qs(NutBearingStatic, PeakForce),
	}, f2(func(c, f float64) float64 { return c / f }))
)

// weightAcross is the weight of a metre of shaft square to it, in N/m, of what a
// sag takes. A vertical shaft has none.
func weightAcross(a []float64) float64 {
	cos := math.Cos(a[4])
	if cos < 1e-9 {
		cos = 0
	}
	return a[2] * a[3] * Gravity * cos
}
