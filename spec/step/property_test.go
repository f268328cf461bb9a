package step

import (
	"bytes"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawSegments draws what a lathe makes: cylinders and cones one after the other, each
// meeting the one before with a shoulder, or none.
func drawSegments(rt *rapid.T) (list []Segment) {
	at, d := 0.0, 0.0
	diameter := func(name string) float64 { // those that differ by less than 1e-4 mm are read as one
		return math.Round(rapid.Float64Range(3, 200).Draw(rt, name)*1000) / 1000
	}
	for i := range rapid.IntRange(1, 12).Draw(rt, "segments") {
		s := Segment{Surface: Cylinder, From: at, To: at + rapid.Float64Range(0.2, 900).Draw(rt, "long")}
		s.Diameter[0] = diameter("diameter")
		if i > 0 && rapid.Bool().Draw(rt, "no shoulder") {
			s.Diameter[0] = d
		}
		s.Diameter[1] = s.Diameter[0]
		if other := diameter("other"); rapid.Bool().Draw(rt, "cone") && math.Abs(other-s.Diameter[0]) > 0.1 {
			s.Surface, s.Diameter[1] = Cone, other
		}
		// Two cylinders of one diameter that touch are one.
		if n := len(list) - 1; n >= 0 && s.Surface == Cylinder && list[n].Surface == Cylinder && math.Abs(s.Diameter[0]-list[n].Diameter[0]) < 0.01 {
			continue
		}
		list = append(list, s)
		at, d = s.To, s.Diameter[1]
	}
	list = append(list, Segment{Surface: Cylinder, From: at, To: at + 1000, Diameter: [2]float64{d + 1, d + 1}})
	return list
}

func drawDirection(rt *rapid.T) Vec {
	v, ok := Vec{rapid.Float64Range(-1, 1).Draw(rt, "x"), rapid.Float64Range(-1, 1).Draw(rt, "y"), rapid.Float64Range(-1, 1).Draw(rt, "z")}.unit()
	if !ok {
		return Vec{0, 0, 1}
	}
	return v
}

func TestWrittenProfileIsReadBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		want := drawSegments(rt)
		at := Vec{rapid.Float64Range(-900, 900).Draw(rt, "at"), 3, -7}
		axis := drawDirection(rt)
		var b bytes.Buffer
		if err := Write(&b, "Welle Ø 20 'x' \\ 轴", want, at, axis, func(int) string { return "" }); err != nil {
			rt.Fatal(err)
		}
		m, err := Read(&b)
		if err != nil {
			rt.Fatal(err)
		}
		if len(m.Bodies) != 1 || m.Bodies[0].Name != "Welle Ø 20 'x' \\ 轴" {
			rt.Fatalf("got %+v", m)
		}
		p, err := m.Bodies[0].Turned()
		if err != nil {
			rt.Fatal(err)
		}
		if p.Axis.Dot(axis) < 0 {
			p = p.Turn()
		}
		if len(p.Segments) != len(want) || len(p.Gaps)+len(p.Bores)+len(p.Features) > 0 || p.First == 0 || p.Last == 0 {
			rt.Fatalf("got %+v, want %+v", p, want)
		}
		for i, w := range want {
			s := p.Segments[i]
			off := max(math.Abs(s.From-w.From), math.Abs(s.To-w.To), math.Abs(s.Diameter[0]-w.Diameter[0]), math.Abs(s.Diameter[1]-w.Diameter[1]))
			if s.Surface != w.Surface || off > 1e-9 {
				rt.Fatalf("segment %d: got %+v, want %+v", i, s, w)
			}
		}
	})
}

func TestWhatCannotBeWritten(t *testing.T) {
	t.Parallel()
	cyl := func(from, to, a, b float64) Segment {
		return Segment{Surface: Cylinder, From: from, To: to, Diameter: [2]float64{a, b}}
	}
	for name, list := range map[string][]Segment{
		"nothing":    nil,
		"gap":        {cyl(0, 5, 3, 3), cyl(6, 8, 4, 4)},
		"no size":    {cyl(0, 0, 3, 3)},
		"no number":  {cyl(0, math.Inf(1), 3, 3)},
		"two widths": {cyl(0, 5, 3, 4)},
		"torus":      {{Surface: Torus, To: 5, Diameter: [2]float64{3, 4}}},
	} {
		var b bytes.Buffer
		if err := Write(&b, "", list, Vec{}, Vec{0, 0, 1}, nil); err == nil || b.Len() > 0 {
			t.Errorf("%s: got %v and %d bytes; want an error and nothing", name, err, b.Len())
		}
	}
}
