package drawing

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/rules/judge"
)

// cylinders lists those of an end of the one axis of a text, in millimetres.
func cylinders(text string, end int) (out string) {
	each(fstest.MapFS{"e.axis.hcl": {Data: []byte(text)}}, nil, func(rep *judge.Report) {
		for _, c := range OfEnds(rep.View).Cylinders()[end] {
			out += fmt.Sprintf("%s %.4g × %.4g; ", c.Words, 1000*c.Diameter, 1000*c.Long)
		}
	})
	return strings.TrimSuffix(out, "; ")
}

// TestPieces: the model and the drawing for CAD systems follow from the same steps. What an
// end of declared steps leaves open is not drawn as if it were declared in either.
func TestPieces(t *testing.T) {
	t.Parallel()
	driven := "driven end, shoulder 20 × 5; driven end, bearing seat 15 × 23; driven end, thread for the lock nut 15 × 12; driven end, stub 12 × 22"
	for name, x := range map[string]struct {
		change []string
		end    int
		want   string // cylinders of the model
		dxf    string // why it is not drawn
	}{
		"whole":                              {nil, 0, driven, ""},
		"groove":                             {nil, 1, "far end, bearing seat 15 × 2.9; far end, groove 14.3 × 1.1; far end, bearing seat 15 × 9", ""},
		"groove at the foot of the seat":     {[]string{`"9 mm"`, `"11.9 mm"`}, 1, "far end, groove 14.3 × 1.1; far end, bearing seat 15 × 11.9", ""},
		"groove that is none":                {[]string{`"14.3 mm"`, `"15 mm"`}, 1, "", "far end: groove_diameter is not below the diameter of the seat"},
		"left beside the thread":             {[]string{`"5 mm"`, `"4 mm"`, `"62 mm"`, `"70 mm"`, `= "20 mm"`, `= "18 mm"`}, 0, "driven end 20 × 9; " + strings.Replace(driven, "20 × 5", "18 × 4", 1), ""},
		"left beside a step of one diameter": {[]string{`"62 mm"`, `"70 mm"`}, 0, "", ""},
		"collar of which nothing is declared": {[]string{"    shoulder_diameter  = \"20 mm\"\n    shoulder_length    = \"5 mm\"\n", ""}, 0,
			strings.Replace(driven, ", shoulder", "", 1), ""},
		"no room for a usual thread": {[]string{"    lock_thread        = \"M15x1\"\n    lock_thread_length = \"12 mm\"\n", "", `"62 mm"`, `"50 mm"`}, 0,
			strings.Replace(driven, "driven end, thread for the lock nut 15 × 12; ", "", 1), ""},
		"usual stub not declared": {[]string{"    stub_diameter      = \"12 mm\"\n    stub_length        = \"22 mm\"\n    stub_fit           = \"h6\"\n", ""}, 0, "", ""},
		"seat of unknown length":  {[]string{"    seat_length        = \"23 mm\"\n", ""}, 0, "", ""},
		"thinner than the end":    {[]string{`["20 mm", "15 mm"]`, `["22 mm", "15 mm"]`}, 0, "", "driven end: the largest diameter of its steps is not that of end_diameters"},
		"thicker than the end":    {[]string{`["20 mm", "15 mm"]`, `["18 mm", "15 mm"]`}, 0, "", "driven end: the largest diameter of its steps is not that of end_diameters"},
		"longer than the end":     {[]string{`"62 mm"`, `"61 mm"`}, 0, "", "driven end: the lengths of its steps do not fit end_lengths"},
	} {
		text := strings.NewReplacer(x.change...).Replace(wholeEnds)
		if text == wholeEnds && x.change != nil {
			t.Fatalf("%s changes nothing", name)
		}
		if got := cylinders(text, x.end); got != x.want {
			t.Errorf("%s: got %s, want %s", name, got, x.want)
		}
		if dxf, err := drawnDXF(t, text); (err == nil) != (x.dxf == "") || err != nil && (!strings.HasSuffix(err.Error(), x.dxf) || dxf != "") || strings.Contains(dxf, "Inf") {
			t.Errorf("%s: %v, want %s", name, err, x.dxf)
		}
	}
}
