package editor

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// offered is the action with a title that begins so.
func (c *client) offered(name string, at span, title string) codeAction {
	c.t.Helper()
	list := c.actions(name, at)
	i := slices.IndexFunc(list, func(a codeAction) bool { return strings.HasPrefix(a.Title, title) })
	if i < 0 {
		var titles []string
		for _, a := range list {
			titles = append(titles, a.Title)
		}
		c.t.Fatalf("%s is not offered; but %q", title, titles)
	}
	return list[i]
}

// TestMissingLines: the line for the lack of which rules are not judged is written where it
// belongs, without a value; once it has one, they are judged.
func TestMissingLines(t *testing.T) {
	t.Parallel()
	text := strings.Replace(string(mustRead(t, pusher)), "    mass = \"14 kg\"\n", "", 1)
	parts := strings.Replace(string(mustRead(t, screws)), "screw \"g20x20\" {\n", "screw \"g20x20\" { # of the slicer\n", 1)
	i := strings.Index(parts, "screw \"g20x20\"")
	k := i + strings.Index(parts[i:], "  dynamic_rating")
	parts = parts[:k] + parts[k+strings.IndexByte(parts[k:], '\n')+1:]
	dir := tree(t, "bakery", map[string]string{pusher: text, screws: parts})
	c := start(t, dir, modern)
	c.open(pusher)
	for _, x := range []struct{ lacks, title, write, in, becomes string }{
		{"load.mass", "write load.mass here", "mass = \" kg\"", pusher, "mass = \"14 kg\""},
		{"dynamic_rating of screw.g20x20", "write dynamic_rating in screw.g20x20 in " + screws + ", which", "dynamic_rating = \" kN\"", screws, "dynamic_rating = \"20 kN\""},
	} {
		gap := func() (diagnostic, bool) {
			list := c.pull(pusher)
			i := slices.IndexFunc(list, func(d diagnostic) bool { return d.Code == "not-judged" && strings.HasSuffix(d.Message, " "+x.lacks) })
			if i < 0 {
				return diagnostic{}, false
			}
			return list[i], true
		}
		d, lacking := gap()
		if !lacking {
			t.Fatalf("%s is not missed: %v", x.lacks, c.pull(pusher))
		}
		a := c.offered(pusher, d.Range, x.title)
		texts := map[string]string{}
		c.apply(a.Edit, true, texts)
		if len(texts) != 1 || !strings.Contains(texts[x.in], x.write) {
			t.Errorf("%s writes %v", x.title, texts)
		}
		written := strings.Replace(texts[x.in], x.write, x.becomes, 1)
		if c.save(x.in, written); x.in == pusher {
			c.set(pusher, 2, written)
		}
		c.notify("textDocument/didSave", inDocument{documentID{URI: c.uri(pusher)}})
		if _, lacking := gap(); lacking {
			t.Errorf("%s is written and still missed", x.lacks)
		}
	}
	// A block that is not there is written with its line; a client that knows them gets
	// places for the cursor.
	snippets := start(t, dir, strings.Replace(modern, `"documentChanges":true`, `"documentChanges":true,"snippetEditSupport":true`, 1))
	bare := "axis \"a\" {\r\n  orientation = \"horizontal\"\r\n}\r\n"
	snippets.openAs("a.axis.hcl", bare)
	list := snippets.pull("a.axis.hcl")
	i = slices.IndexFunc(list, func(d diagnostic) bool { return d.Code == "not-judged" && strings.HasSuffix(d.Message, "load.mass") })
	if i < 0 {
		t.Fatalf("%v", list)
	}
	m := snippets.request("textDocument/codeAction", map[string]any{"textDocument": map[string]any{"uri": snippets.uri("a.axis.hcl")}, "range": list[i].Range, "context": map[string]any{"diagnostics": []any{}}})
	want := string(asJSON("  load {\r\n    mass = \"$1 kg\"$0\r\n  }\r\n"))
	if !strings.Contains(string(m.Result), `"snippet":{"kind":"snippet","value":`+want) {
		t.Errorf("%s is not in %s", want, m.Result)
	}
}

func mustRead(t testing.TB, name string) []byte {
	t.Helper()
	return []byte((&client{t: t, dir: "../../../fixtures/bakery"}).read(name))
}

// TestToPart: a value that an axis says itself goes into its part, and says whom it
// touches there; the axis is as before.
func TestToPart(t *testing.T) {
	t.Parallel()
	src := string(mustRead(t, pusher))
	head := "    part          = screw.g20x20\n"
	if !strings.Contains(src, head) {
		t.Fatalf("%s is written otherwise now", pusher)
	}
	dir := tree(t, "bakery", map[string]string{pusher: strings.Replace(src, head, head+"    lead          = \"25 mm\" # a trial\n    friction = \"0.01\"\n    longest = given.x\n", 1)})
	c := start(t, dir, modern)
	c.open(pusher, screws)
	before := c.pull(pusher)
	at := c.position(pusher, c.read(pusher), `lead          = "2|5 mm"`).Position
	a := c.offered(pusher, span{at, at}, "move lead into screw.g20x20 in "+screws+", which")
	texts := map[string]string{}
	c.apply(a.Edit, true, texts)
	if strings.Contains(texts[pusher], "a trial") || !strings.Contains(texts[screws], `lead                 = "25 mm"`) {
		t.Errorf("%v", texts)
	}
	for _, l := range c.actions(pusher, span{c.position(pusher, c.read(pusher), `longest = given|.x`).Position, c.position(pusher, c.read(pusher), `longest = given|.x`).Position}) {
		if strings.HasPrefix(l.Title, "move") {
			t.Errorf("a given value of the axis's file is moved out of it: %s", l.Title)
		}
	}
	for name, text := range texts {
		c.save(name, text)
	}
	words := func(list []diagnostic) (out []string) {
		for _, d := range list {
			if d.Severity < severityHint && d.Code != "unknown-name" {
				out = append(out, d.Message)
			}
		}
		return out
	}
	after := c.pull(pusher)
	if got, want := words(after), words(before); !slices.Equal(got, want) {
		t.Errorf("with the lead in the part %q, before %q", got, want)
	}
}

// TestLinks: the name of a model leads to it, if it is there; that of an axis to its sheet.
func TestLinks(t *testing.T) {
	t.Parallel()
	axis := "axis \"a\" {\n  screw {\n    model = \"cad/shaft.step\"\n  }\n}\naxis \"b\" {\n  screw {\n    model = \"cad/none.step\"\n  }\n}\naxis \"c\" {\n  screw {\n    model = \"../../etc/passwd.step\"\n  }\n}\n"
	dir := tree(t, "", map[string]string{"m/x.axis.hcl": axis, "m/cad/shaft.step": "ISO-10303-21;"})
	for _, sheets := range []bool{false, true} {
		c := start(t, dir, modern)
		if sheets {
			c = withSheets(t, dir)
		}
		c.open("m/x.axis.hcl")
		var list []documentLink
		c.call("textDocument/documentLink", inDocument{documentID{URI: c.uri("m/x.axis.hcl")}}, &list)
		var got []string
		for _, l := range list {
			if l.Data != nil {
				var done documentLink
				m := c.request("documentLink/resolve", l)
				if m.Error != nil { // its model is none
					got = append(got, "no sheet")
					continue
				}
				if err := json.Unmarshal(m.Result, &done); err != nil {
					t.Fatal(err)
				}
				l = done
			}
			got = append(got, strings.TrimPrefix(l.Target, uriOf(dir)))
			if strings.HasPrefix(l.Target, "http://127.0.0.1:") {
				got[len(got)-1] = "sheet"
			}
		}
		want := "[/m/cad/shaft.step]"
		if sheets {
			want = "[sheet /m/cad/shaft.step sheet no sheet]"
		}
		if fmt.Sprint(got) != want {
			t.Errorf("links %v, want %s", got, want)
		}
	}
}

// TestPullMachines: a client that asks gets what is found of the axes beside the open one
// too, as the check finds it, and of no other folder; and hears that nothing has changed.
func TestPullMachines(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := start(t, dir, `{"general":{"positionEncodings":["utf-8"]}}`)
	c.open("machines/slicer/machine.axis.hcl")
	type answer struct{ Items []fileReport }
	pull := func(previous []fileReport) (out answer) {
		var had []map[string]string
		for _, f := range previous {
			had = append(had, map[string]string{"uri": f.URI, "value": f.ResultID})
		}
		c.call("workspace/diagnostic", map[string]any{"previousResultIds": had}, &out)
		return out
	}
	first := pull(nil)
	if len(first.Items) < 3 {
		t.Fatalf("%+v", first)
	}
	want := check(t, dir)
	for _, f := range first.Items {
		name := strings.TrimPrefix(f.URI, uriOf(dir)+"/")
		if !strings.HasPrefix(name, "machines/slicer/") || f.Kind != "full" {
			t.Errorf("%s %s", f.Kind, name)
		}
		var got, all []string
		for _, d := range f.Items {
			d.Message, _, _ = strings.Cut(d.Message, "\n") // what this client cannot show otherwise
			got = append(got, lines(name, []diagnostic{d})...)
		}
		all = append(all, want[name]...)
		if !slices.Equal(got, all) {
			t.Errorf("%s: %q, want %q", name, got, all)
		}
	}
	for _, f := range pull(first.Items).Items {
		if f.Kind != "unchanged" || f.Items != nil {
			t.Errorf("nothing has changed, but %+v", f)
		}
	}
	c.set("machines/slicer/machine.axis.hcl", 2, c.read("machines/slicer/machine.axis.hcl")+"\n# more\n")
	for _, f := range pull(first.Items).Items {
		if f.Kind != "full" {
			t.Errorf("after a change %+v", f)
		}
	}
}
