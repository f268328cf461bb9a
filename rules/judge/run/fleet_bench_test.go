//go:build unix

package run

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"trammel/spec"
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
	tool := built(b)
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
			check := func() cost { return process(b, tool, root, cache, fmt.Appendf(nil, "\n%d axes, ", axes), "check") }
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
					c := check()
					clock[i] += c.clock
					processor[i] += c.processor
					peak[i] = max(peak[i], c.peak)
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

// built is the program.
func built(b *testing.B) string {
	b.Helper()
	tool := filepath.Join(b.TempDir(), "trammel")
	if out, err := exec.Command("go", "build", "-o", tool, "../../../cmd/trammel").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	return tool
}

// cost is that of a whole process, the peak of its memory in MB.
type cost struct {
	clock, processor time.Duration
	peak             int64
}

// process is the cost of a command whose output has some text in it.
func process(b *testing.B, tool, root, cache string, has []byte, args ...string) cost {
	b.Helper()
	c := exec.Command(tool, args...)
	c.Dir, c.Env = root, append(os.Environ(), "TRAMMEL_CACHE="+cache)
	t := time.Now()
	out, err := c.Output()
	clock := time.Since(t)
	if c.ProcessState.ExitCode() > 1 || !bytes.Contains(out, has) {
		b.Fatal(err)
	}
	return cost{clock, c.ProcessState.UserTime() + c.ProcessState.SystemTime(), c.ProcessState.SysUsage().(*syscall.Rusage).Maxrss >> 10}
}

// BenchmarkOverFloor prints a table: of fleets of 1,000 axes of several kinds, one a file,
// and of as many varied from the demo, what whole processes take of the processor, over
// reading and parsing the same files alone: a check with nothing cached ("cold"), once more
// ("warm"), with nothing cached and as JSON, and merging the parts of a check split in two.
func BenchmarkOverFloor(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	tool := built(b)
	for _, kind := range fleetKinds {
		b.Run(kind.name, func(b *testing.B) {
			root := b.TempDir()
			files := writeFleet(b, root, 1000)
			for _, f := range files {
				kind.change(b, filepath.Join(root, f))
			}
			overFloor(b, tool, root, files, 1000)
		})
	}
	for _, kind := range demoKinds {
		b.Run("demo-"+kind.name, func(b *testing.B) {
			root := b.TempDir()
			files, axes := writeDemo(b, root, 1000, kind.change)
			overFloor(b, tool, root, files, axes)
		})
	}
}

// overFloor measures a fleet.
func overFloor(b *testing.B, tool, root string, files []string, axes int) {
	b.Helper()
	cache := b.TempDir()
	parts := []string{filepath.Join(b.TempDir(), "1.json"), filepath.Join(b.TempDir(), "2.json")}
	if err := os.Chmod(cache, 0o700); err != nil {
		b.Fatal(err)
	}
	text, asJSON := fmt.Appendf(nil, "\n%d axes, ", axes), []byte(`"trammel.check/`)
	process(b, tool, root, cache, text, "check") // fills the cache
	for i, p := range parts {
		c := exec.Command(tool, "check", "--form", "json", "--no-quantities", "--share", fmt.Sprintf("%d/%d", i+1, len(parts)))
		c.Dir, c.Env = root, append(os.Environ(), "TRAMMEL_CACHE="+cache)
		out, err := c.Output()
		if c.ProcessState.ExitCode() > 1 {
			b.Fatal(err)
		}
		if err := os.WriteFile(p, out, 0o644); err != nil {
			b.Fatal(err)
		}
	}
	names, sum, peak := []string{"cold", "warm", "json", "merge"}, [4]time.Duration{}, [4]int64{}
	var least time.Duration
	for b.Loop() {
		runtime.GC()
		before := processorTime()
		floor(root, files, runtime.GOMAXPROCS(0))
		least += processorTime() - before
		for i, c := range []cost{
			process(b, tool, root, cache, text, "check", "--no-cache"),
			process(b, tool, root, cache, text, "check"),
			process(b, tool, root, cache, asJSON, "check", "--no-cache", "--form", "json", "--no-quantities"),
			process(b, tool, root, cache, text, append([]string{"merge"}, parts...)...),
		} {
			sum[i] += c.processor
			peak[i] = max(peak[i], c.peak)
		}
	}
	for i, name := range names {
		b.ReportMetric(float64(sum[i])/float64(least), name+"/floor")
	}
	b.ReportMetric(float64(peak[0]), "cold-MB")
	b.ReportMetric(0, "ns/op") // means nothing here
}

// demoKinds change the text of the demo's axes.
var demoKinds = []struct {
	name   string
	change func(text string) string
}{
	{"no-tolerance", func(text string) string { return tolerance.ReplaceAllString(text, "") }},
	{"mass", func(text string) string {
		return massLine.ReplaceAllString(tolerance.ReplaceAllString(text, ""), "$1 $2 ± 2 $2\"")
	}},
	{"as-it-is", func(text string) string { return text }},
}

var (
	tolerance = regexp.MustCompile(` ± [^"]*`)
	massLine  = regexp.MustCompile(`(\bmass += "[^"]*?) (kg|lb)"`)
	varied    = regexp.MustCompile(`(\b(?:mass|drag) +(?:=) ")([\d.]+)`)
	inTest    = regexp.MustCompile(`(?m) *# (expect|clean).*$|^ *model +=.*\n`)
)

// demoFiles are axes of the demo with few findings: that a fleet has, and most of the time of
// an axis with many is the search for fixes.
var demoFiles = []string{
	"depositor/axes", "loader/cross", "loader/dip", "loader/travel", "packer/feed", "palletiser/row",
	"scorer-export/head", "slicer/blade_lift", "slicer/outfeed", "slicer/pusher", "tipper/tilt", "tray-washer/gate",
}

// writeDemo writes axes of the demo again and again, until there are so many, with masses
// and drags varied a little; it gives the axis files and how many axes are in them.
func writeDemo(b *testing.B, root string, least int, change func(string) string) (files []string, axes int) {
	b.Helper()
	const demo = "../../../fixtures/bakery"
	put := func(name string, src string) {
		if err := os.MkdirAll(filepath.Dir(filepath.Join(root, name)), 0o755); err != nil {
			b.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(root, name), []byte(src), 0o644); err != nil {
			b.Fatal(err)
		}
	}
	read := func(name string) string {
		src, err := os.ReadFile(filepath.Join(demo, name))
		if err != nil {
			b.Fatal(err)
		}
		return string(src)
	}
	put("house.policy.hcl", read("house.policy.hcl"))
	all, err := fs.Glob(os.DirFS(demo), "parts/*.hcl")
	if err != nil {
		b.Fatal(err)
	}
	for _, p := range all {
		put(p, read(p))
	}
	for round := 0; axes < least; round++ {
		for _, name := range demoFiles {
			machine := path.Dir(name) + "/machine.axis.hcl"
			put(fmt.Sprintf("hall%03d/%s", round, machine), read("machines/"+machine))
			text := change(inTest.ReplaceAllString(read("machines/"+name+spec.AxisSuffix), ""))
			text = varied.ReplaceAllStringFunc(text, func(s string) string {
				at := strings.LastIndexByte(s, '"') + 1
				x, _ := strconv.ParseFloat(s[at:], 64)
				return s[:at] + strconv.FormatFloat(x*(1-0.1*float64(round*7%11)/11), 'g', 4, 64)
			})
			axes += strings.Count("\n"+text, "\naxis \"")
			files = append(files, fmt.Sprintf("hall%03d/%s%s", round, name, spec.AxisSuffix))
			put(files[len(files)-1], text)
		}
	}
	return files, axes
}

// fleetKinds change the files of a fleet.
var fleetKinds = []struct {
	name   string
	change func(b *testing.B, name string)
}{
	{"plain", func(*testing.B, string) {}},
	{"tolerance", replacing(` kg"`, ` kg ± 5 %"`)},
	{"given", replacing(withGiven...)},
	{"carrier", carrying},
	{"house-rule", houseRule},
	{"all", func(b *testing.B, name string) {
		replacing(append(withGiven, ` kg"`, ` kg ± 5 %"`)...)(b, name)
		carrying(b, name)
		houseRule(b, name)
	}},
}

var withGiven = []string{`axis "`, "given {\n  drag = 16\n}\naxis \"", `"18 N"`, `"${given.drag + 2} N"`}

// carrying has every second axis carry the one before it.
func carrying(b *testing.B, name string) {
	b.Helper()
	var i int
	if n, _ := fmt.Sscanf(filepath.Base(name), "a%d.axis.hcl", &i); n == 1 && i%2 == 1 {
		replacing(`    friction =`, fmt.Sprintf("    carries  = [axis.a%05d]\n    friction =", i-1))(b, name)
	}
}

// replacing gives each file other text in place of some, the first time it stands there.
func replacing(pairs ...string) func(*testing.B, string) {
	return func(b *testing.B, name string) {
		b.Helper()
		src, err := os.ReadFile(name)
		if err != nil {
			b.Fatal(err)
		}
		for i := 0; i < len(pairs); i += 2 {
			src = bytes.Replace(src, []byte(pairs[i]), []byte(pairs[i+1]), 1)
		}
		if err := os.WriteFile(name, src, 0o644); err != nil {
			b.Fatal(err)
		}
	}
}

// houseRule puts one beside each file.
func houseRule(b *testing.B, name string) {
	b.Helper()
	const text = "require \"short\" {\n  that    = screw.length / screw.nominal_diameter <= 80 && life_hours >= \"100 h\"\n  when    = moved_mass >= \"5 kg\"\n  message = \"too long\"\n}\n"
	if err := os.WriteFile(filepath.Join(filepath.Dir(name), "house.policy.hcl"), []byte(text), 0o644); err != nil {
		b.Fatal(err)
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
