package judge

import (
	"math"

	"trammel/rules/mechanics"
)

// points are the values of one case of an axis at places within its tolerances. Many tests
// look at the same places, the corners and the samples along an edge: each is computed
// once, and of it only what a test that looked there asked for.
type points struct {
	base  *mechanics.Calc // of the middle values
	at    map[uint64]int  // where a place is in calcs, by hash
	keys  []place
	calcs []*mechanics.Calc // the first len(keys) hold a place, the others wait for one
	done  []mechanics.Set   // what is computed of those
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
	p.base, p.keys, p.done = nil, p.keys[:0], p.done[:0]
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

// get gives what a search looks at, at a place, for reading only; nil where there is no
// room for more.
func (p *points) get(s *search, x []float64) *mechanics.Calc {
	key := place{s.which, x}
	h := key.hash()
	i, ok := p.at[h]
	switch {
	case !ok:
		if i = p.put(s, x, h); i < 0 {
			return nil
		}
	case !p.keys[i].equals(key):
		return nil
	}
	p.calcs[i].RunSet(&s.plan, &p.done[i])
	return p.calcs[i]
}

// put begins a new place with the middle values and those of the leaves; -1 where there
// is no room.
func (p *points) put(s *search, x []float64, h uint64) int {
	n := len(p.keys)
	if n == maxPoints {
		return -1
	}
	if n == len(p.calcs) {
		p.calcs = append(p.calcs, mechanics.NewCalc())
	}
	p.calcs[n].CopyFrom(p.base)
	for i, r := range s.at {
		r.set(p.calcs[n], x[i])
	}
	if p.at == nil {
		p.at = map[uint64]int{}
	}
	p.at[h] = n
	p.keys = append(p.keys, place{s.which, append([]float64(nil), x...)})
	p.done = append(p.done, mechanics.Set{})
	return n
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
