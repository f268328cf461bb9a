package judge

import (
	"math"

	"trammel/rules/mechanics"
)

// points are the values of one case of an axis at places within its tolerances. Many tests
// look at the same places, the corners and the samples along an edge: each is computed once.
type points struct {
	base  *mechanics.Calc // of the middle values
	plans map[uint64][]*mechanics.Quantity
	at    map[uint64]int // where a place is in calcs, by hash
	keys  []place
	calcs []*mechanics.Calc // the first len(keys) hold a place, the others wait for one
}

// A place gives some leaves values other than the middle ones.
type place struct {
	which uint64 // a bit for each of the axis's tolerances that is given a value
	x     []float64
}

// maxPoints bounds the memory of one case: a place takes some 20 kB.
const maxPoints = 192

// clear forgets all places and keeps their memory.
func (p *points) clear() {
	p.base, p.keys = nil, p.keys[:0]
	clear(p.plans)
	clear(p.at)
}

// pointsOf are the points of the case that a view shows of the axis which the scratch
// memory judges whole; nil for any other view.
func (b *Scratch) pointsOf(v *View) *points {
	if b.casesOf != v.Axis || len(b.tolerances) > 64 {
		return nil
	}
	for i, c := range [...]*mechanics.Calc{b.Calc, b.cases[0], b.cases[1]} {
		if v.Calc == c {
			b.points[i].base = c
			return &b.points[i]
		}
	}
	return nil
}

// get gives all values at a place, for reading only; nil where there is no room for more.
func (p *points) get(which uint64, at []toleranceRange, x []float64) *mechanics.Calc {
	key := place{which, x}
	h := key.hash()
	if i, ok := p.at[h]; ok {
		if p.keys[i].equals(key) {
			return p.calcs[i]
		}
		return nil
	}
	n := len(p.keys)
	if n == maxPoints {
		return nil
	}
	if n == len(p.calcs) {
		p.calcs = append(p.calcs, mechanics.NewCalc())
	}
	c := p.calcs[n]
	c.CopyFrom(p.base)
	for i, s := range at {
		s.set(c, x[i])
	}
	c.RunPlan(p.plan(which, at))
	if p.at == nil {
		p.at = map[uint64]int{}
	}
	p.at[h] = n
	p.keys = append(p.keys, place{which, append([]float64(nil), x...)})
	return c
}

// plan is everything that hangs on the leaves of a place.
func (p *points) plan(which uint64, at []toleranceRange) []*mechanics.Quantity {
	if plan, ok := p.plans[which]; ok {
		return plan
	}
	if p.plans == nil {
		p.plans = map[uint64][]*mechanics.Quantity{}
	}
	p.plans[which] = mechanics.Plan(mechanics.All(), leavesOf(at)...)
	return p.plans[which]
}

func leavesOf(at []toleranceRange) []*mechanics.Quantity {
	leaves := make([]*mechanics.Quantity, len(at))
	for i, s := range at {
		leaves[i] = s.leaf
	}
	return leaves
}

func (k place) hash() uint64 {
	h := k.which
	for _, x := range k.x {
		h = (h ^ math.Float64bits(x)) * 0x9e3779b97f4a7c15
		h ^= h >> 29
	}
	return h
}

func (k place) equals(o place) bool {
	if k.which != o.which || len(k.x) != len(o.x) {
		return false
	}
	for i := range k.x {
		if k.x[i] != o.x[i] {
			return false
		}
	}
	return true
}
