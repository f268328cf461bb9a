package rules

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/step"
	"trammel/spec/unit"
)

var modelAgrees = judge.Rule{
	Name:     "model-agrees",
	Question: "Is the shaft in the CAD model the shaft that is declared?",
	Doc: `Where screw.model names a STEP file, the turned shaft is taken from it and
compared with what is declared: overall length, length and largest diameter of both ends, and
whether the thread lies between root diameter and nominal or ball circle diameter. The thread
length follows from length and ends. The smallest diameter of an end is compared with that of
its journal or, where none is declared, with the bore used to calculate its strength. For the
bore of each support and of the coupling the end must have a seat, and the span must fit the
seats. Seat, stub, shoulder and groove are compared where they are declared. A ring groove that
only the text or only the model has is found, and so is a keyway or a wide bore that only the
model has: strength would be calculated without it. A keyway that the model does not show is not
judged.

Where the model is an assembly, bodies concentric with the shaft are compared as well: the
length of the nut, the end its flange faces, the bearings on the ends with the span, and whether
stroke and overtravel fit between the bodies on both sides of the nut.

A model does not say which cylinder is the thread: the longest one is taken. It may be drawn at
any diameter from root to outside, as a plain cylinder or as a helix. Chamfers and fillets next
to it count as thread or as end, whichever agrees. Nor does it say which end is driven: the
orientation that agrees better is used.

What the model does not show is not judged: where free-form surfaces bound the shaft, where two
bodies could be it, or two cylinders the thread, or where it has a hole or a flat that no
calculation considers. Lead, hand, starts and profile of the thread are never compared, nor is
the length of thread within one cylinder: a model of another lead with the same outline passes.
A driven end drawn on the wrong side is noticed only where the ends differ. Nothing is taken
from the model for calculation. A fix of another finding may make text and model differ: change
both. size ignores the model.

Where overall length and most of the diameters disagree, the model is that of another shaft: one
finding says so, and the rest is not listed.

A common export mistake is a file that declares inches and contains millimetres. A model larger
or smaller by such a factor is one finding.`,
	Source:   "ISO 10303-21 for the files; tolerances: common practice, no source",
	Severity: judge.Error,
	Wants:    judge.Fields("screw.length", "screw.nominal_diameter", "screw.root_diameter", "screw.end_lengths", "screw.end_diameters"),
	Limits: []judge.Limit{
		{Name: "length", Doc: "difference of lengths", Kind: unit.Length, Sense: judge.AtMost, Default: 0.5e-3},
		{Name: "diameter", Doc: "difference of diameters", Kind: unit.Length, Sense: judge.AtMost, Default: 0.1e-3},
	},
	Reasons: []judge.Reason{{Words: "no model is named (screw.model)", If: undeclared("screw.model")}},
	Check:   func(v *judge.View) []judge.Fault { return compareModel(v).faults },
	Open:    func(v *judge.View) string { return compareModel(v).open },
	Mirror:  true,
}

// A modelCheck compares a shaft with its model. Lengths are metres, as everywhere but in
// package step.
type modelCheck struct {
	v                *judge.View
	file             string // as it is written
	shaft            *modelShaft
	length, diameter float64 // tolerances
	faults           []judge.Fault
	open             string
}

// ends are the ends of a shaft as declared and as findings name them.
var modelEnds = [2]struct{ words, journal string }{{"driven end", "drive_journal"}, {"far end", "far_journal"}}

func compareModel(v *judge.View) *modelCheck {
	c := &modelCheck{v: v, length: v.CheckLimit("model-agrees", "length"), diameter: v.CheckLimit("model-agrees", "diameter")}
	named := v.Value(judge.Field("screw.model"))
	model := v.Axis.Model()
	if named == nil || model == nil {
		return c
	}
	c.file = named.Text
	if model.Err != "" {
		c.fault("screw.model", 0, "", nil, "model %s cannot be read: %s", c.file, model.Err)
		return c
	}
	shaft, why := shaftOf(model)
	if shaft == nil {
		c.open = fmt.Sprintf("model %s: %s", c.file, why)
		return c
	}
	c.shaft = shaft.towards(v)
	if c.units() {
		return c
	}
	if other := *c; !c.shaft.sure {
		if other.shaft = c.shaft.turned(); len(other.compare().faults) < len(c.compare().faults) {
			c = &other
		}
	} else {
		c.compare()
	}
	c.another()
	return c
}

// compare compares all that the shaft shows.
func (c *modelCheck) compare() *modelCheck {
	c.overall()
	c.solid()
	c.thread()
	c.ends()
	c.span()
	c.assembly()
	return c
}

// another takes many findings for one where length and most diameters disagree: the model
// is that of another shaft, and what else differs says nothing.
func (c *modelCheck) another() {
	compared, wrong, long := 0, 0, false
	for _, path := range []string{"screw.nominal_diameter", "screw.end_diameters"} {
		if x := c.v.Value(judge.Field(path)); x != nil {
			compared += max(1, len(x.Ends))
		}
	}
	for _, f := range c.faults {
		long = long || f.At == judge.Field("screw.length")
		if f.At == judge.Field("screw.nominal_diameter") || f.At == judge.Field("screw.end_diameters") {
			wrong++
		}
	}
	if !long || c.shaft.thread == nil || 2*wrong <= compared {
		return
	}
	p, t := c.shaft.profile, c.shaft.thread
	c.faults = nil
	c.fault("screw.model", 0, "", nil, "the model seems to be of another shaft: %s long with a thread of %s (%s); declared %s and %s",
		c.v.Show(p.Length/1000, unit.Length), c.v.Show(t.Diameter[0]/1000, unit.Length), c.instance(p.First, t.ID),
		c.v.Text(c.v.Value(judge.Field("screw.length"))), c.v.Text(c.v.Value(judge.Field("screw.nominal_diameter"))))
}

func (c *modelCheck) fault(path string, use float64, limit string, fixes []judge.Draft, format string, args ...any) {
	c.faults = append(c.faults, judge.Fault{At: judge.Field(path), Move: -1, Message: fmt.Sprintf(format, args...), Compared: c.differs(use, limit), Limit: limit, Fixes: fixes})
}

// differs is how far the model lies from what is declared, of which off gives the use; none
// without a limit.
func (c *modelCheck) differs(use float64, limit string) judge.Compared {
	tolerance := map[string]float64{"length": c.length, "diameter": c.diameter}[limit]
	if tolerance == 0 {
		return judge.Compared{}
	}
	return judge.Compared{Value: use * tolerance, Limit: tolerance, Kind: unit.Length, Sense: judge.AtMost}
}

// unseen notes what could not be compared; the first is said.
func (c *modelCheck) unseen(format string, args ...any) {
	if c.open == "" {
		c.open = fmt.Sprintf("model %s: ", c.file) + fmt.Sprintf(format, args...)
	}
}

// instance names a face as a CAD system finds it.
func (c *modelCheck) instance(ids ...uint64) string {
	text := c.file
	for i, id := range slices.Compact(slices.DeleteFunc(ids, func(id uint64) bool { return id == 0 })) {
		text += [...]string{":#", " and #"}[min(i, 1)] + fmt.Sprint(id)
	}
	return text
}

// units finds a model that is larger or smaller than declared by a factor that units
// differ by: in length or, where that is not declared, in the diameter of the thread.
func (c *modelCheck) units() bool {
	x, path, what := c.shaft.profile.Length, "screw.length", "long"
	if c.v.Value(judge.Field(path)) == nil && c.shaft.thread != nil {
		x, path, what = c.shaft.thread.Diameter[0], "screw.nominal_diameter", "thick"
	}
	declared := c.v.Value(judge.Field(path))
	if declared == nil {
		return false
	}
	ratio := x / 1000 / declared.Num.Nominal
	for _, factor := range []float64{25.4, 10, 1000, 1000 / 25.4} {
		if math.Abs(ratio/factor-1) < 0.02 || math.Abs(ratio*factor-1) < 0.02 {
			c.fault("screw.model", 0, "", nil, "the model is %s %s, declared %s: a factor of %.4g; its unit may not be the one its file states (%s)",
				c.v.Show(x/1000, unit.Length), what, c.v.Text(declared), factor, c.unitWords())
			return true
		}
	}
	return false
}

func (c *modelCheck) unitWords() string {
	switch c.shaft.units.Length {
	case 1:
		return "millimetres"
	case 25.4:
		return "inches"
	case 1000:
		return "metres"
	}
	return fmt.Sprintf("units of %.4g mm", c.shaft.units.Length)
}

// off is how far a value of the model lies from what is declared, over the tolerance.
func off(x float64, declared unit.Quantity, tolerance float64) float64 {
	return max(declared.Low-x, x-declared.High, 0) / tolerance
}

func (c *modelCheck) overall() {
	p, declared := c.shaft.profile, c.v.Value(judge.Field("screw.length"))
	if declared == nil {
		return
	}
	if c.shaft.endless {
		c.unseen("free-form surfaces end the shaft, so that its length is not known")
		return
	}
	x := p.Length / 1000
	if use := off(x, declared.Num, c.length); use > 1+judge.Slack {
		is, say := c.v.Apart(x, declared.Num.Nominal, unit.Length)
		take := c.text(x)
		c.fault("screw.length", use, "length", []judge.Draft{judge.Change("length "+take+", as in the model", "screw.length", take)},
			"shaft is declared %s long, in the model it is %s (%s)", say, is, c.instance(p.First, p.Last))
	}
}

// text writes a length of the model as it would be declared.
func (c *modelCheck) text(x float64) string {
	return unit.FormatExact(math.Round(x*1e7)/1e7, unit.Length, c.v.Units())
}

// thread compares the diameter of the thread.
func (c *modelCheck) thread() {
	root, nominal := c.v.Value(judge.Field("screw.root_diameter")), c.v.Value(judge.Field("screw.nominal_diameter"))
	if c.shaft.thread == nil {
		c.unseen("%s", c.shaft.noThread)
		return
	}
	if root == nil || nominal == nil {
		return
	}
	high := nominal.Num
	if circle := c.v.Value(judge.Field("screw.ball_circle_diameter")); circle != nil {
		high.High = max(high.High, circle.Num.High)
	}
	s := c.shaft.thread
	x := s.Diameter[0] / 1000
	use := off(x, unit.Quantity{Low: root.Num.Low, High: high.High}, c.diameter)
	if use <= 1+judge.Slack {
		return
	}
	if other := c.shaft.rival; other != nil && off(other.Diameter[0]/1000, unit.Quantity{Low: root.Num.Low, High: high.High}, c.diameter) <= 1 {
		c.unseen("two cylinders could be the thread, #%d and #%d", s.ID, other.ID)
		return
	}
	is, say := c.v.Apart(x, nominal.Num.Nominal, unit.Length)
	c.faults = append(c.faults, judge.Fault{At: judge.Field("screw.nominal_diameter"), Move: -1, Compared: c.differs(use, "diameter"), Limit: "diameter", Inputs: judge.Fields("screw.root_diameter"),
		Message: fmt.Sprintf("thread is %s in the model (%s); declared root diameter %s, nominal diameter %s", is, c.instance(s.ID), c.v.Text(root), say),
		Fixes:   []judge.Draft{judge.Remark("a screw of " + is + " as in the model, or a model of this screw")}})
}

// ends compares lengths, diameters and what was milled or cut into the ends.
func (c *modelCheck) ends() {
	if c.shaft.thread == nil {
		return
	}
	c.endLengths()
	c.endDiameters()
	for i := range c.shaft.ends {
		if e := &c.shaft.ends[i]; !e.hidden {
			c.journal(i, e)
		}
	}
}

// hiddenEnd says of an end that it cannot be compared.
func (c *modelCheck) hiddenEnd(i int) bool {
	if c.shaft.ends[i].hidden {
		c.unseen("free-form surfaces bound the %s", modelEnds[i].words)
		return true
	}
	return false
}

func (c *modelCheck) endLengths() {
	declared := c.v.Value(judge.Field("screw.end_lengths"))
	if declared == nil {
		return
	}
	c.pair("screw.end_lengths", "length", c.length, declared, func(i int) (low, high float64, id uint64) {
		e := c.shaft.ends[i]
		return e.short, e.long, cmp.Or(e.id, c.shaft.thread.ID)
	}, "%s is declared %s long, in the model it is %s (%s)")
}

func (c *modelCheck) endDiameters() {
	declared := c.v.Value(judge.Field("screw.end_diameters"))
	if declared == nil {
		return
	}
	c.pair("screw.end_diameters", "diameter", c.diameter, declared, func(i int) (low, high float64, id uint64) {
		e := c.shaft.ends[i]
		return e.thick, e.thick, e.thickID
	}, "largest diameter of the %s is declared as %s, in the model it is %s (%s)")
}

// pair compares a value of both ends. The model's lies anywhere from low to high.
func (c *modelCheck) pair(path, limit string, tolerance float64, declared *spec.Value, of func(i int) (low, high float64, id uint64), words string) {
	take, found := [2]string{}, []judge.Fault{}
	for i := range c.shaft.ends {
		take[i] = unit.FormatExact(declared.Ends[i].Nominal, unit.Length, c.v.Units())
		low, high, id := of(i)
		if c.hiddenEnd(i) || id == 0 {
			if e := c.shaft.ends[i]; !e.hidden && e.short > modelSame {
				c.unseen("the %s has no cylinder", modelEnds[i].words)
			}
			continue
		}
		low, high = low/1000, high/1000
		q := declared.Ends[i]
		if use := max(off(low, unit.Quantity{Low: math.Inf(-1), High: q.High}, tolerance), off(high, unit.Quantity{Low: q.Low, High: math.Inf(1)}, tolerance)); use > 1+judge.Slack {
			x := low
			if q.Low > high {
				x = high
			}
			take[i] = c.text(x)
			is, say := c.v.Apart(x, q.Nominal, unit.Length)
			found = append(found, judge.Fault{At: judge.Field(path), Move: -1, Compared: c.differs(use, limit), Limit: limit, Message: fmt.Sprintf(words, modelEnds[i].words, say, is, c.instance(id))})
		}
	}
	for i := range found {
		both := take[0] + ", " + take[1]
		found[i].Fixes = []judge.Draft{judge.Change(judge.Readable(judge.Field(path).Name)+" "+both+", as in the model", path, both)}
	}
	c.faults = append(c.faults, found...)
}

// journal compares the smallest diameter of an end, its seats, its keyway and its grooves.
func (c *modelCheck) journal(i int, e *modelEnd) {
	name := modelEnds[i]
	if declared := c.v.Value(judge.Field(name.journal + ".diameter")); declared != nil && e.thinID != 0 {
		x := e.thin / 1000
		of := endsOf(c.v)[i]
		core := off(of.core(), declared.Num, c.diameter) <= 1 && x > declared.Num.High // that of a thread, drawn as a plain cylinder
		if use := off(x, declared.Num, c.diameter); use > 1+judge.Slack && !core {
			is, say := c.v.Apart(x, declared.Num.Nominal, unit.Length)
			take := c.text(x)
			c.fault(name.journal+".diameter", use, "diameter", []judge.Draft{judge.Change("diameter "+take+", as in the model", name.journal+".diameter", take)},
				"smallest diameter of the %s is declared as %s, in the model it is %s (%s)", name.words, say, is, c.instance(e.thinID))
		}
	}
	c.seats(i, e)
	c.steps(i, e)
	if f := e.other; f != nil {
		c.unseen("the %s has a %s (#%d), which nothing is calculated with", name.words, f.Kind, f.ID)
	}
	if !c.shaft.sure && (e.keyway != nil || e.groove != nil) {
		c.unseen("its ends are too much alike to tell which of them is the driven one")
		return
	}
	c.cuts(i, e)
}

// cuts compares keyway and groove.
func (c *modelCheck) cuts(i int, e *modelEnd) {
	name := modelEnds[i]
	switch key := e.keyway; {
	case key == nil && i == 0 && c.v.Word(judge.Field("drive_journal.keyway")) == "end-milled":
		c.unseen("the keyway that is declared for the driven end is not in the model")
	case key == nil:
	case i == 1:
		c.unseen("the %s has a keyway (#%d), which nothing is calculated with", name.words, key.ID)
	case c.v.Word(judge.Field("drive_journal.keyway")) == "none":
		c.fault("drive_journal.keyway", 0, "", []judge.Draft{judge.Change("an end-milled keyway, as in the model", "drive_journal.keyway", "end-milled")},
			"the model has a keyway in the %s (%s), none is declared", name.words, c.instance(key.ID))
	}
	if g := e.groove; g != nil && c.v.Word(judge.Field(name.journal+".groove")) == "none" {
		c.fault(name.journal+".groove", 0, "", []judge.Draft{judge.Change("a ring groove, as in the model", name.journal+".groove", "ring")},
			"the model has a ring groove in the %s (%s), none is declared", name.words, c.instance(g.ID))
	}
}

// A modelShaft is the shaft of a model, with what of it is the thread.
type modelShaft struct {
	profile  *step.Profile
	units    step.Units
	thread   *step.Segment
	rival    *step.Segment // that could be the thread too
	noThread string        // why thread is nil
	endless  bool          // an end is not known
	ends     [2]modelEnd   // driven one first, once towards has seen the axis
	back     bool          // the driven end is the last of the profile
	sure     bool          // which end is which
	beside   []modelBody   // other bodies on its axis
}

// A modelEnd is one end of a shaft, without the thread. Lengths are millimetres.
type modelEnd struct {
	short, long float64 // its length without the chamfer of the thread, and with it
	id          uint64  // the face at which the end begins; 0 where the thread reaches to it
	thick, thin float64 // its largest and smallest diameter
	thickID     uint64  // their faces; 0 where it has none
	thinID      uint64
	cylinders   []*step.Segment // from outside to the thread
	keyway      *step.Feature
	groove      *step.Segment
	other       *step.Feature // a hole or a flat
	hidden      bool          // not all of it is known
}
