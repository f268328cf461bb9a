// Package runtest is for tests that judge an axis of testaxis by a whole run.
package runtest

import (
	"fmt"
	"slices"
	"sort"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
)

// Outcome is what came of a run, with what the summary leaves out.
type Outcome struct {
	*run.Summary
	Reports map[string]*Verdict // by axis
}

type Verdict struct {
	Results  map[string]judge.Result
	Findings []judge.Finding // with their tests, as far as they have any
	Unlock   *judge.NextInputs
}

func (v *Verdict) States() map[string]judge.State {
	out := map[string]judge.State{}
	for name, r := range v.Results {
		out[name] = r.State
	}
	return out
}

// Of lists an axis's Findings of one rule.
func (v *Verdict) Of(rule string) []judge.Finding {
	var out []judge.Finding
	for _, f := range v.Findings {
		if f.Rule == rule {
			out = append(out, f)
		}
	}
	return out
}

// Try judges axis files of a tree in memory, all of them where none is named.
func Try(fsys fstest.MapFS, opt run.Options, files ...string) *Outcome {
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
	out := &Outcome{Reports: map[string]*Verdict{}}
	if opt.Workers == 0 {
		opt.Workers = 1
	}
	look, is := opt.As.(run.Look)
	if opt.Workers == 1 && (is || opt.As == nil) && look.Each == nil {
		look.Each = func(r *judge.Report) {
			v := &Verdict{Results: map[string]judge.Result{}, Findings: slices.Clone(r.Findings), Unlock: r.NextInputs}
			for _, x := range r.Results {
				v.Results[x.Rule] = x
			}
			out.Reports[r.View.Axis.Name] = v
		}
		opt.As = look
	}
	out.Summary = run.Files(rules.Book(), spec.NewTree(fsys), files, opt)
	return out
}

// Alone judges a sheet alone.
func Alone(s *testaxis.Sheet, opt run.Options, more ...string) *Verdict {
	o := Try(s.Files(more...), opt)
	return o.Reports[s.Name]
}

// WantFinding Reports a missing finding; every part of words must stand in its
// message, help included.
func WantFinding(t *testing.T, list []judge.Finding, rule string, words ...string) *judge.Finding {
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
	t.Errorf("no finding of %s with %q; of that rule there are %q among %d Findings", rule, words, close, len(list))
	return nil
}

func WantNone(t *testing.T, list []judge.Finding) {
	t.Helper()
	for _, f := range list {
		t.Errorf("unexpected: %s: %s: %s", f.Place, f.Rule, f.Message)
	}
}

// Shown is everything a reader sees of a run, for comparing runs.
func Shown(s *run.Summary) string {
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
