package step

import (
	"cmp"
	"math"
	"slices"
)

// Bounds of the B-spline surfaces that are looked at. What people turn has few points; of
// a surface beyond them nothing is kept.
const (
	maxSplineText   = 16 << 10 // bytes
	maxSplineDegree = 5
	maxSplinePoints = 200
	splineExact     = 1e-5 // mm, over metres: what a surface may miss of being a cylinder; writers round to 1e-9
)

// A spline is a rational B-spline surface.
type spline struct {
	degree [2]int
	size   [2]int
	knots  [2][]float64 // each as often as it counts
	net    [][4]float64 // weighted coordinates and weights, the second direction fastest
}

// A fitted surface is what a spline is, if it is one of the others.
type fitted struct {
	Surface
	at, axis      Vec
	radius, minor float64
	angle         float64
	outward       bool // its normal points away from the axis, or from the middle of the tube
}

type fitKey struct {
	id    uint64
	scale float64
}

// splined takes a B-spline surface for a plane, cylinder, cone, torus or sphere where it is
// one exactly; any other is left as Other.
func (n node) splined(f *Face, u Units) {
	key := fitKey{n.in.id, u.Length}
	fit, known := n.f.fits[key]
	if !known {
		if s := n.spline(u); s != nil {
			fit = s.fit()
		}
		n.f.fits[key] = fit
	}
	if fit.Surface == Other {
		return
	}
	f.Surface, f.At, f.Axis, f.Radius, f.Minor, f.Angle = fit.Surface, fit.at, fit.axis, fit.radius, fit.minor, fit.angle
	f.Outside = f.Outside == fit.outward
}

// spline reads the parameters; nil where they are beyond the bounds or make no sense.
func (n node) spline(u Units) *spline {
	shape, knots := n.args, []value(nil)
	if n.is("B_SPLINE_SURFACE_WITH_KNOTS") && len(n.args) > 11 {
		shape, knots = n.args[1:], n.args[8:]
	} else if part, ok := n.part("B_SPLINE_SURFACE"); ok {
		with, _ := n.part("B_SPLINE_SURFACE_WITH_KNOTS")
		shape, knots = part.args, with.args
	}
	if len(shape) < 3 || len(knots) < 4 {
		return nil
	}
	s := &spline{degree: [2]int{small(shape[0]), small(shape[1])}}
	if min(s.degree[0], s.degree[1]) < 1 || max(s.degree[0], s.degree[1]) > maxSplineDegree || !s.points(n, shape[2].list, u) {
		return nil
	}
	weights, _ := n.part("RATIONAL_B_SPLINE_SURFACE")
	if !s.weigh(weights.args) || !s.knot(0, knots[0], knots[2]) || !s.knot(1, knots[1], knots[3]) {
		return nil
	}
	return s
}

// small is a number of a file as an integer, 0 where it is none of use.
func small(v value) int {
	if v.sort != number || v.num != math.Trunc(v.num) || math.Abs(v.num) > maxSplinePoints {
		return 0
	}
	return int(v.num)
}

func (s *spline) points(n node, rows []value, u Units) bool {
	if len(rows) == 0 || len(rows)*len(rows[0].list) > maxSplinePoints {
		return false
	}
	s.size = [2]int{len(rows), len(rows[0].list)}
	for _, row := range rows {
		if len(row.list) != s.size[1] {
			return false
		}
		for _, v := range row.list {
			p := n.to(v).vector(u.Length)
			s.net = append(s.net, [4]float64{p[0], p[1], p[2], 1})
		}
	}
	return s.size[0] > s.degree[0] && s.size[1] > s.degree[1]
}

// weigh takes in weights, if there are any.
func (s *spline) weigh(args []value) bool {
	if len(args) == 0 {
		return true
	}
	i := 0
	for _, row := range args[0].list {
		for _, v := range row.list {
			if i == len(s.net) || !(v.num > 1e-6 && v.num < 1e6) {
				return false
			}
			for k := range s.net[i] {
				s.net[i][k] *= v.num
			}
			i++
		}
	}
	return i == len(s.net)
}

func (s *spline) knot(way int, counts, values value) bool {
	want := s.size[way] + s.degree[way] + 1
	if len(counts.list) != len(values.list) {
		return false
	}
	var all []float64
	for i, v := range values.list {
		n := small(counts.list[i])
		if v.sort != number || n < 1 || len(all)+n > want || i > 0 && !(v.num > values.list[i-1].num) {
			return false
		}
		for range n {
			all = append(all, v.num)
		}
	}
	s.knots[way] = all
	return len(all) == want && all[s.degree[way]] < all[s.size[way]]
}

// samples are values of a parameter at which the surface is looked at: on each stretch
// between knots as many as make sure that what holds at all of them holds everywhere. What
// is asked of it are equations of polynomials of at most four times its degree.
func (s *spline) samples(way int) (out []float64) {
	k, p := s.knots[way], s.degree[way]
	each := 4*p + 1
	for i := p; i < s.size[way]; i++ {
		for j := 0; k[i] < k[i+1] && j < each; j++ {
			out = append(out, k[i]+(k[i+1]-k[i])*float64(j)/float64(each-1))
		}
	}
	return out
}

// at is a point of the surface, by the algorithm of de Boor in both directions.
func (s *spline) at(u, v float64) Vec {
	i, j := s.stretch(0, u), s.stretch(1, v)
	var column [maxSplineDegree + 1][4]float64
	for r := 0; r <= s.degree[0]; r++ {
		var row [maxSplineDegree + 1][4]float64
		copy(row[:], s.net[(i-s.degree[0]+r)*s.size[1]+j-s.degree[1]:][:s.degree[1]+1])
		column[r] = s.reduce(1, row[:s.degree[1]+1], j, v)
	}
	p := s.reduce(0, column[:s.degree[0]+1], i, u)
	return Vec{p[0] / p[3], p[1] / p[3], p[2] / p[3]}
}

// stretch is the index of the knot at which the stretch of a parameter begins.
func (s *spline) stretch(way int, x float64) int {
	i := s.size[way] - 1
	for ; i > s.degree[way] && !(s.knots[way][i] <= x && s.knots[way][i] < s.knots[way][i+1]); i-- {
	}
	return i
}

func (s *spline) reduce(way int, d [][4]float64, i int, x float64) [4]float64 {
	p, k := s.degree[way], s.knots[way]
	for r := 1; r <= p; r++ {
		for j := p; j >= r; j-- {
			from, to := k[i-p+j], k[i+1+j-r]
			a := (x - from) / (to - from)
			for c := range d[j] {
				d[j][c] = (1-a)*d[j-1][c] + a*d[j][c]
			}
		}
	}
	return d[p]
}

// fit says what the surface is.
func (s *spline) fit() fitted {
	if f, ok := s.flat(); ok {
		return f
	}
	for way := range 2 {
		if f, ok := s.turned(way); ok {
			return f
		}
	}
	return fitted{}
}

// flat reports a plane: all points of the net lie in it.
func (s *spline) flat() (f fitted, ok bool) {
	corner := func(i, j int) Vec { return s.at(s.end(0, i), s.end(1, j)) }
	at := corner(0, 0)
	a, b := corner(1, 1).minus(at), corner(1, 0).minus(corner(0, 1))
	axis, ok := b.cross(a).unit()
	if !ok {
		return f, false
	}
	for _, p := range s.net {
		if q := (Vec{p[0], p[1], p[2]}).times(1 / p[3]); math.Abs(q.minus(at).Dot(axis)) > splineExact {
			return f, false
		}
	}
	return fitted{Surface: Plane, at: at, axis: axis}, true
}

// end is where a parameter begins, or ends.
func (s *spline) end(way, i int) float64 {
	if i == 0 {
		return s.knots[way][s.degree[way]]
	}
	return s.knots[way][s.size[way]]
}

// A ring is a circle, or a point on the axis.
type ring struct {
	at, normal Vec
	radius     float64
	along      float64 // the axis
}

// turned reports what a curve makes that is turned about an axis, the circles being gone
// along in one of the directions.
func (s *spline) turned(way int) (f fitted, ok bool) {
	var rings []ring
	round, across := s.samples(way), s.samples(1-way)
	points := make([]Vec, len(round))
	for _, v := range across {
		for i, u := range round {
			points[i] = s.both(way, u, v)
		}
		r, ok := ringOf(points)
		if !ok {
			return f, false
		}
		rings = append(rings, r)
	}
	if f, ok = ringsFit(rings); ok {
		f.outward = s.outward(&f, way, round, across, rings)
	}
	return f, ok
}

func (s *spline) both(way int, x, y float64) Vec {
	if way == 0 {
		return s.at(x, y)
	}
	return s.at(y, x)
}

// ringOf is the circle that points lie on.
func ringOf(points []Vec) (r ring, ok bool) {
	a, b, c := points[0], points[len(points)/3], points[2*len(points)/3]
	u, v := b.minus(a), c.minus(a)
	n := u.cross(v)
	if d := n.Dot(n); d > 1e-18 {
		// The centre of the circle about a triangle.
		r.at = a.plus(n.cross(u).times(v.Dot(v)).plus(v.cross(n).times(u.Dot(u))).times(1 / (2 * d)))
		r.normal, r.radius = n.times(1/math.Sqrt(d)), a.minus(r.at).length()
	} else {
		r.at = a
	}
	for _, p := range points {
		w := p.minus(r.at)
		if !(math.Abs(w.length()-r.radius) < splineExact) || math.Abs(w.Dot(r.normal)) > splineExact {
			return r, false
		}
	}
	return r, true
}

// ringsFit says what circles make that follow each other.
func ringsFit(rings []ring) (f fitted, ok bool) {
	big := slices.MaxFunc(rings, func(a, b ring) int { return cmp.Compare(a.radius, b.radius) })
	if big.radius < splineExact {
		return f, false
	}
	f.at, f.axis = big.at, big.normal
	for i := range rings {
		r := &rings[i]
		r.along = r.at.minus(f.at).Dot(f.axis)
		if r.at.minus(f.at).across(f.axis).length() > splineExact || r.normal.cross(f.axis).length()*r.radius > splineExact {
			return f, false
		}
	}
	return f, f.cone(rings) || f.tube(rings)
}

// cone takes rings for a cone or a cylinder.
func (f *fitted) cone(rings []ring) bool {
	a, b := rings[0], rings[len(rings)-1]
	long := b.along - a.along
	if math.Abs(long) < splineExact {
		return false
	}
	slope := (b.radius - a.radius) / long
	for _, r := range rings {
		if math.Abs(a.radius+slope*(r.along-a.along)-r.radius) > splineExact {
			return false
		}
	}
	if math.Abs(b.radius-a.radius) < splineExact {
		f.Surface, f.radius = Cylinder, a.radius
		return true
	}
	least := a
	if b.radius < a.radius {
		least = b
	}
	f.Surface, f.at, f.radius, f.angle = Cone, least.at, least.radius, math.Atan(math.Abs(slope))
	if slope < 0 {
		f.axis = f.axis.times(-1)
	}
	return true
}

// tube takes rings for a torus or a sphere: their section is a circle.
func (f *fitted) tube(rings []ring) bool {
	var section []Vec
	for _, r := range rings {
		section = append(section, Vec{r.along, r.radius, 0})
	}
	c, ok := ringOf(section)
	if !ok || c.radius < splineExact || c.at[1] < -splineExact {
		return false
	}
	f.Surface, f.at, f.radius, f.minor = Torus, f.at.plus(f.axis.times(c.at[0])), c.at[1], c.radius
	if f.radius < splineExact {
		f.Surface, f.radius, f.minor = Sphere, c.radius, 0
	}
	return true
}

// outward reports which way the normal points, at the largest circle.
func (s *spline) outward(f *fitted, way int, round, across []float64, rings []ring) bool {
	j := 0
	for k := range rings[1:] {
		if rings[k].radius+rings[k+1].radius > rings[j].radius+rings[j+1].radius && across[k+1] > across[k] {
			j = k
		}
	}
	p := s.both(way, round[0], across[j])
	normal := s.both(way, round[1], across[j]).minus(p).cross(s.both(way, round[0], across[j+1]).minus(p))
	if way == 1 {
		normal = normal.times(-1)
	}
	middle := s.both(way, (round[0]+round[1])/2, (across[j]+across[j+1])/2).minus(f.at)
	away := middle
	if f.Surface != Sphere {
		away = middle.across(f.axis)
	}
	if f.Surface == Torus {
		out, _ := away.unit()
		away = middle.minus(out.times(f.radius))
	}
	return normal.Dot(away) > 0
}
