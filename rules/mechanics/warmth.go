package mechanics

import (
	"fmt"
	"math"

	u "trammel/spec/unit"
)

// What is known of the heat that a shaft gives off to the air, in W/(m²·K), where
// nobody declares it: still air hardly takes 5, moving air 30 (common practice, no
// source), the air that a fast shaft turns 60 (rotating cylinders, Nu =
// 0.133·Re^(2/3)·Pr^(1/3), from memory). At least half of the heat of the nut goes into
// the shaft, at most all of it and that of the supports.
const (
	leastCooling = 5
	mostCooling  = 60
	leastShare   = 0.5
)

// ThreadLoss is the torque in N·m lost in a ball thread of lead p in m under an
// axial force f in N in the direction of travel: what driving asks more than
// F·P_h/2π, or what back-driving gives less.
func ThreadLoss(f, p, eta, etaBack float64) float64 {
	ideal := math.Abs(f) * p / (2 * math.Pi)
	if f >= 0 {
		return ideal * (1/eta - 1)
	}
	return ideal * (1 - math.Max(0, etaBack))
}

// LostPower is the power in W lost by a torque t in N·m at a speed n in rad/s:
// 2π·n·T, which is the 0.12·π·n·T in kJ/h of the literature with n in rpm.
func LostPower(t, n float64) float64 { return t * n }

// SurfaceRise is the temperature in K that a power p in W lifts the mean of a
// cylinder of diameter d and length l in m over the air, at h in W/(m²·K).
func SurfaceRise(p, h, d, l float64) float64 { return p / (h * math.Pi * d * l) }

// TemperatureFactor is the factor on the dynamic rating at a temperature in K: 1
// up to 150 °C, 0.95 at 175, 0.90 at 200 and 0.75 at 250 °C, straight between
// (rolling-bearing texts; common practice, no source). It is not defined above.
func TemperatureFactor(t float64) float64 {
	lo, hi := temperatureStep(t)
	if lo == hi {
		return lo[1]
	}
	return lo[1] + (hi[1]-lo[1])*(t-273.15-lo[0])/(hi[0]-lo[0])
}

// temperatureStep finds the neighbours in the table between which a temperature in K
// lies, in °C; the same one twice where nothing lies between.
func temperatureStep(t float64) (lo, hi [2]float64) {
	table := [...][2]float64{{150, 1}, {175, 0.95}, {200, 0.9}, {250, 0.75}}
	c := t - 273.15
	if c <= table[0][0] {
		return table[0], table[0]
	}
	for i := 1; i < len(table); i++ {
		if c <= table[i][0]+1e-9 {
			return table[i-1], table[i]
		}
	}
	return lo, [2]float64{math.NaN(), math.NaN()}
}

// temperatureText is the formula of TemperatureFactor for a temperature.
func temperatureText(t float64) string {
	lo, hi := temperatureStep(t)
	if lo == hi {
		return plainNumber(lo[1])
	}
	return fmt.Sprintf("%g − %g·(ϑ_n − %.2f)/%g", lo[1], math.Round((lo[1]-hi[1])*100)/100, lo[0]+273.15, hi[0]-lo[0])
}

// stableTo is the temperature in K up to which hardened steel that is not said to
// be stabilised keeps its size: 120 °C (common practice, no source).
const stableTo = 393.15

// nutHeatText is the formula of the nut's heat: of thread and drag, but for the drag of
// the supports where they have one.
func nutHeatText(drive, far float64) string {
	return given("(Σ (s·F_j·(1/η_0 − 1) if s·F_j ≥ 0; s·F_j·(max(0, η_b) − 1))·s_j + (T_d − T_b1 − T_b2)·2π·Σ s_j/P_h)/t_c", drive, " − T_b1", far, " − T_b2")
}

// Heat of friction.
var (
	NutHeat = fold(Quantity{
		Name: "nut_heat", Section: OfService, Symbol: "P_n", Title: "mean power lost in the nut over the cycle", Kind: u.Power,
		Formula: nutHeatText(0, 0), Source: srcElementary,
		Needs: qs(PhaseForce, PhaseDistance, MoveDirection, CycleTime, Lead, ThreadEfficiency, BackEfficiency, DragTorque), May: qs(DriveSupportDrag, FarSupportDrag),
		inForce: func(a []float64) string { return nutHeatText(a[8], a[9]) },
	}, func(s [][]float64, a []float64) float64 {
		work, drag := 0.0, a[4]-or(a[5], 0)-or(a[6], 0)
		for j, way := range s[1] {
			loss := ThreadLoss(s[0][j]*s[2][j/PhasesPerMove], a[1], a[2], a[3]) + drag
			work += LostPower(loss, 2*math.Pi*way/a[1]) // over the angle turned
		}
		return work / a[0]
	})

	FrictionHeat = calc(Quantity{
		Name: "friction_heat", Section: OfService, Symbol: "P_f", Title: "mean power lost in nut and supports over the cycle", Kind: u.Power,
		Formula: "P_n + (T_b1 + T_b2)·2π·N_c/t_c", Source: srcElementary, Needs: qs(NutHeat, RevsPerCycle, CycleTime), May: qs(DriveSupportDrag, FarSupportDrag),
		inForce: func(a []float64) string {
			b := joinedBy(" + ", given("T_b1", a[3], "T_b1"), given("T_b2", a[4], "T_b2"))
			if b == "" {
				return "P_n"
			}
			return "P_n + (" + b + ")·2π·N_c/t_c"
		},
	}, func(a []float64) float64 {
		return a[0] + LostPower(or(a[3], 0)+or(a[4], 0), 2*math.Pi*a[1]/a[2])
	})

	LeastRise = calc(Quantity{
		Name: "least_friction_rise", Section: OfService, Symbol: "ΔT_f1", Title: "minimum temperature rise of the shaft from its own friction", Kind: u.TemperatureDifference,
		Formula: "0.5·P_n/(h·π·d_0·l_1) if h is given; 0.5·P_n/(60·π·d_0·l_1)", Source: "steady convection; 60 W/(m²·K) and the share of the shaft are common practice, no source",
		Needs: qs(NutHeat, NominalDiameter, ShaftLength), May: qs(EnvironmentCooling),
		inForce: func(a []float64) string {
			if a[3] == a[3] {
				return "0.5·P_n/(h·π·d_0·l_1)"
			}
			return "0.5·P_n/(60·π·d_0·l_1)"
		},
	}, func(a []float64) float64 { return SurfaceRise(leastShare*a[0], or(a[3], mostCooling), a[1], a[2]) })

	MostRise = calc(Quantity{
		Name: "most_friction_rise", Section: OfService, Symbol: "ΔT_f2", Title: "maximum temperature rise of the shaft from its own friction", Kind: u.TemperatureDifference,
		Formula: "P_f/(h·π·d_0·l_1) if h is given; P_f/(5·π·d_0·l_1)", Source: "steady convection; 5 W/(m²·K) are common practice, no source",
		Needs: qs(FrictionHeat, NominalDiameter, ShaftLength), May: qs(EnvironmentCooling),
		inForce: func(a []float64) string {
			if a[3] == a[3] {
				return "P_f/(h·π·d_0·l_1)"
			}
			return "P_f/(5·π·d_0·l_1)"
		},
	}, func(a []float64) float64 { return SurfaceRise(a[0], or(a[3], leastCooling), a[1], a[2]) })

	EnvironmentOverRise = calc(Quantity{
		Name: "environment_over_rise", Section: OfService, Symbol: "ΔT_p", Title: "temperature of the environment above 20 °C, less the rise of the shaft", Kind: u.TemperatureDifference,
		Formula: "ϑ_p2 − 293.15 − ΔT", Source: "20 °C: ISO 1", Needs: qs(EnvironmentMax, TemperatureRise),
	}, f2(func(place, rise float64) float64 { return place - 293.15 - rise }))

	NutTemperature = calc(Quantity{
		Name: "nut_temperature", Section: OfLife, Symbol: "ϑ_n", Title: "maximum temperature of screw and nut: environment plus their own rise", Kind: u.Temperature,
		Formula: "ϑ_p2 + max(0, ΔT)", Source: srcElementary, Needs: qs(EnvironmentMax), May: qs(TemperatureRise),
		inForce: func(a []float64) string { return given("ϑ_p2 + max(0, ΔT)", a[1], " + max(0, ΔT)") },
	}, func(a []float64) float64 { return a[0] + math.Max(0, or(a[1], 0)) })

	HeatFactor = calc(Quantity{
		Name: "temperature_factor", Section: OfLife, Symbol: "f_T", Title: "dynamic rating factor for temperature", Kind: u.None,
		Formula: "1 if ϑ_n ≤ 393.15 or ϑ_n ≤ 423.15 and ϑ_st ≥ ϑ_n; 1 − 0.05·(ϑ_n − 423.15)/25 if ϑ_n ≤ 448.15 and ϑ_st ≥ ϑ_n; 0.95 − 0.05·(ϑ_n − 448.15)/25 if ϑ_n ≤ 473.15 and ϑ_st ≥ ϑ_n; 0.9 − 0.15·(ϑ_n − 473.15)/50 if ϑ_n ≤ 523.15 and ϑ_st ≥ ϑ_n", Source: "rolling-bearing texts: falls from 150 °C, and steel keeps its size to 120 °C where it is not stabilised; " + srcCommon,
		Needs: qs(NutTemperature), May: qs(StabilisedTo), Lacks: qs(StabilisedTo),
		inForce: func(a []float64) string { return temperatureText(a[0]) },
	}, func(a []float64) float64 {
		if a[0] > stableTo && !(a[1] >= a[0]) {
			return math.NaN()
		}
		return TemperatureFactor(a[0])
	})
)

// hotOr is the factor of temperature f in an environment of temperature t; 1 where nobody
// says how warm the environment is.
func hotOr(t, f float64) float64 {
	if t != t {
		return 1
	}
	return f
}

// heatLacks asks for the factor of temperature where the environment has one.
func heatLacks(c *Calc) []*Quantity {
	if math.IsNaN(c.V(EnvironmentMax)) {
		return nil
	}
	return qs(HeatFactor)
}
