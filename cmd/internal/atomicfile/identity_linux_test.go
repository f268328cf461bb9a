package atomicfile

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// TestIdentity holds that whatever happens to a file gives it another identity, or none, and
// that none is believed whose times are not older than the first look by a safe distance.
func TestIdentity(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(os.Mkdir(at("d"), 0o755))
	must(os.WriteFile(at("d/a"), []byte("one"), 0o644))
	must(os.WriteFile(at("d/b"), []byte("two"), 0o644))
	look := func(since time.Time) ([5]int64, bool) {
		t.Helper()
		fsys, err := ReadOnly(dir)
		must(err)
		r := fsys.(*readOnly)
		r.since = since
		file, _, err := r.OpenRegular("d/a")
		must(err)
		defer file.Close()
		info, err := file.Stat()
		must(err)
		id, ok := r.Settled(file, info)
		if now, is := r.Identity("d/a"); ok && (!is || now != id) {
			t.Errorf("opened it is %v, looked at %v", id, now)
		}
		return id, ok
	}
	info, err := os.Stat(at("d/a"))
	must(err)
	written := info.ModTime()
	was, ok := look(written.Add(Settling + 1))
	if !ok {
		t.Skip("the times of this file system are not believed")
	}
	for _, early := range []time.Duration{0, Settling / 2, Settling} {
		if _, ok := look(written.Add(early)); ok {
			t.Errorf("believed %v after it was written", early)
		}
	}
	must(os.Chtimes(at("d/a"), written, written.Add(time.Hour)))
	if _, ok := look(written.Add(Settling * 10)); ok {
		t.Error("believed with a time to come")
	}
	must(os.Chtimes(at("d/a"), written, written))

	differs := func(what string) {
		t.Helper()
		fsys, err := ReadOnly(dir)
		must(err)
		if now, ok := fsys.(*readOnly).Identity("d/a"); ok && now == was {
			t.Errorf("%s: it has its identity still", what)
		} else if ok {
			was = now
		}
	}
	differs("time set")
	must(os.WriteFile(at("d/a"), []byte("two"), 0o644))
	must(os.Chtimes(at("d/a"), written, written))
	differs("written with the same size, and its time set back")
	must(os.Chtimes(at("d/b"), written, written))
	must(os.Rename(at("d/b"), at("d/a")))
	differs("replaced")
	must(os.Link(at("d/a"), at("d/c")))
	differs("linked")
	none := func(what, name string) {
		t.Helper()
		fsys, err := ReadOnly(dir)
		must(err)
		if id, ok := fsys.(*readOnly).Identity(name); ok {
			t.Errorf("%s: %v", what, id)
		}
	}
	must(os.Symlink("c", at("d/l")))
	must(os.Symlink("d", at("e")))
	none("a link", "d/l")
	none("behind a link", "e/c")
	none("a folder", "d")
	none("nothing", "d/x")
	none("no path", "../d/a")
	must(os.Remove(at("d/a")))
	must(os.Symlink("c", at("d/a")))
	none("replaced by a link to itself", "d/a")
}

// TestNotBelieved holds that files of other file systems have no identity.
func TestNotBelieved(t *testing.T) {
	t.Parallel()
	for _, dir := range []string{"/proc/self", "/dev/shm"} {
		fsys, err := ReadOnly(dir)
		if err != nil {
			continue
		}
		r := fsys.(*readOnly)
		r.since = time.Now().Add(time.Hour)
		name := "status"
		if dir == "/dev/shm" {
			f, err := os.CreateTemp(dir, "trammel-test")
			if err != nil {
				continue
			}
			defer os.Remove(f.Name())
			f.Close()
			name = filepath.Base(f.Name())
		}
		file, info, err := r.OpenRegular(name)
		if err != nil {
			t.Error(err)
			continue
		}
		if id, ok := r.Settled(file, info); ok {
			t.Errorf("%s/%s is believed: %v", dir, name, id)
		}
		file.Close()
	}
}

// TestListed holds that a listing tells of each entry what looking at it would.
func TestListed(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for i := range 2000 { // more than is listed at once
		name := filepath.Join(dir, "a long name of a file, of which there are many ", string(rune('a'+i%26)), time.Duration(i).String())
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, nil, 0o644); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, filepath.Base(name)), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Symlink("nowhere", filepath.Join(dir, "link")); err != nil {
		t.Fatal(err)
	}
	fsys, err := ReadOnly(dir)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, sub := range []string{".", "a long name of a file, of which there are many ", "a long name of a file, of which there are many /b"} {
		want, err := os.ReadDir(filepath.Join(dir, sub))
		if err != nil {
			t.Fatal(err)
		}
		got, err := fs.ReadDir(fsys, sub)
		if err != nil || len(got) != len(want) {
			t.Fatalf("%q: %d entries, %v; expected %d", sub, len(got), err, len(want))
		}
		for i, e := range got {
			if e.Name() != want[i].Name() || e.Type() != want[i].Type() || e.IsDir() != want[i].IsDir() {
				t.Errorf("%q: %v, expected %v", sub, e, want[i])
			}
			if info, err := e.Info(); err != nil || info.Mode().Type() != e.Type() {
				t.Errorf("%q: %v, %v", e.Name(), info, err)
			}
			seen++
		}
	}
	if seen < 2000 {
		t.Errorf("only %d entries", seen)
	}
	if _, err := fs.ReadDir(fsys, "link"); err == nil {
		t.Error("what is no folder was listed")
	}
}
