package tableimport

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"trammel/cmd/internal/atomicfile"
)

// textTable is a table of separated values.
type textTable struct {
	file      *os.File
	coding    string
	decode    func() *encoding.Decoder // nil: none needed
	skip      int64                    // bytes of a mark at the front
	separator rune
	lead      bool // the first line says which separator there is
}

func openText(f *os.File, m *Mapping) (*textTable, error) {
	t := &textTable{file: f}
	if err := t.findCoding(); err != nil {
		return nil, atomicfile.Reason(err)
	}
	return t, t.findSeparator(m)
}

// findCoding decides by the mark at the front; else by the whole text: bytes
// that are not UTF-8 somewhere make it a Windows-1252 text.
func (t *textTable) findCoding() error {
	head := make([]byte, 4096)
	n, err := t.file.ReadAt(head, 0)
	if err != nil && err != io.EOF {
		return err
	}
	head = head[:n]
	utf16 := func(order unicode.Endianness, name string) {
		t.coding = name
		t.decode = unicode.UTF16(order, unicode.IgnoreBOM).NewDecoder
	}
	var zero [2]int
	for i, c := range head {
		if c == 0 {
			zero[i%2]++
		}
	}
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		t.coding, t.skip = "UTF-8", 3
		return nil
	case bytes.HasPrefix(head, []byte("\xff\xfe")):
		t.skip = 2
		utf16(unicode.LittleEndian, "UTF-16")
		return nil
	case bytes.HasPrefix(head, []byte("\xfe\xff")):
		t.skip = 2
		utf16(unicode.BigEndian, "UTF-16")
		return nil
	case zero[1] > n/4 && zero[0] == 0:
		utf16(unicode.LittleEndian, "UTF-16")
		return nil
	case zero[0] > n/4 && zero[1] == 0:
		utf16(unicode.BigEndian, "UTF-16")
		return nil
	case zero[0]+zero[1] > 0:
		return errors.New("it contains NUL bytes, so it is not text; save it as CSV or XLSX")
	}
	t.coding = "UTF-8"
	in := bufio.NewReaderSize(io.NewSectionReader(t.file, 0, 1<<62), 1<<16)
	for {
		piece, err := in.Peek(1 << 16)
		if len(piece) == 0 {
			if err == io.EOF {
				return nil
			}
			return err
		}
		// A character may lie across the end of the piece.
		end := len(piece)
		if err == nil {
			for i := 1; i <= utf8.UTFMax && i < len(piece); i++ {
				if utf8.RuneStart(piece[len(piece)-i]) {
					end = len(piece) - i
					break
				}
			}
		}
		if !utf8.Valid(piece[:end]) {
			t.coding = "Windows-1252"
			t.decode = charmap.Windows1252.NewDecoder
			return nil
		}
		_, _ = in.Discard(end)
	}
}

func (t *textTable) open() *bufio.Reader {
	var in io.Reader = io.NewSectionReader(t.file, t.skip, 1<<62)
	if t.decode != nil {
		in = t.decode().Reader(in)
	}
	return bufio.NewReaderSize(in, 1<<16)
}

// findSeparator takes the sign that parts the header and the rows after it
// most evenly.
func (t *textTable) findSeparator(m *Mapping) error {
	in := t.open()
	line, err := in.Peek(32)
	if err != nil && err != io.EOF && err != bufio.ErrBufferFull {
		return err
	}
	if s := string(line); len(s) > 5 && strings.HasPrefix(strings.ToLower(s), "sep=") && strings.ContainsAny(s[5:6], "\r\n") && strings.ContainsAny(s[4:5], ",;\t") {
		t.lead, t.separator = true, rune(s[4])
	}
	if m.Separator != 0 {
		t.separator = m.Separator
	}
	if t.separator != 0 {
		return nil
	}
	best, separator := -1, ';'
	for _, sep := range []rune{';', '\t', ','} {
		t.separator = sep
		score, err := t.evenness(m)
		if err != nil {
			return err
		}
		if score > best {
			best, separator = score, sep
		}
	}
	t.separator = separator
	return nil
}

// evenness says how evenly the separator parts the first rows, titles above a table left
// out: how many rows have the number of columns that most have counts most, then that
// number. It is -1 where nothing is parted.
func (t *textTable) evenness(m *Mapping) (int, error) {
	widths, rows := map[int]int{}, 0
	err := t.rows(context.Background(), func(r *row) error {
		if r.number < m.HeaderRow || blank(r) {
			return nil
		}
		if rows++; len(r.cells) > 1 {
			widths[len(r.cells)]++
		}
		if rows == 40 {
			return errStop
		}
		return nil
	})
	if err != nil && err != errStop {
		return -1, err
	}
	score := -1
	for width, n := range widths {
		score = max(score, n*1000/rows*10000+min(width, 9999))
	}
	return score, nil
}

var errStop = errors.New("enough")

func (t *textTable) form() string {
	sep := map[rune]string{',': "comma", ';': "semicolon", '\t': "tab"}[t.separator]
	return t.coding + ", separated by " + sep
}

func (t *textTable) sheet() string { return "" }
func (t *textTable) close() error  { return t.file.Close() }

// rows reads the records. It holds one row at a time, and of a cell that is
// too long only the front.
func (t *textTable) rows(ctx context.Context, each func(*row) error) error {
	in := t.open()
	r := &row{}
	var text []byte // of the row's cells so far
	var ends []int
	var long []bool
	tooLong := false
	inQuotes, wasQuoted := false, false
	start := 0
	endCell := func() {
		if len(ends) < maxColumns {
			ends = append(ends, len(text))
			long = append(long, tooLong)
		}
		start, tooLong, wasQuoted = len(text), false, false
	}
	endRow := func(trouble string) error {
		endCell()
		r.number++
		if r.number%1024 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		r.cells = r.cells[:0]
		r.trouble = trouble
		at := 0
		all := string(text)
		for i, end := range ends {
			c := cell{text: all[at:end]}
			if long[i] {
				c = cell{trouble: "it is longer than any cell of a spreadsheet"}
			}
			r.cells = append(r.cells, c)
			at = end
		}
		text, ends, long, start = text[:0], ends[:0], long[:0], 0
		if t.lead && r.number == 1 {
			return nil
		}
		return each(r)
	}
	empty := true // nothing of a row was read yet
	for {
		c, _, err := in.ReadRune()
		if err == io.EOF {
			break
		}
		if err != nil {
			return atomicfile.Reason(err)
		}
		if inQuotes {
			if c != '"' {
				t.add(&text, start, &tooLong, c)
				continue
			}
			next, err := in.Peek(1)
			if err == nil && next[0] == '"' {
				_, _, _ = in.ReadRune()
				t.add(&text, start, &tooLong, '"')
				continue
			}
			inQuotes = false
			continue
		}
		empty = false
		switch {
		case c == t.separator:
			endCell()
		case c == '\n' || c == '\r':
			if c == '\r' {
				if next, err := in.Peek(1); err == nil && next[0] == '\n' {
					_, _, _ = in.ReadRune()
				}
			}
			if err := endRow(""); err != nil {
				return err
			}
			empty = true
		case c == '"' && !wasQuoted && len(bytes.TrimSpace(text[start:])) == 0:
			text = text[:start]
			inQuotes, wasQuoted = true, true
		default:
			t.add(&text, start, &tooLong, c)
		}
	}
	switch {
	case inQuotes:
		text = text[:start]
		return endRow("a quote that opens in column " + letter(len(ends)) + " is not closed before the end of the table; what follows it is lost")
	case !empty:
		return endRow("")
	}
	return ctx.Err()
}

func (t *textTable) add(text *[]byte, start int, tooLong *bool, c rune) {
	if len(*text)-start >= maxCell || len(*text) >= maxRowBytes {
		*tooLong = true
		return
	}
	*text = utf8.AppendRune(*text, c)
}
