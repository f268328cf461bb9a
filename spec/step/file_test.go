package step

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"

	"trammel/spec/amount"
)

const pinFaces = "#43=ADVANCED_FACE('',(#38,#41),#42,.T.);"

// What is wrong is said with its line; a shape that could be another is not given.
func TestErrors(t *testing.T) {
	t.Parallel()
	pin := string(readFile(t, "testdata/pin.step"))
	for name, c := range map[string]struct{ text, want string }{
		"empty":                  {"", "line 1: the file is empty"},
		"no STEP file":           {"solid pin\n facet normal 0 0 1\n", "line 1: this is not a STEP file: it does not begin with ISO-10303-21"},
		"another":                {"PK\x03\x04 ; ;", "line 1: this is not a STEP file: it does not begin with ISO-10303-21"},
		"cut":                    {pin[:len(pin)/2], "the file ends within a statement"},
		"cut after a line":       {pin[:strings.Index(pin, "#49=")], "line 25: the file ends without END-ISO-10303-21: it was not written to its end"},
		"a text without end":     {edit(t, pin, "'pin','pin',''", "'pin','pin,''"), "the text that begins here does not end"},
		"a comment without end":  {edit(t, pin, "#49=", "/* #49="), "line 25: the comment that begins here does not end"},
		"a number twice":         {edit(t, pin, "#47=", "#42="), "line 24: #42 is given twice; first in line 23"},
		"no instance":            {edit(t, pin, "#49=CLOSED", "49=CLOSED"), `line 25: found "49=CLOSED_SHELL('',(#35,#43,#48))"; expected #number = NAME(…)`},
		"a huge number":          {edit(t, pin, "#49=", "#1234567890123456789="), "expected #number = NAME(…)"},
		"nothing referred to":    {edit(t, pin, "#35,#43,#48", "#35,#99,#48"), "line 25: #49 CLOSED_SHELL refers to #99, which is not in the file"},
		"no unit of length":      {edit(t, pin, "GLOBAL_UNIT_ASSIGNED_CONTEXT((#10,#11,#12)) ", ""), "declares no units: it is not known what lengths mean"},
		"only angles":            {edit(t, pin, "((#10,#11,#12))", "((#11,#12))"), "line 16: #14 (…) has no usable unit of length"},
		"a unit of nothing":      {edit(t, pin, ".MILLI.", ".PICO."), "line 13: #10 (…) has the prefix PICO, which no length is drawn in"},
		"text for a radius":      {edit(t, pin, "CYLINDRICAL_SURFACE('',#18,8.)", "CYLINDRICAL_SURFACE('',#18,'8.')"), "line 23: #42 CYLINDRICAL_SURFACE has no number as parameter 3"},
		"a negative radius":      {edit(t, pin, "CYLINDRICAL_SURFACE('',#18,8.)", "CYLINDRICAL_SURFACE('',#18,-8.)"), "has a radius or an angle that cannot be"},
		"a broken list":          {edit(t, pin, "#49=CLOSED_SHELL('',(#35,#43,#48))", "#49=CLOSED_SHELL('',(#35,#43,#48)"), "#49 CLOSED_SHELL cannot be read: the list of its parameters is broken"},
		"too few parameters":     {edit(t, pin, pinFaces, "#43=ADVANCED_FACE('',(#38,#41));"), "#43 ADVANCED_FACE has 2 parameters; more are expected"},
		"a plane point":          {edit(t, pin, "CARTESIAN_POINT('',(8.,0.,80.))", "CARTESIAN_POINT('',(8.,80.))"), "has 2 coordinates; 3 are expected"},
		"no number":              {edit(t, pin, "CARTESIAN_POINT('',(8.,0.,80.))", "CARTESIAN_POINT('',(8.,0.,$))"), "has a coordinate that is no number"},
		"beyond all bounds":      {edit(t, pin, "(8.,0.,80.)", "(8.,0.,1.E300)"), "is beyond all bounds"},
		"an axis of zeros":       {edit(t, pin, "#21=DIRECTION('',(0.,0.,-1.))", "#21=DIRECTION('',(0.,1.E-20,0.))"), "#22 AXIS2_PLACEMENT_3D has axes without direction"},
		"a face that is none":    {edit(t, pin, pinFaces, "#43=TRIANGULATED_FACE('',(#38,#41),#42,.T.);"), "#43 TRIANGULATED_FACE is no face that can be read"},
		"a loop that is none":    {edit(t, pin, "#40=EDGE_LOOP('',(#39))", "#40=POLY_LOOP('',(#39))"), "#40 POLY_LOOP is no loop that can be read"},
		"an edge that is none":   {edit(t, pin, "#30=EDGE_CURVE('',", "#30=SUBEDGE('',"), "#30 SUBEDGE is no edge that can be read"},
		"a vertex that is none":  {edit(t, pin, "#26=VERTEX_POINT('',#25)", "#26=POLY('',#25)"), "#26 POLY is no vertex"},
		"a shell that is none":   {edit(t, pin, "#49=CLOSED_SHELL", "#49=ORIENTED_CLOSED_SHELL"), "#50 MANIFOLD_SOLID_BREP has a ORIENTED_CLOSED_SHELL instead of a shell"},
		"lists without end":      {edit(t, pin, "'design','',#5,#6", "'design','',"+strings.Repeat("(", 100)+strings.Repeat(")", 100)+",#6"), "#7 PRODUCT_DEFINITION cannot be read"},
		"an assembly in itself":  {ending(t, pin, "#60=REPRESENTATION_MAP(#18,#51);\n#61=MAPPED_ITEM('',#60,#18);\n"), ""},
		"a number with a letter": {edit(t, pin, "CYLINDRICAL_SURFACE('',#18,8.)", "CYLINDRICAL_SURFACE('',#18,8.D0)"), "cannot be read"},
	} {
		if c.want == "" {
			c.text, c.want = edit(t, c.text, "(#18,#50),#14", "(#18,#50,#61),#14"), "holds a body and stands only in itself"
		}
		m, err := Read(strings.NewReader(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) || m != nil {
			t.Errorf("%s: got %v; want %s", name, err, c.want)
		}
		if broken := (*Error)(nil); !errors.As(err, &broken) || broken.Line < 1 {
			t.Errorf("%s: %v has no line", name, err)
		}
	}
}

// What real writers do, and what changes nothing.
func TestSloppyWriters(t *testing.T) {
	t.Parallel()
	pin := string(readFile(t, "testdata/pin.step"))
	for name, text := range map[string]string{
		"as it is":                 pin,
		"CRLF":                     edit(t, pin, "\n", "\r\n"),
		"a byte order mark":        "\ufeff" + pin,
		"what follows":             pin + "\nanything /* at all '",
		"comments":                 edit(t, pin, "#42=", "/* ;'#5 ENDSEC; ** */ #42=/**/", "FILE_NAME(", "/* name */ FILE_NAME("),
		"signs in texts":           edit(t, pin, "PRODUCT('pin','pin',''", "PRODUCT('a;#5=ENDSEC;/*','it''s\\X\\F6 \\X2\\00D8\\X0\\',''"),
		"a text over lines":        edit(t, pin, "'mechanical'", "'mech\nanical'"),
		"instances over lines":     edit(t, pin, "#42=CYLINDRICAL_SURFACE('',#18,8.)", "#42\n=\nCYLINDRICAL_SURFACE\n(''\n,#18,\n8.\n)\n"),
		"no end of section":        edit(t, pin, "ENDSEC;\nEND-ISO", "END-ISO"),
		"integers":                 edit(t, pin, "CYLINDRICAL_SURFACE('',#18,8.)", "CYLINDRICAL_SURFACE('',#18,8)", "(8.,0.,80.)", "(8,0,80)"),
		"powers":                   edit(t, pin, "CYLINDRICAL_SURFACE('',#18,8.)", "CYLINDRICAL_SURFACE('',#18,0.8E+01)", "(8.,0.,80.)", "(800.E-02,0.E+000,+80.)"),
		"small letters":            edit(t, pin, "CYLINDRICAL_SURFACE", "cylindrical_surface"),
		"user-defined":             ending(t, pin, "#70=!HERS('',(1,.U.,\"1F\",*,$,FORCE(3.)));\n"),
		"unknown and broken":       ending(t, pin, "#70=SOMETHING('',(,)));\n"),
		"no axes":                  edit(t, pin, "#18=AXIS2_PLACEMENT_3D('',#15,#16,#17)", "#18=AXIS2_PLACEMENT_3D('',#15,$,$)"),
		"axes not square":          edit(t, pin, "#17=DIRECTION('',(1.,0.,0.))", "#17=DIRECTION('',(1.,0.,0.1))"),
		"axes of any length":       edit(t, pin, "#16=DIRECTION('',(0.,0.,1.))", "#16=DIRECTION('',(0.,0.,7.))"),
		"a reference along":        edit(t, pin, "#17=DIRECTION('',(1.,0.,0.))", "#17=DIRECTION('',(0.,0.,1.))"),
		"edition 3":                edit(t, pin, "DATA;", "ANCHOR;\n<x>=#50;\nENDSEC;\nREFERENCE;\n#999=<other.stp#y>;\nENDSEC;\nDATA('',('X'));"),
		"no product":               edit(t, pin, "SHAPE_DEFINITION_REPRESENTATION", "NOTHING"),
		"with voids":               edit(t, pin, "MANIFOLD_SOLID_BREP('pin',#49)", "BREP_WITH_VOIDS('pin',#49,())"),
		"a wireframe beside":       ending(t, pin, "#70=GEOMETRICALLY_BOUNDED_WIREFRAME_SHAPE_REPRESENTATION('',(),#14);\n#71=SHAPE_REPRESENTATION_RELATIONSHIP('','',#51,#70);\n"),
		"other orders":             reversed(t, pin),
		"a full circle's two ends": edit(t, pin, "#39=ORIENTED_EDGE('',*,*,#30,.F.)", "#39=ORIENTED_EDGE('',#26,#26,#30,.F.)"),
	} {
		m, err := Read(strings.NewReader(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if p := onlyProfile(t, m); p.Length != 80 || len(p.Segments) != 1 || p.Segments[0].Diameter[0] != 16 {
			t.Errorf("%s: got %+v", name, p)
		}
		if name == "signs in texts" && m.Bodies[0].Name != "it'sö Ø" {
			t.Errorf("the body is called %q", m.Bodies[0].Name)
		}
	}
}

// reversed has the instances in the other order.
func reversed(t *testing.T, text string) string {
	head, data, _ := strings.Cut(text, "DATA;\n")
	data, end, ok := strings.Cut(data, "ENDSEC;")
	if !ok {
		t.Fatal("no end")
	}
	list := strings.Split(strings.TrimSuffix(strings.TrimSpace(data), ";"), ";")
	var b strings.Builder
	for i := len(list) - 1; i >= 0; i-- {
		b.WriteString(strings.TrimSpace(list[i]) + ";\n")
	}
	return head + "DATA;\n" + b.String() + "ENDSEC;" + end
}

// Where blocks of the reader's input end changes nothing.
func TestSmallReads(t *testing.T) {
	t.Parallel()
	m, err := Read(iotest.OneByteReader(bytes.NewReader(readFile(t, "testdata/fillets.step"))))
	if err != nil {
		t.Fatal(err)
	}
	if p := onlyProfile(t, m); p.Length != 597 {
		t.Errorf("length %g", p.Length)
	}
	if _, err := Read(iotest.ErrReader(io.ErrClosedPipe)); !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("got %v; want the error of the reader", err)
	}
}

func TestTexts(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]string{
		`plain`: "plain", `it''s`: "it's", `\X\F6`: "ö", `\S\v`: "ö", `\\`: `\`, `\X2\00D8\X0\ 20`: "Ø 20", `\X4\0001F529\X0\`: "🔩",
		`\X2\D83DDD29\X0\`: "🔩", `\PA\x`: "x", `\X2\00D`: `\X2\00D`, `\X\ZZ`: `\X\ZZ`, `\`: `\`, "\xf6": "ö", "ö": "ö", `\X4\FFFFFFFF\X0\`: "\ufffd",
	} {
		if got := decode([]byte(in)); got != want {
			t.Errorf("%s: got %q, want %q", in, got, want)
		}
	}
}

// A hostile file costs no more than the bounds.
func TestBounds(t *testing.T) {
	t.Parallel()
	head := "ISO-10303-21;DATA;"
	most := amount.Of(usual, bounds{size: 3 << 20, statement: 1 << 20, instances: 20_000, takes: 16 << 20})
	many := func(piece string) io.Reader { return io.MultiReader(strings.NewReader(head), &repeat{piece: piece}) }
	for name, c := range map[string]struct {
		r    io.Reader
		want string
	}{
		"without end":      {many(" "), fmt.Sprintf("the file is larger than %d MB", most.size>>20)},
		"one statement":    {many("#1=A(1,"), fmt.Sprintf("a statement is longer than %d MB", most.statement>>20)},
		"one text":         {io.MultiReader(strings.NewReader(head+"#1=A('"), &repeat{piece: "xyz\n"}), fmt.Sprintf("a statement is longer than %d MB", most.statement>>20)},
		"small instances":  {many("#1=A();"), fmt.Sprintf("the file holds more than %d instances", most.instances)},
		"an idle reader":   {idle{}, "multiple Read calls return no data"},
		"a bomb of bodies": {strings.NewReader(bomb(t, "#50")), "is one body too many: at most 2000 are read"},
		"one loop again":   {strings.NewReader(loops(t)), "the file holds the same again and again"},
		"one loop, padded": {strings.NewReader(ending(t, loops(t), "#3000=CARTESIAN_POINT('"+strings.Repeat("x", 1<<19)+"',(1.,2.,3.));\n")), "the file holds the same again and again"},
		"one long list":    {strings.NewReader(edit(t, string(readFile(t, "testdata/pin.step")), "#49=CLOSED_SHELL('',(#35,", "#49=CLOSED_SHELL('',(#35,"+strings.Repeat("$,", maxValues))), "or longer than 250000"},
		"an assembly bomb": {strings.NewReader(bomb(t, "#18")), "is placed more than 10000 times, or within itself"},
	} {
		if _, err := read(c.r, most); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v; want %s", name, err, c.want)
		}
	}
}

// loops holds a shell of one face a hundred thousand times, which has one edge as often.
func loops(t *testing.T) string {
	times := func(ref string) string { return strings.Repeat(ref+",", 100_000) + ref }
	return ending(t, string(readFile(t, "testdata/pin.step")), "#1200=SHAPE_REPRESENTATION('',(#1201),#14);\n#1201=MANIFOLD_SOLID_BREP('',#1202);\n#1202=CLOSED_SHELL('',("+times("#1203")+"));\n"+
		"#1203=ADVANCED_FACE('',(#1204),#1205,.T.);\n#1204=FACE_BOUND('',#1206,.T.);\n#1205=PLANE('',#18);\n#1206=EDGE_LOOP('',("+times("#1207")+"));\n#1207=EDGE_CURVE('',#1208,#1208,$,.T.);\n#1208=VERTEX_POINT('',#1209);\n#1209=CARTESIAN_POINT('',(1.,2.,3.));\n")
}

type repeat struct {
	piece string
	block []byte
}

func (r *repeat) Read(b []byte) (int, error) {
	if r.block == nil {
		r.block = []byte(strings.Repeat(r.piece, 10_000))
	}
	// Whole pieces only, so that the text stays one.
	n := min(len(b)/len(r.piece)*len(r.piece), len(r.block))
	return copy(b, r.block[:n]), nil
}

type idle struct{}

func (idle) Read([]byte) (int, error) { return 0, nil }

// bomb holds twenty representations, each of which holds the next one twice; the last holds an item.
func bomb(t *testing.T, item string) string {
	var b strings.Builder
	for i := range 20 {
		n := strconv.Itoa
		rep, child := 1000+10*i, 1010+10*i
		b.WriteString("#" + n(rep) + "=SHAPE_REPRESENTATION('',(#" + n(rep+1) + ",#" + n(rep+1) + "),#14);\n#" +
			n(rep+1) + "=MAPPED_ITEM('',#" + n(rep+2) + ",#18);\n#" + n(rep+2) + "=REPRESENTATION_MAP(#18,#" + n(child) + ");\n")
	}
	return ending(t, string(readFile(t, "testdata/pin.step")), b.String()+"#1200=SHAPE_REPRESENTATION('',("+item+"),#14);\n")
}
