package main

import (
	"context"
	"fmt"
	"io"
	"math"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/report"
)

func mergeCommand() *cobra.Command {
	var o pageOptions
	c := &cobra.Command{
		Use:   "merge file...",
		Short: "Put the shares of a split check together",
		Long: `merge reads the JSON documents that trammel check --share wrote, one of each share,
and prints what a check of everything would have printed, in any of its forms, byte
for byte. It reads nothing else: the files that were checked need not be there.

All shares must be there, each once, made by this version of trammel on the same
state and with the same options. --waived and --fail-at are given here, as they
change only what is shown and the exit status.

Exit status: that of the check of everything; 2 if the shares cannot be put together.

` + described(checkForms) + caution,
		Example: `  trammel merge 1.json 2.json 3.json
  trammel merge --write sarif=findings.sarif shares/*.json`,
		Args: takes(1, math.MaxInt),
		RunE: func(c *cobra.Command, args []string) error {
			return runMerge(c.Context(), o, args, c.OutOrStdout())
		},
	}
	o.flags(c)
	return c
}

// runMerge puts the shares in the named files together and prints the whole.
func runMerge(ctx context.Context, o pageOptions, args []string, out io.Writer) error {
	show, err := o.read(out)
	if err != nil {
		return err
	}
	if len(args) > maxShares {
		return fmt.Errorf("a check has at most %d shares", maxShares)
	}
	var all *report.Merged
	err = until(ctx, func() error {
		var parts []*report.Part
		for _, name := range args {
			p, err := readShare(name, show.needs(needsAxes))
			if err != nil {
				return fmt.Errorf("%s: %w", name, err)
			}
			if p.Version != version() {
				return fmt.Errorf("%s was made by trammel %s and this is %s; merge with the version that checked", name, p.Version, version())
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
	page := &page{run: &all.Run, axes: all.Axes, meta: report.Meta{Version: version(), Name: all.Name, FailAt: show.level, Exit: exitOf(result)}}
	if err := writeAll(ctx, show.outputs, page, show.colored, out, nil); err != nil {
		return err
	}
	return result
}

// readShare reads the file of one share.
func readShare(name string, axes bool) (*report.Part, error) {
	f, err := atomicfile.Open(name)
	if err != nil {
		return nil, atomicfile.Reason(err)
	}
	defer f.Close()
	return report.ReadShare(f, axes)
}
