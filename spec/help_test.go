package spec

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
)

// axisFile reads a text as the only file of a tree.
func axisFile(src string) *AxisFile {
	return NewTree(fstest.MapFS{"x.axis.hcl": {Data: []byte(src)}}).ReadAxes("x.axis.hcl")
}

// wantProblem wants exactly one of the problems to stand at line and column,
// and to say what is wanted.
func wantProblem(t *testing.T, problems []Problem, line, col int, want string) {
	t.Helper()
	for _, p := range problems {
		if int(p.Place.Line) == line && int(p.Place.Col) == col && strings.Contains(p.Message+"; "+p.Help, want) {
			return
		}
	}
	t.Errorf("no problem at %d:%d with %q, but:\n%s", line, col, want, show(problems))
}

// show writes problems one a line: place, rule, message, help, related places.
func show(problems []Problem) string {
	var b strings.Builder
	for _, p := range problems {
		fmt.Fprintf(&b, "%v: %s [%s]", p.Place, p.Message, p.Rule)
		if p.Help != "" {
			fmt.Fprintf(&b, " help: %s", p.Help)
		}
		for _, r := range p.Related {
			fmt.Fprintf(&b, " related: %v %s", r.Place, r.Message)
		}
		b.WriteString("\n")
	}
	return b.String()
}
