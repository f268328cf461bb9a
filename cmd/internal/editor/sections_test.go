package editor

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"trammel/spec"
	"trammel/spec/amount"
)

// drawn is all that an outline says.
func drawn(o *outline) string {
	var b strings.Builder
	o.file.all(func(n *node) {
		fmt.Fprintf(&b, "%s %v %d-%d %d\n", n.kind, n.labels, n.start, n.end, n.open)
		for _, a := range n.attrs {
			fmt.Fprintf(&b, "  %v %d-%d %v in %s", a.word, a.valueAt, a.valueEnd, a.references(), a.in.kind)
			for _, t := range a.value {
				fmt.Fprintf(&b, " %d", t.Range.Start.Byte)
			}
			b.WriteString("\n")
		}
	})
	for _, s := range o.sections {
		for _, t := range s.tokens {
			if t.Type != 0 && len(t.Bytes) > 0 {
				fmt.Fprintf(&b, "%v %q %d\n", t.Type, t.Bytes, t.Range.Start.Byte)
			}
		}
	}
	return b.String()
}

func sectioned(name, text string) *doc {
	d := &doc{name: name, text: newText([]byte(text)), root: &root{tree: spec.NewTree(os.DirFS("."))}}
	d.outline()
	return d
}

// TestSections: a file without errors of syntax has the outline that it has when it is
// scanned in one go, however it is written.
func TestSections(t *testing.T) {
	t.Parallel()
	texts := map[string]string{
		"odd.axis.hcl":     "axis \"a\" {\nload {\nmass = \"1 kg\"\n}\nscrew {\nlead = \"${\n2\n}\n mm\"\n}\n}\n\n}\n",
		"interp.axis.hcl":  "axis \"a\" {\n  description = \"${\n1\n}\n\"\n}\naxis \"b\" {\n}\n",
		"nested.axis.hcl":  "axis \"a\" {\nload {\nmass = \"1 kg\" # }\n}\nmotion {\nmove \"x\" {\n}\n}\n}\naxis \"b\" {\n}\n",
		"heredoc.axis.hcl": "axis \"a\" {\n  description = <<EOT\n}\n\"\nEOT\n}\naxis \"b\" {\n}\n",
		"comment.axis.hcl": "/* \"\n}\n*/\naxis \"a\" {\n}\r\naxis \"b\" {\r\n}\r\n",
	}
	const root = "../../../fixtures"
	for _, name := range amount.Some(specFiles(t, root), 3, func(s string) string { return s }) {
		src, err := os.ReadFile(root + "/" + name)
		if err != nil {
			t.Fatal(err)
		}
		texts[name] = string(src)
	}
	cut := 0
	for name, text := range texts {
		if len(spec.Syntax(name, []byte(text))) > 0 {
			continue
		}
		d := sectioned(name, text)
		cut += len(d.lines.sections)
		if got, want := drawn(d.lines), drawn(outlineOf(name, []byte(text))); got != want {
			t.Errorf("%s has the outline\n%s\nin one go\n%s", name, got, want)
		}
	}
	if cut < 2*len(texts) {
		t.Errorf("%d files have %d sections", len(texts), cut)
	}
}

// TestSectionHalfTyped: a quote or brace that is still open changes the outline of no other
// part, and no other part is scanned again.
func TestSectionHalfTyped(t *testing.T) {
	t.Parallel()
	whole := manyScrews(20)
	at := strings.Index(whole, "screw \"many3\"") + len("screw \"many3\" {\n")
	d := sectioned("x.parts.hcl", whole)
	before := slices.Clone(d.lines.sections)
	for _, typed := range []string{"  lead = \"", "  x {\n", "# é\n", "}\n", "\"}\n", ""} {
		text := whole[:at] + typed + whole[at:]
		d.text = newText([]byte(text))
		o := d.outline()
		if got, want := drawn(o), drawn(sectioned("x.parts.hcl", text).lines); got != want {
			t.Errorf("after %q the outline is\n%s\nfresh\n%s", typed, got, want)
		}
		names := 0
		for _, b := range o.file.blocks {
			if b.kind == "screw" && strings.HasPrefix(text[b.labels[0].from:], b.label()) {
				names++
			}
		}
		kept := 0
		for _, s := range o.sections {
			if slices.Contains(before, s) {
				kept++
			}
		}
		if names != 20 || kept < 19 {
			t.Errorf("after %q %d parts are known, %d of 20 sections kept", typed, names, kept)
		}
	}
}

// BenchmarkColours is the time from a key in a library of two thousand screws to the
// colours of the whole file, and to those of what is on the screen.
func BenchmarkColours(b *testing.B) {
	for _, method := range []string{"full", "range"} {
		b.Run(method, func(b *testing.B) {
			c := start(b, tree(b, "", map[string]string{"many.parts.hcl": manyScrews(2000)}), modern)
			c.open("many.parts.hcl")
			ask := map[string]any{"textDocument": map[string]any{"uri": c.uri("many.parts.hcl")}, "range": span{Start: position{Line: 9000}, End: position{Line: 9060}}}
			c.call("textDocument/semanticTokens/"+method, ask, nil)
			version := 1
			for b.Loop() {
				version++
				c.notify("textDocument/didChange", map[string]any{"textDocument": map[string]any{"uri": c.uri("many.parts.hcl"), "version": version},
					"contentChanges": []any{change{&span{position{9001, 12}, position{9001, 12}}, "1"}}})
				c.call("textDocument/semanticTokens/"+method, ask, nil)
			}
		})
	}
}
