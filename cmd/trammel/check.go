package main

import (
	"context"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/baseline"
	"trammel/cmd/internal/cache"
	"trammel/cmd/internal/codec"
	"trammel/cmd/internal/gitfs"
	"trammel/cmd/internal/report"
	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/expect"
	"trammel/rules/judge/run"
	"trammel/spec"
	"trammel/spec/unit"
)

func checkCommand() *cobra.Command {
	var o checkOptions
	c := &cobra.Command{
		Use:   "check [path...]",
		Short: "Check axes against the rules and print findings",
		Long: `check computes every axis in the given files or folders (subfolders included), checks it
against all rules and prints each finding as file:line:column, with the numbers and the
fixes.

Parts, policies and the machine block come from the folder of the axis file and the
folders above it, up to the root of the repository; without a repository, up to the
current folder. With - one file is read from standard input, as an editor has it before
it is saved; --as gives its path. For parts, a policy or a machine,
name the paths of the axes they apply to as well.

In a git repository --staged checks what the next commit will contain, and --at checks
a revision; neither touches the working tree. --since checks only axes affected by
changes since a revision: to their own file, a part they use, their machine, a policy,
or an axis they carry. Paths limit which changes count; by default all count.

Results of unchanged files are cached in the user's cache folder; the output is the
same with --no-cache. --share checks one part of a split check; trammel merge combines
the JSON of all parts.

--known accepts the findings an old fleet starts with: they are counted, not shown. A
known finding that gets worse is shown again. Entries no longer found are listed so
that you can remove them (--prune).

--expect tests policies and house rules on cases: every finding must have a comment
# expect: RULE "words of the message" on its line, and everything expected must be found;
the words may be left out. Anything else is an error.

Exit status: 0 no finding at or above --fail-at; 1 findings; 2 the check could not run,
or there were no spec files (see --allow-empty).

` + described(checkForms) + caution,
		Example: `  trammel check machines/slicer
  trammel check --form json machines/ > findings.json
  trammel check --staged --since HEAD
  trammel check --since main --write sarif=findings.sarif
  trammel check - --as machines/slicer/lift.axis.hcl < draft.hcl`,
		RunE: func(c *cobra.Command, args []string) error {
			for _, name := range []string{"at", "since"} {
				if f := c.Flags().Lookup(name); f.Changed && f.Value.String() == "" {
					return fmt.Errorf("--%s is empty; give a revision, for example --%s HEAD", name, name)
				}
			}
			return o.run(c.Context(), args, c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	f := c.Flags()
	o.flags(c)
	f.BoolVar(&o.noFixes, "no-fixes", false, "do not search for fixes (faster)")
	f.BoolVar(&o.askQuantities, "quantities", false, fmt.Sprintf("put computed quantities in the JSON even of more than %d axis files", report.ManyAxes))
	f.BoolVar(&o.noQuantities, "no-quantities", false, "leave computed quantities out of the JSON: a much smaller file")
	f.BoolVar(&o.noCache, "no-cache", false, "judge every file again; read and write no cache")
	f.StringVar(&o.share, "share", "", "check one part of a split check, such as 2/5; write JSON for trammel merge")
	f.StringVar(&o.as, "as", "", "path of the file read from standard input")
	f.BoolVar(&o.allowEmpty, "allow-empty", false, "exit with 0 if there are no spec files")
	f.BoolVar(&o.staged, "staged", false, "check what is staged for the next commit")
	f.StringVar(&o.at, "at", "", "check this revision")
	f.StringVar(&o.since, "since", "", "check only axes affected by changes since this revision")
	f.BoolVar(&o.expect, "expect", false, "compare findings with the comments # expect: in the files, for testing policies and house rules")
	f.StringVar(&o.known, "known", "", "list of accepted findings; they are counted, not shown")
	f.BoolVar(&o.record, "record", false, "add all current findings to the --known list")
	f.BoolVar(&o.prune, "prune", false, "remove from the --known list what is no longer found")
	f.StringVar(&o.today, "today", "", "date used to judge waivers (default today)")
	f.IntVar(&o.workers, "workers", 0, "number of files judged in parallel (default: one per processor)")
	return c
}

type checkOptions struct {
	pageOptions
	noFixes, noQuantities, askQuantities, noCache, staged, allowEmpty, record, prune, expect bool
	as, at, since, known, today, share                                                       string
	workers                                                                                  int
	repo                                                                                     *gitfs.Repo // is open already
	merged                                                                                   []string    // commits that a merge under way brings in
	quiet                                                                                    bool        // say nothing where there is nothing to judge
	seen                                                                                     func(*job)  // is told what is checked, before it is
}

// parseToday reads --today; without it, it is today.
func parseToday(text string) (time.Time, error) {
	if text == "" {
		return midnight(time.Now()), nil
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return day, fmt.Errorf("--today %q is not a date; write it as 2027-06-30", text)
	}
	return midnight(day), nil
}

// workersWithin bounds --workers.
func workersWithin(n int) error {
	if n < 0 || n > 1024 {
		return fmt.Errorf("--workers %d is out of range; give a number from 1 to 1024", n)
	}
	return nil
}

// run checks: the options are read, the files found, judged, compared with the list of
// known findings, and written.
func (o *checkOptions) run(ctx context.Context, args []string, in io.Reader, out, errOut io.Writer) error {
	r, err := o.read(ctx, out, errOut)
	if err != nil {
		return err
	}
	closeGit, err := r.plan(args, in)
	if err != nil {
		return err
	}
	defer closeGit()
	defer r.axes.Close()
	for _, j := range r.jobs {
		if o.seen != nil {
			o.seen(j)
		}
	}
	if o.quiet && !slices.ContainsFunc(r.jobs, func(j *job) bool { return len(j.files)+len(j.problems) > 0 }) {
		return nil
	}
	if err := r.judge(); err != nil {
		return err
	}
	view := &report.Run{Summary: r.total, Waived: o.waived, Every: o.every, Source: sourceOf(r.jobs), Line: r.line}
	if err := o.applyKnown(view, r.verdicts, r.nameInTree, roots(r.jobs), errOut); err != nil {
		return err
	}
	empty, err := r.empty()
	if err != nil {
		return err
	}
	if o.expect {
		if view.Closing, err = r.expecting.closing(r.total.Axes); err != nil {
			return err
		}
	}
	result := status(view, r.show.level, r.show.unjudged)
	if err := writeAll(ctx, r.show.outputs, r.page(view, result), r.show.colored, out, roots(r.jobs)); err != nil {
		return err
	}
	if empty != "" {
		sanitize.Fprintf(errOut, "trammel: %s\n", empty)
	}
	return result
}

// A checkRun is a check under way.
type checkRun struct {
	*checkOptions
	ctx    context.Context
	errOut io.Writer
	show   *showing
	today  time.Time
	part   *share // nil for a whole check
	jobs   []*job

	quantities bool // of the axes are wanted
	total      *run.Summary
	verdicts   *baseline.Verdicts
	expecting  expecting
	axes       *report.Axes // nil where no form shows them
}

func (o *checkOptions) fromGit() bool { return o.staged || o.at != "" || o.since != "" }

// read reads the options.
func (o *checkOptions) read(ctx context.Context, out, errOut io.Writer) (*checkRun, error) {
	r := &checkRun{checkOptions: o, ctx: ctx, errOut: errOut, total: &run.Summary{}, verdicts: &baseline.Verdicts{}}
	var err error
	if r.show, err = o.pageOptions.read(out); err != nil {
		return nil, err
	}
	if err := o.expectOptions(); err != nil {
		return nil, err
	}
	if r.today, err = parseToday(o.today); err != nil {
		return nil, err
	}
	if err := workersWithin(o.workers); err != nil {
		return nil, err
	}
	if (o.record || o.prune) && o.known == "" {
		return nil, errors.New("--record and --prune change a list; name it with --known FILE")
	}
	if o.noQuantities && o.askQuantities {
		return nil, errors.New("--quantities and --no-quantities contradict each other; give one")
	}
	r.axes, r.quantities = r.show.keep(), !o.noQuantities && r.show.needs(needsQuantities)
	r.part, err = o.parseShare(r.show.outputs)
	return r, err
}

// plan finds what is to be checked; who calls it closes what it opened.
func (r *checkRun) plan(args []string, in io.Reader) (closeGit func(), err error) {
	closeGit = func() {}
	err = until(r.ctx, func() (err error) {
		if !r.fromGit() {
			r.jobs, err = plan(args, r.as, in)
			return err
		}
		j, done, err := planGit(r.ctx, r.repo, args, r.staged, r.at, r.since, r.merged...)
		if err == nil {
			r.jobs, closeGit = []*job{j}, done
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	switch {
	case r.part != nil && len(r.jobs) != 1:
		err = errors.New("--share splits the check of one repository or folder; these paths are in several: check each separately")
	case r.record || r.prune:
		if no := atomicfile.Allowed(r.known, roots(r.jobs)...); no != nil {
			err = notWritten(r.known, no)
		}
	}
	if err != nil {
		closeGit()
		return nil, err
	}
	r.leaveOut()
	r.verdicts.Whole = len(r.jobs) == 1 && r.jobs[0].whole && r.since == ""
	return closeGit, nil
}

// leaveOut leaves the computed quantities of many files out where nobody requested them:
// they are nine tenths of the document.
func (r *checkRun) leaveOut() {
	n := 0
	for _, j := range r.jobs {
		for _, name := range j.files {
			if strings.HasSuffix(name, spec.AxisSuffix) && path.Base(name) != spec.MachineFile {
				n++
			}
		}
	}
	if r.quantities && !r.askQuantities && n > toldFiles {
		r.quantities = false
		sanitize.Fprintf(r.errOut, "trammel: %d axis files: the JSON has no computed quantities; add --quantities if you need them\n", n)
	}
}

// toldFiles is for how many axis files at most quantities are told unasked.
var toldFiles = report.ManyAxes // a test sets it lower

// judge judges all jobs.
func (r *checkRun) judge() error {
	progress := newProgress(r.errOut)
	defer progress.end()
	var owns func(string) bool
	if r.part != nil {
		owns = r.part.owns
	}
	progress.task("files judged", axisFiles(r.jobs, owns))
	for _, j := range r.jobs {
		opt := r.options(j, progress)
		var set *expect.Set
		if r.expect {
			set = j.expected()
			opt.As, opt.Fixes = run.Look{Only: j.only, Read: j.read, Each: set.Look}, false
		}
		store := r.cachedOf(j, opt.Fixes)
		if store != nil {
			opt.As = run.Remember{Cache: store}
		}
		var sum *run.Summary
		err := until(r.ctx, func() error {
			sum = run.Files(rules.Book(), j.tree, j.files, opt)
			return nil
		})
		if err != nil {
			if store != nil {
				store.Abandon()
			}
			return err
		}
		if store != nil {
			if err := store.Close(); err != nil {
				notCached(r.errOut, err)
			}
		}
		for _, name := range j.files {
			if strings.HasSuffix(name, spec.PolicySuffix) {
				j.problems = append(j.problems, j.tree.Waived(name)...)
			}
		}
		for _, p := range j.problems {
			if opt.Owns == nil || opt.Owns(p.Place.File) {
				sum.Findings = append(sum.Findings, judge.FindingOf(p))
			}
		}
		if set != nil {
			r.expecting.hold(set, sum)
		}
		sum.Place(j.Show)
		r.total.Merge(sum)
	}
	r.total.Sort()
	return nil
}

// options are those of the run over a job.
func (r *checkRun) options(j *job, progress *progress) run.Options {
	look := run.Look{Only: j.only, Read: j.read}
	if r.known != "" {
		look.Each = r.verdicts.Add
	}
	opt := run.Options{
		Today: r.today, Fixes: !r.noFixes, Workers: r.workers, Whole: j.whole, Context: r.ctx, Done: func(int) { progress.add() }, As: look,
		LetGo: r.seen == nil, // who is told of the job may use its tree
	}
	if r.part != nil {
		opt.Owns = r.part.owns
	}
	if r.show.writes("text") {
		opt.Line = j.lines.note
	}
	if r.axes != nil {
		opt.Note = func(rep *judge.Report) any { return report.AxisOf(rep, r.quantities) }
		opt.Noted = func(note any) { r.axes.Add(note.(*report.Axis), &j.From) }
	}
	return opt
}

// cachedOf opens what is cached of a job; nil where that would be of no use.
func (r *checkRun) cachedOf(j *job, fixes bool) *cache.Store {
	if r.noCache || r.fromGit() || r.known != "" || r.expect || j.unsaved || j.only != nil || len(j.files) < fewFiles && modelBytes(j) < manyModelBytes {
		return nil
	}
	return openStore(r.errOut, roots(r.jobs), j.root, strings.Join(j.dirs, "\x00"), fmt.Sprint(fixes, r.axes != nil, r.quantities), r.share)
}

// nameInTree is the name below its root of a file as it is shown.
func (r *checkRun) nameInTree(shown string) string {
	for _, j := range r.jobs {
		if n, ok := j.InTree(shown); ok {
			return n
		}
	}
	return shown
}

// empty says that there was nothing to check, if so; an error where that is a failure.
func (r *checkRun) empty() (string, error) {
	if len(r.total.Findings) > 0 || slices.ContainsFunc(r.jobs, func(j *job) bool { return len(j.files) > 0 }) {
		return "", nil
	}
	switch {
	case r.since != "":
		return "nothing to check: changes since " + r.since + " affect no axis", nil
	case r.staged || r.allowEmpty || r.part != nil:
		return noSpecFiles, nil
	}
	return "", errors.New(noSpecFiles + "; if that is intended, add --allow-empty")
}

// page is what is written of a check that ends with result.
func (r *checkRun) page(view *report.Run, result error) *page {
	p := &page{run: view, axes: r.axes, meta: report.Meta{Version: version(), Name: r.nameInTree, FailAt: r.show.level, Exit: exitOf(result)}}
	if r.part == nil {
		return p
	}
	j := r.jobs[0]
	p.share = &report.Share{
		Number: r.part.number, Of: r.part.of, Version: version(), Day: r.today.Format(time.DateOnly), Fixes: !r.noFixes, Quantities: r.quantities,
		Whole: j.whole, Tree: hex.EncodeToString(treeDigest(j)), From: j.From,
	}
	p.share.Fill(view)
	return p
}

const noSpecFiles = "no spec files (*.axis.hcl, *.parts.hcl, *.policy.hcl) found"

// fewFiles is the number of spec files below which a run does not look for what
// is cached: judging them takes no longer.
var fewFiles = 100 // a test sets it lower

// manyModelBytes is how much of models it takes longer to read than to look for what is
// cached.
const manyModelBytes = 1 << 20

var modelLine = regexp.MustCompile(`\bmodel\s*=\s*"([^"]+)"`)

// modelBytes is how large the models are that the files of a job seem to name.
func modelBytes(j *job) (n int64) {
	for _, name := range j.files {
		src, _ := j.tree.Read(name)
		for _, m := range modelLine.FindAllSubmatch(src, -1) {
			if info, err := fs.Stat(j.tree.FS(), path.Join(path.Dir(name), string(m[1]))); err == nil && info.Mode().IsRegular() {
				n += info.Size()
			}
		}
	}
	return n
}

// openStore opens what is cached of a way of asking, in no folder of the
// trees that are checked; nil where nothing can
// be, which is said and changes nothing else.
func openStore(errOut io.Writer, trees []string, asked ...string) *cache.Store {
	dir, err := cache.Folder()
	if err != nil {
		notCached(errOut, err)
		return nil
	}
	s, err := cache.Open(dir, trees, cache.Notes{
		Encode: func(w *codec.Writer, note any) { note.(*report.Axis).Encode(w) },
		Decode: func(r *codec.Reader) any { return report.DecodeAxis(r) },
	}, asked...)
	if err != nil {
		notCached(errOut, err)
		return nil
	}
	return s
}

func notCached(errOut io.Writer, err error) {
	sanitize.Fprintf(errOut, "trammel: nothing is cached for the next run: %v (--no-cache for no such attempt)\n", atomicfile.Reason(err))
}

// A share is one of several that a check is split into, by the folders of the
// files.
type share struct{ number, of int }

// maxShares is how many a check can be split into.
const maxShares = 1000

// parseShare reads --share; nil where there is none.
func (o *checkOptions) parseShare(outputs []output[*page]) (*share, error) {
	if o.share == "" {
		return nil, nil
	}
	number, of, ok := strings.Cut(o.share, "/")
	s := &share{}
	var err, err2 error
	s.number, err = strconv.Atoi(number)
	s.of, err2 = strconv.Atoi(of)
	switch {
	case !ok || err != nil || err2 != nil || s.of < 1 || s.of > maxShares || s.number < 1 || s.number > s.of:
		return nil, fmt.Errorf("--share %q is not a part of a split check; write part/parts, such as 2/5, with up to %d parts", o.share, maxShares)
	case o.since != "" || o.known != "":
		return nil, errors.New("--share cannot be combined with --since or --known, which need the whole check")
	case o.as != "":
		return nil, errors.New("--share cannot be combined with --as")
	case slices.ContainsFunc(outputs, func(w output[*page]) bool { return w.name != "json" }):
		return nil, errors.New("--share writes only JSON; use --form json, then trammel merge for the other forms")
	}
	return s, nil
}

// owns reports whether a folder belongs to the share. That hangs on its path
// alone, so that a new folder moves no other one.
func (s *share) owns(folder string) bool {
	d := spec.DigestOf("share", folder)
	return binary.BigEndian.Uint64(d[:])%uint64(s.of) == uint64(s.number-1)
}

// treeDigest names the files of a job, so that shares of different states do
// not go together.
func treeDigest(j *job) []byte {
	d := spec.DigestOf(slices.Sorted(slices.Values(j.files))...)
	return d[:8]
}

// applyKnown marks the findings that are on the list of known ones, and changes
// the list where that was requested.
func (o *checkOptions) applyKnown(view *report.Run, verdicts *baseline.Verdicts, name func(string) string, trees []string, errOut io.Writer) error {
	if o.known == "" {
		return nil
	}
	list, err := baseline.Open(o.known, trees...)
	switch {
	case errors.Is(err, fs.ErrNotExist) && o.record:
		list = &baseline.List{}
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("the list %s does not exist; trammel check --known %s --record creates it", o.known, o.known)
	case err != nil:
		return err // it names the file
	}
	fatal := slices.ContainsFunc(view.Findings, func(f judge.Finding) bool { return f.Fatal() })
	m := list.Match(view.Findings, baseline.Options{Name: name, Checked: verdicts.Checked})
	if (o.record || o.prune) && fatal {
		return errors.New("the list of known findings was not changed because some files could not be read; fix those first")
	}
	if o.record || o.prune {
		var added, taken int
		err := baseline.Update(o.known, func(l *baseline.List) error {
			if o.prune {
				taken = l.Prune(m.Stale)
			}
			if o.record {
				added = l.Record(view.Findings, name)
			}
			list = l
			return nil
		}, trees...)
		if err != nil {
			return err
		}
		sanitize.Fprintf(errOut, "trammel: %s: %d added to the list, %d removed\n", o.known, added, taken)
		m = list.Match(view.Findings, baseline.Options{Name: name, Checked: verdicts.Checked})
	}
	view.Known = m.Known
	for _, i := range slices.Sorted(maps.Keys(m.Worse)) {
		f := &view.Findings[i]
		f.Message += fmt.Sprintf(" (known, but worse: %s of the limit used, %s on the list)", percentOf(f.Utilisation), percentOf(m.Worse[i]))
	}
	for _, e := range m.Stale {
		sanitize.Fprintf(errOut, "trammel: %s: %s of %s %s (%s) is no longer found; remove it with --prune\n", o.known, e.Rule, e.Where, e.Axis, e.Cause)
	}
	return nil
}

func percentOf(use float64) string { return unit.Format(use, unit.Percentage, unit.Metric) }

// line is what the run has told of the line on which a shown place begins.
func (r *checkRun) line(at spec.Place) (string, bool) {
	for _, j := range r.jobs {
		if name, ok := j.InTree(at.File); ok {
			if line, ok := j.lines.all[lineOf{name, at.Line}]; ok {
				return line, true
			}
		}
	}
	return "", false
}

func sourceOf(jobs []*job) func(string) []byte {
	return func(shown string) []byte {
		for _, j := range jobs {
			if name, ok := j.InTree(shown); ok {
				if src, p := j.tree.Read(name); p == nil {
					return src
				}
			}
		}
		return nil
	}
}
