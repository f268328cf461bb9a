package tableimport

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// The workbooks are made by a library that shares no code with the reader.
func makeWorkbook(t testing.TB, file string, fill func(*excelize.File)) {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	fill(f)
	if err := f.SaveAs(file); err != nil {
		t.Fatal(err)
	}
}

func set(t testing.TB, f *excelize.File, sheet string, cells map[string]any) {
	t.Helper()
	for _, at := range slices.Sorted(maps.Keys(cells)) { // the shared texts get their numbers in this order
		if err := f.SetCellValue(sheet, at, cells[at]); err != nil {
			t.Fatal(err)
		}
	}
}

func xlsx(o *Options) { o.Table = strings.TrimSuffix(o.Table, ".csv") + ".xlsx" }

func TestWorkbook(t *testing.T) {
	dir := put(t, map[string]string{"fleet.map.hcl": `
sheet = "old  axes"
axis  = "{Axis}"
column "Mass [kg]" { field = "load.mass" }
column "Lead [mm]" { field = "screw.lead" }
column "Reliability" { field = "duty.reliability" }
column "Efficiency" { field = "screw.efficiency" }
column "Stroke" { field = "motion.stroke" }
column "Wipers" { field = "nut.wipers" }
column "Notes" { field = "description" }
`})
	makeWorkbook(t, filepath.Join(dir, "fleet.xlsx"), func(f *excelize.File) {
		const s = "Old Axes"
		if _, err := f.NewSheet(s); err != nil {
			t.Fatal(err)
		}
		set(t, f, "Sheet1", map[string]any{"A1": "nothing here"})
		set(t, f, s, map[string]any{
			"A2": "Axis", "B2": "Mass [kg]", "C2": "Lead [mm]", "D2": "Reliability", "E2": "Efficiency", "F2": "Stroke", "G2": "Wipers", "H2": "Notes",
			"A3": "one", "B3": 1.234, "C3": 0.1 + 0.2, "D3": 0.95, "E3": 0.925, "F3": "1,5 m", "G3": true, "H3": "plain",
			"A4": 2, "B4": "1.234", "C4": 1e-3, "D4": 0.95, "F4": "-", "G4": false,
			"A6": "three", "B6": time.Date(2026, 4, 3, 0, 0, 0, 0, time.UTC), "C6": "#DIV/0!", "G6": "no",
			"A7": "four",
		})
		percent, err := f.NewStyle(&excelize.Style{NumFmt: 10})
		if err != nil {
			t.Fatal(err)
		}
		code := `0.0" day"`
		days, err := f.NewStyle(&excelize.Style{CustomNumFmt: &code})
		if err != nil {
			t.Fatal(err)
		}
		for _, err := range []error{
			f.SetCellStyle(s, "D3", "E3", percent),
			f.SetCellStyle(s, "B3", "B3", days), // text in a number's format is no date
			f.SetCellFormula(s, "B7", "B3*2"),
			f.SetCellRichText(s, "H4", []excelize.RichTextRun{{Text: "rich "}, {Text: "text"}}),
		} {
			if err != nil {
				t.Fatal(err)
			}
		}
	})
	r, report := adopted(t, dir, xlsx)
	out := filepath.Join(dir, "out")
	readable(t, out)
	got := files(t, out)
	for name, want := range map[string][]string{
		"one.axis.hcl":   {`mass = "1.234 kg"`, `lead       = "0.3 mm"`, `reliability = "95 %" # D "Reliability": 95 %`, "efficiency = 92.5 / 100", `stroke = "1.5 m"`, "wipers = true", `description = "plain"`, `fleet.xlsx, sheet Old Axes, row 3;`},
		"2.axis.hcl":     {`lead = "0.001 mm"`, "wipers = false", `"rich text"`},
		"three.axis.hcl": {"wipers = false", "row 6;"},
		"four.axis.hcl":  {`axis "four"`},
	} {
		for _, w := range want {
			if !strings.Contains(got[name], w) {
				t.Errorf("%s: no %s in\n%s", name, w, got[name])
			}
		}
	}
	for _, want := range []string{
		`row 4, B "Mass [kg]": not read for load.mass: 1.234 may be 1.234 or 1234`, // a text, not a number
		`row 4, D "Reliability": not read for duty.reliability: 0.95 has no unit`,
		`row 6, B "Mass [kg]": not read for load.mass: it is a date`,
		`row 6, C "Lead [mm]": not read for screw.lead: #DIV/0! is a spreadsheet error`,
		`row 7, B "Mass [kg]": not read for load.mass: it is a formula without a value`,
	} {
		if !strings.Contains(report, want) {
			t.Errorf("no %s in\n%s", want, report)
		}
	}
	if r.Unread != 5 || r.Axes != 4 {
		t.Errorf("%+v\n%s", r, report)
	}
	if _, _, err := tryAdopt(put(t, map[string]string{"fleet.csv": "Axis\nx\n", "fleet.map.hcl": "sheet = \"x\"\naxis = \"{Axis}\"\ncolumn \"Axis\" { field = \"description\" }\n"})); err == nil || !strings.Contains(err.Error(), "no sheets") {
		t.Error(err)
	}
}

// TestWorkbookWitness reads a sheet with the library too.
func TestWorkbookWitness(t *testing.T) {
	file := filepath.Join(t.TempDir(), "x.xlsx")
	makeWorkbook(t, file, func(f *excelize.File) {
		w, err := f.NewStreamWriter("Sheet1")
		if err != nil {
			t.Fatal(err)
		}
		for i := range 500 {
			cells := make([]any, 8)
			for k := range cells {
				switch (i + k) % 5 {
				case 0:
					cells[k] = fmt.Sprintf("text %d <&> ü", i*k)
				case 1:
					cells[k] = i * k
				case 2:
					cells[k] = float64(i) / 8
				case 3:
					cells[k] = "1,25"
				}
			}
			if err := w.SetRow(fmt.Sprintf("A%d", 2*i+1), cells); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Flush(); err != nil {
			t.Fatal(err)
		}
	})
	lib, err := excelize.OpenFile(file)
	if err != nil {
		t.Fatal(err)
	}
	defer lib.Close()
	want, err := lib.GetRows("Sheet1", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	table, err := openTable(file, &Mapping{})
	if err != nil {
		t.Fatal(err)
	}
	defer table.close()
	rows := 0
	err = table.rows(context.Background(), func(r *row) error {
		rows++
		for i, w := range want[r.number-1] {
			if got := r.cell(i); got.text != w || got.trouble != "" {
				t.Errorf("row %d, %s: %+v, want %q", r.number, letter(i), got, w)
			}
		}
		return nil
	})
	if err != nil || rows != 500 {
		t.Error(rows, err)
	}
}

// BenchmarkWorkbook reads the rows of a large workbook.
func BenchmarkWorkbook(b *testing.B) {
	const rows = 100_000
	dir := put(b, map[string]string{"fleet.map.hcl": bigMap})
	makeWorkbook(b, filepath.Join(dir, "fleet.xlsx"), func(f *excelize.File) {
		w, err := f.NewStreamWriter("Sheet1")
		if err != nil {
			b.Fatal(err)
		}
		err = w.SetRow("A1", []any{"Machine", "Axis", "Mass [kg]", "Lead", "Stroke mm", "Speed [m/s]"})
		for i := 0; i < rows && err == nil; i++ {
			err = w.SetRow(fmt.Sprintf("A%d", i+2), []any{fmt.Sprintf("m %d", i/50), i % 50, 20 + float64(i%300)/8, fmt.Sprintf("%d mm", 5+i%20), 100 + i%1000, 0.5})
		}
		if err == nil {
			err = w.Flush()
		}
		if err != nil {
			b.Fatal(err)
		}
	})
	for b.Loop() {
		var out countingWriter
		opt := Options{Table: filepath.Join(dir, "fleet.xlsx"), Out: filepath.Join(dir, "out"), Try: true}
		if r, err := Run(context.Background(), opt, &out); err != nil || r.Axes != rows || !r.Whole() {
			b.Fatal(r, err)
		}
	}
	b.ReportMetric(float64(rows)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}

func TestHostileWorkbook(t *testing.T) {
	dir := put(t, map[string]string{"fleet.map.hcl": "axis = \"{A}\"\ncolumn \"B\" { field = \"screw.lead\" }\n"})
	file := filepath.Join(dir, "fleet.xlsx")
	makeWorkbook(t, file, func(f *excelize.File) {
		set(t, f, "Sheet1", map[string]any{"A1": "A", "B1": "B", "A2": "x", "B2": "5 mm", "A3": "y", "B3": "6 mm"})
	})
	good, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	// change packs the workbook anew with one part changed.
	change := func(name string, part func(io.Writer, []byte)) []byte {
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		r, err := zip.NewReader(bytes.NewReader(good), int64(len(good)))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range r.File {
			in, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			src, err := io.ReadAll(in)
			if err != nil {
				t.Fatal(err)
			}
			out, err := w.Create(f.Name)
			if err != nil {
				t.Fatal(err)
			}
			if f.Name == name {
				part(out, src)
			} else if _, err := out.Write(src); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	bomb := func(out io.Writer, _ []byte) {
		zeros := make([]byte, 1<<20)
		for range 80 {
			_, _ = out.Write(zeros)
		}
	}
	cut := func(out io.Writer, src []byte) { _, _ = out.Write(src[:bytes.LastIndex(src, []byte("<row"))+8]) }
	swap := func(old, new string) func(io.Writer, []byte) {
		return func(out io.Writer, src []byte) {
			if !bytes.Contains(src, []byte(old)) {
				t.Fatalf("no %s in %s", old, src)
			}
			_, _ = out.Write(bytes.ReplaceAll(src, []byte(old), []byte(new)))
		}
	}
	for name, c := range map[string]struct {
		src  []byte
		want string // of the error; or of the report after +
	}{
		"bomb sheet":   {change("xl/worksheets/sheet1.xml", bomb), "it is rejected"},
		"bomb texts":   {change("xl/sharedStrings.xml", bomb), "it is rejected"},
		"bomb styles":  {change("xl/styles.xml", bomb), "it is rejected"},
		"broken off":   {change("xl/worksheets/sheet1.xml", cut), "damaged behind row 2"},
		"no xml":       {change("xl/worksheets/sheet1.xml", swap("<", ">")), "empty"},
		"cut zip":      {good[:len(good)/2], "damaged"},
		"no zip":       {[]byte("hello"), "not an XLSX workbook"},
		"old":          {[]byte("\xd0\xcf\x11\xe0 old"), "old or encrypted"},
		"bad index":    {change("xl/worksheets/sheet1.xml", swap("<v>4</v>", "<v>-3</v>")), "+its text is missing"},
		"far index":    {change("xl/worksheets/sheet1.xml", swap("<v>4</v>", "<v>99999999</v>")), "+its text is missing"},
		"far column":   {change("xl/worksheets/sheet1.xml", swap(`r="B2"`, `r="ZZZ2"`)), "+2 rows"},
		"row backward": {change("xl/worksheets/sheet1.xml", swap(`<row r="3"`, `<row r="-7"`)), "+2 rows"},
		"style":        {change("xl/worksheets/sheet1.xml", swap(`t="s"`, `t="s" s="-4"`)), "+2 rows"},
	} {
		if err := os.WriteFile(file, c.src, 0o666); err != nil {
			t.Fatal(err)
		}
		_, report, err := tryAdopt(dir, xlsx)
		if want, ok := strings.CutPrefix(c.want, "+"); ok {
			if err != nil || !strings.Contains(report, want) {
				t.Errorf("%s: %v; want %q in\n%s", name, err, want, report)
			}
		} else if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

// What Go takes for a number and a spreadsheet does not is none. The form is that
// of xsd:double in XML Schema 1.1, part 2, 3.3.5, without its three words.
func TestNumberCell(t *testing.T) {
	for _, text := range []string{"inf", "-Inf", "NaN", "INF", "0x1p4", "1_000", "1e400", "1,5", "5 mm", "--1", "e5"} {
		for _, s := range []style{plainNumber, inPercent} {
			if c := numberCell(text, s); c.trouble == "" || c.number || c.text != "" {
				t.Errorf("%q is read as %+v", text, c)
			}
		}
	}
	for text, want := range map[string]string{"+5": "5", " 7 ": "7", "12e3": "12000", "1.5E-3": "0.0015", ".5": "0.5", "5.": "5", "0.30000000000000004": "0.3"} {
		if c := numberCell(text, plainNumber); c != (cell{text: want, number: true}) {
			t.Errorf("%q is read as %+v, want %s", text, c, want)
		}
	}
	if c := numberCell("1e308", inPercent); c.trouble == "" {
		t.Errorf("a percentage without end is read as %+v", c)
	}
}

func TestStyleOf(t *testing.T) {
	for code, want := range map[string]style{
		"General": plainNumber, "0.00": plainNumber, "0.0%": inPercent, `0.0" mm"`: plainNumber, `0.0"%"`: plainNumber, "yyyy-mm-dd": asDate,
		"[h]:mm": asDate, "[Red]0.0": plainNumber, "0;[Red]-0": plainNumber, `0\d`: plainNumber, "#,##0.00_);(#,##0.00)": plainNumber, `"`: plainNumber, "[": plainNumber, `\`: plainNumber,
	} {
		if got := styleOf(code); got != want {
			t.Errorf("%q: %v, want %v", code, got, want)
		}
	}
}

// wide makes a workbook of rows that hold nothing but a cell in the last column
// there is, behind a good one.
func wide(t testing.TB, file string, rows int) {
	t.Helper()
	makeWorkbook(t, file, func(f *excelize.File) {
		set(t, f, "Sheet1", map[string]any{"A1": "A", "B1": "B", "A2": "x", "B2": "5 mm"})
		w, err := f.NewStreamWriter("Sheet1")
		if err != nil {
			t.Fatal(err)
		}
		_ = w.SetRow("A1", []any{"A", "B"})
		_ = w.SetRow("A2", []any{"x", "5 mm"})
		for i := range rows {
			if err := w.SetRow(fmt.Sprintf("XFD%d", 3+i), []any{1}); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Flush(); err != nil {
			t.Fatal(err)
		}
	})
}

// TestWideWorkbook holds that what is not there costs nothing: a row is as long
// as its cells, wherever they stand.
func TestWideWorkbook(t *testing.T) {
	file := filepath.Join(t.TempDir(), "x.xlsx")
	wide(t, file, 2000)
	tab, err := openTable(file, &Mapping{})
	if err != nil {
		t.Fatal(err)
	}
	defer tab.close()
	rows, cells := 0, 0
	err = tab.rows(context.Background(), func(r *row) error {
		rows, cells = rows+1, cells+cap(r.cells)
		if r.number > 2 && (r.cell(maxColumns-1).text != "1" || r.width() != maxColumns || r.cell(0).text != "") {
			t.Errorf("row %d: %+v", r.number, r)
		}
		return nil
	})
	if err != nil || rows != 2002 || cells > 10*rows {
		t.Errorf("%d rows with room for %d cells, %v", rows, cells, err)
	}
}
