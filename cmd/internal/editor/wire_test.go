package editor

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"time"

	"trammel/spec/amount"
)

// framed writes messages as they go over the wire.
func framed(bodies ...string) string {
	var b strings.Builder
	for _, body := range bodies {
		fmt.Fprintf(&b, "Content-Length: %d\r\n\r\n%s", len(body), body)
	}
	return b.String()
}

// talk serves one input and gives what was answered, and how it ended.
func talk(t testing.TB, in string) (answers []*message, orderly bool) {
	t.Helper()
	var out bytes.Buffer
	orderly = Serve(context.Background(), strings.NewReader(in), &out, options(io.Discard, t.TempDir()))
	for f := newFrames(&out); ; {
		body, err := f.next()
		if err == io.EOF {
			return answers, orderly
		}
		if err != nil {
			t.Fatal(err)
		}
		m, bad := parse(body)
		if bad != nil {
			t.Fatalf("%s: %v", body, bad)
		}
		answers = append(answers, m)
	}
}

const (
	initializeRequest = `{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"capabilities":{}}}`
	shutdownRequest   = `{"jsonrpc":"2.0","id":2,"method":"shutdown"}`
	exitNote          = `{"jsonrpc":"2.0","method":"exit"}`
	hoverRequest      = `{"jsonrpc":"2.0","id":"h","method":"textDocument/hover","params":{"textDocument":{"uri":"file:///x.axis.hcl"},"position":{"line":0,"character":0}}}`
)

// TestLifeCycle: codes and order of answers as the Language Server Protocol 3.17
// specification has them (Server lifecycle; Base protocol), and JSON-RPC 2.0 §5.1.
func TestLifeCycle(t *testing.T) {
	t.Parallel()
	for _, x := range []struct {
		name, in string
		want     []string // id and code, or "ok"
		orderly  bool
	}{
		{"whole", framed(initializeRequest, shutdownRequest, exitNote), []string{"1 ok", "2 ok"}, true},
		{"no shutdown", framed(initializeRequest, exitNote), []string{"1 ok"}, false},
		{"exit first", framed(exitNote), nil, false},
		{"end of stream", framed(initializeRequest), []string{"1 ok"}, false},
		{"nothing", "", nil, false},
		{"before initialize", framed(hoverRequest, initializeRequest), []string{`"h" -32002`, "1 ok"}, false},
		{"notification before initialize", framed(`{"jsonrpc":"2.0","method":"textDocument/didOpen","params":{}}`, initializeRequest), []string{"1 ok"}, false},
		{"twice", framed(initializeRequest, initializeRequest), []string{"1 ok", "1 -32600"}, false},
		{"shut down twice", framed(initializeRequest, shutdownRequest, strings.Replace(shutdownRequest, ":2", ":3", 1), exitNote), []string{"1 ok", "2 ok", "3 -32600"}, true},
		{"no folders and no capabilities", framed(`{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"processId":null,"rootUri":null,"workspaceFolders":null,"capabilities":null,"initializationOptions":[]}}`), []string{"1 ok"}, false},
		{"after shutdown", framed(initializeRequest, shutdownRequest, hoverRequest, exitNote), []string{"1 ok", "2 ok", `"h" -32600`}, true},
		{"wrong JSON", framed(`{"jsonrpc":`, initializeRequest), []string{"null -32700", "1 ok"}, false},
		{"no object", framed(`[]`, `7`, `null`, initializeRequest), []string{"null -32600", "null -32600", "null -32600", "1 ok"}, false},
		{"no version", framed(`{"id":7,"method":"initialize"}`), []string{"7 -32600"}, false},
		{"odd id", framed(`{"jsonrpc":"2.0","id":{},"method":"initialize"}`), []string{"null -32600"}, false},
		{"wrong parameters", framed(initializeRequest, `{"jsonrpc":"2.0","id":3,"method":"textDocument/hover","params":7}`), []string{"1 ok", "3 -32602"}, false},
		{"unknown request", framed(initializeRequest, `{"jsonrpc":"2.0","id":3,"method":"no/such"}`), []string{"1 ok", "3 -32601"}, false},
		{"unknown notification", framed(initializeRequest, `{"jsonrpc":"2.0","method":"no/such"}`, shutdownRequest), []string{"1 ok", "2 ok"}, true},
		{"cancelled before it is looked at", framed(initializeRequest, `{"jsonrpc":"2.0","method":"$/cancelRequest","params":{"id":9}}`, shutdownRequest), []string{"1 ok", "2 ok"}, true},
		{"an answer to no request", framed(initializeRequest, `{"jsonrpc":"2.0","id":77,"result":null}`, shutdownRequest), []string{"1 ok", "2 ok"}, true},
		{"no length", "Content-Type: x\r\n\r\n{}", []string{"null -32700"}, false},
		{"negative length", "Content-Length: -1\r\n\r\n{}", []string{"null -32700"}, false},
		{"two lengths", "Content-Length: 2\r\nContent-Length: 2\r\n\r\n{}", []string{"null -32700"}, false},
		{"length beyond numbers", "Content-Length: 99999999999999999999999\r\n\r\n{}", []string{"null -32700"}, false},
		{"endless header", strings.Repeat("x", 1<<20), []string{"null -32700"}, false},
		{"cut short", "Content-Length: 100\r\n\r\n{}", nil, false},
		{"header cut short", "Content-Len", nil, false},
		{"other header lines, bare line ends", fmt.Sprintf("content-length:%d\ncontent-type: application/vscode-jsonrpc; charset=utf-8\n\n", len(initializeRequest)) + initializeRequest, []string{"1 ok"}, false},
		{"too long", fmt.Sprintf("Content-Length: %d\r\n\r\n", maxMessage+1) + strings.Repeat(" ", maxMessage+1) + framed(initializeRequest), []string{"null -32600", "1 ok"}, false},
	} {
		t.Run(x.name, func(t *testing.T) {
			t.Parallel()
			answers, orderly := talk(t, x.in)
			var got []string
			for _, m := range answers {
				s := string(m.ID) + " ok"
				if m.Error != nil {
					s = fmt.Sprintf("%s %d", m.ID, m.Error.Code)
				}
				got = append(got, s)
			}
			if fmt.Sprint(got) != fmt.Sprint(x.want) || orderly != x.orderly {
				t.Errorf("got %v, orderly %v; want %v, %v", got, orderly, x.want, x.orderly)
			}
		})
	}
}

// TestLyingLength: a length that nothing follows costs no memory.
func TestLyingLength(t *testing.T) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	if _, orderly := talk(t, fmt.Sprintf("Content-Length: %d\r\n\r\n{", maxMessage)); orderly {
		t.Error("it ended as if all were well")
	}
	runtime.ReadMemStats(&after)
	if grown := after.TotalAlloc - before.TotalAlloc; grown > maxMessage/4 {
		t.Errorf("%d bytes were allocated for a message that did not come", grown)
	}
}

// TestPanic: a request that panics gets an answer, and the next one is served.
func TestPanic(t *testing.T) {
	handlers["test/panic"] = answers(func(*server, context.Context, *nothing) (any, *wireError) { panic("on purpose") })
	defer delete(handlers, "test/panic")
	c := start(t, tree(t, "", map[string]string{"a.axis.hcl": `axis "a" {}`}), modern)
	c.open("a.axis.hcl")
	if m := c.request("test/panic", nil); m.Error == nil || m.Error.Code != internalError {
		t.Errorf("the panic was answered with %+v", m)
	}
	if got := c.diagnostics("a.axis.hcl"); len(got) == 0 {
		t.Error("nothing is found after a panic")
	}
	if !strings.Contains(c.log.String(), "on purpose") {
		t.Error("the log does not name the panic")
	}
}

// TestCancel: a request that waits in the queue is not begun once it is cancelled.
func TestCancel(t *testing.T) {
	begun, release := make(chan bool), make(chan bool)
	handlers["test/wait"] = answers(func(_ *server, ctx context.Context, _ *nothing) (any, *wireError) {
		begun <- true
		select {
		case <-ctx.Done():
		case <-release:
		}
		return nil, nil
	})
	defer delete(handlers, "test/wait")
	c := start(t, t.TempDir(), modern)
	c.send(&message{ID: json.RawMessage(`"running"`), Method: "test/wait"})
	<-begun
	c.send(&message{ID: json.RawMessage(`"queued"`), Method: "test/wait"})
	c.notify("$/cancelRequest", map[string]string{"id": "queued"})
	c.notify("$/cancelRequest", map[string]string{"id": "running"})
	for _, id := range []string{`"running"`, `"queued"`} {
		select {
		case <-begun:
			t.Fatal("a cancelled request was begun")
		default:
		}
		if m := c.answer(json.RawMessage(id)); m.Error == nil || m.Error.Code != cancelled {
			t.Errorf("%s was answered with %+v", id, m)
		}
	}
	close(release)
}

// TestManyChanges: ten thousand changes are judged as one, or a few, and the last counts.
func TestManyChanges(t *testing.T) {
	t.Parallel()
	manyChanges(t, pusher, amount.Of(10000, 2000))
	manyChanges(t, screws, amount.Of(1000, 200))
}

func manyChanges(t *testing.T, name string, n int) {
	dir := tree(t, "bakery", nil)
	c := start(t, dir, modern)
	text := c.read(name)
	c.open(name)
	// All at once: of changes that come more slowly than they are judged each may be answered.
	var all bytes.Buffer
	for i := range n {
		if err := write(&all, c.change(name, i+2, text+strings.Repeat(" ", i%7))); err != nil {
			t.Fatal(err)
		}
	}
	if err := write(&all, &message{ID: json.RawMessage(`"end"`), Method: "textDocument/diagnostic", Params: asJSON(inDocument{documentID{URI: c.uri(name)}})}); err != nil {
		t.Fatal(err)
	}
	sent := make(chan error, 1)
	go func() {
		_, err := c.to.Write(all.Bytes())
		sent <- err
	}()
	shown, begun := 0, time.Now()
	for {
		m := c.next()
		if m == nil || string(m.ID) == `"end"` {
			break
		}
		shown++
		c.note(m)
	}
	if err := <-sent; err != nil {
		t.Fatal(err)
	}
	if most := int(time.Since(begun)/patience) + 20; shown > n/10 && shown > most {
		t.Errorf("%d changes were answered %d times", n, shown)
	}
	if v := c.shown[c.uri(name)].Version; v == nil || *v != n+1 {
		t.Errorf("the last version shown is %v", v)
	}
}

// FuzzWire: whatever comes over the wire, the server ends with its input, and what it
// says can be read.
func FuzzWire(f *testing.F) {
	open := `{"jsonrpc":"2.0","method":"textDocument/didOpen","params":{"textDocument":{"uri":"file:///a.axis.hcl","version":1,"text":"axis \"a\" {\n}\n"}}}`
	edit := `{"jsonrpc":"2.0","method":"textDocument/didChange","params":{"textDocument":{"uri":"file:///a.axis.hcl","version":2},"contentChanges":[{"range":{"start":{"line":0,"character":99},"end":{"line":-1,"character":-5}},"text":"±µ°"}]}}`
	for _, in := range []string{
		"", "\r\n\r\n", "Content-Length: 2\r\n\r\n{}", "Content-Length: 9999999\r\n\r\n", framed(`{"jsonrpc":`), framed(`[]`), framed(initializeRequest, shutdownRequest, exitNote),
		framed(initializeRequest, open, edit, hoverRequest, `{"jsonrpc":"2.0","method":"$/cancelRequest","params":{"id":"h"}}`), framed(initializeRequest, "\xff\xfe"),
	} {
		f.Add(in)
	}
	f.Fuzz(func(t *testing.T, in string) { talk(t, in) })
}
