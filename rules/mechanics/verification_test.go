package mechanics

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write docs/verification.md anew")

const (
	verificationCSV = "../../testdata/verification.csv"
	verificationDoc = "../../docs/verification.md"
)

// The kinds of check, the strongest first.
var checkKinds = []string{"published", "independent numerical", "by hand", "property"}

// declared lists the tests of this package, and its formulas and variables.
func declared(t *testing.T) (tests, formulas map[string]bool) {
	t.Helper()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	tests, formulas = map[string]bool{}, map[string]bool{}
	for _, name := range files {
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		inTest := strings.HasSuffix(name, "_test.go")
		for _, d := range f.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				if inTest && strings.HasPrefix(d.Name.Name, "Test") {
					tests[d.Name.Name] = true
				} else if !inTest && d.Recv == nil {
					formulas[d.Name.Name] = true
				}
			case *ast.GenDecl:
				for _, s := range d.Specs {
					if v, ok := s.(*ast.ValueSpec); ok && !inTest {
						for _, n := range v.Names {
							formulas[n.Name] = true
						}
					}
				}
			}
		}
	}
	return tests, formulas
}

// TestVerificationTable: every computed quantity has a row of its own, every
// row names a quantity or formula and a test that exist, and every test but
// those of the table itself stands in a row.
func TestVerificationTable(t *testing.T) {
	tests, formulas := declared(t)
	covered, used := map[string]bool{}, map[string]bool{}
	for _, r := range table(t, verificationCSV) {
		name := r["quantity"]
		if q := ByName(name); name != "*" && !formulas[name] && (q == nil || q.Leaf()) {
			t.Errorf("no quantity or formula is named %s", name)
		}
		if !tests[r["test"]] {
			t.Errorf("%s: there is no test %s", name, r["test"])
		}
		if !slices.Contains(checkKinds, r["kind"]) {
			t.Errorf("%s: unknown kind of check %q", name, r["kind"])
		}
		for _, col := range []string{"checked_against", "source", "provenance"} {
			if r[col] == "" {
				t.Errorf("%s, %s: no %s", name, r["test"], col)
			}
		}
		covered[name], used[r["test"]] = true, true
	}
	for _, q := range All() {
		if !q.Leaf() && !covered[q.Name] {
			t.Errorf("%s is computed, but %s does not say how it was checked", q.Name, verificationCSV)
		}
	}
	for _, name := range []string{
		"TestMain", "TestVerificationTable", "TestVerificationDoc", // of the table itself
		"TestRegistry", "TestResetForgets", "TestGapsByName", "TestUndefinedStaysUndefined", "TestWords",
		"TestPlanComputesOnce", "TestNewCalcIsEmpty", "TestGapsAtOnce", "TestCheck", "TestCourses", // of the graph, not of a quantity
	} {
		used[name] = true
	}
	for name := range tests {
		if !used[name] {
			t.Errorf("%s stands in no row of %s", name, verificationCSV)
		}
	}
}

// TestVerificationDoc keeps docs/verification.md as the table and the graph
// have it. Run with -update to write it.
func TestVerificationDoc(t *testing.T) {
	want := verification(t)
	if *update {
		if err := os.WriteFile(verificationDoc, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	got, err := os.ReadFile(verificationDoc)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("%s is out of date: run go test ./rules/mechanics -run TestVerificationDoc -update", verificationDoc)
	}
}

func verification(t *testing.T) string {
	rows := map[string][]map[string]string{}
	var formulas []string // in the order of the file
	for _, r := range table(t, verificationCSV) {
		name := r["quantity"]
		if rows[name] == nil && ByName(name) == nil && name != "*" {
			formulas = append(formulas, name)
		}
		rows[name] = append(rows[name], r)
	}
	rank := func(r map[string]string) int { return slices.Index(checkKinds, r["kind"]) }
	for _, list := range rows {
		slices.SortStableFunc(list, func(a, b map[string]string) int { return rank(a) - rank(b) })
	}

	var b strings.Builder
	b.WriteString(`# How the numbers were checked

<!-- Generated from testdata/verification.csv and the calculation graph by
     go test ./rules/mechanics -run TestVerificationDoc -update. Do not edit. -->

Every computed quantity is compared with something that other code, or a person, computed. There are
four kinds of check:

- **published**: a value or worked example in print. Most are from memory and were not looked up, as
  the provenance says; the values are in testdata/published with their sources.
- **independent numerical**: another way to the same number, such as finite
  elements, root finding, or a simulation in small steps, that shares no code
  with the product.
- **by hand**: worked with pencil and paper; the arithmetic stands in the test.
  It finds slips of code, not of formula.
- **property**: what must hold whatever the numbers are, tried at random.

These checks are of formulas. They do not check whether a formula fits a given
machine.

`)
	count := map[string]int{}
	var weak []*Quantity
	total := 0
	for _, q := range All() {
		if q.Leaf() {
			continue
		}
		total++
		seen := map[string]bool{}
		for _, r := range rows[q.Name] {
			seen[r["kind"]] = true
		}
		for k := range seen {
			count[k]++
		}
		if !seen[checkKinds[0]] && !seen[checkKinds[1]] {
			weak = append(weak, q)
		}
	}
	b.WriteString("## Overview\n\n| kind of check | quantities that have one |\n|---|---|\n")
	for _, k := range checkKinds {
		fmt.Fprintf(&b, "| %s | %d of %d |\n", k, count[k], total)
	}
	b.WriteString("\nAll of them have these too:\n\n")
	writeRows(&b, rows["*"])

	b.WriteString(`
## Checked by hand only

For these there is neither a published value nor an independent route. Most are
sums, quotients and choices; where a formula itself rests on memory alone, its
source says so.

| Quantity | Symbol | Formula | Source of the formula |
|---|---|---|---|
`)
	for _, q := range weak {
		fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", q.Name, cell(q.Symbol), cell(q.Formula), cell(q.Source))
	}

	b.WriteString("\n## Quantities\n")
	for _, q := range All() {
		if q.Leaf() {
			continue
		}
		fmt.Fprintf(&b, "\n### %s\n\n%s, %s = %s, in %s. Source: %s.\n\n", q.Name, q.Title, q.Symbol, q.Formula, q.Kind.SI(), q.Source)
		writeRows(&b, rows[q.Name])
	}
	b.WriteString("\n## Formulas\n\nFunctions of the package that quantities are made of.\n")
	slices.Sort(formulas)
	for _, name := range formulas {
		fmt.Fprintf(&b, "\n### %s\n\n", name)
		writeRows(&b, rows[name])
	}
	return b.String()
}

func writeRows(b *strings.Builder, rows []map[string]string) {
	b.WriteString("| Kind | Checked against | Source | Provenance | Test |\n|---|---|---|---|---|\n")
	for _, r := range rows {
		fmt.Fprintf(b, "| %s | %s | %s | %s | %s |\n", r["kind"], cell(r["checked_against"]), cell(r["source"]), cell(r["provenance"]), r["test"])
	}
}

// cell keeps a text from breaking a table.
func cell(s string) string { return strings.ReplaceAll(s, "|", "\\|") }
