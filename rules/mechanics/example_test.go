package mechanics_test

import (
	"fmt"

	"trammel/rules/mechanics"
)

// Numbers go in at the leaves; what can be known from them comes out, and what lacks
// something names it.
func ExampleCalc() {
	c := mechanics.NewCalc()
	c.Reset(1)
	c.Set(mechanics.Lead, 0.010)
	c.SetMove(mechanics.MoveDistance, 0, 0.600)
	c.SetMove(mechanics.MoveSpeed, 0, 0.5)
	c.SetMove(mechanics.MoveRamp, 0, 0.2)
	c.Run()
	fmt.Printf("peak speed %.0f mm/s\n", c.V(mechanics.TopSpeed)*1000)
	fmt.Println("critical speed known:", c.Known(mechanics.Critical))
	for _, g := range c.Gaps(mechanics.Critical) {
		fmt.Println("  wants", g.Leaf.Name)
	}
	// Output:
	// peak speed 500 mm/s
	// critical speed known: false
	//   wants supports.drive_end
	//   wants supports.far_end
	//   wants supports.span
	//   wants screw.root_diameter
	//   wants screw.elastic_modulus
	//   wants screw.density
}
