package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// drawn is the temperature at which lengths are measured, in K.
const drawn = 293.15

var temperatureRange = judge.Rule{
	Name:     "temperature-range",
	Question: "Does the declared temperature rise suit the temperature around the axis?",
	Doc: `accuracy.temperature_rise is how much warmer the shaft gets than the machine. It
is often copied from an axis that works elsewhere: beside an oven at 150 °C a shaft does not
stay within 3 K of its bed. The difference between the environment and 20 °C, up or down, is
compared with the rise; up to ten times as much is usual for machines that warm through as a
whole.

It is judged where the rise matters: where a positioning is declared, or both ends are fixed.
Where a scale or cooling keeps shaft and bed together, waive the rule with that reason.`,
	Source:   "common practice, no source; 20 °C: ISO 1",
	Severity: judge.Warning,
	Fit:      true,
	Limits:   []judge.Limit{{Name: "limit", Doc: "difference between environment and 20 °C over the rise", Kind: unit.None, Sense: judge.AtMost, Default: 10}},
	Reasons: []judge.Reason{
		{Words: "no temperature rise is declared", If: func(v *judge.View) bool { return v.Value(judge.Field("accuracy.temperature_rise")) == nil }},
		{Words: "no environment is declared", If: func(v *judge.View) bool { return v.Value(judge.Field("environment")) == nil }},
		{Words: "no positioning is required, and one end lets the shaft grow", If: func(v *judge.View) bool {
			return v.Value(judge.Field("accuracy.positioning")) == nil && !(v.V(m.DriveEnd) == m.FixedEnd && v.V(m.FarEnd) == m.FixedEnd)
		}},
	},
	Wants: judge.Fields("environment.max_temperature", "environment.min_temperature"),
	Check: func(v *judge.View) []judge.Fault {
		rise := v.Value(judge.Field("accuracy.temperature_rise"))
		least := math.Max(math.Abs(rise.Num.Low), math.Abs(rise.Num.High))
		limit := v.CheckLimit("temperature-range", "limit")
		var out []judge.Fault
		for _, path := range []string{"environment.max_temperature", "environment.min_temperature"} {
			x := v.Value(judge.Field(path))
			if x == nil {
				continue
			}
			off := math.Abs(x.Num.Nominal - drawn)
			if !judge.Above(off, limit*least) {
				continue
			}
			have, usual := v.Apart(least, off/limit, unit.TemperatureDifference)
			out = append(out, judge.Fault{At: rise.Field, Move: -1, Limit: "limit", Compared: judge.Compared{Value: least, Limit: off / limit, Kind: unit.TemperatureDifference, Sense: judge.AtLeast},
				Message: fmt.Sprintf("temperature rise %s is low for %s at %s (%s from 20 °C); usual minimum %s", have, v.Word(judge.Field("environment")), v.Text(x), v.Show(off, unit.TemperatureDifference), usual),
				Inputs:  []*spec.Field{x.Field}})
		}
		return out[:min(len(out), 1)]
	},
}
