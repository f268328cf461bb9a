package judge

import (
	"fmt"
	"slices"
	"sort"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/rules/judge/testaxis"
	"trammel/spec"
	"trammel/spec/unit"
)

// outcome is what came of a run, with what the summary leaves out.
type outcome struct {
	*Summary
	reports map[string]*verdict // by axis
}

type verdict struct {
	results  map[string]Result
	findings []Finding // with their tests, as far as they have any
	unlock   *NextInputs
}

func (v *verdict) states() map[string]State {
	out := map[string]State{}
	for name, r := range v.results {
		out[name] = r.State
	}
	return out
}

// of lists an axis's findings of one rule.
func (v *verdict) of(rule string) []Finding {
	var out []Finding
	for _, f := range v.findings {
		if f.Rule == rule {
			out = append(out, f)
		}
	}
	return out
}

// run judges axis files of a tree in memory, all of them where none is named.
func run(fsys fstest.MapFS, opt Options, files ...string) *outcome {
	if len(files) == 0 {
		for name := range fsys {
			if strings.HasSuffix(name, spec.AxisSuffix) {
				files = append(files, name)
			}
		}
		sort.Strings(files)
	}
	if opt.Today.IsZero() {
		opt.Today = testaxis.SomeDay
	}
	out := &outcome{reports: map[string]*verdict{}}
	if opt.Workers == 0 {
		opt.Workers = 1
	}
	if opt.Workers == 1 && opt.Each == nil {
		opt.Each = func(r *Report) {
			v := &verdict{results: map[string]Result{}, findings: slices.Clone(r.Findings), unlock: r.NextInputs}
			for _, x := range r.Results {
				v.results[x.Rule] = x
			}
			out.reports[r.View.Axis.Name] = v
		}
	}
	out.Summary = Run(Book(), spec.NewTree(fsys), files, opt)
	return out
}

// judge judges a sheet alone.
func judge(s *testaxis.Sheet, opt Options, more ...string) *verdict {
	o := run(s.Files(more...), opt)
	return o.reports[s.Name]
}

// load reads a sheet into scratch memory, for tests that go below Run.
func load(s *testaxis.Sheet, t interface{ Fatalf(string, ...any) }, more ...string) (*Judge, *Scratch, *View) {
	tree := spec.NewTree(s.Files(more...))
	file := tree.ReadAxes(testaxis.SheetFile)
	if len(file.Problems) > 0 {
		t.Fatalf("%v\n%s", file.Problems, s)
	}
	a := file.Axes[0]
	j, b := Book().NewJudge(testaxis.SomeDay, false), NewScratch()
	v := &View{Axis: a, Calc: b.Calc, InForce: j.policies.of(a.Folder)}
	b.tolerances = Load(b.Calc, a, unit.Quantity{}, nil)
	b.Left = FullBudget
	return j, b, v
}

// wantFinding reports a missing finding; every part of words must stand in its
// message, help included.
func wantFinding(t *testing.T, list []Finding, rule string, words ...string) *Finding {
	t.Helper()
	var close []string
	for i := range list {
		f := &list[i]
		if f.Rule != rule {
			continue
		}
		ok := true
		for _, w := range words {
			ok = ok && strings.Contains(f.Message, w)
		}
		if ok {
			return f
		}
		close = append(close, f.Message)
	}
	t.Errorf("no finding of %s with %q; of that rule there are %q among %d findings", rule, words, close, len(list))
	return nil
}

func wantNone(t *testing.T, list []Finding) {
	t.Helper()
	for _, f := range list {
		t.Errorf("unexpected: %s: %s: %s", f.Place, f.Rule, f.Message)
	}
}

// shown is everything a reader sees of a run, for comparing runs.
func shown(s *Summary) string {
	var out strings.Builder
	fmt.Fprintf(&out, "%d axes %d judged %d not judged\n", s.Axes, s.Judged, s.Unjudged)
	for _, f := range s.Findings {
		fmt.Fprintf(&out, "%+v %s %s %s %s %q %+v %q %+v %v %v %s\n", f.Place, f.Severity, f.Rule, f.Machine, f.Axis, f.Message, f.Inputs, f.Fixes, f.Related, f.Utilisation, f.WaiverPlace, f.Cause)
	}
	for _, g := range s.MissingInputs {
		fmt.Fprintf(&out, "%+v\n", g)
	}
	for _, u := range s.NextInputs {
		fmt.Fprintf(&out, "%+v\n", u)
	}
	return out.String()
}

// lever is the thing to change that says so of itself.
func lever(words string) *Parameter {
	for _, l := range allLevers() {
		if l.Words == words {
			return l
		}
	}
	panic("nothing to change says " + words)
}

// leversOf lists the things to change of a group, mildest first.
func leversOf(group string) (out []*Parameter) {
	for _, l := range allLevers() {
		if l.Group == group && !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	return out
}

func allLevers() (out []*Parameter) {
	for _, r := range Book().All() {
		for i := range r.Tests {
			out = append(out, r.Tests[i].Parameters...)
		}
	}
	return out
}
