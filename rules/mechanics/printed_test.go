package mechanics

import (
	"math"
	"testing"
)

// TestStandstillForce: 2.5 kN held at rest toward positive travel push a shaft
// that stands on a bearing at the start and pull one that hangs from the end; of
// two screws the worse one, at 1.2 of its half, holds 1.5 kN. Nothing in the
// cycle pushes with more than 1.1 kN.
func TestStandstillForce(t *testing.T) {
	at := lift.with(vals{DriveEnd: FixedEnd, FarEnd: SupportedEnd, Standstill: 2500})
	for _, x := range []struct {
		driveAt, force, pushed float64
	}{
		{DriveAtBottom, 2500, 2500},
		{DriveAtBottom, -2500, 1100.665},
		{DriveAtTop, 2500, 0},
		{DriveAtTop, -2500, 2500},
		{math.NaN(), 2500, 2500},
		{math.NaN(), -2500, 2500},
	} {
		c := axisOf(at.with(vals{DriveAt: x.driveAt, Standstill: x.force}), liftMoves...)
		near(t, "pushed force", c.V(PushedForce), x.pushed, 1e-9)
		near(t, "peak force", c.V(PeakForce), 2500, 0)
		two := axisOf(at.with(vals{DriveAt: x.driveAt, Standstill: x.force, Screws: 2, Unevenness: 1.2}), liftMoves...)
		near(t, "pushed force of one of two", two.V(PushedForce), 0.6*x.pushed, 1e-9)
		near(t, "peak force of one of two", two.V(PeakForce), 1500, 1e-9)
	}
	lone := axisOf(at.with(vals{Screws: 2}), liftMoves...)
	if lone.Known(PeakForce) {
		t.Error("how two screws share the load is not known, and the peak force is")
	}
}

// TestRightAngles: nothing rubs on the guides of a lifting axis, and no weight
// acts along a level one.
func TestRightAngles(t *testing.T) {
	for _, up := range []vals{{Orientation: Vertical}, {Orientation: math.NaN(), InclineGiven: math.Pi / 2}} {
		c := axisOf(vals{MovedMassGiven: 1000, Friction: 0.2}.with(up), liftMoves...)
		near(t, "friction of a lifting axis", c.V(ReversalFriction), 0, 0)
		near(t, "what moves it", c.V(SelfMotion), 1000*Gravity, 0)
		near(t, "steady force, 30 N of thrust included", c.Series(PhaseForce)[1], 1000*Gravity+30, 0)
	}
	for _, turned := range []float64{0, math.Pi, 2 * math.Pi} {
		c := axisOf(vals{MovedMassGiven: 1000, Friction: 0, InclineGiven: turned}, liftMoves...)
		near(t, "weight of a level axis", c.V(WeightForce), 0, 0)
		near(t, "force at rest on a level axis", c.V(StandingForce), 0, 0)
	}
}

// TestUnequalFixedEnds: a nut between two fixed ends hangs on two springs side by
// side, each a bearing and the shaft up to the nut. Worked by hand for a shaft of
// 200 N/µm (5 nm/N):
//
//	100 and 100 N/µm: softest at mid span, 12.5·12.5/25 = 6.25 nm/N, 160 N/µm
//	100 and 80 N/µm:  10 + x = 12.5 + 5 − x, x = 3.75: 13.75/2 = 6.875 nm/N
//	20 and 1000 N/µm: 50 against 1 + 5; softest at the soft bearing itself,
//	                  50·6/56 = 5.357 nm/N, 186.7 N/µm; the vertex would say 14 nm/N
//	1000 and 20 N/µm: the same, turned round
func TestUnequalFixedEnds(t *testing.T) {
	const micro = 1e6 // N/µm
	area := 200 * micro / 206e9
	for _, x := range []struct{ drive, far, flex float64 }{
		{100, 100, 6.25}, {100, 80, 6.875}, {80, 100, 6.875}, {20, 1000, 50.0 * 6 / 56}, {1000, 20, 50.0 * 6 / 56},
	} {
		c := axisOf(vals{
			DriveEnd: FixedEnd, FarEnd: FixedEnd, Span: 1, ElasticModulus: 206e9, RootDiameter: 2 * math.Sqrt(area/math.Pi),
			DriveSupportStiffness: x.drive * micro, FarSupportStiffness: x.far * micro,
			NutStiffness: 1e30, DynamicRating: 1e4, Preload: 1e3,
		})
		within(t, "flexibility", 1e9/c.V(Rigidity), x.flex, 1e-9)
		within(t, "flexibility of shaft and bearings", 1e9/c.V(ShaftRigidity)+1e9/c.V(BearingRigidity), x.flex, 1e-9)
	}
}

// TestBearingPeakLoad: a bearing of a shaft stretched by 10 kN is loaded with it
// at rest already; 1.1 kN of the cycle come on top.
func TestBearingPeakLoad(t *testing.T) {
	c := axisOf(lift.with(vals{
		DriveEnd: FixedEnd, FarEnd: FixedEnd, Span: 1, RootDiameter: 20 * mm, ElasticModulus: 206e9, Expansion: 12e-6, TemperatureRise: 0,
		Stretch: 10e3 / (math.Pi * 1e-4 * 206e9), DriveSupportStatic: 20e3, FarSupportStatic: 20e3,
	}), liftMoves...)
	within(t, "peak load of the bearing", c.V(SupportPeak), 11100.665, 1e-9)
	within(t, "static safety", c.V(SupportStaticSafety), 20e3/11100.665, 1e-9)
	one := axisOf(lift.with(vals{DriveEnd: FixedEnd, FarEnd: SupportedEnd, DriveSupportStatic: 20e3}), liftMoves...)
	within(t, "peak load of the only fixed one", one.V(SupportPeak), 1100.665, 1e-9)
}
