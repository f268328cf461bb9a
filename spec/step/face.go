package step

import (
	"math"
	"slices"
)

// A Surface is the sort of surface that a face lies on.
type Surface uint8

// The surfaces. One that is not known is Other.
const (
	Other Surface = iota
	Plane
	Cylinder
	Cone
	Torus
	Sphere
)

// A Face is one face of a body, in millimetres and radians, where it stands in the whole.
type Face struct {
	ID      uint64
	Line    int
	Surface Surface
	Word    string  // the surface's name in the file
	Outside bool    // of what is round: material lies within, as on a shaft; not in a bore
	At      Vec     // the surface's origin
	Axis    Vec     // its axis, or normal; of length 1
	Radius  float64 // of a cone that at its origin, of a torus that of its middle
	Minor   float64 // of a torus: of its tube
	Angle   float64 // of a cone: half the angle at its tip
	Points  []Vec   // its vertices
	Loops   int
}

// vector gives three numbers in millimetres, or without a unit.
func (n node) vector(scale float64) (v Vec) {
	list := n.arg(1).list
	if n.in != nil && len(list) != 3 {
		n.fail("has %d coordinates; 3 are expected", len(list))
		return v
	}
	for i := range list {
		if list[i].sort != number {
			n.fail("has a coordinate that is no number")
			return v
		}
		v[i] = list[i].num * scale
	}
	if !v.finite() {
		n.fail("is beyond all bounds")
		return Vec{}
	}
	return v
}

// frame reads a placement in space.
func (n node) frame(u Units) frame {
	if n.in == nil {
		return identity
	}
	if c, ok := n.part("CARTESIAN_TRANSFORMATION_OPERATOR_3D"); ok {
		return c.operator(u)
	}
	if !n.is("AXIS2_PLACEMENT_3D", "AXIS1_PLACEMENT") {
		n.fail("is no placement in space")
		return identity
	}
	var axis, ref Vec
	if z := n.may(2); z.in != nil {
		axis = z.vector(1)
	}
	if n.is("AXIS2_PLACEMENT_3D") {
		if x := n.may(3); x.in != nil {
			ref = x.vector(1)
		}
	}
	f, ok := frameOf(n.follow(1).vector(u.Length), axis, ref)
	if !ok {
		n.fail("has axes without direction")
		return identity
	}
	return f
}

// operator reads a placement that may scale and mirror. As a part of a complex instance
// its parameters may be spread over several names; then it is not read.
func (n node) operator(u Units) frame {
	if len(n.args) < 6 {
		n.fail("is written in a way that is not known")
		return identity
	}
	var axis [3]Vec
	for i, k := range []int{1, 2, 5} {
		if d := n.may(k); d.in != nil {
			axis[i] = d.vector(1)
		}
	}
	if axis[0] == (Vec{}) && axis[1] != (Vec{}) {
		axis[0] = axis[1].cross(axis[2])
	}
	f, ok := frameOf(n.follow(3).vector(u.Length), axis[2], axis[0])
	if !ok {
		n.fail("has axes without direction")
		return identity
	}
	if axis[1].Dot(f.y) < 0 {
		f.y = f.y.times(-1)
	}
	if v := n.arg(4); v.sort == number {
		if !(v.num > 1e-6 && v.num < 1e6) {
			n.fail("scales by %g", v.num)
			return identity
		}
		f.x, f.y, f.z = f.x.times(v.num), f.y.times(v.num), f.z.times(v.num)
	}
	return f
}

// face reads one face.
func (n node) face(at frame, u Units) (f Face) {
	if n.in == nil {
		return f
	}
	if !n.is("ADVANCED_FACE", "FACE_SURFACE") {
		n.fail("is no face that can be read")
		return f
	}
	f = Face{ID: n.in.id, Line: int(n.in.line), Outside: n.flag(3), Points: n.f.points[:0]}
	n.follow(2).surface(&f, u)
	for b := range n.each(1) {
		if !b.is("FACE_BOUND", "FACE_OUTER_BOUND") {
			n.fail("has a bound that is none")
			return f
		}
		f.Loops++
		b.follow(1).loop(&f, u)
	}
	n.f.points, f.Points = f.Points, slices.Clone(f.Points)
	f.move(at)
	return f
}

// move puts the face where its body stands.
func (f *Face) move(at frame) {
	s := at.scale()
	f.At, f.Axis = at.point(f.At), at.turn(f.Axis).times(1/s)
	f.Radius, f.Minor = f.Radius*s, f.Minor*s
	for i := range f.Points {
		f.Points[i] = at.point(f.Points[i])
	}
}

// loop adds the vertices of a loop.
func (n node) loop(f *Face, u Units) {
	switch {
	case n.is("VERTEX_LOOP"):
		f.Points = append(f.Points, n.follow(1).vertex(u))
	case n.is("EDGE_LOOP"):
		for oriented := range n.each(1) {
			edge := oriented
			if oriented.is("ORIENTED_EDGE") {
				edge = oriented.follow(3)
			}
			if edge.in != nil && !edge.is("EDGE_CURVE") {
				edge.fail("is no edge that can be read")
				continue
			}
			f.Points = append(f.Points, edge.follow(1).vertex(u), edge.follow(2).vertex(u))
		}
	case n.in != nil:
		n.fail("is no loop that can be read")
	}
}

func (n node) vertex(u Units) Vec {
	if n.in != nil && !n.is("VERTEX_POINT") {
		n.fail("is no vertex")
		return Vec{}
	}
	return n.follow(1).vector(u.Length)
}

// surface reads the surface of a face; one that is not known is left as Other.
func (n node) surface(f *Face, u Units) {
	if n.in == nil {
		return
	}
	f.Word = n.word()
	switch f.Word {
	case "PLANE":
		f.Surface = Plane
	case "CYLINDRICAL_SURFACE":
		f.Surface, f.Radius = Cylinder, n.num(2)*u.Length
	case "CONICAL_SURFACE":
		f.Surface, f.Radius, f.Angle = Cone, n.num(2)*u.Length, n.num(3)*u.Angle
	case "TOROIDAL_SURFACE":
		f.Surface, f.Radius, f.Minor = Torus, n.num(2)*u.Length, n.num(3)*u.Length
	case "SPHERICAL_SURFACE":
		f.Surface, f.Radius = Sphere, n.num(2)*u.Length
	case "SURFACE_OF_REVOLUTION":
		n.revolved(f, u)
		return
	case "SURFACE_OF_LINEAR_EXTRUSION":
		n.extruded(f, u)
		return
	case "B_SPLINE_SURFACE_WITH_KNOTS", splineWord:
		n.splined(f, u)
		return
	default:
		return
	}
	place := n.follow(1).frame(u)
	f.At, f.Axis = place.at, place.z
	if f.Radius < 0 || f.Surface == Cylinder && f.Radius == 0 || f.Minor < 0 || math.Abs(f.Angle) >= math.Pi/2 {
		n.fail("has a radius or an angle that cannot be")
	}
}

// revolved reads a surface that a line or circle makes by turning round an axis: where it
// is one of the others, as that.
func (n node) revolved(f *Face, u Units) {
	place := n.follow(2).frame(u)
	f.At, f.Axis = place.at, place.z
	curve := n.follow(1)
	switch {
	case curve.is("CIRCLE"):
		ring := curve.follow(1).frame(u)
		out := ring.at.minus(place.at)
		along := out.Dot(place.z)
		f.At, f.Radius, f.Minor = place.at.plus(place.z.times(along)), out.across(place.z).length(), curve.num(2)*u.Length
		// The circle must lie in a plane through the axis.
		if math.Abs(ring.z.Dot(place.z)) < 1e-9 && math.Abs(ring.z.Dot(out)) < 1e-6*(1+f.Radius) {
			f.Surface = Torus
		}
	case curve.is("LINE"):
		n.turnedLine(f, curve, u)
	}
}

// turnedLine is a cylinder, a cone or a plane.
func (n node) turnedLine(f *Face, line node, u Units) {
	p := line.follow(1).vector(u.Length)
	d, ok := line.follow(2).follow(1).vector(1).unit()
	if !ok {
		line.fail("has no direction")
		return
	}
	out := p.minus(f.At).across(f.Axis)
	along := d.Dot(f.Axis)
	if math.Abs(d.Dot(f.Axis.cross(out))) > 1e-9*(1+out.length()) {
		return // it passes the axis: a hyperboloid
	}
	if along < 0 {
		f.Outside = !f.Outside
	}
	f.Radius = out.length()
	f.At = p.minus(out)
	switch {
	case math.Abs(along) > 1-1e-12:
		f.Surface = Cylinder
	case math.Abs(along) < 1e-9:
		f.Surface = Plane
	default:
		f.Surface, f.Angle = Cone, math.Acos(math.Abs(along))
	}
}

// extruded reads a cylinder that a circle makes by moving along its axis.
func (n node) extruded(f *Face, u Units) {
	curve := n.follow(1)
	if !curve.is("CIRCLE") {
		return
	}
	ring := curve.follow(1).frame(u)
	d, ok := n.follow(2).follow(1).vector(1).unit()
	along := d.Dot(ring.z)
	if !ok || math.Abs(along) < 1-1e-12 {
		return
	}
	f.Surface, f.At, f.Axis, f.Radius = Cylinder, ring.at, ring.z, curve.num(2)*u.Length
	f.Outside = f.Outside == (along > 0)
}
