package tableimport

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// FuzzTable reads any bytes as a table, twice, as adopt does. Where there is
// nothing to interpret (no quotes, no other line ends, no bytes of other character
// sets) the cells are what splitting the text gives.
func FuzzTable(f *testing.F) {
	for _, name := range []string{"metric", "inch", "mixed"} {
		src, err := os.ReadFile(filepath.Join("testdata", name, "fleet.csv"))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	f.Add([]byte("Plan;;\nSpindel;;Achse\nLänge;{Hub};$\nmm;mm;\n5;dto.;x\n6;s.o.;y\nSumme;;\n"))
	f.Add([]byte("a;b\r\n\"1\"\"\n\";2"))
	f.Add([]byte("\xff\xfea\x00;\x00b\x00\n\x00"))
	f.Add([]byte("sep=|\na|b\n"))
	f.Add([]byte("K\xfchler\t1\n\x80\x81\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		file := filepath.Join(t.TempDir(), "x.csv")
		if err := os.WriteFile(file, src, 0o600); err != nil {
			t.Fatal(err)
		}
		tab, err := openTable(file, &Mapping{})
		if err != nil {
			return
		}
		defer tab.close()
		if err := Draft(t.Context(), Options{Table: file, Try: true}, "", io.Discard); err != nil && strings.Contains(err.Error(), "cannot be read") {
			t.Fatal(err)
		}
		first := readTwice(t, tab)
		text, plain := tab.(*textTable)
		if !plain || text.lead || strings.ContainsAny(string(src), "\"\r\x00\ufeff") || !utf8.Valid(src) || len(src) > 1000 {
			return
		}
		for i, l := range strings.Split(strings.TrimSuffix(string(src), "\n"), "\n") {
			var words []string
			for _, c := range strings.Split(l, string(text.separator)) {
				words = append(words, fmt.Sprintf("%q", c))
			}
			if want := fmt.Sprint(i+1, []int(nil), words, ""); len(src) > 0 && (i >= len(first) || first[i] != want) {
				t.Fatalf("line %d is read as %s, want %s", i+1, first[min(i, len(first)-1)], want)
			}
		}
	})
}

// readTwice reads a table twice, holds each row to the bounds, and gives the rows
// in words with the error at the end.
func readTwice(t *testing.T, tab table) []string {
	t.Helper()
	read := func() (out []string) {
		last := 0
		err := tab.rows(context.Background(), func(r *row) error {
			if r.number <= last || len(r.cells) > maxColumns {
				t.Fatalf("row %d with %d cells behind row %d", r.number, len(r.cells), last)
			}
			last = r.number
			var words []string
			for i, c := range r.cells {
				if r.at != nil && (r.at[i] >= maxColumns || i > 0 && r.at[i] <= r.at[i-1] || r.cell(r.at[i]) != c) {
					t.Fatalf("row %d holds columns %v", r.number, r.at)
				}
				if len(c.text) > 4*maxCell || !utf8.ValidString(c.text) {
					t.Fatalf("row %d holds a cell of %d bytes: %.40q", r.number, len(c.text), c.text)
				}
				if c.number && !plainDecimal.MatchString(c.text) {
					t.Fatalf("row %d holds %q as a number", r.number, c.text)
				}
				words = append(words, fmt.Sprintf("%q%s", c.text, c.trouble))
			}
			out = append(out, fmt.Sprint(r.number, r.at, words, r.trouble))
			return nil
		})
		return append(out, fmt.Sprint(err))
	}
	first := read()
	if again := read(); strings.Join(again, "\n") != strings.Join(first, "\n") {
		t.Fatalf("first\n%s\nagain\n%s", strings.Join(first, "\n"), strings.Join(again, "\n"))
	}
	return first
}

// plainDecimal is a number as a reader of text knows it.
var plainDecimal = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?(e[-+][0-9]+)?$`)

// FuzzWorkbook reads a workbook with any sheet, texts and number formats, and
// with one byte of the packed file changed.
func FuzzWorkbook(f *testing.F) {
	file := filepath.Join(f.TempDir(), "x.xlsx")
	makeWorkbook(f, file, func(x *excelize.File) {
		set(f, x, "Sheet1", map[string]any{
			"A1": "Axis", "B1": "Lead", "C1": "When", "A2": "one", "B2": 5.25, "C2": true, "A3": "two", "B3": 1e-7, "D3": "1,25 mm",
		})
	})
	const sheet, texts, styles = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/styles.xml"
	r, err := zip.OpenReader(file)
	if err != nil {
		f.Fatal(err)
	}
	defer r.Close()
	parts := map[string][]byte{}
	var names []string
	for _, p := range r.File {
		in, err := p.Open()
		if err != nil {
			f.Fatal(err)
		}
		if parts[p.Name], err = io.ReadAll(in); err != nil {
			f.Fatal(err)
		}
		names = append(names, p.Name)
	}
	for _, own := range []string{
		string(parts[sheet]),
		`<worksheet><sheetData><row r="2"><c t="inlineStr"><is><r><t>a</t></r><rPh><t>b</t></rPh></is></c><c s="1"><v>0.95</v></c><c r="D2" s="2"><v>44000</v></c><c><f>A1</f></c></row></sheetData></worksheet>`,
		`<worksheet><row r="4"/><row><c t="s"><v>1</v></c><c t="b"><v>1</v></c><c t="e"><v>#N/A</v></c><c t="d"><v>2026-01-01</v></c></row>`,
	} {
		f.Add([]byte(own), parts[texts], parts[styles], uint16(0), byte(0))
	}
	f.Add(parts[sheet], []byte(`<sst><si><t>a</t></si><si><r><t>b</t></r></si></sst>`), []byte(`<styleSheet><numFmts><numFmt numFmtId="164" formatCode="0.0&quot;d&quot;"/></numFmts><cellXfs><xf numFmtId="164"/><xf numFmtId="9"/><xf numFmtId="14"/></cellXfs></styleSheet>`), uint16(60), byte(1))
	f.Fuzz(func(t *testing.T, own, shared, look []byte, at uint16, flip byte) {
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		for _, name := range names {
			src := parts[name]
			switch name {
			case sheet:
				src = own
			case texts:
				src = shared
			case styles:
				src = look
			}
			out, err := w.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
			if err != nil {
				t.Fatal(err)
			}
			if _, err := out.Write(src); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		b.Bytes()[int(at)%b.Len()] ^= flip
		file := filepath.Join(t.TempDir(), "x.xlsx")
		if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		tab, err := openTable(file, &Mapping{})
		if err != nil {
			return
		}
		defer tab.close()
		readTwice(t, tab)
	})
}
