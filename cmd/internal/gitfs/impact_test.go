package gitfs

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"testing"
	"time"

	"trammel/cmd/internal/impact"
	"trammel/spec"
	"trammel/spec/amount"
)

// show writes an impact as lines: file, axes, reasons.
func show(i impact.Impact) []string {
	var out []string
	for _, f := range i.Files {
		axes := "*"
		if i.Axes[f] != nil {
			axes = strings.Join(i.Axes[f], ",")
		}
		out = append(out, f+" ["+axes+"] "+strings.Join(i.Why[f], "; "))
	}
	for _, f := range i.Removed {
		out = append(out, "removed "+f)
	}
	return out
}

func use(name, part string) string { return axis(name, "  screw {\n    part = "+part+"\n  }\n") }

func screw(name, lead string) string {
	return fmt.Sprintf("screw %q {\n  lead = %q\n}\n", name, lead)
}

// changed is a tree in which parts and policies change.
var changed = map[string]string{
	"parts/s.parts.hcl":    screw("k1", "10 mm") + screw("k2", "20 mm"),
	"house.policy.hcl":     "rule \"min-lead\" {\n  severity = \"note\"\n}\n",
	"m/a.axis.hcl":         use("a", "screw.k1"),
	"m/b.axis.hcl":         use("b", "screw.k2"),
	"x/x.axis.hcl":         use("x", "screw.k2"),
	"x/esc.axis.hcl":       use("z", `screw["k\u0031"]`),
	"x/fine.policy.hcl":    "rule \"min-lead\" {\n  severity = \"error\"\n}\n",
	"x/parts/own.axis.hcl": use("own", "screw.k1"),
}

// TestAffectedInARepository goes the whole way for all kinds of states.
func TestAffectedInARepository(t *testing.T) {
	t.Parallel()
	dir := scratch(t)
	for name, text := range changed {
		write(t, dir, name, text)
	}
	commit(t, dir)
	r := open(t, dir)
	write(t, dir, "parts/s.parts.hcl", strings.Replace(changed["parts/s.parts.hcl"], "10 mm", "9 mm", 1))
	want := []string{
		"m/a.axis.hcl [a] parts/s.parts.hcl: screw.k1", "x/esc.axis.hcl [z] parts/s.parts.hcl: screw.k1",
		"x/parts/own.axis.hcl [own] parts/s.parts.hcl: screw.k1",
	}
	check := func(from, to string, now fs.FS) {
		t.Helper()
		list, err := r.Changed(from, to)
		if err != nil {
			t.Fatal(err)
		}
		find, err := r.Find(to)
		if err != nil {
			t.Fatal(err)
		}
		got, err := impact.Of(impact.NewState(at(t, r, from)), impact.NewState(now), list, find)
		if err != nil {
			t.Fatal(err)
		}
		same(t, show(got), want)
	}
	check("HEAD", Worktree, onDisk(dir))
	git(t, dir, "add", "-A")
	check("HEAD", Index, staged(t, r))
	commit(t, dir)
	check("HEAD~1", "HEAD", at(t, r, "HEAD"))

	// A renamed axis in the working tree, and a policy: what is gone is not found.
	git(t, dir, "mv", "x/x.axis.hcl", "x/ x.axis.hcl")
	write(t, dir, "x/fine.policy.hcl", "")
	want = []string{"x/ x.axis.hcl [*] x/fine.policy.hcl", "x/esc.axis.hcl [*] x/fine.policy.hcl", "x/parts/own.axis.hcl [*] x/fine.policy.hcl"}
	check("HEAD", Worktree, onDisk(dir))

	// A folder moved with its parts; what git has besides spec files is not in its lists.
	write(t, dir, "x/parts/s.parts.hcl", screw("k1", "10 mm"))
	write(t, dir, "x/read.me", "text")
	git(t, dir, "add", "-A")
	commit(t, dir)
	git(t, dir, "mv", "x", "y")
	want = nil
	check("HEAD", Worktree, onDisk(dir))
	check("HEAD", Index, staged(t, r))
	commit(t, dir)
	check("HEAD~1", "HEAD", at(t, r, "HEAD"))
}

// bigRepository has n axes on n/10 machines; every hundredth axis uses the
// screw "rare", the others "usual".
func bigRepository(t testing.TB, n int) string {
	dir := scratch(t)
	write(t, dir, "parts/s.parts.hcl", screw("rare", "10 mm")+screw("usual", "20 mm"))
	write(t, dir, "house.policy.hcl", changed["house.policy.hcl"])
	for i := range n {
		m := fmt.Sprintf("plants/p%02d/m%04d/", i/500, i/10)
		part := "screw.usual"
		if i%100 == 7 {
			part = "screw.rare"
		}
		write(t, dir, m+fmt.Sprintf("a%05d.axis.hcl", i), use(fmt.Sprintf("a%d", i), part)+strings.Repeat("# a line of a usual length in a file\n", 40))
		if i%10 == 0 {
			write(t, dir, m+"machine.axis.hcl", fmt.Sprintf("machine \"m%d\" {\n}\n", i/10))
		}
	}
	commit(t, dir)
	return dir
}

// TestLongBigRepository holds the work against bounds far above what it takes.
func TestLongBigRepository(t *testing.T) {
	amount.Long(t)
	t.Parallel()
	dir := bigRepository(t, 1000)
	r := open(t, dir)
	write(t, dir, "parts/s.parts.hcl", screw("rare", "11 mm")+screw("usual", "20 mm"))
	git(t, dir, "add", "parts")
	start := time.Now()
	list, err := r.Changed("HEAD", Index)
	if err != nil {
		t.Fatal(err)
	}
	find, err := r.Find(Index)
	if err != nil {
		t.Fatal(err)
	}
	i, err := impact.Of(impact.NewState(at(t, r, "HEAD")), impact.NewState(staged(t, r)), list, find)
	if err != nil {
		t.Fatal(err)
	}
	if d := time.Since(start); d > 5*time.Second {
		t.Errorf("it took %v", d)
	}
	if len(i.Files) != 10 || !slices.Contains(i.Files, "plants/p00/m0000/a00007.axis.hcl") {
		t.Errorf("%d files", len(i.Files))
	}
	tree := newFiles(r.objects, git(t, dir, "rev-parse", "HEAD^{tree}"), nil)
	if spec.NewTree(tree).Folder("plants/p01/m0050"); len(tree.folders) > 6 {
		t.Errorf("reading the scope of one folder listed %d folders", len(tree.folders))
	}
}
