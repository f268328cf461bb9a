package run_test

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/run/runtest"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
)

// TestSummarySorts: gaps and unlocks stand by place, then axis, gaps then by
// what is missing and why, findings by place, rule and message, whatever order
// they come in.
func TestSummarySorts(t *testing.T) {
	at := func(file string, line int) spec.Place { return spec.Place{File: file, Line: int32(line), Col: 1} }
	var gaps []judge.MissingInput
	var unlocks []judge.NextInputs
	var findings []judge.Finding
	for _, file := range []string{"a", "b"} {
		for _, line := range []int{1, 2} {
			for _, rule := range []string{"r", "s"} {
				findings = append(findings, judge.Finding{Place: at(file, line), Rule: rule, Message: "m"}, judge.Finding{Place: at(file, line), Rule: rule, Message: "n"})
			}
			for _, axis := range []string{"x", "y"} {
				unlocks = append(unlocks, judge.NextInputs{Place: at(file, line), Axis: axis})
				for _, missing := range []string{"", "l"} {
					for _, why := range []string{"p", "q"} {
						gaps = append(gaps, judge.MissingInput{Place: at(file, line), Axis: axis, Missing: missing, Why: why})
					}
				}
			}
		}
	}
	for _, step := range []int{5, 7, 11, 31} { // prime to 8, 16 and 32
		var s run.Summary
		for i := range gaps {
			s.MissingInputs = append(s.MissingInputs, gaps[i*step%len(gaps)])
		}
		for i := range unlocks {
			s.NextInputs = append(s.NextInputs, unlocks[i*step%len(unlocks)])
		}
		for i := range findings {
			s.Findings = append(s.Findings, findings[i*step%len(findings)])
		}
		s.Sort()
		for i := range findings {
			if fmt.Sprint(s.Findings[i]) != fmt.Sprint(findings[i]) {
				t.Errorf("step %d: %v stands at place %d of the findings", step, s.Findings[i], i)
			}
		}
		for i := range gaps {
			if fmt.Sprint(s.MissingInputs[i]) != fmt.Sprint(gaps[i]) {
				t.Errorf("step %d: %v stands at place %d of the gaps", step, s.MissingInputs[i], i)
			}
		}
		for i := range unlocks {
			if fmt.Sprint(s.NextInputs[i]) != fmt.Sprint(unlocks[i]) {
				t.Errorf("step %d: %v stands at place %d of the unlocks", step, s.NextInputs[i], i)
			}
		}
	}
	// What is alike in all keys stays in the order it came in.
	s := run.Summary{Findings: []judge.Finding{{Machine: "1"}, {Machine: "2"}, {Machine: "3"}}, MissingInputs: []judge.MissingInput{{Machine: "1"}, {Machine: "2"}, {Machine: "3"}}, NextInputs: []judge.NextInputs{{Machine: "1"}, {Machine: "2"}, {Machine: "3"}}}
	s.Sort()
	for i, want := range []string{"1", "2", "3"} {
		if s.Findings[i].Machine != want || s.MissingInputs[i].Machine != want || s.NextInputs[i].Machine != want {
			t.Errorf("%v %v %v", s.Findings, s.MissingInputs, s.NextInputs)
		}
	}
}

// TestMergeAddsEverything: two runs over two machines, merged, say what one run
// over both says.
func TestMergeAddsEverything(t *testing.T) {
	a, p := testaxis.WholeSheet().With("supports.span", "", "screw.root_diameter", "", "motor.max_speed", "").Text()
	b := strings.Replace(a, `"cross"`, `"lift"`, 1)
	all := testaxis.Memory("one/a.axis.hcl", a, "two/b.axis.hcl", b, "parts/all.parts.hcl", p)
	both := runtest.Try(all, run.Options{})
	one, two := runtest.Try(all, run.Options{}, "one/a.axis.hcl"), runtest.Try(all, run.Options{}, "two/b.axis.hcl")
	if len(both.NextInputs) != 2 || len(one.NextInputs) != 1 {
		t.Fatalf("%v", both.NextInputs)
	}
	two.Merge(one.Summary)
	two.Sort()
	if len(two.NextInputs) != 2 || two.Axes != 2 || len(two.MissingInputs) != len(both.MissingInputs) || len(two.MissingInputs) != 2*len(one.MissingInputs) {
		t.Errorf("merged: %s\nin one run: %s", runtest.Shown(two.Summary), runtest.Shown(both.Summary))
	}
	if !slices.IsSortedFunc(two.NextInputs, func(x, y judge.NextInputs) int { return cmp.Compare(x.Axis, y.Axis) }) {
		t.Error(two.NextInputs)
	}
}

// TestPolicyWaiverBelow: a waiver of a policy holds in folders below that have
// policies of their own, and one of those does not hold above.
func TestPolicyWaiverBelow(t *testing.T) {
	a, p := testaxis.Quick("").Text()
	waiver := "waive \"critical-speed\" {\n  reason = \"bed\"\n  until = \"2027-06-30\"\n}\n"
	other := "rule \"slenderness\" {\n  severity = \"note\"\n}\n"
	for above, below := range map[string]string{waiver: other, other: waiver} {
		o := runtest.Try(testaxis.Memory("line/deep/a.axis.hcl", a, "line/b.axis.hcl", strings.Replace(a, `"cross"`, `"lift"`, 1), "parts/all.parts.hcl", p,
			"line/x.policy.hcl", above, "line/deep/y.policy.hcl", below), run.Options{})
		waived := map[string]bool{}
		for _, f := range o.Findings {
			if f.Rule == "critical-speed" {
				waived[f.Axis] = f.Waiver != nil
			}
		}
		if len(waived) != 2 || !waived["cross"] || waived["lift"] != (above == waiver) {
			t.Errorf("above %s: %v", above, waived)
		}
	}
}
