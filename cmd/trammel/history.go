package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"sort"
	"strings"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/gitfs"
	"trammel/cmd/internal/impact"
	"trammel/spec"
)

// A state is the content of a repository at one time.
type state struct {
	name string // for gitfs: a revision, Index or Worktree
	fsys fs.FS
	none bool          // there are no commits yet
	read *impact.State // what is read of it to find the axes touched
}

// has reports whether a state has something of a name, whatever it is: a link
// that leads nowhere too.
func (s state) has(name string) bool {
	_, err := fs.Lstat(s.fsys, name)
	return !errors.Is(err, fs.ErrNotExist)
}

// openState opens the working tree, the index or a revision.
func openState(repo *gitfs.Repo, name string) (state, error) {
	s, err := findState(repo, name)
	if err == nil {
		s.read = impact.NewState(s.fsys)
	}
	return s, err
}

func findState(repo *gitfs.Repo, name string) (state, error) {
	switch name {
	case gitfs.Worktree:
		fsys, err := atomicfile.ReadOnly(repo.Root())
		return state{name: name, fsys: fsys}, err
	case gitfs.Index:
		f, err := repo.Staged()
		return state{name: name, fsys: f}, err
	}
	f, id, err := repo.At(name)
	if errors.Is(err, gitfs.ErrNoCommits) {
		return state{name: name, fsys: gitfs.NoFiles(), none: true}, nil
	}
	return state{name: id, fsys: f}, err
}

// planGit is plan for content out of git, and for changes only. Of a merge, others are
// the commits it brings in: only what differs from each of them counts. Without a
// repository it opens the one around the working folder, and done closes it.
func planGit(ctx context.Context, repo *gitfs.Repo, args []string, staged bool, at, since string, others ...string) (j *job, done func(), err error) {
	if staged && at != "" {
		return nil, nil, errors.New("--staged and --at name two different states; give one of them")
	}
	cwd, err := workingFolder()
	if err != nil {
		return nil, nil, err
	}
	done = func() {}
	if repo == nil {
		if repo, err = gitfs.Open(ctx, cwd); err != nil {
			return nil, nil, err
		}
		done = func() { repo.Close() }
	}
	opened := done
	defer func() {
		if err != nil {
			opened()
		}
	}()
	name := gitfs.Worktree
	switch {
	case staged:
		name = gitfs.Index
	case at != "":
		name = at
	}
	now, err := openState(repo, name)
	if err != nil {
		return nil, nil, err
	}
	if at != "" && now.none {
		return nil, nil, gitfs.ErrNoCommits
	}
	j = newJob(repo.Root(), now.read.Tree(), cwd)
	j.read = now.read.Take
	paths, err := inRepository(args, repo.Root(), cwd)
	if err != nil {
		return nil, nil, err
	}
	if since == "" {
		if err = j.walkPaths(paths); err == nil {
			err = repo.Err() // what was found is not all there is
		}
		return j, done, err
	}
	if len(args) == 0 {
		paths = []string{"."} // a part in a folder above touches the axes here too
	}
	old, err := before(repo, since, at)
	if err != nil {
		return nil, nil, err
	}
	hits, changes, err := affected(repo, old, now, paths)
	if err != nil {
		return nil, nil, err
	}
	j.changed = changes
	for _, id := range others {
		other, err := openState(repo, id)
		if err != nil {
			return nil, nil, err
		}
		more, differ, err := affected(repo, other, now, paths)
		if err != nil {
			return nil, nil, err
		}
		hits, changes = hits.And(more), inBoth(changes, differ)
	}
	touched := map[string]bool{}
	for _, f := range hits.Files {
		touched[f] = true
	}
	j.files = slices.Clone(hits.Files)
	for _, c := range changes {
		// What is wrong with a changed parts, policy or machine file shows too.
		if c.Kind != 'D' && !touched[c.Path] && !slices.Contains(hits.Same, c.Path) {
			j.files = append(j.files, c.Path)
		}
	}
	j.files = append(j.files, gitfs.InTheWay(now.has, changes)...)
	sort.Strings(j.files)
	j.files = slices.Compact(j.files)
	j.only = func(file, axis string) bool {
		if !touched[file] {
			return false
		}
		only := hits.Axes[file]
		return only == nil || slices.Contains(only, axis)
	}
	return j, done, nil
}

// inBoth are the changes of a list whose files another list changes too.
func inBoth(list, other []impact.Change) []impact.Change {
	return slices.DeleteFunc(slices.Clone(list), func(c impact.Change) bool {
		return !slices.ContainsFunc(other, func(o impact.Change) bool { return o.Path == c.Path })
	})
}

// before is the state changes are counted from: the last commit that the
// revision has in common with what is checked.
func before(repo *gitfs.Repo, since, at string) (state, error) {
	tip := at
	if tip == "" {
		tip = "HEAD"
	}
	base, err := repo.MergeBase(since, tip)
	if errors.Is(err, gitfs.ErrNoCommits) {
		return state{name: "HEAD", fsys: gitfs.NoFiles(), none: true, read: impact.NewState(gitfs.NoFiles())}, nil
	}
	if err != nil {
		return state{}, err
	}
	return openState(repo, base)
}

// affected finds the axes touched between two states, by changes below the
// given paths.
func affected(repo *gitfs.Repo, old, now state, paths []string) (impact.Impact, []impact.Change, error) {
	for _, p := range paths {
		if p != "." && !old.has(p) && !now.has(p) {
			return impact.Impact{}, nil, fmt.Errorf("%s: no such file or directory, before or after the change", p)
		}
	}
	changes, err := repo.Changed(old.name, now.name)
	if err != nil {
		return impact.Impact{}, nil, err
	}
	changes = slices.DeleteFunc(changes, func(c impact.Change) bool {
		return !below(c.Path, paths) && (c.Old == "" || !below(c.Old, paths))
	})
	find, err := repo.Find(now.name)
	if err != nil {
		return impact.Impact{}, nil, err
	}
	hits, err := impact.Of(old.read, now.read, changes, find)
	// Models touch axes, and are nothing to judge themselves.
	changes = slices.DeleteFunc(changes, func(c impact.Change) bool { return !spec.IsSpec(c.Path) && !spec.IsSpec(c.Old) })
	return hits, changes, err
}

// below reports whether a file is one of the paths or lies below one.
func below(name string, paths []string) bool {
	for _, p := range paths {
		if p == "." || name == p || strings.HasPrefix(name, p+"/") {
			return true
		}
	}
	return false
}

// inRepository turns paths of the command line into paths below root.
func inRepository(args []string, root, cwd string) ([]string, error) {
	if len(args) == 0 {
		args = []string{cwd}
	}
	var out []string
	for _, a := range args {
		if a == "-" {
			return nil, errors.New("- (standard input) cannot be combined with --staged, --at or --since")
		}
		full := a
		if !filepath.IsAbs(full) {
			full = filepath.Join(cwd, full)
		}
		rel, err := filepath.Rel(root, full)
		if err != nil || !filepath.IsLocal(rel) {
			// The root has its links resolved; the way to the path may lead over one.
			if real, lerr := filepath.EvalSymlinks(filepath.Dir(full)); lerr == nil {
				rel, err = filepath.Rel(root, filepath.Join(real, filepath.Base(full)))
			}
		}
		if err != nil || !filepath.IsLocal(rel) {
			return nil, fmt.Errorf("%s is outside the repository %s", a, root)
		}
		out = append(out, filepath.ToSlash(rel))
	}
	return out, nil
}

// walkPaths takes files as they are and walks folders.
func (j *job) walkPaths(paths []string) error {
	seen := map[string]bool{}
	add := func(f string) {
		if !seen[f] {
			seen[f] = true
			j.files = append(j.files, f)
		}
	}
	for _, p := range paths {
		info, err := fs.Stat(j.tree.FS(), p)
		switch {
		case err != nil:
			return fmt.Errorf("%s: %w", p, atomicfile.Reason(err))
		case info.IsDir() && !spec.IsSpec(p):
			j.problems = append(j.problems, j.tree.Walk(p, add)...)
			j.whole, j.dir = j.whole || p == ".", p
		case !spec.IsSpec(p):
			return fmt.Errorf("%s is not a spec file; their names end in %s, %s or %s", p, spec.AxisSuffix, spec.PartsSuffix, spec.PolicySuffix)
		default:
			j.dir = path.Dir(p)
			add(p)
		}
	}
	return nil
}
