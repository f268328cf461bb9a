package rules_test

import (
	"strings"
	"testing"
)

// TestCausesNameMoves: what a finding is about names a move where it is a line
// of a move, and none where it is not.
func TestCausesNameMoves(t *testing.T) {
	t.Parallel()
	seen := map[bool]int{}
	for _, name := range append(ruleTrees(t), "bakery") {
		for _, f := range runFixture(t, name).sum.Findings {
			ofMove := strings.HasPrefix(f.Cause, "motion.move.")
			if ofMove != strings.HasSuffix(f.Cause, "]") {
				t.Errorf("%s: %s is about %s", f.Place, f.Rule, f.Cause)
			}
			seen[ofMove]++
		}
	}
	if seen[true] < 10 || seen[false] < 50 {
		t.Errorf("only %d findings are about moves, %d about other lines", seen[true], seen[false])
	}
}
