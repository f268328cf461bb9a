package editor

import (
	"bytes"
	"slices"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
)

// A section is a stretch of a file, from the beginning of a line on, that is scanned by
// itself: with a key only the section in which it falls is scanned again, and a quote that
// is still open takes no other section with it. A whole text has the outline that it has
// when it is scanned in one go.
type section struct {
	src     string
	at      int   // its first byte
	file    *node // what stands in it, as the file does
	tokens  hclsyntax.Tokens
	closed  bool  // it ends outside of all texts
	colours []int // its semantic tokens, from its first line on; nil until somebody asks
}

func newSection(name string, src []byte, at int) *section {
	tokens, _ := hclsyntax.LexConfig(src, name, hcl.InitialPos)
	s := &section{src: string(src), tokens: tokens, file: &node{end: len(src), block: fileBlock(name)}}
	p := &outliner{src: src, rest: tokens}
	p.body(s.file, 0)
	open := 0
	for _, t := range tokens {
		switch t.Type {
		case hclsyntax.TokenOQuote, hclsyntax.TokenOHeredoc:
			open++
		case hclsyntax.TokenCQuote, hclsyntax.TokenCHeredoc:
			open--
		}
	}
	s.closed = open == 0
	s.move(at)
	return s
}

// move has a section begin at another byte.
func (s *section) move(at int) {
	by := at - s.at
	if s.at = at; by == 0 {
		return
	}
	shift := func(tokens hclsyntax.Tokens) {
		for i := range tokens {
			tokens[i].Range.Start.Byte += by
			tokens[i].Range.End.Byte += by
		}
	}
	shift(s.tokens)
	s.file.all(func(n *node) {
		n.start, n.end, n.open = n.start+by, n.end+by, n.open+by
		for i := range n.labels {
			n.labels[i].from, n.labels[i].to = n.labels[i].from+by, n.labels[i].to+by
		}
		for _, a := range n.attrs {
			a.from, a.to, a.valueAt, a.valueEnd = a.from+by, a.to+by, a.valueAt+by, a.valueEnd+by
			shift(a.value)
		}
	})
}

// bounds cuts a text into sections behind lines that are a closing brace and nothing else:
// where as many are closed as were opened, or, where more are opened in a stretch than the
// rest of the file closes, behind it. One text for a comment of several lines, or a text of
// several, is not cut.
func bounds(src []byte) (ends []int) {
	if bytes.Contains(src, []byte("/*")) || bytes.Contains(src, []byte("<<")) {
		return []int{len(src)}
	}
	var cuts, depths []int
	depth := 0
	for at := 0; at < len(src); {
		n := bytes.IndexByte(src[at:], '\n') + 1
		if n == 0 {
			n = len(src) - at
		}
		line := src[at : at+n]
		depth += braces(line)
		if at += n; string(bytes.TrimRight(line, "\r\n")) == "}" {
			cuts, depths = append(cuts, at), append(depths, depth)
		}
	}
	least := slices.Clone(depths) // of this cut and those behind it
	for i := len(least) - 2; i >= 0; i-- {
		least[i] = min(least[i], least[i+1])
	}
	base, waits := 0, false
	for i, at := range cuts {
		if waits = (waits || least[i] <= base) && depths[i] > base; !waits {
			ends = append(ends, at)
			base = depths[i]
		}
	}
	if len(ends) == 0 || ends[len(ends)-1] < len(src) {
		ends = append(ends, len(src))
	}
	return ends
}

// braces is how many braces a line opens more than it closes; a quote that is left open
// ends with its line.
func braces(line []byte) (n int) {
	quoted := false
	for i := 0; i < len(line); i++ {
		switch c := line[i]; {
		case c == '\\' && quoted:
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '#', c == '/' && i+1 < len(line) && line[i+1] == '/':
			return n
		case c == '{':
			n++
		case c == '}':
			n--
		}
	}
	return n
}

// outlineFrom is the outline of the file as it is being written, with the sections of an
// earlier one that are in it too. The earlier one is used up.
func (d *doc) outlineFrom(old *outline) *outline {
	src := d.text.src
	var had []*section
	if old != nil {
		had = old.sections
	}
	ends := bounds(src)
	o := &outline{sections: make([]*section, len(ends))}
	begin := func(i int) int {
		if i == 0 {
			return 0
		}
		return ends[i-1]
	}
	same := func(i int, s *section) bool { return s.src == string(src[begin(i):ends[i]]) }
	first := 0
	for first < min(len(ends), len(had)) && same(first, had[first]) {
		o.sections[first] = had[first]
		first++
	}
	for i, k := len(ends)-1, len(had)-1; i >= first && k >= first && same(i, had[k]); i, k = i-1, k-1 {
		o.sections[i] = had[k]
	}
	closed := true
	for i, s := range o.sections {
		if s == nil {
			s = newSection(d.name, src[begin(i):ends[i]], begin(i))
			o.sections[i] = s
		}
		s.move(begin(i))
		closed = closed && s.closed
	}
	if !closed && len(o.sections) > 1 && len(d.syntax()) == 0 {
		o.sections = []*section{newSection(d.name, src, 0)}
	}
	o.join(d.name, len(src))
	return o
}

// join makes the file of its sections.
func (o *outline) join(name string, size int) {
	o.file = &node{end: size, block: fileBlock(name)}
	for _, s := range o.sections {
		for _, b := range s.file.blocks {
			b.up = o.file
		}
		for _, a := range s.file.attrs {
			a.in = o.file
		}
		o.file.blocks = append(o.file.blocks, s.file.blocks...)
		o.file.attrs = append(o.file.attrs, s.file.attrs...)
	}
}
