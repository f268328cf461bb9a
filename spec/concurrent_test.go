package spec

import (
	"fmt"
	"sync"
	"testing"
	"testing/fstest"
)

// Many goroutines that read files of the same folders at once see the same.
func TestConcurrentReading(t *testing.T) {
	files := scopeTree()
	var names []string
	for i := range 40 {
		n := fmt.Sprintf("a/f%d/x%d.axis.hcl", i%4, i)
		files[n] = &fstest.MapFile{Data: []byte(fmt.Sprintf("given {\n b = given.a + %d\n a = 1\n}\naxis \"x%d\" {\n load {\n mass = \"${given.b} kg\"\n drga = 1\n }\n screw {\n part = screw.g20x10\n }\n nut {\n part = nut.n%d\n }\n}\n", i, i, i%3))}
		names = append(names, n)
	}
	read := func(tree *Tree, n string) string {
		f := tree.ReadAxes(n)
		s := show(f.Problems) + show(tree.Folder("a/f1").Problems)
		for _, a := range f.Axes {
			for _, fd := range Language().Fields[:Language().Moves] {
				if v := a.Get(fd); v != nil {
					s += fmt.Sprintf("%s = %q %v %v %v\n", fd.Path, v.Text, v.Num, v.Origin, v.Place)
				}
			}
		}
		return s
	}
	want := map[string]string{}
	for _, n := range names {
		want[n] = read(NewTree(files), n)
	}
	tree := NewTree(files)
	var wg sync.WaitGroup
	for g := range 16 {
		wg.Go(func() {
			for i := range names {
				n := names[(i*7+g)%len(names)]
				if got := read(tree, n); got != want[n] {
					t.Errorf("%s: got\n%swant\n%s", n, got, want[n])
					return
				}
			}
		})
	}
	wg.Wait()
}
