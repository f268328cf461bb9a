package tableimport

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
	"github.com/zclconf/go-cty/cty"

	"trammel/spec"
	"trammel/spec/unit"
)

// MapSuffix ends the name of a mapping file.
const MapSuffix = ".map.hcl"

// Bounds on a mapping file, far above any honest one: its parser is recursive.
const (
	maxMapping   = 256 << 10
	maxNesting   = 16
	maxOperators = 500
	maxEntries   = 2000
	maxProblems  = 50
)

// A Mapping says what the columns of a table mean.
type Mapping struct {
	Name      string // of its file
	Sheet     string // "" for the first one
	HeaderRow int    // 0: the first row that is not empty
	FirstRow  int    // of the axes; 0: the one below the headers
	LastRow   int    // of the axes; 0: the last of the table
	Turned    bool   // each column is an axis: rows and columns change places
	Separator rune   // 0: to be detected
	Decimal   decimal
	unknown   map[string]bool   // further words for what is not known, folded
	above     map[string]bool   // words for the cell above, folded
	fillDown  []title           // columns in which an empty cell repeats the one above
	returns   [][2]string       // a move, and the one that goes back from it
	units     map[string]string // spelling in the table: unit
	folder    *template         // nil: the output folder itself
	file      *template         // nil: as the axis
	axis      *template
	moves     *template // nil: a row is an axis, not a move of one
	columns   []*column
	says      []*say
}

// A column says what one column of the table feeds.
type column struct {
	title   string
	place   spec.Place
	field   *spec.Field
	move    string // the move it belongs to; "" for a field of the axis, or where rows are moves
	end     int    // of a field with two ends: 0 driven, 1 far
	unit    string
	words   map[string]string // cell, folded: what it means
	decimal decimal
}

// A title names a column.
type title struct {
	text  string
	place spec.Place
}

// A say is a value that stands in the mapping, not in the table.
type say struct {
	place spec.Place
	field *spec.Field
	move  string
	value value
}

// A template makes a name out of cells: "{Plant}/{Machine}".
type template struct {
	text  string
	place spec.Place
	parts []templatePart
}

type templatePart struct {
	text   string
	column bool // text is the title of a column
}

// writable are the fields an axis file can hold, by path.
func writable() map[string]*spec.Field {
	fields := map[string]*spec.Field{}
	axis := spec.Language().Axis
	for _, f := range axis.Fields {
		fields[f.Path] = f
	}
	for _, b := range axis.Blocks {
		if b.Name == "waive" {
			continue
		}
		for _, f := range b.Fields {
			fields[f.Path] = f
		}
		for _, inner := range b.Blocks {
			for _, f := range inner.Fields {
				fields[f.Path] = f
			}
		}
	}
	return fields
}

func isMove(f *spec.Field) bool { return strings.HasPrefix(f.Path, "motion.move.") }

// ReadMapping reads a mapping file. Where it returns problems the mapping is
// not to be used.
func ReadMapping(name string, src []byte) (*Mapping, []spec.Problem) {
	r := &mappingReader{name: name, m: &Mapping{Name: name, unknown: map[string]bool{}, above: map[string]bool{}, units: map[string]string{}}, fields: writable()}
	if r.screen(src) {
		f, diags := hclsyntax.ParseConfig(src, name, hcl.InitialPos)
		for _, d := range diags {
			if d.Severity == hcl.DiagError && d.Subject != nil {
				r.report(r.at(*d.Subject), "", "%s", lower(d.Summary)+": "+d.Detail)
			}
		}
		if body, ok := f.Body.(*hclsyntax.Body); ok && len(r.problems) == 0 {
			r.read(body)
		}
	}
	list := spec.SortProblems(r.problems)
	return r.m, list[:min(len(list), maxProblems)]
}

func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

type mappingReader struct {
	name     string
	m        *Mapping
	fields   map[string]*spec.Field
	problems []spec.Problem
}

func (r *mappingReader) at(g hcl.Range) spec.Place {
	return spec.Place{File: r.name, Line: int32(g.Start.Line), Col: int32(g.Start.Column), EndLine: int32(g.End.Line), EndCol: int32(g.End.Column), Byte: int32(g.Start.Byte), EndByte: int32(max(g.Start.Byte, g.End.Byte))}
}

func (r *mappingReader) report(at spec.Place, help, format string, args ...any) {
	r.problems = append(r.problems, spec.Problem{Rule: "mapping", Place: at, Message: fmt.Sprintf(format, args...), Help: help})
}

// screen refuses what must not reach the parser.
func (r *mappingReader) screen(src []byte) bool {
	top := spec.Place{File: r.name, Line: 1, Col: 1, EndLine: 1, EndCol: 1}
	if len(src) > maxMapping {
		r.report(top, "", "the mapping is larger than %d KB, the limit", maxMapping>>10)
		return false
	}
	if !validText(src) {
		r.report(top, "save it as UTF-8", "the mapping is not UTF-8 text")
		return false
	}
	tokens, _ := hclsyntax.LexConfig(src, r.name, hcl.InitialPos)
	depth, operators := 0, 0
	for _, t := range tokens {
		switch t.Type {
		case hclsyntax.TokenOBrace, hclsyntax.TokenOBrack, hclsyntax.TokenOParen, hclsyntax.TokenTemplateInterp, hclsyntax.TokenTemplateControl:
			depth++
		case hclsyntax.TokenCBrace, hclsyntax.TokenCBrack, hclsyntax.TokenCParen, hclsyntax.TokenTemplateSeqEnd:
			depth--
		case hclsyntax.TokenIdent, hclsyntax.TokenEqual, hclsyntax.TokenNewline, hclsyntax.TokenComment, hclsyntax.TokenOQuote, hclsyntax.TokenCQuote,
			hclsyntax.TokenQuotedLit, hclsyntax.TokenStringLit, hclsyntax.TokenComma, hclsyntax.TokenOHeredoc, hclsyntax.TokenCHeredoc, hclsyntax.TokenEOF:
		case hclsyntax.TokenNumberLit:
			if len(t.Bytes) > 100 { // its exponent, or its length, costs time
				r.report(r.at(t.Range), "", "this number is too long")
				return false
			}
		default:
			operators++
		}
		if depth > maxNesting || operators > maxOperators {
			r.report(r.at(t.Range), "", "the mapping is nested too deeply or contains invalid characters")
			return false
		}
	}
	return true
}

var topNames = []string{"sheet", "header_row", "first_row", "last_row", "transposed", "separator", "decimal", "unknown", "as_above", "fill_down", "returns", "units", "folder", "file", "axis", "moves", "column", "say"}

func (r *mappingReader) read(body *hclsyntax.Body) {
	if len(body.Attributes)+len(body.Blocks) > maxEntries {
		r.report(r.at(body.Range()), "", "the mapping has more than %d entries, the limit", maxEntries)
		return
	}
	m := r.m
	for name, a := range body.Attributes {
		at := r.at(a.Expr.Range())
		switch name {
		case "sheet":
			m.Sheet, _ = r.text(a.Expr, name)
		case "header_row":
			m.HeaderRow = r.count(a.Expr, name)
		case "first_row":
			m.FirstRow = r.count(a.Expr, name)
		case "last_row":
			m.LastRow = r.count(a.Expr, name)
		case "transposed":
			m.Turned = r.flag(a.Expr, name)
		case "separator":
			s, ok := r.text(a.Expr, name)
			switch {
			case !ok:
			case s == "," || s == ";" || s == "\t":
				m.Separator = rune(s[0])
			case s == "tab":
				m.Separator = '\t'
			default:
				r.report(at, "", `separator cannot be %q; write ",", ";" or "tab"`, clip(s))
			}
		case "decimal":
			m.Decimal = r.decimal(a.Expr)
		case "unknown":
			for _, w := range r.list(a.Expr, name) {
				m.unknown[fold(w)] = true
			}
		case "as_above":
			for _, w := range r.list(a.Expr, name) {
				if fold(w) == "" {
					r.report(at, `name the columns whose empty cells repeat the one above: fill_down = ["Machine"]`, "an empty cell means not known; as_above cannot give it a value")
				}
				m.above[fold(w)] = true
			}
		case "fill_down":
			for _, w := range r.list(a.Expr, name) {
				m.fillDown = append(m.fillDown, title{w, at})
			}
		case "returns":
			m.returns = r.pairs(a.Expr, name)
			for _, p := range m.returns {
				r.moveName(p[0], at)
				r.moveName(p[1], at)
				if p[0] == p[1] {
					r.report(at, "", "move %q cannot return from itself", clip(p[0]))
				}
			}
		case "units":
			for _, p := range r.pairs(a.Expr, name) {
				m.units[strings.TrimSpace(p[0])] = strings.TrimSpace(p[1])
			}
		case "folder":
			m.folder = r.template(a.Expr, name)
		case "file":
			m.file = r.template(a.Expr, name)
		case "axis":
			m.axis = r.template(a.Expr, name)
		case "moves":
			m.moves = r.template(a.Expr, name)
		default:
			r.report(r.at(a.NameRange), didYouMean(name, topNames), "a mapping has no %q", clip(name))
		}
	}
	for _, t := range []*template{m.file, m.axis, m.moves} {
		if t != nil && !slices.ContainsFunc(t.parts, func(p templatePart) bool { return p.column }) {
			r.report(t.place, "put the title of a column in braces", "the name %q is the same for every row; take it from a column", clip(t.text))
		}
	}
	if m.axis == nil {
		r.report(spec.Place{File: r.name, Line: 1, Col: 1, EndLine: 1, EndCol: 1}, `write axis = "{Title of the column}"`, "the mapping does not say which column holds the name of the axis")
	}
	for _, b := range body.Blocks {
		at := r.at(b.TypeRange)
		if b.Type != "column" && b.Type != "say" {
			r.report(at, didYouMean(b.Type, topNames), "a mapping has no block %q", clip(b.Type))
			continue
		}
		if len(b.Labels) != 1 || strings.TrimSpace(b.Labels[0]) == "" {
			r.report(at, "", `%s takes one name: column "Title" { … } or say "field.path" { … }`, b.Type)
			continue
		}
		for _, inner := range b.Body.Blocks {
			r.report(r.at(inner.TypeRange), "", "%s takes only attributes; found block %q", b.Type, clip(inner.Type))
		}
		if b.Type == "column" {
			r.column(b)
		} else {
			r.say(b)
		}
	}
	if m.returns != nil && m.moves != nil {
		r.report(spec.Place{File: r.name, Line: 1, Col: 1, EndLine: 1, EndCol: 1}, "", "each row is a move (moves); returns cannot add one")
	}
	if m.FirstRow != 0 && m.FirstRow <= m.HeaderRow || m.LastRow != 0 && m.LastRow < max(m.FirstRow, m.HeaderRow+1) {
		r.report(spec.Place{File: r.name, Line: 1, Col: 1, EndLine: 1, EndCol: 1}, "", "header_row, first_row and last_row must follow each other in this order")
	}
	if len(m.columns) == 0 && len(r.problems) == 0 {
		r.report(spec.Place{File: r.name, Line: 1, Col: 1, EndLine: 1, EndCol: 1}, "", "the mapping has no column")
	}
}

var columnNames = []string{"field", "move", "end", "unit", "words", "decimal"}

func (r *mappingReader) column(b *hclsyntax.Block) {
	c := &column{title: b.Labels[0], place: r.at(b.LabelRanges[0])}
	end := ""
	var endAt, unitAt, wordsAt spec.Place
	for name, a := range b.Body.Attributes {
		switch name {
		case "field":
			c.field = r.field(a.Expr)
		case "move":
			c.move, _ = r.text(a.Expr, name)
			r.moveName(c.move, r.at(a.Expr.Range()))
		case "end":
			end, _ = r.text(a.Expr, name)
			endAt = r.at(a.Expr.Range())
		case "unit":
			c.unit, _ = r.text(a.Expr, name)
			c.unit = strings.TrimSpace(c.unit)
			unitAt = r.at(a.Expr.Range())
		case "words":
			c.words = map[string]string{}
			wordsAt = r.at(a.Expr.Range())
			for _, p := range r.pairs(a.Expr, name) {
				if fold(p[0]) == "" {
					r.report(wordsAt, "", "an empty cell means not known; words cannot give it a value")
				}
				c.words[fold(p[0])] = p[1]
			}
		case "decimal":
			c.decimal = r.decimal(a.Expr)
		default:
			r.report(r.at(a.NameRange), didYouMean(name, columnNames), "a column has no %q", clip(name))
		}
	}
	f := c.field
	if f == nil {
		if b.Body.Attributes["field"] == nil {
			r.report(c.place, `write field = "load.mass", or leave the column out`, "column %q names no field", clip(c.title))
		}
		return
	}
	r.checkMove(f, c.move, c.place)
	switch {
	case f.Pair && end == "driven":
	case f.Pair && end == "far":
		c.end = 1
	case f.Pair:
		r.report(c.place, `write end = "driven" or end = "far"`, "%s has two ends; column %q does not say which", f.Path, clip(c.title))
	case end != "":
		r.report(endAt, "", "%s has no ends", f.Path)
	}
	if c.unit = f.OfTurn(c.unit); c.unit != "" {
		switch f.Sort {
		case spec.Quantity:
			if _, err := unit.Parse("1 "+c.unit, f.Unit); err != nil {
				r.report(unitAt, "", "%s is %s: %v", f.Path, f.Unit.WithArticle(), err)
			}
		case spec.Number: // what may stand behind the number
		default:
			r.report(unitAt, "", "%s takes no unit", f.Path)
		}
	}
	// A translation that cannot be read would fail in each row anew.
	for _, cell := range slices.Sorted(mapKeys(c.words)) {
		if v, why := r.m.literal(f, c.words[cell], c.unit); why != "" {
			r.report(wordsAt, "", "%q means %q: %s", clip(cell), clip(c.words[cell]), why)
		} else if v == nil {
			delete(c.words, cell)
		}
	}
	r.m.columns = append(r.m.columns, c)
}

func (r *mappingReader) checkMove(f *spec.Field, move string, at spec.Place) {
	switch {
	case isMove(f) && move == "" && r.m.moves == nil:
		r.report(at, `write move = "out", or moves = "{Title}" at the top where each row is a move`, "%s belongs to a move, but the column names none", f.Path)
	case isMove(f) && move != "" && r.m.moves != nil:
		r.report(at, "", "each row is a move (moves); %s cannot name one", f.Path)
	case !isMove(f) && move != "":
		r.report(at, "", "%s is not a field of a move", f.Path)
	}
}

func (r *mappingReader) moveName(s string, at spec.Place) {
	if s != safeName(s) {
		r.report(at, "", "%q cannot be the name of a move: letters, digits and . _ + - only", clip(s))
	}
}

func (r *mappingReader) say(b *hclsyntax.Block) {
	at := r.at(b.LabelRanges[0])
	s := &say{place: at, field: r.find(b.Labels[0], at)}
	text, because := "", ""
	for name, a := range b.Body.Attributes {
		switch name {
		case "value":
			text, _ = r.text(a.Expr, name)
		case "because":
			because, _ = r.text(a.Expr, name)
		case "move":
			s.move, _ = r.text(a.Expr, name)
			r.moveName(s.move, r.at(a.Expr.Range()))
		default:
			r.report(r.at(a.NameRange), didYouMean(name, []string{"value", "because", "move"}), "say has no %q", clip(name))
		}
	}
	if s.field == nil {
		return
	}
	if strings.TrimSpace(because) == "" {
		r.report(at, `write because = "…"`, "say needs a reason, because %s is not from the table", s.field.Path)
	}
	r.checkMove(s.field, s.move, at)
	if s.field.Pair {
		r.report(at, "", "%s has two ends and cannot be set with say", s.field.Path)
		return
	}
	v, why := r.m.literal(s.field, text, "")
	if why == "" && v == nil {
		why = "it has no value"
	}
	if why != "" {
		r.report(at, "", "%s: %s", s.field.Path, why)
		return
	}
	s.value = *v
	s.value.comment = "not from the table; from " + comment(r.m.Name) + ": " + comment(because)
	for _, o := range r.m.says {
		if o.field == s.field && o.move == s.move {
			r.report(at, "", "%s is set twice", s.field.Path)
		}
	}
	r.m.says = append(r.m.says, s)
}

func (r *mappingReader) field(e hclsyntax.Expression) *spec.Field {
	path, ok := r.text(e, "field")
	if !ok {
		return nil
	}
	return r.find(path, r.at(e.Range()))
}

func (r *mappingReader) find(path string, at spec.Place) *spec.Field {
	f := r.fields[path]
	if f == nil {
		if spec.Language().FieldAt(path) != nil {
			r.report(at, "map the column with the part's name to the field that refers to it, and declare the part in a parts file", "%s is a field of a part, not of an axis", clip(path))
			return nil
		}
		r.report(at, didYouMean(path, slices.Sorted(mapKeys(r.fields))), "an axis has no field %q", clip(path))
		return nil
	}
	if f.Sort == spec.AxisRefs {
		r.report(at, "write it into the files by hand", "%s cannot come from a table", path)
		return nil
	}
	return f
}

// text reads text in quotes. Nothing in a mapping is computed.
func (r *mappingReader) text(e hclsyntax.Expression, name string) (string, bool) {
	switch x := e.(type) {
	case *hclsyntax.TemplateExpr:
		if len(x.Parts) == 0 {
			return "", true
		}
		if l, ok := x.Parts[0].(*hclsyntax.LiteralValueExpr); ok && len(x.Parts) == 1 && l.Val.Type() == cty.String {
			return l.Val.AsString(), true
		}
	}
	r.report(r.at(e.Range()), "", "%s must be text in quotes", name)
	return "", false
}

func (r *mappingReader) count(e hclsyntax.Expression, name string) int {
	if l, ok := e.(*hclsyntax.LiteralValueExpr); ok && l.Val.Type() == cty.Number && !l.Val.IsNull() {
		if n, acc := l.Val.AsBigFloat().Int64(); acc == big.Exact && n >= 1 && n <= 1<<20 {
			return int(n)
		}
	}
	r.report(r.at(e.Range()), "", "%s must be a row number from 1", name)
	return 0
}

func (r *mappingReader) flag(e hclsyntax.Expression, name string) bool {
	if l, ok := e.(*hclsyntax.LiteralValueExpr); ok && l.Val.Type() == cty.Bool && !l.Val.IsNull() {
		return l.Val.True()
	}
	r.report(r.at(e.Range()), "", "%s must be true or false", name)
	return false
}

func (r *mappingReader) decimal(e hclsyntax.Expression) decimal {
	s, ok := r.text(e, "decimal")
	switch {
	case s == "comma":
		return comma
	case s == "point":
		return point
	case ok:
		r.report(r.at(e.Range()), "", `decimal cannot be %q; write "comma" or "point"`, clip(s))
	}
	return undecided
}

func (r *mappingReader) list(e hclsyntax.Expression, name string) []string {
	t, ok := e.(*hclsyntax.TupleConsExpr)
	if !ok {
		r.report(r.at(e.Range()), "", "%s must be a list of texts", name)
		return nil
	}
	var out []string
	for _, x := range t.Exprs {
		if s, ok := r.text(x, name); ok {
			out = append(out, s)
		}
	}
	return out
}

// pairs reads { H = "horizontal", "V 1" = "vertical" }.
func (r *mappingReader) pairs(e hclsyntax.Expression, name string) [][2]string {
	o, ok := e.(*hclsyntax.ObjectConsExpr)
	if !ok {
		r.report(r.at(e.Range()), "", `%s must be written as { "in the table" = "meaning" }`, name)
		return nil
	}
	var out [][2]string
	seen := map[string]bool{}
	for _, item := range o.Items {
		key, ok := item.KeyExpr.(*hclsyntax.ObjectConsKeyExpr)
		if !ok {
			continue
		}
		k := hcl.ExprAsKeyword(key.Wrapped)
		if k == "" {
			if k, ok = r.text(key.Wrapped, name); !ok {
				continue
			}
		}
		if seen[k] {
			r.report(r.at(key.Range()), "", "%q is given twice", clip(k))
		}
		seen[k] = true
		if v, ok := r.text(item.ValueExpr, name); ok {
			out = append(out, [2]string{k, v})
		}
	}
	return out
}

func (r *mappingReader) template(e hclsyntax.Expression, name string) *template {
	s, ok := r.text(e, name)
	if !ok {
		return nil
	}
	t := &template{text: s, place: r.at(e.Range())}
	for rest := s; rest != ""; {
		before, after, open := strings.Cut(rest, "{")
		if strings.Contains(before, "}") || open && !strings.Contains(after, "}") {
			r.report(t.place, "", "the braces in %q do not match", clip(s))
			return nil
		}
		if before != "" {
			t.parts = append(t.parts, templatePart{text: before})
		}
		if !open {
			break
		}
		var title string
		title, rest, _ = strings.Cut(after, "}")
		if fold(title) == "" {
			r.report(t.place, "", "the braces in %q contain no title", clip(s))
			return nil
		}
		t.parts = append(t.parts, templatePart{title, true})
	}
	return t
}

func didYouMean(name string, names []string) string {
	if n := spec.Nearest(name, names); n != "" {
		return "did you mean " + n + "?"
	}
	if len(names) <= 12 {
		return "available here: " + strings.Join(names, ", ")
	}
	return ""
}
