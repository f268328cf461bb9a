package reference

import "math"

// duty looks at grease, at moves to and fro, at coupling and brake.
func (w *work) duty(c *carriage) {
	a := w.a
	// Steps of 15 K above 70 °C, each of which halves the interval.
	keeps := 70.0
	if limit := a.GreaseMax - 273.15; limit > 120 {
		keeps += limit - 120
	}
	part := math.Exp(-math.Ln2*math.Max(0, none(w.out["nut_temperature"][0]-273.15-keeps))/15) + 0*w.load.sin
	if w.load.sin > 0.5*math.Sqrt2*(1-1e-12) {
		part *= 0.5
	}
	w.set("grease_factor", part)
	greased := w.set("regrease_revolutions", w.turnsPerYear/year*a.RegreaseEvery)
	// Hours of a thrust bearing, then its turns.
	mm, perMinute := 1000*a.NominalDiameter, w.path/w.moving/a.Lead*60
	hours := 14e6/(perMinute*math.Sqrt(mm)) - 4*mm
	usual := w.set("grease_revolutions", math.Max(0, hours*60*perMinute))
	w.set("regrease_share", greased/usual)
	w.set("rocking_turns", w.rocking()/a.Lead)
	w.set("coupling_peak_torque", instead(a.CouplingPeak, a.CouplingTorque))
	w.set("motor_end_torque", a.Ratio*w.out["stall_torque"][0])
	turned := c.onMotor * w.out["holding_torque"][0]
	if known(a.Brake) {
		turned = a.Brake / turned
	} else {
		turned *= 0
	}
	w.set("screw_brake_safety", turned)
}

// rocking walks two cycles on end and looks at each pair of moves that turns round.
func (w *work) rocking() float64 {
	var way []float64
	for range 2 {
		for _, m := range w.a.Moves {
			if m.Distance != 0 {
				way = append(way, m.Distance)
			}
		}
	}
	least := 0.0
	if len(w.a.Moves) == 0 {
		return unknown
	}
	for _, x := range way {
		least = math.Max(least, math.Abs(x))
	}
	for i := 1; i < len(way); i++ {
		if way[i] > 0 != (way[i-1] > 0) {
			least = math.Min(least, math.Max(math.Abs(way[i]), math.Abs(way[i-1])))
		}
	}
	return least
}
