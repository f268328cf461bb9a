package spec

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
)

// manyScrews makes a parts file of n screws, as a series or as a block for each.
func manyScrews(n int, series bool) string {
	var b strings.Builder
	if series {
		b.WriteString("series \"s\" {\n  of = \"screw\"\n  process = \"ground\"\n  columns = [\"name\", \"nominal_diameter mm\", \"lead mm\", \"root_diameter mm\", \"ball_circle_diameter mm\", \"ball_diameter mm\", \"dynamic_rating kN\", \"static_rating kN\", \"starts\", \"longest mm\"]\n  sizes = [\n")
	}
	for i := range n {
		d := float64(8 + i%60)
		if series {
			fmt.Fprintf(&b, "    [\"s%d\", %g, 5, %g, %g, 3.1, %g, %g, 1, 1500],\n", i, d, d-2.85, d+0.6, d/2, d*1.1)
		} else {
			fmt.Fprintf(&b, "screw \"s%d\" {\n  process = \"ground\"\n  nominal_diameter = \"%g mm\"\n  lead = \"5 mm\"\n  root_diameter = \"%g mm\"\n  ball_circle_diameter = \"%g mm\"\n  ball_diameter = \"3.1 mm\"\n  dynamic_rating = \"%g kN\"\n  static_rating = \"%g kN\"\n  starts = 1\n  longest = \"1500 mm\"\n}\n", i, d, d-2.85, d+0.6, d/2, d*1.1)
		}
	}
	if series {
		b.WriteString("  ]\n}\n")
	}
	return b.String()
}

func BenchmarkParts(b *testing.B) {
	for _, form := range []string{"series", "blocks"} {
		b.Run(form, func(b *testing.B) {
			src := manyScrews(2000, form == "series")
			files := fstest.MapFS{"x.parts.hcl": {Data: []byte(src)}}
			b.SetBytes(int64(len(src)))
			b.ReportAllocs()
			for b.Loop() {
				if f := NewTree(files).Folder("."); len(f.Parts()) != 2000 || len(f.Problems) > 0 {
					b.Fatal(len(f.Parts()), f.Problems)
				}
			}
		})
	}
}
