package rules

import (
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/step"
	"trammel/spec/unit"
)

// What makes a nut of a body on the shaft. Common practice, no source.
const (
	nutBoreLow   = 0.8 // its bore over the diameter that the thread is drawn with
	nutBoreHigh  = 1.25
	flangeLong   = 0.6  // of a flange over its nut: a wider body is no flange
	flangeAtSide = 0.05 // how far from the middle of the nut it stands, over the nut's length
	touching     = 0.5  // mm between parts that move together
)

// A modelBody is a body on the axis of the shaft, with where it stands on it.
type modelBody struct {
	profile  *step.Profile
	from, to float64
}

// bore is the smallest bore of a body, 0 where it has none.
func (b modelBody) bore() (d float64) {
	for _, s := range b.profile.Bores {
		if s.Surface == step.Cylinder && (d == 0 || s.Diameter[0] < d) {
			d = s.Diameter[0]
		}
	}
	return d
}

// driven gives places on the profile as seen from the driven end.
func (s *modelShaft) driven(from, to float64) (float64, float64) {
	if s.back {
		return s.profile.Length - to, s.profile.Length - from
	}
	return from, to
}

// hold is where an end is held: from the inner face of what holds it to the outer one,
// measured from that end.
type hold struct {
	inner, outer float64
	id           uint64
}

// held finds what holds an end: bodies that fit on it, else the seat of its support, else
// the whole end.
func (c *modelCheck) held(i int) hold {
	e, p := &c.shaft.ends[i], c.shaft.profile
	h := hold{outer: math.Inf(1)}
	for _, b := range c.shaft.beside {
		from, to := c.shaft.driven(b.from, b.to)
		if i == 1 {
			from, to = p.Length-to, p.Length-from
		}
		for _, s := range e.cylinders {
			if middle := (from + to) / 2; middle > s.From && middle < s.To && math.Abs(b.bore()-s.Diameter[0]) < 1000*c.diameter {
				h = hold{max(h.inner, to), min(h.outer, from), b.profile.First}
			}
		}
	}
	if h.id != 0 {
		return h
	}
	if bore := c.v.Value(judge.Field(modelSeats[i][0].bore)); bore != nil {
		if s := c.seatOf(e, bore.Num); s != nil {
			return hold{s.To, s.From, s.ID}
		}
	}
	return hold{e.long, 0, c.shaft.thread.ID}
}

// span compares the span with where the ends are held: it is measured from inside to
// inside, from outside to outside, or between.
func (c *modelCheck) span() {
	span := c.v.Value(judge.Field("supports.span"))
	if span == nil || c.shaft.thread == nil || c.shaft.endless || c.shaft.ends[0].hidden || c.shaft.ends[1].hidden {
		return
	}
	for _, f := range judge.Fields("supports.drive_end", "supports.far_end") {
		if c.v.Word(f) == "free" {
			return
		}
	}
	a, b := c.held(0), c.held(1)
	long := c.shaft.profile.Length
	low, high := (long-a.inner-b.inner)/1000, (long-a.outer-b.outer)/1000
	use := max(off(low, unit.Quantity{Low: math.Inf(-1), High: span.Num.High}, c.length), off(high, unit.Quantity{Low: span.Num.Low, High: math.Inf(1)}, c.length))
	if use > 1+judge.Slack {
		c.fault("supports.span", use, "length", nil, "span is declared %s; in the model the bearing positions are %s apart from inside to inside, %s from outside to outside (%s)",
			c.v.Text(span), c.v.Show(low, unit.Length), c.v.Show(high, unit.Length), c.instance(a.id, b.id))
	}
}

// assembly compares the nut, where the model shows one on the shaft.
func (c *modelCheck) assembly() {
	nuts := c.shaft.nuts()
	if len(nuts) > 1 {
		c.unseen("%d bodies on its thread could be the nut", len(nuts))
	}
	if len(nuts) == 1 {
		c.nutLength(nuts[0])
		c.flange(nuts[0])
		c.room(nuts[0])
	}
}

// nuts are the bodies on the thread that could be the nut.
func (s *modelShaft) nuts() (out []modelBody) {
	for _, b := range s.beside {
		if s.thread == nil {
			return nil
		}
		middle, d := (b.from+b.to)/2, b.bore()/s.thread.Diameter[0]
		if middle > s.thread.From && middle < s.thread.To && d > nutBoreLow && d < nutBoreHigh {
			out = append(out, b)
		}
	}
	return out
}

func (c *modelCheck) nutLength(nut modelBody) {
	declared := c.v.Value(judge.Field("nut.length"))
	if declared == nil {
		return
	}
	x := nut.profile.Length / 1000
	if use := off(x, declared.Num, c.length); use > 1+judge.Slack {
		is, say := c.v.Apart(x, declared.Num.Nominal, unit.Length)
		c.fault("nut.length", use, "length", nil, "nut is declared %s long, in the model it is %s (%s)", say, is, c.instance(nut.profile.First, nut.profile.Last))
	}
}

// flange compares the end of the shaft that the flange faces.
func (c *modelCheck) flange(nut modelBody) {
	declared := c.v.Word(judge.Field("nut.flange_toward"))
	ends := [2]string{c.v.Word(judge.Field("supports.drive_end")), c.v.Word(judge.Field("supports.far_end"))}
	if declared == "" || ends[0] != declared && ends[1] != declared {
		return
	}
	if ends[0] == ends[1] {
		c.unseen("both ends are %s, so that the one which the flange faces cannot be compared", declared)
		return
	}
	side, id := c.flangeSide(nut)
	switch {
	case side < 0:
		c.unseen("which end the flange of the nut faces cannot be told")
	case !c.shaft.sure:
		c.unseen("its ends are too much alike to tell which of them is the driven one")
	case ends[side] != declared:
		c.fault("nut.flange_toward", 0, "", []judge.Draft{judge.Change("flange toward the "+ends[side]+" end, as in the model", "nut.flange_toward", ends[side])},
			"flange is declared to face the %s end, in the model it faces the %s, which is %s (%s)", declared, modelEnds[side].words, ends[side], c.instance(id))
	}
}

// flangeSide is the end of the shaft that the flange faces, -1 where there is no flange or
// it stands in the middle.
func (c *modelCheck) flangeSide(nut modelBody) (side int, id uint64) {
	var disc step.Segment
	for _, s := range nut.profile.Segments {
		if s.Surface == step.Cylinder && s.Diameter[0] > disc.Diameter[0] {
			disc = s
		}
	}
	long := nut.profile.Length
	shift := (disc.From + disc.To - long) / 2
	if disc.Long() > flangeLong*long || math.Abs(shift) < flangeAtSide*long {
		return -1, 0
	}
	with := c.shaft.profile.Axis.Dot(nut.profile.Axis) > 0
	if first := shift < 0 == with; first != c.shaft.back {
		return 0, disc.ID
	}
	return 1, disc.ID
}

// room compares the travel with the room between what stands on both sides of the nut.
func (c *modelCheck) room(nut modelBody) {
	low, high := math.Inf(-1), math.Inf(1)
	for _, b := range c.shaft.beside {
		if b.to < nut.from+touching {
			low = max(low, b.to)
		} else if b.from > nut.to-touching {
			high = min(high, b.from)
		}
	}
	room, need := (high-low-nut.profile.Length)/1000, c.v.V(m.WholeTravel)
	switch {
	case math.IsInf(room, 0) || math.IsNaN(need):
		return
	case low > nut.from-touching || high < nut.to+touching:
		c.unseen("a body touches the nut and may move with it, so that the room for its travel is not known")
		return
	}
	if use := (need - room) / c.length; use > 1+judge.Slack {
		is, say := c.v.Apart(room, need, unit.Length)
		c.fault("motion.stroke", use, "length", nil, "in the model the nut has %s of room between its neighbours; stroke and overtravel need %s", is, say)
	}
}
