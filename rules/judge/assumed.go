package judge

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"trammel/rules/mechanics"
	"trammel/spec/unit"
)

// Assumed values have a range (mechanics.Assumptions). A test is evaluated at both ends
// of what is assumed and in the usual case. What comes out the same is judged; what
// does not is not judged, and says from which value on it passes.

// ends are the cases besides the usual one.
var ends = [...]float64{mechanics.Heavy, mechanics.Light}

// assumptions gives, by the index of the assumption, what hangs on each that the
// test looks at; nil for the others.
func (t *Test) assumptions() (plans [][]*mechanics.Quantity, whole []*mechanics.Quantity) {
	var leaves []*mechanics.Quantity
	for _, a := range mechanics.Assumptions() {
		var plan []*mechanics.Quantity
		if mechanics.AnyDepends(t.watch, a.Taken) {
			plan = mechanics.Plan(t.watch, a.Leaf)
			leaves = append(leaves, a.Leaf)
		}
		plans = append(plans, plan)
	}
	return plans, mechanics.Plan(t.watch, leaves...)
}

// A Range is an assumed value: from Low to High, in SI units.
type Range struct {
	*mechanics.Assumption
	Low, High float64
	index     int // among all assumptions
}

// Assumed lists what is assumed of the axis.
func (v *View) Assumed() []Range { return v.assumedInto(nil) }

func (v *View) assumedInto(out []Range) []Range {
	for i, a := range mechanics.Assumptions() {
		if low, high, ok := a.Ends(v.Calc); ok {
			out = append(out, Range{a, low, high, i})
		}
	}
	return out
}

// judges reports whether a view is that of the axis that the scratch memory judges whole, of
// which what is assumed is found and computed once.
func (b *Scratch) judges(v *View) bool { return v.Calc == b.Calc && v.Axis == b.casesOf }

// looksAt reports whether a test looks at what is assumed.
func (t *Test) looksAt(r Range) bool { return r.index < len(t.assumes) && t.assumes[r.index] != nil }

// assumed lists what is assumed that a test looks at. Of an axis that is judged whole
// it is found once what is assumed; else only what the test looks at is computed.
func (v *View) assumed(b *Scratch, t *Test) []Range {
	if !b.judges(v) {
		return v.assumedNow(t)
	}
	var out []Range
	for _, r := range v.ranges(b) {
		if t.looksAt(r) {
			out = append(out, r)
		}
	}
	return out
}

// ranges is Assumed of the axis that the scratch memory judges whole, found once.
func (v *View) ranges(b *Scratch) []Range {
	if !b.ranged {
		b.ranges, b.ranged = v.assumedInto(b.ranges[:0]), true
	}
	return b.ranges
}

// assumedNow is assumed for values that change from one asking to the next.
func (v *View) assumedNow(t *Test) (out []Range) {
	for i, plan := range t.assumes {
		if plan == nil {
			continue
		}
		a := mechanics.Assumptions()[i]
		if low, high, ok := a.Ends(v.Calc); ok {
			out = append(out, Range{a, low, high, i})
		}
	}
	return out
}

// at is the view with a case assumed, in scratch memory: good until the next call.
// In the view of an axis that is judged whole everything is computed for it once; else
// what the test looks at.
func (v *View) at(b *Scratch, t *Test, k float64) *View {
	w := &b.view
	*w = *v
	if !b.judges(v) {
		w.Calc = b.caseOf
		w.Calc.CopyFrom(v.Calc)
		w.Calc.Set(mechanics.Case, k)
		w.Calc.RunPlan(t.casePlan)
	} else {
		i := slices.Index(ends[:], k)
		w.Calc = b.cases[i]
		if !b.casesRun[i] {
			b.runCase(v, i)
		}
	}
	w.Calc.Watch(v.Calc.Watched())
	return w
}

// atAll is at with everything computed that hangs on the case.
func (v *View) atAll(b *Scratch, k float64) *View {
	if b.judges(v) {
		return v.at(b, nil, k)
	}
	w := &b.view
	*w = *v
	w.Calc = b.caseOf
	w.Calc.Assume(k, v.Calc, new(mechanics.Set))
	w.Calc.Watch(v.Calc.Watched())
	return w
}

// runCase computes one of ends for the axis that is judged whole.
func (b *Scratch) runCase(v *View, i int) {
	var loose mechanics.Set
	for _, s := range b.tolerances {
		loose.AddOver(s.leaf)
	}
	b.differ[i] = b.cases[i].Assume(ends[i], v.Calc, &loose)
	b.casesRun[i] = true
	if b.casesRun[0] && b.casesRun[1] {
		b.apart = b.cases[0].Apart(b.cases[1], &loose)
	}
}

// alike reports whether a test comes out in one of ends as in the usual case or, if other is
// set, as in the other of ends: nothing that it looks at differs, wherever within the tolerances.
func (v *View) alike(b *Scratch, t *Test, i int, other bool) bool {
	if !b.judges(v) {
		return false
	}
	v.at(b, t, ends[i])
	v.Calc.Note(t.watch...)
	if other {
		return !t.under.Meets(&b.apart)
	}
	return !t.under.Meets(&b.differ[i])
}

// over is how a test comes out over the range of what is assumed.
type over struct {
	any   bool     // something is assumed that the test looks at; else the rest says nothing
	worst float64  // of the uses of limit and advice at both ends; -Inf where its question arises at none
	limit Compared // of the limit there
	at    float64  // the case in which it is
	holds bool     // at an end
	spent bool
}

// overRange asks a test at both ends of what is assumed, at the worst within the
// tolerances. found is the worst of the usual case; nil where it is not found yet.
func (v *View) overRange(b *Scratch, r *Rule, t *Test, found *worstCase) (o over) {
	if !v.assumes(b, t) {
		return o
	}
	o.any = true
	o.worst, o.limit = math.Inf(-1), never.limit
	var x cameOut
	for i, k := range ends {
		switch {
		case v.alike(b, t, i, false):
			x = v.outcome(b, r, t, found)
		case i == 0 || !v.alike(b, t, i, true):
			x = v.worstAt(b, r, t, k)
		}
		switch {
		case x.spent:
			o.spent = true
			return o
		case x.use > o.worst || x.use != x.use:
			o.worst, o.limit, o.at = x.use, x.limit, k
		}
		o.holds = o.holds || x.use <= 1+Slack
	}
	if o.worst > nearLimit && o.worst <= 1+Slack {
		v.mix(b, r, t, &o)
	}
	return o
}

// mixing notes that what is looked at from now on, until it is ended, is the axis that is
// judged whole with other values of what is assumed.
func (b *Scratch) mixing(v *View) (end func()) {
	b.mixed = b.judges(v)
	return func() { b.mixed = false }
}

// nearLimit is the use from which on mixtures of both ends are looked at: what
// weighs phases of driving and of braking against each other may be a little worse
// with one value at the one end and another at the other.
const nearLimit = 0.8

// mix looks for a worse mixture of the ends of what is assumed, one value after
// another, until none makes it worse.
func (v *View) mix(b *Scratch, r *Rule, t *Test, o *over) {
	defer b.mixing(v)()
	list := v.assumed(b, t)
	at := make([]float64, len(list))
	for i, a := range list {
		at[i] = v.at(b, t, o.at).Calc.V(a.Taken)
	}
	ask := func() cameOut {
		w := *v
		w.Calc = b.from
		w.Calc.CopyFrom(v.Calc)
		for i, a := range list {
			w.Calc.Set(a.Leaf, at[i])
		}
		w.Calc.RunPlan(t.assumePlan)
		return w.worstAt(b, r, t, mechanics.Usual)
	}
	for better := true; better; {
		better = false
		for i, a := range list {
			was := at[i]
			at[i] = a.Low + a.High - was
			if was != a.Low && was != a.High {
				at[i] = a.High
			}
			switch x := ask(); {
			case x.spent:
				o.spent = true
				return
			case x.use > o.worst*(1+1e-9):
				o.worst, o.limit, better = x.use, x.limit, true
			default:
				at[i] = was
			}
		}
	}
}

// assumes reports whether something is assumed that a test looks at.
func (v *View) assumes(b *Scratch, t *Test) bool {
	if !b.judges(v) {
		return v.assumesNow(t)
	}
	return !t.Nominal && slices.ContainsFunc(v.ranges(b), t.looksAt)
}

// assumesNow is assumes for values that change from one asking to the next.
func (v *View) assumesNow(t *Test) bool { return !t.Nominal && len(v.assumedNow(t)) > 0 }

// arisesAssumed reports whether the question of a test that does not arise in the
// usual case arises at an end of what is assumed.
func (v *View) arisesAssumed(b *Scratch, r *Rule, t *Test) bool {
	if !v.assumes(b, t) {
		return false
	}
	o := v.overRange(b, r, t, nil)
	return !o.spent && !math.IsInf(o.worst, -1) && !(o.worst <= 1+Slack)
}

// cameOut is how a test comes out: the use of it, of its advice too, and its limit's sides alone, at the
// worst within the tolerances; -Inf where its question does not arise, NaN where it cannot
// be told.
type cameOut struct {
	use   float64
	limit Compared
	spent bool
}

// never is how a test comes out where its question does not arise.
var never = cameOut{use: math.Inf(-1), limit: Compared{Value: math.Inf(-1), Limit: 1}}

// worstAt is how a test comes out with a case assumed.
func (v *View) worstAt(b *Scratch, r *Rule, t *Test, k float64) cameOut {
	w := v.at(b, t, k)
	if !b.spend(Phases(v.Calc.Moves())) {
		return cameOut{spent: true}
	}
	return w.outcome(b, r, t, nil)
}

// outcome is that of a test for the view as it is. found is its worst within the tolerances;
// nil where that is not found yet.
func (v *View) outcome(b *Scratch, r *Rule, t *Test, found *worstCase) cameOut {
	defer b.giveBack(b.taken)
	w := v
	if v.spreadsOver(b, t) {
		if found == nil {
			x := v.worst(b, r, t)
			found = &x
		}
		switch {
		case found.spent:
			return cameOut{spent: true}
		case found.undefined && (found.view == nil || found.view.utilisation(r, t) <= 1+Slack):
			return cameOut{use: math.NaN(), limit: Compared{Value: math.NaN(), Limit: 1}}
		case found.view == nil:
			return never
		}
		w = found.view
	} else if r.Applies != nil && r.Applies(w) != "" || t.Applies != nil && t.Applies(w) != "" {
		return never
	}
	x, _, ok := w.limit(r, &t.Limit)
	if !ok {
		x = math.NaN()
	}
	return cameOut{use: w.utilisation(r, t), limit: t.compare(w.Calc, x)}
}

// spreadsOver reports whether a test looks at what a tolerance can change. Whether it can
// hangs on what the test looks at, even where it cannot now.
func (v *View) spreadsOver(b *Scratch, t *Test) bool {
	if !b.mayChange(t.watch) {
		return false
	}
	v.Calc.Note(t.watch...)
	for i, r := range b.tolerances {
		if b.stirs(b.course(v, i), r, t.watch) {
			return true
		}
	}
	return false
}

// mayChange reports whether any of some quantities hangs on a value with a tolerance.
func (b *Scratch) mayChange(watch []*mechanics.Quantity) bool {
	return slices.ContainsFunc(b.tolerances, func(s toleranceRange) bool { return mechanics.AnyDepends(watch, s.leaf) })
}

// open notes that a test passes for some of what is assumed and fails for some, and
// from which value on it passes.
func (v *View) open(b *Scratch, r *Rule, t *Test, o over, res *Result) {
	res.worse(Unjudged)
	var some []Range
	list := v.assumed(b, t)
	for _, a := range list {
		x, ok := v.passesFrom(b, r, t, a, o.at)
		if !ok {
			if v.matters(b, r, t, a, o.at, o.worst) {
				some = append(some, a)
			}
			continue
		}
		res.assume(v, a, fmt.Sprintf("passes only if %s, which is not declared, is %s", v.Axis.Wants(FieldOfLeaf[a.Leaf.ID()]), x))
		return
	}
	if len(some) == 0 {
		some = list
	}
	var names []string
	for _, a := range some {
		f := FieldOfLeaf[a.Leaf.ID()]
		names = append(names, v.Axis.Wants(f))
		res.lack(v.Axis, f, -1)
	}
	res.Why, res.Assumed = "passes or fails depending on assumed values; declare "+strings.Join(names, ", "), true
}

// assume notes the line without which a rule is not judged.
func (res *Result) assume(v *View, a Range, why string) {
	res.lack(v.Axis, FieldOfLeaf[a.Leaf.ID()], -1)
	res.Why, res.Assumed = why, true
}

// with asks a test with one assumed value put to x and the others as in a case.
func (v *View) with(b *Scratch, r *Rule, t *Test, a Range, x, k float64) float64 {
	defer b.mixing(v)()
	w := *v
	w.Calc = b.from
	w.Calc.CopyFrom(v.Calc)
	w.Calc.Set(a.Leaf, x)
	w.Calc.RunPlan(t.assumes[a.index])
	o := w.worstAt(b, r, t, k)
	if o.spent {
		return math.NaN()
	}
	return o.use
}

// maxMixed is for how many assumed values all combinations of their ends are tried.
const maxMixed = 6

// passesMixed reports whether a test that fails at both ends passes for some
// combination of what is assumed.
func (v *View) passesMixed(b *Scratch, r *Rule, t *Test) bool {
	defer b.mixing(v)()
	list := v.assumed(b, t)
	list = list[:min(len(list), maxMixed)]
	for c := range 1 << len(list) {
		w := *v
		w.Calc = b.from
		w.Calc.CopyFrom(v.Calc)
		for i, a := range list {
			x := a.Low
			if c>>i&1 == 1 {
				x = a.High
			}
			w.Calc.Set(a.Leaf, x)
		}
		w.Calc.RunPlan(t.assumePlan)
		x := w.worstAt(b, r, t, mechanics.Usual)
		if x.spent {
			return false
		}
		if x.use <= 1+Slack {
			return true
		}
	}
	return false
}

// matters reports whether the use of a test hangs on one assumed value.
func (v *View) matters(b *Scratch, r *Rule, t *Test, a Range, k, now float64) bool {
	return v.with(b, r, t, a, a.Low, k) < now*(1-1e-9) || v.with(b, r, t, a, a.High, k) < now*(1-1e-9)
}

// passesFrom finds from which value of one assumed quantity on a test passes with
// the others at their worst, in words.
func (v *View) passesFrom(b *Scratch, r *Rule, t *Test, a Range, k float64) (words string, ok bool) {
	bad, good, up := a.Low, a.High, true
	switch high, low := v.with(b, r, t, a, a.High, k) <= 1+Slack, v.with(b, r, t, a, a.Low, k) <= 1+Slack; {
	case high == low:
		return "", false
	case low:
		bad, good, up = a.High, a.Low, false
	}
	for range 40 {
		mid := (bad + good) / 2
		if v.with(b, r, t, a, mid, k) <= 1+Slack {
			good = mid
		} else {
			bad = mid
		}
	}
	x := rounded(good, a.Leaf.Kind, v.Units(), up)
	if up {
		return "at least " + x, true
	}
	return "at most " + x, true
}

// rounded writes a value with three digits, rounded to the side named.
func rounded(x float64, k unit.Kind, sys unit.System, up bool) string {
	text := unit.Format(x, k, sys)
	shown := func(s string) float64 {
		q, err := unit.Parse(s, k)
		if err != nil {
			return math.NaN()
		}
		return q.Nominal
	}
	if y := shown(text); y >= x == up || y == x {
		return text
	}
	for _, step := range []float64{1e-3, 2e-3, 5e-3, 1e-2} {
		y := x * (1 + step)
		if !up {
			y = x * (1 - step)
		}
		if s := unit.Format(y, k, sys); (shown(s) >= x) == up {
			return s
		}
	}
	return text
}
