package spec

import (
	"bytes"
	"slices"
	"strings"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
)

// A parts file that is being written is read by pieces: with each key most of its blocks
// are as they were, and a library has thousands. A piece ends behind a line that is a
// closing brace and nothing else. Where each piece by itself is without errors of syntax,
// so is the file, and its blocks are those of the pieces: the scanner reaches the end of
// each outside of all brackets, texts and comments, as it was at the beginning, and a file
// is a row of blocks. Where a piece has one, or the file has given values or is not plain,
// it is read as a whole.

// A piece is what was read of one.
type piece struct {
	text     string
	line     int // of its first byte, from 1
	at       int // its first byte
	parts    []*Part
	series   []string
	seriesAt []Place
	problems []Problem // of its values; a piece with some is read again each time
}

// A readFile is a parts file that was read by pieces.
type readFile struct {
	src  []byte // of which it was read, for who reads the same again
	list []*piece
}

// Syntax lists what Syntax does, and knows what of a parts file has not changed since it
// was read last.
func (t *Tree) Syntax(name string, src []byte) []Problem {
	if strings.HasSuffix(name, PartsSuffix) && t.pieces(name, src) != nil {
		return nil
	}
	return Syntax(name, src)
}

// readPieces is readParts by pieces. It is false, and nothing was read, where the file
// must be read as a whole.
func (t *Tree) readPieces(f *Folder, d *decoder, src []byte) bool {
	read := t.pieces(d.path, src)
	if read == nil {
		return false
	}
	series := map[string]Place{}
	for _, p := range read.list {
		d.problems = append(d.problems, p.problems...)
		for i, name := range p.series {
			d.firstSeries(series, name, p.seriesAt[i])
		}
		for _, part := range p.parts {
			d.declare(f, part)
		}
	}
	f.Problems = append(f.Problems, d.sorted()...)
	return true
}

// pieces reads a parts file by pieces; nil where that cannot be.
func (t *Tree) pieces(name string, src []byte) *readFile {
	t.mu.Lock()
	defer t.mu.Unlock()
	old := t.read[name]
	if old == nil {
		old = &readFile{}
	}
	if len(src) == 0 || screen(name, src) != nil || len(turned(name, src)) > 0 || bytes.HasPrefix(src, bom) {
		return nil
	}
	if len(old.src) == len(src) && &old.src[0] == &src[0] {
		return old
	}
	texts := cut(src)
	same := 0 // from the beginning
	for same < min(len(texts), len(old.list)) && old.list[same].text == string(texts[same]) {
		same++
	}
	end := 0 // from the end
	for end < min(len(texts), len(old.list))-same && old.list[len(old.list)-1-end].text == string(texts[len(texts)-1-end]) {
		end++
	}
	now := &readFile{src: src}
	line, at, blocks := 1, 0, 0
	for i, text := range texts {
		var was *piece
		switch {
		case i < same:
			was = old.list[i]
		case i >= len(texts)-end:
			was = old.list[len(old.list)-(len(texts)-i)]
		}
		p := was.moved(line, at)
		if p == nil {
			if p = readPiece(name, text, line, at); p == nil {
				return nil
			}
		}
		now.list = append(now.list, p)
		if blocks += len(p.parts) + len(p.series); blocks > maxBlocks || len(now.list) > maxBlocks {
			return nil
		}
		line += bytes.Count(text, []byte("\n"))
		at += len(text)
	}
	if t.read == nil {
		t.read = map[string]*readFile{}
	}
	t.read[name] = now
	return now
}

// cut cuts a text behind each line that is a closing brace and nothing else.
func cut(src []byte) (out [][]byte) {
	from := 0
	for at := 0; at < len(src); {
		n := bytes.IndexByte(src[at:], '\n')
		if n < 0 {
			break
		}
		if l := src[at : at+n]; len(l) > 0 && l[0] == '}' && (n == 1 || n == 2 && l[1] == '\r') {
			out = append(out, src[from:at+n+1])
			from = at + n + 1
		}
		at += n + 1
	}
	return append(out, src[from:])
}

// readPiece reads a piece; nil where the file must be read as a whole.
func readPiece(name string, text []byte, line, at int) *piece {
	f, diags := hclsyntax.ParseConfig(text, name, hcl.Pos{Line: line, Column: 1, Byte: at})
	if len(diags) > 0 {
		return nil
	}
	body, is := f.Body.(*hclsyntax.Body)
	if !is || len(body.Attributes) > 0 {
		return nil
	}
	p := &piece{text: string(text), line: line, at: at}
	d := &decoder{path: name, lasting: true}
	whole := true
	d.entries(body, theSchema.PartsFile, "a parts file", nil, func(b *Block, blk *hclsyntax.Block) {
		switch b.Name {
		case "given":
			whole = false
		case "series":
			p.series = append(p.series, blk.Labels[0])
			p.seriesAt = append(p.seriesAt, d.place(blk.LabelRanges[0]))
			whole = d.series(blk, func(part *Part) { p.parts = append(p.parts, part) }) && whole
		default:
			p.parts = append(p.parts, d.part(b, blk))
		}
	}, func(lost) { whole = false })
	if !whole || d.broken || d.full() {
		return nil
	}
	p.problems = d.problems
	return p
}

// moved is what was read of a piece, as it stands at another place. It is nil where the
// piece is to be read again.
func (p *piece) moved(line, at int) *piece {
	if p == nil || len(p.problems) > 0 {
		return nil
	}
	lines, chars := int32(line-p.line), int32(at-p.at)
	if lines == 0 && chars == 0 {
		return p
	}
	move := func(x Place) Place {
		x.Line, x.EndLine, x.Byte, x.EndByte = x.Line+lines, x.EndLine+lines, x.Byte+chars, x.EndByte+chars
		return x
	}
	out := &piece{text: p.text, line: line, at: at, series: p.series, seriesAt: slices.Clone(p.seriesAt), parts: make([]*Part, len(p.parts))}
	for i := range out.seriesAt {
		out.seriesAt[i] = move(out.seriesAt[i])
	}
	values := map[*Value]*Value{} // the parts of a series share some
	shared := len(p.series) > 0
	for i, part := range p.parts {
		n := &Part{Kind: part.Kind, Name: part.Name, Place: move(part.Place), values: make([]*Value, len(part.values))}
		own := make([]Value, 0, len(part.values))
		for k, v := range part.values {
			switch {
			case v == nil:
			case shared && values[v] != nil:
				n.values[k] = values[v]
			default:
				own = append(own, *v)
				w := &own[len(own)-1]
				w.Place = move(w.Place)
				n.values[k] = w
				if shared {
					values[v] = w
				}
			}
		}
		out.parts[i] = n
	}
	return out
}
