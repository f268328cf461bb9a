package gitfs

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"trammel/cmd/internal/impact"
	"trammel/spec"
)

// Changed lists the spec files and models that differ, sorted by path. The states are
// revisions, or Index or Worktree. HEAD before the first commit has no files.
// In the working tree, files git does not know yet count unless ignored. The index is as
// Staged gave it last, if it did.
func (r *Repo) Changed(from, to string) ([]impact.Change, error) {
	place := func(s string) int { return slices.Index([]string{Index, Worktree}, s) }
	if place(from) > place(to) {
		list, err := r.Changed(to, from)
		return backward(list), err
	}
	if from == to && place(from) >= 0 {
		return nil, nil
	}
	before := ""
	if from != Index {
		var err error
		if before, err = r.treeOrNone(from); err != nil {
			return nil, err
		}
	}
	if before != "" && from != "HEAD" && (place(to) < 0 || !r.isHead(before)) {
		if err := r.measure(before); err != nil {
			return nil, err
		}
	}
	var list []rawChange
	var err error
	switch to {
	case Index:
		list, err = r.lastStaged(before)
	case Worktree:
		list, err = r.inWorktree(before)
	default:
		var after string
		if after, err = r.treeOrNone(to); err == nil {
			err = r.measure(after)
		}
		if err == nil {
			list, err = r.raw(nil, append([]string{"diff-tree", "-r", "-M", "--ignore-submodules=all", before, after, "--"}, specs...))
		}
	}
	if err != nil {
		return nil, err
	}
	var out []impact.Change
	for _, c := range list {
		if keep, ok := c.ofSpec(); ok {
			out = append(out, keep)
		}
	}
	sortChanges(out)
	return out, nil
}

// measure refuses a tree of too many files, which a few small objects can stand
// for: git would hold them all when it compares trees. Names are counted as they
// come, and nothing is kept of them.
func (r *Repo) measure(tree string) error {
	if isEmpty(tree) {
		return nil
	}
	ctx, cancel := context.WithTimeout(r.ctx, timeout)
	defer cancel()
	cmd := command(ctx, r.root, r.env, "ls-tree", "-r", "-t", "-z", "--name-only", "--full-tree", tree)
	count, said := &counter{full: cancel}, &tail{}
	cmd.Stdout, cmd.Stderr = count, said
	err := cmd.Run()
	switch {
	case count.n > maxNames:
		return fmt.Errorf("the repository holds more than %d files in one state; so many are not compared", maxNames)
	case err != nil && ctx.Err() == nil:
		return failure("ls-tree", err, said)
	}
	return ctx.Err()
}

// maxNames bounds the files of a state, of any kind.
const maxNames = 2_000_000

// A counter counts names that end with a zero byte, and ends what writes them if
// they are too many.
type counter struct {
	n    int
	full func()
}

func (c *counter) Write(p []byte) (int, error) {
	if c.n += bytes.Count(p, []byte{0}); c.n > maxNames {
		c.full()
	}
	return len(p), nil
}

// isHead reports whether a tree is that of HEAD, with which git compares the index itself.
func (r *Repo) isHead(tree string) bool {
	head, err := r.head()
	return err == nil && head == tree
}

func sortChanges(list []impact.Change) {
	slices.SortFunc(list, func(a, b impact.Change) int { return strings.Compare(a.Path, b.Path) })
}

// backward turns changes round.
func backward(list []impact.Change) []impact.Change {
	for i, c := range list {
		switch c.Kind {
		case 'A':
			list[i] = impact.Change{Path: c.Path, Old: c.Path, Kind: 'D'}
		case 'D':
			list[i] = impact.Change{Path: c.Path, Kind: 'A'}
		case 'R':
			list[i] = impact.Change{Path: c.Old, Old: c.Path, Kind: 'R'}
		}
	}
	sortChanges(list)
	return list
}

// treeOrNone is the tree of a revision, the empty one before the first commit.
func (r *Repo) treeOrNone(rev string) (string, error) {
	if rev == "HEAD" {
		return r.head()
	}
	_, tree, err := r.commit(rev)
	return tree, err
}

// A rawChange is a change as git lists it.
type rawChange struct {
	oldMode, mode uint32
	oldID, id     string
	kind          byte
	old, path     string
}

// ofSpec gives a change of spec files and models; what is no file in git counts for nothing.
func (c *rawChange) ofSpec() (impact.Change, bool) {
	counts := func(name string) bool { return spec.IsSpec(path.Base(name)) || spec.IsModel(path.Base(name)) }
	was := c.kind != 'A' && counts(c.old) && c.oldMode&modeKind != modeModule
	is := c.kind != 'D' && counts(c.path) && c.mode&modeKind != modeModule
	switch {
	case was && is:
		return impact.Change{Path: c.path, Old: c.old, Kind: c.kind}, true
	case was:
		return impact.Change{Path: c.old, Old: c.old, Kind: 'D'}, true
	case is:
		return impact.Change{Path: c.path, Kind: 'A'}, true
	}
	return impact.Change{}, false
}

// raw runs one of git's diff commands and reads its list.
func (r *Repo) raw(env []string, args []string) ([]rawChange, error) {
	args = slices.Insert(args, 1, "--raw", "-z", "--no-abbrev", "--no-ext-diff", "--no-textconv", "--no-color", "-O/dev/null")
	out, err := run(r.ctx, r.root, append(slices.Clone(r.env), env...), nil, args...)
	if err != nil {
		return nil, err
	}
	var list []rawChange
	next := func() (string, bool) {
		s, rest, ok := bytes.Cut(out, []byte{0})
		out = rest
		return string(s), ok
	}
	for len(out) > 0 {
		head, _ := next()
		words := strings.Split(strings.TrimPrefix(head, ":"), " ")
		name, ok := next()
		if !ok || len(words) != 5 || words[4] == "" {
			return nil, fmt.Errorf("git %s: unexpected answer %q", args[0], head)
		}
		c := rawChange{oldID: words[2], id: words[3], kind: words[4][0], old: name, path: name}
		for i, mode := range []*uint32{&c.oldMode, &c.mode} {
			n, err := strconv.ParseUint(words[i], 8, 32)
			if err != nil {
				return nil, fmt.Errorf("git %s: unexpected answer %q", args[0], head)
			}
			*mode = uint32(n)
		}
		if c.kind == 'R' || c.kind == 'C' {
			if c.path, ok = next(); !ok {
				return nil, fmt.Errorf("git %s: unexpected answer %q", args[0], head)
			}
			if c.kind == 'C' {
				c.kind, c.old = 'A', ""
			}
		}
		if list = append(list, c); len(list) > maxEntries {
			return nil, errChanges
		}
	}
	return list, nil
}

var errChanges = fmt.Errorf("more than %d spec files differ; so many are not looked at", maxEntries)

// lastStaged lists what Staged last found to differ from a tree, of which git need not be
// asked again.
func (r *Repo) lastStaged(tree string) ([]rawChange, error) {
	r.index.Lock()
	defer r.index.Unlock()
	if r.index.known && r.index.tree == tree {
		return r.index.list, nil
	}
	return r.staged(tree)
}

// staged lists what the index has other than a tree, the files besides the
// spec files included that may stand for a folder of parts.
func (r *Repo) staged(tree string) ([]rawChange, error) {
	// Files that git was only told of (add -N) are not in the next commit.
	args := []string{"diff-index", "--cached", "-M", "--ignore-submodules=dirty", "--ita-invisible-in-index", tree, "--"}
	args = append(append(args, specs...), ":(glob)**/"+partsFolder)
	list, err := r.raw(nil, args)
	if err != nil {
		return nil, err
	}
	var open []string
	for _, c := range list {
		if c.kind == 'U' && !slices.Contains(open, c.path) {
			open = append(open, c.path)
		}
	}
	if len(open) > 0 {
		return nil, &ConflictError{open}
	}
	return list, nil
}

// A ConflictError says that a merge is not finished.
type ConflictError struct{ Files []string }

func (e *ConflictError) Error() string {
	var names []string
	for i, f := range e.Files {
		if i == 5 {
			names = append(names, fmt.Sprintf("and %d more", len(e.Files)-i))
			break
		}
		names = append(names, strconv.Quote(f))
	}
	return "a merge conflict is not resolved in " + strings.Join(names, ", ") + "; resolve it and git add the file"
}

// inWorktree lists what the working tree has other than a tree, or than the
// index where tree is "".
func (r *Repo) inWorktree(tree string) ([]rawChange, error) {
	env, err := r.noFilters()
	if err != nil {
		return nil, err
	}
	args := []string{"diff", "-M", "--ignore-submodules=all"}
	if tree != "" {
		args = append(args, tree)
	}
	list, err := r.raw(env, append(append(args, "--"), specs...))
	if err != nil {
		return nil, err
	}
	// A file in conflict is listed twice, and changed in any case.
	seen := map[string]bool{}
	list = slices.DeleteFunc(list, func(c rawChange) bool {
		again := c.kind != 'R' && seen[c.path]
		seen[c.path] = true
		return again
	})
	for i := range list {
		if list[i].kind == 'U' {
			list[i].kind, list[i].mode, list[i].oldMode = 'M', modeFile, modeFile
		}
	}
	out, err := r.git(append([]string{"ls-files", "-z", "--others", "--exclude-standard", "--"}, specs...)...)
	if err != nil {
		return nil, err
	}
	for _, name := range names(out) {
		list = slices.DeleteFunc(list, func(c rawChange) bool { return c.kind == 'D' && c.path == name })
		c := rawChange{mode: modeFile, kind: 'A', path: name}
		// Taken out of the index but still there: only its content can tell.
		if tree != "" {
			if was, ok := r.inTree(tree, name); ok {
				c = rawChange{oldMode: was.mode, mode: modeFile, kind: 'M', old: name, path: name}
			}
		}
		list = append(list, c)
	}
	return list, nil
}

func (r *Repo) inTree(tree, name string) (entry, bool) {
	if isEmpty(tree) {
		return entry{}, false
	}
	e, err := newFiles(r.objects, tree, nil).find("stat", name)
	return e, err == nil && !e.isFolder()
}

// noFilters is an environment in which the programs that the repository names
// for converting files do nothing. Git would run them to compare a file of the
// working tree with what is stored.
func (r *Repo) noFilters() ([]string, error) {
	out, err := r.git("config", "-z", "--name-only", "--get-regexp", `^filter\..*\.(clean|smudge|process|required)$`)
	if err != nil && exitCode(err) != 1 {
		return nil, err
	}
	return override(r.env, names(out)), nil
}

func override(have, keys []string) []string {
	if len(keys) == 0 {
		return nil
	}
	n := 0
	for _, v := range have {
		if s, ok := strings.CutPrefix(v, "GIT_CONFIG_COUNT="); ok {
			n, _ = strconv.Atoi(s)
		}
	}
	var env []string
	for _, k := range keys {
		value := ""
		if strings.HasSuffix(k, ".required") {
			value = "false"
		}
		env = append(env, fmt.Sprintf("GIT_CONFIG_KEY_%d=%s", n, k), fmt.Sprintf("GIT_CONFIG_VALUE_%d=%s", n, value))
		n++
	}
	return append(env, fmt.Sprintf("GIT_CONFIG_COUNT=%d", n))
}

// names splits a list whose items end with a zero byte.
func names(out []byte) []string {
	var list []string
	for len(out) > 0 {
		s, rest, _ := bytes.Cut(out, []byte{0})
		list = append(list, string(s))
		out = rest
	}
	return list
}

// atOnce is how many patterns one search looks for.
const atOnce = 1000

// Find returns a way to find axis files in a revision, or for Index or Worktree.
func (r *Repo) Find(at string) (impact.Find, error) {
	tree := ""
	if at != Index && at != Worktree {
		var err error
		if tree, err = r.treeOrNone(at); err != nil {
			return nil, err
		}
	}
	return func(dir string, recursive bool, patterns ...string) ([]string, error) {
		var found []string
		var err error
		if len(patterns) == 0 {
			found, err = r.list(at, tree, dir, recursive)
		}
		for len(patterns) > 0 && err == nil {
			n := min(len(patterns), atOnce)
			var some []string
			some, err = r.grep(at, tree, dir, recursive, patterns[:n])
			found, patterns = append(found, some...), patterns[n:]
		}
		slices.Sort(found)
		if found = slices.Compact(found); len(found) > maxEntries && err == nil {
			err = errMany
		}
		return found, err
	}, nil
}

// axisFiles is the pathspec for the axis files of a folder.
func axisFiles(dir string, recursive bool) string {
	p := ""
	if dir != "." {
		p = strings.NewReplacer(`\`, `\\`, `*`, `\*`, `?`, `\?`, `[`, `\[`).Replace(dir) + "/"
	}
	if recursive {
		p += "**/"
	}
	return ":(glob)" + p + "*" + spec.AxisSuffix
}

func (r *Repo) list(at, tree, dir string, recursive bool) ([]string, error) {
	switch at {
	case Index:
		out, err := r.git("ls-files", "-z", "--cached", "--", axisFiles(dir, recursive))
		return names(out), err
	case Worktree:
		out, err := r.git("ls-files", "-z", "--cached", "--others", "--exclude-standard", "--", axisFiles(dir, recursive))
		if err != nil {
			return nil, err
		}
		missing, err := r.git("ls-files", "-z", "--deleted", "--", axisFiles(dir, recursive))
		gone := map[string]bool{}
		for _, name := range names(missing) {
			gone[name] = true
		}
		return slices.DeleteFunc(names(out), func(name string) bool { return gone[name] }), err
	}
	if isEmpty(tree) {
		return nil, nil
	}
	e, err := newFiles(r.objects, tree, nil).find("readdir", dir)
	if err != nil || e.mode&modeKind != modeFolder {
		return nil, nil // no such folder: nothing in it
	}
	args := []string{"ls-tree", "-z", "--name-only", "--full-tree"}
	if recursive {
		args = append(args, "-r")
	}
	out, err := r.git(append(args, e.id)...)
	var found []string
	for _, name := range names(out) {
		if strings.HasSuffix(name, spec.AxisSuffix) {
			found = append(found, path.Join(dir, name))
		}
	}
	return found, err
}

// grep lists the axis files that one of the patterns matches.
func (r *Repo) grep(at, tree, dir string, recursive bool, patterns []string) ([]string, error) {
	if tree != "" && isEmpty(tree) {
		return nil, nil
	}
	for _, p := range patterns {
		if p == "" || strings.ContainsAny(p, "\n\x00") {
			return nil, errors.New("a pattern to look for is empty or holds a line break")
		}
	}
	// One expression of many is faster than many.
	args := []string{"grep", "-l", "-z", "-E", "--no-textconv", "--no-recurse-submodules", "--full-name", "--no-color", "-f", "-"}
	switch at {
	case Index:
		args = append(args, "--cached")
	case Worktree:
	default:
		args = append(args, tree)
	}
	out, err := run(r.ctx, r.root, r.env, []byte(strings.Join(patterns, "|")+"\n"), append(args, "--", axisFiles(dir, recursive))...)
	if exitCode(err) == 1 {
		err = nil
	}
	found := names(out)
	if at == Worktree && err == nil {
		// With the untracked ones among them git would leave out tracked files
		// that an exclude file names. Untracked are few: all of them may count.
		out, err = r.git("ls-files", "-z", "--others", "--exclude-standard", "--", axisFiles(dir, recursive))
		found = append(found, names(out)...)
	}
	if tree != "" {
		for i := range found {
			found[i] = strings.TrimPrefix(found[i], tree+":")
		}
	}
	return found, err
}
