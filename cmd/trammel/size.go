package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/amend"
	"trammel/cmd/internal/sanitize"
	"trammel/cmd/internal/sheet"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/sizing"
	"trammel/spec"
)

func sizeCommand() *cobra.Command {
	var o sizeOptions
	c := &cobra.Command{
		Use:   "size path axis",
		Short: "Find the parts that would carry an axis",
		Long: `size tries every combination of the screws, grades, ways to hold the shaft, preloads,
motors and couplings in the parts files that the axis can refer to, and says which
hold under all rules in force: motion, load, life, accuracy and place stay as
declared. For what does not hold it says which rule throws out how many; where
nothing holds, what comes nearest and what that lacks.

Where no screw but the declared one is in sight, and with --free, it says for every
lead of ISO 3408-2 the smallest nominal diameter and the ratings that the axis needs.

An answer can be written into the axis file or printed as a patch. Only the lines
concerned change. The axis is read again before anything is written: what is
written holds.

Exit status: 0 something holds, 1 nothing does, or rules of level error could not be
judged whatever the parts, 2 the tool could not do its job.

` + caution,
		Example: `  trammel size machines/slicer lift
  trammel size machines/slicer lift --keep motor,grade --patch 1 | git apply
  trammel size machines/slicer lift --form html --out lift.html`,
		Args: takes(2, 2),
		RunE: func(c *cobra.Command, args []string) error {
			return o.run(c.Context(), args, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	f := c.Flags()
	f.StringVar(&o.form, "form", "text", "form of the answer: text, markdown, html or json")
	f.StringVar(&o.out, "out", "", "write to this file instead of standard output")
	f.StringVar(&o.keep, "keep", "", "what stays as declared, of: "+strings.Join(sizing.ChoiceNames[:], ", "))
	f.StringVar(&o.failAt, "fail-at", "warning", "lowest level of findings that throws a combination out: error, warning or note")
	f.IntVar(&o.most, "most", 10, "how many answers to give")
	f.IntVar(&o.patch, "patch", 0, "print the answer of this number as a patch of the axis file")
	f.IntVar(&o.take, "take", 0, "write the answer of this number into the axis file")
	f.BoolVar(&o.free, "free", false, "look at no parts: say for every lead what screw it would take")
	f.StringVar(&o.today, "today", "", "the day waivers are held against, as 2027-06-30 (default: today)")
	f.IntVar(&o.workers, "workers", 0, "how many screws to try at once (default: one for each processor)")
	return c
}

type sizeOptions struct {
	form, out, keep, failAt, today string
	most, patch, take, workers     int
	free                           bool
}

var sizeForms = []string{"text", "markdown", "html", "json"}

func (o *sizeOptions) run(ctx context.Context, args []string, out, errOut io.Writer) error {
	opt := sizing.Options{Most: o.most, Workers: o.workers}
	if !slices.Contains(sizeForms, o.form) {
		return fmt.Errorf("--form takes text, markdown, html or json, not %q", o.form)
	}
	if o.keep != "" {
		for _, k := range strings.Split(o.keep, ",") {
			i := slices.Index(sizing.ChoiceNames[:], strings.TrimSpace(k))
			if i < 0 {
				help := ""
				if n := spec.Nearest(k, sizing.ChoiceNames[:]); n != "" {
					help = "; did you mean " + n + "?"
				}
				return fmt.Errorf("--keep takes %s, not %q%s", strings.Join(sizing.ChoiceNames[:], ", "), k, help)
			}
			opt.Keep[i] = true
		}
	}
	var ok bool
	if opt.Level, ok = judge.ParseSeverity(o.failAt); !ok || opt.Level == judge.Off {
		return fmt.Errorf("--fail-at takes error, warning or note, not %q", o.failAt)
	}
	if o.most < 1 || o.most > 10_000 {
		return errors.New("--most takes a number from 1 to 10000")
	}
	if o.free && (o.patch > 0 || o.take > 0 || o.keep != "") {
		return errors.New("--free looks at no parts; --patch, --take and --keep do not go with it")
	}
	if o.patch < 0 || o.take < 0 || o.patch > 0 && o.take > 0 {
		return errors.New("--patch and --take take the number of an answer, from 1; one of them at a time")
	}
	if err := workersWithin(o.workers); err != nil {
		return err
	}
	if o.take > 0 {
		if err := writable(args[0], false); err != nil {
			return notWritten(args[0], err)
		}
	}
	today, err := parseToday(o.today)
	if err != nil {
		return err
	}
	opt.Today = today
	opt.Most = max(opt.Most, o.patch, o.take)
	var made sized
	var j *job
	err = until(ctx, func() (err error) {
		made, j, err = sizeAxis(ctx, args, opt, o.free)
		return err
	})
	switch {
	case err != nil:
		return err
	case o.patch > 0 || o.take > 0:
		if made.sizing == nil {
			return errors.New("there is no other screw in sight, so there is no answer to write")
		}
		return o.write(ctx, made.sizing, j, out, errOut)
	}
	so := sheet.Options{Show: j.Show}
	var page *sheet.Sheet
	var asJSON func(io.Writer) error
	holds := true
	if z := made.sizing; z != nil {
		so.Sys = z.View.Units()
		page, holds = sheet.Sizing(z, so), len(z.Answers) > 0 && !z.Partly
		asJSON = func(w io.Writer) error { return sheet.SizingJSON(w, z, so) }
	} else {
		so.Sys = made.free.View.Units()
		page, holds = sheet.Free(made.free, so), !made.free.Partly && slices.ContainsFunc(made.free.Needs, func(n sizing.ScrewNeed) bool { return n.Diameter == n.Diameter })
		asJSON = func(w io.Writer) error { return sheet.FreeJSON(w, made.free, so) }
	}
	var b bytes.Buffer
	switch o.form {
	case "text":
		err = sheet.Text(&b, page)
	case "markdown":
		err = sheet.Markdown(&b, page)
	case "html":
		err = sheet.HTML(&b, page.Title, page)
	case "json":
		err = asJSON(&b)
	}
	if err == nil {
		err = writeBytes(ctx, o.out, out, []string{j.root}, b.Bytes())
	}
	if err == nil && !holds {
		err = exitCode(exitFindings)
	}
	return err
}

// sized is one of two.
type sized struct {
	sizing *sizing.Result
	free   *sizing.FreeDesign
}

// sizeAxis finds the axis and sizes it. Where no screw but the declared one is
// in sight, it is designed freely.
func sizeAxis(ctx context.Context, args []string, opt sizing.Options, free bool) (sized, *job, error) {
	var made sized
	var failed error
	j, err := judgeAxes(args, "it is not sized", run.Options{Today: opt.Today}, func(_ *job, rep *judge.Report) {
		if made = (sized{}); free || !sizing.OtherScrews(rep) {
			made.free, failed = sizing.FindFree(ctx, rep, opt)
		} else {
			made.sizing, failed = sizing.Find(ctx, rep, opt)
		}
	})
	if err == nil && failed != nil {
		err = fmt.Errorf("axis %s is not sized: %w", args[1], failed)
	}
	return made, j, err
}

// write puts an answer into the axis file, or prints it as a patch.
func (o *sizeOptions) write(ctx context.Context, z *sizing.Result, j *job, out, errOut io.Writer) error {
	n := max(o.patch, o.take)
	if n > len(z.Answers) {
		if len(z.Answers) == 0 {
			return errors.New("nothing holds, so there is no answer to write; without --patch and --take the nearest misses are shown")
		}
		return fmt.Errorf("there is no answer %d; there are %d", n, len(z.Answers))
	}
	a := z.View.Axis
	answer := &z.Answers[n-1]
	file := a.Place.File
	src, problem := j.tree.Read(file)
	if problem != nil {
		return fmt.Errorf("%s: %s", j.Show(problem.Place), problem.Message)
	}
	m, err := amend.Axis(file, src, a, answer.Changes)
	if err != nil {
		return fmt.Errorf("answer %d cannot be written into %s: %w", n, j.Show(a.Place).File, err)
	}
	text := m.Text()
	if err := amend.Gives(j.tree, file, text, a, answer.Changes); err != nil {
		return fmt.Errorf("answer %d cannot be written into %s: %w", n, j.Show(a.Place).File, err)
	}
	if o.patch > 0 {
		return writeBytes(ctx, o.out, out, []string{j.root}, []byte(m.Patch()))
	}
	shown := j.Show(a.Place).File
	if bytes.Equal(text, src) {
		sanitize.Fprintf(errOut, "trammel: %s is as answer %d has it\n", shown, n)
		return nil
	}
	if err := j.replace(file, src, text); err != nil {
		return notWritten(shown, err)
	}
	sanitize.Fprintf(errOut, "trammel: %s: %s\n", shown, answer.Shown())
	return nil
}
