package docs

import (
	"fmt"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// mayUse is what packages may use of the project: nothing else, whatever else
// is added. Commands may use everything.
var mayUse = map[string][]string{
	"spec/unit":             nil,
	"spec/step":             nil,
	"spec/plain":            nil,
	"spec":                  {"spec/plain", "spec/step", "spec/unit"},
	"rules/tables":          nil,
	"rules/mechanics":       {"rules/tables", "spec/unit"},
	onlyTests:               nil,
	sampleSize:              nil,
	"rules/judge":           {"rules/mechanics", "spec", "spec/unit"},
	"rules/judge/run":       {"rules/judge", "rules/mechanics", "spec", "spec/unit"},
	"rules/judge/expect":    {"rules/judge", "rules/judge/run", "spec"},
	"rules/sizing":          {"rules/judge", "rules/mechanics", "rules/tables", "spec", "spec/unit"},
	"rules":                 {"rules/judge", "rules/mechanics", "rules/tables", "spec", "spec/step", "spec/unit"},
	"cmd/internal/formula":  nil,
	"cmd/internal/document": {"cmd/internal/formula", "cmd/internal/sanitize"},
	"cmd/internal/impact":   {"spec"},
	"cmd/internal/report":   {"cmd/internal/sanitize", "cmd/internal/codec", "rules", "rules/judge", "rules/judge/run", "rules/mechanics", "spec", "spec/unit"},
}

// onlyTests is the second calculation, which only tests may use and which may
// use nothing: else it would be no second one.
const onlyTests = "rules/mechanics/reference"

// sampleSize says how much the tests try.
const sampleSize = "spec/amount"

// TestArrows holds the arrows between the packages, and the table of them in
// structure.md.
func TestArrows(t *testing.T) {
	const module = "trammel/"
	uses := map[string]map[string]bool{}
	outside := map[string]map[string]bool{}
	err := filepath.WalkDir("..", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if n := d.Name(); n == "testdata" || n == "fixtures" || strings.HasPrefix(n, ".") && n != ".." {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), p, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel("..", filepath.Dir(p))
		if err != nil {
			return err
		}
		pkg := filepath.ToSlash(rel)
		if f.Name.Name == "main" && pkg != "cmd/trammel" {
			t.Errorf("%s is a program, which go install ./... would put beside trammel: drive a tool by a test", p)
		}
		if uses[pkg] == nil {
			uses[pkg], outside[pkg] = map[string]bool{}, map[string]bool{}
		}
		for _, im := range f.Imports {
			name, err := strconv.Unquote(im.Path.Value)
			if err != nil {
				return err
			}
			if own, is := strings.CutPrefix(name, module); is {
				uses[pkg][own] = true
			} else {
				outside[pkg][name] = true
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	var rows []string
	for _, pkg := range slices.Sorted(maps.Keys(uses)) {
		allowed, bound := mayUse[pkg]
		var list []string
		for _, u := range slices.Sorted(maps.Keys(uses[pkg])) {
			list = append(list, code(u))
			if u == onlyTests || u == sampleSize {
				t.Errorf("%s must not use %s, which is for tests", pkg, u)
			}
			if bound && !slices.Contains(allowed, u) {
				t.Errorf("%s must not use %s: arrows point one way, see docs/structure.md", pkg, u)
			}
		}
		what := strings.Join(list, ", ")
		if what == "" {
			what = "nothing of the project"
		}
		rows = append(rows, fmt.Sprintf("| %s | %s |", code(pkg), what))
	}
	for pkg := range mayUse {
		if uses[pkg] == nil {
			t.Errorf("package %s is gone; fix mayUse and docs/structure.md", pkg)
		}
	}
	for _, pkg := range []string{"rules/mechanics", "rules/tables", "spec/unit", "rules/judge", "rules/judge/run", "rules/sizing", "rules"} {
		for name := range outside[pkg] {
			if strings.Contains(name, "hcl") || strings.Contains(name, "cty") {
				t.Errorf("%s must not use %s: only spec knows HCL", pkg, name)
			}
		}
	}
	table := "| package | uses |\n|---|---|\n" + strings.Join(rows, "\n") + "\n"
	src, err := os.ReadFile("structure.md")
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok := strings.Cut(string(src), "<!-- arrows -->\n")
	old, after, ok2 := strings.Cut(rest, "<!-- end of arrows -->")
	if !ok || !ok2 {
		t.Fatal("docs/structure.md has lost the marks around its table of arrows")
	}
	if old == table {
		return
	}
	if *update {
		out := before + "<!-- arrows -->\n" + table + "<!-- end of arrows -->" + after
		if err := os.WriteFile("structure.md", []byte(out), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	t.Errorf("the table of arrows in docs/structure.md is stale; %s", stale)
}
