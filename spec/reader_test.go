package spec

import (
	"crypto/sha256"
	cli "flag"
	"fmt"
	"os"
	"path"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/spec/unit"
)

var update = cli.Bool("update", false, "rewrite the expected problems in testdata")

// A problemCase is one case of testdata/problems.txt: files, and the problems
// that reading all of them finds.
type problemCase struct {
	name  string
	names []string // of the files, in order
	files fstest.MapFS
	want  string
}

func readCases(t *testing.T, file string) []*problemCase {
	t.Helper()
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var cases []*problemCase
	var name string
	var text strings.Builder
	flush := func() {
		if name == "" {
			return
		}
		c := cases[len(cases)-1]
		if name == "want" {
			c.want = text.String()
		} else {
			c.names = append(c.names, name)
			c.files[name] = &fstest.MapFile{Data: []byte(text.String())}
		}
		name = ""
		text.Reset()
	}
	for line := range strings.Lines(string(src)) {
		if s, ok := strings.CutPrefix(line, "=== "); ok {
			flush()
			cases = append(cases, &problemCase{name: strings.TrimSpace(s), files: fstest.MapFS{}})
		} else if s, ok := strings.CutPrefix(line, "--- "); ok {
			flush()
			name = strings.TrimSpace(s)
		} else if name != "" {
			text.WriteString(line)
		}
	}
	flush()
	return cases
}

// readAll reads every file of a tree as a run does: the scopes of all folders,
// then the axes.
func readAll(tree *Tree, names []string) []Problem {
	var problems []Problem
	dirs := map[*Folder]bool{}
	for _, n := range names {
		for f := tree.Folder(path.Dir(n)); f != nil && !dirs[f]; f = f.Parent {
			dirs[f] = true
			problems = append(problems, f.Problems...)
		}
		if strings.HasSuffix(n, AxisSuffix) {
			problems = append(problems, tree.ReadAxes(n).Problems...)
		}
	}
	slices.SortStableFunc(problems, func(a, b Problem) int { return ComparePlaces(a.Place, b.Place) })
	return problems
}

// The words and places of everything the reader finds wrong are in
// testdata/problems.txt; go test -update rewrites them, for a person to read.
func TestProblems(t *testing.T) {
	const file = "testdata/problems.txt"
	cases := readCases(t, file)
	var out strings.Builder
	for _, c := range cases {
		var first string
		fmt.Fprintf(&out, "=== %s\n", c.name)
		for _, n := range c.names {
			fmt.Fprintf(&out, "--- %s\n%s", n, c.files[n].Data)
		}
		t.Run(c.name, func(t *testing.T) {
			contents := map[string][]byte{}
			for n, f := range c.files {
				contents[n] = f.Data
			}
			for range 5 { // the order of a map must not show
				problems := readAll(NewTree(c.files), c.names)
				got := show(problems)
				checkProblems(t, contents, problems)
				if first == "" {
					first = got
					if got != c.want && !*update {
						t.Errorf("got:\n%swant:\n%s", got, c.want)
					}
				} else if got != first {
					t.Fatalf("another time it is:\n%sfirst it was:\n%s", got, first)
				}
			}
		})
		fmt.Fprintf(&out, "--- want\n%s", first)
	}
	if *update {
		if err := os.WriteFile(file, []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

const partsText = `
screw "g20x10" {
  lead                = "10 mm"
  dynamic_rating      = "12.7 kN"
  hardness            = 60
}
screw "20x10" {
  lead = "11 mm"
}
motor "s400" {
  rated_torque = "1.3 N m"
}
environment "hall" {
  dust = true
}
`

// scopeTree is a builder's tree in small: parts at the root, in a folder named
// parts, in a machine's folder; two machines, one with a part of its own.
func scopeTree() fstest.MapFS {
	file := func(s string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(s)} }
	return fstest.MapFS{
		"library.parts.hcl":         file(partsText),
		"parts/grease.parts.hcl":    file("grease \"li2\" {\n  thickener = \"lithium\"\n}\n"),
		"parts/machine.axis.hcl":    file("machine \"not here\" {\n}\n"),
		"machine.axis.hcl":          file("machine \"house\" {\n  environment = environment.hall\n  load {\n    drag = \"1 N\"\n  }\n  accuracy {\n    bandwidth = \"10 Hz\"\n  }\n}\n"),
		"a/machine.axis.hcl":        file("machine \"slicer\" {\n  load {\n    drag = \"18 N\"\n  }\n  duty {\n    hours_per_day = 16\n    shock = \"ordinary\"\n  }\n  lubrication {\n    grease = grease.li2\n  }\n  nut {\n    wipers = true\n    length = \"50 mm\"\n  }\n}\n"),
		"a/parts/own.parts.hcl":     file("nut \"n1\" {\n  length = \"62 mm\"\n}\n"),
		"a/parts/parts/x.parts.hcl": file("nut \"n2\" {\n}\n"),
		"a/deep/below/x.axis.hcl": file(`axis "x" {
  screw {
    part = screw.g20x10
    lead = "12 mm"
  }
  nut {
    part = nut.n1
  }
  drive {
    motor = motor.s400
  }
  duty {
    hours_per_day = 8
  }
}
`),
		"a/bracket.axis.hcl": file("axis \"y\" {\n  screw {\n    part = screw[\"20x10\"]\n  }\n  nut {\n    part = nut.n2\n  }\n}\n"),
		"b/z.axis.hcl":       file("axis \"z\" {\n  nut {\n    part = nut.n1\n  }\n}\n"),
	}
}

// An axis's own line counts before its part's, that before its machine's, that
// before the default.
func TestPrecedence(t *testing.T) {
	tree := NewTree(scopeTree())
	f := tree.ReadAxes("a/deep/below/x.axis.hcl")
	if len(f.Problems) > 0 || len(f.Axes) != 1 {
		t.Fatalf("%+v", f)
	}
	if p := tree.Folder("a").Problems; len(p) > 0 {
		t.Errorf("%+v", p)
	}
	a := f.Axes[0]
	for _, c := range []struct{ path, text, origin, place string }{
		{"screw.lead", "12 mm", "axis", "a/deep/below/x.axis.hcl:4:12"},
		{"screw.dynamic_rating", "12.7 kN", "part", "library.parts.hcl:4:25"},
		{"screw.hardness", "60", "part", "library.parts.hcl:5:25"},
		{"screw.density", "7850 kg/m3", "default", ":0:0"},
		{"nut.length", "62 mm", "part", "a/parts/own.parts.hcl:2:12"},
		{"nut.wipers", "true", "machine", "a/machine.axis.hcl:13:14"},
		{"load.drag", "18 N", "machine", "a/machine.axis.hcl:3:12"},
		{"load.counterbalance", "0 N", "default", ":0:0"},
		{"duty.hours_per_day", "8", "axis", "a/deep/below/x.axis.hcl:13:21"},
		{"duty.shock", "ordinary", "machine", "a/machine.axis.hcl:7:13"},
		{"lubrication.grease", "grease.li2", "machine", "a/machine.axis.hcl:10:14"},
		{"grease.thickener", "lithium", "part", "parts/grease.parts.hcl:2:15"},
		{"motor.rated_torque", "1.3 N m", "part", "library.parts.hcl:11:18"},
	} {
		v := a.Get(Language().FieldAt(c.path))
		if v == nil {
			t.Errorf("%s: no value", c.path)
			continue
		}
		if v.Text != c.text || v.Origin.String() != c.origin || v.Place.String() != c.place {
			t.Errorf("%s: got %q of %v at %v, want %q of %s at %s", c.path, v.Text, v.Origin, v.Place, c.text, c.origin, c.place)
		}
	}
	// The machine block above does not count: the nearest one is the machine.
	for _, path := range []string{"environment", "environment.dust", "accuracy.bandwidth"} {
		if v := a.Get(Language().FieldAt(path)); v != nil {
			t.Errorf("%s: %q of %v", path, v.Text, v.Origin)
		}
	}
	if n := a.Folder.MachineName(); n != "slicer" {
		t.Errorf("machine %q", n)
	}
	if n := tree.Folder("b").MachineName(); n != "house" {
		t.Errorf("machine %q", n)
	}
	if got := tree.ReadAxes("b/z.axis.hcl"); got.Axes[0].Get(Language().FieldAt("environment.dust")) == nil {
		t.Error("part of the machine block above does not come through")
	}
}

func TestPartsScope(t *testing.T) {
	tree := NewTree(scopeTree())
	f := tree.ReadAxes("a/bracket.axis.hcl")
	if len(f.Problems) > 0 {
		t.Fatalf("%s", show(f.Problems))
	}
	v := f.Axes[0].Get(Language().FieldAt("screw.part"))
	if v.Text != `screw["20x10"]` || v.Part == nil || v.Part.Get("lead").Text != "11 mm" {
		t.Errorf("%+v", v)
	}
	wantProblem(t, tree.ReadAxes("b/z.axis.hcl").Problems, 3, 12, "no part nut.n1 is declared in this folder or above")
	if tree.Folder("a/parts") != tree.Folder("a") || tree.Folder("a/parts/parts") != tree.Folder("a") || tree.Folder("parts") != tree.Folder(".") {
		t.Error("a folder named parts is not its parent")
	}
	if names := tree.Folder("a").Parts(); len(names) != 2 {
		t.Errorf("%d parts in a", len(names))
	}
	if p := tree.Folder("a").Part("motor", "s400"); p == nil || slices.Contains(f.Axes[0].Parts(), p) || !slices.Contains(f.Axes[0].Parts(), v.Part) {
		t.Errorf("%+v", p)
	}
	if tree.Folder(".").Part("nut", "n1") != nil || tree.Folder("b").Part("nut", "n1") != nil {
		t.Error("a part shows above or beside its folder")
	}
}

// A part that a machine block names counts after a part the axis names, field
// by field.
func TestMachineOverParts(t *testing.T) {
	tree := NewTree(fstest.MapFS{
		"m.parts.hcl":      {Data: []byte("support \"s1\" {\n  bore = \"15 mm\"\n}\nsupport \"s2\" {\n  stiffness = \"180 N/um\"\n}\n")},
		"machine.axis.hcl": {Data: []byte("machine \"m\" {\n  supports {\n    far_end_part = support.s1\n  }\n}\naxis \"in\" {\n}\n")},
		"x.axis.hcl":       {Data: []byte("axis \"x\" {\n  supports {\n    far_end_part = support.s2\n  }\n}\n")},
	})
	in := tree.ReadAxes("machine.axis.hcl").Axes[0]
	if v := in.Get(Language().FieldAt("far_support.bore")); v == nil || v.Origin != OfPart {
		t.Errorf("%+v", v)
	}
	x := tree.ReadAxes("x.axis.hcl").Axes[0]
	if v := x.Get(Language().FieldAt("far_support.bore")); v != nil {
		t.Errorf("bore of the part not chosen: %+v", v)
	}
}

func TestInterpolation(t *testing.T) {
	src := `
given {
  text   = "${given.twice} of ${given.name}" # uses what stands below
  twice  = given.single * 2
  single = 19
  third  = 10 / 3
  name   = "k"
  wet    = true
}
axis "a" {
  description = <<-END
    first ${given.single}
      second
    END
  load {
    mass     = "${given.twice} kg"
    drag     = "${given.third} N"
    friction = min(0.3, 0.1 * 3, abs(-2)) // a comment
    /* another */
    counterbalance = given.wet ? "5 N" : "6 N"
    standstill     = "${max(ceil(1.2), floor(1.9))} kN"
  }
  screw {
    lead = "${0.1 * 3} mm"
  }
  motion {
    stroke = given.single == 19 ? "${given.single + 1} mm" : "1 mm"
    move "\u0061" {
      distance = "5 mm"
    }
    move "Ünïcödé" {
    }
  }
  nut {
    flange_reason = "a \"quote\", a tab\t, $${no}, \u00e9, ${given.text}"
  }
}
`
	f := axisFile(src)
	if len(f.Problems) > 0 {
		t.Fatalf("%s", show(f.Problems))
	}
	for path, want := range map[string]string{
		"description":         "first 19\n  second\n",
		"load.mass":           "38 kg",
		"load.drag":           "3.33333333333 N",
		"load.friction":       "0.3",
		"load.counterbalance": "5 N",
		"load.standstill":     "2 kN",
		"screw.lead":          "0.3 mm",
		"motion.stroke":       "20 mm",
		"nut.flange_reason":   "a \"quote\", a tab\t, ${no}, é, 38 of k",
	} {
		if v := f.Axes[0].Get(Language().FieldAt(path)); v == nil || v.Bad || v.Text != want {
			t.Errorf("%s: got %+v, want %q", path, v, want)
		}
	}
	if m := f.Axes[0].Moves; len(m) != 2 || m[0].Name != "a" || m[1].Name != "Ünïcödé" {
		t.Errorf("%+v", m)
	}
}

// Places count characters as a person sees them, a tab as one, a line end of
// two bytes as none.
func TestColumns(t *testing.T) {
	for _, c := range []struct{ name, before string }{
		{"plain", "abc"},
		{"accent", "kü"},
		{"combining marks", "e\u0301o\u0308"},
		{"emoji", "👍🏽"},
		{"family", "👩‍👩‍👧"},
		{"flag", "🇪🇺"},
		{"tab", "\t\t"},
		{"wide", "幅"},
	} {
		t.Run(c.name, func(t *testing.T) {
			width := map[string]int{"plain": 3, "accent": 2, "combining marks": 2, "emoji": 1, "family": 1, "flag": 1, "tab": 2, "wide": 1}[c.name]
			for _, end := range []string{"\n", "\r\n"} {
				src := strings.Join([]string{`axis "a" {`, `/*` + c.before + `*/ lead = 5`, `}`, ``}, end)
				f := axisFile(src)
				checkProblems(t, map[string][]byte{"x.axis.hcl": []byte(src)}, f.Problems)
				wantProblem(t, f.Problems, 2, 6+width, `axis has no attribute "lead"`)
			}
		})
	}
	src := "axis \"a\" {\n\tload {\n\t\tmass = 5\n\t}\n}\n"
	wantProblem(t, axisFile(src).Problems, 3, 10, "mass needs a unit")
	// Line ends of another age join all lines into one; that is said, not guessed at.
	if f := axisFile("axis \"a\" {\r}\r"); len(f.Problems) == 0 {
		t.Error("bare carriage returns pass")
	}
}

func TestPlaceFor(t *testing.T) {
	f := axisFile("axis \"a\" {\n  load {\n    mass = \"5 kg\"\n  }\n  motion {\n    move \"m\" {\n      speed = \"1 m/s\"\n    }\n  }\n}\n")
	a := f.Axes[0]
	for path, want := range map[string]string{
		"load.mass": "3:12", "load.drag": "2:3", "screw.lead": "1:6", "motor.rated_torque": "1:6",
	} {
		if got := a.PlaceFor(Language().FieldAt(path), -1).String(); got != "x.axis.hcl:"+want {
			t.Errorf("%s: %s, want %s", path, got, want)
		}
	}
	if got := a.PlaceFor(Language().FieldAt("motion.move.speed"), 0).String(); got != "x.axis.hcl:7:15" {
		t.Error(got)
	}
	if got := a.PlaceFor(Language().FieldAt("motion.move.ramp"), 0).String(); got != "x.axis.hcl:6:10" {
		t.Error(got)
	}
}

// Of a file full of problems the first hundred are shown, and that there are more.
func TestManyProblems(t *testing.T) {
	src := "axis \"a\" {\n" + strings.Repeat("b {\n}\n", 150) + "}\n"
	for range 3 {
		f := axisFile(src)
		if len(f.Problems) != maxProblems+1 {
			t.Fatalf("%d problems", len(f.Problems))
		}
		if got := f.Problems[maxProblems].Message; got != "50 more problems in this file are not shown" {
			t.Error(got)
		}
	}
}

// Where a thing can be said in two ways, an axis that says it in one keeps out
// what its machine says in the other; what neither says stays as it is.
func TestOwnWayOverMachines(t *testing.T) {
	read := func(machine, axis string) *Axis {
		t.Helper()
		f := NewTree(fstest.MapFS{
			"machine.axis.hcl": {Data: []byte("machine \"m\" {\n" + machine + "\n}\n")},
			"x.axis.hcl":       {Data: []byte("axis \"x\" {\n" + axis + "\n}\n")},
		}).ReadAxes("x.axis.hcl")
		if len(f.Problems) > 0 {
			t.Fatal(show(f.Problems))
		}
		return f.Axes[0]
	}
	for _, c := range []struct{ machine, axis, path, want string }{
		{`orientation = "vertical"`, `incline = "30 deg"`, "orientation", ""},
		{`orientation = "vertical"`, `incline = "30 deg"`, "incline", "30 deg of axis"},
		{`orientation = "vertical"`, "", "orientation", "vertical of machine"},
		{`orientation = "vertical"`, "orientation = \"horizontal\"\nincline = \"30 deg\"", "orientation", "horizontal of axis"},
		{"duty {\nload_factor = 1.3\n}", "duty {\nshock = \"smooth\"\n}", "duty.load_factor", ""},
		{"duty {\nload_factor = 1.3\n}", "duty {\nshock = \"smooth\"\n}", "duty.shock", "smooth of axis"},
		{"duty {\nshock = \"shocks\"\n}", "duty {\nload_factor = 1.3\n}", "duty.load_factor", "1.3 of axis"},
		{"duty {\nload_factor = 1.3\nshock = \"shocks\"\n}", "", "duty.load_factor", "1.3 of machine"},
		{"duty {\nload_factor = 1.3\nshock = \"shocks\"\n}", "", "duty.shock", "shocks of machine"},
		{"duty {\nload_factor = 1.3\nhours_per_day = 8\n}", "duty {\nshock = \"smooth\"\n}", "duty.hours_per_day", "8 of machine"},
	} {
		got := ""
		if v := read(c.machine, c.axis).Get(Language().FieldAt(c.path)); v != nil {
			got = v.Text + " of " + v.Origin.String()
		}
		if got != c.want {
			t.Errorf("machine %q, axis %q: %s is %q, want %q", c.machine, c.axis, c.path, got, c.want)
		}
	}
	// The machine's shock gives way to the default, if there is one.
	if v := read("duty {\nshock = \"shocks\"\n}", "duty {\nload_factor = 1.3\n}").Get(Language().FieldAt("duty.shock")); v != nil && v.Origin != Default {
		t.Errorf("shock %q of %v beside a load factor of the axis's own", v.Text, v.Origin)
	}
	// What describes a machine does not describe its axes.
	if v := read(`description = "slices bread"`, "").Get(Language().FieldAt("description")); v != nil {
		t.Errorf("description %q of %v", v.Text, v.Origin)
	}
	if v := read(`description = "slices bread"`, `description = "pushes"`).Get(Language().FieldAt("description")); v == nil || v.Text != "pushes" {
		t.Errorf("description %+v", v)
	}
}

// Every field has a least size, a count is whole, and zero stays permitted where it
// was.
func TestLeastSizes(t *testing.T) {
	for _, c := range []struct{ line, want string }{
		{`load { mass = "5e-324 kg" }`, "mass must be at least 50 mg, found 5e-324 kg"},
		{`load { mass = "50 mg" }`, ""},
		{`load { drag = "1e-300 N" }`, "drag must be zero or at least 0.1 mN, found 1e-300 N"},
		{`load { drag = "0 N" }`, ""},
		{`load { standstill = "-1e-300 N" }`, "standstill must be zero or at least 0.1 mN, found -1e-300 N"},
		{`load { screws = 1.5 }`, "screws must be a whole number, found 1.5"},
		{`screw { starts = 1.5 }`, "starts must be a whole number, found 1.5"},
		{`screw { friction = 0.0001 }`, "friction must be from 0.0005 to 0.2, found 0.0001"},
		{`screw { dn_limit = 100 }`, "dn_limit must be from 2000 to 1000000, found 100"},
		{`screw { expansion = "11.5 1/K" }`, "expansion must be from"},
		{`nut { stiffness = "310 N/mm" }`, "stiffness must be from"},
		{`motion { reaction_time = "20 s" }`, "reaction_time must be from 0 s to 5 s, found 20 s"},
		{`duty { hours_per_day = 5e-9 }`, "hours_per_day must be at least 5e-05, found 5e-09"},
		{"motion {\n move \"m\" {\n speed = \"1e-300 m/s\"\n }\n }", "speed must be at least 5e-5 mm/s"},
	} {
		f := NewTree(fstest.MapFS{"x.axis.hcl": {Data: []byte("axis \"a\" {\n" + c.line + "\n}\n")}}).ReadAxes("x.axis.hcl")
		all := ""
		for _, p := range f.Problems {
			all += p.Message + "\n"
		}
		if (c.want == "") != (all == "") || !strings.Contains(all, c.want) {
			t.Errorf("%s: %q, want %q", c.line, all, c.want)
		}
	}
}

// The example of every field, and its default, lies in its usual range: so do the
// values a reader copies.
func TestExamplesAreUsual(t *testing.T) {
	check := func(f *Field) {
		for _, text := range []string{f.Example, f.Default} {
			text = strings.Trim(text, `"[`)
			if text, _, _ = strings.Cut(text, `"`); text == "" || f.Usual[0] == "" {
				continue
			}
			q, err := unit.Parse(text, f.Unit)
			if err != nil {
				t.Fatal(f.Path, err)
			}
			if size := max(q.Nominal, -q.Nominal); f.Unit != unit.Temperature && size > 0 && (size < f.Low || size > f.High) || !(f.Low < f.High) {
				t.Errorf("%s: %s is outside %s to %s", f.Path, text, f.Usual[0], f.Usual[1])
			}
		}
		if (f.Sort == Quantity || f.Sort == Number) && f.Usual[0] == "" && f.Max >= unbounded && !f.Apart {
			t.Errorf("%s has no usual range", f.Path)
		}
	}
	for _, f := range Language().Fields {
		check(f)
	}
	for _, k := range Language().PartKinds() {
		for _, f := range k.Fields {
			check(f)
		}
	}
}

// TestForget: a folder that is forgotten is read anew with those below, and no other.
func TestForget(t *testing.T) {
	part := func(lead string) *fstest.MapFile {
		return &fstest.MapFile{Data: []byte("screw \"s\" {\n  lead = \"" + lead + "\"\n}\n")}
	}
	files := fstest.MapFS{"a.parts.hcl": part("1 mm"), "m/b.policy.hcl": {}, "m/n/c.policy.hcl": {}, "o/d.policy.hcl": {}}
	tree := NewTree(files)
	lead := func(dir string) string { return tree.Folder(dir).Part("screw", "s").Get("lead").Text }
	root, below, beside := tree.Folder("."), tree.Folder("m/n"), tree.Folder("o")
	digest := tree.FolderDigest("o")
	files["a.parts.hcl"] = part("2 mm")
	tree.Forget("m/parts") // stands for m
	switch {
	case tree.Folder(".") != root || tree.Folder("o") != beside:
		t.Error("more was forgotten than was to be")
	case tree.Folder("m/n") == below:
		t.Error("a folder below was not forgotten")
	case lead("m/n") != "1 mm":
		t.Error("a folder above was forgotten")
	}
	tree.Forget(".")
	if got := lead("o"); got != "2 mm" {
		t.Errorf("a screw has the lead %s", got)
	}
	if tree.FolderDigest("o") == digest {
		t.Error("the digest stays")
	}
}

// TestMachineDigest: it names the machine file of the folder itself, which is none of a
// folder with parts, and changes with that file alone.
func TestMachineDigest(t *testing.T) {
	files := fstest.MapFS{
		"m/machine.axis.hcl": {Data: []byte("machine \"m\" {}\n")}, "m/parts/machine.axis.hcl": {}, "n/a.parts.hcl": {}, "o/machine.axis.hcl/x": {},
	}
	tree := NewTree(files)
	if got, ok := tree.MachineDigest("m"); !ok || got != sha256.Sum256(files["m/machine.axis.hcl"].Data) {
		t.Errorf("the digest is %x, %v", got, ok)
	}
	for _, dir := range []string{".", "m/parts", "n", "o"} {
		if _, ok := tree.MachineDigest(dir); ok {
			t.Errorf("%s has a machine file that can be read", dir)
		}
	}
}

// TestLostGiven: a given value whose line is half typed, and which is used, is unreadable
// and no more.
func TestLostGiven(t *testing.T) {
	src := "given {\n  x = 3 +\n}\n\naxis \"a\" {\n  load {\n    mass = \"${given.x * 2} kg\"\n    drag = \"4 N\"\n  }\n}\n"
	file := NewTree(fstest.MapFS{}).AxesOf("a.axis.hcl", []byte(src), nil)
	if len(file.Axes) != 1 || len(file.Problems) != 1 || file.Problems[0].Rule != "syntax" {
		t.Fatalf("%d axes, problems %v", len(file.Axes), file.Problems)
	}
	if mass := file.Axes[0].Get(Language().FieldAt("load.mass")); mass == nil || !mass.Bad {
		t.Errorf("the mass is %+v", mass)
	}
	if drag := file.Axes[0].Get(Language().FieldAt("load.drag")); drag == nil || drag.Bad {
		t.Errorf("the drag is %+v", drag)
	}
}
