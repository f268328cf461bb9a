package rules

import (
	"fmt"

	"trammel/rules/judge"
	"trammel/spec/unit"
)

var ballRoom = judge.Rule{
	Name:     "ball-room",
	Question: "Do the balls of a screw leave enough room between turns and around the shaft?",
	Doc: `A land must remain between neighbouring turns, or the edges of the grooves break under
load. The ball diameter is compared with the distance between turns, (lead / starts) ·
cos φ: usually up to 80 %, much less in steep screws. A ball must also be small compared
with its circle, or too few balls share the load: usually 6 % to 25 %. A screw beyond the
limits is unusual, not impossible; for balls that overlap see
[part-contradiction](part-contradiction.md). Without starts one start is assumed; without
a ball circle the nominal diameter is used.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Fit:      true,
	Limits: []judge.Limit{
		{Name: "turns", Doc: "ball diameter over the distance between neighbouring turns", Kind: unit.Percentage, Sense: judge.AtMost, Default: 0.9},
		{Name: "circle", Doc: "ball diameter over the ball circle diameter", Kind: unit.Percentage, Sense: judge.AtMost, Default: 0.33},
	},
	Given: []string{"ball_diameter", "lead", "nominal_diameter"},
	Part: func(p *judge.PartView) []judge.PartFault {
		var out []judge.PartFault
		ball := p.Num("ball_diameter")
		circle, from := ballCircle(p)
		if share, limit := ball/turns(p, circle), p.Limit("turns"); judge.Above(share, limit) && !judge.Reaches(share, 1) {
			is, most := p.Apart(share, limit, unit.Percentage)
			out = append(out, judge.PartFault{At: "ball_diameter", Limit: "turns", Compared: judge.Compared{Value: share, Limit: limit, Kind: unit.Percentage, Sense: judge.AtMost}, Inputs: []string{"lead", "starts", from},
				Message: fmt.Sprintf("%s of %s fills %s of the %s between turns; usual maximum %s",
					p.Say("ball_diameter"), p.Ref(), is, length(p, turns(p, circle)), most)})
		}
		if share, limit := ball/circle, p.Limit("circle"); judge.Above(share, limit) {
			is, most := p.Apart(share, limit, unit.Percentage)
			out = append(out, judge.PartFault{At: "ball_diameter", Limit: "circle", Compared: judge.Compared{Value: share, Limit: limit, Kind: unit.Percentage, Sense: judge.AtMost}, Inputs: []string{from},
				Message: fmt.Sprintf("%s of %s is %s of its %s; usual maximum %s",
					p.Say("ball_diameter"), p.Ref(), is, p.Say(from), most)})
		}
		return out
	},
}

// length writes a length in the units of the part.
func length(v *judge.PartView, x float64) string { return unit.Format(x, unit.Length, v.Sys) }
