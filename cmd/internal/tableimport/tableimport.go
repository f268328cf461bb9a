// Package tableimport writes axis files from a table: what the table says, as it
// says it, and nothing else.
package tableimport

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/sanitize"
	"trammel/spec"
	"trammel/spec/unit"
)

// Options say what to adopt.
type Options struct {
	Table    string
	Map      string             // "": beside the table, under its name
	Out      string             // "": the folder of the table
	Try      bool               // write nothing, say what would be written
	Workers  int                // 0: one for each processor
	Progress func(rows, of int) // called now and then; of is 0 where the number of rows is not known
}

// trees are those that files of somebody else may be in: that of the table,
// which comes with its mapping.
func (o *Options) trees() []string {
	dir, err := filepath.EvalSymlinks(filepath.Dir(o.Table))
	if err == nil {
		dir, err = filepath.Abs(dir)
	}
	if err != nil {
		return nil
	}
	return []string{dir}
}

// A Result counts what was done.
type Result struct {
	Rows, Axes, Moves                   int
	Written, Rewritten, Unchanged, Kept int
	Read, Unknown, Unread               int // cells
	LeftOut                             int // rows of which nothing was taken
	Renamed                             int // names that were taken already
}

// Whole reports whether everything in the table was read.
func (r *Result) Whole() bool { return r.Unread+r.LeftOut+r.Renamed == 0 }

// A MappingError holds what is wrong with a mapping.
type MappingError struct{ Problems []spec.Problem }

func (e *MappingError) Error() string {
	return fmt.Sprintf("the mapping has %d problems", len(e.Problems))
}

// A field of one column, bound to the table.
type binding struct {
	*column
	index  int
	header string
	reader reader
	how    string // where the unit comes from
}

type adopter struct {
	opt      Options
	m        *Mapping
	table    table
	out      io.Writer
	base     string // name of the table's file
	headers  []string
	first    int // row of the headers
	total    int // rows with axes; 0: not counted
	bindings []*binding
	titles   map[string]int // columns that templates name
	filling  map[int]bool   // columns in which an empty cell repeats the one above
	names    *register
	axes     *register
	parts    map[string]bool
	result   Result
	beyond   int          // rows below the last one of the mapping
	said     int          // lines about places in the table
	report   bytes.Buffer // what has to be said before the next file
	draft    *draft
	writer   *writer
}

// Run adopts a table. The report goes to out as it grows.
func Run(ctx context.Context, opt Options, out io.Writer) (*Result, error) {
	if opt.Map == "" {
		opt.Map = strings.TrimSuffix(opt.Table, filepath.Ext(opt.Table)) + MapSuffix
	}
	if opt.Out == "" {
		opt.Out = filepath.Dir(opt.Table)
	}
	if opt.Workers <= 0 {
		opt.Workers = min(runtime.GOMAXPROCS(0), 16)
	}
	m, err := loadMapping(opt.Map, opt.trees()...)
	if err != nil {
		return nil, err
	}
	t, err := openTable(opt.Table, m, opt.trees()...)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", opt.Table, err)
	}
	defer t.close()
	a := &adopter{
		opt: opt, m: m, table: t, out: out, base: filepath.Base(opt.Table), titles: map[string]int{}, filling: map[int]bool{},
		names: newRegister(), axes: newRegister(), parts: map[string]bool{},
	}
	if err := a.bind(ctx); err != nil {
		return nil, err
	}
	if err := a.gather(ctx); err != nil {
		return nil, a.failed(err)
	}
	a.opening()
	if err := a.flushReport(); err != nil {
		return nil, err
	}
	if err := a.adopt(ctx); err != nil {
		return &a.result, err
	}
	a.closing()
	return &a.result, a.flushReport()
}

func (a *adopter) flushReport() error {
	_, err := a.report.WriteTo(a.out)
	return err
}

func (a *adopter) failed(err error) error {
	if errors.Is(err, context.Canceled) {
		return errors.New("interrupted before anything was written")
	}
	return fmt.Errorf("%s: %w", a.opt.Table, err)
}

func loadMapping(file string, trees ...string) (*Mapping, error) {
	if !strings.HasSuffix(file, MapSuffix) {
		return nil, fmt.Errorf("%s: the name of a mapping file must end in %s", file, MapSuffix)
	}
	f, err := atomicfile.Open(file, trees...)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s is missing; write a mapping file that says which column is which field, name one with --map, or let --draft-map propose one", file)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, atomicfile.Reason(err))
	}
	defer f.Close()
	src, err := io.ReadAll(io.LimitReader(f, maxMapping+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, atomicfile.Reason(err))
	}
	m, problems := ReadMapping(file, src)
	if len(problems) > 0 {
		return nil, &MappingError{problems}
	}
	m.Name = filepath.Base(file)
	for _, s := range m.says { // the whole path is of no use in a comment
		s.value.comment = strings.Replace(s.value.comment, comment(file), comment(m.Name), 1)
	}
	return m, nil
}

// bind finds the headers and the columns that the mapping names.
func (a *adopter) bind(ctx context.Context) error {
	width, seen := 0, 0
	lower := map[string]int{} // rows below the headers in which a text stands
	err := a.table.rows(ctx, func(r *row) error {
		if a.first == 0 {
			if r.trouble != "" && r.number >= a.m.HeaderRow {
				return fmt.Errorf("row %d: %s", r.number, r.trouble)
			}
			if r.number < a.m.HeaderRow || blank(r) {
				return nil
			}
			if a.m.HeaderRow != 0 && r.number > a.m.HeaderRow {
				return errStop
			}
			a.first = r.number
			for i := range r.width() {
				a.headers = append(a.headers, strings.Join(strings.Fields(r.cell(i).text), " "))
			}
		}
		for i := range min(r.width(), 100) {
			if key := fold(r.cell(i).text); seen < 20 && lower[key] == 0 {
				lower[key] = r.number
			}
		}
		width = max(width, r.width())
		if seen++; seen > 100 {
			return errStop
		}
		return nil
	})
	if err != nil && err != errStop {
		return a.failed(err)
	}
	if a.first == 0 {
		if a.m.HeaderRow != 0 {
			return fmt.Errorf("%s: row %d, the header row of the mapping, is empty or missing", a.opt.Table, a.m.HeaderRow)
		}
		return fmt.Errorf("%s: the table is empty", a.opt.Table)
	}
	for len(a.headers) < width {
		a.headers = append(a.headers, "")
	}
	var problems []spec.Problem
	wrong := func(at spec.Place, help, format string, args ...any) {
		problems = append(problems, spec.Problem{Rule: "mapping", Place: at, Message: fmt.Sprintf(format, args...), Help: help})
	}
	folded := map[string][]int{}
	for i, h := range a.headers {
		if h != "" {
			folded[fold(h)] = append(folded[fold(h)], i)
		}
	}
	find := func(title string, at spec.Place) int {
		where := folded[fold(title)]
		switch i := a.index(title); {
		case len(where) == 1:
			return where[0]
		case len(where) > 1:
			var letters []string
			for _, w := range where {
				letters = append(letters, a.letter(w))
			}
			wrong(at, "name the column by its letter", "the header %q is used for columns %s", clip(title), clip(strings.Join(letters, ", ")))
			return -1
		case i >= 0 && i < len(a.headers):
			return i
		}
		help := ""
		if row := lower[fold(title)]; row > a.first {
			help = fmt.Sprintf("row %d holds it; where that is the header row, write header_row = %d", row, row)
		} else if n := spec.Nearest(title, a.headers); n != "" {
			help = fmt.Sprintf("did you mean %q?", comment(n))
		} else if len(a.headers) <= 12 {
			help = "the table has " + comment(strings.Join(slices.DeleteFunc(slices.Clone(a.headers), func(h string) bool { return h == "" }), ", "))
		}
		wrong(at, help, "the table has no column %q", clip(title))
		return -1
	}
	for _, t := range []*template{a.m.folder, a.m.file, a.m.axis, a.m.moves} {
		if t == nil {
			continue
		}
		for _, p := range t.parts {
			if p.column {
				a.titles[p.text] = find(p.text, t.place)
			}
		}
	}
	for _, t := range a.m.fillDown {
		if i := find(t.text, t.place); i >= 0 {
			a.filling[i] = true
		}
	}
	for _, c := range a.m.columns {
		b := &binding{column: c, index: find(c.title, c.place)}
		if b.index < 0 {
			continue
		}
		b.header = a.headers[b.index]
		b.reader = reader{field: c.field, mapping: a.m, words: c.words, unit: c.unit}
		if d := cmpOr(c.decimal, a.m.Decimal); d != undecided {
			b.reader.marks = marks{decided: d, declared: true}
		}
		if c.field.Sort == spec.Quantity || c.field.Sort == spec.Number {
			a.unitOf(b, wrong)
		}
		for _, o := range a.bindings {
			if o.index == b.index && o.field == b.field && o.move == b.move && o.end == b.end {
				wrong(c.place, "", "column %q sets %s twice", clip(c.title), c.field.Path)
			}
		}
		a.bindings = append(a.bindings, b)
	}
	if len(problems) > 0 {
		return &MappingError{spec.SortProblems(problems)}
	}
	return nil
}

func cmpOr(a, b decimal) decimal {
	if a != undecided {
		return a
	}
	return b
}

// unitOf settles the unit of a column's bare numbers. A unit in brackets in
// the header must not contradict the mapping.
func (a *adopter) unitOf(b *binding, wrong func(spec.Place, string, string, ...any)) {
	u, bracketed, err := a.m.headerUnit(b.field, b.header)
	if err != nil {
		wrong(b.place, "", "the header %q does not suit %s: %v", comment(b.header), b.field.Path, err)
		return
	}
	if b.field.Sort == spec.Number {
		b.reader.percent = u == "%" || b.unit == "%"
		return
	}
	switch {
	case b.unit == "" && u != "":
		b.reader.unit, b.how = u, "unit "+u+" from the header"
	case b.unit != "":
		b.how = "unit " + b.unit + " from the mapping"
		p, _ := unit.Parse("1 "+u, b.field.Unit)
		q, _ := unit.Parse("1 "+b.unit, b.field.Unit)
		if bracketed && p != q {
			wrong(b.place, "", "the header %q says %s, the mapping %s", comment(b.header), u, b.unit)
		}
	}
}

func blank(r *row) bool {
	return r.trouble == "" && !slices.ContainsFunc(r.cells, func(c cell) bool {
		return c.trouble != "" || strings.TrimSpace(c.text) != ""
	})
}

// letter names a column of the table: by its letter, or where rows and columns change
// places by the number of its row.
func (a *adopter) letter(i int) string {
	if a.m.Turned {
		return "row " + strconv.Itoa(i+1)
	}
	return letter(i)
}

// index is the column that a letter or number names, or -1.
func (a *adopter) index(title string) int {
	title = strings.TrimSpace(title)
	if !a.m.Turned {
		return letterIndex(title)
	}
	n, err := strconv.Atoi(strings.TrimSpace(strings.TrimPrefix(fold(title), "row")))
	if err != nil || n < 1 || n > maxRows {
		return -1
	}
	return n - 1
}

// rowName names a row of the table in the same way.
func (a *adopter) rowName(number int) string {
	if a.m.Turned {
		return "column " + letter(number-1)
	}
	return "row " + strconv.Itoa(number)
}

// data calls each for every row of axes, with the cells that repeat those above filled in.
func (a *adopter) data(ctx context.Context, each func(*row) error) error {
	last := map[int]cell{}
	a.beyond = 0
	return a.table.rows(ctx, func(r *row) error {
		r.filled = nil
		switch {
		case r.number <= a.first || r.number < a.m.FirstRow || blank(r):
			return nil
		case a.m.LastRow != 0 && r.number > a.m.LastRow:
			a.beyond++
			return nil
		case r.trouble == "" && a.repeatsHeaders(r):
			return nil
		}
		if r.trouble == "" && len(a.filling)+len(a.m.above) > 0 {
			a.fill(r, last)
		}
		return each(r)
	})
}

// repeatsHeaders reports a row that holds the headers again, as on each page of a print.
func (a *adopter) repeatsHeaders(r *row) bool {
	for _, b := range a.bindings {
		if b.header == "" || fold(r.cell(b.index).text) != fold(b.header) {
			return false
		}
	}
	return true
}

// fill puts in what is repeated from above, and keeps what stands in the row for the next.
func (a *adopter) fill(r *row, last map[int]cell) {
	for i := range max(r.width(), len(a.headers)) {
		c := r.cell(i)
		key := fold(c.text)
		switch repeats := c.trouble == "" && (key == "" && a.filling[i] || a.m.above[key]); {
		case !repeats && key+c.trouble != "":
			c.above = r.number
			last[i] = c
		case repeats && last[i] != (cell{}):
			r.put(i, last[i])
		case repeats && key != "":
			r.put(i, cell{trouble: clip(c.text) + " repeats the cell above, and there is none"})
		}
	}
}

// gather reads the table once for the evidence about decimal signs, and to count its rows
// where progress is told.
func (a *adopter) gather(ctx context.Context) error {
	var open []*binding
	for _, b := range a.bindings {
		if (b.field.Sort == spec.Quantity || b.field.Sort == spec.Number) && !b.reader.marks.declared {
			open = append(open, b)
		}
	}
	if len(open) == 0 && a.opt.Progress == nil {
		return nil
	}
	err := a.data(ctx, func(r *row) error {
		a.total++
		for _, b := range open {
			// Only a comma or point can tell anything.
			if c := r.cell(b.index); !c.number && strings.ContainsAny(c.text, ",.") {
				b.reader.read(c)
			}
		}
		return nil
	})
	for _, b := range open {
		b.reader.marks.decide()
	}
	return err
}

// adopt reads the table and hands axis after axis to the writer.
func (a *adopter) adopt(ctx context.Context) error {
	w, err := newWriter(a.opt, a.out)
	if err != nil {
		return err
	}
	a.writer = w
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	w.failed = cancel
	w.start()
	err = a.data(ctx, func(r *row) error {
		a.result.Rows++
		if a.opt.Progress != nil && a.result.Rows%1000 == 0 {
			a.opt.Progress(a.result.Rows, a.total)
		}
		a.row(r)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return nil
	})
	if err == nil {
		a.flush()
	}
	w.finish(a.report.Bytes())
	a.report.Reset()
	a.result.Written, a.result.Rewritten, a.result.Unchanged, a.result.Kept = w.count[fresh], w.count[rewritten], w.count[same], w.count[kept]
	switch {
	case w.err != nil:
		return w.err
	case errors.Is(err, context.Canceled):
		return fmt.Errorf("interrupted; %d files were written completely", w.count[fresh]+w.count[rewritten])
	case err != nil:
		return a.failed(err)
	}
	return nil
}

// maxSaid is how many lines about places in the table a report has. A table that
// gives more has something wrong with all of it, which is seen from these.
const maxSaid = 5000

// say adds a line to the report, with the place in the table.
func (a *adopter) say(row, col int, format string, args ...any) {
	if a.said++; a.said > maxSaid {
		return
	}
	a.report.WriteString(comment(a.base) + ": ")
	if s := a.table.sheet(); s != "" {
		a.report.WriteString("sheet " + comment(s) + ", ")
	}
	a.report.WriteString(a.rowName(row))
	if col >= 0 {
		a.report.WriteString(", " + a.column(col))
	}
	a.report.WriteString(": " + sanitize.Line(fmt.Sprintf(format, args...)) + "\n")
}

// column names a column by letter and header.
func (a *adopter) column(i int) string {
	if i < len(a.headers) && a.headers[i] != "" {
		return a.letter(i) + ` "` + comment(a.headers[i]) + `"`
	}
	return a.letter(i)
}

// called is what the table calls the axis.
func (a *adopter) called(r *row) string {
	var out []string
	for _, p := range a.m.axis.parts {
		if p.column {
			out = append(out, strings.TrimSpace(r.cell(a.titles[p.text]).text))
		} else {
			out = append(out, p.text)
		}
	}
	return strings.Join(out, "")
}

// flush hands the draft to the writer.
func (a *adopter) flush() {
	d := a.draft
	if d == nil {
		return
	}
	a.draft = nil
	if name, ok := a.axes.take(d.folder, d.axis); !ok {
		a.result.Renamed++
		a.say(d.first, -1, "a second axis %s in the same folder is written as %s", d.axis, name)
		if a.m.file == nil {
			d.file = name
		}
		d.axis = name
	}
	file := safeFile(d.file)
	if name, ok := a.names.take(d.folder, file); !ok {
		if a.m.file != nil {
			a.result.Renamed++
			a.say(d.first, -1, "a second file %s in the same folder is written as %s", file, name)
		}
		file = name
	}
	for f, at := range d.halves() {
		a.result.Unread++
		a.result.Read--
		a.say(d.first, -1, "not read: %s needs both ends, but only the %s end is known", f.Path, [...]string{"driven", "far"}[at])
	}
	if a.m.moves == nil {
		a.returnMoves(d)
		d.moves = slices.DeleteFunc(d.moves, func(m *move) bool { return len(m.values) == 0 })
	}
	d.complete(a.m.says)
	a.result.Axes++
	a.result.Moves += len(d.moves)
	text, tidy := d.text(a.origin(d))
	a.writer.add(filepath.ToSlash(filepath.Join(d.folder, file+spec.AxisSuffix)), text, tidy, bytes.Clone(a.report.Bytes()))
	a.report.Reset()
}

// moving are the fields of a move that the way back has in common with the way out.
var moving = []string{"distance", "speed", "acceleration", "deceleration", "ramp", "ramp_up", "ramp_down"}

// returnMoves adds what the mapping says of moves that go back from others: the same
// distance the other way, and what else the table does not say of them itself.
func (a *adopter) returnMoves(d *draft) {
	for _, p := range a.m.returns {
		i := slices.IndexFunc(d.moves, func(m *move) bool { return m.name == p[0] })
		if i < 0 {
			continue
		}
		out, back := d.moves[i], d.move(p[1])
		for _, name := range moving {
			f := spec.Language().FieldAt("motion.move." + name)
			v := out.values[f]
			if v == nil || a.ownColumn(f, p[1]) {
				continue
			}
			w := *v
			w.comment = "as " + p[0] + ", by " + comment(a.m.Name)
			if name == "distance" && !w.turn() {
				a.result.Unread++
				a.say(d.first, -1, "move %s is left without a distance: %s cannot be turned round", p[1], v.text)
				continue
			}
			back.values[f] = &w
		}
	}
}

// ownColumn reports whether a column holds a field of a move.
func (a *adopter) ownColumn(f *spec.Field, move string) bool {
	return slices.ContainsFunc(a.bindings, func(b *binding) bool { return b.field == f && b.move == move })
}

// turn changes the sign of a quantity as it is written; it cannot with a range.
func (v *value) turn() bool {
	text, ok := strings.CutPrefix(v.text, `"`)
	switch {
	case !ok || strings.Contains(text, "…") || v.dispute != "":
		return false
	case strings.HasPrefix(text, "-"):
		v.text = `"` + text[1:]
	default:
		v.text = `"-` + text
	}
	return true
}

// origin says where in the table an axis stands.
func (a *adopter) origin(d *draft) string {
	s := comment(a.base)
	if name := a.table.sheet(); name != "" {
		s += ", sheet " + comment(name)
	}
	if d.first == d.last {
		return s + ", " + a.rowName(d.first)
	}
	if a.m.Turned {
		return fmt.Sprintf("%s, columns %s to %s", s, letter(d.first-1), letter(d.last-1))
	}
	return fmt.Sprintf("%s, rows %d to %d", s, d.first, d.last)
}

// opening says how the table was understood.
func (a *adopter) opening() {
	sanitize.Fprintf(&a.report, "%s: %s", comment(a.base), a.table.form())
	if s := a.table.sheet(); s != "" {
		sanitize.Fprintf(&a.report, ", sheet %s", comment(s))
	}
	sanitize.Fprintf(&a.report, ", headers in %s\n", a.rowName(a.first))
	for _, b := range a.bindings {
		sanitize.Fprintf(&a.report, "  %s: %s", a.column(b.index), b.field.Path)
		if b.move != "" {
			sanitize.Fprintf(&a.report, " of %s", b.move)
		}
		if b.field.Pair {
			sanitize.Fprintf(&a.report, ", %s end", [...]string{"driven", "far"}[b.end])
		}
		if b.how != "" {
			sanitize.Fprintf(&a.report, ", %s", b.how)
		}
		switch m := b.reader.marks; {
		case m.declared && b.field.Sort != spec.Quantity && b.field.Sort != spec.Number:
		case m.declared:
			sanitize.Fprintf(&a.report, ", decimal %s from the mapping", m.decided)
		case m.decided == mixed:
			a.report.WriteString(", decimal comma and decimal point both occur")
		case m.decided != undecided:
			sanitize.Fprintf(&a.report, ", decimal %s", m.decided)
		}
		a.report.WriteString("\n")
	}
	at := map[string][]string{}
	for i, h := range a.headers {
		if h != "" {
			at[fold(h)] = append(at[fold(h)], a.letter(i))
		}
	}
	for _, h := range slices.Sorted(maps.Keys(at)) {
		if len(at[h]) > 1 {
			sanitize.Fprintf(&a.report, "  the header %q is used for %s\n", comment(h), clip(strings.Join(at[h], ", ")))
		}
	}
}

// closing says what was done, and what was not made use of.
func (a *adopter) closing() {
	r := &a.result
	used := map[int]bool{}
	for _, b := range a.bindings {
		used[b.index] = true
	}
	for _, i := range a.titles {
		used[i] = true
	}
	var idle []string
	for i, h := range a.headers {
		if !used[i] && h != "" {
			idle = append(idle, a.column(i))
		}
	}
	list := func(what string, names []string) {
		if len(names) > 20 {
			names = append(names[:20:20], fmt.Sprintf("%d more", len(names)-20))
		}
		if len(names) > 0 {
			sanitize.Fprintf(&a.report, "%s: %s\n", what, strings.Join(names, ", "))
		}
	}
	list("columns not used", idle)
	list("parts to declare in a parts file", slices.Sorted(maps.Keys(a.parts)))
	row := "row"
	if a.m.Turned {
		row = "column"
	}
	sanitize.Fprintf(&a.report, "%s: %d cells read, %d not known, %d not read\n", count(r.Rows, row), r.Read, r.Unknown, r.Unread)
	if a.beyond > 0 {
		sanitize.Fprintf(&a.report, "%s after %s, the last one of the mapping, not read\n", count(a.beyond, row), a.rowName(a.m.LastRow))
	}
	if r.LeftOut+r.Renamed > 0 {
		sanitize.Fprintf(&a.report, "%s left out, %s already in use\n", count(r.LeftOut, "row"), count(r.Renamed, "name"))
	}
	if more := a.said - maxSaid; more > 0 {
		sanitize.Fprintf(&a.report, "%d more messages about the table are not shown\n", more)
	}
	verb := ""
	if a.opt.Try {
		verb = "would be "
	}
	sanitize.Fprintf(&a.report, "%s: %d %swritten, %d %srewritten, %d unchanged, %d kept\n", axes(r.Axes), r.Written, verb, r.Rewritten, verb, r.Unchanged, r.Kept)
}

func axes(n int) string {
	if n == 1 {
		return "1 axis"
	}
	return fmt.Sprintf("%d axes", n)
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
