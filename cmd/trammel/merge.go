package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/report"
)

func mergeCommand() *cobra.Command {
	var o pageOptions
	c := &cobra.Command{
		Use:   "merge file...",
		Short: "Combine the results of a split check",
		Long: `merge reads the JSON files that trammel check --share wrote, one for each part, and
prints byte for byte what an unsplit check prints, in any of its forms. It reads
no other file: the checked files need not be present.

Every part must be given once. All must come from this version of trammel, from the
same files and the same options. Give --waived and --fail-at here: they change only
what is shown and the exit status.

Exit status: that of the unsplit check; 2 if the parts cannot be combined.

` + described(checkForms) + caution,
		Example: `  trammel merge 1.json 2.json 3.json
  trammel merge --write sarif=findings.sarif parts/*.json`,
		Args: takes(1, math.MaxInt),
		RunE: func(c *cobra.Command, args []string) error {
			return runMerge(c.Context(), o, args, c.OutOrStdout())
		},
	}
	o.flags(c)
	return c
}

// runMerge combines the parts in the named files and prints the whole.
func runMerge(ctx context.Context, o pageOptions, args []string, out io.Writer) error {
	show, err := o.read(out)
	if err != nil {
		return err
	}
	if len(args) > maxShares {
		return fmt.Errorf("%d files found; a split check has at most %d parts", len(args), maxShares)
	}
	axes := show.keep()
	defer axes.Close()
	var all *report.Merged
	var files []*os.File // axes are read again when they are written
	defer func() {
		for _, f := range files {
			_ = f.Close()
		}
	}()
	err = until(ctx, func() error {
		var parts []*report.Part
		for _, name := range args {
			f, err := atomicfile.Open(name)
			if err != nil {
				return fmt.Errorf("%s: %w", name, atomicfile.Reason(err))
			}
			files = append(files, f)
			p, err := report.ReadShare(f, axes)
			if err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
			if p.Version != version() {
				return fmt.Errorf("%s was written by trammel %s, this is %s; use the same version for check and merge", name, p.Version, version())
			}
			parts = append(parts, p)
		}
		all, err = report.Merge(parts)
		return err
	})
	if err != nil {
		return err
	}
	all.Waived = o.waived
	result := status(&all.Run, show.level, show.unjudged)
	page := &page{run: &all.Run, axes: axes, meta: report.Meta{Version: version(), Name: all.Name, FailAt: show.level, Exit: exitOf(result)}}
	if err := writeAll(ctx, show.outputs, page, show.colored, out, nil); err != nil {
		return err
	}
	return result
}
