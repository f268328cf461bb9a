package rules

import (
	"fmt"
	"math"

	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var _ = register(Rule{
	Name:     "standing-force",
	Question: "Are the force at standstill and the thrust of the moves of one size?",
	Doc: `What an axis holds at standstill (load.standstill) is mostly what it pushed with before:
the press that holds its load, the clamp that stays shut. Where the two differ by more
than a factor of ten, one of them is often in another unit, or was not changed with the
other. The greatest thrust of the cycle is compared, without signs.

It is wrong to worry about an axis that is pushed at rest by something else than its own
work, such as a bolt that bears a load while it does not move.`,
	Source:   "common practice, no source",
	Severity: Warning,
	Limits:   []Limit{{Name: "limit", Doc: "the larger of both forces over the smaller", Kind: unit.None, Sense: AtMost, Default: 10}},
	Reasons: []Reason{
		{"no force at standstill is declared", func(v *View) bool {
			x := v.Value(field("load.standstill"))
			return x == nil || x.Num.Nominal == 0
		}},
		{"no move has a thrust", func(v *View) bool {
			_, most := mostThrust(v)
			return most == 0
		}},
	},
	Check: func(v *View) []Fault {
		hold := v.Value(field("load.standstill"))
		i, most := mostThrust(v)
		if hold == nil || most == 0 {
			return nil
		}
		times, limit := math.Abs(hold.Num.Nominal)/most, v.checkLimit("standing-force", "limit")
		times = max(times, 1/times)
		if !above(times, limit) {
			return nil
		}
		is, usual := v.Apart(times, limit, unit.None)
		thrust := v.MoveValue(v.Axis.Moves[i], field("motion.move.thrust"))
		return []Fault{{At: hold.Field, Move: -1, Use: times / limit, Limit: "limit",
			Message: fmt.Sprintf("standstill %s and thrust %s of move %s differ by a factor of %s; usual is at most %s",
				v.Text(hold), v.Text(thrust), v.Axis.Moves[i].Name, is, usual),
			Related: []spec.Related{{Place: thrust.Place, Message: "the thrust stands here"}}}}
	},
})

// mostThrust is the move with the greatest thrust, and how great it is.
func mostThrust(v *View) (at int, most float64) {
	for i, x := range v.Calc.Series(m.MoveThrust) {
		if math.Abs(x) > most {
			at, most = i, math.Abs(x)
		}
	}
	return at, most
}
