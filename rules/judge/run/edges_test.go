package run_test

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"testing"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/run/runtest"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
	"trammel/spec/unit"
)

// TestPlaceOnce: of findings that share what is related each place is shown once.
func TestPlaceOnce(t *testing.T) {
	at := spec.Place{File: "a", Line: 1, Col: 1}
	shared := []spec.Related{{Place: at, Message: "here"}}
	s := run.Summary{
		Findings:      []judge.Finding{{Place: at, Related: shared}, {Place: at, WaiverPlace: at, Inputs: []judge.Entry{{Place: at}}, Related: shared}, {Place: at}},
		MissingInputs: []judge.MissingInput{{Place: at}}, NextInputs: []judge.NextInputs{{Place: at}},
	}
	s.Place(func(p spec.Place) spec.Place {
		p.File = "up/" + p.File
		return p
	})
	got := []string{s.MissingInputs[0].Place.File, s.NextInputs[0].Place.File, s.Findings[1].WaiverPlace.File, s.Findings[1].Inputs[0].Place.File}
	for _, f := range s.Findings {
		got = append(got, f.Place.File)
		for _, r := range f.Related {
			got = append(got, r.Place.File)
		}
	}
	if len(got) != 9 || slices.ContainsFunc(got, func(s string) bool { return s != "up/a" }) || shared[0].Place != at {
		t.Errorf("%q, %v", got, shared)
	}
}

// TestFirstRemembering: a run that may remember, and has nothing to remember yet, says
// what one says that may not, and then remembers file and folders.
func TestFirstRemembering(t *testing.T) {
	a, p := testaxis.Quick("").Text()
	fsys := testaxis.Memory("line/a.axis.hcl", a, "parts/all.parts.hcl", p)
	files := []string{"line/a.axis.hcl"}
	opt := run.Options{Today: testaxis.SomeDay, Workers: 1}
	want := runtest.Shown(run.Files(rules.Book(), spec.NewTree(fsys), files, opt))
	keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
	opt.As = run.Remember{Cache: keep}
	if got := runtest.Shown(run.Files(rules.Book(), spec.NewTree(fsys), files, opt)); got != want {
		t.Errorf("%s\nexpected %s", got, want)
	}
	if len(keep.files) == 0 || len(keep.scopes) == 0 {
		t.Errorf("%d files and %d folders are cached", len(keep.files), len(keep.scopes))
	}
}

// TestSplitRun: a run split by folders finds what one run finds, once the facts
// about parts are put together; they are in order of their places.
func TestSplitRun(t *testing.T) {
	like := "  nominal_diameter = \"20 mm\"\n  lead = \"10 mm\"\n  process = \"ground\"\n  dynamic_rating = "
	screws := func(names ...string) (out string) {
		for i, n := range names {
			out += fmt.Sprintf("screw %q {\n%s\"%g kN\"\n}\n", n, like, 12+0.5*float64(i))
		}
		return out
	}
	axis := func(name, part string) string {
		return "axis \"" + name + "\" {\n  screw {\n    part = screw." + part + "\n  }\n}\n"
	}
	fsys := testaxis.Memory("a/x.axis.hcl", axis("x", "k2")+axis("w", "k1"), "b/y.axis.hcl", axis("y", "k1"), "b/deep/z.axis.hcl", axis("z", "own"), "parts/all.parts.hcl", screws("k1", "k2", "idle"),
		"b/deep/own.parts.hcl", screws("own"), "b/p.policy.hcl", "rule \"nonsense\" {\n  limit = 2\n}\n", "p.policy.hcl", "rule \"unused-part\" {\n  severity = \"warning\"\n}\n")
	files := []string{"a/x.axis.hcl", "b/y.axis.hcl", "b/deep/z.axis.hcl", "parts/all.parts.hcl", "b/deep/own.parts.hcl"}
	opt := run.Options{Today: testaxis.SomeDay, Workers: 1, Whole: true}
	want := run.Files(rules.Book(), spec.NewTree(fsys), files, opt)
	kinds := map[string]int{}
	for _, f := range want.Findings {
		kinds[f.Rule]++
	}
	if kinds["variety"] == 0 || kinds["unused-part"] != 1 || kinds["unknown-name"] != 1 || len(want.Parts)+len(want.Uses) > 0 {
		t.Fatalf("%s", runtest.Shown(want))
	}
	var sum run.Summary
	for _, owned := range [][]string{{"a", "b/deep"}, {".", "b", "parts"}} {
		opt.Owns = func(folder string) bool { return slices.Contains(owned, folder) }
		part := run.Files(rules.Book(), spec.NewTree(fsys), files, opt)
		for _, f := range part.Findings {
			if !slices.Contains(owned, path.Dir(f.Place.File)) {
				t.Errorf("the run for %q reports %s", owned, f.Place)
			}
		}
		if !slices.IsSortedFunc(part.Parts, func(a, b judge.PartFacts) int { return spec.ComparePlaces(a.Place, b.Place) }) || !slices.IsSortedFunc(part.Uses, spec.ComparePlaces) || len(part.Uses) == 0 || len(part.Parts) == 0 {
			t.Errorf("%v %v", part.Parts, part.Uses)
		}
		sum.Merge(part)
	}
	sum.Findings = append(sum.Findings, rules.Book().InTree(sum.Parts, func(at spec.Place) bool { return slices.Contains(sum.Uses, at) }, true)...)
	sum.Sort()
	if got := runtest.Shown(&sum); got != runtest.Shown(want) {
		t.Errorf("%s\nexpected %s", got, runtest.Shown(want))
	}
	// They are put in order, whatever order they come in.
	at := func(line int32) spec.Place { return spec.Place{File: "a", Line: line, Col: 1} }
	s := run.Summary{Parts: []judge.PartFacts{{Place: at(2)}, {Place: at(3)}, {Place: at(1)}}, Uses: []spec.Place{at(3), at(1), at(2)}}
	s.Sort()
	for i := range s.Parts {
		if s.Parts[i].Place.Line != int32(i)+1 || s.Uses[i].Line != int32(i)+1 {
			t.Errorf("%v %v", s.Parts, s.Uses)
		}
	}
}

// TestSourceOfAnEditor: of a file whose text is given the one in the tree does not
// count, not even for what an axis carries.
func TestSourceOfAnEditor(t *testing.T) {
	x, y := "axis \"x\" {\n  load {\n    mass = \"1 kg\"\n    carries = [axis.y]\n  }\n}\n", "axis \"y\" {\n  load {\n    mass = \"2 kg\"\n  }\n}\n"
	name := "m/a.axis.hcl"
	for text, want := range map[string]string{x + y: "", x: "this folder has no axis y to carry"} {
		sum := run.Files(rules.Book(), spec.NewTree(testaxis.Memory(name, x+y)), []string{name}, run.Options{Workers: 1, As: run.Look{Source: map[string][]byte{name: []byte(text)}}})
		if got := sum.Findings; (want == "") != (len(got) == 0) || want != "" && got[0].Message != want {
			t.Errorf("%s: %s", text, runtest.Shown(sum))
		}
	}
}

// TestWhatOthersCarry: what an axis counts as for one that carries it: its mass
// with the heaviest payload, each within its own tolerance; not known where a
// mass or a payload is not.
func TestWhatOthersCarry(t *testing.T) {
	move := func(name, payload string) string {
		if payload != "" {
			payload = "\n      payload = \"" + payload + "\""
		}
		return "    move \"" + name + "\" {\n      distance = \"10 mm\"" + payload + "\n    }\n"
	}
	axis := func(load, moves string) string {
		return "axis \"a\" {\n  load {\n    " + load + "\n  }\n  motion {\n" + moves + "  }\n}\n"
	}
	q := func(low, nominal, high float64) unit.Quantity {
		return unit.Quantity{Low: low, Nominal: nominal, High: high}
	}
	for text, want := range map[string]run.Member{
		axis(`mass = "5 kg"`, ""):                                          {Mass: q(5, 5, 5), Known: true},
		axis(`mass = "5 kg ± 1 kg"`, ""):                                   {Mass: q(4, 5, 6), Known: true},
		axis(`mass = "5 kg .. 9 kg"`, move("m", "2 kg")):                   {Mass: q(7, 9, 11), Known: true},
		axis(`mass = "5 kg"`, move("m", "")):                               {Mass: q(5, 5, 5), Known: true},
		axis(`mass = "5 kg"`, move("m", "2 kg")+move("n", "1 kg ± 1 kg")):  {Mass: q(7, 7, 7), Known: true},
		axis(`mass = "5 kg"`, move("m", "1 kg .. 7 kg")+move("n", "3 kg")): {Mass: q(8, 9, 12), Known: true}, // 3, 4, 7
		axis(`moved_mass = "8 kg ± 1 kg"`, move("m", "1 kg")):              {Mass: q(8, 9, 10), Known: true},
		axis("mass = \"5 kg ± 2 kg\"\n    moved_mass = \"8 kg\"", ""):      {Mass: q(8, 8, 8), Known: true},
		axis(`friction = 0.1`, move("m", "2 kg")):                          {},
		axis(`mass = "5 m"`, ""):                                           {},
		axis(`mass = "5 kg"`, move("m", "2 m")):                            {},
	} {
		keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
		run.Files(rules.Book(), spec.NewTree(testaxis.Memory("m/a.axis.hcl", text)), []string{"m/a.axis.hcl"}, run.Options{Workers: 1, As: run.Remember{Cache: keep}})
		for _, k := range keep.files {
			got := k.Members[0]
			if got.Known != want.Known || want.Known && got.Mass != want.Mass || got.Name != "a" {
				t.Errorf("%s: %+v, expected %+v", text, got, want)
			}
		}
		if len(keep.files) != 1 {
			t.Errorf("%s: %d files are cached", text, len(keep.files))
		}
	}
}

// TestTwoToCarry: where the folder has two axes of the name of what is carried,
// neither is taken, whichever files are listed.
func TestTwoToCarry(t *testing.T) {
	axis := func(name, mass, more string) string {
		return "axis \"" + name + "\" {\n  load {\n    mass = \"" + mass + "\"\n" + more + "  }\n}\n"
	}
	fsys := testaxis.Memory("m/a.axis.hcl", axis("z", "3 kg", ""), "m/b.axis.hcl", axis("z", "5 kg", ""), "m/x.axis.hcl", axis("x", "1 kg", "    carries = [axis.z]\n"))
	for _, files := range [][]string{{"m/a.axis.hcl", "m/b.axis.hcl", "m/x.axis.hcl"}, {"m/x.axis.hcl", "m/b.axis.hcl", "m/a.axis.hcl"}, {"m/x.axis.hcl"}, {"m/b.axis.hcl", "m/x.axis.hcl"}, {"m/a.axis.hcl", "m/x.axis.hcl"}} {
		got := map[string][2]float64{}
		sum := run.Files(rules.Book(), spec.NewTree(fsys), files, run.Options{Workers: 1, As: run.Look{Each: masses(got)}})
		if m := got["x"][0]; m == m {
			t.Errorf("%q: x carries %g kg", files, m)
		}
		f := runtest.WantFinding(t, sum.Findings, "duplicate-name", "two axes named z, and it is unclear which of them is carried")
		if f != nil && (f.Place.File != "m/x.axis.hcl" || f.Place.Line != 4 || len(f.Related) != 2 || f.Related[0].Place.File != "m/a.axis.hcl" || f.Related[1].Place.File != "m/b.axis.hcl") {
			t.Errorf("%q: %v, %+v", files, f.Place, f.Related)
		}
	}
}

// TestLean: a lean run counts what a run counts and keeps nothing of the axes.
func TestLean(t *testing.T) {
	a, p := testaxis.Quick("").With("nut.stiffness", "").Text()
	fsys := testaxis.Memory("m/a.axis.hcl", a, "m/b.axis.hcl", strings.Replace(a, "cross", "other", 1), "parts/all.parts.hcl", p)
	seen := 0
	each := func(r *judge.Report) { seen += len(r.Findings) + len(r.MissingInputs) }
	whole, lean := runtest.Try(fsys, run.Options{As: run.Look{Each: each}}), runtest.Try(fsys, run.Options{As: run.Look{Each: each, Lean: true}})
	if len(whole.Findings) == 0 || len(whole.MissingInputs) == 0 || seen != 2*(len(whole.Findings)+len(whole.MissingInputs)) {
		t.Errorf("%d findings and gaps were seen of %d and %d", seen, len(whole.Findings), len(whole.MissingInputs))
	}
	if len(lean.Findings)+len(lean.MissingInputs)+len(lean.NextInputs) > 0 || lean.Axes != 2 || lean.Judged != whole.Judged || lean.Unjudged != whole.Unjudged {
		t.Errorf("%s\nwhole: %s", runtest.Shown(lean.Summary), runtest.Shown(whole.Summary))
	}
}

// TestTwoOfOneName: of two axes of one name, carriers or not, both are judged,
// and the later one by place is reported with the earlier, whichever file was read
// first.
func TestTwoOfOneName(t *testing.T) {
	axis := func(name, more string) string {
		return "axis \"" + name + "\" {\n  load {\n    mass = \"1 kg\"\n" + more + "  }\n}\n"
	}
	for _, more := range []string{"", "    carries = [axis.z]\n"} {
		fsys := testaxis.Memory("m/a.axis.hcl", axis("x", more), "m/b.axis.hcl", axis("x", more), "m/z.axis.hcl", axis("z", ""))
		for _, files := range [][]string{{"m/a.axis.hcl", "m/b.axis.hcl", "m/z.axis.hcl"}, {"m/b.axis.hcl", "m/z.axis.hcl", "m/a.axis.hcl"}} {
			seen := map[string]int{}
			sum := run.Files(rules.Book(), spec.NewTree(fsys), files, run.Options{Workers: 1, As: run.Look{Each: func(r *judge.Report) { seen[r.View.Axis.Place.File]++ }}})
			if len(seen) != 3 || sum.Axes != 3 || len(sum.Findings) != 1 {
				t.Errorf("%q: %v, %s", files, seen, runtest.Shown(sum))
				continue
			}
			if f := sum.Findings[0]; f.Rule != "duplicate-name" || f.Place.File != "m/b.axis.hcl" || len(f.Related) != 1 || f.Related[0].Place.File != "m/a.axis.hcl" {
				t.Errorf("%q: %s", files, runtest.Shown(sum))
			}
		}
	}
}

// TestCircleFromItsFirst: a circle begins with the axis that comes first by
// place, whichever file was read first, and is said there.
func TestCircleFromItsFirst(t *testing.T) {
	axis := func(name, carries string) string {
		return "axis \"" + name + "\" {\n  load {\n    mass = \"1 kg\"\n    carries = [axis." + carries + "]\n  }\n}\n"
	}
	fsys := testaxis.Memory("m/a.axis.hcl", axis("x", "y"), "m/b.axis.hcl", axis("y", "z"), "m/c.axis.hcl", axis("z", "x"))
	for _, files := range [][]string{{"m/a.axis.hcl", "m/b.axis.hcl", "m/c.axis.hcl"}, {"m/c.axis.hcl", "m/b.axis.hcl", "m/a.axis.hcl"}, {"m/b.axis.hcl", "m/c.axis.hcl", "m/a.axis.hcl"}} {
		f := run.Files(rules.Book(), spec.NewTree(fsys), files, run.Options{Workers: 1}).Findings
		if len(f) != 1 || f[0].Message != "axes carry each other in a circle: x → y → z → x" || f[0].Place.File != "m/c.axis.hcl" {
			t.Errorf("%q: %+v", files, f)
		}
	}
}

// openings counts how often files are opened.
type openings struct {
	fs.FS
	n map[string]int
}

func (o openings) Open(name string) (fs.File, error) {
	o.n[name]++
	return o.FS.Open(name)
}

// TestReadOnce: a file beside a carrier is read no more often where results are
// cached, so that what is judged and what is cached are of the same text.
func TestReadOnce(t *testing.T) {
	x, y, z := testaxis.Zyx()
	a, p := testaxis.Texts(x, y, z)
	var opened [2]map[string]int
	for i, keep := range []run.Cache{nil, &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}} {
		o := openings{testaxis.Memory("m/x.axis.hcl", a[0], "m/y.axis.hcl", a[1], "m/z.axis.hcl", a[2], "parts/all.parts.hcl", p), map[string]int{}}
		run.Files(rules.Book(), spec.NewTree(o), []string{"m/x.axis.hcl"}, run.Options{Workers: 1, As: run.Remember{Cache: keep}})
		opened[i] = o.n
	}
	for _, name := range []string{"m/x.axis.hcl", "m/y.axis.hcl", "m/z.axis.hcl"} {
		if opened[0][name] == 0 || opened[0][name] != opened[1][name] {
			t.Errorf("%s is opened %d times, %d times with a memory", name, opened[0][name], opened[1][name])
		}
	}
}

// TestCarriedNamesBeside: what is wrong with a carrier that is read for a listed
// one is said in the run of that. Similar names are looked for a hundred times for
// a folder, and an axis's own is none.
func TestCarriedNamesBeside(t *testing.T) {
	axis := func(name string, carries ...string) string {
		list := ""
		if len(carries) > 0 {
			list = "    carries = [axis." + strings.Join(carries, ", axis.") + "]\n"
		}
		return "axis \"" + name + "\" {\n  load {\n    mass = \"1 kg\"\n" + list + "  }\n}\n"
	}
	fsys := testaxis.Memory("m/x.axis.hcl", axis("x", "y"), "m/y.axis.hcl", axis("y", "nowhere"))
	sum := run.Files(rules.Book(), spec.NewTree(fsys), []string{"m/x.axis.hcl"}, run.Options{Workers: 1})
	if len(sum.Findings) != 1 || sum.Findings[0].Place.File != "m/y.axis.hcl" || sum.Axes != 1 {
		t.Errorf("%s", runtest.Shown(sum))
	}
	var wrong []string
	for i := range 60 {
		wrong = append(wrong, fmt.Sprintf("gantr%d", i))
	}
	sum = run.Files(rules.Book(), spec.NewTree(testaxis.Memory("m/x.axis.hcl", axis("a", wrong...)+axis("b", wrong...)+axis("gantry")+axis("gantrz", "gantrz0"))), []string{"m/x.axis.hcl"}, run.Options{Workers: 1})
	helped := 0
	for _, f := range sum.Findings {
		if strings.Contains(f.Message, "; did you mean gantry?") {
			helped++
		}
	}
	if len(sum.Findings) != 121 || helped != 100 {
		t.Errorf("%d findings, %d with help", len(sum.Findings), helped)
	}
	sum = run.Files(rules.Book(), spec.NewTree(testaxis.Memory("m/x.axis.hcl", axis("gantry", "gantrx"))), []string{"m/x.axis.hcl"}, run.Options{Workers: 1})
	if len(sum.Findings) != 1 || sum.Findings[0].Message != "this folder has no axis gantrx to carry" {
		t.Errorf("%s", runtest.Shown(sum))
	}
	// y carries both axes that lead to it: one circle is said.
	sum = run.Files(rules.Book(), spec.NewTree(testaxis.Memory("m/x.axis.hcl", axis("x", "w")+axis("w", "y")+axis("y", "x", "w"))), []string{"m/x.axis.hcl"}, run.Options{Workers: 1})
	if len(sum.Findings) != 1 || !strings.HasSuffix(sum.Findings[0].Message, "circle: x → w → y → x") {
		t.Errorf("%s", runtest.Shown(sum))
	}
}

// TestWhatCarriersCountAs: a carrier counts with what it carries, tolerances
// included, unless its whole mass is given.
func TestWhatCarriersCountAs(t *testing.T) {
	z := "axis \"z\" {\n  load {\n    mass = \"10 kg .. 16 kg\"\n  }\n}\n"
	for load, want := range map[string]unit.Quantity{
		`mass = "20 kg ± 1 kg"`:                        {Low: 29, Nominal: 33, High: 37},
		`mass = "20 kg"`:                               {Low: 30, Nominal: 33, High: 36},
		"mass = \"20 kg\"\n    moved_mass = \"40 kg\"": {Low: 40, Nominal: 40, High: 40},
	} {
		keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
		run.Files(rules.Book(), spec.NewTree(testaxis.Memory("m/a.axis.hcl", "axis \"x\" {\n  load {\n    "+load+"\n    carries = [axis.z]\n  }\n}\n"+z)), []string{"m/a.axis.hcl"}, run.Options{Workers: 1, As: run.Remember{Cache: keep}})
		for _, k := range keep.files {
			i := slices.IndexFunc(k.Members, func(m run.Member) bool { return m.Name == "x" })
			if i < 0 || !k.Members[i].Known || k.Members[i].Mass != want {
				t.Errorf("%s: %+v, expected %+v", load, k.Members, want)
			}
		}
		if len(keep.files) != 1 {
			t.Errorf("%d files are cached", len(keep.files))
		}
	}
}

// TestCarriedNotKnownIsNotShown: where the whole moved mass is given and one of
// two carried masses is not known, no finding shows a number for them.
func TestCarriedNotKnownIsNotShown(t *testing.T) {
	x, y, z := testaxis.Zyx()
	x.Set("load.carries", -1, "[axis.y, axis.z]")
	x.Set("load.moved_mass", -1, `"80 kg"`)
	x.Set("screw.dynamic_rating", -1, `"1 kN"`)
	y.Set("load.carries", -1, "")
	z.Set("load.mass", -1, "")
	a, p := testaxis.Texts(x, y, z)
	o := runtest.Try(testaxis.Memory("m/all.axis.hcl", strings.Join(a, ""), "parts/all.parts.hcl", p), run.Options{Fixes: true})
	runtest.WantFinding(t, o.Reports["x"].Findings, "life-margin")
	for _, f := range o.Reports["x"].Findings {
		for _, e := range f.Inputs {
			if testaxis.Bad.MatchString(e.Words) || strings.HasPrefix(e.Words, "carried") {
				t.Errorf("%s: %q", f.Rule, e.Words)
			}
		}
	}
}
