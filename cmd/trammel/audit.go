package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

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
		Short: "Summarise a fleet: hazards, remaining life, missing data, near-duplicate parts",
		Long: `audit judges every axis in the given folders and subfolders and summarises the fleet:
axes without a sufficient holding brake, worst axes, axes near the end of their life,
findings by rule and by machine, the missing lines that would let the most rules be
judged, screws that one screw could replace, regreasing due in the next twelve months,
expired waivers and unreadable files.

Remaining life needs the age: commissioned or hours_so_far in the duty block.

--sheets also writes the calculation sheet of every axis into a folder; the HTML page
links to them.

Exit status: 0 the report was written, whatever it says; 1 a finding at or above
--fail-at; 2 nothing could be read, or the tool could not do its job. Files that cannot
be read are listed in the report.

` + described(auditForms) + caution,
		Example: `  trammel audit machines/
  trammel audit --form csv machines/ > fleet.csv
  trammel audit --write html=fleet.html --sheets sheets machines/`,
		RunE: func(c *cobra.Command, args []string) error {
			return o.run(c.Context(), args, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	outputFlags(c, &o.outputOptions, auditForms, "text")
	f := c.Flags()
	f.StringVar(&o.sheets, "sheets", "", "write the calculation sheet of every axis as HTML into this folder")
	f.IntVar(&o.top, "top", 10, "number of entries shown in each list of the text form")
	f.BoolVar(&o.noMerge, "no-merge", false, "do not search for near-duplicate screws (faster)")
	f.StringVar(&o.failAt, "fail-at", "never", "lowest level that gives exit status 1: error, warning, note, unjudged or never")
	offer(c, "fail-at", "error", "warning", "note", "unjudged", "never")
	f.StringVar(&o.today, "today", "", "date used to judge waivers, age and regreasing (default today)")
	f.IntVar(&o.workers, "workers", 0, "number of files judged in parallel (default: one per processor)")
	return c
}

type auditOptions struct {
	outputOptions
	sheets, failAt, today string
	top, workers          int
	noMerge               bool
}

// run audits: the options are read, every axis is judged into the fleet, screws are tried
// for one another, and what came of it is written.
func (o *auditOptions) run(ctx context.Context, args []string, out, errOut io.Writer) error {
	list, err := outputs(&o.outputOptions, auditForms)
	if err != nil {
		return err
	}
	asks, today, err := o.read()
	if err != nil {
		return err
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
	fleet, err := o.judge(ctx, jobs, today, progress)
	if err != nil {
		return err
	}
	if fleet.Axes() == 0 {
		for i, b := range fleet.Broken() {
			if i == o.top {
				break
			}
			sanitize.Fprintf(errOut, "trammel: %s: %s [%s]\n", b.Place, b.Message, b.Rule)
		}
		return errors.New("no axis could be read; fix the files named above or name a folder with axis files")
	}
	if !o.noMerge {
		progress.task("searching for near-duplicate screws", 0)
		if err := until(ctx, func() error { fleet.FindMerges(ctx, o.workers); return nil }); err != nil {
			return err
		}
	}
	if o.sheets != "" {
		if err := o.writeSheets(ctx, fleet, fileOf(list, "html"), roots(jobs), progress); err != nil {
			return err
		}
	}
	progress.end()
	if err := writeAll(ctx, list, &auditedFleet{fleet, o.top}, false, out, roots(jobs)); err != nil {
		return err
	}
	if asks(fleet.Totals()) {
		return exitCode(exitFindings)
	}
	return nil
}

// fileOf is the last file a form is written into, "" where there is none.
func fileOf[T any](list []output[T], form string) (file string) {
	for _, w := range list {
		if w.name == form && w.file != "" {
			file = w.file
		}
	}
	return file
}

// read reads the options: what makes the exit status 1, and the day.
func (o *auditOptions) read() (asks func(audit.Totals) bool, today time.Time, err error) {
	asks = func(audit.Totals) bool { return false }
	if o.failAt != "never" {
		level, unjudged, err := failLevel(o.failAt)
		if err != nil {
			return nil, today, fmt.Errorf("--fail-at cannot be %q; choose error, warning, note, unjudged or never", o.failAt)
		}
		asks = func(t audit.Totals) bool {
			c := t.Counts
			return c.Errors > 0 && level <= judge.Error || c.Warnings > 0 && level <= judge.Warning || c.Notes > 0 && level <= judge.Note || unjudged && t.Unjudged > 0
		}
	}
	if today, err = parseToday(o.today); err != nil {
		return nil, today, err
	}
	if err := workersWithin(o.workers); err != nil {
		return nil, today, err
	}
	if o.top < 1 {
		return nil, today, fmt.Errorf("--top %d is out of range; give a number from 1", o.top)
	}
	return asks, today, nil
}

// judge judges every axis of the jobs. What is judged when an interruption comes is left
// behind.
func (o *auditOptions) judge(ctx context.Context, jobs []*job, today time.Time, progress *progress) (*audit.Fleet, error) {
	var trees []audit.Tree
	for _, j := range jobs {
		trees = append(trees, audit.Tree{Tree: j.tree, Files: j.files, Show: j.Show})
	}
	fleet := audit.New(today, trees...)
	err := until(ctx, func() error {
		progress.task("files judged", axisFiles(jobs, nil))
		for i, j := range jobs {
			sum := run.Files(rules.Book(), j.tree, j.files, run.Options{
				Today: today, Workers: o.workers, Whole: j.whole, Context: ctx, Done: func(int) { progress.add() }, As: run.Look{Lean: true, Each: func(rep *judge.Report) { fleet.Add(i, rep) }},
			})
			for _, p := range j.problems {
				sum.Findings = append(sum.Findings, judge.FindingOf(p))
			}
			fleet.AddFindings(i, sum.Findings)
		}
		return nil
	})
	if err == nil {
		fleet.Finish()
	}
	return fleet, err
}
