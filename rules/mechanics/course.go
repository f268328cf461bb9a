package mechanics

import (
	"math"
	"slices"
)

// A Course is what is known of how a quantity goes while one leaf runs over its range and
// all others stay where they are; of a series, how each of its values goes. It is a set:
// what is not in it is not known, and where nothing is, a search within tolerances looks
// between the ends too. Rules are composed as in disciplined convex programming (Grant,
// Boyd and Ye, 2006): a maximum and a norm of convex quantities are convex, what rises
// with something that has its peak at an end has it there too.
type Course uint8

const (
	valley  Course = 1 << iota // between two values nowhere above both: greatest at an end
	hill                       // nowhere below both: least at an end
	oneWay                     // it never falls, or it never rises
	convex                     // a straight line between two values is nowhere below
	concave                    // nor above
	deep                       // its magnitude is a valley
	resting                    // it stays the same, to the bit
)

// What follows from each.
const (
	unknown Course = 0
	bowl           = convex | valley
	mono           = oneWay | valley | hill | deep
	line           = mono | convex | concave
	Still          = line | resting
)

// PeaksAtEnd reports whether the quantity is greatest at an end of the leaf's range.
func (c Course) PeaksAtEnd() bool { return c&valley != 0 }

// LeastAtEnd reports whether it is least there.
func (c Course) LeastAtEnd() bool { return c&hill != 0 }

// rising is the course of what rises with a quantity, falling of what falls with it.
func rising(c Course) Course {
	if c&oneWay != 0 {
		return mono
	}
	return c & (valley | hill)
}

func falling(c Course) Course {
	switch {
	case c&oneWay != 0:
		return mono
	case c&valley != 0 && c&hill != 0:
		return valley | hill
	case c&valley != 0:
		return hill
	case c&hill != 0:
		return valley
	}
	return unknown
}

// magnitude is the course of the magnitude of a quantity.
func magnitude(c Course) Course {
	switch {
	case c&line == line:
		return bowl
	case c&deep != 0:
		return valley
	}
	return unknown
}

// Courses are those of all quantities for one leaf of an axis.
type Courses struct {
	c      *Calc
	loose  *Set
	of     []Course
	moving Set
	q      *Quantity // whose course is being found
	rests  bool      // the forces at rest stay the same
	spots  *Spots    // nil: not known
}

// Find finds them. loose is all that may be other than in c: what the leaves that have
// tolerances can change. What is assumed may have any value. With spots more is found,
// which holds for the cases that they are of.
func (x *Courses) Find(c *Calc, leaf *Quantity, loose *Set, spots *Spots) {
	if x.of == nil {
		x.of = make([]Course, len(registry))
	}
	for i := range x.of {
		x.of[i] = Still
	}
	x.c, x.loose, x.moving, x.rests, x.spots = c, loose, Set{}, true, spots
	x.of[leaf.id] = line
	x.moving.set(leaf.id)
	for _, q := range computed {
		if !leaf.fates.has(q.id) || !q.takes.meets(&x.moving.bits) {
			continue
		}
		x.q = q
		x.of[q.id] = unknown
		if q.goes != nil {
			x.of[q.id] = q.goes(x)
		}
		if x.of[q.id] != Still {
			x.moving.set(q.id)
		}
	}
}

// Of is the course of a quantity.
func (x *Courses) Of(q *Quantity) Course { return x.of[q.id] }

// Moving is all that does not stay the same.
func (x *Courses) Moving() *Set { return &x.moving }

// Stirs reports whether any of some quantities does not stay the same.
func (x *Courses) Stirs(list []*Quantity) bool {
	for _, q := range list {
		if x.moving.has(q.id) {
			return true
		}
	}
	return false
}

// all is what holds of every quantity of a list.
func (x *Courses) all(list ...*Quantity) Course {
	c := Still
	for _, q := range list {
		c &= x.of[q.id]
	}
	return c
}

// only reports whether, of what the quantity takes, nothing but these moves.
func (x *Courses) only(list ...*Quantity) bool {
	out := x.q.takes
	for _, q := range list {
		out[q.id>>6] &^= 1 << (q.id & 63)
	}
	return !out.meets(&x.moving.bits)
}

// one reports whether at most one of a list moves.
func (x *Courses) one(list []*Quantity) bool {
	n := 0
	for _, q := range list {
		if x.moving.has(q.id) {
			n++
		}
	}
	return n <= 1
}

// value is that of a scalar, the same wherever within the tolerances and whatever is
// assumed; NaN where that is not certain, or it is not known.
func (x *Courses) value(q *Quantity) float64 {
	if x.loose.has(q.id) || q.fatedBy.meets(&assumable) {
		return math.NaN()
	}
	return x.c.one[q.id]
}

// absent reports whether a scalar leaf is not given.
func (x *Courses) absent(q *Quantity) bool { return x.c.one[q.id] != x.c.one[q.id] }

// level reports whether weight has no part along the axis.
func (x *Courses) level() bool {
	sin, _ := sinCos(x.value(Incline))
	return sin == 0
}

// A goes finds a course from those of what the quantity takes.
type goes func(x *Courses) Course

// linearIn is for what is a sum of these with factors of either sign.
func linearIn(list ...*Quantity) goes {
	return func(x *Courses) Course {
		c := x.all(list...)
		switch {
		case !x.only(list...):
			return unknown
		case c&line == line:
			return line
		case x.one(list):
			return monoOf(c)
		}
		return unknown
	}
}

// monoOf is what is left of a course under a factor of either sign.
func monoOf(c Course) Course {
	if c&oneWay != 0 {
		return mono
	}
	return unknown
}

// sumOf is for what is a sum of these with factors that are not negative.
func sumOf(list ...*Quantity) goes {
	return func(x *Courses) Course {
		if !x.only(list...) {
			return unknown
		}
		c := x.all(list...)
		switch {
		case c&line == line:
			return line
		case x.one(list) && c&oneWay == 0:
			return c &^ deep
		case x.one(list):
			return c
		case c&convex != 0:
			return bowl
		case c&concave != 0:
			return concave | hill
		}
		return unknown
	}
}

// scaledBy is for what is one of these times what is not negative.
func scaledBy(list ...*Quantity) goes {
	return func(x *Courses) Course {
		if !x.only(list...) || !x.one(list) {
			return unknown
		}
		return x.all(list...)
	}
}

// over is for a quotient of what is not negative; what is above it is scaled.
func over(above, below *Quantity) goes {
	return func(x *Courses) Course {
		switch {
		case x.only(above):
			return x.Of(above)
		case x.only(below):
			return falling(x.Of(below))
		}
		return unknown
	}
}

// risesOver is for what rises with a quantity and falls with another.
func risesOver(above, below *Quantity) goes {
	return func(x *Courses) Course {
		switch {
		case x.only(above):
			return rising(x.Of(above))
		case x.only(below):
			return falling(x.Of(below))
		}
		return unknown
	}
}

// risesWith is for what rises with each of these, of which one moves.
func risesWith(list ...*Quantity) goes {
	one := scaledBy(list...)
	return func(x *Courses) Course { return rising(one(x)) }
}

// fallsWith is for what falls with a quantity.
func fallsWith(q *Quantity) goes {
	return func(x *Courses) Course {
		if x.only(q) {
			return falling(x.Of(q))
		}
		return unknown
	}
}

// givenOr is for what is one quantity where that is given, and else another.
func givenOr(given, otherwise *Quantity) goes {
	return func(x *Courses) Course {
		if x.absent(given) {
			return x.Of(otherwise)
		}
		return x.Of(given)
	}
}

// peakOf is for the greatest of magnitudes and of values as they are; it is not negative.
func peakOf(magnitudes, values []*Quantity) goes {
	both := slices.Concat(magnitudes, values)
	return func(x *Courses) Course {
		if !x.only(both...) {
			return unknown
		}
		c := x.all(values...) & bowl
		for _, q := range magnitudes {
			c &= magnitude(x.Of(q))
		}
		return notNegative(c)
	}
}

// notNegative is the course of what is not negative: it is its own magnitude.
func notNegative(c Course) Course {
	if c&valley != 0 {
		return c | deep
	}
	return c
}

// assumable are the leaves that stand for what is assumed, and the case.
var assumable bits

// masses are what the weight of a load comes from; steady is what else makes a force on
// the axis, each with a factor that no mass changes.
var (
	masses = qs(MovedMass, HeaviestMass, MovePayload)
	steady = qs(Drag, Counterbalance, MoveThrust, BalanceMass)
)

func init() {
	assumable.set(Case.id)
	for _, a := range assumptions {
		assumable.set(a.Leaf.id)
	}
	for _, list := range [][]ruled{loadCourses, forceCourses, lifeCourses, torqueCourses, stopCourses, stiffnessCourses} {
		for _, r := range list {
			r.q.goes = r.goes
		}
	}
}

// A ruled quantity is one whose course follows from others. Of what is not in the lists
// nothing is known.
type ruled struct {
	q    *Quantity
	goes goes
}

var loadCourses = []ruled{
	{SumOfMasses, sumOf(Mass, CarriedMass)},
	{MovedMass, givenOr(MovedMassGiven, SumOfMasses)},
	{TopPayload, func(x *Courses) Course { // the payload of one move, or what the others have at least
		switch {
		case x.only(MoveDistance):
			return Still
		case x.only(MovePayload):
			return mono | bowl
		}
		return unknown
	}},
	{HeaviestMass, sumOf(MovedMass, TopPayload)},
	{ShaftInertia, scaledBy(Density, ShaftLength)},
	{TurningInertia, sumOf(ShaftInertia, NutInertia, CouplingInertia)},
	{LoadInertia, sumOf(TurningInertia, HeaviestMass, BalanceMass, GearInertia)},
	{InertiaRatio, over(LoadInertia, RotorInertia)},
	{RunInertia, sumOf(TurningInertia, RotorInertia, GearInertia)},
}

var forceCourses = []ruled{
	{Drag, scaledBy(DragGiven)},
	{LostBalance, func(x *Courses) Course {
		if x.absent(Counterbalance) || x.value(Counterbalance) <= 0 || x.value(BalanceKept) > 0 || x.level() && x.only(HeaviestMass) {
			return Still
		}
		return lostWeight(x)
	}},
	{WeightForce, weightless(linearIn(HeaviestMass, Counterbalance), HeaviestMass)},
	{MoveRestForce, weightless(linearIn(MovedMass, MovePayload, Counterbalance, MoveStanding), MovedMass, MovePayload)},
	{StandingForce, weightless(peakOf(qs(MovedMass, Counterbalance, WeightForce, MoveRestForce, StandstillForce), qs(LostBalance)), MovedMass)},
	{PhaseForce, func(x *Courses) Course {
		ends := !x.loose.has(MoveStanding.id) && x.c.known(MoveStanding)
		x.rests = ends && (x.only(Friction, Drag) || x.level() && x.only(MovedMass, MovePayload, Friction, Drag))
		switch {
		case ends:
			return actingForce(x)
		case x.loose.has(MoveStanding.id):
			return unknown
		}
		// At rest the process goes on or ends, by which is the worse. Where that changes, the
		// force leaps from one direction to the other, and never back as the rest of it grows.
		return monoOf(actingForce(x))
	}},
	{MoveStopForce, actingForce},
	{EmergencyForce, stopForces(MoveStopForce)},
	{PushedForce, stopForces(PhaseForce, MoveStopForce, StandstillForce, LostBalance)},
	{StandstillForce, linearIn(Standstill)},
	{PeakForce, peakOf(qs(PhaseForce, StandstillForce), qs(LostBalance, EmergencyForce))},
	{WorkingForce, peakOf(qs(PhaseForce), nil)},
	{ReversalFriction, func(x *Courses) Course {
		if x.only(Friction) {
			return x.Of(Friction)
		}
		return rubbing(x)
	}},
	{WholePush, sumOf(PushedForce, ThermalPush)},
	{ThermalForce, heldOnce(Span)},
	{HeldForce, heldOnce(StretchForce)},
	{LoadedLength, givenOr(LoadedLengthGiven, Span)},
	{Buckling, fallsWith(LoadedLength)}, // Johnson's parabola and Euler's hyperbola meet, and both fall
	{BucklingSafety, func(x *Courses) Course {
		switch {
		case x.only(WholePush):
			return falling(x.Of(WholePush))
		case x.only(Buckling, SpanBuckling) && x.free(): // no thermal push
			return rising(x.Of(Buckling))
		}
		return unknown
	}},
	{AxialStress, sumOf(PeakForce, HeldForce)},
	{EquivalentStress, func(x *Courses) Course { return bothStresses(x) }},
	{DriveYield, func(x *Courses) Course {
		if x.unfixed(DriveEnd) {
			return falling(twistOnly(x))
		}
		return falling(bothStresses(x))
	}},
	{FarYield, notThere(FarEnd, func(x *Courses) Course { return falling(pullOnly(x)) })},
	{ForceAmplitude, func(x *Courses) Course {
		if x.only(PhaseForce) && x.Of(PhaseForce)&line == line {
			return notNegative(bowl)
		}
		return unknown
	}},
	{ForceMiddle, func(x *Courses) Course {
		if x.only(PhaseForce) && x.Of(PhaseForce)&line == line && x.spots.samePeaks(PhaseForce) {
			return notNegative(bowl)
		}
		return unknown
	}},
	{FarFatigue, notThere(FarEnd, func(x *Courses) Course {
		// With hi and lo the greatest and the least force it is 1/(A·(hi − lo) + B·|hi + lo|
		// + C) where A ≥ B > 0, for no steel endures more than half its strength: below the
		// line stands the greater of two sums of hi and −lo with factors that are not negative.
		if x.only(ForceAmplitude, ForceMiddle) && x.Of(PhaseForce)&line == line && x.Of(PhaseTime) == Still {
			return hill
		}
		return unknown
	})},
}

// free reports whether an end is not fixed, so that heat and stretch make no force.
func (x *Courses) free() bool { return x.unfixed(DriveEnd) || x.unfixed(FarEnd) }

// unfixed reports whether an end is known to be not fixed.
func (x *Courses) unfixed(end *Quantity) bool {
	e := x.value(end)
	return e == e && e != FixedEnd
}

// heldOnce is for what counts by only between two fixed ends, where one is not.
func heldOnce(by ...*Quantity) goes {
	return func(x *Courses) Course {
		if x.free() && x.only(by...) {
			return Still
		}
		return unknown
	}
}

// weightless keeps what depends on masses by their weight along the axis alone from moving
// with them where that has none.
func weightless(otherwise goes, by ...*Quantity) goes {
	return func(x *Courses) Course {
		if x.level() && x.only(by...) {
			return Still
		}
		return otherwise(x)
	}
}

// notThere is for what an end that is not fixed does not bear.
func notThere(end *Quantity, otherwise goes) goes {
	return func(x *Courses) Course {
		if x.unfixed(end) && x.only(PeakForce, ForceAmplitude, ForceMiddle) {
			return Still
		}
		return otherwise(x)
	}
}

// stressOf is the course of a stress from what is not negative: a norm of them.
func stressOf(list ...*Quantity) goes {
	taken := append(qs(PeakForce), list...)
	return func(x *Courses) Course {
		c := x.all(list...)
		switch {
		case !x.only(taken...):
			return unknown
		case c&convex != 0:
			return notNegative(bowl)
		case x.one(list):
			return notNegative(c & valley)
		}
		return unknown
	}
}

var lostWeight, rubbing = linearIn(HeaviestMass), linearIn(HeaviestMass, Drag)

var bothStresses, twistOnly, pullOnly = stressOf(PeakForce, PeakScrewTorque), stressOf(PeakScrewTorque), stressOf(PeakForce)

// actingForce is the course of the force in a phase, or of a stop in a move.
func actingForce(x *Courses) Course {
	if x.only(Friction) {
		return x.Of(Friction)
	}
	return acting(x)
}

var acting = linearIn(append(qs(MovedMass, MovePayload), steady...)...)

// stopForces is for the greatest magnitude of some forces and of those of a stop with the
// carriage empty and at its heaviest.
func stopForces(forces ...*Quantity) goes {
	heavy := append(qs(MovedMass, HeaviestMass), forces...)
	rubbed, loaded := append(qs(Friction), forces...), slices.Concat(heavy, steady)
	return func(x *Courses) Course {
		if !x.only(rubbed...) && !x.only(heavy...) && !(x.only(loaded...) && x.all(loaded...)&line == line) {
			return unknown
		}
		c := Still
		for _, q := range heavy {
			c &= magnitude(x.Of(q))
		}
		return notNegative(c & bowl)
	}
}

var lifeCourses = []ruled{
	{FlankPlus, flankCourse},
	{FlankMinus, flankCourse},
	{MeanLoad, normOf(PhaseForce, line)},
	{MeanPlus, normOf(FlankPlus, bowl)},
	{MeanMinus, normOf(FlankMinus, bowl)},
	{ModifiedRating, scaledBy(DynamicRating, DynamicHardness, GradeFactor)},
	{ModifiedStaticRating, scaledBy(StaticRating, StaticHardness, GradeFactor)},
	{LifePlus, risesOver(ModifiedRating, MeanPlus)},
	{LifeMinus, risesOver(ModifiedRating, MeanMinus)},
	{Life, func(x *Courses) Course {
		// Its cube root is one over the norm, of power 10/3, of the mean loads.
		if x.only(LifePlus, LifeMinus) && x.Of(ModifiedRating) == Still && x.all(MeanPlus, MeanMinus)&convex != 0 {
			return hill
		}
		return unknown
	}},
	{LifeHours, over(Life, MeanRotation)},
	{LifeYears, over(Life, RevsPerYear)},
	{LifeRatio, over(LifeYears, RequiredLife)},
	{StaticSafety, over(ModifiedStaticRating, PeakForce)},
	{GapPreload, scaledBy(WorkingForce)},
	{SupportLoad, sumOf(MeanLoad, HeldForce)},
	{SupportLife, risesOver(SupportDynamic, SupportLoad)},
	{SupportLifeRatio, over(SupportLife, RequiredLife)},
	{SupportPeak, sumOf(PeakForce, HeldForce)},
	{SupportStaticSafety, over(SupportStatic, SupportPeak)},
	{NutBearingLife, risesOver(NutBearingDynamic, MeanLoad)},
	{NutBearingLifeRatio, over(NutBearingLife, RequiredLife)},
	{NutBearingStaticSafety, over(NutBearingStatic, PeakForce)},
}

// flankCourse is that of the load of a flank: it rises, or falls, with the force, ever more
// steeply the more it bears.
func flankCourse(x *Courses) Course {
	c := x.Of(PhaseForce)
	switch {
	case !x.only(PhaseForce):
		return unknown
	case c&line == line:
		return mono | bowl
	}
	return monoOf(c)
}

// normOf is for the mean of some power, over steady shares, of the magnitudes of a series.
func normOf(q *Quantity, of Course) goes {
	return func(x *Courses) Course {
		if x.only(q) && x.Of(q)&of == of {
			return notNegative(bowl)
		}
		return unknown
	}
}

var torqueCourses = []ruled{
	{PhaseTorque, func(x *Courses) Course {
		x.rests = x.rests && x.only(PhaseForce, TurningInertia)
		if x.only(TurningInertia) {
			return x.Of(TurningInertia) & line
		}
		return torqueCourse(x, PhaseForce)
	}},
	{MotorPhaseTorque, func(x *Courses) Course {
		x.rests = x.rests && x.only(PhaseTorque)
		if x.Of(PhaseTorque)&deep == 0 {
			return unknown
		}
		return torqueCourse(x, PhaseTorque)
	}},
	{CycleEndTorque, peakOf(qs(PhaseTorque), nil)},
	{TorqueShare, peakOf(qs(MotorPhaseTorque), nil)},
	{StandingTorque, atRest},
	{LastingTorque, atRest},
	{LostTorque, scaledBy(LostBalance)},
	{RMSTorque, normOf(MotorPhaseTorque, line)},
	{TorqueAmplitude, func(x *Courses) Course {
		if x.only(PhaseTorque, PhaseForce) && x.Of(PhaseTorque)&line == line && x.spots.keepSign(PhaseForce) {
			return notNegative(bowl)
		}
		return unknown
	}},
	{TorqueMiddle, func(x *Courses) Course {
		if x.only(PhaseTorque, PhaseForce) && x.spots.samePeaks(PhaseTorque) {
			return notNegative(bowl)
		}
		return unknown
	}},
	{StopScrewTorque, func(x *Courses) Course {
		c := stopCourse(x)
		if c != unknown && x.only(stopLinear...) && x.all(stopLinear...)&line == line && x.spots.sameStops() {
			return notNegative(bowl)
		}
		return notNegative(c & valley)
	}},
	{DriveFatigue, func(x *Courses) Course {
		// One over a sum of norms.
		parts := fatigueParts
		if x.unfixed(DriveEnd) {
			parts = fatigueParts[:2]
		}
		if x.only(fatigueParts...) && x.all(parts...)&convex != 0 {
			return hill
		}
		return unknown
	}},
	{PeakScrewTorque, peakOf(qs(PhaseTorque), qs(LostBalance, StopScrewTorque))},
	{DriveEndTorque, scaledBy(PeakScrewTorque, MotorScrews)},
	{CrossTorque, func(x *Courses) Course {
		if x.value(MotorScrews) >= 1 && x.only(PeakScrewTorque) {
			return x.Of(PeakScrewTorque)
		}
		return unknown
	}},
	{HoldingTorque, scaledBy(StandingForce)},
	{HoldingSafety, holdsIt},
	{ScrewBrakeSafety, func(x *Courses) Course {
		if x.absent(BrakeGiven) && x.only(HoldingTorque) {
			return Still
		}
		return holdsIt(x)
	}},
}

// torqueCourse is that of a torque in a phase: in motion it rises with the force in the
// direction of travel, along two lines; at rest it is a share of its magnitude.
func torqueCourse(x *Courses, by *Quantity) Course {
	switch {
	case x.only(by) && x.Of(by)&line == line && x.spots.keepSign(PhaseForce) && x.spots.keepSign(by):
		return line // on one of the two
	case x.only(by) && x.Of(PhaseForce)&oneWay != 0:
		return valley | deep
	}
	return unknown
}

// atRest is for the peak of the motor's torque at rest.
func atRest(x *Courses) Course {
	if x.rests && x.only(MotorPhaseTorque) {
		return Still
	}
	return peakOf(qs(MotorPhaseTorque, StandstillForce), nil)(x)
}

var holdsIt = fallsWith(HoldingTorque)

var stopCourses = []ruled{
	{BrakeStop, func(x *Courses) Course {
		if x.value(BrakeTorque) <= 0 && x.only(stopLoads...) {
			return Still
		}
		return notNegative(stopCourse(x) & valley)
	}},
	{HardestStop, func(x *Courses) Course {
		if x.value(StopBy) == StopByMotor || x.value(BrakeTorque) <= 0 {
			return x.Of(EmergencyDecel)
		}
		return peakOf(nil, qs(EmergencyDecel, BrakeStop))(x)
	}},
	{StopTorque, func(x *Courses) Course { return notNegative(stopCourse(x) & valley) }},
	{StopReached, func(x *Courses) Course { return stopCourse(x) & hill }},
	{StopFall, func(x *Courses) Course {
		if x.value(StopMeans) == StopByMotor && x.value(RotorInertia) > 0 && x.only(stopLoads...) {
			return Still
		}
		return notNegative(stopCourse(x) & valley)
	}},
	{RunOn, func(x *Courses) Course {
		switch {
		case x.only(StopReached) && x.spots.atLeast(StopReached, x.value(EmergencyDecel)):
			return Still // the declared deceleration is reached
		case x.only(StopReached):
			return falling(x.Of(StopReached))
		case x.only(StopFall):
			return rising(x.Of(StopFall))
		}
		return unknown
	}},
	{RopeAcceleration, peakOf(nil, qs(HardestStop))},
}

var (
	fatigueParts = qs(TorqueAmplitude, TorqueMiddle, ForceAmplitude, ForceMiddle)
	stopLinear   = qs(MovedMass, HeaviestMass, MovePayload, Friction, Drag, MoveThrust, TurningInertia)
)

// stopLoads is what a stop takes of masses, forces and parts that turn.
var stopLoads = append(qs(Friction, Drag, MoveThrust, TurningInertia), masses...)

// stopCourse is that of each single stop, which goes one way with any of its loads.
// A torque to stop at a set deceleration rises, or falls, with the force, which is a sum of
// them. The deceleration a reached is where the braking torque, which rises with a, is what
// there is. More friction makes the force greater for every a, so that the braking
// torque is less. More mass makes it greater for a < μ·g·cos θ + s·g·sin θ, and less above;
// at that a it changes nothing, so that a, whatever the mass, stays on one side of it. So it
// is with parts that turn and a = 0.
func stopCourse(x *Courses) Course {
	switch {
	case x.only(Friction), x.only(Drag), x.only(MoveThrust):
		return mono
	case x.only(TurningInertia):
		return monoOf(x.Of(TurningInertia))
	case x.only(masses...):
		return monoOf(x.all(masses...))
	}
	return unknown
}

var stiffnessCourses = []ruled{
	{ShaftRigidity, func(x *Courses) Course {
		if x.free() && x.only(LoadedLength, Span) {
			return falling(x.Of(LoadedLength))
		}
		return unknown
	}},
	{BearingRigidity, heldOnce(Span)},
	{ShaftWindUp, fallsWith(LoadedLength)},
	{Critical, func(x *Courses) Course {
		if x.free() && x.only(Span) {
			return falling(x.Of(Span))
		}
		return unknown
	}},
	{CriticalShare, over(MaxRotation, Critical)},
	{NutRigidity, func(x *Courses) Course {
		if x.value(Preload) > 0 && x.only(MeanLoad) {
			return Still
		}
		return risesWith(MeanLoad)(x)
	}},
	{Rigidity, risesWith(ShaftRigidity, NutRigidity, BearingRigidity)},
	{DriveRigidity, func(x *Courses) Course {
		// A longer shaft is softer in both.
		if x.only(Rigidity, ShaftWindUp) && x.all(Rigidity, ShaftWindUp)&oneWay != 0 && !x.moving.has(NutRigidity.id) {
			return mono
		}
		return risesWith(Rigidity, ShaftWindUp)(x)
	}},
	{NaturalFrequency, risesOver(DriveRigidity, HeaviestMass)},
	{RampPeriods, scaledBy(ShortestRamp, NaturalFrequency)},
	{LostMotion, func(x *Courses) Course {
		if x.only(DriveRigidity) {
			return falling(x.Of(DriveRigidity))
		}
		return sumOf(ReversalFriction, DrivePlay)(x)
	}},
	{RepeatError, func(x *Courses) Course {
		if x.value(Approach) == OneSide && x.only(LostMotion) {
			return Still
		}
		return scaledBy(LostMotion)(x)
	}},
	{WornError, sumOf(LostMotion, ReversalFriction)},
	{ElasticPart, over(ReversalFriction, DriveRigidity)},
	{ForcePart, fallsWith(DriveRigidity)},
	{AccuracyBudget, sumOf(ScrewPart, ElasticPart, ForcePart, HalfPlay)},
	{EndForce, func(x *Courses) Course {
		switch {
		case (x.absent(EndSpeed) || x.value(EndSpeed) <= 0) && x.only(Rigidity, RunInertia):
			return Still
		case x.only(Rigidity):
			return rising(x.Of(Rigidity))
		case x.only(RunInertia):
			return rising(x.Of(RunInertia))
		}
		return unknown
	}},
	{EndStaticSafety, over(ModifiedStaticRating, EndForce)},
	{EndBuckling, over(Buckling, EndForce)},
	{EndSupport, over(SupportStatic, EndForce)},
	{EndStress, risesWith(EndForce)},
}
