package spec

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"unicode"

	"trammel/spec/amount"
)

// Every character that turns the direction of writing is an error at its place,
// in a text, a comment or a name, and the rest of the file is read all the same.
func TestTurned(t *testing.T) {
	for r := rune(0); r <= unicode.MaxRune; r++ {
		if !unicode.Is(unicode.Bidi_Control, r) {
			continue
		}
		src := "axis \"a\" {\n  description = \"é" + string(r) + "x\" # y" + string(r) + "\n}\n"
		file := NewTree(fstest.MapFS{"a.axis.hcl": {Data: []byte(src)}}).ReadAxes("a.axis.hcl")
		var at []string
		for _, p := range file.Problems {
			if p.Rule == "syntax" && strings.Contains(p.Message, fmt.Sprintf("%U", r)) {
				at = append(at, p.Place.String())
			}
		}
		if want := []string{"a.axis.hcl:2:19", "a.axis.hcl:2:26"}; !slices.Equal(at, want) || len(file.Axes) != 1 {
			t.Errorf("%U: found at %q, want %q; %d axes", r, at, want, len(file.Axes))
		}
	}
	src := "# " + strings.Repeat("\u202e", 1000) + "\n"
	if got := NewTree(fstest.MapFS{"a.axis.hcl": {Data: []byte(src)}}).ReadAxes("a.axis.hcl").Problems; len(got) != maxTurned {
		t.Errorf("%d problems", len(got))
	}
}

// What a walk through the bytes calls shallow is so by its tokens too, for texts
// of all that may be mistaken for something else.
func TestPlainAndShallow(t *testing.T) {
	bits := []string{
		"[", "[", "[", "{", "(", "]", "]", ")", "}", "a", "1", "-", "+", "==", "=", ",", "\n", "\n", " ", "\"", "\"x\"", "\"]]]\"", "\"\\\"]\"", "\"\\\\\"",
		"# ]]]\n", "// \" ]\n", "/", "'", "`", ";", "é", "\r\n", "::", "?", "$", "{", "%", "$$", "<", "*",
	}
	shallow, deep := 0, 0
	for seed := range amount.Of[uint64](4000, 1000) {
		r := rand.New(rand.NewPCG(seed, 2))
		var b strings.Builder
		for range r.IntN(400) {
			b.WriteString(bits[r.IntN(len(bits))])
		}
		if seed%4 == 0 { // near the limit
			b.WriteString(strings.Repeat("a = [", MaxDepth-8+r.IntN(16)))
			b.WriteString(strings.Repeat("1[0]", r.IntN(20)))
		}
		src := []byte(b.String())
		p := deepTokens("x", src)
		if p != nil {
			deep++
		}
		if plainAndShallow(src) {
			shallow++
			if p != nil {
				t.Fatalf("%q: %s", src, p.Message)
			}
		}
	}
	if shallow < amount.Of(300, 75) || deep < amount.Of(100, 25) {
		t.Errorf("%d shallow, %d deep", shallow, deep)
	}
	for src, want := range map[string]bool{
		manyScrews(3000, true):            true,
		strings.Repeat("a {\n", MaxDepth): true, strings.Repeat("a {\n", MaxDepth+1): false,
		"a = " + strings.Repeat("-", maxOperators) + "1": true, "a = " + strings.Repeat("-", maxOperators+1) + "1": false,
		"a = b" + strings.Repeat("[0]", maxOperators+1): false, strings.Repeat("a[0]\n", maxOperators+1): false,
		"a = \"${b}\"": false, "a = <<E\nE\n": false, "/* */": false, "a = \"b\n\"": false, "a = \"": false, "# \"": true,
	} {
		if got := plainAndShallow([]byte(src)); got != want {
			t.Errorf("%v for %.40q", got, src)
		}
	}
}
