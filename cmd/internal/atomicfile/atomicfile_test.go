package atomicfile

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "a.txt")
	if err := os.WriteFile(name, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "link")
	if err := os.Symlink("a.txt", link); err != nil {
		t.Skip(err)
	}
	if err := WriteFile(link, []byte("new")); err != nil {
		t.Fatal(err)
	}
	got, _ := os.ReadFile(name)
	info, _ := os.Lstat(link)
	if string(got) != "new" || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link's file holds %q, the link's mode is %v", got, info.Mode())
	}
	if info, _ := os.Stat(name); info.Mode().Perm() != 0o600 {
		t.Errorf("permissions became %v", info.Mode().Perm())
	}
	if err := WriteFile(filepath.Join(dir, "none", "b"), nil); err == nil {
		t.Error("a folder that is not there was written to")
	}
	if err := WriteFile(dir, nil); err == nil {
		t.Error("a folder was replaced")
	}
	left, _ := os.ReadDir(dir)
	if len(left) != 2 {
		t.Errorf("left behind: %v", left)
	}
}

// A folder and a tree beside it whose links lead out of the tree and about in
// it.
func ground(t *testing.T) (tree, outside string) {
	t.Helper()
	base, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	tree, outside = filepath.Join(base, "tree"), filepath.Join(base, "outside")
	for _, d := range []string{filepath.Join(tree, ".git", "hooks"), filepath.Join(tree, "sub"), outside} {
		if err := os.MkdirAll(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(outside, "victim"), []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	for at, to := range map[string]string{
		"tree/out": "../outside/victim", "tree/new": "../outside/new", "tree/hook": ".git/hooks/pre-commit", "tree/dir": "../outside", "tree/about": "sub",
		"tree/round": "round", "tree/chain": "out", "tree/abs": filepath.Join(outside, "victim"), "in": "tree/sub", "far": "tree/dir", "git": "tree/.git", "odd": "tree/sub/../hook", "twisted": "tree/dir/../outside/victim",
		"plain": "outside/victim", "nowhere": "nothing",
	} {
		if err := os.Symlink(to, filepath.Join(base, at)); err != nil {
			t.Skip("no links here:", err)
		}
	}
	return tree, outside
}

// TestLinks holds which links are followed: those of the user, outside of a
// tree, and no other.
func TestLinks(t *testing.T) {
	tree, outside := ground(t)
	base := filepath.Dir(tree)
	for name, want := range map[string]string{
		"tree/out": "link inside the tree", "tree/new": "link inside the tree", "tree/hook": "link inside the tree", "tree/dir/x": "link inside the tree", "tree/dir/deep/x": "link inside the tree", "tree/about/x": "link inside the tree", "tree/round": "link inside the tree", "tree/chain": "link inside the tree", "tree/abs": "link inside the tree",
		"tree/.git/x": "it lies in .git", "tree/.git/hooks/pre-commit": "it lies in .git", "tree/.GIT/x": "it lies in .git", "tree/sub/../.git/x": "it lies in .git", "tree/.git": "it lies in .git", "tree/sub/.git": "it lies in .git", "tree/.git /x": "it lies in .git",
		"tree/git~1/x": "it lies in .git", "tree/.g\u200cit/x": "it lies in .git", "tree/.git::$INDEX_ALLOCATION/x": "it lies in .git", "git/x": "it lies in .git", "git/hooks/x": "it lies in .git",
		"far/x": "link inside the tree", "odd": "leads nowhere", "twisted": "link inside the tree", "nowhere": "leads nowhere", "tree/sub": "no regular file", "tree": "no regular file", "outside": "no regular file", "tree/none/x": "no such file",
		"tree/sub/x": "", "in/y": "", "plain": "", "outside/z": "",
	} {
		err := WriteFile(filepath.Join(base, filepath.FromSlash(name)), []byte("new"))
		if want == "" && err != nil || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("%s: %v, want %q", name, err, want)
		}
	}
	got, _ := os.ReadDir(outside)
	if text, _ := os.ReadFile(filepath.Join(outside, "victim")); string(text) != "new" || len(got) != 2 {
		t.Errorf("the user's own link: %q, %v", text, got)
	}
	if got, _ := os.ReadDir(filepath.Join(tree, ".git", "hooks")); len(got) > 0 {
		t.Errorf("in .git: %v", got)
	}
	// Without a repository it is the tree that is named, or the current folder.
	if err := os.RemoveAll(filepath.Join(tree, ".git")); err != nil {
		t.Fatal(err)
	}
	if err := WriteFile(filepath.Join(tree, "out"), nil); err != nil {
		t.Error(err)
	}
	if err := WriteFile(filepath.Join(tree, "out"), nil, tree); err == nil {
		t.Error("a link in a tree that is named was followed")
	}
	t.Chdir(tree)
	if err := WriteFile("out", nil); err == nil {
		t.Error("a link in the current folder was followed")
	}
	if err := Allowed("dir"); err == nil {
		t.Error("a link on the way was not seen")
	}
	if err := Allowed("sub"); err != nil {
		t.Error(err)
	}
}

// TestFolderGit holds that a folder that is held open gives away neither .git nor what
// is above it, whoever named it.
func TestFolderGit(t *testing.T) {
	tree, _ := ground(t)
	dir, err := OpenFolder(tree, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer dir.Close()
	for _, name := range []string{".git", "sub/.git", ".git/hooks", ".GIT"} {
		if _, err := dir.Sub(name, 0o777); err != ErrGit {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := dir.WriteFile(".git", nil); err != ErrGit {
		t.Error(err)
	}
	for _, name := range []string{"..", "sub/..", "sub/../../outside"} {
		if _, err := dir.Sub(name, 0o777); err == nil || !strings.Contains(err.Error(), "leads out of its folder") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestSwapped puts a link in the place of a folder that is held open.
func TestSwapped(t *testing.T) {
	tree, outside := ground(t)
	dir, err := OpenFolder(filepath.Join(tree, "sub"), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer dir.Close()
	if err := os.Rename(filepath.Join(tree, "sub"), filepath.Join(tree, "was")); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(outside, filepath.Join(tree, "sub")); err != nil {
		t.Fatal(err)
	}
	if err := dir.WriteFile("x", []byte("new")); err != nil {
		t.Fatal(err)
	}
	if got, _ := os.ReadFile(filepath.Join(tree, "was", "x")); string(got) != "new" {
		t.Error("it was written elsewhere")
	}
	if _, err := OpenFolder(filepath.Join(tree, "sub"), 0o777); err == nil {
		t.Error("the link was followed")
	}
}
