// Package tables holds the numbers that the design rules take from standards
// and from common practice: permitted travel deviation by grade, life factors,
// nominal sizes and limits by build.
//
// No standard could be read in full while the tables were compiled. Every
// value therefore carries where it came from ([Provenance]), the standard it
// belongs to, and how far to trust it. Values marked "common practice; no
// source" are habits of the trade and fit a warning better than an error.
//
// Lengths are in metres unless a comment says otherwise. The data sits in
// CSV files embedded in the binary; each file is parsed on first use only.
package tables

import (
	"fmt"
	"strconv"
	"strings"
)

// Provenance says how a value was come by.
type Provenance uint8

const (
	// Read means the number was seen in a text.
	Read Provenance = iota + 1
	// Derived means the number was computed from others.
	Derived
	// Memory means the number was recalled and not seen.
	Memory
)

// String gives the word used in the data files. The zero value, which no
// table row has, reads "unknown".
func (p Provenance) String() string {
	switch p {
	case Read:
		return "read"
	case Derived:
		return "derived"
	case Memory:
		return "memory"
	}
	return "unknown"
}

// Row says where a value comes from and how far to trust it.
type Row struct {
	Standard   string     // such as "ISO 3408-3"; "none" where no standard stands behind the value
	Source     string     // table or clause, or "common practice; no source"
	Provenance Provenance // read, derived or memory
	Confidence string     // "high", "medium" or "low"
}

// slack absorbs the rounding of unit conversions, so that 315 mm is still
// 315 mm after a trip through metres. It is a nanometre in millimetres.
const slack = 1e-6

// parse splits an embedded table into records and hands each one to add. The
// files keep commas and quotes out of their fields, which a test makes sure
// of, so splitting at commas is enough and far cheaper than a CSV reader.
// rec is reused from line to line, so add must not keep it.
func parse(name, data string, fields int, add func(rec []string)) {
	first := true
	rec := make([]string, 0, fields)
	for line := range strings.Lines(data) {
		if first {
			first = false
			continue
		}
		rec = rec[:0]
		for rest, more := strings.TrimSuffix(line, "\n"), true; more; {
			var f string
			f, rest, more = strings.Cut(rest, ",")
			rec = append(rec, f)
		}
		if len(rec) != fields {
			panic(fmt.Sprintf("tables: %s: %d fields instead of %d: %q", name, len(rec), fields, line))
		}
		add(rec)
	}
}

// The three converters panic, because the data is part of the program: a bad
// field is a mistake in the build, which the tests catch.

func number(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic("tables: " + err.Error())
	}
	return v
}

func integer(s string) int {
	v, err := strconv.Atoi(s)
	if err != nil {
		panic("tables: " + err.Error())
	}
	return v
}

func provenance(s string) Provenance {
	for p := Read; p <= Memory; p++ {
		if p.String() == s {
			return p
		}
	}
	panic("tables: unknown provenance " + s)
}

// weaker returns the lower of two confidences.
func weaker(a, b string) string {
	for _, c := range []string{"low", "medium", "high"} {
		if a == c || b == c {
			return c
		}
	}
	panic("tables: unknown confidence " + a + ", " + b)
}
