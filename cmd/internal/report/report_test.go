package report

import (
	"math"
	"os"
	"testing"
	"time"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

var today = time.Date(2026, 11, 2, 0, 0, 0, 0, time.UTC)

// checked runs the rules over files of a tree held in a folder of its own.
func checked(t testing.TB, dir string) (*Run, []*Axis) { return checkedAll(t, dir, false) }

func checkedAll(t testing.TB, dir string, quantities bool) (*Run, []*Axis) {
	t.Helper()
	root, err := os.OpenRoot(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { root.Close() })
	tree := spec.NewTree(root.FS())
	var files []string
	problems := tree.Walk(".", func(f string) { files = append(files, f) })
	var axes []*Axis
	sum := run.Files(rules.Book(), tree, files, run.Options{Today: today, Fixes: true, Whole: true, Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
		axes = append(axes, AxisOf(rep, quantities))
	}}})
	for _, p := range problems {
		sum.Findings = append(sum.Findings, judge.FindingOf(p))
	}
	sum.Sort()
	return &Run{Summary: sum, Source: func(file string) []byte {
		src, p := tree.Read(file)
		if p != nil {
			return nil
		}
		return src
	}}, axes
}

// kept adds axes to what is kept of a run.
func kept(axes ...*Axis) *Axes {
	out := NewAxes(true)
	for _, a := range axes {
		out.Add(a, &From{})
	}
	return out
}

// textOf is the text of an axis.
func textOf(t testing.TB, a *Axis) string {
	t.Helper()
	text, err := new(axisText).write(nil, []byte(a.record), &From{})
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func bakery(t testing.TB) (*Run, []*Axis) { return checked(t, "../../../fixtures/bakery") }

// invented is a run of findings made up.
func invented(findings ...judge.Finding) *Run {
	return &Run{Summary: &run.Summary{Axes: 1, Findings: findings}, Source: func(string) []byte { return nil }}
}

func finding(rule, axis string, sev judge.Severity, use float64) judge.Finding {
	return judge.Finding{
		Rule: rule, Severity: sev, Machine: "slicer", Axis: axis, Cause: "motion.move.speed[up]", Message: "it turns too fast", Utilisation: use,
		Place: spec.Place{File: "slicer/lift.axis.hcl", Line: 3, Col: 5, EndLine: 3, EndCol: 9, Byte: 40, EndByte: 44},
	}
}

var none = math.NaN()
