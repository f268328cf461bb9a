package judge

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/rules/mechanics/reference"
	"trammel/spec/amount"
	"trammel/spec/unit"
)

// spellings are units in which a value may be written, and what one of them is
// in SI: definitions of the SI and of the inch, pound and calendar year as in
// docs/language.md.
var spellings = map[unit.Kind][]struct {
	unit string
	si   float64
}{
	unit.Length:                {{"mm", 1e-3}, {"mm", 1e-3}, {"m", 1}, {"um", 1e-6}, {"in", 0.0254}},
	unit.Speed:                 {{"m/s", 1}, {"mm/s", 1e-3}, {"m/min", 1.0 / 60}, {"in/s", 0.0254}},
	unit.Acceleration:          {{"m/s2", 1}, {"mm/s2", 1e-3}, {"g", 9.80665}},
	unit.Force:                 {{"N", 1}, {"kN", 1e3}, {"lbf", 0.45359237 * 9.80665}},
	unit.Mass:                  {{"kg", 1}, {"g", 1e-3}, {"t", 1e3}, {"lb", 0.45359237}},
	unit.Torque:                {{"N m", 1}, {"N mm", 1e-3}, {"lbf in", 0.45359237 * 9.80665 * 0.0254}},
	unit.RotationalStiffness:   {{"N m/rad", 1}, {"kN m/rad", 1e3}, {"N m/arcmin", 60 * 180 / math.Pi}},
	unit.Inertia:               {{"kg m2", 1}, {"kg cm2", 1e-4}, {"g cm2", 1e-7}},
	unit.Time:                  {{"s", 1}, {"ms", 1e-3}, {"min", 60}},
	unit.Span:                  {{"years", 365.25 * 86400}, {"months", 365.25 * 86400 / 12}, {"days", 86400}, {"h", 3600}},
	unit.Temperature:           {{"K", 1}},
	unit.TemperatureDifference: {{"K", 1}, {"°C", 1}, {"°F", 5.0 / 9}},
	unit.RotationSpeed:         {{"rpm", 2 * math.Pi / 60}, {"rad/s", 1}, {"rev/s", 2 * math.Pi}},
	unit.Stiffness:             {{"N/um", 1e6}, {"N/m", 1}, {"kN/mm", 1e6}},
	unit.Stress:                {{"MPa", 1e6}, {"GPa", 1e9}, {"N/mm2", 1e6}},
	unit.Angle:                 {{"deg", math.Pi / 180}, {"rad", 1}},
	unit.Percentage:            {{"%", 0.01}},
	unit.Density:               {{"kg/m3", 1}, {"g/cm3", 1e3}},
	unit.Expansion:             {{"1/K", 1}, {"um/(m K)", 1e-6}},
}

// assumed are the defaults of docs/language.md, in SI units.
var assumed = map[string]float64{
	"load.counterbalance": 0, "load.rope_ratio": 1, "load.screws": 1,
	"motion.move.thrust": 0, "motion.move.payload": 0, "motion.move.dwell": 0, "duty.reliability": 0.9,
	"screw.hardness": 58, "screw.tensile_strength": 500e6, "screw.elastic_modulus": 206e9, "screw.density": 7850,
	"screw.expansion": 11.5e-6, "supports.stretch": 0, "drive.ratio": 1,
	"accuracy.transport_factor": 2,
}

var assumedWords = map[string]string{"screw.turning": "shaft", "accuracy.approach": "both-sides",
	"drive_journal.shoulder": "sharp", "drive_journal.keyway": "none", "drive_journal.groove": "none", "far_journal.shoulder": "sharp", "far_journal.groove": "none"}

// TestRandomAxesAsText writes the random axes of the second calculation down
// in the language, each value in some unit, and reads them: the graph must
// start from what was meant, and from the defaults where nothing was written.
func TestRandomAxesAsText(t *testing.T) {
	for i := range amount.Of(400, 120) {
		rnd := rand.New(rand.NewPCG(3, uint64(i)))
		a := reference.Random(rnd)
		a.CarriedMass = 0 // comes from other axes
		spoken(a)
		s := &testaxis.Sheet{Name: "random", Lines: map[string]string{
			"supports.drive_end_part": "support.s1", "supports.far_end_part": "support.s2",
			"drive.motor": "motor.m1", "drive.coupling": "coupling.c1", "environment": "environment.p1", "lubrication.grease": "grease.g1",
		}}
		for m := range a.Moves {
			s.Moves = append(s.Moves, &testaxis.SheetMove{Name: fmt.Sprintf("m%d", m), Lines: map[string]string{}})
		}
		a.Each(func(path string, move int, field any) {
			if path != "carried.mass" && path != "assumed.case" {
				s.Set(path, move, written(rnd, path, field))
			}
		})
		_, _, v := load(s, t)
		a.Each(func(path string, move int, field any) {
			q := mechanics.ByName(path)
			if q == mechanics.Case {
				return
			}
			got := v.Calc.V(q)
			if move >= 0 {
				got = v.Calc.Series(q)[move]
			}
			switch want := field.(type) {
			case *float64:
				meant := *want
				if d, ok := assumed[path]; ok && math.IsNaN(meant) {
					meant = d
				}
				if math.IsNaN(got) != math.IsNaN(meant) || math.Abs(got-meant) > 1e-12*math.Abs(meant) {
					t.Errorf("axis %d: %s[%d] is %.15g, meant was %.15g\n%s", i, path, move, got, meant, s)
				}
			case *string:
				word, meant := "", *want
				if !math.IsNaN(got) {
					word = q.Words[int(got)]
				}
				if d := assumedWords[path]; meant == "" {
					meant = d
				}
				if word != meant {
					t.Errorf("axis %d: %s is %q, meant was %q\n%s", i, path, word, meant, s)
				}
			}
		})
		if t.Failed() {
			return
		}
	}
}

// spoken changes what the graph could take and the language refuses: moves of
// no distance, and more than one way to declare a ramp.
func spoken(a *reference.Axis) {
	nan := math.NaN()
	for i := range a.Moves {
		m := &a.Moves[i]
		if m.Distance == 0 {
			m.Distance = 0.001
		}
		switch {
		case !math.IsNaN(m.RampUp) || !math.IsNaN(m.RampDown):
			m.Ramp, m.Acceleration, m.Deceleration = nan, nan, nan
		case !math.IsNaN(m.Ramp):
			m.Acceleration, m.Deceleration = nan, nan
		}
	}
}

// written is a value as a person would write it in some unit, "" where there
// is none.
func written(rnd *rand.Rand, path string, field any) string {
	if word, ok := field.(*string); ok {
		if *word == "" {
			return ""
		}
		return fmt.Sprintf("%q", *word)
	}
	v := *field.(*float64)
	if math.IsNaN(v) {
		return ""
	}
	if path == "load.counterbalance_cannot_fail" {
		return `"two ropes"` // that there is a reason counts
	}
	list := spellings[mechanics.ByName(path).Kind]
	if list == nil {
		return fmt.Sprintf("%.17g", v)
	}
	u := list[rnd.IntN(len(list))]
	if path == "screw.end_lengths" {
		return fmt.Sprintf(`["%.17g %s", "%.17g %s"]`, v/u.si/4, u.unit, v/u.si*3/4, u.unit)
	}
	return strings.ReplaceAll(fmt.Sprintf(`"%.17g %s"`, v/u.si, u.unit), "e+", "e")
}
