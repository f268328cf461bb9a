package reference

import "math"

// gravity is the standard acceleration of free fall (ISO 80000-3).
const gravity = 9.80665

// steps is about how many steps of time a move is driven in. What happens
// within a step (speed reached, time to brake, stop) is located by bisection,
// so the number hardly matters: forces are constant between these events and
// powers grow along straight lines.
const steps = 24

// A carriage is driven through its cycle. It knows Newton's law and when to
// brake, and nothing of phases.
type carriage struct {
	mass, friction, sin, cos, drag, counter float64
	screws, uneven                          float64
	weight                                  float64 // of a counterweight, as it is felt

	lead, driving, backward, turnDrag, turning float64 // the screw
	bearings                                   float64 // part of the drag
	bare                                       float64 // driving efficiency, not cut to what is usual
	preload                                    float64
	raised                                     float64 // load factor on what comes from outside
	onMotor, ratio, gear, rotor                float64 // the motor
	peak, rated, top, fastest, limit           float64 // its line of torque over speed
	assuming                                   bool    // what is not declared is assumed

	totals
}

// totals is what is measured over a cycle.
type totals struct {
	time, moving, path, turns        float64
	at, low, high                    float64
	topSpeed, shortestRamp, reached  float64
	cube, plus, minus                float64 // sums of load³·distance
	lost                             float64 // energy that turned into heat
	force, push, pull                float64 // greatest: either way, toward positive, toward negative
	screwTorque, motorTorque, square float64
	power, share                     float64
	still, long                      float64 // torque of the motor at rest, and in rests of a second
	sharpest                         float64 // acceleration
	forces, torques                  reach   // from the least to the greatest, signed
}

// A stretch is what was measured while a move did the same: gain speed, keep
// it, lose it, or rest.
type stretch struct {
	time, way, topSpeed, rate float64
	force, plus, minus        float64
	screw, motor              float64
}

const (
	gaining = iota
	keeping
	losing
	resting
)

// move drives one move and its rest.
func (c *carriage) move(m Move, up, down float64) (did [4]stretch) {
	goal, dir := math.Abs(m.Distance), 1.0
	if m.Distance < 0 {
		dir = -1
	}
	mass, thrust := c.mass+none(m.Payload), none(m.Thrust)
	// Long enough for the move, so that the steps are some and not too many.
	step := (goal/m.Speed + m.Speed/up + m.Speed/down) / steps
	v, gone, doing := 0.0, 0.0, gaining
	for goal > 0 && doing != resting {
		rate, dt := 0.0, step
		switch doing {
		case gaining:
			rate = up
		case losing:
			rate = -down
		}
		// brake is whether, dt from now, the way left is no more than the way to
		// brake.
		brake := func(dt float64) bool {
			speed := v + rate*dt
			return speed*speed/(2*down) >= goal-gone-(v+speed)/2*dt
		}
		next := doing
		if doing == gaining && v+rate*dt >= m.Speed {
			dt, next = first(dt, func(dt float64) bool { return v+rate*dt >= m.Speed }), keeping
		}
		if doing != losing && brake(dt) {
			dt, next = first(dt, brake), losing
		}
		if doing == losing && v+rate*dt <= 0 {
			dt, next = first(dt, func(dt float64) bool { return v+rate*dt <= 0 }), resting
		}
		after := v + rate*dt
		if next == resting {
			after = 0
		}
		way := (v + after) / 2 * dt
		if dt > 0 {
			c.tick(&did[doing], mass, dir, v, after, dir*rate, thrust, way, dt)
		}
		gone += way
		v, doing = after, next
	}
	c.at += dir * gone
	c.low, c.high = math.Min(c.low, c.at), math.Max(c.high, c.at)
	for _, ramp := range []int{gaining, losing} {
		if t := did[ramp].time; t > 0 {
			c.shortestRamp = math.Min(c.shortestRamp, t)
		}
	}
	if goal > 0 {
		c.reached = math.Min(c.reached, math.Max(did[gaining].topSpeed, did[keeping].topSpeed)/m.Speed)
	}
	// Whether thrust goes on at rest is not said where nothing is declared: then
	// the worse counts.
	process := heading(m) * m.Hold
	if !known(m.Hold) {
		still := c.pulls(mass, 0, 0, 0, 0)
		process = 0
		if going := heading(m) * thrust; math.Abs(still+c.worst(going)) > math.Abs(still) {
			process = going
		}
	}
	c.rest(&did[resting], mass, process, none(m.Dwell))
	return did
}

// first is the earliest time up to dt at which a thing that stays true is true.
func first(dt float64, is func(float64) bool) float64 {
	lo, hi := 0.0, dt
	for range 100 {
		mid := (lo + hi) / 2
		if mid <= lo || mid >= hi {
			break
		}
		if is(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// pulls is the force of the worst loaded screw on the carriage, positive
// toward positive travel, from the balance of all that acts along the axis.
func (c *carriage) pulls(mass, dir, rate, thrust, drag float64) float64 {
	weight := -mass * gravity * c.sin
	rubbing := -dir * (c.friction*mass*gravity*c.cos + drag)
	process := -dir * thrust
	return c.worst((mass+c.weight)*rate - weight - c.counter - rubbing - process)
}

// worst is the part of a force that the worst loaded screw takes.
func (c *carriage) worst(f float64) float64 {
	if c.screws > 1 {
		return f / c.screws * c.uneven
	}
	return f
}

// tick is one step of motion, from speed v to after.
func (c *carriage) tick(did *stretch, mass, dir, v, after, rate, thrust, way, dt float64) {
	f := c.pulls(mass, dir, rate, thrust, c.drag)
	did.plus, did.minus = c.flanks(f)
	did.force, did.rate = f, rate
	c.sharpest = math.Max(c.sharpest, math.Abs(rate))
	did.time += dt
	did.way += way
	did.topSpeed = math.Max(did.topSpeed, math.Max(v, after))
	c.time += dt
	c.moving += dt
	c.path += way
	c.turns += way / c.lead
	c.topSpeed = math.Max(c.topSpeed, did.topSpeed)
	c.cube += math.Pow(math.Abs(f), 3) * way
	c.plus += math.Pow(did.plus, 3) * way
	c.minus += math.Pow(did.minus, 3) * way
	c.feel(f)

	// Torques in the direction of travel. The thread is a lever of lead/2π.
	angular := 2 * math.Pi / c.lead
	alpha := dir * rate * angular
	thread := dir * f / angular
	if thread > 0 {
		thread /= c.driving
	} else {
		thread *= math.Max(0, c.backward)
	}
	did.screw = thread + c.turnDrag + c.turning*alpha
	c.lost += c.wastes(dir*f, way)
	motor := c.onMotor * did.screw / c.ratio
	if motor > 0 {
		motor /= c.gear
	} else {
		motor *= c.gear
	}
	did.motor = motor + c.rotor*alpha*c.ratio
	c.twist(did, dt)
	c.torques.take(dir * did.screw)
	for _, speed := range [2]float64{v, after} {
		omega := speed * angular * c.ratio
		c.power = math.Max(c.power, math.Abs(did.motor)*omega)
		c.share = math.Max(c.share, math.Abs(did.motor)/c.gives(omega))
	}
}

// rest lets the weight hang on the motor, and the process push on it. Drag and
// friction hold nothing for certain, nor do thread and gear.
func (c *carriage) rest(did *stretch, mass, process, dwell float64) {
	f := c.pulls(mass, 0, 0, 0, 0) + c.worst(process)
	did.plus, did.minus = c.flanks(f)
	did.force = f
	// Torques count as known where those of the motion are.
	did.screw = math.Abs(f)*c.lead/(2*math.Pi) + 0*(c.backward+c.driving+c.turnDrag+c.turning)
	did.motor = c.onMotor*did.screw/c.ratio + 0*c.rotor
	did.time = dwell
	c.time += dwell
	if dwell > 0 {
		c.feel(f)
		c.twist(did, dwell)
		c.stands(did.motor, dwell)
		// The screw leans against the force.
		switch {
		case f > 0:
			c.torques.take(did.screw)
		case f < 0:
			c.torques.take(-did.screw)
		default:
			c.torques.take(0 * did.screw)
		}
		c.share = math.Max(c.share, did.motor/c.gives(0))
	}
}

// stands notes the greatest torque at rest, and the greatest that lasts.
func (c *carriage) stands(torque, time float64) {
	c.still = math.Max(c.still, torque)
	if time >= 1 {
		c.long = math.Max(c.long, torque)
	}
}

// A reach is how far something goes either way; unseen until it has a value.
type reach struct {
	seen          bool
	least, utmost float64
}

func (r *reach) take(x float64) {
	if !r.seen {
		r.seen, r.least, r.utmost = true, x, x
	}
	r.least, r.utmost = math.Min(r.least, x), math.Max(r.utmost, x)
}

// wastes is the energy that turns into heat over a way: what goes into the thread
// less what comes out of it, and the drag of the turns.
func (c *carriage) wastes(f, way float64) float64 {
	in := f * way / c.bare
	if f < 0 {
		in = f * way * math.Max(0, c.backward)
	}
	return in - f*way + (c.turnDrag-c.bearings)*2*math.Pi*way/c.lead
}

func (c *carriage) feel(f float64) {
	c.forces.take(f)
	c.force = math.Max(c.force, math.Abs(f))
	c.push = math.Max(c.push, f)
	c.pull = math.Max(c.pull, -f)
}

func (c *carriage) twist(did *stretch, dt float64) {
	c.screwTorque = math.Max(c.screwTorque, math.Abs(did.screw))
	c.motorTorque = math.Max(c.motorTorque, math.Abs(did.motor))
	c.square += did.motor * did.motor * dt
}

// gives is the torque the motor has at a speed: its peak torque, and never more,
// or what the line leaves of it, where there is one.
func (c *carriage) gives(omega float64) float64 {
	if c.limit < c.peak {
		less := *c
		less.limit = unknown
		return math.Min(less.gives(omega), c.limit)
	}
	line := c.peak
	switch {
	case c.assuming && !known(c.fastest) && !(omega <= c.rated):
		return unknown // where the line ends is not even assumed
	case !(c.rated < c.fastest) || !known(c.top) || omega <= c.rated:
	case omega >= c.fastest:
		line = c.top
	default:
		line = c.top + (c.peak-c.top)*(c.fastest-omega)/(c.fastest-c.rated)
	}
	return math.Min(line, c.peak)
}

// flanks splits a force, raised by the load factor, between the two sides of the nut
// (ISO 3408-5:2006, 7.1.3, from memory; the far side by the balance of forces).
func (c *carriage) flanks(f float64) (plus, minus float64) {
	f *= c.raised
	near, far := math.Abs(f), 0.0
	if limit := math.Sqrt(8) * c.preload; near < limit {
		near = c.preload * math.Pow(1+math.Abs(f)/limit, 1.5)
		far = near - math.Abs(f)
	}
	if !known(f + c.preload) {
		return unknown, unknown
	}
	if f < 0 {
		return far, near
	}
	return near, far
}

// stops is the distance of a stop from speed v after the time it takes to
// notice, driven in steps.
func stops(v, rate, notice float64) float64 {
	x := v * notice
	dt := v / rate / steps
	for v > 0 {
		after := v - rate*dt
		if after < v*1e-9 {
			after, dt = 0, v/rate
		}
		x += (v + after) / 2 * dt
		v = after
	}
	return x + 0*rate
}
