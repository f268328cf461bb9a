package atomicfile

import (
	"fmt"
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
