package tableimport

import (
	"strings"
	"testing"
)

// adoptedText adopts a table with a mapping and gives the report and the files.
func adoptedText(t *testing.T, table, mapping string) (string, map[string]string) {
	t.Helper()
	dir := put(t, map[string]string{"fleet.csv": table, "fleet.map.hcl": mapping})
	_, report := adopted(t, dir)
	readable(t, dir+"/out")
	return report, files(t, dir+"/out")
}

func holds(t *testing.T, text string, words ...string) {
	t.Helper()
	for _, w := range words {
		if not, is := strings.CutPrefix(w, "!"); is == strings.Contains(text, not) {
			t.Errorf("wants %q in\n%s", w, text)
		}
	}
}

const threeColumns = `
axis = "{Axis}"
column "Mass" { field = "load.mass" }
column "Lead" { field = "screw.lead" }
`

// TestAbove: words for the cell above take it, with its row, over gaps and repeats; without
// a cell above they are reported. What is not known is repeated as not known.
func TestAbove(t *testing.T) {
	t.Parallel()
	report, out := adoptedText(t, "Axis;Mass;Lead\na;dto.;5 mm\nb;7 kg;?\n\nc;dto.;dto.\nd;dto.;\n", `as_above = ["dto."]`+threeColumns)
	holds(t, report, `row 2, B "Mass": not read for load.mass: dto. repeats the cell above, and there is none`, "4 rows: 4 cells read, 3 not known, 1 not read")
	holds(t, out["c.axis.hcl"], `mass = "7 kg" # B "Mass" as in row 3`, "!lead")
	holds(t, out["d.axis.hcl"], `mass = "7 kg" # B "Mass" as in row 3`, "!lead")
}

// TestFillDown: an empty cell repeats the one above in the columns that are named, and in
// no other.
func TestFillDown(t *testing.T) {
	t.Parallel()
	_, out := adoptedText(t, "Machine;Axis;Mass;Lead\nP 1;a;7 kg;5 mm\n;b;8 kg;\nP 2;a;;5 mm\n", "fill_down = [\"Machine\"]\nfolder = \"{Machine}\""+threeColumns)
	holds(t, out["P-1/b.axis.hcl"], `mass = "8 kg"`, "!lead")
	holds(t, out["P-2/a.axis.hcl"], `lead = "5 mm"`, "!mass")
}

// TestRows: rows outside those of the mapping are not axes; what stands below is counted.
// Headers that stand again are none either.
func TestRows(t *testing.T) {
	t.Parallel()
	report, out := adoptedText(t, "List\nAxis;Mass;Lead\n;kg;mm\na;7 kg;5 mm\nAxis;Mass;Lead\nb;7 kg;5 mm\nweighed;;\nin May;;\n", "header_row = 2\nfirst_row = 4\nlast_row = 6"+threeColumns)
	holds(t, report, "2 rows after row 6, the last one of the mapping, not read", "2 rows: 4 cells read")
	if len(out) != 2 {
		t.Errorf("%q", sortedNames(out))
	}
}

// TestReturns: the way back has the distance of the way out with the other sign, and what
// the table does not say of it; what it does say of it stays, even if it is not known.
func TestReturns(t *testing.T) {
	t.Parallel()
	report, out := adoptedText(t, "Axis;Way;Speed;Back;Ramp\na;-50 mm;1 m/s;?;0,2 s\nb;40-50 mm;1 m/s;2 m/s;\nc;50 mm ± 1 mm;;;\n", `returns = { out = "back" }
axis = "{Axis}"
column "Way" {
  field = "motion.move.distance"
  move  = "out"
}
column "Speed" {
  field = "motion.move.speed"
  move  = "out"
}
column "Back" {
  field = "motion.move.speed"
  move  = "back"
}
column "Ramp" {
  field = "motion.move.ramp"
  move  = "out"
}
`)
	holds(t, out["a.axis.hcl"], "move \"back\" {\n      distance = \"50 mm\" # as out, by fleet.map.hcl\n      ramp     = \"0.2 s\" # as out, by fleet.map.hcl\n")
	holds(t, out["b.axis.hcl"], "move \"back\" {\n      speed = \"2 m/s\" # D \"Back\"\n    }")
	holds(t, out["c.axis.hcl"], `"-50 mm ± 1 mm" # as out`)
	holds(t, report, `row 3: move back is left without a distance: "40 mm … 50 mm" cannot be turned round`)
}

// TestTransposed: an axis in each column; places are named as they stand in the table.
func TestTransposed(t *testing.T) {
	t.Parallel()
	report, out := adoptedText(t, "Axis;a;b\nMass;7 kg;heavy\nLead;5 mm\n", "transposed = true"+threeColumns)
	holds(t, report, "headers in column A", `column C, row 2 "Mass": not read for load.mass`, "2 columns: 2 cells read")
	holds(t, out["a.axis.hcl"], "# adopted: fleet.csv, column B;", `mass = "7 kg" # row 2 "Mass"`)
}
