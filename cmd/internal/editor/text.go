package editor

import (
	"bytes"
	"slices"
	"unicode/utf8"

	"github.com/apparentlymart/go-textseg/v17/textseg"

	"trammel/spec"
)

// A position in a text, both from 0. A character is a byte or a UTF-16 unit, as was
// agreed with the client.
type position struct {
	Line      int `json:"line"`
	Character int `json:"character"`
}

// A span is what the protocol calls a range; its end is not included.
type span struct {
	Start position `json:"start"`
	End   position `json:"end"`
}

// A text is the content of a file with the starts of its lines.
type text struct {
	src   []byte
	lines []int
}

func newText(src []byte) *text {
	if src == nil {
		src = []byte{} // a text, and an empty one
	}
	t := &text{src: src, lines: []int{0}}
	for i, c := range src {
		if c == '\n' || c == '\r' && (i+1 == len(src) || src[i+1] != '\n') {
			t.lines = append(t.lines, i+1)
		}
	}
	return t
}

// line is the content of a line without its end, and where it begins.
func (t *text) line(n int) (content []byte, start int) {
	start, end := t.lines[n], len(t.src)
	if n+1 < len(t.lines) {
		end = t.lines[n+1]
	}
	return bytes.TrimRight(t.src[start:end], "\r\n"), start
}

// offset is the byte at a position. What lies behind the end of a line, or of the text,
// is that end; what lies within a character is its beginning.
func (t *text) offset(p position, utf8Units bool) int {
	if p.Line < 0 {
		return 0
	}
	if p.Line >= len(t.lines) {
		return len(t.src)
	}
	line, start := t.line(p.Line)
	at := 0
	for units := 0; at < len(line); {
		r, size := utf8.DecodeRune(line[at:])
		if units += unitsOf(r, size, utf8Units); units > p.Character {
			break
		}
		at += size
	}
	return start + at
}

// position is that of a byte.
func (t *text) position(at int, utf8Units bool) position {
	at = min(max(at, 0), len(t.src))
	n, exact := slices.BinarySearch(t.lines, at)
	if !exact {
		n--
	}
	p := position{Line: n}
	for i := t.lines[n]; i < at; {
		r, size := utf8.DecodeRune(t.src[i:])
		if i += size; i > at {
			break
		}
		p.Character += unitsOf(r, size, utf8Units)
	}
	return p
}

// unitsOf is how many units of a position a character takes.
func unitsOf(r rune, size int, utf8Units bool) int {
	switch {
	case utf8Units:
		return size
	case r > 0xFFFF:
		return 2
	}
	return 1
}

// stretch is the bytes of a place in the text. Some places have lines and columns only.
func (t *text) stretch(p spec.Place) (from, to int) {
	if p.Byte == 0 && p.EndByte == 0 && (p.Line > 1 || p.Col > 1 || p.EndCol > 1) {
		return t.column(p.Line, p.Col), t.column(p.EndLine, p.EndCol)
	}
	from = min(int(p.Byte), len(t.src))
	return from, min(max(from, int(p.EndByte)), len(t.src))
}

// column is the byte of a line and column as places count them: in characters as a
// person sees them.
func (t *text) column(line, col int32) int {
	n, start := 1, 0
	for n < int(line) {
		i := bytes.IndexByte(t.src[start:], '\n')
		if i < 0 {
			return len(t.src)
		}
		start += i + 1
		n++
	}
	for rest := t.src[start:]; col > 1 && len(rest) > 0 && rest[0] != '\n'; col-- {
		size, _, err := textseg.ScanGraphemeClusters(rest, true)
		if err != nil || size == 0 {
			break
		}
		start, rest = start+size, rest[size:]
	}
	return start
}

// A change replaces a stretch of a text, or where it has no range the whole.
type change struct {
	Range *span  `json:"range"`
	Text  string `json:"text"`
}

// apply makes a change, and says which bytes it replaced by how many.
func (t *text) apply(c change, utf8Units bool) (changed *text, from, to, size int) {
	if c.Range == nil {
		return newText([]byte(c.Text)), 0, len(t.src), len(c.Text)
	}
	from, to = t.offset(c.Range.Start, utf8Units), t.offset(c.Range.End, utf8Units)
	to = max(from, to)
	return newText(slices.Concat(t.src[:from], []byte(c.Text), t.src[to:])), from, to, len(c.Text)
}
