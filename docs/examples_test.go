package docs

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// The examples of a document are run in their order, in a folder of their own:
//
//   - a block whose info string is "hcl PATH" is written to that path. Unless
//     "faulty" follows, it must have no problem of the text, together with the
//     other files there, before it is replaced and at the end;
//   - another hcl block need only parse;
//   - in a console block each line "$ trammel …" (or "$ go run ./cmd/trammel …")
//     is run and its output compared byte for byte. "| head -N",
//     "| tail -N" and "| grep WORD" cut it, "< FILE" feeds it, and "$ echo $?" gives the exit status. "exits N" in the
//     info string asks for that status.
//
// A document that speaks of demo gets a copy of the demo. One that holds a line
// "<!-- goes on from FILE -->" begins with the files of that one.
const demo = "fixtures/bakery"

// A fence is one block of code of a document.
type fence struct {
	info        []string
	first, last int // lines of the text within, last not included
}

func fences(lines []string) []fence {
	var out []fence
	open := -1
	var info []string
	for i, l := range lines {
		if !strings.HasPrefix(l, "```") {
			continue
		}
		if open < 0 {
			open, info = i+1, strings.Fields(strings.TrimPrefix(l, "```"))
			continue
		}
		out = append(out, fence{info, open, i})
		open = -1
	}
	return out
}

func (f fence) is(word string) bool { return len(f.info) > 0 && f.info[0] == word }

func (f fence) text(lines []string) string {
	return strings.Join(lines[f.first:f.last], "\n") + "\n"
}

// binary builds the program once for all tests.
var binary = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "trammel-docs")
	if err != nil {
		return "", err
	}
	built = dir
	bin := filepath.Join(dir, "trammel")
	if runtime.GOOS == "windows" {
		bin += ".exe"
	}
	out, err := exec.Command("go", "build", "-buildvcs=false", "-o", bin, "../cmd/trammel").CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("go build: %w\n%s", err, out)
	}
	return bin, nil
})

var built string // the folder of the binary, to be removed

func TestMain(m *testing.M) {
	code := m.Run()
	if built != "" {
		os.RemoveAll(built)
	}
	os.Exit(code)
}

func TestExamples(t *testing.T) {
	for _, d := range documents(t) {
		t.Run(strings.ReplaceAll(d.name, "/", ":"), func(t *testing.T) {
			lines := runDocument(t, d)
			if *update && !slices.Equal(lines, d.lines) {
				if err := os.WriteFile(filepath.Join("..", filepath.FromSlash(d.name)), []byte(strings.Join(lines, "\n")), 0o644); err != nil {
					t.Fatal(err)
				}
			}
		})
	}
}

// session is the folder in which a document's examples run.
type session struct {
	t      *testing.T
	name   string
	dir    string
	faulty map[string]bool // files shown because something is wrong in them
	status int             // of the last command
}

// runDocument runs the examples of a document and returns its lines with the
// output put in.
func runDocument(t *testing.T, d document) []string {
	s := &session{t: t, name: d.name, dir: t.TempDir(), faulty: map[string]bool{}}
	text := strings.Join(d.lines, "\n")
	if strings.Contains(text, demo) {
		err := os.CopyFS(filepath.Join(s.dir, filepath.FromSlash(demo)), os.DirFS(filepath.Join("..", filepath.FromSlash(demo))))
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, l := range d.lines {
		if m := goesOnRE.FindStringSubmatch(l); m != nil {
			s.goOnFrom(path.Join(path.Dir(d.name), m[1]))
		}
	}
	out := slices.Clone(d.lines)
	blocks := fences(d.lines)
	// From a copy with changed blocks the lines shift; put them in from the end.
	type change struct {
		at    fence
		lines []string
	}
	var changes []change
	for _, f := range blocks {
		at := fmt.Sprintf("%s:%d", d.name, f.first+1)
		switch {
		case f.is("hcl") && len(f.info) == 1:
			if _, diags := hclsyntax.ParseConfig([]byte(f.text(d.lines)), at, hcl.InitialPos); diags.HasErrors() {
				t.Errorf("%s: %v", at, diags)
			}
		case f.is("hcl"):
			s.write(at, f, f.text(d.lines))
		case f.is("console"):
			got := s.console(at, f, d.lines[f.first:f.last])
			if got == nil || slices.Equal(got, d.lines[f.first:f.last]) {
				continue
			}
			if *update && !strings.HasPrefix(d.name, "docs/rules/") {
				changes = append(changes, change{f, got})
				continue
			}
			t.Errorf("%s: the output is not what the program prints; %s\n--- in the text\n%s\n--- printed\n%s", at, stale,
				strings.Join(d.lines[f.first:f.last], "\n"), strings.Join(got, "\n"))
		}
	}
	s.check(d.name)
	slices.Reverse(changes)
	for _, c := range changes {
		out = slices.Replace(out, c.at.first, c.at.last, c.lines...)
	}
	return out
}

var goesOnRE = regexp.MustCompile(`^<!-- goes on from (\S+) -->$`)

// goOnFrom writes the files of another document as they are at its end.
func (s *session) goOnFrom(name string) {
	s.t.Helper()
	src, err := os.ReadFile(filepath.Join("..", filepath.FromSlash(name)))
	if err != nil {
		s.t.Fatal(err)
	}
	lines := strings.Split(string(src), "\n")
	for _, f := range fences(lines) {
		if f.is("hcl") && len(f.info) == 2 {
			s.write(fmt.Sprintf("%s:%d", name, f.first+1), f, f.text(lines))
		}
	}
}

func (s *session) write(at string, f fence, text string) {
	s.t.Helper()
	name := f.info[1]
	if !spec.IsSpec(name) || !filepath.IsLocal(name) {
		s.t.Errorf("%s: %s is no name of a spec file", at, name)
		return
	}
	full := filepath.Join(s.dir, filepath.FromSlash(name))
	if _, err := os.Stat(full); err == nil {
		s.check(at)
	}
	if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
		s.t.Fatal(err)
	}
	if err := os.WriteFile(full, []byte(text), 0o644); err != nil {
		s.t.Fatal(err)
	}
	s.faulty[name] = slices.Contains(f.info[2:], "faulty")
}

// check fails on every problem of the text in the files written so far.
func (s *session) check(at string) {
	s.t.Helper()
	tree := spec.NewTree(os.DirFS(s.dir))
	var files []string
	for _, p := range tree.Walk(".", func(name string) {
		if !strings.HasPrefix(name, demo+"/") {
			files = append(files, name)
		}
	}) {
		s.t.Errorf("%s: %s: %s", at, p.Place, p.Message)
	}
	if len(files) == 0 {
		return
	}
	wrong := map[string]bool{}
	for _, f := range run.Files(rules.Book(), tree, files, run.Options{Today: today}).Findings {
		if judge.TextRules()[f.Rule] == "" {
			continue
		}
		wrong[f.Place.File] = true
		if !s.faulty[f.Place.File] {
			s.t.Errorf("%s: example %s: %s [%s]", at, f.Place, f.Message, f.Rule)
		}
	}
	for name, faulty := range s.faulty {
		if faulty && !wrong[name] {
			s.t.Errorf("%s: example %s is called faulty and is not", at, name)
		}
	}
}

// today is the day on which the examples run; waivers in them hold then.
var today = time.Date(2026, 11, 2, 0, 0, 0, 0, time.UTC)

// console runs the commands of a block and returns what it should say, nil
// where it holds no command of ours.
func (s *session) console(at string, f fence, lines []string) []string {
	s.t.Helper()
	if len(lines) == 0 || !ours(lines[0]) {
		return nil
	}
	var out []string
	for _, l := range lines {
		command, is := strings.CutPrefix(l, "$ ")
		switch {
		case !is:
			continue
		case command == "echo $?":
			out = append(out, l, strconv.Itoa(s.status))
		case ours(l):
			out = append(append(out, l), s.run(at, command)...)
		default:
			s.t.Errorf("%s: cannot run %q", at, command)
		}
	}
	if i := slices.Index(f.info, "exits"); i >= 0 && i+1 < len(f.info) && f.info[i+1] != strconv.Itoa(s.status) {
		s.t.Errorf("%s: exit status %d, want %s:\n%s", at, s.status, f.info[i+1], strings.Join(out, "\n"))
	}
	return out
}

const goRun = "go run ./cmd/trammel"

func ours(line string) bool {
	return strings.HasPrefix(line, "$ trammel") || strings.HasPrefix(line, "$ "+goRun)
}

func (s *session) run(at, command string) []string {
	s.t.Helper()
	bin, err := binary()
	if err != nil {
		s.t.Fatal(err)
	}
	viaGo := strings.HasPrefix(command, goRun)
	command, pipe, _ := strings.Cut(command, " | ")
	command, input, fed := strings.Cut(command, " < ")
	args := strings.Fields(strings.TrimPrefix(strings.TrimPrefix(command, goRun), "trammel"))
	c := exec.Command(bin, args...)
	c.Dir = s.dir
	c.Env = append(os.Environ(), "NO_COLOR=1")
	if fed {
		file, err := os.Open(filepath.Join(s.dir, filepath.FromSlash(input)))
		if err != nil {
			s.t.Errorf("%s: %v", at, err)
			return nil
		}
		defer file.Close()
		c.Stdin = file
	}
	var b bytes.Buffer
	c.Stdout, c.Stderr = &b, &b
	err = c.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		s.t.Fatal(err)
	}
	s.status = c.ProcessState.ExitCode()
	if viaGo && s.status != 0 && pipe == "" {
		fmt.Fprintf(&b, "exit status %d\n", s.status) // go run says so itself
	}
	out := strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
	if b.Len() == 0 {
		out = nil
	}
	if word, ok := strings.CutPrefix(pipe, "grep "); ok {
		s.status = 0
		out = slices.DeleteFunc(out, func(l string) bool { return !strings.Contains(l, word) })
	} else if end, n, ok := strings.Cut(pipe, " -"); ok && (end == "head" || end == "tail") {
		k, err := strconv.Atoi(n)
		if err != nil {
			s.t.Errorf("%s: cannot run %q", at, pipe)
		}
		s.status = 0
		if end == "head" {
			out = out[:min(k, len(out))]
		} else {
			out = out[max(0, len(out)-k):]
		}
	} else if pipe != "" {
		s.t.Errorf("%s: cannot run %q", at, pipe)
	}
	for _, l := range out {
		if strings.Contains(l, s.dir) {
			s.t.Errorf("%s: a path of this machine in the output: %s", at, l)
		}
	}
	return out
}
