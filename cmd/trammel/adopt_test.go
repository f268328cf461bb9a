package main

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var updateAdopt = flag.Bool("update-adopt", false, "put the output into docs/adopt.md")

// TestAdoptDocument runs the example of docs/adopt.md and compares what it
// shows with what is printed and written.
func TestAdoptDocument(t *testing.T) {
	const doc = "../../docs/adopt.md"
	src, err := os.ReadFile(doc)
	if err != nil {
		t.Fatal(err)
	}
	text := string(src)
	block := func(head string) (start, end int) {
		at := strings.Index(text, "```"+head+"\n")
		if at < 0 {
			t.Fatalf("no block %q", head)
		}
		start = at + len(head) + 4
		return start, start + strings.Index(text[start:]+"\n", "```\n")
	}
	dir := t.TempDir()
	for head, name := range map[string]string{"csv fleet.csv": "fleet.csv", "hcl": "fleet.map.hcl"} {
		start, end := block(head)
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text[start:end]), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	var out, errOut bytes.Buffer
	if code := execute(context.Background(), []string{"adopt", filepath.Join(dir, "fleet.csv")}, nil, &out, &errOut); code != exitFindings || errOut.Len() > 0 {
		t.Fatal(code, errOut.String())
	}
	const file = "Press-1/cross.axis.hcl"
	written, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(file)))
	if err != nil {
		t.Fatal(err)
	}
	for head, want := range map[string]string{"text report": out.String(), "text " + file: string(written)} {
		start, end := block(head)
		if text[start:end] != want && !*updateAdopt {
			t.Errorf("%s: the document shows\n%s\nbut it is\n%s", head, text[start:end], want)
		}
		text = text[:start] + want + text[end:]
	}
	if *updateAdopt && text != string(src) {
		if err := os.WriteFile(doc, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func TestAdoptStatus(t *testing.T) {
	dir := t.TempDir()
	put := func(name, text string) string {
		full := filepath.Join(dir, name)
		if err := os.WriteFile(full, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return full
	}
	table := put("a.csv", "Axis,Mass [kg]\nx,5\n")
	good := put("a.map.hcl", "axis = \"{Axis}\"\ncolumn \"Mass [kg]\" {\n  field = \"load.mass\"\n}\n")
	wrong := put("b.map.hcl", "axis = \"{Axis}\"\ncolumn \"Mas [kg]\" {\n  field = \"load.mass\"\n}\n")
	bad := put("b.csv", "Axis,Mass [kg]\nx,heavy\n")
	for _, c := range []struct {
		args []string
		code int
		out  string // of either stream
	}{
		{[]string{table, "--try"}, exitClean, "x.axis.hcl: would be written"},
		{[]string{table}, exitClean, "1 axis: 1 written"},
		{[]string{table}, exitClean, "1 axis: 0 written, 0 rewritten, 1 unchanged"},
		{[]string{bad, "--map", good, "--out", filepath.Join(dir, "new")}, exitFindings, `b.csv: row 2, B "Mass [kg]": not read for load.mass`},
		{[]string{table, "--map", wrong}, exitFailed, `b.map.hcl:2:8: error: the table has no column "Mas [kg]"`},
		{[]string{table, "--map", wrong}, exitFailed, `help: did you mean "Mass [kg]"?`},
		{[]string{table, "--map", table}, exitFailed, "must end in .map.hcl"},
		{[]string{filepath.Join(dir, "none.csv"), "--map", good}, exitFailed, "no such file"},
		{[]string{table, "--out", table}, exitFailed, "it is no folder"},
		{[]string{table, "--workers", "-1"}, exitFailed, "--workers"},
		{nil, exitFailed, "1 needed"},
	} {
		var out, errOut bytes.Buffer
		code := execute(context.Background(), append([]string{"adopt"}, c.args...), nil, &out, &errOut)
		if all := out.String() + errOut.String(); code != c.code || !strings.Contains(all, c.out) {
			t.Errorf("%q: %d, want %d and %q in\n%s", c.args, code, c.code, c.out, all)
		}
	}
}
