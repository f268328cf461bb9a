package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// inHours are the spellings in which a life is a number of hours.
var inHours = map[string]bool{"h": true, "min": true, "s": true, "ms": true, "µs": true, "us": true}

var lifeBasis = judge.Rule{
	Name:     "life-basis",
	Question: "Is a life in hours declared as calendar time or working time?",
	Doc: `20,000 h are 2.3 years by the calendar and ten years of work at 10 h a day on 200
days. Lives on data sheets and in contracts are mostly given in working hours, and a year has
8766 hours by the calendar: confusing the two changes the life by a factor of two to five. A
service life written in hours must say which it is (duty.life_basis); until then it is taken as
calendar time. A life in months or years is calendar time unless life_basis says otherwise.

Working hours are those of duty (hours_per_day, days_per_year), rests of the cycle included;
hours in motion are fewer.`,
	Source:   "elementary logic",
	Severity: judge.Error,
	Reasons: []judge.Reason{
		{Words: "no service life is declared", If: func(v *judge.View) bool { return v.Value(judge.Field("duty.service_life")) == nil }},
		{Words: "the service life is written in days, months or years", If: func(v *judge.View) bool {
			return !inHours[unit.UnitOf(v.Value(judge.Field("duty.service_life")).Text)]
		}},
	},
	Check: func(v *judge.View) []judge.Fault {
		if v.Value(judge.Field("duty.life_basis")) != nil {
			return nil
		}
		x := v.Value(judge.Field("duty.service_life"))
		said := fmt.Sprintf("service life %s is %s as calendar time", v.Text(x), v.Show(x.Num.Nominal, unit.Span))
		if hours := v.V(m.DutyHours); hours == hours {
			said += fmt.Sprintf(" or, at the declared duty, %s as working time", v.Show(x.Num.Nominal/hours*m.Year, unit.Span))
		}
		return []judge.Fault{{At: x.Field, Move: -1, Message: said + `: declare life_basis = "working" or "calendar"`,
			Inputs: []*spec.Field{judge.Field("duty.hours_per_day"), judge.Field("duty.days_per_year")}}}
	},
}

// requiredLife is the required life in words: as declared, and what that is by
// the calendar.
func requiredLife(v *judge.View) string {
	x := v.Value(judge.Field("duty.service_life"))
	years := v.F(m.RequiredLife)
	switch {
	case x == nil || v.V(m.LifeBasis) == m.WorkingTime:
		return fmt.Sprintf("%s (%s of working time)", years, hours(v, m.ServiceLife))
	case inHours[unit.UnitOf(x.Text)]:
		return fmt.Sprintf("%s (%s of calendar time)", years, hours(v, m.ServiceLife))
	}
	return years
}

// hours writes a time in hours.
func hours(v *judge.View, q *m.Quantity) string { return v.Show(v.V(q)/3600, unit.None) + " h" }
