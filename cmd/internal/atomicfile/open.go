package atomicfile

import (
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"
)

// ErrNoFile says that something is no ordinary file.
var ErrNoFile = errors.New("it is no regular file")

// Open opens an ordinary file for reading. What is none is refused before it is
// opened: a device might do something. What takes the file's place between the
// look and the opening is refused too, and never waited for.
//
// In a tree links may lead to another file of the tree, but not out of it and not
// into .git. trees are as for Write.
func Open(name string, trees ...string) (*os.File, error) {
	to, err := lookUp(name, trees)
	if err != nil {
		return nil, err
	}
	if !to.inside {
		info, err := os.Stat(name)
		if err != nil {
			return nil, err
		}
		return ordinary(info, func() (*os.File, error) { return os.OpenFile(name, os.O_RDONLY|syscall.O_NONBLOCK, 0) })
	}
	root, err := os.OpenRoot(to.dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	within, err := leads(root, path.Join(path.Join(to.rest...), to.base))
	if err != nil {
		return nil, err
	}
	info, err := root.Lstat(within)
	if err != nil {
		return nil, err
	}
	return ordinary(info, func() (*os.File, error) { return root.OpenFile(within, os.O_RDONLY|syscall.O_NONBLOCK, 0) })
}

var (
	errOut     = errors.New("it is a link that leads out of the tree, where nothing is read; name the file it leads to")
	errIntoGit = errors.New("it is a link that leads into .git, where nothing is read")
)

// leads is where a name of a tree leads, with the links on the way followed.
func leads(root *os.Root, name string) (string, error) {
	at, links := ".", 0
	for rest := strings.Split(name, "/"); len(rest) > 0; {
		part := rest[0]
		if rest = rest[1:]; part == "" || part == "." {
			continue
		}
		next := path.Join(at, part)
		if !filepath.IsLocal(next) {
			return "", errOut
		}
		info, err := root.Lstat(next)
		if err != nil {
			return "", err
		}
		if info.Mode()&fs.ModeSymlink == 0 {
			at = next
			continue
		}
		if links++; links > maxLinks {
			return "", errCircle
		}
		to, err := root.Readlink(next)
		if err != nil {
			return "", err
		}
		if filepath.IsAbs(to) || filepath.VolumeName(to) != "" {
			return "", errOut
		}
		rest = append(strings.Split(filepath.ToSlash(to), "/"), rest...)
	}
	if links > 0 && throughGit(at) {
		return "", errIntoGit
	}
	return at, nil
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
	return &readOnly{rootFS: r.FS().(rootFS), root: r, open: map[string]*os.Root{}, since: time.Now(), devices: map[int64]bool{}}, nil
}

// Settling is by how much the times of a file must be older than the first look at its file
// system to be believed. Clocks of file systems tick, the coarsest believed one in
// hundredths of a second: in the tick of its last change a file may change again and keep
// its times. Tests set it lower.
var Settling = 2 * time.Second

type rootFS interface {
	fs.StatFS
	fs.ReadLinkFS
}

// A readOnly keeps the folders open in which it looked last: a path is walked from the
// root each time, which in deep trees is most of the work.
type readOnly struct {
	rootFS
	root  *os.Root
	guard sync.Mutex
	open  map[string]*os.Root
	order []string // of open, the longest there first

	since   time.Time      // before the first look
	devices map[int64]bool // whether their file systems keep the times of files
}

// keptOpen is how many folders are kept open.
const keptOpen = 64

// enter is a folder that is kept open, or nil where it cannot be: then its path is
// walked. The caller holds the guard.
func (r *readOnly) enter(dir string) *os.Root {
	if dir == "." {
		return r.root
	}
	if f := r.open[dir]; f != nil {
		return f
	}
	parent := r.enter(path.Dir(dir))
	if parent == nil {
		return nil
	}
	if info, err := parent.Lstat(path.Base(dir)); err != nil || !info.IsDir() {
		return nil
	}
	f, err := parent.OpenRoot(path.Base(dir))
	if err != nil {
		return nil
	}
	if len(r.order) == keptOpen {
		r.open[r.order[0]].Close()
		delete(r.open, r.order[0])
		r.order = append(r.order[:0], r.order[1:]...)
	}
	r.open[dir], r.order = f, append(r.order, dir)
	return f
}

// look finds a name in its folder; nil where it is a link, or the folder cannot be kept
// open.
func (r *readOnly) look(name string) (*os.Root, fs.FileInfo) {
	r.guard.Lock()
	f := r.enter(path.Dir(name))
	r.guard.Unlock()
	if f == nil {
		return nil, nil
	}
	if info, err := f.Lstat(path.Base(name)); err == nil && info.Mode()&fs.ModeSymlink == 0 {
		return f, info
	}
	return nil, nil
}

// byPath does something to a whole path, where looking in its folder did not work out: a
// link may lead to another file of the tree, though not into .git, and a folder be closed
// again.
func byPath[T any](r *readOnly, name string, do func(f *os.Root, name string) (T, error)) (x T, err error) {
	if _, err := leads(r.root, name); errors.Is(err, errIntoGit) {
		return x, &fs.PathError{Op: "open", Path: name, Err: err}
	}
	return do(r.root, name)
}

func openWithoutWaiting(f *os.Root, name string) (*os.File, error) {
	return f.OpenFile(name, os.O_RDONLY|syscall.O_NONBLOCK, 0)
}

// Open is that of fs.FS.
func (r *readOnly) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	if f, _ := r.look(name); f != nil {
		if file, err := openWithoutWaiting(f, path.Base(name)); err == nil {
			return file, nil
		}
	}
	f, err := byPath(r, name, openWithoutWaiting)
	if err != nil {
		return nil, err
	}
	return f, nil
}

// OpenRegular is Stat and, of an ordinary file, Open, with one look at the name instead
// of four. The file is nil where it is something else.
func (r *readOnly) OpenRegular(name string) (fs.File, fs.FileInfo, error) {
	if fs.ValidPath(name) {
		if f, info := r.look(name); f != nil && !info.Mode().IsRegular() {
			return nil, info, nil
		} else if f != nil {
			if file, err := openWithoutWaiting(f, path.Base(name)); err == nil {
				return file, info, nil
			}
		}
	}
	info, err := r.Stat(name)
	if err != nil || !info.Mode().IsRegular() {
		return nil, info, err
	}
	file, err := r.Open(name)
	return file, info, err
}

// Stat is that of fs.StatFS.
func (r *readOnly) Stat(name string) (fs.FileInfo, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "stat", Path: name, Err: fs.ErrInvalid}
	}
	if f, info := r.look(name); f != nil {
		return info, nil // it is no link
	}
	return byPath(r, name, (*os.Root).Stat)
}

// Lstat is that of fs.ReadLinkFS.
func (r *readOnly) Lstat(name string) (fs.FileInfo, error) {
	if fs.ValidPath(name) && name != "." {
		r.guard.Lock()
		f := r.enter(path.Dir(name))
		r.guard.Unlock()
		if f != nil {
			info, err := f.Lstat(path.Base(name))
			if err == nil || errors.Is(err, fs.ErrNotExist) {
				return info, named(err, name)
			}
		}
	}
	return r.rootFS.Lstat(name)
}

// named has an error of a folder's own name for something tell its whole path.
func named(err error, name string) error {
	if pe := (*fs.PathError)(nil); errors.As(err, &pe) {
		return &fs.PathError{Op: pe.Op, Path: name, Err: pe.Err}
	}
	return err
}

// ReadDir is that of fs.ReadDirFS.
func (r *readOnly) ReadDir(name string) ([]fs.DirEntry, error) {
	dir, err := r.Open(name)
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	list, err := r.list(dir.(*os.File), name)
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
