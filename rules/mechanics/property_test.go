package mechanics

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// between draws a number.
func between(rt *rapid.T, what string, lo, hi float64) float64 {
	return rapid.Float64Range(lo, hi).Draw(rt, what)
}

// drawMoves draws moves of any direction.
func drawMoves(rt *rapid.T) []aMove {
	moves := make([]aMove, rapid.IntRange(1, 5).Draw(rt, "moves"))
	for i := range moves {
		moves[i] = aMove{
			dist: between(rt, "distance", 0.001, 2), speed: between(rt, "speed", 0.01, 2),
			up: between(rt, "up", 0.2, 20), down: between(rt, "down", 0.2, 20),
			thrust: between(rt, "thrust", 0, 500), payload: between(rt, "payload", 0, 30), dwell: between(rt, "dwell", 0, 2),
		}
		if rapid.Bool().Draw(rt, "back") {
			moves[i].dist *= -1
		}
	}
	return moves
}

func reversed(moves []aMove) []aMove {
	out := append([]aMove(nil), moves...)
	for i := range out {
		out[i].dist *= -1
	}
	return out
}

// driven is an axis with drive and screw, for properties of load and torque.
func driven(rt *rapid.T) vals {
	v := vals{
		MovedMassGiven: between(rt, "mass", 1, 300), Friction: between(rt, "friction", 0, 0.2), DragGiven: between(rt, "drag", 0, 100),
		Orientation: Horizontal, Lead: between(rt, "lead", 0.004, 0.04), NominalDiameter: 0.025, ThreadFrictionGiven: between(rt, "thread friction", 0.002, 0.01),
		Turning: NutTurns, NutInertia: between(rt, "inertia", 1e-5, 1e-3), Ratio: between(rt, "ratio", 0.5, 5), GearEfficiencyGiven: between(rt, "gear", 0.8, 1), RotorInertia: 1e-4,
		DynamicRating: 16e3, StaticRating: 30e3, Hardness: 60, GradeFactorGiven: 1, LoadFactorGiven: 1.2, Reliability: 0.9,
		EmergencyDecel: between(rt, "emergency", 1, 20), Screws: 1,
	}
	if rapid.Bool().Draw(rt, "preloaded") {
		v[Preload] = between(rt, "preload", 10, 2000)
	} else {
		v[Backlash] = 1e-5
	}
	return v
}

// TestPhasesOfMoves: phases add up to the cycle and to the distance, and no
// move goes faster than its distance allows.
func TestPhasesOfMoves(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		moves := drawMoves(rt)
		c := axisOf(nil, moves...)
		times, ways, tops := c.Series(PhaseTime), c.Series(PhaseDistance), c.Series(PhaseTopSpeed)
		cycle, path := 0.0, 0.0
		for i, m := range moves {
			j := i * PhasesPerMove
			way, peak := 0.0, c.Series(MovePeakSpeed)[i]
			for p := range PhasesPerMove {
				if times[j+p] < 0 || ways[j+p] < 0 {
					rt.Errorf("phase %d lasts %g s over %g m", j+p, times[j+p], ways[j+p])
				}
				cycle += times[j+p]
				way += ways[j+p]
			}
			within(rt, "distance of a move", way, math.Abs(m.dist), 1e-9)
			path += math.Abs(m.dist)
			// Each phase's distance is its time at its mean speed.
			within(rt, "ramp up", ways[j], times[j]*peak/2, 1e-9)
			near(rt, "steady", ways[j+1], times[j+1]*peak, 1e-9*math.Abs(m.dist))
			within(rt, "ramp down", ways[j+2], times[j+2]*peak/2, 1e-9)
			within(rt, "speed after the ramp", m.up*times[j], peak, 1e-9)
			within(rt, "braking", m.down*times[j+2], peak, 1e-9)
			near(rt, "rest", times[j+3], m.dwell, 0)
			near(rt, "speed at rest", tops[j+3], 0, 0)
			if peak > m.speed {
				rt.Errorf("peak speed %g above the required %g", peak, m.speed)
			}
			if peak < m.speed {
				// A triangle: its ramps take the whole distance.
				within(rt, "triangle", peak*peak/(2*m.up)+peak*peak/(2*m.down), math.Abs(m.dist), 1e-9)
				near(rt, "steady part of a triangle", times[j+1], 0, 0)
			}
		}
		within(rt, "cycle", c.V(CycleTime), cycle, 1e-9)
		within(rt, "path", c.V(CycleDistance), path, 1e-9)
	})
}

// TestPeakSpeedIsContinuous: at the distance both ramps need, trapezoid and
// triangle meet.
func TestPeakSpeedIsContinuous(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		v, a1, a2 := between(rt, "v", 0.01, 3), between(rt, "a1", 0.1, 30), between(rt, "a2", 0.1, 30)
		s := v*v/(2*a1) + v*v/(2*a2)
		within(rt, "just a trapezoid", PeakSpeed(s*(1+1e-12), v, a1, a2), v, 0)
		within(rt, "just a triangle", PeakSpeed(-s*(1-1e-6), v, a1, a2), v, 1e-6)
	})
}

// TestMirrorOfAHorizontalAxis: with all moves turned round, a horizontal axis
// has the same loads, life and torques, only the flanks are swapped.
func TestMirrorOfAHorizontalAxis(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		leaves, moves := driven(rt), drawMoves(rt)
		a, b := axisOf(leaves, moves...), axisOf(leaves, reversed(moves)...)
		for _, q := range []*Quantity{
			MeanLoad, Life, PeakTorque, RMSTorque, PeakScrewTorque, PeakPower, PeakForce, EmergencyForce,
			CycleTime, MeanSpeed, Reach, CycleOffset, StaticSafety, GapPreload,
		} {
			within(rt, q.Name, a.V(q), b.V(q), 1e-9)
			if !a.Known(q) {
				rt.Errorf("%s is not known", q.Name)
			}
		}
		for q, o := range map[*Quantity]*Quantity{MeanPlus: MeanMinus, LifePlus: LifeMinus, MeanMinus: MeanPlus} {
			within(rt, q.Name, a.V(q), b.V(o), 1e-9)
		}
		for j, f := range a.Series(PhaseForce) {
			near(rt, "force", f, -b.Series(PhaseForce)[j], 1e-6)
			near(rt, "torque", a.Series(MotorPhaseTorque)[j], b.Series(MotorPhaseTorque)[j], 1e-9)
		}
	})
}

// TestMirrorOfAnIncline: turned end for end, an inclined axis with its
// counterbalance is the same axis.
func TestMirrorOfAnIncline(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		leaves, moves := driven(rt), drawMoves(rt)
		theta, cb := between(rt, "incline", 0, math.Pi/2), between(rt, "counterbalance", 0, 1000)
		a := axisOf(leaves.with(vals{InclineGiven: theta, Counterbalance: cb, BalanceKind: aSpring, BalanceKept: 1, DriveEnd: FixedEnd, FarEnd: SupportedEnd, DriveAt: DriveAtStart}), moves...)
		b := axisOf(leaves.with(vals{InclineGiven: -theta, Counterbalance: -cb, BalanceKind: aSpring, BalanceKept: 1, DriveEnd: FixedEnd, FarEnd: SupportedEnd, DriveAt: DriveAtEnd}), reversed(moves)...)
		for _, q := range []*Quantity{MeanLoad, Life, PeakTorque, RMSTorque, PeakForce, EmergencyForce, StandingForce, SelfMotion, PushedForce} {
			near(rt, q.Name, a.V(q), b.V(q), 1e-9*math.Max(1, math.Abs(a.V(q))))
		}
		near(rt, "weight", a.V(WeightForce), -b.V(WeightForce), 1e-9*math.Max(1, cb))
	})
}

// TestLifeFallsWithMass: without drag and thrust all forces go with the mass,
// so the life goes with its third power; with preload it falls at least.
func TestLifeFallsWithMass(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		leaves, moves := driven(rt), drawMoves(rt)
		leaves[DragGiven] = 0
		for i := range moves {
			moves[i].thrust, moves[i].payload = 0, 0
		}
		k := between(rt, "times", 1.01, 4)
		a, b := axisOf(leaves, moves...), axisOf(leaves.with(vals{MovedMassGiven: k * leaves[MovedMassGiven]}), moves...)
		if _, preloaded := leaves[Preload]; !preloaded {
			within(rt, "life", b.V(Life), a.V(Life)/(k*k*k), 1e-9)
		} else if b.V(Life) >= a.V(Life) {
			rt.Errorf("life rises from %g to %g with the mass", a.V(Life), b.V(Life))
		}
		within(rt, "mean load", b.V(MeanLoad), k*a.V(MeanLoad), 1e-9)
		within(rt, "static safety", b.V(StaticSafety), a.V(StaticSafety)/k, 1e-9)
		if b.Series(MotorPhaseTorque)[0] <= a.Series(MotorPhaseTorque)[0] {
			rt.Error("the torque to gain speed falls with the mass")
		}
	})
}

// TestPreloadShortensLife: the more preload, the shorter the life.
func TestPreloadShortensLife(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		leaves, moves := driven(rt), drawMoves(rt)
		p := between(rt, "preload", 10, 2000)
		a, b := axisOf(leaves.with(vals{Preload: p}), moves...), axisOf(leaves.with(vals{Preload: 1.1 * p}), moves...)
		if b.V(Life) > a.V(Life)*(1+1e-12) {
			rt.Errorf("life rises from %g to %g with the preload", a.V(Life), b.V(Life))
		}
	})
}

// TestShaftProperties: which way speed and load limits of a shaft go.
func TestShaftProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		ends := rapid.SampledFrom(fourEnds).Draw(rt, "ends")
		l, d := between(rt, "span", 0.2, 4), between(rt, "diameter", 0.01, 0.1)
		e, rho, sy := between(rt, "E", 150e9, 220e9), between(rt, "density", 7000, 8500), between(rt, "yield", 200e6, 1200e6)
		k := between(rt, "times", 1.001, 3)
		lambda, n := Lambda(ends[0], ends[1]), Fixity(EndPair(ends[0], ends[1]))
		base := CriticalSpeed(lambda, l, d, e, rho)
		within(rt, "speed over span", CriticalSpeed(lambda, k*l, d, e, rho), base/(k*k), 1e-9)
		within(rt, "speed over diameter", CriticalSpeed(lambda, l, k*d, e, rho), base*k, 1e-9)
		within(rt, "speed over stiffness and density", CriticalSpeed(lambda, l, d, k*e, k*rho), base, 1e-9)
		load := BucklingLoad(n, l, d, e, sy)
		if !(load > 0) || load > math.Pi*d*d/4*sy {
			rt.Errorf("buckling load %g N; the section yields at %g N", load, math.Pi*d*d/4*sy)
		}
		if BucklingLoad(n, l, k*d, e, sy) <= load || BucklingLoad(n, k*l, d, e, sy) >= load || BucklingLoad(n, l, d, e, k*sy) < load || BucklingLoad(n, l, d, k*e, sy) < load {
			rt.Error("buckling load must grow with diameter, modulus and yield strength and fall with length")
		}
		// Geometry and load scale together.
		within(rt, "scaled column", BucklingLoad(n, k*l, k*d, e, sy), load*k*k, 1e-9)
		// Never above Euler.
		if euler := n * math.Pow(math.Pi, 3) * e * math.Pow(d, 4) / (64 * l * l); load > euler*(1+1e-9) {
			rt.Errorf("buckling load %g N above Euler's %g N", load, euler)
		}
		// More hold at the ends is never worse.
		if stiffer := BucklingLoad(4, l, d, e, sy); stiffer < load {
			rt.Error("fixed ends buckle earlier")
		}
	})
}

// TestJohnsonMeetsEuler: at the transition the parabola has the value and the
// slope of Euler's curve, at half the yield load.
func TestJohnsonMeetsEuler(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.SampledFrom([]float64{0.25, 1, 2.0457, 4}).Draw(rt, "n")
		d, e, sy := between(rt, "diameter", 0.005, 0.2), between(rt, "E", 70e9, 220e9), between(rt, "yield", 100e6, 1500e6)
		l := TransitionSlenderness(n, e, sy) * d / 4
		at := func(x float64) float64 { return BucklingLoad(n, l*x, d, e, sy) }
		half := math.Pi * d * d / 8 * sy
		within(rt, "just Johnson", at(1-1e-9), half, 1e-7)
		within(rt, "just Euler", at(1+1e-9), half, 1e-7)
		const h = 1e-5
		within(rt, "slope", at(1)-at(1-h), at(1+h)-at(1), 1e-3)
		within(rt, "a stub yields", at(1e-6), math.Pi*d*d/4*sy, 1e-9)
	})
}

// TestCombinedLifeBounds: two flanks live shorter than the worse one, by
// 2^(−0.9) at most, which two equal ones reach.
func TestCombinedLifeBounds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a, b := math.Exp(between(rt, "ln a", 0, 60)), math.Exp(between(rt, "ln b", 0, 60))
		l, low := CombinedLife(a, b), math.Min(a, b)
		if l > low*(1+1e-12) || l < low*math.Pow(2, -0.9)*(1-1e-12) {
			rt.Errorf("lives %g and %g make %g", a, b, l)
		}
		within(rt, "swapped", CombinedLife(b, a), l, 1e-12)
		within(rt, "scaled", CombinedLife(3*a, 3*b), 3*l, 1e-12)
		// 2^−0.9 = 0.5358867.
		within(rt, "equal", CombinedLife(a, a), 0.5358867*a, 1e-7)
		within(rt, "one unlimited", CombinedLife(a, math.Inf(1)), a, 0)
		within(rt, "the other unlimited", CombinedLife(math.Inf(1), a), a, 0)
	})
	if !math.IsInf(CombinedLife(math.Inf(1), math.Inf(1)), 1) || !math.IsInf(NominalLife(1, 1, 0), 1) {
		t.Error("without load the life is unlimited")
	}
}

// TestLifeLaw: by hand, a load of half the rating lasts 8 million turns.
func TestLifeLaw(t *testing.T) {
	within(t, "half the rating", NominalLife(20e3, 1, 10e3), 8e6, 1e-12)
	within(t, "with a factor of 2", NominalLife(20e3, 2, 5e3), 8e6, 1e-12)
	rapid.Check(t, func(rt *rapid.T) {
		f, fw, life, k := between(rt, "F", 10, 1e5), between(rt, "f_w", 1, 3), math.Exp(between(rt, "ln L", 0, 30)), between(rt, "k", 0.3, 1)
		// A screw of just the rating needed, less its factors, lives that long.
		within(rt, "needed rating", NominalLife(k*NeededRating(f, fw, life, k), fw, f), life, 1e-9)
	})
}

// TestCubicMeanBounds: between the plain mean and the greatest load, the same
// for split phases and in any unit.
func TestCubicMeanBounds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(rt, "n")
		f, s := make([]float64, n), make([]float64, n)
		plain, all, top := 0.0, 0.0, 0.0
		for i := range f {
			f[i], s[i] = between(rt, "F", 0.01, 1e4), between(rt, "s", 0.01, 5)
			plain, all, top = plain+f[i]*s[i], all+s[i], math.Max(top, f[i])
		}
		m := CubicMean(f, s)
		if m < plain/all*(1-1e-12) || m > top*(1+1e-12) {
			rt.Errorf("cubic mean %g of %v", m, f)
		}
		within(rt, "with a phase of no distance", CubicMean(append(f[:n:n], 1e9), append(s[:n:n], 0)), m, 1e-12)
		within(rt, "a phase in two", CubicMean(append(f[:n:n], f[0]), append(append([]float64{s[0] / 2}, s[1:]...), s[0]/2)), m, 1e-12)
		for i := range f {
			f[i], s[i] = f[i]*7, s[i]*3
		}
		within(rt, "scaled", CubicMean(f, s), 7*m, 1e-12)
	})
}

// TestFlankProperties: loads of both sides rise and fall as they must, and
// the limit is no step.
func TestFlankProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		pr, f := between(rt, "preload", 1, 1e4), between(rt, "force", 0, 1e5)
		loaded, relieved := Flanks(f, pr)
		more, less := Flanks(f*1.01+1e-3, pr)
		if more < loaded || less > relieved || loaded < f || relieved < 0 || loaded < pr && f > 0 {
			rt.Errorf("preload %g, force %g: %g and %g, with more force %g and %g", pr, f, loaded, relieved, more, less)
		}
		below, rest := Flanks(math.Sqrt(8)*pr*(1-1e-9), pr)
		within(rt, "just in contact", below, math.Sqrt(8)*pr, 1e-8)
		near(rt, "just in contact, far side", rest, 0, 1e-6*pr)
		at, both := Flanks(0, pr)
		within(rt, "no force", at, both, 1e-12)
		alone, none := Flanks(-f, 0)
		within(rt, "no preload", alone, f, 0)
		within(rt, "no preload, far side", none, 0, 0)
	})
}

// TestShareOfScrews: even shares add up, one screw takes all.
func TestShareOfScrews(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f, z, k := between(rt, "F", -1e5, 1e5), float64(rapid.IntRange(2, 8).Draw(rt, "z")), between(rt, "k", 1, 2)
		within(rt, "even", z*Share(f, z, 1), f, 1e-12)
		within(rt, "uneven", Share(f, z, k), k*Share(f, z, 1), 1e-12)
		within(rt, "one screw", Share(f, 1, math.NaN()), f, 0)
		if known(Share(f, z, math.NaN())) {
			rt.Error("an unknown share gives a number")
		}
	})
}

// TestCarriedMassAdds: what is carried counts like the axis's own mass.
func TestCarriedMassAdds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		leaves, moves := driven(rt), drawMoves(rt)
		own, carried := between(rt, "own", 1, 100), between(rt, "carried", 0, 100)
		delete(leaves, MovedMassGiven)
		a := axisOf(leaves.with(vals{Mass: own, CarriedMass: carried}), moves...)
		b := axisOf(leaves.with(vals{Mass: own + carried, CarriedMass: 0}), moves...)
		same(rt, a, b, func(q *Quantity) bool { return true })
	})
}

// TestTorqueProperties: driving and back-driving hold together.
func TestTorqueProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		phi, mu := between(rt, "lead angle", 0.02, 0.6), between(rt, "friction", 0.001, 0.3)
		eta, back := DrivingEfficiency(phi, mu), BackDrivingEfficiency(phi, mu)
		if eta <= 0 || eta >= 1 || back >= eta {
			rt.Errorf("efficiencies %g and %g", eta, back)
		}
		if (back > 0) != (mu < math.Tan(phi)) {
			rt.Error("the thread back-drives just when its lead angle is above the friction angle")
		}
		within(rt, "no friction", DrivingEfficiency(phi, 0)*BackDrivingEfficiency(phi, 0), 1, 1e-12)
		f, p := between(rt, "F", 0, 1e5), between(rt, "lead", 0.001, 0.05)
		up, down := ThreadTorque(f, p, eta, back), ThreadTorque(-f, p, eta, back)
		if up < f*p/(2*math.Pi) || down > 0 || -down > f*p/(2*math.Pi) {
			rt.Errorf("torques %g and %g", up, down)
		}
		pr := between(rt, "preload", 1, 1e4)
		within(rt, "drag goes with preload", PreloadDrag(phi, 2*pr, p), 2*PreloadDrag(phi, pr, p), 1e-12)
		within(rt, "drag goes with lead", PreloadDrag(phi, pr, 3*p), 3*PreloadDrag(phi, pr, p), 1e-12)
	})
}

// TestStiffnessProperties: springs in series are softer than the softest, and
// one that is not known counts as rigid.
func TestStiffnessProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a, b := between(rt, "a", 1e6, 1e9), between(rt, "b", 1e6, 1e9)
		k := InSeries(a, b)
		if k >= math.Min(a, b) || k < math.Min(a, b)/2*(1-1e-12) {
			rt.Errorf("%g and %g make %g", a, b, k)
		}
		within(rt, "swapped", InSeries(b, a), k, 1e-12)
		within(rt, "unknown", InSeries(a, math.NaN(), b), k, 1e-12)
		area, e, l := between(rt, "A", 1e-5, 1e-2), between(rt, "E", 1e11, 2.2e11), between(rt, "L", 0.1, 5)
		within(rt, "both ends", ShaftStiffness(area, e, l, true), 4*ShaftStiffness(area, e, l, false), 1e-12)
	})
}

// TestUnequalBearings: with both ends fixed the bearings count as the softer
// of their sum and less, never as more.
func TestUnequalBearings(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a, b := between(rt, "a", 1e7, 1e9), between(rt, "b", 1e7, 1e9)
		ends := vals{DriveEnd: FixedEnd, FarEnd: FixedEnd, ElasticModulus: 206e9, RootDiameter: between(rt, "d", 5e-3, 0.1), Span: between(rt, "L", 0.1, 5)}
		k := axisOf(ends.with(vals{DriveSupportStiffness: a, FarSupportStiffness: b})).V(BearingRigidity)
		if k > (a+b)*(1+1e-12) || k < 2*math.Min(a, b)*(1-1e-12) {
			rt.Errorf("%g and %g make %g", a, b, k)
		}
		within(rt, "equal", axisOf(ends.with(vals{DriveSupportStiffness: a, FarSupportStiffness: a})).V(BearingRigidity), 2*a, 1e-12)
	})
}
