package unit

import (
	"math"
	"strconv"
	"strings"
)

// System chooses the units for writing.
type System uint8

// The systems of units for writing.
const (
	Metric System = iota
	Inch
)

// Significant digits. Three are enough to judge a result by; from a thousand
// upwards a fourth keeps whole numbers such as 3614 rpm readable as such.
const (
	roughDigits = 3
	exactDigits = 6
)

// Format writes an SI value for people, in a unit of the system that suits its
// size and with three or four significant digits: "3600 rpm", "0.534 m/s".
// Infinity is "unlimited" and NaN is "undefined".
func Format(si float64, k Kind, sys System) string {
	return format(si, k, sys, roughDigits)
}

// FormatExact writes an SI value in the same unit as Format but with up to six
// significant digits, without trailing zeros. It suits declared values.
func FormatExact(si float64, k Kind, sys System) string {
	return format(si, k, sys, exactDigits)
}

// RoughDigits and MostDigits are how many significant digits Format writes, and
// how many a value of a finding is ever written with.
const (
	RoughDigits = roughDigits
	MostDigits  = 12
)

// FormatDigits is Format with a number of significant digits, RoughDigits to
// MostDigits, without trailing zeros.
func FormatDigits(si float64, k Kind, sys System, digits int) string {
	return format(si, k, sys, digits)
}

// Apart writes two SI values of a kind in the unit that suits the second, with
// as many digits as it takes for them to read differently. Values that are equal
// to MostDigits digits read the same.
func Apart(a, b float64, k Kind, sys System) (string, string) {
	r := chooseUnit(b, k, sys)
	write := func(si float64, digits int) string {
		if text, special := notFinite(si); special {
			return text
		}
		if r == nil {
			return number(si, digits)
		}
		return join(number(r.fromSI(si), digits), r.name)
	}
	for digits := roughDigits; ; digits++ {
		x, y := write(a, digits), write(b, digits)
		if x != y || digits == MostDigits {
			return x, y
		}
	}
}

// FormatUp is Format rounded away from zero instead of to the nearest: for what
// must be at least so much.
func FormatUp(si float64, k Kind, sys System) string {
	return Format(toward(si, k, sys, math.Ceil), k, sys)
}

// FormatDown is Format rounded toward zero: for what may be at most so much.
func FormatDown(si float64, k Kind, sys System) string {
	return Format(toward(si, k, sys, math.Floor), k, sys)
}

// toward rounds the size of a value to the digits and in the unit that Format
// writes it with. What lies within the noise of reckoning of such a value is it.
func toward(si float64, k Kind, sys System, round func(float64) float64) float64 {
	if _, special := notFinite(si); special || si == 0 {
		return si
	}
	v, back := si, func(x float64) float64 { return x }
	if r := chooseUnit(si, k, sys); r != nil {
		v, back = r.fromSI(si), r.toSI
	}
	if v == 0 {
		return si
	}
	digits := roughDigits
	if math.Abs(v) >= 1000 {
		digits++
	}
	size := math.Abs(v)
	exponent := digits - 1 - int(math.Floor(math.Log10(size)))
	n := size * math.Pow10(exponent)
	if near := math.Round(n); math.Abs(n-near) <= 1e-9*n {
		n = near
	} else {
		n = round(n)
	}
	return back(math.Copysign(n/math.Pow10(exponent), v))
}

func format(si float64, k Kind, sys System, digits int) string {
	if text, special := notFinite(si); special {
		return text
	}
	r := chooseUnit(si, k, sys)
	if r == nil {
		return number(si, digits)
	}
	return join(number(r.fromSI(si), digits), r.name)
}

func notFinite(si float64) (string, bool) {
	switch {
	case math.IsNaN(si):
		return "undefined", true
	case math.IsInf(si, 1):
		return "unlimited", true
	case math.IsInf(si, -1):
		return "-unlimited", true
	}
	return "", false
}

// chooseUnit returns the unit in which to write a value, nil for none.
func chooseUnit(si float64, k Kind, sys System) *unit {
	list := k.info().metric
	if sys == Inch && k.info().inch != nil {
		list = k.info().inch
	}
	size := math.Abs(si) * (1 + 1e-12) // 0.1 mm is to stay so despite rounding
	var last *unit
	for _, c := range list {
		last = index[k][c.unit]
		if si == 0 && c.zero || si != 0 && size >= c.from*last.factor {
			return last
		}
	}
	return last
}

// join puts number and unit together. Units that are words take the plural,
// and the degree sign stands next to its number.
func join(number, name string) string {
	singular := strings.TrimSuffix(name, "s")
	if plural, isWord := plurals[singular]; isWord {
		if name = plural; number == "1" || number == "-1" {
			name = singular
		}
	}
	switch name {
	case "":
		return number
	case "°":
		return number + name
	}
	return number + " " + name
}

// number writes v with the given significant digits, without trailing zeros,
// and with an exponent only for very large and very small values.
func number(v float64, digits int) string {
	if text, special := notFinite(v); special {
		return text
	}
	if v == 0 {
		return "0" // never -0
	}
	if digits == roughDigits && math.Abs(v) >= 1000 {
		digits++
	}
	rounded := strconv.FormatFloat(v, 'e', digits-1, 64)
	mantissa, exponent, _ := strings.Cut(rounded, "e")
	e, _ := strconv.Atoi(exponent)
	if e >= 6 || e < -4 {
		return trimZeros(mantissa) + "e" + strconv.Itoa(e)
	}
	// Rounding twice could go astray, so go on from the rounded digits.
	r, _ := strconv.ParseFloat(rounded, 64)
	return trimZeros(strconv.FormatFloat(r, 'f', max(0, digits-1-e), 64))
}

func trimZeros(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}
