package editor

import (
	"math/rand/v2"
	"strings"
	"testing"
	"unicode/utf8"

	"trammel/spec/amount"
)

// pieces are what random edits write.
var pieces = []string{"", "a", "\"", "{", "}", "\n", "\r\n", " = ", "\"7 mm\"", "±", "µ", "°", "𝒙", "é", "# ", "/*", "given.", "screw.", "[", "axis \"z\" {\n}\n", "  load {\n    mass = \"3 kg\"\n  }\n", "\ufeff", "\x00"}

// TestRandomEdits: whatever is edited in several files, in whatever order, the server
// has the text that the client has, it ends in nothing worse than an error of syntax, and
// once the texts are whole it shows what the check finds.
func TestRandomEdits(t *testing.T) {
	t.Parallel()
	rounds := amount.Of(60, 2)
	for round := range rounds {
		rnd := rand.New(rand.NewPCG(uint64(round), 7))
		dir := tree(t, "bakery", nil)
		encoded := round%2 == 0
		caps := modern
		if !encoded {
			caps = strings.Replace(modern, `"utf-16","utf-8"`, `"utf-16"`, 1)
		}
		c := start(t, dir, caps)
		names := []string{pusher, blade, screws, "house.policy.hcl", "machines/slicer/machine.axis.hcl", "machines/depositor/axes.axis.hcl"}
		c.open(names...)
		texts, whole, version := map[string]string{}, map[string]string{}, map[string]int{}
		for _, n := range names {
			texts[n] = c.read(n)
			whole[n] = texts[n]
			version[n] = 1
		}
		edit := func(n string, from, to int, text string) {
			src := newText([]byte(texts[n]))
			texts[n] = texts[n][:from] + text + texts[n][to:]
			version[n]++
			c.notify("textDocument/didChange", map[string]any{"textDocument": map[string]any{"uri": c.uri(n), "version": version[n]},
				"contentChanges": []any{change{&span{src.position(from, encoded), src.position(to, encoded)}, text}}})
		}
		for range 60 {
			n := names[rnd.IntN(len(names))]
			from := boundary(texts[n], rnd.IntN(len(texts[n])+1))
			to := boundary(texts[n], min(len(texts[n]), from+rnd.IntN(1+rnd.IntN(40))))
			if rnd.IntN(30) == 0 {
				from, to = 0, len(texts[n])
			}
			edit(n, from, to, pieces[rnd.IntN(len(pieces))])
			if rnd.IntN(8) == 0 {
				c.diagnostics(n)
				sameText(t, c, n, texts[n])
			}
		}
		for _, n := range names {
			edit(n, 0, len(texts[n]), whole[n])
		}
		sameAsCheck(t, c, names)
	}
}

// boundary is the beginning of the character in which a byte stands, and not within a
// line end.
func boundary(s string, at int) int {
	for at > 0 && at < len(s) && !utf8.RuneStart(s[at]) {
		at--
	}
	if at > 0 && at < len(s) && s[at-1] == '\r' && s[at] == '\n' {
		at--
	}
	return at
}

// sameText compares what the server makes of its text with what a server makes that is
// given the text as a whole.
func sameText(t *testing.T, c *client, name, text string) {
	t.Helper()
	fresh := start(t, tree(t, "", nil), modern)
	if c.counts != "utf-8" {
		fresh = start(t, tree(t, "", nil), strings.Replace(modern, `"utf-16","utf-8"`, `"utf-16"`, 1))
	}
	fresh.openAs("x/"+name, text)
	for _, method := range []string{"textDocument/semanticTokens/full", "textDocument/documentSymbol", "textDocument/foldingRange"} {
		a := c.request(method, inDocument{documentID{URI: c.uri(name)}})
		b := fresh.request(method, inDocument{documentID{URI: fresh.uri("x/" + name)}})
		if a.Error != nil || string(a.Result) != string(b.Result) {
			t.Errorf("%s of %s: %v %.300s\nfresh %.300s", method, name, a.Error, a.Result, b.Result)
		}
	}
}
