package step

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
)

type truth struct {
	AxisPoint Vec     `json:"axis_point"`
	AxisDir   Vec     `json:"axis_dir"`
	Length    float64 `json:"length"`
	Profile   []struct {
		From, To, Diameter float64
		DiameterFrom       float64 `json:"diameter_from"`
		DiameterTo         float64 `json:"diameter_to"`
		Kind               string
	}
	Features []string
	Gaps     [][2]float64
}

// profileOf reads a text that must hold one turned body.
func profileOf(t testing.TB, text []byte) *Profile {
	t.Helper()
	m, err := Read(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Bodies) != 1 {
		t.Fatalf("%d bodies; want 1", len(m.Bodies))
	}
	p, err := m.Bodies[0].Turned()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func readFile(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// The truth is what the models were drawn with, not what this reader says; see
// testdata/README.md.
func TestFilesOfKernels(t *testing.T) {
	t.Parallel()
	var all map[string]truth
	if err := json.Unmarshal(readFile(t, "testdata/truth.json"), &all); err != nil {
		t.Fatal(err)
	}
	if len(all) < 12 {
		t.Fatalf("%d models with their truth; want 12", len(all))
	}
	for name, want := range all {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			compareTruth(t, profileOf(t, readFile(t, "testdata/"+name+".step")), want)
		})
	}
}

func compareTruth(t *testing.T, p *Profile, want truth) {
	t.Helper()
	same := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-8 { // writers give 10 to 15 digits
			t.Errorf("%s: got %.12g, want %.12g", what, got, want)
		}
	}
	if p.Axis.Dot(want.AxisDir) < 0 {
		p = p.Turn()
	}
	for i := range 3 {
		same("axis", p.Axis[i], want.AxisDir[i])
		same("first end", p.At[i], want.AxisPoint[i])
	}
	same("length", p.Length, want.Length)
	if len(p.Segments) != len(want.Profile) || len(p.Features) != len(want.Features) || len(p.Bores) > 0 || !slices.Equal(p.Gaps, want.Gaps) {
		t.Fatalf("got %+v", p)
	}
	for i, w := range want.Features {
		if got := fmt.Sprintf("%s from %.9g to %.9g", p.Features[i].Kind, p.Features[i].From, p.Features[i].To); !strings.HasPrefix(got, w) {
			t.Errorf("feature %s; want %s", got, w)
		}
	}
	for i, w := range want.Profile {
		s := p.Segments[i]
		if w.Diameter > 0 {
			w.DiameterFrom, w.DiameterTo = w.Diameter, w.Diameter
		}
		if kind := map[Surface]string{Cylinder: "cylinder", Cone: "cone", Torus: "torus"}[s.Surface]; kind != w.Kind {
			t.Errorf("segment %d is a %s; want %s", i, kind, w.Kind)
		}
		same("from", s.From, w.From)
		same("to", s.To, w.To)
		same("diameter", s.Diameter[0], w.DiameterFrom)
		same("diameter", s.Diameter[1], w.DiameterTo)
	}
}
