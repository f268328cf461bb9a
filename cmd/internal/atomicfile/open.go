package atomicfile

import (
	"errors"
	"io/fs"
	"os"
	"slices"
	"strings"
	"syscall"
)

// ErrNoFile says that something is no ordinary file.
var ErrNoFile = errors.New("it is no regular file")

// Open opens an ordinary file for reading. What is none is refused before it is
// opened: a device might do something. What takes the file's place between the
// look and the opening is refused too, and never waited for.
func Open(name string) (*os.File, error) {
	info, err := os.Stat(name)
	if err != nil {
		return nil, err
	}
	return ordinary(info, func() (*os.File, error) { return os.OpenFile(name, os.O_RDONLY|syscall.O_NONBLOCK, 0) })
}

func ordinary(info fs.FileInfo, open func() (*os.File, error)) (*os.File, error) {
	if !info.Mode().IsRegular() {
		return nil, ErrNoFile
	}
	f, err := open()
	if err != nil {
		return nil, err
	}
	if info, err = f.Stat(); err == nil && !info.Mode().IsRegular() {
		err = ErrNoFile
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// ReadOnly is the file system below a folder. Opening a file of it never waits,
// whatever the file is; links do not lead out.
func ReadOnly(root string) (fs.FS, error) {
	r, err := os.OpenRoot(root)
	if err != nil {
		return nil, err
	}
	return &readOnly{r.FS().(rootFS), r}, nil
}

type rootFS interface {
	fs.StatFS
	fs.ReadLinkFS
}

type readOnly struct {
	rootFS
	root *os.Root
}

// Open is that of fs.FS.
func (r *readOnly) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	f, err := r.root.OpenFile(name, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, err
	}
	return f, nil
}

// ReadDir is that of fs.ReadDirFS.
func (r *readOnly) ReadDir(name string) ([]fs.DirEntry, error) {
	f, err := r.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	list, err := f.(fs.ReadDirFile).ReadDir(-1)
	slices.SortFunc(list, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
	return list, err
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
