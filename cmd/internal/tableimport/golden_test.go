package tableimport

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trammel/cmd/internal/format"
	"trammel/rules"
	"trammel/rules/judge/run"
	"trammel/spec"
)

var update = flag.Bool("update", false, "write the golden files anew")

// put writes files and returns their folder.
func put(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		full := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(full), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(full, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// adopted runs adopt over fleet.csv, or another table, of a folder into its
// folder out.
func adopted(t testing.TB, dir string, change ...func(*Options)) (*Result, string) {
	t.Helper()
	r, report, err := tryAdopt(dir, change...)
	if err != nil {
		t.Fatalf("%v\n%s", err, report)
	}
	return r, report
}

func tryAdopt(dir string, change ...func(*Options)) (*Result, string, error) {
	opt := Options{Table: filepath.Join(dir, "fleet.csv"), Out: filepath.Join(dir, "out"), Map: filepath.Join(dir, "fleet.map.hcl")}
	for _, c := range change {
		c(&opt)
	}
	var out bytes.Buffer
	r, err := Run(context.Background(), opt, &out)
	return r, out.String(), err
}

// files reads a tree, hidden files too.
func files(t testing.TB, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		src, err := os.ReadFile(p)
		rel, _ := filepath.Rel(dir, p)
		out[filepath.ToSlash(rel)] = string(src)
		return err
	})
	if err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	return out
}

// readable holds that a tree has no problem of its text but parts that are not
// declared yet, is laid out, and bears its sums.
func readable(t testing.TB, dir string) {
	t.Helper()
	root, err := os.OpenRoot(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	tree := spec.NewTree(root.FS())
	var names []string
	for _, p := range tree.Walk(".", func(n string) { names = append(names, n) }) {
		t.Errorf("%v: %s", p.Place, p.Message)
	}
	sum := run.Files(rules.Book(), tree, names, run.Options{Today: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)})
	for _, f := range sum.Findings {
		switch f.Rule {
		case "syntax", "unit", "value", "duplicate-name", "file":
			t.Errorf("%v: %s [%s]", f.Place, f.Message, f.Rule)
		case "unknown-name":
			if !strings.HasPrefix(f.Message, "no part ") {
				t.Errorf("%v: %s [%s]", f.Place, f.Message, f.Rule)
			}
		}
	}
	for name, text := range files(t, dir) {
		tidy, problems := format.Tidy(name, []byte(text))
		if len(problems) > 0 || string(tidy) != text {
			t.Errorf("%s is not in its layout: %v\n%s", name, problems, text)
		}
		if !untouched([]byte(text)) {
			t.Errorf("%s: its sum does not fit", name)
		}
	}
}

func TestGolden(t *testing.T) {
	for _, name := range []string{"metric", "inch", "mixed"} {
		t.Run(name, func(t *testing.T) {
			from := filepath.Join("testdata", name)
			dir := t.TempDir()
			_, report := adopted(t, dir, func(o *Options) {
				o.Table, o.Map = filepath.Join(from, "fleet.csv"), filepath.Join(from, "fleet.map.hcl")
			})
			out := filepath.Join(dir, "out")
			readable(t, out)
			var b strings.Builder
			b.WriteString(report)
			written := files(t, out)
			for _, n := range sortedNames(written) {
				fmt.Fprintf(&b, "\n==> %s <==\n%s", n, written[n])
			}
			golden := filepath.Join(from, "want.txt")
			if *update {
				if err := os.WriteFile(golden, []byte(b.String()), 0o666); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if got := b.String(); got != string(want) {
				t.Errorf("it differs from %s; -update writes it anew\n%s", golden, got)
			}
			// Nothing is new the second time.
			r, _ := adopted(t, dir, func(o *Options) {
				o.Table, o.Map = filepath.Join(from, "fleet.csv"), filepath.Join(from, "fleet.map.hcl")
			})
			if r.Unchanged != r.Axes || r.Written+r.Rewritten+r.Kept != 0 {
				t.Errorf("the second time: %+v", r)
			}
		})
	}
}
