package rules

import (
	"fmt"

	m "trammel/rules/mechanics"
)

// Cautions are what can hurt someone at this axis, for the papers that people
// take to it. None of them makes a machine safe or says that one is.
func (v *View) Cautions() []string {
	v.Units()
	var out []string
	if f := v.V(m.HeldForce); f > 0 {
		out = append(out, fmt.Sprintf("Stored force: the fixed ends hold the shaft with up to %s. Relieve it, evenly and by the maker's instruction, before a support or its lock nut is loosened.", v.F(m.HeldForce)))
	}
	return out
}
