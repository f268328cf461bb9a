package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/rules/tables"
	"trammel/spec/unit"
)

var sharedLoad = judge.Rule{
	Name:     "shared-load",
	Question: "Is it declared how unevenly several screws share the load?",
	Doc: `Screws that share a carriage (load.screws above 1) never share the load evenly:
the lead errors of two shafts work against each other. Declare load.unevenness, the load of the
most heavily loaded screw over an even share; nothing is computed without it. Exactly 1 is
impossible: a note. Shafts whose travel is only bounded per 300 mm (C7, C10, T grades) may
differ so much over a long stroke that they jam: a warning. The screws of one axis have the same
part, grade and preload, since they are declared once.

The finding states how far two shafts of the grade may differ over the stroke (twice the
permissible mean deviation), and the force this causes in a carriage that cannot turn: half of
it times the axial stiffness of one screw, on each. Real carriages turn a little in their guides
and take up part of it.

Declare drive.screws as well, the screws that one motor turns: 1 where each has a motor of its
own. Without it the torque, inertia and brake of the motor are not judged. If it is 1 and a
shaft between the screws is declared (drive.cross_torque), a note asks whether both are right: they
are where the shaft only keeps two motors in step. Where one motor turns all screws, its torque and
brake would be judged for too few.`,
	Source:   "common practice, no source",
	Severity: judge.Error,
	Reasons: []judge.Reason{{Words: "one screw moves the carriage", If: func(v *judge.View) bool {
		n := v.Value(judge.Field("load.screws"))
		return n != nil && n.Num.Nominal == 1
	}}},
	Check: func(v *judge.View) []judge.Fault {
		n, share := v.Value(judge.Field("load.screws")), v.Value(judge.Field("load.unevenness"))
		if n == nil {
			return nil
		}
		var out []judge.Fault
		turned, across := v.Value(judge.Field("drive.screws")), v.Value(judge.Field("drive.cross_torque"))
		switch {
		case turned == nil:
		case turned.Num.Nominal == 1 && across != nil:
			out = append(out, judge.Fault{At: turned.Field, Move: -1, Severity: judge.Note, Inputs: judge.Fields("drive.cross_torque", "load.screws"),
				Message: fmt.Sprintf("motor turns 1 of %s screws, but a shaft or belt between them is declared: does it turn all? Its torque and brake are judged for 1 screw", n.Text)})
		case turned.Num.High > n.Num.Nominal:
			out = append(out, judge.Fault{At: turned.Field, Move: -1, Inputs: judge.Fields("load.screws"), Message: fmt.Sprintf("one motor is declared to turn %s screws; only %s share the load", turned.Text, n.Text)})
		}
		switch {
		case share == nil:
			out = append(out, judge.Fault{At: n.Field, Move: -1, Message: fmt.Sprintf("%s screws share the load; declare load.unevenness", n.Text) + leadsApart(v),
				Fixes: []judge.Draft{judge.Remark("unevenness declared (1.2 to 1.5 is common)")}})
		case share.Num.Nominal == 1:
			out = append(out, judge.Fault{At: share.Field, Move: -1, Severity: judge.Note, Message: "unevenness 1 means a perfectly even share; screws never share a load perfectly evenly"})
		case share.Num.High > n.Num.Nominal:
			out = append(out, judge.Fault{At: share.Field, Move: -1, Message: fmt.Sprintf("unevenness %s gives one of %s screws more than the whole load", share.Text, n.Text)})
		}
		if g, ok := tables.ParseGrade(v.Word(judge.Field("screw.grade"))); ok && g.Transport() {
			out = append(out, judge.Fault{At: judge.Field("screw.grade"), Move: -1, Severity: judge.Warning, Inputs: judge.Fields("load.screws"),
				Message: fmt.Sprintf("screws of grade %s share a load: their leads may differ enough to jam", g.Name) + leadsApart(v)})
		}
		return out
	},
}

// leadsApart says how far two screws may be apart over the stroke, and what force
// that is on each; "" where it is not known.
func leadsApart(v *judge.View) string {
	apart := 2 * v.V(m.MeanDeviation)
	if apart != apart {
		return ""
	}
	said := "; over the stroke the grade allows " + v.Show(apart, unit.Length) + " between them"
	if force := apart / 2 * v.V(m.Rigidity); force == force {
		said += ", which is " + v.Show(force, unit.Force) + " on each if the carriage is stiff"
	}
	return said
}
