package sizing

import (
	"math"
	"slices"
	"testing"

	"trammel/rules/judge"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
	"trammel/spec/unit"
)

// The rankKeys of the answers, as the documentation of sizing gives it: cost
// first, then the smaller screw, the lighter shaft, the coarser grade, fewer
// fixed ends, the smaller motor, more margin, fewer changes.
var rankKeys = []func(r *ranking, x float64){
	func(r *ranking, x float64) { r.noCost = x },
	func(r *ranking, x float64) { r.cost = x },
	func(r *ranking, x float64) { r.diameter = x },
	func(r *ranking, x float64) { r.inertia = x },
	func(r *ranking, x float64) { r.coarse = int(x) },
	func(r *ranking, x float64) { r.fixed = int(x) },
	func(r *ranking, x float64) { r.motor = int(x) },
	func(r *ranking, x float64) { r.use = x },
	func(r *ranking, x float64) { r.different = int(x) },
}

// TestRankKeys: each key alone decides where those before it are alike, and
// against all those behind it.
func TestRankKeys(t *testing.T) {
	for k, set := range rankKeys {
		a, b := ranking{}, ranking{}
		set(&a, 1)
		set(&b, 2)
		for _, behind := range rankKeys[k+1:] {
			behind(&a, 5)
			behind(&b, 3)
		}
		for _, before := range rankKeys[:k] {
			before(&a, 7)
			before(&b, 7)
		}
		if a.compare(&b) >= 0 || b.compare(&a) <= 0 || a.compare(&a) != 0 {
			t.Errorf("key %d: %d, %d, with itself %d", k, a.compare(&b), b.compare(&a), a.compare(&a))
		}
		// The ranking goes before the order of the options.
		x, y := candidate{rank: a, at: [choices]int{5}}, candidate{rank: b}
		if x.compare(&y) >= 0 || y.compare(&x) <= 0 {
			t.Errorf("key %d does not precede the order of the options", k)
		}
	}
	for c := range choices {
		a, b := candidate{}, candidate{}
		b.at[c] = 1
		if a.compare(&b) >= 0 || b.compare(&a) <= 0 {
			t.Errorf("of two alike, the earlier option of choice %d does not go first", c)
		}
	}
}

// TestLeastAndNearest: the least change counts changes before all else; the
// nearest miss the broken rules, then by how much, then the ranking.
func TestLeastAndNearest(t *testing.T) {
	few, cheap := candidate{rank: ranking{cost: 9, different: 1}}, candidate{rank: ranking{cost: 1, different: 2}}
	if few.least(&cheap) >= 0 || cheap.least(&few) <= 0 {
		t.Error("cost goes before the number of changes")
	}
	dear := candidate{rank: ranking{cost: 10, different: 1}}
	if few.least(&dear) >= 0 || dear.least(&few) <= 0 {
		t.Error("of as many changes, cost does not decide")
	}
	at := func(broken int, over, cost float64) *candidate {
		return &candidate{v: outcome{broken: broken, over: over}, rank: ranking{cost: cost}}
	}
	for _, x := range [][2]*candidate{{at(1, 9, 9), at(2, 1, 1)}, {at(2, 1, 9), at(2, 3, 1)}, {at(2, 1, 1), at(2, 1, 2)}} {
		if x[0].nearer(x[1]) >= 0 || x[1].nearer(x[0]) <= 0 {
			t.Errorf("%+v is not nearer than %+v", x[0], x[1])
		}
	}
}

// TestKeptIsACopy: what is kept does not change with what it was copied from.
func TestKeptIsACopy(t *testing.T) {
	c := candidate{at: [choices]int{1}}
	k := c.kept()
	c.at[0] = 2
	if k.at[0] != 1 {
		t.Error("the kept one changed")
	}
}

// TestAmong: the best few are kept in order whatever the order they come in;
// one without tolerances, as many as can be judged with them.
func TestAmong(t *testing.T) {
	for _, spread := range []bool{false, true} {
		s := &sizer{out: &Result{Spread: spread}}
		most := 1
		if spread {
			most = 40
		}
		for _, step := range []int{1, 37, 60} { // rising, mixed, falling; 61 is prime
			var best []candidate
			for i := range 61 {
				best = s.among(best, &candidate{rank: ranking{cost: float64(i * step % 61)}, at: [choices]int{i}})
				if want := min(i+1, most); len(best) != want {
					t.Fatalf("of %d, %d are kept, expected %d", i+1, len(best), want)
				}
			}
			for i := range best {
				if best[i].rank.cost != float64(i) {
					t.Fatalf("step %d: place %d has cost %g", step, i, best[i].rank.cost)
				}
			}
		}
	}
	// Of two quite alike the first stays.
	s := &sizer{out: &Result{}}
	best := s.among(nil, &candidate{v: outcome{over: 1}})
	if best = s.among(best, &candidate{v: outcome{over: 2}}); len(best) != 1 || best[0].v.over != 1 {
		t.Errorf("%+v", best)
	}
}

// TestWeighedAgainstMargin: what a candidate costs, or its diameter where that is
// not known.
func TestWeighedAgainstMargin(t *testing.T) {
	c := candidate{rank: ranking{cost: 30, diameter: 0.02}}
	if c.x() != 30 {
		t.Error(c.x())
	}
	if c.rank.noCost = 1; c.x() != 0.02 {
		t.Error(c.x())
	}
}

// TestFront: against every pair compared with every other, in the plane of cost
// and use with many alike.
func TestFront(t *testing.T) {
	for _, noCost := range []float64{0, 1} {
		for seed := range 40 {
			var all, front []candidate
			for i := range 30 {
				k := i*7 + seed*13
				c := candidate{at: [choices]int{k % 30, i}, rank: ranking{noCost: noCost, cost: float64(k * k % 11), diameter: float64(k * k % 11), inertia: float64(k % 3)}, v: outcome{use: float64((k * 5) % 13)}}
				if noCost == 1 {
					c.rank.cost = 0
				}
				all = append(all, c)
				front = onFront(front, c)
			}
			wanted := map[[2]float64]candidate{}
			for _, c := range all {
				beaten := slices.ContainsFunc(all, func(o candidate) bool {
					return o.x() <= c.x() && o.v.use < c.v.use || o.x() < c.x() && o.v.use <= c.v.use
				})
				key := [2]float64{c.x(), c.v.use}
				if have, ok := wanted[key]; !beaten && (!ok || c.compare(&have) < 0) {
					wanted[key] = c
				}
			}
			if len(front) != len(wanted) {
				t.Fatalf("%d on the front, expected %d", len(front), len(wanted))
			}
			for _, c := range front {
				if wanted[[2]float64{c.x(), c.v.use}].at != c.at {
					t.Errorf("%+v does not belong on the front", c)
				}
			}
		}
	}
}

// TestStandings: what joins adds up; the largest use wins, with its rule.
func TestStandings(t *testing.T) {
	var a, b outcome
	a.fails.add(3)
	a.cannot.add(64)
	a.use, a.useOf, a.over, a.broken = 0.5, 3, 1.25, 2
	b.fails.add(200)
	b.cannot.add(63)
	b.use, b.useOf, b.over, b.broken = 0.75, 9, 0.5, 1
	for _, got := range []outcome{a.join(&b), b.join(&a)} {
		if got.use != 0.75 || got.useOf != 9 || got.over != 1.75 || got.broken != 3 || got.holds() {
			t.Errorf("%+v", got)
		}
		for i := range 256 {
			if got.fails.has(i) != (i == 3 || i == 200) || got.cannot.has(i) != (i == 63 || i == 64) {
				t.Errorf("rule %d: fails %v, cannot %v", i, got.fails.has(i), got.cannot.has(i))
			}
		}
	}
	if none := (outcome{}); !none.holds() || !none.fails.empty() || a.fails.empty() {
		t.Error("nothing broken does not hold")
	}
}

// TestCount: how a rule comes out is counted by how far it is over its limit,
// between nothing and a thousand times; one without a number counts as once.
func TestCount(t *testing.T) {
	s := &sizer{o: Options{Level: judge.Warning}}
	s.supplied.Add(judge.Field("screw.lead"))
	w := &sizeWorker{s: s}
	lacks := func(paths ...string) (out []judge.MissingLine) {
		for _, p := range paths {
			out = append(out, judge.MissingLine{Words: p, Field: judge.Field(p)})
		}
		return out
	}
	nan := math.NaN()
	for _, x := range []struct {
		res           judge.Result
		fails, cannot bool
		over          float64
		use           float64
	}{
		{judge.Result{State: judge.Passed, Utilisation: 0.5}, false, false, 0, 0.5},
		{judge.Result{State: judge.Failed, Utilisation: 1.5, Level: judge.Error}, true, false, 0.5, 1.5},
		{judge.Result{State: judge.Failed, Utilisation: 1.5, Level: judge.Warning}, true, false, 0.5, 1.5},
		{judge.Result{State: judge.Failed, Utilisation: 1.5, Level: judge.Note}, false, false, 0, 1.5},
		{judge.Result{State: judge.Failed, Utilisation: 0.75, Level: judge.Warning}, true, false, 0, 0.75}, // over its advice only
		{judge.Result{State: judge.Failed, Utilisation: 5000, Level: judge.Error}, true, false, 1000, 5000},
		{judge.Result{State: judge.Failed, Utilisation: math.Inf(1), Level: judge.Error}, true, false, 1000, math.Inf(1)},
		{judge.Result{State: judge.Failed, Utilisation: nan, Level: judge.Error}, true, false, 1, math.Inf(-1)},
		{judge.Result{State: judge.Unjudged, Utilisation: nan}, false, true, 1, math.Inf(-1)},
		{judge.Result{State: judge.Unjudged, Utilisation: nan, Missing: lacks("screw.lead")}, false, true, 1, math.Inf(-1)},
		{judge.Result{State: judge.Unjudged, Utilisation: nan, Missing: lacks("load.mass", "screw.lead")}, false, true, 1, math.Inf(-1)},
		{judge.Result{State: judge.Unjudged, Utilisation: nan, Missing: lacks("load.mass")}, false, false, 0, math.Inf(-1)},
		{judge.Result{State: judge.Unjudged, Utilisation: nan, Missing: []judge.MissingLine{{Words: "of nothing"}}}, false, false, 0, math.Inf(-1)},
		{judge.Result{State: judge.NotApplicable, Utilisation: nan}, false, false, 0, math.Inf(-1)},
		{judge.Result{State: judge.Passed, Utilisation: 0.99, Fit: true}, false, false, 0, math.Inf(-1)}, // no margin
	} {
		v := outcome{use: math.Inf(-1), useOf: -1}
		w.count(&v, 70, x.res)
		broken := 0
		if x.fails || x.cannot {
			broken = 1
		}
		useOf := int16(-1)
		if !math.IsInf(x.use, -1) {
			useOf = 70
		}
		if v.fails.has(70) != x.fails || v.cannot.has(70) != x.cannot || v.over != x.over || v.broken != broken || v.use != x.use || v.useOf != useOf {
			t.Errorf("%+v: %+v", x.res, v)
		}
	}
	// Of the same use the first rule is named.
	v := outcome{use: 0.5, useOf: 1}
	if w.count(&v, 2, judge.Result{State: judge.Passed, Utilisation: 0.5}); v.useOf != 1 {
		t.Errorf("%+v", v)
	}
}

// TestThrow: combinations count for every rule they break, at that choice.
func TestThrow(t *testing.T) {
	s := &sizer{asked: []sizingRule{{name: "a"}, {name: "b"}, {name: "c"}}}
	w := &sizeWorker{s: s}
	f := &screwFound{rejected: map[rejectedKey]*Rejected{}}
	var v outcome
	v.fails.add(0)
	v.cannot.add(2)
	w.throw(f, ChooseEnds, &v, 6)
	w.throw(f, ChooseEnds, &v, 4)
	w.throw(f, ChooseMotor, &v, 1)
	want := map[rejectedKey]Rejected{
		{0, ChooseEnds}: {"a", "ends", 10, 0}, {2, ChooseEnds}: {"c", "ends", 10, 10},
		{0, ChooseMotor}: {"a", "motor", 1, 0}, {2, ChooseMotor}: {"c", "motor", 1, 1},
	}
	for k, x := range want {
		if f.rejected[k] == nil || *f.rejected[k] != x {
			t.Errorf("%v: %+v, expected %+v", k, f.rejected[k], x)
		}
	}
	if len(f.rejected) != len(want) {
		t.Errorf("%v", f.rejected)
	}
}

// TestComplete: what a whole combination brings into the ranking. Preload and
// grade have no price; the declared motor stands where its size puts it, before
// the first that is as large or larger.
func TestComplete(t *testing.T) {
	s := &sizer{out: &Result{}, declaredMotor: 2}
	cost := func(list ...float64) (out []option) {
		for _, x := range list {
			out = append(out, option{cost: x})
		}
		return out
	}
	nan := math.NaN()
	s.choices[ChooseScrew].options = cost(100, 200)
	s.choices[ChoosePreload].options = cost(nan, nan)
	s.choices[ChooseEnds].options = []option{{cost: 10, fixed: 1}, {cost: 20, fixed: 2}}
	s.choices[ChooseGrade].options = []option{{cost: nan, coarse: 5}, {cost: nan, coarse: 10}}
	s.choices[ChooseMotor].options = cost(1000, 2000, nan)
	s.choices[ChooseCoupling].options = cost(1, 2)
	for _, x := range []struct {
		at   [choices]int
		want ranking
	}{
		{[choices]int{}, ranking{0, 1111, 7, 8, -5, 1, 3, 0.5, 0}},
		{[choices]int{1, 1, 1, 1, 1, 1}, ranking{0, 2222, 7, 8, -10, 2, 2, 0.5, 6}},
		{[choices]int{0, 1, 0, 0, 1, 0}, ranking{0, 2111, 7, 8, -5, 1, 2, 0.5, 2}},
		{[choices]int{0, 0, 1, 0, 2, 0}, ranking{1, 0, 7, 8, -5, 2, 4, 0.5, 2}},
	} {
		c := candidate{at: x.at, rank: ranking{diameter: 7, inertia: 8, noCost: 3, cost: 3, different: 9}, v: outcome{use: 0.5}}
		if s.complete(&c); c.rank != x.want {
			t.Errorf("%v: %+v, expected %+v", x.at, c.rank, x.want)
		}
	}
}

// TestCollect: what was found for single screws, together.
func TestCollect(t *testing.T) {
	s := &sizer{out: &Result{}}
	key := func(rule, choice int) rejectedKey { return rejectedKey{rule, choice} }
	list := []screwFound{
		{holding: 0, rejected: map[rejectedKey]*Rejected{key(0, 2): {"a", "ends", 5, 1}, key(1, 2): {"b", "ends", 7, 0}, key(3, 0): {"d", "screw", 1, 0}}},
		{holding: 0, declared: true, rejected: map[rejectedKey]*Rejected{key(0, 2): {"a", "ends", 3, 2}, key(2, 2): {"c", "ends", 7, 0}, key(4, 0): {"e", "screw", 2, 2}}},
	}
	s.o.Most = 1
	s.collect(t.Context(), list)
	want := []Rejected{{"e", "screw", 2, 2}, {"d", "screw", 1, 0}, {"a", "ends", 8, 3}, {"b", "ends", 7, 0}, {"c", "ends", 7, 0}}
	if !slices.Equal(s.out.Rejected, want) {
		t.Errorf("%+v, expected %+v", s.out.Rejected, want)
	}
	if s.out.Screws != 0 || !s.out.Declared || s.out.Holding != 0 {
		t.Errorf("%d screws, declared %v, %d hold", s.out.Screws, s.out.Declared, s.out.Holding)
	}
}

// TestBounds: half a thousand million combinations are tried, one more screw
// is too much.
func TestBounds(t *testing.T) {
	for screws, ok := range map[int]bool{1: true, 500: true, 501: false} {
		s := &sizer{out: &Result{}}
		for i, n := range []int{screws, 4, 50, 5, 100, 10} { // a million for each screw
			s.choices[i].options = make([]option, n)
		}
		err := s.bounds()
		if n := screws * 1_000_000; (err == nil) != ok || ok && s.out.All != n {
			t.Errorf("%d combinations: %v, %d", n, err, s.out.All)
		}
	}
}

// TestCostOf: parts cost what they cost together; one that does not say makes
// the sum unknown, one that is not there costs nothing. An end that is held
// without a unit has no cost; a free one needs none.
func TestCostOf(t *testing.T) {
	part := func(text string) *spec.Part {
		t.Helper()
		tree := spec.NewTree(testaxis.Memory("m/a.axis.hcl", "axis \"a\" {\n}\n", "m/p.parts.hcl", "motor \"m\" {\n"+text+"}\n"))
		list := tree.ReadAxes("m/a.axis.hcl").Axes[0].Folder.Visible("motor")
		if len(list) != 1 {
			t.Fatal(list)
		}
		return list[0]
	}
	ten, three, none, bad := part("cost = 10\n"), part("cost = 3\n"), part(""), part("cost = \"dear\"\n")
	p := func(list ...*spec.Part) []*spec.Part { return list }
	nan := math.NaN()
	for _, x := range []struct {
		parts []*spec.Part
		want  float64
	}{{nil, 0}, {p(ten), 10}, {p(ten, three), 13}, {p(nil, three), 3}, {p(nil, nil), 0}, {p(ten, none), nan}, {p(none, ten), nan}, {p(bad), nan}, {p(ten, bad), nan}} {
		if got := costOf(x.parts...); got != x.want && !(got != got && x.want != x.want) {
			t.Errorf("%v cost %g, expected %g", x.parts, got, x.want)
		}
	}
	for _, x := range []struct {
		drive, far string
		units      [2]*spec.Part
		want       float64
	}{
		{"fixed", "free", [2]*spec.Part{ten, nil}, 10}, {"fixed", "supported", [2]*spec.Part{ten, three}, 13}, {"fixed", "supported", [2]*spec.Part{ten, nil}, nan},
		{"fixed", "free", [2]*spec.Part{}, nan}, {"fixed", "fixed", [2]*spec.Part{nil, ten}, nan}, {"free", "free", [2]*spec.Part{}, 0}, {"", "", [2]*spec.Part{}, nan},
	} {
		if got := unitCost([2]string{x.drive, x.far}, x.units); got != x.want && !(got != got && x.want != x.want) {
			t.Errorf("%s-%s costs %g, expected %g", x.drive, x.far, got, x.want)
		}
	}
	for want, words := range [][]string{{"free", "supported"}, {"fixed", "supported"}, {"fixed", "fixed"}} {
		if got := fixedEnds(words...); got != want {
			t.Errorf("%q: %d fixed", words, got)
		}
	}
	for word, want := range map[string]int{"C10": 10, "C7": 7, "C0": 0, "P5": 5, "T10": 10, "": 0, "fine": 0} {
		if got := gradeCoarse(word); got != want {
			t.Errorf("%q is as coarse as %d, expected %d", word, got, want)
		}
	}
}

// TestSameNumber: two values are the same to a rule that looks at numbers only.
func TestSameNumber(t *testing.T) {
	num := func(x float64) *spec.Value {
		return &spec.Value{Num: unit.Quantity{Nominal: x, Low: x, High: x}}
	}
	ends := func(x float64) *spec.Value {
		return &spec.Value{Ends: [2]unit.Quantity{{}, {Nominal: x}}}
	}
	for _, x := range []struct {
		a, b *spec.Value
		want bool
	}{
		{nil, nil, true}, {nil, &spec.Value{Bad: true}, true}, {&spec.Value{Bad: true}, &spec.Value{Bad: true}, true},
		{nil, num(1), false}, {num(1), &spec.Value{Bad: true}, false}, {num(0), nil, false},
		{num(1), num(1), true}, {num(1), num(2), false},
		{&spec.Value{Word: 1}, &spec.Value{Word: 1}, true}, {&spec.Value{Word: 1}, &spec.Value{Word: 2}, false},
		{ends(1), ends(1), true}, {ends(1), ends(2), false},
		{&spec.Value{Num: unit.Quantity{Nominal: 1, High: 2}}, num(1), false},
	} {
		if got, back := sameNumber(x.a, x.b), sameNumber(x.b, x.a); got != x.want || back != x.want {
			t.Errorf("%+v and %+v: %v and %v", x.a, x.b, got, back)
		}
	}
}

// TestRoundUp: to the next number of three digits in the unit shown; what has
// three digits stays.
func TestRoundUp(t *testing.T) {
	for _, x := range []struct {
		si   float64
		k    unit.Kind
		want float64
	}{
		{12_341, unit.Force, 12_400}, {12_400, unit.Force, 12_400}, {999.1, unit.Force, 1000}, {0.0123401, unit.Length, 0.0124},
		{0.01, unit.Length, 0.01}, {1.001e-3, unit.Length, 1.01e-3},
	} {
		if got := roundUp(x.si, x.k, unit.Metric); math.Abs(got-x.want) > 1e-9*x.want {
			t.Errorf("%g of %v is rounded to %g, expected %g", x.si, x.k, got, x.want)
		}
	}
}
