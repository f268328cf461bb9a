package mechanics

// Spots are the values at all corners of the tolerances of an axis, in each of some cases.
// What they tell of the places between holds for quantities whose course is known for every
// leaf with a tolerance, one after the other.
type Spots struct {
	At     [][]*Calc // by case
	levels Set       // what is nowhere beyond the corners, or for StopReached below
	lines  Set       // what is made of straight lines
	stops  bool      // so are the forces of stops, at a deceleration that stays the same
}

// Spotted is what a Spots must be evaluated for.
func Spotted() []*Quantity { return qs(PhaseForce, PhaseTorque, StopReached, StopScrewTorque) }

// Trust notes what the courses for all leaves, found without spots, let the corners tell.
func (s *Spots) Trust(all []*Courses) {
	of := func(q *Quantity, c Course) bool {
		for _, x := range all {
			if x.Of(q)&c == 0 {
				return false
			}
		}
		return true
	}
	s.levels, s.lines = Set{}, Set{}
	if of(PhaseForce, oneWay) {
		s.levels.set(PhaseForce.id)
		if of(PhaseTorque, deep) { // at rest it is not negative anyway
			s.levels.set(PhaseTorque.id)
		}
	}
	if of(PhaseForce, convex) && of(PhaseForce, concave) && of(PhaseTime, resting) {
		s.lines.set(PhaseForce.id)
		if s.levels.has(PhaseTorque.id) && s.keepSign(PhaseForce) {
			s.lines.set(PhaseTorque.id)
		}
	}
	if of(StopReached, hill) {
		s.levels.set(StopReached.id)
	}
	s.stops = of(StopScrewTorque, valley) && of(HardestStop, resting)
}

// keepSign reports whether no value of a series changes its sign within the tolerances.
func (s *Spots) keepSign(q *Quantity) bool {
	if s == nil || !s.levels.has(q.id) {
		return false
	}
	for _, corners := range s.At {
		for j := range corners[0].row(q) {
			if !oneSign(corners, func(c *Calc) float64 { return c.row(q)[j] }) {
				return false
			}
		}
	}
	return true
}

// oneSign reports whether a value is nowhere negative or nowhere positive.
func oneSign(corners []*Calc, of func(c *Calc) float64) bool {
	up, down := true, true
	for _, c := range corners {
		v := of(c)
		up, down = up && v >= 0, down && v <= 0
	}
	return up || down
}

// atLeast reports whether a scalar is nowhere below x, by more than rounding.
func (s *Spots) atLeast(q *Quantity, x float64) bool {
	if s == nil || !s.levels.has(q.id) {
		return false
	}
	for _, corners := range s.At {
		for _, c := range corners {
			if !(c.one[q.id] >= x*(1+1e-9)) || !(x > 0) {
				return false
			}
		}
	}
	return true
}

// samePeaks reports whether one phase has the greatest force or torque, in space, wherever
// within the tolerances, and one the least.
func (s *Spots) samePeaks(q *Quantity) bool {
	if s == nil || !s.lines.has(q.id) {
		return false
	}
	for _, corners := range s.At {
		if !samePhase(corners, q, 1) || !samePhase(corners, q, -1) {
			return false
		}
	}
	return true
}

// samePhase reports whether the phase that has the greatest value, times sign, at the first
// corner has it at all.
func samePhase(corners []*Calc, q *Quantity, sign float64) bool {
	times, first := corners[0].row(PhaseTime), -1
	for j := range times {
		if times[j] > 0 && (first < 0 || sign*corners[0].inSpace(q, j) > sign*corners[0].inSpace(q, first)) {
			first = j
		}
	}
	if first < 0 {
		return false
	}
	for _, c := range corners {
		top := sign * c.inSpace(q, first)
		for k := range times {
			if times[k] > 0 && !(sign*c.inSpace(q, k) <= top) {
				return false
			}
		}
	}
	return true
}

// inSpace is a force, or a torque as torqueRange takes it, with its sign in space.
func (c *Calc) inSpace(q *Quantity, j int) float64 {
	v := c.row(q)[j]
	switch {
	case q != PhaseTorque:
		return v
	case Part(j%PhasesPerMove) == Rest:
		return v * sign(c.row(PhaseForce)[j])
	}
	return v * c.row(MoveDirection)[j/PhasesPerMove]
}

// sameStops reports whether in no emergency stop the force changes its sign within the
// tolerances.
func (s *Spots) sameStops() bool {
	if s == nil || !s.stops {
		return false
	}
	for _, corners := range s.At {
		first := corners[0].stopForces(nil)
		up, down := make([]bool, len(first)), make([]bool, len(first))
		for _, c := range corners {
			for i, f := range c.stopForces(nil) {
				up[i], down[i] = up[i] || !(f <= 0), down[i] || !(f >= 0)
				if up[i] && down[i] {
					return false
				}
			}
		}
	}
	return true
}

// stopForces appends the forces of the emergency stops that StopScrewTorque looks at.
func (c *Calc) stopForces(out []float64) []float64 {
	a := c.argv[:0]
	for _, n := range StopScrewTorque.args {
		if n.Shape == Scalar {
			a = append(a, c.one[n.id])
		}
	}
	stop, hard := onScrew(a)
	empty, full := a[0], a[1]
	for _, m := range [2]float64{empty, full} {
		out = append(out, stop.force(m, 1, 0, hard), stop.force(m, -1, 0, hard))
	}
	moves := c.row(MoveDirection)
	for i, s := range moves {
		out = append(out, s*s*stop.force(empty+or(c.row(MovePayload)[i], 0), s, or(c.row(MoveThrust)[i], 0), hard))
	}
	return out
}
