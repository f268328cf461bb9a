package whole

import (
	"os"
	"path/filepath"
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
