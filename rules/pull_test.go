package rules

import (
	"slices"
	"strings"
	"testing"

	"trammel/rules/mechanics"
	"trammel/rules/tables"
	"trammel/spec/unit"
)

// TestLeadSkipsWhatDoesNotDo: 0.4 m/s at no more than 4500 rpm, nine tenths of
// it by the advice, ask for a lead of 5.93 mm: of the preferred ones above 4 mm,
// 5 mm does not do and 6 mm does.
func TestLeadSkipsWhatDoesNotDo(t *testing.T) {
	for _, lead := range []string{`"2.5 mm"`, `"4 mm"`} {
		_, b, v := wholeSheet().with("screw.lead", lead).load(t)
		v.Calc.Run()
		r := ByName("min-lead")
		x, ok := NewJudge(someDay, true).pull(b, v, r, &r.Tests[0], higherLead)
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
	s := wholeSheet().with("motor.rotor_inertia", `"0.01 kg cm2"`, "coupling.inertia", "", "motion.move.thrust", `"2000 N"`, "nut.preload", "", "nut.backlash", `"5 um"`)
	r := ByName("motor-peak-torque")
	use := func(lead string) float64 {
		_, _, v := s.with("screw.lead", lead).load(t)
		v.Calc.Run()
		return v.use(r, &r.Tests[0])
	}
	at10, at8, at6 := use(`"10 mm"`), use(`"8 mm"`), use(`"6 mm"`)
	if !(at10 > at8 && at8 > at6) {
		t.Fatalf("%g %g %g", at10, at8, at6)
	}
	// A motor that gives what is between 6 and 8 mm.
	factor := (at8 + at6) / 2 * 3.8
	s = s.with("motor.peak_torque", exactly(factor, unit.Torque))
	_, b, v := s.load(t)
	v.Calc.Run()
	if x, ok := NewJudge(someDay, true).pull(b, v, r, &r.Tests[0], lowerLead); !ok || x != 0.006 {
		t.Errorf("%g, %v", x, ok)
	}
}

// TestNoWayFromWhatIsNotThere: a lever on a line that is not declared pulls
// nothing, nor one on a word that stands there already.
func TestNoWayFromWhatIsNotThere(t *testing.T) {
	j := NewJudge(someDay, true)
	r := ByName("critical-speed")
	pull := func(s *sheet, l *Lever) bool {
		_, b, v := s.load(t)
		v.Calc.Run()
		_, ok := j.pull(b, v, r, &r.Tests[0], l)
		return ok
	}
	s := wholeSheet().with("supports.span", `"1000 mm"`, "screw.length", `"1200 mm"`, "motion.move.speed", `"0.55 m/s"`)
	if !pull(s, farFixed) || !pull(s, slower) || !pull(s, shorterSpan) {
		t.Error("the plain ways are not found")
	}
	if pull(s, farHeld) {
		t.Error("a supported end is to be supported")
	}
	if pull(s, lessThrust) || pull(s, lessPayload) || pull(s, shorterPush) {
		t.Error("what has nothing to do with it is a way")
	}
	if pull(s.with("supports.far_end", `"free"`), farHeld) {
		t.Error("0.55 m/s over 1 m with the far end supported is said to hold")
	}
}

// TestPullStopsShort: the value found holds, and a hundredth less does not, up
// and down, with and without a tolerance.
func TestPullStopsShort(t *testing.T) {
	j := NewJudge(someDay, true)
	for _, x := range []struct {
		rule  string
		lines []string
		l     *Lever
		path  string
	}{
		{"critical-speed", []string{"supports.span", `"900 mm"`, "motion.move.speed", `"0.7 m/s"`}, shorterSpan, "supports.span"},
		{"critical-speed", []string{"supports.span", `"890 mm .. 910 mm"`, "motion.move.speed", `"0.7 m/s"`}, shorterSpan, "supports.span"},
		{"critical-speed", []string{"supports.span", `"900 mm"`, "motion.move.speed", `"0.7 m/s"`, "screw.root_diameter", `"17.2 mm ± 0.2 mm"`}, shorterSpan, "supports.span"},
		{"static-safety", []string{"screw.static_rating", `"200 N"`}, higherC0a, "screw.static_rating"},
		{"static-safety", []string{"screw.static_rating", `"200 N ± 20 N"`}, higherC0a, "screw.static_rating"},
		{"static-safety", []string{"screw.static_rating", `"200 N"`, "load.mass", `"30 kg ± 5 kg"`}, higherC0a, "screw.static_rating"},
	} {
		s := wholeSheet().with(x.lines...)
		r := ByName(x.rule)
		_, b, v := s.load(t)
		v.Calc.Run()
		got, ok := j.pull(b, v, r, &r.Tests[0], x.l)
		if !ok {
			t.Errorf("%s, %q: no way", x.rule, x.lines)
			continue
		}
		fails := func(si float64) bool {
			return s.with(x.path, exactly(si, x.l.Leaf.Kind)).judge(Options{}).results[x.rule].State == Failed
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
	s := wholeSheet().with("orientation", `"vertical"`)
	got := ways(s, "holding-brake")
	i := slices.IndexFunc(got, func(w string) bool { return strings.HasPrefix(w, "brake torque on the screw from ") })
	if i < 0 {
		t.Fatalf("%q", got)
	}
	q, err := unit.Parse(strings.TrimPrefix(got[i], "brake torque on the screw from "), unit.Torque)
	if err != nil {
		t.Fatal(err)
	}
	path := leafField[mechanics.BrakeGiven.ID()].Path
	for x, want := range map[float64]State{q.Nominal: Passed, q.Nominal * 0.985: Failed} {
		if r := s.with(path, exactly(x, unit.Torque)).judge(Options{}).results["holding-brake"]; r.State != want {
			t.Errorf("a brake of %g N m: %s, expected %s", x, r.State, want)
		}
	}
}

// TestHouseSearchBesideAFlag: a flag that holds does not hide how near the other
// condition is to turning.
func TestHouseSearchBesideAFlag(t *testing.T) {
	narrow := `(supports.span < "513.7 mm" || supports.span > "513.9 mm")`
	for that, want := range map[string]State{
		"nut.grease_port && " + narrow:            Failed,
		narrow + " && nut.grease_port":            Failed,
		"place.dust || " + narrow:                 Failed,
		"nut.grease_port || " + narrow:            Passed,
		"!place.dust && " + narrow:                Failed,
		"!(place.dust || !" + narrow + ")":        Failed,
		`nut.grease_port ? ` + narrow + ` : true`: Failed,
	} {
		r := wholeSheet().with("supports.span", `"400 mm .. 607 mm"`).require("that = " + that).reports["cross"].results["house"]
		if r.State != want {
			t.Errorf("%s: %s %s", that, r.State, r.Why)
		}
	}
}

// TestHouseMissingSaysOnlyThat: a house rule that waits for a line names it and
// gives no other reason.
func TestHouseMissingSaysOnlyThat(t *testing.T) {
	r := wholeSheet().with("supports.span", "").require(`that = supports.span < "1 m"`).reports["cross"].results["house"]
	if r.State != Unjudged || r.Why != "" || len(r.Missing) != 1 || r.Missing[0].Words != "supports.span" {
		t.Errorf("%+v", r)
	}
	r = wholeSheet().with("screw.grade", "").require(`that = screw.grade == "C5"`).reports["cross"].results["house"]
	if r.State != Unjudged || r.Why != "" || len(r.Missing) != 1 {
		t.Errorf("%+v", r)
	}
}

// TestHouseWrongBranch: one branch that means nothing is reported, the other is
// not blamed.
func TestHouseWrongBranch(t *testing.T) {
	for _, that := range []string{`(nut.grease_port ? nonsense : screw.lead) == "10 mm"`, `(nut.grease_port ? screw.lead : nonsense) == "10 mm"`, `(nonsense ? screw.lead : screw.lead) == "10 mm"`} {
		o := wholeSheet().require("that = " + that)
		wantFinding(t, o.Findings, "unknown-name", "nonsense")
		if len(o.Findings) != 1 {
			t.Errorf("%s: %s", that, o.shown())
		}
	}
	// A quotient of two lengths is a bare number, and is called so.
	o := wholeSheet().require("that = load.mass < supports.span / screw.lead")
	wantFinding(t, o.Findings, "unit", unit.Mass.WithArticle()+" is compared with "+unit.None.WithArticle())
}
