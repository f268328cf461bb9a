package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

const (
	untidyText = "axis \"a\" {\r\nload {\nmass=\"1 kg\"  \n}\n}"
	tidyText   = "axis \"a\" {\n  load {\n    mass = \"1 kg\"\n  }\n}\n"
	faultyText = "axis \"a\" {\n  load {\n    mass = = 1\n  }\n}\n"
)

// tidyFolder makes the current folder one of its own with the files given.
func tidyFolder(t *testing.T, files map[string]string) {
	t.Helper()
	t.Chdir(t.TempDir())
	for name, text := range files {
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// tidied runs the command and wants a status and what it says.
func tidied(t *testing.T, in string, status int, out, errOut string, args ...string) {
	t.Helper()
	var gotOut, gotErr bytes.Buffer
	got := execute(context.Background(), append([]string{"tidy"}, args...), strings.NewReader(in), &gotOut, &gotErr)
	if got != status {
		t.Errorf("%q: status %d, want %d", args, got, status)
	}
	if gotOut.String() != out {
		t.Errorf("%q: wrote\n%swant\n%s", args, gotOut.String(), out)
	}
	if errOut == "" && gotErr.Len() > 0 || !strings.Contains(gotErr.String(), errOut) {
		t.Errorf("%q: said\n%swant\n%s", args, gotErr.String(), errOut)
	}
}

func tidyHolds(t *testing.T, name, want string) {
	t.Helper()
	got, err := os.ReadFile(name)
	if err != nil || string(got) != want {
		t.Errorf("%s holds %q, %v", name, got, err)
	}
}

func TestTidyWrites(t *testing.T) {
	tidyFolder(t, map[string]string{
		"m/a.axis.hcl": untidyText, "m/fine.axis.hcl": tidyText, "p/a.parts.hcl": "screw \"x\" {\n}\n\n", "house.policy.hcl": "rule \"a\" {\n}\n",
		"m/notes.hcl": untidyText, ".git/x.axis.hcl": untidyText, "m/.hidden/x.axis.hcl": untidyText,
	})
	old := time.Now().Add(-time.Hour).Truncate(time.Second)
	if err := os.Chtimes("m/fine.axis.hcl", old, old); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod("m/a.axis.hcl", 0o640); err != nil {
		t.Fatal(err)
	}
	tidied(t, "", 1, "m/a.axis.hcl\np/a.parts.hcl\n", "", "--check")
	tidied(t, "", 1, "m/a.axis.hcl\n", "", "--check", "m", "m/a.axis.hcl")
	tidyHolds(t, "m/a.axis.hcl", untidyText)
	tidied(t, "", 0, "m/a.axis.hcl\np/a.parts.hcl\n", "")
	tidyHolds(t, "m/a.axis.hcl", tidyText)
	tidyHolds(t, "p/a.parts.hcl", "screw \"x\" {\n}\n")
	for _, name := range []string{"m/notes.hcl", ".git/x.axis.hcl", "m/.hidden/x.axis.hcl"} {
		tidyHolds(t, name, untidyText)
	}
	if info, err := os.Stat("m/a.axis.hcl"); err != nil || info.Mode().Perm() != 0o640 {
		t.Errorf("mode %v", info.Mode())
	}
	if info, err := os.Stat("m/fine.axis.hcl"); err != nil || !info.ModTime().Equal(old) {
		t.Error("a tidy file was touched")
	}
	if entries, err := os.ReadDir("m"); err != nil || len(entries) != 4 {
		t.Errorf("in the folder: %v", entries)
	}
	tidied(t, "", 0, "", "", "--check")
	tidied(t, "", 0, "", "")
	// Seen from elsewhere.
	t.Chdir("p")
	if err := os.WriteFile("../m/a.axis.hcl", []byte(untidyText), 0o644); err != nil {
		t.Fatal(err)
	}
	tidied(t, "", 1, "../m/a.axis.hcl\n", "", "--check", "../m")
	tidied(t, "", 0, "../m/a.axis.hcl\n", "", "../m/a.axis.hcl")
}

func TestTidyTriesAll(t *testing.T) {
	files := map[string]string{"a.axis.hcl": faultyText, "b.axis.hcl": untidyText, "c.axis.hcl": untidyText, "x y.txt": "x"}
	tidyFolder(t, files)
	tidied(t, "", 1, "b.axis.hcl\nc.axis.hcl\n", "a.axis.hcl:3:12: error: a value is expected here", "--check")
	tidied(t, "", 2, "b.axis.hcl\n", "none.axis.hcl: no such file", "none.axis.hcl", "b.axis.hcl")
	tidied(t, "", 2, "c.axis.hcl\n", "x y.txt is not a spec file", "x y.txt", "a.axis.hcl", "c.axis.hcl")
	tidyHolds(t, "a.axis.hcl", faultyText)
	tidyHolds(t, "x y.txt", "x")
	tidied(t, "", 1, "", "a.axis.hcl:3:12: error")
	tidied(t, "", 2, "", "none: no such file", "none")
	tidied(t, "", 2, "", "cannot be combined with files", "-", "a.axis.hcl")
}

func TestTidyNames(t *testing.T) {
	tidyFolder(t, map[string]string{"a b'\"é.axis.hcl": untidyText, "c\nd.axis.hcl": untidyText})
	tidied(t, "", 1, "a b'\"é.axis.hcl\nc\\nd.axis.hcl\n", "", "--check")
	tidied(t, "", 0, "a b'\"é.axis.hcl\nc\\nd.axis.hcl\n", "")
	tidyHolds(t, "c\nd.axis.hcl", tidyText)
}

func TestTidyNothing(t *testing.T) {
	tidyFolder(t, nil)
	tidied(t, "", 0, "", "no spec files")
}

func TestTidyLinks(t *testing.T) {
	tidyFolder(t, map[string]string{"real/a.axis.hcl": untidyText, "m/b.axis.hcl": untidyText})
	if err := os.Symlink("../real/a.axis.hcl", "m/a.axis.hcl"); err != nil {
		t.Skip("no links here:", err)
	}
	if err := os.Symlink("nowhere", "m/c.axis.hcl"); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("m", "folder"); err != nil {
		t.Fatal(err)
	}
	tidied(t, "", 2, "m/b.axis.hcl\n", "m/a.axis.hcl: not written: it is a link", "m/a.axis.hcl", "m/b.axis.hcl")
	tidied(t, "", 2, "", "m/c.axis.hcl: not written: it is a link", "m/c.axis.hcl")
	tidied(t, "", 0, "", "", "m")
	tidied(t, "", 2, "", "folder: not written: \"folder\" is a link inside the tree", "folder")
	tidied(t, "", 0, "", "", "--check", "folder")
	tidyHolds(t, "real/a.axis.hcl", untidyText)
	if info, err := os.Lstat("m/a.axis.hcl"); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Error("the link was replaced")
	}
	tidied(t, "", 0, "real/a.axis.hcl\n", "")
	tidyHolds(t, "m/a.axis.hcl", tidyText)
}

func TestTidyCannotWrite(t *testing.T) {
	tidyFolder(t, map[string]string{"a.axis.hcl": untidyText, "b.axis.hcl": untidyText, "m/c.axis.hcl": untidyText})
	if err := os.Chmod("a.axis.hcl", 0o444); err != nil {
		t.Fatal(err)
	}
	tidied(t, "", 2, "b.axis.hcl\nm/c.axis.hcl\n", "trammel: a.axis.hcl: not written: it is read-only")
	tidyHolds(t, "a.axis.hcl", untidyText)
	if os.Geteuid() == 0 {
		t.Skip("every folder is writable here")
	}
	if err := os.WriteFile("m/c.axis.hcl", []byte(untidyText), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod("m", 0o555); err != nil {
		t.Fatal(err)
	}
	defer os.Chmod("m", 0o755)
	tidied(t, "", 2, "", "m/c.axis.hcl: not written: its folder: permission denied", "m")
	tidyHolds(t, "m/c.axis.hcl", untidyText)
}

func TestTidyStream(t *testing.T) {
	tidyFolder(t, nil)
	tidied(t, untidyText, 0, tidyText, "", "-")
	tidied(t, tidyText, 0, tidyText, "", "-")
	tidied(t, "", 0, "", "", "-")
	tidied(t, untidyText, 1, "-\n", "", "--check", "-")
	tidied(t, tidyText, 0, "", "", "--check", "-")
	tidied(t, faultyText, 1, "", "-:3:12: error: a value is expected here", "-")
	tidied(t, strings.Repeat("# a\n", 300000), 2, "", "-:1:1: error", "-")
}

type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, errors.New("gone") }

func TestTidyOutputFails(t *testing.T) {
	tidyFolder(t, map[string]string{"a.axis.hcl": untidyText})
	var said bytes.Buffer
	if got := execute(context.Background(), []string{"tidy"}, nil, brokenPipe{}, &said); got != 2 || !strings.Contains(said.String(), "gone") {
		t.Errorf("status %d, %s", got, said.String())
	}
}
