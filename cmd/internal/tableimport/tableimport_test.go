package tableimport

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"trammel/spec/amount"
)

const smallMap = `
axis = "{Axis}"
column "Masse [kg]" { field = "load.mass" }
column "Notiz" { field = "description" }
`

func TestEncodings(t *testing.T) {
	const text = "Axis;Masse [kg];Notiz\r\nhöhe;92,5;\"Ä; \"\"x\"\"\r\nzwei\"\r\n\r\nquer;1,5;\r\n"
	encode := func(e interface{ String(string) (string, error) }) string {
		s, err := e.String(text)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	var first map[string]string
	for _, c := range []struct{ name, text string }{
		{"UTF-8", text},
		{"UTF-8 with mark", "\ufeff" + text},
		{"UTF-16 little", encode(unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder())},
		{"UTF-16 big", encode(unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewEncoder())},
		{"UTF-16 little bare", encode(unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewEncoder())},
		{"UTF-16 big bare", encode(unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewEncoder())},
		{"Windows-1252", encode(charmap.Windows1252.NewEncoder())},
		{"line feeds", strings.ReplaceAll(text, "\r\n", "\n")},
		{"carriage returns", strings.ReplaceAll(strings.ReplaceAll(text, "\r\nzwei", "\nzwei"), "\r\n", "\r")},
		{"no end", strings.TrimSuffix(text, "\r\n")},
		{"tabs", strings.ReplaceAll(strings.ReplaceAll(text, "Ä;", "Ä,"), ";", "\t")},
	} {
		dir := put(t, map[string]string{"fleet.csv": c.text, "fleet.map.hcl": smallMap})
		r, report := adopted(t, dir)
		out := filepath.Join(dir, "out")
		readable(t, out)
		got := files(t, out)
		if !r.Whole() || r.Axes != 2 || !strings.Contains(got["höhe.axis.hcl"], `mass = "92.5 kg"`) || !strings.Contains(got["quer.axis.hcl"], "row 4;") {
			t.Errorf("%s: %+v\n%s\n%v", c.name, r, report, got)
		}
		if first == nil {
			first = got
		}
		if got["quer.axis.hcl"] != first["quer.axis.hcl"] {
			t.Errorf("%s: another file:\n%s", c.name, got["quer.axis.hcl"])
		}
	}
	// A table that is long before its first byte of another encoding.
	long := "Axis;Masse [kg];Notiz\n" + strings.Repeat("x;1;yyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyy\n", 4000)
	dir := put(t, map[string]string{"fleet.csv": long + "z;1;\xfc\n", "fleet.map.hcl": smallMap})
	_, report := adopted(t, dir, func(o *Options) { o.Try = true })
	if !strings.HasPrefix(report, "fleet.csv: Windows-1252") {
		t.Error(report[:80])
	}
}

func TestSeparators(t *testing.T) {
	for text, want := range map[string]string{
		"Axis,Masse [kg]\nx,\"1,5\"\n":                   "comma",
		"Axis;Masse [kg]\nx;1,5\ny;2,5\n":                "semicolon",
		"Axis, the name;Masse [kg]\nx;1,5\ny;2,5\nz;1\n": "semicolon",
		"Axis\tMasse [kg]\nx\t1,5\n":                     "tab",
		"sep=,\nAxis,Masse [kg]\nx,\"1;5\"\n":            "comma",
	} {
		dir := put(t, map[string]string{"fleet.csv": text, "fleet.map.hcl": "axis = \"{A}\"\ncolumn \"Masse [kg]\" { field = \"load.mass\" }\n"})
		_, report := adopted(t, dir)
		if !strings.Contains(report, "separated by "+want+",") {
			t.Errorf("%q: %s", text, report)
		}
	}
}

func TestAgain(t *testing.T) {
	const table = "Axis;Masse [kg];Notiz\none;1;\ntwo;2;\nthree;3;\nfour;4;\nfive;5;\nsix;6;\nseven;7;\n"
	dir := put(t, map[string]string{"fleet.csv": table, "fleet.map.hcl": smallMap})
	out := filepath.Join(dir, "out")
	r, _ := adopted(t, dir)
	if r.Written != 7 {
		t.Fatalf("%+v", r)
	}
	name := func(n string) string { return filepath.Join(out, n+".axis.hcl") }
	edit := func(n string, change func(string) string) string {
		src, err := os.ReadFile(name(n))
		if err != nil {
			t.Fatal(err)
		}
		text := change(string(src))
		if err := os.WriteFile(name(n), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return text
	}
	mine := map[string]string{
		"one":   edit("one", func(s string) string { return strings.Replace(s, "1 kg", "1.1 kg", 1) }),
		"two":   edit("two", func(s string) string { return s + "\n# a remark\n" }),
		"three": edit("three", func(s string) string { return strings.Replace(s, "# adopted", "# Adopted", 1) }),
	}
	edit("four", func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") })
	edit("five", func(string) string { return "" })
	if err := os.Remove(name("six")); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("seven.axis.hcl", name("six")); err != nil {
		t.Skip(err)
	}
	if err := os.Chmod(name("seven"), 0o640); err != nil {
		t.Fatal(err)
	}
	before := files(t, out)
	more := strings.ReplaceAll(table, ";1;", ";11;")
	more = strings.NewReplacer(";2;", ";12;", ";4;", ";14;", ";7;", ";17;").Replace(more) + "eight;8;\n"
	if err := os.WriteFile(filepath.Join(dir, "fleet.csv"), []byte(more), 0o666); err != nil {
		t.Fatal(err)
	}
	// Trying says what would be done, and does nothing.
	r, report := adopted(t, dir, func(o *Options) { o.Try = true })
	if r.Written != 1 || r.Rewritten != 3 || r.Kept != 4 {
		t.Errorf("trying: %+v\n%s", r, report)
	}
	for _, want := range []string{"eight.axis.hcl: would be written", "seven.axis.hcl: would be rewritten", "one.axis.hcl: kept: it was edited", "six.axis.hcl: kept: it is a link", "three.axis.hcl: kept: it was not written by adopt"} {
		if !strings.Contains(report, want) {
			t.Errorf("no %q in\n%s", want, report)
		}
	}
	for n, text := range files(t, out) {
		if before[n] != text {
			t.Errorf("trying changed %s", n)
		}
	}
	r, report = adopted(t, dir)
	if r.Written != 1 || r.Rewritten != 3 || r.Kept != 4 || r.Unchanged != 0 || !r.Whole() {
		t.Errorf("%+v\n%s", r, report)
	}
	now := files(t, out)
	for n, text := range mine {
		if now[n+".axis.hcl"] != text {
			t.Errorf("%s was overwritten", n)
		}
	}
	if !strings.Contains(now["seven.axis.hcl"], "17 kg") || !strings.Contains(now["four.axis.hcl"], "14 kg") || !strings.Contains(now["five.axis.hcl"], "5 kg") {
		t.Errorf("a changed row is not in its file: %v", now)
	}
	if info, err := os.Stat(name("seven")); err != nil || info.Mode().Perm() != 0o640 {
		t.Error("permissions were lost", err)
	}
	if r, _ := adopted(t, dir); r.Unchanged != 4 || r.Written+r.Rewritten != 0 || r.Kept != 4 {
		t.Errorf("the third time: %+v", r)
	}
	for n := range now {
		if strings.Contains(n, ".trammel-") {
			t.Errorf("%s was left behind", n)
		}
	}
}

// TestNames holds that no cell names a file outside the folder, or one that is
// special.
func TestNames(t *testing.T) {
	cells := []string{
		"../../x", "/etc/passwd", `..\..\x`, `C:\x`, "con", "NUL.txt", "com1", "parts", "machine", ".hidden", "-x", "a/b", "a b", "A B", "é", "e\u0301",
		"x.axis.hcl", strings.Repeat("ä", 500), strings.Repeat("x", 500), "a\u202eb", "a%b$c`d", "${x}", "*", "Ⅷ", "日本", "a..", "CON ", "aux.axis.hcl",
	}
	var b strings.Builder
	b.WriteString("Folder\tAxis\tMasse [kg]\n")
	for _, c := range cells {
		fmt.Fprintf(&b, "\"%s\"\t\"%s\"\t1\n", c, c)
	}
	base := put(t, map[string]string{"deep/er/fleet.csv": b.String(), "deep/er/fleet.map.hcl": "folder = \"../{Folder}/./\"\naxis = \"{Axis}\"\ncolumn \"C\" { field = \"load.mass\" }\n"})
	dir := filepath.Join(base, "deep", "er")
	r, report := adopted(t, dir)
	out := filepath.Join(dir, "out")
	readable(t, out)
	if n := len(files(t, base)); n != r.Written+2 || n != len(files(t, out))+2 || r.LeftOut != 1 {
		t.Errorf("%d files, %+v\n%s", n, r, report)
	}
	seen := map[string]bool{}
	for n := range files(t, out) {
		if low := strings.ToLower(n); seen[low] {
			t.Errorf("%s given twice where case is not told apart", n)
		} else {
			seen[low] = true
		}
		for part := range strings.SplitSeq(strings.ToLower(n), "/") {
			first, _, _ := strings.Cut(part, ".")
			switch first {
			case "", "con", "nul", "aux", "com1", "parts", "machine":
				t.Errorf("%s is a special name", n)
			}
			if len(part) > 255 {
				t.Errorf("%s is too long", n)
			}
		}
	}
	// A link inside the folder does not lead out of it.
	outside := t.TempDir()
	dir = put(t, map[string]string{"fleet.csv": "A;B\nsub;1\n", "fleet.map.hcl": "folder = \"{A}\"\naxis = \"{A}\"\ncolumn \"B\" {\n field = \"load.mass\"\n unit = \"kg\"\n}\n", "out/x": ""})
	if err := os.Symlink(outside, filepath.Join(dir, "out", "sub")); err != nil {
		t.Skip(err)
	}
	_, _, err := tryAdopt(dir)
	if err == nil || len(files(t, outside)) > 0 {
		t.Errorf("a link was followed: %v", err)
	}
}

func TestHostileText(t *testing.T) {
	huge := strings.Repeat("x", 100_000)
	for _, c := range []struct{ text, want string }{
		{"Axis;Masse [kg];Notiz\nx;1;" + huge + "\ny;2;\n", "row 2, C \"Notiz\": not read for description: it is longer"},
		{"Axis;Masse [kg];Notiz\n" + huge + ";1;\ny;2;\n", "row 2, A \"Axis\": the row is left out"},
		{"Axis;Masse [kg];Notiz\ny;2;\nx;1;\"open\nz;3;\n", "row 3: the row is left out: a quote that opens in column C is not closed"},
		{"Axis;Masse [kg];Notiz\ny;=1+1;\n", "row 2, B \"Masse [kg]\": not read for load.mass: it is a formula"},
		{"Axis;Masse [kg];Notiz\ny;1" + strings.Repeat(";", 40000) + "\n", "1 row: 1 cells read"},
		{"Axis;Masse [kg];Notiz\n\"\x1b[31m\u202e\";\x1b[31m\u202e;\n", "row 2, B"},
		{"Axis;Masse [kg];Notiz\nz\x00;5;\n", "!NUL"},
		{"", "!empty"},
		{"\n\n", "!empty"},
		{"\"", "!quote"},
	} {
		dir := put(t, map[string]string{"fleet.csv": c.text, "fleet.map.hcl": smallMap})
		_, report, err := tryAdopt(dir)
		if want, ok := strings.CutPrefix(c.want, "!"); ok {
			if err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("%.60q: %v", c.text, err)
			}
			continue
		}
		if err != nil || !strings.Contains(report, c.want) {
			t.Errorf("%.60q: %v\n%s", c.text, err, report)
			continue
		}
		if strings.ContainsAny(report, "\x1b\u202e") {
			t.Errorf("a control character reached the report: %q", report)
		}
		readable(t, filepath.Join(dir, "out"))
	}
	_, _, err := tryAdopt(put(t, map[string]string{"fleet.map.hcl": smallMap}), func(o *Options) { o.Table = filepath.Dir(o.Table) })
	if err == nil || !strings.Contains(err.Error(), "regular file") {
		t.Error(err)
	}
}

// fullDisk takes some bytes and then fails.
type fullDisk struct{ room int }

func (f *fullDisk) Write(p []byte) (int, error) {
	if f.room -= len(p); f.room < 0 {
		return 0, errors.New("no space")
	}
	return len(p), nil
}

func TestInterrupt(t *testing.T) {
	rows := amount.Of(5000, 3000)
	dir := put(t, map[string]string{"fleet.csv": bigTable(rows), "fleet.map.hcl": bigMap})
	ctx, cancel := context.WithCancel(context.Background())
	opt := Options{Table: filepath.Join(dir, "fleet.csv"), Out: filepath.Join(dir, "out"), Progress: func(n, of int) {
		if of != rows {
			t.Errorf("%d of %d rows", n, of)
		}
		if n >= rows*2/5 {
			cancel()
		}
	}}
	var out bytes.Buffer
	r, err := Run(ctx, opt, &out)
	if err == nil || !strings.Contains(err.Error(), "interrupted") {
		t.Fatal(err)
	}
	got := files(t, opt.Out)
	if len(got) != r.Written || r.Written == 0 || r.Written >= rows {
		t.Errorf("%d files, %+v", len(got), r)
	}
	for n, text := range got {
		if !untouched([]byte(text)) || !strings.HasSuffix(n, ".axis.hcl") {
			t.Errorf("%s is not whole", n)
		}
	}
	if _, err := Run(ctx, opt, &out); err == nil || !strings.Contains(err.Error(), "interrupted before") {
		t.Error(err) // it is interrupted from the start
	}
	// The next run finishes the work.
	if r, _ := adopted(t, dir); r.Written+r.Unchanged != rows || r.Unchanged != len(got) {
		t.Errorf("%+v", r)
	}
	if _, err := Run(context.Background(), Options{Table: opt.Table, Out: opt.Out, Try: true}, &fullDisk{5000}); err == nil || !strings.Contains(err.Error(), "no space") {
		t.Error(err)
	}
}

const bigMap = `
folder = "{Machine}"
axis   = "{Axis}"
column "Mass [kg]" { field = "load.mass" }
column "Lead" { field = "screw.lead" }
column "Stroke mm" { field = "motion.stroke" }
column "Speed [m/s]" {
  field = "motion.move.speed"
  move  = "out"
}
`

// bigTable is a table of invented axes.
func bigTable(rows int) string {
	var b strings.Builder
	b.WriteString("Machine;Axis;Mass [kg];Lead;Stroke mm;Speed [m/s];Remark\n")
	for i := range rows {
		fmt.Fprintf(&b, "m %d;axis %d;%d,%d;%d mm;1.%03d,5;0,%d;nothing\n", i/50, i%50, 20+i%300, i%10, 5+i%20, i%1000, 1+i%9)
	}
	return b.String()
}

// TestLongManyRows holds that memory does not grow with the table.
func TestLongManyRows(t *testing.T) {
	amount.Long(t)
	rows := 200_000
	if testing.Short() {
		rows = 20_000
	}
	dir := put(t, map[string]string{"fleet.csv": bigTable(rows), "fleet.map.hcl": bigMap})
	var most uint64
	opt := Options{Table: filepath.Join(dir, "fleet.csv"), Out: filepath.Join(dir, "out"), Try: true, Progress: func(n, _ int) {
		if n%10_000 == 0 {
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapAlloc)
		}
	}}
	var out countingWriter
	r, err := Run(context.Background(), opt, &out)
	if err != nil || r.Axes != rows || !r.Whole() || r.Read != 4*rows {
		t.Fatalf("%+v %v", r, err)
	}
	if most > 100<<20 {
		t.Errorf("%d MB held", most>>20)
	}
	t.Logf("%d MB held at most", most>>20)
}

type countingWriter int

func (c *countingWriter) Write(p []byte) (int, error) {
	*c += countingWriter(len(p))
	return len(p), nil
}

// BenchmarkMillion reads a million rows; writing so many files is left out.
// Run it alone: go test -run '^$' -bench Million -benchtime 1x
func BenchmarkMillion(b *testing.B) { benchmark(b, 1_000_000, true) }

// BenchmarkWrite writes the files too.
func BenchmarkWrite(b *testing.B) { benchmark(b, 20_000, false) }

func benchmark(b *testing.B, rows int, try bool) {
	dir := put(b, map[string]string{"fleet.csv": bigTable(rows), "fleet.map.hcl": bigMap})
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		opt := Options{Table: filepath.Join(dir, "fleet.csv"), Map: filepath.Join(dir, "fleet.map.hcl"), Out: filepath.Join(dir, fmt.Sprint(i)), Try: try}
		var out countingWriter
		if r, err := Run(context.Background(), opt, &out); err != nil || r.Axes != rows {
			b.Fatal(r, err)
		}
	}
	b.ReportMetric(float64(rows)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}
