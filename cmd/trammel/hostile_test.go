package main

import (
	"bytes"
	"context"
	"errors"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"trammel/spec"
	"trammel/spec/amount"
)

// someOf is n where everything is tried, else a quarter of it.
func someOf(n int) int { return amount.Of(n, (n+3)/4) }

func TestMain(m *testing.M) {
	if filepath.Base(os.Args[0]) == "trammel" {
		main()
	}
	tuneMemory() // as main does
	code := m.Run()
	for _, dir := range []string{toolFolder, bakeryFolder} {
		if dir != "" {
			_ = os.RemoveAll(dir)
		}
	}
	os.Exit(code)
}

// builtTool builds the command once, as it is released. A crash or a hang of it
// then fails one test, not all of them. The quick tests do without building: the test
// itself is the command where it is called trammel.
var (
	builtTool  = sync.OnceValues(buildTool)
	toolFolder string
)

func buildTool() (string, error) {
	if raceEnabled {
		return "", errors.New("the command as built has no race detector in it")
	}
	dir, err := os.MkdirTemp("", "trammel-test")
	if err != nil {
		return "", err
	}
	toolFolder = dir
	tool := filepath.Join(dir, "trammel")
	if runtime.GOOS == "windows" {
		tool += ".exe"
	} else if os.Getenv("TRAMMEL_TESTS") == "" {
		self, err := os.Executable()
		if err != nil {
			return "", err
		}
		return tool, os.Symlink(self, tool)
	}
	c := exec.Command("go", "build", "-trimpath", "-o", tool, ".")
	c.Env = append(os.Environ(), "CGO_ENABLED=0")
	out, err := c.CombinedOutput()
	if err != nil {
		return "", errors.New(string(out))
	}
	return tool, nil
}

// runHere runs the command in a folder, within the test: that takes a tenth of
// what a process takes. It must end.
func runHere(t *testing.T, dir, in string, args ...string) result {
	t.Helper()
	was, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
	var out, errOut bytes.Buffer
	status := make(chan int, 1)
	go func() { status <- execute(context.Background(), args, strings.NewReader(in), &out, &errOut) }()
	select {
	case s := <-status:
		t.Chdir(was)
		return result{s, out.String(), errOut.String()}
	case <-time.After(2 * time.Minute):
		t.Fatalf("%q does not end", args)
	}
	return result{}
}

const (
	hostilePatience = 12 * time.Second // of processor time: a few times what it takes, since that of a crowded machine counts its waits; what grows faster than the file takes minutes
	hostileMemory   = 500 << 20        // for one hostile file
)

// kept is what a command writes, without what it writes too much.
type kept struct {
	text []byte
	size int
}

func (k *kept) Write(b []byte) (int, error) {
	k.size += len(b)
	k.text = append(k.text, b[:min(len(b), max(0, 1<<20-len(k.text)))]...)
	return len(b), nil
}

// runTool runs the command in a folder and holds it against what is true of
// every run.
func runTool(t *testing.T, dir, in string, args ...string) (status int, output string) {
	t.Helper()
	return runWithin(t, hostilePatience, dir, in, args...)
}

// runWithin is runTool with another patience.
func runWithin(t *testing.T, patience time.Duration, dir, in string, args ...string) (status int, output string) {
	t.Helper()
	found, _ := filepath.Glob(filepath.Join(dir, "x.*.hcl"))
	files := int64(len(found))
	tool, err := builtTool()
	if err != nil {
		t.Skip("cannot build the command here:", err)
	}
	// The shell sets a bound on processor time, which no load of the machine
	// moves; only a run that sleeps is ended by the clock.
	c := exec.Command("sh", append([]string{"-c", `ulimit -t 20; exec "$0" "$@"`, tool}, args...)...)
	c.Dir = dir
	c.Stdin = strings.NewReader(in)
	var out kept
	c.Stdout, c.Stderr = &out, &out
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	timer := time.AfterFunc(3*time.Minute, func() { _ = c.Process.Kill() })
	_ = c.Wait()
	timer.Stop()
	output = string(out.text)
	spent := c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	if spent > patience {
		t.Errorf("%q took %v", args, spent)
	}
	held := mostMemory(c.ProcessState)
	t.Logf("%q: %v, %d MB, %d kB of output", args, spent.Round(time.Millisecond), held>>20, out.size>>10)
	// A child counts what its parent held when it was started; under the race
	// detector that is a gigabyte.
	if !raceEnabled && held > hostileMemory*max(1, files) {
		t.Errorf("%q took %d MB", args, held>>20)
	}
	status = c.ProcessState.ExitCode()
	if status < 0 || status > 2 || strings.Contains(output, "goroutine ") || strings.Contains(output, "panic:") {
		t.Errorf("%q broke down with status %d:\n%.2000s", args, status, output)
	}
	if output == "" {
		t.Errorf("%q says nothing", args)
	}
	if out.size > 20<<20 && !slices.Contains(args, "json") && args[0] != "adopt" {
		t.Errorf("%q says %d bytes", args, out.size)
	}
	return status, output
}

func writeFile(t *testing.T, name, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestLongHostileFiles(t *testing.T) {
	amount.Long(t)
	fill := func(before, s, after string) string {
		return before + strings.Repeat(s, (spec.MaxFileSize-300-len(before)-len(after))/len(s)) + after
	}
	inMass := func(s, after string) string {
		return fill("axis \"a\" {\n load {\n mass = ", s, after+"\n }\n}\n")
	}
	deep := strings.Repeat("{", 10000)
	type hostile struct {
		name, text string
		status     int
		want       string
	}
	for _, c := range amount.Some([]hostile{
		{"empty", "", 0, "0 axes"},
		{"binary", "\x7fELF\x01\x00\x02", 1, "x.axis.hcl:1:6: error: the file holds a NUL byte"},
		{"half a block", "axis \"a\" {\n  load {\n", 1, "no closing brace"},
		{"UTF-16", "\xff\xfea\x00x\x00", 1, "x.axis.hcl:1:1: error: the file is UTF-16"},
		{"Latin-1", "axis \"a\" {\n  description = \"K\xfchler\"\n}\n", 1, "x.axis.hcl:2:19: error: byte 0xfc"},
		{"conflict", "<<<<<<< HEAD\n=======\n>>>>>>> b\n", 2, "x.axis.hcl:1:1: error: a merge conflict"},
		{"carriage returns", "axis \"a\" {\r\n  lod {\r\n  }\r\n}\r\n", 1, "x.axis.hcl:2:3: error: axis has no block"},
		{"byte order mark", "\ufeffaxs \"a\" {\n}\n", 1, "x.axis.hcl:1:1: error: an axis file has no block \"axs\""},
		{"unknown function", "axis \"a\" {\n load {\n mass = sqrt(2)\n }\n}\n", 1, "x.axis.hcl:3:9: error: there is no function sqrt"},
		{"circle", "given {\n a = given.b\n b = given.a\n}\n", 1, "given.a → given.b → given.a"},
		{"huge number", "axis \"a\" {\n load {\n mass = \"${1e999999999 * 1e999999999} kg\"\n }\n}\n", 1, "too large"},
		{"unreadable number", "axis \"a\" {\n load {\n friction = 1e99999999999999999999\n }\n}\n", 1, "number"},
		{"control bytes", "axis \"a\" {\n screw {\n part = screw[\"\\u001b[2Jx\"]\n }\n}\n", 1, "no part screw"},
		{"deep braces", "axis \"a\" " + deep, 1, "nested more than 64 deep"},
		{"deep brackets", "a = " + strings.ReplaceAll(deep, "{", "["), 1, "nested more than 64 deep"},
		{"deep parentheses", "a = " + strings.ReplaceAll(deep, "{", "("), 1, "nested more than 64 deep"},
		{"deep templates", "a = " + strings.ReplaceAll(deep, "{", "\"${"), 1, "nested more than 64 deep"},
		{"signs", inMass("!", "1"), 1, "is not read"},
		{"minuses", inMass("-", "1"), 1, "is not read"},
		{"conditions", inMass("a?b:", "a"), 1, "is not read"},
		{"sum", inMass("1+", "1"), 1, "is not read"},
		{"hidden brackets", inMass("[\"]\",", ""), 1, "is not read"},
		{"template ifs", inMass("%{if a}", ""), 1, "error:"},
		{"indexes", inMass("a[b]", ""), 1, "error:"},
		{"splats", fill("a = b", "[*]", "\n"), 1, "is not read"},
		{"number", inMass("1", ""), 1, "is not read"},
		{"name", fill("axis \"a\" {\n", "a", " = 1\n}\n"), 1, "is not read"},
		{"attributes", fill("", "a = 1\n", ""), 1, "error:"},
		{"blocks", fill("axis \"a\" {\n", "b {}\n", "}\n"), 1, "is not read"},
		{"blocks, fewer", "axis \"a\" {\n" + strings.Repeat("b {}\n", 11000) + "}\n", 1, "more than 10000 blocks"},
		{"axes", strings.Repeat("axis \"b\" {}\n", 1100), 1, "more than 1000 axes"},
		{"carried axes", "axis \"a\" {\n load {\n carries = [" + strings.Repeat("axis.b,", 50000) + "axis.b]\n}\n}\n", 1, "more than 100 axes"},
		{"texts", fill("given { a = \""+strings.Repeat("x", 4000)+"\" }\naxis \"a\" {\n description = \"", "${given.a}", "\"\n}\n"), 1, "more than"},
		{"moves", fill("axis \"a\" {\n motion {\n", "move \"m\" {}\n", "}\n}\n"), 1, "error:"},
		{"moves, fewer", "axis \"a\" {\n motion {\n" + strings.Repeat("move \"m\" {}\n", 499) + "}\n}\n", 1, "two moves named m"},
	}, 3, func(c hostile) string { return c.name }) {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			writeFile(t, filepath.Join(dir, "x.axis.hcl"), c.text)
			status, out := runTool(t, dir, "", "check")
			if status != c.status || !strings.Contains(out, c.want) {
				t.Errorf("status %d, want %d with %q:\n%.1500s", status, c.status, c.want, out)
			}
			if strings.ContainsAny(out, "\x1b\x00") {
				t.Errorf("control bytes come through: %.1500q", out)
			}
			// The same text from standard input, and in a policy, where what
			// cannot be read means that nothing was judged as it should be.
			if len(c.text) < 100<<10 {
				if again, _ := runTool(t, dir, c.text, "check", "-", "--as", "y.axis.hcl"); again != status {
					t.Errorf("from standard input the status is %d", again)
				}
			}
			if c.text == "" {
				return
			}
			writeFile(t, filepath.Join(dir, "x.policy.hcl"), c.text)
			if status, out := runTool(t, dir, "", "check"); status != 2 {
				t.Errorf("as a policy: status %d:\n%.1500s", status, out)
			}
			writeFile(t, filepath.Join(dir, "x.parts.hcl"), c.text)
			if len(c.text) < 100<<10 {
				runTool(t, dir, "", "check", "--form", "json")
			}
		})
	}
}

func TestLongHostileTree(t *testing.T) {
	amount.Long(t)
	outer := t.TempDir()
	dir := filepath.Join(outer, "tree")
	writeFile(t, filepath.Join(dir, "good.axis.hcl"), "axis \"good\" {\n}\n")
	writeFile(t, filepath.Join(outer, "secret.axis.hcl"), "axis \"secret\" {\n}\n")
	writeFile(t, filepath.Join(dir, "folder.axis.hcl/in.axis.hcl"), "")
	link := func(to, name string) {
		t.Helper()
		if err := os.Symlink(to, filepath.Join(dir, name)); err != nil {
			t.Skip("no links here:", err)
		}
	}
	check := func(t *testing.T, want int, text string, args ...string) {
		t.Helper()
		status, out := runTool(t, dir, "", append([]string{"check"}, args...)...)
		if status != want || !strings.Contains(out, text) {
			t.Errorf("%q: status %d, want %d with %q:\n%.1500s", args, status, want, text, out)
		}
		if strings.Contains(out, "secret") && !strings.Contains(strings.Join(args, " "), "secret") {
			t.Errorf("%q: reads outside:\n%s", args, out)
		}
	}
	writeFile(t, filepath.Join(dir, "good.txt"), "")
	link(".", "self")
	link("..", "up")
	check(t, 2, "folder.axis.hcl:1:1: error: it is no regular file (a folder)")
	type bad struct{ name, want string }
	var all []bad
	add := func(name, want string) { all = append(all, bad{name, want}) }
	link("../secret.axis.hcl", "a.axis.hcl")
	add("a.axis.hcl", "leads out of the tree")
	link("loop.axis.hcl", "loop.axis.hcl")
	add("loop.axis.hcl", "round in a circle")
	link("nowhere", "nowhere.axis.hcl")
	add("nowhere.axis.hcl", "no such file")
	big, err := os.Create(filepath.Join(dir, "big.axis.hcl"))
	if err != nil {
		t.Fatal(err)
	}
	_ = big.Truncate(200 << 20)
	_ = big.Close()
	add("big.axis.hcl", "200 MB large")
	if mkfifo(filepath.Join(dir, "pipe.axis.hcl")) == nil {
		add("pipe.axis.hcl", "a pipe")
	}
	if l, err := net.Listen("unix", filepath.Join(dir, "s.axis.hcl")); err == nil {
		defer l.Close()
		add("s.axis.hcl", "a socket")
	}
	link("/dev/zero", "zero.axis.hcl")
	add("zero.axis.hcl", "leads out of the tree")
	for _, b := range all {
		check(t, 2, b.want, b.name)
		check(t, 2, b.want)
	}
	check(t, 2, "spec file", "good.txt")
	check(t, 2, "no such file", "missing.axis.hcl")
	// A name as found in the wild stays on its line.
	for _, n := range []string{"with space", "with\"quote", "two\nlines", "ünï→👩", "-dash", "esc\x1b[2J"} {
		sub := filepath.Join(outer, "names")
		_ = os.RemoveAll(sub)
		writeFile(t, filepath.Join(sub, n+".axis.hcl"), "axs \"a\" {\n}\n")
		status, out := runTool(t, sub, "", "check")
		first, _, _ := strings.Cut(out, "\n")
		if status != 1 || !strings.Contains(first, ".axis.hcl:1:1: error:") || strings.Contains(out, "\x1b") {
			t.Errorf("%q: status %d\n%q", n, status, out)
		}
	}
	sub := filepath.Join(outer, "bytes")
	if os.MkdirAll(sub, 0o755) == nil && os.WriteFile(filepath.Join(sub, "bad\xff.axis.hcl"), nil, 0o644) == nil {
		if status, out := runTool(t, sub, "", "check"); status != 2 || !strings.Contains(out, "not UTF-8") {
			t.Errorf("status %d\n%q", status, out)
		}
	}
	// Ten thousand folders inside each other are not needed to go too deep.
	deep := filepath.Join(outer, "deep", strings.Repeat("d/", 1000))
	if os.MkdirAll(deep, 0o755) == nil {
		writeFile(t, filepath.Join(deep, "x.axis.hcl"), "axis \"x\" {\n}\n")
		if status, out := runTool(t, filepath.Join(outer, "deep"), "", "check"); status != 0 || !strings.Contains(out, "1 axis") {
			t.Errorf("status %d\n%.1500s", status, out)
		}
	}
}
