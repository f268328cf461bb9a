//go:build unix

package main

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"trammel/spec/amount"
)

// A process that is stopped, killed, or has no room to write leaves nothing
// that a later run could trip over.
func TestLongCheckProcess(t *testing.T) {
	amount.Long(t)
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

	// No room for what is to be cached.
	for _, blocks := range []string{"0", "1", "8"} {
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
		c := exec.Command("sh", "-c", `ulimit -f `+blocks+` && exec "$0" "$@"`, tool, check[0], check[1])
		var out, errOut bytes.Buffer
		c.Stdout, c.Stderr = &pipeOnly{&out}, &pipeOnly{&errOut}
		_ = c.Run()
		if c.ProcessState.ExitCode() != want.status || out.String() != want.out || !strings.Contains(errOut.String(), "nothing is cached") || strings.Count(errOut.String(), "\n") != 1 {
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
		if got := run(check...); got.out != want.out || got.status != want.status || !strings.Contains(got.err, "nothing is cached") {
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

// TestLongSignalsLeaveNothing ends runs that write by each of the signals, at several
// moments: no file is left half-written, none in the making.
func TestLongSignalsLeaveNothing(t *testing.T) {
	amount.Long(t)
	tool, err := builtTool()
	if err != nil {
		t.Skip("cannot build the command here:", err)
	}
	inBakery(t)
	put(t, "table/x.csv", "Name,Mass\n"+repeated(3000, func(i int) string { return fmt.Sprintf("a%d,%d\n", i, i+1) }))
	put(t, "table/x.map.hcl", boundsMap)
	for i := range 300 {
		put(t, fmt.Sprintf("untidy/%d/x.axis.hcl", i), untidy)
	}
	if r := called(t, "check", "--share", "1/1", "--form", "json", "--write", "json=1.json"); r.status == exitFailed {
		t.Fatal(r.err)
	}
	signals := []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGHUP}
	for i, args := range []string{
		"check TODAY --write json=out.json", "check TODAY --known out.known --record", "merge 1.json --write json=out.json", "audit TODAY --write html=out.html", "audit TODAY --sheets out",
		"sheet machines --write html=out.html", "enquiry machines --write markdown=out.md", "size TODAY machines/palletiser mast --write text=out.txt", "size TODAY machines/palletiser mast --take 2",
		"compare HEAD --write text=out.txt", "tidy untidy", "adopt table/x.csv --out out", "manual out",
	} {
		for k, after := range []time.Duration{150, 30, 5, 75}[:max(2, someOf(4))] {
			signal := signals[(i+k)%len(signals)]
			stop := func(after time.Duration) (int, string) {
				c := exec.Command(tool, strings.Fields(strings.ReplaceAll(args, "TODAY", bakeryDay))...)
				var errOut bytes.Buffer
				c.Stderr = &errOut
				if err := c.Start(); err != nil {
					t.Fatal(err)
				}
				time.Sleep(after * time.Millisecond)
				_ = c.Process.Signal(signal)
				_ = c.Wait()
				return c.ProcessState.ExitCode(), errOut.String()
			}
			s, said := stop(after)
			for wait := 2 * after; s == -1 && after >= 100 && wait < 5000; wait *= 2 {
				s, said = stop(wait) // a busy machine takes longer until the program listens
			}
			switch {
			case s == -1 && after < 100: // before it could listen
			case s < 0, s == exitFailed && !strings.Contains(said, "interrupted"), s > exitFailed:
				t.Errorf("%s, %v after %d ms: %d, %.300s", args, signal, after, s, said)
			}
			if left := inTheMaking(t); len(left) > 0 {
				t.Errorf("%s, %v after %d ms: %q is left", args, signal, after, left)
			}
		}
	}
}

// inTheMaking lists the files below the current folder that have no name of their own.
func inTheMaking(t *testing.T) (left []string) {
	t.Helper()
	err := filepath.WalkDir(".", func(name string, e os.DirEntry, err error) error {
		if err == nil && strings.HasPrefix(e.Name(), ".trammel-") {
			left = append(left, name)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return left
}

// TestLongTidyStopped: a signal ends tidy between two files, but for a hangup where the run
// was started to outlive it.
func TestLongTidyStopped(t *testing.T) {
	amount.Long(t)
	tool, err := builtTool()
	if err != nil {
		t.Skip("cannot build the command here:", err)
	}
	const files = 1000
	for _, c := range []struct {
		signal os.Signal
		start  string // a shell's way to start it
		ends   bool
	}{
		{os.Interrupt, "", true}, {syscall.SIGTERM, "", true}, {syscall.SIGHUP, "", true}, {syscall.SIGHUP, `trap "" HUP; `, false},
	} {
		if c.ends && signal.Ignored(c.signal) {
			continue // these tests were started to outlive it themselves, and so is what they start
		}
		t.Chdir(t.TempDir())
		for i := range files {
			put(t, fmt.Sprintf("%0120d/x.axis.hcl", i), untidy) // what is said of them fills the pipe, so that none is done before the signal
		}
		run := exec.Command("sh", "-c", c.start+`exec "$0" tidy`, tool)
		var errOut bytes.Buffer
		run.Stderr = &errOut
		out, err := run.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := run.Start(); err != nil {
			t.Fatal(err)
		}
		r := bufio.NewReader(out)
		if _, err := r.ReadString('\n'); err != nil {
			t.Fatal(err)
		}
		_ = run.Process.Signal(c.signal)
		_, _ = io.Copy(io.Discard, r)
		_ = run.Wait()
		said := "interrupted; no file was left half-written"
		if status := run.ProcessState.ExitCode(); (status == exitFailed) != c.ends || strings.Contains(errOut.String(), said) != c.ends {
			t.Errorf("%s%v: status %d, said %q", c.start, c.signal, status, errOut.String())
		}
		old := 0
		for name, src := range tree(t, ".") {
			switch {
			case src == untidy:
				old++
			case !strings.HasPrefix(src, "axis \"a\" {\n  orientation = \"vertical\"\n"):
				t.Errorf("%s%v: %s holds %q", c.start, c.signal, name, src)
			}
		}
		if left := inTheMaking(t); (old > 0) != c.ends || len(left) > 0 {
			t.Errorf("%s%v: %d files are as they were, %q is left", c.start, c.signal, old, left)
		}
	}
}

// TestLongStoppedWhileWaiting: a run that nobody reads from ends with a signal too.
func TestLongStoppedWhileWaiting(t *testing.T) {
	amount.Long(t)
	tool, err := builtTool()
	if err != nil {
		t.Skip("cannot build the command here:", err)
	}
	c := exec.Command(tool, "check", bakeryDay, "--no-cache", "--form", "json", filepath.Join("..", "..", "fixtures", "bakery"))
	out, err := c.StdoutPipe() // holds less than there is to say
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := out.Read(make([]byte, 1)); err != nil {
		t.Fatal(err)
	}
	_ = c.Process.Signal(syscall.SIGTERM)
	gone := make(chan bool)
	go func() { _, _ = c.Process.Wait(); close(gone) }()
	select {
	case <-gone:
	case <-time.After(time.Minute):
		_ = c.Process.Kill()
		t.Error("it waits for its reader, whatever the signal")
	}
}

// pipeOnly keeps exec from giving a child a file of ours, which would count
// towards its limit.
type pipeOnly struct{ b *bytes.Buffer }

func (p *pipeOnly) Write(b []byte) (int, error) { return p.b.Write(b) }
