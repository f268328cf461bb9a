package svg

import (
	"fmt"
	"math"
	"strconv"

	"trammel/spec/unit"
)

// A Point of a chart, in the units of its axes.
type Point struct{ X, Y float64 }

// An Axis of a chart. A linear one begins at 0, or at its least value below; it ends at End,
// or, where that is 0, a little beyond the largest value drawn. A logarithmic one is as wide
// as what is drawn.
type Axis struct {
	Label string
	Log   bool
	End   float64
}

// A scale leads from values to places: from low to high between from and to.
type scale struct {
	Axis
	low, high, from, to float64
}

// span makes the scale of an axis for values, or says why there is none: what has no end, or
// is too short for its numbers, cannot be counted off.
func (a Axis) span(values []float64) (scale, error) {
	s := scale{Axis: a}
	if a.Log {
		s.low, s.high = math.Inf(1), math.Inf(-1)
	}
	if !a.Log {
		values = append(values, a.End)
	}
	for _, v := range values {
		if math.IsNaN(v) || math.Abs(v) > 1e30 {
			return s, fmt.Errorf("a value of the axis %q is %g", a.Label, v)
		}
		s.low, s.high = math.Min(s.low, v), math.Max(s.high, v)
	}
	switch {
	case a.Log && !(s.low > 1e-30 && s.high >= s.low):
		return s, fmt.Errorf("the logarithmic axis %q runs from %g to %g", a.Label, s.low, s.high)
	case a.Log:
		s.low, s.high = s.low/1.5, s.high*1.5
	case s.high-s.low < 1e-30:
		s.high = s.low + 1
	case a.End > 0:
		s.high = a.End
	default:
		room := 0.06 * (s.high - s.low)
		if s.high > 0 {
			s.high += room
		}
		if s.low < 0 {
			s.low -= room
		}
	}
	return s, nil
}

// at is the place of a value, at the edge for what lies beyond.
func (s *scale) at(v float64) float64 {
	low, high := s.low, s.high
	if s.Log {
		v, low, high = math.Log(math.Max(v, s.low)), math.Log(low), math.Log(high)
	}
	share := math.Max(0, math.Min(1, (v-low)/(high-low)))
	return s.from + share*(s.to-s.from)
}

// ticks are round values of the scale, some room apart.
func (s *scale) ticks(room float64) []float64 {
	most := math.Max(2, math.Abs(s.to-s.from)/room)
	var out []float64
	if s.Log && s.high/s.low > 5 {
		decades := math.Log10(s.high / s.low)
		every, steps := math.Ceil(decades/most), []float64{1}
		if 3*decades <= most {
			steps = []float64{1, 2, 5}
		}
		for e := math.Floor(math.Log10(s.low)/every) * every; e <= math.Log10(s.high); e += every {
			for _, k := range steps {
				if v := k * math.Pow(10, e); v >= s.low && v <= s.high {
					out = append(out, v)
				}
			}
		}
		return out
	}
	step := round((s.high - s.low) / most)
	for k := math.Ceil(s.low / step); k <= math.Floor(s.high/step); k++ {
		out = append(out, k*step+0) // never -0
	}
	return out
}

// round is the least of 1, 2 and 5 times a power of ten that is no less.
func round(x float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(x)))
	for _, k := range []float64{1, 2, 5} {
		if k*p >= x*(1-1e-9) {
			return k * p
		}
	}
	return 10 * p
}

// number writes a tick.
func number(v float64) string { return unit.Readable(strconv.FormatFloat(v, 'g', 6, 64)) }
