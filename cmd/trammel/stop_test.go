package main

import (
	"bytes"
	"context"
	"maps"
	"strings"
	"testing"
)

// TestStopped: a run that was told to end says so and writes nothing, whatever the
// command.
func TestStopped(t *testing.T) {
	inBakery(t)
	t.Setenv("TRAMMEL_CACHE", t.TempDir())
	put(t, "x.csv", "Name,Mass\na,1\n")
	put(t, "x.map.hcl", boundsMap)
	put(t, "untidy/x.axis.hcl", untidy)
	if r := called(t, "check", "--share", "1/1", "--form", "json", "--write", "json=1.json"); r.status == exitFailed {
		t.Fatal(r.err)
	}
	ended, end := context.WithCancel(context.Background())
	end()
	for _, args := range []string{
		"check --write json=out", "check --known out --record", "check --staged --write json=out", "merge 1.json --write json=out", "audit --write html=out", "audit --sheets out",
		"sheet machines --write html=out", "enquiry machines --write markdown=out", "size machines/palletiser mast --write text=out", "size machines/palletiser mast --take 2", "compare HEAD --write text=out",
		"tidy untidy", "tidy -", "adopt x.csv --out out", "manual out",
	} {
		before := tree(t, ".")
		var out, errOut bytes.Buffer
		status := execute(ended, strings.Fields(args), strings.NewReader(untidy), &out, &errOut)
		if status != exitFailed || !strings.Contains(errOut.String(), "interrupted") || out.Len() > 0 {
			t.Errorf("%s: status %d, said %q, wrote %.200q", args, status, errOut.String(), out.String())
		}
		if after := tree(t, "."); !maps.Equal(before, after) {
			t.Errorf("%s: it changed something", args)
		}
	}
}
