package editor

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"log"
	"path"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"time"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/livepage"
	"trammel/cmd/internal/sheet"
	"trammel/rules/judge"
	"trammel/spec"
)

// openSheet is the command that shows the sheet of an axis in a browser and keeps it up
// to date.
const openSheet = "trammel.openSheet"

// A liveSheet is the sheet of an axis of an open file, in a browser.
type liveSheet struct {
	root       *root
	file, axis string
	page       *livepage.Page
	shown      *judge.Report // of the last text without errors
	why        string        // it is not that of the text now, "" where it is
}

// live is what the server has of such sheets.
type live struct {
	sheets []*liveSheet
	server *livepage.Server // nil until the first is opened
	easel  *easel
}

func (l *live) close() {
	if l.server != nil {
		l.easel.close()
		l.server.Close()
	}
}

// executeParams name a command and what it is about.
type executeParams struct {
	Command   string `json:"command"`
	Arguments []struct {
		URI      string    `json:"uri"`
		Axis     string    `json:"axis"`
		Position *position `json:"position"`
	} `json:"arguments"`
}

// execute opens a sheet and gives its address.
func (s *server) execute(ctx context.Context, p *executeParams) (any, *wireError) {
	switch {
	case p.Command != openSheet:
		return nil, failed(invalidParams, "there is no command %s", p.Command)
	case !s.settings.LiveSheet:
		return nil, failed(requestFailed, "the live sheet is off; the setting liveSheet switches it on when the server starts")
	case len(p.Arguments) != 1:
		return nil, failed(invalidParams, "%s needs one argument: the uri of a file, and an axis or a position in it", openSheet)
	}
	a := p.Arguments[0]
	d := s.docs[a.URI]
	if d == nil {
		return nil, failed(invalidParams, "%s is not open", a.URI)
	}
	if a.Axis == "" {
		a.Axis = d.axisAt(a.Position, s.utf8)
	}
	address, err := s.open(ctx, d, a.Axis)
	if err != nil {
		return nil, err
	}
	switch {
	case s.client.Capabilities.Window.ShowDocument.Support:
		s.ask("window/showDocument", map[string]any{"uri": address, "external": true, "takeFocus": true})
	default:
		s.notify("window/showMessage", map[string]any{"type": 3, "message": "sheet of axis " + a.Axis + ": " + address})
	}
	return address, nil
}

// axisAt is the axis at a position, or the only one of the file; "" for none.
func (d *doc) axisAt(at *position, utf8 bool) string {
	var all []*node
	for _, b := range d.outline().file.blocks {
		if b.kind == "axis" {
			all = append(all, b)
		}
	}
	if len(all) == 1 {
		return all[0].label()
	}
	for _, b := range all {
		if at == nil {
			break
		}
		if n := d.text.offset(*at, utf8); b.start <= n && n < b.end {
			return b.label()
		}
	}
	return ""
}

// open makes the page of an axis, or finds the one there is.
func (s *server) open(ctx context.Context, d *doc, axis string) (address string, err *wireError) {
	s.fresh(ctx, d)
	if axis == "" {
		return "", failed(requestFailed, "there is no axis here; put the cursor into one of %s", d.name)
	}
	l := &s.live
	l.sheets = slices.DeleteFunc(l.sheets, func(sh *liveSheet) bool { return sh.page.Closed() })
	for _, sh := range l.sheets {
		if sh.root == d.root && sh.file == d.name && sh.axis == axis {
			return sh.page.Address(), nil
		}
	}
	sh := &liveSheet{root: d.root, file: d.name, axis: axis}
	rep, why := s.sheetOf(sh)
	if why != "" {
		return "", failed(requestFailed, "no sheet was made: %s", why)
	}
	if l.server == nil {
		server, no := livepage.New()
		if no != nil {
			return "", failed(requestFailed, "no page can be served on this computer: %v", no)
		}
		l.server, l.easel = server, newEasel(s.log)
	}
	sh.page, sh.shown = l.server.Open(), rep
	html, no := draw(rep, sh.words(), s.Version)
	if no != nil {
		return "", failed(requestFailed, "no sheet was made: %v", no)
	}
	sh.page.Set(html)
	l.sheets = append(l.sheets, sh)
	return sh.page.Address(), nil
}

// sheetOf is the calculation that the sheet is to show, or why there is none of the text
// as it stands.
func (s *server) sheetOf(sh *liveSheet) (rep *judge.Report, why string) {
	d := sh.root.open[sh.file]
	if d == nil {
		return nil, sh.file + " is closed in the editor"
	}
	if p := s.unsound(d, sh.axis); p != nil {
		return nil, fmt.Sprintf("%s:%d: %s", p.Place.File, p.Place.Line, p.Message)
	}
	v := d.views[sh.axis]
	switch {
	case v == nil:
		return nil, "there is no axis " + sh.axis + " in " + sh.file
	case v.old:
		return nil, sh.axis + ", or an axis that it carries, cannot be read as it stands"
	}
	return v.rep, ""
}

// unsound is an error of the text that an axis is judged with, nil where there is none: as
// for the sheet command, no number is shown beside one.
func (s *server) unsound(d *doc, axis string) *judge.Finding {
	for _, o := range d.root.inOrder() {
		in := spec.ScopeOf(path.Dir(o.name))
		if scopeFile(o.name) && (in == "." || strings.HasPrefix(d.name, in+"/")) {
			if list := o.syntax(); len(list) > 0 {
				f := judge.FindingOf(list[0])
				return &f
			}
		}
	}
	for i := range d.found {
		if it := &d.found[i]; it.OfText() && !it.notJudged && !d.inOther(it.from, axis) {
			return &it.Finding
		}
	}
	for f := d.root.tree.Folder(path.Dir(d.name)); f != nil; f = f.Parent {
		k := s.scope(d.root, f.Path)
		for i := range k.Findings {
			if k.Findings[i].OfText() {
				return &k.Findings[i]
			}
		}
	}
	return nil
}

// inOther reports whether a byte lies in another axis than the named one.
func (d *doc) inOther(at int, axis string) bool {
	return slices.ContainsFunc(d.outline().file.blocks, func(b *node) bool {
		return b.kind == "axis" && b.label() != axis && b.start <= at && at < b.end
	})
}

// refresh has the sheets of a tree drawn anew that are not as they should be.
func (s *server) refresh(r *root) {
	for _, sh := range s.live.sheets {
		if sh.root != r || sh.page.Closed() {
			continue
		}
		rep, why := s.sheetOf(sh)
		if why == sh.why && (why != "" || rep == sh.shown) {
			continue
		}
		if sh.why = why; why == "" {
			sh.shown = rep
		}
		s.live.easel.put(sh.page, drawing{keep(sh.shown), sh.words(), s.Version})
	}
}

// words stand at the foot of the page.
func (sh *liveSheet) words() document.Live {
	if sh.why != "" {
		return document.Live{Stale: true, Words: "NOT CURRENT: " + sh.why + ". The sheet is that of the last text without errors."}
	}
	return document.Live{Words: "As " + sh.file + " stands in the editor, saved or not; fixes are offered there. The page comes from trammel on this computer and ends with the editor; nothing is sent over a network."}
}

// A drawing is what is to be drawn of a page.
type drawing struct {
	rep     *judge.Report // nobody else has it
	words   document.Live
	version string
}

// draw makes the page of a sheet.
func draw(rep *judge.Report, words document.Live, version string) ([]byte, error) {
	doc := sheet.Build(rep, sheet.Options{Sys: rep.View.Units(), Show: func(p spec.Place) spec.Place { return p }, Version: version})
	var b bytes.Buffer
	err := document.HTML(&b, document.Page{Title: "Calculation sheet: axis " + rep.View.Axis.Name, Script: livepage.Script, Live: &words}, doc)
	return b.Bytes(), err
}

// An easel draws pages beside all else, since it takes longer than a key may: of each
// page the latest drawing only.
type easel struct {
	log   *log.Logger
	mu    sync.Mutex
	jobs  map[*livepage.Page]drawing
	wake  chan struct{}
	ended chan struct{}
}

// pause is how long a drawing waits for a later one.
const pause = 40 * time.Millisecond

func newEasel(log *log.Logger) *easel {
	e := &easel{log: log, jobs: map[*livepage.Page]drawing{}, wake: make(chan struct{}, 1), ended: make(chan struct{})}
	go e.work()
	return e
}

func (e *easel) close() { close(e.ended) }

func (e *easel) put(p *livepage.Page, d drawing) {
	e.mu.Lock()
	e.jobs[p] = d
	e.mu.Unlock()
	select {
	case e.wake <- struct{}{}:
	default: // it is awake
	}
}

func (e *easel) work() {
	for {
		select {
		case <-e.wake:
		case <-e.ended:
			return
		}
		time.Sleep(pause)
		e.mu.Lock()
		jobs := e.jobs
		e.jobs = map[*livepage.Page]drawing{}
		e.mu.Unlock()
		for p, d := range jobs {
			e.draw(p, d)
		}
	}
}

// draw draws a page. What cannot be drawn takes the old sheet away: nobody is to read it
// for the new one.
func (e *easel) draw(p *livepage.Page, d drawing) {
	defer func() {
		if r := recover(); r != nil {
			e.log.Printf("drawing a sheet: %v\n%s", r, debug.Stack())
			p.Set([]byte("<!DOCTYPE html><html lang=\"en\"><title>no sheet</title><main><p class=\"live stale\">The sheet could not be drawn; the editor's log of the server says why.</p></main></html>"))
		}
	}()
	html, err := draw(d.rep, d.words, d.version)
	if err != nil {
		panic(err) // writing into memory does not fail
	}
	p.Set(html)
}

// sheetArgument names an axis to the command.
func sheetArgument(uri, axis string) json.RawMessage {
	return asJSON(map[string]string{"uri": uri, "axis": axis})
}
