package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"trammel/rules"
	"trammel/rules/mechanics"
	"trammel/spec"
)

// TestNewRepository lays out a repository in an empty folder: everything in it can be
// read, and nothing is declared that nobody wrote.
func TestNewRepository(t *testing.T) {
	t.Chdir(t.TempDir())
	ends(t, 0, []string{"house.policy.hcl", "machines/first/feed.axis.hcl"}, "new")
	ends(t, 0, []string{"1 axis,", " 0 findings,", "note: not judged: "}, "check")
	ends(t, 0, nil, "tidy", "--check")
	fails(t, "not empty", "new")
	fails(t, "exists already", "new", "axis", "machines/first/feed")
	fails(t, "--sort cannot be", "new", "axis", "x", "--sort", "sideways")
	fails(t, "no kind of part", "new", "parts", "x", "scrw")
	fails(t, "needs the kinds", "new", "parts", "x")
	fails(t, "needs a path", "new", "axis")
	fails(t, "takes one path", "new", "axis", "a", "b")
	fails(t, "new cannot write \"house\"; write trammel new axis, machine, parts or policy", "new", "house")
	if list, err := filepath.Glob("x*"); err != nil || len(list) > 0 {
		t.Errorf("half written: %q", list)
	}
}

// TestNewLines takes the mark off every line of new files and puts the example of its field
// for its value: what trammel reads then are fields that it knows. So no line is misnamed.
func TestNewLines(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, s := range sortsOfAxis {
		ends(t, 0, nil, "new", "axis", "m/"+s.name, "--sort", s.name)
		src := text(t, "m/"+s.name+".axis.hcl")
		n := 0
		for line := range strings.Lines(src) {
			if _, rest, ok := strings.Cut(line, "# "); ok && strings.Contains(rest, " = ") {
				n++
			}
		}
		if n < 40 || !strings.Contains(src, s.top) {
			t.Errorf("%s: %d lines\n%s", s.name, n, src)
		}
	}
	ends(t, 0, []string{"4 axes,", " 0 findings,"}, "check")
	ends(t, 0, nil, "new", "machine", "m")
	ends(t, 0, nil, "new", "parts", "parts/all", "screw", "nut", "support", "motor", "coupling", "grease", "environment")
	ends(t, 0, nil, "new", "policy", "house")
	ends(t, 0, []string{"4 axes,", " 0 findings,"}, "check")
	// A policy of all defaults says what holds anyway.
	policy := text(t, "house.policy.hcl")
	var lines []string
	for line := range strings.Lines(policy) {
		if !strings.Contains(line, "= …") && !strings.HasPrefix(line, "# Limits") && !strings.HasPrefix(line, "# A looser") {
			lines = append(lines, strings.TrimPrefix(strings.TrimPrefix(line, "#"), " "))
		}
	}
	was := called(t, "rules", ".")
	put(t, "house.policy.hcl", strings.Join(lines, ""))
	is := called(t, "rules", ".")
	if is.status != 0 || strings.Count(is.out, "set at house.policy.hcl:") < 40 || strings.Count(is.out, "\n") != strings.Count(was.out, "\n") {
		t.Errorf("all limits as they are by default: status %d\n%s%s", is.status, is.out, is.err)
	}
}

// TestMissingLines holds that each line that is missing stands in the form once, and that
// what is pasted as it is declares nothing.
func TestMissingLines(t *testing.T) {
	inBakery(t)
	r := ends(t, 0, []string{"# axis door\n", "move \"open\" {", "# ramp = \"… s\"", "# 26 lines are missing"}, "check", "--form", "missing", "machines/proofer/door.axis.hcl")
	for line := range strings.Lines(r.out) {
		if _, rest, ok := strings.Cut(line, "  # "); ok {
			if name, _, ok := strings.Cut(rest, " = "); !ok || strings.Count(r.out, "# "+name+" = ") == 0 {
				t.Errorf("line %q", line)
			}
		}
	}
	ends(t, 0, []string{"# 0 lines are missing"}, "check", "--form", "missing", "machines/slicer/outfeed.axis.hcl")
}

// TestExplain explains everything that has a name.
func TestExplain(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, name := range explained() {
		if r := called(t, "explain", name); r.status != 0 || !strings.HasPrefix(r.out, name+": ") || strings.Contains(r.out, "%!") {
			t.Errorf("explain %s: status %d\n%s%s", name, r.status, r.out, r.err)
		}
	}
	for _, n := range []int{len(mechanics.All()), len(spec.Language().Fields)} {
		if len(explained()) < n {
			t.Errorf("%d names", len(explained()))
		}
	}
	put(t, "m/x.policy.hcl", "rule \"critical-speed\" {\n  limit = \"70 %\"\n}\nrequire \"slow\" {\n  that = motion.stroke > \"1 mm\"\n  message = \"is short\"\n}\n")
	ends(t, 0, []string{"at most 80 %", "Blevins", "needs: ", "!set at"}, "explain", "critical-speed")
	ends(t, 0, []string{"at most 70 %, set at m/x.policy.hcl:2", "critical_speed"}, "explain", "critical-speed", "m")
	ends(t, 0, []string{"house rule set at m/x.policy.hcl:4", "is short"}, "explain", "slow", "m")
	ends(t, 0, []string{"critical-speed: error"}, "rules", "critical-speed")
	ends(t, 0, []string{"nut.preload: preload", "usual: 5 N to 200 kN"}, "explain", "preload")
	fails(t, "did you mean critical-speed?", "explain", "criticl-speed")
	if rules.Book().ByName("critical-speed") == nil {
		t.Error("the rule is gone")
	}
	if err := os.Mkdir("critical-speed", 0o755); err != nil {
		t.Fatal(err)
	}
	ends(t, 0, []string{"accuracy-budget: "}, "rules", "critical-speed")
}

// TestFailNever: findings that nobody has to act on end with 0; what could not be read does not.
func TestFailNever(t *testing.T) {
	inBakery(t)
	ends(t, 0, []string{"[critical-speed]"}, "check", "--fail-at", "never", "machines/loader/travel.axis.hcl")
	put(t, "x.policy.hcl", "rule \"no-such\" {\n}\n")
	ends(t, 2, nil, "check", "--fail-at", "never", "machines/loader/travel.axis.hcl")
}
