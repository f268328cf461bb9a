package atomicfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// TestReadOnlySame: folders that are kept open change nothing of what is found, links
// within the tree and out of it included.
func TestReadOnlySame(t *testing.T) {
	root := filepath.Join(t.TempDir(), "tree")
	put := func(name string) {
		t.Helper()
		name = filepath.Join(root, name)
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(name), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for i := range 2 * keptOpen {
		put(fmt.Sprintf("a/b%d/c/x", i))
	}
	put("../outside/x")
	put(strings.Repeat("d/", 300) + "x")
	for to, names := range map[string][]string{
		"../b1": {"a/b0/up"}, "../../../outside": {"a/b0/out"}, "c": {"a/b0/down"}, "../b2/c/x": {"a/b0/file"}, "nowhere": {"a/b0/none"},
		"/etc": {"abs"}, "loop": {"loop"}, "a/b0/up": {"twice"},
	} {
		for _, name := range names {
			if err := os.Symlink(to, filepath.Join(root, name)); err != nil {
				t.Skip(err)
			}
		}
	}
	plain, err := os.OpenRoot(root)
	if err != nil {
		t.Fatal(err)
	}
	defer plain.Close()
	kept, err := ReadOnly(root)
	if err != nil {
		t.Fatal(err)
	}
	names := []string{".", "a", "a/b0/up/c/x", "a/b0/out/x", "a/b0/down/x", "a/b0/file", "a/b0/none", "abs/passwd", "loop/x", "twice/c/x", "a/b0/up/../x", "/", "", "a/missing/x",
		strings.Repeat("d/", 300) + "x", strings.Repeat("d/", 300) + "y"}
	for i := range 2 * keptOpen {
		names = append(names, fmt.Sprintf("a/b%d/c/x", i), fmt.Sprintf("a/b%d/c", i))
	}
	same := func(name string) {
		a, errA := fs.ReadFile(plain.FS(), name)
		b, errB := fs.ReadFile(kept, name)
		if string(a) != string(b) || (errA == nil) != (errB == nil) {
			t.Errorf("%q: read %q, %v and %q, %v", name, a, errA, b, errB)
		}
		i, errA := fs.Stat(plain.FS(), name)
		k, errB := fs.Stat(kept, name)
		if (errA == nil) != (errB == nil) || errA == nil && (i.Mode() != k.Mode() || i.Size() != k.Size()) {
			t.Errorf("%q: looked at as %v, %v and %v, %v", name, i, errA, k, errB)
		}
		i, errA = fs.Lstat(plain.FS(), name)
		k, errB = fs.Lstat(kept, name)
		if (errA == nil) != (errB == nil) || errA == nil && (i.Mode() != k.Mode() || i.Size() != k.Size()) || errors.Is(errA, fs.ErrNotExist) && errA.Error() != errB.Error() {
			t.Errorf("%q: as it stands %v, %v and %v, %v", name, i, errA, k, errB)
		}
	}
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			for _, name := range names {
				same(name)
			}
		})
	}
	all.Wait()
}

// TestOpenLinks: in a tree links are followed to what is in it, and neither out of it
// nor into .git. Outside they are the user's.
func TestOpenLinks(t *testing.T) {
	base, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	at := func(name string) string { return filepath.Join(base, filepath.FromSlash(name)) }
	for _, name := range []string{"repo/.git/config", "repo/a/file", "bare/file", "outside/file"} {
		if err := os.MkdirAll(filepath.Dir(at(name)), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(at(name), []byte(name), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for name, to := range map[string]string{
		"repo/near": "a/file", "repo/folder": "a", "repo/twice": "folder/../near", "repo/out": "../outside/file", "repo/whole": at("repo/a/file"), "repo/away": "../outside",
		"repo/back": "../repo/a/file", "repo/git": ".git/config", "repo/gitfolder": "a/../.git", "repo/round": "round", "repo/none": "nothing", "outside/in": "../repo/near",
		"outside/into": "../repo/git", "outside/folder": "../repo", "bare/out": "../outside/file", "bare/in": "file", "outside/git": "../repo/.git/config",
	} {
		if err := os.Symlink(to, at(name)); err != nil {
			t.Skip(err)
		}
	}
	const leadsOut, intoGit = "out of the tree", "into .git"
	for _, c := range []struct{ name, holds, says string }{
		{"repo/a/file", "repo/a/file", ""},
		{"repo/near", "repo/a/file", ""},
		{"repo/folder/file", "repo/a/file", ""},
		{"repo/twice", "repo/a/file", ""},
		{"repo/out", "", leadsOut},
		{"repo/whole", "", leadsOut},
		{"repo/away/file", "", leadsOut},
		{"repo/back", "", leadsOut},
		{"repo/git", "", intoGit},
		{"repo/gitfolder/config", "", intoGit},
		{"repo/.git/config", "repo/.git/config", ""}, // the user's own word
		{"repo/round", "", "in a circle"},
		{"repo/none", "", "no such file"},
		{"repo/missing", "", "no such file"},
		{"repo/a", "", "no regular file"},
		{"outside/in", "repo/a/file", ""},
		{"outside/into", "", intoGit},
		{"outside/folder/out", "", leadsOut},
		{"outside/folder/near", "repo/a/file", ""},
		{"outside/git", "repo/.git/config", ""},
		{"bare/in", "bare/file", ""},
		{"bare/out", "", leadsOut},
	} {
		f, err := Open(at(c.name), at("bare"))
		got := ""
		if err == nil {
			src, _ := io.ReadAll(f)
			f.Close()
			got = string(src)
		}
		if got != c.holds || (err == nil) != (c.says == "") || err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: read %q, %v; want %q, %q", c.name, got, err, c.holds, c.says)
		}
	}
	if f, err := Open(at("bare/out")); err != nil {
		t.Errorf("a link of the user's: %v", err)
	} else {
		f.Close()
	}
	tree, err := ReadOnly(at("repo"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"git", "gitfolder/config", "gitfolder"} {
		_, statErr := fs.Stat(tree, name)
		if _, err := fs.ReadFile(tree, name); err == nil || !strings.Contains(err.Error(), intoGit) || statErr == nil || !strings.Contains(statErr.Error(), intoGit) {
			t.Errorf("%s is read: %v, %v", name, err, statErr)
		}
	}
}
