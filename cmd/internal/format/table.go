package format

import (
	"bytes"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
	"github.com/zclconf/go-cty/cty"

	"trammel/spec"
)

// tables aligns the columns of the series in a text that is laid out so far:
// numbers to the right, all else to the left. A row that is more than its cells
// on a line of its own, with a comment behind it at most, stays as it is.
func tables(text []byte) []byte {
	if !bytes.Contains(text, []byte("series")) {
		return text
	}
	f, _ := hclsyntax.ParseConfig(text, "", hcl.InitialPos)
	if f == nil {
		return text
	}
	var out []byte
	done := 0 // of text
	for _, b := range f.Body.(*hclsyntax.Body).Blocks {
		sizes := b.Body.Attributes["sizes"]
		if b.Type != "series" || sizes == nil {
			continue
		}
		list, ok := sizes.Expr.(*hclsyntax.TupleConsExpr)
		if !ok {
			continue
		}
		var rows []*row
		for _, e := range list.Exprs {
			if r := rowOf(text, e); r != nil && (rows == nil || len(r.cells) == len(rows[0].cells)) {
				rows = append(rows, r)
			}
		}
		columns := measure(rows)
		width := 0
		for _, c := range columns {
			width += c.width + len(", ")
		}
		if width*len(rows) > spec.MaxFileSize {
			continue // aligned it could not be read again
		}
		for _, r := range rows {
			out = append(out, text[done:r.from]...)
			out = r.write(out, columns)
			done = r.to
		}
	}
	return append(out, text[done:]...)
}

// A row is one size of a series on a line of its own.
type row struct {
	cells    []cell
	from, to int // of its brackets, with the comma and the spaces before a comment
	comma    bool
	comment  bool
}

type cell struct {
	text   []byte
	width  int // in characters as a person sees them
	number bool
	null   bool
}

// rowOf reads a row; nil where it has another form.
func rowOf(text []byte, e hclsyntax.Expression) *row {
	t, ok := e.(*hclsyntax.TupleConsExpr)
	if !ok || len(t.Exprs) == 0 || t.SrcRange.Start.Line != t.SrcRange.End.Line {
		return nil
	}
	r := &row{from: t.SrcRange.Start.Byte, to: t.SrcRange.End.Byte}
	start := bytes.LastIndexByte(text[:r.from], '\n') + 1
	if len(bytes.TrimLeft(text[start:r.from], " ")) > 0 {
		return nil
	}
	// between reports whether only a sign and spaces stand between two places.
	between := func(from, to int, sign string) bool {
		return from <= to && string(bytes.Trim(text[from:to], " ")) == sign
	}
	at, sign := r.from, "["
	for _, x := range t.Exprs {
		g := x.Range()
		if !between(at, g.Start.Byte, sign) {
			return nil
		}
		c := cell{text: text[g.Start.Byte:g.End.Byte], width: g.End.Column - g.Start.Column}
		if u, is := x.(*hclsyntax.UnaryOpExpr); is && u.Op == hclsyntax.OpNegate {
			x = u.Val
		}
		if l, is := x.(*hclsyntax.LiteralValueExpr); is {
			c.null = l.Val.IsNull()
			c.number = !c.null && l.Val.Type() == cty.Number
		}
		r.cells = append(r.cells, c)
		at, sign = g.End.Byte, ","
	}
	if !between(at, r.to, "]") {
		return nil
	}
	line := text[r.to:]
	if i := bytes.IndexByte(line, '\n'); i >= 0 {
		line = line[:i]
	}
	rest := bytes.TrimLeft(line, " ")
	if r.comma = bytes.HasPrefix(rest, []byte(",")); r.comma {
		rest = bytes.TrimLeft(rest[1:], " ")
	}
	r.comment = bytes.HasPrefix(rest, []byte("#")) || bytes.HasPrefix(rest, []byte("//"))
	if len(rest) > 0 && !r.comment {
		return nil
	}
	r.to += len(line) - len(rest)
	return r
}

// A column is how wide the cells of one column are written.
type column struct {
	width int
	right bool
}

func measure(rows []*row) []column {
	if len(rows) == 0 {
		return nil
	}
	columns := make([]column, len(rows[0].cells))
	for i := range columns {
		c := &columns[i]
		left := false
		for _, r := range rows {
			c.width = max(c.width, r.cells[i].width)
			c.right = c.right || r.cells[i].number
			left = left || !r.cells[i].number && !r.cells[i].null
		}
		c.right = c.right && !left
	}
	return columns
}

func (r *row) write(out []byte, columns []column) []byte {
	pad := func(n int) { out = append(out, bytes.Repeat([]byte(" "), n)...) }
	out = append(out, '[')
	late := 0 // spaces due behind the last cell
	for i, c := range r.cells {
		if i > 0 {
			out = append(out, ',')
			pad(late + 1)
		}
		late = columns[i].width - c.width
		if columns[i].right {
			pad(late)
			late = 0
		}
		out = append(out, c.text...)
	}
	out = append(out, ']')
	if r.comma {
		out = append(out, ',')
	}
	if r.comment {
		pad(late + 1)
		if !r.comma {
			pad(1)
		}
	}
	return out
}
