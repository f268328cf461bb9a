package spec

import (
	"fmt"
	"math/rand"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/bmatcuk/doublestar/v4"

	"trammel/spec/amount"
)

func walked(t *testing.T, tree *Tree, dir string) []string {
	t.Helper()
	var names []string
	for _, p := range tree.Walk(dir, func(n string) { names = append(names, n) }) {
		t.Errorf("%v: %s", p.Place, p.Message)
	}
	return names
}

// A folder's files come in order of their names, before its sub-folders.
// Hidden folders and files and other kinds of file are passed over.
func TestWalkOrder(t *testing.T) {
	files := fstest.MapFS{}
	for _, n := range []string{
		"z.axis.hcl", "a.policy.hcl", "b/m.parts.hcl", "b/c/x.axis.hcl", "b.axis.hcl", "B.axis.hcl", ".git/x.axis.hcl", ".hidden/x.axis.hcl",
		".x.axis.hcl", "main.tf", "x.hcl", "axis.hcl", "b/x.axis.hcl.orig", "b-c/x.axis.hcl", "x.AXIS.hcl", ".axis.hcl", "node_modules/y.axis.hcl",
	} {
		files[n] = &fstest.MapFile{}
	}
	want := []string{"B.axis.hcl", "a.policy.hcl", "b.axis.hcl", "z.axis.hcl", "b/m.parts.hcl", "b/c/x.axis.hcl", "b-c/x.axis.hcl", "node_modules/y.axis.hcl"}
	if got := walked(t, NewTree(files), "."); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := walked(t, NewTree(files), "b"); !slices.Equal(got, want[4:6]) {
		t.Errorf("got %q", got)
	}
	names, err := NewTree(files).AxisFiles(".")
	if want := []string{"B.axis.hcl", "b.axis.hcl", "z.axis.hcl"}; err != nil || !slices.Equal(names, want) {
		t.Errorf("got %q, %v", names, err)
	}
}

// The lines a .gitignore may hold, each compared with git itself.
var ignoreLines = []string{
	"a.axis.hcl", "/a.axis.hcl", "a/", "/a/", "a/b", "/a/b/", "b", "**/b", "b/**", "a/**/c", "/**/c", "a/*", "a/*/", "*.axis.hcl", "!a.axis.hcl",
	"!/a/b/", "!*.axis.hcl", "?.axis.hcl", "[ab].axis.hcl", "[!a].axis.hcl", "[^a].axis.hcl", "[a-b]*", "# a", `\#a.axis.hcl`, `\!a.axis.hcl`,
	"a.axis.hcl   ", "a.axis.hcl\\ ", "a.axis.hcl\\   ", " a.axis.hcl", "{a,b}.axis.hcl", "a**", "**a.axis.hcl", "**", "*", "*/", "/*", "!*/", "/", "//", "",
	"c/a.axis.hcl", "a/**", "!a/**", "**/a/**", "*/b", "a//b", "./a", "../a", `\a`, `a\`, "a/b/c/", "[a", "a]", "**/", "***", "a/***/c", "[]a].axis.hcl", "[!]a].axis.hcl", "[^]]*", "a****", "a\t", "!", "!!a", "a/**/", "**/**/c", "b c.axis.hcl", "*c.axis.hcl", "{*}", "[{]a,b}.axis.hcl",
}

var ignoreNames = func() []string {
	var names []string
	files := []string{"a.axis.hcl", "b.axis.hcl", "b c.axis.hcl", "#a.axis.hcl", "!a.axis.hcl", "{a,b}.axis.hcl", "a.axis.hcl "}
	for _, d := range []string{"", "a/", "b/", "c/", "a/b/", "a/c/", "b/a/", "a/b/c/", "a/a/c/"} {
		for _, f := range files[:2] {
			names = append(names, d+f)
		}
	}
	return append(names, files[2:6]...)
}()

func TestIgnoreAsGitDoes(t *testing.T) {
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("no git")
	}
	dir := t.TempDir()
	git := func(args ...string) string {
		t.Helper()
		c := exec.Command("git", args...)
		c.Dir = dir
		c.Env = append(os.Environ(), "GIT_CONFIG_GLOBAL=/dev/null", "GIT_CONFIG_SYSTEM=/dev/null", "HOME="+dir, "XDG_CONFIG_HOME="+dir)
		out, err := c.CombinedOutput()
		if err != nil {
			t.Fatalf("git %s: %v\n%s", args, err, out)
		}
		return string(out)
	}
	git("init", "-q")
	for _, n := range ignoreNames {
		full := filepath.Join(dir, n)
		if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(full, nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	compare := func(ignores map[string]string) {
		t.Helper()
		for n, text := range ignores {
			if err := os.WriteFile(filepath.Join(dir, n), []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
			defer os.Remove(filepath.Join(dir, n))
		}
		var want []string
		for _, n := range strings.Split(git("ls-files", "-z", "-co", "--exclude-standard"), "\x00") {
			if IsSpec(n) {
				want = append(want, n)
			}
		}
		tree := NewTree(root.FS())
		got := walked(t, tree, ".")
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("with %q\nwe find   %q\ngit finds %q", ignores, got, want)
		}
		for _, n := range ignoreNames {
			if ignored(tree, n) == slices.Contains(want, n) {
				t.Errorf("with %q: ignored(%q) = %v", ignores, n, ignored(tree, n))
			}
		}
	}
	for _, line := range amount.Some(ignoreLines, 3, strings.Clone) {
		compare(map[string]string{".gitignore": line + "\n"})
	}
	compare(map[string]string{".gitignore": "\ufeffa.axis.hcl\r\n/b\r\n"})
	compare(map[string]string{".gitignore": "*.axis.hcl\n", "a/.gitignore": "!a.axis.hcl\n/b/\n", "a/c/.gitignore": "a.axis.hcl"})
	compare(map[string]string{".gitignore": "a/\n", "a/.gitignore": "!a.axis.hcl\n!b/\n"})
	compare(map[string]string{"a/.gitignore": "/c\n**/c/a.axis.hcl\n", "b/.gitignore": "*\n!.gitignore\n"})
	r := rand.New(rand.NewSource(1))
	pick := func() string { return ignoreLines[r.Intn(len(ignoreLines))] }
	rounds := amount.Of(60, 10)
	if testing.Short() || raceEnabled {
		rounds = 10
	}
	for range rounds {
		compare(map[string]string{".gitignore": pick() + "\n" + pick() + "\n" + pick(), path.Join(string("abc"[r.Intn(3)]), ".gitignore"): pick() + "\n" + pick() + "\n"})
	}
}

// byEachLine tries every line of a .gitignore in the root as a pattern of its
// own, from the last one on.
func byEachLine(src []byte, name string, folder bool) bool {
	lines := strings.Split(strings.TrimPrefix(string(src), string(bom)), "\n")
	slices.Reverse(lines)
	for _, l := range lines {
		rule, ok := ignoreLine(strings.TrimSuffix(l, "\r"))
		if ok && (folder || !rule.folder) && doublestar.MatchUnvalidated(rule.pattern, name) {
			return !rule.keep
		}
	}
	return false
}

// TestIgnoreByEachLine holds what is looked up against what is tried.
func TestIgnoreByEachLine(t *testing.T) {
	r := rand.New(rand.NewSource(2))
	lines := append(slices.Clone(ignoreLines), "a*", "*c", "a/*", "/a", "/a/b", "!a", "a?", "b\\*", "**/c", "a/**/b", "[ab]", "b]", "a.axis.hcl/")
	words := []string{"a", "b", "c", "ab", "b*", "b]", "a.axis.hcl", "é"}
	for range 3000 {
		var src, name []string
		for range 1 + r.Intn(6) {
			src = append(src, lines[r.Intn(len(lines))])
		}
		for range 1 + r.Intn(4) {
			name = append(name, words[r.Intn(len(words))])
		}
		text, path, folder := []byte(strings.Join(src, "\n")), strings.Join(name, "/"), r.Intn(2) == 0
		rules := ignoreRules{files: []*ignoreFile{readIgnore(string(text))}, work: &ignoreWork{left: maxIgnoreWork}}
		rules.files[0].base = "."
		if got, want := rules.match(path, folder), byEachLine(text, path, folder); got != want {
			t.Errorf("%q, %q, folder %v: %v, want %v", text, path, folder, got, want)
		}
	}
}

// TestLongIgnoreWork holds what a large .gitignore costs: names nothing, patterns no
// more than is granted for all files together. Then it says so and passes
// nothing over.
func TestLongIgnoreWork(t *testing.T) {
	amount.Long(t)
	var names, patterns, hard strings.Builder
	for i := 0; names.Len() < MaxFileSize-20; i++ {
		fmt.Fprintf(&names, "n%d\n/p/%d\n", i, i)
	}
	for i := 0; patterns.Len() < MaxFileSize-20; i++ {
		fmt.Fprintf(&patterns, "*n%d\n", i)
	}
	for hard.Len() < MaxFileSize-300 {
		hard.WriteString("*" + strings.Repeat("a", 200) + "b*\n")
	}
	name := strings.Repeat("a", 200) + AxisSuffix
	for what, c := range map[string]struct {
		src   string
		files int
		used  int
		says  bool
	}{
		"names": {names.String(), 1000, 0, false}, "patterns": {patterns.String(), 10, 20_000_000, false}, "hard patterns": {hard.String(), 20, 3 << 30, true},
		"patterns and many files": {patterns.String(), 2000, 3 << 30, true},
	} {
		files := fstest.MapFS{".gitignore": {Data: []byte(c.src)}}
		for i := range c.files {
			files[fmt.Sprint(i, name)] = &fstest.MapFile{}
		}
		rules := ignoreRules{work: &ignoreWork{left: maxIgnoreWork}}
		w := &walker{tree: NewTree(files), found: func(string) { c.files-- }}
		w.walk(".", rules, false)
		if used := maxIgnoreWork - rules.work.left; used > c.used || used > maxIgnoreWork+1<<20 {
			t.Errorf("%s: took %d", what, used)
		}
		problems := rules.work.problems()
		if (len(problems) > 0) != c.says || c.files != 0 || c.says && problems[0].Place.File != ".gitignore" {
			t.Errorf("%s: %d files are missing, %v", what, c.files, problems)
		}
	}
}

func TestIgnoreHuge(t *testing.T) {
	var b strings.Builder
	for i := 0; b.Len() < MaxFileSize/4; i++ {
		fmt.Fprintf(&b, "**/*a*%d*/**/?*\n", i)
	}
	files := fstest.MapFS{".gitignore": {Data: []byte(b.String())}, "x/.gitignore": {Data: []byte(strings.Repeat("*a", 500) + "\n" + strings.Repeat("**/", 500) + "a\n")}}
	name := "x/" + strings.Repeat("a", 200) + AxisSuffix
	files[name] = &fstest.MapFile{}
	if got := walked(t, NewTree(files), "."); len(got) != 1 {
		t.Errorf("%q", got)
	}
}

// ignored reports whether a .gitignore of the tree names a file.
func ignored(t *Tree, name string) bool {
	rules := t.ignoreAbove(name)
	parts := strings.Split(name, "/")
	for i := range parts {
		if rules.match(strings.Join(parts[:i+1], "/"), i < len(parts)-1) {
			return true
		}
	}
	return false
}
