package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var _ = register(Rule{
	Name:     "critical-speed",
	Question: "Does the turning shaft stay clear of its first critical speed?",
	Doc: `A long shaft whips when it turns near its first natural frequency of bending. It
is taken as a uniform rod of root diameter between its supports; the nut, which
steadies it, is left out, as is usual and cautious. Permitted are 80 % of the
critical speed. The limit is applied once: coefficients in trade tables already
hold it, the formula here does not.

The free length is the declared span between the supports. A fixed end counts as
clamped only if it really is: a pair of angular contact bearings in a housing, not
one deep groove bearing.

Where the nut turns and the shaft stands still the question does not arise.`,
	Source:   "Euler–Bernoulli beam; Blevins, Formulas for Natural Frequency and Mode Shape, table 8-1; 80 %: common practice, no source",
	Severity: Error,
	Reasons:  []Reason{nutTurns},
	Tests: []Test{{
		Limit: Limit{Name: "limit", Doc: "rotation speed over critical speed", Kind: unit.Percentage, Sense: AtMost, Default: 0.8},
		Value: m.CriticalShare,
		Needs: quantities(m.MaxRotation, m.Critical),
		Also:  quantities(m.Turning),
		Say: func(v *View, limit float64) string {
			return fmt.Sprintf("shaft turns at %s, %s of its critical speed %s; at most %s is allowed",
				v.F(m.MaxRotation), v.F(m.CriticalShare), v.F(m.Critical), v.Percent(limit))
		},
		At:     atFastest,
		Enters: quantities(m.Span, m.RootDiameter, m.DriveEnd, m.FarEnd, m.Lead),
		Levers: levers(slower, shorterSpan, higherLead, thicker, held),
	}},
})

// nutTurns is for questions about a turning shaft.
var nutTurns = Reason{"the nut turns and the shaft stands still", func(v *View) bool { return v.V(m.Turning) == m.NutTurns }}
