package drawing

import (
	"fmt"
	"math"

	"trammel/rules/judge"
)

// By how much two lengths, and two diameters, may differ and be one, in metres: the diameters
// as far as those of a model may (model-agrees).
const same, alike = 1e-7, 1e-4

// A piece is a cylinder of an end, from and to measured from the thread outward, in metres.
type piece struct {
	from, to, d float64
	open        bool // its diameter or length is not declared
	loose       bool // where it ends, outward, does not follow from what is declared
	rest        bool // what the declared steps leave of the end; where that lies is not declared
	groove      bool
	step        *endStep
}

// unsure reports whether size or place of a piece is not declared.
func (p *piece) unsure() bool { return p.open || p.loose || p.rest }

// pieces places the steps of an end. Where several have no length, what is left is shared
// between them. It is an error where the steps contradict the end.
func (e *end) pieces() ([]piece, error) {
	steps := e.present()
	left, taken, rest := e.length, 0.0, len(steps) > 1 && steps[0].what == ""
	open := func(i int) bool { return steps[i].noLength || i == 0 && rest }
	for i, s := range steps {
		if open(i) {
			taken += s.length
		} else {
			left -= s.length
		}
	}
	if left < -same || taken > 0 && left < same || taken == 0 && left > same {
		return nil, fmt.Errorf("the lengths of its steps do not fit end_lengths")
	}
	at := 0.0
	var out []piece
	for i, s := range steps {
		p := piece{from: at, to: at + s.length, d: s.diameter, open: s.what != "" && s.size == "" || s.noLength, rest: i == 0 && rest, step: s}
		if open(i) {
			p.to = at + left*s.length/taken
		}
		out, at = append(out, p), p.to
	}
	inward, loose := 0, 0 // steps without a length from the thread on, and in all
	for i := range out {
		if open(i) {
			loose++
		}
	}
	for i := range out {
		if open(i) {
			inward++
		}
		out[i].loose = inward > 0 && inward < loose
	}
	if err := e.fill(out); err != nil {
		return nil, err
	}
	return e.grooved(out)
}

// fill holds that the thickest of the pieces is as thick as the end.
func (e *end) fill(list []piece) error {
	widest, sure := 0.0, true
	for i := range list {
		sure = sure && !list[i].unsure()
		if !list[i].open {
			widest = max(widest, list[i].d)
		}
	}
	if widest > e.largest+alike || sure && len(list) > 0 && widest < e.largest-alike {
		return fmt.Errorf("the largest diameter of its steps is not that of end_diameters")
	}
	return nil
}

// present are the steps of an end without those that are only usual, where the declared
// ones fill it.
func (e *end) present() (out []*endStep) {
	left := e.length
	for _, s := range e.steps {
		if !s.noLength {
			left -= s.length
		}
	}
	for i := range e.steps {
		if s := &e.steps[i]; !s.usual || math.Abs(left) > same {
			out = append(out, s)
		}
	}
	return out
}

// grooved cuts a groove of which place and size are declared.
func (e *end) grooved(list []piece) ([]piece, error) {
	g := e.groove
	if g == nil || g.dashed {
		return list, nil
	}
	from, to := e.length-g.at-g.width, e.length-g.at
	for i, p := range list {
		if from < p.from-same || to > p.to+same || p.open || p.loose || i > 0 && list[i-1].loose {
			continue
		}
		if !judge.Above(p.d, g.bottom) {
			return nil, fmt.Errorf("groove_diameter is not below the diameter of the seat")
		}
		a, b, c := p, p, p
		a.to, b.from, b.to, b.d, b.groove, c.from = from, from, to, g.bottom, true, to
		out := append([]piece{}, list[:i]...)
		for _, x := range []piece{a, b, c} {
			if x.to-x.from > same {
				out = append(out, x)
			}
		}
		return append(out, list[i+1:]...), nil
	}
	return list, nil // it is in words only
}

// A Cylinder is one of an end as it is declared, in metres.
type Cylinder struct {
	Words          string
	Long, Diameter float64
}

// Cylinders gives those of both ends, of the driven one first, from the thread outward. Of
// an end whose steps do not fill it with declared diameters and lengths, it gives nothing:
// only what they leave beside the thread is taken to have the largest diameter.
func (e *Ends) Cylinders() (out [2][]Cylinder) {
	for side := range e.ends {
		i := side
		if e.right {
			i = 1 - side
		}
		out[i] = e.ends[side].cylinders()
	}
	return out
}

func (e *end) cylinders() (out []Cylinder) {
	list, err := e.pieces()
	if err != nil || len(list) == 0 || !e.sure(list) {
		return nil
	}
	for _, p := range list {
		words := e.words
		switch {
		case p.groove:
			words += ", groove"
		case !p.unsure() && p.step.what != "":
			words += ", " + p.step.what
		}
		out = append(out, Cylinder{words, p.to - p.from, p.d})
	}
	return out
}

// sure reports whether the pieces are declared, the first apart where it is what the others
// leave: it must then have the largest diameter, and the one after it another.
func (e *end) sure(list []piece) bool {
	for i, p := range list {
		first := i == 0 && (p.rest || p.step.noLength && p.step.what == "shoulder")
		if first && math.Abs(p.d-e.largest) > alike || !first && (p.open || p.loose) {
			return false
		}
		if list[0].unsure() && p.step != list[0].step && math.Abs(p.d-e.largest) < alike {
			return false
		}
	}
	return true
}
