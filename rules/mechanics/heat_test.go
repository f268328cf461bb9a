package mechanics

import (
	"math"
	"testing"
)

const (
	inch = 0.0254
	psi  = 6894.757293168
	lbf  = 4.4482216152605
	degF = 5.0 / 9
)

func init() {
	for id, f := range map[string]example{
		"TH01a": func() float64 { return HeldBarForce(29e6*psi, 1, 6.6e-6*60, 0) / (1e3 * psi) },
		"TH01b": func() float64 { return HeldBarForce(29e6*psi, 0.25*inch*inch, 6.6e-6*60, 0) / (1e3 * lbf) },
		"TH03a": func() float64 { return HeldBarForce(2e11, math.Pi*0.03*0.03/4, 12e-6*65, 0) },
		"TH03b": func() float64 { return HeldBarForce(2e11, math.Pi*0.03*0.03/4, 12e-6*65, 1.2e-3/5) },
		"TH07a": func() float64 { // a gap is closed by the rise that a stretch of the same size takes up
			return axisOf(vals{Stretch: 0.01 * inch, Span: 60 * inch, Expansion: 11.2e-6 / degF}).V(StretchTemperature) / degF
		},
		"TH07b": func() float64 { return HeldBarForce(15e6*psi, 1, 11.2e-6*50, 0.01/60) / psi },
		"TB01": func() float64 {
			// 4 in × 2 in: the least radius of gyration is 2 in/√12, that of a
			// round column of 4 times it.
			d := 4 * 2 * inch / math.Sqrt(12)
			load := BucklingLoad(1, 72*inch, d, 30e6*psi, 1e15)
			return solve(func(t float64) float64 { return HeldBarForce(30e6*psi, math.Pi*d*d/4, 6.7e-6*t, 0) }, load, 0, 1e3)
		},
		"CS05": func() float64 { // γ of 76.5 kN/m³
			return CriticalSpeed(Lambda(SupportedEnd, SupportedEnd), 0.6, 25*mm, 207e9, 76.5e3/Gravity)
		},
	} {
		examples[id] = f
	}
}

// held is a shaft of 25 mm nominal and 21.62 mm root diameter between two fixed
// ends 2070 mm apart.
var held = vals{
	MovedMassGiven: 20, Friction: 0.01, Orientation: Horizontal, Screws: 1, Stroke: 1.5,
	DriveEnd: FixedEnd, FarEnd: FixedEnd, DriveAt: DriveAtStart, Span: 2.07, RootDiameter: 21.62 * mm, NominalDiameter: 25 * mm, Lead: 10 * mm,
	ElasticModulus: 206e9, Density: 7850, Expansion: 11.5e-6, YieldStrengthGiven: 300e6, TemperatureRise: 20, Stretch: 0,
}

// TestHeatBetweenFixedEndsByHand: A = π·21.62²/4 = 367.116 mm². 20 K push with
// 206000·367.116·11.5e-6·20 = 17 393.9 N. I = π·21.62⁴/64 = 10 725.0 mm⁴; 4·π²·206000·
// 10725.0/2070² = 20 355.6 N (slenderness 383, far above Johnson's 233). The moving
// carriage adds 20·(1 + 0.0980665) = 21.96 N: 20 355.6/17 415.9 = 1.1688. The
// square of the critical speed falls to 1 − 17 393.9/20 355.6 = 0.14550.
func TestHeatBetweenFixedEndsByHand(t *testing.T) {
	move := aMove{dist: 1, speed: 0.5, up: 1, down: 1}
	c := axisOf(held, move)
	near(t, "push", c.V(ThermalPush), 17393.9, 0.5)
	near(t, "force", c.V(ThermalForce), 17393.9, 0.5)
	near(t, "held", c.V(HeldForce), 17393.9, 0.5)
	near(t, "buckling load of the span", c.V(SpanBuckling), 20355.6, 1)
	near(t, "whole push", c.V(WholePush), 17415.9, 0.5)
	near(t, "safety", c.V(BucklingSafety), 1.1688, 2e-4)
	near(t, "stress", c.V(AxialStress)/1e6, 17415.9/367.116, 2e-3)
	cold := axisOf(held.with(vals{TemperatureRise: 0}), move)
	near(t, "cold safety", cold.V(BucklingSafety), 20355.6/21.961, 0.2)
	within(t, "share of the critical speed", c.V(Critical)/cold.V(Critical), math.Sqrt(0.14550), 2e-4)
	// A loaded length of half the span helps against the moving force alone.
	half := axisOf(held.with(vals{LoadedLengthGiven: 1.035}), move)
	near(t, "safety, the nut in the middle", half.V(BucklingSafety), 1.1688, 2e-4)
	// Ends that hold less than the nut does are the worse still.
	weak := axisOf(held.with(vals{BucklingEnds: SupportedSupported}), move)
	near(t, "safety, hinged", weak.V(BucklingSafety), 1.1688/4, 1e-4)
	// Above the buckling load no speed is left.
	hot := axisOf(held.with(vals{TemperatureRise: 24}), move)
	near(t, "critical speed of a buckled shaft", hot.V(Critical), 0, 0)
	// One free end: nothing is held.
	free := axisOf(held.with(vals{FarEnd: SupportedEnd, TemperatureRise: math.NaN()}), move)
	near(t, "push against a free end", free.V(ThermalPush), 0, 0)
	near(t, "held by a free end", free.V(HeldForce), 0, 0)
	// Not said how warm it gets: not known.
	for _, q := range qs(ThermalPush, HeldForce, BucklingSafety, Critical, AxialStress, SupportLoad) {
		if axisOf(held.with(vals{TemperatureRise: math.NaN()}), move).Known(q) {
			t.Errorf("%s is given without a temperature rise", q.Name)
		}
	}
}

// TestStretchByHand: stretched by 60 µm the same shaft is pulled with
// 206000·367.116·0.06/2070 = 2192.06 N and takes up 0.06/(11.5e-6·2070) = 2.52048 K.
// At 4 K it is pushed with 206000·367.116·11.5e-6·(4 − 2.52048) = 1286.71 N; at 1 K the
// pull as mounted is the greatest. Over a stroke of 1500 mm: growth at 1 K 17.25 µm,
// stretch 43.478 µm: the travel is 26.228 µm too long.
func TestStretchByHand(t *testing.T) {
	move := aMove{dist: 1, speed: 0.5, up: 1, down: 1}
	c := axisOf(held.with(vals{Stretch: 60e-6, TemperatureRise: 4}), move)
	near(t, "taken up", c.V(StretchTemperature), 2.52048, 1e-4)
	near(t, "pull as mounted", c.V(StretchForce), 2192.06, 0.1)
	near(t, "push", c.V(ThermalPush), 1286.71, 0.2)
	near(t, "held", c.V(HeldForce), 2192.06, 0.1)
	c = axisOf(held.with(vals{Stretch: 60e-6, TemperatureRise: 1}), move)
	near(t, "push below the stretch", c.V(ThermalPush), 0, 0)
	near(t, "force below the stretch", c.V(ThermalForce), -1322.35, 0.2)
	near(t, "held below the stretch", c.V(HeldForce), 2192.06, 0.1)
	near(t, "lead error", c.V(ThermalGrowth)*1e6, 26.228, 1e-3)
	// Cooling adds to the stretch: 206000·367.116·11.5e-6·2 more.
	c = axisOf(held.with(vals{Stretch: 60e-6, TemperatureRise: -2}), move)
	near(t, "held when cold", c.V(HeldForce), 2192.06+1739.39, 0.2)
	near(t, "push when cold", c.V(ThermalPush), 0, 0)
}

// TestStretchOfTheTrade: 5 K on 1 m are 57.5 µm and pull a root of 17.2 mm with
// 2752 N; 3 K 1651 N; 5 K a root of 45 mm with 18.8 kN (the habit of 3 to 5 K is
// common practice, no source; the forces are elementary).
func TestStretchOfTheTrade(t *testing.T) {
	for _, x := range []struct{ kelvin, root, force, digits float64 }{{5, 17.2, 2752, 0.5}, {3, 17.2, 1651, 0.5}, {5, 45, 18.8e3, 50}} {
		c := axisOf(vals{Stretch: x.kelvin * 11.5e-6, Span: 1, Expansion: 11.5e-6, RootDiameter: x.root * mm, ElasticModulus: 206e9})
		near(t, "force", c.V(StretchForce), x.force, x.digits)
		near(t, "rise", c.V(StretchTemperature), x.kelvin, 1e-9)
	}
}

// TestPushOnlyHarms: no rise ever raises the critical speed or the safety against
// buckling of a shaft between two fixed ends.
func TestPushOnlyHarms(t *testing.T) {
	move := aMove{dist: 1, speed: 0.5, up: 1, down: 1}
	speed, safety := math.Inf(1), math.Inf(1)
	for rise := -10.0; rise <= 40; rise += 0.5 {
		c := axisOf(held.with(vals{TemperatureRise: rise, Stretch: 30e-6}), move)
		if c.V(Critical) > speed || c.V(BucklingSafety) > safety {
			t.Errorf("%g K: critical speed %g after %g, safety %g after %g", rise, c.V(Critical), speed, c.V(BucklingSafety), safety)
		}
		speed, safety = c.V(Critical), c.V(BucklingSafety)
	}
}
