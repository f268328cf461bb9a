package spec

import (
	"bytes"
	"slices"
	"unicode/utf8"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
)

// What can still be read of a file with syntax errors. A line that is half typed
// takes nothing with it but what it would have said: it is left out, noted as
// lost, and the rest is read. What cannot be read so keeps its errors to the
// outermost block that they stand in.

// A lostLine is a line that was left out because it could not be parsed.
type lostLine struct {
	place Place  // of what stands on it
	name  string // the name that it begins with, "" if it begins with none
}

// maxSalvage bounds the bytes that are parsed again for one file.
const maxSalvage = 1 << 18

// A salvage reads what it can of one file.
type salvage struct {
	path string
	left int // bytes that may still be parsed again
	lost []lostLine
	body *hclsyntax.Body
	bad  []hcl.Range // outermost blocks that are not whole
}

// salvageOf reads what can be read of src, which has syntax errors. ok is false
// where nothing can be said of its parts, since where a block begins cannot be
// told.
func salvageOf(path string, src []byte) (s *salvage, ok bool) {
	if bytes.Contains(src, []byte("/*")) || bytes.Contains(src, []byte("<<")) {
		return nil, false // comments and texts of several lines may look like blocks
	}
	s = &salvage{path: path, left: maxSalvage, body: &hclsyntax.Body{Attributes: hclsyntax.Attributes{}}}
	for _, c := range chunks(src) {
		s.chunk(src, c.start, c.end, c.line)
	}
	return s, true
}

// A chunk is a stretch of lines that holds a block, or what stands between two.
type chunk struct{ start, end, line int }

// chunks cuts a file before each line that has a name in its first column, and
// behind each that has a closing brace there.
func chunks(src []byte) []chunk {
	var out []chunk
	at := chunk{line: 1}
	for i, line := 0, 1; i < len(src); line++ {
		n := bytes.IndexByte(src[i:], '\n') + 1
		if n == 0 {
			n = len(src) - i
		}
		cut := func(i, line int) {
			if i > at.start {
				at.end = i
				out = append(out, at)
				at = chunk{start: i, line: line}
			}
		}
		if isWordByte(src[i]) {
			cut(i, line)
		}
		closes := src[i] == '}'
		if i += n; closes {
			cut(i, line+1)
		}
	}
	at.end = len(src)
	return append(out, at)
}

func isWordByte(c byte) bool { return byteClass[c] == isWord }

// chunk reads one stretch, and reads it again without the first line that has an
// error, until none has.
func (s *salvage) chunk(src []byte, start, end, line int) {
	text := slices.Clone(src[start:end])
	first := hcl.Pos{Line: line, Column: 1, Byte: start}
	for {
		f, diags := hclsyntax.ParseConfig(text, s.path, first)
		body, _ := f.Body.(*hclsyntax.Body)
		if !diags.HasErrors() {
			s.take(body)
			return
		}
		if s.left -= len(text); s.left < 0 || !s.blank(text, first, diags) {
			s.take(body)
			s.bad = append(s.bad, hcl.Range{Filename: s.path, Start: first, End: hcl.Pos{Byte: end}})
			return
		}
	}
}

// blank puts spaces in place of the first line with an error. It reports false
// where leaving the line out could change what other lines mean.
func (s *salvage) blank(text []byte, first hcl.Pos, diags hcl.Diagnostics) bool {
	at := -1
	for _, d := range diags {
		if d.Severity == hcl.DiagError && d.Subject != nil && (at < 0 || d.Subject.Start.Byte < at) {
			at = d.Subject.Start.Byte
		}
	}
	if at -= first.Byte; at < 0 || at >= len(text) {
		return false
	}
	from := bytes.LastIndexByte(text[:at], '\n') + 1
	to := len(text)
	if n := bytes.IndexByte(text[at:], '\n'); n >= 0 {
		to = at + n
	}
	if to > from && text[to-1] == '\r' {
		to--
	}
	lead := from
	for lead < to && (text[lead] == ' ' || text[lead] == '\t') {
		lead++
	}
	said := text[lead:to]
	if len(said) == 0 || !closed(said) {
		return false
	}
	line := first.Line + bytes.Count(text[:from], []byte("\n"))
	col := int32(utf8.RuneCount(text[from:lead]) + 1)
	p := Place{File: s.path, Line: int32(line), Col: col, EndLine: int32(line), EndCol: col + int32(utf8.RuneCount(said)),
		Byte: int32(first.Byte + lead), EndByte: int32(first.Byte + to)}
	n := 0
	for n < len(said) && isWordByte(said[n]) {
		n++
	}
	s.lost = append(s.lost, lostLine{p, string(said[:n])})
	for i := range said {
		said[i] = ' '
	}
	return true
}

// closed reports whether a line opens and closes nothing that reaches beyond it.
func closed(line []byte) bool {
	return !bytes.ContainsAny(line, "{}") &&
		bytes.Count(line, []byte("[")) == bytes.Count(line, []byte("]")) &&
		bytes.Count(line, []byte("(")) == bytes.Count(line, []byte(")"))
}

func (s *salvage) take(body *hclsyntax.Body) {
	if body == nil {
		return
	}
	for name, a := range body.Attributes {
		s.body.Attributes[name] = a
	}
	s.body.Blocks = append(s.body.Blocks, body.Blocks...)
	s.body.SrcRange = hcl.RangeBetween(s.body.SrcRange, body.SrcRange)
}

// A lost is something in a block that could not be read: an attribute, or a
// block within it. What it would have said is not known.
type lost struct {
	in    *Block
	name  string // as written; "" where not even that could be read
	at    Place
	block bool // it is known to be a block
}

// field is the field that was most likely meant, nil where that cannot be told.
func (l *lost) field() *Field {
	if f := l.in.field(l.name); f != nil {
		return f
	}
	return l.in.field(nearestOf(l.name, l.in.names()))
}

// blockMeant is the block that was most likely meant, nil where that cannot be
// told.
func (l *lost) blockMeant() *Block {
	if b := l.in.block(l.name); b != nil {
		return b
	}
	return l.in.block(nearestOf(l.name, l.in.names()))
}

func nearestOf(name string, names []string) string {
	if name == "" {
		return ""
	}
	return Nearest(name, names)
}

// lostIn lists the lines of a body that were left out, those of the blocks in it
// left out, and whether one is a line of an attribute.
func (d *decoder) lostIn(body *hclsyntax.Body, each func(l lostLine, of *hclsyntax.Attribute)) {
	within := func(r hcl.Range, p Place) bool { return r.Start.Byte <= int(p.Byte) && int(p.Byte) < r.End.Byte }
lines:
	for _, l := range d.lost {
		if !within(body.SrcRange, l.place) {
			continue
		}
		for _, b := range body.Blocks {
			if within(b.Body.SrcRange, l.place) {
				continue lines
			}
		}
		var of *hclsyntax.Attribute
		for _, a := range body.Attributes {
			if within(a.SrcRange, l.place) {
				of = a
			}
		}
		each(l, of)
	}
}

// isBad reports whether a block stands in a stretch of the file that has syntax
// errors which could not be left out.
func (d *decoder) isBad(r hcl.Range) bool {
	return slices.ContainsFunc(d.bad, func(b hcl.Range) bool { return b.Start.Byte <= r.Start.Byte && r.Start.Byte < b.End.Byte })
}

// lose marks as unreadable what was lost of the values of a block, whose fields
// begin with index first. It returns losses of which it cannot be told what they
// would have said.
func lose(losses []lost, values []*Value, first int, o Origin) (unclear []lost) {
	for _, l := range losses {
		f := l.field()
		switch {
		case l.block || f == nil, f.Name != l.name && values[f.index-first] != nil:
			unclear = append(unclear, l)
		default:
			values[f.index-first] = unreadable(f, l.at, o)
		}
	}
	return unclear
}

// loseAll marks as unreadable what a block does not say and could have.
func loseAll(b *Block, values []*Value, first int, at Place) {
	for _, f := range b.Fields {
		if v := values[f.index-first]; v == nil || v.Origin == Default {
			v := unreadable(f, at, Own)
			v.Unclear = true
			values[f.index-first] = v
		}
	}
}

// loseUnclear marks as unreadable what a loss may have said that nothing else
// says.
func (a *Axis) loseUnclear(l lost) {
	b := l.blockMeant()
	switch {
	case b != nil && b.Name == "waive":
	case b != nil && b.Name == "move":
		a.lostMove = l.at
	case b != nil:
		a.loseBlock(b, l.at)
	case l.block, l.in == theSchema.Axis:
		loseAll(theSchema.Axis, a.values, 0, l.at)
		for _, b := range theSchema.Axis.Blocks {
			a.loseBlock(b, l.at)
		}
	default:
		loseAll(l.in, a.values, 0, l.at)
	}
}

func (a *Axis) loseBlock(b *Block, at Place) {
	if b.Name == "waive" {
		return
	}
	loseAll(b, a.values, 0, at)
	if b.Name == "motion" {
		a.lostMove = at // a move may be meant
	}
}

// loseRoles marks as unreadable what parts would have said whose references cannot
// be read.
func (a *Axis) loseRoles() {
	for _, ref := range theSchema.refs {
		if v := a.values[ref.field.index]; v != nil && v.Bad {
			a.loseRole(ref, v)
		}
	}
}

// loseRole marks as unreadable what the part would have said that a reference,
// which cannot be read, names.
func (a *Axis) loseRole(ref roleRef, v *Value) {
	for _, t := range ref.target {
		if t < 0 {
			continue
		}
		if have := a.values[t]; have == nil || have.Origin == Machine || have.Origin == Default {
			bad := unreadable(theSchema.Fields[t], v.Place, OfPart)
			bad.Ref = v
			a.values[t] = bad
		}
	}
}

// noteUnread notes whether something of the axis could not be read.
func (a *Axis) noteUnread() {
	bad := func(v *Value) bool { return v != nil && v.Bad }
	a.Unread = a.lostMove.Valid() || slices.ContainsFunc(a.values, bad)
	for _, m := range a.Moves {
		a.Unread = a.Unread || slices.ContainsFunc(m.values, bad)
	}
}

// unreadable is a value of f that could not be read; place is where it was looked
// for.
func unreadable(f *Field, at Place, o Origin) *Value {
	return &Value{Field: f, Place: at, Origin: o, Bad: true}
}
