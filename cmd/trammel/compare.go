package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/compare"
	"trammel/cmd/internal/gitfs"
	"trammel/cmd/internal/impact"
	"trammel/rules"
	"trammel/rules/judge/run"
	"trammel/spec"
)

func compareCommand() *cobra.Command {
	o := compareOptions{outputOptions: outputOptions{aside: true}}
	c := &cobra.Command{
		Use:   "compare [from] [to] [-- path...]",
		Short: "Show what a change did to the margins",
		Long: `compare judges the axes that differ between two revisions, or between a revision and
the working tree, before and after the change. It shows the reviewer which lines
changed, how many axes they affect, which margins got worse or better, which limits
were crossed and which rules are no longer judged.

With --since REVISION it starts at the last commit in common with that revision, as check
does, and so shows what a branch changed.

Only affected axes are read. A waiver changes no verdict: it is shown beside the margin
it excuses. Known findings are ignored.

Exit status: 0 no limit was crossed; 1 at least one was; 2 the tool could not do its
job.

` + described(compareForms) + caution,
		Example: `  trammel compare HEAD
  trammel compare --since main
  trammel compare --since main HEAD --form markdown
  trammel compare v1.4 -- machines/slicer parts`,
		RunE: func(c *cobra.Command, args []string) error {
			var paths []string
			if n := c.ArgsLenAtDash(); n >= 0 {
				args, paths = args[:n], args[n:]
			}
			switch n := len(args); {
			case o.since != "" && n > 1:
				return fmt.Errorf("%d revisions given beside --since, at most 1 needed; write trammel compare --since REVISION [to]", n)
			case o.since != "":
				args = append([]string{o.since}, args...)
			case c.Flags().Changed("since"):
				return errors.New("--since is empty; give a revision, for example --since main")
			case n < 1 || n > 2:
				return fmt.Errorf("%d revisions given, 1 or 2 needed; write trammel compare from [to] [-- path...]", n)
			}
			return o.run(c.Context(), args, paths, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	outputFlags(c, &o.outputOptions, compareForms, "text")
	f := c.Flags()
	f.BoolVar(&o.staged, "staged", false, "compare with what is staged instead of the working tree")
	f.StringVar(&o.since, "since", "", "start from the last commit in common with this revision")
	f.BoolVar(&o.all, "all", false, "show every changed line and every quantity that changed")
	return c
}

type compareOptions struct {
	outputOptions
	staged, all bool
	since       string
}

func (o *compareOptions) run(ctx context.Context, revs, args []string, out, errOut io.Writer) error {
	list, err := outputs(&o.outputOptions, compareForms)
	if err != nil {
		return err
	}
	to := gitfs.Worktree
	switch {
	case len(revs) == 2 && o.staged:
		return errors.New("--staged replaces the second revision; give only one revision")
	case len(revs) == 2:
		to = revs[1]
	case o.staged:
		to = gitfs.Index
	}
	var c *compare.Comparison
	var j *job
	progress := newProgress(errOut)
	defer progress.end()
	err = until(ctx, func() (err error) {
		c, j, err = compareStates(ctx, revs[0], to, args, progress)
		return err
	})
	if err != nil {
		return err
	}
	progress.end()
	if err := writeAll(ctx, list, &comparedStates{c, o.all, j, revs[0], stateName(to)}, false, out, []string{j.root}); err != nil {
		return err
	}
	if c.Count(compare.Crossed) > 0 {
		return exitCode(exitFindings)
	}
	return nil
}

// compareStates compares two states of what is at some paths; none for all of the
// repository.
func compareStates(ctx context.Context, from, to string, args []string, p *progress) (*compare.Comparison, *job, error) {
	cwd, err := workingFolder()
	if err != nil {
		return nil, nil, err
	}
	repo, err := gitfs.Open(ctx, cwd)
	if err != nil {
		return nil, nil, err
	}
	defer repo.Close()
	old, err := openState(repo, from)
	if err != nil {
		return nil, nil, err
	}
	now, err := openState(repo, to)
	if err != nil {
		return nil, nil, err
	}
	paths := []string{"."}
	if len(args) > 0 {
		if paths, err = inRepository(args, repo.Root(), cwd); err != nil {
			return nil, nil, err
		}
	}
	hits, changes, err := affected(repo, old, now, paths)
	if err != nil {
		return nil, nil, err
	}
	j := newJob(repo.Root(), now.read.Tree(), cwd)
	was, is, names := bothSides(hits, changes)
	is = append(is, gitfs.InTheWay(now.has, changes)...)
	only := touchedOnly(hits, changes, now.read.Tree())
	a, sum := judgeSide(ctx, old, was, only, p)
	if err := unreadable(sum, func(p spec.Place) spec.Place { return p }); err != nil {
		return nil, nil, fmt.Errorf("at %s: %w", from, err)
	}
	b, sum := judgeSide(ctx, now, is, only, p)
	if err := unreadable(sum, j.Show); err != nil {
		return nil, nil, fmt.Errorf("in the %s: %w", stateWords(to), err)
	}
	return compare.Sides(a, b, names), j, nil
}

// bothSides lists the files to judge in the old and in the new state, and gives the old
// names of those renamed.
func bothSides(hits impact.Impact, changes []impact.Change) (was, is []string, names map[string]string) {
	was, is, names = slices.Clone(hits.Removed), slices.Clone(hits.Files), map[string]string{}
	for _, c := range changes {
		// What is wrong with a changed parts, policy or machine file shows too.
		if c.Kind != 'D' {
			is = append(is, c.Path)
		}
		if c.Old != "" {
			names[c.Path] = c.Old
			was = append(was, c.Old)
		}
	}
	for _, f := range hits.Files {
		if o, ok := names[f]; ok {
			f = o
		}
		was = append(was, f)
	}
	return was, is, names
}

// touchedOnly reports of both sides which axes of their files are to be judged: of a file
// that did not change itself, those that something else touches. The others are the same.
// A text that may itself keep an axis from being compared is judged as a whole.
func touchedOnly(hits impact.Impact, changes []impact.Change, tree *spec.Tree) func(file, axis string) bool {
	changed := map[string]bool{}
	for _, c := range changes {
		changed[c.Path], changed[c.Old] = true, true
	}
	some := map[string][]string{}
	for f, axes := range hits.Axes {
		if axes == nil || changed[f] {
			continue
		}
		if src, p := tree.Read(f); p == nil && !asksOfOthers.Match(src) {
			some[f] = axes
		}
	}
	return func(file, axis string) bool {
		axes, ok := some[file]
		return !ok || slices.Contains(axes, axis)
	}
}

// asksOfOthers is found in a file of whose axes one may name another axis, or a rule, that
// there is not.
var asksOfOthers = regexp.MustCompile(impact.Assigned("carries") + "|waive")

// judgeSide judges files of a state, as far as they are there.
func judgeSide(ctx context.Context, s state, files []string, only func(file, axis string) bool, p *progress) (*compare.Side, *run.Summary) {
	slices.Sort(files)
	// What cannot be read must be said, not taken for gone.
	there := slices.DeleteFunc(slices.Compact(files), func(f string) bool { return !s.has(f) })
	out := compare.NewSide()
	p.task("files judged", axisFiles([]*job{{files: there}}, nil))
	return out, run.Files(rules.Book(), s.read.Tree(), there, run.Options{
		Today: midnight(time.Now()), Context: ctx, Done: func(int) { p.add() }, As: run.Look{Each: out.Add, Read: s.read.Take, Only: only},
	})
}

// unreadable is an error where some text cannot be read, since a comparison would be
// wrong. Where its state has a name, places in it are below the root.
func unreadable(sum *run.Summary, show func(spec.Place) spec.Place) error {
	var list []string
	for i := range sum.Findings {
		if f := &sum.Findings[i]; f.OfText() {
			list = append(list, fmt.Sprintf("%s: %s [%s]", show(f.Place), f.Message, f.Rule))
		}
	}
	const most = 5
	if n := len(list) - most; n > 0 {
		list = append(list[:most], fmt.Sprintf("and %d more", n))
	}
	if list == nil {
		return nil
	}
	return manyLines(list)
}

// stateWords name a state within a sentence.
func stateWords(s string) string {
	switch s {
	case gitfs.Worktree:
		return "working tree"
	case gitfs.Index:
		return "staged files"
	}
	return "revision " + s
}

func stateName(s string) string {
	switch s {
	case gitfs.Worktree:
		return "working tree"
	case gitfs.Index:
		return "staged"
	}
	return s
}
