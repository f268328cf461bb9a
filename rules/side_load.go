package rules

import (
	"fmt"

	"trammel/rules/judge"
)

var sideLoad = judge.Rule{
	Name:     "side-load",
	Question: "Is the nut free of radial force and tilting moment?",
	Doc: `A ball nut carries axial force only. A radial force or a moment on it shortens the
life by a factor no formula gives: guides must take them. Without load.side_force the rule is
not judged, unless a load.side_moment fails it: write side_force = "0 N" once the guides take
everything, the moment included.`,
	Source:   "common practice, no source",
	Severity: judge.Error,
	Wants:    judge.Fields("load.side_force"),
	Check: func(v *judge.View) []judge.Fault {
		var out []judge.Fault
		for _, path := range []string{"load.side_force", "load.side_moment"} {
			if x := v.Value(judge.Field(path)); x != nil && x.Num.High > 0 {
				out = append(out, judge.Fault{At: x.Field, Move: -1,
					Message: fmt.Sprintf("nut carries a %s of %s; ball nuts take axial force only: let the guides carry it", judge.Readable(x.Field.Name), v.Text(x))})
			}
		}
		return out
	},
}
