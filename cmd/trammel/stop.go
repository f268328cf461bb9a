package main

import (
	"context"
	"errors"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"
)

// errInterrupted ends a run that was told to end.
var errInterrupted = errors.New("interrupted; no file was left half-written")

// stoppedBySignal gives a context that ends when the user or the system asks
// the program to, or the terminal goes; who started it with nohup has said that
// this does not count. Every command looks at it before it writes a file and
// finishes the one it writes.
func stoppedBySignal(ctx context.Context) (context.Context, context.CancelFunc) {
	list := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		list = append(list, syscall.SIGHUP)
	}
	return signal.NotifyContext(ctx, list...)
}

// stopPatience is how long a run may take to end by itself. Only who waits takes
// longer: for a reader that reads no more, or a disk that does not answer.
const stopPatience = 2 * time.Second

// endAfter ends the program some time after the context.
func endAfter(ctx context.Context, errOut io.Writer) {
	context.AfterFunc(ctx, func() {
		time.Sleep(stopPatience)
		complain(errOut, errInterrupted)
		os.Exit(exitFailed)
	})
}

// until runs do and returns when it is done or the context ends, whichever
// comes first. No file is written in do: it may be left behind.
func until(ctx context.Context, do func() error) error {
	if ctx.Err() != nil {
		return errInterrupted // what began now could still write when nobody waits for it
	}
	done := make(chan error, 1)
	go func() { done <- do() }()
	select {
	case err := <-done:
		if ctx.Err() != nil {
			return errInterrupted
		}
		return err
	case <-ctx.Done():
		return errInterrupted
	}
}

// stoppable ends writing when the context does.
type stoppable struct {
	io.Writer
	ctx context.Context
}

func (s *stoppable) Write(b []byte) (int, error) {
	if s.ctx.Err() != nil {
		return 0, errInterrupted
	}
	return s.Writer.Write(b)
}
