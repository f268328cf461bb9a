package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var travelRoom = judge.Rule{
	Name:     "travel-room",
	Question: "Is there room between the supports for the whole travel of the nut?",
	Doc: `Between the supports there must be room for the stroke, the overtravel at both ends and
the nut itself: a span shorter than stroke + 2 · overtravel + nut length cannot be built.
Usually such a span was copied from a shorter axis, and it makes critical speed and buckling
look better than they are, by the square of the span.

Where supports.loaded_length is declared, the compressed length at the far end of the travel is
at least the whole travel, since the nut starts no nearer to the thrust bearing than at it. With
both ends fixed half of that is taken.

Where the nut may overhang a support, declare as its length only what lies between the supports.`,
	Source:   "geometry",
	Severity: judge.Error,
	Fit:      true,
	Tests: []judge.Test{
		{
			Limit:   judge.Limit{Name: "limit", Doc: "span over stroke, overtravel and nut", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
			Value:   m.Span,
			Against: m.ThreadNeeded,
			Needs:   quantities(m.Stroke, m.Overtravel, m.NutLength),
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("span %s is too short: stroke %s, overtravel 2 × %s and nut %s need %s",
					v.F(m.Span), v.F(m.Stroke), v.F(m.Overtravel), v.F(m.NutLength), v.F(m.ThreadNeeded))
			},
			At:         at("supports.span"),
			Inputs:     quantities(m.Stroke, m.Overtravel, m.NutLength),
			Parameters: parameters(longerSpan),
		},
		{
			Limit:   judge.Limit{Name: "loaded", Doc: "loaded length over the travel from stop to stop", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
			Value:   m.LoadedLengthGiven,
			Against: m.WholeTravel,
			Needs:   quantities(m.Stroke, m.Overtravel, m.DriveEnd, m.FarEnd),
			Reasons: []judge.Reason{
				{Words: "no loaded length is declared; the span is used", If: func(v *judge.View) bool { return v.V(m.LoadedLengthGiven) != v.V(m.LoadedLengthGiven) }},
				{Words: "both ends take thrust and the loaded length reaches to the middle of the travel", If: func(v *judge.View) bool {
					return v.V(m.DriveEnd) == m.FixedEnd && v.V(m.FarEnd) == m.FixedEnd && v.V(m.LoadedLengthGiven) >= v.V(m.WholeTravel)/2
				}},
			},
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("loaded length %s is too short: the nut travels %s (stroke %s, overtravel 2 × %s)",
					v.F(m.LoadedLengthGiven), v.F(m.WholeTravel), v.F(m.Stroke), v.F(m.Overtravel))
			},
			At:         at("supports.loaded_length"),
			Inputs:     quantities(m.Stroke, m.Overtravel),
			Parameters: parameters(longerPush),
		},
	},
}
