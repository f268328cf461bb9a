package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"trammel/spec/amount"
)

// testEnquiry compares enquiries of axes: one with a finding, one in inches, one
// that is washed down.
func testEnquiry(t *testing.T, s *shop) {
	s = newShop(t, s.tool) // a file is added
	for file, args := range map[string]string{
		"enquiry-travel.md": "machines/loader travel --date 2026-11-25",
		"enquiry-head.txt":  "machines/scorer-export head --date 2026-11-25 --form text",
		"enquiry-gate.html": "machines/tray-washer gate --date 2026-11-25 --form html",
	} {
		r := s.run(t, call{}, append([]string{"enquiry"}, strings.Fields(args)...)...)
		if r.status != exitClean || r.err != "" {
			t.Errorf("%s: status %d, error output %q", args, r.status, r.err)
		}
		golden(t, file, r.out)
		for _, env := range amount.Some([][]string{{"GOMAXPROCS=1"}, {"TZ=Pacific/Kiritimati"}, {"LC_ALL=tr_TR.UTF-8"}}, 3, func(e []string) string { return e[0] }) {
			if again := s.run(t, call{env: env}, append([]string{"enquiry"}, strings.Fields(args)...)...); again.out != r.out {
				t.Errorf("%s gives other bytes with %q", args, env)
			}
		}
	}
	for _, c := range []struct {
		args   string
		status int
		want   []string // pieces of the output; a ! before one that must not be there
	}{
		{"machines/loader travel", exitClean, []string{"# Enquiry: ball screw for axis travel", "fails its own check: 1 error (critical-speed)", "!axis dip", "!- Date:"}},
		{"machines/loader travel --units inch", exitClean, []string{"Units: inch", " lbf", "! kN", "! mm "}},
		{"machines/loader", exitClean, []string{"axis travel", "axis dip", "axis cross"}},
		{"machines/loader --form html", exitClean, []string{"<!DOCTYPE html>", `<article class="brief">`, "!<nav"}},
		{"machines/loader travel --date 2027-06-30", exitClean, []string{"- Date: 2027-06-30"}},
		{"machines/loader travle", exitFailed, []string{"has no axis named travle; did you mean travel?"}},
		{"parts", exitFailed, []string{"has no axis"}},
		{"machines/loader --form pdf", exitFailed, []string{`unknown output form "pdf"; the forms are text, markdown, html`}},
		{"machines/loader --date yesterday", exitFailed, []string{"is not a date; write it as 2027-06-30"}},
		{"", exitFailed, []string{"arg"}},
	} {
		r := s.run(t, call{}, append([]string{"enquiry"}, strings.Fields(c.args)...)...)
		out := r.out + r.err
		if r.status != c.status {
			t.Errorf("%s: status %d:\n%.400s", c.args, r.status, out)
		}
		for _, w := range c.want {
			if not, is := strings.CutPrefix(w, "!"); is && strings.Contains(out, not) || !is && !strings.Contains(out, w) {
				t.Errorf("%s: expected %q in\n%.400s", c.args, w, out)
			}
		}
	}
	// Text that cannot be read whole gives no enquiry, and no file.
	file := filepath.Join(s.root, "machines/loader/zz.axis.hcl")
	writeFile(t, file, "axis \"zz\" {\n  load {\n")
	defer os.Remove(file)
	if r := s.run(t, call{}, "enquiry", "machines/loader", "--write", "markdown=x.md"); r.status != exitFailed || !strings.Contains(r.err, "no enquiry was written") {
		t.Errorf("an enquiry from a file that cannot be read: %d %s", r.status, r.err)
	}
	if _, err := os.Stat(filepath.Join(s.root, "x.md")); err == nil {
		t.Error("a file was written though no enquiry was made")
	}
}
