package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestExpect: the cases of the bakery's house rule hold; with another limit in the policy
// what is missing and what is surplus is said with its place.
func TestExpect(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.Join("..", "..", "fixtures", "bakery"))); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, ".git"), 0o777); err != nil {
		t.Fatal(err)
	}
	cases, policy := filepath.Join(dir, ".cases"), filepath.Join(dir, "house.policy.hcl")
	expects := func(status int, words ...string) {
		t.Helper()
		ends(t, status, words, "check", "--expect", cases)
	}
	expects(0, "3 axes, 1 finding as expected, 0 errors\n")
	ends(t, 0, []string{"!lifting-life.axis.hcl"}, "check", "--fail-at", "never", dir) // an ordinary check leaves the cases out
	edit(t, policy, "40000 h", "30000 h")
	expects(1, "lifting-life.axis.hcl:45:16: error: expected in line 45 and not found: lifting-life \"40,000 hours\" [expect]", "0 findings as expected, 1 error")
	edit(t, policy, "30000 h", "90000 h")
	expects(1, "lifting-life.axis.hcl:6:6: error: this finding is not expected", "1 finding as expected, 1 error")
	edit(t, policy, "life_hours", "life_hour")
	expects(1, "house.policy.hcl:28:14: error: this finding is not expected", "unknown-name")
	edit(t, policy, "life_hour ", "life_hours ")
	edit(t, policy, "90000 h", "40000 h")
	name := filepath.Join(cases, "lifting-life.axis.hcl")
	put(t, name, strings.ReplaceAll(text(t, name), "# expect", "# exact"))
	expects(1, "45:6: error: this finding is not expected")
	edit(t, policy, "40000 h", "3000 h")
	fails(t, "nothing is expected in these files", "check", "--expect", cases)
	fails(t, "leave out --form", "check", "--expect", "--form", "json", cases)
	fails(t, "cannot be combined", "check", "--expect", "--known", "x", cases)
	fails(t, "cannot be combined", "check", "--expect", "--since", "HEAD", cases)
}
