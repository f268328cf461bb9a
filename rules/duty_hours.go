package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var dutyHours = judge.Rule{
	Name:     "duty-hours",
	Question: "Are the declared working hours plausible for a repeating cycle?",
	Doc: `Life, greasing and heat are computed as if the cycle were repeated through all
working hours (duty.hours_per_day on duty.days_per_year). A machine with a cycle hardly ever
works less than 100 hours a year. Fewer hours are often hours of motion a day instead of working
hours (rests within the cycle are included already), or days a week instead of days a year; the
life then looks many times as long as it is. An adjusting axis that moves now and then may well
work less: waive the rule for it.`,
	Source:   "common practice, no source",
	Severity: judge.Note,
	Fit:      true,
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "working hours a year", Kind: unit.Time, Sense: judge.AtLeast, Default: 100 * 3600},
		Value: m.DutyHours,
		Needs: quantities(m.CycleTime, m.MovingShare, m.HoursPerDay, m.DaysPerYear),
		Say: func(v *judge.View, limit float64) string {
			return fmt.Sprintf("%s h a day on %s days is %s h a year, with %s of each cycle in motion; usual minimum %s h: are these working hours a day and days a year?",
				v.F(m.HoursPerDay), v.F(m.DaysPerYear), v.Ratio(v.V(m.DutyHours)/3600), v.Percent(v.V(m.MovingShare)), v.Ratio(limit/3600))
		},
		At:     at("duty.hours_per_day"),
		Inputs: quantities(m.DaysPerYear),
	}},
}
