package reference

import "math"

// assume puts into a copy of the axis what the case assumes for what is not
// declared, and says what was taken. The numbers are those of the page of
// quantities, typed again. Case is -1 where an axis has it light, 1 where it has it
// heavy, 0 for what is usual; where it is not known nothing is assumed.
func (w *work) assume() {
	own := *w.a
	a := &own
	w.declaredDrag = none(a.Drag)
	take := func(name string, field *float64, light, usual, heavy float64) {
		if !known(*field) && known(a.Case) {
			*field = [3]float64{light, usual, heavy}[int(a.Case)+1]
		}
		if name != "" {
			w.set(name, *field)
		}
	}
	direct := a.Ratio == 1
	geared := known(a.GearEfficiency) || known(a.GearInertia)
	efficiency, inertia := [3]float64{1, 0.9, 0.7}, [3]float64{a.RotorInertia, 0.3 * a.RotorInertia, a.RotorInertia}
	if direct && !geared {
		efficiency, inertia = [3]float64{1, 1, 1}, [3]float64{}
	}
	take("gear_efficiency", &a.GearEfficiency, efficiency[0], efficiency[1], efficiency[2])
	take("gear_inertia", &a.GearInertia, inertia[0], inertia[1], inertia[2])
	take("drag", &a.Drag, 0, 0, 50)
	take("yield_strength", &a.YieldStrength, 3e8, 3e8, 3e8)
	take("reaction_time", &a.ReactionTime, 0.200, 0.100, 0.200)
	take("brake_delay", &a.BrakeDelay, 0.250, 0.150, 0.250)
	take("brake_slip", &a.BrakeSlip, 0.5, 0.6, 0.5)
	take("housing_stiffness", &a.HousingStiffness, 5e8, 1e9, 5e8)
	take("coupling_torsional_stiffness", &a.CouplingTwist, 50*a.CouplingTorque, 300*a.CouplingTorque, 50*a.CouplingTorque)
	take("one_side_scatter", &a.Scatter, 2e-6, 1e-6, 2e-6)
	minute := math.Pi / 180 / 60
	if direct && !geared {
		minute = 0
	}
	take("gear_backlash", &a.GearPlay, 15*minute, 5*minute, 15*minute)
	n := a.MotorMaxSpeed
	take("motor_rated_speed", &a.MotorRatedSpeed, n/2, n/2, n/2)
	power := math.Min(a.MotorPeak, a.MotorPeak*a.MotorRatedSpeed/n)
	take("motor_torque_at_max_speed", &a.MotorTop, power, power, power)
	d := a.NominalDiameter
	take("", &a.BallCircle, d, d, 1.06*d)
	for _, end := range []struct {
		name  string
		speed *float64
		bore  float64
	}{{"drive_support_speed", &a.DriveSpeed, a.DriveBore}, {"far_support_speed", &a.FarSpeed, a.FarBore}} {
		// 60 m·rpm over the bore, in radians a second.
		rate := 2 * math.Pi / instead(end.bore, d)
		take(end.name, end.speed, rate, rate, rate)
	}
	fast := 2 * math.Pi * 4000 / 60
	take("coupling_speed", &a.CouplingSpeed, fast, fast, fast)
	slow := 0.75 * fast
	take("gear_speed", &a.GearSpeed, slow, slow, slow)
	if known(a.Efficiency) && known(a.Case) && !known(a.ThreadFriction) {
		// Of a wedge with the slope of the thread, what is lost.
		slope := a.Lead / (math.Pi * instead(a.BallCircle, d))
		a.ThreadFriction = slope * (1 - a.Efficiency) / (a.Efficiency + slope*slope)
		w.set("thread_friction", a.ThreadFriction)
	} else {
		take("thread_friction", &a.ThreadFriction, 0.002, 0.003, 0.005)
	}
	if known(a.Case) && !known(a.LoadFactor) {
		switch a.Shock {
		case "smooth":
			take("", &a.LoadFactor, 1.2, 1.2, 1.2)
		case "ordinary":
			take("", &a.LoadFactor, 1.5, 1.5, 1.5)
		case "shocks":
			take("", &a.LoadFactor, 3, 2, 3)
		}
	}
	w.a = a
}
