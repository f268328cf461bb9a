package rules

import (
	"fmt"
	"path"
	"slices"
	"testing"

	"trammel/spec"
	"trammel/spec/unit"
)

// TestPlaceOnce: of findings that share what is related each place is shown once.
func TestPlaceOnce(t *testing.T) {
	at := spec.Place{File: "a", Line: 1, Col: 1}
	shared := []spec.Related{{Place: at, Message: "here"}}
	s := Summary{
		Findings: []Finding{{Place: at, Related: shared}, {Place: at, WaiverPlace: at, Enters: []Entry{{Place: at}}, Related: shared}, {Place: at}},
		Gaps:     []Gap{{Place: at}}, Unlocks: []Unlock{{Place: at}},
	}
	s.Place(func(p spec.Place) spec.Place {
		p.File = "up/" + p.File
		return p
	})
	got := []string{s.Gaps[0].Place.File, s.Unlocks[0].Place.File, s.Findings[1].WaiverPlace.File, s.Findings[1].Enters[0].Place.File}
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

// TestNotRemembered: what a run gives to its caller axis by axis, or finds of
// texts, axes and units of its own, is not remembered; it is all the same as
// without.
func TestNotRemembered(t *testing.T) {
	a, p := quick("").text()
	fsys := memory("line/a.axis.hcl", a, "parts/all.parts.hcl", p)
	files := []string{"line/a.axis.hcl"}
	inch := unit.Inch
	for what, opt := range map[string]Options{
		"nothing": {}, "each": {Each: func(*Report) {}}, "source": {Source: map[string][]byte{"line/a.axis.hcl": []byte(a)}},
		"only": {Only: func(_, _ string) bool { return true }}, "units": {Units: &inch}, "lean": {Lean: true},
	} {
		opt.Today, opt.Workers = someDay, 1
		want := Run(spec.NewTree(fsys), files, opt).shown()
		keep := &memoryKeep{files: map[spec.Digest]*Kept{}, scopes: map[spec.Digest]*KeptScope{}}
		opt.Keep = keep
		if got := Run(spec.NewTree(fsys), files, opt).shown(); got != want {
			t.Errorf("%s: %s\nexpected %s", what, got, want)
		}
		if kept := len(keep.files) + len(keep.scopes); (kept > 0) != (what == "nothing") {
			t.Errorf("%s: %d files and folders are remembered", what, kept)
		}
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
	fsys := memory("a/x.axis.hcl", axis("x", "k2")+axis("w", "k1"), "b/y.axis.hcl", axis("y", "k1"), "b/deep/z.axis.hcl", axis("z", "own"), "parts/all.parts.hcl", screws("k1", "k2", "idle"),
		"b/deep/own.parts.hcl", screws("own"), "b/p.policy.hcl", "rule \"nonsense\" {\n  limit = 2\n}\n", "p.policy.hcl", "rule \"unused-part\" {\n  severity = \"warning\"\n}\n")
	files := []string{"a/x.axis.hcl", "b/y.axis.hcl", "b/deep/z.axis.hcl", "parts/all.parts.hcl", "b/deep/own.parts.hcl"}
	opt := Options{Today: someDay, Workers: 1, Whole: true}
	want := Run(spec.NewTree(fsys), files, opt)
	kinds := map[string]int{}
	for _, f := range want.Findings {
		kinds[f.Rule]++
	}
	if kinds["variety"] == 0 || kinds["unused-part"] != 1 || kinds["unknown-name"] != 1 || len(want.Parts)+len(want.Uses) > 0 {
		t.Fatalf("%s", want.shown())
	}
	var sum Summary
	for _, owned := range [][]string{{"a", "b/deep"}, {".", "b", "parts"}} {
		opt.Owns = func(folder string) bool { return slices.Contains(owned, folder) }
		part := Run(spec.NewTree(fsys), files, opt)
		for _, f := range part.Findings {
			if !slices.Contains(owned, path.Dir(f.Place.File)) {
				t.Errorf("the run for %q reports %s", owned, f.Place)
			}
		}
		if !slices.IsSortedFunc(part.Parts, func(a, b PartFacts) int { return spec.ComparePlaces(a.Place, b.Place) }) || !slices.IsSortedFunc(part.Uses, spec.ComparePlaces) || len(part.Uses) == 0 || len(part.Parts) == 0 {
			t.Errorf("%v %v", part.Parts, part.Uses)
		}
		sum.Merge(part)
	}
	sum.Findings = append(sum.Findings, AcrossParts(sum.Parts, func(at spec.Place) bool { return slices.Contains(sum.Uses, at) }, true)...)
	sum.Sort()
	if got := sum.shown(); got != want.shown() {
		t.Errorf("%s\nexpected %s", got, want.shown())
	}
	// They are put in order, whatever order they come in.
	at := func(line int32) spec.Place { return spec.Place{File: "a", Line: line, Col: 1} }
	s := Summary{Parts: []PartFacts{{Place: at(2)}, {Place: at(3)}, {Place: at(1)}}, Uses: []spec.Place{at(3), at(1), at(2)}}
	s.Sort()
	for i := range s.Parts {
		if s.Parts[i].Place.Line != int32(i)+1 || s.Uses[i].Line != int32(i)+1 {
			t.Errorf("%v %v", s.Parts, s.Uses)
		}
	}
}
