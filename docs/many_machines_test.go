package docs

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"trammel/spec/amount"
)

// TestLongParallel runs the recipe for GNU parallel, with this computer alone as its hosts: the
// findings are those of one check.
func TestLongParallel(t *testing.T) {
	amount.Long(t)
	if out, err := exec.Command("parallel", "--version").Output(); err != nil || !strings.HasPrefix(string(out), "GNU parallel") {
		t.Skip("no GNU parallel here")
	}
	page, err := os.ReadFile("many-machines.md")
	if err != nil {
		t.Fatal(err)
	}
	_, recipe, _ := strings.Cut(string(page), "```sh parallel\n")
	recipe, _, ok := strings.Cut(recipe, "```")
	if !ok {
		t.Fatal("the recipe is not there")
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.Join("..", demo))); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "results"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "hosts"), []byte(":\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	bin, err := binary()
	if err != nil {
		t.Skip("cannot build the program here:", err)
	}
	run := func(script string) string {
		c := exec.Command("sh", "-c", script)
		c.Dir, c.Env = dir, append(os.Environ(), "PATH="+filepath.Dir(bin)+string(os.PathListSeparator)+os.Getenv("PATH"), "HOME="+dir)
		out, err := c.Output()
		if c.ProcessState.ExitCode() > 1 {
			t.Fatalf("%s: %v\n%s", script, err, out)
		}
		return string(out)
	}
	if got, want := run(recipe), run("trammel check --today 2026-11-02"); got != want || !strings.Contains(want, "axes") {
		t.Errorf("the recipe found\n%s\none check\n%s", got, want)
	}
}
