package sizing

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec"
)

// A twin is a small choice that is searched, and judged text by text: for each
// combination the axis is written out as the words of the options say, read and
// judged as any other.
type twin struct {
	lib     plainLibrary
	prices  map[string]float64 // by name of a part
	base    plainAxis
	policy  string
	level   judge.Severity
	vary    []int
	workers int
	most    int
	sealed  string // a support that is
	bad     string // a part that a rule of parts has something against
	holds   bool   // something does
}

func smallLibrary() plainLibrary {
	return plainLibrary{
		screws: []plainScrew{
			{name: "s0", d0: 20, lead: 10, root: 17.3, ca: 12.7, c0: 21, process: "ground"},
			{name: "s1", d0: 25, lead: 10, root: 22, ca: 16, c0: 30, process: "ground"},
			{name: "s2", d0: 16, lead: 5, root: 13, ca: 8, c0: 12, process: "ground"},
			{name: "s3", d0: 20, lead: 20, root: 16.8, ca: 11, c0: 19, process: "ground"},
			{name: "s4", d0: 25, lead: 20, root: 21.8, ca: 9, c0: 20, process: "rolled", noStatic: true},
			{name: "s5", d0: 32, lead: 20, root: 28.8, ca: 24, c0: 48, process: "ground"},
		},
		motors: []plainMotor{{name: "m0", speed: 4000, rated: 2.4, peak: 7, inertia: 2, brake: 4}, {name: "m1", speed: 3000, rated: 1.2, peak: 3.6, inertia: 0.4, brake: 1}, {name: "m2", speed: 2000, rated: 3, peak: 6, inertia: 6}},
		supports: []plainSupport{
			{name: "u0", kind: "fixed", bore: 15, stiffness: 180, dynamic: 22.6, drag: 0.05}, {name: "u1", kind: "fixed", bore: 12, stiffness: 90, dynamic: 6, drag: 0.03},
			{name: "u2", kind: "supported", bore: 12, stiffness: 60, dynamic: 8, drag: 0.02}, {name: "u3", kind: "supported", bore: 10, stiffness: 60, dynamic: 8, drag: 0.02},
		},
		clutch: []float64{9, 2.2},
	}
}

func smallBase(mass, speed, positioning float64) plainAxis {
	return plainAxis{screw: "s0", preload: "400 N", drive: "fixed", far: "supported", driveUnit: "u0", grade: "C5", motor: "m0", coupling: "c0", mass: mass, speed: speed, positioning: positioning}
}

// All of a margin that any screw of the length would have is in the way of others.
const longEnough = "rule \"shaft-length\" {\n  severity = \"off\"\n  reason = \"for a test\"\n}\n"

func TestSizingTwinEnds(t *testing.T) {
	x := twin{lib: smallLibrary(), base: smallBase(150, 0.35, 120), level: judge.Warning, vary: []int{ChooseScrew, ChoosePreload, ChooseEnds}, workers: 1, most: 10, holds: true,
		policy: longEnough + "require \"sealed\" {\n  that = drive_support.sealed\n}\n"}
	x.lib.screws = x.lib.screws[:4]
	x.lib.supports = append(x.lib.supports, plainSupport{name: "u4", kind: "fixed", bore: 15, stiffness: 180, dynamic: 22.6, drag: 0.05}) // like u0, but that is sealed
	x.base.driveUnit, x.sealed = "u4", "u0"
	x.run(t)
}

func TestSizingTwinPrices(t *testing.T) {
	x := twin{lib: smallLibrary(), base: smallBase(12, 0.2, 110), level: judge.Warning, vary: []int{ChooseScrew, ChooseGrade, ChooseMotor, ChooseCoupling}, workers: 2, most: 2, holds: true,
		prices: map[string]float64{"s0": 80, "s1": 60, "s2": 10, "s3": 30, "s4": 40, "s5": 90, "m0": 300, "m1": 70, "m2": 60, "c0": 7, "c1": 5, "u0": 20, "u2": 12},
		policy: longEnough + "require \"fine\" {\n  when = motor.max_speed > \"3500 rpm\"\n  that = coupling.rated_torque > \"3 N m\"\n}\nrequire \"calm\" {\n  that = max_rotation_speed <= \"2000 rpm\"\n  severity = \"note\"\n}\nrequire \"brake\" {\n  that = declared(motor.brake_torque)\n}\n"}
	x.base.farUnit, x.base.grade = "u2", "C7"
	x.run(t)
}

// What is declared holds, among others.
func TestSizingTwinDeclared(t *testing.T) {
	(&twin{lib: smallLibrary(), base: smallBase(12, 0.2, 110), level: judge.Warning, vary: []int{ChooseScrew, ChooseMotor}, workers: 1, most: 10, holds: true}).run(t)
}

func TestSizingTwinErrors(t *testing.T) {
	x := twin{lib: smallLibrary(), base: smallBase(300, 0.2, 300), level: judge.Error, vary: []int{ChooseScrew, ChooseEnds, ChooseMotor}, workers: 3, most: 10, holds: true, bad: "s0", policy: longEnough}
	x.lib.screws = append(x.lib.screws, plainScrew{name: "s6", d0: 32, lead: 16, root: 29, ca: 22, c0: 46, process: "ground"})
	x.base.grade = "C7"
	x.run(t)
}

func TestSizingTwinNothing(t *testing.T) {
	(&twin{lib: smallLibrary(), base: smallBase(900, 0.3, 60), level: judge.Warning, vary: []int{ChooseScrew, ChooseEnds, ChooseMotor}, workers: 1, most: 3}).run(t)
}

// A rule of the house throws all out at once; another looks at more than the
// declared parts show, which comes to light only where misses are looked for.
func TestSizingTwinHouse(t *testing.T) {
	(&twin{lib: smallLibrary(), base: smallBase(12, 0.2, 110), level: judge.Warning, vary: []int{ChooseScrew, ChooseMotor, ChooseCoupling}, workers: 2, most: 10, bad: "s0",
		policy: "require \"thick\" {\n  that = screw.nominal_diameter >= \"1 m\"\n}\nrequire \"fine\" {\n  when = motor.max_speed < \"3500 rpm\"\n  that = coupling.rated_torque < \"3 N m\"\n}\nwaive \"fine\" {\n  reason = \"what is declared needs none\"\n  until = \"2027-01-01\"\n}\n"}).run(t)
}

// A small motor will do for the middle of the load only; it ranks first, and is
// what is declared.
func TestSizingTwinTolerances(t *testing.T) {
	x := twin{lib: smallLibrary(), base: smallBase(12, 0.2, 110), level: judge.Warning, vary: []int{ChooseScrew, ChooseMotor, ChooseCoupling}, workers: 1, most: 10, holds: true,
		policy: "require \"strong\" {\n  that = load.mass < \"14 kg\" || motor.rated_torque > \"2 N m\"\n}\n"}
	x.base.motor, x.base.massSpread = "m1", 4
	x.run(t)
}

func TestSizingTwinTooWide(t *testing.T) {
	x := twin{lib: smallLibrary(), base: smallBase(12, 0.2, 110), level: judge.Warning, vary: []int{ChooseScrew, ChooseMotor}, workers: 1, most: 2, holds: true,
		policy: "require \"thick\" {\n  that = load.mass < \"14 kg\" || screw.nominal_diameter > \"1 m\"\n}\n"}
	x.base.massSpread = 4
	x.run(t)
}

func (x *twin) parts() string {
	l := x.lib
	l.screws = slices.Clone(l.screws)
	for i := range l.screws {
		if l.screws[i].name == x.bad {
			l.screws[i].root = l.screws[i].d0 + 1
		}
	}
	text := l.text()
	for name, cost := range x.prices {
		for _, kind := range []string{"screw", "motor", "coupling", "support"} {
			head := fmt.Sprintf("%s %q {\n", kind, name)
			text = strings.Replace(text, head, fmt.Sprintf("%s  cost = %g\n", head, cost), 1)
		}
	}
	return strings.Replace(text, fmt.Sprintf("support %q {\n", x.sealed), fmt.Sprintf("support %q {\n  sealed = true\n", x.sealed), 1)
}

func (x *twin) options() Options {
	o := Options{Today: testaxis.SomeDay, Level: x.level, Workers: x.workers, Most: x.most}
	for i := range o.Keep {
		o.Keep[i] = !slices.Contains(x.vary, i)
	}
	return o
}

// written gives the axis that a combination's words stand for.
func (x *twin) written(words [choices]string) plainAxis {
	a := x.base
	a.screw, a.grade, a.motor, a.coupling = words[ChooseScrew], words[ChooseGrade], words[ChooseMotor], words[ChooseCoupling]
	for share, percents := range map[float64]string{0.02: "2 % of Ca", 0.05: "5 % of Ca", 0.08: "8 % of Ca"} {
		if words[ChoosePreload] == percents {
			i := slices.IndexFunc(x.lib.screws, func(s plainScrew) bool { return s.name == a.screw })
			a.preload = plainPreload(x.lib.screws[i].ca, share)
		}
	}
	held, units, _ := strings.Cut(strings.TrimSuffix(words[ChooseEnds], ")"), " (")
	a.drive, a.far, _ = strings.Cut(held, "-")
	a.driveUnit, a.farUnit = "", ""
	for _, u := range strings.Split(units, ", ") {
		i := slices.IndexFunc(x.lib.supports, func(s plainSupport) bool { return s.name == u })
		switch {
		case i < 0:
		case a.driveUnit == "" && x.lib.supports[i].kind == a.drive:
			a.driveUnit = u
		default:
			a.farUnit = u
		}
	}
	return a
}

// whole is how one combination comes out when it is judged whole.
type whole struct {
	at      [choices]int
	results map[string]judge.Result // of the rules that are evaluated
	broken  map[string]bool
	cannot  map[string]bool
	wide    map[string]bool // broken somewhere within the tolerances
	over    float64
	rank    []float64

	cylinder float64 // inertia of the shaft
}

// holds reports whether nothing is broken, over all tolerances.
func (o *whole) holds() bool { return len(o.broken)+len(o.wide) == 0 }

func (o *whole) different() (n int) {
	for _, k := range o.at {
		if k != 0 {
			n++
		}
	}
	return n
}

// price adds up what parts cost; NaN where one is not said.
func (x *twin) price(a plainAxis) float64 {
	sum := 0.0
	for i, name := range []string{a.screw, a.motor, a.coupling, a.driveUnit, a.farUnit} {
		p, ok := x.prices[name]
		switch {
		case name == "" && i == 2:
		case name == "" && (i == 3 && a.drive == "free" || i == 4 && a.far == "free"):
		case !ok:
			return math.NaN()
		}
		sum += p
	}
	return sum
}

// outcomes judges every combination. Rules that no choice can change, as the
// search has it, must come out alike for all; they do not count.
func (x *twin) outcomes(t *testing.T, s *sizer) []whole {
	t.Helper()
	fsys := fstest.MapFS{"all.parts.hcl": {Data: []byte(x.parts())}, "house.policy.hcl": {Data: []byte(x.policy)}}
	byFile := map[string]*whole{}
	written := map[string]plainAxis{}
	var names []string
	var at [choices]int
	for more := true; more; {
		var words [choices]string
		for i := range at {
			words[i] = s.choices[i].options[at[i]].words
		}
		name := fmt.Sprintf("x%04d.axis.hcl", len(names))
		names = append(names, name)
		written[name] = x.written(words)
		fsys[name] = &fstest.MapFile{Data: []byte(strings.Replace(written[name].text(), `axis "cross"`, fmt.Sprintf("axis %q", name[:5]), 1))}
		byFile[name] = &whole{at: at}
		more = false
		for i := choices - 1; i >= 0 && !more; i-- {
			if at[i]++; at[i] < len(s.choices[i].options) {
				more = true
			} else {
				at[i] = 0
			}
		}
	}
	if len(names) != s.out.All {
		t.Errorf("%d combinations, not %d", s.out.All, len(names))
	}
	levels := map[string]int{}
	for i := range s.asked {
		if s.asked[i].asks() {
			levels[s.asked[i].name] = s.asked[i].level
		}
	}
	standing := map[string]string{}
	run.Files(rules.Book(), spec.NewTree(fsys), names, run.Options{Today: testaxis.SomeDay, Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
		name := rep.View.Axis.Place.File
		a, o := written[name], byFile[name]
		o.results, o.broken, o.cannot = map[string]judge.Result{}, map[string]bool{}, map[string]bool{}
		add := func(res *judge.Result) float64 {
			if res != nil && res.State == judge.Failed && res.Utilisation == res.Utilisation {
				return math.Min(math.Max(res.Utilisation-1, 0), 1000)
			}
			return 1
		}
		stands := ""
		for i := range rep.Results {
			res := &rep.Results[i]
			level, asked := levels[res.Rule]
			if !asked {
				continue
			}
			o.results[res.Rule] = *res
			fails := slices.ContainsFunc(rep.Findings, func(f judge.Finding) bool { return f.Rule == res.Rule && f.Severity >= x.level })
			if level < 0 {
				stands += fmt.Sprint(res.Rule, res.State, fails, res.Utilisation, " ")
				continue
			}
			lacks := res.State == judge.Unjudged && (len(res.Missing) == 0 || slices.ContainsFunc(res.Missing, func(m judge.MissingLine) bool {
				return strings.HasPrefix(m.Path(), "screw.") || strings.HasPrefix(m.Path(), "motor.") || strings.HasPrefix(m.Path(), "drive_support.") || strings.HasPrefix(m.Path(), "far_support.")
			}))
			if fails || lacks {
				o.broken[res.Rule], o.cannot[res.Rule] = true, lacks
				o.over += add(res)
			}
		}
		standing[stands] = name
		if a.screw == x.bad {
			o.broken["part-contradiction"] = true
			o.over++
		}
		use := math.Inf(-1)
		for rule, res := range o.results {
			if res.Utilisation > use && !res.Fit && levels[rule] >= 0 {
				use = res.Utilisation
			}
		}
		r, c := rep.View.V(mechanics.NominalDiameter)/2, rep.View.Calc
		o.cylinder = c.V(mechanics.Density) * math.Pi * r * r * c.V(mechanics.ShaftLength) * r * r / 2 // m·r²/2
		cost, noCost := x.price(a), 0.0
		if cost != cost {
			cost, noCost = 0, 1
		}
		var coarse int
		fmt.Sscanf(a.grade, "C%d", &coarse)
		motor := slices.IndexFunc(x.lib.motors, func(m plainMotor) bool { return m.name == a.motor })
		fixed := strings.Count(a.drive+a.far, "fixed")
		o.rank = []float64{noCost, cost, orInfinite(rep.View.V(mechanics.NominalDiameter)), orInfinite(rep.View.V(mechanics.ShaftInertia)), -float64(coarse), float64(fixed), x.lib.motors[motor].rated, use, float64(o.different())}
	}}})
	if len(standing) != 1 {
		t.Errorf("rules that are said to stand come out in %d ways: %v", len(standing), standing)
	}
	var out []whole
	for _, name := range names {
		if byFile[name].results == nil {
			t.Fatalf("%s was not judged:\n%s", name, written[name].text())
		}
		out = append(out, *byFile[name])
	}
	return out
}

func orInfinite(x float64) float64 {
	if x != x {
		return math.Inf(1)
	}
	return x
}

// search runs a sizing's search; with little, it begins with what the rules are
// seen to look at for the declared parts alone.
func (x *twin) search(t *testing.T, little bool) (s *sizer) {
	t.Helper()
	judgeText(t, x.base.text(), x.parts(), x.policy, func(rep *judge.Report) {
		var err error
		if s, err = openSizer(rep, x.options()); err != nil {
			t.Fatal(err)
		}
		s.buildOptions()
		if err := s.bounds(); err != nil {
			t.Fatal(err)
		}
		s.rules(rep)
		if little {
			w := s.worker()
			w.try([choices]int{})
			w.learn()
		} else {
			s.discover()
		}
		if err := s.search(context.Background()); err != nil {
			t.Fatal(err)
		}
	})
	return s
}

// The run of twins hold what a search finds against what follows from judging
// every combination whole: counts, answers and their order, the least changes,
// the front, what is rejected where, and the nearest misses. It is the same
// when the search knows little of the rules at first.
func (x *twin) run(t *testing.T) {
	t.Helper()
	s := x.search(t, false)
	all := x.outcomes(t, s)
	if x.base.massSpread > 0 {
		middle := *x
		middle.base.massSpread = 0
		wide := all
		all = middle.outcomes(t, s)
		for i := range all {
			all[i].wide = wide[i].broken
		}
	}
	x.compare(t, s, all)
	x.compare(t, x.search(t, true), all)
}

func (x *twin) compare(t *testing.T, s *sizer, all []whole) {
	t.Helper()
	got := s.out
	// Ranked, and those alike in the order of the options.
	order := func(a, b *whole) int {
		if c := slices.Compare(a.rank, b.rank); c != 0 {
			return c
		}
		return slices.Compare(a.at[:], b.at[:])
	}
	least := func(a, b *whole) int {
		if a.different() != b.different() {
			return a.different() - b.different()
		}
		return order(a, b)
	}
	nearer := func(a, b *whole) int {
		if len(a.broken) != len(b.broken) {
			return len(a.broken) - len(b.broken)
		}
		if math.Abs(a.over-b.over) > 1e-9 {
			return int(math.Copysign(1, a.over-b.over))
		}
		return order(a, b)
	}
	spread := x.base.massSpread > 0
	holding, declared := map[int]int{}, false
	best, few, near := map[int]*whole{}, map[int]*whole{}, map[int]*whole{}
	var front []*whole
	better := func(m map[int]*whole, o *whole, by func(a, b *whole) int) {
		if have := m[o.at[0]]; have == nil || by(o, have) < 0 {
			m[o.at[0]] = o
		}
	}
	for i := range all {
		o := &all[i]
		better(near, o, nearer)
		if len(o.broken) > 0 {
			continue
		}
		holding[o.at[0]]++
		declared = declared || o.at == [choices]int{} && o.holds()
		if o.holds() {
			better(best, o, order)
		}
		better(few, o, least)
		front = append(front, o)
	}
	sorted := func(m map[int]*whole, by func(a, b *whole) int) (out []*whole) {
		for _, o := range m {
			out = append(out, o)
		}
		slices.SortFunc(out, by)
		return out
	}
	sum := 0
	for _, n := range holding {
		sum += n
	}
	if (sum > 0) != x.holds {
		t.Errorf("%d of %d hold: the case shows something else than it should", sum, len(all))
	}
	if got.Holding != sum || got.Screws != len(holding) || got.Declared != declared || got.ByCost != (len(x.prices) > 0 && sum > 0) {
		t.Errorf("%d hold with %d screws, declared %v, by cost %v; judged one by one %d with %d, %v", got.Holding, got.Screws, got.Declared, got.ByCost, sum, len(holding), declared)
	}
	same := func(what string, list []Answer, want []*whole) {
		t.Helper()
		ok := len(list) == len(want)
		for i := range list {
			ok = ok && list[i].at == want[i].at
		}
		if ok {
			return
		}
		t.Errorf("%s:", what)
		for _, a := range list {
			t.Errorf("  found    %v %s, use %g of %s", a.at, a.Shown(), a.Utilisation, a.UtilisationOf)
		}
		for _, o := range want {
			t.Errorf("  expected %v %v %v", o.at, o.rank, o.broken)
		}
	}
	cut := func(list []*whole, most int) []*whole { return list[:min(len(list), most)] }
	same("answers", got.Answers, cut(sorted(best, order), x.most))
	changes := sorted(few, least)
	if len(changes) > 0 {
		n := changes[0].different()
		changes = slices.DeleteFunc(changes, func(o *whole) bool { return o.different() > n || !o.holds() })
	}
	same("least changes", got.Least, cut(changes, 3))
	// In the plane of cost, or size, and use.
	price := func(o *whole) float64 {
		if o.rank[0] == 0 {
			return o.rank[1]
		}
		return o.rank[2]
	}
	use := func(o *whole) float64 { return o.rank[7] }
	edge := slices.DeleteFunc(slices.Clone(front), func(o *whole) bool {
		return slices.ContainsFunc(front, func(p *whole) bool {
			return price(p) <= price(o) && use(p) <= use(o) && (price(p) < price(o) || use(p) < use(o) || order(p, o) < 0)
		})
	})
	slices.SortFunc(edge, func(a, b *whole) int {
		if price(a) != price(b) {
			return int(math.Copysign(1, price(a)-price(b)))
		}
		return order(a, b)
	})
	same("front", got.Front, slices.DeleteFunc(edge, func(o *whole) bool { return !o.holds() }))
	if spread && sum > 0 && len(best) == 0 {
		slices.SortFunc(front, order)
		same("misses", got.Misses, cut(front, x.most))
	} else if sum == 0 {
		same("misses", got.Misses, cut(sorted(near, nearer), x.most))
	} else if len(got.Misses) > 0 {
		t.Errorf("%d misses", len(got.Misses))
	}
	// What an answer says of itself.
	for _, a := range slices.Concat(got.Answers, got.Least, got.Front, got.Misses) {
		i := slices.IndexFunc(all, func(o whole) bool { return o.at == a.at })
		o := &all[i]
		cost := o.rank[1]
		if o.rank[0] == 1 {
			cost = math.NaN()
		}
		if a.Cost != cost && (a.Cost == a.Cost || cost == cost) || a.Different() != o.different() || sum > 0 && (math.Abs(a.Utilisation-o.rank[7]) > 1e-9 || math.Abs(o.results[a.UtilisationOf].Utilisation-a.Utilisation) > 1e-9) {
			t.Errorf("%s costs %g, expected %g; %d different, expected %d; use %g of %s, expected %g", a.Shown(), a.Cost, cost, a.Different(), o.different(), a.Utilisation, a.UtilisationOf, o.rank[7])
		}
		// By what it is ranked: the size as the text has it, the inertia of a cylinder.
		if orInfinite(a.Diameter) != o.rank[2] || math.Abs(a.Inertia-o.cylinder) > 1e-9*o.cylinder {
			t.Errorf("%s: diameter %g and inertia %g, expected %g and %g", a.Shown(), a.Diameter, a.Inertia, o.rank[2], o.cylinder)
		}
		broken := map[string]bool{}
		for _, f := range a.Findings {
			broken[f.Rule] = true
		}
		for _, r := range a.Unjudged {
			broken[r.Rule] = true
		}
		want := o.broken
		if spread {
			want = o.wide
		}
		if fmt.Sprint(broken) != fmt.Sprint(want) {
			t.Errorf("%s breaks %v, expected %v", a.Shown(), broken, want)
		}
	}
	for _, a := range got.Answers {
		if a.Others != holding[a.at[0]]-1 {
			t.Errorf("%s: %d others, expected %d", a.Shown(), a.Others, holding[a.at[0]]-1)
		}
	}
	x.rejected(t, s, all)
}

// rejected counts what is rejected: by every rule that is broken at the first
// choice at which any is. A rule cannot be asked before a choice that was seen
// to change how it comes out.
func (x *twin) rejected(t *testing.T, s *sizer, all []whole) {
	t.Helper()
	level := map[string]int{"part-contradiction": ChooseScrew}
	for i := range s.asked {
		if s.asked[i].asks() {
			level[s.asked[i].name] = s.asked[i].level
		}
	}
	byAt := map[[choices]int]*whole{}
	want := map[Rejected]bool{}
	counts := map[string]*Rejected{}
	for i := range all {
		o := &all[i]
		byAt[o.at] = o
		first := int(choices)
		for r := range o.broken {
			first = min(first, level[r])
		}
		for r := range o.broken {
			if level[r] == first {
				c := counts[r]
				if c == nil {
					c = &Rejected{Rule: r, Choice: ChoiceNames[first]}
					counts[r] = c
				}
				c.Count++
				if o.cannot[r] {
					c.Unjudged++
				}
			}
		}
		for c := range o.at {
			beside := o.at
			beside[c] = 0
			for r, res := range o.results {
				if other := byAt[beside].results[r]; res.State != other.State || res.Utilisation != other.Utilisation && res.Utilisation == res.Utilisation {
					if level[r] < c {
						t.Errorf("%s changes with the %s; it is evaluated after the choice of %d", r, ChoiceNames[c], level[r])
						return
					}
				}
			}
		}
	}
	for _, c := range counts {
		want[*c] = true
	}
	for _, g := range s.out.Rejected {
		if !want[g] {
			t.Errorf("rejected %+v, expected %+v", g, want)
		}
		delete(want, g)
	}
	if len(want) > 0 {
		t.Errorf("not said to be rejected: %+v", want)
	}
}
