// Package hcledit changes lines of one axis in the text of its file and leaves
// all others as they are.
package hcledit

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/spec"
)

// An Amendment is a text with some of its lines changed.
type Amendment struct {
	name   string
	before []string // lines, each with its end
	edits  []edit
}

// An edit puts other lines in the place of some.
type edit struct {
	from, to int // lines from 0; to is not included
	text     []string
}

// Axis makes an axis's own lines say what the changes say, in the text of its
// file. A value that comes from the axis's own line is written there; for any
// other value the axis's line is taken out, so that part, machine or default
// count. The comments of a line stay.
//
// The error says what cannot be written. That the edited text gives the axis
// those values is for the caller to see, by reading it.
func Axis(name string, src []byte, a *spec.Axis, changes []spec.Change) (*Amendment, error) {
	file, diags := hclsyntax.ParseConfig(src, name, hcl.InitialPos)
	if diags.HasErrors() {
		return nil, errors.New("its file has syntax errors")
	}
	m := &amender{Amendment: Amendment{name: name, before: strings.SplitAfter(string(src), "\n")}, src: src, eol: "\n"}
	if i := bytes.IndexByte(src, '\n'); i > 0 && src[i-1] == '\r' {
		m.eol = "\r\n"
	}
	if n := len(m.before); m.before[n-1] == "" {
		m.before = m.before[:n-1]
	}
	for _, b := range file.Body.(*hclsyntax.Body).Blocks {
		if b.Type == "axis" && len(b.Labels) == 1 && b.Labels[0] == a.Name && b.LabelRanges[0].Start.Line == int(a.Place.Line) {
			m.axis = b
		}
	}
	if m.axis == nil {
		return nil, fmt.Errorf("axis %s is not where it was read", a.Name)
	}
	byBlock := map[string][]line{}
	var order []string
	for _, c := range changes {
		block, attr := split(c.Field.Path)
		if !ownField(block, attr) {
			continue // a value of a part the axis has no line for
		}
		l := line{attr: attr}
		switch have := a.Get(c.Field); {
		case c.Value != nil && c.Value.Origin == spec.Own && c.Value.Bad:
			return nil, fmt.Errorf("%s could not be read", c.Field.Path)
		case c.Value != nil && c.Value.Origin == spec.Own:
			l.value = c.Value.Text
			if c.Field.Sort != spec.PartRef {
				l.value = quote(c.Value.Text)
			}
		case have == nil || have.Origin != spec.Own:
			continue
		}
		if byBlock[block] == nil {
			order = append(order, block)
		}
		byBlock[block] = append(byBlock[block], l)
	}
	for _, block := range order {
		if err := m.block(block, byBlock[block]); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(m.edits, func(a, b edit) int { return cmp.Compare(a.from, b.from) })
	for i := 1; i < len(m.edits); i++ {
		if m.edits[i].from < m.edits[i-1].to {
			return nil, fmt.Errorf("line %d holds more than one thing to change; write each on its own line (tidy does)", m.edits[i].from+1)
		}
	}
	return &m.Amendment, nil
}

// A line is what one attribute is to say; nothing: it is taken out.
type line struct{ attr, value string }

type amender struct {
	Amendment
	src  []byte
	eol  string
	axis *hclsyntax.Block
}

func split(path string) (block, attr string) {
	if i := strings.LastIndexByte(path, '.'); i >= 0 {
		return path[:i], path[i+1:]
	}
	return "", path
}

// ownField reports whether an axis has a line for the field.
func ownField(block, attr string) bool {
	b := spec.Language().Axis
	fields := b.Fields
	if block != "" {
		i := slices.IndexFunc(b.Blocks, func(b *spec.Block) bool { return b.Name == block })
		if i < 0 {
			return false
		}
		fields = b.Blocks[i].Fields
	}
	return slices.ContainsFunc(fields, func(f *spec.Field) bool { return f.Name == attr })
}

// quote writes a text as HCL takes it. Words and quantities hold nothing that
// would need more.
func quote(s string) string {
	s = strings.NewReplacer(`\`, `\\`, `"`, `\"`, "${", "$${", "%{", "%%{").Replace(s)
	return `"` + s + `"`
}

// block makes the lines of one block of the axis say what they are to say.
func (m *amender) block(name string, lines []line) error {
	body := m.axis
	if name != "" {
		body = nil
		for _, b := range m.axis.Body.Blocks {
			if b.Type == name && body == nil {
				body = b
			}
		}
	}
	var fresh []line
	for _, l := range lines {
		var a *hclsyntax.Attribute
		if body != nil {
			a = body.Body.Attributes[l.attr]
		}
		switch {
		case a == nil && l.value != "":
			fresh = append(fresh, l)
		case a == nil:
		case l.value == "":
			if err := m.remove(a); err != nil {
				return err
			}
		default:
			m.replace(a, l.value)
		}
	}
	if len(fresh) == 0 {
		return nil
	}
	if body == nil {
		m.addBlock(name, fresh)
		return nil
	}
	return m.add(body, fresh)
}

// replace puts another value in the place of an attribute's.
func (m *amender) replace(a *hclsyntax.Attribute, value string) {
	at := a.Expr.Range()
	from, to := at.Start.Line-1, at.End.Line
	start, end := m.lineStart(from), m.lineStart(to)
	text := string(m.src[start:at.Start.Byte]) + value + string(m.src[at.End.Byte:end])
	m.edits = append(m.edits, edit{from, to, []string{text}})
}

// lineStart is the offset of a line, from 0.
func (m *amender) lineStart(n int) int {
	at := 0
	for _, l := range m.before[:n] {
		at += len(l)
	}
	return at
}

// remove takes an attribute out; a comment behind it stays as a line of its
// own.
func (m *amender) remove(a *hclsyntax.Attribute) error {
	from, to := a.SrcRange.Start.Line-1, a.SrcRange.End.Line
	start, end := m.lineStart(from), m.lineStart(to)
	before, after := string(m.src[start:a.SrcRange.Start.Byte]), string(m.src[a.SrcRange.End.Byte:end])
	rest := strings.TrimSpace(after)
	e := edit{from, to, nil}
	switch {
	case strings.TrimSpace(before) != "" && !strings.HasPrefix(rest, "}"), strings.TrimSpace(before) == "" && strings.HasPrefix(rest, "}"):
		return fmt.Errorf("line %d holds more than %s; write it on its own line (tidy does)", from+1, a.Name)
	case strings.TrimSpace(before) != "": // a block on one line
		e.text = []string{strings.TrimRight(before, " \t") + strings.TrimLeft(after, " \t")}
	case rest != "":
		e.text = []string{before + rest + m.eol}
	}
	m.edits = append(m.edits, e)
	return nil
}

// add puts attributes behind the last one of a block, written like it.
func (m *amender) add(b *hclsyntax.Block, fresh []line) error {
	open, closing := b.OpenBraceRange.End.Line-1, b.CloseBraceRange.Start.Line-1
	indent := m.indent(b.TypeRange.Start.Line-1) + "  "
	if open == closing {
		// A block on one line is opened.
		start, end := m.lineStart(open), m.lineStart(open+1)
		inside := strings.TrimSpace(string(m.src[b.OpenBraceRange.End.Byte:b.CloseBraceRange.Start.Byte]))
		text := []string{string(m.src[start:b.OpenBraceRange.End.Byte]) + m.eol}
		if inside != "" {
			text = append(text, indent+inside+m.eol)
		}
		text = append(text, m.lines(indent, 0, fresh)...)
		text = append(text, indent[2:]+string(m.src[b.CloseBraceRange.Start.Byte:end]))
		for _, e := range m.edits {
			if e.from == open {
				return fmt.Errorf("line %d holds a whole block; write it on lines of its own (tidy does)", open+1)
			}
		}
		m.edits = append(m.edits, edit{open, open + 1, text})
		return nil
	}
	at, column := open+1, 0
	for _, a := range b.Body.Attributes {
		if end := a.SrcRange.End.Line; end > at || at == open+1 {
			at = max(at, end)
			column = a.EqualsRange.Start.Column
			indent = m.indent(a.SrcRange.Start.Line - 1)
		}
	}
	m.edits = append(m.edits, edit{at, at, m.lines(indent, column, fresh)})
	return nil
}

// lines writes attributes, their signs of equality below that at a column, from
// 1, where there is room.
func (m *amender) lines(indent string, column int, fresh []line) []string {
	width := 0
	for _, l := range fresh {
		width = max(width, len(l.attr))
	}
	if room := column - 2 - len(indent); room >= width {
		width = room
	}
	var out []string
	for _, l := range fresh {
		out = append(out, fmt.Sprintf("%s%-*s = %s%s", indent, width, l.attr, l.value, m.eol))
	}
	return out
}

func (m *amender) indent(line int) string {
	l := m.before[line]
	return l[:len(l)-len(strings.TrimLeft(l, " \t"))]
}

// addBlock puts a new block at the end of the axis.
func (m *amender) addBlock(name string, fresh []line) {
	at := m.axis.CloseBraceRange.Start.Line - 1
	indent := m.indent(m.axis.TypeRange.Start.Line-1) + "  "
	text := append([]string{indent + name + " {" + m.eol}, m.lines(indent+"  ", 0, fresh)...)
	text = append(text, indent+"}"+m.eol)
	if open := m.axis.OpenBraceRange.End.Line - 1; open == at {
		start, end := m.lineStart(at), m.lineStart(at+1)
		inside := strings.TrimSpace(string(m.src[m.axis.OpenBraceRange.End.Byte:m.axis.CloseBraceRange.Start.Byte]))
		if inside != "" {
			text = append([]string{indent + inside + m.eol}, text...)
		}
		text = append([]string{string(m.src[start:m.axis.OpenBraceRange.End.Byte]) + m.eol}, text...)
		text = append(text, indent[2:]+string(m.src[m.axis.CloseBraceRange.Start.Byte:end]))
		m.edits = append(m.edits, edit{at, at + 1, text})
		return
	}
	m.edits = append(m.edits, edit{at, at, text})
}

// Text is the text as edited.
func (a *Amendment) Text() []byte {
	var b strings.Builder
	at := 0
	for _, e := range a.edits {
		for _, l := range a.before[at:e.from] {
			b.WriteString(l)
		}
		for _, l := range e.text {
			b.WriteString(l)
		}
		at = e.to
	}
	for _, l := range a.before[at:] {
		b.WriteString(l)
	}
	return []byte(b.String())
}

// around is how many unchanged lines a patch shows about what it changes.
const around = 3

// Patch writes the change as a unified diff, from the name the file has below
// the folder where the patch is to be applied. It is empty where nothing
// changes.
func (a *Amendment) Patch() string {
	var b strings.Builder
	shift := 0 // by how much later lines have moved
	for i := 0; i < len(a.edits); {
		k := i + 1
		for k < len(a.edits) && a.edits[k].from-a.edits[k-1].to <= 2*around {
			k++
		}
		group := a.edits[i:k]
		from, to := max(0, group[0].from-around), min(len(a.before), group[len(group)-1].to+around)
		var body strings.Builder
		put := func(mark string, lines []string) {
			for _, l := range lines {
				body.WriteString(mark + l)
				if !strings.HasSuffix(l, "\n") {
					body.WriteString("\n\\ No newline at end of file\n")
				}
			}
		}
		at, grown := from, 0
		for _, e := range group {
			put(" ", a.before[at:e.from])
			put("-", a.before[e.from:e.to])
			put("+", e.text)
			at = e.to
			grown += len(e.text) - (e.to - e.from)
		}
		put(" ", a.before[at:to])
		fmt.Fprintf(&b, "@@ -%d,%d +%d,%d @@\n%s", from+1, to-from, from+1+shift, to-from+grown, body.String())
		shift += grown
		i = k
	}
	if b.Len() == 0 {
		return ""
	}
	return "--- a/" + a.name + "\n+++ b/" + a.name + "\n" + b.String()
}

// Gives reports, as an error, where an edited text does not give an axis the
// values it was to have: when the text is read again in its tree, every value
// must be the changed one, and all others as before.
func Gives(tree *spec.Tree, name string, text []byte, a *spec.Axis, changes []spec.Change) error {
	want := a.Copy()
	want.Put(changes)
	file := tree.AxesOf(name, text, nil)
	for _, p := range file.Problems {
		return fmt.Errorf("it would not read well: %s", p.Message)
	}
	for _, got := range file.Axes {
		// Lines before it may have moved.
		if got.Name != a.Name {
			continue
		}
		for _, f := range spec.Language().Fields[:spec.Language().Moves] {
			if x, y := got.Get(f), want.Get(f); !same(x, y) {
				return fmt.Errorf("%s would be %s, not %s: another line, perhaps of the machine, decides it", f.Path, shown(x), shown(y))
			}
		}
		return nil
	}
	return fmt.Errorf("axis %s would be gone", a.Name)
}

func same(x, y *spec.Value) bool {
	if x == nil || y == nil {
		return x == y
	}
	return x.Text == y.Text && x.Num == y.Num && x.Word == y.Word && x.Flag == y.Flag && x.Part == y.Part && x.Ends == y.Ends && x.Bad == y.Bad
}

func shown(v *spec.Value) string {
	if v == nil {
		return "open"
	}
	return v.Text
}
