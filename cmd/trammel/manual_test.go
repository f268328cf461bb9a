package main

import (
	"bytes"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

func readPages(t *testing.T, dir string) map[string]string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, f := range files {
		out[filepath.Base(f)] = text(t, f)
	}
	return out
}

func TestManual(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "man", "man1")
	r := called(t, "manual", dir)
	if r != (result{}) {
		t.Fatalf("%+v", r)
	}
	pages := readPages(t, dir)
	called(t, "manual", dir)
	if again := readPages(t, dir); !maps.Equal(pages, again) {
		t.Error("other bytes each time")
	}
	root := rootCommand()
	want := map[string]bool{"trammel.1": true}
	for _, c := range root.Commands() {
		if c.Hidden {
			continue
		}
		name := "trammel-" + c.Name() + ".1"
		want[name] = true
		page := pages[name]
		for _, head := range []string{"NAME", "SYNOPSIS", "DESCRIPTION", "OPTIONS", "EXIT STATUS", "SEE ALSO"} {
			if strings.Count(page, "\n.SH "+head+"\n") != 1 {
				t.Errorf("%s has not one section %s", name, head)
			}
		}
		if !strings.Contains(pages["trammel.1"], "\\fB"+c.Name()+"\\fR\n") {
			t.Errorf("trammel.1 does not name %s", c.Name())
		}
	}
	for name := range pages {
		if !want[name] {
			t.Errorf("there is a page %s", name)
		}
		if strings.Contains(pages[name], "20") && regexp.MustCompile(`\.TH .*20\d\d`).MatchString(pages[name]) {
			t.Errorf("%s holds a date", name)
		}
		// Nothing of the text is taken for a request.
		for l := range strings.Lines(pages[name]) {
			if strings.HasPrefix(l, ".") && !regexp.MustCompile(`^\.(TH|SH|PP|TP|RS 4|RE|nf|fi|BR)\b`).MatchString(l) || strings.HasPrefix(l, "'") {
				t.Errorf("%s: %q", name, l)
			}
		}
	}
	for name := range want {
		if pages[name] == "" {
			t.Errorf("there is no page %s", name)
		}
	}
	check := pages["trammel-check.1"]
	for _, s := range []string{`\fB\-\-since\fR \fIstring\fR`, "1 findings; 2 the check", "trammel check \\-\\-staged \\-\\-since HEAD", ".BR trammel\\-compare (1)"} {
		if !strings.Contains(check, s) {
			t.Errorf("trammel-check.1 lacks %q", s)
		}
	}
	needs(t, "mandoc", "mandoc")
	for name := range pages {
		// A page without a date is what is wanted here.
		out, _ := exec.Command("mandoc", "-Tlint", "-Wwarning", filepath.Join(dir, name)).CombinedOutput()
		for l := range strings.Lines(string(out)) {
			if !strings.Contains(l, "missing date") {
				t.Error(l)
			}
		}
	}
}

func TestManualUsage(t *testing.T) {
	fails(t, "write trammel manual folder", "manual")
	t.Chdir(t.TempDir())
	put(t, "file", "x")
	fails(t, "file: it is no folder", "manual", "file")
	if r := called(t, "--help"); !strings.Contains(r.out, "trammel manual DIR") || !strings.Contains(r.out, "completion") {
		t.Errorf("help says\n%s", r.out)
	}
}

func TestRoff(t *testing.T) {
	for in, want := range map[string]string{
		".SH X": `\&.SH X`, "'x": `\&'x`, `a\fB`: `a\efB`, "--x": `\-\-x`, "a.b": "a.b", "…°": "…°",
	} {
		if got := roff(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
}

func TestCompletion(t *testing.T) {
	fails(t, "choose bash, zsh or fish", "completion", "other")
	fails(t, "write trammel completion shell", "completion")
	for _, s := range shells {
		r := called(t, "completion", s.name)
		if r.status != 0 || r.err != "" || !strings.Contains(r.out, "trammel") || called(t, "completion", s.name) != r {
			t.Errorf("%s: %d %s", s.name, r.status, r.err)
		}
		t.Run(s.name, func(t *testing.T) {
			if _, err := exec.LookPath(s.name); err != nil && s.name != "bash" {
				t.Skipf("%s is missing here", s.name)
			}
			needs(t, s.name, s.name)
			file := filepath.Join(t.TempDir(), "script")
			put(t, file, r.out)
			if out, err := exec.Command(s.name, "-n", file).CombinedOutput(); err != nil || len(out) > 0 {
				t.Errorf("%v\n%s", err, out)
			}
		})
	}
	// What the scripts ask for.
	r := called(t, "__complete", "com")
	if !strings.Contains(r.out, "compare\t") || !strings.Contains(r.out, "completion\t") {
		t.Errorf("com… gives %s", r.out)
	}
	if r := called(t, "__complete", "completion", ""); !strings.HasPrefix(r.out, "bash\nzsh\nfish\n") {
		t.Errorf("completion … gives %s", r.out)
	}
	if r := called(t, "__complete", "check", "--st"); !strings.Contains(r.out, "--staged") {
		t.Errorf("check --st… gives %s", r.out)
	}
	if _, err := exec.LookPath("bash"); err != nil {
		return
	}
	onPath(t)
	script := "source <(trammel completion bash); complete -p trammel"
	out, err := exec.Command("bash", "-c", script).CombinedOutput()
	if err != nil || !bytes.Contains(out, []byte("__start_trammel")) {
		t.Errorf("bash: %v\n%s", err, out)
	}
}

// docBlock is a block of code of a document by its info string. With -update it
// is replaced.
func docBlock(t *testing.T, doc, info, got string) {
	t.Helper()
	src := text(t, doc)
	before, rest, ok := strings.Cut(src, "```"+info+"\n")
	have, after, ok2 := strings.Cut(rest, "```")
	if !ok || !ok2 {
		t.Fatalf("%s has no block %q", doc, info)
	}
	if have == got {
		return
	}
	if *update {
		if err := os.WriteFile(doc, []byte(before+"```"+info+"\n"+got+"```"+after), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	t.Errorf("%s: the block %q is stale; run this test with -update\n--- there\n%s--- now\n%s", doc, info, have, got)
}

// TestCompareDocument holds the examples in docs/compare.md.
func TestCompareDocument(t *testing.T) {
	doc, err := filepath.Abs(filepath.Join("..", "..", "docs", "compare.md"))
	if err != nil {
		t.Fatal(err)
	}
	inBakery(t)
	edit(t, screws, `"12.7 kN"`, `"9 kN"`)
	commitAll(t, "rating")
	r := called(t, "compare", "HEAD~1")
	docBlock(t, doc, "console text", "$ git commit -a -m \"Ratings by the new data sheet\"\n$ trammel compare HEAD~1\n"+r.out)
	r = called(t, "compare", "HEAD~1", "--form", "json")
	lines := strings.SplitAfter(r.out, "\n")
	docBlock(t, doc, "json", strings.Join(lines[:24], ""))
}

// TestKnownDocument holds the list in docs/forms.md.
func TestKnownDocument(t *testing.T) {
	doc, err := filepath.Abs(filepath.Join("..", "..", "docs", "forms.md"))
	if err != nil {
		t.Fatal(err)
	}
	inBakery(t)
	called(t, "check", "--no-fixes", "--known", knownList, "--record", "machines/loader", "machines/depositor")
	docBlock(t, doc, "text known", text(t, knownList))
}
