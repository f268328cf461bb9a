package rules

import (
	"fmt"
	"math"
	"strconv"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var ratingEstimate = judge.Rule{
	Name:     "rating-estimate",
	Question: "Do the ratings of a screw suit its balls?",
	Doc: `Both ratings follow roughly from the number and size of the loaded balls. Where
ball diameter, lead, loaded turns and ball circle (or nominal diameter) are given, they are
estimated and compared with the declared ones. A rating far off is often one in other units
(kgf, lbf), of another size, or of one turn instead of all.

The estimates are rough. They assume a contact angle of 45°, a groove radius of 0.54 ball
diameters, turns full of balls and an equal share for every turn; no data sheet gives these. A
groove radius of 0.52 raises the static estimate by half, one of 0.56 lowers it by a quarter. So
only a difference of more than a factor of two is reported. Axes are judged by the declared
ratings.

- Dynamic: Ca = Ci · i^0.86, Ci = fc · (cos α)^0.86 · z1^(2/3) · Dw^1.8 · tan α ·
  (cos φ)^1.3 (N, mm), with fc = 93.2 · (1 − sin α/3) · (1 + ((1−γ)/(1+γ))^5.73)^−0.3 ·
  γ^0.3 · (1−γ)^1.39 / (1+γ)^(1/3) · (2f/(2f−1))^0.41 as for thrust ball bearings,
  γ = Dw · cos α / Dpw, f the groove radius in ball diameters.
- Static: C0a = Q · z1 · i · sin α · cos φ, Q being the load on one ball at which the
  contact stress in the shaft's groove is 4200 MPa by Hertz's theory.

z1 is the number of balls that fill a turn, i the loaded turns, counted over all starts.`,
	Source:   "ISO 3408-5:2006, 5.1 and 5.2, from memory, its static factor replaced by Hertz's theory; fc agrees with the table of ISO 281 and Q with that of ISO 76, both from memory; the factor of two: common practice, no source",
	Severity: judge.Warning,
	Fit:      true,
	Limits:   []judge.Limit{{Name: "limit", Doc: "declared over estimated rating, or the other way round", Kind: unit.None, Sense: judge.AtMost, Default: 2}},
	Given:    []string{"ball_diameter", "lead", "loaded_turns", "nominal_diameter", "dynamic_rating"},
	Part: func(p *judge.PartView) []judge.PartFault {
		circle, from := ballCircle(p)
		ball, lead, turns := p.Num("ball_diameter"), p.Num("lead"), p.Num("loaded_turns")
		if !(ball < circle) {
			return nil // nothing follows from it; other rules say so
		}
		limit := p.Limit("limit")
		var out []judge.PartFault
		for _, x := range []struct {
			name     string
			estimate float64
		}{
			{"dynamic_rating", m.EstimateDynamic(ball, circle, lead, turns)},
			{"static_rating", m.EstimateStatic(ball, circle, lead, turns)},
		} {
			off := p.Num(x.name) / x.estimate
			off = math.Max(off, 1/off)
			if !judge.Above(off, limit) {
				continue
			}
			is, most := p.Apart(off, limit, unit.None)
			about, _ := strconv.ParseFloat(strconv.FormatFloat(x.estimate, 'g', 2, 64), 64)
			out = append(out, judge.PartFault{At: x.name, Limit: "limit", Compared: judge.Compared{Value: off, Limit: limit, Kind: unit.None, Sense: judge.AtMost}, Inputs: []string{"ball_diameter", from, "lead", "loaded_turns"},
				Message: fmt.Sprintf("%s of %s differs by a factor of %s from about %s estimated from its balls; usual maximum %s",
					p.Say(x.name), p.Ref(), is, unit.Format(about, unit.Force, p.Sys), most)})
		}
		return out
	},
}
