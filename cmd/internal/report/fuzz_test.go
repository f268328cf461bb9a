package report

import (
	"bytes"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
	"trammel/spec"
)

var placeholder = regexp.MustCompile(`\{[0-9]+\}`)

// FuzzSARIF writes findings of any text at any place and reads them back, as a
// reader that knows the standard does: the log keeps to its schema, each message
// says what was said, no text of a file becomes a link or a placeholder, and each
// region cuts the marked text out of the file.
func FuzzSARIF(f *testing.F) {
	f.Add("it turns too fast", "a/b.axis.hcl", "lift", "slicer", "speed 0.5 m/s", "until it is fixed", []byte("axis \"a\" {\n}\n"), uint16(5), uint16(8), 1.2)
	f.Add("{0} [press](http://invalid.example) \x1b[31m\u202e\xff", "../o [1].axis.hcl", "l\x1bift", "", "span {9} ](1)", "]", []byte("\ufeffab\r\n\U0001f600e\u0301x \"y\"\n\xff z"), uint16(6), uint16(12), math.Inf(1))
	f.Add("{{}}{", "/x\n%41?#", "\n", "{1}", `\](1`, "[[", []byte("\r\n\r\n"), uint16(1), uint16(3), math.NaN())
	f.Fuzz(func(t *testing.T, message, file, axis, machine, words, reason string, src []byte, from, to uint16, use float64) {
		if len(message)+len(file)+len(axis)+len(machine)+len(words)+len(reason)+len(src) > 4000 {
			return
		}
		at := spec.Place{File: file, Byte: int32(min(int(from), len(src))), EndByte: int32(min(int(max(from, to)), len(src)))}
		at.Line, at.Col = lineAndColumn(src[:at.Byte])
		at.EndLine, at.EndCol = lineAndColumn(src[:at.EndByte])
		one := finding("critical-speed", axis, judge.Error, use)
		one.Machine, one.Message, one.Place = machine, message, at
		one.Inputs = []judge.Entry{{Words: words, Place: at}, {Words: message, Assumed: reason}}
		one.Fixes = []judge.Fix{{Words: words, Changes: []judge.FixChange{{Path: "supports.span", Old: words, New: words}}, Edits: []spec.Edit{{Place: at, Text: words}}}}
		two := one
		two.Waiver, two.WaiverPlace = &spec.Waiver{Reason: &spec.Value{Text: reason}, Until: &spec.Value{Text: "2030-01-01"}}, at
		run := invented(one, two)
		run.Source = func(string) []byte { return src }
		run.MissingInputs = []judge.MissingInput{{Machine: machine, Axis: axis, Missing: words, Rules: []string{"critical-speed"}, Place: at}}
		got := sarif(t, run, Meta{Version: "v"})
		if len(got.Results) != 2 || len(got.Invocations[0].Notifications) != 1 {
			t.Fatalf("%d results and %d notifications of two findings and a gap", len(got.Results), len(got.Invocations[0].Notifications))
		}
		for i, r := range got.Results {
			text := r.Message.Text
			if n := strings.Count(text, "]("); n != len(r.Related) {
				t.Errorf("%d links to %d places: %q", n, len(r.Related), text)
			}
			if bare := strings.NewReplacer("{{", "", "}}", "").Replace(text); placeholder.MatchString(bare) {
				t.Errorf("a placeholder: %q", text)
			}
			said := strings.NewReplacer("{{", "{", "}}", "}").Replace(text)
			for _, want := range []string{message, words, axis} {
				if want = strings.ReplaceAll(sanitize.Line(want), "](", "] ("); !strings.Contains(said, want) {
					t.Errorf("%q is not said in %q", want, said)
				}
			}
			if strings.IndexFunc(text, func(r rune) bool { return r < ' ' && r != '\n' && r != '\t' }) >= 0 {
				t.Errorf("a control character: %q", text)
			}
			if len(r.Suppressions) != i {
				t.Errorf("result %d has the suppressions %v", i, r.Suppressions)
			}
			for _, x := range r.Fixes {
				d := x.Changes[0].Replacements[0]
				if d.Deleted.Offset != at.Byte || d.Deleted.Length != at.EndByte-at.Byte || utf8.ValidString(words) && d.Inserted.Text != words {
					t.Errorf("%+v is edited with %+v", at, d)
				}
				if mid := src[at.Byte:at.EndByte]; utf8.Valid(src) && utf8.Valid(mid) && len(mid) > 0 && !(bytes.HasPrefix(src, []byte("\ufeff")) && at.Byte < 3) && cut(src, d.Deleted.region) != string(mid) {
					t.Errorf("%+v takes out %q, want %q", d.Deleted.region, cut(src, d.Deleted.region), mid)
				}
			}
			for _, l := range slices.Concat(r.Locations, r.Related) {
				if l.Physical == nil || !utf8.Valid(src) || at.EndByte == at.Byte || bytes.HasPrefix(src, []byte("\ufeff")) && at.Byte < 3 {
					continue
				}
				if mid := src[at.Byte:at.EndByte]; utf8.Valid(mid) && cut(src, l.Physical.Region) != string(mid) {
					t.Errorf("%+v cuts out %q, want %q", l.Physical.Region, cut(src, l.Physical.Region), mid)
				}
			}
		}
		if a, b := got.Results[0].Fingerprints["trammelIdentity/v1"], got.Results[1].Fingerprints["trammelIdentity/v1"]; a == b {
			t.Errorf("two results have the fingerprint %s", a)
		}
	})
}

// lineAndColumn is where text behind src stands.
func lineAndColumn(src []byte) (line, col int32) {
	last := bytes.LastIndexByte(src, '\n') + 1
	return int32(1 + bytes.Count(src, []byte("\n"))), int32(1 + utf8.RuneCount(bytes.TrimPrefix(src[last:], []byte("\ufeff"))))
}
