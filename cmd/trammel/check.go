package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"github.com/fatih/color"
	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"

	"trammel/cmd/internal/report"
	"trammel/rules"
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

Exit status: 0 nothing at or above the level of --fail-at, 1 findings, 2 the tool
could not do its job.

` + caution,
		Example: `  trammel check machines/slicer
  trammel check --json machines/ > findings.json
  trammel check - --as machines/slicer/lift.axis.hcl < draft.hcl`,
		RunE: func(c *cobra.Command, args []string) error {
			return o.run(args, c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	f := c.Flags()
	f.BoolVar(&o.json, "json", false, "write one JSON document with findings and every computed quantity")
	f.BoolVar(&o.noWays, "no-ways", false, "do not look for ways out of findings")
	f.BoolVar(&o.waived, "waived", false, "show waived findings too")
	f.StringVar(&o.as, "as", "", "with -: the path at which the text stands")
	f.StringVar(&o.failAt, "fail-at", "error", "lowest level that makes the exit status 1: error, warning, note or unjudged")
	f.StringVar(&o.color, "color", "auto", "colour the output: auto, always or never")
	f.StringVar(&o.today, "today", "", "the day waivers are held against, as 2027-06-30 (default: today)")
	f.IntVar(&o.workers, "workers", 0, "how many axes to judge at once (default: one for each processor)")
	return c
}

type checkOptions struct {
	json, noWays, waived     bool
	as, failAt, color, today string
	workers                  int
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
	today := time.Now()
	if o.today != "" {
		if today, err = time.Parse(time.DateOnly, o.today); err != nil {
			return fmt.Errorf("--today takes a day such as 2027-06-30, not %q", o.today)
		}
	}
	today = midnight(today)
	if o.workers < 0 || o.workers > 1024 {
		return fmt.Errorf("--workers takes a number from 1 to 1024")
	}
	jobs, err := plan(args, o.as, in)
	if err != nil {
		return err
	}
	total := &rules.Summary{}
	var axes []*report.Axis
	var mu sync.Mutex
	for _, j := range jobs {
		opt := rules.Options{Today: today, Ways: !o.noWays, Workers: o.workers, Source: j.source, Whole: j.whole}
		if o.json {
			opt.Each = func(rep *rules.Report) {
				a := report.AxisOf(rep, j.show)
				mu.Lock()
				axes = append(axes, a)
				mu.Unlock()
			}
		}
		sum := rules.Run(j.tree, j.files, opt)
		for _, p := range j.problems {
			sum.Findings = append(sum.Findings, rules.FindingOf(p))
		}
		sum.Place(j.show)
		total.Merge(sum)
	}
	total.Sort()
	view := &report.Run{Summary: total, Waived: o.waived, Source: sourceOf(jobs)}
	if o.json {
		err = report.JSON(out, view, axes)
	} else {
		err = report.Text(out, view, colored)
	}
	if err != nil {
		return err
	}
	files := 0
	for _, j := range jobs {
		files += len(j.files)
	}
	if files == 0 && len(total.Findings) == 0 {
		fmt.Fprintln(errOut, "trammel: no spec files (*.axis.hcl, *.parts.hcl, *.policy.hcl) here")
	}
	return status(total, level, unjudged)
}

// status turns what was found into the exit status.
func status(s *rules.Summary, level rules.Severity, unjudged bool) error {
	code := exitClean
	for i := range s.Findings {
		f := &s.Findings[i]
		if f.Waiver != nil {
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
