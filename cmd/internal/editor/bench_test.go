package editor

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"trammel/rules"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// BenchmarkKey is the time from a key to what is found, for an axis of the demo, and how
// many times that of judging the axis alone it is. With many it has a library of two
// thousand screws above it; with part the key is one in that library.
func BenchmarkKey(b *testing.B) {
	library := map[string]string{"parts/many.parts.hcl": manyScrews(2000)}
	for _, x := range []struct {
		name, file, old string
		more            map[string]string
	}{
		{"axis", pusher, `stroke     = "430 mm"`, nil},
		{"many", pusher, `stroke     = "430 mm"`, library},
		{"part", screws, `lead                 = "20 mm"`, nil},
		{"library", "parts/many.parts.hcl", `lead = "20 mm"`, library},
	} {
		b.Run(x.name, func(b *testing.B) {
			dir := tree(b, "bakery", x.more)
			c := start(b, dir, modern)
			c.open(pusher, blade)
			if x.file != pusher {
				c.open(x.file)
			}
			c.diagnostics(x.file)
			alone := judgingAlone(dir)
			text := c.read(x.file)
			at := strings.Index(text, x.old) + strings.Index(x.old, `"`) + 1
			src := newText([]byte(text))
			cursor := span{src.position(at, true), src.position(at+1, true)}
			took := make([]time.Duration, 0, b.N)
			version := 1
			for b.Loop() {
				version++
				begun := time.Now()
				c.notify("textDocument/didChange", map[string]any{"textDocument": map[string]any{"uri": c.uri(x.file), "version": version},
					"contentChanges": []any{change{&cursor, fmt.Sprint(1 + version%8)}}})
				for c.shown[c.uri(x.file)].Version == nil || *c.shown[c.uri(x.file)].Version != version {
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
func judgingAlone(dir string) time.Duration {
	o := options(nil, dir)
	base, err := o.Open(dir)
	if err != nil {
		panic(err)
	}
	tr := spec.NewTree(base)
	once := func() time.Duration {
		begun := time.Now()
		run.Files(rules.Book(), tr, []string{pusher}, run.Options{Today: today, Workers: 1, As: run.Look{Bare: true}})
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

func manyScrews(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "screw \"many%d\" {\n  nominal_diameter = \"%d mm\"\n  lead = \"20 mm\"\n  root_diameter = \"%d mm\"\n  ball_diameter = \"3.175 mm\"\n  dynamic_rating = \"12 kN\"\n  static_rating = \"20 kN\"\n  process = \"ground\"\n}\n\n", i, 20+i%40, 17+i%40)
	}
	return b.String()
}
