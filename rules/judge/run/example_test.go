package run_test

import (
	"fmt"
	"testing/fstest"
	"time"

	"trammel/rules"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// What a run says of the files of a tree.
func ExampleFiles() {
	tree := spec.NewTree(fstest.MapFS{"lift.axis.hcl": {Data: []byte(`
axis "lift" {
  orientation = "vertical"
  screw {
    nominal_diameter = "20 mm"
    root_diameter    = "22 mm"
  }
}
`)}})
	found := run.Files(rules.Book(), tree, []string{"lift.axis.hcl"}, run.Options{Today: time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)})
	for _, f := range found.Findings {
		fmt.Printf("%v: %s: %s [%s]\n", f.Place, f.Severity, f.Message, f.Rule)
	}
	fmt.Println(found.Unjudged > 0, "- and what could not be judged is counted")
	// Output:
	// lift.axis.hcl:6:24: error: root diameter 22 mm of the screw is not smaller than its nominal diameter 20 mm [part-contradiction]
	// true - and what could not be judged is counted
}
