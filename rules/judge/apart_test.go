package judge

import (
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/amount"
	"trammel/spec/unit"
)

// noNumber finds what no output may say: a number that is none, and a zero with a
// sign.
var noNumber = regexp.MustCompile(`\b(?:NaN|Inf|undefined)\b|(?:^|[^\w.])-0(?:$|[^.\d])`)

// eachReport judges fixtures and calls f with every report.
func eachReport(t *testing.T, f func(tree string, r *Report)) {
	t.Helper()
	trees, err := filepath.Glob("../../fixtures/rules/*")
	if err != nil {
		t.Fatal(err)
	}
	trees = amount.Some(trees, 4, filepath.Base)
	for _, dir := range append(trees, "../../fixtures/bakery", "../../fixtures/library") {
		tree := spec.NewTree(os.DirFS(dir))
		var files []string
		tree.Walk(".", func(name string) { files = append(files, name) })
		Run(Book(), tree, files, Options{Today: testaxis.SomeDay, Fixes: true, Whole: true, Workers: 1, Each: func(r *Report) { f(dir, r) }})
	}
}

// TestFindingsReadWell: whatever the axis, no finding, reason or fix says
// that a number is none.
func TestFindingsReadWell(t *testing.T) {
	said := 0
	eachReport(t, func(tree string, r *Report) {
		var all []string
		for _, f := range append(r.Findings, r.OfParts()...) {
			all = append(all, f.Message)
			for _, x := range f.Fixes {
				all = append(all, x.Words)
			}
			for _, e := range f.Inputs {
				all = append(all, e.Words)
			}
		}
		for _, x := range r.Results {
			all = append(all, x.Why)
		}
		for _, s := range all {
			said++
			if noNumber.MatchString(s) {
				t.Errorf("%s, %s: %s", tree, r.View.Axis.Name, s)
			}
		}
	})
	if said < amount.Of(1000, 500) {
		t.Errorf("only %d texts", said)
	}
}

// TestBrokenByAHair: a limit is moved to where the axis breaks it by a
// ten-millionth; the value and what it breaks must then read differently.
func TestBrokenByAHair(t *testing.T) {
	tried := map[string]int{}
	eachReport(t, func(tree string, r *Report) {
		v := *r.View
		v.Units()
		for _, rule := range Book().All() {
			for i := range rule.Tests {
				test := &rule.Tests[i]
				if !v.knows(test) || test.Applies != nil && test.Applies(&v) != "" || rule.Applies != nil && rule.Applies(&v) != "" {
					continue
				}
				w, limit := hair(&v, rule, test)
				if !(limit > 0) || math.IsInf(limit, 0) || test.Value == mechanics.CycleOffset || test.Against == mechanics.SumOfMasses && v.V(mechanics.CarriedMass) == 0 { // which are said twice on purpose
					continue
				}
				tried[rule.Name]++
				if why := reads(w, test, limit); why != "" {
					t.Errorf("%s, %s, %s: %s", tree, v.Axis.Name, rule.Name, why)
				}
			}
		}
	})
	if len(tried) < 25 {
		t.Errorf("only %d rules were tried", len(tried))
	}
}

// hair is the axis with a limit that it breaks by a ten-millionth. Where two
// quantities are compared, the value is moved instead.
func hair(v *View, r *Rule, t *Test) (w *View, limit float64) {
	by := 1 + 1e-7
	if t.Limit.Sense == AtLeast {
		by = 1 - 1e-7
	}
	if t.Against == nil {
		return v, v.V(t.Value) / by
	}
	limit, _, ok := v.limit(r, &t.Limit)
	if !ok {
		return v, 0
	}
	moved := *v
	moved.Calc = mechanics.NewCalc()
	moved.Calc.CopyFrom(v.Calc)
	moved.Calc.Set(t.Value, v.V(t.Against)*limit*by)
	return &moved, limit
}

// reads says what is wrong with the words of a test; "" for nothing.
func reads(v *View, t *Test, limit float64) string {
	text := v.say(t, limit)
	if noNumber.MatchString(text) {
		return text
	}
	for digits := unit.RoughDigits; digits <= unit.MostDigits; digits++ {
		// A bare 1 stands for itself, as in "1 screw".
		shown := unit.FormatDigits(v.V(t.Value), t.Value.Kind, v.Units(), digits)
		if len(shown) > 2 && t.Value != mechanics.Hardness && strings.Count(" "+text+" ", " "+shown+" ")+strings.Count(" "+text+" ", " "+shown+";") > 1 {
			return "twice " + shown + ": " + text
		}
	}
	return ""
}

// TestNumbersOfFindings: a sign before nothing and a ratio to nothing are
// written as people write them.
func TestNumbersOfFindings(t *testing.T) {
	v := &View{sysKnown: true}
	for _, c := range [][2]string{
		{v.Ratio(math.Copysign(0, -1)), "0"}, {v.Ratio(math.Inf(1)), "unlimited"}, {v.Percent(math.Copysign(0, -1)), "0 %"},
		{v.Show(math.Copysign(0, -1), unit.Length), "0 mm"}, {v.Ratio(1234.6), "1235"}, {v.Ratio(1.2345), "1.23"},
	} {
		if c[0] != c[1] {
			t.Errorf("%q, want %q", c[0], c[1])
		}
	}
	if a, b := v.Apart(0.4000004, 0.4, unit.Length); a != "400.0004 mm" || b != "400 mm" {
		t.Errorf("%q and %q", a, b)
	}
	if a, b := v.Apart(0.4, 0.4, unit.Length); a != b {
		t.Errorf("equal values read %q and %q", a, b)
	}
}
