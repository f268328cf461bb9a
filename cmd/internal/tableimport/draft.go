package tableimport

import (
	"bytes"
	"fmt"
	"iter"
	"math"
	"strconv"

	"trammel/spec"
)

// maxMoves is the most moves of one cycle that the language reads.
const maxMoves = 500

// A draft is an axis as far as it was read.
type draft struct {
	key                string
	folder, file, axis string
	called             string // by the table
	first, last        int    // rows
	values             map[*spec.Field]*value
	ends               map[*spec.Field]*[2]*value
	known              spec.FieldSet // fields with an entry in values or ends: there are many more
	moves              []*move
	names              map[string]int // moves of each name
}

type move struct {
	name   string
	values map[*spec.Field]*value
}

// move returns the move of a name.
func (d *draft) move(name string) *move {
	for _, m := range d.moves {
		if m.name == name {
			return m
		}
	}
	return d.newMove(name)
}

// newMove adds a move, under another name where its own is taken.
func (d *draft) newMove(name string) *move {
	if d.names == nil {
		d.names = map[string]int{}
	}
	given := name
	for n := d.names[given]; d.names[name] > 0; {
		n++
		d.names[given] = n
		name = given + "-" + strconv.Itoa(n)
	}
	d.names[name]++
	m := &move{name: name, values: map[*spec.Field]*value{}}
	d.moves = append(d.moves, m)
	return m
}

// set takes a value, unless there is one already, which it returns.
func (d *draft) set(f *spec.Field, end int, m *move, v *value) *value {
	switch {
	case m != nil && isMove(f):
		if old := m.values[f]; old != nil {
			return old
		}
		m.values[f] = v
	case f.Pair:
		if d.ends == nil {
			d.ends = map[*spec.Field]*[2]*value{}
		}
		pair := d.ends[f]
		if pair == nil {
			pair = &[2]*value{}
			d.ends[f] = pair
			d.known.Add(f)
		}
		if pair[end] != nil {
			return pair[end]
		}
		pair[end] = v
	default:
		if d.values == nil {
			d.values = map[*spec.Field]*value{}
		}
		if old := d.values[f]; old != nil {
			return old
		}
		d.values[f] = v
		d.known.Add(f)
	}
	return nil
}

// differs reports whether two values say different things; 1 in and 25.4 mm do
// not.
func (v *value) differs(o *value) bool {
	if v.text == o.text {
		return false
	}
	near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(math.Abs(a), math.Abs(b)) }
	if v.num == o.num && v.num.Nominal == 0 {
		return v.num.High == 0 // texts and words have no number
	}
	return !near(v.num.Low, o.num.Low) || !near(v.num.High, o.num.High)
}

// halves lists the fields of which one end only is known, and which.
func (d *draft) halves() iter.Seq2[*spec.Field, int] {
	return func(yield func(*spec.Field, int) bool) {
		for _, f := range spec.Language().Fields {
			if !d.known.Has(f) {
				continue
			}
			pair := d.ends[f]
			if pair == nil || (pair[0] == nil) == (pair[1] == nil) {
				continue
			}
			at := 0
			if pair[0] == nil {
				at = 1
			}
			if !yield(f, at) {
				return
			}
		}
	}
}

// complete adds what the mapping says, where the table says nothing. A move
// the table does not speak of stays away.
func (d *draft) complete(says []*say) {
	for _, s := range says {
		v := s.value
		if !isMove(s.field) {
			d.set(s.field, 0, nil, &v)
			continue
		}
		for _, m := range d.moves {
			if s.move == "" || s.move == m.name {
				v := v
				d.set(s.field, 0, m, &v)
			}
		}
	}
}

// A sheet is an axis file in the making, in the canonical layout: to lay out a
// million files by reading each of them again would take most of the time.
type sheet struct {
	bytes.Buffer
	depth  int
	run    [][3]string // attributes that stand together: name, value, comment
	apart  bool        // a blank line has to come before a block
	unsure bool        // the width of some value is not certain
}

// flush writes the attributes that stand together, aligned.
func (s *sheet) flush() {
	name, value := 0, 0
	for _, a := range s.run {
		name, value = max(name, len(a[0])), max(value, s.width(a[1]))
	}
	for _, a := range s.run {
		s.indent()
		s.WriteString(a[0])
		s.pad(name - len(a[0]))
		s.WriteString(" = ")
		s.WriteString(a[1])
		s.pad(value - s.width(a[1]))
		s.WriteString(" # ")
		s.WriteString(a[2])
		s.WriteByte('\n')
	}
	s.run = s.run[:0]
}

func (s *sheet) indent() { s.pad(2 * s.depth) }

func (s *sheet) pad(n int) {
	for range n {
		s.WriteByte(' ')
	}
}

// width is the number of characters as a person sees them, which is that of
// runes where none of them can join with another.
func (s *sheet) width(text string) int {
	n := 0
	for _, r := range text {
		if r >= 0x300 && r != '…' && r != '–' && r != '—' {
			s.unsure = true
		}
		n++
	}
	return n
}

func (s *sheet) attribute(f *spec.Field, v *value) {
	if v.dispute != "" {
		s.remark("%s: %s by %s, but %s; neither is used", f.Name, v.text, v.comment, v.dispute)
		return
	}
	s.run = append(s.run, [3]string{f.Name, v.text, v.comment})
	s.apart = true
}

func (s *sheet) remark(format string, args ...any) {
	s.flush()
	s.indent()
	fmt.Fprintf(s, "# "+format+"\n", args...)
	s.apart = true
}

func (s *sheet) open(head string) {
	s.flush()
	if s.apart {
		s.WriteByte('\n')
	}
	s.indent()
	s.WriteString(head + " {\n")
	s.depth++
	s.apart = false
}

func (s *sheet) close() {
	s.flush()
	s.depth--
	s.indent()
	s.WriteString("}\n")
	s.apart = true
}

// text writes the axis file, but for its sum. It is in the canonical layout
// where sure is true, which it nearly always is.
func (d *draft) text(origin string) (text []byte, sure bool) {
	s := &sheet{}
	s.WriteString(mark + origin + "\n# adopt rewrites this file only while it is not edited.\n")
	if d.called != d.axis {
		s.WriteString("# Name in the table: " + comment(d.called) + "\n")
	}
	s.apart = true
	s.open("axis " + quoted(d.axis))
	axis := spec.Language().Axis
	d.fields(s, axis.Fields)
	for _, block := range axis.Blocks {
		moves := d.moves
		if block.Name != "motion" {
			moves = nil
		}
		if len(moves) == 0 && !d.has(block.Fields) {
			continue
		}
		s.open(block.Name)
		d.fields(s, block.Fields)
		for _, m := range moves {
			s.open("move " + quoted(m.name))
			for _, f := range spec.Language().Move.Fields {
				if v := m.values[f]; v != nil {
					s.attribute(f, v)
				}
			}
			s.close()
		}
		s.close()
	}
	s.close()
	return s.Bytes(), !s.unsure
}

func (d *draft) has(fields []*spec.Field) bool {
	for _, f := range fields {
		if d.known.Has(f) && (d.values[f] != nil || d.ends[f] != nil) {
			return true
		}
	}
	return false
}

func (d *draft) fields(s *sheet, fields []*spec.Field) {
	for _, f := range fields {
		if !d.known.Has(f) {
			continue
		}
		if v := d.values[f]; v != nil {
			s.attribute(f, v)
		}
		pair := d.ends[f]
		switch {
		case pair == nil:
		case pair[0] == nil:
			s.remark("%s: the far end is %s by %s, the driven one is not known", f.Name, pair[1].text, pair[1].comment)
		case pair[1] == nil:
			s.remark("%s: the driven end is %s by %s, the far one is not known", f.Name, pair[0].text, pair[0].comment)
		case pair[0].dispute != "":
			s.attribute(f, pair[0])
		case pair[1].dispute != "":
			s.attribute(f, pair[1])
		default:
			s.attribute(f, &value{text: "[" + pair[0].text + ", " + pair[1].text + "]", comment: pair[0].comment + "; " + pair[1].comment})
		}
	}
}

// isPlain reports text of printable ASCII, which most text is.
func isPlain(s string) bool {
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}
