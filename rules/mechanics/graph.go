// Package mechanics holds the engineering of a ball-screw axis: pure formulas
// and, on top of them, the calculation graph.
//
// Every quantity is declared once as a package variable with its symbol, unit,
// formula, source and what it needs. A declared quantity (a leaf) has a value
// put in from outside, a computed one a function. Because a quantity names the
// quantities it needs, Go's own initialisation order puts the registry into an
// order in which every quantity stands behind its needs, and a cycle does not
// compile.
//
// Everything is in SI units: metre, kilogram, second, kelvin, radian. The
// package knows nothing of files or of how an axis was declared.
package mechanics

import (
	"math"
	mathbits "math/bits"
	"slices"
	"strconv"
	"strings"

	"trammel/spec/unit"
)

// Shape says how many numbers a quantity has.
type Shape uint8

const (
	Scalar   Shape = iota // one number an axis
	PerMove               // one number for each move of the cycle
	PerPhase              // four numbers for each move: see Part
)

// Part names the four phases of a move. A phase a move does not have lasts
// zero seconds.
type Part uint8

const (
	RampUp Part = iota
	Steady
	RampDown
	Rest // the dwell after the move
)

// String gives the part's name as a person would write it.
func (p Part) String() string {
	return [...]string{"ramp up", "steady", "ramp down", "rest"}[p]
}

// PhasesPerMove is the number of phases of one move.
const PhasesPerMove = 4

// A Quantity is one node of the calculation graph. Its fields are read-only.
type Quantity struct {
	Section Section                   // of the calculation, in which a reader finds it; none for a leaf
	Name    string                    // as in JSON output and policy files: "critical_speed"; a leaf bears the path of its declaration: "screw.lead"
	Symbol  string                    // as in ISO 3408-1 or usual in the trade: "n_c"
	Title   string                    // in words: "critical speed of the shaft"
	Kind    unit.Kind                 // physical kind; values are in its SI unit
	Shape   Shape                     // one number, or one for each move or phase
	Formula string                    // as a person would write it, and such that it can be worked out; empty for a leaf
	Source  string                    // where the formula comes from; empty for a leaf
	Words   []string                  // for a leaf that is a choice: its words; the value is an index into them
	Needs   []*Quantity               // all must be known
	May     []*Quantity               // used where known; passed as NaN where not
	Lacks   []*Quantity               // leaves to name where none of May was given and the result is undefined
	lackOf  func(c *Calc) []*Quantity // narrows Lacks to what this axis lacks; nil for all
	goes    goes                      // its course in a search within tolerances; nil: nothing is known
	inForce func(a []float64) string  // where the formula has cases, the one that counts for these values
	scalar  func(a []float64) float64
	elem    func(a []float64, p Part) float64
	fold    func(s [][]float64, a []float64) float64
	args    []*Quantity // Needs, then May
	from    []int       // their IDs: a search within tolerances looks at no more of them
	takes   bits        // the same
	shaped  []int       // those of args that are no scalars
	id      int
	at      int  // of a series, where it is in a Calc's store, counted for one move
	fatedBy bits // every quantity whose value can change this one, itself included
	fates   bits // every computed quantity that this one can change
}

// Leaf reports whether the quantity is declared rather than computed.
func (q *Quantity) Leaf() bool { return q.scalar == nil && q.elem == nil && q.fold == nil }

// ID is the quantity's index in All.
func (q *Quantity) ID() int { return q.id }

// DependsOn reports whether a change of leaf or quantity p can change q.
func (q *Quantity) DependsOn(p *Quantity) bool { return q.fatedBy.has(p.id) }

// String returns the quantity's name.
func (q *Quantity) String() string { return q.Name }

var (
	registry []*Quantity
	computed []*Quantity // those of registry that are no leaves
	byName   = map[string]*Quantity{}
	perMove  int // numbers that all series have for one move
)

// A Section is a part of the calculation as one makes it by hand; they are in that order.
type Section int

// The sections. Within one, quantities follow each other in the order of All.
const (
	Declared Section = iota // none: not computed
	OfMotion
	OfForces
	OfMeans // mean load and mean speed
	OfLife
	OfSpeedLimits
	OfStrength
	OfAccuracy
	OfDrive
	OfStopping
	OfLayout
	OfService
	Sections // how many there are
)

func init() {
	for _, q := range computed {
		for _, n := range registry[:q.id] {
			if q.DependsOn(n) {
				n.fates.set(q.id)
			}
		}
	}
	ofCase = Plan(registry, Case)
}

// All returns every quantity, each behind those it needs.
func All() []*Quantity { return registry }

// ByName finds a quantity by its name, or returns nil.
func ByName(name string) *Quantity { return byName[name] }

func add(q Quantity) *Quantity {
	p := &q
	if byName[q.Name] != nil {
		panic("mechanics: two quantities are named " + q.Name)
	}
	p.args = append(append([]*Quantity(nil), q.Needs...), q.May...)
	p.id, p.at = len(registry), perMove
	perMove += length(q.Shape, 1)
	p.fatedBy.set(p.id)
	for i, n := range p.args {
		p.fatedBy.or(&n.fatedBy)
		p.from = append(p.from, n.id)
		p.takes.set(n.id)
		if n.Shape != Scalar {
			p.shaped = append(p.shaped, i)
		}
	}
	if p.Leaf() != (p.Section == Declared) {
		panic("mechanics: what is computed, and nothing else, is in a section: " + q.Name)
	}
	registry = append(registry, p)
	if !p.Leaf() {
		computed = append(computed, p)
	}
	byName[q.Name] = p
	return p
}

// leaf declares a scalar leaf.
func leaf(name, symbol, title string, k unit.Kind) *Quantity {
	return add(Quantity{Name: name, Symbol: symbol, Title: title, Kind: k})
}

// choice declares a leaf that is one of some words.
func choice(name, title string, words ...string) *Quantity {
	return add(Quantity{Name: name, Symbol: "", Title: title, Words: words})
}

// moveLeaf declares a leaf with one value for each move.
func moveLeaf(name, symbol, title string, k unit.Kind) *Quantity {
	return add(Quantity{Name: name, Symbol: symbol, Title: title, Kind: k, Shape: PerMove})
}

// calc declares a scalar computed from scalars.
func calc(q Quantity, f func(a []float64) float64) *Quantity {
	q.scalar = f
	return add(q)
}

// each declares a quantity of shape PerMove or PerPhase computed element by
// element; scalars and moves are spread over the elements.
func each(q Quantity, f func(a []float64, p Part) float64) *Quantity {
	q.elem = f
	return add(q)
}

// fold declares a scalar computed from whole series.
func fold(q Quantity, f func(s [][]float64, a []float64) float64) *Quantity {
	q.fold = f
	return add(q)
}

func qs(list ...*Quantity) []*Quantity { return list }

// f1 to f5 fit a formula with plain arguments to a node.
func f1(f func(a float64) float64) func([]float64) float64 {
	return func(x []float64) float64 { return f(x[0]) }
}

func f2(f func(a, b float64) float64) func([]float64) float64 {
	return func(x []float64) float64 { return f(x[0], x[1]) }
}

func f3(f func(a, b, c float64) float64) func([]float64) float64 {
	return func(x []float64) float64 { return f(x[0], x[1], x[2]) }
}

func f4(f func(a, b, c, d float64) float64) func([]float64) float64 {
	return func(x []float64) float64 { return f(x[0], x[1], x[2], x[3]) }
}

func f5(f func(a, b, c, d, e float64) float64) func([]float64) float64 {
	return func(x []float64) float64 { return f(x[0], x[1], x[2], x[3], x[4]) }
}

// bits is a set of quantity IDs.
type bits [8]uint64

// A Set notes quantities.
type Set struct{ bits }

// Empty takes everything out of the set.
func (s *Set) Empty() { s.bits = bits{} }

// Within reports whether o holds everything that s holds.
func (s *Set) Within(o *Set) bool {
	for i := range s.bits {
		if s.bits[i]&^o.bits[i] != 0 {
			return false
		}
	}
	return true
}

// Both is what both sets hold.
func (s *Set) Both(o *Set) (out Set) {
	for i := range s.bits {
		out.bits[i] = s.bits[i] & o.bits[i]
	}
	return out
}

// Without is what the set holds and neither of the others does.
func (s *Set) Without(a, b *Set) (out Set) {
	for i := range s.bits {
		out.bits[i] = s.bits[i] &^ (a.bits[i] | b.bits[i])
	}
	return out
}

// IsEmpty reports whether the set holds nothing.
func (s *Set) IsEmpty() bool { return s.bits == bits{} }

// Join puts everything that o holds in the set.
func (s *Set) Join(o *Set) { s.or(&o.bits) }

// Add puts in the set what a change of the given leaves can change of all that the
// targets hang on: Plan as a set.
func (s *Set) Add(targets []*Quantity, changed ...*Quantity) {
	var wanted, moved bits
	for _, t := range targets {
		wanted.or(&t.fatedBy)
	}
	for _, l := range changed {
		moved.or(&l.fates)
	}
	for i := range s.bits {
		s.bits[i] |= wanted[i] & moved[i]
	}
}

// List lists the quantities of the set in registry order.
func (s *Set) List() []*Quantity {
	var out []*Quantity
	for _, q := range registry {
		if s.has(q.id) {
			out = append(out, q)
		}
	}
	return out
}

func (b *bits) set(i int)      { b[i>>6] |= 1 << (i & 63) }
func (b *bits) has(i int) bool { return b[i>>6]&(1<<(i&63)) != 0 }
func (b *bits) meets(o *bits) bool {
	for i := range b {
		if b[i]&o[i] != 0 {
			return true
		}
	}
	return false
}
func (b *bits) or(o *bits) {
	for i := range b {
		b[i] |= o[i]
	}
}

// Calc is one evaluation of the graph: the leaves of one axis and everything
// that follows from them. It may be used again after Reset; it is not safe for
// use by several goroutines at once. A value that is not known is NaN.
type Calc struct {
	moves  int
	one    []float64 // by ID, scalars
	store  []float64 // the others, see row
	argv   [32]float64
	argsrs [16][]float64
	watch  Watch // see Watch
	lost   []Gap // see Lose
	losses bits  // the leaves of lost
}

// A Watch says where what is read is noted; nowhere without a set.
type Watch struct {
	Set *Set
	Far bool // what is read of copies too, and what is said to depend on quantities unread
}

// Watch notes every quantity that is read from now on; a Watch without a set ends it.
// Computing asks for nothing.
func (c *Calc) Watch(w Watch) { c.watch = w }

// Note notes quantities as read if the watch is a far one: something was made to depend on
// them without a look at their values.
func (c *Calc) Note(list ...*Quantity) {
	if !c.watch.Far {
		return
	}
	for _, q := range list {
		c.note(q)
	}
}

// Watched is what Watch was given.
func (c *Calc) Watched() Watch { return c.watch }

func (c *Calc) note(q *Quantity) {
	if c.watch.Set != nil {
		c.watch.Set.set(q.id)
	}
}

// NewCalc returns an empty Calc for no moves.
func NewCalc() *Calc {
	c := &Calc{one: make([]float64, len(registry))}
	c.Reset(0)
	return c
}

// Reset forgets all values and makes room for a cycle of the given number of
// moves.
func (c *Calc) Reset(moves int) {
	c.lost, c.losses = nil, bits{}
	c.makeRoom(moves)
	nan := math.NaN()
	for i := range c.one {
		c.one[i] = nan
	}
	for i := range c.store {
		c.store[i] = nan
	}
}

// makeRoom makes the store as long as a cycle of the given number of moves needs.
func (c *Calc) makeRoom(moves int) {
	need := perMove * moves
	if cap(c.store) < need {
		c.store = make([]float64, need)
	}
	c.store, c.moves = c.store[:need], moves
}

// row is the part of the store that holds the values of a series.
func (c *Calc) row(q *Quantity) []float64 {
	from, n := q.at*c.moves, length(q.Shape, c.moves)
	return c.store[from : from+n : from+n]
}

func length(s Shape, moves int) int {
	switch s {
	case PerMove:
		return moves
	case PerPhase:
		return moves * PhasesPerMove
	}
	return 0
}

// CopyFrom makes c hold the values of o, and note what is read where o does if its watch is
// a far one.
func (c *Calc) CopyFrom(o *Calc) {
	c.makeRoom(o.moves)
	copy(c.one, o.one)
	copy(c.store, o.store)
	c.lost, c.losses = o.lost, o.losses
	switch {
	case o.watch.Far:
		c.watch = o.watch
	case c.watch.Far:
		c.watch = Watch{}
	}
}

// Lose says of a leaf, or of one move's value of it (move is -1 for a scalar), that
// there is a value which could not be read. Nothing that depends on it is known
// then, not even what would count it as none where it is not given.
func (c *Calc) Lose(q *Quantity, move int) {
	c.lost = append(c.lost[:len(c.lost):len(c.lost)], Gap{q, move})
	c.losses.set(q.id)
}

// Lost lists the values that could not be read and that q depends on.
func (c *Calc) Lost(q *Quantity) []Gap {
	if !q.fatedBy.meets(&c.losses) {
		return nil
	}
	var out []Gap
	for _, g := range c.lost {
		if q.DependsOn(g.Leaf) {
			out = append(out, g)
		}
	}
	return out
}

// forget takes back Lose of a leaf.
func (c *Calc) forget(q *Quantity) {
	c.lost = slices.DeleteFunc(slices.Clone(c.lost), func(g Gap) bool { return g.Leaf == q })
	c.losses[q.id>>6] &^= 1 << (q.id & 63)
}

// Moves is the number of moves of the cycle.
func (c *Calc) Moves() int { return c.moves }

// Set gives a scalar leaf its value in SI units, or its word's index.
func (c *Calc) Set(q *Quantity, v float64) {
	c.one[q.id] = v
	if len(c.lost) > 0 && c.losses.has(q.id) {
		c.forget(q)
	}
}

// SetMove gives the leaf its value for move i.
func (c *Calc) SetMove(q *Quantity, i int, v float64) { c.row(q)[i] = v }

// Value returns a scalar quantity; ok is false where it is not known.
func (c *Calc) Value(q *Quantity) (v float64, ok bool) {
	c.note(q)
	v = c.one[q.id]
	return v, !math.IsNaN(v)
}

// V returns a scalar quantity, NaN where it is not known.
func (c *Calc) V(q *Quantity) float64 {
	c.note(q)
	return c.one[q.id]
}

// Word returns the chosen word of a choice, "" where none was made.
func (c *Calc) Word(q *Quantity) string {
	v := c.V(q)
	if math.IsNaN(v) {
		return ""
	}
	return q.Words[int(v)]
}

// Series returns the values of a quantity of shape PerMove or PerPhase. The
// slice belongs to c.
func (c *Calc) Series(q *Quantity) []float64 {
	c.note(q)
	return c.row(q)
}

// FormulaFor is the formula of a scalar quantity, reduced to the case that
// counts for the values at hand where the formula has several.
func (c *Calc) FormulaFor(q *Quantity) string {
	if q.inForce == nil || !c.Known(q) {
		return q.Formula
	}
	a := make([]float64, len(q.args))
	for i, n := range q.args {
		a[i] = c.one[n.id]
	}
	return q.inForce(a)
}

// plainNumber writes a number of a formula, without what rounding left of it.
func plainNumber(x float64) string { return strconv.FormatFloat(x, 'g', 12, 64) }

// firstOf is the case of a quantity that takes the first known of two.
func firstOf(first, second string) func([]float64) string {
	return func(a []float64) string {
		if a[0] == a[0] {
			return first
		}
		return second
	}
}

// given strikes out of a formula the terms whose quantities are not known and
// count as none. Each pair is a value and its term.
func given(formula string, terms ...any) string {
	for i := 0; i < len(terms); i += 2 {
		if v := terms[i].(float64); v != v {
			formula = strings.Replace(formula, terms[i+1].(string), "", 1)
		}
	}
	return formula
}

// Known reports whether a quantity has its value, or all its values.
func (c *Calc) Known(q *Quantity) bool {
	c.note(q)
	return c.known(q)
}

func (c *Calc) known(q *Quantity) bool {
	if q.Shape == Scalar {
		return !math.IsNaN(c.one[q.id])
	}
	s := c.row(q)
	for _, v := range s {
		if math.IsNaN(v) {
			return false
		}
	}
	return len(s) > 0
}

// Run computes every computed quantity from the leaves.
func (c *Calc) Run() {
	for _, q := range computed {
		c.eval(q)
	}
}

// Plan lists, in order, the quantities to compute again after the given leaves
// changed in order to know the targets.
func Plan(targets []*Quantity, changed ...*Quantity) []*Quantity {
	var wanted bits
	for _, t := range targets {
		wanted.or(&t.fatedBy)
	}
	var plan []*Quantity
	for _, q := range registry {
		if q.Leaf() || !wanted.has(q.id) {
			continue
		}
		for _, l := range changed {
			if q.fatedBy.has(l.id) {
				plan = append(plan, q)
				break
			}
		}
	}
	return plan
}

// RunPlan computes the quantities of a plan.
func (c *Calc) RunPlan(plan []*Quantity) {
	for _, q := range plan {
		c.eval(q)
	}
}

// Take gives c the values of o of the quantities of a set.
func (c *Calc) Take(o *Calc, set *Set) {
	for i := range set.bits {
		for left := set.bits[i]; left != 0; left &= left - 1 {
			id := i<<6 + mathbits.TrailingZeros64(left)
			c.one[id] = o.one[id]
			if q := registry[id]; q.Shape != Scalar {
				copy(c.row(q), o.row(q))
			}
		}
	}
}

// RunSet computes those quantities of a set that are not done, and notes them there.
func (c *Calc) RunSet(plan, done *Set) {
	for i := range plan.bits {
		for left := plan.bits[i] &^ done.bits[i]; left != 0; left &= left - 1 {
			c.eval(registry[i<<6+mathbits.TrailingZeros64(left)])
		}
		done.bits[i] |= plan.bits[i]
	}
}

// RunAfter computes everything that leaves can change.
func (c *Calc) RunAfter(leaves ...*Quantity) {
	var s, none Set
	for _, l := range leaves {
		s.or(&l.fates)
	}
	c.RunSet(&s, &none)
}

// Meets reports whether o and the set have a quantity in common.
func (s *Set) Meets(o *Set) bool { return s.meets(&o.bits) }

// AddUnder puts in the set each of the targets and all that they hang on.
func (s *Set) AddUnder(targets ...*Quantity) {
	for _, t := range targets {
		s.or(&t.fatedBy)
	}
}

// AddOver puts in the set a leaf and all that it can change.
func (s *Set) AddOver(leaf *Quantity) {
	s.set(leaf.id)
	s.or(&leaf.fates)
}

// ofCase is everything that hangs on the case.
var ofCase []*Quantity

// Assume makes c hold the values of o as they are in another case. It gives the quantities
// that may differ from those of o, there and wherever quantities of loose have other values
// in both: all else is the same in both cases.
func (c *Calc) Assume(k float64, o *Calc, loose *Set) Set {
	c.CopyFrom(o)
	c.Set(Case, k)
	return c.apart(o, loose, true)
}

// Apart gives the quantities that may differ between two cases, as Assume does.
func (c *Calc) Apart(o *Calc, loose *Set) Set { return c.apart(o, loose, false) }

// apart compares c with o, and first computes of c what may differ if run is set.
func (c *Calc) apart(o *Calc, loose *Set, run bool) (differ Set) {
	differ.set(Case.id)
	for _, q := range ofCase {
		if !q.takes.meets(&differ.bits) {
			continue
		}
		if run {
			c.eval(q)
		}
		if loose.has(q.id) || !c.same(o, q) {
			differ.set(q.id)
		}
	}
	differ.bits[Case.id>>6] &^= 1 << (Case.id & 63)
	return differ
}

// same reports whether a quantity has the very same values in both.
func (c *Calc) same(o *Calc, q *Quantity) bool {
	x, y := c.one[q.id:q.id+1], o.one[q.id:q.id+1]
	if q.Shape != Scalar {
		x, y = c.row(q), o.row(q)
	}
	for i := range x {
		if math.Float64bits(x[i]) != math.Float64bits(y[i]) {
			return false
		}
	}
	return true
}

// AnyDepends reports whether a change of leaf can change one of the quantities.
func AnyDepends(list []*Quantity, leaf *Quantity) bool {
	for _, q := range list {
		if q.DependsOn(leaf) {
			return true
		}
	}
	return false
}

func (c *Calc) eval(q *Quantity) {
	switch {
	case len(c.lost) > 0 && q.fatedBy.meets(&c.losses):
		c.unknow(q)
	case q.scalar != nil:
		a := c.argv[:len(q.from)]
		for i, id := range q.from {
			v := c.one[id]
			if v != v && i < len(q.Needs) {
				c.one[q.id] = math.NaN()
				return
			}
			a[i] = v
		}
		c.one[q.id] = q.scalar(a)
	case q.fold != nil:
		a, s := c.argv[:0], c.argsrs[:0]
		for i, n := range q.args {
			if n.Shape == Scalar {
				v := c.one[n.id]
				if v != v && i < len(q.Needs) {
					c.one[q.id] = math.NaN()
					return
				}
				a = append(a, v)
				continue
			}
			if i < len(q.Needs) && !c.known(n) {
				c.one[q.id] = math.NaN()
				return
			}
			s = append(s, c.row(n))
		}
		c.one[q.id] = q.fold(s, a)
	default:
		c.evalEach(q)
	}
}

// unknow makes a quantity one that is not known.
func (c *Calc) unknow(q *Quantity) {
	if q.Shape == Scalar {
		c.one[q.id] = math.NaN()
	}
	for j := range c.row(q) {
		c.row(q)[j] = math.NaN()
	}
}

// evalEach finds what it can outside its loop: the search within tolerances
// spends most of its time here.
func (c *Calc) evalEach(q *Quantity) {
	out, a, needed := c.row(q), c.argv[:len(q.args)], len(q.Needs)
	rows := c.argsrs[:0]
	known := true
	for i, n := range q.args {
		if n.Shape != Scalar {
			rows = append(rows, c.row(n))
			continue
		}
		a[i] = c.one[n.id]
		known = known && (a[i] == a[i] || i >= needed)
	}
	for j := range out {
		known := known
		for k, i := range q.shaped {
			at := j
			if len(rows[k]) < len(out) { // a move's value in a phase
				at = j / PhasesPerMove
			}
			v := rows[k][at]
			a[i] = v
			if v != v && i < needed {
				known = false
			}
		}
		if known {
			out[j] = q.elem(a, Part(j%PhasesPerMove))
		} else {
			out[j] = math.NaN()
		}
	}
}

// lacksMore reports whether q would still not be known if all it needs were: it
// is tried with ones in place of what is missing.
func (c *Calc) lacksMore(q *Quantity) bool {
	if len(q.Lacks) == 0 {
		return false
	}
	fill := q.filled
	a := make([]float64, 0, len(q.args))
	switch {
	case q.scalar != nil:
		for i, n := range q.args {
			a = append(a, fill(c.one[n.id], i))
		}
		return math.IsNaN(q.scalar(a))
	case q.fold != nil:
		var s [][]float64
		for i, n := range q.args {
			if n.Shape == Scalar {
				a = append(a, fill(c.one[n.id], i))
				continue
			}
			row := append([]float64(nil), c.row(n)...)
			for k := range row {
				row[k] = fill(row[k], i)
			}
			s = append(s, row)
		}
		return math.IsNaN(q.fold(s, a))
	}
	for j := range c.row(q) {
		if c.elementLacks(q, j) {
			return true
		}
	}
	return false
}

// filled is the value of the i-th quantity q takes, or one where q needs it and
// it is not known.
func (q *Quantity) filled(v float64, i int) float64 {
	if v != v && i < len(q.Needs) {
		return 1
	}
	return v
}

// elementLacks is lacksMore for one element of a series.
func (c *Calc) elementLacks(q *Quantity, j int) bool {
	a := make([]float64, 0, len(q.args))
	for i, n := range q.args {
		v := c.one[n.id]
		switch n.Shape {
		case Scalar:
		case q.Shape:
			v = c.row(n)[j]
		default:
			v = c.row(n)[j/PhasesPerMove]
		}
		a = append(a, q.filled(v, i))
	}
	return math.IsNaN(q.elem(a, Part(j%PhasesPerMove)))
}

// A Gap is a leaf that is not known though something needs it, or would use it if
// it could be read. Move is the index of the move it belongs to, or -1.
type Gap struct {
	Leaf *Quantity
	Move int
}

// Gaps lists the leaves that keep q from being known, in registry order; none
// where q is known. A quantity that is undefined though all it needs is known
// (for example the critical speed of a shaft held at no end) gives no gaps.
func (c *Calc) Gaps(q *Quantity) []Gap {
	c.note(q)
	gaps := c.Lost(q)
	var seen bits
	for _, g := range gaps {
		seen.set(g.Leaf.id)
	}
	c.gaps(q, &seen, &gaps)
	return gaps
}

func (c *Calc) gaps(q *Quantity, seen *bits, gaps *[]Gap) {
	if seen.has(q.id) || c.known(q) {
		return
	}
	seen.set(q.id)
	if q.Leaf() {
		if q.Shape == Scalar {
			*gaps = append(*gaps, Gap{q, -1})
			return
		}
		if c.moves == 0 {
			*gaps = append(*gaps, Gap{q, -1})
		}
		for i, v := range c.row(q) {
			if math.IsNaN(v) {
				*gaps = append(*gaps, Gap{q, i})
			}
		}
		return
	}
	known := true
	for _, n := range q.Needs {
		c.gaps(n, seen, gaps)
		known = known && c.known(n)
	}
	if !known && !c.lacksMore(q) || q.fatedBy.meets(&c.losses) {
		return
	}
	lacks := q.Lacks
	if q.lackOf != nil {
		lacks = q.lackOf(c)
	}
	for _, n := range lacks {
		if n.Shape == PerMove && q.Shape == PerMove && c.moves > 0 {
			c.moveGaps(q, n, gaps)
			continue
		}
		c.gaps(n, seen, gaps)
	}
}

// moveGaps adds the leaf n of those moves only for which q is not known.
func (c *Calc) moveGaps(q, n *Quantity, gaps *[]Gap) {
	for i, v := range c.row(n) {
		if g := (Gap{n, i}); math.IsNaN(v) && c.elementLacks(q, i) && !slices.Contains(*gaps, g) {
			*gaps = append(*gaps, g)
		}
	}
}
