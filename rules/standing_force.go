package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var standingForce = judge.Rule{
	Name:     "standing-force",
	Question: "Are the forces at rest comparable with the thrust of the moves?",
	Doc: `What an axis holds at rest (load.standstill, hold of a move) is usually what it pushed with
before: the press that holds its load, the clamp that stays shut. Where the two differ by
more than a factor of ten, one of them is often in another unit, or was not changed with
the other. The largest thrust of the cycle is compared, without signs. A move that holds
where none pushes gives a note.

A finding is no fault where something other than the process loads the axis at rest, such as a
bolt that carries a load while it does not move: waive the rule.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Fit:      true,
	Limits:   []judge.Limit{{Name: "limit", Doc: "the larger of both forces over the smaller", Kind: unit.None, Sense: judge.AtMost, Default: 10}},
	Reasons:  []judge.Reason{{Words: "no force at rest is declared, neither load.standstill nor hold of a move", If: func(v *judge.View) bool { return len(restForces(v)) == 0 }}},
	Check: func(v *judge.View) (out []judge.Fault) {
		i, most := mostThrust(v)
		limit := v.CheckLimit("standing-force", "limit")
		for _, rest := range restForces(v) {
			at := judge.Fault{At: rest.Field, Move: rest.move, Limit: "limit"}
			said := judge.Readable(rest.Field.Name) + " " + v.Text(rest.Value)
			if rest.move >= 0 {
				said += " after move " + v.Axis.Moves[rest.move].Name
			}
			times := math.Abs(rest.Num.Nominal) / most
			times = max(times, 1/times)
			switch {
			case most == 0 && rest.move < 0:
				continue
			case most == 0:
				at.Severity = judge.Note
				at.Message = said + ", but no move has a thrust: is the thrust missing?"
			case judge.Above(times, limit):
				is, usual := v.Apart(times, limit, unit.None)
				thrust := v.MoveValue(v.Axis.Moves[i], judge.Field("motion.move.thrust"))
				at.Compared = judge.Compared{Value: times, Limit: limit, Kind: unit.None, Sense: judge.AtMost}
				at.Message = fmt.Sprintf("%s and thrust %s of move %s differ by a factor of %s; usual maximum %s", said, v.Text(thrust), v.Axis.Moves[i].Name, is, usual)
				at.Related = []spec.Related{{Place: thrust.Place, Message: "the thrust is declared here"}}
			default:
				continue
			}
			out = append(out, at)
		}
		return out
	},
}

// A restForce is a declared force at rest: that of the axis, or that after a move.
type restForce struct {
	*spec.Value
	move int // -1 for that of the axis
}

// restForces are the declared forces at rest, zeros left out.
func restForces(v *judge.View) (out []restForce) {
	add := func(x *spec.Value, move int) {
		if x != nil && x.Num.Nominal != 0 {
			out = append(out, restForce{x, move})
		}
	}
	add(v.Value(judge.Field("load.standstill")), -1)
	for i, mv := range v.Axis.Moves {
		add(v.MoveValue(mv, judge.Field("motion.move.hold")), i)
	}
	return out
}

// mostThrust is the move with the greatest thrust, and how great it is.
func mostThrust(v *judge.View) (at int, most float64) {
	for i, x := range v.Calc.Series(m.MoveThrust) {
		if math.Abs(x) > most {
			at, most = i, math.Abs(x)
		}
	}
	return at, most
}
