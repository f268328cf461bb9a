package rules

import (
	"fmt"

	"trammel/spec/unit"
)

var _ = register(Rule{
	Name:     "lubricant-environment",
	Question: "Does the grease fit the place?",
	Doc: `Looks at what grease and place declare of themselves:

- the grease's temperature range must cover the place's, at both ends;
- a clean room wants a grease that gives off few particles (low_particle); a lithium
  soap grease does not;
- where food or the like lies open, food_grade grease;
- wash-down wants a water_resistant one;
- vacuum wants a vacuum grease or a dry film.

A flag that is not declared counts as no: a grease is fit for a place only if its
data sheet says so. Dust and chips are kept out by wipers and covers, not by grease:
see contamination.`,
	Source:   "common practice, no source; the ranges are those of the grease's data sheet",
	Severity: Error,
	Facts:    fields("lubrication.grease", "environment"),
	Check: func(v *View) []Fault {
		var out []Fault
		grease := v.Word(field("lubrication.grease"))
		place := v.Word(field("environment"))
		fault := func(enters []string, format string, args ...any) {
			out = append(out, Fault{At: field("lubrication.grease"), Move: -1, Message: fmt.Sprintf(format, args...), Enters: fields(enters...)})
		}
		for _, want := range []struct{ place, grease, why string }{
			{"clean_room", "low_particle", "%s is a clean room and %s is not declared low_particle: it gives off particles"},
			{"open_product", "food_grade", "product lies open at %s and %s is not declared food_grade"},
			{"wash_down", "water_resistant", "%s is washed down and %s is not declared water_resistant: it is washed out"},
			{"vacuum", "vacuum", "%s is in vacuum and %s is not declared fit for vacuum: its oil evaporates"},
		} {
			if v.Flag(field("place."+want.place)) && !v.Flag(field("grease."+want.grease)) &&
				(want.place != "vacuum" || v.Word(field("grease.thickener")) != "dry-film") {
				fault([]string{"place." + want.place, "grease." + want.grease, "grease.thickener", "grease.base_oil"}, want.why, place, grease)
			}
		}
		for _, end := range []struct {
			place, grease, format string
			bad                   func(place, grease unit.Quantity) bool
			worst                 func(q unit.Quantity) float64
			worstGrease           func(q unit.Quantity) float64
		}{
			{"place.max_temperature", "grease.max_temperature", "%s reaches %s and %s is good up to %s only",
				func(p, g unit.Quantity) bool { return above(p.High, g.Low) }, func(q unit.Quantity) float64 { return q.High }, func(q unit.Quantity) float64 { return q.Low }},
			{"place.min_temperature", "grease.min_temperature", "%s gets as cold as %s and %s is good down to %s only",
				func(p, g unit.Quantity) bool { return above(g.High, p.Low) }, func(q unit.Quantity) float64 { return q.Low }, func(q unit.Quantity) float64 { return q.High }},
		} {
			p, g := v.Value(field(end.place)), v.Value(field(end.grease))
			if p == nil || g == nil || !end.bad(p.Num, g.Num) {
				continue
			}
			is, good := v.Apart(end.worst(p.Num), end.worstGrease(g.Num), unit.Temperature)
			fault([]string{end.place, end.grease}, end.format, place, is, grease, good)
		}
		return out
	},
	Wants: fields("place.max_temperature", "grease.max_temperature", "place.min_temperature", "grease.min_temperature"),
})
