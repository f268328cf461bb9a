package judge

import (
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// TestLargestOfNone: of no moves, or of moves that lack the line, the first is
// named.
func TestLargestOfNone(t *testing.T) {
	s := testaxis.WholeSheet().With("motion.move.thrust", "")
	s.Set("motion.move.thrust", 1, `"80 N"`)
	none := testaxis.WholeSheet()
	none.Moves = nil
	for i, x := range []struct {
		s    *testaxis.Sheet
		q    *mechanics.Quantity
		want int
	}{{none, mechanics.MoveSpeed, 0}, {testaxis.WholeSheet(), mechanics.MoveAcceleration, 0}, {testaxis.WholeSheet(), mechanics.MoveSpeed, 0}, {s, mechanics.MoveThrust, 1}} {
		_, _, v := load(x.s, t)
		if got := v.Largest(x.q); got != x.want {
			t.Errorf("%d: move %d", i, got)
		}
	}
}

// TestUnitsOfAnAxis: an axis is written in inches where more of its own values
// are; times, shares and angles are written alike in both, and
// bare numbers and what parts say do not count.
func TestUnitsOfAnAxis(t *testing.T) {
	both := map[string]string{"duty.service_life": `"5 years"`, "screw.grade": `"C5"`, "load.friction": "0.1", "incline": `"10 deg"`, "duty.reliability": `"95 %"`, "lubrication.regrease_every": `"2 months"`}
	for i, x := range []struct {
		lines map[string]string
		want  unit.System
	}{
		{map[string]string{}, unit.Metric},
		{map[string]string{"screw.root_diameter": `"0.7 in"`}, unit.Inch},
		{map[string]string{"screw.root_diameter": `"0.7 in"`, "load.mass": `"5 kg"`}, unit.Metric},
		{map[string]string{"screw.root_diameter": `"0.7 in"`, "load.mass": `"5 lb"`, "screw.lead": `"5 mm"`}, unit.Inch},
		{map[string]string{"screw.root_diameter": `"0.7 in"`, "motor.max_speed": `"4500 rpm"`, "motor.rated_torque": `"3 N m"`, "drive.motor": "motor.m1"}, unit.Inch},
		{map[string]string{"screw.root_diameter": `"7 mm"`, "motor.rated_torque": `"3 lbf in"`, "motor.peak_torque": `"6 lbf in"`, "drive.motor": "motor.m1"}, unit.Metric},
	} {
		for _, more := range []map[string]string{nil, both} {
			s := &testaxis.Sheet{Name: "cross", Lines: map[string]string{}}
			for _, m := range []map[string]string{x.lines, more} {
				for k, text := range m {
					s.Lines[k] = text
				}
			}
			file := spec.NewTree(s.Files()).ReadAxes(testaxis.SheetFile)
			if len(file.Problems) > 0 {
				t.Fatalf("%v", file.Problems)
			}
			if got := system(file.Axes[0]); got != x.want {
				t.Errorf("%d, with what both write alike %v: system %v, expected %v", i, more != nil, got, x.want)
			}
		}
	}
	// The lines of moves count one by one; their times do not.
	s := &testaxis.Sheet{Name: "cross", Lines: map[string]string{"screw.root_diameter": `"0.7 in"`}, Moves: []*testaxis.SheetMove{{Name: "a", Lines: map[string]string{"dwell": `"2 s"`, "ramp": `"0.1 s"`}}}}
	for _, want := range []unit.System{unit.Inch, unit.Metric} {
		if got := system(spec.NewTree(s.Files()).ReadAxes(testaxis.SheetFile).Axes[0]); got != want {
			t.Errorf("%v, expected %v\n%s", got, want, s)
		}
		s.Moves[0].Lines["distance"] = `"20 mm"`
	}
}

// TestInchUnits: the inch units there are, and metric ones that begin alike.
func TestInchUnits(t *testing.T) {
	for text, want := range map[string]bool{
		"3 in": true, "3 in/s": true, "2 ft": true, "5 lb": true, "1 lbf": true, "3 oz": true, "9 psi": true, "3 mil": true, "3 thou": true, "60 °F": true, "60 degF": true, "9 ksi": true, "2 kip": true, "4 lbf in": true, "4 klbf": true,
		"3 mm": false, "3 m/min": false, "3 N": false, "3 kg": false, "3 kN": false, "3 °C": false, "3 K": false, "3 um": false, "3 kg cm2": false, "3 N/um": false, "3": false, "": false,
	} {
		if got := IsInch(text); got != want {
			t.Errorf("%q: %v", text, got)
		}
	}
}

// TestEntries: what takes part in a finding: a declared line as it stands there, a
// default with its reason, a computed quantity that has one value and is known.
// What is not counted where nobody declares it does not take part.
func TestEntries(t *testing.T) {
	_, _, v := load(testaxis.WholeSheet(), t)
	_, _, less := load(testaxis.WholeSheet().With("supports.span", ""), t)
	for i, x := range []struct {
		v       *View
		q       *mechanics.Quantity
		move    int
		words   string
		assumed bool
	}{
		{v, mechanics.Span, -1, "span 800 mm", false}, {less, mechanics.Span, -1, "", false},
		{v, mechanics.MoveSpeed, 1, "speed of move back 0.4 m/s", false}, {v, mechanics.MoveSpeed, -1, "", false},
		{v, mechanics.ElasticModulus, -1, "elastic modulus " + Field("screw.elastic_modulus").Default, true}, {v, mechanics.Counterbalance, -1, "", false},
		{v, mechanics.MovePeakSpeed, 0, "", false}, {less, mechanics.Critical, -1, "", false}, {v, mechanics.CarriedMass, -1, "", false},
	} {
		e, ok := x.v.entry(x.q, x.move)
		if e.Words != x.words || ok != (x.words != "") || (e.Assumed != "") != x.assumed {
			t.Errorf("%d, %s: %+v %v", i, x.q.Name, e, ok)
		}
	}
	if e, ok := v.entry(mechanics.Critical, -1); !ok || e.Words != mechanics.Critical.Title+" "+v.F(mechanics.Critical) || e.Place.Valid() {
		t.Errorf("%+v %v", e, ok)
	}
}
