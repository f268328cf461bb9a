package mechanics

import (
	"math"
	"testing"
)

// A simulation drives the axis through its cycle in small steps of time. It
// knows Newton's law, when to brake, and nothing of phases.
type simulation struct {
	mass, friction, theta, drag, counter float64 // the carriage
	screws, uneven, onMotor              float64

	lead, eta, etaBack, turnDrag, turning float64 // the screw
	ratio, gear, rotor                    float64 // the motor
	preload                               float64

	// What is measured.
	time, moving, path, revolutions               float64
	low, high                                     float64
	cube, plus, minus                             float64 // sums of load³·distance
	torque2, peakTorque, peakScrew, peakPower     float64
	peakForce, topSpeed                           float64
	forceWork, frictionWork, screwWork, motorWork float64
}

const step = 2e-5

func (s *simulation) run(moves []aMove) {
	at := 0.0
	for _, m := range moves {
		dir := 1.0
		if m.dist < 0 {
			dir = -1
		}
		mass := s.mass + m.payload
		v, gone, goal := 0.0, 0.0, math.Abs(m.dist)
		for gone < goal {
			// Brake as soon as the way left is the way to brake, by what then
			// stops at the goal.
			a := 0.0
			switch {
			case v*v/(2*m.down) >= goal-gone:
				a = -v * v / (2 * (goal - gone))
			case v < m.speed:
				a = m.up
			}
			next := v + a*step
			switch {
			case next > m.speed:
				next = m.speed
			case next <= 0:
				next = 0
			}
			way := (v + next) / 2 * step
			if way == 0 {
				break
			}
			s.tick(mass, dir, (v+next)/2, (next-v)/step, m.thrust, way)
			gone += way
			v = next
		}
		at += dir * gone
		s.low, s.high = math.Min(s.low, at), math.Max(s.high, at)
		s.rest(mass, m.dwell)
	}
}

func (s *simulation) tick(mass, dir, v, rate, thrust, way float64) {
	// Along the axis, uphill positive: pull of the screws, weight, counter
	// force, and what opposes motion.
	weight := -mass * 9.80665 * math.Sin(s.theta)
	rub := -dir * (s.friction*mass*9.80665*math.Cos(s.theta) + s.drag)
	process := -dir * thrust
	all := mass*dir*rate - weight - s.counter - rub - process
	f := all / s.screws * s.uneven

	s.time += step
	s.moving += step
	s.path += way
	s.revolutions += way / s.lead
	s.topSpeed = math.Max(s.topSpeed, v)
	s.peakForce = math.Max(s.peakForce, math.Abs(f))
	s.cube += math.Pow(math.Abs(f), 3) * way
	p, m := s.flanks(f)
	s.plus += p * p * p * way
	s.minus += m * m * m * way
	s.forceWork += all * dir * way
	s.frictionWork -= (rub + process) * dir * way

	// Torques in the direction of travel.
	thread := f * dir * s.lead / (2 * math.Pi)
	angle := 2 * math.Pi * way / s.lead
	omega, alpha := 2*math.Pi*v/s.lead, 2*math.Pi*rate/s.lead
	if thread > 0 {
		thread /= s.eta
	} else {
		thread *= s.etaBack
	}
	screw := thread + s.turnDrag + s.turning*alpha
	s.screwWork += screw * angle
	s.peakScrew = math.Max(s.peakScrew, math.Abs(screw))
	motor := s.onMotor * screw / s.ratio
	if motor > 0 {
		motor /= s.gear
	} else {
		motor *= s.gear
	}
	motor += s.rotor * alpha * s.ratio
	s.torque2 += motor * motor * step
	s.peakTorque = math.Max(s.peakTorque, math.Abs(motor))
	s.peakPower = math.Max(s.peakPower, math.Abs(motor)*omega*s.ratio)
	s.motorWork += motor * angle * s.ratio
}

// rest lets the weight hang on the motor.
func (s *simulation) rest(mass, dwell float64) {
	all := mass*9.80665*math.Sin(s.theta) - s.counter
	f := math.Abs(all / s.screws * s.uneven)
	motor := s.onMotor * f * s.lead / (2 * math.Pi) * s.etaBack / s.ratio * s.gear
	s.torque2 += motor * motor * dwell
	s.time += dwell
	if dwell > 0 {
		s.peakForce = math.Max(s.peakForce, f)
		s.peakTorque = math.Max(s.peakTorque, motor)
	}
}

// flanks splits a force as ISO 3408-5 does (from memory).
func (s *simulation) flanks(f float64) (plus, minus float64) {
	loaded, other := math.Abs(f), 0.0
	if limit := s.preload * math.Sqrt(8); loaded < limit {
		loaded = s.preload * math.Pow(1+math.Abs(f)/limit, 1.5)
		other = loaded - math.Abs(f)
	}
	if f < 0 {
		return other, loaded
	}
	return loaded, other
}

// simulated is an axis in both forms.
func simulated(s simulation, moves []aMove) (*simulation, *Calc) {
	s.onMotor = math.Max(s.onMotor, 1)
	leaves := vals{
		MovedMassGiven: s.mass, Friction: s.friction, InclineGiven: s.theta, Drag: s.drag, Counterbalance: s.counter,
		Screws: s.screws, Unevenness: s.uneven, MotorScrewsGiven: s.onMotor,
		Lead: s.lead, NominalDiameter: 25 * mm, ThreadFriction: 0.004, EfficiencyGiven: s.eta,
		DriveSupportDrag: s.turnDrag, Backlash: 0, Turning: NutTurns, NutInertia: s.turning,
		Ratio: s.ratio, GearEfficiency: s.gear, RotorInertia: s.rotor,
	}
	phi := math.Atan(s.lead / (math.Pi * 25 * mm))
	s.etaBack = (1 - 0.004/math.Tan(phi)) / (1 + 0.004*math.Tan(phi))
	if s.preload > 0 {
		leaves[Preload] = s.preload
		s.turnDrag += 0.05 / math.Sqrt(math.Tan(phi)) * s.preload * s.lead / (2 * math.Pi)
	}
	s.run(moves)
	return &s, axisOf(leaves, moves...)
}

var simulations = map[string]struct {
	s     simulation
	moves []aMove
}{
	"horizontal": {
		simulation{mass: 60, friction: 0.02, drag: 30, screws: 1, uneven: 1, lead: 20 * mm, eta: 0.9, turnDrag: 0.1, turning: 3e-4, ratio: 1, gear: 1, rotor: 2e-4},
		[]aMove{{dist: 0.5, speed: 0.6, up: 4, down: 5, thrust: 200, dwell: 0.3}, {dist: -0.5, speed: 0.9, up: 6, down: 3, payload: 8}},
	},
	"lifting": {
		simulation{mass: 80, friction: 0.01, theta: 90 * deg, drag: 40, counter: 200, screws: 2, uneven: 1.2, lead: 10 * mm, eta: 0.88, turnDrag: 0.05, turning: 2e-4, ratio: 2, gear: 0.95, rotor: 1e-4},
		[]aMove{
			{dist: 0.4, speed: 0.3, up: 2, down: 3, payload: 25, dwell: 0.4},
			{dist: -0.1, speed: 0.5, up: 5, down: 5, dwell: 0.1},
			{dist: -0.02, speed: 0.5, up: 4, down: 6, thrust: -20}, // a triangle: √(2·0.02·2.4) = 0.31 m/s
			{dist: -0.28, speed: 0.4, up: 7, down: 2, thrust: 50, dwell: 0.2},
		},
	},
	"two screws on one motor": {
		simulation{mass: 90, friction: 0.02, theta: 90 * deg, drag: 20, screws: 2, uneven: 1.1, onMotor: 2, lead: 10 * mm, eta: 0.9, turnDrag: 0.08, turning: 2e-4, ratio: 1, gear: 1, rotor: 3e-4},
		[]aMove{{dist: 0.4, speed: 0.4, up: 3, down: 2, payload: 10, dwell: 0.3}, {dist: -0.4, speed: 0.5, up: 4, down: 3, dwell: 0.2}},
	},
	"inclined with preload": {
		simulation{mass: 45, friction: 0.05, theta: 35 * deg, drag: 15, screws: 1, uneven: 1, lead: 16 * mm, eta: 0.92, turnDrag: 0, turning: 4e-4, ratio: 1.5, gear: 0.97, rotor: 3e-4, preload: 300},
		[]aMove{{dist: 0.3, speed: 0.8, up: 9, down: 6, dwell: 0.5}, {dist: -0.3, speed: 0.5, up: 3, down: 11, payload: 12, thrust: 900}},
	},
}

// TestCycleBySimulation holds all that is summed over a cycle against the
// simulation in steps of 20 µs.
func TestCycleBySimulation(t *testing.T) {
	const rel = 4e-4
	for name, x := range simulations {
		s, c := simulated(x.s, x.moves)
		check := func(q *Quantity, want float64) {
			t.Helper()
			within(t, name+": "+q.Name, c.V(q), want, rel)
		}
		check(CycleTime, s.time)
		check(MovingTime, s.moving)
		check(MovingShare, s.moving/s.time)
		check(CycleDistance, s.path)
		check(Reach, s.high-s.low)
		check(RevsPerCycle, s.revolutions)
		check(MeanSpeed, s.path/s.moving)
		check(MeanRotation, 2*math.Pi*s.revolutions/s.moving)
		check(TopSpeed, s.topSpeed)
		check(MaxRotation, 2*math.Pi*s.topSpeed/s.lead)
		check(MotorSpeed, 2*math.Pi*s.topSpeed/s.lead*s.ratio)
		check(MeanLoad, math.Cbrt(s.cube/s.path))
		check(MeanPlus, math.Cbrt(s.plus/s.path))
		check(MeanMinus, math.Cbrt(s.minus/s.path))
		check(WorkingForce, s.peakForce)
		check(PeakForce, s.peakForce)
		check(RMSTorque, math.Sqrt(s.torque2/s.time))
		check(PeakTorque, s.peakTorque)
		check(PeakScrewTorque, s.peakScrew)
		check(PeakPower, s.peakPower)
	}
}

// TestDragTorqueParts: reference torque by hand. tan φ = 16/(25π) = 0.20372,
// 0.05/√0.20372 = 0.110777; ·300 N·16 mm/2π = 0.763944 N·m → 0.084627 N·m.
func TestDragTorqueParts(t *testing.T) {
	base := vals{Lead: 16 * mm, NominalDiameter: 25 * mm, Preload: 300}
	near(t, "preload alone", axisOf(base).V(DragTorque), 0.084627, 2e-6)
	near(t, "with supports", axisOf(base.with(vals{DriveSupportDrag: 0.03, FarSupportDrag: 0.02})).V(DragTorque), 0.134627, 2e-6)
	near(t, "with play", axisOf(vals{Lead: 16 * mm, NominalDiameter: 25 * mm, Backlash: 1e-5, FarSupportDrag: 0.02}).V(DragTorque), 0.02, 0)
	if v, ok := axisOf(vals{Lead: 16 * mm, NominalDiameter: 25 * mm}).Value(DragTorque); ok {
		t.Errorf("drag torque %g though neither preload nor play is known", v)
	}
}

// TestEnergyOfTheCarriage: over any move from rest to rest, the work of the
// screws is what friction and process take and what the weight gains.
func TestEnergyOfTheCarriage(t *testing.T) {
	for name, x := range simulations {
		s, c := simulated(x.s, x.moves)
		work, torqueWork, screwOut, motorWork := 0.0, 0.0, 0.0, 0.0
		force, dist, tj, mj := c.Series(PhaseForce), c.Series(PhaseDistance), c.Series(PhaseTorque), c.Series(MotorPhaseTorque)
		friction, lift := 0.0, 0.0
		for i, m := range x.moves {
			dir := math.Copysign(1, m.dist)
			for p := range PhasesPerMove {
				j := i*PhasesPerMove + p
				work += force[j] * dir * dist[j]
				angle := 2 * math.Pi * dist[j] / s.lead
				torqueWork += tj[j] * angle
				motorWork += mj[j] * angle * s.ratio
				if out := force[j] * dir * dist[j]; out > 0 {
					screwOut += out / s.eta
				} else {
					screwOut += out * s.etaBack
				}
				screwOut += s.turnDrag * angle
			}
			g := 9.80665 * (s.mass + m.payload)
			friction += (s.friction*g*math.Cos(s.theta) + s.drag + m.thrust) * math.Abs(m.dist)
			lift += (g*math.Sin(s.theta) - s.counter) * m.dist
		}
		share := s.uneven / s.screws
		within(t, name+": work of the screw", work, (friction+lift)*share, 1e-9)
		within(t, name+": work of the screw, simulated", work, s.forceWork*share, 4e-4)
		within(t, name+": friction, simulated", friction, s.frictionWork, 4e-4)
		within(t, name+": work at the screw", torqueWork, screwOut, 1e-9)
		within(t, name+": work at the screw, simulated", torqueWork, s.screwWork, 4e-4)
		within(t, name+": work of the motor, simulated", motorWork, s.motorWork, 4e-4)
		if s.gear == 1 {
			within(t, name+": work of the motor", motorWork, s.onMotor*torqueWork, 1e-9)
		} else if motorWork <= torqueWork {
			t.Errorf("%s: the gear gives work away", name)
		}
	}
}

// TestCarriedEnergyReturns: where load drives the screw with η′ and the screw
// drives the load with η, a closed cycle without friction returns less than
// it takes.
func TestCarriedEnergyReturns(t *testing.T) {
	s := simulation{mass: 50, theta: 90 * deg, screws: 1, uneven: 1, lead: 10 * mm, eta: 0.9, ratio: 1, gear: 1}
	_, c := simulated(s, []aMove{{dist: 0.3, speed: 0.3, up: 3, down: 3}, {dist: -0.3, speed: 0.3, up: 3, down: 3}})
	up, down := 0.0, 0.0
	for j, d := range c.Series(PhaseDistance) {
		w := c.Series(MotorPhaseTorque)[j] * 2 * math.Pi * d / (10 * mm)
		if j < PhasesPerMove {
			up += w
		} else {
			down += w
		}
	}
	lift := 50 * 9.80665 * 0.3
	within(t, "work up", up, lift/0.9, 1e-9)
	within(t, "work down", down, -lift*c.V(BackEfficiency), 1e-9)
}

// TestFlanksAgainstHertz solves the balance of two Hertzian contacts: the
// deflections, which go with load^(2/3), add up to those of the preload. The
// split of ISO 3408-5 stays within 4 % of it on the loaded side and never
// below, and both meet at the limit.
func TestFlanksAgainstHertz(t *testing.T) {
	const pr = 1000.0
	limit := math.Sqrt(8) * pr
	worst := 0.0
	for i := range 1000 {
		f := float64(i) / 1000 * limit
		hertz := solve(func(loaded float64) float64 {
			return math.Cbrt(loaded*loaded) + math.Cbrt((loaded-f)*(loaded-f)) - 2*math.Cbrt(pr*pr)
		}, 0, math.Max(f, pr), limit+pr)
		loaded, relieved := Flanks(f, pr)
		near(t, "balance", loaded-relieved, f, 1e-9)
		diff := loaded/hertz - 1
		worst = math.Max(worst, diff)
		if diff < -1e-9 || diff > 0.04 {
			t.Errorf("at %.0f N the loaded side takes %.1f N, by Hertz %.1f N", f, loaded, hertz)
		}
		back, other := Flanks(-f, pr)
		if back != loaded || other != relieved {
			t.Errorf("the split of −%.0f N differs from that of %.0f N", f, f)
		}
	}
	if worst < 0.01 {
		t.Errorf("the approximation is within %g of Hertz: it is another formula than said", worst)
	}
	// Preload and load equal (by hand): (1 + 1/√8)^1.5 = 1.5748.
	loaded, relieved := Flanks(pr, pr)
	near(t, "F_1 at F = F_pr", loaded/pr, 1.5748, 1e-4)
	near(t, "F_2 at F = F_pr", relieved/pr, 0.5748, 1e-4)
	// The side just loses contact where the loaded one has twice the
	// deflection: (F/F_pr)^(2/3) = 2.
	within(t, "preload limit", PreloadLimit, solve(func(x float64) float64 { return math.Cbrt(x * x) }, 2, 1, 5), 1e-12)
	at, zero := Flanks(limit, pr)
	within(t, "at the limit", at, limit, 1e-12)
	within(t, "at the limit, far side", zero, 0, 0)
	c := axisOf(vals{MovedMassGiven: 100, Friction: 0, Orientation: Vertical}, aMove{dist: 1, speed: 1, up: 1, down: 1})
	within(t, "gap preload", c.V(GapPreload), 100*(9.80665+1)/math.Sqrt(8), 1e-12)
}

// TestStoppingDistanceByIntegration runs on through the reaction time and
// then brakes in small steps.
func TestStoppingDistanceByIntegration(t *testing.T) {
	const dt = 1e-6
	v, a, reaction := 0.75, 8.0, 0.03
	x := 0.0
	for time := 0.0; v > 0; time += dt {
		next := v
		if time >= reaction {
			next = v - a*dt
		}
		x += (v + math.Max(0, next)) / 2 * dt
		v = next
	}
	move := aMove{dist: 1, speed: 0.75, up: 2, down: 2}
	within(t, "stopping distance", axisOf(vals{EmergencyDecel: a, ReactionTime: reaction}, move).V(StoppingDistance), x, 1e-4)
	// 0.75²/16 m.
	within(t, "without reaction", axisOf(vals{EmergencyDecel: a}, move).V(StoppingDistance), 0.03515625, 1e-12)
}

// TestLifeByDamage adds up the damage of each flank, cycle by cycle: a
// revolution under load F uses up 1/((C/F)³·10⁶) of its flank's life. What a
// flank lives follows, and the two are combined with Weibull's slope of 10/9,
// by which each survives L revolutions with 0.9^((L/L₁)^(10/9)). The rating of
// 16 kN is lowered by 0.9 for the grade and by (613/654)² for HRC 56, and the
// life by 0.62 for 95 % reliability.
func TestLifeByDamage(t *testing.T) {
	const declared, derate, reliable, fw = 16e3, 0.9 * 613 / 654 * 613 / 654, 0.62, 1.3
	const rating = declared * derate
	for name, x := range simulations {
		x.s.eta = 0.9
		s, c := simulated(x.s, x.moves)
		leaves := vals{DynamicRating: declared, LoadFactorGiven: fw, GradeFactorGiven: 0.9, Hardness: 56, Reliability: 0.95, HoursPerDay: 16, DaysPerYear: 240, ServiceLife: 5 * 31557600}
		for q, v := range leaves {
			c.Set(q, v)
		}
		c.Run()
		damage := func(cubes float64) float64 { return cubes * math.Pow(fw/rating, 3) / 1e6 / s.lead } // of a cycle
		lives := [2]float64{s.revolutions / damage(s.plus), s.revolutions / damage(s.minus)}
		within(t, name+": life of one flank", c.V(LifePlus), lives[0], 2e-3)
		within(t, name+": life of the other", c.V(LifeMinus), lives[1], 2e-3)
		survive := func(l float64) float64 {
			return -math.Pow(0.9, math.Pow(l/lives[0], 10.0/9)) * math.Pow(0.9, math.Pow(l/lives[1], 10.0/9))
		}
		life := reliable * solve(survive, -0.9, 0, math.Min(lives[0], lives[1]))
		within(t, name+": life", c.V(Life), life, 2e-3)
		// Calendar: the cycles of a year turn the screw so much.
		yearly := 16 * 3600 * 240 / s.time * s.revolutions
		within(t, name+": revolutions a year", c.V(RevsPerYear), yearly, 1e-3)
		within(t, name+": cycles a year", c.V(CyclesPerYear), 16*3600*240/s.time, 1e-3)
		within(t, name+": life in years", c.V(LifeYears)/31557600, life/yearly, 3e-3)
		within(t, name+": ratio", c.V(LifeRatio), life/yearly/5, 3e-3)
		within(t, name+": asked revolutions", c.V(AskedRevs), 5*yearly, 1e-3)
		// Hours of motion: cycles lived times the moving time of one.
		within(t, name+": life in hours", c.V(LifeHours), life/s.revolutions*s.moving, 3e-3)
		within(t, name+": life in distance", c.V(LifeDistance), life*s.lead, 2e-3)
		within(t, name+": distance a year", c.V(DistancePerYear), yearly*s.lead, 1e-3)
		within(t, name+": distance a day", c.V(DistancePerDay), yearly*s.lead/240, 1e-3)
		// The rating needed carries the mean load for the asked life.
		need := solve(func(r float64) float64 {
			return reliable * s.revolutions / (s.cube * math.Pow(fw/(r*derate), 3) / 1e6 / s.lead)
		}, 5*yearly, 1, 1e6)
		within(t, name+": needed rating", c.V(Needed), need, 1e-3)
	}
}

// TestTorqueLineByHand: 4 N·m up to 3000 rpm, falling to 2 N·m at 5000 rpm:
// 3 N·m at 4000 rpm.
func TestTorqueLineByHand(t *testing.T) {
	for _, x := range []struct{ n, want float64 }{{0, 4}, {3000, 4}, {4000, 3}, {4500, 2.5}, {5000, 2}, {6000, 2}} {
		within(t, "torque", AvailableTorque(x.n*rpm, 4, 3000*rpm, 2, 5000*rpm), x.want, 1e-12)
	}
	within(t, "no line", AvailableTorque(4000*rpm, 4, math.NaN(), 2, 5000*rpm), 4, 0)
	// An axis without load but its rotor: 1e-3 kg·m² at 5 m/s² of braking over
	// 10 mm: 1e-3·5·2π/0.01 = π N·m, at 4000 rpm·10 mm = 0.667 m/s.
	c := axisOf(vals{
		MovedMassGiven: 1e-9, Friction: 0, Lead: 10 * mm, NominalDiameter: 25 * mm, Backlash: 0, ThreadFriction: 0.003,
		Turning: NutTurns, NutInertia: 0, Ratio: 1, RotorInertia: 1e-3, Orientation: Horizontal, Screws: 1,
		MotorPeakTorque: 4, MotorRatedSpeed: 3000 * rpm, MotorTopTorque: 2, MotorMaxSpeed: 5000 * rpm,
	}, aMove{dist: 1, speed: 4000.0 / 60 * 10 * mm, up: 2, down: 5})
	within(t, "torque share", c.V(TorqueShare), math.Pi/3, 1e-6)
	within(t, "peak torque", c.V(PeakTorque), math.Pi, 1e-6)
	within(t, "peak power", c.V(PeakPower), math.Pi*4000*rpm, 1e-6)
}
