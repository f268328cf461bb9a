package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"trammel/spec/amount"
)

var update = flag.Bool("update", false, "write the files below testdata/golden anew")

// bakeryDay is the day the runs hold waivers against.
const bakeryDay = "--today=2026-11-25"

// A shop is a copy of the bakery's repository and the command built to run in it.
type shop struct {
	tool, root string
}

// TestBakeryRuns runs the command over a copy of fixtures/bakery that looks like a
// repository of its own, so that it makes no difference where the test runs; as it is
// built too, where a process could make a difference.
func TestBakeryRuns(t *testing.T) { bakeryRuns(t) }

// TestLongBakeryRuns does so with the command built as it is released.
func TestLongBakeryRuns(t *testing.T) {
	amount.Long(t)
	bakeryRuns(t)
}

func bakeryRuns(t *testing.T) {
	t.Helper()
	tool, err := builtTool()
	if err != nil {
		t.Fatalf("the command cannot be built: %v", err)
	}
	s := newShop(t, tool)
	for _, c := range []struct {
		name string
		test func(*testing.T, *shop)
	}{
		{"text", testText}, {"waived", testWaived}, {"json", testJSON}, {"json bytes", testJSONBytes}, {"rules", testRules},
		{"status", testStatus}, {"same findings from everywhere", testFromEverywhere}, {"shown paths", testShownPaths},
		{"color", testColor}, {"stdin", testStdin}, {"closed pipe", testClosedPipe}, {"workers", testWorkers}, {"today", testToday},
		{"any subset", testSubsets}, {"enquiry", testEnquiry},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.test(t, s)
		})
	}
}

func newShop(t *testing.T, tool string) *shop {
	t.Helper()
	s := &shop{tool: tool, root: filepath.Join(t.TempDir(), "bakery")}
	if err := os.CopyFS(s.root, os.DirFS(filepath.Join("..", "..", "fixtures", "bakery"))); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(s.root, ".git"), 0o777); err != nil {
		t.Fatal(err)
	}
	return s
}

// A result is what one run gave back.
type result struct {
	status   int
	out, err string
}

// call is one run to make.
type call struct {
	dir string // below the root, or absolute; "" for the root
	in  string
	env []string
}

// streams are the settings of the environment that say how output looks.
var streams = []string{"NO_COLOR", "CLICOLOR_FORCE", "TERM"}

func (s *shop) dir(c call) string {
	if filepath.IsAbs(c.dir) {
		return c.dir
	}
	return filepath.Join(s.root, filepath.FromSlash(c.dir))
}

// run runs the command within the test, which takes a tenth of what a process takes.
func (s *shop) run(t *testing.T, c call, args ...string) result {
	t.Helper()
	for _, name := range streams {
		t.Setenv(name, "")
	}
	for _, e := range append([]string{"TERM=xterm"}, c.env...) {
		name, value, _ := strings.Cut(e, "=")
		t.Setenv(name, value)
	}
	return runHere(t, s.dir(c), c.in, args...)
}

// start runs the command as it is built.
func (s *shop) start(t *testing.T, c call, args ...string) result {
	t.Helper()
	cmd := exec.Command(s.tool, args...)
	cmd.Dir = s.dir(c)
	cmd.Stdin = strings.NewReader(c.in)
	for _, e := range os.Environ() {
		name, _, _ := strings.Cut(e, "=")
		if !slices.Contains(append(streams, "PWD", "OLDPWD"), name) {
			cmd.Env = append(cmd.Env, e)
		}
	}
	cmd.Env = append(cmd.Env, "PWD="+cmd.Dir, "TERM=xterm")
	cmd.Env = append(cmd.Env, c.env...)
	var out, errOut bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errOut
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return result{cmd.ProcessState.ExitCode(), out.String(), errOut.String()}
}

// golden compares text with a file below testdata/golden, or writes it.
func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", "golden", name)
	if *update {
		if err := os.MkdirAll(filepath.Dir(file), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatalf("%v\ngo test ./cmd/trammel -run TestBakeryRuns -update writes it", err)
	}
	want := strings.ReplaceAll(string(src), "\r\n", "\n")
	if got == want {
		return
	}
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	shown := 0
	for i := range max(len(g), len(w)) {
		a, b := at(g, i), at(w, i)
		if a == b {
			continue
		}
		t.Errorf("%s:%d:\n got: %s\nwant: %s", file, i+1, a, b)
		if shown++; shown == 5 {
			break
		}
	}
	t.Errorf("%s differs; read the change, then go test ./cmd/trammel -run TestBakeryRuns -update", file)
}

func at(lines []string, i int) string {
	if i < len(lines) {
		return lines[i]
	}
	return "(no such line)"
}

// checked is what a JSON run says, the quantities of the axes left out.
type checked struct {
	Schema   string         `json:"schema"`
	Summary  map[string]int `json:"summary"`
	Findings []docFinding   `json:"findings"`
	Gaps     []any          `json:"not_judged"`
	Axes     []struct {
		Axis       string `json:"axis"`
		Machine    string `json:"machine"`
		Rules      []any  `json:"rules"`
		Quantities []any  `json:"quantities"`
	} `json:"axes"`
}

type docFinding struct {
	Rule     string `json:"rule"`
	Severity string `json:"severity"`
	Machine  string `json:"machine"`
	Axis     string `json:"axis"`
	Cause    string `json:"cause"`
	Message  string `json:"message"`
	Place    struct {
		File   string `json:"file"`
		Line   int    `json:"line"`
		Column int    `json:"column"`
	} `json:"location"`
	Waived any `json:"waived"`
}

func decode(t *testing.T, text string) *checked {
	t.Helper()
	d := json.NewDecoder(strings.NewReader(text))
	doc := &checked{}
	if err := d.Decode(doc); err != nil {
		t.Fatalf("no JSON document: %v\n%.300s", err, text)
	}
	if d.More() {
		t.Fatal("more than one JSON document")
	}
	return doc
}

func testText(t *testing.T, s *shop) {
	r := s.start(t, call{}, "check", bakeryDay)
	if r.status != exitFindings || r.err != "" {
		t.Errorf("status %d, error output %q", r.status, r.err)
	}
	golden(t, "check.txt", r.out)
	for i, line := range strings.Split(r.out, "\n") {
		if strings.TrimRight(line, " \t") != line {
			t.Errorf("line %d ends in blanks: %q", i+1, line)
		}
	}
}

func testWaived(t *testing.T, s *shop) {
	r := s.run(t, call{}, "check", bakeryDay, "--waived", "machines/slicer")
	if r.status != exitClean {
		t.Errorf("status %d", r.status)
	}
	golden(t, "waived.txt", r.out)
	if r = s.run(t, call{}, "check", bakeryDay, "machines/slicer"); strings.Contains(r.out, "slenderness") || !strings.Contains(r.out, "1 waived") {
		t.Errorf("without --waived a waived finding is counted, not shown:\n%s", r.out)
	}
}

// testJSON compares the document of the whole tree without the quantities, which
// are many.
func testJSON(t *testing.T, s *shop) {
	r := s.start(t, call{}, "check", bakeryDay, "--form", "json")
	if r.status != exitFindings || r.err != "" {
		t.Errorf("status %d, error output %q", r.status, r.err)
	}
	var raw map[string]any
	if err := json.Unmarshal([]byte(r.out), &raw); err != nil {
		t.Fatal(err)
	}
	for _, a := range raw["axes"].([]any) {
		a := a.(map[string]any)
		if len(a["quantities"].([]any)) < 20 {
			t.Errorf("axis %v has hardly any quantities", a["axis"])
		}
		delete(a, "quantities")
		// Passed rules without a share of their limit say nothing worth comparing.
		a["rules"] = slices.DeleteFunc(a["rules"].([]any), func(r any) bool {
			return r.(map[string]any)["state"] == "passed" || r.(map[string]any)["state"] == "does not apply"
		})
	}
	var buf bytes.Buffer
	e := json.NewEncoder(&buf)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(raw); err != nil {
		t.Fatal(err)
	}
	golden(t, "check.json", buf.String())

	doc := decode(t, r.out)
	counts := map[string]int{}
	for _, f := range doc.Findings {
		if f.Waived != nil {
			counts["waived"]++
		} else {
			counts[f.Severity+"s"]++
		}
	}
	for k, n := range counts {
		if doc.Summary[k] != n {
			t.Errorf("summary says %d %s, there are %d", doc.Summary[k], k, n)
		}
	}
	if doc.Summary["axes"] != len(doc.Axes) {
		t.Errorf("summary says %d axes, there are %d", doc.Summary["axes"], len(doc.Axes))
	}
}

// testJSONBytes compares the whole document of one axis.
func testJSONBytes(t *testing.T, s *shop) {
	r := s.run(t, call{}, "check", bakeryDay, "--form", "json", "machines/proofer/door.axis.hcl")
	golden(t, "door.json", r.out)
}

func testRules(t *testing.T, s *shop) {
	r := s.run(t, call{}, "rules", "machines/decorator")
	if r.status != exitClean || r.err != "" {
		t.Errorf("status %d, error output %q", r.status, r.err)
	}
	golden(t, "rules.txt", r.out)
}

func testStatus(t *testing.T, s *shop) {
	s = newShop(t, s.tool) // files are added, which the tests beside this one must not see
	write := func(name, text string) {
		full := filepath.Join(s.root, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(full), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(full, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { os.RemoveAll(filepath.Dir(full)) })
	}
	write("aside/broken.axis.hcl", "axis \"a\" {\n  load {\n")
	write("policy/bad.policy.hcl", "rule \"no-such-rule\" {\n  limit = 1\n}\n")
	write("policy/a.axis.hcl", "axis \"a\" {\n}\n")
	write("machines/palletiser/drawing.policy.hcl", "rule \"model-agrees\" {\n  severity = \"note\"\n  reason   = \"the drawing is behind\"\n}\n") // leaves fork with warnings
	write("empty/read.me", "nothing\n")
	processes := map[int]bool{}
	for _, c := range []struct {
		want int
		args string
		err  string // part of the error output; "" for none
	}{
		{exitClean, "check machines/slicer/pusher.axis.hcl", ""},
		{exitClean, "check machines/slicer machines/loader/cross.axis.hcl", ""},
		{exitFindings, "check machines/loader", ""},
		{exitClean, "check machines/palletiser/fork.axis.hcl", ""},
		{exitFindings, "check --fail-at warning machines/palletiser/fork.axis.hcl", ""},
		{exitClean, "check --fail-at warning machines/slicer", ""},
		{exitClean, "check machines/proofer", ""},
		{exitClean, "check --fail-at note machines/proofer", ""},
		{exitFindings, "check --fail-at unjudged machines/proofer", ""},
		{exitClean, "check --fail-at unjudged machines/slicer", ""},
		{exitFindings, "check aside", ""},
		{exitFailed, "check policy", ""},
		{exitFailed, "check empty", "no spec files"},
		{exitClean, "check --allow-empty empty", "no spec files"},
		{exitFailed, "check --frm json", "unknown flag: --frm; did you mean --form?"},
		{exitFailed, "check --workers many", "--workers cannot be"},
		{exitFailed, "size", "write trammel size path axis"},
		{exitFailed, "merge", "write trammel merge file..."},
		{exitFailed, "check machines/no-such-machine", "no such file"},
		{exitFailed, "check machines/slicer/no-such.axis.hcl", "no such file"},
		{exitFailed, "check empty/read.me", "not a spec file"},
		{exitFailed, "check -", "--as"},
		{exitFailed, "check --as machines/slicer/pusher.axis.hcl", "standard input"},
		{exitFailed, "check --fail-at sometimes", "--fail-at"},
		{exitFailed, "check --color blue", "--color"},
		{exitFailed, "check --today tomorrow", "--today"},
		{exitFailed, "check --workers -3", "--workers"},
		{exitFailed, "check --no-such-option", "no-such-option"},
		{exitFailed, "chek", "chek"},
	} {
		args := strings.Fields(c.args)
		if !slices.ContainsFunc(args, func(a string) bool { return strings.HasPrefix(a, "--today") }) && args[0] == "check" {
			args = append(args, bakeryDay)
		}
		r := s.run(t, call{}, args...)
		if !processes[c.want] {
			processes[c.want] = true // one of each as it is built
			if started := s.start(t, call{}, args...); started != r {
				t.Errorf("%s: as a process %+v, in this one %+v", c.args, started, r)
			}
		}
		if r.status != c.want {
			t.Errorf("%s: status %d, want %d\n%s%s", c.args, r.status, c.want, r.out, r.err)
		}
		if !strings.Contains(r.err, c.err) || c.err == "" && r.err != "" {
			t.Errorf("%s: error output %q, want %q in it", c.args, r.err, c.err)
		}
		if c.want == exitFailed && r.out != "" && c.err != "" {
			t.Errorf("%s: could not do its job and wrote %q", c.args, r.out)
		}
	}
}

// found lists the findings of a JSON run with their files below the root, whatever
// path they were shown with, and without what only a whole tree shows.
func (s *shop) found(t *testing.T, c call, args ...string) []string {
	t.Helper()
	dir := s.dir(c)
	r := runHere(t, dir, c.in, append([]string{"check", bakeryDay, "--form", "json", "--no-fixes", "--no-quantities"}, args...)...)
	if r.err != "" {
		t.Errorf("%v: error output %q", args, r.err)
	}
	dir, err := filepath.EvalSymlinks(dir)
	if err != nil {
		t.Fatal(err)
	}
	root, err := filepath.EvalSymlinks(s.root)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, f := range decode(t, r.out).Findings {
		if f.Rule == "variety" {
			continue
		}
		full := filepath.FromSlash(f.Place.File)
		if !filepath.IsAbs(full) {
			full = filepath.Join(dir, full)
		}
		full, err := filepath.EvalSymlinks(full)
		if err != nil {
			t.Errorf("%v: the shown path %s leads nowhere from %s", args, f.Place.File, dir)
			continue
		}
		rel, err := filepath.Rel(root, full)
		if err != nil {
			t.Fatal(err)
		}
		f.Place.File = filepath.ToSlash(rel)
		f.Waived = f.Waived != nil // where the waiver stands is shown from the current folder too
		text, err := json.Marshal(f)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, string(text))
	}
	slices.Sort(out)
	return out
}

func testFromEverywhere(t *testing.T, s *shop) {
	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(s.root, link); err != nil {
		t.Skip("no links here:", err)
	}
	want := s.found(t, call{}, "machines")
	if len(want) < 20 {
		t.Fatalf("%d findings only", len(want))
	}
	for _, c := range []struct {
		name string
		call call
		args []string
	}{
		{"from the folder", call{dir: "machines"}, nil},
		{"from the folder, with a dot", call{dir: "machines"}, []string{"."}},
		{"from a folder beside it", call{dir: "parts"}, []string{"../machines"}},
		{"from a folder below it", call{dir: "machines/slicer"}, []string{".."}},
		{"absolute", call{}, []string{filepath.Join(s.root, "machines")}},
		{"absolute, from outside", call{dir: filepath.Dir(link)}, []string{filepath.Join(s.root, "machines")}},
		{"through a link", call{dir: link}, []string{"machines"}},
		{"through a link, from outside", call{dir: filepath.Dir(link)}, []string{"link/machines"}},
		{"in a linked folder", call{dir: filepath.Join(link, "machines")}, nil},
		{"twice", call{}, []string{"machines", "machines/slicer", "machines"}},
	} {
		if got := s.found(t, c.call, c.args...); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: not the same findings as from the root:\n%s", c.name, difference(got, want))
		}
	}
}

// difference lists what stands in one of two lists only.
func difference(got, want []string) string {
	var b strings.Builder
	for _, g := range got {
		if !slices.Contains(want, g) {
			b.WriteString("too much: " + g + "\n")
		}
	}
	for _, w := range want {
		if !slices.Contains(got, w) {
			b.WriteString("missing:  " + w + "\n")
		}
	}
	if b.Len() == 0 {
		return "the same ones, some more often"
	}
	return b.String()
}

// testShownPaths wants paths relative to where the command runs, with forward
// slashes.
func testShownPaths(t *testing.T, s *shop) {
	for _, c := range []struct{ dir, arg, want string }{
		{"", "machines/loader/dip.axis.hcl", "machines/loader/dip.axis.hcl:"},
		{"", "./machines/../machines/loader/dip.axis.hcl", "machines/loader/dip.axis.hcl:"},
		{"parts", "../machines/loader/dip.axis.hcl", "../machines/loader/dip.axis.hcl:"},
	} {
		r := s.run(t, call{dir: c.dir}, "check", bakeryDay, c.arg)
		if !strings.HasPrefix(r.out, c.want) {
			t.Errorf("from %q, %s: output begins with %.60q, want %q", c.dir, c.arg, r.out, c.want)
		}
		grease := strings.TrimSuffix(c.want, "machines/loader/dip.axis.hcl:") + "parts/greases.parts.hcl:"
		if c.dir == "parts" {
			grease = "(greases.parts.hcl:" // the way up and down again is cut short
		}
		if !strings.Contains(r.out, grease) {
			t.Errorf("from %q, %s: the grease's place is not shown from there:\n%s", c.dir, c.arg, r.out)
		}
	}
}

func testColor(t *testing.T, s *shop) {
	plain := s.run(t, call{}, "check", bakeryDay, "machines/loader")
	uncolored := func(text string) string {
		var b strings.Builder
		for {
			before, after, found := strings.Cut(text, "\x1b[")
			b.WriteString(before)
			if !found {
				return b.String()
			}
			_, text, _ = strings.Cut(after, "m")
		}
	}
	for _, c := range []struct {
		name    string
		env     []string
		args    []string
		colored bool
	}{
		{"into a pipe", nil, nil, false},
		{"always", nil, []string{"--color", "always"}, true},
		{"never", nil, []string{"--color", "never"}, false},
		{"NO_COLOR", []string{"NO_COLOR=1"}, nil, false},
		{"forced", []string{"CLICOLOR_FORCE=1"}, nil, true},
		{"force switched off", []string{"CLICOLOR_FORCE=0"}, nil, false},
		{"NO_COLOR before force", []string{"NO_COLOR=1", "CLICOLOR_FORCE=1"}, nil, false},
		{"option before NO_COLOR", []string{"NO_COLOR=1"}, []string{"--color", "always"}, true},
		{"option before force", []string{"CLICOLOR_FORCE=1"}, []string{"--color", "never"}, false},
	} {
		r := s.run(t, call{env: c.env}, append([]string{"check", bakeryDay, "machines/loader"}, c.args...)...)
		if got := strings.Contains(r.out, "\x1b["); got != c.colored {
			t.Errorf("%s: coloured %v, want %v", c.name, got, c.colored)
		}
		if uncolored(r.out) != plain.out {
			t.Errorf("%s: colour changes the words", c.name)
		}
		r = s.run(t, call{env: c.env}, append([]string{"check", bakeryDay, "machines/loader", "--form", "json"}, c.args...)...)
		if strings.Contains(r.out, "\x1b") {
			t.Errorf("%s: an escape byte in JSON", c.name)
		}
	}
}

func testStdin(t *testing.T, s *shop) {
	const name = "machines/loader/dip.axis.hcl"
	src, err := os.ReadFile(filepath.Join(s.root, filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	want := s.run(t, call{}, "check", bakeryDay, name)
	got := s.run(t, call{in: string(src)}, "check", bakeryDay, "-", "--as", name)
	if got != want {
		t.Errorf("from standard input:\n%+v\nfrom the file:\n%+v", got, want)
	}
	// What stands in the file does not count; parts, policy and machine do.
	fixed := strings.Replace(string(src), "grease.general", "grease.heat\n    regrease_every = \"1 month\"", 1)
	if r := s.run(t, call{in: fixed}, "check", bakeryDay, "-", "--as", name); r.status != exitClean || strings.Contains(r.out, "[") {
		t.Errorf("fixed: status %d\n%s%s", r.status, r.out, r.err)
	}
	if r := s.run(t, call{in: string(src)}, "check", bakeryDay, "-", "--as", "machines/loader/new.axis.hcl"); r.status != exitFindings || !strings.HasPrefix(r.out, "machines/loader/new.axis.hcl:60:14: error: ") {
		t.Errorf("as a file that is not there: status %d\n%s%s", r.status, r.out, r.err)
	}
	// From a sub-folder the name counts from there.
	if r := s.run(t, call{dir: "machines/loader", in: string(src)}, "check", bakeryDay, "-", "--as", "dip.axis.hcl"); r.status != exitFindings || !strings.Contains(r.out, "dip.axis.hcl:60:14: error: ") {
		t.Errorf("from the folder: status %d\n%s%s", r.status, r.out, r.err)
	}
	// A carrier that is judged sees the text, not the file.
	heavy := strings.Replace(string(src), `"18 kg"`, `"1800 kg"`, 1)
	if r := s.run(t, call{in: heavy}, "check", bakeryDay, "-", "machines/loader/cross.axis.hcl", "--as", name); !strings.Contains(r.out, "cross.axis.hcl") {
		t.Errorf("a carried axis a hundred times as heavy leaves its carrier untouched:\n%s%s", r.out, r.err)
	}
	// Parts, policies and machines too, the saved ones and new ones.
	for _, c := range []struct{ as, from, old, new, words string }{
		{"parts/screws.parts.hcl", "parts/screws.parts.hcl", `"12.7 kN"`, `"1.7 kN"`, "dynamic rating 1.7 kN (parts/screws.parts.hcl:26)"},
		{"parts/screws.parts.hcl", "parts/screws.parts.hcl", `"12.7 kN"`, `"12.7 kg"`, "parts/screws.parts.hcl:26:26: error: "},
		{"machines/slicer/fast.policy.hcl", "", "", "rule \"critical-speed\" {\n  limit = \"20 %\"\n}\n", "limit 20 %"},
		{"machines/slicer/machine.axis.hcl", "machines/slicer/machine.axis.hcl", `"8 years"`, `"800 years"`, "required 800 years"},
	} {
		text := c.new
		if c.from != "" {
			saved, err := os.ReadFile(filepath.Join(s.root, filepath.FromSlash(c.from)))
			if err != nil {
				t.Fatal(err)
			}
			text = strings.Replace(string(saved), c.old, c.new, 1)
		}
		r := s.run(t, call{in: text}, "check", bakeryDay, "-", "machines/slicer", "--as", c.as)
		if r.status == exitClean || !strings.Contains(r.out, c.words) {
			t.Errorf("unsaved %s with %s: status %d, %q is missing in\n%s%s", c.as, c.new, r.status, c.words, r.out, r.err)
		}
	}
}

// testClosedPipe lets the reader go before anything is written.
func testClosedPipe(t *testing.T, s *shop) {
	for _, args := range [][]string{{"check", bakeryDay}, {"check", bakeryDay, "--form", "json"}, {"rules"}} {
		r, w, err := os.Pipe()
		if err != nil {
			t.Fatal(err)
		}
		r.Close()
		cmd := exec.Command(s.tool, args...)
		cmd.Dir = s.root
		var errOut bytes.Buffer
		cmd.Stdout, cmd.Stderr = w, &errOut
		err = cmd.Run()
		w.Close()
		if err == nil {
			t.Errorf("%v: status 0 though nobody could read", args)
		}
		if errOut.Len() > 0 {
			t.Errorf("%v: not quiet: %s", args, errOut.String())
		}
	}
}

func testWorkers(t *testing.T, s *shop) {
	for _, format := range []string{"--form=text", "--form=json"} {
		one := s.run(t, call{}, "check", bakeryDay, "--no-cache", format, "--workers", "1")
		for range amount.Of(3, 1) {
			if many := s.run(t, call{}, "check", bakeryDay, "--no-cache", format, "--workers", "16"); many != one {
				t.Errorf("%s: one worker and sixteen do not write the same bytes", format)
			}
		}
		if again := s.run(t, call{}, "check", bakeryDay, "--no-cache", format); again != one {
			t.Errorf("%s: one worker and the default do not write the same bytes", format)
		}
	}
}

func testToday(t *testing.T, s *shop) {
	for _, c := range []struct {
		path, day string
		with      string // in the output
		without   string // not in it
	}{
		{"machines/scorer-export/knife.axis.hcl", "2026-09-30", "1 waived", "waiver-expired"},
		{"machines/scorer-export/knife.axis.hcl", "2026-10-01", "waiver-expired", "waived,"},
		{"machines/slicer", "2027-06-30", "1 waived", "[slenderness]"},
		{"machines/slicer", "2027-07-01", "[slenderness]", "1 waived"},
	} {
		r := s.run(t, call{}, "check", "--today", c.day, c.path)
		if !strings.Contains(r.out, c.with) || strings.Contains(r.out, c.without) {
			t.Errorf("%s on %s: want %q and no %q in\n%s", c.path, c.day, c.with, c.without, r.out)
		}
	}
}

// testSubsets wants each axis file, checked alone, to show what it shows in the
// whole: hook frameworks split the list of files as they like.
func testSubsets(t *testing.T, s *shop) {
	whole := s.found(t, call{}, ".")
	var apart []string
	err := fs.WalkDir(os.DirFS(s.root), "machines", func(name string, d fs.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(name, ".axis.hcl") {
			apart = append(apart, s.found(t, call{}, name)...)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(apart)
	if !reflect.DeepEqual(apart, whole) {
		t.Errorf("file by file it is not the same as in the whole:\n%s", difference(apart, whole))
	}
}
