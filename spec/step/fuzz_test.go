package step

import (
	"bytes"
	"testing"
)

// tiny is the least of a body: the fuzzer takes long over large texts.
const tiny = `ISO-10303-21;DATA;
#1=(LENGTH_UNIT()SI_UNIT(.MILLI.,.METRE.));#2=(GLOBAL_UNIT_ASSIGNED_CONTEXT((#1)));
#3=CARTESIAN_POINT('',(0.,0.,0.));#4=DIRECTION('',(0.,0.,1.));#5=AXIS2_PLACEMENT_3D('',#3,#4,$);
#6=CARTESIAN_POINT('',(2.,0.,1.));#7=VERTEX_POINT('',#6);#8=EDGE_CURVE('',#7,#7,$,.T.);
#9=EDGE_LOOP('',(#8));#10=FACE_BOUND('',#9,.T.);#11=VERTEX_POINT('',#3);#12=VERTEX_LOOP('',#11);#13=FACE_BOUND('',#12,.T.);
#14=CYLINDRICAL_SURFACE('',#5,2.);#15=ADVANCED_FACE('',(#10,#13),#14,.T.);
#16=TOROIDAL_SURFACE('',#5,1.,1.);#17=ADVANCED_FACE('',(#10),#16,.T.);
#18=CLOSED_SHELL('',(#15,#17));#19=MANIFOLD_SOLID_BREP('',#18);
#20=MAPPED_ITEM('',#21,#5);#21=REPRESENTATION_MAP(#5,#22);#22=SHAPE_REPRESENTATION('',(#19),#2);#23=SHAPE_REPRESENTATION('',(#20),#2);
ENDSEC;END-ISO-10303-21;`

func TestTinyIsRead(t *testing.T) {
	if p := profileOf(t, []byte(tiny)); p.Length < 1 {
		t.Errorf("got %+v", p)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(tiny))
	f.Add([]byte("ISO-10303-21;DATA;#1=(A()B('\\X2\\00D8'));ENDSEC;END-ISO-10303-21;"))
	f.Fuzz(func(t *testing.T, text []byte) {
		m, err := read(bytes.NewReader(text), bounds{size: 1 << 20, statement: 1 << 20, instances: 10_000, takes: 1 << 20})
		if err != nil {
			return
		}
		for i := range m.Bodies {
			p, err := m.Bodies[i].Turned()
			if err != nil {
				continue
			}
			if !(p.Length >= 0) || !p.At.finite() || !p.Axis.finite() {
				t.Errorf("a profile without sense: %+v", p)
			}
			for _, s := range p.Segments {
				if !(s.From <= s.To) || !(s.From > -sameLine) || !(s.To < p.Length+sameLine) {
					t.Errorf("a segment beyond its part: %+v of %g", s, p.Length)
				}
			}
		}
	})
}
