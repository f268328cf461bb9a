package step

import "math"

// Units are what the numbers of a representation count.
type Units struct {
	Length float64 // millimetres
	Angle  float64 // radians
}

// Names of units as people know them.
const (
	millimetre = 1.0
	inch       = 25.4
	metre      = 1000.0
)

// units gives what a context says; a length without a unit is an error. Angles without one
// are radians, which nothing but cones needs.
func (c node) units() (u Units) {
	if c.in == nil {
		return u
	}
	list, ok := c.part("GLOBAL_UNIT_ASSIGNED_CONTEXT")
	if !ok {
		c.fail("declares no units: it is not known what lengths mean")
		return u
	}
	u.Angle = 1
	for n := range list.each(0) {
		if _, ok := n.part("LENGTH_UNIT"); ok {
			u.Length = 1000 * n.base(0)
		} else if _, ok := n.part("PLANE_ANGLE_UNIT"); ok {
			u.Angle = n.base(0)
		}
	}
	if !(u.Length > 1e-9 && u.Length < 1e9 && u.Angle > 1e-9 && u.Angle < 1e9) {
		c.fail("has no usable unit of length")
		u = Units{}
	}
	if math.Abs(u.Length/inch-1) < 1e-6 { // 0.0254 written with too many digits
		u.Length = inch
	}
	return u
}

// base is a unit in metres or radians. Names of units are not believed, numbers are.
func (n node) base(depth int) float64 {
	if si, ok := n.part("SI_UNIT"); ok {
		return si.prefix()
	}
	conversion, ok := n.part("CONVERSION_BASED_UNIT")
	if !ok || depth > maxDepth {
		return 0
	}
	factor := conversion.follow(1)
	if m, ok := factor.part("MEASURE_WITH_UNIT"); ok {
		factor = m
	}
	return factor.num(0) * factor.follow(1).base(depth+1)
}

func (n node) prefix() float64 {
	p := n.arg(0)
	if p.sort == empty {
		return 1
	}
	power, ok := map[string]float64{"KILO": 3, "DECI": -1, "CENTI": -2, "MILLI": -3, "MICRO": -6, "NANO": -9}[string(p.text)]
	if !ok {
		n.fail("has the prefix %s, which no length is drawn in", p.text)
	}
	return math.Pow(10, power)
}
