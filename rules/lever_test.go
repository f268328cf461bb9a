package rules

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trammel/rules/mechanics"
	"trammel/rules/tables"
	"trammel/spec"
	"trammel/spec/unit"
)

// pulled finds the lever a way out speaks of, and the value it names.
func pulled(test *Test, way string) (l *Lever, value string) {
	for _, l := range test.Levers {
		words := regexp.QuoteMeta(l.Words)
		m := regexp.MustCompile("^" + strings.Replace(words, "%s", "(.+)", 1) + "$").FindStringSubmatch(way)
		switch {
		case m == nil:
		case len(m) == 2:
			return l, m[1]
		default:
			return l, ""
		}
	}
	return nil, ""
}

// bounded writes a line as a person would who follows a way out: a value that
// the way permits stays, another becomes the way's.
func bounded(t *rapid.T, l *Lever, f *spec.Field, old, value string) string {
	if f.Sort == spec.Number {
		return value
	}
	q, err := unit.Parse(value, f.Unit)
	if err != nil {
		t.Fatalf("%s: %v", value, err)
	}
	text, _ := strconv.Unquote(old)
	have, err := unit.Parse(text, f.Unit)
	if old == "" || err != nil {
		return strconv.Quote(value)
	}
	low, high := l.bound(have.Low, q.Nominal), l.bound(have.High, q.Nominal)
	switch {
	case low == have.Low && high == have.High:
		return old
	case low == high:
		return strconv.Quote(value)
	}
	si := func(x float64) string { return strings.Trim(exactly(x, f.Unit), `"`) }
	return strconv.Quote(si(low) + " .. " + si(high))
}

// follow is the sheet with a way out followed.
func follow(t *rapid.T, s *sheet, test *Test, way string) *sheet {
	l, value := pulled(test, way)
	if l == nil {
		t.Fatalf("no lever says %q", way)
	}
	f := leafField[l.Leaf.ID()]
	out := s.copy()
	switch {
	case len(l.Leaf.Words) > 0:
		out.set(f.Path, -1, strconv.Quote(l.Leaf.Words[int(l.To)]))
	case l.Leaf.Shape == mechanics.Scalar:
		out.set(f.Path, -1, bounded(t, l, f, s.lines[f.Path], value))
	default:
		for i, m := range s.moves {
			old := m.lines[f.Name]
			if old == "" && f.Default != "" {
				old = strconv.Quote(f.Default)
			}
			if old != "" {
				out.set(f.Path, i, bounded(t, l, f, old, value))
			}
		}
	}
	return out
}

// key tells tests of one rule from another; faults by what they are about.
func (f *Finding) key() string {
	if f.test != nil {
		return f.Rule + "/" + f.test.Limit.Name
	}
	return f.Rule + "/" + f.Cause
}

func keys(list []Finding) map[string]bool {
	out := map[string]bool{}
	for i := range list {
		out[list[i].key()] = true
	}
	return out
}

// everyWayHelps follows each way out of an axis in its text and judges again:
// the finding is gone, and no other has come.
func everyWayHelps(t *rapid.T, s *sheet, followed map[*Lever]int) {
	v := s.judge(Options{Ways: true})
	before := keys(v.findings)
	for i := range v.findings {
		f := &v.findings[i]
		if f.test == nil {
			continue
		}
		for _, way := range f.Ways {
			l, _ := pulled(f.test, way)
			followed[l]++
			better := follow(t, s, f.test, way)
			o := run(better.files(), Options{})
			if len(o.reports) == 0 {
				t.Fatalf("%s: after %q: %v\n%s", f.Rule, way, o.Findings, better)
			}
			for k := range keys(o.reports[s.name].findings) {
				if k == f.key() {
					t.Fatalf("%s: %s\nremains after %q:\n%s", k, f.Message, way, better)
				}
				if !before[k] {
					t.Fatalf("%s came by following %q of %s: %v\n%s", k, way, f.key(), o.Findings, better)
				}
			}
		}
	}
}

// Each way out of a random axis, followed in its text, does what it says.
func TestEveryWayHelps(t *testing.T) {
	followed := map[*Lever]int{}
	check(t, 60, func(rt *rapid.T) { everyWayHelps(rt, drawSheet(rt), followed) })
	if len(followed) < 25 {
		t.Errorf("only %d levers were followed", len(followed))
	}
}

// The same with tolerances: the way holds everywhere within those left.
func TestEveryWayHelpsWithTolerances(t *testing.T) {
	followed := map[*Lever]int{}
	check(t, 9, func(rt *rapid.T) {
		s := drawSheet(rt)
		widen(rt, s)
		everyWayHelps(rt, s, followed)
	})
	if len(followed) < 5 {
		t.Errorf("only %d levers were followed", len(followed))
	}
}

func ways(s *sheet, rule string, more ...string) []string {
	var out []string
	for _, f := range s.judge(Options{Ways: true}, more...).of(rule) {
		out = append(out, f.Ways...)
	}
	return out
}

func offers(list []string, words string) bool {
	return slices.ContainsFunc(list, func(w string) bool { return strings.Contains(w, words) })
}

// Values are rounded on the safe side, to three digits of the unit they are
// declared in.
func TestRounding(t *testing.T) {
	for _, speed := range []string{"0.6 m/s", "600 mm/s", "36 m/min"} {
		s := wholeSheet().with("supports.span", `"1000 mm"`, "screw.length", `"1200 mm"`, "motion.move.speed", strconv.Quote(speed))
		got := ways(s, "critical-speed")
		u := speed[strings.IndexByte(speed, ' '):]
		i := slices.IndexFunc(got, func(w string) bool { return strings.HasPrefix(w, "speed up to ") && strings.HasSuffix(w, u) })
		if i < 0 {
			t.Errorf("%s: %q", speed, got)
			continue
		}
		digits := strings.Trim(strings.NewReplacer(".", "", u, "", "speed up to ", "").Replace(got[i]), "0")
		if len(digits) > 3 {
			t.Errorf("%q has more than three digits", got[i])
		}
		// A little more would fail: the rounding is not far off.
		n, _ := strconv.ParseFloat(strings.TrimSuffix(strings.TrimPrefix(got[i], "speed up to "), u), 64)
		if f := s.with("motion.move.speed", fmt.Sprintf(`"%g%s"`, n*1.01, u)).judge(Options{}).results["critical-speed"]; f.State != Failed {
			t.Errorf("%q is further than it needs", got[i])
		}
	}
}

// A lever on a value with a tolerance bounds the tolerance.
func TestLeverOnTolerance(t *testing.T) {
	s := wholeSheet().with("load.mass", `"38 kg ± 8 kg"`)
	heavy := s.with("orientation", `"vertical"`, "motor.brake_torque", `"3 N m"`, "screw.dynamic_rating", `"6 kN"`, "motor.rated_torque", `"0.75 N m"`, "motor.rotor_inertia", `"0.6 kg cm2"`)
	got := ways(heavy, "motor-rms-torque")
	i := slices.IndexFunc(got, func(w string) bool { return strings.HasPrefix(w, "mass up to ") })
	if i < 0 {
		t.Fatalf("%q", got)
	}
	q, err := unit.Parse(strings.TrimPrefix(got[i], "mass up to "), unit.Mass)
	if err != nil || q.Nominal <= 30 || q.Nominal >= 46 {
		t.Errorf("%q", got[i])
	}
}

// Leads are offered in preferred sizes, and only where no other rule minds.
func TestPreferredLead(t *testing.T) {
	s := wholeSheet().with("motion.move.speed", `"0.9 m/s"`, "motor.rated_speed", `"4500 rpm"`, "motor.rated_torque", `"5 N m"`, "motor.peak_torque", `"15 N m"`, "motor.rotor_inertia", `"1 kg cm2"`,
		"coupling.rated_torque", `"30 N m"`, "motion.overtravel", `"80 mm"`, "screw.length", `"1200 mm"`, "motion.move.ramp", `"0.4 s"`, "supports.span", `"700 mm"`)
	got := ways(s, "min-lead")
	if !offers(got, "lead from 16 mm") && !offers(got, "lead from 12 mm") {
		t.Errorf("%q", got)
	}
	for _, w := range got {
		if x, ok := strings.CutPrefix(w, "lead from "); ok {
			q, err := unit.Parse(x, unit.Length)
			if err != nil || !slices.Contains(tables.PreferredLeads(), q.Nominal) {
				t.Errorf("%s is no preferred lead", x)
			}
		}
	}
	// The same with a motor that cannot turn a larger lead.
	for torque, want := range map[string]bool{"4 N m": true, "3 N m": false} {
		weak := ways(s.with("motion.move.thrust", `"1000 N"`, "motor.peak_torque", strconv.Quote(torque)), "min-lead")
		if offers(weak, "lead from") != want || !offers(weak, "speed up to") {
			t.Errorf("%s: %q", torque, weak)
		}
	}
}

// A far end is not offered fixed where the part that holds it takes no thrust.
func TestFarEndPart(t *testing.T) {
	s := wholeSheet().with("supports.span", `"1000 mm"`, "screw.length", `"1200 mm"`, "motion.move.speed", `"0.55 m/s"`,
		"supports.far_end_part", "support.s2", "far_support.stiffness", `"120 N/um"`, "far_support.dynamic_rating", `"30 kN"`, "far_support.static_rating", `"40 kN"`, "far_support.bore", `"12 mm"`)
	for kind, want := range map[string]bool{"fixed": true, "supported": false} {
		x := s.with("far_support.kind", strconv.Quote(kind))
		if got := ways(x, "critical-speed"); offers(got, "far end fixed") != want {
			t.Errorf("a far part of kind %s: %q", kind, got)
		}
	}
}

// A lever whose value would contradict another line is not offered.
func TestNoWayIntoContradiction(t *testing.T) {
	s := wholeSheet().with("supports.span", `"900 mm"`, "motion.move.speed", `"0.7 m/s"`)
	if got := ways(s, "critical-speed"); !offers(got, "span up to") {
		t.Fatalf("%q", got)
	}
	if got := ways(s.with("supports.loaded_length", `"890 mm"`), "critical-speed"); offers(got, "span up to") {
		t.Errorf("a span shorter than the loaded length is offered: %q", got)
	}
}

// A way that would break a house rule is not offered.
func TestNoWayAgainstTheHouse(t *testing.T) {
	s := wholeSheet().with("supports.span", `"900 mm"`, "motion.move.speed", `"0.7 m/s"`)
	house := `require "quick" { that = top_speed >= "0.65 m/s" }`
	if got := ways(s, "critical-speed", "h.policy.hcl", house); offers(got, "speed up to") || !offers(got, "span up to") {
		t.Errorf("%q", got)
	}
	// One that is broken already is not in the way.
	house = `require "quick" { that = top_speed >= "2 m/s" }`
	if got := ways(s, "critical-speed", "h.policy.hcl", house); !offers(got, "speed up to") {
		t.Errorf("%q", got)
	}
}

// A waived finding needs no way out.
func TestNoWayForWaived(t *testing.T) {
	s := wholeSheet().with("supports.span", `"900 mm"`, "motion.move.speed", `"0.7 m/s"`)
	s.more = "  waive \"critical-speed\" {\n    reason = \"seen\"\n    until = \"2027-01-01\"\n  }\n"
	if got := ways(s, "critical-speed"); len(got) > 0 {
		t.Errorf("%q", got)
	}
}

// A lever's plan computes all a test looks at: for every rule, test and lever,
// and every leaf a tolerance may stand on, the use after the plan is that after
// computing everything.
func TestPlansAreWhole(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	check(t, 7, func(rt *rapid.T) {
		s := drawSheet(rt)
		_, _, v := s.load(rt)
		planned, whole := mechanics.NewCalc(), mechanics.NewCalc()
		compare := func(rule *Rule, test *Test, leaf *mechanics.Quantity, set func(c *mechanics.Calc)) {
			ask := func(c *mechanics.Calc) string {
				w := *v
				w.Calc = c
				if rule.Applies != nil && rule.Applies(&w) != "" {
					return "rule: " + rule.Applies(&w)
				}
				if test.Applies != nil && test.Applies(&w) != "" {
					return "test: " + test.Applies(&w)
				}
				return fmt.Sprint(w.use(rule, test))
			}
			planned.CopyFrom(v.Calc)
			set(planned)
			planned.RunPlan(mechanics.Plan(test.watch, leaf))
			whole.CopyFrom(v.Calc)
			set(whole)
			whole.Run()
			if a, b := ask(planned), ask(whole); a != b {
				rt.Fatalf("%s %s, %s: with the plan %s, computed whole %s\n%s", rule.Name, test.Limit.Name, leaf.Name, a, b, s)
			}
		}
		for _, rule := range All() {
			for i := range rule.Tests {
				test := &rule.Tests[i]
				for _, b := range slices.Concat(axisBindings, moveBindings) {
					leaf := b.leaf
					switch {
					case len(leaf.Words) > 0:
						if v.Calc.Known(leaf) {
							x := float64(r.IntN(len(leaf.Words)))
							compare(rule, test, leaf, func(c *mechanics.Calc) { c.Set(leaf, x) })
						}
					case leaf.Shape == mechanics.Scalar:
						if x, ok := v.Calc.Value(leaf); ok {
							k := math.Exp(r.NormFloat64())
							compare(rule, test, leaf, func(c *mechanics.Calc) { c.Set(leaf, x*k) })
						}
					case len(v.Axis.Moves) > 0:
						m := r.IntN(len(v.Axis.Moves))
						if x := v.Calc.Series(leaf)[m]; x == x {
							k := math.Exp(r.NormFloat64())
							compare(rule, test, leaf, func(c *mechanics.Calc) { c.SetMove(leaf, m, x*k) })
						}
					}
				}
			}
		}
	})
}
