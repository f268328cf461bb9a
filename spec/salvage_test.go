package spec

import (
	"testing"
	"testing/fstest"
)

// TestLostInOrder: which of several lines that cannot be read stands for what they may
// have said is the same each time.
func TestLostInOrder(t *testing.T) {
	t.Parallel()
	disk := fstest.MapFS{"x.parts.hcl": {Data: []byte("series \"s\" {\n  of = \"screw\"\n  aa = 1\n  bb = 2\n  cc = 3\n  dd = 4\n  columns = [\"name\", \"lead mm\"]\n  sizes = [\n    [\"s1\", 5],\n  ]\n}\n")}}
	want := ""
	for range 30 {
		p := NewTree(disk).Folder(".").Part("screw", "s1")
		got := p.Get("root_diameter").Place.String()
		if want == "" {
			want = got
		}
		if got != want {
			t.Fatalf("%s and %s", got, want)
		}
	}
}
