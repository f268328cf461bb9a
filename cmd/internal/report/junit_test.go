package report

import (
	"bytes"
	"encoding/xml"
	"strings"
	"testing"

	"trammel/rules/judge"
	"trammel/spec"
)

// junit writes a run, reads it back and counts.
func junit(t *testing.T, run *Run, axes []*Axis, meta Meta) junitSuites {
	t.Helper()
	var b bytes.Buffer
	if err := JUnit(&b, run, kept(axes...), meta); err != nil {
		t.Fatal(err)
	}
	var got junitSuites
	if err := xml.Unmarshal(b.Bytes(), &got); err != nil {
		t.Fatalf("%v\n%s", err, b.Bytes())
	}
	var all junitCounts
	for _, s := range got.Suites {
		var c junitCounts
		names := map[string]bool{}
		for _, k := range s.Cases {
			if names[k.Name] {
				t.Errorf("suite %s has two cases %q", s.Name, k.Name)
			}
			names[k.Name] = true
			c.Tests++
			switch {
			case k.Failure != nil:
				c.Failures++
			case k.Error != nil:
				c.Errors++
			case k.Skipped != nil:
				c.Skipped++
			}
		}
		if c != s.junitCounts {
			t.Errorf("suite %s says %+v and has %+v", s.Name, s.junitCounts, c)
		}
		all.Tests += c.Tests
		all.Failures += c.Failures
		all.Errors += c.Errors
		all.Skipped += c.Skipped
	}
	if all != got.junitCounts {
		t.Errorf("the whole says %+v and has %+v", got.junitCounts, all)
	}
	return got
}

func TestJUnitOfTheDemo(t *testing.T) {
	run, axes := bakery(t)
	errors, waived := 0, 0
	for i := range run.Findings {
		switch f := &run.Findings[i]; {
		case f.Waiver != nil:
			waived++
		case f.Severity == judge.Error:
			errors++
		}
	}
	got := junit(t, run, axes, Meta{FailAt: judge.Error})
	want := junitCounts{len(axes) + len(run.Findings) + len(run.MissingInputs), errors, 0, waived + len(run.MissingInputs)}
	if got.junitCounts != want {
		t.Errorf("%+v, want %+v", got.junitCounts, want)
	}
	if strict := junit(t, run, axes, Meta{FailAt: judge.Note}); strict.Failures != len(run.Findings)-waived {
		t.Errorf("%d failures, want %d", strict.Failures, len(run.Findings)-waived)
	}
}

func TestJUnitCases(t *testing.T) {
	fails := finding("critical-speed", "lift", judge.Error, 1.2)
	fails.Inputs = []judge.Entry{{Words: "span 900 mm", Place: spec.Place{File: "slicer/lift.axis.hcl", Line: 7}}}
	fails.Fixes = []judge.Fix{{Words: "speed ≤ 1 m/s"}}
	again, known := fails, fails
	broken := judge.Finding{Rule: "file", Severity: judge.Error, Message: "it cannot be read", Utilisation: none, Place: spec.Place{File: "parts/a.parts.hcl"}}
	advice := finding("life-margin", "lift", judge.Warning, 0.9)
	waived := finding("slenderness", "lift", judge.Error, 1.1)
	waived.Waiver = &spec.Waiver{Rule: "slenderness", Reason: &spec.Value{Text: "measured"}, Until: &spec.Value{Text: "2027-06-30"}}
	run := invented(broken, fails, again, known, advice, waived)
	run.Known = map[int]bool{3: true}
	run.MissingInputs = []judge.MissingInput{{Machine: "slicer", Axis: "lift", Missing: "drive.motor", Rules: []string{"min-lead", "motor-speed"}, Place: fails.Place}}
	got := junit(t, run, nil, Meta{FailAt: judge.Error})
	if got.junitCounts != (junitCounts{6, 2, 1, 2}) || len(got.Suites) != 2 || got.Suites[0].Name != "parts" || got.Suites[1].Name != "slicer" {
		t.Fatalf("%+v", got)
	}
	cases := got.Suites[1].Cases
	if c := cases[0]; c.Name != "lift: critical-speed motion.move.speed[up]" || c.File != "slicer/lift.axis.hcl" || c.Line != 3 || c.Failure.Text !=
		"slicer/lift.axis.hcl:3:5: error: it turns too fast [critical-speed]\ninputs: span 900 mm (line 7)\nfix with: speed ≤ 1 m/s" {
		t.Errorf("%+v", c)
	}
	if cases[1].Name != cases[0].Name+" (2)" {
		t.Errorf("the second of two is %q", cases[1].Name)
	}
	if cases[2].Out == "" || cases[2].Failure != nil {
		t.Errorf("below the failing level: %+v", cases[2])
	}
	if s := cases[3].Skipped; s == nil || s.Message != "waived until 2027-06-30: measured" {
		t.Errorf("waived: %+v", s)
	}
	if s := cases[4].Skipped; s == nil || s.Message != "not judged: min-lead and motor-speed need drive.motor" {
		t.Errorf("not judged: %+v", s)
	}
}

// Any text gives XML that can be read back, without control characters.
func TestJUnitHostileText(t *testing.T) {
	var all strings.Builder
	for r := rune(0); r < 0x300; r++ {
		all.WriteRune(r)
	}
	all.WriteString("]]> <!-- \ufffe\uffff \xff\xfe \u202e </testcase>")
	f := finding(all.String(), all.String(), judge.Error, none)
	f.Machine, f.Cause, f.Message, f.Place.File, f.Fixes = all.String(), all.String(), all.String(), all.String(), []judge.Fix{{Words: all.String()}}
	f.Inputs = []judge.Entry{{Words: all.String()}}
	f.Related = []spec.Related{{Place: f.Place, Message: all.String()}}
	run := invented(f)
	run.MissingInputs = []judge.MissingInput{{Machine: all.String(), Axis: all.String(), Why: all.String(), Rules: []string{all.String()}}}
	got := junit(t, run, nil, Meta{})
	for _, s := range []string{got.Suites[0].Name, got.Suites[0].Cases[0].Name, got.Suites[0].Cases[0].Failure.Text, got.Suites[0].Cases[1].Skipped.Message} {
		for _, r := range s {
			if r < ' ' && r != '\n' && r != '\t' || r >= 0x7f && r < 0xa0 || r == 0x202e {
				t.Errorf("a control character %U", r)
			}
		}
	}
}
