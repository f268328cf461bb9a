// Package whole writes files so that no one ever sees a part of one, and opens
// only what can be read to its end.
package whole

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// WriteFile is Write for what is made already.
func WriteFile(name string, data []byte) error {
	return Write(name, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// Write has a file written under a temporary name in the same folder and gives
// it its name when all is on disk. A link keeps its place: what it leads to is
// replaced. The permissions of a file that was there are kept.
func Write(name string, render func(io.Writer) error) (err error) {
	if real, err := filepath.EvalSymlinks(name); err == nil {
		name = real
	}
	mode := fs.FileMode(0o644)
	if info, err := os.Stat(name); err == nil {
		if !info.Mode().IsRegular() {
			return fmt.Errorf("%s is no ordinary file", name)
		}
		mode = info.Mode().Perm()
	}
	dir := filepath.Dir(name)
	f, err := os.CreateTemp(dir, "."+filepath.Base(name)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	b := bufio.NewWriterSize(f, 1<<16)
	if err = render(b); err != nil {
		return err
	}
	if err = errors.Join(b.Flush(), f.Chmod(mode), f.Sync(), f.Close()); err != nil {
		return err
	}
	if err = os.Rename(f.Name(), name); err != nil {
		return err
	}
	// The new name lasts through a power cut once its folder is on disk too;
	// not every system can say so.
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
	return nil
}

// ErrNoFile says that something is no ordinary file.
var ErrNoFile = errors.New("it is no regular file")

// Open opens an ordinary file for reading. What is none is refused before it is
// opened: a pipe would wait for a writer, a device might never end.
func Open(name string) (*os.File, error) {
	info, err := os.Stat(name)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &fs.PathError{Op: "open", Path: name, Err: ErrNoFile}
	}
	return os.Open(name)
}

// Reason drops from an error the operation and the path, which the caller shows
// in its own words.
func Reason(err error) error {
	var pe *fs.PathError
	var le *os.LinkError
	switch {
	case errors.As(err, &pe):
		return pe.Err
	case errors.As(err, &le):
		return le.Err
	}
	return err
}
