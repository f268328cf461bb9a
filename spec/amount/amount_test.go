package amount

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

func TestSome(t *testing.T) {
	var list []int
	for i := range 100 {
		list = append(list, i)
	}
	t.Setenv("TRAMMEL_TESTS", "")
	some := Some(list, 8, strconv.Itoa)
	slices.Sort(some)
	if len(some) != 13 || some[0] > 40 || some[12] < 60 {
		t.Errorf("%v is no sample", some)
	}
	if Of(10, 3) != 3 || len(Some(list[:1], 8, strconv.Itoa)) != 1 || len(Some(list[:0], 8, strconv.Itoa)) != 0 {
		t.Error("the sample is of another size")
	}
	t.Setenv("TRAMMEL_TESTS", "all")
	if Of(10, 3) != 10 || !slices.Equal(Some(list, 8, strconv.Itoa), list) {
		t.Error("not everything is tried")
	}
}

// TestNames: a test is named TestLong where it calls Long and nowhere else, or CI, which
// goes by the names, would never run it.
func TestNames(t *testing.T) {
	long := 0
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, d := range file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok || f.Body == nil {
				continue
			}
			named := strings.HasPrefix(f.Name.Name, "TestLong")
			if named {
				long++
			}
			if named != callsLong(f.Body) {
				t.Errorf("%s: %s: named TestLong: %v, calls amount.Long: %v", path, f.Name.Name, named, !named)
			}
		}
		return nil
	})
	if err != nil || long == 0 {
		t.Errorf("%d long tests found, %v", long, err)
	}
}

func callsLong(body *ast.BlockStmt) bool {
	found := false
	ast.Inspect(body, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok && s.Sel.Name == "Long" {
			x, ok := s.X.(*ast.Ident)
			found = found || ok && x.Name == "amount"
		}
		return !found
	})
	return found
}
