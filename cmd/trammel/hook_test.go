package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trammel/spec/amount"
)

// needs skips a test where a program is missing, but not where everything is
// to be tested.
func needs(tb testing.TB, program, pkg string) {
	tb.Helper()
	if _, err := exec.LookPath(program); err == nil {
		return
	}
	if os.Getenv("CI") != "" {
		tb.Fatalf("%s is missing; apt-get install %s brings it", program, pkg)
	}
	tb.Skipf("%s is missing here; apt-get install %s brings it", program, pkg)
}

// commit tries to commit what is staged, as a person does.
func commit(t *testing.T, ok bool, words ...string) string {
	t.Helper()
	out, err := gitTry("commit", "-m", "x")
	if (err == nil) != ok {
		t.Errorf("commit: %v, want success %v\n%s", err, ok, out)
	}
	for _, w := range words {
		if not, is := strings.CutPrefix(w, "!"); is == strings.Contains(out, not) {
			t.Errorf("commit: wants %q in\n%s", w, out)
		}
	}
	return out
}

// testHook makes commits in a repository with a hook.
func testHook(t *testing.T) {
	t.Helper()
	// Clean.
	edit(t, outfeed, `"1200 mm"`, `"1190 mm"`)
	gitDo(t, "add", "-A")
	commit(t, true)
	// Faulty, and fixed in the working tree only.
	was := text(t, outfeed)
	edit(t, outfeed, `"1190 mm"`, `"1900 mm"`)
	gitDo(t, "add", "-A")
	put(t, outfeed, was)
	commit(t, false, outfeed+":", "[critical-speed]", "span 1900 mm", "1 axis,")
	// Fixed, and faulty in the working tree only.
	gitDo(t, "add", "-A")
	edit(t, outfeed, `"1190 mm"`, `"1180 mm"`)
	gitDo(t, "add", "-A")
	edit(t, outfeed, `"1180 mm"`, `"1900 mm"`)
	commit(t, true, "!critical-speed")
	gitDo(t, "checkout", "-q", ".")
	// Nothing to do with us.
	put(t, "notes.txt", "x")
	gitDo(t, "add", "-A")
	commit(t, true)
	// Some paths only: git makes an index for them.
	edit(t, outfeed, `"1180 mm"`, `"1900 mm"`)
	put(t, "notes.txt", "y")
	gitDo(t, "add", "-A")
	if out, err := gitTry("commit", "-m", "x", "--", "notes.txt"); err != nil {
		t.Errorf("a commit of another path: %v\n%s", err, out)
	}
	if out, err := gitTry("commit", "-m", "x", "--", outfeed); err == nil || !strings.Contains(out, "[critical-speed]") {
		t.Errorf("a commit of the faulty path: %v\n%s", err, out)
	}
	gitDo(t, "reset", "-q", "--hard")
	edit(t, outfeed, `"1180 mm"`, `"1900 mm"`)
	if out, err := gitTry("commit", "-a", "-m", "x"); err == nil || !strings.Contains(out, "[critical-speed]") {
		t.Errorf("commit -a: %v\n%s", err, out)
	}
	gitDo(t, "reset", "-q", "--hard")
	// From a folder below.
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	edit(t, outfeed, `"1180 mm"`, `"1900 mm"`)
	gitDo(t, "add", "-A")
	t.Chdir("parts")
	commit(t, false, "[critical-speed]")
	t.Chdir(dir)
	gitDo(t, "reset", "-q", "--hard")
	// Nothing but a deletion.
	gitDo(t, "rm", "-q", screws)
	commit(t, false, "[unknown-name]")
	gitDo(t, "reset", "-q", "--hard")
	// A shared part: those that use it, not the one that was faulty before.
	edit(t, screws, `"12.7 kN"`, `"2 kN"`)
	gitDo(t, "add", "-A")
	commit(t, false, "[life-margin]", "8 axes,", "!machines/palletiser")
	gitDo(t, "reset", "-q", "--hard")
}

// onPath puts the command built from here first on the path.
func onPath(tb testing.TB) {
	tb.Helper()
	tool, err := builtTool()
	if err != nil {
		tb.Skip("cannot build the command here:", err)
	}
	tb.Setenv("PATH", filepath.Dir(tool)+string(os.PathListSeparator)+os.Getenv("PATH"))
}

// recipe is a block of docs/hooks.md, by what stands on its first line.
func recipe(t *testing.T, head string) string {
	t.Helper()
	doc := text(t, filepath.Join("..", "..", "docs", "hooks.md"))
	_, rest, ok := strings.Cut(doc, "```"+head+"\n")
	out, _, ok2 := strings.Cut(rest, "```")
	if !ok || !ok2 {
		t.Fatalf("docs/hooks.md has lost its block %q", head)
	}
	return out
}

// install puts a hook into the repository.
func install(t *testing.T, name, script string) {
	t.Helper()
	hook := filepath.Join(".git", "hooks", name)
	put(t, hook, script)
	if err := os.Chmod(hook, 0o755); err != nil {
		t.Fatal(err)
	}
}

// TestLongPlainHook installs the hook that docs/hooks.md gives.
func TestLongPlainHook(t *testing.T) {
	amount.Long(t)
	needs(t, "sh", "dash")
	script := recipe(t, "sh hook pre-commit")
	onPath(t)
	inBakery(t)
	install(t, "pre-commit", script)
	testHook(t)
	// Nothing to do with us, and a new name.
	put(t, "notes.txt", "z")
	gitDo(t, "mv", "machines/loader", "machines/feeder")
	gitDo(t, "add", "-A")
	commit(t, true, "!trammel", "!axis,", "!error")
	// The first commit of a repository.
	os.RemoveAll(".git")
	gitDo(t, "init", "-q", "-b", "main")
	install(t, "pre-commit", script)
	gitDo(t, "add", "machines/slicer", "parts")
	commit(t, true)
	gitDo(t, "add", "machines/feeder")
	commit(t, false, "machines/feeder/travel.axis.hcl:")
}

// faulty commits a fault without asking the hooks.
func faulty(t *testing.T, name, old, new string) {
	t.Helper()
	edit(t, name, old, new)
	gitDo(t, "commit", "-q", "--no-verify", "-a", "-m", "fault")
}

// says runs git or another program and looks at how it ends and what it says.
func says(t *testing.T, ok bool, words []string, program string, args ...string) {
	t.Helper()
	out, err := exec.Command(program, args...).CombinedOutput()
	if (err == nil) != ok {
		t.Errorf("%s %q: %v, want success %v\n%s", program, args, err, ok, out)
	}
	for _, w := range words {
		if not, is := strings.CutPrefix(w, "!"); is == strings.Contains(string(out), not) {
			t.Errorf("%s %q: wants %q in\n%s", program, args, w, out)
		}
	}
}

// bareRemote makes a remote that has what is committed.
func bareRemote(t *testing.T) {
	t.Helper()
	dir := t.TempDir()
	gitDo(t, "init", "-q", "--bare", dir)
	gitDo(t, "remote", "add", "origin", dir)
	gitDo(t, "push", "-q", "--no-verify", "origin", "main")
}

const span = "[critical-speed]"

// testPush pushes faults, which must not get to the remote: as a change of a branch that
// is there, in a new branch, in a new repository. A fault that is only in the working tree
// or already there stops nothing.
func testPush(t *testing.T) {
	t.Helper()
	faulty(t, outfeed, `"1200 mm"`, `"1900 mm"`)
	put(t, "notes.txt", "on top of it")
	gitDo(t, "add", "-A")
	gitDo(t, "commit", "-q", "--no-verify", "-m", "notes")
	edit(t, outfeed, `"1900 mm"`, `"1200 mm"`) // fixed in the working tree only
	says(t, false, []string{outfeed + ":", span, "1 axis,"}, "git", "push", "origin", "main")
	says(t, false, []string{outfeed + ":", span, "1 axis,"}, "git", "push", "origin", "main:new")
	gitDo(t, "commit", "-q", "--no-verify", "-a", "-m", "fixed")
	edit(t, outfeed, `"1200 mm"`, `"1900 mm"`) // faulty in the working tree only
	says(t, true, []string{"!" + span}, "git", "push", "origin", "main")
	gitDo(t, "reset", "-q", "--hard")
	says(t, true, []string{"!" + span}, "git", "push", "origin", "main:other")
	says(t, true, nil, "git", "push", "origin", ":other")
	faulty(t, outfeed, `"1200 mm"`, `"1900 mm"`)
	dir := t.TempDir()
	gitDo(t, "init", "-q", "--bare", dir)
	gitDo(t, "remote", "add", "empty", dir)
	says(t, false, []string{span, "30 axes,"}, "git", "push", "empty", "main")
	gitDo(t, "reset", "-q", "--hard", "HEAD~1")
}

// testMerge merges: what comes from the other side stops nothing, what the merge makes
// faulty does.
func testMerge(t *testing.T) {
	t.Helper()
	faulty(t, outfeed, `"1200 mm"`, `"1900 mm"`)
	gitDo(t, "checkout", "-q", "-b", "side", "HEAD~1")
	put(t, "notes.txt", "side")
	gitDo(t, "add", "-A")
	gitDo(t, "commit", "-q", "--no-verify", "-m", "notes")
	says(t, true, []string{"!" + span}, "git", "merge", "--no-ff", "--no-edit", "main")
	says(t, true, nil, "git", "reset", "-q", "--hard", "HEAD~1")
	says(t, true, nil, "git", "merge", "--no-ff", "--no-commit", "main")
	says(t, true, []string{"!" + span}, "git", "commit", "--no-edit")
	// An axis on one side and its screw on the other.
	gitDo(t, "reset", "-q", "--hard", "HEAD~1")
	faulty(t, screws, `"12.7 kN"`, `"2 kN"`)
	says(t, false, []string{"[life-margin]", "1 axis,"}, "git", "merge", "--no-ff", "--no-edit", "main")
	says(t, false, []string{"[life-margin]", "1 axis,"}, "git", "commit", "--no-edit")
	gitDo(t, "reset", "-q", "--hard", "main")
	gitDo(t, "checkout", "-q", "main")
	gitDo(t, "reset", "-q", "--hard", "HEAD~1")
}

// TestLongPushAndMerge installs the other hooks that docs/hooks.md gives.
func TestLongPushAndMerge(t *testing.T) {
	amount.Long(t)
	needs(t, "sh", "dash")
	onPath(t)
	commits, pushes := recipe(t, "sh hook pre-commit"), recipe(t, "sh hook pre-push")
	inBakery(t)
	bareRemote(t)
	for _, name := range []string{"pre-commit", "pre-merge-commit"} {
		install(t, name, commits)
	}
	install(t, "pre-push", pushes)
	testPush(t)
	testMerge(t)
	// Several branches at once.
	gitDo(t, "branch", "fine")
	faulty(t, outfeed, `"1200 mm"`, `"1900 mm"`)
	says(t, false, []string{span}, "git", "push", "origin", "fine", "main")
	// Not what git gives.
	var said bytes.Buffer
	if status := execute(t.Context(), []string{"hook", "--push", "origin"}, strings.NewReader("refs/heads/main\n"), io.Discard, &said); status != exitFailed || !strings.Contains(said.String(), "pre-push hook") {
		t.Errorf("half a line: status %d, %s", status, said.String())
	}
	t.Setenv("PRE_COMMIT_FROM_REF", "HEAD")
	fails(t, "only one of them", "hook")
	t.Setenv("PRE_COMMIT_TO_REF", "HEAD~9")
	fails(t, "HEAD~9", "hook")
	t.Setenv("PRE_COMMIT_CHECKOUT_TYPE", "1")
	fails(t, "too late", "hook")
}

// TestLongFramework runs the framework with the configuration that docs/hooks.md gives for a
// trammel on the path.
func TestLongFramework(t *testing.T) {
	amount.Long(t)
	needs(t, "pre-commit", "pre-commit")
	onPath(t)
	config := recipe(t, "yaml framework")
	inBakery(t)
	t.Setenv("PRE_COMMIT_HOME", t.TempDir())
	put(t, ".pre-commit-config.yaml", config)
	commitAll(t, "config")
	bareRemote(t)
	says(t, true, nil, "pre-commit", "install")
	testPush(t)
	testMerge(t)
	// A warning alone shows although the hook passes.
	edit(t, outfeed, "  waive \"slenderness\" {\n", "  waive \"slenderness\" {\n    # over\n")
	edit(t, outfeed, `until  = "2027-`, `until  = "2020-`)
	gitDo(t, "add", "-A")
	commit(t, true, "Passed", "[waiver-expired]")
	// Ranges, all files, nothing.
	gitDo(t, "commit", "-q", "--no-verify", "--allow-empty", "-m", "nothing")
	faulty(t, outfeed, `"1200 mm"`, `"1900 mm"`)
	says(t, false, []string{"Failed", span, "1 axis,"}, "pre-commit", "run", "--from-ref", "HEAD~1", "--to-ref", "HEAD")
	says(t, true, []string{"Passed", "!axis,"}, "pre-commit", "run", "--from-ref", "HEAD~2", "--to-ref", "HEAD~1")
	says(t, false, []string{"Failed", span, "30 axes,"}, "pre-commit", "run", "--all-files")
	says(t, false, []string{"Failed", span, "1 axis,"}, "pre-commit", "run", "--files", outfeed)
	says(t, true, []string{"Passed", "!axis,"}, "pre-commit", "run")
	// Nothing but a deletion.
	gitDo(t, "rm", "-q", screws)
	commit(t, false, "[unknown-name]")
}

// TestPreCommitFramework lets the framework build the hook from a repository
// with the sources as they are here, and makes commits.
func TestPreCommitFramework(t *testing.T) {
	if !amount.All() {
		t.Skip("has a framework build the command; TestLongPlainHook makes the same commits")
	}
	needs(t, "pre-commit", "pre-commit")
	gitAlone(t)
	root, err := filepath.Abs(filepath.Join("..", ".."))
	if err != nil {
		t.Fatal(err)
	}
	env := map[string]string{"PRE_COMMIT_HOME": t.TempDir()}
	// With the modules and the build cache that are here nothing is fetched.
	for _, name := range []string{"GOMODCACHE", "GOCACHE", "GOFLAGS", "GOPROXY"} {
		out, err := exec.Command("go", "env", name).Output()
		if err != nil {
			t.Fatal(err)
		}
		env[name] = strings.TrimSpace(string(out))
	}
	for name, value := range env {
		t.Setenv(name, value)
	}
	t.Setenv("CGO_ENABLED", "0")
	hooks := t.TempDir()
	for _, name := range []string{"go.mod", "go.sum", ".pre-commit-hooks.yaml"} {
		put(t, filepath.Join(hooks, name), text(t, filepath.Join(root, name)))
	}
	// What builds, without the tests: others may be writing files here.
	for _, name := range []string{"cmd", "rules", "spec"} {
		copySources(t, filepath.Join(root, name), filepath.Join(hooks, name))
	}
	here, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Chdir(hooks); err != nil {
		t.Fatal(err)
	}
	gitDo(t, "init", "-q", "-b", "main")
	rev := commitAll(t, "hooks")
	if err := os.Chdir(here); err != nil {
		t.Fatal(err)
	}
	inBakery(t)
	put(t, ".pre-commit-config.yaml", fmt.Sprintf("repos:\n  - repo: %q\n    rev: %s\n    hooks:\n      - id: trammel\n      - id: trammel-tidy\n", hooks, rev))
	commitAll(t, "config")
	if out, err := exec.Command("pre-commit", "install", "--install-hooks").CombinedOutput(); err != nil {
		t.Fatalf("pre-commit install: %v\n%s", err, out)
	}
	testHook(t)
	// Each hook says what it did.
	put(t, "notes.txt", "z")
	gitDo(t, "add", "-A")
	commit(t, true, "trammel, what the change affects", "Passed", "trammel, layout", "Skipped")
	put(t, outfeed, text(t, outfeed)+"\n\n\n")
	gitDo(t, "add", "-A")
	commit(t, false, "trammel, layout", "Failed", "files were modified by this hook", outfeed)
	gitDo(t, "reset", "-q", "--hard")
	out, err := exec.Command("pre-commit", "try-repo", hooks, "trammel-all", "--ref", rev, "--all-files").CombinedOutput()
	if err == nil || !strings.Contains(string(out), "machines/loader/travel.axis.hcl:") {
		t.Errorf("trammel-all: %v\n%s", err, out)
	}
}

// copySources copies the Go files of a folder and what is embedded in them,
// tests and test data left out.
func copySources(t *testing.T, from, to string) {
	t.Helper()
	err := filepath.WalkDir(from, func(p string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if d.Name() == "testdata" {
				return filepath.SkipDir
			}
			return nil
		}
		if strings.HasSuffix(p, "_test.go") || !d.Type().IsRegular() {
			return nil
		}
		rel, err := filepath.Rel(from, p)
		if err != nil {
			return err
		}
		put(t, filepath.Join(to, rel), text(t, p))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// bigRepository makes the current folder a repository of n axes, fifty a
// folder, one in a hundred with another screw than all others, and gives an
// axis file of it.
func bigRepository(b *testing.B, n int) string {
	b.Helper()
	axis := text(b, "../../fixtures/bakery/"+outfeed)
	machine := text(b, "../../fixtures/bakery/machines/slicer/machine.axis.hcl")
	parts := map[string]string{}
	for _, name := range []string{"screws", "drives", "greases", "nuts", "environments", "supports"} {
		name = "parts/" + name + ".parts.hcl"
		if src, err := os.ReadFile("../../fixtures/bakery/" + name); err == nil {
			parts[name] = string(src)
		}
	}
	gitAlone(b)
	b.Chdir(b.TempDir())
	for name, src := range parts {
		put(b, name, src)
	}
	for i := range n {
		dir := fmt.Sprintf("machines/m%03d", i/50)
		if i%50 == 0 {
			put(b, dir+"/machine.axis.hcl", strings.Replace(machine, `machine "slicer"`, fmt.Sprintf("machine \"m%03d\"", i/50), 1))
		}
		a := strings.Replace(axis, `axis "outfeed"`, fmt.Sprintf("axis \"a%05d\"", i), 1)
		if i%100 == 7 {
			a = strings.Replace(a, "screw.g20x10", "screw.g25x10", 1)
		}
		put(b, fmt.Sprintf("%s/a%05d.axis.hcl", dir, i), a)
	}
	gitDo(b, "init", "-q", "-b", "main")
	// Nothing may tidy the repository up in the background meanwhile.
	gitDo(b, "config", "gc.auto", "0")
	gitDo(b, "config", "maintenance.auto", "false")
	commitAll(b, "all")
	return "machines/m000/a00005.axis.hcl"
}

// BenchmarkHook is the whole process of a hook for one changed axis, in a small
// repository and in a large one, beside a process that does nothing.
func BenchmarkHook(b *testing.B) {
	tool, err := builtTool()
	if err != nil {
		b.Skip(err)
	}
	var took [2]time.Duration
	for k, n := range []int{10, 10000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			name := bigRepository(b, n)
			edit(b, name, `"1200 mm"`, `"1190 mm"`)
			gitDo(b, "add", "-A")
			run := func() {
				out, err := exec.Command(tool, "check", "--staged", "--since", "HEAD").CombinedOutput()
				if err != nil || !strings.Contains(string(out), "1 axis,") {
					b.Fatalf("%v\n%s", err, out)
				}
			}
			run()
			start := time.Now()
			for b.Loop() {
				run()
			}
			took[k] = time.Since(start) / time.Duration(b.N)
			if k == 1 && took[0] > 0 {
				b.ReportMetric(float64(took[1])/float64(took[0]), "times-small")
			}
		})
	}
	b.Run("version", func(b *testing.B) {
		for b.Loop() {
			if err := exec.Command(tool, "--version").Run(); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkCompare is the whole process of a comparison where a part that 100
// of 10,000 axes use has changed.
func BenchmarkCompare(b *testing.B) {
	tool, err := builtTool()
	if err != nil {
		b.Skip(err)
	}
	bigRepository(b, 10000)
	src := text(b, screws)
	_, rest, _ := strings.Cut(src, `screw "g25x10"`)
	_, rest, _ = strings.Cut(rest, "dynamic_rating       = ")
	old, _, _ := strings.Cut(rest, "\n")
	i := strings.Index(src, rest)
	put(b, screws, src[:i]+`"9 kN"`+strings.TrimPrefix(src[i:], old))
	for _, to := range [][]string{{"HEAD"}, {"--staged", "HEAD"}, {"HEAD~1", "HEAD"}} {
		b.Run(strings.Join(to, " "), func(b *testing.B) {
			switch to[0] {
			case "--staged":
				gitDo(b, "add", "-A")
			case "HEAD~1":
				commitAll(b, "less")
			}
			for b.Loop() {
				out, _ := exec.Command(tool, append([]string{"compare"}, to...)...).CombinedOutput()
				if !strings.Contains(string(out), "100 axes on ") {
					b.Fatalf("%s", out)
				}
			}
		})
	}
}
