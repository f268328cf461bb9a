package spec

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
)

// Where brackets are followed without the lexer, it sees them as the lexer does.
func TestPlainDepth(t *testing.T) {
	pieces := []string{
		"{", "}", "[", "]", "(", ")", "\n", "\n", "\"", "\"", "#", "//", "/*", "*/", "<<E\n", "E", "\nE\n", "${", "%{", "%", "$", "\\", "\\\"", "a", "x = ", "==", "=",
		" ", "'", "`", "-", ".", "/", "<", "<<", "é", "\r\n", "\r", "\"a b\"", "[\"]\"]", "axis \"a\" {\n", "\n}\n", "# }\n", "// {\n", "\"{[(\"", "1", "!", "?", ":", "\x00", "\ufeff", "~", "\t",
	}
	r := rand.New(rand.NewPCG(1, 9))
	followed := 0
	check := func(src []byte) {
		depth, operators, ok := plainDepth(src)
		if !ok {
			return
		}
		followed++
		tokens, _ := hclsyntax.LexConfig(src, "x", hcl.InitialPos)
		open, most, signs := 0, 0, 0
		for _, tok := range tokens {
			switch tok.Type {
			case hclsyntax.TokenOBrace, hclsyntax.TokenOBrack, hclsyntax.TokenOParen, hclsyntax.TokenTemplateInterp, hclsyntax.TokenTemplateControl:
				open++
			case hclsyntax.TokenCBrace, hclsyntax.TokenCBrack, hclsyntax.TokenCParen, hclsyntax.TokenTemplateSeqEnd:
				open--
			case hclsyntax.TokenPlus, hclsyntax.TokenMinus, hclsyntax.TokenStar, hclsyntax.TokenSlash, hclsyntax.TokenPercent,
				hclsyntax.TokenEqualOp, hclsyntax.TokenNotEqual, hclsyntax.TokenLessThan, hclsyntax.TokenLessThanEq,
				hclsyntax.TokenGreaterThan, hclsyntax.TokenGreaterThanEq, hclsyntax.TokenAnd, hclsyntax.TokenOr,
				hclsyntax.TokenBang, hclsyntax.TokenQuestion, hclsyntax.TokenDoubleColon:
				signs++
			}
			if tok.Type == hclsyntax.TokenOBrack {
				signs++ // each may be an index
			}
			most = max(most, open)
		}
		if most != depth || operators < signs {
			t.Fatalf("%q: depth %d, operators %d; the lexer sees %d and %d", src, depth, operators, most, signs)
		}
	}
	for range 300000 {
		var src []byte
		for range r.IntN(14) {
			src = append(src, pieces[r.IntN(len(pieces))]...)
		}
		check(src)
	}
	names, _ := filepath.Glob("../fixtures/bakery/*/*/*.hcl")
	before := followed
	for _, name := range names {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		check(src)
	}
	if before < 10000 || followed-before < len(names)/2 {
		t.Errorf("%d of all and %d of %d honest files were followed", before, followed-before, len(names))
	}
}
