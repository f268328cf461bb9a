package document

import "testing"

// TestUsed: whole percent from ten on, one decimal below, and what is over its limit is
// never rounded to it.
func TestUsed(t *testing.T) {
	for use, want := range map[float64]string{0: "0 %", 0.00001: "< 0.1 %", 0.001: "0.1 %", 0.0994: "9.9 %", 0.1: "10 %", 0.999: "100 %", 1: "100 %", 1.001: "> 100 %", 1.12: "112 %", 4455: "> 1000 %"} {
		if got := (Bar{Use: use}).Used(); got != want {
			t.Errorf("%g: %q, not %q", use, got, want)
		}
	}
}
