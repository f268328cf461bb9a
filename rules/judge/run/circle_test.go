package run

import (
	"fmt"
	"testing"
	"trammel/spec"
)

// TestCircleWords: up to eight axes of a circle are named, of more the four at
// each end.
func TestCircleWords(t *testing.T) {
	for n, want := range map[int]string{
		1: "a0 → a0", 3: "a0 → a1 → a2 → a0", 8: "a0 → a1 → a2 → a3 → a4 → a5 → a6 → a7 → a0",
		9: "a0 → a1 → a2 → a3 → (1 more) → a5 → a6 → a7 → a8 → a0", 20: "a0 → a1 → a2 → a3 → (12 more) → a16 → a17 → a18 → a19 → a0",
	} {
		var way []*spec.Axis
		for i := range n {
			way = append(way, &spec.Axis{Name: fmt.Sprint("a", i)})
		}
		if got := circleWords(way, "a0"); got != want {
			t.Errorf("%d: %s", n, got)
		}
	}
}
