package rules

import (
	"fmt"

	"trammel/rules/judge"
	"trammel/rules/tables"
)

var gradeStandard = judge.Rule{
	Name:     "grade-standard",
	Question: "Is the accuracy grade defined in a standard?",
	Doc: `Some makers sell positioning grades between those of ISO 3408-3, and P7 and P10 beside
its transport grades T7 and T10. Only the maker's documents state the limits of such a grade. It
is judged by the next coarser grade of the standard: P0 by P1, P2 by P3, P4 by P5, P7 by T7, P10
by T10. Order by the standard's grade, or have the maker's limits on the drawing.`,
	Source:   "ISO 3408-3 (its grades from memory)",
	Severity: judge.Note,
	Facts:    judge.Fields("screw.grade"),
	Check: func(v *judge.View) []judge.Fault {
		x := judge.Field("screw.grade")
		g, _ := tables.ParseGrade(v.Word(x))
		if g.Rows == g.Name {
			return nil
		}
		return []judge.Fault{{At: x, Move: -1,
			Message: fmt.Sprintf("no standard defines grade %s; it is judged by %s, the next coarser grade", g.Name, g.Rows),
			Fixes:   []judge.Draft{judge.Change("grade "+g.Rows, "screw.grade", g.Rows)}}}
	},
}
