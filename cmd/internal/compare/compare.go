// Package compare holds two states of the same axes against each other: what
// changed in the text, which quantities moved, which margins got worse.
package compare

import (
	"cmp"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A Side gathers the judged axes of one state. It may be filled by several
// goroutines at once.
type Side struct {
	mu    sync.Mutex
	axes  []*axis
	judge *judge.Judge // what policies set
	set   map[*spec.Folder][]declared
}

// NewSide returns an empty side.
func NewSide() *Side {
	return &Side{judge: rules.Book().NewJudge(time.Time{}, false), set: map[*spec.Folder][]declared{}}
}

type axis struct {
	where      string // machine, or folder where there is none
	name       string
	place      spec.Place
	sys        unit.System
	declared   []declared        // by name
	policies   []declared        // of its folder, by name
	quantities []float64         // by ID of the quantity, NaN where not known
	rules      []result          // by name
	waived     map[string]string // the last day of the waiver that accepts what a rule found
}

type declared struct {
	name, text string
	place      spec.Place
}

// A result is what a comparison needs of one.
type result struct {
	rule        string
	state       judge.State
	utilisation float64
	fit         bool
}

func (d declared) order(e declared) int { return strings.Compare(d.name, e.name) }
func (r result) order(q result) int     { return strings.Compare(r.rule, q.rule) }

// sorted sorts a list by name; of several of one name the last stays.
func sorted[T any](list []T, order func(a, b T) int) []T {
	slices.Reverse(list)
	slices.SortStableFunc(list, order)
	return slices.CompactFunc(list, func(a, b T) bool { return order(a, b) == 0 })
}

// together calls do for each name that stands in one of two sorted lists, or in both.
func together[T any](was, is []T, order func(a, b T) int, do func(was, is *T)) {
	for len(was)+len(is) > 0 {
		var x, y *T
		switch {
		case len(was) == 0:
			y = &is[0]
		case len(is) == 0:
			x = &was[0]
		default:
			if n := order(was[0], is[0]); n < 0 {
				x = &was[0]
			} else if y = &is[0]; n == 0 {
				x = &was[0]
			}
		}
		if x != nil {
			was = was[1:]
		}
		if y != nil {
			is = is[1:]
		}
		do(x, y)
	}
}

// usual is how many values an axis declares, roughly.
const usual = 80

// Add takes one report.
func (s *Side) Add(rep *judge.Report) {
	a := rep.View.Axis
	x := &axis{place: a.Place, sys: rep.View.Units(), declared: make([]declared, 0, usual)}
	lang := spec.Language()
	for _, f := range lang.Fields[:lang.Moves] {
		if v := a.Get(f); v != nil && v.Origin != spec.Default {
			x.declared = append(x.declared, declared{f.Path, v.Text, v.Place})
		}
	}
	if m := a.Model(); m != nil {
		x.declared = append(x.declared, declared{"screw.model: content", m.Words(), a.PlaceFor(lang.FieldAt("screw.model"), -1)})
	}
	for _, m := range a.Moves {
		for _, f := range lang.Fields[lang.Moves:] {
			if v := m.Get(f); v != nil && v.Origin != spec.Default {
				x.declared = append(x.declared, declared{"move " + m.Name + ": " + f.Name, v.Text, v.Place})
			}
		}
	}
	x.quantities = make([]float64, 0, len(mechanics.All()))
	for _, q := range mechanics.All() {
		v := math.NaN()
		if q.Shape == mechanics.Scalar && !q.Leaf() {
			v = rep.View.Calc.V(q)
		}
		x.quantities = append(x.quantities, v)
	}
	x.rules = make([]result, 0, len(rep.Results))
	for i := range rep.Results {
		r := &rep.Results[i]
		x.rules = append(x.rules, result{r.Rule, r.State, r.Utilisation, r.Fit})
	}
	x.rules = sorted(x.rules, result.order)
	for i := range rep.Findings {
		if f := &rep.Findings[i]; f.Waiver != nil {
			if x.waived == nil {
				x.waived = map[string]string{}
			}
			x.waived[f.Rule] = f.Waiver.Until.Text
		}
	}
	requests := map[string]int{}
	for _, w := range slices.Concat(a.Waivers, rep.View.InForce.Waivers) {
		x.waiver(w, a.Name, requests)
	}
	x.declared = sorted(x.declared, declared.order)
	x.name, x.where = a.Name, a.Folder.MachineName()
	if x.where == "" {
		x.where = path.Dir(a.Place.File)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	x.policies = s.policies(a.Folder)
	s.axes = append(s.axes, x)
}

// waiver takes in a waiver of the axis or of its policies. One that is for parts only is
// taken for all axes of its scope: it is the request that matters, not who uses the part.
// at says where among the declared values those taken in stand.
func (x *axis) waiver(w *spec.Waiver, of string, at map[string]int) {
	if w.Broken || w.Parts == nil && !w.OfAxis(of) {
		return
	}
	name := waiverOf + w.Rule
	if len(w.Parts) > 0 {
		name += " for " + strings.Join(w.Parts, ", ")
	}
	text := "until " + w.Until.Text + ": " + w.Reason.Text
	if i, twice := at[name]; twice {
		x.declared[i] = declared{name, x.declared[i].text + "; " + text, w.RulePlace}
		return
	}
	at[name] = len(x.declared)
	x.declared = append(x.declared, declared{name, text, w.RulePlace})
}

// waiverOf begins the name of a waiver among the declared values, and policyOf that of a
// value of a policy.
const (
	waiverOf = "waiver of "
	policyOf = "policy "
)

// policies are the values that policies set for a folder, by name.
func (s *Side) policies(f *spec.Folder) []declared {
	if got, known := s.set[f]; known {
		return got
	}
	var out []declared
	for _, r := range s.judge.InForce(f) {
		if r.SeverityFrom.Valid() {
			out = append(out, declared{policyOf + r.Rule.Name + ": severity", r.Severity.String(), r.SeverityFrom})
		}
		for _, l := range r.Limits {
			if l.From.Valid() {
				out = append(out, declared{policyOf + r.Rule.Name + ": " + l.Limit.Name, unit.FormatExact(l.Value, l.Limit.Kind, unit.Metric), l.From})
			}
		}
	}
	for _, h := range s.judge.HouseRules(f) {
		text := words(h.That)
		if h.When != nil {
			text += " when " + words(h.When)
		}
		out = append(out, declared{"house rule " + h.Name, text, h.Place}, declared{"house rule " + h.Name + ": severity", h.Severity, h.Place})
	}
	out = sorted(out, declared.order)
	s.set[f] = out
	return out
}

// words writes a condition on one line.
func words(e *spec.Expr) string {
	switch e.Op {
	case "name":
		return e.Name
	case "text":
		return strconv.Quote(e.Text)
	case "number":
		return strconv.FormatFloat(e.Num, 'g', -1, 64)
	}
	var args []string
	for _, a := range e.Args {
		w := words(a)
		if len(a.Args) > 0 && a.Op != "call" {
			w = "(" + w + ")"
		}
		args = append(args, w)
	}
	switch {
	case e.Op == "call":
		return e.Name + "(" + strings.Join(args, ", ") + ")"
	case e.Op == "if" && len(args) == 3:
		return args[0] + " ? " + args[1] + " : " + args[2]
	case e.Op == "neg" && len(args) == 1:
		return "-" + args[0]
	case len(args) == 1:
		return e.Op + args[0]
	case len(args) == 0:
		return e.Op
	}
	return strings.Join(args, " "+e.Op+" ")
}

// A Comparison is what differs between two sides.
type Comparison struct {
	Axes   []Axis  // that differ, those with crossed limits first
	Causes []Cause // changes of the text, the one that touches most axes first
}

// An Axis is one axis that differs.
type Axis struct {
	Machine, Name string
	Place         spec.Place // in the new state; in the old one if it is gone
	Only          string     // "added" or "removed"; "" where both sides have it
	Text          []Change
	Quantities    []Move
	Rules         []Verdict
}

// A Change is one declared value that differs.
type Change struct {
	Name    string
	Was, Is string     // "" where it is not declared
	Place   spec.Place // in the new state; in the old one if it is gone
}

// A Move is one computed quantity that moved.
type Move struct {
	Name, Title, Was, Is string
	By                   float64 // relative change, infinite from zero
}

// Kind says how a rule's verdict moved.
type Kind int

// The kinds, the gravest first.
const (
	Crossed  Kind = iota // it held and fails now
	Unjudged             // it was judged and is not any more, be it that it is switched off
	Worse
	Better
	Judged // it was not judged and is now
	Fixed  // it failed and holds now
	Waived // it failed and fails, and a waiver accepts it now
	Ended  // it failed and fails, and no waiver accepts it any more
)

// String gives the kind's words.
func (k Kind) String() string {
	return [...]string{"limit crossed", "no longer judged", "worse", "better", "newly judged", "fixed", "waived", "no longer waived"}[k]
}

// A Verdict is how one rule moved.
type Verdict struct {
	Rule     string
	Kind     Kind
	WasState string  // "" where the rule was not there
	IsState  string  // "" where it is not there any more
	Was, Is  float64 // margins; NaN where the rule has no such number
	Until    string  // where it fails and a waiver accepts that: its last day
}

// A Cause is one change of the text with the axes it touches.
type Cause struct {
	Change
	Axes     int
	Machines int
}

// ample is a margin beyond which nobody looks: the rule got neither worse nor
// better.
const ample = 10

// small is the relative change under which a quantity has not moved.
const small = 1e-3

// pair is an axis in both states, or in one.
type pair struct{ was, is *axis }

// pairs finds for each axis the one it was: by its file, then by its machine or
// folder. Names of machines and axes need not be unique. names gives the old
// name of a renamed file.
func pairs(was, is *Side, names map[string]string) []pair {
	type id struct{ where, axis string }
	byPlace := func(list []*axis) []*axis {
		list = slices.Clone(list)
		slices.SortFunc(list, func(a, b *axis) int { return spec.ComparePlaces(a.place, b.place) })
		return list
	}
	now := byPlace(is.axes)
	out := make([]pair, len(now))
	left := byPlace(was.axes)
	for _, by := range []struct{ old, new func(*axis) id }{
		{func(a *axis) id { return id{a.place.File, a.name} }, func(a *axis) id {
			if old, ok := names[a.place.File]; ok {
				return id{old, a.name}
			}
			return id{a.place.File, a.name}
		}},
		{func(a *axis) id { return id{a.where, a.name} }, func(a *axis) id { return id{a.where, a.name} }},
	} {
		free := map[id][]*axis{}
		for _, a := range left {
			free[by.old(a)] = append(free[by.old(a)], a)
		}
		taken := map[*axis]bool{}
		for i, b := range now {
			if k := by.new(b); out[i].was == nil && len(free[k]) > 0 {
				out[i].was, free[k] = free[k][0], free[k][1:]
				taken[out[i].was] = true
			}
			out[i].is = b
		}
		left = slices.DeleteFunc(left, func(a *axis) bool { return taken[a] })
	}
	for _, a := range left {
		out = append(out, pair{was: a})
	}
	return out
}

// Sides compares two states. names gives the old name of a renamed file by its
// new one.
func Sides(was, is *Side, names map[string]string) *Comparison {
	out := &Comparison{}
	type touched struct {
		axes     int
		machines map[string]bool
	}
	causes := map[Change]*touched{}
	for _, p := range pairs(was, is, names) {
		a, b := p.was, p.is
		x := Axis{}
		switch {
		case a == nil:
			x.Only, x.Place = "added", b.place
			x.Rules = failures(b, Crossed)
		case b == nil:
			x.Only, x.Place = "removed", a.place
		default:
			x.Place = b.place
			x.Text, x.Quantities, x.Rules = texts(a, b), moves(a, b), verdicts(a, b)
			if len(x.Text)+len(x.Quantities)+len(x.Rules) == 0 {
				continue
			}
		}
		if b == nil {
			b = a
		}
		x.Machine, x.Name = b.where, b.name
		for _, c := range x.Text {
			t := causes[c]
			if t == nil {
				t = &touched{machines: map[string]bool{}}
				causes[c] = t
			}
			t.axes++
			t.machines[x.Machine] = true
		}
		out.Axes = append(out.Axes, x)
	}
	for c, t := range causes {
		out.Causes = append(out.Causes, Cause{c, t.axes, len(t.machines)})
	}
	slices.SortFunc(out.Causes, func(a, b Cause) int {
		return cmp.Or(cmp.Compare(b.Axes, a.Axes), spec.ComparePlaces(a.Place, b.Place), cmp.Compare(a.Name, b.Name))
	})
	slices.SortFunc(out.Axes, func(a, b Axis) int {
		return cmp.Or(cmp.Compare(a.gravity(), b.gravity()), cmp.Compare(a.Machine, b.Machine), cmp.Compare(a.Name, b.Name), spec.ComparePlaces(a.Place, b.Place))
	})
	return out
}

// gravity sorts axes: crossed limits first, then the greatest loss of margin.
func (a *Axis) gravity() float64 {
	g := 0.0
	for _, v := range a.Rules {
		switch v.Kind {
		case Crossed:
			g -= 1000
		case Unjudged:
			g -= 10
		case Worse:
			g = math.Min(g, -math.Min(9, v.Was-v.Is))
		}
	}
	return g
}

// Count counts the verdicts of a kind.
func (c *Comparison) Count(k Kind) int {
	n := 0
	for _, a := range c.Axes {
		for _, v := range a.Rules {
			if v.Kind == k {
				n++
			}
		}
	}
	return n
}

// Machines counts the machines of the axes that differ.
func (c *Comparison) Machines() int {
	seen := map[string]bool{}
	for _, a := range c.Axes {
		seen[a.Machine] = true
	}
	return len(seen)
}

func texts(a, b *axis) []Change {
	var out []Change
	add := func(x, y *declared) {
		var c Change
		if x != nil {
			c = Change{Name: x.name, Was: x.text, Place: x.place}
		}
		if y != nil {
			c.Name, c.Is = y.name, y.text
			if y.place.Valid() {
				c.Place = y.place
			}
		}
		if c.Was != c.Is && c.Name != "description" {
			out = append(out, c)
		}
	}
	together(a.declared, b.declared, declared.order, add)
	together(a.policies, b.policies, declared.order, add)
	slices.SortFunc(out, func(x, y Change) int {
		return cmp.Or(spec.ComparePlaces(x.Place, y.Place), cmp.Compare(x.Name, y.Name))
	})
	return out
}

func moves(a, b *axis) []Move {
	var out []Move
	for _, q := range mechanics.All() {
		x, y := a.quantities[q.ID()], b.quantities[q.ID()]
		known := x == x
		if known != (y == y) || !known || x == y || len(q.Words) > 0 {
			continue
		}
		by := (y - x) / math.Abs(x)
		if math.Abs(by) < small {
			continue
		}
		out = append(out, Move{q.Name, q.Title, unit.Format(x, q.Kind, b.sys), unit.Format(y, q.Kind, b.sys), by})
	}
	slices.SortStableFunc(out, func(x, y Move) int { return cmp.Compare(math.Abs(y.By), math.Abs(x.By)) })
	return out
}

func margin(r *result) float64 {
	if r.utilisation != r.utilisation {
		return math.NaN()
	}
	return judge.Margin(r.utilisation)
}

func judged(s judge.State) bool { return s == judge.Passed || s == judge.Failed }

func verdicts(a, b *axis) []Verdict {
	var out []Verdict
	together(a.rules, b.rules, result.order, func(x, y *result) {
		switch {
		case y != nil:
			if v, moved := verdict(x, y, a.waived[y.rule], b.waived[y.rule]); moved {
				out = append(out, v)
			}
		case judged(x.state):
			out = append(out, Verdict{Rule: x.rule, Kind: Unjudged, WasState: x.state.String(), Was: margin(x), Is: math.NaN()})
		}
	})
	sortVerdicts(out)
	return out
}

// verdict is how a rule moved, if it did; x is nil where it was not there. A waiver that
// accepts what it found is known by its last day.
func verdict(x, y *result, wasWaived, isWaived string) (v Verdict, moved bool) {
	v = Verdict{Rule: y.rule, IsState: y.state.String(), Was: math.NaN(), Is: margin(y), Until: isWaived}
	if x != nil {
		v.WasState, v.Was = x.state.String(), margin(x)
	} else {
		x = &result{state: judge.NotApplicable, utilisation: math.NaN()}
	}
	switch {
	case x.state != judge.Failed && y.state == judge.Failed:
		v.Kind = Crossed
	case wasWaived == "" && isWaived != "":
		v.Kind = Waived
	case wasWaived != "" && isWaived == "" && y.state == judge.Failed:
		v.Kind = Ended
	case x.state == judge.Failed && judged(y.state) && y.state != judge.Failed:
		v.Kind = Fixed
	case judged(x.state) && !judged(y.state):
		v.Kind = Unjudged
	case !judged(x.state) && judged(y.state):
		v.Kind = Judged
	case v.Was > ample && v.Is > ample, y.fit && y.state == judge.Passed:
		return v, false
	case judged(x.state) && judged(y.state) && x.utilisation == x.utilisation && y.utilisation == y.utilisation && math.Abs(y.utilisation-x.utilisation) >= small*math.Max(math.Abs(x.utilisation), math.Abs(y.utilisation)):
		v.Kind = Worse
		if y.utilisation < x.utilisation {
			v.Kind = Better
		}
	default:
		return v, false
	}
	return v, true
}

// failures are the rules a new axis fails.
func failures(a *axis, k Kind) []Verdict {
	var out []Verdict
	for i := range a.rules {
		if r := &a.rules[i]; r.state == judge.Failed {
			out = append(out, Verdict{Rule: r.rule, Kind: k, WasState: "", IsState: r.state.String(), Was: math.NaN(), Is: margin(r), Until: a.waived[r.rule]})
		}
	}
	sortVerdicts(out)
	return out
}

func sortVerdicts(v []Verdict) {
	slices.SortFunc(v, func(a, b Verdict) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Is, b.Is), cmp.Compare(a.Rule, b.Rule))
	})
}
