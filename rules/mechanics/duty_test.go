package mechanics

import (
	"math"
	"testing"
)

// TestGreaseFactor: half for each 15 K above 70 °C, half again upright, nothing gained
// below (bearing handbooks; common practice, no source).
func TestGreaseFactor(t *testing.T) {
	for c, want := range map[float64]float64{20: 1, 70: 1, 85: 0.5, 100: 0.25, 115: 0.125} {
		within(t, "level", GreaseFactor(273.15+c, math.NaN(), false), want, 1e-12)
		within(t, "upright", GreaseFactor(273.15+c, 273.15+110, true), want/2, 1e-12)
	}
	near(t, "temperature not known", GreaseFactor(math.NaN(), math.NaN(), true), 0.5, 0)
	near(t, "a grease good to 150 °C at 115 °C", GreaseFactor(273.15+115, 273.15+150, false), 0.5, 1e-9)
	hot := vals{Orientation: Vertical, EnvironmentMax: 273.15 + 75, TemperatureRise: 10}
	near(t, "place and rise of an upright axis", axisOf(hot).V(GreasePart), 0.25, 1e-12)
	near(t, "at 30°", axisOf(vals{InclineGiven: math.Pi / 6}).V(GreasePart), 1, 0)
	near(t, "at 45°", axisOf(vals{InclineGiven: math.Pi / 4}).V(GreasePart), 0.5, 0)
}

// TestGreaseTurns: 14·10⁶/(1500·√25) − 4·25 = 1766.67 h at 1500 rpm on 25 mm (the
// formula of guides to drive elements with the factor 1 of thrust bearings; with 10, that
// of deep-groove ball bearings, they are 17,666.7 h): 159 million turns. So fast that
// nothing is left: 14·10⁶/√400 = 700,000 and 4·400·1000 rpm is more.
func TestGreaseTurns(t *testing.T) {
	near(t, "turns", GreaseTurns(25*mm, 1500*2*math.Pi/60)/1e6, 1766.6667*60*1500/1e6, 1e-4)
	near(t, "too fast", GreaseTurns(400*mm, 1000*2*math.Pi/60), 0, 0)
	c := axisOf(vals{Lead: 10 * mm, NominalDiameter: 25 * mm, HoursPerDay: 10, DaysPerYear: 200, RegreaseEvery: 15778800},
		aMove{dist: 1, speed: 0.25, up: 1e9, down: 1e9}, aMove{dist: -1, speed: 0.25, up: 1e9, down: 1e9})
	// 0.25 m/s on 10 mm are 1500 rpm; 8 s a cycle of 200 turns, 900,000 cycles a year, half a year.
	near(t, "of an axis", c.V(UsualTurns)/1e6, 159, 1e-3)
	near(t, "between two greasings", c.V(RegreaseTurns)/1e6, 90, 1e-3)
	near(t, "share", c.V(RegreaseShare), 90/159.0, 1e-5)
}

// TestShortestRocking: by hand, in turns of a lead of 5 mm.
func TestShortestRocking(t *testing.T) {
	for _, c := range []struct {
		s    []float64
		want float64
	}{
		{[]float64{400, -400}, 80},
		{[]float64{400, 0.4, -0.4, -400}, 0.08},
		{[]float64{400, 0.4, 0, -0.8, -399.6}, 0.16},
		{[]float64{-0.5, 100, -99.5, 0.5, -0.5}, 0.1}, // the end and its beginning go the same way
		{[]float64{1, 1, 1, -3}, 0.6},
		{[]float64{2, 3}, 0.6}, // it never turns round
		{[]float64{0.4, -20, 19.6}, 4},
	} {
		mv := make([]float64, len(c.s))
		for i, x := range c.s {
			mv[i] = x * mm
		}
		near(t, "turns", ShortestRocking(mv)/(5*mm), c.want, 1e-12)
	}
}

// TestCouplingAndBrakes: 1000 N on 10 mm at an efficiency of 0.8 take
// 1000·0.01/(2π·0.8) = 1.98944 N·m, of two screws 3.97887. A motor that gives 3 N·m
// through a ratio of 2 brings 6 N·m to the coupling. Efficiencies and brakes by hand.
func TestCouplingAndBrakes(t *testing.T) {
	leaves := vals{
		MovedMassGiven: 1e-15, Friction: 0, Orientation: Horizontal, Screws: 2, Unevenness: 1, MotorScrewsGiven: 2, Lead: 10 * mm, NominalDiameter: 20 * mm,
		EfficiencyGiven: 0.8, ThreadFrictionGiven: 0.003, Preload: 0, Turning: NutTurns, NutInertia: 0, Ratio: 2, MotorPeakTorque: 3, Case: Usual, CouplingTorque: 5,
	}
	c := axisOf(leaves, aMove{dist: 1, speed: 0.1, up: 1e3, down: 1e3, thrust: 2000})
	near(t, "in the cycle", c.V(CycleEndTorque), 3.97887, 1e-5)
	near(t, "to the second screw", c.V(CrossTorque), 1.98944, 1e-5)
	near(t, "from the motor", c.V(MotorEndTorque), 6, 0)
	near(t, "what the coupling bears", c.V(CouplingPeak), 5, 0)
	near(t, "declared", axisOf(leaves.with(vals{CouplingPeakGiven: 8})).V(CouplingPeak), 8, 0)
	near(t, "no brake on the screw", axisOf(leaves.with(vals{Standstill: 500}), aMove{dist: 1, speed: 0.1, up: 1e3, down: 1e3}).V(ScrewBrakeSafety), 0, 0)
	held := axisOf(leaves.with(vals{Standstill: 500, BrakeGiven: 2, MotorBrake: 9}), aMove{dist: 1, speed: 0.1, up: 1e3, down: 1e3})
	// tan φ = 10/(π·20); η_b = (1 − μ/tan φ)/(1 + μ·tan φ) = 0.980682; 250 N hold 0.390201 N·m on each screw.
	near(t, "brake on the screw", held.V(ScrewBrakeSafety), 2/(2*0.390201), 1e-4)
}

// TestAssumedSpeeds: a bore of 15 mm at 60,000 mm·rpm turns at 4000 rpm (common
// practice, no source).
func TestAssumedSpeeds(t *testing.T) {
	const rpm = 2 * math.Pi / 60
	c := axisOf(vals{Case: Heavy, DriveSupportBore: 15 * mm, NominalDiameter: 20 * mm})
	near(t, "bore", c.V(DriveSupportSpeed)/rpm, 4000, 1e-9)
	near(t, "no bore", c.V(FarSupportSpeed)/rpm, 3000, 1e-9)
	near(t, "coupling", c.V(CouplingSpeed)/rpm, 4000, 1e-9)
	near(t, "declared", axisOf(vals{Case: Heavy, FarSupportSpeedGiven: 500}).V(FarSupportSpeed), 500, 0)
}
