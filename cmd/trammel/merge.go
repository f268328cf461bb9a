package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/report"
	"trammel/cmd/internal/whole"
)

func mergeCommand() *cobra.Command {
	var o mergeOptions
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

` + caution,
		Example: `  trammel merge 1.json 2.json 3.json
  trammel merge --write sarif=findings.sarif shares/*.json`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			ctx, stop := stoppedBySignal(c.Context())
			defer stop()
			return o.run(ctx, args, c.OutOrStdout())
		},
	}
	f := c.Flags()
	f.StringVar(&o.form, "form", "text", "form of the output: "+strings.Join(forms, ", "))
	f.StringArrayVar(&o.write, "write", nil, "also write the output to a file, as FORM=FILE; may be given several times")
	f.BoolVar(&o.waived, "waived", false, "show waived findings too")
	f.StringVar(&o.failAt, "fail-at", "error", "lowest level that makes the exit status 1: error, warning, note or unjudged")
	f.StringVar(&o.color, "color", "auto", "colour the output: auto, always or never")
	return c
}

type mergeOptions struct {
	form, failAt, color string
	write               []string
	waived              bool
}

func (o *mergeOptions) run(ctx context.Context, args []string, out io.Writer) error {
	colored, err := useColor(o.color, out)
	if err != nil {
		return err
	}
	level, unjudged, err := failLevel(o.failAt)
	if err != nil {
		return err
	}
	outputs, err := parseOutputs(o.form, o.write, forms, "sarif=findings.sarif")
	if err != nil {
		return err
	}
	if len(args) > maxShares {
		return fmt.Errorf("a check has at most %d shares", maxShares)
	}
	wantAxes := slices.ContainsFunc(outputs, func(w output) bool { return w.form == "json" || w.form == "junit" })
	var all *report.Merged
	err = until(ctx, func() error {
		var parts []*report.Part
		for _, name := range args {
			p, err := readShare(name, wantAxes)
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
	result := status(&all.Run, level, unjudged)
	page := &page{run: &all.Run, axes: all.Axes, meta: report.Meta{Version: version(), Name: all.Name, FailAt: level, Exit: exitOf(result)}, colored: colored}
	if err := page.write(ctx, outputs, out); err != nil {
		return err
	}
	return result
}

// readShare reads the file of one share.
func readShare(name string, axes bool) (*report.Part, error) {
	// A pipe or device must not even be opened: that alone could block.
	info, err := os.Stat(name)
	if err == nil && !info.Mode().IsRegular() {
		return nil, errors.New("it is no ordinary file")
	}
	if err != nil {
		return nil, whole.Reason(err)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, whole.Reason(err)
	}
	defer f.Close()
	return report.ReadShare(f, axes)
}
