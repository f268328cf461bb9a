package judge

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A Parameter is one thing a designer can change. Solving for it finds the least
// change that makes a test pass, written with few digits on the safe side.
type Parameter struct {
	Leaf   *mechanics.Quantity
	Words  string           // with %s for the new value
	Up     bool             // larger values help; else smaller ones
	Steps  func() []float64 // preferred values, rising; nil for any value
	To     float64          // for a choice: the index to change to
	If     func(v *View) bool
	Create bool                // solved for from nothing where nothing is declared
	From   *mechanics.Quantity // solved for from this value where nothing is declared
	Group  string              // of parameters of one group, only the first that helps is offered
}

// trial is a view with one parameter varied, for asking a test again.
type trial struct {
	v    View
	l    *Parameter
	only int // the move that is changed; -1: all
	plan []*mechanics.Quantity
}

// bound is what the parameter at x makes of a value: it only ever helps. A
// preferred size is another part: it takes the place of the value.
func (l *Parameter) bound(have, x float64) float64 {
	if l.Steps != nil {
		return x
	}
	if l.Up {
		return math.Max(have, x)
	}
	return math.Min(have, x)
}

// value is a declared value as the parameter at x leaves it.
func (l *Parameter) value(have *spec.Value, x float64) *spec.Value {
	out := *have
	if len(l.Leaf.Words) > 0 {
		out.Word, out.Text = int(x), l.Leaf.Words[int(x)]
		return &out
	}
	out.Num = unit.Quantity{Nominal: l.bound(have.Num.Nominal, x), Low: l.bound(have.Num.Low, x), High: l.bound(have.Num.High, x)}
	return &out
}

// set puts the parameter at x.
func (t *trial) set(from *mechanics.Calc, x float64) {
	c, l := t.v.Calc, t.l
	t.v.varied, t.v.to = l, x
	if l.Leaf.Shape == mechanics.Scalar {
		if have, ok := from.Value(l.Leaf); ok && len(l.Leaf.Words) == 0 {
			x = l.bound(have, x)
		}
		c.Set(l.Leaf, x)
		return
	}
	for i, have := range from.Series(l.Leaf) {
		if !math.IsNaN(have) && (t.only < 0 || t.only == i) {
			c.SetMove(l.Leaf, i, l.bound(have, x))
		}
	}
}

// asks gives the utilisation of a test as the parameter stands, of its limit and of its
// advice where that counts: a fix leaves no warning behind. It is NaN where it
// is not known.
func (t *trial) asks(r *Rule, test *Test) float64 {
	if test.Applies != nil && test.Applies(&t.v) != "" || r.Applies != nil && r.Applies(&t.v) != "" {
		return 0
	}
	return t.v.worstUtilisation(r, test)
}

// mixed is by how much a mixture of what is assumed may be worse than its ends.
const mixed = 1.01

// worstUtilisation is the use of a test in the usual case or, where that passes, at the ends
// of what is assumed if it is more there.
func (v *View) worstUtilisation(r *Rule, test *Test) float64 {
	u := v.utilisation(r, test)
	if u > 1+Slack || !v.assumesNow(test) {
		return u
	}
	for _, k := range ends {
		v.Calc.Set(mechanics.Case, k)
		v.Calc.RunPlan(test.casePlan)
		if test.Applies != nil && test.Applies(v) != "" || r.Applies != nil && r.Applies(v) != "" {
			continue
		}
		u = math.Max(u, v.utilisation(r, test)*mixed) // NaN where one is
	}
	v.Calc.Set(mechanics.Case, mechanics.Usual)
	v.Calc.RunPlan(test.casePlan)
	return u
}

// utilisation is the use of a test's limit, or of its advice where that counts and
// more of it is used; NaN where it is not known.
func (v *View) utilisation(r *Rule, t *Test) float64 {
	limit, _, ok := v.limit(r, &t.Limit)
	if !ok || !v.knows(t) {
		return math.NaN()
	}
	u := t.utilisation(v.Calc, limit)
	if t.Advice != nil && v.InForce.Settings[r.Index].Severity > Note {
		if advice, _, ok := v.limit(r, t.Advice); ok {
			u = math.Max(u, t.utilisation(v.Calc, advice))
		}
	}
	return u
}

// least is where a parameter begins that is solved for from nothing, in SI units.
const least = 1e-3

// solve finds the least change that makes the test pass. With tolerances the worst
// case counts, so the trial starts from it.
func (j *Judge) solve(b *Scratch, v *View, r *Rule, test *Test, l *Parameter) (Draft, bool) {
	start := v.Calc
	defer b.giveBack(b.taken)
	if !test.Nominal {
		w, ok := v.worstFor(b, r, test, l)
		if !ok {
			return Draft{}, false
		}
		start = w
	}
	b.from.CopyFrom(start)
	b.trial.CopyFrom(start)
	t := &trial{v: *v, l: l, only: -1, plan: mechanics.Plan(test.watch, l.Leaf)}
	t.v.Calc = b.trial
	if test.Of == nil || l.Leaf.Shape == mechanics.Scalar {
		text, x, ok := t.reach(b, func() float64 { return t.asks(r, test) })
		return Draft{t.words(text, x), l.lines(v, text, x, -1)}, ok
	}
	// Each move that fails is changed for itself.
	var out Draft
	limit, _, _ := v.limit(r, &test.Limit)
	for i := range v.Axis.Moves {
		if !(test.Of(&t.v, i, limit) > 1+Slack) {
			continue
		}
		t.only = i
		text, x, ok := t.reach(b, func() float64 { return test.Of(&t.v, i, limit) })
		if !ok {
			return Draft{}, false
		}
		if out.Words != "" {
			out.Words += " and "
		}
		out.Words += t.words(text, x)
		out.Lines = append(out.Lines, l.lines(v, text, x, i)...)
		b.trial.CopyFrom(b.from)
	}
	return out, len(out.Lines) > 0
}

// worstFor gives the values within the tolerances from which a parameter is solved for.
func (v *View) worstFor(b *Scratch, r *Rule, test *Test, l *Parameter) (*mechanics.Calc, bool) {
	at := *v
	_, there := present(v.Calc, l, -1)
	if !there && l.Create {
		// Of nothing every case is as bad; of a little the worst shows.
		at.Calc = mechanics.NewCalc()
		at.Calc.CopyFrom(v.Calc)
		at.Calc.Set(l.Leaf, least)
		at.Calc.Run()
	}
	w := at.worst(b, r, test)
	if w.view == nil {
		return nil, false
	}
	w.settle()
	if !there && l.Create {
		w.view.Calc.Set(l.Leaf, math.NaN())
	}
	return w.view.Calc, true
}

// reach moves the parameter until the utilisation is within the limit. It
// gives the value as it is to be written, and the number that then counts.
func (t *trial) reach(b *Scratch, use func() float64) (string, float64, bool) {
	l, from := t.l, b.from
	passes := func(x float64) bool {
		if !b.spend(Phases(from.Moves())) {
			return false
		}
		t.set(from, x)
		t.v.Calc.RunPlan(t.plan)
		return use() <= 1+Slack
	}
	if len(l.Leaf.Words) > 0 {
		_, ok := from.Value(l.Leaf)
		return l.Leaf.Words[int(l.To)], l.To, ok && passes(l.To)
	}
	now, ok := present(from, l, t.only)
	if !ok && l.From != nil {
		now, ok = from.Value(l.From)
	}
	steps := 21
	if !ok && l.Create {
		now, ok, steps = 0, true, 300
	}
	if !ok || now < 0 {
		return "", 0, false
	}
	if l.Steps != nil && t.v.Units() == unit.Metric { // preferred sizes are metric
		return l.step(now, passes)
	}
	good, ok := l.walk(now, steps, passes)
	if !ok {
		return "", 0, false
	}
	// To the nearest round value if that passes, else to the safe side.
	safe := math.Floor
	if l.Up {
		safe = math.Ceil
	}
	u := t.unitFor(good)
	for digits := 3; digits <= 6; digits++ {
		for _, to := range []func(float64) float64{math.Round, safe} {
			if text, x, ok := WriteOut(good, l.Leaf.Kind, u, digits, to); ok && passes(x) {
				return text, x, true
			}
		}
	}
	return "", 0, false
}

// step is the nearest preferred size that passes, in the millimetres it is
// preferred in.
func (l *Parameter) step(now float64, passes func(float64) bool) (string, float64, bool) {
	sizes := l.Steps()
	for i := range sizes {
		x := sizes[i]
		if !l.Up {
			x = sizes[len(sizes)-1-i]
		}
		if (x > now) == l.Up && passes(x) {
			return WriteOut(x, unit.Length, "mm", 6, math.Round)
		}
	}
	return "", 0, false
}

// walk finds the least change that passes: outward until it does, then by halves.
// What would take more than four times the present value is no fix but another
// design.
func (l *Parameter) walk(now float64, steps int, passes func(float64) bool) (float64, bool) {
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
	return good, true
}

// WriteOut writes a value with so many digits of a unit, and says what number it
// then is when it is read.
func WriteOut(x float64, k unit.Kind, u string, digits int, to func(float64) float64) (string, float64, bool) {
	n, ok := x, true
	if k != unit.None {
		n, ok = unit.In(x, k, u)
	}
	if !ok || n == 0 || math.IsInf(n, 0) {
		return "", 0, false
	}
	exponent := digits - 1 - int(math.Floor(math.Log10(math.Abs(n))))
	n = to(n*math.Pow10(exponent)) / math.Pow10(exponent)
	text := strconv.FormatFloat(n, 'f', max(0, exponent), 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if k != unit.None {
		text += " " + u
	}
	q, err := unit.Parse(text, k)
	return text, q.Nominal, err == nil
}

// present is where the parameter stands now: of several moves at the value that is
// worst for it. only is the one move that counts, -1 for all.
func present(c *mechanics.Calc, l *Parameter, only int) (float64, bool) {
	if l.Leaf.Shape == mechanics.Scalar {
		return c.Value(l.Leaf)
	}
	best, found := 0.0, false
	for i, x := range c.Series(l.Leaf) {
		if math.IsNaN(x) || only >= 0 && only != i {
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

// unitFor is the unit in which a value of the parameter is written: that of the line
// it takes the place of, else one that suits the value.
func (t *trial) unitFor(x float64) string {
	f := FieldOfLeaf[t.l.Leaf.ID()]
	if t.l.Leaf.Shape == mechanics.Scalar {
		if have := t.v.Axis.Get(f); have != nil && have.Place.Valid() {
			return unit.UnitOf(have.Text)
		}
	} else {
		for i, m := range t.v.Axis.Moves {
			if have := m.Get(f); have != nil && have.Num.Nominal != 0 && (t.only < 0 || t.only == i) {
				return unit.UnitOf(have.Text)
			}
		}
	}
	return unit.UnitOf(unit.FormatExact(x, t.l.Leaf.Kind, system(t.v.Axis)))
}

// words says what the parameter at a value is, as written or in the units the run
// requested; then too it is rounded to the safe side.
func (t *trial) words(text string, x float64) string {
	l := t.l
	if len(l.Leaf.Words) > 0 {
		return l.Words
	}
	if t.v.forced && l.Leaf.Kind != unit.None {
		text = unit.FormatDown(x, l.Leaf.Kind, t.v.Units())
		if l.Up {
			text = unit.FormatUp(x, l.Leaf.Kind, t.v.Units())
		}
	}
	words := l.Words
	if t.only >= 0 {
		for _, sign := range []string{" ≤", " ≥"} {
			words = strings.Replace(words, sign, " of move "+t.v.Axis.Moves[t.only].Name+sign, 1)
		}
	}
	return fmt.Sprintf(words, text)
}

func (v *View) knows(t *Test) bool {
	for _, q := range t.all {
		if !v.Calc.Known(q) {
			return false
		}
	}
	return true
}
