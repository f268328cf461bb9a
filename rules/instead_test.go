package rules_test

import (
	"slices"
	"strings"
	"testing"

	"trammel/rules"
	"trammel/rules/judge/run"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
)

// TestInstead: of two fields that say as much one is missed where neither is declared, and
// none where either is. So no line is required that is not needed.
func TestInstead(t *testing.T) {
	t.Parallel()
	missed := func(pairs ...string) []string {
		tree := spec.NewTree(testaxis.WholeSheet().With(pairs...).Files())
		var out []string
		for _, g := range run.Files(rules.Book(), tree, []string{testaxis.SheetFile}, run.Options{Today: testaxis.SomeDay}).MissingInputs {
			name, of, move := strings.Cut(g.Missing, " of move ")
			if move && of != "" {
				name = "motion.move." + name
			}
			out = append(out, name)
		}
		return out
	}
	n := 0
	for _, f := range spec.Language().Fields {
		o := f.Other()
		if o == nil {
			continue
		}
		n++
		neither := missed(f.Path, "", o.Path, "")
		if !slices.Contains(neither, f.Path) || slices.Contains(neither, o.Path) {
			t.Errorf("without %s and %s are missed %q", f.Path, o.Path, neither)
		}
		for _, other := range [][2]*spec.Field{{f, o}, {o, f}} {
			got := missed(other[0].Path, other[0].Example, other[1].Path, "")
			if slices.Contains(got, f.Path) || slices.Contains(got, o.Path) {
				t.Errorf("with %s alone are missed %q", other[0].Path, got)
			}
		}
	}
	if n < 4 {
		t.Errorf("%d fields have another in their place", n)
	}
	// A nut with play has a preload of zero: its play is required.
	if got := missed("nut.preload", `"0 N"`, "nut.backlash", ""); !slices.Contains(got, "nut.backlash") {
		t.Errorf("with no preload are missed %q", got)
	}
}
