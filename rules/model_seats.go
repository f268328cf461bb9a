package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/step"
	"trammel/spec/unit"
)

// A modelSeat is what sits on an end: the line that names it and its bore.
type modelSeat struct{ part, bore string }

var modelSeats = [2][]modelSeat{
	{{"supports.drive_end_part", "drive_support.bore"}, {"drive.coupling", "coupling.bore"}},
	{{"supports.far_end_part", "far_support.bore"}},
}

// seats looks for the seats of support and coupling on an end, and compares its thinnest
// place with what strength is calculated with where no diameter is declared.
func (c *modelCheck) seats(i int, e *modelEnd) {
	for _, s := range modelSeats[i] {
		bore := c.v.Value(judge.Field(s.bore))
		if bore == nil || c.seatOf(e, bore.Num) != nil {
			continue
		}
		c.fault(s.part, 0, "", nil, "%s has a bore of %s; in the model the %s has no cylinder of that diameter (%s)",
			c.v.Word(judge.Field(s.part)), c.v.Text(bore), modelEnds[i].words, c.cylinderWords(e))
		return
	}
	used := c.v.V([]*m.Quantity{m.DriveJournal, m.FarJournal}[i])
	if c.v.Value(judge.Field(modelEnds[i].journal+".diameter")) != nil || e.thinID == 0 || math.IsNaN(used) {
		return
	}
	x := e.thin / 1000
	if use := (used - x) / c.diameter; use > 1+judge.Slack {
		is, say := c.v.Apart(x, used, unit.Length)
		take := c.text(x)
		c.fault(modelSeats[i][0].part, use, "diameter", []judge.Draft{judge.Change("diameter "+take+", as in the model", modelEnds[i].journal+".diameter", take)},
			"%s is %s thick at its thinnest in the model (%s); its strength is calculated with %s", modelEnds[i].words, is, c.instance(e.thinID), say)
	}
}

// seatOf is the cylinder of an end that has a diameter, nil where none or several have.
func (c *modelCheck) seatOf(e *modelEnd, d unit.Quantity) (seat *step.Segment) {
	for _, s := range e.cylinders {
		if off(s.Diameter[0]/1000, d, c.diameter) <= 1+judge.Slack {
			seat = s
		}
	}
	return seat
}

func (c *modelCheck) cylinderWords(e *modelEnd) string {
	text := ""
	for i, s := range e.cylinders {
		if i > 0 {
			text += ", "
		}
		text += fmt.Sprintf("%s %s", c.v.Show(s.Diameter[0]/1000, unit.Length), c.instance(s.ID))
	}
	if text == "" {
		return "it has none"
	}
	return text
}

// solid finds what makes the shaft less than the solid one that is calculated with.
func (c *modelCheck) solid() {
	p := c.shaft.profile
	if p.Voids {
		c.unseen("the shaft has hollows within, which are not read")
	}
	for _, b := range p.Bores {
		around := math.Inf(1)
		for _, s := range p.Segments {
			if s.To > b.From+modelSame && s.From < b.To-modelSame {
				around = min(around, s.Diameter[0], s.Diameter[1])
			}
		}
		if b.Surface != step.Cylinder {
			continue
		}
		within := c.shaft.thread != nil && b.From < c.shaft.thread.To-modelSame && b.To > c.shaft.thread.From+modelSame
		if b.Diameter[0] <= coredRatio*around && !(within && b.Long() > p.Length/2) {
			continue
		}
		c.fault("screw.model", 0, "", nil, "the model is bored to %s from %s to %s (%s); the shaft is calculated as solid",
			c.v.Show(b.Diameter[0]/1000, unit.Length), c.v.Show(b.From/1000, unit.Length), c.v.Show(b.To/1000, unit.Length), c.instance(b.ID))
		return
	}
	c.threadFeatures()
}

// threadFeatures says what was cut into the thread, other than the thread itself.
func (c *modelCheck) threadFeatures() {
	t := c.shaft.thread
	if t == nil {
		return
	}
	helix := [2]float64{math.Inf(1), math.Inf(-1)}
	for _, f := range c.shaft.profile.Features {
		if f.Kind == "unknown surface" {
			helix = [2]float64{min(helix[0], f.From), max(helix[1], f.To)}
		}
	}
	for _, f := range c.shaft.profile.Features {
		if f.Kind != "unknown surface" && f.From > t.From+modelSame && f.To < t.To-modelSame && !(f.From > helix[0]-modelSame && f.To < helix[1]+modelSame) {
			c.unseen("the thread has a %s (#%d), which nothing is calculated with", f.Kind, f.ID)
		}
	}
}

// modelSteps are the steps of an end that are declared by diameter and length.
var modelSteps = []struct{ field, words string }{{"seat", "bearing seat"}, {"stub", "stub"}, {"shoulder", "shoulder"}}

// steps compares the steps of an end with its cylinders.
func (c *modelCheck) steps(i int, e *modelEnd) {
	declared := endsOf(c.v)[i]
	for _, s := range modelSteps {
		path := modelEnds[i].journal + "." + s.field
		d, long := c.v.Value(judge.Field(path+"_diameter")), c.v.Value(judge.Field(path+"_length"))
		if d == nil || s.field == "shoulder" && long == nil { // else it may be the thread that the bearing rests on
			continue
		}
		step := c.seatOf(e, d.Num)
		if step == nil {
			c.fault(path+"_diameter", 0, "", nil, "%s of the %s is declared %s thick; in the model the end has no cylinder of that diameter (%s)",
				s.words, modelEnds[i].words, c.v.Text(d), c.cylinderWords(e))
			continue
		}
		if long == nil {
			continue
		}
		low, high := e.reach(step)
		low -= 1000 * declared.besides(declared.step(s.field), c.diameter)
		use := max(off(low/1000, unit.Quantity{Low: math.Inf(-1), High: long.Num.High}, c.length), off(high/1000, unit.Quantity{Low: long.Num.Low, High: math.Inf(1)}, c.length))
		if use > 1+judge.Slack {
			is, say := c.v.Apart(step.Long()/1000, long.Num.Nominal, unit.Length)
			c.fault(path+"_length", use, "length", nil, "%s of the %s is declared %s long, in the model it is %s (%s)", s.words, modelEnds[i].words, say, is, c.instance(step.ID))
		}
	}
	c.groove(i, e)
}

// reach is how long a cylinder of an end is by itself, and with chamfers and fillets beside
// it and beyond a groove in it.
func (e *modelEnd) reach(s *step.Segment) (short, long float64) {
	from, to := s.From, s.To
	for _, o := range e.cylinders {
		if e.groove != nil && math.Abs(o.Diameter[0]-s.Diameter[0]) < modelSame {
			from, to = min(from, o.From), max(to, o.To)
		}
	}
	before, after := 0.0, e.long
	for _, o := range e.cylinders {
		if o.To <= from+modelSame {
			before = max(before, o.To)
		}
		if o.From >= to-modelSame {
			after = min(after, o.From)
		}
	}
	long = to - from
	for _, gap := range []float64{from - before, after - to} {
		if gap <= chamferLong*s.Diameter[0] {
			long += gap
		}
	}
	return s.Long(), long
}

// groove compares the groove for a retaining ring.
func (c *modelCheck) groove(i int, e *modelEnd) {
	path := modelEnds[i].journal + ".groove"
	if e.groove == nil {
		if c.v.Word(judge.Field(path)) == "ring" {
			c.fault(path, 0, "", nil, "a ring groove is declared in the %s; the model has none there (%s)", modelEnds[i].words, c.cylinderWords(e))
		}
		return
	}
	for _, x := range []struct {
		field, words, limit string
		is, tolerance       float64
	}{
		{"groove_width", "wide", "diameter", e.groove.Long(), c.diameter},
		{"groove_diameter", "thick at its bottom", "diameter", e.groove.Diameter[0], c.diameter},
		{"groove_at", "from the end", "length", e.groove.From, c.length},
	} {
		path := modelEnds[i].journal + "." + x.field
		declared := c.v.Value(judge.Field(path))
		if declared == nil {
			continue
		}
		if use := off(x.is/1000, declared.Num, x.tolerance); use > 1+judge.Slack {
			is, say := c.v.Apart(x.is/1000, declared.Num.Nominal, unit.Length)
			c.fault(path, use, x.limit, nil, "groove in the %s is declared %s %s, in the model it is %s (%s)", modelEnds[i].words, say, x.words, is, c.instance(e.groove.ID))
		}
	}
}
