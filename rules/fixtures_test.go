package rules_test

import (
	"errors"
	"io/fs"
	"math"
	"os"
	"path"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"sync"
	"testing"
	"time"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/expect"
	"trammel/rules/judge/run"
	"trammel/spec"
	"trammel/spec/unit"
)

// The fixtures say what they expect in comments, as package expect reads them, always
// with words of the message; of the demo, fixtures/bakery.expect.txt says it. fixtures/bakery, fixtures/library and each folder below
// fixtures/rules is a tree of its own. Findings are compared both ways; missing lines both
// ways for the bakery, else only those expected. That a question does not arise is
// expected of the folder's rule.

const fixtureRoot = "../fixtures"

// fixtureDay is the day on which waivers are judged.
var fixtureDay = time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)

// A fixture is one tree with what its comments say and what a run found.
type fixture struct {
	name    string
	expects expect.Set
	sum     *run.Summary
	passed  map[string]bool // rules that passed for some axis
	axes    []spec.Place
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
	fx := &fixture{name: name, passed: map[string]bool{}}
	fx.expects.Own = func(rule string) bool { return rule == path.Base(name) }
	besides := readBesides(t, name)
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
		fx.expects.Read(f, besides.into(t, f, src))
	}
	for f := range besides {
		t.Errorf("%s.expect.txt: there is no file %s", name, f)
	}
	for _, e := range fx.expects.List {
		if e.Words == "" {
			t.Errorf("%s/%s: the expectation of %s has no words", name, e.Place, e.Rule)
		}
	}
	var mu sync.Mutex
	fx.sum = run.Files(rules.Book(), tree, files, run.Options{Today: fixtureDay, Fixes: true, Whole: true, As: run.Look{Each: func(rep *judge.Report) {
		fx.expects.Look(rep)
		mu.Lock()
		defer mu.Unlock()
		for _, r := range rep.Results {
			if r.State == judge.Passed {
				fx.passed[r.Rule] = true
			}
		}
		fx.axes = append(fx.axes, rep.View.Axis.Place)
	}}})
	for _, f := range files { // what check asks besides
		for _, p := range tree.Waived(f) {
			fx.sum.Findings = append(fx.sum.Findings, judge.FindingOf(p))
		}
	}
	return fx
}

// besides are the expectations that stand in NAME.expect.txt beside a tree: file, line, findings.
type besides map[string][]besideLine

type besideLine struct {
	text     string
	findings []string
}

// readBesides reads them; none where there is no such file.
func readBesides(t *testing.T, name string) besides {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(fixtureRoot, filepath.FromSlash(name)+".expect.txt"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	out, file := besides{}, ""
	for line := range strings.Lines(string(text)) {
		words := strings.TrimSpace(line)
		switch list := out[file]; {
		case words == "" || strings.HasPrefix(words, "#"):
		case !strings.HasPrefix(line, " "):
			file = words
		case !strings.HasPrefix(line, "    "):
			out[file] = append(list, besideLine{text: words})
		default:
			list[len(list)-1].findings = append(list[len(list)-1].findings, words)
		}
	}
	return out
}

// into writes the expectations of a file behind its lines, and takes them off the list.
func (l besides) into(t *testing.T, file string, src []byte) []byte {
	t.Helper()
	lines, at := strings.Split(string(src), "\n"), 0
	for _, x := range l[file] {
		i := slices.IndexFunc(lines[at:], func(s string) bool {
			own, _, _ := strings.Cut(s, "#")
			return strings.Join(strings.Fields(own), " ") == x.text
		})
		if i < 0 {
			t.Errorf("%s: no line %q below line %d", file, x.text, at)
			continue
		}
		at += i
		for _, f := range x.findings {
			mark := " # expect: "
			if of, ok := strings.CutPrefix(f, "waived "); ok {
				mark, f = " # expect-waived: ", of
			}
			lines[at] += mark + f
		}
		at++
	}
	delete(l, file)
	return []byte(strings.Join(lines, "\n"))
}

// compare holds what was found against what the comments expect.
func (fx *fixture) compare(t *testing.T, gapsToo bool) {
	t.Helper()
	for i := range fx.sum.Findings {
		broken(t, &fx.sum.Findings[i])
	}
	for _, p := range fx.expects.Hold(fx.sum, gapsToo) {
		t.Errorf("%s/%s: %s", fx.name, p.Place, p.Message)
		for _, r := range p.Related {
			t.Errorf("%s/%s:   %s", fx.name, r.Place, r.Message)
		}
	}
}

// broken holds that the value of a finding breaks its limit, by as much as its use says. The
// use of a breached advice is of the limit behind it, and below 1.
func broken(t *testing.T, f *judge.Finding) {
	t.Helper()
	c := f.Compared
	switch use := c.Use(); {
	case !c.Made():
		if !math.IsNaN(f.Utilisation) {
			t.Errorf("%s: %s uses %g of a limit that is not named", f.Place, f.Rule, f.Utilisation)
		}
	case c.Kind == unit.Temperature:
		if c.Value < c.Limit != (c.Sense == judge.AtLeast) {
			t.Errorf("%s: %s: %g %s %g holds", f.Place, f.Rule, c.Value, c.Sense, c.Limit)
		}
	case !(use > 1), f.Utilisation > 1 && use != f.Utilisation:
		t.Errorf("%s: %s: %g %s %g uses %g; the finding says %g", f.Place, f.Rule, c.Value, c.Sense, c.Limit, use, f.Utilisation)
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
	machines := map[string]bool{}
	for _, a := range fx.axes {
		machines[path.Dir(a.File)] = true
	}
	if len(machines) < 7 || len(fx.axes) < 16 || fx.expects.Clean()*5 < len(fx.axes)*2 {
		t.Errorf("%d machines, %d axes, %d of them clean: the bakery has shrunk", len(machines), len(fx.axes), fx.expects.Clean())
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
			rule := path.Base(name)
			if rules.Book().ByName(rule) == nil {
				if rule != "language" && rule != "house" {
					t.Errorf("there is no rule %s", rule)
				}
				return
			}
			if !slices.ContainsFunc(fx.expects.List, func(e *expect.Expectation) bool { return e.Rule == rule }) {
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
		for _, e := range fx.expects.List {
			found[e.Rule] = true
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
