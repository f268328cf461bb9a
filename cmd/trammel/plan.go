package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"sort"
	"strings"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/gitfs"
	"trammel/cmd/internal/report"
	"trammel/spec"
)

// A job is what is to be checked in one tree.
type job struct {
	root     string // absolute, links resolved
	tree     *spec.Tree
	files    []string // below root, with forward slashes
	source   map[string][]byte
	whole    bool // the whole tree was walked
	problems []spec.Problem
	only     func(file, axis string) bool
	dir      string   // folder of the last path named
	dirs     []string // all folders named
	report.From
}

// plan turns the paths of a command line into jobs, one for each tree.
func plan(args []string, as string, in io.Reader) ([]*job, error) {
	if len(args) == 0 {
		args = []string{"."}
	}
	cwd, err := workingFolder()
	if err != nil {
		return nil, err
	}
	if as != "" && !slices.Contains(args, "-") {
		return nil, errors.New("--as goes with - (standard input)")
	}
	jobs := map[string]*job{}
	open := func(root string) (*job, error) {
		if j := jobs[root]; j != nil {
			return j, nil
		}
		fsys, err := atomicfile.ReadOnly(root)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", root, atomicfile.Reason(err))
		}
		j := newJob(root, fsys, cwd)
		if repository(root) == root {
			j.tree.Tracked(gitfs.Tracked(context.Background(), root))
		}
		jobs[root] = j
		return j, nil
	}
	seen := map[string]bool{}
	for _, arg := range args {
		if arg == "-" {
			if as == "" {
				return nil, errors.New("- reads an axis file from standard input and needs --as to say where it stands")
			}
			if !strings.HasSuffix(as, spec.AxisSuffix) {
				return nil, fmt.Errorf("--as %s: only axis files (*%s) are read from standard input", as, spec.AxisSuffix)
			}
			src, err := io.ReadAll(io.LimitReader(in, spec.MaxFileSize+1))
			if err != nil {
				return nil, err
			}
			if len(src) > spec.MaxFileSize {
				return nil, fmt.Errorf("standard input: more than %d MB", spec.MaxFileSize>>20)
			}
			full := as
			if !filepath.IsAbs(full) {
				full = filepath.Join(cwd, full)
			}
			if real, err := filepath.EvalSymlinks(filepath.Dir(full)); err == nil {
				full = filepath.Join(real, filepath.Base(full))
			}
			j, name, err := locate(open, filepath.Dir(full), full, cwd)
			if err != nil {
				return nil, err
			}
			j.source[name] = src
			j.files = append(j.files, name)
			continue
		}
		full, err := filepath.Abs(arg)
		if err != nil {
			return nil, err
		}
		// A named file that is a link is taken where it stands, not where it
		// leads; a folder is taken where it leads.
		info, err := os.Stat(full)
		if err != nil {
			if _, lerr := os.Lstat(full); lerr != nil || !spec.IsSpec(full) {
				return nil, fmt.Errorf("%s: %w", arg, atomicfile.Reason(err))
			}
		}
		if info != nil && info.IsDir() && !spec.IsSpec(full) {
			if full, err = filepath.EvalSymlinks(full); err != nil {
				return nil, fmt.Errorf("%s: %w", arg, atomicfile.Reason(err))
			}
			j, name, err := locate(open, full, full, cwd)
			if err != nil {
				return nil, err
			}
			problems := j.tree.Walk(name, func(f string) {
				if key := j.root + "\x00" + f; !seen[key] {
					seen[key] = true
					j.files = append(j.files, f)
				}
			})
			j.problems = append(j.problems, problems...)
			j.whole, j.dir = j.whole || name == ".", name
			j.dirs = append(j.dirs, name)
			continue
		}
		if !spec.IsSpec(full) {
			return nil, fmt.Errorf("%s is no spec file: their names end in %s, %s or %s", arg, spec.AxisSuffix, spec.PartsSuffix, spec.PolicySuffix)
		}
		if dir, err := filepath.EvalSymlinks(filepath.Dir(full)); err == nil {
			full = filepath.Join(dir, filepath.Base(full))
		}
		j, name, err := locate(open, filepath.Dir(full), full, cwd)
		if err != nil {
			return nil, err
		}
		j.dir = path.Dir(name)
		if key := j.root + "\x00" + name; !seen[key] {
			seen[key] = true
			j.files = append(j.files, name)
		}
	}
	var out []*job
	for _, j := range jobs {
		out = append(out, j)
	}
	sort.Slice(out, func(i, k int) bool { return out[i].root < out[k].root })
	return out, nil
}

func newJob(root string, fsys fs.FS, cwd string) *job {
	j := &job{root: root, tree: spec.NewTree(fsys), source: map[string][]byte{}}
	if rel, err := filepath.Rel(cwd, root); err == nil && rel != "." {
		j.Prefix = filepath.ToSlash(rel)
	}
	if rel, err := filepath.Rel(root, cwd); err == nil && rel != "." && filepath.IsLocal(rel) {
		j.Inside = filepath.ToSlash(rel)
	}
	return j
}

// roots lists the roots of the trees of some jobs.
func roots(jobs []*job) []string {
	var out []string
	for _, j := range jobs {
		out = append(out, j.root)
	}
	return out
}

// replace puts text into a file of the tree that held before.
func (j *job) replace(name string, before, text []byte) error {
	dir, err := atomicfile.OpenFolder(j.root, 0, j.root)
	if err != nil {
		return err
	}
	defer dir.Close()
	return dir.Replace(name, before, text)
}

// workingFolder is the current folder with links resolved.
func workingFolder() (string, error) {
	cwd, err := os.Getwd()
	if err != nil {
		return "", err
	}
	return filepath.EvalSymlinks(cwd)
}

// locate finds the tree a path belongs to: the repository around it; else the
// current folder if the path lies in it; else the path's own folder.
func locate(open func(string) (*job, error), dir, full, cwd string) (*job, string, error) {
	root := dir
	if r := repository(dir); r != "" {
		root = r
	} else if rel, err := filepath.Rel(cwd, full); err == nil && filepath.IsLocal(rel) {
		root = cwd
	}
	j, err := open(root)
	if err != nil {
		return nil, "", err
	}
	rel, err := filepath.Rel(root, full)
	if err != nil || !filepath.IsLocal(rel) {
		return nil, "", fmt.Errorf("%s lies outside %s", full, root)
	}
	return j, filepath.ToSlash(rel), nil
}

// repository finds the nearest folder upward that holds .git.
func repository(dir string) string {
	for {
		if _, err := os.Lstat(filepath.Join(dir, ".git")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			return ""
		}
		dir = up
	}
}
