package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/unit"
)

func rulesCommand() *cobra.Command {
	var quantities bool
	c := &cobra.Command{
		Use:   "rules [path or name]",
		Short: "List rules with the limits in force",
		Long: `rules lists every rule with the question it answers. With a path it shows the severity
and the limits in force there, and the policy file that set them. --quantities lists
the names a house rule may use. With the name of a rule it explains that, as trammel
explain does.`,
		Example:           "  trammel rules machines/oven\n  trammel rules critical-speed\n  trammel rules --quantities",
		ValidArgsFunction: completeNames(false),
		Args:              takes(0, 1),
		RunE: func(c *cobra.Command, args []string) error {
			if quantities {
				return listQuantities(c.OutOrStdout())
			}
			if len(args) == 1 && rules.Book().ByName(args[0]) != nil {
				if _, err := os.Lstat(args[0]); err != nil {
					return explain(c.OutOrStdout(), args[0], nil)
				}
			}
			return listRules(c.OutOrStdout(), args)
		},
	}
	c.Flags().BoolVar(&quantities, "quantities", false, "list the quantities a house rule may use, with units and meanings")
	return c
}

func listQuantities(out io.Writer) error {
	w := tabwriter.NewWriter(out, 0, 4, 2, ' ', 0)
	for _, n := range judge.HouseNames() {
		d := judge.Describe(n)
		sanitize.Fprintf(w, "%s\t%s\t%s\n", d.Name, d.Unit, d.Meaning)
	}
	return w.Flush()
}

func listRules(out io.Writer, args []string) error {
	jobs, err := plan(args, "", nil)
	if err != nil && len(args) == 1 && errors.Is(err, fs.ErrNotExist) {
		if near := spec.Nearest(args[0], explained()); near != "" {
			return fmt.Errorf("%s is no rule and no path; did you mean %s?", args[0], near)
		}
	}
	if err != nil {
		return err
	}
	j := jobs[0]
	dir := "."
	if len(args) == 1 {
		dir = j.dir
	}
	house := rules.Book().NewJudge(time.Time{}, false)
	folder := j.tree.Folder(dir)
	w := bufio.NewWriter(out)
	from := func(p spec.Place) string { return setAt(j, p) }
	for _, s := range house.InForce(folder) {
		writeSetting(w, j, &s)
	}
	for _, h := range house.HouseRules(folder) {
		sanitize.Fprintf(w, "%s: %s%s\n  house rule: %s\n", h.Name, h.Severity, from(h.Place), h.Message)
	}
	for _, n := range judge.TextRuleNames() {
		sanitize.Fprintf(w, "%s: error\n  %s\n", n, judge.TextRules()[n])
	}
	if err := w.Flush(); err != nil {
		return err
	}
	bad := false
	for f := folder; f != nil; f = f.Parent {
		for _, p := range append(house.PolicyProblems(f), f.Problems...) {
			p.Place = j.Show(p.Place)
			sanitize.Fprintf(out, "%s: error: %s [%s]\n", p.Place, p.Message, p.Rule)
			bad = true
		}
	}
	if bad {
		return exitCode(exitFailed)
	}
	return nil
}

// setAt says where a policy sets something; "" for a default.
func setAt(j *job, p spec.Place) string {
	if !p.Valid() {
		return ""
	}
	p = j.Show(p)
	return fmt.Sprintf(", set at %s:%d", p.File, p.Line)
}

// writeSetting writes what is in force of a rule.
func writeSetting(w io.Writer, j *job, s *judge.Setting) {
	sanitize.Fprintf(w, "%s: %s%s\n  %s\n", s.Rule.Name, s.Severity, setAt(j, s.SeverityFrom), s.Rule.Question)
	for _, l := range s.Limits {
		shown := unit.FormatExact(l.Value, l.Limit.Kind, unit.Metric)
		if !l.From.Valid() {
			shown = unit.FormatExact(l.Limit.Default, l.Limit.Kind, unit.Metric)
			if l.Limit.Spread != "" {
				shown = l.Limit.Spread
			}
		}
		sanitize.Fprintf(w, "  %s: %s %s%s (%s)\n", l.Limit.Name, l.Limit.Sense, shown, setAt(j, l.From), l.Limit.Doc)
	}
	if s.Reason != "" {
		sanitize.Fprintf(w, "  reason: %s\n", s.Reason)
	}
}
