package editor

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"trammel/spec/amount"
)

// apply makes the edits of a workspace in some texts, as a client does that counts
// UTF-16 units: those of a file from behind, so that none moves another.
func (c *client) apply(e *workspaceEdit, utf8 bool, texts map[string]string) {
	c.t.Helper()
	byURI := map[string][]textEdit{}
	for uri, list := range e.Changes {
		byURI[uri] = append(byURI[uri], list...)
	}
	for _, d := range e.DocumentChanges {
		byURI[d.TextDocument.URI] = append(byURI[d.TextDocument.URI], d.Edits...)
	}
	for uri, list := range byURI {
		full, _ := pathOf(uri)
		rel, err := filepath.Rel(c.dir, full)
		if err != nil {
			c.t.Fatal(err)
		}
		if _, have := texts[rel]; !have {
			texts[rel] = c.read(rel)
		}
		t := newText([]byte(texts[rel]))
		slices.Reverse(list)
		slices.SortStableFunc(list, func(a, b textEdit) int {
			return t.offset(b.Range.Start, utf8) - t.offset(a.Range.Start, utf8)
		})
		out := texts[rel]
		for _, e := range list {
			out = out[:t.offset(e.Range.Start, utf8)] + e.NewText + out[t.offset(e.Range.End, utf8):]
		}
		texts[rel] = out
	}
}

// position finds the n-th occurrence of a text in a file, and gives the position of what
// stands behind the mark | in it.
func (c *client) position(name, src, marked string) atPosition {
	c.t.Helper()
	before, after, _ := strings.Cut(marked, "|")
	i := strings.Index(src, before+after)
	if i < 0 {
		c.t.Fatalf("%s has no %q", name, before+after)
	}
	return atPosition{documentID{URI: c.uri(name)}, newText([]byte(src)).position(i+len(before), true)}
}

func (c *client) hover(name, marked string) string {
	c.t.Helper()
	var h *hover
	c.call("textDocument/hover", c.position(name, c.read(name), marked), &h)
	if h == nil {
		return ""
	}
	return h.Contents.Value
}

func TestHover(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	c.open(pusher, screws, "house.policy.hcl", "machines/slicer/machine.axis.hcl", depositor)
	for _, x := range []struct {
		name, marked string
		want         []string
	}{
		{pusher, `span|           = `, []string{"**supports.span**", "free length between the supports", "620 mm = 24.4", "critical speed"}},
		{pusher, `speed    = "0.|5 m/s"`, []string{"top speed", "v\\_p = 0.5 m/s", "maximum rotation speed of the screw 2400 rpm", "critical-speed"}},
		{pusher, `mass = "1|4 kg"`, []string{"30.8647 lb", "14 kg + 0 kg = 14 kg", "Compared", "motor"}},
		{pusher, `part          = screw.g2|0x20`, []string{"screw.g20x20", "lead 20 mm", "Used by", "pusher"}},
		{pusher, `flange_|toward`, []string{"one of fixed, supported, free"}},
		{pusher, `given.lo|af *`, []string{"given.loaf", "1.1"}},
		{pusher, `axis "push|er"`, []string{"axis pusher", "passed", "Tightest"}},
		{pusher, `  load| {`, []string{"What is moved"}},
		{depositor, `service_life = "10| years"`, []string{"duty.service_life", "**life-margin**: Does the ball screw reach the required life?", "advice: at least 1.5", "Source", "trammel explain life-margin machines/depositor"}},
		{screws, `lead                 = "20| mm"`, []string{"screw.lead", "0.787"}},
		{screws, `screw "g20|x20"`, []string{"pusher", "root diameter"}},
		{"house.policy.hcl", `rule "life-|margin"`, []string{"life", "advice: at least 1.5", "set at line 5", "Source"}},
		{"house.policy.hcl", `adv|ice = 1.5`, []string{"in force here", "by default"}},
		{"house.policy.hcl", `incline_ang|le > `, []string{"incline_angle"}},
		{"house.policy.hcl", `  that|  `, nil},
	} {
		got := c.hover(x.name, x.marked)
		for _, w := range x.want {
			if !strings.Contains(got, w) && !strings.Contains(got, strings.ReplaceAll(w, "_", `\_`)) {
				t.Errorf("%s %s: %q is not in\n%s", x.name, x.marked, w, got)
			}
		}
	}
}

// actions asks what is offered about a place.
func (c *client) actions(name string, at span) (out []codeAction) {
	c.t.Helper()
	p := codeActionParams{TextDocument: documentID{URI: c.uri(name)}, Range: at}
	p.Context.Diagnostics = []diagnostic{}
	c.call("textDocument/codeAction", p, &out)
	return out
}

// TestFixes: every fix that is offered in the demo, made in the texts, makes its finding
// go, as the check sees it.
func TestFixes(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	names := specFiles(t, dir)
	c.open(names...)
	made, offered := 0, 0
	before := check(t, dir)
	for _, name := range names {
		for _, d := range c.diagnostics(name) {
			if d.Severity == severityHint {
				continue
			}
			for _, a := range c.actions(name, d.Range) {
				if a.Kind != "quickfix" || strings.HasPrefix(a.Title, "accept") || a.Diagnostics[0].Message != d.Message {
					continue
				}
				if offered++; offered%amount.Of(1, 4) != 0 {
					break
				}
				texts := map[string]string{}
				c.apply(a.Edit, true, texts)
				old := map[string]string{}
				for n, s := range texts {
					old[n] = c.read(n)
					c.save(n, s)
				}
				made++
				after := check(t, dir)[name]
				if len(after) >= len(before[name]) || slices.ContainsFunc(after, func(l string) bool { return strings.Contains(l, d.Message) }) {
					t.Errorf("%s: %s\n  with %s there remains\n%s", name, d.Message, a.Title, strings.Join(after, "\n"))
				}
				for n, s := range old {
					c.save(n, s)
				}
				break // the first of each finding; package judge tries all
			}
		}
	}
	if made < 3 {
		t.Errorf("%d fixes were offered", made)
	}
}

// TestCorrections: names, units, waivers and other units of a value, with letters of
// several units before them, and in a file with CRLF.
func TestCorrections(t *testing.T) {
	t.Parallel()
	src := "axis \"a\" {\r\n  description = \"𝒙 ± µ °\"\r\n  /* 𝒙±° */ orientation = \"horizontl\"\r\n  supports {\r\n    drive_end = \"fixed\"\r\n    span = 900\r\n    spam = \"1 mm\"\r\n    /* 𝒙± */ loaded_length = \"25.4 mm\"\r\n  }\r\n}\r\n"
	for _, utf8 := range []bool{true, false} {
		caps := modern
		if !utf8 {
			caps = strings.Replace(modern, `"utf-16","utf-8"`, `"utf-16"`, 1)
		}
		c := start(t, tree(t, "", map[string]string{"a.axis.hcl": src}), caps)
		c.open("a.axis.hcl")
		for _, x := range []struct{ at, title, old, new string }{
			{"horizontl", `write "horizontal"`, `"horizontl"`, `"horizontal"`},
			{"900", `write "900 mm"`, `span = 900`, `span = "900 mm"`},
			{"spam", `write span`, `spam`, `span`},
			{`25.4 mm"`, `write as 1 in`, `"25.4 mm"`, `"1 in"`},
		} {
			at := newText([]byte(src)).position(strings.Index(src, x.at), utf8)
			list := c.actions("a.axis.hcl", span{at, at})
			i := slices.IndexFunc(list, func(a codeAction) bool { return a.Title == x.title })
			if x.at == "spam" && i < 0 {
				continue // span is there already: the text would be no better
			}
			if i < 0 {
				t.Errorf("at %s is offered %v", x.at, list)
				continue
			}
			texts := map[string]string{}
			c.apply(list[i].Edit, utf8, texts)
			if got, want := texts["a.axis.hcl"], strings.Replace(src, x.old, x.new, 1); got != want {
				t.Errorf("%s gives\n%q\nnot\n%q", x.title, got, want)
			}
		}
	}
}

// TestWaive: a waiver that is offered is read as one once reason and day are written.
func TestWaive(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	name := "machines/depositor/axes.axis.hcl"
	c := start(t, dir, `{}`) // a client without documentChanges
	c.open(name)
	var diag diagnostic
	for _, d := range c.pull(name) {
		if d.Severity <= severityWarning && d.Data != nil && d.Data.Axis != "" {
			diag = d
		}
	}
	list := c.actions(name, diag.Range)
	i := slices.IndexFunc(list, func(a codeAction) bool {
		return strings.HasPrefix(a.Title, "accept") && a.Diagnostics[0].Code == diag.Code
	})
	if i < 0 {
		t.Fatalf("%v: no waiver is offered: %v", diag, list)
	}
	texts := map[string]string{}
	c.apply(list[i].Edit, false, texts)
	text := strings.NewReplacer("reason = \"\"", "reason = \"measured\"", "until  = \"\"", "until = \"2026-12-31\"").Replace(texts[name])
	c.save(name, text)
	before := 0
	for _, l := range check(t, dir)[name] {
		if strings.Contains(l, "["+diag.Code+"]") {
			before++
		}
		if strings.Contains(l, "[value]") || strings.Contains(l, "[syntax]") {
			t.Error(l)
		}
	}
	if before > 0 && !strings.Contains(string(text), diag.Code) {
		t.Errorf("%d findings of %s are left", before, diag.Code)
	}
}

// pull asks for what is found of a file.
func (c *client) pull(name string) []diagnostic {
	c.t.Helper()
	var out struct{ Items []diagnostic }
	c.call("textDocument/diagnostic", inDocument{documentID{URI: c.uri(name)}}, &out)
	return out.Items
}
