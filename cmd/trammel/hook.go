package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/gitfs"
)

func hookCommand() *cobra.Command {
	var o hookOptions
	c := &cobra.Command{
		Use:   "hook [file...]",
		Short: "Check what is about to be committed, merged or pushed",
		Long: `hook is what a git hook calls. It checks the axes that a change affects, and prints
nothing if the change contains no spec file:

  before a commit   what is staged, against the last commit
  in a merge        only what differs from both sides
  before a push     what the remote does not have yet (--push REMOTE, the lines of git on
                    standard input)

Under the pre-commit framework it reads PRE_COMMIT_FROM_REF and PRE_COMMIT_TO_REF, which
the framework sets before a push and with --from-ref and --to-ref. Named files
that are not part of the change are checked as they are in the working tree, so a run over
all files checks all of them.

Exit status: as check.

` + caution,
		Example: `  trammel hook
  trammel hook --push origin < lines-from-git`,
		RunE: func(c *cobra.Command, args []string) error {
			return o.run(c.Context(), args, c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	f := c.Flags()
	o.form = "text"
	o.levels(c)
	f.StringVar(&o.push, "push", "", "the remote pushed to; the lines git gives a pre-push hook are read from standard input")
	f.BoolVar(&o.noFixes, "no-fixes", false, "do not search for fixes (faster)")
	f.StringVar(&o.known, "known", "", "list of accepted findings; they are counted, not shown")
	f.StringVar(&o.today, "today", "", "date used to judge waivers (default today)")
	return c
}

type hookOptions struct {
	checkOptions
	push string
}

// A look is one state that a hook has to check, or the change between two.
type look struct {
	staged    bool
	at, since string
	merged    []string
}

func (o *hookOptions) run(ctx context.Context, names []string, in io.Reader, out, errOut io.Writer) error {
	repo, err := openHere(ctx)
	if err != nil {
		return err
	}
	defer repo.Close()
	looks, err := o.looks(repo, in)
	if err != nil {
		return err
	}
	worst := exitClean
	note := func(err error) error {
		var code exitCode
		if err == nil || errors.As(err, &code) {
			worst = max(worst, int(code))
			return nil
		}
		return err
	}
	changed := map[string]bool{}
	for _, l := range looks {
		one := o.checkOptions
		one.repo = repo
		one.staged, one.at, one.since, one.merged, one.quiet = l.staged, l.at, l.since, l.merged, true
		one.seen = func(j *job) {
			for _, c := range j.changed {
				changed[c.Path] = true
			}
			if l.since == "" {
				names = nil // the whole state is checked
			}
		}
		if err := note(one.run(ctx, nil, in, out, errOut)); err != nil {
			return err
		}
	}
	if names, err = others(repo, names, changed); err != nil {
		return err
	}
	if len(names) > 0 {
		if err := note(o.checkOptions.run(ctx, names, in, out, errOut)); err != nil {
			return err
		}
	}
	if worst == exitClean {
		return nil
	}
	return exitCode(worst)
}

func openHere(ctx context.Context) (*gitfs.Repo, error) {
	cwd, err := workingFolder()
	if err != nil {
		return nil, err
	}
	return gitfs.Open(ctx, cwd)
}

// others are the named files that are no part of the change.
func others(repo *gitfs.Repo, names []string, changed map[string]bool) ([]string, error) {
	if len(names) == 0 {
		return nil, nil
	}
	cwd, err := workingFolder()
	if err != nil {
		return nil, err
	}
	paths, err := inRepository(names, repo.Root(), cwd)
	if err != nil {
		return nil, err
	}
	var out []string
	for i, p := range paths {
		if !changed[p] && !hidden(p) {
			out = append(out, names[i])
		}
	}
	return out, nil
}

// hidden reports a path that a check of the whole tree leaves out: a framework that runs
// over all files names it too.
func hidden(p string) bool { return strings.HasPrefix(p, ".") || strings.Contains(p, "/.") }

// looks says what is to be checked at this hook.
func (o *hookOptions) looks(repo *gitfs.Repo, in io.Reader) ([]look, error) {
	from, to := os.Getenv("PRE_COMMIT_FROM_REF"), os.Getenv("PRE_COMMIT_TO_REF")
	branch := os.Getenv("PRE_COMMIT_LOCAL_BRANCH")
	switch {
	case o.push != "":
		return pushed(repo, o.push, in)
	case slices.ContainsFunc([]string{"PRE_COMMIT_CHECKOUT_TYPE", "PRE_COMMIT_IS_SQUASH_MERGE", "PRE_COMMIT_REWRITE_COMMAND"}, func(n string) bool { return os.Getenv(n) != "" }):
		return nil, errors.New("hook checks before a commit, a merge or a push; at this stage it is too late: take it out of the stages of the hook")
	case (from == "") != (to == ""):
		return nil, errors.New("PRE_COMMIT_FROM_REF and PRE_COMMIT_TO_REF say together what to check; only one of them is set")
	case from != "":
		return []look{{since: from, at: to}}, nil
	case branch != "":
		return []look{{at: branch}}, nil // the framework pushes all there is
	}
	merged, err := repo.Merging()
	return []look{{staged: true, since: "HEAD", merged: merged}}, err
}

// pushed reads the lines that git gives a hook before a push: a local name and commit, and
// the remote name and commit, of which zeros stand for none.
func pushed(repo *gitfs.Repo, remote string, in io.Reader) ([]look, error) {
	var out []look
	lines := bufio.NewScanner(io.LimitReader(in, 64<<20))
	for lines.Scan() {
		w := strings.Fields(lines.Text())
		if len(w) < 4 {
			return nil, fmt.Errorf("standard input holds %q; expected are the lines that git gives a pre-push hook", clipped(lines.Text()))
		}
		w = w[len(w)-4:] // the local name may be an expression with spaces
		local, was := w[1], w[3]
		if none(local) {
			continue // something is deleted
		}
		id, err := repo.Commit(local)
		if err != nil {
			return nil, err
		}
		if _, err := repo.Commit(was); err == nil && !none(was) {
			out = append(out, look{since: was, at: id})
			continue
		}
		before, all, nothing, err := repo.Unpushed(id, remote)
		switch {
		case err != nil:
			return nil, err
		case all:
			out = append(out, look{at: id})
		case !nothing:
			out = append(out, look{since: before, at: id})
		}
	}
	return out, lines.Err()
}

// none reports whether an id is git's word for no commit.
func none(id string) bool { return strings.Trim(id, "0") == "" }

// clipped is the beginning of a line.
func clipped(s string) string { return s[:min(len(s), 80)] }
