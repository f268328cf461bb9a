package gitfs

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"trammel/spec"
	"trammel/spec/amount"
)

// TestMain keeps the tests from the settings of whoever runs them.
func TestMain(m *testing.M) {
	for _, v := range os.Environ() {
		if os.Getenv("GITFS_HOOK") != "" {
			break // runs as a hook, and needs what git told it
		}
		if name, _, _ := strings.Cut(v, "="); strings.HasPrefix(name, "GIT_") {
			os.Unsetenv(name)
		}
	}
	os.Setenv("GIT_CONFIG_GLOBAL", os.DevNull)
	os.Setenv("GIT_CONFIG_NOSYSTEM", "1")
	os.Exit(m.Run())
}

func needGit(t testing.TB) {
	t.Helper()
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("needs git")
	}
}

// git runs git in a folder as a person would.
func git(t testing.TB, dir string, args ...string) string {
	t.Helper()
	out, err := tryGit(dir, args...)
	if err != nil {
		t.Fatalf("git %v: %v\n%s", args, err, out)
	}
	return strings.TrimSpace(out)
}

func tryGit(dir string, args ...string) (string, error) {
	cmd := exec.Command("git", append([]string{
		"-c", "user.name=test", "-c", "user.email=test@example.org", "-c", "init.defaultBranch=main",
		"-c", "commit.gpgSign=false", "-c", "core.fsync=none", "-c", "protocol.file.allow=always", "-c", "gc.auto=0", "-c", "maintenance.auto=false",
	}, args...)...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	return string(out), err
}

func write(t testing.TB, dir, name, text string) {
	t.Helper()
	full := filepath.Join(dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(full, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func axis(name, lines string) string { return fmt.Sprintf("axis %q {\n%s}\n", name, lines) }

// scratch makes a repository with the given files in one commit.
func scratch(t testing.TB, files ...string) string {
	t.Helper()
	needGit(t)
	dir, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	git(t, dir, "init", "-q", "--template=")
	if len(files) > 0 {
		for _, f := range files {
			write(t, dir, f, axis("a", "  # "+f+"\n"))
		}
		commit(t, dir)
	}
	return dir
}

func commit(t testing.TB, dir string) {
	t.Helper()
	git(t, dir, "add", "-A")
	git(t, dir, "commit", "-q", "--allow-empty", "-m", "x")
}

func head(t testing.TB, dir string) string {
	t.Helper()
	return git(t, dir, "rev-parse", "HEAD")
}

func open(t testing.TB, dir string) *Repo {
	t.Helper()
	r, err := Open(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := r.Close(); err != nil {
			t.Error(err)
		}
	})
	return r
}

func staged(t testing.TB, r *Repo) fs.FS {
	t.Helper()
	f, err := r.Staged()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func at(t testing.TB, r *Repo, rev string) fs.FS {
	t.Helper()
	f, _, err := r.At(rev)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func content(t testing.TB, f fs.FS, name string) string {
	t.Helper()
	b, err := fs.ReadFile(f, name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// all lists the files of a file system.
func all(t testing.TB, f fs.FS) []string {
	t.Helper()
	var names []string
	err := fs.WalkDir(f, ".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			names = append(names, name)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func same(t testing.TB, got, want any) {
	t.Helper()
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("got  %q\nwant %q", got, want)
	}
}

// changes shows changes as text.
func changes(t testing.TB, r *Repo, from, to string) []string {
	t.Helper()
	list, err := r.Changed(from, to)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, c := range list {
		s := string(c.Kind) + " " + c.Path
		if c.Old != c.Path {
			s += " < " + c.Old
		}
		out = append(out, strings.TrimSuffix(s, " < "))
	}
	return out
}

func wantError(t testing.TB, err error, words ...string) {
	t.Helper()
	if err == nil {
		t.Fatalf("no error; want one with %q", words)
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("error %q lacks %q", err, w)
		}
	}
}

// strange are names that must get through unharmed.
func strange() []string {
	list := []string{
		"-dash.axis.hcl", "-d/--x.axis.hcl", "a b/c d.axis.hcl", "Größe/führung.axis.hcl", "軸.axis.hcl",
		"glob[1]/x*y.axis.hcl", ":(glob)odd.axis.hcl", "single'quote.axis.hcl",
	}
	if runtime.GOOS != "windows" {
		list = append(list, "new\nline/x\ny.axis.hcl", `double"quote.axis.hcl`, `back\slash.axis.hcl`, "tab\t.axis.hcl")
	}
	if runtime.GOOS == "windows" {
		list = slices.DeleteFunc(list, func(s string) bool { return strings.ContainsAny(s, "*:") })
	}
	slices.Sort(list)
	return list
}

func TestLongStrangeNames(t *testing.T) {
	amount.Long(t)
	t.Parallel()
	names := strange()
	dir := scratch(t, names...)
	r := open(t, dir)
	byWalk := func(f fs.FS) []string {
		list := all(t, f)
		slices.Sort(list)
		return list
	}
	same(t, byWalk(at(t, r, "HEAD")), names)
	same(t, byWalk(staged(t, r)), names)
	for _, n := range names {
		same(t, content(t, at(t, r, "HEAD"), n), axis("a", "  # "+n+"\n"))
	}
	for _, where := range []string{"HEAD", Index, Worktree} {
		find, err := r.Find(where)
		if err != nil {
			t.Fatal(err)
		}
		for _, words := range [][]string{nil, {"axis"}} {
			got, err := find(".", true, words...)
			if err != nil {
				t.Fatal(err)
			}
			same(t, got, names)
			for _, n := range names {
				i := strings.LastIndex(n, "/")
				if i < 0 {
					continue
				}
				for _, deep := range []bool{true, false} {
					got, err := find(n[:i], deep, words...)
					if err != nil {
						t.Fatal(err)
					}
					same(t, got, []string{n})
				}
			}
		}
	}
	var want []string
	for _, n := range names {
		write(t, dir, n, "axis \"b\" {\n}\n")
		want = append(want, "M "+n)
	}
	same(t, changes(t, r, "HEAD", Worktree), want)
	git(t, dir, "add", "-A")
	same(t, content(t, staged(t, r), names[0]), "axis \"b\" {\n}\n")
	same(t, changes(t, r, "HEAD", Index), want)
	commit(t, dir)
	same(t, changes(t, r, "HEAD~1", "HEAD"), want)
}

func TestNotUTF8(t *testing.T) {
	t.Parallel()
	if runtime.GOOS != "linux" {
		t.Skip("needs a file system that takes any name")
	}
	dir := scratch(t)
	write(t, dir, "bad\xff.axis.hcl", "axis \"b\" {\n}\n")
	write(t, dir, "good.axis.hcl", "axis \"b\" {\n}\n")
	commit(t, dir)
	r := open(t, dir)
	same(t, changes(t, r, "HEAD", Index), []string(nil))
	tree := spec.NewTree(at(t, r, "HEAD"))
	var seen []string
	if p := tree.Walk(".", func(n string) { seen = append(seen, n) }); len(p) > 0 {
		t.Fatal(p)
	}
	same(t, seen, []string{"bad\xff.axis.hcl", "good.axis.hcl"})
	_, p := tree.Read(seen[0])
	if p == nil || !strings.Contains(p.Message, "not UTF-8") {
		t.Fatal(p)
	}
}

func TestConformance(t *testing.T) {
	t.Parallel()
	dir := scratch(t, "a.axis.hcl", "m/b.axis.hcl", "m/parts/s.parts.hcl", "m/deep/er/c.axis.hcl", "m.x/d.axis.hcl", "p.policy.hcl")
	write(t, dir, "empty.axis.hcl", "")
	write(t, dir, "m/.gitignore", "old/\n")
	write(t, dir, "readme.txt", "not shown")
	commit(t, dir)
	r := open(t, dir)
	want := []string{"a.axis.hcl", "empty.axis.hcl", "m/b.axis.hcl", "m/parts/s.parts.hcl", "m/deep/er/c.axis.hcl", "m.x/d.axis.hcl", "p.policy.hcl"}
	if err := fstest.TestFS(at(t, r, "HEAD"), want...); err != nil {
		t.Error(err)
	}
	write(t, dir, "new/n.axis.hcl", "axis \"n\" {\n}\n")
	git(t, dir, "rm", "-q", "m.x/d.axis.hcl")
	git(t, dir, "add", "-A")
	want = append(slices.DeleteFunc(want, func(s string) bool { return s == "m.x/d.axis.hcl" }), "new/n.axis.hcl")
	if err := fstest.TestFS(staged(t, r), want...); err != nil {
		t.Error(err)
	}
	if err := fstest.TestFS(NoFiles()); err != nil {
		t.Error(err)
	}
	if _, err := fs.Stat(staged(t, r), "readme.txt"); !errors.Is(err, fs.ErrNotExist) {
		t.Error(err)
	}
}

func TestOpenRefuses(t *testing.T) {
	needGit(t)
	none := t.TempDir()
	t.Setenv("GIT_CEILING_DIRECTORIES", filepath.Dir(none))
	_, err := Open(context.Background(), none)
	wantError(t, err, "is not in a git repository")
	_, err = Open(context.Background(), filepath.Join(none, "nowhere"))
	wantError(t, err, "nowhere")
	bare := t.TempDir()
	git(t, bare, "init", "-q", "--bare")
	_, err = Open(context.Background(), bare)
	wantError(t, err, "bare repository")
	dir := scratch(t, "a.axis.hcl")
	_, err = Open(context.Background(), filepath.Join(dir, ".git"))
	wantError(t, err, "inside the .git folder")
	t.Setenv("PATH", none)
	_, err = Open(context.Background(), dir)
	wantError(t, err, "no git command")
}

func TestSubfolderAndRoot(t *testing.T) {
	t.Parallel()
	dir := scratch(t, "m/b.axis.hcl", "a.axis.hcl")
	r := open(t, filepath.Join(dir, "m"))
	same(t, r.Root(), dir)
	write(t, dir, "a.axis.hcl", "# other\n")
	same(t, changes(t, r, "HEAD", Worktree), []string{"M a.axis.hcl"})
}

func TestRevisions(t *testing.T) {
	t.Parallel()
	dir := scratch(t, "a.axis.hcl")
	first := git(t, dir, "rev-parse", "HEAD")
	git(t, dir, "tag", "-a", "v1", "-m", "one")
	write(t, dir, "a.axis.hcl", "# second\n")
	commit(t, dir)
	second := head(t, dir)
	git(t, dir, "checkout", "-q", "--detach")
	r := open(t, dir)
	for rev, want := range map[string]string{"HEAD": second, "HEAD~1": first, "v1": first, first[:10]: first, "main": second, "@": second, "HEAD@{0}": second} {
		f, id, err := r.At(rev)
		if err != nil {
			t.Fatalf("%s: %v", rev, err)
		}
		same(t, id, want)
		if strings.Contains(content(t, f, "a.axis.hcl"), "second") != (want == second) {
			t.Errorf("%s has the wrong content", rev)
		}
	}
	tree := git(t, dir, "rev-parse", "HEAD^{tree}")
	for rev, words := range map[string]string{
		"nowhere": `no revision "nowhere"`, "": "missing", "--all": "begins with a dash", "-x": "begins with a dash", "a\nb": "line break",
		"HEAD~7": "no revision", tree: "no revision", "HEAD:a.axis.hcl": "no revision", "HEAD..main": "no revision", "HEAD@{77}": "",
	} {
		_, _, err := r.At(rev)
		wantError(t, err, words)
	}
	// A question git dies of does not end the service.
	same(t, content(t, at(t, r, "HEAD"), "a.axis.hcl"), "# second\n")
	_, err := r.Changed("--output=x", "HEAD")
	wantError(t, err, "begins with a dash")
	_, err = r.Find("--help")
	wantError(t, err, "begins with a dash")
	base, err := r.MergeBase("v1", "main")
	if err != nil {
		t.Fatal(err)
	}
	same(t, base, first)
	git(t, dir, "checkout", "-q", "--orphan", "island")
	commit(t, dir)
	_, err = r.MergeBase("island", "main")
	wantError(t, err, "no commit in common")
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	_, _, err = r.At("HEAD")
	wantError(t, err, "closed")
}

func TestBeforeTheFirstCommit(t *testing.T) {
	t.Parallel()
	dir := scratch(t)
	r := open(t, dir)
	_, _, err := r.At("HEAD")
	if !errors.Is(err, ErrNoCommits) {
		t.Fatal(err)
	}
	same(t, all(t, staged(t, r)), []string(nil))
	write(t, dir, "m/a.axis.hcl", axis("a", ""))
	same(t, changes(t, r, "HEAD", Worktree), []string{"A m/a.axis.hcl"})
	same(t, changes(t, r, Index, Worktree), []string{"A m/a.axis.hcl"})
	same(t, changes(t, r, "HEAD", Index), []string(nil))
	git(t, dir, "add", ".")
	same(t, all(t, staged(t, r)), []string{"m/a.axis.hcl"})
	same(t, changes(t, r, "HEAD", Index), []string{"A m/a.axis.hcl"})
	find, err := r.Find(Index)
	if err != nil {
		t.Fatal(err)
	}
	got, err := find("m", true, "axis")
	if err != nil {
		t.Fatal(err)
	}
	same(t, got, []string{"m/a.axis.hcl"})
}

func TestSha256(t *testing.T) {
	t.Parallel()
	needGit(t)
	dir := t.TempDir()
	if out, err := tryGit(dir, "init", "-q", "--object-format=sha256"); err != nil {
		t.Skip(out)
	}
	r := open(t, dir)
	same(t, all(t, staged(t, r)), []string(nil))
	write(t, dir, "m/a.axis.hcl", "# one\n")
	git(t, dir, "add", ".")
	same(t, content(t, staged(t, r), "m/a.axis.hcl"), "# one\n")
	commit(t, dir)
	if id := head(t, dir); len(id) != 64 {
		t.Fatal(id)
	}
	same(t, content(t, at(t, r, "HEAD"), "m/a.axis.hcl"), "# one\n")
}

func TestStagedIsNotTheWorkingTree(t *testing.T) {
	t.Parallel()
	dir := scratch(t, "a.axis.hcl", "m/b.axis.hcl", "m/gone.axis.hcl", "t.axis.hcl")
	r := open(t, dir)
	write(t, dir, "a.axis.hcl", "# staged\n")
	write(t, dir, "m/new/c.axis.hcl", "# staged too\n")
	git(t, dir, "add", "a.axis.hcl", "m/new")
	git(t, dir, "rm", "-q", "--cached", "m/gone.axis.hcl")
	write(t, dir, "a.axis.hcl", "# staged\n# not staged\n")
	write(t, dir, "m/b.axis.hcl", "# not staged\n")
	write(t, dir, "told.axis.hcl", "# told of\n")
	git(t, dir, "add", "-N", "told.axis.hcl")
	f := staged(t, r)
	same(t, content(t, f, "a.axis.hcl"), "# staged\n")
	same(t, content(t, f, "m/b.axis.hcl"), axis("a", "  # m/b.axis.hcl\n"))
	same(t, all(t, f), []string{"a.axis.hcl", "m/b.axis.hcl", "m/new/c.axis.hcl", "t.axis.hcl"})
	same(t, changes(t, r, "HEAD", Index), []string{"M a.axis.hcl", "D m/gone.axis.hcl", "A m/new/c.axis.hcl"})
	same(t, changes(t, r, Index, "HEAD"), []string{"M a.axis.hcl", "A m/gone.axis.hcl", "D m/new/c.axis.hcl"})
	same(t, changes(t, r, Index, Worktree), []string{"M a.axis.hcl", "M m/b.axis.hcl", "A m/gone.axis.hcl", "A told.axis.hcl"})
	// Still there, though no longer in the index: it is not deleted.
	same(t, changes(t, r, "HEAD", Worktree), []string{"M a.axis.hcl", "M m/b.axis.hcl", "M m/gone.axis.hcl", "A m/new/c.axis.hcl", "A told.axis.hcl"})
	same(t, changes(t, r, Index, Index), []string(nil))

	// A folder where a file was, and a file where a folder was.
	git(t, dir, "rm", "-q", "-f", "t.axis.hcl")
	write(t, dir, "t.axis.hcl/x.axis.hcl", "# in\n")
	if err := os.RemoveAll(filepath.Join(dir, "m")); err != nil {
		t.Fatal(err)
	}
	write(t, dir, "m", "text")
	write(t, dir, "n.axis.hcl", "# n\n")
	git(t, dir, "add", "-A")
	f = staged(t, r)
	same(t, all(t, f), []string{"a.axis.hcl", "n.axis.hcl", "t.axis.hcl/x.axis.hcl", "told.axis.hcl"})
}

func TestRenames(t *testing.T) {
	t.Parallel()
	dir := scratch(t, "m/a.axis.hcl", "b.axis.hcl", "c.axis.hcl", "d.axis.hcl")
	long := strings.Repeat("  # a line that stays\n", 30)
	for _, n := range []string{"m/a.axis.hcl", "b.axis.hcl", "c.axis.hcl"} {
		write(t, dir, n, axis(n[:1], long+"# "+n+"\n"))
	}
	commit(t, dir)
	r := open(t, dir)
	git(t, dir, "mv", "--", "m/a.axis.hcl", "-new name.axis.hcl")
	git(t, dir, "mv", "b.axis.hcl", "b.txt")
	git(t, dir, "rm", "-q", "d.axis.hcl")
	write(t, dir, "-new name.axis.hcl", axis("m", long+"# touched\n"))
	git(t, dir, "add", "-A")
	want := []string{"R -new name.axis.hcl < m/a.axis.hcl", "D b.axis.hcl", "D d.axis.hcl"}
	same(t, changes(t, r, "HEAD", Index), want)
	same(t, changes(t, r, "HEAD", Worktree), want)
	same(t, all(t, staged(t, r)), []string{"-new name.axis.hcl", "c.axis.hcl"})
	same(t, changes(t, r, Worktree, "HEAD"), []string{"A b.axis.hcl", "A d.axis.hcl", "R m/a.axis.hcl < -new name.axis.hcl"})
	commit(t, dir)
	same(t, changes(t, r, "HEAD~1", "HEAD"), want)
}

func TestUntracked(t *testing.T) {
	t.Parallel()
	dir := scratch(t, "a.axis.hcl")
	write(t, dir, ".gitignore", "old/\n")
	write(t, dir, "old/x.axis.hcl", "")
	write(t, dir, "new/y.parts.hcl", "")
	write(t, dir, "new/z.axis.hcl", "carries")
	write(t, dir, "new/note.txt", "")
	r := open(t, dir)
	same(t, changes(t, r, "HEAD", Worktree), []string{"A new/y.parts.hcl", "A new/z.axis.hcl"})
	os.Remove(filepath.Join(dir, "a.axis.hcl"))
	find, err := r.Find(Worktree)
	if err != nil {
		t.Fatal(err)
	}
	for _, words := range [][]string{nil, {"carries"}} {
		got, err := find(".", true, words...)
		if err != nil {
			t.Fatal(err)
		}
		same(t, got, []string{"new/z.axis.hcl"})
	}
}

func TestConflict(t *testing.T) {
	t.Parallel()
	dir := scratch(t, "m/a b.axis.hcl", "c.axis.hcl")
	git(t, dir, "checkout", "-q", "-b", "other")
	write(t, dir, "m/a b.axis.hcl", "# other\n")
	commit(t, dir)
	git(t, dir, "checkout", "-q", "main")
	write(t, dir, "m/a b.axis.hcl", "# ours\n")
	commit(t, dir)
	if _, err := tryGit(dir, "merge", "other"); err == nil {
		t.Fatal("the merge had no conflict")
	}
	r := open(t, dir)
	_, err := r.Staged()
	wantError(t, err, "merge conflict", `"m/a b.axis.hcl"`)
	var c *ConflictError
	if !errors.As(err, &c) || !slices.Equal(c.Files, []string{"m/a b.axis.hcl"}) {
		t.Fatal(err)
	}
	_, err = r.Changed("HEAD", Index)
	wantError(t, err, "merge conflict")
	same(t, changes(t, r, "HEAD", Worktree), []string{"M m/a b.axis.hcl"})
	same(t, content(t, at(t, r, "HEAD"), "m/a b.axis.hcl"), "# ours\n")
}

func TestShallow(t *testing.T) {
	t.Parallel()
	origin := scratch(t, "a.axis.hcl")
	first := git(t, origin, "rev-parse", "HEAD")
	git(t, origin, "checkout", "-q", "-b", "side")
	commit(t, origin)
	git(t, origin, "checkout", "-q", "main")
	write(t, origin, "a.axis.hcl", "# second\n")
	commit(t, origin)
	clone := filepath.Join(t.TempDir(), "clone")
	git(t, origin, "clone", "-q", "--depth", "1", "--no-single-branch", "file://"+origin, clone)
	r := open(t, clone)
	for _, rev := range []string{first, "HEAD~1"} {
		_, _, err := r.At(rev)
		wantError(t, err, "no revision", "shallow", "--unshallow")
	}
	same(t, content(t, at(t, r, "HEAD"), "a.axis.hcl"), "# second\n")
	_, err := r.MergeBase("origin/side", "origin/main")
	wantError(t, err, "no commit in common", "shallow")
}

func TestLongSubmodules(t *testing.T) {
	amount.Long(t)
	t.Parallel()
	library := scratch(t, "s.parts.hcl")
	dir := scratch(t, "a.axis.hcl")
	git(t, dir, "submodule", "--quiet", "add", library, "m/parts")
	git(t, dir, "submodule", "--quiet", "add", library, "lib")
	r := open(t, dir)
	for range 2 {
		f := staged(t, r)
		if list, err := fs.ReadDir(f, "m"); err != nil || len(list) != 1 || !list[0].IsDir() {
			t.Fatal(list, err)
		}
		_, err := fs.ReadDir(f, "m/parts")
		wantError(t, err, "submodule")
		p := spec.NewTree(f).Folder("m").Problems
		if len(p) != 1 || !strings.Contains(p[0].Message, "submodule") {
			t.Fatal(p)
		}
		commit(t, dir)
	}
	if list, err := fs.ReadDir(at(t, r, "HEAD"), "lib"); err != nil || len(list) != 0 {
		t.Fatal(list, err)
	}
	// Inside of it begins another repository.
	inner := open(t, filepath.Join(dir, "lib"))
	same(t, inner.Root(), filepath.Join(dir, "lib"))
	write(t, dir, "lib/s.parts.hcl", "# changed\n")
	same(t, changes(t, r, "HEAD", Worktree), []string(nil))
	same(t, changes(t, inner, "HEAD", Worktree), []string{"M s.parts.hcl"})
}

func TestLinks(t *testing.T) {
	t.Parallel()
	dir := scratch(t, "a.axis.hcl", "shared/s.parts.hcl")
	for name, to := range map[string]string{"l.axis.hcl": "a.axis.hcl", "out.axis.hcl": "/etc/passwd", "parts": "shared", "more": "shared"} {
		if err := os.Symlink(to, filepath.Join(dir, name)); err != nil {
			t.Skip(err)
		}
	}
	git(t, dir, "add", "-A")
	r := open(t, dir)
	f := staged(t, r)
	check := func(f fs.FS) {
		t.Helper()
		tree := spec.NewTree(f)
		for _, n := range []string{"l.axis.hcl", "out.axis.hcl"} {
			if _, p := tree.Read(n); p == nil || !strings.Contains(p.Message, "link") {
				t.Errorf("%s: %v", n, p)
			}
		}
		if p := tree.Folder(".").Problems; len(p) != 1 || !strings.Contains(p[0].Message, "link") {
			t.Error(p)
		}
		for _, n := range []string{"more/s.parts.hcl", "parts/s.parts.hcl"} {
			if _, err := fs.ReadFile(f, n); err == nil {
				t.Errorf("%s was followed", n)
			}
		}
	}
	check(f)
	commit(t, dir)
	check(at(t, r, "HEAD"))
	os.Remove(filepath.Join(dir, "l.axis.hcl"))
	write(t, dir, "l.axis.hcl", "# a file now\n")
	same(t, changes(t, r, "HEAD", Worktree), []string{"T l.axis.hcl"})
}

func TestLinkedWorktree(t *testing.T) {
	t.Parallel()
	dir := scratch(t, "a.axis.hcl")
	other := filepath.Join(dir, "..", "other tree")
	git(t, dir, "worktree", "add", "-q", "-b", "side", other)
	write(t, other, "a.axis.hcl", "# side\n")
	git(t, other, "add", "-A")
	r, main := open(t, other), open(t, dir)
	same(t, changes(t, r, "HEAD", Index), []string{"M a.axis.hcl"})
	same(t, changes(t, main, "HEAD", Index), []string(nil))
	same(t, content(t, staged(t, r), "a.axis.hcl"), "# side\n")
}

// TestLongHookEnvironment sets what git sets for its hooks.
func TestLongHookEnvironment(t *testing.T) {
	amount.Long(t)
	dir := scratch(t, "m/a.axis.hcl", "b.axis.hcl")
	elsewhere := scratch(t, "e.axis.hcl")
	write(t, dir, "m/a.axis.hcl", "# a\n")
	write(t, dir, "b.axis.hcl", "# b\n")
	cmd := exec.Command("git", "add", "b.axis.hcl")
	cmd.Dir, cmd.Env = dir, append(os.Environ(), "GIT_INDEX_FILE="+filepath.Join(dir, ".git", "next"))
	cmd.Env = append(cmd.Env, "GIT_DIR=.git")
	git(t, dir, "read-tree", "--index-output=.git/next", "HEAD")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatal(string(out), err)
	}
	git(t, dir, "add", "m/a.axis.hcl")
	t.Chdir(dir)
	for _, index := range []string{".git/next", filepath.Join(dir, ".git", "next")} {
		for _, gitDir := range []string{"", ".git", filepath.Join(dir, ".git")} {
			t.Setenv("GIT_INDEX_FILE", index)
			if gitDir == "" {
				os.Unsetenv("GIT_DIR")
			} else {
				t.Setenv("GIT_DIR", gitDir)
			}
			for _, from := range []string{".", "m"} {
				r := open(t, from)
				same(t, r.Root(), dir)
				same(t, changes(t, r, "HEAD", Index), []string{"M b.axis.hcl"})
				same(t, content(t, staged(t, r), "b.axis.hcl"), "# b\n")
			}
			// What the hook says does not hold for another repository.
			r := open(t, elsewhere)
			same(t, r.Root(), elsewhere)
			same(t, changes(t, r, "HEAD", Index), []string(nil))
			same(t, all(t, staged(t, r)), []string{"e.axis.hcl"})
		}
	}
	os.Unsetenv("GIT_INDEX_FILE")
	os.Unsetenv("GIT_DIR")
	r := open(t, ".")
	same(t, changes(t, r, "HEAD", Index), []string{"M m/a.axis.hcl"})
}

// TestInARealHook commits with -a and with paths, for which git hands the hook
// an index of its own.
func TestInARealHook(t *testing.T) {
	t.Parallel()
	if runtime.GOOS == "windows" {
		t.Skip("needs a shell")
	}
	dir := scratch(t, "m/a.axis.hcl", "b.axis.hcl")
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(t.TempDir(), "out")
	write(t, dir, ".git/hooks/pre-commit", "#!/bin/sh\nGITFS_HOOK='"+out+"' exec '"+self+"' -test.run '^TestHookBody$'\n")
	if err := os.Chmod(filepath.Join(dir, ".git/hooks/pre-commit"), 0o755); err != nil {
		t.Fatal(err)
	}
	for i, c := range []struct {
		args []string
		want string
	}{
		{[]string{"commit", "-q", "-m", "x", "--", "b.axis.hcl"}, "M b.axis.hcl"},
		{[]string{"commit", "-q", "-am", "x"}, "M b.axis.hcl,M m/a.axis.hcl"},
		{[]string{"commit", "-q", "-m", "x"}, "M m/a.axis.hcl"},
	} {
		write(t, dir, "m/a.axis.hcl", fmt.Sprintf("# a %d\n", i))
		write(t, dir, "b.axis.hcl", fmt.Sprintf("# b %d\n", i))
		git(t, dir, "add", "m/a.axis.hcl")
		git(t, dir, c.args...)
		got, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		same(t, string(got), c.want)
	}
}

// TestHookBody is what runs in the hook.
func TestHookBody(t *testing.T) {
	out := os.Getenv("GITFS_HOOK")
	if out == "" {
		t.Skip("runs in a hook only")
	}
	r := open(t, ".")
	staged(t, r)
	if err := os.WriteFile(out, []byte(strings.Join(changes(t, r, "HEAD", Index), ",")), 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestGitDirAlone is a repository that keeps its folder elsewhere.
func TestGitDirAlone(t *testing.T) {
	dir := scratch(t, "a.axis.hcl", "m/b.axis.hcl")
	apart := filepath.Join(t.TempDir(), "apart")
	if err := os.Rename(filepath.Join(dir, ".git"), apart); err != nil {
		t.Fatal(err)
	}
	t.Setenv("GIT_CEILING_DIRECTORIES", filepath.Dir(dir))
	t.Setenv("GIT_DIR", apart)
	t.Setenv("GIT_WORK_TREE", dir)
	write(t, dir, "m/b.axis.hcl", "# b\n")
	t.Chdir(dir)
	r := open(t, filepath.Join(dir, "m"))
	same(t, r.Root(), dir)
	same(t, changes(t, r, "HEAD", Worktree), []string{"M m/b.axis.hcl"})
	_, err := Open(context.Background(), t.TempDir())
	wantError(t, err, "outside of the working tree")
}

// TestNothingRuns asks everything of a repository that tries to run programs.
func TestNothingRuns(t *testing.T) {
	t.Parallel()
	if runtime.GOOS == "windows" {
		t.Skip("needs a shell")
	}
	dir := scratch(t, "a.axis.hcl", "m/b.axis.hcl", "c.axis.hcl")
	mark := filepath.Join(t.TempDir(), "ran")
	script := filepath.Join(dir, "bad.sh")
	write(t, dir, "bad.sh", "#!/bin/sh\necho \"$0 $*\" >> '"+mark+"'\ncat\n")
	if err := os.Chmod(script, 0o755); err != nil {
		t.Fatal(err)
	}
	write(t, dir, ".gitattributes", "*.hcl diff=bad filter=bad merge=bad\n")
	commit(t, dir)
	id := git(t, dir, "rev-parse", "HEAD:c.axis.hcl")
	for k, v := range map[string]string{
		"core.fsmonitor": script, "core.hooksPath": dir, "core.pager": script, "core.sshCommand": script, "core.editor": script,
		"diff.external": script, "diff.bad.textconv": script, "diff.bad.command": script, "pager.diff": script,
		"filter.bad.clean": script, "filter.bad.smudge": script, "filter.bad.process": script, "filter.bad.required": "true",
		"alias.grep": "!" + script, "alias.ls-files": "!" + script, "credential.helper": "!" + script, "grep.fallbackToNoIndex": "true",
		"extensions.partialClone": "origin", "core.repositoryFormatVersion": "1",
		"remote.origin.url": "ext::" + script, "remote.origin.promisor": "true", "protocol.ext.allow": "always", "protocol.allow": "always",
		"diff.orderFile": filepath.Join(dir, "nowhere"), "submodule.recurse": "true", "diff.renames": "copies", "core.quotePath": "true",
		"diff.noprefix": "true", "diff.relative": "true", "color.ui": "always", "diff.ignoreSubmodules": "none", "core.untrackedCache": "true",
	} {
		git(t, dir, "config", k, v)
	}
	for _, h := range []string{"post-index-change", "pre-commit", "reference-transaction", "fsmonitor-watchman"} {
		write(t, dir, h, "#!/bin/sh\necho hook >> '"+mark+"'\n")
		if err := os.Chmod(filepath.Join(dir, h), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	// One object is missing, as in a partial clone.
	if err := os.Remove(filepath.Join(dir, ".git", "objects", id[:2], id[2:])); err != nil {
		t.Fatal(err)
	}
	os.Remove(mark)
	before, err := os.ReadFile(filepath.Join(dir, ".git", "index"))
	if err != nil {
		t.Fatal(err)
	}
	r := open(t, dir)
	write(t, dir, "a.axis.hcl", axis("z", "  # a.axis.hcl\n")) // the same size
	write(t, dir, "n.axis.hcl", "# new\n")
	same(t, changes(t, r, "HEAD", Worktree), []string{"M a.axis.hcl", "A n.axis.hcl"})
	same(t, changes(t, r, Index, Worktree), []string{"M a.axis.hcl", "A n.axis.hcl"})
	same(t, changes(t, r, "HEAD", Index), []string(nil))
	same(t, changes(t, r, "HEAD~1", "HEAD"), []string(nil))
	f := staged(t, r)
	same(t, content(t, f, "a.axis.hcl"), axis("a", "  # a.axis.hcl\n"))
	_, err = fs.ReadFile(f, "c.axis.hcl")
	wantError(t, err, "partial clone")
	_, err = fs.ReadFile(at(t, r, "HEAD"), "c.axis.hcl")
	wantError(t, err, "partial clone")
	for _, where := range []string{"HEAD", Index, Worktree} {
		find, err := r.Find(where)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := find("m", true, "axis"); err != nil {
			t.Error(err)
		}
		if _, err := find(".", true); err != nil {
			t.Error(err)
		}
		find(".", true, "axis") // may fail for the missing object
	}
	if _, err := r.MergeBase("HEAD", "HEAD~1"); err != nil {
		t.Error(err)
	}
	if ran, err := os.ReadFile(mark); err == nil {
		t.Errorf("the repository ran:\n%s", ran)
	}
	after, err := os.ReadFile(filepath.Join(dir, ".git", "index"))
	if err != nil || string(after) != string(before) {
		t.Error("the index was written", err)
	}
	// The trap is one.
	tryGit(dir, "status")
	if _, err := os.Stat(mark); err != nil {
		t.Error("plain git ran nothing either; this test shows nothing")
	}
}

func TestLongHugeFile(t *testing.T) {
	amount.Long(t)
	t.Parallel()
	dir := scratch(t)
	write(t, dir, "big.axis.hcl", strings.Repeat("# 3456789\n", 1<<20))
	write(t, dir, "large.axis.hcl", strings.Repeat("# 3456789\n", 1<<18))
	write(t, dir, "small.axis.hcl", "# small\n")
	commit(t, dir)
	r := open(t, dir)
	f := at(t, r, "HEAD")
	tree := spec.NewTree(f)
	for _, n := range []string{"big.axis.hcl", "large.axis.hcl"} {
		if _, p := tree.Read(n); p == nil || !strings.Contains(p.Message, "MB large") {
			t.Error(p)
		}
	}
	_, err := fs.ReadFile(f, "big.axis.hcl")
	wantError(t, err, "larger than")
	same(t, content(t, f, "small.axis.hcl"), "# small\n")
}

// Models are read from what git has stored, and are larger than spec files.
func TestModels(t *testing.T) {
	t.Parallel()
	dir := scratch(t, "a.axis.hcl")
	large := strings.Repeat("#1=A();\n", amount.Of(9<<17, 9<<15))
	write(t, dir, "cad/s.step", large)
	write(t, dir, "cad/t.STP", "was")
	write(t, dir, "cad/u.dxf", "no model")
	commit(t, dir)
	write(t, dir, "cad/t.STP", "is")
	write(t, dir, "new.stp", "new")
	r := open(t, dir)
	same(t, changes(t, r, "HEAD", Worktree), []string{"M cad/t.STP", "A new.stp"})
	git(t, dir, "add", "-A")
	same(t, changes(t, r, "HEAD", Index), []string{"M cad/t.STP", "A new.stp"})
	same(t, content(t, staged(t, r), "cad/t.STP"), "is")
	old := at(t, r, "HEAD")
	same(t, content(t, old, "cad/t.STP"), "was")
	if got := content(t, old, "cad/s.step"); got != large {
		t.Errorf("%d bytes of a model are read; want %d", len(got), len(large))
	}
	if _, err := fs.Stat(old, "cad/u.dxf"); err == nil {
		t.Error("what is no model is shown")
	}
}

// TestAhead holds that what is read ahead is what is read when it is wanted, and needs
// no further question: it is there when git has ended.
func TestAhead(t *testing.T) {
	t.Parallel()
	var names []string
	for i := range 150 { // more than are requested at once
		names = append(names, fmt.Sprintf("m%d/n/a%d.axis.hcl", i%7, i))
	}
	dir := scratch(t, names...)
	write(t, dir, names[3], "staged\n")
	write(t, dir, "new/a.axis.hcl", "new\n")
	git(t, dir, "rm", "-q", names[4])
	git(t, dir, "add", "-A")
	r := open(t, dir)
	f := staged(t, r).(*files)
	f.Ahead(append([]string{"gone/a.axis.hcl", names[4], "m0", "../x", "new/a.axis.hcl"}, names...))
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	for i, n := range append(names, "new/a.axis.hcl") {
		want := axis("a", "  # "+n+"\n")
		switch i {
		case 3:
			want = "staged\n"
		case 4:
			if _, err := fs.ReadFile(f, n); !errors.Is(err, fs.ErrNotExist) {
				t.Errorf("%s: %v", n, err)
			}
			continue
		case len(names):
			want = "new\n"
		}
		if b, err := fs.ReadFile(f, n); err != nil || string(b) != want {
			t.Errorf("%s: %q %v", n, b, err)
		}
	}
}

func TestLongManyReaders(t *testing.T) {
	amount.Long(t)
	t.Parallel()
	var names []string
	for i := range 60 {
		names = append(names, fmt.Sprintf("m%d/a%d.axis.hcl", i%7, i))
	}
	dir := scratch(t, names...)
	r := open(t, dir)
	f, s := at(t, r, "HEAD"), staged(t, r)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for _, n := range names {
				for _, x := range []fs.FS{f, s} {
					if b, err := fs.ReadFile(x, n); err != nil || string(b) != axis("a", "  # "+n+"\n") {
						t.Errorf("%s: %q %v", n, b, err)
					}
				}
			}
			if _, err := r.Changed("HEAD", Index); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
}

func TestParseTree(t *testing.T) {
	t.Parallel()
	id := strings.Repeat("\x01", 20)
	list, err := parseTree([]byte("100644 a.axis.hcl\x00"+id+"40000 d\x00"+id+"40000 ..\x00"+id+"100644 a/b.axis.hcl\x00"+id+"100644 x.txt\x00"+id), 20)
	if err != nil || len(list) != 2 || list[0].name != "a.axis.hcl" || list[1].name != "d" {
		t.Fatal(list, err)
	}
	for _, bad := range []string{"x", "100644 a.axis.hcl\x00short", "z a\x00" + id, "\x00 " + id, "100644 a" + id} {
		if _, err := parseTree([]byte(bad), 20); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
}
