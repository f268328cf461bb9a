package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/rules/tables"
	"trammel/spec/unit"
)

var slenderness = judge.Rule{
	Name:     "slenderness",
	Question: "Can a shaft this slender be made in its grade?",
	Doc: `Length over nominal diameter. A slender shaft sags and springs in the grinder, so the
finer the grade the shorter it must be: about 40 for C0, 50 for C1, 60 for C3, 70 for C5, 100
for C7 and C10. The maker has the last word.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "shaft length over nominal diameter", Kind: unit.None, Sense: judge.AtMost, Default: 70, Spread: "40 (grade 0), 50 (1), 60 (3), 70 (5), 100 (7 and 10)",
			Lacks: judge.Fields("screw.grade"),
			By: func(v *judge.View) (float64, string, bool) {
				g, ok := tables.ParseGrade(v.Calc.Word(m.Grade))
				if !ok {
					return 0, "", false
				}
				_, high, ok := tables.SlendernessLimit(g.Number)
				return high, "grade " + g.Name, ok
			}},
		Value: m.Slenderness,
		Also:  quantities(m.Grade),
		Say: func(v *judge.View, limit float64) string {
			return fmt.Sprintf("length/diameter %s (%s / %s); usual maximum %s for grade %s",
				v.Ratio(v.V(m.Slenderness)), v.F(m.ShaftLength), v.F(m.NominalDiameter), v.Ratio(limit), v.F(m.Grade))
		},
		At:         at("screw.length"),
		Inputs:     quantities(m.NominalDiameter, m.Grade),
		Parameters: parameters(shorterBar, thickerD0),
	}},
}
