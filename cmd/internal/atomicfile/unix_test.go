//go:build unix

package atomicfile

import (
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// TestMask holds that a new file gets what the user's mask leaves.
func TestMask(t *testing.T) {
	dir := t.TempDir()
	defer syscall.Umask(syscall.Umask(0))
	for mask, want := range map[int]fs.FileMode{0: 0o666, 0o022: 0o644, 0o077: 0o600, 0o027: 0o640} {
		syscall.Umask(mask)
		name := filepath.Join(dir, "x")
		_ = os.Remove(name)
		for range 2 {
			if err := WriteFile(name, nil); err != nil {
				t.Fatal(err)
			}
			if info, err := os.Stat(name); err != nil || info.Mode() != want {
				t.Errorf("mask %03o: %v, want %v", mask, info.Mode(), want)
			}
		}
	}
}

// TestDraftAlone holds that nobody else can read what will be the user's alone, nor a
// file in the making of one whose permissions are not given to it yet.
func TestDraftAlone(t *testing.T) {
	defer syscall.Umask(syscall.Umask(0))
	dir, err := OpenFolder(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer dir.Close()
	if err := dir.WriteFile("was", nil); err != nil {
		t.Fatal(err)
	}
	was, err := dir.Lstat("was")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		alone bool
		was   fs.FileInfo
		want  fs.FileMode
	}{{false, nil, 0o666}, {false, was, 0o600}, {true, nil, 0o600}, {true, was, 0o600}} {
		dir.Alone = c.alone
		d, err := dir.Draft("a", "b", c.was)
		if err != nil {
			t.Fatal(err)
		}
		if info, err := d.Stat(); err != nil || info.Mode() != c.want {
			t.Errorf("%+v: %v", c, info.Mode())
		}
		d.Drop()
	}
}

// TestSwappedOnTheWay exchanges a folder for a link to .git, over and over, while it is
// opened: what is opened is never .git.
func TestSwappedOnTheWay(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	for _, name := range []string{".git/mark", "a/x"} {
		if err := os.MkdirAll(at(name), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Symlink(".git", at("link")); err != nil {
		t.Skip(err)
	}
	top, err := OpenFolder(dir, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer top.Close()
	stop, done := make(chan bool), make(chan bool)
	go func() {
		defer close(done)
		for {
			select {
			case <-stop:
				return
			default:
				_ = os.Rename(at("a"), at("b"))
				_ = os.Rename(at("link"), at("a"))
				_ = os.Rename(at("a"), at("link"))
				_ = os.Rename(at("b"), at("a"))
			}
		}
	}()
	opened := 0
	for range 20_000 {
		sub, err := top.Sub("a", 0)
		if err != nil {
			continue
		}
		opened++
		if _, err := sub.Lstat("mark"); err == nil {
			t.Error(".git was opened by a link")
		}
		sub.Close()
		if t.Failed() {
			break
		}
	}
	close(stop)
	<-done
	if opened == 0 {
		t.Error("nothing was opened")
	}
}

// TestPipe holds that a pipe is waited for nowhere, and that one of the user's
// own, outside of trees, is written to.
func TestPipe(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(dir, "p")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Skip(err)
	}
	if _, err := Open(pipe); err != ErrNoFile {
		t.Error(err)
	}
	// As if it had taken the place of a file after the look at it.
	file := filepath.Join(dir, "f")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(file)
	if err != nil {
		t.Fatal(err)
	}
	look, err := os.Stat(pipe)
	if err != nil {
		t.Fatal(err)
	}
	_, err = ordinary(look, func() (*os.File, error) {
		t.Error("what is no file was opened")
		return nil, ErrNoFile
	})
	if err != ErrNoFile {
		t.Error(err)
	}
	done := make(chan error, 1)
	go func() {
		f, err := ordinary(info, func() (*os.File, error) { return os.OpenFile(pipe, os.O_RDONLY|syscall.O_NONBLOCK, 0) })
		if err != ErrNoFile {
			t.Error("a pipe in the place of a file was taken for one:", err)
			f.Close()
		}
		done <- err
	}()
	fsys, err := ReadOnly(dir)
	if err != nil {
		t.Fatal(err)
	}
	go func() {
		f, err := fsys.Open("p")
		if err == nil {
			f.Close()
		}
		done <- err
	}()
	for range 2 {
		select {
		case <-done:
		case <-time.After(10 * time.Second):
			t.Fatal("it waits")
		}
	}
	if err := WriteFile(pipe, []byte("x"), dir); err == nil {
		t.Error("a pipe in a tree was written to")
	}
	read := make(chan string)
	go func() {
		b, _ := os.ReadFile(pipe)
		read <- string(b)
	}()
	if err := WriteFile(pipe, []byte("text")); err != nil {
		t.Error(err)
	}
	if got := <-read; got != "text" {
		t.Errorf("the pipe got %q", got)
	}
	if err := WriteFile("/dev/null", []byte("text")); err != nil {
		t.Error(err)
	}
}
