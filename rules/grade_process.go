package rules

import (
	"fmt"

	"trammel/rules/judge"
	"trammel/rules/tables"
)

var gradeProcess = judge.Rule{
	Name:     "grade-process",
	Question: "Is the accuracy grade available with the declared process?",
	Doc: `Ground shafts are sold as C0 to C7 and in the P grades, rolled ones as C7 and C10
and in the T grades. A rolled C3 is an error in the spec: nobody can deliver it. A
ground C10 can be made, but grinding is not worth its price; that is a warning.`,
	Source:   "common practice, no source",
	Severity: judge.Error,
	Facts:    judge.Fields("screw.grade", "screw.process"),
	Check: func(v *judge.View) []judge.Fault {
		grade, process := v.Word(judge.Field("screw.grade")), v.Word(judge.Field("screw.process"))
		g, _ := tables.ParseGrade(grade)
		f := judge.Fault{At: judge.Field("screw.grade"), Move: -1, Inputs: judge.Fields("screw.process")}
		switch {
		case process == "rolled" && g.Series != "T" && g.Number < 7:
			f.Message = fmt.Sprintf("grade %s is not available rolled; rolled screws come in C7, C10 and T grades", grade)
			f.Fixes = []judge.Draft{judge.Declare(v, "a ground shaft", "screw.process", "ground"), judge.Change("grade C7", "screw.grade", "C7")}
		case process == "ground" && g.Number == 10:
			f.Message = fmt.Sprintf("grade %s needs no ground shaft; a rolled one is enough", grade)
			f.Severity = judge.Warning
		default:
			return nil
		}
		return []judge.Fault{f}
	},
}
