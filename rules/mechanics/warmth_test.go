package mechanics

import (
	"math"
	"testing"
)

func init() {
	examples["FP01"] = func() float64 { return LostPower(0.0011*16e3*0.020, 1440*rpm) }
}

// TestHeatOfTheLiterature: 0.12·π·n·T in kJ/h with n in rpm and T in N·m is 2πnT:
// 1000 rpm and 1 N·m give 377 kJ/h or 104.7 W (form and units read in a paper on
// thermal errors, 10.3390/machines11030408; the coefficient from memory).
func TestHeatOfTheLiterature(t *testing.T) {
	p := LostPower(1, 1000*rpm)
	near(t, "power", p, 104.7, 0.05)
	near(t, "in kJ/h", p*3.6, 0.12*math.Pi*1000, 0.2)
}

// TestFrictionHeatByHand: 1 m at 1 m/s without ramps, 1000 N against it, lead 10 mm,
// η 0.9, back again with 1000 N that helps, drag torque 0.1 N·m. Out: 1000·1·(1/0.9 −
// 1) = 111.111 J; back: 1000·1·(1 − η′), η′ of 0.003 at 25 mm 0.976065, 23.935 J; drag
// 2·0.1·2π·100 = 125.664 J of the supports. 135.046 J in 2 s and a rest of 1 s: 45.015 W in
// the nut, 86.903 W with the supports. From 25 mm × 1.2 m, 0.0942478 m²: half of the nut's at
// 60 W/(m²·K) 3.9803 K, all at 5 184.41 K; at 12 19.902 and 76.84 K.
func TestFrictionHeatByHand(t *testing.T) {
	leaves := vals{
		MovedMassGiven: 1e-12, Friction: 0, Orientation: Horizontal, Screws: 1, Lead: 10 * mm, NominalDiameter: 25 * mm, ShaftLength: 1.2,
		ThreadFrictionGiven: 0.003, EfficiencyGiven: 0.9, Backlash: 0, DriveSupportDrag: 0.1,
	}
	moves := []aMove{{dist: 1, speed: 1, up: 1e9, down: 1e9, thrust: 1000}, {dist: -1, speed: 1, up: 1e9, down: 1e9, thrust: -1000, dwell: 1}}
	c := axisOf(leaves, moves...)
	near(t, "heat", c.V(FrictionHeat), 86.903, 2e-3)
	near(t, "heat of the nut", c.V(NutHeat), 45.015, 2e-3)
	near(t, "least rise", c.V(LeastRise), 3.9803, 1e-3)
	near(t, "greatest rise", c.V(MostRise), 184.41, 1e-2)
	c = axisOf(leaves.with(vals{EnvironmentCooling: 12}), moves...)
	near(t, "least rise", c.V(LeastRise), 19.902, 1e-2)
	near(t, "greatest rise", c.V(MostRise), 76.84, 1e-2)
	// Without a declared efficiency that of the thread counts, not 0.9.
	c = axisOf(leaves.with(vals{EfficiencyGiven: math.NaN()}), moves...)
	near(t, "heat of the thread itself", c.V(FrictionHeat), (1000*(1/DrivingEfficiency(c.V(LeadAngle), 0.003)-1)+23.935+125.664)/3, 2e-3)
}

// TestHotPlace: 150 °C and 20 K make 170 °C, 130 K more than 20 °C, 110 more than the
// rise; the factor of temperature at 125, 150, 175, 200 and 250 °C is 1, 1, 0.95, 0.90
// and 0.75 (read; common practice, no source).
func TestHotPlace(t *testing.T) {
	c := axisOf(vals{EnvironmentMax: 423.15, TemperatureRise: 20, StabilisedTo: 473.15})
	near(t, "nut", c.V(NutTemperature), 443.15, 1e-9)
	near(t, "environment", c.V(EnvironmentOverRise), 110, 1e-9)
	for celsius, want := range map[float64]float64{20: 1, 125: 1, 150: 1, 175: 0.95, 200: 0.9, 250: 0.75, 162.5: 0.975, 225: 0.825} {
		near(t, "factor", axisOf(vals{EnvironmentMax: celsius + 273.15, StabilisedTo: 600}).V(HeatFactor), want, 1e-9)
	}
	for what, v := range map[string]vals{
		"not stabilised":        {EnvironmentMax: 273.15 + 121},
		"stabilised too low":    {EnvironmentMax: 273.15 + 140, StabilisedTo: 273.15 + 130},
		"too hot for any":       {EnvironmentMax: 273.15 + 251, StabilisedTo: 600},
		"its own rise too much": {EnvironmentMax: 273.15 + 110, TemperatureRise: 20},
	} {
		if f, ok := axisOf(v).Value(HeatFactor); ok {
			t.Errorf("%s: factor %g", what, f)
		}
	}
	near(t, "rating, place not declared", axisOf(vals{DynamicRating: 20e3, Hardness: 60, GradeFactorGiven: 1}).V(ModifiedRating), 20e3, 1e-6)
	near(t, "colder than its machine", axisOf(vals{EnvironmentMax: 300, TemperatureRise: -5}).V(NutTemperature), 300, 0)
	c = axisOf(vals{EnvironmentMax: 448.15, StabilisedTo: 600, DynamicRating: 20e3, Hardness: 60, GradeFactorGiven: 1})
	near(t, "rating at 175 °C", c.V(ModifiedRating), 19e3, 1e-6)
}
