package run_test

import (
	"strings"
	"testing"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
)

// TestLines: of every finding in an axis file the run tells the line, as the file has it,
// judged now or cached; a carrier's too. Lines that are too long it leaves out.
func TestLines(t *testing.T) {
	t.Parallel()
	x, y, z := testaxis.Zyx()
	x.Set("screw.dynamic_rating", -1, `"1 kN"`)
	axisX, parts := x.Text()
	axisY, _ := y.Text()
	axisZ, _ := z.Text()
	wrong := "\ufeff# é\r\naxis \"b\" {\r\n  lift = \"1\"\r\n  " + strings.Repeat("x", run.LongLine) + " = 1\r\n}"
	fsys := testaxis.Memory("a/x.axis.hcl", axisX, "a/y.axis.hcl", axisY, "a/z.axis.hcl", axisZ, "b/b.axis.hcl", wrong, "b/c.axis.hcl", "lift = 1", "parts/all.parts.hcl", parts)
	files := []string{"a/x.axis.hcl", "a/y.axis.hcl", "a/z.axis.hcl", "b/b.axis.hcl", "b/c.axis.hcl"}
	keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
	for _, cache := range []run.Cache{nil, keep, keep} {
		told := map[string]map[int32]string{}
		sum := run.Files(rules.Book(), spec.NewTree(fsys), files, run.Options{Workers: 1, Today: testaxis.SomeDay, As: run.Remember{Cache: cache}, Line: func(file string, l run.Line) {
			if told[file] == nil {
				told[file] = map[int32]string{}
			}
			told[file][l.Number] = l.Text
		}})
		places := 0
		for _, at := range placesOf(sum.Findings) {
			lines := strings.Split(strings.TrimPrefix(string(fsys[at.File].Data), "\ufeff"), "\n")
			line := strings.TrimSuffix(lines[at.Line-1], "\r")
			got, ok := told[at.File][at.Line]
			if long := len(line) > run.LongLine; ok == long || ok && got != line {
				t.Errorf("%s: told %q, %v; expected %q", at, got, ok, line)
			}
			places++
		}
		if places < 5 || len(told) < 3 {
			t.Errorf("%d findings in %d files", places, len(told))
		}
	}
	if keep.found != len(files) {
		t.Errorf("%d files were cached", keep.found)
	}
}

// placesOf are those of findings in axis files.
func placesOf(all []judge.Finding) (out []spec.Place) {
	for i := range all {
		if at := all[i].Place; strings.HasSuffix(at.File, spec.AxisSuffix) {
			out = append(out, at)
		}
	}
	return out
}
