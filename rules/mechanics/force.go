package mechanics

import (
	"math"

	u "trammel/spec/unit"
)

// Incline and masses.
var (
	Incline = calc(Quantity{
		Name: "incline_angle", Symbol: "θ_i", Title: "incline, 90° is lifting", Kind: u.Angle,
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
		Name: "sum_of_masses", Symbol: "m_s", Title: "carriage and what it carries, added", Kind: u.Mass,
		Formula: "m_c + m_k", Source: srcElementary, Needs: qs(Mass, CarriedMass),
	}, f2(func(own, carried float64) float64 { return own + carried }))

	MovedMass = calc(Quantity{
		Name: "moved_mass", Symbol: "m", Title: "moved mass without payload", Kind: u.Mass,
		Formula: "m_w if m_w is given; m_s", Source: srcElementary,
		May: qs(MovedMassGiven, SumOfMasses), Lacks: qs(Mass, CarriedMass), inForce: firstOf("m_w", "m_s"),
	}, func(a []float64) float64 { return or(a[0], a[1]) })

	TopPayload = fold(Quantity{
		Name: "top_payload", Symbol: "m_pm", Title: "heaviest payload of the cycle", Kind: u.Mass,
		Formula: "max m_p", Source: srcElementary, Needs: qs(MoveDistance), May: qs(MovePayload),
	}, func(s [][]float64, _ []float64) float64 { return math.Max(0, largest(s[1])) })

	HeaviestMass = calc(Quantity{
		Name: "heaviest_mass", Symbol: "m_max", Title: "moved mass with the heaviest payload", Kind: u.Mass,
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

// Forces.
var (
	PhaseForce = each(Quantity{
		Name: "phase_force", Symbol: "F_j", Title: "axial force on the screw in a phase, positive toward positive travel", Kind: u.Force, Shape: PerPhase,
		Formula: "[(m+m_p)·g·sin θ_i − F_cb]·k_u/z if phase is rest; [(m+m_p)·a_j + s·(μ·(m+m_p)·g·cos θ_i + F_d + F_t) + (m+m_p)·g·sin θ_i − F_cb]·k_u/z", Source: srcElementary,
		Needs: qs(MovedMass, PhaseAcceleration, MoveDirection, Friction, Incline),
		May:   qs(Drag, Counterbalance, MoveThrust, MovePayload, Screws, Unevenness), Lacks: qs(Unevenness),
	}, func(a []float64, p Part) float64 {
		m, s, thrust := a[0]+or(a[8], 0), a[2], or(a[7], 0)
		drag := or(a[5], 0)
		if p == Rest {
			s, thrust, drag = 0, 0, 0
		}
		return Share(AxialForce(m, a[1], s, a[3], a[4], drag, or(a[6], 0), thrust), or(a[9], 1), a[10])
	})

	MoveStopForce = each(Quantity{
		Name: "move_stop_force", Symbol: "F_ei", Title: "axial force of an emergency stop in a move, with its payload and thrust", Kind: u.Force, Shape: PerMove,
		Formula: "[−s·(m+m_p)·a_e + s·(μ·(m+m_p)·g·cos θ_i + F_d + F_t) + (m+m_p)·g·sin θ_i − F_cb] · k_u/z", Source: srcElementary,
		Needs: qs(MovedMass, EmergencyDecel, MoveDirection, Friction, Incline),
		May:   qs(Drag, Counterbalance, MoveThrust, MovePayload, Screws, Unevenness), Lacks: qs(Unevenness),
	}, func(a []float64, _ Part) float64 {
		m, s := a[0]+or(a[8], 0), a[2]
		return Share(AxialForce(m, -s*a[1], s, a[3], a[4], or(a[5], 0), or(a[6], 0), or(a[7], 0)), or(a[9], 1), a[10])
	})

	EmergencyForce = fold(Quantity{
		Name: "emergency_force", Symbol: "F_e", Title: "greatest axial force of an emergency stop", Kind: u.Force,
		Formula: "max(|F_ei|, max(|m·g·sin θ_i − F_cb| + |m·a_e − μ·m·g·cos θ_i − F_d|, |m_max·g·sin θ_i − F_cb| + |m_max·a_e − μ·m_max·g·cos θ_i − F_d|)·k_u/z)", Source: srcElementary,
		Needs: qs(MovedMass, HeaviestMass, EmergencyDecel, Friction, Incline, MoveStopForce), May: qs(Drag, Counterbalance, Screws, Unevenness), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			// The greater of |w − d| and |w + d| is |w| + |d|.
			mass := func(m string) string {
				return given("|"+m+"·g·sin θ_i − F_cb| + |"+m+"·a_e − μ·"+m+"·g·cos θ_i − F_d|", a[6], " − F_d", a[7], " − F_cb")
			}
			return given("max(|F_ei|, max("+mass("m")+", "+mass("m_max")+")·k_u/z)", a[8], "·k_u/z")
		},
	}, func(s [][]float64, a []float64) float64 {
		least, greatest := emergency(a, s[0])
		return math.Max(math.Abs(least), math.Abs(greatest))
	})

	StandstillForce = calc(Quantity{
		Name: "standstill_force", Symbol: "F_h", Title: "axial force on the screw at standstill, positive toward positive travel", Kind: u.Force,
		Formula: "F_st·k_u/z", Source: srcElementary,
		Needs: qs(Standstill), May: qs(Screws, Unevenness), Lacks: qs(Unevenness),
		inForce: func(a []float64) string { return given("F_st·k_u/z", a[1], "·k_u/z") },
	}, func(a []float64) float64 { return Share(a[0], or(a[1], 1), a[2]) })

	PeakForce = fold(Quantity{
		Name: "peak_force", Symbol: "F_max", Title: "greatest axial force, emergency stop and standstill included", Kind: u.Force,
		Formula: "max(|F_j|, F_e, |F_h|)", Source: srcElementary,
		Needs: qs(PhaseForce, PhaseTime), May: qs(EmergencyForce, StandstillForce),
		inForce: func(a []float64) string {
			return given("max(|F_j|, F_e, |F_h|)", a[2], ", F_e", a[3], ", |F_h|")
		},
	}, func(s [][]float64, a []float64) float64 {
		m := math.Max(or(a[0], 0), or(math.Abs(a[1]), 0))
		for j, f := range s[0] {
			if s[1][j] > 0 {
				m = math.Max(m, math.Abs(f))
			}
		}
		return m
	})

	WorkingForce = fold(Quantity{
		Name: "working_force", Symbol: "F_w", Title: "greatest axial force of the cycle", Kind: u.Force,
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
		Name: "reversal_friction", Symbol: "F_f", Title: "friction that turns round on reversal", Kind: u.Force,
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
		Name: "weight_force", Symbol: "F_g", Title: "weight along the axis less the counterbalance", Kind: u.Force,
		Formula: "(m_max·g·sin θ_i − F_cb) · k_u/z", Source: srcElementary,
		Needs: qs(HeaviestMass, Incline), May: qs(Counterbalance, Screws, Unevenness), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			return given("(m_max·g·sin θ_i − F_cb)·k_u/z", a[2], " − F_cb", a[3], "·k_u/z")
		},
	}, func(a []float64) float64 {
		sin, _ := sinCos(a[1])
		return Share(a[0]*Gravity*sin-or(a[2], 0), or(a[3], 1), a[4])
	})

	StandingWeight = calc(Quantity{
		Name: "standing_weight", Symbol: "F_sw", Title: "largest weight along the axis that wants to move it, either way", Kind: u.Force,
		Formula: "max(|m·g·sin θ_i − F_cb|·k_u/z, |F_g|)", Source: srcElementary,
		Needs: qs(MovedMass, Incline, WeightForce), May: qs(Counterbalance, Screws, Unevenness), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			return given("max(|m·g·sin θ_i − F_cb|·k_u/z, |F_g|)", a[3], " − F_cb", a[4], "·k_u/z")
		},
	}, func(a []float64) float64 {
		sin, _ := sinCos(a[1])
		empty := Share(a[0]*Gravity*sin-or(a[3], 0), or(a[4], 1), a[5])
		return math.Max(math.Abs(empty), math.Abs(a[2]))
	})
)

// emergency gives the least and the greatest axial force of an emergency stop:
// in the moves as they are, and from travel in either direction with the
// carriage empty or at its heaviest. Under a counterbalance the empty one may be
// the worse, and a process that helps a move goes on pulling. a holds moved
// mass, heaviest mass, deceleration, friction, incline, drag, counterbalance,
// screws, unevenness.
func emergency(a, moves []float64) (least, greatest float64) {
	drag, cb, z := or(a[5], 0), or(a[6], 0), or(a[7], 1)
	least, greatest = math.Inf(1), math.Inf(-1)
	take := func(f float64) { least, greatest = math.Min(least, f), math.Max(greatest, f) }
	for _, m := range a[:2] {
		for _, s := range []float64{1, -1} {
			take(Share(AxialForce(m, -s*a[2], s, a[3], a[4], drag, cb, 0), z, a[8]))
		}
	}
	for _, f := range moves {
		take(f)
	}
	return least, greatest
}
