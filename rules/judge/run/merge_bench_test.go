//go:build unix

package run

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"syscall"
	"testing"
	"time"
)

// BenchmarkMergeOverFloor prints what the JSON of a fleet of 2,000 axes takes of the
// processor, whole processes, over reading and parsing its files alone: the check that
// writes it, the merge of four parts of it without and with computed quantities; and the
// peak of their memory.
func BenchmarkMergeOverFloor(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	tool, root := built(b), b.TempDir()
	files := writeFleet(b, root, 2000)
	run := func(args ...string) cost { return ran(b, tool, root, nil, args...) }
	parts := func(quantities string) (names []string) {
		for i := range 4 {
			name := filepath.Join(b.TempDir(), fmt.Sprint(i, ".json"))
			run("check", "--no-cache", "--share", fmt.Sprintf("%d/4", i+1), "--form", "json", quantities, "--write", "json="+name)
			names = append(names, name)
		}
		return names
	}
	lean, full := parts("--no-quantities"), parts("--quantities")
	for b.Loop() {
		runtime.GC()
		before := processorTime()
		floor(root, files, runtime.GOMAXPROCS(0))
		least := processorTime() - before
		for name, args := range map[string][]string{
			"text": {"check", "--no-cache"}, "json": {"check", "--no-cache", "--form", "json"},
			"merge": append([]string{"merge", "--form", "json"}, lean...), "merge-quantities": append([]string{"merge", "--form", "json"}, full...),
		} {
			c := run(args...)
			b.ReportMetric(float64(c.processor)/float64(least), name+"/floor")
			b.ReportMetric(float64(c.peak), name+"-MB")
		}
	}
	b.ReportMetric(0, "ns/op") // means nothing here
}

// ran is the cost of a command whose output nobody reads.
func ran(b *testing.B, tool, root string, env []string, args ...string) cost {
	b.Helper()
	c := exec.Command(tool, args...)
	c.Dir, c.Env = root, append(os.Environ(), env...)
	t := time.Now()
	if err := c.Run(); c.ProcessState.ExitCode() > 1 || c.ProcessState.ExitCode() < 0 {
		b.Fatal(args, err)
	}
	return cost{time.Since(t), c.ProcessState.UserTime() + c.ProcessState.SystemTime(), c.ProcessState.SysUsage().(*syscall.Rusage).Maxrss >> 10}
}
