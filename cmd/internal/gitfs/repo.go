// Package gitfs reads spec files from a git repository: as they are staged, as
// they are in a revision, and which of them changed. It asks the git command
// and neither writes to the repository nor runs anything it configures.
package gitfs

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"trammel/cmd/internal/atomicfile"
	"trammel/spec"
)

// Index and Worktree stand for a revision where Changed and Find take one.
const (
	Index    = ":index"
	Worktree = ":worktree"
)

// ErrNoCommits is what asking for HEAD gives in a repository without commits.
var ErrNoCommits = errors.New("there are no commits yet that HEAD could name")

// timeout ends a git command that does not answer.
var timeout = 2 * time.Minute

// maxAnswer bounds what a git command may answer: a hundred thousand names are a
// tenth of it.
var maxAnswer = 64 << 20 // bytes

// A Repo is a git repository with a working tree. Its methods may be called
// from several goroutines.
type Repo struct {
	ctx     context.Context
	root    string
	shallow bool
	env     []string
	objects *objects
	index   struct { // what Staged last found to differ from a tree
		sync.Mutex
		known bool
		tree  string
		list  []rawChange
	}
}

// Open finds the repository around a folder. Git commands end with the context.
func Open(ctx context.Context, dir string) (*Repo, error) {
	full, err := filepath.Abs(dir)
	if err == nil {
		full, err = filepath.EvalSymlinks(full)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", dir, atomicfile.Reason(err))
	}
	dir = full
	r := &Repo{ctx: ctx, env: environment(os.Environ())}
	// Names are one a line, so the one that may hold a line break stands last.
	ask := []string{"rev-parse", "--is-bare-repository", "--is-inside-git-dir", "--is-shallow-repository", "--show-toplevel"}
	local := slices.DeleteFunc(slices.Clone(r.env), isLocal)
	out, err := run(ctx, dir, local, nil, ask...)
	if len(local) < len(r.env) {
		// A hook, or a person, has named a repository. It counts if it is the
		// one around the folder, or if there is none around it.
		out, err = r.adopt(dir, local, out, err, ask)
	} else {
		r.env = local
	}
	lines := bytes.SplitN(out, []byte("\n"), 4)
	if len(lines) >= 3 && string(lines[0]) == "true" {
		return nil, fmt.Errorf("%s is a bare repository: it has no working tree to check", dir)
	}
	if len(lines) >= 3 && string(lines[1]) == "true" {
		return nil, fmt.Errorf("%s lies inside the .git folder of a repository", dir)
	}
	if err != nil {
		var ge *gitError
		switch {
		case !errors.As(err, &ge):
			return nil, err
		case strings.Contains(ge.said, "dubious ownership"):
			return nil, fmt.Errorf("%s: the repository belongs to another user, and git refuses to read it; see safe.directory in git's manual", dir)
		case strings.Contains(ge.said, "safe.bareRepository") && slices.Contains(strings.Split(filepath.ToSlash(dir), "/"), ".git"):
			return nil, fmt.Errorf("%s lies inside the .git folder of a repository", dir)
		case strings.Contains(ge.said, "safe.bareRepository"):
			return nil, fmt.Errorf("%s is a bare repository: it has no working tree to check", dir)
		case strings.Contains(ge.said, "not a git repository"):
			return nil, fmt.Errorf("%s is not in a git repository", dir)
		}
		return nil, fmt.Errorf("%s: %w", dir, err)
	}
	if len(lines) < 4 {
		return nil, fmt.Errorf("git does not say where the repository around %s begins", dir)
	}
	r.shallow = string(lines[2]) == "true"
	r.root = filepath.FromSlash(strings.TrimSuffix(string(lines[3]), "\n"))
	if real, err := filepath.EvalSymlinks(r.root); err == nil {
		r.root = real
	}
	if rel, err := filepath.Rel(r.root, dir); err != nil || !filepath.IsLocal(rel) {
		return nil, fmt.Errorf("%s lies outside of the working tree %s that the repository names", dir, r.root)
	}
	r.objects = newObjects(ctx, r.root, r.env)
	return r, nil
}

// adopt decides between the repository found around dir and the one that the
// environment names, and sets the environment for all further commands.
func (r *Repo) adopt(dir string, local []string, out []byte, err error, ask []string) ([]byte, error) {
	around := err == nil
	named, namedErr := "", error(nil)
	// The names in the environment hold for the folder the program was started in.
	cwd, err2 := os.Getwd()
	if err2 != nil {
		cwd = dir
	}
	if o, e := run(r.ctx, cwd, r.env, nil, "rev-parse", "--absolute-git-dir"); e == nil {
		named = string(o)
	} else {
		namedErr = e
	}
	if around {
		own, e := run(r.ctx, dir, local, nil, "rev-parse", "--absolute-git-dir")
		if namedErr != nil || e != nil || string(own) != named {
			r.env = local
			return out, err
		}
		// The same one: only where its index and objects are is taken over.
		// Commands run in the top folder, for which git gives relative names.
		r.env = slices.DeleteFunc(r.env, func(v string) bool {
			name, _, _ := strings.Cut(v, "=")
			return name == "GIT_DIR" || name == "GIT_WORK_TREE" || name == "GIT_COMMON_DIR"
		})
		return out, err
	}
	if namedErr != nil {
		r.env = local
		return out, err
	}
	out, err = run(r.ctx, cwd, r.env, nil, ask...)
	lines := bytes.SplitN(out, []byte("\n"), 4)
	if err == nil && len(lines) == 4 {
		top := strings.TrimSuffix(string(lines[3]), "\n")
		r.env = append(slices.DeleteFunc(r.env, func(v string) bool {
			name, _, _ := strings.Cut(v, "=")
			return name == "GIT_DIR" || name == "GIT_WORK_TREE"
		}), "GIT_DIR="+strings.TrimSuffix(named, "\n"), "GIT_WORK_TREE="+top)
	}
	return out, err
}

// Root is the top folder of the working tree, absolute, links resolved.
func (r *Repo) Root() string { return r.root }

// Err is nil unless a bound kept from reading everything that was requested.
func (r *Repo) Err() error {
	r.objects.keep.Lock()
	defer r.objects.keep.Unlock()
	return r.objects.bound
}

// Close ends the process that serves files. Files cannot be read afterwards.
func (r *Repo) Close() error { return r.objects.close() }

// localNames are the variables by which a git command tells the programs it
// starts which repository it works on.
var localNames = []string{
	"GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_COMMON_DIR", "GIT_OBJECT_DIRECTORY", "GIT_ALTERNATE_OBJECT_DIRECTORIES",
	"GIT_SHALLOW_FILE", "GIT_GRAFT_FILE", "GIT_REPLACE_REF_BASE", "GIT_IMPLICIT_WORK_TREE", "GIT_NAMESPACE",
}

func isLocal(v string) bool {
	name, _, _ := strings.Cut(v, "=")
	return slices.Contains(localNames, name)
}

// environment is what git commands get: no other language, no other reading of
// pathspecs, no questions, no locks, no objects put in the place of others, and
// no fetching of what a partial clone lacks, which would run programs that the
// repository names.
func environment(have []string) []string {
	out := make([]string, 0, len(have)+8)
	for _, v := range have {
		name, _, _ := strings.Cut(v, "=")
		switch name {
		case "LC_ALL", "LANG", "LANGUAGE", "GIT_LITERAL_PATHSPECS", "GIT_GLOB_PATHSPECS", "GIT_NOGLOB_PATHSPECS", "GIT_ICASE_PATHSPECS",
			"GIT_PREFIX", "GIT_EXTERNAL_DIFF", "GIT_DIFF_OPTS", "GIT_PAGER", "GIT_OPTIONAL_LOCKS", "GIT_TERMINAL_PROMPT",
			"GIT_NO_LAZY_FETCH", "GIT_ALLOW_PROTOCOL", "GIT_FLUSH", "GIT_NO_REPLACE_OBJECTS":
			continue
		}
		out = append(out, v)
	}
	return append(out, "LC_ALL=C", "GIT_OPTIONAL_LOCKS=0", "GIT_TERMINAL_PROMPT=0", "GIT_NO_LAZY_FETCH=1", "GIT_ALLOW_PROTOCOL=none", "GIT_NO_REPLACE_OBJECTS=1")
}

// command makes a git command. No part of it goes through a shell.
func command(ctx context.Context, dir string, env []string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, "git", append([]string{
		"--no-pager", "-c", "core.fsmonitor=false", "-c", "core.hooksPath=/dev/null", "-c", "core.quotepath=off",
		"-c", "diff.external=", "-c", "core.pager=cat", "-c", "safe.bareRepository=explicit",
	}, args...)...)
	cmd.Dir, cmd.Env, cmd.SysProcAttr = dir, env, withParent()
	cmd.WaitDelay = 5 * time.Second
	return cmd
}

// run runs a git command and returns what it wrote, also where it failed.
func run(parent context.Context, dir string, env []string, stdin []byte, args ...string) ([]byte, error) {
	ctx, cancel := context.WithTimeout(parent, timeout)
	defer cancel()
	cmd := command(ctx, dir, env, args...)
	out := &answer{full: cancel}
	said := &tail{}
	cmd.Stdout, cmd.Stderr = out, said
	if stdin != nil {
		cmd.Stdin = bytes.NewReader(stdin)
	}
	err := cmd.Run()
	switch {
	case out.over:
		return nil, fmt.Errorf("git %s answers with more than %d MB", args[0], maxAnswer>>20)
	case err == nil:
		return out.Bytes(), nil
	case parent.Err() != nil:
		return out.Bytes(), parent.Err()
	case ctx.Err() != nil:
		return out.Bytes(), fmt.Errorf("git %s gave no answer within %v", args[0], timeout)
	}
	return out.Bytes(), failure(args[0], err, said)
}

// An answer keeps what a command writes, and ends the command if it is too much.
type answer struct {
	bytes.Buffer
	full func()
	over bool
}

func (a *answer) Write(p []byte) (int, error) {
	if a.over || a.Len()+len(p) > maxAnswer {
		a.over = true
		a.full()
		return len(p), nil
	}
	return a.Buffer.Write(p)
}

func (r *Repo) git(args ...string) ([]byte, error) { return run(r.ctx, r.root, r.env, nil, args...) }

// A gitError is a git command that failed.
type gitError struct {
	command, said string
	code          int
}

func (e *gitError) Error() string {
	if e.said == "" {
		return fmt.Sprintf("git %s failed with status %d", e.command, e.code)
	}
	return fmt.Sprintf("git %s: %s", e.command, e.said)
}

func failure(name string, err error, said *tail) error {
	var exit *exec.ExitError
	switch {
	case errors.Is(err, exec.ErrNotFound):
		return errors.New("there is no git command on this machine, and this needs one")
	case errors.As(err, &exit):
		return &gitError{command: name, code: exit.ExitCode(), said: said.words()}
	}
	return fmt.Errorf("git %s: %w", name, atomicfile.Reason(err))
}

// exitCode is the exit status of a failed git command, −1 for other errors.
func exitCode(err error) int {
	var ge *gitError
	if errors.As(err, &ge) {
		return ge.code
	}
	return -1
}

// A tail keeps the first kilobytes of what a command says on standard error.
type tail struct{ text []byte }

func (t *tail) Write(p []byte) (int, error) {
	t.text = append(t.text, p[:min(len(p), 4096-len(t.text))]...)
	return len(p), nil
}

// words is what was said, on one line.
func (t *tail) words() string {
	s := strings.ToValidUTF8(string(t.text), "?")
	var lines []string
	for line := range strings.Lines(s) {
		line = strings.TrimSpace(line)
		line = strings.TrimPrefix(strings.TrimPrefix(line, "fatal: "), "error: ")
		if line != "" {
			lines = append(lines, line)
		}
	}
	if len(lines) > 2 {
		lines = lines[:2]
	}
	return strings.Join(lines, "; ")
}

// commit finds the commit a revision names, and its tree.
func (r *Repo) commit(rev string) (id, tree string, err error) {
	switch {
	case rev == "":
		return "", "", errors.New("the name of a revision is missing")
	case strings.HasPrefix(rev, "-"):
		return "", "", fmt.Errorf("%q cannot be a revision: it begins with a dash", rev)
	case strings.ContainsAny(rev, "\n\r\x00"):
		return "", "", fmt.Errorf("%q cannot be a revision: it holds a line break", rev)
	}
	o, err := r.objects.read(rev+"^{commit}", maxObject)
	if err == nil && o.kind == "commit" {
		line, _, _ := bytes.Cut(o.data, []byte("\n"))
		if t, ok := bytes.CutPrefix(line, []byte("tree ")); ok {
			return o.id, string(t), nil
		}
	}
	switch {
	case errors.Is(err, errAmbiguous):
		return "", "", fmt.Errorf("revision %q is ambiguous: more than one begins so", rev)
	case err != nil && !errors.Is(err, errMissing):
		return "", "", fmt.Errorf("revision %q: %w", rev, err)
	case rev == "HEAD":
		if _, err := r.git("rev-parse", "-q", "--verify", "HEAD"); err != nil {
			return "", "", ErrNoCommits
		}
		return "", "", errors.New("the repository is damaged: it does not hold the commit of HEAD")
	case r.shallow:
		return "", "", fmt.Errorf("there is no revision %q in this clone; %s", rev, deepen)
	}
	return "", "", fmt.Errorf("there is no revision %q in this repository", rev)
}

const deepen = "the clone is shallow and holds the latest commits only: git fetch --unshallow, or a greater fetch depth in the job that checks out, brings the others"

// At returns the files of a revision and the full id of its commit.
func (r *Repo) At(rev string) (fs.FS, string, error) {
	id, tree, err := r.commit(rev)
	if err != nil {
		return nil, "", err
	}
	return newFiles(r.objects, tree, nil), id, nil
}

// NoFiles is a file system without files, for what was before the first commit.
func NoFiles() fs.FS { return newFiles(nil, "", nil) }

// Staged returns the files as they would be committed now.
func (r *Repo) Staged() (fs.FS, error) {
	// The index is HEAD and what is staged on top of it. So folders nobody
	// asks for are never listed.
	tree, err := r.head()
	if err != nil {
		return nil, err
	}
	list, err := r.staged(tree)
	if err != nil {
		return nil, err
	}
	r.index.Lock()
	r.index.known, r.index.tree, r.index.list = true, tree, list
	r.index.Unlock()
	if isEmpty(tree) {
		tree = "" // it need not be stored
	}
	return newFiles(r.objects, tree, list), nil
}

// head is the tree of HEAD, the empty one before the first commit.
func (r *Repo) head() (string, error) {
	_, tree, err := r.commit("HEAD")
	if errors.Is(err, ErrNoCommits) {
		return r.emptyTree()
	}
	return tree, err
}

// emptyTree is the id of the tree without files, which depends on the kind of
// ids the repository has. Git knows it without it being stored.
func (r *Repo) emptyTree() (string, error) {
	out, err := run(r.ctx, r.root, r.env, []byte{}, "hash-object", "-t", "tree", "--stdin")
	return strings.TrimSpace(string(out)), err
}

func isEmpty(tree string) bool {
	return tree == "4b825dc642cb6eb9a060e54bf8d69288fbee4904" ||
		tree == "6ef19b41225c5369f1c104d45d8d85efa9b057b53b14b4b9b939dd74decc5321"
}

// MergeBase finds the last commit that two revisions have in common.
func (r *Repo) MergeBase(a, b string) (string, error) {
	one, _, err := r.commit(a)
	if err != nil {
		return "", err
	}
	two, _, err := r.commit(b)
	if err != nil {
		return "", err
	}
	if one == two {
		return one, nil
	}
	out, err := r.git("merge-base", one, two)
	if exitCode(err) == 1 {
		if r.shallow {
			return "", fmt.Errorf("%q and %q have no commit in common in this clone; %s", a, b, deepen)
		}
		return "", fmt.Errorf("%q and %q have no commit in common", a, b)
	}
	if err != nil {
		return "", err
	}
	return strings.TrimSpace(string(out)), nil
}

// specs are pathspecs for the spec files of the whole repository, and models. The
// asterisk stands for slashes too; this form is the fastest git knows.
var specs = []string{"*" + spec.AxisSuffix, "*" + spec.PartsSuffix, "*" + spec.PolicySuffix, ":(icase)*.step", ":(icase)*.stp"}

// Names lists branches and tags, the latest first, at most 500.
func (r *Repo) Names() ([]string, error) {
	out, err := r.git("for-each-ref", "--count=500", "--sort=-creatordate", "--format=%(refname:short)", "refs/heads", "refs/tags", "refs/remotes")
	return strings.Fields(string(out)), err
}
