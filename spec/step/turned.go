package step

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// A Profile is the outside of a turned part along its axis, from one end to the other.
// Which of the ends is the first says nothing.
type Profile struct {
	At, Axis Vec     // the middle of the first end, and the direction to the other
	Length   float64 // over all
	Segments []Segment
	Bores    []Segment // from outside cylinders within: centre holes, bores
	Features []Feature
	Gaps     [][2]float64 // where no surface that is read bounds the part
	Voids    bool         // it has hollows within, which are not read
	First    uint64       // the faces that make the two ends; 0 where it is not one face
	Last     uint64
}

// A Segment is a stretch of the profile: a cylinder, a cone, a rounding.
type Segment struct {
	Surface  Surface
	From, To float64    // along the axis, from the first end
	Diameter [2]float64 // at both
	Neck     float64    // of a hollow rounding that is thinner within than at both: its least diameter
	ID       uint64     // the instance of one of its faces
	Line     int
}

// Long is the segment's length.
func (s Segment) Long() float64 { return s.To - s.From }

// Thinnest is the least diameter of the segment.
func (s Segment) Thinnest() float64 {
	if s.Neck > 0 {
		return s.Neck
	}
	return min(s.Diameter[0], s.Diameter[1])
}

// A Feature is something on the part that was not turned.
type Feature struct {
	Kind     string // keyway, flat, cross hole, bore beside the axis, unknown surface
	From, To float64
	ID       uint64
	Word     string // of an unknown surface: its name in the file
}

// Tolerances of one and the same, in millimetres. Real files are exact to 1e-9; those of
// some writers to the 1e-3 that their modeller works with.
const (
	sameLine  = 1e-3
	sameTurn  = 1e-6 // radians
	sameValue = 1e-4
	sameAxis  = 0.05 // of parts put together
	maxAxes   = 500
	maxPieces = 20_000
)

// Turned gives the profile of a body that was turned, as a shaft is. An error says why it
// is none.
func (b *Body) Turned() (*Profile, error) {
	l, err := b.axis()
	if err != nil {
		return nil, err
	}
	t := &turned{line: l}
	for i := range b.Faces {
		t.face(&b.Faces[i])
	}
	p, err := t.profile()
	if p != nil {
		p.Voids = b.Voids
	}
	return p, err
}

// A line is an axis that round faces share.
type line struct {
	at, axis Vec
	area     float64
	faces    []*Face
}

// axis finds the axis with the most outside area about it.
func (b *Body) axis() (line, error) {
	var all []*line
	for i := range b.Faces {
		f := &b.Faces[i]
		if f.Surface != Cylinder || !f.Outside {
			continue
		}
		from, to := f.reach(f.At, f.Axis)
		k := slices.IndexFunc(all, func(l *line) bool { return f.about(l.at, l.axis) })
		if k < 0 {
			if len(all) == maxAxes {
				return line{}, fmt.Errorf("it has more than %d axes", maxAxes)
			}
			k = len(all)
			all = append(all, &line{at: f.At.plus(f.Axis.times(from)), axis: f.Axis})
		}
		all[k].faces = append(all[k].faces, f)
		all[k].area += f.Radius * (to - from)
	}
	if len(all) == 0 {
		return line{}, fmt.Errorf("it has no outside cylinder%s", b.splines())
	}
	l := *slices.MaxFunc(all, func(a, b *line) int { return cmp.Compare(a.area, b.area) })
	l.longest()
	return l, nil
}

// splines says that a body holds free-form surfaces, where it does.
func (b *Body) splines() string {
	n := 0
	for i := range b.Faces {
		if b.Faces[i].Surface == Other {
			n++
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("; %d of its %d faces are free-form surfaces, which are not read", n, len(b.Faces))
}

// longest takes the axis from its longest face, which has it most exactly, and turns it to
// point up one of the axes of space.
func (l *line) longest() {
	f := slices.MaxFunc(l.faces, func(a, b *Face) int { return cmp.Compare(a.long(), b.long()) })
	l.at, l.axis = f.At, f.Axis
	most := 0
	for i := range l.axis {
		if math.Abs(l.axis[i]) > math.Abs(l.axis[most])+sameTurn {
			most = i
		}
	}
	if l.axis[most] < 0 {
		l.axis = l.axis.times(-1)
	}
}

// reach is how far the vertices reach along an axis, from a point on it.
func (f *Face) reach(at, axis Vec) (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for _, p := range f.Points {
		t := p.minus(at).Dot(axis)
		from, to = min(from, t), max(to, t)
	}
	return from, to
}

func (f *Face) long() float64 { from, to := f.reach(f.At, f.Axis); return to - from }

// about reports whether a round face turns about a line. It is asked at the face's own
// vertices, since its origin may be far away.
func (f *Face) about(at, axis Vec) bool {
	if f.Axis.cross(axis).length() > sameTurn*10 && f.Surface != Sphere {
		return false
	}
	if len(f.Points) == 0 {
		return f.At.minus(at).across(axis).length() < sameLine
	}
	for _, p := range f.Points {
		own := f.At.plus(f.Axis.times(p.minus(f.At).Dot(f.Axis)))
		if f.Surface == Sphere {
			own = f.At
		}
		if own.minus(at).across(axis).length() > sameLine {
			return false
		}
	}
	return true
}

// turned gathers the faces of a body by what they are about its axis.
type turned struct {
	line
	cylinders []Segment
	others    []Segment // cones and roundings
	bores     []Segment
	ends      []Segment // planes square to the axis
	across    []*Face   // what is not turned
	low, high float64   // how far the part reaches along the axis
	out       float64   // the greatest radius of a vertex of what is not turned
	turnedOut float64   // and of what is turned
	begun     bool
	unbounded bool // a face reaches farther than is known
	caps      []rimCap
}

func (t *turned) reachTo(from, to float64) {
	if !t.begun {
		t.low, t.high, t.begun = from, to, true
	}
	t.low, t.high = min(t.low, from), max(t.high, to)
}

func (t *turned) face(f *Face) {
	if len(f.Points) == 0 {
		t.across = append(t.across, f)
		t.unbounded = true
		return
	}
	s := Segment{Surface: f.Surface, ID: f.ID, Line: f.Line}
	s.From, s.To = f.reach(t.at, t.axis)
	t.reachTo(s.From, s.To)
	round := f.Surface != Other && f.Surface != Plane && f.about(t.at, t.axis)
	square := f.Surface == Plane && f.Axis.cross(t.axis).length() < sameTurn*10
	switch {
	case square:
		t.ends = append(t.ends, s)
	case !round:
		t.across = append(t.across, f)
		for _, p := range f.Points {
			if f.Surface != Other {
				t.out = max(t.out, p.minus(t.at).across(t.axis).length())
			}
		}
	case f.Surface == Cylinder:
		s.Diameter = [2]float64{2 * f.Radius, 2 * f.Radius}
		t.take(f, s, &t.cylinders)
	default:
		t.rounded(f, s)
	}
}

// take puts a segment among those of the outside, or of the bores.
func (t *turned) take(f *Face, s Segment, to *[]Segment) {
	if f.Surface != Torus && !f.Outside {
		t.bores = append(t.bores, s)
		return
	}
	t.turnedOut = max(t.turnedOut, s.Diameter[0]/2, s.Diameter[1]/2)
	*to = append(*to, s)
}

// rounded takes in a cone, a torus or a sphere, with what of it lies beyond its vertices.
func (t *turned) rounded(f *Face, s Segment) {
	rims := t.rims(f)
	first, last := rims[0], rims[len(rims)-1]
	s.Diameter = [2]float64{2 * first[1], 2 * last[1]}
	middle := f.At.minus(t.at).Dot(t.axis)
	switch {
	case f.Surface == Cone && len(rims) == 1: // one circle: it runs to its tip
		tip := f.Radius / math.Tan(f.Angle)
		if f.Axis.Dot(t.axis) > 0 {
			tip = -tip
		}
		s.tip(middle + tip)
		t.reachTo(s.From, s.To)
	case f.Surface == Sphere && len(rims) == 1:
		t.caps = append(t.caps, rimCap{s, middle - f.Radius, middle + f.Radius})
	case f.Surface == Torus:
		t.bulge(f, &s, middle, first, last)
		t.reachTo(s.From, s.To)
	}
	t.take(f, s, &t.others)
}

// rims are the circles that the vertices of a face lie on, each as its place along the
// axis and its radius, in this order.
func (t *turned) rims(f *Face) (list [][2]float64) {
	for _, p := range f.Points {
		w := p.minus(t.at)
		list = append(list, [2]float64{w.Dot(t.axis), w.across(t.axis).length()})
	}
	slices.SortFunc(list, func(a, b [2]float64) int {
		if math.Abs(a[0]-b[0]) < sameValue/10 {
			return cmp.Compare(a[1], b[1])
		}
		return cmp.Compare(a[0], b[0])
	})
	return slices.CompactFunc(list, func(a, b [2]float64) bool {
		return math.Abs(a[0]-b[0]) < sameValue/10 && math.Abs(a[1]-b[1]) < sameValue/10
	})
}

// A rimCap is what closes a part behind one circle, on either side of it: which side is
// seen when the rest is known.
type rimCap struct {
	Segment
	low, high float64
}

// close lets the caps at the ends of the part reach outward.
func (t *turned) close() {
	low, high := t.low, t.high
	for _, c := range t.caps {
		switch {
		case math.Abs(c.To-high) < sameValue:
			t.high = max(t.high, c.high)
		case math.Abs(c.From-low) < sameValue:
			t.low = min(t.low, c.low)
		}
	}
}

// tip lets a segment end in a point.
func (s *Segment) tip(at float64) {
	if at < s.From {
		s.From, s.Diameter = at, [2]float64{0, s.Diameter[0]}
	} else {
		s.To, s.Diameter = at, [2]float64{s.Diameter[0], 0}
	}
}

// bulge takes in how far an arc of a torus reaches between its rims. The arc is taken to
// be the shorter one; a half circle closes an end, or is a groove.
func (t *turned) bulge(f *Face, s *Segment, middle float64, first, last [2]float64) {
	a, b := math.Atan2(first[0]-middle, first[1]-f.Radius), math.Atan2(last[0]-middle, last[1]-f.Radius)
	from, to := min(a, b), max(a, b)
	if math.Abs(to-from-math.Pi) < 1e-6 {
		if f.Outside {
			t.caps = append(t.caps, rimCap{*s, middle - f.Minor, middle + f.Minor})
		} else if math.Abs(first[1]-last[1]) < sameValue {
			s.Neck = 2 * (f.Radius - f.Minor)
		}
		t.turnedOut = max(t.turnedOut, f.Radius+f.Minor)
		return
	}
	if to-from > math.Pi {
		from, to = to, from+2*math.Pi
	}
	for _, at := range []float64{-math.Pi / 2, math.Pi / 2, 3 * math.Pi / 2} {
		if at > from+1e-9 && at < to-1e-9 {
			end := middle + f.Minor*math.Sin(at)
			s.From, s.To = min(s.From, end), max(s.To, end)
		}
	}
	for _, at := range []float64{0, 2 * math.Pi} {
		if at > from && at < to {
			t.turnedOut = max(t.turnedOut, f.Radius+f.Minor)
		}
	}
	if !f.Outside && to > math.Pi+1e-9 {
		s.Neck = 2 * (f.Radius - f.Minor)
	}
}

// profile puts what was gathered in order.
func (t *turned) profile() (*Profile, error) {
	if len(t.cylinders)+len(t.others) > maxPieces {
		return nil, fmt.Errorf("it has more than %d turned faces", maxPieces)
	}
	if t.out > t.turnedOut+sameLine {
		return nil, fmt.Errorf("it reaches %.4g mm from its axis, what is turned on it only %.4g mm", t.out, t.turnedOut)
	}
	if t.unbounded {
		return nil, fmt.Errorf("a face of it has no vertices, so that its length is not known")
	}
	t.close()
	p := &Profile{At: t.at.plus(t.axis.times(t.low)), Axis: t.axis, Length: t.high - t.low}
	merged := merge(t.cylinders)
	p.Segments = append(uncovered(merged), merge(t.others)...)
	p.Bores = merge(t.bores)
	for _, list := range [][]Segment{p.Segments, p.Bores, t.ends} {
		for i := range list {
			list[i].From, list[i].To = list[i].From-t.low, list[i].To-t.low
		}
	}
	slices.SortFunc(p.Segments, bySpot)
	p.First, p.Last = p.endFace(t.ends, 0), p.endFace(t.ends, p.Length)
	p.gaps()
	p.features(t)
	return p, nil
}

func bySpot(a, b Segment) int {
	return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To), cmp.Compare(a.ID, b.ID))
}

// endFace is the face at an end: a plane, or else what begins or ends there.
func (p *Profile) endFace(planes []Segment, at float64) uint64 {
	for _, list := range [][]Segment{planes, p.Segments} {
		for _, s := range list {
			if math.Abs(s.From-at) < sameValue || math.Abs(s.To-at) < sameValue {
				return s.ID
			}
		}
	}
	return 0
}

// merge makes one of segments that have the same diameters and touch or overlap: halves of
// a face, turns of a thread.
func merge(list []Segment) (out []Segment) {
	snap(list)
	slices.SortFunc(list, func(a, b Segment) int {
		return cmp.Or(cmp.Compare(a.Surface, b.Surface), cmp.Compare(a.Diameter[0], b.Diameter[0]), cmp.Compare(a.Diameter[1], b.Diameter[1]), bySpot(a, b))
	})
	for _, s := range list {
		if n := len(out) - 1; n >= 0 && out[n].joins(s) {
			out[n].To = max(out[n].To, s.To)
			continue
		}
		out = append(out, s)
	}
	return out
}

// snap gives diameters that mean the same one value.
func snap(list []Segment) {
	var all []*float64
	for i := range list {
		all = append(all, &list[i].Diameter[0], &list[i].Diameter[1])
	}
	slices.SortFunc(all, func(a, b *float64) int { return cmp.Compare(*a, *b) })
	for i := 1; i < len(all); i++ {
		if *all[i]-*all[i-1] < sameValue {
			*all[i] = *all[i-1]
		}
	}
}

func (s Segment) joins(o Segment) bool {
	if s.Surface != o.Surface || s.Diameter != o.Diameter {
		return false
	}
	if s.Surface == Cylinder {
		return o.From <= s.To+sameValue
	}
	return math.Abs(s.From-o.From) < sameValue && math.Abs(s.To-o.To) < sameValue
}

// uncovered leaves of cylinders what no larger one hides: the core of a thread lies under
// its lands.
func uncovered(list []Segment) (out []Segment) {
	slices.SortFunc(list, func(a, b Segment) int {
		return cmp.Or(-cmp.Compare(a.Diameter[0], b.Diameter[0]), bySpot(a, b))
	})
	var hidden [][2]float64 // apart from each other, in order
	for _, s := range list {
		from := s.From
		for _, h := range hidden {
			if h[1] <= from || h[0] >= s.To {
				continue
			}
			if h[0] > from+sameValue {
				out = append(out, s.stretch(from, h[0]))
			}
			from = h[1]
		}
		if s.To > from+sameValue {
			out = append(out, s.stretch(from, s.To))
		}
		hidden = cover(hidden, s.From, s.To)
	}
	return out
}

func (s Segment) stretch(from, to float64) Segment {
	s.From, s.To = from, to
	return s
}

// cover adds a stretch to those that are covered.
func cover(list [][2]float64, from, to float64) [][2]float64 {
	i := 0
	for i < len(list) && list[i][1] < from {
		i++
	}
	k := i
	for k < len(list) && list[k][0] <= to {
		from, to = min(from, list[k][0]), max(to, list[k][1])
		k++
	}
	return slices.Replace(list, i, k, [2]float64{from, to})
}

// gaps finds where nothing that is read bounds the part.
func (p *Profile) gaps() {
	var covered [][2]float64
	for _, s := range p.Segments {
		covered = cover(covered, s.From, s.To)
	}
	at := 0.0
	for _, c := range append(covered, [2]float64{p.Length, p.Length}) {
		if c[0] > at+sameLine {
			p.Gaps = append(p.Gaps, [2]float64{at, c[0]})
		}
		at = max(at, c[1])
	}
}

// Turn gives the profile seen from its other end.
func (p *Profile) Turn() *Profile {
	o := &Profile{At: p.At.plus(p.Axis.times(p.Length)), Axis: p.Axis.times(-1), Length: p.Length, First: p.Last, Last: p.First, Voids: p.Voids}
	turn := func(list []Segment) (out []Segment) {
		for _, s := range slices.Backward(list) {
			s.From, s.To = p.Length-s.To, p.Length-s.From
			s.Diameter[0], s.Diameter[1] = s.Diameter[1], s.Diameter[0]
			out = append(out, s)
		}
		return out
	}
	o.Segments, o.Bores = turn(p.Segments), turn(p.Bores)
	for _, f := range slices.Backward(p.Features) {
		f.From, f.To = p.Length-f.To, p.Length-f.From
		o.Features = append(o.Features, f)
	}
	for _, g := range slices.Backward(p.Gaps) {
		o.Gaps = append(o.Gaps, [2]float64{p.Length - g[1], p.Length - g[0]})
	}
	return o
}

// Beside says where another part stands along the axis of p, if it turns about the same
// one: from and to are measured as on p.
func (p *Profile) Beside(o *Profile) (from, to float64, ok bool) {
	w := o.At.minus(p.At)
	from = w.Dot(p.Axis)
	to = from + o.Length*o.Axis.Dot(p.Axis)
	end := w.plus(o.Axis.times(o.Length))
	return min(from, to), max(from, to), w.across(p.Axis).length() < sameAxis && end.across(p.Axis).length() < sameAxis
}
