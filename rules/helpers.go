package rules

import (
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
)

// undeclared is for questions about something nobody may have declared.
func undeclared(path string) func(*judge.View) bool {
	f := judge.Field(path)
	return func(v *judge.View) bool { return v.Axis.Get(f) == nil }
}

func quantities(q ...*mechanics.Quantity) []*mechanics.Quantity { return q }

// at points at one field.
func at(path string) func(*judge.View) (*spec.Field, int) {
	f := judge.Field(path)
	return func(*judge.View) (*spec.Field, int) { return f, -1 }
}

// atFastest points at the speed of the move that reaches the top speed.
func atFastest(v *judge.View) (*spec.Field, int) {
	return judge.Field("motion.move.speed"), v.Largest(mechanics.MovePeakSpeed)
}

// firstKnown is the first of some quantities that is known, or with a first one
// that is not, all the others that are.
func firstKnown(v *judge.View, first *mechanics.Quantity, others ...*mechanics.Quantity) []*mechanics.Quantity {
	if v.Calc.Known(first) {
		return quantities(first)
	}
	return others
}

// payload names the heaviest payload where there is one.
func payload(v *judge.View) []*mechanics.Quantity {
	if v.V(mechanics.TopPayload) > 0 {
		return quantities(mechanics.TopPayload)
	}
	return nil
}
