package main

import (
	"context"
	"io"
	"sort"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/enquiry"
	"trammel/cmd/internal/sheet"
	"trammel/rules/judge"
	"trammel/spec"
)

func enquiryCommand() *cobra.Command {
	o := paper{noun: "enquiry", outputOptions: outputOptions{aside: true}}
	c := &cobra.Command{
		Use:   "enquiry path [axis]",
		Short: "Write an enquiry for the ball screw of an axis",
		Long: `enquiry writes what an engineer sends to a supplier to be offered a ball screw: duty,
loads, speeds, the ratings and the root diameter that are needed, geometry,
lubrication and environment, and a table for the supplier to fill in. It is one page
for an axis. The needed values are solved for from the duty; the ratings of the part
that the axis names play no part in them. What the axis does not declare is open.

A folder with several axes, and no axis named, gives one for each.

The same input gives the same bytes; a date stands in it only with --date.

` + described(paperForms) + caution,
		Example: `  trammel enquiry machines/slicer lift
  trammel enquiry machines/slicer lift --write html=lift.html`,
		Args: takes(1, 2),
		RunE: func(c *cobra.Command, args []string) error { return runEnquiry(c.Context(), &o, args, c.OutOrStdout()) },
	}
	o.flags(c, "markdown")
	return c
}

func runEnquiry(ctx context.Context, o *paper, args []string, out io.Writer) error {
	type placed struct {
		place spec.Place
		sheet *document.Document
	}
	var list []placed
	j, err := o.axes(ctx, args, func(rep *judge.Report, so sheet.Options) {
		list = append(list, placed{rep.View.Axis.Place, enquiry.Build(rep, so)})
	})
	if err != nil {
		return err
	}
	sort.Slice(list, func(a, b int) bool { return spec.ComparePlaces(list[a].place, list[b].place) < 0 })
	var sheets []*document.Document
	title := "Enquiry"
	for _, p := range list {
		sheets = append(sheets, p.sheet)
	}
	if len(sheets) == 1 {
		title = sheets[0].Title
	}
	return writeAll(ctx, o.outputs, &papers{title, sheets}, false, out, []string{j.root})
}
