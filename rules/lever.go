package rules

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"trammel/rules/mechanics"
	"trammel/rules/tables"
	"trammel/spec"
	"trammel/spec/unit"
)

// A Lever is one thing a designer can change. Solving a lever finds the least
// change that makes a test pass, rounds it on the safe side, and judges all
// rules again before it is offered.
type Lever struct {
	Leaf   *mechanics.Quantity
	Words  string           // with %s for the new value
	Up     bool             // larger values help; else smaller ones
	Steps  func() []float64 // preferred values, rising; nil for any value
	To     float64          // for a choice: the index to change to
	If     func(v *View) bool
	Create bool                // pulled from nothing where nothing is declared
	From   *mechanics.Quantity // pulled from this value where nothing is declared
	Group  string              // of levers of one group, only the first that helps is offered
}

// The levers, shared by the rules.
var (
	slower       = &Lever{Leaf: mechanics.MoveSpeed, Words: "speed up to %s"}
	longerRamp   = &Lever{Leaf: mechanics.MoveRamp, Words: "ramp from %s", Up: true}
	gentler      = &Lever{Leaf: mechanics.MoveAcceleration, Words: "acceleration up to %s"}
	longerMove   = &Lever{Leaf: mechanics.MoveDwell, Words: "dwell from %s", Up: true}
	lessThrust   = &Lever{Leaf: mechanics.MoveThrust, Words: "thrust up to %s"}
	lessPayload  = &Lever{Leaf: mechanics.MovePayload, Words: "payload up to %s"}
	lighter      = &Lever{Leaf: mechanics.Mass, Words: "mass up to %s"}
	shorterSpan  = &Lever{Leaf: mechanics.Span, Words: "span up to %s"}
	shorterPush  = &Lever{Leaf: mechanics.LoadedLengthGiven, Words: "loaded length up to %s"}
	higherLead   = &Lever{Leaf: mechanics.Lead, Words: "lead from %s", Up: true, Steps: tables.PreferredLeads}
	lowerLead    = &Lever{Leaf: mechanics.Lead, Words: "lead up to %s", Steps: tables.PreferredLeads}
	thicker      = &Lever{Leaf: mechanics.RootDiameter, Words: "root diameter from %s", Up: true}
	higherCa     = &Lever{Leaf: mechanics.DynamicRating, Words: "dynamic rating from %s", Up: true}
	higherC0a    = &Lever{Leaf: mechanics.StaticRating, Words: "static rating from %s", Up: true}
	lessLife     = &Lever{Leaf: mechanics.ServiceLife, Words: "service life up to %s"}
	fewerHours   = &Lever{Leaf: mechanics.HoursPerDay, Words: "hours per day up to %s"}
	fasterMotor  = &Lever{Leaf: mechanics.MotorMaxSpeed, Words: "motor speed from %s", Up: true}
	lowerRatio   = &Lever{Leaf: mechanics.Ratio, Words: "ratio up to %s"}
	higherRatio  = &Lever{Leaf: mechanics.Ratio, Words: "ratio from %s", Up: true}
	lessPreload  = &Lever{Leaf: mechanics.Preload, Words: "preload up to %s"}
	morePreload  = &Lever{Leaf: mechanics.Preload, Words: "preload from %s", Up: true}
	farFixed     = &Lever{Leaf: mechanics.FarEnd, Words: "far end fixed", To: mechanics.FixedEnd}
	farHeld      = &Lever{Leaf: mechanics.FarEnd, Words: "far end supported", To: mechanics.SupportedEnd}
	driveFixed   = &Lever{Leaf: mechanics.DriveEnd, Words: "drive end fixed", To: mechanics.FixedEnd}
	shorterRamp  = &Lever{Leaf: mechanics.MoveRamp, Words: "ramp up to %s"}
	sharper      = &Lever{Leaf: mechanics.MoveAcceleration, Words: "acceleration from %s", Up: true}
	regrease     = &Lever{Leaf: mechanics.RegreaseEvery, Words: "regreasing every %s"}
	moreRoom     = &Lever{Leaf: mechanics.Overtravel, Words: "overtravel from %s", Up: true}
	harderStop   = &Lever{Leaf: mechanics.EmergencyDecel, Words: "emergency deceleration from %s", Up: true}
	gentleStop   = &Lever{Leaf: mechanics.EmergencyDecel, Words: "emergency deceleration up to %s"}
	longerShaft  = &Lever{Leaf: mechanics.ShaftLength, Words: "length from %s", Up: true}
	shorterBar   = &Lever{Leaf: mechanics.ShaftLength, Words: "length up to %s"}
	thickerD0    = &Lever{Leaf: mechanics.NominalDiameter, Words: "nominal diameter from %s", Up: true, Steps: tables.PreferredDiameters}
	moreStroke   = &Lever{Leaf: mechanics.Stroke, Words: "stroke from %s", Up: true}
	moreBrake    = &Lever{Leaf: mechanics.BrakeGiven, Words: "brake torque on the screw from %s", Up: true, Create: true}
	motorBrake   = &Lever{Leaf: mechanics.MotorBrake, Words: "motor brake from %s", Up: true}
	balance      = &Lever{Leaf: mechanics.Counterbalance, Words: "counterbalance, its loss excluded, from %s", Up: true}
	limitTorque  = &Lever{Leaf: mechanics.TorqueLimit, Words: "torque limit of the drive up to %s", From: mechanics.MotorPeakTorque}
	lessHold     = &Lever{Leaf: mechanics.MoveHold, Words: "hold up to %s"}
	slowerEnd    = &Lever{Leaf: mechanics.EndSpeed, Words: "speed against the end up to %s"}
	softerEnd    = &Lever{Leaf: mechanics.EndStiffness, Words: "stiffness of the end up to %s"}
	soonerBrake  = &Lever{Leaf: mechanics.BrakeDelay, Words: "brake delay up to %s"}
	soonerStop   = &Lever{Leaf: mechanics.ReactionTime, Words: "reaction time up to %s"}
	moreTorque   = &Lever{Leaf: mechanics.MotorTorque, Words: "rated motor torque from %s", Up: true}
	morePeak     = &Lever{Leaf: mechanics.MotorPeakTorque, Words: "peak motor torque from %s", Up: true}
	moreRotor    = &Lever{Leaf: mechanics.RotorInertia, Words: "rotor inertia from %s", Up: true}
	coupler      = &Lever{Leaf: mechanics.CouplingTorque, Words: "coupling torque from %s", Up: true}
	cooler       = &Lever{Leaf: mechanics.TemperatureRise, Words: "temperature rise up to %s"}
	stifferNut   = &Lever{Leaf: mechanics.NutStiffness, Words: "nut stiffness from %s", Up: true}
	stifferEnd   = &Lever{Leaf: mechanics.DriveSupportStiffness, Words: "bearing stiffness at the driven end from %s", Up: true}
	lessPlay     = &Lever{Leaf: mechanics.Backlash, Words: "backlash up to %s"}
	lessFriction = &Lever{Leaf: mechanics.Friction, Words: "guide friction up to %s"}
	lessDrag     = &Lever{Leaf: mechanics.Drag, Words: "drag up to %s"}
	bearingC     = &Lever{Leaf: mechanics.DriveSupportDynamic, Words: "bearing rating at the driven end from %s", Up: true}
	bearingC0    = &Lever{Leaf: mechanics.DriveSupportStatic, Words: "static bearing rating at the driven end from %s", Up: true}
	lessStretch  = &Lever{Leaf: mechanics.Stretch, Words: "stretch up to %s"}
	lessAsked    = &Lever{Leaf: mechanics.Bandwidth, Words: "bandwidth up to %s"}
	oneSide      = &Lever{Leaf: mechanics.Approach, Words: "positions approached from one side", To: mechanics.OneSide}
)

// held are the levers on how the shaft is held, mildest first.
var held = []*Lever{farHeld, farFixed, driveFixed}

// finer are the accuracy grades to go to, mildest first.
var finer = func() []*Lever {
	var out []*Lever
	for _, g := range []string{"C7", "C5", "C3", "C1", "C0"} {
		i := slices.Index(mechanics.GradeWords, g)
		out = append(out, &Lever{Leaf: mechanics.Grade, Words: "grade " + g, To: float64(i), If: func(v *View) bool {
			now, ok := tables.ParseGrade(v.Calc.Word(mechanics.Grade))
			to, _ := tables.ParseGrade(g)
			// A rolled screw is not made finer than C7.
			return ok && to.Number < now.Number && (to.Number >= 7 || v.Calc.Word(mechanics.Process) == "ground")
		}, Group: "grade"})
	}
	return out
}()

func levers(groups ...any) []*Lever {
	var out []*Lever
	for _, g := range groups {
		switch g := g.(type) {
		case *Lever:
			out = append(out, g)
		case []*Lever:
			out = append(out, g...)
		}
	}
	return out
}

// solve finds the ways out of a finding.
func (j *Judge) solve(b *Bench, v *View, f *Finding, results []Result) {
	if f.test == nil || f.Waiver != nil {
		return
	}
	r := ByName(f.Rule)
	offered := map[string]bool{}
	for _, l := range f.test.Levers {
		if l.If != nil && !l.If(v) || l.Group != "" && offered[l.Group] {
			continue
		}
		x, ok := j.pull(b, v, r, f.test, l)
		if !ok {
			continue
		}
		if way, ok := j.offer(b, v, f, l, x, results); ok {
			f.Ways = append(f.Ways, way)
			offered[l.Group] = true
		}
	}
}

// trial is a view with one lever pulled, for asking a test again.
type trial struct {
	v    View
	l    *Lever
	plan []*mechanics.Quantity
}

// bound is what the lever at x makes of a value: it only ever helps. A
// preferred size is another part: it takes the place of the value.
func (l *Lever) bound(have, x float64) float64 {
	if l.Steps != nil {
		return x
	}
	if l.Up {
		return math.Max(have, x)
	}
	return math.Min(have, x)
}

// value is a declared value as the lever at x leaves it.
func (l *Lever) value(have *spec.Value, x float64) *spec.Value {
	out := *have
	if len(l.Leaf.Words) > 0 {
		out.Word, out.Text = int(x), l.Leaf.Words[int(x)]
		return &out
	}
	out.Num = unit.Quantity{Nominal: l.bound(have.Num.Nominal, x), Low: l.bound(have.Num.Low, x), High: l.bound(have.Num.High, x)}
	return &out
}

// spreads are the tolerances that are left with the lever at x.
func (l *Lever) spreads(all []spread, x float64) []spread {
	var out []spread
	for _, s := range all {
		if s.leaf == l.Leaf {
			s.low, s.high = l.bound(s.low, x), l.bound(s.high, x)
		}
		if s.low < s.high {
			out = append(out, s)
		}
	}
	return out
}

// set puts the lever at x.
func (t *trial) set(from *mechanics.Calc, x float64) {
	c, l := t.v.Calc, t.l
	t.v.pulled, t.v.to = l, x
	if l.Leaf.Shape == mechanics.Scalar {
		if have, ok := from.Value(l.Leaf); ok && len(l.Leaf.Words) == 0 {
			x = l.bound(have, x)
		}
		c.Set(l.Leaf, x)
		return
	}
	for i, have := range from.Series(l.Leaf) {
		if !math.IsNaN(have) {
			c.SetMove(l.Leaf, i, l.bound(have, x))
		}
	}
}

// asks gives the use of a test with the lever at x, of its limit and of its
// advice where that is asked: a way out leaves no warning behind. It is NaN where
// it is not known.
func (t *trial) asks(from *mechanics.Calc, r *Rule, test *Test, x float64) float64 {
	t.set(from, x)
	t.v.Calc.RunPlan(t.plan)
	if test.Applies != nil && test.Applies(&t.v) != "" || r.Applies != nil && r.Applies(&t.v) != "" {
		return 0
	}
	return t.v.use(r, test)
}

// use is the use of a test's limit, or of its advice where that is asked and
// more of it is used; NaN where it is not known.
func (v *View) use(r *Rule, t *Test) float64 {
	limit, _, ok := v.limit(r, &t.Limit)
	if !ok || !v.knows(t) {
		return math.NaN()
	}
	u := t.use(v.Calc, limit)
	if t.Advice != nil && v.force.settings[r.index()].Severity > Note {
		if advice, _, ok := v.limit(r, t.Advice); ok {
			u = math.Max(u, t.use(v.Calc, advice))
		}
	}
	return u
}

// least is where a lever begins that is pulled from nothing, in SI units.
const least = 1e-3

// pull finds how far the lever must go for the test to pass. With tolerances
// the worst case counts, so the trial starts from it.
func (j *Judge) pull(b *Bench, v *View, r *Rule, test *Test, l *Lever) (float64, bool) {
	if test.Nominal {
		return j.pullFrom(b, v, r, test, l, v.Calc)
	}
	at := *v
	_, there := present(v.Calc, l)
	if !there && l.Create {
		// Of nothing every case is as bad; of a little the worst shows.
		at.Calc = mechanics.NewCalc()
		at.Calc.CopyFrom(v.Calc)
		at.Calc.Set(l.Leaf, least)
		at.Calc.Run()
	}
	w := at.worst(b, r, test)
	if w.view == nil {
		return 0, false
	}
	if !there && l.Create {
		w.view.Calc.Set(l.Leaf, math.NaN())
	}
	return j.pullFrom(b, v, r, test, l, w.view.Calc)
}

// pullFrom is pull from given values.
func (j *Judge) pullFrom(b *Bench, v *View, r *Rule, test *Test, l *Lever, start *mechanics.Calc) (float64, bool) {
	from := b.from
	from.CopyFrom(start)
	b.trial.CopyFrom(start)
	t := trial{v: *v, l: l, plan: mechanics.Plan(test.watch, l.Leaf)}
	t.v.Calc = b.trial
	passes := func(x float64) bool { return b.spend(phases(from.Moves())) && t.asks(from, r, test, x) <= 1+slack }

	if len(l.Leaf.Words) > 0 {
		_, ok := from.Value(l.Leaf)
		return l.To, ok && passes(l.To)
	}
	now, ok := present(from, l)
	if !ok && l.From != nil {
		now, ok = from.Value(l.From)
	}
	steps := 21
	if !ok && l.Create {
		now, ok, steps = 0, true, 300
	}
	if !ok || now < 0 {
		return 0, false
	}
	if l.Steps != nil && v.Units() == unit.Metric { // preferred sizes are metric
		steps := l.Steps()
		for i := range steps {
			x := steps[i]
			if !l.Up {
				x = steps[len(steps)-1-i]
			}
			if (x > now) == l.Up && passes(x) {
				return x, true
			}
		}
		return 0, false
	}
	// Walk outward until the test passes, then halve the stretch. What would
	// take more than four times the present value is no way out but another
	// design.
	bad, good, step := now, now, 1.07
	for i := 0; ; i++ {
		if i == steps {
			return 0, false
		}
		switch {
		case l.Up && good == 0:
			good = least
		case l.Up:
			good *= step
		default:
			good /= step
		}
		if passes(good) {
			break
		}
		bad = good
	}
	for math.Abs(bad-good) > 1e-6*good+math.SmallestNonzeroFloat64 { // nothing lies between nothing and the smallest
		if mid := (bad + good) / 2; passes(mid) {
			good = mid
		} else {
			bad = mid
		}
	}
	// To the nearest round value if that passes, else to the safe side.
	if x := t.round(good, math.Round); passes(x) {
		return x, true
	}
	safe := math.Floor
	if l.Up {
		safe = math.Ceil
	}
	x := t.round(good, safe)
	return x, passes(x)
}

// present is where the lever stands now.
func present(c *mechanics.Calc, l *Lever) (float64, bool) {
	if l.Leaf.Shape == mechanics.Scalar {
		return c.Value(l.Leaf)
	}
	best, found := 0.0, false
	for _, x := range c.Series(l.Leaf) {
		if math.IsNaN(x) {
			continue
		}
		switch {
		case !found:
			best, found = x, true
		case l.Up:
			best = math.Min(best, x)
		default:
			best = math.Max(best, x)
		}
	}
	return best, found
}

// unitOf is the unit in which the axis's own line gives the lever's leaf.
func (t *trial) unitOf() string {
	f := leafField[t.l.Leaf.ID()]
	if t.v.forced {
		return ""
	}
	if t.l.Leaf.Shape == mechanics.Scalar {
		if x := t.v.Axis.Get(f); x != nil {
			return unit.UnitOf(x.Text)
		}
		return ""
	}
	for _, m := range t.v.Axis.Moves {
		if x := m.Get(f); x != nil && x.Num.Nominal != 0 {
			return unit.UnitOf(x.Text)
		}
	}
	return ""
}

// round gives three digits of the unit the axis is written in.
func (t *trial) round(x float64, to func(float64) float64) float64 {
	k, u := t.l.Leaf.Kind, t.unitOf()
	n, ok := unit.In(x, k, u)
	if !ok {
		n, u = x, k.SI()
	}
	if n == 0 {
		return x
	}
	scale := math.Pow(10, 2-math.Floor(math.Log10(math.Abs(n))))
	n = to(n*scale) / scale
	if si, ok := unit.SIOf(n, k, u); ok {
		return si
	}
	return x
}

func (t *trial) words(x float64) string {
	l := t.l
	if len(l.Leaf.Words) > 0 {
		return l.Words
	}
	shown := ""
	switch u := t.unitOf(); {
	case l.Leaf.Kind == unit.None:
		shown = strconv.FormatFloat(x, 'g', 4, 64)
	case u != "":
		if n, ok := unit.In(x, l.Leaf.Kind, u); ok {
			shown = strconv.FormatFloat(n, 'g', 6, 64) + " " + u
			break
		}
		fallthrough
	default:
		shown = unit.FormatExact(x, l.Leaf.Kind, t.v.Sys)
	}
	return fmt.Sprintf(l.Words, shown)
}

// offer judges all rules again with the lever pulled. A lever that makes
// another rule fail is not offered.
func (j *Judge) offer(b *Bench, v *View, f *Finding, l *Lever, x float64, before []Result) (string, bool) {
	start := v.Calc
	b.trial.CopyFrom(start)
	t := trial{v: *v, l: l}
	t.v.Calc = b.trial
	t.set(start, x)
	b.trial.Run()
	if j.breaks(b, v, &t, f.test, before) {
		return "", false
	}
	return t.words(x), true
}

// breaks reports whether, with a lever pulled, the test it is pulled for still
// fails, or another fails that did not before.
func (j *Judge) breaks(b *Bench, v *View, t *trial, pulledFor *Test, before []Result) bool {
	all := b.spreads
	defer func() { b.spreads = all }()
	b.spreads = t.l.spreads(all, t.v.to)
	// Where it fails is not looked for again in the axis as it stands unless a
	// rule has failed already.
	failed := func(o *Rule, test *Test) bool {
		left := b.spreads
		b.spreads = all
		defer func() { b.spreads = left }()
		return v.fails(b, o, test)
	}
	for i, o := range ordered {
		if t.v.force.settings[i].Severity == Off {
			continue
		}
		for k := range o.Tests {
			test := &o.Tests[k]
			if !mechanics.AnyDepends(test.watch, t.l.Leaf) || !t.v.fails(b, o, test) {
				continue
			}
			if test == pulledFor || before[i].State != Failed || !failed(o, test) {
				return true
			}
		}
		if newFault(v.faults(o), t.v.faults(o)) {
			return true
		}
	}
	for i, h := range t.v.force.house {
		if before[len(ordered)+i].State == Failed {
			continue
		}
		if verdict, _ := h.ask(&t.v); verdict == 0 {
			return true
		}
		if w, _, ok := t.v.anyCase(b, h); !ok || w != nil { // what is not defined does not count, as for tests
			return true
		}
	}
	return false
}

// faults are the faults a rule's Check finds, none where it is not asked.
func (v *View) faults(r *Rule) []Fault {
	if r.Check == nil || r.Applies != nil && r.Applies(v) != "" {
		return nil
	}
	for _, f := range r.Facts {
		if v.Value(f) == nil {
			return nil
		}
	}
	return r.Check(v)
}

// newFault reports whether there is a fault in now for which there is none, as
// serious and about the same line, in before.
func newFault(before, now []Fault) bool {
	for _, f := range now {
		if !slices.ContainsFunc(before, func(o Fault) bool {
			return o.At == f.At && o.Move == f.Move && (o.Severity == Off || f.Severity != Off && o.Severity >= f.Severity)
		}) {
			return true
		}
	}
	return false
}

// fails reports whether a test would make a finding. What cannot be told for
// want of work left counts as one; what is not known does not.
func (v *View) fails(b *Bench, r *Rule, t *Test) bool {
	idle := r.Applies != nil && r.Applies(v) != "" || t.Applies != nil && t.Applies(v) != ""
	if t.Nominal {
		return !idle && v.use(r, t) > 1+slack
	}
	if idle && !v.arises(b, r, t) || !idle && !v.knows(t) {
		return false
	}
	w := v.worst(b, r, t)
	return w.spent || w.view != nil && w.view.use(r, t) > 1+slack
}

func (v *View) knows(t *Test) bool {
	for _, q := range t.all {
		if !v.Calc.Known(q) {
			return false
		}
	}
	return true
}
