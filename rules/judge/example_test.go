package judge_test

import (
	"fmt"
	"testing/fstest"
	"time"

	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A book of one rule, asked of two axes.
func ExampleNew() {
	room := judge.Rule{
		Name: "hall", Question: "Does the screw fit into the hall?", Severity: judge.Warning,
		Tests: []judge.Test{{
			Limit: judge.Limit{Name: "limit", Doc: "length of the screw", Kind: unit.Length, Sense: judge.AtMost, Default: 2},
			Value: mechanics.ShaftLength,
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("the screw is %s long; the hall has room for %s", v.F(mechanics.ShaftLength), v.Show(limit, unit.Length))
			},
			At: func(*judge.View) (*spec.Field, int) { return judge.Field("screw.length"), -1 },
		}},
	}
	tree := spec.NewTree(fstest.MapFS{"hall.axis.hcl": {Data: []byte(`
axis "long" {
  screw {
    length = "2.4 m"
  }
}
axis "unknown" {
}
`)}})
	j := judge.New([]*judge.Rule{&room}).NewJudge(time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC), false)
	for _, axis := range tree.ReadAxes("hall.axis.hcl").Axes {
		report := j.Judge(judge.NewScratch(), axis, nil)
		fmt.Printf("%s: %s\n", axis.Name, report.Results[0].State)
		for _, f := range report.Findings {
			fmt.Printf("  %v: %s: %s\n", f.Place, f.Severity, f.Message)
		}
		for _, m := range report.MissingInputs {
			fmt.Printf("  waits for %s\n", m.Missing)
		}
	}
	// Output:
	// long: failed
	//   hall.axis.hcl:4:14: warning: the screw is 2400 mm long; the hall has room for 2000 mm
	// unknown: not judged
	//   waits for screw.length
}
