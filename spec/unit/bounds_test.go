package unit

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// TestTextAtItsLimit: a text of 200 bytes is read, one more is too long.
func TestTextAtItsLimit(t *testing.T) {
	long := "1" + strings.Repeat(" ", maxText-3) + "mm"
	if q, err := Parse(long, Length); err != nil || q.Nominal != 1e-3 {
		t.Errorf("%d bytes: %v, %v", len(long), q, err)
	}
	if got := UnitOf(long); got != "mm" {
		t.Errorf("the unit of %d bytes is %q", len(long), got)
	}
	long = "1 " + long[1:]
	var e *Error
	if _, err := Parse(long, Length); !errors.As(err, &e) || e.Problem != TooLong {
		t.Errorf("%d bytes: %v", len(long), err)
	}
	if got := UnitOf(long); got != "" {
		t.Errorf("the unit of %d bytes is %q", len(long), got)
	}
}

// TestNumbersAtTheEdge: exponents of either case and sign, numbers that are just
// within range, and those beyond it on either side.
func TestNumbersAtTheEdge(t *testing.T) {
	for text, want := range map[string]float64{
		"1e3 mm": 1, "1E3 mm": 1, "1E+3 mm": 1, "1e-3 km": 1, "1.5E0 m": 1.5, "9 m": 9, "0.9 m": 0.9, "19.09 m": 19.09,
		"1.7e308 m": 1.7e308, "-1.7e308 m": -1.7e308, "5e-324 m": 5e-324, "0e999 m": 0,
	} {
		if q, err := Parse(text, Length); err != nil || q.Nominal != want {
			t.Errorf("%s is %g, expected %g: %v", text, q.Nominal, want, err)
		}
	}
	for _, text := range []string{"1.8e308 m", "-1.8e308 m", "-1e308 km", "1e-324 m", "1e-323 nm", "-1e400 m … 1 m", "-1.7e308 m ± 1e308 m"} {
		var e *Error
		if q, err := Parse(text, Length); !errors.As(err, &e) || e.Problem != OutOfRange {
			t.Errorf("%s is read as %v, %v", text, q, err)
		}
	}
	// The middle of a range whose ends add up to more than there is.
	for text, want := range map[string]float64{"1e308 m … 1.5e308 m": 1.25e308, "-1.5e308 m … -1e308 m": -1.25e308} {
		if q, err := Parse(text, Length); err != nil || math.Abs(q.Nominal-want) > 1e293 {
			t.Errorf("the middle of %s is %g: %v", text, q.Nominal, err)
		}
	}
	if q, err := Parse("10 mm … 10 mm", Length); err != nil || !q.Exact() {
		t.Errorf("a range of no width: %v, %v", q, err)
	}
}

// TestConvertAtTheEdge: what overflows is not given, on either side; what was
// unlimited stays so.
func TestConvertAtTheEdge(t *testing.T) {
	for _, sign := range []float64{1, -1} {
		if v, ok := SIOf(sign*1e308, Length, "km"); ok {
			t.Errorf("%g km are %g m", sign*1e308, v)
		}
		if v, ok := In(sign*1e308, Length, "mm"); ok {
			t.Errorf("%g m are %g mm", sign*1e308, v)
		}
		if v, ok := In(math.Inf(int(sign)), Length, "mm"); !ok || v != math.Inf(int(sign)) {
			t.Errorf("unlimited is %g mm, %v", v, ok)
		}
	}
}

// TestDigits: three digits, four from a thousand on, six where exact; no more
// than the value has.
func TestDigits(t *testing.T) {
	for v, want := range map[float64][2]string{
		999.4: {"999", "999.4"}, 1000.4: {"1000", "1000.4"}, 1234.5678: {"1235", "1234.57"}, 12345.678: {"12350", "12345.7"}, 123456.78: {"123500", "123457"},
		0.00012345: {"0.000123", "0.00012345"}, 0.000099994: {"0.0001", "9.9994e-5"}, 100: {"100", "100"}, 1000: {"1000", "1000"}, 1e6: {"1e6", "1e6"}, -1000.6: {"-1001", "-1000.6"},
	} {
		if got := Format(v, None, Metric); got != want[0] {
			t.Errorf("%g is written %s, expected %s", v, got, want[0])
		}
		if got := FormatExact(v, None, Metric); got != want[1] {
			t.Errorf("%g is written %s, expected %s", v, got, want[1])
		}
	}
}

// TestHintsOfPercentages: a share from -1 to 1 was likely meant as one; a larger
// number was not.
func TestHintsOfPercentages(t *testing.T) {
	for text, want := range map[string]string{"0.8": "80 %", "1": "100 %", "-1": "-100 %", "0": "0 %", "1.01": "", "-1.5": "", "80": ""} {
		var e *Error
		if _, err := Parse(text, Percentage); !errors.As(err, &e) || e.Near != want {
			t.Errorf("%s is hinted %q, expected %q", text, e.Near, want)
		}
	}
	// 0.5 of another kind is no percentage.
	var e *Error
	if _, err := Parse("0.5", Length); !errors.As(err, &e) || e.Near != "" {
		t.Errorf("%v", e)
	}
}

// TestConfusedUnits: weight and mass, energy and torque, a frequency for turns:
// units that are often taken for each other are told apart and the right one is
// named.
func TestConfusedUnits(t *testing.T) {
	for _, x := range []struct {
		text string
		kind Kind
		want string
	}{
		{"5 lbf", Mass, "5 lb"}, {"5 ozf", Mass, "5 oz"}, {"5 kgf", Mass, "5 kg"}, {"5 lb", Force, "5 lbf"}, {"5 kg", Force, "5 kgf"},
		{"5 N m", Energy, "5 J"}, {"50 Hz", RotationSpeed, "50 rev/s"}, {"100 lb/in", Stiffness, "100 lbf/in"}, {"100 lb/ft", Stiffness, "100 lbf/ft"},
	} {
		_, err := Parse(x.text, x.kind)
		if err == nil || !strings.Contains(err.Error(), `"`+x.want+`"`) {
			t.Errorf("%s as a %s: %v, expected a hint to %s", x.text, x.kind, err, x.want)
		}
	}
}

// TestReadableNumbers: a value is written with a number from 0.1 up to 10000, as
// long as the kind has a unit, of the same system, that is coarse or fine enough.
// What is usual in the trade sets where units change; no source.
func TestReadableNumbers(t *testing.T) {
	for k := Length; k < numKinds; k++ {
		for _, sys := range []System{Metric, Inch} {
			// The coarsest and the finest unit that is ever written.
			size := func(si float64) (float64, float64) {
				number, name, _ := strings.Cut(strings.Replace(FormatExact(si, k, sys), "°", " °", 1), " ")
				v, err := Parse(number, None)
				if err != nil {
					t.Fatalf("%s: %g is written %s", k, si, FormatExact(si, k, sys))
				}
				one, _ := SIOf(1, k, name)
				return v.Nominal, one
			}
			switch k {
			case Temperature: // a scale, not a size
				continue
			case Area, SecondMoment, Acceleration: // their units lie further apart
				continue
			case Stiffness:
				if sys == Inch { // kip/in begins at 100 000 lbf/in
					continue
				}
			}
			_, coarse := size(1e30)
			_, fine := size(1e-30)
			for si := fine; si < 100*coarse; si *= 1.37 {
				if number, _ := size(si); number < 0.0999 || number > 10001 {
					t.Errorf("%s: %s", k, FormatExact(si, k, sys))
				}
			}
		}
	}
}

// TestZero: nothing at all is written in the unit in which the trade writes most
// values of the kind; common practice, no source.
func TestZero(t *testing.T) {
	for k, want := range map[Kind][2]string{
		Length: {"0 mm", "0 in"}, Force: {"0 N", "0 lbf"}, Mass: {"0 kg", "0 lb"}, Torque: {"0 N·m", "0 lbf·in"}, Inertia: {"0 kg·cm²", "0 lb·in²"},
		Time: {"0 s", "0 s"}, Span: {"0 h", "0 h"}, RotationSpeed: {"0 rpm", "0 rpm"}, Stiffness: {"0 N/µm", "0 lbf/in"}, Stress: {"0 MPa", "0 psi"},
		Angle: {"0°", "0°"}, Percentage: {"0 %", "0 %"}, Area: {"0 mm²", "0 in²"}, SecondMoment: {"0 mm⁴", "0 in⁴"}, Power: {"0 W", "0 hp"}, Energy: {"0 J", "0 ft·lbf"},
		Frequency: {"0 Hz", "0 Hz"}, Revolutions: {"0 rev", "0 rev"}, RotationalStiffness: {"0 N·m/rad", "0 lbf·in/rad"}, Speed: {"0 m/s", "0 in/s"}, None: {"0", "0"},
	} {
		if got := [2]string{Format(0, k, Metric), Format(0, k, Inch)}; got != want {
			t.Errorf("%s: %q, expected %q", k, got, want)
		}
	}
}

// TestSpaces: the spaces that typists use all stand for the dot of a product.
func TestSpaces(t *testing.T) {
	for _, space := range []string{" ", "\u00a0", "\u2009", "\u202f", "*", "·"} {
		for text, k := range map[string]Kind{"N" + space + "m": Torque, "kg" + space + "m²": Inertia, "µm/(m" + space + "K)": Expansion} {
			if _, err := Parse("2 "+text, k); err != nil {
				t.Errorf("%+q: %v", text, err)
			}
		}
	}
}
