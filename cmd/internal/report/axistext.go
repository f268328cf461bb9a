package report

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
	"sync"
	"unicode/utf8"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/mechanics"
)

// The text of an axis is what encoding/json makes of it, on one line. It is written here,
// because most of it is the same in every axis: ten thousand of them are 1.1 GB.

// text appends the axis.
func (a *Axis) text(b []byte) []byte {
	from := len(b)
	b = appendString(append(b, `{"axis":`...), a.Axis)
	b = appendWord(b, `,"machine":`, a.Machine)
	b = appendPlace(append(b, `,"location":`...), a.Place)
	b = appendList(append(b, `,"moves":`...), a.Moves, appendName)
	b = appendList(append(b, `,"rules":`...), a.Rules, appendRule)
	if a.Quantities != nil {
		b = appendList(append(b, `,"quantities":`...), a.Quantities, appendQuantity)
	}
	b = append(b, '}')
	if !bytes.Contains(b[from:], []byte("##")) {
		return b
	}
	var harmless bytes.Buffer
	_, _ = sanitize.JSON(&harmless).Write(b[from:])
	return append(b[:from], harmless.Bytes()...)
}

func appendRule(b []byte, r *jsonRule) []byte {
	b = appendString(append(b, `{"rule":`...), r.Rule)
	b = appendString(append(b, `,"state":`...), r.State)
	b = appendKnown(b, `,"use":`, r.Use)
	if r.Fit {
		b = append(b, `,"fit":true`...)
	}
	b = appendWord(b, `,"of":`, r.Of)
	b = appendValue(b, `,"value":`, r.Value)
	b = appendValue(b, `,"limit":`, r.Limit)
	b = appendWord(b, `,"unit":`, r.Unit)
	b = appendWord(b, `,"sense":`, r.Sense)
	b = appendWord(b, `,"why":`, r.Why)
	if len(r.Missing) > 0 {
		b = appendList(append(b, `,"missing":`...), r.Missing, func(b []byte, m *jsonMissing) []byte {
			b = appendString(append(b, `{"what":`...), m.What)
			return append(appendPlace(append(b, `,"location":`...), m.Place), '}')
		})
	}
	return append(b, '}')
}

func appendQuantity(b []byte, q *jsonQuantity) []byte {
	same := sameText(q.Name)
	if same != nil && same.of.Symbol == q.Symbol && same.of.Title == q.Title && same.of.Unit == q.Unit {
		b = append(b, same.head...)
	} else {
		b = appendHead(b, q)
	}
	b = appendValue(b, `,"value":`, q.Value)
	if len(q.Values) > 0 {
		b = appendList(append(b, `,"values":`...), q.Values, func(b []byte, v *any) []byte {
			if *v == nil {
				return append(b, "null"...)
			}
			return appendValue(b, "", *v)
		})
	}
	b = appendKnown(b, `,"low":`, q.Low)
	b = appendKnown(b, `,"high":`, q.High)
	b = appendWord(b, `,"text":`, q.Text)
	if len(q.Texts) > 0 {
		b = appendList(append(b, `,"texts":`...), q.Texts, appendName)
	}
	b = appendWord(b, `,"origin":`, q.Origin)
	if q.Place != nil {
		b = appendPlace(append(b, `,"location":`...), q.Place)
	}
	if len(q.Places) > 0 {
		b = appendList(append(b, `,"locations":`...), q.Places, func(b []byte, p **jsonPlace) []byte { return appendPlace(b, *p) })
	}
	if same != nil && same.of.Formula == q.Formula && same.of.Source == q.Source {
		b = append(b, same.tail...)
	} else {
		b = appendTail(b, q)
	}
	if len(q.Needs) > 0 {
		b = appendList(append(b, `,"needs":`...), q.Needs, appendName)
	}
	return append(b, '}')
}

func appendHead(b []byte, q *jsonQuantity) []byte {
	b = appendString(append(b, `{"name":`...), q.Name)
	b = appendWord(b, `,"symbol":`, q.Symbol)
	b = appendString(append(b, `,"title":`...), q.Title)
	return appendString(append(b, `,"unit":`...), q.Unit)
}

func appendTail(b []byte, q *jsonQuantity) []byte {
	return appendWord(appendWord(b, `,"formula":`, q.Formula), `,"source":`, q.Source)
}

// A quantityText is what is the same of a quantity in all axes.
type quantityText struct {
	of         jsonQuantity
	head, tail string
}

func sameText(name string) *quantityText { return quantityTexts()[name] }

var quantityTexts = sync.OnceValue(func() map[string]*quantityText {
	out := map[string]*quantityText{}
	for _, q := range mechanics.All() {
		of := described(q)
		out[q.Name] = &quantityText{of, string(appendHead(nil, &of)), string(appendTail(nil, &of))}
	}
	return out
})

func appendList[T any](b []byte, list []T, item func([]byte, *T) []byte) []byte {
	if list == nil {
		return append(b, "null"...)
	}
	b = append(b, '[')
	for i := range list {
		if i > 0 {
			b = append(b, ',')
		}
		b = item(b, &list[i])
	}
	return append(b, ']')
}

func appendName(b []byte, s *string) []byte { return appendString(b, *s) }

// appendWord appends a field unless it is empty.
func appendWord(b []byte, key, s string) []byte {
	if s == "" {
		return b
	}
	return appendString(append(b, key...), s)
}

func appendKnown(b []byte, key string, x *float64) []byte {
	if x == nil {
		return b
	}
	return appendNumber(append(b, key...), *x)
}

// appendValue appends what may be a number or a word.
func appendValue(b []byte, key string, v any) []byte {
	switch v := v.(type) {
	case float64:
		return appendNumber(append(b, key...), v)
	case string:
		return appendString(append(b, key...), v)
	}
	return b
}

func appendPlace(b []byte, p *jsonPlace) []byte {
	if p == nil {
		return append(b, "null"...)
	}
	b = appendString(append(b, `{"file":`...), p.File)
	for i, n := range []int32{p.Line, p.Column, p.EndLine, p.EndColumn, p.Byte, p.EndByte} {
		b = strconv.AppendInt(append(b, placeKeys[i]...), int64(n), 10)
	}
	return append(b, '}')
}

var placeKeys = [...]string{`,"line":`, `,"column":`, `,"end_line":`, `,"end_column":`, `,"byte":`, `,"end_byte":`}

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

// appendString writes a text as encoding/json does, without signs that hide.
func appendString(b []byte, s string) []byte {
	if !bare(s) {
		return appendEscaped(b, s)
	}
	return append(append(append(b, '"'), s...), '"')
}

// bare reports a text that stands in JSON as it is.
func bare[T string | []byte](s T) bool {
	for i := 0; i < len(s); {
		if c := s[i]; c < utf8.RuneSelf {
			if c < ' ' || c == '"' || c == '\\' || c == 0x7f {
				return false
			}
			i++
			continue
		}
		r, n := utf8.DecodeRuneInString(string(s[i:min(i+utf8.UTFMax, len(s))]))
		if r == utf8.RuneError && n == 1 || sanitize.Hides(r) {
			return false
		}
		i += n
	}
	return true
}

func appendEscaped(b []byte, s string) []byte {
	var out bytes.Buffer
	enc := json.NewEncoder(sanitize.JSON(&out))
	enc.SetEscapeHTML(false)
	if enc.Encode(s) != nil {
		return append(b, `""`...) // no text fails
	}
	return append(b, bytes.TrimSuffix(out.Bytes(), []byte("\n"))...)
}
