package mechanics

import (
	"math"
)

// Assumptions. Some values nobody can know without the line that declares them:
// how much a gear loses, how long a stop takes to begin. For these there is a range,
// that of usual axes, and a usual value within it.
//
// All of them hang on one leaf, Case. At Heavy each has the end of its range that
// makes the axis work harder: more friction, more inertia, later stops. At Light what
// can do harm by being small as well, such as friction under a load that a brake must
// hold, is at its other end; what does harm by its one end only stays there. At Usual
// each has its usual value. A rule that passes at Heavy and at Light passes whatever
// the values are; the tests hold this against combinations of them. Where Case is not
// known, what is not declared is taken as it was always: it
// is left out.
const (
	Light = -1
	Usual = 0
	Heavy = 1
)

// Case says which of the assumed values are taken: Light, Usual or Heavy.
var Case = add(Quantity{Name: "assumed.case", Symbol: "k", Title: "end of the assumed ranges in use"})

// An Assumption is a value that is assumed where it is not declared.
type Assumption struct {
	Leaf  *Quantity // what would be declared
	Taken *Quantity // what is taken: declared, or assumed
	Why   string    // where the range comes from, and for which axes it holds
	ends  func(c *Calc) (low, high float64)
}

// Ends gives the range in which the value lies for the axis in c; ok is false where
// nothing is assumed: the value is declared, or does not matter here.
func (a *Assumption) Ends(c *Calc) (low, high float64, ok bool) {
	if c.Known(a.Leaf) || len(c.Lost(a.Leaf)) > 0 {
		return 0, 0, false
	}
	low, high = a.ends(c)
	return low, high, low < high
}

// assumed declares an assumption and the quantity that is taken. by gives the value
// for a case; its arguments are those of needs.
func assumed(q Quantity, leaf *Quantity, why string, needs []*Quantity, by func(k float64, a []float64) float64) *Assumption {
	q.Kind = leaf.Kind
	q.May, q.Lacks = append(qs(leaf, Case), needs...), qs(leaf)
	q.Source = why
	taken := calc(q, func(a []float64) float64 {
		if a[0] == a[0] || a[1] != a[1] {
			return a[0]
		}
		return by(a[1], a[2:])
	})
	x := &Assumption{Leaf: leaf, Taken: taken, Why: why}
	x.ends = func(c *Calc) (low, high float64) {
		a := make([]float64, len(needs))
		for i, n := range needs {
			a[i] = c.V(n)
		}
		x, y, z := by(Light, a), by(Usual, a), by(Heavy, a)
		return min(x, y, z), max(x, y, z)
	}
	assumptions = append(assumptions, x)
	return x
}

// withEnds gives an assumption a range that is wider than its cases.
func withEnds(x *Assumption, ends func(c *Calc) (low, high float64)) *Assumption {
	x.ends = ends
	return x
}

var assumptions []*Assumption

// Assumptions lists what may be assumed.
func Assumptions() []*Assumption { return assumptions }

// among gives the value of a case.
func among(light, usual, heavy float64) func(float64, []float64) float64 {
	return func(k float64, _ []float64) float64 {
		switch {
		case k < 0:
			return light
		case k > 0:
			return heavy
		}
		return usual
	}
}

// stated is the formula of what is taken: as declared where it is, else that of the
// case.
func stated(symbol, light, usual, heavy string) func([]float64) string {
	return func(a []float64) string {
		switch {
		case a[0] == a[0]:
			return symbol
		case a[1] < 0:
			return light
		case a[1] > 0:
			return heavy
		}
		return usual
	}
}

// What may be assumed.
var (
	assumedDrag = assumed(Quantity{
		Name: "drag", Section: OfForces, Symbol: "F_d", Title: "drag of wipers, seals and cable chain",
		Formula: "F_dd if F_dd is given; 50 N if k > 0; 0 N", inForce: stated("F_dd", "0 N", "0 N", "50 N"),
	}, DragGiven, "wipers, seals and a cable chain usually add 0 to 50 N of drag: common practice, no source", nil, among(0, 0, 50))

	assumedFriction = assumed(Quantity{
		Name: "thread_friction", Section: OfDrive, Symbol: "μ_s", Title: "friction coefficient of the ball thread",
		Formula: "μ_sd if μ_sd is given; (1 − η)·tan φ/(η + (tan φ)²) if η is given; 0.002 if k < 0; 0.005 if k > 0; 0.003",
		inForce: func(a []float64) string {
			switch {
			case a[0] == a[0]:
				return "μ_sd"
			case a[2] == a[2]:
				return "(1 − η)·tan φ/(η + (tan φ)²)"
			}
			return stated("", "0.002", "0.003", "0.005")([]float64{math.NaN(), a[1]})
		},
	}, ThreadFrictionGiven, "friction coefficients of ball threads are 0.002 to 0.005: common practice, no source", qs(EfficiencyGiven, LeadAngle), func(k float64, a []float64) float64 {
		if a[0] == a[0] {
			t := math.Tan(a[1])
			return (1 - a[0]) * t / (a[0] + t*t)
		}
		return among(0.002, 0.003, 0.005)(k, nil)
	})

	assumedYield = withEnds(assumed(Quantity{
		Name: "yield_strength", Section: OfStrength, Symbol: "S_y", Title: "yield strength of the shaft's core",
		Formula: "S_yd if S_yd is given; 300 N/(1 mm)²", inForce: stated("S_yd", "300 N/(1 mm)²", "300 N/(1 mm)²", "300 N/(1 mm)²"),
	}, YieldStrengthGiven, "cores of screw shafts yield at 300 to 700 MPa, 300 being cautious: common practice, no source", nil, among(300e6, 300e6, 300e6)), fixedEnds(300e6, 700e6))

	assumedReaction = withEnds(assumed(Quantity{
		Name: "reaction_time", Section: OfStopping, Symbol: "t_r", Title: "time until an emergency stop takes effect",
		Formula: "t_rd if t_rd is given; 100 ms if k = 0; 200 ms", inForce: stated("t_rd", "200 ms", "100 ms", "200 ms"),
	}, ReactionTimeGiven, "switches, relays and drives take 10 to 200 ms together: common practice, no source", nil, among(0.2, 0.1, 0.2)), fixedEnds(0.01, 0.2))

	assumedDelay = withEnds(assumed(Quantity{
		Name: "brake_delay", Section: OfStopping, Symbol: "t_b", Title: "time from the stop signal until the brakes engage",
		Formula: "t_bd if t_bd is given; 150 ms if k = 0; 250 ms", inForce: stated("t_bd", "250 ms", "150 ms", "250 ms"),
	}, BrakeDelayGiven, "holding brakes engage 40 to 250 ms after the signal, relays included: common practice, no source", nil, among(0.25, 0.15, 0.25)), fixedEnds(0.04, 0.25))

	assumedSlip = withEnds(assumed(Quantity{
		Name: "brake_slip", Section: OfStopping, Symbol: "k_b", Title: "slipping torque of the brakes over their holding torque",
		Formula: "k_bd if k_bd is given; 60 % if k = 0; 50 %", inForce: stated("k_bd", "50 %", "60 %", "50 %"),
	}, BrakeSlipGiven, "brakes that slip give 50 to 100 % of their holding torque: common practice, no source", nil, among(0.5, 0.6, 0.5)), fixedEnds(0.5, 1))

	assumedHousing = withEnds(assumed(Quantity{
		Name: "housing_stiffness", Section: OfAccuracy, Symbol: "R_h", Title: "stiffness of nut and bearing housings",
		Formula: "R_hd if R_hd is given; 1000 N/(1 µm) if k = 0; 500 N/(1 µm)", inForce: stated("R_hd", "500 N/(1 µm)", "1000 N/(1 µm)", "500 N/(1 µm)"),
	}, HousingStiffnessGiven, "housings usually have 500 to 3000 N/µm: common practice, no source", nil, among(0.5e9, 1e9, 0.5e9)), fixedEnds(0.5e9, 3e9))

	assumedCoupling = withEnds(assumed(Quantity{
		Name: "coupling_torsional_stiffness", Section: OfAccuracy, Symbol: "k_cs", Title: "torsional stiffness of the coupling",
		Formula: "k_cd if k_cd is given; 300·T_cr if k = 0; 50·T_cr",
		inForce: stated("k_cd", "50·T_cr", "300·T_cr", "50·T_cr"),
	}, CouplingTwistGiven, "couplings have 50 (rubber spider) to 1500 (bellows) times their rated torque a radian: common practice, no source",
		qs(CouplingTorque), func(k float64, a []float64) float64 { return a[0] * among(50, 300, 50)(k, nil) }),
		func(c *Calc) (low, high float64) { return 50 * c.V(CouplingTorque), 1500 * c.V(CouplingTorque) })

	assumedGearPlay = withEnds(assumed(Quantity{
		Name: "gear_backlash", Section: OfAccuracy, Symbol: "β_g", Title: "play of belt or gear, measured at the screw",
		Formula: "β_gd if β_gd is given; 0 if i = 1 and η_gd is not given and J_gd is not given; 5°/60 if k = 0; 15°/60",
		inForce: func(a []float64) string {
			switch {
			case a[0] == a[0]:
				return "β_gd"
			case a[2] == 1 && a[3] != a[3] && a[4] != a[4]:
				return "0"
			}
			return stated("", "15°/60", "5°/60", "15°/60")(a)
		},
	}, GearPlayGiven, "belts and gears have 0 to 15 arcmin of play at the screw: common practice, no source", qs(Ratio, GearEfficiencyGiven, GearInertiaGiven),
		func(k float64, a []float64) float64 {
			if a[0] == 1 && a[1] != a[1] && a[2] != a[2] {
				return 0
			}
			return among(15, 5, 15)(k, nil) / 60 * math.Pi / 180
		}), func(c *Calc) (low, high float64) {
		if c.V(Ratio) == 1 && !c.Known(GearEfficiencyGiven) && !c.Known(GearInertiaGiven) {
			return 0, 0
		}
		return 0, 0.25 * math.Pi / 180
	})

	assumedScatter = withEnds(assumed(Quantity{
		Name: "one_side_scatter", Section: OfAccuracy, Symbol: "r_s", Title: "scatter of a position approached from one side, half the band",
		Formula: "r_sd if r_sd is given; 1 µm if k = 0; 2 µm", inForce: stated("r_sd", "2 µm", "1 µm", "2 µm"),
	}, ScatterGiven, "positions approached from one side usually scatter by ±0.2 to ±2 µm: common practice, no source", nil, among(2e-6, 1e-6, 2e-6)), fixedEnds(0.2e-6, 2e-6))

	assumedGearEfficiency = assumed(Quantity{
		Name: "gear_efficiency", Section: OfDrive, Symbol: "η_g", Title: "efficiency of belt or gear",
		Formula: "η_gd if η_gd is given; 1 if i = 1 and J_gd is not given; 0.7 if k > 0; 0.9 if k = 0; 1",
		inForce: func(a []float64) string {
			switch {
			case a[0] == a[0]:
				return "η_gd"
			case a[2] == 1 && a[3] != a[3]:
				return "1"
			}
			return stated("", "1", "0.9", "0.7")(a)
		},
	}, GearEfficiencyGiven, "belts and gears between motor and screw are 70 to 100 % efficient: common practice, no source", qs(Ratio, GearInertiaGiven), func(k float64, a []float64) float64 {
		if a[0] == 1 && a[1] != a[1] {
			return 1
		}
		return among(1, 0.9, 0.7)(k, nil)
	})

	assumedGearInertia = withEnds(assumed(Quantity{
		Name: "gear_inertia", Section: OfDrive, Symbol: "J_g", Title: "inertia of belt or gear at the motor",
		Formula: "J_gd if J_gd is given; 0 if i = 1 and η_gd is not given; 0.3·J_m if k = 0; J_m",
		inForce: func(a []float64) string {
			switch {
			case a[0] == a[0]:
				return "J_gd"
			case a[2] == 1 && a[3] != a[3]:
				return "0"
			}
			return stated("", "J_m", "0.3·J_m", "J_m")(a)
		},
	}, GearInertiaGiven, "pulleys and gears have up to the inertia of the rotor: common practice, no source", qs(Ratio, GearEfficiencyGiven, RotorInertia), func(k float64, a []float64) float64 {
		if a[0] == 1 && a[1] != a[1] {
			return 0
		}
		return a[2] * among(1, 0.3, 1)(k, nil) // it makes an axis work harder, going up to speed and coming down
	}), func(c *Calc) (low, high float64) {
		if c.V(Ratio) == 1 && !c.Known(GearEfficiencyGiven) {
			return 0, 0
		}
		return 0, c.V(RotorInertia)
	})

	assumedRated = withEnds(assumed(Quantity{
		Name: "motor_rated_speed", Section: OfDrive, Symbol: "n_mr", Title: "speed up to which the motor gives its peak torque",
		Formula: "n_mrd if n_mrd is given; n_mmax/2", inForce: stated("n_mrd", "n_mmax/2", "n_mmax/2", "n_mmax/2"),
	}, MotorRatedSpeedGiven, "servo motors give their peak torque up to half their maximum speed or more: common practice, no source", qs(MotorMaxSpeed), func(k float64, a []float64) float64 {
		return a[0] / 2
	}), func(c *Calc) (low, high float64) { return c.V(MotorMaxSpeed) / 2, c.V(MotorMaxSpeed) })

	assumedTop = withEnds(assumed(Quantity{
		Name: "motor_torque_at_max_speed", Section: OfDrive, Symbol: "T_mt", Title: "peak torque of the motor at its maximum speed",
		Formula: "T_mtd if T_mtd is given; T_mp·min(1, n_mr/n_mmax)",
		inForce: stated("T_mtd", "T_mp·min(1, n_mr/n_mmax)", "T_mp·min(1, n_mr/n_mmax)", "T_mp·min(1, n_mr/n_mmax)"),
	}, MotorTopTorqueGiven, "above its rated speed a motor gives at least constant power and at most its peak torque: common practice, no source",
		qs(MotorPeakTorque, assumedRated.Taken, MotorMaxSpeed), func(k float64, a []float64) float64 {
			return a[0] * math.Min(1, a[1]/a[2])
		}), func(c *Calc) (low, high float64) {
		peak := c.V(MotorPeakTorque)
		return peak * math.Min(1, or(c.V(MotorRatedSpeedGiven)/c.V(MotorMaxSpeed), 0.5)), peak
	})

	assumedDriveSupportSpeed = supportSpeed("drive_support_speed", "n_b1", "driven", DriveSupportSpeedGiven, DriveSupportBore)
	assumedFarSupportSpeed   = supportSpeed("far_support_speed", "n_b2", "far", FarSupportSpeedGiven, FarSupportBore)

	assumedCouplingSpeed = withEnds(assumed(Quantity{
		Name: "coupling_speed", Section: OfService, Symbol: "n_c1", Title: "maximum speed of the coupling",
		Formula: "n_cd if n_cd is given; 4000 rpm", inForce: stated("n_cd", "4000 rpm", "4000 rpm", "4000 rpm"),
	}, CouplingSpeedGiven, "couplings for servo motors turn at 4000 to 20,000 rpm: common practice, no source", nil, among(slowCoupling, slowCoupling, slowCoupling)), fixedEnds(slowCoupling, 5*slowCoupling))

	assumedGearSpeed = withEnds(assumed(Quantity{
		Name: "gear_speed", Section: OfService, Symbol: "n_g", Title: "maximum speed of belt or gear, at the motor",
		Formula: "n_gd if n_gd is given; 3000 rpm", inForce: stated("n_gd", "3000 rpm", "3000 rpm", "3000 rpm"),
	}, GearSpeedGiven, "belts and gears of servo motors turn at 3000 to 8000 rpm at the motor: common practice, no source", nil, among(slowGear, slowGear, slowGear)), fixedEnds(slowGear, 8*slowGear/3))

	_ = like(LoadFactor, LoadFactorGiven, "the usual range of the declared shock: one trade table, no source", func(c *Calc) (low, high float64) {
		shock := c.V(Shock)
		if shock != shock {
			return shock, shock
		}
		return ShockRange(int(shock))
	})
	_ = like(NutDrag, NutDragGiven, "the drag torque of a preloaded nut is 60 to 140 % of the reference torque: JIS B 1192 permits 20 to 50 % either way (from memory)", func(c *Calc) (low, high float64) {
		d, p := c.V(NominalDiameter), c.V(Lead)
		at := func(d float64) float64 { return PreloadDrag(math.Atan(p/(math.Pi*d)), c.V(Preload), p) }
		return 0.6 * at(or(c.V(BallCircleGiven), d)), 1.4 * at(or(c.V(BallCircleGiven), 1.06*d))
	})
	_ = like(BallCircle, BallCircleGiven, "the balls run on 1 to 1.06 times the nominal diameter: common practice, no source", func(c *Calc) (low, high float64) {
		return c.V(NominalDiameter), 1.06 * c.V(NominalDiameter)
	})
)

// slowGear is the speed in rad/s that any belt or gear of a servo motor bears: 3000 rpm.
const slowGear = 3000 * 2 * math.Pi / 60

// slowCoupling is the speed in rad/s that any coupling for servo motors bears: 4000 rpm.
const slowCoupling = 4000 * 2 * math.Pi / 60

// The usual limits of greased bearings of supports: bore in m times speed in rad/s, of
// 60,000 to 300,000 mm·rpm.
const (
	slowBore = 60 * 2 * math.Pi / 60
	fastBore = 300 * 2 * math.Pi / 60
)

// supportSpeed is the highest speed of a support of which only the bore is known, or
// not even that: the nominal diameter is taken then.
func supportSpeed(name, symbol, end string, leaf, bore *Quantity) *Assumption {
	by := func(_ float64, a []float64) float64 { return slowBore / or(a[0], a[1]) }
	given, b := leaf.Symbol, bore.Symbol
	return withEnds(assumed(Quantity{
		Name: name, Section: OfService, Symbol: symbol, Title: "maximum speed of the support at the " + end + " end",
		Formula: given + " if " + given + " is given; 60000 rpm·1 mm/" + b + " if " + b + " is given; 60000 rpm·1 mm/d_0",
		inForce: func(a []float64) string {
			switch {
			case a[0] == a[0]:
				return given
			case a[2] == a[2]:
				return "60000 rpm·1 mm/" + b
			}
			return "60000 rpm·1 mm/d_0"
		},
	}, leaf, "greased bearings of supports turn at 60,000 to 300,000 mm·rpm, bore times speed: common practice, no source", qs(bore, NominalDiameter), by), func(c *Calc) (low, high float64) {
		d := or(c.V(bore), c.V(NominalDiameter))
		return slowBore / d, fastBore / d
	})
}

// like is the assumption of a quantity that counts a value of its own where
// neither the value nor the case is known.
func like(taken, leaf *Quantity, why string, ends func(c *Calc) (low, high float64)) *Assumption {
	x := &Assumption{Leaf: leaf, Taken: taken, Why: why, ends: ends}
	assumptions = append(assumptions, x)
	return x
}

// fixedEnds is a range that is the same for every axis.
func fixedEnds(low, high float64) func(*Calc) (float64, float64) {
	return func(*Calc) (float64, float64) { return low, high }
}

// What is taken of each, as declared or assumed.
var (
	Drag             = assumedDrag.Taken
	ThreadFriction   = assumedFriction.Taken
	YieldStrength    = assumedYield.Taken
	ReactionTime     = assumedReaction.Taken
	BrakeDelay       = assumedDelay.Taken
	BrakeSlip        = assumedSlip.Taken
	HousingStiffness = assumedHousing.Taken
	CouplingTwist    = assumedCoupling.Taken
	GearPlay         = assumedGearPlay.Taken
	Scatter          = assumedScatter.Taken
	GearEfficiency   = assumedGearEfficiency.Taken
	GearInertia      = assumedGearInertia.Taken
	MotorRatedSpeed  = assumedRated.Taken
	MotorTopTorque   = assumedTop.Taken

	DriveSupportSpeed = assumedDriveSupportSpeed.Taken
	FarSupportSpeed   = assumedFarSupportSpeed.Taken
	CouplingSpeed     = assumedCouplingSpeed.Taken
	GearSpeed         = assumedGearSpeed.Taken
)
