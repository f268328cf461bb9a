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
	if v.V(m.Incline) > 0 {
		out = append(out, "Lifting axis: nobody stands or reaches below it until it is held by something that does not need power. Local rules for lifting take precedence.")
	}
	if v.V(m.Counterbalance) > 0 {
		out = append(out, "Counterbalance: weight, spring or gas store energy and can be lost. Relieve or block them before anything is taken off the axis; nobody stands below a counterweight.")
	}
	if v.V(m.Incline) == 0 && v.V(m.SelfMotion) > 0 {
		out = append(out, "Force at rest: a force stands on this level axis and can move it when power goes. Hold the axis or relieve the force before reaching in.")
	}
	if byBrakes(v) {
		out = append(out, "Stop by brakes: holding brakes wear when they stop motion. Test them at intervals, and let the brake's maker confirm how often they may stop the axis.")
	}
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
