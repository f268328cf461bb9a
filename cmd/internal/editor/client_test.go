package editor

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"trammel/cmd/internal/format"
	"trammel/rules"
	"trammel/rules/judge/run"
	"trammel/spec"
)

var today = time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)

// A client talks to a server in the same process.
type client struct {
	t      testing.TB
	dir    string
	to     io.WriteCloser
	from   *frames
	id     int
	shown  map[string]publishParams // last sent, by URI
	notes  []*message               // all else that was not requested
	log    *safeBuffer
	ended  chan bool
	counts string // what positions count
}

type safeBuffer struct {
	mu sync.Mutex
	b  strings.Builder
}

func (b *safeBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *safeBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

func options(log io.Writer, root string) Options {
	return Options{
		Book: rules.Book(), Today: func() time.Time { return today }, Log: log, Version: "test", Tidy: format.Tidy,
		Root: func(dir string) string {
			if within(root, dir) {
				return root
			}
			return ""
		},
		Open: func(dir string) (fs.FS, error) {
			r, err := os.OpenRoot(dir)
			if err != nil {
				return nil, err
			}
			return r.FS(), nil
		},
		Prepare: func(string, *spec.Tree) {},
	}
}

// tree copies the demo, and writes more files over it.
func tree(t testing.TB, from string, more map[string]string) string {
	dir, err := filepath.EvalSymlinks(t.TempDir())
	if err == nil && from != "" {
		err = os.CopyFS(dir, os.DirFS(filepath.Join("../../../fixtures", from)))
	}
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range more {
		full := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(full, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// raw starts a server in which nothing was said yet.
func raw(t testing.TB, dir string) *client {
	in, to := io.Pipe()
	from, out := io.Pipe()
	c := &client{t: t, dir: dir, to: to, from: newFrames(from), shown: map[string]publishParams{}, log: &safeBuffer{}, ended: make(chan bool, 1)}
	go func() {
		c.ended <- Serve(context.Background(), in, out, options(c.log, dir))
		out.Close()
	}()
	t.Cleanup(func() {
		to.Close()
		go io.Copy(io.Discard, from)
		if log := c.log.String(); strings.Contains(log, "goroutine ") && !strings.Contains(log, "on purpose") {
			t.Errorf("the server had to survive a panic: %s", log)
		}
	})
	return c
}

const modern = `{"general":{"positionEncodings":["utf-16","utf-8"]},"workspace":{"workspaceEdit":{"documentChanges":true}},"textDocument":{"hover":{"contentFormat":["markdown"]},
"completion":{"completionItem":{"snippetSupport":true}},"documentSymbol":{"hierarchicalDocumentSymbolSupport":true},"publishDiagnostics":{"relatedInformation":true,"versionSupport":true,"tagSupport":{"valueSet":[1]}}}}`

func start(t testing.TB, dir, capabilities string) *client {
	c := raw(t, dir)
	if capabilities == "" {
		capabilities = "{}"
	}
	var answer struct {
		Capabilities struct{ PositionEncoding string }
	}
	c.call("initialize", json.RawMessage(fmt.Sprintf(`{"rootUri":%q,"capabilities":%s}`, uriOf(dir), capabilities)), &answer)
	c.counts = answer.Capabilities.PositionEncoding
	c.notify("initialized", struct{}{})
	return c
}

func (c *client) send(m *message) {
	c.t.Helper()
	if err := write(c.to, m); err != nil {
		c.t.Fatalf("%v\n%s", err, c.log)
	}
}

func (c *client) notify(method string, params any) {
	c.t.Helper()
	c.send(&message{Method: method, Params: asJSON(params)})
}

// request sends a request and gives its answer.
func (c *client) request(method string, params any) *message {
	c.t.Helper()
	c.id++
	id := json.RawMessage(fmt.Sprint(c.id))
	c.send(&message{ID: id, Method: method, Params: asJSON(params)})
	return c.answer(id)
}

// answer reads what the server sends until the answer to a request comes.
func (c *client) answer(id json.RawMessage) *message {
	c.t.Helper()
	for {
		m := c.next()
		if m == nil {
			c.t.Fatalf("the server ended before it answered\n%s", c.log)
		}
		if m.Method == "" && string(m.ID) == string(id) {
			return m
		}
		c.note(m)
	}
}

func (c *client) next() *message {
	body, err := c.from.next()
	if err != nil {
		return nil
	}
	m, bad := parse(body)
	if bad != nil {
		c.t.Fatalf("%s: %v", body, bad)
	}
	return m
}

func (c *client) note(m *message) {
	if m.Method != "textDocument/publishDiagnostics" {
		c.notes = append(c.notes, m)
		return
	}
	var p publishParams
	if err := json.Unmarshal(m.Params, &p); err != nil {
		c.t.Fatal(err)
	}
	c.shown[p.URI] = p
}

// call is request where no error is expected.
func (c *client) call(method string, params, result any) {
	c.t.Helper()
	m := c.request(method, params)
	if m.Error != nil {
		c.t.Fatalf("%s: %v\n%s", method, m.Error, c.log)
	}
	if result != nil {
		if err := json.Unmarshal(m.Result, result); err != nil {
			c.t.Fatalf("%s: %v: %s", method, err, m.Result)
		}
	}
}

func (c *client) uri(name string) string { return uriOf(filepath.Join(c.dir, name)) }

func (c *client) read(name string) string {
	c.t.Helper()
	src, err := os.ReadFile(filepath.Join(c.dir, name))
	if err != nil {
		c.t.Fatal(err)
	}
	return string(src)
}

func (c *client) open(names ...string) {
	c.t.Helper()
	for _, name := range names {
		c.openAs(name, c.read(name))
	}
}

func (c *client) openAs(name, text string) {
	c.t.Helper()
	c.notify("textDocument/didOpen", map[string]any{"textDocument": map[string]any{"uri": c.uri(name), "languageId": "hcl", "version": 1, "text": text}})
}

// set makes a text that of an open file.
func (c *client) set(name string, version int, text string) {
	c.t.Helper()
	c.send(c.change(name, version, text))
}

func (c *client) change(name string, version int, text string) *message {
	return &message{Method: "textDocument/didChange", Params: asJSON(map[string]any{
		"textDocument": map[string]any{"uri": c.uri(name), "version": version}, "contentChanges": []any{map[string]any{"text": text}}})}
}

// diagnostics are what the server has sent for a file, once it is up to date.
func (c *client) diagnostics(name string) []diagnostic {
	c.t.Helper()
	var pulled struct{ Items []diagnostic }
	c.call("textDocument/diagnostic", map[string]any{"textDocument": map[string]any{"uri": c.uri(name)}}, &pulled)
	sent, ok := c.shown[c.uri(name)]
	if !ok {
		c.t.Fatalf("nothing was sent for %s\n%s", name, c.log)
	}
	if got, want := string(asJSON(sent.Diagnostics)), string(asJSON(pulled.Items)); got != want {
		c.t.Errorf("%s: sent %s\n  found %s", name, got, want)
	}
	return sent.Diagnostics
}

// lines writes diagnostics as the check writes findings.
func lines(name string, list []diagnostic) (out []string) {
	for _, d := range list {
		if d.Severity < severityHint {
			out = append(out, fmt.Sprintf("%s:%d:%d: %s: %s [%s]", name, d.Range.Start.Line+1, d.Range.Start.Character+1,
				[]string{"", "error", "warning", "note"}[d.Severity], d.Message, d.Code))
		}
	}
	return out
}

// check gives what the check finds in the files of a tree, written like lines, by file.
// The columns are bytes from the start of the line, as a client that counts bytes has
// them.
func check(t testing.TB, dir string) map[string][]string {
	t.Helper()
	r, err := os.OpenRoot(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	tr := spec.NewTree(r.FS())
	var files []string
	tr.Walk(".", func(f string) { files = append(files, f) })
	sum := run.Files(rules.Book(), tr, files, run.Options{Today: today, Whole: true})
	out := map[string][]string{}
	for i := range sum.Findings {
		f := &sum.Findings[i]
		if f.Waiver != nil {
			continue
		}
		name := f.Place.File
		src, _ := tr.Read(name)
		text := newText(src)
		from, _ := text.stretch(f.Place)
		at := text.position(from, true)
		out[name] = append(out[name], fmt.Sprintf("%s:%d:%d: %s: %s [%s]", name, at.Line+1, at.Character+1, f.Severity, f.Message, f.Rule))
	}
	return out
}
