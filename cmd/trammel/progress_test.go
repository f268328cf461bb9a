package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestProgress: what is counted is shown with its total, and the line is taken away; a
// stream that is no terminal shows nothing.
func TestProgress(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	newProgress(&b).task("files judged", 3)
	p := &progress{w: &b}
	p.task("files judged", 3)
	p.add()
	p.add()
	if got := p.line(); got != "files judged: 2 of 3" {
		t.Error(got)
	}
	p.task("rows", 0)
	if got := p.line(); got != "rows" {
		t.Error(got)
	}
	p.add()
	if got := p.line(); got != "rows: 1" {
		t.Error(got)
	}
	p.at(7, 9)
	if got := p.line(); got != "rows: 7 of 9" {
		t.Error(got)
	}
	p.end()
	p.end()
	p.show = true
	if _, err := p.above(&b).Write([]byte("text\n")); err != nil || !strings.HasSuffix(b.String(), "\r\x1b[Ktext\n") || p.show {
		t.Errorf("%q, %v", b.String(), err)
	}
	b.Reset()
	if nobody := newProgress(&b); nobody.above(&b) != io.Writer(&b) {
		t.Error("what nobody watches is written through something")
	}
	if s := b.String(); s != "" && !strings.HasSuffix(s, "\r\x1b[K") {
		t.Errorf("%q", s)
	}
	jobs := []*job{{files: []string{"a/x.axis.hcl", "a/p.parts.hcl", "b/y.axis.hcl"}}, {files: []string{"z.axis.hcl"}}}
	if n, own := axisFiles(jobs, nil), axisFiles(jobs, func(d string) bool { return d == "b" }); n != 3 || own != 1 {
		t.Errorf("%d and %d axis files", n, own)
	}
}

// TestCompileInEmacs: the terminal in which emacs compiles is not treated as one, so that it finds
// its errors; a shell in emacs stays one.
func TestCompileInEmacs(t *testing.T) {
	f, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skip("there is no terminal to open: ", err)
	}
	defer f.Close()
	t.Setenv("TERM", "xterm")
	for _, name := range []string{"NO_COLOR", "CLICOLOR_FORCE"} {
		t.Setenv(name, "")
	}
	for inside, want := range map[string]bool{"": true, "28.2,compile": false, "28.2,comint": true} {
		t.Setenv("INSIDE_EMACS", inside)
		if colour, err := useColor("auto", f); err != nil || colour != want || isTerminal(f) != want {
			t.Errorf("INSIDE_EMACS=%s: colour %t, terminal %t: %v", inside, colour, isTerminal(f), err)
		}
	}
}

// TestNoTerminal: a file is no terminal, and has no width.
func TestNoTerminal(t *testing.T) {
	t.Parallel()
	f, err := os.Create(filepath.Join(t.TempDir(), "out"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if isTerminal(f) || terminalWidth(f) != 0 || terminalWidth(&bytes.Buffer{}) != 0 {
		t.Error("a file is taken for a terminal")
	}
}
