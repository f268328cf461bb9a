package mechanics

import (
	"math"
	"testing"
)

var fourEnds = [][2]float64{
	{FixedEnd, FreeEnd}, {SupportedEnd, SupportedEnd}, {FixedEnd, SupportedEnd}, {FixedEnd, FixedEnd},
}

// root finds a zero of f between lo and hi, where f changes sign.
func root(f func(float64) float64, lo, hi float64) float64 {
	for range 200 {
		mid := (lo + hi) / 2
		if (f(mid) > 0) == (f(lo) > 0) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// TestRootsOfTheEndConditions solves the equations of frequency and of
// stability by bisection.
func TestRootsOfTheEndConditions(t *testing.T) {
	for _, x := range []struct {
		ends [2]float64
		f    func(x float64) float64
		lo   float64
		hi   float64
	}{
		{[2]float64{FixedEnd, FreeEnd}, func(x float64) float64 { return math.Cos(x)*math.Cosh(x) + 1 }, 1, 3},
		{[2]float64{SupportedEnd, SupportedEnd}, math.Sin, 2, 4},
		{[2]float64{FixedEnd, SupportedEnd}, func(x float64) float64 { return math.Sin(x)*math.Cosh(x) - math.Cos(x)*math.Sinh(x) }, 3, 4.5},
		{[2]float64{FixedEnd, FixedEnd}, func(x float64) float64 { return math.Cos(x)*math.Cosh(x) - 1 }, 4, 6},
	} {
		within(t, "λ", Lambda(x.ends[0], x.ends[1]), root(x.f, x.lo, x.hi), 1e-13)
	}
	// tan x = x, without the pole.
	x := root(func(x float64) float64 { return math.Sin(x) - x*math.Cos(x) }, 4, 4.6)
	within(t, "fixity of fixed–supported", Fixity(FixedSupported), x*x/(math.Pi*math.Pi), 1e-9)
}
