package rules

import m "trammel/rules/mechanics"

// cautions are what a reader must know beside the numbers of an axis that can
// hurt, each with when it is due. They stand in sheets and enquiries.
var cautions = []struct {
	due   func(v *View) bool
	words string
}{
	{func(v *View) bool { return v.V(m.Incline) > 0 },
		"This axis lifts. Nobody stands or reaches below it until it is held by something that does not need power; local rules for lifting take precedence."},
	{func(v *View) bool { return v.V(m.Counterbalance) > 0 },
		"This axis is counterbalanced. Weight, spring or gas store energy and can be lost: relieve or block them before anything is taken off the axis, and do not stand below a counterweight."},
	{func(v *View) bool { return v.V(m.Incline) == 0 && v.V(m.SelfMotion) > 0 },
		"A force stands on this level axis at rest. It can move the axis when power goes: hold it or relieve the force before reaching in."},
	{byBrakes,
		"The brakes stop this axis in an emergency. Holding brakes wear when they stop motion: test them at intervals, and let the brake's maker confirm how often they may."},
}

// Cautions lists what a reader must know beside the numbers of an axis that can
// hurt.
func (v *View) Cautions() []string {
	var out []string
	for _, c := range cautions {
		if c.due(v) {
			out = append(out, c.words)
		}
	}
	return out
}
