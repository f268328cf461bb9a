package tableimport

import (
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"trammel/spec"
	"trammel/spec/unit"
)

// words are those that are known without being told.
//
//go:embed words.csv
var words string

// A meaning is what a header stands for: a field, or one of the names.
type meaning struct {
	field *spec.Field
	name  string // "=machine", "=axis" or "=moves"
}

// A lexicon says what words in the tables of workshops mean.
type lexicon struct {
	fields  map[string]*spec.Field
	headers map[string]meaning           // by keyOf
	groups  map[string]string            // titles above headers: block, by keyOf
	moves   map[string]string            // by keyOf
	fillers map[string]bool              // by keyOf
	cells   map[string]map[string]string // by field path, or flag: word, folded: meaning
	unknown map[string]bool              // folded
	above   map[string]bool              // folded
	totals  map[string]bool              // folded
	units   map[string]string            // folded: unit
	kinds   []unit.Kind                  // of the fields
	isUnit  map[string]bool              // what was looked up: an answer takes long
}

// newLexicon reads the built-in words, then those of a reader, which take precedence.
func newLexicon(more io.Reader) (*lexicon, error) {
	l := &lexicon{
		fields: writable(), headers: map[string]meaning{}, groups: map[string]string{}, moves: map[string]string{}, fillers: map[string]bool{},
		cells: map[string]map[string]string{}, unknown: map[string]bool{}, above: map[string]bool{}, totals: map[string]bool{}, units: map[string]string{}, isUnit: map[string]bool{},
	}
	for _, f := range l.fields {
		if f.Sort == spec.Quantity && !slices.Contains(l.kinds, f.Unit) {
			l.kinds = append(l.kinds, f.Unit)
		}
	}
	if err := l.read(strings.NewReader(words)); err != nil {
		return nil, fmt.Errorf("the built-in words: %w", err)
	}
	if more == nil {
		return l, nil
	}
	return l, l.read(more)
}

func (l *lexicon) read(from io.Reader) error {
	r := csv.NewReader(from)
	r.Comment, r.FieldsPerRecord = '#', -1
	for {
		record, err := r.Read()
		if err == io.EOF {
			return nil
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			return fmt.Errorf("line %d: %w; a quote in a word is doubled, and the word put in quotes", bad.Line, bad.Err)
		}
		if err != nil {
			return err
		}
		line, _ := r.FieldPos(0)
		if len(record) < 2 || len(record) > 3 || strings.TrimSpace(record[0]) == "" {
			return fmt.Errorf("line %d: %d entries found, expected word,meaning,language; the language may be left out", line, len(record))
		}
		if why := l.add(strings.TrimSpace(record[0]), strings.TrimSpace(record[1])); why != "" {
			return fmt.Errorf("line %d: %s", line, why)
		}
	}
}

// add takes in a word; it says what is wrong with its meaning.
func (l *lexicon) add(word, means string) string {
	sort, of, assigned := strings.Cut(means, "=")
	switch {
	case means == "=machine" || means == "=axis" || means == "=moves":
		l.headers[keyOf(word)] = meaning{name: means}
	case !assigned:
		f := l.fields[means]
		if f == nil || f.Pair || f.Sort == spec.AxisRefs {
			return fmt.Sprintf("%q is no field that a column of a table can hold", clip(means))
		}
		l.headers[keyOf(word)] = meaning{field: f}
	case sort == "group":
		l.groups[keyOf(word)] = of
	case sort == "move" && of == safeName(of) && of != "":
		l.moves[keyOf(word)] = of
	case sort == "unit":
		l.units[fold(word)] = of
	case of == "" && sort == "filler":
		l.fillers[keyOf(word)] = true
	case of == "" && sort == "unknown":
		l.unknown[fold(word)] = true
	case of == "" && sort == "above":
		l.above[fold(word)] = true
	case of == "" && sort == "total":
		l.totals[fold(word)] = true
	case sort == "flag" || l.fields[sort] != nil:
		if l.cells[sort] == nil {
			l.cells[sort] = map[string]string{}
		}
		l.cells[sort][fold(word)] = of
	default:
		return fmt.Sprintf("%q is no meaning; write a field, =machine, =axis, =moves, group=, move=, unit=, unknown=, above=, total=, filler= or field=word", clip(means))
	}
	return ""
}

// keyOf makes headers comparable: letters and digits without marks, case and the ways to
// write an umlaut without one.
func keyOf(s string) string { return strings.Join(tokensOf(s), "") }

func tokensOf(s string) []string {
	var b strings.Builder
	for _, r := range norm.NFD.String(strings.ToLower(s)) {
		switch {
		case unicode.Is(unicode.Mn, r):
		case r == 'ß':
			b.WriteString("ss")
		case r == '⌀' || r == '∅':
			b.WriteRune('ø')
		case unicode.IsLetter(r) || unicode.IsNumber(r):
			b.WriteRune(r)
		default:
			b.WriteByte(' ')
		}
	}
	return strings.Fields(umlauts.Replace(b.String()))
}

// umlauts are how they are written without marks.
var umlauts = strings.NewReplacer("ae", "a", "oe", "o", "ue", "u")

// unitIn is the unit that a text is, alone or in brackets, as the language writes it; "".
func (l *lexicon) unitIn(text string) string {
	text = strings.TrimSpace(strings.Trim(strings.TrimSpace(text), "[]()"))
	if u := l.units[fold(text)]; u != "" {
		return u
	}
	if text == "" || len(text) > longestUnit || strings.ContainsAny(text[:1], "0123456789+-") && !strings.HasPrefix(text, "1/") {
		return ""
	}
	is, seen := l.isUnit[text]
	if !seen {
		is = text == "%" || text == `"` || slices.ContainsFunc(l.kinds, func(k unit.Kind) bool { return isUnit(text, k) })
		if len(l.isUnit) < maxLooked {
			l.isUnit[text] = is
		}
	}
	if is {
		return text
	}
	return ""
}

// longestUnit is more than the bytes of the longest unit.
const longestUnit = 20

// isUnit reports whether a text is a unit of a kind, and nothing else.
func isUnit(text string, k unit.Kind) bool {
	_, err := unit.Parse("1 "+text, k)
	return err == nil && unit.UnitOf("1 "+text) == text
}

// A headerText is a header taken apart.
type headerText struct {
	name  string   // without unit
	unit  string   // as it is written
	moves []string // that it names
	axis  string   // that it or the title above names, where several stand side by side
}

// takeApart parts the unit from the name of a header.
func (l *lexicon) takeApart(text string) headerText {
	h := headerText{name: strings.Join(strings.Fields(text), " ")}
	for _, pair := range []string{"[]", "()"} {
		open, end := strings.LastIndexByte(h.name, pair[0]), strings.LastIndexByte(h.name, pair[1])
		if open < 0 || end < open {
			continue
		}
		if u := strings.TrimSpace(h.name[open+1 : end]); l.unitIn(u) != "" {
			h.unit, h.name = u, strings.TrimSpace(h.name[:open]+" "+h.name[end+1:])
			break
		}
	}
	return h
}

// trailing is the header without a unit that stands behind it bare: "Lead mm".
func (l *lexicon) trailing(h headerText) (headerText, bool) {
	list := strings.Fields(h.name)
	for i := max(1, len(list)-3); i < len(list) && h.unit == ""; i++ {
		if u := strings.Trim(strings.Join(list[i:], " "), ",;:/"); l.unitIn(u) != "" {
			return headerText{name: strings.TrimRight(strings.Join(list[:i], " "), ",;:/ "), unit: u}, true
		}
	}
	return h, false
}

// header finds what a header means, given the title above it; beside says that the title
// stands above a header further left, and may end before this one.
func (l *lexicon) header(text, above string, beside bool) (meaning, headerText) {
	if axis := l.axisTitle(above); axis != "" {
		m, h := l.header(text, "", false)
		if h.axis == "" && m.field != nil {
			h.axis = axis
		}
		return m, h
	}
	h := l.takeApart(text)
	if u := l.unitIn(text); u != "" && above != "" && !beside { // the title is the header, and its unit stands below
		m, h := l.header(above, "", false)
		h.unit = strings.TrimSpace(strings.Trim(text, "[]()"))
		return m, h
	}
	ways := []headerText{h}
	if short, ok := l.trailing(h); ok {
		ways = append(ways, short)
	}
	for _, h := range ways {
		if m, h, ok := l.named(h, above, beside); ok {
			return m, h
		}
	}
	for _, h := range ways {
		axis, rest := l.axisIn(tokensOf(h.name))
		if axis == "" {
			continue
		}
		h.axis, h.name = axis, strings.Join(rest, " ")
		if m, h, ok := l.named(h, above, beside); ok && m.field != nil {
			return m, h
		}
	}
	return meaning{}, h
}

// named looks a name up: with the words of moves taken out, and with fillers taken out.
func (l *lexicon) named(h headerText, above string, beside bool) (meaning, headerText, bool) {
	if m, ok := l.lookUp(keyOf(h.name), above, beside); ok {
		return m, h, true
	}
	var rest, plain []string
	for _, t := range tokensOf(h.name) {
		if to := l.moves[t]; to != "" {
			h.moves = append(h.moves, to)
			continue
		}
		rest = append(rest, t)
		if !l.fillers[t] {
			plain = append(plain, t)
		}
	}
	if len(rest) == 0 && len(h.moves) == 1 && above != "" { // the title is the header, this one names the move
		top := l.takeApart(above)
		m, ok := l.lookUp(keyOf(top.name), "", false)
		if h.unit == "" {
			h.unit = top.unit
		}
		return m, h, ok && m.field != nil && isMove(m.field)
	}
	for _, list := range [][]string{rest, plain} {
		m, ok := l.lookUp(strings.Join(list, ""), above, beside)
		if ok && (len(h.moves) == 0 || len(h.moves) == 1 && m.field != nil && isMove(m.field)) {
			return m, h, true
		}
	}
	return meaning{}, h, false
}

// lookUp finds a key, first together with the title above.
func (l *lexicon) lookUp(key, above string, beside bool) (meaning, bool) {
	if key == "" {
		return meaning{}, false
	}
	title := keyOf(l.takeApart(above).name)
	block, isGroup := l.groups[title]
	if isGroup {
		for _, g := range slices.Sorted(mapKeys(l.groups)) {
			if l.groups[g] != block {
				continue
			}
			for _, k := range []string{g + key, key + g} {
				if m, ok := l.headers[k]; ok && m.field != nil && blockOf(m.field) == block {
					return m, true
				}
			}
		}
	}
	m, ok := l.headers[key]
	if !ok || !isGroup || m.field == nil || blockOf(m.field) == block {
		return m, ok
	}
	// A diameter below another title than the screw's is not that of the screw.
	b := blockOf(m.field)
	return m, beside && b != "screw" && b != "nut"
}

func blockOf(f *spec.Field) string {
	block, _, _ := strings.Cut(f.Path, ".")
	return block
}
