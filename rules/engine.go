package rules

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"sort"
	"strings"
	"time"

	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// State says how a rule came out for an axis.
type State uint8

const (
	Passed State = iota
	Failed
	Unjudged // something it needs is missing or unreadable
	Idle     // its question does not arise for this axis
	Silent   // a policy switched it off
)

// String gives the state's word in output.
func (s State) String() string {
	return [...]string{"passed", "failed", "not judged", "does not apply", "off"}[s]
}

// A Result is how one rule came out for one axis.
type Result struct {
	Rule    string
	State   State
	Use     float64 // how much of what is permitted is used, 1 is the limit; NaN where there is no such number
	Why     string  // why it does not apply or was not judged
	Missing []Missing
	unread  bool     // Why is that something could not be read
	assumed bool     // Why is that it passes for some of what is assumed only
	level   Severity // of its most serious finding
}

// Missing is one line that is not there.
type Missing struct {
	Words string     // what is missing: "supports.span"
	Place spec.Place // where it should stand
	field *spec.Field
}

// Path is the line's path in the language, whatever part it should stand in.
func (m Missing) Path() string { return m.field.Path }

// A Finding is one thing that does not hold.
type Finding struct {
	Rule        string
	Severity    Severity
	Machine     string
	Axis        string // "" for findings about files
	Place       spec.Place
	Message     string
	Enters      []Entry
	Fixes       []Fix // each by itself
	Related     []spec.Related
	Use         float64 // as in Result; NaN where there is none
	Waiver      *spec.Waiver
	WaiverPlace spec.Place // of the waiver
	Cause       string     // what in the axis it is about, for an identity that survives edits: a field's path or move
	test        *Test
	drafts      []Draft
}

// Told is the finding with what a reader is told, and no more: no fixes can be looked
// for any more.
func (f Finding) Told() Finding {
	f.test, f.drafts = nil, nil
	return f
}

// A Gap gathers the rules of one axis that wait for the same missing line.
type Gap struct {
	Machine, Axis string
	Missing       string // the line that is missing; "" where the reason is another
	Why           string // the other reason, or where the line need not be there why it is missed
	Place         spec.Place
	Rules         []string
}

// An Unlock is a short list of missing lines whose addition lets most of an
// axis's waiting rules be judged.
type Unlock struct {
	Machine, Axis string
	Place         spec.Place // of the axis
	Waiting       int        // rules that wait for missing lines
	Lines         []string
	Judged        int // of the waiting rules, with those lines
}

// A Report is everything found about one axis.
type Report struct {
	View     *View
	Results  []Result
	Findings []Finding
	Gaps     []Gap
	Unlock   *Unlock // nil where at most one line is missing
	judge    *Judge
}

// A Judge judges axes. It may be used by several goroutines at once; each
// needs its own Bench.
type Judge struct {
	book     *Rulebook
	policies policies
	today    time.Time
	fixes    bool
	units    *unit.System // nil: those each axis is written in
}

// Judge returns a Judge by the rules of the book. Waivers are held against the day
// today. Fixes are solved for only where fixes is set.
func (b *Rulebook) Judge(today time.Time, fixes bool) *Judge {
	today = time.Date(today.Year(), today.Month(), today.Day(), 0, 0, 0, 0, time.UTC) // a waiver holds through its last day
	return &Judge{book: b, policies: policies{book: b, seen: map[*spec.Folder]*inForce{}}, today: today, fixes: fixes}
}

// PolicyProblems lists what is wrong in a folder's own policies.
func (j *Judge) PolicyProblems(f *spec.Folder) []spec.Problem {
	if len(f.Policies) == 0 {
		return nil
	}
	return j.policies.of(f).problems
}

// InForce lists what is in force in a folder, rule by rule.
func (j *Judge) InForce(f *spec.Folder) []Setting { return j.policies.of(f).settings }

// A Bench holds the working memory of one goroutine.
type Bench struct {
	calc, trial, from *mechanics.Calc
	caseOf            *mechanics.Calc // for one case of what is assumed
	view              View            // of that case
	cases             [len(ends)]*mechanics.Calc
	casesOf           *spec.Axis // whose calc is in cases; nil: none is kept
	casesRun          [len(ends)]bool
	ranges            []Range // what is assumed of it, once ranged
	ranged            bool
	spreads           []spread
	left              int    // of the budget
	again             *Bench // for judging an axis as fixed; nil until there is one
	most              int    // the budget of an axis, where it is to be less; 0: no less
}

// NewBench returns working memory for one goroutine.
func NewBench() *Bench {
	return &Bench{calc: mechanics.NewCalc(), trial: mechanics.NewCalc(), from: mechanics.NewCalc(), caseOf: mechanics.NewCalc(),
		cases: [len(ends)]*mechanics.Calc{mechanics.NewCalc(), mechanics.NewCalc()}}
}

// Judge judges one axis. carried lists the axes it carries with their moved
// masses. The report's View uses the bench's memory: it is good until the next
// call.
func (j *Judge) Judge(b *Bench, a *spec.Axis, carried []carriedBy) *Report {
	return j.judgeCarrier(b, a, carried, true)
}

// judgeCarrier is Judge for an axis of which not all carried masses may be
// known; what depends on them is then not judged.
func (j *Judge) judgeCarrier(b *Bench, a *spec.Axis, carried []carriedBy, whole bool) *Report {
	b.left = b.budgetOf(a)
	rep := j.ask(b, a, carried, whole)
	sort.SliceStable(rep.Findings, func(i, k int) bool { return lessFinding(&rep.Findings[i], &rep.Findings[k]) })
	rep.gather()
	rep.unlock()
	if j.fixes {
		b.left = b.budgetOf(a)
		for i := range rep.Findings {
			j.solve(b, rep, &rep.Findings[i])
		}
	}
	return rep
}

// ask asks all rules of an axis.
func (j *Judge) ask(b *Bench, a *spec.Axis, carried []carriedBy, whole bool) *Report {
	v := &View{Axis: a, Calc: b.calc, carried: carried, whole: whole, force: j.policies.of(a.Folder), today: j.today}
	mass := massOf(carried)
	if !whole {
		mass = unknownMass
	}
	b.spreads = load(b.calc, a, mass, b.spreads[:0])
	b.casesOf, b.casesRun, b.ranged = a, [len(ends)]bool{}, false
	if j.units != nil {
		v.Sys, v.sysKnown, v.forced = *j.units, true, true
	}
	rep := &Report{View: v, judge: j, Results: make([]Result, len(j.book.all), len(j.book.all)+len(v.force.house))}
	for i, r := range j.book.all {
		res, unread := v.unread(func(w *View) Result { return j.rule(b, w, r, nil) })
		if !unread {
			res = j.rule(b, v, r, rep)
		}
		rep.Results[i] = res
	}
	for _, h := range v.force.house {
		res, unread := v.unread(func(w *View) Result { return j.house(b, w, h, nil) })
		if !unread {
			res = j.house(b, v, h, rep)
		}
		rep.Results = append(rep.Results, res)
	}
	j.waive(v, rep)
	return rep
}

var unknownMass = unit.Quantity{Nominal: math.NaN(), Low: math.NaN(), High: math.NaN()}

func massOf(carried []carriedBy) unit.Quantity {
	var m unit.Quantity
	for _, c := range carried {
		m.Nominal += c.mass.Nominal
		m.Low += c.mass.Low
		m.High += c.mass.High
	}
	return m
}

var carriesField = field("load.carries")

// rule asks one rule of an axis. Without a report it makes no findings: the
// result says how it comes out.
func (j *Judge) rule(b *Bench, v *View, r *Rule, rep *Report) Result {
	res := Result{Rule: r.Name, Use: math.NaN()}
	set := &v.force.settings[r.pos]
	if set.Severity == Off {
		res.State = Silent
		return res
	}
	if v.Axis.Broken {
		res.State, res.Why = Unjudged, "the axis has syntax errors"
		return res
	}
	idle := ""
	switch {
	case r.OfParts() && !r.OfAxes():
		idle = "it is asked of parts, not of axes"
	case r.Applies != nil:
		idle = r.Applies(v)
	}
	asked := idle == ""
	for i := range r.Tests {
		asked = asked || v.arises(b, r, &r.Tests[i]) || v.arisesAssumed(b, r, &r.Tests[i])
	}
	if !asked {
		res.State, res.Why = Idle, idle
		return res
	}
	lacking := false
	for _, f := range r.Facts {
		x := v.Axis.Get(f)
		if x == nil || x.Bad {
			lacking = true
			res.lack(v.Axis, f, -1)
		}
	}
	if lacking {
		res.State = Unjudged
		return res
	}
	idles := 0
	for i := range r.Tests {
		t := &r.Tests[i]
		why := idle
		if why == "" && t.Applies != nil {
			why = t.Applies(v)
		}
		within := v.arises(b, r, t)
		if why != "" && !within && v.arisesAssumed(b, r, t) {
			v.open(b, r, t, v.overRange(b, r, t), &res)
			continue
		}
		if why != "" && !within {
			idles++
			if res.Why == "" {
				res.Why = why
			}
			continue
		}
		j.test(b, v, r, t, set.Severity, why == "", &res, rep)
	}
	if r.Check != nil {
		j.check(v, r, set.Severity, &res, rep)
	} else if idles > 0 && idles == len(r.Tests) {
		res.State = Idle
	}
	if res.State != Idle && res.State != Unjudged {
		res.Why = ""
	}
	return res
}

// finds notes that the rule has a finding of some severity.
func (res *Result) finds(s Severity) {
	res.worse(Failed)
	res.level = max(res.level, s)
}

// worse keeps the most serious state: failed, then not judged, then passed.
func (res *Result) worse(s State) {
	if res.State == Failed || s == Failed {
		res.State = Failed
		return
	}
	if s == Unjudged {
		res.State = Unjudged
	}
}

// test asks one test. asked says that its question arises at the middle values;
// else it does so somewhere within the tolerances, and what is not known in the
// middle does not matter.
func (j *Judge) test(b *Bench, v *View, r *Rule, t *Test, sev Severity, asked bool, res *Result, rep *Report) {
	known := true
	for _, q := range t.needs() {
		if asked && !v.Calc.Known(q) {
			known = false
			v.missing(q, res)
		}
	}
	limit, _, ok := v.limit(r, &t.Limit)
	if asked && !ok {
		known = false
		for _, f := range t.Limit.Lacks {
			if x := v.Axis.Get(f); x == nil || x.Bad {
				res.lack(v.Axis, f, -1)
			}
		}
	}
	if !known {
		res.worse(Unjudged)
		return
	}
	w, decides := v, ""
	undefined := false
	if !t.Nominal {
		found := v.worst(b, r, t)
		if found.spent {
			res.worse(Unjudged)
			res.Why = "too many values with a tolerance for so long a cycle"
			return
		}
		undefined = found.undefined
		if found.view != nil {
			w, decides = found.view, found.decides
			limit, _, _ = w.limit(r, &t.Limit)
		}
	}
	use := t.use(w.Calc, limit)
	if undefined && !(use > 1+slack) {
		// What is defined holds; the rest may not.
		res.worse(Unjudged)
		if res.Why == "" {
			res.Why = t.Value.Title + " is not defined everywhere within the tolerances"
		}
		return
	}
	o := v.overRange(b, r, t)
	if o.spent {
		res.worse(Unjudged)
		res.Why = "too many values with a tolerance for so long a cycle"
		return
	}
	if fails := w.use(r, t) > 1+slack; o.any && (fails != (o.worst > 1+slack) || o.worst != o.worst || fails && (o.holds || v.passesMixed(b, r, t))) {
		v.open(b, r, t, o, res)
		return
	}
	worst := use
	if o.any && use <= 1+slack {
		worst = math.Max(use, o.limit)
	}
	if math.IsNaN(res.Use) || worst > res.Use {
		res.Use = worst
	}
	if use > 1+slack {
		res.finds(sev)
	} else if t.Advice == nil || sev <= Note {
		return
	} else {
		advice, _, ok := w.limit(r, t.Advice)
		if !ok || t.use(w.Calc, advice) <= 1+slack {
			return
		}
		limit, sev = advice, min(sev, Warning)
		res.finds(sev)
	}
	if rep == nil {
		return
	}
	f := w.finding(r, t, sev, limit, use)
	if decides != "" {
		f.Enters = append(f.Enters, Entry{Words: decides})
	}
	rep.Findings = append(rep.Findings, f)
}

// slack lets rounding pass: a value that equals its limit holds.
const slack = 1e-9

func (t *Test) needs() []*mechanics.Quantity {
	if t.all == nil {
		panic("rules: not sealed")
	}
	return t.all
}

// use is how much of what is permitted is used: 1 is the limit.
func (t *Test) use(c *mechanics.Calc, limit float64) float64 {
	x := c.V(t.Value)
	if t.Against != nil {
		limit *= c.V(t.Against)
	}
	if t.Limit.Sense == AtLeast {
		x, limit = limit, x
	}
	switch {
	case math.IsInf(limit, 1):
		return 0
	case limit <= 0 && x > 0:
		return math.Inf(1)
	case limit <= 0:
		return 0
	}
	return x / limit
}

func (v *View) finding(r *Rule, t *Test, sev Severity, limit, use float64) Finding {
	v.Units()
	f, move := t.At(v)
	out := v.findingAt(r, sev, f, move)
	out.Message, out.Use, out.test = v.say(t, limit), use, t
	v.byPolicy(r, t, limit, &out)
	enters := t.Enters
	if t.More != nil {
		enters = append(slices.Clone(enters), t.More(v)...)
	}
	for _, q := range enters {
		if leafField[q.ID()] == f && f != nil {
			continue // it is the marked line itself
		}
		// One part at both ends is one line.
		if e, ok := v.entry(q, move); ok && !slices.Contains(out.Enters, e) {
			out.Enters = append(out.Enters, e)
		}
	}
	return out
}

// byPolicy names the policy that set the limit a finding is about, and the
// limit where the words do not.
func (v *View) byPolicy(r *Rule, t *Test, limit float64, f *Finding) {
	for _, s := range v.force.settings[r.pos].Limits {
		if s.Limit != &t.Limit && s.Limit != t.Advice || s.Value != limit { // NaN where no policy sets it
			continue
		}
		shown := unit.Format(limit, s.Limit.Kind, v.Sys)
		if !strings.Contains(f.Message, shown) {
			f.Message += fmt.Sprintf("; a policy asks for %s %s (%s)", s.Limit.Sense, shown, s.Limit.Doc)
		}
		f.Related = append(f.Related, spec.Related{Place: s.From, Message: "the policy sets the limit here"})
		return
	}
}

func (v *View) findingAt(r *Rule, sev Severity, f *spec.Field, move int) Finding {
	out := Finding{Rule: r.Name, Severity: sev, Machine: v.Axis.Folder.MachineName(), Axis: v.Axis.Name, Place: v.Axis.Place, Use: math.NaN()}
	if f == nil {
		return out
	}
	out.Cause = f.Path
	if move >= 0 && move < len(v.Axis.Moves) {
		out.Cause += "[" + v.Axis.Moves[move].Name + "]"
	}
	// A finding stands in the axis's own file, at the line that brings in what
	// a part or machine says; that line is named as related.
	out.Place = v.Axis.PlaceFor(f, move)
	if out.Place.File != v.Axis.Place.File {
		out.Related = append(out.Related, spec.Related{Place: out.Place, Message: words(f.Name) + " stands here"})
		out.Place = v.Axis.OwnPlace(f)
	}
	return out
}

func (j *Judge) check(v *View, r *Rule, sev Severity, res *Result, rep *Report) {
	v.Units()
	for _, ft := range r.Check(v) {
		s := sev
		if ft.Severity != Off && ft.Severity < sev {
			s = ft.Severity
		}
		res.finds(s)
		if ft.Use > 0 && !(ft.Use <= res.Use) {
			res.Use = ft.Use
		}
		if rep == nil {
			continue
		}
		f := v.findingAt(r, s, ft.At, ft.Move)
		f.Message, f.drafts = ft.Message, ft.Fixes
		f.Related = append(f.Related, ft.Related...)
		if ft.Use > 0 {
			f.Use = ft.Use
		}
		for _, l := range v.force.settings[r.pos].Limits {
			if ft.Limit != "" && l.Limit.Name == ft.Limit && l.From.Valid() {
				f.Related = append(f.Related, spec.Related{Place: l.From, Message: "the policy sets the limit here"})
			}
		}
		for _, e := range ft.Enters {
			if x, ok := v.fieldEntry(e, ft.Move); ok && e != ft.At {
				f.Enters = append(f.Enters, x)
			}
		}
		rep.Findings = append(rep.Findings, f)
	}
	wants := r.Wants
	if r.WantsBy != nil {
		wants = append(slices.Clone(wants), r.WantsBy(v)...)
	}
	for _, f := range wants {
		if x := v.Axis.Get(f); x == nil || x.Bad {
			res.lack(v.Axis, f, -1)
			res.worse(Unjudged)
		}
	}
}

// missing notes what keeps a quantity from being known.
func (v *View) missing(q *mechanics.Quantity, res *Result) {
	gaps := v.Calc.Gaps(q)
	if len(gaps) == 0 {
		if res.Why == "" {
			res.Why = q.Title + " is not defined for what is declared"
		}
		return
	}
	for _, g := range gaps {
		f := leafField[g.Leaf.ID()]
		if f == nil {
			if res.Why == "" {
				res.Why = "the mass of a carried axis is not known"
			}
			continue
		}
		res.lack(v.Axis, f, g.Move)
	}
}

var moveField = field("motion.move.distance")

// lack notes a field that has no value; move is -1 for one of the axis, and where
// there are no moves. One that is there but unreadable has its own finding and is
// no missing line.
func (res *Result) lack(a *spec.Axis, f *spec.Field, move int) {
	m := Missing{field: f}
	var x *spec.Value
	switch {
	case !strings.HasPrefix(f.Path, "motion.move."):
		x = a.Get(f)
		m.Words, m.Place = a.Wants(f), a.PlaceFor(f, -1)
	case move < 0:
		m.Words, m.Place, m.field = "motion.move", a.PlaceFor(moveField, -1), moveField
	default:
		x = a.Moves[move].Get(f)
		m.Words, m.Place = words(f.Name)+" of move "+a.Moves[move].Name, a.PlaceFor(f, move)
	}
	if x != nil && x.Bad {
		res.unreadable(a, x)
		return
	}
	if at, lost := a.LostMove(); lost && m.field.Index() >= moveField.Index() {
		res.unreadBecause(At(at, a.Place.File) + " could not be read")
		return
	}
	for _, have := range res.Missing {
		if have.Words == m.Words {
			return
		}
	}
	res.Missing = append(res.Missing, m)
}

// unreadBecause notes what could not be read, if it is the first such thing.
func (res *Result) unreadBecause(why string) {
	if !res.unread {
		res.Why, res.unread = why, true
	}
}

// unreadable notes a value that could not be read.
func (res *Result) unreadable(a *spec.Axis, x *spec.Value) {
	if x.Ref != nil {
		x = x.Ref // what its part would have said is not known
	}
	at := At(x.Place, a.Place.File)
	if x.Unclear {
		res.unreadBecause(at + " could not be read")
		return
	}
	res.unreadBecause(fmt.Sprintf("%s could not be read (%s)", x.Field.Path, at))
}

// unread asks something of an axis of which some values could not be read. Where
// the answer looked at one of them it is not taken: unread is true, and the result
// says what could not be read.
//
// What an answer looks at is watched, not declared: a rule that asks whether
// something is there says as little about an unreadable line as one that
// calculates with it.
func (v *View) unread(ask func(w *View) Result) (res Result, unread bool) {
	if !v.Axis.Unread {
		return res, false
	}
	w := *v
	w.Axis = v.Axis.Copy()
	var move *spec.Value
	w.met = &move
	var fields spec.FieldSet
	var quantities mechanics.Set
	w.Axis.Watch(&fields)
	w.Calc.Watch(&quantities)
	res = ask(&w)
	w.Calc.Watch(nil)
	w.Axis.Watch(nil)
	if res.State == Silent {
		return res, true
	}
	var met Result
	if move != nil {
		met.unreadable(v.Axis, move)
	}
	for _, f := range spec.Language().Fields[:moveField.Index()] {
		if fields.Has(f) {
			if x := v.Axis.Get(f); x != nil && x.Bad {
				met.unreadable(v.Axis, x)
			}
		}
	}
	for _, q := range quantities.List() {
		for _, g := range v.Calc.Lost(q) {
			met.lack(v.Axis, leafField[g.Leaf.ID()], g.Move)
		}
	}
	if !met.unread {
		return res, false
	}
	return Result{Rule: res.Rule, State: Unjudged, Use: math.NaN(), Why: met.Why, Missing: res.Missing, unread: true}, true
}

// gather turns the missing lines of all rules into gaps, the line most rules
// wait for first.
func (rep *Report) gather() {
	a := rep.View.Axis
	byWords := map[string]int{}
	for i := range rep.Results {
		r := &rep.Results[i]
		if r.State != Unjudged && len(r.Missing) == 0 {
			continue
		}
		if len(r.Missing) == 0 || r.unread || r.assumed {
			k, ok := byWords["\x00"+r.Why]
			if !ok {
				k = len(rep.Gaps)
				byWords["\x00"+r.Why] = k
				rep.Gaps = append(rep.Gaps, Gap{Machine: a.Folder.MachineName(), Axis: a.Name, Why: r.Why, Place: a.Place})
			}
			if r.assumed && len(r.Missing) == 1 {
				rep.Gaps[k].Missing, rep.Gaps[k].Place = r.Missing[0].Words, r.Missing[0].Place
			}
			rep.Gaps[k].Rules = append(rep.Gaps[k].Rules, r.Rule)
		}
		if r.assumed {
			continue
		}
		for _, m := range r.Missing {
			k, ok := byWords[m.Words]
			if !ok {
				k = len(rep.Gaps)
				byWords[m.Words] = k
				rep.Gaps = append(rep.Gaps, Gap{Machine: a.Folder.MachineName(), Axis: a.Name, Missing: m.Words, Place: m.Place})
			}
			rep.Gaps[k].Rules = append(rep.Gaps[k].Rules, r.Rule)
		}
	}
	sort.SliceStable(rep.Gaps, func(i, k int) bool {
		x, y := &rep.Gaps[i], &rep.Gaps[k]
		if len(x.Rules) != len(y.Rules) {
			return len(x.Rules) > len(y.Rules)
		}
		return x.Missing < y.Missing
	})
}

// A lineSet is a set of missing lines.
type lineSet [8]uint64

// beyond counts the lines that have does not hold.
func (s lineSet) beyond(have lineSet) (n int) {
	for i := range s {
		n += bits.OnesCount64(s[i] &^ have[i])
	}
	return n
}

func (s lineSet) and(o lineSet) lineSet {
	for i := range s {
		s[i] |= o[i]
	}
	return s
}

// names lists the set's lines in order of their names.
func (s lineSet) names(all []string) []string {
	var out []string
	for k, n := range all {
		if s[k>>6]&(1<<(k&63)) != 0 {
			out = append(out, n)
		}
	}
	slices.Sort(out)
	return out
}

// unlock looks for the shortest list: again and again the lines of one rule
// that let most rules be judged for each line, until more than half of them
// are.
func (rep *Report) unlock() {
	lines := 0
	for i := range rep.Gaps {
		if rep.Gaps[i].Missing != "" {
			lines++
		}
	}
	if lines < 2 {
		return
	}
	var names []string
	index := map[string]int{}
	var waiting []lineSet
	for i := range rep.Results {
		r := &rep.Results[i]
		if len(r.Missing) == 0 {
			continue
		}
		var need lineSet
		for _, m := range r.Missing {
			k, ok := index[m.Words]
			if !ok {
				k = len(names)
				index[m.Words] = k
				names = append(names, m.Words)
			}
			if k >= len(need)*64 {
				return // only a cycle of very many moves lacks so many
			}
			need[k>>6] |= 1 << (k & 63)
		}
		waiting = append(waiting, need)
	}
	a := rep.View.Axis
	u := &Unlock{Machine: a.Folder.MachineName(), Axis: a.Name, Place: a.Place, Waiting: len(waiting)}
	var have lineSet
	for u.Judged*2 <= u.Waiting {
		var best lineSet
		gain, first := 0.0, ""
		for _, need := range waiting {
			n := need.beyond(have)
			if n == 0 {
				continue
			}
			with, opens := have.and(need), 0
			for _, o := range waiting {
				if o.beyond(have) > 0 && o.beyond(with) == 0 {
					opens++
				}
			}
			g := float64(opens) / float64(n)
			if g < gain {
				continue
			}
			k := strings.Join(need.names(names), ",")
			if g > gain || k < first {
				best, gain, first = need, g, k
			}
		}
		for _, w := range best.names(names) {
			if k := index[w]; have[k>>6]&(1<<(k&63)) == 0 {
				u.Lines = append(u.Lines, w)
			}
		}
		have = have.and(best)
		u.Judged = 0
		for _, need := range waiting {
			if need.beyond(have) == 0 {
				u.Judged++
			}
		}
	}
	rep.Unlock = u
}

// Units says in which units the axis is shown: those it is written in, unless
// the run asked for others.
func (v *View) Units() unit.System {
	if !v.sysKnown {
		v.Sys, v.sysKnown = system(v.Axis), true
	}
	return v.Sys
}

// lessFinding orders findings by place, rule and message.
func lessFinding(a, b *Finding) bool {
	return cmp.Or(spec.ComparePlaces(a.Place, b.Place), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Message, b.Message)) < 0
}

// FindingOf makes a finding of something wrong with the text.
func FindingOf(p spec.Problem) Finding {
	f := Finding{Rule: p.Rule, Severity: Error, Place: p.Place, Message: p.Message, Related: p.Related, Use: math.NaN()}
	if p.Help != "" {
		f.Message += "; " + p.Help
	}
	return f
}

// OfText reports whether the finding is one of the language's own checks: the
// text could not be read as it stands.
func (f *Finding) OfText() bool { return textRules[f.Rule] != "" }

// Fatal reports whether the finding means that the tool could not do its job.
func (f *Finding) Fatal() bool {
	return f.Rule == "file" || textRules[f.Rule] != "" && strings.HasSuffix(f.Place.File, spec.PolicySuffix)
}

// HouseRules lists the house rules in force in a folder.
func (j *Judge) HouseRules(f *spec.Folder) []*spec.HouseRule {
	var out []*spec.HouseRule
	for _, h := range j.policies.of(f).house {
		out = append(out, h.rule)
	}
	return out
}
