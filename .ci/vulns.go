//go:build ignore

// vulns stands before and behind govulncheck, so that it needs no network but
// that of modules.
//
//	go run .ci/vulns.go module-folder output-folder
//
// writes the reports of the Go vulnerability database, as its module holds them,
// in the form that govulncheck reads from a folder.
//
//	govulncheck -format json ./... | go run .ci/vulns.go
//
// fails where what is called is vulnerable. What is so on other systems only,
// by the Go it is built with, is named and does not fail.
package main

import (
	"encoding/json"
	"io"
	"log"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"time"
)

type report struct {
	ID       string    `json:"id"`
	Modified time.Time `json:"modified"`
	Aliases  []string  `json:"aliases,omitempty"`
	Affected []struct {
		Package struct {
			Name string `json:"name"`
		} `json:"package"`
	} `json:"affected"`
}

type vuln struct {
	ID       string    `json:"id"`
	Modified time.Time `json:"modified"`
	Aliases  []string  `json:"aliases,omitempty"`
}

type module struct {
	Path  string `json:"path"`
	Vulns []vuln `json:"vulns"`
}

func main() {
	log.SetFlags(0)
	switch len(os.Args) {
	case 1:
		judge()
	case 3:
		convert()
	default:
		log.Fatal("wants two folders, or none")
	}
}

// judge reads the output of govulncheck.
func judge() {
	type entry struct {
		ID       string `json:"id"`
		Summary  string `json:"summary"`
		Affected []struct {
			Specific struct {
				Imports []struct {
					Systems []string `json:"goos"`
				} `json:"imports"`
			} `json:"ecosystem_specific"`
		} `json:"affected"`
	}
	type finding struct {
		ID    string `json:"osv"`
		Fixed string `json:"fixed_version"`
		Trace []struct {
			Module   string `json:"module"`
			Version  string `json:"version"`
			Package  string `json:"package"`
			Function string `json:"function"`
		} `json:"trace"`
	}
	entries, found, whole := map[string]*entry{}, map[string]*finding{}, false
	for d := json.NewDecoder(os.Stdin); ; {
		var m struct {
			Config   any      `json:"config"`
			Progress any      `json:"progress"`
			Entry    *entry   `json:"osv"`
			Finding  *finding `json:"finding"`
		}
		err := d.Decode(&m)
		if err == io.EOF {
			break
		}
		must(err)
		switch {
		case m.Config != nil:
			whole = true
		case m.Entry != nil:
			entries[m.Entry.ID] = m.Entry
		case m.Finding != nil && len(m.Finding.Trace) > 0 && m.Finding.Trace[0].Function != "":
			found[m.Finding.ID] = m.Finding
		}
	}
	if !whole {
		log.Fatal("govulncheck said nothing")
	}
	bad := false
	for _, id := range slices.Sorted(maps.Keys(found)) {
		f, e := found[id], entries[id]
		at, elsewhere := f.Trace[0], e != nil
		if e == nil {
			e = &entry{}
		}
		for _, a := range e.Affected {
			for _, i := range a.Specific.Imports {
				elsewhere = elsewhere && len(i.Systems) > 0 && !slices.Contains(i.Systems, runtime.GOOS)
			}
		}
		words := "vulnerable"
		if elsewhere && at.Module == "stdlib" {
			words = "vulnerable on other systems, when built with this Go"
		} else {
			bad = true
		}
		log.Printf("%s: %s: %s.%s of %s %s, fixed in %s: %s", id, words, at.Package, at.Function, at.Module, at.Version, f.Fixed, e.Summary)
	}
	if bad {
		os.Exit(1)
	}
	log.Printf("%d reports looked at, nothing vulnerable is called here", len(entries))
}

func convert() {
	in, out := filepath.Join(os.Args[1], "data", "osv"), os.Args[2]
	files, err := filepath.Glob(filepath.Join(in, "*.json"))
	if err == nil && len(files) == 0 {
		log.Fatal("no reports in ", in)
	}
	must(err)
	must(os.MkdirAll(filepath.Join(out, "ID"), 0o777))
	must(os.MkdirAll(filepath.Join(out, "index"), 0o777))
	var vulns []vuln
	var modules []*module
	byPath := map[string]*module{}
	for _, f := range files {
		text, err := os.ReadFile(f)
		must(err)
		var r report
		must(json.Unmarshal(text, &r))
		must(os.WriteFile(filepath.Join(out, "ID", r.ID+".json"), text, 0o666))
		vulns = append(vulns, vuln{r.ID, r.Modified, r.Aliases})
		seen := map[string]bool{}
		for _, a := range r.Affected {
			name := a.Package.Name
			if seen[name] {
				continue
			}
			seen[name] = true
			if byPath[name] == nil {
				byPath[name] = &module{Path: name}
				modules = append(modules, byPath[name])
			}
			byPath[name].Vulns = append(byPath[name].Vulns, vuln{ID: r.ID, Modified: r.Modified})
		}
	}
	write(out, "db", struct {
		Modified time.Time `json:"modified"`
	}{})
	write(out, "modules", modules)
	write(out, "vulns", vulns)
}

func write(out, name string, what any) {
	text, err := json.Marshal(what)
	must(err)
	must(os.WriteFile(filepath.Join(out, "index", name+".json"), text, 0o666))
}

func must(err error) {
	if err != nil {
		log.Fatal(err)
	}
}
