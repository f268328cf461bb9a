package mechanics

import (
	"math"

	u "trammel/spec/unit"
)

// Gravity is the standard acceleration of free fall in m/s² (ISO 80000-3).
const Gravity = 9.80665

const (
	srcKinematics = "kinematics of uniform acceleration"
	srcElementary = "elementary mechanics"
	srcGeometry   = "elementary geometry"
)

// RampAcceleration is the acceleration of a ramp in m/s² from the declared
// top speed v in m/s and ramp time t in s. A ramp of no duration is not
// defined.
func RampAcceleration(v, t float64) float64 {
	if t <= 0 {
		return math.NaN()
	}
	return v / t
}

// firstRamp takes, of the ways to declare a ramp, the first one given.
func firstRamp(v, t, tBoth, a, aBoth float64) float64 {
	switch {
	case t == t:
		return RampAcceleration(v, t)
	case a == a:
		return a
	case tBoth == tBoth:
		return RampAcceleration(v, tBoth)
	}
	return aBoth
}

// PeakSpeed is the highest speed in m/s a move over distance s in m reaches
// when v is the required speed and a1, a2 are its accelerations up and down
// in m/s². A move too short for its speed is a triangle:
// v_p = √(2·s·a1·a2/(a1+a2)).
func PeakSpeed(s, v, a1, a2 float64) float64 {
	return math.Min(v, math.Sqrt(2*math.Abs(s)*a1*a2/(a1+a2)))
}

// Motion of a move.
var (
	MoveUp = each(Quantity{
		Name: "move_acceleration", Section: OfMotion, Symbol: "a_up", Title: "acceleration of a move", Kind: u.Acceleration, Shape: PerMove,
		Formula: "v_i/t_a1 if t_a1 is given; v_i/t_a if t_a is given; a_1", Source: srcKinematics,
		Needs: qs(MoveSpeed), May: qs(MoveRampUp, MoveRamp, MoveAcceleration), Lacks: qs(MoveRamp),
	}, func(a []float64, _ Part) float64 { return firstRamp(a[0], a[1], a[2], math.NaN(), a[3]) })

	MoveDown = each(Quantity{
		Name: "move_deceleration", Section: OfMotion, Symbol: "a_dn", Title: "deceleration of a move", Kind: u.Acceleration, Shape: PerMove,
		Formula: "v_i/t_a2 if t_a2 is given; a_2 if a_2 is given; v_i/t_a if t_a is given; a_1", Source: srcKinematics,
		Needs: qs(MoveSpeed), May: qs(MoveRampDown, MoveRamp, MoveDeceleration, MoveAcceleration), Lacks: qs(MoveRamp),
	}, func(a []float64, _ Part) float64 { return firstRamp(a[0], a[1], a[2], a[3], a[4]) })

	MovePeakSpeed = each(Quantity{
		Name: "move_peak_speed", Section: OfMotion, Symbol: "v_p", Title: "maximum speed a move reaches", Kind: u.Speed, Shape: PerMove,
		Formula: "min(v_i, √(2·|s_i|·a_up·a_dn/(a_up+a_dn)))", Source: srcKinematics,
		Needs: qs(MoveDistance, MoveSpeed, MoveUp, MoveDown),
	}, func(a []float64, _ Part) float64 { return PeakSpeed(a[0], a[1], a[2], a[3]) })

	MoveDirection = each(Quantity{
		Name: "move_direction", Section: OfMotion, Symbol: "s", Title: "direction of travel", Shape: PerMove,
		Formula: "1 if s_i > 0; −1 if s_i < 0; 0", Source: srcKinematics,
		Needs: qs(MoveDistance),
	}, func(a []float64, _ Part) float64 { return sign(a[0]) })
)

// Motion by phase.
var (
	PhaseTime = each(Quantity{
		Name: "phase_time", Section: OfMotion, Symbol: "t_j", Title: "duration of a phase", Kind: u.Time, Shape: PerPhase,
		Formula: "v_p/a_up if phase is ramp-up; v_p/a_dn if phase is ramp-down; t_d if phase is rest; max(0, |s_i| − v_p²/(2·a_up) − v_p²/(2·a_dn))/v_p if v_p > 0; 0", Source: srcKinematics,
		Needs: qs(MoveDistance, MovePeakSpeed, MoveUp, MoveDown), May: qs(MoveDwell),
	}, func(a []float64, p Part) float64 {
		switch p {
		case RampUp:
			return a[1] / a[2]
		case RampDown:
			return a[1] / a[3]
		case Rest:
			return or(a[4], 0)
		}
		if a[1] == 0 {
			return 0 // a move of no distance only waits
		}
		return steadyDistance(a[0], a[1], a[2], a[3]) / a[1]
	})

	PhaseDistance = each(Quantity{
		Name: "phase_distance", Section: OfMotion, Symbol: "s_j", Title: "distance travelled in a phase", Kind: u.Length, Shape: PerPhase,
		Formula: "v_p²/(2·a_up) if phase is ramp-up; v_p²/(2·a_dn) if phase is ramp-down; 0 if phase is rest; max(0, |s_i| − v_p²/(2·a_up) − v_p²/(2·a_dn))", Source: srcKinematics,
		Needs: qs(MoveDistance, MovePeakSpeed, MoveUp, MoveDown),
	}, func(a []float64, p Part) float64 {
		switch p {
		case RampUp:
			return a[1] * a[1] / (2 * a[2])
		case RampDown:
			return a[1] * a[1] / (2 * a[3])
		case Rest:
			return 0
		}
		return steadyDistance(a[0], a[1], a[2], a[3])
	})

	PhaseTopSpeed = each(Quantity{
		Name: "phase_top_speed", Section: OfMotion, Symbol: "v_j", Title: "maximum speed in a phase", Kind: u.Speed, Shape: PerPhase,
		Formula: "0 if phase is rest; v_p", Source: srcKinematics,
		Needs: qs(MovePeakSpeed),
	}, func(a []float64, p Part) float64 {
		if p == Rest {
			return 0
		}
		return a[0]
	})

	PhaseAcceleration = each(Quantity{
		Name: "phase_acceleration", Section: OfMotion, Symbol: "a_j", Title: "acceleration in a phase, positive toward positive travel", Kind: u.Acceleration, Shape: PerPhase,
		Formula: "s·a_up if phase is ramp-up; −s·a_dn if phase is ramp-down; 0", Source: srcKinematics,
		Needs: qs(MoveDirection, MoveUp, MoveDown),
	}, func(a []float64, p Part) float64 {
		switch p {
		case RampUp:
			return a[0] * a[1]
		case RampDown:
			return -a[0] * a[2]
		}
		return 0
	})
)

func steadyDistance(s, v, a1, a2 float64) float64 {
	d := math.Abs(s) - v*v/(2*a1) - v*v/(2*a2)
	if d < 1e-12*math.Abs(s) { // a triangle leaves only rounding
		return 0
	}
	return d
}

// Motion over the cycle.
var (
	CycleTime = fold(Quantity{
		Name: "cycle_time", Section: OfMotion, Symbol: "t_c", Title: "duration of the cycle", Kind: u.Time,
		Formula: "Σ t_j", Source: srcKinematics, Needs: qs(PhaseTime),
	}, func(s [][]float64, _ []float64) float64 { return sum(s[0]) })

	MovingTime = fold(Quantity{
		Name: "moving_time", Section: OfMotion, Symbol: "t_m", Title: "time in motion in a cycle", Kind: u.Time,
		Formula: "Σ (t_j if phase is not rest)", Source: srcKinematics, Needs: qs(PhaseTime),
	}, func(s [][]float64, _ []float64) float64 {
		t := 0.0
		for j, v := range s[0] {
			if Part(j%PhasesPerMove) != Rest {
				t += v
			}
		}
		return t
	})

	CycleDistance = fold(Quantity{
		Name: "cycle_distance", Section: OfMotion, Symbol: "s_c", Title: "distance travelled in a cycle", Kind: u.Length,
		Formula: "Σ |s_i|", Source: srcKinematics, Needs: qs(MoveDistance),
	}, func(s [][]float64, _ []float64) float64 {
		d := 0.0
		for _, v := range s[0] {
			d += math.Abs(v)
		}
		return d
	})

	NetDistance = fold(Quantity{
		Name: "net_distance", Section: OfMotion, Symbol: "s_n", Title: "distance from start to end of a cycle", Kind: u.Length,
		Formula: "Σ s_i", Source: srcKinematics, Needs: qs(MoveDistance),
	}, func(s [][]float64, _ []float64) float64 {
		d, all := sum(s[0]), 0.0
		for _, v := range s[0] {
			all += math.Abs(v)
		}
		if math.Abs(d) < 1e-9*all {
			return 0
		}
		return d
	})

	CycleOffset = calc(Quantity{
		Name: "cycle_offset", Section: OfMotion, Symbol: "s_off", Title: "offset of the end of a cycle from its start", Kind: u.Length,
		Formula: "|s_n|", Source: srcKinematics, Needs: qs(NetDistance),
	}, f1(math.Abs))

	Reach = fold(Quantity{
		Name: "reach", Section: OfMotion, Symbol: "s_r", Title: "travel between the outermost positions of a cycle", Kind: u.Length,
		Formula: "max(0, run(s_i)) − min(0, run(s_i))", Source: srcKinematics, Needs: qs(MoveDistance),
	}, func(s [][]float64, _ []float64) float64 {
		at, low, high := 0.0, 0.0, 0.0
		for _, v := range s[0] {
			at += v
			low, high = math.Min(low, at), math.Max(high, at)
		}
		return high - low
	})

	TopSpeed = fold(Quantity{
		Name: "top_speed", Section: OfMotion, Symbol: "v_max", Title: "maximum travel speed", Kind: u.Speed,
		Formula: "max v_p", Source: srcKinematics, Needs: qs(MovePeakSpeed),
	}, func(s [][]float64, _ []float64) float64 { return largest(s[0]) })

	MeanSpeed = calc(Quantity{
		Name: "mean_speed", Section: OfMeans, Symbol: "v_m", Title: "mean travel speed while moving", Kind: u.Speed,
		Formula: "s_c/t_m", Source: srcKinematics, Needs: qs(CycleDistance, MovingTime),
	}, f2(func(s, t float64) float64 { return s / t }))

	MovingShare = calc(Quantity{
		Name: "moving_share", Section: OfMotion, Symbol: "q_m", Title: "share of the cycle in motion", Kind: u.Percentage,
		Formula: "t_m/t_c", Source: srcKinematics, Needs: qs(MovingTime, CycleTime),
	}, f2(func(m, c float64) float64 { return m / c }))

	CyclesPerYear = calc(Quantity{
		Name: "cycles_per_year", Section: OfMotion, Symbol: "N_y", Title: "cycles a year", Kind: u.None,
		Formula: "h_d·3600·d_y/t_c", Source: srcElementary, Needs: qs(HoursPerDay, DaysPerYear, CycleTime),
	}, f3(func(h, d, t float64) float64 { return h * 3600 * d / t }))

	DistancePerDay = calc(Quantity{
		Name: "distance_per_day", Section: OfService, Symbol: "s_d", Title: "distance travelled in a working day", Kind: u.Length,
		Formula: "s_c·h_d·3600/t_c", Source: srcElementary, Needs: qs(CycleDistance, HoursPerDay, CycleTime),
	}, f3(func(s, h, t float64) float64 { return s * h * 3600 / t }))

	DistancePerYear = calc(Quantity{
		Name: "distance_per_year", Section: OfService, Symbol: "s_y", Title: "distance travelled in a year", Kind: u.Length,
		Formula: "s_c·N_y", Source: srcElementary, Needs: qs(CycleDistance, CyclesPerYear),
	}, f2(func(s, n float64) float64 { return s * n }))
)

// ScrewSpeed is the speed in rad/s at which screw or nut turns for a travel
// speed v in m/s and a lead in m.
func ScrewSpeed(v, lead float64) float64 { return 2 * math.Pi * v / lead }

// Rotation.
var (
	RevsPerCycle = calc(Quantity{
		Name: "revolutions_per_cycle", Section: OfMeans, Symbol: "N_c", Title: "revolutions in a cycle", Kind: u.Revolutions,
		Formula: "s_c/P_h", Source: srcElementary, Needs: qs(CycleDistance, Lead),
	}, f2(func(s, p float64) float64 { return s / p }))

	RevsPerYear = calc(Quantity{
		Name: "revolutions_per_year", Section: OfMeans, Symbol: "N_r", Title: "revolutions a year", Kind: u.Revolutions,
		Formula: "N_c·N_y", Source: srcElementary, Needs: qs(RevsPerCycle, CyclesPerYear),
	}, f2(func(c, y float64) float64 { return c * y }))

	MaxRotation = calc(Quantity{
		Name: "max_rotation_speed", Section: OfSpeedLimits, Symbol: "n_max", Title: "maximum rotation speed of the screw", Kind: u.RotationSpeed,
		Formula: "v_max/P_h", Source: srcElementary, Needs: qs(TopSpeed, Lead),
	}, f2(ScrewSpeed))

	MeanRotation = calc(Quantity{
		Name: "mean_rotation_speed", Section: OfMeans, Symbol: "n_m", Title: "mean rotation speed while moving", Kind: u.RotationSpeed,
		Formula: "v_m/P_h", Source: "ISO 3408-5:2006, 7.1.1 (formula from memory)", Needs: qs(MeanSpeed, Lead),
	}, f2(ScrewSpeed))

	MotorSpeed = calc(Quantity{
		Name: "motor_speed", Section: OfSpeedLimits, Symbol: "n_mot", Title: "maximum speed of the motor", Kind: u.RotationSpeed,
		Formula: "n_max·i", Source: srcElementary, Needs: qs(MaxRotation, Ratio),
	}, f2(func(n, i float64) float64 { return n * i }))

	MinLead = calc(Quantity{
		Name: "min_lead", Section: OfSpeedLimits, Symbol: "P_hmin", Title: "minimum lead for the speed", Kind: u.Length,
		Formula: "v_max·i/n_mmax", Source: srcElementary, Needs: qs(TopSpeed, Ratio, MotorMaxSpeed),
	}, f3(LeastLead))
)

// LeastLead is the least lead in m that gives a travel speed v in m/s through
// a ratio i (turns of the motor for one of the screw) from a motor that turns
// at most at n in rad/s.
func LeastLead(v, i, n float64) float64 { return 2 * math.Pi * v * i / n }

func sign(x float64) float64 {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

// or returns x, or instead where x is not known.
func or(x, instead float64) float64 {
	if x != x {
		return instead
	}
	return x
}

func sum(s []float64) float64 {
	t := 0.0
	for _, v := range s {
		t += v
	}
	return t
}

func largest(s []float64) float64 {
	m := math.Inf(-1)
	for _, v := range s {
		if v > m {
			m = v
		}
	}
	return m
}
