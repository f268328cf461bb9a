package mechanics

import (
	"math"
	"strings"

	u "trammel/spec/unit"
)

// DrivingEfficiency is the efficiency of a thread of lead angle phi in rad and
// friction coefficient mu that turns torque into force:
// (1 − μ·tan φ)/(1 + μ/tan φ) (statics of the square thread).
func DrivingEfficiency(phi, mu float64) float64 {
	t := math.Tan(phi)
	return (1 - mu*t) / (1 + mu/t)
}

// BackDrivingEfficiency is the efficiency of the same thread when force turns
// it: (1 − μ/tan φ)/(1 + μ·tan φ). Where it is not above zero the thread holds
// by itself.
func BackDrivingEfficiency(phi, mu float64) float64 {
	t := math.Tan(phi)
	return (1 - mu/t) / (1 + mu*t)
}

// PreloadDrag is the drag torque in N·m of a preload pr in N in a nut of lead p
// in m and lead angle phi: 0.05·(tan φ)^(−1/2)·F_pr·P_h/2π (reference torque
// of JIS B 1192, from memory).
func PreloadDrag(phi, pr, p float64) float64 {
	return 0.05 / math.Sqrt(math.Tan(phi)) * pr * p / (2 * math.Pi)
}

// ThreadTorque is the torque in N·m, in the direction of travel, that a force
// f in N in that direction asks of a screw of lead p in m: F·P_h/(2π·η) when
// the screw drives, F·P_h·η′/2π (negative) when the load drives.
func ThreadTorque(f, p, eta, etaBack float64) float64 {
	if f >= 0 {
		return f * p / (2 * math.Pi * eta)
	}
	return f * p * math.Max(0, etaBack) / (2 * math.Pi)
}

// CylinderInertia is the inertia in kg·m² of a solid cylinder of diameter d
// and length l in m: π·ρ·d⁴·l/32.
func CylinderInertia(rho, d, l float64) float64 { return math.Pi * rho * d * d * d * d * l / 32 }

// Efficiency and drag.
var (
	Efficiency = calc(Quantity{
		Name: "efficiency", Section: OfDrive, Symbol: "η_d", Title: "driving efficiency", Kind: u.None,
		Formula: "η if η is given; min(0.9, (1 − μ_s·tan φ)/(1 + μ_s/tan φ))", Source: "statics of the square thread; 0.9 is common practice, no source",
		Needs: qs(LeadAngle, ThreadFriction), May: qs(EfficiencyGiven),
		inForce: func(a []float64) string {
			if a[2] == a[2] {
				return "η"
			}
			return "min(0.9, (1 − μ_s·tan φ)/(1 + μ_s/tan φ))"
		},
	}, func(a []float64) float64 {
		return or(a[2], math.Min(0.9, DrivingEfficiency(a[0], a[1])))
	})

	BackEfficiency = calc(Quantity{
		Name: "back_driving_efficiency", Section: OfDrive, Symbol: "η_b", Title: "efficiency when the load drives the screw", Kind: u.None,
		Formula: "(1 − μ_s/tan φ)/(1 + μ_s·tan φ)", Source: "statics of the square thread",
		Needs: qs(LeadAngle, ThreadFriction),
	}, f2(BackDrivingEfficiency))

	NutDrag = calc(Quantity{
		Name: "nut_drag_torque", Section: OfDrive, Symbol: "T_n", Title: "drag torque of the preloaded nut", Kind: u.Torque,
		Formula: "T_nd if T_nd is given; 0.6·0.05·(tan φ)^(−1/2)·F_pr·P_h/2π if k < 0; 1.4·0.05·(tan φ)^(−1/2)·F_pr·P_h/2π if k > 0; 0.05·(tan φ)^(−1/2)·F_pr·P_h/2π",
		Source:  "reference torque of JIS B 1192; it lets that of a nut differ by 20 to 50 %, by grade and size (from memory)",
		May:     qs(NutDragGiven, Case, LeadAngle, Lead, Preload, Backlash), Lacks: qs(LeadAngle, Lead, Preload),
		lackOf: func(c *Calc) []*Quantity {
			if c.Known(Preload) || c.Known(Backlash) {
				return qs(LeadAngle, Lead)
			}
			return qs(LeadAngle, Lead, Preload)
		},
		inForce: func(a []float64) string {
			switch {
			case a[0] == a[0]:
				return "T_nd"
			case !(a[4] > 0):
				return "0"
			}
			return map[float64]string{Light: "0.6·", Heavy: "1.4·"}[a[1]] + "0.05·(tan φ)^(−1/2)·F_pr·P_h/2π"
		},
	}, func(a []float64) float64 {
		pr := a[4]
		if pr != pr {
			pr = a[5] * 0 // play declared: no preload; neither: not known
		}
		if a[0] == a[0] {
			return a[0]
		}
		return dragBand(a[1]) * PreloadDrag(a[2], pr, a[3])
	})

	DragTorque = calc(Quantity{
		Name: "drag_torque", Section: OfDrive, Symbol: "T_d", Title: "drag torque of preload and supports", Kind: u.Torque,
		Formula: "T_n + T_b1 + T_b2", Source: srcElementary,
		Needs: qs(NutDrag), May: qs(DriveSupportDrag, FarSupportDrag),
		inForce: func(a []float64) string { return given("T_n + T_b1 + T_b2", a[1], " + T_b1", a[2], " + T_b2") },
	}, func(a []float64) float64 { return a[0] + or(a[1], 0) + or(a[2], 0) })
)

// dragBand is the drag torque of a nut over its reference torque for a case.
func dragBand(k float64) float64 {
	if k != k {
		return 1
	}
	return among(0.6, 1, 1.4)(k, nil)
}

// Inertia.
var (
	ShaftInertia = calc(Quantity{
		Name: "shaft_inertia", Section: OfDrive, Symbol: "J_s", Title: "inertia of the shaft as a cylinder of nominal diameter", Kind: u.Inertia,
		Formula: "π·ρ·d_0⁴·l_1/32", Source: srcElementary, Needs: qs(Density, NominalDiameter, ShaftLength),
	}, f3(CylinderInertia))

	TurningInertia = calc(Quantity{
		Name: "turning_inertia", Section: OfDrive, Symbol: "J_t", Title: "inertia of all parts that turn at screw speed", Kind: u.Inertia,
		Formula: "J_n + J_c if turning is nut; J_s + J_c", Source: srcElementary,
		Needs: qs(Turning), May: qs(ShaftInertia, NutInertia, CouplingInertia), Lacks: qs(NominalDiameter, ShaftLength, NutInertia),
		lackOf: func(c *Calc) []*Quantity {
			if c.V(Turning) == NutTurns {
				return qs(NutInertia)
			}
			return qs(ShaftInertia)
		},
		inForce: func(a []float64) string {
			if a[0] == NutTurns {
				return given("J_n + J_c", a[3], " + J_c")
			}
			return given("J_s + J_c", a[3], " + J_c")
		},
	}, func(a []float64) float64 {
		if a[0] == NutTurns {
			return a[2] + or(a[3], 0)
		}
		return a[1] + or(a[3], 0)
	})

	MotorScrews = calc(Quantity{
		Name: "screws_per_motor", Section: OfDrive, Symbol: "z_m", Title: "screws that one motor turns", Kind: u.None,
		Formula: "z_g if z_g is given; 1 if z = 1", Source: srcElementary,
		Needs: qs(Screws), May: qs(MotorScrewsGiven), Lacks: qs(MotorScrewsGiven),
		inForce: func(a []float64) string {
			if a[1] == a[1] {
				return "z_g"
			}
			return "1"
		},
	}, func(a []float64) float64 {
		if a[1] == a[1] || a[0] > 1 {
			return a[1]
		}
		return 1
	})

	LoadInertia = calc(Quantity{
		Name: "load_inertia", Section: OfDrive, Symbol: "J_l", Title: "inertia of load and screw seen by the motor", Kind: u.Inertia,
		Formula: "z_m·(J_t + (m_max + m_cb)/z·(P_h/2π)²)/i² + J_g", Source: srcElementary,
		Needs: qs(TurningInertia, HeaviestMass, Lead, Ratio, MotorScrews, BalanceMass), May: qs(Screws, GearInertia),
		inForce: func(a []float64) string {
			return given("z_m·(J_t + (m_max + m_cb)/z·(P_h/2π)²)/i² + J_g", a[6], "/z", a[7], " + J_g")
		},
	}, func(a []float64) float64 {
		r := a[2] / (2 * math.Pi)
		return a[4]*(a[0]+(a[1]+a[5])/or(a[6], 1)*r*r)/(a[3]*a[3]) + or(a[7], 0)
	})

	InertiaRatio = calc(Quantity{
		Name: "inertia_ratio", Section: OfDrive, Symbol: "k_J", Title: "load inertia over rotor inertia", Kind: u.None,
		Formula: "J_l/J_m", Source: srcElementary, Needs: qs(LoadInertia, RotorInertia),
	}, f2(func(l, m float64) float64 { return l / m }))
)

// Torque.
var (
	PhaseTorque = each(Quantity{
		Name: "phase_screw_torque", Section: OfDrive, Symbol: "T_j", Title: "torque on the screw in a phase, in the direction of travel", Kind: u.Torque, Shape: PerPhase,
		Formula: "|F_j|·P_h/2π if phase is rest; s·F_j·P_h/(2π·η_d) + T_d + J_t·s·a_j·2π/P_h if s·F_j ≥ 0; s·F_j·P_h·max(0, η_b)/2π + T_d + J_t·s·a_j·2π/P_h", Source: srcElementary,
		Needs: qs(PhaseForce, MoveDirection, PhaseAcceleration, Lead, Efficiency, BackEfficiency, DragTorque, TurningInertia),
	}, func(a []float64, p Part) float64 {
		f, s, acc, lead := a[0], a[1], a[2], a[3]
		if p == Rest {
			return math.Abs(f) * lead / (2 * math.Pi) // friction holds nothing for certain
		}
		return ThreadTorque(s*f, lead, a[4], a[5]) + a[6] + a[7]*s*acc*2*math.Pi/lead
	})

	MotorPhaseTorque = each(Quantity{
		Name: "phase_motor_torque", Section: OfDrive, Symbol: "T_mj", Title: "torque of the motor in a phase, in the direction of travel", Kind: u.Torque, Shape: PerPhase,
		Formula: "z_m·T_j/i if phase is rest; z_m·T_j/(i·η_g) + (J_m + J_g)·s·a_j·2π·i/P_h if T_j ≥ 0; z_m·T_j·η_g/i + (J_m + J_g)·s·a_j·2π·i/P_h", Source: srcElementary,
		Needs: qs(PhaseTorque, Ratio, MoveDirection, PhaseAcceleration, Lead, RotorInertia, MotorScrews), May: qs(GearEfficiency, GearInertia),
	}, func(a []float64, p Part) float64 {
		t, eff := a[6]*a[0]/a[1], or(a[7], 1)
		switch {
		case p == Rest: // neither does the gear's
		case t < 0:
			t *= eff
		default:
			t /= eff
		}
		return t + (a[5]+or(a[8], 0))*a[2]*a[3]*2*math.Pi*a[1]/a[4]
	})

	PeakTorque = fold(Quantity{
		Name: "peak_motor_torque", Section: OfDrive, Symbol: "T_max", Title: "peak torque of the motor", Kind: u.Torque,
		Formula: "max |T_mj|", Source: srcElementary, Needs: qs(MotorPhaseTorque, PhaseTime),
	}, peakOverPhases)

	RMSTorque = fold(Quantity{
		Name: "rms_motor_torque", Section: OfDrive, Symbol: "T_rms", Title: "root mean square torque of the motor, rests included", Kind: u.Torque,
		Formula: "√(Σ T_mj²·t_j/Σ t_j)", Source: srcElementary, Needs: qs(MotorPhaseTorque, PhaseTime),
	}, func(s [][]float64, _ []float64) float64 {
		top, all := 0.0, 0.0
		for j, t := range s[1] {
			if t > 0 {
				top += s[0][j] * s[0][j] * t
				all += t
			}
		}
		return math.Sqrt(top / all)
	})

	PeakScrewTorque = fold(Quantity{
		Name: "peak_screw_torque", Section: OfDrive, Symbol: "T_smax", Title: "peak torque on the screw, emergency stop and loss of the counterbalance included", Kind: u.Torque,
		Formula: "max(|T_j|, T_se, F_lb·P_h/2π)", Source: srcElementary, Needs: qs(PhaseTorque, PhaseTime, LostBalance, Lead), May: qs(StopScrewTorque, EmergencyDecel), Lacks: qs(StopScrewTorque),
		inForce: func(a []float64) string { return given("max(|T_j|, T_se, F_lb·P_h/2π)", a[4], ", T_se") },
	}, func(s [][]float64, a []float64) float64 {
		if a[3] == a[3] && a[2] != a[2] {
			return math.NaN() // there is a stop, and its torque is not known
		}
		return math.Max(peakOverPhases(s, nil), math.Max(a[0]*a[1]/(2*math.Pi), or(a[2], 0)))
	})

	DriveEndTorque = calc(Quantity{
		Name: "drive_end_torque", Section: OfDrive, Symbol: "T_de", Title: "peak torque at the driven end, of all screws that its motor turns", Kind: u.Torque,
		Formula: "z_m·T_smax", Source: srcElementary, Needs: qs(MotorScrews, PeakScrewTorque),
	}, f2(func(z, t float64) float64 { return z * t }))

	CrossTorque = calc(Quantity{
		Name: "cross_shaft_torque", Section: OfDrive, Symbol: "T_cs", Title: "peak torque of a shaft or belt between the screws of one motor", Kind: u.Torque,
		Formula: "(z_m − 1)·T_smax", Source: srcElementary, Needs: qs(MotorScrews, PeakScrewTorque),
	}, f2(func(z, t float64) float64 { return (z - 1) * t }))

	TorqueShare = fold(Quantity{
		Name: "torque_share", Section: OfDrive, Symbol: "k_T", Title: "torque over the available motor torque at that speed, in the worst phase", Kind: u.Percentage,
		Formula: "max(|T_mj|/min(T_lim, T_mp + min(0, T_mt − T_mp)·max(0, min(1, (i·v_j/P_h − n_mr)/(n_mmax − n_mr))))) if T_lim is given and n_mmax > n_mr and T_mt is given and n_mr is given; max |T_mj|/min(T_lim, T_mp) if T_lim is given; max(|T_mj|/(T_mp + min(0, T_mt − T_mp)·max(0, min(1, (i·v_j/P_h − n_mr)/(n_mmax − n_mr))))) if n_mmax > n_mr and T_mt is given and n_mr is given; max |T_mj|/T_mp", Source: srcElementary,
		Needs: qs(MotorPhaseTorque, PhaseTime, PhaseTopSpeed, MotorPeakTorque, Lead, Ratio), May: qs(MotorRatedSpeed, MotorTopTorque, MotorMaxSpeed, Case, TorqueLimit), Lacks: qs(MotorMaxSpeed),
		inForce: func(a []float64) string {
			line := "T_mp"
			if a[8] > a[6] && a[7] == a[7] {
				line = "(T_mp + min(0, T_mt − T_mp)·max(0, min(1, (i·v_j/P_h − n_mr)/(n_mmax − n_mr))))"
			}
			if a[10] == a[10] {
				line = "min(T_lim, " + line + ")"
			}
			return "max(|T_mj|/" + line + ")"
		},
	}, func(s [][]float64, a []float64) float64 {
		worst := 0.0
		for j, t := range s[0] {
			if s[1][j] <= 0 {
				continue
			}
			n := ScrewSpeed(s[2][j], a[1]) * a[2]
			if a[6] == a[6] && a[5] != a[5] && !(n <= a[3]) {
				return math.NaN() // what it gives at that speed cannot even be assumed
			}
			avail := math.Min(AvailableTorque(n, a[0], a[3], a[4], a[5]), or(a[7], math.Inf(1)))
			worst = math.Max(worst, math.Abs(t)/avail)
		}
		return worst
	})

	PeakPower = fold(Quantity{
		Name: "peak_power", Section: OfDrive, Symbol: "P_max", Title: "peak power of the motor", Kind: u.Power,
		Formula: "max(|T_mj|·2π·i·v_j/P_h)", Source: srcElementary,
		Needs: qs(MotorPhaseTorque, PhaseTime, PhaseTopSpeed, Lead, Ratio),
	}, func(s [][]float64, a []float64) float64 {
		worst := 0.0
		for j, t := range s[0] {
			if s[1][j] > 0 {
				worst = math.Max(worst, math.Abs(t)*ScrewSpeed(s[2][j], a[0])*a[1])
			}
		}
		return worst
	})
)

func peakOverPhases(s [][]float64, _ []float64) float64 {
	m := 0.0
	for j, v := range s[0] {
		if s[1][j] > 0 {
			m = math.Max(m, math.Abs(v))
		}
	}
	return m
}

// AvailableTorque is the torque in N·m a motor gives at speed n in rad/s: its
// peak torque up to the speed rated, from there along a straight line down to
// top at its highest speed max. Where the line is not given (NaN) the peak
// torque holds at every speed. A line that rises is a slip in the data and gives
// no more than the peak torque.
func AvailableTorque(n, peak, rated, top, max float64) float64 {
	if rated != rated || top != top || max != max || n <= rated || max <= rated {
		return peak
	}
	return peak + math.Min(0, top-peak)*math.Min(1, (n-rated)/(max-rated))
}

// Stress with torsion.
var EquivalentStress = calc(Quantity{
	Name: "equivalent_stress", Section: OfStrength, Symbol: "σ_v", Title: "equivalent stress in the root section", Kind: u.Stress,
	Formula: "√((4·(F_max + F_ff)/(π·d_2²))² + 3·(16·T_smax/(π·d_2³))²)", Source: "von Mises; elementary strength of materials",
	Needs: qs(PeakForce, HeldForce, PeakScrewTorque, RootDiameter),
}, f4(func(f, h, t, d float64) float64 { return CombinedStress(f+h, t, d) }))

// Holding.
var (
	HoldingTorque = calc(Quantity{
		Name: "holding_torque", Section: OfDrive, Symbol: "T_h", Title: "torque on the screw from the load at rest", Kind: u.Torque,
		Formula: "F_sw·P_h·max(0, η_b)/2π", Source: "statics of the square thread", Needs: qs(StandingForce, Lead, BackEfficiency),
	}, f3(func(f, p, eta float64) float64 { return f * p * math.Max(0, eta) / (2 * math.Pi) }))

	HoldingSafety = calc(Quantity{
		Name: "holding_safety", Section: OfDrive, Symbol: "S_h", Title: "holding torque of the brakes over the torque of the load", Kind: u.None,
		Formula: "(T_br + T_mb·i)/(z_m·T_h)", Source: srcElementary,
		Needs: qs(HoldingTorque, MotorScrews), May: qs(BrakeGiven, MotorBrake, Ratio),
		inForce: func(a []float64) string {
			f := given(" + T_br + T_mb·i", a[2], " + T_br", a[3]*a[4], " + T_mb·i")
			if f == "" {
				return "0"
			}
			return "(" + strings.TrimPrefix(f, " + ") + ")/(z_m·T_h)"
		},
	}, func(a []float64) float64 {
		return (or(a[2], 0) + or(a[3]*a[4], 0)) / (a[1] * a[0])
	})

	MoveSelfMotion = each(Quantity{
		Name: "move_self_motion", Section: OfForces, Symbol: "F_smi", Title: "axial force at rest after a move less guide friction", Kind: u.Force, Shape: PerMove,
		Formula: "|F_ri| − (μ·(m + m_p)·g·cos θ_i + F_dd)·k_u/z", Source: srcElementary,
		Needs: qs(MoveRestForce, MovedMass, Friction, Incline), May: qs(DragGiven, MovePayload, Screws, Unevenness), Lacks: qs(Unevenness),
	}, func(a []float64, _ Part) float64 {
		_, cos := sinCos(a[3])
		rub := a[2]*(a[1]+or(a[5], 0))*Gravity*cos + or(a[4], 0)
		return math.Abs(a[0]) - Share(rub, or(a[6], 1), a[7])
	})

	SelfMotion = fold(Quantity{
		Name: "self_motion", Section: OfForces, Symbol: "F_sm", Title: "peak axial force at rest less guide friction", Kind: u.Force,
		Formula: "max((|m·g·sin θ_i − F_cb| − μ·m·g·cos θ_i − F_dd)·k_u/z, (|m_max·g·sin θ_i − F_cb| − μ·m_max·g·cos θ_i − F_dd)·k_u/z, F_smi, F_lb − (μ·m_max·g·cos θ_i + F_dd)·k_u/z, |F_h| − (μ·m·g·cos θ_i + F_dd)·k_u/z)", Source: srcElementary,
		Needs: qs(MovedMass, HeaviestMass, Friction, Incline, MoveSelfMotion, LostBalance), May: qs(DragGiven, Counterbalance, Screws, Unevenness, StandstillForce), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			mass := func(m string) string {
				return given("(|"+m+"·g·sin θ_i − F_cb| − μ·"+m+"·g·cos θ_i − F_dd)·k_u/z", a[6], " − F_dd", a[7], " − F_cb", a[8], "·k_u/z")
			}
			rub := func(m string) string {
				return given("(μ·"+m+"·g·cos θ_i + F_dd)·k_u/z", a[6], " + F_dd", a[8], "·k_u/z")
			}
			return given("max("+mass("m")+", "+mass("m_max")+", F_smi, F_lb − "+rub("m_max")+", |F_h| − "+rub("m")+")", a[10], ", |F_h| − "+rub("m"))
		},
	}, func(s [][]float64, a []float64) float64 {
		// Empty and full each with their own friction: what a full carriage
		// holds by friction may move an empty one under its counterbalance.
		sin, cos := sinCos(a[3])
		z, k := or(a[7], 1), a[8]
		rub := func(m float64) float64 { return m*Gravity*a[2]*cos + or(a[5], 0) }
		free := func(m float64) float64 {
			return Share(math.Abs(m*Gravity*sin-or(a[6], 0))-rub(m), z, k)
		}
		worst := math.Max(math.Max(free(a[0]), free(a[1])), a[4]-Share(rub(a[1]), z, k))
		if a[9] == a[9] {
			worst = math.Max(worst, math.Abs(a[9])-Share(rub(a[0]), z, k))
		}
		return math.Max(worst, largest(s[0]))
	})

	StoppingDistance = calc(Quantity{
		Name: "stopping_distance", Section: OfStopping, Symbol: "s_e", Title: "distance of an emergency stop from top speed", Kind: u.Length,
		Formula: "v_max²/(2·a_e) + v_max·t_r", Source: srcKinematics,
		Needs: qs(TopSpeed, EmergencyDecel), May: qs(ReactionTime),
		inForce: func(a []float64) string { return given("v_max²/(2·a_e) + v_max·t_r", a[2], " + v_max·t_r") },
	}, func(a []float64) float64 { return a[0]*a[0]/(2*a[1]) + a[0]*or(a[2], 0) })
)
