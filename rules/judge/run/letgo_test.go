package run

import (
	"os"
	"path"
	"reflect"
	"testing"
	"time"

	"trammel/rules"
	"trammel/spec"
)

// A run that lets folders go finds what one finds that keeps them, and leaves none but the
// root; also where a folder has files of its own and more below.
func TestLetGo(t *testing.T) {
	fsys := os.DirFS("../../../fixtures/bakery")
	var files []string
	spec.NewTree(fsys).Walk(".", func(name string) { files = append(files, name) })
	if len(files) < 30 {
		t.Fatalf("only %d files", len(files))
	}
	files = append(files, files[0]) // again, when its folder has been let go
	day := time.Date(2026, 11, 2, 0, 0, 0, 0, time.UTC)
	of := func(letGo bool, workers int) (*Summary, *spec.Tree) {
		tree := spec.NewTree(fsys)
		return Files(rules.Book(), tree, files, Options{Today: day, Fixes: true, Whole: true, Workers: workers, LetGo: letGo}), tree
	}
	kept, tree := of(false, 1)
	if tree.LetGo(path.Dir(files[len(files)-2])) == nil {
		t.Error("without the option a folder was let go")
	}
	for _, workers := range []int{1, 4} {
		let, tree := of(true, workers)
		if len(let.Findings) != len(kept.Findings) || let.Axes != kept.Axes {
			t.Fatalf("%d findings of %d axes, want %d of %d", len(let.Findings), let.Axes, len(kept.Findings), kept.Axes)
		}
		for i := range let.Findings {
			a, b := let.Findings[i], kept.Findings[i]
			a.Utilisation, b.Utilisation = 0, 0 // may be NaN
			a.Waiver, b.Waiver = nil, nil
			if !reflect.DeepEqual(a.Told(), b.Told()) {
				t.Errorf("found %+v, want %+v", a, b)
			}
		}
		for _, name := range files {
			if dir := spec.ScopeOf(path.Dir(name)); dir != "." && tree.LetGo(dir) != nil {
				t.Errorf("%s is kept", dir)
			}
		}
	}
}
