package rules_test

import (
	"bytes"
	"flag"
	"fmt"
	"go/ast"
	"go/format"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

var newRule = flag.String("new", "", "write the skeleton of a rule of this name; see make rule")

// TestAll: the list of rules names each rule in this folder, and a rule stands in a file
// of its name. With -update the list is written anew.
func TestAll(t *testing.T) {
	if *newRule != "" {
		writeRule(t, *newRule)
	}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	vars := map[string]string{}
	for _, file := range files {
		for name, v := range rulesIn(t, file) {
			vars[name] = v
			if want := strings.ReplaceAll(name, "-", "_") + ".go"; file != want {
				t.Errorf("%s: the rule %s belongs into %s", file, name, want)
			}
		}
	}
	var names []string
	for name := range vars {
		names = append(names, name)
	}
	slices.Sort(names)
	var list bytes.Buffer
	for _, name := range names {
		fmt.Fprintf(&list, "\t&%s,\n", vars[name])
	}
	src, err := os.ReadFile("all.go")
	if err != nil {
		t.Fatal(err)
	}
	const head = "var all = []*judge.Rule{\n"
	before, rest, ok := strings.Cut(string(src), head)
	_, after, ok2 := strings.Cut(rest, "}\n")
	if !ok || !ok2 {
		t.Fatal("all.go has lost its list")
	}
	want := before + head + list.String() + "}\n" + after
	if string(src) == want {
		return
	}
	if !*updateMistakes {
		t.Fatal("all.go does not list the rules of this folder; run `make golden`")
	}
	if err := os.WriteFile("all.go", []byte(want), 0o644); err != nil {
		t.Fatal(err)
	}
}

// rulesIn finds the rules declared in a file: name and variable.
func rulesIn(t *testing.T, file string) map[string]string {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, d := range f.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.VAR {
			continue
		}
		for _, s := range g.Specs {
			v := s.(*ast.ValueSpec)
			if len(v.Values) != 1 {
				continue
			}
			lit, ok := v.Values[0].(*ast.CompositeLit)
			if !ok {
				continue
			}
			if sel, ok := lit.Type.(*ast.SelectorExpr); !ok || sel.Sel.Name != "Rule" {
				continue
			}
			for _, e := range lit.Elts {
				kv := e.(*ast.KeyValueExpr)
				if kv.Key.(*ast.Ident).Name == "Name" {
					name, err := strconv.Unquote(kv.Value.(*ast.BasicLit).Value)
					if err != nil {
						t.Fatal(err)
					}
					out[name] = v.Names[0].Name
				}
			}
		}
	}
	return out
}

// ruleSkeleton is a rule that compares a quantity with a limit, to be filled in.
const ruleSkeleton = `package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var %s = judge.Rule{
	Name:     %q,
	Question: "?", // what it asks, as a sentence an engineer would ask
	Doc:      "", // what is compared, which conventions were chosen, when it is wrong to worry
	Source:   "", // the standard and whether its text was seen, or "common practice, no source"
	Severity: judge.Warning,
	Tests: []judge.Test{{
		Limit: judge.Limit{Name: "limit", Doc: "", Kind: unit.Length, Sense: judge.AtLeast, Default: 1},
		Value: m.Reach,
		Say: func(v *judge.View, limit float64) string {
			return fmt.Sprintf("… is %%s; minimum %%s", v.F(m.Reach), v.Show(limit, unit.Length))
		},
		At: at("motion.stroke"),
	}},
}
`

// fixtureSkeleton is an axis that fails and one that passes, to be filled in.
const fixtureSkeleton = `# Invented. One axis that fails, one that passes.

axis "fails" { # expect: %s "words of the message"
}

axis "passes" {
}
`

// writeRule writes the skeleton of a rule and of its fixture, where there is none yet.
func writeRule(t *testing.T, name string) {
	t.Helper()
	if !regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`).MatchString(name) {
		t.Fatalf("NAME is %q; it is written in small letters, words joined by hyphens, such as short-move", name)
	}
	words := strings.Split(name, "-")
	for i := range words[1:] {
		words[i+1] = strings.ToUpper(words[i+1][:1]) + words[i+1][1:]
	}
	src, err := format.Source(fmt.Appendf(nil, ruleSkeleton, strings.Join(words, ""), name))
	if err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join(fixtureRoot, "rules", name)
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	for file, text := range map[string][]byte{
		strings.ReplaceAll(name, "-", "_") + ".go": src, filepath.Join(folder, "axes.axis.hcl"): fmt.Appendf(nil, fixtureSkeleton, name),
	} {
		f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if err != nil {
			t.Fatalf("nothing is written over: %v", err)
		}
		if _, err := f.Write(text); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
}
