package adopt

import (
	"bytes"
	"fmt"
	"iter"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

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

// text writes the axis file, but for its layout and sum.
func (d *draft) text(origin string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s%s\n# While the sum fits, adopting the table again rewrites this file; once edited, it is kept.\n", mark, origin)
	if d.called != d.axis {
		fmt.Fprintf(&b, "# The table calls the axis: %s\n", comment(d.called))
	}
	fmt.Fprintf(&b, "\naxis %s {\n", quoted(d.axis))
	axis := spec.Language().Axis
	apart := d.fields(&b, axis.Fields)
	for _, block := range axis.Blocks {
		var in bytes.Buffer
		some := d.fields(&in, block.Fields)
		if block.Name == "motion" {
			for _, m := range d.moves {
				if some {
					in.WriteByte('\n')
				}
				some = true
				fmt.Fprintf(&in, "move %s {\n", quoted(m.name))
				for _, f := range spec.Language().Move.Fields {
					if v := m.values[f]; v != nil {
						attribute(&in, f, v)
					}
				}
				in.WriteString("}\n")
			}
		}
		if in.Len() == 0 {
			continue
		}
		if apart {
			b.WriteByte('\n')
		}
		apart = true
		fmt.Fprintf(&b, "%s {\n%s}\n", block.Name, in.Bytes())
	}
	b.WriteString("}\n")
	return b.Bytes()
}

func (d *draft) fields(b *bytes.Buffer, fields []*spec.Field) (some bool) {
	for _, f := range fields {
		if v := d.values[f]; v != nil {
			attribute(b, f, v)
			some = true
		}
		pair := d.ends[f]
		switch {
		case pair == nil:
			continue
		case pair[0] != nil && pair[1] != nil:
			v := &value{text: "[" + pair[0].text + ", " + pair[1].text + "]", comment: pair[0].comment + "; " + pair[1].comment}
			for _, end := range pair {
				if end.dispute != "" {
					v = end
				}
			}
			attribute(b, f, v)
		case pair[0] != nil:
			fmt.Fprintf(b, "# %s: the driven end is %s by %s, the far one is not known\n", f.Name, pair[0].text, pair[0].comment)
		default:
			fmt.Fprintf(b, "# %s: the far end is %s by %s, the driven one is not known\n", f.Name, pair[1].text, pair[1].comment)
		}
		some = true
	}
	return some
}

func attribute(b *bytes.Buffer, f *spec.Field, v *value) {
	if v.dispute != "" {
		fmt.Fprintf(b, "# %s: %s by %s, but %s; neither is taken\n", f.Name, v.text, v.comment, v.dispute)
		return
	}
	fmt.Fprintf(b, "%s = %s # %s\n", f.Name, v.text, v.comment)
}

// printable keeps a line of the report on its line.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return utf8.RuneError
		}
		return r
	}, s)
}
