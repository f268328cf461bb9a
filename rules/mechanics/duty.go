package mechanics

import (
	"math"

	u "trammel/spec/unit"
)

// Upright is the incline from which an axis counts as upright for its grease: 45°.
const Upright = math.Pi / 4

// GreaseFactor is the part of its usual interval that a grease holds at a
// temperature t in K: half for each 15 K above 70 °C, and half again upright. Below 70 °C
// nothing is gained (bearing handbooks, for greases good to 120 °C; common practice, no
// source). A grease with a limit beyond 120 °C keeps its interval by as much longer
// (no source). Unknown temperatures count as 70 °C and a limit of 120 °C.
func GreaseFactor(t, limit float64, upright bool) float64 {
	k := 1.0
	if base := 343.15 + math.Max(0, or(limit, 0)-393.15); t > base {
		k = math.Pow(2, -(t-base)/15)
	}
	if upright {
		k /= 2
	}
	return k
}

// GreaseTurns are the revolutions after which a thrust ball bearing of the bore d in m
// that turns at n in rad/s is greased anew: by hours it is 14·10⁶/(n·√d) − 4·d with d
// in mm and n in rpm (an empirical formula of guides to drive elements, with the
// factor 1 of thrust bearings). It is zero where the speed leaves none.
func GreaseTurns(d, n float64) float64 {
	mm, rpm := d*1e3, n*60/(2*math.Pi)
	return math.Max(0, 60*(14e6/math.Sqrt(mm)-4*mm*rpm))
}

// Grease.
var (
	GreasePart = calc(Quantity{
		Name: "grease_factor", Section: OfService, Symbol: "k_gr", Title: "share of the usual regreasing interval left at high temperature and at an incline of 45° or more", Kind: u.Percentage,
		Formula: "2^(−max(0, ϑ_n − 343.15 − max(0, ϑ_g2 − 393.15))/15)/2 if ϑ_n is given and ϑ_g2 is given and θ_i ≥ π/4; 2^(−max(0, ϑ_n − 343.15 − max(0, ϑ_g2 − 393.15))/15) if ϑ_n is given and ϑ_g2 is given; 2^(−max(0, ϑ_n − 343.15)/15)/2 if ϑ_n is given and θ_i ≥ π/4; 2^(−max(0, ϑ_n − 343.15)/15) if ϑ_n is given; 1/2 if θ_i ≥ π/4; 1",
		Source:  "bearing handbooks: half for 15 K above 70 °C with greases good to 120 °C, half for vertical shafts; as much later for greases good beyond: common practice, no source",
		Needs:   qs(Incline), May: qs(NutTemperature, GreaseMax),
		inForce: func(a []float64) string {
			f := "1"
			if a[1] == a[1] {
				f = "2^(−max(0, ϑ_n − 343.15" + given(" − max(0, ϑ_g2 − 393.15)", a[2], " − max(0, ϑ_g2 − 393.15)") + ")/15)"
			}
			if a[0] >= Upright {
				f += "/2"
			}
			return f
		},
	}, f3(func(incline, t, limit float64) float64 { return GreaseFactor(t, limit, incline >= Upright) }))

	RegreaseTurns = calc(Quantity{
		Name: "regrease_revolutions", Section: OfService, Symbol: "N_g", Title: "revolutions between two greasings", Kind: u.Revolutions,
		Formula: "N_r·t_g", Source: srcElementary, Needs: qs(RevsPerYear, RegreaseEvery),
	}, f2(func(n, t float64) float64 { return n * t / Year }))

	UsualTurns = calc(Quantity{
		Name: "grease_revolutions", Section: OfService, Symbol: "N_gr", Title: "revolutions that a thrust ball bearing of the same diameter runs between two greasings", Kind: u.Revolutions,
		Formula: "max(0, 60·(14·10⁶/√(d_0/1 mm) − 240·(d_0/1 mm)·n_m))", Source: "empirical formula of guides to drive elements, factor 1 of thrust bearings; common practice, no source",
		Needs: qs(NominalDiameter, MeanRotation),
	}, f2(GreaseTurns))

	RegreaseShare = calc(Quantity{
		Name: "regrease_share", Section: OfService, Symbol: "k_g", Title: "revolutions between two greasings over those of a thrust ball bearing", Kind: u.Percentage,
		Formula: "N_g/N_gr", Source: srcElementary, Needs: qs(RegreaseTurns, UsualTurns),
	}, f2(func(n, usual float64) float64 { return n / usual }))

	RockingTurns = fold(Quantity{
		Name: "rocking_turns", Section: OfLayout, Symbol: "N_min", Title: "revolutions of the shortest back-and-forth movement in the cycle", Kind: u.Revolutions,
		Formula: "min(max |s_i|, max(|s_i|, |before(s_i)|) if s_i·before(s_i) < 0)/P_h", Source: srcGeometry,
		Needs: qs(MoveDistance, Lead),
	}, func(s [][]float64, a []float64) float64 { return ShortestRocking(s[0]) / a[0] })
)

// ShortestRocking is the longer of two moves in m that follow each other in opposite
// directions, where it is the shortest in a cycle of moves of distances s, which begins
// again at its end. Moves of no distance are passed over. Without a reversal it is the
// longest move.
func ShortestRocking(s []float64) float64 {
	last, least := 0.0, 0.0
	for _, d := range s {
		if d != 0 {
			last = d
		}
		least = math.Max(least, math.Abs(d))
	}
	for _, d := range s {
		if d == 0 {
			continue
		}
		if d*last < 0 {
			least = math.Min(least, math.Max(math.Abs(d), math.Abs(last)))
		}
		last = d
	}
	return least
}

// Couplings and brakes.
var (
	CycleEndTorque = fold(Quantity{
		Name: "cycle_end_torque", Section: OfDrive, Symbol: "T_dc", Title: "peak torque at the driven end in the cycle, of all screws that its motor turns", Kind: u.Torque,
		Formula: "z_m·max |T_j|", Source: srcElementary, Needs: qs(PhaseTorque, PhaseTime, MotorScrews),
	}, func(s [][]float64, a []float64) float64 { return a[0] * peakOverPhases(s, nil) })

	CouplingPeak = calc(Quantity{
		Name: "coupling_peak_torque", Section: OfDrive, Symbol: "T_cp", Title: "permitted peak torque of the coupling; its rated torque if not declared",
		Kind: u.Torque, Formula: "T_cpd if T_cpd is given; T_cr", Source: "the cautious reading; " + srcCommon, May: qs(CouplingPeakGiven, CouplingTorque), Lacks: qs(CouplingTorque),
		inForce: func(a []float64) string {
			if a[0] == a[0] {
				return "T_cpd"
			}
			return "T_cr"
		},
	}, f2(or))

	MotorEndTorque = calc(Quantity{
		Name: "motor_end_torque", Section: OfDrive, Symbol: "T_dm", Title: "torque at the coupling when the motor gives all it can", Kind: u.Torque,
		Formula: "T_sl·i", Source: srcElementary, Needs: qs(StallTorque, Ratio),
	}, f2(func(t, i float64) float64 { return t * i }))

	ScrewBrakeSafety = calc(Quantity{
		Name: "screw_brake_safety", Section: OfDrive, Symbol: "S_hs", Title: "holding torque of the brake on the screw over the torque of the load", Kind: u.None,
		Formula: "T_br/(z_m·T_h) if T_br is given; 0", Source: srcElementary, Needs: qs(HoldingTorque, MotorScrews), May: qs(BrakeGiven),
		inForce: func(a []float64) string {
			if a[2] == a[2] {
				return "T_br/(z_m·T_h)"
			}
			return "0"
		},
	}, func(a []float64) float64 {
		if a[2] != a[2] {
			return 0 * a[0] * a[1]
		}
		return a[2] / (a[1] * a[0])
	})
)
