package report

import (
	"testing"

	"trammel/rules/judge"
)

// What is not judged is said as rules and what they need, in the number of the rules.
func TestGapLine(t *testing.T) {
	many := []string{"holding-brake", "motor-speed", "min-lead", "motor-rms-torque", "motor-standstill"}
	for _, x := range []struct {
		gap  judge.MissingInput
		want string
	}{
		{judge.MissingInput{Missing: "drive.motor", Rules: many[:1]}, "holding-brake needs drive.motor"},
		{judge.MissingInput{Missing: "drive.motor", Rules: many[:2]}, "holding-brake and motor-speed need drive.motor"},
		{judge.MissingInput{Missing: "drive.motor", Rules: many[:4]}, "holding-brake, motor-speed, min-lead and motor-rms-torque need drive.motor"},
		{judge.MissingInput{Missing: "drive.motor", Rules: many}, "holding-brake, motor-speed and 3 more need drive.motor"},
		{judge.MissingInput{Why: "the axis has syntax errors", Rules: many[:2]}, "holding-brake and motor-speed: the axis has syntax errors"},
		{judge.MissingInput{Missing: "duty.shock", Why: "passes only if duty.shock, which is not declared, is at most 2", Rules: many[:1]},
			"holding-brake passes only if duty.shock, which is not declared, is at most 2"},
		{judge.MissingInput{Missing: "duty.shock", Why: "passes only if duty.shock, which is not declared, is at most 2", Rules: many[:2]},
			"holding-brake and motor-speed pass only if duty.shock, which is not declared, is at most 2"},
		{judge.MissingInput{Why: "passes or fails depending on assumed values; declare duty.shock", Rules: many[:1]},
			"holding-brake passes or fails depending on assumed values; declare duty.shock"},
	} {
		if got := GapLine(&x.gap); got != x.want {
			t.Errorf("%q, want %q", got, x.want)
		}
	}
}
