package mechanics

import (
	"fmt"
	"math"

	"trammel/rules/tables"
	u "trammel/spec/unit"
)

// PreloadLimit is the external load over the preload at which the unloaded
// side of a preloaded nut loses contact: 2^(3/2). Ball deflection goes with
// F^(2/3), and at the limit the loaded side has twice the deflection of the
// preload.
var PreloadLimit = math.Pow(2, 1.5)

// Flanks splits an axial force f in N on a nut with preload pr in N into the
// loads of its loaded and of its relieved side (ISO 3408-5:2006, 7.1.3, from
// memory; the relieved side by force balance). Without preload the loaded side
// takes all.
func Flanks(f, pr float64) (loaded, relieved float64) {
	f = math.Abs(f)
	if pr <= 0 || f >= PreloadLimit*pr {
		return f, 0
	}
	x := 1 + f/(PreloadLimit*pr)
	loaded = pr * x * math.Sqrt(x)
	return loaded, loaded - f
}

// CubicMean is the cubic mean of loads f in N weighted by the distances s in m
// (the same as by revolutions): (Σ F³·s/Σ s)^(1/3). Zero distances count for
// nothing (ISO 3408-5:2006, 7.1.2, from memory).
func CubicMean(f, s []float64) float64 {
	top, all := 0.0, 0.0
	for j, d := range s {
		top += f[j] * f[j] * f[j] * d
		all += d
	}
	return math.Cbrt(top / all)
}

// NominalLife is the life in revolutions that 90 % of ball screws reach:
// (Ca/(fw·F))³·10⁶, with the rating ca and mean load f in N and the load
// factor fw (ISO 3408-5:2006, 7.2.1, from memory; fw is common practice). It
// is unlimited without load.
func NominalLife(ca, fw, f float64) float64 {
	if f == 0 {
		return math.Inf(1)
	}
	x := ca / (fw * f)
	return x * x * x * 1e6
}

// CombinedLife is the life of a nut whose two flanks have the lives l1 and l2:
// (l1^(−10/9) + l2^(−10/9))^(−9/10) (ISO 3408-5:2006, 7.2.3, from memory).
func CombinedLife(l1, l2 float64) float64 {
	if math.IsInf(l1, 1) {
		return l2
	}
	if math.IsInf(l2, 1) {
		return l1
	}
	// Scaled by the shorter life, so that no power overflows.
	short := math.Min(l1, l2)
	return short * math.Pow(math.Pow(l1/short, -10.0/9)+math.Pow(l2/short, -10.0/9), -0.9)
}

// NeededRating is the dynamic rating in N that carries a mean load f in N with
// load factor fw over life revolutions, where the factors k (reliability as a
// cube root, grade, hardness) reduce a rating: fw·f·(life/10⁶)^(1/3)/k.
func NeededRating(f, fw, life, k float64) float64 {
	return fw * f * math.Cbrt(life/1e6) / k
}

// HardnessFactor is the factor f_h of ISO 3408-5:2006, 6.2.2 (from memory) for
// a raceway of Rockwell C hardness hrc, valid from 40 to 70: (HV10/654)², at
// most 1.
func HardnessFactor(hrc float64) float64 {
	x := math.Min(1, Vickers(hrc)/654)
	return x * x
}

// StaticHardnessFactor is the factor f_h0 of ISO 3408-5:2006, 6.1.2 (from
// memory): (HV10/654)³, at most 1.
func StaticHardnessFactor(hrc float64) float64 {
	x := math.Min(1, Vickers(hrc)/654)
	return x * x * x
}

// Vickers converts a Rockwell C hardness from 40 to 70 to Vickers by the table
// for steel in ISO 18265 and ASTM E140 (values from memory), with straight
// lines between. Outside it is not defined.
func Vickers(hrc float64) float64 {
	lo, hi, ok := hardnessStep(hrc)
	if !ok {
		return math.NaN()
	}
	return lo[1] + (hi[1]-lo[1])*(hrc-lo[0])/(hi[0]-lo[0])
}

// hardnessStep finds the neighbours in the table between which a hardness lies.
func hardnessStep(hrc float64) (lo, hi [2]float64, ok bool) {
	table := [...][2]float64{
		{40, 392}, {45, 446}, {50, 513}, {52, 544}, {54, 577}, {55, 595},
		{56, 613}, {57, 633}, {58, 654}, {60, 697}, {62, 746}, {64, 800}, {68, 940}, {70, 1076},
	}
	for i := 1; i < len(table); i++ {
		if lo, hi = table[i-1], table[i]; hrc >= lo[0] && hrc <= hi[0] {
			return lo, hi, true
		}
	}
	return lo, hi, false
}

// hardnessText is the formula of Vickers for a hardness.
func hardnessText(hrc float64) string {
	lo, hi, _ := hardnessStep(hrc)
	return fmt.Sprintf("(%g + (%g − %g)·(HRC − %g)/(%g − %g))", lo[1], hi[1], lo[1], lo[0], hi[0], lo[0])
}

const (
	srcMeanLoad = "ISO 3408-5:2006, 7.1.2 (formula from memory)"
	srcPreload  = "ISO 3408-5:2006, 7.1.3 (formula from memory)"
	srcLife     = "ISO 3408-5:2006, 7.2 (formula from memory)"
	srcCommon   = "common practice, no source"
)

// srcOutside says why the load factor is in the load of a flank and not beside it.
const srcOutside = srcPreload + "; the load factor applies to external loads, which shocks raise, not to the preload: common practice, no source"

func flankForce(a []float64, positive bool) float64 {
	pr := a[2]
	if pr != pr {
		if a[3] != a[3] {
			return math.NaN() // neither preload nor play was declared
		}
		pr = 0
	}
	loaded, relieved := Flanks(a[1]*a[0], pr)
	if (a[0] >= 0) == positive {
		return loaded
	}
	return relieved
}

// Loads.
var (
	FlankPlus = each(Quantity{
		Name: "flank_load_plus", Section: OfForces, Symbol: "F_1j", Title: "load of the flank that pushes toward positive travel, load factor included", Kind: u.Force, Shape: PerPhase,
		Formula: "f_w·F_j if f_w·F_j ≥ 2^(3/2)·F_pr; 0 if f_w·F_j ≤ −2^(3/2)·F_pr; F_pr·(1 + f_w·F_j/(2^(3/2)·F_pr))^(3/2) if F_j ≥ 0; F_pr·(1 − f_w·F_j/(2^(3/2)·F_pr))^(3/2) + f_w·F_j", Source: srcOutside,
		Needs: qs(PhaseForce, LoadFactor), May: qs(Preload, Backlash), Lacks: qs(Preload),
	}, func(a []float64, _ Part) float64 { return flankForce(a, true) })

	FlankMinus = each(Quantity{
		Name: "flank_load_minus", Section: OfForces, Symbol: "F_2j", Title: "load of the flank that pushes toward negative travel, load factor included", Kind: u.Force, Shape: PerPhase,
		Formula: "F_1j − f_w·F_j", Source: srcOutside,
		Needs: qs(PhaseForce, LoadFactor), May: qs(Preload, Backlash), Lacks: qs(Preload),
	}, func(a []float64, _ Part) float64 { return flankForce(a, false) })

	MeanLoad = fold(Quantity{
		Name: "mean_load", Section: OfMeans, Symbol: "F_m", Title: "mean axial load", Kind: u.Force,
		Formula: "(Σ |F_j|³·s_j/Σ s_j)^(1/3)", Source: srcMeanLoad, Needs: qs(PhaseForce, PhaseDistance),
	}, func(s [][]float64, _ []float64) float64 {
		top, all := 0.0, 0.0
		for j, d := range s[1] {
			f := math.Abs(s[0][j])
			top += f * f * f * d
			all += d
		}
		return math.Cbrt(top / all)
	})

	MeanPlus = fold(Quantity{
		Name: "mean_flank_load_plus", Section: OfMeans, Symbol: "F_m1", Title: "mean load of the flank toward positive travel, load factor included", Kind: u.Force,
		Formula: "(Σ F_1j³·s_j/Σ s_j)^(1/3)", Source: srcMeanLoad, Needs: qs(FlankPlus, PhaseDistance),
	}, func(s [][]float64, _ []float64) float64 { return CubicMean(s[0], s[1]) })

	MeanMinus = fold(Quantity{
		Name: "mean_flank_load_minus", Section: OfMeans, Symbol: "F_m2", Title: "mean load of the flank toward negative travel, load factor included", Kind: u.Force,
		Formula: "(Σ F_2j³·s_j/Σ s_j)^(1/3)", Source: srcMeanLoad, Needs: qs(FlankMinus, PhaseDistance),
	}, func(s [][]float64, _ []float64) float64 { return CubicMean(s[0], s[1]) })
)

// Factors.
// ShockRange is the range in which the load factor of a word for shock lies: smooth 1
// to 1.2, ordinary 1.2 to 1.5, shocks 1.5 to 3 (common practice, no source; the upper
// end of shocks is that of texts which count heavy ones).
func ShockRange(word int) (low, high float64) {
	low, high, _ = tables.LoadFactor(Shock.Words[word])
	if word == Shocks {
		high = 3
	}
	return low, high
}

var (
	LoadFactor = calc(Quantity{
		Name: "load_factor", Section: OfLife, Symbol: "f_w", Title: "load factor", Kind: u.None,
		Formula: "f_wd if f_wd is given; 1.2 if shock is smooth; 1.5 if shock is ordinary; 2 if shock is shocks and k = 0; 3 if shock is shocks", Source: srcCommon,
		May: qs(LoadFactorGiven, Shock, Case), Lacks: qs(Shock),
		inForce: func(a []float64) string {
			if a[0] == a[0] {
				return "f_wd"
			}
			word := Shock.Words[int(a[1])]
			_, high := ShockRange(int(a[1]))
			if a[2] != Light && a[2] != Heavy {
				_, high, _ = tables.LoadFactor(word)
			}
			return plainNumber(high) + " if shock is " + word
		},
	}, func(a []float64) float64 {
		if a[0] == a[0] || a[1] != a[1] {
			return a[0]
		}
		if a[2] == Light || a[2] == Heavy {
			_, high := ShockRange(int(a[1]))
			return high
		}
		_, usual, _ := tables.LoadFactor(Shock.Words[int(a[1])])
		return usual
	})

	ReliabilityFactor = calc(Quantity{
		Name: "reliability_factor", Section: OfLife, Symbol: "f_ar", Title: "life factor for reliability", Kind: u.None,
		Formula: "1 if S ≤ 90 %; 0.62 if S ≤ 95 %; 0.53 if S ≤ 96 %; 0.44 if S ≤ 97 %; 0.33 if S ≤ 98 %; 0.21 if S ≤ 99 %", Source: "ISO 3408-5:2006, 7.2.4: the set of ISO 281 before its edition of 2007",
		Needs: qs(Reliability),
		inForce: func(a []float64) string {
			f, s := tables.ReliabilityStep(a[0])
			return plainNumber(f) + " if S ≤ " + plainNumber(s*100) + " %"
		},
	}, f1(func(r float64) float64 {
		f, ok := tables.ReliabilityFactor(r)
		if !ok {
			return math.NaN()
		}
		return f
	}))

	BearingReliability = calc(Quantity{
		Name: "bearing_reliability_factor", Section: OfService, Symbol: "f_rb", Title: "life factor for reliability of rolling bearings", Kind: u.None,
		Formula: "1 if S ≤ 90 %; 0.64 if S ≤ 95 %; 0.55 if S ≤ 96 %; 0.47 if S ≤ 97 %; 0.37 if S ≤ 98 %; 0.25 if S ≤ 99 %",
		Source:  "ISO 281:2007, table of a_1 (read in a bearing-life note); before 2007 it was that of ball screws, 0.21 at 99 %",
		Needs:   qs(Reliability),
		inForce: func(a []float64) string {
			f, s := tables.BearingReliability(a[0])
			return plainNumber(f) + " if S ≤ " + plainNumber(s*100) + " %"
		},
	}, f1(func(r float64) float64 {
		f, s := tables.BearingReliability(r)
		if s == 0 {
			return math.NaN()
		}
		return f
	}))

	GradeFactor = calc(Quantity{
		Name: "grade_factor", Section: OfLife, Symbol: "f_acg", Title: "rating factor for accuracy grade", Kind: u.None,
		Formula: "f_ac if f_ac is given; 1 if grade ≤ 5; 0.9 if grade ≤ 7; 0.7 if grade ≤ 10", Source: "ISO 3408-5:2006, 6.2.3 (values from memory)",
		May: qs(GradeFactorGiven, Grade), Lacks: qs(Grade),
		inForce: func(a []float64) string {
			if a[0] == a[0] {
				return "f_ac"
			}
			return plainNumber(gradeFactors()[int(a[1])]) + " if grade is " + GradeWords[int(a[1])]
		},
	}, func(a []float64) float64 {
		if a[0] == a[0] || a[1] != a[1] {
			return a[0]
		}
		return gradeFactors()[int(a[1])]
	})

	DynamicHardness = calc(Quantity{
		Name: "hardness_factor", Section: OfLife, Symbol: "f_h", Title: "dynamic rating factor for hardness", Kind: u.None,
		Formula: "min(1, HV(HRC)/654)²", Source: "ISO 3408-5:2006, 6.2.2 (formula from memory); ISO 18265",
		Needs:   qs(Hardness),
		inForce: func(a []float64) string { return "min(1, " + hardnessText(a[0]) + "/654)²" },
	}, f1(HardnessFactor))

	StaticHardness = calc(Quantity{
		Name: "static_hardness_factor", Section: OfLife, Symbol: "f_h0", Title: "static rating factor for hardness", Kind: u.None,
		Formula: "min(1, HV(HRC)/654)³", Source: "ISO 3408-5:2006, 6.1.2 (formula from memory); ISO 18265",
		Needs:   qs(Hardness),
		inForce: func(a []float64) string { return "min(1, " + hardnessText(a[0]) + "/654)³" },
	}, f1(StaticHardnessFactor))

	ModifiedRating = calc(Quantity{
		Name: "modified_dynamic_rating", Section: OfLife, Symbol: "C_am", Title: "dynamic rating after corrections", Kind: u.Force,
		Formula: "C_a·f_h·f_acg·f_T if ϑ_p2 is given; C_a·f_h·f_acg", Source: "ISO 3408-5:2006, 6.2.1 (formula from memory); the factor of temperature is common practice of rolling bearings, no source",
		Needs: qs(DynamicRating, DynamicHardness, GradeFactor), May: qs(EnvironmentMax, HeatFactor), Lacks: qs(HeatFactor), lackOf: heatLacks,
		inForce: func(a []float64) string { return given("C_a·f_h·f_acg·f_T", a[3], "·f_T") },
	}, func(a []float64) float64 { return a[0] * a[1] * a[2] * hotOr(a[3], a[4]) })

	ModifiedStaticRating = calc(Quantity{
		Name: "modified_static_rating", Section: OfLife, Symbol: "C_0am", Title: "static rating after corrections", Kind: u.Force,
		Formula: "C_0a·f_h0·f_acg", Source: "ISO 3408-5:2006, 6.1.1 (formula from memory)",
		Needs: qs(StaticRating, StaticHardness, GradeFactor),
	}, f3(func(c, h, g float64) float64 { return c * h * g }))
)

// flankLife is the life of a flank whose mean load f holds the load factor already.
func flankLife(ca, f float64) float64 { return NominalLife(ca, 1, f) }

// Life.
var (
	LifePlus = calc(Quantity{
		Name: "life_plus", Section: OfLife, Symbol: "L_1", Title: "life of the flank toward positive travel", Kind: u.Revolutions,
		Formula: "(C_am/F_m1)³·10⁶", Source: srcLife, Needs: qs(ModifiedRating, MeanPlus),
	}, f2(flankLife))

	LifeMinus = calc(Quantity{
		Name: "life_minus", Section: OfLife, Symbol: "L_2", Title: "life of the flank toward negative travel", Kind: u.Revolutions,
		Formula: "(C_am/F_m2)³·10⁶", Source: srcLife, Needs: qs(ModifiedRating, MeanMinus),
	}, f2(flankLife))

	Life = calc(Quantity{
		Name: "life", Section: OfLife, Symbol: "L", Title: "life of the ball screw at the required reliability", Kind: u.Revolutions,
		Formula: "f_ar·(L_1^(−10/9) + L_2^(−10/9))^(−9/10)", Source: "ISO 3408-5:2006, 7.2.3 and 7.2.4 (formula from memory)",
		Needs: qs(LifePlus, LifeMinus, ReliabilityFactor),
	}, f3(func(l1, l2, r float64) float64 { return r * CombinedLife(l1, l2) }))

	LifeHours = calc(Quantity{
		Name: "life_hours", Section: OfLife, Symbol: "L_h", Title: "life in hours of motion", Kind: u.Time,
		Formula: "L/n_m", Source: srcLife, Needs: qs(Life, MeanRotation),
	}, f2(func(l, n float64) float64 { return l * 2 * math.Pi / n }))

	LifeYears = calc(Quantity{
		Name: "life_years", Section: OfLife, Symbol: "L_y", Title: "life in calendar time at the declared duty", Kind: u.Span,
		Formula: "L/N_r", Source: srcElementary, Needs: qs(Life, RevsPerYear),
	}, f2(func(l, n float64) float64 { return l / n * Year }))

	LifeDistance = calc(Quantity{
		Name: "life_distance", Section: OfLife, Symbol: "L_d", Title: "life in travelled distance", Kind: u.Length,
		Formula: "L·P_h", Source: srcElementary, Needs: qs(Life, Lead),
	}, f2(func(l, p float64) float64 { return l * p }))

	RequiredLife = calc(Quantity{
		Name: "required_life", Section: OfLife, Symbol: "L_rq", Title: "required life in calendar time", Kind: u.Span,
		Formula: "L_dec·365.25·24/(h_d·d_y) if life_basis is working; L_dec", Source: srcElementary,
		Needs: qs(ServiceLife), May: qs(LifeBasis, HoursPerDay, DaysPerYear), Lacks: qs(HoursPerDay, DaysPerYear),
		inForce: func(a []float64) string {
			if a[1] == WorkingTime {
				return "L_dec·365.25·24/(h_d·d_y)"
			}
			return "L_dec"
		},
	}, func(a []float64) float64 {
		if a[1] == WorkingTime {
			return a[0] * Year / (a[2] * a[3] * 3600)
		}
		return a[0]
	})

	RequiredRevs = calc(Quantity{
		Name: "required_revolutions", Section: OfLife, Symbol: "L_req", Title: "revolutions in the required life", Kind: u.Revolutions,
		Formula: "N_r·L_rq", Source: srcElementary, Needs: qs(RevsPerYear, RequiredLife),
	}, f2(func(n, y float64) float64 { return n * y / Year }))

	Needed = calc(Quantity{
		Name: "needed_dynamic_rating", Section: OfLife, Symbol: "C_amin", Title: "minimum dynamic rating for the required life, from the mean axial load", Kind: u.Force,
		Formula: "f_w·F_m·(L_req/10⁶)^(1/3)/(f_ar^(1/3)·f_h·f_acg·f_T) if ϑ_p2 is given; f_w·F_m·(L_req/10⁶)^(1/3)/(f_ar^(1/3)·f_h·f_acg)", Source: srcLife,
		Needs: qs(MeanLoad, LoadFactor, RequiredRevs, ReliabilityFactor, DynamicHardness, GradeFactor), May: qs(EnvironmentMax, HeatFactor), Lacks: qs(HeatFactor), lackOf: heatLacks,
		inForce: func(a []float64) string {
			return given("f_w·F_m·(L_req/10⁶)^(1/3)/(f_ar^(1/3)·f_h·f_acg·f_T)", a[6], "·f_T")
		},
	}, func(a []float64) float64 {
		return NeededRating(a[0], a[1], a[2], math.Cbrt(a[3])*a[4]*a[5]*hotOr(a[6], a[7]))
	})

	LifeRatio = calc(Quantity{
		Name: "life_ratio", Section: OfLife, Symbol: "k_L", Title: "calendar life over the required life", Kind: u.None,
		Formula: "L_y/L_rq", Source: srcElementary, Needs: qs(LifeYears, RequiredLife),
	}, f2(func(l, a float64) float64 { return l / a }))

	StaticSafety = calc(Quantity{
		Name: "static_safety", Section: OfLife, Symbol: "S_0", Title: "static safety", Kind: u.None,
		Formula: "C_0am/F_max", Source: srcCommon, Needs: qs(ModifiedStaticRating, PeakForce),
	}, f2(func(c, f float64) float64 { return c / f }))

	PreloadShare = calc(Quantity{
		Name: "preload_share", Section: OfLife, Symbol: "k_pr", Title: "preload over dynamic rating", Kind: u.Percentage,
		Formula: "F_pr/C_a", Source: srcElementary, Needs: qs(Preload, DynamicRating),
	}, f2(func(p, c float64) float64 { return p / c }))

	GapPreload = calc(Quantity{
		Name: "gap_preload", Section: OfLife, Symbol: "F_prg", Title: "minimum preload that keeps both sides in contact in the cycle", Kind: u.Force,
		Formula: "F_w/2^(3/2)", Source: srcPreload, Needs: qs(WorkingForce),
	}, f1(func(f float64) float64 { return f / PreloadLimit }))
)

// Year is the calendar year in seconds: 365.25 days.
const Year = 365.25 * 24 * 3600
