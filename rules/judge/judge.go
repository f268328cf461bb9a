package judge

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
	Unjudged      // something it needs is missing or unreadable
	NotApplicable // its question does not arise for this axis
	Disabled      // a policy switched it off
)

// String gives the state's word in output.
func (s State) String() string {
	return [...]string{"passed", "failed", "not judged", "does not apply", "off"}[s]
}

// A Result is how one rule came out for one axis.
type Result struct {
	Rule        string
	State       State
	Utilisation float64 // how much of what is permitted is used, 1 is the limit; NaN where there is no such number
	Why         string  // why it does not apply or was not judged
	Missing     []MissingLine
	unread      bool     // Why is that something could not be read
	Assumed     bool     // Why is that it passes for some of what is assumed only
	Level       Severity // of its most serious finding
	Fit         bool     // Utilisation is one of fit and no margin, as Rule.Fit says
	Compared    Compared // the value and the limit behind Utilisation; of several tests those of the tightest
}

// Compared is a value and the limit it was compared with, both in SI units of Kind, as they
// are in the worst case within tolerances and assumptions. Either may be infinite. The zero
// value says that no two numbers were compared.
type Compared struct {
	Of           *mechanics.Quantity // whose value it is; nil for one that only the rule makes
	Value, Limit float64
	Kind         unit.Kind
	Sense        Sense
}

// Made reports whether two numbers were compared.
func (c Compared) Made() bool { return c != Compared{} }

// Use is how much of the limit the value uses, 1 is the limit; NaN where nothing was compared.
func (c Compared) Use() float64 {
	x, limit := c.Value, c.Limit
	if c.Sense == AtLeast {
		x, limit = limit, x
	}
	switch {
	case !c.Made() || c.Kind == unit.Temperature: // ratios of absolute temperatures say nothing
		return math.NaN()
	case math.IsInf(limit, 1):
		return 0
	case limit <= 0 && x > 0:
		return math.Inf(1)
	case limit <= 0:
		return 0
	}
	return x / limit
}

// MissingLine is one line that is not there.
type MissingLine struct {
	Words string     // what is missing: "supports.span"
	Place spec.Place // where it should stand
	Field *spec.Field
}

// Path is the line's path in the language, whatever part it should stand in.
func (m MissingLine) Path() string { return m.Field.Path }

// A Finding is one thing that does not hold.
type Finding struct {
	Rule        string
	Severity    Severity
	Machine     string
	Axis        string // "" for findings about files
	Place       spec.Place
	Message     string
	Inputs      []Entry
	Fixes       []Fix // each by itself
	Related     []spec.Related
	Utilisation float64  // as in Result; NaN where there is none
	Compared    Compared // the value and the limit it breaks; where that is a rule's advice, Utilisation is still of its limit
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

// A MissingInput gathers the rules of one axis that wait for the same missing line.
type MissingInput struct {
	Machine, Axis string
	Missing       string // the line that is missing; "" where the reason is another
	Why           string // the other reason, or where the line need not be there why it is missed
	Place         spec.Place
	Rules         []string
}

// NextInputs is a short list of missing lines whose addition lets most of an
// axis's waiting rules be judged.
type NextInputs struct {
	Machine, Axis string
	Place         spec.Place // of the axis
	Waiting       int        // rules that wait for missing lines
	Lines         []string
	Judged        int // of the waiting rules, with those lines
}

// A Report is everything found about one axis.
type Report struct {
	View          *View
	Results       []Result
	Findings      []Finding
	MissingInputs []MissingInput
	NextInputs    *NextInputs // nil where at most one line is missing
	Judge         *Judge
}

// A Judge judges axes. It may be used by several goroutines at once; each
// needs its own Scratch.
type Judge struct {
	Book     *Rulebook
	policies policies
	Today    time.Time
	fixes    bool
	Units    *unit.System // nil: those each axis is written in
}

// NewJudge returns a Judge by the rules of the book. Waivers are judged by the day
// today. Fixes are solved for only where fixes is set.
func (b *Rulebook) NewJudge(today time.Time, fixes bool) *Judge {
	return &Judge{Book: b, policies: policies{book: b, seen: map[*spec.Folder]*InForce{}}, Today: dayOf(today), fixes: fixes}
}

// dayOf is the day of a time, through which a waiver holds that has it as its last.
func dayOf(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
}

// On reports whether the Judge judges waivers by that day.
func (j *Judge) On(day time.Time) bool { return j.Today.Equal(dayOf(day)) }

// PolicyProblems lists what is wrong in a folder's own policies.
func (j *Judge) PolicyProblems(f *spec.Folder) []spec.Problem {
	if len(f.Policies) == 0 {
		return nil
	}
	return j.policies.of(f).problems
}

// InForce lists what is in force in a folder, rule by rule.
func (j *Judge) InForce(f *spec.Folder) []Setting { return j.policies.of(f).Settings }

// A Scratch holds the working memory of one goroutine.
type Scratch struct {
	Calc, trial, from *mechanics.Calc
	caseOf            *mechanics.Calc // for one case of what is assumed
	view              View            // of that case
	cases             [len(ends)]*mechanics.Calc
	casesOf           *spec.Axis // whose calc is in cases; nil: none is kept
	casesRun          [len(ends)]bool
	differ            [len(ends)]mechanics.Set // from the usual case
	apart             mechanics.Set            // from each other
	ranges            []Range                  // what is assumed of it, once ranged
	ranged            bool
	tolerances        []toleranceRange
	points            [1 + len(ends)]points // of the usual case and of each of ends
	coursesOf         *spec.Axis            // whose courses are found; nil: none are
	courses           []*mechanics.Courses  // for each leaf with a tolerance: anyway, or also
	anyway, also      []*mechanics.Courses  // whatever is assumed; in the cases that are computed
	courseAt          []int                 // by tolerance, where in courses
	mixed             bool                  // what is looked at differs from the axis in what is assumed alone
	loose             mechanics.Set         // what the tolerances can change
	searches          []*search
	taken             int      // how many of searches are in use
	Left              int      // of the budget
	short             bool     // the budget kept something from being looked at
	read              basis    // by the rule that is asked
	bases             []basis  // of the answers, in their order; none where they are not known
	again             *Scratch // for judging an axis as fixed; nil until there is one
	Most              int      // the budget of an axis, where it is to be less; 0: no less
	results           []Result // of a report taken back
}

// TakeBack takes back the memory of a report's results: nothing may look at them any more.
func (b *Scratch) TakeBack(rep *Report) { b.results, rep.Results = rep.Results, nil }

// NewScratch returns working memory for one goroutine.
func NewScratch() *Scratch {
	return &Scratch{Calc: mechanics.NewCalc(), trial: mechanics.NewCalc(), from: mechanics.NewCalc(), caseOf: mechanics.NewCalc(),
		cases: [len(ends)]*mechanics.Calc{mechanics.NewCalc(), mechanics.NewCalc()}}
}

// Judge judges one axis. carried lists the axes it carries with their moved
// masses. The report's View uses the scratch memory: it is good until the next
// call.
func (j *Judge) Judge(b *Scratch, a *spec.Axis, carried []CarriedAxis) *Report {
	return j.JudgeCarrier(b, a, carried, true)
}

// JudgeCarrier is Judge for an axis of which not all carried masses may be
// known; what depends on them is then not judged.
func (j *Judge) JudgeCarrier(b *Scratch, a *spec.Axis, carried []CarriedAxis, whole bool) *Report {
	b.Left = b.BudgetOf(a)
	rep := j.ask(b, a, carried, whole)
	sort.SliceStable(rep.Findings, func(i, k int) bool { return LessFinding(&rep.Findings[i], &rep.Findings[k]) })
	rep.gatherMissing()
	rep.findNext()
	if j.fixes {
		b.Left = b.BudgetOf(a)
		for i := range rep.Findings {
			j.findFixes(b, rep, &rep.Findings[i])
		}
	}
	return rep
}

// ask asks all rules of an axis.
func (j *Judge) ask(b *Scratch, a *spec.Axis, carried []CarriedAxis, whole bool) *Report {
	v := &View{Axis: a, Calc: b.Calc, Carried: carried, whole: whole, InForce: j.policies.of(a.Folder), today: j.Today}
	b.tolerances = Load(b.Calc, a, v.carriedMass(), b.tolerances[:0])
	b.begin(a)
	if j.Units != nil {
		v.Sys, v.sysKnown, v.forced = *j.Units, true, true
	}
	rep := &Report{View: v, Judge: j, Results: slices.Grow(b.results[:0], len(j.Book.all)+len(v.InForce.House))}
	b.results = nil
	watching := j.fixes && !a.Unread
	if watching {
		b.watch(v)
	}
	for i := range len(j.Book.all) + len(v.InForce.House) {
		left := b.Left
		b.read = basis{}
		rep.Results = append(rep.Results, j.answer(b, v, i, rep))
		if watching {
			b.read.costly = b.Left < left
			b.bases = append(b.bases, b.read)
		}
	}
	if watching {
		b.unwatch(v, a)
	}
	j.waive(v, rep)
	return rep
}

// begin makes the scratch memory ready for the axis that is in b.Calc.
func (b *Scratch) begin(a *spec.Axis) {
	for i := range b.points {
		b.points[i].clear()
	}
	b.giveBack(0)
	b.coursesOf = nil
	b.casesOf, b.casesRun, b.ranged, b.short, b.bases = a, [len(ends)]bool{}, false, false, b.bases[:0]
}

// answer asks the rule that has the i-th result: the rules of the book, then those of the house.
func (j *Judge) answer(b *Scratch, v *View, i int, rep *Report) Result {
	ask := func(w *View, rep *Report) Result {
		if n := len(j.Book.all); i >= n {
			return j.AskHouse(b, w, v.InForce.House[i-n], rep)
		}
		return j.Ask(b, w, j.Book.all[i], rep)
	}
	if res, unread := v.unread(func(w *View) Result { return ask(w, nil) }); unread {
		return res
	}
	return ask(v, rep)
}

// carriedMass is that of the carried axes; unknown where that of one is.
func (v *View) carriedMass() unit.Quantity {
	if !v.whole {
		return UnknownMass
	}
	return CarriedMass(v.Carried)
}

var UnknownMass = unit.Quantity{Nominal: math.NaN(), Low: math.NaN(), High: math.NaN()}

func CarriedMass(carried []CarriedAxis) unit.Quantity {
	var m unit.Quantity
	for _, c := range carried {
		m.Nominal += c.Mass.Nominal
		m.Low += c.Mass.Low
		m.High += c.Mass.High
	}
	return m
}

var CarriesField = Field("load.carries")

// Ask asks one rule of an axis. Without a report it makes no findings: the
// result says how it comes out.
func (j *Judge) Ask(b *Scratch, v *View, r *Rule, rep *Report) Result {
	if rep == nil {
		defer b.giveBack(b.taken)
	}
	res := Result{Rule: r.Name, Utilisation: math.NaN(), Fit: r.Fit}
	set := &v.InForce.Settings[r.Index]
	if set.Severity == Off {
		res.State = Disabled
		return res
	}
	if v.Axis.Broken {
		res.State, res.Why = Unjudged, "the axis has syntax errors"
		return res
	}
	idle := ""
	switch {
	case r.OfParts() && !r.OfAxes():
		idle = "it judges parts, not axes"
	case r.Applies != nil:
		idle = r.Applies(v)
	}
	asked := idle == ""
	for i := range r.Tests {
		asked = asked || v.arises(b, r, &r.Tests[i]) || v.arisesAssumed(b, r, &r.Tests[i])
	}
	if !asked {
		res.State, res.Why = NotApplicable, idle
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
	idles, none := 0, "" // why the first of them does not arise
	for i := range r.Tests {
		t := &r.Tests[i]
		why := idle
		if why == "" && t.Applies != nil {
			why = t.Applies(v)
		}
		within := why != "" && v.arises(b, r, t)
		if why != "" && !within && v.arisesAssumed(b, r, t) {
			v.open(b, r, t, v.overRange(b, r, t, nil), &res)
			continue
		}
		if why != "" && !within {
			idles, none = idles+1, cmp.Or(none, why)
			continue
		}
		j.test(b, v, r, t, set.Severity, why == "", &res, rep)
	}
	if r.Check != nil {
		j.check(v, r, set.Severity, &res, rep)
	} else if idles > 0 && idles == len(r.Tests) {
		res.State, res.Why = NotApplicable, none
	}
	if res.State != NotApplicable && res.State != Unjudged {
		res.Why = ""
	}
	return res
}

// finds notes that the rule has a finding of some severity.
func (res *Result) finds(s Severity) {
	res.worse(Failed)
	res.Level = max(res.Level, s)
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
func (j *Judge) test(b *Scratch, v *View, r *Rule, t *Test, sev Severity, asked bool, res *Result, rep *Report) {
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
	w, worst := v, worstCase{}
	undefined := false
	var found worstCase
	if !t.Nominal {
		found = v.worst(b, r, t)
		if found.spent {
			res.worse(Unjudged)
			res.Why = "too many values with a tolerance in a cycle this long"
			return
		}
		undefined = found.undefined
		if found.view != nil {
			w, worst = found.view, found
			limit, _, _ = w.limit(r, &t.Limit)
		}
	}
	seen := t.compare(w.Calc, limit)
	use := seen.Use()
	if undefined && !(use > 1+Slack) {
		// What is defined holds; the rest may not.
		res.worse(Unjudged)
		if res.Why == "" {
			res.Why = t.Value.Title + " is not defined everywhere within the tolerances"
		}
		return
	}
	o := v.overRange(b, r, t, &found)
	if o.spent {
		res.worse(Unjudged)
		res.Why = "too many values with a tolerance in a cycle this long"
		return
	}
	if fails := w.utilisation(r, t) > 1+Slack; o.any && (fails != (o.worst > 1+Slack) || o.worst != o.worst || fails && (o.holds || v.passesMixed(b, r, t))) {
		v.open(b, r, t, o, res)
		return
	}
	if o.any && use <= 1+Slack && o.limit.Use() > use {
		seen = o.limit
	}
	if x := seen.Use(); math.IsNaN(res.Utilisation) || x > res.Utilisation {
		res.Utilisation, res.Compared = x, seen
	}
	if use > 1+Slack {
		res.finds(sev)
	} else if t.Advice == nil || sev <= Note {
		return
	} else {
		advice, _, ok := w.limit(r, t.Advice)
		if !ok || t.utilisation(w.Calc, advice) <= 1+Slack {
			return
		}
		limit, sev = advice, min(sev, Warning)
		res.finds(sev)
	}
	if rep == nil {
		return
	}
	worst.settle()
	f := w.finding(r, t, sev, limit, use)
	if decides := worst.decides(v); decides != "" {
		f.Inputs = append(f.Inputs, Entry{Words: decides})
	}
	rep.Findings = append(rep.Findings, f)
}

// Slack lets rounding pass: a value that equals its limit holds.
const Slack = 1e-9

func (t *Test) needs() []*mechanics.Quantity {
	if t.all == nil {
		panic("rules: not sealed")
	}
	return t.all
}

// kind is that of both sides of a test: a limit that is a share of another quantity is
// compared with the value as that much of it.
func (t *Test) kind() unit.Kind {
	if t.Against != nil {
		return t.Value.Kind
	}
	return t.Limit.Kind
}

func (t *Test) compare(c *mechanics.Calc, limit float64) Compared {
	if t.Against != nil {
		limit *= c.V(t.Against)
	}
	return Compared{t.Value, c.V(t.Value), limit, t.kind(), t.Limit.Sense}
}

// utilisation is the use that compare gives.
func (t *Test) utilisation(c *mechanics.Calc, limit float64) float64 {
	return t.compare(c, limit).Use()
}

func (v *View) finding(r *Rule, t *Test, sev Severity, limit, use float64) Finding {
	v.Units()
	f, move := t.At(v)
	out := v.findingAt(r, sev, f, move)
	out.Message, out.Utilisation, out.Compared, out.test = v.say(t, limit), use, t.compare(v.Calc, limit), t
	v.byPolicy(r, t, limit, &out)
	inputs := t.Inputs
	if t.More != nil {
		inputs = append(slices.Clone(inputs), t.More(v)...)
	}
	for _, q := range inputs {
		if FieldOfLeaf[q.ID()] == f && f != nil {
			continue // it is the marked line itself
		}
		// One part at both ends is one line.
		if e, ok := v.entry(q, move); ok && !slices.Contains(out.Inputs, e) {
			out.Inputs = append(out.Inputs, e)
		}
	}
	return out
}

// byPolicy names the policy that set the limit a finding is about, and the
// limit where the words do not.
func (v *View) byPolicy(r *Rule, t *Test, limit float64, f *Finding) {
	for _, s := range v.InForce.Settings[r.Index].Limits {
		if s.Limit != &t.Limit && s.Limit != t.Advice || s.Value != limit { // NaN where no policy sets it
			continue
		}
		shown := unit.Format(limit, s.Limit.Kind, v.Units())
		if !strings.Contains(f.Message, shown) {
			f.Message += fmt.Sprintf("; policy limit: %s %s (%s)", s.Limit.Sense, shown, s.Limit.Doc)
		}
		f.Related = append(f.Related, spec.Related{Place: s.From, Message: "the policy sets the limit here"})
		return
	}
}

func (v *View) findingAt(r *Rule, sev Severity, f *spec.Field, move int) Finding {
	out := Finding{Rule: r.Name, Severity: sev, Machine: v.Axis.Folder.MachineName(), Axis: v.Axis.Name, Place: v.Axis.Place, Utilisation: math.NaN()}
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
		out.Related = append(out.Related, spec.Related{Place: out.Place, Message: Readable(f.Name) + " is declared here"})
		out.Place = v.Axis.OwnPlace(f)
	}
	return out
}

func (j *Judge) check(v *View, r *Rule, sev Severity, res *Result, rep *Report) {
	for _, ft := range r.Check(v) {
		s := sev
		if ft.Severity != Off && ft.Severity < sev {
			s = ft.Severity
		}
		res.finds(s)
		if use := ft.Compared.Use(); use > 0 && !(use <= res.Utilisation) {
			res.Utilisation, res.Compared = use, ft.Compared
		}
		if rep == nil {
			continue
		}
		f := v.findingAt(r, s, ft.At, ft.Move)
		f.Message, f.drafts = ft.Message, ft.Fixes
		f.Related = append(f.Related, ft.Related...)
		f.Utilisation, f.Compared = ft.Compared.Use(), ft.Compared
		for _, l := range v.InForce.Settings[r.Index].Limits {
			if ft.Limit != "" && l.Limit.Name == ft.Limit && l.From.Valid() {
				f.Related = append(f.Related, spec.Related{Place: l.From, Message: "the policy sets the limit here"})
			}
		}
		for _, e := range ft.Inputs {
			if x, ok := v.fieldEntry(e, ft.Move); ok && e != ft.At {
				f.Inputs = append(f.Inputs, x)
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
	if r.Open == nil {
		return
	}
	if why := r.Open(v); why != "" {
		res.worse(Unjudged)
		res.Why = why
	}
}

// missing notes what keeps a quantity from being known.
func (v *View) missing(q *mechanics.Quantity, res *Result) {
	gaps := v.Calc.Gaps(q)
	if len(gaps) == 0 {
		if res.Why == "" {
			res.Why = q.Title + " is not defined for the declared values"
		}
		return
	}
	for _, g := range gaps {
		f := FieldOfLeaf[g.Leaf.ID()]
		if f == nil {
			if res.Why == "" {
				res.Why = "the mass of a carried axis is not known"
			}
			continue
		}
		res.lack(v.Axis, f, g.Move)
	}
}

var moveField = Field("motion.move.distance")

// lack notes a field that has no value; move is -1 for one of the axis, and where
// there are no moves. One that is there but unreadable has its own finding and is
// no missing line.
func (res *Result) lack(a *spec.Axis, f *spec.Field, move int) {
	m := MissingLine{Field: f}
	var x *spec.Value
	switch {
	case !strings.HasPrefix(f.Path, "motion.move."):
		x = a.Get(f)
		m.Words, m.Place = a.Wants(f), a.PlaceFor(f, -1)
	case move < 0:
		m.Words, m.Place, m.Field = "motion.move", a.PlaceFor(moveField, -1), moveField
	default:
		x = a.Moves[move].Get(f)
		m.Words, m.Place = Readable(f.Name)+" of move "+a.Moves[move].Name, a.PlaceFor(f, move)
	}
	if x != nil && x.Bad {
		res.unreadable(a, x)
		return
	}
	if at, lost := a.LostMove(); lost && m.Field.Index() >= moveField.Index() {
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
	v.Units() // what they are hangs on every value, and no answer on them
	w := *v
	w.Axis = v.Axis.Copy()
	var move *spec.Value
	w.met = &move
	var fields spec.FieldSet
	var quantities mechanics.Set
	w.Axis.Watch(&fields)
	w.Calc.Watch(mechanics.Watch{Set: &quantities})
	res = ask(&w)
	w.Calc.Watch(mechanics.Watch{})
	w.Axis.Watch(nil)
	if res.State == Disabled {
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
			met.lack(v.Axis, FieldOfLeaf[g.Leaf.ID()], g.Move)
		}
	}
	if !met.unread {
		return res, false
	}
	return Result{Rule: res.Rule, State: Unjudged, Utilisation: math.NaN(), Fit: res.Fit, Why: met.Why, Missing: res.Missing, unread: true}, true
}

// gatherMissing turns the missing lines of all rules into gaps, the line most rules
// wait for first.
func (rep *Report) gatherMissing() {
	a := rep.View.Axis
	byWords := map[string]int{}
	for i := range rep.Results {
		r := &rep.Results[i]
		if r.State != Unjudged && (len(r.Missing) == 0 || r.Assumed) {
			continue // a rule that fails anyway does not pass from some assumed value on
		}
		if len(r.Missing) == 0 || r.unread || r.Assumed {
			k, ok := byWords["\x00"+r.Why]
			if !ok {
				k = len(rep.MissingInputs)
				byWords["\x00"+r.Why] = k
				rep.MissingInputs = append(rep.MissingInputs, MissingInput{Machine: a.Folder.MachineName(), Axis: a.Name, Why: r.Why, Place: a.Place})
			}
			if r.Assumed && len(r.Missing) == 1 {
				rep.MissingInputs[k].Missing, rep.MissingInputs[k].Place = r.Missing[0].Words, r.Missing[0].Place
			}
			rep.MissingInputs[k].Rules = append(rep.MissingInputs[k].Rules, r.Rule)
		}
		if r.Assumed {
			continue
		}
		for _, m := range r.Missing {
			k, ok := byWords[m.Words]
			if !ok {
				k = len(rep.MissingInputs)
				byWords[m.Words] = k
				rep.MissingInputs = append(rep.MissingInputs, MissingInput{Machine: a.Folder.MachineName(), Axis: a.Name, Missing: m.Words, Place: m.Place})
			}
			rep.MissingInputs[k].Rules = append(rep.MissingInputs[k].Rules, r.Rule)
		}
	}
	sort.SliceStable(rep.MissingInputs, func(i, k int) bool {
		x, y := &rep.MissingInputs[i], &rep.MissingInputs[k]
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

// findNext looks for the shortest list: again and again the lines of one rule
// that let most rules be judged for each line, until more than half of them
// are.
func (rep *Report) findNext() {
	lines := 0
	for i := range rep.MissingInputs {
		if rep.MissingInputs[i].Missing != "" {
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
	u := &NextInputs{Machine: a.Folder.MachineName(), Axis: a.Name, Place: a.Place, Waiting: len(waiting)}
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
	rep.NextInputs = u
}

// Units says in which units the axis is shown: those it is written in, unless
// the run requested others.
func (v *View) Units() unit.System {
	if !v.sysKnown {
		v.Sys, v.sysKnown = system(v.Axis), true
	}
	return v.Sys
}

// LessFinding orders findings by place, rule and message.
func LessFinding(a, b *Finding) bool {
	return cmp.Or(spec.ComparePlaces(a.Place, b.Place), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Message, b.Message)) < 0
}

// FindingOf makes a finding of something wrong with the text.
func FindingOf(p spec.Problem) Finding {
	f := Finding{Rule: p.Rule, Severity: Error, Place: p.Place, Message: p.Message, Related: p.Related, Utilisation: math.NaN()}
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
	for _, h := range j.policies.of(f).House {
		out = append(out, h.Rule)
	}
	return out
}
