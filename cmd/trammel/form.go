package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/audit"
	"trammel/cmd/internal/compare"
	"trammel/cmd/internal/document"
	"trammel/cmd/internal/drawing"
	"trammel/cmd/internal/report"
	"trammel/cmd/internal/sheet"
)

// A form is one way to write what a command found. It is declared once: --form and
// --write, help, the tables in docs and the tests are made from the lists below.
type form[T any] struct {
	name  string // as --form and --write take it
	doc   string // who or what it is for
	needs need   // of those of check and merge
	write func(w io.Writer, found T, o shown) error
}

// A need is what a form shows beside findings, which costs something to gather.
type need int

const (
	needsFindings   need = iota
	needsAxes            // all axes with the result of each rule
	needsQuantities      // those, with their computed quantities
)

// shown is how the reader sees what is written.
type shown struct{ report.Screen }

// checkForms are those of check and merge.
var checkForms = []form[*page]{
	{"text", "people and editors", needsFindings, func(w io.Writer, p *page, o shown) error { return report.Text(w, p.run, o.Screen) }},
	{"missing", "people completing axis files: the missing lines, ready to paste", needsFindings, func(w io.Writer, p *page, _ shown) error { return report.Missing(w, p.run) }},
	{"json", "programs", needsQuantities, func(w io.Writer, p *page, _ shown) error { return report.JSON(w, p.run, p.axes, p.share) }},
	{"sarif", "review sites and viewers of findings", needsFindings, func(w io.Writer, p *page, _ shown) error { return report.SARIF(w, p.run, p.meta) }},
	{"junit", "systems that show test results", needsAxes, func(w io.Writer, p *page, _ shown) error { return report.JUnit(w, p.run, p.axes, p.meta) }},
	{"annotations", "systems that read workflow commands from a log", needsFindings, func(w io.Writer, p *page, _ shown) error { return report.Annotations(w, p.run, p.meta) }},
}

// papers are documents that are written together.
type papers struct {
	title  string // of the page
	docs   []*document.Document
	shafts []*sheet.Shaft  // those of the axes, in sheet and enquiry
	ends   []*drawing.Ends // in enquiry
}

// paperForms are those of everything that people read and keep.
var paperForms = []form[*papers]{
	{name: "text", doc: "people at a terminal", write: func(w io.Writer, p *papers, _ shown) error { return document.Text(w, p.docs...) }},
	{name: "markdown", doc: "comments and wikis", write: func(w io.Writer, p *papers, _ shown) error { return document.Markdown(w, p.docs...) }},
	{name: "html", doc: "a browser, print or mail: one file that loads nothing", write: func(w io.Writer, p *papers, _ shown) error {
		return document.HTML(w, document.Page{Title: p.title}, p.docs...)
	}},
}

// shaftForms are those of sheet and enquiry: those of papers, and one for CAD systems.
var shaftForms = append(slices.Clip(paperForms), form[*papers]{
	name: "step", doc: "CAD systems: the shaft of one axis as it is declared, the thread as a cylinder (ISO 10303-21, AP 214)",
	write: func(w io.Writer, p *papers, _ shown) error {
		if len(p.shafts) != 1 {
			return fmt.Errorf("the form step holds one shaft, and %d axes were found; name one axis", len(p.shafts))
		}
		return p.shafts[0].STEP(w)
	},
})

// enquiryForms are those of shafts, and the drawing of its ends.
var enquiryForms = append(slices.Clip(shaftForms), form[*papers]{
	name: "dxf", doc: "CAD systems: drawing of the shaft of one axis with its machined ends, 1:1 in millimetres (DXF R12)",
	write: func(w io.Writer, p *papers, _ shown) error {
		if len(p.ends) != 1 {
			return fmt.Errorf("the form dxf holds one shaft, and %d axes were found; name one axis", len(p.ends))
		}
		return p.ends[0].DXF(w)
	},
})

// An answer is what size found, as papers and as data.
type answer struct {
	papers
	json func(io.Writer) error
}

// sizeForms are those of papers, and one for programs.
var sizeForms = func() []form[*answer] {
	var out []form[*answer]
	for _, f := range paperForms {
		out = append(out, form[*answer]{name: f.name, doc: f.doc, write: func(w io.Writer, a *answer, o shown) error { return f.write(w, &a.papers, o) }})
	}
	return append(out, form[*answer]{name: "json", doc: "programs", write: func(w io.Writer, a *answer, _ shown) error { return a.json(w) }})
}()

// A comparedStates is a comparison with what its forms need beside it.
type comparedStates struct {
	*compare.Comparison
	all      bool
	job      *job
	from, to string
}

var compareForms = []form[*comparedStates]{
	{name: "text", doc: "people at a terminal", write: func(w io.Writer, c *comparedStates, _ shown) error { return c.Text(w, c.all, c.job.Show) }},
	{name: "markdown", doc: "a comment on a pull request", write: func(w io.Writer, c *comparedStates, _ shown) error { return c.Markdown(w, c.all) }},
	{name: "json", doc: "programs", write: func(w io.Writer, c *comparedStates, _ shown) error { return c.JSON(w, c.from, c.to) }},
}

// An auditedFleet is a fleet with how many entries of a list its text shows.
type auditedFleet struct {
	*audit.Fleet
	top int
}

var auditForms = []form[*auditedFleet]{
	{name: "text", doc: "people at a terminal: summary", write: func(w io.Writer, a *auditedFleet, _ shown) error { return a.Text(w, a.top) }},
	{name: "json", doc: "programs", write: func(w io.Writer, a *auditedFleet, _ shown) error { return a.JSON(w) }},
	{name: "csv", doc: "spreadsheets: one row for each axis", write: func(w io.Writer, a *auditedFleet, _ shown) error { return a.CSV(w) }},
	{name: "html", doc: "a browser: one page that loads nothing", write: func(w io.Writer, a *auditedFleet, _ shown) error { return a.HTML(w) }},
	{name: "ics", doc: "calendars: the regreasing of twelve months (RFC 5545)", write: func(w io.Writer, a *auditedFleet, _ shown) error { return a.Calendar(w) }},
}

func formNames[T any](forms []form[T]) []string {
	var out []string
	for _, f := range forms {
		out = append(out, f.name)
	}
	return out
}

// described lists forms for the help of a command.
func described[T any](forms []form[T]) string {
	var b strings.Builder
	b.WriteString("Output forms (--form, --write):\n\n")
	for _, f := range forms {
		fmt.Fprintf(&b, "  %-12s %s\n", f.name, f.doc)
	}
	return b.String() + "\n"
}

// outputOptions are the options by which every command that writes a document says in
// which forms, and where to.
type outputOptions struct {
	form  string
	write []string
	aside bool // what is written into files is not printed, unless --form asks for it
	flag  func(name string) bool
}

// outputFlags gives a command the options for its forms.
func outputFlags[T any](c *cobra.Command, o *outputOptions, forms []form[T], usual string) {
	f := c.Flags()
	beside := "write the output to a file too, as FORM=FILE; repeatable"
	if o.aside {
		beside = "write the output to a file, as FORM=FILE, instead of standard output; repeatable"
	}
	f.StringVar(&o.form, "form", usual, "output form: "+strings.Join(formNames(forms), ", "))
	f.StringArrayVar(&o.write, "write", nil, beside)
	o.flag = f.Changed
	offer(c, "form", formNames(forms)...)
	if err := c.RegisterFlagCompletionFunc("write", completeWrite(formNames(forms))); err != nil {
		panic(err) // the option stands above
	}
}

// An output is one form of the output and where it goes; "" is standard output.
type output[T any] struct {
	form[T]
	file string
}

// outputs reads the options.
func outputs[T any](o *outputOptions, forms []form[T]) ([]output[T], error) {
	var list []output[T]
	add := func(name, file string) error {
		i := slices.IndexFunc(forms, func(f form[T]) bool { return f.name == name })
		if i < 0 {
			return fmt.Errorf("unknown output form %q; the forms are %s", name, strings.Join(formNames(forms), ", "))
		}
		list = append(list, output[T]{forms[i], file})
		return nil
	}
	if !o.aside || len(o.write) == 0 || o.flag("form") {
		if err := add(o.form, ""); err != nil {
			return nil, err
		}
	}
	for _, w := range o.write {
		name, file, ok := strings.Cut(w, "=")
		if !ok || file == "" {
			example := forms[len(forms)-1].name
			return nil, fmt.Errorf("--write %q names no form and file; write for example --write %s=out.%s", w, example, example)
		}
		if slices.ContainsFunc(list, func(l output[T]) bool { return l.file == file }) {
			return nil, fmt.Errorf("--write names the file %s twice; give each form its own file", file)
		}
		if err := add(name, file); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// writeAll writes what was found in every form that was requested. trees are the roots of
// what was read: below them no link is followed.
func writeAll[T any](ctx context.Context, list []output[T], found T, colored bool, out io.Writer, trees []string) error {
	for _, w := range list {
		var on report.Screen
		if w.file == "" {
			on = report.Screen{Colored: colored, Width: terminalWidth(out)}
		}
		err := writeRendered(ctx, w.file, out, trees, func(to io.Writer) error { return w.write(to, found, shown{on}) })
		if err != nil {
			return err
		}
	}
	return nil
}
