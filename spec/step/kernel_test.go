package step

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
)

// A kernel of boundary representations, where one is installed, takes what is written for a
// solid of the volume that the cylinders and cones have.
func TestKernelReadsWhatIsWritten(t *testing.T) {
	t.Parallel()
	kernel, err := exec.LookPath("gmsh")
	if err != nil {
		t.Skip("needs gmsh")
	}
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
	axis, _ := Vec{1, 2, 3}.unit()
	var b bytes.Buffer
	if err := Write(&b, "Welle Ø 20", list, Vec{5, 6, 7}, axis, func(int) string { return "thread" }); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	script := fmt.Sprintf("SetFactory(\"OpenCASCADE\");\nv() = ShapeFromFile(%q);\nPrintf(\"volume %%.12g of %%g\", Mass Volume{v(0)}, #v());\n", filepath.Join(dir, "s.step"))
	for name, text := range map[string]string{"s.step": b.String(), "s.geo": script} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	c := exec.Command(kernel, "-0", "s.geo", "-o", "s.msh", "-format", "msh2")
	c.Dir = dir
	out, err := c.CombinedOutput()
	m := regexp.MustCompile(`volume ([0-9.e+]+) of 1\b`).FindSubmatch(out)
	if m == nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if got, _ := strconv.ParseFloat(string(m[1]), 64); math.Abs(got/want-1) > 1e-8 {
		t.Errorf("volume %g mm³; want %g", got, want)
	}
}
