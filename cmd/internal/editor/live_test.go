package editor

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
)

// withSheets starts a server that may show sheets.
func withSheets(t testing.TB, dir string) *client {
	c := raw(t, dir)
	var answer struct {
		Capabilities struct {
			ExecuteCommandProvider *struct{ Commands []string }
		}
	}
	c.call("initialize", json.RawMessage(fmt.Sprintf(`{"rootUri":%q,"initializationOptions":{"liveSheet":true},"capabilities":%s}`, uriOf(dir), modern)), &answer)
	c.notify("initialized", struct{}{})
	if answer.Capabilities.ExecuteCommandProvider == nil || answer.Capabilities.ExecuteCommandProvider.Commands[0] != openSheet {
		t.Fatalf("the command is not offered: %+v", answer)
	}
	return c
}

// page gets what stands at an address once it has another version.
func page(t testing.TB, address string, after int) (html string, version int) {
	t.Helper()
	r, err := http.Get(fmt.Sprintf("%snext?after=%d", address, after))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != http.StatusOK {
		t.Fatalf("after version %d: %s %v", after, r.Status, err)
	}
	_, err = fmt.Sscan(r.Header.Get("Version"), &version)
	if err != nil {
		t.Fatal(err)
	}
	return string(body), version
}

// TestLiveSheet: the sheet follows the text, and one that does not says so.
func TestLiveSheet(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", nil)
	c := withSheets(t, dir)
	c.open(pusher, screws)
	var lenses []codeLens
	c.call("textDocument/codeLens", inDocument{documentID{URI: c.uri(pusher)}}, &lenses)
	if len(lenses) < 2 || lenses[1].Command.Title != "open sheet" {
		t.Fatalf("%+v", lenses)
	}
	var address string
	c.call("workspace/executeCommand", lenses[1].Command, &address)
	if !strings.HasPrefix(address, "http://127.0.0.1:") {
		t.Fatal(address)
	}
	if m := c.notes[len(c.notes)-1]; m.Method != "window/showMessage" || !strings.Contains(string(m.Params), address) {
		t.Errorf("the client is told %s", m.Params)
	}
	html, version := page(t, address, 0)
	for _, want := range []string{"axis pusher", "<svg", "As " + pusher + " stands in the editor", "connect-src &#39;self&#39;", "430 mm"} {
		if !strings.Contains(html, want) && !strings.Contains(html, strings.ReplaceAll(want, "&#39;", "'")) {
			t.Errorf("the page lacks %s", want)
		}
	}
	follows := func(what string, want ...string) {
		t.Helper()
		for _, name := range []string{pusher, screws} { // reads what the server sends
			c.call("textDocument/diagnostic", inDocument{documentID{URI: c.uri(name)}}, nil)
		}
		html, version = page(t, address, version)
		for _, w := range want {
			if !strings.Contains(html, w) {
				t.Errorf("%s: the page lacks %q: %s", what, w, html[max(0, len(html)-4500):])
			}
		}
	}
	text := c.read(pusher)
	faster := strings.Replace(text, `speed    = "0.8 m/s"`, `speed    = "1.9 m/s"`, 1)
	if faster == text {
		t.Fatal("the axis has another speed now")
	}
	c.set(pusher, 2, faster)
	follows("a change of the axis", "1.9 m/s", "Fails:", "class=\"live\"")
	c.set(pusher, 3, strings.Replace(faster, `"1.9 m/s"`, `"1.9 m/`, 1))
	follows("half a value", "1.9 m/s", `class="live stale"`, "NOT CURRENT: "+pusher)
	c.set(pusher, 4, strings.Replace(text, `"0.8 m/s"`, `"0.8 kg"`, 1))
	follows("a wrong unit", "1.9 m/s", `class="live stale"`)
	c.set(pusher, 5, text)
	follows("the text as it was", "0.8 m/s", "class=\"live\"")
	parts := c.read(screws)
	c.set(screws, 2, strings.Replace(parts, `lead                 = "20 mm"`, `lead                 = "7 mm"`, 1))
	follows("a change of the screw", "7 mm", "Fails:")
	c.set(screws, 3, parts+"screw \"half")
	follows("half a part", "7 mm", "NOT CURRENT: "+screws)
	c.set(screws, 4, parts)
	follows("the parts as they were", "class=\"live\"")
	c.set(pusher, 6, strings.Replace(text, `axis "pusher"`, `axis "pushed"`, 1))
	follows("another name", "NOT CURRENT: there is no axis pusher")
	c.set(pusher, 7, text)
	follows("the name again", "class=\"live\"")
	c.notify("textDocument/didClose", inDocument{documentID{URI: c.uri(pusher)}})
	follows("closing the file", "NOT CURRENT: "+pusher+" is closed")
	c.call("shutdown", struct{}{}, nil)
	c.notify("exit", struct{}{})
	<-c.ended
	if r, err := http.Get(address); err == nil {
		r.Body.Close()
		t.Error("the page outlives the server")
	}
}

// TestLiveSheetRefused: without the setting nothing listens; what is no axis gets no page.
func TestLiveSheetRefused(t *testing.T) {
	t.Parallel()
	dir := tree(t, "bakery", map[string]string{"two.axis.hcl": "axis \"a\" {\n}\n\naxis \"b\" {\n  orientation = \"sideways\"\n}\n"})
	off := start(t, dir, modern)
	off.open(pusher)
	arg := func(c *client, more string) json.RawMessage {
		return json.RawMessage(fmt.Sprintf(`{"command":%q,"arguments":[{"uri":%q%s}]}`, openSheet, c.uri("two.axis.hcl"), more))
	}
	off.notify("workspace/didChangeConfiguration", json.RawMessage(`{"settings":{"trammel":{"liveSheet":true}}}`))
	if m := off.request("workspace/executeCommand", arg(off, "")); m.Error == nil || !strings.Contains(m.Error.Message, "the live sheet is off") {
		t.Errorf("off: %+v", m)
	}
	var lenses []codeLens
	off.call("textDocument/codeLens", inDocument{documentID{URI: off.uri(pusher)}}, &lenses)
	for _, l := range lenses {
		if l.Command.Command != "" {
			t.Errorf("off, but offered: %+v", l)
		}
	}
	c := withSheets(t, dir)
	c.open("two.axis.hcl")
	for more, want := range map[string]string{
		``: "no axis here", `,"position":{"line":2,"character":0}`: "no axis here", `,"axis":"z"`: "there is no axis z",
		`,"axis":"b"`: "two.axis.hcl:5:", `,"position":{"line":4,"character":3}`: "two.axis.hcl:5:", `,"axis":7`: "cannot be read",
	} {
		if m := c.request("workspace/executeCommand", arg(c, more)); m.Error == nil || !strings.Contains(m.Error.Message, want) {
			t.Errorf("%s: %+v", more, m.Error)
		}
	}
	for _, p := range []string{`{"command":"x"}`, `{"command":"trammel.openSheet"}`, `{"command":"trammel.openSheet","arguments":[{"uri":"file:///etc/passwd"}]}`} {
		if m := c.request("workspace/executeCommand", json.RawMessage(p)); m.Error == nil {
			t.Errorf("%s: %s", p, m.Result)
		}
	}
	var address, again string
	c.call("workspace/executeCommand", arg(c, `,"position":{"line":0,"character":3}`), &address)
	c.call("workspace/executeCommand", arg(c, `,"axis":"a"`), &again)
	if address != again {
		t.Errorf("an axis has two pages: %s %s", address, again)
	}
}
