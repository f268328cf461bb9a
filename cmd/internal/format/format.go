// Package format brings spec files into their canonical layout. It changes
// white space and line ends only, never what a file says.
package format

import (
	"bytes"
	"slices"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
	"github.com/hashicorp/hcl/v2/hclwrite"

	"trammel/spec"
)

// mostPadding bounds lines times longest line. Aligning pads every line of a
// run to the longest, so a huge comment before many attributes could ask for
// gigabytes; honest files stay far below.
const mostPadding = 32 << 20

// broken returns what keeps a text from being read at all.
func broken(name string, src []byte) []spec.Problem {
	return slices.DeleteFunc(spec.Syntax(name, src), func(p spec.Problem) bool { return p.Rule == "duplicate-name" })
}

// passes is how often a text is laid out until nothing moves any more.
const passes = 3

var bom = []byte("\xef\xbb\xbf")

// Tidy lays out the text of one file. The name is used for places only.
//
// A text with syntax errors, or one that could not be laid out without risk to
// its meaning, is returned as it is, with problems that say why.
func Tidy(name string, src []byte) ([]byte, []spec.Problem) {
	if problems := broken(name, src); len(problems) > 0 {
		return src, problems
	}
	refuse := func(why string) ([]byte, []spec.Problem) {
		at := spec.Place{File: name, Line: 1, Col: 1, EndLine: 1, EndCol: 1}
		return src, []spec.Problem{{Rule: "layout", Place: at, Message: why + "; the file is left as it is"}}
	}
	text := bytes.TrimPrefix(src, bom)
	if padding(text) > mostPadding {
		return refuse("its lines are too many and too long to be aligned")
	}
	out, settled := text, false
	for i := 0; i < passes && !settled; i++ {
		next := pass(out)
		if len(next) > spec.MaxFileSize {
			return refuse("laid out it would be too large to be read again")
		}
		settled = bytes.Equal(next, out)
		out = next
	}
	switch {
	case settled && bytes.Equal(out, src):
	case !settled:
		return refuse("no layout was found that stays the same when laid out again")
	case !sameTokens(text, out) || len(broken(name, out)) > 0:
		return refuse("it could not be laid out without changing what it says")
	}
	return out, nil
}

// pass lays out a text once.
func pass(text []byte) []byte {
	return blankLines(tables(spaces(lineEnds(text))))
}

// spaces sets indentation, alignment and the spaces between tokens.
//
// The formatter takes the minus in "${-x}" for a subtraction and writes
// "${- x}". It is shown a "!" in its place, which is as wide and always a sign.
func spaces(text []byte) []byte {
	if !bytes.Contains(text, []byte("${")) {
		return hclwrite.Format(text)
	}
	masked := text
	var signs []int // indexes of tokens
	tokens := lex(text)
	for i := 1; i < len(tokens); i++ {
		if tokens[i].Type == hclsyntax.TokenMinus && tokens[i-1].Type == hclsyntax.TokenTemplateInterp {
			if signs == nil {
				masked = bytes.Clone(text)
			}
			masked[tokens[i].Range.Start.Byte] = '!'
			signs = append(signs, i)
		}
	}
	out := hclwrite.Format(masked)
	if signs == nil {
		return out
	}
	tokens = lex(out) // the same ones: only the spaces between them have changed
	for _, i := range signs {
		if i < len(tokens) && tokens[i].Type == hclsyntax.TokenBang {
			out[tokens[i].Range.Start.Byte] = '-'
		}
	}
	return out
}

func lex(text []byte) hclsyntax.Tokens {
	tokens, _ := hclsyntax.LexConfig(text, "", hcl.InitialPos)
	return tokens
}

// lineEnds turns CRLF into LF, takes spaces from the ends of comment lines and
// ends the last line. The text within a heredoc is a value: not a byte of it
// is touched, its line ends neither.
func lineEnds(text []byte) []byte {
	out := make([]byte, 0, len(text)+1)
	at := 0
	for _, t := range lex(text) {
		out = append(out, text[at:t.Range.Start.Byte]...)
		out = append(out, plain(t)...)
		at = t.Range.End.Byte
	}
	out = append(out, text[at:]...)
	if n := len(out); n > 0 && out[n-1] != '\n' {
		out = append(out, '\n')
	}
	return out
}

// plain returns the bytes of a token without what layout may take from it.
func plain(t hclsyntax.Token) []byte {
	switch t.Type {
	case hclsyntax.TokenNewline:
		return []byte("\n")
	case hclsyntax.TokenOHeredoc:
		return bytes.ReplaceAll(t.Bytes, []byte("\r\n"), []byte("\n"))
	case hclsyntax.TokenComment:
		lines := bytes.Split(t.Bytes, []byte("\n"))
		for i, l := range lines {
			lines[i] = bytes.TrimRight(l, " \t\r")
		}
		return bytes.Join(lines, []byte("\n"))
	}
	return t.Bytes
}

// A line is a stretch of text up to a newline that separates, which the ones
// within heredocs and comments do not.
type line struct {
	text    []byte // without the newline
	comment bool   // nothing but comments
	opens   bool   // ends with an opening brace
	closes  bool   // begins with a closing brace
	depth   int    // brackets open where it begins
	block   bool   // begins a block of the file
	ends    bool   // ends a block of the file
}

func (l *line) blank() bool { return len(l.text) == 0 }

// blankLines sets the blank lines: one around each block of the file, none at
// the inner side of braces and at the ends of the file, elsewhere at most one.
func blankLines(text []byte) []byte {
	lines := split(text)
	out := make([]byte, 0, len(text)+64)
	var before *line // the last line written
	gap := false     // a blank line was there
	for i := range lines {
		l := &lines[i]
		if l.blank() {
			gap = true
			continue
		}
		switch {
		case before == nil:
			gap = false
		case before.opens || l.closes:
			gap = false
		case before.ends:
			gap = true
		case !gap && l.depth == 0 && !before.comment && leads(lines[i:]):
			gap = true
		}
		if gap {
			out = append(out, '\n')
		}
		out = append(append(out, l.text...), '\n')
		before, gap = l, false
	}
	return out
}

// leads reports whether lines begin with a block of the file, or with the
// comments that stand directly above one.
func leads(lines []line) bool {
	for i := range lines {
		if !lines[i].comment {
			return lines[i].block
		}
	}
	return false
}

// split cuts a formatted text into lines.
func split(text []byte) []line {
	var lines []line
	head, within := false, false // of a block of the file
	depth, from, to := 0, -1, 0
	l := line{comment: true}
	finish := func() {
		if from >= 0 {
			l.text = text[from:to]
		} else {
			l.comment = false
		}
		lines = append(lines, l)
		l, from = line{comment: true, depth: depth}, -1
	}
	for _, t := range lex(text) {
		if t.Type == hclsyntax.TokenEOF {
			break
		}
		if t.Type == hclsyntax.TokenNewline {
			finish()
			continue
		}
		first := from < 0
		if first {
			// Its indentation belongs to the line.
			from = t.Range.Start.Byte
			for from > 0 && text[from-1] == ' ' {
				from--
			}
		}
		to = t.Range.End.Byte
		if t.Type == hclsyntax.TokenComment {
			if bytes.HasSuffix(t.Bytes, []byte("\n")) {
				to--
				finish()
			}
			continue
		}
		if l.comment {
			l.closes = t.Type == hclsyntax.TokenCBrace
			head = depth == 0 && t.Type == hclsyntax.TokenIdent
		}
		l.comment = false
		l.opens = t.Type == hclsyntax.TokenOBrace
		l.ends = false
		switch {
		case depth == 0 && t.Type == hclsyntax.TokenEqual:
			head = false // an attribute, though a brace may follow
		case depth == 0 && l.opens && head:
			l.block, within = true, true
		case depth == 1 && within && t.Type == hclsyntax.TokenCBrace:
			l.ends, within = true, false
		}
		switch t.Type {
		case hclsyntax.TokenOBrace, hclsyntax.TokenOBrack, hclsyntax.TokenOParen, hclsyntax.TokenTemplateInterp, hclsyntax.TokenTemplateControl:
			depth++
		case hclsyntax.TokenCBrace, hclsyntax.TokenCBrack, hclsyntax.TokenCParen, hclsyntax.TokenTemplateSeqEnd:
			depth--
		}
	}
	if from >= 0 {
		finish()
	}
	return lines
}

// sameTokens reports whether two texts say the same: the same tokens and
// comments in the same order, on the same lines save for blank ones.
func sameTokens(a, b []byte) bool {
	one, other := essence(a), essence(b)
	if len(one) != len(other) {
		return false
	}
	for i := range one {
		if one[i].Type != other[i].Type || !bytes.Equal(one[i].Bytes, other[i].Bytes) {
			return false
		}
	}
	return true
}

// essence returns the tokens of a text as plain gives them, with one newline
// for each run of them and none at either end.
func essence(text []byte) hclsyntax.Tokens {
	var out hclsyntax.Tokens
	newline := hclsyntax.Token{Type: hclsyntax.TokenNewline}
	add := func(t hclsyntax.Token) {
		if t.Type != hclsyntax.TokenNewline || len(out) > 0 && out[len(out)-1].Type != hclsyntax.TokenNewline {
			out = append(out, t)
		}
	}
	for _, t := range lex(text) {
		switch t.Type {
		case hclsyntax.TokenEOF:
		case hclsyntax.TokenNewline:
			add(newline)
		case hclsyntax.TokenComment:
			content, ends := bytes.CutSuffix(plain(t), []byte("\n"))
			add(hclsyntax.Token{Type: t.Type, Bytes: content})
			if ends {
				add(newline)
			}
		default:
			add(hclsyntax.Token{Type: t.Type, Bytes: plain(t)})
		}
	}
	if n := len(out); n > 0 && out[n-1].Type == hclsyntax.TokenNewline {
		out = out[:n-1]
	}
	return out
}

// padding is the most that aligning could make of a text.
func padding(text []byte) int {
	lines, longest := 0, 0
	from := 0
	for _, t := range lex(text) {
		if t.Type == hclsyntax.TokenNewline || t.Type == hclsyntax.TokenEOF || t.Type == hclsyntax.TokenComment && bytes.HasSuffix(t.Bytes, []byte("\n")) {
			lines++
			longest = max(longest, t.Range.End.Byte-from)
			from = t.Range.End.Byte
		}
	}
	return lines * longest
}
