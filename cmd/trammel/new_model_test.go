package main

import (
	"os"
	"strings"
	"testing"
)

// TestNewFromModel writes an axis from the model of an assembly. It is valid at once and
// agrees with its model, whichever end is then taken for the driven one; what the model
// does not say is not declared.
func TestNewFromModel(t *testing.T) {
	model, err := os.ReadFile("../../fixtures/rules/model-agrees/cad/assembly.step")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	put(t, "m/cad/lift.step", string(model))
	ends(t, 0, []string{"m/lift.axis.hcl"}, "new", "axis", "m/lift", "--from", "m/cad/lift.step")
	written := text(t, "m/lift.axis.hcl")
	for _, line := range []string{
		"#   1 mm to 40 mm: cylinder of 15 mm (#139)",
		`    model  = "cad/lift.step"`,
		`    length = "385 mm" # lift.step:#47 and #374`,
		`    # nominal_diameter = "20 mm" # if the thread (lift.step:#229, 320 mm long) is drawn`,
		`    length = "50 mm" # lift.step:#399 and #612`,
	} {
		if !strings.Contains(written, line) {
			t.Errorf("%q is missing in\n%s", line, written)
		}
	}
	ends(t, 0, []string{" 0 findings,"}, "check", "m")
	ends(t, 0, nil, "tidy", "--check")
	taken := 0
	for _, order := range []string{`"40 mm", "25 mm"`, `"25 mm", "40 mm"`} {
		lines := strings.Split(written, "\n")
		for i, l := range lines {
			if strings.Contains(l, "# end_lengths = ["+order) {
				lines[i], lines[i+1] = strings.Replace(l, "# ", "", 1), strings.Replace(lines[i+1], "# ", "", 1)
				taken++
			}
			if strings.Contains(l, "# nominal_diameter") {
				lines[i] = "    nominal_diameter = \"20 mm\"\n    root_diameter = \"17 mm\""
			}
		}
		put(t, "m/lift.axis.hcl", strings.Join(lines, "\n"))
		ends(t, 0, []string{" 0 findings,"}, "check", "m")
	}
	if taken != 2 {
		t.Errorf("%d orders", taken)
	}
	fails(t, "model m/cad/gone.step cannot be read: there is no such file", "new", "axis", "m/x", "--from", "m/cad/gone.step")
	fails(t, "leads out of the tree", "new", "axis", "m/x", "--from", "../gone.step")
	fails(t, "--from is for new axis", "new", "machine", "m/x", "--from", "m/cad/lift.step")
	fails(t, "--from is for a new axis", "new", "--from", "m/cad/lift.step")
	if _, err := os.Stat("m/x.axis.hcl"); err == nil {
		t.Error("half written")
	}
}
