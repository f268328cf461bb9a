package rules

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/step"
)

// What makes a shaft of a body, and a thread of a cylinder. Common practice, no source.
const (
	shaftSlender = 3.0  // length over its largest diameter
	rivalLength  = 0.5  // of the longest cylinder: it could be the thread too
	grooveWidth  = 0.35 // of a ring groove, over its diameter
	grooveDepth  = 0.2  // over the diameter beside it
	chamferLong  = 0.2  // of a chamfer or fillet, over the diameter beside it; longer ones are a part of the end
	coredRatio   = 0.5  // of a centre hole over the diameter round it: what is wider weakens the shaft by more than 6 %
	modelSame    = 0.01 // mm
)

// shaftOf finds the shaft of a model, or says why there is none.
func shaftOf(m *spec.Model) (*modelShaft, string) {
	list := slices.Clone(m.Turned)
	if len(list) > 1 {
		list = slices.DeleteFunc(list, func(b spec.TurnedBody) bool { return slenderOf(b.Profile) < shaftSlender })
	}
	switch {
	case len(list) == 0 && len(m.Turned) > 0:
		return nil, "none of its bodies is slender enough to be a shaft"
	case len(list) == 0 && len(m.Other) > 0:
		return nil, "no body of it was turned; " + m.Other[0]
	case len(list) == 0 && len(m.Shape.Notes) > 0:
		return nil, "it holds no body; " + m.Shape.Notes[0]
	case len(list) == 0:
		return nil, "it holds no body"
	}
	for _, b := range list[1:] {
		if !sameProfile(b.Profile, list[0].Profile) {
			return nil, fmt.Sprintf("two bodies could be the shaft, %q of %.6g mm and %q of %.6g mm; export the shaft alone", list[0].Name, list[0].Profile.Length, b.Name, b.Profile.Length)
		}
	}
	s := &modelShaft{profile: list[0].Profile, units: list[0].Units}
	for _, b := range m.Turned {
		if from, to, ok := s.profile.Beside(b.Profile); ok && b.Profile != s.profile {
			s.beside = append(s.beside, modelBody{b.Profile, from, to})
		}
	}
	s.findThread()
	return s, ""
}

// slenderOf is the length of a profile over its largest diameter.
func slenderOf(p *step.Profile) float64 {
	d := 0.0
	for _, s := range p.Segments {
		d = max(d, s.Diameter[0], s.Diameter[1])
	}
	return p.Length / d
}

// sameProfile reports whether two bodies are alike, seen from either end.
func sameProfile(a, b *step.Profile) bool {
	alike := func(a, b *step.Profile) bool {
		return math.Abs(a.Length-b.Length) < modelSame && slices.EqualFunc(a.Segments, b.Segments, func(x, y step.Segment) bool {
			return x.Surface == y.Surface && math.Abs(x.From-y.From) < modelSame && math.Abs(x.To-y.To) < modelSame &&
				math.Abs(x.Diameter[0]-y.Diameter[0]) < modelSame && math.Abs(x.Diameter[1]-y.Diameter[1]) < modelSame
		})
	}
	return alike(a, b) || alike(a, b.Turn())
}

// findThread takes the longest cylinder for the thread.
func (s *modelShaft) findThread() {
	p := s.profile
	for _, g := range p.Gaps {
		s.endless = s.endless || g[0] == 0 || g[1] == p.Length
	}
	cylinders := s.cylinders(0, p.Length)
	if len(cylinders) == 0 {
		s.noThread = "it has no cylinder that could be the thread"
		return
	}
	slices.SortStableFunc(cylinders, func(a, b *step.Segment) int { return cmp.Compare(b.Long(), a.Long()) })
	longest := cylinders[0]
	for _, g := range p.Gaps {
		if g[1]-g[0] > rivalLength*longest.Long() {
			s.noThread = fmt.Sprintf("free-form surfaces bound the shaft from %.6g mm to %.6g mm; they may be the thread", g[0], g[1])
			return
		}
	}
	s.thread = longest
	if len(cylinders) > 1 && cylinders[1].Long() > rivalLength*longest.Long() {
		s.rival = cylinders[1]
	}
	s.ends = [2]modelEnd{s.end(p, longest), {}}
	turned := p.Turn()
	other := *longest
	other.From, other.To = p.Length-longest.To, p.Length-longest.From
	s.ends[1] = s.end(turned, &other)
}

// cylinders are those of a stretch of the profile.
func (s *modelShaft) cylinders(from, to float64) (out []*step.Segment) {
	return cylindersOf(s.profile, from, to)
}

func cylindersOf(p *step.Profile, from, to float64) (out []*step.Segment) {
	for i := range p.Segments {
		if c := &p.Segments[i]; c.Surface == step.Cylinder && c.From >= from-modelSame && c.To <= to+modelSame {
			out = append(out, c)
		}
	}
	return out
}

// end describes the end before the thread, the profile being seen from there.
func (s *modelShaft) end(p *step.Profile, thread *step.Segment) modelEnd {
	e := modelEnd{short: thread.From, long: thread.From}
	// What rises to the thread without a step is its chamfer or a fillet.
	for i := len(p.Segments) - 1; i >= 0; i-- {
		c := p.Segments[i]
		if c.Surface != step.Cylinder && math.Abs(c.To-e.short) < modelSame && thread.From-c.From <= chamferLong*thread.Diameter[0] {
			e.short = c.From
		}
	}
	for _, g := range p.Gaps {
		e.hidden = e.hidden || g[0] < thread.From+modelSame
	}
	e.cylinders = cylindersOf(p, 0, e.short)
	for i, c := range e.cylinders {
		if groove := isGroove(e.cylinders, i); groove && e.groove == nil {
			e.groove = c
		} else if !groove {
			e.take(c)
		}
	}
	for i := range p.Segments {
		if c := &p.Segments[i]; c.Surface != step.Cylinder && c.To <= e.short+modelSame && !tip(c) {
			e.taper(c)
		}
	}
	for i := range p.Features {
		if f := &p.Features[i]; f.From < e.long {
			e.feature(f)
		}
	}
	return e
}

// tip reports the chamfer or rounding of the end itself.
func tip(c *step.Segment) bool {
	return c.From < modelSame && c.Long() <= chamferLong*c.Diameter[1]
}

// take counts a cylinder of the end.
func (e *modelEnd) take(c *step.Segment) {
	e.thicker(*c)
	e.thinner(*c, c.Diameter[0])
	if e.id == 0 {
		e.id = c.ID
	}
}

// taper counts what is no cylinder: however short it is, it may be the thinnest place; a
// long one may be the thickest too.
func (e *modelEnd) taper(c *step.Segment) {
	e.thinner(*c, c.Thinnest())
	if c.Surface != step.Torus && c.Long() > chamferLong*max(c.Diameter[0], c.Diameter[1]) {
		e.thicker(*c)
	}
}

func (e *modelEnd) thicker(c step.Segment) {
	if d := max(c.Diameter[0], c.Diameter[1]); d > e.thick {
		e.thick, e.thickID = d, c.ID
	}
}

func (e *modelEnd) thinner(c step.Segment, d float64) {
	if e.thinID == 0 || d < e.thin {
		e.thin, e.thinID = d, c.ID
	}
}

// feature notes what was not turned.
func (e *modelEnd) feature(f *step.Feature) {
	switch f.Kind {
	case "keyway":
		if e.keyway == nil {
			e.keyway = f
		}
	case "unknown surface":
		e.hidden = true
	default:
		if e.other == nil {
			e.other = f
		}
	}
}

// isGroove reports whether a cylinder is a ring groove: narrow and shallow, between two of
// one diameter that touch it.
func isGroove(list []*step.Segment, i int) bool {
	if i == 0 || i == len(list)-1 {
		return false
	}
	before, c, after := list[i-1], list[i], list[i+1]
	d := before.Diameter[0]
	return math.Abs(d-after.Diameter[0]) < modelSame && math.Abs(before.To-c.From) < modelSame && math.Abs(c.To-after.From) < modelSame &&
		c.Diameter[0] < d-modelSame && c.Long() < grooveWidth*d && d-c.Diameter[0] < grooveDepth*d
}

// towards gives the shaft with its driven end first: the way round in which it agrees
// better with what is declared.
func (s *modelShaft) towards(v *judge.View) *modelShaft {
	lengths, diameters := v.Value(judge.Field("screw.end_lengths")), v.Value(judge.Field("screw.end_diameters"))
	misfit := func(ends [2]modelEnd) (sum float64) {
		for i, e := range ends {
			if lengths != nil {
				x := lengths.Ends[i].Nominal * 1000
				sum += max(e.short-x, x-e.long, 0)
			}
			if diameters != nil && e.thickID != 0 {
				sum += math.Abs(e.thick - diameters.Ends[i].Nominal*1000)
			}
		}
		return sum
	}
	o := s.turned()
	here, there := misfit(s.ends), misfit(o.ends)
	best := s
	if there < here-modelSame {
		best = o
	}
	best.sure = math.Abs(here-there) > 2*modelSame
	return best
}

// turned gives the shaft with its other end for the driven one.
func (s *modelShaft) turned() *modelShaft {
	o := *s
	o.ends[0], o.ends[1], o.back = s.ends[1], s.ends[0], !s.back
	return &o
}
