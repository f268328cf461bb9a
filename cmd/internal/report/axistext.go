package report

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"trammel/cmd/internal/codec"
	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// The text of an axis is what encoding/json makes of a jsonAxis, on one line. It is written
// here from a record, because most of it is the same in every axis: ten thousand of them
// are 1.1 GB, of which a twentieth is their own.

// An axisText writes the text of an axis from its record.
type axisText struct {
	b     []byte
	r     *codec.Reader
	from  *From
	files []shownFile
}

// A shownFile is a file that places name.
type shownFile struct{ name, text string }

// write appends the text of a record, its places as seen from somewhere.
func (t *axisText) write(b, record []byte, from *From) ([]byte, error) {
	t.b, t.r, t.from, t.files = b, codec.NewReader(record), from, t.files[:0]
	t.axis()
	if err := t.r.End(); err != nil {
		return nil, unread(err)
	}
	return t.b, nil
}

func (t *axisText) put(s string) { t.b = append(t.b, s...) }

func (t *axisText) axis() {
	t.put(`{"axis":`)
	t.text()
	t.word(`,"machine":`, t.r.String())
	t.put(`,"location":`)
	t.place(t.r.Place())
	t.r.Int() // how many passed
	t.put(`,"moves":`)
	t.list(t.r.Count(), t.text)
	t.put(`,"rules":`)
	t.list(t.r.Count(), t.rule)
	if t.r.Bool() {
		t.quantities()
	}
	t.put("}")
}

// text writes the next text of the record.
func (t *axisText) text() { t.b = appendString(t.b, t.r.String()) }

// word writes a field unless it is empty.
func (t *axisText) word(key, s string) {
	if s != "" {
		t.put(key)
		t.b = appendString(t.b, s)
	}
}

func (t *axisText) list(n int, item func()) {
	t.put("[")
	for i := range n {
		if i > 0 {
			t.put(",")
		}
		item()
	}
	t.put("]")
}

// number writes a field unless its value is not known.
func (t *axisText) number(key string, x float64) {
	switch {
	case math.IsNaN(x):
	case math.IsInf(x, 0):
		t.put(key)
		t.put(`"unlimited"`)
	default:
		t.put(key)
		t.b = appendNumber(t.b, x)
	}
}

// finite writes a field unless its value is not known or without bound.
func (t *axisText) finite(key string, x float64) {
	if !math.IsInf(x, 0) {
		t.number(key, x)
	}
}

// place writes a location, null for none.
func (t *axisText) place(p spec.Place) {
	if !p.Valid() {
		t.put("null")
		return
	}
	t.put(`{"file":`)
	t.file(p)
	for i, n := range [...]int32{p.Line, p.Col, p.EndLine, p.EndCol, p.Byte, p.EndByte} {
		t.put(placeKeys[i])
		t.b = strconv.AppendInt(t.b, int64(n), 10)
	}
	t.put("}")
}

var placeKeys = [...]string{`,"line":`, `,"column":`, `,"end_line":`, `,"end_column":`, `,"byte":`, `,"end_byte":`}

func (t *axisText) file(p spec.Place) {
	for i := range t.files {
		if t.files[i].name == p.File {
			t.put(t.files[i].text)
			return
		}
	}
	text := string(appendString(nil, t.from.Show(p).File))
	t.files = append(t.files, shownFile{p.File, text})
	t.put(text)
}

func (t *axisText) rule() {
	t.put(`{"rule":`)
	if n := t.r.Within(len(rules.Book().All()) + 1); n > 0 {
		t.b = appendString(t.b, rules.Book().All()[n-1].Name)
	} else {
		t.text()
	}
	t.word(`,"state":`, judge.State(t.r.Within(int(judge.Disabled)+1)).String())
	if t.r.Bool() {
		t.finite(`,"use":`, t.r.Float())
	}
	if t.r.Bool() {
		t.put(`,"fit":true`)
	}
	if t.r.Bool() {
		t.compared()
	}
	t.word(`,"why":`, t.r.String())
	if n := t.r.Count(); n > 0 {
		t.put(`,"missing":`)
		t.list(n, func() {
			t.put(`{"what":`)
			t.text()
			t.put(`,"location":`)
			t.place(t.r.Place())
			t.put("}")
		})
	}
	t.put("}")
}

// compared writes what was compared with what.
func (t *axisText) compared() {
	if of := t.r.Within(len(mechanics.All()) + 1); of > 0 {
		t.word(`,"of":`, mechanics.All()[of-1].Name)
	}
	t.number(`,"value":`, t.r.Float())
	t.number(`,"limit":`, t.r.Float())
	t.word(`,"unit":`, unit.Kind(t.r.Within(unit.Kinds)).SI())
	t.word(`,"sense":`, judge.Sense(t.r.Within(int(judge.AtLeast)+1)).String())
}

func (t *axisText) quantities() {
	t.put(`,"quantities":[`)
	all := mechanics.All()
	for first := true; ; first = false {
		n := t.r.Within(len(all) + 1)
		if n == 0 {
			t.put("]")
			return
		}
		if !first {
			t.put(",")
		}
		t.quantity(all[n-1])
	}
}

func (t *axisText) quantity(q *mechanics.Quantity) {
	same := &quantityTexts()[q.ID()]
	t.put(same.head)
	if q.Shape == mechanics.Scalar {
		t.scalar(q)
	} else {
		t.series(q)
	}
	t.put(same.tail)
	t.needs(q)
	t.put("}")
}

func (t *axisText) scalar(q *mechanics.Quantity) {
	x := t.r.Float()
	switch {
	case len(q.Words) == 0:
		t.number(`,"value":`, x)
	case x >= 0 && x < float64(len(q.Words)):
		t.put(`,"value":`)
		t.b = appendString(t.b, q.Words[int(x)])
	default:
		t.r.Fail()
	}
	if !t.r.Bool() {
		return
	}
	if t.r.Bool() {
		t.finite(`,"low":`, t.r.Float())
		t.finite(`,"high":`, t.r.Float())
	}
	t.word(`,"text":`, t.r.String())
	t.word(`,"origin":`, spec.Origin(t.r.Within(int(spec.Default)+1)).String())
	if p := t.r.Place(); p.Valid() {
		t.put(`,"location":`)
		t.place(p)
	}
}

func (t *axisText) series(q *mechanics.Quantity) {
	n := t.r.Count()
	t.put(`,"values":`)
	t.list(n, func() {
		x := t.r.Float()
		if t.number("", x); math.IsNaN(x) {
			t.put("null")
		}
	})
	if !declaredPerMove(q) {
		return
	}
	t.put(`,"texts":`)
	t.list(n, t.text)
	t.put(`,"locations":`)
	t.list(n, func() { t.place(t.r.Place()) })
}

// needs writes what a quantity was computed from, as far as it differs between axes.
func (t *axisText) needs(q *mechanics.Quantity) {
	n := len(q.Needs)
	for _, m := range q.May {
		if !t.r.Bool() {
			continue
		}
		if n++; n == 1 {
			t.put(`,"needs":[`)
		} else {
			t.put(",")
		}
		t.b = appendString(t.b, m.Name)
	}
	if n > 0 {
		t.put("]")
	}
}

// A quantityText is what is the same of a quantity in all axes.
type quantityText struct {
	head, tail string
	open       bool // the tail ends within the list of what it needs
}

// quantityTexts are by ID.
var quantityTexts = sync.OnceValue(func() (out []quantityText) {
	for _, q := range mechanics.All() {
		t := axisText{}
		t.put(`{"name":`)
		t.b = appendString(t.b, q.Name)
		t.word(`,"symbol":`, q.Symbol)
		t.put(`,"title":`)
		t.b = appendString(t.b, q.Title)
		t.put(`,"unit":`)
		t.b = appendString(t.b, q.Kind.SI())
		head := string(t.b)
		t.b = t.b[:0]
		t.word(`,"formula":`, q.Formula)
		t.word(`,"source":`, q.Source)
		if len(q.Needs) > 0 {
			t.put(`,"needs":`)
			i := 0
			t.list(len(q.Needs), func() { t.b = appendString(t.b, q.Needs[i].Name); i++ })
		}
		out = append(out, quantityText{head, strings.TrimSuffix(string(t.b), "]"), len(q.Needs) > 0})
	}
	return out
})

// appendNumber writes a finite number as encoding/json does.
func appendNumber(b []byte, x float64) []byte {
	if abs := math.Abs(x); abs != 0 && (abs < 1e-6 || abs >= 1e21) {
		b = strconv.AppendFloat(b, x, 'e', -1, 64)
		if n := len(b); n >= 4 && b[n-4] == 'e' && b[n-2] == '0' { // e-09 is e-9
			b[n-2] = b[n-1]
			b = b[:n-1]
		}
		return b
	}
	return strconv.AppendFloat(b, x, 'f', -1, 64)
}

// appendString writes a text as encoding/json does, without signs that hide or command.
func appendString(b []byte, s string) []byte {
	if !bare(s) {
		return appendEscaped(b, s)
	}
	return append(append(append(b, '"'), s...), '"')
}

// bare reports a text that stands in JSON as it is.
func bare[T string | []byte](s T) bool {
	for i := 0; i < len(s); {
		switch c := s[i]; {
		case plain[c], c == '#' && (i+1 == len(s) || s[i+1] != '#'):
			i++
		case c < utf8.RuneSelf:
			return false
		default:
			r, n := utf8.DecodeRuneInString(string(s[i:min(i+utf8.UTFMax, len(s))]))
			if r == utf8.RuneError && n == 1 || sanitize.Hides(r) {
				return false
			}
			i += n
		}
	}
	return true
}

// plain are the bytes of a text that stand in JSON as they are, whatever follows.
var plain = func() (set [256]bool) {
	for c := byte(' '); c < 0x7f; c++ {
		set[c] = c != '"' && c != '\\' && c != '#'
	}
	return set
}()

func appendEscaped(b []byte, s string) []byte { return append(b, libraryText(s)...) }

// libraryText is what the library makes of a value, without signs that hide or command.
func libraryText(v any) []byte {
	var out bytes.Buffer
	enc := json.NewEncoder(sanitize.JSON(&out))
	enc.SetEscapeHTML(false)
	if enc.Encode(v) != nil {
		return []byte(`""`) // no text fails
	}
	return bytes.TrimSuffix(out.Bytes(), []byte("\n"))
}
