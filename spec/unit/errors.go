package unit

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/agext/levenshtein"
)

// Problem says what is wrong with a written quantity.
type Problem int

// The problems of a written quantity.
const (
	Empty        Problem = iota + 1 // there is no text
	NoNumber                        // the text does not start with a number
	BadNumber                       // the number is not a plain decimal one
	NoUnit                          // the unit is missing
	UnknownUnit                     // no kind has the unit
	WrongKind                       // the unit belongs to another kind
	OutOfRange                      // not finite, or below absolute zero
	BadTolerance                    // negative, ends swapped, or not understood
	TooLong                         // more text than a quantity needs
	Strange                         // a character that is not seen, or that only looks like one of the keyboard
)

// Error is a quantity that could not be read.
type Error struct {
	Problem Problem
	Text    string // the text, or that part of it which is at fault
	Want    Kind   // the kind that was wanted
	Unit    string // the unit as written, if any
	Found   Kind   // for WrongKind: the kind the unit belongs to
	// Near is a likely correction, or empty: for UnknownUnit and WrongKind the
	// unit that may be meant (for None the plain number), otherwise the whole
	// text.
	Near string

	detail string
}

// Error says in one sentence what was found, what was expected and how to fix
// it.
func (e *Error) Error() string {
	switch e.Problem {
	case Empty:
		return fmt.Sprintf("the text is empty; %s", e.expected("20"))
	case NoNumber:
		if e.Near != "" {
			return fmt.Sprintf("%q does not begin with its number; write %q", e.Text, e.Near)
		}
		return fmt.Sprintf("%q has no number; %s", e.Text, e.expected("20"))
	case Strange:
		if e.Near != "" {
			return fmt.Sprintf("%q holds %s; write %q", e.Text, e.detail, e.Near)
		}
		return fmt.Sprintf("%q holds %s; type it again", e.Text, e.detail)
	case BadNumber:
		if e.detail != "" {
			return fmt.Sprintf("%q %s", e.Text, e.detail)
		}
		if e.Near != "" {
			return fmt.Sprintf("%q is not written as a plain decimal number; write %q", e.Text, e.Near)
		}
		return fmt.Sprintf("%q is not written as a plain decimal number; %s", e.Text, e.expected("1234.5"))
	case NoUnit:
		if e.detail != "" {
			return fmt.Sprintf("%q %s; write %q", e.Text, e.detail, e.Near)
		}
		if e.Near != "" {
			return fmt.Sprintf("%q has no unit; %s is expected, such as %q", e.Text, e.Want.WithArticle(), e.Near)
		}
		return fmt.Sprintf("%q has no unit; %s", e.Text, e.expected(e.Text))
	case UnknownUnit:
		return fmt.Sprintf("%q has the unknown unit %q; %s", e.Text, e.Unit, e.unitHint())
	case WrongKind:
		return fmt.Sprintf("%q is %s; %s", e.Text, e.Found.WithArticle(), e.wrongKindHint())
	case OutOfRange:
		return fmt.Sprintf("%q %s; %s", e.Text, e.detail, e.expected("20"))
	case BadTolerance:
		if e.Near != "" {
			return fmt.Sprintf("%q is not understood: %s; write %q", e.Text, e.detail, e.Near)
		}
		one := e.Want.firstUnit()
		return fmt.Sprintf("%q is not understood: %s; write a tolerance as %q or a range as %q",
			e.Text, e.detail, "40"+one+" ± 5"+e.toleranceUnit(), "35"+one+" … 45"+one)
	case TooLong:
		return fmt.Sprintf("%q is too long; %s", e.Text, e.expected("20"))
	}
	return fmt.Sprintf("%q cannot be read; %s", e.Text, e.expected("20"))
}

// firstUnit is the most usual unit with a space before it, or empty.
func (k Kind) firstUnit() string {
	if list := k.info().examples; len(list) > 0 {
		return " " + list[0]
	}
	return ""
}

func (e *Error) toleranceUnit() string {
	if e.Want == Temperature {
		return TemperatureDifference.firstUnit()
	}
	return e.Want.firstUnit()
}

// expected shows the number with the first and the last of the usual units.
func (e *Error) expected(number string) string {
	list := e.Want.info().examples
	switch len(list) {
	case 0:
		return fmt.Sprintf("%s is expected, such as %q", e.Want.WithArticle(), number)
	case 1:
		return fmt.Sprintf("%s is expected, such as %q", e.Want.WithArticle(), number+" "+list[0])
	}
	return fmt.Sprintf("%s is expected, such as %q or %q",
		e.Want.WithArticle(), number+" "+list[0], number+" "+list[len(list)-1])
}

func (e *Error) number() string {
	return strings.TrimSpace(strings.TrimSuffix(e.Text, e.Unit))
}

func (e *Error) unitHint() string {
	if e.Near != "" {
		return fmt.Sprintf("did you mean %q?", e.number()+" "+e.Near)
	}
	list := e.Want.info().examples
	if len(list) == 0 {
		return e.expected(e.number())
	}
	text := list[0]
	if n := len(list); n > 1 {
		text = strings.Join(list[:n-1], ", ") + " or " + list[n-1]
	}
	return fmt.Sprintf("%s is expected, such as %s", e.Want.WithArticle(), text)
}

func (e *Error) wrongKindHint() string {
	switch {
	case e.Near == "":
		return e.unitHint()
	case e.Want == None:
		return e.expected(e.Near)
	}
	return fmt.Sprintf("%s is expected: did you mean %q?", e.Want.WithArticle(), e.number()+" "+e.Near)
}

// cut shortens an over-long text for a message, at a rune boundary.
func cut(s string) string {
	end := 60
	for end > 0 && !utf8.RuneStart(s[end]) {
		end--
	}
	return s[:end] + "…"
}

// WithUnit is a bare number as text of the kind: with the unit of like, an example of
// that kind, or its most usual one where that has none. A ratio becomes a percentage.
func WithUnit(number string, k Kind, like string) string {
	var e *Error
	if _, err := Parse(number, k); errors.As(err, &e) && e.Near != "" {
		return e.Near
	}
	u := UnitOf(like)
	if u == "" {
		u = strings.TrimSpace(k.firstUnit())
	}
	return number + " " + u
}

func unitMissing(s string, k Kind, near string) error {
	return &Error{Problem: NoUnit, Text: s, Want: k, Near: near, detail: "has a part without a unit"}
}

// diagnose finds out why s is not a single value of kind k.
func diagnose(s string, k Kind) error {
	e := &Error{Text: s, Want: k}
	if s == "" {
		e.Problem = Empty
		return e
	}
	if what, near := strange(s, k); what != "" {
		e.Problem, e.detail, e.Near = Strange, what, near
		return e
	}
	v, n, ok := scanNumber(s)
	if !ok {
		e.Problem, e.Near = numberProblem(s, k)
		e.detail = thousands(s, k, e)
		return e
	}
	name := strings.TrimSpace(s[n:])
	if name == "" {
		e.Problem = NoUnit
		if k == Percentage && -1 <= v && v <= 1 {
			e.Near = short(v*100) + " %" // a ratio was meant
		}
		return e
	}
	e.Unit = name
	if found, _ := kindOf(name); found != None {
		e.Problem, e.Found, e.Near = WrongKind, found, confused[k][normalise(name)]
		if k == None && found == Percentage {
			e.Near = short(v / 100)
		}
		return e
	}
	if isDigit(name[0]) || name[0] == '/' {
		e.Problem, e.Unit = BadNumber, ""
		rest := strings.TrimLeft(name, "0123456789. ")
		digits := strings.ReplaceAll(s[:n]+name[:len(name)-len(rest)], " ", "")
		e.Near = fix(k, strings.TrimSpace(digits+" "+rest)) // "1 000 mm"
		return e
	}
	if looksLikeTolerance(name) {
		e.Problem, e.Unit, e.detail = BadTolerance, "", "its tolerance has another form"
		return e
	}
	e.Problem = UnknownUnit
	e.Near = nearUnit(name, k)
	if e.Near == "" {
		if found := longNameKind(name); found != None && found != k {
			e.Problem, e.Found = WrongKind, found
		}
	}
	return e
}

// short writes a number with as many digits as needed, at most ten.
func short(v float64) string { return strconv.FormatFloat(v, 'g', 10, 64) }

// numberProblem tells a missing number from a badly written one, and fixes the
// latter where its meaning is beyond doubt.
func numberProblem(s string, k Kind) (Problem, string) {
	body := strings.TrimLeft(s, "+-−")
	sign := s[:len(s)-len(body)]
	word := strings.ToLower(body)
	if i := strings.IndexFunc(word, func(r rune) bool { return r < 'a' || 'z' < r }); i >= 0 {
		word = word[:i]
	}
	if word == "inf" || word == "infinity" || word == "nan" {
		return BadNumber, ""
	}
	if trimmed := strings.TrimSpace(body); trimmed != body && trimmed != "" && isDigit(trimmed[0]) {
		return BadNumber, fix(k, sign+trimmed) // "- 5 mm"
	}
	end := skipDigits(body, 0)
	if end == 0 {
		if len(body) > 1 && strings.IndexByte(".,", body[0]) >= 0 && isDigit(body[1]) {
			return BadNumber, fix(k, sign+"0."+body[1:])
		}
		return NoNumber, fix(k, behindWords(body))
	}
	if end == len(body) {
		return BadNumber, "" // "--5"
	}
	switch body[end] {
	case ',':
		// Three digits after a comma may be thousands: only the writer knows.
		if digits := skipDigits(body, end+1) - (end + 1); digits != 3 || body[:end] == "0" {
			return BadNumber, fix(k, sign+body[:end]+"."+body[end+1:])
		}
	case '.':
		if skipDigits(body, end+1) > end+1 {
			return BadNumber, "" // "1.000.000"
		}
		return BadNumber, fix(k, sign+body[:end]+body[end+1:])
	}
	return BadNumber, ""
}

// unseen are characters that look like a space or like nothing.
var unseen = map[rune]string{
	'\u00a0': "a no-break space", '\u202f': "a narrow no-break space", '\u2009': "a thin space", '\u2007': "a figure space", '\u3000': "a wide space",
	'\u200b': "a space without width", '\u200c': "a joiner without width", '\u200d': "a joiner without width", '\u2060': "a joiner without width",
	'\u00ad': "a soft hyphen", '\ufeff': "a byte order mark",
}

// Unseen names a character that looks like a space or like nothing; empty for others.
func Unseen(r rune) string { return unseen[r] }

// strange names the first character of s that is not seen, or a letter of another
// alphabet, and gives the text as it reads without characters that are not seen.
func strange(s string, k Kind) (what, near string) {
	var plain strings.Builder
	for _, r := range s {
		name := Unseen(r)
		switch {
		case name != "" && strings.HasSuffix(name, " space"):
			plain.WriteByte(' ')
		case name == "":
			plain.WriteRune(r)
		}
		switch {
		case what != "":
		case name != "":
			what = fmt.Sprintf("%s (U+%04X)", name, r)
		case unicode.IsLetter(r) && unicode.In(r, unicode.Cyrillic, unicode.Greek) && r != 'μ' && r != 'Ω':
			what = fmt.Sprintf("the letter %c (U+%04X), which only looks like one of the keyboard", r, r)
		}
	}
	return what, fix(k, strings.TrimSpace(plain.String()))
}

// thousands says what a comma with three digits behind it may mean.
func thousands(s string, k Kind, e *Error) string {
	if e.Problem != BadNumber || e.Near != "" || strings.Count(s, ",") != 1 {
		return ""
	}
	whole, part := fix(k, strings.Replace(s, ",", "", 1)), fix(k, strings.Replace(s, ",", ".", 1))
	if whole == "" || part == "" {
		return ""
	}
	return fmt.Sprintf("can be read in two ways; write %q or %q", whole, part)
}

// behindWords is a text from its first digit on, where words and spaces stand before it.
func behindWords(s string) string {
	i := strings.IndexFunc(s, unicode.IsDigit)
	if i <= 0 || strings.IndexByte(" \t", s[i-1]) < 0 || strings.ContainsAny(s[:i], "-−+/±") {
		return ""
	}
	return s[i:]
}

// fix returns the proposed text if it reads well, or nothing.
func fix(k Kind, text string) string {
	if _, ok := value(text, k); ok {
		return text
	}
	return ""
}

// looksLikeTolerance recognises other ways to write a tolerance or a range,
// such as "+5/-3 kg", "35-45 kg" and "35 kg to 45 kg", in the text after the
// first number.
func looksLikeTolerance(rest string) bool {
	for _, sign := range []string{"-", "–", "—", "~", "to "} {
		if strings.HasPrefix(rest, sign) || strings.Contains(rest, " "+sign) {
			return true
		}
	}
	return strings.Contains(rest, "+")
}

// confused gives, by wanted kind, the unit meant by a unit of another kind.
var confused = map[Kind]map[string]string{
	Force:         {"lb": "lbf", "lbm": "lbf", "oz": "ozf", "kg": "kgf"},
	Mass:          {"lbf": "lb", "ozf": "oz", "kgf": "kg"},
	Torque:        {"nm": "N m"},
	Energy:        {"N·m": "J", "Nm": "J"},
	RotationSpeed: {"Hz": "rev/s"},
	Stiffness:     {"lb/in": "lbf/in", "lb/ft": "lbf/ft"},
}

// nearUnit guesses which unit of the kind a misspelt one stands for: by case,
// by its long name, then by the fewest changes of letters. It never guesses between magnitudes.
func nearUnit(name string, k Kind) string {
	if k == None || k >= numKinds {
		return ""
	}
	key := normalise(name)
	switch near := folded[k][strings.ToLower(key)]; {
	case near == "":
	case near == ambiguous || otherPrefix(key, near, k):
		return ""
	default:
		return near
	}
	if r := lookup(k, strings.ReplaceAll(key, "-", "·")); r != nil {
		return ascii(r.name) // "N-m"
	}
	if near := perTurn(key, k); near != "" {
		return near
	}
	for _, near := range longName(name) {
		if lookup(k, near) != nil {
			return near
		}
	}
	limit := 0 // changes allowed: a short word is soon changed into any other
	switch length := utf8.RuneCountInString(key); {
	case length > 4:
		limit = 2
	case length > 1:
		limit = 1
	}
	return nearest(key, k, limit)
}

// otherPrefix reports whether a spelling differs from that of a unit in the case of a
// prefix: milli is not mega. Millimetres in capitals are nothing else.
func otherPrefix(key, near string, k Kind) bool {
	return key[0] != near[0] && (near[0] == 'm' || near[0] == 'M') && lookup(k, near[1:]) != nil && !strings.HasPrefix(key, "MM")
}

// nearest is the unit that takes the fewest changes of letters to write. Where units
// of another magnitude are as near, none is: which was meant only the writer knows.
func nearest(key string, k Kind, limit int) (best string) {
	var of *unit
	for i := range kinds[k].units {
		row := &kinds[k].units[i]
		for _, s := range row.spellings() {
			candidate := normalise(s)
			d := levenshtein.Distance(key, candidate, nil)
			if d > limit || d >= utf8.RuneCountInString(candidate) {
				continue
			}
			switch {
			case of == nil || d < limit:
				best, of, limit = ascii(s), row, d
			case of != row:
				best = ""
			}
		}
	}
	return best
}

// perTurn is the length of a lead written as one per turn.
func perTurn(key string, k Kind) string {
	length, per, found := strings.Cut(key, "/")
	if k != Length || !found || lookup(k, length) == nil {
		return ""
	}
	if slices.Contains([]string{"rev", "r", "turn", "U", "tr"}, per) {
		return length
	}
	return ""
}

// longNameKind is the kind of a unit written out in words, or None.
func longNameKind(name string) Kind {
	for _, near := range longName(name) {
		if k, _ := kindOf(near); k != None {
			return k
		}
	}
	return None
}

// longName returns the symbols for a unit written out in words.
func longName(name string) []string {
	key := strings.ToLower(strings.TrimSpace(name))
	key = strings.ReplaceAll(key, "metre", "meter")
	for _, key := range []string{key, strings.TrimSuffix(key, "s"), strings.TrimSuffix(key, "es")} {
		if list := longNames[key]; list != nil {
			return list
		}
	}
	return nil
}

var longNames = buildLongNames()

func buildLongNames() map[string][]string {
	names := map[string][]string{
		"inch": {"in"}, "inche": {"in"}, "foot": {"ft"}, "feet": {"ft"}, "yard": {"yd"}, "micron": {"um"}, "my": {"um"}, "mym": {"um"},
		"sec": {"s"}, "minute": {"min", "arcmin"}, "hour": {"h"}, "hr": {"h"}, "yr": {"year"}, "mo": {"month"},
		"arcsecond": {"arcsec"}, "arcminute": {"arcmin"},
		"degree": {"deg", "degC"}, "celsius": {"degC"}, "centigrade": {"degC"}, "fahrenheit": {"degF"}, "kelvin": {"K"},
		"degrees celsius": {"degC"}, "degrees fahrenheit": {"degF"}, "c": {"degC"}, "f": {"degF"},
		"radian": {"rad"}, "percent": {"%"}, "per cent": {"%"}, "pct": {"%"},
		"pound": {"lb", "lbf"}, "lb": {"lb", "lbf"}, "pound-force": {"lbf"}, "ounce": {"oz", "ozf"},
		"ton": {"t"}, "tonne": {"t"}, "kilo": {"kg"}, "horsepower": {"hp"},
		"revolution": {"rev"}, "turn": {"rev"}, "rps": {"rev/s"}, "revolutions per minute": {"rpm"}, "revs per minute": {"rpm"},
		"kph": {"km/h"}, "kmh": {"km/h"}, "mps": {"m/s"}, "fps": {"ft/s"}, "ips": {"in/s"}, "ipm": {"in/min"}, "fpm": {"ft/min"},
		"meters per second": {"m/s"}, "newton meter": {"N m"}, "newton-meter": {"N m"}, "foot-pound": {"lbf ft", "ft lbf"},
	}
	prefixes := map[string]string{
		"": "", "nano": "n", "micro": "u", "milli": "m", "centi": "c", "deci": "d", "deca": "da", "kilo": "k", "mega": "M", "giga": "G",
	}
	bases := map[string]string{
		"meter": "m", "gram": "g", "newton": "N", "pascal": "Pa", "watt": "W", "second": "s", "joule": "J", "hertz": "Hz",
	}
	for prefix, p := range prefixes {
		for base, b := range bases {
			names[prefix+base] = []string{p + b}
		}
	}
	names["second"] = []string{"s", "arcsec"}
	return names
}
