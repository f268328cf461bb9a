package report

import (
	"errors"
	"fmt"
	"hash/maphash"
	"io"
	"os"
	"slices"
	"sync"

	"trammel/rules/judge"
	"trammel/spec"
)

// Axes are what a run says of its axes, in a few bytes each. The text of each as JSON lies
// in a file without a name once there is much of it, so that memory does not grow with it.
type Axes struct {
	texts bool // are kept
	mu    sync.Mutex
	list  []keptAxis
	aside aside
	err   error
}

// A keptAxis is one axis, and where its text is.
type keptAxis struct {
	at            spec.Place
	axis, machine string
	passed        int // rules
	from          io.ReaderAt
	off           int64
	size          int32
	sum           uint64 // of the text
}

// NewAxes begins with none. Without texts JSON cannot be written of them.
func NewAxes(texts bool) *Axes { return &Axes{texts: texts} }

// Close lets the texts go.
func (s *Axes) Close() {
	if s != nil && s.aside.file != nil {
		_ = s.aside.file.Close()
		_ = os.Remove(s.aside.file.Name()) // where an open file cannot lose its name
	}
}

// Add adds an axis. It may be called by several goroutines at once.
func (s *Axes) Add(a *Axis) {
	k := keptAxis{at: a.sortKey, axis: a.Axis, machine: a.Machine}
	for i := range a.Rules {
		if a.Rules[i].State == judge.Passed.String() {
			k.passed++
		}
	}
	var text []byte
	if s.texts {
		buf := texts.Get().(*[]byte)
		defer texts.Put(buf)
		text = a.text((*buf)[:0])
		*buf = text
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.texts && s.err == nil {
		k.from, k.size, k.sum = &s.aside, int32(len(text)), maphash.Bytes(seed, text)
		k.off, s.err = s.aside.add(text)
	}
	s.list = append(s.list, k)
}

var (
	texts = sync.Pool{New: func() any { return new([]byte) }}
	seed  = maphash.MakeSeed()
)

// sort puts the axes in the order of their places.
func (s *Axes) sort() {
	slices.SortStableFunc(s.list, func(a, b keptAxis) int { return spec.ComparePlaces(a.at, b.at) })
}

// each calls do with the text of each axis, which is good until the next.
func (s *Axes) each(do func(text []byte) error) error {
	var buf []byte
	for i := range s.list {
		k := &s.list[i]
		buf = slices.Grow(buf[:0], int(k.size))[:k.size]
		if _, err := io.ReadFull(io.NewSectionReader(k.from, k.off, int64(k.size)), buf); err != nil {
			return fmt.Errorf("the axes cannot be read again: %w", err)
		}
		if maphash.Bytes(seed, buf) != k.sum {
			return errors.New("a file was changed by another program while it was merged; run merge again")
		}
		if err := do(buf); err != nil {
			return err
		}
	}
	return nil
}

// asideFrom is from how many bytes on texts are put into a file, so many at a time.
var asideFrom = 1 << 20 // a test sets it lower

// An aside is a file of texts that nobody else sees; of few it is memory.
type aside struct {
	file *os.File
	at   int64 // bytes in the file
	last []byte
}

// add puts a text behind the others and says where.
func (a *aside) add(text []byte) (at int64, err error) {
	at = a.at + int64(len(a.last))
	if a.last = append(a.last, text...); len(a.last) < asideFrom {
		return at, nil
	}
	if a.file == nil {
		if a.file, err = os.CreateTemp("", "trammel-"); err != nil {
			return at, noRoom(err)
		}
		_ = os.Remove(a.file.Name()) // whatever ends the program, nothing is left
	}
	n, err := a.file.WriteAt(a.last, a.at)
	if err != nil {
		return at, noRoom(err)
	}
	a.at, a.last = a.at+int64(n), a.last[:0]
	return at, nil
}

func noRoom(err error) error {
	return fmt.Errorf("the axes cannot be put into a temporary file: %w; name a folder with room by TMPDIR, or leave out --quantities", err)
}

// ReadAt reads one text: none is partly in the file.
func (a *aside) ReadAt(p []byte, at int64) (int, error) {
	if at >= a.at {
		return copy(p, a.last[at-a.at:]), nil
	}
	return a.file.ReadAt(p, at)
}
