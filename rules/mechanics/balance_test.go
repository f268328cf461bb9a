package mechanics

import (
	"math"
	"testing"
)

// balanced are axes whose energy is accounted for.
var balanced = map[string]struct {
	leaves vals
	moves  []aMove
}{
	"horizontal": {
		vals{
			MovedMassGiven: 60, Friction: 0.02, InclineGiven: 0, DragGiven: 30, Counterbalance: 0, BalanceKind: aSpring, Screws: 1, Unevenness: 1, MotorScrewsGiven: 1,
			Lead: 20 * mm, NominalDiameter: 25 * mm, ThreadFrictionGiven: 0.004, EfficiencyGiven: 0.9, DriveSupportDrag: 0.1, Backlash: 0,
			Turning: NutTurns, NutInertia: 3e-4, Ratio: 1, GearEfficiencyGiven: 1, RotorInertia: 2e-4,
		},
		[]aMove{{dist: 0.5, speed: 0.6, up: 4, down: 5, thrust: 200, dwell: 0.3}, {dist: -0.5, speed: 0.9, up: 6, down: 3, payload: 8}},
	},
	"lifting": {
		vals{
			MovedMassGiven: 80, Friction: 0.01, InclineGiven: 90 * deg, DragGiven: 40, Counterbalance: 200, BalanceKind: aSpring, Screws: 2, Unevenness: 1.2, MotorScrewsGiven: 1,
			Lead: 10 * mm, NominalDiameter: 25 * mm, ThreadFrictionGiven: 0.004, EfficiencyGiven: 0.88, DriveSupportDrag: 0.05, Backlash: 0,
			Turning: NutTurns, NutInertia: 2e-4, Ratio: 2, GearEfficiencyGiven: 0.95, RotorInertia: 1e-4,
		},
		[]aMove{
			{dist: 0.4, speed: 0.3, up: 2, down: 3, payload: 25, dwell: 0.4},
			{dist: -0.1, speed: 0.5, up: 5, down: 5, dwell: 0.1},
			{dist: -0.02, speed: 0.5, up: 4, down: 6, thrust: -20}, // a triangle: √(2·0.02·2.4) = 0.31 m/s
			{dist: -0.28, speed: 0.4, up: 7, down: 2, thrust: 50, dwell: 0.2},
		},
	},
	"two screws on one motor": {
		vals{
			MovedMassGiven: 90, Friction: 0.02, InclineGiven: 90 * deg, DragGiven: 20, Counterbalance: 0, BalanceKind: aSpring, Screws: 2, Unevenness: 1.1, MotorScrewsGiven: 2,
			Lead: 10 * mm, NominalDiameter: 25 * mm, ThreadFrictionGiven: 0.004, EfficiencyGiven: 0.9, DriveSupportDrag: 0.08, Backlash: 0,
			Turning: NutTurns, NutInertia: 2e-4, Ratio: 1, GearEfficiencyGiven: 1, RotorInertia: 3e-4,
		},
		[]aMove{{dist: 0.4, speed: 0.4, up: 3, down: 2, payload: 10, dwell: 0.3}, {dist: -0.4, speed: 0.5, up: 4, down: 3, dwell: 0.2}},
	},
	"inclined with preload": {
		vals{
			MovedMassGiven: 45, Friction: 0.05, InclineGiven: 35 * deg, DragGiven: 15, Counterbalance: 0, BalanceKind: aSpring, Screws: 1, Unevenness: 1, MotorScrewsGiven: 1,
			Lead: 16 * mm, NominalDiameter: 25 * mm, ThreadFrictionGiven: 0.004, EfficiencyGiven: 0.92, DriveSupportDrag: 0, Preload: 300,
			Turning: NutTurns, NutInertia: 4e-4, Ratio: 1.5, GearEfficiencyGiven: 0.97, RotorInertia: 3e-4,
		},
		[]aMove{{dist: 0.3, speed: 0.8, up: 9, down: 6, dwell: 0.5}, {dist: -0.3, speed: 0.5, up: 3, down: 11, payload: 12, thrust: 900}},
	},
}

// TestDragTorqueParts: reference torque by hand. tan φ = 16/(25π) = 0.20372,
// 0.05/√0.20372 = 0.110777; ·300 N·16 mm/2π = 0.763944 N·m → 0.084627 N·m.
func TestDragTorqueParts(t *testing.T) {
	base := vals{Lead: 16 * mm, NominalDiameter: 25 * mm, Preload: 300}
	near(t, "preload alone", axisOf(base).V(DragTorque), 0.084627, 2e-6)
	near(t, "with supports", axisOf(base.with(vals{DriveSupportDrag: 0.03, FarSupportDrag: 0.02})).V(DragTorque), 0.134627, 2e-6)
	near(t, "with play", axisOf(vals{Lead: 16 * mm, NominalDiameter: 25 * mm, Backlash: 1e-5, FarSupportDrag: 0.02}).V(DragTorque), 0.02, 0)
	// 0.6 and 1.4 of 84.627 mN·m: a maker may deliver a nut of 50.8 or 118.5 mN·m.
	near(t, "a light nut", axisOf(base.with(vals{Case: Light, BallCircleGiven: 25 * mm})).V(NutDrag), 0.050776, 2e-6)
	near(t, "a heavy nut", axisOf(base.with(vals{Case: Heavy, BallCircleGiven: 25 * mm})).V(NutDrag), 0.118478, 2e-6)
	near(t, "as measured", axisOf(base.with(vals{Case: Heavy, NutDragGiven: 0.09, DriveSupportDrag: 0.03})).V(DragTorque), 0.12, 1e-12)
	if v, ok := axisOf(vals{Lead: 16 * mm, NominalDiameter: 25 * mm}).Value(DragTorque); ok {
		t.Errorf("drag torque %g though neither preload nor play is known", v)
	}
}

// TestEnergyOfTheCarriage: over any move from rest to rest, the work of the
// screws is what friction and process take and what the weight gains.
func TestEnergyOfTheCarriage(t *testing.T) {
	for name, x := range balanced {
		l, c := x.leaves, axisOf(x.leaves, x.moves...)
		lead, turnDrag := l[Lead], c.V(DragTorque)
		work, torqueWork, screwOut, motorWork := 0.0, 0.0, 0.0, 0.0
		force, dist, tj, mj := c.Series(PhaseForce), c.Series(PhaseDistance), c.Series(PhaseTorque), c.Series(MotorPhaseTorque)
		friction, lift := 0.0, 0.0
		for i, m := range x.moves {
			dir := math.Copysign(1, m.dist)
			for p := range PhasesPerMove {
				j := i*PhasesPerMove + p
				work += force[j] * dir * dist[j]
				angle := 2 * math.Pi * dist[j] / lead
				torqueWork += tj[j] * angle
				motorWork += mj[j] * angle * l[Ratio]
				if out := force[j] * dir * dist[j]; out > 0 {
					screwOut += out / l[EfficiencyGiven]
				} else {
					screwOut += out * c.V(BackEfficiency)
				}
				screwOut += turnDrag * angle
			}
			g := 9.80665 * (l[MovedMassGiven] + m.payload)
			friction += (l[Friction]*g*math.Cos(l[InclineGiven]) + l[DragGiven] + m.thrust) * math.Abs(m.dist)
			lift += (g*math.Sin(l[InclineGiven]) - l[Counterbalance]) * m.dist
		}
		within(t, name+": work of the screw", work, (friction+lift)*l[Unevenness]/l[Screws], 1e-9)
		within(t, name+": work at the screw", torqueWork, screwOut, 1e-9)
		if l[GearEfficiencyGiven] == 1 {
			within(t, name+": work of the motor", motorWork, l[MotorScrewsGiven]*torqueWork, 1e-9)
		} else if motorWork <= torqueWork {
			t.Errorf("%s: the gear gives work away", name)
		}
	}
}

// TestCarriedEnergyReturns: where load drives the screw with η′ and the screw
// drives the load with η, a closed cycle without friction returns less than
// it takes.
func TestCarriedEnergyReturns(t *testing.T) {
	c := axisOf(vals{
		MovedMassGiven: 50, Friction: 0, Orientation: Vertical, Screws: 1, Lead: 10 * mm, NominalDiameter: 25 * mm, ThreadFrictionGiven: 0.004,
		EfficiencyGiven: 0.9, Backlash: 0, Turning: NutTurns, NutInertia: 0, Ratio: 1, RotorInertia: 0,
	}, aMove{dist: 0.3, speed: 0.3, up: 3, down: 3}, aMove{dist: -0.3, speed: 0.3, up: 3, down: 3})
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

// TestTorqueLineByHand: 4 N·m up to 3000 rpm, falling to 2 N·m at 5000 rpm:
// 3 N·m at 4000 rpm.
func TestTorqueLineByHand(t *testing.T) {
	for _, x := range []struct{ n, want float64 }{{0, 4}, {3000, 4}, {4000, 3}, {4500, 2.5}, {5000, 2}, {6000, 2}} {
		within(t, "torque", AvailableTorque(x.n*rpm, 4, 3000*rpm, 2, 5000*rpm), x.want, 1e-12)
	}
	within(t, "no line", AvailableTorque(4000*rpm, 4, math.NaN(), 2, 5000*rpm), 4, 0)
	within(t, "a line that rises", AvailableTorque(4000*rpm, 4, 3000*rpm, 5, 5000*rpm), 4, 0)
	// An axis without load but its rotor: 1e-3 kg·m² at 5 m/s² of braking over
	// 10 mm: 1e-3·5·2π/0.01 = π N·m, at 4000 rpm·10 mm = 0.667 m/s.
	c := axisOf(vals{
		MovedMassGiven: 1e-9, Friction: 0, Lead: 10 * mm, NominalDiameter: 25 * mm, Backlash: 0, ThreadFrictionGiven: 0.003,
		Turning: NutTurns, NutInertia: 0, Ratio: 1, RotorInertia: 1e-3, Orientation: Horizontal, Screws: 1,
		MotorPeakTorque: 4, MotorRatedSpeedGiven: 3000 * rpm, MotorTopTorqueGiven: 2, MotorMaxSpeed: 5000 * rpm,
	}, aMove{dist: 1, speed: 4000.0 / 60 * 10 * mm, up: 2, down: 5})
	within(t, "torque share", c.V(TorqueShare), math.Pi/3, 1e-6)
	within(t, "peak torque", c.V(PeakTorque), math.Pi, 1e-6)
	within(t, "peak power", c.V(PeakPower), math.Pi*4000*rpm, 1e-6)
}
