package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

// Cautions of rules, for their findings and pages.
const (
	holdTheLoad    = "hold the load by something that needs no power before anyone reaches below it or into the axis"
	relieveBalance = "relieve or block weight, spring or gas before anything is taken off the axis; nobody stands below a counterweight"
	relieveShaft   = "a stretched shaft stores force: relieve it, evenly and by the maker's instruction, before a support or its lock nut is loosened"
)

// Cautions are what can hurt someone at this axis, for the papers that people
// take to it. None of them makes a machine safe or says that one is.
func Cautions(v *judge.View) []string {
	var out []string
	if v.V(m.Incline) > 0 {
		out = append(out, "Lifting axis: nobody stands or reaches below it until it is held by something that does not need power. Local rules for lifting take precedence.")
	}
	if v.Flag(judge.Field("load.people_below")) {
		out = append(out, "People below: a brake holds the screw and not the load, and a safety nut shares its carriage. Whether people may be there, and what must catch the load, local rules and the machine's risk assessment decide.")
	}
	if v.V(m.Counterbalance) > 0 {
		out = append(out, "Counterbalance: weight, spring or gas store energy and can be lost. Relieve or block them before anything is taken off the axis; nobody stands below a counterweight.")
	}
	if rises(v, m.MovedMass) {
		load := "the empty carriage"
		if rises(v, m.HeaviestMass) {
			load = "carriage and payload"
		}
		out = append(out, fmt.Sprintf("Rising axis: the counterbalance exceeds the weight of %s. Without brake and power it runs up: nobody reaches above it, or releases its brake, before something else holds it.", load))
	}
	if v.V(m.Incline) == 0 && v.V(m.SelfMotion) > 0 {
		out = append(out, "Force at rest: a force acts on this horizontal axis at rest and can move it when power fails. Hold the axis or relieve the force before reaching in.")
	}
	if byBrakes(v) {
		out = append(out, "Stop by brakes: holding brakes wear when they stop motion. Test them at intervals, and let the brake's maker confirm how often they may stop the axis.")
	}
	if f := v.V(m.HeldForce); f > 0 {
		out = append(out, fmt.Sprintf("Stored force: the fixed ends hold the shaft with up to %s. Relieve it, evenly and by the maker's instruction, before a support or its lock nut is loosened.", v.F(m.HeldForce)))
	}
	if t := v.V(m.NutTemperature); t >= burns {
		out = append(out, fmt.Sprintf("Hot surface: shaft and nut reach up to %s and burn skin on longer contact (ISO 13732-1). Guard them, and let them cool before work.", unit.Format(t, unit.Temperature, v.Units())))
	}
	if v.Flag(judge.Field("environment.vacuum")) {
		out = append(out, "Vacuum: heat leaves the shaft through its ends only, and grease gives off gas. Let parts cool before venting, and touch nothing that process gas may have coated.")
	}
	if v.Flag(judge.Field("environment.open_product")) {
		out = append(out, "Open product: what drips or wears off the axis is eaten or lies on skin. Lubricant, seals and cleaning agents must be permitted for it by local rules.")
	}
	return out
}

// rises reports whether the counterbalance lifts a mass against what is known of its guide friction.
func rises(v *judge.View, mass *m.Quantity) bool {
	sin, cos := math.Sincos(v.V(m.Incline))
	holds := v.V(mass) * m.Gravity * sin
	if v.Calc.Known(m.Friction) {
		holds += v.V(m.Friction) * v.V(mass) * m.Gravity * cos
	}
	if v.Calc.Known(m.DragGiven) {
		holds += v.V(m.DragGiven)
	}
	return v.V(m.Counterbalance) > holds*(1+judge.Slack)
}

// Beyond both, in hours of motion and in times of the required life, wear ends the use
// of a screw and not fatigue: common practice, no source.
const (
	wornHours = 20000
	wornTimes = 3
)

// burns is the temperature in K from which metal burns skin that stays on it for
// some seconds: 55 °C (ISO 13732-1, from memory).
const burns = 328.15

// WearCaution says that a life in fatigue far beyond the required one is no promise, ""
// where it is not far beyond.
func WearCaution(v *judge.View) string {
	if !judge.Above(v.V(m.LifeHours), wornHours*3600) || !judge.Above(v.V(m.LifeRatio), wornTimes) {
		return ""
	}
	return fmt.Sprintf("Wear: a fatigue life of %s in motion is a reserve, not a promise. Long before that, dirt, lack of grease and wear of balls and raceway take the preload: measure play and drag torque at each service.", unit.Readable(hours(v, m.LifeHours)))
}
