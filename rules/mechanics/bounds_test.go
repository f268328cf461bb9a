package mechanics

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// counts are leaves that may be left out, with the value that means the same.
var counts = []struct {
	leaf *Quantity
	as   float64
}{
	{DragGiven, 0}, {Counterbalance, 0}, {Standstill, 0}, {MoveThrust, 0}, {MovePayload, 0}, {MoveDwell, 0},
	{Screws, 1}, {GearEfficiencyGiven, 1}, {GearInertiaGiven, 0}, {CouplingInertia, 0}, {ReactionTimeGiven, 0},
	{DriveSupportDrag, 0}, {FarSupportDrag, 0}, {BrakeGiven, 0}, {MotorBrake, 0},
	{HousingStiffnessGiven, math.Inf(1)}, {CouplingTwistGiven, math.Inf(1)}, {GearPlayGiven, 0}, {Stretch, 0},
}

// TestLeftOutCountsAsNone: what may be left out and is, is not counted:
// no drag, no gear, one screw, a rigid housing.
func TestLeftOutCountsAsNone(t *testing.T) {
	compared := map[*Quantity]int{}
	rapid.Check(t, func(rt *rapid.T) {
		c := draw(rt, 3, 0)
		for _, x := range counts {
			compared[x.leaf] += leftOut(rt, c, x.leaf, x.as)
		}
	})
	for _, x := range counts {
		if compared[x.leaf] == 0 {
			t.Errorf("nothing was compared without %s", x.leaf.Name)
		}
	}
}

// leftOut holds an axis without a leaf against one where it is so much, and
// returns how many quantities it compared.
func leftOut(t reporter, c *Calc, leaf *Quantity, as float64) (compared int) {
	run := func(v float64) *Calc {
		out := NewCalc()
		out.CopyFrom(c)
		if leaf.Shape == Scalar {
			out.Set(leaf, v)
		}
		for i := range out.Series(leaf) {
			out.SetMove(leaf, i, v)
		}
		out.Run()
		return out
	}
	out, in := run(math.NaN()), run(as)
	for _, q := range All() {
		if q.Leaf() || !q.DependsOn(leaf) || !out.Known(q) {
			continue
		}
		compared++
		if q.Shape == Scalar {
			within(t, q.Name+" without "+leaf.Name, out.V(q), in.V(q), 1e-12)
		}
		for i, v := range out.Series(q) {
			within(t, q.Name+" without "+leaf.Name, v, in.Series(q)[i], 1e-12)
		}
	}
	return compared
}

// TestMoveThatNeitherGoesNorRests: a move of no distance and no dwell is not
// there, whatever it says it pushes and carries. Only the heaviest payload, with
// which an emergency stop is counted, remembers it.
func TestMoveThatNeitherGoesNorRests(t *testing.T) {
	leaves := vals{
		Orientation: Vertical, MovedMassGiven: 20, Friction: 0.05, DragGiven: 10, Backlash: 0, Screws: 1,
		LoadFactorGiven: 1.2, Lead: 10 * mm, NominalDiameter: 25 * mm, ThreadFrictionGiven: 0.003, Turning: NutTurns, NutInertia: 1e-4,
		Ratio: 2, RotorInertia: 1e-4, MotorPeakTorque: 5, DriveEnd: FixedEnd, FarEnd: FixedEnd,
	}
	moves := []aMove{{dist: 0.3, speed: 0.5, up: 2, down: 3, dwell: 1}, {dist: -0.3, speed: 0.4, up: 3, down: 2}}
	none := aMove{speed: 1, up: 5, down: 5, thrust: 1e5, payload: 1e4}
	a, b := axisOf(leaves, moves...), axisOf(leaves, append(slices.Clone(moves), none)...)
	for _, q := range []*Quantity{
		CycleTime, MovingTime, MeanSpeed, TopSpeed, ShortestRamp, ShortestPeak,
		WorkingForce, PeakForce, PushedForce, MeanLoad, MeanPlus, MeanMinus,
		PeakTorque, RMSTorque, PeakScrewTorque, TorqueShare, PeakPower,
	} {
		if !a.Known(q) {
			t.Errorf("%s is not known", q.Name)
		}
		within(t, q.Name, b.V(q), a.V(q), 1e-12)
	}
	near(t, "direction of no distance", b.Series(MoveDirection)[2], 0, 0)
}

// TestLyingAxis: an axis on its back (180°) has no weight along it, of whatever
// mass, though the sine of π is a little over zero in floating point; one that
// leans by 1 µm on a metre has.
func TestLyingAxis(t *testing.T) {
	move := aMove{dist: 1, speed: 1, up: 1, down: 1}
	for _, mass := range []float64{1e-3, 10, 1e8} {
		c := axisOf(vals{InclineGiven: math.Pi, MovedMassGiven: mass, Screws: 1}, move)
		near(t, "weight of an axis on its back", c.V(WeightForce), 0, 0)
		c = axisOf(vals{InclineGiven: 1e-6, MovedMassGiven: mass, Screws: 1}, move)
		within(t, "weight of an axis that leans", c.V(WeightForce), mass*9.80665e-6, 1e-9)
	}
}

// TestSmallOffset: a cycle of moves of 1 µm that misses its start by half a
// nanometre does so; one that comes back but for rounding does not.
func TestSmallOffset(t *testing.T) {
	offset := func(dist ...float64) float64 {
		var moves []aMove
		for _, d := range dist {
			moves = append(moves, aMove{dist: d, speed: 1, up: 1, down: 1})
		}
		return axisOf(nil, moves...).V(CycleOffset)
	}
	within(t, "offset", offset(1e-6, -0.9995e-6), 0.5e-9, 1e-6)
	// 0.1 + 0.2 − 0.3 is 5.6e-17 in floating point.
	near(t, "a cycle that closes", offset(0.1, 0.2, -0.3), 0, 0)
}

// TestSmallMove: a move of a tenth of a micrometre has all of its parts.
func TestSmallMove(t *testing.T) {
	c := axisOf(nil, aMove{dist: 1e-7, speed: 1e-5, up: 1, down: 1})
	// Ramps of 1e-10/2 m each; the rest at 1e-5 m/s.
	series(t, "distances", c.Series(PhaseDistance), 0.5e-10, 0.999e-7, 0.5e-10, 0)
	series(t, "times", c.Series(PhaseTime), 1e-5, 0.999e-2, 1e-5, 0)
}

// TestTorqueShareByHand: 100 N of thrust on a lead of 10 mm at 2 m/s, through a
// gear of 2, from a motor of 1 N·m that falls from 1000 rad/s to 0.4 N·m at
// 3000 rad/s. The screw turns at 2π·2/0.01 = 1256.637 rad/s, the motor at
// 2513.274 rad/s and gives 1 − 0.6·1513.274/2000 = 0.546018 N·m; it needs
// 100·0.01/(2π·0.5·2) = 0.159155 N·m.
func TestTorqueShareByHand(t *testing.T) {
	leaves := vals{
		Orientation: Horizontal, MovedMassGiven: 1e-12, Friction: 0, Screws: 1, Backlash: 0, Lead: 10 * mm,
		NominalDiameter: 25 * mm, ThreadFrictionGiven: 0.003, EfficiencyGiven: 0.5, Turning: NutTurns, NutInertia: 0,
		Ratio: 2, RotorInertia: 0, MotorPeakTorque: 1, MotorRatedSpeedGiven: 1000, MotorTopTorqueGiven: 0.4, MotorMaxSpeed: 3000,
	}
	c := axisOf(leaves, aMove{dist: 2, speed: 2, up: 4, down: 4, thrust: 100})
	within(t, "torque over what the motor gives", c.V(TorqueShare), 0.159155/0.546018, 1e-5)
	// A vertical axis that only goes down: its weight turns the screw, drag
	// torque helps, and holding it at rest asks most, since friction holds nothing for
	// certain. 10 kg: 98.0665 N · 0.01/2π = 0.156078 N·m at the screw, half at the motor.
	down := axisOf(leaves.with(vals{Orientation: Vertical, MovedMassGiven: 10, DriveSupportDrag: 0.05}),
		aMove{dist: -2, speed: 0.01, up: 0.01, down: 0.01, dwell: 1})
	within(t, "torque to hold over what the motor gives at rest", down.V(TorqueShare), 0.078039, 1e-4)
}

// TestStretchOverGrowth: two fixed ends hold against the greater of stretch and
// growth. 20 µm on 1 m of 20 mm: 1294.336 N (see TestSafetiesByHand); no warming,
// no growth.
func TestStretchOverGrowth(t *testing.T) {
	leaves := vals{
		MovedMassGiven: 1e-18, Friction: 0, Orientation: Horizontal, Screws: 1, LoadFactorGiven: 1.2, Stroke: 0.5,
		DriveEnd: FixedEnd, FarEnd: FixedEnd, DriveSupportStatic: 30e3, FarSupportStatic: 40e3,
		RootDiameter: 20 * mm, ElasticModulus: 206e9, Span: 1, Expansion: 11.5e-6, TemperatureRise: 0, Stretch: 20e-6,
	}
	move := aMove{dist: 1, speed: 1, up: 1e9, down: 1e9, thrust: 1000}
	c := axisOf(leaves, move)
	near(t, "thermal force", c.V(ThermalForce), -1294.336, 1e-3)
	near(t, "support load", c.V(SupportLoad), 1200+1294.336, 1e-3)
	near(t, "support static safety", c.V(SupportStaticSafety), 30000/2294.336, 1e-5)
	none := axisOf(leaves.with(vals{Stretch: math.NaN()}), move)
	near(t, "support load, no stretch", none.V(SupportLoad), 1200, 1e-9)
	near(t, "support static safety, no stretch", none.V(SupportStaticSafety), 30, 1e-9)
	// A stretch of nothing, or none, or one that only one end holds, takes no
	// growth: 11.5e-6·4·0.5 = 23 µm either way.
	for what, v := range map[string]vals{
		"cooling, stretch 0":       {TemperatureRise: -4, Stretch: 0},
		"cooling, no stretch":      {TemperatureRise: -4, Stretch: math.NaN()},
		"warming, no stretch":      {TemperatureRise: 4, Stretch: math.NaN()},
		"warming, far end fixed":   {TemperatureRise: 4, DriveEnd: SupportedEnd},
		"warming, drive end fixed": {TemperatureRise: 4, FarEnd: SupportedEnd},
	} {
		within(t, what, axisOf(leaves.with(v), move).V(ThermalGrowth), 23e-6, 1e-12)
	}
	// Stretched between two fixed ends: 20 µm on 1 m are 10 µm on 0.5 m.
	within(t, "stretched", axisOf(leaves.with(vals{TemperatureRise: 4}), move).V(ThermalGrowth), 13e-6, 1e-12)
}

// TestPreloadOfNothing: a preload of 0 is play of unknown size: the nut is as
// stiff as its load makes it (0.8·400e6·(100/4800)^(1/3)), and the play is not
// known.
func TestPreloadOfNothing(t *testing.T) {
	c := axisOf(vals{
		MovedMassGiven: 1e-12, Friction: 0, Orientation: Horizontal, Screws: 1, Preload: 0, NutStiffness: 400e6, DynamicRating: 16e3,
	}, aMove{dist: 1, speed: 1, up: 1, down: 1, thrust: 100})
	within(t, "nut", c.V(NutRigidity), 320e6*math.Cbrt(100.0/4800), 1e-9)
	if c.Known(Play) {
		t.Errorf("the play of a nut without preload is given as %g", c.V(Play))
	}
}

// TestPushedFromBothEnds: with thrust taken at both ends, or nobody knows where,
// a force to either side pushes. 200 N against a travel of negative direction.
func TestPushedFromBothEnds(t *testing.T) {
	leaves := vals{MovedMassGiven: 1e-12, Friction: 0, Orientation: Horizontal, Screws: 1, FarEnd: FixedEnd}
	move := aMove{dist: -1, speed: 1, up: 1, down: 1, thrust: 200}
	near(t, "both ends fixed", axisOf(leaves.with(vals{DriveEnd: FixedEnd}), move).V(PushedForce), 200, 1e-6)
	near(t, "fixed end not placed", axisOf(leaves.with(vals{DriveEnd: SupportedEnd}), move).V(PushedForce), 200, 1e-6)
}

// TestLifeAtTheEdges: a load of 1 N is a load; lives far apart, where the longer
// adds nothing, and lives without end.
func TestLifeAtTheEdges(t *testing.T) {
	within(t, "1 N", NominalLife(1000, 1, 1), 1e15, 1e-12)
	inf := math.Inf(1)
	if v := NominalLife(1000, 1, 0); v != inf {
		t.Errorf("the life without load is %g", v)
	}
	for _, x := range [][3]float64{{1, 1e300, 1}, {1e300, 1, 1}, {7, inf, 7}, {inf, 7, 7}, {inf, inf, inf}} {
		if v := CombinedLife(x[0], x[1]); !(v == x[2] || math.Abs(v-x[2]) < 1e-12) {
			t.Errorf("lives of %g and %g give %g, expected %g", x[0], x[1], v, x[2])
		}
	}
}

// TestVickersAtTheEnds: the table reaches from 40 to 70 HRC with its ends (392
// and 1076 HV), and nothing is given outside. 69 HRC is 1004 HV (common
// conversion tables, from memory), between two rows here.
func TestVickersAtTheEnds(t *testing.T) {
	within(t, "40 HRC", Vickers(40), 392, 0)
	within(t, "69 HRC", Vickers(69), 1004, 0.01)
	within(t, "70 HRC", Vickers(70), 1076, 0)
	for _, hrc := range []float64{0, 39.99, 70.01, math.NaN()} {
		if known(Vickers(hrc)) {
			t.Errorf("%g HRC is converted to %g HV", hrc, Vickers(hrc))
		}
	}
}

// TestForgottenLeaf: a leaf taken away again takes with it all that needs it,
// in a full run as by a plan.
func TestForgottenLeaf(t *testing.T) {
	full := func() *Calc {
		c := fullAxis(2)
		c.Run()
		return c
	}
	for _, leaf := range All() {
		if !leaf.Leaf() {
			continue
		}
		fresh, run, planned := fullAxis(2), full(), full()
		for _, c := range []*Calc{fresh, run, planned} {
			if leaf.Shape == Scalar {
				c.Set(leaf, math.NaN())
			} else {
				c.SetMove(leaf, 1, math.NaN())
			}
		}
		fresh.Run()
		run.Run()
		planned.RunPlan(Plan(All(), leaf))
		same(t, run, fresh, func(*Quantity) bool { return true })
		same(t, planned, fresh, func(*Quantity) bool { return true })
	}
}

// TestPlanComputesOnce: what hangs on several changed leaves stands in a plan
// once.
func TestPlanComputesOnce(t *testing.T) {
	seen := map[*Quantity]bool{}
	for _, q := range Plan(All(), Lead, MovedMassGiven, Friction) {
		if seen[q] {
			t.Errorf("%s is computed twice", q.Name)
		}
		seen[q] = true
	}
	if !seen[PhaseForce] || !seen[PeakTorque] || seen[CycleTime] {
		t.Error("forces and torques hang on mass and lead, the cycle does not")
	}
}

// TestNewCalcIsEmpty: a new Calc has no moves and knows nothing.
func TestNewCalcIsEmpty(t *testing.T) {
	c := NewCalc()
	if c.Moves() != 0 {
		t.Errorf("it has %d moves", c.Moves())
	}
	for _, q := range All() {
		if q.Shape == Scalar && c.Known(q) {
			t.Errorf("%s is %g", q.Name, c.V(q))
		}
	}
}

// TestGapsAtOnce: what is needed and what is lacked are named together, so that
// one look is enough.
func TestGapsAtOnce(t *testing.T) {
	nan := math.NaN()
	going := aMove{dist: 1, speed: 1, up: 1, down: 1}
	for _, x := range []struct {
		c    *Calc
		q    *Quantity
		want []Gap
	}{
		{axisOf(vals{NutStiffness: 1}, going), NutRigidity, []Gap{{DynamicRating, -1}, {Preload, -1}}},
		{axisOf(nil, going, aMove{dist: 1, speed: nan, up: nan, down: nan}), MoveUp, []Gap{{MoveSpeed, 1}, {MoveRamp, 1}}},
		{axisOf(vals{MovedMassGiven: 1, Orientation: Horizontal, Screws: 2}, going, going), PhaseForce, []Gap{{Friction, -1}, {Unevenness, -1}}},
		{axisOf(vals{MovedMassGiven: 1, Orientation: Horizontal, Screws: 1}, going), PhaseForce, []Gap{{Friction, -1}}},
		// Neither preload nor play: no load of a flank is known.
		{axisOf(vals{MovedMassGiven: 1, Orientation: Horizontal, Screws: 1, Friction: 0, LoadFactorGiven: 1}, going), FlankPlus, []Gap{{Preload, -1}}},
		{axisOf(vals{MovedMassGiven: 1, Orientation: Horizontal, Screws: 1, Friction: 0, LoadFactorGiven: 1}, going), FlankMinus, []Gap{{Preload, -1}}},
	} {
		got := x.c.Gaps(x.q)
		same := len(got) == len(x.want)
		for _, g := range x.want {
			same = same && slices.Contains(got, g)
		}
		if !same {
			t.Errorf("%s lacks %v, expected %v", x.q.Name, got, x.want)
		}
	}
}

// TestCheck: a quantity that breaks a rule of the registry is found out.
func TestCheck(t *testing.T) {
	good := Quantity{Name: "tried", Symbol: "x", Title: "tried", Formula: "x", Source: "none", Needs: qs(Lead), scalar: func([]float64) float64 { return 0 }}
	kept := registry
	defer func() { registry = kept }()
	try := func(what string, faults int, change func(*Quantity)) {
		t.Helper()
		q := good
		q.id = len(kept)
		change(&q)
		q.args = append(slices.Clone(q.Needs), q.May...)
		registry = append(slices.Clone(kept), &q)
		if errs := registryFaults(); len(errs) != faults {
			t.Errorf("%s: %d faults are found, expected %d: %v", what, len(errs), faults, errs)
		}
	}
	many := func(n int) []*Quantity { return slices.Repeat(qs(Lead), n) }
	try("nothing wrong", 0, func(q *Quantity) {})
	try("no title", 1, func(q *Quantity) { q.Title = "" })
	try("no formula", 1, func(q *Quantity) { q.Formula = "" })
	try("no source", 1, func(q *Quantity) { q.Source = "" })
	try("no symbol", 1, func(q *Quantity) { q.Symbol = "" })
	try("a leaf needs none of these", 0, func(q *Quantity) { q.Formula, q.Source, q.scalar = "", "", nil })
	try("no needs", 1, func(q *Quantity) { q.Needs = nil })
	try("30 needs", 0, func(q *Quantity) { q.Needs = many(30) })
	try("31 needs", 1, func(q *Quantity) { q.Needs = many(31) })
	try("stands before a need", 1, func(q *Quantity) { q.id = Lead.id - 1 })
	try("needs itself", 1, func(q *Quantity) { q.id = Lead.id })
	try("a scalar of a series", 1, func(q *Quantity) { q.Needs = qs(MoveSpeed) })
	element := func([]float64, Part) float64 { return 0 }
	try("a move of phases", 1, func(q *Quantity) { q.Shape, q.scalar, q.elem, q.Needs = PerMove, nil, element, qs(PhaseTime) })
	try("a phase of moves", 0, func(q *Quantity) { q.Shape, q.scalar, q.elem, q.Needs = PerPhase, nil, element, qs(MoveSpeed) })
}

// TestFormulaByCase: where a formula has cases, the one in force is
// shown: what was declared, which ends, which side, whether there is preload.
func TestFormulaByCase(t *testing.T) {
	move := aMove{dist: 1, speed: 1, up: 1, down: 1}
	base := vals{
		MovedMassGiven: 1, Friction: 0, Screws: 1, Lead: 0.01, NominalDiameter: 0.025, ThreadFrictionGiven: 0.003,
		NutStiffness: 1e8, DynamicRating: 1e4, RootDiameter: 0.02, ElasticModulus: 2e11, Span: 1, Expansion: 1e-5, Stretch: 1e-5,
	}
	both := vals{Orientation: Horizontal, LoadFactorGiven: 1, DriveEnd: FixedEnd, FarEnd: FixedEnd, DriveSupportStatic: 1e4, FarSupportStatic: 1e4}
	for _, x := range []struct {
		q      *Quantity
		leaves vals
		want   string
	}{
		{Incline, vals{InclineGiven: 0.5, Orientation: Horizontal}, "θ"},
		{Incline, vals{InclineGiven: 0}, "θ"},
		{Incline, vals{Orientation: Vertical}, "90°"},
		{Incline, vals{Orientation: Horizontal}, "0°"},
		{LoadFactor, vals{LoadFactorGiven: 1.3}, "f_wd"},
		{LoadFactor, vals{Shock: Ordinary}, "1.5 if shock is ordinary"},
		{GradeFactor, vals{GradeFactorGiven: 0.9}, "f_ac"},
		{GradeFactor, vals{Grade: 3}, "1 if grade is C5"},
		{EndRoot, vals{DriveEnd: FixedEnd, FarEnd: FreeEnd}, "1.87510407 if ends is fixed-free"},
		{EndRoot, vals{DriveEnd: SupportedEnd, FarEnd: SupportedEnd}, "π if ends is supported-supported"},
		{EndRoot, vals{DriveEnd: SupportedEnd, FarEnd: FixedEnd}, "3.92660231 if ends is fixed-supported"},
		{EndRoot, vals{DriveEnd: FixedEnd, FarEnd: SupportedEnd}, "3.92660231 if ends is fixed-supported"},
		{EndRoot, vals{DriveEnd: FixedEnd, FarEnd: FixedEnd}, "4.730040745 if ends is fixed-fixed"},
		{BucklingFixity, vals{BucklingEnds: FixedFree, DriveEnd: FixedEnd, FarEnd: FixedEnd}, "0.25 if buckling_ends is fixed-free"},
		{BucklingFixity, vals{BucklingEnds: SupportedSupported}, "1 if buckling_ends is supported-supported"},
		{BucklingFixity, vals{DriveEnd: SupportedEnd, FarEnd: FixedEnd}, "2.0457485161 if ends is fixed-supported"},
		{BucklingFixity, vals{DriveEnd: FixedEnd, FarEnd: FreeEnd}, "0.25 if ends is fixed-free"},
		{BucklingFixity, vals{DriveEnd: FixedEnd, FarEnd: FixedEnd}, "4 if ends is fixed-fixed"},
		{PushedForce, vals{Orientation: Horizontal, DriveEnd: FixedEnd, FarEnd: FixedEnd}, "max(|F_j|)"},
		{PushedForce, vals{Orientation: Horizontal, DriveEnd: FixedEnd, FarEnd: FreeEnd, DriveAt: DriveAtStart}, "max(0, F_j)"},
		{PushedForce, vals{Orientation: Horizontal, DriveEnd: SupportedEnd, FarEnd: FixedEnd, DriveAt: DriveAtStart}, "max(0, −F_j)"},
		{PushedForce, vals{Orientation: Horizontal, DriveEnd: FixedEnd, FarEnd: FreeEnd}, "max(|F_j|)"},
		{PushedForce, vals{Orientation: Horizontal, DriveEnd: FixedEnd, FarEnd: FixedEnd, EmergencyDecel: 1, StopBy: StopByMotor, Counterbalance: 1, BalanceKind: aSpring, BalanceKept: 1, Standstill: 1}, "max(|F_j|, |F_ei|, max(|m·g·sin θ_i − F_cb| + |(m + m_cb)·a_h − μ·m·g·cos θ_i|, |m_max·g·sin θ_i − F_cb| + |(m_max + m_cb)·a_h − μ·m_max·g·cos θ_i|)·k_u/z, |F_h|)"},
		{PushedForce, vals{Orientation: Horizontal, DriveEnd: FixedEnd, FarEnd: FreeEnd, DriveAt: DriveAtEnd, EmergencyDecel: 1, DragGiven: 1}, "max(0, −F_j, −F_ei, max(−m·g·sin θ_i + |(m + m_cb)·a_h − μ·m·g·cos θ_i − F_d|, −m_max·g·sin θ_i + |(m_max + m_cb)·a_h − μ·m_max·g·cos θ_i − F_d|)·k_u/z)"},
		{MeanDeviation, vals{Grade: 3, Stroke: 0.35, TransportFactor: 2}, "25 µm if 315 mm < l_u ≤ 400 mm"},
		{MeanDeviation, vals{Grade: 3, Stroke: 0.1, TransportFactor: 2}, "18 µm if l_u ≤ 100 mm"},
		{MeanDeviation, vals{Grade: 4, Stroke: 0.35, TransportFactor: 2}, "max(50 µm, k_t·l_u/300 mm·50 µm)"},
		{Variation, vals{Grade: 3, Stroke: 0.35}, "20 µm if 315 mm < l_u ≤ 400 mm"},
		{ReliabilityFactor, vals{Reliability: 0.92}, "0.62 if S ≤ 95 %"},
		{DynamicHardness, vals{Hardness: 56.5}, "min(1, (613 + (633 − 613)·(HRC − 56)/(57 − 56))/654)²"},
		{NutDrag, vals{Preload: 0.5}, "0.05·(tan φ)^(−1/2)·F_pr·P_h/2π"},
		{NutDrag, vals{Preload: 0.5, Case: Light}, "0.6·0.05·(tan φ)^(−1/2)·F_pr·P_h/2π"},
		{NutDrag, vals{Preload: 0.5, Case: Usual}, "0.05·(tan φ)^(−1/2)·F_pr·P_h/2π"},
		{NutDrag, vals{Preload: 0.5, Case: Heavy}, "1.4·0.05·(tan φ)^(−1/2)·F_pr·P_h/2π"},
		{NutDrag, vals{Preload: 0.5, Case: Heavy, NutDragGiven: 0.3}, "T_nd"},
		{NutDrag, vals{Preload: 0}, "0"},
		{NutDrag, vals{Backlash: 0}, "0"},
		{DragTorque, vals{Preload: 0, DriveSupportDrag: 0.1, FarSupportDrag: 0.2}, "T_n + T_b1 + T_b2"},
		{DragTorque, vals{Preload: 9, FarSupportDrag: 0.2}, "T_n + T_b2"},
		{DragTorque, vals{Preload: 9}, "T_n"},
		{HoldingSafety, vals{Orientation: Vertical}, "0"},
		{HoldingSafety, vals{Orientation: Vertical, MotorBrake: 1}, "0"}, // at what ratio is not known
		{HoldingSafety, vals{Orientation: Vertical, BrakeGiven: 1, Ratio: 2}, "(T_br)/(z_m·T_h)"},
		{HoldingSafety, vals{Orientation: Vertical, MotorBrake: 1, Ratio: 0.5}, "(T_mb·i)/(z_m·T_h)"},
		{HoldingSafety, vals{Orientation: Vertical, BrakeGiven: 1, MotorBrake: 1, Ratio: 2}, "(T_br + T_mb·i)/(z_m·T_h)"},
		{NutRigidity, vals{Preload: 0.5}, "0.8·R_cat·(F_pr/(0.1·C_a))^(1/3)"},
		{NutRigidity, vals{Preload: 0, Orientation: Vertical}, "0.8·R_cat·(F_m/(0.3·C_a))^(1/3)"},
		{SupportLoad, both.with(vals{TemperatureRise: 3}), "F_m·f_w + F_ff"},
		{SupportPeak, both.with(vals{TemperatureRise: 3}), "F_max + F_ff"},
		{ThermalForce, both.with(vals{TemperatureRise: 3}), "E·A·(α·ΔT − δ_s/L_s)"},
		{ThermalForce, both.with(vals{TemperatureRise: 3, Stretch: math.NaN()}), "E·A·(α·ΔT)"},
		{ThermalForce, both.with(vals{FarEnd: SupportedEnd}), "0"},
		{DriveJournal, vals{DriveSupportBore: 0.02, CouplingBore: 0.019}, "min(d_b1, d_bc)"},
		{DriveJournal, vals{CouplingBore: 0.019}, "d_bc"},
		{FarEndurance, vals{TensileStrength: 6e8, FarJournalGiven: 0.02, Reliability: 0.9}, "min(1, 4.51·(S_ut/1 MPa)^(−0.265))·min(1, 1.24·(d_j2/1 mm)^(−0.107))·(1 − 0.08·1.28155156554)·min(S_ut/2, 700 MPa)"},
		{FarEndurance, vals{TensileStrength: 6e8, FarJournalGiven: 0.06, Reliability: 0.5}, "min(1, 4.51·(S_ut/1 MPa)^(−0.265))·1.51·(d_j2/1 mm)^(−0.157)·(1 − 0.08·0)·min(S_ut/2, 700 MPa)"},
		{FarYield, both.with(vals{FarJournalGiven: 0.02, FarShoulder: Rounded, FarGroove: NoNotch, YieldStrengthGiven: 4e8, TemperatureRise: 3}), "S_y/(K_a·4·F/(π·d_j2²)) where K_a = 1.9, F = F_max + F_ff"},
		{FarYield, both.with(vals{FarEnd: SupportedEnd, FarJournalGiven: 0.02, FarShoulder: Rounded, FarGroove: 1, YieldStrengthGiven: 4e8, TemperatureRise: 3}), "S_y/(K_a·4·F/(π·d_j2²)) where K_a = 5, F = 0"},
		{HeatFactor, vals{EnvironmentMax: 390}, "1"},
		{HeatFactor, vals{EnvironmentMax: 460, StabilisedTo: 500}, "0.95 − 0.05·(ϑ_n − 448.15)/25"},
		{HeatFactor, vals{EnvironmentMax: 500, StabilisedTo: 500}, "0.9 − 0.15·(ϑ_n − 473.15)/50"},
	} {
		c := axisOf(base.with(x.leaves), move)
		if !c.Known(x.q) {
			t.Errorf("%s is not known; missing %v", x.q.Name, c.Gaps(x.q))
		}
		if got := c.FormulaFor(x.q); got != x.want {
			t.Errorf("%s is %q, expected %q", x.q.Name, got, x.want)
		}
	}
}
