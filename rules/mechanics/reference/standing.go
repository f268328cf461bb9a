package reference

import "math"

// standing hangs the shaft by its ends and turns a nut on it.
func (w *work) standing() {
	a := w.a
	across := w.load.cos
	if math.Abs(across) < 1e-12 {
		across = 0 // upright
	}
	weight := a.Density * w.out["root_area"][0] * gravity * across
	sag, slope := hangs(a.Span, a.ElasticModulus*w.out["root_second_moment"][0], weight, [2]string{a.DriveEnd, a.FarEnd})
	w.set("shaft_sag", sag)
	w.set("shaft_slope", slope)
	// ISO 281: exponent 3 for ball bearings.
	turns := bearingReliability(a.Reliability) * 1e6 * math.Pow(a.NutBearingDynamic/(w.meanLoad*w.factor), 3)
	years := w.set("nut_bearing_life_years", turns/w.turnsPerYear*year)
	w.set("nut_bearing_life_ratio", years/requiredLife(a))
	w.set("nut_bearing_static_safety", a.NutBearingStatic/w.force)
}

// hangs is the greatest deflection and slope of a beam of elements under a weight
// in N/m. Within an element the cubic of its ends and the quartic of its own weight
// add up to the exact line.
func hangs(length, ei, weight float64, ends [2]string) (sag, slope float64) {
	if !known(length + ei + weight + end(ends[0]) + end(ends[1])) {
		return unknown, unknown
	}
	h := length / elements
	stiff := bending(length, ei)
	var load [dofs]float64
	for e := range elements {
		load[2*e] += weight * h / 2
		load[2*e+1] += weight * h * h / 12
		load[2*e+2] += weight * h / 2
		load[2*e+3] -= weight * h * h / 12
	}
	for i, e := range ends {
		stiff.hold(i*elements, e, stiff[2][0])
		if e != "free" {
			load[2*i*elements] = 0
		}
		if e == "fixed" {
			load[2*i*elements+1] = 0
		}
	}
	if !stiff.factor() {
		return unknown, unknown
	}
	u := stiff.solve(load)
	const points = 60
	for e := range elements {
		y1, t1, y2, t2 := u[2*e], u[2*e+1], u[2*e+2], u[2*e+3]
		for k := range points + 1 {
			s := float64(k) / points
			x, r := s*h, 1-s
			y := y1*r*r*(1+2*s) + t1*h*s*r*r + y2*s*s*(3-2*s) - t2*h*s*s*r + weight*x*x*(h-x)*(h-x)/(24*ei)
			t := (y2-y1)*6*s*r/h + t1*r*(1-3*s) + t2*s*(3*s-2) + weight*2*x*(h-x)*(h-2*x)/(24*ei)
			sag, slope = math.Max(sag, math.Abs(y)), math.Max(slope, math.Abs(t))
		}
	}
	return sag, slope
}
