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
	at      []int  // the columns of the cells, ascending; nil where none is left out
	trouble string // why the row cannot be read at all
}

// cell is that of a column, from 0.
func (r *row) cell(column int) cell {
	i, ok := column, column < len(r.cells)
	if r.at != nil {
		i, ok = slices.BinarySearch(r.at, column)
	}
	if !ok {
		return cell{}
	}
	return r.cells[i]
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
	return t, nil
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
