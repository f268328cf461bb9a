package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/gitfs"
	"trammel/cmd/internal/sheet"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
	"trammel/spec/unit"
)

func sheetCommand() *cobra.Command {
	o := paper{noun: "sheet", forms: shaftForms, outputOptions: outputOptions{aside: true}}
	c := &cobra.Command{
		Use:   "sheet path [axis]",
		Short: "Write the calculation sheet of an axis or a machine",
		Long: `sheet writes the whole calculation of an axis in the order of a hand calculation:
declared values with their lines, motion, forces, mean load, life, speed limits,
strength, accuracy, torque, layout, service, findings, waivers, rules not judged,
sensitivity. For a folder with several axes it writes the sheet of the machine and of
every axis, unless you name one axis.

The same input gives the same bytes; the sheet has a date only with --date, and
then the commit of the files too where they are in a git repository.

` + described(shaftForms) + caution,
		Example: `  trammel sheet machines/slicer lift
  trammel sheet machines/slicer --write html=slicer.html
  trammel sheet machines/slicer lift --write step=lift.step`,
		Args: takes(1, 2),
		RunE: func(c *cobra.Command, args []string) error { return runSheet(c.Context(), &o, args, c.OutOrStdout()) },
	}
	o.flags(c, "text")
	return c
}

// paper holds the options of a command that writes papers of axes.
type paper struct {
	outputOptions
	noun        string // what one of them is called
	units, date string
	forms       []form[*papers]
	outputs     []output[*papers]
}

func (o *paper) flags(c *cobra.Command, usual string) {
	f := c.Flags()
	outputFlags(c, &o.outputOptions, o.forms, usual)
	f.StringVar(&o.units, "units", "", "units of the "+o.noun+": metric or inch (default: those of the axis file)")
	f.StringVar(&o.date, "date", "", "date printed on the "+o.noun+" and used to judge waivers, such as 2027-06-30 or today")
}

// axes judges the axes of a path, or the one that is named, and hands each to
// take, one at a time. It gives the path as it was planned.
func (o *paper) axes(ctx context.Context, args []string, take func(rep *judge.Report, so sheet.Options)) (*job, error) {
	var forced *unit.System
	switch o.units {
	case "":
	case "metric", "inch":
		sys := unit.Metric
		if o.units == "inch" {
			sys = unit.Inch
		}
		forced = &sys
	default:
		return nil, fmt.Errorf("--units cannot be %q; choose metric or inch", o.units)
	}
	var err error
	if o.outputs, err = outputs(&o.outputOptions, o.forms); err != nil {
		return nil, err
	}
	day := midnight(time.Now())
	switch o.date {
	case "":
	case "today":
		o.date = day.Format(time.DateOnly)
	default:
		if day, err = time.Parse(time.DateOnly, o.date); err != nil {
			return nil, fmt.Errorf("--date %q is not a date; write it as 2027-06-30, or today", o.date)
		}
	}
	opt := run.Options{Today: day, Fixes: true, Context: ctx, As: run.Look{Units: forced}}
	var j *job
	err = until(ctx, func() (err error) {
		j, err = judgeAxes(args, "no "+o.noun+" was written", opt, func(j *job, rep *judge.Report) {
			take(rep, sheet.Options{Sys: rep.View.Units(), Show: j.Show, Date: o.date, Version: version()})
		})
		return err
	})
	return j, err
}

// made is what the sheet command keeps of one axis.
type made struct {
	place spec.Place
	name  string
	sheet *document.Document
	row   sheet.Row
	sys   unit.System
	shaft *sheet.Shaft
}

func runSheet(ctx context.Context, o *paper, args []string, out io.Writer) error {
	var list []made
	state := sync.OnceValue(func() string { return commitState(ctx, args[0]) })
	j, err := o.axes(ctx, args, func(rep *judge.Report, so sheet.Options) {
		a := rep.View.Axis
		if o.date != "" {
			so.State = state()
		}
		list = append(list, made{place: a.Place, name: a.Folder.MachineName(), sheet: sheet.Build(rep, so), row: sheet.RowOf(rep, so), sys: so.Sys, shaft: sheet.ShaftOf(rep)})
	})
	if err != nil {
		return err
	}
	sort.Slice(list, func(a, b int) bool { return spec.ComparePlaces(list[a].place, list[b].place) < 0 })
	var sheets []*document.Document
	title := "axis " + list[0].row.Name()
	if len(list) > 1 {
		byMachine := map[string][]sheet.Row{}
		var order []string
		for _, m := range list {
			if byMachine[m.name] == nil {
				order = append(order, m.name)
			}
			byMachine[m.name] = append(byMachine[m.name], m.row)
		}
		for _, n := range order {
			shown := n
			if n == "" {
				shown = filepath.Base(args[0])
			}
			sheets = append(sheets, sheet.Machine(shown, byMachine[n], sheet.Options{Sys: list[0].sys, Show: j.Show, Date: o.date}))
		}
		title = "machine " + list[0].name
	}
	var shafts []*sheet.Shaft
	for _, m := range list {
		sheets, shafts = append(sheets, m.sheet), append(shafts, m.shaft)
	}
	return writeAll(ctx, o.outputs, &papers{title: "Calculation sheet: " + title, docs: sheets, shafts: shafts}, false, out, []string{j.root})
}

// commitState names the commit that the files at a path are in, and says whether spec
// files or models of the repository have changed since; "" where there is none.
func commitState(ctx context.Context, at string) string {
	if info, err := os.Stat(at); err == nil && !info.IsDir() {
		at = filepath.Dir(at)
	}
	repo, err := gitfs.Open(ctx, at)
	if err != nil {
		return ""
	}
	defer repo.Close()
	id, err := repo.Commit("HEAD")
	if err != nil {
		return ""
	}
	state := "commit " + id[:min(12, len(id))]
	switch changes, err := repo.Changed("HEAD", gitfs.Worktree); {
	case err != nil:
		state += ", changes since not known"
	case len(changes) > 0:
		state += ", with changes not committed"
	}
	return state
}

func midnight(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
}
