package rules

import (
	"fmt"

	"trammel/rules/judge"
	"trammel/spec/unit"
)

var lubricantEnvironment = judge.Rule{
	Name:     "lubricant-environment",
	Question: "Does the grease fit the environment?",
	Doc: `Compares what is declared of grease and environment:

- the grease's temperature range must include that of the nut: the environment at its coldest, and
  at its warmest with the rise of the shaft (accuracy.temperature_rise) on top;
- a clean room needs a grease that gives off few particles (low_particle); a lithium
  soap grease does not;
- open food or similar product needs a food_grade grease;
- wash-down needs a water_resistant one;
- vacuum needs a vacuum grease or a dry film.

A flag that is not declared is taken as no: a grease is fit for an environment only if its
data sheet says so. Dust and chips are kept out by wipers and covers, not by grease:
see contamination.`,
	Source:   "common practice, no source; the ranges are those of the grease's data sheet",
	Severity: judge.Error,
	Facts:    judge.Fields("lubrication.grease", "environment"),
	Check: func(v *judge.View) []judge.Fault {
		var out []judge.Fault
		grease := v.Word(judge.Field("lubrication.grease"))
		where := v.Word(judge.Field("environment"))
		fault := func(inputs []string, format string, args ...any) {
			out = append(out, judge.Fault{At: judge.Field("lubrication.grease"), Move: -1, Message: fmt.Sprintf(format, args...), Inputs: judge.Fields(inputs...)})
		}
		for _, want := range []struct{ flag, grease, why string }{
			{"clean_room", "low_particle", "%s is a clean room, but %s is not declared low_particle"},
			{"open_product", "food_grade", "product lies open at %s, but %s is not declared food_grade"},
			{"wash_down", "water_resistant", "%s is washed down, but %s is not declared water_resistant: water washes it out"},
			{"vacuum", "vacuum", "%s is in vacuum, but %s is not declared for vacuum: its oil evaporates"},
		} {
			if v.Flag(judge.Field("environment."+want.flag)) && !v.Flag(judge.Field("grease."+want.grease)) &&
				(want.flag != "vacuum" || v.Word(judge.Field("grease.thickener")) != "dry-film") {
				fault([]string{"environment." + want.flag, "grease." + want.grease, "grease.thickener", "grease.base_oil"}, want.why, where, grease)
			}
		}
		p, g := v.Value(judge.Field("environment.max_temperature")), v.Value(judge.Field("grease.max_temperature"))
		if p != nil && g != nil {
			rise := v.Value(judge.Field("accuracy.temperature_rise"))
			rises := rise != nil && rise.Num.High > 0
			hot := p.Num.High
			if rises {
				hot += rise.Num.High
			}
			if judge.Above(hot, g.Num.Low) {
				is, good := v.Apart(hot, g.Num.Low, unit.Temperature)
				inputs := []string{"environment.max_temperature", "grease.max_temperature"}
				if rises {
					fault(append(inputs, "accuracy.temperature_rise"), "%s is rated to %s; the nut at %s reaches %s (%s plus a rise of %s)",
						grease, good, where, is, v.Show(p.Num.High, unit.Temperature), v.Show(rise.Num.High, unit.TemperatureDifference))
				} else {
					fault(inputs, "%s is rated to %s; %s reaches %s", grease, good, where, is)
				}
			}
		}
		if p, g := v.Value(judge.Field("environment.min_temperature")), v.Value(judge.Field("grease.min_temperature")); p != nil && g != nil && judge.Above(g.Num.High, p.Num.Low) {
			is, good := v.Apart(p.Num.Low, g.Num.High, unit.Temperature)
			fault([]string{"environment.min_temperature", "grease.min_temperature"}, "%s is rated down to %s; %s goes down to %s", grease, good, where, is)
		}
		return out
	},
	Wants: judge.Fields("environment.max_temperature", "grease.max_temperature", "environment.min_temperature", "grease.min_temperature"),
}
