package spec

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/hashicorp/hcl/v2/hclsyntax"
	"github.com/zclconf/go-cty/cty"

	"trammel/spec/unit"
)

// maxSizes is the number of sizes that are read of one series.
const maxSizes = 5000

// nameColumn is the column that holds the names of the parts.
const nameColumn = "name"

// A column is one column of a series.
type column struct {
	field *Field // nil for the names, and for a column whose cells are not read
	unit  string // what stands behind the bare numbers; "" where each cell has its own
	bad   *Value // what counts for each cell where the column cannot be read
}

// series reads a series block: a table of parts of one kind that share what is
// not in it. Each row goes to add as a part like any other.
func (d *decoder) series(blk *hclsyntax.Block, add func(*Part)) (whole bool) {
	at, name := d.place(blk.LabelRanges[0]), clip(blk.Labels[0])
	of, columns, sizes := theSchema.Series.field("of"), theSchema.Series.field("columns"), theSchema.Series.field("sizes")
	lacks := func(f *Field, what string) {
		d.report("value", at, fmt.Sprintf("write %s = %s", f.Name, f.Example), "series %s %s", name, what)
	}
	a := blk.Body.Attributes["of"]
	if a == nil {
		lacks(of, "does not say what its parts are")
		return false
	}
	kind := d.value(of, a)
	if kind.Bad {
		return false
	}
	s := &seriesReader{decoder: d, kind: kind.Text, shared: make([]*Value, len(theSchema.parts[kind.Text].Fields))}
	var head, rows *hclsyntax.Attribute
	d.entries(blk.Body, theSchema.seriesOf[kind.Word], "a series of "+kind.Text+" parts", func(f *Field, a *hclsyntax.Attribute) {
		switch f {
		case of:
		case columns:
			head = a
		case sizes:
			rows = a
		default:
			v := d.value(f, a)
			v.Origin = OfPart
			s.shared[f.index] = v
		}
	}, nil, s.lose)
	if head == nil {
		lacks(columns, "has no columns")
	}
	if rows == nil {
		lacks(sizes, "has no sizes")
	}
	if head == nil || !s.head(head) || rows == nil {
		return false
	}
	table, ok := rows.Expr.(*hclsyntax.TupleConsExpr)
	if !ok {
		d.report("value", d.place(rows.Expr.Range()), "write sizes = "+sizes.Example, "sizes is a list of rows")
		return false
	}
	for i, row := range table.Exprs {
		if d.full() {
			return false
		}
		if i == maxSizes {
			d.report("value", d.place(row.Range()), "split the series", "more than %d sizes in one series are not read", maxSizes)
			return false
		}
		if p := s.row(row); p != nil {
			add(p)
		}
	}
	return !s.partsLost
}

// lose notes what could not be read of a series: what its parts share, or that
// some may not be there.
func (s *seriesReader) lose(l lost) {
	f := l.field()
	switch {
	case f == nil, l.block:
		s.partsLost, s.unclear = true, l.at
	case f.Name == "of", f.Name == "columns", f.Name == "sizes":
		s.partsLost = true
	case s.shared[f.index] == nil || f.Name == l.name:
		s.shared[f.index] = unreadable(f, l.at, OfPart)
	default:
		s.unclear = l.at
	}
}

// A seriesReader reads the rows of one series.
type seriesReader struct {
	*decoder
	kind      string
	shared    []*Value // by index of the field
	columns   []column
	name      int   // index of the column of names
	partsLost bool  // there may be parts whose names could not be read
	unclear   Place // of a column, or a line, of which cannot be told what it would say; not valid where there is none
}

// head reads the names of the columns. It reports false where rows cannot be
// read without it.
func (s *seriesReader) head(a *hclsyntax.Attribute) bool {
	at := s.place(a.Expr.Range())
	t, ok := a.Expr.(*hclsyntax.TupleConsExpr)
	if !ok {
		s.report("value", at, "write columns = "+theSchema.Series.field("columns").Example, "columns is a list of names in quotes")
		return false
	}
	s.name = -1
	first := map[string]Place{}
	for i, e := range t.Exprs {
		if s.full() {
			return false
		}
		s.columns = append(s.columns, column{})
		x, text, isText, ok := s.literal(e)
		at := s.place(e.Range())
		if !ok {
			s.unclear = at
			continue
		}
		if !isText {
			s.unclear = at
			s.report("value", at, "", "a column is named by a text in quotes, not %s", found(x))
			continue
		}
		name, unitName, _ := strings.Cut(strings.TrimSpace(text), " ")
		unitName = strings.TrimSpace(unitName)
		if before, again := first[name]; again {
			p := s.report("duplicate-name", at, "keep one of the two", "column %s appears twice", clip(name))
			p.Related = []Related{{before, "first declared here"}}
			continue
		}
		first[name] = at
		if name == nameColumn {
			s.name = i
			if unitName != "" {
				s.report("unit", at, `write "name"`, "names have no unit, found %q", clip(unitName))
			}
			continue
		}
		f := theSchema.parts[s.kind].field(name)
		if f == nil {
			names := []string{nameColumn}
			for _, f := range theSchema.parts[s.kind].Fields {
				names = append(names, f.Name)
			}
			s.report("unknown-name", at, didYouMean(name, names), "a %s has no %q to make a column of", s.kind, clip(name))
			if f = theSchema.parts[s.kind].field(nearestOf(name, names)); f == nil || s.shared[f.index] != nil {
				s.unclear = at
				continue
			}
			s.columns[i] = column{field: f, bad: unreadable(f, at, OfPart)}
			continue
		}
		if v := s.shared[f.index]; v != nil {
			p := s.report("duplicate-name", at, "keep one of the two", "%s is a column and is given for all sizes too", name)
			p.Related = []Related{{v.Place, "declared for all sizes here"}}
			s.shared[f.index] = nil
		}
		unitName = f.OfTurn(unitName)
		c := column{field: f, unit: unitName}
		if unitName != "" && !s.unitFits(f, text, unitName, at) {
			c.bad = unreadable(f, at, OfPart)
		}
		s.columns[i] = c
	}
	if s.name < 0 {
		s.report("value", at, `add "name", the names by which axes refer to the parts`, "one column must be the name")
		return false
	}
	return true
}

// unitFits reports whether a column's cells can be in a unit.
func (s *seriesReader) unitFits(f *Field, text, unitName string, at Place) bool {
	if f.Sort != Quantity {
		s.report("unit", at, fmt.Sprintf("write %q", f.Name), "%s takes no unit, found %q", f.Name, clip(unitName))
		return false
	}
	if _, ok := unit.SIOf(1, f.Unit, unitName); ok {
		return true
	}
	_, err := unit.Parse("1 "+unitName, f.Unit)
	var e *unit.Error
	if errors.As(err, &e) {
		e.Text = clip(text)
		s.report("unit", at, "", "the column %v", e)
	} else {
		s.report("unit", at, "give a tolerance in the cells, each with its unit", "the column %q takes a unit and nothing more", clip(text))
	}
	return false
}

// row reads one size; nil where it has no name.
func (s *seriesReader) row(e hclsyntax.Expression) *Part {
	at := s.place(e.Range())
	t, ok := e.(*hclsyntax.TupleConsExpr)
	if !ok {
		s.report("value", at, "", "a size is a list with one value for each column")
		return nil
	}
	fits := len(t.Exprs) == len(s.columns)
	if !fits {
		s.report("value", at, "write null where a size has no value", "this size has %d values, the series has %d columns", len(t.Exprs), len(s.columns))
	}
	var p *Part
	switch {
	case s.name >= len(t.Exprs):
		s.partsLost = true
		return nil // said above
	case isEmpty(t.Exprs[s.name]):
		s.report("value", s.place(t.Exprs[s.name].Range()), "", "this size has no name")
	default:
		p = s.part(t.Exprs[s.name])
	}
	if p == nil {
		p = &Part{values: slices.Clone(s.shared)} // its values are still looked at
	}
	for i, c := range s.columns {
		switch {
		case c.field == nil:
		case !fits:
			// Which value belongs to which column is not known.
			v := s.newValue()
			*v = Value{Field: c.field, Place: at, Origin: OfPart, Bad: true}
			p.values[c.field.index] = v
		case c.bad != nil:
			p.values[c.field.index] = c.bad
		case !isEmpty(t.Exprs[i]):
			p.values[c.field.index] = s.cell(c, t.Exprs[i])
		}
	}
	if p.Name == "" {
		s.partsLost = true
		return nil
	}
	if s.unclear.Valid() {
		loseAll(theSchema.parts[s.kind], p.values, 0, s.unclear)
	}
	return p
}

// part begins a part with the name in a cell; nil where it is none.
func (s *seriesReader) part(e hclsyntax.Expression) *Part {
	c, name, isText, ok := s.literal(e)
	at := s.place(e.Range())
	switch {
	case !ok:
		return nil
	case !isText:
		s.report("value", at, "", "a name is text in quotes, not %s", found(c))
		return nil
	case !isName(name):
		s.report("syntax", at, "", badName, clip(name))
		return nil
	}
	return &Part{Kind: s.kind, Name: name, Place: at, values: slices.Clone(s.shared)}
}

// cell reads one value of a row. Like value it never returns nil.
func (s *seriesReader) cell(c column, e hclsyntax.Expression) *Value {
	v := s.newValue()
	*v = Value{Field: c.field, Place: s.place(e.Range()), Origin: OfPart, Bad: true}
	if c.unit == "" && c.field.Sort != Quantity {
		v.Bad = !s.fill(v, c.field, e)
		return v
	}
	x, text, isText, ok := s.literal(e)
	switch {
	case !ok:
	case c.unit == "" && isText:
		v.Text = c.field.OfTurn(text)
		var read bool
		v.Num, read = s.readQuantity(c.field, v.Text, v.Place)
		v.Bad = !read
	case c.unit == "":
		s.report("unit", v.Place, fmt.Sprintf("name the unit in the column, such as %q, or in each cell, such as %s", c.field.Name+" "+unit.UnitOf(strings.Trim(c.field.Example, `"`)), c.field.Example),
			"%s is %s with a unit; %s has none", c.field.Name, c.field.Unit.WithArticle(), found(x))
	case isText:
		s.report("value", v.Place, "write the number bare; for cells with units of their own take the unit out of the column",
			"%s is in %s, as its column says, found the text %q", c.field.Name, clip(c.unit), clip(text))
	default:
		n, fine := asNumber(x)
		if !fine {
			s.report("value", v.Place, "", "%s is a number in %s, not %s", c.field.Name, clip(c.unit), found(x))
			break
		}
		v.Text, v.column = trimNumber(n)+" "+c.unit, c.unit
		var read bool
		v.Num, read = s.readQuantity(c.field, v.Text, v.Place)
		v.Bad = !read
	}
	return v
}

// isEmpty reports whether a cell says nothing: null, or a text without a
// character.
func isEmpty(e hclsyntax.Expression) bool {
	if t, is := e.(*hclsyntax.TemplateExpr); is && len(t.Parts) == 1 {
		e, is = t.Parts[0].(*hclsyntax.LiteralValueExpr)
		if !is {
			return false
		}
	} else if is && len(t.Parts) == 0 {
		return true
	}
	l, is := e.(*hclsyntax.LiteralValueExpr)
	return is && (l.Val.IsNull() || l.Val.IsKnown() && l.Val.Type() == cty.String && l.Val.AsString() == "")
}
