package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"trammel/spec/amount"
)

func sizeRun(t *testing.T, root string, args ...string) (out, errOut string, status int) {
	t.Helper()
	r := runHere(t, root, "", append([]string{"size"}, args...)...)
	return r.out, r.err, r.status
}

func TestSizeCommand(t *testing.T) {
	if raceEnabled {
		t.Skip("the search is tested under the race detector in rules")
	}
	// Searches whose like another case, or another test, makes too.
	repeats := []string{
		"machines/palletiser mast", "machines/slicer blade_lift --form markdown", "machines/slicer blade_lift --form html", "machines/slicer blade_lift --patch 99",
		"machines/palletiser mast --keep screw,ends --patch 1",
	}
	root := bakeryCopy(t)
	for _, c := range []struct {
		args   string
		status int
		want   []string // pieces of the output; a ! before one that must not be there
	}{
		{"machines/slicer blade_lift", 0, []string{"Part combinations that pass for axis blade_lift", "Design as declared: passes", "g20x10 =", "Rejected by", "rules judged"}},
		{"machines/palletiser mast", 0, []string{"Design as declared: fails", "ends fixed-supported (fx20, su20)"}},
		{"machines/palletiser mast --keep ends,grade", 0, []string{"ends: fixed-free (fx20), kept", "grade: C7, kept"}},
		{"machines/palletiser mast --keep screw,ends", 1, []string{"none of", "Nearest combinations", "buckling", "!1  Passing combinations"}},
		{"machines/slicer blade_lift --form markdown", 0, []string{"# Part combinations that pass for axis blade\\_lift"}},
		{"machines/slicer blade_lift --form html", 0, []string{"<!DOCTYPE html>", "<svg"}},
		{"machines/scorer-export head", 0, []string{"Units: inch"}},
		{"machines/palletiser mast --free --patch 1", 2, []string{"--free ignores the parts files"}},
		{"machines/slicer blade_lft", 2, []string{"has no axis named blade_lft; did you mean blade_lift?"}},
		{"machines/slicer blade_lift --keep scrw", 2, []string{"choose from screw, preload, ends, grade, motor, coupling", `did you mean screw?`}},
		{"machines/slicer blade_lift --form pdf", 2, []string{"unknown output form \"pdf\"; the forms are text, markdown, html, json"}},
		{"machines/slicer blade_lift --fail-at off", 2, []string{"choose error, warning or note"}},
		{"machines/slicer blade_lift --most 0", 2, []string{"--most 0 is out of range"}},
		{"machines/slicer blade_lift --patch 1 --take 2", 2, []string{"use one of them"}},
		{"machines/slicer blade_lift --patch 99", 2, []string{"combination 99"}},
		{"machines/palletiser mast --keep screw,ends --patch 1", 2, []string{"no combination passes"}},
	} {
		if !amount.All() && slices.Contains(repeats, c.args) {
			continue
		}
		out, errOut, status := sizeRun(t, root, strings.Fields(c.args)...)
		if status != c.status {
			t.Errorf("%s: status %d, not %d: %s", c.args, status, c.status, errOut)
		}
		for _, w := range c.want {
			not := strings.HasPrefix(w, "!")
			if strings.Contains(out+errOut, strings.TrimPrefix(w, "!")) == not {
				t.Errorf("%s: %q in\n%s%s", c.args, w, out, errOut)
			}
		}
	}
}

// TestLongSizeFree: what a screw must be where none is at hand.
func TestLongSizeFree(t *testing.T) {
	amount.Long(t)
	root := bakeryCopy(t)
	for form, want := range map[string][]string{"text": {"Screw required for axis mast", "rejected by", "dynamic"}, "json": {`"schema": "trammel.size-free/1"`}} {
		out, errOut, status := sizeRun(t, root, "machines/palletiser", "mast", "--free", "--form", form)
		if status != 0 {
			t.Errorf("%s: status %d: %s", form, status, errOut)
		}
		for _, w := range want {
			if !strings.Contains(out, w) {
				t.Errorf("%s: no %q in\n%s", form, w, out)
			}
		}
	}
}

func TestLongSizeSameBytes(t *testing.T) {
	amount.Long(t)
	if raceEnabled {
		t.Skip("the search is tested under the race detector in rules")
	}
	root := bakeryCopy(t)
	forms := formNames(sizeForms)
	for _, form := range amount.Of(forms, forms[len(forms)-1:]) {
		first, _, _ := sizeRun(t, root, "machines/slicer", "blade_lift", "--form", form)
		for _, args := range [][]string{{"--workers", "1"}, {"--workers", "7"}} {
			again, _, _ := sizeRun(t, root, append([]string{"machines/slicer", "blade_lift", "--form", form}, args...)...)
			if again != first {
				t.Errorf("%s with %q: other bytes", form, args)
			}
		}
	}
}

// What is written into the axis file, by the command or by applying the patch,
// is checked without a finding of its rules and is among what holds.
func TestSizeWrites(t *testing.T) {
	root := bakeryCopy(t)
	file := filepath.Join(root, "machines", "palletiser", "mast.axis.hcl")
	before, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	check := func() string {
		return runHere(t, root, "", "check", "machines/palletiser/mast.axis.hcl", bakeryDay).out
	}
	if !strings.Contains(check(), "[buckling]") {
		t.Fatal("the axis holds already")
	}
	patch, errOut, status := sizeRun(t, root, "machines/palletiser", "mast", "--patch", "1", bakeryDay)
	if status != 0 {
		t.Fatal(errOut)
	}
	if got, _ := os.ReadFile(file); !bytes.Equal(got, before) {
		t.Error("--patch wrote into the file")
	}
	_, errOut, status = sizeRun(t, root, "machines/palletiser", "mast", "--take", "1", bakeryDay)
	if status != 0 || !strings.Contains(errOut, "mast.axis.hcl") {
		t.Fatalf("%d %s", status, errOut)
	}
	after, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(check(), "[buckling]") {
		t.Errorf("what was taken does not hold:\n%s", check())
	}
	out, _, _ := sizeRun(t, root, "machines/palletiser", "mast", "--form", "json", bakeryDay)
	var got struct {
		Declared bool `json:"declared_holds"`
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil || !got.Declared {
		t.Errorf("%v: what was taken is not among what holds", err)
	}
	if _, errOut, _ := sizeRun(t, root, "machines/palletiser", "mast", "--take", "1", bakeryDay); !strings.Contains(errOut, "already has combination 1") {
		t.Errorf("taken again: %s", errOut)
	}
	// The patch comes to the same.
	if err := os.WriteFile(file, before, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := exec.LookPath("git"); err != nil {
		t.Skip(err)
	}
	c := exec.Command("git", "apply", "-")
	c.Dir, c.Stdin = root, strings.NewReader(patch)
	// The root's .git is a folder without a repository: apply as outside of one.
	c.Env = append(os.Environ(), "GIT_DIR="+filepath.Join(root, "none"))
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if patched, _ := os.ReadFile(file); !bytes.Equal(patched, after) {
		t.Errorf("the patch makes\n%s\nnot\n%s", patched, after)
	}
}
