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
	of   int // 0: not known
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

func (p *progress) tick(stop, done chan struct{}) {
	defer close(done)
	t := time.NewTicker(200 * time.Millisecond)
	defer t.Stop()
	shown := false
	for {
		select {
		case <-stop:
			if shown {
				sanitize.Fprintf(p.w, "\r\x1b[K")
			}
			return
		case <-t.C:
			shown = true
			sanitize.Fprintf(p.w, "\r\x1b[K%s", p.line())
		}
	}
}

// line is what is shown.
func (p *progress) line() string {
	p.mu.Lock()
	defer p.mu.Unlock()
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
