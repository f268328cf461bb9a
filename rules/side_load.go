package rules

import (
	"fmt"

	"trammel/spec"
)

var sideLoad = Rule{
	Name:     "side-load",
	Question: "Is the nut free of radial force and tilting moment?",
	Doc: `A ball nut carries axial force only. A radial force or a moment on it shortens the
life by a factor no formula gives: guides must take them. Where neither
load.side_force nor load.side_moment is declared nobody has said that they do, and the
rule is not judged: write side_force = "0 N" once the guides take everything.`,
	Source:   "common practice, no source",
	Severity: Error,
	WantsBy: func(v *View) []*spec.Field {
		if v.Axis.Get(field("load.side_moment")) != nil {
			return nil
		}
		return fields("load.side_force")
	},
	Check: func(v *View) []Fault {
		var out []Fault
		for _, path := range []string{"load.side_force", "load.side_moment"} {
			if x := v.Value(field(path)); x != nil && x.Num.High > 0 {
				out = append(out, Fault{At: x.Field, Move: -1,
					Message: fmt.Sprintf("the nut takes a %s of %s; it is built for axial force only, so the guides must take it", words(x.Field.Name), v.Text(x))})
			}
		}
		return out
	},
}
