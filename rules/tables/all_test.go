package tables

import (
	"fmt"
	"iter"
)

// entry is one value of one table, in the unit the table is printed in.
type entry struct {
	Table string // such as "ep" or "reliability"
	Key   string // such as "C3, over 630 up to 800 mm"
	Value float64
	Unit  string // "1" for plain numbers
	Row
}

// all yields every value held by the package with its source, table by table.
// Values stay in the units of the tables (µm, mm), not in metres. A range yields two
// entries, "low" and "high".
func all() iter.Seq[entry] {
	return func(yield func(entry) bool) {
		for _, e := range gradeData().entries {
			if !yield(entry{"v300", e.Name, e.v300Um, "µm", e.row}) {
				return
			}
		}
		seen := map[string]bool{}
		for _, e := range gradeData().entries {
			if seen[e.Rows] {
				continue // Cp grades share the rows of P grades
			}
			seen[e.Rows] = true
			for _, b := range travelData()[e.Rows] {
				key := fmt.Sprintf("%s, over %g up to %g mm", e.Rows, b.over, b.upto)
				row := b.row
				row.Confidence = b.epConf
				if !yield(entry{"ep", key, b.epUm, "µm", row}) {
					return
				}
				row.Confidence = b.vupConf
				if !yield(entry{"vup", key, b.vupUm, "µm", row}) {
					return
				}
			}
		}
		for _, t := range []struct {
			name string
			rows []factor
		}{{"reliability", factorData().reliability}, {"bearing_reliability", factorData().bearing}, {"grade_factor", factorData().grade}} {
			for _, f := range t.rows {
				if !yield(entry{t.name, f.name, f.value, f.unit, f.row}) {
					return
				}
			}
		}
		s := sizeData()
		for _, d := range s.diameters {
			if !yield(entry{"diameter", fmt.Sprintf("%g mm", d.mm), d.mm, "mm", d.row}) {
				return
			}
		}
		for _, l := range s.leads {
			key := fmt.Sprintf("%g mm", l.mm)
			if l.firstChoice {
				key += ", first choice"
			}
			if !yield(entry{"lead", key, l.mm, "mm", l.row}) {
				return
			}
		}
		for _, p := range s.pairs {
			if !yield(entry{"pair", fmt.Sprintf("diameter %g mm, lead %g mm", p.d0, p.ph), p.ph, "mm", p.row}) {
				return
			}
		}
		for _, l := range limitData() {
			if !yield(entry{l.table, l.key + ", low", l.low, l.unit, l.row}) ||
				!yield(entry{l.table, l.key + ", high", l.high, l.unit, l.row}) {
				return
			}
		}
	}
}
