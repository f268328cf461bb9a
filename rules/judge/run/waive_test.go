package run_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/run/runtest"
	"trammel/rules/judge/testaxis"
)

func waiving(rule, until string) string {
	return fmt.Sprintf("  waive %q {\n    reason = \"measured\"\n    until = %q\n  }\n", rule, until)
}

// A waiver holds through its last day.
func TestWaiverDays(t *testing.T) {
	if o := runtest.Try(testaxis.Quick("").Files(), run.Options{}); len(o.Findings) != 1 || o.Findings[0].Rule != "critical-speed" {
		t.Fatal(runtest.Shown(o.Summary))
	}
	for _, x := range []struct {
		today  time.Time
		waived bool
	}{
		{testaxis.Day("2027-06-29"), true},
		{testaxis.Day("2027-06-30"), true},
		{testaxis.Day("2027-06-30").Add(23*time.Hour + 59*time.Minute), true},
		{testaxis.Day("2027-07-01"), false},
		{testaxis.Day("2030-01-01"), false},
	} {
		o := runtest.Try(testaxis.Quick(waiving("critical-speed", "2027-06-30")).Files(), run.Options{Today: x.today})
		f := runtest.WantFinding(t, o.Findings, "critical-speed")
		if f == nil || (f.Waiver != nil) != x.waived {
			t.Errorf("%v: %+v", x.today, f)
			continue
		}
		if f.Severity != judge.Error {
			t.Errorf("a waived finding keeps its severity, here %s", f.Severity)
		}
		if x.waived {
			if len(o.Findings) != 1 || f.Waiver.Reason.Text != "measured" || f.WaiverPlace.File != testaxis.SheetFile {
				t.Error(runtest.Shown(o.Summary))
			}
			continue
		}
		e := runtest.WantFinding(t, o.Findings, "waiver-expired", "expired on 2027-06-30")
		if e != nil && (e.Severity != judge.Warning || e.Axis != "cross" || len(o.Findings) != 2) {
			t.Error(runtest.Shown(o.Summary))
		}
		if s := o.Reports["cross"].Results["waiver-expired"].State; s != judge.Failed {
			t.Error(s)
		}
	}
}

// A waiver that accepts nothing is reported where its rule was judged, and only
// there.
func TestWaiverUnneeded(t *testing.T) {
	for _, x := range []struct {
		s    *testaxis.Sheet
		want bool
		why  string
	}{
		{testaxis.WholeSheet(), true, "it passed"},
		{testaxis.WholeSheet().With("screw.turning", `"nut"`, "nut.inertia", `"4 kg cm2"`), true, "it does not apply"},
		{testaxis.WholeSheet().With("supports.span", ""), false, "it was not judged"},
		{testaxis.Quick(""), false, "it is needed"},
	} {
		x.s.More = waiving("critical-speed", "2027-06-30")
		o := runtest.Try(x.s.Files(), run.Options{})
		n := 0
		for _, f := range o.Findings {
			if f.Rule == "waiver-unneeded" {
				n++
				if f.Severity != judge.Note {
					t.Error(f.Severity)
				}
			}
		}
		if (n > 0) != x.want || n > 1 {
			t.Errorf("%s: %d times\n%s", x.why, n, runtest.Shown(o.Summary))
		}
	}
	// Switched off by a policy, the rule came to no verdict.
	s := testaxis.WholeSheet()
	s.More = waiving("critical-speed", "2027-06-30")
	o := runtest.Try(s.Files("p.policy.hcl", "rule \"critical-speed\" {\n  severity = \"off\"\n  reason = \"r\"\n}"), run.Options{})
	runtest.WantNone(t, o.Findings)
	// An expired waiver is called expired, not unneeded.
	s.More = waiving("critical-speed", "2026-01-01")
	o = runtest.Try(s.Files(), run.Options{})
	if len(o.Findings) != 1 || o.Findings[0].Rule != "waiver-expired" {
		t.Error(runtest.Shown(o.Summary))
	}
	// Both rules can be switched off.
	o = runtest.Try(s.Files("p.policy.hcl", "rule \"waiver-expired\" {\n  severity = \"off\"\n  reason = \"r\"\n}"), run.Options{})
	runtest.WantNone(t, o.Findings)
}

// All findings of the rule are waived, those of others are not.
func TestWaiverSeveralFindings(t *testing.T) {
	s := testaxis.WholeSheet().With("environment.dust", "true", "environment.chips", "true", "environment.wash_down", "true")
	n := len(runtest.Alone(s, run.Options{}).Of("contamination"))
	if n < 3 {
		t.Fatalf("%d findings", n)
	}
	s.More = waiving("contamination", "2027-06-30")
	waived, others := 0, 0
	for _, f := range runtest.Alone(s, run.Options{}).Findings {
		switch {
		case f.Rule == "contamination" && f.Waiver != nil:
			waived++
		case f.Rule == "contamination":
			t.Errorf("not waived: %s", f.Message)
		case f.Waiver != nil:
			t.Errorf("waived too: %s", f.Rule)
		default:
			others++
		}
	}
	if waived != n || others == 0 {
		t.Errorf("%d of %d waived, %d others", waived, n, others)
	}
}

// The rule stays failed, and is counted as judged.
func TestWaivedStaysFailed(t *testing.T) {
	plain, waived := runtest.Try(testaxis.Quick("").Files(), run.Options{}), runtest.Try(testaxis.Quick(waiving("critical-speed", "2027-06-30")).Files(), run.Options{})
	if s := waived.Reports["cross"].Results["critical-speed"].State; s != judge.Failed {
		t.Error(s)
	}
	// The three questions about waivers are evaluated besides.
	if plain.Judged+3 != waived.Judged || plain.Unjudged != waived.Unjudged {
		t.Errorf("%d/%d judged, %d/%d not", plain.Judged, waived.Judged, plain.Unjudged, waived.Unjudged)
	}
}

// A waiver in a policy holds for the axes it names, or all; here and below.
func TestPolicyWaiver(t *testing.T) {
	a, p := testaxis.Quick("").Text()
	b := strings.Replace(a, `"cross"`, `"lift"`, 1)
	tree := func(axes string) *runtest.Outcome {
		return runtest.Try(testaxis.Memory("line/a.axis.hcl", a, "line/b.axis.hcl", b, "other/c.axis.hcl", strings.Replace(a, `"cross"`, `"far"`, 1), "parts/all.parts.hcl", p,
			"line/w.policy.hcl", "waive \"critical-speed\" {\n  reason = \"bed\"\n  until = \"2027-06-30\"\n"+axes+"}\n"), run.Options{})
	}
	for _, x := range []struct {
		axes string
		want map[string]bool
	}{
		{"", map[string]bool{"cross": true, "lift": true, "far": false}},
		{"axes = [\"cross\"]\n", map[string]bool{"cross": true, "lift": false, "far": false}},
		{"axes = [\"lift\", \"far\"]\n", map[string]bool{"cross": false, "lift": true, "far": false}},
		{"axes = []\n", map[string]bool{"cross": false, "lift": false, "far": false}},
	} {
		o := tree(x.axes)
		if len(o.Findings) != 3 {
			t.Errorf("%s: %s", x.axes, runtest.Shown(o.Summary))
		}
		for _, f := range o.Findings {
			if (f.Waiver != nil) != x.want[f.Axis] {
				t.Errorf("%s: %s waived: %v", x.axes, f.Axis, f.Waiver != nil)
			}
		}
	}
	// Expired, it accepts nothing, and is said once, at its place.
	text := "waive \"critical-speed\" {\n  reason = \"bed\"\n  until = \"2026-01-01\"\n}\n"
	o := runtest.Try(testaxis.Memory("line/a.axis.hcl", a, "line/b.axis.hcl", b, "parts/all.parts.hcl", p, "w.policy.hcl", text), run.Options{Workers: 1})
	expired := 0
	for _, f := range o.Findings {
		if f.Waiver != nil {
			t.Errorf("waived: %s", f.Message)
		}
		if f.Rule == "waiver-expired" {
			expired++
			if f.Place.File != "w.policy.hcl" || f.Place.Line != 3 {
				t.Error(f.Place)
			}
		}
	}
	if expired != 1 {
		t.Errorf("an expired waiver of a policy is reported %d times", expired)
	}
}

// The axis's own waiver goes first.
func TestOwnWaiverFirst(t *testing.T) {
	o := runtest.Try(testaxis.Quick(waiving("critical-speed", "2027-06-30")).Files("w.policy.hcl", "waive \"critical-speed\" {\n  reason = \"bed\"\n  until = \"2027-06-30\"\n}\n"), run.Options{})
	if len(o.Findings) != 1 || o.Findings[0].Waiver == nil || o.Findings[0].WaiverPlace.File != testaxis.SheetFile {
		t.Error(runtest.Shown(o.Summary))
	}
	// An expired one of its own leaves the policy's in force.
	o = runtest.Try(testaxis.Quick(waiving("critical-speed", "2026-06-30")).Files("w.policy.hcl", "waive \"critical-speed\" {\n  reason = \"bed\"\n  until = \"2027-06-30\"\n}\n"), run.Options{})
	if f := runtest.WantFinding(t, o.Findings, "critical-speed"); f != nil && (f.Waiver == nil || f.WaiverPlace.File != "w.policy.hcl") {
		t.Error(runtest.Shown(o.Summary))
	}
}

// Waivers that say nothing are reported and accept nothing.
func TestBadWaivers(t *testing.T) {
	for _, x := range []struct{ more, rule, words string }{
		{waiving("critical-sped", "2027-06-30"), "unknown-name", "did you mean critical-speed?"},
		{waiving("xyzzy", "2027-06-30"), "unknown-name", `no rule "xyzzy" to waive`},
		{"  waive \"critical-speed\" {\n    reason = \"r\"\n  }\n", "value", "last day"},
		{"  waive \"critical-speed\" {\n    until = \"2027-06-30\"\n  }\n", "value", "reason"},
		{"  waive \"critical-speed\" {\n    reason = \"\"\n    until = \"2027-06-30\"\n  }\n", "value", "reason"},
		{waiving("critical-speed", "2027-02-30"), "value", "is not a day"},
		{waiving("critical-speed", "30.6.2027"), "value", "is not a day"},
	} {
		o := runtest.Try(testaxis.Quick(x.more).Files(), run.Options{})
		runtest.WantFinding(t, o.Findings, x.rule, x.words)
		if f := runtest.WantFinding(t, o.Findings, "critical-speed"); f != nil && f.Waiver != nil {
			t.Errorf("%q is waived all the same", x.more)
		}
	}
	o := runtest.Try(testaxis.Quick("").Files("w.policy.hcl", "waive \"critical-sped\" {\n  reason = \"bed\"\n  until = \"2027-06-30\"\n}\n"), run.Options{})
	if f := runtest.WantFinding(t, o.Findings, "unknown-name", "did you mean critical-speed?"); f != nil && !f.Fatal() {
		t.Error("a waiver of nothing in a policy")
	}
}

// The findings about waivers are not waived by others: a waiver of
// waiver-expired would hide what it is about.
func TestWaiverOfWaivers(t *testing.T) {
	o := runtest.Try(testaxis.Quick(waiving("critical-speed", "2026-06-30")+waiving("waiver-expired", "2027-06-30")).Files(), run.Options{})
	if f := runtest.WantFinding(t, o.Findings, "waiver-expired", "critical-speed"); f != nil && f.Waiver != nil {
		t.Error(runtest.Shown(o.Summary))
	}
}

// TestManyUnknownWaivers: of an axis's waivers of rules that there are not the
// first hundred are told.
func TestManyUnknownWaivers(t *testing.T) {
	for n, want := range map[int]int{99: 99, 100: 100, 130: 100} {
		more := ""
		for i := range n {
			more += waiving(fmt.Sprint("nonsense", i), "2027-06-30")
		}
		s := testaxis.WholeSheet()
		s.More = more
		told := 0
		for _, f := range runtest.Try(s.Files(), run.Options{}).Findings {
			if f.Rule == "unknown-name" {
				told++
			}
		}
		if told != want {
			t.Errorf("of %d %d are told", n, told)
		}
	}
}

// TestPolicyWaiversNotReported: of a policy's waivers only those are reported that
// are well written, of a rule that there is, and run out, and only where the rule
// about them is not off.
func TestPolicyWaiversNotReported(t *testing.T) {
	waive := func(rule, until string) string {
		return "waive \"" + rule + "\" {\n  reason = \"r\"\n  until = \"" + until + "\"\n}\n"
	}
	off := "rule \"waiver-expired\" {\n  severity = \"off\"\n  reason = \"r\"\n}\n"
	for text, want := range map[string]bool{
		waive("buckling", "2026-11-24"): true, waive("buckling", "2026-11-25"): false, waive("buckling", "2027-06-30"): false,
		waive("house", "2026-11-24") + "require \"house\" {\n  that = true\n}\n": true,
		waive("nonsense", "2026-11-24"):                                          false, waive("buckling", "2026-11-31"): false, "waive \"buckling\" {\n  until = \"2026-11-24\"\n}\n": false, off + waive("buckling", "2026-11-24"): false,
		strings.Replace(off, `"off"`, `"note"`, 1) + waive("buckling", "2026-11-24"): true,
	} {
		told := 0
		for _, f := range runtest.Try(testaxis.WholeSheet().Files("w.policy.hcl", text), run.Options{}).Findings {
			if f.Rule == "waiver-expired" {
				told++
				if (f.Severity == judge.Note) != strings.Contains(text, `"note"`) || f.Severity > judge.Warning || !strings.HasPrefix(f.Cause, "waive.") || f.Axis != "" || f.Place.File != "w.policy.hcl" {
					t.Errorf("%+v", f)
				}
			}
		}
		if told > 1 || (told > 0) != want {
			t.Errorf("%s is reported %d times", text, told)
		}
	}
}

// TestUnknownWaiverOnlyThat: a waiver of no rule is not called expired too.
func TestUnknownWaiverOnlyThat(t *testing.T) {
	if o := runtest.Try(testaxis.Quick(waiving("critical-sped", "2026-01-01")).Files(), run.Options{}); len(o.Findings) != 2 {
		t.Error(runtest.Shown(o.Summary))
	}
}
