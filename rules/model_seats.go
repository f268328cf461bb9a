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
