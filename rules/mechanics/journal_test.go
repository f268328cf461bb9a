package mechanics

import (
	"math"
	"testing"
)

// shigley71 are the loads of the shaft of Shigley, example 7-1.
var shigley71 = Loads{BendingA: 1260 * lbf * inch, TorqueM: 1100 * lbf * inch}

func init() {
	for id, f := range map[string]example{
		"SF01a": func() float64 { return Notch{1.58, 1.37, 1}.Fatigue(1.1*inch, shigley71, 29.3e3*psi, 105e3*psi) },
		"SF01e": func() float64 {
			return Notch{1.58, 1.37, 1}.Yield(1.1*inch, 1260*lbf*inch, 1100*lbf*inch, 0, 82e3*psi)
		},
		"SF02a": func() float64 {
			return Notch{1.49, 1.33, 1}.Fatigue(1.625*inch, Loads{BendingA: 3651 * lbf * inch, TorqueM: 3240 * lbf * inch}, 25.1e3*psi, 68e3*psi)
		},
		"SF02b": func() float64 {
			return Notch{1.74, 2.8, 1}.Fatigue(1.625*inch, Loads{BendingA: 3750 * lbf * inch, TorqueM: 3240 * lbf * inch}, 25.1e3*psi, 68e3*psi)
		},
		"SF02c": func() float64 { return EnduranceLimit(68e3*psi, 1.625*inch, 0.5) / (1e3 * psi) },
		"SF07": func() float64 {
			safety := func(d float64) float64 { return Notch{1, 1, 1}.Yield(d, 0, 5e3/(1000*rpm), 0, 300e6) }
			return solve(safety, 2, 1*mm, 100*mm) / mm
		},
	} {
		examples[id] = f
	}
}

// journal is the axis of TestTorqueByHand, level, on a belt: 100 N at 30 mm.
var journal = vals{
	MovedMassGiven: 50, Friction: 0.02, Orientation: Horizontal, Lead: 10 * mm, NominalDiameter: 25 * mm,
	ThreadFrictionGiven: 0.003, EfficiencyGiven: 0.9, Backlash: 0, DriveSupportDrag: 0.1, Turning: ShaftTurns, Density: 1e-9, ShaftLength: 0.1, CouplingInertia: 4e-4,
	Ratio: 2, GearEfficiencyGiven: 0.95, RotorInertia: 0.6e-4, GearInertiaGiven: 0.4e-4, RootDiameter: 20 * mm, Screws: 1,
	DriveEnd: FixedEnd, FarEnd: SupportedEnd, YieldStrengthGiven: 300e6, TensileStrength: 500e6, Reliability: 0.9,
	DriveSupportBore: 15 * mm, DriveJournalGiven: 10 * mm, DriveShoulder: SharpFillet, DriveKeyway: NoNotch, DriveGroove: NoNotch,
	FarSupportBore: 12 * mm, FarShoulder: SharpFillet, FarGroove: NoNotch, BeltPull: 100, BeltOverhang: 30 * mm,
}

// TestJournalByHand: the forces of TestTorqueByHand go from −209.807 to 190.193 N,
// the torques, with the travel, from −1.47633 to 1.200766 N·m: amplitudes 200 N and
// 1.338548 N·m, middles 9.80665 N and 0.137782 N·m. Bending 3 N·m.
//
//	yield, shoulder: bending 32·3/(π·10³)·2.7 = 82.506, axial 4·209.807/(π·10²)·3 = 8.014,
//	torsion 16·1.47633/(π·10³)·2.2 = 16.541 N/mm²: √(90.520² + 3·16.541²) = 94.946; 300/94.946 = 3.1597
//	k_a 4.51·500^(−0.265) = 0.86886, k_b 1.24·10^(−0.107) = 0.96922, k_e 1 − 0.08·1.28155 = 0.89748: 188.94 N/mm²
//	fatigue: √((82.506 + 8.988)² + 3·14.998²) = 95.111; √(0.3746² + 3·1.5438²) = 2.7000
//	1/(95.111/188.94 + 2.7000/500) = 1.9655
//	with a ring groove: yield 300/170.68 = 1.7577, fatigue 1.0930
func TestJournalByHand(t *testing.T) {
	move := aMove{dist: -1, speed: 1, up: 4, down: 4, dwell: 0.5}
	c := axisOf(journal, move)
	near(t, "force amplitude", c.V(ForceAmplitude), 200, 1e-6)
	near(t, "force middle", c.V(ForceMiddle), 9.80665, 1e-6)
	near(t, "torque amplitude", c.V(TorqueAmplitude), 1.338548, 2e-6)
	near(t, "torque middle", c.V(TorqueMiddle), 0.137782, 2e-6)
	near(t, "belt", c.V(BeltMoment), 3, 1e-12)
	near(t, "diameter", c.V(DriveJournal), 10*mm, 0)
	near(t, "diameter of the far end", c.V(FarJournal), 12*mm, 0)
	near(t, "endurance", c.V(DriveEndurance)/1e6, 188.943, 2e-3)
	near(t, "yield", c.V(DriveYield), 3.1597, 1e-4)
	near(t, "fatigue", c.V(DriveFatigue), 1.9655, 1e-4)
	// A keyway is the milder notch here, a ring groove the worse one.
	key := axisOf(journal.with(vals{DriveKeyway: 1}), move)
	near(t, "yield with a keyway", key.V(DriveYield), 3.1597, 1e-4)
	ring := axisOf(journal.with(vals{DriveGroove: 1}), move)
	near(t, "yield with a ring groove", ring.V(DriveYield), 1.7577, 1e-4)
	near(t, "fatigue with a ring groove", ring.V(DriveFatigue), 1.0930, 1e-4)
	// The far end is free to move along: it carries nothing.
	near(t, "far end", 1/c.V(FarYield), 0, 0)
	near(t, "far end", 1/c.V(FarFatigue), 0, 0)
	// Fixed there instead, 12 mm: 300·π·144/(4·3·209.807) and 5/0.9 times less.
	far := axisOf(journal.with(vals{DriveEnd: SupportedEnd, FarEnd: FixedEnd}), move)
	near(t, "yield of a fixed far end", far.V(FarYield), 300*math.Pi*144/(12*209.80665), 1e-6)
	// No diameter is said: the bore counts, of support or coupling the lesser.
	bores := axisOf(journal.with(vals{DriveJournalGiven: math.NaN()}), move)
	near(t, "bore", bores.V(DriveJournal), 15*mm, 0)
	both := axisOf(journal.with(vals{DriveJournalGiven: math.NaN(), CouplingBore: 11 * mm}), move)
	near(t, "bores", both.V(DriveJournal), 11*mm, 0)
	// Two screws on one motor: the driven end carries the torque of both.
	two := axisOf(journal.with(vals{Screws: 2, Unevenness: 1, MotorScrewsGiven: 2, BeltPull: 0}), move)
	one := axisOf(journal.with(vals{Screws: 2, Unevenness: 1, MotorScrewsGiven: 1, BeltPull: 0}), move)
	if two.V(DriveYield) >= one.V(DriveYield) {
		t.Errorf("with the torque of two screws the safety is %g, with that of one %g", two.V(DriveYield), one.V(DriveYield))
	}
}

// TestBeltOrNone: a ratio without a coupling is a belt or a gear, whose pull must
// be said; straight, or with a coupling, nothing pulls.
func TestBeltOrNone(t *testing.T) {
	for _, x := range []struct {
		what   string
		leaves vals
		want   float64
	}{
		{"straight", vals{Ratio: 1}, 0},
		{"a gear with a coupling", vals{Ratio: 3, CouplingTorque: 9}, 0},
		{"said to pull nothing", vals{Ratio: 3, BeltPull: 0}, 0},
		{"a belt on the nut", vals{Ratio: 3, Turning: NutTurns}, 0},
		{"a belt", vals{Ratio: 1, BeltPull: 200, BeltOverhang: 0.05}, 10},
		{"not said", vals{Ratio: 3}, math.NaN()},
		{"not said where", vals{Ratio: 3, BeltPull: 200}, math.NaN()},
	} {
		got := axisOf(vals{Turning: ShaftTurns}.with(x.leaves)).V(BeltMoment)
		if got != x.want && !(math.IsNaN(got) && math.IsNaN(x.want)) {
			t.Errorf("%s: %g N·m, expected %g", x.what, got, x.want)
		}
	}
}

// TestEnduranceByReliability: k_e 0.897, 0.868 and 0.814 at 90, 95 and 99 %
// (Shigley, table 6-5, from memory), and no more of it with size.
func TestEnduranceByReliability(t *testing.T) {
	half := EnduranceLimit(600e6, 20*mm, 0.5)
	for r, want := range map[float64]float64{0.9: 0.897, 0.95: 0.868, 0.99: 0.814} {
		near(t, "k_e", EnduranceLimit(600e6, 20*mm, r)/half, want, 6e-4)
	}
	last := math.Inf(1)
	for d := 2.0; d < 200; d += 0.5 {
		s := EnduranceLimit(600e6, d*mm, 0.9)
		if s > last*1.01 { // the two lines of the size factor meet within 1 %
			t.Errorf("%g mm: %g MPa after %g", d, s/1e6, last/1e6)
		}
		last = s
	}
}
