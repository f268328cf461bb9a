package formula

import (
	"fmt"
	"os"
	"path"
	"sync"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/mechanics"
	"trammel/spec"
)

// calcs are the evaluations of all fixtures.
var calcs = sync.OnceValues(func() ([]*mechanics.Calc, error) {
	var out []*mechanics.Calc
	list, err := os.ReadDir("../../../fixtures/rules")
	if err != nil {
		return nil, err
	}
	names := []string{"bakery"}
	for _, e := range list {
		names = append(names, "rules/"+e.Name())
	}
	for _, n := range names {
		tree := spec.NewTree(os.DirFS(path.Join("../../../fixtures", n)))
		var files []string
		tree.Walk(".", func(f string) { files = append(files, f) })
		run.Files(rules.Book(), tree, files, run.Options{Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
			c := mechanics.NewCalc()
			c.CopyFrom(rep.View.Calc)
			out = append(out, c)
		}}})
	}
	if len(out) < 50 {
		return nil, fmt.Errorf("only %d axes in the fixtures", len(out))
	}
	return out, nil
})
