package editor

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"trammel/spec"
	"trammel/spec/amount"
)

// asked are the requests about a place in a file.
var asked = []string{"diagnostic", "hover", "codeAction", "completion", "definition", "references", "prepareRename", "rename", "documentSymbol", "formatting",
	"foldingRange", "selectionRange", "inlayHint", "codeLens", "documentLink", "semanticTokens/full", "semanticTokens/range"}

// asksAll sends every request for some places of a file; none may end in a panic.
func (c *client) asksAll(name string, places ...position) {
	c.t.Helper()
	for _, at := range places {
		for _, method := range asked {
			m := c.request("textDocument/"+method, map[string]any{"textDocument": documentID{URI: c.uri(name)}, "position": at, "positions": []position{at}, "newName": "other",
				"range": span{at, position{at.Line + 5, at.Character}}, "context": map[string]any{"diagnostics": []any{}, "includeDeclaration": true}, "options": map[string]any{}})
			if m.Error != nil && m.Error.Code == internalError {
				c.t.Errorf("%s at %v of %s: %v", method, at, name, m.Error)
			}
		}
	}
}

var oddPlaces = []position{{0, 0}, {0, 1 << 30}, {1 << 30, 0}, {-1, -1}, {1, 7}, {2, -3}}

// TestOddTexts: texts that no editor writes on purpose are answered, and shown as the
// check finds them.
func TestOddTexts(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	whole := c.read(pusher)
	version := 1
	c.open(pusher, screws, house, depositor) // in the last one something is found
	for i, text := range []string{
		"", "\n", "\r", "\ufeff", "\ufeff" + whole, strings.ReplaceAll(whole, "\n", "\r\n"), strings.TrimRight(whole, "\n"), strings.ReplaceAll(whole, "  ", "\t"), strings.ReplaceAll(whole, "\n", "\r"),
		"axis \"𝒙\" {\n  description = \"𝒙𝒙\"\n}\n", "\x00\x01\x02", "MZ\x90\x00" + strings.Repeat("\x00\x7f", 2000), "axis \"", "axis \"a\" {", "}}}}", "axis \"a\" {\n  load {\n    mass = <<EOT\n",
		strings.Repeat("{", 5000), strings.Repeat("axis \"a\" {\n", 300), "axis \"a\" {\n" + strings.Repeat("x", 1<<16) + "\n}\n", "given {\n  a = given.b\n  b = given.a\n}\n", whole,
	} {
		text := strings.ToValidUTF8(text, "\ufffd") // as JSON has it
		for _, name := range []string{pusher, screws, house} {
			if name != pusher && i < 10 && text != "" {
				continue // the text of an axis
			}
			was := c.read(name)
			version++
			c.set(name, version, text)
			c.save(name, text)
			c.asksAll(name, amount.Of(oddPlaces, oddPlaces[i%3*2:][:2])...)
			if len(spec.Syntax(name, []byte(text))) == 0 { // else axes are judged by the last text without errors
				all := check(t, dir)
				for _, n := range []string{pusher, depositor} {
					if got, want := lines(n, c.diagnostics(n)), all[n]; !slices.Equal(got, want) {
						t.Errorf("with %.40q in %s %s shows %v, found %v", text, name, n, got, want)
					}
				}
			}
			c.save(name, was)
			version++
			c.set(name, version, was)
		}
	}
	sameAsCheck(t, c, []string{pusher, screws, house, depositor})
}

// TestOddChanges: changes that lie outside of the text are made where it begins or ends,
// within a character of two UTF-16 units at its beginning, and backwards at their start.
func TestOddChanges(t *testing.T) {
	t.Parallel()
	now := newText([]byte("axis \"a\" { # 𝒙\n}"))
	for _, x := range []struct {
		at       span
		put, now string
	}{
		{span{position{9, 0}, position{12, 4}}, "\n", "axis \"a\" { # 𝒙\n}\n"},
		{span{position{-4, -1}, position{-3, 9}}, "# é\n", "# é\naxis \"a\" { # 𝒙\n}\n"},
		{span{position{1, 14}, position{1, 14}}, "y", "# é\naxis \"a\" { # y𝒙\n}\n"},    // between the two units
		{span{position{1, 15}, position{1, 1 << 31}}, "", "# é\naxis \"a\" { # y\n}\n"}, // there too
		{span{position{2, 1}, position{2, 0}}, " ", "# é\naxis \"a\" { # y\n} \n"},
		{span{position{1, 1 << 31}, position{7, -7}}, "", "# é\naxis \"a\" { # y"},
	} {
		if now, _, _, _ = now.apply(change{&x.at, x.put}, false); string(now.src) != x.now {
			t.Errorf("%q at %v makes %q, not %q", x.put, x.at, now.src, x.now)
		}
	}
}

// TestOpenedAgain: an editor that opens a file a second time has read it anew.
func TestOpenedAgain(t *testing.T) {
	t.Parallel()
	c := start(t, tree(t, "bakery", nil), modern)
	c.open(pusher)
	before := lines(pusher, c.diagnostics(pusher))
	c.openAs(pusher, strings.Replace(c.read(pusher), `stroke     = "430 mm"`, `stroke     = "4 km"`, 1))
	if after := lines(pusher, c.diagnostics(pusher)); slices.Equal(before, after) {
		t.Errorf("the second text counts for nothing: %v", after)
	}
	c.notify("textDocument/didClose", inDocument{documentID{URI: c.uri(pusher)}})
	c.notify("textDocument/didClose", inDocument{documentID{URI: c.uri(pusher)}})
	c.open(pusher)
	if again := lines(pusher, c.diagnostics(pusher)); !slices.Equal(before, again) {
		t.Errorf("closed and opened %v, before %v", again, before)
	}
}

// TestRenamedWhileOpen: a file that gets another name, and one that goes, leave nothing
// behind; what is open is shown though its folder is gone.
func TestRenamedWhileOpen(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	c.open(pusher, blade)
	before := lines("", c.diagnostics(pusher))
	const other = "machines/slicer/other.axis.hcl"
	if err := os.Rename(filepath.Join(dir, pusher), filepath.Join(dir, other)); err != nil {
		t.Fatal(err)
	}
	c.notify("textDocument/didClose", inDocument{documentID{URI: c.uri(pusher)}})
	c.open(other)
	if after := lines("", c.diagnostics(other)); !slices.Equal(before, after) || len(c.shown[c.uri(pusher)].Diagnostics) > 0 {
		t.Errorf("under the new name %v, under the old one %v, of which %v is left", after, before, c.shown[c.uri(pusher)].Diagnostics)
	}
	if got, want := lines(other, c.diagnostics(other)), check(t, dir)[other]; !slices.Equal(got, want) {
		t.Errorf("under the new name %v, found %v", got, want)
	}
	if err := os.RemoveAll(filepath.Join(dir, "machines")); err != nil {
		t.Fatal(err)
	}
	c.notify("textDocument/didSave", inDocument{documentID{URI: c.uri(blade)}})
	c.asksAll(blade, oddPlaces...)
	c.asksAll(other, oddPlaces...)
}

// TestLarge: a file that is larger than the check reads costs no more than saying so.
func TestLarge(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"a.axis.hcl", "a.parts.hcl", "a.policy.hcl"} {
		c := start(t, tree(t, "", nil), modern)
		c.openAs(name, manyScrews(5*spec.MaxFileSize/4/195))
		list := c.diagnostics(name)
		if len(list) != 1 || !strings.Contains(list[0].Message, "MB") {
			t.Errorf("%s: %.500v", name, list)
		}
		c.asksAll(name, position{9000, 3})
	}
}

// TestFolders: what is in a folder that was added is served, links followed in the name
// of the folder are kept in what is said of it.
func TestFolders(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	link := filepath.Join(tree(t, "", nil), "a b#é")
	if err := os.Symlink(dir, link); err != nil {
		t.Fatal(err)
	}
	c := raw(t, dir)
	c.call("initialize", map[string]any{"rootUri": nil, "workspaceFolders": []any{map[string]any{"uri": uriOf(link), "name": "x"}}, "capabilities": map[string]any{"textDocument": map[string]any{"publishDiagnostics": map[string]any{"relatedInformation": true}}}}, nil)
	c.notify("initialized", struct{}{})
	c.dir = link
	const name = depositor
	c.open(name)
	for _, d := range c.diagnostics(name) {
		for _, r := range d.RelatedInformation {
			if !strings.HasPrefix(r.Location.URI, uriOf(link)+"/") {
				t.Errorf("%s is said to stand in %s", r.Message, r.Location.URI)
			}
		}
	}
	c.notify("workspace/didChangeWorkspaceFolders", map[string]any{"event": map[string]any{"added": []any{}, "removed": []any{map[string]any{"uri": uriOf(link), "name": "x"}}}})
	c.asksAll(name, oddPlaces...)
	outside := tree(t, "", map[string]string{"b.axis.hcl": "axis \"b\" {\n}\n"})
	c.notify("workspace/didChangeWorkspaceFolders", map[string]any{"event": map[string]any{"added": []any{map[string]any{"uri": uriOf(dir), "name": "y"}, map[string]any{"uri": "untitled:z", "name": "z"}}, "removed": []any{}}})
	c.dir = outside
	c.open("b.axis.hcl")
	c.call("textDocument/hover", map[string]any{"textDocument": documentID{URI: c.uri("b.axis.hcl")}, "position": position{}}, nil)
	if _, shown := c.shown[c.uri("b.axis.hcl")]; shown {
		t.Error("a file outside of all folders is shown")
	}
}

// TestModelChanges: a model that is written anew beside the editor counts from then on.
func TestModelChanges(t *testing.T) {
	t.Parallel()
	for _, watched := range []bool{false, true} {
		dir := tree(t, "bakery", nil)
		caps := modern
		if watched {
			caps = strings.Replace(modern, `"workspace":{`, `"workspace":{"didChangeWatchedFiles":{"dynamicRegistration":true},`, 1)
		}
		c := start(t, dir, caps)
		c.open(pusher, depositor)
		before := lines(pusher, c.diagnostics(pusher))
		const model = "machines/slicer/cad/pusher.step"
		c.save(model, c.read("machines/slicer/cad/blade_lift.step"))
		if watched {
			c.notify("workspace/didChangeWatchedFiles", map[string]any{"changes": []any{map[string]any{"uri": c.uri(model), "type": 2}}})
		} else {
			c.notify("textDocument/didSave", inDocument{documentID{URI: c.uri(depositor)}})
		}
		if after := lines(pusher, c.diagnostics(pusher)); slices.Equal(before, after) {
			t.Errorf("watched %v: nothing is said of the other model: %v", watched, after)
		}
		sameAsCheck(t, c, []string{pusher, depositor})
	}
}

// TestLostChange: where a change cannot be read, the text is not known any more, and
// nothing is shown of it until it is opened again.
func TestLostChange(t *testing.T) {
	t.Parallel()
	c := start(t, tree(t, "bakery", nil), modern)
	c.open(depositor)
	if len(c.diagnostics(depositor)) == 0 {
		t.Fatal("nothing is found")
	}
	c.notify("textDocument/didChange", map[string]any{"textDocument": map[string]any{"uri": c.uri(depositor), "version": 2}, "contentChanges": []any{map[string]any{"text": 7}}})
	c.asksAll(depositor, position{})
	if left := c.shown[c.uri(depositor)].Diagnostics; len(left) > 0 {
		t.Errorf("of a text that is not known %v is shown", left)
	}
	c.open(depositor)
	sameAsCheck(t, c, []string{depositor})
}
