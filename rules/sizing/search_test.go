package sizing

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge"
	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
)

// found opens the sizing of a twin and lets each have what is known before the
// search.
func (x *twin) found(t *testing.T, each func(s *sizer, rep *judge.Report)) {
	t.Helper()
	judgeText(t, x.base.text(), x.parts(), x.policy, func(rep *judge.Report) {
		s, err := openSizer(rep, x.options())
		if err != nil {
			t.Fatal(err)
		}
		s.buildOptions()
		if err := s.bounds(); err != nil {
			t.Fatal(err)
		}
		s.rules(rep)
		s.discover()
		each(s, rep)
	})
}

// TestWhenRulesAreAsked: as soon as what they speak of is chosen. The speed of
// the balls is that of the screw, how fast a shaft may turn or what it carries
// hangs on how it is held, what a coupling or a motor must turn on both, and how it
// is stopped on all of them. What is
// said of the motion alone is not asked of any choice. Settled again, all is as
// it was.
func TestWhenRulesAreAsked(t *testing.T) {
	x := twin{lib: smallLibrary(), base: smallBase(12, 0.2, 110), level: judge.Note, vary: []int{ChooseScrew, ChoosePreload, ChooseEnds, ChooseGrade, ChooseMotor, ChooseCoupling}}
	x.found(t, func(s *sizer, rep *judge.Report) {
		s.planLevels()
		for rule, want := range map[string]int{
			"regrease-interval": ChooseScrew, "cycle-closes": -1, "peak-speed": -1, "ball-speed": ChooseScrew, "preload-range": ChoosePreload, "critical-speed": ChooseEnds, // A brake of the motor may stop the axis, and the coupling turns with it.
			"overtravel": ChooseCoupling, "buckling": ChooseCoupling, "support-life": ChooseCoupling, "grade-process": ChooseGrade, "min-lead": ChooseMotor, "coupling-torque": ChooseCoupling, "inertia-ratio": ChooseCoupling,
		} {
			i := slices.IndexFunc(s.asked, func(a sizingRule) bool { return a.name == rule })
			if s.asked[i].level != want {
				t.Errorf("%s is evaluated after choice %d, expected %d", rule, s.asked[i].level, want)
			}
			if s.asks(rule) != (want >= 0) {
				t.Errorf("%s depends on what is chosen: %v", rule, s.asks(rule))
			}
		}
		if s.asks("no such rule") {
			t.Error("a rule that there is not depends on what is chosen")
		}
		before := s.levels
		if s.planLevels(); !reflect.DeepEqual(before, s.levels) {
			t.Error("settled again, the levels differ")
		}
	})
}

// TestAskedMoreThanKnown: a rule that is seen to look at a line only, or at a
// number only, of which nothing was known makes the search begin again, once.
func TestAskedMoreThanKnown(t *testing.T) {
	x := twin{lib: smallLibrary(), base: smallBase(12, 0.2, 110), level: judge.Warning, vary: []int{ChooseScrew, ChooseMotor}}
	x.found(t, func(s *sizer, rep *judge.Report) {
		lines, numbers := false, false
		line, number := judge.Field("screw.part"), mechanics.Lead
		asked := &judge.Rule{Name: "test", Check: func(v *judge.View) []judge.Fault {
			if lines {
				v.Value(line)
			}
			if numbers {
				v.V(number)
			}
			return nil
		}}
		for _, c := range []*bool{&lines, &numbers} {
			lines, numbers = false, false
			s.asked = []sizingRule{{name: "test", rule: asked}}
			w := s.worker()
			if w.ask(0); w.grown {
				t.Error("grown by nothing")
			}
			w.learn()
			*c = true
			w = s.worker()
			if w.ask(0); !w.grown {
				t.Error("it is not noticed that a rule looks at more than was known")
			}
			w.learn()
			w = s.worker()
			if w.ask(0); w.grown {
				t.Error("what is known counts as news")
			}
		}
	})
}

// TestWorkOfAsking: a rule that cannot be judged, and a house rule of many
// terms, count more than another.
func TestWorkOfAsking(t *testing.T) {
	terms := strings.Repeat(" + 1", 80)
	policy := "require \"short\" {\n  that = load.friction > 0\n}\nrequire \"long\" {\n  that = load.friction" + terms + " > 0\n}\n"
	sizerOf(t, testaxis.WholeSheet().With("duty.shock", ""), Options{Level: judge.Warning}, []string{"line/h.policy.hcl", policy}, func(s *sizer, rep *judge.Report) {
		s.buildOptions()
		s.rules(rep)
		work := func(name string) int {
			w := s.worker()
			w.ask(slices.IndexFunc(s.asked, func(a sizingRule) bool { return a.name == name }))
			return w.work
		}
		base := work("cycle-closes")
		if base != judge.Phases(2) || work("static-safety") != base+unjudgedWork {
			t.Errorf("a rule counts %d, one that cannot be judged %d", base, work("static-safety"))
		}
		// Eight terms take as long as a phase: 80 sums are 160 terms and more.
		if short, long := work("short"), work("long"); short != base || long != base+20 {
			t.Errorf("a short rule counts %d, one of 80 sums %d, others %d", short, long, base)
		}
	})
}

// TestSizingEndsByWork: a search that is more work than is done says so, be it
// for what holds or for the nearest misses. Both begin with nothing counted, and
// so does what is done about the answers.
func TestSizingEndsByWork(t *testing.T) {
	some := twin{lib: smallLibrary(), base: smallBase(12, 0.2, 110), level: judge.Warning, vary: []int{ChooseScrew, ChoosePreload, ChooseEnds, ChooseGrade, ChooseMotor}, workers: 1, most: 5}
	some.found(t, func(s *sizer, rep *judge.Report) {
		s.most = 5000
		if err := s.search(context.Background()); err == nil || !strings.Contains(err.Error(), "more work than the limit") || len(s.out.Answers) > 0 {
			t.Errorf("%v, %d answers", err, len(s.out.Answers))
		}
		s.most = mostWork
		s.work.Store(mostWork + 1)
		list, grown := s.pass(context.Background(), false)
		if s.ended(context.Background()) != nil || grown || len(list) != 6 {
			t.Fatalf("%d screws; begins with work already done", len(list))
		}
		s.work.Store(mostWork + 1)
		s.collect(context.Background(), list)
		if len(s.out.Answers) == 0 {
			t.Error("no answers: the search counts for what is done about them")
		}
		ended, cancel := context.WithCancel(context.Background())
		cancel()
		if list := s.answers(ended, judge.NewScratch(), list[0].best, 10, false); len(list) > 0 {
			t.Error("answers are worded though the search is broken off")
		}
	})
	none := some
	none.policy = "require \"thick\" {\n  that = screw.nominal_diameter >= \"1 m\"\n}\n"
	none.found(t, func(s *sizer, rep *judge.Report) {
		s.most = 5000
		if err := s.search(context.Background()); err == nil || !strings.Contains(err.Error(), "more work than the limit") || len(s.out.Rejected) == 0 || len(s.out.Misses) > 0 {
			t.Errorf("%v, rejected %v, %d misses", err, s.out.Rejected, len(s.out.Misses))
		}
	})
	// What a search with tolerances costs is counted, and six answers may take
	// what one axis may.
	some.base.massSpread = 1
	some.found(t, func(s *sizer, rep *judge.Report) {
		b := answerBench()
		s.work.Store(0)
		s.answer(b, &candidate{v: outcome{useOf: -1}})
		most := b.BudgetOf(s.base.Axis)
		if n := s.work.Load(); n <= 0 || n >= int64(most) || 6*most > judge.NewScratch().BudgetOf(s.base.Axis) || most < 100_000 {
			t.Errorf("an answer takes %d of %d", n, most)
		}
	})
}

// TestSizingWithoutUse: where nothing that is evaluated has a number, no rule is
// named as nearest its limit.
func TestSizingWithoutUse(t *testing.T) {
	s := bareSheet("screw.lead", `"10 mm"`)
	for i := range s.Moves {
		delete(s.Moves[i].Lines, "ramp")
	}
	more := []string{"line/h.policy.hcl", "require \"thick\" {\n  that = !(screw.nominal_diameter <= \"18 mm\")\n}\n", "line/p.parts.hcl", "screw \"k\" {\n  nominal_diameter = \"20 mm\"\n  cost = 5\n}\nscrew \"l\" {\n  nominal_diameter = \"16 mm\"\n}\n"}
	sizerOf(t, s, Options{Level: judge.Error}, more, func(s *sizer, rep *judge.Report) {
		s.buildOptions()
		s.rules(rep)
		s.asked = slices.DeleteFunc(s.asked, func(a sizingRule) bool { return a.name != "thick" })
		s.discover()
		if err := s.search(context.Background()); err != nil {
			t.Fatal(err)
		}
		if len(s.out.Answers) != 1 || s.out.Answers[0].UtilisationOf != "" || s.out.Answers[0].Margin() != "—" || s.out.Answers[0].Cost != 5 || !s.out.ByCost || s.out.Answers[0].Picks[ChooseScrew].Words != "k" {
			t.Errorf("%+v", s.out.Answers)
		}
	})
}

// TestAnswerWords: the choices in one line, and the margin left.
func TestAnswerWords(t *testing.T) {
	a := Answer{Picks: []Pick{{Choice: "screw", Words: "k"}, {Choice: "grade", Words: "C5"}, {Choice: "motor", Words: "m"}}, Utilisation: 0.8}
	if got := a.Shown(); got != "screw k, grade C5, motor m" {
		t.Error(got)
	}
	if got := a.Margin(); got != "25 %" {
		t.Error(got)
	}
	for use, want := range map[float64]string{math.Inf(-1): "—", math.Inf(1): "-100 %", 2: "-50 %", 1: "0 %"} {
		if a.Utilisation = use; a.Margin() != want {
			t.Errorf("use %g: margin %s, expected %s", use, a.Margin(), want)
		}
	}
}

// TestAnswerFindings: of the required level and above, of rules that depend on
// what is chosen; the rule nearest its limit is named.
func TestAnswerFindings(t *testing.T) {
	s := testaxis.WholeSheet().With("supports.span", `"930 mm"`, "motion.move.speed", `"0.7 m/s"`)
	s.Set("motion.move.distance", 1, `"-700 mm"`)
	policy := "require \"note\" {\n  that = screw.nominal_diameter > \"1 m\"\n  severity = \"note\"\n}\nrequire \"warning\" {\n  that = screw.nominal_diameter > \"1 m\"\n  severity = \"warning\"\n}\nrequire \"error\" {\n  that = screw.nominal_diameter > \"1 m\"\n}\n" +
		"require \"idle-note\" {\n  that = motion.stroke > \"10 m\"\n  severity = \"note\"\n}\nrequire \"idle-warning\" {\n  that = motion.stroke > \"10 m\"\n  severity = \"warning\"\n}\nrequire \"idle-error\" {\n  that = heaviest_mass > \"1000 kg\"\n}\n" +
		"require \"idle-waived\" {\n  that = motion.stroke > \"10 m\"\n}\nwaive \"idle-waived\" {\n  reason = \"seen\"\n  until = \"2027-01-01\"\n}\nrequire \"open\" {\n  that = accuracy.bandwidth > \"1 Hz\"\n}\n"
	more := []string{"line/h.policy.hcl", policy, "parts/more.parts.hcl", "screw \"k\" {\n  nominal_diameter = \"25 mm\"\n  lead = \"10 mm\"\n  dynamic_rating = \"20 kN\"\n}\n"}
	for _, level := range []judge.Severity{judge.Note, judge.Warning, judge.Error} {
		sizerOf(t, s, Options{Level: level}, more, func(s *sizer, rep *judge.Report) {
			s.buildOptions()
			s.rules(rep)
			s.discover()
			s.planLevels()
			a := s.answer(judge.NewScratch(), &candidate{v: outcome{useOf: 0}})
			has := func(list []judge.Finding, rule string) bool {
				return slices.ContainsFunc(list, func(f judge.Finding) bool { return f.Rule == rule })
			}
			s.whole()
			for _, x := range []struct {
				name  string
				level judge.Severity
			}{{"note", judge.Note}, {"warning", judge.Warning}, {"error", judge.Error}} {
				if want := x.level >= level; has(a.Findings, x.name) != want || has(s.out.Standing, "idle-"+x.name) != want {
					t.Errorf("from %s on, %s: found %v, stands %v", level, x.name, has(a.Findings, x.name), has(s.out.Standing, "idle-"+x.name))
				}
				if has(a.Findings, "idle-"+x.name) || has(s.out.Standing, x.name) {
					t.Errorf("from %s on, %s: found, or said to stand, the other way round", level, x.name)
				}
			}
			if has(s.out.Standing, "idle-waived") || has(a.Findings, "idle-waived") || !has(s.out.Standing, "cycle-closes") || has(a.Findings, "cycle-closes") || !has(a.Findings, "critical-speed") || has(s.out.Standing, "critical-speed") {
				t.Errorf("from %s on: %v stand, found %v", level, s.out.Standing, a.Findings)
			}
			if a.UtilisationOf != s.asked[0].name {
				t.Errorf("uses %q", a.UtilisationOf)
			}
			if none := s.answer(judge.NewScratch(), &candidate{v: outcome{useOf: -1}}); none.UtilisationOf != "" {
				t.Errorf("uses %q", none.UtilisationOf)
			}
			if !slices.ContainsFunc(s.out.Open, func(g judge.MissingInput) bool {
				return g.Missing == "accuracy.bandwidth" && slices.Contains(g.Rules, "open")
			}) || !s.out.Partly {
				t.Errorf("open %+v", s.out.Open)
			}
		})
	}
}

// TestOpenOnce: what is open is named once, with all rules that wait for it.
func TestOpenOnce(t *testing.T) {
	s := &sizer{out: &Result{}}
	rules := map[string]bool{}
	s.open([]judge.MissingInput{{Missing: "a", Rules: []string{"r1", "r2"}}, {Why: "x", Rules: []string{"r3"}}, {Missing: "b", Rules: []string{"r1"}}}, rules)
	s.open([]judge.MissingInput{{Missing: "b", Rules: []string{"r1", "r4"}}, {Why: "y", Rules: []string{"r5"}}, {Missing: "a", Why: "x", Rules: []string{"r1"}}, {Missing: "a", Rules: []string{"r6", "r2"}}, {Why: "x", Rules: []string{"r3"}}}, rules)
	want := "[{a  [r1 r2 r6]} { x [r3]} {b  [r1 r4]} { y [r5]} {a x [r1]}]"
	var got []string
	for _, g := range s.out.Open {
		got = append(got, fmt.Sprintf("{%s %s %v}", g.Missing, g.Why, g.Rules))
	}
	if shown := fmt.Sprint(got); shown != want {
		t.Errorf("%s, expected %s", shown, want)
	}
	for i := range 6 {
		if !rules[fmt.Sprintf("r%d", i+1)] {
			t.Errorf("r%d does not wait", i+1)
		}
	}
	if len(rules) != 6 {
		t.Errorf("%v", rules)
	}
}

// TestGapsOf: of a report's gaps those count that no part available would fill,
// with the rules that are evaluated.
func TestGapsOf(t *testing.T) {
	s := &sizer{asked: []sizingRule{{name: "own", rule: &judge.Rule{}}, {name: "part", rule: &judge.Rule{}}, {name: "passed", rule: &judge.Rule{}}, {name: "of-parts"}}}
	s.supplied.Add(judge.Field("screw.lead"))
	mass, lead := []judge.MissingLine{{Words: "load.mass", Field: judge.Field("load.mass")}}, []judge.MissingLine{{Words: "screw.lead", Field: judge.Field("screw.lead")}}
	gap := judge.MissingInput{Missing: "load.mass", Rules: []string{"own", "part", "passed", "of-parts", "other"}}
	rep := &judge.Report{
		Results:       []judge.Result{{Rule: "own", State: judge.Unjudged, Missing: mass}, {Rule: "part", State: judge.Unjudged, Missing: lead}, {Rule: "passed", State: judge.Passed}, {Rule: "of-parts", State: judge.Unjudged, Missing: mass}, {Rule: "other", State: judge.Unjudged, Missing: mass}},
		MissingInputs: []judge.MissingInput{{Missing: "screw.lead", Rules: []string{"part", "passed"}}, gap},
	}
	got := s.gapsOf(rep)
	if len(got) != 1 || got[0].Missing != "load.mass" || !slices.Equal(got[0].Rules, []string{"own"}) {
		t.Errorf("%+v", got)
	}
	if len(rep.MissingInputs[1].Rules) != 5 {
		t.Error("the report has changed")
	}
}
