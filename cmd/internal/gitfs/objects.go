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
func (o *objects) read(name string, most int64) (object, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.closed {
		return object{}, errClosed
	}
	if o.proc == nil {
		if err := o.start(); err != nil {
			return object{}, err
		}
	}
	p := o.proc
	late := time.AfterFunc(timeout, p.stop)
	got, err := p.ask(name, most)
	inTime := late.Stop()
	if err == nil || errors.Is(err, errMissing) || errors.Is(err, errAmbiguous) {
		return got, err
	}
	// It has ended, or is out of step. The next question begins another one.
	o.proc = nil
	p.stop()
	p.cmd.Wait()
	switch {
	case !inTime:
		return object{}, fmt.Errorf("git cat-file gave no answer within %v", timeout)
	case len(p.said.text) > 0:
		return object{}, &gitError{command: "cat-file", said: p.said.words(), code: p.cmd.ProcessState.ExitCode()}
	}
	return object{}, fmt.Errorf("git cat-file: %w", err)
}

func (p *process) ask(name string, most int64) (object, error) {
	if _, err := io.WriteString(p.in, name+"\n"); err != nil {
		return object{}, err
	}
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
	if err != nil {
		return b, err
	}
	o.keep.Lock()
	defer o.keep.Unlock()
	if o.kept+len(b.data) > maxKept {
		clear(o.blobs)
		o.kept = 0
	}
	o.kept += len(b.data) - len(o.blobs[id].data)
	o.blobs[id] = b
	return b, nil
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
	if t.kind != "tree" {
		return nil, fmt.Errorf("the repository is damaged: %s is a %s", id, t.kind)
	}
	if t.data == nil && t.size > 0 {
		return nil, errors.New("it is a folder of too many files")
	}
	if list, err = parseTree(t.data, len(t.id)/2); err != nil {
		return nil, err
	}
	o.keep.Lock()
	o.trees[id] = list
	o.keep.Unlock()
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
