package unit

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"unicode"
)

// Quantity is a declared value in SI units: the nominal value and the ends of
// its tolerance. Without a tolerance all three are equal.
type Quantity struct{ Nominal, Low, High float64 }

// Exact reports whether the quantity has no tolerance.
func (q Quantity) Exact() bool { return q.Low == q.High }

// maxText bounds the text of a quantity, in bytes. Nothing sensible is longer.
const maxText = 200

// Parse reads text as a quantity of kind k.
//
// A number is an optional sign, digits, an optional fraction and an optional
// decimal exponent. The unit is required, except for None, which has none.
//
// A tolerance "a ± b" reaches from a-b to a+b. Where b is in percent it is a
// share of a, except for a Percentage, where it is in percentage points:
// "80 % ± 5 %" is 75 % to 85 %. The tolerance of a Temperature is a temperature
// difference. A range "a … b" has its middle as nominal value; its left end may
// leave out the unit.
//
// The error is always an *Error.
func Parse(text string, k Kind) (Quantity, error) {
	s := strings.TrimSpace(text)
	if len(s) > maxText {
		return Quantity{}, &Error{Problem: TooLong, Text: cut(s), Want: k}
	}
	if v, ok := value(s, k); ok {
		if err := checkRange(s, k, v); err != nil {
			return Quantity{}, err
		}
		return Quantity{v, v, v}, nil
	}
	if left, mark, right, found := splitTolerance(s); found {
		return parseTolerance(s, left, mark, right, k)
	}
	return Quantity{}, diagnose(s, k)
}

// value reads a single value without tolerance. It does not check its range,
// so the result may be infinite or NaN.
func value(s string, k Kind) (si float64, ok bool) {
	v, n, ok := scanNumber(s)
	if !ok {
		return inches(s, k)
	}
	rest := strings.TrimLeft(s[n:], " \t\u00a0")
	if rest == "" || k == None {
		return v, rest == "" && k == None
	}
	r := lookup(k, rest)
	if r == nil {
		return inches(s, k)
	}
	si = r.toSI(v)
	if si == 0 && v+r.offset != 0 {
		return math.NaN(), true // lost to underflow
	}
	return si + 0, true // no negative zero
}

// fraction is a length as inch drawings write it: "5/8 in", "15 3/4 in", "15-3/4 in".
// It is compiled once it is used.
var fraction = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^(?:(\d{1,6})[ -])?(\d{1,3})/(\d{1,3}) ?in$`)
})

// inches reads a fraction of an inch. The fraction is below one and has a power of
// two below it, as on a rule.
func inches(s string, k Kind) (si float64, ok bool) {
	if k != Length || strings.IndexByte(s, '/') < 0 {
		return 0, false
	}
	m := fraction().FindStringSubmatch(s)
	if m == nil {
		return 0, false
	}
	whole, _ := strconv.Atoi(m[1])
	above, _ := strconv.Atoi(m[2])
	below, _ := strconv.Atoi(m[3])
	if below == 0 || below&(below-1) != 0 || above >= below {
		return 0, false
	}
	return (float64(whole) + float64(above)/float64(below)) * inch, true
}

// scanNumber reads the number at the start of s and returns its length. It is
// stricter than strconv: no hexadecimal, underscores, infinities or NaN. An
// overflowing number is infinite and one lost to underflow is NaN.
func scanNumber(s string) (v float64, n int, ok bool) {
	i, negative := 0, false
	switch {
	case strings.HasPrefix(s, "+"):
		i = 1
	case strings.HasPrefix(s, "-"):
		i, negative = 1, true
	case strings.HasPrefix(s, "−"):
		i, negative = len("−"), true
	}
	start := i
	i = skipDigits(s, i)
	if i == start {
		return 0, 0, false
	}
	if i+1 < len(s) && s[i] == '.' && isDigit(s[i+1]) {
		i = skipDigits(s, i+1)
	}
	digits := s[start:i]
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j := i + 1
		if j < len(s) && (s[j] == '+' || s[j] == '-') {
			j++
		}
		if end := skipDigits(s, j); end > j {
			i = end
		}
	}
	if i < len(s) && strings.IndexByte(".,_'xX", s[i]) >= 0 {
		return 0, 0, false
	}
	v, err := strconv.ParseFloat(s[start:i], 64)
	if err != nil {
		v = math.Inf(1) // the syntax is known to be right, so it is the range
	}
	if v == 0 && strings.Trim(digits, "0.") != "" {
		v = math.NaN()
	}
	if negative {
		v = -v
	}
	return v + 0, i, true
}

func skipDigits(s string, i int) int {
	for i < len(s) && isDigit(s[i]) {
		i++
	}
	return i
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// marks are the signs of a tolerance, longer ones before their prefixes.
var marks = []string{"±", "+/-", "+-", "…", "...", ".."}

// splitTolerance cuts s at its first tolerance sign, which it returns as "±"
// or "…".
func splitTolerance(s string) (left, mark, right string, found bool) {
	at := len(s)
	length := 0
	for _, m := range marks {
		if i := strings.Index(s, m); i >= 0 && i < at {
			at, length = i, len(m)
			mark = "…"
			if m[0] == '+' || m == "±" {
				mark = "±"
			}
		}
	}
	if length == 0 {
		return s, "", "", false
	}
	return strings.TrimSpace(s[:at]), mark, strings.TrimSpace(s[at+length:]), true
}

func parseTolerance(s, left, mark, right string, k Kind) (Quantity, error) {
	bad := func(detail, near string) (Quantity, error) {
		return Quantity{}, &Error{Problem: BadTolerance, Text: s, Want: k, Near: near, detail: detail}
	}
	if left == "" && mark == "…" { // as a new file has it
		return bad("the … stands for a number to fill in", "")
	}
	if left == "" || right == "" {
		return bad("one side of the "+mark+" is empty", "")
	}
	if _, _, _, again := splitTolerance(right); again {
		return bad("it has more than one tolerance", "")
	}
	if mark == "…" {
		return parseRange(s, left, right, k)
	}

	tolKind := k
	if k == Temperature {
		tolKind = TemperatureDifference
	}
	nominal, nominalOK := value(left, k)
	tol, tolOK := value(right, tolKind)
	if !nominalOK {
		if tolOK && isBare(left) {
			return Quantity{}, unitMissing(s, k, left+" "+UnitOf(right)+" ± "+right)
		}
		return Quantity{}, diagnose(left, k)
	}
	if !tolOK {
		share, relative := value(right, Percentage)
		switch {
		case relative && k == Temperature:
			return bad("a share of a temperature has no meaning", "")
		case relative:
			tol = share * math.Abs(nominal)
			if share < 0 { // keep the sign even where the nominal value is zero
				tol = share
			}
		case isBare(right):
			return Quantity{}, unitMissing(s, k, left+" ± "+right+" "+UnitOf(left))
		default:
			return Quantity{}, diagnose(right, tolKind)
		}
	}
	if tol < 0 {
		return bad("the tolerance is negative", left+" ± "+strings.TrimPrefix(strings.TrimPrefix(right, "-"), "−"))
	}
	q := Quantity{nominal, nominal - tol, nominal + tol}
	if err := checkRange(s, k, nominal, q.Low, q.High); err != nil {
		return Quantity{}, err
	}
	return q, nil
}

func parseRange(s, left, right string, k Kind) (Quantity, error) {
	low, lowOK := value(left, k)
	high, highOK := value(right, k)
	if !highOK {
		if lowOK && isBare(right) {
			return Quantity{}, unitMissing(s, k, left+" … "+right+" "+UnitOf(left))
		}
		return Quantity{}, diagnose(right, k)
	}
	if !lowOK && isBare(left) {
		low, lowOK = value(left+" "+UnitOf(right), k)
	}
	if !lowOK {
		return Quantity{}, diagnose(left, k)
	}
	if err := checkRange(s, k, low, high); err != nil {
		return Quantity{}, err
	}
	if low > high {
		near := right + " … " + left
		if isBare(left) && k != None {
			near += " " + UnitOf(right)
		}
		return Quantity{}, &Error{Problem: BadTolerance, Text: s, Want: k, Near: near, detail: "its low end is above its high end"}
	}
	middle := (low + high) / 2
	if math.IsInf(middle, 0) {
		middle = low/2 + high/2
	}
	return Quantity{middle, low, high}, nil
}

// isBare reports whether s is a number and nothing else.
func isBare(s string) bool {
	_, ok := value(s, None)
	return ok
}

func checkRange(s string, k Kind, values ...float64) error {
	for _, v := range values {
		switch {
		case math.IsNaN(v):
			return &Error{Problem: OutOfRange, Text: s, Want: k, detail: "is too close to zero to be told from it"}
		case math.IsInf(v, 0):
			return &Error{Problem: OutOfRange, Text: s, Want: k, detail: "is too large a number"}
		case k == Temperature && v < 0:
			return &Error{Problem: OutOfRange, Text: s, Want: k, detail: "reaches below absolute zero, -273.15 °C"}
		}
	}
	return nil
}

// UnitOf returns the unit part of a written quantity as it stands, such as
// "m/s" for "0.6 m/s", whether or not the unit is known. With a tolerance it
// is the first unit. It is empty if there is none or no number stands before.
func UnitOf(text string) string {
	s := strings.TrimSpace(text)
	if len(s) > maxText {
		return ""
	}
	left, _, right, found := splitTolerance(s)
	for _, part := range []string{left, right} {
		if _, n, ok := scanNumber(part); ok {
			name := strings.TrimSpace(part[n:])
			switch {
			case name == "":
			case !unicode.IsLetter(rune(name[0])) && fraction().MatchString(part):
				return "in"
			default:
				return name
			}
		}
		if !found {
			break
		}
	}
	return ""
}

// In converts an SI value to the named unit. It reports false if the kind has
// no such unit or the number would overflow. A bare number has the unit "".
func In(si float64, k Kind, unitName string) (float64, bool) {
	return convert(si, k, unitName, (*unit).fromSI)
}

// SIOf converts a number of the named unit to SI. It reports false if the kind
// has no such unit or the number would overflow.
func SIOf(v float64, k Kind, unitName string) (float64, bool) {
	return convert(v, k, unitName, (*unit).toSI)
}

func convert(v float64, k Kind, unitName string, by func(*unit, float64) float64) (float64, bool) {
	if k == None {
		return v, strings.TrimSpace(unitName) == ""
	}
	r := lookup(k, unitName)
	if r == nil {
		return 0, false
	}
	out := by(r, v)
	return out, !math.IsInf(out, 0) || math.IsInf(v, 0)
}
