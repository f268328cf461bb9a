package report

import (
	"bufio"
	"io"
	"slices"
	"strings"

	"github.com/mattn/go-runewidth"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
	"trammel/spec"
)

// Missing writes the inputs that rules lack, as text to paste: block
// by block, each line a comment until its value is filled in. What is pasted whole is
// read as if it were not there, so nothing is taken for declared.
func Missing(w io.Writer, run *Run) error {
	b := bufio.NewWriter(w)
	n := 0
	for _, x := range gapsByAxis(run) {
		n += missingOf(b, x)
	}
	sanitize.Fprintf(b, "# %s missing; %s", sanitize.Count(n, "line is", "lines are"), Closing(run))
	b.WriteByte('\n')
	return b.Flush()
}

// missingOf writes the lines of one axis.
func missingOf(b *bufio.Writer, axis *axisGaps) (n int) {
	type block struct {
		head  string
		at    spec.Place
		lines []missingLine
	}
	var blocks []*block
	for _, g := range axis.list {
		if g.Missing == "" {
			continue
		}
		head, line, field := missingLineOf(g)
		k := slices.IndexFunc(blocks, func(x *block) bool { return x.head == head && x.at.File == g.Place.File })
		if k < 0 {
			k = len(blocks)
			blocks = append(blocks, &block{head: head, at: g.Place})
		}
		blocks[k].lines = append(blocks[k].lines, line)
		if field != nil && field.Other() != nil {
			o := field.Other()
			blocks[k].lines = append(blocks[k].lines, missingLine{o.Name + " = " + Open(o), InPlaceOf(field, o)})
		}
		n++
	}
	if n > 0 {
		sanitize.Fprintf(b, "# axis %s\n", axis.axis)
	}
	for _, x := range blocks {
		sanitize.Fprintf(b, "# for %s\n", x.at.String())
		indent := ""
		if x.head != "" {
			sanitize.Fprintf(b, "%s {\n", x.head)
			indent = "  "
		}
		writeLines(b, indent, x.lines)
		if x.head != "" {
			sanitize.Fprintf(b, "}\n")
		}
		sanitize.Fprintf(b, "\n")
	}
	return n
}

func writeLines(b *bufio.Writer, indent string, lines []missingLine) {
	wide := 0
	for _, l := range lines {
		if n := runewidth.StringWidth(l.text); n <= widest {
			wide = max(wide, n)
		}
	}
	for _, l := range lines {
		sanitize.Fprintf(b, "%s# %s%s # %s\n", indent, l.text, strings.Repeat(" ", max(0, wide-runewidth.StringWidth(l.text))), l.what)
	}
}

// widest is the widest line that others are aligned with.
const widest = 40

// A missingLine is a line with its value left open, and what it says.
type missingLine struct{ text, what string }

// missingLineOf finds the block a missing line belongs to.
func missingLineOf(g *judge.MissingInput) (head string, line missingLine, f *spec.Field) {
	lang := spec.Language()
	what := " (for " + ruleList(g.Rules) + ")"
	name, of, has := strings.Cut(g.Missing, " of ")
	switch {
	case has && strings.HasPrefix(of, "move "):
		f = lang.FieldAt("motion.move." + name)
		return "move " + quoted(strings.TrimPrefix(of, "move ")), openLine(f, name, what), f
	case has:
		kind, part, _ := strings.Cut(of, ".")
		for _, k := range lang.PartKinds() {
			if k.Name != kind {
				continue
			}
			for _, f := range k.Fields {
				if f.Name == name {
					return kind + " " + quoted(part), openLine(f, name, what), nil
				}
			}
		}
	}
	f = lang.FieldAt(g.Missing)
	if f == nil {
		return "", missingLine{g.Missing, "is missing" + what}, nil
	}
	return strings.TrimSuffix(strings.TrimSuffix(f.Path, f.Name), "."), openLine(f, f.Name, what), f
}

// InPlaceOf says what a field is that may stand in the place of another.
func InPlaceOf(f, other *spec.Field) string {
	if strings.Contains(other.Doc, "instead of "+f.Name) {
		return "or: " + other.Doc
	}
	return "or, instead of " + f.Name + ": " + other.Doc
}

func quoted(name string) string { return "\"" + strings.Trim(name, `["]`) + "\"" }

// openLine is the line of a field with its value left open.
func openLine(f *spec.Field, name, what string) missingLine {
	if f == nil {
		return missingLine{name + " = …", "is missing" + what}
	}
	return missingLine{name + " = " + Open(f), f.Doc + what}
}

// Open is the value of a field left open, with the unit that its example has.
func Open(f *spec.Field) string {
	switch {
	case f.Sort == spec.PartRef:
		return f.Part + ".…"
	case f.Pair:
		return `["… ` + unitOf(f.Example) + `", "… ` + unitOf(f.Example) + `"]`
	case f.Sort == spec.Quantity:
		return `"… ` + unitOf(f.Example) + `"`
	case f.Sort == spec.Word:
		return `"` + strings.Join(f.Words, `" or "`) + `"`
	case f.Sort == spec.Text:
		return `"…"`
	case f.Sort == spec.Flag:
		return "true or false"
	}
	return "…"
}

// unitOf is the unit of a quantity as it is written in an example.
func unitOf(example string) string {
	_, unit, _ := strings.Cut(strings.Trim(example, `"[]`), " ")
	unit, _, _ = strings.Cut(unit, `"`)
	return unit
}
