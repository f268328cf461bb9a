package tableimport

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"
	"github.com/xuri/excelize/v2"

	"trammel/spec"
	"trammel/spec/unit"
)

const drafts = "testdata/drafts"

// TestDrafts: of ten tables as workshops keep them, with the proposed mapping as it is,
// nine tenths of the cells arrive, none of them wrong. What is right was written by hand.
func TestDrafts(t *testing.T) {
	t.Parallel()
	names, err := filepath.Glob(filepath.Join(drafts, "*.truth"))
	if err != nil || len(names) != 10 {
		t.Fatal(names, err)
	}
	all, right := 0, 0
	for _, truth := range names {
		name := strings.TrimSuffix(filepath.Base(truth), ".truth")
		dir := t.TempDir()
		table := filepath.Join(dir, name+".csv")
		src, err := os.ReadFile(filepath.Join(drafts, name+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(name, "book") {
			table = filepath.Join(dir, name+".xlsx")
			bookOf(t, table, string(src))
		} else if err := os.WriteFile(table, src, 0o666); err != nil {
			t.Fatal(err)
		}
		var said bytes.Buffer
		if err := Draft(context.Background(), Options{Table: table}, "", &said); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		_, report, err := tryAdopt(dir, func(o *Options) { o.Table, o.Map = table, "" })
		if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, said.String())
		}
		readable(t, filepath.Join(dir, "out"))
		got := landed(t, filepath.Join(dir, "out"))
		want := truths(t, truth)
		good := 0
		for at, value := range want {
			switch v, ok := got[at]; {
			case !ok:
				t.Logf("%s: %s: %s did not arrive", name, at, value)
			case !sameValue(at, v, value):
				t.Errorf("%s: %s: %s arrived, the table says %s", name, at, v, value)
			default:
				good++
			}
			delete(got, at)
		}
		for at, v := range got {
			t.Errorf("%s: %s: %s arrived, and the table does not say it", name, at, v)
		}
		if good*10 < len(want)*9 {
			m, _ := os.ReadFile(filepath.Join(dir, name+MapSuffix))
			t.Errorf("%s: %d of %d cells arrived\n%s\n%s\n%s", name, good, len(want), said.String(), m, report)
		}
		all, right = all+len(want), right+good
	}
	t.Logf("%d of %d cells arrived", right, all)
}

// bookOf makes a workbook of text: a cover, and a sheet with the lines that are no comment.
func bookOf(t *testing.T, file, text string) {
	makeWorkbook(t, file, func(f *excelize.File) {
		set(t, f, "Sheet1", map[string]any{"A1": "Deckblatt", "B2": "Werk Nord"})
		const s = "Achsen"
		if _, err := f.NewSheet(s); err != nil {
			t.Fatal(err)
		}
		percent, err := f.NewStyle(&excelize.Style{NumFmt: 9})
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for line := range strings.Lines(text) {
			if strings.HasPrefix(line, "#") {
				continue
			}
			n++
			for i, c := range strings.Split(strings.TrimSuffix(line, "\n"), "|") {
				at := letter(i) + strconv.Itoa(n)
				share, isShare := strings.CutSuffix(c, " %")
				number, err := strconv.ParseFloat(share, 64)
				var value any = number
				switch {
				case c == "":
					continue
				case err != nil:
					value = c
				case isShare:
					value = number / 100
				}
				set(t, f, s, map[string]any{at: value})
				if isShare {
					if err := f.SetCellStyle(s, at, at, percent); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
	})
}

// truths reads what a table says, by "file field".
func truths(t *testing.T, file string) map[string]string {
	src, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	in := ""
	for line := range strings.Lines(string(src)) {
		line = strings.TrimSpace(line)
		if name, ok := strings.CutPrefix(line, "["); ok {
			in = strings.TrimSuffix(name, "]")
			continue
		}
		field, value, ok := strings.Cut(line, " = ")
		if !ok || out[in+" "+field] != "" {
			t.Fatalf("%s: %q", file, line)
		}
		out[in+" "+field] = value
	}
	return out
}

// landed reads the axis files below a folder, by "file field".
func landed(t *testing.T, dir string) map[string]string {
	out := map[string]string{}
	for name, text := range files(t, dir) {
		f, diags := hclsyntax.ParseConfig([]byte(text), name, hcl.InitialPos)
		if diags.HasErrors() {
			t.Fatal(diags)
		}
		at := strings.TrimSuffix(name, spec.AxisSuffix)
		var walk func(b *hclsyntax.Body, path, of string)
		walk = func(b *hclsyntax.Body, path, of string) {
			for _, a := range b.Attributes {
				r := a.Expr.Range()
				value := string(r.SliceBytes([]byte(text)))
				out[at+" "+path+a.Name+of] = strings.Trim(value, `"`)
			}
			for _, in := range b.Blocks {
				of := ""
				if in.Type == "move" {
					of = " of " + in.Labels[0]
				}
				walk(in.Body, path+in.Type+".", of)
			}
		}
		walk(f.Body.(*hclsyntax.Body).Blocks[0].Body, "", "")
	}
	return out
}

func sameValue(at, a, b string) bool {
	path, _, _ := strings.Cut(strings.SplitN(at, " ", 2)[1], " of ")
	f := spec.Language().FieldAt(path)
	if f.Sort != spec.Quantity {
		return a == b
	}
	x, err := unit.Parse(a, f.Unit)
	y, err2 := unit.Parse(b, f.Unit)
	return err == nil && err2 == nil && !(&value{text: a, num: x}).differs(&value{text: b, num: y})
}

// TestDraftWords: words of one's own are known, and take precedence; what is wrong in them
// is said with its line.
func TestDraftWords(t *testing.T) {
	t.Parallel()
	dir := put(t, map[string]string{
		"fleet.csv": "Maskin,Axel,Slag [mm],Vikt [kg],Läge\nA,x,500,20,stående\nA,y,300,10,liggande\n",
		"sv.csv":    "# Swedish\nmaskin,=machine,sv\naxel,=axis\nslag,motion.stroke\nvikt,load.mass\nläge,orientation\nstående,orientation=vertical\nliggande,orientation=horizontal\n",
		"bad.csv":   "maskin,=machine\nslag,motion.strok\n",
		"short.csv": "maskin\n",
	})
	run := func(words string) (string, error) {
		var out bytes.Buffer
		err := Draft(context.Background(), Options{Table: filepath.Join(dir, "fleet.csv"), Try: true}, words, &out)
		return out.String(), err
	}
	if _, err := run(""); err == nil || !strings.Contains(err.Error(), "no row and no column with headers was found") {
		t.Error(err)
	}
	text, err := run(filepath.Join(dir, "sv.csv"))
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []string{`folder = "{Maskin}"`, `axis   = "{Axel}"`, `column "Slag [mm]" {` + "\n  field = \"motion.stroke\"", `words = { "stående" = "vertical", "liggande" = "horizontal" }`} {
		if !strings.Contains(text, w) {
			t.Errorf("no %s in\n%s", w, text)
		}
	}
	for file, want := range map[string]string{"bad.csv": `line 2: "motion.strok" is no field`, "short.csv": "line 1: 1 entries found", "none.csv": "none.csv"} {
		if _, err := run(filepath.Join(dir, file)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", file, err)
		}
	}
}

// TestDraftSays: the report says where the headers stand; a mapping that is there is kept.
func TestDraftSays(t *testing.T) {
	t.Parallel()
	dir := put(t, map[string]string{"fleet.csv": "List\n\nprinted in May\n\nMachine,Axis,Mass,Stroke [mm],Hub [kg],Pace\nA,x,5,500,3,quick\nA,y,6 kg,200,,slow\n"})
	var out bytes.Buffer
	o := Options{Table: filepath.Join(dir, "fleet.csv")}
	if err := Draft(context.Background(), o, "", &out); err != nil {
		t.Fatal(err)
	}
	for _, w := range []string{
		"headers stand in row 5, axes from row 6 to row 7", `C "Mass": load.mass; no unit is given for bare numbers`, `F "Pace": not used`,
		`E "Hub [kg]": not used; `, "fleet.map.hcl: written",
	} {
		if !strings.Contains(out.String(), w) {
			t.Errorf("no %q in\n%s", w, out.String())
		}
	}
	if err := Draft(context.Background(), o, "", &out); err == nil || !strings.Contains(err.Error(), "exists already") {
		t.Error(err)
	}
}

// TestDraftAbreast: where a row holds several axes side by side, each has a mapping, and
// every value arrives at its own axis. The values were read from the tables by hand.
func TestDraftAbreast(t *testing.T) {
	t.Parallel()
	want := map[string]string{
		"Mill-1/Mill-1-x motion.stroke": "800 mm", "Mill-1/Mill-1-y motion.stroke": "500 mm",
		"Mill-1/Mill-1-x load.mass": "120 kg", "Mill-1/Mill-1-y load.mass": "80 kg",
		"Mill-2/Mill-2-x motion.stroke": "1200 mm", "Mill-2/Mill-2-y motion.stroke": "600 mm",
		"Mill-2/Mill-2-x load.mass": "180 kg", "Mill-2/Mill-2-y load.mass": "90 kg",
	}
	for name, text := range map[string]string{
		"before": "Machine;X stroke mm;Y stroke mm;X mass kg;Y mass kg\nMill 1;800;500;120;80\nMill 2;1200;600;180;90\n",
		"behind": "Maschine;Hub X-Achse [mm];Hub Y-Achse [mm];Masse X [kg];Masse Y [kg];Masse [kg]\nMill 1;800;500;120;80;2000\nMill 2;1200;600;180;90;3000\n",
		"titles": "Machine;X axis;;Y axis;\n;Stroke mm;Mass kg;Stroke mm;Mass kg\nMill 1;800;120;500;80\nMill 2;1200;180;600;90\n",
	} {
		dir := put(t, map[string]string{"fleet.csv": text})
		table := filepath.Join(dir, "fleet.csv")
		var said bytes.Buffer
		if err := Draft(context.Background(), Options{Table: table}, "", &said); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, axis := range []string{"x", "y"} {
			file := filepath.Join(dir, "fleet."+axis+MapSuffix)
			if _, _, err := tryAdopt(dir, func(o *Options) { o.Table, o.Map = table, file }); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			if w := "axis " + strings.ToUpper(axis) + " of X, Y"; !strings.Contains(said.String(), w) || !strings.Contains(said.String(), "--map "+file) {
				t.Errorf("%s: no %q or no --map in\n%s", name, w, said.String())
			}
		}
		got := landed(t, filepath.Join(dir, "out"))
		for at := range got {
			if strings.Contains(at, ".move") || strings.Contains(at, " motion.move") {
				delete(got, at) // the way out and back, proposed from the stroke
			}
		}
		if !maps.Equal(got, want) {
			t.Errorf("%s: %v arrived, expected %v\n%s", name, got, want, said.String())
		}
		if err := Draft(context.Background(), Options{Table: table}, "", &said); err == nil || !strings.Contains(err.Error(), "fleet.x.map.hcl exists already") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestWordsList holds the built-in words: each has a language, and none stands twice with
// two meanings, but where a title and a header are the same word.
func TestWordsList(t *testing.T) {
	t.Parallel()
	if _, err := newLexicon(nil); err != nil {
		t.Fatal(err)
	}
	seen := map[string]string{}
	for i, line := range strings.Split(strings.TrimSpace(words), "\n") {
		if strings.HasPrefix(line, "#") {
			continue
		}
		cut := strings.LastIndex(line, ",")
		lang := line[cut+1:]
		word, means, _ := strings.Cut(strings.TrimPrefix(line[:cut], `""""`), ",")
		if !slices.Contains([]string{"en", "de", "fr", "it"}, lang) {
			t.Errorf("line %d: language %q", i+1, lang)
		}
		sort, _, assigned := strings.Cut(means, "=")
		if !assigned {
			sort = "header"
		}
		key := fmt.Sprint(keyOf(word), " ", sort)
		if old := seen[key]; old != "" && old != means && word != "" {
			t.Errorf("line %d: %s means %s and %s", i+1, word, old, means)
		}
		seen[key] = means
	}
}
