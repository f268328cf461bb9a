package docs

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// licences are those that a module of the binary may have, each with words that
// stand in its text and no other's. All permit use and passing on, also of a
// program built with it, where notices are kept; of MPL-2.0, changed files of the
// module itself must be passed on too.
var licences = []struct{ name, words string }{
	{"Apache-2.0", "apache license version 2.0"},
	{"BSD-2-Clause", "redistribution and use in source and binary forms"}, // BSD-3-Clause where neitherName stands in it
	{"CC-BY-4.0", "creative commons attribution 4.0 international public license"},
	{"FTL", "the freetype license, which is similar to the original bsd license"},
	{"MIT", "permission is hereby granted, free of charge, to any person obtaining a copy of this software"},
	{"MPL-2.0", "mozilla public license, version 2.0"},
	{"OFL-1.1", "sil open font license, version 1.1"},
}

const (
	neitherName  = "neither the name of"
	orFreetype   = "subject to your choice of exactly one of the following two licenses"
	licenceTable = "<!-- modules -->\n"
	licenceEnd   = "<!-- end of modules -->\n"
)

// licenceOf names the licences that a text holds.
func licenceOf(text string) []string {
	flat := strings.ToLower(strings.Join(strings.Fields(text), " "))
	flat = strings.ReplaceAll(flat, "http://www.apache.org/licenses/ ", "")
	var out []string
	for _, l := range licences {
		if !strings.Contains(flat, l.words) {
			continue
		}
		if l.name == "BSD-2-Clause" && strings.Contains(flat, neitherName) {
			l.name = "BSD-3-Clause"
		}
		out = append(out, l.name)
	}
	if strings.Contains(flat, "general public license") && !strings.Contains(flat, orFreetype) && !slices.Contains(out, "MPL-2.0") {
		out = append(out, "GPL")
	}
	return out
}

// linked lists the modules whose packages are built into the program, on any of
// the three systems people use, with their folders.
func linked(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, system := range []string{"linux", "windows", "darwin"} {
		c := exec.Command("go", "list", "-deps", "-json=Module", "./cmd/trammel")
		c.Dir = ".."
		// What only another system needs is fetched where it is not here yet.
		c.Env = append(os.Environ(), "GOOS="+system, "GOARCH=amd64", "CGO_ENABLED=0")
		var errOut strings.Builder
		c.Stderr = &errOut
		text, err := c.Output()
		if err != nil {
			t.Fatalf("go list: %v: %s", err, errOut.String())
		}
		for d := json.NewDecoder(strings.NewReader(string(text))); ; {
			var p struct {
				Module *struct {
					Path, Dir string
					Main      bool
				}
			}
			if err := d.Decode(&p); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatal(err)
			}
			if p.Module != nil && !p.Module.Main {
				if p.Module.Dir == "" {
					t.Fatalf("%s is not in the module cache: go mod download", p.Module.Path)
				}
				out[p.Module.Path] = p.Module.Dir
			}
		}
	}
	return out
}

// TestDependencies holds dependencies.md against what is linked and the licence
// files of those modules, so that a new one is seen.
func TestDependencies(t *testing.T) {
	modules := linked(t)
	var b strings.Builder
	b.WriteString("| module | licence |\n|---|---|\n")
	for _, path := range slices.Sorted(maps.Keys(modules)) {
		var found []string
		for _, pattern := range []string{"LICEN*", "COPYING*"} {
			names, _ := filepath.Glob(filepath.Join(modules[path], pattern))
			for _, n := range names {
				text, err := os.ReadFile(n)
				if err != nil {
					t.Fatal(err)
				}
				for _, l := range licenceOf(string(text)) {
					if l == "GPL" {
						t.Errorf("%s: %s holds a licence that does not permit building it in", path, filepath.Base(n))
					}
					if !slices.Contains(found, l) {
						found = append(found, l)
					}
				}
			}
		}
		if len(found) == 0 {
			t.Errorf("%s: no licence is recognised in %s", path, modules[path])
		}
		slices.Sort(found)
		fmt.Fprintf(&b, "| `%s` | %s |\n", path, strings.Join(found, ", "))
	}
	src, err := os.ReadFile("dependencies.md")
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok := strings.Cut(string(src), licenceTable)
	_, after, ok2 := strings.Cut(rest, licenceEnd)
	if !ok || !ok2 {
		t.Fatal("dependencies.md has no place for the table")
	}
	text := before + licenceTable + b.String() + licenceEnd + after
	if text == string(src) {
		return
	}
	if !*update {
		t.Errorf("docs/dependencies.md is not what is linked; %s", stale)
		return
	}
	if err := os.WriteFile("dependencies.md", []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestLicenceOf holds that a licence nobody looked at is not taken for one.
func TestLicenceOf(t *testing.T) {
	for text, want := range map[string]string{
		"GNU GENERAL PUBLIC LICENSE\nVersion 3, 29 June 2007":                   "GPL",
		"GNU AFFERO GENERAL PUBLIC LICENSE":                                     "",
		"GNU LESSER GENERAL PUBLIC LICENSE\nVersion 2.1":                        "GPL",
		"All rights reserved.":                                                  "",
		"Mozilla Public License, version 2.0\n1.12. GNU General Public License": "MPL-2.0",
	} {
		if got := strings.Join(licenceOf(text), " "); got != want && !(want == "" && got == "GPL") {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
