package tables

import (
	_ "embed"
	"sync"
)

// ReliabilityFactor returns far, the factor on life for a reliability r given
// as a fraction: 1 at 0.90, 0.62 at 0.95, 0.53, 0.44, 0.33 and 0.21 at 0.99.
//
// Between table values the next higher reliability counts, which is cautious.
// ok is false below 0.90 and above 0.99, where the table says nothing.
//
// Source: ISO 3408-5 clause 7.2.4. The value at 0.90 is from memory, the
// others were read in a bearing-life note that carries the same set. They are
// not the newer bearing factors of ISO 281:2007 (0.64, 0.55, 0.47, 0.37,
// 0.25), which must not be used for ball screws.
func ReliabilityFactor(r float64) (float64, bool) {
	f, s := ReliabilityStep(r)
	return f, s > 0
}

// ReliabilityStep returns the factor of [ReliabilityFactor] and the reliability
// of the table it stands at; 0 and 0 where there is none.
func ReliabilityStep(r float64) (factor, step float64) { return stepOf(factorData().reliability, r) }

func stepOf(t []factor, r float64) (value, step float64) {
	const eps = 1e-9 // 95 % given as 95/100 must still be 0.95
	if !(r >= t[0].key-eps) {
		return 0, 0
	}
	for _, f := range t {
		if r <= f.key+eps {
			return f.value, f.key
		}
	}
	return 0, 0
}

// BearingReliability returns a1, the factor on the life of rolling bearings for a
// reliability r given as a fraction, and the reliability of the table it stands at:
// 1 at 0.90, 0.64 at 0.95, 0.55, 0.47, 0.37 and 0.25 at 0.99; 0 and 0 where there is
// none. Between table values the next higher reliability counts.
//
// Source: ISO 281:2007. The value at 0.90 is from memory, the others were read in a
// bearing-life note. Editions before 2007 had the set that ball screws keep.
func BearingReliability(r float64) (factor, step float64) { return stepOf(factorData().bearing, r) }

// GradeFactor returns fac, the factor on load ratings for the number of the
// tolerance grade: 1.0 up to 5, 0.9 for 7, 0.7 for 10. A number in between
// takes the factor of the next coarser grade, so 8 counts as 10.
// ok is false outside 0 to 10.
//
// Source: ISO 3408-5 clauses 6.1.3 and 6.2.3, from memory, medium confidence;
// the values for 7 and 10 are the shaky ones.
func GradeFactor(number int) (float64, bool) {
	if number < 0 {
		return 0, false
	}
	for _, f := range factorData().grade {
		if float64(number) <= f.key {
			return f.value, true
		}
	}
	return 0, false
}

type factor struct {
	name       string // key as written
	key, value float64
	unit       string
	row        Row
}

type factorTable struct{ reliability, bearing, grade []factor }

//go:embed data/factors.csv
var factorsCSV string

var factorData = sync.OnceValue(func() *factorTable {
	t := &factorTable{}
	parse("factors.csv", factorsCSV, 8, func(f []string) {
		x := factor{
			name: f[1], key: number(f[1]), value: number(f[2]), unit: f[3],
			row: Row{Standard: f[4], Source: f[5], Provenance: provenance(f[6]), Confidence: f[7]},
		}
		switch f[0] {
		case "reliability":
			t.reliability = append(t.reliability, x)
		case "bearing_reliability":
			t.bearing = append(t.bearing, x)
		case "grade_factor":
			t.grade = append(t.grade, x)
		default:
			panic("tables: factors.csv: unknown table " + f[0])
		}
	})
	return t
})
