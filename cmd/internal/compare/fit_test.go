package compare

import (
	"testing"

	"trammel/rules/judge"
)

// TestFitMovesNoMargin: of a rule on whether declared values fit each other only a change
// of verdict is told; the same change of a margin is.
func TestFitMovesNoMargin(t *testing.T) {
	of := func(state judge.State, use float64, fit bool) *axis {
		return &axis{rules: []result{{"r", state, use, fit}}}
	}
	for _, x := range []struct {
		was, is *axis
		want    int
	}{
		{of(judge.Passed, 0.9, true), of(judge.Passed, 0.99, true), 0},
		{of(judge.Passed, 0.9, false), of(judge.Passed, 0.99, false), 1},
		{of(judge.Passed, 0.9, true), of(judge.Failed, 1.1, true), 1},
		{of(judge.Failed, 1.1, true), of(judge.Passed, 0.9, true), 1},
	} {
		if got := verdicts(x.was, x.is); len(got) != x.want {
			t.Errorf("%+v to %+v: %+v", x.was.rules, x.is.rules, got)
		}
	}
}
