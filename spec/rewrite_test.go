package spec

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/spec/amount"
)

// rewriteFiles is a tree in which values stand in every sort of place.
func rewriteFiles() fstest.MapFS {
	files := map[string]string{
		"machine.axis.hcl": "machine \"press\" {\n  accuracy {\n    temperature_rise = \"3 K\" # measured\n  }\n}\n",
		"p.parts.hcl": `screw "s" {
  lead = "10 mm" # of the list
}
support "b" {
  kind = "fixed"
  stiffness = "180 N/um"
}
series "motors" {
  of      = "motor"
  rated_speed = "3000 rpm"
  columns = ["name", "max_speed rpm", "rated_torque"]
  sizes = [
    ["m1", 4500, "1.35 N m"],
    ["m2", 3000, null],
  ]
}
`,
		"a.axis.hcl": `given {
  v    = "0.6 m/s"
  mass = "30 kg"
  n    = 2
}
axis "a" {
  load { mass = given.mass }
  motion {
    move "out" {
      distance = "0.7 m"
      speed    = given.v # both the same
    }
    move "back" {
      distance = "-0.7 m"
      speed    = given.v
    }
    move "rest" { distance = "1 mm" }
  }
  screw {
    part = screw.s
  }
  duty {
    load_factor = given.n
    hours_per_day = given.n * 4
  }
  supports {
    drive_end_part = support.b
    far_end_part   = support.b
  }
  drive {
    motor = motor.m1
  }
  nut {}
}
axis "b" {}
`,
	}
	out := fstest.MapFS{}
	for name, text := range files {
		out[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return out
}

// rewritten makes the edits in the files and reads the axis again.
func rewritten(t *testing.T, files fstest.MapFS, a *Axis, edits []Edit) *Axis {
	t.Helper()
	edited := fstest.MapFS{}
	for name, file := range files {
		own := slices.DeleteFunc(slices.Clone(edits), func(e Edit) bool { return e.Place.File != name })
		edited[name] = &fstest.MapFile{Data: Apply(file.Data, own)}
	}
	tree := NewTree(edited)
	file := tree.ReadAxes(a.Place.File)
	for _, p := range slices.Concat(file.Problems, tree.Folder(filepath.Dir(a.Place.File)).Problems) {
		t.Errorf("%s: %s after %+v", p.Place, p.Message, edits)
	}
	for _, b := range file.Axes {
		if b.Name == a.Name {
			return b
		}
	}
	t.Fatalf("axis %s is gone after %+v", a.Name, edits)
	return nil
}

// alikeAxes reports the first field in which two axes differ.
func alikeAxes(x, y *Axis) error {
	differ := func(f *Field, p, q *Value) error {
		if (p == nil) != (q == nil) || p != nil && (p.Num != q.Num || p.Word != q.Word || p.Text != q.Text || p.Flag != q.Flag || p.Ends != q.Ends || p.Bad != q.Bad) {
			return fmt.Errorf("%s is %+v, expected %+v", f.Path, q, p)
		}
		return nil
	}
	for _, f := range theSchema.Fields[:theSchema.Moves] {
		if err := differ(f, x.Get(f), y.Get(f)); err != nil {
			return err
		}
	}
	for i, m := range x.Moves {
		for _, f := range theSchema.Fields[theSchema.Moves:] {
			if err := differ(f, m.Get(f), y.Moves[i].Get(f)); err != nil {
				return fmt.Errorf("move %s: %w", m.Name, err)
			}
		}
	}
	return nil
}

// TestRewrite: the edits stand at the line that gives the value, and where there is
// none in its block; the axis is read from them as was said.
func TestRewrite(t *testing.T) {
	line := func(path string, move int, text string) Line { return Line{theSchema.FieldAt(path), move, text} }
	for _, x := range []struct {
		axis  string
		lines []Line
		want  []string // file:line:col, length, text
	}{
		{"a", []Line{line("motion.move.distance", 0, "800 mm")}, []string{`a.axis.hcl:10:18 7 "800 mm"`}},
		{"a", []Line{line("motion.move.speed", 0, "0.5 m/s"), line("motion.move.speed", 1, "0.5 m/s")}, []string{`a.axis.hcl:2:10 9 "0.5 m/s"`}},
		{"a", []Line{line("motion.move.speed", 0, "0.5 m/s")}, []string{`a.axis.hcl:11:18 7 "0.5 m/s"`}}, // the other move keeps the given value
		{"a", []Line{line("motion.move.speed", 0, "0.5 m/s"), line("motion.move.speed", 1, "0.4 m/s")}, []string{`a.axis.hcl:11:18 7 "0.5 m/s"`, `a.axis.hcl:15:18 7 "0.4 m/s"`}},
		{"a", []Line{line("load.mass", -1, "25 kg")}, []string{`a.axis.hcl:3:10 7 "25 kg"`}},
		{"a", []Line{line("duty.load_factor", -1, "1.5")}, []string{`a.axis.hcl:23:19 7 1.5`}}, // the given value is used in a sum as well
		{"a", []Line{line("duty.hours_per_day", -1, "6")}, []string{`a.axis.hcl:24:21 11 6`}},
		{"a", []Line{line("accuracy.temperature_rise", -1, "2 K")}, []string{`machine.axis.hcl:3:24 5 "2 K"`}},
		{"a", []Line{line("screw.lead", -1, "12 mm")}, []string{`p.parts.hcl:2:10 7 "12 mm"`}},
		{"a", []Line{line("drive_support.stiffness", -1, "200 N/um")}, []string{`p.parts.hcl:6:15 10 "200 N/um"`}}, // at both ends
		{"a", []Line{line("motor.max_speed", -1, "5000 rpm")}, []string{`p.parts.hcl:13:12 4 5000`}},
		{"a", []Line{line("motor.rated_torque", -1, "2 N m")}, []string{`p.parts.hcl:13:18 10 "2 N m"`}},
		{"a", []Line{line("motor.rated_speed", -1, "3500 rpm")}, []string{`p.parts.hcl:10:17 10 "3500 rpm"`}},
		{"a", []Line{line("screw.grade", -1, "C5")}, []string{"a.axis.hcl:21:3 0   grade = \"C5\"\n  "}},
		{"a", []Line{line("motion.stroke", -1, "700 mm")}, []string{"a.axis.hcl:9:5 0 stroke = \"700 mm\"\n    "}},
		{"a", []Line{line("motion.move.dwell", 1, "1 s")}, []string{"a.axis.hcl:16:5 0   dwell = \"1 s\"\n    "}},
		{"a", []Line{line("motion.move.dwell", 2, "1 s")}, []string{"a.axis.hcl:17:18 0 \n", "a.axis.hcl:17:37 0 \n  dwell = \"1 s\"\n"}},
		{"a", []Line{line("load.friction", -1, "0.01")}, []string{"a.axis.hcl:7:9 0 \n", "a.axis.hcl:7:28 0 \n  friction = 0.01\n"}},
		{"a", []Line{line("nut.wipers", -1, "true"), line("nut.preload", -1, "500 N")}, []string{"a.axis.hcl:33:8 0 \n  wipers = true\n  preload = \"500 N\"\n"}},
		{"a", []Line{line("lubrication.regrease_every", -1, "6 months")}, []string{"a.axis.hcl:7:3 0 lubrication {\n    regrease_every = \"6 months\"\n  }\n  "}},
		{"b", []Line{line("orientation", -1, "vertical"), line("nut.wipers", -1, "true")}, []string{"a.axis.hcl:35:11 0 \n  orientation = \"vertical\"\n", "a.axis.hcl:35:11 0 \n  nut {\n    wipers = true\n  }\n"}},
	} {
		files := rewriteFiles()
		for _, a := range NewTree(files).ReadAxes("a.axis.hcl").Axes {
			if a.Name != x.axis {
				continue
			}
			to, edits, ok := a.Rewrite(x.lines)
			if !ok {
				t.Errorf("%+v cannot be written", x.lines)
				continue
			}
			var got []string
			for _, e := range edits {
				got = append(got, fmt.Sprintf("%s %d %s", e.Place, e.Place.EndByte-e.Place.Byte, e.Text))
			}
			if !slices.Equal(got, x.want) {
				t.Errorf("%s to %s:\n%q, expected\n%q", x.lines[0].Field.Path, x.lines[0].Text, got, x.want)
			}
			if err := alikeAxes(to, rewritten(t, files, a, edits)); err != nil {
				t.Errorf("%s to %s: %v", x.lines[0].Field.Path, x.lines[0].Text, err)
			}
		}
	}
}

// TestNotRewritten: what only a part could say and no part says, what is no value of
// its field, and what is no single value.
func TestNotRewritten(t *testing.T) {
	a := NewTree(rewriteFiles()).ReadAxes("a.axis.hcl").Axes[0]
	for path, text := range map[string]string{
		"motor.brake_torque": "1 N m", "load.drag": "-5 N", "load.mass": "3 mm", "screw.grade": "C4", "screw.end_lengths": "5 mm", "drive.motor": "motor.m2", "motor.max_speed": "5000 rpm ± 10 rpm",
	} {
		if _, edits, ok := a.Rewrite([]Line{{theSchema.FieldAt(path), -1, text}}); ok {
			t.Errorf("%s to %s: %+v", path, text, edits)
		}
	}
}

// TestRewriteReadsBack: every value of every axis of the fixtures, changed alone, is
// read back from the edited files as it was said, and nothing else has changed.
func TestRewriteReadsBack(t *testing.T) {
	root := filepath.Join("..", "fixtures", "bakery")
	files := fstest.MapFS{}
	_ = filepath.WalkDir(root, func(p string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() && IsSpec(d.Name()) {
			src, _ := os.ReadFile(p)
			rel, _ := filepath.Rel(root, p)
			files[filepath.ToSlash(rel)] = &fstest.MapFile{Data: src}
		}
		return err
	})
	tree, tried, n := NewTree(files), 0, 0
	for name := range files {
		if !strings.HasSuffix(name, AxisSuffix) {
			continue
		}
		for _, a := range tree.ReadAxes(name).Axes {
			for i, f := range theSchema.Fields {
				if n++; n%amount.Of(29, 97) != 0 {
					continue // a share of them
				}
				move := -1
				if i >= theSchema.Moves {
					if move = n % max(1, len(a.Moves)); len(a.Moves) == 0 {
						continue
					}
				}
				text := ""
				switch f.Sort {
				case Quantity, Number:
					text = strings.Trim(f.Example, `"`)
				case Word:
					text = f.Words[len(f.Words)-1]
				case Flag:
					text = "true"
				default:
					continue
				}
				to, edits, ok := a.Rewrite([]Line{{f, move, text}})
				if !ok {
					continue
				}
				tried++
				if err := alikeAxes(to, rewritten(t, files, a, edits)); err != nil {
					t.Errorf("%s of %s to %s: %v", f.Path, a.Name, text, err)
				}
			}
		}
	}
	if tried < amount.Of(50, 15) {
		t.Errorf("only %d values were changed", tried)
	}
}

// TestRewriteBehindAMark: a byte order mark does not shift an edit.
func TestRewriteBehindAMark(t *testing.T) {
	files := fstest.MapFS{"a.axis.hcl": &fstest.MapFile{Data: []byte("\ufeffaxis \"ä\" {\r\n  load {\r\n    mass = \"30 kg\"\r\n  }\r\n}\r\n")}}
	a := NewTree(files).ReadAxes("a.axis.hcl").Axes[0]
	to, edits, ok := a.Rewrite([]Line{{theSchema.FieldAt("load.mass"), -1, "25 kg"}, {theSchema.FieldAt("load.drag"), -1, "5 N"}})
	if !ok {
		t.Fatal("it cannot be written")
	}
	if err := alikeAxes(to, rewritten(t, files, a, edits)); err != nil {
		t.Error(err)
	}
}
