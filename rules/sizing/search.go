package sizing

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"math/bits"
	"math/rand/v2"
	"runtime"
	"slices"
	"sort"
	"sync"
	"sync/atomic"

	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// How the search goes.
//
// The choices are nested: screw, preload, ends, grade, motor, coupling. A rule
// is evaluated as early as everything it looks at is chosen; a combination that
// breaks one there is not followed further. What a rule looks at is noted while
// it is evaluated, not declared by hand: a rule that was seen to look at screw and
// motor only gives the same answer for all grades, so it is evaluated once for each
// screw and motor. If a rule is ever seen to look at more than was known of it,
// the search begins again with what is known now. So the result is that of
// asking every rule of every combination, as a test holds against doing just
// that.

type sizer struct {
	o       Options
	judge   *judge.Judge
	base    *judge.View
	out     *Result
	choices [choices]choice

	asked         []sizingRule
	levels        [choices]level
	all           []*mechanics.Quantity // that any rule looks at
	noDrag        bool                  // the declared drag torque of the nut is left out
	supplied      spec.FieldSet         // fields that some option of some choice gives
	declaredMotor int                   // where in the order of size the declared motor stands
	most          int64                 // work that is done
	work          atomic.Int64          // done so far
}

// sizingRule is one rule to ask, built in or of the house.
type sizingRule struct {
	name   string
	rule   *judge.Rule
	house  *judge.HouseRule
	fields spec.FieldSet // it was seen to look at
	looked mechanics.Set
	level  int // the last choice it depends on; -1 for none
}

// asks reports whether the rule is one to ask of an axis, and not of a part.
func (a *sizingRule) asks() bool { return a.rule != nil || a.house != nil }

// level is what is evaluated once one choice more is made.
type level struct {
	groups []group
	plans  [choices][]*mechanics.Quantity // to compute when the choices from one on have changed
}

// group is those rules of a level whose answers hang on the same choices.
type group struct {
	on      uint           // those choices, a bit each
	rules   []int          // of sizer.asked
	classes [choices][]int // of each earlier choice's options: which look the same to these rules
	sizes   [choices]int   // how many classes there are
}

// ruleSet is a set of rules by their index.
type ruleSet [4]uint64

func (s *ruleSet) add(i int) { s[i>>6] |= 1 << (i & 63) }

func (s *ruleSet) empty() bool { return *s == ruleSet{} }

func (s ruleSet) or(o ruleSet) ruleSet {
	for i := range s {
		s[i] |= o[i]
	}
	return s
}

func (s *ruleSet) has(i int) bool { return s[i>>6]&(1<<(i&63)) != 0 }

// outcome is how the rules of one level come out.
type outcome struct {
	known         bool
	fails, cannot ruleSet // broken; not to be judged, as a part lacks a line
	use           float64 // the largest use of a limit
	useOf         int16
	over          float64 // how far the broken limits are exceeded, together
	broken        int
}

func (v *outcome) holds() bool { return v.broken == 0 }

func (v *outcome) join(o *outcome) outcome {
	out := *v
	out.fails, out.cannot = v.fails.or(o.fails), v.cannot.or(o.cannot)
	if o.use > v.use {
		out.use, out.useOf = o.use, o.useOf
	}
	out.over += o.over
	out.broken += o.broken
	return out
}

// rules lists what is to be asked, and sets apart what no choice changes.
func (s *sizer) rules(rep *judge.Report) {
	waived := map[string]bool{}
	for i := range rep.Findings {
		if f := &rep.Findings[i]; f.Waiver != nil {
			waived[f.Rule] = true
		}
	}
	for i, r := range s.judge.Book.All() {
		if r.OfAxes() && !r.Mirror && s.base.InForce.Settings[i].Severity >= s.o.Level {
			s.enter(sizingRule{name: r.Name, rule: r, level: -1}, waived)
		}
	}
	for _, h := range s.base.InForce.House {
		if h.Severity >= s.o.Level {
			s.enter(sizingRule{name: h.Rule.Name, house: h, level: -1}, waived)
		}
	}
	s.out.Spread = len(judge.Load(judge.NewScratch().Calc, s.base.Axis, judge.CarriedMass(s.base.Carried), nil)) > 0
	for i := range s.choices {
		for k, f := range s.choices[i].fields {
			for _, o := range s.choices[i].options {
				if v := o.values[k]; v != nil && !v.Bad {
					s.supplied.Add(f)
					s.out.Spread = s.out.Spread || v.Num.Low < v.Num.High || v.Ends[0].Low < v.Ends[0].High || v.Ends[1].Low < v.Ends[1].High
				}
			}
		}
	}
}

func (s *sizer) enter(a sizingRule, waived map[string]bool) {
	if waived[a.name] {
		s.out.Waived = append(s.out.Waived, a.name)
		return
	}
	s.asked = append(s.asked, a)
}

// search finds what holds, once something is known of what the rules look at.
func (s *sizer) search(ctx context.Context) error {
	var list []screwFound
	for {
		s.planLevels()
		var grown bool
		if list, grown = s.pass(ctx, false); s.ended(ctx) != nil {
			return s.ended(ctx)
		}
		if !grown {
			break
		}
	}
	s.collect(ctx, list)
	if err := s.ended(ctx); err != nil {
		return err
	}
	for s.out.Holding == 0 {
		near, grown := s.pass(ctx, true)
		if err := s.ended(ctx); err != nil {
			return err
		}
		if !grown {
			s.misses(near)
			break
		}
		s.planLevels()
	}
	s.whole()
	return nil
}

// mostWork bounds what one search is worth, in phases of cycles evaluated: a
// few seconds.
const mostWork = 50_000_000

// combinationWork is the work of following one combination whose rules need not
// be asked again.
const combinationWork = 2

// unjudgedWork is what it counts to find out why a rule cannot be judged.
const unjudgedWork = 100

// spend counts work, not each bit of it at once: workers would wait for one
// another.
func (w *sizeWorker) spend(work int) {
	if w.work += work; w.work > 10_000 {
		w.s.work.Add(int64(w.work))
		w.work = 0
	}
}

func (s *sizer) tooMuch() bool { return s.work.Load() > s.most }

// ended says why a search has come to its end before its time.
func (s *sizer) ended(ctx context.Context) error {
	if s.tooMuch() {
		return errors.New("this search needs more work than the limit (combinations, moves, tolerances, house rules); keep some choices with --keep")
	}
	return ctx.Err()
}

// discover asks every rule of some combinations, to see what it looks at. One
// would do: what a rule looks at first does not depend on the combination, and
// the rest is learned in the search; but each time that begins again.
func (s *sizer) discover() {
	w := s.worker()
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		var at [choices]int
		for i := range s.choices {
			at[i] = r.IntN(len(s.choices[i].options))
		}
		w.try(at)
	}
	w.learn()
}

// try asks every rule of one combination.
func (w *sizeWorker) try(at [choices]int) {
	w.put(at)
	for i := range w.s.asked {
		if w.s.asked[i].asks() {
			w.ask(i)
		}
	}
}

// learn takes over what a worker saw.
func (w *sizeWorker) learn() {
	for i := range w.looked {
		a := &w.s.asked[i]
		for k := range a.fields {
			a.fields[k] |= w.fields[i][k]
		}
		a.looked.Join(&w.looked[i])
	}
}

// planLevels works out, from what each rule was seen to look at, when to ask it.
func (s *sizer) planLevels() {
	var all mechanics.Set
	s.levels = [choices]level{}
	for i := range s.asked {
		a := &s.asked[i]
		if on := s.hangsOn(a); on > 0 {
			a.level = bits.Len(on) - 1
			g := s.levels[a.level].group(on)
			g.rules = append(g.rules, i)
		}
		all.Join(&a.looked)
	}
	s.all = append(all.List(), mechanics.ShaftInertia) // it is ranked by
	for l := range s.levels {
		lv := &s.levels[l]
		for k := range lv.groups {
			s.classify(&lv.groups[k], l)
		}
		for first := 0; first <= l; first++ {
			var changed []*mechanics.Quantity
			for c := first; c <= l; c++ {
				for _, q := range s.choices[c].leaves {
					if q != nil {
						changed = append(changed, q)
					}
				}
			}
			lv.plans[first] = mechanics.Plan(s.all, changed...)
		}
	}
}

// group is the level's group of rules that hang on some choices.
func (lv *level) group(on uint) *group {
	k := slices.IndexFunc(lv.groups, func(g group) bool { return g.on == on })
	if k < 0 {
		k = len(lv.groups)
		lv.groups = append(lv.groups, group{on: on})
	}
	return &lv.groups[k]
}

// hangsOn gives the choices with which what a rule looks at can change, a bit each.
func (s *sizer) hangsOn(a *sizingRule) (on uint) {
	looked := a.looked.List()
	for k := range s.choices {
		if s.touches(a, looked, k) {
			on |= 1 << k
		}
	}
	return on
}

// classify works out which options look the same to a group of rules of a level.
func (s *sizer) classify(g *group, l int) {
	var looked mechanics.Set
	var fields spec.FieldSet
	for _, i := range g.rules {
		looked.Join(&s.asked[i].looked)
		for k := range fields {
			fields[k] |= s.asked[i].fields[k]
		}
	}
	list := looked.List()
	for c := 1; c <= l; c++ {
		g.classes[c], g.sizes[c] = s.classes(c, list, &fields)
	}
}

// touches reports whether what a rule looks at can change with a choice.
func (s *sizer) touches(a *sizingRule, looked []*mechanics.Quantity, c int) bool {
	for k, f := range s.choices[c].fields {
		if a.fields.Has(f) {
			return true
		}
		if q := s.choices[c].leaves[k]; q != nil && mechanics.AnyDepends(looked, q) {
			return true
		}
	}
	return false
}

// classes numbers the options of a choice so that those that look the same to
// some rules have the same number.
func (s *sizer) classes(c int, looked []*mechanics.Quantity, fields *spec.FieldSet) ([]int, int) {
	ch := &s.choices[c]
	var matter []int
	for k, f := range ch.fields {
		if q := ch.leaves[k]; fields.Has(f) || q != nil && mechanics.AnyDepends(looked, q) {
			matter = append(matter, k)
		}
	}
	out := make([]int, len(ch.options))
	n := 0
	for i := range ch.options {
		out[i] = -1
		for k := range i {
			same := true
			for _, m := range matter {
				// The same value, or at least the same number.
				x, y := ch.options[i].values[m], ch.options[k].values[m]
				same = same && (x == y || !fields.Has(ch.fields[m]) && sameNumber(x, y)) && c != ChoosePreload
			}
			if same {
				out[i] = out[k]
				break
			}
		}
		if out[i] < 0 {
			out[i] = n
			n++
		}
	}
	return out, n
}

func sameNumber(x, y *spec.Value) bool {
	if x == nil || y == nil || x.Bad || y.Bad {
		return (x == nil || x.Bad) && (y == nil || y.Bad)
	}
	return x.Num == y.Num && x.Word == y.Word && x.Ends == y.Ends
}

// sizeWorker is the working memory of one goroutine.
type sizeWorker struct {
	s      *sizer
	bench  *judge.Scratch
	view   judge.View
	axis   *spec.Axis
	now    [choices]int         // the options in place
	memo   [choices][][]outcome // by level and group
	seenF  spec.FieldSet
	seenQ  mechanics.Set
	fields []spec.FieldSet // seen by rule
	looked []mechanics.Set
	grown  bool
	work   int // done and not yet counted
}

func (s *sizer) worker() *sizeWorker {
	w := &sizeWorker{s: s, bench: judge.NewScratch(), axis: s.base.Axis.Copy(), view: *s.base,
		fields: make([]spec.FieldSet, len(s.asked)), looked: make([]mechanics.Set, len(s.asked))}
	w.view.Axis, w.view.Calc = w.axis, w.bench.Calc
	w.bench.Calc.CopyFrom(s.base.Calc)
	w.axis.Watch(&w.seenF)
	w.bench.Calc.Watch(mechanics.Watch{Set: &w.seenQ})
	for l := range s.levels {
		for _, g := range s.levels[l].groups {
			n := 1
			for c := 1; c <= l; c++ {
				n *= max(1, g.sizes[c])
			}
			w.memo[l] = append(w.memo[l], make([]outcome, n))
		}
	}
	return w
}

// place puts the option of one choice into the axis and its leaves.
func (w *sizeWorker) place(c, option int) {
	ch := &w.s.choices[c]
	o := &ch.options[option]
	for k, f := range ch.fields {
		v := o.values[k]
		if c == ChoosePreload { // maybe a share of the screw's rating; each screw begins with the declared one
			v = w.s.preloadOf(w.now[ChooseScrew], option)
		}
		w.axis.Put([]spec.Change{{Field: f, Value: v}})
		if q := ch.leaves[k]; q != nil {
			b := judge.Binding{Field: f, Leaf: q, Pair: f.Pair}
			w.bench.Calc.Set(q, b.Number(v).Nominal)
		}
	}
	w.now[c] = option
}

// put puts a whole combination in place.
func (w *sizeWorker) put(at [choices]int) {
	for c := range at {
		w.place(c, at[c])
	}
	w.bench.Calc.Run()
}

// reach brings the choices up to a level in line with what is wanted.
func (w *sizeWorker) reach(l int, at *[choices]int) {
	first := -1
	for c := 0; c <= l; c++ {
		if w.now[c] != at[c] {
			if first < 0 {
				first = c
			}
			w.place(c, at[c])
		}
	}
	if first >= 0 {
		w.bench.Calc.RunPlan(w.s.levels[l].plans[first])
	}
}

// ask asks one rule of what is in place.
func (w *sizeWorker) ask(i int) judge.Result {
	a := &w.s.asked[i]
	w.seenF, w.seenQ = spec.FieldSet{}, mechanics.Set{}
	var res judge.Result
	work := judge.Phases(w.view.Calc.Moves())
	w.bench.Left = judge.FullBudget
	if a.rule != nil {
		res = w.s.judge.Ask(w.bench, &w.view, a.rule, nil)
	} else {
		res = w.s.judge.AskHouse(w.bench, &w.view, a.house, nil)
		work += a.house.Terms / judge.TermsPerPhase
	}
	work += judge.FullBudget - w.bench.Left
	if res.State == judge.Unjudged {
		work += unjudgedWork
	}
	w.spend(work)
	for k := range w.seenF {
		w.fields[i][k] |= w.seenF[k]
		w.grown = w.grown || w.seenF[k]&^a.fields[k] != 0
	}
	if !w.seenQ.Within(&w.looked[i]) {
		w.looked[i].Join(&w.seenQ)
		w.grown = w.grown || !w.seenQ.Within(&a.looked)
	}
	return res
}

// judge asks the rules of a level of what is wanted; what looks the same to a group of
// them is evaluated once for each screw.
func (w *sizeWorker) judge(l int, at *[choices]int) outcome {
	v := outcome{known: true, use: math.Inf(-1), useOf: -1}
	for k := range w.s.levels[l].groups {
		o := w.group(l, k, at)
		tied := o.use == v.use && o.useOf < v.useOf // the first rule speaks, in whatever group it is
		v = v.join(o)
		if tied {
			v.useOf = o.useOf
		}
	}
	return v
}

// group asks one group of the rules of a level.
func (w *sizeWorker) group(l, k int, at *[choices]int) *outcome {
	g := &w.s.levels[l].groups[k]
	key := 0
	for c := 1; c <= l; c++ {
		key = key*g.sizes[c] + g.classes[c][at[c]]
	}
	v := &w.memo[l][k][key]
	if v.known {
		return v
	}
	*v = outcome{known: true, use: math.Inf(-1), useOf: -1}
	w.reach(l, at)
	for _, i := range g.rules {
		w.count(v, i, w.ask(i))
	}
	return v
}

// count adds how a rule came out to a standing.
func (w *sizeWorker) count(v *outcome, i int, res judge.Result) {
	switch {
	case res.State == judge.Failed && res.Level >= w.s.o.Level:
		v.fails.add(i)
		v.broken++
		over := 1.0
		if res.Utilisation == res.Utilisation {
			over = math.Min(math.Max(res.Utilisation-1, 0), 1000)
		}
		v.over += over
	case res.State == judge.Unjudged && w.s.byParts(&res):
		v.cannot.add(i)
		v.broken++
		v.over++
	}
	if !res.Fit && res.Utilisation > v.use {
		v.use, v.useOf = res.Utilisation, int16(i)
	}
}

// byParts reports whether a rule could not be judged because a part lacks what
// another one has, or is not defined for the parts: the combination is then
// rejected. What no part available has, or no part could have, is said once. What
// passes for some of what is assumed only, other parts may make pass for all of it.
func (s *sizer) byParts(res *judge.Result) bool {
	if res.Assumed {
		return true
	}
	for _, m := range res.Missing {
		if m.Field != nil && s.supplied.Has(m.Field) {
			return true
		}
	}
	return len(res.Missing) == 0
}

// screwFound is what was found for one screw.
type screwFound struct {
	rejected map[rejectedKey]*Rejected
	holding  int
	best     []candidate // best first; where values have tolerances, some more that may stand in for it
	least    *candidate
	front    []candidate
	near     *candidate // the nearest miss
	declared bool
}

type rejectedKey struct{ rule, choice int }

type candidate struct {
	at   [choices]int
	rank ranking
	v    outcome
}

// ranking orders what holds: smaller is better.
type ranking struct {
	noCost, cost, diameter, inertia float64
	coarse, fixed, motor            int
	use                             float64
	different                       int
}

func (a *ranking) compare(b *ranking) int {
	return cmp.Or(cmp.Compare(a.noCost, b.noCost), cmp.Compare(a.cost, b.cost), cmp.Compare(a.diameter, b.diameter), cmp.Compare(a.inertia, b.inertia),
		cmp.Compare(a.coarse, b.coarse), cmp.Compare(a.fixed, b.fixed), cmp.Compare(a.motor, b.motor), cmp.Compare(a.use, b.use), cmp.Compare(a.different, b.different))
}

func (a *candidate) compare(b *candidate) int {
	if c := a.rank.compare(&b.rank); c != 0 {
		return c
	}
	return slices.Compare(a.at[:], b.at[:])
}

func (a *candidate) least(b *candidate) int {
	return cmp.Or(cmp.Compare(a.rank.different, b.rank.different), a.compare(b))
}

func (a *candidate) nearer(b *candidate) int {
	return cmp.Or(cmp.Compare(a.v.broken, b.v.broken), cmp.Compare(a.v.over, b.v.over), a.compare(b))
}

// kept is a copy to keep: few of the many are.
func (a *candidate) kept() *candidate {
	c := *a
	return &c
}

// x is what a candidate costs or how large it is, for weighing against margin.
func (a *candidate) x() float64 {
	if a.rank.noCost == 0 {
		return a.rank.cost
	}
	return a.rank.diameter
}

// pass searches all screws. With near, it looks for the combinations that break
// least instead.
func (s *sizer) pass(ctx context.Context, near bool) ([]screwFound, bool) {
	workers := s.o.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	n := len(s.choices[ChooseScrew].options)
	out := make([]screwFound, n)
	next := make(chan int)
	var wg sync.WaitGroup
	var done atomic.Int64
	s.work.Store(0)
	team := make([]*sizeWorker, min(workers, n))
	for k := range team {
		w := s.worker()
		team[k] = w
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				if ctx.Err() == nil && !w.grown && !s.tooMuch() {
					w.screw(i, &out[i], near)
				}
				if done := done.Add(1); s.o.Progress != nil {
					s.o.Progress(int(done), n)
				}
			}
		}()
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	// What a rule is known to look at is read by all while they work.
	grown := false
	for _, w := range team {
		grown = grown || w.grown
		w.learn()
	}
	return out, grown
}

// screw follows the combinations of one screw.
func (w *sizeWorker) screw(i int, f *screwFound, near bool) {
	for _, groups := range w.memo {
		for _, known := range groups {
			clear(known)
		}
	}
	at := [choices]int{ChooseScrew: i}
	f.rejected = map[rejectedKey]*Rejected{}
	w.reach(0, &at)
	base := w.rankOf()
	w.follow(0, &at, outcome{use: math.Inf(-1), useOf: -1}, &base, f, near)
}

// rankOf is what a screw brings into the ranking of its combinations.
func (w *sizeWorker) rankOf() ranking {
	have := func(q *mechanics.Quantity) float64 {
		if x := w.bench.Calc.V(q); x == x {
			return x
		}
		return math.Inf(1)
	}
	return ranking{diameter: have(mechanics.NominalDiameter), inertia: have(mechanics.ShaftInertia)}
}

// follow judges the choice of level l, already made in at, and goes on to the
// next.
func (w *sizeWorker) follow(l int, at *[choices]int, above outcome, base *ranking, f *screwFound, near bool) {
	if w.spend(combinationWork); w.s.tooMuch() {
		return
	}
	here := w.judge(l, at)
	v := above.join(&here)
	if o := &w.s.choices[l].options[at[l]]; !o.faults.empty() {
		v.fails = v.fails.or(o.faults)
		v.broken++
		v.over++
	}
	if !v.holds() {
		switch {
		case !near:
			below := 1
			for c := l + 1; c < choices; c++ {
				below *= len(w.s.choices[c].options)
			}
			w.throw(f, l, &v, below)
			return
		case f.near != nil && (v.broken > f.near.v.broken || v.broken == f.near.v.broken && v.over > f.near.v.over):
			return // what comes can only add to it
		}
	}
	if l+1 < choices {
		for k := range w.s.choices[l+1].options {
			at[l+1] = k
			w.follow(l+1, at, v, base, f, near)
		}
		return
	}
	c := candidate{at: *at, v: v, rank: *base}
	w.s.complete(&c)
	if near {
		if f.near == nil || c.nearer(f.near) < 0 {
			f.near = c.kept()
		}
		return
	}
	f.holding++
	f.declared = f.declared || c.rank.different == 0
	f.best = w.s.among(f.best, &c)
	if f.least == nil || c.least(f.least) < 0 {
		f.least = c.kept()
	}
	f.front = onFront(f.front, c)
}

// among puts a candidate among the best ones, of which only so many are kept.
func (s *sizer) among(best []candidate, c *candidate) []candidate {
	most := 1
	if s.out.Spread {
		most = mostStandIns
	}
	if len(best) == most && best[most-1].compare(c) <= 0 {
		return best
	}
	i, _ := slices.BinarySearchFunc(best, c, func(a candidate, b *candidate) int { return a.compare(b) })
	if len(best) == most {
		best = best[:most-1]
	}
	return slices.Insert(best, i, *c)
}

// mostStandIns is how many combinations of a screw are judged with tolerances
// until one holds.
const mostStandIns = 40

// onFront adds a candidate to those of which none is both cheaper (smaller) and
// wider in margin than another.
func onFront(front []candidate, c candidate) []candidate {
	for i := range front {
		o := &front[i]
		if o.x() <= c.x() && o.v.use <= c.v.use {
			if o.x() == c.x() && o.v.use == c.v.use && c.compare(o) < 0 {
				*o = c
			}
			return front
		}
	}
	front = slices.DeleteFunc(front, func(o candidate) bool { return c.x() <= o.x() && c.v.use <= o.v.use })
	return append(front, c)
}

// complete fills in the ranking of a whole combination.
func (s *sizer) complete(c *candidate) {
	r := &c.rank
	sum := 0.0
	for i := range s.choices {
		if i == ChoosePreload || i == ChooseGrade {
			continue
		}
		sum += s.choices[i].options[c.at[i]].cost
	}
	if sum != sum {
		r.noCost, r.cost = 1, 0
	} else {
		r.noCost, r.cost = 0, sum
	}
	grade, ends := &s.choices[ChooseGrade], &s.choices[ChooseEnds]
	r.coarse = -grade.options[c.at[ChooseGrade]].coarse
	r.fixed = ends.options[c.at[ChooseEnds]].fixed
	r.motor = 2 * c.at[ChooseMotor] // they stand in order of size, but for the declared one
	if r.motor == 0 {
		r.motor = 2*s.declaredMotor - 1
	}
	r.use = c.v.use
	r.different = 0
	for i := range c.at {
		if c.at[i] != 0 {
			r.different++
		}
	}
}

// throw counts combinations for every rule they break.
func (w *sizeWorker) throw(f *screwFound, l int, v *outcome, n int) {
	for i := range w.s.asked {
		fails, cannot := v.fails.has(i), v.cannot.has(i)
		if !fails && !cannot {
			continue
		}
		key := rejectedKey{i, l}
		t := f.rejected[key]
		if t == nil {
			t = &Rejected{Rule: w.s.asked[i].name, Choice: ChoiceNames[l]}
			f.rejected[key] = t
		}
		t.Count += n
		if cannot {
			t.Unjudged += n
		}
	}
}

// collect gathers what was found for all screws.
func (s *sizer) collect(ctx context.Context, list []screwFound) {
	s.work.Store(0)
	rejected := map[rejectedKey]*Rejected{}
	var best, least, front []candidate
	for i := range list {
		f := &list[i]
		s.out.Holding += f.holding
		s.out.Declared = s.out.Declared || f.declared
		for k, t := range f.rejected {
			if have := rejected[k]; have != nil {
				have.Count += t.Count
				have.Unjudged += t.Unjudged
			} else {
				rejected[k] = t
			}
		}
		if len(f.best) == 0 {
			continue
		}
		s.out.Screws++
		best = append(best, f.best...)
		least = append(least, *f.least)
		for _, c := range f.front {
			front = onFront(front, c)
		}
	}
	keys := make([]rejectedKey, 0, len(rejected))
	for k := range rejected {
		keys = append(keys, k)
	}
	sort.Slice(keys, func(i, k int) bool {
		a, b := keys[i], keys[k]
		return cmp.Or(cmp.Compare(a.choice, b.choice), cmp.Compare(rejected[b].Count, rejected[a].Count), cmp.Compare(rejected[a].Rule, rejected[b].Rule)) < 0
	})
	for _, k := range keys {
		s.out.Rejected = append(s.out.Rejected, *rejected[k])
	}
	slices.SortFunc(best, func(a, b candidate) int { return a.compare(&b) })
	slices.SortFunc(least, func(a, b candidate) int { return a.least(&b) })
	slices.SortFunc(front, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(a.x(), b.x()), a.compare(&b))
	})
	if s.out.Spread && s.out.Declared {
		declared := s.answer(judge.NewScratch(), &candidate{v: outcome{useOf: -1}})
		s.out.Declared = declared.holds()
	}
	others := map[int]int{}
	for i := range list {
		others[i] = list[i].holding - 1
	}
	s.out.ByCost = len(best) > 0 && best[0].rank.noCost == 0
	b := answerBench()
	s.out.Answers = s.answers(ctx, b, best, s.o.Most, true)
	if s.out.Spread && len(s.out.Answers) == 0 {
		for i := range best[:min(len(best), s.o.Most)] {
			s.out.Misses = append(s.out.Misses, s.answer(b, &best[i]))
		}
	}
	for i := range s.out.Answers {
		s.out.Answers[i].Others = others[s.out.Answers[i].at[ChooseScrew]]
	}
	few := 0
	for few < len(least) && least[few].rank.different == least[0].rank.different {
		few++
	}
	s.out.Least = s.answers(ctx, b, least[:few], 3, false)
	s.out.Front = s.answers(ctx, b, front, mostFront, false)
}

// mostFront is how many combinations are weighed against each other at most.
const mostFront = 60

// answerBench is a bench for judging answers, of which there are several: each
// may take a part of what an axis may.
func answerBench() *judge.Scratch {
	b := judge.NewScratch()
	b.Most = judge.FullBudget / 6
	return b
}

// answers words candidates until there are enough, one for each screw if that
// is wanted. Where values have tolerances, each is judged with them first and
// left out if it does not hold.
func (s *sizer) answers(ctx context.Context, b *judge.Scratch, list []candidate, most int, once bool) []Answer {
	var out []Answer
	done := map[int]bool{}
	for i := range list {
		screw := list[i].at[ChooseScrew]
		if len(out) == most || s.ended(ctx) != nil {
			break
		}
		if once && done[screw] {
			continue
		}
		a := s.answer(b, &list[i])
		if s.out.Spread && !a.holds() {
			continue
		}
		done[screw] = true
		out = append(out, a)
	}
	return out
}

// holds reports whether nothing throws an answer out, judged whole.
func (a *Answer) holds() bool { return len(a.Findings) == 0 && len(a.Unjudged) == 0 }

// answer words a candidate, with the findings that the whole engine has for it.
func (s *sizer) answer(b *judge.Scratch, c *candidate) Answer {
	a := Answer{Cost: c.rank.cost, Diameter: c.rank.diameter, Inertia: c.rank.inertia, Utilisation: c.v.use, at: c.at, Changes: s.changes(c.at)}
	if c.rank.noCost != 0 {
		a.Cost = math.NaN()
	}
	if c.v.useOf >= 0 {
		a.UtilisationOf = s.asked[c.v.useOf].name
	}
	a.Picks, a.different = s.picks(c.at)
	x := s.base.Axis.Copy()
	x.Put(a.Changes)
	rep := s.judge.JudgeCarrier(b, x, s.base.Carried, true)
	s.work.Add(int64(b.BudgetOf(x) - b.Left))
	for i := range rep.Findings {
		f := &rep.Findings[i]
		if f.Severity >= s.o.Level && s.asks(f.Rule) {
			a.Findings = append(a.Findings, *f)
		}
	}
	a.gaps = s.gapsOf(rep)
	for i := range s.choices {
		a.Findings = append(a.Findings, s.choices[i].options[c.at[i]].against...)
	}
	// What parts lack; and, where values have tolerances, what could not be judged
	// over all of them.
	for i := range rep.Results {
		if res := &rep.Results[i]; res.State == judge.Unjudged && s.asks(res.Rule) && s.byParts(res) {
			a.Unjudged = append(a.Unjudged, *res)
		}
	}
	return a
}

// asks reports whether a rule depends on what is chosen.
func (s *sizer) asks(rule string) bool {
	for i := range s.asked {
		if s.asked[i].name == rule {
			return s.asked[i].level >= 0
		}
	}
	return false
}

// misses words the nearest misses.
func (s *sizer) misses(list []screwFound) {
	var near []candidate
	for i := range list {
		if list[i].near != nil {
			near = append(near, *list[i].near)
		}
	}
	slices.SortFunc(near, func(a, b candidate) int { return a.nearer(&b) })
	b := answerBench()
	for i := range near[:min(len(near), s.o.Most)] {
		s.out.Misses = append(s.out.Misses, s.answer(b, &near[i]))
	}
}

// whole says what stands and what is open whatever is chosen. What is open is
// looked for in the answers, or the misses: what is declared may lack more.
func (s *sizer) whole() {
	rep := s.judge.JudgeCarrier(judge.NewScratch(), s.base.Axis, s.base.Carried, true)
	for i := range rep.Findings {
		if f := &rep.Findings[i]; f.Waiver == nil && f.Severity >= s.o.Level && !s.asks(f.Rule) && !f.OfText() {
			s.out.Standing = append(s.out.Standing, *f)
			s.out.Partly = s.out.Partly || f.Severity == judge.Error || s.judge.Book.ByName(f.Rule) == nil
		}
	}
	list := append(slices.Clone(s.out.Answers), s.out.Misses...)
	if len(list) == 0 {
		list = []Answer{s.answer(judge.NewScratch(), &candidate{v: outcome{useOf: -1}})}
	}
	rules := map[string]bool{}
	for i := range list {
		s.open(list[i].gaps, rules)
	}
	asked := 0
	for i := range s.asked {
		if s.asked[i].asks() {
			asked++
		}
	}
	s.out.Judged = asked - len(rules)
	for name := range rules {
		if r := s.judge.Book.ByName(name); r == nil || s.base.InForce.Settings[r.Index].Severity == judge.Error {
			s.out.Partly = true
		}
	}
}

// open adds gaps to what is open whatever is chosen, each once, and their rules
// to rules.
func (s *sizer) open(gaps []judge.MissingInput, rules map[string]bool) {
	for _, g := range gaps {
		i := slices.IndexFunc(s.out.Open, func(o judge.MissingInput) bool { return o.Missing == g.Missing && o.Why == g.Why })
		if i < 0 {
			i = len(s.out.Open)
			s.out.Open = append(s.out.Open, g)
			s.out.Open[i].Rules = nil
		}
		for _, r := range g.Rules {
			rules[r] = true
			if o := &s.out.Open[i]; !slices.Contains(o.Rules, r) {
				o.Rules = append(o.Rules, r)
			}
		}
	}
}

// gapsOf are a report's gaps that no part available would fill.
func (s *sizer) gapsOf(rep *judge.Report) (out []judge.MissingInput) {
	open := map[string]bool{}
	for i := range rep.Results {
		res := &rep.Results[i]
		if res.State == judge.Unjudged && !s.byParts(res) && slices.ContainsFunc(s.asked, func(a sizingRule) bool { return a.name == res.Rule && a.asks() }) {
			open[res.Rule] = true
		}
	}
	for _, g := range rep.MissingInputs {
		g.Rules = slices.DeleteFunc(slices.Clone(g.Rules), func(r string) bool { return !open[r] })
		if len(g.Rules) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// Shown writes an answer's choices in one line.
func (a *Answer) Shown() string {
	out := ""
	for i, p := range a.Picks {
		if i > 0 {
			out += ", "
		}
		out += fmt.Sprintf("%s %s", p.Choice, p.Words)
	}
	return out
}

// Margin of an answer: what is left of the limit most used, as text.
func (a *Answer) Margin() string {
	if math.IsInf(a.Utilisation, -1) {
		return "—"
	}
	return unit.Format(judge.Margin(a.Utilisation), unit.Percentage, unit.Metric)
}
