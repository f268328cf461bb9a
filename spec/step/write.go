package step

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// Write writes a turned part as a solid by application protocol 214, in millimetres. Its
// segments must be cylinders and cones that follow each other without a gap from 0 on;
// where two meet in different diameters there is a shoulder. The part stands on at, along
// axis; names of faces are those that name gives for a segment's index.
//
// Circles are whole and without a seam, which is the least that kernels accept.
func Write(w io.Writer, part string, segments []Segment, at, axis Vec, name func(int) string) error {
	place, ok := frameOf(at, axis, Vec{})
	if !ok {
		return fmt.Errorf("an axis needs a direction")
	}
	if err := writable(segments); err != nil {
		return err
	}
	o := &writer{w: bufio.NewWriter(w), seen: map[string]int{}, place: place}
	o.head(part)
	o.solid(part, segments, name)
	o.line("ENDSEC;\nEND-ISO-10303-21;\n")
	return o.w.Flush()
}

func writable(segments []Segment) error {
	at := 0.0
	for i, s := range segments {
		switch {
		case s.Surface != Cylinder && s.Surface != Cone || s.Surface == Cylinder && s.Diameter[0] != s.Diameter[1] || s.Surface == Cone && s.Diameter[0] == s.Diameter[1]:
			return fmt.Errorf("segment %d is neither a cylinder nor a cone", i+1)
		case !(s.Diameter[0] > 0 && s.Diameter[1] > 0 && s.Long() > 0) || math.IsInf(s.Diameter[0]+s.Diameter[1]+s.To, 0):
			return fmt.Errorf("segment %d has no size", i+1)
		case math.Abs(s.From-at) > 1e-9:
			return fmt.Errorf("segment %d begins at %g mm; the one before ends at %g mm", i+1, s.From, at)
		}
		at = s.To
	}
	if len(segments) == 0 {
		return fmt.Errorf("a part needs a segment")
	}
	return nil
}

type writer struct {
	w     *bufio.Writer
	n     int
	seen  map[string]int // points, directions and placements written already
	place frame
}

func (o *writer) line(format string, args ...any) { fmt.Fprintf(o.w, format, args...) }

// put writes an instance and gives its reference.
func (o *writer) put(format string, args ...any) string {
	o.n++
	fmt.Fprintf(o.w, "#%d="+format+";\n", append([]any{o.n}, args...)...)
	return "#" + strconv.Itoa(o.n)
}

// once writes an instance that several may refer to.
func (o *writer) once(format string, args ...any) string {
	text := fmt.Sprintf(format, args...)
	n, ok := o.seen[text]
	if !ok {
		o.put("%s", text)
		n = o.n
		o.seen[text] = n
	}
	return "#" + strconv.Itoa(n)
}

// realText writes a number as the format wants it: with a point.
func realText(x float64) string {
	if x == 0 {
		return "0."
	}
	s := strings.ToUpper(strconv.FormatFloat(x, 'g', 15, 64))
	mantissa, power, found := strings.Cut(s, "E")
	if !strings.Contains(mantissa, ".") {
		mantissa += "."
	}
	if found {
		mantissa += "E" + power
	}
	return mantissa
}

func (v Vec) text() string {
	return "(" + realText(v[0]) + "," + realText(v[1]) + "," + realText(v[2]) + ")"
}

// quoted writes a text: letters beyond ASCII by the escapes of ISO 10303-21.
func quoted(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '\'':
			b.WriteString("''")
		case r == '\\':
			b.WriteString(`\\`)
		case r >= ' ' && r < 0x7f:
			b.WriteRune(r)
		case r > 0xffff:
			fmt.Fprintf(&b, `\X4\%08X\X0\`, r)
		case r > 0x7f:
			fmt.Fprintf(&b, `\X2\%04X\X0\`, r)
		}
	}
	return "'" + b.String() + "'"
}

func (o *writer) head(part string) {
	o.line("ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((%s),'2;1');\n", quoted(part))
	o.line("FILE_NAME(%s,'1970-01-01T00:00:00',(''),(''),'','','');\nFILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));\nENDSEC;\nDATA;\n", quoted(part))
}

func (o *writer) point(along, radius float64) string {
	return o.once("CARTESIAN_POINT('',%s)", o.place.point(Vec{radius, 0, along}).text())
}

// axis is a placement on the part's axis, its own axis along it or against it.
func (o *writer) axis(along, sign float64) string {
	return o.once("AXIS2_PLACEMENT_3D('',%s,%s,%s)", o.point(along, 0), o.once("DIRECTION('',%s)", o.place.z.times(sign).text()), o.once("DIRECTION('',%s)", o.place.x.text()))
}

// circle is an edge that is a whole circle.
func (o *writer) circle(along, diameter float64) string {
	vertex := o.once("VERTEX_POINT('',%s)", o.point(along, diameter/2))
	curve := o.once("CIRCLE('',%s,%s)", o.axis(along, 1), realText(diameter/2))
	return o.once("EDGE_CURVE('',%s,%s,%s,.T.)", vertex, vertex, curve)
}

// face writes a face with bounds of one circle each; sense says which way each is gone.
func (o *writer) face(name, surface string, circles []string, sense string) string {
	var bounds []string
	for i, c := range circles {
		loop := o.put("EDGE_LOOP('',(%s))", o.put("ORIENTED_EDGE('',*,*,%s,.%c.)", c, sense[i]))
		kind := "FACE_BOUND"
		if i == 0 {
			kind = "FACE_OUTER_BOUND"
		}
		bounds = append(bounds, o.put("%s('',%s,.T.)", kind, loop))
	}
	return o.put("ADVANCED_FACE(%s,(%s),%s,.T.)", quoted(name), strings.Join(bounds, ","), surface)
}

func (o *writer) plane(along, sign float64) string {
	return o.put("PLANE('',%s)", o.axis(along, sign))
}

func (o *writer) surface(s Segment) string {
	if s.Surface == Cylinder {
		return o.put("CYLINDRICAL_SURFACE('',%s,%s)", o.axis(s.From, 1), realText(s.Diameter[0]/2))
	}
	// The axis of a cone leads from its smaller end to its larger one.
	at, small, sign := s.From, s.Diameter[0]/2, 1.0
	if s.Diameter[1] < s.Diameter[0] {
		at, small, sign = s.To, s.Diameter[1]/2, -1.0
	}
	angle := math.Atan(math.Abs(s.Diameter[1]-s.Diameter[0]) / 2 / s.Long())
	return o.put("CONICAL_SURFACE('',%s,%s,%s)", o.axis(at, sign), realText(small), realText(angle))
}

// shoulder is the face between two segments of different diameters.
func (o *writer) shoulder(at, before, after float64) string {
	in, out := o.circle(at, before), o.circle(at, after)
	if before < after {
		return o.face("", o.plane(at, -1), []string{out, in}, "FT")
	}
	return o.face("", o.plane(at, 1), []string{in, out}, "TF")
}

func (o *writer) solid(part string, segments []Segment, name func(int) string) {
	shape, context := o.product(part)
	last := segments[len(segments)-1]
	faces := []string{o.face("", o.plane(0, -1), []string{o.circle(0, segments[0].Diameter[0])}, "F")}
	for i, s := range segments {
		if i > 0 && segments[i-1].Diameter[1] != s.Diameter[0] {
			faces = append(faces, o.shoulder(s.From, segments[i-1].Diameter[1], s.Diameter[0]))
		}
		faces = append(faces, o.face(name(i), o.surface(s), []string{o.circle(s.From, s.Diameter[0]), o.circle(s.To, s.Diameter[1])}, "TF"))
	}
	faces = append(faces, o.face("", o.plane(last.To, 1), []string{o.circle(last.To, last.Diameter[1])}, "T"))
	solid := o.put("MANIFOLD_SOLID_BREP(%s,%s)", quoted(part), o.put("CLOSED_SHELL('',(%s))", strings.Join(faces, ",")))
	rep := o.put("ADVANCED_BREP_SHAPE_REPRESENTATION(%s,(%s,%s),%s)", quoted(part), o.axis(0, 1), solid, context)
	o.put("SHAPE_DEFINITION_REPRESENTATION(%s,%s)", shape, rep)
}

// product writes what the shape belongs to, and the units.
func (o *writer) product(part string) (shape, context string) {
	app := o.put("APPLICATION_CONTEXT('core data for automotive mechanical design processes')")
	o.put("APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,%s)", app)
	product := o.put("PRODUCT(%s,%s,'',(%s))", quoted(part), quoted(part), o.put("PRODUCT_CONTEXT('',%s,'mechanical')", app))
	o.put("PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,(%s))", product)
	formation := o.put("PRODUCT_DEFINITION_FORMATION('','',%s)", product)
	definition := o.put("PRODUCT_DEFINITION('design','',%s,%s)", formation, o.put("PRODUCT_DEFINITION_CONTEXT('part definition',%s,'design')", app))
	shape = o.put("PRODUCT_DEFINITION_SHAPE('','',%s)", definition)
	length := o.put("(LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.))")
	angle := o.put("(NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.))")
	solid := o.put("(NAMED_UNIT(*) SI_UNIT($,.STERADIAN.) SOLID_ANGLE_UNIT())")
	exact := o.put("UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-05),%s,'distance_accuracy_value','')", length)
	context = o.put("(GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((%s)) GLOBAL_UNIT_ASSIGNED_CONTEXT((%s,%s,%s)) REPRESENTATION_CONTEXT('',''))", exact, length, angle, solid)
	return shape, context
}
