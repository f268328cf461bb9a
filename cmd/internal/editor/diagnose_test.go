package editor

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"trammel/spec"
	"trammel/spec/amount"
)

func specFiles(t testing.TB, dir string) (names []string) {
	err := fs.WalkDir(os.DirFS(dir), ".", func(name string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case e.IsDir() && name != "." && strings.HasPrefix(e.Name(), "."):
			return fs.SkipDir // as the check does
		case !e.IsDir() && spec.IsSpec(name):
			names = append(names, name)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// TestAsTheCheck: of every file of the demo the editor shows what the check finds.
func TestAsTheCheck(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	names := specFiles(t, dir)
	c.open(names...)
	sameAsCheck(t, c, names)
}

// sameAsCheck compares what is shown of open files with what the check finds.
func sameAsCheck(t testing.TB, c *client, names []string) {
	t.Helper()
	total := 0
	all := check(t, c.dir)
	for _, name := range names {
		got, want := lines(name, c.diagnostics(name)), all[name]
		total += len(want)
		if !slices.Equal(got, want) {
			t.Errorf("%s:\n  shown\n%s\n  found\n%s", name, strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
	}
	if total == 0 {
		t.Error("the check finds nothing, so nothing was compared")
	}
}

func (c *client) save(name, text string) {
	c.t.Helper()
	if err := os.WriteFile(filepath.Join(c.dir, name), []byte(text), 0o644); err != nil {
		c.t.Fatal(err)
	}
}

const pusher, blade, screws = "machines/slicer/pusher.axis.hcl", "machines/slicer/blade_lift.axis.hcl", "parts/screws.parts.hcl"

// TestTyping types and takes back, key by key, in three files that hang on each other;
// while a line is half typed all that has nothing to do with it stays as it was, and in
// the end everything is as the check finds it.
func TestTyping(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	names := specFiles(t, dir)
	c.open(names...)
	before := map[string][]string{}
	for _, name := range names {
		before[name] = lines(name, c.diagnostics(name))
	}
	version := map[string]int{}
	text := map[string]string{}
	for _, x := range []struct{ name, old, new string }{
		{screws, `lead                 = "20 mm"`, `lead = "16 mm" # was twenty`},
		{pusher, `speed    = "0.5 m/s"`, `speed = "0.65 m/s"`},
		{"house.policy.hcl", `advice = 1.5`, `advice = 1.25`},
	} {
		if text[x.name] == "" {
			text[x.name] = c.read(x.name)
		}
		at := strings.Index(text[x.name], x.old)
		if at < 0 {
			t.Fatalf("%s has no %q", x.name, x.old)
		}
		put := func(from, to int, s string) {
			src := newText([]byte(text[x.name]))
			text[x.name] = text[x.name][:from] + s + text[x.name][to:]
			version[x.name]++
			c.notify("textDocument/didChange", map[string]any{"textDocument": map[string]any{"uri": c.uri(x.name), "version": version[x.name] + 1},
				"contentChanges": []any{change{&span{src.position(from, true), src.position(to, true)}, s}}})
		}
		for i := len(x.old); i > 0; i-- {
			put(at+i-1, at+i, "")
			if i%5 == 0 {
				c.diagnostics(x.name)
			}
		}
		for i, r := range []byte(x.new) {
			put(at+i, at+i, string(r))
			if spec.Syntax(x.name, []byte(text[x.name])) == nil || x.name == screws {
				continue
			}
			for _, other := range []string{blade, "machines/loader/cross.axis.hcl"} {
				if got := lines(other, c.diagnostics(other)); x.name == pusher && !slices.Equal(got[:min(1, len(got))], before[other][:min(1, len(before[other]))]) {
					t.Errorf("while %q is typed %s shows %v, not %v", text[x.name][at:at+i], other, got, before[other])
				}
			}
		}
	}
	for name, s := range text {
		c.save(name, s)
	}
	sameAsCheck(t, c, names)
}

// TestTypedWhole types three files from their first key to their last, each key a change:
// wherever the text is whole, and in the end, all three show what the check finds.
func TestTypedWhole(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	names := []string{"machines/slicer/machine.axis.hcl", pusher, "parts/environments.parts.hcl"}
	c := start(t, dir, modern)
	whole := map[string]string{}
	for _, name := range names {
		whole[name] = c.read(name)
		c.save(name, "")
		c.openAs(name, "")
	}
	const other = "machines/depositor/axes.axis.hcl" // in which something is found all the time
	c.open(other)
	every := amount.Of(1, 8) // of the lines after which all can be compared, one in so many is
	wholes, keys := 0, 0
	for _, name := range names {
		for i := range whole[name] {
			keys++
			text := whole[name][:i+1]
			if whole[name][i] >= utf8.RuneSelf && i+1 < len(whole[name]) && !utf8.RuneStart(whole[name][i+1]) {
				continue // within a character
			}
			c.notify("textDocument/didChange", map[string]any{"textDocument": map[string]any{"uri": c.uri(name), "version": i + 2},
				"contentChanges": []any{map[string]any{"text": text}}})
			if i%7 == 0 {
				c.diagnostics(name)
			}
			if text[i] != '\n' || len(spec.Syntax(name, []byte(text))) > 0 {
				continue
			}
			if wholes++; wholes%every == 0 {
				c.save(name, text)
				sameAsCheck(t, c, append(names, other))
			}
		}
		c.save(name, whole[name])
		sameAsCheck(t, c, append(names, other))
	}
	t.Logf("%d keys, whole after %d lines", keys, wholes)
}

// TestHalfTyped: a line that is half typed is the only news; findings of the other axis
// of the file stay exactly, and those of its own stay as last known and move with it.
func TestHalfTyped(t *testing.T) {
	t.Parallel()
	src, err := os.ReadFile("../../../fixtures/bakery/" + "machines/depositor/axes.axis.hcl")
	if err != nil {
		t.Fatal(err)
	}
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	name := "machines/depositor/axes.axis.hcl"
	c.open(name)
	before := lines(name, c.diagnostics(name))
	if len(before) == 0 {
		t.Fatal("nothing is found, so nothing can stay")
	}
	whole := string(src)
	at := strings.Index(whole, "\n  motion {\n") + len("\n  motion {\n")
	for i, half := range []string{"    s\n", "    stroke\n", "    stroke =\n", "    stroke = \"4\n", "    move \"x\" {\n"} {
		c.set(name, i+2, whole[:at]+half+whole[at:])
		var rest []string
		syntax := 0
		for _, d := range c.diagnostics(name) {
			if d.Code == "syntax" {
				syntax++
			} else if d.Severity < severityHint && d.Code != "duplicate-name" && d.Code != "unknown-name" {
				d.Range.Start.Line-- // it moved with its line
				rest = append(rest, lines(name, []diagnostic{d})...)
			}
		}
		if syntax == 0 {
			t.Errorf("%q: no error of syntax is shown", half)
		}
		for _, line := range before {
			if !slices.Contains(rest, line) && !strings.HasPrefix(line, name+":1:") {
				t.Errorf("%q: this is gone: %s\n%s", half, line, strings.Join(rest, "\n"))
			}
		}
	}
	c.set(name, 9, whole)
	if got := lines(name, c.diagnostics(name)); !slices.Equal(got, before) {
		t.Errorf("written again it shows\n%s\nnot\n%s", strings.Join(got, "\n"), strings.Join(before, "\n"))
	}
}

// TestBrokenParts: while a parts file cannot be read its last good parts count, and the
// axes that use them show what they did.
func TestBrokenParts(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	c.open(screws, pusher, blade)
	before := [][]diagnostic{c.diagnostics(pusher), c.diagnostics(blade)}
	whole := c.read(screws)
	for i, broken := range []string{whole[:len(whole)/2], strings.Replace(whole, `lead                 = "20 mm"`, `lead = "2`, 1), "screw \"", ""} {
		c.set(screws, i+2, broken)
		own := c.diagnostics(screws)
		if broken != "" && !slices.ContainsFunc(own, func(d diagnostic) bool { return d.Code == "syntax" }) {
			t.Errorf("%.20q…: the parts file shows %v", broken, lines(screws, own))
		}
		if broken == "" {
			break // whole, and without parts
		}
		for k, name := range []string{pusher, blade} {
			if got := c.diagnostics(name); string(asJSON(got)) != string(asJSON(before[k])) {
				t.Errorf("%s shows %v", name, lines(name, got))
			}
		}
	}
	if !slices.ContainsFunc(c.diagnostics(pusher), func(d diagnostic) bool { return d.Code == "unknown-name" }) {
		t.Error("with no parts at all nothing is missed")
	}
	c.set(screws, 9, whole)
	if got := c.diagnostics(pusher); string(asJSON(got)) != string(asJSON(before[0])) {
		t.Errorf("with its parts again %s shows %v", pusher, lines(pusher, got))
	}
}

// TestPartReaches: a lead that is changed in a parts file turns axes of several machines
// red, at once and unsaved.
func TestPartReaches(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	users := []string{"machines/slicer/pusher.axis.hcl", "machines/loader/cross.axis.hcl", "machines/packer/feed.axis.hcl"}
	c.open(append(users, screws)...)
	for _, name := range users {
		c.diagnostics(name)
	}
	text := strings.ReplaceAll(c.read(screws), `lead                 = "20 mm"`, `lead                 = "2 mm"`)
	text = strings.ReplaceAll(text, `lead                 = "10 mm"`, `lead                 = "1 mm"`)
	c.set(screws, 2, text)
	c.diagnostics(screws)
	red := 0
	for _, name := range users {
		if slices.ContainsFunc(c.diagnostics(name), func(d diagnostic) bool { return d.Severity == severityError }) {
			red++
		}
	}
	if red != len(users) {
		t.Errorf("%d of %d axes turned red", red, len(users))
	}
	c.save(screws, text)
	sameAsCheck(t, c, append(users, screws))
}

// TestDisk: what changes on disk counts when something is saved or opened, and at once
// where the client says so.
func TestDisk(t *testing.T) {
	t.Parallel()
	for _, watches := range []bool{false, true} {
		dir := tree(t, "bakery", nil)
		caps := modern
		if watches {
			caps = strings.Replace(modern, `"workspace":{`, `"workspace":{"didChangeWatchedFiles":{"dynamicRegistration":true},`, 1)
		}
		c := start(t, dir, caps)
		c.open(pusher)
		c.diagnostics(pusher)
		c.save(screws, strings.ReplaceAll(c.read(screws), `"20 mm"`, `"2 mm"`))
		if watches {
			c.notify("workspace/didChangeWatchedFiles", map[string]any{"changes": []any{map[string]any{"uri": c.uri(screws), "type": 2}}})
		} else {
			c.notify("textDocument/didSave", inDocument{documentID{URI: c.uri(pusher)}})
		}
		sameAsCheck(t, c, []string{pusher})
		if watches != slices.ContainsFunc(c.notes, func(m *message) bool { return m.Method == "client/registerCapability" }) {
			t.Errorf("watches: %v, and was asked to: %v", watches, !watches)
		}
	}
}

// TestClose: a file that is closed shows nothing, and what is on disk counts again.
func TestClose(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	axes := "machines/depositor/axes.axis.hcl"
	c.open(axes, screws)
	c.set(screws, 2, "")
	c.diagnostics(axes)
	c.notify("textDocument/didClose", inDocument{documentID{URI: c.uri(screws)}})
	sameAsCheck(t, c, []string{axes})
	if got := c.shown[c.uri(screws)].Diagnostics; len(got) > 0 {
		t.Errorf("the closed file shows %v", got)
	}
}

// TestOutside: nothing is read outside of the folders that the client named, whatever
// way leads there.
func TestOutside(t *testing.T) {
	t.Parallel()
	outside := tree(t, "", map[string]string{"secret.parts.hcl": `screw "secret" { lead = "10 mm" }`, "b.axis.hcl": `axis "b" {}`})
	dir := tree(t, "", map[string]string{"in/a.axis.hcl": "axis \"a\" {\n  screw {\n    part = screw.secret\n  }\n}\n"})
	if err := os.Symlink(filepath.Join(outside, "secret.parts.hcl"), filepath.Join(dir, "in/secret.parts.hcl")); err != nil {
		t.Skip(err)
	}
	if err := os.Symlink(outside, filepath.Join(dir, "out")); err != nil {
		t.Fatal(err)
	}
	c := start(t, dir, modern)
	for _, uri := range []string{uriOf(filepath.Join(outside, "b.axis.hcl")), c.uri("out/b.axis.hcl"), c.uri("../" + filepath.Base(outside) + "/b.axis.hcl"),
		"untitled:b.axis.hcl", "http://host/b.axis.hcl", "file://host/b.axis.hcl", "file:b.axis.hcl", c.uri("in/notes.txt"), ":", "file:///%zz"} {
		c.notify("textDocument/didOpen", map[string]any{"textDocument": map[string]any{"uri": uri, "version": 1, "text": `axis "b" {}`}})
		c.call("textDocument/diagnostic", inDocument{documentID{URI: uri}}, nil)
		if _, sent := c.shown[uri]; sent {
			t.Errorf("%s was looked at", uri)
		}
	}
	c.open("in/a.axis.hcl")
	if got := c.diagnostics("in/a.axis.hcl"); !slices.ContainsFunc(got, func(d diagnostic) bool { return strings.Contains(d.Message, "could not be read") }) {
		t.Errorf("a part outside was found: %v", got)
	}
}

// TestPlainClient: a client that shows a message and no more gets all in the message,
// and positions in UTF-16.
func TestPlainClient(t *testing.T) {
	t.Parallel()
	src := "axis \"a\" {\n  description = \"𝒙±µ°\" # 𝒙\n  motion {\n    stroke = \"100 mm\" \n    overtravel = 5\n  }\n}\r\n"
	src = strings.Replace(src, "  motion", "/* 𝒙±µ° */  motion", 1)
	src = strings.Replace(src, "overtravel = 5", "/* 𝒙±µ° */ overtravel = 5", 1)
	c := start(t, tree(t, "", map[string]string{"a.axis.hcl": src}), `{"textDocument":{"publishDiagnostics":{}}}`)
	c.open("a.axis.hcl")
	got := c.diagnostics("a.axis.hcl")
	i := slices.IndexFunc(got, func(d diagnostic) bool { return d.Code == "unit" })
	if i < 0 {
		t.Fatalf("no missing unit is shown: %v", got)
	}
	// The line begins with four spaces and "/* 𝒙±µ° */ overtravel = "; 𝒙 is two units.
	if want := (span{position{4, 4 + 3 + 2 + 3 + 4 + 13}, position{4, 4 + 3 + 2 + 3 + 4 + 13 + 1}}); got[i].Range != want {
		t.Errorf("it stands at %v, not %v", got[i].Range, want)
	}
	if got[i].RelatedInformation != nil || got[i].Tags != nil {
		t.Error("the client cannot show this")
	}
}

// TestSwitchedOff: what is not judged can be left out.
func TestSwitchedOff(t *testing.T) {
	t.Parallel()
	dir := tree(t, "", map[string]string{"a.axis.hcl": "axis \"a\" {\n}\n"})
	c := start(t, dir, modern)
	c.open("a.axis.hcl")
	hints := func() (n int) {
		for _, d := range c.diagnostics("a.axis.hcl") {
			if d.Severity == severityHint {
				n++
			}
		}
		return n
	}
	if hints() == 0 {
		t.Fatal("nothing of what is not judged is shown")
	}
	c.notify("workspace/didChangeConfiguration", map[string]any{"settings": map[string]any{"trammel": map[string]any{"notJudged": false}}})
	if n := hints(); n > 0 {
		t.Errorf("%d hints are shown", n)
	}
}

// TestNeighbours: what axes of a folder have to do with each other is found in each open
// file as soon as one of them changes: names that stand twice, masses that are carried.
func TestNeighbours(t *testing.T) {
	t.Parallel()
	one := "axis \"a\" {\n}\n"
	dir := tree(t, "bakery", map[string]string{"two/1.axis.hcl": one, "two/2.axis.hcl": one, "two/3.axis.hcl": "axis \"c\" {\n}\n"})
	c := start(t, dir, modern)
	carried := []string{"machines/loader/dip.axis.hcl", "machines/loader/cross.axis.hcl", "machines/loader/travel.axis.hcl"}
	same := []string{"two/1.axis.hcl", "two/2.axis.hcl", "two/3.axis.hcl"}
	c.open(append(carried, same...)...)
	sameAsCheck(t, c, append(carried, same...))
	text := c.read(carried[0])
	heavy := strings.Replace(text, `mass = "`, `mass = "9`, 1)
	for i, x := range []struct{ name, text string }{
		{carried[0], heavy}, {same[0], "axis \"b\" {\n}\n"}, {same[2], "axis \"b\" {\n}\n"}, {same[0], one}, {carried[0], text}, {carried[0], strings.Replace(text, "axis \"dip\"", "axis \"dop\"", 1)},
	} {
		c.set(x.name, i+2, x.text)
		c.save(x.name, x.text)
		sameAsCheck(t, c, append(carried, same...))
	}
}

// TestHalfTypedCarried: while the mass of an axis is half typed, those that carry it stay
// as they were.
func TestHalfTypedCarried(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	dip, cross, travel := "machines/loader/dip.axis.hcl", "machines/loader/cross.axis.hcl", "machines/loader/travel.axis.hcl"
	c.open(dip, cross, travel)
	before := string(asJSON(c.diagnostics(cross))) + string(asJSON(c.diagnostics(travel)))
	text := c.read(dip)
	at := strings.Index(text, "mass")
	c.set(dip, 2, text[:at]+"mass =\n#"+text[at:])
	if !slices.ContainsFunc(c.diagnostics(dip), func(d diagnostic) bool { return d.Code == "syntax" }) {
		t.Fatal("the line is not half typed")
	}
	if now := string(asJSON(c.diagnostics(cross))) + string(asJSON(c.diagnostics(travel))); now != before {
		t.Errorf("those that carry it show\n%s\nnot\n%s", now, before)
	}
}
