package editor

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"trammel/rules"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// BenchmarkKey is the time from a key to what is found at the axes that it matters to, and
// how many times that of judging an axis alone it is: for a key in an axis of the demo; in
// its largest file, of three axes, and there in the axis that takes longest to judge; in an
// axis of forty moves with four tolerances; in one with a library of two thousand screws above it; in the parts file of its screw; and in
// that library, of which it has its screw, with twenty more axes open.
func BenchmarkKey(b *testing.B) {
	library := map[string]string{"parts/many.parts.hcl": manyScrews(2000)}
	inLibrary := map[string]string{"parts/many.parts.hcl": manyScrews(2000)}
	src, err := os.ReadFile(filepath.Join("../../../fixtures/bakery", pusher))
	if err != nil {
		b.Fatal(err)
	}
	inLibrary[pusher] = strings.Replace(string(src), "screw.g20x20", "screw.many1000", 1)
	more := []string{}
	for i := range 20 {
		more = append(more, fmt.Sprintf("machines/slicer/more%02d.axis.hcl", i))
		inLibrary[more[i]] = strings.Replace(string(src), `axis "pusher"`, fmt.Sprintf("axis \"more%d\"", i), 1)
	}
	for _, x := range []struct {
		name, file, old, digits string
		more                    map[string]string
		open                    []string
	}{
		{"axis", pusher, `stroke     = "430 mm"`, "123456789", nil, nil},
		{"largest", "machines/depositor/axes.axis.hcl", `mass              = "62 kg"`, "123456789", nil, nil},
		{"tolerances", "machines/depositor/axes.axis.hcl", `overtravel = "30 mm"`, "123456789", nil, nil},
		{"moves", "long.axis.hcl", `drag = "20 N`, "123456789", map[string]string{"long.axis.hcl": manyMoves(40)}, nil},
		{"many", pusher, `stroke     = "430 mm"`, "123456789", library, nil},
		{"part", screws, `lead                 = "20 mm"`, "123456789", nil, nil},
		{"library", "parts/many.parts.hcl", "screw \"many1000\" {\n  nominal_diameter = \"20 mm\"\n  lead = \"20 mm\"", "123456789", inLibrary, more},
	} {
		b.Run(x.name, func(b *testing.B) {
			dir := tree(b, "bakery", x.more)
			c := start(b, dir, modern)
			c.open(pusher, blade)
			if x.file != pusher {
				c.open(x.file)
			}
			c.open(x.open...)
			c.diagnostics(x.file)
			reached := pusher // the file whose findings change
			if strings.HasSuffix(x.file, spec.AxisSuffix) {
				reached = x.file
			}
			alone := judgingAlone(dir, reached)
			text := c.read(x.file)
			if !strings.Contains(text, x.old) {
				b.Fatalf("%s has no %s", x.file, x.old)
			}
			at := strings.Index(text, x.old) + strings.LastIndex(x.old, ` "`) + 2
			in := newText([]byte(text))
			cursor := span{in.position(at, true), in.position(at+1, true)}
			took := make([]time.Duration, 0, b.N)
			version := 1
			for b.Loop() {
				version++
				was := string(asJSON(c.shown[c.uri(reached)]))
				begun := time.Now()
				c.notify("textDocument/didChange", map[string]any{"textDocument": map[string]any{"uri": c.uri(x.file), "version": version},
					"contentChanges": []any{change{&cursor, x.digits[version%len(x.digits):][:1]}}})
				for string(asJSON(c.shown[c.uri(reached)])) == was {
					c.note(c.next())
				}
				took = append(took, time.Since(begun))
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2])/1e6, "ms-median")
			b.ReportMetric(float64(took[len(took)*99/100])/1e6, "ms-99th")
			b.ReportMetric(float64(took[len(took)/2])/float64(alone), "×judging")
		})
	}
}

// judgingAlone is how long it takes to judge the axis that is typed in.
func judgingAlone(dir, file string) time.Duration {
	o := options(nil, dir)
	base, err := o.Open(dir)
	if err != nil {
		panic(err)
	}
	tr := spec.NewTree(base)
	once := func() time.Duration {
		begun := time.Now()
		run.Files(rules.Book(), tr, []string{file}, run.Options{Today: today, Workers: 1, As: run.Look{Bare: true}})
		return time.Since(begun)
	}
	once()
	var all []time.Duration
	for range 50 {
		all = append(all, once())
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// manyMoves is an axis of many moves that no two are alike, with four tolerances.
func manyMoves(n int) string {
	var b strings.Builder
	b.WriteString("axis \"long\" {\n  orientation = \"horizontal\"\n  load {\n    mass = \"80 kg ± 5 kg\"\n    drag = \"20 N ± 4 N\"\n  }\n  motion {\n    stroke = \"900 mm\"\n")
	for i := range n {
		fmt.Fprintf(&b, "    move \"m%d\" {\n      distance = \"%s%d mm\"\n      speed = \"0.%d m/s\"\n      ramp = \"0.1%d s\"\n      thrust = \"%d N\"\n      dwell = \"0.5 s\"\n    }\n", i, []string{"", "-"}[i%2], 300+i/2, 3+i%5, i%7, i*10)
	}
	b.WriteString("  }\n  screw {\n    part   = screw.g25x10\n    length = \"1100 mm ± 2 mm\"\n    grade  = \"C5\"\n  }\n  nut {\n    preload = \"700 N\"\n  }\n  supports {\n    drive_end = \"fixed\"\n    far_end = \"supported\"\n    drive_end_part = support.fx15\n    far_end_part = support.su15\n    span = \"1000 mm ± 3 mm\"\n  }\n  duty {\n    hours_per_day = 16\n    days_per_year = 250\n    service_life = \"10 years\"\n  }\n  drive {\n    motor = motor.m750\n    coupling = coupling.c10\n  }\n  accuracy {\n    positioning = \"20 um\"\n    repeatability = \"10 um\"\n  }\n}\n")
	return b.String()
}

func manyScrews(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "screw \"many%d\" {\n  nominal_diameter = \"%d mm\"\n  lead = \"20 mm\"\n  root_diameter = \"%d mm\"\n  ball_diameter = \"3.1 mm\"\n  dynamic_rating = \"12 kN\"\n  static_rating = \"20 kN\"\n  process = \"ground\"\n}\n\n", i, 20+i%40, 17+i%40)
	}
	return b.String()
}
