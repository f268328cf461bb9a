package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var counterbalanceWeight = judge.Rule{
	Name:     "counterbalance-weight",
	Question: "Does the counterbalance suit the weight it carries?",
	Doc: `A counterbalance carries part of the weight of carriage and heaviest payload along
the axis, seldom more than all of it. More than 1.2 times the weight drives the axis upward by
itself, and less than 5 % is not worth building: both are usually a mass given as a force, or a
wrong unit. Nominal values are compared.

Above the weight, a note says that the axis rises without brake and power, unless guide friction
holds it. Most who work at a vertical axis expect it to fall, and support it from below only. Some
axes are meant to rise, to clear a tool when power fails: then waive the rule with that reason.

Where payloads come and go, the carriage and half to all of the payload are usually balanced.
For the loss of a counterbalance see the rule counterbalance.`,
	Source:   "statics; the limits: common practice, no source",
	Caution:  relieveBalance,
	Severity: judge.Warning,
	Fit:      true,
	Limits: []judge.Limit{
		{Name: "most", Doc: "counterbalance over the weight along the axis", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1.2},
		{Name: "least", Doc: "counterbalance over the weight along the axis", Kind: unit.Percentage, Sense: judge.AtLeast, Default: 0.05},
	},
	Reasons: []judge.Reason{
		{Words: "no counterbalance is declared", If: func(v *judge.View) bool {
			cb := v.Value(judge.Field("load.counterbalance"))
			return cb == nil || cb.Num.Nominal == 0
		}},
		{Words: "a horizontal axis has no weight along it (see contradiction)", If: func(v *judge.View) bool { return v.V(m.Incline) == 0 }},
	},
	WantsBy: func(v *judge.View) []*spec.Field {
		switch {
		case v.V(m.Incline) != v.V(m.Incline):
			return judge.Fields("orientation")
		case v.V(m.MovedMass) != v.V(m.MovedMass):
			return judge.Fields("load.mass")
		}
		return nil
	},
	Check: func(v *judge.View) []judge.Fault {
		mass := m.HeaviestMass
		if !v.Calc.Known(mass) {
			mass = m.MovedMass // payloads come with the moves
		}
		weight := v.V(mass) * m.Gravity * math.Sin(v.V(m.Incline))
		share := v.V(m.Counterbalance) / weight
		most, least := v.CheckLimit("counterbalance-weight", "most"), v.CheckLimit("counterbalance-weight", "least")
		f := judge.Fault{At: judge.Field("load.counterbalance"), Move: -1, Inputs: judge.Fields("load.mass", "load.moved_mass", "incline")}
		limit, than := most, "maximum"
		switch {
		case judge.Above(share, most):
			f.Compared, f.Limit = judge.Compared{Value: share, Limit: most, Kind: unit.Percentage, Sense: judge.AtMost}, "most"
		case judge.Above(least, share):
			f.Compared = judge.Compared{Value: share, Limit: least, Kind: unit.Percentage, Sense: judge.AtLeast}
			f.Limit, limit, than = "least", least, "minimum"
		case rises(v, mass):
			f.Severity = judge.Note
			moves := "rises"
			if !v.Calc.Known(m.Friction) && !v.Calc.Known(m.DragGiven) {
				moves = "rises, unless guide friction holds it"
			}
			f.Message = fmt.Sprintf("counterbalance %s exceeds the weight along the axis, %s (%s): without brake and power the axis %s",
				v.F(m.Counterbalance), v.Show(weight, unit.Force), v.F(mass), moves)
			return []judge.Fault{f}
		default:
			return nil
		}
		is, usual := v.Apart(share, limit, unit.Percentage)
		f.Message = fmt.Sprintf("counterbalance %s is %s of the weight along the axis, %s (%s); usual %s %s",
			v.F(m.Counterbalance), is, v.Show(weight, unit.Force), v.F(mass), than, usual)
		return []judge.Fault{f}
	},
}
