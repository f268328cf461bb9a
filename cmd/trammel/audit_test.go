package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"trammel/spec/amount"
)

// auditShop makes copies of the bakery's machines as a repository of its own
// and goes there.
func auditShop(t *testing.T, copies int) string {
	t.Helper()
	from, err := filepath.Abs(filepath.Join("..", "..", "fixtures", "bakery"))
	if err != nil {
		t.Fatal(err)
	}
	root := t.TempDir()
	for i := range copies {
		if err := os.CopyFS(filepath.Join(root, "machines", fmt.Sprintf("hall%d", i)), os.DirFS(filepath.Join(from, "machines"))); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.CopyFS(filepath.Join(root, "parts"), os.DirFS(filepath.Join(from, "parts"))); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(root, ".git"), 0o777); err != nil {
		t.Fatal(err)
	}
	t.Chdir(root)
	return root
}

func audited(t *testing.T, args ...string) result {
	t.Helper()
	var out, errOut bytes.Buffer
	code := execute(context.Background(), append([]string{"audit", "--today=2026-11-25"}, args...), strings.NewReader(""), &out, &errOut)
	return result{code, out.String(), errOut.String()}
}

func TestAuditForms(t *testing.T) {
	auditShop(t, 2)
	r := audited(t, "--write", "json=a.json", "--write", "csv=a.csv", "--write", "html=out.html", ".")
	if r.status == 0 {
		for _, want := range []string{"22 machines, 60 axes", "Axes without a sufficient holding brake", "hoist", "Worst axes", "Remaining life of the ball screws", "Findings by rule", "screw.r32x20b", "Regreasing", "Expired waivers: 2"} {
			if !strings.Contains(r.out, want) {
				t.Errorf("the summary lacks %q", want)
			}
		}
	} else {
		t.Fatalf("status %d: %s", r.status, r.err)
	}
	if r.err != "" {
		t.Errorf("said without a terminal: %q", r.err)
	}
	for form, file := range map[string]string{"json": "a.json", "csv": "a.csv", "html": "out.html"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if got := audited(t, "--form", form, "--workers", "1", "."); got.out != string(text) || got.status != 0 {
			t.Errorf("%s: the file differs from standard output", form)
		}
	}
	var doc struct{ Schema string }
	text, _ := os.ReadFile("a.json")
	if err := json.Unmarshal(text, &doc); err != nil || doc.Schema != "trammel.audit/1" {
		t.Errorf("%v, schema %s", err, doc.Schema)
	}
	text, _ = os.ReadFile("a.csv")
	if rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll(); err != nil || len(rows) != 61 {
		t.Errorf("%v, %d rows", err, len(rows))
	}
	if names, _ := filepath.Glob(".*.*"); len(names) > 0 {
		t.Errorf("left behind: %v", names)
	}
}

func TestAuditStatus(t *testing.T) {
	auditShop(t, 1)
	for _, c := range []struct {
		args   []string
		status int
		said   string
	}{
		{[]string{"."}, 0, ""},
		{[]string{"--fail-at", "error", "."}, 1, ""},
		{[]string{"--fail-at", "unjudged", "."}, 1, ""},
		{[]string{"--fail-at", "error", "machines/hall0/slicer"}, 0, ""},
		{[]string{"--fail-at", "often", "."}, 2, "--fail-at cannot be"},
		{[]string{"parts"}, 2, "no axis could be read"},
		{[]string{"nowhere"}, 2, "nowhere"},
		{[]string{"--form", "pdf", "."}, 2, "unknown output form"},
		{[]string{"--write", "csv", "."}, 2, "names no form and file"},
		{[]string{"--top", "0", "."}, 2, "--top"},
		{[]string{"--today", "tomorrow", "."}, 2, "--today"},
		{[]string{"--write", "csv=no/such/folder.csv", "."}, 2, "was not written"},
	} {
		if r := audited(t, c.args...); r.status != c.status || !strings.Contains(r.err, c.said) {
			t.Errorf("%v: status %d, expected %d: %s", c.args, r.status, c.status, r.err)
		}
	}
}

// Files that cannot be read are listed and keep nothing from the report.
func TestAuditBrokenFiles(t *testing.T) {
	auditShop(t, 2)
	for name, text := range map[string]string{
		"machines/hall0/broken.axis.hcl": "axis \"x\" {\n", "machines/hall0/binary.axis.hcl": "\xff\xfe\x00", "machines/hall1/line.axis.hcl": "axis \"y\" {\n  orientation = \"upward\"\n}\n",
	} {
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	r := audited(t, ".")
	if r.status != 0 {
		t.Fatalf("status %d: %s", r.status, r.err)
	}
	_, list, _ := strings.Cut(r.out, "Files not read completely: 3")
	for _, want := range []string{"broken.axis.hcl:", "binary.axis.hcl:", "line.axis.hcl:2:", "a line could not be read"} {
		if !strings.Contains(list, want) {
			t.Errorf("the list lacks %q:\n%s", want, list)
		}
	}
	if err := os.RemoveAll("machines/hall1"); err != nil {
		t.Fatal(err)
	}
	for _, m := range []string{"slicer", "packer", "palletiser", "proofer", "depositor", "decorator", "tray-washer", "tipper", "loader", "scorer-export", "oven-slide"} {
		os.RemoveAll("machines/hall0/" + m)
	}
	os.Remove("machines/hall0/broken.axis.hcl")
	if r := audited(t, "."); r.status != 2 || !strings.Contains(r.err, "binary.axis.hcl") {
		t.Errorf("nothing readable: status %d: %s", r.status, r.err)
	}
}

func TestAuditSheets(t *testing.T) {
	auditShop(t, 1)
	if err := os.WriteFile("machines/hall0/slicer/bad.axis.hcl", []byte("axis \"half\" {\n  orientation = \"upward\"\n}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir("pages", 0o777); err != nil {
		t.Fatal(err)
	}
	if r := audited(t, "--sheets", "my sheets", "--write", "html=pages/fleet.html", "machines/hall0/slicer"); r.status != 0 {
		t.Fatalf("status %d: %s", r.status, r.err)
	}
	sheets, _ := filepath.Glob("my sheets/*")
	if named, _ := filepath.Glob("my sheets/slicer.blade_lift-*.html"); len(named) != 1 {
		t.Errorf("the names carry no machine and axis: %q", sheets)
	}
	if len(sheets) != 3 {
		t.Errorf("%d sheets of three axes that can be read whole: %v", len(sheets), sheets)
	}
	page, err := os.ReadFile("pages/fleet.html")
	if err != nil {
		t.Fatal(err)
	}
	links := regexp.MustCompile(`"\.\./my%20sheets/([^"]+)"`).FindAllSubmatch(page, -1)
	if len(links) != 3 {
		t.Errorf("%d links", len(links))
	}
	for _, l := range links {
		text, err := os.ReadFile(filepath.Join("my sheets", string(l[1])))
		if err != nil || !bytes.Contains(text, []byte("Calculation sheet")) {
			t.Error(err)
		}
	}
}

// An interruption at any time leaves whole files or none.
func TestLongAuditInterrupted(t *testing.T) {
	amount.Long(t)
	auditShop(t, 20)
	for _, after := range []time.Duration{0, 5, 40, 120, 300, 800} {
		ctx, cancel := context.WithTimeout(t.Context(), after*time.Millisecond)
		o := auditOptions{outputOptions: outputOptions{form: "text", write: []string{"html=a.html", "json=a.json", "csv=a.csv"}}, failAt: "never", top: 10, sheets: "sheets"}
		err := o.run(ctx, []string{"."}, &bytes.Buffer{}, &bytes.Buffer{})
		cancel()
		if err != nil && !errors.Is(err, errInterrupted) {
			t.Errorf("after %d ms: %v", after, err)
		}
		if after == 0 && err == nil {
			t.Error("nothing was interrupted")
		}
		for _, dir := range []string{".", "sheets"} {
			list, _ := os.ReadDir(dir)
			for _, e := range list {
				switch {
				case strings.HasPrefix(e.Name(), ".") && e.Name() != ".git":
					t.Errorf("after %d ms %s is left behind", after, e.Name())
				case strings.HasSuffix(e.Name(), ".html"):
					if text, err := os.ReadFile(filepath.Join(dir, e.Name())); err != nil || !bytes.HasSuffix(text, []byte("</html>\n")) {
						t.Errorf("after %d ms %s is half-written: %v", after, e.Name(), err)
					}
				}
			}
		}
	}
}
