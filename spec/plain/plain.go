// Package plain reads HCL text of the plainest kind, several times faster than
// the parser of the library.
package plain

import (
	"os"
	"strings"
	"unicode/utf8"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
	"github.com/zclconf/go-cty/cty"
)

// Switch is the environment variable that, set to "off", leaves all text to the
// parser of the library.
const Switch = "TRAMMEL_PLAIN"

var off = os.Getenv(Switch) == "off"

// Read makes of a plain text the very tree that hclsyntax.ParseConfig makes of it,
// with every range. Plain are blocks with at most one label, and attributes that are
// texts in quotes, bare numbers, true, false, references of two names and lists of
// these; a text in quotes with more in it than ASCII and Latin 1 is read by the library,
// alone. Of every other text, and of every text that is wrong, ok is false: what it
// means and what is wrong with it the library says. Texts of the tree share the
// memory of one copy of src, but for labels.
func Read(path string, src []byte) (body *hclsyntax.Body, ok bool) {
	return new(Memory).Read(path, src)
}

// A Memory is that of the nodes of one tree: half of what a check would take anew for each
// file. It is for one goroutine.
type Memory struct {
	attributes []hclsyntax.Attribute
	texts      []textNode
	blocks     []blockNode
}

// What is kept for the next tree: so many nodes of a kind, and of those in one block. A file
// with more is rare.
const (
	mostKept   = 4096
	mostInBody = 64
)

// Read is the function Read for who looks at nothing of the tree before: it is made in the
// same memory. Texts of the tree stay as they are.
func (m *Memory) Read(path string, src []byte) (body *hclsyntax.Body, ok bool) {
	if off || len(src) == 0 || src[len(src)-1] != '\n' || !utf8.Valid(src) {
		return nil, false
	}
	r := &reader{path: path, src: string(src), line: 1}
	r.attributes = room(&m.attributes, strings.Count(r.src, "="))
	r.texts = room(&m.texts, strings.Count(r.src, `"`)/2)
	r.blocks = room(&m.blocks, strings.Count(r.src, "{"))
	r.spaces()
	body = &hclsyntax.Body{Attributes: hclsyntax.Attributes{}, Blocks: hclsyntax.Blocks{}}
	r.body(body, r.pos(r.at), false)
	return body, !r.lost
}

// A reader holds the place up to which text has been read. Where the text is not
// plain it is lost: it stands at the end then, where all that reads on stops.
type reader struct {
	path   string
	src    string
	at     int // the byte to be read next
	line   int
	origin int // a byte less this is its column, counted from 0
	lost   bool

	attributes []hclsyntax.Attribute
	texts      []textNode
	blocks     []blockNode
}

// The nodes of a tree that belong together are allocated together.
type textNode struct {
	template hclsyntax.TemplateExpr
	literal  hclsyntax.LiteralValueExpr
	parts    [1]hclsyntax.Expression
}

type blockNode struct {
	block  hclsyntax.Block
	body   hclsyntax.Body
	labels [1]string
	ranges [1]hcl.Range
}

// empty makes a body without anything in it, in the memory of the one before.
func (n *blockNode) empty() {
	attributes, blocks := n.body.Attributes, n.body.Blocks
	if attributes == nil || len(attributes) > mostInBody || len(blocks) > mostInBody {
		attributes, blocks = hclsyntax.Attributes{}, hclsyntax.Blocks{}
	}
	clear(attributes)
	n.body = hclsyntax.Body{Attributes: attributes, Blocks: blocks[:0]}
}

// room gives n nodes of what is kept. What they hold is left from before.
func room[T any](kept *[]T, n int) []T {
	if n > mostKept {
		return make([]T, n)
	}
	if n > len(*kept) {
		*kept = make([]T, n)
	}
	return (*kept)[:n]
}

// next takes a node from those allocated at once, or one more: a quote or an equals
// sign within a text makes the count too high, never too low, but of that nothing depends.
func next[T any](from *[]T) *T {
	if len(*from) == 0 {
		return new(T)
	}
	n := &(*from)[0]
	*from = (*from)[1:]
	return n
}

func (r *reader) lose() { r.at, r.lost = len(r.src), true }

// byte returns the byte to be read next, 0 at the end. No text with a zero is plain.
func (r *reader) byte() byte {
	if r.at < len(r.src) {
		return r.src[r.at]
	}
	return 0
}

func (r *reader) pos(i int) hcl.Pos { return hcl.Pos{Line: r.line, Column: i - r.origin + 1, Byte: i} }

func (r *reader) rangeOf(from, to int) hcl.Range { return r.since(r.pos(from), to) }

func (r *reader) since(start hcl.Pos, to int) hcl.Range {
	return hcl.Range{Filename: r.path, Start: start, End: r.pos(to)}
}

func (r *reader) spaces() {
	for r.byte() == ' ' || r.byte() == '\t' {
		r.at++
	}
}

// lineEnd takes the end of a line, or a comment and that; false if neither is next.
func (r *reader) lineEnd() bool {
	switch c := r.byte(); {
	case c == '\n':
		r.at++
	case c == '\r' && r.src[r.at+1] == '\n': // the last byte is the end of a line
		r.at += 2
	case c == '#':
		r.at += strings.IndexByte(r.src[r.at:], '\n') + 1
	default:
		return false
	}
	r.origin = r.at
	r.line++
	return true
}

// endOfItem takes what must follow an attribute or a block.
func (r *reader) endOfItem() {
	r.spaces()
	if !r.lineEnd() {
		r.lose()
	}
}

// Classes of bytes in a name.
const (
	begins = 1 << iota
	goesOn
)

var class = func() (class [256]uint8) {
	for c := 'a'; c <= 'z'; c++ {
		class[c], class[c-'a'+'A'] = begins|goesOn, begins|goesOn
	}
	for c := '0'; c <= '9'; c++ {
		class[c] = goesOn
	}
	class['_'], class['-'] = begins|goesOn, goesOn
	return class
}()

// name takes a name of ASCII letters, which ends before another ASCII character.
func (r *reader) name() string {
	from := r.at
	if class[r.byte()]&begins == 0 {
		r.lose()
		return ""
	}
	for class[r.byte()]&goesOn != 0 {
		r.at++
	}
	if r.byte() >= 0x80 {
		r.lose()
		return ""
	}
	return r.src[from:r.at]
}

// body takes what is in a block that opens at start, with its closing brace, or in the
// file.
func (r *reader) body(b *hclsyntax.Body, start hcl.Pos, inBlock bool) {
	for {
		r.spaces()
		switch {
		case r.lineEnd():
			continue
		case inBlock && r.byte() == '}':
			r.at++
		case r.at < len(r.src):
			r.item(b)
			continue
		case inBlock:
			r.lose()
		}
		b.SrcRange, b.EndRange = r.since(start, r.at), r.rangeOf(r.at, r.at)
		return
	}
}

func (r *reader) item(b *hclsyntax.Body) {
	from := r.at
	name := r.name()
	at := r.rangeOf(from, r.at)
	r.spaces()
	if r.byte() != '=' {
		r.block(b, name, at)
		return
	}
	a := next(&r.attributes)
	a.Name, a.NameRange, a.EqualsRange = name, at, r.rangeOf(r.at, r.at+1)
	r.at++
	r.spaces() // == and => are no values
	a.Expr = r.value()
	a.SrcRange = r.since(at.Start, r.at)
	r.endOfItem()
	if _, twice := b.Attributes[name]; twice {
		r.lose()
	}
	b.Attributes[name] = a
}

func (r *reader) block(b *hclsyntax.Body, name string, at hcl.Range) {
	n := next(&r.blocks)
	n.empty()
	n.block = hclsyntax.Block{Type: name, Body: &n.body, TypeRange: at}
	if r.byte() == '"' {
		n.labels[0], n.ranges[0] = r.label()
		n.block.Labels, n.block.LabelRanges = n.labels[:], n.ranges[:]
		r.spaces()
	}
	if r.byte() != '{' {
		r.lose()
		return
	}
	n.block.OpenBraceRange = r.rangeOf(r.at, r.at+1)
	r.at++
	r.spaces()
	if strings.IndexByte("\r\n#}", r.byte()) < 0 {
		r.lose() // an attribute on the same line
		return
	}
	r.body(&n.body, n.block.OpenBraceRange.Start, true)
	n.block.CloseBraceRange = r.rangeOf(r.at-1, r.at)
	r.endOfItem()
	b.Blocks = append(b.Blocks, &n.block)
}

// label takes a text in quotes that is ASCII only and has no escapes.
func (r *reader) label() (string, hcl.Range) {
	from := r.at
	for r.at++; inText[r.byte()] == 1; r.at++ {
	}
	if r.byte() != '"' {
		r.lose()
		return "", hcl.Range{}
	}
	r.at++
	return strings.Clone(r.src[from+1 : r.at-1]), r.rangeOf(from, r.at)
}

// value takes what an attribute or an element of a list may be.
func (r *reader) value() hclsyntax.Expression {
	switch c := r.byte(); {
	case c == '"':
		return r.text()
	case c >= '0' && c <= '9':
		return r.number()
	case c == '[':
		return r.list()
	}
	return r.word()
}

func (r *reader) number() hclsyntax.Expression {
	from := r.at
	digits := func() {
		for c := r.byte(); c >= '0' && c <= '9'; c = r.byte() {
			r.at++
		}
	}
	digits()
	if r.byte() == '.' {
		r.at++
		digits()
	}
	v, err := cty.ParseNumberVal(r.src[from:r.at])
	if err != nil || r.src[r.at-1] == '.' || !r.ends() {
		r.lose()
		return nil
	}
	return &hclsyntax.LiteralValueExpr{Val: v, SrcRange: r.rangeOf(from, r.at)}
}

// ends reports whether a number or word ends here, and with it a value: no exponent,
// call, index or operator follows.
func (r *reader) ends() bool {
	rest := strings.TrimLeft(r.src[r.at:], " \t")
	return rest != "" && strings.IndexByte("\r\n#,]", rest[0]) >= 0
}

// word takes true, false or a reference.
func (r *reader) word() hclsyntax.Expression {
	from := r.at
	name := r.name()
	at := r.rangeOf(from, r.at)
	if r.byte() == '.' && name != "true" && name != "false" && name != "null" && name != "for" {
		return r.reference(name, at)
	}
	if r.ends() {
		switch name {
		case "true":
			return &hclsyntax.LiteralValueExpr{Val: cty.True, SrcRange: at}
		case "false":
			return &hclsyntax.LiteralValueExpr{Val: cty.False, SrcRange: at}
		}
	}
	r.lose()
	return nil
}

func (r *reader) reference(root string, at hcl.Range) hclsyntax.Expression {
	dot := r.at
	r.at++
	name := r.name()
	if !r.ends() {
		r.lose()
		return nil
	}
	return &hclsyntax.ScopeTraversalExpr{
		Traversal: hcl.Traversal{
			hcl.TraverseRoot{Name: root, SrcRange: at},
			hcl.TraverseAttr{Name: name, SrcRange: r.rangeOf(dot, r.at)},
		},
		SrcRange: r.since(at.Start, r.at),
	}
}

func (r *reader) list() hclsyntax.Expression {
	e := &hclsyntax.TupleConsExpr{OpenRange: r.rangeOf(r.at, r.at+1)}
	r.at++
	for r.gap(); r.byte() != ']'; r.gap() {
		e.Exprs = append(e.Exprs, r.value())
		r.gap()
		if r.byte() == ',' {
			r.at++
		} else if r.byte() != ']' {
			r.lose()
			return nil
		}
	}
	r.at++
	e.SrcRange = r.since(e.OpenRange.Start, r.at)
	return e
}

// gap skips what may stand between the elements of a list.
func (r *reader) gap() {
	for r.spaces(); r.lineEnd(); r.spaces() {
	}
}

// inText has 1 for a byte that stands for itself in a text in quotes.
var inText = func() (in [256]uint8) {
	for c := ' '; c < 0x7f; c++ {
		in[c] = 1
	}
	for _, c := range `"\$%` {
		in[c] = 0
	}
	return in
}()

// text takes one in quotes.
func (r *reader) text() hclsyntax.Expression {
	i, wide := r.at+1, 0 // wide are the bytes that are no column of their own
	for ; i < len(r.src) && r.src[i] != '"'; i++ {
		if inText[r.src[i]] == 1 {
			continue
		}
		if !latin1(r.src[i:]) {
			return r.parsed(i)
		}
		i++
		wide++
	}
	if i == len(r.src) || i == r.at+1 {
		return r.parsed(i)
	}
	n := next(&r.texts)
	start, first := r.pos(r.at), r.pos(r.at+1)
	value := r.src[r.at+1 : i]
	r.origin += wide
	n.literal = hclsyntax.LiteralValueExpr{Val: cty.StringVal(value), SrcRange: r.since(first, i)}
	n.parts[0] = &n.literal
	r.at = i + 1
	n.template = hclsyntax.TemplateExpr{Parts: n.parts[:], SrcRange: r.since(start, r.at)}
	return &n.template
}

// latin1 reports whether a text begins with a character of Latin 1 beyond ASCII that
// is seen: two bytes, and one column whatever stands beside it.
func latin1(s string) bool {
	return len(s) > 1 && (s[0] == 0xc2 && s[1] >= 0xa0 && s[1] != 0xad || s[0] == 0xc3 && s[1] >= 0x80) && s[1] < 0xc0
}

// parsed has the library read a text in quotes that has its end at i or behind it.
func (r *reader) parsed(i int) hclsyntax.Expression {
	for i < len(r.src) && r.src[i] != '"' && r.src[i] != '\n' {
		if r.src[i] == '\\' {
			i++
		}
		i++
	}
	if i >= len(r.src) || r.src[i] != '"' {
		r.lose()
		return nil
	}
	e, diags := hclsyntax.ParseExpression([]byte(r.src[r.at:i+1]), r.path, r.pos(r.at))
	if len(diags) > 0 || e.Range().End.Byte != i+1 || e.Range().End.Line != r.line {
		r.lose()
		return nil
	}
	r.at = i + 1
	r.origin = r.at - (e.Range().End.Column - 1)
	return e
}
