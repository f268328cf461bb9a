package tableimport

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"sync"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/format"
	"trammel/cmd/internal/sanitize"
	"trammel/spec"
)

// The first line of a file that was adopted: where from, and a sum of the rest
// and of the line itself. Where it fits, nobody has edited the file.
const (
	mark    = "# adopted: "
	sumMark = "; sum: "
	sumSize = 16
)

// seal puts the sum into the first line.
func seal(text []byte) []byte {
	line, rest, _ := bytes.Cut(text, []byte("\n"))
	out := make([]byte, 0, len(text)+len(sumMark)+2*sumSize)
	out = append(append(append(out, line...), sumMark...), sum(line, rest)...)
	return append(append(out, '\n'), rest...)
}

func sum(line, rest []byte) string {
	h := sha256.New()
	h.Write(line)
	h.Write([]byte("\n"))
	h.Write(rest)
	return hex.EncodeToString(h.Sum(nil)[:sumSize])
}

// untouched reports whether a file is as it was adopted. Line ends do not
// count: some tools change them on their own.
func untouched(text []byte) bool {
	text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
	line, rest, ok := bytes.Cut(text, []byte("\n"))
	if !ok || !bytes.HasPrefix(line, []byte(mark)) {
		return false
	}
	at := bytes.LastIndex(line, []byte(sumMark))
	return at >= 0 && string(line[at+len(sumMark):]) == sum(line[:at], rest)
}

// What became of a file.
type outcome int

const (
	fresh outcome = iota
	rewritten
	same
	kept
	skipped // after a failure or an interrupt
)

// A task is one file to be written, after what has to be said before it.
type task struct {
	name    string
	text    []byte
	tidy    bool // it is in its layout already
	report  []byte
	outcome outcome
	why     string // it was kept
	err     error
}

// A batch is tasks that are handed on together: handing on costs more than a
// small file.
type batch struct {
	tasks []*task
	done  chan struct{}
}

const batchSize = 32

// A writer lays files out and writes them, several at a time. What it reports
// comes in the order of the table.
type writer struct {
	try    bool
	root   *atomicfile.Folder // nil: the folder is not there yet, and nothing is to be written
	out    *bufio.Writer
	next   []*task // of the next batch
	work   chan *batch
	order  chan *batch
	wait   sync.WaitGroup
	end    chan struct{}
	failed context.CancelCauseFunc
	stop   context.Context
	halt   context.CancelFunc
	count  [skipped + 1]int
	err    error // the first one
	n      int   // workers
}

func newWriter(opt Options, out io.Writer) (*writer, error) {
	w := &writer{try: opt.Try, out: bufio.NewWriterSize(out, 1<<16), work: make(chan *batch, 2), order: make(chan *batch, 8), end: make(chan struct{}), n: opt.Workers}
	w.stop, w.halt = context.WithCancel(context.Background())
	perm := fs.FileMode(0o777)
	if opt.Try {
		perm = 0
	}
	root, err := atomicfile.OpenFolder(opt.Out, perm, opt.trees()...)
	switch {
	case err == nil:
		root.Quick = true // a table has many rows, and adopting again restores what a power cut took
		w.root = root
	case !opt.Try || !errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%s: %w", opt.Out, atomicfile.Reason(err))
	}
	return w, nil
}

func (w *writer) start() {
	for range w.n {
		w.wait.Go(func() {
			for b := range w.work {
				for _, t := range b.tasks {
					w.do(t)
				}
				close(b.done)
			}
		})
	}
	go func() {
		defer close(w.end)
		for b := range w.order {
			<-b.done
			for _, t := range b.tasks {
				w.tell(t)
			}
		}
	}()
}

func (w *writer) add(name string, text []byte, tidy bool, report []byte) {
	w.next = append(w.next, &task{name: name, text: text, tidy: tidy, report: report})
	if len(w.next) == batchSize {
		w.hand()
	}
}

// hand hands on what was added.
func (w *writer) hand() {
	b := &batch{w.next, make(chan struct{})}
	w.next = nil
	w.order <- b
	w.work <- b
}

// finish waits until all is written and reported.
func (w *writer) finish(report []byte) {
	w.hand()
	close(w.work)
	close(w.order)
	w.wait.Wait()
	<-w.end
	w.halt()
	_, _ = w.out.Write(report) // the buffer keeps an error for the end
	if err := w.out.Flush(); err != nil && w.err == nil {
		w.err = err
	}
	if w.root != nil {
		w.root.Close()
	}
}

// tell reports one file.
func (w *writer) tell(t *task) {
	line := ""
	switch {
	case t.err != nil:
		if w.err == nil {
			w.err = fmt.Errorf("%s: not written: %w", sanitize.Line(t.name), t.err)
			w.halt()
			w.failed(w.err)
		}
	case t.outcome == kept:
		line = sanitize.Line(t.name) + ": kept: " + t.why + "\n"
	case w.try && t.outcome == fresh:
		line = sanitize.Line(t.name) + ": would be written\n"
	case w.try && t.outcome == rewritten:
		line = sanitize.Line(t.name) + ": would be rewritten\n"
	case w.try && t.outcome == same:
		line = sanitize.Line(t.name) + ": unchanged\n"
	}
	w.count[t.outcome]++
	if w.err != nil {
		return
	}
	if _, err := w.out.Write(append(t.report, line...)); err != nil {
		w.err = err
		w.halt()
		w.failed(err)
	}
}

func (w *writer) do(t *task) {
	t.outcome = skipped
	if w.stop.Err() != nil {
		return
	}
	text := t.text
	if !t.tidy {
		var problems []spec.Problem
		if text, problems = format.Tidy(t.name, text); len(problems) > 0 {
			t.err = errors.New(problems[0].Message)
			return
		}
	}
	text = seal(text)
	if len(text) > spec.MaxFileSize {
		t.err = errors.New("it would be larger than the limit for a spec file")
		return
	}
	t.outcome, t.why, t.err = w.put(t.name, text)
	if t.err != nil {
		t.outcome = skipped
		t.err = atomicfile.Reason(t.err)
	}
}

// put writes one file, unless there is one that is not to be replaced.
func (w *writer) put(name string, text []byte) (outcome, string, error) {
	if w.root == nil {
		return fresh, "", nil
	}
	perm := fs.FileMode(0o777)
	if w.try {
		perm = 0
	}
	dir, base := w.root, name
	if strings.Contains(name, "/") {
		var err error
		dir, base, err = w.root.Parent(name, perm)
		if w.try && errors.Is(err, fs.ErrNotExist) {
			return fresh, "", nil
		}
		if err != nil {
			return skipped, "", err
		}
		defer dir.Close()
	}
	become, why, before, err := judge(dir, base, text)
	if err == nil && !w.try && (become == fresh || become == rewritten) {
		err = dir.Replace(base, before, text)
	}
	return become, why, err
}

// judge says what is to become of a file, and gives what it holds.
func judge(dir *atomicfile.Folder, name string, text []byte) (outcome, string, []byte, error) {
	info, err := dir.Lstat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fresh, "", nil, nil
	case err != nil:
		return skipped, "", nil, err
	case info.Mode()&fs.ModeSymlink != 0:
		return kept, "it is a link", nil, nil
	case !info.Mode().IsRegular():
		return kept, "it is not a regular file", nil, nil
	case info.Size() > 2*spec.MaxFileSize:
		return kept, "it was not written by adopt", nil, nil
	}
	before, err := dir.ReadFile(name)
	switch {
	case err != nil:
		return skipped, "", nil, err
	case bytes.Equal(before, text):
		return same, "", nil, nil
	case len(before) == 0: // left by a power failure; nothing of anybody's is in it
	case !bytes.HasPrefix(before, []byte(mark)):
		return kept, "it was not written by adopt, or its first line was edited", nil, nil
	case !untouched(before):
		return kept, "it was edited", nil, nil
	case bytes.Equal(bytes.ReplaceAll(before, []byte("\r\n"), []byte("\n")), text):
		return same, "", nil, nil
	}
	if info.Mode().Perm()&0o222 == 0 {
		return kept, "it is read-only", nil, nil
	}
	return rewritten, "", before, nil
}
