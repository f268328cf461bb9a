// Package engine holds six rules of the program against the same six in the language of a
// general policy engine, over values that are computed already: the answers, axis by axis,
// and the time. It is a module of its own, so that the engine is no dependency of the
// program; `make engine` runs it.
package engine

import (
	"context"
	_ "embed"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"testing/fstest"
	"time"

	"github.com/open-policy-agent/opa/v1/ast"
	"github.com/open-policy-agent/opa/v1/rego"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
)

//go:embed axis.rego
var policy string

var six = []string{"ball-speed", "critical-speed", "inertia-ratio", "motor-rms-torque", "slenderness", "static-safety"}

// An axis is one with everything computed, for the program and for the engine.
type axis struct {
	name   string
	bench  *judge.Scratch
	report *judge.Report
	input  ast.Value
}

var tolerance = regexp.MustCompile(` ± [^"]*"`)

// axes judges the axes of the fixtures, without tolerances, of which the engine knows
// nothing.
func axes(t testing.TB, roots ...string) (out []*axis, j *judge.Judge) {
	t.Helper()
	j = rules.Book().NewJudge(time.Date(2026, 11, 2, 0, 0, 0, 0, time.UTC), false)
	for _, root := range roots {
		files := fstest.MapFS{}
		err := filepath.WalkDir(filepath.Join("../../fixtures", root), func(name string, e os.DirEntry, err error) error {
			if err != nil || e.IsDir() || !spec.IsSpec(name) {
				return err
			}
			src, err := os.ReadFile(name)
			below, _ := filepath.Rel("../../fixtures", name)
			files[filepath.ToSlash(below)] = &fstest.MapFile{Data: tolerance.ReplaceAll(src, []byte(`"`))}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		tree := spec.NewTree(files)
		tree.Walk(".", func(name string) {
			for _, a := range tree.ReadAxes(name).Axes {
				if list := a.Get(judge.CarriesField); a.Broken || list != nil {
					continue // what it carries is another's
				}
				x := &axis{name: name + ": " + a.Name, bench: judge.NewScratch()}
				x.report = j.Judge(x.bench, a, nil)
				if !off(x.report) {
					x.input = inputOf(t, x.report.View)
					out = append(out, x)
				}
			}
		})
	}
	return out, j
}

// off says that a policy switches one of the rules off.
func off(rep *judge.Report) bool {
	for _, name := range six {
		if rep.View.SeverityOf(name) == judge.Off {
			return true
		}
	}
	return false
}

func inputOf(t testing.TB, v *judge.View) ast.Value {
	values, limits := map[string]any{}, map[string]any{}
	for _, q := range mechanics.All() {
		if x, ok := v.Calc.Value(q); ok && q.Shape == mechanics.Scalar {
			values[q.Name] = max(-math.MaxFloat64, min(math.MaxFloat64, x)) // the engine has no infinite numbers
		}
	}
	for _, name := range six {
		if x, _, ok := v.TestLimit(name, 0); ok {
			limits[name] = x
		}
	}
	in, err := ast.InterfaceToValue(map[string]any{"values": values, "limits": limits})
	if err != nil {
		t.Fatal(err)
	}
	return in
}

func engine(t testing.TB) rego.PreparedEvalQuery {
	t.Helper()
	q, err := rego.New(rego.Query("data.axis.states"), rego.Module("axis.rego", policy)).PrepareForEval(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func ask(t testing.TB, q rego.PreparedEvalQuery, a *axis) map[string]any {
	got, err := q.Eval(context.Background(), rego.EvalParsedInput(a.input))
	if err != nil || len(got) != 1 {
		t.Fatal(err, len(got))
	}
	return got[0].Expressions[0].Value.(map[string]any)
}

// Both answer the same of every axis and rule, but where the program says that the answer
// hangs on a value nobody declared: the engine takes the usual one for known.
func TestAnswers(t *testing.T) {
	all, _ := axes(t, "bakery", "library", "rules")
	q := engine(t)
	count := map[string]int{}
	for _, a := range all {
		got := ask(t, q, a)
		for _, name := range six {
			r := a.report.Results[rules.Book().ByName(name).Index]
			want := r.State.String()
			count[want]++
			switch {
			case got[name] == want:
			case r.State == judge.Unjudged && len(a.report.View.Assumed()) > 0 && (got[name] == "passed" || got[name] == "failed"):
				count["not judged, where the engine takes an assumed value for known"]++
			default:
				t.Errorf("%s: %s: the engine says %v, the program %s (%s)", a.name, name, got[name], want, r.Why)
			}
		}
	}
	for _, state := range []string{"passed", "failed", "not judged", "does not apply"} {
		if count[state] == 0 {
			t.Errorf("no answer is %q", state)
		}
	}
	t.Logf("%d axes, six rules: %v", len(all), count)
}

// BenchmarkOver prints the time of the engine over that of the program, for the six rules
// on one axis with its values computed ("six"), and for the engine's six over all the
// program does for an axis that is read: load its values, compute all quantities, ask all
// rules at the ends of what is assumed too, word what it finds ("all").
func BenchmarkOver(b *testing.B) {
	all, j := axes(b, "bakery", "library") // those of the rules declare little
	q := engine(b)
	var asked []*judge.Rule
	for _, name := range six {
		asked = append(asked, rules.Book().ByName(name))
	}
	var theirs, ours, whole time.Duration
	for b.Loop() {
		t := time.Now()
		for _, a := range all {
			ask(b, q, a)
		}
		theirs += time.Since(t)
		t = time.Now()
		for _, a := range all {
			for _, r := range asked {
				if got := j.Ask(a.bench, a.report.View, r, nil); got.State != a.report.Results[r.Index].State {
					b.Fatalf("%s: %s: %v", a.name, r.Name, got.State)
				}
			}
		}
		ours += time.Since(t)
		t = time.Now()
		for _, a := range all {
			a.report = j.Judge(a.bench, a.report.View.Axis, nil)
		}
		whole += time.Since(t)
	}
	n := float64(b.N * len(all))
	b.ReportMetric(float64(theirs)/float64(ours), "engine/six")
	b.ReportMetric(float64(theirs)/float64(whole), "engine/all")
	b.ReportMetric(float64(theirs.Microseconds())/n, "engine-µs/axis")
	b.ReportMetric(float64(ours.Microseconds())/n, "six-µs/axis")
	b.ReportMetric(float64(whole.Microseconds())/n, "all-µs/axis")
	b.ReportMetric(0, "ns/op") // means nothing here
}
