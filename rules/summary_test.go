package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"

	"trammel/spec"
)

// TestSummarySorts: gaps and unlocks stand by place, then axis, gaps then by
// what is missing and why, findings by place, rule and message, whatever order
// they come in.
func TestSummarySorts(t *testing.T) {
	at := func(file string, line int) spec.Place { return spec.Place{File: file, Line: int32(line), Col: 1} }
	var gaps []Gap
	var unlocks []Unlock
	var findings []Finding
	for _, file := range []string{"a", "b"} {
		for _, line := range []int{1, 2} {
			for _, rule := range []string{"r", "s"} {
				findings = append(findings, Finding{Place: at(file, line), Rule: rule, Message: "m"}, Finding{Place: at(file, line), Rule: rule, Message: "n"})
			}
			for _, axis := range []string{"x", "y"} {
				unlocks = append(unlocks, Unlock{Place: at(file, line), Axis: axis})
				for _, missing := range []string{"", "l"} {
					for _, why := range []string{"p", "q"} {
						gaps = append(gaps, Gap{Place: at(file, line), Axis: axis, Missing: missing, Why: why})
					}
				}
			}
		}
	}
	for _, step := range []int{5, 7, 11, 31} { // prime to 8, 16 and 32
		var s Summary
		for i := range gaps {
			s.Gaps = append(s.Gaps, gaps[i*step%len(gaps)])
		}
		for i := range unlocks {
			s.Unlocks = append(s.Unlocks, unlocks[i*step%len(unlocks)])
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
			if fmt.Sprint(s.Gaps[i]) != fmt.Sprint(gaps[i]) {
				t.Errorf("step %d: %v stands at place %d of the gaps", step, s.Gaps[i], i)
			}
		}
		for i := range unlocks {
			if fmt.Sprint(s.Unlocks[i]) != fmt.Sprint(unlocks[i]) {
				t.Errorf("step %d: %v stands at place %d of the unlocks", step, s.Unlocks[i], i)
			}
		}
	}
	// What is alike in all keys stays in the order it came in.
	s := Summary{Findings: []Finding{{Machine: "1"}, {Machine: "2"}, {Machine: "3"}}, Gaps: []Gap{{Machine: "1"}, {Machine: "2"}, {Machine: "3"}}, Unlocks: []Unlock{{Machine: "1"}, {Machine: "2"}, {Machine: "3"}}}
	s.Sort()
	for i, want := range []string{"1", "2", "3"} {
		if s.Findings[i].Machine != want || s.Gaps[i].Machine != want || s.Unlocks[i].Machine != want {
			t.Errorf("%v %v %v", s.Findings, s.Gaps, s.Unlocks)
		}
	}
}

// TestMergeAddsEverything: two runs over two machines, merged, say what one run
// over both says.
func TestMergeAddsEverything(t *testing.T) {
	a, p := wholeSheet().with("supports.span", "", "screw.root_diameter", "", "motor.max_speed", "").text()
	b := strings.Replace(a, `"cross"`, `"lift"`, 1)
	all := memory("one/a.axis.hcl", a, "two/b.axis.hcl", b, "parts/all.parts.hcl", p)
	both := Try(all, Options{})
	one, two := Try(all, Options{}, "one/a.axis.hcl"), Try(all, Options{}, "two/b.axis.hcl")
	if len(both.Unlocks) != 2 || len(one.Unlocks) != 1 {
		t.Fatalf("%v", both.Unlocks)
	}
	two.Merge(one.Summary)
	two.Sort()
	if len(two.Unlocks) != 2 || two.Axes != 2 || len(two.Gaps) != len(both.Gaps) || len(two.Gaps) != 2*len(one.Gaps) {
		t.Errorf("merged: %s\nin one run: %s", Shown(two.Summary), Shown(both.Summary))
	}
	if !slices.IsSortedFunc(two.Unlocks, func(x, y Unlock) int { return cmp.Compare(x.Axis, y.Axis) }) {
		t.Error(two.Unlocks)
	}
}

// TestPolicyWaiverBelow: a waiver of a policy holds in folders below that have
// policies of their own, and one of those does not hold above.
func TestPolicyWaiverBelow(t *testing.T) {
	a, p := quick("").text()
	waiver := "waive \"critical-speed\" {\n  reason = \"bed\"\n  until = \"2027-06-30\"\n}\n"
	other := "rule \"slenderness\" {\n  severity = \"note\"\n}\n"
	for above, below := range map[string]string{waiver: other, other: waiver} {
		o := Try(memory("line/deep/a.axis.hcl", a, "line/b.axis.hcl", strings.Replace(a, `"cross"`, `"lift"`, 1), "parts/all.parts.hcl", p,
			"line/x.policy.hcl", above, "line/deep/y.policy.hcl", below), Options{})
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
