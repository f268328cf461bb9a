package judge_test

import (
	"testing"

	"trammel/rules"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
)

// TestWaiverDays holds the days on which what is said of a waiver changes against asking
// on these days and the days after: what is kept from run to run holds between them.
func TestWaiverDays(t *testing.T) {
	t.Parallel()
	tree := spec.NewTree(testaxis.Memory("p.policy.hcl", "rule \"waiver-term\" {\n  term = \"30 days\"\n}\nwaive \"min-lead\" {\n  reason = \"x\"\n  until  = \"2027-06-30\"\n}\n"))
	f := tree.Folder(".")
	w := f.Policies[0].Waivers[0]
	said := func(day string) string {
		out := ""
		for _, x := range rules.Book().NewJudge(testaxis.Day(day), false).PolicyWaivers(f) {
			out += x.Rule + " "
		}
		return out
	}
	days := rules.Book().NewJudge(testaxis.Day("2026-11-25"), false).WaiverDays(f, w)
	if len(days) != 2 {
		t.Fatalf("days %v", days)
	}
	for i, want := range [][2]string{{"", "waiver-expired "}, {"waiver-term ", ""}} {
		on, after := days[i].Format("2006-01-02"), days[i].AddDate(0, 0, 1).Format("2006-01-02")
		if said(on) != want[0] || said(after) != want[1] {
			t.Errorf("on %s %q, on %s %q, expected %q", on, said(on), after, said(after), want)
		}
	}
	if got := days[1].Format("2006-01-02"); got != "2027-05-30" {
		t.Errorf("reaches too far until %s, expected 2027-05-30", got)
	}
}
