package judge

import (
	"fmt"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/spec"
	"trammel/spec/amount"
	"trammel/spec/unit"
)

// Three screws of which two lie outside of the usual lead angles.
const steepScrews = `series "s" {
  of      = "screw"
  columns = ["name", "nominal_diameter mm", "lead mm"]
  sizes   = [["good", 16, 5], ["steep", 16, 40], ["flat", 80, 2]]
}
`

func usersOf(part string, n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "axis \"a%d\" {\n  screw {\n    part = screw.%s\n  }\n}\n", i, part)
	}
	return b.String()
}

func ofRule(list []Finding, rule string) (out []Finding) {
	for _, f := range list {
		if f.Rule == rule {
			out = append(out, f)
		}
	}
	return out
}

// A part is evaluated once: where its file is checked, or where an axis that is
// checked uses it.
func TestPartOnce(t *testing.T) {
	files := testaxis.Memory("m/a.axis.hcl", usersOf("steep", 100), "m/b.axis.hcl", usersOf("good", 1), "parts/s.parts.hcl", steepScrews, "parts/o.parts.hcl", "environment \"p\" {\n}\n")
	for _, c := range []struct {
		files string
		want  int
	}{
		{"m/a.axis.hcl", 1}, {"m/b.axis.hcl", 0}, {"parts/s.parts.hcl", 2}, {"m/a.axis.hcl parts/s.parts.hcl", 2}, {"parts/o.parts.hcl", 0},
	} {
		for _, workers := range []int{1, 4} {
			o := run(files, Options{Workers: workers}, strings.Fields(c.files)...)
			if got := ofRule(o.Findings, "lead-angle"); len(got) != c.want {
				t.Errorf("%s: %d findings", c.files, len(got))
			}
		}
	}
	o := run(files, Options{}, "m/a.axis.hcl")
	f := wantFinding(t, o.Findings, "lead-angle", "lead 40 mm of screw.steep gives a lead angle of 38.5°; usual maximum 35°")
	if f != nil && (f.Place.File != "parts/s.parts.hcl" || f.Place.Line != 4 || f.Axis != "" || f.Identity() != "lead-angle|parts||screw.steep.lead" || f.Severity != Warning) {
		t.Errorf("%+v, %s", f, f.Identity())
	}
	if r := o.reports["a0"].results["lead-angle"]; r.State != NotApplicable || r.Why != "the axis declares no screw values of its own; the part is judged" {
		t.Errorf("%+v", r)
	}
	// An axis by itself can say what is found about its parts.
	n := 0
	run(files, Options{Each: func(r *Report) {
		n++
		got := r.OfParts()
		if steep := r.View.Axis.Folder.Part("screw", "steep"); (len(got) == 1) != (r.View.Axis.Get(Field("screw.part")).Part == steep) {
			t.Errorf("axis %s: %+v", r.View.Axis.Name, got)
		}
	}}, "m/a.axis.hcl", "m/b.axis.hcl")
	if n != 101 {
		t.Errorf("%d axes", n)
	}
	// What an axis is not asked about is not judged either.
	if got := ofRule(run(files, Options{Only: func(_, axis string) bool { return false }}, "m/a.axis.hcl").Findings, "lead-angle"); len(got) != 0 {
		t.Errorf("%d findings about a part of no checked axis", len(got))
	}
}

// Policies of the folder that declares a part hold for it.
func TestPartPolicy(t *testing.T) {
	policy := func(text string) []Finding {
		return ofRule(run(testaxis.Memory("parts/s.parts.hcl", steepScrews, "p.policy.hcl", text), Options{}, "parts/s.parts.hcl").Findings, "lead-angle")
	}
	if got := policy("rule \"lead-angle\" {\n  severity = \"off\"\n  reason = \"x\"\n}"); len(got) != 0 {
		t.Errorf("%+v", got)
	}
	if got := policy("rule \"lead-angle\" {\n  severity = \"error\"\n}"); len(got) != 2 || got[0].Severity != Error {
		t.Errorf("%+v", got)
	}
	got := policy("rule \"lead-angle\" {\n  most = \"40 deg\"\n  least = \"6 deg\"\n  reason = \"x\"\n}")
	if len(got) != 2 || !strings.Contains(got[0].Message, "usual minimum 6°") || got[0].Related[0].Place.Line != 3 {
		t.Errorf("%+v", got)
	}
	// A policy of the folder of the axis does not reach the part.
	o := run(testaxis.Memory("m/a.axis.hcl", usersOf("steep", 1), "m/p.policy.hcl", "rule \"lead-angle\" {\n  severity = \"off\"\n  reason = \"x\"\n}", "parts/s.parts.hcl", steepScrews), Options{})
	if got := ofRule(o.Findings, "lead-angle"); len(got) != 1 {
		t.Errorf("%+v", got)
	}
}

func TestPartWaiver(t *testing.T) {
	for _, c := range []struct {
		names, until string
		waived       int
	}{
		{`parts = ["screw.steep"]`, "2030-01-01", 1},
		{`parts = ["screw.steep", "screw.flat"]`, "2030-01-01", 2},
		{"", "2030-01-01", 2},
		{`axes = ["a0"]`, "2030-01-01", 0},
		{`parts = ["screw.steep"]`, "2020-01-01", 0},
		{`parts = ["nut.steep"]`, "2030-01-01", 0},
	} {
		policy := fmt.Sprintf("waive \"lead-angle\" {\n  %s\n  reason = \"x\"\n  until = %q\n}", c.names, c.until)
		o := run(testaxis.Memory("m/a.axis.hcl", usersOf("steep", 1), "parts/s.parts.hcl", steepScrews, "p.policy.hcl", policy), Options{}, "m/a.axis.hcl", "parts/s.parts.hcl")
		n := 0
		for _, f := range ofRule(o.Findings, "lead-angle") {
			if f.Waiver != nil {
				n++
			}
		}
		if n != c.waived {
			t.Errorf("%s until %s: %d waived, want %d", c.names, c.until, n, c.waived)
		}
	}
	// One for parts alone does not touch an axis.
	a := testaxis.Quick("").With()
	v := judge(a, Options{}, "p.policy.hcl", "waive \"critical-speed\" {\n  parts = [\"screw.x\"]\n  reason = \"x\"\n  until = \"2030-01-01\"\n}")
	if f := v.of("critical-speed"); len(f) != 1 || f[0].Waiver != nil {
		t.Errorf("%+v", f)
	}
}

// The one error a part's values cannot hide: what stands in a part, whatever
// kind, never makes a rule panic or speak of a value that is not there.
func TestPartsOfAllSorts(t *testing.T) {
	values := []string{"null", "0.5", "1", "25", "1e9"}
	for _, kind := range []string{"screw", "motor"} {
		columns := map[string][]string{
			"screw": {"nominal_diameter mm", "root_diameter mm", "ball_circle_diameter mm", "ball_diameter mm", "lead mm", "loaded_turns", "dynamic_rating kN", "static_rating kN"},
			"motor": {"rated_torque N m", "peak_torque N m", "torque_at_max_speed N m", "rated_speed rpm", "max_speed rpm"},
		}[kind]
		var rows strings.Builder
		for i := range amount.Of(4000, 1000) {
			fmt.Fprintf(&rows, "[\"p%d\"", i)
			for k, n := 0, i*7919; k < len(columns); k++ {
				v := values[n%len(values)]
				if columns[k] == "loaded_turns" && v == "1e9" {
					v = "3"
				}
				rows.WriteString(", " + v)
				n /= len(values)
			}
			rows.WriteString("],\n")
		}
		src := fmt.Sprintf("series \"s\" {\n  of = %q\n  columns = [\"name\", \"%s\"]\n  sizes = [\n%s]\n}\n", kind, strings.Join(columns, `", "`), rows.String())
		o := run(testaxis.Memory("s.parts.hcl", src), Options{}, "s.parts.hcl")
		if len(o.Findings) < 100 {
			t.Errorf("%s: %d findings", kind, len(o.Findings))
		}
		for _, f := range o.Findings {
			if f.OfText() || strings.Contains(f.Message, "NaN") || strings.Contains(f.Message, "undefined") || strings.Contains(f.Message, "unlimited") {
				t.Fatalf("%v: %s: %s", f.Place, f.Rule, f.Message)
			}
		}
	}
}

// A part is shown in inches where more of its lengths are in inches than in
// metric units; other quantities do not count.
func TestPartUnits(t *testing.T) {
	for _, x := range []struct {
		lines string
		want  unit.System
	}{
		{"", unit.Metric},
		{"lead = \"1 in\"", unit.Inch},
		{"lead = \"10 mm\"", unit.Metric},
		{"lead = \"1 in\"\nnominal_diameter = \"20 mm\"", unit.Metric},
		{"lead = \"1 in\"\nnominal_diameter = \"2 in\"\nroot_diameter = \"40 mm\"", unit.Inch},
		{"lead = \"1 in\"\ndynamic_rating = \"20 kN\"\nstatic_rating = \"30 kN\"", unit.Inch},
		{"dynamic_rating = \"2000 lbf\"", unit.Metric},
	} {
		tree := spec.NewTree(testaxis.Memory("m/a.axis.hcl", "axis \"a\" {\n}\n", "m/s.parts.hcl", "screw \"s\" {\n"+x.lines+"\n}\n"))
		f := tree.ReadAxes("m/a.axis.hcl").Axes[0].Folder
		v := Book().NewJudge(testaxis.SomeDay, false).ViewPart(f, f.Visible("screw")[0])
		if v.Sys != x.want || v.forced {
			t.Errorf("%q is shown in system %v", x.lines, v.Sys)
		}
		if v.Has("lead") != strings.Contains(x.lines, "lead") || v.Has("lead", "efficiency") {
			t.Errorf("%q: has a lead %v", x.lines, v.Has("lead"))
		}
	}
}

// A finding about a part names the other lines that took part, with their
// places, and not its own.
func TestPartEnters(t *testing.T) {
	f := wantFinding(t, run(testaxis.Memory("parts/s.parts.hcl", steepScrews), Options{}, "parts/s.parts.hcl").Findings, "lead-angle", "screw.steep")
	if f == nil {
		return
	}
	// tan 38.5° = 40 mm / (π · 16 mm)
	if got := f.inputs(); len(got) != 1 || got[0] != "nominal diameter 16 mm" || f.Inputs[0].Place.File != "parts/s.parts.hcl" || f.Inputs[0].Place == f.Place {
		t.Errorf("%+v at %v", f.Inputs, f.Place)
	}
}
