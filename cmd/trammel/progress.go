package main

import (
	"io"
	"os"
	"path"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"trammel/cmd/internal/sanitize"
	"trammel/spec"
)

// A progress tells a person at a terminal how far it is; it says nothing elsewhere, and
// nothing of what takes no time.
type progress struct {
	w    io.Writer // nil where nobody watches
	n    atomic.Int64
	mu   sync.Mutex
	what string
	of   int  // 0: not known
	show bool // something is shown
	stop chan struct{}
	done chan struct{}
}

func newProgress(w io.Writer) *progress {
	p := &progress{}
	if isTerminal(w) && os.Getenv("TERM") != "dumb" {
		p.w = w
	}
	return p
}

// task says what is counted from now on, and how many there are.
func (p *progress) task(what string, of int) {
	if p.w == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.what, p.of = what, of
	p.n.Store(0)
	if p.stop == nil {
		p.stop, p.done = make(chan struct{}), make(chan struct{})
		go p.tick(p.stop, p.done)
	}
}

// add counts one.
func (p *progress) add() { p.n.Add(1) }

// at says how far it is, where somebody else counts.
func (p *progress) at(n, of int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.of = of
	p.n.Store(int64(n))
}

// above gives a writer to the same terminal: what it writes takes the place of the line.
func (p *progress) above(w io.Writer) io.Writer {
	if p.w == nil {
		return w
	}
	return &aboveProgress{p, w}
}

type aboveProgress struct {
	p *progress
	w io.Writer
}

func (a *aboveProgress) Write(b []byte) (int, error) {
	a.p.mu.Lock()
	defer a.p.mu.Unlock()
	a.p.clear()
	return a.w.Write(b)
}

// clear takes the line away; whoever calls it holds the lock.
func (p *progress) clear() {
	if p.show {
		sanitize.Fprintf(p.w, "\r\x1b[K")
	}
	p.show = false
}

func (p *progress) tick(stop, done chan struct{}) {
	defer close(done)
	t := time.NewTicker(200 * time.Millisecond)
	defer t.Stop()
	for {
		select {
		case <-stop:
			p.mu.Lock()
			p.clear()
			p.mu.Unlock()
			return
		case <-t.C:
			p.mu.Lock()
			p.show = true
			sanitize.Fprintf(p.w, "\r\x1b[K%s", p.line())
			p.mu.Unlock()
		}
	}
}

// line is what is shown; whoever calls it holds the lock.
func (p *progress) line() string {
	switch n := int(p.n.Load()); {
	case p.of > 0:
		return sanitize.Sprintf("%s: %d of %d", p.what, n, p.of)
	case n > 0:
		return sanitize.Sprintf("%s: %d", p.what, n)
	}
	return p.what
}

// end takes the line away.
func (p *progress) end() {
	p.mu.Lock()
	stop, done := p.stop, p.done
	p.stop = nil
	p.mu.Unlock()
	if stop != nil {
		close(stop)
		<-done
	}
}

// axisFiles counts the axis files of jobs, or of them those in folders that are owned.
func axisFiles(jobs []*job, owns func(folder string) bool) (n int) {
	for _, j := range jobs {
		for _, name := range j.files {
			if strings.HasSuffix(name, spec.AxisSuffix) && (owns == nil || owns(path.Dir(name))) {
				n++
			}
		}
	}
	return n
}
