package unit

import "testing"

func TestReadable(t *testing.T) {
	for _, c := range []struct{ s, want string }{
		{"8.102e12 rev", "8.102 × 10¹² rev"},
		{"2e-5 m", "2 × 10⁻⁵ m"},
		{"-10.9 %", "−10.9 %"},
		{"-1.5e-07", "−1.5 × 10⁻⁷"},
		{"1e+06", "1 × 10⁶"},
		{"40 mm", "40 mm"},
		{"0.5 in", "0.5 in"},
		{"12 e", "12 e"},
		{"", ""},
		{"unlimited", "unlimited"},
		{"e4", "e4"},
		{"-unlimited", "−unlimited"},
	} {
		if got := Readable(c.s); got != c.want {
			t.Errorf("Readable(%q) is %q, expected %q", c.s, got, c.want)
		}
	}
}
