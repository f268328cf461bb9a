package spec_test

import (
	"fmt"
	"testing/fstest"

	"trammel/spec"
)

// Reading an axis, and where its values come from.
func ExampleTree() {
	tree := spec.NewTree(fstest.MapFS{
		"parts/screws.parts.hcl": {Data: []byte(`
screw "g20x10" {
  lead = "10 mm"
}
`)},
		"glaze/cross.axis.hcl": {Data: []byte(`
axis "cross" {
  load {
    mass = 38
  }
  screw {
    part   = screw.g20x10
    length = "98 cm"
  }
}
`)},
	})
	file := tree.ReadAxes("glaze/cross.axis.hcl")
	for _, p := range file.Problems {
		fmt.Printf("%v: %s [%s]\n", p.Place, p.Message, p.Rule)
	}
	for _, path := range []string{"screw.length", "screw.lead", "screw.density"} {
		v := file.Axes[0].Get(spec.Language().FieldAt(path))
		fmt.Printf("%s = %s (%g in SI), from %v", path, v.Text, v.Num.Nominal, v.Origin)
		if v.Place.Valid() {
			fmt.Printf(" at %v", v.Place)
		}
		fmt.Println()
	}
	// Output:
	// glaze/cross.axis.hcl:4:12: mass needs a unit; the bare number 38 has none [unit]
	// screw.length = 98 cm (0.98 in SI), from axis at glaze/cross.axis.hcl:8:14
	// screw.lead = 10 mm (0.01 in SI), from part at parts/screws.parts.hcl:3:10
	// screw.density = 7850 kg/m3 (7850 in SI), from default
}
