package spec

import (
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/fstest"
)

func axisWithModel(name string) string {
	return "axis \"a\" {\n  screw {\n    model = \"" + name + "\"\n  }\n}\n"
}

func pinModel(t *testing.T) []byte {
	t.Helper()
	b, err := os.ReadFile("step/testdata/pin.step")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func onlyAxis(t *testing.T, tree *Tree, name string) *Axis {
	t.Helper()
	f := tree.ReadAxes(name)
	if len(f.Axes) != 1 {
		t.Fatalf("%d axes, %v", len(f.Axes), f.Problems)
	}
	return f.Axes[0]
}

func TestModel(t *testing.T) {
	t.Parallel()
	pin := pinModel(t)
	fsys := fstest.MapFS{
		"m/a.axis.hcl": {Data: []byte(axisWithModel("../cad/pin.STEP"))},
		"cad/pin.STEP": {Data: pin},
	}
	tree := NewTree(fsys)
	a := onlyAxis(t, tree, "m/a.axis.hcl")
	m := a.Model()
	if a.ModelPath() != "cad/pin.STEP" || m == nil || m.Err != "" || len(m.Turned) != 1 || m.Turned[0].Profile.Length != 80 || m.Turned[0].Name != "pin" {
		t.Fatalf("%q: got %+v", a.ModelPath(), m)
	}
	if again := tree.WithSubstitutes(nil); onlyAxis(t, again, "m/a.axis.hcl").Model() != m || again.ModelDigest("cad/pin.STEP") != m.Digest {
		t.Error("a model is read once")
	}
	if a.Copy().Model() != m {
		t.Error("a copy of an axis names the same model")
	}
	fsys["cad/pin.STEP"] = &fstest.MapFile{Data: append([]byte("\n"), pin...)}
	if NewTree(fsys).ModelDigest("cad/pin.STEP") == m.Digest {
		t.Error("another content has another digest")
	}
	fsys["m/a.axis.hcl"] = &fstest.MapFile{Data: []byte("axis \"a\" {\n}\n")}
	if b := onlyAxis(t, NewTree(fsys), "m/a.axis.hcl"); b.Model() != nil || b.ModelPath() != "" {
		t.Error("an axis that names none has a model")
	}
}

// What cannot be read says why, and has a digest that changes when it can.
func TestUnreadableModels(t *testing.T) {
	t.Parallel()
	pin := pinModel(t)
	for name, c := range map[string]struct {
		files fstest.MapFS
		want  string
	}{
		"missing":     {fstest.MapFS{}, "there is no such file"},
		"a folder":    {fstest.MapFS{"cad/x.step/y": {Data: pin}}, "it cannot be read: it is no regular file (a folder)"},
		"a pipe":      {fstest.MapFS{"cad/x.step": {Mode: fs.ModeNamedPipe}}, "it cannot be read: it is no regular file (a pipe)"},
		"a link":      {fstest.MapFS{"cad/x.step": {Mode: fs.ModeSymlink, Data: []byte("y.step")}, "cad/y.step": {Data: pin}}, "it cannot be read: cad/x.step is a link; name the file that it leads to"},
		"behind one":  {fstest.MapFS{"cad": {Mode: fs.ModeSymlink, Data: []byte("real")}, "real/x.step": {Data: pin}}, "it cannot be read: cad is a link; name the file that it leads to"},
		"cut":         {fstest.MapFS{"cad/x.step": {Data: pin[:len(pin)/2]}}, "line "},
		"no STEP":     {fstest.MapFS{"cad/x.step": {Data: []byte("solid\n")}}, "line 1: this is not a STEP file: it does not begin with ISO-10303-21"},
		"not fetched": {fstest.MapFS{"cad/x.step": {Data: []byte("version https://git-lfs.github.com/spec/v1\noid sha256:00\nsize 5\n")}}, "line 1: this is only a pointer to the file (git lfs); fetch the file itself"},
	} {
		c.files["a.axis.hcl"] = &fstest.MapFile{Data: []byte(axisWithModel("cad/x.step"))}
		m := onlyAxis(t, NewTree(c.files), "a.axis.hcl").Model()
		if m == nil || !strings.HasPrefix(m.Err, c.want) || len(m.Turned) > 0 {
			t.Errorf("%s: got %+v; want %s", name, m, c.want)
			continue
		}
		if NewTree(c.files).ModelDigest("cad/x.step") != m.Digest {
			t.Errorf("%s: read or only hashed, the digest is another", name)
		}
		whole := fstest.MapFS{"cad/x.step": {Data: pin}}
		if NewTree(whole).ModelDigest("cad/x.step") == m.Digest {
			t.Errorf("%s: the digest is that of the file that can be read", name)
		}
	}
}

func TestModelNames(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]string{
		"x.step": "", "cad/x.stp": "", "../cad/x.STP": "", "./x.step": "",
		"":                `model "" names no file`,
		"/cad/x.step":     `model "/cad/x.step" is not relative to this file; write it from the folder of this file on`,
		"c:/x.step":       "is not relative to this file",
		`cad\\x.step`:     "holds a backslash; write it with forward slashes",
		"../../x.step":    "leads out of the tree; put the model into the tree",
		"../..":           "leads out of the tree",
		"../.git/x.step":  "lies in a hidden folder",
		".x.step":         "lies in a hidden folder",
		"x.igs":           "is no STEP file by its name; export the model as STEP; its name ends in .step or .stp",
		".step":           "lies in a hidden folder",
		"a.axis.hcl":      "is no STEP file by its name",
		"https://x/y.stp": "is not relative to this file",
	} {
		f := NewTree(fstest.MapFS{"m/a.axis.hcl": {Data: []byte(axisWithModel(name))}}).ReadAxes("m/a.axis.hcl")
		if want == "" {
			if len(f.Problems) > 0 {
				t.Errorf("%s: %v", name, f.Problems)
			}
			continue
		}
		if len(f.Problems) != 1 || !strings.Contains(f.Problems[0].Message+"; "+f.Problems[0].Help, want) || f.Problems[0].Rule != "value" {
			t.Errorf("%s: got %v; want %s", name, f.Problems, want)
		}
		if len(f.Axes) != 1 || f.Axes[0].Model() != nil {
			t.Errorf("%s: a model is read by a name that cannot be", name)
		}
	}
}
