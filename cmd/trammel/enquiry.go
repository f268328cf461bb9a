package main

import (
	"context"
	"io"
	"sort"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/drawing"
	"trammel/cmd/internal/enquiry"
	"trammel/cmd/internal/sheet"
	"trammel/rules/judge"
	"trammel/spec"
)

func enquiryCommand() *cobra.Command {
	o := paper{noun: "enquiry", forms: enquiryForms, outputOptions: outputOptions{aside: true}}
	c := &cobra.Command{
		Use:   "enquiry path [axis]",
		Short: "Write an enquiry (request for quotation) for the ball screw of an axis",
		Long: `enquiry writes a page you can send to a ball-screw supplier: duty, loads, speeds, required
ratings and root diameter, geometry, lubrication, environment, and a table for the
supplier to fill in. The required values follow from the duty alone, not from the
ratings of the screw the axis names. What the axis does not declare is shown as not
specified.

For a folder with several axes it writes one page for every axis, unless you name one.

The same input gives the same bytes; the enquiry has a date only with --date.

` + described(enquiryForms) + caution,
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
		shaft *sheet.Shaft
		ends  *drawing.Ends
	}
	var list []placed
	j, err := o.axes(ctx, args, func(rep *judge.Report, so sheet.Options) {
		list = append(list, placed{rep.View.Axis.Place, enquiry.Build(rep, so), sheet.ShaftOf(rep), drawing.OfEnds(rep.View)})
	})
	if err != nil {
		return err
	}
	sort.Slice(list, func(a, b int) bool { return spec.ComparePlaces(list[a].place, list[b].place) < 0 })
	p := &papers{title: "Enquiry"}
	for _, x := range list {
		p.docs, p.shafts, p.ends = append(p.docs, x.sheet), append(p.shafts, x.shaft), append(p.ends, x.ends)
	}
	if len(list) == 1 {
		p.title = p.docs[0].Title
	}
	return writeAll(ctx, o.outputs, p, false, out, []string{j.root})
}
