package docs

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"trammel/spec/amount"
)

// recipe is what the page about several computers has between two texts.
func recipe(t *testing.T, from, to string) string {
	t.Helper()
	page, err := os.ReadFile("many-machines.md")
	if err != nil {
		t.Fatal(err)
	}
	_, text, found := strings.Cut(string(page), from)
	text, _, ends := strings.Cut(text, to)
	if !found || !ends {
		t.Fatalf("the recipe after %q is not there", from)
	}
	return text
}

// inCheckout gives a way to run scripts in a folder like the one that all computers share.
func inCheckout(t *testing.T) func(script string, env ...string) string {
	t.Helper()
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
	return func(script string, env ...string) string {
		c := exec.Command("sh", "-c", script)
		c.Dir, c.Env = dir, append(append(os.Environ(), "PATH="+filepath.Dir(bin)+string(os.PathListSeparator)+os.Getenv("PATH"), "HOME="+dir), env...)
		out, err := c.Output()
		if c.ProcessState.ExitCode() > 1 {
			t.Fatalf("%s: %v\n%s", script, err, out)
		}
		return string(out)
	}
}

const oneCheck = "trammel check --today 2026-11-02"

// TestLongParallel runs the recipe for GNU parallel, with this computer alone as its hosts: the
// findings are those of one check.
func TestLongParallel(t *testing.T) {
	amount.Long(t)
	if out, err := exec.Command("parallel", "--version").Output(); err != nil || !strings.HasPrefix(string(out), "GNU parallel") {
		t.Skip("no GNU parallel here")
	}
	run := inCheckout(t)
	if got, want := run(recipe(t, "```sh parallel\n", "```")), run(oneCheck); got != want || !strings.Contains(want, "axes") {
		t.Errorf("the recipe found\n%s\none check\n%s", got, want)
	}
}

// TestLongNumberedJobs runs the scripts of the other two schedulers, which are not here,
// with the numbers that those give, and then the merge: the findings are those of one check.
func TestLongNumberedJobs(t *testing.T) {
	amount.Long(t)
	for _, c := range []struct {
		name, script, number string
		first                int
		merge                string
	}{
		{"Kubernetes", recipe(t, "            - |\n", "          resources:"), "JOB_COMPLETION_INDEX", 0, "trammel merge results/*.json"},
		{"Slurm", recipe(t, "```sh\n#!/bin/sh\n", "```"), "SLURM_ARRAY_TASK_ID", 1, recipe(t, "--wrap '", " > findings.txt'")},
	} {
		run := inCheckout(t)
		run("sh -n -c '" + strings.ReplaceAll(c.script, "'", `'\''`) + "'")
		for i := range 8 {
			run(c.script, c.number+"="+strconv.Itoa(c.first+i))
		}
		if got, want := run(c.merge), run(oneCheck); got != want || !strings.Contains(want, "axes") {
			t.Errorf("%s: the recipe found\n%s\none check\n%s", c.name, got, want)
		}
	}
}
