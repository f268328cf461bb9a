package mechanics

import (
	"math"
	"sync"

	"trammel/rules/tables"
	u "trammel/spec/unit"
)

// ShaftStiffness is the least axial stiffness in N/m of a shaft of section area
// in m² and modulus e in Pa: A·E/L with thrust taken at one end and the nut at
// the far end of the loaded length; 4·A·E/L at mid span with thrust taken at
// both (ISO 3408-4, from memory; elementary).
func ShaftStiffness(area, e, length float64, both bool) float64 {
	k := area * e / length
	if both {
		k *= 4
	}
	return k
}

// BetweenBearings is what two bearings of stiffness r1 and r2 in N/m at both ends
// of a shaft of flexibility shaft in m/N (L/(A·E)) leave of its 4·A·E/L at the
// softest place of a nut between them: in series with it they give the stiffness
// there. The flexibility over the places is a parabola. With the vertex on the
// shaft that is 4/(1/r1 + 1/r2); where the softer bearing has more flexibility
// than the other and the shaft together, the softest place is at that bearing.
func BetweenBearings(r1, r2, shaft float64) float64 {
	soft, firm := math.Max(1/r1, 1/r2), math.Min(1/r1, 1/r2)
	if soft > firm+shaft {
		return 1 / (soft*(firm+shaft)/(soft+firm+shaft) - shaft/4)
	}
	return 4 / (soft + firm + 0*shaft)
}

// InSeries adds stiffnesses in N/m in series; NaN counts as rigid.
func InSeries(k ...float64) float64 {
	c := 0.0
	for _, v := range k {
		if v == v {
			c += 1 / v
		}
	}
	return 1 / c
}

// WindUp gives a torsional stiffness in N·m/rad as the axial stiffness in N/m that it
// has through a lead in m: k·(2π/P_h)² (the work of the torque is that of the force).
func WindUp(k, lead float64) float64 {
	turn := 2 * math.Pi / lead
	return k * turn * turn
}

const srcStiffness = "ISO 3408-4:2006 (formula from memory)"

// Stiffness.
var (
	ShaftRigidity = calc(Quantity{
		Name: "shaft_stiffness", Section: OfAccuracy, Symbol: "R_s", Title: "minimum axial stiffness of the shaft", Kind: u.Stiffness,
		Formula: "4·A·E/L_s if k_th = 3; A·E/L_b", Source: srcStiffness,
		Needs: qs(RootArea, ElasticModulus, ThrustSide), May: qs(LoadedLength, Span), Lacks: qs(Span),
		inForce: func(a []float64) string {
			if a[2] == ThrustAtBoth {
				return "4·A·E/L_s"
			}
			return "A·E/L_b"
		},
	}, func(a []float64) float64 {
		if a[2] == ThrustAtBoth {
			return ShaftStiffness(a[0], a[1], a[4], true)
		}
		return ShaftStiffness(a[0], a[1], a[3], false)
	})

	NutRigidity = calc(Quantity{
		Name: "nut_stiffness", Section: OfAccuracy, Symbol: "R_n", Title: "stiffness of the nut at its load", Kind: u.Stiffness,
		Formula: "0.8·R_cat·(F_pr/(0.1·C_a))^(1/3) if F_pr > 0; 0.8·R_cat·(F_m/(0.3·C_a))^(1/3)", Source: srcCommon,
		Needs: qs(NutStiffness, DynamicRating), May: qs(Preload, Backlash, MeanLoad), Lacks: qs(Preload),
		lackOf: func(c *Calc) []*Quantity {
			if c.V(Preload) == 0 || c.Known(Backlash) {
				return qs(MeanLoad)
			}
			return qs(Preload)
		},
		inForce: func(a []float64) string {
			if a[2] > 0 {
				return "0.8·R_cat·(F_pr/(0.1·C_a))^(1/3)"
			}
			return "0.8·R_cat·(F_m/(0.3·C_a))^(1/3)"
		},
	}, func(a []float64) float64 {
		if a[2] > 0 {
			return 0.8 * a[0] * math.Cbrt(a[2]/(0.1*a[1]))
		}
		if a[2] == 0 || a[3] == a[3] {
			return 0.8 * a[0] * math.Cbrt(a[4]/(0.3*a[1]))
		}
		return math.NaN()
	})

	BearingRigidity = calc(Quantity{
		Name: "bearing_stiffness", Section: OfAccuracy, Symbol: "R_b", Title: "stiffness of the bearing that takes the thrust", Kind: u.Stiffness,
		Formula: "1/(max(1/R_b1, 1/R_b2)·(min(1/R_b1, 1/R_b2) + L_s/(A·E))/(1/R_b1 + 1/R_b2 + L_s/(A·E)) − L_s/(4·A·E)) if ends is fixed-fixed and |1/R_b1 − 1/R_b2| > L_s/(A·E); 4/(1/R_b1 + 1/R_b2) if ends is fixed-fixed; R_b1 if drive_end is fixed; R_b2 if far_end is fixed", Source: srcElementary,
		Needs: qs(DriveEnd, FarEnd), May: qs(DriveSupportStiffness, FarSupportStiffness, RootArea, ElasticModulus, Span),
		Lacks: qs(DriveSupportStiffness, FarSupportStiffness, RootArea, ElasticModulus, Span), lackOf: bearingLacks,
		inForce: func(a []float64) string {
			if a[0] == FixedEnd && a[1] == FixedEnd && math.Abs(1/a[2]-1/a[3]) > a[6]/(a[4]*a[5]) {
				return softEnd
			}
			return ofEnds(a, "R_b1", "R_b2", "4/(1/R_b1 + 1/R_b2)")
		},
	}, func(a []float64) float64 {
		if a[0] == FixedEnd && a[1] == FixedEnd {
			return BetweenBearings(a[2], a[3], a[6]/(a[4]*a[5]))
		}
		return fixedSide(a[:4])
	})

	Rigidity = calc(Quantity{
		Name: "axial_stiffness", Section: OfAccuracy, Symbol: "R", Title: "axial stiffness of shaft, nut and bearing at the worst position", Kind: u.Stiffness,
		Formula: "1/(1/R_s + 1/R_n + 1/R_b + 1/R_h)", Source: srcStiffness,
		Needs: qs(ShaftRigidity, NutRigidity, BearingRigidity), May: qs(HousingStiffness),
		inForce: func(a []float64) string {
			return given("1/(1/R_s + 1/R_n + 1/R_b + 1/R_h)", a[3], " + 1/R_h")
		},
	}, func(a []float64) float64 { return InSeries(a[0], a[1], a[2], a[3]) })

	ShaftWindUp = calc(Quantity{
		Name: "shaft_wind_up", Section: OfAccuracy, Symbol: "R_τ", Title: "torsion of the loaded length of the shaft, expressed as an axial stiffness", Kind: u.Stiffness,
		Formula: "E/(2·(1 + 0.3))·2·I/L_b·(2·π/P_h)²", Source: "elementary mechanics (shear modulus with a Poisson ratio of 0.3, steel)",
		Needs: qs(ElasticModulus, RootMoment, LoadedLength, Lead),
	}, f4(func(e, i, l, p float64) float64 { return WindUp(e/2.6*2*i/l, p) }))

	DriveRigidity = calc(Quantity{
		Name: "drive_stiffness", Section: OfAccuracy, Symbol: "R_z", Title: "axial stiffness including torsion of shaft and coupling", Kind: u.Stiffness,
		Formula: "1/(1/R + 1/R_τ + (P_h/(2·π))²/k_cs) if k_cs is given; 1/(1/R + 1/R_τ)", Source: srcElementary,
		Needs: qs(Rigidity, ShaftWindUp), May: qs(CouplingTwist, Lead),
		inForce: func(a []float64) string {
			return given("1/(1/R + 1/R_τ + (P_h/(2·π))²/k_cs)", a[2], " + (P_h/(2·π))²/k_cs")
		},
	}, func(a []float64) float64 { return InSeries(a[0], a[1], WindUp(a[2], a[3])) })

	NaturalFrequency = calc(Quantity{
		Name: "natural_frequency", Section: OfAccuracy, Symbol: "f_n", Title: "natural frequency of the moved mass on the screw", Kind: u.Frequency,
		Formula: "√(z·R_z/m_max)/2π", Source: srcElementary, Needs: qs(DriveRigidity, HeaviestMass), May: qs(Screws),
		inForce: func(a []float64) string { return given("√(z·R_z/m_max)/2π", a[2], "z·") },
	}, func(a []float64) float64 { return math.Sqrt(or(a[2], 1)*a[0]/a[1]) / (2 * math.Pi) })

	DrivePlay = calc(Quantity{
		Name: "drive_play", Section: OfAccuracy, Symbol: "s_τ", Title: "play of belt or gear, along the axis", Kind: u.Length,
		Formula: "β_g·P_h/(2·π)", Source: srcElementary, Needs: qs(GearPlay, Lead),
	}, f2(func(b, p float64) float64 { return b * p / (2 * math.Pi) }))

	LostMotion = calc(Quantity{
		Name: "lost_motion", Section: OfAccuracy, Symbol: "s_l", Title: "lost motion on reversal", Kind: u.Length,
		Formula: "s_ad + s_τ + 2·F_f/R_z", Source: srcElementary, Needs: qs(ReversalFriction, DriveRigidity), May: qs(Backlash, Preload, DrivePlay), Lacks: qs(Preload, Backlash), lackOf: playLacks,
		inForce: func(a []float64) string {
			return given("s_ad + s_τ + 2·F_f/R_z", a[2], "s_ad + ", a[4], "s_τ + ")
		},
	}, func(a []float64) float64 { return play(a[2], a[3]) + or(a[4], 0) + 2*a[0]/a[1] })

	RepeatError = calc(Quantity{
		Name: "repeatability_error", Section: OfAccuracy, Symbol: "r_sum", Title: "scatter of a position, half the band", Kind: u.Length,
		Formula: "r_s if approach is one-side; s_l/2", Source: srcCommon, Needs: qs(Approach), May: qs(Scatter, LostMotion),
		Lacks: qs(LostMotion),
		lackOf: func(c *Calc) []*Quantity {
			if c.V(Approach) == OneSide {
				return qs(Scatter)
			}
			return qs(LostMotion)
		},
		inForce: func(a []float64) string {
			if a[0] == OneSide {
				return "r_s"
			}
			return "s_l/2"
		},
	}, func(a []float64) float64 {
		if a[0] == OneSide {
			return a[1]
		}
		return a[2] / 2
	})

	WornError = calc(Quantity{
		Name: "worn_repeatability_error", Section: OfAccuracy, Symbol: "r_w", Title: "scatter of a position approached from both sides, with half the preload lost to wear", Kind: u.Length,
		Formula: "s_l/2 + F_f·(2^(1/3) − 1)/R_n if F_pr > 0; s_l/2", Source: "the stiffness of a preloaded nut goes with the cube root of its preload: " + srcCommon,
		Needs: qs(LostMotion, ReversalFriction, NutRigidity), May: qs(Preload),
		inForce: func(a []float64) string {
			if a[3] > 0 {
				return "s_l/2 + F_f·(2^(1/3) − 1)/R_n"
			}
			return "s_l/2"
		},
	}, func(a []float64) float64 {
		if a[3] > 0 {
			return a[0]/2 + a[1]*(math.Cbrt(2)-1)/a[2]
		}
		return a[0] / 2
	})

	Play = calc(Quantity{
		Name: "axial_play", Section: OfAccuracy, Symbol: "s_a", Title: "axial play used", Kind: u.Length,
		Formula: "s_ad if s_ad is given; 0 if F_pr > 0", Source: srcElementary, May: qs(Backlash, Preload), Lacks: qs(Preload, Backlash), lackOf: playLacks,
		inForce: firstOf("s_ad", "0 if F_pr > 0"),
	}, func(a []float64) float64 { return play(a[0], a[1]) })

	ShortestRamp = fold(Quantity{
		Name: "shortest_ramp", Section: OfMotion, Symbol: "t_min", Title: "shortest ramp of the cycle", Kind: u.Time,
		Formula: "min(t_j if phase is ramp-up/ramp-down)", Source: srcKinematics, Needs: qs(PhaseTime),
	}, func(s [][]float64, _ []float64) float64 {
		m := math.Inf(1)
		for j, t := range s[0] {
			if p := Part(j % PhasesPerMove); t > 0 && (p == RampUp || p == RampDown) {
				m = math.Min(m, t)
			}
		}
		return m
	})

	RampPeriods = calc(Quantity{
		Name: "ramp_periods", Section: OfAccuracy, Symbol: "k_f", Title: "natural periods in the shortest ramp", Kind: u.None,
		Formula: "t_min·f_n", Source: srcElementary, Needs: qs(ShortestRamp, NaturalFrequency),
	}, f2(func(t, f float64) float64 { return t * f }))

	ShortestPeak = fold(Quantity{
		Name: "speed_reached", Section: OfMotion, Symbol: "k_v", Title: "speed reached over declared speed, in the worst move", Kind: u.Percentage,
		Formula: "min(v_p/v_i)", Source: srcKinematics, Needs: qs(MovePeakSpeed, MoveSpeed),
	}, func(s [][]float64, _ []float64) float64 {
		m := math.Inf(1)
		for i, v := range s[0] {
			if v > 0 { // a move of no distance only waits
				m = math.Min(m, v/s[1][i])
			}
		}
		return m
	})
)

// playLacks asks for the preload, and for the play of a nut that has none.
func playLacks(c *Calc) []*Quantity {
	if c.Known(Preload) {
		return qs(Backlash)
	}
	return qs(Preload)
}

func play(backlash, preload float64) float64 {
	if backlash == backlash {
		return backlash
	}
	if preload > 0 {
		return 0
	}
	return math.NaN()
}

// gradeFactors gives f_ac for each of GradeWords.
var gradeFactors = sync.OnceValue(func() []float64 {
	out := make([]float64, len(GradeWords))
	for i, w := range GradeWords {
		g, _ := tables.ParseGrade(w)
		f, ok := tables.GradeFactor(g.Number)
		if !ok {
			f = math.NaN()
		}
		out[i] = f
	}
	return out
})

// transport reports whether a grade's travel is only bounded per 300 mm.
func transport(grade string) bool {
	g, _ := tables.ParseGrade(grade)
	return g.Transport()
}

// TravelDeviation is the permissible mean travel deviation e_p in m of a grade
// (an index into GradeWords) over the useful travel lu in m; a transport grade
// is read with factor k (2 by ISO 3408-3, 1 in many trade tables). NaN beyond
// the tables.
func TravelDeviation(grade, lu, k float64) float64 {
	name := GradeWords[int(grade)]
	if transport(name) {
		v, _, ok := tables.V300(name)
		if _, _, _, within := tables.Travel(name, lu); !ok || !within {
			return math.NaN()
		}
		// Never below v_300, else a short C7 would look finer than a C5.
		return math.Max(v, tables.TravelTransport(v, lu, k))
	}
	ep, _, _, ok := tables.Travel(name, lu)
	if !ok {
		return math.NaN()
	}
	return ep
}

// TravelVariation is the permissible variation v_up in m of a grade over the
// useful travel lu in m; for a transport grade, which has none, it is 0, since
// its deviation holds anywhere.
func TravelVariation(grade, lu float64) float64 {
	name := GradeWords[int(grade)]
	if transport(name) {
		return 0
	}
	_, vup, _, ok := tables.Travel(name, lu)
	if !ok {
		return math.NaN()
	}
	return vup
}

// inBand is the formula of a value in m that a travel table gives for the band
// in which the useful travel lu in m lies.
func inBand(grade string, lu, value float64) string {
	over, upto, _ := tables.TravelBand(grade, lu)
	low := ""
	if over > 0 {
		low = plainNumber(over*1e3) + " mm < "
	}
	return micrometres(value) + " if " + low + "l_u ≤ " + plainNumber(upto*1e3) + " mm"
}

// micrometres writes a length in m for a formula.
func micrometres(x float64) string { return plainNumber(x*1e6) + " µm" }

// Accuracy.
var (
	MeanDeviation = calc(Quantity{
		Name: "travel_deviation", Section: OfAccuracy, Symbol: "e_p", Title: "permissible mean travel deviation of the grade", Kind: u.Length,
		Formula: "max(spread(grade), k_t·l_u/300 mm·spread(grade)) if grade is C7/C10/T5/T7/T10/P7/P10; deviation(grade, l_u)", Source: "JIS B 1192 (C grades), ISO 3408-3:2006 (P, T grades); tables with their provenance row by row",
		Needs: qs(Grade, Stroke, TransportFactor),
		inForce: func(a []float64) string {
			name := GradeWords[int(a[0])]
			if v, _, _ := tables.V300(name); transport(name) {
				spread := micrometres(v)
				return "max(" + spread + ", k_t·l_u/300 mm·" + spread + ")"
			}
			return inBand(name, a[1], TravelDeviation(a[0], a[1], a[2]))
		},
	}, f3(TravelDeviation))

	Variation = calc(Quantity{
		Name: "travel_variation", Section: OfAccuracy, Symbol: "v_up", Title: "permissible travel variation of the grade", Kind: u.Length,
		Formula: "0 if grade is C7/C10/T5/T7/T10/P7/P10; variation(grade, l_u)", Source: "JIS B 1192 (C grades), ISO 3408-3:2006 (P grades); tables with their provenance row by row",
		Needs: qs(Grade, Stroke),
		inForce: func(a []float64) string {
			name := GradeWords[int(a[0])]
			if transport(name) {
				return "0"
			}
			return inBand(name, a[1], TravelVariation(a[0], a[1]))
		},
	}, f2(TravelVariation))

	ThermalGrowth = calc(Quantity{
		Name: "thermal_growth", Section: OfAccuracy, Symbol: "δ_t", Title: "thermal growth over the stroke", Kind: u.Length,
		Formula: "|α·ΔT·l_u − δ_s·l_u/L_s| if δ_s > 0 and ends is fixed-fixed and L_s is given; |α·ΔT·l_u|", Source: srcElementary,
		Needs: qs(Expansion, TemperatureRise, Stroke), May: qs(Stretch, Span, DriveEnd, FarEnd),
		inForce: func(a []float64) string {
			if stretched(a) {
				return "|α·ΔT·l_u − δ_s·l_u/L_s|"
			}
			return "|α·ΔT·l_u|"
		},
	}, func(a []float64) float64 {
		g := a[0] * a[1] * a[2]
		if stretched(a) {
			g -= a[3] * a[2] / a[4]
		}
		return math.Abs(g) // a shaft that is too short is as wrong as one that is too long
	})

	ElasticPart = calc(Quantity{
		Name: "elastic_deflection", Section: OfAccuracy, Symbol: "δ_e", Title: "deflection under the friction that reverses with travel", Kind: u.Length,
		Formula: "F_f/R_z", Source: srcElementary, Needs: qs(ReversalFriction, DriveRigidity),
	}, f2(func(f, k float64) float64 { return f / k }))

	HalfPlay = calc(Quantity{
		Name: "play_part", Section: OfAccuracy, Symbol: "s_h", Title: "half the play, for positions approached from both sides", Kind: u.Length,
		Formula: "0 if approach is one-side; (s_a + s_τ)/2", Source: srcCommon, Needs: qs(Approach, Play), May: qs(DrivePlay),
		inForce: func(a []float64) string {
			if a[0] == OneSide {
				return "0 if approach is one-side"
			}
			return given("(s_a + s_τ)/2", a[2], " + s_τ")
		},
	}, func(a []float64) float64 {
		if a[0] == OneSide {
			return 0
		}
		return (a[1] + or(a[2], 0)) / 2
	})

	ForcePart = fold(Quantity{
		Name: "force_deflection", Section: OfAccuracy, Symbol: "δ_p", Title: "deflection under the process force", Kind: u.Length,
		Formula: "0 if max(|F_t|) = 0 or force is none; max(|F_t|)·k_u/(z·R_z)", Source: srcElementary, Needs: qs(MoveDistance),
		May: qs(MoveThrust, UnderForce, DriveRigidity, Screws, Unevenness), Lacks: qs(UnderForce),
		lackOf: func(c *Calc) []*Quantity {
			if c.V(UnderForce) != ProcessForce {
				return qs(UnderForce)
			}
			if c.V(Screws) > 1 {
				return qs(DriveRigidity, Unevenness)
			}
			return qs(DriveRigidity)
		},
		inForce: func(a []float64) string {
			switch {
			case a[2] == NoForce:
				return "0 if force is none"
			case a[3] != a[3]:
				return "0 if max(|F_t|) = 0"
			case a[4] != a[4]:
				return "0 if max(|F_t|) = 0; max(|F_t|)/R_z"
			}
			return "0 if max(|F_t|) = 0; max(|F_t|)·k_u/(z·R_z)"
		},
	}, func(s [][]float64, a []float64) float64 {
		most := 0.0
		for _, f := range s[1] {
			most = math.Max(most, math.Abs(or(f, 0)))
		}
		switch {
		case most == 0 || a[0] == NoForce:
			return 0
		case a[0] == ProcessForce:
			return Share(most, or(a[2], 1), a[3]) / a[1]
		}
		return math.NaN()
	})

	ScrewPart = calc(Quantity{
		Name: "screw_part", Section: OfAccuracy, Symbol: "e_s", Title: "error from lead and thermal growth, or from the linear scale", Kind: u.Length,
		Formula: "a_sc if a_sc is given; e_p + v_up/2 + δ_t", Source: srcCommon,
		May: qs(Scale, MeanDeviation, Variation, ThermalGrowth), Lacks: qs(MeanDeviation, Variation, ThermalGrowth),
		inForce: firstOf("a_sc", "e_p + v_up/2 + δ_t"),
	}, func(a []float64) float64 { return or(a[0], a[1]+a[2]/2+a[3]) })

	AccuracyBudget = calc(Quantity{
		Name: "accuracy_budget", Section: OfAccuracy, Symbol: "e_sum", Title: "positioning budget, half the band", Kind: u.Length,
		Formula: "e_s + δ_e + δ_p + s_h", Source: srcCommon,
		Needs: qs(ScrewPart, ElasticPart, ForcePart, HalfPlay),
	}, f4(func(a, b, c, d float64) float64 { return a + b + c + d }))

	StretchForce = calc(Quantity{
		Name: "stretch_force", Section: OfStrength, Symbol: "F_str", Title: "bearing force from the stretch", Kind: u.Force,
		Formula: "δ_s·A·E/L_s", Source: srcElementary, Needs: qs(Stretch, RootArea, ElasticModulus, Span),
	}, f4(func(d, a, e, l float64) float64 { return d * a * e / l }))
)

// Support bearings.
var (
	SupportLoad = calc(Quantity{
		Name: "support_load", Section: OfService, Symbol: "F_sup", Title: "mean axial load of the fixed-side bearing, stretch included", Kind: u.Force,
		Formula: "F_m·f_w + F_ff", Source: "the load factor applies to external loads, not to stretch and heat: " + srcCommon, Needs: qs(MeanLoad, LoadFactor, HeldForce),
	}, f3(func(f, fw, h float64) float64 { return f*fw + h }))

	SupportDynamic = calc(Quantity{
		Name: "support_dynamic_rating", Section: OfService, Symbol: "C_sup", Title: "dynamic axial rating of the fixed-side bearing", Kind: u.Force,
		Formula: "min(C_1, C_2) if ends is fixed-fixed; C_1 if drive_end is fixed; C_2 if far_end is fixed", Source: srcElementary,
		Needs: qs(DriveEnd, FarEnd), May: qs(DriveSupportDynamic, FarSupportDynamic), Lacks: qs(DriveSupportDynamic, FarSupportDynamic), lackOf: ofFixed(DriveSupportDynamic, FarSupportDynamic),
		inForce: func(a []float64) string { return ofEnds(a, "C_1", "C_2", "min(C_1, C_2)") },
	}, fixedSide)

	SupportStatic = calc(Quantity{
		Name: "support_static_rating", Section: OfService, Symbol: "C_0sup", Title: "static axial rating of the fixed-side bearing", Kind: u.Force,
		Formula: "min(C_01, C_02) if ends is fixed-fixed; C_01 if drive_end is fixed; C_02 if far_end is fixed", Source: srcElementary,
		Needs: qs(DriveEnd, FarEnd), May: qs(DriveSupportStatic, FarSupportStatic), Lacks: qs(DriveSupportStatic, FarSupportStatic), lackOf: ofFixed(DriveSupportStatic, FarSupportStatic),
		inForce: func(a []float64) string { return ofEnds(a, "C_01", "C_02", "min(C_01, C_02)") },
	}, fixedSide)

	SupportLife = calc(Quantity{
		Name: "support_life_years", Section: OfService, Symbol: "L_sup", Title: "calendar life of the fixed-side bearing at the required reliability", Kind: u.Span,
		Formula: "f_rb·(C_sup/F_sup)³·10⁶/N_r", Source: "ISO 281:2007 (rating life of ball bearings)",
		Needs: qs(SupportDynamic, SupportLoad, RevsPerYear, BearingReliability),
	}, f4(func(c, f, n, r float64) float64 { return r * NominalLife(c, 1, f) / n * Year }))

	SupportLifeRatio = calc(Quantity{
		Name: "support_life_ratio", Section: OfService, Symbol: "k_Ls", Title: "calendar life of the fixed-side bearing over the required life", Kind: u.None,
		Formula: "L_sup/L_rq", Source: srcElementary, Needs: qs(SupportLife, RequiredLife),
	}, f2(func(l, a float64) float64 { return l / a }))

	SupportPeak = calc(Quantity{
		Name: "support_peak_load", Section: OfService, Symbol: "P_0", Title: "peak axial load of the fixed-side bearing, stretch and thermal force included", Kind: u.Force,
		Formula: "F_max + F_ff", Source: srcCommon, Needs: qs(PeakForce, HeldForce),
	}, f2(func(f, held float64) float64 { return f + held }))

	SupportStaticSafety = calc(Quantity{
		Name: "support_static_safety", Section: OfService, Symbol: "S_0s", Title: "static safety of the fixed-side bearing, stretch included", Kind: u.None,
		Formula: "C_0sup/P_0", Source: "ISO 76 (static safety of rolling bearings)",
		Needs: qs(SupportStatic, SupportPeak),
	}, f2(func(c, p float64) float64 { return c / p }))
)

// bearingLacks asks for the stiffness of the fixed ends' bearings and, between
// two of them, for what makes the stiffness of the shaft.
func bearingLacks(c *Calc) []*Quantity {
	out := ofFixed(DriveSupportStiffness, FarSupportStiffness)(c)
	if c.V(DriveEnd) == FixedEnd && c.V(FarEnd) == FixedEnd {
		out = append(out, RootArea, ElasticModulus, Span)
	}
	return out
}

// ofFixed narrows a pair of leaves to those of fixed ends.
func ofFixed(drive, far *Quantity) func(*Calc) []*Quantity {
	return func(c *Calc) []*Quantity {
		var out []*Quantity
		if c.V(DriveEnd) == FixedEnd {
			out = append(out, drive)
		}
		if c.V(FarEnd) == FixedEnd {
			out = append(out, far)
		}
		return out
	}
}

// ofEnds picks the formula for the end or ends that are fixed.
func ofEnds(a []float64, drive, far, both string) string {
	switch {
	case a[0] == FixedEnd && a[1] == FixedEnd:
		return both
	case a[0] == FixedEnd:
		return drive
	}
	return far
}

// stretched reports, for what thermal growth takes, whether the shaft is
// stretched between two fixed ends.
func stretched(a []float64) bool {
	return a[3] > 0 && a[4] > 0 && a[5] == FixedEnd && a[6] == FixedEnd
}

// fixedSide picks, of a value for the driven and one for the far end, that of
// the fixed end, the lesser where both are fixed.
func fixedSide(a []float64) float64 {
	drive, far := a[0] == FixedEnd, a[1] == FixedEnd
	switch {
	case drive && far:
		if a[2] != a[2] || a[3] != a[3] {
			return math.NaN()
		}
		return math.Min(a[2], a[3])
	case drive:
		return a[2]
	case far:
		return a[3]
	}
	return math.NaN()
}

// Layout and service.
var (
	ThreadNeeded = calc(Quantity{
		Name: "needed_thread_length", Section: OfLayout, Symbol: "l_t", Title: "minimum thread length", Kind: u.Length,
		Formula: "l_u + 2·l_o + l_n", Source: srcGeometry, Needs: qs(Stroke, Overtravel, NutLength),
	}, f3(func(s, o, n float64) float64 { return s + 2*o + n }))

	ShaftNeeded = calc(Quantity{
		Name: "needed_shaft_length", Section: OfLayout, Symbol: "l_min", Title: "minimum shaft length", Kind: u.Length,
		Formula: "l_t + l_e", Source: srcGeometry, Needs: qs(ThreadNeeded, EndLengths),
	}, f2(func(t, e float64) float64 { return t + e }))

	WholeTravel = calc(Quantity{
		Name: "whole_travel", Section: OfLayout, Symbol: "l_w", Title: "travel from stop to stop", Kind: u.Length,
		Formula: "l_u + 2·l_o", Source: srcGeometry, Needs: qs(Stroke, Overtravel),
	}, f2(func(s, o float64) float64 { return s + 2*o }))

	ThreadLength = calc(Quantity{
		Name: "thread_length", Section: OfLayout, Symbol: "l_g", Title: "shaft length less both unthreaded ends", Kind: u.Length,
		Formula: "l_1 − l_e", Source: srcGeometry, Needs: qs(ShaftLength, EndLengths),
	}, f2(func(l, e float64) float64 { return l - e }))

	Slenderness = calc(Quantity{
		Name: "length_to_diameter", Section: OfLayout, Symbol: "k_s", Title: "shaft length over nominal diameter", Kind: u.None,
		Formula: "l_1/d_0", Source: srcGeometry, Needs: qs(ShaftLength, NominalDiameter),
	}, f2(func(l, d float64) float64 { return l / d }))

	StrokeToNut = calc(Quantity{
		Name: "stroke_to_nut", Section: OfLayout, Symbol: "k_n", Title: "travel in the cycle over nut length", Kind: u.None,
		Formula: "s_r/l_n", Source: srcGeometry, Needs: qs(Reach, NutLength),
	}, f2(func(s, l float64) float64 { return s / l }))

	RegreaseDistance = calc(Quantity{
		Name: "regrease_distance", Section: OfService, Symbol: "s_g", Title: "distance travelled between two greasings", Kind: u.Length,
		Formula: "s_y·t_g", Source: srcElementary, Needs: qs(DistancePerYear, RegreaseEvery),
	}, f2(func(s, t float64) float64 { return s * t / Year }))

	DutyHours = calc(Quantity{
		Name: "hours_per_year", Section: OfMotion, Symbol: "h_y", Title: "working hours a year", Kind: u.Time,
		Formula: "h_d·d_y", Source: srcElementary, Needs: qs(HoursPerDay, DaysPerYear),
	}, f2(func(h, d float64) float64 { return h * d * 3600 }))
)

// softEnd is the formula of two bearings so unequal that the softest place is at
// the softer one.
const softEnd = "1/(max(1/R_b1, 1/R_b2)·(min(1/R_b1, 1/R_b2) + L_s/(A·E))/(1/R_b1 + 1/R_b2 + L_s/(A·E)) − L_s/(4·A·E))"
