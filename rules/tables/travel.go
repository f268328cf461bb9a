package tables

import (
	_ "embed"
	"sync"
)

// ISOTransportFactor and TradeTransportFactor are the two readings of how the
// deviation of a transport grade grows with length; see [TravelTransport].
const (
	ISOTransportFactor   = 2.0
	TradeTransportFactor = 1.0
)

// Travel returns the permitted mean travel deviation ±ep and the permitted
// travel variation vup (a band width) over the useful travel lu. Lengths in
// and out are in metres.
//
// Positioning grades are looked up by band. A length exactly on the edge of a
// band belongs to the shorter band ("over …, up to and including …").
// Transport grades, including C7, C8 and C10, follow 2·lu/300 mm·v300, the
// ISO reading, which permits more and so is the cautious one for an error
// budget; use [TravelTransport] with [TradeTransportFactor] for the other.
// Their ep is never taken below v300: the grade promises nothing finer over a
// short travel, and without that floor a short C7 would seem finer than a C5.
// No vup is defined for transport grades; v300 stands in, and is a lower bound
// for travels over 300 mm.
//
// ok is false for an unknown grade, for lu that is not above zero and beyond
// the last band: 1.6 m for C0, 4 m for C1, 6.3 m for C2, 8 m for C3, 10 m for
// C5; 4, 5 and 6.3 m for P1, P3 and P5; 6.3 m for T grades. C7, C8 and C10
// have no bands of their own; they stop at 10 m as C5 does, by assumption.
//
// Provenance: C0 to C5 up to 800 mm were read in a text that quotes
// JIS B 1192, longer bands are from memory, and shaky above 1.6 m. ISO ep is
// from memory, but up to 3.15 m equals the ISO 286-1 grades IT1, IT3 and IT5;
// ISO vup is from memory without a second check. The returned Row speaks for
// the weaker of the two values.
func Travel(grade string, lu float64) (ep, vup float64, row Row, ok bool) {
	e := findGrade(grade)
	if e == nil || !(lu > 0) {
		return 0, 0, Row{}, false
	}
	mm := lu * 1e3
	if e.transport {
		if mm > e.luMax+slack {
			return 0, 0, Row{}, false
		}
		ep = max(TravelTransport(e.v300, lu, ISOTransportFactor), e.v300)
		return ep, e.v300, transportRow(e), true
	}
	for _, b := range travelData()[e.Rows] {
		if mm <= b.upto+slack {
			row := b.row
			if e.Name != e.Rows {
				// Cp grades borrow the rows of P grades on the strength of memory.
				row.Standard = e.Standard
				row.Source += "; taken to hold for " + e.Name
				row.Provenance = Memory
				row.Confidence = weaker(row.Confidence, e.row.Confidence)
			}
			return b.ep, b.vup, row, true
		}
	}
	return 0, 0, Row{}, false
}

// TravelBand returns the ends, in metres, of the band in which the useful travel
// lu of a positioning grade lies: over the one, up to and including the other.
// ok is false where Travel has no such band.
func TravelBand(grade string, lu float64) (over, upto float64, ok bool) {
	e := findGrade(grade)
	if e == nil || e.transport || !(lu > 0) {
		return 0, 0, false
	}
	for _, b := range travelData()[e.Rows] {
		if lu*1e3 <= b.upto+slack {
			return b.over / 1e3, b.upto / 1e3, true
		}
	}
	return 0, 0, false
}

// TravelTransport returns the permitted deviation ±ep of a transport grade in
// metres: factor·lu/300 mm·v300, with v300 and lu in metres.
//
// ISO 3408-3 has factor 2 (from memory; two trade texts that call their own
// tables half of the standard agree). Trade tables for C7 and C10 mostly have
// factor 1, which is common practice without a source. A checker should take
// 2 unless the specification says otherwise, and say which it took.
// The formula is plain: no floor and no limit of length.
func TravelTransport(v300, lu float64, factor float64) float64 {
	return factor * v300 * lu / 0.3
}

func transportRow(e *gradeEntry) Row {
	return Row{
		Standard:   e.Standard,
		Source:     "ep = 2*lu/300*v300 as in ISO 3408-3 (trade tables often read 1*lu/300*v300), at least v300; v300 stands in for vup",
		Provenance: Derived,
		Confidence: weaker("medium", e.row.Confidence),
	}
}

type band struct {
	over, upto  float64 // mm
	ep, vup     float64 // m
	epUm, vupUm float64 // as printed
	epConf      string
	vupConf     string
	row         Row
}

//go:embed data/travel.csv
var travelCSV string

// travelData maps a grade to its bands, shortest first.
var travelData = sync.OnceValue(func() map[string][]band {
	t := make(map[string][]band)
	parse("travel.csv", travelCSV, 10, func(f []string) {
		b := band{
			over: number(f[1]), upto: number(f[2]),
			epUm: number(f[3]), vupUm: number(f[4]),
			epConf: f[8], vupConf: f[9],
			row: Row{Standard: f[5], Source: f[6], Provenance: provenance(f[7]), Confidence: weaker(f[8], f[9])},
		}
		b.ep, b.vup = b.epUm/1e6, b.vupUm/1e6
		t[f[0]] = append(t[f[0]], b)
	})
	return t
})
