package spec

import (
	"bytes"
	"fmt"
	"unicode/utf8"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
)

// Bounds on what is read. A spec file is a few kilobytes; these stand far above
// any honest file and keep time and memory bounded for the others.
const (
	MaxFileSize = 4 << 20 // bytes
	MaxDepth    = 64      // brackets, templates and operators inside each other
	maxText     = 4096    // bytes of one text value after interpolation
	maxOperands = 400     // signs and conditions in one attribute
)

var bom = []byte("\xef\xbb\xbf")

// screen looks at the bytes of a file before they reach the parser, which is
// recursive and trusts its input. It returns the text to parse.
func screen(path string, src []byte) ([]byte, *Problem) {
	whole := func(format string, args ...any) *Problem {
		return &Problem{Rule: "syntax", Place: Place{File: path, Line: 1, Col: 1, EndLine: 1, EndCol: 1}, Message: fmt.Sprintf(format, args...)}
	}
	if bytes.HasPrefix(src, []byte("\xff\xfe")) || bytes.HasPrefix(src, []byte("\xfe\xff")) {
		p := whole("the file is UTF-16; spec files are UTF-8")
		p.Help = "save it as UTF-8"
		return nil, p
	}
	src = bytes.TrimPrefix(src, bom)
	if i := bytes.IndexByte(src, 0); i >= 0 {
		p := whole("the file holds a NUL byte: it is a binary file, not text")
		p.Place = placeAt(path, src, i)
		return nil, p
	}
	if !utf8.Valid(src) {
		for i := 0; i < len(src); {
			r, n := utf8.DecodeRune(src[i:])
			if r == utf8.RuneError && n == 1 {
				p := whole("byte %#02x is not UTF-8; spec files are UTF-8", src[i])
				p.Place = placeAt(path, src, i)
				p.Help = "save the file as UTF-8"
				return nil, p
			}
			i += n
		}
	}
	if i := conflictMarker(src); i >= 0 {
		p := whole("a merge conflict is not resolved here")
		p.Place = placeAt(path, src, i)
		return nil, p
	}
	if p := tooDeep(path, src); p != nil {
		return nil, p
	}
	return src, nil
}

func conflictMarker(src []byte) int {
	for _, mark := range [][]byte{[]byte("<<<<<<< "), []byte(">>>>>>> ")} {
		if bytes.HasPrefix(src, mark) {
			return 0
		}
		if i := bytes.Index(src, append([]byte("\n"), mark...)); i >= 0 {
			return i + 1
		}
	}
	return -1
}

// tooDeep refuses text nested deeper than MaxDepth. Counting bytes settles
// nearly every file; only where that count is high are the tokens looked at.
func tooDeep(path string, src []byte) *Problem {
	depth, top, signs := 0, 0, 0
	for _, c := range src {
		switch c {
		case '{', '[', '(':
			if depth++; depth > top {
				top = depth
			}
		case '}', ']', ')':
			if depth > 0 {
				depth--
			}
		case '!', '?', '-':
			signs++
		}
	}
	if top <= MaxDepth && signs <= maxOperands {
		return nil
	}
	tokens, _ := hclsyntax.LexConfig(src, path, hcl.InitialPos)
	depth, signs = 0, 0
	for _, t := range tokens {
		switch t.Type {
		case hclsyntax.TokenOBrace, hclsyntax.TokenOBrack, hclsyntax.TokenOParen, hclsyntax.TokenTemplateInterp, hclsyntax.TokenTemplateControl:
			depth++
		case hclsyntax.TokenCBrace, hclsyntax.TokenCBrack, hclsyntax.TokenCParen, hclsyntax.TokenTemplateSeqEnd:
			if depth > 0 {
				depth--
			}
		case hclsyntax.TokenBang, hclsyntax.TokenMinus, hclsyntax.TokenQuestion:
			signs++
		case hclsyntax.TokenNewline:
			if depth <= 4 { // an attribute ends; blocks are not deeper
				signs = 0
			}
		}
		if depth > MaxDepth || signs > maxOperands {
			what := fmt.Sprintf("text nested more than %d deep", MaxDepth)
			if depth <= MaxDepth {
				what = fmt.Sprintf("an expression with more than %d signs and conditions", maxOperands)
			}
			return &Problem{Rule: "syntax", Place: placeOf(path, t.Range), Message: what + " is not read"}
		}
	}
	return nil
}

func placeAt(path string, src []byte, at int) Place {
	line := int32(1 + bytes.Count(src[:at], []byte("\n")))
	col := int32(1 + utf8.RuneCount(src[bytes.LastIndexByte(src[:at], '\n')+1:at]))
	return Place{File: path, Line: line, Col: col, EndLine: line, EndCol: col, Byte: int32(at), EndByte: int32(at)}
}

func placeOf(path string, r hcl.Range) Place {
	return Place{
		File: path,
		Line: int32(r.Start.Line), Col: int32(r.Start.Column), EndLine: int32(r.End.Line), EndCol: int32(r.End.Column),
		Byte: int32(r.Start.Byte), EndByte: int32(r.End.Byte),
	}
}
