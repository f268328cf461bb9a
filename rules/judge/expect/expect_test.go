package expect_test

import (
	"strings"
	"testing"

	"trammel/rules"
	"trammel/rules/judge/expect"
	"trammel/rules/judge/run"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
)

// held judges a file whose house rule wants a stroke of one metre at most, and gives what
// is not as its comments expect.
func held(text string, gaps bool) []string {
	const file = "x.axis.hcl"
	tree := spec.NewTree(testaxis.Memory(file, text, "house.policy.hcl", `
require "short" {
  that    = motion.stroke <= "1 m"
  message = "too long"
}

waive "short" {
  axes   = ["waived"]
  reason = "old"
  until  = "2027-06-30"
}
`))
	set := &expect.Set{}
	set.Read(file, []byte(text))
	sum := run.Files(rules.Book(), tree, []string{file}, run.Options{Today: testaxis.SomeDay, As: run.Look{Each: set.Look}})
	var out []string
	for _, p := range set.Hold(sum, gaps) {
		out = append(out, p.Place.String()+": "+p.Message)
		for _, r := range p.Related {
			out = append(out, "  "+r.Place.String()+": "+r.Message)
		}
	}
	return out
}

func axisOf(name, mark, stroke string) string {
	return "axis \"" + name + "\" {" + mark + "\n  motion {\n    stroke = \"" + stroke + "\"\n  }\n}\n"
}

// TestHold: each case is a file and what is said of it, word by word where it matters.
func TestHold(t *testing.T) {
	t.Parallel()
	long := func(mark string) string {
		return strings.Replace(axisOf("a", "", "2 m"), "\"2 m\"", "\"2 m\" "+mark, 1)
	}
	for _, c := range []struct {
		name, text string
		want       []string // the beginnings of the lines
	}{
		{"met", long("# expect: short"), nil},
		{"met by words", long(`# expect: short "too long"`), nil},
		{"met from above", strings.Replace(long(""), "    stroke", "    # expect-next: short \"long\"\n    # and why\n    stroke", 1), nil},
		{"nothing found, nothing expected", axisOf("a", "", "1 m"), nil},
		{"on a line of its own", axisOf("a", "", "1 m") + "# expect: short\n", []string{"x.axis.hcl:6:1: the expectation stands on a line of its own"}},
		{"surplus", long(""), []string{`x.axis.hcl:3:14: this finding is not expected; if it is right, write # expect: short "too long"`}},
		{"missing", strings.Replace(axisOf("a", "", "1 m"), "\"1 m\"", "\"1 m\" # expect: short", 1), []string{"x.axis.hcl:3:20: expected in line 3 and not found: short"}},
		{"missing, further up", strings.Replace(long(""), "{", "{ # expect: short", 1), []string{
			"x.axis.hcl:1:12: expected in line 1 and not found: short", "  x.axis.hcl:3:14: found here: short", "x.axis.hcl:3:14: this finding is not expected",
		}},
		{"other words", long(`# expect: short "too short"`), []string{
			"x.axis.hcl:3:14: this finding is not expected", `x.axis.hcl:3:20: expected in line 3 and not found: short "too short"`, "  x.axis.hcl:3:14: found at that line",
		}},
		{"another rule", long("# expect: lifting-life"), []string{"x.axis.hcl:3:14: this finding is not", "x.axis.hcl:3:20: expected in line 3 and not found: lifting-life", "  x.axis.hcl:3:14: found at"}},
		{"twice", long("# expect: short # expect: short"), []string{"x.axis.hcl:3:36: expected in line 3 and not found: short", "  x.axis.hcl:3:14: found at"}},
		{"not waived", long("# expect-waived: short"), []string{"x.axis.hcl:3:14: this finding is not", "x.axis.hcl:3:20: expected in line 3 and not found: short, waived", "  x.axis.hcl:3:14"}},
		{"words without quotes", long("# expect: short too long"), []string{"x.axis.hcl:3:14: this finding is not", "x.axis.hcl:3:20: this expectation cannot be read"}},
		{"no rule", long("# expect short"), []string{"x.axis.hcl:3:14: this finding is not", "x.axis.hcl:3:20: this expectation cannot be read"}},
		{"clean, no axis", "# clean\n", []string{"x.axis.hcl:1:1: no axis follows"}},
		{"clean, and is not", "# clean\n" + long("# expect: short"), []string{
			"x.axis.hcl:1:1: axis a is marked clean, but it has a finding of short", "  x.axis.hcl:4:14: found: short", "x.axis.hcl:1:1: axis a is marked clean, but not judged are",
		}},
		{"Windows line ends", strings.ReplaceAll(long("# expect: short"), "\n", "\r\n"), nil},
		{"behind a wide character", long("# ä expect: short"), []string{"x.axis.hcl:3:14: this"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got := held(c.text, false)
			ok := len(got) == len(c.want)
			for i := range got {
				ok = ok && strings.HasPrefix(got[i], c.want[i])
			}
			if !ok {
				t.Errorf("said\n%s\nexpected\n%s\nof\n%s", strings.Join(got, "\n"), strings.Join(c.want, "\n"), c.text)
			}
		})
	}
}

// TestHoldWaived: a waived finding is expected as waived, and only so.
func TestHoldWaived(t *testing.T) {
	t.Parallel()
	text := func(mark string) string {
		return strings.Replace(axisOf("waived", "", "2 m"), "\"2 m\"", "\"2 m\" "+mark, 1)
	}
	if got := held(text("# expect-waived: short"), false); got != nil {
		t.Errorf("%q", got)
	}
	if got := held(text("# expect: short"), false); len(got) != 3 || !strings.Contains(got[0], "write # expect-waived: short") {
		t.Errorf("%q", got)
	}
}

// TestHoldGaps: missing lines are expected where the file says so; one that is expected
// must be missing in any case.
func TestHoldGaps(t *testing.T) {
	t.Parallel()
	text := axisOf("a", ` # expect: not-judged "orientation"`, "1 m")
	if got := held(text, false); got != nil {
		t.Errorf("%q", got)
	}
	if got := held(text, true); len(got) < 20 {
		t.Errorf("%q", got)
	}
	got := held(axisOf("a", ` # expect: not-judged "motion.stroke"`, "1 m"), false)
	if len(got) == 0 || !strings.HasPrefix(got[0], "x.axis.hcl:1:12: expected in line 1 and not found: not-judged") {
		t.Errorf("%q", got)
	}
	if got := held(axisOf("a", ` # expect: not-applicable "no positioning is required"`, "1 m"), false); got != nil {
		t.Errorf("%q", got)
	}
}
