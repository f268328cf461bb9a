package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/rules/tables"
	"trammel/spec/unit"
)

var ballSpeed = judge.Rule{
	Name:     "ball-speed",
	Question: "Can the ball return withstand this speed?",
	Doc: `The dn value, ball circle diameter in millimetres times speed in rpm, is a measure
of the speed at which balls strike the return. The limit is the part's own dn_limit; otherwise
the cautious end of the usual range for its type: 50,000 rolled, 70,000 ground with tube or
deflector, 100,000 ground with end caps. Published limits differ widely, so declare that of the
part. A whirled thread is judged as rolled. Without a declared ball circle the nominal diameter
is used.`,
	Source:   "the part's data; else common practice, no source",
	Severity: judge.Error,
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "dn value, in mm·rpm", Kind: unit.None, Sense: judge.AtMost, Default: 50000, Spread: "the part's dn_limit, else 50 000 rolled, 70 000 ground with tube or deflector, 100 000 ground with end caps",
			Lacks: judge.Fields("screw.process", "screw.recirculation"),
			By: func(v *judge.View) (float64, string, bool) {
				if x := v.V(m.DNLimit); x == x {
					return x, "the part's", true
				}
				process, returns := v.Calc.Word(m.Process), v.Calc.Word(m.Recirculation)
				if process == "whirled" {
					process = "rolled"
				}
				low, _, _, ok := tables.DNLimit(process, returns)
				if !ok {
					return 0, "", false
				}
				return low, "usual for " + process + ", " + returns, true
			}},
		Value: m.DN,
		Needs: quantities(m.MaxRotation, m.BallCircle),
		Also:  quantities(m.DNLimit, m.Process, m.Recirculation),
		Say: func(v *judge.View, limit float64) string {
			dn := func(x float64) string { return unit.FormatDigits(x, unit.None, v.Units(), max(v.Digits, 6)) }
			return fmt.Sprintf("dn value %s (%s × %s) exceeds the limit %s", dn(v.V(m.DN)), unit.FormatExact(v.V(m.BallCircle), unit.Length, v.Units()), v.F(m.MaxRotation), dn(limit))
		},
		At:     atFastest,
		Inputs: quantities(m.Lead),
		More: func(v *judge.View) []*m.Quantity {
			return append(firstKnown(v, m.BallCircleGiven, m.NominalDiameter), firstKnown(v, m.DNLimit, m.Process, m.Recirculation)...)
		},
		Parameters: parameters(slower, higherLead),
	}},
}
