package mechanics

import (
	"math"

	u "trammel/spec/unit"
)

// Incline and masses.
var (
	Incline = calc(Quantity{
		Name: "incline_angle", Section: OfMotion, Symbol: "θ_i", Title: "incline (90° is vertical)", Kind: u.Angle,
		Formula: "θ if θ is given; 90° if orientation is vertical; 0° if orientation is horizontal", Source: srcGeometry,
		May: qs(InclineGiven, Orientation), Lacks: qs(Orientation),
		inForce: func(a []float64) string {
			switch {
			case a[0] == a[0]:
				return "θ"
			case a[1] == Vertical:
				return "90°"
			}
			return "0°"
		},
	}, func(a []float64) float64 {
		if a[0] == a[0] {
			return a[0]
		}
		if a[1] == Vertical {
			return math.Pi / 2
		}
		return a[1] * 0 // horizontal, or not known
	})

	SumOfMasses = calc(Quantity{
		Name: "sum_of_masses", Section: OfMotion, Symbol: "m_s", Title: "mass of carriage and carried axes", Kind: u.Mass,
		Formula: "m_c + m_k", Source: srcElementary, Needs: qs(Mass, CarriedMass),
	}, f2(func(own, carried float64) float64 { return own + carried }))

	MovedMass = calc(Quantity{
		Name: "moved_mass", Section: OfMotion, Symbol: "m", Title: "moved mass without payload", Kind: u.Mass,
		Formula: "m_w if m_w is given; m_s", Source: srcElementary,
		May: qs(MovedMassGiven, SumOfMasses), Lacks: qs(Mass, CarriedMass), inForce: firstOf("m_w", "m_s"),
	}, func(a []float64) float64 { return or(a[0], a[1]) })

	TopPayload = fold(Quantity{
		Name: "top_payload", Section: OfMotion, Symbol: "m_pm", Title: "heaviest payload of the cycle", Kind: u.Mass,
		Formula: "max m_p", Source: srcElementary, Needs: qs(MoveDistance), May: qs(MovePayload),
	}, func(s [][]float64, _ []float64) float64 { return math.Max(0, largest(s[1])) })

	HeaviestMass = calc(Quantity{
		Name: "heaviest_mass", Section: OfMotion, Symbol: "m_max", Title: "moved mass with the heaviest payload", Kind: u.Mass,
		Formula: "m + m_pm", Source: srcElementary, Needs: qs(MovedMass, TopPayload),
	}, f2(func(m, p float64) float64 { return m + p }))
)

// AxialForce is the axial force in N that the screw gives the carriage,
// positive toward positive travel (uphill): mass m in kg, signed acceleration
// a in m/s², direction of travel s (+1, −1, or 0 at rest), guide friction
// coefficient mu, incline theta in rad, drag in N, counterbalance cb in N and
// process force thrust in N against the direction of travel.
func AxialForce(m, a, s, mu, theta, drag, cb, thrust float64) float64 {
	sin, cos := sinCos(theta)
	return axialForce(m, a, s, mu, sin, cos, drag, cb, thrust)
}

// axialForce is AxialForce at an incline whose sine and cosine are known.
func axialForce(m, a, s, mu, sin, cos, drag, cb, thrust float64) float64 {
	return m*a + s*(mu*m*Gravity*cos+drag+thrust) + m*Gravity*sin - cb
}

// sinCos gives sine and cosine of an angle in rad. At a right angle the one or
// the other is nothing, not the 6·10⁻¹⁷ that rounding of π leaves.
func sinCos(angle float64) (sin, cos float64) {
	sin, cos = math.Sincos(angle)
	switch {
	case math.Abs(cos) < 1e-12:
		return math.Copysign(1, sin), 0
	case math.Abs(sin) < 1e-12:
		return 0, math.Copysign(1, cos)
	}
	return sin, cos
}

// Share is the part of a force F that the worst loaded of z screws takes when
// the share is uneven by factor k.
func Share(f, z, k float64) float64 {
	if z <= 1 {
		return f
	}
	return f / z * k
}

// Counterbalance.
var (
	BalanceMass = calc(Quantity{
		Name: "balance_mass", Section: OfForces, Symbol: "m_cb", Title: "mass of the counterweight, moving with the carriage", Kind: u.Mass,
		Formula: "F_cb·r_r/g if counterbalance_by is weight; 0", Source: srcElementary,
		May: qs(Counterbalance, BalanceKind, RopeRatio), Lacks: qs(BalanceKind),
		inForce: func(a []float64) string {
			if a[0] > 0 && a[1] == BalanceWeight {
				return given("F_cb·r_r/g", a[2], "·r_r")
			}
			return "0"
		},
	}, func(a []float64) float64 {
		switch {
		case !(a[0] > 0):
			return 0
		case a[1] != a[1]:
			return math.NaN() // a weight moves too, a spring does not
		case a[1] == BalanceWeight:
			return a[0] * or(a[2], 1) / Gravity
		}
		return 0
	})

	LostBalance = calc(Quantity{
		Name: "lost_balance_force", Section: OfForces, Symbol: "F_lb", Title: "weight along the axis when the counterbalance is lost", Kind: u.Force,
		Formula: "0 if q_cb > 0; m_max·g·sin θ_i·k_u/z if F_cb > 0; 0", Source: srcElementary,
		Needs: qs(HeaviestMass, Incline), May: qs(Counterbalance, BalanceKept, Screws, Unevenness), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			if a[2] > 0 && !(a[3] > 0) {
				return given("m_max·g·sin θ_i·k_u/z", a[4], "·k_u/z")
			}
			return "0"
		},
	}, func(a []float64) float64 {
		if !(a[2] > 0) || a[3] > 0 {
			return 0
		}
		sin, _ := sinCos(a[1])
		return Share(a[0]*Gravity*sin, or(a[4], 1), a[5])
	})
)

// Forces.
var (
	MoveStanding = each(Quantity{
		Name: "standing_thrust", Section: OfForces, Symbol: "F_tr", Title: "process force at rest after a move, against its direction", Kind: u.Force, Shape: PerMove,
		Formula: "F_ho if F_ho is given; 0 if F_t = 0 or t_d = 0", Source: srcElementary,
		Needs: qs(MoveDistance), May: qs(MoveHold, MoveThrust, MoveDwell), Lacks: qs(MoveHold),
	}, func(a []float64, _ Part) float64 {
		if a[1] == a[1] {
			return a[1]
		}
		if or(a[2], 0) == 0 || or(a[3], 0) == 0 {
			return 0
		}
		return math.NaN() // the thrust may go on at rest or end with the move
	})

	MoveRestForce = each(Quantity{
		Name: "rest_force", Section: OfForces, Symbol: "F_ri", Title: "axial force at rest after a move, positive toward positive travel", Kind: u.Force, Shape: PerMove,
		Formula: "[(m+m_p)·g·sin θ_i − F_cb + s·F_tr]·k_u/z", Source: srcElementary,
		Needs: qs(MovedMass, MoveDirection, Incline, MoveStanding), May: qs(Counterbalance, MovePayload, Screws, Unevenness), Lacks: qs(Unevenness),
	}, func(a []float64, _ Part) float64 {
		sin, _ := sinCos(a[2])
		return Share((a[0]+or(a[5], 0))*Gravity*sin-or(a[4], 0)+a[1]*a[3], or(a[6], 1), a[7])
	})

	PhaseForce = each(Quantity{
		Name: "phase_force", Section: OfForces, Symbol: "F_j", Title: "axial force on the screw in a phase, positive toward positive travel", Kind: u.Force, Shape: PerPhase,
		Formula: "[(m+m_p)·g·sin θ_i − F_cb + s·F_tr]·k_u/z if phase is rest and F_tr is given; [(m+m_p)·g·sin θ_i − F_cb + s·F_t]·k_u/z if phase is rest and |(m+m_p)·g·sin θ_i − F_cb + s·F_t| > |(m+m_p)·g·sin θ_i − F_cb|; [(m+m_p)·g·sin θ_i − F_cb]·k_u/z if phase is rest; [(m+m_p+m_cb)·a_j + s·(μ·(m+m_p)·g·cos θ_i + F_d + F_t) + (m+m_p)·g·sin θ_i − F_cb]·k_u/z", Source: srcElementary,
		Needs: qs(MovedMass, PhaseAcceleration, MoveDirection, Friction, Incline, BalanceMass),
		May:   qs(Drag, Counterbalance, MoveThrust, MovePayload, Screws, Unevenness, MoveStanding), Lacks: qs(Unevenness),
	}, func(a []float64, p Part) float64 {
		m, s, thrust := a[0]+or(a[9], 0), a[2], or(a[8], 0)
		if p == Rest {
			// The process may go on; friction and drag turn round or vanish.
			// Where it is not said whether it does, the worse of both counts.
			f := AxialForce(m, 0, 0, a[3], a[4], 0, or(a[7], 0), 0) + s*or(a[12], 0)
			if on := f + s*thrust; a[12] != a[12] && math.Abs(on) > math.Abs(f) {
				f = on
			}
			return Share(f, or(a[10], 1), a[11])
		}
		f := AxialForce(m, a[1], s, a[3], a[4], or(a[6], 0), or(a[7], 0), thrust) + a[5]*a[1]
		return Share(f, or(a[10], 1), a[11])
	})

	MoveStopForce = each(Quantity{
		Name: "move_stop_force", Section: OfForces, Symbol: "F_ei", Title: "axial force of an emergency stop in a move, with its payload and thrust", Kind: u.Force, Shape: PerMove,
		Formula: "[−s·(m+m_p+m_cb)·a_h + s·(μ·(m+m_p)·g·cos θ_i + F_d + F_t) + (m+m_p)·g·sin θ_i − F_cb] · k_u/z", Source: srcElementary,
		Needs: qs(MovedMass, HardestStop, MoveDirection, Friction, Incline, BalanceMass),
		May:   qs(Drag, Counterbalance, MoveThrust, MovePayload, Screws, Unevenness), Lacks: qs(Unevenness),
	}, func(a []float64, _ Part) float64 {
		m, s := a[0]+or(a[9], 0), a[2]
		f := AxialForce(m, -s*a[1], s, a[3], a[4], or(a[6], 0), or(a[7], 0), or(a[8], 0)) - s*a[5]*a[1]
		return Share(f, or(a[10], 1), a[11])
	})

	EmergencyForce = fold(Quantity{
		Name: "emergency_force", Section: OfForces, Symbol: "F_e", Title: "peak axial force of an emergency stop", Kind: u.Force,
		Formula: "max(|F_ei|, max(|m·g·sin θ_i − F_cb| + |(m + m_cb)·a_h − μ·m·g·cos θ_i − F_d|, |m_max·g·sin θ_i − F_cb| + |(m_max + m_cb)·a_h − μ·m_max·g·cos θ_i − F_d|)·k_u/z)", Source: srcElementary,
		Needs: qs(MovedMass, HeaviestMass, HardestStop, Friction, Incline, BalanceMass, MoveStopForce), May: qs(Drag, Counterbalance, Screws, Unevenness), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			// The greater of |w − d| and |w + d| is |w| + |d|.
			mass := func(m string) string {
				return given("|"+m+"·g·sin θ_i − F_cb| + |("+m+" + m_cb)·a_h − μ·"+m+"·g·cos θ_i − F_d|", a[7], " − F_d", a[8], " − F_cb")
			}
			return given("max(|F_ei|, max("+mass("m")+", "+mass("m_max")+")·k_u/z)", a[9], "·k_u/z")
		},
	}, func(s [][]float64, a []float64) float64 {
		least, greatest := emergency(a, s[0])
		return math.Max(math.Abs(least), math.Abs(greatest))
	})

	StandstillForce = calc(Quantity{
		Name: "standstill_force", Section: OfForces, Symbol: "F_h", Title: "axial force on the screw at standstill, positive toward positive travel", Kind: u.Force,
		Formula: "F_st·k_u/z", Source: srcElementary,
		Needs: qs(Standstill), May: qs(Screws, Unevenness), Lacks: qs(Unevenness),
		inForce: func(a []float64) string { return given("F_st·k_u/z", a[1], "·k_u/z") },
	}, func(a []float64) float64 { return Share(a[0], or(a[1], 1), a[2]) })

	PeakForce = fold(Quantity{
		Name: "peak_force", Section: OfForces, Symbol: "F_max", Title: "peak axial force, emergency stop, standstill and loss of the counterbalance included", Kind: u.Force,
		Formula: "max(|F_j|, F_e, |F_h|, F_lb)", Source: srcElementary,
		Needs: qs(PhaseForce, PhaseTime, LostBalance), May: qs(EmergencyForce, StandstillForce, EmergencyDecel), Lacks: qs(EmergencyForce),
		inForce: func(a []float64) string {
			return given("max(|F_j|, F_e, |F_h|, F_lb)", a[3], ", F_e", a[4], ", |F_h|")
		},
	}, func(s [][]float64, a []float64) float64 {
		if a[3] == a[3] && a[1] != a[1] {
			return math.NaN() // there is a stop, and its force is not known
		}
		m := math.Max(a[0], math.Max(or(a[1], 0), or(math.Abs(a[2]), 0)))
		for j, f := range s[0] {
			if s[1][j] > 0 {
				m = math.Max(m, math.Abs(f))
			}
		}
		return m
	})

	WorkingForce = fold(Quantity{
		Name: "working_force", Section: OfForces, Symbol: "F_w", Title: "peak axial force of the cycle", Kind: u.Force,
		Formula: "max |F_j|", Source: srcElementary, Needs: qs(PhaseForce, PhaseTime),
	}, func(s [][]float64, _ []float64) float64 {
		m := 0.0
		for j, f := range s[0] {
			if s[1][j] > 0 {
				m = math.Max(m, math.Abs(f))
			}
		}
		return m
	})

	ReversalFriction = calc(Quantity{
		Name: "reversal_friction", Section: OfForces, Symbol: "F_f", Title: "friction that reverses with travel", Kind: u.Force,
		Formula: "(μ·m_max·g·cos θ_i + F_d) · k_u/z", Source: srcElementary,
		Needs: qs(Friction, HeaviestMass, Incline), May: qs(Drag, Screws, Unevenness), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			return given("(μ·m_max·g·cos θ_i + F_d)·k_u/z", a[3], " + F_d", a[4], "·k_u/z")
		},
	}, func(a []float64) float64 {
		_, cos := sinCos(a[2])
		return Share(a[0]*a[1]*Gravity*cos+or(a[3], 0), or(a[4], 1), a[5])
	})

	WeightForce = calc(Quantity{
		Name: "weight_force", Section: OfForces, Symbol: "F_g", Title: "weight along the axis less the counterbalance", Kind: u.Force,
		Formula: "(m_max·g·sin θ_i − F_cb) · k_u/z", Source: srcElementary,
		Needs: qs(HeaviestMass, Incline), May: qs(Counterbalance, Screws, Unevenness), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			return given("(m_max·g·sin θ_i − F_cb)·k_u/z", a[2], " − F_cb", a[3], "·k_u/z")
		},
	}, func(a []float64) float64 {
		sin, _ := sinCos(a[1])
		return Share(a[0]*Gravity*sin-or(a[2], 0), or(a[3], 1), a[4])
	})

	StandingForce = fold(Quantity{
		Name: "standing_force", Section: OfForces, Symbol: "F_sw", Title: "peak axial force on the axis at rest, in either direction", Kind: u.Force,
		Formula: "max(|m·g·sin θ_i − F_cb|·k_u/z, |F_g|, |F_ri|, F_lb, |F_h|)", Source: srcElementary,
		Needs: qs(MovedMass, Incline, WeightForce, MoveRestForce, LostBalance), May: qs(Counterbalance, Screws, Unevenness, StandstillForce), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			return given("max(|m·g·sin θ_i − F_cb|·k_u/z, |F_g|, |F_ri|, F_lb, |F_h|)", a[5], " − F_cb", a[6], "·k_u/z", a[8], ", |F_h|")
		},
	}, func(s [][]float64, a []float64) float64 {
		sin, _ := sinCos(a[1])
		m := math.Abs(Share(a[0]*Gravity*sin-or(a[4], 0), or(a[5], 1), a[6]))
		m = math.Max(m, math.Max(math.Abs(a[2]), math.Max(a[3], math.Abs(or(a[7], 0)))))
		for _, f := range s[0] {
			m = math.Max(m, math.Abs(f))
		}
		return m
	})
)

// emergency gives the least and the greatest axial force of an emergency stop:
// in the moves as they are, and from travel in either direction with the
// carriage empty or at its heaviest. Under a counterbalance the empty one may be
// the worse, and a process that helps a move goes on pulling. a holds moved
// mass, heaviest mass, deceleration, friction, incline, mass of the
// counterweight, drag, counterbalance,
// screws, unevenness.
func emergency(a, moves []float64) (least, greatest float64) {
	drag, cb, z := or(a[6], 0), or(a[7], 0), or(a[8], 1)
	least, greatest = math.Inf(1), math.Inf(-1)
	take := func(f float64) { least, greatest = math.Min(least, f), math.Max(greatest, f) }
	for _, m := range a[:2] {
		for _, s := range []float64{1, -1} {
			take(Share(AxialForce(m, -s*a[2], s, a[3], a[4], drag, cb, 0)-s*a[5]*a[2], z, a[9]))
		}
	}
	for _, f := range moves {
		take(f)
	}
	return least, greatest
}
