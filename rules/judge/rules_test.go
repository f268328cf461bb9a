package judge_test

import (
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

func init() {
	judge.Book, judge.All = rules.Book, rules.All
	judge.Run = func(book *judge.Rulebook, tree *spec.Tree, files []string, o judge.Options) *judge.Summary {
		s := run.Files(book, tree, files, run.Options{Today: o.Today, Fixes: o.Fixes, Workers: o.Workers, Whole: o.Whole, As: run.Look{Each: o.Each, Only: o.Only, Units: o.Units}})
		return &judge.Summary{Axes: s.Axes, Judged: s.Judged, Unjudged: s.Unjudged, Findings: s.Findings, MissingInputs: s.MissingInputs, NextInputs: s.NextInputs}
	}
}
