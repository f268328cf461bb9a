package tableimport

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"trammel/cmd/internal/atomicfile"
)

// Bounds on a table. A spreadsheet has 16384 columns, 1048576 rows and cells of 32767
// characters at most.
const (
	maxColumns  = 16384
	maxRows     = 1 << 20
	maxCell     = 32767
	maxRowBytes = 4 << 20
)

// A row is one row of a table.
type row struct {
	number  int // from 1, as a spreadsheet counts
	cells   []cell
	at      []int        // the columns of the cells, ascending; nil where none is left out
	trouble string       // why the row cannot be read at all
	filled  map[int]cell // what is repeated from above
}

// cell is that of a column, from 0.
func (r *row) cell(column int) cell {
	if c, ok := r.filled[column]; ok {
		return c
	}
	i, ok := column, column < len(r.cells)
	if r.at != nil {
		i, ok = slices.BinarySearch(r.at, column)
	}
	if !ok {
		return cell{}
	}
	return r.cells[i]
}

// put puts a cell into a column, as long as the row is valid.
func (r *row) put(column int, c cell) {
	if r.filled == nil {
		r.filled = map[int]cell{}
	}
	r.filled[column] = c
}

// width is one more than the last column.
func (r *row) width() int {
	if len(r.at) > 0 {
		return r.at[len(r.at)-1] + 1
	}
	return len(r.cells)
}

// A table is read row by row, as often as wanted.
type table interface {
	// rows calls each for every row that is not missing. The row is only
	// valid during the call.
	rows(ctx context.Context, each func(*row) error) error
	// form says in words how the table was understood.
	form() string
	sheet() string // "" where there are no sheets
	close() error
}

// openTable opens a table by the ending of its name. trees are as for
// atomicfile.Write.
func openTable(file string, m *Mapping, trees ...string) (table, error) {
	f, err := atomicfile.Open(file, trees...) // a table is read twice
	if err != nil {
		return nil, atomicfile.Reason(err)
	}
	info, err := f.Stat()
	if err != nil {
		f.Close()
		return nil, atomicfile.Reason(err)
	}
	head := make([]byte, 8)
	n, _ := f.ReadAt(head, 0)
	head = head[:n]
	var t table
	switch ext := strings.ToLower(filepath.Ext(file)); {
	case strings.HasPrefix(string(head), "PK\x03\x04"):
		t, err = openWorkbook(f, info.Size(), m)
	case strings.HasPrefix(string(head), "\xd0\xcf\x11\xe0"):
		err = errors.New("it is an old or encrypted workbook; save it as XLSX without a password, or as CSV")
	case ext == ".xlsx" || ext == ".xlsm":
		err = errors.New("it is not an XLSX workbook despite its name; save it as XLSX or CSV")
	default:
		if m.Sheet != "" {
			err = fmt.Errorf("the mapping names sheet %q, but the table has no sheets", clip(m.Sheet))
			break
		}
		t, err = openText(f, m)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	if m.Turned {
		return &turned{table: t}, nil
	}
	return t, nil
}

// turned is a table in which each column is an axis. It is held in memory as a whole.
type turned struct {
	table
	cells [][]cell // by column
}

// Bounds on a table that is turned.
const (
	maxTurned      = 1 << 20 // cells
	maxTurnedBytes = 64 << 20
)

func (t *turned) form() string { return t.table.form() + ", an axis in each column" }

// load reads the table.
func (t *turned) load(ctx context.Context) error {
	count, size := 0, 0
	return t.table.rows(ctx, func(r *row) error {
		if r.trouble != "" {
			return fmt.Errorf("row %d: %s", r.number, r.trouble)
		}
		for i := range r.width() {
			for len(t.cells) <= i {
				t.cells = append(t.cells, nil)
			}
			c := r.cell(i)
			if c == (cell{}) {
				continue
			}
			count, size = count+r.number-len(t.cells[i]), size+len(c.text)
			if count > maxTurned || size > maxTurnedBytes {
				return fmt.Errorf("row %d: a table with transposed has at most %d cells and %d MB of text", r.number, maxTurned, maxTurnedBytes>>20)
			}
			t.cells[i] = append(t.cells[i], make([]cell, r.number-len(t.cells[i]))...)
			t.cells[i][r.number-1] = c
		}
		return nil
	})
}

func (t *turned) rows(ctx context.Context, each func(*row) error) error {
	if t.cells == nil {
		if err := t.load(ctx); err != nil {
			return err
		}
	}
	for i, cells := range t.cells {
		if err := each(&row{number: i + 1, cells: cells}); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// letter names a column, from 0, as a spreadsheet does.
func letter(i int) string {
	s := ""
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('A'+(i-1)%26)) + s
	}
	return s
}

// letterIndex is the column of a letter, or -1.
func letterIndex(s string) int {
	if len(s) == 0 || len(s) > 3 {
		return -1
	}
	n := 0
	for _, c := range strings.ToUpper(s) {
		if c < 'A' || c > 'Z' {
			return -1
		}
		n = 26*n + int(c-'A') + 1
	}
	return n - 1
}
