package mechanics

import (
	"math"
	"testing"
)

// Cases worked by hand; the arithmetic stands in the comments.

// series compares a series value by value.
func series(t *testing.T, what string, got []float64, want ...float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s has %d values, expected %d", what, len(got), len(want))
	}
	for i := range want {
		near(t, what, got[i], want[i], 1e-9)
	}
}

// lift is a lifting axis: 100 kg, no guide friction, 50 N of drag, 200 N of
// counterbalance, 30 N of thrust.
var lift = vals{MovedMassGiven: 100, Friction: 0, Orientation: Vertical, DragGiven: 50, Counterbalance: 200, BalanceKind: aSpring, Lead: 10 * mm}

var liftMoves = []aMove{
	{dist: 0.5, speed: 0.5, up: 2, down: 4, thrust: 30, dwell: 0.5},
	{dist: -0.5, speed: 0.5, up: 2, down: 4, thrust: 30, dwell: 0.25},
}

// TestSignsOfALiftingAxis: the weight is 980.665 N, less the counterbalance
// 780.665 N. Up it meets 80 N, and down the same 80 N help to hold it.
//
//	up, gaining speed   200 + 80 + 780.665 = 1060.665
//	up, steady                80 + 780.665 =  860.665
//	up, braking        −400 + 80 + 780.665 =  460.665
//	at rest                                  780.665
//	down, gaining speed −200 − 80 + 780.665 = 500.665
//	down, steady             −80 + 780.665 =  700.665
//	down, braking        400 − 80 + 780.665 = 1100.665
func TestSignsOfALiftingAxis(t *testing.T) {
	c := axisOf(lift, liftMoves...)
	series(t, "force", c.Series(PhaseForce), 1060.665, 860.665, 460.665, 780.665, 500.665, 700.665, 1100.665, 780.665)
	series(t, "direction", c.Series(MoveDirection), 1, -1)
	series(t, "acceleration", c.Series(PhaseAcceleration), 2, 0, -4, 0, -2, 0, 4, 0)
	near(t, "working force", c.V(WorkingForce), 1100.665, 1e-9)
	near(t, "weight", c.V(WeightForce), 780.665, 1e-9)
	// Two screws, the worse one with 1.2 of its half.
	two := axisOf(lift.with(vals{Screws: 2, Unevenness: 1.2}), liftMoves...)
	for j, f := range two.Series(PhaseForce) {
		near(t, "force of one of two", f, 0.6*c.Series(PhaseForce)[j], 1e-9)
	}
	near(t, "weight on one of two", two.V(WeightForce), 0.6*780.665, 1e-9)
	// On an incline of 30°, 20 kg with 0.1: 196.133 N of weight,
	// 98.0665 along it, 0.1·196.133·√3/2 of friction.
	incline := axisOf(vals{MovedMassGiven: 20, Friction: 0.1, InclineGiven: 30 * deg}, aMove{dist: -1, speed: 1, up: 1, down: 1})
	series(t, "force downhill", incline.Series(PhaseForce)[:2], -20-19.6133*math.Sqrt(3)/2+98.0665, -19.6133*math.Sqrt(3)/2+98.0665)
	// The payload of 5 kg adds to both.
	full := axisOf(vals{MovedMassGiven: 15, Friction: 0.1, InclineGiven: 30 * deg}, aMove{dist: -1, speed: 1, up: 1, down: 1, payload: 5})
	series(t, "force with payload", full.Series(PhaseForce), incline.Series(PhaseForce)...)
}

// TestEmergencyStop: 10 m/s² on the lifting axis. Going up −1000 + 50 +
// 780.665 = −169.335 N, going down 1000 − 50 + 780.665 = 1730.665 N.
func TestEmergencyStop(t *testing.T) {
	c := axisOf(lift.with(vals{EmergencyDecel: 10}), liftMoves...)
	near(t, "emergency force", c.V(EmergencyForce), 1730.665, 1e-9)
	near(t, "peak force", c.V(PeakForce), 1730.665, 1e-9)
	near(t, "working force", c.V(WorkingForce), 1100.665, 1e-9)
	c = axisOf(lift.with(vals{EmergencyDecel: 10, Standstill: -2500}), liftMoves...)
	near(t, "peak force at standstill", c.V(PeakForce), 2500, 0)
	c = axisOf(lift.with(vals{EmergencyDecel: 10, Screws: 2, Unevenness: 1.2}), liftMoves...)
	near(t, "emergency force of one of two", c.V(EmergencyForce), 0.6*1730.665, 1e-9)
}

// TestEmergencyStopEmpty: a lift of 50 kg that takes 50 kg of payload down and
// comes up empty stops at 5 m/s² from travel at 0.1 m/s² of ramps.
//
//	weight: empty 490.3325 N, full 980.665 N; inertia 250 and 500 N
//	counterbalance 735 N: empty −244.6675 ± 250 = −494.6675 and 5.3325;
//	                      full 245.665 ± 500 = −254.335 and 745.665
//	counterbalance 1200 N: empty −709.6675 ± 250 = −959.6675 at worst;
//	                       full −219.335 ± 500 = −719.335 at worst
//
// A thrust bearing on top is pushed against by the negative ones.
func TestEmergencyStopEmpty(t *testing.T) {
	leaves := vals{
		MovedMassGiven: 50, Friction: 0, Orientation: Vertical, EmergencyDecel: 5, Counterbalance: 735, BalanceKind: aSpring, BalanceKept: 1,
		DriveEnd: FixedEnd, FarEnd: SupportedEnd, DriveAt: DriveAtTop,
	}
	moves := []aMove{{dist: 0.5, speed: 0.1, up: 0.1, down: 0.1}, {dist: -0.5, speed: 0.1, up: 0.1, down: 0.1, payload: 50}}
	c := axisOf(leaves, moves...)
	near(t, "emergency force", c.V(EmergencyForce), 745.665, 1e-9)
	near(t, "pushed force", c.V(PushedForce), 494.6675, 1e-9)
	over := axisOf(leaves.with(vals{Counterbalance: 1200, BalanceKind: aSpring}), moves...)
	near(t, "emergency force, empty worse", over.V(EmergencyForce), 959.6675, 1e-9)
	near(t, "peak force, empty worse", over.V(PeakForce), 959.6675, 1e-9)
}

// TestEmergencyStopInAPull: a process pulls 60 kg along with 500 N, friction
// and drag take 20 N. The ramp down of 3 m/s² takes 180 + 500 − 20 = 660 N, an
// emergency stop of 8 m/s² 480 + 500 − 20 = 960 N in the move and, where nothing
// pulls, 480 − 20 = 460 N. Against a push of 500 N it takes 480 − 520 = −40 N.
// With the thrust bearing at the start the stop pulls the shaft; only on the
// way back would it push it, with 460 N.
func TestEmergencyStopInAPull(t *testing.T) {
	leaves := vals{
		MovedMassGiven: 60, Friction: 0, DragGiven: 20, Orientation: Horizontal, EmergencyDecel: 8,
		DriveEnd: FixedEnd, FarEnd: SupportedEnd, DriveAt: DriveAtStart,
	}
	moves := []aMove{{dist: 1, speed: 0.5, up: 3, down: 3, thrust: -500}, {dist: -1, speed: 0.5, up: 3, down: 3, thrust: 500}}
	c := axisOf(leaves, moves...)
	series(t, "stops of the moves", c.Series(MoveStopForce), -960, -40)
	near(t, "working force", c.V(WorkingForce), 700, 1e-9) // 180 + 520, gaining speed on the way back
	near(t, "emergency force", c.V(EmergencyForce), 960, 1e-9)
	near(t, "peak force", c.V(PeakForce), 960, 1e-9)
	near(t, "pushed force", c.V(PushedForce), 460, 1e-9)
	end := axisOf(leaves.with(vals{DriveAt: DriveAtEnd}), moves...)
	near(t, "pushed force, thrust bearing at the end", end.V(PushedForce), 960, 1e-9)
}

// TestPushedOrPulled: the screw pushes the carriage up with up to 1100.665 N.
// Standing on a thrust bearing at the bottom the shaft is pushed by it; hung
// from the top it is pulled, and pushed only by the 169.335 N of an emergency
// stop on the way up.
func TestPushedOrPulled(t *testing.T) {
	for _, x := range []struct {
		drive, far, at float64
		side           float64
		cycle, stop    float64
	}{
		{FixedEnd, SupportedEnd, DriveAtBottom, ThrustAtStart, 1100.665, 1730.665},
		{SupportedEnd, FixedEnd, DriveAtTop, ThrustAtStart, 1100.665, 1730.665},
		{FixedEnd, SupportedEnd, DriveAtTop, ThrustAtEnd, 0, 169.335},
		{FreeEnd, FixedEnd, DriveAtBottom, ThrustAtEnd, 0, 169.335},
		{FixedEnd, FreeEnd, DriveAtStart, ThrustAtStart, 1100.665, 1730.665},
		{FixedEnd, FreeEnd, DriveAtEnd, ThrustAtEnd, 0, 169.335},
		{FixedEnd, FixedEnd, DriveAtTop, ThrustAtBoth, 1100.665, 1730.665},
		{FixedEnd, SupportedEnd, math.NaN(), ThrustUnknown, 1100.665, 1730.665},
		{SupportedEnd, SupportedEnd, DriveAtTop, ThrustUnknown, 1100.665, 1730.665},
	} {
		leaves := lift.with(vals{DriveEnd: x.drive, FarEnd: x.far, DriveAt: x.at})
		c := axisOf(leaves, liftMoves...)
		near(t, "thrust side", c.V(ThrustSide), x.side, 0)
		near(t, "pushed force", c.V(PushedForce), x.cycle, 1e-9)
		c = axisOf(leaves.with(vals{EmergencyDecel: 10}), liftMoves...)
		near(t, "pushed force with emergency stop", c.V(PushedForce), x.stop, 1e-9)
	}
	// A shaft that is never pushed does not buckle.
	c := axisOf(lift.with(vals{
		DriveEnd: FixedEnd, FarEnd: SupportedEnd, DriveAt: DriveAtTop,
		Span: 1, RootDiameter: 20 * mm, ElasticModulus: 206e9, YieldStrengthGiven: 500e6,
	}), liftMoves...)
	near(t, "thrust bearing on top", 1/c.V(BucklingSafety), 0, 0)
}

// TestFreeLengthIsNotLoadedLength: the free length between supports governs
// speed, the stretch from thrust bearing to nut governs buckling.
func TestFreeLengthIsNotLoadedLength(t *testing.T) {
	base := vals{
		DriveEnd: FixedEnd, FarEnd: SupportedEnd, DriveAt: DriveAtStart, RootDiameter: 20 * mm,
		ElasticModulus: 206e9, Density: 7850, YieldStrengthGiven: 1e12,
		MovedMassGiven: 100, Friction: 0.1, Orientation: Horizontal, Lead: 10 * mm,
	}
	move := aMove{dist: 0.5, speed: 0.5, up: 2, down: 2}
	same := axisOf(base.with(vals{Span: 1.5}), move)
	near(t, "loaded length from the span", same.V(LoadedLength), 1.5, 0)
	short := axisOf(base.with(vals{Span: 1.5, LoadedLengthGiven: 1}), move)
	near(t, "loaded length", short.V(LoadedLength), 1, 0)
	within(t, "critical speed", short.V(Critical), same.V(Critical), 0)
	within(t, "buckling load", short.V(Buckling), 2.25*same.V(Buckling), 1e-12)
	long := axisOf(base.with(vals{Span: 3, LoadedLengthGiven: 1}), move)
	within(t, "critical speed of twice the span", long.V(Critical), short.V(Critical)/4, 1e-12)
	within(t, "buckling load of twice the span", long.V(Buckling), short.V(Buckling), 0)
	if Critical.DependsOn(LoadedLengthGiven) || !Critical.DependsOn(Span) || !Buckling.DependsOn(LoadedLengthGiven) {
		t.Error("critical speed must follow the span, buckling the loaded length")
	}
	// Forces: 0.1·980.665 ± 200, so 298.0665 N at most.
	near(t, "pushed force", short.V(PushedForce), 298.0665, 1e-9)
	within(t, "buckling safety", short.V(BucklingSafety), short.V(Buckling)/298.0665, 1e-12)
	// 0.5 m/s over 10 mm is 50 rev/s.
	within(t, "critical share", short.V(CriticalShare), 100*math.Pi/short.V(Critical), 1e-12)
	// The end condition for buckling may be declared apart.
	apart := axisOf(base.with(vals{Span: 1.5, BucklingEnds: FixedFree}), move)
	near(t, "declared fixity", apart.V(BucklingFixity), 0.25, 0)
	within(t, "critical speed with it", apart.V(Critical), same.V(Critical), 0)
}

// TestDwellIsNotInTheMeanSpeed: 0.5 m at 0.5 m/s with ramps of 0.25 s and
// 0.125 s: 62.5 + 31.25 mm of ramps, so 0.40625/0.5 = 0.8125 s steady and
// 1.1875 s in motion. Both ways 1 m in 2.375 s, with the rests of 0.5 and
// 0.25 s a cycle of 3.125 s. Mean speed 1/2.375 = 0.421053 m/s, not
// 1/3.125 = 0.32.
func TestDwellIsNotInTheMeanSpeed(t *testing.T) {
	c := axisOf(lift.with(vals{HoursPerDay: 10, DaysPerYear: 200}), liftMoves...)
	series(t, "times", c.Series(PhaseTime), 0.25, 0.8125, 0.125, 0.5, 0.25, 0.8125, 0.125, 0.25)
	series(t, "distances", c.Series(PhaseDistance), 0.0625, 0.40625, 0.03125, 0, 0.0625, 0.40625, 0.03125, 0)
	series(t, "top speeds", c.Series(PhaseTopSpeed), 0.5, 0.5, 0.5, 0, 0.5, 0.5, 0.5, 0)
	near(t, "cycle", c.V(CycleTime), 3.125, 1e-12)
	near(t, "motion", c.V(MovingTime), 2.375, 1e-12)
	near(t, "mean speed", c.V(MeanSpeed), 0.42105263158, 1e-10)
	near(t, "moving share", c.V(MovingShare), 0.76, 1e-12)
	// 10 h · 200 days · 3600 s / 3.125 s = 2 304 000 cycles, 2304 km,
	// 100 rev each.
	near(t, "cycles", c.V(CyclesPerYear), 2304000, 1e-6)
	near(t, "distance a year", c.V(DistancePerYear), 2304000, 1e-6)
	near(t, "distance a day", c.V(DistancePerDay), 11520, 1e-8)
	near(t, "revolutions", c.V(RevsPerCycle), 100, 1e-12)
	near(t, "revolutions a year", c.V(RevsPerYear), 230400000, 1e-4)
	near(t, "hours a year", c.V(DutyHours), 2000*3600, 0)
	near(t, "shortest ramp", c.V(ShortestRamp), 0.125, 1e-12)
	// A dwell changes calendar life, not the mean speed.
	longer := append([]aMove(nil), liftMoves...)
	longer[1].dwell += 3.125
	c2 := axisOf(lift.with(vals{HoursPerDay: 10, DaysPerYear: 200}), longer...)
	within(t, "mean speed with a longer rest", c2.V(MeanSpeed), c.V(MeanSpeed), 0)
	within(t, "mean load with a longer rest", c2.V(MeanLoad), c.V(MeanLoad), 0)
	within(t, "cycles with a longer rest", c2.V(CyclesPerYear), c.V(CyclesPerYear)/2, 1e-12)
}

// TestMeanIsWeightedByRevolutions: 1 m under 100 N of drag at 0.1 m/s one way
// and 1 m under 1000 N at 1 m/s the other. Each counts for half the turns:
// ((100³ + 1000³)/2)^(1/3) = 793.97 N. By time it would be 451.1 N:
// ((100³·10 + 1000³·1)/11)^(1/3), which is too little.
func TestMeanIsWeightedByRevolutions(t *testing.T) {
	c := axisOf(vals{MovedMassGiven: 1e-6, Friction: 0, Orientation: Horizontal, Backlash: 0, LoadFactorGiven: 1},
		aMove{dist: 1, speed: 0.1, up: 1e3, down: 1e3, thrust: 100},
		aMove{dist: -1, speed: 1, up: 1e3, down: 1e3, thrust: 1000})
	near(t, "mean load", c.V(MeanLoad), 793.97, 0.1)
	// Each direction has its own flank and no load over the other's turns:
	// 1000/2^(1/3) = 793.70 N and 100/2^(1/3) = 79.37 N.
	near(t, "flank toward positive travel", c.V(MeanPlus), 79.370, 0.01)
	near(t, "flank toward negative travel", c.V(MeanMinus), 793.70, 0.01)
	series(t, "loads of one flank", []float64{c.Series(FlankPlus)[1], c.Series(FlankPlus)[5]}, 100, 0)
	series(t, "loads of the other", []float64{c.Series(FlankMinus)[1], c.Series(FlankMinus)[5]}, 0, 1000)
	// Trap: shares of time taken for shares of distance.
	near(t, "weighted by time", CubicMean([]float64{100, 1000}, []float64{10, 1}), 451.1, 0.5)
}

// TestRampsAsDeclared: every way to declare a ramp, the nearer one first.
func TestRampsAsDeclared(t *testing.T) {
	nan := math.NaN()
	for _, x := range []struct {
		ramp, rampUp, rampDown, acc, dec float64
		up, down                         float64
	}{
		{0.5, nan, nan, nan, nan, 2, 2},
		{nan, 0.25, 0.5, nan, nan, 4, 2},
		{0.5, 0.25, nan, nan, nan, 4, 2},
		{nan, nan, nan, 3, nan, 3, 3},
		{nan, nan, nan, 3, 5, 3, 5},
		{nan, nan, 0.5, 3, nan, 3, 2},
		{nan, 0.25, nan, nan, 5, 4, 5},
		{0.5, nan, nan, 3, nan, 2, 2},
		{nan, nan, nan, nan, 5, nan, 5},
		{0, nan, nan, nan, nan, nan, nan},
	} {
		c := axisOf(vals{
			MoveRamp: x.ramp, MoveRampUp: x.rampUp, MoveRampDown: x.rampDown, MoveAcceleration: x.acc, MoveDeceleration: x.dec,
		}, aMove{dist: 1, speed: 1})
		for q, want := range map[*Quantity]float64{MoveUp: x.up, MoveDown: x.down} {
			if got := c.Series(q)[0]; got != want && !(got != got && want != want) {
				t.Errorf("%s is %g, expected %g: %+v", q.Name, got, want, x)
			}
		}
	}
}

// TestMoveThatOnlyWaits: a move of no distance is a rest.
func TestMoveThatOnlyWaits(t *testing.T) {
	moves := append([]aMove{{dist: 0, speed: 1, up: 1, down: 1, dwell: 2}}, liftMoves...)
	c, without := axisOf(lift, moves...), axisOf(lift, liftMoves...)
	near(t, "cycle", c.V(CycleTime), 5.125, 1e-12)
	for _, q := range []*Quantity{MeanSpeed, MeanLoad, TopSpeed, WorkingForce, ShortestRamp, ShortestPeak, MovingTime, Reach} {
		within(t, q.Name, c.V(q), without.V(q), 0)
	}
}

// TestPath: +700, −300, +50 mm from the start lies between 0 and 700 and ends
// at 450; then −600 reaches −150.
func TestPath(t *testing.T) {
	m := func(d float64) aMove { return aMove{dist: d, speed: 1, up: 10, down: 10} }
	c := axisOf(vals{NutLength: 0.1}, m(0.7), m(-0.3), m(0.05), m(-0.6))
	near(t, "net", c.V(NetDistance), -0.15, 1e-12)
	near(t, "offset", c.V(CycleOffset), 0.15, 1e-12)
	near(t, "reach", c.V(Reach), 0.85, 1e-12)
	near(t, "path", c.V(CycleDistance), 1.65, 1e-12)
	near(t, "reach over nut", c.V(StrokeToNut), 8.5, 1e-9)
	closed := axisOf(nil, m(0.1), m(0.2), m(-0.3))
	near(t, "rounding is no offset", closed.V(NetDistance), 0, 0)
	// 50 mm at 10 m/s²: √(2·0.05·5) = 0.70711 of the 1 m/s required.
	near(t, "speed reached", c.V(ShortestPeak), 0.70710678, 1e-8)
	near(t, "top speed", c.V(TopSpeed), 1, 0)
	// Ramps of 0.0707 s are the shortest.
	near(t, "shortest ramp", c.V(ShortestRamp), 0.070710678, 1e-9)
}

// TestSpeeds: 0.6 m/s over 20 mm is 30 rev/s or 1800 rpm; through 2:1 the
// motor turns at 3600 rpm. A motor of 3000 rpm would need a lead of
// 0.6·2/50 = 24 mm. dn: 26 mm · 1800 rpm = 46800.
func TestSpeeds(t *testing.T) {
	c := axisOf(vals{Lead: 20 * mm, Ratio: 2, MotorMaxSpeed: 3000 * rpm, BallCircleGiven: 26 * mm, NominalDiameter: 25 * mm},
		aMove{dist: 1, speed: 0.6, up: 3, down: 3})
	within(t, "screw", c.V(MaxRotation), 1800*rpm, 1e-12)
	within(t, "motor", c.V(MotorSpeed), 3600*rpm, 1e-12)
	within(t, "least lead", c.V(MinLead), 24*mm, 1e-12)
	within(t, "dn", c.V(DN), 46800, 1e-12)
	c = axisOf(vals{NominalDiameter: 25 * mm})
	within(t, "ball circle not declared", c.V(BallCircle), 25*mm, 0)
}

// TestMasses: 30 kg and 20 kg carried make 50; weighed 52 kg count instead.
// The heaviest payload is 12 kg.
func TestMasses(t *testing.T) {
	moves := []aMove{{dist: 1, speed: 1, up: 1, down: 1, payload: 5}, {dist: -1, speed: 1, up: 1, down: 1, payload: 12}}
	c := axisOf(vals{Mass: 30, CarriedMass: 20}, moves...)
	near(t, "sum", c.V(SumOfMasses), 50, 0)
	near(t, "moved", c.V(MovedMass), 50, 0)
	near(t, "top payload", c.V(TopPayload), 12, 0)
	near(t, "heaviest", c.V(HeaviestMass), 62, 0)
	c = axisOf(vals{Mass: 30, CarriedMass: 20, MovedMassGiven: 52}, moves...)
	near(t, "weighed", c.V(MovedMass), 52, 0)
	near(t, "sum all the same", c.V(SumOfMasses), 50, 0)
	near(t, "horizontal", axisOf(vals{Orientation: Horizontal}).V(Incline), 0, 0)
	near(t, "vertical", axisOf(vals{Orientation: Vertical}).V(Incline), math.Pi/2, 0)
	near(t, "declared", axisOf(vals{Orientation: Vertical, InclineGiven: 0.5}).V(Incline), 0.5, 0)
}

// TestHolding: 20 kg at 45° with guides of 0.1 and a counterbalance of 400 N;
// 80 kg of payload come on top.
//
//	empty: 20·9.80665·0.70710678 = 138.687 N, less 400 = −261.313 N;
//	       friction 13.869 N, so 247.444 N move it up
//	full:  693.435 − 400 = 293.435 N; friction 69.343 N, so 224.091 N
func TestHolding(t *testing.T) {
	leaves := vals{
		MovedMassGiven: 20, Friction: 0.1, InclineGiven: 45 * deg, Counterbalance: 400, BalanceKind: aSpring, BalanceKept: 1,
		Lead: 10 * mm, NominalDiameter: 25 * mm, ThreadFrictionGiven: 0.003, Ratio: 2, Screws: 1,
	}
	move := aMove{dist: 1, speed: 1, up: 1, down: 1, payload: 80}
	c := axisOf(leaves, move)
	near(t, "weight force", c.V(WeightForce), 293.435, 1e-3)
	near(t, "standing force", c.V(StandingForce), 293.435, 1e-3)
	near(t, "friction", c.V(ReversalFriction), 69.343, 1e-3)
	near(t, "self motion", c.V(SelfMotion), 247.444, 1e-3)
	empty := axisOf(leaves.with(vals{Counterbalance: 500, BalanceKind: aSpring}), move)
	near(t, "standing force, empty worse", empty.V(StandingForce), 361.313, 1e-3)
	drag := axisOf(leaves.with(vals{DragGiven: 30}), move)
	near(t, "self motion against drag", drag.V(SelfMotion), 217.444, 1e-3)
	// tan φ = 10/(25π) = 0.127324; η′ = (1 − 0.003/0.127324)/(1 + 0.003·0.127324)
	// = 0.976438/1.000382 = 0.976065. 293.435 N·10 mm/2π·0.976065 = 0.455838 N·m.
	near(t, "holding torque", c.V(HoldingTorque), 0.455838, 1e-5)
	// 0.6 N·m on the screw and 0.5 N·m on the motor, twice at the screw: 1.6.
	brakes := axisOf(leaves.with(vals{BrakeGiven: 0.6, MotorBrake: 0.5}), move)
	near(t, "holding safety", brakes.V(HoldingSafety), 1.6/0.455838, 1e-4)
	// A thread of great friction holds by itself.
	rough := axisOf(leaves.with(vals{ThreadFrictionGiven: 0.2}), move)
	near(t, "self-locking", rough.V(HoldingTorque), 0, 0)
	if rough.V(BackEfficiency) >= 0 {
		t.Error("a thread with more friction than lead angle must not back-drive")
	}
	// tan 0.2 = 0.203 is less than 0.3.
	held := axisOf(vals{MovedMassGiven: 20, Friction: 0.3, InclineGiven: 0.2}, move)
	if held.V(SelfMotion) >= 0 {
		t.Errorf("friction of 0.3 holds on an incline of 0.2 rad, self motion %g N", held.V(SelfMotion))
	}
}

// TestTorqueByHand: a horizontal axis of 50 kg, guides 0.02, lead 10 mm,
// η 0.9, gear 2:1 of 0.95, 0.1 N·m of drag, 4e-4 kg·m² at the screw, 1e-4 at
// the motor (rotor 0.6, gear 0.4), 4 m/s².
//
//	force: 9.80665 friction + 200 = 209.80665 N up, 9.80665 steady, −190.19335 down
//	thread: 209.80665·0.01/(2π·0.9) = 0.371020; 0.017342; η′ = 0.976065 (0.003): −0.295456
//	inertia: 4e-4·4·2π/0.01 = 1.005310
//	screw: 0.371020+0.1+1.005310 = 1.476330; 0.117342; −0.295456+0.1−1.005310 = −1.200766
//	motor's own: 1e-4·4·2π·2/0.01 = 0.502655
//	motor: 1.476330/1.9+0.502655 = 1.279671; 0.117342/1.9 = 0.061759; −1.200766·0.95/2−0.502655 = −1.073019
func TestTorqueByHand(t *testing.T) {
	c := axisOf(vals{
		MovedMassGiven: 50, Friction: 0.02, Orientation: Horizontal, Lead: 10 * mm, NominalDiameter: 25 * mm,
		ThreadFrictionGiven: 0.003, EfficiencyGiven: 0.9, Backlash: 0, DriveSupportDrag: 0.1, Turning: NutTurns, NutInertia: 4e-4,
		Ratio: 2, GearEfficiencyGiven: 0.95, RotorInertia: 0.6e-4, GearInertiaGiven: 0.4e-4, RootDiameter: 20 * mm, Screws: 1,
		DriveEnd: FixedEnd, FarEnd: SupportedEnd,
	}, aMove{dist: -1, speed: 1, up: 4, down: 4, dwell: 0.5})
	for j, want := range []float64{1.476330, 0.117342, -1.200766, 0} {
		near(t, "screw", c.Series(PhaseTorque)[j], want, 2e-6)
	}
	for j, want := range []float64{1.279671, 0.061759, -1.073019, 0} {
		near(t, "motor", c.Series(MotorPhaseTorque)[j], want, 2e-6)
	}
	// 0.25 s, 0.75 s, 0.25 s and 0.5 s:
	// √((1.279671²·0.25 + 0.061759²·0.75 + 1.073019²·0.25)/1.75) = 0.63250.
	near(t, "rms", c.V(RMSTorque), 0.63250, 2e-5)
	near(t, "peak", c.V(PeakTorque), 1.279671, 2e-6)
	near(t, "screw peak", c.V(PeakScrewTorque), 1.476330, 2e-6)
	// At 100 rev/s of the screw and 200 of the motor.
	near(t, "power", c.V(PeakPower), 1.279671*400*math.Pi, 4e-3)
	// Root section 314.159 mm²: 209.80665 N give 0.667836 MPa; the torque
	// 16·1.476330/(π·8e-6) = 0.939861 MPa: √(0.446 + 3·0.883333) = 1.759558 MPa.
	near(t, "stress", c.V(AxialStress), 667836, 2)
	near(t, "equivalent stress", c.V(EquivalentStress), 1.759558e6, 30)
}

// TestScrewsOnOneMotor: how many screws one motor turns must be said where
// several share the carriage.
//
// 60 kg hang on two screws of lead 10 mm, η 0.9, taken to share them evenly;
// 2e-4 kg·m² turn with each screw, the rotor has
// 1e-4; 2 m/s²; both on one motor without a gear. Up it gains speed with
//
//	force of both: 60·(9.80665 + 2) = 708.399 N
//	thread: 708.399·0.01/(2π·0.9) = 1.252724 N·m
//	screws: 2·2e-4·2·2π/0.01 = 0.502655 N·m, rotor 1e-4·2·2π/0.01 = 0.125664 N·m
//	motor: 1.881043 N·m
//
// Standing, the motor holds 588.399·0.01/2π = 0.936466 N·m without help from
// friction; the brakes hold what drives back, η′ = 0.976065: 0.914051 N·m.
func TestScrewsOnOneMotor(t *testing.T) {
	leaves := vals{
		MovedMassGiven: 60, Friction: 0.02, Orientation: Vertical, Lead: 10 * mm, NominalDiameter: 25 * mm,
		ThreadFrictionGiven: 0.003, EfficiencyGiven: 0.9, Backlash: 0, Turning: NutTurns, NutInertia: 2e-4,
		Ratio: 1, RotorInertia: 1e-4, Screws: 2, Unevenness: 1, BrakeGiven: 1, MotorBrake: 0.5,
	}
	up := aMove{dist: 1, speed: 1, up: 2, down: 2, dwell: 1}
	both := axisOf(leaves.with(vals{MotorScrewsGiven: 2}), up)
	near(t, "screws on the motor", both.V(MotorScrews), 2, 0)
	near(t, "torque of the motor", both.Series(MotorPhaseTorque)[RampUp], 1.881043, 2e-6)
	near(t, "at rest", both.Series(MotorPhaseTorque)[Rest], 0.936466, 2e-6)
	near(t, "brakes", both.V(HoldingSafety), 1.5/0.914051, 1e-5)
	// With a motor each: half of all but the rotor.
	apart := axisOf(leaves.with(vals{MotorScrewsGiven: 1}), up)
	near(t, "a motor each", apart.Series(MotorPhaseTorque)[RampUp], (1.252724+0.502655)/2+0.125664, 2e-6)
	near(t, "a motor each, at rest", apart.Series(MotorPhaseTorque)[Rest], 0.936466/2, 2e-6)
	near(t, "a brake each", apart.V(HoldingSafety), 2*1.5/0.914051, 1e-5)
	for _, q := range []*Quantity{PeakScrewTorque, HoldingTorque, TurningInertia, SelfMotion} {
		within(t, q.Name+" of one screw", both.V(q), apart.V(q), 0)
	}
	// One screw is turned by its motor; of several nobody knows.
	alone := leaves.with(vals{Screws: 1})
	near(t, "one screw", axisOf(alone, up).V(MotorScrews), 1, 0)
	near(t, "one screw, brakes", axisOf(alone, up).V(HoldingSafety), 1.5/0.914051, 1e-5)
	unknown := leaves.with(nil)
	delete(unknown, Screws)
	for what, c := range map[string]*Calc{
		"two screws":     axisOf(leaves, up),
		"unknown screws": axisOf(unknown, up),
	} {
		for _, q := range []*Quantity{MotorScrews, LoadInertia, PeakTorque, RMSTorque, PeakPower, HoldingSafety} {
			if c.Known(q) {
				t.Errorf("%s: %s is %g", what, q.Name, c.V(q))
			}
		}
	}
}

// TestAccuracyByHand: deviation and variation of a C5 screw come from the
// published table, the rest is done by hand.
//
//	growth 11.5e-6·3·0.5 = 17.25 µm; friction 0.05·100·9.80665 = 49.03325 N;
//	stiffness 1/(1/R_s + 1/R_n + 1/R_b) with R_s = 314.159e-6·206e9/1 N/m,
//	R_n = 0.8·400e6·(200/1600)^(1/3) = 160e6 N/m and R_b = 100e6 N/m;
//	twist with G = 206e9/2.6 = 79.2308e9 Pa and I_p = π·0.02⁴/32 = 15.70796e-9 m⁴ over 1 m:
//	1244.554 N·m/rad, by (2π/0.02)² = 98696.04 /m² 122.8326e6 N/m
func TestAccuracyByHand(t *testing.T) {
	leaves := vals{
		Grade: 3, Stroke: 0.5, TransportFactor: 2, Expansion: 11.5e-6, TemperatureRise: 3,
		MovedMassGiven: 100, Friction: 0.05, Orientation: Horizontal, Preload: 200,
		RootDiameter: 20 * mm, Lead: 20 * mm, ElasticModulus: 206e9, Span: 1, DriveEnd: FixedEnd, FarEnd: SupportedEnd, DriveAt: DriveAtStart,
		DynamicRating: 16e3, NutStiffness: 400e6, DriveSupportStiffness: 100e6, Backlash: 6e-6, Approach: BothSides,
	}
	move := aMove{dist: 0.5, speed: 0.5, up: 1, down: 1}
	c := axisOf(leaves, move)
	rs := math.Pi * 100e-6 * 206e9
	want := 1 / (1/rs + 1/160e6 + 1/100e6)
	within(t, "nut", c.V(NutRigidity), 160e6, 1e-12)
	within(t, "bearing", c.V(BearingRigidity), 100e6, 0)
	within(t, "stiffness", c.V(Rigidity), want, 1e-12)
	within(t, "series", InSeries(rs, 160e6, math.NaN(), 100e6), want, 1e-12)
	within(t, "twist of the shaft", c.V(ShaftWindUp), 122.8326e6, 1e-6)
	want = 1 / (1/want + 1/c.V(ShaftWindUp))
	within(t, "stiffness with twist", c.V(DriveRigidity), want, 1e-12)
	// A coupling of 1000 N·m/rad adds 98.69604e6 N/m, 6 arcmin at the screw a play of
	// 20 mm/3600 = 5.5556 µm, 800 N of process force their deflection.
	soft := axisOf(leaves.with(vals{CouplingTwistGiven: 1000, GearPlayGiven: 0.1 * math.Pi / 180, UnderForce: ProcessForce}), aMove{dist: 0.5, speed: 0.5, up: 1, down: 1, thrust: 800})
	weak := 1 / (1/want + 1/98.69604e6)
	within(t, "stiffness with the coupling", soft.V(DriveRigidity), weak, 1e-7)
	within(t, "play of the gear", soft.V(DrivePlay), 20e-3/3600, 1e-12)
	within(t, "half of both plays", soft.V(HalfPlay), (6e-6+20e-3/3600)/2, 1e-12)
	within(t, "under the force", soft.V(ForcePart), 800/weak, 1e-7)
	within(t, "without the force", axisOf(leaves.with(vals{UnderForce: NoForce}), aMove{dist: 0.5, speed: 0.5, up: 1, down: 1, thrust: 800}).V(ForcePart), 0, 0)
	within(t, "friction", c.V(ReversalFriction), 49.03325, 1e-12)
	within(t, "deflection", c.V(ElasticPart), 49.03325/want, 1e-12)
	within(t, "lost motion", c.V(LostMotion), 6e-6+2*49.03325/want, 1e-12)
	within(t, "repeatability", c.V(RepeatError), 3e-6+49.03325/want, 1e-12)
	// 160 N/µm of the nut become 126.99 with half its preload; with play nothing is worn off.
	within(t, "with half the preload", c.V(WornError), 3e-6+49.03325*(1/want+1/126.99208e6-1/160e6), 1e-7)
	within(t, "play", c.V(Play), 6e-6, 0)
	within(t, "half the play", c.V(HalfPlay), 3e-6, 1e-12)
	ep, vup := publishedTravel(t, "C5", 500)
	within(t, "budget", c.V(AccuracyBudget), ep+vup/2+17.25e-6+49.03325/want+3e-6, 1e-12)
	one := axisOf(leaves.with(vals{Approach: OneSide}), move)
	within(t, "budget from one side", one.V(AccuracyBudget), ep+vup/2+17.25e-6+49.03325/want, 1e-12)
	within(t, "scatter from one side", axisOf(leaves.with(vals{Approach: OneSide, ScatterGiven: 0.8e-6}), move).V(RepeatError), 0.8e-6, 0)
	scale := leaves.with(vals{Scale: 5e-6})
	delete(scale, TemperatureRise)
	within(t, "budget with a scale", axisOf(scale, move).V(AccuracyBudget), 5e-6+49.03325/want+3e-6, 1e-12)
	noPlay := leaves.with(nil)
	delete(noPlay, Backlash)
	within(t, "no play with preload", axisOf(noPlay, move).V(Play), 0, 0)
	// A nut with play is as stiff as its mean load makes it. Forces: 49.03325
	// ± 100 N over a quarter each of 0.5 m: 149.03³, 50.97³ and 49.03³ N.
	loose := noPlay.with(vals{Backlash: 6e-6})
	delete(loose, Preload)
	up, steady, down := 149.03325, 49.03325, 50.96675
	mean := math.Cbrt((math.Pow(up, 3)*0.125 + math.Pow(steady, 3)*0.25 + math.Pow(down, 3)*0.125) / 0.5)
	within(t, "nut with play", axisOf(loose, move).V(NutRigidity), 0.8*400e6*math.Cbrt(mean/4800), 1e-9)
}

// publishedTravel looks a grade up in the published table: metres.
func publishedTravel(t *testing.T, grade string, length float64) (ep, vup float64) {
	t.Helper()
	for _, r := range table(t, published+"travel_deviation.csv") {
		if r["grade"] != grade || num(t, "0"+r["l_upto_mm"]) < length || num(t, "0"+r["l_over_mm"]) >= length {
			continue
		}
		switch r["quantity"] {
		case "ep":
			ep = num(t, r["value_um"]) * 1e-6
		case "vup":
			vup = num(t, r["value_um"]) * 1e-6
		}
	}
	return ep, vup
}

// TestLayout: stroke 800, twice 30 of overtravel, nut 60: 920 mm of thread,
// with ends of 160 a shaft of 1080 mm. 1200/25 = 48. From stop to stop 800 + 60
// = 860 mm; 1200 − 160 = 1040 mm of thread are there.
func TestLayout(t *testing.T) {
	c := axisOf(vals{
		Stroke: 0.8, Overtravel: 0.03, NutLength: 0.06, EndLengths: 0.16, ShaftLength: 1.2, NominalDiameter: 0.025,
		HoursPerDay: 10, DaysPerYear: 200, RegreaseEvery: 31557600 / 2.0,
	}, liftMoves...)
	near(t, "thread", c.V(ThreadNeeded), 0.92, 1e-12)
	near(t, "shaft", c.V(ShaftNeeded), 1.08, 1e-12)
	near(t, "whole travel", c.V(WholeTravel), 0.86, 1e-12)
	near(t, "thread there", c.V(ThreadLength), 1.04, 1e-12)
	near(t, "slenderness", c.V(Slenderness), 48, 1e-9)
	// 2304 km a year (TestDwellIsNotInTheMeanSpeed), greased twice.
	near(t, "regreasing", c.V(RegreaseDistance), 1152000, 1e-6)
}

// TestSafetiesByHand: ratings over loads. The axis pulls with 1000 N of
// thrust and nothing else.
//
//	static: 36000/1000 = 36; preload 800/16000 = 5 %
//	support: 1000·1.2 = 1200 N; 22000/1200 = 18.3333, cubed 6162.037e6 revolutions
func TestSafetiesByHand(t *testing.T) {
	leaves := vals{
		MovedMassGiven: 1e-18, Friction: 0, Orientation: Horizontal, Lead: 10 * mm, Backlash: 0,
		DynamicRating: 16e3, StaticRating: 36e3, Hardness: 60, GradeFactorGiven: 1, LoadFactorGiven: 1.2, Reliability: 0.95,
		DriveEnd: FixedEnd, FarEnd: SupportedEnd, DriveSupportDynamic: 22e3, DriveSupportStatic: 30e3,
		FarSupportDynamic: 20e3, FarSupportStatic: 40e3, HoursPerDay: 10, DaysPerYear: 200, ServiceLife: 5 * 31557600,
		RootDiameter: 20 * mm, ElasticModulus: 206e9, Span: 1, Expansion: 11.5e-6, TemperatureRise: 4, Stretch: 20e-6,
	}
	// 1 m at 1 m/s and 2 s in all: 3 600 000 cycles a year of 100 turns.
	move := aMove{dist: 1, speed: 1, up: 1e9, down: 1e9, thrust: 1000, dwell: 1}
	c := axisOf(leaves, move)
	near(t, "static safety", c.V(StaticSafety), 36, 1e-6)
	near(t, "stress", c.V(AxialStress), 1000/(math.Pi*1e-4), 1)
	near(t, "support load", c.V(SupportLoad), 1200, 1e-5)
	near(t, "support rating", c.V(SupportDynamic), 22e3, 0)
	near(t, "support static rating", c.V(SupportStatic), 30e3, 0)
	near(t, "support static safety", c.V(SupportStaticSafety), 30, 1e-6)
	// Its bearing: (22000/1200)³·0.64, the 95 % of ISO 281:2007.
	near(t, "support life", c.V(SupportLife)/31557600, 0.64*6162.037037e6/360e6, 1e-4)
	near(t, "support life ratio", c.V(SupportLifeRatio), 0.64*6162.037037e6/360e6/5, 1e-4)
	// The screw: (16000/1200)³·0.62 = 1469.63 million turns.
	near(t, "life", c.V(Life)/1e6, 1469.6296, 1e-3)
	near(t, "life factor", c.V(ReliabilityFactor), 0.62, 0)
	near(t, "life in years", c.V(LifeYears)/31557600, 1469.6296/360, 1e-5)
	c = axisOf(leaves.with(vals{Preload: 800}), move)
	near(t, "preload share", c.V(PreloadShare), 0.05, 1e-12)
	// With two fixed ends the stretch of 20 µm pulls with
	// 20e-6·314.159e-6·206e9/1 = 1294.336 N; the growth of 46 µm beyond it
	// would push with 26/20 of that, 1682.637 N.
	both := axisOf(leaves.with(vals{FarEnd: FixedEnd}), move)
	near(t, "stretch force", both.V(StretchForce), 1294.336, 1e-3)
	near(t, "thermal force", both.V(ThermalForce), 1682.637, 1e-3)
	near(t, "support load, both ends", both.V(SupportLoad), 2882.637, 1e-3)
	near(t, "lesser rating", both.V(SupportDynamic), 20e3, 0)
	near(t, "lesser static rating", both.V(SupportStatic), 30e3, 0)
	near(t, "static safety, both ends", both.V(SupportStaticSafety), 30000/2682.637, 1e-5)
	// Fixed at the far end only.
	far := axisOf(leaves.with(vals{DriveEnd: SupportedEnd, FarEnd: FixedEnd}), move)
	near(t, "rating of the far end", far.V(SupportDynamic), 20e3, 0)
	near(t, "static rating of the far end", far.V(SupportStatic), 40e3, 0)
}

// TestLoadFactor: the upper ends of the usual ranges (common practice).
func TestLoadFactor(t *testing.T) {
	for shock, want := range map[float64]float64{Smooth: 1.2, Ordinary: 1.5, Shocks: 2} {
		near(t, "load factor", axisOf(vals{Shock: shock}).V(LoadFactor), want, 0)
	}
	near(t, "declared", axisOf(vals{Shock: Shocks, LoadFactorGiven: 1.1}).V(LoadFactor), 1.1, 0)
}

// TestLoadFactorIsForOutsideLoads: 1000 N of drag on 1000 N of preload at a factor of
// 1.5. The preloaded nut takes 1000·(1 + 1500/2828.43)^1.5 = 1893.12 N on one flank and
// 393.12 N on the other. Trap: 1.5 times the load of the flank would be
// 1.5·1000·(1 + 1000/2828.43)^1.5 = 2362.2 N.
func TestLoadFactorIsForOutsideLoads(t *testing.T) {
	c := axisOf(vals{MovedMassGiven: 1e-6, Friction: 0, Orientation: Horizontal, Preload: 1000, LoadFactorGiven: 1.5, DynamicRating: 20e3, Hardness: 60, Grade: 0},
		aMove{dist: 1, speed: 0.1, up: 1e3, down: 1e3, thrust: 1000})
	near(t, "loaded flank", c.Series(FlankPlus)[1], 1893.12, 0.1)
	near(t, "relieved flank", c.Series(FlankMinus)[1], 393.12, 0.1)
	within(t, "life of the loaded flank", c.V(LifePlus), math.Pow(20e3/1893.12, 3)*1e6, 1e-3)
	still := axisOf(vals{MovedMassGiven: 1e-6, Friction: 0, Orientation: Horizontal, Preload: 1000, LoadFactorGiven: 3},
		aMove{dist: 1, speed: 0.1, up: 1e3, down: 1e3})
	near(t, "preload alone", still.V(MeanPlus), 1000, 0.1)
}

// TestBearingReliability: a_1 of ISO 281:2007 at 99 %, 0.25, and that of the edition
// before it, which ball screws keep, 0.21 (both read in a bearing-life note).
func TestBearingReliability(t *testing.T) {
	for s, want := range map[float64][2]float64{0.9: {1, 1}, 0.95: {0.64, 0.62}, 0.96: {0.55, 0.53}, 0.97: {0.47, 0.44}, 0.98: {0.37, 0.33}, 0.99: {0.25, 0.21}} {
		c := axisOf(vals{Reliability: s})
		near(t, "bearings", c.V(BearingReliability), want[0], 0)
		near(t, "ball screws", c.V(ReliabilityFactor), want[1], 0)
	}
	if c := axisOf(vals{Reliability: 0.995}); c.Known(BearingReliability) {
		t.Error("a factor above 99 %")
	}
}

// TestRequiredLife: 20 000 working hours at 10 h a day on 200 days a year take ten
// years; as calendar time they are 20 000/8766 = 2.28154 years.
func TestRequiredLife(t *testing.T) {
	for _, c := range []struct {
		basis, years float64
	}{{WorkingTime, 10}, {CalendarTime, 2.281542}, {math.NaN(), 2.281542}} {
		a := axisOf(vals{HoursPerDay: 10, DaysPerYear: 200, ServiceLife: 20000 * 3600, LifeBasis: c.basis}, liftMoves...)
		near(t, "required life", a.V(RequiredLife)/31557600, c.years, 1e-6)
	}
	if a := axisOf(vals{ServiceLife: 20000 * 3600, LifeBasis: WorkingTime}, liftMoves...); a.Known(RequiredLife) {
		t.Error("known without the hours a day")
	}
}
