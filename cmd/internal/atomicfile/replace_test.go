package atomicfile

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Replace is that of the folder of a file.
func Replace(file string, before, text []byte) error {
	dir, err := OpenFolder(filepath.Dir(file), 0)
	if err != nil {
		return err
	}
	defer dir.Close()
	return dir.Replace(filepath.Base(file), before, text)
}

func TestReplace(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "a.axis.hcl")
	write := func(text string, mode os.FileMode) {
		t.Helper()
		_ = os.Remove(file)
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(file, mode); err != nil {
			t.Fatal(err)
		}
	}
	holds := func(want string) {
		t.Helper()
		got, err := os.ReadFile(file)
		if err != nil || string(got) != want {
			t.Errorf("holds %q, %v", got, err)
		}
		if entries, _ := os.ReadDir(dir); len(entries) != 1 {
			t.Errorf("left in the folder: %v", entries)
		}
	}

	for _, mode := range []os.FileMode{0o600, 0o644, 0o664, 0o755, 0o246} {
		write("old", mode)
		if mode&0o400 == 0 && os.Geteuid() != 0 {
			continue
		}
		if err := Replace(file, []byte("old"), []byte("new")); err != nil {
			t.Fatal(err)
		}
		holds("new")
		if info, err := os.Stat(file); err != nil || info.Mode().Perm() != mode {
			t.Errorf("mode %v, want %v", info.Mode(), mode)
		}
	}

	write("other", 0o644)
	if err := Replace(file, []byte("old"), []byte("new")); err == nil || !strings.Contains(err.Error(), "somebody else") {
		t.Error(err)
	}
	holds("other")
	if err := Replace(file, nil, []byte("new")); err == nil || !strings.Contains(err.Error(), "somebody else") {
		t.Error(err)
	}
	holds("other")

	write("old", 0o444)
	if err := Replace(file, []byte("old"), []byte("new")); err == nil || !strings.Contains(err.Error(), "read-only") {
		t.Error(err)
	}
	holds("old")

	if err := Replace(filepath.Join(dir, "none"), []byte("old"), []byte("new")); !errors.Is(err, os.ErrNotExist) {
		t.Error(err)
	}
	if err := Replace(filepath.Join(dir, "none", "none"), nil, []byte("new")); !errors.Is(err, os.ErrNotExist) {
		t.Error(err)
	}
	if err := Replace(dir, nil, []byte("new")); err == nil {
		t.Error("a folder was replaced")
	}
}
