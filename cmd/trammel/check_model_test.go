package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestLargeModelIsCached: a large model is worth looking for what is cached, however few
// files there are; and it is known by its content alone.
func TestLargeModelIsCached(t *testing.T) {
	model, err := os.ReadFile("../../fixtures/bakery/machines/slicer/cad/pusher.step")
	if err != nil {
		t.Fatal(err)
	}
	cache := t.TempDir()
	t.Setenv("XDG_CACHE_HOME", cache)
	t.Chdir(t.TempDir())
	padded := strings.Replace(string(model), "DATA;\n", "DATA;\n/*"+strings.Repeat(" ", 1<<20)+"*/\n", 1)
	put(t, "a.axis.hcl", "axis \"a\" {\n  screw {\n    model  = \"a.step\"\n    length = \"690 mm\"\n  }\n}\n")
	for _, c := range []struct {
		model, says string
		status      int
		cached      bool
	}{
		{string(model), " 0 findings,", 0, false},
		{padded, " 0 findings,", 0, true},
		{padded, " 0 findings,", 0, true},
		{strings.ReplaceAll(padded, ",690.)", ",691.)"), "shaft is declared 690 mm long, in the model it is 691 mm", 1, true},
		{padded, " 0 findings,", 0, true},
	} {
		put(t, "a.step", c.model)
		ends(t, c.status, []string{c.says}, "check")
		kept := 0
		filepath.WalkDir(cache, func(_ string, d os.DirEntry, err error) error {
			if err == nil && !d.IsDir() {
				kept++
			}
			return nil
		})
		if kept > 0 != c.cached {
			t.Errorf("%d files are cached; want some: %v", kept, c.cached)
		}
	}
}
