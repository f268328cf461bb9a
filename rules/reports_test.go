package rules_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// TestReportsHoldTogether looks at every report on the fixtures: what it says in
// one place must fit what it says in another.
func TestReportsHoldTogether(t *testing.T) {
	t.Parallel()
	reports := 0
	for _, name := range append([]string{"bakery"}, ruleTrees(t)...) {
		root, err := os.OpenRoot(filepath.Join(fixtureRoot, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		defer root.Close()
		tree := spec.NewTree(root.FS())
		var files []string
		tree.Walk(".", func(f string) { files = append(files, f) })
		sum := run.Files(rules.Book(), tree, files, run.Options{Today: fixtureDay, Fixes: true, Whole: true, Workers: 1, As: run.Look{Each: func(r *judge.Report) {
			reports++
			holdsTogether(t, name+": "+r.View.Axis.Name, r, tree.FS())
		}}})
		if !slices.IsSortedFunc(sum.Findings, compareFindings) {
			t.Errorf("%s: the findings are not in order", name)
		}
	}
	if reports < 100 {
		t.Errorf("only %d axes were looked at", reports)
	}
}

// compareFindings is the order a reader is promised: by file, line and column,
// then by rule, then by message.
func compareFindings(a, b judge.Finding) int {
	for _, c := range []int{
		strings.Compare(a.Place.File, b.Place.File), int(a.Place.Line) - int(b.Place.Line), int(a.Place.Col) - int(b.Place.Col),
		strings.Compare(a.Rule, b.Rule), strings.Compare(a.Message, b.Message),
	} {
		if c != 0 {
			return c
		}
	}
	return 0
}

func holdsTogether(t *testing.T, axis string, r *judge.Report, fsys fs.FS) {
	found := map[string]bool{}
	for _, f := range r.Findings {
		found[f.Rule] = true
		if f.Place.File != r.View.Axis.Place.File && judge.TextRules()[f.Rule] == "" && !strings.HasPrefix(f.Rule, "waiver") {
			t.Errorf("%s: %s stands in another file than its axis: %s", axis, f.Rule, f.Place)
		}
		// What a finding is about is a line, of a move where it is one of a
		// move's and of none else.
		path, move, inMove := strings.Cut(f.Cause, "[")
		if inMove != strings.HasPrefix(path, "motion.move.") {
			t.Errorf("%s: %s is about %s", axis, f.Rule, f.Cause)
		}
		if inMove && !slices.ContainsFunc(r.View.Axis.Moves, func(m *spec.Move) bool { return m.Name+"]" == move }) {
			t.Errorf("%s: %s is about a move that is not there: %s", axis, f.Rule, f.Cause)
		}
		seen := map[string]bool{}
		for _, e := range f.Inputs {
			key := e.Words + e.Place.String()
			if e.Words == "" || seen[key] {
				t.Errorf("%s: %s names %q twice, or nothing", axis, f.Rule, key)
			}
			seen[key] = true
		}
	}
	if !slices.IsSortedFunc(r.Findings, compareFindings) {
		t.Errorf("%s: the findings are not in order", axis)
	}
	waits := map[string]bool{}
	for _, x := range r.Results {
		if found[x.Rule] != (x.State == judge.Failed) {
			t.Errorf("%s: %s is %s, findings: %v", axis, x.Rule, x.State, found[x.Rule])
		}
		switch x.State {
		case judge.Passed, judge.Failed, judge.Disabled:
			if x.Why != "" {
				t.Errorf("%s: %s is %s because %s", axis, x.Rule, x.State, x.Why)
			}
		case judge.NotApplicable:
			if x.Why == "" {
				t.Errorf("%s: it is not said why %s does not apply", axis, x.Rule)
			}
		case judge.Unjudged:
			if x.Why == "" && len(x.Missing) == 0 {
				t.Errorf("%s: it is not said why %s is not judged", axis, x.Rule)
			}
		}
		if x.State == judge.Unjudged || len(x.Missing) > 0 {
			waits[x.Rule] = true
		}
	}
	gaps, lines := map[string]bool{}, 0
	for i, g := range r.MissingInputs {
		if key := g.Missing + "\x00" + g.Why; gaps[key] {
			t.Errorf("%s: %s%s stands in two gaps", axis, g.Missing, g.Why)
		} else {
			gaps[key] = true
		}
		if g.Missing != "" {
			lines++
		}
		if i > 0 && len(g.Rules) > len(r.MissingInputs[i-1].Rules) {
			t.Errorf("%s: more rules wait for %s%s than for the line before it", axis, g.Missing, g.Why)
		}
		seen := map[string]bool{}
		for _, name := range g.Rules {
			if seen[name] || !waits[name] {
				t.Errorf("%s: %s is said to wait for %s%s, twice or wrongly", axis, name, g.Missing, g.Why)
			}
			seen[name] = true
		}
	}
	if (lines > 1) != (r.NextInputs != nil) {
		t.Errorf("%s: %d lines are missing, and a short list of them is given: %v", axis, lines, r.NextInputs != nil)
	}
}
