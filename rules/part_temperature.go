package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// hotParts are the parts that have a limit of temperature, with the highest
// temperature each is exposed to: nut and supports that of the shaft, the coupling
// that of the environment.
var hotParts = []struct {
	name, ref, limit string
	at               *m.Quantity
}{
	{"nut with its wipers", "nut.part", "nut.max_temperature", m.NutTemperature},
	{"support of the driven end with its seals", "supports.drive_end_part", "drive_support.max_temperature", m.NutTemperature},
	{"support of the far end with its seals", "supports.far_end_part", "far_support.max_temperature", m.NutTemperature},
	{"coupling", "drive.coupling", "coupling.max_temperature", m.EnvironmentMax},
}

var partTemperature = judge.Rule{
	Name:     "part-temperature",
	Question: "Do nut, wipers, supports and coupling withstand the heat of the environment?",
	Doc: `The maximum temperature of the environment and the shaft's own rise against
max_temperature of the nut (with its wipers and returns) and of the supports (with their seals);
the environment alone against that of the coupling. Plastic returns, wipers and seals usually
withstand 80 °C: up to there a part without max_temperature passes, above it the rule is not
judged until one is declared. The steel of screw and nut enters through the dynamic rating:
above 120 °C it must be stabilised (screw.stabilised_to), from 150 °C it loses rating.

Caution: a shaft, nut or support above about 55 °C burns skin on longer contact (ISO 13732-1).
Guards and warnings are for the machine's risk assessment and local rules.`,
	Source:   "80 °C: common practice, no source; ISO 13732-1 for the caution (threshold from memory)",
	Severity: judge.Error,
	Facts:    judge.Fields("environment"),
	Check: func(v *judge.View) []judge.Fault {
		var out []judge.Fault
		for _, p := range hotParts {
			limit := v.Value(judge.Field(p.limit))
			t := v.V(p.at) + upTo(v.Value(judge.Field("environment.max_temperature")))
			if limit != nil && judge.Above(t, limit.Num.Low) {
				out = append(out, judge.Fault{At: judge.Field(p.ref), Move: -1, Inputs: judge.Fields(p.limit, "environment.max_temperature", "accuracy.temperature_rise"),
					Compared: judge.Compared{Value: t, Limit: limit.Num.Low, Kind: unit.Temperature, Sense: judge.AtMost},
					Message:  fmt.Sprintf("%s reaches %s; limit %s", p.name, unit.FormatExact(t, unit.Temperature, v.Units()), unit.FormatExact(limit.Num.Low, unit.Temperature, v.Units()))})
			}
		}
		return out
	},
	Wants: judge.Fields("environment.max_temperature"),
	WantsBy: func(v *judge.View) []*spec.Field {
		var out []*spec.Field
		for _, p := range hotParts {
			if t := v.V(p.at); v.Axis.Get(judge.Field(p.ref)) != nil && !math.IsNaN(t) && judge.Above(t, usualLimit) {
				out = append(out, judge.Field(p.limit))
			}
		}
		return out
	},
}

// upTo is how far a value may lie above its middle.
func upTo(x *spec.Value) float64 {
	if x == nil {
		return 0
	}
	return x.Num.High - x.Num.Nominal
}

// usualLimit is what plastic and rubber in such parts usually bear: 80 °C in K.
const usualLimit = 353.15
