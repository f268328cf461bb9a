package spec

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/spec/unit"
)

// A Line is what one attribute of an axis is to say, as a person would write it
// but for quotes: "20 mm", "fixed", "true"; of a pair "20 mm, 15 mm".
type Line struct {
	Field *Field
	Move  int // of the cycle; -1 for a field of the axis itself
	Text  string
}

// An Edit puts text in the place of a stretch of a file. Where the stretch is
// empty the text is inserted.
type Edit struct {
	Place Place
	Text  string
}

// Apply makes edits in the text of the file they are for. They must not overlap;
// of several at one place the first comes first.
func Apply(src []byte, edits []Edit) []byte {
	order := slices.Clone(edits)
	slices.SortStableFunc(order, func(a, b Edit) int { return cmp.Compare(a.Place.Byte, b.Place.Byte) })
	var out []byte
	at := int32(0)
	for _, e := range order {
		out = append(append(out, src[at:e.Place.Byte]...), e.Text...)
		at = e.Place.EndByte
	}
	return append(out, src[at:]...)
}

// A spot is where lines can be put into a block: in front of a token of it.
type spot struct {
	at      Place // an empty stretch
	open    Place // behind the opening brace, where the block stands on one line
	closing bool  // the token is the closing brace
}

// spotOf finds where lines can be put into a block: before the closing brace,
// or before all else where the block holds others.
func (d *decoder) spotOf(b *hclsyntax.Block) spot {
	at := func(p hcl.Pos) Place { return d.place(hcl.Range{Start: p, End: p}) }
	s := spot{at: at(b.CloseBraceRange.Start), closing: true}
	if b.OpenBraceRange.End.Line == b.CloseBraceRange.Start.Line {
		s.open = at(b.OpenBraceRange.End)
		return s
	}
	if len(b.Body.Blocks) == 0 {
		return s
	}
	first := b.Body.Blocks[0].TypeRange.Start
	for _, a := range b.Body.Attributes {
		if a.NameRange.Start.Byte < first.Byte {
			first = a.NameRange.Start
		}
	}
	return spot{at: at(first)}
}

// insert puts lines into the block; block names a block of its own for them.
func (s *spot) insert(block string, lines []string) []Edit {
	indent, inner := strings.Repeat(" ", int(s.at.Col)-1), "  "
	if !s.open.Valid() && !s.closing {
		inner = ""
	}
	if s.open.Valid() {
		indent = "" // how deep the line is cannot be told
	}
	var b strings.Builder
	if block != "" {
		b.WriteString(inner + block + " {\n")
		for _, l := range lines {
			b.WriteString(indent + inner + "  " + l + "\n")
		}
		b.WriteString(indent + inner + "}\n" + indent)
	} else {
		for i, l := range lines {
			if i > 0 {
				b.WriteString(indent)
			}
			b.WriteString(inner + l + "\n")
		}
		b.WriteString(indent)
	}
	if !s.open.Valid() {
		return []Edit{{s.at, b.String()}}
	}
	if s.open.Byte == s.at.Byte {
		return []Edit{{s.at, "\n" + b.String()}}
	}
	return []Edit{{s.open, "\n"}, {s.at, "\n" + b.String()}}
}

// Rewrite gives the axis as it would be read with some of its lines saying
// something else, and the edits of the files that make them say so: of its own
// line, of that of the part, the machine or the given value where it stands, or
// of the block where the line is missing. A part or a machine so changed is
// changed for all axes that use it. It is false where a line cannot be made to
// say it.
func (a *Axis) Rewrite(lines []Line) (*Axis, []Edit, bool) {
	w := &rewriter{from: a, to: a.Copy(), fresh: map[string][]string{}, given: map[*givenUse][]Edit{}}
	for _, l := range lines {
		if !w.line(l) {
			return nil, nil, false
		}
	}
	for _, g := range w.order {
		if list := w.given[g]; g.shared || len(list) != g.uses || slices.ContainsFunc(list, func(e Edit) bool { return e.Text != list[0].Text }) {
			w.edits = append(w.edits, list...)
		} else {
			w.edits = append(w.edits, Edit{g.value, list[0].Text})
		}
	}
	for _, b := range w.blocks {
		w.edits = append(w.edits, w.into(b)...)
	}
	slices.SortStableFunc(w.edits, func(a, b Edit) int { return ComparePlaces(a.Place, b.Place) })
	return w.to, w.edits, true
}

type rewriter struct {
	from, to *Axis
	edits    []Edit
	blocks   []string            // into which lines are put, in order; a move's is "motion.move.0"
	fresh    map[string][]string // those lines
	order    []*givenUse
	given    map[*givenUse][]Edit // of the values that are a given value, and no more
}

// line makes one line say something else.
func (w *rewriter) line(l Line) bool {
	var have *Value
	if l.Move < 0 {
		have = w.to.values[l.Field.index]
	} else {
		have = w.to.Moves[l.Move].Get(l.Field)
	}
	if have != nil && have.Bad {
		return false
	}
	written := have != nil && have.Place.Valid()
	f, text := l.Field, l.literal()
	if written {
		f = have.Field
	}
	v, ok := w.read(f, l.Text, text)
	if !ok {
		return false
	}
	if !written {
		w.put(l, have, v)
		return w.missing(l, text)
	}
	v.Place, v.Origin, v.column = have.Place, have.Origin, have.column
	w.put(l, have, v)
	if have.column != "" {
		n, ok := unit.In(v.Num.Nominal, f.Unit, have.column)
		if !ok || !v.Num.Exact() {
			return false
		}
		text = trimNumber(n)
		again, ok := w.read(f, text+" "+have.column, strconv.Quote(text+" "+have.column))
		if !ok {
			return false
		}
		v.Num, v.Text = again.Num, again.Text
	}
	e := Edit{have.Place, text}
	if g := have.given; g != nil {
		if w.given[g] == nil {
			w.order = append(w.order, g)
		}
		w.given[g] = append(w.given[g], e)
		return true
	}
	w.edits = append(w.edits, e)
	return true
}

// literal is the line's value as HCL takes it.
func (l *Line) literal() string {
	quote := func(s string) string {
		return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "${", "$${", "%{", "%%{").Replace(s) + `"`
	}
	switch {
	case l.Field.Sort == Number || l.Field.Sort == Flag:
		return l.Text
	case l.Field.Pair:
		first, second, _ := strings.Cut(l.Text, ", ")
		return "[" + quote(first) + ", " + quote(second) + "]"
	}
	return quote(l.Text)
}

// read reads a value as from a file.
func (w *rewriter) read(f *Field, plain, text string) (*Value, bool) {
	if f.Sort == PartRef || f.Sort == AxisRefs {
		return nil, false
	}
	expr, diags := hclsyntax.ParseExpression([]byte(text), w.from.Place.File, hcl.InitialPos)
	if diags.HasErrors() {
		return nil, false
	}
	d := &decoder{path: w.from.Place.File, scope: w.from.Folder}
	v := &Value{Field: f}
	return v, d.fill(v, f, expr) && len(d.problems) == 0
}

// put makes v the value of a line. A value of a part or a machine changes
// wherever it counts, as a bearing at both ends does.
func (w *rewriter) put(l Line, have, v *Value) {
	if l.Move >= 0 {
		w.to.Moves = slices.Clone(w.to.Moves)
		m := *w.to.Moves[l.Move]
		m.values = slices.Clone(m.values)
		m.values[l.Field.index-theSchema.Moves] = v
		w.to.Moves[l.Move] = &m
		return
	}
	w.to.values[l.Field.index] = v
	for _, pair := range otherWays {
		for i := range pair {
			other := theSchema.byPath[pair[1-i]].index
			if x := w.to.values[other]; pair[i] == l.Field.Path && v.Origin == Own && x != nil && x.Origin == Machine {
				w.to.values[other] = theSchema.defaults[other]
			}
		}
	}
	if have == nil || have.Origin != OfPart {
		return
	}
	parts := map[*Part]*Part{}
	for i, x := range w.to.values {
		switch {
		case x == nil:
		case x == have:
			w.to.values[i] = v
		case x.Part != nil && slices.Contains(x.Part.values, have):
			if parts[x.Part] == nil {
				p := *x.Part
				p.values = slices.Clone(p.values)
				p.values[slices.Index(p.values, have)] = v
				parts[x.Part] = &p
			}
			ref := *x
			ref.Part = parts[x.Part]
			w.to.values[i] = &ref
		}
	}
}

// missing puts a line where none is.
func (w *rewriter) missing(l Line, text string) bool {
	block, name, _ := cutPath(l.Field.Path)
	if l.Move >= 0 {
		block = "motion.move." + strconv.Itoa(l.Move)
	} else if block != "" {
		b := theSchema.Axis.block(block)
		if b == nil || b.field(name) != l.Field {
			return false // only a part could say it
		}
	}
	if !w.spotFor(block).at.Valid() {
		return false
	}
	if w.fresh[block] == nil {
		w.blocks = append(w.blocks, block)
	}
	w.fresh[block] = append(w.fresh[block], name+" = "+text)
	return true
}

// into gives the edits that put lines into a block.
func (w *rewriter) into(block string) []Edit {
	s := w.spotFor(block)
	if s == &w.from.spot {
		return s.insert(block, w.fresh[block])
	}
	return s.insert("", w.fresh[block])
}

// spotFor is where lines are put into a block: where the axis has none, that in
// the axis.
func (w *rewriter) spotFor(block string) *spot {
	if n, is := strings.CutPrefix(block, "motion.move."); is {
		i, _ := strconv.Atoi(n)
		return &w.from.Moves[i].spot
	}
	for i, b := range theSchema.Axis.Blocks {
		if b.Name == block && w.from.blocks[i].head.Valid() {
			return &w.from.blocks[i].spot
		}
	}
	return &w.from.spot
}
