package rules

import (
	"fmt"

	"trammel/rules/judge"
	"trammel/spec/unit"
)

var staticRating = judge.Rule{
	Name:     "static-rating",
	Question: "Is the static rating of a screw above its dynamic rating?",
	Doc: `A ball screw carries more at rest than in motion: its static rating is commonly 1.2 to
4 times the dynamic one. A lower one is unusual, not impossible: a nut with very few balls may
have it. Look first whether the two columns were exchanged, or one of them is in another unit.
Bearings of support units are not judged: either of their ratings may be the higher.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Fit:      true,
	Limits:   []judge.Limit{{Name: "limit", Doc: "static over dynamic rating", Kind: unit.None, Sense: judge.AtLeast, Default: 1}},
	Given:    []string{"static_rating", "dynamic_rating"},
	Part: func(p *judge.PartView) []judge.PartFault {
		if p.Kind != "screw" {
			return nil
		}
		have, limit := p.Num("static_rating")/p.Num("dynamic_rating"), p.Limit("limit")
		if !judge.Above(limit, have) {
			return nil
		}
		is, least := p.Apart(have, limit, unit.None)
		return []judge.PartFault{{At: "static_rating", Limit: "limit", Compared: judge.Compared{Value: have, Limit: limit, Kind: unit.None, Sense: judge.AtLeast}, Inputs: []string{"dynamic_rating"},
			Message: fmt.Sprintf("%s of %s is %s times its %s; usual minimum %s", p.Say("static_rating"), p.Ref(), is, p.Say("dynamic_rating"), least)}}
	},
}
