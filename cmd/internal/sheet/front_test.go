package sheet

import (
	"strings"
	"testing"

	"trammel/cmd/internal/document"
	"trammel/rules/judge"
)

// TestVerdict: an axis with an error fails, one with rules that could not be judged does
// not pass, and the first page shows every finding and no rule of mere fit that passed.
func TestVerdict(t *testing.T) {
	t.Parallel()
	seen := map[string]int{}
	for _, a := range bakerySheets(t) {
		v, _ := a.sheet.Section("verdict").Blocks[0].(document.Verdict)
		errors, warnings, open := 0, 0, 0
		for _, f := range numbered(a.rep) {
			switch f.Severity {
			case judge.Error:
				errors++
			case judge.Warning:
				warnings++
			}
		}
		fits := map[string]bool{}
		for _, r := range a.rep.Results {
			if r.State == judge.Unjudged {
				open++
			}
			fits[strings.ReplaceAll(r.Rule, "-", " ")] = r.Fit && r.State == judge.Passed
		}
		want := "Passes: "
		switch {
		case errors > 0:
			want = "Fails: "
		case open > 0:
			want = "Not judged in full: "
		case warnings > 0:
			want = "Passes with "
		}
		seen[want]++
		if !strings.HasPrefix(v.Words, want) || v.Fails != (errors > 0) || v.Open != (errors == 0 && open > 0) {
			t.Errorf("axis %s with %d errors, %d warnings and %d rules not judged: %+v", a.name, errors, warnings, open, v)
		}
		shown := 0
		for _, b := range a.sheet.Section("findings").Blocks {
			if f, ok := b.(*document.Finding); ok {
				if shown++; f.Number != shown {
					t.Errorf("axis %s: finding %d stands at %d", a.name, f.Number, shown)
				}
			}
		}
		if shown != len(numbered(a.rep)) {
			t.Errorf("axis %s: %d of %d findings", a.name, shown, len(numbered(a.rep)))
		}
		for _, b := range a.sheet.Section("limits").Blocks {
			bars, ok := b.(*document.Bars)
			if !ok {
				continue
			}
			over := true
			for _, r := range bars.Rows {
				if fits[r.Name] {
					t.Errorf("axis %s: %s is no margin", a.name, r.Name)
				}
				if r.Over() && !over {
					t.Errorf("axis %s: %s is over its limit and does not stand first", a.name, r.Name)
				}
				over = r.Over()
			}
		}
	}
	for _, want := range []string{"Fails: ", "Passes: ", "Not judged in full: "} {
		if seen[want] == 0 {
			t.Errorf("no axis of the demo: %q", want)
		}
	}
}
