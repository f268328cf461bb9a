package reference

import "math"

// warmth follows the heat of friction into the shaft and out of it.
func (w *work) warmth(c *carriage) {
	a := w.a
	nutHeat := w.set("nut_heat", c.lost/w.time+0*w.meanOf(c))
	heat := w.set("friction_heat", nutHeat+c.bearings*2*math.Pi*w.out["revolutions_per_cycle"][0]/w.time)
	w.set("least_friction_rise", meanRise(nutHeat/2, instead(a.EnvironmentCooling, 60), a.NominalDiameter, a.ShaftLength))
	w.set("most_friction_rise", meanRise(heat, instead(a.EnvironmentCooling, 5), a.NominalDiameter, a.ShaftLength))
	w.set("environment_over_rise", a.EnvironmentMax-20-273.15-a.TemperatureRise)
	nut := w.set("nut_temperature", a.EnvironmentMax+math.Max(0, none(a.TemperatureRise)))
	w.hot = w.set("temperature_factor", hotFactor(nut, a.StabilisedTo))
	if !known(a.EnvironmentMax) {
		w.hot = 1 // nobody says how warm the environment is
	}
}

// meanOf is known where all that the heat comes from is.
func (w *work) meanOf(c *carriage) float64 {
	return w.out["working_force"][0] + c.lead + c.bare + c.backward + c.turnDrag
}

// meanRise is how much warmer than the air a shaft is in the mean that gets the
// heat in the middle half of its length: a fin of elements, each of which gives
// heat to the air and to its neighbours (steel conducts 45 W/(m·K), handbook value,
// from memory).
func meanRise(heat, h, d, length float64) float64 {
	if !known(heat + h + d + length) {
		return unknown
	}
	const n = 40
	dx := length / n
	along := 45 * math.Pi * d * d / 4 / dx
	out := h * math.Pi * d * dx
	// Thomas's elimination of the chain; nothing leaves at the ends.
	var diagonal, gain [n]float64
	for i := range n {
		diagonal[i] = out + 2*along
		if i == 0 || i == n-1 {
			diagonal[i] = out + along
		}
		if i >= n/4 && i < n-n/4 {
			gain[i] = heat / (n / 2)
		}
	}
	for i := 1; i < n; i++ {
		f := along / diagonal[i-1]
		diagonal[i] -= f * along
		gain[i] += f * gain[i-1]
	}
	sum, next := 0.0, 0.0
	for i := n - 1; i >= 0; i-- {
		next = (gain[i] + along*next) / diagonal[i]
		sum += next
	}
	return sum / n
}

// hotFactor is what heat leaves of a dynamic rating (rolling-bearing texts; common
// practice, no source).
func hotFactor(t, stable float64) float64 {
	c := t - 273.15
	switch {
	case c <= 120:
		return 1
	case !(stable >= t), c > 250+1e-9:
		return unknown
	case c <= 150:
		return 1
	case c <= 200:
		return 1 - (c-150)/500
	}
	return 0.9 - 0.15*(c-200)/50
}
