package spec

import (
	"runtime"
	"strings"
	"testing"
	"testing/fstest"
	"weak"
)

// TestWaived holds that a name in a policy's waiver is one of an axis or part in the
// policy's folder or below.
func TestWaived(t *testing.T) {
	t.Parallel()
	waive := func(line string) string {
		return "waive \"min-lead\" {\n  reason = \"x\"\n  until = \"2027-01-01\"\n  " + line + "\n}\n"
	}
	for _, c := range []struct{ line, want string }{
		{"", ""},
		{`axes = ["near", "far"]`, ""},
		{`axes = ["above"]`, "m/p.policy.hcl:4:10 unknown-name waiver of min-lead: no axis above is declared in this folder or below; available here: far, near"},
		{`axes = ["near", "faar"]`, "m/p.policy.hcl:4:10 unknown-name waiver of min-lead: no axis faar is declared in this folder or below; did you mean far?"},
		{`axes = []`, "m/p.policy.hcl:4:10 value waiver of min-lead: the list names no axis; name some, or leave the line out"},
		{`parts = ["screw.here", "screw.20x5", "screw.row"]`, ""},
		{`parts = ["screw.up"]`, "m/p.policy.hcl:4:11 unknown-name waiver of min-lead: no part screw.up is declared in this folder or below; did you mean screw.row?"},
		{`parts = ["here"]`, "m/p.policy.hcl:4:11 unknown-name waiver of min-lead: no part here is declared in this folder or below; available here: screw.20x5, screw.here, screw.row"},
	} {
		fsys := fstest.MapFS{}
		for name, text := range map[string]string{
			"a.axis.hcl": "axis \"above\" {\n}\n", "m/n.axis.hcl": "axis \"near\" {\n}\n", "m/x/f.axis.hcl": "axis \"far\" {\n}\n",
			"parts/u.parts.hcl": "screw \"up\" {\n}\n", "m/parts/h.parts.hcl": "screw \"here\" {\n}\nscrew \"20x5\" {\n}\n",
			"m/x/r.parts.hcl": "series \"k\" {\n  of = \"screw\"\n  columns = [\"lead mm\", \"name\"]\n  sizes = [[5, \"row\"]]\n}\n",
			"m/p.policy.hcl":  waive(c.line), "m/x/q.policy.hcl": "rule \"min-lead\" {\n}\n",
		} {
			fsys[name] = &fstest.MapFile{Data: []byte(text)}
		}
		tree := NewTree(fsys)
		var got []string
		for _, p := range append(append(tree.Waived("m/p.policy.hcl"), tree.Waived("m/x/q.policy.hcl")...), tree.Waived("m/none.policy.hcl")...) {
			text := p.Place.String() + " " + p.Rule + " " + p.Message
			if p.Help != "" {
				text += "; " + p.Help
			}
			got = append(got, text)
		}
		if all := strings.Join(got, "\n"); all != c.want {
			t.Errorf("%s: got\n%s\nexpected\n%s", c.line, all, c.want)
		}
	}
}

// TestWaiverApart: a waiver, which is told with its finding at the end of a run, does not keep
// the values of its axis in memory.
func TestWaiverApart(t *testing.T) {
	waiver, mass := func() (*Waiver, weak.Pointer[Value]) {
		file := axisFile("axis \"a\" {\n  load {\n    mass = \"3 kg\"\n  }\n  waive \"min-lead\" {\n    reason = \"seen\"\n    until = \"2027-01-01\"\n  }\n}\n")
		a := file.Axes[0]
		return a.Waivers[0], weak.Make(a.Get(Language().FieldAt("load.mass")))
	}()
	runtime.GC()
	if mass.Value() != nil {
		t.Error("the waiver keeps the mass")
	}
	if waiver.Reason.Text != "seen" || waiver.Until.Text != "2027-01-01" {
		t.Errorf("waiver %+v", waiver)
	}
}
