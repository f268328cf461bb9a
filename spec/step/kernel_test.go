package step

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// kernel runs a script with a kernel of boundary representations, where one is installed.
func kernel(t *testing.T, dir, script string, args ...string) string {
	t.Helper()
	program, err := exec.LookPath("gmsh")
	if err != nil {
		t.Skip("needs gmsh: what is written was not read by a kernel, nor the other way round")
	}
	if err := os.WriteFile(filepath.Join(dir, "s.geo"), []byte("SetFactory(\"OpenCASCADE\");\n"+script), 0o600); err != nil {
		t.Fatal(err)
	}
	c := exec.Command(program, append([]string{"-0", "s.geo"}, args...)...)
	c.Dir = dir
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return string(out)
}

// A kernel takes what is written for a solid of the volume that the cylinders and cones
// have, as long and as thick as they are.
func TestKernelReadsWhatIsWritten(t *testing.T) {
	t.Parallel()
	list := []Segment{
		shaft[0],
		{Surface: Cone, From: 40, To: 41, Diameter: [2]float64{18, 20}},
		{Surface: Cylinder, From: 41, To: 269, Diameter: [2]float64{20, 20}},
		{Surface: Cone, From: 269, To: 270, Diameter: [2]float64{20, 18}},
		shaft[2],
	}
	want := 0.0
	for _, s := range list { // frusta
		a, b := s.Diameter[0]/2, s.Diameter[1]/2
		want += math.Pi / 3 * s.Long() * (a*a + a*b + b*b)
	}
	tilted, _ := Vec{1, 2, 3}.unit()
	dir := t.TempDir()
	for name, axis := range map[string]Vec{"along": {0, 0, 1}, "tilted": tilted} {
		var b bytes.Buffer
		if err := Write(&b, "Welle Ø 20", list, Vec{5, 6, 7}, axis, func(int) string { return "thread" }); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name+".step"), b.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	out := kernel(t, dir, `For k In {0:1}
  If (k == 0) v() = ShapeFromFile("along.step"); Else v() = ShapeFromFile("tilted.step"); EndIf
  b() = BoundingBox Volume{v(0)};
  Printf("solid %.12g %.12g %.12g %.12g of %g", Mass Volume{v(0)}, b(3) - b(0), b(4) - b(1), b(5) - b(2), #v());
EndFor
`, "-o", "s.msh", "-format", "msh2")
	var found [][]float64
	for line := range strings.Lines(out) {
		if _, numbers, ok := strings.Cut(line, "solid "); ok {
			var x [5]float64
			fmt.Sscanf(numbers, "%g %g %g %g of %g", &x[0], &x[1], &x[2], &x[3], &x[4])
			found = append(found, x[:])
		}
	}
	if len(found) != 2 {
		t.Fatalf("found %v\n%s", found, out)
	}
	for _, x := range found {
		if math.Abs(x[0]/want-1) > 1e-8 || x[4] != 1 {
			t.Errorf("volume %.12g mm³ of %g solids; want %.12g of 1", x[0], x[4], want)
		}
	}
	// Its boxes are 1e-7 mm wider on each side.
	if x := found[0]; math.Abs(x[1]-20)+math.Abs(x[2]-20)+math.Abs(x[3]-300) > 1e-5 {
		t.Errorf("the solid is %v mm large; want 20, 20 and 300", x[1:4])
	}
}

// What a kernel makes of cylinders and cones by chance, each shaft turned another way, is
// read as it was drawn.
func TestRandomShaftsByKernel(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(4, 2))
	var script strings.Builder
	var shafts [][]Segment
	for n := range 6 {
		list, at := []Segment(nil), 0.0
		for i := range 2 + random.IntN(6) {
			s := Segment{Surface: Cylinder, From: at, To: at + float64(10+random.IntN(300))}
			d := float64(6+2*random.IntN(40)) + float64(i%2) // neighbours differ
			s.Diameter = [2]float64{d, d}
			solid := fmt.Sprintf("Cylinder(%d) = {0, 0, %g, 0, 0, %g, %g};\n", 100*n+i+1, s.From, s.Long(), d/2)
			if random.IntN(3) == 0 {
				s.Surface, s.Diameter[1] = Cone, d+0.5
				solid = fmt.Sprintf("Cone(%d) = {0, 0, %g, 0, 0, %g, %g, %g};\n", 100*n+i+1, s.From, s.Long(), d/2, d/2+0.25)
			}
			list, at = append(list, s), s.To
			script.WriteString(solid)
		}
		fmt.Fprintf(&script, "BooleanUnion(%d) = { Volume{%d}; Delete; }{ Volume{%d:%d}; Delete; };\n", 100*n+90, 100*n+1, 100*n+2, 100*n+len(list))
		fmt.Fprintf(&script, "Rotate {{1, %d, 2}, {0, 0, 0}, %g} { Volume{%d}; }\n", n, float64(n), 100*n+90)
		shafts = append(shafts, list)
	}
	script.WriteString("Delete { Surface{:}; Curve{:}; Point{:}; }\n")
	dir := t.TempDir()
	kernel(t, dir, script.String(), "-o", "s.step")
	m, err := Read(bytes.NewReader(readFile(t, filepath.Join(dir, "s.step"))))
	if err != nil || len(m.Bodies) != len(shafts) {
		t.Fatal(err, len(m.Bodies))
	}
	for n, want := range shafts {
		p, err := m.Bodies[n].Turned()
		if err != nil {
			t.Fatal(err)
		}
		if got, turned := profileWords(p), profileWords(p.Turn()); got != segmentWords(want) && turned != segmentWords(want) {
			t.Errorf("shaft %d:\n%s\nwant\n%s", n, got, segmentWords(want))
		}
	}
}

func profileWords(p *Profile) string {
	return segmentWords(p.Segments) + strings.Repeat("!", len(p.Gaps)+len(p.Features)+len(p.Bores))
}

func segmentWords(list []Segment) (out string) {
	number := func(x float64) string { return strconv.FormatFloat(math.Round(x*1e6)/1e6+0, 'g', -1, 64) }
	for _, s := range list {
		out += fmt.Sprintf("%d from %s to %s: %s to %s\n", s.Surface, number(s.From), number(s.To), number(s.Diameter[0]), number(s.Diameter[1]))
	}
	return out
}
