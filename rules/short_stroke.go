package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var _ = register(Rule{
	Name:     "short-stroke",
	Question: "Do the balls roll far enough to keep their grease?",
	Doc: `Where the travel of the cycle is shorter than the nut, the same balls rock on the
same spots: the grease film starves and the raceway marks (false brinelling), long
before the computed life. Full strokes now and then, or a shorter nut, help.`,
	Source:   "common practice, no source",
	Severity: Warning,
	Tests: []Test{{
		Limit: Limit{Name: "limit", Doc: "travel of the cycle over nut length", Kind: unit.None, Sense: AtLeast, Default: 1},
		Value: m.StrokeToNut,
		Needs: quantities(m.Reach),
		Say: func(v *View, _ float64) string {
			return fmt.Sprintf("the cycle travels over %s only and the nut is %s long: the balls rock in place; plan a full stroke at intervals", v.F(m.Reach), v.F(m.NutLength))
		},
		At:     at("motion.stroke"),
		Enters: quantities(m.NutLength),
	}},
})
