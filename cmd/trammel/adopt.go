package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/sanitize"
	"trammel/cmd/internal/tableimport"
)

func adoptCommand() *cobra.Command {
	var o tableimport.Options
	var words string
	var draft bool
	c := &cobra.Command{
		Use:   "adopt table",
		Short: "Turn a table of existing machines into axis files",
		Long: `adopt reads a table (CSV or XLSX) and writes one axis file for each row, or for each
group of rows that hold the moves of one axis. A mapping file assigns columns to fields;
it lies beside the table, with the same name ending in .map.hcl (see docs/adopt.md).

Numbers and units are copied from the table; only the decimal sign may change. Each
value names its column in a comment. An empty cell is left out. A cell that cannot be
read with certainty is left out and reported with its row and column.

--draft-map proposes the mapping: it finds the headers, their units and what they mean,
in English, German, French and Italian, and writes a mapping file to look through.
--words adds words of your own.

Running adopt again rewrites files whose row changed. A file that was edited, or that
adopt did not write, is kept and reported. No file is deleted.

Exit status: 0 every cell was read; 1 a cell could not be read; 2 the tool could not do
its job.`,
		Example: `  trammel adopt fleet.csv
  trammel adopt fleet.xlsx --map fleet.map.hcl --out machines/
  trammel adopt fleet.csv --draft-map
  trammel adopt fleet.csv --try`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return (fmt.Errorf("%s; write trammel adopt table", wrongCount(len(args), 1, 1)))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			o.Table = args[0]
			switch {
			case draft:
				return tableimport.Draft(c.Context(), o, words, c.OutOrStdout())
			case words != "":
				return errors.New("--words is for a proposed mapping; add --draft-map")
			}
			return runAdopt(c.Context(), o, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	f := c.Flags()
	f.StringVar(&o.Map, "map", "", "mapping file (default: beside the table, under its name)")
	f.BoolVar(&draft, "draft-map", false, "propose a mapping file for the table; with --try it is printed")
	f.StringVar(&words, "words", "", "more words for --draft-map: a file of lines word,meaning (see docs/adopt.md)")
	f.StringVar(&o.Out, "out", "", "folder to write to (default: that of the table)")
	f.BoolVar(&o.Try, "try", false, "write nothing; print what would be written")
	f.IntVar(&o.Workers, "workers", 0, "number of files written in parallel (default: one per processor)")
	return c
}

func runAdopt(ctx context.Context, o tableimport.Options, out, errOut io.Writer) error {
	if o.Workers < 0 || o.Workers > 1024 {
		return fmt.Errorf("--workers %d is out of range; give a number from 1 to 1024", o.Workers)
	}
	progress := newProgress(errOut)
	progress.task("rows", 0)
	if progress.w != nil { // else rows need not be counted
		o.Progress = progress.at
	}
	result, err := tableimport.Run(ctx, o, progress.above(out))
	progress.end()
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
