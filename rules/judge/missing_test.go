package judge

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/spec"
)

// TestFatal: what keeps the tool from its work is a file it cannot read, and a
// policy that cannot be read as it stands; an axis with a wrong word is not.
func TestFatal(t *testing.T) {
	for _, x := range []struct {
		rule, file string
		want       bool
	}{
		{"file", "a.axis.hcl", true}, {"syntax", "x.policy.hcl", true}, {"syntax", "a.axis.hcl", false},
		{"critical-speed", "a.axis.hcl", false}, {"critical-speed", "x.policy.hcl", false}, {"waiver-expired", "x.policy.hcl", false},
	} {
		if x.rule == "syntax" && textRules[x.rule] == "" {
			t.Fatal("no rule of text is named syntax")
		}
		f := Finding{Rule: x.rule, Place: spec.Place{File: x.file}}
		if got := f.Fatal(); got != x.want {
			t.Errorf("%s in %s: %v", x.rule, x.file, got)
		}
	}
}

// TestSeverityWord: words that are none give no severity.
func TestSeverityWord(t *testing.T) {
	for i, w := range []string{"off", "note", "warning", "error"} {
		if s, ok := ParseSeverity(w); !ok || int(s) != i {
			t.Errorf("%s: %v %v", w, s, ok)
		}
	}
	for _, w := range []string{"", "Error", "errors", "none"} {
		if s, ok := ParseSeverity(w); ok || s != Off {
			t.Errorf("%q: %v %v", w, s, ok)
		}
	}
}

// TestFailsAnyway: of a rule that fails is not said from which assumed value on it would
// pass, with words that are not there.
func TestFailsAnyway(t *testing.T) {
	rep := &Report{View: &View{Axis: &spec.Axis{Folder: &spec.Folder{}}}, Results: []Result{
		{Rule: "fails", State: Failed, Assumed: true, Missing: []MissingLine{{Words: "a"}}},
		{Rule: "fails, and lacks a line", State: Failed, Missing: []MissingLine{{Words: "b"}}},
		{Rule: "open", State: Unjudged, Assumed: true, Why: "passes from 3 on", Missing: []MissingLine{{Words: "c"}}},
	}}
	rep.gatherMissing()
	var got []string
	for _, g := range rep.MissingInputs {
		got = append(got, g.Missing+": "+g.Why)
	}
	if want := []string{"b: ", "c: passes from 3 on"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestUnlockByHand: of three sets of rules, the lines that let most be judged
// for each line go first, and as few as let more than half be judged; of equal
// ones the first by name.
func TestUnlockByHand(t *testing.T) {
	of := func(rules ...string) *NextInputs {
		rep := &Report{View: &View{Axis: &spec.Axis{Folder: &spec.Folder{}}}}
		for i, r := range rules {
			res := Result{Rule: fmt.Sprint(i), State: Unjudged}
			for _, m := range strings.Fields(r) {
				res.Missing = append(res.Missing, MissingLine{Words: m})
			}
			rep.Results = append(rep.Results, res)
		}
		rep.gatherMissing()
		rep.findNext()
		return rep.NextInputs
	}
	for _, x := range []struct {
		rules   []string
		lines   string
		judged  int
		waiting int
	}{
		{[]string{"a", "a", "b"}, "a", 2, 3},
		{[]string{"b", "b", "a"}, "b", 2, 3},
		{[]string{"a", "b", "c"}, "a b", 2, 3},
		{[]string{"c", "b", "a"}, "a b", 2, 3},
		{[]string{"b", "a"}, "a b", 2, 2},
		{[]string{"d c", "d c", "a"}, "a c d", 3, 3},      // two lines for two rules are as good as one for one
		{[]string{"d c", "d c", "d c", "a"}, "c d", 3, 4}, // 3 rules for 2 lines
		{[]string{"d c", "d", "d c", "a"}, "c d", 3, 4},   // 3 rules for 2 lines before one for one
		{[]string{"", "a", "b", ""}, "a b", 2, 2},
		{[]string{"a b", "a b", "b c", "b c", "x y z"}, "a b c", 4, 5}, // b is named once
		{[]string{"p", "p", "d c", "d c", "d c", "b"}, "p c d", 5, 6},  // 2 for 1, then 3 for 2; what is judged already is none of them
	} {
		u := of(x.rules...)
		if u == nil {
			t.Errorf("%q: nothing", x.rules)
			continue
		}
		if got := strings.Join(u.Lines, " "); got != x.lines || u.Judged != x.judged || u.Waiting != x.waiting {
			t.Errorf("%q: %q lets %d of %d be judged, expected %q, %d of %d", x.rules, got, u.Judged, u.Waiting, x.lines, x.judged, x.waiting)
		}
	}
	// Of very many lines each is named, up to 512; of more there is no list.
	var many []string
	for i := range 513 {
		many = append(many, fmt.Sprintf("l%03d", i))
	}
	if u := of(strings.Join(many[:512], " "), many[70]); u == nil || !slices.Equal(u.Lines, slices.Concat(many[70:71], many[:70], many[71:512])) || u.Judged != 2 {
		t.Errorf("of 512 lines: %+v", u)
	}
	if u := of(strings.Join(many, " "), many[70]); u != nil {
		t.Errorf("of 513 lines: %+v", u)
	}
	if u := of("a", "a"); u != nil {
		t.Errorf("one line needs no list: %+v", u)
	}
}

// TestOutsideTheMoves: of a move that is not there nothing is said.
func TestOutsideTheMoves(t *testing.T) {
	_, _, v := load(testaxis.WholeSheet(), t)
	for move, want := range map[int]string{-1: "", 0: "speed of move out 0.4 m/s", 1: "speed of move back 0.4 m/s", 2: ""} {
		e, ok := v.fieldEntry(Field("motion.move.speed"), move)
		if e.Words != want || ok != (want != "") {
			t.Errorf("speed of move %d: %q %v", move, e.Words, ok)
		}
	}
	for phase, want := range map[int]string{0: " of move out", 3: " of move out", 4: " of move back", 7: " of move back", 8: "", 100: ""} {
		if got := v.Phase(phase); !strings.HasSuffix(got, want) || want == "" && got != "" {
			t.Errorf("phase %d: %q", phase, got)
		}
	}
}

// TestRulesAreWellMade: a rule's own severity is one there is, a name
// is given once, and not to one of the language's own checks.
func TestRulesAreWellMade(t *testing.T) {
	for _, r := range Book().All() {
		if r.Severity > Error {
			t.Errorf("%s is of severity %d", r.Name, r.Severity)
		}
		for i := range r.Tests {
			x := &r.Tests[i]
			if x.Advice != nil && x.Advice.Sense != x.Limit.Sense {
				t.Errorf("%s: limit and advice differ in their sense", r.Name)
			}
		}
	}
	for _, name := range []string{"min-lead", "syntax"} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s is in the book twice", name)
				}
			}()
			New(append(slices.Clone(All()), &Rule{Name: name}))
		}()
	}
}
