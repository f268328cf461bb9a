package editor

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// complete writes a text into an open file and asks what can stand at the mark | in it.
func (c *client) complete(name, text string) []completionItem {
	c.t.Helper()
	before, after, _ := strings.Cut(text, "|")
	c.openAs(name, before+after)
	defer c.notify("textDocument/didClose", inDocument{documentID{URI: c.uri(name)}})
	at := newText([]byte(before+after)).position(len(before), true)
	var out completionList
	c.call("textDocument/completion", atPosition{documentID{URI: c.uri(name)}, at}, &out)
	slices.SortStableFunc(out.Items, func(a, b completionItem) int { return strings.Compare(a.SortText, b.SortText) })
	return out.Items
}

func TestCompletion(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	name := "machines/slicer/new.axis.hcl"
	for _, x := range []struct {
		name, text  string
		want, never []string // labels
		insert      string   // of the first of want
	}{
		{name, "|", []string{"axis", "given"}, []string{"screw"}, "axis \"$1\" {\n\t$0\n}"},
		{name, "axis \"a\" {\n  |\n}\n", []string{"load", "motion", "orientation"}, []string{"span"}, ""},
		{name, "axis \"a\" {\n  supports {\n    span = \"1 mm\"\n    dri|\n  }\n}\n", []string{"drive_end", "drive_end_part"}, []string{"span"}, `drive_end = "${1|fixed,supported,free|}"$0`},
		{name, "axis \"a\" {\n  supports {\n    drive_end = |\n", []string{"fixed", "free"}, []string{"span"}, `"fixed"`},
		{name, "axis \"a\" {\n  supports {\n    drive_end = \"f|\"\n", []string{"fixed", "free"}, nil, "fixed"},
		{name, "axis \"a\" {\n  supports {\n    span = \"620|\"\n", []string{"mm", "in"}, []string{"kg"}, " mm"},
		{name, "axis \"a\" {\n  supports {\n    span = \"620 m|\"\n", []string{"mm", "in"}, []string{"kg"}, "mm"},
		{name, "axis \"a\" {\n  supports {\n    span = \"|\"\n", nil, []string{"mm"}, ""},
		{name, "axis \"a\" {\n  screw {\n    part = |\n  }\n}\n", []string{"screw.g20x20", "screw.g16x5"}, []string{"nut.g20x20p"}, "screw.g20x20"},
		{name, "axis \"a\" {\n  screw {\n    part = screw.g|\n  }\n}\n", []string{"screw.g20x20"}, nil, "screw.g20x20"},
		{name, "axis \"a\" {\n  load {\n    carries = [axis.|]\n  }\n}\n", []string{"axis.pusher"}, []string{"axis.a"}, "axis.pusher"},
		{name, "given {\n  loaf = 1\n}\naxis \"a\" {\n  load {\n    mass = \"${given.|} kg\"\n  }\n}\n", []string{"loaf"}, nil, "loaf"},
		{name, "axis \"a\" {\n  load {\n    people_below = t|\n", []string{"true"}, nil, "true"},
		{name, "axis \"a\" {\n  waive \"li|\" {\n  }\n}\n", []string{"life-margin"}, nil, "life-margin"},
		{name, "axis \"a\" {\n  # span|\n}\n", nil, []string{"load"}, ""},
		{"x.policy.hcl", "rule \"|\"", []string{"critical-speed"}, nil, "critical-speed"},
		{"x.policy.hcl", "rule \"critical-speed\" {\n  |\n}\n", []string{"limit", "severity", "reason"}, nil, `limit = "$1 %"$0`},
		{"x.policy.hcl", "rule \"critical-speed\" {\n  severity = \"|\"\n}\n", []string{"warning", "off"}, nil, "warning"},
		{"x.policy.hcl", "require \"x\" {\n  that = life_|\n}\n", []string{"life_hours"}, nil, "life_hours"},
		{"parts/x.parts.hcl", "motor \"x\" {\n  |\n}\n", []string{"rated_torque"}, []string{"lead"}, `rated_torque = "$1 N m"$0`},
	} {
		items := c.complete(x.name, x.text)
		at := func(label string) int {
			return slices.IndexFunc(items, func(i completionItem) bool { return i.Label == label })
		}
		for _, w := range x.want {
			if at(w) < 0 {
				t.Errorf("%q: %s is not offered", x.text, w)
			}
		}
		for _, w := range x.never {
			if at(w) >= 0 {
				t.Errorf("%q: %s is offered", x.text, w)
			}
		}
		if x.insert != "" && at(x.want[0]) >= 0 && items[at(x.want[0])].TextEdit.NewText != x.insert {
			t.Errorf("%q: %s gives %q, not %q", x.text, x.want[0], items[at(x.want[0])].TextEdit.NewText, x.insert)
		}
	}
}

// TestCompletionTries: of each part is said how the axis would stand with it, and what
// is most waited for comes first.
func TestCompletionTries(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	text := c.read(pusher)
	items := c.complete(pusher, strings.Replace(text, "screw.g20x20", "screw.g20x20|", 1))
	if len(items) < 5 {
		t.Fatalf("%d screws are offered", len(items))
	}
	good, bad := 0, 0
	for _, i := range items {
		if strings.Contains(i.Detail, "no errors with it here") {
			good++
		} else if strings.Contains(i.Detail, "here: ") {
			bad++
		}
		if i.Label == "screw.g20x20" && !strings.Contains(i.Detail, "20 mm, 20 mm, 11.1 kN; no errors with it here") {
			t.Errorf("of the screw it has is said %s", i.Detail)
		}
	}
	if good == 0 || bad == 0 {
		t.Errorf("%d screws pass, %d do not", good, bad)
	}
	without := strings.Replace(text, "    span           = \"620 mm\"\n", "    |\n", 1)
	if items := c.complete(pusher, without); items[0].Label != "span" || !strings.Contains(items[0].Detail, "rules wait for it") {
		t.Errorf("first is offered %+v", items[0])
	}
}

// TestNavigation: a part is found from an axis, and all that use it from the part.
func TestNavigation(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	c.open(pusher, screws)
	show := func(list []location) (out []string) {
		for _, l := range list {
			full, _ := pathOf(l.URI)
			out = append(out, fmt.Sprintf("%s:%d", strings.TrimPrefix(full, dir+"/"), l.Range.Start.Line+1))
		}
		slices.Sort(out)
		return out
	}
	lineOf := func(name, text string) string {
		src := c.read(name)
		return fmt.Sprintf("%s:%d", name, strings.Count(src[:strings.Index(src, text)], "\n")+1)
	}
	var list []location
	c.call("textDocument/definition", c.position(pusher, c.read(pusher), "screw.g2|0x20"), &list)
	if got, want := show(list), []string{lineOf(screws, `screw "g20x20"`)}; !slices.Equal(got, want) {
		t.Errorf("the screw is declared at %v, not %v", got, want)
	}
	c.call("textDocument/definition", c.position(pusher, c.read(pusher), "given.lo|af "), &list)
	if got := show(list); !slices.Equal(got, []string{pusher + ":2"}) {
		t.Errorf("the given value is declared at %v", got)
	}
	c.call("textDocument/references", map[string]any{"textDocument": documentID{URI: c.uri(screws)}, "position": c.position(screws, c.read(screws), `screw "g2|0x20"`).Position,
		"context": map[string]bool{"includeDeclaration": true}}, &list)
	var want []string
	for _, name := range specFiles(t, dir) {
		for i, line := range strings.Split(c.read(name), "\n") {
			if strings.HasSuffix(line, "= screw.g20x20") || line == `screw "g20x20" {` || strings.Contains(line, `fits`) && strings.Contains(line, `"g20x20"`) {
				want = append(want, fmt.Sprintf("%s:%d", name, i+1))
			}
		}
	}
	slices.Sort(want)
	if got := show(list); !slices.Equal(got, want) || len(want) < 3 {
		t.Errorf("it is named at %v, not %v", got, want)
	}
	var symbols []symbolInformation
	c.call("workspace/symbol", map[string]string{"query": "pusher"}, &symbols)
	if len(symbols) != 1 || symbols[0].Name != "axis pusher" {
		t.Errorf("symbols named pusher: %+v", symbols)
	}
}

// TestRename: with another name for a part, an axis or a given value everything is found
// as before.
func TestRename(t *testing.T) {
	t.Parallel()
	for _, x := range []struct{ name, at, to string }{
		{screws, `screw "g2|5x10"`, "µ25"}, {"parts/drives.parts.hcl", `motor "m4|00"`, "motor_4"}, {pusher, "given.loav|es}", "pieces"},
		{"machines/loader/dip.axis.hcl", `axis "di|p"`, "dipper"}, {"parts/supports.parts.hcl", `support "fx|15"`, "halter"},
	} {
		dir := tree(t, "bakery", nil)
		c := start(t, dir, modern)
		c.open(x.name)
		at := c.position(x.name, c.read(x.name), x.at)
		m := c.request("textDocument/rename", map[string]any{"textDocument": at.TextDocument, "position": at.Position, "newName": x.to})
		if m.Error != nil {
			if !strings.Contains(m.Error.Message, "fits") {
				t.Errorf("%s: %s", x.at, m.Error.Message)
			}
			continue
		}
		var edit workspaceEdit
		c.call("textDocument/rename", map[string]any{"textDocument": at.TextDocument, "position": at.Position, "newName": x.to}, &edit)
		before := check(t, dir)
		texts := map[string]string{}
		c.apply(&edit, true, texts)
		for n, s := range texts {
			c.save(n, s)
		}
		old := strings.NewReplacer("|", "", `"`, "", "}", "").Replace(x.at)
		old = old[strings.LastIndexAny(old, " .")+1:]
		after := check(t, dir)
		for _, name := range specFiles(t, dir) {
			a, b := strings.Join(before[name], "\n"), strings.ReplaceAll(strings.Join(after[name], "\n"), x.to, old)
			if len(before[name]) != len(after[name]) || strings.Count(a, "[unknown-name]") != strings.Count(b, "[unknown-name]") {
				t.Errorf("%s: %s\n%s\nwas\n%s", x.at, name, b, a)
			}
		}
		if len(texts) == 0 {
			t.Errorf("%s: nothing is changed", x.at)
		}
	}
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	c.open(screws)
	at := c.position(screws, c.read(screws), `screw "g2|0x20"`)
	for _, name := range []string{"g20x10", "a b", "", "1x", "x\"}"} {
		if m := c.request("textDocument/rename", map[string]any{"textDocument": at.TextDocument, "position": at.Position, "newName": name}); m.Error == nil {
			t.Errorf("%q is taken for a name", name)
		}
	}
}

// TestFormatting: what formatting makes of a file is what tidy does, in one edit.
func TestFormatting(t *testing.T) {
	t.Parallel()
	src := "axis \"a\" {\r\n description = \"±µ°\"\r\n    supports {\r\n  span=\"1 mm\" # 𝒙\r\n }\r\n}\r\n"
	c := start(t, tree(t, "", map[string]string{"a.axis.hcl": src, "b.axis.hcl": "axis \"b\" {\n  s = \n"}), `{}`)
	c.open("a.axis.hcl", "b.axis.hcl")
	var edits []textEdit
	c.call("textDocument/formatting", inDocument{documentID{URI: c.uri("a.axis.hcl")}}, &edits)
	texts := map[string]string{}
	c.apply(&workspaceEdit{Changes: map[string][]textEdit{c.uri("a.axis.hcl"): edits}}, false, texts)
	want, problems := options(nil, "").Tidy("a.axis.hcl", []byte(src))
	if texts["a.axis.hcl"] != string(want) || len(problems) > 0 {
		t.Errorf("got %q, want %q", texts["a.axis.hcl"], want)
	}
	c.call("textDocument/formatting", inDocument{documentID{URI: c.uri("b.axis.hcl")}}, &edits)
	if len(edits) > 0 {
		t.Errorf("a file with errors of syntax is laid out: %v", edits)
	}
}

// TestOutline: symbols, folds and selections of a file, whole and half typed.
func TestOutline(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	c.open(pusher)
	id := inDocument{documentID{URI: c.uri(pusher)}}
	var symbols []documentSymbol
	c.call("textDocument/documentSymbol", id, &symbols)
	var names []string
	for _, s := range symbols {
		names = append(names, s.Name)
		for _, in := range s.Children {
			names = append(names, in.Name)
		}
	}
	if got := strings.Join(names, ","); got != "given,loaf,loaves,axis pusher,load,motion,screw,nut,supports,drive" {
		t.Errorf("symbols %s", got)
	}
	var folds []foldingRange
	c.call("textDocument/foldingRange", id, &folds)
	if !slices.Contains(folds, foldingRange{StartLine: 0, EndLine: 2}) {
		t.Errorf("folds %v", folds)
	}
	at := c.position(pusher, c.read(pusher), `span           = "6|20 mm"`)
	var ranges []selectionRange
	c.call("textDocument/selectionRange", map[string]any{"textDocument": at.TextDocument, "positions": []position{at.Position}}, &ranges)
	deep := 0
	for r := &ranges[0]; r != nil; r = r.Parent {
		deep++
	}
	if deep != 5 { // value, attribute, supports, axis, file
		t.Errorf("%d selections", deep)
	}
	text := c.read(pusher)
	c.set(pusher, 2, text[:strings.Index(text, "supports {")+14])
	c.call("textDocument/documentSymbol", id, &symbols)
	if len(symbols) != 2 {
		t.Errorf("of a half-typed file there are symbols %v", symbols)
	}
}

// TestHints: numbers stand beside the values they follow from, short, and can be
// switched off; each axis has its summary. 2400 rpm are 0.8 m/s on a lead of 20 mm.
func TestHints(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	c.open(pusher)
	var hints []inlayHint
	all := inRange{documentID{URI: c.uri(pusher)}, span{position{}, position{Line: 1000}}}
	c.call("textDocument/inlayHint", all, &hints)
	found := false
	for _, h := range hints {
		if utf8.RuneCountInString(h.Label) > mostHint {
			t.Errorf("%q is too long", h.Label)
		}
		line := strings.Split(c.read(pusher), "\n")[h.Position.Line]
		found = found || strings.Contains(h.Label, "2400 rpm") && strings.Contains(line, `"0.8 m/s"`)
	}
	if !found || len(hints) < 3 {
		t.Errorf("hints %+v", hints)
	}
	var lenses []codeLens
	c.call("textDocument/codeLens", inDocument{all.TextDocument}, &lenses)
	if len(lenses) != 1 || !strings.Contains(lenses[0].Command.Title, "passed") || !strings.Contains(lenses[0].Command.Title, "%") {
		t.Errorf("lenses %+v", lenses)
	}
	c.notify("workspace/didChangeConfiguration", map[string]any{"settings": map[string]any{"trammel": map[string]any{"inlayHints": false, "codeLens": false}}})
	c.call("textDocument/inlayHint", all, &hints)
	c.call("textDocument/codeLens", inDocument{all.TextDocument}, &lenses)
	if len(hints)+len(lenses) > 0 {
		t.Error("what is switched off is shown")
	}
}

// TestTokens: the tokens of a file lie behind one another, within their lines, and name
// quantities numbers, also behind letters of several units.
func TestTokens(t *testing.T) {
	t.Parallel()
	src := "axis \"a\" { # ±𝒙\n  description = \"𝒙\"\n  /* 𝒙\n  µ */ orientation = \"vertical\"\n  supports {\n    span = \"1 µm\" # °\n  }\n}\n"
	c := start(t, tree(t, "", map[string]string{"a.axis.hcl": src}), `{}`)
	c.open("a.axis.hcl")
	var tokens struct{ Data []int }
	c.call("textDocument/semanticTokens/full", inDocument{documentID{URI: c.uri("a.axis.hcl")}}, &tokens)
	text := newText([]byte(src))
	at := position{}
	var got []string
	for d := tokens.Data; len(d) > 0; d = d[5:] {
		if at.Line += d[0]; d[0] > 0 {
			at.Character = 0
		}
		at.Character += d[1]
		from := text.offset(at, false)
		to := text.offset(position{at.Line, at.Character + d[2]}, false)
		got = append(got, fmt.Sprintf("%s %s", tokenKinds[d[3]], src[from:to]))
	}
	want := []string{"keyword axis", "string a", "comment # ±𝒙", "property description", "string 𝒙", "comment /* 𝒙", "comment   µ */", "property orientation", "enumMember vertical",
		"keyword supports", "property span", "number 1 µm", "comment # °"}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
