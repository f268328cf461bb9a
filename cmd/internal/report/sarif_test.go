package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"unicode/utf16"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/spec"
)

var schema = sync.OnceValues(func() (*jsonschema.Schema, error) {
	src, err := os.ReadFile("testdata/sarif-2.1.0.schema.json")
	if err != nil {
		return nil, err
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(src))
	if err != nil {
		return nil, err
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	id := doc.(map[string]any)["id"].(string)
	if err := c.AddResource(id, doc); err != nil {
		return nil, err
	}
	return c.Compile(id)
})

// sarif writes a run, holds it against the schema and reads it back.
func sarif(t *testing.T, run *Run, meta Meta) *sarifRun {
	t.Helper()
	var b bytes.Buffer
	if err := SARIF(&b, run, meta); err != nil {
		t.Fatal(err)
	}
	s, err := schema()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Validate(doc); err != nil {
		t.Fatal(err)
	}
	var log sarifLog
	if err := json.Unmarshal(b.Bytes(), &log); err != nil {
		t.Fatal(err)
	}
	for i, r := range log.Runs[0].Results {
		if got := log.Runs[0].Tool.Driver.Rules[r.RuleIndex].ID; got != r.RuleID {
			t.Errorf("result %d: rule %s points at %s", i, r.RuleID, got)
		}
		for n := range r.Related {
			if id := r.Related[n].ID; !strings.Contains(r.Message.Text, fmt.Sprintf("](%d)", id)) {
				t.Errorf("result %d: nothing links to related location %d: %s", i, id, r.Message.Text)
			}
		}
	}
	return &log.Runs[0]
}

// The schema does refuse things.
func TestSchemaIsStrict(t *testing.T) {
	s, err := schema()
	if err != nil {
		t.Fatal(err)
	}
	for _, src := range []string{
		`{"version": "2.1.0"}`,
		`{"version": "2.1.0", "runs": [{"tool": {"driver": {"name": "a"}}, "results": [{"message": {"text": "a"}, "level": "bad"}]}]}`,
		`{"version": "2.1.0", "runs": [{"tool": {"driver": {"name": "a"}}, "column": 1}]}`,
	} {
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(src))
		if err != nil {
			t.Fatal(err)
		}
		if s.Validate(doc) == nil {
			t.Errorf("accepted: %s", src)
		}
	}
}

func TestSARIFOfTheDemo(t *testing.T) {
	run, _ := bakery(t)
	got := sarif(t, run, Meta{Version: "1.2.3", Exit: 1, Base: "file:///somewhere"})
	if len(got.Results) != len(run.Findings) {
		t.Fatalf("%d results of %d findings", len(got.Results), len(run.Findings))
	}
	if want := len(rules.Book().All()) + len(judge.TextRules()); len(got.Tool.Driver.Rules) < want {
		t.Errorf("%d rules are described, there are %d", len(got.Tool.Driver.Rules), want)
	}
	for _, r := range got.Tool.Driver.Rules {
		if r.Short == nil || r.Full == nil || r.Help == nil || r.Help.Markdown == "" || len(r.Full.Text) > 1024 {
			t.Errorf("rule %s is not well described", r.ID)
		}
	}
	if got.Bases[srcRoot].URI != "file:///somewhere/" {
		t.Errorf("bases: %v", got.Bases)
	}
	inv := got.Invocations[0]
	if !inv.Successful || inv.ExitCode != 1 || len(inv.Notifications) != len(run.MissingInputs) {
		t.Errorf("invocation: successful %v, exit %d, %d notifications for %d gaps", inv.Successful, inv.ExitCode, len(inv.Notifications), len(run.MissingInputs))
	}
	keys := map[string]bool{}
	related, suppressed, house, compared := 0, 0, 0, 0
	for i, r := range got.Results {
		f := &run.Findings[i]
		// The marked text, cut out by the region, is what the place marks.
		reg := r.Locations[0].Physical.Region
		src := run.Source(f.Place.File)
		if want := string(src[f.Place.Byte:f.Place.EndByte]); cut(src, reg) != want {
			t.Errorf("%s: region %+v cuts out %q, want %q", f.Place, reg, cut(src, reg), want)
		}
		if p := r.Properties; f.Compared.Made() && (p.Value != f.Compared.Value || p.Limit != f.Compared.Limit || p.Unit == "" || p.Sense == "") {
			t.Errorf("%s: %+v, not %+v", f.Place, p, f.Compared)
		}
		if p := r.Properties; f.Rule == "critical-speed" && f.Axis == "travel" { // its message: 89.8 % of critical speed; limit 80 %
			compared++
			if is, _ := p.Value.(float64); math.Abs(is-0.898) > 5e-4 || p.Limit != 0.8 || p.Unit != "1" || p.Sense != "at most" {
				t.Errorf("%s: %+v", f.Message, p)
			}
		}
		key := r.Fingerprints["trammelIdentity/v1"]
		if keys[key] {
			t.Errorf("two results have the fingerprint %s", key)
		}
		keys[key] = true
		related += len(r.Related)
		if (f.Waiver != nil) != (len(r.Suppressions) == 1) {
			t.Errorf("%s: waived %v, suppressions %v", f.Place, f.Waiver != nil, r.Suppressions)
		}
		suppressed += len(r.Suppressions)
		if rules.Book().ByName(r.RuleID) == nil {
			house++
		}
	}
	if related == 0 || suppressed == 0 || house == 0 || compared == 0 {
		t.Errorf("the demo has %d related places, %d suppressions, %d findings of house rules: too few to test", related, suppressed, house)
	}
}

// cut takes a region out of text as a reader of SARIF would.
func cut(src []byte, r region) string {
	list := strings.Split(strings.TrimPrefix(string(src), "\ufeff"), "\n")
	if r.StartLine != r.EndLine {
		first := utf16.Encode([]rune(list[r.StartLine-1]))
		last := utf16.Encode([]rune(list[r.EndLine-1]))
		out := string(utf16.Decode(first[r.StartColumn-1:])) + "\n"
		for _, l := range list[r.StartLine : r.EndLine-1] {
			out += l + "\n"
		}
		return out + string(utf16.Decode(last[:r.EndColumn-1]))
	}
	return string(utf16.Decode(utf16.Encode([]rune(list[r.StartLine-1]))[r.StartColumn-1 : r.EndColumn-1]))
}

// Columns are counted in UTF-16 units whatever stands before them.
func TestSARIFColumns(t *testing.T) {
	const bad = `"nonsense"`
	for name, line := range map[string]string{
		"plain":           "  mass = " + bad,
		"tab":             "\tmass\t=\t" + bad,
		"emoji":           "/* \U0001f600\U0001f600 */ mass = " + bad,
		"family":          "/* \U0001f469\u200d\U0001f469\u200d\U0001f467 */ mass = " + bad,
		"combining marks": "/* e\u0301a\u0308\u0323 */ mass = " + bad,
	} {
		for _, bom := range []string{"", "\ufeff"} {
			for _, end := range []string{"\n", "\r\n"} {
				for _, first := range []bool{true, false} {
					// In line 1 the mark stands before the text that is marked.
					src := bom + "axis \"a\" {" + end + " load {" + end + line + end + " }" + end + "}" + end
					want := bad
					if first {
						src, want = bom+strings.Split(line, "mass")[0]+"axs {"+end+"}"+end, "axs"
					}
					dir := t.TempDir()
					if err := os.WriteFile(filepath.Join(dir, "a.axis.hcl"), []byte(src), 0o644); err != nil {
						t.Fatal(err)
					}
					run, _ := checked(t, dir)
					found := false
					reg := newRegions(run.Source)
					for i := range run.Findings {
						found = found || cut([]byte(src), reg.of(run.Findings[i].Place)) == want
					}
					if !found {
						t.Errorf("%s, mark %q, line ends %q, in line 1 %v: nothing marks %s", name, bom, end, first, want)
					}
				}
			}
		}
	}
}

func TestRegions(t *testing.T) {
	const src = "\ufeffab\r\n\U0001f600e\u0301x \"y\"\n\xff z"
	place := func(line, col, endLine, endCol, from, to int32) spec.Place {
		return spec.Place{File: "a", Line: line, Col: col, EndLine: endLine, EndCol: endCol, Byte: from, EndByte: to}
	}
	for name, c := range map[string]struct {
		at   spec.Place
		want region
	}{
		"first":                  {place(1, 1, 1, 3, 3, 5), region{1, 1, 1, 3}},
		"second line":            {place(2, 3, 2, 4, 14, 15), region{2, 5, 2, 6}},
		"two lines":              {place(1, 2, 2, 2, 4, 11), region{1, 2, 2, 3}},
		"no offsets":             {place(2, 3, 2, 4, 0, 0), region{2, 5, 2, 6}},
		"no offsets, line 1":     {place(1, 2, 1, 3, 0, 0), region{1, 2, 1, 3}},
		"start of the file":      {place(1, 1, 1, 1, 0, 0), region{1, 1, 1, 1}},
		"text that is not UTF-8": {place(3, 3, 3, 4, 22, 23), region{3, 3, 3, 4}},
		"line that is not there": {place(9, 3, 9, 4, 400, 401), region{StartLine: 9}},
		"no line":                {spec.Place{File: "a"}, region{StartLine: 1}},
	} {
		reg := newRegions(func(string) []byte { return []byte(src) })
		if got := reg.of(c.at); got != c.want {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
	if got := newRegions(func(string) []byte { return nil }).of(place(1, 2, 3, 4, 5, 6)); got != (region{StartLine: 1, EndLine: 3}) {
		t.Errorf("without text: %+v", got)
	}
}

func TestFileURI(t *testing.T) {
	for name, want := range map[string]string{
		"a/b.axis.hcl":        "a/b.axis.hcl",
		"a b/c'\".axis.hcl":   "a%20b/c%27%22.axis.hcl",
		"größe/日本.axis.hcl":   "gr%C3%B6%C3%9Fe/%E6%97%A5%E6%9C%AC.axis.hcl",
		"100%/#1?.axis.hcl":   "100%25/%231%3F.axis.hcl",
		"c:/x\ny\\z.axis.hcl": "c%3A/x%0Ay%5Cz.axis.hcl",
		"a/../b/./c":          "b/c",
		"/abs/a b":            "file:///abs/a%20b",
		"../a":                "",
		"a/../../b":           "",
		"..":                  "",
		"..a/b":               "..a/b",
		"\xff":                "%FF",
	} {
		got, below := fileURI(name)
		if got != want {
			t.Errorf("%q: %s, want %s", name, got, want)
		}
		if got == "" || !below {
			continue
		}
		u, err := url.Parse(got)
		if err != nil || u.Scheme != "" || u.Host != "" || u.RawQuery != "" || u.Fragment != "" {
			t.Errorf("%q: %s is no relative path: %v", name, got, err)
		} else if u.Path != name && name != "a/../b/./c" {
			t.Errorf("%q: reads back as %q", name, u.Path)
		}
	}
}

// What a designer wrote is no markup, and no place leads out of the repository.
func TestSARIFHostileText(t *testing.T) {
	f := finding("critical-speed", "l\x1bift", judge.Error, 1.2)
	f.Message = "{0} [press](http://evil.example) \x1b[31m\u202e\xff"
	f.Place.File = "../other/a [1].axis.hcl"
	f.Inputs = []judge.Entry{
		{Words: "span {9} mm", Place: spec.Place{File: "p/a [1](2).parts.hcl", Line: 2}},
		{Words: "far", Place: spec.Place{File: "../../x", Line: 2}},
		{Words: "near", Assumed: "nothing"},
	}
	f.Fixes = []judge.Fix{{Words: "speed ≤ 1 m/s"}, {Words: "span ≤ 2 m"}}
	got := sarif(t, invented(f), Meta{Exit: 2}).Results[0]
	for _, bad := range []string{"{0}", "](http", "\x1b", "\u202e"} {
		if strings.Contains(strings.ReplaceAll(got.Message.Text, "{{0}}", ""), bad) {
			t.Errorf("message has %q: %s", bad, got.Message.Text)
		}
	}
	if got.Locations[0].Physical != nil || len(got.Related) != 1 {
		t.Errorf("places out of the repository: %+v", got.Locations)
	}
	for _, want := range []string{
		"It stands at ../other/a [1].axis.hcl:3:5.", `span {{9}} mm ([p/a \[1\] (2).parts.hcl:2](1))`, "far (../../x:2)", "near (assumed: nothing)",
		"Fix with any one of: speed ≤ 1 m/s · span ≤ 2 m.",
	} {
		if !strings.Contains(got.Message.Text, want) {
			t.Errorf("message lacks %q: %s", want, got.Message.Text)
		}
	}
}

// Paths are those below the root, wherever the command ran; so are the keys.
func TestSARIFNames(t *testing.T) {
	f := finding("value", "", judge.Error, none)
	f.Machine, f.Cause, f.Place.File = "", "", "../parts/a.parts.hcl"
	g := f
	g.Place.File = "parts/a.parts.hcl"
	here := sarif(t, invented(f), Meta{Name: func(s string) string { return strings.TrimPrefix(s, "../") }}).Results[0]
	root := sarif(t, invented(g), Meta{}).Results[0]
	if here.Locations[0].Physical.Artifact.URI != "parts/a.parts.hcl" || here.Fingerprints["trammelIdentity/v1"] != root.Fingerprints["trammelIdentity/v1"] {
		t.Errorf("from a folder below: %+v\nfrom the root: %+v", here, root)
	}
	if f.Place.File != "../parts/a.parts.hcl" {
		t.Error("the run was changed")
	}
}

func TestSARIFKnownAndRepeats(t *testing.T) {
	a := finding("critical-speed", "lift", judge.Error, 1.2)
	moved := a
	moved.Place.Line += 40
	run := invented(a, moved)
	run.Known = map[int]bool{1: true}
	got := sarif(t, run, Meta{}).Results
	if len(got[0].Suppressions) != 0 || len(got[1].Suppressions) != 1 || got[1].Suppressions[0].Status != "accepted" {
		t.Errorf("suppressions: %+v, %+v", got[0].Suppressions, got[1].Suppressions)
	}
	one, two := got[0].Fingerprints["trammelIdentity/v1"], got[1].Fingerprints["trammelIdentity/v1"]
	if one == two || strings.TrimSuffix(one, ":1") != strings.TrimSuffix(two, ":2") {
		t.Errorf("fingerprints: %s, %s", one, two)
	}
	alone := sarif(t, invented(moved), Meta{}).Results[0].Fingerprints["trammelIdentity/v1"]
	if alone != one {
		t.Error("a line above changed the fingerprint")
	}
}

func TestSARIFCutsLongRuns(t *testing.T) {
	const maxResults, maxGaps = 300, 50
	var list []judge.Finding
	for i := range maxResults + 30 {
		f := finding("critical-speed", "lift", judge.Warning, 1+float64(i%1000)/1000)
		if i%60 == 59 {
			f.Severity = judge.Error
		}
		f.Place.Line = int32(i + 1)
		list = append(list, f)
	}
	run := invented(list...)
	run.Known = map[int]bool{4: true, 59: true}
	for i := range maxGaps + 7 {
		run.MissingInputs = append(run.MissingInputs, judge.MissingInput{Machine: "slicer", Axis: "lift", Missing: fmt.Sprint("line ", i), Rules: make([]string, i%9), Place: list[0].Place})
	}
	var b bytes.Buffer
	if err := writeSARIF(&b, run, Meta{}, maxResults, maxGaps); err != nil {
		t.Fatal(err)
	}
	var log sarifLog
	if err := json.Unmarshal(b.Bytes(), &log); err != nil {
		t.Fatal(err)
	}
	results, notes := log.Runs[0].Results, log.Runs[0].Invocations[0].Notifications
	if len(results) != maxResults || len(notes) != maxGaps+2 {
		t.Fatalf("%d results, %d notifications", len(results), len(notes))
	}
	if want := "Of 330 findings the 300 worst are here; 30 are left out."; !strings.Contains(notes[0].Message.Text, want) {
		t.Errorf("%q lacks %q", notes[0].Message.Text, want)
	}
	errors := 0
	for _, r := range results {
		if r.Level == "error" {
			errors++
		}
		if len(r.Suppressions) > 0 {
			t.Error("a known finding took the place of one that stands")
		}
	}
	if errors != 4 {
		t.Errorf("%d of 4 errors that stand were kept", errors)
	}
	if !slices.IsSortedFunc(results, func(a, b sarifResult) int {
		return a.Locations[0].Physical.Region.StartLine - b.Locations[0].Physical.Region.StartLine
	}) {
		t.Error("results are not in order of their places")
	}
}

// A run of nothing is a whole document too, and two runs give the same bytes.
func TestSARIFSameBytes(t *testing.T) {
	sarif(t, invented(), Meta{})
	var a, b bytes.Buffer
	for _, w := range []*bytes.Buffer{&a, &b} {
		run, _ := bakery(t)
		if err := SARIF(w, run, Meta{}); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the same files gave different bytes")
	}
	if bytes.ContainsRune(a.Bytes(), '\x1b') {
		t.Error("an escape byte")
	}
}

type broken struct{ after int }

func (w *broken) Write(p []byte) (int, error) {
	if w.after -= len(p); w.after < 0 {
		return 0, os.ErrClosed
	}
	return len(p), nil
}

// Who reads may go away at any byte: that is an error, not a silence.
func TestWriteErrors(t *testing.T) {
	run, axes := bakery(t)
	for name, write := range map[string]func(w *broken) error{
		"SARIF":       func(w *broken) error { return SARIF(w, run, Meta{}) },
		"JUnit":       func(w *broken) error { return JUnit(w, run, kept(axes...), Meta{}) },
		"Annotations": func(w *broken) error { return Annotations(w, run, Meta{}) },
		"Text":        func(w *broken) error { return Text(w, run, Screen{}) },
	} {
		for _, after := range []int{0, 10, 900} {
			if write(&broken{after}) == nil {
				t.Errorf("%s: no error where only %d bytes are taken", name, after)
			}
		}
	}
}
