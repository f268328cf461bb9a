package judge

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// ask judges one test, which need be none of a rule there is, of a sheet.
func ask(s *testaxis.Sheet, t *testing.T, sev Severity, x Test) (Result, []Finding) {
	t.Helper()
	j, b, v := load(s, t)
	r := onTrial(v, sev, x)
	rep := &Report{}
	return j.Ask(b, v, r, rep), rep.Findings
}

// onTrial is a rule of some tests that is in force for a view and no other.
func onTrial(v *View, sev Severity, tests ...Test) *Rule {
	r := &Rule{Name: "trial", Severity: sev, Tests: tests}
	for i := range r.Tests {
		p := &r.Tests[i]
		p.all = append([]*mechanics.Quantity{p.Value}, p.Needs...)
		p.watches()
		if p.At == nil {
			p.At = at("supports.span")
		}
		if p.Say == nil {
			p.Say = func(_ *View, limit float64) string { return fmt.Sprintf("the limit is %.9g", limit) }
		}
	}
	set := Setting{Rule: r, Severity: sev}
	for _, l := range r.limits() {
		set.Limits = append(set.Limits, LimitSetting{Limit: l, Value: math.NaN()})
	}
	v.InForce = &InForce{book: Book(), Settings: []Setting{set}}
	return r
}

// TestTheLimitAndRounding: a value that equals its limit holds, and so does one
// that is a billionth of it beyond; of an advice too.
func TestTheLimitAndRounding(t *testing.T) {
	most := func(x float64) Limit { return Limit{Name: "limit", Default: x} }
	s := testaxis.WholeSheet().With("supports.span", `"1 m"`)
	for _, x := range []struct {
		limit, advice float64
		want          State
		words         string
	}{
		{1, 0, Passed, ""}, {1 / (1 + 0.5e-9), 0, Passed, ""}, {1 / (1 + 2e-9), 0, Failed, "the limit is 0.999999998"},
		{2, 1, Passed, ""}, {2, 1 / (1 + 0.5e-9), Passed, ""}, {2, 1 / (1 + 2e-9), Failed, "the limit is 0.999999998"},
	} {
		test := Test{Limit: most(x.limit), Value: mechanics.Span}
		if x.advice > 0 {
			test.Advice = &Limit{Name: "advice", Default: x.advice}
		}
		res, found := ask(s, t, Error, test)
		if res.State != x.want || math.Abs(res.Utilisation-1/x.limit) > 1e-15 {
			t.Errorf("%+v: %+v", x, res)
		}
		if (x.words != "") != (len(found) == 1) || x.words != "" && found[0].Message != x.words {
			t.Errorf("%+v: %+v", x, found)
		}
	}
	// The last number that is no more than a billionth beyond.
	for span, want := range map[float64]State{1 + Slack: Passed, math.Nextafter(1+Slack, 2): Failed} {
		if res, _ := ask(s.With("supports.span", exactly(span, unit.Length)), t, Error, Test{Limit: most(1), Value: mechanics.Span}); res.State != want {
			t.Errorf("%.17g m of 1 m: %s", span, res.State)
		}
		if res, _ := ask(s.With("supports.span", exactly(span, unit.Length)), t, Error, Test{Limit: most(3), Advice: &Limit{Name: "advice", Default: 1}, Value: mechanics.Span}); res.State != want {
			t.Errorf("%.17g m where 1 m is advised: %s", span, res.State)
		}
	}
}

// TestAdviceBySeverity: what breaks an advice is a warning at most, of a rule
// that is a note nothing; what breaks the limit is as serious as the rule.
func TestAdviceBySeverity(t *testing.T) {
	for sev, want := range map[Severity]Severity{Error: Warning, Warning: Warning, Note: Off} {
		test := Test{Limit: Limit{Name: "limit", Default: 1}, Advice: &Limit{Name: "advice", Default: 0.5}, Value: mechanics.Span}
		res, found := ask(testaxis.WholeSheet(), t, sev, test) // a span of 0.8 m
		if (want == Off) != (len(found) == 0) || (want == Off) != (res.State == Passed) {
			t.Errorf("%s: %s, %+v", sev, res.State, found)
			continue
		}
		if want != Off && (found[0].Severity != want || res.Level != want || found[0].Message != "the limit is 0.5") {
			t.Errorf("%s: %+v %+v", sev, res, found)
		}
		test.Limit.Default = 0.7
		if res, found = ask(testaxis.WholeSheet(), t, sev, test); len(found) != 1 || found[0].Severity != sev || found[0].Message != "the limit is 0.7" {
			t.Errorf("%s beyond the limit: %+v %+v", sev, res, found)
		}
	}
}

// TestPartlyUndefined: where a limit is not defined in a part of the tolerances,
// the test fails if it does so in the rest, however little, and is else not judged.
func TestPartlyUndefined(t *testing.T) {
	upTo := func(limit float64) Test {
		return Test{Value: mechanics.Span, Also: quantities(mechanics.Span), Limit: Limit{Name: "limit", Default: limit, By: func(v *View) (float64, string, bool) {
			return limit, "", v.V(mechanics.Span) <= 1
		}}}
	}
	s := testaxis.WholeSheet().With("supports.span", `"0.9 m ± 0.2 m"`)
	for limit, want := range map[float64]State{0.8: Failed, 0.99: Failed, 1: Unjudged, 1 / (1 + 0.5e-9): Unjudged, 1.05: Unjudged, 3: Unjudged} {
		res, found := ask(s, t, Error, upTo(limit))
		if res.State != want || (want == Failed) != (len(found) == 1) {
			t.Errorf("a limit of %g m: %+v %+v", limit, res, found)
		}
		if want == Unjudged && (!strings.HasSuffix(res.Why, " is not defined everywhere within the tolerances") || res.Utilisation == res.Utilisation) {
			t.Errorf("a limit of %g m: %+v", limit, res)
		}
	}
}

// TestReasonOfWhatIsOpen: the reason of a test whose question does not arise is no reason why the
// rest of the rule is not judged; it is the rule's where no question arises.
func TestReasonOfWhatIsOpen(t *testing.T) {
	j, b, v := load(testaxis.WholeSheet().With("supports.span", `"0.9 m ± 0.2 m"`), t)
	idle := Test{Value: mechanics.Span, Limit: Limit{Name: "idle", Default: 2}, Applies: func(*View) string { return "none is required" }}
	open := Test{Value: mechanics.Span, Also: quantities(mechanics.Span), Limit: Limit{Name: "open", Default: 2, By: func(v *View) (float64, string, bool) {
		return 2, "", v.V(mechanics.Span) <= 1
	}}}
	undefined := mechanics.Span.Title + " is not defined everywhere within the tolerances"
	for name, x := range map[string]struct {
		tests []Test
		state State
		why   string
	}{
		"first": {[]Test{idle, open}, Unjudged, undefined}, "last": {[]Test{open, idle}, Unjudged, undefined},
		"alone": {[]Test{idle, idle}, NotApplicable, "none is required"},
	} {
		if res := j.Ask(b, v, onTrial(v, Error, x.tests...), &Report{}); res.State != x.state || res.Why != x.why {
			t.Errorf("%s: %s, %q; expected %s, %q", name, res.State, res.Why, x.state, x.why)
		}
	}
}

// TestBrokenFileNotJudged: of an axis with syntax errors nothing is judged,
// and every rule says why.
func TestBrokenFileNotJudged(t *testing.T) {
	a := spec.NewTree(testaxis.WholeSheet().Files("line/h.policy.hcl", "require \"house\" {\n  that = true\n}")).ReadAxes(testaxis.SheetFile).Axes[0]
	a.Broken = true
	rep := Book().NewJudge(testaxis.SomeDay, false).Judge(NewScratch(), a, nil)
	if len(rep.Results) != len(Book().All())+1 {
		t.Errorf("%d results", len(rep.Results))
	}
	for _, r := range rep.Results {
		if known := Book().ByName(r.Rule); r.State != Unjudged && (known == nil || known.Severity != Off) || r.State == Unjudged && r.Why != "the axis has syntax errors" {
			t.Errorf("%s: %s %s", r.Rule, r.State, r.Why)
		}
	}
	if len(rep.MissingInputs) != 1 || len(rep.Findings) > 0 {
		t.Errorf("%+v %+v", rep.MissingInputs, rep.Findings)
	}
}

// TestFixesHaveABudgetOfTheirOwn: where judging takes all but a little of what
// may be spent, fixes are looked for all the same.
func TestFixesHaveABudgetOfTheirOwn(t *testing.T) {
	_, b, v := load(testaxis.WholeSheet().With("screw.static_rating", `"200 N"`, "load.mass", `"30 kg ± 5 kg"`), t)
	ways := func() (n int) {
		for _, f := range Book().NewJudge(testaxis.SomeDay, true).Judge(b, v.Axis, nil).Findings {
			n += len(f.Fixes)
		}
		return n
	}
	Book().NewJudge(testaxis.SomeDay, false).Judge(b, v.Axis, nil)
	b.Most = 2 * (FullBudget - b.Left) // one search, and judging once more
	if b.Most < 10_000 {
		t.Fatalf("judging takes %d", b.Most)
	}
	if ways() == 0 {
		t.Error("no fix")
	}
}

// TestLineOfAFinding: a finding about a line that no move has is about the axis's.
func TestLineOfAFinding(t *testing.T) {
	_, _, v := load(testaxis.WholeSheet(), t)
	r := Book().ByName("min-lead")
	for move, want := range map[int]string{-1: "motion.move.speed", 0: "motion.move.speed[out]", 1: "motion.move.speed[back]", 2: "motion.move.speed"} {
		if f := v.findingAt(r, Error, Field("motion.move.speed"), move); f.Cause != want || !f.Place.Valid() {
			t.Errorf("move %d: %s at %s", move, f.Cause, f.Place)
		}
	}
	if f := v.findingAt(r, Error, nil, -1); f.Cause != "" || f.Place != v.Axis.Place {
		t.Errorf("%q at %s", f.Cause, f.Place)
	}
}

// TestMissingLine: what a missing line is called and where it should stand: a
// line of the axis in its block, of a part at the part, of a move at the move;
// where there are no moves, a move. What should stand in a part that cannot be
// read is not missing.
func TestMissingLine(t *testing.T) {
	s := testaxis.WholeSheet().With("supports.span", "", "motor.max_speed", "", "drive.coupling", `"c1"`, "coupling.rated_torque", "")
	s.Set("motion.move.speed", 0, "")
	s.Set("motion.move.speed", 1, "")
	text, parts := s.Text()
	tree := spec.NewTree(s.Files())
	a := tree.ReadAxes(testaxis.SheetFile).Axes[0]
	none := testaxis.WholeSheet()
	none.Moves = nil
	empty := spec.NewTree(none.Files()).ReadAxes(testaxis.SheetFile).Axes[0]
	for _, x := range []struct {
		a           *spec.Axis
		path        string
		move        int
		words, line string
		missing     string
	}{
		{a, "supports.span", -1, "supports.span", "supports {", "supports.span"},
		{a, "motor.max_speed", -1, "max_speed of motor.m1", `motor "m1" {`, "motor.max_speed"},
		{a, "motion.move.speed", 0, "speed of move out", `move "out" {`, "motion.move.speed"},
		{a, "motion.move.speed", 1, "speed of move back", `move "back" {`, "motion.move.speed"},
		{empty, "motion.move.speed", -1, "motion.move", "motion {", "motion.move.distance"},
		{a, "coupling.rated_torque", -1, "", "", ""},
	} {
		var res Result
		res.lack(x.a, Field(x.path), x.move)
		if x.words == "" {
			if len(res.Missing) > 0 || !strings.HasPrefix(res.Why, "drive.coupling could not be read (line ") {
				t.Errorf("%s: %+v", x.path, res)
			}
			continue
		}
		res.lack(x.a, Field(x.path), x.move) // once only
		if len(res.Missing) != 1 || res.Why != "" {
			t.Errorf("%s: %+v", x.path, res)
			continue
		}
		m, from := res.Missing[0], text
		if x.a == empty {
			from, _ = none.Text()
		}
		if m.Place.File == "parts/all.parts.hcl" {
			from = parts
		}
		if line := strings.TrimSpace(strings.Split(from, "\n")[m.Place.Line-1]); m.Words != x.words || m.Path() != x.missing || line != x.line {
			t.Errorf("%s: %q, %s, at %s", x.path, m.Words, m.Path(), line)
		}
	}
}

// TestGapsByHand: rules that wait for one line stand together, those that wait
// for another reason by the reason; what most wait for first, then by name, and
// reasons as they came.
func TestGapsByHand(t *testing.T) {
	rep := &Report{View: &View{Axis: &spec.Axis{Folder: &spec.Folder{}}}}
	for i, x := range []struct {
		state State
		why   string
		lines string
	}{
		{Unjudged, "y", ""}, {Passed, "", ""}, {Unjudged, "x", ""}, {Unjudged, "", "b a"}, {Unjudged, "", "c b"}, {Failed, "", "d"}, {Unjudged, "z", ""}, {Unjudged, "x", ""}, {Unjudged, "v", ""},
	} {
		res := Result{Rule: fmt.Sprint(i), State: x.state, Why: x.why}
		for _, m := range strings.Fields(x.lines) {
			res.Missing = append(res.Missing, MissingLine{Words: m})
		}
		rep.Results = append(rep.Results, res)
	}
	rep.gatherMissing()
	var got []string
	for _, g := range rep.MissingInputs {
		got = append(got, g.Missing+g.Why+" "+strings.Join(g.Rules, ""))
	}
	if want := []string{"x 27", "b 34", "y 0", "z 6", "v 8", "a 3", "c 4", "d 5"}; !slices.Equal(got, want) {
		t.Errorf("%q, expected %q", got, want)
	}
}

// TestLineOfAPart: a finding about a line of a part stands where the axis names
// the part, and says where the line is.
func TestLineOfAPart(t *testing.T) {
	s := testaxis.WholeSheet()
	text, parts := s.Text()
	_, _, v := load(s, t)
	f := v.findingAt(Book().ByName("min-lead"), Error, Field("motor.rated_torque"), -1)
	if line := strings.Split(text, "\n")[f.Place.Line-1]; f.Place.File != testaxis.SheetFile || !strings.Contains(line, "motor = motor.m1") {
		t.Errorf("it stands at %s: %s", f.Place, line)
	}
	if len(f.Related) != 1 || f.Related[0].Message != "rated torque is declared here" || !strings.Contains(strings.Split(parts, "\n")[f.Related[0].Place.Line-1], "rated_torque =") {
		t.Errorf("%+v", f.Related)
	}
	if f = v.findingAt(Book().ByName("min-lead"), Error, Field("supports.span"), -1); len(f.Related) > 0 {
		t.Errorf("%+v", f.Related)
	}
}

// TestFieldsAndLeaves: a field and a leaf go together where unit and words are
// the same; a bare number counts without a unit.
func TestFieldsAndLeaves(t *testing.T) {
	length := &spec.Field{Sort: spec.Quantity, Unit: unit.Length}
	force := &spec.Field{Sort: spec.Quantity, Unit: unit.Force}
	bare := &spec.Field{Sort: spec.Number}
	ends := &spec.Field{Sort: spec.Word, Words: mechanics.FarEnd.Words}
	grade := &spec.Field{Sort: spec.Word, Words: mechanics.Grade.Words}
	for _, x := range []struct {
		f    *spec.Field
		q    *mechanics.Quantity
		want bool
	}{
		{length, mechanics.Span, true}, {force, mechanics.Span, false}, {bare, mechanics.Span, false}, {ends, mechanics.Span, false},
		{bare, mechanics.Friction, true}, {length, mechanics.Friction, false}, {ends, mechanics.Friction, false},
		{ends, mechanics.FarEnd, true}, {grade, mechanics.FarEnd, false}, {bare, mechanics.FarEnd, false}, {length, mechanics.FarEnd, false},
		{&spec.Field{Sort: spec.Flag}, mechanics.Friction, false}, {&spec.Field{Sort: spec.Text}, mechanics.FarEnd, false},
	} {
		if got := alike(x.f, x.q); got != x.want {
			t.Errorf("sort %d, %s: %v", x.f.Sort, x.q.Name, got)
		}
	}
}

// TestWorstByHand: without a tolerance the worst case is the axis itself, however
// little can be paid for; a search that cannot be paid for is not begun, one that
// cannot be paid for to its end says nothing; what is no part of the question does
// not decide.
func TestWorstByHand(t *testing.T) {
	_, b, v := load(testaxis.WholeSheet(), t)
	r := onTrial(v, Error, mostOf(mechanics.Span, 1))
	b.Left = 0
	if w := v.worst(b, r, &r.Tests[0]); w.view != v || w.spent || w.undefined || w.decides(v) != "" || b.Left != 0 {
		t.Errorf("%+v, %d are left", w, b.Left)
	}
	_, b, v = load(testaxis.WholeSheet().With("supports.span", `"0.8 m ± 0.1 m"`), t)
	r = onTrial(v, Error, mostOf(mechanics.Span, 1))
	for left, begun := range map[int]bool{320: false, 321: true, 360: true} { // 20 evaluations of 16; it takes 24
		b.Left = left
		if w := v.worst(b, r, &r.Tests[0]); !w.spent || w.view != nil || (b.Left < left) != begun {
			t.Errorf("with %d: %+v, %d are left", left, w, b.Left)
		}
	}
	b.Left = FullBudget
	if w := v.worst(b, r, &r.Tests[0]); w.spent || w.view == nil || w.view.V(mechanics.Span) != 0.9 || v.V(mechanics.Span) != 0.8 || w.decides(v) != "worst within tolerances, decided by span 900 mm" {
		t.Errorf("%+v", w)
	}
	// All of the axis is computed there, for the words.
	_, _, at := load(testaxis.WholeSheet().With("supports.span", `"0.9 m"`), t)
	w := v.worst(b, r, &r.Tests[0])
	w.settle()
	if w.view == nil || w.view.V(mechanics.Critical) != at.V(mechanics.Critical) || v.V(mechanics.Critical) == at.V(mechanics.Critical) {
		t.Errorf("%+v", w)
	}
	// A question that does not arise anywhere, and one that does at one end.
	for least, want := range map[float64]bool{1: false, 0.85: true} {
		r.Tests[0].Applies = func(v *View) string {
			if v.V(mechanics.Span) > least {
				return ""
			}
			return "it is short"
		}
		if w := v.worst(b, r, &r.Tests[0]); (w.view != nil) != want || w.undefined || v.arises(b, r, &r.Tests[0]) != want {
			t.Errorf("%g: %+v", least, w)
		}
		r.Tests[0].Nominal = true
		if v.arises(b, r, &r.Tests[0]) {
			t.Error("a question of the middle values arises within the tolerances")
		}
		r.Tests[0].Nominal = false
	}
	r.Tests[0].all = quantities(mechanics.Span, mechanics.LoadedLengthGiven) // which is not declared
	if b.Left = 10; v.arises(b, r, &r.Tests[0]) {
		t.Error("a question of what is missing arises")
	}
	// In inches, of a view of which nothing was asked before.
	_, b, v = load((&testaxis.Sheet{Name: "cross", Lines: map[string]string{"supports.span": `"30 in ± 4 in"`}}), t)
	r = onTrial(v, Error, mostOf(mechanics.Span, 1))
	if w := v.worst(b, r, &r.Tests[0]); w.decides(v) != "worst within tolerances, decided by span 34 in" {
		t.Errorf("%+v", w)
	}
	// A mass that has nothing to do with it, though it is looked at; and one that is not.
	_, b, v = load(testaxis.WholeSheet().With("load.mass", `"30 kg ± 5 kg"`), t)
	x := mostOf(mechanics.Span, 1)
	x.Also = quantities(mechanics.Mass)
	r = onTrial(v, Error, x)
	if w := v.worst(b, r, &r.Tests[0]); w.view == nil || w.decides(v) != "" {
		t.Errorf("%+v", w)
	}
	if r = onTrial(v, Error, mostOf(mechanics.Span, 1)); v.arises(b, r, &r.Tests[0]) {
		t.Error("a question arises by what it does not look at")
	}
}
