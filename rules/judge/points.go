package judge

import (
	"math"

	"trammel/rules/mechanics"
)

// points are the values of one case of an axis at places within its tolerances. Many tests
// look at the same places, the corners and the samples along an edge: each is computed
// once, and of it only what a test that looked there required.
type points struct {
	base   *mechanics.Calc   // of the middle values
	usual  *points           // of the usual case; nil: these are
	differ *mechanics.Set    // what may differ from the usual case; all else is taken from there
	table  [tableSize]uint16 // by hash, the number of a place and one; 0: none
	keys   []place           // of the places
	xs     []float64         // what the keys are made of
	calcs  []*mechanics.Calc // the first len(keys) hold a place, the others wait for one
	done   []mechanics.Set   // what is computed of those
	last   int               // the place looked at last
}

// A place gives some leaves values other than the middle ones.
type place struct {
	which uint64 // a bit for each of the axis's tolerances that is given a value
	x     []float64
}

// maxPoints bounds the memory of one case: a place takes some 20 kB.
const (
	maxPoints = 192
	tableSize = 512
)

// clear forgets all places and keeps their memory.
func (p *points) clear() {
	if len(p.keys) > 0 {
		clear(p.table[:])
	}
	p.base, p.usual, p.keys, p.xs, p.done, p.last = nil, nil, p.keys[:0], p.xs[:0], p.done[:0], 0
}

// pointsOf are the points of the case that a view shows of the axis which the scratch
// memory judges whole; nil for any other view.
func (b *Scratch) pointsOf(v *View) *points {
	if b.casesOf != v.Axis || len(b.tolerances) > 64 {
		return nil
	}
	for i, c := range [...]*mechanics.Calc{b.Calc, b.cases[0], b.cases[1]} {
		if v.Calc == c {
			p := &b.points[i]
			p.base = c
			if i > 0 {
				p.usual, p.differ = &b.points[0], &b.differ[i-1]
				p.usual.base = b.Calc
			}
			return p
		}
	}
	return nil
}

// get gives what a search looks at, at a place, for reading only; nil where there is no
// room for more.
func (p *points) get(s *search, x []float64) *mechanics.Calc {
	key := place{s.which, x}
	h := key.hash()
	i := p.find(s, key, h)
	if i < 0 {
		return nil
	}
	if p.usual != nil {
		if rest := s.plan.Without(p.differ, &p.done[i]); !rest.IsEmpty() {
			if k := p.usual.find(s, key, h); k >= 0 {
				p.usual.calcs[k].RunSet(&rest, &p.usual.done[k])
				p.calcs[i].Take(p.usual.calcs[k], &rest)
				p.done[i].Join(&rest)
				p.usual.last = k
			}
		}
	}
	p.calcs[i].RunSet(&s.plan, &p.done[i])
	p.last = i
	return p.calcs[i]
}

// find gives the number of a place, a new one where there is none yet; -1 where there is no
// room for it.
func (p *points) find(s *search, key place, h uint64) int {
	for at := h % tableSize; ; at = (at + 1) % tableSize {
		switch n := int(p.table[at]); {
		case n == 0 && len(p.keys) == maxPoints:
			return -1
		case n == 0:
			p.put(s, key)
			p.table[at] = uint16(len(p.keys))
			return len(p.keys) - 1
		case p.keys[n-1].equals(key):
			return n - 1
		}
	}
}

// put begins a new place with what the one looked at last has in common with it, or with the
// middle values; and with those of the leaves.
func (p *points) put(s *search, key place) {
	n := len(p.keys)
	if n == len(p.calcs) {
		p.calcs = append(p.calcs, mechanics.NewCalc())
	}
	c, done := p.base, mechanics.Set{}
	if p.last < n && p.keys[p.last].which == key.which {
		moved := s.moved(p.keys[p.last].x, key.x)
		c, done = p.calcs[p.last], p.done[p.last].Without(&moved, &moved)
	}
	p.calcs[n].CopyFrom(c)
	for i, r := range s.at {
		r.set(p.calcs[n], key.x[i])
	}
	from := len(p.xs)
	p.xs = append(p.xs, key.x...)
	p.keys = append(p.keys, place{key.which, p.xs[from:len(p.xs):len(p.xs)]})
	p.done = append(p.done, done)
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
