package report

import (
	"bytes"
	"strings"
	"testing"

	"trammel/rules/judge"
	"trammel/spec"
)

func annotations(t *testing.T, run *Run, meta Meta) []string {
	t.Helper()
	var b bytes.Buffer
	if err := Annotations(&b, run, meta); err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
}

func TestAnnotationLines(t *testing.T) {
	const text = "axis \"lift\" {\n\n  \U0001f600 fast\n}\n"
	at := spec.Place{File: "../a,b: 100%\n/x.axis.hcl", Line: 3, Col: 5, EndLine: 3, EndCol: 9, Byte: 22, EndByte: 26}
	if at.Byte = int32(strings.Index(text, "fast")); text[at.Byte:at.Byte+4] != "fast" {
		t.Fatal()
	}
	at.EndByte = at.Byte + 4
	f := finding("critical-speed", "lift", judge.Error, 1.2)
	f.Place, f.Message, f.Fixes = at, "89 % of it:\r\n::set-output\x1b", []judge.Fix{{Words: "speed ≤ 1 m/s"}}
	two := f
	two.Severity, two.Place.EndLine, two.Place.EndCol, two.Place.EndByte = judge.Note, 4, 2, at.EndByte+2
	run := invented(f, two)
	run.Source = func(string) []byte { return []byte(text) }
	got := annotations(t, run, Meta{Name: func(s string) string { return strings.TrimPrefix(s, "../") }})
	want := []string{
		"::error file=a%2Cb%3A 100%25\\n/x.axis.hcl,line=3,col=6,endColumn=10,title=lift%3A critical-speed::89 %25 of it:\\r\\n::set-output\\x1b%0Afix with: speed ≤ 1 m/s",
		"::notice file=a%2Cb%3A 100%25\\n/x.axis.hcl,line=3,endLine=4,title=lift%3A critical-speed::89 %25 of it:\\r\\n::set-output\\x1b%0Afix with: speed ≤ 1 m/s",
		"::notice title=trammel::1 axis, 0 rules judged, 2 findings (1 error, 1 note), 0 not judged",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestAnnotationsAreTheWorst(t *testing.T) {
	var list []judge.Finding
	for i := range 15 {
		for _, sev := range []judge.Severity{judge.Note, judge.Warning, judge.Error} {
			f := finding("critical-speed", "lift", sev, 1+float64(i)/10)
			f.Message = string(rune('a' + i))
			list = append(list, f)
		}
	}
	list = append(list, finding("syntax", "", judge.Error, none), finding("critical-speed", "lift", judge.Error, 99), finding("critical-speed", "lift", judge.Error, 98))
	list[46].Waiver = &spec.Waiver{}
	run := invented(list...)
	run.Known = map[int]bool{47: true}
	got := annotations(t, run, Meta{})
	if len(got) != 10+10+9+1 {
		t.Fatalf("%d lines", len(got))
	}
	for i, want := range map[int]string{0: "title=syntax::", 1: "::o", 9: "::g", 10: "::warning", 19: "::f", 20: "::notice", 28: "::g",
		29: "46 findings (16 errors, 15 warnings, 15 notes), 1 waived, 1 known, 0 not judged; 17 findings are not shown here"} {
		if !strings.Contains(got[i], want) {
			t.Errorf("line %d lacks %q: %s", i+1, want, got[i])
		}
	}
}

// Known findings are counted and not shown.
func TestTextLeavesKnownOut(t *testing.T) {
	run := invented(finding("critical-speed", "lift", judge.Error, 1.2), finding("buckling", "lift", judge.Error, 1.2))
	run.Known = map[int]bool{0: true}
	var b bytes.Buffer
	if err := Text(&b, run, Screen{}); err != nil {
		t.Fatal(err)
	}
	if s := b.String(); strings.Contains(s, "critical-speed") || !strings.Contains(s, "buckling") || !strings.Contains(s, "1 finding (1 error), 1 known, 0 not judged") {
		t.Error(s)
	}
}
