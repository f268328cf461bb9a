package tableimport

import (
	"math/big"
	"strings"
	"unicode/utf8"
)

// decimal says which sign parts the decimals of numbers.
type decimal uint8

const (
	undecided decimal = iota
	comma
	point
	mixed // both occur: each number must speak for itself
)

func (d decimal) String() string { return [...]string{"undecided", "comma", "point", "mixed"}[d] }

func other(d decimal) decimal { return comma + point - d }

// marks decides how the signs in numbers are read, and gathers evidence.
type marks struct {
	decided  decimal
	declared bool // by the mapping: a number that says otherwise is not read
	commas   bool // a number was seen that has a decimal comma for certain
	points   bool
}

// decide settles the question for a column by the evidence in it.
func (m *marks) decide() {
	switch {
	case m.declared:
	case m.commas && m.points:
		m.decided = mixed
	case m.commas:
		m.decided = comma
	case m.points:
		m.decided = point
	}
}

// A token is a number as it stands in a cell, and what follows it.
type token struct {
	text string // "1.234,5"
	rest string
}

// lexNumber cuts a number off the front of a text: sign, digits, and the signs
// that may stand between digits.
func lexNumber(s string) (token, bool) {
	i, digits := 0, false
	if r, n := utf8.DecodeRuneInString(s); r == '+' || r == '-' || r == '−' {
		i = n
	}
	for i < len(s) {
		c := s[i]
		r, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case isDigit(c):
			digits = true
		case (c == '.' || c == ',') && i+1 < len(s) && isDigit(s[i+1]):
		case digits && isGap(r) && isDigit(s[i-1]) && threeDigits(s[i+n:]):
		default:
			return token{s[:i], s[i:]}, digits
		}
		i += n
	}
	return token{s, ""}, digits
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// isGap reports signs that only part thousands: spaces and apostrophes.
func isGap(r rune) bool {
	return r == ' ' || r == '\u00a0' || r == '\u202f' || r == '\u2009' || r == '\'' || r == '’'
}

func threeDigits(s string) bool {
	return len(s) >= 3 && isDigit(s[0]) && isDigit(s[1]) && isDigit(s[2]) && (len(s) == 3 || !isDigit(s[3]))
}

// number brings the number of a token into plain form, or says why not.
func (m *marks) number(t token) (plain, why string) {
	s := t.text
	sign := ""
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		sign, s = "-", rest
	} else if rest, ok := strings.CutPrefix(s, "−"); ok {
		sign, s = "-", rest
	} else {
		s = strings.TrimPrefix(s, "+")
	}
	var groups []string // digits between signs
	var signs []rune
	start := 0
	for i, r := range s {
		if r < utf8.RuneSelf && isDigit(byte(r)) {
			continue
		}
		groups = append(groups, s[start:i])
		signs = append(signs, r)
		start = i + utf8.RuneLen(r)
	}
	groups = append(groups, s[start:])
	read, why := m.read(groups, signs)
	if why != "" {
		return "", clip(t.text) + " " + why
	}
	return sign + read, ""
}

func (m *marks) read(groups []string, signs []rune) (string, string) {
	n := len(signs)
	if n == 0 {
		return groups[0], ""
	}
	whole := func() string { return strings.Join(groups, "") }
	fraction := func() string {
		head := strings.Join(groups[:n], "")
		if head == "" {
			head = "0"
		}
		return head + "." + groups[n]
	}
	last := markOf(signs[n-1])
	alike := true // all signs before the last one
	for _, r := range signs[:n-1] {
		alike = alike && r == signs[0]
	}
	if !alike {
		return "", "mixes signs between its digits"
	}
	if last == undecided || n > 1 && signs[n-1] == signs[0] {
		// Only thousands are parted.
		if !inThousands(groups) {
			return "", "does not group its digits in threes"
		}
		if mark := markOf(signs[0]); mark != undecided {
			if !m.certain(other(mark)) {
				return "", "uses a " + mark.String() + " between thousands, but the mapping says it is the decimal sign"
			}
		}
		return whole(), ""
	}
	if n > 1 {
		if !inThousands(groups[:n]) {
			return "", "does not group its digits in threes"
		}
		if !m.certain(last) {
			return "", "has a decimal " + last.String() + "; the mapping says " + m.decided.String()
		}
		return fraction(), ""
	}
	if len(groups[1]) != 3 || len(groups[0]) > 3 || strings.HasPrefix(groups[0], "0") || groups[0] == "" {
		if !m.certain(last) {
			return "", "has a decimal " + last.String() + "; the mapping says " + m.decided.String()
		}
		return fraction(), ""
	}
	switch m.decided {
	case last:
		return fraction(), ""
	case other(last):
		return whole(), ""
	}
	return "", "may be " + fraction() + " or " + whole() + `: the column does not decide; write decimal = "comma" or "point" in the mapping`
}

// certain notes a number that leaves no doubt about its decimal sign, and
// reports whether the mapping allows it.
func (m *marks) certain(d decimal) bool {
	if d == comma {
		m.commas = true
	} else {
		m.points = true
	}
	return !m.declared || m.decided == d
}

func markOf(r rune) decimal {
	switch r {
	case ',':
		return comma
	case '.':
		return point
	}
	return undecided
}

// inThousands reports whether digits are parted by threes.
func inThousands(groups []string) bool {
	for i, g := range groups {
		if i > 0 && len(g) != 3 || i == 0 && (len(g) < 1 || len(g) > 3) {
			return false
		}
	}
	return true
}

var vulgar = map[rune][2]int64{'½': {1, 2}, '¼': {1, 4}, '¾': {3, 4}, '⅛': {1, 8}, '⅜': {3, 8}, '⅝': {5, 8}, '⅞': {7, 8}}

// fraction reads "3/4", "1-1/2", "1 1/2" and "1½" at the front of a text, given
// the number found there. Only a fraction that is exact in decimals is one:
// nothing is rounded.
func fraction(t token) (plain, rest string, ok bool, why string) {
	lead := strings.TrimPrefix(t.text, "+")
	minus := strings.HasPrefix(lead, "-")
	lead = strings.TrimPrefix(lead, "-")
	if lead != "" && !plainDigits(lead) {
		return "", "", false, ""
	}
	var sum big.Rat
	over := func(n, d string) bool {
		if !plainDigits(n) || !plainDigits(d) || len(n) > 4 || len(d) > 4 {
			return false
		}
		a, _ := new(big.Int).SetString(n, 10)
		b, _ := new(big.Int).SetString(d, 10)
		if b.Sign() == 0 {
			return false
		}
		sum.SetFrac(a, b)
		return true
	}
	r, size := utf8.DecodeRuneInString(t.rest)
	switch v, isVulgar := vulgar[r]; {
	case isVulgar:
		sum.SetFrac64(v[0], v[1])
		rest = t.rest[size:]
		if !addWhole(&sum, lead) {
			return "", "", false, ""
		}
	case r == '/':
		d, after := leadingDigits(t.rest[1:])
		if d == "" {
			return "", "", false, ""
		}
		if !over(lead, d) {
			return "", "", true, clip(t.text+t.rest) + " is not a readable fraction"
		}
		rest = after
	case r == '-' || r == ' ':
		n, after := leadingDigits(strings.TrimLeft(t.rest[1:], " "))
		d, end := leadingDigits(strings.TrimPrefix(after, "/"))
		if n == "" || d == "" || !strings.HasPrefix(after, "/") {
			return "", "", false, ""
		}
		if !over(n, d) || sum.Cmp(big.NewRat(1, 1)) >= 0 || !addWhole(&sum, lead) {
			return "", "", true, clip(t.text+t.rest) + " is not a readable fraction"
		}
		rest = end
	default:
		return "", "", false, ""
	}
	if minus {
		sum.Neg(&sum)
	}
	digits, exact := sum.FloatPrec()
	if !exact || digits > 12 {
		return "", "", true, clip(t.text+t.rest) + " has no exact decimal form"
	}
	return sum.FloatString(digits), rest, true, ""
}

func addWhole(sum *big.Rat, lead string) bool {
	if lead == "" {
		return true
	}
	if len(lead) > 9 {
		return false
	}
	w, ok := new(big.Int).SetString(lead, 10)
	if ok {
		sum.Add(sum, new(big.Rat).SetInt(w))
	}
	return ok
}

func plainDigits(s string) bool {
	for i := range len(s) {
		if !isDigit(s[i]) {
			return false
		}
	}
	return s != ""
}

func leadingDigits(s string) (digits, rest string) {
	i := 0
	for i < len(s) && isDigit(s[i]) {
		i++
	}
	return s[:i], s[i:]
}
