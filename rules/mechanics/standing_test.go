package mechanics

import (
	"math"
	"testing"
)

// TestSagByTables: a level steel shaft of 21 mm over 2300 mm sags by 4.94 mm hinged,
// 2.06 mm fixed and hinged, 0.99 mm clamped (beam tables; elementary).
func TestSagByTables(t *testing.T) {
	leaves := vals{Density: 7850, RootDiameter: 21 * mm, InclineGiven: 0, Span: 2.3, ElasticModulus: 206e9}
	for _, x := range []struct{ drive, far, sag float64 }{
		{SupportedEnd, SupportedEnd, 4.94}, {FixedEnd, SupportedEnd, 2.05}, {FixedEnd, FixedEnd, 0.99},
	} {
		c := axisOf(leaves.with(vals{DriveEnd: x.drive, FarEnd: x.far}))
		within(t, "sag", c.V(ShaftSag)/mm, x.sag, 6e-3)
	}
	// One end free: w·L⁴/8 is 9.6 times 5/384; its slope w·L³/6 four times that of
	// hinged ends. At 60° half of it.
	hinged := axisOf(leaves.with(vals{DriveEnd: SupportedEnd, FarEnd: SupportedEnd}))
	free := axisOf(leaves.with(vals{DriveEnd: FixedEnd, FarEnd: FreeEnd, InclineGiven: math.Pi / 3}))
	within(t, "sag of a free end", free.V(ShaftSag), hinged.V(ShaftSag)*9.6/2, 1e-9)
	within(t, "slope of a free end", free.V(ShaftSlope), hinged.V(ShaftSlope)*4/2, 1e-9)
	// w = 7850·π·0.021²/4·9.80665 = 26.664 N/m, I = 9546.6 mm⁴: 26.664·2.3³/(24·1966.6).
	within(t, "slope", hinged.V(ShaftSlope), 26.664*2.3*2.3*2.3/(24*1966.6), 1e-4)
	upright := axisOf(leaves.with(vals{DriveEnd: FixedEnd, FarEnd: FreeEnd, InclineGiven: math.Pi / 2}))
	near(t, "upright", upright.V(ShaftSag), 0, 0)
}

// TestSagAndCriticalSpeed: of two hinged ends n_1·√sag is 1065 rpm·√mm, whatever
// diameter, length and material: π²·√(5/384)·√9806.65·60/2π = 1065.003.
func TestSagAndCriticalSpeed(t *testing.T) {
	for _, v := range []vals{{RootDiameter: 16 * mm, Span: 1.2}, {RootDiameter: 50 * mm, Span: 4}, {RootDiameter: 8 * mm, Span: 0.3, Density: 2700, ElasticModulus: 70e9}} {
		c := axisOf(vals{Density: 7850, ElasticModulus: 206e9, InclineGiven: 0, DriveEnd: SupportedEnd, FarEnd: SupportedEnd}.with(v))
		within(t, "n_1·√sag", c.V(Critical)/rpm*math.Sqrt(c.V(ShaftSag)/mm), 1065.0031, 1e-6)
	}
}

// TestNutBearingByHand: (20/(1.5·1.2))³ = 1371.742 million turns; of 360 million a year
// 3.81040 years, of 5 required 0.762. 45 kN static over 1200 N: 37.5.
func TestNutBearingByHand(t *testing.T) {
	c := axisOf(vals{
		MovedMassGiven: 1e-15, Friction: 0, Orientation: Horizontal, Screws: 1, Lead: 10 * mm, LoadFactorGiven: 1.5,
		Reliability: 0.9, HoursPerDay: 10, DaysPerYear: 200, ServiceLife: 5 * 31557600, NutBearingDynamic: 20e3, NutBearingStatic: 45e3,
	}, aMove{dist: 1, speed: 1, up: 1e9, down: 1e9, thrust: 1200, dwell: 1})
	near(t, "life", c.V(NutBearingLife)/31557600, 1371.742/360, 1e-4)
	near(t, "ratio", c.V(NutBearingLifeRatio), 1371.742/360/5, 1e-4)
	near(t, "static", c.V(NutBearingStaticSafety), 37.5, 1e-4)
}
