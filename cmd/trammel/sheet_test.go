package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trammel/spec/amount"
)

// sheetRun runs trammel sheet in a copy of the bakery; with an environment, as a
// process.
func sheetRun(t *testing.T, root string, env []string, args ...string) (out string, ok bool) {
	t.Helper()
	args = append([]string{"sheet"}, args...)
	if len(env) == 0 {
		r := runHere(t, root, "", args...)
		return r.out + r.err, r.status == exitClean
	}
	tool, err := builtTool()
	if err != nil {
		t.Skip("cannot build the command here:", err)
	}
	c := exec.Command(tool, args...)
	c.Dir, c.Env = root, append(os.Environ(), env...)
	timer := time.AfterFunc(time.Minute, func() { _ = c.Process.Kill() })
	defer timer.Stop()
	b, err := c.CombinedOutput()
	return string(b), err == nil
}

func bakeryCopy(t *testing.T) string {
	t.Helper()
	root := filepath.Join(t.TempDir(), "bakery")
	if err := os.CopyFS(root, os.DirFS(filepath.Join("..", "..", "fixtures", "bakery"))); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(root, ".git"), 0o777); err != nil {
		t.Fatal(err)
	}
	return root
}

func TestLongSheetSameBytes(t *testing.T) {
	amount.Long(t)
	root := bakeryCopy(t)
	for _, args := range [][]string{
		{"machines/loader"}, {"machines/loader", "--form", "html"}, {"machines/loader", "travel", "--form", "markdown"},
		{"machines/scorer-export", "--units", "metric"}, {"machines/scorer-export/head.axis.hcl", "--form", "html"}, {".", "--form", "html"},
	} {
		first, ok := sheetRun(t, root, nil, args...)
		if !ok {
			t.Fatalf("%q: %s", args, first)
		}
		if strings.Contains(first, time.Now().Format("2006")+"-") && !strings.Contains(first, "until") {
			t.Errorf("%q holds a date nobody requested", args)
		}
		for _, env := range [][]string{
			{"GOMAXPROCS=8", "TZ=Pacific/Kiritimati", "LANG=de_DE.UTF-8", "LC_ALL=tr_TR.UTF-8", "NO_COLOR=", "TERM=xterm", "CLICOLOR_FORCE=1"},
			{"GOMAXPROCS=1", "TERM=dumb", "COLUMNS=40"},
		} {
			if again, _ := sheetRun(t, root, env, args...); again != first {
				t.Errorf("%q gives other bytes with %q", args, env)
			}
		}
	}
}

func TestSheetCommand(t *testing.T) {
	root := bakeryCopy(t)
	for _, c := range []struct {
		args string
		ok   bool
		want []string // pieces of the output; a ! before one that must not be there
	}{
		{"machines/loader travel", true, []string{"Calculation sheet: axis travel", "Units: metric", "!\nDate:", "!axis dip"}},
		{"machines/loader travel --date 2027-06-30", true, []string{"Date: 2027-06-30"}},
		{"machines/loader travel --date today", true, []string{"Date: " + time.Now().Format(time.DateOnly)}},
		{"machines/loader travel --units inch", true, []string{"Units: inch", " lbf", "! kN"}},
		{"machines/scorer-export head", true, []string{"Units: inch"}},
		{"machines/scorer-export head --units metric", true, []string{"Units: metric", "! lbf"}},
		{"machines/loader", true, []string{"Calculation sheet: machine loader", "axis travel", "axis dip", "axis cross", "Regreasing plan", "└ cross"}},
		{"machines/loader --form markdown", true, []string{"# Calculation sheet: machine loader", "| quantity |"}},
		{"machines/loader --form html", true, []string{"<!DOCTYPE html>", "Calculation sheet: machine loader", `class="formula"`, "<svg"}},
		{"machines/loader/travel.axis.hcl", true, []string{"axis travel"}},
		{"machines/loader travle", false, []string{"has no axis named travle; did you mean travel?"}},
		{"machines/loader nothing-like-it", false, []string{"has no axis named nothing-like-it", "!did you mean"}},
		{"machines/nowhere", false, []string{"machines/nowhere"}},
		{"parts", false, []string{"has no axis"}},
		{"machines/loader --form pdf", false, []string{`unknown output form "pdf"; the forms are text, markdown, html`}},
		{"machines/loader --units cubits", false, []string{`--units cannot be "cubits"; choose metric or inch`}},
		{"machines/loader --date yesterday", false, []string{"is not a date; write it as 2027-06-30"}},
		{"machines/loader --write html=nowhere/x.html", false, []string{"nowhere"}},
		{"machines/loader travel more", false, []string{"arg"}},
		{"", false, []string{"arg"}},
	} {
		out, ok := sheetRun(t, root, nil, strings.Fields(c.args)...)
		if ok != c.ok {
			t.Errorf("%s: success is %v:\n%.400s", c.args, ok, out)
		}
		for _, w := range c.want {
			if not, is := strings.CutPrefix(w, "!"); is && strings.Contains(out, not) || !is && !strings.Contains(out, w) {
				t.Errorf("%s: expected %q in\n%.400s", c.args, w, out)
			}
		}
	}
}

// TestSheetOut writes to a file, whole or not at all.
func TestSheetOut(t *testing.T) {
	root := bakeryCopy(t)
	file := filepath.Join(root, "x.html")
	writeFile(t, file, "old")
	if out, ok := sheetRun(t, root, nil, "machines/loader", "--write", "html=x.html"); !ok || out != "" {
		t.Fatalf("%s", out)
	}
	got, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	shown, _ := sheetRun(t, root, nil, "machines/loader", "--form", "html")
	if string(got) != shown {
		t.Error("the file holds something else than standard output")
	}
	if left, _ := filepath.Glob(filepath.Join(root, ".x.html*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	writeFile(t, filepath.Join(root, "machines/loader/dip.axis.hcl"), "axis \"dip\" {\n  load {\n")
	out, ok := sheetRun(t, root, nil, "machines/loader", "--write", "html=x.html")
	if ok || !strings.Contains(out, "no sheet was written") {
		t.Errorf("a sheet of a file that cannot be read: %s", out)
	}
	if now, _ := os.ReadFile(file); string(now) != string(got) {
		t.Error("the file was written though no sheet was made")
	}
}
