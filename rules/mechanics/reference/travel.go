package reference

import "math"

// A band of useful travel, up to and including upto, with the permissible
// deviation e_p and variation v_up in micrometres.
type band struct{ upto, ep, vup float64 }

// Travel tables, typed from the published values in testdata/published.
//
// C grades: JIS B 1192; up to 800 mm read in a text that quotes the standard,
// beyond from memory (medium to 1600 mm for C0 and C1 and to 4000 mm for C3
// and C5, low above). P grades: ISO 3408-3:2006 from memory; up to 3150 mm e_p
// is IT1, IT3 and IT5 of ISO 286-1; one value, P3 at 900 mm, was read. v_up of
// P grades has no second check.
var bands = map[string][]band{
	"C0": {{100, 3, 3}, {200, 3.5, 3}, {315, 4, 3.5}, {400, 5, 3.5}, {500, 6, 4}, {630, 6, 4}, {800, 7, 5}, {1000, 8, 6}, {1250, 9, 6}, {1600, 11, 7}},
	"C1": {{100, 3.5, 5}, {200, 4.5, 5}, {315, 6, 5}, {400, 7, 5}, {500, 8, 5}, {630, 9, 6}, {800, 10, 7}, {1000, 11, 8}, {1250, 13, 9}, {1600, 15, 10}, {2000, 18, 11}, {2500, 22, 13}, {3150, 26, 15}, {4000, 30, 18}},
	"C3": {{100, 8, 8}, {200, 10, 8}, {315, 12, 8}, {400, 13, 10}, {500, 15, 10}, {630, 16, 12}, {800, 18, 13}, {1000, 21, 15}, {1250, 24, 16}, {1600, 29, 18}, {2000, 35, 21}, {2500, 41, 24}, {3150, 50, 29}, {4000, 60, 35}, {5000, 72, 41}, {6300, 90, 50}, {8000, 110, 60}},
	"C5": {{100, 18, 18}, {200, 20, 18}, {315, 23, 18}, {400, 25, 20}, {500, 27, 20}, {630, 30, 23}, {800, 35, 25}, {1000, 40, 27}, {1250, 46, 30}, {1600, 54, 35}, {2000, 65, 40}, {2500, 77, 46}, {3150, 93, 54}, {4000, 115, 65}, {5000, 140, 77}, {6300, 170, 93}, {8000, 210, 115}, {10000, 260, 140}},
	"P1": {{315, 6, 6}, {400, 7, 6}, {500, 8, 7}, {630, 9, 7}, {800, 10, 8}, {1000, 11, 9}, {1250, 13, 10}, {1600, 15, 11}, {2000, 18, 13}, {2500, 22, 15}, {3150, 26, 17}, {4000, 32, 21}},
	"P3": {{315, 12, 12}, {400, 13, 12}, {500, 15, 13}, {630, 16, 14}, {800, 18, 16}, {1000, 21, 17}, {1250, 24, 19}, {1600, 29, 22}, {2000, 35, 25}, {2500, 41, 29}, {3150, 50, 34}, {4000, 62, 41}, {5000, 76, 49}},
	"P5": {{315, 23, 23}, {400, 25, 25}, {500, 27, 26}, {630, 32, 29}, {800, 36, 31}, {1000, 40, 34}, {1250, 47, 39}, {1600, 55, 44}, {2000, 65, 51}, {2500, 78, 59}, {3150, 96, 69}, {4000, 115, 82}, {5000, 140, 99}, {6300, 170, 119}},
}

// v300 of the transport grades in micrometres, and the longest travel in
// millimetres. C7 and C10 (JIS B 1192) and T5, T7 and T10 (ISO 3408-3) were
// read; the longest travel of C7 and C10 is that of C5, by assumption.
var transport = map[string]struct{ v300, longest float64 }{
	"C7": {50, 10000}, "C10": {210, 10000}, "T5": {23, 6300}, "T7": {52, 6300}, "T10": {210, 6300},
}

// instandard is the next coarser grade of ISO 3408-3 for one that is sold and stands
// in no standard.
func instandard(grade string) string {
	if coarser, ok := map[string]string{"P0": "P1", "P2": "P3", "P4": "P5", "P7": "T7", "P10": "T10"}[grade]; ok {
		return coarser
	}
	return grade
}

// travel is the permissible deviation and variation in metres over a useful
// travel in metres; factor is how a transport grade is read. A transport grade
// has no variation of its own and is never taken finer than its v300.
func travel(grade string, length, factor float64) (ep, vup float64) {
	grade = instandard(grade)
	mm := math.Round(length*1e6) / 1e3 // to the micrometre: an edge stays an edge
	if t, ok := transport[grade]; ok {
		if mm > t.longest {
			return unknown, 0 * length
		}
		// Added up piece by piece of 300 mm.
		whole, rest := math.Modf(mm / 300)
		return math.Max(t.v300, factor*(whole*t.v300+rest*t.v300)) * 1e-6, 0 * length
	}
	for _, b := range bands[grade] {
		if mm <= b.upto {
			return b.ep * 1e-6, b.vup * 1e-6
		}
	}
	return unknown, unknown
}

// vickers is HV10 of a Rockwell C hardness at every whole number from 40
// (ASTM E140 and ISO 18265, from memory), with straight lines between. At 58
// it is 654 as ISO 3408-5 counts it; from there all factors are 1.
func vickers(hrc float64) float64 {
	hv := [...]float64{392, 402, 412, 423, 434, 446, 458, 471, 484, 498, 513, 528, 544, 560, 577, 595, 613, 633, 654}
	x := hrc - 40
	switch {
	case !(x >= 0) || hrc > 70:
		return unknown
	case x >= 18:
		return 654
	}
	i := int(x)
	return hv[i] + (hv[i+1]-hv[i])*(x-float64(i))
}

// reliabilityFactor is f_ar of ISO 3408-5:2006, 7.2.4 (read in a bearing-life
// note, 90 % from memory). Between two values the higher reliability counts.
func reliabilityFactor(s float64) float64 {
	for _, f := range [][2]float64{{90, 1}, {95, 0.62}, {96, 0.53}, {97, 0.44}, {98, 0.33}, {99, 0.21}} {
		if s*100 < f[0]+1e-6 {
			return f[1]
		}
	}
	return unknown
}

// bearingReliability is a_1 of ISO 281:2007 (read in a bearing-life note).
func bearingReliability(s float64) float64 {
	for _, f := range [][2]float64{{90, 1}, {95, 0.64}, {96, 0.55}, {97, 0.47}, {98, 0.37}, {99, 0.25}} {
		if s*100 < f[0]+1e-6 {
			return f[1]
		}
	}
	return unknown
}

// gradeFactor is f_ac of ISO 3408-5:2006, 6.2.3 (from memory).
func gradeFactor(grade string) float64 {
	switch instandard(grade) {
	case "C0", "C1", "C3", "C5", "P1", "P3", "P5", "T5":
		return 1
	case "C7", "T7":
		return 0.9
	case "C10", "T10":
		return 0.7
	}
	return unknown
}

// shockFactor is the upper end of the usual range of f_w (common practice, no
// source).
func shockFactor(shock string) float64 {
	switch shock {
	case "smooth":
		return 1.2
	case "ordinary":
		return 1.5
	case "shocks":
		return 2
	}
	return unknown
}
