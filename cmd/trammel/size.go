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

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/hcledit"
	"trammel/cmd/internal/sanitize"
	"trammel/cmd/internal/sheet"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/sizing"
	"trammel/spec"
)

func sizeCommand() *cobra.Command {
	o := sizeOptions{outputOptions: outputOptions{aside: true}}
	c := &cobra.Command{
		Use:   "size path axis",
		Short: "Find the parts that would carry an axis",
		Long: `size tries every combination of the screws, grades, ways to hold the shaft, preloads,
motors and couplings in the parts files that the axis can refer to, and says which
hold under all rules in force: motion, load, life, accuracy and environment stay as
declared. For what does not hold it says which rule throws out how many; where
nothing holds, what comes nearest and what that lacks.

Where no screw but the declared one is in sight, and with --free, it says for every
lead of ISO 3408-2 the smallest nominal diameter and the ratings that the axis needs.

An answer can be written into the axis file or printed as a patch. Only the lines
concerned change. The axis is read again before anything is written: what is
written holds.

Exit status: 0 something holds, 1 nothing does, or rules of level error could not be
judged whatever the parts, 2 the tool could not do its job.

` + described(sizeForms) + caution,
		Example: `  trammel size machines/slicer lift
  trammel size machines/slicer lift --keep motor,grade --patch 1 | git apply
  trammel size machines/slicer lift --write html=lift.html`,
		Args: takes(2, 2),
		RunE: func(c *cobra.Command, args []string) error {
			return o.run(c.Context(), args, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	outputFlags(c, &o.outputOptions, sizeForms, "text")
	f := c.Flags()
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
	outputOptions
	keep, failAt, today        string
	most, patch, take, workers int
	free                       bool
}

// read reads the options.
func (o *sizeOptions) read() (opt sizing.Options, err error) {
	opt = sizing.Options{Most: max(o.most, o.patch, o.take), Workers: o.workers}
	if opt.Keep, err = o.kept(); err != nil {
		return opt, err
	}
	var ok bool
	opt.Level, ok = judge.ParseSeverity(o.failAt)
	toFile := o.patch > 0 || o.take > 0
	switch {
	case !ok || opt.Level == judge.Off:
		return opt, fmt.Errorf("--fail-at takes error, warning or note, not %q", o.failAt)
	case o.most < 1 || o.most > 10_000:
		return opt, errors.New("--most takes a number from 1 to 10000")
	case o.free && (toFile || o.keep != ""):
		return opt, errors.New("--free looks at no parts; --patch, --take and --keep do not go with it")
	case o.patch < 0 || o.take < 0 || o.patch > 0 && o.take > 0:
		return opt, errors.New("--patch and --take take the number of an answer, from 1; one of them at a time")
	case toFile && len(o.outputOptions.write) > 0:
		return opt, errors.New("--patch prints a patch and --take changes the axis file; --write does not go with them")
	}
	if err := workersWithin(o.workers); err != nil {
		return opt, err
	}
	opt.Today, err = parseToday(o.today)
	return opt, err
}

// kept reads --keep.
func (o *sizeOptions) kept() (keep [len(sizing.ChoiceNames)]bool, err error) {
	if o.keep == "" {
		return keep, nil
	}
	for _, k := range strings.Split(o.keep, ",") {
		i := slices.Index(sizing.ChoiceNames[:], strings.TrimSpace(k))
		if i < 0 {
			help := ""
			if n := spec.Nearest(k, sizing.ChoiceNames[:]); n != "" {
				help = "; did you mean " + n + "?"
			}
			return keep, fmt.Errorf("--keep takes %s, not %q%s", strings.Join(sizing.ChoiceNames[:], ", "), k, help)
		}
		keep[i] = true
	}
	return keep, nil
}

func (o *sizeOptions) run(ctx context.Context, args []string, out, errOut io.Writer) error {
	list, err := outputs(&o.outputOptions, sizeForms)
	if err != nil {
		return err
	}
	opt, err := o.read()
	if err != nil {
		return err
	}
	if o.take > 0 {
		if err := writable(args[0], false); err != nil {
			return notWritten(args[0], err)
		}
	}
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
		return o.writeAnswer(ctx, made.sizing, j, out, errOut)
	}
	found, holds := made.answer(j.Show)
	if err := writeAll(ctx, list, found, false, out, []string{j.root}); err != nil {
		return err
	}
	if !holds {
		return exitCode(exitFindings)
	}
	return nil
}

// sized is one of two.
type sized struct {
	sizing *sizing.Result
	free   *sizing.FreeDesign
}

// answer is what is written of it, and whether anything holds.
func (s sized) answer(show func(spec.Place) spec.Place) (a *answer, holds bool) {
	of := func(d *document.Document, json func(io.Writer) error) *answer {
		return &answer{papers{d.Title, []*document.Document{d}}, json}
	}
	so := sheet.Options{Show: show}
	if z := s.sizing; z != nil {
		so.Sys = z.View.Units()
		return of(sheet.Sizing(z, so), func(w io.Writer) error { return sheet.SizingJSON(w, z, so) }), len(z.Answers) > 0 && !z.Partly
	}
	f := s.free
	so.Sys = f.View.Units()
	holds = !f.Partly && slices.ContainsFunc(f.Needs, func(n sizing.ScrewNeed) bool { return n.Diameter == n.Diameter })
	return of(sheet.Free(f, so), func(w io.Writer) error { return sheet.FreeJSON(w, f, so) }), holds
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

// writeAnswer puts an answer into the axis file, or prints it as a patch.
func (o *sizeOptions) writeAnswer(ctx context.Context, z *sizing.Result, j *job, out, errOut io.Writer) error {
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
	m, err := hcledit.Axis(file, src, a, answer.Changes)
	if err != nil {
		return fmt.Errorf("answer %d cannot be written into %s: %w", n, j.Show(a.Place).File, err)
	}
	text := m.Text()
	if err := hcledit.Gives(j.tree, file, text, a, answer.Changes); err != nil {
		return fmt.Errorf("answer %d cannot be written into %s: %w", n, j.Show(a.Place).File, err)
	}
	if o.patch > 0 {
		return writeRendered(ctx, "", out, nil, func(w io.Writer) error {
			_, err := io.WriteString(w, m.Patch())
			return err
		})
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
