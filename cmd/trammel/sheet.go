package main

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"sort"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/sheet"
	"trammel/rules"
	"trammel/spec"
	"trammel/spec/unit"
)

func sheetCommand() *cobra.Command {
	var o sheetOptions
	c := &cobra.Command{
		Use:   "sheet path [axis]",
		Short: "Write the calculation sheet of an axis or machine",
		Long: `sheet writes the whole calculation of an axis in the order of a hand calculation:
given values with their lines, motion, forces, mean values, life, speed limits,
strength, accuracy, torque, layout, service, findings, waivers, what was not judged,
sensitivity. A folder with several axes, and no axis named, gives the sheet of the
machine and of each of its axes.

The same input gives the same bytes; a date stands in it only with --date.

` + caution,
		Example: `  trammel sheet machines/slicer lift
  trammel sheet machines/slicer --form html --out slicer.html`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(c *cobra.Command, args []string) error { return o.run(args, c.OutOrStdout()) },
	}
	f := c.Flags()
	f.StringVar(&o.form, "form", "text", "form of the sheet: text, markdown or html")
	f.StringVar(&o.units, "units", "", "units of the whole sheet: metric or inch (default: those the axis is written in)")
	f.StringVar(&o.out, "out", "", "write to this file instead of standard output")
	f.StringVar(&o.date, "date", "", "a date for the head of the sheet, such as 2027-06-30 or today")
	return c
}

type sheetOptions struct{ form, units, out, date string }

// made is what the sheet command keeps of one axis.
type made struct {
	place spec.Place
	name  string
	sheet *sheet.Sheet
	row   sheet.Row
	sys   unit.System
}

func (o *sheetOptions) run(args []string, out io.Writer) error {
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
		return fmt.Errorf("--units takes metric or inch, not %q", o.units)
	}
	if o.form != "text" && o.form != "markdown" && o.form != "html" {
		return fmt.Errorf("--form takes text, markdown or html, not %q", o.form)
	}
	switch o.date {
	case "":
	case "today":
		o.date = time.Now().Format(time.DateOnly)
	default:
		if _, err := time.Parse(time.DateOnly, o.date); err != nil {
			return fmt.Errorf("--date takes a day such as 2027-06-30, or today, not %q", o.date)
		}
	}
	jobs, err := plan(args[:1], "", nil)
	if err != nil {
		return err
	}
	j := jobs[0]
	wanted := ""
	if len(args) == 2 {
		wanted = args[1]
	}
	var mu sync.Mutex
	var list []made
	var names []string
	sum := rules.Run(j.tree, j.files, rules.Options{
		Today: midnight(time.Now()), Ways: true, Units: forced,
		Only: func(_, axis string) bool {
			mu.Lock()
			defer mu.Unlock()
			names = append(names, axis)
			return wanted == "" || axis == wanted
		},
		Each: func(rep *rules.Report) {
			mu.Lock()
			defer mu.Unlock()
			a := rep.View.Axis
			so := sheet.Options{Sys: rep.View.Units(), Show: j.Show, Date: o.date}
			list = append(list, made{place: a.Place, name: a.Folder.MachineName(), sheet: sheet.Build(rep, so), row: sheet.RowOf(rep, so), sys: so.Sys})
		},
	})
	for i := range sum.Findings {
		// A sheet of a spec that could not be read whole would be wrong.
		if f := &sum.Findings[i]; f.OfText() {
			return fmt.Errorf("%s: %s [%s]; no sheet is written until it can be read", j.Show(f.Place), f.Message, f.Rule)
		}
	}
	switch {
	case len(list) == 0 && wanted != "":
		sort.Strings(names)
		help := ""
		if n := spec.Nearest(wanted, names); n != "" {
			help = "; did you mean " + n + "?"
		}
		return fmt.Errorf("%s has no axis %s%s", args[0], wanted, help)
	case len(list) == 0:
		return fmt.Errorf("%s has no axis", args[0])
	case wanted != "" && len(list) > 1:
		return fmt.Errorf("%s has %d axes named %s; name the folder or file of the one you mean", args[0], len(list), wanted)
	}
	sort.Slice(list, func(a, b int) bool { return spec.ComparePlaces(list[a].place, list[b].place) < 0 })
	var sheets []*sheet.Sheet
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
	for _, m := range list {
		sheets = append(sheets, m.sheet)
	}
	var b bytes.Buffer
	switch o.form {
	case "text":
		err = sheet.Text(&b, sheets...)
	case "markdown":
		err = sheet.Markdown(&b, sheets...)
	case "html":
		err = sheet.HTML(&b, "Calculation sheet: "+title, sheets...)
	}
	if err != nil {
		return err
	}
	return writeBytes(o.out, out, b.Bytes())
}

func midnight(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
}
