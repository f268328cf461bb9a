package editor

import (
	"path"
	"slices"
	"strings"

	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/spec"
)

// An outline is what stands where in a text. It is made of tokens, not of a parsed file:
// a text that is being written has no whole syntax most of the time.
type outline struct {
	file     *node
	sections []*section
}

// A node is a block, or the file as a whole.
type node struct {
	kind       string // "axis"; "" for the file
	labels     []word
	start, end int // from the first byte of its head to behind its brace
	open       int // behind the opening brace
	up         *node
	attrs      []*attr
	blocks     []*node
	block      *spec.Block // of the language, nil where it knows none
}

// An attr is name = value, or a name alone.
type attr struct {
	word
	valueAt, valueEnd int // bytes of the value; both the end of the name where there is no equals sign
	equals            bool
	value             hclsyntax.Tokens
	in                *node
	field             *spec.Field // of the language; nil where it knows none
}

// A word is a name with its bytes.
type word struct {
	text     string
	from, to int
}

// maxDeep is how deep an outline goes; the language has four levels.
const maxDeep = 8

func outlineOf(name string, src []byte) *outline {
	o := &outline{sections: []*section{newSection(name, src, 0)}}
	o.join(name, len(src))
	return o
}

// fileBlock is what a file of that name may hold.
func fileBlock(name string) *spec.Block {
	l := spec.Language()
	switch {
	case strings.HasSuffix(name, spec.PartsSuffix):
		return l.PartsFile
	case strings.HasSuffix(name, spec.PolicySuffix):
		return l.PolicyFile
	}
	return l.AxisFile
}

type outliner struct {
	src  []byte
	rest hclsyntax.Tokens
}

func (p *outliner) peek() hclsyntax.TokenType {
	if len(p.rest) == 0 {
		return hclsyntax.TokenEOF
	}
	return p.rest[0].Type
}

func (p *outliner) take() hclsyntax.Token {
	t := p.rest[0]
	p.rest = p.rest[1:]
	return t
}

// body reads what stands in a block, up to and with its closing brace.
func (p *outliner) body(in *node, deep int) {
	for {
		switch p.peek() {
		case hclsyntax.TokenEOF:
			in.end = len(p.src)
			return
		case hclsyntax.TokenCBrace:
			t := p.take()
			if in.up != nil {
				in.end = t.Range.End.Byte
				return
			}
		case hclsyntax.TokenIdent:
			p.entry(in, deep)
		default:
			p.take()
		}
	}
}

// entry reads an attribute or a block. A line that is neither is a name alone.
func (p *outliner) entry(in *node, deep int) {
	t := p.take()
	name := wordOf(t)
	var labels []word
	for p.peek() == hclsyntax.TokenIdent || p.peek() == hclsyntax.TokenOQuote {
		if l, ok := p.label(); ok {
			labels = append(labels, l)
		}
	}
	switch p.peek() {
	case hclsyntax.TokenEqual:
		a := &attr{word: name, in: in, equals: true, field: fieldOf(in, name.text)}
		a.valueAt = p.take().Range.End.Byte
		p.value(a)
		in.attrs = append(in.attrs, a)
	case hclsyntax.TokenOBrace:
		open := p.take()
		n := &node{kind: name.text, labels: labels, start: name.from, open: open.Range.End.Byte, up: in, block: blockOf(in, name.text)}
		if in.blocks = append(in.blocks, n); deep < maxDeep {
			p.body(n, deep+1)
		} else {
			n.end = n.open
		}
	default:
		in.attrs = append(in.attrs, &attr{word: name, in: in, valueAt: name.to, valueEnd: name.to, field: fieldOf(in, name.text)})
	}
}

// label reads the name of a block, with or without quotes.
func (p *outliner) label() (word, bool) {
	t := p.take()
	if t.Type == hclsyntax.TokenIdent {
		return wordOf(t), true
	}
	w := word{from: t.Range.End.Byte, to: t.Range.End.Byte}
	for {
		switch p.peek() {
		case hclsyntax.TokenQuotedLit:
			w.to = p.take().Range.End.Byte
			w.text = string(p.src[w.from:w.to])
		case hclsyntax.TokenCQuote:
			p.take()
			return w, true
		default:
			return w, false
		}
	}
}

// value reads a value up to the end of its line, or of the block on one line.
func (p *outliner) value(a *attr) {
	deep := 0
	a.valueEnd = a.valueAt
	for {
		switch p.peek() {
		case hclsyntax.TokenEOF, hclsyntax.TokenComment:
			p.trim(a)
			return
		case hclsyntax.TokenNewline:
			if deep <= 0 {
				p.trim(a)
				return
			}
		case hclsyntax.TokenOBrace, hclsyntax.TokenOBrack, hclsyntax.TokenOParen, hclsyntax.TokenTemplateInterp, hclsyntax.TokenTemplateControl:
			deep++
		case hclsyntax.TokenCBrace:
			if deep <= 0 {
				p.trim(a)
				return
			}
			deep--
		case hclsyntax.TokenCBrack, hclsyntax.TokenCParen, hclsyntax.TokenTemplateSeqEnd:
			deep--
		}
		t := p.take()
		a.value = append(a.value, t)
		a.valueEnd = t.Range.End.Byte
	}
}

// trim leaves out the space before a value.
func (p *outliner) trim(a *attr) {
	for a.valueAt < len(p.src) && (p.src[a.valueAt] == ' ' || p.src[a.valueAt] == '\t') {
		a.valueAt++
	}
	a.valueEnd = max(a.valueAt, a.valueEnd)
}

func wordOf(t hclsyntax.Token) word {
	return word{string(t.Bytes), t.Range.Start.Byte, t.Range.End.Byte}
}

func blockOf(in *node, name string) *spec.Block {
	if in.block == nil {
		return nil
	}
	if i := slices.IndexFunc(in.block.Blocks, func(b *spec.Block) bool { return b.Name == name }); i >= 0 {
		return in.block.Blocks[i]
	}
	return nil
}

func fieldOf(in *node, name string) *spec.Field {
	if in.block == nil {
		return nil
	}
	if i := slices.IndexFunc(in.block.Fields, func(f *spec.Field) bool { return f.Name == name }); i >= 0 {
		return in.block.Fields[i]
	}
	return nil
}

// label is a block's first name, "" where it has none.
func (n *node) label() string {
	if len(n.labels) == 0 {
		return ""
	}
	return n.labels[0].text
}

// within gives the innermost block around a byte.
func (o *outline) within(at int) *node {
	n := o.file
next:
	for {
		for _, b := range n.blocks {
			if b.open <= at && at < max(b.end, b.open+1) && (at < b.end || b.end == o.file.end) {
				n = b
				continue next
			}
		}
		return n
	}
}

// head gives the block in whose head, before its brace, a byte stands; nil for none.
func (o *outline) head(at int) *node {
	for _, b := range o.within(at).blocks {
		if b.start <= at && at < b.open {
			return b
		}
	}
	return nil
}

// attrAt gives the attribute on whose name or value a byte stands; nil for none.
func (o *outline) attrAt(at int) *attr {
	for _, a := range o.within(at).attrs {
		if a.from <= at && at <= a.valueEnd {
			return a
		}
	}
	return nil
}

// top is the outermost block that a block stands in, or is.
func (n *node) top() *node {
	for n.up != nil && n.up.up != nil {
		n = n.up
	}
	return n
}

// all calls f for a block and all in it.
func (n *node) all(f func(*node)) {
	f(n)
	for _, b := range n.blocks {
		b.all(f)
	}
}

// A reference is a name of something else in a value: screw.g20x10, axis.lift, given.x,
// screw["20x10"].
type reference struct {
	kind string
	name word // without quotes
	from int  // of the kind
	to   int
}

// references lists the references in a value.
func (a *attr) references() (out []reference) {
	t := a.value
	for i := 0; i+2 < len(t); i++ {
		if t[i].Type != hclsyntax.TokenIdent || i > 0 && t[i-1].Type == hclsyntax.TokenDot {
			continue
		}
		kind := wordOf(t[i])
		switch {
		case t[i+1].Type == hclsyntax.TokenDot && t[i+2].Type == hclsyntax.TokenIdent:
			name := wordOf(t[i+2])
			out = append(out, reference{kind.text, name, kind.from, name.to})
		case t[i+1].Type == hclsyntax.TokenOBrack && t[i+2].Type == hclsyntax.TokenOQuote && i+4 < len(t) && t[i+3].Type == hclsyntax.TokenQuotedLit:
			name := wordOf(t[i+3])
			out = append(out, reference{kind.text, name, kind.from, t[i+4].Range.End.Byte})
		}
	}
	return out
}

// outline is that of the file as it is being written.
func (d *doc) outline() *outline {
	if d.lined != d.text {
		if d.lined = d.text; len(d.text.src) > spec.MaxFileSize {
			d.lines = outlineOf(d.name, nil) // nor does anybody read it
		} else {
			d.lines = d.outlineFrom(d.lines)
		}
	}
	return d.lines
}

// outlineOf is that of any file of the tree.
func (r *root) outlineOf(name string) *outline {
	if d := r.open[name]; d != nil {
		return d.outline()
	}
	return outlineOf(name, r.textOf(name).src)
}

func isMachine(name string) bool { return path.Base(name) == spec.MachineFile }
