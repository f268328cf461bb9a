package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"

	"trammel/cmd/internal/audit"
	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
)

func auditCommand() *cobra.Command {
	var o auditOptions
	c := &cobra.Command{
		Use:   "audit [path...]",
		Short: "Say what is dangerous, worn, unknown and doubled in a fleet",
		Long: `audit judges every axis in the given folders and below and sums up the fleet:
lifting axes without a brake that holds, the worst axes, life running out, findings by
rule and by machine, the few missing lines that would let most be judged, screws that
one could replace, the regreasing work of the next twelve months, expired waivers, and
files that could not be read.

The remaining life needs the age: commissioned or hours_so_far in the duty block.

The forms are text (a summary), json, csv (one row an axis) and html (one page for a
browser that needs no network). --sheets writes the calculation sheet of every axis
into a folder, and the page links to them.

Exit status: 0 a report was made, whatever it says, unless --fail-at asks for 1; 2 nothing
could be read, or the tool could not do its job. Files that cannot be read are listed
in the report and do not keep it from being made.

` + caution,
		Example: `  trammel audit machines/
  trammel audit --form csv machines/ > fleet.csv
  trammel audit --write html=fleet.html --sheets sheets machines/`,
		RunE: func(c *cobra.Command, args []string) error {
			return o.run(c.Context(), args, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	f := c.Flags()
	f.StringVar(&o.form, "form", "text", "form of the output: "+strings.Join(auditForms, ", "))
	f.StringArrayVar(&o.write, "write", nil, "also write the output to a file, as FORM=FILE; may be given several times")
	f.StringVar(&o.sheets, "sheets", "", "write the calculation sheet of every axis as HTML into this folder")
	f.IntVar(&o.top, "top", 10, "how many entries of each list the text shows")
	f.BoolVar(&o.noMerge, "no-merge", false, "do not look for screws that could be one")
	f.StringVar(&o.failAt, "fail-at", "never", "lowest level that makes the exit status 1: error, warning, note, unjudged or never")
	f.StringVar(&o.today, "today", "", "the day everything is held against, as 2027-06-30 (default: today)")
	f.IntVar(&o.workers, "workers", 0, "how many files to judge at once (default: one for each processor)")
	return c
}

var auditForms = []string{"text", "json", "csv", "html"}

type auditOptions struct {
	form, sheets, failAt, today string
	write                       []string
	top, workers                int
	noMerge                     bool
}

func (o *auditOptions) run(ctx context.Context, args []string, out, errOut io.Writer) error {
	outputs, err := parseOutputs(o.form, o.write, auditForms, "html=fleet.html")
	if err != nil {
		return err
	}
	var level judge.Severity
	unjudged, never := false, o.failAt == "never"
	if !never {
		if level, unjudged, err = failLevel(o.failAt); err != nil {
			return fmt.Errorf("--fail-at takes error, warning, note, unjudged or never, not %q", o.failAt)
		}
	}
	today, err := parseToday(o.today)
	if err != nil {
		return err
	}
	if err := workersWithin(o.workers); err != nil {
		return err
	}
	if o.top < 1 {
		return errors.New("--top takes a number from 1 on")
	}
	var jobs []*job
	err = until(ctx, func() (err error) {
		jobs, err = plan(args, "", nil)
		return err
	})
	if err != nil {
		return err
	}
	progress := newProgress(errOut)
	defer progress.end()
	var trees []audit.Tree
	for _, j := range jobs {
		trees = append(trees, audit.Tree{Tree: j.tree, Files: j.files, Source: j.source, Show: j.Show})
	}
	fleet := audit.New(today, trees...)
	// What is judged when an interruption comes is left behind.
	err = until(ctx, func() error {
		for i, j := range jobs {
			sum := run.Files(rules.Book(), j.tree, j.files, run.Options{
				Today: today, Workers: o.workers, Source: j.source, Whole: j.whole, Lean: true,
				Context: ctx, Each: func(rep *judge.Report) { fleet.Add(i, rep) }, Done: func(n int) { progress.count("judged", n) },
			})
			for _, p := range j.problems {
				sum.Findings = append(sum.Findings, judge.FindingOf(p))
			}
			fleet.AddFindings(i, sum.Findings)
		}
		return nil
	})
	if err != nil {
		return err
	}
	fleet.Finish()
	if fleet.Axes() == 0 {
		for i, b := range fleet.Broken() {
			if i == o.top {
				break
			}
			sanitize.Fprintf(errOut, "trammel: %s: %s [%s]\n", b.Place, b.Message, b.Rule)
		}
		return errors.New("no axis could be read, so there is nothing to report")
	}
	if !o.noMerge {
		progress.start("trying screws for one another")
		if err := until(ctx, func() error { fleet.FindMerges(ctx, o.workers); return nil }); err != nil {
			return err
		}
	}
	if o.sheets != "" {
		page := ""
		for _, w := range outputs {
			if w.form == "html" && w.file != "" {
				page = w.file
			}
		}
		if err := o.writeSheets(ctx, fleet, page, roots(jobs), progress); err != nil {
			return err
		}
	}
	progress.end()
	for _, w := range outputs {
		render := func(to io.Writer) error {
			switch w.form {
			case "json":
				return fleet.JSON(to)
			case "csv":
				return fleet.CSV(to)
			case "html":
				return fleet.HTML(to)
			}
			return fleet.Text(to, o.top)
		}
		if err := writeRendered(ctx, w.file, out, roots(jobs), render); err != nil {
			return err
		}
	}
	t := fleet.Totals()
	c := t.Counts
	if !never && (c.Errors > 0 && level <= judge.Error || c.Warnings > 0 && level <= judge.Warning || c.Notes > 0 && level <= judge.Note || unjudged && t.Unjudged > 0) {
		return exitCode(exitFindings)
	}
	return nil
}

// A progress tells a person at a terminal how far it is; it says nothing
// elsewhere.
type progress struct {
	w    io.Writer // nil where nobody watches
	n    atomic.Int64
	mu   sync.Mutex
	what string
	stop chan struct{}
	done chan struct{}
}

func newProgress(w io.Writer) *progress {
	p := &progress{}
	if f, ok := w.(*os.File); ok && isatty.IsTerminal(f.Fd()) && os.Getenv("TERM") != "dumb" {
		p.w = w
	}
	return p
}

// count adds axes.
func (p *progress) count(what string, axes int) {
	if p.n.Add(int64(axes)) == int64(axes) {
		p.start("axes " + what)
	}
}

// start says what is counted from now on.
func (p *progress) start(what string) {
	if p.w == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.what = what
	if p.stop != nil {
		return
	}
	p.stop, p.done = make(chan struct{}), make(chan struct{})
	go p.tick(p.stop, p.done)
}

func (p *progress) tick(stop, done chan struct{}) {
	defer close(done)
	t := time.NewTicker(100 * time.Millisecond)
	defer t.Stop()
	for {
		select {
		case <-stop:
			sanitize.Fprintf(p.w, "\r\x1b[K")
			return
		case <-t.C:
			p.mu.Lock()
			sanitize.Fprintf(p.w, "\r\x1b[K%d %s", p.n.Load(), p.what)
			p.mu.Unlock()
		}
	}
}

// end takes the line away.
func (p *progress) end() {
	p.mu.Lock()
	stop, done := p.stop, p.done
	p.stop = nil
	p.mu.Unlock()
	if stop != nil {
		close(stop)
		<-done
	}
}
