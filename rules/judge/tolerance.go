package judge

import (
	"fmt"
	"math"
	"slices"

	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A worstCase is where within the tolerances a test comes out worst.
type worstCase struct {
	view      *View // nil where the question does not arise anywhere
	input     toleranceRange
	value     float64 // of the input whose spread decides; NaN where none does
	undefined bool    // somewhere within the tolerances a value is not defined
	spent     bool    // there were too many inputs to search; the rest says nothing
	search    *search // that found it; nil: none did
	best      []float64
}

// A search looks at places within the tolerances of one axis. Places that other tests look
// at too are shared; those of a narrowing are computed in memory of its own.
type search struct {
	climber
	shared  *points       // nil: nothing is
	which   uint64        // of all tolerances
	plan    mechanics.Set // what changes at a place, of what is looked at
	from    *mechanics.Calc
	own     *mechanics.Calc
	ownAt   []float64 // the place of which own holds the values; none: of none
	leaves  []*mechanics.Quantity
	courses []*mechanics.Courses // for each of leaves; nil: not known
	reach   mechanics.Set        // all that the leaves can change
	view    View                 // at the place that is looked at
	found   worstCase            // so far
	mid     []float64            // see middle
}

// search begins one over the tolerances that some quantities hang on. Its memory, and with
// it what it gave, is good until the next axis is asked, or until giveBack.
func (b *Scratch) search(v *View, watch []*mechanics.Quantity) *search {
	if b.taken == len(b.searches) {
		b.searches = append(b.searches, new(search))
	}
	s := b.searches[b.taken]
	b.taken++
	s.at, s.which, s.fine = s.at[:0], 0, false
	s.shared, s.from, s.plan, s.ownAt = b.pointsOf(v), v.Calc, mechanics.Set{}, s.ownAt[:0]
	s.leaves, s.reach = s.leaves[:0], mechanics.Set{}
	s.ends, s.courses = s.ends[:0], s.courses[:0]
	if b.mayChange(watch) {
		v.Calc.Note(watch...) // what is searched for hangs on them, whatever is read at the places
	}
	for i, r := range b.tolerances {
		if x := b.course(v, i); b.stirs(x, r, watch) {
			s.at, s.leaves, s.ends, s.courses = append(s.at, r), append(s.leaves, r.leaf), append(s.ends, false), append(s.courses, x)
			s.which |= 1 << (i % 64)
			if x == nil {
				s.reach.AddOver(r.leaf)
			} else {
				s.reach.Join(x.Moving())
			}
		}
	}
	s.plan.Add(watch, s.leaves...)
	s.plan = s.plan.Both(&s.reach)
	return s
}

// course is how all quantities go with one of the tolerances; nil where that is not known:
// it is found once for the axis that the scratch memory judges whole, in the usual case and
// at both ends of what is assumed, in all of which it is the same. Less is known in a mixture
// of those: what holds whatever is assumed.
func (b *Scratch) course(v *View, i int) *mechanics.Courses {
	known := b.pointsOf(v) != nil
	if !known && !b.mixed {
		return nil
	}
	if b.coursesOf != v.Axis {
		b.coursesOf = v.Axis
		b.findCourses(v)
	}
	if !known {
		return b.anyway[b.courseAt[i]]
	}
	return b.courses[b.courseAt[i]]
}

// findCourses finds those of the axis, for each leaf once: first what holds whatever the
// values are, then what the values at the corners of the tolerances let be said besides.
func (b *Scratch) findCourses(v *View) {
	b.loose, b.courseAt = mechanics.Set{}, b.courseAt[:0]
	n := 0
	for i, r := range b.tolerances {
		b.loose.AddOver(r.leaf)
		at := slices.IndexFunc(b.tolerances[:i], func(o toleranceRange) bool { return o.leaf == r.leaf })
		if at >= 0 {
			at = b.courseAt[at]
		} else {
			at, n = n, n+1
		}
		b.courseAt = append(b.courseAt, at)
	}
	for len(b.anyway) < n {
		b.anyway, b.also = append(b.anyway, new(mechanics.Courses)), append(b.also, new(mechanics.Courses))
	}
	b.findEach(b.anyway, nil)
	b.courses = b.anyway
	if spots := b.spots(v); spots != nil {
		spots.Trust(b.anyway[:n])
		b.findEach(b.also, spots)
		b.courses = b.also
	}
}

func (b *Scratch) findEach(list []*mechanics.Courses, spots *mechanics.Spots) {
	done := 0
	for i, r := range b.tolerances {
		if b.courseAt[i] == done {
			list[done].Find(b.Calc, r.leaf, &b.loose, spots)
			done++
		}
	}
}

// maxSpotted is for how many tolerances the corners are looked at before any test is.
const maxSpotted = 4

// spots are the values at the corners of those tolerances that change a load, in all cases
// in which the axis is judged; nil where those are many, or none.
func (b *Scratch) spots(v *View) *mechanics.Spots {
	out, was := &mechanics.Spots{}, b.view
	defer func() { b.view = was }()
	w := *v
	w.Calc = b.Calc
	for i := range 1 + len(ends) {
		x := &w
		if i > 0 {
			if len(w.ranges(b)) == 0 {
				break
			}
			x = w.at(b, nil, ends[i-1])
		}
		corners := b.cornersOf(x)
		if corners == nil {
			return nil
		}
		out.At = append(out.At, corners)
	}
	return out
}

// cornersOf are the values at the corners in one case.
func (b *Scratch) cornersOf(v *View) (out []*mechanics.Calc) {
	defer b.giveBack(b.taken)
	s := b.search(v, mechanics.Spotted())
	if n := len(s.at); n == 0 || n > maxSpotted || !b.affords(n, Phases(v.Calc.Moves())) {
		return nil
	}
	full := false
	s.f = func(x []float64) float64 {
		c := s.values(x)
		full = full || c == s.own || !b.spend(Phases(v.Calc.Moves()))
		out = append(out, c)
		return 0
	}
	s.x, s.best, s.stopped = append(s.x[:0], s.middle()...), append(s.best[:0], s.middle()...), false
	s.corners()
	if full {
		return nil
	}
	return out
}

// stirs reports whether a tolerance can change any of some quantities.
func (b *Scratch) stirs(x *mechanics.Courses, r toleranceRange, watch []*mechanics.Quantity) bool {
	if x == nil {
		return mechanics.AnyDepends(watch, r.leaf)
	}
	return x.Stirs(watch)
}

// giveBack takes back the memory of searches begun since so many were: nothing may look
// at it any more.
func (b *Scratch) giveBack(taken int) { b.taken = taken }

// values are those at a place, good for reading until the next call.
func (s *search) values(x []float64) *mechanics.Calc {
	if s.shared != nil && !s.fine {
		if c := s.shared.get(s, x); c != nil {
			return c
		}
	}
	if s.own == nil {
		s.own = mechanics.NewCalc()
	}
	plan, none := s.plan, mechanics.Set{}
	if len(s.ownAt) == 0 {
		s.own.CopyFrom(s.from)
	} else {
		moved := s.moved(s.ownAt, x)
		plan = plan.Both(&moved)
	}
	for i, r := range s.at {
		r.set(s.own, x[i])
	}
	s.ownAt = append(s.ownAt[:0], x...)
	s.own.RunSet(&plan, &none)
	return s.own
}

// moved is what changes from one place to another.
func (s *search) moved(from, to []float64) (out mechanics.Set) {
	for i, r := range s.at {
		if from[i] != to[i] {
			out.AddOver(r.leaf)
		}
	}
	return out
}

// middle is the place where every value is the one in the middle, good until the next call.
func (s *search) middle() []float64 {
	s.mid = s.mid[:0]
	for _, r := range s.at {
		s.mid = append(s.mid, r.get(s.from))
	}
	return s.mid
}

// worst finds the values within the tolerances at which a test comes out worst. The
// view's values are for reading only; until settle they are those that the test looks at.
func (v *View) worst(b *Scratch, r *Rule, t *Test) worstCase {
	s := b.search(v, t.watch)
	if len(s.at) == 0 {
		return worstCase{view: v, value: math.NaN()}
	}
	if !b.affords(len(s.at), Phases(v.Calc.Moves())) {
		return worstCase{spent: true}
	}
	s.view, s.found = *v, worstCase{value: math.NaN()}
	w, found := &s.view, &s.found
	idle, limit, ok := "", 0.0, false
	arises := v.constant(s, func() { idle = t.idle(r, v) })
	if arises && idle != "" {
		return *found
	}
	limited := (arises || v.Calc.Watched().Set == nil) && v.constant(s, func() { limit, _, ok = v.limit(r, &t.Limit) })
	// Where the question arises at the worst of all places, it does not matter where else.
	anyway := limited && ok && v.worstAtEnds(s, t, limit) && !arises
	if !arises && !anyway {
		clear(s.ends)
	}
	s.f = func(x []float64) float64 {
		if !b.spend(Phases(v.Calc.Moves())) {
			found.spent = true
			return math.NaN()
		}
		w.Calc = s.values(x)
		if !arises && !anyway && t.idle(r, w) != "" {
			return math.Inf(-1)
		}
		if !limited {
			limit, _, ok = w.limit(r, &t.Limit)
		}
		if u := t.utilisation(w.Calc, limit); ok && w.knows(t) && !math.IsNaN(u) {
			return u
		}
		found.undefined = true
		return math.Inf(-1)
	}
	best, top := s.climb(s.middle())
	if slices.Contains(s.ends, true) && (found.undefined || anyway && s.idleAt(r, t, best)) {
		*found, anyway = worstCase{value: math.NaN(), spent: found.spent}, false
		clear(s.ends)
		best, top = s.climb(s.middle())
	}
	if found.spent || math.IsInf(top, -1) {
		return *found
	}
	found.decide(s, best, top)
	w.Calc = s.values(best)
	found.view, found.search, found.best = w, s, best
	return *found
}

// idleAt reports whether the question of a test does not arise at a place.
func (s *search) idleAt(r *Rule, t *Test, x []float64) bool {
	s.view.Calc = s.values(x)
	return t.idle(r, &s.view) != ""
}

// worstAtEnds notes for which inputs a test with a limit that is everywhere the same is
// known to come out worst at an end, whatever the others are, and reports whether it is for
// all.
func (v *View) worstAtEnds(s *search, t *Test, limit float64) bool {
	for i, x := range s.courses {
		s.ends[i] = x != nil && t.kind() != unit.Temperature && t.peaks(v.Calc, x, limit)
	}
	return !slices.Contains(s.ends, false)
}

// peaks reports whether a test uses most of its limit at an end of a leaf's range.
func (t *Test) peaks(c *mechanics.Calc, x *mechanics.Courses, limit float64) bool {
	value, against := x.Of(t.Value), mechanics.Still
	if t.Against != nil {
		against = x.Of(t.Against)
	}
	switch {
	case t.Limit.Sense == AtMost:
		return value.PeaksAtEnd() && against == mechanics.Still
	case limit < 0:
		return false
	case value == mechanics.Still:
		return against.PeaksAtEnd()
	}
	return value.LeastAtEnd() && against == mechanics.Still && (t.Against == nil || c.V(t.Against) >= 0)
}

// idle is why the question of a test or its rule does not arise, "" where it does.
func (t *Test) idle(r *Rule, v *View) string {
	if t.Applies != nil {
		if why := t.Applies(v); why != "" {
			return why
		}
	}
	if r.Applies != nil {
		return r.Applies(v)
	}
	return ""
}

// constant asks something of a view, and reports whether the answer is the same wherever a
// search looks: nothing it read can change there. That is watched, not declared.
func (v *View) constant(s *search, ask func()) bool {
	before := v.Calc.Watched()
	var read mechanics.Set
	v.Calc.Watch(mechanics.Watch{Set: &read, Far: before.Far})
	ask()
	v.Calc.Watch(before)
	if before.Set != nil {
		before.Set.Join(&read)
	}
	return !read.Meets(&s.reach)
}

// settle computes in the view of the worst case what the test does not look at too.
func (c *worstCase) settle() {
	if c.search != nil {
		c.view.Calc = c.search.settle(c.best)
	}
}

// decide finds the input whose return to its middle value relieves the test most.
func (c *worstCase) decide(s *search, best []float64, top float64) {
	relief := 0.0
	x, middle := slices.Clone(best), s.middle()
	for i := range s.at {
		x[i] = middle[i]
		if d := top - s.f(x); d > relief {
			relief, c.input, c.value = d, s.at[i], best[i]
		}
		x[i] = best[i]
	}
}

// settle computes everything at the place a search has come to.
func (s *search) settle(best []float64) *mechanics.Calc {
	if s.shared != nil {
		s.plan.Add(mechanics.All(), s.leaves...)
	}
	c := s.values(best)
	if c == s.own {
		c.Run()
	}
	return c
}

// decides words which input's spread makes the case the worst; empty where none does.
func (c *worstCase) decides(v *View) string {
	s := c.input
	if s.leaf == nil {
		return ""
	}
	name := s.leaf.Title
	if f := FieldOfLeaf[s.leaf.ID()]; f != nil {
		name = Readable(f.Name)
		if s.move >= 0 {
			name += " of move " + v.Axis.Moves[s.move].Name
		}
	}
	return fmt.Sprintf("worst within tolerances, decided by %s %s", name, unit.FormatExact(c.value, s.leaf.Kind, v.Units()))
}

// arises reports whether the question of a test that does not arise at the
// middle values may arise somewhere within the tolerances.
func (v *View) arises(b *Scratch, r *Rule, t *Test) bool {
	if t.Nominal || !v.spreadsOver(b, t) {
		return false
	}
	for _, q := range t.all {
		if len(v.Calc.Gaps(q)) > 0 {
			return false // what is missing cannot be searched
		}
	}
	defer b.giveBack(b.taken)
	w := v.worst(b, r, t)
	return w.view != nil || w.spent
}

// climb looks within the tolerances for the point at which f is largest. It begins at
// start and ends early where f gives no number.
//
// Most quantities are monotone in each input, so corners of the tolerance box come first;
// some are not (the mean load of a counterbalanced lifting axis has its least in between,
// its use of life has not), so each input is also tried along its width from the best
// point so far, until nothing gets better.
func climb(at []toleranceRange, start []float64, f func([]float64) float64) (best []float64, top float64) {
	return (&climber{at: at, f: f}).climb(start)
}

// A climber climbs f.
type climber struct {
	at      []toleranceRange
	f       func([]float64) float64
	fine    bool      // the place about to be looked at is one of a narrowing, where hardly another test looks
	x, best []float64 // about to be tried; where f was largest
	top     float64
	ends    []bool      // of which inputs f is greatest at an end, wherever the others are; nil: of none
	stopped bool        // f gave no number
	tried   [][]float64 // the point from which each input was tried last; none: it was not
}

func (c *climber) climb(start []float64) (best []float64, top float64) {
	c.x, c.best = append(c.x[:0], start...), append(c.best[:0], start...)
	c.fine, c.top = false, c.f(start)
	c.stopped = c.top != c.top
	c.corners()
	if len(c.at) <= maxCorners && !slices.Contains(c.ends, false) && len(c.ends) > 0 {
		return c.best, c.top
	}
	c.tried = slices.Grow(c.tried[:0], len(c.at))[:len(c.at)]
	for i := range c.tried {
		c.tried[i] = c.tried[i][:0]
	}
	for range 4 {
		before := c.top
		for i := range c.at {
			if c.stopped {
				return c.best, c.top
			}
			if i < len(c.ends) && c.ends[i] {
				c.bothEnds(i)
				continue
			}
			if len(c.tried[i]) == 0 || !sameBut(c.tried[i], c.best, i) {
				c.along(i)
				c.tried[i] = append(c.tried[i][:0], c.best...)
			}
		}
		if !above(c.top, before) {
			break
		}
	}
	return c.best, c.top
}

// above reports whether f is larger by more than rounding.
func above(u, than float64) bool { return u > than && !(u-than < 1e-12*math.Abs(u)) }

// try asks for f at x.
func (c *climber) try() float64 {
	if c.stopped {
		return math.NaN()
	}
	u := c.f(c.x)
	if u > c.top {
		c.top = u
		copy(c.best, c.x)
	}
	c.stopped = u != u
	return u
}

// corners tries all of them for a few inputs; of many both ends and some scattered ones,
// always the same.
func (c *climber) corners() {
	n, scattered := 1<<min(len(c.at), maxCorners), len(c.at) > maxCorners
	bits := uint64(0)
	for k := range n {
		if !scattered {
			bits = uint64(k)
		} else if k > 1 {
			bits = bits*6364136223846793005 + 1442695040888963407
		}
		for i, s := range c.at {
			up := bits>>i&1 == 1
			if scattered {
				up = k == 1 || k > 1 && bits>>(63-i*7%64)&1 == 1
			}
			c.x[i] = s.low
			if up {
				c.x[i] = s.high
			}
		}
		c.try()
	}
}

// nearEnd are the parts of the distance between samples at which fromEnd looks.
var nearEnd = [...]float64{2, 32, 1024}

// along tries one input over its width, from the best point so far.
func (c *climber) along(i int) {
	s := c.at[i]
	var u [samples + 1]float64
	copy(c.x, c.best)
	for k := range u {
		c.x[i] = s.low + (s.high-s.low)*float64(k)/samples
		u[k] = c.try()
	}
	switch step := (s.high - s.low) / samples; {
	case c.best[i] <= s.low || c.best[i] >= s.high:
		c.fromEnd(i, step)
	default:
		// Among samples that are all alike there is nothing to narrow down on.
		k := (c.best[i] - s.low) / step
		before, behind := u[max(0, int(math.Ceil(k))-1)], u[min(samples, int(k)+1)]
		if above(c.top, before) || above(c.top, behind) {
			c.narrow(i, step)
		}
	}
}

// bothEnds tries one input at its ends, from the best point so far.
func (c *climber) bothEnds(i int) {
	copy(c.x, c.best)
	for _, x := range [...]float64{c.at[i].low, c.at[i].high} {
		c.x[i] = x
		c.try()
	}
}

// fromEnd narrows down from an end that is the best of the samples if f still goes up
// towards the next one: close by, or half-way there.
func (c *climber) fromEnd(i int, step float64) {
	s, end, was := c.at[i], c.best[i], c.top
	for _, part := range nearEnd {
		c.x[i] = end + math.Copysign(step/part, (s.low+s.high)/2-end)
		c.try()
	}
	if above(c.top, was) {
		c.narrow(i, step)
	}
}

// narrow closes in on a best point between two samples.
func (c *climber) narrow(i int, step float64) {
	s, was, fine := c.at[i], c.top, c.fine
	c.fine = true
	for range 30 {
		step /= 2
		mid := c.best[i]
		for _, y := range [...]float64{mid - step, mid + step} {
			if y >= s.low && y <= s.high {
				c.x[i] = y
				c.try()
			}
		}
	}
	c.fine = fine || c.top > was
}

// sameBut reports whether two points are the same but for one input.
func sameBut(a, b []float64, but int) bool {
	for i := range a {
		if i != but && a[i] != b[i] {
			return false
		}
	}
	return true
}

const (
	maxCorners = 8
	samples    = 16
)

// FullBudget bounds the work spent on tolerances and on fixes of one axis,
// counted in phases evaluated: far more than any honest axis takes, and less
// than a second.
const FullBudget = 6_000_000

// fileBudget is what the axes of one file share, where that is less for each:
// enough for a thousand with a few tolerances.
const fileBudget = 50_000_000

// BudgetOf is what may be spent on an axis.
func (b *Scratch) BudgetOf(a *spec.Axis) int {
	n := min(FullBudget, fileBudget/max(1, a.InFile))
	if b.Most > 0 {
		n = min(n, b.Most)
	}
	return n
}

// wholeRun is what the quantities that are no phase's count in an evaluation of
// all of them.
const wholeRun = 40

// Phases is what one evaluation of a cycle counts.
func Phases(moves int) int { return max(4, moves) * mechanics.PhasesPerMove }

// affords reports whether what is left of the budget can be enough for a search
// over n inputs with evaluations of so many phases. If not the search is not
// begun, so that others still are.
func (b *Scratch) affords(n, phases int) bool {
	enough := n*(samples+1+len(nearEnd))*phases < b.Left
	b.short = b.short || !enough
	return enough
}

// spend takes one evaluation from the budget; false when it is used up.
func (b *Scratch) spend(phases int) bool {
	b.Left -= phases
	b.short = b.short || b.Left <= 0
	return b.Left > 0
}

func (s toleranceRange) get(c *mechanics.Calc) float64 {
	if s.move < 0 {
		return c.V(s.leaf)
	}
	return c.Series(s.leaf)[s.move]
}

func (s toleranceRange) set(c *mechanics.Calc, x float64) {
	if s.move < 0 {
		c.Set(s.leaf, x)
		return
	}
	c.SetMove(s.leaf, s.move, x)
}
