// Package livepage shows pages to a browser on the same computer and keeps them up to
// date there. It is the one listener of the program, and there is none until a page is
// opened: bound to the loopback address, at a port that the system chooses. Each page has
// an address that nobody can guess; requests that name another host, come from another
// site or want anything but these pages are refused. Nothing is read from disk.
package livepage

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	_ "embed"
	"encoding/base64"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Script is what a page must run to be kept up to date: it asks for the page anew and
// exchanges what stands in main, the place of the reader kept.
//
//go:embed live.js
var Script string

// Bounds of the server.
const (
	mostPages       = 8                // the one opened first is closed for a further one
	mostConnections = 64               // further ones wait
	patience        = 20 * time.Second // after which who waits for a change is told that there is none
	headTime        = 5 * time.Second  // within which a request must have come
	headSize        = 8 << 10          // bytes
)

// A Server serves pages.
type Server struct {
	host string // as requests must name it
	http http.Server

	mu    sync.Mutex
	pages []*Page
}

// A Page is one address.
type Page struct {
	server  *Server
	token   string
	mu      sync.Mutex
	html    []byte
	version int
	changed chan struct{} // closed when there is another version, or none will follow
	closed  bool
}

// New begins to listen.
func New() (*Server, error) {
	l, err := net.Listen("tcp4", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	s := &Server{host: l.Addr().String()}
	s.http = http.Server{
		Handler: s, ReadHeaderTimeout: headTime, WriteTimeout: 2 * patience, IdleTimeout: 2 * patience,
		MaxHeaderBytes: headSize, ErrorLog: log.New(io.Discard, "", 0),
	}
	go func() {
		_ = s.http.Serve(&limited{Listener: l, slots: make(chan struct{}, mostConnections), ended: make(chan struct{})})
	}() // ends with Close
	return s, nil
}

// Close ends the server and all its connections.
func (s *Server) Close() {
	_ = s.http.Close() // there is nothing to do about it
}

// Open makes a page at a new address. It has no content until Set.
func (s *Server) Open() *Page {
	p := &Page{server: s, token: rand.Text(), changed: make(chan struct{})}
	s.mu.Lock()
	s.pages = append(s.pages, p)
	var old *Page
	if len(s.pages) > mostPages {
		old, s.pages = s.pages[0], slices.Clone(s.pages[1:])
	}
	s.mu.Unlock()
	if old != nil {
		old.close()
	}
	return p
}

// Address is where a browser finds the page.
func (p *Page) Address() string { return "http://" + p.server.host + "/" + p.token + "/" }

// Set makes an HTML document the content of the page; whoever looks at it gets it at
// once. It is not changed afterwards.
func (p *Page) Set(html []byte) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed {
		return
	}
	p.html = html
	p.version++
	close(p.changed)
	p.changed = make(chan struct{})
}

// Closed reports whether the page was closed for another one.
func (p *Page) Closed() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.closed
}

func (p *Page) close() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.closed = true
	close(p.changed)
}

func (p *Page) now() (html []byte, version int, changed chan struct{}) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.html, p.version, p.changed
}

const gone = "there is no such page, or no longer; open the sheet from the editor again"

// Policy is the Content-Security-Policy of every answer: the page's script runs and no
// other, and reaches nothing but this server.
var Policy = func() string {
	sum := sha256.Sum256([]byte(Script))
	return fmt.Sprintf("default-src 'none'; script-src 'sha256-%s'; style-src 'unsafe-inline'; img-src data:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
		base64.StdEncoding.EncodeToString(sum[:]))
}()

// ServeHTTP answers GET /TOKEN/ with a page, and GET /TOKEN/next?after=N with the page
// once it has another version than N.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	for name, value := range map[string]string{
		"Content-Security-Policy": Policy, "X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Referrer-Policy": "no-referrer",
		"Cache-Control": "no-store", "Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin",
	} {
		h.Set(name, value)
	}
	if r.Host != s.host || !s.sameSite(r.Header) {
		http.Error(w, "this page is for a browser on this computer, at the address that the editor gave", http.StatusForbidden)
		return
	}
	if r.Method != http.MethodGet {
		h.Set("Allow", http.MethodGet)
		http.Error(w, "there is nothing to change here", http.StatusMethodNotAllowed)
		return
	}
	token, rest, _ := strings.Cut(strings.TrimPrefix(r.RequestURI, "/"), "/")
	p := s.page(token)
	after, waits := strings.CutPrefix(rest, "next?after=")
	have, err := strconv.Atoi(after)
	switch {
	case p == nil, rest != "" && (!waits || err != nil):
		http.Error(w, gone, http.StatusNotFound)
	case waits:
		p.next(r.Context(), w, have)
	default:
		html, version, _ := p.now()
		write(w, html, version)
	}
}

// sameSite reports whether a request comes from a page of this server, or from nobody's:
// an address that was typed or opened by a program.
func (s *Server) sameSite(h http.Header) bool {
	for _, o := range h.Values("Origin") {
		if o != "http://"+s.host {
			return false
		}
	}
	for _, from := range h.Values("Sec-Fetch-Site") {
		if from != "same-origin" && from != "none" {
			return false
		}
	}
	return true
}

// page finds a page by its token, in a time that tells nothing of tokens.
func (s *Server) page(token string) (found *Page) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, p := range s.pages {
		if subtle.ConstantTimeCompare([]byte(p.token), []byte(token)) == 1 {
			found = p
		}
	}
	return found
}

// next answers with the page once it has another version.
func (p *Page) next(ctx context.Context, w http.ResponseWriter, have int) {
	html, version, changed := p.now()
	if version == have {
		timer := time.NewTimer(patience)
		defer timer.Stop()
		select {
		case <-changed:
		case <-timer.C:
		case <-ctx.Done():
		}
		html, version, _ = p.now()
	}
	switch {
	case p.Closed():
		http.Error(w, gone, http.StatusNotFound)
	case version == have:
		w.WriteHeader(http.StatusNoContent)
	default:
		write(w, html, version)
	}
}

func write(w http.ResponseWriter, html []byte, version int) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Version", strconv.Itoa(version))
	_, _ = w.Write(html) // a browser that has gone needs none
}

// limited is a listener with so many connections at most.
type limited struct {
	net.Listener
	slots chan struct{}
	ended chan struct{}
	once  sync.Once
}

func (l *limited) Close() error {
	l.once.Do(func() { close(l.ended) })
	return l.Listener.Close()
}

func (l *limited) Accept() (net.Conn, error) {
	select {
	case l.slots <- struct{}{}:
	case <-l.ended:
		return nil, net.ErrClosed
	}
	c, err := l.Listener.Accept()
	if err != nil {
		<-l.slots
		return nil, err
	}
	return &counted{Conn: c, slots: l.slots}, nil
}

type counted struct {
	net.Conn
	once  sync.Once
	slots chan struct{}
}

func (c *counted) Close() error {
	c.once.Do(func() { <-c.slots })
	return c.Conn.Close()
}
