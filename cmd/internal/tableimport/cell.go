package tableimport

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"

	"github.com/hashicorp/hcl/v2/hclsyntax"
	"github.com/hashicorp/hcl/v2/hclwrite"
	"github.com/zclconf/go-cty/cty"

	"trammel/spec"
	"trammel/spec/unit"
)

// A cell is one cell of a table.
type cell struct {
	text    string
	number  bool   // held as a number: its text has a decimal point
	percent bool   // a number shown in percent; its text is in percent already
	trouble string // why the cell cannot be read at all
	above   int    // row that holds what is repeated here; 0: it stands here
}

// A value is one value, ready to be written.
type value struct {
	text    string        // the expression, as it stands in the file
	num     unit.Quantity // of a quantity or number
	altered bool          // it reads differently from its cell
	comment string
	dispute string // what else the table says; then neither is taken
}

// maxText is the longest text of one value the language takes.
const maxText = 4096

// notKnown are the ways to say that something is not known, folded.
var notKnown = []string{"", "-", "--", "---", "–", "—", "?", "??", "???", "n/a", "na", "n.a.", "#n/a", "unknown", "not known"}

// A reader reads the cells of one column for one field.
type reader struct {
	field   *spec.Field
	mapping *Mapping
	words   map[string]string
	unit    string // where the cell has none
	percent bool   // a bare number is in percent, by the header
	marks   marks
}

// read reads one cell. It returns nothing where the value is not known, and
// why where it could not be read.
func (r *reader) read(c cell) (*value, string) {
	if c.trouble != "" {
		return nil, c.trouble
	}
	text := strings.TrimSpace(c.text)
	key := fold(text)
	if meaning, ok := r.words[key]; ok {
		v, why := r.mapping.literal(r.field, meaning, r.unit)
		if v != nil {
			v.altered = true
		}
		return v, why
	}
	if r.field.Sort == spec.Word {
		for _, w := range r.field.Words {
			if strings.EqualFold(w, text) {
				return &value{text: strconv.Quote(w), altered: w != text}, ""
			}
		}
	}
	if r.mapping.notKnown(key) {
		return nil, ""
	}
	return r.known(text, c.number, c.percent)
}

func (m *Mapping) notKnown(key string) bool {
	for _, w := range notKnown {
		if key == w {
			return true
		}
	}
	return m.unknown[key]
}

// literal reads a value that stands in the mapping: decimals have a point.
func (m *Mapping) literal(f *spec.Field, text, defaultUnit string) (*value, string) {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil, ""
	}
	r := reader{field: f, mapping: m, unit: defaultUnit, marks: marks{decided: point, declared: true}}
	if f.Sort == spec.Word {
		for _, w := range f.Words {
			if w == text {
				return &value{text: strconv.Quote(w)}, ""
			}
		}
	}
	return r.known(text, false, false)
}

// known reads the text of a cell that says something.
func (r *reader) known(text string, number, percent bool) (*value, string) {
	f := r.field
	if strings.ContainsRune(text, '\ufffd') {
		return nil, "it holds characters that could not be read"
	}
	if strings.HasPrefix(text, "#") && strings.ToUpper(text) == text {
		return nil, clip(text) + " is a spreadsheet error"
	}
	if strings.HasPrefix(text, "=") {
		return nil, "it is a formula, not a value"
	}
	switch f.Sort {
	case spec.Text:
		return writtenText(text)
	case spec.Word:
		help := ""
		if n := spec.Nearest(text, f.Words); n != "" {
			help = " (near: " + n + ")"
		}
		return nil, fmt.Sprintf("%q is not one of %s%s; translate it with words", clip(text), strings.Join(f.Words, ", "), help)
	case spec.Flag:
		switch strings.ToLower(text) {
		case "true", "yes":
			return &value{text: "true", altered: text != "true"}, ""
		case "false", "no":
			return &value{text: "false", altered: text != "false"}, ""
		}
		return nil, fmt.Sprintf("%q is neither yes nor no; translate it with words", clip(text))
	case spec.PartRef:
		return r.part(text)
	case spec.Quantity, spec.Number:
		saved := r.marks
		if number { // no question of commas and points
			r.marks = marks{decided: point}
		}
		v, why := r.quantity(text, percent)
		if number {
			r.marks = saved
		}
		return v, why
	}
	return nil, "this field cannot come from a table"
}

func writtenText(text string) (*value, string) {
	if len(text) > maxText {
		return nil, fmt.Sprintf("it is longer than %d bytes", maxText)
	}
	for _, c := range text {
		if c < ' ' && c != '\n' && c != '\t' && c != '\r' || c == 0x7f {
			return nil, "it holds control characters"
		}
	}
	return &value{text: quoted(text), altered: strings.ContainsAny(text, "\r\n")}, ""
}

// quoted writes text as the language does.
func quoted(s string) string {
	plain := true
	for i := range len(s) {
		c := s[i]
		plain = plain && c >= ' ' && c < 0x7f && c != '"' && c != '\\' && c != '$' && c != '%'
	}
	if plain { // nearly always
		return `"` + s + `"`
	}
	return string(hclwrite.TokensForValue(cty.StringVal(s)).Bytes())
}

func (r *reader) part(text string) (*value, string) {
	name := safeName(text)
	if name == "" {
		return nil, fmt.Sprintf("%q holds no letter or digit and names no %s", clip(text), r.field.Part)
	}
	ref := r.field.Part + "." + name
	if !hclsyntax.ValidIdentifier(name) {
		ref = r.field.Part + "[" + quoted(name) + "]"
	}
	return &value{text: ref, altered: name != text}, ""
}

// One side of a quantity: the number, and what stands behind it.
type side struct {
	number   string
	rest     string
	fraction bool
}

func (r *reader) side(text string) (side, string) {
	t, ok := lexNumber(text)
	if plain, rest, is, why := fraction(t); is || plain != "" {
		return side{plain, rest, true}, why
	}
	if !ok {
		return side{}, fmt.Sprintf("%q does not begin with a number", clip(text))
	}
	plain, why := r.marks.number(t)
	if why != "" {
		return side{}, why
	}
	if e := exponent(t.rest); e > 0 {
		plain, t.rest = plain+t.rest[:e], t.rest[e:]
	}
	return side{plain, t.rest, false}, ""
}

// exponent returns the length of a decimal exponent at the front.
func exponent(s string) int {
	if s == "" || s[0] != 'e' && s[0] != 'E' {
		return 0
	}
	i := 1
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	d, _ := leadingDigits(s[i:])
	if d == "" || len(d) > 3 {
		return 0
	}
	return i + len(d)
}

// signs that join two numbers, the longer ones first.
var (
	tolerances = []string{"+/-", "±", "+-"}
	ranges     = []string{"...", "..", "…", "–", "—", " to ", "-"}
)

func (r *reader) quantity(text string, percent bool) (*value, string) {
	if len(text) > 200 {
		return nil, "it is too long to be a number with a unit"
	}
	first, why := r.side(text)
	if why != "" {
		return nil, why
	}
	rest := strings.TrimSpace(first.rest)
	if r.field.Sort == spec.Number {
		return r.bare(text, first, rest, percent)
	}
	if percent && rest == "" {
		rest = "%"
	}
	firstUnit := r.unitOf(rest)
	if rest == "" || r.isUnit(firstUnit) {
		if rest == "" {
			firstUnit = r.unit
		}
		return r.written(text, first.number, firstUnit, "", "", "", first.fraction)
	}
	for _, set := range []struct {
		signs []string
		sign  string
	}{{tolerances, "±"}, {ranges, "…"}} {
		for _, sign := range set.signs {
			at := strings.Index(first.rest, sign)
			if at < 0 {
				continue
			}
			second, why := r.side(strings.TrimSpace(first.rest[at+len(sign):]))
			if why != "" {
				return nil, why
			}
			u1, u2 := r.unitOf(strings.TrimSpace(first.rest[:at])), r.unitOf(strings.TrimSpace(second.rest))
			switch {
			case u1 == "" && u2 == "":
				u1, u2 = r.unit, r.unit
			case u1 == "" && u2 == "%" && set.sign == "±" && r.field.Unit != unit.Percentage:
				u1 = r.unit
			case u1 == "":
				u1 = u2
			case u2 == "":
				u2 = u1
			}
			return r.written(text, first.number, u1, set.sign, second.number, u2, first.fraction || second.fraction)
		}
	}
	return r.written(text, first.number, firstUnit, "", "", "", first.fraction)
}

// unitOf translates the spelling of a unit.
func (r *reader) unitOf(s string) string {
	if u, ok := r.mapping.units[s]; ok {
		return u
	}
	s = r.field.OfTurn(s)
	switch strings.ToLower(s) {
	case `"`, "″", "”", "''", "inch", "inches":
		return "in"
	}
	return s
}

func (r *reader) isUnit(s string) bool {
	_, err := unit.Parse("1 "+s, r.field.Unit)
	return err == nil && unit.UnitOf("1 "+s) == s // and no tolerance behind it
}

// byFractions are the units whose numbers are written as fractions.
func byFractions(u string) bool {
	switch u {
	case "in", "ft", "yd", "in/s", "in/min", "ft/s", "ft/min", "lb", "lbm", "lbf", "oz", "ozf":
		return true
	}
	return false
}

// written puts a quantity together as the language writes it and holds it
// against its field.
func (r *reader) written(text, number, u, sign, second, u2 string, fraction bool) (*value, string) {
	if u == "" {
		return nil, clip(text) + " has no unit, and neither the header nor the mapping gives one"
	}
	if fraction && (!byFractions(u) || sign != "" && u2 != u) {
		return nil, clip(text) + ": fractions are read only in inches, feet or pounds"
	}
	out := number + " " + u
	if sign != "" {
		out += " " + sign + " " + second + " " + u2
	}
	q, err := unit.Parse(out, r.field.Unit)
	if err != nil {
		var e *unit.Error
		if errors.As(err, &e) && (e.Problem == unit.UnknownUnit || e.Problem == unit.WrongKind) {
			return nil, err.Error() + `; a spelling of its own is translated with units`
		}
		return nil, err.Error()
	}
	if why := outside(r.field, q, out); why != "" {
		return nil, why
	}
	return &value{text: quoted(out), num: q, altered: out != text}, ""
}

// bare reads the number of a field that takes no unit. What may stand behind
// it the mapping says as unit; percent become a division, so that the number
// stays the one of the cell.
func (r *reader) bare(text string, s side, rest string, percent bool) (*value, string) {
	share := percent || rest == "%" || rest == "" && r.percent
	switch {
	case s.fraction:
		return nil, clip(text) + ": fractions are read only in inches, feet or pounds"
	case share || rest == "" || rest == r.unit || r.unitOf(rest) == r.unit && r.unit != "":
	default:
		return nil, fmt.Sprintf("%s takes a number without a unit, but %q follows it; if that is what it counts, give it as the unit of the column", r.field.Name, clip(rest))
	}
	q, err := unit.Parse(s.number, unit.None)
	if err != nil {
		return nil, err.Error()
	}
	if !spec.NumberFits(big.NewFloat(q.Nominal)) {
		return nil, clip(text) + " is too large or too small"
	}
	out := s.number
	// Leading zeros are fine in a cell, but not as a number of the language.
	out = trimZeros(out)
	if share {
		n := q.Nominal / 100
		q = unit.Quantity{Nominal: n, Low: n, High: n}
		out += " / 100"
	}
	if why := outside(r.field, q, text); why != "" {
		return nil, why
	}
	return &value{text: out, num: q, altered: out != text}, ""
}

func trimZeros(s string) string {
	sign := ""
	if strings.HasPrefix(s, "-") {
		sign, s = "-", s[1:]
	}
	for len(s) > 1 && s[0] == '0' && isDigit(s[1]) {
		s = s[1:]
	}
	return sign + s
}

// outside says in which way a value is not one its field takes.
func outside(f *spec.Field, q unit.Quantity, text string) string {
	if f.NotZero && q.Low <= 0 && q.High >= 0 {
		return clip(text) + ": " + f.Name + " must not be zero"
	}
	show := func(x float64) string {
		if f.Sort == spec.Number {
			return fmt.Sprintf("%.12g", x)
		}
		return unit.FormatExact(x, f.Unit, unit.Metric)
	}
	if f.Min == f.Max || q.High <= f.Max && (q.Low > f.Min || q.Low == f.Min && !f.Above) {
		size := math.Abs(q.Nominal)
		if f.Above {
			size = q.Low
		}
		if size > 0 && size < f.Least {
			return clip(text) + ": " + f.Name + " must be at least " + show(f.Least)
		}
		return ""
	}
	want := "from " + show(f.Min) + " to " + show(f.Max)
	switch {
	case f.Max >= 1e15 && f.Above:
		want = "above zero"
	case f.Max >= 1e15:
		want = "zero or more"
	case f.Above:
		want = "above " + show(f.Min) + " and at most " + show(f.Max)
	}
	return clip(text) + ": " + f.Name + " must be " + want
}

// headerUnit finds a unit in the title of a column: "Speed [m/s]", "mass (kg)",
// "Lead mm", and whether it stands in brackets. An error says that the brackets
// hold a unit of another kind.
func (m *Mapping) headerUnit(f *spec.Field, title string) (u string, bracketed bool, err error) {
	r := reader{field: f, mapping: m}
	title = strings.TrimSpace(title)
	for _, pair := range []string{"[]", "()"} {
		open := strings.LastIndexByte(title, pair[0])
		end := strings.LastIndexByte(title, pair[1])
		if open < 0 || end < open {
			continue
		}
		u := r.unitOf(strings.TrimSpace(title[open+1 : end]))
		if f.Sort == spec.Number {
			if u == "%" {
				return u, true, nil
			}
			continue
		}
		_, err := unit.Parse("1 "+u, f.Unit)
		if err == nil {
			return u, true, nil
		}
		var e *unit.Error
		if errors.As(err, &e) && e.Problem == unit.WrongKind {
			return "", true, err
		}
	}
	if f.Sort == spec.Number && strings.HasSuffix(title, "%") {
		return "%", false, nil
	}
	if f.Sort == spec.Quantity {
		// The unit may have spaces itself: "Torque N m".
		words := strings.Fields(title)
		for i := max(1, len(words)-3); i < len(words); i++ {
			if u := r.unitOf(strings.Trim(strings.Join(words[i:], " "), ",;:")); r.isUnit(u) {
				return u, false, nil
			}
		}
	}
	return "", false, nil
}
