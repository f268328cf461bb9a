package tableimport

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/format"
	"trammel/cmd/internal/sanitize"
	"trammel/spec"
	"trammel/spec/unit"
)

// Bounds on what a proposal looks at.
const (
	maxLooked      = 5000 // rows
	maxLookedWidth = 300  // columns
	maxTop         = 40   // rows in which the headers are looked for
)

// A proposal is a mapping in the making: what can be told of a table from its headers and
// cells. It decides nothing that is not shown in it.
type proposal struct {
	lex     *lexicon
	base    string // name of the table's file
	form    string
	sheet   string
	turned  bool
	rows    []*row // without blank ones
	cut     bool   // the table goes on
	header  int    // row numbers; 0: there is none
	titles  int
	units   int
	first   int
	last    int
	columns []*proposed
	score   int
	m       *Mapping // units and words that are found, for reading cells
	decimal decimal
	moves   []string
	axis    string   // the one that is read, where several stand side by side
	beside  []string // all of them
}

// A proposed is one column of a proposal.
type proposed struct {
	index  int
	header string // in the row of the headers; "" where it stands above
	title  string // above it, or above one further left
	beside bool   // further left
	means  meaning
	text   headerText
	unit   string // that the mapping must give
	why    string // why it is left out, or what is missing
	words  [][2]string
	open   []string // cells that have to be translated
}

// propose finds out what can be told of a table, for each axis that a row holds.
func propose(ctx context.Context, opt Options, lex *lexicon) ([]*proposal, error) {
	p, err := bestProposal(ctx, opt, lex)
	if err != nil {
		return nil, err
	}
	list := p.each()
	for _, p := range list {
		p.understand()
	}
	return list, nil
}

// bestProposal looks at each sheet as it is and turned, and takes where most headers are
// known.
func bestProposal(ctx context.Context, opt Options, lex *lexicon) (*proposal, error) {
	t, err := openTable(opt.Table, &Mapping{}, opt.trees()...)
	if err != nil {
		return nil, err
	}
	sheets := []string{""}
	if w, ok := t.(*workbook); ok {
		sheets = w.names
	}
	t.close()
	var best *proposal
	for _, sheet := range sheets[:min(len(sheets), 20)] {
		for _, turnedRound := range []bool{false, true} {
			p, err := look(ctx, opt, lex, sheet, turnedRound)
			if err != nil {
				return nil, err
			}
			if p != nil && (best == nil || p.score > best.score) {
				best = p
			}
		}
	}
	if best == nil {
		return nil, errors.New("no row and no column with headers was found: two or more must be known. --words FILE adds words to the known ones; docs/adopt.md says how a mapping is written by hand")
	}
	return best, nil
}

// look reads one sheet and finds its headers; nil where there are none.
func look(ctx context.Context, opt Options, lex *lexicon, sheet string, turnedRound bool) (*proposal, error) {
	m := &Mapping{Sheet: sheet, Turned: turnedRound, unknown: map[string]bool{}, units: map[string]string{}}
	t, err := openTable(opt.Table, m, opt.trees()...)
	if err != nil {
		return nil, err
	}
	defer t.close()
	p := &proposal{lex: lex, base: filepath.Base(opt.Table), form: t.form(), sheet: t.sheet(), turned: turnedRound, m: m}
	err = t.rows(ctx, func(r *row) error {
		if len(p.rows) == maxLooked {
			p.cut = true
			return errStop
		}
		if r.trouble == "" && !blank(r) {
			kept := &row{number: r.number}
			for i := range min(r.width(), maxLookedWidth) {
				kept.cells = append(kept.cells, r.cell(i))
			}
			p.rows = append(p.rows, kept)
		}
		return nil
	})
	if err != nil && err != errStop {
		if turnedRound {
			return nil, nil // too large to be turned
		}
		return nil, err
	}
	if !p.findHeaders() {
		return nil, nil
	}
	return p, nil
}

// findHeaders takes the row that holds most headers that are known.
func (p *proposal) findHeaders() bool {
	best := -1
	for i := range p.rows[:min(len(p.rows), maxTop)] {
		if columns, score := p.headersAt(i); score > p.score && score >= 2 {
			best, p.columns, p.score = i, columns, score
		}
	}
	if best < 0 {
		return false
	}
	p.header = p.rows[best].number
	if slices.ContainsFunc(p.columns, func(c *proposed) bool { return c.title != "" }) {
		p.titles = p.rows[best-1].number
	}
	p.findData(best + 1)
	return p.first != 0 // headers alone are no table
}

// headersAt reads a row as headers, with the row above as their titles where it has any.
func (p *proposal) headersAt(i int) ([]*proposed, int) {
	r := p.rows[i]
	var above *row
	if i > 0 && p.rows[i-1].number == r.number-1 && p.isTitles(p.rows[i-1]) {
		above = p.rows[i-1]
	}
	var out []*proposed
	seen := map[string]bool{}
	score, title := 0, ""
	width := r.width()
	if above != nil {
		width = max(width, above.width())
	}
	for k := range width {
		c := &proposed{index: k, header: oneLine(r.cell(k).text)}
		if above != nil {
			if t := oneLine(above.cell(k).text); t != "" {
				title = t
			} else {
				c.beside = true
			}
			c.title = title
		}
		if text := cmp.Or(c.header, c.title); text != "" && !(c.header == "" && c.beside) {
			if c.header == "" {
				c.means, c.text = p.lex.header(text, "", false)
			} else {
				c.means, c.text = p.lex.header(text, c.title, c.beside)
			}
		}
		if key := c.key(); key != "" && !seen[key] {
			seen[key] = true
			score++
		}
		out = append(out, c)
	}
	return out, score
}

// isTitles reports a row of titles above headers: several texts that are no numbers, one of
// which at least is known as such.
func (p *proposal) isTitles(r *row) bool {
	texts, known := 0, 0
	for i := range r.width() {
		t := oneLine(r.cell(i).text)
		if t == "" {
			continue
		}
		texts++
		name := keyOf(p.lex.takeApart(t).name)
		if p.lex.groups[name] != "" || p.lex.headers[name] != (meaning{}) || p.lex.axisTitle(t) != "" {
			known++
		}
	}
	return texts >= 2 && known >= 1
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// key tells what a column means, with the move; "" where that is not known.
func (c *proposed) key() string {
	if c.means.field == nil {
		return c.means.name
	}
	key := c.means.field.Path + " " + strings.Join(c.text.moves, " ")
	if c.text.axis != "" {
		return c.text.axis + " " + key
	}
	return key
}

// findData finds the row of units and the first and last row of axes.
func (p *proposal) findData(from int) {
	if from < len(p.rows) && p.isUnits(p.rows[from]) {
		p.units = p.rows[from].number
		from++
	}
	for from < len(p.rows) && !p.isAxis(p.rows[from]) {
		from++
	}
	if from == len(p.rows) {
		return
	}
	p.first = p.rows[from].number
	to := len(p.rows) - 1
	for to > from && !p.isAxis(p.rows[to]) {
		to--
	}
	p.last = p.rows[to].number
}

// isUnits reports a row of units.
func (p *proposal) isUnits(r *row) bool {
	units, texts := 0, 0
	for i := range r.width() {
		t := oneLine(r.cell(i).text)
		switch {
		case r.cell(i).number:
			return false
		case t == "" || t == "-" || t == "–":
		case p.lex.unitIn(t) != "":
			units++
			texts++
		default:
			texts++
		}
	}
	return units >= 2 && units*2 >= texts
}

// isAxis reports a row that says something of two fields, and is no total.
func (p *proposal) isAxis(r *row) bool {
	n := 0
	for i := range r.width() {
		if t := r.cell(i).text; oneLine(t) != "" {
			if n == 0 && p.lex.totals[strings.TrimRight(fold(t), ":")] {
				return false
			}
			n++
		}
	}
	fields := 0
	for _, c := range p.columns {
		if c.means.field != nil && oneLine(r.cell(c.index).text) != "" {
			fields++
		}
	}
	return fields >= 2
}

// data lists the rows of axes.
func (p *proposal) data() []*row {
	var out []*row
	for _, r := range p.rows {
		if r.number >= p.first && r.number <= p.last {
			out = append(out, r)
		}
	}
	return out
}

// understand settles units, words and moves of the columns.
func (p *proposal) understand() {
	p.once()
	p.unitWords()
	for _, c := range p.columns {
		if c.means.field == nil {
			continue
		}
		switch c.means.field.Sort {
		case spec.Quantity, spec.Number:
			p.settleUnit(c)
		case spec.Word, spec.Flag:
			p.translate(c)
		}
	}
	p.decide()
	p.findMoves()
}

// once leaves a second column out that means what another one does, unless they differ in
// their units.
func (p *proposal) once() {
	seen := map[string]*proposed{}
	for _, c := range p.columns {
		key := c.key()
		if key == "" {
			continue
		}
		if o := seen[key]; o != nil && (c.means.field == nil || c.text.unit == o.text.unit) {
			c.why = "means the same as " + p.name(o)
			c.means = meaning{}
			continue
		}
		seen[key] = c
	}
}

// unitWords gathers the spellings of units that have to be translated.
func (p *proposal) unitWords() {
	note := func(spelling string) {
		spelling = strings.TrimSpace(spelling)
		if u := p.lex.units[fold(spelling)]; u != "" && plain(spelling) && !slices.ContainsFunc(p.lex.kinds, func(k unit.Kind) bool { return isUnit(spelling, k) }) {
			p.m.units[spelling] = u
		}
	}
	for _, c := range p.columns {
		if c.means.field == nil || c.means.field.Sort != spec.Quantity {
			continue
		}
		note(c.text.unit)
		if p.units != 0 {
			note(strings.Trim(oneLine(p.at(p.units).cell(c.index).text), "[]()"))
		}
		for _, r := range p.data() {
			if t, ok := lexNumber(oneLine(r.cell(c.index).text)); ok {
				note(t.rest)
			}
		}
	}
}

// at is the row of a number.
func (p *proposal) at(number int) *row {
	i := slices.IndexFunc(p.rows, func(r *row) bool { return r.number == number })
	return p.rows[i]
}

// settleUnit finds where the unit of a column's bare numbers comes from.
func (p *proposal) settleUnit(c *proposed) {
	f := c.means.field
	own, _, err := p.m.headerUnit(f, c.header)
	if err != nil {
		c.why = fmt.Sprintf("its header does not suit %s: %v", f.Path, err)
		c.means = meaning{}
		return
	}
	bare, suffixes := p.suffixes(c)
	if f.Sort == spec.Number {
		if len(suffixes) == 1 && suffixes[0] != "%" {
			c.unit = suffixes[0]
		}
		if u := p.rowUnit(c); u == "%" {
			c.unit = u
		}
		return
	}
	if own != "" {
		return
	}
	for _, u := range []string{c.text.unit, p.rowUnit(c)} {
		if u == "" {
			continue
		}
		if to := p.m.units[u]; to != "" {
			u = to
		}
		if !isUnit(u, f.Unit) {
			c.why = fmt.Sprintf("its unit %s is none of %s", u, f.Path)
			c.means = meaning{}
			return
		}
		c.unit = u
		return
	}
	if bare {
		c.why = "no unit is given for bare numbers; write one in the mapping"
	}
}

// rowUnit is what the row of units says of a column.
func (p *proposal) rowUnit(c *proposed) string {
	if p.units == 0 {
		return ""
	}
	u := strings.TrimSpace(strings.Trim(oneLine(p.at(p.units).cell(c.index).text), "[]()"))
	if p.lex.unitIn(u) == "" {
		return ""
	}
	return u
}

// suffixes says whether a column has bare numbers, and lists what follows the others.
func (p *proposal) suffixes(c *proposed) (bare bool, list []string) {
	for _, r := range p.data() {
		t, ok := lexNumber(oneLine(r.cell(c.index).text))
		if !ok {
			continue
		}
		switch rest := strings.TrimSpace(t.rest); {
		case rest == "":
			bare = true
		case !slices.Contains(list, rest):
			list = append(list, rest)
		}
	}
	return bare, list
}

// translate finds what the words in the cells of a column mean.
func (p *proposal) translate(c *proposed) {
	f := c.means.field
	meanings := p.lex.cells[f.Path]
	if f.Sort == spec.Flag {
		meanings = p.lex.cells["flag"]
	}
	r := reader{field: f, mapping: p.m}
	seen := map[string]bool{}
	for _, row := range p.data() {
		text := oneLine(row.cell(c.index).text)
		key := fold(text)
		if seen[key] || p.lex.unknown[key] || p.lex.above[key] || len(seen) > 50 {
			continue
		}
		seen[key] = true
		if _, why := r.read(row.cell(c.index)); why == "" {
			continue
		}
		if to := meanings[key]; to != "" && plain(text) {
			c.words = append(c.words, [2]string{text, to})
		} else {
			c.open = append(c.open, text)
		}
	}
}

// decide settles the decimal sign of the table, where it has numbers of one sort only that
// leave no doubt.
func (p *proposal) decide() {
	var m marks
	for _, c := range p.columns {
		if c.means.field == nil || c.means.field.Sort != spec.Quantity && c.means.field.Sort != spec.Number {
			continue
		}
		for _, r := range p.data() {
			if cell := r.cell(c.index); !cell.number {
				if t, ok := lexNumber(oneLine(cell.text)); ok {
					_, _ = m.number(t)
				}
			}
		}
	}
	if m.decide(); m.decided == comma || m.decided == point {
		p.decimal = m.decided
	}
}

// has reports whether a column holds a field, of a move or of any.
func (p *proposal) has(path, move string) bool {
	return slices.ContainsFunc(p.columns, func(c *proposed) bool {
		return c.means.field != nil && c.means.field.Path == path && (move == "" || len(c.text.moves) == 0 || slices.Contains(c.text.moves, move))
	})
}

func (p *proposal) names(what string) *proposed {
	for _, c := range p.columns {
		if c.means.name == what {
			return c
		}
	}
	return nil
}

// findMoves lists the moves that headers name; without any, an axis goes out and back.
func (p *proposal) findMoves() {
	if p.names("=moves") != nil {
		return
	}
	any := false
	for _, c := range p.columns {
		if c.means.field == nil || !isMove(c.means.field) {
			continue
		}
		any = true
		for _, m := range c.text.moves {
			if !slices.Contains(p.moves, m) {
				p.moves = append(p.moves, m)
			}
		}
	}
	if len(p.moves) == 0 && any {
		p.moves = []string{"out"}
	}
	slices.SortStableFunc(p.moves, func(a, b string) int { return order(a) - order(b) })
}

// order puts the way out before the way back.
func order(move string) int {
	if i := slices.Index([]string{"out", "up", "back", "down"}, move); i >= 0 {
		return i
	}
	return -1
}

// back is the move that returns from another.
func back(move string) string {
	if move == "up" {
		return "down"
	}
	return "back"
}

// speaks reports a column that has a header or values.
func (p *proposal) speaks(c *proposed) bool {
	return c.header != "" || c.title != "" && !c.beside ||
		slices.ContainsFunc(p.data(), func(r *row) bool { return oneLine(r.cell(c.index).text) != "" })
}

// name names a column for people.
func (p *proposal) name(c *proposed) string {
	at := p.letter(c)
	text := cmp.Or(c.header, c.title)
	if p.lex.unitIn(text) != "" && c.title != "" {
		text = c.title // its unit stands below
	}
	if text != "" && (c.header != "" || !c.beside) {
		at += ` "` + comment(text) + `"`
	}
	return at
}

func (p *proposal) letter(c *proposed) string {
	if p.turned {
		return fmt.Sprintf("row %d", c.index+1)
	}
	return letter(c.index)
}

// label is how the mapping names a column: by its header, if no other has the same.
func (p *proposal) label(c *proposed) string {
	same := 0
	for _, o := range p.columns {
		if fold(o.header) == fold(c.header) {
			same++
		}
	}
	if c.header == "" || same > 1 || strings.ContainsAny(c.header, "{}") || !plain(c.header) || p.lex.unitIn(c.header) != "" {
		return p.letter(c)
	}
	return c.header
}

func (p *proposal) rowName(n int) string {
	if p.turned {
		return "column " + letter(n-1)
	}
	return fmt.Sprintf("row %d", n)
}

// where says in which rows what stands.
func (p *proposal) where() string {
	s := "headers stand in " + p.rowName(p.header)
	if p.titles != 0 {
		s += ", titles above them in " + p.rowName(p.titles)
	}
	if p.units != 0 {
		s += ", units in " + p.rowName(p.units)
	}
	return s + fmt.Sprintf(", axes from %s to %s", p.rowName(p.first), p.rowName(p.last))
}

// text writes the mapping, in its layout.
func (p *proposal) text() ([]byte, error) {
	text, problems := format.Tidy("proposal"+MapSuffix, p.lines())
	if len(problems) == 0 {
		_, problems = ReadMapping("proposal"+MapSuffix, text)
	}
	if len(problems) > 0 {
		return nil, fmt.Errorf("the proposed mapping cannot be read: %s: %s", problems[0].Place, problems[0].Message)
	}
	return text, nil
}

func (p *proposal) lines() []byte {
	var b bytes.Buffer
	sanitize.Fprintf(&b, "# Proposed for %s: look at each line before you use it.\n# In the table %s.\n", comment(p.base), p.where())
	if p.axis != "" {
		sanitize.Fprintf(&b, "# A row holds the axes %s; this mapping reads %s, and columns that name no axis.\n",
			strings.ToUpper(strings.Join(p.beside, ", ")), strings.ToUpper(p.axis))
	}
	p.head(&b)
	for _, c := range p.columns {
		switch {
		case c.means.field != nil && isMove(c.means.field) && len(p.moves) > 0:
			for _, m := range p.movesOf(c) {
				p.column(&b, c, c.means.field, m)
			}
		case c.means.field != nil:
			p.column(&b, c, c.means.field, "")
			if c.means.field.Path == "motion.stroke" && len(p.moves) > 0 && !p.has("motion.move.distance", "") {
				p.column(&b, c, p.lex.fields["motion.move.distance"], p.moves[0])
			}
		}
	}
	for _, c := range p.columns {
		if c.means == (meaning{}) && p.speaks(c) {
			sanitize.Fprintf(&b, "\n# Not used: %s", p.name(c))
			if c.why != "" {
				sanitize.Fprintf(&b, ", which %s", c.why)
			}
		}
	}
	return append(bytes.TrimRight(b.Bytes(), "\n"), '\n')
}

// plain reports text that reads the same in a terminal.
func plain(s string) bool { return sanitize.Line(s) == s }

// movesOf lists the moves that a column belongs to.
func (p *proposal) movesOf(c *proposed) []string {
	if len(c.text.moves) > 0 {
		return c.text.moves
	}
	if c.means.field.Path == "motion.move.distance" {
		return p.moves[:1]
	}
	return p.moves
}

// head writes what holds for the whole table.
func (p *proposal) head(b *bytes.Buffer) {
	put := func(format string, args ...any) { sanitize.Fprintf(b, format+"\n", args...) }
	raw := func(s string) sanitize.Safe { return sanitize.Safe(quoted(s)) }
	if p.sheet != "" {
		put("sheet = %s", raw(p.sheet))
	}
	if p.turned {
		put("transposed = true # an axis in each column: the numbers below count columns")
	}
	put("header_row = %d\nfirst_row = %d", p.header, p.first)
	if !p.cut && p.last < p.rows[len(p.rows)-1].number {
		put("last_row = %d", p.last)
	}
	if p.decimal != undecided {
		put("decimal = %s", raw(p.decimal.String()))
	}
	p.lists(b)
	if len(p.moves) > 0 && p.has("motion.move.distance", "") || len(p.moves) > 0 && p.has("motion.stroke", "") {
		out := p.moves[0]
		if to := back(out); !p.distanceOf(to) && order(out) >= 0 && order(out) < 2 {
			put("returns = { %s = %s } # is the way back as the way out?", sanitize.Safe(out), raw(to))
		}
	}
	put("")
	machine, axis, moves := p.names("=machine"), p.names("=axis"), p.names("=moves")
	if axis == nil && p.axis == "" {
		axis, machine = machine, nil
	}
	if machine != nil {
		put("folder = %s", raw("{"+p.label(machine)+"}"))
	}
	switch from := cmp.Or(axis, machine); {
	case p.axis != "" && from != nil:
		put("axis = %s", raw("{"+p.label(from)+"}-"+p.axis))
	case axis != nil:
		put("axis = %s", raw("{"+p.label(axis)+"}"))
	default:
		put("axis = %s # no header names the axis; which column does?", raw("{"+p.label(p.columns[0])+"}"))
	}
	if moves != nil {
		put("moves = %s", raw("{"+p.label(moves)+"}"))
	}
}

// distanceOf reports whether a column gives the distance of a move.
func (p *proposal) distanceOf(move string) bool {
	return slices.ContainsFunc(p.columns, func(c *proposed) bool {
		return c.means.field != nil && c.means.field.Path == "motion.move.distance" && slices.Contains(c.text.moves, move)
	})
}

// lists writes the words that are found in the cells.
func (p *proposal) lists(b *bytes.Buffer) {
	unknown, above := map[string]bool{}, map[string]bool{}
	fill := []string{}
	for _, c := range p.columns {
		if c.means == (meaning{}) {
			continue
		}
		gap, stood := false, false
		for _, r := range p.data() {
			text := oneLine(r.cell(c.index).text)
			switch key := fold(text); {
			case !plain(text):
			case key == "":
				gap = gap || stood
			case p.lex.unknown[key] && !slices.Contains(notKnown, key):
				unknown[text] = true
			case p.lex.above[key]:
				above[text] = true
			default:
				stood = true
			}
		}
		if gap && (c.means.name == "=machine" || c.means.name == "=axis" && p.names("=moves") != nil) {
			fill = append(fill, p.label(c))
		}
	}
	list := func(name string, words []string) {
		if len(words) == 0 {
			return
		}
		for i := range words {
			words[i] = quoted(words[i])
		}
		sanitize.Fprintf(b, "%s = [%s]\n", name, sanitize.Safe(strings.Join(words, ", ")))
	}
	list("unknown", slices.Sorted(maps.Keys(unknown)))
	list("as_above", slices.Sorted(maps.Keys(above)))
	list("fill_down", fill)
	var units [][2]string
	for _, u := range slices.Sorted(maps.Keys(p.m.units)) {
		units = append(units, [2]string{u, p.m.units[u]})
	}
	if len(units) > 0 {
		sanitize.Fprintf(b, "units = %s\n", sanitize.Safe(object(units)))
	}
}

func object(pairs [][2]string) string {
	var list []string
	for _, p := range pairs {
		list = append(list, quoted(p[0])+" = "+quoted(p[1]))
	}
	return "{ " + strings.Join(list, ", ") + " }"
}

// column writes a column of the mapping.
func (p *proposal) column(b *bytes.Buffer, c *proposed, f *spec.Field, move string) {
	called := ""
	if label := p.label(c); label != c.header {
		called = " # " + strings.TrimPrefix(strings.TrimPrefix(p.name(c), label), " ")
	}
	sanitize.Fprintf(b, "\ncolumn %s {%s\n  field = %s\n", sanitize.Safe(quoted(p.label(c))), strings.TrimSuffix(called, " # "), sanitize.Safe(quoted(f.Path)))
	if move != "" {
		sanitize.Fprintf(b, "  move = %s\n", sanitize.Safe(quoted(move)))
	}
	if c.unit != "" {
		sanitize.Fprintf(b, "  unit = %s\n", sanitize.Safe(quoted(c.unit)))
	}
	if len(c.words) > 0 {
		sanitize.Fprintf(b, "  words = %s\n", sanitize.Safe(object(c.words)))
	}
	if c.why != "" {
		sanitize.Fprintf(b, "  # unit = \"…\" # %s\n", c.why)
	}
	if len(c.open) > 0 {
		sanitize.Fprintf(b, "  # not understood: %s\n", comment(strings.Join(c.open, ", ")))
	}
	sanitize.Fprintf(b, "}\n")
}

// tell says in a few lines what was found.
func (p *proposal) tell(report io.Writer) {
	sanitize.Fprintf(report, "%s: %s", comment(p.base), p.form)
	if p.axis != "" {
		sanitize.Fprintf(report, ", axis %s of %s", strings.ToUpper(p.axis), strings.ToUpper(strings.Join(p.beside, ", ")))
	}
	if p.sheet != "" {
		sanitize.Fprintf(report, ", sheet %s", comment(p.sheet))
	}
	sanitize.Fprintf(report, "\n  %s\n", p.where())
	if p.cut {
		sanitize.Fprintf(report, "  only the first %d rows were looked at\n", maxLooked)
	}
	for _, c := range p.columns {
		what := c.means.name
		if c.means.field != nil {
			what = c.means.field.Path
			if len(c.text.moves) > 0 {
				what += " of " + strings.Join(c.text.moves, " and ")
			}
		}
		switch {
		case what == "=machine":
			what = "names the machine"
		case what == "=axis":
			what = "names the axis"
		case what == "=moves":
			what = "names the move: each row is one"
		case what == "" && !p.speaks(c):
			continue
		case what == "" && c.header == "" && (c.title == "" || c.beside):
			what = "not used; it has values and no header"
		case what == "":
			what = "not used"
		}
		if c.why != "" {
			what += "; " + c.why
		}
		if len(c.open) > 0 {
			what += "; not understood: " + strings.Join(c.open, ", ")
		}
		sanitize.Fprintf(report, "  %s: %s\n", p.name(c), what)
	}
}

// Draft proposes a mapping for a table and writes it beside the table, unless there is one
// already. With Try it is printed instead. words names a file of more words; "" for none.
func Draft(ctx context.Context, opt Options, words string, out io.Writer) error {
	if opt.Map == "" {
		opt.Map = strings.TrimSuffix(opt.Table, filepath.Ext(opt.Table)) + MapSuffix
	}
	if !strings.HasSuffix(opt.Map, MapSuffix) {
		return fmt.Errorf("%s: the name of a mapping file must end in %s", opt.Map, MapSuffix)
	}
	lex, err := openLexicon(words, opt.trees()...)
	if err != nil {
		return err
	}
	list, err := propose(ctx, opt, lex)
	if err != nil {
		return fmt.Errorf("%s: %w", opt.Table, err)
	}
	for _, p := range list {
		file := p.mapFile(opt.Map)
		if _, err := os.Lstat(file); err == nil && !opt.Try {
			return fmt.Errorf("%s exists already; name another with --map, or print the proposal with --try", file)
		}
	}
	for _, p := range list {
		if err := p.write(opt, out); err != nil {
			return err
		}
	}
	return nil
}

// write writes the mapping of a proposal and says what was found, or prints it.
func (p *proposal) write(opt Options, out io.Writer) error {
	text, err := p.text()
	if err != nil {
		return err
	}
	if opt.Try {
		_, err := out.Write(text)
		return err
	}
	file, named := p.mapFile(opt.Map), ""
	if err := atomicfile.WriteFile(file, text, opt.trees()...); err != nil {
		return fmt.Errorf("%s was not written: %w", file, atomicfile.Reason(err))
	}
	if file != strings.TrimSuffix(opt.Table, filepath.Ext(opt.Table))+MapSuffix {
		named = " --map " + file
	}
	p.tell(out)
	sanitize.Fprintf(out, "%s: written; look at each line, then try it: trammel adopt %s%s --try\n", file, opt.Table, named)
	return nil
}

// openLexicon reads the words that are known, and those of a file.
func openLexicon(file string, trees ...string) (*lexicon, error) {
	if file == "" {
		return newLexicon(nil)
	}
	f, err := atomicfile.Open(file, trees...)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, atomicfile.Reason(err))
	}
	defer f.Close()
	src, err := io.ReadAll(io.LimitReader(f, maxMapping+1))
	if err == nil && len(src) > maxMapping {
		err = fmt.Errorf("it is larger than %d KB, the limit", maxMapping>>10)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, atomicfile.Reason(err))
	}
	l, err := newLexicon(bytes.NewReader(src))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return l, nil
}
