package rules_test

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
	"trammel/spec/step"
)

func cylinder(from, to, d float64) step.Segment {
	return step.Segment{Surface: step.Cylinder, From: from, To: to, Diameter: [2]float64{d, d}}
}

func modelText(t testing.TB, segments ...step.Segment) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := step.Write(&b, "shaft", segments, step.Vec{}, step.Vec{0, 0, 1}, func(int) string { return "" }); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

const declaredShaft = `axis "a" {
  screw {
    model            = "a.step"
    nominal_diameter = "20 mm"
    root_diameter    = "17.3 mm"
    length           = "900 mm"
    end_lengths      = ["58 mm", "22 mm"]
    end_diameters    = ["15 mm", "12 mm"]
  }
}
`

// askModel says how model-agrees comes out for one axis, and what it finds.
func askModel(t testing.TB, text string, model []byte) (res judge.Result, found []judge.Finding) {
	t.Helper()
	tree := spec.NewTree(fstest.MapFS{"a.axis.hcl": {Data: []byte(text)}, "a.step": {Data: model}})
	sum := run.Files(rules.Book(), tree, []string{"a.axis.hcl"}, run.Options{Today: fixtureDay, Fixes: true, As: run.Look{Each: func(rep *judge.Report) {
		for _, r := range rep.Results {
			if r.Rule == "model-agrees" {
				res = r
			}
		}
	}}})
	for _, f := range sum.Findings {
		if f.Rule == "model-agrees" || f.OfText() {
			found = append(found, f)
		}
	}
	return res, found
}

var agreeing = []step.Segment{cylinder(0, 58, 15), cylinder(58, 878, 20), cylinder(878, 900, 12)}

// What a model does not show is not judged, and never passed.
func TestModelNotJudged(t *testing.T) {
	t.Parallel()
	unit, err := os.ReadFile("../spec/step/testdata/unit.step")
	if err != nil {
		t.Fatal(err)
	}
	one := string(modelText(t, agreeing...))
	free := func(n int) []byte { // the n-th cylinder is a free form
		parts := strings.SplitAfterN(one, "CYLINDRICAL_SURFACE", n+1)
		return []byte(strings.TrimSuffix(strings.Join(parts[:n], ""), "CYLINDRICAL_SURFACE") + "B_SPLINE_SURFACE" + parts[n])
	}
	for name, c := range map[string]struct {
		model []byte
		why   string
	}{
		"a free end":            {free(3), "model a.step: free-form surfaces end the shaft, so that its length is not known"},
		"a free thread":         {free(2), "model a.step: free-form surfaces bound the shaft from 58 mm to 878 mm; they may be the thread"},
		"only free forms":       {bytes.ReplaceAll([]byte(one), []byte("CYLINDRICAL_SURFACE"), []byte("B_SPLINE_SURFACE")), "model a.step: no body of it was turned; shaft: it has no outside cylinder; 3 of its 7 faces are free-form surfaces, which are not read"},
		"two that could be it":  {twoBodies(t, unit), "model a.step: two bodies could be the shaft"},
		"no body":               {bytes.ReplaceAll([]byte(one), []byte("MANIFOLD_SOLID_BREP"), []byte("FACETED_BREP")), "model a.step: it holds no body; the shape is given as FACETED_BREP"},
		"two cylinders as long": {modelText(t, cylinder(0, 58, 15), cylinder(58, 478, 30), cylinder(478, 878, 20), cylinder(878, 900, 12)), "model a.step: two cylinders could be the thread"},
	} {
		res, _ := askModel(t, declaredShaft, c.model)
		if res.State == judge.Failed && name == "two cylinders as long" {
			continue // the ends of the wrong one do not agree either
		}
		if res.State != judge.Unjudged || !strings.HasPrefix(res.Why, c.why) {
			t.Errorf("%s: %v %q; want %q", name, res.State, res.Why, c.why)
		}
	}
}

// twoBodies makes the nut of a unit slender enough to be a shaft, by moving its faces.
func twoBodies(t *testing.T, unit []byte) []byte {
	t.Helper()
	out := bytes.ReplaceAll(unit, []byte("(192.,"), []byte("(992.,"))
	if bytes.Equal(out, unit) {
		t.Fatal("the nut ends elsewhere")
	}
	return out
}

// The nut beside the shaft is not slender: the shaft is found by its shape.
func TestShaftOfUnit(t *testing.T) {
	t.Parallel()
	unit, err := os.ReadFile("../spec/step/testdata/unit.step")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.NewReplacer("900 mm", "370 mm", `["58 mm", "22 mm"]`, `["40 mm", "30 mm"]`, `["15 mm", "12 mm"]`, `["12 mm", "10 mm"]`).Replace(declaredShaft)
	if res, found := askModel(t, text, unit); res.State != judge.Passed {
		t.Errorf("%v %s %v", res.State, res.Why, found)
	}
}

// A fix takes the model's value, and with it text and model agree.
func TestModelFixes(t *testing.T) {
	t.Parallel()
	for name, change := range map[string][]string{
		"length":    {`"900 mm"`, `"901 mm"`},
		"ends":      {`["58 mm", "22 mm"]`, `["61 mm", "25 mm"]`},
		"diameters": {`["15 mm", "12 mm"]`, `["15.2 mm", "12 mm"]`},
	} {
		text := strings.NewReplacer(change...).Replace(declaredShaft)
		res, found := askModel(t, text, modelText(t, agreeing...))
		if res.State != judge.Failed || len(found) == 0 {
			t.Fatalf("%s: %v %v", name, res.State, found)
		}
		fixes := found[0].Fixes
		if len(fixes) != 1 || len(fixes[0].Edits) != 1 {
			t.Errorf("%s: fixes %+v", name, fixes)
			continue
		}
		fixed := string(spec.Apply([]byte(text), fixes[0].Edits))
		if fixed != declaredShaft {
			t.Errorf("%s: fixed to\n%s", name, fixed)
		}
	}
}

// The bounds of the tolerances, and where a declared tolerance adds to them.
func TestModelTolerances(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		from, to string
		want     judge.State
	}{
		{`"900 mm"`, `"900.5 mm"`, judge.Passed},
		{`"900 mm"`, `"900.51 mm"`, judge.Failed},
		{`"900 mm"`, `"899.49 mm"`, judge.Failed},
		{`"900 mm"`, `"902 mm ± 1.5 mm"`, judge.Passed},
		{`"900 mm"`, `"902 mm ± 1.4 mm"`, judge.Failed},
		{`"22 mm"`, `"22.5 mm"`, judge.Passed},
		{`"22 mm"`, `"22.6 mm"`, judge.Failed},
		{`"15 mm", `, `"15.1 mm", `, judge.Passed},
		{`"15 mm", `, `"15.11 mm", `, judge.Failed},
		{`"17.3 mm"`, `"20.1 mm"`, judge.Passed}, // the thread is drawn at its root
		{`"17.3 mm"`, `"20.11 mm"`, judge.Failed},
		{`"20 mm"`, `"19.9 mm"`, judge.Passed},
		{`"20 mm"`, `"19.89 mm"`, judge.Failed},
		{`nominal_diameter = "20 mm"`, "nominal_diameter = \"19 mm\"\n    ball_circle_diameter = \"20 mm\"", judge.Passed},
		{"    root", "    ball_circle_diameter = \"20.8 mm\"\n    root", judge.Passed},
	} {
		if !strings.Contains(declaredShaft, c.from) {
			t.Fatal(c.from)
		}
		res, found := askModel(t, strings.Replace(declaredShaft, c.from, c.to, 1), modelText(t, agreeing...))
		if res.State != c.want {
			t.Errorf("%s: %v, want %v: %v", c.to, res.State, c.want, found)
		}
	}
}

// Numbers of millimetres under a declared inch are one finding, not many, with or without
// a declared length; so are other slips of the unit.
func TestModelInOtherUnits(t *testing.T) {
	t.Parallel()
	const millimetres = "(LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.))"
	one := string(modelText(t, agreeing...))
	if !strings.Contains(one, millimetres) {
		t.Fatal("the unit is written otherwise")
	}
	bare := strings.Replace(declaredShaft, "    length           = \"900 mm\"\n", "", 1)
	inch := "(CONVERSION_BASED_UNIT('INCH',#9001) LENGTH_UNIT() NAMED_UNIT(#9002));\n#9001=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#9003);\n#9002=DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.);\n#9003=" + millimetres
	for want, c := range map[string][2]string{
		"the model is 22.9 m long, declared 900 mm: a factor of 25.4; its unit may not be the one its file states (inches)":           {declaredShaft, inch},
		"the model is 508 mm thick, declared 20 mm: a factor of 25.4; its unit may not be the one its file states (inches)":           {bare, inch},
		"the model is 900 m long, declared 900 mm: a factor of 1000; its unit may not be the one its file states (metres)":            {declaredShaft, strings.Replace(millimetres, ".MILLI.", "$", 1)},
		"the model is 9000 mm long, declared 900 mm: a factor of 10; its unit may not be the one its file states (units of 10 mm)":    {declaredShaft, strings.Replace(millimetres, ".MILLI.", ".CENTI.", 1)},
		"the model is 0.9 mm long, declared 900 mm: a factor of 1000; its unit may not be the one its file states (units of 0.001 mm": {declaredShaft, strings.Replace(millimetres, ".MILLI.", ".MICRO.", 1)},
	} {
		_, found := askModel(t, c[0], []byte(strings.Replace(one, millimetres, c[1], 1)))
		if len(found) != 1 || !strings.Contains(found[0].Message, want) {
			t.Errorf("got %v; want %s", found, want)
		}
	}
}

// Of a shaft whose ends are alike it is not known in which of them the keyway is; and a
// wide neck between two seats is no ring groove.
func TestModelOfAlikeEnds(t *testing.T) {
	t.Parallel()
	keyed, err := os.ReadFile("../fixtures/rules/model-agrees/cad/keyed.step")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.NewReplacer("\n    end_lengths      = [\"58 mm\", \"22 mm\"]", "", "\n    end_diameters    = [\"15 mm\", \"12 mm\"]", "").Replace(declaredShaft)
	if _, found := askModel(t, text, keyed); len(found) > 0 {
		t.Errorf("which end is which is not known: %v", found)
	}
	neck := modelText(t, cylinder(0, 20, 15), cylinder(20, 38, 14), cylinder(38, 58, 15), cylinder(58, 878, 20), cylinder(878, 900, 12))
	if res, found := askModel(t, declaredShaft, neck); res.State != judge.Passed {
		t.Errorf("a neck is no groove: %v", found)
	}
	groove := modelText(t, cylinder(0, 20, 15), cylinder(20, 21.1, 14), cylinder(21.1, 58, 15), cylinder(58, 878, 20), cylinder(878, 900, 12))
	if _, found := askModel(t, declaredShaft, groove); len(found) != 1 || !strings.Contains(found[0].Message, "ring groove in the driven end") {
		t.Errorf("a groove is one: %v", found)
	}
}

// What is not declared is not compared, and is named as missing.
func TestModelWithoutDeclaration(t *testing.T) {
	t.Parallel()
	for _, line := range []string{"nominal_diameter", "root_diameter", "length ", "end_lengths", "end_diameters"} {
		var rest []string
		for l := range strings.Lines(declaredShaft) {
			if !strings.HasPrefix(strings.TrimSpace(l), line) {
				rest = append(rest, l)
			}
		}
		res, found := askModel(t, strings.Join(rest, ""), modelText(t, agreeing...))
		if res.State != judge.Unjudged || len(res.Missing) != 1 || len(found) > 0 {
			t.Errorf("without %s: %v, missing %v, %v", line, res.State, res.Missing, found)
		}
	}
}

// Fixes of other findings are offered although they part text and model.
func TestModelHidesNoFix(t *testing.T) {
	t.Parallel()
	with := strings.Replace(declaredShaft, "  screw {", "  motion {\n    stroke = \"850 mm\"\n    overtravel = \"10 mm\"\n  }\n  nut {\n    length = \"50 mm\"\n  }\n  screw {", 1)
	without := strings.Replace(with, "    model            = \"a.step\"\n", "", 1)
	fixes := func(text string) string {
		tree := spec.NewTree(fstest.MapFS{"a.axis.hcl": {Data: []byte(text)}, "a.step": {Data: modelText(t, agreeing...)}})
		sum := run.Files(rules.Book(), tree, []string{"a.axis.hcl"}, run.Options{Today: fixtureDay, Fixes: true})
		out := ""
		for _, f := range sum.Findings {
			for _, x := range f.Fixes {
				out += f.Rule + ": " + x.Words + "\n"
			}
		}
		return out
	}
	if got, want := fixes(with), fixes(without); got != want || !strings.Contains(want, "length ≥ 1000 mm") {
		t.Errorf("with a model %q, without %q", got, want)
	}
}

// Of any turned shaft that is written as a model and declared as it was drawn, whichever
// end is driven, text and model agree; and with any one number moved they do not.
func TestModelOfAnyShaft(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		mm := func(name string, low, high int) float64 { return float64(rapid.IntRange(low, high).Draw(rt, name)) }
		thread := mm("thread", 12, 80)
		a, b, long := mm("a", 10, 60), mm("b", 61, 120), mm("long", 400, 2000)
		da, db := mm("da", 5, int(thread)-3), mm("db", 5, int(thread)-3)
		model := modelText(t, cylinder(0, a, da), cylinder(a, a+long, thread), cylinder(a+long, a+long+b, db))
		numbers := []float64{thread, thread - 2, a + long + b, a, b, da, db}
		if rapid.Bool().Draw(rt, "other way round") {
			numbers = []float64{thread, thread - 2, a + long + b, b, a, db, da}
		}
		text := func() string {
			return fmt.Sprintf("axis \"a\" {\n  screw {\n    model = \"a.step\"\n    nominal_diameter = \"%g mm\"\n    root_diameter = \"%g mm\"\n    length = \"%g mm\"\n    end_lengths = [\"%g mm\", \"%g mm\"]\n    end_diameters = [\"%g mm\", \"%g mm\"]\n  }\n}\n",
				numbers[0], numbers[1], numbers[2], numbers[3], numbers[4], numbers[5], numbers[6])
		}
		if res, found := askModel(t, text(), model); res.State != judge.Passed {
			rt.Fatalf("%v %s %v", res.State, res.Why, found)
		}
		i := rapid.IntRange(2, len(numbers)-1).Draw(rt, "which")
		numbers[i] += 1
		if res, found := askModel(t, text(), model); res.State != judge.Failed || len(found) == 0 {
			rt.Fatalf("number %d: %v %s", i, res.State, res.Why)
		}
	})
}
