package report

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

func TestWrap(t *testing.T) {
	t.Parallel()
	words := "a.axis.hcl:1:2: error: shaft speed 1650 rpm is 89.8 % of critical speed 1837 rpm"
	for _, c := range []struct {
		line   string
		width  int
		indent int
		want   string
	}{
		{words, 0, 4, words},
		{words, narrowest - 1, 4, words},
		{words, len(words), 4, words},
		{words, len(words) - 1, 4, "a.axis.hcl:1:2: error: shaft speed 1650 rpm is 89.8 % of critical speed\n    1837 rpm"},
		{words, 40, 4, "a.axis.hcl:1:2: error: shaft speed\n    1650 rpm is 89.8 % of critical speed\n    1837 rpm"},
		{"   inputs: " + strings.Repeat("x", 60) + " y", 40, 6, "   inputs:\n      " + strings.Repeat("x", 60) + "\n      y"},
		{"\x1b[31merror:\x1b[0m " + strings.Repeat("ab ", 11) + "cd", 42, 4, "\x1b[31merror:\x1b[0m " + strings.Repeat("ab ", 11) + "cd"},
		{"\x1b[31merror:\x1b[0m " + strings.Repeat("ab ", 11) + "cde", 42, 4, "\x1b[31merror:\x1b[0m " + strings.Repeat("ab ", 10) + "ab\n    cde"},
		{strings.Repeat("軸", 20) + " 軸", 40, 2, strings.Repeat("軸", 20) + "\n  軸"},
	} {
		if got := wrap(c.line, c.width, c.indent); got != c.want {
			t.Errorf("%q in %d columns:\n%q, want\n%q", c.line, c.width, got, c.want)
		}
	}
}

// TestCut: what is shown of a line fits, holds the beginning of the mark, and is the line's.
func TestCut(t *testing.T) {
	t.Parallel()
	digits := strings.Repeat("0123456789", 10)
	for _, c := range []struct {
		line  string
		mark  span
		width int
		want  string
		at    span
	}{
		{"short", span{0, 5}, 5, "short", span{0, 5}},
		{digits, span{2, 5}, 30, digits[:29] + "…", span{2, 5}},
		{digits, span{2, 60}, 30, digits[:29] + "…", span{2, 29}},
		{digits, span{50, 55}, 30, "…" + digits[40:68] + "…", span{11, 16}},
		{digits, span{95, 100}, 30, "…" + digits[71:], span{25, 30}},
		{strings.Repeat("軸", 50), span{60, 64}, 31, "…" + strings.Repeat("軸", 14) + "…", span{11, 15}},
	} {
		got, at := cutOut(c.line, c.mark, c.width)
		if got != c.want || at != c.at || visible(got) > c.width {
			t.Errorf("%q at %v in %d columns:\n%q at %v, want\n%q at %v", c.line, c.mark, c.width, got, at, c.want, c.at)
		}
	}
	for width := narrowest; width < 120; width++ {
		for from := range len(digits) {
			for _, to := range []int{from + 1, from + 30} {
				got, at := cutOut(digits, span{from, min(to, len(digits))}, width)
				if n := visible(got); n > width || at.from < 0 || at.to > n || at.to <= at.from || []rune(got)[at.from] != rune(digits[from]) {
					t.Fatalf("width %d, mark %d: %q, mark %v", width, from, got, at)
				}
			}
		}
	}
}

// TestTextOnScreen: on a terminal no line but one of a single long word is wider than it, and all
// words are there; without one the text is as it was.
func TestTextOnScreen(t *testing.T) {
	t.Parallel()
	src := "axis \"a\" {\n\tdescription = \"" + strings.Repeat("long ", 120) + "\"\t# and a mark\n}\n"
	f := judge.Finding{
		Rule: "some-rule", Severity: judge.Error, Axis: "a", Utilisation: math.NaN(), Place: spec.Place{File: "a.axis.hcl", Line: 2, Col: 400, EndLine: 2, EndCol: 404},
		Message: strings.Repeat("what is found ", 20), Related: []spec.Related{{Place: spec.Place{File: "b.axis.hcl", Line: 3, Col: 1}, Message: strings.Repeat("seen there ", 12)}},
	}
	r := &Run{Summary: &run.Summary{Findings: []judge.Finding{f}, Axes: 1}, Source: func(string) []byte { return []byte(src) }}
	plain := func(on Screen) string {
		var b bytes.Buffer
		if err := Text(&b, r, on); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	wide, narrow := plain(Screen{}), plain(Screen{Width: 60, Colored: true})
	for line := range strings.Lines(narrow) {
		if n := visible(strings.TrimSuffix(line, "\n")); n > 60 {
			t.Errorf("%d columns: %q", n, line)
		}
	}
	for _, w := range []string{"    2 | …", " long", "      |", "~~~~", "\nb.axis.hcl:3:1:"} {
		if !strings.Contains(strings.NewReplacer("\x1b[1m", "", "\x1b[0m", "", "\x1b[22m", "", "\x1b[36m", "").Replace(narrow), w) {
			t.Errorf("no %q in\n%q", w, narrow)
		}
	}
	if strings.Contains(wide, "    2 |") || strings.Count(wide, "\n") != 3 {
		t.Errorf("without a terminal:\n%s", wide)
	}
}
