package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/pflag"
)

// TestCompleteValues: every option that takes a value has its completion.
func TestCompleteValues(t *testing.T) {
	t.Parallel()
	for _, c := range rootCommand().Commands() {
		c.Flags().VisitAll(func(f *pflag.Flag) {
			if _, has := c.GetFlagCompletionFunc(f.Name); !has && f.Value.Type() != "bool" {
				t.Errorf("%s --%s offers no values", c.Name(), f.Name)
			}
		})
	}
}

// TestComplete: what is offered for arguments and options, as a shell asks for it.
func TestComplete(t *testing.T) {
	inBakery(t)
	if err := os.WriteFile("odd.axis.hcl", []byte("axis \"od\\u001bd\" {\n}\naxis \"fine\" {\n}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args string
		want []string // lines, or with ! what is no line
	}{
		{"sheet machines/slicer ", []string{"blade_lift", "!.axis.hcl"}},
		{"size machines ", []string{"hoist", "mast"}},
		{"sheet odd.axis.hcl ", []string{"fine", "!od\x1bd", "!od"}},
		{"sheet nowhere ", []string{"!lift"}},
		{"check --since ", []string{"HEAD", "main"}},
		{"check --at ", []string{"HEAD", "main"}},
		{"compare ", []string{"HEAD", "main"}},
		{"compare HEAD ", []string{"main"}},
		{"compare HEAD main ", []string{"!main"}},
		{"check --fail-at ", []string{"never", "error"}},
		{"audit --fail-at ", []string{"never", "error"}},
		{"size --fail-at ", []string{"note", "!never"}},
		{"sheet --units ", []string{"metric", "inch"}},
		{"check --write ", []string{"sarif=", "json="}},
		{"size --keep screw,", []string{"screw,motor", "!screw,screw"}},
		{"new ", []string{"axis", "parts"}},
		{"new parts x ", []string{"motor", "screw"}},
		{"explain critical", []string{"critical-speed"}},
		{"rules critical", []string{"critical-speed"}},
	} {
		cut := strings.LastIndexByte(c.args, ' ') + 1
		r := called(t, append(append([]string{"__complete"}, strings.Fields(c.args[:cut])...), c.args[cut:])...)
		lines := strings.Split(r.out, "\n")
		for _, w := range c.want {
			not, is := strings.CutPrefix(w, "!")
			found := false
			for _, l := range lines {
				name, _, _ := strings.Cut(l, "\t")
				found = found || name == not
			}
			if found == is {
				t.Errorf("%q offers %q, wants %s", c.args, lines, w)
			}
		}
	}
	if r := called(t, "__complete", "sheet", filepath.Join("machines", "sl")); strings.Contains(r.out, "lift") {
		t.Errorf("the first argument is a path: %s", r.out)
	}
}
