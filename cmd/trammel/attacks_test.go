package main

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"trammel/spec/amount"
)

// An attack is something that who writes files, and is not trusted, may try.
// The table in docs/security.md is made of them.
type attack struct {
	threat string // what it is one of, as on the page
	name   string // what is tried
	holds  string // what must hold, in words

	set    func(*field)         // makes the files, besides those of newField; nil for none
	args   []string             // the command, run in the repository; %OUT% is field.out, %BASE% field.base
	status int                  // that must come of it; any for anyOf
	says   string               // a part of what is printed
	not    string               // nothing of this is printed
	after  func(*field, string) // looks at what became of it, and what was printed; nil for nothing
	open   bool                 // it may change something outside: after looks whether it is right
}

// anyOf stands for any of the exit statuses.
const anyOf = -1

// attacks are gathered by the files attacks_*_test.go.
var attacks []attack

// A field is where an attack takes place: a repository that a stranger wrote,
// in a folder of the user's with things that are none of theirs.
type field struct {
	*testing.T
	base string // holds repo, outside and home
	repo string
	dir  string // where the command is run: the repository, unless set says another
	out  string // what is written to, as given on the command line
	env  []string
}

const (
	victim    = "outside/victim.txt"
	hook      = "repo/.git/hooks/pre-commit"
	fieldAxis = "axis \"lift\" {\n  orientation = \"vertical\"\n  load {\n    mass = \"20 kg\"\n  }\n}\n"
)

func newField(t *testing.T) *field {
	base, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	f := &field{T: t, base: base, repo: filepath.Join(base, "repo"), out: "report.txt"}
	f.dir = f.repo
	f.write(victim, "the user's own\n")
	f.write("home/.profile", "the user's own\n")
	f.write("repo/.git/HEAD", "ref: refs/heads/main\n")
	f.write("repo/.git/config", "[core]\n")
	f.write("repo/.git/hooks/readme", "")
	f.write("repo/m/lift.axis.hcl", fieldAxis)
	f.env = []string{"HOME=" + filepath.Join(base, "home"), "XDG_CACHE_HOME=" + filepath.Join(base, "home", "cache"), "TRAMMEL_CACHE=", "NO_COLOR=1"}
	return f
}

// write writes a file below the base.
func (f *field) write(name, text string) {
	f.Helper()
	put(f, filepath.Join(f.base, filepath.FromSlash(name)), text)
}

// link makes a link below the base.
func (f *field) link(name, to string) {
	f.Helper()
	full := filepath.Join(f.base, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
		f.Fatal(err)
	}
	if err := os.Symlink(strings.ReplaceAll(to, "%BASE%", f.base), full); err != nil {
		f.Skip("no links here:", err)
	}
}

// read reads a file below the base; "" where there is none.
func (f *field) read(name string) string {
	src, _ := os.ReadFile(filepath.Join(f.base, filepath.FromSlash(name)))
	return string(src)
}

// git makes the repository a real one and commits all of it.
func (f *field) git() {
	f.Helper()
	needs(f.T, "git", "git")
	for _, args := range [][]string{{"init", "-q", "-b", "main"}, {"add", "-A"}, {"commit", "-q", "--no-verify", "-m", "x"}} {
		c := exec.Command("git", append([]string{"-C", f.repo, "-c", "user.name=x", "-c", "user.email=x@example.com", "-c", "commit.gpgsign=false"}, args...)...)
		c.Env = append(os.Environ(), "GIT_CONFIG_GLOBAL=/dev/null", "GIT_CONFIG_NOSYSTEM=1")
		if out, err := c.CombinedOutput(); err != nil {
			f.Fatalf("git %q: %v\n%s", args, err, out)
		}
	}
}

// run runs the command in the repository and holds it against what is true of
// every run: it ends by itself, in time, and does not break down.
func (f *field) run(args ...string) (int, string) {
	f.Helper()
	tool, err := builtTool()
	if err != nil {
		f.Skip("cannot build the command here:", err)
	}
	args = slices.Clone(args)
	for i := range args {
		args[i] = strings.NewReplacer("%OUT%", f.out, "%BASE%", f.base).Replace(args[i])
	}
	c := exec.Command(tool, args...)
	c.Dir = f.dir
	c.Env = append(os.Environ(), f.env...)
	var out kept
	c.Stdout, c.Stderr = &out, &out
	if err := c.Start(); err != nil {
		f.Fatal(err)
	}
	hung := false
	timer := time.AfterFunc(time.Minute, func() { hung = true; _ = c.Process.Kill() })
	_ = c.Wait()
	timer.Stop()
	text := string(out.text)
	if hung {
		f.Errorf("%q does not end:\n%.1000s", args, text)
	}
	if spent := c.ProcessState.UserTime() + c.ProcessState.SystemTime(); spent > hostilePatience {
		f.Errorf("%q took %v", args, spent)
	}
	if held := mostMemory(c.ProcessState); !raceEnabled && held > hostileMemory {
		f.Errorf("%q took %d MB", args, held>>20)
	}
	status := c.ProcessState.ExitCode()
	if status < 0 || status > 2 || strings.Contains(text, "goroutine ") || strings.Contains(text, "panic:") {
		f.Errorf("%q broke down with status %d:\n%.2000s", args, status, text)
	}
	return status, text
}

// state tells everything that is none of the stranger's, and what is left of
// files in the making anywhere.
func (f *field) state() map[string]string {
	out := map[string]string{}
	err := filepath.WalkDir(f.base, func(name string, e fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil // an attack that swaps names is still at it
		}
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(f.base, name)
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		own := !strings.HasPrefix(rel, "repo/") || strings.HasPrefix(rel, "repo/.git/")
		if rel == "home/cache" {
			return fs.SkipDir // what the user's own runs leave is the user's
		}
		if !own && !strings.HasPrefix(e.Name(), ".trammel-") || e.IsDir() {
			return nil
		}
		info, err := e.Info()
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil {
			return err
		}
		text := info.Mode().String()
		if info.Mode().IsRegular() {
			text += " " + f.read(rel)
		}
		out[rel] = text
		return nil
	})
	if err != nil {
		f.Fatal(err)
	}
	return out
}

// someAttacks are some of each threat; all where everything is tried.
func someAttacks() []attack {
	of := map[string][]attack{}
	for _, a := range attacks {
		of[a.threat] = append(of[a.threat], a)
	}
	var out []attack
	for _, threat := range slices.Sorted(maps.Keys(of)) {
		out = append(out, amount.Some(of[threat], 6, func(a attack) string { return a.name })...)
	}
	return out
}

// TestLongAttacks tries attacks and holds that what must hold does.
func TestLongAttacks(t *testing.T) {
	amount.Long(t)
	for _, a := range someAttacks() {
		t.Run(a.threat+"/"+a.name, func(t *testing.T) {
			t.Parallel()
			f := newField(t)
			if a.set != nil {
				a.set(f)
			}
			before := f.state()
			status, out := f.run(a.args...)
			if status != a.status && a.status != anyOf || !strings.Contains(out, a.says) {
				t.Errorf("%q: status %d, want %d with %q:\n%.1000s", a.args, status, a.status, a.says, out)
			}
			if a.not != "" && strings.Contains(out, a.not) {
				t.Errorf("%q prints %q:\n%.1000q", a.args, a.not, out)
			}
			if after := f.state(); !a.open {
				for name := range after {
					if after[name] != before[name] {
						t.Errorf("%s became %.300q, was %.300q", name, after[name], before[name])
					}
				}
				for name := range before {
					if _, ok := after[name]; !ok {
						t.Errorf("%s is gone", name)
					}
				}
			}
			if a.after != nil {
				a.after(f, out)
			}
		})
	}
}

// TestAttackPage holds the table of attacks in docs/security.md.
func TestAttackPage(t *testing.T) {
	list := slices.Clone(attacks)
	slices.SortStableFunc(list, func(a, b attack) int { return cmp.Or(cmp.Compare(a.threat, b.threat), cmp.Compare(a.name, b.name)) })
	var b strings.Builder
	fmt.Fprintf(&b, "%d attempts; `cmd/trammel/attacks_*_test.go` holds each with its files and command.\n\n| threat | attempts | result |\n|---|---|---|\n", len(list))
	for len(list) > 0 {
		threat, n := list[0].threat, 0
		var results []string
		seen := map[string]bool{}
		for ; n < len(list) && list[n].threat == threat; n++ {
			a := list[n]
			if seen[a.name] {
				t.Errorf("the attack %s/%s stands twice", a.threat, a.name)
			}
			seen[a.name] = true
			if a.threat == "" || a.name == "" || a.holds == "" || strings.ContainsAny(a.threat+a.name+a.holds, "|\n") {
				t.Errorf("the attack %q %q lacks words, or they break its table", a.threat, a.name)
			}
			if !slices.Contains(results, a.holds) {
				results = append(results, a.holds)
			}
		}
		fmt.Fprintf(&b, "| %s | %d | %s |\n", threat, n, strings.Join(results, " · "))
		list = list[n:]
	}
	const page, begin, end = "../../docs/security.md", "<!-- attacks -->\n", "<!-- end of attacks -->\n"
	src, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := strings.Cut(string(src), begin)
	_, tail, ok2 := strings.Cut(rest, end)
	if !ok || !ok2 {
		t.Fatal("docs/security.md has lost the marks around its table of attacks")
	}
	text := head + begin + b.String() + end + tail
	if text == string(src) {
		return
	}
	if !*update {
		t.Error("docs/security.md does not show these attacks; run `make docs` and look at what changed")
		return
	}
	if err := os.WriteFile(page, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}
