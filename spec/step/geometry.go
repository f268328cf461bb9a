package step

import "math"

// A Vec is a point or a direction.
type Vec [3]float64

func (a Vec) plus(b Vec) Vec      { return Vec{a[0] + b[0], a[1] + b[1], a[2] + b[2]} }
func (a Vec) minus(b Vec) Vec     { return Vec{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }
func (a Vec) times(x float64) Vec { return Vec{a[0] * x, a[1] * x, a[2] * x} }
func (a Vec) Dot(b Vec) float64   { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func (a Vec) length() float64     { return math.Sqrt(a.Dot(a)) }
func (a Vec) across(axis Vec) Vec { return a.minus(axis.times(a.Dot(axis))) }
func (a Vec) cross(b Vec) Vec {
	return Vec{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}
func (a Vec) finite() bool { return !math.IsNaN(a.Dot(a)) && !math.IsInf(a.Dot(a), 0) }
func (a Vec) unit() (u Vec, ok bool) {
	l := a.length()
	return a.times(1 / l), l > 1e-12 && l < 1e12
}

// A frame is a placement: an origin and three axes. As a motion it takes what is given
// in it to where it stands.
type frame struct {
	at      Vec
	x, y, z Vec // of one length: 1, or a scale
}

var identity = frame{x: Vec{1, 0, 0}, y: Vec{0, 1, 0}, z: Vec{0, 0, 1}}

func (f frame) turn(v Vec) Vec  { return f.x.times(v[0]).plus(f.y.times(v[1])).plus(f.z.times(v[2])) }
func (f frame) point(v Vec) Vec { return f.at.plus(f.turn(v)) }
func (f frame) scale() float64  { return f.z.length() }

// of is the motion g and then f.
func (f frame) of(g frame) frame {
	return frame{f.point(g.at), f.turn(g.x), f.turn(g.y), f.turn(g.z)}
}

// back is the motion the other way.
func (f frame) back() frame {
	s := 1 / f.z.Dot(f.z)
	b := frame{
		x: Vec{f.x[0], f.y[0], f.z[0]}.times(s),
		y: Vec{f.x[1], f.y[1], f.z[1]}.times(s),
		z: Vec{f.x[2], f.y[2], f.z[2]}.times(s),
	}
	b.at = b.turn(f.at).times(-1)
	return b
}

// frameOf makes a frame of an axis and a direction that need not be square to it; zero
// vectors stand for those that are not given.
func frameOf(at, axis, ref Vec) (frame, bool) {
	if axis == (Vec{}) {
		axis = identity.z
	}
	z, ok := axis.unit()
	x := ref.across(z)
	if ref == (Vec{}) || x.length() < 1e-9*ref.length() {
		if x = identity.x.across(z); x.length() < 0.5 {
			x = identity.y.across(z)
		}
	}
	x, square := x.unit()
	return frame{at, x, z.cross(x), z}, ok && square && at.finite()
}
