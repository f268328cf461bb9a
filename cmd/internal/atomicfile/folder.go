package atomicfile

import (
	"crypto/rand"
	"errors"
	"io"
	"io/fs"
	"os"
	"strings"
	"syscall"
	"time"
)

// A Folder is held open, so that it stays the same one whatever happens to its
// path. It may be used by several goroutines at once.
type Folder struct {
	root  *os.Root
	Quick bool // do not wait until what is written is on disk
	Alone bool // new files are for the user alone
}

// OpenFolder opens a folder to write to. Where perm is not 0, it and those above
// it are made with these permissions as far as they are missing. trees are as
// for Write.
func OpenFolder(path string, perm fs.FileMode, trees ...string) (*Folder, error) {
	to, err := find(path, trees)
	if err != nil {
		return nil, err
	}
	if to.device {
		return nil, ErrNoFolder
	}
	if !to.inside {
		to.dir, to.base = to.path, ""
	}
	above, err := to.folder(perm)
	if err != nil || to.base == "" {
		return above, err
	}
	defer above.Close()
	return above.Sub(to.base, perm)
}

// ErrNoFolder says that something is no folder.
var ErrNoFolder = errors.New("it is no folder")

// Sub opens a folder below by its path, with slashes. Links are not followed.
func (f *Folder) Sub(path string, perm fs.FileMode) (*Folder, error) {
	at := f
	for part := range strings.SplitSeq(path, "/") {
		if part == "" || part == "." {
			continue
		}
		next, err := at.step(part, perm)
		if at != f {
			at.Close()
		}
		if err != nil {
			return nil, err
		}
		at = next
	}
	if at == f { // the folder itself, to be closed on its own
		root, err := f.root.OpenRoot(".")
		return &Folder{root, f.Quick, f.Alone}, err
	}
	return at, nil
}

// step opens a folder right in this one.
func (f *Folder) step(name string, perm fs.FileMode) (*Folder, error) {
	if name == ".." {
		return nil, errors.New("the path leads out of its folder")
	}
	if isGit(name) {
		return nil, ErrGit
	}
	info, err := f.root.Lstat(name)
	if errors.Is(err, fs.ErrNotExist) && perm != 0 {
		if err = f.root.Mkdir(name, perm); err != nil && !errors.Is(err, fs.ErrExist) {
			return nil, err
		}
		info, err = f.root.Lstat(name)
	}
	switch {
	case err != nil:
		return nil, err
	case info.Mode()&fs.ModeSymlink != 0:
		return nil, linkError{name}
	case !info.IsDir():
		return nil, ErrNoFolder
	}
	sub, err := f.root.OpenRoot(name)
	if err != nil {
		return nil, err
	}
	// A link may have taken its place since.
	if now, err := sub.Stat("."); err != nil || !os.SameFile(info, now) {
		sub.Close()
		return nil, errChanged
	}
	return &Folder{sub, f.Quick, f.Alone}, nil
}

// Parent opens the folder of a file below, making what is missing as OpenFolder
// does, and gives the file's own name.
func (f *Folder) Parent(name string, perm fs.FileMode) (*Folder, string, error) {
	dir, base := "", name
	if i := strings.LastIndexByte(name, '/'); i >= 0 {
		dir, base = name[:i], name[i+1:]
	}
	sub, err := f.Sub(dir, perm)
	return sub, base, err
}

// Open opens an ordinary file right in the folder, as the function Open does. A
// link is none.
func (f *Folder) Open(name string) (*os.File, error) {
	info, err := f.root.Lstat(name)
	if err != nil {
		return nil, err
	}
	if info.Mode()&fs.ModeSymlink != 0 {
		return nil, linkError{name}
	}
	return ordinary(info, func() (*os.File, error) { return f.root.OpenFile(name, os.O_RDONLY|syscall.O_NONBLOCK, 0) })
}

// ReadFile reads an ordinary file right in the folder.
func (f *Folder) ReadFile(name string) ([]byte, error) {
	h, err := f.Open(name)
	if err != nil {
		return nil, err
	}
	defer h.Close()
	return io.ReadAll(h)
}

// Lstat describes what is right in the folder.
func (f *Folder) Lstat(name string) (fs.FileInfo, error) { return f.root.Lstat(name) }

// Stat describes the folder itself.
func (f *Folder) Stat() (fs.FileInfo, error) { return f.root.Stat(".") }

// List lists what is in the folder.
func (f *Folder) List() ([]fs.DirEntry, error) { return fs.ReadDir(f.root.FS(), ".") }

// Remove removes a file of the folder.
func (f *Folder) Remove(name string) error { return f.root.Remove(name) }

// Touch says of a file of the folder that it was used now.
func (f *Folder) Touch(name string) error {
	now := time.Now()
	return f.root.Chtimes(name, now, now)
}

// Close lets go of the folder.
func (f *Folder) Close() error { return f.root.Close() }

// A Draft is a file that has no name of its own yet.
type Draft struct {
	*os.File
	dir  *Folder
	name string
	was  fs.FileInfo
	done bool
}

// Draft begins a file in the folder under a name that nobody else takes, between
// two words. was is the file whose place it will take, nil for a new one.
func (f *Folder) Draft(before, after string, was fs.FileInfo) (*Draft, error) {
	perm := fs.FileMode(0o666) // less what the user's mask takes
	if f.Alone || was != nil {
		perm = 0o600 // with another, until it has the permissions of that
	}
	name := before + rand.Text() + after
	h, err := f.root.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, perm)
	if err != nil {
		return nil, err
	}
	return &Draft{File: h, dir: f, name: name, was: was}, nil
}

// Become finishes the file and gives it its name. Where it fails, nothing is
// left of it.
func (d *Draft) Become(name string) error {
	var err error
	if d.was != nil {
		keepOwner(d.File, d.was) // before the permissions: a change of owner may clear some
		err = d.Chmod(d.was.Mode().Perm())
	}
	if !d.dir.Quick {
		err = errors.Join(err, d.Sync())
	}
	if err = errors.Join(err, d.File.Close()); err == nil {
		err = d.dir.root.Rename(d.name, name)
	}
	if err != nil {
		d.Drop()
		return err
	}
	d.done = true
	if !d.dir.Quick {
		d.dir.sync()
	}
	return nil
}

// sync makes new names in the folder last through a power cut; not every system
// can.
func (f *Folder) sync() {
	if h, err := f.root.Open("."); err == nil {
		_ = h.Sync()
		h.Close()
	}
}

// Drop removes the file, unless it has its name.
func (d *Draft) Drop() {
	if !d.done {
		d.File.Close()
		_ = d.dir.root.Remove(d.name)
	}
}
