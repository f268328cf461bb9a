package unit

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func near(a, b, rel float64) bool {
	return a == b || !math.IsInf(a, 0) && math.Abs(a-b) <= rel*math.Max(math.Abs(a), math.Abs(b))
}

func TestExactDefinitions(t *testing.T) {
	for _, c := range []struct {
		text string
		kind Kind
		want float64
	}{
		{"1 in", Length, 0.0254},
		{"1 ft", Length, 0.3048},
		{"1 yd", Length, 0.9144},
		{"1 mil", Length, 25.4e-6},
		{"35 mm", Length, 0.035},
		{"12 µm", Length, 12e-6},
		{"12 μm", Length, 12e-6},
		{"12um", Length, 12e-6},
		{"1 lb", Mass, 0.45359237},
		{"16 oz", Mass, 0.45359237},
		{"1 slug", Mass, 14.593902937206364},
		{"5 g", Mass, 0.005},
		{"1 lbf", Force, 4.4482216152605},
		{"16 ozf", Force, 4.4482216152605},
		{"1 kgf", Force, 9.80665},
		{"1 hp", Power, 745.69987158227022},
		{"1 g", Acceleration, 9.80665},
		{"1 psi", Stress, 6894.757293168361},
		{"1 lbf in", Torque, 0.1129848290276167},
		{"1 ft lbf", Torque, 1.3558179483314004},
		{"1 ft lbf", Energy, 1.3558179483314004},
		{"1 lbf in s2", Inertia, 0.1129848290276167},
		{"1 lb in2", Inertia, 2.926396534292e-4},
		{"20 N/um", Stiffness, 20e6},
		{"36 km/h", Speed, 10},
		{"60 rpm", RotationSpeed, 2 * math.Pi},
		{"60 1/min", RotationSpeed, 2 * math.Pi},
		{"60 min⁻¹", RotationSpeed, 2 * math.Pi},
		{"1 1/s", RotationSpeed, 2 * math.Pi},
		{"1 1/s", Frequency, 1},
		{"180°", Angle, math.Pi},
		{"180 deg", Angle, math.Pi},
		{"80 %", Percentage, 0.8},
		{"80%", Percentage, 0.8},
		{"1 year", Span, 31557600},
		{"12 months", Time, 31557600},
		{"2 h", Span, 7200},
		{"20 °C", Temperature, 293.15},
		{"68 degF", Temperature, 293.15},
		{"-273.15 °C", Temperature, 0},
		{"-459.67 °F", Temperature, 0},
		{"18 °F", TemperatureDifference, 10},
		{"12 °C", TemperatureDifference, 12},
		{"11.5 um/(m K)", Expansion, 11.5e-6},
		{"11.5e-6 1/K", Expansion, 11.5e-6},
		{"1e6 rev", Revolutions, 1e6},
		{"60000 mm/min", SpeedFactor, 2 * math.Pi},
		{"2 kg·m²", Inertia, 2},
		{"2 kg*m^2", Inertia, 2},
		{"2  kg m ^2", Inertia, math.NaN()},
		{"3 m / s", Speed, 3},
		{"3\u00a0m/s", Speed, 3},
		{"+3e0 m/s", Speed, 3},
		{"−3 m/s", Speed, -3},
		{"-0 mm", Length, 0},
		// As data sheets and drawings write them.
		{"5/8 in", Length, 0.015875},
		{"15 3/4 in", Length, 0.40005},
		{"15-3/4 in", Length, 0.40005},
		{"0.26 kgcm²", Inertia, 2.6e-5},
		{"0.26 kgcm2", Inertia, 2.6e-5},
		{"12 Nm", Torque, 12},
		{"12 Ncm", Torque, 0.12},
		{"10 kp", Force, 98.0665},
		{"1.5 kpm", Torque, 14.709975},
		{"60 U/min", RotationSpeed, 2 * math.Pi},
		{"60 tr/min", RotationSpeed, 2 * math.Pi},
		{"60 min-1", RotationSpeed, 2 * math.Pi},
		{"20 ℃", Temperature, 293.15},
		{"68 ℉", Temperature, 293.15},
		{"1.5", None, 1.5},
		{" 2e3 ", None, 2000},
	} {
		q, err := Parse(c.text, c.kind)
		if math.IsNaN(c.want) {
			if err == nil {
				t.Errorf("Parse(%q): no error", c.text)
			}
			continue
		}
		if err != nil {
			t.Errorf("Parse(%q, %v): %v", c.text, c.kind, err)
		} else if !near(q.Nominal, c.want, 4e-16) || math.Signbit(q.Nominal) != math.Signbit(c.want) || !q.Exact() {
			t.Errorf("Parse(%q, %v) = %v, want %.17g", c.text, c.kind, q, c.want)
		}
	}
}

func TestDecimalFractionsRoundOnce(t *testing.T) {
	for i := range 10000 {
		q, err := Parse(fmt.Sprintf("%d mm", i), Length)
		if want := float64(i) / 1000; err != nil || q.Nominal != want {
			t.Fatalf("%d mm = %v, %v", i, q, err)
		}
	}
}

func TestTolerances(t *testing.T) {
	for _, c := range []struct {
		text string
		kind Kind
		want Quantity
	}{
		{"40 kg ± 5 kg", Mass, Quantity{40, 35, 45}},
		{"40 kg +- 500 g", Mass, Quantity{40, 39.5, 40.5}},
		{"40 kg+/-5kg", Mass, Quantity{40, 35, 45}},
		{"40 kg ± 10 %", Mass, Quantity{40, 36, 44}},
		{"-40 N ± 10 %", Force, Quantity{-40, -44, -36}},
		{"35 kg … 45 kg", Mass, Quantity{40, 35, 45}},
		{"35 … 45 kg", Mass, Quantity{40, 35, 45}},
		{"35..45 kg", Mass, Quantity{40, 35, 45}},
		{"35...45 kg", Mass, Quantity{40, 35, 45}},
		{"0.5..1.5", None, Quantity{1, 0.5, 1.5}},
		{"5 ± 1", None, Quantity{5, 4, 6}},
		{"5 ± 20 %", None, Quantity{5, 4, 6}},
		{"80 % ± 5 %", Percentage, Quantity{0.8, 0.75, 0.85}},
		{"20 °C ± 5 K", Temperature, Quantity{293.15, 288.15, 298.15}},
		{"20 °C ± 9 °F", Temperature, Quantity{293.15, 288.15, 298.15}},
		{"15 … 25 °C", Temperature, Quantity{293.15, 288.15, 298.15}},
		{"1e308 m … 1.5e308 m", Length, Quantity{1.25e308, 1e308, 1.5e308}},
	} {
		q, err := Parse(c.text, c.kind)
		if err != nil {
			t.Errorf("Parse(%q): %v", c.text, err)
		} else if !near(q.Nominal, c.want.Nominal, 1e-15) || !near(q.Low, c.want.Low, 1e-15) || !near(q.High, c.want.High, 1e-15) || q.Exact() {
			t.Errorf("Parse(%q) = %v, want %v", c.text, q, c.want)
		}
	}
}

func TestErrors(t *testing.T) {
	long := strings.Repeat("ä", 150)
	for _, c := range []struct {
		text    string
		kind    Kind
		problem Problem
		near    string
		message string
	}{
		{"", Length, Empty, "", `the text is empty; a length is expected, such as "20 mm" or "20 in"`},
		{"  ", Angle, Empty, "", `the text is empty; an angle is expected, such as "20 deg" or "20 mrad"`},
		{"mm", Length, NoNumber, "", `"mm" has no number; a length is expected, such as "20 mm" or "20 in"`},
		{"many", None, NoNumber, "", `"many" has no number; a plain number is expected, such as "20"`},
		{"20", Length, NoUnit, "", `"20" has no unit; a length is expected, such as "20 mm" or "20 in"`},
		{"0.8", Percentage, NoUnit, "80 %", `"0.8" has no unit; a percentage is expected, such as "80 %"`},
		{"80", Percentage, NoUnit, "", `"80" has no unit; a percentage is expected, such as "80 %"`},
		{"20 kg", Length, WrongKind, "", `"20 kg" is a mass; a length is expected, such as mm, m or in`},
		{"20 g", Length, WrongKind, "", `"20 g" is a mass; a length is expected, such as mm, m or in`},
		{"20 kilograms", Length, WrongKind, "", `"20 kilograms" is a mass; a length is expected, such as mm, m or in`},
		{"12 lb", Force, WrongKind, "lbf", `"12 lb" is a mass; a force is expected: did you mean "12 lbf"?`},
		{"2 nm", Torque, WrongKind, "N m", `"2 nm" is a length; a torque is expected: did you mean "2 N m"?`},
		{"5 kg", None, WrongKind, "", `"5 kg" is a mass; a plain number is expected, such as "5"`},
		{"80 %", None, WrongKind, "0.8", `"80 %" is a percentage; a plain number is expected, such as "0.8"`},
		{"20 MM", Length, UnknownUnit, "mm", `"20 MM" has the unknown unit "MM"; did you mean "20 mm"?`},
		{"20 foobar", Length, UnknownUnit, "", `"20 foobar" has the unknown unit "foobar"; a length is expected, such as mm, m or in`},
		{"5 foobar", None, UnknownUnit, "", `"5 foobar" has the unknown unit "foobar"; a plain number is expected, such as "5"`},
		{"1,5 mm", Length, BadNumber, "1.5 mm", `"1,5 mm" is not written as a plain decimal number; write "1.5 mm"`},
		{"1,000 mm", Length, BadNumber, "", `"1,000 mm" can be read in two ways; write "1000 mm" or "1.000 mm"`},
		{"1e400 mm", Length, OutOfRange, "", `"1e400 mm" is too large a number; a length is expected, such as "20 mm" or "20 in"`},
		{"1e308 km", Length, OutOfRange, "", `"1e308 km" is too large a number; a length is expected, such as "20 mm" or "20 in"`},
		{"1e-400 m", Length, OutOfRange, "", `"1e-400 m" is too close to zero to be told from it; a length is expected, such as "20 mm" or "20 in"`},
		{"-300 °C", Temperature, OutOfRange, "", `"-300 °C" reaches below absolute zero, -273.15 °C; a temperature is expected, such as "20 degC" or "20 degF"`},
		{"40 kg ± 5", Mass, NoUnit, "40 kg ± 5 kg", `"40 kg ± 5" has a part without a unit; write "40 kg ± 5 kg"`},
		{"40 ± 5 kg", Mass, NoUnit, "40 kg ± 5 kg", `"40 ± 5 kg" has a part without a unit; write "40 kg ± 5 kg"`},
		{"35 kg … 45", Mass, NoUnit, "35 kg … 45 kg", `"35 kg … 45" has a part without a unit; write "35 kg … 45 kg"`},
		{"40 kg ± -5 kg", Mass, BadTolerance, "40 kg ± 5 kg", `"40 kg ± -5 kg" is not understood: the tolerance is negative; write "40 kg ± 5 kg"`},
		{"45 … 35 kg", Mass, BadTolerance, "35 kg … 45 kg", `"45 … 35 kg" is not understood: its low end is above its high end; write "35 kg … 45 kg"`},
		{"35-45 kg", Mass, BadTolerance, "", `"35-45 kg" is not understood: its tolerance has another form; write a tolerance as "40 kg ± 5 kg" or a range as "35 kg … 45 kg"`},
		{"20 °C ± 5 %", Temperature, BadTolerance, "", `"20 °C ± 5 %" is not understood: a share of a temperature has no meaning; write a tolerance as "40 degC ± 5 K" or a range as "35 degC … 45 degC"`},
		{long, Length, TooLong, "", `"` + strings.Repeat("ä", 30) + `…" is too long; a length is expected, such as "20 mm" or "20 in"`},

		{"40 ± 10 %", Mass, NoUnit, "", ""},
		{"40 kg ±", Mass, BadTolerance, "", ""},
		{"± 5 kg", Mass, BadTolerance, "", ""},
		{"40 kg ± 5 kg ± 1 kg", Mass, BadTolerance, "", ""},
		{"35 kg to 45 kg", Mass, BadTolerance, "", ""},
		{"40 kg +5/-3 kg", Mass, BadTolerance, "", ""},
		{"0 kg ± -5 %", Mass, BadTolerance, "0 kg ± 5 %", ""},
		{"10 K ± 20 K", Temperature, OutOfRange, "", ""},
		{"1 000 mm", Length, BadNumber, "1000 mm", ""},
		{"1 000.5", None, BadNumber, "1000.5", ""},
		{".5 mm", Length, BadNumber, "0.5 mm", ""},
		{"-.5 mm", Length, BadNumber, "-0.5 mm", ""},
		{"5. mm", Length, BadNumber, "5 mm", ""},
		{"- 5 mm", Length, BadNumber, "-5 mm", ""},
		{"--5 mm", Length, BadNumber, "", ""},
		{"--5", None, BadNumber, "", ""},
		{"1.2.3 mm", Length, BadNumber, "", ""},
		{"0x10 mm", Length, BadNumber, "", ""},
		{"1_000 mm", Length, BadNumber, "", ""},
		{"1'000 mm", Length, BadNumber, "", ""},
		{"2/3 in", Length, BadNumber, "", ""},
		{"5/4 in", Length, BadNumber, "", ""},
		{"1/2 mm", Length, BadNumber, "", ""},
		{"1/0 in", Length, BadNumber, "", ""},
		// What is proposed is of the magnitude that was written, or nothing is.
		{"310 Nµm", Stiffness, UnknownUnit, "", ""},
		{"50 my", Length, UnknownUnit, "um", ""},
		{"10 mm/rev", Length, UnknownUnit, "mm", ""},
		{"10 in/U", Length, UnknownUnit, "in", ""},
		{"5 mn", Force, UnknownUnit, "", ""},
		{"5 mw", Power, UnknownUnit, "", ""},
		{"5 mkm", Length, UnknownUnit, "", ""},
		{"5 mHz", Frequency, UnknownUnit, "", ""},
		{"5 mPa", Stress, UnknownUnit, "", ""},
		{"5 Mm", Length, UnknownUnit, "", ""},
		{"5 Mm/s", Speed, UnknownUnit, "", ""},
		{"5 Mpa", Stress, UnknownUnit, "MPa", ""},
		{"5 mhz", Frequency, UnknownUnit, "", ""},
		{"5 MM/S", Speed, UnknownUnit, "mm/s", ""},
		{"NaN mm", Length, BadNumber, "", ""},
		{"-Inf", None, BadNumber, "", ""},
		{"infinity mm", Length, BadNumber, "", ""},
		{"-", None, NoNumber, "", ""},
		{"20 (mm)", Length, UnknownUnit, "", ""},
		{"20 mm)", Length, UnknownUnit, "", ""},
		{"2 N-m", Torque, UnknownUnit, "N m", ""},
	} {
		_, err := Parse(c.text, c.kind)
		e, ok := errors.AsType[*Error](err)
		if !ok {
			t.Errorf("Parse(%q, %v): error %v, want an *Error", c.text, c.kind, err)
			continue
		}
		if e.Problem != c.problem || e.Near != c.near || e.Want != c.kind {
			t.Errorf("Parse(%q, %v): problem %d near %q, want %d %q (%v)", c.text, c.kind, e.Problem, e.Near, c.problem, c.near, err)
		}
		if c.message != "" && err.Error() != c.message {
			t.Errorf("Parse(%q, %v):\n got %s\nwant %s", c.text, c.kind, err, c.message)
		}
		if e.Near != "" {
			fixed := e.Near
			if (e.Problem == UnknownUnit || e.Problem == WrongKind) && c.kind != None {
				fixed = "1 " + fixed
			}
			if _, err := Parse(fixed, c.kind); err != nil {
				t.Errorf("Parse(%q): the proposal %q does not parse: %v", c.text, fixed, err)
			}
		}
	}
}

func TestUnitOfFraction(t *testing.T) {
	for _, text := range []string{"5/8 in", "15 3/4 in", "5/8 in ± 1/64 in"} {
		if got := UnitOf(text); got != "in" {
			t.Errorf("UnitOf(%q) = %q", text, got)
		}
	}
}

func TestNearUnits(t *testing.T) {
	for _, c := range []struct {
		unit string
		kind Kind
		want string
	}{
		{"KG", Mass, "kg"}, {"Rpm", RotationSpeed, "rpm"}, {"RPM", RotationSpeed, "rpm"}, {"Mpa", Stress, "MPa"},
		{"millimeters", Length, "mm"}, {"Millimetre", Length, "mm"}, {"inches", Length, "in"}, {"inch", Length, "in"}, {"feet", Length, "ft"},
		{"newton", Force, "N"}, {"Newtons", Force, "N"}, {"seconds", Time, "s"}, {"sec", Time, "s"},
		{"degrees", Angle, "deg"}, {"degrees", Temperature, "degC"}, {"C", Temperature, "degC"}, {"deg C", Temperature, "degC"},
		{"pounds", Mass, "lb"}, {"pounds", Force, "lbf"}, {"lbs", Mass, "lb"}, {"lbs", Force, "lbf"},
		{"kgm", Mass, "kg"}, {"lb in", Torque, "lbf in"}, {"oz in", Torque, "ozf in"}, {"Kgm2", Inertia, "kgm2"},
		{"percent", Percentage, "%"}, {"hours", Span, "h"}, {"yr", Span, "year"}, {"kmh", Speed, "km/h"}, {"NM", Torque, "Nm"},
		{"x", Length, ""},
	} {
		_, err := Parse("2 "+c.unit, c.kind)
		e, ok := errors.AsType[*Error](err)
		if !ok || e.Problem != UnknownUnit || e.Near != c.want || e.Unit != c.unit {
			t.Errorf("unit %q for %v: %#v, want near %q", c.unit, c.kind, e, c.want)
		}
	}
}

func TestEverySpelling(t *testing.T) {
	for k := range numKinds {
		for _, name := range k.Units() {
			x, ok := In(1e3, k, name)
			if !ok {
				t.Errorf("%v has no unit %q", k, name)
				continue
			}
			text := join(number(x, roughDigits), name)
			q, err := Parse(text, k)
			if err != nil || !near(q.Nominal, 1e3, 5e-3) {
				t.Errorf("%v: %q reads as %v, %v", k, text, q, err)
			}
			v, _ := In(7, k, name)
			if si, ok := SIOf(v, k, name); !ok || !near(si, 7, 1e-9) {
				t.Errorf("%v: In and SIOf differ for %q: %v", k, name, si)
			}
			if got := UnitOf("12 " + name); got != name {
				t.Errorf("UnitOf(12 %s) = %q", name, got)
			}
			for _, variant := range []string{
				strings.ReplaceAll(name, "·", "*"), strings.ReplaceAll(name, "·", " · "), strings.ReplaceAll(name, "·", "⋅"),
				strings.ReplaceAll(name, "²", "^2"), strings.ReplaceAll(name, "³", "^3"), strings.ReplaceAll(name, "⁴", "^4"),
				strings.ReplaceAll(name, "µ", "μ"), strings.ReplaceAll(name, "/", " / "), strings.ReplaceAll(name, "-1", "⁻¹"),
			} {
				if lookup(k, variant) != lookup(k, name) {
					t.Errorf("%v: %q is not %q", k, variant, name)
				}
			}
		}
	}
}

// TestUnitsAreUnambiguous guards the table: within a kind a spelling has one meaning.
func TestUnitsAreUnambiguous(t *testing.T) {
	for k := range numKinds {
		for i := range kinds[k].units {
			for _, s := range kinds[k].units[i].spellings() {
				if lookup(k, s) != &kinds[k].units[i] {
					t.Errorf("%v: %q names two units", k, s)
				}
			}
		}
	}
}

// TestKindOfSI: the unit of a kind leads back to a kind of that unit.
func TestKindOfSI(t *testing.T) {
	for k := range Kind(Kinds) {
		if got, ok := KindOfSI(k.SI()); !ok || got.SI() != k.SI() {
			t.Errorf("%s: %s of %s", k, got, k.SI())
		}
	}
	if k, ok := KindOfSI("furlong"); ok || k != None {
		t.Error(k)
	}
}

func TestKinds(t *testing.T) {
	seen := map[string]bool{}
	for k := range numKinds {
		if k.String() == "" || seen[k.String()] {
			t.Errorf("kind %d has the name %q", k, k)
		}
		seen[k.String()] = true
		if k == None {
			continue
		}
		if r := lookup(k, k.SI()); k != Percentage && (r == nil || r.factor != 1 || r.offset != 0) {
			t.Errorf("%v: %q is not its SI unit", k, k.SI())
		}
		for _, name := range kinds[k].examples {
			if lookup(k, name) == nil {
				t.Errorf("%v: example %q is no unit", k, name)
			}
		}
		for _, s := range slices.Concat(kinds[k].metric, kinds[k].inch) {
			if index[k][s.unit] == nil {
				t.Errorf("%v: scale in the unknown unit %q", k, s.unit)
			}
		}
	}
	if got := Angle.WithArticle() + ", " + Length.WithArticle(); got != "an angle, a length" {
		t.Error(got)
	}
	if got := Torque.Exponents(); got != [4]int8{1, 2, -2, 0} {
		t.Error(got)
	}
	if got := Length.Examples(); got != "mm, m, in" {
		t.Error(got)
	}
	if got := Kind(200); got.String() == "" || got.Units() != nil || Format(3, got, Inch) != "3" {
		t.Error("a kind out of range is not harmless")
	}
}

func TestConvertible(t *testing.T) {
	for _, c := range []struct {
		a, b Kind
		want bool
	}{
		{Length, Length, true}, {Time, Span, true}, {Percentage, None, true}, {Length, Speed, false},
		{Torque, Energy, false}, {Temperature, TemperatureDifference, false}, {RotationSpeed, Frequency, false},
		{Speed, SpeedFactor, false}, {Angle, None, false}, {Revolutions, None, false},
	} {
		if Convertible(c.a, c.b) != c.want || Convertible(c.b, c.a) != c.want {
			t.Errorf("Convertible(%v, %v) is not %v", c.a, c.b, c.want)
		}
	}
	for a := range numKinds {
		for b := range numKinds {
			if Convertible(a, b) && a.Exponents() != b.Exponents() {
				t.Errorf("%v and %v are convertible but differ in dimension", a, b)
			}
		}
	}
}

func TestFormat(t *testing.T) {
	rpm := 2 * math.Pi / 60
	for _, c := range []struct {
		si    float64
		kind  Kind
		sys   System
		rough string
		exact string
	}{
		{3600 * rpm, RotationSpeed, Metric, "3600 rpm", "3600 rpm"},
		{3614 * rpm, RotationSpeed, Metric, "3614 rpm", "3614 rpm"},
		{0.534, Speed, Metric, "0.534 m/s", "0.534 m/s"},
		{0.05, Speed, Metric, "50 mm/s", "50 mm/s"},
		{0.0172, Length, Metric, "17.2 mm", "17.2 mm"},
		{0.0172345678, Length, Metric, "17.2 mm", "17.2346 mm"},
		{0.0001, Length, Metric, "0.1 mm", "0.1 mm"},
		{12e-6, Length, Metric, "12 µm", "12 µm"},
		{0.0254, Length, Inch, "1 in", "1 in"},
		{12400, Force, Metric, "12.4 kN", "12.4 kN"},
		{9999.6, Force, Metric, "10000 N", "9999.6 N"},
		{0.8, Percentage, Metric, "80 %", "80 %"},
		{9.8 * 31557600, Span, Metric, "9.8 years", "9.8 years"},
		{3 * 31557600 / 12, Span, Metric, "3 months", "3 months"},
		{86400, Span, Metric, "24 h", "24 h"},
		{3 * 86400, Span, Metric, "3 days", "3 days"},
		{90, Time, Metric, "90 s", "90 s"},
		{0.05, Time, Metric, "50 ms", "50 ms"},
		{293.15, Temperature, Metric, "20 °C", "20 °C"},
		{293.15, Temperature, Inch, "68 °F", "68 °F"},
		{273.15 - 1e-13, Temperature, Metric, "0 °C", "0 °C"},
		{12, TemperatureDifference, Metric, "12 K", "12 K"},
		{math.Pi / 4, Angle, Metric, "45°", "45°"},
		{2e-4, Inertia, Metric, "2 kg·cm²", "2 kg·cm²"},
		{210e9, Stress, Metric, "210 GPa", "210 GPa"},
		{200e6, Stiffness, Metric, "200 N/µm", "200 N/µm"},
		{1234567, Revolutions, Metric, "1.235e6 rev", "1.23457e6 rev"},
		{999999, Revolutions, Metric, "1e6 rev", "999999 rev"},
		{1e-5, None, Metric, "1e-5", "1e-5"},
		{1e-4, None, Metric, "0.0001", "0.0001"},
		{1.0 / 3, None, Metric, "0.333", "0.333333"},
		{11.5e-6, Expansion, Metric, "11.5 µm/(m·K)", "11.5 µm/(m·K)"},
		{0, Length, Metric, "0 mm", "0 mm"},
		{math.Copysign(0, -1), Force, Metric, "0 N", "0 N"},
		{-0.0172, Length, Metric, "-17.2 mm", "-17.2 mm"},
		{math.Inf(1), Span, Metric, "unlimited", "unlimited"},
		{math.Inf(-1), Force, Inch, "-unlimited", "-unlimited"},
		{math.NaN(), Force, Inch, "undefined", "undefined"},
	} {
		if got := Format(c.si, c.kind, c.sys); got != c.rough {
			t.Errorf("Format(%v, %v) = %q, want %q", c.si, c.kind, got, c.rough)
		}
		if got := FormatExact(c.si, c.kind, c.sys); got != c.exact {
			t.Errorf("FormatExact(%v, %v) = %q, want %q", c.si, c.kind, got, c.exact)
		}
	}
}

func TestUnitOf(t *testing.T) {
	for text, want := range map[string]string{
		"0.6 m/s": "m/s", "20": "", "": "", "mm": "", "80%": "%", "40 kg ± 5 lb": "kg", "35 … 45 kg": "kg",
		"3000 1/min": "1/min", "20 foo": "foo", "2e3 rev": "rev", "1,5 mm": "",
	} {
		if got := UnitOf(text); got != want {
			t.Errorf("UnitOf(%q) = %q, want %q", text, got, want)
		}
	}
}

func drawValue(t *rapid.T, k Kind) float64 {
	if k == Temperature {
		return rapid.Float64Range(50, 2000).Draw(t, "kelvin")
	}
	v := rapid.Float64Range(1, 10).Draw(t, "mantissa") * math.Pow(10, float64(rapid.IntRange(-12, 12).Draw(t, "exponent")))
	if rapid.Bool().Draw(t, "negative") {
		v = -v
	}
	return v
}

var drawKind = rapid.Custom(func(t *rapid.T) Kind { return Kind(rapid.IntRange(0, int(numKinds)-1).Draw(t, "kind")) })

func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawKind.Draw(t, "k")
		si := drawValue(t, k)
		sys := rapid.SampledFrom([]System{Metric, Inch}).Draw(t, "system")
		for _, c := range []struct {
			write     func(float64, Kind, System) string
			tolerance float64
		}{{Format, 0.5e-2}, {FormatExact, 0.5e-5}} {
			text := c.write(si, k, sys)
			q, err := Parse(text, k)
			if err != nil {
				t.Fatalf("%v: %q: %v", k, text, err)
			}
			bound := c.tolerance * math.Abs(si) * (1 + 1e-9)
			if k == Temperature { // digits count from the zero of the scale shown
				bound = c.tolerance * 3700
			}
			if math.Abs(q.Nominal-si) > bound {
				t.Fatalf("%v: %v is written %q and read %v", k, si, text, q.Nominal)
			}
			if again := c.write(q.Nominal, k, sys); again != text {
				if r, err := Parse(again, k); err != nil || !near(r.Nominal, q.Nominal, c.tolerance) {
					t.Fatalf("%v: %q is written again as %q", k, text, again)
				}
			}
		}
	})
}

func TestMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawKind.Draw(t, "k")
		a, b := drawValue(t, k), drawValue(t, k)
		if a > b {
			a, b = b, a
		}
		for _, name := range append(k.Units(), "") {
			va, ok := In(a, k, name)
			vb, _ := In(b, k, name)
			if ok && va > vb {
				t.Fatalf("%v: %v < %v but not in %q", k, a, b, name)
			}
		}
		qa, errA := Parse(Format(a, k, Metric), k)
		qb, errB := Parse(Format(b, k, Metric), k)
		// At a change of unit the digits shown differ, hence the allowance.
		if errA != nil || errB != nil || qa.Nominal > qb.Nominal+0.5e-2*math.Abs(qb.Nominal) {
			t.Fatalf("%v: %v < %v but written %v > %v", k, a, b, qa, qb)
		}
	})
}

func TestTolerancesHoldTheNominal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(-1e9, 1e9).Draw(t, "a")
		b := rapid.Float64Range(0, 1e9).Draw(t, "b")
		sign := rapid.SampledFrom([]string{"±", "+-", "+/-", "…", "..", "..."}).Draw(t, "sign")
		text := fmt.Sprintf("%.9g mm %s %.9g mm", a, sign, b)
		q, err := Parse(text, Length)
		if err == nil && !(q.Low <= q.Nominal && q.Nominal <= q.High) {
			t.Fatalf("%q = %v", text, q)
		}
		if e, ok := errors.AsType[*Error](err); err != nil && (!ok || e.Problem != BadTolerance || a <= b) {
			t.Fatalf("%q: %v", text, err)
		}
	})
}

// checkText holds what is true of every text whatsoever.
func checkText(t interface{ Fatalf(string, ...any) }, text string, k Kind) {
	q, err := Parse(text, k)
	UnitOf(text)
	if err == nil {
		for _, v := range []float64{q.Nominal, q.Low, q.High} {
			if math.IsNaN(v) || math.IsInf(v, 0) || v == 0 && math.Signbit(v) {
				t.Fatalf("%q = %v", text, q)
			}
		}
		if q.Low > q.Nominal || q.Nominal > q.High {
			t.Fatalf("%q = %v", text, q)
		}
		return
	}
	e, ok := errors.AsType[*Error](err)
	if !ok || e.Problem < Empty || e.Problem > Strange {
		t.Fatalf("%q: %v", text, err)
	}
	if message := err.Error(); !utf8.ValidString(message) || len(message) > 2500 || strings.Contains(message, "%!") && !strings.Contains(text, "%!") {
		t.Fatalf("%q: message %q", text, message)
	}
	if len(e.Text) > maxText {
		t.Fatalf("%q is echoed in full", text)
	}
}

func TestArbitraryText(t *testing.T) {
	part := rapid.SampledFrom([]string{"1", "20", "-", "+", ".", ",", "e", "E9", "e400", " ", "±", "…", "..", "mm", "kg", "°", "C", "/", "(", ")", "^", "2", "²", "µ", "·", "%", "\xff", "1/", "Inf"})
	rapid.Check(t, func(t *rapid.T) {
		k := Kind(rapid.IntRange(0, int(numKinds)+1).Draw(t, "k"))
		checkText(t, rapid.String().Draw(t, "any"), k)
		checkText(t, strings.Join(rapid.SliceOfN(part, 0, 8).Draw(t, "parts"), ""), k)
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"20 mm", "40 kg ± 5 kg", "35 … 45 kg", "1,5 mm", "-300 °C", "1e400 m", "80 %", "11 um/(m K)", "\xff", "3000 1/min", "1/2 in"} {
		f.Add(s, uint8(Length))
		f.Add(s, uint8(Temperature))
	}
	f.Fuzz(func(t *testing.T, s string, k uint8) { checkText(t, s, Kind(k)) })
}

func TestAllocations(t *testing.T) {
	if n := testing.AllocsPerRun(100, func() { _, _ = Parse("20 mm", Length) }); n > 1 {
		t.Errorf("Parse allocates %v times", n)
	}
}

func BenchmarkParse(b *testing.B) {
	for _, c := range []struct {
		text string
		kind Kind
	}{{"20 mm", Length}, {"2 kg*m^2", Inertia}, {"40 kg ± 5 kg", Mass}} {
		b.Run(c.text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, _ = Parse(c.text, c.kind)
			}
		})
	}
}

func BenchmarkFormat(b *testing.B) {
	for b.Loop() {
		Format(0.0172, Length, Metric)
	}
}

func TestFormatUpDown(t *testing.T) {
	for _, c := range []struct {
		si       float64
		k        Kind
		sys      System
		up, down string
	}{
		{18301, Force, Metric, "18.4 kN", "18.3 kN"},
		{18300.000000001, Force, Metric, "18.3 kN", "18.3 kN"},
		{18299.999999999, Force, Metric, "18.3 kN", "18.3 kN"},
		{-18301, Force, Metric, "-18.4 kN", "-18.3 kN"},
		{0.0171001, Length, Metric, "17.2 mm", "17.1 mm"},
		{0, Force, Metric, "0 N", "0 N"},
		{50000.4, None, Metric, "50010", "50000"},
		{math.Inf(1), Force, Metric, "unlimited", "unlimited"},
		{math.NaN(), Force, Metric, "undefined", "undefined"},
	} {
		if up, down := FormatUp(c.si, c.k, c.sys), FormatDown(c.si, c.k, c.sys); up != c.up || down != c.down {
			t.Errorf("%g: %s and %s, expected %s and %s", c.si, up, down, c.up, c.down)
		}
	}
	// Whatever the size: never on the wrong side, and within the last digit.
	for _, k := range []Kind{Force, Length, Speed, RotationSpeed, Stiffness, None} {
		for _, sys := range []System{Metric, Inch} {
			for i := range 4000 {
				si := math.Pow(10, float64(i-2000)/400) * (1 + float64(i%7)/13)
				for _, way := range []struct {
					text string
					sign float64
				}{{FormatUp(si, k, sys), 1}, {FormatDown(si, k, sys), -1}} {
					q, err := Parse(way.text, k)
					if err != nil {
						t.Fatal(err)
					}
					if off := (q.Nominal - si) / si * way.sign; off < -2e-9 || off > 0.0101 {
						t.Fatalf("%g is written %s, off by %g", si, way.text, off)
					}
				}
			}
		}
	}
}
