package rules_test

import (
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// The fixtures say what they expect in comments on the line a finding stands at:
//
//	# expect: RULE "words of the message"
//	# expect-waived: RULE "words of the message"
//	# expect: not-judged "missing line"
//	# expect: not-applicable "why the question of the folder's rule does not arise"
//
// With -next (# expect-next:, # expect-waived-next:) the comment stands alone
// and speaks of the next line that holds more than a comment; the end of the
// file counts as such a line. "# clean" above an axis says that nothing is found
// about it and every rule could be judged.
//
// fixtures/bakery, fixtures/library and each folder below fixtures/rules is a tree
// of its own.
// Findings are compared both ways; missing lines both ways for the bakery, else
// only those expected.

const fixtureRoot = "../fixtures"

// fixtureDay is the day on which waivers are judged.
var fixtureDay = time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)

type expectation struct {
	file   string
	line   int
	rule   string
	words  string
	waived bool
	met    int
}

func (e *expectation) String() string {
	mark := ""
	if e.waived {
		mark = " (waived)"
	}
	return fmt.Sprintf("%s:%d: %s%s %q", e.file, e.line, e.rule, mark, e.words)
}

var (
	expectRE = regexp.MustCompile(`#\s*expect(-waived)?(-next)?:\s+(\S+)\s+("(?:[^"\\]|\\.)*")`)
	markRE   = regexp.MustCompile(`#\s*expect`)
	cleanRE  = regexp.MustCompile(`^\s*#\s*clean\s*$`)
)

// A fixture is one tree with what its comments say and what a run found.
type fixture struct {
	name    string
	expects []*expectation
	clean   map[string]bool // "file:line" of an axis block marked clean
	sum     *run.Summary
	passed  map[string]bool // rules that passed for some axis
	axes    []judged
}

type judged struct {
	name  string
	place spec.Place
	why   []string // rules that could not be judged, with the reason
	idle  string   // why the rule of the fixture's name does not apply
}

// readExpectations collects the comments of a file.
func (fx *fixture) readExpectations(t *testing.T, name, text string) {
	t.Helper()
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	comment := func(i int) bool {
		s := strings.TrimSpace(lines[i])
		return s == "" || strings.HasPrefix(s, "#")
	}
	next := func(i int) int {
		for i++; i < len(lines) && comment(i); i++ {
		}
		return i
	}
	for i, line := range lines {
		found := expectRE.FindAllStringSubmatch(line, -1)
		if n := len(markRE.FindAllString(line, -1)); n != len(found) {
			t.Errorf("%s:%d: %d expectations are begun here, %d can be read", name, i+1, n, len(found))
		}
		for _, m := range found {
			words, err := strconv.Unquote(m[4])
			if err != nil {
				t.Errorf("%s:%d: %s: %v", name, i+1, m[4], err)
				continue
			}
			e := &expectation{file: name, line: i + 1, rule: m[3], words: words, waived: m[1] != ""}
			switch {
			case m[2] == "" && comment(i):
				t.Errorf("%s:%d: the expectation stands on a line of its own; write expect-next", name, i+1)
			case m[2] != "":
				e.line = next(i) + 1
			}
			fx.expects = append(fx.expects, e)
		}
		if cleanRE.MatchString(line) {
			k := next(i)
			if k == len(lines) || !strings.HasPrefix(lines[k], "axis ") {
				t.Errorf("%s:%d: no axis follows the word clean", name, i+1)
				continue
			}
			fx.clean[fmt.Sprintf("%s:%d", name, k+1)] = true
		}
	}
}

// runFixture reads and judges one tree.
func runFixture(t *testing.T, name string) *fixture {
	t.Helper()
	root, err := os.OpenRoot(filepath.Join(fixtureRoot, filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	tree := spec.NewTree(root.FS())
	fx := &fixture{name: name, clean: map[string]bool{}, passed: map[string]bool{}}
	var files []string
	for _, p := range tree.Walk(".", func(f string) { files = append(files, f) }) {
		t.Errorf("%s: %s: %s", name, p.Place, p.Message)
	}
	if len(files) == 0 {
		t.Fatalf("%s holds no spec files", name)
	}
	for _, f := range files {
		src, err := fs.ReadFile(tree.FS(), f)
		if err != nil {
			t.Fatal(err)
		}
		fx.readExpectations(t, f, string(src))
	}
	var mu sync.Mutex
	fx.sum = run.Files(rules.Book(), tree, files, run.Options{Today: fixtureDay, Fixes: true, Whole: true, As: run.Look{Each: func(rep *judge.Report) {
		mu.Lock()
		defer mu.Unlock()
		a := judged{name: rep.View.Axis.Name, place: rep.View.Axis.Place}
		for _, r := range rep.Results {
			switch r.State {
			case judge.Passed:
				fx.passed[r.Rule] = true
			case judge.Unjudged:
				a.why = append(a.why, r.Rule+": "+r.Why)
			case judge.NotApplicable:
				if r.Rule == path.Base(name) {
					a.idle = r.Why
				}
			}
		}
		fx.axes = append(fx.axes, a)
	}}})
	return fx
}

// meet marks the expectation that fits best and is not met yet; again lets one
// be met more than once.
func (fx *fixture) meet(p spec.Place, rule, message string, waived, again bool) bool {
	var best *expectation
	for _, e := range fx.expects {
		if e.file != p.File || e.line != int(p.Line) || e.rule != rule || e.waived != waived || !strings.Contains(message, e.words) || e.met > 0 && !again {
			continue
		}
		if best == nil || len(e.words) > len(best.words) {
			best = e
		}
	}
	if best == nil {
		return false
	}
	best.met++
	return true
}

// compare holds what was found against what the comments expect.
func (fx *fixture) compare(t *testing.T, gapsToo bool) {
	t.Helper()
	for i := range fx.sum.Findings {
		f := &fx.sum.Findings[i]
		if !fx.meet(f.Place, f.Rule, f.Message, f.Waiver != nil, false) {
			mark := ""
			if f.Waiver != nil {
				mark = "-waived"
			}
			t.Errorf("%s/%s: not expected:\n\t# expect%s: %s %q", fx.name, f.Place, mark, f.Rule, f.Message)
		}
	}
	for _, g := range fx.sum.MissingInputs {
		words := g.Missing
		if words == "" {
			words = g.Why
		}
		if !fx.meet(g.Place, "not-judged", words, false, true) && gapsToo {
			t.Errorf("%s/%s: not expected, axis %s:\n\t# expect: not-judged %q", fx.name, g.Place, g.Axis, words)
		}
	}
	for _, a := range fx.axes {
		if a.idle != "" {
			fx.meet(a.place, "not-applicable", a.idle, false, false)
		}
	}
	for _, e := range fx.expects {
		if e.met == 0 {
			t.Errorf("%s/%s was expected and is not there%s", fx.name, e, fx.there(e))
		}
	}
}

// there lists what stands at the line of an expectation instead.
func (fx *fixture) there(e *expectation) string {
	out := ""
	for i := range fx.sum.Findings {
		if f := &fx.sum.Findings[i]; f.Place.File == e.file && int(f.Place.Line) == e.line {
			out += fmt.Sprintf("\n\tat that line: %s %q", f.Rule, f.Message)
		}
	}
	for _, g := range fx.sum.MissingInputs {
		if g.Place.File == e.file && int(g.Place.Line) == e.line && e.rule == "not-judged" {
			out += fmt.Sprintf("\n\tat that line: not-judged %q", g.Missing+g.Why)
		}
	}
	return out
}

// checkClean holds the axes marked clean to their word.
func (fx *fixture) checkClean(t *testing.T) {
	t.Helper()
	seen := map[string]bool{}
	for _, a := range fx.axes {
		at := fmt.Sprintf("%s:%d", a.place.File, a.place.Line)
		if !fx.clean[at] {
			continue
		}
		seen[at] = true
		for i := range fx.sum.Findings {
			f := &fx.sum.Findings[i]
			if f.Axis == a.name && f.Place.File == a.place.File {
				t.Errorf("%s/%s: axis %s is said to be clean: %s [%s]", fx.name, f.Place, a.name, f.Message, f.Rule)
			}
		}
		if len(a.why) > 0 {
			t.Errorf("%s/%s: axis %s is said to be clean, but not judged are %s", fx.name, at, a.name, strings.Join(a.why, ", "))
		}
	}
	for at := range fx.clean {
		if !seen[at] {
			t.Errorf("%s/%s: the axis said to be clean was not judged", fx.name, at)
		}
	}
}

// ruleTrees lists the trees below fixtures/rules: each folder that holds spec
// files or parts of its own, or, where it holds only folders, each of those.
func ruleTrees(t *testing.T) []string {
	t.Helper()
	var out []string
	entries, err := os.ReadDir(filepath.Join(fixtureRoot, "rules"))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.IsDir() {
			out = append(out, path.Join("rules", e.Name()))
		}
	}
	sort.Strings(out)
	return out
}

func TestBakery(t *testing.T) {
	t.Parallel()
	fx := runFixture(t, "bakery")
	fx.compare(t, true)
	fx.checkClean(t)
	machines := map[string]bool{}
	for _, a := range fx.axes {
		machines[path.Dir(a.place.File)] = true
	}
	if len(machines) < 7 || len(fx.axes) < 16 || len(fx.clean)*5 < len(fx.axes)*2 {
		t.Errorf("%d machines, %d axes, %d of them clean: the bakery has shrunk", len(machines), len(fx.axes), len(fx.clean))
	}
}

// TestLibrary holds the library of parts to its word: nothing is found about the
// parts, and about the axes that use them only what their comments say.
func TestLibrary(t *testing.T) {
	t.Parallel()
	fx := runFixture(t, "library")
	fx.compare(t, false)
	if len(fx.axes) < 3 {
		t.Errorf("%d axes: the library's machine has shrunk", len(fx.axes))
	}
}

func TestRuleFixtures(t *testing.T) {
	t.Parallel()
	for _, name := range ruleTrees(t) {
		t.Run(path.Base(name), func(t *testing.T) {
			t.Parallel()
			fx := runFixture(t, name)
			fx.compare(t, false)
			fx.checkClean(t)
			rule := path.Base(name)
			if rules.Book().ByName(rule) == nil {
				if rule != "language" && rule != "house" {
					t.Errorf("there is no rule %s", rule)
				}
				return
			}
			if !slices.ContainsFunc(fx.expects, func(e *expectation) bool { return e.rule == rule }) {
				t.Errorf("%s expects no finding of its own rule", name)
			}
		})
	}
}

// TestFixturesCoverEveryRule wants, for every rule, a folder of its own, a
// finding somewhere and an axis that passes somewhere.
func TestFixturesCoverEveryRule(t *testing.T) {
	t.Parallel()
	found, passed := map[string]bool{}, map[string]bool{}
	trees := ruleTrees(t)
	for _, name := range append([]string{"bakery"}, trees...) {
		fx := runFixture(t, name)
		for _, e := range fx.expects {
			found[e.rule] = true
		}
		for r := range fx.passed {
			passed[r] = true
		}
	}
	for _, r := range rules.Book().All() {
		if !slices.Contains(trees, "rules/"+r.Name) {
			t.Errorf("fixtures/rules/%s is missing", r.Name)
		}
		if !found[r.Name] {
			t.Errorf("no fixture expects a finding of %s", r.Name)
		}
		// No axis passes a rule of parts; parts without an expectation do.
		if !passed[r.Name] && r.OfAxes() {
			t.Errorf("no axis of the fixtures passes %s", r.Name)
		}
	}
	for _, name := range judge.TextRuleNames() {
		// What cannot be read needs no fixture: a test makes such files.
		if !found[name] && name != "file" {
			t.Errorf("no fixture expects a finding of %s", name)
		}
	}
}
