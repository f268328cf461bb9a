package tables

import (
	_ "embed"
	"strings"
	"sync"
)

// Grade is a travel accuracy grade of a ball screw.
//
// The series matters as much as the number: C3 of the older JIS series and
// Cp3 or P3 are different tables. From 630 to 800 mm both permit a deviation
// of 18 µm, but C3 permits a variation of 13 µm and P3 one of 16 µm.
type Grade struct {
	Name     string // canonical spelling, such as "Cp3"
	Series   string // "C", "Cp", "Ct" (JIS B 1192), "P" (positioning) or "T" (transport)
	Number   int    // 0 is the finest, 10 the coarsest
	Standard string // where the grade is defined; "none …" for grades of the trade only
	Rows     string // name of the grade whose numbers apply: "P3" for "Cp3", "T7" for "P7"
}

// Transport tells whether the grade is specified only by its variation over
// 300 mm, so that its deviation grows with length by formula instead of
// following a table of bands. That holds for T and Ct, and for C7 and coarser.
func (g Grade) Transport() bool {
	e, ok := gradeData().byName[g.Name]
	return ok && e.transport
}

// ParseGrade finds a grade by name, whatever the case of the letters.
//
// Known are C0 C1 C2 C3 C5 C7 C8 C10, Cp1 Cp3 Cp5, Ct5 Ct7 Ct10, P1 P3 P5 and
// T5 T7 T9 T10. C2 and C8 are grades of the trade, not of JIS B 1192; T9 is a
// leftover of DIN 69051-3. P0, P2, P4, P7 and P10 turn up in print although ISO
// 3408-3 is recalled to have no positioning grades of that number, or no deviations
// for it; they are accepted and read as the next coarser grade it has, P1, P3, P5, T7
// and T10, which Grade.Rows and Grade.Standard show, but they are not listed by
// [GradeNames].
func ParseGrade(s string) (Grade, bool) {
	e := findGrade(s)
	if e == nil {
		return Grade{}, false
	}
	return e.Grade, true
}

// V300 returns the permitted travel variation over any 300 mm, in metres.
//
// Source: JIS B 1192 and ISO 3408-3. The values of C7, C10, P3 and of the T
// grades were read in texts that quote the standards, C8 in a trade table;
// the rest is from memory, with high confidence.
func V300(grade string) (float64, Row, bool) {
	e := findGrade(grade)
	if e == nil {
		return 0, Row{}, false
	}
	return e.v300, e.row, true
}

type gradeEntry struct {
	Grade
	transport bool
	v300      float64 // m
	v300Um    float64 // as printed
	luMax     float64 // mm, transport grades only
	listed    bool
	row       Row
}

type gradeTable struct {
	entries []gradeEntry
	byName  map[string]*gradeEntry
	names   []string
}

//go:embed data/grades.csv
var gradesCSV string

var gradeData = sync.OnceValue(func() *gradeTable {
	t := &gradeTable{byName: make(map[string]*gradeEntry)}
	parse("grades.csv", gradesCSV, 12, func(f []string) {
		e := gradeEntry{
			Grade:     Grade{Name: f[0], Series: f[1], Number: integer(f[2]), Standard: f[3], Rows: f[4]},
			transport: f[5] == "transport",
			v300Um:    number(f[6]),
			listed:    f[11] == "yes",
			row:       Row{Standard: f[3], Source: f[8], Provenance: provenance(f[9]), Confidence: f[10]},
		}
		e.v300 = e.v300Um / 1e6
		if e.transport {
			e.luMax = number(f[7])
		}
		if e.listed {
			t.names = append(t.names, e.Name)
		}
		t.entries = append(t.entries, e)
	})
	for i := range t.entries {
		t.byName[t.entries[i].Name] = &t.entries[i]
	}
	return t
})

func findGrade(s string) *gradeEntry {
	t := gradeData()
	if e := t.byName[s]; e != nil {
		return e
	}
	for i := range t.entries {
		if strings.EqualFold(t.entries[i].Name, s) {
			return &t.entries[i]
		}
	}
	return nil
}
