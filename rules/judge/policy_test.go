package judge

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/spec"
	"trammel/spec/unit"
)

// inForceAt is what is in force for a rule in a folder, and what is wrong in
// the folder's own policies.
func inForceAt(t *testing.T, dir, rule string, files ...string) (Setting, []spec.Problem) {
	t.Helper()
	f := spec.NewTree(testaxis.Memory(files...)).Folder(dir)
	for _, p := range f.Problems {
		t.Errorf("%s: %s", p.Place, p.Message)
	}
	j := Book().NewJudge(testaxis.SomeDay, false)
	settings := j.InForce(f)
	for _, s := range settings {
		if s.Rule.Name == rule {
			return s, j.PolicyProblems(f)
		}
	}
	t.Fatalf("no setting of %s among %d", rule, len(settings))
	return Setting{}, nil
}

func (s *Setting) limit(name string) *LimitSetting {
	for i := range s.Limits {
		if s.Limits[i].Limit.Name == name {
			return &s.Limits[i]
		}
	}
	return nil
}

// The nearest folder wins, field by field, and each field says who set it.
func TestPolicyNearestWins(t *testing.T) {
	files := []string{
		"top.policy.hcl", `rule "life-margin" {
  limit    = 1.5
  advice   = 2
  severity = "error"
}
rule "critical-speed" { limit = "70 %" }`,
		"a/mid.policy.hcl", "rule \"life-margin\" {\n  severity = \"warning\"\n  reason = \"old fleet\"\n}",
		"a/b/low.policy.hcl", `rule "life-margin" { advice = 3 }`,
		"a/b/c/x.axis.hcl", "",
	}
	for _, x := range []struct {
		dir           string
		sev           Severity
		limit, advice float64
		sevFrom       string
		limitFrom     string
		adviceFrom    string
		reason        string
	}{
		{".", Error, 1.5, 2, "top.policy.hcl:4", "top.policy.hcl:2", "top.policy.hcl:3", ""},
		{"a", Warning, 1.5, 2, "a/mid.policy.hcl:2", "top.policy.hcl:2", "top.policy.hcl:3", "old fleet"},
		{"a/b", Warning, 1.5, 3, "a/mid.policy.hcl:2", "top.policy.hcl:2", "a/b/low.policy.hcl:1", "old fleet"},
		{"a/b/c", Warning, 1.5, 3, "a/mid.policy.hcl:2", "top.policy.hcl:2", "a/b/low.policy.hcl:1", "old fleet"},
		{"z", Error, 1.5, 2, "top.policy.hcl:4", "top.policy.hcl:2", "top.policy.hcl:3", ""},
	} {
		s, problems := inForceAt(t, x.dir, "life-margin", files...)
		if len(problems) > 0 {
			t.Errorf("%s: %v", x.dir, problems)
		}
		at := func(p spec.Place) string { return fmt.Sprintf("%s:%d", p.File, p.Line) }
		l, a := s.limit("limit"), s.limit("advice")
		got := fmt.Sprint(s.Severity, l.Value, a.Value, at(s.SeverityFrom), at(l.From), at(a.From), s.Reason)
		want := fmt.Sprint(x.sev, x.limit, x.advice, x.sevFrom, x.limitFrom, x.adviceFrom, x.reason)
		if got != want {
			t.Errorf("%s: %s, want %s", x.dir, got, want)
		}
	}
	s, _ := inForceAt(t, "a/b/c", "critical-speed", files...)
	if l := s.limit("limit"); l.Value != 0.7 {
		t.Errorf("%+v", l)
	}
	s, _ = inForceAt(t, "a", "buckling", files...)
	if l := s.limit("limit"); s.SeverityFrom.Valid() || l.From.Valid() || !math.IsNaN(l.Value) {
		t.Errorf("nobody set %+v", s)
	}
}

// Limits and severities of a policy reach the findings.
func TestPolicyJudges(t *testing.T) {
	s := testaxis.WholeSheet()
	use := judge(s, Options{}).results["critical-speed"].Utilisation * 0.8 // of the default 80 %
	policy := func(text string) *verdict { return judge(s, Options{}, "line/x.policy.hcl", text) }

	v := policy(fmt.Sprintf(`rule "critical-speed" { limit = "%.3g %%" }`, use*99))
	if f := wantFinding(t, v.findings, "critical-speed"); f != nil && f.Severity != Error {
		t.Error(f.Severity)
	}
	for _, word := range []string{"warning", "note"} {
		v = policy(fmt.Sprintf(`rule "critical-speed" {
  limit    = "%.3g %%"
  severity = %q
  reason   = "seen"
}`, use*99, word))
		if f := wantFinding(t, v.findings, "critical-speed"); f != nil && f.Severity.String() != word {
			t.Error(f.Severity)
		}
	}
	v = policy("rule \"critical-speed\" {\n  limit = \"1 %\"\n  severity = \"off\"\n  reason = \"seen\"\n}")
	if len(v.of("critical-speed")) > 0 || v.results["critical-speed"].State != Disabled {
		t.Errorf("%+v", v.results["critical-speed"])
	}
	v = policy(fmt.Sprintf(`rule "critical-speed" { limit = "%.3g %%" }`, use*101))
	if v.results["critical-speed"].State != Passed {
		t.Errorf("%+v", v.results["critical-speed"])
	}

	// Advice warns only; a rule that is a note, or whose limit is broken, gives none besides.
	s = s.With("duty.shock", "", "duty.load_factor", "1.2")
	life := 1 / judge(s, Options{}).results["life-margin"].Utilisation
	v = policy(fmt.Sprintf(`rule "life-margin" { advice = %g }`, life*1.1))
	if f := wantFinding(t, v.findings, "life-margin"); f != nil && f.Severity != Warning {
		t.Error(f.Severity)
	}
	v = policy(fmt.Sprintf("rule \"life-margin\" {\n  advice = %g\n  severity = \"note\"\n  reason = \"r\"\n}", life*1.1))
	if got := v.of("life-margin"); len(got) != 0 {
		t.Errorf("%+v", got)
	}
	v = policy(fmt.Sprintf(`rule "life-margin" {
  limit  = %g
  advice = %g
}`, life*1.05, life*1.1))
	if got := v.of("life-margin"); len(got) != 1 || got[0].Severity != Error {
		t.Errorf("%+v", got)
	}
	// A limit that replaces one depending on the axis holds for every axis.
	v = policy("rule \"static-safety\" {\n  limit = 1000\n  reason = \"trial\"\n}")
	wantFinding(t, v.findings, "static-safety", "minimum 1000")
}

// What is wrong in a policy is said at its place, and is a fault of the call,
// not of an axis.
func TestPolicyProblems(t *testing.T) {
	for _, x := range []struct {
		text, rule, words string
		line              int32
	}{
		{"rule \"critical-speed\" {\n  limit = \"90 %\"\n}", "value", "limit 90 % is looser than the default of critical-speed", 1},
		{"rule \"buckling\" {\n  limit = 1.5\n}", "value", "looser", 1},
		{"rule \"buckling\" {\n  severity = \"note\"\n}", "value", "severity note is looser", 1},
		{"rule \"buckling\" {\n  severity = \"off\"\n  reason = \"  \"\n}", "value", "the reason for a looser buckling is empty", 3},
		{"rule \"static-safety\" {\n  limit = 3\n}", "value", "may be, for some axes, looser", 1},
		{"rule \"bukling\" {\n  limit = 3\n}", "unknown-name", "did you mean buckling?", 1},
		{"rule \"unit\" {\n  severity = \"off\"\n}", "value", "unit is a check of the language itself", 1},
		{"rule \"life-margin\" {\n  advise = 3\n}", "unknown-name", "it has limit, advice, severity and reason", 2},
		{"rule \"support-kind\" {\n  limit = 3\n}", "unknown-name", "it has no limit to set", 2},
		{"rule \"critical-speed\" {\n  limit = \"70 mm\"\n}", "unit", "limit of critical-speed", 2},
		{"rule \"critical-speed\" {\n  limit = 0.7\n}", "unit", `such as "70 %"`, 2},
		{"rule \"buckling\" {\n  limit = \"3\"\n}", "value", "write limit = 3", 2},
		{"rule \"buckling\" {\n  limit = 0\n}", "value", "must be above zero", 2},
		{"rule \"buckling\" {\n  limit = -2\n}", "value", "must be above zero", 2},
		{"rule \"critical-speed\" {\n  limit = \"0 %\"\n}", "value", "must be above zero", 2},
		{"rule \"critical-speed\" {\n  limit = \"70 % ± 5 %\"\n}", "value", "a limit has no tolerance", 2},
		{"rule \"critical-speed\" {\n  limit = \"60 % .. 70 %\"\n}", "value", "a limit has no tolerance", 2},
		{"rule \"regrease-interval\" {\n  interval = \"3 mm\"\n}", "unit", "interval of regrease-interval", 2},
		{"rule \"cycle-closes\" {\n  gap = 1\n}", "unit", " µm\"", 2}, // in metric units
	} {
		o := run(testaxis.WholeSheet().Files("p.policy.hcl", x.text), Options{})
		f := wantFinding(t, o.Findings, x.rule, x.words)
		if f == nil {
			continue
		}
		if f.Place.File != "p.policy.hcl" || f.Place.Line != x.line || f.Severity != Error || f.Axis != "" || !f.Fatal() {
			t.Errorf("%q: %s %s %q fatal %v", x.text, f.Place, f.Severity, f.Axis, f.Fatal())
		}
		n := 0
		for _, f := range o.Findings {
			if f.Place.File == "p.policy.hcl" {
				n++
			}
		}
		if n != 1 {
			t.Errorf("%q gives %d findings", x.text, n)
		}
	}
	// Of these nothing is wrong.
	for _, text := range []string{
		"rule \"critical-speed\" {\n  limit = \"70 %\"\n}", "rule \"critical-speed\" {\n  limit = \"80 %\"\n}", "rule \"buckling\" {\n  limit = 2.5\n}",
		"rule \"critical-speed\" {\n  limit = \"90 %\"\n  reason = \"measured\"\n}", "rule \"stiffness\" {\n  severity = \"error\"\n}",
		"rule \"regrease-interval\" {\n  interval = \"3 months\"\n  distance = \"500 km\"\n}", "rule \"cycle-closes\" {\n  gap = \"0.5 um\"\n}",
		"rule \"unused-part\" {\n  severity = \"note\"\n}", "rule \"shaft-stress\" {\n  limit = \"100 N/mm2\"\n}",
	} {
		if _, problems := inForceAt(t, ".", "buckling", "p.policy.hcl", text); len(problems) > 0 {
			t.Errorf("%s: %v", text, problems)
		}
	}
}

// A wrong limit is not taken, and the rest of its block still is.
func TestPolicyWrongLimitNotTaken(t *testing.T) {
	for _, text := range []string{`"3 mm"`, `0.7`, `"50 % ± 5 %"`, `"0 %"`, `"-10 %"`} {
		s, problems := inForceAt(t, ".", "critical-speed", "p.policy.hcl", "rule \"critical-speed\" {\n  limit = "+text+"\n}")
		if len(problems) != 1 || !math.IsNaN(s.limit("limit").Value) {
			t.Errorf("%s: %v, in force %g", text, problems, s.limit("limit").Value)
		}
	}
	s, problems := inForceAt(t, ".", "life-margin", "p.policy.hcl", "rule \"life-margin\" {\n  limit = \"3 m\"\n  advice = 4\n}")
	if len(problems) != 1 || !math.IsNaN(s.limit("limit").Value) || s.limit("advice").Value != 4 {
		t.Errorf("%v %+v", problems, s.Limits)
	}
}

// Problems of a policy are reported once, by the folder that holds it, and not
// again below.
func TestPolicyProblemOnce(t *testing.T) {
	a, p := testaxis.WholeSheet().Text()
	fsys := testaxis.Memory("line/a.axis.hcl", a, "line/sub/b.axis.hcl", a, "other/c.axis.hcl", a, "parts/all.parts.hcl", p, "p.policy.hcl", `rule "nonsense" { limit = 3 }`, "line/q.policy.hcl", `rule "buckling" { limit = 3 }`)
	n := 0
	for _, f := range run(fsys, Options{Workers: 4}).Findings {
		if f.Place.File == "p.policy.hcl" {
			n++
		}
	}
	if n != 1 {
		t.Errorf("%d times", n)
	}
}

// Two policy files of one folder count together, whatever order they come in;
// where they disagree somebody is told.
func TestPolicyFilesOfOneFolder(t *testing.T) {
	one, two := "rule \"buckling\" {\n  limit = 3\n}\n", "rule \"critical-speed\" {\n  limit = \"60 %\"\n}\nrule \"buckling\" {\n  severity = \"warning\"\n  reason = \"r\"\n}\n"
	shown := func(files ...string) string {
		s, problems := inForceAt(t, ".", "buckling", files...)
		c, _ := inForceAt(t, ".", "critical-speed", files...)
		return fmt.Sprint(s.Severity, s.limit("limit").Value, c.limit("limit").Value, len(problems))
	}
	if a, b := shown("a.policy.hcl", one, "b.policy.hcl", two), shown("a.policy.hcl", two, "b.policy.hcl", one); a != b || a != "warning 3 0.6 0" {
		t.Errorf("%s, %s", a, b)
	}
	// The same limit set twice in one folder: whichever held would be chance of
	// the files' names.
	files := []string{"a.policy.hcl", "rule \"buckling\" {\n  limit = 3\n}", "b.policy.hcl", "rule \"buckling\" {\n  limit = 4\n}"}
	s, problems := inForceAt(t, ".", "buckling", files...)
	if len(problems) != 1 || problems[0].Rule != "duplicate-name" || problems[0].Place.File != "b.policy.hcl" || s.limit("limit").Value != 3 {
		t.Fatalf("%v, in force %g", problems, s.limit("limit").Value)
	}
	if r := problems[0].Related; len(r) != 1 || r[0].Place.File != "a.policy.hcl" || r[0].Place.Line != 2 || r[0].Message != "set here" {
		t.Errorf("%+v", r)
	}
}

// The defaults in the docs of limits that depend on the axis are those counted.
func TestLimitsByAxis(t *testing.T) {
	for _, x := range []struct {
		lines       []string
		rule, words string
	}{
		{[]string{"duty.shock", `"smooth"`}, "static-safety", "minimum 1.5 (smooth)"},
		{[]string{"duty.shock", `"shocks"`}, "static-safety", "minimum 2.5 (with shocks)"},
		{[]string{"duty.shock", "", "duty.load_factor", "1.4"}, "static-safety", "minimum 2 (ordinary)"},
		{[]string{"orientation", `"vertical"`}, "static-safety", "minimum 2 (smooth, weight along the axis)"},
	} {
		v := judge(testaxis.WholeSheet().With(append(x.lines, "screw.static_rating", `"100 N"`)...), Options{})
		wantFinding(t, v.findings, x.rule, x.words)
	}
	v := judge(testaxis.WholeSheet().With("duty.shock", ""), Options{})
	if r := v.results["static-safety"]; r.State != Unjudged || len(r.Missing) != 1 || r.Missing[0].Words != "duty.shock" {
		t.Errorf("%+v", r)
	}
	// A policy's limit needs no such line.
	v = judge(testaxis.WholeSheet().With("duty.shock", ""), Options{}, "p.policy.hcl", "rule \"static-safety\" {\n  limit = 2\n  reason = \"r\"\n}")
	if r := v.results["static-safety"]; r.State != Passed {
		t.Errorf("%+v", r)
	}
}

// Every limit can be set by a policy to its own default, as it is written in
// the docs, without being called looser, and then judges as before.
func TestEveryLimitCanBeSet(t *testing.T) {
	before := judge(testaxis.WholeSheet(), Options{}).results
	for _, r := range Book().All() {
		for _, l := range r.limits() {
			text := fmt.Sprint(l.Default)
			if l.Kind != unit.None {
				text = fmt.Sprintf("%q", unit.FormatExact(l.Default, l.Kind, unit.Metric))
			}
			policy := fmt.Sprintf("rule %q {\n  %s = %s\n  reason = \"\"\n}", r.Name, l.Name, text)
			if l.By != nil {
				policy = strings.Replace(policy, `""`, `"for all"`, 1)
			}
			s, problems := inForceAt(t, ".", r.Name, "p.policy.hcl", policy)
			if len(problems) > 0 || math.Abs(s.limit(l.Name).Value/l.Default-1) > 1e-5 {
				t.Errorf("%s: %v, %+v", policy, problems, s.limit(l.Name))
				continue
			}
			after := judge(testaxis.WholeSheet(), Options{}, "p.policy.hcl", policy).results[r.Name]
			if b := before[r.Name]; l.By == nil && (after.State != b.State || math.Abs(after.Utilisation-b.Utilisation) > 1e-5*math.Abs(b.Utilisation)) {
				t.Errorf("%s: %+v, before %+v", policy, after, b)
			}
		}
	}
	if !slices.ContainsFunc(Book().All(), func(r *Rule) bool { return len(r.limits()) > 1 }) {
		t.Error("no rule has two limits")
	}
}

// TestFullOfProblems: of a folder's policies a hundred problems are told, whatever
// they are about, and then that no more is read; a hundred alone say no such thing.
func TestFullOfProblems(t *testing.T) {
	for what, block := range map[string]string{
		"rules":       "rule \"nonsense%d\" {\n  limit = 2\n}\n",
		"house rules": "require \"r%d\" {\n  that = nonsense\n}\n",
		"waivers":     "waive \"nonsense%d\" {\n  reason = \"r\"\n  until = \"2027-01-01\"\n}\n",
	} {
		for n, want := range map[int]int{99: 99, 100: 100, 101: 101, 130: 101} {
			var text strings.Builder
			for i := range n {
				fmt.Fprintf(&text, block, i)
			}
			_, problems := inForceAt(t, ".", "buckling", "p.policy.hcl", text.String())
			if len(problems) != want {
				t.Errorf("%d wrong %s: %d problems", n, what, len(problems))
				continue
			}
			last := problems[want-1]
			if full := strings.Contains(last.Message, "the rest is not read"); full != (n > 100) || full && (last.Rule != "syntax" || int(last.Place.Line) != 1+100*strings.Count(block, "\n")) {
				t.Errorf("%d wrong %s: the last one is at %s: %s", n, what, last.Place, last.Message)
			}
		}
	}
}

// TestLooserByRounding: a limit is looser than the default where it is so by more
// than a part in 10¹², which unit conversions may take.
func TestLooserByRounding(t *testing.T) {
	senses := map[Sense]bool{}
	for _, r := range Book().All() {
		for _, l := range r.limits() {
			if l.Kind != unit.None || l.By != nil {
				continue
			}
			senses[l.Sense] = true
			last, beyond := l.Default*(1+1e-12), 0.0
			if beyond = math.Nextafter(last, math.Inf(1)); l.Sense == AtLeast {
				last = l.Default * (1 - 1e-12)
				beyond = math.Nextafter(last, 0)
			}
			for x, want := range map[float64]int{l.Default: 0, last: 0, beyond: 1} {
				f := Book().byDefault()
				f.applyRule(&spec.PolicyRule{Rule: r.Name, Limits: []spec.PolicyLimit{{Name: l.Name, Number: x}}}, map[string]spec.Place{})
				if len(f.problems) != want {
					t.Errorf("%s, %s %.17g, by default %g: %v", r.Name, l.Name, x, l.Default, f.problems)
				}
			}
		}
	}
	if len(senses) != 2 {
		t.Error(senses)
	}
}

// TestNearestByName: of names as near as each other the first by name is meant,
// whatever order they come in.
func TestNearestByName(t *testing.T) {
	for _, names := range [][]string{{"span", "spar"}, {"spar", "span"}} {
		if got := DidYouMean("spat", names); got != "did you mean span?" {
			t.Errorf("%q: %s", names, got)
		}
	}
	if got := DidYouMean("lead", []string{"span"}); got != "" {
		t.Error(got)
	}
}
