package gitfs

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
	"sync"
	"time"

	"trammel/spec"
)

// Modes git stores.
const (
	modeKind   = 0o170000
	modeFolder = 0o040000
	modeFile   = 0o100000
	modeLink   = 0o120000
	modeModule = 0o160000
)

const partsFolder = "parts"

var (
	errLink   = errors.New("it is a link, and links are not followed in what git has stored")
	errModule = errors.New("it is a submodule, and its files are not stored in this repository; they are seen only where the working tree is checked")
	errMany   = fmt.Errorf("the repository holds more than %d folders and spec files; so much is not read", maxEntries)
	errDeep   = fmt.Errorf("folders lie more than %d deep; so deep nothing is read", maxDepth)
)

// An entry is a file or folder. Mode 0 says that it was taken away.
type entry struct {
	name string
	mode uint32
	id   string // "" for a folder that holds only what was staged
}

func (e *entry) isFolder() bool {
	return e.mode&modeKind == modeFolder || e.mode&modeKind == modeModule
}

// counts reports whether the entry is shown: folders, spec files and models. An ignore
// file is none: all that git has stored is tracked.
func (e *entry) counts() bool {
	return e.isFolder() || spec.IsSpec(e.name) || spec.IsModel(e.name) || e.name == partsFolder && e.mode&modeKind == modeLink
}

// most is how large it may be.
func (e *entry) most() int64 {
	if spec.IsModel(e.name) {
		return spec.MaxModelSize
	}
	return maxObject
}

func (e *entry) fileMode() fs.FileMode {
	switch e.mode & modeKind {
	case modeFolder, modeModule:
		return fs.ModeDir | 0o555
	case modeFile:
		return 0o444
	case modeLink:
		return fs.ModeSymlink | 0o444
	}
	return fs.ModeIrregular
}

// files is a tree of git as a file system, with what is staged laid over it.
// Folders are read when they are needed.
type files struct {
	objects *objects
	top     entry
	staged  map[string]map[string]entry // by folder, by name

	mu      sync.Mutex
	folders map[string][]entry
	entries int // in folders
}

var _ interface {
	fs.ReadDirFS
	fs.StatFS
	fs.ReadFileFS
} = (*files)(nil)

// newFiles makes a file system of a tree, "" for an empty one.
func newFiles(o *objects, tree string, staged []rawChange) *files {
	f := &files{objects: o, top: entry{name: ".", mode: modeFolder, id: tree}, staged: map[string]map[string]entry{}, folders: map[string][]entry{}}
	set := func(name string, mode uint32, id string) {
		dir, base := path.Dir(name), path.Base(name)
		if f.staged[dir] == nil {
			f.staged[dir] = map[string]entry{}
		}
		f.staged[dir][base] = entry{name: base, mode: mode, id: id}
	}
	// A folder may take the place of a file, so what goes goes first.
	for _, c := range staged {
		if c.kind == 'D' || c.kind == 'R' {
			set(c.old, 0, "")
		}
	}
	for _, c := range staged {
		if c.kind == 'D' {
			continue
		}
		set(c.path, c.mode, c.id)
		for dir := path.Dir(c.path); dir != "."; dir = path.Dir(dir) {
			set(dir, modeFolder, "")
		}
	}
	return f
}

// folder lists a folder, sorted by name.
func (f *files) folder(name string, e entry) ([]entry, error) {
	f.mu.Lock()
	list, ok := f.folders[name]
	f.mu.Unlock()
	if ok {
		return list, nil
	}
	if strings.Count(name, "/") >= maxDepth {
		return nil, f.objects.refuse(errDeep)
	}
	if e.mode&modeKind == modeModule {
		if e.name == partsFolder {
			return nil, errModule // else every axis would seem to lack its parts
		}
		return nil, nil
	}
	if e.id != "" {
		var err error
		if list, err = f.objects.tree(e.id); err != nil {
			return nil, err
		}
		list = slices.Clone(list)
	}
	for _, s := range f.staged[name] {
		i := slices.IndexFunc(list, func(x entry) bool { return x.name == s.name })
		switch {
		case i >= 0 && s.mode == 0:
			list = slices.Delete(list, i, i+1)
		case s.mode == 0, i >= 0 && s.mode == modeFolder && list[i].mode&modeKind == modeFolder:
		case i >= 0:
			list[i] = s
		case s.counts():
			list = append(list, s)
		}
	}
	slices.SortFunc(list, func(a, b entry) int { return strings.Compare(a.name, b.name) })
	f.mu.Lock()
	defer f.mu.Unlock()
	if _, again := f.folders[name]; !again {
		f.entries += len(list)
	}
	if f.entries > maxEntries {
		return nil, f.objects.refuse(errMany)
	}
	f.folders[name] = list
	return list, nil
}

// find looks a name up; op is for the error.
func (f *files) find(op, name string) (entry, error) {
	if !fs.ValidPath(name) {
		return entry{}, &fs.PathError{Op: op, Path: name, Err: fs.ErrInvalid}
	}
	at := f.top
	if name == "." {
		return at, nil
	}
	dir := "."
	for rest := name; ; {
		base, below, more := strings.Cut(rest, "/")
		list, err := f.folder(dir, at)
		if err != nil {
			return entry{}, &fs.PathError{Op: op, Path: name, Err: err}
		}
		i, ok := slices.BinarySearchFunc(list, base, func(e entry, s string) int { return strings.Compare(e.name, s) })
		if !ok {
			return entry{}, &fs.PathError{Op: op, Path: name, Err: fs.ErrNotExist}
		}
		at = list[i]
		if at.mode&modeKind == modeLink {
			return entry{}, &fs.PathError{Op: op, Path: name, Err: errLink}
		}
		if !more {
			return at, nil
		}
		if !at.isFolder() {
			return entry{}, &fs.PathError{Op: op, Path: name, Err: fs.ErrNotExist}
		}
		dir, rest = path.Join(dir, base), below
	}
}

// Ahead reads files that will be wanted, the folders on the way to them, and what of
// those belongs to the scope of the files.
func (f *files) Ahead(names []string) {
	if f.objects == nil {
		return
	}
	levels := [][]string{{"."}}
	seen := map[string]bool{".": true}
	for _, name := range names {
		for dir := path.Dir(name); !seen[dir]; dir = path.Dir(dir) {
			seen[dir] = true
			depth := strings.Count(dir, "/") + 1
			for len(levels) <= depth {
				levels = append(levels, nil)
			}
			levels[depth] = append(levels[depth], dir)
		}
	}
	for _, dirs := range levels {
		f.objects.ahead(f.ids(dirs))
	}
	f.objects.ahead(f.ids(names))
}

// ids are those under which git has stored some names, as far as they are there.
func (f *files) ids(names []string) (ids []string) {
	seen := map[string]bool{"": true}
	for _, name := range names {
		e, err := f.find("stat", name)
		if err == nil && !seen[e.id] && e.mode&modeKind != modeModule {
			seen[e.id] = true
			ids = append(ids, e.id)
		}
	}
	return ids
}

// Stat describes a file or folder.
func (f *files) Stat(name string) (fs.FileInfo, error) {
	e, err := f.find("stat", name)
	if err != nil {
		return nil, err
	}
	info, err := f.info(e)
	if err != nil {
		return nil, &fs.PathError{Op: "stat", Path: name, Err: err}
	}
	return info, nil
}

func (f *files) info(e entry) (fs.FileInfo, error) {
	if e.isFolder() {
		return &info{entry: e}, nil
	}
	// Who asks for the size reads the file next, so it is kept.
	b, err := f.objects.blob(e.id, e.most())
	if err != nil {
		return nil, err
	}
	return &info{entry: e, size: b.size}, nil
}

// ReadFile reads a whole file.
func (f *files) ReadFile(name string) ([]byte, error) {
	data, _, err := f.read("read", name)
	return bytes.Clone(data), err
}

func (f *files) read(op, name string) ([]byte, *info, error) {
	e, err := f.find(op, name)
	if err != nil {
		return nil, nil, err
	}
	var b object
	switch {
	case e.isFolder():
		err = errors.New("it is a folder")
	default:
		if b, err = f.objects.blob(e.id, e.most()); err == nil && b.size > e.most() {
			err = fmt.Errorf("it is larger than %d MB", e.most()>>20)
		}
	}
	if err != nil {
		return nil, nil, &fs.PathError{Op: op, Path: name, Err: err}
	}
	return b.data, &info{entry: e, size: b.size}, nil
}

// ReadDir lists a folder, sorted by name.
func (f *files) ReadDir(name string) ([]fs.DirEntry, error) {
	e, err := f.find("readdir", name)
	if err != nil {
		return nil, err
	}
	if !e.isFolder() {
		return nil, &fs.PathError{Op: "readdir", Path: name, Err: errors.New("it is no folder")}
	}
	list, err := f.folder(name, e)
	if err != nil {
		return nil, &fs.PathError{Op: "readdir", Path: name, Err: err}
	}
	out := make([]fs.DirEntry, len(list))
	for i, e := range list {
		out[i] = &dirEntry{f, e}
	}
	return out, nil
}

// Open opens a file or folder.
func (f *files) Open(name string) (fs.File, error) {
	e, err := f.find("open", name)
	if err != nil {
		return nil, err
	}
	if e.isFolder() {
		list, err := f.ReadDir(name)
		if err != nil {
			return nil, err
		}
		return &openFolder{info: &info{entry: e}, list: list}, nil
	}
	data, about, err := f.read("open", name)
	if err != nil {
		return nil, err
	}
	return &openFile{info: about, Reader: bytes.NewReader(data)}, nil
}

type dirEntry struct {
	files *files
	entry entry
}

func (d *dirEntry) Name() string               { return d.entry.name }
func (d *dirEntry) IsDir() bool                { return d.entry.isFolder() }
func (d *dirEntry) Type() fs.FileMode          { return d.entry.fileMode().Type() }
func (d *dirEntry) Info() (fs.FileInfo, error) { return d.files.info(d.entry) }
func (d *dirEntry) String() string             { return fs.FormatDirEntry(d) }

type info struct {
	entry entry
	size  int64
}

func (i *info) Name() string       { return i.entry.name }
func (i *info) Size() int64        { return i.size }
func (i *info) Mode() fs.FileMode  { return i.entry.fileMode() }
func (i *info) ModTime() time.Time { return time.Time{} } // git keeps none
func (i *info) IsDir() bool        { return i.entry.isFolder() }
func (i *info) Sys() any           { return nil }

type openFile struct {
	info *info
	*bytes.Reader
}

func (o *openFile) Stat() (fs.FileInfo, error) { return o.info, nil }
func (o *openFile) Close() error               { return nil }

type openFolder struct {
	info *info
	list []fs.DirEntry
}

func (o *openFolder) Stat() (fs.FileInfo, error) { return o.info, nil }
func (o *openFolder) Close() error               { return nil }
func (o *openFolder) Read([]byte) (int, error) {
	return 0, &fs.PathError{Op: "read", Path: o.info.Name(), Err: errors.New("it is a folder")}
}

func (o *openFolder) ReadDir(n int) ([]fs.DirEntry, error) {
	if n <= 0 {
		list := o.list
		o.list = nil
		return list, nil
	}
	if len(o.list) == 0 {
		return nil, io.EOF
	}
	n = min(n, len(o.list))
	list := o.list[:n:n]
	o.list = o.list[n:]
	return list, nil
}
