package run_test

import (
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/run/runtest"
	"trammel/rules/judge/testaxis"
	"trammel/spec/amount"
)

// brokenLines are ways in which a line comes to be unreadable while somebody
// types, or types amiss. Each makes of a line one that says nothing certain.
var brokenLines = map[string]func(line string) string{
	"the value is missing": func(l string) string { return regexp.MustCompile(`=.*`).ReplaceAllString(l, "=") },
	"the quote is open":    func(l string) string { return strings.TrimSuffix(l, `"`) },
	"only the name stands": func(l string) string { return regexp.MustCompile(` *=.*`).ReplaceAllString(l, "") },
	"a letter is missing":  func(l string) string { return regexp.MustCompile(`^( *\w\w)\w`).ReplaceAllString(l, "$1") },
	"the name is another":  func(l string) string { return regexp.MustCompile(`^( *)\w+`).ReplaceAllString(l, "${1}quux") },
	"the unit is of another kind": func(l string) string {
		return regexp.MustCompile(`"(-?[\d.]+) [^"]+"`).ReplaceAllString(l, `"$1 furlongs"`)
	},
	"the point is a comma": func(l string) string { return regexp.MustCompile(`(\d)\.(\d)`).ReplaceAllString(l, "$1,$2") },
	"it stands twice":      func(l string) string { return l + "\n" + l },
	"quotes are missing":   func(l string) string { return strings.ReplaceAll(l, `"`, "") },
}

// TestUnreadableIsUnknown: whichever line cannot be read, what is still judged
// comes out as it does with the line whole. Nothing passes, fails or does not apply
// because a line counts as not given.
func TestUnreadableIsUnknown(t *testing.T) {
	s := testaxis.WholeSheet().With("load.counterbalance", `"100 N"`, "load.counterbalance_by", `"spring"`, "orientation", `"vertical"`, "motor.brake_torque", `"2 N m"`,
		"nut.wipers", "true", "screw.cover", `"bellows"`, "drive_support.drag_torque", `"0.05 N m"`, "environment.dust", "true", "load.side_force", `"3 N"`,
		"motor.rated_speed", `"3000 rpm"`, "motor.torque_at_max_speed", `"2 N m"`, "drive.ratio", "1.5", "drive.gear_efficiency", "0.9", "drive.gear_torque", `"40 N m"`, "drive.gear_speed", `"8000 rpm"`, "supports.stretch", `"10 um"`)
	axis, parts := s.Text()
	machine := "machine \"m\" {\n  duty {\n    reliability = \"95 %\"\n  }\n  accuracy {\n    bandwidth = \"10 Hz\"\n  }\n}\n"
	look := func(axis, parts, machine string) *runtest.Outcome {
		return runtest.Try(testaxis.Memory(testaxis.SheetFile, axis, "parts/all.parts.hcl", parts, "line/machine.axis.hcl", machine), run.Options{})
	}
	whole := look(axis, parts, machine).Reports[s.Name]
	judged, fewest := 0, 1000
	compare := func(t *testing.T, what string, o *runtest.Outcome) {
		v := o.Reports[s.Name]
		if v == nil {
			return // the line is the axis's own head
		}
		if !slices.ContainsFunc(o.Findings, func(f judge.Finding) bool { return f.OfText() }) {
			t.Fatalf("%s: nothing is wrong with the text", what)
		}
		n := 0
		for name, r := range v.Results {
			want := whole.Results[name]
			switch {
			case r.State == judge.Unjudged:
				n++
			case r.State != want.State || r.Utilisation != want.Utilisation && !(math.IsNaN(r.Utilisation) && math.IsNaN(want.Utilisation)):
				t.Errorf("%s:\n%s is %s (%v, %s), with the line whole %s (%v, %s)", what, name, r.State, r.Utilisation, r.Why, want.State, want.Utilisation, want.Why)
			}
		}
		judged, fewest = judged+1, min(fewest, n)
	}
	for file, text := range []string{axis, parts, machine} {
		lines := strings.Split(text, "\n")
		for i, line := range lines {
			if !strings.Contains(line, " = ") || i%amount.Of(1, 4) != 0 {
				continue
			}
			for how, change := range brokenLines {
				broken := change(line)
				if broken == line || strings.Contains(line, "description") {
					continue
				}
				texts := []string{axis, parts, machine}
				texts[file] = strings.Join(slices.Concat(lines[:i], []string{broken}, lines[i+1:]), "\n")
				compare(t, how+": "+broken, look(texts[0], texts[1], texts[2]))
			}
		}
	}
	if judged < amount.Of(500, 100) || fewest > amount.Of(1, 4) {
		t.Errorf("%d lines were tried; of the least harmful %d rules could not be judged", judged, fewest)
	}
}

// TestUnreadableLine: what a line would have said is not known, and the reason
// names the line; what does not hang on it is judged as ever.
func TestUnreadableLine(t *testing.T) {
	whole := runtest.Alone(testaxis.WholeSheet(), run.Options{})
	for _, x := range []struct {
		path, text string
		why        string
		unjudged   []string
		judged     []string
	}{
		{"motion.move.thrust", `"9000 kg"`, "motion.move.thrust could not be read (line 43)", []string{"life-margin", "buckling", "static-safety", "motor-peak-torque"}, []string{"critical-speed", "cycle-closes"}},
		{"drive.coupling", "coupling.none", "drive.coupling could not be read (line 12)", []string{"coupling-torque", "motor-peak-torque"}, []string{"life-margin"}},
		{"screw.cover", "bellows", "screw.cover could not be read (line 59)", []string{"contamination"}, []string{"life-margin"}},
		{"screw.covr", `"bellows"`, "screw.cover could not be read (line 59)", []string{"contamination"}, []string{"life-margin"}},
	} {
		v := runtest.Alone(testaxis.WholeSheet().With(x.path, x.text, "environment.chips", "true"), run.Options{})
		for _, rule := range x.unjudged {
			if r := v.Results[rule]; r.State != judge.Unjudged || !strings.HasPrefix(r.Why, x.why) {
				t.Errorf("%s = %s: %s: %s, %q", x.path, x.text, rule, r.State, r.Why)
			}
		}
		for _, rule := range x.judged {
			if r := v.Results[rule]; r.State != whole.Results[rule].State || r.Utilisation != whole.Results[rule].Utilisation {
				t.Errorf("%s = %s: %s: %s", x.path, x.text, rule, r.State)
			}
		}
	}
}

// TestUnreadableBeside: a line half typed in one axis of a file leaves the others
// as they are, to the last finding.
func TestUnreadableBeside(t *testing.T) {
	axis, parts := testaxis.WholeSheet().Text()
	fails, _ := testaxis.WholeSheet().With("supports.span", `"1900 mm"`).Text()
	fails = strings.Replace(fails, `"cross"`, `"other"`, 1)
	list := func(o *runtest.Outcome) (out []string) {
		for _, f := range o.Findings {
			if f.Axis == "other" {
				out = append(out, f.Rule+" "+f.Message)
			}
		}
		return out
	}
	want := list(runtest.Try(testaxis.Memory(testaxis.SheetFile, fails+axis, "parts/all.parts.hcl", parts), run.Options{}))
	if len(want) == 0 {
		t.Fatal("nothing fails")
	}
	lines := strings.Split(axis, "\n")
	for i := 0; i < len(lines); i += amount.Of(1, 9) {
		for _, broken := range []string{"  speed =", `  mass = "30`, "  lo", "}", "{", "  load {", "  = 4", "  a = [1", `axis "third`, "\t#\u00a0"} {
			text := fails + strings.Join(slices.Concat(lines[:i], []string{broken}, lines[i:]), "\n")
			if got := list(runtest.Try(testaxis.Memory(testaxis.SheetFile, text, "parts/all.parts.hcl", parts), run.Options{})); !slices.Equal(got, want) {
				t.Fatalf("%q before line %d: %q, without it %q", broken, i+1, got, want)
			}
		}
	}
}

// TestUnreadableParts: a parts file that is half typed makes no false "no part".
func TestUnreadableParts(t *testing.T) {
	axis, parts := testaxis.WholeSheet().Text()
	for _, broken := range []string{`screw "half" {`, "}", `screw "half"`, "scr", "screw \"half\" {\n  lead =\n}"} {
		o := runtest.Try(testaxis.Memory(testaxis.SheetFile, axis, "parts/all.parts.hcl", parts+broken+"\n"), run.Options{})
		for _, f := range o.Findings {
			if f.Place.File == testaxis.SheetFile && f.OfText() {
				t.Errorf("%q: %s %s", broken, f.Place, f.Message)
			}
		}
		if r := o.Reports["cross"].Results["critical-speed"]; r.State != judge.Passed {
			t.Errorf("%q: %+v", broken, r)
		}
	}
}
