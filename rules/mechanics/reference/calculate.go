package reference

import "math"

// A Result holds every quantity by the name the product gives it: one value,
// one for each move, or four for each move.
type Result struct {
	Values map[string][]float64
	// OffShaft says that unequal bearings put the vertex of the parabola of
	// flexibility beyond an end of the shaft.
	OffShaft bool
	// Free is the critical speed without the push of two fixed ends on the warm
	// shaft; 0 where nothing pushes.
	Free float64
}

// year is the calendar year of the language, 365.25 days, in seconds.
const year = 365.25 * 24 * 60 * 60

var unknown = math.NaN()

func known(x float64) bool { return x == x }

// none takes what is not declared for zero.
func none(x float64) float64 { return instead(x, 0) }

func instead(x, other float64) float64 {
	if known(x) {
		return x
	}
	return other
}

// A work is one calculation.
type work struct {
	a    *Axis
	out  map[string][]float64
	load struct{ empty, full, sin, cos, friction, counter float64 }
	totals
	diameter                  float64 // ball circle
	force                     float64 // greatest
	factor, meanLoad          float64
	hot                       float64 // what heat leaves of the rating
	push, held                float64 // of two fixed ends: when warm, and at most
	declaredDrag              float64
	turnsPerYear, pathPerYear float64
	res                       *Result
	hard, lost, stopTwist     float64 // hardest stop; force without counterbalance
}

func (w *work) set(name string, v float64) float64 {
	w.out[name] = []float64{v}
	return v
}

// Calculate computes all quantities of an axis.
func Calculate(a *Axis) *Result {
	w := &work{a: a, out: make(map[string][]float64, 120), res: &Result{}}
	w.res.Values = w.out
	w.assume()
	w.masses()
	c := w.carriage()
	w.drive(c)
	w.totals = c.totals
	w.motion()
	w.balance(c)
	w.stop(c)
	w.forces(c)
	w.holding(c)
	w.inertia(c)
	w.heat()
	w.shaft()
	w.warmth(c)
	w.life()
	w.stiffness()
	w.accuracy()
	w.supports()
	w.layout()
	w.against(c)
	w.journals(c)
	w.standing()
	w.duty(c)
	return w.res
}

func (w *work) masses() {
	a := w.a
	incline := a.Incline
	if !known(incline) {
		switch a.Orientation {
		case "horizontal":
			incline = 0
		case "vertical":
			incline = math.Acos(0)
		}
	}
	l := &w.load
	w.set("incline_angle", incline)
	// The cosine as the sine of what is left to a right angle: nothing at one.
	l.sin, l.cos = math.Sin(incline), math.Sin(math.Pi/2-incline)
	l.friction, l.counter = a.Friction, none(a.Counterbalance)
	sum := w.set("sum_of_masses", a.Mass+a.CarriedMass)
	l.empty = w.set("moved_mass", instead(a.MovedMass, sum))
	heaviest := 0.0
	for _, m := range a.Moves {
		heaviest = math.Max(heaviest, none(m.Payload))
	}
	if !w.allMoves() {
		heaviest = unknown
	}
	w.set("top_payload", heaviest)
	l.full = w.set("heaviest_mass", l.empty+heaviest)
}

// allMoves is whether there is a cycle: at least one move, all with their
// distances. Of another, nothing over the cycle is known.
func (w *work) allMoves() bool {
	for _, m := range w.a.Moves {
		if !known(m.Distance) {
			return false
		}
	}
	return len(w.a.Moves) > 0
}

// shared is the part of the worst loaded screw.
func (w *work) shared(f float64) float64 {
	if z := instead(w.a.Screws, 1); z > 1 {
		return f * w.a.Unevenness / z
	}
	return f
}

func (w *work) carriage() *carriage {
	a := w.a
	w.diameter = w.set("ball_circle_diameter", instead(a.BallCircle, a.NominalDiameter))
	slope := a.Lead / (math.Pi * w.diameter)
	w.set("lead_angle", math.Atan2(a.Lead, math.Pi*w.diameter))

	// The thread: a block on the unrolled circle under unit force, pushed up by
	// the torque, or let down by it. The pull square to the axis follows from
	// the balance of normal force and friction in both directions.
	turn := func(mu float64) float64 {
		normal := 1 / (1 - mu*slope) // times cos φ
		across := normal * (slope + mu)
		return across * w.diameter / 2
	}
	ideal := a.Lead / (2 * math.Pi)
	driving := ideal / turn(a.ThreadFriction)
	bare := instead(a.Efficiency, driving) + 0*driving
	backward := w.set("back_driving_efficiency", turn(-a.ThreadFriction)/ideal)
	driving = math.Min(driving, 0.9) // common practice, no source
	if known(a.Efficiency) && known(driving) {
		driving = a.Efficiency
	}
	w.set("efficiency", driving)

	preload := a.Preload
	if !known(preload) && known(a.Backlash) {
		preload = 0 // play is the absence of preload
	}
	// Reference torque of JIS B 1192, from memory; two fifths less or more of it.
	nut := 0.05 * math.Pow(slope, -0.5) * preload * ideal
	if known(a.Case) {
		nut += 0.4 * a.Case * nut
	}
	nut = w.set("nut_drag_torque", instead(a.NutDrag, nut))
	drag := nut + none(a.DriveDrag) + none(a.FarDrag)
	w.set("drag_torque", drag)

	// Cylinder of the nominal diameter: r²·dm over the radius.
	shaft := w.set("shaft_inertia", thirdDegree(0, a.NominalDiameter/2, func(r float64) float64 {
		return r * r * a.Density * 2 * math.Pi * r * a.ShaftLength
	}))
	turning := unknown
	switch a.Turning {
	case "shaft":
		turning = shaft + none(a.CouplingInertia)
	case "nut":
		turning = a.NutInertia + none(a.CouplingInertia)
	}
	w.set("turning_inertia", turning)

	onMotor := a.MotorScrews
	switch {
	case !known(a.Screws):
		onMotor = unknown
	case a.Screws == 1 && !known(onMotor):
		onMotor = 1
	}
	w.set("screws_per_motor", onMotor)
	w.factor = instead(a.LoadFactor, shockFactor(a.Shock))
	return &carriage{
		raised: w.factor,
		mass:   w.load.empty, weight: w.counterweight(), friction: a.Friction, sin: w.load.sin, cos: w.load.cos, drag: none(a.Drag), counter: w.load.counter,
		screws: instead(a.Screws, 1), uneven: a.Unevenness,
		lead: a.Lead, driving: driving, bare: bare, bearings: none(a.DriveDrag) + none(a.FarDrag), backward: backward, turnDrag: drag, turning: turning, preload: preload,
		onMotor: onMotor, ratio: a.Ratio, gear: instead(a.GearEfficiency, 1), rotor: a.RotorInertia + none(a.GearInertia),
		peak: a.MotorPeak, rated: a.MotorRatedSpeed, top: a.MotorTop, fastest: a.MotorMaxSpeed, limit: a.TorqueLimit, assuming: known(a.Case),
		totals: totals{shortestRamp: math.Inf(1), reached: math.Inf(1)},
	}
}

// thirdDegree integrates by Simpson's rule, which is exact for polynomials of
// third degree.
func thirdDegree(from, to float64, f func(float64) float64) float64 {
	return (to - from) / 6 * (f(from) + 4*f((from+to)/2) + f(to))
}

// drive drives the cycle and notes what each move does.
func (w *work) drive(c *carriage) {
	phases := map[string]func(stretch) float64{
		"phase_time":         func(s stretch) float64 { return s.time },
		"phase_distance":     func(s stretch) float64 { return s.way },
		"phase_top_speed":    func(s stretch) float64 { return s.topSpeed },
		"phase_acceleration": func(s stretch) float64 { return s.rate },
		"phase_force":        func(s stretch) float64 { return s.force },
		"phase_screw_torque": func(s stretch) float64 { return s.screw },
		"phase_motor_torque": func(s stretch) float64 { return s.motor },
		"flank_load_plus":    func(s stretch) float64 { return s.plus },
		"flank_load_minus":   func(s stretch) float64 { return s.minus },
	}
	for _, m := range w.a.Moves {
		up, down := m.rates()
		peak := unknown
		did := [4]stretch{}
		if known(m.Distance + up + down) {
			did = c.move(m, up, down)
			peak = math.Max(did[gaining].topSpeed, did[keeping].topSpeed)
		} else {
			lost := stretch{unknown, unknown, unknown, unknown, unknown, unknown, unknown, unknown, unknown}
			did = [4]stretch{lost, lost, lost, lost}
			c.time, c.moving, c.topSpeed, c.cube, c.force = unknown, unknown, unknown, unknown, unknown
			c.shortestRamp, c.reached = unknown, unknown
		}
		w.out["move_acceleration"] = append(w.out["move_acceleration"], up)
		w.out["move_deceleration"] = append(w.out["move_deceleration"], down)
		w.out["move_direction"] = append(w.out["move_direction"], heading(m))
		w.out["move_peak_speed"] = append(w.out["move_peak_speed"], peak)
		for name, of := range phases {
			for _, s := range did {
				w.out[name] = append(w.out[name], of(s))
			}
		}
	}
	if len(w.a.Moves) == 0 {
		c.time, c.moving, c.topSpeed, c.cube, c.force = unknown, unknown, unknown, unknown, unknown
		c.shortestRamp, c.reached = unknown, unknown
	}
}

// heading is 1 toward positive travel, −1 the other way and 0 for a rest.
func heading(m Move) float64 {
	if m.Distance == 0 {
		return 0
	}
	return m.Distance / math.Abs(m.Distance)
}

// rates are the accelerations of a move, up and down.
func (m Move) rates() (up, down float64) {
	return nearest(m.Speed, m.RampUp, unknown, m.Ramp, m.Acceleration), nearest(m.Speed, m.RampDown, m.Deceleration, m.Ramp, m.Acceleration)
}

// nearest is the acceleration of a ramp by the nearest of the ways to declare
// it: its own time, its own rate, the time of both ramps, the rate of both.
func nearest(speed, time, rate, timeBoth, rateBoth float64) float64 {
	for _, v := range []float64{speed / time, rate + 0*speed, speed / timeBoth, rateBoth + 0*speed} {
		if known(v) {
			return v
		}
	}
	return unknown
}

func (w *work) motion() {
	a := w.a
	// What was driven; where not all speeds are known, the way is walked.
	path, at, low, high, turns := w.path, w.at, w.low, w.high, w.turns
	if !known(w.moving) {
		path, at, low, high = 0, 0, 0, 0
		for _, m := range a.Moves {
			path += math.Abs(m.Distance)
			at += m.Distance
			low, high = math.Min(low, at), math.Max(high, at)
		}
		turns = path / a.Lead
		if !w.allMoves() {
			path, at, low, high, turns = unknown, unknown, unknown, unknown, unknown
		}
	}
	w.set("cycle_time", w.time)
	w.set("moving_time", w.moving)
	w.set("cycle_distance", path)
	w.set("net_distance", at)
	w.set("cycle_offset", math.Abs(at))
	w.set("reach", high-low)
	w.set("top_speed", w.topSpeed)
	mean := w.set("mean_speed", path/w.moving)
	w.set("moving_share", w.moving/w.time)
	w.set("speed_reached", w.reached)
	w.set("shortest_ramp", w.shortestRamp)
	day := a.HoursPerDay * 60 * 60
	cycles := w.set("cycles_per_year", day/w.time*a.DaysPerYear)
	w.set("distance_per_day", day/w.time*path)
	w.pathPerYear = w.set("distance_per_year", cycles*path)
	w.set("hours_per_year", day*a.DaysPerYear)
	turns = w.set("revolutions_per_cycle", turns+0*a.Lead)
	w.turnsPerYear = w.set("revolutions_per_year", cycles*turns)
	// A turn is 2π.
	fastest := w.set("max_rotation_speed", w.topSpeed/a.Lead*2*math.Pi)
	w.set("mean_rotation_speed", mean/a.Lead*2*math.Pi)
	w.set("motor_speed", fastest*a.Ratio)
	w.set("min_lead", w.topSpeed*a.Ratio/(a.MotorMaxSpeed/(2*math.Pi)))
	w.set("dn", w.diameter*1000*fastest*60/(2*math.Pi))
	stop := stops(w.topSpeed, a.EmergencyStop, none(a.ReactionTime))
	if !known(w.topSpeed) {
		stop = unknown
	}
	w.set("stopping_distance", stop)
}

// forces follow from what the carriage felt, and from emergency stops.
func (w *work) forces(c *carriage) {
	a, l := w.a, &w.load
	// A cycle without motion or rest feels nothing; it still takes all that a
	// force takes to be known.
	felt := c.force + 0*c.pulls(c.mass, 1, 0, 0, c.drag)
	w.set("working_force", felt)
	w.set("gap_preload", felt/math.Sqrt(8))
	// An emergency stop comes on the way up or down, with the carriage empty or
	// at its heaviest: under a counterbalance the empty one may be the worse. In
	// a move it comes with the payload and the process force of the move.
	var stop carriage
	for _, mass := range []float64{l.empty, l.full} {
		for _, dir := range []float64{1, -1} {
			stop.feel(c.pulls(mass, dir, -dir*w.hard, 0, c.drag))
		}
	}
	for _, m := range a.Moves {
		f := c.pulls(l.empty+none(m.Payload), heading(m), -heading(m)*w.hard, none(m.Thrust), c.drag)
		stop.feel(f)
		w.out["move_stop_force"] = append(w.out["move_stop_force"], f)
	}
	emergency := w.set("emergency_force", stop.force)
	still := w.set("standstill_force", w.shared(a.Standstill))
	stopped := none(emergency)
	if known(a.EmergencyStop) && !known(emergency) {
		stopped = unknown
	}
	w.force = w.set("peak_force", math.Max(math.Max(felt, w.lost), math.Max(stopped, math.Abs(none(still)))))

	// The carriage presses back on the nut with the force it gets. Toward
	// positive travel that force pushes the shaft between a bearing at the start
	// and the nut, and pulls it between the nut and a bearing at the end.
	ends := known(end(a.DriveEnd)) && known(end(a.FarEnd))
	side := 0.0
	switch drive, far := a.DriveEnd == "fixed", a.FarEnd == "fixed"; {
	case drive && far:
		side = 3
	case drive != far && a.DriveAt != "":
		atStart := a.DriveAt == "start" || a.DriveAt == "bottom"
		if far {
			atStart = !atStart
		}
		side = 2
		if atStart {
			side = 1
		}
	}
	if !ends {
		side = unknown
	}
	w.set("thrust_side", side)
	toward, back := math.Max(c.push, w.lost), c.pull
	if known(a.EmergencyStop) && !known(w.hard) {
		toward = unknown
	}
	if known(emergency) {
		toward, back = math.Max(toward, stop.push), math.Max(back, stop.pull)
	}
	toward, back = math.Max(toward, none(still)), math.Max(back, -none(still))
	pushed := math.Max(toward, back)
	switch side {
	case 1:
		pushed = toward
	case 2:
		pushed = back
	}
	w.set("pushed_force", pushed+0*felt+0*side+0*toward)

	rubbing := l.friction*l.full*gravity*l.cos + none(a.Drag)
	w.set("reversal_friction", w.shared(rubbing))
	w.set("weight_force", w.shared(l.full*gravity*l.sin-l.counter))
	w.meanLoad = w.set("mean_load", math.Cbrt(w.cube/w.path))
	w.set("mean_flank_load_plus", math.Cbrt(w.plus/w.path)+0*w.cube)
	w.set("mean_flank_load_minus", math.Cbrt(w.minus/w.path)+0*w.cube)
	// Of a thing twisted nowhere, all must be known all the same.
	felt += 0 * (c.turnDrag + c.turning + c.driving + c.backward + c.lead)
	twist := none(w.stopTwist)
	if known(a.EmergencyStop) && !known(w.stopTwist) {
		twist = unknown
	}
	peak := w.set("peak_screw_torque", math.Max(math.Max(c.screwTorque, w.lost*a.Lead/(2*math.Pi)), twist)+0*felt)
	w.set("drive_end_torque", c.onMotor*peak)
	w.set("cross_shaft_torque", c.onMotor*peak-peak)
	w.set("cycle_end_torque", c.onMotor*(c.screwTorque+0*felt))
	felt += 0 * (c.onMotor + c.ratio + c.rotor)
	w.set("peak_motor_torque", c.motorTorque+0*felt)
	w.set("rms_motor_torque", math.Sqrt(c.square/c.time)+0*felt)
	w.set("peak_power", c.power+0*felt)
	w.set("torque_share", c.share+0*(felt+a.MotorPeak))
}

// end is a number for a known condition of an end.
func end(word string) float64 {
	switch word {
	case "fixed", "supported", "free":
		return 0
	}
	return unknown
}

func (w *work) holding(c *carriage) {
	a, l := w.a, &w.load
	worst, free := 0.0, math.Inf(-1)
	for _, mass := range []float64{l.empty, l.full} {
		slope := math.Abs(mass*gravity*l.sin - l.counter)
		worst = math.Max(worst, slope)
		free = math.Max(free, slope-l.friction*mass*gravity*l.cos-w.declaredDrag)
	}
	// What stands after the moves, held by the friction of what lies on the guides
	// then; what a lost counterbalance leaves; what is held at standstill.
	standing, moving := w.shared(worst), w.shared(free)
	take := func(f, mass float64) {
		standing = math.Max(standing, math.Abs(f))
		moving = math.Max(moving, math.Abs(f)-w.shared(l.friction*mass*gravity*l.cos+w.declaredDrag))
	}
	for i, m := range a.Moves {
		mass := l.empty + none(m.Payload)
		f := w.out["rest_force"][i]
		take(f, mass)
		w.out["move_self_motion"] = append(w.out["move_self_motion"], math.Abs(f)-w.shared(l.friction*mass*gravity*l.cos+w.declaredDrag))
	}
	take(w.lost, l.full)
	if known(a.Standstill) {
		take(w.shared(a.Standstill), l.empty)
	}
	w.set("standing_force", standing)
	w.set("self_motion", moving)
	torque := w.set("holding_torque", standing*a.Lead/(2*math.Pi)*math.Max(0, c.backward))
	brakes := none(a.Brake) + none(a.MotorBrake*a.Ratio)
	w.set("holding_safety", brakes/(c.onMotor*torque))
}

// inertia takes the inertia seen by the motor from the energy of all that moves
// while the motor turns at 1 rad/s.
func (w *work) inertia(c *carriage) {
	a := w.a
	screw := 1 / a.Ratio
	speed := screw * a.Lead / (2 * math.Pi)
	energy := c.onMotor * (c.turning*screw*screw + (w.load.full+c.weight)/c.screws*speed*speed) / 2
	load := w.set("load_inertia", 2*energy+none(a.GearInertia))
	w.set("inertia_ratio", load/a.RotorInertia)
}

// heat warms a shaft between two ends that hold it, bar by bar.
func (w *work) heat() {
	a := w.a
	ae := a.ElasticModulus * thirdDegree(0, a.RootDiameter/2, func(r float64) float64 { return 2 * math.Pi * r })
	stretch := w.set("stretch_force", grown(a.Span, ae, 0, 0, a.Stretch))
	// The rise at which a shaft that is not held is as long as the stretched one.
	w.set("stretch_temperature", a.Stretch/grown(a.Span, 1, a.Expansion, -1, 0)*(1/a.Span))
	force := 0 * (end(a.DriveEnd) + end(a.FarEnd))
	if a.DriveEnd == "fixed" && a.FarEnd == "fixed" {
		force = -grown(a.Span, ae, a.Expansion, a.TemperatureRise, none(a.Stretch))
		w.held = math.Max(none(stretch), math.Abs(force))
	} else {
		w.held = force
	}
	w.set("thermal_force", force)
	w.push = w.set("thermal_push", math.Max(0, force))
	w.set("held_force", w.held)
}

// shaft bends, whirls and buckles a shaft of its root diameter.
func (w *work) shaft() {
	a := w.a
	r := a.RootDiameter / 2
	area := w.set("root_area", thirdDegree(0, r, func(r float64) float64 { return 2 * math.Pi * r }))
	// y² averages to r²/2 over a ring.
	second := w.set("root_second_moment", thirdDegree(0, r, func(x float64) float64 { return x * x / 2 * 2 * math.Pi * x }))
	ends := [2]string{a.DriveEnd, a.FarEnd}

	// A shaft of length, stiffness and mass 1 has ω = λ².
	w.set("end_root", math.Sqrt(whirl(1, 1, 1, 0, ends)))
	critical := unknown
	if known(a.Span + second + area + a.ElasticModulus + a.Density) {
		critical = whirl(a.Span, a.ElasticModulus*second, a.Density*area, w.push, ends)
	}
	if w.push > 0 && critical == critical {
		w.res.Free = whirl(a.Span, a.ElasticModulus*second, a.Density*area, 0, ends)
	}
	critical = w.set("critical_speed", critical+0*w.push)
	w.set("critical_share", w.topSpeed/a.Lead*2*math.Pi/critical)

	if a.BucklingEnds != "" {
		ends = map[string][2]string{
			"fixed-free": {"fixed", "free"}, "supported-supported": {"supported", "supported"},
			"fixed-supported": {"fixed", "supported"}, "fixed-fixed": {"fixed", "fixed"},
		}[a.BucklingEnds]
	}
	// Euler's load of a column of length and stiffness 1, with ends that are
	// both supported, is π².
	w.set("buckling_fixity", buckle(1, 1, ends)/(math.Pi*math.Pi))
	length := w.set("loaded_length", instead(a.LoadedLength, a.Span))
	column := func(length float64, ends [2]string) float64 {
		if !known(length + second + a.ElasticModulus + a.YieldStrength) {
			return unknown
		}
		load := buckle(length, a.ElasticModulus*second, ends)
		// Johnson's parabola takes over where Euler's load is above half the
		// load at which the section yields (Shigley's Mechanical Engineering
		// Design, ch. 4).
		if yield := area * a.YieldStrength; load > yield/2 {
			load = yield * (1 - yield/(4*load))
		}
		return load
	}
	load := w.set("buckling_load", column(length, ends))
	whole := w.set("span_buckling_load", column(a.Span, [2]string{"fixed", "fixed"}))
	push := w.set("whole_push", w.out["pushed_force"][0]+w.push)
	if w.push > 0 {
		load = math.Min(load, whole)
	}
	w.set("buckling_safety", load/push)

	sigma := w.set("axial_stress", (w.force+w.held)/area)
	// Torsion: torque times radius over the polar moment, which is twice the
	// moment about a diameter. Then von Mises from the principal stresses.
	tau := w.out["peak_screw_torque"][0] * r / (2 * second)
	radius := math.Hypot(sigma/2, tau) // of Mohr's circle
	p1, p2 := sigma/2+radius, sigma/2-radius
	w.set("equivalent_stress", math.Sqrt(((p1-p2)*(p1-p2)+p1*p1+p2*p2)/2))
}

// life adds up damage: a turn under load F takes 1/((C/F)³·10⁶) of the
// life of its flank (ISO 3408-5:2006, 7.2, from memory). The flanks fail apart
// from each other, each with Weibull's slope of 10/9.
func (w *work) life() {
	a := w.a
	hv := vickers(a.Hardness)
	hard := w.set("hardness_factor", math.Pow(math.Min(1, hv/654), 2)+0*hv)
	hardStatic := w.set("static_hardness_factor", math.Pow(math.Min(1, hv/654), 3)+0*hv)
	grade := w.set("grade_factor", instead(a.GradeFactor, gradeFactor(a.Grade)))
	w.set("load_factor", w.factor)
	w.set("bearing_reliability_factor", bearingReliability(a.Reliability))
	reliable := w.set("reliability_factor", reliabilityFactor(a.Reliability))
	rating := w.set("modified_dynamic_rating", a.DynamicRating*hard*grade*w.hot)
	static := w.set("modified_static_rating", a.StaticRating*hardStatic*grade)
	w.set("static_safety", static/w.force)
	w.set("preload_share", a.Preload/a.DynamicRating)

	// Damage of a turn of the cycle, and with it the turns of a life.
	live := func(cubes float64) float64 {
		damage := cubes / w.path * math.Pow(1/rating, 3) / 1e6
		return 1 / damage
	}
	plus := w.set("life_plus", live(w.plus+0*w.cube))
	minus := w.set("life_minus", live(w.minus+0*w.cube))
	short := math.Min(plus, minus)
	// Both survive x short lives with 0.9^(…)·0.9^(…); x at which it is 0.9.
	lo, hi := 0.0, 1.0
	for range 60 {
		x := (lo + hi) / 2
		survive := math.Pow(0.9, math.Pow(x*short/plus, 10.0/9)) * math.Pow(0.9, math.Pow(x*short/minus, 10.0/9))
		if survive > 0.9 {
			lo = x
		} else {
			hi = x
		}
	}
	both := short * hi
	if math.IsInf(short, 1) {
		both = short
	}
	life := w.set("life", both*reliable)
	w.set("life_hours", life*a.Lead/(w.path/w.moving))
	years := w.set("life_years", life/w.turnsPerYear*year)
	w.set("life_distance", life*a.Lead)
	required := w.set("required_life", requiredLife(a))
	asked := w.set("required_revolutions", w.turnsPerYear*(required/year))
	w.set("life_ratio", years/required)
	// The rating under which the mean load uses one whole life up over the asked
	// turns, before all that lowers it.
	needed := w.factor * w.meanLoad * math.Pow(asked/1e6/reliable, 1.0/3)
	w.set("needed_dynamic_rating", needed/(hard*grade*w.hot))
	w.set("regrease_distance", w.pathPerYear*(a.RegreaseEvery/year))
}

func (w *work) stiffness() {
	a := w.a
	drive, far := a.DriveEnd == "fixed", a.FarEnd == "fixed"
	ends := end(a.DriveEnd) + end(a.FarEnd)
	ae := a.ElasticModulus * w.out["root_area"][0]
	length := w.out["loaded_length"][0]
	both := drive && far
	if both {
		length = a.Span
	}
	var bearing, shaft, flex float64
	rigid := math.Inf(1)
	switch {
	case both:
		shaft = 1 / flexibilities(length, ae, rigid, rigid)[bars/2]
		flex, w.res.OffShaft = worst(length, ae, a.DriveStiffness, a.FarStiffness)
		bearing = 1 / (flex - 1/shaft)
	default:
		// The far end of the stretch is the softest place.
		shaft = 1 / flexibilities(length, ae, rigid, 0)[bars]
		bearing = unknown
		if drive {
			bearing = a.DriveStiffness
		} else if far {
			bearing = a.FarStiffness
		}
		flex = flexibilities(length, ae, bearing, 0)[bars]
	}
	w.set("shaft_stiffness", shaft+0*ends)
	w.set("bearing_stiffness", bearing+0*ends)

	// Hertzian contacts grow stiffer with the cube root of their load; makers
	// publish at a preload of a tenth of the rating or, with play, at a load of
	// three tenths, and a nut in its housing has 0.8 of it (common practice, no
	// source).
	nut := unknown
	switch {
	case a.Preload > 0:
		nut = 0.8 * a.NutStiffness * math.Pow(10*a.Preload/a.DynamicRating, 1.0/3)
	case a.Preload == 0 || known(a.Backlash):
		nut = 0.8 * a.NutStiffness * math.Pow(w.meanLoad/0.3/a.DynamicRating, 1.0/3)
	}
	w.set("nut_stiffness", nut)
	more := 1 / nut
	if known(a.HousingStiffness) {
		more += 1 / a.HousingStiffness
	}
	flex += more + 0*ends
	w.set("axial_stiffness", 1/flex)

	// A force of 1 N on the nut turns the shaft by its torque; the shaft is cut into
	// bars that twist one after the other (shear modulus of steel: Poisson 0.3), the
	// coupling twists before them, and each turn moves the nut by the lead.
	torque, twist := a.Lead/2/math.Pi, 0.0
	for range bars {
		polar := math.Pi / 32 * math.Pow(a.RootDiameter, 4)
		twist += torque * w.out["loaded_length"][0] / bars / (a.ElasticModulus / 2 / 1.3 * polar)
	}
	w.set("shaft_wind_up", 1/(twist*torque))
	if known(a.CouplingTwist) {
		twist += torque / a.CouplingTwist
	}
	flex += twist * torque
	w.set("drive_stiffness", 1/flex)

	// One mass on a spring: its period follows from the energy of a swing of
	// 1 m, m·ω²/2 = 1/(2·flexibility).
	mass := w.load.full / instead(a.Screws, 1)
	frequency := w.set("natural_frequency", math.Sqrt(1/(flex*mass))/(2*math.Pi))
	w.set("ramp_periods", w.shortestRamp*frequency)

	play := unknown
	switch {
	case known(a.Backlash):
		play = a.Backlash
	case a.Preload > 0:
		play = 0
	}
	w.set("axial_play", play)
	friction := w.out["reversal_friction"][0]
	w.set("elastic_deflection", friction*flex)
	// From the deflection one way to that the other way, and through the play.
	turned := w.set("drive_play", a.GearPlay*torque)
	lost := w.set("lost_motion", play+none(turned)+friction*flex-(-friction*flex))
	// With half the preload the nut gives way as one whose preload was that.
	worn := flex
	if nut := w.out["nut_stiffness"][0]; a.Preload > 0 {
		worn += 1/(nut*math.Pow(0.5, 1.0/3)) - 1/nut
	} else {
		worn += 0 * nut
	}
	w.set("worn_repeatability_error", (play+none(turned))/2+friction*worn)
	switch a.Approach {
	case "one-side":
		w.set("repeatability_error", a.Scatter)
	case "both-sides":
		w.set("repeatability_error", lost/2)
	default:
		w.set("repeatability_error", unknown)
	}
	// The screw that works hardest bends under the process force of the hardest move.
	hardest, share := 0.0, 1.0
	if a.Screws > 1 {
		share = a.Unevenness / a.Screws
	}
	for _, m := range a.Moves {
		hardest = math.Max(hardest, math.Abs(none(m.Thrust))) + 0*m.Distance
	}
	switch {
	case len(a.Moves) == 0 || !known(hardest):
		w.set("force_deflection", unknown)
	case hardest == 0 || a.Force == "none":
		w.set("force_deflection", 0)
	case a.Force == "process":
		w.set("force_deflection", hardest*share*flex)
	default:
		w.set("force_deflection", unknown)
	}
	half := unknown
	switch a.Approach {
	case "one-side":
		half = 0 * play
	case "both-sides":
		half = (play + none(turned)) / 2
	}
	w.set("play_part", half)
}

func (w *work) accuracy() {
	a := w.a
	ep, vup := travel(a.Grade, a.Stroke, a.TransportFactor)
	if !known(a.TransportFactor) {
		ep = unknown
	}
	w.set("travel_deviation", ep)
	w.set("travel_variation", vup)
	// Element by element of the stroke, its growth less its share of a stretch
	// between two fixed ends, for which the lead was made short.
	growth := 0.0
	held := a.Stretch > 0 && a.Span > 0 && a.DriveEnd == "fixed" && a.FarEnd == "fixed"
	for range bars {
		h := a.Stroke / bars
		growth += a.Expansion * a.TemperatureRise * h
		if held {
			growth -= a.Stretch / a.Span * h
		}
	}
	growth = w.set("thermal_growth", math.Abs(growth))
	screw := a.Scale
	if !known(screw) {
		screw = ep + vup/2 + growth
	}
	w.set("screw_part", screw)
	w.set("accuracy_budget", screw+w.out["force_deflection"][0]+w.out["elastic_deflection"][0]+w.out["play_part"][0])
}

func (w *work) supports() {
	a := w.a
	ends := end(a.DriveEnd) + end(a.FarEnd)
	drive, far := a.DriveEnd == "fixed", a.FarEnd == "fixed"
	of := func(first, second float64) float64 {
		switch {
		case drive && far:
			return math.Min(first, second)
		case drive:
			return first
		case far:
			return second
		}
		return unknown
	}
	dynamic := w.set("support_dynamic_rating", of(a.DriveDynamic, a.FarDynamic)+0*ends)
	static := w.set("support_static_rating", of(a.DriveStatic, a.FarStatic)+0*ends)
	load := w.set("support_load", w.meanLoad*w.factor+w.held)
	w.set("support_static_safety", static/w.set("support_peak_load", w.force+w.held))
	// ISO 281: exponent 3 for ball bearings.
	years := w.set("support_life_years", bearingReliability(a.Reliability)*1e6*math.Pow(dynamic/load, 3)/w.turnsPerYear*year)
	w.set("support_life_ratio", years/requiredLife(a))
}

func (w *work) layout() {
	a := w.a
	thread := w.set("needed_thread_length", a.Overtravel+a.Stroke+a.Overtravel+a.NutLength)
	w.set("needed_shaft_length", thread+a.EndLengths)
	w.set("whole_travel", a.Overtravel+a.Stroke+a.Overtravel)
	w.set("thread_length", -(a.EndLengths - a.ShaftLength))
	w.set("length_to_diameter", a.ShaftLength/a.NominalDiameter)
	w.set("stroke_to_nut", w.out["reach"][0]/a.NutLength)
}

// requiredLife counts the years it takes to work the required hours, where the
// life is one of work.
func requiredLife(a *Axis) float64 {
	if a.LifeBasis != "working" {
		return a.ServiceLife
	}
	hoursOfYear := a.HoursPerDay * a.DaysPerYear
	return a.ServiceLife / 3600 / hoursOfYear * year
}
