package main

import (
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/sizing"
	"trammel/spec"
)

const (
	noFiles = cobra.ShellCompDirectiveNoFileComp
	files   = cobra.ShellCompDirectiveDefault
	folders = cobra.ShellCompDirectiveFilterDirs
)

// valuesOf completes the values of options, by the name of the option. What names a file
// or a folder is completed by the shell; a number has no values to offer.
var valuesOf = map[string]cobra.CompletionFunc{
	"at": completeRevisions, "since": completeRevisions,
	"today": fixed(time.Now().Format(time.DateOnly)), "date": fixed("today", time.Now().Format(time.DateOnly)),
	"units": fixed("metric", "inch"), "fail-at": fixed("error", "warning", "note"), "keep": completeKeep, "push": fixed("origin"),
	"share": fixed(), "workers": fixed(), "top": fixed(), "most": fixed(), "patch": fixed(), "take": fixed(),
	"out": only(folders), "sheets": only(folders), "known": only(files), "as": only(files), "map": ending("hcl"), "from": ending("step", "stp"), "words": ending("csv"),
}

func fixed(values ...cobra.Completion) cobra.CompletionFunc {
	return cobra.FixedCompletions(values, noFiles)
}

func only(d cobra.ShellCompDirective) cobra.CompletionFunc { return cobra.FixedCompletions(nil, d) }

// ending completes files whose names end in one of some ways.
func ending(ends ...cobra.Completion) cobra.CompletionFunc {
	return cobra.FixedCompletions(ends, cobra.ShellCompDirectiveFilterFileExt)
}

// completeAll gives every option of every command that takes a value its completion, and
// the commands those of their arguments.
func completeAll(root *cobra.Command) {
	arguments := map[string]cobra.CompletionFunc{
		"sheet": completeAxes, "size": completeAxes, "enquiry": completeAxes, "compare": completeCompare, "new": completeNew,
		"adopt": ending("csv", "xlsx"), "merge": ending("json"), "editor": fixed(), "manual": only(folders),
	}
	for _, c := range root.Commands() {
		if f := arguments[c.Name()]; f != nil {
			c.ValidArgsFunction = f
		}
		c.Flags().VisitAll(func(f *pflag.Flag) {
			if _, has := c.GetFlagCompletionFunc(f.Name); has || valuesOf[f.Name] == nil {
				return
			}
			if err := c.RegisterFlagCompletionFunc(f.Name, valuesOf[f.Name]); err != nil {
				panic(err) // it was looked up just now
			}
		})
	}
}

// plainly leaves out what would not read the same in a terminal.
func plainly(names []string) (out []cobra.Completion) {
	for _, n := range names {
		if sanitize.Line(n) == n && !strings.ContainsAny(n, "\t\n") {
			out = append(out, n)
		}
	}
	return out
}

// completeRevisions offers HEAD, branches and tags of the repository here.
func completeRevisions(c *cobra.Command, _ []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
	repo, err := openHere(c.Context())
	if err != nil {
		return nil, noFiles
	}
	defer repo.Close()
	names, err := repo.Names()
	if err != nil {
		return nil, noFiles
	}
	return plainly(append([]string{"HEAD"}, names...)), noFiles
}

// completeCompare offers revisions for the first two arguments, paths behind them.
func completeCompare(c *cobra.Command, args []string, to string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if len(args) > 1 {
		return nil, files
	}
	return completeRevisions(c, args, to)
}

// mostFiles is how many axis files are read for the names in them.
const mostFiles = 500

// completeAxes offers the names of the axes at the path that is the first argument.
func completeAxes(_ *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if len(args) != 1 {
		return nil, [...]cobra.ShellCompDirective{files, noFiles}[min(len(args), 1)]
	}
	jobs, err := plan(args, "", nil)
	if err != nil || len(jobs) != 1 {
		return nil, noFiles
	}
	var names []string
	for i, file := range jobs[0].files {
		if i == mostFiles {
			break
		}
		if strings.HasSuffix(file, spec.AxisSuffix) {
			for _, a := range jobs[0].tree.ReadAxes(file).Axes {
				names = append(names, a.Name)
			}
		}
	}
	slices.Sort(names)
	return plainly(slices.Compact(names)), noFiles
}

// completeNew offers what can be written, and the kinds of part.
func completeNew(_ *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
	var kinds []cobra.Completion
	for _, k := range spec.Language().PartKinds() {
		kinds = append(kinds, k.Name)
	}
	switch {
	case len(args) == 0:
		return slices.Sorted(maps.Keys(kindsOfFile)), noFiles
	case len(args) == 1:
		return nil, files
	case args[0] == "parts":
		return kinds, noFiles
	}
	return nil, noFiles
}

// completeKeep offers what size can keep, and behind a comma the rest.
func completeKeep(_ *cobra.Command, _ []string, to string) (out []cobra.Completion, _ cobra.ShellCompDirective) {
	before := to[:strings.LastIndexByte(to, ',')+1]
	for _, n := range sizing.ChoiceNames {
		if !slices.Contains(strings.Split(before, ","), n) {
			out = append(out, before+n)
		}
	}
	return out, noFiles | cobra.ShellCompDirectiveNoSpace
}

// completeWrite offers the forms of --write FORM=FILE, and behind the sign leaves it to
// the shell.
func completeWrite(forms []string) cobra.CompletionFunc {
	return func(_ *cobra.Command, _ []string, to string) (out []cobra.Completion, _ cobra.ShellCompDirective) {
		if strings.Contains(to, "=") {
			return nil, files
		}
		for _, f := range forms {
			out = append(out, f+"=")
		}
		return out, noFiles | cobra.ShellCompDirectiveNoSpace
	}
}
