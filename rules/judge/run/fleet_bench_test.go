//go:build unix

package run

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"syscall"
	"testing"
	"time"
)

// BenchmarkFleet runs whole processes of check over fleets of five axes a file
// and two such files a folder: with nothing cached ("cold"), and once more
// ("warm"). It compares them, in time of the clock and of the processor, with
// reading and parsing the same files alone on the same workers ("floor"), and
// names their peak memory. "growth" is the time of a cold run over that of the
// fleet of a tenth.
func BenchmarkFleet(b *testing.B) {
	if os.Getenv("TRAMMEL_FLEET") == "" {
		b.Skip("set TRAMMEL_FLEET=1: it writes 140 MB and takes minutes")
	}
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	tool := filepath.Join(b.TempDir(), "trammel")
	if out, err := exec.Command("go", "build", "-o", tool, "../../../cmd/trammel").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	var before time.Duration
	for _, axes := range []int{1000, 10000, 100000} {
		b.Run(fmt.Sprint(axes), func(b *testing.B) {
			root := b.TempDir()
			names := writeFleet(b, root, 0)
			for i := range axes / 5 {
				dir := fmt.Sprintf("hall%03d/line%05d", i/200, i/2)
				if err := os.MkdirAll(filepath.Join(root, dir), 0o755); err != nil {
					b.Fatal(err)
				}
				text := ""
				for k := range 5 {
					text += fmt.Sprintf(fleetAxis, i*5+k, mass(i*5+k), 0.2+float64(i%7)*0.03) + "\n"
				}
				for name, text := range map[string]string{
					dir + "/machine.axis.hcl":                fmt.Sprintf("machine \"m%05d\" {\n  environment = environment.hall\n}\n", i/2),
					fmt.Sprintf("%s/a%05d.axis.hcl", dir, i): text,
				} {
					if err := os.WriteFile(filepath.Join(root, name), []byte(text), 0o644); err != nil {
						b.Fatal(err)
					}
					names = append(names, name)
				}
			}
			slices.Sort(names)
			names = slices.Compact(names)
			cache := b.TempDir()
			if err := os.Chmod(cache, 0o700); err != nil {
				b.Fatal(err)
			}
			check := func() (clock, processor time.Duration, peak int64) {
				c := exec.Command(tool, "check")
				c.Dir, c.Env = root, append(os.Environ(), "TRAMMEL_CACHE="+cache)
				t := time.Now()
				out, err := c.Output()
				clock = time.Since(t)
				if c.ProcessState.ExitCode() != 1 || !bytes.Contains(out, fmt.Appendf(nil, "\n%d axes, ", axes)) {
					b.Fatal(err)
				}
				return clock, c.ProcessState.UserTime() + c.ProcessState.SystemTime(), c.ProcessState.SysUsage().(*syscall.Rusage).Maxrss >> 10
			}
			floor(root, names, runtime.GOMAXPROCS(0))
			var clock, processor [3]time.Duration
			var peak [3]int64
			for b.Loop() {
				runtime.GC()
				t, c := time.Now(), processorTime()
				floor(root, names, runtime.GOMAXPROCS(0))
				clock[0] += time.Since(t)
				processor[0] += processorTime() - c
				packs, _ := filepath.Glob(filepath.Join(cache, "*"))
				for _, p := range packs {
					os.Remove(p)
				}
				for i := 1; i <= 2; i++ {
					t, c, p := check()
					clock[i] += t
					processor[i] += c
					peak[i] = max(peak[i], p)
				}
			}
			for i, name := range []string{1: "cold", 2: "warm"} {
				if i > 0 {
					b.ReportMetric(float64(clock[i])/float64(clock[0]), name+"/floor")
					b.ReportMetric(float64(processor[i])/float64(processor[0]), name+"/floor-cpu")
					b.ReportMetric(float64(peak[i]), name+"-MB")
				}
			}
			cold := processor[1] / time.Duration(b.N)
			if before > 0 {
				b.ReportMetric(float64(cold)/float64(before), "growth-cpu")
			}
			before = cold
			b.ReportMetric(float64(processor[1].Microseconds())/float64(b.N)/float64(axes), "cold-cpu-µs/axis")
		})
	}
}

// processorTime is what the process has used of the processor.
func processorTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
