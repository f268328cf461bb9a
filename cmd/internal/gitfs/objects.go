package gitfs

import (
	"bufio"
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

var (
	errClosed    = errors.New("the repository was closed")
	errMissing   = errors.New("the repository does not hold it; a partial clone has to fetch it first")
	errAmbiguous = errors.New("ambiguous")
)

const (
	maxObject  = 8 << 20  // bytes; more is no spec file, and no folder either
	maxKept    = 32 << 20 // bytes of files kept for being asked again
	maxEntries = 100_000  // folders and spec files of one state; a few small objects can stand for billions
	maxDepth   = 500      // folders within each other
)

// objects reads objects through git cat-file, which serves raw content: no
// filter, no conversion. The process begins with the first question.
type objects struct {
	ctx context.Context
	dir string
	env []string

	mu     sync.Mutex // one question at a time
	proc   *process
	closed bool

	keep  sync.Mutex
	trees map[string][]entry
	blobs map[string]object
	kept  int
	bound error // what kept from reading everything
}

// refuse notes a bound that was met.
func (o *objects) refuse(err error) error {
	if o != nil {
		o.keep.Lock()
		defer o.keep.Unlock()
		o.bound = err
	}
	return err
}

type process struct {
	cmd  *exec.Cmd
	stop context.CancelFunc
	in   io.WriteCloser
	out  *bufio.Reader
	said *tail
}

// An object is what git stores under an id. Data is nil if it is too large.
type object struct {
	id, kind string
	size     int64
	data     []byte
}

func newObjects(ctx context.Context, dir string, env []string) *objects {
	return &objects{ctx: ctx, dir: dir, env: env, trees: map[string][]entry{}, blobs: map[string]object{}}
}

func (o *objects) start() error {
	ctx, cancel := context.WithCancel(o.ctx)
	p := &process{cmd: command(ctx, o.dir, o.env, "cat-file", "--batch"), stop: cancel, said: &tail{}}
	p.cmd.Stderr = p.said
	in, err := p.cmd.StdinPipe()
	if err == nil {
		var out io.ReadCloser
		if out, err = p.cmd.StdoutPipe(); err == nil {
			p.in, p.out = in, bufio.NewReaderSize(out, 64<<10)
			err = p.cmd.Start()
		}
	}
	if err != nil {
		cancel()
		return failure("cat-file", err, p.said)
	}
	o.proc = p
	return nil
}

// read asks for one object by id or by any other name of a revision. Of one that is larger
// than most no data is kept.
func (o *objects) read(name string, most int64) (got object, err error) {
	if no := o.ask([]string{name}, most, func(answer object, missing error) { got, err = answer, missing }); no != nil {
		return object{}, no
	}
	return got, err
}

// ask asks for several objects at once and calls take with each of them, or with why it is
// not there. The names are together no longer than what a pipe takes.
func (o *objects) ask(names []string, most int64, take func(object, error)) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.closed {
		return errClosed
	}
	if o.proc == nil {
		if err := o.start(); err != nil {
			return err
		}
	}
	p := o.proc
	late := time.AfterFunc(timeout, p.stop)
	_, err := io.WriteString(p.in, strings.Join(names, "\n")+"\n")
	for i := 0; i < len(names) && err == nil; i++ {
		var got object
		got, err = p.answer(names[i], most)
		if missing := errors.Is(err, errMissing) || errors.Is(err, errAmbiguous); err == nil || missing {
			take(got, err)
			err = nil
		}
	}
	inTime := late.Stop()
	if err == nil {
		return nil
	}
	// It has ended, or is out of step. The next question begins another one.
	o.proc = nil
	p.stop()
	p.cmd.Wait()
	switch {
	case !inTime:
		return fmt.Errorf("git cat-file gave no answer within %v", timeout)
	case len(p.said.text) > 0:
		return &gitError{command: "cat-file", said: p.said.words(), code: p.cmd.ProcessState.ExitCode()}
	}
	return fmt.Errorf("git cat-file: %w", err)
}

// answer reads what the process says of a name.
func (p *process) answer(name string, most int64) (object, error) {
	line, err := p.out.ReadString('\n')
	if err != nil {
		return object{}, err
	}
	line = strings.TrimSuffix(line, "\n")
	// The requested name comes back where there is no such object.
	switch {
	case line == name+" missing":
		return object{}, errMissing
	case line == name+" ambiguous":
		return object{}, errAmbiguous
	}
	words := strings.Split(line, " ")
	if len(words) != 3 {
		return object{}, fmt.Errorf("unexpected answer %q", line)
	}
	got := object{id: words[0], kind: words[1]}
	if got.size, err = strconv.ParseInt(words[2], 10, 64); err != nil {
		return object{}, fmt.Errorf("unexpected answer %q", line)
	}
	if got.size > most {
		_, err = io.CopyN(io.Discard, p.out, got.size)
	} else {
		got.data = make([]byte, got.size)
		_, err = io.ReadFull(p.out, got.data)
	}
	if err == nil {
		_, err = p.out.Discard(1)
	}
	return got, err
}

// ahead reads files and folders that will be wanted, many at once: one by one, this
// process and git's wait for each other. What cannot be read is told when it is wanted.
func (o *objects) ahead(ids []string) {
	ids = slices.DeleteFunc(ids, o.has)
	for some := range slices.Chunk(ids, idsAtOnce) {
		size := 0
		no := o.ask(some, maxObject, func(got object, missing error) {
			size += len(got.data)
			switch {
			case missing != nil:
			case got.kind == "tree":
				o.keepTree(got)
			case got.kind == "blob":
				o.keepBlob(got)
			}
		})
		if size > maxKept/2 || no != nil {
			return // else what was kept would make room for what is
		}
	}
}

// idsAtOnce is how many of the longest ids, a line each, any pipe takes: 4 KB.
const idsAtOnce = 4096 / (64 + 1)

func (o *objects) has(id string) bool {
	o.keep.Lock()
	defer o.keep.Unlock()
	return o.trees[id] != nil || o.blobs[id].id != ""
}

// blob reads the content of a file.
func (o *objects) blob(id string, most int64) (object, error) {
	o.keep.Lock()
	b, ok := o.blobs[id]
	o.keep.Unlock()
	if ok && (b.data != nil || b.size == 0 || b.size > most) {
		return b, nil
	}
	b, err := o.read(id, most)
	if err == nil && b.kind != "blob" {
		err = fmt.Errorf("the repository is damaged: %s is a %s", id, b.kind)
	}
	if err == nil {
		o.keepBlob(b)
	}
	return b, err
}

func (o *objects) keepBlob(b object) {
	o.keep.Lock()
	defer o.keep.Unlock()
	if o.kept+len(b.data) > maxKept {
		clear(o.blobs)
		o.kept = 0
	}
	o.kept += len(b.data) - len(o.blobs[b.id].data)
	o.blobs[b.id] = b
}

// tree reads a folder.
func (o *objects) tree(id string) ([]entry, error) {
	o.keep.Lock()
	list, ok := o.trees[id]
	o.keep.Unlock()
	if ok {
		return list, nil
	}
	t, err := o.read(id, maxObject)
	if err != nil {
		return nil, err
	}
	return o.keepTree(t)
}

func (o *objects) keepTree(t object) ([]entry, error) {
	if t.kind != "tree" {
		return nil, fmt.Errorf("the repository is damaged: %s is a %s", t.id, t.kind)
	}
	if t.data == nil && t.size > 0 {
		return nil, errors.New("it is a folder of too many files")
	}
	list, err := parseTree(t.data, len(t.id)/2)
	if err != nil {
		return nil, err
	}
	o.keep.Lock()
	defer o.keep.Unlock()
	o.trees[t.id] = list
	return list, nil
}

// parseTree reads git's own form of a folder: mode, space, name, a zero byte,
// and the id in binary. Names git itself would not check out are passed over.
func parseTree(data []byte, idLen int) ([]entry, error) {
	var list []entry
	for len(data) > 0 {
		space := bytes.IndexByte(data, ' ')
		zero := bytes.IndexByte(data, 0)
		if space < 0 || zero < space || len(data) < zero+1+idLen {
			return nil, errors.New("the repository is damaged: a folder cannot be read")
		}
		mode, err := strconv.ParseUint(string(data[:space]), 8, 32)
		if err != nil {
			return nil, errors.New("the repository is damaged: a folder cannot be read")
		}
		e := entry{name: string(data[space+1 : zero]), mode: uint32(mode), id: hex.EncodeToString(data[zero+1 : zero+1+idLen])}
		data = data[zero+1+idLen:]
		if e.name != "" && e.name != "." && e.name != ".." && !strings.Contains(e.name, "/") && e.counts() {
			list = append(list, e)
		}
	}
	return list, nil
}

func (o *objects) close() error {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.closed = true
	p := o.proc
	if p == nil {
		return nil
	}
	o.proc = nil
	p.in.Close()
	late := time.AfterFunc(time.Second, p.stop)
	defer late.Stop()
	defer p.stop()
	err := p.cmd.Wait()
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		return nil // ended by force: there is nothing left to lose
	}
	return err
}
