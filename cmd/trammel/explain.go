package main

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/gitfs"
	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

func explainCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "explain name [path]",
		Short: "Explain a rule, a quantity or a field",
		Long: `explain prints the question a rule answers, its reasons, source and inputs, with the
limits in force in the folder of the path (default: the current one); or the formula and
source of a computed quantity; or the meaning, unit and range of a field.

A finding names its rule in brackets.`,
		Example:           "  trammel explain critical-speed\n  trammel explain lifting-life machines/slicer\n  trammel explain critical_speed\n  trammel explain motion.stroke",
		Args:              takes(1, 2),
		ValidArgsFunction: completeNames(true),
		RunE: func(c *cobra.Command, args []string) error {
			return explain(c.OutOrStdout(), args[0], args[1:])
		},
	}
	return c
}

// blockNamed is the block of an axis of a name.
func blockNamed(name string) *spec.Block {
	for _, b := range spec.Language().Axis.Blocks {
		if b.Name == name {
			return b
		}
	}
	return nil
}

// explain prints what is known of a name.
func explain(out io.Writer, name string, path []string) error {
	w := bufio.NewWriter(out)
	house, err := houseRule(name, path)
	if err != nil {
		return err
	}
	known := true
	switch r, q := rules.Book().ByName(name), mechanics.ByName(name); {
	case r != nil:
		err = explainRule(w, r, path)
	case judge.TextRules()[name] != "":
		sanitize.Fprintf(w, "%s: error, a check of the language itself, which a policy cannot change\n\n  %s\n", name, judge.TextRules()[name])
	case house != nil:
		sanitize.Fprintf(w, "%s: %s, house rule set at %s:%d\n\n  %s\n", house.Name, house.Severity, house.Place.File, house.Place.Line, house.Message)
	case q != nil && !q.Leaf():
		explainQuantity(w, q)
	default:
		known = explainFields(w, name)
	}
	if err != nil {
		return err
	}
	if !known {
		help := ""
		if n := spec.Nearest(name, explained()); n != "" {
			help = "; did you mean " + n + "?"
		} else if b := blockNamed(name); b != nil && len(b.Fields) > 0 {
			help = "; it is a block, whose fields are named like " + b.Fields[0].Path
		}
		return fmt.Errorf("no rule, quantity or field is named %s%s", name, help)
	}
	return w.Flush()
}

// houseRule finds a house rule in force at a path; nil for none.
func houseRule(name string, path []string) (*spec.HouseRule, error) {
	j, dir, err := folderAt(path)
	if err != nil {
		return nil, err
	}
	for _, h := range rules.Book().NewJudge(time.Time{}, false).HouseRules(j.tree.Folder(dir)) {
		if h.Name == name {
			shown := *h
			shown.Place = j.Show(h.Place)
			return &shown, nil
		}
	}
	return nil, nil
}

// folderAt is the folder whose policies apply.
func folderAt(path []string) (*job, string, error) {
	cwd := []string{"."}
	if len(path) > 0 {
		cwd = path
	}
	jobs, err := plan(cwd, "", nil)
	if err != nil {
		return nil, "", err
	}
	return jobs[0], jobs[0].dir, nil
}

func explainRule(w io.Writer, r *judge.Rule, path []string) error {
	j, dir, err := folderAt(path)
	if err != nil {
		return err
	}
	for _, s := range rules.Book().NewJudge(time.Time{}, false).InForce(j.tree.Folder(dir)) {
		if s.Rule.Name == r.Name {
			writeSetting(w, j, &s)
		}
	}
	paragraph(w, r.Doc)
	if names := needsOf(r); len(names) > 0 {
		sanitize.Fprintf(w, "\n  needs: %s\n", strings.Join(names, ", "))
	}
	for i, x := range r.Reasons {
		if i == 0 {
			sanitize.Fprintf(w, "\n  does not apply where\n")
		}
		sanitize.Fprintf(w, "  - %s\n", x.Words)
	}
	sanitize.Fprintf(w, "\n  source: %s\n", r.Source)
	if r.Caution != "" {
		sanitize.Fprintf(w, "  caution: %s\n", r.Caution)
	}
	return nil
}

// paragraph writes text indented, with the empty line before it.
func paragraph(w io.Writer, text string) {
	sanitize.Fprintf(w, "\n")
	for line := range strings.SplitSeq(strings.TrimSpace(text), "\n") {
		sanitize.Fprintf(w, "%s\n", strings.TrimRight("  "+line, " "))
	}
}

// needsOf names the declared and computed values a rule cannot do without.
func needsOf(r *judge.Rule) (names []string) {
	add := func(n string) {
		if !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	for _, f := range r.Facts {
		add(f.Path)
	}
	for i := range r.Tests {
		t := &r.Tests[i]
		add(t.Value.Name)
		if t.Against != nil {
			add(t.Against.Name)
		}
		for _, q := range t.Needs {
			add(q.Name)
		}
	}
	return names
}

func explainQuantity(w io.Writer, q *mechanics.Quantity) {
	sanitize.Fprintf(w, "%s: %s, %s\n\n  %s = %s\n", q.Name, q.Title, q.Kind, q.Symbol, q.Formula)
	all := func(head string, list []*mechanics.Quantity) {
		for i, n := range list {
			if i == 0 {
				sanitize.Fprintf(w, "\n  %s\n", head)
			}
			sanitize.Fprintf(w, "  - %s: %s (%s)\n", n.Symbol, n.Title, n.Name)
		}
	}
	all("with", q.Needs)
	all("and, where it is known,", q.May)
	sanitize.Fprintf(w, "\n  source: %s\n", q.Source)
}

// explainFields explains the fields with a path, or with that last part of one; false
// where there are none.
func explainFields(w io.Writer, name string) bool {
	lang := spec.Language()
	var list []*spec.Field
	for _, f := range lang.Fields {
		if f.Path == name || f.Name == name {
			list = append(list, f)
		}
	}
	for i, f := range list {
		if i > 0 {
			sanitize.Fprintf(w, "\n")
		}
		explainField(w, f)
	}
	return len(list) > 0
}

func explainField(w io.Writer, f *spec.Field) {
	sanitize.Fprintf(w, "%s: %s\n", f.Path, f.Doc)
	line := func(what, text string) {
		if text != "" {
			sanitize.Fprintf(w, "  %s: %s\n", what, text)
		}
	}
	switch f.Sort {
	case spec.Quantity:
		line("kind", f.Unit.String())
	case spec.Number:
		line("kind", "bare number")
	case spec.Word:
		line("one of", strings.Join(f.Words, ", "))
	case spec.Flag:
		line("kind", "true or false")
	case spec.PartRef:
		line("kind", "a part: "+f.Part+".NAME")
	}
	line("as in", f.Name+" = "+f.Example)
	if f.Min != f.Max && f.Max < 1e6 {
		line("permitted", unit.FormatExact(f.Min, f.Unit, unit.Metric)+" to "+unit.FormatExact(f.Max, f.Unit, unit.Metric))
	}
	if f.Usual[0] != "" {
		line("usual", f.Usual[0]+" to "+f.Usual[1])
	}
	if f.Default != "" {
		line("where it is not declared", f.Default+" ("+f.Why+")")
	}
	if f.Inherit {
		line("also", "a machine may declare it for all its axes")
	}
}

// explained are all names that can be explained, house rules left out.
func explained() (names []string) {
	names = ruleNames()
	for _, q := range mechanics.All() {
		if !q.Leaf() {
			names = append(names, q.Name)
		}
	}
	for _, f := range spec.Language().Fields {
		names = append(names, f.Path)
	}
	return names
}

// ruleNames are the names of all built-in rules.
func ruleNames() (names []string) {
	for _, s := range rules.Book().NewJudge(time.Time{}, false).InForce(spec.NewTree(gitfs.NoFiles()).Folder(".")) {
		names = append(names, s.Rule.Name)
	}
	return append(names, judge.TextRuleNames()...)
}

// completeNames completes the first argument of explain and rules.
func completeNames(all bool) cobra.CompletionFunc {
	return func(_ *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
		if len(args) > 0 {
			return nil, cobra.ShellCompDirectiveDefault
		}
		if all {
			return explained(), cobra.ShellCompDirectiveNoFileComp
		}
		return ruleNames(), cobra.ShellCompDirectiveDefault
	}
}
