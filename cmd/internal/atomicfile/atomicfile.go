// Package atomicfile is the one way in which files are written: under another
// name in the same folder, and renamed when all of it is on disk, so that no one
// ever sees a part of one.
//
// Below a tree, that is a repository, the current folder or a folder that is
// checked, the files may be a stranger's. There no link is followed, neither as
// the file nor as a folder on the way to it, and nothing is written that is no
// ordinary file. Folders are held open from the top of the tree down: whatever
// becomes of their paths meanwhile, what is written stays in them. Outside of
// trees a path is the user's own, and its links are followed. Nothing is ever
// written into .git.
//
// It also opens files for reading: only what can be read to its end, and in a tree
// over no link that leads out of it or into .git.
package atomicfile

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"syscall"
)

// WriteFile is Write for what is made already.
func WriteFile(name string, data []byte, trees ...string) error {
	return Write(name, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	}, trees...)
}

// Write has a file written. A new one gets the permissions that the user's mask
// leaves, one that was there keeps its own. What is no file, such as a device or
// a pipe, is written to as it is where it lies outside of trees.
//
// trees are the roots of trees, besides repositories and the current folder.
func Write(name string, render func(io.Writer) error, trees ...string) error {
	to, err := find(name, trees)
	if err != nil {
		return err
	}
	if to.device {
		f, err := os.OpenFile(to.path, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		return errors.Join(render(f), f.Close())
	}
	if to.base == "" {
		return ErrNoFile // it is the root of a tree
	}
	dir, err := to.folder(0)
	if err != nil {
		return err
	}
	defer dir.Close()
	return dir.Write(to.base, render)
}

// WriteFile is Write for what is made already.
func (f *Folder) WriteFile(name string, data []byte) error {
	return f.Write(name, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// Write has a file of the folder written, as the function Write does. name is
// that of a file right in the folder.
func (f *Folder) Write(name string, render func(io.Writer) error) error {
	return f.put(name, render, func(fs.FileInfo) error { return nil })
}

// Replace puts data into a file that held before, by its path below the folder;
// nil stands for no file. What somebody else has changed since is left as it is.
func (f *Folder) Replace(name string, before, data []byte) error {
	sub, base, err := f.Parent(name, 0)
	if err != nil {
		return err
	}
	defer sub.Close()
	return sub.put(base, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	}, func(was fs.FileInfo) error { return sub.holds(base, was, before) })
}

// put writes a file of the folder. agree is called last of all, with what was
// there.
func (f *Folder) put(name string, render func(io.Writer) error, agree func(fs.FileInfo) error) error {
	was, err := f.replaceable(name)
	if err != nil {
		return err
	}
	d, err := f.Draft(".trammel-", "", was)
	if err != nil {
		return fmt.Errorf("its folder: %w", Reason(err))
	}
	defer d.Drop()
	b := bufio.NewWriterSize(d, 1<<16)
	if err = render(b); err == nil {
		err = b.Flush()
	}
	if err == nil {
		err = agree(was)
	}
	if err != nil {
		return err
	}
	return d.Become(name)
}

// ErrReadOnly says that a file must not be replaced.
var ErrReadOnly = errors.New("it is read-only")

// replaceable looks at what a name stands for; nil where there is nothing.
func (f *Folder) replaceable(name string) (fs.FileInfo, error) {
	if isGit(name) {
		return nil, ErrGit
	}
	info, err := f.root.Lstat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, err
	case info.Mode()&fs.ModeSymlink != 0:
		return nil, linkError{name}
	case !info.Mode().IsRegular():
		return nil, ErrNoFile
	case info.Mode().Perm()&0o222 == 0:
		return nil, ErrReadOnly
	}
	// The new file would take the place of one that may not be written.
	h, err := f.root.OpenFile(name, os.O_WRONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, err
	}
	defer h.Close()
	if now, err := h.Stat(); err != nil || !os.SameFile(info, now) {
		return nil, errChanged
	}
	return info, nil
}

var errChanged = errors.New("it was changed by somebody else meanwhile")

// holds reports by an error that a file does not hold what it should.
func (f *Folder) holds(name string, was fs.FileInfo, before []byte) error {
	if was == nil {
		_, err := f.root.Lstat(name)
		switch {
		case before != nil && err != nil:
			return err
		case before == nil && errors.Is(err, fs.ErrNotExist):
			return nil
		}
		return errChanged
	}
	if before == nil {
		return errChanged
	}
	h, err := f.Open(name)
	if err != nil {
		return err
	}
	defer h.Close()
	now, err := io.ReadAll(io.LimitReader(h, int64(len(before))+1))
	if err == nil && string(now) != string(before) {
		err = errChanged
	}
	return err
}
