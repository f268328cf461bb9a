package judge

import (
	"strings"
	"testing"
	"testing/fstest"

	"trammel/rules/judge/testaxis"
	"trammel/spec"
)

// Calls within calls are compiled once each. Twice would be 2⁵⁰ times.
func TestCallsWithinCalls(t *testing.T) {
	deep := "1"
	for range 50 {
		deep = "max(" + deep + ", 1, 1)"
	}
	for text, want := range map[string]string{
		"1 <= " + deep: "",
		`"1 kN" <= max("2 kN", buckling_load, "3 kN")`: "",
		`buckling_load <= max("2 kN", "3 kN")`:         "two texts",
		`buckling_load <= max("2 kN", screw.lead)`:     "is expected",
		`buckling_load <= max(buckling_load)`:          "2 or more",
		`1 <= abs("2 kN")`:                             "is not known here",
	} {
		fsys := fstest.MapFS{"x.policy.hcl": {Data: []byte("require \"r\" {\n  that = " + text + "\n}\n")}}
		f := spec.NewTree(fsys).Folder(".")
		problems := Book().NewJudge(testaxis.SomeDay, false).PolicyProblems(f)
		all := ""
		for _, p := range append(problems, f.Problems...) {
			all += p.Message + "\n"
		}
		if (want == "") != (all == "") || !strings.Contains(all, want) {
			t.Errorf("%.60s: %q, want %q", text, all, want)
		}
	}
}

// The axes of one file share what may be spent on tolerances, so that a file of
// a thousand takes no longer than one of a few.
func TestFileSharesBudget(t *testing.T) {
	b := NewScratch()
	for axes, want := range map[int]int{0: FullBudget, 1: FullBudget, 8: FullBudget, 1000: fileBudget / 1000} {
		if got := b.BudgetOf(&spec.Axis{InFile: axes}); got != want {
			t.Errorf("%d axes: %d, want %d", axes, got, want)
		}
	}
	b.Most = 7
	if got := b.BudgetOf(&spec.Axis{InFile: 1}); got != 7 {
		t.Error(got)
	}
}
