package main

import (
	"strings"
	"testing"
)

// Computed quantities of many axes are in the JSON only where they are requested, in a
// part of a split check as in the whole one.
func TestQuantitiesOfMany(t *testing.T) {
	hall(t, 12)
	defer func(was int) { toldFiles = was }(toldFiles)
	const has = `"quantities":[` // in a part of a split check each axis has one line
	for _, c := range []struct {
		most int
		args string
		has  bool
	}{{12, "", true}, {11, "", false}, {11, "--quantities", true}, {12, "--no-quantities", false}, {11, "--share 1/2", false}, {11, "--share 1/2 --quantities", true}} {
		toldFiles = c.most
		r := called(t, append([]string{"check", "--form", "json"}, strings.Fields(c.args)...)...)
		if r.status == exitFailed || strings.Contains(strings.ReplaceAll(r.out, `": [`, `":[`), has) != c.has {
			t.Errorf("of 12 files, %d being many, %q: status %d, quantities: %v", c.most+1, c.args, r.status, !c.has)
		}
		if said := strings.Contains(r.err, "12 axis files: the JSON has no computed quantities"); said != (!c.has && c.args != "--no-quantities") {
			t.Errorf("%q said %q", c.args, r.err)
		}
	}
	toldFiles = 11
	if r := called(t, "check"); r.err != "" {
		t.Errorf("of text, where no quantity is, it said %q", r.err)
	}
	fails(t, "contradict", "check", "--quantities", "--no-quantities")
}
