package report

import (
	"errors"
	"fmt"
	"hash/maphash"
	"io"
	"os"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"trammel/spec"
)

// Axes are what a run says of its axes, in a few bytes each. What their JSON is made of lies
// in a file without a name once there is much of it, so that memory does not grow with it.
type Axes struct {
	texts bool // are kept
	mu    sync.Mutex
	list  []keptAxis
	aside aside
	err   error
}

// A keptAxis is one axis, and where its record is, or its text.
type keptAxis struct {
	at            spec.Place
	axis, machine string
	passed        int   // rules
	seen          *From // from where the places of its record are; nil of a text
	from          io.ReaderAt
	off           int64
	size          int32
	sum           uint64 // of the record or text
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

// Add adds an axis, its places as seen from somewhere. It may be called by several
// goroutines at once.
func (s *Axes) Add(a *Axis, seen *From) {
	s.add(keptAxis{at: seen.Show(a.at), axis: a.axis, machine: a.machine, passed: a.passed, seen: seen}, a.record)
}

func (s *Axes) add(k keptAxis, data string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.texts && s.err == nil {
		k.from, k.size, k.sum = &s.aside, int32(len(data)), maphash.String(seed, data)
		k.off, s.err = s.aside.add(data)
	}
	s.list = append(s.list, k)
}

var seed = maphash.MakeSeed()

// sort puts the axes in the order of their places.
func (s *Axes) sort() {
	slices.SortStableFunc(s.list, func(a, b keptAxis) int { return spec.ComparePlaces(a.at, b.at) })
}

// each calls do with the text of each axis, which is good until the next. Some at a time are
// made at once.
func (s *Axes) each(do func(text []byte) error) error {
	made := make([]madeText, 4*runtime.GOMAXPROCS(0))
	for list := s.list; len(list) > 0; {
		n := min(len(made), len(list))
		var next atomic.Int64
		var wg sync.WaitGroup
		for range min(n, runtime.GOMAXPROCS(0)) {
			wg.Go(func() {
				for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
					made[i].of(&list[i])
				}
			})
		}
		wg.Wait()
		for i := range made[:n] {
			if made[i].err != nil {
				return made[i].err
			}
			if err := do(made[i].text); err != nil {
				return err
			}
		}
		list = list[n:]
	}
	return nil
}

// A madeText is the text of an axis, and room for that of another.
type madeText struct {
	text, kept, room []byte
	record           axisText
	err              error
}

func (t *madeText) of(k *keptAxis) {
	t.kept = slices.Grow(t.kept[:0], int(k.size))[:k.size]
	if _, err := io.ReadFull(io.NewSectionReader(k.from, k.off, int64(k.size)), t.kept); err != nil {
		t.err = unread(err)
		return
	}
	if maphash.Bytes(seed, t.kept) != k.sum {
		t.err = errors.New("a file was changed by another program while it was merged; run merge again")
		return
	}
	if t.text = t.kept; k.seen != nil {
		t.room, t.err = t.record.write(t.room[:0], t.kept, k.seen)
		t.text = t.room
	}
}

func unread(err error) error { return fmt.Errorf("the axes cannot be read again: %w", err) }

// asideFrom is from how many bytes on texts are put into a file, so many at a time.
var asideFrom = 1 << 20 // a test sets it lower

// An aside is a file of texts that nobody else sees; of few it is memory.
type aside struct {
	file *os.File
	at   int64 // bytes in the file
	last []byte
}

// add puts a text behind the others and says where.
func (a *aside) add(text string) (at int64, err error) {
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
