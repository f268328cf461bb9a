package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var criticalSpeed = judge.Rule{
	Name:     "critical-speed",
	Question: "Does the shaft speed stay clear of the first critical speed?",
	Doc: `A long shaft whips near its first bending frequency. It is taken as a uniform rod of
root diameter over the declared span; the nut, which steadies it, is ignored, as usual:
cautious. The limit of 80 % is applied once: coefficients in trade tables already include it,
the formula here does not.

Declare an end as fixed only if it is clamped: by a pair of angular contact bearings in a
housing, not by one deep groove ball bearing.

Two fixed ends that push a warm shaft (see buckling) lower the critical speed by about √(1 −
P/P_k), P_k being Euler's load of the span; it is zero at P_k. A remaining stretch raises it and
is not counted. Without a declared temperature rise a shaft between two fixed ends is not
judged.

The rule does not apply where the nut turns.`,
	Source:   "Euler–Bernoulli beam; Blevins, Formulas for Natural Frequency and Mode Shape, table 8-1; under push the usual approximation for beam-columns; 80 %: common practice, no source",
	Severity: judge.Error,
	Reasons:  []judge.Reason{nutTurns},
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "rotation speed over critical speed", Kind: unit.Percentage, Sense: judge.AtMost, Default: 0.8},
		Value: m.CriticalShare,
		Needs: quantities(m.MaxRotation, m.Critical),
		Also:  quantities(m.Turning),
		Say: func(v *judge.View, limit float64) string {
			switch push := v.V(m.ThermalPush); {
			case push > 0 && v.V(m.Critical) == 0:
				return fmt.Sprintf("shaft buckles from heat alone: %s warmer between two fixed ends, it is compressed with %s; no speed is permitted", v.F(m.TemperatureRise), v.F(m.ThermalPush))
			case push > 0:
				return fmt.Sprintf("shaft speed %s is %s of critical speed %s under a thermal push of %s; limit %s",
					v.F(m.MaxRotation), v.F(m.CriticalShare), v.F(m.Critical), v.F(m.ThermalPush), v.Percent(limit))
			}
			return fmt.Sprintf("shaft speed %s is %s of critical speed %s; limit %s",
				v.F(m.MaxRotation), v.F(m.CriticalShare), v.F(m.Critical), v.Percent(limit))
		},
		At:     atFastest,
		Inputs: quantities(m.Span, m.RootDiameter, m.DriveEnd, m.FarEnd, m.Lead),
		More: func(v *judge.View) []*m.Quantity {
			if v.V(m.ThermalPush) > 0 {
				return quantities(m.TemperatureRise, m.Stretch, m.Expansion)
			}
			return nil
		},
		Parameters: parameters(slower, shorterSpan, higherLead, thicker, held, cooler, moreStretch),
	}},
}

// nutTurns is for questions about a turning shaft.
var nutTurns = judge.Reason{Words: "the nut turns and the shaft does not", If: func(v *judge.View) bool { return v.V(m.Turning) == m.NutTurns }}
