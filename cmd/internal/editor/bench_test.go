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
// its largest file, of three axes, and there in the axis that takes longest to judge; in one
// with forty moves, four tolerances and findings; in one with a library of two thousand screws
// above it; in the parts file of its screw; and in that library, of which it has its screw, with
// twenty more axes open.
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
		{"heaviest", heaviest, `stroke     = "430 mm"`, "123456789", map[string]string{heaviest: manyMoves(string(src))}, nil},
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

const heaviest = "machines/slicer/heaviest.axis.hcl"

// manyMoves makes an axis of forty moves, with four tolerances, of the demo's pusher. It is
// too fast for its shaft and its motor.
func manyMoves(text string) string {
	text = strings.NewReplacer(`axis "pusher"`, `axis "heaviest"`, `"14 kg"`, `"14 kg ± 1 kg"`, `"15 N"`, `"15 N ± 3 N"`, `"690 mm"`, `"690 mm ± 1 mm"`,
		`"620 mm"`, `"620 mm ± 2 mm"`, `"0.8 m/s"`, `"1.9 m/s"`).Replace(text)
	from := strings.Index(text, "    move \"push\"")
	to := strings.Index(text, "  }\n  screw {")
	moves := ""
	for i := range 20 {
		moves += strings.NewReplacer(`"push"`, fmt.Sprintf(`"push%d"`, i), `"back"`, fmt.Sprintf(`"back%d"`, i)).Replace(text[from:to])
	}
	return text[:from] + moves + text[to:]
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

func manyScrews(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "screw \"many%d\" {\n  nominal_diameter = \"%d mm\"\n  lead = \"20 mm\"\n  root_diameter = \"%d mm\"\n  ball_diameter = \"3.1 mm\"\n  dynamic_rating = \"12 kN\"\n  static_rating = \"20 kN\"\n  process = \"ground\"\n}\n\n", i, 20+i%40, 17+i%40)
	}
	return b.String()
}
