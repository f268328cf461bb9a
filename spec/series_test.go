package spec

import (
	"fmt"
	"testing"
	"testing/fstest"
)

const seriesText = `given {
  inch = 25.4
}
series "g" {
  of      = "screw"
  process = "ground"
  columns = ["name", "nominal_diameter mm", "lead", "dynamic_rating kN", "starts", "recirculation", "corrosion_proof", "description"]
  sizes = [
    ["g16x5", 16, "5 mm ± 0.1 mm", 9.4, 1, "tube", true, "small"], # the usual one
    ["20x10", given.inch * 20 / 25.4, "0.4 in", null, 2, "", null, ""],
  ]
}
series "motors" {
  of      = "motor"
  columns = ["rated_torque N m", "name", "max_speed rpm"]
  sizes   = [[1.35, "m1", 4500]]
}
`

// The same parts as seriesText, a block for each.
const blocksText = `
screw "g16x5" {
  process          = "ground"
  nominal_diameter = "16 mm"
  lead             = "5 mm ± 0.1 mm"
  dynamic_rating   = "9.4 kN"
  starts           = 1
  recirculation    = "tube"
  corrosion_proof  = true
  description      = "small"
}
screw "20x10" {
  process          = "ground"
  nominal_diameter = "20 mm"
  lead             = "0.4 in"
  starts           = 2
}
motor "m1" {
  rated_torque = "1.35 N m"
  max_speed    = "4500 rpm"
}
`

// A row of a series is the part that a block with the same values would be, and
// its values stand at their cells.
func TestSeries(t *testing.T) {
	read := func(src string) *Folder {
		f := NewTree(fstest.MapFS{"x.parts.hcl": {Data: []byte(src)}}).Folder(".")
		if len(f.Problems) > 0 {
			t.Fatal(show(f.Problems))
		}
		return f
	}
	table, blocks := read(seriesText), read(blocksText)
	if len(table.Parts()) != len(blocks.Parts()) {
		t.Fatalf("%d parts, want %d", len(table.Parts()), len(blocks.Parts()))
	}
	at := func(p Place) string { return seriesText[p.Byte:p.EndByte] }
	for i, want := range blocks.Parts() {
		got := table.Parts()[i]
		if got.Kind != want.Kind || got.Name != want.Name || table.Part(want.Kind, want.Name) != got {
			t.Fatalf("part %d is %s.%s, want %s.%s", i, got.Kind, got.Name, want.Kind, want.Name)
		}
		if text := at(got.Place); text != fmt.Sprintf("%q", got.Name) {
			t.Errorf("%s stands at %s", got.Name, text)
		}
		for k, w := range want.values {
			g := got.values[k]
			if w == nil || g == nil {
				if w != g {
					t.Errorf("%s: value %d is %+v, want %+v", got.Name, k, g, w)
				}
				continue
			}
			if g.Field != w.Field || g.Num != w.Num || g.Text != w.Text || g.Word != w.Word || g.Flag != w.Flag || g.Origin != w.Origin || g.Bad {
				t.Errorf("%s: got %+v, want %+v", got.Name, g, w)
			}
		}
	}
	for field, want := range map[string]string{"nominal_diameter": "16", "lead": `"5 mm ± 0.1 mm"`, "dynamic_rating": "9.4", "corrosion_proof": "true", "process": `"ground"`} {
		if text := at(table.Part("screw", "g16x5").Get(field).Place); text != want {
			t.Errorf("%s stands at %s, want %s", field, text, want)
		}
	}
	if n := len(table.Visible("screw")); n != 2 {
		t.Errorf("%d screws are to be seen", n)
	}
}

// A value that could not be read is not passed over as if nobody had given it.
func TestSeriesBadValues(t *testing.T) {
	f := NewTree(fstest.MapFS{"x.parts.hcl": {Data: []byte(`series "a" {
  of      = "screw"
  columns = ["name", "lead kN", "starts"]
  sizes   = [["a", 1, 1], ["b", 1]]
}
`)}}).Folder(".")
	for _, p := range f.Parts() {
		for _, name := range []string{"lead", "starts"} {
			if v := p.Get(name); v == nil || v.Bad != (name == "lead" || p.Name == "b") {
				t.Errorf("%s of %s is %+v", name, p.Name, v)
			}
		}
	}
	if len(f.Parts()) != 2 {
		t.Errorf("%d parts", len(f.Parts()))
	}
}

func TestManySizes(t *testing.T) {
	f := NewTree(fstest.MapFS{"x.parts.hcl": {Data: []byte(manyScrews(maxSizes+2, true))}}).Folder(".")
	if len(f.Parts()) != maxSizes || len(f.Problems) != 1 {
		t.Errorf("%d parts, %s", len(f.Parts()), show(f.Problems))
	}
	wantProblem(t, f.Problems, maxSizes+6, 5, "more than 5000 sizes in one series are not read")
}
