package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

// Cautions are what can hurt someone at this axis, for the papers that people
// take to it. None of them makes a machine safe or says that one is.
func (v *View) Cautions() []string {
	v.Units()
	var out []string
	if f := v.V(m.HeldForce); f > 0 {
		out = append(out, fmt.Sprintf("Stored force: the fixed ends hold the shaft with up to %s. Relieve it, evenly and by the maker's instruction, before a support or its lock nut is loosened.", v.F(m.HeldForce)))
	}
	if t := v.V(m.NutTemperature); t >= burns {
		out = append(out, fmt.Sprintf("Hot surface: shaft and nut reach up to %s and burn skin that stays on them (ISO 13732-1). Guard them, and let them cool before work.", unit.Format(t, unit.Temperature, v.Sys)))
	}
	return out
}

// burns is the temperature in K from which metal burns skin that stays on it for
// some seconds: 55 °C (ISO 13732-1, from memory).
const burns = 328.15
