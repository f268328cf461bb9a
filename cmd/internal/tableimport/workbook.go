package tableimport

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"math/big"
	"os"
	"path"
	"strconv"
	"strings"
)

// Bounds on a workbook: what is packed small may be huge.
const (
	maxUnpacked = 4 << 30   // a sheet, which is streamed
	maxStrings  = 256 << 20 // the shared texts, which are held
	maxPart     = 16 << 20  // anything else
	maxRatio    = 50        // unpacked to packed, above a size that does no harm
	harmless    = 8 << 20
	maxStyles   = 1 << 16
)

// A workbook is a sheet of an XLSX file. It is read here rather than by a
// library: whether a cell is a number or a text that looks like one decides
// how "1.234" is to be read, and a sheet that breaks off must not pass for a
// short one.
type workbook struct {
	file    *os.File
	zip     *zip.Reader
	part    *zip.File // the sheet
	name    string
	names   []string // of all sheets
	strings []string
	styles  []style
}

// A style is what matters of the way a number is shown.
type style uint8

const (
	plainNumber style = iota
	inPercent
	asDate
)

func openWorkbook(f *os.File, size int64, m *Mapping) (*workbook, error) {
	z, err := zip.NewReader(f, size)
	if err != nil {
		return nil, errors.New("it is damaged: " + err.Error())
	}
	w := &workbook{file: f, zip: z}
	if err := w.findSheet(m.Sheet); err != nil {
		return nil, err
	}
	if err := w.readStyles(); err != nil {
		return nil, err
	}
	return w, w.readStrings()
}

func (w *workbook) form() string  { return "XLSX" }
func (w *workbook) sheet() string { return w.name }
func (w *workbook) close() error  { return w.file.Close() }

func (w *workbook) find(name string) *zip.File {
	for _, f := range w.zip.File {
		if strings.EqualFold(strings.ReplaceAll(f.Name, `\`, "/"), name) {
			return f
		}
	}
	return nil
}

// open opens a part of the file, held to a size.
func (w *workbook) open(f *zip.File, most uint64) (io.ReadCloser, error) {
	size := f.UncompressedSize64
	if size > most || size > harmless && size/maxRatio > f.CompressedSize64 {
		return nil, fmt.Errorf("it is rejected: %s unpacks to %d MB", clip(f.Name), size>>20)
	}
	r, err := f.Open()
	if err != nil {
		return nil, errors.New("it is damaged: " + err.Error())
	}
	return r, nil
}

// decode reads a small part as a whole.
func (w *workbook) decode(name string, into any) error {
	f := w.find(name)
	if f == nil {
		return fmt.Errorf("it is not an XLSX workbook: it has no part %s", clip(name))
	}
	r, err := w.open(f, maxPart)
	if err != nil {
		return err
	}
	defer r.Close()
	if err := xml.NewDecoder(bufio.NewReader(r)).Decode(into); err != nil {
		return fmt.Errorf("it is damaged: %s: %w", clip(name), err)
	}
	return nil
}

func (w *workbook) findSheet(wanted string) error {
	var book struct {
		Sheets []struct {
			Name string     `xml:"name,attr"`
			Attr []xml.Attr `xml:",any,attr"`
		} `xml:"sheets>sheet"`
	}
	var links struct {
		Links []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
			Type   string `xml:"Type,attr"`
		} `xml:"Relationship"`
	}
	if err := w.decode("xl/workbook.xml", &book); err != nil {
		return err
	}
	if err := w.decode("xl/_rels/workbook.xml.rels", &links); err != nil {
		return err
	}
	var names []string
	for _, s := range book.Sheets {
		names = append(names, s.Name)
	}
	w.names = names
	for _, s := range book.Sheets {
		if wanted != "" && fold(s.Name) != fold(wanted) {
			continue
		}
		id := ""
		for _, a := range s.Attr {
			if a.Name.Local == "id" && a.Name.Space != "" {
				id = a.Value
			}
		}
		for _, l := range links.Links {
			if l.ID != id || !strings.HasSuffix(l.Type, "/worksheet") {
				continue
			}
			target := path.Join("xl", l.Target)
			if strings.HasPrefix(l.Target, "/") {
				target = path.Clean(l.Target)[1:]
			}
			if w.part = w.find(target); w.part != nil {
				w.name = s.Name
				return nil
			}
		}
	}
	if wanted != "" {
		return fmt.Errorf("it has no sheet %q; it has %s", clip(wanted), clip(strings.Join(names, ", ")))
	}
	return errors.New("it has no sheet of cells")
}

func (w *workbook) readStyles() error {
	if w.find("xl/styles.xml") == nil {
		return nil
	}
	var sheet struct {
		Formats []struct {
			ID   int    `xml:"numFmtId,attr"`
			Code string `xml:"formatCode,attr"`
		} `xml:"numFmts>numFmt"`
		Cells []struct {
			Format int `xml:"numFmtId,attr"`
		} `xml:"cellXfs>xf"`
	}
	if err := w.decode("xl/styles.xml", &sheet); err != nil {
		return err
	}
	codes := map[int]string{}
	for _, f := range sheet.Formats {
		codes[f.ID] = f.Code
	}
	for i, c := range sheet.Cells {
		if i == maxStyles {
			break
		}
		s := plainNumber
		code, own := codes[c.Format]
		switch {
		case own:
			s = styleOf(code)
		case c.Format == 9 || c.Format == 10:
			s = inPercent
		case c.Format >= 14 && c.Format <= 22 || c.Format >= 27 && c.Format <= 36 || c.Format >= 45 && c.Format <= 47 || c.Format >= 50 && c.Format <= 58:
			s = asDate
		}
		w.styles = append(w.styles, s)
	}
	return nil
}

// styleOf looks at a number format, without what stands in it as text.
func styleOf(code string) style {
	code, _, _ = strings.Cut(code, ";")
	var b strings.Builder
	for i := 0; i < len(code); i++ {
		switch code[i] {
		case '"':
			if end := strings.IndexByte(code[i+1:], '"'); end >= 0 {
				i += end + 1
			}
		case '[':
			if end := strings.IndexByte(code[i:], ']'); end >= 0 {
				if in := strings.ToLower(code[i+1 : i+end]); in != "" && strings.Trim(in, "hms") == "" {
					return asDate // elapsed time
				}
				i += end
			}
		case '\\', '_', '*':
			i++
		default:
			b.WriteByte(code[i])
		}
	}
	bare := strings.ToLower(b.String())
	switch {
	case strings.Contains(bare, "%"):
		return inPercent
	case bare != "general" && strings.ContainsAny(bare, "dmyhs"):
		return asDate
	}
	return plainNumber
}

// readStrings reads the shared texts. Phonetic helps are no part of a text.
func (w *workbook) readStrings() error {
	f := w.find("xl/sharedStrings.xml")
	if f == nil {
		return nil
	}
	r, err := w.open(f, maxStrings)
	if err != nil {
		return err
	}
	defer r.Close()
	d := xml.NewDecoder(bufio.NewReaderSize(r, 1<<16))
	for {
		t, err := d.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("it is damaged: its texts: %w", err)
		}
		if s, ok := t.(xml.StartElement); ok && s.Name.Local == "si" {
			text, err := richText(d)
			if err != nil {
				return fmt.Errorf("it is damaged: its texts: %w", err)
			}
			w.strings = append(w.strings, text)
		}
	}
}

// richText reads what is left of an element and joins the text in its runs.
func richText(d *xml.Decoder) (string, error) {
	var b strings.Builder
	depth, phonetic, in := 1, 0, false
	for depth > 0 {
		t, err := d.Token()
		if err != nil {
			return "", unexpected(err)
		}
		switch t := t.(type) {
		case xml.StartElement:
			depth++
			if t.Name.Local == "rPh" && phonetic == 0 {
				phonetic = depth
			}
			in = t.Name.Local == "t"
		case xml.EndElement:
			if phonetic == depth {
				phonetic = 0
			}
			depth--
			in = false
		case xml.CharData:
			if in && phonetic == 0 && b.Len() <= maxCell {
				b.Write(t)
			}
		}
	}
	return b.String(), nil
}

func unexpected(err error) error {
	if err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	return err
}

// rows streams the sheet.
func (w *workbook) rows(ctx context.Context, each func(*row) error) error {
	part, err := w.open(w.part, maxUnpacked)
	if err != nil {
		return err
	}
	defer part.Close()
	d := xml.NewDecoder(bufio.NewReaderSize(part, 1<<16))
	r := &row{at: []int{}}
	for seen := 0; ; seen++ {
		t, err := d.Token()
		if err == io.EOF {
			return ctx.Err()
		}
		if err != nil {
			return damaged(r.number, err)
		}
		if seen%1024 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		s, ok := t.(xml.StartElement)
		if !ok || s.Name.Local != "row" {
			continue
		}
		number := r.number + 1
		for _, a := range s.Attr {
			if a.Name.Local == "r" {
				if n, err := strconv.Atoi(a.Value); err == nil && n > r.number {
					number = n
				}
			}
		}
		if number > maxRows {
			return damaged(r.number, errors.New("it has more rows than any spreadsheet"))
		}
		r.number, r.cells, r.at = number, r.cells[:0], r.at[:0]
		if err := w.cells(d, r); err != nil {
			return damaged(r.number, err)
		}
		if err := each(r); err != nil {
			return err
		}
	}
}

func damaged(row int, err error) error {
	return fmt.Errorf("it is damaged behind row %d: %w", row, err)
}

func (w *workbook) cells(d *xml.Decoder, r *row) error {
	size := 0
	for {
		t, err := d.Token()
		if err != nil {
			return unexpected(err)
		}
		switch t := t.(type) {
		case xml.EndElement:
			return nil // of the row: each cell eats its own
		case xml.StartElement:
			if t.Name.Local != "c" {
				if err := d.Skip(); err != nil {
					return unexpected(err)
				}
				continue
			}
			at, c, err := w.cell(d, t, r.width())
			if err != nil {
				return err
			}
			if at < r.width() || at >= maxColumns {
				continue // stands twice, or outside any spreadsheet
			}
			if size += len(c.text); size > maxRowBytes {
				c = cell{trouble: "its row is longer than any of a spreadsheet"}
			}
			r.cells, r.at = append(r.cells, c), append(r.at, at)
		}
	}
}

// cell reads one cell: the value, never the formula behind it.
func (w *workbook) cell(d *xml.Decoder, start xml.StartElement, at int) (int, cell, error) {
	kind, look := "", 0
	for _, a := range start.Attr {
		switch a.Name.Local {
		case "r":
			if i := letterIndex(strings.TrimRight(a.Value, "0123456789")); i >= 0 {
				at = i
			}
		case "t":
			kind = a.Value
		case "s":
			look, _ = strconv.Atoi(a.Value)
		}
	}
	text, formula, found := "", false, false
	for {
		t, err := d.Token()
		if err != nil {
			return 0, cell{}, unexpected(err)
		}
		switch t := t.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case "v", "is", "f":
				// Text of its own counts as a run.
				s, err := inner(d, t.Name.Local == "is")
				if err != nil {
					return 0, cell{}, err
				}
				if t.Name.Local == "f" {
					formula = true
				} else {
					text, found = s, true
				}
			default:
				if err := d.Skip(); err != nil {
					return 0, cell{}, unexpected(err)
				}
			}
			continue
		case xml.EndElement:
		default:
			continue
		}
		break
	}
	c := cell{text: text}
	switch {
	case !found && formula:
		c = cell{trouble: "it is a formula without a value; open the table in a spreadsheet and save it"}
	case !found:
	case len(text) > maxCell:
		c = cell{trouble: "it is longer than any cell of a spreadsheet"}
	case kind == "s":
		i, err := strconv.Atoi(strings.TrimSpace(text))
		if err != nil || i < 0 || i >= len(w.strings) {
			c = cell{trouble: "its text is missing from the workbook"}
			break
		}
		c = w.limited(w.strings[i])
	case kind == "b":
		c.text = map[string]string{"1": "yes", "0": "no"}[text]
	case kind == "d":
		c = cell{trouble: clip(text) + " is a date"}
	case kind == "" || kind == "n":
		s := plainNumber
		if look >= 0 && look < len(w.styles) {
			s = w.styles[look]
		}
		c = numberCell(text, s)
	}
	return at, c, nil
}

func (w *workbook) limited(s string) cell {
	if len(s) > maxCell {
		return cell{trouble: "it is longer than any cell of a spreadsheet"}
	}
	return cell{text: s}
}

// inner reads what is left of an element: its own text, or that of its runs.
func inner(d *xml.Decoder, runs bool) (string, error) {
	if runs {
		return richText(d)
	}
	var b bytes.Buffer
	for {
		t, err := d.Token()
		if err != nil {
			return "", unexpected(err)
		}
		switch t := t.(type) {
		case xml.CharData:
			if b.Len() <= maxCell {
				b.Write(t)
			}
		case xml.StartElement:
			if err := d.Skip(); err != nil {
				return "", unexpected(err)
			}
		case xml.EndElement:
			return b.String(), nil
		}
	}
}

// numberCell writes a number as a spreadsheet shows it: to 15 digits, which
// takes away the tail of binary fractions. One shown in percent is moved by two
// places, exactly.
func numberCell(text string, s style) cell {
	text = strings.TrimSpace(text)
	if text == "" {
		return cell{}
	}
	// The form of a number in a workbook knows digits and a power of ten alone.
	n, err := strconv.ParseFloat(text, 64)
	if err != nil || len(text) > 40 || strings.Trim(text, "0123456789+-.eE") != "" {
		return cell{trouble: clip(text) + " is not a number, although the cell type says so"}
	}
	if s == asDate {
		return cell{trouble: "it is a date or time (number " + clip(text) + " shown as one)"}
	}
	short := strconv.FormatFloat(n, 'g', 15, 64)
	if s == inPercent {
		r, ok := new(big.Rat).SetString(short)
		if !ok {
			return cell{trouble: clip(text) + " is not a number"}
		}
		r.Mul(r, big.NewRat(100, 1))
		if n, _ = r.Float64(); math.IsInf(n, 0) {
			return cell{trouble: clip(text) + " shown in percent is too large a number"}
		}
		short = strconv.FormatFloat(n, 'g', 15, 64)
	}
	n, _ = strconv.ParseFloat(short, 64)
	out := strconv.FormatFloat(n, 'f', -1, 64)
	if len(out) > 24 {
		out = strconv.FormatFloat(n, 'e', -1, 64)
	}
	return cell{text: out, number: true, percent: s == inPercent}
}
