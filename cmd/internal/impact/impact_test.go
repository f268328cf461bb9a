package impact

import (
	"bytes"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/spec"
)

// finder lists axis files of a file system without git. It leaves out what patterns allow
// it to, so that one too narrow shows.
func finder(fsys fs.FS) Find {
	return func(dir string, recursive bool, patterns ...string) ([]string, error) {
		var any []*regexp.Regexp
		for _, p := range patterns {
			any = append(any, regexp.MustCompilePOSIX(p))
		}
		var found []string
		err := fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
			in := path.Dir(name) == dir || recursive && (dir == "." || strings.HasPrefix(name, dir+"/"))
			if err != nil || d.IsDir() || !in || !strings.HasSuffix(name, spec.AxisSuffix) {
				return err
			}
			src, err := fs.ReadFile(fsys, name)
			if len(any) == 0 || slices.ContainsFunc(any, func(r *regexp.Regexp) bool {
				return slices.ContainsFunc(bytes.Split(src, []byte("\n")), r.Match)
			}) {
				found = append(found, name)
			}
			return err
		})
		return found, err
	}
}

func mapFS(files map[string]string) fs.FS {
	m := fstest.MapFS{}
	for name, text := range files {
		m[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return m
}

// show writes an impact as lines: file, axes, reasons.
func show(i Impact) []string {
	var out []string
	for _, f := range i.Files {
		axes := "*"
		if i.Axes[f] != nil {
			axes = strings.Join(i.Axes[f], ",")
		}
		out = append(out, f+" ["+axes+"] "+strings.Join(i.Why[f], "; "))
	}
	for _, f := range i.Removed {
		out = append(out, "removed "+f)
	}
	return out
}

func axis(name, lines string) string { return fmt.Sprintf("axis %q {\n%s}\n", name, lines) }

func use(name, part string) string { return axis(name, "  screw {\n    part = "+part+"\n  }\n") }

func screw(name, lead string) string {
	return fmt.Sprintf("screw %q {\n  lead = %q\n}\n", name, lead)
}

// screws are the parts of fleet as a series.
func screws(k1, k2 string) string {
	return fmt.Sprintf("series \"k\" {\n  of = \"screw\"\n  columns = [\"lead mm\", \"name\"]\n  sizes = [[%s, \"k1\"], [%s, \"k2\"], [20, \"k22\"], [10, \"20x10\"], [5, \"füh\"]]\n}\n", k1, k2)
}

var fleet = map[string]string{
	"parts/s.parts.hcl":       screw("k1", "10 mm") + screw("k2", "20 mm") + screw("k22", "20 mm") + screw("20x10", "10 mm") + screw("füh", "5 mm"),
	"parts/p.parts.hcl":       "environment \"hall\" {\n  dust = true\n}\nenvironment \"yard\" {\n  dust = true\n}\n",
	"parts/g.parts.hcl":       "given {\n  l = 5\n}\nscrew \"g1\" {\n  lead = \"${given.l} mm\"\n}\nscrew \"g2\" {\n  lead = \"7 mm\"\n}\n",
	"house.policy.hcl":        "rule \"min-lead\" {\n  severity = \"note\"\n}\n",
	"m/machine.axis.hcl":      "machine \"m\" {\n  environment = environment.hall\n  duty {\n    hours_per_day = 8\n  }\n}\n",
	"m/a.axis.hcl":            use("a", "screw.k1"),
	"m/b.axis.hcl":            use("b", "screw.k2") + use("b2", `screw["20x10"]`),
	"m/c.axis.hcl":            axis("c", "  load {\n    carries = [axis.b]\n  }\n") + axis("c2", ""),
	"m/d.axis.hcl":            axis("d", "  load {\n    carries = [axis.c]\n  }\n"),
	"m/far/e.axis.hcl":        use("e", "screw.k22"),
	"m/near/n.axis.hcl":       use("n", "screw.g1") + use("n2", "screw.g2"),
	"m/near/machine.axis.hcl": "machine \"near\" {\n}\n" + axis("in", ""),
	"x/x.axis.hcl":            use("x", "screw.füh") + axis("y", "  # screw.k1 is only mentioned\n"),
	"x/esc.axis.hcl":          use("z", `screw["k\u0031"]`),
	"x/fine.policy.hcl":       "rule \"min-lead\" {\n  severity = \"error\"\n}\n",
	"x/parts/own.axis.hcl":    use("own", "screw.k1"),
	".h/h.axis.hcl":           use("h", "screw.k1"),
	"v/v.axis.hcl":            axis("v", "  screw {\n    model = \"${\"../cad\"}/s.step\"\n  }\n") + axis("v2", "  # model\n"),
	"cad/s.step":              "a model",
	"cad/t.STP":               "another",
}

// moves takes the files of a folder to another; one of them is written anew, or left out.
func moves(from, to, name, text string) map[string]string {
	out := map[string]string{}
	for old, now := range placed(from, to) {
		out[old], out[now] = "", fleet[old]
	}
	if name != "" {
		out[name] = text
		if text == "" {
			delete(out, placed(from, to)[name])
		}
	}
	return out
}

// with adds a file to an edit.
func with(files map[string]string, name, text string) map[string]string {
	files[name] = text
	return files
}

// moved names the old files by the new.
func moved(from, to string) map[string]string {
	out := map[string]string{}
	for old, now := range placed(from, to) {
		out[now] = old
	}
	return out
}

func placed(from, to string) map[string]string {
	out := map[string]string{}
	for name := range fleet {
		if rest, ok := strings.CutPrefix(name, from); ok {
			out[name] = to + rest
		}
	}
	return out
}

// TestAnd holds that of a merge only what differs from both sides counts.
func TestAnd(t *testing.T) {
	t.Parallel()
	one := Impact{Files: []string{"a", "b", "c", "d"}, Axes: map[string][]string{"a": nil, "b": {"x", "y"}, "c": {"x"}, "d": nil}, Why: map[string][]string{"a": {"1"}}, Removed: []string{"q", "r"}}
	two := Impact{Files: []string{"a", "b", "c", "e"}, Axes: map[string][]string{"a": {"z"}, "b": {"y"}, "c": {"y"}, "e": nil}, Why: map[string][]string{"a": {"2"}}, Removed: []string{"r"}}
	for _, got := range []Impact{one.And(two), two.And(one)} {
		if lines, want := show(got), []string{"a [z] 1; 2", "b [y] ", "removed r"}; !slices.Equal(lines, want) {
			t.Errorf("got %q, expected %q", lines, want)
		}
	}
}

func TestOf(t *testing.T) {
	t.Parallel()
	type edit map[string]string // "" deletes
	const gone = ""
	for _, c := range []struct {
		name    string
		edit    edit
		renames map[string]string // new to old
		want    []string
	}{
		{"nothing", edit{}, nil, nil},
		{"an axis", edit{"x/x.axis.hcl": axis("x", "")}, nil, []string{"x/x.axis.hcl [*] changed"}},
		{"a new axis", edit{"x/new.axis.hcl": axis("q", "")}, nil, []string{"x/new.axis.hcl [*] added"}},
		{"a hidden axis", edit{".h/h.axis.hcl": axis("h", "")}, nil, nil},
		{
			"a carried axis",
			edit{"m/b.axis.hcl": use("b", "screw.k1")},
			nil,
			[]string{"m/b.axis.hcl [*] changed", "m/c.axis.hcl [c] carries b", "m/d.axis.hcl [d] carries c"},
		},
		{
			"a carried axis is gone",
			edit{"m/b.axis.hcl": gone},
			nil,
			[]string{"m/c.axis.hcl [c] carries b", "m/d.axis.hcl [d] carries c", "removed m/b.axis.hcl"},
		},
		{
			"a carried axis moves away",
			edit{"m/b.axis.hcl": gone, "x/b.axis.hcl": fleet["m/b.axis.hcl"]},
			map[string]string{"x/b.axis.hcl": "m/b.axis.hcl"},
			[]string{"m/c.axis.hcl [c] carries b", "m/d.axis.hcl [d] carries c", "x/b.axis.hcl [*] renamed from m/b.axis.hcl"},
		},
		{
			"a part",
			edit{"parts/s.parts.hcl": strings.Replace(fleet["parts/s.parts.hcl"], "20 mm", "25 mm", 1)},
			nil,
			[]string{"m/b.axis.hcl [b] parts/s.parts.hcl: screw.k2", "m/c.axis.hcl [c] carries b", "m/d.axis.hcl [d] carries c"},
		},
		{
			"a part of a longer name",
			edit{"parts/s.parts.hcl": strings.Replace(fleet["parts/s.parts.hcl"], screw("k22", "20 mm"), screw("k22", "21 mm"), 1)},
			nil,
			[]string{"m/far/e.axis.hcl [e] parts/s.parts.hcl: screw.k22"},
		},
		{
			"a part in quotes",
			edit{"parts/s.parts.hcl": strings.Replace(fleet["parts/s.parts.hcl"], screw("20x10", "10 mm"), screw("20x10", "11 mm"), 1)},
			nil,
			[]string{`m/b.axis.hcl [b2] parts/s.parts.hcl: screw["20x10"]`},
		},
		{
			"a part beyond ASCII",
			edit{"parts/s.parts.hcl": strings.Replace(fleet["parts/s.parts.hcl"], "5 mm", "6 mm", 1)},
			nil,
			[]string{"x/x.axis.hcl [x] parts/s.parts.hcl: screw.füh"},
		},
		{
			"a part named in several ways",
			edit{"parts/s.parts.hcl": strings.Replace(fleet["parts/s.parts.hcl"], "10 mm", "9 mm", 1)},
			nil,
			[]string{
				"m/a.axis.hcl [a] parts/s.parts.hcl: screw.k1", "x/esc.axis.hcl [z] parts/s.parts.hcl: screw.k1",
				"x/parts/own.axis.hcl [own] parts/s.parts.hcl: screw.k1",
			},
		},
		{"blocks become a series", edit{"parts/s.parts.hcl": gone, "parts/t.parts.hcl": screws("10", "20")}, nil, nil},
		{
			"a row of a series",
			edit{"parts/s.parts.hcl": gone, "parts/t.parts.hcl": screws("10", "25")},
			nil,
			[]string{"m/b.axis.hcl [b] parts/t.parts.hcl: screw.k2", "m/c.axis.hcl [c] carries b", "m/d.axis.hcl [d] carries c"},
		},
		{"a cost", edit{"parts/s.parts.hcl": strings.Replace(fleet["parts/s.parts.hcl"], "{", "{\n  cost = 5\n", 1)}, nil, nil},
		{"another layout of parts", edit{"parts/s.parts.hcl": "# note\n" + strings.ReplaceAll(fleet["parts/s.parts.hcl"], " = ", "   =   ")}, nil, nil},
		{"parts in another order", edit{"parts/s.parts.hcl": screw("füh", "5 mm") + screw("k22", "20 mm") + screw("20x10", "10 mm") + screw("k2", "20 mm") + screw("k1", "10 mm")}, nil, nil},
		{"a given value", edit{"parts/g.parts.hcl": strings.Replace(fleet["parts/g.parts.hcl"], "l = 5", "l = 6", 1)}, nil, []string{"m/near/n.axis.hcl [n] parts/g.parts.hcl: screw.g1"}},
		{
			"a part is gone",
			edit{"parts/s.parts.hcl": strings.Replace(fleet["parts/s.parts.hcl"], screw("k2", "20 mm"), "", 1)},
			nil,
			[]string{"m/b.axis.hcl [b] parts/s.parts.hcl: screw.k2", "m/c.axis.hcl [c] carries b", "m/d.axis.hcl [d] carries c"},
		},
		{
			"a parts file is broken",
			edit{"parts/g.parts.hcl": "screw \"g1\" {\n<<<<<<< ours\n"},
			nil,
			[]string{"m/near/n.axis.hcl [n,n2] parts/g.parts.hcl: screw.g1; parts/g.parts.hcl: screw.g2"},
		},
		{"a parts file is renamed", edit{"parts/g.parts.hcl": gone, "all.parts.hcl": fleet["parts/g.parts.hcl"]}, map[string]string{"all.parts.hcl": "parts/g.parts.hcl"}, nil},
		{
			"parts move out of reach",
			edit{"parts/g.parts.hcl": gone, "x/g.parts.hcl": fleet["parts/g.parts.hcl"]},
			map[string]string{"x/g.parts.hcl": "parts/g.parts.hcl"},
			[]string{"m/near/n.axis.hcl [n,n2] parts/g.parts.hcl: screw.g1; parts/g.parts.hcl: screw.g2"},
		},
		{
			"parts move to where all users are",
			edit{"parts/g.parts.hcl": gone, "m/near/parts/g.parts.hcl": fleet["parts/g.parts.hcl"]},
			map[string]string{"m/near/parts/g.parts.hcl": "parts/g.parts.hcl"},
			[]string{"m/near/n.axis.hcl [n,n2] m/near/parts/g.parts.hcl: screw.g1; m/near/parts/g.parts.hcl: screw.g2; parts/g.parts.hcl: screw.g1; parts/g.parts.hcl: screw.g2"},
		},
		{
			"a place that a machine hands down",
			edit{"parts/p.parts.hcl": "environment \"hall\" {\n  dust = false\n}\n"},
			nil,
			[]string{
				"m/a.axis.hcl [a] parts/p.parts.hcl: environment.hall", "m/b.axis.hcl [b,b2] parts/p.parts.hcl: environment.hall",
				"m/c.axis.hcl [c,c2] carries b; parts/p.parts.hcl: environment.hall", "m/d.axis.hcl [d] carries c; parts/p.parts.hcl: environment.hall",
				"m/far/e.axis.hcl [e] parts/p.parts.hcl: environment.hall",
			},
		},
		{"an environment nobody uses", edit{"parts/p.parts.hcl": "environment \"hall\" {\n  dust = true\n}\n"}, nil, nil},
		{
			"a machine",
			edit{"m/machine.axis.hcl": strings.Replace(fleet["m/machine.axis.hcl"], "8", "9", 1)},
			nil,
			[]string{
				"m/a.axis.hcl [*] m/machine.axis.hcl: machine", "m/b.axis.hcl [*] m/machine.axis.hcl: machine", "m/c.axis.hcl [*] m/machine.axis.hcl: machine",
				"m/d.axis.hcl [*] m/machine.axis.hcl: machine", "m/far/e.axis.hcl [*] m/machine.axis.hcl: machine", "m/machine.axis.hcl [*] changed; m/machine.axis.hcl: machine",
			},
		},
		{"a machine's comment", edit{"m/machine.axis.hcl": "# note\n" + fleet["m/machine.axis.hcl"]}, nil, []string{"m/machine.axis.hcl [*] changed"}},
		{"an axis beside a machine", edit{"m/near/machine.axis.hcl": "machine \"near\" {\n}\n" + axis("in", "  orientation = \"vertical\"\n")}, nil, []string{"m/near/machine.axis.hcl [*] changed"}},
		{
			"a nearer machine is gone",
			edit{"m/near/machine.axis.hcl": gone},
			nil,
			[]string{"m/near/n.axis.hcl [*] m/near/machine.axis.hcl: machine", "removed m/near/machine.axis.hcl"},
		},
		{
			"a new machine",
			edit{"x/machine.axis.hcl": "machine \"x\" {\n}\n"},
			nil,
			[]string{
				"x/esc.axis.hcl [*] x/machine.axis.hcl: machine", "x/machine.axis.hcl [*] added; x/machine.axis.hcl: machine",
				"x/parts/own.axis.hcl [*] x/machine.axis.hcl: machine", "x/x.axis.hcl [*] x/machine.axis.hcl: machine",
			},
		},
		{
			"a policy",
			edit{"x/fine.policy.hcl": gone},
			nil,
			[]string{"x/esc.axis.hcl [*] x/fine.policy.hcl", "x/parts/own.axis.hcl [*] x/fine.policy.hcl", "x/x.axis.hcl [*] x/fine.policy.hcl"},
		},
		{"a model", edit{"cad/s.step": "changed"}, nil, []string{"v/v.axis.hcl [v] cad/s.step: model"}},
		{"a model is gone", edit{"cad/s.step": gone}, nil, []string{"v/v.axis.hcl [v] cad/s.step: model"}},
		{"a model moves away", edit{"cad/s.step": gone, "cad/u.step": "a model"}, map[string]string{"cad/u.step": "cad/s.step"}, []string{"v/v.axis.hcl [v] cad/s.step: model"}},
		{
			"an axis with a model moves deeper", edit{"v/v.axis.hcl": gone, "w/w/v.axis.hcl": fleet["v/v.axis.hcl"]},
			map[string]string{"w/w/v.axis.hcl": "v/v.axis.hcl"}, []string{"w/w/v.axis.hcl [*] renamed from v/v.axis.hcl"},
		},
		{"a model nobody names", edit{"cad/t.STP": "changed"}, nil, nil},
		{"a policy is renamed", edit{"x/fine.policy.hcl": gone, "x/parts/f.policy.hcl": fleet["x/fine.policy.hcl"]}, map[string]string{"x/parts/f.policy.hcl": "x/fine.policy.hcl"}, nil},
		{
			"a carried axis has its file renamed",
			edit{"m/b.axis.hcl": gone, "m/bb.axis.hcl": fleet["m/b.axis.hcl"]},
			map[string]string{"m/bb.axis.hcl": "m/b.axis.hcl"},
			nil,
		},
		{"a file has its mode changed", edit{"m/b.axis.hcl": fleet["m/b.axis.hcl"], "m/machine.axis.hcl": fleet["m/machine.axis.hcl"]}, nil, nil},
		{
			"a folder is moved as a whole",
			moves("m/", "p/m/", "", ""),
			moved("m/", "p/m/"),
			nil,
		},
		{
			"a folder is moved, and what is no spec file stays",
			with(moves("x/", "y/", "", ""), "x/parts/notes/read.me", "text"),
			moved("x/", "y/"),
			nil,
		},
		{
			"a folder is moved, and a spec file stays below it",
			with(moves("x/", "y/", "", ""), "x/parts/more/s.parts.hcl", screw("new", "5 mm")),
			moved("x/", "y/"),
			[]string{
				"y/esc.axis.hcl [*] renamed from x/esc.axis.hcl; y/fine.policy.hcl", "y/parts/own.axis.hcl [*] renamed from x/parts/own.axis.hcl; y/fine.policy.hcl",
				"y/x.axis.hcl [*] renamed from x/x.axis.hcl; y/fine.policy.hcl",
			},
		},
		{
			"a folder is moved away from its policy",
			moves("x/", "y/", "x/fine.policy.hcl", gone),
			moved("x/", "y/"),
			[]string{"y/esc.axis.hcl [*] renamed from x/esc.axis.hcl", "y/parts/own.axis.hcl [*] renamed from x/parts/own.axis.hcl", "y/x.axis.hcl [*] renamed from x/x.axis.hcl"},
		},
		{
			"a folder is moved and its machine changed",
			moves("m/near/", "m/by/", "m/by/machine.axis.hcl", "machine \"by\" {\n}\n"),
			moved("m/near/", "m/by/"),
			[]string{"m/by/machine.axis.hcl [*] m/by/machine.axis.hcl: machine; renamed from m/near/machine.axis.hcl", "m/by/n.axis.hcl [*] m/by/machine.axis.hcl: machine; renamed from m/near/n.axis.hcl"},
		},
		{
			"an axis moves into a folder that is there",
			edit{"x/x.axis.hcl": gone, "x/parts/x.axis.hcl": fleet["x/x.axis.hcl"]},
			map[string]string{"x/parts/x.axis.hcl": "x/x.axis.hcl"},
			[]string{"x/parts/x.axis.hcl [*] renamed from x/x.axis.hcl"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			now := maps.Clone(fleet)
			var list []Change
			olds := slices.Collect(maps.Values(c.renames))
			for _, name := range slices.Sorted(maps.Keys(c.edit)) {
				text := c.edit[name]
				_, had := fleet[name]
				switch {
				case text == gone:
					delete(now, name)
					if !slices.Contains(olds, name) {
						list = append(list, Change{Path: name, Old: name, Kind: 'D'})
					}
					continue
				case c.renames[name] != "":
					list = append(list, Change{Path: name, Old: c.renames[name], Kind: 'R'})
				case had:
					list = append(list, Change{Path: name, Old: name, Kind: 'M'})
				default:
					list = append(list, Change{Path: name, Kind: 'A'})
				}
				now[name] = text
			}
			got, err := Of(NewState(mapFS(fleet)), NewState(mapFS(now)), list, finder(mapFS(now)))
			if err != nil {
				t.Fatal(err)
			}
			if lines := show(got); !slices.Equal(lines, c.want) {
				t.Errorf("got\n%s\nexpected\n%s", strings.Join(lines, "\n"), strings.Join(c.want, "\n"))
			}
		})
	}
}

// TestTake holds that what was read to find the axes touched is there for whoever judges
// them, once, and that an axis in it stands in a folder of the same tree.
func TestTake(t *testing.T) {
	t.Parallel()
	now := maps.Clone(fleet)
	const parts, file = "parts/s.parts.hcl", "m/b.axis.hcl"
	now[parts] = strings.Replace(now[parts], "20 mm", "25 mm", 1)
	is := NewState(mapFS(now))
	if _, err := Of(NewState(mapFS(fleet)), is, []Change{{Path: parts, Old: parts, Kind: 'M'}}, finder(mapFS(now))); err != nil {
		t.Fatal(err)
	}
	f := is.Take(file)
	if f == nil || len(f.Axes) != 2 || f.Axes[0].Folder != is.Tree().Folder("m") {
		t.Errorf("%s was read, and %v is kept of it", file, f)
	}
	if again := is.Take(file); again != nil {
		t.Error("what was taken is kept all the same")
	}
}
