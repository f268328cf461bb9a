package mechanics

import (
	"math"
	"strings"

	u "trammel/spec/unit"
)

// Lambda gives the first root of the frequency equation of a uniform beam for
// the conditions of its two ends (FixedEnd, SupportedEnd, FreeEnd): 1.875104
// fixed–free, π supported–supported, 3.926602 fixed–supported, 4.730041
// fixed–fixed (Blevins, Formulas for Natural Frequency and Mode Shape,
// table 8-1). A shaft held less than that has none.
func Lambda(end1, end2 float64) float64 {
	switch EndPair(end1, end2) {
	case FixedFree:
		return 1.8751040687119611
	case SupportedSupported:
		return math.Pi
	case FixedSupported:
		return 3.9266023120479185
	case FixedFixed:
		return 4.7300407448627040
	}
	return math.NaN()
}

// EndPair names the pair of two end conditions, in any order; NaN for a shaft
// that is not held.
func EndPair(end1, end2 float64) float64 {
	lo, hi := math.Min(end1, end2), math.Max(end1, end2)
	switch {
	case lo == FixedEnd && hi == FixedEnd:
		return FixedFixed
	case lo == FixedEnd && hi == SupportedEnd:
		return FixedSupported
	case lo == FixedEnd && hi == FreeEnd:
		return FixedFree
	case lo == SupportedEnd && hi == SupportedEnd:
		return SupportedSupported
	}
	return math.NaN()
}

// CriticalSpeed is the first critical speed in rad/s of a uniform round shaft
// of diameter d in m between supports span m apart: λ²/L²·√(E·I/(ρ·A)), with
// modulus e in Pa and density rho in kg/m³ (Euler–Bernoulli; no margin inside).
func CriticalSpeed(lambda, span, d, e, rho float64) float64 {
	return lambda * lambda / (span * span) * math.Sqrt(e*d*d/(16*rho))
}

// Fixity is the end-fixity factor n in F = n·π²·E·I/L² of Euler's column for a
// pair of ends: 1/4, 1, 2.0457 and 4 (Euler column theory; 2.0457 = (x/π)² with
// tan x = x).
func Fixity(pair float64) float64 {
	switch pair {
	case FixedFree:
		return 0.25
	case SupportedSupported:
		return 1
	case FixedSupported:
		return 2.0457485161
	case FixedFixed:
		return 4
	}
	return math.NaN()
}

// pairText writes the value that belongs to a pair of end conditions of a name.
func pairText(name string, pair float64, values ...string) string {
	return values[int(pair)] + " if " + name + " is " + BucklingEnds.Words[int(pair)]
}

// BucklingLoad is the force in N at which a round column of diameter d and
// length l in m buckles, without any safety: Euler's n·π²·E·I/L², or, below the
// slenderness √(2·π²·n·E/S_y), Johnson's parabola
// A·S_y·(1 − S_y·(L/k)²/(4·n·π²·E)) with k = d/4 (Shigley's Mechanical
// Engineering Design, ch. 4). e and sy in Pa.
func BucklingLoad(n, l, d, e, sy float64) float64 {
	a, k := math.Pi*d*d/4, d/4
	s := l / k
	if s*s < TransitionSlenderness(n, e, sy)*TransitionSlenderness(n, e, sy) {
		return a * sy * (1 - sy*s*s/(4*n*math.Pi*math.Pi*e))
	}
	return n * math.Pi * math.Pi * e * a / (s * s)
}

// TransitionSlenderness is the length over radius of gyration below which
// Johnson's parabola holds: √(2·π²·n·E/S_y) (Shigley, ch. 4).
func TransitionSlenderness(n, e, sy float64) float64 {
	return math.Sqrt(2 * math.Pi * math.Pi * n * e / sy)
}

// CombinedStress is the equivalent stress in Pa (von Mises) of a round section
// of diameter d in m under axial force f in N and torque t in N·m.
func CombinedStress(f, t, d float64) float64 {
	s := 4 * f / (math.Pi * d * d)
	tau := 16 * t / (math.Pi * d * d * d)
	return math.Sqrt(s*s + 3*tau*tau)
}

// Geometry of the screw.
var (
	BallCircle = calc(Quantity{
		Name: "ball_circle_diameter", Section: OfSpeedLimits, Symbol: "D_pw", Title: "ball pitch circle diameter", Kind: u.Length,
		Formula: "D_pwd if D_pwd is given; 1.06·d_0 if k > 0; d_0", Source: "ISO 3408-1 (symbol); d_0 to 1.06·d_0 is common practice, no source",
		May: qs(BallCircleGiven, NominalDiameter, Case), Lacks: qs(NominalDiameter),
		inForce: func(a []float64) string {
			switch {
			case a[0] == a[0]:
				return "D_pwd"
			case a[2] > 0:
				return "1.06·d_0"
			}
			return "d_0"
		},
	}, func(a []float64) float64 {
		if a[0] != a[0] && a[2] > 0 {
			return 1.06 * a[1]
		}
		return or(a[0], a[1])
	})

	LeadAngle = calc(Quantity{
		Name: "lead_angle", Section: OfSpeedLimits, Symbol: "φ", Title: "lead angle on the ball pitch circle", Kind: u.Angle,
		Formula: "arctan(P_h/(π·D_pw))", Source: srcGeometry, Needs: qs(Lead, BallCircle),
	}, f2(AngleOfLead))

	RootArea = calc(Quantity{
		Name: "root_area", Section: OfSpeedLimits, Symbol: "A", Title: "cross-section of the shaft at the root diameter", Kind: u.Area,
		Formula: "π·d_2²/4", Source: srcGeometry, Needs: qs(RootDiameter),
	}, f1(func(d float64) float64 { return math.Pi * d * d / 4 }))

	RootMoment = calc(Quantity{
		Name: "root_second_moment", Section: OfSpeedLimits, Symbol: "I", Title: "second moment of area at the root diameter", Kind: u.SecondMoment,
		Formula: "π·d_2⁴/64", Source: srcGeometry, Needs: qs(RootDiameter),
	}, f1(func(d float64) float64 { return math.Pi * d * d * d * d / 64 }))
)

// Speed limits.
var (
	EndRoot = calc(Quantity{
		Name: "end_root", Section: OfSpeedLimits, Symbol: "λ", Title: "root of the frequency equation for the ends", Kind: u.None,
		Formula: "1.87510407 if ends is fixed-free; π if ends is supported-supported; 3.92660231 if ends is fixed-supported; 4.730040745 if ends is fixed-fixed", Source: "Blevins, Formulas for Natural Frequency and Mode Shape, table 8-1",
		Needs: qs(DriveEnd, FarEnd),
		inForce: func(a []float64) string {
			return pairText("ends", EndPair(a[0], a[1]), "1.87510407", "π", "3.92660231", "4.730040745")
		},
	}, f2(Lambda))

	Critical = calc(Quantity{
		Name: "critical_speed", Section: OfSpeedLimits, Symbol: "n_c", Title: "critical speed of the shaft, thermal compression included", Kind: u.RotationSpeed,
		Formula: "λ²/(2π·L_s²)·√(E·d_2²/(16·ρ))·√(max(0, 1 − F_thp·L_s²/(4·π²·E·I)))", Source: "Euler–Bernoulli beam; Blevins, table 8-1; under push the usual approximation for beam-columns",
		Needs: qs(EndRoot, Span, RootDiameter, ElasticModulus, Density, ThermalPush, RootMoment),
		inForce: func(a []float64) string {
			if a[5] > 0 {
				return "λ²/(2π·L_s²)·√(E·d_2²/(16·ρ))·√(max(0, 1 − F_thp·L_s²/(4·π²·E·I)))"
			}
			return "λ²/(2π·L_s²)·√(E·d_2²/(16·ρ))"
		},
	}, func(a []float64) float64 {
		return CriticalSpeed(a[0], a[1], a[2], a[3], a[4]) * UnderPush(a[5], a[1], a[3]*a[6])
	})

	CriticalShare = calc(Quantity{
		Name: "critical_share", Section: OfSpeedLimits, Symbol: "k_c", Title: "rotation speed over critical speed", Kind: u.Percentage,
		Formula: "n_max/n_c", Source: srcElementary, Needs: qs(MaxRotation, Critical),
	}, f2(func(n, c float64) float64 { return n / c }))

	DN = calc(Quantity{
		Name: "dn", Section: OfSpeedLimits, Symbol: "dn", Title: "ball circle diameter in mm times maximum speed in rpm", Kind: u.None,
		Formula: "(D_pw/1 mm)·(n_max/1 rpm)", Source: srcCommon, Needs: qs(BallCircle, MaxRotation),
	}, f2(DNValue))
)

// DNValue is the ball pitch circle diameter d (in m, counted in mm) times the
// speed n (in rad/s, counted in rpm).
func DNValue(d, n float64) float64 { return d * 1e3 * n * 30 / math.Pi }

// Thrust says which end of the shaft takes the thrust.
const (
	ThrustUnknown = iota // no end is fixed, or it is not said where the driven end stands
	ThrustAtStart        // the shaft is pushed by forces toward positive travel
	ThrustAtEnd          // the shaft is pushed by forces toward negative travel
	ThrustAtBoth
)

// thrustSide finds the side of the bearing that takes the thrust.
func thrustSide(driveEnd, farEnd, driveAt float64) float64 {
	drive, far := driveEnd == FixedEnd, farEnd == FixedEnd
	switch {
	case drive && far:
		return ThrustAtBoth
	case !drive && !far || driveAt != driveAt:
		return ThrustUnknown
	}
	atStart := driveAt == DriveAtStart || driveAt == DriveAtBottom
	if atStart == drive {
		return ThrustAtStart
	}
	return ThrustAtEnd
}

// pushedText is the formula of the pushed force for the side of the thrust
// bearing, without the terms of what is not declared; a holds what it takes.
func pushedText(a []float64) string {
	force, weight, closing := "max(|F_j|", "|%·g·sin θ_i − F_cb|", ", |F_ei|"
	held, lost := ", |F_h|", ", F_lb"
	switch a[2] {
	case ThrustAtStart:
		force, weight, closing, held = "max(0, F_j", "%·g·sin θ_i − F_cb", ", F_ei", ", F_h"
	case ThrustAtEnd:
		force, weight, closing, held, lost = "max(0, −F_j", "F_cb − %·g·sin θ_i", ", −F_ei", ", −F_h", ", −F_lb"
	}
	if a[11] != a[11] {
		weight = strings.NewReplacer(" − F_cb", "", "F_cb − ", "−").Replace(weight)
	}
	stop := func(m string) string {
		return strings.ReplaceAll(given(weight+" + |(% + m_cb)·a_h − μ·%·g·cos θ_i − F_d|", a[10], " − F_d"), "%", m)
	}
	if a[5] == a[5] && a[6] == a[6] {
		force += closing + given(", max("+stop("m")+", "+stop("m_max")+")·k_u/z", a[12], "·k_u/z")
	}
	if a[14] == a[14] {
		force += held
	}
	if a[3] > 0 {
		force += lost
	}
	return force + ")"
}

// Buckling and stress.
var (
	ThrustSide = calc(Quantity{
		Name: "thrust_side", Section: OfStrength, Symbol: "k_th", Title: "side of the thrust bearing: 0 not known, 1 start, 2 end, 3 both", Kind: u.None,
		Formula: "3 if ends is fixed-fixed; 1 if drive_end is fixed and drive_at is start/bottom or far_end is fixed and drive_at is end/top; 2 if drive_end is fixed and drive_at is end/top or far_end is fixed and drive_at is start/bottom; 0", Source: srcElementary,
		Needs: qs(DriveEnd, FarEnd), May: qs(DriveAt),
		inForce: func(a []float64) string {
			end, at := "far_end", "end/top"
			if a[0] == FixedEnd {
				end = "drive_end"
			}
			if a[2] == DriveAtStart || a[2] == DriveAtBottom {
				at = "start/bottom"
			}
			switch side := thrustSide(a[0], a[1], a[2]); side {
			case ThrustUnknown:
				return "0"
			case ThrustAtBoth:
				return "3 if ends is fixed-fixed"
			default:
				return plainNumber(side) + " if " + end + " is fixed and drive_at is " + at
			}
		},
	}, func(a []float64) float64 { return thrustSide(a[0], a[1], a[2]) })

	PushedForce = fold(Quantity{
		Name: "pushed_force", Section: OfStrength, Symbol: "F_p", Title: "peak compressive force between thrust bearing and nut", Kind: u.Force,
		Formula: "max(0, F_j, F_ei, max(m·g·sin θ_i − F_cb + |(m + m_cb)·a_h − μ·m·g·cos θ_i − F_d|, m_max·g·sin θ_i − F_cb + |(m_max + m_cb)·a_h − μ·m_max·g·cos θ_i − F_d|)·k_u/z if a_h is given, F_h, F_lb) if k_th = 1; max(0, −F_j, −F_ei, max(F_cb − m·g·sin θ_i + |(m + m_cb)·a_h − μ·m·g·cos θ_i − F_d|, F_cb − m_max·g·sin θ_i + |(m_max + m_cb)·a_h − μ·m_max·g·cos θ_i − F_d|)·k_u/z if a_h is given, −F_h, −F_lb) if k_th = 2; max(|F_j|, |F_ei|, max(|m·g·sin θ_i − F_cb| + |(m + m_cb)·a_h − μ·m·g·cos θ_i − F_d|, |m_max·g·sin θ_i − F_cb| + |(m_max + m_cb)·a_h − μ·m_max·g·cos θ_i − F_d|)·k_u/z if a_h is given, |F_h|, F_lb)", Source: srcElementary,
		Needs: qs(PhaseForce, PhaseTime, ThrustSide, LostBalance),
		May:   qs(MovedMass, HeaviestMass, HardestStop, Friction, Incline, BalanceMass, Drag, Counterbalance, Screws, Unevenness, StandstillForce, EmergencyDecel, MoveStopForce), Lacks: qs(HardestStop),
		inForce: pushedText,
	}, func(s [][]float64, a []float64) float64 {
		m := 0.0
		take := func(f float64) {
			switch a[0] {
			case ThrustAtStart:
			case ThrustAtEnd:
				f = -f
			default:
				f = math.Abs(f)
			}
			m = math.Max(m, f)
		}
		for j, f := range s[0] {
			if s[1][j] > 0 {
				take(f)
			}
		}
		take(a[1])
		if a[13] == a[13] && a[4] != a[4] {
			return math.NaN() // there is a stop, and how hard it is is not known
		}
		if a[3] == a[3] && a[4] == a[4] {
			least, greatest := emergency(a[2:12], s[2])
			take(least)
			take(greatest)
		}
		if a[12] == a[12] {
			take(a[12])
		}
		return m
	})

	LoadedLength = calc(Quantity{
		Name: "loaded_length", Section: OfStrength, Symbol: "L_b", Title: "longest distance between thrust bearing and nut", Kind: u.Length,
		Formula: "L_bd if L_bd is given; L_s", Source: "taking the whole span is the cautious choice",
		May: qs(LoadedLengthGiven, Span), Lacks: qs(Span), inForce: firstOf("L_bd", "L_s"),
	}, func(a []float64) float64 { return or(a[0], a[1]) })

	BucklingFixity = calc(Quantity{
		Name: "buckling_fixity", Section: OfStrength, Symbol: "n_k", Title: "end-fixity factor for buckling", Kind: u.None,
		Formula: "0.25 if buckling_ends is fixed-free; 1 if buckling_ends is supported-supported; 2.0457485161 if buckling_ends is fixed-supported; 4 if buckling_ends is fixed-fixed; 0.25 if ends is fixed-free; 1 if ends is supported-supported; 2.0457485161 if ends is fixed-supported; 4 if ends is fixed-fixed", Source: "Euler column theory",
		May: qs(BucklingEnds, DriveEnd, FarEnd), Lacks: qs(DriveEnd, FarEnd),
		inForce: func(a []float64) string {
			if a[0] == a[0] {
				return pairText("buckling_ends", a[0], "0.25", "1", "2.0457485161", "4")
			}
			return pairText("ends", EndPair(a[1], a[2]), "0.25", "1", "2.0457485161", "4")
		},
	}, func(a []float64) float64 {
		if a[0] == a[0] {
			return Fixity(a[0])
		}
		return Fixity(EndPair(a[1], a[2]))
	})

	Buckling = calc(Quantity{
		Name: "buckling_load", Section: OfStrength, Symbol: "F_k", Title: "buckling load of the length under compression", Kind: u.Force,
		Formula: "π·d_2²/4·S_y·(1 − S_y·(4·L_b/d_2)²/(4·n_k·π²·E)) if 4·L_b/d_2 < √(2·π²·n_k·E/S_y); n_k·π³·E·d_2⁴/(64·L_b²)", Source: "Shigley's Mechanical Engineering Design, ch. 4",
		Needs: qs(BucklingFixity, LoadedLength, RootDiameter, ElasticModulus, YieldStrength),
		inForce: func(a []float64) string {
			if 4*a[1]/a[2] < TransitionSlenderness(a[0], a[3], a[4]) {
				return "π·d_2²/4·S_y·(1 − S_y·(4·L_b/d_2)²/(4·n_k·π²·E))"
			}
			return "n_k·π³·E·d_2⁴/(64·L_b²)"
		},
	}, f5(BucklingLoad))

	BucklingSafety = calc(Quantity{
		Name: "buckling_safety", Section: OfStrength, Symbol: "S_k", Title: "safety against buckling", Kind: u.None,
		Formula: "min(F_k, F_ks)/F_ph if F_thp > 0; F_k/F_ph", Source: srcElementary, Needs: qs(Buckling, WholePush, ThermalPush), May: qs(SpanBuckling),
		inForce: func(a []float64) string {
			if a[2] > 0 {
				return "min(F_k, F_ks)/F_ph"
			}
			return "F_k/F_ph"
		},
	}, func(a []float64) float64 {
		if a[2] > 0 {
			return math.Min(a[0], a[3]) / a[1]
		}
		return a[0] / a[1]
	})

	AxialStress = calc(Quantity{
		Name: "axial_stress", Section: OfStrength, Symbol: "σ", Title: "axial stress in the root section", Kind: u.Stress,
		Formula: "(F_max + F_ff)/A", Source: srcElementary, Needs: qs(PeakForce, HeldForce, RootArea),
	}, f3(func(f, h, a float64) float64 { return (f + h) / a }))
)
