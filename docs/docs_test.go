package docs

import (
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the generated pages and the output in the examples")

const stale = "run `make docs` and look at what changed"

func TestGenerated(t *testing.T) {
	pages, err := Pages()
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := Write(".", pages); err != nil {
			t.Fatal(err)
		}
	}
	names, err := Stale(".", pages)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		t.Errorf("docs/%s is not what the program makes; %s", n, stale)
	}
	for _, p := range pages {
		if strings.Contains(string(p.Text), "<no value>") {
			t.Errorf("docs/%s: a template has no value", p.Path)
		}
	}
}

// TestStale holds that a missing page, a changed one and one of a rule that is
// gone are noticed and put right.
func TestStale(t *testing.T) {
	pages, err := Pages()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := Write(dir, pages); err != nil {
		t.Fatal(err)
	}
	check := func(want ...string) {
		t.Helper()
		got, err := Stale(dir, pages)
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("stale: %q, %v; want %q", got, err, want)
		}
	}
	check()
	gone, changed, missing := filepath.Join(dir, "rules", "zz-gone.md"), filepath.Join(dir, "language.md"), filepath.Join(dir, "quantities.md")
	for _, err := range []error{os.WriteFile(gone, []byte("old\n"), 0o644), os.WriteFile(changed, []byte("old\n"), 0o644), os.Remove(missing)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	check("language.md", "quantities.md", "rules/zz-gone.md")
	if err := Write(dir, pages); err != nil {
		t.Fatal(err)
	}
	check()
	if _, err := os.Stat(gone); !os.IsNotExist(err) {
		t.Error("the page of a rule that is gone is still there")
	}
}

// A document is one Markdown file of the project.
type document struct {
	name  string // below the project's root
	lines []string
}

// documents reads every Markdown file people read.
func documents(t *testing.T) []document {
	t.Helper()
	names := []string{"README.md", "DEVELOPERS.md"}
	err := filepath.WalkDir(".", func(p string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() && d.Name() == "templates" {
			return fs.SkipDir
		}
		if err == nil && strings.HasSuffix(p, ".md") {
			names = append(names, "docs/"+filepath.ToSlash(p))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	var out []document
	for _, n := range names {
		src, err := os.ReadFile(filepath.Join("..", filepath.FromSlash(n)))
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, document{n, strings.Split(string(src), "\n")})
	}
	return out
}

var (
	linkRE    = regexp.MustCompile(`\]\(([^)\s]+)\)`)
	headingRE = regexp.MustCompile(`^#{1,6} (.+)$`)
	codeRE    = regexp.MustCompile("`[^`]*`")
)

// TestLinks follows every link inside the project, anchors included, and holds
// the pages to plain form.
func TestLinks(t *testing.T) {
	docs := documents(t)
	anchors := map[string]map[string]bool{}
	for _, d := range docs {
		anchors[d.name] = map[string]bool{}
		inFence := false
		for _, l := range d.lines {
			if strings.HasPrefix(l, "```") {
				inFence = !inFence
			}
			if m := headingRE.FindStringSubmatch(l); m != nil && !inFence {
				a := anchor(m[1])
				for n := 1; anchors[d.name][a]; n++ {
					a = fmt.Sprintf("%s-%d", anchor(m[1]), n)
				}
				anchors[d.name][a] = true
			}
		}
	}
	for _, d := range docs {
		inFence := false
		for i, l := range d.lines {
			at := fmt.Sprintf("%s:%d", d.name, i+1)
			if strings.TrimRight(l, " \t") != l {
				t.Errorf("%s: trailing space", at)
			}
			if strings.HasPrefix(l, "```") {
				inFence = !inFence
			}
			if inFence {
				continue
			}
			for _, m := range linkRE.FindAllStringSubmatch(codeRE.ReplaceAllString(l, "`"), -1) {
				target, frag, _ := strings.Cut(m[1], "#")
				if strings.Contains(target, "://") {
					t.Errorf("%s: %s leads out of the project", at, m[1])
					continue
				}
				file := d.name
				if target != "" {
					file = path.Join(path.Dir(d.name), target)
					if _, err := os.Stat(filepath.Join("..", filepath.FromSlash(file))); err != nil {
						t.Errorf("%s: there is no %s", at, file)
						continue
					}
				}
				if frag != "" && !anchors[file][frag] {
					t.Errorf("%s: %s has no heading for #%s", at, file, frag)
				}
			}
		}
		if inFence {
			t.Errorf("%s: a block of code is not closed", d.name)
		}
		if n := len(d.lines); n < 2 || d.lines[n-1] != "" || d.lines[n-2] == "" {
			t.Errorf("%s: must end with one newline", d.name)
		}
	}
}

// TestCommands holds that README, Makefile and .ci/run speak of the same test.
func TestCommands(t *testing.T) {
	for name, want := range map[string]string{
		"README.md": "```sh\ngo test ./...\n```",
		"Makefile":  "\t$(GO) test ./...\n",
		".ci/run":   "\ngo test ./...\n",
	} {
		src, err := os.ReadFile(filepath.Join("..", name))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(src), want) {
			t.Errorf("%s does not run the tests with go test ./...", name)
		}
	}
}
