package judge

import (
	"time"

	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// What these tests need and what imports this package: real rules, and whole runs. The
// tests from outside, which may import both, fill it in before any test starts.
var (
	Book func() *Rulebook
	All  func() []*Rule
	Run  func(book *Rulebook, tree *spec.Tree, files []string, o Options) *Summary
)

// Options are those of a run that these tests use.
type Options struct {
	Today   time.Time
	Fixes   bool
	Workers int
	Each    func(*Report)
	Whole   bool
	Only    func(file, axis string) bool
	Units   *unit.System
}

// A Summary is what a run found.
type Summary struct {
	Axes, Judged, Unjudged int
	Findings               []Finding
	MissingInputs          []MissingInput
	NextInputs             []NextInputs
}

func quantities(q ...*mechanics.Quantity) []*mechanics.Quantity { return q }

func at(path string) func(*View) (*spec.Field, int) {
	f := Field(path)
	return func(*View) (*spec.Field, int) { return f, -1 }
}
