package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/report"
	"trammel/rules/judge"
)

// pageOptions are the options of what is written in the forms of check.
type pageOptions struct {
	outputOptions
	failAt, color string
	waived, every bool
}

func (o *pageOptions) flags(c *cobra.Command) {
	outputFlags(c, &o.outputOptions, checkForms, "text")
	o.levels(c)
}

// levels are the options of how findings are shown and which of them count.
func (o *pageOptions) levels(c *cobra.Command) {
	f := c.Flags()
	f.BoolVar(&o.waived, "waived", false, "show waived findings too")
	f.BoolVar(&o.every, "not-judged", false, "list every missing line, not only those to declare next")
	f.StringVar(&o.failAt, "fail-at", "error", "lowest level that gives exit status 1: error, warning, note, unjudged or never")
	f.StringVar(&o.color, "color", "auto", "colour the output: auto, always or never")
	offer(c, "fail-at", "error", "warning", "note", "unjudged", "never")
	offer(c, "color", "auto", "always", "never")
}

// offer lets the shell complete the values of an option.
func offer(c *cobra.Command, option string, values ...string) {
	if err := c.RegisterFlagCompletionFunc(option, cobra.FixedCompletions(values, cobra.ShellCompDirectiveNoFileComp)); err != nil {
		panic(err) // the command has no such option
	}
}

// A showing is what pageOptions say: where to write what, and which findings
// make the exit status.
type showing struct {
	colored  bool
	level    judge.Severity
	unjudged bool
	outputs  []output[*page]
}

// read reads the options, for the standard output out.
func (o *pageOptions) read(out io.Writer) (*showing, error) {
	var s showing
	var err error
	if s.colored, err = useColor(o.color, out); err != nil {
		return nil, err
	}
	if s.level, s.unjudged, err = failLevel(o.failAt); err != nil {
		return nil, err
	}
	s.outputs, err = outputs(&o.outputOptions, checkForms)
	return &s, err
}

// needs says whether a form shows more than what was found.
func (s *showing) needs(n need) bool {
	return slices.ContainsFunc(s.outputs, func(w output[*page]) bool { return w.form.needs >= n })
}

// writes says whether a form is among those that are written.
func (s *showing) writes(name string) bool {
	return slices.ContainsFunc(s.outputs, func(w output[*page]) bool { return w.form.name == name })
}

// keep is for what the forms show of the axes; nil for nothing.
func (s *showing) keep() *report.Axes {
	if !s.needs(needsAxes) {
		return nil
	}
	return report.NewAxes(s.needs(needsQuantities))
}

func failLevel(word string) (judge.Severity, bool, error) {
	if word == "unjudged" {
		return judge.Note, true, nil
	}
	if word == "never" {
		return judge.Error + 1, false, nil
	}
	s, ok := judge.ParseSeverity(word)
	if !ok || s == judge.Off {
		return 0, false, fmt.Errorf("--fail-at cannot be %q; choose error, warning, note, unjudged or never", word)
	}
	return s, false, nil
}

// useColor decides for one stream: the option, then NO_COLOR, then
// CLICOLOR_FORCE, then TERM=dumb, then whether it is a terminal.
func useColor(option string, out io.Writer) (bool, error) {
	switch option {
	case "always":
		return true, nil
	case "never":
		return false, nil
	case "auto":
	default:
		return false, fmt.Errorf("--color cannot be %q; choose auto, always or never", option)
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
	return isTerminal(out), nil
}

// A page is what is written in the forms of check.
type page struct {
	run   *report.Run
	axes  *report.Axes  // nil where no form shows them
	share *report.Share // nil for a whole check
	meta  report.Meta
}

// exitOf is the exit status that a result ends the program with.
func exitOf(result error) int {
	var code exitCode
	if errors.As(result, &code) {
		return int(code)
	}
	return exitClean
}

// status turns what was found into the exit status.
func status(s *report.Run, level judge.Severity, unjudged bool) error {
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

// writeRendered has output rendered into a file or, without a name, to standard
// output. trees are the roots of what was read: below them no link is followed.
func writeRendered(ctx context.Context, name string, out io.Writer, trees []string, render func(io.Writer) error) error {
	if name != "" {
		return notWritten(name, atomicfile.Write(name, func(w io.Writer) error { return render(&stoppable{w, ctx}) }, trees...))
	}
	b := bufio.NewWriter(&stoppable{out, ctx})
	if err := render(b); err != nil {
		return err
	}
	return b.Flush()
}

// notWritten says of an output why it is not there.
func notWritten(name string, err error) error {
	if err != nil && !errors.Is(err, errInterrupted) {
		return fmt.Errorf("%s was not written: %w", name, atomicfile.Reason(err))
	}
	return err
}
