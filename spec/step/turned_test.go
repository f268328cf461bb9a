package step

import (
	"math"
	"strings"
	"testing"
)

func near(got, want float64) bool { return math.Abs(got-want) < 1e-9 }

// The numbers are those the model was drawn with; see testdata/README.md.
func TestKeyway(t *testing.T) {
	t.Parallel()
	p := profileOf(t, readFile(t, "testdata/keyway.step"))
	want := []Segment{{From: 0, To: 50, Diameter: [2]float64{12, 12}}, {From: 50, To: 80, Diameter: [2]float64{17, 17}}, {From: 80, To: 480, Diameter: [2]float64{25, 25}},
		{From: 480, To: 500, Diameter: [2]float64{15, 15}}, {From: 500, To: 501.1, Diameter: [2]float64{14.3, 14.3}}, {From: 501.1, To: 508, Diameter: [2]float64{15, 15}}}
	axis, _ := Vec{1, 2, 0.5}.unit()
	// Rodrigues' formula for z turned by 0.7 about the axis.
	z := Vec{0, 0, 1}
	z = z.times(math.Cos(0.7)).plus(axis.cross(z).times(math.Sin(0.7))).plus(axis.times(axis.Dot(z) * (1 - math.Cos(0.7))))
	if p.At.minus(Vec{100, -30, 250}).length() > 1e-9 || p.Axis.minus(z).length() > 1e-9 || !near(p.Length, 508) {
		t.Errorf("at %v along %v, length %.12g", p.At, p.Axis, p.Length)
	}
	if len(p.Segments) != len(want) || len(p.Gaps) > 0 {
		t.Fatalf("got %+v", p)
	}
	for i, w := range want {
		s := p.Segments[i]
		if s.Surface != Cylinder || !near(s.From, w.From) || !near(s.To, w.To) || !near(s.Diameter[0], w.Diameter[0]) {
			t.Errorf("segment %d: got %+v, want %+v", i, s, w)
		}
	}
	if len(p.Bores) != 1 || !near(p.Bores[0].From, 500) || !near(p.Bores[0].To, 508) || !near(p.Bores[0].Diameter[0], 3) {
		t.Errorf("bores %+v", p.Bores)
	}
	if len(p.Features) != 1 || p.Features[0].Kind != "keyway" || !near(p.Features[0].From, 10) || !near(p.Features[0].To, 30) {
		t.Errorf("features %+v", p.Features)
	}
}

func TestShaftWithNut(t *testing.T) {
	t.Parallel()
	m, err := Read(strings.NewReader(string(readFile(t, "testdata/unit.step"))))
	if err != nil || len(m.Bodies) != 2 {
		t.Fatal(err, m)
	}
	for i, want := range []struct {
		at   Vec
		long float64
		bore int
	}{{Vec{0, 0, 0}, 370, 0}, {Vec{150, 0, 0}, 42, 1}} {
		p, err := m.Bodies[i].Turned()
		if err != nil || p.At.minus(want.at).length() > 1e-9 || !near(p.Length, want.long) || len(p.Bores) != want.bore || len(p.Features) > 0 {
			t.Errorf("%s: %v, %+v", m.Bodies[i].Name, err, p)
		}
	}
}

// A surface that is not known leaves a gap, and is named.
func TestUnknownSurface(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ from, to string }{
		"plain":    {"CYLINDRICAL_SURFACE('',#", "B_SPLINE_SURFACE_WITH_KNOTS('',#"},
		"rational": {"=CYLINDRICAL_SURFACE('',#", "=(BOUNDED_SURFACE() B_SPLINE_SURFACE(2,1) RATIONAL_B_SPLINE_SURFACE((1.)) SURFACE());\n#9000=NOTHING('',#"},
	} {
		text := write(t, shaft)
		at := strings.LastIndex(text, c.from)
		text = text[:at] + strings.Replace(text[at:], c.from, c.to, 1)
		p := profileOf(t, []byte(text))
		if p.Length != 300 || len(p.Segments) != 2 || len(p.Gaps) != 1 || p.Gaps[0] != [2]float64{270, 300} {
			t.Errorf("%s: got %+v", name, p)
		}
		if len(p.Features) != 1 || p.Features[0].Kind != "unknown surface" || !strings.HasPrefix(p.Features[0].Word, "B_SPLINE_SURFACE") {
			t.Errorf("%s: features %+v", name, p.Features)
		}
	}
}

func TestNotTurned(t *testing.T) {
	t.Parallel()
	text := write(t, shaft)
	for name, c := range map[string]struct{ text, want string }{
		"only free forms": {edit(t, text, "CYLINDRICAL_SURFACE", "B_SPLINE_SURFACE"), "it has no outside cylinder; 3 of its 7 faces are free-form surfaces, which are not read"},
		"a bore alone":    {inside(t, text), "it has no outside cylinder"},
		"a plate":         {plate(t, text), "it reaches 70 mm from its axis, what is turned on it only 10 mm"},
	} {
		m, err := Read(strings.NewReader(c.text))
		if err != nil {
			t.Fatal(name, err)
		}
		if _, err := m.Bodies[0].Turned(); err == nil || err.Error() != c.want {
			t.Errorf("%s: got %v; want %s", name, err, c.want)
		}
	}
}

// plate lays a shoulder along the axis and moves a corner of it outward.
func plate(t *testing.T, text string) string {
	text = edit(t, text, "CARTESIAN_POINT('',(10.,0.,40.))", "CARTESIAN_POINT('',(70.,0.,40.))")
	at := strings.Index(text, "PLANE('',#")
	at += strings.Index(text[at+1:], "PLANE('',#") + 1
	number := between(t, text[at:], "#", ");", "\n")
	return edit(t, text, "#"+number+"=AXIS2_PLACEMENT_3D('',", "#"+number+"=AXIS2_PLACEMENT_3D('',#9001,#9002,$);\n#9001=CARTESIAN_POINT('',(0.,0.,40.));\n#9002=DIRECTION('',(0.,1.,0.));\n#9003=NOTHING(")
}

// inside turns every cylinder face to be a hole.
func inside(t *testing.T, text string) string {
	var out []string
	surfaces := map[string]bool{}
	for _, l := range strings.Split(text, "\n") {
		if number, _, ok := strings.Cut(l, "=CYLINDRICAL_SURFACE"); ok {
			surfaces[number] = true
		}
		if i := strings.LastIndex(l, "),"); i > 0 && strings.Contains(l, "ADVANCED_FACE") {
			if number, _, _ := strings.Cut(l[i+2:], ","); surfaces[number] {
				l = strings.Replace(l, ".T.", ".F.", 1)
			}
		}
		out = append(out, l)
	}
	if len(surfaces) == 0 {
		t.Fatal("no cylinder")
	}
	return strings.Join(out, "\n")
}

// Pieces of a helix: lands of one diameter that overlap, with the core between them.
func TestLandsOfThread(t *testing.T) {
	t.Parallel()
	var list []Segment
	for i := range 40 {
		from := 40 + 5*float64(i)
		list = append(list, Segment{Surface: Cylinder, From: from, To: from + 8, Diameter: [2]float64{20, 20}, ID: uint64(i)})
	}
	list = append(list, Segment{Surface: Cylinder, From: 30, To: 250, Diameter: [2]float64{17, 17}})
	got := uncovered(merge(list))
	if len(got) != 3 || got[0].From != 40 || got[0].To != 243 || got[1].Diameter[0] != 17 || got[1].To != 40 || got[2].From != 243 || got[2].To != 250 {
		t.Errorf("got %+v", got)
	}
}

// Two seats of one diameter that do not touch stay two.
func TestSeatsStayApart(t *testing.T) {
	t.Parallel()
	p := profileOf(t, []byte(write(t, []Segment{
		{Surface: Cylinder, From: 0, To: 40, Diameter: [2]float64{15, 15}},
		{Surface: Cylinder, From: 40, To: 44, Diameter: [2]float64{14, 14}},
		{Surface: Cylinder, From: 44, To: 80, Diameter: [2]float64{15, 15}},
	})))
	if len(p.Segments) != 3 {
		t.Errorf("got %+v", p.Segments)
	}
}

func face(s Surface, outside bool, radius, minor, angle float64, at Vec, points ...Vec) Face {
	return Face{Surface: s, Outside: outside, Radius: radius, Minor: minor, Angle: angle, At: at, Axis: Vec{0, 0, 1}, Points: points, Loops: 1}
}

// What lies beyond the vertices of a face counts: rounded ends and points.
func TestEndsBeyondVertices(t *testing.T) {
	t.Parallel()
	body := face(Cylinder, true, 10, 0, 0, Vec{}, Vec{10, 0, 0}, Vec{10, 0, 100})
	for name, c := range map[string]struct {
		end      Face
		from, to float64
	}{
		"a dome":           {face(Sphere, true, 10, 0, 0, Vec{0, 0, 100}, Vec{10, 0, 100}), 0, 110},
		"a dome below":     {face(Sphere, true, 10, 0, 0, Vec{0, 0, 0}, Vec{10, 0, 0}), -10, 100},
		"a flat dome":      {face(Sphere, true, 26, 0, 0, Vec{0, 0, 76}, Vec{10, 0, 100}), 0, 102},
		"a point":          {face(Cone, true, 20, 0, math.Pi/4, Vec{0, 0, 90}, Vec{10, 0, 100}), 0, 100},
		"a point up":       {Face{Surface: Cone, Outside: true, Radius: 10, Angle: math.Pi / 4, At: Vec{0, 0, 100}, Axis: Vec{0, 0, -1}, Points: []Vec{{10, 0, 100}}}, 0, 110},
		"a half round":     {face(Torus, true, 7, 3, 0, Vec{0, 0, 100}, Vec{10, 0, 100}, Vec{4, 0, 100}), 0, 103},
		"a quarter round":  {face(Torus, true, 7, 3, 0, Vec{0, 0, 100}, Vec{10, 0, 100}, Vec{7, 0, 103}), 0, 103},
		"a fillet":         {face(Torus, false, 13, 3, 0, Vec{0, 0, 103}, Vec{10, 0, 103}, Vec{13, 0, 100}), 0, 103},
		"a face without a": {face(Plane, true, 0, 0, 0, Vec{}, Vec{10, 0, 100}), 0, 100},
	} {
		b := Body{Faces: []Face{body, c.end}}
		p, err := b.Turned()
		if name == "a fillet" { // its end is the widest thing here, as a fillet's to a flange
			b.Faces = append(b.Faces, face(Cylinder, true, 13, 0, 0, Vec{}, Vec{13, 0, 100}, Vec{13, 0, 103}))
			p, err = b.Turned()
		}
		if err != nil || !near(p.Length, c.to-c.from) || !near(p.At[2], c.from) {
			t.Errorf("%s: %v, %+v; want %g to %g", name, err, p, c.from, c.to)
		}
	}
}

func TestTurnedTwiceIsTheSame(t *testing.T) {
	t.Parallel()
	p := profileOf(t, readFile(t, "testdata/keyway.step"))
	q := p.Turn().Turn()
	if len(q.Segments) != len(p.Segments) || math.Abs(q.Segments[1].From-p.Segments[1].From) > 1e-9 || q.At.minus(p.At).length() > 1e-9 || q.First != p.First {
		t.Errorf("got %+v, want %+v", q, p)
	}
	if f := p.Turn().Features[0]; !near(f.From, 478) || !near(f.To, 498) {
		t.Errorf("keyway from the other end: %+v", f)
	}
}

func TestFeatures(t *testing.T) {
	t.Parallel()
	body := face(Cylinder, true, 10, 0, 0, Vec{}, Vec{10, 0, 0}, Vec{10, 0, 100})
	side := func(s Surface, outside bool, axis Vec) Face {
		return Face{Surface: s, Outside: outside, Radius: 2, Axis: axis, At: Vec{3, 0, 50}, Points: []Vec{{3, 1, 48}, {3, 1, 52}}}
	}
	flat, hole := side(Plane, true, Vec{1, 0, 0}), side(Cylinder, false, Vec{1, 0, 0})
	for want, faces := range map[string][]Face{
		"flat":                 {flat},
		"cross hole":           {hole},
		"keyway":               {flat, hole},
		"bore beside the axis": {side(Cylinder, false, Vec{0, 0, 1})},
		"unknown surface":      {side(Other, false, Vec{})},
		"what is not turned":   {},
	} {
		b := Body{Faces: append([]Face{body}, faces...)}
		p, err := b.Turned()
		if err != nil || len(p.Features) != min(1, len(faces)) || len(faces) > 0 && p.Features[0].Kind != want {
			t.Errorf("%s: %v, %+v", want, err, p)
		}
	}
}
