package mechanics

import (
	"math"
	"testing"
)

// level is a horizontal axis of 30 kg without friction on a screw of lead 10 mm;
// 1.2e-4 kg·m² turn with the screw, 1.3e-4 with the rotor of a motor of 7.2 N·m.
// η′ = 0.976065 (see TestHolding).
var level = vals{
	MovedMassGiven: 30, Friction: 0, Orientation: Horizontal, Lead: 10 * mm, NominalDiameter: 25 * mm, RootDiameter: 20 * mm,
	ThreadFrictionGiven: 0.003, Backlash: 0, Turning: NutTurns, NutInertia: 1.2e-4, Screws: 1,
	Ratio: 1, RotorInertia: 1.3e-4, MotorPeakTorque: 7.2,
}

// TestStopByMotor: 50 m/s² of the level axis from 1 m/s, noticed after 0.1 s.
//
//	carriage 30·50 = 1500 N, ·0.01/2π·0.976065 = 2.330184 N·m
//	screw 1.2e-4·50·2π/0.01 = 3.769911 N·m, rotor 4.084070 N·m
//	together 10.184165 N·m, 0.2036833 for 1 m/s²
//	7.2 N·m reach 7.2/0.2036833 = 35.349 m/s²
//	run-on 0.1 + 1/(2·35.349) = 0.1141447 m
//
// The coupling carries carriage and screw: 6.100095 N·m.
func TestStopByMotor(t *testing.T) {
	axis := level.with(vals{EmergencyDecel: 50, ReactionTimeGiven: 0.1})
	move := aMove{dist: 1, speed: 1, up: 1, down: 1}
	c := axisOf(axis, move)
	near(t, "stopped by the motor", c.V(StopMeans), StopByMotor, 0)
	near(t, "torque needed", c.V(StopTorque), 10.184165, 2e-6)
	near(t, "torque that is there", c.V(StopAvailable), 7.2, 0)
	near(t, "deceleration reached", c.V(StopReached), 35.349, 1e-3)
	near(t, "no fall", c.V(StopFall), 0, 0)
	near(t, "run-on", c.V(RunOn), 0.1141447, 1e-6)
	near(t, "torque on the screw", c.V(StopScrewTorque), 6.100095, 2e-6)
	near(t, "greatest torque on the screw", c.V(PeakScrewTorque), 6.100095, 2e-6)
	near(t, "force", c.V(EmergencyForce), 1500, 1e-9)
	// A gentle stop keeps to what is declared; a torque limit is a weaker motor.
	gentle := axisOf(axis.with(vals{EmergencyDecel: 10}), move)
	near(t, "run-on of a gentle stop", gentle.V(RunOn), 0.1+1.0/20, 1e-12)
	limited := axisOf(axis.with(vals{TorqueLimit: 3.6}), move)
	near(t, "half the torque", limited.V(StopReached), 35.349/2, 1e-3)
	// Half of the torque is left at the top speed of 628.3185 rad/s.
	weak := axisOf(axis.with(vals{MotorRatedSpeedGiven: 200 * math.Pi / 2, MotorTopTorqueGiven: 3.6, MotorMaxSpeed: 200 * math.Pi}), move)
	near(t, "torque at top speed", weak.V(StopAvailable), 3.6, 1e-9)
}

// TestStopByBrake: the level axis set upright goes down at 0.1 m/s; a motor brake
// of 2.5 N·m, of which 1.5 N·m are left while it slips, bites after 0.15 s.
//
//	weight 294.1995 N, ·0.01/2π·0.976065 = 0.457025 N·m
//	falls at 0.457025/0.2036833 = 2.243802 m/s², to 0.4365703 m/s over 0.0402428 m
//	the brake reaches (1.5 − 0.457025)/0.2036833 = 5.120572 m/s²
//	run-on 0.0402428 + 0.4365703²/(2·5.120572) = 0.0588534 m
//
// Going up weight helps the brake: at its full 2.5 N·m it stops the axis with
// (2.5 + 0.457025)/0.2036833 = 14.517759 m/s², 435.5328 − 294.1995 N on the screw.
func TestStopByBrake(t *testing.T) {
	axis := level.with(vals{Orientation: Vertical, EmergencyDecel: 6, StopBy: StopByBrake, MotorBrake: 2.5, BrakeSlipGiven: 0.6, BrakeDelayGiven: 0.15})
	move := aMove{dist: -1, speed: 0.1, up: 1, down: 1}
	c := axisOf(axis, move)
	near(t, "torque of the brake", c.V(StopAvailable), 1.5, 0)
	near(t, "delay", c.V(StopDelay), 0.15, 0)
	near(t, "fall", c.V(StopFall), 2.243802, 1e-5)
	near(t, "deceleration reached", c.V(StopReached), 5.120572, 1e-5)
	near(t, "run-on", c.V(RunOn), 0.0588534, 1e-6)
	near(t, "hardest stop", c.V(HardestStop), 14.517759, 1e-5)
	near(t, "force of a stop going down", c.V(EmergencyForce), 30*14.517759+294.1995, 1e-3)
	// Nothing says what stops the axis, and it has a brake: not known how.
	if silent := axisOf(axis.with(vals{StopBy: math.NaN()}), move); silent.Known(StopReached) || silent.Known(RunOn) {
		t.Error("what stops the axis is not said, and yet it is known how")
	}
	// Too weak a brake never stops it.
	weak := axisOf(axis.with(vals{MotorBrake: 0.7}), move)
	if !math.IsInf(weak.V(RunOn), 1) {
		t.Errorf("a brake that slips stops the axis within %g m", weak.V(RunOn))
	}
	// By the motor it does not fall.
	motor := axisOf(axis.with(vals{StopBy: StopByMotor}), move)
	near(t, "no fall under the motor", motor.V(StopFall), 0, 0)
	near(t, "the motor's ramp", motor.V(HardestStop), 6, 0)
	// A brake on the screw stops the rotor through the coupling: 0.7 N·m through a
	// ratio of 2 are 0.35 N·m at the motor.
	near(t, "brake on the screw", axisOf(axis.with(vals{BrakeGiven: 0.7, MotorBrake: 0.1, Ratio: 2}), move).V(BrakeTorque), 0.45, 1e-12)
}

// TestForceAtRest: a level press of 20 kg on guides of 0.1 holds 5000 N for 2 s
// after its move: 5000·0.01/2π = 7.957747 N·m at the motor, and 5000 − 19.6133 N
// that want to move it. Where nothing says whether thrust goes on at rest, the
// torque counts it; what wants to move the axis is not known.
func TestForceAtRest(t *testing.T) {
	axis := level.with(vals{MovedMassGiven: 20, Friction: 0.1})
	press := aMove{dist: 0.1, speed: 0.1, up: 1, down: 1, thrust: 300, dwell: 2, hold: 5000}
	back := aMove{dist: -0.1, speed: 0.1, up: 1, down: 1, dwell: 3}
	c := axisOf(axis, press, back)
	near(t, "force at rest", c.Series(PhaseForce)[Rest], 5000, 1e-9)
	near(t, "torque at rest", c.V(StandingTorque), 7.957747, 1e-6)
	near(t, "torque that lasts", c.V(LastingTorque), 7.957747, 1e-6)
	brief := press
	brief.dwell = 0.9
	near(t, "a rest below a second", axisOf(axis, brief, back).V(LastingTorque), 0, 1e-12)
	near(t, "standing force", c.V(StandingForce), 5000, 1e-9)
	near(t, "self motion", c.V(SelfMotion), 4980.3867, 1e-9)
	near(t, "peak force", c.V(PeakForce), 5000, 1e-9)
	near(t, "held at standstill", axisOf(axis.with(vals{Standstill: -6000}), press, back).V(StandingTorque), 6000*0.01/(2*math.Pi), 1e-9)
	silent := axisOf(axis.with(vals{MoveHold: math.NaN()}), press, back)
	near(t, "thrust goes on", silent.V(StandingTorque), 300*0.01/(2*math.Pi), 1e-9)
	if silent.Known(StandingForce) || silent.Known(SelfMotion) {
		t.Error("it is not said whether the thrust goes on at rest, and yet what stands is known")
	}
}

// TestCounterweight: 50 kg hang on a rope that moves a counterweight twice as
// far. 300 N at the carriage come from 300/2/9.80665 = 15.29574 kg, which feel
// like four times as much: 61.18297 kg. Gaining 2 m/s² upward takes
// 111.18297·2 + 490.3325 − 300 = 412.69844 N; the weight gains 4 m/s².
// Without it 490.3325 N hang on the screw, 0.780388 N·m.
func TestCounterweight(t *testing.T) {
	axis := level.with(vals{MovedMassGiven: 50, Orientation: Vertical, Counterbalance: 300, BalanceKind: BalanceWeight, RopeRatio: 2})
	move := aMove{dist: 1, speed: 1, up: 2, down: 2}
	c := axisOf(axis, move)
	near(t, "mass felt", c.V(BalanceMass), 61.18297, 1e-5)
	near(t, "force", c.Series(PhaseForce)[RampUp], 412.69844, 1e-5)
	near(t, "acceleration of the weight", c.V(RopeAcceleration), 4, 1e-12)
	near(t, "loss", c.V(LostBalance), 490.3325, 1e-9)
	near(t, "torque of a loss", c.V(LostTorque), 0.780388, 1e-6)
	near(t, "standing force", c.V(StandingForce), 490.3325, 1e-9)
	near(t, "peak force", c.V(PeakForce), 490.3325, 1e-9)
	near(t, "inertia", c.V(LoadInertia), 1.2e-4+111.18297*math.Pow(0.01/(2*math.Pi), 2), 1e-10)
	near(t, "a spring moves no mass", axisOf(axis.with(vals{BalanceKind: aSpring}), move).Series(PhaseForce)[RampUp], 290.3325, 1e-9)
	near(t, "loss excluded", axisOf(axis.with(vals{BalanceKept: 1}), move).V(StandingForce), 190.3325, 1e-9)
	if axisOf(axis.with(vals{BalanceKind: math.NaN()}), move).Known(WorkingForce) {
		t.Error("the kind of counterbalance is not said, and yet the forces are known")
	}
}

// TestAgainstAnEnd: 7.2 N·m at an efficiency of 0.9 and a lead of 10 mm push with
// 2π·0.9·7.2/0.01 = 4071.504 N, limited to 2 N·m with 1130.973 N. From 20 mm/s, at
// which the screw turns at 12.56637 rad/s, 2.5e-4 kg·m² wind up 50 N/µm:
// 50e6·2.5e-4·157.9137 = 1.973921e6 N², 1130.973 + √(1.279100e6 + 1.973921e6) =
// 2934.59 N.
func TestAgainstAnEnd(t *testing.T) {
	move := aMove{dist: 1, speed: 1, up: 1, down: 1}
	level := level.with(vals{EfficiencyGiven: 0.9})
	c := axisOf(level, move)
	near(t, "push", c.V(EndForce), 4071.504, 1e-3)
	limited := axisOf(level.with(vals{TorqueLimit: 2}), move)
	near(t, "limited push", limited.V(EndForce), 1130.973, 1e-3)
	near(t, "inertia", limited.V(RunInertia), 2.5e-4, 1e-15)
	near(t, "impact", ImpactForce(1130.973, 2.5e-4, 12.56637, 50e6), 2934.59, 0.01)
	// At its greatest the spring has taken up energy and work.
	f, k, e := 1130.973, 50e6, 2.5e-4*12.56637*12.56637/2
	x := ImpactForce(f, 2.5e-4, 12.56637, k) / k
	within(t, "energy of the spring", k*x*x/2, e+f*x, 1e-9)
	// As slow as can be, a push that does not yield counts twice.
	near(t, "a push let go", ImpactForce(f, 2.5e-4, 0, k), 2*f, 1e-9)
	// Two screws on the motor, one with 1.2 of its half; gear 2:1 of 0.95.
	two := axisOf(level.with(vals{Screws: 2, MotorScrewsGiven: 2, Unevenness: 1.2, Ratio: 2, GearEfficiencyGiven: 0.95}), move)
	near(t, "push of one of two", two.V(StallForce), 4071.504*2*0.95*0.6, 1e-2)
	near(t, "stress", limited.V(EndStress), CombinedStress(1130.973, 2, 20*mm), 10)
	// A declared end speed asks for the stiffness.
	if axisOf(level.with(vals{EndSpeed: 0.02}), move).Known(EndForce) {
		t.Error("the stiffness is not known, and yet the impact is")
	}
}

// TestBackFromDriving: a declared efficiency and the friction that makes it give
// the same when the load drives. A thread of tan φ = 0.1 with a friction of 0.05
// has (1 − 0.005)/(1 + 0.5) = 0.663333 one way and (1 − 0.5)/(1 + 0.005) = 0.497512
// the other. At small lead angles it is the usual 2 − 1/η.
func TestBackFromDriving(t *testing.T) {
	of := func(tan float64, more vals) float64 {
		return axisOf(vals{Case: Usual, NominalDiameter: 1 / math.Pi, Lead: tan}.with(more)).V(BackEfficiency)
	}
	near(t, "by hand", of(0.1, vals{EfficiencyGiven: 0.995 / 1.5}), 0.5/1.005, 1e-12)
	near(t, "small lead angle", of(1e-6, vals{EfficiencyGiven: 0.8}), 0.75, 1e-9)
	for _, mu := range []float64{0.001, 0.003, 0.01, 0.05, 0.2} {
		for _, tan := range []float64{0.02, 0.1, 0.3, 1, 2} {
			eta := DrivingEfficiency(math.Atan(tan), mu)
			near(t, "back-driving", of(tan, vals{EfficiencyGiven: eta}), of(tan, vals{ThreadFrictionGiven: mu}), 1e-12)
		}
	}
}
