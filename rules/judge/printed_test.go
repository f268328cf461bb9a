package judge

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/spec"
	"trammel/spec/unit"
)

// TestEqualTemperatures: a place as hot, or as cold, as its grease permits is the
// same in degrees Celsius and Fahrenheit, whoever writes which; a tenth of a
// degree more is not.
func TestEqualTemperatures(t *testing.T) {
	judged := func(place, grease string, low bool) State {
		end := "max_temperature"
		if low {
			end = "min_temperature"
		}
		return judge(testaxis.WholeSheet().With("accuracy.temperature_rise", "", "environment.min_temperature", `"20 °C"`, "environment.max_temperature", `"20 °C"`, "grease.min_temperature", `"-200 °C"`, "grease.max_temperature", `"900 °C"`).
			With("environment."+end, `"`+place+`"`, "grease."+end, `"`+grease+`"`), Options{}).results["lubricant-environment"].State
	}
	for c := -60; c <= 195; c += 5 {
		celsius, fahrenheit := fmt.Sprintf("%d °C", c), fmt.Sprintf("%d °F", c*9/5+32)
		for _, low := range []bool{true, false} {
			if low == (c > 20) {
				continue // the other end is at 20 °C
			}
			if judged(celsius, fahrenheit, low) != Passed || judged(fahrenheit, celsius, low) != Passed {
				t.Errorf("%s and %s are not equal", celsius, fahrenheit)
			}
			beyond := fmt.Sprintf("%d.1 °C", c)
			if low {
				beyond = fmt.Sprintf("%.1f °C", float64(c)-0.1)
			}
			if judged(beyond, fahrenheit, low) != Failed {
				t.Errorf("%s is as good as %s", beyond, fahrenheit)
			}
		}
	}
}

// TestSensitivityByText writes each value that the sheet says moves a margin down
// with 1 % more, judges the text, and takes the difference of the margins: a
// second way to every figure of the sensitivities.
func TestSensitivityByText(t *testing.T) {
	compared := 0
	for _, lines := range [][]string{
		{"screw.hardness", "57.2"}, // below 58 HRC it counts
		{"orientation", `"vertical"`, "supports.drive_at", `"bottom"`, "motor.brake_torque", `"2 N m"`, "screw.hardness", "58"},
	} {
		s := certain().With(lines...) // what is assumed moves the margin at its worst end
		j, b, v := load(s, t)
		rep := j.Judge(b, v.Axis, nil)
		hardness := false
		tight := rep.Sensitivities(100)
		moved := map[string]float64{}
		for _, sv := range tight {
			for _, in := range sv.Inputs {
				moved[fmt.Sprint(sv.Rule, in.Field.Path, in.Move, sv.Utilisation)] = in.Shift
			}
		}
		for _, f := range spec.Language().Fields {
			for move := -1; move < len(s.Moves); move++ {
				more, ok := grown(valueAt(v.Axis, f, move))
				if !ok {
					continue
				}
				other := s.Copy()
				other.Set(f.Path, move, more)
				got := judge(other, Options{})
				for _, sv := range tight {
					use := got.results[sv.Rule].Utilisation
					if len(Book().ByName(sv.Rule).Tests) > 1 || use != use {
						continue // which of its limits governs may change; or it is not judged any more
					}
					want, said := Margin(use)-Margin(sv.Utilisation), moved[fmt.Sprint(sv.Rule, f.Path, move, sv.Utilisation)]
					if math.Abs(want-said) > 1e-6*math.Max(1, math.Abs(want)) {
						t.Errorf("%s: %s = %s moves the margin by %.6g, the sheet says %.6g", sv.Rule, f.Path, more, want, said)
					}
					if said != 0 {
						compared++
						hardness = hardness || sv.Rule == "life-margin" && f.Path == "screw.hardness"
					}
				}
			}
		}
		if hardness != (lines[1] == "57.2") {
			t.Errorf("%q: the hardness moves the life: %v", lines, hardness)
		}
	}
	if compared < 150 {
		t.Errorf("%d shifts compared", compared)
	}
}

// valueAt is a field's value: of the axis where move is -1, else of that move.
func valueAt(a *spec.Axis, f *spec.Field, move int) *spec.Value {
	switch inMove := strings.HasPrefix(f.Path, "motion.move."); {
	case inMove && move >= 0:
		return a.Moves[move].Get(f)
	case !inMove && move < 0:
		return a.Get(f)
	}
	return nil
}

// grown writes a value with 1 % more, where it is one number.
func grown(x *spec.Value) (string, bool) {
	if x == nil || x.Bad || x.Field.Pair || x.Field.Sort != spec.Quantity && x.Field.Sort != spec.Number || x.Field.Unit == unit.Temperature || x.Field.Name == "screws" {
		return "", false
	}
	text := strings.TrimSpace(x.Text)
	number := strings.TrimSpace(strings.TrimSuffix(text, unit.UnitOf(text)))
	f, err := strconv.ParseFloat(number, 64)
	if err != nil || f == 0 {
		return "", false
	}
	more := strconv.FormatFloat(f*1.01, 'g', 15, 64)
	if x.Field.Sort == spec.Number {
		return more, true
	}
	return `"` + more + " " + unit.UnitOf(text) + `"`, true
}
