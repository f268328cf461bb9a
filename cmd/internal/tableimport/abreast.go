package tableimport

import (
	"fmt"
	"slices"
	"strings"
)

// A row of some tables holds several axes side by side: "X stroke", "Y stroke", or a title
// "X axis" above the columns of that axis. A mapping reads one axis from a row, so each axis
// has a mapping of its own.

// axisIn is the letter of an axis among the words of a header, and the others; "" where
// there is none. Only x, y and z with a number count: other letters are symbols too.
func (l *lexicon) axisIn(words []string) (letter string, rest []string) {
	for _, w := range words {
		switch {
		case letter == "" && len(w) <= 2 && strings.ContainsAny(w[:1], "xyz") && strings.Trim(w[1:], "123456789") == "":
			letter = w
		case l.headers[w].name != "=axis":
			rest = append(rest, w)
		}
	}
	if letter == "" {
		return "", words
	}
	return letter, rest
}

// axisTitle is the axis that a title above headers names, and nothing else.
func (l *lexicon) axisTitle(text string) string {
	if letter, rest := l.axisIn(tokensOf(text)); len(rest) == 0 {
		return letter
	}
	return ""
}

// axes lists the axes that columns with a field name.
func (p *proposal) axes() []string {
	var list []string
	for _, c := range p.columns {
		if a := c.text.axis; a != "" && c.means.field != nil && !slices.Contains(list, a) {
			list = append(list, a)
		}
	}
	slices.Sort(list)
	return list
}

// each gives the proposals of a table: one, or where several axes stand side by side, one
// for each of them.
func (p *proposal) each() []*proposal {
	axes := p.axes()
	if len(axes) < 2 {
		return []*proposal{p}
	}
	var out []*proposal
	for _, axis := range axes {
		out = append(out, p.only(axis, axes))
	}
	return out
}

// only leaves out the columns of other axes, and those that name none where one of the axis
// means the same.
func (p *proposal) only(axis string, axes []string) *proposal {
	q := *p
	q.m = &Mapping{Sheet: p.m.Sheet, Turned: p.m.Turned, unknown: map[string]bool{}, units: map[string]string{}}
	q.axis, q.beside, q.columns = axis, axes, nil
	own := map[string]bool{}
	for _, c := range p.columns {
		if c.text.axis == axis {
			own[c.key()] = true
		}
	}
	for _, c := range p.columns {
		d := *c
		switch {
		case c.means.field == nil:
		case c.text.axis != "" && c.text.axis != axis:
			d.means, d.why = meaning{}, "belongs to axis "+strings.ToUpper(c.text.axis)
		case c.text.axis == "" && own[axis+" "+c.key()]:
			d.means, d.why = meaning{}, fmt.Sprintf("names no axis; another column names %s", strings.ToUpper(axis))
		}
		q.columns = append(q.columns, &d)
	}
	return &q
}

// mapFile is the file of a proposal's mapping.
func (p *proposal) mapFile(file string) string {
	if p.axis == "" {
		return file
	}
	return strings.TrimSuffix(file, MapSuffix) + "." + p.axis + MapSuffix
}
