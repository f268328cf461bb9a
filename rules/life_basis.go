package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// inHours are the spellings in which a life is a number of hours.
var inHours = map[string]bool{"h": true, "min": true, "s": true, "ms": true, "µs": true, "us": true}

var lifeBasis = Rule{
	Name:     "life-basis",
	Question: "Is it said whether a life in hours is calendar time or working time?",
	Doc: `20,000 h are 2.3 years by the calendar and ten years of work at 10 h a day on 200 days.
Lives on data sheets and in contracts are mostly given in working hours, and a year has
8766 hours by the calendar: whoever means the one and is read as the other is wrong by a
factor of two to five. A service life written in hours must say which it is
(duty.life_basis); until then it counts as calendar time. One in months or years is
calendar time unless life_basis says otherwise.

Working hours are those of duty (hours_per_day, days_per_year), rests of the cycle
included; hours in motion are fewer.`,
	Source:   "elementary logic",
	Severity: Error,
	Reasons: []Reason{
		{"no service life is declared", func(v *View) bool { return v.Value(field("duty.service_life")) == nil }},
		{"the service life is written in days, months or years", func(v *View) bool {
			return !inHours[unit.UnitOf(v.Value(field("duty.service_life")).Text)]
		}},
	},
	Check: func(v *View) []Fault {
		if v.Value(field("duty.life_basis")) != nil {
			return nil
		}
		x := v.Value(field("duty.service_life"))
		said := fmt.Sprintf("service life %s: calendar time or working hours? by the calendar that is %s", v.Text(x), v.Show(x.Num.Nominal, unit.Span))
		if hours := v.V(m.DutyHours); hours == hours {
			said += fmt.Sprintf(", at the declared duty %s of work", v.Show(x.Num.Nominal/hours*m.Year, unit.Span))
		}
		return []Fault{{At: x.Field, Move: -1, Message: said + `; declare life_basis = "working" or "calendar"`,
			Enters: []*spec.Field{field("duty.hours_per_day"), field("duty.days_per_year")}}}
	},
}

// requiredLife is the required life in words: as declared, and what that is by
// the calendar.
func (v *View) requiredLife() string {
	x := v.Value(field("duty.service_life"))
	years := v.F(m.RequiredLife)
	switch {
	case x == nil || v.V(m.LifeBasis) == m.WorkingTime:
		return fmt.Sprintf("%s (%s of work)", years, v.hours(m.ServiceLife))
	case inHours[unit.UnitOf(x.Text)]:
		return fmt.Sprintf("%s (%s by the calendar)", years, v.hours(m.ServiceLife))
	}
	return years
}

// hours writes a time in hours.
func (v *View) hours(q *m.Quantity) string { return v.Show(v.V(q)/3600, unit.None) + " h" }
