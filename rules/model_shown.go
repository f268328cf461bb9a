package rules

import (
	"math"

	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/step"
)

// A ShownShaft is what a model shows of a shaft, in millimetres, for whoever declares it.
type ShownShaft struct {
	Profile *step.Profile
	Units   step.Units
	Endless bool          // an end is bounded by surfaces that are not read
	Thread  *step.Segment // the cylinder that is taken for the thread; nil where none can be
	Why     string        // Thread is nil
	Ends    [2]ShownEnd   // in the order of the profile: no model says which is the driven one
	Nut     *step.Profile // in an assembly, where one body is it
}

// A ShownEnd is one end without the thread. Where it is not Known, free-form surfaces
// bound it.
type ShownEnd struct {
	Known       bool
	Long        float64 // without what rises to the thread as its chamfer
	Thick, Thin float64 // largest and smallest diameter; 0 where it has none
	ThickID     uint64
	ThinID      uint64
}

// ShaftIn takes the shaft from a model, or says why there is none.
func ShaftIn(model *spec.Model) (*ShownShaft, string) {
	s, why := shaftOf(model)
	if s == nil {
		return nil, why
	}
	out := &ShownShaft{Profile: s.profile, Units: s.units, Endless: s.endless, Thread: s.thread, Why: s.noThread}
	if s.thread == nil {
		return out, ""
	}
	for i, e := range s.ends {
		out.Ends[i] = ShownEnd{!e.hidden, e.short, e.thick, e.thin, e.thickID, e.thinID}
	}
	if nuts := s.nuts(); len(nuts) == 1 {
		out.Nut = nuts[0].profile
	}
	return out, ""
}

// Alike reports whether both ends are known and equal.
func (s *ShownShaft) Alike() bool {
	a, b := s.Ends[0], s.Ends[1]
	return a.Known && b.Known && math.Abs(a.Long-b.Long)+math.Abs(a.Thick-b.Thick)+math.Abs(a.Thin-b.Thin) < modelSame
}

// ShaftOf takes the shaft from the model that an axis names, with the driven end first:
// the way round in which it agrees better with what is declared. It gives nothing where
// none is named, or why there is none.
func ShaftOf(v *judge.View) (*ShownShaft, string) {
	model := v.Axis.Model()
	if model == nil {
		return nil, ""
	}
	if model.Err != "" {
		return nil, "it cannot be read: " + model.Err
	}
	out, why := ShaftIn(model)
	if out == nil {
		return nil, why
	}
	if s, _ := shaftOf(model); s.towards(v).back {
		out.Profile = out.Profile.Turn()
	}
	return out, ""
}
