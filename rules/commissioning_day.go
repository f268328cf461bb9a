package rules

import (
	"fmt"
	"time"

	"trammel/rules/judge"
	"trammel/spec"
)

var commissionedField = judge.Field("duty.commissioned")

var commissioningDay = judge.Rule{
	Name:     "commissioning-day",
	Question: "Is the commissioning date plausible?",
	Doc: `The age of an axis, and with it its remaining life, is counted from duty.commissioned. A
machine on order may be commissioned next year; a date more than two years ahead is usually a typing
error, such as 2062 for 2026. The axis would then be treated as new for years.

The date is compared with that of the check (--today). Waive the rule where a machine is
planned so far ahead.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Reasons: []judge.Reason{{Words: "no commissioning date is declared", If: func(v *judge.View) bool {
		_, ok := farOff(v)
		return !ok
	}}},
	Turns: func(v *judge.View) (time.Time, bool) { return farOff(v) },
	Check: func(v *judge.View) []judge.Fault {
		day, ok := farOff(v)
		if !ok || v.Today().After(day) {
			return nil
		}
		x := v.Value(commissionedField)
		return []judge.Fault{{At: x.Field, Move: -1,
			Message: fmt.Sprintf("commissioned %s is more than two years after %s: is the year correct?", x.Text, v.Today().Format(time.DateOnly))}}
	},
}

// farOff is the last day on which the day of commissioning is more than two
// years ahead; false where none is declared.
func farOff(v *judge.View) (time.Time, bool) {
	x := v.Value(commissionedField)
	if x == nil || x.Bad || x.Origin == spec.Default {
		return time.Time{}, false
	}
	day, err := time.Parse(time.DateOnly, x.Text)
	return day.AddDate(-2, 0, -1), err == nil
}
