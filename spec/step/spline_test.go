package step

import (
	"bytes"
	"math"
	"strings"
	"testing"
)

// quarter turns a section about the z axis by a right angle: points of it are (radius, z,
// weight). The circle of a quarter has the weights 1, √½, 1, as every book on them says.
func quarter(section [][3]float64, swap bool) *spline {
	s := &spline{degree: [2]int{2, len(section) - 1}, size: [2]int{3, len(section)}}
	w := math.Sqrt(0.5)
	for _, c := range [][3]float64{{1, 0, 1}, {1, 1, w}, {0, 1, 1}} {
		for _, p := range section {
			k := c[2] * p[2]
			s.net = append(s.net, [4]float64{c[0] * p[0] * k, c[1] * p[0] * k, p[1] * k, k})
		}
	}
	for way, d := range s.degree {
		s.knots[way] = append(make([]float64, d+1), make([]float64, d+1)...)
		for i := range d + 1 {
			s.knots[way][d+1+i] = 1
		}
	}
	if !swap {
		return s
	}
	o := &spline{degree: [2]int{s.degree[1], s.degree[0]}, size: [2]int{s.size[1], s.size[0]}, knots: [2][]float64{s.knots[1], s.knots[0]}}
	for j := range s.size[1] {
		for i := range s.size[0] {
			o.net = append(o.net, s.net[i*s.size[1]+j])
		}
	}
	return o
}

func TestSplinesThatAreTurned(t *testing.T) {
	t.Parallel()
	w := math.Sqrt(0.5)
	for name, c := range map[string]struct {
		section [][3]float64
		want    fitted
	}{
		"cylinder":        {[][3]float64{{5, 2, 1}, {5, 9, 1}}, fitted{Surface: Cylinder, radius: 5, outward: true}},
		"downward":        {[][3]float64{{5, 9, 1}, {5, 2, 1}}, fitted{Surface: Cylinder, radius: 5}},
		"cone":            {[][3]float64{{5, 2, 1}, {8, 5, 1}}, fitted{Surface: Cone, radius: 5, angle: math.Pi / 4, outward: true}},
		"disc":            {[][3]float64{{5, 2, 1}, {8, 2, 1}}, fitted{Surface: Plane}},
		"fillet":          {[][3]float64{{5, 2, 1}, {5, 1, w}, {6, 1, 1}}, fitted{Surface: Torus, radius: 6, minor: 1, outward: true}},
		"rounding":        {[][3]float64{{5, 2, 1}, {6, 2, w}, {6, 3, 1}}, fitted{Surface: Torus, radius: 5, minor: 1, outward: true}},
		"sphere":          {[][3]float64{{0, -7, 1}, {7, -7, w}, {7, 0, 1}}, fitted{Surface: Sphere, radius: 7, outward: true}},
		"raised degree":   {[][3]float64{{5, 2, 1}, {5, 3, 1}, {5, 9, 1}}, fitted{Surface: Cylinder, radius: 5, outward: true}},
		"wrong weight":    {[][3]float64{{5, 2, 1}, {6, 2, 0.7}, {6, 3, 1}}, fitted{}},
		"bulge of 10 µm":  {[][3]float64{{5, 2, 1}, {5.02, 5, 1}, {5, 9, 1}}, fitted{}},
		"parabola":        {[][3]float64{{5, 2, 1}, {5, 3, 1}, {6, 4, 1}}, fitted{}},
		"through its tip": {[][3]float64{{-5, 2, 1}, {5, 3, 1}}, fitted{}},
	} {
		for _, swap := range []bool{false, true} {
			s := quarter(c.section, swap)
			got := s.fit()
			if swap && c.want.Surface != Plane && c.want.Surface != Other {
				c.want.outward = !c.want.outward
			}
			if got.Surface != c.want.Surface || math.Abs(got.radius-c.want.radius)+math.Abs(got.minor-c.want.minor)+math.Abs(got.angle-c.want.angle) > 1e-9 || got.outward != c.want.outward {
				t.Errorf("%s, swapped %v: got %+v; want %+v", name, swap, got, c.want)
			}
		}
	}
}

// A cylinder that is off by a weight is no cylinder: there is a gap, and it is named.
func TestSplineThatIsAlmostACylinder(t *testing.T) {
	t.Parallel()
	text := string(readFile(t, "testdata/lathe.step"))
	const round = "RATIONAL_B_SPLINE_SURFACE(((1.0000000000,0.7071067812,"
	off := strings.Replace(text, round, strings.Replace(round, "0.7071", "0.7081", 1), 1)
	if p := profileOf(t, []byte(text)); len(p.Features) > 0 {
		t.Fatalf("got %+v", p)
	}
	if p := profileOf(t, []byte(off)); len(p.Features) != 1 || p.Features[0].Kind != "unknown surface" {
		t.Errorf("got %+v", p)
	}
}

// What makes no sense as a surface, or is beyond the bounds, is left as not known.
func TestSplinesWithoutSense(t *testing.T) {
	t.Parallel()
	text := string(readFile(t, "testdata/lathe.step"))
	for _, c := range [][2]string{
		{"((2,2),(2,2),(0.000,1.000),(0.000,1.000)", "((2,2),(2,3),(0.000,1.000),(0.000,1.000)"},
		{"((2,2),(2,2),(0.000,1.000),(0.000,1.000)", "((2,2),(2,2),(0.000,1.000),(1.000,1.000)"},
		{"((2,2),(2,2),(0.000,1.000),(0.000,1.000)", "((2,-2),(2,2),(0.000,1.000),(0.000,1.000)"},
		{"B_SPLINE_SURFACE(1,1,((", "B_SPLINE_SURFACE(1,900,(("},
		{"B_SPLINE_SURFACE(1,1,((", "B_SPLINE_SURFACE(0,1,(("},
		{"RATIONAL_B_SPLINE_SURFACE(((1.0000000000", "RATIONAL_B_SPLINE_SURFACE(((0.0"},
		{"RATIONAL_B_SPLINE_SURFACE(((1.0000000000", "RATIONAL_B_SPLINE_SURFACE(((1.E300"},
		{"RATIONAL_B_SPLINE_SURFACE(((1.0000000000,", "RATIONAL_B_SPLINE_SURFACE((("},
	} {
		if !strings.Contains(text, c[0]) {
			t.Fatal(c[0])
		}
		m, err := Read(bytes.NewReader([]byte(strings.Replace(text, c[0], c[1], 1))))
		if err != nil {
			t.Fatal(err)
		}
		unknown := 0
		for i := range m.Bodies[0].Faces {
			if m.Bodies[0].Faces[i].Surface == Other {
				unknown++
			}
		}
		if unknown != 1 {
			t.Errorf("%s: %d faces are not known; want 1", c[1], unknown)
		}
	}
}
