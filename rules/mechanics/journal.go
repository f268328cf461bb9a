package mechanics

import (
	"fmt"
	"math"
	"strings"

	u "trammel/spec/unit"
)

const srcShigley = "Shigley's Mechanical Engineering Design, ch. 6 and 7 (from memory)"

// A Notch holds the stress concentration factors of one, for bending, torsion and
// axial force.
type Notch struct{ Bending, Torsion, Axial float64 }

// Notches of a journal, for a first pass: Shigley's Mechanical Engineering
// Design, table 7-1 (from memory). No axial force passes a keyway, which lies
// outside of the thrust bearing.
var (
	SharpShoulder   = Notch{2.7, 2.2, 3}
	RoundedShoulder = Notch{1.7, 1.5, 1.9}
	EndMilledKeyway = Notch{2.14, 3, 0}
	RingGroove      = Notch{5, 3, 5}
)

// Loads are those of a journal: bending moment and torque in N·m, axial force in
// N, amplitude and mean of each over the cycle.
type Loads struct{ BendingA, TorqueA, AxialA, BendingM, TorqueM, AxialM float64 }

// stress is the equivalent stress (von Mises) in Pa at a notch of a round
// section of diameter d in m.
func (k Notch) stress(d, bending, torque, axial float64) float64 {
	s := k.Bending*32*bending/(math.Pi*d*d*d) + k.Axial*4*axial/(math.Pi*d*d)
	tau := k.Torsion * 16 * torque / (math.Pi * d * d * d)
	return math.Sqrt(s*s + 3*tau*tau)
}

// Fatigue is the safety against fatigue at the notch of a journal of diameter d
// in m: 1/(σ′_a/S_e + σ′_m/S_ut), distortion energy with Goodman's line, the
// axial amplitude counted 1/0.85 times (Shigley, ch. 6 and 7). se and sut in Pa.
func (k Notch) Fatigue(d float64, l Loads, se, sut float64) float64 {
	return 1 / (k.stress(d, l.BendingA, l.TorqueA, l.AxialA/0.85)/se + k.stress(d, l.BendingM, l.TorqueM, l.AxialM)/sut)
}

// Yield is the safety against yielding in the first cycle, the concentration
// counted in full (Shigley, ch. 7). sy in Pa.
func (k Notch) Yield(d, bending, torque, axial, sy float64) float64 {
	return sy / k.stress(d, bending, torque, axial)
}

// EnduranceLimit is the strength in Pa against reversed stress of a machined steel
// journal of diameter d in m and tensile strength sut in Pa that a share r of
// journals has: k_a·k_b·k_e·S_ut/2, at most 700 MPa before the factors, with k_a =
// 4.51·S_ut^(−0.265), k_b = 1.24·d^(−0.107) to 51 mm and 1.51·d^(−0.157) above, and
// k_e = 1 − 0.08·z (Shigley, ch. 6; S_ut in MPa, d in mm).
func EnduranceLimit(sut, d, r float64) float64 {
	ka := math.Min(1, 4.51*math.Pow(sut/1e6, -0.265))
	mm := d * 1e3
	kb := math.Min(1, 1.24*math.Pow(mm, -0.107))
	if mm > 51 {
		kb = 1.51 * math.Pow(mm, -0.157)
	}
	return ka * kb * (1 - 0.08*quantile(r)) * math.Min(sut/2, 700e6)
}

// quantile is how many standard deviations above the mean of a normal distribution
// a share lies below.
func quantile(share float64) float64 { return math.Sqrt2 * math.Erfinv(2*share-1) }

// enduranceSmall and enduranceLarge are the formula of EnduranceLimit for a diameter
// to 51 mm and above; z is the text of the quantile.
func enduranceSmall(d, z string) string {
	return enduranceText("min(1, 1.24·("+d+"/1 mm)^(−0.107))", z)
}

func enduranceLarge(d, z string) string { return enduranceText("1.51·("+d+"/1 mm)^(−0.157)", z) }

func enduranceText(size, z string) string {
	return "min(1, 4.51·(S_ut/1 MPa)^(−0.265))·" + size + "·(1 − 0.08·" + z + ")·min(S_ut/2, 700 MPa)"
}

// enduranceFor is the case in force for the tensile strength, the diameter of the
// symbol and the reliability.
func enduranceFor(d string) func(a []float64) string {
	return func(a []float64) string {
		z := plainNumber(quantile(a[2]))
		if a[2] < 0.5 {
			z = "(" + strings.Replace(z, "-", "−", 1) + ")"
		}
		if a[1]*1e3 > 51 {
			return enduranceLarge(d, z)
		}
		return enduranceSmall(d, z)
	}
}

// extremes gives amplitude and middle of what a series holds in phases that last,
// each value with its sign in space.
func extremes(values, times []float64, signed func(j int) float64) (amplitude, middle float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for j := range values {
		if times[j] > 0 {
			lo, hi = math.Min(lo, signed(j)), math.Max(hi, signed(j))
		}
	}
	if lo > hi {
		return 0, 0 // nothing lasts
	}
	return (hi - lo) / 2, math.Abs(hi+lo) / 2
}

// forceRange and torqueRange are extremes of the axial force and of the torque on
// the screw. A torque acts with the travel, and at rest with the force.
func forceRange(s [][]float64) (float64, float64) {
	return extremes(s[0], s[1], func(j int) float64 { return s[0][j] })
}

func torqueRange(s [][]float64) (float64, float64) {
	return extremes(s[0], s[1], func(j int) float64 {
		if Part(j%PhasesPerMove) == Rest {
			return s[0][j] * sign(s[3][j])
		}
		return s[0][j] * s[2][j/PhasesPerMove]
	})
}

// signedTorque is what torqueRange looks at.
const signedTorque = "T = s·T_j if phase is not rest; T_j if F_j ≥ 0; −T_j"

// Loads of the journals.
var (
	ForceAmplitude = fold(Quantity{
		Name: "force_amplitude", Section: OfStrength, Symbol: "F_a", Title: "amplitude of the axial force over the cycle (half its range)", Kind: u.Force,
		Formula: "(max(F_j) − min(F_j))/2", Source: srcElementary, Needs: qs(PhaseForce, PhaseTime),
	}, func(s [][]float64, _ []float64) float64 { a, _ := forceRange(s); return a })

	ForceMiddle = fold(Quantity{
		Name: "force_middle", Section: OfStrength, Symbol: "F_mid", Title: "midrange value of the axial force over the cycle", Kind: u.Force,
		Formula: "|max(F_j) + min(F_j)|/2", Source: srcElementary, Needs: qs(PhaseForce, PhaseTime),
	}, func(s [][]float64, _ []float64) float64 { _, m := forceRange(s); return m })

	TorqueAmplitude = fold(Quantity{
		Name: "torque_amplitude", Section: OfStrength, Symbol: "T_a", Title: "amplitude of the torque on the screw over the cycle (half its range)", Kind: u.Torque,
		Formula: "(max T − min T)/2 where " + signedTorque, Source: srcElementary, Needs: qs(PhaseTorque, PhaseTime, MoveDirection, PhaseForce),
	}, func(s [][]float64, _ []float64) float64 { a, _ := torqueRange(s); return a })

	TorqueMiddle = fold(Quantity{
		Name: "torque_middle", Section: OfStrength, Symbol: "T_mid", Title: "midrange value of the torque on the screw over the cycle", Kind: u.Torque,
		Formula: "|max T + min T|/2 where " + signedTorque, Source: srcElementary, Needs: qs(PhaseTorque, PhaseTime, MoveDirection, PhaseForce),
	}, func(s [][]float64, _ []float64) float64 { _, m := torqueRange(s); return m })

	BeltMoment = calc(Quantity{
		Name: "belt_moment", Section: OfStrength, Symbol: "M_b", Title: "bending moment at the driven end from belt pull", Kind: u.Torque,
		Formula: "0 if turning is nut; F_b·l_b if F_b > 0; 0", Source: srcElementary,
		Needs: qs(Ratio, Turning), May: qs(BeltPull, BeltOverhang, CouplingTorque), Lacks: qs(BeltPull),
		lackOf: func(c *Calc) []*Quantity {
			if c.V(BeltPull) > 0 {
				return qs(BeltOverhang)
			}
			return qs(BeltPull)
		},
		inForce: func(a []float64) string {
			if a[1] != NutTurns && a[2] > 0 {
				return "F_b·l_b"
			}
			return "0"
		},
	}, func(a []float64) float64 {
		switch coupled := a[0] == 1 || a[4] == a[4]; {
		case a[1] == NutTurns:
			return 0
		case a[2] > 0:
			return a[2] * a[3]
		case a[2] == 0 || coupled:
			return 0
		}
		return math.NaN() // a ratio, and nothing says by what
	})
)

// The journals.
var (
	DriveJournal = calc(Quantity{
		Name: "drive_journal_diameter", Section: OfStrength, Symbol: "d_j1", Title: "smallest diameter of the driven end", Kind: u.Length,
		Formula: "d_e1 if d_e1 is given; min(d_b1, d_bc) if d_b1 is given and d_bc is given; d_b1 if d_b1 is given; d_bc", Source: "taking the bore is common practice, no source",
		May: qs(DriveJournalGiven, DriveSupportBore, CouplingBore), Lacks: qs(DriveJournalGiven),
		inForce: func(a []float64) string {
			if a[0] == a[0] {
				return "d_e1"
			}
			if a[1] == a[1] && a[2] == a[2] {
				return "min(d_b1, d_bc)"
			}
			return joinedBy("", given("d_b1", a[1], "d_b1"), given("d_bc", a[2], "d_bc"))
		},
	}, func(a []float64) float64 {
		if a[0] == a[0] {
			return a[0]
		}
		return or(math.Min(or(a[1], a[2]), or(a[2], a[1])), math.NaN())
	})

	FarJournal = calc(Quantity{
		Name: "far_journal_diameter", Section: OfStrength, Symbol: "d_j2", Title: "smallest diameter of the far end", Kind: u.Length,
		Formula: "d_e2 if d_e2 is given; d_b2", Source: "taking the bore is common practice, no source",
		May: qs(FarJournalGiven, FarSupportBore), Lacks: qs(FarJournalGiven), inForce: firstOf("d_e2", "d_b2"),
	}, func(a []float64) float64 { return or(a[0], a[1]) })

	DriveEndurance = calc(Quantity{
		Name: "drive_endurance_limit", Section: OfStrength, Symbol: "S_e1", Title: "endurance limit of the driven end", Kind: u.Stress,
		Formula: enduranceSmall("d_j1", "quantile(S)") + " if d_j1 ≤ 51 mm; " + enduranceLarge("d_j1", "quantile(S)"), Source: srcShigley,
		Needs: qs(TensileStrength, DriveJournal, Reliability), inForce: enduranceFor("d_j1"),
	}, f3(EnduranceLimit))

	FarEndurance = calc(Quantity{
		Name: "far_endurance_limit", Section: OfStrength, Symbol: "S_e2", Title: "endurance limit of the far end", Kind: u.Stress,
		Formula: enduranceSmall("d_j2", "quantile(S)") + " if d_j2 ≤ 51 mm; " + enduranceLarge("d_j2", "quantile(S)"), Source: srcShigley,
		Needs: qs(TensileStrength, FarJournal, Reliability), inForce: enduranceFor("d_j2"),
	}, f3(EnduranceLimit))

	DriveYield = calc(Quantity{
		Name: "drive_journal_yield_safety", Section: OfStrength, Symbol: "S_y1", Title: "safety of the driven end against yielding at its worst notch", Kind: u.None,
		Formula: driveYieldText(driveNotchesText("Y"), "F_max + F_ff if drive_end is fixed; 0"), Source: srcShigley,
		Needs: qs(DriveJournal, DriveShoulder, DriveKeyway, DriveGroove, DriveEnd, PeakForce, HeldForce, PeakScrewTorque, MotorScrews, BeltMoment, YieldStrength),
		inForce: func(a []float64) string {
			return driveYieldText(worstText("Y", Notches(a[1], a[2], a[3])), thrustText(a[4], "F_max + F_ff"))
		},
	}, func(a []float64) float64 {
		axial := thrustAt(a[4], a[5]+a[6])
		return worstNotch(Notches(a[1], a[2], a[3]), func(k Notch) float64 { return k.Yield(a[0], a[9], a[8]*a[7], axial, a[10]) })
	})

	DriveFatigue = calc(Quantity{
		Name: "drive_journal_fatigue_safety", Section: OfStrength, Symbol: "S_f1", Title: "safety of the driven end against fatigue at its worst notch", Kind: u.None,
		Formula: driveFatigueText(driveNotchesText("U"), "F_a/0.85 if drive_end is fixed; 0", "F_mid + F_ff if drive_end is fixed; 0"), Source: srcShigley,
		Needs: qs(DriveJournal, DriveShoulder, DriveKeyway, DriveGroove, DriveEnd, ForceAmplitude, ForceMiddle, HeldForce, TorqueAmplitude, TorqueMiddle, MotorScrews, BeltMoment, DriveEndurance, TensileStrength),
		inForce: func(a []float64) string {
			return driveFatigueText(worstText("U", Notches(a[1], a[2], a[3])), thrustText(a[4], "F_a/0.85"), thrustText(a[4], "F_mid + F_ff"))
		},
	}, func(a []float64) float64 {
		l := Loads{a[11], a[10] * a[8], thrustAt(a[4], a[5]), 0, a[10] * a[9], thrustAt(a[4], a[6]+a[7])}
		return worstNotch(Notches(a[1], a[2], a[3]), func(k Notch) float64 { return k.Fatigue(a[0], l, a[12], a[13]) })
	})

	FarYield = calc(Quantity{
		Name: "far_journal_yield_safety", Section: OfStrength, Symbol: "S_y2", Title: "safety of the far end against yielding at its worst notch", Kind: u.None,
		Formula: farYieldText(farNotchText, "F_max + F_ff if far_end is fixed; 0"), Source: srcShigley,
		Needs: qs(FarJournal, FarShoulder, FarGroove, FarEnd, PeakForce, HeldForce, YieldStrength),
		inForce: func(a []float64) string {
			return farYieldText(worstAxial(a[1], a[2]), thrustText(a[3], "F_max + F_ff"))
		},
	}, func(a []float64) float64 {
		axial := thrustAt(a[3], a[4]+a[5])
		return worstNotch(Notches(a[1], NoNotch, a[2]), func(k Notch) float64 { return k.Yield(a[0], 0, 0, axial, a[6]) })
	})

	FarFatigue = calc(Quantity{
		Name: "far_journal_fatigue_safety", Section: OfStrength, Symbol: "S_f2", Title: "safety of the far end against fatigue at its worst notch", Kind: u.None,
		Formula: farFatigueText(farNotchText, "F_a/0.85 if far_end is fixed; 0", "F_mid + F_ff if far_end is fixed; 0"), Source: srcShigley,
		Needs: qs(FarJournal, FarShoulder, FarGroove, FarEnd, ForceAmplitude, ForceMiddle, HeldForce, FarEndurance, TensileStrength),
		inForce: func(a []float64) string {
			return farFatigueText(worstAxial(a[1], a[2]), thrustText(a[3], "F_a/0.85"), thrustText(a[3], "F_mid + F_ff"))
		},
	}, func(a []float64) float64 {
		l := Loads{AxialA: thrustAt(a[3], a[4]), AxialM: thrustAt(a[3], a[5]+a[6])}
		return worstNotch(Notches(a[1], NoNotch, a[2]), func(k Notch) float64 { return k.Fatigue(a[0], l, a[7], a[8]) })
	})
)

// A NamedNotch is one that a journal has.
type NamedNotch struct {
	Name string
	Notch
}

// Notches are those of a journal, by the words of its shoulder, keyway and
// groove.
func Notches(shoulder, keyway, groove float64) []NamedNotch {
	at := SharpShoulder
	if shoulder == Rounded {
		at = RoundedShoulder
	}
	out := []NamedNotch{{"shoulder", at}}
	if keyway != NoNotch {
		out = append(out, NamedNotch{"keyway", EndMilledKeyway})
	}
	if groove != NoNotch {
		out = append(out, NamedNotch{"ring groove", RingGroove})
	}
	return out
}

func worstNotch(list []NamedNotch, safety func(Notch) float64) float64 {
	worst := math.Inf(1)
	for _, n := range list {
		worst = math.Min(worst, safety(n.Notch))
	}
	return worst
}

// thrustAt is the axial force that passes an end: none where it is not fixed.
func thrustAt(end, f float64) float64 {
	if end == FixedEnd {
		return f
	}
	return 0
}

// of is the text of a formula's function for the factors of a notch.
func (k Notch) of(f string) string {
	return fmt.Sprintf("%s(%g, %g, %g)", f, k.Bending, k.Torsion, k.Axial)
}

// driveNotchesText is the worst of a function over the notches of the driven end.
func driveNotchesText(f string) string {
	return "max(" + SharpShoulder.of(f) + " if drive_journal_shoulder is sharp; " + RoundedShoulder.of(f) + ", " +
		EndMilledKeyway.of(f) + " if drive_journal_keyway is end-milled, " + RingGroove.of(f) + " if drive_journal_groove is ring)"
}

// worstText is the same for the notches that there are.
func worstText(f string, list []NamedNotch) string {
	var out []string
	for _, n := range list {
		out = append(out, n.of(f))
	}
	if len(out) == 1 {
		return out[0]
	}
	return "max(" + strings.Join(out, ", ") + ")"
}

// farNotchText is the factor of the worst notch of the far end, which bears an axial
// force only; worstAxial is the one in force.
const farNotchText = "max(3 if far_journal_shoulder is sharp; 1.9, 5 if far_journal_groove is ring)"

func worstAxial(shoulder, groove float64) string {
	k := 0.0
	for _, n := range Notches(shoulder, NoNotch, groove) {
		k = math.Max(k, n.Axial)
	}
	return plainNumber(k)
}

// thrustText is the text of thrustAt.
func thrustText(end float64, f string) string {
	if end == FixedEnd {
		return f
	}
	return "0"
}

// The formulas of the safeties, by their worst notch and the axial forces; of those
// against fatigue the amplitude, and the middle.
func driveYieldText(worst, f string) string {
	return "S_y/" + worst + " where Y(K_b, K_t, K_a) = √((K_b·32·M_b/(π·d_j1³) + K_a·4·F/(π·d_j1²))² + 3·(K_t·16·z_m·T_smax/(π·d_j1³))²), F = " + f
}

func driveFatigueText(worst, amplitude, middle string) string {
	return "1/" + worst + " where U(K_b, K_t, K_a) = √((K_b·32·M_b/(π·d_j1³) + K_a·4·F_1/(π·d_j1²))² + 3·(K_t·16·z_m·T_a/(π·d_j1³))²)/S_e1" +
		" + √((K_a·4·F_2/(π·d_j1²))² + 3·(K_t·16·z_m·T_mid/(π·d_j1³))²)/S_ut, F_1 = " + amplitude + ", F_2 = " + middle
}

func farYieldText(worst, f string) string {
	return "S_y/(K_a·4·F/(π·d_j2²)) where K_a = " + worst + ", F = " + f
}

func farFatigueText(worst, amplitude, middle string) string {
	return "1/(K_a·4/(π·d_j2²)·(F_1/S_e2 + F_2/S_ut)) where K_a = " + worst + ", F_1 = " + amplitude + ", F_2 = " + middle
}

// joinedBy puts a separator between two texts where there are two.
func joinedBy(sep, a, b string) string {
	if a != "" && b != "" {
		return a + sep + b
	}
	return a + b
}
