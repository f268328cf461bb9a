package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/fatih/color"
	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"

	"trammel/cmd/internal/known"
	"trammel/cmd/internal/report"
	"trammel/cmd/internal/whole"
	"trammel/rules"
	"trammel/spec/unit"
)

func checkCommand() *cobra.Command {
	var o checkOptions
	c := &cobra.Command{
		Use:   "check [path...]",
		Short: "Check axes and print what does not hold",
		Long: `check reads the spec files in the given folders and below, or the files given,
computes every axis and prints what does not hold as file:line:col findings, with
the numbers and the ways out.

Parts, policies and the machine block are looked for in the folder of each file and
above, up to the root of the repository; without a repository up to the current
folder. With - one axis file is read from standard input; --as says where it stands.

In a git repository --staged checks what is about to be committed and --at a
revision, both without touching the working tree. --since checks only the axes that
changes since a revision touch: by their own file, a part they use, their machine, a
policy, or an axis they carry. Paths then say which changes count; without any, all
of the repository do.

A list of known findings (--known) lets an old fleet start with nothing new. A known
finding that got worse is new again; entries no longer found are named, so that the
list only shrinks.

Exit status: 0 nothing at or above the level of --fail-at, 1 findings, 2 the tool
could not do its job.

` + caution,
		Example: `  trammel check machines/slicer
  trammel check --form json machines/ > findings.json
  trammel check --staged --since HEAD
  trammel check --since main --write sarif=findings.sarif
  trammel check - --as machines/slicer/lift.axis.hcl < draft.hcl`,
		RunE: func(c *cobra.Command, args []string) error {
			return o.run(args, c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	f := c.Flags()
	f.StringVar(&o.form, "form", "text", "form of the output: "+strings.Join(forms, ", "))
	f.StringArrayVar(&o.write, "write", nil, "also write the output to a file, as FORM=FILE; may be given several times")
	f.BoolVar(&o.noWays, "no-ways", false, "do not look for ways out of findings")
	f.BoolVar(&o.waived, "waived", false, "show waived findings too")
	f.StringVar(&o.as, "as", "", "with -: the path at which the text stands")
	f.BoolVar(&o.staged, "staged", false, "check what is staged for the next commit")
	f.StringVar(&o.at, "at", "", "check this revision")
	f.StringVar(&o.since, "since", "", "check only axes touched by changes since this revision")
	f.StringVar(&o.known, "known", "", "list of known findings; they are counted but not shown")
	f.BoolVar(&o.record, "record", false, "put all present findings on the --known list")
	f.BoolVar(&o.prune, "prune", false, "take what is no longer found off the --known list")
	f.StringVar(&o.failAt, "fail-at", "error", "lowest level that makes the exit status 1: error, warning, note or unjudged")
	f.StringVar(&o.color, "color", "auto", "colour the output: auto, always or never")
	f.StringVar(&o.today, "today", "", "the day waivers are held against, as 2027-06-30 (default: today)")
	f.IntVar(&o.workers, "workers", 0, "how many axes to judge at once (default: one for each processor)")
	return c
}

var forms = []string{"text", "json", "sarif", "junit", "annotations"}

type checkOptions struct {
	noWays, waived, staged, record, prune            bool
	form, as, at, since, known, failAt, color, today string
	write                                            []string
	workers                                          int
}

// An output is one form of the output and where it goes; "" is standard output.
type output struct{ form, file string }

// parseOutputs reads --form and --write, given the forms there are and an
// example of --write.
func parseOutputs(form string, write, forms []string, example string) ([]output, error) {
	list := []output{{form, ""}}
	for _, w := range write {
		form, file, ok := strings.Cut(w, "=")
		if !ok || file == "" {
			return nil, fmt.Errorf("--write takes FORM=FILE, such as %s, not %q", example, w)
		}
		if slices.ContainsFunc(list, func(l output) bool { return l.file == file }) {
			return nil, fmt.Errorf("--write names the file %s twice", file)
		}
		list = append(list, output{form, file})
	}
	for _, l := range list {
		if !slices.Contains(forms, l.form) {
			return nil, fmt.Errorf("there is no form %q; there are %s", l.form, strings.Join(forms, ", "))
		}
	}
	return list, nil
}

// parseToday reads --today; without it, it is today.
func parseToday(text string) (time.Time, error) {
	if text == "" {
		return midnight(time.Now()), nil
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return day, fmt.Errorf("--today takes a day such as 2027-06-30, not %q", text)
	}
	return midnight(day), nil
}

// workersWithin bounds --workers.
func workersWithin(n int) error {
	if n < 0 || n > 1024 {
		return errors.New("--workers takes a number from 1 to 1024")
	}
	return nil
}

func (o *checkOptions) run(args []string, in io.Reader, out, errOut io.Writer) error {
	colored, err := useColor(o.color, out)
	if err != nil {
		return err
	}
	level, unjudged, err := failLevel(o.failAt)
	if err != nil {
		return err
	}
	outputs, err := parseOutputs(o.form, o.write, forms, "sarif=findings.sarif")
	if err != nil {
		return err
	}
	today, err := parseToday(o.today)
	if err != nil {
		return err
	}
	if err := workersWithin(o.workers); err != nil {
		return err
	}
	if (o.record || o.prune) && o.known == "" {
		return errors.New("--record and --prune need --known FILE, the list to change")
	}
	var jobs []*job
	if o.staged || o.at != "" || o.since != "" {
		j, _, done, err := planGit(args, o.staged, o.at, o.since)
		if err != nil {
			return err
		}
		defer done()
		jobs = []*job{j}
	} else if jobs, err = plan(args, o.as, in); err != nil {
		return err
	}
	total := &rules.Summary{}
	verdicts := &known.Verdicts{}
	var axes []*report.Axis
	var mu sync.Mutex
	withQuantities := slices.ContainsFunc(outputs, func(w output) bool { return w.form == "json" })
	plainAxes := slices.ContainsFunc(outputs, func(w output) bool { return w.form == "junit" })
	verdicts.Whole = len(jobs) == 1 && jobs[0].whole && o.since == ""
	for _, j := range jobs {
		opt := rules.Options{Today: today, Ways: !o.noWays, Workers: o.workers, Source: j.source, Whole: j.whole, Only: j.only}
		opt.Each = func(rep *rules.Report) {
			if o.known != "" {
				verdicts.Add(rep)
			}
			if !withQuantities && !plainAxes {
				return
			}
			of := report.PlainAxisOf
			if withQuantities {
				of = report.AxisOf
			}
			a := of(rep, j.show)
			mu.Lock()
			axes = append(axes, a)
			mu.Unlock()
		}
		sum := rules.Run(j.tree, j.files, opt)
		for _, p := range j.problems {
			sum.Findings = append(sum.Findings, rules.FindingOf(p))
		}
		sum.Place(j.show)
		total.Merge(sum)
	}
	total.Sort()
	name := func(shown string) string {
		for _, j := range jobs {
			if n, ok := j.inTree(shown); ok {
				return n
			}
		}
		return shown
	}
	view := &report.Run{Summary: total, Waived: o.waived, Source: sourceOf(jobs)}
	if err := o.applyKnown(view, verdicts, name, errOut); err != nil {
		return err
	}
	result := status(view, level, unjudged)
	meta := report.Meta{Version: version(), Name: name, FailAt: level}
	var code exitCode
	if errors.As(result, &code) {
		meta.Exit = int(code)
	}
	for _, w := range outputs {
		err := writeRendered(w.file, out, func(to io.Writer) error {
			switch w.form {
			case "json":
				return report.JSON(to, view, axes)
			case "sarif":
				return report.SARIF(to, view, meta)
			case "junit":
				return report.JUnit(to, view, axes, meta)
			case "annotations":
				return report.Annotations(to, view, meta)
			}
			return report.Text(to, view, colored && w.file == "")
		})
		if err != nil {
			return err
		}
	}
	files := 0
	for _, j := range jobs {
		files += len(j.files)
	}
	if files == 0 && len(total.Findings) == 0 {
		if o.since != "" {
			fmt.Fprintf(errOut, "trammel: nothing to check: what changed since %s touches no axis\n", o.since)
		} else {
			fmt.Fprintln(errOut, "trammel: no spec files (*.axis.hcl, *.parts.hcl, *.policy.hcl) here")
		}
	}
	return result
}

// writeOut has a file of output written as a whole. A link stays one, and what
// is no ordinary file, such as a device, is written to as it is.
func writeOut(name string, render func(io.Writer) error) error {
	target := name
	if real, err := filepath.EvalSymlinks(name); err == nil {
		target = real
	}
	var err error
	if info, serr := os.Stat(target); serr == nil && !info.Mode().IsRegular() {
		var f *os.File
		if f, err = os.OpenFile(target, os.O_WRONLY, 0); err == nil {
			err = errors.Join(render(f), f.Close())
		}
	} else {
		err = whole.Write(target, render)
	}
	if err != nil && !errors.Is(err, errInterrupted) {
		return fmt.Errorf("%s is not written: %w", name, whole.Reason(err))
	}
	return err
}

// writeBytes writes output that is made already, to a file or, without a name,
// to standard output.
func writeBytes(name string, out io.Writer, data []byte) error {
	return writeRendered(name, out, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// writeRendered has output rendered into a file or, without a name, to standard
// output.
func writeRendered(name string, out io.Writer, render func(io.Writer) error) error {
	if name != "" {
		return writeOut(name, render)
	}
	b := bufio.NewWriter(out)
	if err := render(b); err != nil {
		return err
	}
	return b.Flush()
}

// applyKnown marks the findings that are on the list of known ones, and changes
// the list where that was asked for.
func (o *checkOptions) applyKnown(view *report.Run, verdicts *known.Verdicts, name func(string) string, errOut io.Writer) error {
	if o.known == "" {
		return nil
	}
	list, err := known.Open(o.known)
	switch {
	case errors.Is(err, fs.ErrNotExist) && o.record:
		list = &known.List{}
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("there is no list %s; --record makes it", o.known)
	case err != nil:
		return err // it names the file
	}
	fatal := slices.ContainsFunc(view.Findings, func(f rules.Finding) bool { return f.Fatal() })
	m := list.Match(view.Findings, known.Options{Name: name, Checked: verdicts.Checked})
	if (o.record || o.prune) && fatal {
		return errors.New("the list of known findings is left as it is: not everything could be read")
	}
	if o.record || o.prune {
		var added, taken int
		err := known.Update(o.known, func(l *known.List) error {
			if o.prune {
				taken = l.Prune(m.Stale)
			}
			if o.record {
				added = l.Record(view.Findings, name)
			}
			list = l
			return nil
		})
		if err != nil {
			return err
		}
		fmt.Fprintf(errOut, "trammel: %s: %d put on the list, %d taken off\n", o.known, added, taken)
		m = list.Match(view.Findings, known.Options{Name: name, Checked: verdicts.Checked})
	}
	view.Known = m.Known
	for _, i := range slices.Sorted(maps.Keys(m.Worse)) {
		f := &view.Findings[i]
		f.Message += fmt.Sprintf(" (known, but it got worse: %s of the limit used, %s on the list)", percentOf(f.Use), percentOf(m.Worse[i]))
	}
	for _, e := range m.Stale {
		fmt.Fprintf(errOut, "trammel: %s: %s of %s %s (%s) is no longer found; --prune takes it off the list\n", o.known, e.Rule, e.Where, e.Axis, e.Cause)
	}
	return nil
}

func percentOf(use float64) string { return unit.Format(use, unit.Percentage, unit.Metric) }

// status turns what was found into the exit status.
func status(s *report.Run, level rules.Severity, unjudged bool) error {
	code := exitClean
	for i := range s.Findings {
		f := &s.Findings[i]
		if f.Waiver != nil || s.Known[i] {
			continue
		}
		if f.Fatal() {
			return exitCode(exitFailed)
		}
		if f.Severity >= level {
			code = exitFindings
		}
	}
	if unjudged && s.Unjudged > 0 {
		code = exitFindings
	}
	if code == exitClean {
		return nil
	}
	return exitCode(code)
}

func failLevel(word string) (rules.Severity, bool, error) {
	if word == "unjudged" {
		return rules.Note, true, nil
	}
	s, ok := rules.ParseSeverity(word)
	if !ok || s == rules.Off {
		return 0, false, fmt.Errorf("--fail-at takes error, warning, note or unjudged, not %q", word)
	}
	return s, false, nil
}

// useColor decides for one stream: the option, then NO_COLOR, then
// CLICOLOR_FORCE, then TERM=dumb, then whether it is a terminal.
func useColor(option string, out io.Writer) (bool, error) {
	color.NoColor = false // decided here, not by the state of standard output
	switch option {
	case "always":
		return true, nil
	case "never":
		return false, nil
	case "auto":
	default:
		return false, fmt.Errorf("--color takes auto, always or never, not %q", option)
	}
	if os.Getenv("NO_COLOR") != "" {
		return false, nil
	}
	if v := os.Getenv("CLICOLOR_FORCE"); v != "" && v != "0" {
		return true, nil
	}
	if os.Getenv("TERM") == "dumb" {
		return false, nil
	}
	f, ok := out.(*os.File)
	return ok && isatty.IsTerminal(f.Fd()), nil
}

func sourceOf(jobs []*job) func(string) []byte {
	return func(shown string) []byte {
		for _, j := range jobs {
			if name, ok := j.inTree(shown); ok {
				if src, ok := j.source[name]; ok {
					return src
				}
				if src, p := j.tree.Read(name); p == nil {
					return src
				}
			}
		}
		return nil
	}
}
