package atomicfile

import (
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// OpenRegular says of every name what Stat says, opens what is regular, and what Open
// refuses.
func TestOpenRegular(t *testing.T) {
	root, outside := t.TempDir(), filepath.Join(t.TempDir(), "secret")
	write := func(name string) {
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte("text of "+filepath.Base(name)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write(outside)
	for _, name := range []string{"a", "d/b", ".git/config"} {
		write(filepath.Join(root, name))
	}
	for name, to := range map[string]string{"d/link": "../a", "loop": "loop", "out": outside, "git": ".git/config", "folder": "d", "nowhere": "x"} {
		if err := os.Symlink(to, filepath.Join(root, name)); err != nil {
			t.Skip("no links here:", err)
		}
	}
	fsys, err := ReadOnly(root)
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"a": "text of a", "d/b": "text of b", "d/link": "text of a", "folder/b": "text of b",
		"d": "", "folder": "", "loop": "", "out": "", "git": "", "nowhere": "", "x": "", "d/x": "", "../a": "", "": "", "a/b": "",
	} {
		file, info, err := fsys.(*readOnly).OpenRegular(name)
		if was, wasErr := fs.Stat(fsys, name); wasErr == nil && (err != nil || !os.SameFile(was, info)) || wasErr != nil && (err == nil || wasErr.Error() != err.Error()) {
			t.Errorf("%q: %v, %v; Stat has %v, %v", name, info, err, was, wasErr)
		}
		if (file != nil) != (text != "") {
			t.Errorf("%q: opened: %v", name, file != nil)
		}
		if file == nil {
			continue
		}
		if src, err := io.ReadAll(file); err != nil || string(src) != text {
			t.Errorf("%q: %q, %v", name, src, err)
		}
		file.Close()
	}
}
