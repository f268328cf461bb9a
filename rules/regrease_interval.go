package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

// dryRunning is for questions about grease.
var dryRunning = Reason{"the screw runs on a dry film", func(v *View) bool { return v.Word(field("grease.thickener")) == "dry-film" }}

var _ = register(Rule{
	Name:     "regrease-interval",
	Question: "Is the screw regreased often enough for its distance and age?",
	Doc: `Grease ages, and is worked. Regrease at least every six months or every 1000 km of
travel, whichever comes first; the grease's own data go before this rule of thumb:
set the limits in a policy. The distance comes from cycle and duty.`,
	Source:   "common practice, no source",
	Severity: Warning,
	Reasons:  []Reason{dryRunning},
	Tests: []Test{
		{
			Limit: Limit{Name: "interval", Doc: "regreasing interval", Kind: unit.Span, Sense: AtMost, Default: m.Year / 2},
			Value: m.RegreaseEvery,
			Say: func(v *View, limit float64) string {
				return fmt.Sprintf("regreasing every %s is seldom; at least every %s is usual", v.F(m.RegreaseEvery), v.Show(limit, unit.Span))
			},
			At:     at("lubrication.regrease_every"),
			Levers: levers(regrease),
		},
		{
			Limit: Limit{Name: "distance", Doc: "distance travelled between two greasings", Kind: unit.Length, Sense: AtMost, Default: 1e6},
			Value: m.RegreaseDistance,
			Needs: quantities(m.DistancePerDay),
			Say: func(v *View, limit float64) string {
				return fmt.Sprintf("the nut travels %s in %s (%s a working day); regreasing at least every %s is usual",
					v.F(m.RegreaseDistance), v.F(m.RegreaseEvery), v.F(m.DistancePerDay), v.Show(limit, unit.Length))
			},
			At:     at("lubrication.regrease_every"),
			Enters: quantities(m.HoursPerDay, m.DaysPerYear),
			Levers: levers(regrease),
		},
	},
})
