package spec

import (
	"bytes"
	"fmt"
	"unicode"
	"unicode/utf8"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
)

// Bounds on what is read. A spec file is a few kilobytes; these stand far above
// any honest file and keep time and memory bounded for the others.
const (
	MaxFileSize   = 1 << 20 // bytes
	MaxDepth      = 64      // brackets and templates inside each other
	maxText       = 4096    // bytes of one text value after interpolation
	maxOperators  = 2000    // operators, conditions and indexes in one file: each may be a level of recursion
	maxSigns      = 250000  // brackets, quotes, operators and line ends in one file: each may be a token
	maxWord       = 1000    // bytes of one name or number
	maxReferences = 100     // given values used by one expression
	maxAttributes = 2000    // attributes of one block
	maxBlocks     = 10000   // blocks of one block or file
	maxAxes       = 1000    // axes of one file
	maxMoves      = 500     // moves of one cycle
	maxCarried    = 100     // axes one axis carries
	maxProblems   = 100     // problems shown of one file
	maxTurned     = 20      // of them about the direction of writing
)

var bom = []byte("\xef\xbb\xbf")

// screen looks at the bytes of a file before they reach the parser, which is
// recursive and trusts its input. It returns what is wrong, or nil.
func screen(path string, src []byte) *Problem {
	at := func(i int, help, format string, args ...any) *Problem {
		return &Problem{Rule: "syntax", Place: placeAt(path, src, i), Message: fmt.Sprintf(format, args...), Help: help}
	}
	if len(src) > MaxFileSize {
		p := at(0, "", "it is larger than %d MB, which is the most a spec file may have", MaxFileSize>>20)
		p.Rule = "file"
		return p
	}
	if bytes.HasPrefix(src, []byte("\xff\xfe")) || bytes.HasPrefix(src, []byte("\xfe\xff")) {
		return at(0, "save it as UTF-8", "the file is UTF-16; spec files are UTF-8")
	}
	if i := bytes.IndexByte(src, 0); i >= 0 {
		return at(i, "", "the file holds a NUL byte: it is a binary file, not text")
	}
	if !utf8.Valid(src) {
		for i := 0; i < len(src); {
			r, n := utf8.DecodeRune(src[i:])
			if r == utf8.RuneError && n == 1 {
				return at(i, "save the file as UTF-8", "byte %#02x is not UTF-8; spec files are UTF-8", src[i])
			}
			i += n
		}
	}
	if i := conflictMarker(src); i >= 0 {
		// Not a slip in a spec but a job half done: nothing can be said of it.
		p := at(i, "keep one of both sides and delete the marker lines", "a merge conflict is not resolved here")
		p.Rule = "file"
		return p
	}
	return tooDeep(path, src)
}

// turned reports the characters that turn the direction of writing, with which a
// text can look other than it is read.
func turned(path string, src []byte) (problems []Problem) {
	for i := 0; i < len(src); {
		if src[i] < utf8.RuneSelf {
			i++
			continue
		}
		r, n := utf8.DecodeRune(src[i:])
		if unicode.Is(unicode.Bidi_Control, r) {
			at := placeAt(path, src, i)
			at.EndByte = int32(i + n)
			problems = append(problems, Problem{
				Rule: "syntax", Place: at, Message: fmt.Sprintf("the character %U is not seen and turns the direction of writing: what follows is read otherwise than it looks", r),
				Help: "take it out; a text that needs it has it as an escape, as \\u202e",
			})
			if len(problems) == maxTurned {
				return problems
			}
		}
		i += n
	}
	return problems
}

func conflictMarker(src []byte) int {
	for _, mark := range []string{"<<<<<<< ", ">>>>>>> "} {
		if bytes.HasPrefix(bytes.TrimPrefix(src, bom), []byte(mark)) {
			return 0
		}
		if i := bytes.Index(src, []byte("\n"+mark)); i >= 0 {
			return i + 1
		}
	}
	return -1
}

// Classes of bytes, for counting.
const (
	isSign     uint8 = iota // a token of its own, as a quote
	isSpace                 // no token
	isWord                  // part of a name or number
	isWordSign              // part of one, or an operator
	isOpen
	isOperator
)

var byteClass = func() (class [256]uint8) {
	for c := range class {
		switch {
		case 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || '0' <= c && c <= '9' || c == '_' || c >= utf8.RuneSelf:
			class[c] = isWord
		case c == ' ' || c == '\t' || c == '\r':
			class[c] = isSpace
		}
	}
	for kind, chars := range map[uint8]string{isWordSign: "-.", isOpen: "{[(", isOperator: "!?+*/%&|<>:"} {
		for _, c := range []byte(chars) {
			class[c] = kind
		}
	}
	return class
}()

// tooDeep refuses text that would lead the parser, or those who walk its tree,
// into deep recursion. Counting bytes settles nearly every file: closing
// brackets are not counted off, since they may stand in texts and comments.
// Where a count is high, text of a plain kind is walked through; of other text
// the tokens are looked at.
func tooDeep(path string, src []byte) *Problem {
	var count [isOperator + 1]int
	word, longest := 0, 0
	for _, c := range src {
		class := byteClass[c]
		count[class]++
		if class == isWord || class == isWordSign {
			word++
		} else {
			longest = max(longest, word)
			word = 0
		}
	}
	open, signs := count[isOpen], count[isSign]
	operators := count[isOperator] + count[isWordSign] + bytes.Count(src, []byte("=="))
	if open+operators+signs > maxSigns {
		p := placeAt(path, src, 0)
		return &Problem{Rule: "syntax", Place: p, Message: fmt.Sprintf("a file with more than %d brackets, quotes and signs is not read", maxSigns), Help: "split the file"}
	}
	if max(longest, word) <= maxWord && (open <= MaxDepth && operators+open <= maxOperators || plainAndShallow(src)) {
		return nil
	}
	return deepTokens(path, src)
}

// plainAndShallow reports whether a text has nothing in it but names, numbers,
// quoted texts on one line, comments of one line, brackets and operators, and of
// the latter no more than is read. A long table of parts is such a text, and
// walking through it costs a fraction of making tokens of it.
func plainAndShallow(src []byte) bool {
	for _, s := range []string{"${", "%{", "<<", "/*"} {
		if bytes.Contains(src, []byte(s)) {
			return false
		}
	}
	var closers [MaxDepth]byte // of what is open
	depth, operators := 0, 0
	before := byte('\n') // the last byte that counts
	for i := 0; i < len(src); i++ {
		c := src[i]
		switch c {
		case ' ', '\t', '\r':
			continue
		case '#', '/':
			if c == '#' || i+1 < len(src) && src[i+1] == '/' {
				end := bytes.IndexByte(src[i:], '\n')
				if end < 0 {
					return operators <= maxOperators
				}
				i += end
				c = '\n'
				break
			}
			operators++
		case '"':
			for i++; i < len(src) && src[i] != '"'; i++ {
				if src[i] == '\\' {
					i++
				}
				if i < len(src) && src[i] == '\n' {
					return false
				}
			}
			if i >= len(src) {
				return false
			}
		case '{', '[', '(':
			if depth == MaxDepth {
				return false
			}
			closers[depth] = closerOf(c)
			depth++
			if c == '[' && (byteClass[before] == isWord || before == '"' || before == '}' || before == ']' || before == ')') {
				operators++ // an index
			}
		case '}', ']', ')':
			for k := depth - 1; k >= 0; k-- {
				if closers[k] == c {
					depth = k
					break
				}
			}
		case '-', '=':
			if c == '-' || before == '=' {
				operators++
			}
		default:
			if byteClass[c] == isOperator {
				operators++
			}
		}
		before = c
	}
	return operators <= maxOperators
}

func closerOf(open byte) byte {
	switch open {
	case '{':
		return '}'
	case '[':
		return ']'
	}
	return ')'
}

// deepTokens is tooDeep by the tokens of a text.
func deepTokens(path string, src []byte) *Problem {
	tokens, _ := hclsyntax.LexConfig(src, path, hcl.InitialPos)
	refuse := func(t *hclsyntax.Token, format string, limit int) *Problem {
		return &Problem{Rule: "syntax", Place: placeOf(path, t.Range), Message: fmt.Sprintf(format, limit)}
	}
	var closers []hclsyntax.TokenType // of what is open
	operators := 0
	before := hclsyntax.TokenNewline
	for i := range tokens {
		t := &tokens[i]
		switch t.Type {
		case hclsyntax.TokenOBrace:
			closers = append(closers, hclsyntax.TokenCBrace)
		case hclsyntax.TokenOBrack:
			closers = append(closers, hclsyntax.TokenCBrack)
			switch before {
			case hclsyntax.TokenIdent, hclsyntax.TokenCBrack, hclsyntax.TokenCParen, hclsyntax.TokenCBrace, hclsyntax.TokenCQuote, hclsyntax.TokenCHeredoc, hclsyntax.TokenNumberLit:
				operators++ // an index
			}
		case hclsyntax.TokenOParen:
			closers = append(closers, hclsyntax.TokenCParen)
		case hclsyntax.TokenTemplateInterp:
			closers = append(closers, hclsyntax.TokenTemplateSeqEnd)
		case hclsyntax.TokenTemplateControl:
			closers = append(closers, hclsyntax.TokenTemplateSeqEnd)
			operators++ // %{ if … } nests without brackets
		case hclsyntax.TokenCBrace, hclsyntax.TokenCBrack, hclsyntax.TokenCParen, hclsyntax.TokenTemplateSeqEnd:
			// A closer without its opener closes nothing; one further out
			// closes what was forgotten on the way.
			for k := len(closers) - 1; k >= 0; k-- {
				if closers[k] == t.Type {
					closers = closers[:k]
					break
				}
			}
		case hclsyntax.TokenPlus, hclsyntax.TokenMinus, hclsyntax.TokenStar, hclsyntax.TokenSlash, hclsyntax.TokenPercent,
			hclsyntax.TokenEqualOp, hclsyntax.TokenNotEqual, hclsyntax.TokenLessThan, hclsyntax.TokenLessThanEq,
			hclsyntax.TokenGreaterThan, hclsyntax.TokenGreaterThanEq, hclsyntax.TokenAnd, hclsyntax.TokenOr,
			hclsyntax.TokenBang, hclsyntax.TokenQuestion, hclsyntax.TokenDoubleColon:
			operators++
		case hclsyntax.TokenIdent, hclsyntax.TokenNumberLit:
			if len(t.Bytes) > maxWord {
				return refuse(t, "a name or number of more than %d characters is not read", maxWord)
			}
		}
		if len(closers) > MaxDepth {
			return refuse(t, "text nested more than %d deep is not read", MaxDepth)
		}
		if operators > maxOperators {
			return refuse(t, "a file with more than %d operators is not read", maxOperators)
		}
		before = t.Type
	}
	return nil
}

// placeAt is the place of one byte of a file, counted as the parser counts:
// columns are characters as a person sees them, a byte order mark is none.
func placeAt(path string, src []byte, at int) Place {
	start := bytes.LastIndexByte(src[:at], '\n') + 1
	line := int32(1 + bytes.Count(src[:start], []byte("\n")))
	all := func(data []byte, _ bool) (int, []byte, error) { return len(data), data, nil }
	before := hcl.NewRangeScanner(bytes.TrimPrefix(src[start:at], bom), path, all)
	col := int32(1)
	if before.Scan() {
		col = int32(before.Range().End.Column)
	}
	return Place{File: path, Line: line, Col: col, EndLine: line, EndCol: col, Byte: int32(at), EndByte: int32(at)}
}

// placeOf takes over a range of the parser. Of a text that breaks off some of
// its ranges end before they begin.
func placeOf(path string, r hcl.Range) Place {
	if r.End.Byte < r.Start.Byte {
		r.End = r.Start
	}
	return Place{
		File: path,
		Line: int32(r.Start.Line), Col: int32(r.Start.Column), EndLine: int32(r.End.Line), EndCol: int32(r.End.Column),
		Byte: int32(r.Start.Byte), EndByte: int32(r.End.Byte),
	}
}
