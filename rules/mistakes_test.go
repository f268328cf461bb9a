package rules_test

import (
	"cmp"
	"flag"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// testdata/mistakes holds sound machines and, beside each, the mistakes that are
// made in them; its README tells how one is written down. docs/mistakes.md is
// made from what comes of them.

const (
	mistakeRoot = "../testdata/mistakes"
	mistakeFile = "mistakes.txt"
	mistakeDoc  = "../docs/mistakes.md"
)

var (
	updateMistakes = flag.Bool("update", false, "write docs/mistakes.md anew")
	markMistakes   = flag.Bool("mark", false, "write down what comes of mistakes that were pending")
)

// mistakeKinds are the sorts of mistake in the order of the page.
var mistakeKinds = []string{
	"unit or decimal point",
	"sign or direction",
	"forgotten line",
	"value in the wrong field",
	"catalogue misread",
	"wrong part",
	"change not followed through",
	"lifting and holding",
	"ends and supports",
	"stop and crash",
	"heat and environment",
	"grease and upkeep",
	"duty and load case",
	"accuracy",
	"several screws and axes",
	"typing",
	"copied from a neighbour",
	"waivers and limits",
}

// A mistake is one edit of a sound machine with what must come of it.
type mistake struct {
	machine, title, kind string
	line                 int    // in its mistakes.txt
	in                   string // the file that is edited
	under                string // the text before the place of the edit, where it stands more than once
	replace, with        string
	everywhere           bool // replace wherever the text stands
	remove               string
	add                  []string
	after                string
	finds                []expected
	names                []string
	pending              string // why nothing comes of it yet
}

// expected is a finding: of a rule, at a line that holds some text.
type expected struct{ rule, file, text string }

// A corpus is all machines with their mistakes.
type corpus struct {
	files    map[string][]byte
	tree     *spec.Tree // of the files as they stand
	machines []string
	mistakes []mistake
}

var readCorpus = sync.OnceValues(func() (*corpus, error) {
	c := &corpus{files: map[string][]byte{}}
	root := os.DirFS(mistakeRoot)
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(root, name)
		c.files[name] = text
		return err
	})
	if err != nil {
		return nil, err
	}
	for name, text := range c.files {
		if path.Base(name) != mistakeFile {
			continue
		}
		c.machines = append(c.machines, path.Dir(name))
		list, err := parseMistakes(name, string(text))
		if err != nil {
			return nil, err
		}
		c.mistakes = append(c.mistakes, list...)
	}
	c.tree = treeOf(c.files)
	slices.Sort(c.machines)
	slices.SortFunc(c.mistakes, func(a, b mistake) int {
		return cmp.Or(cmp.Compare(a.machine, b.machine), cmp.Compare(a.line, b.line))
	})
	return c, nil
})

// parseMistakes reads one mistakes.txt.
func parseMistakes(name, text string) ([]mistake, error) {
	var out []mistake
	kind, file := "", ""
	for i, line := range strings.Split(text, "\n") {
		body := strings.TrimSpace(line)
		switch {
		case body == "" || strings.HasPrefix(body, "#"):
		case strings.HasPrefix(line, "["):
			kind = strings.Trim(body, "[]")
			if !slices.Contains(mistakeKinds, kind) {
				return nil, fmt.Errorf("%s:%d: there is no kind of mistake %q", name, i+1, kind)
			}
		case strings.HasPrefix(line, "file "):
			file = strings.TrimSpace(line[len("file "):])
		case line[0] != ' ':
			out = append(out, mistake{machine: path.Dir(name), title: body, kind: kind, line: i + 1, in: file})
		case len(out) == 0:
			return nil, fmt.Errorf("%s:%d: this belongs to no mistake", name, i+1)
		default:
			if err := out[len(out)-1].attribute(body); err != nil {
				return nil, fmt.Errorf("%s:%d: %w", name, i+1, err)
			}
		}
	}
	return out, nil
}

// attribute reads one line of a mistake.
func (m *mistake) attribute(body string) error {
	word, rest, _ := strings.Cut(body, " ")
	rest = strings.TrimSpace(rest)
	switch word {
	case "in":
		m.in = rest
	case "under":
		m.under = rest
	case "replace":
		m.replace = rest
	case "with":
		m.with = rest
	case "everywhere":
		m.everywhere = true
	case "remove":
		m.remove = rest
	case "add":
		m.add = append(m.add, rest)
	case "after":
		m.after = rest
	case "finds":
		m.finds = append(m.finds, readExpected(rest))
	case "names":
		m.names = append(m.names, rest)
	case "pending":
		m.pending = rest
	default:
		return fmt.Errorf("%q is none of in, under, replace, with, everywhere, remove, add, after, finds, names, pending", word)
	}
	return nil
}

// readExpected reads "RULE", "RULE at TEXT" or "RULE at FILE: TEXT".
func readExpected(s string) expected {
	rule, text, _ := strings.Cut(s, " at ")
	e := expected{rule: strings.TrimSpace(rule), text: strings.TrimSpace(text)}
	if file, rest, ok := strings.Cut(e.text, ".hcl: "); ok {
		e.file, e.text = file+".hcl", rest
	}
	return e
}

// file is the path of a file of the mistake's machine; one beginning with
// "parts/" is among the parts of all machines.
func (m *mistake) file(name string) string {
	if strings.HasPrefix(name, "parts/") {
		return name
	}
	return path.Join(m.machine, name)
}

func (m *mistake) String() string {
	return fmt.Sprintf("%s/%s:%d: %s", m.machine, mistakeFile, m.line, m.title)
}

// spaced finds a text whatever the spaces between its words.
func spaced(text string) *regexp.Regexp {
	words := strings.Fields(text)
	for i, w := range words {
		words[i] = regexp.QuoteMeta(w)
	}
	return regexp.MustCompile(strings.Join(words, `[ \t]+`))
}

// find is where a text stands: once, or for the first time after m.under.
func (m *mistake) find(src, text string) (from, to int, err error) {
	if m.under != "" {
		u := spaced(m.under).FindStringIndex(src)
		if u == nil {
			return 0, 0, fmt.Errorf("%s: %q is not there", m, m.under)
		}
		at := spaced(text).FindStringIndex(src[u[1]:])
		if at == nil {
			return 0, 0, fmt.Errorf("%s: %q is not there after %q", m, text, m.under)
		}
		return u[1] + at[0], u[1] + at[1], nil
	}
	all := spaced(text).FindAllStringIndex(src, -1)
	if len(all) != 1 {
		return 0, 0, fmt.Errorf("%s: %q stands %d times in %s", m, text, len(all), m.in)
	}
	return all[0][0], all[0][1], nil
}

// edit makes the mistake; line is where, counted from 1.
func (m *mistake) edit(src string) (text string, line int, err error) {
	done := 0
	for _, on := range []bool{m.replace != "", m.remove != "", m.add != nil} {
		if on {
			done++
		}
	}
	if done != 1 {
		return "", 0, fmt.Errorf("%s: one of replace, remove and add makes the edit", m)
	}
	if first := spaced(m.replace).FindStringIndex(src); m.everywhere && first != nil {
		return spaced(m.replace).ReplaceAllLiteralString(src, m.with), strings.Count(src[:first[0]], "\n") + 1, nil
	}
	from, to, err := m.find(src, m.replace+m.remove+m.after)
	if err != nil {
		return "", 0, err
	}
	start := strings.LastIndexByte(src[:from], '\n') + 1
	end := to + strings.IndexByte(src[to:], '\n') + 1
	line = strings.Count(src[:from], "\n") + 1
	switch {
	case m.remove != "":
		return src[:start] + src[end:], line, nil
	case m.add != nil:
		return src[:end] + strings.Join(m.add, "\n") + "\n" + src[end:], line + 1, nil
	}
	return src[:from] + m.with + src[to:], line, nil
}

// judgeMachine judges the axes of one machine of the corpus; other is the file
// that differs, if any. Parts are read once for all mistakes in axes.
func (c *corpus) judgeMachine(machine, other, text string) *run.Summary {
	opt := run.Options{Today: fixtureDay, Workers: 1}
	tree := c.tree
	if axes := strings.HasSuffix(other, ".axis.hcl"); axes && path.Base(other) != "machine.axis.hcl" {
		opt.As = run.Look{Source: map[string][]byte{other: []byte(text)}}
	} else if other != "" {
		files := maps.Clone(c.files)
		files[other] = []byte(text)
		tree = treeOf(files)
	}
	var files []string
	for name := range c.files {
		if path.Dir(name) == machine && strings.HasSuffix(name, ".hcl") {
			files = append(files, name)
		}
	}
	slices.Sort(files)
	return run.Files(rules.Book(), tree, files, opt)
}

func treeOf(files map[string][]byte) *spec.Tree {
	m := fstest.MapFS{}
	for name, text := range files {
		m[name] = &fstest.MapFile{Data: text}
	}
	return spec.NewTree(m)
}

// An outcome is what came of a mistake.
type outcome struct {
	*mistake
	says    string // what the page shows
	caught  bool
	lacking string   // what was expected and did not come
	mark    []string // the lines that would demand what came
}

func (c *corpus) make(m *mistake) (outcome, error) {
	name := m.file(m.in)
	src, ok := c.files[name]
	if !ok {
		return outcome{}, fmt.Errorf("%s: there is no file %s", m, name)
	}
	text, line, err := m.edit(string(src))
	if err != nil {
		return outcome{}, err
	}
	if text == string(src) {
		return outcome{}, fmt.Errorf("%s: the edit changes nothing", m)
	}
	sum := c.judgeMachine(m.machine, name, text)
	o := outcome{mistake: m, caught: true}
	for _, e := range m.finds {
		if f := m.found(c, sum, e, name, text, line); f != nil {
			o.says = cmp.Or(o.says, fmt.Sprintf("%s: %s [%s]", f.Severity, f.Message, f.Rule))
			continue
		}
		o.caught = false
		o.lacking += fmt.Sprintf("\n\tno finding of %s at %q", e.rule, cmp.Or(e.text, strings.TrimSpace(lineOf(text, line))))
	}
	for _, field := range m.names {
		if g := named(sum, field); g != nil {
			o.says = cmp.Or(o.says, fmt.Sprintf("not judged without %s: %s", field, strings.Join(g.Rules, ", ")))
			continue
		}
		o.caught = false
		o.lacking += fmt.Sprintf("\n\t%s is not named", field)
	}
	if len(m.finds)+len(m.names) == 0 {
		o.caught = len(sum.Findings)+len(sum.MissingInputs) > 0
	}
	if o.caught != (m.pending == "") || len(m.finds)+len(m.names) == 0 {
		o.lacking += listed(sum)
		o.mark = m.marks(c, sum, name, text, line)
	}
	return o, nil
}

// marks are the lines that demand the most serious of what came of a mistake.
func (m *mistake) marks(c *corpus, sum *run.Summary, edited, text string, line int) []string {
	var best *judge.Finding
	for i := range sum.Findings {
		if f := &sum.Findings[i]; f.Waiver == nil && (best == nil || f.Severity > best.Severity) {
			best = f
		}
	}
	switch {
	case best == nil && len(sum.MissingInputs) == 0:
		return nil
	case best == nil:
		return []string{"  names    " + cmp.Or(sum.MissingInputs[0].Missing, sum.MissingInputs[0].Why)}
	case best.Place.File == edited && int(best.Place.Line) == line:
		return []string{"  finds    " + best.Rule}
	}
	src, in := text, ""
	if best.Place.File != edited {
		src, in = string(c.files[best.Place.File]), strings.TrimPrefix(best.Place.File, m.machine+"/")+": "
	}
	return []string{"  finds    " + best.Rule + " at " + in + strings.TrimSpace(lineOf(src, int(best.Place.Line)))}
}

// writeMarks puts what came of mistakes that are caught now in the place of their
// mark pending. Whether it is what an engineer needs to be told is for a reader of
// the difference to say.
func (c *corpus) writeMarks(all []outcome) error {
	for _, machine := range c.machines {
		name := path.Join(machine, mistakeFile)
		lines := strings.Split(string(c.files[name]), "\n")
		for _, o := range slices.Backward(all) { // lines above stay where they are
			if o.machine != machine || o.pending == "" || !o.caught {
				continue
			}
			mark := o.mark
			if len(o.finds)+len(o.names) > 0 {
				mark = nil // it was said before what must come
			}
			for i := o.line; strings.HasPrefix(lines[i], " "); i++ {
				if strings.HasPrefix(strings.TrimSpace(lines[i]), "pending ") {
					lines = slices.Replace(lines, i, i+1, mark...)
					break
				}
			}
		}
		text := strings.Join(lines, "\n")
		if err := os.WriteFile(filepath.Join(mistakeRoot, filepath.FromSlash(name)), []byte(text), 0o644); err != nil {
			return err
		}
	}
	return nil
}

// found is the finding a mistake is to have.
func (m *mistake) found(c *corpus, sum *run.Summary, e expected, edited, text string, line int) *judge.Finding {
	file := edited
	if e.file != "" {
		file = m.file(e.file)
	}
	for i := range sum.Findings {
		f := &sum.Findings[i]
		if f.Rule != e.rule || f.Place.File != file || f.Waiver != nil {
			continue
		}
		src := text
		if file != edited {
			src = string(c.files[file])
		}
		if e.text == "" && int(f.Place.Line) == line || e.text != "" && spaced(e.text).MatchString(lineOf(src, int(f.Place.Line))) {
			return f
		}
	}
	return nil
}

func named(sum *run.Summary, field string) *judge.MissingInput {
	for i := range sum.MissingInputs {
		if g := &sum.MissingInputs[i]; g.Missing == field || g.Missing == "" && strings.Contains(g.Why, field) {
			return g
		}
	}
	return nil
}

func lineOf(text string, n int) string {
	lines := strings.Split(text, "\n")
	if n < 1 || n > len(lines) {
		return ""
	}
	return lines[n-1]
}

// listed is what was found instead.
func listed(sum *run.Summary) string {
	out := ""
	for i := range sum.Findings {
		f := &sum.Findings[i]
		out += fmt.Sprintf("\n\tfound: %s: %s: %s [%s]", f.Place, f.Severity, f.Message, f.Rule)
	}
	for _, g := range sum.MissingInputs {
		out += fmt.Sprintf("\n\tnot judged: %s%s: %s", g.Missing, g.Why, strings.Join(g.Rules, ", "))
	}
	return out
}

// outcomes makes all mistakes, once for all tests.
var outcomes = sync.OnceValues(func() ([]outcome, error) {
	c, err := readCorpus()
	if err != nil {
		return nil, err
	}
	out := make([]outcome, len(c.mistakes))
	errs := make([]error, len(c.mistakes))
	var wg sync.WaitGroup
	for i := range c.mistakes {
		wg.Go(func() { out[i], errs[i] = c.make(&c.mistakes[i]) })
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return out, nil
})

// TestMistakesBase: nothing is found about the machines as they stand, and every
// rule can be judged.
func TestMistakesBase(t *testing.T) {
	t.Parallel()
	c, err := readCorpus()
	if err != nil {
		t.Fatal(err)
	}
	if len(c.machines) < 12 {
		t.Errorf("%d machines", len(c.machines))
	}
	for _, m := range c.machines {
		if all := listed(c.judgeMachine(m, "", "")); all != "" {
			t.Errorf("%s is not sound:%s", m, all)
		}
	}
}

// TestMistakes makes each mistake and demands what must come of it. One that is
// marked pending must pass in silence: the mark goes as soon as it does not.
func TestMistakes(t *testing.T) {
	t.Parallel()
	all, err := outcomes()
	if err != nil {
		t.Fatal(err)
	}
	if *markMistakes {
		c, _ := readCorpus()
		if err := c.writeMarks(all); err != nil {
			t.Fatal(err)
		}
		return
	}
	pending, titles := 0, map[string]bool{}
	for _, o := range all {
		if titles[o.machine+o.title] {
			t.Errorf("%s: the title stands twice", o)
		}
		titles[o.machine+o.title] = true
		switch {
		case o.pending != "" && o.caught:
			t.Errorf("%s: is caught now; take out the line pending%s", o, o.lacking)
		case o.pending != "":
			pending++
		case !o.caught:
			t.Errorf("%s%s", o, o.lacking)
		case len(o.finds)+len(o.names) == 0:
			t.Errorf("%s: nothing is said of what must come of it%s", o, o.lacking)
		}
	}
	if len(all) < 150 {
		t.Errorf("%d mistakes: the corpus has shrunk", len(all))
	}
	t.Logf("%d mistakes, %d of them pending", len(all), pending)
}

// TestMistakesDoc holds docs/mistakes.md against what comes of the mistakes.
func TestMistakesDoc(t *testing.T) {
	all, err := outcomes()
	if err != nil {
		t.Fatal(err)
	}
	want := mistakesPage(all)
	if *updateMistakes {
		if err := os.WriteFile(filepath.FromSlash(mistakeDoc), []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	got, err := os.ReadFile(filepath.FromSlash(mistakeDoc))
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("%s is out of date: run go test ./rules -run TestMistakesDoc -update", mistakeDoc)
	}
}

// mistakesPage is the page about what is caught, by kind of mistake.
func mistakesPage(all []outcome) string {
	var b strings.Builder
	pending := 0
	machines := map[string]bool{}
	for _, o := range all {
		machines[o.machine] = true
		if o.pending != "" {
			pending++
		}
	}
	caught := "All are caught: a finding, or the missing line is named and the rules that need it are not\njudged."
	if pending > 0 {
		caught = fmt.Sprintf("- %d are caught: a finding, or the missing line is named and the rules that need it are\n  not judged.\n- Not caught yet: %d, listed with what is missing.", len(all)-pending, pending)
	}
	fmt.Fprintf(&b, `# Mistakes that are caught

<!-- Generated from testdata/mistakes by go test ./rules -run TestMistakesDoc -update.
     Do not edit. -->

Each row is one edit of a sound axis, a mistake that people make: %d of them, in %d machines.
The answer is what trammel reports.

%s

A mistake that stays within every limit is not caught: a wrong part that carries the load passes.
No such list is complete. [testdata/mistakes](../testdata/mistakes/README.md) describes the machines
and how to add a mistake.

`, len(all), len(machines), caught)
	b.WriteString("| kind of mistake | tried | caught | not yet |\n|---|---|---|---|\n")
	for _, k := range mistakeKinds {
		list := ofKind(all, k)
		open := 0
		for _, o := range list {
			if o.pending != "" {
				open++
			}
		}
		if len(list) > 0 {
			fmt.Fprintf(&b, "| [%s](#%s) | %d | %d | %d |\n", upper(k), strings.ReplaceAll(k, " ", "-"), len(list), len(list)-open, open)
		}
	}
	for _, k := range mistakeKinds {
		list := ofKind(all, k)
		if len(list) == 0 {
			continue
		}
		fmt.Fprintf(&b, "\n## %s\n\n| machine | mistake | edit | answer |\n|---|---|---|---|\n", upper(k))
		for _, o := range list {
			says := o.says
			if o.pending != "" {
				says = "**not yet caught:** " + o.pending
			}
			fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", o.machine, o.title, pipes(o.editWords()), pipes(says))
		}
	}
	return b.String()
}

func ofKind(all []outcome, kind string) []outcome {
	var out []outcome
	for _, o := range all {
		if o.kind == kind {
			out = append(out, o)
		}
	}
	return out
}

// editWords is the edit as the page shows it.
func (m *mistake) editWords() string {
	switch {
	case m.remove != "":
		return "`" + m.remove + "` left out"
	case m.add != nil:
		return "`" + strings.Join(m.add, " ") + "` added"
	}
	return "`" + m.replace + "` → `" + m.with + "`"
}

func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func pipes(s string) string { return strings.ReplaceAll(s, "|", `\|`) }
