package run_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path"
	"slices"
	"sort"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/run/runtest"
	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/amount"
)

// masses notes, while a run goes on, what each axis is counted with.
func masses(into map[string][2]float64) func(*judge.Report) {
	return func(r *judge.Report) {
		into[r.View.Axis.Name] = [2]float64{r.View.V(mechanics.CarriedMass), r.View.V(mechanics.MovedMass)}
	}
}

// An axis carries what rides on it with its heaviest payload, in one file or in
// several, whether they are listed or not.
func TestCarriedMasses(t *testing.T) {
	x, y, z := testaxis.Zyx()
	a, p := testaxis.Texts(x, y, z)
	for name, fsys := range map[string]map[string]string{
		"one file":      {"m/all.axis.hcl": a[0] + a[1] + a[2]},
		"other order":   {"m/all.axis.hcl": a[2] + a[0] + a[1]},
		"several files": {"m/1.axis.hcl": a[0], "m/2.axis.hcl": a[1], "m/3.axis.hcl": a[2]},
		"backward":      {"m/3.axis.hcl": a[0], "m/2.axis.hcl": a[1], "m/1.axis.hcl": a[2]},
		"two files":     {"m/1.axis.hcl": a[1], "m/2.axis.hcl": a[0] + a[2]},
	} {
		files := testaxis.Memory("parts/all.parts.hcl", p)
		var names []string
		for n, text := range fsys {
			files[n] = testaxis.Memory(n, text)[n]
			names = append(names, n)
		}
		sort.Strings(names)
		got := map[string][2]float64{}
		sum := run.Files(rules.Book(), spec.NewTree(files), names, run.Options{Today: testaxis.SomeDay, Workers: 1, As: run.Look{Each: masses(got)}})
		if want := map[string][2]float64{"x": {33, 73}, "y": {13, 33}, "z": {0, 10}}; fmt.Sprint(got) != fmt.Sprint(want) || sum.Axes != 3 {
			t.Errorf("%s: %v, %d axes", name, got, sum.Axes)
		}
		runtest.WantNone(t, sum.Findings)
		// Each file alone: the others are read for it, and not judged.
		for _, n := range names {
			got := map[string][2]float64{}
			alone := run.Files(rules.Book(), spec.NewTree(files), []string{n}, run.Options{Today: testaxis.SomeDay, Workers: 1, As: run.Look{Each: masses(got)}})
			if alone.Axes != strings.Count(fsys[n], "axis \"") {
				t.Errorf("%s, %s alone: %d axes", name, n, alone.Axes)
			}
			if len(got) != alone.Axes {
				t.Errorf("%s, %s alone: %v are judged", name, n, got)
			}
			if m, ok := got["x"]; ok && m != [2]float64{33, 73} {
				t.Errorf("%s, %s alone: x carries %v", name, n, m)
			}
			runtest.WantNone(t, alone.Findings)
		}
	}
}

// What is carried makes a difference, and the finding names it.
func TestCarriedMassIsNamed(t *testing.T) {
	x, y, z := testaxis.Zyx()
	x.Set("screw.dynamic_rating", -1, `"1 kN"`)
	a, p := testaxis.Texts(x, y, z)
	o := runtest.Try(testaxis.Memory("m/all.axis.hcl", strings.Join(a, ""), "parts/all.parts.hcl", p), run.Options{})
	f := runtest.WantFinding(t, o.Reports["x"].Findings, "life-margin")
	if f == nil {
		return
	}
	i := slices.IndexFunc(f.Inputs, func(e judge.Entry) bool { return strings.HasPrefix(e.Words, "carried 33 kg") })
	if i < 0 || f.Inputs[i].Place.File != "m/all.axis.hcl" {
		t.Errorf("%+v", f.Inputs)
	}
}

// moved_mass counts instead of the sum, and must not be less.
func TestMovedMass(t *testing.T) {
	for mass, want := range map[string]judge.State{"80 kg": judge.Passed, "73 kg": judge.Passed, "72 kg": judge.Failed} {
		x, y, z := testaxis.Zyx()
		x.Set("load.moved_mass", -1, `"`+mass+`"`)
		a, p := testaxis.Texts(x, y, z)
		got := map[string][2]float64{}
		fsys := testaxis.Memory("m/all.axis.hcl", strings.Join(a, ""), "parts/all.parts.hcl", p)
		run.Files(rules.Book(), spec.NewTree(fsys), []string{"m/all.axis.hcl"}, run.Options{Workers: 1, As: run.Look{Each: masses(got)}})
		if fmt.Sprintf("%g kg", got["x"][1]) != mass {
			t.Errorf("%s: %v", mass, got["x"])
		}
		if r := runtest.Try(fsys, run.Options{}).Reports["x"].Results["carried-mass"]; r.State != want {
			t.Errorf("%s: %s", mass, r.State)
		}
	}
	// A middle axis with its whole mass given: what rides on it is in it, known
	// or not.
	for _, mass := range []string{`"10 kg"`, ""} {
		x, y, z := testaxis.Zyx()
		y.Set("load.moved_mass", -1, `"50 kg"`)
		z.Set("load.mass", -1, mass)
		a, p := testaxis.Texts(x, y, z)
		got := map[string][2]float64{}
		run.Files(rules.Book(), spec.NewTree(testaxis.Memory("m/all.axis.hcl", strings.Join(a, ""), "parts/all.parts.hcl", p)), []string{"m/all.axis.hcl"}, run.Options{Workers: 1, As: run.Look{Each: masses(got)}})
		if got["x"][0] != 50 {
			t.Errorf("x carries %v", got["x"])
		}
	}
}

// Tolerances of carried masses go up the chain.
func TestCarriedTolerance(t *testing.T) {
	use := func(carried string) float64 {
		x, y, z := testaxis.Zyx()
		z.Set("load.mass", -1, carried)
		a, p := testaxis.Texts(x, y, z)
		return runtest.Try(testaxis.Memory("m/all.axis.hcl", strings.Join(a, ""), "parts/all.parts.hcl", p), run.Options{}).Reports["x"].Results["life-margin"].Utilisation
	}
	if got, want := use(`"10 kg ± 8 kg"`), use(`"18 kg"`); math.Abs(got/want-1) > 1e-9 {
		t.Errorf("%g, %g", got, want)
	}
	// A payload's too: the heaviest counts at its heaviest.
	heavy := func(payload string) float64 {
		x, y, z := testaxis.Zyx()
		z.Set("motion.move.payload", 0, payload)
		a, p := testaxis.Texts(x, y, z)
		return runtest.Try(testaxis.Memory("m/all.axis.hcl", strings.Join(a, ""), "parts/all.parts.hcl", p), run.Options{}).Reports["x"].Results["life-margin"].Utilisation
	}
	if got, want := heavy(`"3 kg ± 2 kg"`), heavy(`"5 kg"`); math.Abs(got/want-1) > 1e-9 {
		t.Errorf("%g, %g", got, want)
	}
	// Where the whole mass is given, tolerances below it are in it.
	whole := func(carried string) float64 {
		x, y, z := testaxis.Zyx()
		y.Set("load.moved_mass", -1, `"50 kg"`)
		z.Set("load.mass", -1, carried)
		a, p := testaxis.Texts(x, y, z)
		return runtest.Try(testaxis.Memory("m/all.axis.hcl", strings.Join(a, ""), "parts/all.parts.hcl", p), run.Options{}).Reports["x"].Results["life-margin"].Utilisation
	}
	if got, want := whole(`"10 kg ± 8 kg"`), whole(`"10 kg"`); math.Abs(got/want-1) > 1e-9 {
		t.Errorf("%g, %g", got, want)
	}
}

// A carrier whose load is not known is not judged where it matters, and says
// why; what does not hang on it is judged.
func TestCarriedUnknown(t *testing.T) {
	for _, lacks := range []string{"the mass", "moves", "a distance", "a readable mass", "a readable payload", "a readable list", "a readable list above"} {
		x, y, z := testaxis.Zyx()
		want := "the mass of a carried axis is not known"
		switch lacks {
		case "the mass":
			z.Set("load.mass", -1, "")
		case "a readable mass":
			z.Set("load.mass", -1, `"10"`)
		case "a readable list":
			y.Set("load.carries", -1, "[z]")
		case "a readable list above":
			x.Set("load.carries", -1, `"y"`)
		case "a readable payload":
			z.Set("motion.move.payload", 1, `"2 mm"`)
		case "a distance":
			z.Set("motion.move.distance", 1, "")
			want = ""
		default:
			z.Moves, y.Moves = nil, nil
			want = ""
		}
		a, p := testaxis.Texts(x, y, z)
		o := runtest.Try(testaxis.Memory("m/all.axis.hcl", strings.Join(a, ""), "parts/all.parts.hcl", p), run.Options{})
		r := o.Reports["x"].Results["life-margin"]
		if want != "" && (r.State != judge.Unjudged || r.Why != want) || want == "" && r.State != judge.Passed {
			t.Errorf("without %s: %+v", lacks, r)
		}
		if r := o.Reports["x"].Results["critical-speed"]; r.State != judge.Passed {
			t.Errorf("without %s: %+v", lacks, r)
		}
		if want != "" && !slices.ContainsFunc(o.MissingInputs, func(g judge.MissingInput) bool {
			return g.Axis == "x" && g.Why == want && slices.Contains(g.Rules, "life-margin")
		}) {
			t.Errorf("%+v", o.MissingInputs)
		}
	}
}

// References that lead nowhere, round in a circle or to two axes.
func TestCarriedWrong(t *testing.T) {
	tree := func(sheets ...*testaxis.Sheet) *runtest.Outcome {
		a, p := testaxis.Texts(sheets...)
		return runtest.Try(testaxis.Memory("m/all.axis.hcl", strings.Join(a, ""), "parts/all.parts.hcl", p), run.Options{})
	}
	x, y, z := testaxis.Zyx()
	z.Set("load.carries", -1, "[axis.x]")
	o := tree(x, y, z)
	runtest.WantFinding(t, o.Findings, "value", "axes carry each other in a circle: x → y → z → x")
	circles := 0
	for _, f := range o.Findings {
		if strings.Contains(f.Message, "circle") {
			circles++
		}
	}
	if circles != 1 || o.Axes != 3 {
		t.Errorf("%d circles, %d axes", circles, o.Axes)
	}
	for _, name := range []string{"x", "y", "z"} {
		if r := o.Reports[name].Results["life-margin"]; r.State != judge.Unjudged {
			t.Errorf("%s in a circle: life-margin %s", name, r.State)
		}
	}

	x, y, z = testaxis.Zyx()
	x.Set("load.carries", -1, "[axis.x]")
	o = tree(x, y, z)
	runtest.WantFinding(t, o.Findings, "value", "circle: x → x")
	if r := o.Reports["x"].Results["life-margin"]; r.State != judge.Unjudged {
		t.Errorf("x on itself: life-margin %s", r.State)
	}

	x, y, z = testaxis.Zyx()
	x.Set("load.carries", -1, "[axis.yy, axis.nowhere]")
	o = tree(x, y, z)
	runtest.WantFinding(t, o.Findings, "unknown-name", "no axis yy")
	runtest.WantFinding(t, o.Findings, "unknown-name", "no axis nowhere")
	if r := o.Reports["x"].Results["life-margin"]; r.State != judge.Unjudged {
		t.Errorf("life-margin %s", r.State)
	}

	x, y, z = testaxis.Zyx()
	o = tree(x, y, z, z.With("load.mass", `"12 kg"`))
	if f := runtest.WantFinding(t, o.Findings, "duplicate-name", "two axes named z; give one of them another name"); f != nil && len(f.Related) != 1 {
		t.Errorf("%+v", f)
	}
	if r := o.Reports["y"].Results["life-margin"]; r.State != judge.Unjudged {
		t.Errorf("y, which carries one of two of a name: life-margin %s", r.State)
	}

	// The axes of another folder are none of ours.
	a, p := testaxis.Texts(x, y, z)
	o = runtest.Try(testaxis.Memory("m/x.axis.hcl", a[0], "n/y.axis.hcl", a[1]+a[2], "parts/all.parts.hcl", p), run.Options{})
	runtest.WantFinding(t, o.Findings, "unknown-name", "this folder has no axis y to carry")
}

// fleet is a tree with a bit of everything: several folders, carried axes,
// policies, house rules, waivers, tolerances, faults, missing lines and files
// that cannot be read.
func fleet(seed uint64) map[string]string {
	r := rand.New(rand.NewPCG(seed, 9))
	out := map[string]string{}
	_, out["parts/all.parts.hcl"] = testaxis.WholeSheet().Text()
	out["top.policy.hcl"] = "rule \"critical-speed\" { limit = \"60 %\" }\nrequire \"short\" {\n  that = supports.span <= \"850 mm\"\n}\nrule \"nonsense\" { limit = 2 }\n"
	for f := range 6 {
		dir := fmt.Sprintf("line%d", f)
		x, y, z := testaxis.Zyx()
		for i, s := range []*testaxis.Sheet{x, y, z} {
			s.Set("supports.span", -1, fmt.Sprintf(`"%d mm"`, 700+r.IntN(300)))
			s.Set("screw.dynamic_rating", -1, fmt.Sprintf(`"%d kN ± 10 %%"`, 1+r.IntN(12)))
			if r.IntN(3) == 0 {
				s.Set("nut.stiffness", -1, "")
			}
			if r.IntN(3) == 0 {
				s.More = waiving("life-margin", "2027-06-30") + waiving("critical-speed", "2026-01-01")
			}
			a, _ := s.Text()
			name := fmt.Sprintf("%s/f%d.axis.hcl", dir, r.IntN(2))
			if f == 3 && i == 1 {
				name = dir + "/broken.axis.hcl"
				a += "axis \"open\" {\n"
			}
			if f == 4 && i == 2 { // a second z
				out[dir+"/again.axis.hcl"] = strings.Replace(a, "10 kg", "11 kg", 1)
			}
			out[name] += a
		}
	}
	out["line5/bytes.axis.hcl"] = "axis \"\xff\" {}\n"
	out["line2/h.policy.hcl"] = "waive \"short\" {\n  reason = \"r\"\n  until = \"2027-01-01\"\n}\n"
	return out
}

// What a run finds does not hang on the order of the files or on how many
// workers there are.
func TestOrderAndWorkers(t *testing.T) {
	t.Parallel()
	for seed := range amount.Of(uint64(3), 1) {
		texts := fleet(seed)
		var pairs, names []string
		for name, text := range texts {
			pairs = append(pairs, name, text)
			if strings.HasSuffix(name, spec.AxisSuffix) {
				names = append(names, name)
			}
		}
		sort.Strings(names)
		fsys := testaxis.Memory(pairs...)
		want := runtest.Shown(runtest.Try(fsys, run.Options{Fixes: true, Whole: true, Workers: 1}, names...).Summary)
		r := rand.New(rand.NewPCG(seed, 1))
		for _, workers := range []int{1, 2, 16, 16, 2, 16} {
			r.Shuffle(len(names), func(i, k int) { names[i], names[k] = names[k], names[i] })
			got := runtest.Shown(runtest.Try(fsys, run.Options{Fixes: true, Whole: true, Workers: workers}, names...).Summary)
			if got != want {
				g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
				for i := range min(len(g), len(w)) {
					if g[i] != w[i] {
						t.Fatalf("seed %d, %d workers, files %q: line %d\n%s\ninstead of\n%s", seed, workers, names, i, g[i], w[i])
					}
				}
				t.Fatalf("seed %d, %d workers: %d lines instead of %d", seed, workers, len(g), len(w))
			}
		}
	}
}

// Findings are sorted, counts add up, and a broken file does no harm to others.
func TestSummary(t *testing.T) {
	var pairs []string
	for name, text := range fleet(7) {
		pairs = append(pairs, name, text)
	}
	o := runtest.Try(testaxis.Memory(pairs...), run.Options{Fixes: true, Whole: true})
	if !sort.SliceIsSorted(o.Findings, func(i, k int) bool { return judge.LessFinding(&o.Findings[i], &o.Findings[k]) }) {
		t.Error("findings are not sorted")
	}
	kinds := map[string]int{}
	waived := 0
	for i, f := range o.Findings {
		kinds[f.Rule]++
		if f.Waiver != nil {
			waived++
		}
		if !f.Place.Valid() || f.Message == "" || f.Severity == judge.Off {
			t.Errorf("%+v", f)
		}
		if i > 0 && shown(&f) == shown(&o.Findings[i-1]) {
			t.Errorf("twice: %s %s", f.Place, f.Message)
		}
	}
	for _, want := range []string{"syntax", "life-margin", "short", "unknown-name", "waiver-expired", "duplicate-name"} {
		if kinds[want] == 0 {
			t.Errorf("no finding of %s among %v", want, kinds)
		}
	}
	if waived == 0 {
		t.Error("nothing is waived")
	}
	if o.Axes != 20 && o.Axes != 19 {
		t.Errorf("%d axes", o.Axes)
	}
	// Counted again from the axes' reports, of which one name stands twice or
	// more: so in a folder of its own.
	x, y, z := testaxis.Zyx()
	y.Set("nut.stiffness", -1, "")
	a, p := testaxis.Texts(x, y, z)
	o = runtest.Try(testaxis.Memory("m/all.axis.hcl", strings.Join(a, ""), "parts/all.parts.hcl", p), run.Options{})
	judged, unjudged, rest := 0, 0, 0
	for _, v := range o.Reports {
		for _, r := range v.Results {
			switch r.State {
			case judge.Passed, judge.Failed:
				judged++
			case judge.Unjudged:
				unjudged++
			default:
				rest++
			}
		}
	}
	if o.Judged != judged || o.Unjudged != unjudged || judged+unjudged+rest != 3*len(rules.Book().All()) || unjudged == 0 {
		t.Errorf("%d and %d judged, %d and %d not, %d not asked", o.Judged, judged, o.Unjudged, unjudged, rest)
	}
	inGaps := map[string]bool{}
	for _, g := range o.MissingInputs {
		for _, r := range g.Rules {
			inGaps[g.Axis+" "+r] = true
		}
	}
	if len(inGaps) < unjudged {
		t.Errorf("%d gaps name rules, %d are not judged", len(inGaps), unjudged)
	}
}

func shown(f *judge.Finding) string { return fmt.Sprintf("%+v %s %s", f.Place, f.Rule, f.Message) }

// An axis with syntax errors is not judged; those beside it in the file are, as
// those in other files.
func TestBrokenFile(t *testing.T) {
	a, p := testaxis.WholeSheet().Text()
	other := strings.Replace(a, `"cross"`, `"other"`, 1)
	o := runtest.Try(testaxis.Memory("m/a.axis.hcl", a, "m/b.axis.hcl", "axis \"whole\" {\n}\n"+strings.Replace(other, "load {", "load", 1), "m/c.axis.hcl", "\x00", "parts/all.parts.hcl", p), run.Options{})
	if r := o.Reports["cross"].Results["critical-speed"]; r.State != judge.Passed {
		t.Errorf("%+v", r)
	}
	if r := o.Reports["whole"].Results["shared-load"]; r.State != judge.NotApplicable {
		t.Errorf("%+v", r)
	}
	if v := o.Reports["other"]; v != nil {
		for name, r := range v.Results {
			if r.State == judge.Passed || r.State == judge.Failed {
				t.Errorf("%s is judged: %s", name, r.State)
			}
		}
	}
	for _, file := range []string{"m/b.axis.hcl", "m/c.axis.hcl"} {
		if !slices.ContainsFunc(o.Findings, func(f judge.Finding) bool { return f.Place.File == file && f.Rule == "syntax" }) {
			t.Errorf("nothing is said of %s", file)
		}
	}
	// Files that are not there.
	o = runtest.Try(testaxis.Memory("m/a.axis.hcl", a, "parts/all.parts.hcl", p), run.Options{}, "m/a.axis.hcl", "m/none.axis.hcl")
	if f := runtest.WantFinding(t, o.Findings, "file", "no such file"); f != nil && (f.Place.File != "m/none.axis.hcl" || !f.Fatal()) {
		t.Errorf("%+v", f)
	}
}

// Content given beside the tree counts instead of the tree's.
func TestSource(t *testing.T) {
	a, p := testaxis.WholeSheet().Text()
	worse, _ := testaxis.Quick("").Text()
	o := runtest.Try(testaxis.Memory("m/a.axis.hcl", a, "parts/all.parts.hcl", p), run.Options{As: run.Look{Source: map[string][]byte{"m/a.axis.hcl": []byte(worse), "m/new.axis.hcl": []byte(strings.Replace(worse, `"cross"`, `"new"`, 1))}}}, "m/a.axis.hcl", "m/new.axis.hcl")
	if len(o.Findings) != 2 || o.Axes != 2 {
		t.Error(runtest.Shown(o.Summary))
	}
}

// The whole tree: parts nobody uses, parts that hardly differ.
func TestWholeTree(t *testing.T) {
	a, p := testaxis.WholeSheet().Text()
	p += "screw \"k1\" {\n  nominal_diameter = \"20 mm\"\n  lead = \"10 mm\"\n  process = \"ground\"\n  dynamic_rating = \"12 kN\"\n}\n"
	p += "screw \"k2\" {\n  nominal_diameter = \"20 mm\"\n  lead = \"10 mm\"\n  process = \"ground\"\n  dynamic_rating = \"13 kN\"\n}\n"
	b := strings.Replace(strings.Replace(a, `"cross"`, `"b"`, 1), "  screw {\n", "  screw {\n    part = screw.k1\n", 1)
	c := strings.Replace(b, "screw.k1", "screw.k2", 1)
	c = strings.Replace(c, `axis "b"`, `axis "c"`, 1)
	policy := "rule \"unused-part\" { severity = \"warning\" }\n"
	for _, x := range []struct {
		axes            string
		whole           bool
		unused, similar int
	}{
		{a, true, 2, 0}, {a + b, true, 1, 0}, {a + b + c, true, 0, 1}, {a, false, 0, 0}, {a + b + c, false, 0, 0},
	} {
		o := runtest.Try(testaxis.Memory("m/a.axis.hcl", x.axes, "parts/all.parts.hcl", p, "p.policy.hcl", policy), run.Options{Whole: x.whole})
		n := map[string]int{}
		for _, f := range o.Findings {
			n[f.Rule]++
		}
		if n["unused-part"] != x.unused || n["variety"] != x.similar {
			t.Errorf("%v", n)
		}
	}
}

// With the lines that NextInputs names really added, the rules it speaks of are
// judged.
func TestUnlock(t *testing.T) {
	unlocked := 0
	testaxis.Check(t, 30, func(rt *rapid.T) {
		s := testaxis.DrawSheet(rt)
		all := s.All()
		less := s.Copy()
		for range rapid.IntRange(2, 12).Draw(rt, "missing lines") {
			l := all[rapid.IntRange(0, len(all)-1).Draw(rt, "line")]
			less.Set(l[0].(string), l[1].(int), "")
		}
		before := runtest.Alone(less, run.Options{})
		if before == nil || before.Unlock == nil {
			return
		}
		u := before.Unlock
		if u.Judged > u.Waiting || len(u.Lines) == 0 || u.Judged*2 <= u.Waiting {
			rt.Fatalf("%+v", u)
		}
		more := less.Copy()
		for _, words := range u.Lines {
			if !addLine(more, s, words) {
				return // a line the drawn axis never had
			}
		}
		after := runtest.Alone(more, run.Options{})
		waiting, promised, kept := 0, 0, 0
		for name, r := range before.Results {
			if len(r.Missing) == 0 {
				continue
			}
			waiting++
			open := slices.ContainsFunc(r.Missing, func(m judge.MissingLine) bool { return !slices.Contains(u.Lines, m.Words) })
			if open {
				continue
			}
			promised++
			still := after.Results[name].Missing
			if len(still) == 0 {
				kept++
			}
			// A line may bring others to light: what a part lacks shows once
			// the part is named. But what was added is not named again.
			for _, m := range still {
				if slices.Contains(u.Lines, m.Words) {
					rt.Fatalf("%s still waits for %s, which was added of %q\n%s", name, m.Words, u.Lines, more)
				}
			}
		}
		if waiting != u.Waiting || promised != u.Judged {
			rt.Fatalf("of %d waiting rules %d have their lines; it says %d, %d", waiting, promised, u.Waiting, u.Judged)
		}
		if kept < promised {
			return
		}
		unlocked++
	})
	if unlocked < 8 {
		t.Errorf("only %d axes were unlocked", unlocked)
	}
}

// addLine puts a missing line, as it is named, back from the whole sheet.
func addLine(less, whole *testaxis.Sheet, words string) bool {
	if name, ref, ok := strings.Cut(words, " of "); ok {
		if move, isMove := strings.CutPrefix(ref, "move "); isMove {
			for i, m := range whole.Moves {
				if text := m.Lines[strings.ReplaceAll(name, " ", "_")]; m.Name == move && text != "" {
					less.Moves[i].Lines[strings.ReplaceAll(name, " ", "_")] = text
					return true
				}
			}
			return false
		}
		for role, part := range testaxis.PartsOf {
			if part == ref && whole.Lines[role+"."+name] != "" {
				less.Lines[role+"."+name] = whole.Lines[role+"."+name]
				return true
			}
		}
		return false
	}
	text := whole.Lines[words]
	if text == "" {
		return false
	}
	less.Lines[words] = text
	return true
}

// Places can be shown as the reader sees them, all of them.
func TestPlace(t *testing.T) {
	var pairs []string
	for name, text := range fleet(7) {
		pairs = append(pairs, name, text)
	}
	o := runtest.Try(testaxis.Memory(pairs...), run.Options{Fixes: true, Whole: true})
	o.Place(func(p spec.Place) spec.Place {
		if p.Valid() {
			p.File = path.Join("up", p.File)
		}
		return p
	})
	at := func(places ...spec.Place) {
		for _, p := range places {
			if p.Valid() && !strings.HasPrefix(p.File, "up/") {
				t.Errorf("%s is left", p)
			}
		}
	}
	for _, f := range o.Findings {
		at(f.Place, f.WaiverPlace)
		for _, e := range f.Inputs {
			at(e.Place)
		}
		for _, r := range f.Related {
			at(r.Place)
		}
	}
	for _, g := range o.MissingInputs {
		at(g.Place)
	}
	for _, u := range o.NextInputs {
		at(u.Place)
	}
}

// TestBare: a run of axes only says of them what any run says, finds what
// two listed files have in common though one of them is not judged, and is silent about
// parts. A single worker works in the caller's goroutine.
func TestBare(t *testing.T) {
	files := testaxis.Memory("p.parts.hcl", "screw \"s\" {\n  lead = 3\n}\n")
	for _, n := range []string{"a.axis.hcl", "b.axis.hcl"} {
		files[n] = testaxis.Memory(n, "axis \"x\" {\n  screw {\n    part = screw.s\n  }\n}\n")[n]
	}
	judged := 0
	look := run.Look{Bare: true, Only: func(file, _ string) bool { return file == "b.axis.hcl" }, Each: func(*judge.Report) { judged++ }}
	sum := run.Files(rules.Book(), spec.NewTree(files), []string{"a.axis.hcl", "b.axis.hcl"}, run.Options{Today: testaxis.SomeDay, Workers: 1, As: look})
	runtest.WantFinding(t, sum.Findings, "duplicate-name", "two axes named x")
	for _, f := range sum.Findings {
		if f.Place.File == "p.parts.hcl" {
			t.Errorf("of a part is said %s", f.Message)
		}
	}
	if judged != 1 {
		t.Errorf("%d axes were judged", judged)
	}
	defer func() {
		if recover() == nil {
			t.Error("a panic went by its caller")
		}
	}()
	look.Each = func(*judge.Report) { panic("on purpose") }
	run.Files(rules.Book(), spec.NewTree(files), []string{"b.axis.hcl"}, run.Options{Today: testaxis.SomeDay, Workers: 1, As: look})
}
