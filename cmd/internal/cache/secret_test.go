package cache

import (
	"bytes"
	"crypto/sha256"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"trammel/rules/judge/run"
)

// A pack that another user made is not believed, nor one sealed with a plain
// checksum, which anybody can work out.
func TestForeignPack(t *testing.T) {
	base := t.TempDir()
	fill := func(dir string) *Store {
		s := opened(t, dir, "a")
		s.PutFile(key(1), &run.CachedFile{Axes: 7})
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		return s
	}
	mine, theirs := filepath.Join(base, "mine"), filepath.Join(base, "theirs")
	s := fill(mine)
	fill(theirs)
	known := func() bool {
		s := opened(t, mine, "a")
		defer s.Abandon()
		return s.File(key(1)) != nil
	}
	if !known() {
		t.Fatal("nothing is cached")
	}
	name := filepath.Join(mine, s.name)
	own, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	foreign, err := os.ReadFile(filepath.Join(theirs, s.name))
	if err != nil {
		t.Fatal(err)
	}
	plain := bytes.Clone(own[:len(own)-sha256.Size])
	sum := sha256.Sum256(append(bytes.Clone(s.stamp[:]), plain[len(plain)-8-slotSize:len(plain)-8]...))
	for what, pack := range map[string][]byte{"another user's": foreign, "one with a plain checksum": append(plain, sum[:]...)} {
		if err := os.WriteFile(name, pack, 0o600); err != nil {
			t.Fatal(err)
		}
		if known() {
			t.Errorf("%s was believed", what)
		}
	}
	if err := os.WriteFile(name, own, 0o600); err != nil || !known() {
		t.Errorf("the own one is not believed any more: %v", err)
	}
	if err := os.Remove(mine + ".key"); err != nil {
		t.Fatal(err)
	}
	if known() {
		t.Error("a pack was believed without the key it was sealed with")
	}
}

// TestInsideTree holds that no folder or key in a tree is used, by whatever way
// it is named.
func TestInsideTree(t *testing.T) {
	base := t.TempDir()
	tree := filepath.Join(base, "tree")
	for _, d := range []string{"tree/cache", "out"} {
		if err := os.MkdirAll(filepath.Join(base, d), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	for at, to := range map[string]string{"in": "tree/cache", "tree/away": "../out", "nowhere": "none"} {
		if err := os.Symlink(to, filepath.Join(base, at)); err != nil {
			t.Skip("no links here:", err)
		}
	}
	try := func(dir string) error {
		s, err := Open(dir, []string{tree}, texts, "a")
		if err == nil {
			s.Abandon()
		}
		return err
	}
	for _, name := range []string{"tree", "tree/cache", "tree/new/deep", "in", "in/new", "tree/away", "tree/away/new", "out/../tree/cache"} {
		if err := try(filepath.Join(base, name)); err == nil || !strings.Contains(err.Error(), "inside the tree") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := try(filepath.Join(base, "nowhere")); err == nil || !strings.Contains(err.Error(), "leads nowhere") {
		t.Error(err)
	}
	if got, _ := os.ReadDir(tree); len(got) != 2 {
		t.Errorf("something was made in the tree: %v", got)
	}
	if err := try(filepath.Join(base, "out")); err != nil {
		t.Error(err)
	}
	for name, want := range map[string]string{filepath.Join(tree, "k"): "inside the tree", "k": "absolute", filepath.Join(base, "no-such"): "no such file"} {
		t.Setenv("TRAMMEL_CACHE_KEY", name)
		if err := try(filepath.Join(base, "out")); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("key %s: %v", name, err)
		}
	}
}

func TestSecret(t *testing.T) {
	name := filepath.Join(t.TempDir(), "k")
	t.Setenv("TRAMMEL_CACHE_KEY", name)
	for _, c := range []struct {
		text string
		mode os.FileMode
		want string
	}{
		{strings.Repeat("k", 32), 0o600, ""}, {strings.Repeat("k", 4096), 0o400, ""}, {strings.Repeat("k", 31), 0o600, "holds 31 bytes"}, {"", 0o600, "holds 0 bytes"},
		{strings.Repeat("k", 5000), 0o600, "a key has 32 to 4096"}, {strings.Repeat("k", 32), 0o640, "others may read"}, {strings.Repeat("k", 32), 0o602, "others may read"},
	} {
		_ = os.Remove(name)
		if err := os.WriteFile(name, []byte(c.text), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(name, c.mode); err != nil {
			t.Fatal(err)
		}
		if runtime.GOOS == "windows" && strings.HasPrefix(c.want, "others") {
			continue
		}
		if _, err := secretOf("", nil); (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%d bytes, %v: %v", len(c.text), c.mode, err)
		}
	}
}
