package gitfs

import (
	"context"
	"os"
	"path"
	"path/filepath"
	"strings"
	"sync"

	"trammel/cmd/internal/impact"
	"trammel/spec"
)

// Tracked tells of the working tree around root whether git tracks a spec file,
// or has one below a folder, submodules included. Git is queried once, with the
// first question. Where it cannot be queried everything counts as tracked, so that
// nothing is passed over that should not be.
func Tracked(ctx context.Context, root string) func(name string) bool {
	t := &tracked{ctx: ctx, root: root}
	return t.has
}

type tracked struct {
	ctx     context.Context
	root    string
	once    sync.Once
	failed  bool
	names   map[string]bool     // files, and the folders above them
	modules map[string]*tracked // by path below root
}

func (t *tracked) has(name string) bool {
	t.once.Do(func() { t.failed = t.ask() != nil })
	if t.failed || t.names[name] {
		return true
	}
	for at, m := range t.modules {
		if rest, ok := strings.CutPrefix(name, at+"/"); ok {
			return m.has(rest)
		}
	}
	return false
}

func (t *tracked) ask() error {
	r, err := Open(t.ctx, t.root)
	if err != nil {
		return err
	}
	defer r.Close()
	out, err := r.git(append([]string{"ls-files", "-z", "--cached", "--"}, specs...)...)
	if err != nil {
		return err
	}
	t.names = map[string]bool{}
	for _, name := range names(out) {
		t.add(name)
	}
	// A submodule that no list names is not checked out either.
	out, err = r.git("config", "-z", "-f", ".gitmodules", "--get-regexp", `^submodule\..*\.path$`)
	if err != nil && exitCode(err) != 1 {
		return err
	}
	t.modules = map[string]*tracked{}
	for _, line := range names(out) {
		_, at, _ := strings.Cut(line, "\n")
		at = path.Clean(at)
		full := filepath.Join(r.root, filepath.FromSlash(at))
		if _, err := os.Lstat(filepath.Join(full, ".git")); err == nil && filepath.IsLocal(at) && at != "." {
			t.add(at)
			t.modules[at] = &tracked{ctx: t.ctx, root: full}
		}
	}
	return nil
}

// add takes in a file or submodule.
func (t *tracked) add(name string) {
	for ; name != "." && !t.names[name]; name = path.Dir(name) {
		t.names[name] = true
	}
}

// InTheWay lists what a state has of changed spec files although git has none
// of them there, or none any more: folders with the names of spec files, on the
// way to one or in its place.
func InTheWay(exists func(name string) bool, changes []impact.Change) []string {
	var list []string
	seen := map[string]bool{}
	for _, c := range changes {
		for _, name := range []string{c.Path, c.Old} {
			gone := c.Kind == 'D' || c.Kind == 'R' && name == c.Old
			for at := name; at != "." && at != "" && !seen[at]; at = path.Dir(at) {
				seen[at] = true
				if spec.IsSpec(path.Base(at)) && (at != name || gone) && exists(at) {
					list = append(list, at)
				}
			}
		}
	}
	return list
}
