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
	done := make(chan error, 1)
	go func() {
		_, err := ordinary(info, func() (*os.File, error) { return os.OpenFile(pipe, os.O_RDONLY|syscall.O_NONBLOCK, 0) })
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
