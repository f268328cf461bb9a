package tableimport

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestMappingProblems(t *testing.T) {
	const fine = "axis = \"{A}\"\n"
	for _, c := range []struct{ text, want string }{
		{"", "does not say which column holds the name of the axis"},
		{fine, "the mapping has no column"},
		{"axis = \"x\"\n", "the same for every row"},
		{"axis = \"{A\"\n", "braces"},
		{"axis = \"{ }\"\n", "no title"},
		{"axis = \"{A}${1+1}\"\n", "text in quotes"},
		{"axes = \"{A}\"\n", `no "axes"`},
		{fine + `column "B" {}`, "names no field"},
		{fine + `column "B" { field = "screw.laed" }`, `no field "screw.laed"`},
		{fine + `column "B" { field = "motor.rated_torque" }`, "of a part"},
		{fine + `column "B" { field = "load.carries" }`, "cannot come from a table"},
		{fine + `column "B" { field = "motion.move.speed" }`, "the column names none"},
		{fine + "column \"B\" {\n field = \"screw.lead\"\n move = \"out\"\n}", "not a field of a move"},
		{fine + "column \"B\" {\n field = \"screw.lead\"\n unit = \"kg\"\n}", "mass"},
		{fine + "column \"B\" {\n field = \"orientation\"\n unit = \"kg\"\n}", "takes no unit"},
		{fine + "column \"B\" {\n field = \"orientation\"\n words = { H = \"lying\" }\n}", "means"},
		{fine + "column \"B\" {\n field = \"orientation\"\n words = { \"\" = \"vertical\" }\n}", "empty cell"},
		{fine + `column "B" { field = "screw.end_lengths" }`, "does not say which"},
		{fine + "column \"B\" {\n field = \"screw.lead\"\n end = \"far\"\n}", "has no ends"},
		{fine + "column \"B\" {\n field = \"screw.lead\"\n decimal = \"dot\"\n}", "comma"},
		{fine + "separator = \"|\"\n", "separator cannot be"},
		{fine + "header_row = 0\n", "row number"},
		{fine + "header_row = 3\nfirst_row = 3\n", "must follow each other"},
		{fine + "first_row = 5\nlast_row = 4\n", "must follow each other"},
		{fine + "header_row = 3\nlast_row = 3\n", "must follow each other"},
		{fine + "transposed = \"yes\"\n", "true or false"},
		{fine + "as_above = [\"\"]\n", "as_above cannot give it a value"},
		{fine + "fill_down = \"A\"\n", "list of texts"},
		{fine + "returns = { out = \"out\" }\n", "cannot return from itself"},
		{fine + "returns = { out = \"b ack\" }\n", "cannot be the name of a move"},
		{fine + "moves = \"{B}\"\nreturns = { out = \"back\" }\n", "returns cannot add one"},
		{fine + "header_row = 1e999999999999\n", "number"},
		{fine + `say "screw.lead" { value = "5 mm" }`, "needs a reason"},
		{fine + "say \"screw.lead\" {\n value = \"5 kg\"\n because = \"x\"\n}", "mass"},
		{fine + "say \"screw.lead\" {\n because = \"x\"\n}", "has no value"},
		{fine + `colunm "B" { field = "screw.lead" }`, `no block "colunm"`},
		{fine + "x = " + strings.Repeat("[", 40), "nested"},
		{fine + "x = " + strings.Repeat("!", 1000) + "true", "contains invalid"},
		{"axis = \"\xff\"", "not UTF-8"},
		{"axis = ", "expression"},
	} {
		_, problems := ReadMapping("x.map.hcl", []byte(c.text))
		found := false
		for _, p := range problems {
			found = found || strings.Contains(p.Message, c.want)
		}
		if !found {
			t.Errorf("%q: %v; want %q", c.text, problems, c.want)
		}
	}
}

func TestColumnsNotThere(t *testing.T) {
	dir := put(t, map[string]string{
		"fleet.csv":     "Axis;Mass [kg];Mass [KG];Speed [mm]\nx;1;2;3\n",
		"fleet.map.hcl": "axis = \"{Axes}\"\ncolumn \"mass [kg]\" { field = \"load.mass\" }\ncolumn \"Speed [mm]\" {\n field = \"motion.move.speed\"\n move = \"out\"\n}\ncolumn \"Lead\" { field = \"screw.lead\" }\ncolumn \"b\" {\n field = \"load.mass\"\n unit = \"lb\"\n}\n",
	})
	_, _, err := tryAdopt(dir)
	bad, ok := err.(*MappingError)
	if !ok {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, p := range bad.Problems {
		b.WriteString(p.Place.String() + ": " + p.Message + " | " + p.Help + "\n")
	}
	for _, want := range []string{
		`:1:8: the table has no column "Axes" | did you mean "Axis"?`,
		`the header "mass [kg]" is used for columns B, C | name the column by its letter`,
		`the header "Speed [mm]" does not suit motion.move.speed`,
		`the table has no column "Lead"`,
		`the header "Mass [kg]" says kg, the mapping lb`,
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %q in\n%s", want, b.String())
		}
	}
	if len(files(t, filepath.Join(dir, "out"))) > 0 {
		t.Error("something was written")
	}
}

// TestHeadersFurtherDown: where a title stands above the headers, the row that holds
// them is named; and a table without a mapping says what is missing.
func TestHeadersFurtherDown(t *testing.T) {
	dir := put(t, map[string]string{
		"fleet.csv":     "Machines of hall 3;;\nMachine;Axis;Lead [mm/rev]\nP1;x;10\n",
		"fleet.map.hcl": "axis = \"{Axis}\"\ncolumn \"Lead [mm/rev]\" { field = \"screw.lead\" }\n",
	})
	_, _, err := tryAdopt(dir)
	bad, ok := err.(*MappingError)
	if !ok || len(bad.Problems) != 2 || bad.Problems[1].Help != "row 2 holds it; where that is the header row, write header_row = 2" {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "fleet.map.hcl"), []byte("header_row = 2\naxis = \"{Axis}\"\ncolumn \"Lead [mm/rev]\" { field = \"screw.lead\" }\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, report, err := tryAdopt(dir); err != nil || !strings.Contains(report, "screw.lead, unit mm from the header") {
		t.Fatalf("%v\n%s", err, report)
	}
	if err := os.Remove(filepath.Join(dir, "fleet.map.hcl")); err != nil {
		t.Fatal(err)
	}
	if _, _, err := tryAdopt(dir); err == nil || !strings.Contains(err.Error(), "fleet.map.hcl is missing; write a mapping file") {
		t.Error(err)
	}
}

// FuzzMapping holds that a mapping never upsets its reader, and that one which
// is fine can be used.
func FuzzMapping(f *testing.F) {
	for _, name := range []string{"metric", "inch", "mixed"} {
		src, err := os.ReadFile(filepath.Join("testdata", name, "fleet.map.hcl"))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	f.Add([]byte("axis = \"{A}\"\ncolumn \"B\" {\n  field = \"screw.lead\"\n words = { a = \"5 mm\" }\n}\n"))
	f.Add([]byte("axis = <<E\n{A}\nE\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		m, problems := ReadMapping("x.map.hcl", src)
		if len(problems) > 0 {
			return
		}
		if m.axis == nil || len(m.columns) == 0 {
			t.Fatal("a mapping without an axis or column passes")
		}
		d := &draft{axis: "x", called: "x"}
		for _, c := range m.columns {
			r := reader{field: c.field, mapping: m, words: c.words, unit: c.unit}
			for w := range c.words {
				if v, why := r.read(celled(w)); v == nil || why != "" {
					t.Fatalf("%q cannot be translated: %s", w, why)
				}
			}
			if isMove(c.field) && m.moves == nil {
				d.move(c.move)
			}
		}
		d.complete(m.says)
		src, sure := d.text("fuzz, row 1")
		if tidy := mustTidy(t, src); sure && string(tidy) != string(src) {
			t.Fatalf("it is not in its layout:\n%s\nbut\n%s", src, tidy)
		}
	})
}
