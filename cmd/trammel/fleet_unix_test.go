//go:build unix

package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A process that is stopped, killed, or has no room to write leaves nothing
// that a later run could trip over.
func TestCheckProcess(t *testing.T) {
	tool, err := builtTool()
	if err != nil {
		t.Skip("cannot build the command here:", err)
	}
	hall(t, 300)
	dir := t.TempDir()
	t.Setenv("TRAMMEL_CACHE", dir)
	type ending struct {
		status   int
		out, err string
	}
	start := func(args ...string) (*exec.Cmd, func() ending) {
		c := exec.Command(tool, args...)
		var out, errOut bytes.Buffer
		c.Stdout, c.Stderr = &out, &errOut
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		return c, func() ending {
			_ = c.Wait()
			return ending{c.ProcessState.ExitCode(), out.String(), errOut.String()}
		}
	}
	run := func(args ...string) ending {
		_, wait := start(args...)
		return wait()
	}
	check := []string{"check", bakeryDay}
	want := run(append(check, "--no-cache")...)
	if !strings.Contains(want.out, "298 axes") || want.err != "" {
		t.Fatalf("%+v", want)
	}
	stopped := 0
	for _, after := range []time.Duration{160, 10, 40, 1}[:max(2, someOf(4))] {
		for _, signal := range []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGHUP, os.Kill} {
			if err := os.RemoveAll(dir); err != nil {
				t.Fatal(err)
			}
			c, wait := start(append(check, "--write", "json=f.json")...)
			time.Sleep(after * time.Millisecond)
			_ = c.Process.Signal(signal)
			switch got := wait(); {
			case got == want, got.status == -1: // before the program could listen, or killed
			case got.status == exitFailed && strings.Contains(got.err, "interrupted; no file was left half-written") && strings.HasPrefix(want.out, got.out) && strings.Count(got.err, "\n") == 1:
				stopped++
			default:
				t.Errorf("%v after %d ms: %.300s", signal, after, got.err)
			}
			if signal != os.Kill {
				if left, _ := filepath.Glob(filepath.Join(dir, "*.part")); len(left) > 0 {
					t.Errorf("%v after %d ms: %q is left", signal, after, left)
				}
			}
			if src, err := os.ReadFile("f.json"); err == nil && !bytes.HasSuffix(src, []byte("\n}\n")) {
				t.Errorf("%v after %d ms: the output is half-written", signal, after)
			}
			_ = os.Remove("f.json")
			for range 2 {
				if got := run(check...); got != want {
					t.Fatalf("%v after %d ms: the next run: %d %.300s", signal, after, got.status, got.err)
				}
			}
		}
	}
	if stopped == 0 {
		t.Log("this machine was too fast or too slow for an interruption")
	}

	// No room for what is to be remembered.
	for _, blocks := range []string{"0", "1", "8"} {
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
		c := exec.Command("sh", "-c", `ulimit -f `+blocks+` && exec "$0" "$@"`, tool, check[0], check[1])
		var out, errOut bytes.Buffer
		c.Stdout, c.Stderr = &pipeOnly{&out}, &pipeOnly{&errOut}
		_ = c.Run()
		if c.ProcessState.ExitCode() != want.status || out.String() != want.out || !strings.Contains(errOut.String(), "nothing is remembered") || strings.Count(errOut.String(), "\n") != 1 {
			t.Errorf("%s blocks: status %d, said %q", blocks, c.ProcessState.ExitCode(), errOut.String())
		}
		if left, _ := filepath.Glob(filepath.Join(dir, "*")); len(left) > 0 {
			t.Errorf("%s blocks: %q is left", blocks, left)
		}
	}
	if os.Getuid() != 0 {
		if err := os.Chmod(dir, 0o500); err != nil {
			t.Fatal(err)
		}
		defer os.Chmod(dir, 0o700)
		if got := run(check...); got.out != want.out || got.status != want.status || !strings.Contains(got.err, "nothing is remembered") {
			t.Errorf("a folder to read only: %+v", got)
		}
	}
	if f, err := os.OpenFile("/dev/full", os.O_WRONLY, 0); err == nil {
		defer f.Close()
		c := exec.Command(tool, check...)
		c.Stdout = f
		var errOut bytes.Buffer
		c.Stderr = &errOut
		_ = c.Run()
		if c.ProcessState.ExitCode() != exitFailed || !strings.Contains(errOut.String(), "no space left") {
			t.Errorf("full: status %d, said %q", c.ProcessState.ExitCode(), errOut.String())
		}
	}
}

// TestHangup holds that a terminal that goes ends a run as a wish to end does,
// unless the run was started to outlive it.
func TestHangup(t *testing.T) {
	self, err := os.FindProcess(os.Getpid())
	if err != nil {
		t.Fatal(err)
	}
	send := func() (ended bool) {
		ctx, stop := stoppedBySignal(context.Background())
		defer stop()
		if err := self.Signal(syscall.SIGHUP); err != nil {
			t.Fatal(err)
		}
		select {
		case <-ctx.Done():
			return true
		case <-time.After(time.Second):
			return false
		}
	}
	if !send() {
		t.Error("a hangup does not end the run")
	}
	signal.Ignore(syscall.SIGHUP)
	defer signal.Reset(syscall.SIGHUP)
	if send() {
		t.Error("a hangup ends a run that was told to outlive it")
	}
}

// TestHangupLeavesNothing ends runs that write by a hangup, at several moments:
// no file is left half-written, none in the making.
func TestHangupLeavesNothing(t *testing.T) {
	skipLong(t)
	tool, err := builtTool()
	if err != nil {
		t.Skip("cannot build the command here:", err)
	}
	root := filepath.Join(t.TempDir(), "bakery")
	if err := os.CopyFS(root, os.DirFS(filepath.Join("..", "..", "fixtures", "bakery"))); err != nil {
		t.Fatal(err)
	}
	for _, args := range []string{"check TODAY --write json=out.json", "audit TODAY --sheets out", "size TODAY machines/palletiser mast --out out.txt"} {
		for _, after := range []time.Duration{5, 50, 200} {
			c := exec.Command(tool, strings.Fields(strings.ReplaceAll(args, "TODAY", bakeryDay))...)
			c.Dir = root
			var errOut bytes.Buffer
			c.Stderr = &errOut
			if err := c.Start(); err != nil {
				t.Fatal(err)
			}
			time.Sleep(after * time.Millisecond)
			_ = c.Process.Signal(syscall.SIGHUP)
			_ = c.Wait()
			switch s := c.ProcessState.ExitCode(); {
			case s == -1: // before it could listen
			case s == exitFailed && !strings.Contains(errOut.String(), "no file was left half-written"), s > exitFailed:
				t.Errorf("%s after %d ms: %d, %.300s", args, after, s, errOut.String())
			}
			err := filepath.WalkDir(root, func(name string, e os.DirEntry, err error) error {
				if err == nil && strings.HasPrefix(e.Name(), ".trammel-") {
					t.Errorf("%s after %d ms: %s is left", args, after, name)
				}
				return err
			})
			if err != nil {
				t.Fatal(err)
			}
		}
	}
}

// pipeOnly keeps exec from giving a child a file of ours, which would count
// towards its limit.
type pipeOnly struct{ b *bytes.Buffer }

func (p *pipeOnly) Write(b []byte) (int, error) { return p.b.Write(b) }
