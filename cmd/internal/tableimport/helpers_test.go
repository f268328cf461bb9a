package tableimport

import (
	"io/fs"
	"maps"
	"slices"
	"testing"

	"trammel/cmd/internal/format"
)

func sortedNames(m map[string]string) []string { return slices.Sorted(maps.Keys(m)) }

// emptyFS has no file.
type emptyFS struct{}

func (emptyFS) Open(name string) (fs.File, error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
}

func mustTidy(t testing.TB, src []byte) []byte {
	t.Helper()
	out, problems := format.Tidy("x.axis.hcl", src)
	if len(problems) > 0 {
		t.Fatalf("%s\n%s", problems[0].Message, src)
	}
	return out
}
