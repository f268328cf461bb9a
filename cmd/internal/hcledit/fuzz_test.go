package hcledit

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/spec"
)

// FuzzAxis amends whatever reads without a problem. Where the result is said to
// give the axis its values, nothing else has changed: not its moves and waivers,
// not the other axes, and no comment is gone. The patch then says the same.
func FuzzAxis(f *testing.F) {
	f.Add("axis \"x\" {\n  screw { # which\n    part = screw.a # the small one\n    grade = \"C5\"\n  }\n  motion {\n    move \"m\" {\n      distance = \"5 mm\"\n    }\n  }\n}\n")
	f.Add("# é\naxis \"y\" {\n}\naxis \"x\" {\r\n  nut { preload = \"2 N\" }\r\n}\r\n")
	f.Add("given {\n  g = \"C3\"\n}\naxis \"x\" {\n  screw {\n    part = screw.a\n    lead = \"7 mm\"\n    grade = given.g /* here */\n  }\n  waive \"life-margin\" {\n    reason = \"r\"\n    until = \"2027-01-01\"\n  }\n}")
	f.Add("axis \"x\" {\n  supports {\n    far_end = <<E\nfree\nE\n  }\n}\n")
	f.Fuzz(func(t *testing.T, text string) {
		tree := spec.NewTree(fstest.MapFS{"x.axis.hcl": {Data: []byte(text)}, "p.parts.hcl": {Data: []byte(parts)}})
		file := tree.ReadAxes("x.axis.hcl")
		if len(file.Problems) > 0 || len(file.Axes) == 0 {
			return
		}
		a := file.Axes[len(file.Axes)-1]
		changes := to(t, a)
		m, err := Axis("x.axis.hcl", []byte(text), a, changes)
		if err != nil {
			return
		}
		got := m.Text()
		if Gives(tree, "x.axis.hcl", got, a, changes) != nil {
			return
		}
		again := tree.AxesOf("x.axis.hcl", got, nil)
		if len(again.Axes) != len(file.Axes) {
			t.Fatalf("%d axes instead of %d:\n%s", len(again.Axes), len(file.Axes), got)
		}
		for i, o := range file.Axes {
			n := again.Axes[i]
			if n.Name != o.Name || len(n.Waivers) != len(o.Waivers) || len(n.Moves) != len(o.Moves) {
				t.Fatalf("axis %s is not what it was:\n%s", o.Name, got)
			}
			for k := range o.Moves {
				for _, fd := range spec.Language().Fields[spec.Language().Moves:] {
					if !same(o.Moves[k].Get(fd), n.Moves[k].Get(fd)) {
						t.Fatalf("%s of move %s is not what it was:\n%s", fd.Path, o.Moves[k].Name, got)
					}
				}
			}
			if o == a {
				continue
			}
			for _, fd := range spec.Language().Fields[:spec.Language().Moves] {
				if !same(o.Get(fd), n.Get(fd)) {
					t.Fatalf("%s of axis %s is not what it was:\n%s", fd.Path, o.Name, got)
				}
			}
		}
		if a, b := strings.Count(text, "#"), strings.Count(string(got), "#"); b < a && !strings.Contains(text, "\"#") {
			t.Fatalf("%d signs of comments instead of %d:\n%s", b, a, got)
		}
		// The lines of the patch with a plus or a blank are those of the new text.
		var fresh []string
		for l := range strings.Lines(m.Patch()) {
			if strings.HasPrefix(l, "+") && !strings.HasPrefix(l, "+++ ") {
				fresh = append(fresh, strings.TrimSuffix(l[1:], "\n"))
			}
		}
		lines := strings.Split(string(got), "\n")
		for _, l := range fresh {
			if !slices.Contains(lines, l) {
				t.Fatalf("the patch adds %q, which the text has not:\n%s", l, got)
			}
		}
	})
}
