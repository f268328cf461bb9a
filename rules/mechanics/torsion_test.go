package mechanics

import (
	"math"
	"testing"
)

// TestTwistOfABar: a bar of 1.5 in, 54 in long, with G = 11.5e6 psi is turned by
// 250 lbf·ft through 1.62° (Gere, Mechanics of Materials, Example 3-1; read in a public
// retyping). The wind-up of the same bar, taken back through its lead, turns as far.
func TestTwistOfABar(t *testing.T) {
	const psi, inch = 6894.757293168, 0.0254
	k := 11.5e6 * psi * math.Pi / 32 * math.Pow(1.5*inch, 4) / (54 * inch)
	torque, lead := 250*1.3558179483314, 0.02
	force := torque * 2 * math.Pi / lead
	twist := force / WindUp(k, lead) / lead * 360 // the nut's way in turns
	within(t, "twist in degrees", twist, 1.62, 3e-3)
}

// TestWindUpOfAScrew: a screw of 16 mm, lead 20 mm, 0.8 m free for pull and twist, E = 206
// and G = 80 GPa: 1/(L/(E·A) + (l/2π)²·L/(G·J_p)) is 28.52 N/µm; twist takes 45 % of the
// axial stiffness there and 5 % at lead 5 mm. Own computation, apart from the product:
//
//	A = 201.062 mm², J_p = 6433.98 mm⁴; E·A/L = 51.773 N/µm;
//	G·J_p/L = 643.398 N·m/rad, by (2π/0.02)² = 98696.04 63.501 N/µm
func TestWindUpOfAScrew(t *testing.T) {
	pull := math.Pi / 4 * 16e-3 * 16e-3 * 206e9 / 0.8
	twist := 80e9 * math.Pi / 32 * math.Pow(16e-3, 4) / 0.8
	within(t, "in series", InSeries(pull, WindUp(twist, 20e-3)), 28.520304e6, 1e-7)
	within(t, "part lost at lead 20 mm", 1-InSeries(pull, WindUp(twist, 20e-3))/pull, 0.45, 0.01)
	within(t, "part lost at lead 5 mm", 1-InSeries(pull, WindUp(twist, 5e-3))/pull, 0.05, 0.04)
}

// TestTwistOfAFastScrew: a screw 25 × 50 of 21 mm root on a chain of 42.3 N/µm. The
// twist of its shaft, 31.5 N/µm, leaves 18.0 N/µm, and a natural frequency of 189 Hz
// becomes 123 Hz: by hand.
func TestTwistOfAFastScrew(t *testing.T) {
	left := InSeries(42.3e6, 31.5e6)
	within(t, "stiffness", left, 18.0e6, 4e-3)
	within(t, "frequency", 189*math.Sqrt(left/42.3e6), 123, 4e-3)
	// Of one shaft: twist over pull is (G/E)·(d²/8)·(2π/P_h)².
	c := axisOf(vals{RootDiameter: 21 * mm, Lead: 50 * mm, ElasticModulus: 206e9, Span: 1.2, DriveEnd: FixedEnd, FarEnd: SupportedEnd, DriveAt: DriveAtStart})
	turn := 2 * math.Pi / 0.05
	within(t, "twist over pull", c.V(ShaftWindUp)/c.V(ShaftRigidity), 1/2.6*0.021*0.021/8*turn*turn, 1e-12)
}
