package mechanics

import (
	"math"
	"testing"
)

// TestAssumed: what is declared is taken; else the value of the case, typed here
// from the table of what is assumed. The ranges are common practice, no source.
func TestAssumed(t *testing.T) {
	reference := 0.05 / math.Sqrt(16/(25*math.Pi)) * 1000 * 0.016 / (2 * math.Pi) // of JIS B 1192, see TestDragTorqueParts
	for _, x := range []struct {
		q                   *Quantity
		with                vals
		light, usual, heavy float64
	}{
		{Drag, nil, 0, 0, 50},
		{YieldStrength, nil, 300e6, 300e6, 300e6},
		{ReactionTime, nil, 0.2, 0.1, 0.2},
		{BrakeDelay, nil, 0.25, 0.15, 0.25},
		{BrakeSlip, nil, 0.5, 0.6, 0.5},
		{HousingStiffness, nil, 0.5e9, 1e9, 0.5e9},
		{CouplingTwist, vals{CouplingTorque: 10}, 500, 3000, 500},
		{CouplingTwist, vals{CouplingTorque: 10, CouplingTwistGiven: 2000}, 2000, 2000, 2000},
		{GearSpeed, nil, 314.1592653589793, 314.1592653589793, 314.1592653589793}, // 3000 rpm
		{GearSpeed, vals{GearSpeedGiven: 500}, 500, 500, 500},
		{GearPlay, vals{Ratio: 2}, math.Pi / 720, math.Pi / 2160, math.Pi / 720}, // 15, 5 and 15 arcmin
		{GearPlay, vals{Ratio: 1}, 0, 0, 0},
		{GearPlay, vals{Ratio: 1, GearInertiaGiven: 1e-4}, math.Pi / 720, math.Pi / 2160, math.Pi / 720},
		{Scatter, nil, 2e-6, 1e-6, 2e-6},
		{GearEfficiency, vals{Ratio: 2}, 1, 0.9, 0.7},
		{GearEfficiency, vals{Ratio: 1}, 1, 1, 1},
		{GearEfficiency, vals{Ratio: 1, GearInertiaGiven: 1e-4}, 1, 0.9, 0.7}, // there is a belt
		{GearEfficiency, vals{Ratio: 2, GearEfficiencyGiven: 0.95}, 0.95, 0.95, 0.95},
		{GearInertia, vals{Ratio: 2, RotorInertia: 2e-4}, 2e-4, 0.6e-4, 2e-4},
		{GearInertia, vals{Ratio: 1, RotorInertia: 2e-4}, 0, 0, 0},
		{MotorRatedSpeed, vals{MotorMaxSpeed: 600}, 300, 300, 300},
		{MotorTopTorque, vals{MotorMaxSpeed: 600, MotorRatedSpeedGiven: 200, MotorPeakTorque: 6}, 2, 2, 2}, // 6·200/600
		{MotorTopTorque, vals{MotorMaxSpeed: 600, MotorPeakTorque: 6, MotorTopTorqueGiven: 5}, 5, 5, 5},
		{ThreadFriction, nil, 0.002, 0.003, 0.005},
		{LoadFactor, vals{Shock: Smooth}, 1.2, 1.2, 1.2},
		{LoadFactor, vals{Shock: Ordinary}, 1.5, 1.5, 1.5},
		{LoadFactor, vals{Shock: Shocks}, 3, 2, 3},
		{NutDrag, vals{Preload: 1000, Lead: 16 * mm, NominalDiameter: 25 * mm, BallCircleGiven: 25 * mm}, 0.6 * reference, reference, 1.4 * reference},
		{NutDrag, vals{Preload: 1000, Lead: 16 * mm, NominalDiameter: 25 * mm, NutDragGiven: 0.3}, 0.3, 0.3, 0.3},
		{BallCircle, vals{NominalDiameter: 0.025}, 0.025, 0.025, 0.0265},
	} {
		for k, want := range map[float64]float64{Light: x.light, Usual: x.usual, Heavy: x.heavy} {
			c := axisOf(vals{Case: k}.with(x.with))
			near(t, x.q.Name, c.V(x.q), want, 1e-12)
		}
	}
	// The friction that gives a declared efficiency gives it back.
	c := axisOf(vals{Case: Usual, EfficiencyGiven: 0.92, Lead: 10 * mm, NominalDiameter: 25 * mm})
	near(t, "efficiency", DrivingEfficiency(c.V(LeadAngle), c.V(ThreadFriction)), 0.92, 1e-12)
}

// TestAssumedEnds: a range is given where nothing is declared and the value matters,
// and holds what is taken in every case.
func TestAssumedEnds(t *testing.T) {
	c := axisOf(vals{Ratio: 2, RotorInertia: 2e-4, MotorMaxSpeed: 600, MotorPeakTorque: 6, Shock: Shocks, NominalDiameter: 0.025, CouplingTorque: 10, Preload: 1000, Lead: 16 * mm})
	for _, a := range Assumptions() {
		low, high, ok := a.Ends(c)
		if !ok || !(low < high) {
			t.Errorf("%s: %g to %g, %v", a.Leaf.Name, low, high, ok)
		}
		for _, k := range []float64{Light, Usual, Heavy} {
			c.Set(Case, k)
			c.Run()
			if x := c.V(a.Taken); !(x >= low && x <= high) {
				t.Errorf("%s: %g is not within %g to %g", a.Leaf.Name, x, low, high)
			}
		}
		c.Set(a.Leaf, (low+high)/2)
		c.Run()
		if _, _, ok := a.Ends(c); ok {
			t.Errorf("%s is declared and yet assumed", a.Leaf.Name)
		}
		c.Set(a.Leaf, math.NaN())
	}
}
