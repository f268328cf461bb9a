package step

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
)

// shaft is 300 mm long: journals of 15 and 12 mm about a thread of 20 mm.
var shaft = []Segment{
	{Surface: Cylinder, From: 0, To: 40, Diameter: [2]float64{15, 15}},
	{Surface: Cylinder, From: 40, To: 270, Diameter: [2]float64{20, 20}},
	{Surface: Cylinder, From: 270, To: 300, Diameter: [2]float64{12, 12}},
}

func write(t testing.TB, segments []Segment) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, "shaft", segments, Vec{}, Vec{0, 0, 1}, func(int) string { return "" }); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// edit replaces what must stand in a text.
func edit(t testing.TB, text string, pairs ...string) string {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(text, pairs[i]) {
			t.Fatalf("the text holds no %q", pairs[i])
		}
		text = strings.ReplaceAll(text, pairs[i], pairs[i+1])
	}
	return text
}

// ending adds instances to a text.
func ending(t testing.TB, text, instances string) string {
	return edit(t, text, "ENDSEC;\nEND-ISO", instances+"ENDSEC;\nEND-ISO")
}

const millimetres = "(LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.))"

// Every number of the file counts the unit; the shaft is that many times as long.
func TestUnits(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		unit   string
		factor float64
	}{
		"metre":                {"(LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT($,.METRE.))", 1000},
		"micrometre":           {"(SI_UNIT(.MICRO.,.METRE.) LENGTH_UNIT() NAMED_UNIT(*))", 0.001},
		"inch of a millimetre": {"(CONVERSION_BASED_UNIT('INCH',#902) LENGTH_UNIT() NAMED_UNIT(#903));\n#902=LENGTH_MEASURE_WITH_UNIT(25.4,#904);\n#903=DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.);\n#904=" + millimetres, 25.4},
		"inch of a metre":      {"(NAMED_UNIT(#903) LENGTH_UNIT() CONVERSION_BASED_UNIT('inch',#902));\n#902=LENGTH_MEASURE_WITH_UNIT ( LENGTH_MEASURE( 0.025399999999 ), #904 );\n#904=(LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT($,.METRE.))", 25.4},
		"a lying name":         {"(CONVERSION_BASED_UNIT('INCH',#902) LENGTH_UNIT() NAMED_UNIT(#903));\n#902=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(10.),#904);\n#904=" + millimetres, 10},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			text := edit(t, write(t, shaft), millimetres, c.unit)
			p := profileOf(t, []byte(text))
			if math.Abs(p.Length/(300*c.factor)-1) > 1e-12 || math.Abs(p.Segments[1].Diameter[0]/(20*c.factor)-1) > 1e-12 {
				t.Errorf("length %g, diameter %g; want %g times 300 and 20", p.Length, p.Segments[1].Diameter[0], c.factor)
			}
		})
	}
}

func TestAnglesInDegrees(t *testing.T) {
	t.Parallel()
	// A shaft with a point turned at 45°: where the cone ends follows from its angle.
	text := edit(t, write(t, []Segment{shaft[0], {Surface: Cone, From: 40, To: 45, Diameter: [2]float64{20, 10}}}),
		"0.785398163397448", "45.", "(NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.))",
		"(CONVERSION_BASED_UNIT('DEGREE',#902) NAMED_UNIT(#903) PLANE_ANGLE_UNIT());\n#902=PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(0.0174532925199433),#904);\n#904=(NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.))")
	m, err := Read(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range m.Bodies[0].Faces {
		if f.Surface == Cone && math.Abs(f.Angle-math.Pi/4) > 1e-12 {
			t.Errorf("angle %g", f.Angle)
		}
	}
}

// Two parts of one shaft, the second turned about and moved, as an assembly writes them.
func assembly(t testing.TB, order string, moved string) string {
	text := write(t, shaft)
	rep := between(t, text, "#", "=ADVANCED_BREP_SHAPE_REPRESENTATION", "\n")
	definition := between(t, text, "#", "=PRODUCT_DEFINITION('", "\n")
	context := between(t, text, "#", "=(GEOMETRIC_REPRESENTATION_CONTEXT", "\n")
	one, other := rep, "920"
	first, second := "931", "930"
	if order == "parent first" {
		one, other, first, second = other, one, second, first
	}
	return ending(t, text, fmt.Sprintf(`#910=PRODUCT('unit','unit','',());
#911=PRODUCT_DEFINITION_FORMATION('','',#910);
#912=PRODUCT_DEFINITION('design','',#911,$);
#913=PRODUCT_DEFINITION_SHAPE('','',#912);
#920=SHAPE_REPRESENTATION('unit',(#930),#%[3]s);
#921=SHAPE_DEFINITION_REPRESENTATION(#913,#920);
#930=AXIS2_PLACEMENT_3D('',#940,$,$);
#931=AXIS2_PLACEMENT_3D('',#941,#942,#943);
#932=AXIS2_PLACEMENT_3D('',#944,#945,#946);
#940=CARTESIAN_POINT('',(0.,0.,0.));
#941=CARTESIAN_POINT('',(100.,0.,50.));
#942=DIRECTION('',(1.,0.,0.));
#943=DIRECTION('',(0.,1.,0.));
#944=CARTESIAN_POINT('',(0.,-70.,0.));
#945=DIRECTION('',(0.,0.,-1.));
#946=DIRECTION('',(1.,0.,0.));
#950=NEXT_ASSEMBLY_USAGE_OCCURRENCE('1','left','',#912,#%[2]s,$);
#951=PRODUCT_DEFINITION_SHAPE('','',#950);
#952=ITEM_DEFINED_TRANSFORMATION('','',#%[6]s,#%[7]s);
#953=(REPRESENTATION_RELATIONSHIP('','',#%[4]s,#%[5]s) REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(#952) SHAPE_REPRESENTATION_RELATIONSHIP());
#954=CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(#953,#951);
%[8]s`, rep, definition, context, one, other, second, first, moved))
}

// between gives what stands in a line between two texts.
func between(t testing.TB, text, from, to, lines string) string {
	t.Helper()
	at := strings.Index(text, to)
	if at < 0 {
		t.Fatalf("no %q", to)
	}
	start := strings.LastIndex(text[:at], from)
	return strings.Split(text[start+len(from):at], lines)[0]
}

func TestAssembly(t *testing.T) {
	t.Parallel()
	for _, order := range []string{"child first", "parent first"} {
		m, err := Read(strings.NewReader(assembly(t, order, "")))
		if err != nil {
			t.Fatal(order, err)
		}
		p := onlyProfile(t, m)
		// The shaft's z axis lies along x, from (100, 0, 50) on.
		if p.Axis.minus(Vec{1, 0, 0}).length() > 1e-12 || p.At.minus(Vec{100, 0, 50}).length() > 1e-9 || math.Abs(p.Length-300) > 1e-9 {
			t.Errorf("%s: got %+v", order, p)
		}
	}
}

func onlyProfile(t testing.TB, m *Model) *Profile {
	t.Helper()
	if len(m.Bodies) != 1 {
		t.Fatalf("%d bodies; want 1", len(m.Bodies))
	}
	p, err := m.Bodies[0].Turned()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A part of inches in an assembly of millimetres: placements count the unit of their own
// representation.
func TestPartInOtherUnits(t *testing.T) {
	t.Parallel()
	text := edit(t, assembly(t, "child first", ""), "#920=SHAPE_REPRESENTATION('unit',(#930),#", "#960=(GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNIT_ASSIGNED_CONTEXT((#961)) REPRESENTATION_CONTEXT('',''));\n#961=(LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.CENTI.,.METRE.));\n#920=SHAPE_REPRESENTATION('unit',(#930),#960);\n#970=NOTHING(#")
	m, err := Read(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	p := onlyProfile(t, m)
	if p.At.minus(Vec{1000, 0, 500}).length() > 1e-9 || math.Abs(p.Length-300) > 1e-9 {
		t.Errorf("got %+v", p)
	}
}

func TestMappedItem(t *testing.T) {
	t.Parallel()
	text := write(t, shaft)
	rep := between(t, text, "#", "=ADVANCED_BREP_SHAPE_REPRESENTATION", "\n")
	context := between(t, text, "#", "=(GEOMETRIC_REPRESENTATION_CONTEXT", "\n")
	base := fmt.Sprintf(`#920=SHAPE_REPRESENTATION('unit',(#930,#931),#%[2]s);
#930=MAPPED_ITEM('',#932,#933);
#931=MAPPED_ITEM('',#932,#934);
#932=REPRESENTATION_MAP(#935,#%[1]s);
#933=AXIS2_PLACEMENT_3D('',#940,$,$);
#935=AXIS2_PLACEMENT_3D('',#941,$,$);
#940=CARTESIAN_POINT('',(0.,0.,0.));
#941=CARTESIAN_POINT('',(0.,0.,300.));
`, rep, context)
	for name, c := range map[string]struct {
		target string
		at     Vec
		long   float64
	}{
		"placed":   {"#934=AXIS2_PLACEMENT_3D('',#941,#942,$);\n#942=DIRECTION('',(0.,0.,-1.));\n", Vec{0, 0, 300}, 300},
		"mirrored": {"#934=CARTESIAN_TRANSFORMATION_OPERATOR_3D('',#943,#944,#940,1.,#945);\n#943=DIRECTION('',(1.,0.,0.));\n#944=DIRECTION('',(0.,1.,0.));\n#945=DIRECTION('',(0.,0.,-1.));\n", Vec{0, 0, 0}, 300},
		"scaled":   {"#934=CARTESIAN_TRANSFORMATION_OPERATOR_3D('',$,$,#940,2.,$);\n", Vec{0, 0, -600}, 600},
	} {
		m, err := Read(strings.NewReader(ending(t, text, base+c.target)))
		if err != nil {
			t.Fatal(name, err)
		}
		if len(m.Bodies) != 2 {
			t.Fatalf("%s: %d bodies; want 2", name, len(m.Bodies))
		}
		one, err := m.Bodies[0].Turned()
		if err != nil || one.At.minus(Vec{0, 0, -300}).length() > 1e-9 {
			t.Errorf("%s: %v, %+v", name, err, one)
		}
		two, err := m.Bodies[1].Turned()
		if err != nil || two.At.minus(c.at).length() > 1e-9 || math.Abs(two.Length-c.long) > 1e-9 || len(two.Bores) > 0 {
			t.Errorf("%s: %v, %+v", name, err, two)
		}
	}
}

// A motion and the same backward is none, scaled ones too.
func TestMotionBack(t *testing.T) {
	t.Parallel()
	f, ok := frameOf(Vec{1, 2, 3}, Vec{1, 1, 0}, Vec{0, 1, 1})
	f.x, f.y, f.z = f.x.times(2), f.y.times(2), f.z.times(2)
	if p := f.back().point(f.point(Vec{4, 5, 6})); !ok || p.minus(Vec{4, 5, 6}).length() > 1e-12 {
		t.Errorf("got %v", p)
	}
}

// The bare representation of a product, and the one that holds its body, are one.
func TestRelatedRepresentations(t *testing.T) {
	t.Parallel()
	text := write(t, shaft)
	rep := between(t, text, "#", "=ADVANCED_BREP_SHAPE_REPRESENTATION", "\n")
	context := between(t, text, "#", "=(GEOMETRIC_REPRESENTATION_CONTEXT", "\n")
	for _, pair := range []string{"#920,#" + rep, "#" + rep + ",#920"} {
		m, err := Read(strings.NewReader(ending(t, edit(t, text, ",#"+rep+");\nENDSEC", ",#920);\nENDSEC"), fmt.Sprintf("#920=SHAPE_REPRESENTATION('',(),#%s);\n#921=SHAPE_REPRESENTATION_RELATIONSHIP($,$,%s);\n", context, pair))))
		if err != nil {
			t.Fatal(err)
		}
		onlyProfile(t, m)
		if m.Bodies[0].Name != "shaft" {
			t.Errorf("the body is called %q", m.Bodies[0].Name)
		}
	}
}

// A skin, and a solid whose shell is used in another way.
func TestSkin(t *testing.T) {
	t.Parallel()
	text := edit(t, write(t, shaft), "MANIFOLD_SOLID_BREP('shaft',#", "SHELL_BASED_SURFACE_MODEL('shaft',(#", "CLOSED_SHELL", "OPEN_SHELL")
	at := strings.Index(text, "SHELL_BASED_SURFACE_MODEL")
	text = text[:at] + strings.Replace(text[at:], ");", "));", 1)
	m, err := Read(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if onlyProfile(t, m); m.Bodies[0].IsClosed {
		t.Error("a skin is no solid")
	}
}
