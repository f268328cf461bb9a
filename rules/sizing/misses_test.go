package sizing

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/run/runtest"
	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
)

// smallChoice is an axis with a few screws, motors and ends to choose from.
func smallChoice(mass float64) (axis, parts string) {
	l := plainLibrary{
		screws: []plainScrew{
			{name: "s0", d0: 20, lead: 10, root: 17.3, ca: 12.7, c0: 21, process: "ground"},
			{name: "s1", d0: 25, lead: 10, root: 22, ca: 16, c0: 30, process: "ground"},
			{name: "s2", d0: 16, lead: 5, root: 13, ca: 8, c0: 12, process: "ground"},
		},
		motors: []plainMotor{{name: "m0", speed: 4000, rated: 2.4, peak: 7, inertia: 2}, {name: "m1", speed: 3000, rated: 1.2, peak: 3.6, inertia: 2}},
	}
	base := plainAxis{screw: l.screws[0].name, preload: "400 N", drive: "fixed", far: "supported", grade: "C5", motor: "m0", mass: mass, speed: 0.2, positioning: 300}
	return base.text(), l.text()
}

// brokenBy counts the rules that throw an answer out.
func brokenBy(a *Answer) int {
	rules := map[string]bool{}
	for _, f := range a.Findings {
		rules[f.Rule] = true
	}
	for _, r := range a.Unjudged {
		rules[r.Rule] = true
	}
	return len(rules)
}

// TestSearchTellsItsProgress: one screw after the other up to all of them, and once more from
// the first where nothing passes.
func TestSearchTellsItsProgress(t *testing.T) {
	for mass, rounds := range map[float64]int{10: 1, 4000: 2} {
		axis, parts := smallChoice(mass)
		judgeText(t, axis, parts, "", func(rep *judge.Report) {
			told, finished := 0, 0
			o := Options{Today: testaxis.SomeDay, Level: judge.Warning, Workers: 1, Progress: func(n, of int) {
				if told++; n != told || of < 2 {
					t.Errorf("mass %g: told %d of %d, expected %d", mass, n, of, told)
				}
				if n == of {
					told = 0
					finished++
				}
			}}
			if _, err := Find(context.Background(), rep, o); err != nil || told != 0 || finished < rounds {
				t.Errorf("mass %g: %d rounds, %d told of another: %v", mass, finished, told, err)
			}
		})
	}
}

// TestMissesAreNearest: where nothing holds, the first miss breaks as few rules
// as any combination does when each is judged whole, and those behind it no
// fewer. Where something holds there are no misses.
func TestMissesAreNearest(t *testing.T) {
	var keep [choices]bool
	keep[ChoosePreload], keep[ChooseGrade], keep[ChooseCoupling] = true, true, true
	o := Options{Today: testaxis.SomeDay, Level: judge.Warning, Keep: keep, Most: 3, Workers: 1}
	for _, mass := range []float64{10, 4000} {
		axis, parts := smallChoice(mass)
		judgeText(t, axis, parts, "", func(rep *judge.Report) {
			got, err := Find(context.Background(), rep, o)
			if err != nil {
				t.Fatal(err)
			}
			s, err := openSizer(rep, o)
			if err != nil {
				t.Fatal(err)
			}
			s.buildOptions()
			s.rules(rep)
			s.discover()
			s.planLevels()
			b := answerBench()
			least, holding, all := 1000, 0, 0
			for screw := range s.choices[ChooseScrew].options {
				for ends := range s.choices[ChooseEnds].options {
					for motor := range s.choices[ChooseMotor].options {
						a := s.answer(b, &candidate{at: [choices]int{ChooseScrew: screw, ChooseEnds: ends, ChooseMotor: motor}, v: outcome{useOf: -1}})
						n := brokenBy(&a)
						if all++; n == 0 {
							holding++
						}
						least = min(least, n)
					}
				}
			}
			if got.Holding != holding || got.All != all {
				t.Errorf("%g kg: %d of %d hold, judged whole %d of %d", mass, got.Holding, got.All, holding, all)
			}
			if holding > 0 {
				if len(got.Misses) > 0 || len(got.Answers) == 0 || mass > 10 {
					t.Errorf("%g kg: %d misses beside %d answers", mass, len(got.Misses), len(got.Answers))
				}
				return
			}
			if mass < 100 || len(got.Answers) > 0 || len(got.Misses) != 3 {
				t.Fatalf("%g kg: %d answers, %d misses", mass, len(got.Answers), len(got.Misses))
			}
			if n := brokenBy(&got.Misses[0]); n != least || n == 0 {
				t.Errorf("the nearest miss breaks %d rules, another %d", n, least)
			}
			if !slices.IsSortedFunc(got.Misses, func(a, b Answer) int { return brokenBy(&a) - brokenBy(&b) }) {
				t.Error("a nearer miss stands behind")
			}
		})
	}
}

// TestSizingEnds: a sizing that is broken off says so, and one that is more work
// than is done.
func TestSizingEnds(t *testing.T) {
	axis, parts := smallChoice(10)
	judgeText(t, axis, parts, "", func(rep *judge.Report) {
		ctx, cancel := context.WithCancel(context.Background())
		cancel()
		if _, err := Find(ctx, rep, Options{Today: testaxis.SomeDay, Level: judge.Warning}); !errors.Is(err, context.Canceled) {
			t.Errorf("broken off: %v", err)
		}
		s, err := openSizer(rep, Options{Today: testaxis.SomeDay, Level: judge.Warning})
		if err != nil {
			t.Fatal(err)
		}
		for work, want := range map[int64]bool{0: true, mostWork: true, mostWork + 1: false} {
			s.work.Store(work)
			if err := s.ended(context.Background()); (err == nil) != want {
				t.Errorf("after %d phases: %v", work, err)
			}
		}
		// Work is counted, if not each bit of it at once.
		w := s.worker()
		s.work.Store(0)
		for range 1000 {
			w.spend(100)
		}
		if n := s.work.Load(); n > 100_000 || n < 89_000 {
			t.Errorf("of 100000 phases %d are counted", n)
		}
	})
}

// TestSizingOpen: what is open whatever is chosen is what the axis itself lacks;
// it is told whether a rule of errors or of the house is among what waits for it,
// or finds something that no choice changes.
func TestSizingOpen(t *testing.T) {
	for _, x := range []struct {
		s      *testaxis.Sheet
		policy string
		open   []string
		partly bool
	}{
		{testaxis.WholeSheet(), "", nil, false},
		{testaxis.WholeSheet().With("duty.shock", ""), "", []string{"duty.shock"}, true},
		{testaxis.WholeSheet().With("accuracy.repeatability", ""), "require \"house\" {\n  that = accuracy.repeatability < \"1 mm\"\n}\n", []string{"accuracy.repeatability"}, true},
		// What is found whatever is chosen counts as much as what is open.
		{testaxis.WholeSheet(), "require \"house\" {\n  that = supports.span < \"100 mm\"\n}\n", nil, true},
		{testaxis.WholeSheet().With("load.side_force", `"5 N"`), "", nil, true},
		{testaxis.WholeSheet().With("load.side_force", `"5 N"`), "rule \"side-load\" {\n  severity = \"warning\"\n  reason = \"r\"\n}\n", nil, false},
	} {
		var keep [choices]bool
		for i := range keep {
			keep[i] = i != ChooseScrew
		}
		more := []string{"parts/more.parts.hcl", "screw \"k\" {\n  nominal_diameter = \"20 mm\"\n  lead = \"10 mm\"\n  root_diameter = \"17 mm\"\n  dynamic_rating = \"13 kN\"\n  static_rating = \"22 kN\"\n  process = \"ground\"\n  recirculation = \"end-cap\"\n}\n"}
		if x.policy != "" {
			more = append(more, "line/h.policy.hcl", x.policy)
		}
		runtest.Try(x.s.Files(more...), run.Options{Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
			got, err := Find(context.Background(), rep, Options{Today: testaxis.SomeDay, Level: judge.Warning, Keep: keep})
			if err != nil {
				t.Fatal(err)
			}
			var open []string
			waits := map[string]bool{}
			for _, g := range got.Open {
				open = append(open, g.Missing)
				for _, r := range g.Rules {
					waits[r] = true
				}
			}
			for _, want := range x.open {
				if !slices.Contains(open, want) {
					t.Errorf("open is %q, expected %q", open, x.open)
				}
			}
			if len(x.open) == 0 && len(open) > 0 || got.Partly != x.partly {
				t.Errorf("open is %q, partly %v", open, got.Partly)
			}
			asked := 0
			for i, r := range rules.Book().All() {
				if rep.View.InForce.Settings[i].Severity >= judge.Warning && r.OfAxes() && !r.Mirror {
					asked++
				}
			}
			asked += len(rep.View.InForce.House)
			if got.Judged != asked-len(waits) {
				t.Errorf("%d rules were judged; %d are evaluated and %d wait", got.Judged, asked, len(waits))
			}
		}}})
	}
}

// TestAnswersOfASmallChoice: against every combination judged whole: one answer
// for each screw that has one, the fewest changes first among the least, the
// widest margin and the smallest screw on the front. A house rule rejects as
// others do.
func TestAnswersOfASmallChoice(t *testing.T) {
	var keep [choices]bool
	keep[ChoosePreload], keep[ChooseGrade], keep[ChooseCoupling] = true, true, true
	o := Options{Today: testaxis.SomeDay, Level: judge.Warning, Keep: keep, Most: 10, Workers: 1}
	axis, parts := smallChoice(10)
	for policy, thickest := range map[string]float64{"": 0.025, "require \"slim\" {\n  that = screw.nominal_diameter <= \"20 mm\"\n}\n": 0.020} {
		judgeText(t, axis, parts, policy, func(rep *judge.Report) {
			got, err := Find(context.Background(), rep, o)
			if err != nil {
				t.Fatal(err)
			}
			s, err := openSizer(rep, o)
			if err != nil {
				t.Fatal(err)
			}
			s.buildOptions()
			s.rules(rep)
			s.discover()
			s.planLevels()
			b := answerBench()
			screws, fewest, margin, thinnest := map[int]bool{}, 100, math.Inf(1), math.Inf(1)
			for screw := range s.choices[ChooseScrew].options {
				for ends := range s.choices[ChooseEnds].options {
					for motor := range s.choices[ChooseMotor].options {
						at := [choices]int{ChooseScrew: screw, ChooseEnds: ends, ChooseMotor: motor}
						a := s.answer(b, &candidate{at: at, v: outcome{useOf: -1}})
						if brokenBy(&a) > 0 {
							continue
						}
						screws[screw] = true
						fewest = min(fewest, a.Different())
						x := s.base.Axis.Copy()
						x.Put(a.Changes)
						whole := s.judge.JudgeCarrier(b, x, nil, true)
						use := math.Inf(-1)
						for _, r := range whole.Results {
							if r.Utilisation > use && !r.Fit && s.asks(r.Rule) {
								use = r.Utilisation
							}
						}
						margin = math.Min(margin, use)
						thinnest = math.Min(thinnest, whole.View.V(mechanics.NominalDiameter))
					}
				}
			}
			seen := map[string]bool{}
			for _, a := range got.Answers {
				if name := a.Picks[ChooseScrew].Words; seen[name] {
					t.Errorf("%s is answered twice", name)
				} else {
					seen[name] = true
				}
				if a.Cost == a.Cost || a.Diameter > thickest || a.UtilisationOf == "" || !(a.Utilisation <= 1+judge.Slack) {
					t.Errorf("%s costs %g, is %g thick, uses %g of %q", a.Shown(), a.Cost, a.Diameter, a.Utilisation, a.UtilisationOf)
				}
			}
			if got.ByCost || got.Screws != len(screws) || len(got.Answers) != len(screws) || len(screws) == 0 || got.Answers[0].Diameter != thinnest {
				t.Errorf("%d answers for %d screws, expected %d, the first of %g m, expected %g; by cost %v", len(got.Answers), got.Screws, len(screws), got.Answers[0].Diameter, thinnest, got.ByCost)
			}
			if len(got.Least) == 0 || got.Least[0].Different() != fewest {
				t.Errorf("the least change is %+v, expected %d", got.Least, fewest)
			}
			wide, thin := false, false
			for _, a := range got.Front {
				wide = wide || math.Abs(a.Utilisation-margin) < 1e-9
				thin = thin || a.Diameter == thinnest
			}
			if !wide || !thin {
				t.Errorf("the front lacks the widest margin (%v) or the smallest screw (%v)", wide, thin)
			}
			for _, f := range got.Standing {
				if s.asks(f.Rule) || f.Severity < judge.Warning {
					t.Errorf("%s is said to stand", f.Rule)
				}
			}
		})
	}
}

// TestCheapestFirst: where all that is chosen has a price, the answers stand by
// what they cost, and what costs least of all that holds goes first.
func TestCheapestFirst(t *testing.T) {
	var keep [choices]bool
	keep[ChoosePreload], keep[ChooseGrade], keep[ChooseCoupling], keep[ChooseEnds] = true, true, true, true
	o := Options{Today: testaxis.SomeDay, Level: judge.Warning, Keep: keep, Most: 10, Workers: 1}
	axis, parts := smallChoice(10)
	prices := map[string]float64{"s0": 50, "s1": 20, "s2": 10, "m0": 100, "m1": 70}
	for name, x := range prices {
		for _, kind := range []string{"screw", "motor"} {
			head := fmt.Sprintf("%s %q {\n", kind, name)
			parts = strings.Replace(parts, head, fmt.Sprintf("%s  cost = %g\n", head, x), 1)
		}
	}
	judgeText(t, axis, parts, "", func(rep *judge.Report) {
		got, err := Find(context.Background(), rep, o)
		if err != nil {
			t.Fatal(err)
		}
		if !got.ByCost || len(got.Answers) < 2 {
			t.Fatalf("by cost %v, %d answers", got.ByCost, len(got.Answers))
		}
		for i, a := range got.Answers {
			if want := prices[a.Picks[ChooseScrew].Words] + prices[a.Picks[ChooseMotor].Words]; a.Cost != want {
				t.Errorf("%s costs %g, expected %g", a.Shown(), a.Cost, want)
			}
			if i > 0 && a.Cost < got.Answers[i-1].Cost {
				t.Errorf("%s, of %g, stands behind what costs %g", a.Shown(), a.Cost, got.Answers[i-1].Cost)
			}
		}
		for _, a := range got.Front {
			if a.Cost < got.Answers[0].Cost {
				t.Errorf("%s costs less than the first answer", a.Shown())
			}
		}
	})
}
