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
		Short: "Find part combinations that pass for an axis",
		Long: `size tries every combination of the screws, grades, end supports, preloads, motors and
couplings available in the parts files of the axis and lists those that pass all rules
in force. Motion, load, life, accuracy and environment stay as declared. For the rest
it shows how many combinations each rule rejects; if none passes, the nearest ones and
what they lack.

If no other screw is available, or with --free, it gives for every lead of ISO 3408-2
the smallest nominal diameter and the ratings the axis needs.

--take writes a passing combination into the axis file, --patch prints it as a patch.
Only the lines concerned change, and the changed axis is read again before it is
written.

Exit status: 0 a combination passes; 1 none passes, or a rule of level error could not
be judged with any part; 2 the tool could not do its job.

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
	f.StringVar(&o.keep, "keep", "", "keep these as declared: any of "+strings.Join(sizing.ChoiceNames[:], ", "))
	f.StringVar(&o.failAt, "fail-at", "warning", "lowest level of finding that rejects a combination: error, warning or note")
	f.IntVar(&o.most, "most", 10, "number of combinations to list")
	f.IntVar(&o.patch, "patch", 0, "print combination number N as a patch of the axis file")
	f.IntVar(&o.take, "take", 0, "write combination number N into the axis file")
	f.BoolVar(&o.free, "free", false, "ignore the parts files: show the screw needed for every lead")
	f.StringVar(&o.today, "today", "", "date used to judge waivers (default today)")
	f.IntVar(&o.workers, "workers", 0, "number of screws tried in parallel (default: one per processor)")
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
		return opt, fmt.Errorf("--fail-at cannot be %q; choose error, warning or note", o.failAt)
	case o.most < 1 || o.most > 10_000:
		return opt, fmt.Errorf("--most %d is out of range; give a number from 1 to 10000", o.most)
	case o.free && (toFile || o.keep != ""):
		return opt, errors.New("--free ignores the parts files; leave out --patch, --take and --keep")
	case o.patch < 0 || o.take < 0 || o.patch > 0 && o.take > 0:
		return opt, errors.New("--patch and --take need the number of a combination, from 1; use one of them")
	case toFile && len(o.outputOptions.write) > 0:
		return opt, errors.New("--write cannot be combined with --patch or --take; leave it out")
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
			return keep, fmt.Errorf("--keep cannot be %q; choose from %s%s", k, strings.Join(sizing.ChoiceNames[:], ", "), help)
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
	progress := newProgress(errOut)
	progress.task("screws searched", 0)
	opt.Progress = progress.at
	err = until(ctx, func() (err error) {
		made, j, err = sizeAxis(ctx, args, opt, o.free)
		return err
	})
	progress.end()
	switch {
	case err != nil:
		return err
	case o.patch > 0 || o.take > 0:
		if made.sizing == nil {
			return errors.New("no other screw is available, so there is no combination to write; add screws to a parts file")
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
		return &answer{papers{title: d.Title, docs: []*document.Document{d}}, json}
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
// available, it is designed freely.
func sizeAxis(ctx context.Context, args []string, opt sizing.Options, free bool) (sized, *job, error) {
	var made sized
	var failed error
	j, err := judgeAxes(args, "the axis was not sized", run.Options{Today: opt.Today}, func(_ *job, rep *judge.Report) {
		if made = (sized{}); free || !sizing.OtherScrews(rep) {
			made.free, failed = sizing.FindFree(ctx, rep, opt)
		} else {
			made.sizing, failed = sizing.Find(ctx, rep, opt)
		}
	})
	if err == nil && failed != nil {
		err = fmt.Errorf("axis %s was not sized: %w", args[1], failed)
	}
	return made, j, err
}

// writeAnswer puts an answer into the axis file, or prints it as a patch.
func (o *sizeOptions) writeAnswer(ctx context.Context, z *sizing.Result, j *job, out, errOut io.Writer) error {
	n := max(o.patch, o.take)
	if n > len(z.Answers) {
		if len(z.Answers) == 0 {
			return errors.New("no combination passes, so there is none to write; run size without --patch and --take to see the nearest ones")
		}
		return fmt.Errorf("combination %d does not exist; %d found", n, len(z.Answers))
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
		return fmt.Errorf("combination %d cannot be written into %s: %w", n, j.Show(a.Place).File, err)
	}
	text := m.Text()
	if err := hcledit.Gives(j.tree, file, text, a, answer.Changes); err != nil {
		return fmt.Errorf("combination %d cannot be written into %s: %w", n, j.Show(a.Place).File, err)
	}
	if o.patch > 0 {
		return writeRendered(ctx, "", out, nil, func(w io.Writer) error {
			_, err := io.WriteString(w, m.Patch())
			return err
		})
	}
	shown := j.Show(a.Place).File
	if bytes.Equal(text, src) {
		sanitize.Fprintf(errOut, "trammel: %s already has combination %d\n", shown, n)
		return nil
	}
	if err := j.replace(file, src, text); err != nil {
		return notWritten(shown, err)
	}
	sanitize.Fprintf(errOut, "trammel: %s: %s\n", shown, answer.Shown())
	return nil
}
