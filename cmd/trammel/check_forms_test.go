package main

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
	"trammel/spec/amount"
)

const knownList = "known.txt"

// TestKnownFleet goes the way of an old fleet.
func TestKnownFleet(t *testing.T) {
	inBakery(t)
	ends(t, 1, nil, "check", "--no-fixes")
	ends(t, 0, []string{"known.txt: ", " added to the list, 0 removed", "0 findings", "!no longer"}, "check", "--no-fixes", "--known", knownList, "--record")
	first := text(t, knownList)
	for _, args := range amount.Some([][]string{nil, {"machines"}, {outfeed}, {"--staged"}, {"--at", "HEAD"}, {"--since", "HEAD~0"}, {"--fail-at", "note"}}, 3, func(a []string) string { return strings.Join(a, " ") }) {
		r := ends(t, 0, []string{"0 findings", "!no longer"}, append([]string{"check", "--no-fixes", "--known", knownList}, args...)...)
		if strings.Contains(r.out, "error:") {
			t.Errorf("%q shows what is known:\n%s", args, r.out)
		}
	}
	// Recorded again it is the same, and not even written.
	before, err := os.Stat(knownList)
	if err != nil {
		t.Fatal(err)
	}
	ends(t, 0, []string{"0 added to the list, 0 removed"}, "check", "--no-fixes", "--known", knownList, "--record")
	if after, err := os.Stat(knownList); err != nil || !os.SameFile(before, after) {
		t.Error("a list that is as it was is written anew")
	}
	// Lines above shift everything; files and folders take other names.
	commitAll(t, "list")
	for _, f := range []string{"machines/loader/travel.axis.hcl", "machines/depositor/axes.axis.hcl", screws} {
		put(t, f, "# moved\n\n\n"+text(t, f))
	}
	gitDo(t, "mv", "machines/loader/travel.axis.hcl", "machines/loader/long way.axis.hcl")
	gitDo(t, "mv", "machines/depositor", "machines/depositor-2")
	gitDo(t, "add", "-A")
	ends(t, 0, []string{"0 findings", "!no longer"}, "check", "--no-fixes", "--known", knownList)
	ends(t, 0, []string{"0 findings", "!no longer"}, "check", "--no-fixes", "--known", knownList, "--staged", "--since", "HEAD")
	gitDo(t, "reset", "-q", "--hard")
	// A new finding shows and is alone.
	edit(t, outfeed, `"1200 mm"`, `"1900 mm"`)
	r := ends(t, 1, []string{"[critical-speed]", "(2 errors, 1 note)", "!got worse"}, "check", "--no-fixes", "--known", knownList)
	if n := strings.Count(r.out, "error:"); n != 2 {
		t.Errorf("%d errors are shown", n)
	}
	gitDo(t, "checkout", "-q", ".")
	// A little worse is known still, more than one per cent is new again.
	speed := func(s string) {
		edit(t, "machines/loader/travel.axis.hcl", `speed    = "0.55 m/s"`, `speed    = "`+s+` m/s"`)
	}
	speed("0.553")
	ends(t, 0, []string{"!got worse"}, "check", "--no-fixes", "--known", knownList, "machines/loader")
	gitDo(t, "checkout", "-q", ".")
	speed("0.56")
	ends(t, 1, []string{"[critical-speed]", "known, but worse: 114 % of the limit used, 112 % on the list"}, "check", "--no-fixes", "--known", knownList, "machines/loader")
	ends(t, 0, []string{"1 added to the list"}, "check", "--no-fixes", "--known", knownList, "--record", "machines/loader")
	ends(t, 0, nil, "check", "--no-fixes", "--known", knownList, "machines/loader")
	gitDo(t, "checkout", "-q", ".")
	// Fixed: named until it is taken off.
	speed("0.4")
	stale := "known.txt: critical-speed of loader travel (motion.move.speed"
	ends(t, 0, []string{stale, "is no longer found; remove it with --prune"}, "check", "--no-fixes", "--known", knownList)
	ends(t, 0, []string{"!no longer"}, "check", "--no-fixes", "--known", knownList, "machines/slicer")
	ends(t, 0, []string{"!no longer"}, "check", "--no-fixes", "--known", knownList, "--since", "HEAD", "machines/slicer")
	ends(t, 0, []string{stale}, "check", "--no-fixes", "--known", knownList, "--since", "HEAD")
	if text(t, knownList) != first {
		t.Error("the list changed unasked")
	}
	ends(t, 0, []string{"0 added to the list, 1 removed", "!no longer"}, "check", "--no-fixes", "--known", knownList, "--prune", "--since", "HEAD")
	ends(t, 0, []string{"!no longer"}, "check", "--no-fixes", "--known", knownList)
	speed2 := func() { edit(t, "machines/loader/travel.axis.hcl", `"0.4 m/s"`, `"0.55 m/s"`) }
	speed2()
	ends(t, 1, []string{"[critical-speed]"}, "check", "--no-fixes", "--known", knownList)
	// An axis that is gone, seen when the whole tree is.
	gitDo(t, "checkout", "-q", ".")
	os.RemoveAll("machines/loader")
	ends(t, 0, []string{"of loader travel"}, "check", "--no-fixes", "--known", knownList)
	ends(t, 0, []string{"!of loader travel"}, "check", "--no-fixes", "--known", knownList, "machines/slicer")
}

func TestKnownFromFolderBelow(t *testing.T) {
	inBakery(t)
	edit(t, "machines/slicer/machine.axis.hcl", "machine", "machine")
	os.Remove("machines/tipper/machine.axis.hcl") // named by its folder then
	ends(t, 0, nil, "check", "--no-fixes", "--known", knownList, "--record", "machines/tipper")
	want := text(t, knownList)
	if !strings.Contains(want, " machines/tipper ") {
		t.Errorf("the list does not name the folder:\n%s", want)
	}
	t.Chdir("machines/tipper")
	ends(t, 0, []string{"0 findings"}, "check", "--no-fixes", "--known", "../../"+knownList)
	ends(t, 0, nil, "check", "--no-fixes", "--known", "own.txt", "--record")
	if got := text(t, "own.txt"); got != want {
		t.Errorf("from the folder itself the list is\n%swant\n%s", got, want)
	}
}

func TestKnownDamaged(t *testing.T) {
	inBakery(t)
	lists := []string{"", "x", "trammel-known 2\n", "trammel-known 1\nrule\n", "trammel-known 1\n<<<<<<< a\n", "trammel-known 1\na b c d 1 0\n", "\x00\xff"}
	for _, bad := range amount.Some(lists, 4, strings.Clone) {
		put(t, knownList, bad)
		for _, more := range [][]string{nil, {"--record"}, {"--prune"}, {"--record", "--prune"}, {"--since", "HEAD", "--record"}} {
			args := append([]string{"check", "--no-fixes", "--known", knownList}, more...)
			fails(t, knownList+": ", args...)
			if r := called(t, args...); strings.Count(r.err, knownList) != 1 {
				t.Errorf("said %q", r.err)
			}
			if got := text(t, knownList); got != bad {
				t.Errorf("%q: the list %q became %q", more, bad, got)
			}
		}
	}
	// Not everything could be read: nothing is recorded.
	os.Remove(knownList)
	put(t, "machines/slicer/x.policy.hcl", "rule \"nonsense\" {\n")
	fails(t, "was not changed because some files could not be read", "check", "--no-fixes", "--known", knownList, "--record")
	if _, err := os.Stat(knownList); err == nil {
		t.Error("a list was written")
	}
	fails(t, "no regular file", "check", "--known", "machines")
	left, _ := filepath.Glob(".*known*")
	if left != nil {
		t.Errorf("left behind: %q", left)
	}
}

// wellFormed wants one document of a form and nothing else.
func wellFormed(t *testing.T, form, s string) {
	t.Helper()
	switch form {
	case "json", "sarif":
		dec := json.NewDecoder(strings.NewReader(s))
		var doc map[string]any
		if err := dec.Decode(&doc); err != nil {
			t.Errorf("%s: %v", form, err)
		}
		if _, err := dec.Token(); !errors.Is(err, io.EOF) {
			t.Errorf("%s: more stands behind the document", form)
		}
		if form == "sarif" && doc["version"] != "2.1.0" || form == "json" && doc["schema"] != "trammel.check/1" {
			t.Errorf("%s: says it is %v%v", form, doc["version"], doc["schema"])
		}
	case "junit":
		dec := xml.NewDecoder(strings.NewReader(s))
		roots, depth := 0, 0
		for {
			token, err := dec.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("junit: %v", err)
			}
			switch x := token.(type) {
			case xml.StartElement:
				if depth++; depth == 1 {
					if roots++; x.Name.Local != "testsuites" {
						t.Errorf("junit: the root is %s", x.Name.Local)
					}
				}
			case xml.EndElement:
				depth--
			}
		}
		if roots != 1 || !strings.HasPrefix(s, xml.Header) {
			t.Errorf("junit: %d roots", roots)
		}
	case "annotations":
		for l := range strings.Lines(s) {
			if !regexp.MustCompile(`^::(error|warning|notice)( [^:]+)?::.+\n$`).MatchString(l) {
				t.Errorf("annotations: %q", l)
			}
		}
	}
}

// TestForms holds that each form is one document, whatever happens.
func TestForms(t *testing.T) {
	inBakery(t)
	put(t, "bad/"+outfeed, "axis \"x\" {\n  load {\n")
	put(t, "worse/x.policy.hcl", "rule \"nonsense\" {\n")
	put(t, "empty/readme.txt", "")
	for _, form := range formNames(checkForms) {
		for status, paths := range map[int][]string{0: {"machines/slicer"}, 1: {"machines/loader", "bad"}, 2: {"worse"}} {
			for _, p := range paths {
				r := ends(t, status, nil, "check", "--form", form, p)
				wellFormed(t, form, r.out)
				if r.err != "" {
					t.Errorf("%s %s: said %q", form, p, r.err)
				}
				if again := called(t, "check", "--form", form, p, "--workers", "1"); again.out != r.out {
					t.Errorf("%s %s: other bytes each time", form, p)
				}
			}
		}
		r := ends(t, 0, nil, "check", "--form", form, "--allow-empty", "empty")
		wellFormed(t, form, r.out)
		ends(t, 0, nil, "check", "--form", form, "--known", "k"+form, "--record", "machines/loader")
		r = ends(t, 0, nil, "check", "--form", form, "--known", "k"+form, "machines/loader")
		wellFormed(t, form, r.out)
		if form != "sarif" && form != "json" && strings.Contains(r.out, "critical-speed") {
			t.Errorf("%s shows what is known", form)
		}
		if form == "sarif" && !strings.Contains(r.out, `"suppressions": [`) && !strings.Contains(r.out, `"suppressions":[`) {
			t.Errorf("%s has no suppressions", form)
		}
	}
}

// TestWrite holds that files are written beside what the terminal gets.
func TestWrite(t *testing.T) {
	inBakery(t)
	plain := called(t, "check", "machines/loader")
	args := []string{"check", "machines/loader", "--color", "always"}
	for _, f := range formNames(checkForms) {
		args = append(args, "--write", f+"=out."+f)
	}
	r := ends(t, 1, []string{"\x1b["}, args...)
	if strings.Count(r.out, "\n") != strings.Count(plain.out, "\n") || r.err != "" {
		t.Errorf("the terminal gets\n%s%s", r.out, r.err)
	}
	for _, f := range formNames(checkForms) {
		got := text(t, "out."+f)
		if want := called(t, "check", "machines/loader", "--form", f).out; got != want {
			t.Errorf("%s: the file holds\n%.600s\nwant\n%.600s", f, got, want)
		}
	}
	// From a folder below, files stand where the person is; paths for other
	// programs are those of the repository.
	t.Chdir("machines/loader")
	ends(t, 1, []string{"\ntravel.axis.hcl:"[1:]}, "check", "--write", "sarif=o.sarif", "--write", "junit=o.xml", "--write", "annotations=o.txt")
	for _, f := range []string{"o.sarif", "o.xml", "o.txt"} {
		if !strings.Contains(text(t, f), "machines/loader/travel.axis.hcl") {
			t.Errorf("%s does not name the file from the root", f)
		}
	}
	t.Chdir("../..")
	// What cannot be written is said, and nothing is lost.
	fail := func(words string, args ...string) {
		t.Helper()
		r := called(t, append([]string{"check", "machines/slicer"}, args...)...)
		if r.status != 2 || !strings.Contains(r.err, words) || strings.Count(r.err, "\n") != 1 {
			t.Errorf("%q: status %d, said %q", args, r.status, r.err)
		}
	}
	fail("nowhere/a was not written: ", "--write", "json=nowhere/a")
	fail("parts was not written: ", "--write", "json=parts")
	if runtime.GOOS == "windows" {
		return
	}
	// A link inside the tree is not written through, and stays a link.
	put(t, "target", "old")
	if err := os.Symlink("target", "link"); err != nil {
		t.Fatal(err)
	}
	fail(`link was not written: "link" is a link inside the tree`, "--write", "json=link")
	if got := text(t, "target"); got != "old" {
		t.Errorf("written through the link: %q", got)
	}
	if info, err := os.Lstat("link"); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Error("the link is gone")
	}
	// A device is written to and stays.
	before, err := os.Lstat(os.DevNull)
	if err != nil {
		t.Fatal(err)
	}
	ends(t, 0, nil, "check", "machines/slicer", "--write", "json="+os.DevNull)
	if after, err := os.Lstat(os.DevNull); err != nil || before.Mode() != after.Mode() || !os.SameFile(before, after) {
		t.Fatal("the device was replaced")
	}
	if left, _ := filepath.Glob(".*.*"); left != nil && (len(left) > 1 || left[0] != ".git") {
		t.Errorf("left behind: %q", left)
	}
}

// TestGNUFormat holds the expression for editors in docs/hooks.md against every
// first line that check prints.
func TestGNUFormat(t *testing.T) {
	doc := text(t, filepath.Join("..", "..", "docs", "hooks.md"))
	_, rest, ok := strings.Cut(doc, "```text editor\n")
	expr, _, ok2 := strings.Cut(rest, "\n```")
	if !ok || !ok2 {
		t.Fatal("docs/hooks.md has lost its expression for editors")
	}
	re, err := regexp.Compile(expr)
	if err != nil {
		t.Fatal(err)
	}
	inBakery(t)
	put(t, "bad/x.axis.hcl", "axis \"x\" {\n  load {\n")
	r := ends(t, 1, nil, "check", "--no-fixes")
	n := map[string]int{}
	for l := range strings.Lines(r.out) {
		l = strings.TrimSuffix(l, "\n")
		m := re.FindStringSubmatch(l)
		first := l != "" && l[0] != ' ' && !strings.Contains(l, " judged, ")
		if (m != nil) != first {
			t.Errorf("matches %v: %s", m != nil, l)
		}
		if m == nil {
			continue
		}
		n[m[4]]++
		if _, err := os.Stat(m[1]); err != nil || m[5] == "" {
			t.Errorf("%q", m)
		}
	}
	if n["error"] == 0 || n["warning"] == 0 || n["note"] == 0 {
		t.Errorf("matched %v", n)
	}
}
