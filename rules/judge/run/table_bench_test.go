//go:build unix

package run

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"runtime/debug"
	"strconv"
	"strings"
	"testing"
	"time"

	"trammel/spec"
)

// BenchmarkTable prints the table of docs/performance.md that the targets stand in, each
// row beside its target ("wanted", where there is one), for fleets varied from the demo of as
// many axes as TRAMMEL_AXES names, 1000 if it names none: what whole processes take of
// the processor, and of memory. Most rows are over reading and parsing the same files alone,
// measured just before; a hook and a comparison after a change of a part are over a check of
// everything.
func BenchmarkTable(b *testing.B) {
	sizes := strings.Fields(os.Getenv("TRAMMEL_AXES"))
	if len(sizes) == 0 {
		sizes = []string{"1000"}
	}
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	tool := built(b)
	for _, size := range sizes {
		n, err := strconv.Atoi(size)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(size, func(b *testing.B) { tableOf(b, tool, n) })
	}
}

// A measured fleet.
type tableFleet struct {
	tool, root, cache string
	files             []string
}

func newTableFleet(b *testing.B, tool string, axes int, change func(string) string) *tableFleet {
	b.Helper()
	f := &tableFleet{tool: tool, root: b.TempDir(), cache: b.TempDir()}
	f.files, _ = writeDemo(b, f.root, axes, change)
	if err := os.Chmod(f.cache, 0o700); err != nil {
		b.Fatal(err)
	}
	return f
}

// tableOf prints the rows for fleets of one size. From 100,000 axes on there are those only
// that the targets name: of tolerances and quantities it says nothing new.
func tableOf(b *testing.B, tool string, axes int) {
	b.Helper()
	large := axes >= 100_000
	for i, wanted := range []float64{0.6, 1.2, 0.8} {
		if large && i > 0 {
			break
		}
		switch {
		case axes >= 1_000_000:
			wanted = 1.1
		case large:
			wanted = 1
		}
		b.Run(demoKinds[i].name, func(b *testing.B) {
			f := newTableFleet(b, tool, axes, demoKinds[i].change)
			f.overFloor(b, "cold", wanted, "check", "--no-cache")
			if i > 0 {
				return
			}
			b.Run("cache", f.cached)
			if !large {
				b.Run("quantities", f.quantities)
			}
			b.Run("part", f.partChanged)
		})
	}
}

// cached measures a check that finds everything in the cache.
func (f *tableFleet) cached(b *testing.B) {
	time.Sleep(3 * time.Second) // younger files are not recognised by their times
	f.run(b, "check")           // fills it
	f.overFloor(b, "warm", 0.1, "check")
}

// run runs the program and gives its cost.
func (f *tableFleet) run(b *testing.B, args ...string) cost {
	b.Helper()
	return ran(b, f.tool, f.root, []string{"TRAMMEL_CACHE=" + f.cache}, args...)
}

func (f *tableFleet) overFloor(b *testing.B, name string, wanted float64, args ...string) {
	b.Helper()
	b.Run(name, func(b *testing.B) {
		var least, sum, peak float64
		for b.Loop() {
			runtime.GC()
			before := processorTime()
			floor(f.root, f.files, runtime.GOMAXPROCS(0))
			least += (processorTime() - before).Seconds()
			c := f.run(b, args...)
			sum, peak = sum+c.processor.Seconds(), max(peak, float64(c.peak))
		}
		tableRow(b, sum/least, "×floor", wanted, peak)
	})
}

func tableRow(b *testing.B, ratio float64, of string, wanted, peak float64) {
	b.Helper()
	b.ReportMetric(ratio, of)
	if wanted > 0 {
		b.ReportMetric(wanted, "wanted")
	}
	b.ReportMetric(peak, "MB")
	b.ReportMetric(0, "ns/op") // means nothing here
}

// quantities measures JSON with computed quantities, of which the check takes what its row
// says and writing the rest, and the merge of four parts of it.
func (f *tableFleet) quantities(b *testing.B) {
	f.overFloor(b, "json", 2, "check", "--no-cache", "--form", "json", "--quantities")
	f.overFloor(b, "json-check", 0, "check", "--no-cache")
	dir, merge := b.TempDir(), []string{"merge", "--form", "json"}
	for i := range 4 {
		name := filepath.Join(dir, fmt.Sprint(i, ".json"))
		f.run(b, "check", "--no-cache", "--share", fmt.Sprintf("%d/4", i+1), "--form", "json", "--quantities", "--write", "json="+name)
		merge = append(merge, name)
	}
	f.overFloor(b, "merge", 1, merge...)
}

// partChanged measures a hook and a comparison of two commits after a change of a part that
// some of the axes use: how many is told too, as a share of all.
func (f *tableFleet) partChanged(b *testing.B) {
	git := func(args ...string) {
		c := exec.Command("git", append([]string{"-c", "user.name=x", "-c", "user.email=x", "-c", "gc.auto=0", "-c", "core.hooksPath=/dev/null"}, args...)...)
		c.Dir = f.root
		if out, err := c.CombinedOutput(); err != nil {
			b.Skipf("git %s: %v\n%s", args[0], err, out)
		}
	}
	git("init", "-q", "--template=")
	git("add", "-A")
	git("commit", "-q", "-m", "before")
	git("repack", "-adq") // as a repository is after a while
	replacing(`"12.7 kN"`, `"12.8 kN"`)(b, filepath.Join(f.root, "parts/screws"+spec.PartsSuffix))
	git("add", "-A")
	f.overCheck(b, "hook", 0.2, "hook")
	git("commit", "-q", "-m", "after")
	f.overCheck(b, "compare", 0, "compare", "HEAD~1", "HEAD")
}

func (f *tableFleet) overCheck(b *testing.B, name string, wanted float64, args ...string) {
	b.Helper()
	b.Run(name, func(b *testing.B) {
		var all, sum, peak float64
		for b.Loop() {
			all += f.run(b, "check", "--no-cache").processor.Seconds()
			c := f.run(b, args...)
			sum, peak = sum+c.processor.Seconds(), max(peak, float64(c.peak))
		}
		tableRow(b, sum/all, "×check", wanted, peak)
		b.ReportMetric(f.share(b, args...), "of-axes")
	})
}

var axesTold = regexp.MustCompile(`(\d+) axes`)

// share is how much of the fleet a command says that it judged.
func (f *tableFleet) share(b *testing.B, args ...string) float64 {
	b.Helper()
	count := func(args ...string) float64 {
		c := exec.Command(f.tool, args...)
		c.Dir = f.root
		out, _ := c.Output() // findings are no failure
		told := axesTold.FindAllStringSubmatch(string(out), -1)
		if told == nil {
			b.Fatalf("%q names no axes", args)
		}
		n, _ := strconv.ParseFloat(told[len(told)-1][1], 64)
		if args[0] == "compare" {
			n, _ = strconv.ParseFloat(told[0][1], 64)
		}
		return n
	}
	return count(args...) / count("check", "--no-cache")
}
