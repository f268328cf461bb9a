package sheet

import (
	"trammel/cmd/internal/document"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec/unit"
)

// StepOf is one computed quantity of an axis as its sheet shows it.
func StepOf(v *judge.View, q *mechanics.Quantity, sys unit.System) document.Step {
	return (&maker{v: v, o: Options{Sys: sys}}).step(q)
}
