package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var motorSpeed = judge.Rule{
	Name:     "motor-speed",
	Question: "Does the motor keep the required speed reserve?",
	Doc: `The highest speed of the motor, lead and ratio included, against the maximum speed its
part permits. This is the comparison of min-lead seen from the motor: a limit of 80 % here is
one of 1.25 there. So that one fault gives one finding, only the stricter of the two reports:
min-lead at the defaults, motor-speed where a policy lowers its limit to require a reserve.
Where that one is off or less severe, the other reports.`,
	Source:   "elementary mechanics",
	Severity: judge.Error,
	Reasons: []judge.Reason{{Words: "min-lead requires at least as much of the motor", If: func(v *judge.View) bool {
		return speaks(v, "min-lead", "motor-speed") && limitOf(v, "min-lead")*limitOf(v, "motor-speed") >= 1
	}}},
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "motor speed over its highest permitted speed", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
		Value:   m.MotorSpeed,
		Against: m.MotorMaxSpeed,
		Say: func(v *judge.View, limit float64) string {
			share := ""
			if limit != 1 {
				share = v.Percent(limit) + " of "
			}
			return fmt.Sprintf("motor speed %s exceeds %sthe motor maximum %s", v.F(m.MotorSpeed), share, v.F(m.MotorMaxSpeed))
		},
		At:         atFastest,
		Inputs:     quantities(m.Lead, m.Ratio, m.MotorMaxSpeed),
		Parameters: parameters(slower, higherLead, lowerRatio, fasterMotor),
	}},
}

// speaks reports whether findings of one rule are at least as serious as those
// of another, so that it can speak for it.
func speaks(v *judge.View, one, other string) bool {
	return v.SeverityOf(one) > judge.Off && v.SeverityOf(one) >= v.SeverityOf(other)
}

// limitOf is the limit in force of a rule with one limit.
func limitOf(v *judge.View, name string) float64 {
	x, _, _ := v.TestLimit(name, 0)
	return x
}
