package mechanics

import (
	"math"
	"testing"
)

func close3(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s is %.6g, want %.6g within %g", what, got, want, rel)
	}
}

// ISO 281, table of fc for thrust ball bearings with a contact angle of 45°,
// values from memory: they hold for groove radii of 0.535 ball diameters and the
// constant 98.1·0.9. The shape of our fc is theirs.
func TestRaceFactorOfBearings(t *testing.T) {
	for gamma, want := range map[float64]float64{0.01: 42.1, 0.02: 51.7, 0.05: 67.3, 0.10: 79.7, 0.12: 82.3} {
		close3(t, "fc", 98.1*0.9*raceFactor(math.Pi/4, 0.535, gamma), want, 0.003)
	}
}

// ISO 76, table of f0 for thrust ball bearings, value for a vanishing ball,
// from memory: C0a = 61.6·Z·Dw² (N and mm), groove radius 0.54 ball diameters.
// It is the load of one ball at 4200 MPa.
func TestRestLoadOfBearings(t *testing.T) {
	close3(t, "f0", restLoad(1e-3, 0.54, 0), 61.6, 0.02)
}

// The ellipse of Hertz without approximation, with elliptic integrals by the
// arithmetic-geometric mean, as a second way to the load of a ball.
func TestRestLoadExact(t *testing.T) {
	for _, f := range []float64{0.52, 0.53, 0.54, 0.56} {
		for _, gamma := range []float64{0, 0.05, 0.15, 0.25} {
			const ball = 3.175e-3
			close3(t, "the load of a ball", restLoad(ball, f, gamma), exactRestLoad(ball, f, gamma), 0.05)
		}
	}
}

func exactRestLoad(ball, f, gamma float64) float64 {
	integrals := func(k float64) (first, second float64) { // complete, of the axes' ratio k > 1
		a, b, sum, pow := 1.0, 1/k, 0.0, 0.5
		c := math.Sqrt(1 - b*b)
		for range 40 {
			sum += pow * c * c
			a, b, c = (a+b)/2, math.Sqrt(a*b), (a-b)/2
			pow *= 2
		}
		first = math.Pi / (2 * a)
		return first, first * (1 - sum)
	}
	x, y := 2/ball/(1-gamma), (2-1/f)/ball // curvatures
	want := (x - y) / (x + y)
	low, high := 1.0001, 100.0
	for range 200 { // F(ρ) = ((κ²+1)·E − 2·F)/((κ²−1)·E)
		k := (low + high) / 2
		first, second := integrals(k)
		if ((k*k+1)*second-2*first)/((k*k-1)*second) < want {
			low = k
		} else {
			high = k
		}
	}
	_, second := integrals(low)
	e := ballSteel / (1 - poisson*poisson)
	return math.Pow(restStress, 3) * 32 * math.Pi * low * second * second / ((x + y) * (x + y)) / (3 * e * e)
}

// Laws the estimates must follow whatever their factors are.
func TestRatingLaws(t *testing.T) {
	const ball, circle, lead, turns = 3.175e-3, 16.75e-3, 5e-3, 3.0
	static, dynamic := EstimateStatic(ball, circle, lead, turns), EstimateDynamic(ball, circle, lead, turns)
	// A screw twice as large in all its lengths holds four times the load at
	// rest, and 2^1.8 in motion: there are as many balls.
	close3(t, "static rating doubled in size", EstimateStatic(2*ball, 2*circle, 2*lead, turns), 4*static, 1e-12)
	close3(t, "dynamic rating doubled in size", EstimateDynamic(2*ball, 2*circle, 2*lead, turns), math.Pow(2, 1.8)*dynamic, 1e-12)
	close3(t, "static rating of twice the turns", EstimateStatic(ball, circle, lead, 2*turns), 2*static, 1e-12)
	close3(t, "dynamic rating of twice the turns", EstimateDynamic(ball, circle, lead, 2*turns), math.Pow(2, 0.86)*dynamic, 1e-12)
	// At rest the lead only moves balls along: z1·cos φ is the same.
	close3(t, "static rating of another lead", EstimateStatic(ball, circle, 4*lead, turns), static, 1e-12)
	if EstimateDynamic(ball, circle, 4*lead, turns) >= dynamic {
		t.Error("a steeper screw has the higher dynamic rating")
	}
	for x := 1.0; x < 2; x += 0.1 {
		for name, rating := range map[string]func(ball, circle, lead, turns float64) float64{"static": EstimateStatic, "dynamic": EstimateDynamic} {
			base := rating(ball*x, circle*2, lead, turns)
			if rating(ball*(x+0.1), circle*2, lead, turns) <= base {
				t.Errorf("%s rating falls with larger balls at %g", name, x)
			}
			if rating(ball*x, circle*2.1, lead, turns) <= base {
				t.Errorf("%s rating falls with a larger circle at %g", name, x)
			}
		}
	}
}

func TestTurnDistance(t *testing.T) {
	// A flat screw: the distance is the lead over the starts. At 45°, where the
	// lead is the circumference, it is that times cos 45°.
	close3(t, "distance", TurnDistance(1e-3, 1, 2), 0.5e-3, 1e-6)
	close3(t, "distance", TurnDistance(math.Pi*20e-3, 20e-3, 1), math.Pi*20e-3*math.Sqrt2/2, 1e-12)
}

// TestRatingsOfAScrew works both estimates out along another way, for five
// invented screws: the balls of a turn are counted along its helix in small
// steps, the load of a ball comes from Hertz's ellipse solved with elliptic
// integrals, its lines of force are vectors, and fc is read from the table of
// ISO 281 for thrust ball bearings of 45° (from memory) instead of its formula.
func TestRatingsOfAScrew(t *testing.T) {
	fc := func(gamma float64) float64 { // straight between the table's rows in their logarithms, 0.7 % low at most
		table := [][2]float64{{0.01, 42.1}, {0.02, 51.7}, {0.05, 67.3}, {0.10, 79.7}, {0.12, 82.3}, {0.14, 84.1}}
		for i := 1; i < len(table); i++ {
			if lo, hi := table[i-1], table[i]; gamma <= hi[0] {
				share := math.Log(gamma/lo[0]) / math.Log(hi[0]/lo[0])
				return lo[1] * math.Pow(hi[1]/lo[1], share)
			}
		}
		return math.NaN()
	}
	for _, x := range []struct{ ball, circle, lead, turns float64 }{
		{3.175e-3, 16.75e-3, 5e-3, 3}, {3.175e-3, 26e-3, 5e-3, 4}, {6.35e-3, 41.75e-3, 10e-3, 5}, {6.35e-3, 42e-3, 40e-3, 2.6}, {7.144e-3, 65e-3, 20e-3, 6},
	} {
		// One turn of the helix as 10,000 chords.
		length, steps := 0.0, 10000
		for range steps {
			across := x.circle * math.Sin(math.Pi/float64(steps))
			length += math.Hypot(across, x.lead/float64(steps))
		}
		balls := length / x.ball
		// Along the axis: the groove's normal leans by 45° out of the circle, and
		// its axial part again by the lead angle.
		rise := x.lead / length
		normal := [3]float64{math.Sqrt2 / 2, math.Sqrt2 / 2 * rise, math.Sqrt2 / 2 * math.Sqrt(1-rise*rise)}
		static := exactRestLoad(x.ball, 0.54, x.ball*math.Sqrt2/2/x.circle) * balls * x.turns * normal[2]
		close3(t, "static rating", EstimateStatic(x.ball, x.circle, x.lead, x.turns), static, 0.05)

		// From the table's groove of 0.535 and constant 98.1·0.9 to 0.54 and 93.2.
		groove := math.Pow(0.54*2/0.08/(0.535*2/0.07), 0.41)
		one := fc(x.ball*math.Sqrt2/2/x.circle) * 93.2 / (98.1 * 0.9) * groove *
			math.Pow(math.Sqrt2/2, 0.86) * math.Pow(balls, 2.0/3) * math.Pow(x.ball*1000, 1.8) * math.Pow(1-rise*rise, 0.65)
		close3(t, "dynamic rating", EstimateDynamic(x.ball, x.circle, x.lead, x.turns), one*math.Exp(0.86*math.Log(x.turns)), 0.01)
	}
}
