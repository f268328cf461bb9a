package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/gitfs"
	"trammel/cmd/internal/impact"
	"trammel/cmd/internal/report"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// A job is what is to be checked in one tree.
type job struct {
	root     string // absolute, links resolved
	tree     *spec.Tree
	files    []string // below root, with forward slashes
	unsaved  bool     // one file is not what stands on disk
	whole    bool     // the whole tree was walked
	problems []spec.Problem
	only     func(file, axis string) bool
	read     func(file string) *spec.AxisFile // what was read of it before it is judged, once; nil, or it gives nil: nothing
	changed  []impact.Change                  // what was looked at for changes
	dir      string                           // folder of the last path named
	dirs     []string                         // all folders named
	lines    lines
	report.From
}

// lines are those that a run has told of the files of a job.
type lines struct {
	mu  sync.Mutex
	all map[lineOf]string
}

type lineOf struct {
	file   string
	number int32
}

func (l *lines) note(file string, x run.Line) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.all == nil {
		l.all = map[lineOf]string{}
	}
	l.all[lineOf{file, x.Number}] = x.Text
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
		return nil, errors.New("--as names the path of standard input; add - as the path to check")
	}
	p := &planner{cwd: cwd, jobs: map[string]*job{}, seen: map[string]bool{}}
	for _, arg := range args {
		if arg == "-" {
			err = p.input(as, in)
		} else {
			err = p.path(arg)
		}
		if err != nil {
			return nil, err
		}
	}
	return slices.SortedFunc(maps.Values(p.jobs), func(a, b *job) int { return strings.Compare(a.root, b.root) }), nil
}

// A planner makes jobs of paths.
type planner struct {
	cwd  string
	jobs map[string]*job // by root
	seen map[string]bool // files taken, by root and name
}

// open gives the job of a tree.
func (p *planner) open(root string) (*job, error) {
	if j := p.jobs[root]; j != nil {
		return j, nil
	}
	fsys, err := atomicfile.ReadOnly(root)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", root, atomicfile.Reason(err))
	}
	j := newJob(root, spec.NewTree(fsys), p.cwd)
	j.tree.Still()
	bound(root, j.tree)
	p.jobs[root] = j
	return j, nil
}

// bound says of the tree of a root what is tracked in it, or why it ends there.
func bound(root string, tree *spec.Tree) {
	switch repository(root) {
	case root:
		tree.Tracked(gitfs.Tracked(context.Background(), root))
	case "":
		tree.Ends("folders above " + filepath.Base(root) + " are not searched, as it is in no git repository")
	}
}

// take adds a file to a job, once.
func (p *planner) take(j *job, name string) {
	if key := j.root + "\x00" + name; !p.seen[key] {
		p.seen[key] = true
		j.files = append(j.files, name)
	}
}

// input takes in standard input as the file that stands at as.
func (p *planner) input(as string, in io.Reader) error {
	if as == "" {
		return errors.New("- (standard input) needs a path; give it with --as FILE")
	}
	if !spec.IsSpec(as) {
		return fmt.Errorf("--as %s is not a spec file; its name must end in %s, %s or %s", as, spec.AxisSuffix, spec.PartsSuffix, spec.PolicySuffix)
	}
	src, err := io.ReadAll(io.LimitReader(in, spec.MaxFileSize+1))
	if err != nil {
		return err
	}
	if len(src) > spec.MaxFileSize {
		return fmt.Errorf("standard input is larger than %d MB, the limit for one file; split it", spec.MaxFileSize>>20)
	}
	full := as
	if !filepath.IsAbs(full) {
		full = filepath.Join(p.cwd, full)
	}
	full = inRealFolder(full)
	j, name, err := p.locate(filepath.Dir(full), full)
	if err != nil {
		return err
	}
	// What it says for other files holds for those that are checked beside it.
	j.tree.Unsaved(name, src)
	j.unsaved = true
	p.take(j, name)
	return nil
}

// inRealFolder is a path with the links in its folder followed. A named file that is a
// link itself is taken where it stands, not where it leads.
func inRealFolder(full string) string {
	if dir, err := filepath.EvalSymlinks(filepath.Dir(full)); err == nil {
		return filepath.Join(dir, filepath.Base(full))
	}
	return full
}

// path takes in a file or folder.
func (p *planner) path(arg string) error {
	full, err := filepath.Abs(arg)
	if err != nil {
		return err
	}
	info, err := os.Stat(full)
	if err != nil {
		if _, lerr := os.Lstat(full); lerr != nil || !spec.IsSpec(full) {
			return fmt.Errorf("%s: %w", arg, atomicfile.Reason(err))
		}
	}
	if info != nil && info.IsDir() && !spec.IsSpec(full) {
		return p.folder(arg, full)
	}
	if !spec.IsSpec(full) {
		return fmt.Errorf("%s is not a spec file; their names end in %s, %s or %s", arg, spec.AxisSuffix, spec.PartsSuffix, spec.PolicySuffix)
	}
	full = inRealFolder(full)
	j, name, err := p.locate(filepath.Dir(full), full)
	if err != nil {
		return err
	}
	j.dir = path.Dir(name)
	p.take(j, name)
	return nil
}

// folder takes in a folder, where it leads if it is a link, and all below it.
func (p *planner) folder(arg, full string) error {
	full, err := filepath.EvalSymlinks(full)
	if err != nil {
		return fmt.Errorf("%s: %w", arg, atomicfile.Reason(err))
	}
	j, name, err := p.locate(full, full)
	if err != nil {
		return err
	}
	problems := j.tree.Walk(name, func(f string) { p.take(j, f) })
	j.problems = append(j.problems, problems...)
	j.whole, j.dir = j.whole || name == ".", name
	j.dirs = append(j.dirs, name)
	return nil
}

func newJob(root string, tree *spec.Tree, cwd string) *job {
	j := &job{root: root, tree: tree}
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
func (p *planner) locate(dir, full string) (*job, string, error) {
	root := dir
	if r := repository(dir); r != "" {
		root = r
	} else if rel, err := filepath.Rel(p.cwd, full); err == nil && filepath.IsLocal(rel) {
		root = p.cwd
	}
	j, err := p.open(root)
	if err != nil {
		return nil, "", err
	}
	rel, err := filepath.Rel(root, full)
	if err != nil || !filepath.IsLocal(rel) {
		return nil, "", fmt.Errorf("%s is outside %s", full, root)
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
