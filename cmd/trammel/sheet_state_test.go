package main

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestCommitState: the sheet's commit is the one git names, and a changed spec file is
// said; outside of a repository nothing is.
func TestCommitState(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip("no git")
	}
	dir := t.TempDir()
	if s := commitState(context.Background(), dir); s != "" {
		t.Errorf("no repository: %q", s)
	}
	git := func(args ...string) string {
		t.Helper()
		c := exec.Command("git", append([]string{"-C", dir, "-c", "user.name=x", "-c", "user.email=x@example.org", "-c", "commit.gpgsign=false"}, args...)...)
		out, err := c.CombinedOutput()
		if err != nil {
			t.Fatalf("git %v: %s", args, out)
		}
		return strings.TrimSpace(string(out))
	}
	write := func(text string) {
		if err := os.WriteFile(filepath.Join(dir, "x.axis.hcl"), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	git("init", "-q")
	write("axis \"x\" {\n}\n")
	git("add", ".")
	git("commit", "-qm", "one")
	want := "commit " + git("rev-parse", "HEAD")[:12]
	for _, at := range []string{dir, filepath.Join(dir, "x.axis.hcl")} {
		if s := commitState(context.Background(), at); s != want {
			t.Errorf("%q, expected %q", s, want)
		}
	}
	write("axis \"x\" {\n  orientation = \"horizontal\"\n}\n")
	if s := commitState(context.Background(), dir); s != want+", with changes not committed" {
		t.Errorf("changed: %q", s)
	}
}
