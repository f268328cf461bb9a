package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var hardness = judge.Rule{
	Name:     "hardness",
	Question: "Is the raceway hard enough?",
	Doc: `Ratings by ISO 3408-5 apply from 58 HRC upward. Softer raceways reduce them; below
56 HRC the rating formulas can no longer be trusted. Where no hardness is declared, 58 HRC is
taken and the rule does not apply.`,
	Source:   "ISO 3408-5:2006, scope (58 HRC); 56 HRC: common practice, no source",
	Severity: judge.Error,
	Fit:      true,
	Reasons:  []judge.Reason{{Words: "no hardness is declared; 58 HRC is taken", If: func(v *judge.View) bool { return !v.Declared(judge.Field("screw.hardness")) }}},
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "Rockwell C hardness", Kind: unit.None, Sense: judge.AtLeast, Default: 56},
		Value: m.Hardness,
		Say: func(v *judge.View, limit float64) string {
			return fmt.Sprintf("raceway hardness %s HRC is below the minimum %s HRC", v.Ratio(v.V(m.Hardness)), v.Ratio(limit))
		},
		At: at("screw.hardness"),
	}},
}
