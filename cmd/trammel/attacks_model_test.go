package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// modelHead begins a model with a placement and units, which the attacks build on.
const modelHead = `ISO-10303-21;
HEADER;
ENDSEC;
DATA;
#1=(LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.));
#2=(GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNIT_ASSIGNED_CONTEXT((#1)) REPRESENTATION_CONTEXT('',''));
#3=CARTESIAN_POINT('',(0.,0.,0.));
#4=AXIS2_PLACEMENT_3D('',#3,$,$);
`

const modelEnd = "ENDSEC;\nEND-ISO-10303-21;\n"

// modelled names a model in an axis file.
func modelled(f *field, name string) {
	f.write("repo/m/lift.axis.hcl", "axis \"lift\" {\n  screw {\n    model = \""+name+"\"\n  }\n}\n")
}

func init() {
	add := func(threat, name, holds string, status int, says string, set func(*field)) {
		attacks = append(attacks, attack{threat: threat, name: "a model " + name, holds: holds, status: status, says: says, not: "SECRET", args: strings.Fields("check --no-cache m"), set: set})
	}
	link := func(at, to string) func(*field) {
		return func(f *field) {
			modelled(f, "cad/x.step")
			f.write("outside/x.step", "SECRET")
			f.link(at, to)
		}
	}
	add(readsOut, "is a link out", "refused; nothing of it is read", exitFindings, "cannot be read: it cannot be read: m/cad/x.step is a link", link("repo/m/cad/x.step", "../../../outside/x.step"))
	add(readsOut, "is a link within the tree", "refused: what it leads to would change unnoticed", exitFindings, "is a link; name the file that it leads to", link("repo/m/cad/x.step", "../lift.axis.hcl"))
	add(readsOut, "in a folder that is a link out", "refused; nothing of it is read", exitFindings, "m/cad is a link", link("repo/m/cad", "../../outside"))
	add(readsOut, "by a name that leads out", "refused; nothing of it is read", exitFindings, "leads out of the tree", func(f *field) {
		modelled(f, "../../outside/x.step")
		f.write("outside/x.step", "SECRET")
	})
	add(waiting, "is a pipe", "refused; it is not opened", exitFindings, "it is no regular file (a pipe)", func(f *field) {
		modelled(f, "x.step")
		f.pipe("repo/m/x.step")
	})
	add(costly, "of 300 MB", "refused by its size", exitFindings, "it is 300 MB large; models are at most 100 MB", func(f *field) {
		modelled(f, "x.step")
		f.write("repo/m/x.step", modelHead)
		if err := os.Truncate(filepath.Join(f.base, "repo", "m", "x.step"), 300<<20); err != nil {
			f.Fatal(err)
		}
	})
	add(costly, "of thirty parts, each of two of the next", "no part is placed more than ten thousand times", exitFindings, "is placed more than 10000 times", func(f *field) {
		modelled(f, "x.step")
		f.write("repo/m/x.step", modelHead+repeated(30, func(i int) string {
			n := 10 * (i + 1)
			return fmt.Sprintf("#%d=SHAPE_REPRESENTATION('',(#%[2]d,#%[2]d),#2);\n#%[2]d=MAPPED_ITEM('',#%[3]d,#4);\n#%[3]d=REPRESENTATION_MAP(#4,#%[4]d);\n", n, n+1, n+2, n+10)
		})+"#310=SHAPE_REPRESENTATION('',(#4),#2);\n"+modelEnd)
	})
	add(costly, "of a million references to one face", "no more than 200,000 faces are read", exitFindings, "has too many faces: at most 200000 are read", func(f *field) {
		modelled(f, "x.step")
		f.write("repo/m/x.step", modelHead+"#5=PLANE('',#4);\n#6=ADVANCED_FACE('',(),#5,.T.);\n#7=CLOSED_SHELL('',("+strings.Repeat("#6,", 1_000_000)+"#6));\n#8=MANIFOLD_SOLID_BREP('',#7);\n#9=SHAPE_REPRESENTATION('',(#8),#2);\n"+modelEnd)
	})
	add(costly, "of one face with a loop of many edges, again and again", "what is referred to again and again is read only so often", exitFindings, "the file holds the same again and again", func(f *field) {
		modelled(f, "x.step")
		f.write("repo/m/x.step", modelHead+"#5=PLANE('',#4);\n#20=VERTEX_POINT('',#3);\n#21=EDGE_CURVE('',#20,#20,$,.T.);\n#10=EDGE_LOOP('',("+strings.Repeat("#21,", 200_000)+"#21));\n#11=FACE_BOUND('',#10,.T.);\n"+
			"#6=ADVANCED_FACE('',(#11),#5,.T.);\n#7=CLOSED_SHELL('',("+strings.Repeat("#6,", 190_000)+"#6));\n#8=MANIFOLD_SOLID_BREP('',#7);\n#9=SHAPE_REPRESENTATION('',(#8),#2);\n"+modelEnd)
	})
	add(costly, "of lists within lists", "refused beyond 32 of them", exitFindings, "the list of its parameters is broken", func(f *field) {
		modelled(f, "x.step")
		f.write("repo/m/x.step", modelHead+"#9=SHAPE_REPRESENTATION('',"+strings.Repeat("(", 1_000_000)+strings.Repeat(")", 1_000_000)+",#2);\n"+modelEnd)
	})
	add(threatText, "of a body with control characters in its name", "what is printed shows escapes", anyOf, "", func(f *field) {
		modelled(f, "x.step")
		f.write("repo/m/x.step", modelHead+"#5=PLANE('',#4);\n#6=ADVANCED_FACE('',(),#5,.T.);\n#7=CLOSED_SHELL('',(#6));\n#8=MANIFOLD_SOLID_BREP('',#7);\n#9=SHAPE_REPRESENTATION('',(#8),#2);\n"+
			"#10=PRODUCT('\x1b]0;x\x07\x1b[2J\u202e','\x1b]0;x\x07\x1b[2J\u202e','',());\n#11=PRODUCT_DEFINITION_FORMATION('','',#10);\n#12=PRODUCT_DEFINITION('','',#11,$);\n#13=PRODUCT_DEFINITION_SHAPE('','',#12);\n#14=SHAPE_DEFINITION_REPRESENTATION(#13,#9);\n"+modelEnd)
	})
}
