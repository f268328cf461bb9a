package mechanics

import (
	"math"
	"strings"

	u "trammel/spec/unit"
)

// A stopping is what an emergency stop of an axis depends on besides how it
// moves.
type stopping struct {
	friction, sin, cos, drag, balance, weight, screws, uneven float64
	lead, driving, backward, turnDrag, turning                float64 // the screw
	ratio, gear, rotor, onMotor                               float64
}

// screwOnly is how many of stopNeeds the torque on the screw takes.
const screwOnly = 10

// stopNeeds and stopMay are what stoppingOf takes, in its order.
var (
	stopNeeds = qs(MovedMass, HeaviestMass, Friction, Incline, BalanceMass, Lead, Efficiency, BackEfficiency, DragTorque, TurningInertia, Ratio, RotorInertia, MotorScrews)
	stopMay   = qs(Drag, Counterbalance, Screws, Unevenness, GearEfficiency, GearInertia)
	stopMoves = qs(MoveDirection)
	stopCargo = qs(MovePayload, MoveThrust)
)

// need is list with more.
func need(lists ...[]*Quantity) []*Quantity {
	var out []*Quantity
	for _, l := range lists {
		out = append(out, l...)
	}
	return out
}

// stoppingOf reads the values of stopNeeds and of stopMay.
func stoppingOf(needs, may []float64) stopping {
	driving := needs[6]
	if driving <= 0 {
		driving = math.NaN() // a thread that no torque drives has no defined stop
	}
	sin, cos := sinCos(needs[3])
	return stopping{
		friction: needs[2], sin: sin, cos: cos, weight: needs[4],
		lead: needs[5], driving: driving, backward: math.Max(0, needs[7]), turnDrag: needs[8], turning: needs[9],
		ratio: needs[10], rotor: needs[11] + or(may[5], 0), onMotor: needs[12],
		drag: or(may[0], 0), balance: or(may[1], 0), screws: or(may[2], 1), uneven: may[3], gear: or(may[4], 1),
	}
}

// screwTorque is the torque in N·m on the screw, in the direction of travel s,
// of a stop with deceleration a in m/s², and its change per m/s². The mass m in
// kg is the carriage with its payload, thrust in N the process force against
// the direction of travel.
func (c *stopping) screwTorque(m, s, thrust, a float64) (torque, slope float64) {
	f := c.force(m, s, thrust, a)
	lever := c.lead / (2 * math.Pi) * c.backward
	if f >= 0 {
		lever = c.lead / (2 * math.Pi * c.driving)
	}
	turn := c.turning * 2 * math.Pi / c.lead
	return f*lever + c.turnDrag - turn*a, -Share(m+c.weight, c.screws, c.uneven)*lever - turn
}

// force is the axial force in N on the screw then, in the direction of travel.
func (c *stopping) force(m, s, thrust, a float64) float64 {
	return s*Share(axialForce(m, -s*a, s, c.friction, c.sin, c.cos, c.drag, c.balance, thrust)-s*c.weight*a, c.screws, c.uneven) + 0*c.driving
}

// braking is the torque in N·m by which the motor or its brake must hold back
// for a deceleration a in m/s², and its change per m/s².
func (c *stopping) braking(m, s, thrust, a float64) (torque, slope float64) {
	t, k := c.screwTorque(m, s, thrust, a)
	share := c.onMotor / c.ratio
	if t >= 0 {
		share /= c.gear
	} else {
		share *= c.gear
	}
	own := c.rotor * 2 * math.Pi * c.ratio / c.lead
	return own*a - share*t, own - share*k
}

// reached is the deceleration in m/s² that a braking torque gives; below zero
// the axis gains speed. The torque rises with the deceleration along straight
// lines, each less steep than the one before: where thread and gear begin to be
// driven back they help. So Newton's steps never pass the answer after the first
// and end on the line it lies on; a step that changes nothing is followed by none that does.
func (c *stopping) reached(m, s, thrust, torque float64) float64 {
	a := 0.0
	for range 5 {
		t, k := c.braking(m, s, thrust, a)
		was := a
		if a += (torque - t) / k; a == was || a != a {
			break
		}
	}
	return a
}

// cases calls f for the stops an axis may meet: in its moves as they are, and
// from travel in either direction without process force, with the carriage
// empty or at its heaviest. What f makes of them is the greatest or the least, so that
// one stop is not called for twice.
func (c *stopping) cases(empty, full float64, moves [][]float64, f func(m, s, thrust float64)) {
	for _, m := range [2]float64{empty, full} {
		f(m, 1, 0)
		f(m, -1, 0)
		if full == empty {
			break
		}
	}
	for i, s := range moves[0] {
		if s == 0 {
			continue // what only waits has nothing to stop
		}
		m, thrust := empty+or(moves[1][i], 0), or(moves[2][i], 0)
		if (m == empty || m == full) && math.Abs(s) == 1 && thrust == 0 {
			continue
		}
		f(m, s, thrust)
	}
}

// overStops is the text of cases: a text over all stops, with % for what the function
// of a formula takes of one: mass, direction of travel and process force.
func overStops(text string) string {
	var out []string
	for _, stop := range []string{"(m, 1, 0)", "(m, −1, 0)", "(m_max, 1, 0)", "(m_max, −1, 0)", "(m + m_p, s, F_t)"} {
		out = append(out, strings.Replace(text, "%", stop, 1))
	}
	return strings.Join(out, ", ") + " if |s| > 0"
}

// declaredStop strikes out of a stop's formula what is not declared of stopMay.
func declaredStop(formula string, may []float64) string {
	return given(formula, may[0], " + F_d", may[1], " − F_cb", may[2], "·k_u/z", may[2], "·k_u/z", may[5], " + J_g")
}

// screwTorqueText defines T, the formula of screwTorque for a deceleration.
func screwTorqueText(a string) string {
	return "T(m_x, s_x, F_x) = L((s_x·(m_x·g·sin θ_i − F_cb) + μ·m_x·g·cos θ_i + F_d + F_x − (m_x + m_cb)·" + a + ")·k_u/z) + T_d − J_t·" + a + "·2π/P_h, " +
		"L(F) = F·P_h/(2π·η_d) if F ≥ 0; F·P_h·max(0, η_b)/2π"
}

// brakingText is the formula of braking for a deceleration, at its greatest over all
// stops.
func brakingText(a string) string {
	return "max(0, " + overStops("B%") + ") where B(m_x, s_x, F_x) = (J_m + J_g)·" + a + "·2π·i/P_h − z_m/i·G(T(m_x, s_x, F_x)), " +
		"G(x) = x/η_g if x ≥ 0; x·η_g, " + screwTorqueText(a)
}

// reachedText is the formula of reached for a torque: worst is what it takes of R over
// all stops. Of the lines that the torque is made of, for a thread and a gear that drive
// or are driven back, the least counts; so it is the greatest of their decelerations.
func reachedText(worst, torque string) string {
	return worst + " where R(m_x, s_x, F_x) = max(S(m_x, W(m_x, s_x, F_x), P_h/(2π·η_d)), S(m_x, W(m_x, s_x, F_x), P_h·max(0, η_b)/2π)), " +
		"S(m_x, F, L) = max(D(m_x, F, L, z_m/(i·η_g)), D(m_x, F, L, z_m·η_g/i)), " +
		"D(m_x, F, L, G) = (" + torque + "G·(F·L + T_d))/((J_m + J_g)·2π·i/P_h + G·((m_x + m_cb)·L·k_u/z + J_t·2π/P_h)), " +
		"W(m_x, s_x, F_x) = (s_x·(m_x·g·sin θ_i − F_cb) + μ·m_x·g·cos θ_i + F_d + F_x)·k_u/z"
}

var (
	brakeStopText = reachedText("max(0, "+overStops("R%")+")", "T_b + ")
	stopFallText  = reachedText("max(0, "+overStops("−R%")+")", "")
	reachableText = reachedText("min("+overStops("R%")+")", "T_sa + ")
)

// stopScrewText is the formula of StopScrewTorque; rotor where the coupling stops it.
func stopScrewText(rotor string) string {
	return "max(" + overStops("|T%|") + rotor + ") where " + screwTorqueText("a_h")
}

const (
	rotorStops   = ", (J_m + J_g)·a_h·2π·i²/P_h"
	rotorStopsIf = rotorStops + " if T_br > 0 and stop_by is not motor"
)

const srcStop = "Newton's law for carriage, screw and rotor; statics of the square thread"

// Means of an emergency stop.
var (
	BrakeTorque = calc(Quantity{
		Name: "brake_torque", Section: OfStopping, Symbol: "T_b", Title: "holding torque of the brakes, seen by the motor", Kind: u.Torque,
		Formula: "T_mb + T_br/i if T_br > 0; T_mb", Source: srcElementary, May: qs(MotorBrake, BrakeGiven, Ratio), Lacks: qs(Ratio),
		inForce: func(a []float64) string {
			if a[0] != a[0] && !(a[1] > 0) {
				return "0"
			}
			if !(a[1] > 0) {
				return "T_mb"
			}
			return given("T_mb + T_br/i", a[0], "T_mb + ")
		},
	}, func(a []float64) float64 {
		if !(a[1] > 0) {
			return or(a[0], 0)
		}
		return or(a[0], 0) + a[1]/a[2]
	})

	StopMeans = calc(Quantity{
		Name: "stop_means", Section: OfStopping, Symbol: "k_st", Title: "what stops the axis in an emergency: 0 the motor, 1 the brakes", Kind: u.None,
		Formula: "0 if stop_by is motor; 1 if stop_by is brake; 0 if T_b = 0", Source: srcElementary,
		Needs: qs(BrakeTorque), May: qs(StopBy), Lacks: qs(StopBy),
	}, func(a []float64) float64 {
		if a[1] == a[1] || a[0] > 0 {
			return a[1]
		}
		return StopByMotor
	})

	StopAvailable = calc(Quantity{
		Name: "stop_torque_available", Section: OfStopping, Symbol: "T_sa", Title: "torque that can stop the axis, seen by the motor", Kind: u.Torque,
		Formula: "k_b·T_b if k_st = 1; min(T_lim, T_mp + min(0, T_mt − T_mp)·max(0, min(1, (n_mot − n_mr)/(n_mmax − n_mr)))) if T_lim is given and n_mmax > n_mr and T_mt is given and n_mr is given; min(T_lim, T_mp) if T_lim is given; T_mp + min(0, T_mt − T_mp)·max(0, min(1, (n_mot − n_mr)/(n_mmax − n_mr))) if n_mmax > n_mr and T_mt is given and n_mr is given; T_mp", Source: srcElementary,
		Needs: qs(StopMeans, BrakeTorque), May: qs(BrakeSlip, MotorPeakTorque, MotorSpeed, MotorRatedSpeed, MotorTopTorque, MotorMaxSpeed, TorqueLimit, Case),
		Lacks: qs(BrakeSlip, MotorPeakTorque, MotorSpeed, MotorMaxSpeed),
		lackOf: func(c *Calc) []*Quantity {
			switch c.V(StopMeans) {
			case StopByBrake:
				return qs(BrakeSlip)
			case StopByMotor:
				if c.Known(Case) && !(c.V(MotorSpeed) <= c.V(MotorRatedSpeed)) {
					return qs(MotorPeakTorque, MotorSpeed, MotorMaxSpeed)
				}
				return qs(MotorPeakTorque, MotorSpeed)
			}
			return nil
		},
		inForce: func(a []float64) string {
			if a[0] == StopByBrake {
				return "k_b·T_b"
			}
			line := "T_mp"
			if a[7] > a[5] && a[6] == a[6] {
				line = "T_mp + min(0, T_mt − T_mp)·max(0, min(1, (n_mot − n_mr)/(n_mmax − n_mr)))"
			}
			if a[8] == a[8] {
				line = "min(T_lim, " + line + ")"
			}
			return line
		},
	}, func(a []float64) float64 {
		if a[0] == StopByBrake {
			return a[2] * a[1]
		}
		if a[9] == a[9] && a[7] != a[7] && !(a[4] <= a[5]) {
			return math.NaN() // what it gives at that speed cannot even be assumed
		}
		return math.Min(AvailableTorque(a[4], a[3], a[5], a[6], a[7]), or(a[8], math.Inf(1))) + 0*a[4]
	})

	StopDelay = calc(Quantity{
		Name: "stop_delay", Section: OfStopping, Symbol: "t_s", Title: "time until an emergency stop takes effect, the brakes' delay included", Kind: u.Time,
		Formula: "t_r + t_b if k_st = 1; t_r", Source: srcElementary,
		Needs: qs(StopMeans), May: qs(ReactionTime, BrakeDelay), Lacks: qs(BrakeDelay),
		lackOf: func(c *Calc) []*Quantity {
			if c.V(StopMeans) == StopByBrake {
				return qs(BrakeDelay)
			}
			return nil
		},
		inForce: func(a []float64) string {
			switch {
			case a[0] == StopByBrake:
				return given("t_r + t_b", a[1], "t_r + ")
			case a[1] == a[1]:
				return "t_r"
			}
			return "0"
		},
	}, func(a []float64) float64 {
		if a[0] == StopByBrake {
			return or(a[1], 0) + a[2]
		}
		return or(a[1], 0)
	})

	BrakeStop = fold(Quantity{
		Name: "brake_deceleration", Section: OfStopping, Symbol: "a_b", Title: "maximum deceleration by the brakes", Kind: u.Acceleration,
		Formula: "0 if T_b = 0; " + brakeStopText, Source: srcStop,
		Needs: need(stopNeeds, qs(BrakeTorque), stopMoves), May: need(stopMay, stopCargo), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			if a[13] <= 0 {
				return "0"
			}
			return declaredStop(brakeStopText, a[15:])
		},
	}, func(s [][]float64, a []float64) float64 {
		c, worst := stoppingOf(a[:13], a[14:]), 0.0
		if a[13] <= 0 {
			return 0 * Share(c.driving, c.screws, c.uneven)
		}
		c.cases(a[0], a[1], s, func(m, dir, thrust float64) {
			worst = math.Max(worst, c.reached(m, dir, thrust, a[13]))
		})
		return worst
	})

	HardestStop = calc(Quantity{
		Name: "hardest_deceleration", Section: OfStopping, Symbol: "a_h", Title: "deceleration of an emergency stop, as used for forces", Kind: u.Acceleration,
		Formula: "a_e if stop_by is motor; max(a_e, a_b) if T_b > 0; a_e", Source: "a motor follows its ramp, a brake that bites does not",
		Needs: qs(EmergencyDecel, BrakeTorque), May: qs(StopBy, BrakeStop), Lacks: qs(BrakeStop),
		inForce: func(a []float64) string {
			if a[2] == StopByMotor || a[1] <= 0 {
				return "a_e"
			}
			return "max(a_e, a_b)"
		},
	}, func(a []float64) float64 {
		if a[2] == StopByMotor || a[1] <= 0 {
			return a[0]
		}
		return math.Max(a[0], a[3])
	})
)

// Emergency stop.
var (
	StopTorque = fold(Quantity{
		Name: "stop_torque", Section: OfStopping, Symbol: "T_e", Title: "torque needed for the declared emergency deceleration, seen by the motor", Kind: u.Torque,
		Formula: brakingText("a_e"), Source: srcStop,
		Needs: need(stopNeeds, qs(EmergencyDecel), stopMoves), May: need(stopMay, stopCargo), Lacks: qs(Unevenness),
		inForce: func(a []float64) string { return declaredStop(brakingText("a_e"), a[15:]) },
	}, func(s [][]float64, a []float64) float64 {
		c, worst := stoppingOf(a[:13], a[14:]), 0.0
		c.cases(a[0], a[1], s, func(m, dir, thrust float64) {
			t, _ := c.braking(m, dir, thrust, a[13])
			worst = math.Max(worst, t)
		})
		return worst
	})

	StopReached = fold(Quantity{
		Name: "reachable_deceleration", Section: OfStopping, Symbol: "a_r", Title: "deceleration that an emergency stop can reach", Kind: u.Acceleration,
		Formula: reachableText, Source: srcStop,
		Needs: need(stopNeeds, qs(StopAvailable), stopMoves), May: need(stopMay, stopCargo), Lacks: qs(Unevenness),
		inForce: func(a []float64) string { return declaredStop(reachableText, a[15:]) },
	}, func(s [][]float64, a []float64) float64 {
		c, least := stoppingOf(a[:13], a[14:]), math.Inf(1)
		c.cases(a[0], a[1], s, func(m, dir, thrust float64) {
			least = math.Min(least, c.reached(m, dir, thrust, a[13]))
		})
		return least
	})

	StopFall = fold(Quantity{
		Name: "fall_acceleration", Section: OfStopping, Symbol: "a_f", Title: "acceleration before the brakes engage", Kind: u.Acceleration,
		Formula: "0 if k_st = 0; " + stopFallText, Source: srcStop,
		Needs: need(stopNeeds, qs(StopMeans), stopMoves), May: need(stopMay, stopCargo), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			if a[13] == StopByMotor {
				return "0"
			}
			return declaredStop(stopFallText, a[15:])
		},
	}, func(s [][]float64, a []float64) float64 {
		c, worst := stoppingOf(a[:13], a[14:]), 0.0
		c.cases(a[0], a[1], s, func(m, dir, thrust float64) {
			worst = math.Max(worst, -c.reached(m, dir, thrust, 0))
		})
		if a[13] == StopByMotor {
			return 0 * worst
		}
		return worst
	})

	StopScrewTorque = fold(Quantity{
		Name: "stop_screw_torque", Section: OfStopping, Symbol: "T_se", Title: "peak torque on the screw and its coupling in an emergency stop", Kind: u.Torque,
		Formula: stopScrewText(rotorStopsIf), Source: srcStop,
		Needs: need(stopNeeds[:screwOnly], qs(HardestStop), stopMoves), May: need(stopMay, qs(BrakeGiven, StopBy, Ratio, RotorInertia), stopCargo),
		Lacks: qs(Unevenness, Ratio, RotorInertia),
		lackOf: func(c *Calc) []*Quantity {
			var out []*Quantity
			if c.V(Screws) > 1 {
				out = qs(Unevenness)
			}
			if c.V(BrakeGiven) > 0 && c.V(StopBy) != StopByMotor {
				out = append(out, Ratio, RotorInertia)
			}
			return out
		},
		inForce: func(a []float64) string {
			rotor := ""
			if a[18] > 0 && a[19] != StopByMotor {
				rotor = rotorStops
			}
			return declaredStop(stopScrewText(rotor), a[12:])
		},
	}, func(s [][]float64, a []float64) float64 {
		c, hard := onScrew(a)
		worst := 0.0
		c.cases(a[0], a[1], s, func(m, dir, thrust float64) {
			t, _ := c.screwTorque(m, dir, thrust, hard)
			worst = math.Max(worst, math.Abs(t))
		})
		if a[17] > 0 && a[18] != StopByMotor {
			worst = math.Max(worst, c.rotor*hard*2*math.Pi*c.ratio*c.ratio/c.lead)
		}
		return worst
	})

	RunOn = calc(Quantity{
		Name: "run_on_distance", Section: OfStopping, Symbol: "s_ro", Title: "distance of an emergency stop from top speed, at the deceleration reached", Kind: u.Length,
		Formula: "v_max·t_s + a_f·t_s²/2 + (v_max + a_f·t_s)²/(2·max(0, min(a_e, a_r)))", Source: srcKinematics,
		Needs: qs(TopSpeed, EmergencyDecel, StopReached, StopDelay, StopFall),
	}, f5(RunOnDistance))
)

// onScrew is the stop that StopScrewTorque takes, and its deceleration.
func onScrew(a []float64) (c stopping, hard float64) {
	needs := [...]float64{0: a[0], 1: a[1], 2: a[2], 3: a[3], 4: a[4], 5: a[5], 6: a[6], 7: a[7], 8: a[8], 9: a[9], 10: a[19], 11: a[20], 12: 1}
	return stoppingOf(needs[:], a[screwOnly+1:]), a[screwOnly]
}

// RunOnDistance is the distance in m that an axis travels from speed v in m/s
// until it stands: for the time delay in s it gains speed with fall, then it
// loses speed with the lesser of the decelerations asked and reached, all in
// m/s². Without a deceleration above zero it has no end (kinematics).
func RunOnDistance(v, asked, reached, delay, fall float64) float64 {
	if reached <= 0 {
		return math.Inf(1)
	}
	top := v + fall*delay
	return v*delay + fall*delay*delay/2 + top*top/(2*math.Min(asked, reached))
}

// Force at rest.
var (
	StandingTorque = fold(Quantity{
		Name: "standing_torque", Section: OfDrive, Symbol: "T_0", Title: "peak torque of the motor at rest, without help from friction", Kind: u.Torque,
		Formula: "max(0, |T_mj| if phase is rest, |F_h|·P_h·z_m/(2π·i))", Source: srcElementary,
		Needs: qs(MotorPhaseTorque, PhaseTime, Lead, Ratio, MotorScrews), May: qs(StandstillForce),
		inForce: func(a []float64) string {
			return given("max(0, |T_mj| if phase is rest, |F_h|·P_h·z_m/(2π·i))", a[5], ", |F_h|·P_h·z_m/(2π·i)")
		},
	}, func(s [][]float64, a []float64) float64 {
		worst := math.Abs(or(a[3], 0)) * a[0] * a[2] / (2 * math.Pi * a[1])
		eachRest(s[1], func(j int) { worst = math.Max(worst, math.Abs(s[0][j])) })
		return worst
	})

	LastingTorque = fold(Quantity{
		Name: "lasting_torque", Section: OfDrive, Symbol: "T_00", Title: "peak torque of the motor over rests of a second or longer and at standstill, without help from friction", Kind: u.Torque,
		Formula: "max(0, |T_mj| if phase is rest and t_j ≥ 1000 ms, |F_h|·P_h·z_m/(2π·i))", Source: "elementary mechanics; a second: common practice, no source",
		Needs: qs(MotorPhaseTorque, PhaseTime, Lead, Ratio, MotorScrews), May: qs(StandstillForce),
		inForce: func(a []float64) string {
			return given("max(0, |T_mj| if phase is rest and t_j ≥ 1000 ms, |F_h|·P_h·z_m/(2π·i))", a[5], ", |F_h|·P_h·z_m/(2π·i)")
		},
	}, func(s [][]float64, a []float64) float64 {
		worst := math.Abs(or(a[3], 0)) * a[0] * a[2] / (2 * math.Pi * a[1])
		eachRest(s[1], func(j int) {
			if s[1][j] >= lasting*(1-1e-9) {
				worst = math.Max(worst, math.Abs(s[0][j]))
			}
		})
		return worst
	})

	LostTorque = calc(Quantity{
		Name: "lost_balance_torque", Section: OfDrive, Symbol: "T_lb", Title: "motor torque that holds the load when the counterbalance is lost", Kind: u.Torque,
		Formula: "z_m·F_lb·P_h/(2π·i)", Source: srcElementary, Needs: qs(LostBalance, Lead, Ratio, MotorScrews),
	}, f4(func(f, p, i, z float64) float64 { return z * f * p / (2 * math.Pi * i) }))

	RopeAcceleration = fold(Quantity{
		Name: "rope_acceleration", Section: OfDrive, Symbol: "a_cb", Title: "maximum acceleration of the counterweight, emergency stop included", Kind: u.Acceleration,
		Formula: "r_r·max(|a_j|, a_h)", Source: srcKinematics, Needs: qs(PhaseAcceleration, PhaseTime), May: qs(RopeRatio, HardestStop, EmergencyDecel), Lacks: qs(HardestStop),
		inForce: func(a []float64) string { return given("r_r·max(|a_j|, a_h)", a[2], "r_r·", a[3], ", a_h") },
	}, func(s [][]float64, a []float64) float64 {
		if a[2] == a[2] && a[1] != a[1] {
			return math.NaN() // there is a stop, and how hard it is is not known
		}
		return or(a[0], 1) * math.Max(peakOverPhases(s, nil), or(a[1], 0))
	})
)

// lasting is how long a rest in s must last for one winding to heat up as at
// standstill (common practice, no source).
const lasting = 1

// eachRest calls f for the rests that last.
func eachRest(times []float64, f func(j int)) {
	for j := int(Rest); j < len(times); j += PhasesPerMove {
		if times[j] > 0 {
			f(j)
		}
	}
}

// Run against an end.
var (
	ThreadEfficiency = calc(Quantity{
		Name: "thread_efficiency", Section: OfStopping, Symbol: "η_0", Title: "best possible driving efficiency", Kind: u.None,
		Formula: "η if η is given; (1 − μ_s·tan φ)/(1 + μ_s/tan φ)", Source: "statics of the square thread",
		Needs: qs(LeadAngle, ThreadFriction), May: qs(EfficiencyGiven),
		inForce: func(a []float64) string {
			if a[2] == a[2] {
				return "η"
			}
			return "(1 − μ_s·tan φ)/(1 + μ_s/tan φ)"
		},
	}, func(a []float64) float64 { return or(a[2], DrivingEfficiency(a[0], a[1])) })

	StallTorque = calc(Quantity{
		Name: "stall_torque", Section: OfStopping, Symbol: "T_sl", Title: "torque with which the motor pushes against a mechanical end", Kind: u.Torque,
		Formula: "min(T_mp, T_lim) if T_mp is given and T_lim is given; T_lim if T_lim is given; T_mp", Source: srcElementary, May: qs(MotorPeakTorque, TorqueLimit), Lacks: qs(MotorPeakTorque),
		inForce: func(a []float64) string {
			switch {
			case a[1] != a[1]:
				return "T_mp"
			case a[0] != a[0]:
				return "T_lim"
			}
			return "min(T_mp, T_lim)"
		},
	}, func(a []float64) float64 {
		if a[0] != a[0] {
			return a[1]
		}
		return math.Min(a[0], or(a[1], a[0]))
	})

	StallForce = calc(Quantity{
		Name: "stall_force", Section: OfStopping, Symbol: "F_sl", Title: "axial force of a screw whose motor pushes against a mechanical end", Kind: u.Force,
		Formula: "2π·i·η_g·η_0·T_sl/P_h·k_u/z_m if z_m > 1; 2π·i·η_g·η_0·T_sl/P_h/z_m", Source: "statics of the square thread",
		Needs: qs(StallTorque, Ratio, ThreadEfficiency, Lead, MotorScrews), May: qs(GearEfficiency, Screws, Unevenness), Lacks: qs(Unevenness),
		inForce: func(a []float64) string {
			f := given("2π·i·η_g·η_0·T_sl/P_h", a[5], "η_g·")
			if a[4] > 1 && a[6] > 1 {
				return f + "·k_u/z_m"
			}
			return f + "/z_m"
		},
	}, func(a []float64) float64 {
		f := DriveForce(a[0]*a[1]*or(a[5], 1), a[3], a[2]) / a[4]
		if a[4] > 1 && a[6] > 1 {
			return f * a[7]
		}
		return f
	})

	RunInertia = calc(Quantity{
		Name: "running_inertia", Section: OfStopping, Symbol: "J_r", Title: "inertia of screw and rotor seen by the screw", Kind: u.Inertia,
		Formula: "J_t + (J_m + J_g)·i²/z_m", Source: srcElementary, Needs: qs(TurningInertia, RotorInertia, Ratio, MotorScrews), May: qs(GearInertia),
		inForce: func(a []float64) string { return given("J_t + (J_m + J_g)·i²/z_m", a[4], " + J_g") },
	}, func(a []float64) float64 { return a[0] + (a[1]+or(a[4], 0))*a[2]*a[2]/a[3] })

	EndForce = calc(Quantity{
		Name: "end_force", Section: OfStopping, Symbol: "F_end", Title: "axial force of a screw on contact with a mechanical end", Kind: u.Force,
		Formula: "F_sl + √(F_sl² + J_r·(2π·v_end/P_h)²/(1/R + 1/R_end)) if v_end > 0; F_sl", Source: "balance of energy on a spring",
		Needs: qs(StallForce, Lead), May: qs(EndSpeed, Rigidity, EndStiffness, RunInertia), Lacks: qs(Rigidity, RunInertia),
		inForce: func(a []float64) string {
			if !(a[2] > 0) {
				return "F_sl"
			}
			return given("F_sl + √(F_sl² + J_r·(2π·v_end/P_h)²/(1/R + 1/R_end))", a[4], " + 1/R_end")
		},
	}, func(a []float64) float64 {
		if !(a[2] > 0) {
			return a[0]
		}
		soft := 1 / a[3]
		if a[4] == a[4] {
			soft += 1 / a[4]
		}
		return ImpactForce(a[0], a[5], 2*math.Pi*a[2]/a[1], 1/soft)
	})

	EndStaticSafety = calc(Quantity{
		Name: "end_static_safety", Section: OfStopping, Symbol: "S_0e", Title: "static safety on contact with a mechanical end", Kind: u.None,
		Formula: "C_0am/F_end", Source: srcCommon, Needs: qs(ModifiedStaticRating, EndForce),
	}, f2(func(c, f float64) float64 { return c / f }))

	EndBuckling = calc(Quantity{
		Name: "end_buckling_safety", Section: OfStopping, Symbol: "S_ke", Title: "buckling safety on contact with a mechanical end", Kind: u.None,
		Formula: "F_k/F_end", Source: srcElementary, Needs: qs(Buckling, EndForce),
	}, f2(func(c, f float64) float64 { return c / f }))

	EndSupport = calc(Quantity{
		Name: "end_support_safety", Section: OfStopping, Symbol: "S_se", Title: "static safety of the fixed-side bearing on contact with a mechanical end", Kind: u.None,
		Formula: "C_0sup/F_end", Source: "ISO 76 (static safety of rolling bearings)", Needs: qs(SupportStatic, EndForce),
	}, f2(func(c, f float64) float64 { return c / f }))

	EndStress = calc(Quantity{
		Name: "end_stress", Section: OfStopping, Symbol: "σ_e", Title: "equivalent stress in the root section on contact with a mechanical end", Kind: u.Stress,
		Formula: "√((4·F_end/(π·d_2²))² + 3·(16·F_end·P_h/(2π·η_0)/(π·d_2³))²)", Source: "von Mises; elementary strength of materials",
		Needs: qs(EndForce, Lead, ThreadEfficiency, RootDiameter),
	}, f4(func(f, p, eta, d float64) float64 { return CombinedStress(f, f*p/(2*math.Pi*eta), d) }))
)

// DriveForce is the axial force in N that a torque t in N·m on a screw of lead p
// in m and efficiency eta gives: 2π·η·T/P_h, ThreadTorque the other way round.
func DriveForce(t, p, eta float64) float64 { return 2 * math.Pi * eta * t / p }

// ImpactForce is the greatest force in N when an inertia j in kg·m² that turns at
// w in rad/s winds a screw against an end of axial stiffness k in N/m while a
// steady force f in N goes on pushing: F + √(F² + k·J·ω²), from
// J·ω²/2 + F·x = k·x²/2.
func ImpactForce(f, j, w, k float64) float64 { return f + math.Sqrt(f*f+k*j*w*w) }
