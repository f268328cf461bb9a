package main

import (
	"fmt"
	"sort"
	"sync"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// judgeAxes judges the axes that a command line names, a path and perhaps an
// axis, and hands each report on, one at a time. A spec that cannot be read
// whole is an error: what would be made of it would be wrong. So is an axis
// that is not there, or there more than once; what says that something is not
// made then.
func judgeAxes(args []string, what string, opt run.Options, each func(*job, *judge.Report)) (*job, error) {
	jobs, err := plan(args[:1], "", nil)
	if err != nil {
		return nil, err
	}
	j := jobs[0]
	wanted := ""
	if len(args) == 2 {
		wanted = args[1]
	}
	var mu sync.Mutex
	found := 0
	var names []string
	look, _ := opt.As.(run.Look)
	look.Only = func(_, axis string) bool {
		mu.Lock()
		defer mu.Unlock()
		names = append(names, axis)
		return wanted == "" || axis == wanted
	}
	look.Each = func(rep *judge.Report) {
		mu.Lock()
		defer mu.Unlock()
		found++
		each(j, rep)
	}
	opt.As = look
	sum := run.Files(rules.Book(), j.tree, j.files, opt)
	for i := range sum.Findings {
		if f := &sum.Findings[i]; f.OfText() {
			return nil, fmt.Errorf("%s: %s [%s]; %s; fix this first", j.Show(f.Place), f.Message, f.Rule, what)
		}
	}
	switch {
	case found == 0 && wanted != "":
		sort.Strings(names)
		help := ""
		if n := spec.Nearest(wanted, names); n != "" {
			help = "; did you mean " + n + "?"
		}
		return nil, fmt.Errorf("%s has no axis named %s%s", args[0], wanted, help)
	case found == 0:
		return nil, fmt.Errorf("%s has no axis; name a folder or file that declares one", args[0])
	case wanted != "" && found > 1:
		return nil, fmt.Errorf("%s has %d axes named %s; name the folder or file of one of them", args[0], found, wanted)
	}
	return j, nil
}
