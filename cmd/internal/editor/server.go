// Package editor is a language server: it shows an editor, over standard input and
// output, what the check finds while a spec file is being written, and what the
// calculation graph knows about the place under the cursor. It holds no engineering:
// package judge judges, package run gathers, package spec reads; here places become
// positions and findings become messages of the protocol.
//
// One goroutine reads messages and puts them into a queue; another one takes them out, in
// their order, and does all work. So nothing is locked, a request sees the text as it was
// when it was sent, and changes that have come meanwhile are made before anything is
// judged: however many keys are pressed, the latest text is judged once.
package editor

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"log"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"trammel/rules/judge"
	"trammel/spec"
)

// Options of a server.
type Options struct {
	Book    *judge.Rulebook
	Today   func() time.Time                                       // waivers are judged on this day
	Root    func(dir string) string                                // the root of the tree that a folder belongs to, "" where it is in none
	Open    func(root string) (fs.FS, error)                       // opens a tree for reading, such that nothing outside is reached
	Prepare func(root string, tree *spec.Tree)                     // says of a new tree what is tracked and why it ends
	Tidy    func(name string, src []byte) ([]byte, []spec.Problem) // lays out a file
	Log     io.Writer
	Version string
}

// A server serves one client.
type server struct {
	Options
	log   *log.Logger
	out   io.Writer
	queue chan incoming

	state    int // of the life cycle
	client   initializeParams
	settings settings
	publish  publishCapabilities
	utf8     bool     // positions count bytes
	plain    bool     // the client shows plain text only
	watched  bool     // the client says when files change
	folders  []string // roots that were named; outside of their trees nothing is opened
	roots    map[string]*root
	docs     map[string]*doc // by URI
	fixes    map[fixKey][]judge.Finding
	live     live
	heard    time.Time // when the last message came
	waits    bool      // something is to be judged once nothing is heard for a while
	broken   error     // why nothing more can be written
	orderly  bool      // the client has asked to shut down
	askedID  int

	mu      sync.Mutex // for what the reading goroutine does too
	cancels map[string]context.CancelFunc
}

// States of the life cycle.
const (
	waiting = iota
	running
	shut
	exited
)

// incoming is what the reading goroutine hands on.
type incoming struct {
	*message
	err  *wireError // why the message is none
	end  error      // why there are no more
	ctx  context.Context
	done context.CancelFunc
}

// queued is how many messages may wait. More wait with the client.
const queued = 1024

// Serve serves a client until it says exit, its stream ends or the context does. It
// reports whether the client had asked to shut down before, as a good one does.
func Serve(ctx context.Context, in io.Reader, out io.Writer, o Options) (orderly bool) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	s := &server{
		Options: o, log: log.New(o.Log, "trammel: ", 0), out: out, queue: make(chan incoming, queued),
		roots: map[string]*root{}, docs: map[string]*doc{}, fixes: map[fixKey][]judge.Finding{}, cancels: map[string]context.CancelFunc{},
	}
	defer s.live.close()
	go s.read(ctx, in)
	return s.work(ctx)
}

// read puts messages into the queue and cancels those that are in it.
func (s *server) read(ctx context.Context, in io.Reader) {
	f := newFrames(in)
	put := func(i incoming) bool {
		select {
		case s.queue <- i:
			return true
		case <-ctx.Done():
			return false
		}
	}
	for {
		body, err := f.next()
		if tooLong, is := err.(*wireError); is {
			if !put(incoming{message: &message{}, err: tooLong}) {
				return
			}
			continue
		}
		if err != nil {
			put(incoming{end: err})
			return
		}
		m, bad := parse(body)
		i := incoming{message: m, err: bad}
		if bad == nil && m.Method == "$/cancelRequest" {
			s.cancel(m.Params)
			continue
		}
		if bad == nil && m.Method != "" && m.ID != nil {
			i.ctx, i.done = context.WithCancel(ctx)
			s.mu.Lock()
			s.cancels[string(m.ID)] = i.done
			s.mu.Unlock()
		}
		if !put(i) {
			return
		}
	}
}

func (s *server) cancel(params json.RawMessage) {
	var p struct {
		ID json.RawMessage `json:"id"`
	}
	if json.Unmarshal(params, &p) != nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if stop := s.cancels[string(p.ID)]; stop != nil {
		stop()
	}
}

// patience is how long diagnostics may be behind while messages come without a pause.
const patience = 200 * time.Millisecond

// work takes messages out of the queue, and judges while there are none.
func (s *server) work(ctx context.Context) bool {
	var behind time.Time // since when there is something to judge
	for s.state != exited && s.broken == nil {
		var i incoming
		select {
		case i = <-s.queue:
		case <-ctx.Done():
			return s.state == shut
		default:
			if s.step(ctx) {
				continue
			}
			behind = time.Time{}
			var later <-chan time.Time
			if s.waits {
				later = time.After(quiet)
			}
			select {
			case i = <-s.queue:
			case <-later:
				continue
			case <-ctx.Done():
				return s.state == shut
			}
		}
		if i.end != nil {
			if i.end == errHeader {
				s.send(&message{ID: json.RawMessage("null"), Error: failed(parseError, "%s", i.end)})
			}
			if i.end != io.EOF {
				s.log.Printf("the client's stream ends: %v", i.end)
			}
			return s.state == shut
		}
		s.heard = time.Now()
		s.take(ctx, i)
		if behind.IsZero() {
			behind = time.Now()
		} else if time.Since(behind) > patience {
			s.step(ctx)
			behind = time.Now()
		}
	}
	return s.state == exited && s.orderly
}

// take does what one message asks.
func (s *server) take(ctx context.Context, i incoming) {
	answer := &message{ID: i.ID}
	if i.err != nil {
		if answer.ID == nil {
			answer.ID = json.RawMessage("null")
		}
		answer.Error = i.err
		s.send(answer)
		return
	}
	if i.Method == "" {
		return // an answer of the client
	}
	request := i.ID != nil
	if request {
		defer func() {
			s.mu.Lock()
			delete(s.cancels, string(i.ID))
			s.mu.Unlock()
			i.done()
		}()
		ctx = i.ctx
	}
	result, err := s.dispatch(ctx, i.message, request)
	if !request {
		if err != nil {
			s.log.Printf("%s: %s", i.Method, err.Message)
		}
		return
	}
	if err != nil {
		answer.Error = err
	} else {
		answer.Result = asJSON(result)
	}
	s.send(answer)
}

// dispatch runs the handler of a message. A panic ends the message, and with it all
// that was cached of the trees, but not the server.
func (s *server) dispatch(ctx context.Context, m *message, request bool) (result any, err *wireError) {
	h, known := handlers[m.Method]
	switch {
	case known && h.note == request:
		return nil, failed(invalidRequest, "%s is a %s", m.Method, map[bool]string{true: "notification and has no id", false: "request and needs an id"}[h.note])
	case m.Method == "exit":
	case s.state == waiting && m.Method != "initialize":
		return nil, failed(notInitialized, "the first request is initialize")
	case s.state == shut:
		return nil, failed(invalidRequest, "the server is shut down; what may follow is exit")
	case !known && request:
		return nil, failed(methodNotFound, "there is no method %s", m.Method)
	case !known:
		return nil, nil
	case ctx.Err() != nil:
		return nil, failed(cancelled, "the request was cancelled")
	}
	defer s.survive(m.Method, func() { result, err = nil, failed(internalError, "%s could not be done; the log says why", m.Method) })
	result, err = h.do(s, ctx, m.Params)
	if ctx.Err() != nil && request && err == nil {
		return nil, failed(cancelled, "the request was cancelled")
	}
	return result, err
}

// survive is deferred where a panic must not end the server.
func (s *server) survive(what string, then func()) {
	r := recover()
	if r == nil {
		return
	}
	s.log.Printf("%s: %v\n%s", what, r, debug.Stack())
	for _, t := range s.roots {
		t.forget(".")
	}
	then()
}

func (s *server) send(m *message) {
	if err := write(s.out, m); err != nil {
		s.broken = err
		s.log.Printf("the client cannot be written to: %v", err)
	}
}

func (s *server) notify(method string, params any) {
	s.send(&message{Method: method, Params: asJSON(params)})
}

// ask sends a request whose answer does not matter.
func (s *server) ask(method string, params any) {
	s.askedID++
	s.send(&message{ID: fmt.Appendf(nil, "%d", s.askedID), Method: method, Params: asJSON(params)})
}

// A handler does what a method asks.
type handler struct {
	note bool // it is a notification
	do   func(s *server, ctx context.Context, params json.RawMessage) (any, *wireError)
}

// answers makes the handler of a request.
func answers[P any](f func(*server, context.Context, *P) (any, *wireError)) handler {
	return handler{do: func(s *server, ctx context.Context, raw json.RawMessage) (any, *wireError) {
		p, err := paramsOf[P](raw)
		if err != nil {
			return nil, err
		}
		return f(s, ctx, p)
	}}
}

// hears makes the handler of a notification.
func hears[P any](f func(*server, *P) *wireError) handler {
	return hearsOr(func(*server, json.RawMessage) {}, f)
}

// hearsOr is hears with what is done where the parameters cannot be read.
func hearsOr[P any](lost func(*server, json.RawMessage), f func(*server, *P) *wireError) handler {
	return handler{note: true, do: func(s *server, _ context.Context, raw json.RawMessage) (any, *wireError) {
		p, err := paramsOf[P](raw)
		if err != nil {
			lost(s, raw)
			return nil, err
		}
		return nil, f(s, p)
	}}
}

func paramsOf[P any](raw json.RawMessage) (*P, *wireError) {
	p := new(P)
	if len(raw) == 0 {
		return p, nil
	}
	if err := json.Unmarshal(raw, p); err != nil {
		return nil, failed(invalidParams, "the parameters cannot be read: %v", err)
	}
	return p, nil
}

var handlers map[string]handler

func init() {
	handlers = map[string]handler{
		"initialize":  answers((*server).initialize),
		"initialized": hears((*server).initialized),
		"shutdown":    answers((*server).shutdown),
		"exit":        hears((*server).exit),

		"textDocument/didOpen":                hears((*server).didOpen),
		"textDocument/didChange":              hearsOr((*server).lose, (*server).didChange),
		"textDocument/didSave":                hears((*server).didSave),
		"textDocument/didClose":               hears((*server).didClose),
		"workspace/didChangeWatchedFiles":     hears((*server).didChangeFiles),
		"workspace/didChangeConfiguration":    hears((*server).didConfigure),
		"workspace/didChangeWorkspaceFolders": hears((*server).didChangeFolders),

		"textDocument/diagnostic":           answers((*server).pull),
		"workspace/diagnostic":              answers((*server).pullMachines),
		"textDocument/hover":                answers((*server).hover),
		"textDocument/codeAction":           answers((*server).codeActions),
		"textDocument/completion":           answers((*server).completion),
		"textDocument/definition":           answers((*server).definition),
		"textDocument/references":           answers((*server).references),
		"textDocument/prepareRename":        answers((*server).prepareRename),
		"textDocument/rename":               answers((*server).rename),
		"textDocument/documentSymbol":       answers((*server).documentSymbols),
		"workspace/symbol":                  answers((*server).workspaceSymbols),
		"textDocument/formatting":           answers((*server).formatting),
		"textDocument/foldingRange":         answers((*server).folding),
		"textDocument/selectionRange":       answers((*server).selection),
		"textDocument/inlayHint":            answers((*server).inlayHints),
		"textDocument/codeLens":             answers((*server).codeLenses),
		"workspace/executeCommand":          answers((*server).execute),
		"textDocument/documentLink":         answers((*server).links),
		"documentLink/resolve":              answers((*server).follow),
		"textDocument/semanticTokens/full":  answers((*server).semanticTokens),
		"textDocument/semanticTokens/range": answers((*server).semanticTokensIn),
	}
}

type nothing struct{}

func (s *server) shutdown(context.Context, *nothing) (any, *wireError) {
	s.state, s.orderly = shut, true
	return nil, nil
}

func (s *server) exit(*nothing) *wireError {
	s.state = exited
	return nil
}

func (s *server) initialize(_ context.Context, p *initializeParams) (any, *wireError) {
	if s.state != waiting {
		return nil, failed(invalidRequest, "the server is initialized already")
	}
	s.client = *p
	if shows := p.Capabilities.TextDocument.PublishDiagnostics; shows != nil {
		s.publish = *shows
	}
	s.utf8 = slices.Contains(p.Capabilities.General.PositionEncodings, "utf-8")
	s.plain = !slices.Contains(p.Capabilities.TextDocument.Hover.ContentFormat, "markdown")
	if len(p.InitializationOptions) > 0 {
		if err := json.Unmarshal(p.InitializationOptions, &s.settings); err != nil {
			s.log.Printf("initializationOptions: %v", err)
		}
	}
	for _, f := range p.WorkspaceFolders {
		s.addFolder(f.URI)
	}
	if len(s.folders) == 0 && p.RootURI != nil {
		s.addFolder(*p.RootURI)
	}
	if len(s.folders) == 0 && p.RootURI == nil && p.RootPath != nil {
		s.addFolder(uriOf(*p.RootPath))
	}
	s.state = running
	encoding := "utf-16"
	if s.utf8 {
		encoding = "utf-8"
	}
	return map[string]any{
		"serverInfo":   map[string]string{"name": "trammel", "version": s.Version},
		"capabilities": s.capabilities(encoding),
	}, nil
}

func (s *server) capabilities(encoding string) map[string]any {
	out := map[string]any{
		"positionEncoding":           encoding,
		"hoverProvider":              true,
		"completionProvider":         map[string]any{"triggerCharacters": []string{".", "\""}},
		"definitionProvider":         true,
		"referencesProvider":         true,
		"renameProvider":             map[string]any{"prepareProvider": true},
		"documentSymbolProvider":     true,
		"workspaceSymbolProvider":    true,
		"documentFormattingProvider": true,
		"foldingRangeProvider":       true,
		"selectionRangeProvider":     true,
		"inlayHintProvider":          true,
		"codeLensProvider":           map[string]any{},
		"documentLinkProvider":       map[string]any{"resolveProvider": s.settings.LiveSheet},
		"semanticTokensProvider":     semanticLegend(),
		"codeActionProvider":         map[string]any{"codeActionKinds": []string{"quickfix", "refactor.rewrite"}},
		"textDocumentSync":           map[string]any{"openClose": true, "change": 2, "save": true},
		"workspace":                  map[string]any{"workspaceFolders": map[string]any{"supported": true, "changeNotifications": true}},
	}
	if s.settings.LiveSheet {
		out["executeCommandProvider"] = map[string]any{"commands": []string{openSheet}}
	}
	if s.client.Capabilities.TextDocument.PublishDiagnostics == nil {
		out["diagnosticProvider"] = map[string]any{"interFileDependencies": true, "workspaceDiagnostics": true}
	}
	return out
}

func (s *server) initialized(*nothing) *wireError {
	if !s.client.Capabilities.Workspace.DidChangeWatchedFiles.DynamicRegistration {
		return nil
	}
	s.watched = true
	var watchers []map[string]string
	for _, suffix := range []string{spec.AxisSuffix, spec.PartsSuffix, spec.PolicySuffix, ".[sS][tT][eE][pP]", ".[sS][tT][pP]"} {
		watchers = append(watchers, map[string]string{"globPattern": "**/*" + suffix})
	}
	s.ask("client/registerCapability", map[string]any{"registrations": []any{map[string]any{
		"id": "files", "method": "workspace/didChangeWatchedFiles", "registerOptions": map[string]any{"watchers": watchers},
	}}})
	return nil
}

func (s *server) didConfigure(p *struct {
	Settings struct {
		Trammel *settings `json:"trammel"`
	} `json:"settings"`
}) *wireError {
	if p.Settings.Trammel != nil {
		p.Settings.Trammel.LiveSheet = s.settings.LiveSheet // it is switched when the server starts, and not by a folder's configuration
		s.settings = *p.Settings.Trammel
		for _, d := range s.docs {
			d.shown = nil // said again, as it is to be said now
			d.stale = true
		}
	}
	return nil
}
