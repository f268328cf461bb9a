package main

import (
	"context"
	"errors"
	"io"
	"os"

	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"

	"trammel/cmd/internal/sanitize"
	"trammel/cmd/internal/tableimport"
)

func adoptCommand() *cobra.Command {
	var o tableimport.Options
	c := &cobra.Command{
		Use:   "adopt table",
		Short: "Write axis files from a table of old machines",
		Long: `adopt reads a table (CSV or XLSX) row by row and writes an axis file for each row,
or for each run of rows that are the moves of one axis. A mapping file, beside the
table and named after it with the ending .map.hcl, says which column feeds which
field; docs/adopt.md explains it.

What is written is what the table says: numbers and units as they stand there, only
the decimal sign brought into one form. What is not known is left out, and so is what
cannot be read with certainty; the latter is reported by row and column. Each value
has its column in a comment.

Adopting again rewrites files whose row has changed. A file that was edited since, or
that adopt did not write, is kept and reported. No file is deleted.

Exit status: 0 all was read, 1 something could not be read, 2 the tool could not do
its job.`,
		Example: `  trammel adopt fleet.csv
  trammel adopt fleet.xlsx --map fleet.map.hcl --out machines/
  trammel adopt fleet.csv --try`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return errors.New("adopt takes one table; write trammel adopt table")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			o.Table = args[0]
			return runAdopt(c.Context(), o, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	f := c.Flags()
	f.StringVar(&o.Map, "map", "", "the mapping file (default: beside the table, under its name)")
	f.StringVar(&o.Out, "out", "", "the folder to write to (default: that of the table)")
	f.BoolVar(&o.Try, "try", false, "write nothing, say what would be written")
	f.IntVar(&o.Workers, "workers", 0, "how many files to write at once (default: one for each processor)")
	return c
}

func runAdopt(ctx context.Context, o tableimport.Options, out, errOut io.Writer) error {
	if o.Workers < 0 || o.Workers > 1024 {
		return errors.New("--workers takes a number from 1 to 1024")
	}
	shown := false
	if f, ok := errOut.(*os.File); ok && isatty.IsTerminal(f.Fd()) {
		o.Progress = func(rows int) {
			shown = true
			sanitize.Fprintf(errOut, "\r%d rows", rows)
		}
	}
	result, err := tableimport.Run(ctx, o, out)
	if shown {
		sanitize.Fprintf(errOut, "\n")
	}
	var bad *tableimport.MappingError
	switch {
	case errors.As(err, &bad):
		for _, p := range bad.Problems {
			at := p.Place
			sanitize.Fprintf(errOut, "%s: error: %s\n", at, p.Message)
			if p.Help != "" {
				sanitize.Fprintf(errOut, "    help: %s\n", p.Help)
			}
		}
		return exitCode(exitFailed)
	case err != nil:
		return err
	case !result.Whole():
		return exitCode(exitFindings)
	}
	return nil
}
