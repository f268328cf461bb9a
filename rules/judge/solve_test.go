package judge

import (
	"math"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/rules/tables"
	"trammel/spec"
	"trammel/spec/unit"
)

// TestLeadSkipsWhatDoesNotDo: 0.4 m/s at no more than 4500 rpm ask for a lead of
// 5.33 mm: of the preferred ones above 4 mm, 5 mm does not do and 6 mm does.
func TestLeadSkipsWhatDoesNotDo(t *testing.T) {
	for _, lead := range []string{`"2.5 mm"`, `"4 mm"`} {
		_, b, v := load(testaxis.WholeSheet().With("screw.lead", lead), t)
		v.Calc.Run()
		r := Book().ByName("min-lead")
		x, ok := Book().NewJudge(testaxis.SomeDay, true).pullTo(b, v, r, &r.Tests[0], lever("lead ≥ %s"))
		if !ok || x != 0.006 {
			t.Errorf("from %s: %g, %v", lead, x, ok)
		}
	}
	if !slices.Contains(tables.PreferredLeads(), 0.005) {
		t.Error("5 mm is no preferred lead")
	}
}

// TestLowerLeadSkipsWhatDoesNotDo: of lower leads, the highest that does is
// found, and none that is higher than the present one. The torque of a force is
// the force times the lead over 2π, so that a lower lead asks less of the motor.
func TestLowerLeadSkipsWhatDoesNotDo(t *testing.T) {
	s := testaxis.WholeSheet().With("motor.rated_speed", `"4500 rpm"`, "motor.rotor_inertia", `"0.01 kg cm2"`, "coupling.inertia", "", "motion.move.thrust", `"2000 N"`, "nut.preload", "", "nut.backlash", `"5 um"`)
	r := Book().ByName("motor-peak-torque")
	use := func(lead string) float64 {
		_, _, v := load(s.With("screw.lead", lead), t)
		v.Calc.Run()
		return v.utilisation(r, &r.Tests[0])
	}
	at10, at8, at6 := use(`"10 mm"`), use(`"8 mm"`), use(`"6 mm"`)
	if !(at10 > at8 && at8 > at6) {
		t.Fatalf("%g %g %g", at10, at8, at6)
	}
	// A motor that gives what is between 6 and 8 mm.
	factor := (at8 + at6) / 2 * 3.8
	s = s.With("motor.peak_torque", exactly(factor, unit.Torque))
	_, b, v := load(s, t)
	v.Calc.Run()
	if x, ok := Book().NewJudge(testaxis.SomeDay, true).pullTo(b, v, r, &r.Tests[0], lever("lead ≤ %s")); !ok || x != 0.006 {
		t.Errorf("%g, %v", x, ok)
	}
}

// TestNoWayFromWhatIsNotThere: a lever on a line that is not declared pulls
// nothing, nor one on a word that stands there already.
func TestNoWayFromWhatIsNotThere(t *testing.T) {
	j := Book().NewJudge(testaxis.SomeDay, true)
	r := Book().ByName("critical-speed")
	pull := func(s *testaxis.Sheet, l *Parameter) bool {
		_, b, v := load(s, t)
		v.Calc.Run()
		_, ok := j.pullTo(b, v, r, &r.Tests[0], l)
		return ok
	}
	s := testaxis.WholeSheet().With("supports.span", `"1000 mm"`, "screw.length", `"1200 mm"`, "motion.move.speed", `"0.55 m/s"`)
	if !pull(s, lever("far end fixed")) || !pull(s, lever("speed ≤ %s")) || !pull(s, lever("span ≤ %s")) {
		t.Error("the plain ways are not found")
	}
	if pull(s, lever("far end supported")) {
		t.Error("a supported end is to be supported")
	}
	if pull(s, lever("thrust ≤ %s")) || pull(s, lever("payload ≤ %s")) || pull(s, lever("loaded length ≤ %s")) {
		t.Error("what has nothing to do with it is a way")
	}
	if pull(s.With("supports.far_end", `"free"`), lever("far end supported")) {
		t.Error("0.55 m/s over 1 m with the far end supported is said to hold")
	}
}

// TestPullStopsShort: the value found holds, and a hundredth less does not, up
// and down, with and without a tolerance.
func TestPullStopsShort(t *testing.T) {
	j := Book().NewJudge(testaxis.SomeDay, true)
	for _, x := range []struct {
		rule  string
		lines []string
		l     *Parameter
		path  string
	}{
		{"critical-speed", []string{"supports.span", `"900 mm"`, "motion.move.speed", `"0.7 m/s"`}, lever("span ≤ %s"), "supports.span"},
		{"critical-speed", []string{"supports.span", `"890 mm .. 910 mm"`, "motion.move.speed", `"0.7 m/s"`}, lever("span ≤ %s"), "supports.span"},
		{"critical-speed", []string{"supports.span", `"900 mm"`, "motion.move.speed", `"0.7 m/s"`, "screw.root_diameter", `"17.3 mm ± 0.2 mm"`}, lever("span ≤ %s"), "supports.span"},
		{"static-safety", []string{"screw.static_rating", `"200 N"`}, lever("static rating ≥ %s"), "screw.static_rating"},
		{"static-safety", []string{"screw.static_rating", `"200 N ± 20 N"`}, lever("static rating ≥ %s"), "screw.static_rating"},
		{"static-safety", []string{"screw.static_rating", `"200 N"`, "load.mass", `"30 kg ± 5 kg"`}, lever("static rating ≥ %s"), "screw.static_rating"},
	} {
		s := testaxis.WholeSheet().With(x.lines...)
		r := Book().ByName(x.rule)
		_, b, v := load(s, t)
		v.Calc.Run()
		got, ok := j.pullTo(b, v, r, &r.Tests[0], x.l)
		if !ok {
			t.Errorf("%s, %q: no way", x.rule, x.lines)
			continue
		}
		fails := func(si float64) bool {
			return judge(s.With(x.path, exactly(si, x.l.Leaf.Kind)), Options{}).results[x.rule].State == Failed
		}
		less := 0.985
		if !x.l.Up {
			less = 1 / less
		}
		if fails(got) || !fails(got*less) {
			t.Errorf("%s, %q: %g; it fails %v, a little less fails %v", x.rule, x.lines, got, fails(got), fails(got*less))
		}
	}
}

// TestBrakeFromNothing: a brake is offered where there is none, of three
// digits, and it holds.
func TestBrakeFromNothing(t *testing.T) {
	s := testaxis.WholeSheet().With("orientation", `"vertical"`)
	got := ways(s, "holding-brake")
	i := slices.IndexFunc(got, func(w string) bool { return strings.HasPrefix(w, "brake torque on the screw ≥ ") })
	if i < 0 {
		t.Fatalf("%q", got)
	}
	q, err := unit.Parse(strings.TrimPrefix(got[i], "brake torque on the screw ≥ "), unit.Torque)
	if err != nil {
		t.Fatal(err)
	}
	path := FieldOfLeaf[mechanics.BrakeGiven.ID()].Path
	for x, want := range map[float64]State{q.Nominal: Passed, q.Nominal * 0.985: Failed} {
		if r := judge(s.With(path, exactly(x, unit.Torque)), Options{}).results["holding-brake"]; (r.State == Passed) != (want == Passed) {
			t.Errorf("a brake of %g N m: %s, expected %s", x, r.State, want)
		}
	}
}

// TestHouseSearchBesideAFlag: a flag that holds does not hide how near the other
// condition is to turning.
func TestHouseSearchBesideAFlag(t *testing.T) {
	parabola := `supports.span / screw.length * (1 - supports.span / screw.length)`
	narrow := `(supports.span < "513.7 mm" || supports.span > "513.9 mm")`
	for that, want := range map[string]State{
		"nut.grease_port && " + narrow:             Failed,
		narrow + " && nut.grease_port":             Failed,
		"environment.dust || " + narrow:            Failed,
		"nut.grease_port || " + narrow:             Passed,
		"!environment.dust && " + narrow:           Failed,
		"!(environment.dust || !" + narrow + ")":   Failed,
		`nut.grease_port ? ` + narrow + ` : true`:  Failed,
		`environment.dust ? true : ` + narrow:      Failed,
		`environment.dust ? ` + narrow + ` : true`: Passed,
		// r·(1 − r) is more than 0.24999 within 0.003 of a half only.
		"nut.grease_port && " + parabola + " - 0.24999 <= 0.000001": Failed,
		parabola + " - 0.24999 <= 0.000001":                         Failed,
		parabola + " - 0.24999 <= 0":                                Failed,
	} {
		r := require(testaxis.WholeSheet().With("supports.span", `"400 mm .. 617 mm"`), "that = "+that).reports["cross"].results["house"]
		if r.State != want {
			t.Errorf("%s: %s %s", that, r.State, r.Why)
		}
	}
}

// TestHouseMissingSaysOnlyThat: a house rule that waits for a line names it and
// gives no other reason.
func TestHouseMissingSaysOnlyThat(t *testing.T) {
	r := require(testaxis.WholeSheet().With("supports.span", ""), `that = supports.span < "1 m"`).reports["cross"].results["house"]
	if r.State != Unjudged || r.Why != "" || len(r.Missing) != 1 || r.Missing[0].Words != "supports.span" {
		t.Errorf("%+v", r)
	}
	r = require(testaxis.WholeSheet().With("screw.grade", ""), `that = screw.grade == "C5"`).reports["cross"].results["house"]
	if r.State != Unjudged || r.Why != "" || len(r.Missing) != 1 {
		t.Errorf("%+v", r)
	}
}

// TestHouseWrongBranch: one branch that means nothing is reported, the other is
// not blamed.
func TestHouseWrongBranch(t *testing.T) {
	for _, that := range []string{`(nut.grease_port ? nonsense : screw.lead) == "10 mm"`, `(nut.grease_port ? screw.lead : nonsense) == "10 mm"`, `(nonsense ? screw.lead : screw.lead) == "10 mm"`} {
		o := require(testaxis.WholeSheet(), "that = "+that)
		wantFinding(t, o.Findings, "unknown-name", "nonsense")
		if len(o.Findings) != 1 {
			t.Errorf("%s: %s", that, shown(o.Summary))
		}
	}
	// A quotient of two lengths is a bare number, and is called so.
	o := require(testaxis.WholeSheet(), "that = load.mass < supports.span / screw.lead")
	wantFinding(t, o.Findings, "unit", unit.Mass.WithArticle()+" is compared with "+unit.None.WithArticle())
}

// TestRoundWhereItIsExact: where the bound is a round number it is that number,
// not one short of it. 75 turns a second of 10 mm are 0.75 m/s; 0.45 m/s over
// 10 mm are 2700 rpm.
func TestRoundWhereItIsExact(t *testing.T) {
	j, r := Book().NewJudge(testaxis.SomeDay, true), Book().ByName("min-lead")
	for _, x := range []struct {
		speed, motor string
		l            *Parameter
		want         float64 // of the unit
		k            unit.Kind
		unit         string
	}{
		{`"0.9 m/s"`, `"4500 rpm"`, lever("speed ≤ %s"), 0.75, unit.Speed, "m/s"},
		{`"0.45 m/s"`, `"2500 rpm"`, lever("maximum motor speed ≥ %s"), 2700, unit.RotationSpeed, "rpm"},
		{`"0.4567 m/s"`, `"2500 rpm"`, lever("maximum motor speed ≥ %s"), 2750, unit.RotationSpeed, "rpm"}, // 2740.2
		{`"0.9 m/s"`, `"4567 rpm"`, lever("speed ≤ %s"), 0.761, unit.Speed, "m/s"},                         // 0.76117
		{`"0.9 m/s"`, `"4571 rpm"`, lever("speed ≤ %s"), 0.761, unit.Speed, "m/s"},                         // 0.76183
	} {
		_, b, v := load(testaxis.WholeSheet().With("motion.move.speed", x.speed, "motor.max_speed", x.motor), t)
		v.Calc.Run()
		got, ok := j.pullTo(b, v, r, &r.Tests[0], x.l)
		n, _ := unit.In(got, x.k, x.unit)
		if !ok || n < x.want*(1-1e-9) || n > x.want*(1+1e-9) {
			t.Errorf("%s with %s: %.9g %s, %v, expected %g", x.speed, x.motor, n, x.unit, ok, x.want)
		}
	}
}

// TestFinerGradesOffered: only finer ones, and of a rolled screw none finer than
// C7.
func TestFinerGradesOffered(t *testing.T) {
	for _, x := range []struct{ grade, process, want string }{
		{`"C5"`, `"ground"`, "C3 C1 C0"}, {`"C10"`, `"ground"`, "C7 C5 C3 C1 C0"}, {`"C10"`, `"rolled"`, "C7"}, {`"C7"`, `"rolled"`, ""}, {`"C0"`, `"ground"`, ""}, {"", `"ground"`, ""},
	} {
		_, _, v := load(testaxis.WholeSheet().With("screw.grade", x.grade, "screw.process", x.process), t)
		var got []string
		for _, l := range leversOf("grade") {
			if l.If(v) {
				got = append(got, mechanics.GradeWords[int(l.To)])
			}
		}
		if strings.Join(got, " ") != x.want {
			t.Errorf("%s %s: %q, expected %s", x.process, x.grade, got, x.want)
		}
	}
}

// TestBrakeOfOwn: a brake that is there is a value like another: what takes up
// to four times of it is a way, what takes more another design.
func TestBrakeOfOwn(t *testing.T) {
	j, r := Book().NewJudge(testaxis.SomeDay, true), Book().ByName("holding-brake")
	path := FieldOfLeaf[mechanics.BrakeGiven.ID()].Path
	i := slices.IndexFunc(r.Tests, func(x Test) bool { return slices.Contains(x.Parameters, lever("brake torque on the screw ≥ %s")) })
	if i < 0 {
		t.Fatal("no test has the lever")
	}
	pull := func(brake string) (float64, bool) {
		_, b, v := load(testaxis.WholeSheet().With("orientation", `"vertical"`, path, brake), t)
		v.Calc.Run()
		return j.pullTo(b, v, r, &r.Tests[i], lever("brake torque on the screw ≥ %s"))
	}
	need, ok := pull("")
	if !ok {
		t.Fatal("no way from nothing")
	}
	for part, want := range map[float64]bool{2: true, 3.5: true, 4.5: false, 20: false} {
		x, ok := pull(exactly(need/part, unit.Torque))
		if ok != want || ok && (x < need*0.98 || x > need*1.02) {
			t.Errorf("from one %g. of what is needed: %g, %v; needed is %g", part, x, ok, need)
		}
	}
}

// TestNoWayFromAnUndeclaredLength: a loaded length that nobody declares is not
// made shorter, however well nothing at all would do.
func TestNoWayFromAnUndeclaredLength(t *testing.T) {
	j, r := Book().NewJudge(testaxis.SomeDay, true), Book().ByName("buckling")
	_, b, v := load(testaxis.WholeSheet().With("load.standstill", `"500 kN"`), t)
	v.Calc.Run()
	if x, ok := j.pullTo(b, v, r, &r.Tests[0], lever("loaded length ≤ %s")); ok {
		t.Errorf("%g", x)
	}
	// No lead saves a rating of next to nothing.
	r = Book().ByName("static-safety")
	_, b, v = load(testaxis.WholeSheet().With("screw.static_rating", `"2 N"`), t)
	v.Calc.Run()
	for _, l := range []*Parameter{lever("lead ≥ %s"), lever("lead ≤ %s")} {
		if x, ok := j.pullTo(b, v, r, &r.Tests[0], l); ok {
			t.Errorf("a lead of %g saves a rating of 2 N", x)
		}
	}
}

// TestFirstOfEqualMoves: of two moves as hard the first is named.
func TestFirstOfEqualMoves(t *testing.T) {
	f := wantFinding(t, judge(testaxis.WholeSheet().With("motion.move.thrust", "", "motor.peak_torque", `"0.3 N m"`), Options{}).findings, "motor-peak-torque")
	if f != nil && (f.Cause != "motion.move.ramp[out]" || !strings.Contains(f.Message, "ramp up of move out")) {
		t.Errorf("it is about %s: %s", f.Cause, f.Message)
	}
}

// TestPolicyThatSetsAnother: a finding names a policy only where the policy set
// the limit that is broken.
func TestPolicyThatSetsAnother(t *testing.T) {
	for _, r := range Book().All() {
		for k := range r.Tests {
			x := &r.Tests[k]
			_, _, v := load(testaxis.WholeSheet(), t)
			set := &v.InForce.Settings[r.Index]
			for i := range set.Limits {
				l := &set.Limits[i]
				l.Value, l.From = 0.25, spec.Place{File: "x.policy.hcl", Line: 1, Col: 1}
				f := Finding{Message: "it is too much"}
				if v.byPolicy(r, x, 0.5, &f); f.Message != "it is too much" || len(f.Related) > 0 {
					t.Errorf("%s: %s %v", r.Name, f.Message, f.Related)
				}
				if l.Limit == &x.Limit || l.Limit == x.Advice {
					if v.byPolicy(r, x, 0.25, &f); f.Message == "it is too much" && len(f.Related) == 0 {
						t.Errorf("%s: the policy is not named for %s", r.Name, l.Limit.Name)
					}
				} else if v.byPolicy(r, x, 0.25, &f); len(f.Related) > 0 {
					t.Errorf("%s: the policy is named for %s, which is another limit than %s", r.Name, l.Limit.Name, x.Limit.Name)
				}
				l.Value, l.From = math.NaN(), spec.Place{}
			}
		}
	}
}

// TestHouseRulesListed: those in force in a folder, from above first.
func TestHouseRulesListed(t *testing.T) {
	a, p := testaxis.WholeSheet().Text()
	tree := spec.NewTree(testaxis.Memory("line/a.axis.hcl", a, "parts/all.parts.hcl", p, "x.policy.hcl", "require \"above\" {\n  that = true\n}\n", "line/y.policy.hcl", "require \"here\" {\n  that = true\n}\n"))
	folder := tree.ReadAxes("line/a.axis.hcl").Axes[0].Folder
	names := func(f *spec.Folder) (out []string) {
		for _, h := range Book().NewJudge(testaxis.SomeDay, false).HouseRules(f) {
			out = append(out, h.Name)
		}
		return out
	}
	if got := names(folder); !slices.Equal(got, []string{"above", "here"}) {
		t.Errorf("%q", got)
	}
	if got := names(folder.Parent); !slices.Equal(got, []string{"above"}) {
		t.Errorf("above %q", got)
	}
}

// TestHouseTruth: true holds, what is not true does not.
func TestHouseTruth(t *testing.T) {
	for that, want := range map[string]State{"true": Passed, "!true": Failed, "!false": Passed, "false": Failed, "true == true": Passed, "!!true": Passed, "true == nut.grease_port": Passed} {
		if r := require(testaxis.WholeSheet(), "that = "+that).reports["cross"].results["house"]; r.State != want {
			t.Errorf("%s: %s", that, r.State)
		}
	}
}

// TestHouseBudget: where the search over the tolerances cannot be paid for, or
// not to its end, a house rule is not judged; with more it passes. The search is
// begun with 20 evaluations of 56 paid for, and takes 23 as the worst case is an end.
func TestHouseBudget(t *testing.T) {
	files := testaxis.WholeSheet().With("load.mass", `"30 kg ± 5 kg"`).Files("line/h.policy.hcl", "require \"house\" {\n  that = load.mass < \"40 kg\"\n}\n")
	asked := 0
	run(files, Options{Workers: 1, Each: func(rep *Report) {
		for left, want := range map[int]State{1_000: Unjudged, 1_200: Unjudged, 1_000_000: Passed} {
			b := NewScratch()
			v := *rep.View
			v.Calc = b.Calc
			b.tolerances = Load(b.Calc, v.Axis, unit.Quantity{}, nil)
			b.Left = left
			asked++
			if r := rep.Judge.AskHouse(b, &v, v.InForce.House[0], nil); r.State != want || want == Unjudged && r.Why != "too many values with a tolerance in a cycle this long" {
				t.Errorf("with %d: %s %s", left, r.State, r.Why)
			}
		}
	}})
	if asked != 3 {
		t.Error(asked)
	}
}
