package tables

import (
	_ "embed"
	"math"
	"sync"
)

// PreferredDiameters returns the nominal diameters of ISO 3408-2 in metres,
// ascending, 6 to 200 mm. From memory, high confidence.
func PreferredDiameters() []float64 { return metres(sizeData().diameters) }

// PreferredLeads returns the nominal leads of ISO 3408-2 in metres, ascending,
// 1 to 40 mm. From memory, high confidence.
func PreferredLeads() []float64 { return metres(sizeData().leads) }

// IsPreferred tells whether nominal diameter d0 and lead ph, in metres, are in
// the series of ISO 3408-2, and whether the standard lists them as a pair.
//
// The two series are from memory with high confidence. The matrix of pairs is
// from memory with LOW confidence and its edge cells are unsure: a false
// pairOK is a hint at best and must not be reported as a breach.
func IsPreferred(d0, ph float64) (diameterOK, leadOK, pairOK bool) {
	t := sizeData()
	for _, p := range t.pairs {
		if same(d0, p.d0) && same(ph, p.ph) {
			pairOK = true
			break
		}
	}
	return has(t.diameters, d0), has(t.leads, ph), pairOK
}

type size struct {
	mm          float64
	firstChoice bool
	row         Row
}

type pair struct {
	d0, ph float64 // mm
	row    Row
}

type sizeTable struct {
	diameters, leads []size
	pairs            []pair
}

//go:embed data/sizes.csv
var sizesCSV string

var sizeData = sync.OnceValue(func() *sizeTable {
	t := &sizeTable{pairs: make([]pair, 0, 128)}
	parse("sizes.csv", sizesCSV, 8, func(f []string) {
		row := Row{Standard: f[4], Source: f[5], Provenance: provenance(f[6]), Confidence: f[7]}
		switch f[0] {
		case "diameter":
			t.diameters = append(t.diameters, size{mm: number(f[1]), row: row})
		case "lead":
			t.leads = append(t.leads, size{mm: number(f[2]), firstChoice: f[3] == "yes", row: row})
		case "pair":
			t.pairs = append(t.pairs, pair{d0: number(f[1]), ph: number(f[2]), row: row})
		default:
			panic("tables: sizes.csv: unknown kind " + f[0])
		}
	})
	return t
})

func same(m, mm float64) bool { return math.Abs(m*1e3-mm) <= slack }

func has(list []size, m float64) bool {
	for _, s := range list {
		if same(m, s.mm) {
			return true
		}
	}
	return false
}

func metres(list []size) []float64 {
	out := make([]float64, len(list))
	for i, s := range list {
		out[i] = s.mm / 1e3
	}
	return out
}
