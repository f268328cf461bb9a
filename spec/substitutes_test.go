package spec

import (
	"testing"
	"testing/fstest"
)

// One part taken for another fills the axes that refer to it, and no others;
// the tree it was made from stays as it is, and so does a machine all its axes
// share.
func TestWithSubstitutes(t *testing.T) {
	files := fstest.MapFS{
		"lib.parts.hcl": {Data: []byte(`
screw "a" {
  lead   = "5 mm"
  starts = 1
}
support "s" {
  bore = "10 mm"
}
support "z" {
  bore = "12 mm"
}`)},
		"far/lib.parts.hcl":  {Data: []byte("screw \"b\" {\n  lead = \"10 mm\"\n}\n")},
		"m/machine.axis.hcl": {Data: []byte("machine \"m\" {\n  supports {\n    drive_end_part = support.s\n  }\n}\n")},
		"m/x.axis.hcl":       {Data: []byte("axis \"x\" {\n  screw {\n    part = screw.a\n  }\n}\naxis \"y\" {\n  screw {\n    part = screw.a\n    lead = \"7 mm\"\n  }\n}\n")},
	}
	tree := NewTree(files)
	get := func(tree *Tree, axis int, path string) string {
		f := tree.ReadAxes("m/x.axis.hcl")
		if len(f.Problems) > 0 {
			t.Fatal(f.Problems)
		}
		v := f.Axes[axis].Get(Language().FieldAt(path))
		if v == nil {
			return "none"
		}
		return v.Text
	}
	top, far := tree.Folder("."), tree.Folder("far")
	other := tree.WithSubstitutes(map[*Part]*Part{
		top.Part("screw", "a"): far.Part("screw", "b"), top.Part("support", "s"): top.Part("support", "z"),
	})
	if other.Folder("m") != tree.Folder("m") {
		t.Error("the folders are read twice")
	}
	for range 2 { // asked twice: nothing sticks
		for _, c := range []struct {
			tree *Tree
			axis int
			path string
			want string
		}{
			{tree, 0, "screw.lead", "5 mm"},
			{other, 0, "screw.lead", "10 mm"},
			{tree, 0, "screw.starts", "1"},
			{other, 0, "screw.starts", "none"},
			{tree, 1, "screw.lead", "7 mm"},
			{other, 1, "screw.lead", "7 mm"},
			{tree, 0, "drive_support.bore", "10 mm"},
			{other, 0, "drive_support.bore", "12 mm"},
		} {
			if got := get(c.tree, c.axis, c.path); got != c.want {
				t.Errorf("%s of axis %d is %s, expected %s", c.path, c.axis, got, c.want)
			}
		}
	}
}
