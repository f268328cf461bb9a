package sizing_test

import (
	"context"
	"fmt"
	"testing/fstest"
	"time"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/testaxis"
	"trammel/rules/sizing"
	"trammel/spec"
)

// Other parts for an axis whose screw is too weak for it.
func ExampleFind() {
	axis, parts := testaxis.WholeSheet().With("screw.part", "screw.weak", "screw.nominal_diameter", "", "screw.lead", "", "screw.root_diameter", "",
		"screw.process", "", "screw.recirculation", "", "screw.dynamic_rating", "", "screw.static_rating", "").Text()
	screw := `
screw %q {
  nominal_diameter = "20 mm"
  lead             = "10 mm"
  root_diameter    = "17.3 mm"
  process          = "ground"
  recirculation    = "end-cap"
  dynamic_rating   = %q
  static_rating    = %q
}
`
	parts += fmt.Sprintf(screw, "weak", "4 kN", "7 kN") + fmt.Sprintf(screw, "sound", "12.7 kN", "21 kN")
	keep := [...]bool{sizing.ChoosePreload: true, sizing.ChooseEnds: true, sizing.ChooseGrade: true, sizing.ChooseMotor: true, sizing.ChooseCoupling: true}
	today := time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)
	tree := spec.NewTree(fstest.MapFS{"line/cross.axis.hcl": {Data: []byte(axis)}, "parts/all.parts.hcl": {Data: []byte(parts)}})
	run.Files(rules.Book(), tree, []string{"line/cross.axis.hcl"}, run.Options{Today: today, Workers: 1, As: run.Look{Each: func(report *judge.Report) {
		found, err := sizing.Find(context.Background(), report, sizing.Options{Today: today, Level: judge.Error, Keep: keep})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%d combinations, %d hold; as declared it holds: %v\n", found.All, found.Holding, found.Declared)
		for _, pick := range found.Answers[0].Picks {
			if pick.Different {
				fmt.Printf("%s %s\n", pick.Choice, pick.Words)
			}
		}
	}}})
	// Output:
	// 2 combinations, 1 hold; as declared it holds: false
	// screw sound
}
