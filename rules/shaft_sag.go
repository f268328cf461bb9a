package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var shaftSag = judge.Rule{
	Name:     "shaft-sag",
	Question: "Does a long horizontal shaft stay straight under its own weight?",
	Doc: `A horizontal shaft sags between its supports: by 5·w·L⁴/(384·E·I) between two supported
ends, a fifth of that between two fixed ones. The nut is held on the line of the guides and
bends the shaft straight wherever it stands, which loads its balls from the side, and the shaft
turns bent. Above 1 mm a support under the shaft, a stiffer end condition or a thicker shaft is
usual. A stretch lessens the sag; that is not counted. For a shaft that does not turn see
standing-shaft.`,
	Source:   "beam tables; 1 mm: common practice, no source",
	Severity: judge.Note,
	Reasons:  []judge.Reason{{Words: "the nut turns", If: func(v *judge.View) bool { return v.V(m.Turning) == m.NutTurns }}},
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "sag of the shaft under its own weight", Kind: unit.Length, Sense: judge.AtMost, Default: 1e-3},
		Value: m.ShaftSag,
		Also:  quantities(m.Turning),
		Say: func(v *judge.View, limit float64) string {
			return fmt.Sprintf("shaft sags by %s over %s; usual maximum %s", v.F(m.ShaftSag), v.F(m.Span), v.Show(limit, unit.Length))
		},
		At:         at("supports.span"),
		Inputs:     quantities(m.RootDiameter, m.DriveEnd, m.FarEnd, m.Density, m.ElasticModulus),
		Parameters: parameters(shorterSpan, thicker, held),
	}},
}
