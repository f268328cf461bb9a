package reference

import "math"

// counterweight is the mass of a counterweight as the carriage feels it: what
// moves r times as far weighs r times as much, and its inertia r² times.
func (w *work) counterweight() float64 {
	a := w.a
	felt := 0.0
	if a.Counterbalance > 0 {
		switch a.BalanceBy {
		case "":
			felt = unknown
		case "weight":
			r := instead(a.RopeRatio, 1)
			itself := a.Counterbalance / gravity / r
			felt = itself * r * r
		}
	}
	return w.set("balance_mass", felt)
}

// balance is what stands at rest, and what is left of a lost counterbalance.
func (w *work) balance(c *carriage) {
	a, l := w.a, &w.load
	lost := w.shared(l.full * gravity * l.sin)
	if !(a.Counterbalance > 0) || a.BalanceKept > 0 {
		lost = 0 * l.full * l.sin
	}
	w.lost = w.set("lost_balance_force", lost)
	w.set("lost_balance_torque", c.onMotor*lost*a.Lead/(2*math.Pi)/a.Ratio)
	for _, m := range a.Moves {
		stands := m.Hold
		if !known(stands) && (none(m.Thrust) == 0 || none(m.Dwell) == 0) {
			stands = 0
		}
		stands += 0 * m.Distance
		w.out["standing_thrust"] = append(w.out["standing_thrust"], stands)
		f := (l.empty+none(m.Payload))*gravity*l.sin - l.counter + heading(m)*stands
		w.out["rest_force"] = append(w.out["rest_force"], w.shared(f))
	}
	all := c.force + 0*(c.driving+c.backward+c.turnDrag+c.turning+c.rotor) + 0*c.pulls(c.mass, 1, 0, 0, c.drag)
	held := math.Abs(none(w.shared(a.Standstill))) * a.Lead / (2 * math.Pi) * c.onMotor / a.Ratio
	w.set("standing_torque", math.Max(c.still, held)+0*all)
	w.set("lasting_torque", math.Max(c.long, held)+0*all)
}

// A halt is one way an emergency stop may begin.
type halt struct{ mass, dir, thrust float64 }

// halts are the moves as they are, and travel in either direction without
// process force, empty and full.
func (w *work) halts() []halt {
	l := &w.load
	out := []halt{{l.empty, 1, 0}, {l.empty, -1, 0}, {l.full, 1, 0}, {l.full, -1, 0}}
	for _, m := range w.a.Moves {
		if m.Distance == 0 {
			continue
		}
		out = append(out, halt{l.empty + none(m.Payload), heading(m), none(m.Thrust)})
	}
	return out
}

// takes is what motor and brake must take out of the axis, in W, while it
// travels at 1 m/s and loses speed at a rate: of what the carriage hands to the
// thread, that thread, nut and gear leave over, and what the rotor hands over
// itself. screw is the torque on the screw.
func (c *carriage) takes(h halt, rate float64) (held, screw float64) {
	omega := 2 * math.Pi / c.lead
	given := -h.dir * c.pulls(h.mass, h.dir, -h.dir*rate, h.thrust, c.drag) // into the thread
	if given > 0 {
		given *= math.Max(0, c.backward)
	} else {
		given /= c.driving
	}
	given += c.turning*omega*omega*rate - c.turnDrag*omega
	screw = -given / omega
	given *= c.onMotor
	if given > 0 {
		given *= c.gear
	} else {
		given /= c.gear
	}
	spin := omega * c.ratio
	return given + c.rotor*spin*spin*rate, screw
}

// yields is the rate at which a torque of the motor stops the axis, by
// bisection.
func (c *carriage) yields(h halt, torque float64) float64 {
	spin := 2 * math.Pi / c.lead * c.ratio
	over := func(rate float64) bool {
		held, _ := c.takes(h, rate)
		return held > torque*spin
	}
	size := 1.0
	for !over(size) || over(-size) {
		if size *= 2; size > 1e12 {
			return unknown
		}
	}
	lo, hi := -size, size
	for range 200 {
		if mid := (lo + hi) / 2; over(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return (lo + hi) / 2
}

// stop brings the axis to a halt in an emergency.
func (w *work) stop(c *carriage) {
	a := w.a
	brakes := none(a.MotorBrake)
	if a.Brake > 0 {
		brakes += a.Brake / a.Ratio
	}
	w.set("brake_torque", brakes)
	byBrake := unknown
	switch {
	case !known(brakes):
		if a.StopBy != "" {
			byBrake = unknown
		}
	case a.StopBy == "brake":
		byBrake = 1
	case a.StopBy == "motor" || brakes == 0:
		byBrake = 0
	}
	w.set("stop_means", byBrake)
	full := c.motorSpeed(w.topSpeed)
	gives := c.gives(full) + 0*full
	delay := none(a.ReactionTime)
	if byBrake == 1 {
		gives = a.BrakeSlip * brakes
		delay += a.BrakeDelay
	}
	gives, delay = w.set("stop_torque_available", gives+0*byBrake), w.set("stop_delay", delay+0*byBrake)

	all := 0 * (c.driving + c.backward + c.turnDrag + c.turning + c.rotor + c.onMotor + c.ratio + c.lead + c.pulls(w.load.full, 1, 1, 0, c.drag))
	if !w.allMoves() || c.driving <= 0 {
		all = unknown
	}
	sharp, least, fall, need, twist := 0.0, math.Inf(1), 0.0, 0.0, 0.0
	w.hard = a.EmergencyStop
	if known(all) {
		for _, h := range w.halts() {
			if brakes > 0 {
				sharp = math.Max(sharp, c.yields(h, brakes))
			}
			if known(gives) {
				least = math.Min(least, c.yields(h, gives))
			}
			fall = math.Max(fall, -c.yields(h, 0))
			held, _ := c.takes(h, a.EmergencyStop)
			need = math.Max(need, held/(2*math.Pi/c.lead*c.ratio))
		}
	}
	sharp = w.set("brake_deceleration", sharp+all+0*brakes)
	if a.StopBy != "motor" && !(brakes == 0) {
		w.hard = math.Max(a.EmergencyStop, sharp)
	}
	w.hard = w.set("hardest_deceleration", w.hard+0*brakes)
	onScrew := 0 * (c.driving + c.backward + c.turnDrag + c.turning + c.lead + c.pulls(w.load.full, 1, 1, 0, c.drag))
	if !w.allMoves() || c.driving <= 0 {
		onScrew = unknown
	}
	for _, h := range w.halts() {
		_, screw := c.takes(h, w.hard)
		twist = math.Max(twist, math.Abs(screw))
	}
	if a.Brake > 0 && a.StopBy != "motor" { // the rotor is stopped through the coupling
		twist = math.Max(twist, c.rotor*w.hard*2*math.Pi/c.lead*c.ratio*c.ratio)
	}
	if byBrake == 0 {
		fall = 0
	}
	w.set("stop_torque", need+all+0*a.EmergencyStop)
	w.stopTwist = w.set("stop_screw_torque", twist+onScrew+0*w.hard)
	least = w.set("reachable_deceleration", least+all+0*gives)
	fall = w.set("fall_acceleration", fall+all+0*byBrake)
	w.set("run_on_distance", runsOn(w.topSpeed, math.Min(a.EmergencyStop, least), delay, fall)+0*(a.EmergencyStop+least+delay+fall+w.topSpeed))
	rope := math.Max(c.sharpest, none(w.hard))
	if known(a.EmergencyStop) && !known(w.hard) {
		rope = unknown
	}
	w.set("rope_acceleration", instead(a.RopeRatio, 1)*rope+0*w.time)
}

// runsOn is the way of a fall and the stop after it, driven in steps.
func runsOn(v, rate, delay, fall float64) float64 {
	x := 0.0
	for range steps {
		dt := delay / steps
		x += v*dt + fall*dt*dt/2
		v += fall * dt
	}
	if rate <= 0 {
		return math.Inf(1)
	}
	return x + stops(v, rate, 0)
}

func (c *carriage) motorSpeed(v float64) float64 { return v * 2 * math.Pi / c.lead * c.ratio }

// against runs the carriage against an end of its travel.
func (w *work) against(c *carriage) {
	a := w.a
	slope := a.Lead / (math.Pi * w.diameter)
	// As the thread of carriage(), without the 0.9 of practice.
	ideal := instead(a.Efficiency, slope*(1-a.ThreadFriction*slope)/(slope+a.ThreadFriction)) + 0*(a.ThreadFriction+slope)
	w.set("thread_efficiency", ideal)
	torque := a.MotorPeak
	if !known(torque) || a.TorqueLimit < torque {
		torque = a.TorqueLimit
	}
	w.set("stall_torque", torque)
	// Energy of one turn of the screw over its way.
	push := torque * a.Ratio * 2 * math.Pi * c.gear * ideal / a.Lead
	push /= c.onMotor
	if c.onMotor > 1 && c.screws > 1 {
		push *= a.Unevenness
	}
	push = w.set("stall_force", push)
	spins := w.set("running_inertia", c.turning+c.rotor*a.Ratio*a.Ratio/c.onMotor)
	force := push + 0*a.Lead
	if a.EndSpeed > 0 {
		spring := w.out["axial_stiffness"][0]
		if known(a.EndStiffness) {
			spring = spring * a.EndStiffness / (spring + a.EndStiffness)
		}
		// The way x at which work and energy have gone into the spring.
		omega := 2 * math.Pi * a.EndSpeed / a.Lead
		energy := spins * omega * omega / 2
		p := 2 * push / spring
		x := p/2 + math.Sqrt(p*p/4+2*energy/spring)
		force = spring * x
	}
	w.set("end_force", force)
	w.set("end_static_safety", w.out["modified_static_rating"][0]/force)
	w.set("end_buckling_safety", w.out["buckling_load"][0]/force)
	w.set("end_support_safety", w.out["support_static_rating"][0]/force)
	r := a.RootDiameter / 2
	second := w.out["root_second_moment"][0]
	sigma := force / w.out["root_area"][0]
	tau := force * a.Lead / (2 * math.Pi * ideal) * r / (2 * second)
	radius := math.Hypot(sigma/2, tau)
	p1, p2 := sigma/2+radius, sigma/2-radius
	w.set("end_stress", math.Sqrt(((p1-p2)*(p1-p2)+p1*p1+p2*p2)/2))
}
