package tables

import (
	_ "embed"
	"strconv"
	"sync"
)

// SlendernessLimit returns the usual range of the limit on shaft length over
// nominal diameter for a grade number: about 35–40 for C0, 45–50 for C1,
// 55–60 for C3, 70 for C5, 80–100 for C7 and C10. A number in between takes
// the limit of the next finer grade, so 2 counts as 1. ok is false outside 0
// to 10.
//
// Common practice, no source; from memory, low confidence. Texts disagree: a
// stricter set in circulation has 30–35, 35–40, 40–50, 50–60 and 60–70 (in the
// data as slenderness_strict). Exceeding low is worth a note, exceeding high a
// warning, neither an error.
func SlendernessLimit(number int) (low, high float64, ok bool) {
	if number < 0 || number > 10 {
		return 0, 0, false
	}
	for n := number; n >= 0; n-- {
		if l, ok := limitData().get("slenderness", strconv.Itoa(n)); ok {
			return l.low, l.high, true
		}
	}
	return 0, 0, false
}

// DNLimit returns the usual range of the limit on ball-circle diameter in mm
// times speed in rpm, in mm·rpm, by process ("rolled" or "ground") and
// recirculation ("tube", "deflector" or "end-cap"). low is the cautious end.
// A rolled screw has the same range, 50 000–70 000, whatever its
// recirculation; ground screws have 70 000–76 200 with tube, 70 000–100 000
// with deflector or guide plate and 100 000–130 000 with end-cap.
//
// Common practice, no source. Texts differ widely, above all for deflectors
// (one allows 140 000), and some count from the nominal diameter; the ball
// circle is the cautious basis. A limit stated for the part comes first.
// ok is false for other words.
func DNLimit(process, recirculation string) (low, high float64, row Row, ok bool) {
	switch recirculation {
	case "tube", "deflector", "end-cap":
	default:
		return 0, 0, Row{}, false
	}
	key := process
	switch process {
	case "rolled":
	case "ground":
		key += " " + recirculation
	default:
		return 0, 0, Row{}, false
	}
	l, ok := limitData().get("dn", key)
	return l.low, l.high, l.row, ok
}

// LoadFactor returns the usual range of fw, the factor on load for the run of
// the machine: "smooth" 1.0–1.2, "ordinary" 1.2–1.5, "shocks" 1.5–2.0.
// high is the cautious end. ok is false for other words.
//
// Common practice, no source; from memory, high confidence that these are the
// usual figures. fw is not part of ISO 3408-5. Some texts put heavy shock, or
// more than 2 m/s, at 2.0–3.5.
func LoadFactor(shock string) (low, high float64, ok bool) {
	l, ok := limitData().get("load_factor", shock)
	return l.low, l.high, ok
}

type limit struct {
	table, key string
	low, high  float64
	unit       string
	row        Row
}

type limitTable []limit

func (t limitTable) get(table, key string) (limit, bool) {
	for _, l := range t {
		if l.table == table && l.key == key {
			return l, true
		}
	}
	return limit{}, false
}

//go:embed data/limits.csv
var limitsCSV string

var limitData = sync.OnceValue(func() limitTable {
	var t limitTable
	parse("limits.csv", limitsCSV, 9, func(f []string) {
		t = append(t, limit{
			table: f[0], key: f[1], low: number(f[2]), high: number(f[3]), unit: f[4],
			row: Row{Standard: f[5], Source: f[6], Provenance: provenance(f[7]), Confidence: f[8]},
		})
	})
	return t
})
