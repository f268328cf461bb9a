package step

import (
	"bytes"
	"strconv"
	"unicode/utf16"
	"unicode/utf8"
)

// sort is the sort of a parameter.
type sort uint8

const (
	empty sort = iota // $ or *
	number
	text  // and binary
	word  // .T.
	ref   // #12
	list  // (…)
	typed // LENGTH_MEASURE(…)
)

// A value is one parameter of an instance.
type value struct {
	sort sort
	num  float64 // of a number
	id   uint64  // of a ref
	text []byte  // of a text as written, without its signs; of a word; the name of a typed one
	list []value // of a list or a typed one
}

// A parser reads parameters from a statement.
type parser struct {
	src   []byte
	pos   int
	count int     // of values so far
	stack []value // of the lists that are not at their end
	lists []value // of those that are
}

func (p *parser) space() {
	for p.pos < len(p.src) && p.src[p.pos] <= ' ' {
		p.pos++
	}
}

func (p *parser) peek() byte {
	p.space()
	if p.pos < len(p.src) {
		return p.src[p.pos]
	}
	return 0
}

// take passes over a sign, if it stands there.
func (p *parser) take(c byte) bool {
	if p.peek() == c {
		p.pos++
		return true
	}
	return false
}

// keyword takes a name; user-defined ones begin with an exclamation mark.
func (p *parser) keyword() []byte {
	p.space()
	from := p.pos
	for p.pos < len(p.src) && (isLetter(p.src[p.pos]) || isDigit(p.src[p.pos]) || p.src[p.pos] == '-' || p.src[p.pos] == '!' && p.pos == from) {
		p.pos++
	}
	return p.src[from:p.pos]
}

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' || c == '_' }
func isDigit(c byte) bool  { return c >= '0' && c <= '9' }

// maxValues is for one statement: a shell lists its faces, a loop its edges.
const maxValues = maxFaces + 50_000

// values takes a list in brackets.
func (p *parser) values(depth int) (out []value, ok bool) {
	if depth > maxDepth || !p.take('(') {
		return nil, false
	}
	if p.take(')') {
		return nil, true
	}
	for from := len(p.stack); ; {
		v, ok := p.value(depth)
		if p.count++; !ok || p.count > maxValues {
			return nil, false
		}
		p.stack = append(p.stack, v)
		if p.take(',') {
			continue
		}
		out = p.list(p.stack[from:])
		p.stack = p.stack[:from]
		return out, p.take(')')
	}
}

// list stores a list that is at its end. Where there is no room a larger array begins; the
// lists in the one before stay where they are.
func (p *parser) list(values []value) []value {
	from := len(p.lists)
	if len(values) > cap(p.lists)-from {
		from, p.lists = 0, make([]value, 0, max(2*cap(p.lists), len(values), 256))
	}
	p.lists = append(p.lists, values...)
	return p.lists[from:len(p.lists):len(p.lists)]
}

func (p *parser) value(depth int) (v value, ok bool) {
	switch c := p.peek(); {
	case c == '(':
		v.sort = list
		v.list, ok = p.values(depth + 1)
		return v, ok
	case c == '#':
		p.pos++
		v.sort = ref
		v.id, ok = p.id()
		return v, ok
	case c == '$' || c == '*':
		p.pos++
		return v, true
	case c == '\'' || c == '"':
		return p.quoted(c)
	case c == '.' && p.pos+1 < len(p.src) && isLetter(p.src[p.pos+1]):
		return p.word()
	case isDigit(c) || c == '-' || c == '+' || c == '.':
		return p.number()
	case isLetter(c) || c == '!':
		v.sort, v.text = typed, p.keyword()
		v.list, ok = p.values(depth + 1)
		return v, ok
	}
	return v, false
}

// id takes the digits of an instance's number; more than 18 are none.
func (p *parser) id() (id uint64, ok bool) {
	from := p.pos
	for p.pos < len(p.src) && isDigit(p.src[p.pos]) && p.pos-from < 19 {
		id = id*10 + uint64(p.src[p.pos]-'0')
		p.pos++
	}
	return id, p.pos > from && p.pos-from <= 18
}

func (p *parser) quoted(sign byte) (v value, ok bool) {
	p.pos++
	from := p.pos
	for {
		n := bytes.IndexByte(p.src[p.pos:], sign)
		if n < 0 {
			return v, false
		}
		p.pos += n + 1
		if p.pos < len(p.src) && p.src[p.pos] == sign {
			p.pos++
			continue
		}
		return value{sort: text, text: p.src[from : p.pos-1]}, true
	}
}

func (p *parser) word() (v value, ok bool) {
	p.pos++
	from := p.pos
	for p.pos < len(p.src) && (isLetter(p.src[p.pos]) || isDigit(p.src[p.pos])) {
		p.pos++
	}
	v = value{sort: word, text: p.src[from:p.pos]}
	if p.pos < len(p.src) && p.src[p.pos] == '.' {
		p.pos++
		return v, true
	}
	return v, false
}

func (p *parser) number() (v value, ok bool) {
	from := p.pos
	for p.pos < len(p.src) && (isDigit(p.src[p.pos]) || bytes.IndexByte([]byte("+-.eEdD"), p.src[p.pos]) >= 0) {
		p.pos++
	}
	x, err := strconv.ParseFloat(string(p.src[from:p.pos]), 64)
	return value{sort: number, num: x}, err == nil
}

// decode gives a text as people read it: doubled signs and the escapes of ISO 10303-21
// for letters beyond ASCII are resolved. An escape that is none stays as it is.
func decode(src []byte) string {
	src = bytes.ReplaceAll(src, []byte("''"), []byte("'"))
	if bytes.IndexByte(src, '\\') < 0 && utf8.Valid(src) {
		return string(src)
	}
	var out []rune
	for len(src) > 0 {
		if r, n := escape(src); n > 0 {
			out = append(out, r...)
			src = src[n:]
			continue
		}
		r, n := utf8.DecodeRune(src)
		if r == utf8.RuneError && n == 1 {
			r = rune(src[0]) // a writer of old that knows no UTF-8
		}
		out = append(out, r)
		src = src[n:]
	}
	return string(out)
}

// escape reads one escape; n is 0 where none stands.
func escape(src []byte) (out []rune, n int) {
	switch {
	case src[0] != '\\' || len(src) < 2:
	case src[1] == '\\':
		return []rune{'\\'}, 2
	case bytes.HasPrefix(src, []byte(`\S\`)) && len(src) > 3:
		return []rune{rune(src[3]) | 0x80}, 4
	case len(src) > 3 && src[1] == 'P' && src[3] == '\\':
		return nil, 4
	case bytes.HasPrefix(src, []byte(`\X\`)) && len(src) > 4:
		if x, err := strconv.ParseUint(string(src[3:5]), 16, 8); err == nil {
			return []rune{rune(x)}, 5
		}
	case bytes.HasPrefix(src, []byte(`\X2\`)):
		return wide(src, 4)
	case bytes.HasPrefix(src, []byte(`\X4\`)):
		return wide(src, 8)
	}
	return nil, 0
}

// wide reads letters of so many hexadecimal digits each.
func wide(src []byte, digits int) (out []rune, n int) {
	end := bytes.Index(src, []byte(`\X0\`))
	if end < 4 || (end-4)%digits != 0 {
		return nil, 0
	}
	var units []uint16
	for i := 4; i < end; i += digits {
		x, err := strconv.ParseUint(string(src[i:i+digits]), 16, 32)
		switch {
		case err != nil:
			return nil, 0
		case digits == 4:
			units = append(units, uint16(x))
		case x > utf8.MaxRune:
			out = append(out, utf8.RuneError)
		default:
			out = append(out, rune(x))
		}
	}
	return append(out, utf16.Decode(units)...), end + 4
}
