package hcledit

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"trammel/spec"
)

const parts = `screw "a" {
  lead = "5 mm"
}
screw "b" {
  lead = "10 mm"
}
motor "m" {
  max_speed = "3000 rpm"
}
support "u" {
  kind = "fixed"
}
`

func read(t testing.TB, text string) (*spec.Tree, *spec.Axis) {
	t.Helper()
	tree := spec.NewTree(fstest.MapFS{"x.axis.hcl": {Data: []byte(text)}, "p.parts.hcl": {Data: []byte(parts)}})
	f := tree.ReadAxes("x.axis.hcl")
	for _, p := range f.Problems {
		t.Fatalf("%s: %s", p.Place, p.Message)
	}
	return tree, f.Axes[len(f.Axes)-1]
}

func field(path string) *spec.Field { return spec.Language().FieldAt(path) }

// to lists the changes that take screw b, fix the far end, set grade and
// preload, and name a motor.
func to(t testing.TB, a *spec.Axis) []spec.Change {
	t.Helper()
	out := slices.Concat(a.ReplacePart(field("screw.part"), a.Folder.Part("screw", "b")), a.ReplacePart(field("drive.motor"), a.Folder.Part("motor", "m")),
		a.ReplacePart(field("supports.drive_end_part"), nil))
	for path, text := range map[string]string{"supports.far_end": "fixed", "screw.grade": "C3", "nut.preload": "250 N"} {
		c, err := a.WithText(field(path), text)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, c)
	}
	slices.SortFunc(out, func(a, b spec.Change) int { return a.Field.Index() - b.Field.Index() })
	return out
}

func TestAxis(t *testing.T) {
	for name, c := range map[string][2]string{
		"lines keep their comments and their neighbours": {`# head
axis "x" {
  screw {
    part   = screw.a # chosen in May
    length = "980 mm"
    grade  = "C7"    # rolled
  }
  nut {
    preload = "100 N"
  }
  supports {
    drive_end      = "fixed"
    drive_end_part = support.u # on stock
    far_end        = "supported"
  }
  drive {
    ratio = 1
  }
}
`, `# head
axis "x" {
  screw {
    part   = screw.b # chosen in May
    length = "980 mm"
    grade  = "C3"    # rolled
  }
  nut {
    preload = "250 N"
  }
  supports {
    drive_end      = "fixed"
    # on stock
    far_end        = "fixed"
  }
  drive {
    ratio = 1
    motor = motor.m
  }
}
`},
		"blocks that are not there": {"axis \"x\" {\n}\n", `axis "x" {
  screw {
    part  = screw.b
    grade = "C3"
  }
  nut {
    preload = "250 N"
  }
  supports {
    far_end = "fixed"
  }
  drive {
    motor = motor.m
  }
}
`},
		"values of its own that a part has": {`axis "x" {
  screw {
    lead          = "5 mm"
    root_diameter = "17 mm" # measured
    length        = "980 mm"
  }
}
`, `axis "x" {
  screw {
    # measured
    length        = "980 mm"
    part          = screw.b
    grade         = "C3"
  }
  nut {
    preload = "250 N"
  }
  supports {
    far_end = "fixed"
  }
  drive {
    motor = motor.m
  }
}
`},
		"blocks on one line, and the ends of lines of another system": {"axis \"x\" {\r\n\tscrew { grade = \"C7\" }\r\n\tnut {}\r\n}\r\n",
			"axis \"x\" {\r\n\tscrew {\r\n\t  grade = \"C3\"\r\n\t  part = screw.b\r\n\t}\r\n\tnut {\r\n\t  preload = \"250 N\"\r\n\t}\r\n  supports {\r\n    far_end = \"fixed\"\r\n  }\r\n  drive {\r\n    motor = motor.m\r\n  }\r\n}\r\n"},
	} {
		t.Run(name, func(t *testing.T) {
			tree, a := read(t, c[0])
			changes := to(t, a)
			m, err := Axis("x.axis.hcl", []byte(c[0]), a, changes)
			if err != nil {
				if strings.Contains(name, "one line") && strings.Contains(err.Error(), "tidy") {
					return
				}
				t.Fatal(err)
			}
			if got := string(m.Text()); got != c[1] {
				t.Errorf("got\n%s\nwant\n%s", got, c[1])
			}
			if err := Gives(tree, "x.axis.hcl", m.Text(), a, changes); err != nil {
				t.Error(err)
			}
		})
	}
}

// A patch makes of the file what the text is, by the word of a program that
// applies patches.
func TestPatch(t *testing.T) {
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("needs git")
	}
	long := "# a\n# b\n# c\n# d\n# e\n# f\n# g\naxis \"x\" {\n  screw {\n    part = screw.a\n  }\n" + strings.Repeat("  # filling\n", 20) + "  nut {\n    length = \"60 mm\"\n  }\n}"
	for _, text := range []string{long, long + "\n", "axis \"x\" {\n}"} {
		dir := t.TempDir()
		tree, a := read(t, text)
		m, err := Axis("x.axis.hcl", []byte(text), a, to(t, a))
		if err != nil {
			t.Fatal(err)
		}
		_ = tree
		file := filepath.Join(dir, "x.axis.hcl")
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		c := exec.Command("git", "apply", "-")
		c.Dir, c.Stdin = dir, strings.NewReader(m.Patch())
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("%v: %s\n%s", err, out, m.Patch())
		}
		got, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, m.Text()) {
			t.Errorf("the patch makes\n%s\nnot\n%s", got, m.Text())
		}
	}
}

// What is not in the axis's own lines cannot be written there, and is said.
func TestGivesNotices(t *testing.T) {
	text := "axis \"x\" {\n  supports {\n    drive_end_part = support.u\n  }\n}\n"
	tree, a := read(t, text)
	changes := a.ReplacePart(field("screw.part"), a.Folder.Part("screw", "b"))
	if err := Gives(tree, "x.axis.hcl", []byte(text), a, changes); err == nil || !strings.Contains(err.Error(), "screw.part") {
		t.Errorf("%v", err)
	}
}

// Whatever the lines of an axis are, the edited text gives what was asked, or
// it is said why not; a patch is never half of it.
func TestChangedGives(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		var b strings.Builder
		eol := rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(r, "eol")
		comment := func() string {
			return rapid.SampledFrom([]string{"", " # why", " // why", " /* why */"}).Draw(r, "comment")
		}
		block := func(name string, lines ...string) {
			if !rapid.Bool().Draw(r, name) {
				return
			}
			if len(lines) == 1 && rapid.Bool().Draw(r, "one line") {
				b.WriteString("  " + name + " { " + lines[0] + " }" + comment() + eol)
				return
			}
			b.WriteString("  " + name + " {" + comment() + eol)
			for _, l := range lines {
				if rapid.Bool().Draw(r, l) {
					b.WriteString("    " + l + comment() + eol)
				}
			}
			b.WriteString("  }" + comment() + eol)
		}
		b.WriteString("axis \"x\" {" + eol)
		block("nut", `preload = "100 N"`, `length = "60 mm"`)
		block("screw", `part = screw.a`, `grade = "C7"`, `lead = "5 mm"`, `root_diameter = "17 mm"`, `length = "980 mm"`)
		block("drive", `motor = motor.m`)
		block("supports", `drive_end_part = support.u`, `far_end = "free"`, `span = "900 mm"`)
		b.WriteString("}" + rapid.SampledFrom([]string{"", eol}).Draw(r, "end"))
		text := b.String()
		tree := spec.NewTree(fstest.MapFS{"x.axis.hcl": {Data: []byte(text)}, "p.parts.hcl": {Data: []byte(parts)}})
		f := tree.ReadAxes("x.axis.hcl")
		if len(f.Problems) > 0 {
			r.Fatalf("%s\n%s", f.Problems[0].Message, text)
		}
		a := f.Axes[0]
		changes := to(t, a)
		m, err := Axis("x.axis.hcl", []byte(text), a, changes)
		if err != nil {
			if !strings.Contains(err.Error(), "tidy") {
				r.Fatalf("%v\n%s", err, text)
			}
			return
		}
		if err := Gives(tree, "x.axis.hcl", m.Text(), a, changes); err != nil {
			r.Fatalf("%v\n%s\nbecame\n%s", err, text, m.Text())
		}
	})
}
