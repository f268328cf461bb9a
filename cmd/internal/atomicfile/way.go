package atomicfile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// ErrGit says that a path leads into git's own folder.
var ErrGit = errors.New("it lies in .git, where nothing is written")

// A linkError says which part of a path is a link that is not followed.
type linkError struct{ name string }

func (e linkError) Error() string {
	return fmt.Sprintf("%q is a link inside the tree; links there are not followed: remove it, or name the file or folder it leads to", e.name)
}

// A place is where a path leads.
type place struct {
	path   string // with the links outside of trees resolved
	dir    string // as much of it as need not be held
	rest   []string
	base   string // "" for the root of a tree or of the system
	inside bool   // in a tree
	device bool   // it is no file and lies outside of trees
}

const maxLinks = 100

// find is where something is written. Outside of trees links are followed; where
// the path comes into a tree it stops, and the rest is for folder to walk.
func find(name string, trees []string) (*place, error) {
	p, err := lookUp(name, trees)
	if err != nil {
		return nil, err
	}
	if throughGit(p.path) {
		return nil, ErrGit
	}
	return p, nil
}

// throughGit reports whether a path leads into git's own folder, or to it.
func throughGit(path string) bool {
	_, all := split(path)
	return slices.ContainsFunc(all, isGit)
}

// lookUp follows a path down from the root of the system, up to the first tree.
func lookUp(name string, trees []string) (*place, error) {
	t, err := newTrees(trees)
	if err != nil {
		return nil, err
	}
	full, err := t.absolute(name)
	if err != nil {
		return nil, err
	}
	dir, rest := split(full)
	for links := 0; len(rest) > 0; {
		inside := t.within(dir)
		if inside && !slices.Contains(rest, "..") {
			break
		}
		part := rest[0]
		if rest = rest[1:]; part == "." || part == "" {
			continue
		}
		if part == ".." {
			dir = filepath.Dir(dir)
			continue
		}
		next := filepath.Join(dir, part)
		info, err := os.Lstat(next)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		if err != nil || info.Mode()&fs.ModeSymlink == 0 {
			dir = next
			continue
		}
		if inside {
			return nil, linkError{part}
		}
		if links++; links > maxLinks {
			return nil, errCircle
		}
		to, more, err := follow(dir, next)
		switch {
		case errors.Is(err, errHandle) && len(rest) == 0:
			return &place{path: next, device: true}, nil
		case err != nil:
			return nil, err
		}
		dir, rest = to, append(more, rest...)
	}
	return t.place(dir, rest), nil
}

func (t *trees) place(dir string, rest []string) *place {
	p := &place{path: filepath.Join(append([]string{dir}, rest...)...), dir: dir, rest: rest, inside: t.within(dir)}
	switch {
	case len(rest) > 0:
		p.base, p.rest = rest[len(rest)-1], rest[:len(rest)-1]
	case filepath.Dir(dir) != dir && !p.inside:
		info, err := os.Lstat(dir)
		p.device = err == nil && !info.Mode().IsRegular() && !info.IsDir()
		p.dir, p.base = filepath.Dir(dir), filepath.Base(dir)
	}
	return p
}

// folder opens the folder of the place.
func (p *place) folder(perm fs.FileMode) (*Folder, error) {
	if perm != 0 {
		if err := os.MkdirAll(p.dir, perm); err != nil {
			return nil, err
		}
	}
	root, err := os.OpenRoot(p.dir)
	if err != nil {
		return nil, err
	}
	top := &Folder{root: root}
	if len(p.rest) == 0 {
		return top, nil
	}
	defer top.Close()
	return top.Sub(strings.Join(p.rest, "/"), perm)
}

var errCircle = errors.New("it is a link that leads round in a circle")

// follow reads a link: the folder to go on from, and the way from there.
func follow(dir, link string) (string, []string, error) {
	to, err := os.Readlink(link)
	if err != nil {
		return "", nil, err
	}
	base, words := split(to)
	if !filepath.IsAbs(to) {
		base, to = dir, dir+string(filepath.Separator)+to
	}
	leads, err := os.Stat(link)
	if err != nil {
		return "", nil, errors.New("it is a link that leads nowhere")
	}
	if now, err := os.Stat(to); err != nil || !os.SameFile(leads, now) {
		return "", nil, errHandle
	}
	return base, words, nil
}

// errHandle says that a link is that of a process to something it holds open,
// which is no path.
var errHandle = errors.New("it cannot be followed")

// split takes a path apart: the root of the system and the names below.
func split(full string) (string, []string) {
	vol := filepath.VolumeName(full)
	names := strings.FieldsFunc(full[len(vol):], func(r rune) bool { return r < 0x80 && os.IsPathSeparator(uint8(r)) })
	return vol + string(filepath.Separator), names
}

// Allowed reports by an error that nothing is written to a path, as it leads
// over a link inside a tree or into .git. trees are as for Write.
func Allowed(name string, trees ...string) error {
	to, err := find(name, trees)
	if err != nil {
		return err
	}
	at := to.dir
	for _, part := range append(slices.Clone(to.rest), to.base) {
		at = filepath.Join(at, part)
		if info, err := os.Lstat(at); err == nil && info.Mode()&fs.ModeSymlink != 0 {
			return linkError{part}
		}
	}
	return nil
}

// trees knows where a stranger's files may be.
type trees struct {
	cwd   string // with links resolved
	roots []string
}

func newTrees(roots []string) (*trees, error) {
	cwd, err := os.Getwd()
	if err == nil {
		cwd, err = filepath.EvalSymlinks(cwd)
	}
	if err != nil {
		return nil, err
	}
	t := &trees{cwd: cwd}
	for _, r := range append([]string{cwd}, roots...) {
		// Who works in the root of the system has no tree there.
		if r != "" && filepath.Dir(r) != r {
			t.roots = append(t.roots, r)
		}
	}
	return t, nil
}

func (t *trees) absolute(name string) (string, error) {
	if name == "" {
		return "", fs.ErrNotExist
	}
	if filepath.IsAbs(name) {
		return filepath.Clean(name), nil
	}
	if filepath.VolumeName(name) != "" {
		return filepath.Abs(name)
	}
	return filepath.Join(t.cwd, name), nil
}

// within reports whether a folder lies in a tree.
func (t *trees) within(dir string) bool {
	for {
		if slices.Contains(t.roots, dir) {
			return true
		}
		if _, err := os.Lstat(filepath.Join(dir, ".git")); err == nil {
			return true
		}
		up := filepath.Dir(dir)
		if up == dir {
			return false
		}
		dir = up
	}
}

// isGit reports whether some system takes a name for .git: in capitals, with
// points or spaces behind it, as a stream of it or by its short name, or with
// signs in it that are not looked at.
func isGit(name string) bool {
	name, _, _ = strings.Cut(name, ":")
	name = strings.TrimRight(strings.Map(func(r rune) rune {
		switch {
		case r >= 0x200c && r <= 0x200f, r >= 0x202a && r <= 0x202e, r >= 0x206a && r <= 0x206f, r == 0xfeff:
			return -1
		}
		return r
	}, name), ". ")
	return strings.EqualFold(name, ".git") || strings.EqualFold(name, "git~1")
}
