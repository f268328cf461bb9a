package tableimport

import (
	"math"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"

	"trammel/spec"
	"trammel/spec/unit"
)

func testMapping() *Mapping {
	return &Mapping{Name: "x.map.hcl", unknown: map[string]bool{"tbd": true}, units: map[string]string{"KG": "kg", "Zoll": "in"}}
}

func TestCells(t *testing.T) {
	for _, c := range []struct {
		field, unit string
		decided     decimal
		cell, want  string // want is the expression; "" not known; ! begins a piece of the reason
	}{
		{"screw.lead", "", undecided, "20 mm", `"20 mm"`},
		{"screw.lead", "mm", undecided, "20", `"20 mm"`},
		{"screw.lead", "mm", undecided, " +20 ", `"20 mm"`},
		{"screw.lead", "mm", undecided, "0,125", `"0.125 mm"`},
		{"screw.lead", "mm", undecided, ".5", `"0.5 mm"`},
		{"screw.lead", "mm", undecided, "1.234", "!may be 1.234 or 1234"},
		{"screw.lead", "mm", mixed, "1,234", "!may be 1.234 or 1234"},
		{"screw.lead", "mm", comma, "1.234", `"1234 mm"`},
		{"screw.lead", "mm", point, "1.234", `"1.234 mm"`},
		{"screw.lead", "mm", comma, "1,234", `"1.234 mm"`},
		{"screw.lead", "mm", undecided, "1.234,5", `"1234.5 mm"`},
		{"screw.lead", "mm", undecided, "1,234.5", `"1234.5 mm"`},
		{"screw.lead", "mm", undecided, "1,234,567.5", `"1234567.5 mm"`},
		{"screw.lead", "mm", undecided, "1.234.567", `"1234567 mm"`},
		{"screw.lead", "mm", undecided, "1'234.5", `"1234.5 mm"`},
		{"screw.lead", "mm", undecided, "1 234,5 mm", `"1234.5 mm"`},
		{"screw.lead", "mm", undecided, "12\u202f345,678 mm", `"12345.678 mm"`},
		{"screw.lead", "mm", undecided, "1234,567", `"1234.567 mm"`},
		{"screw.lead", "mm", undecided, "12,34,567", "!in threes"},
		{"screw.lead", "mm", undecided, "1.23,4,5", "!mixes signs"},
		{"screw.lead", "mm", undecided, "20.", "!unknown unit"},
		{"screw.lead", "", undecided, "20", "!has no unit"},
		{"screw.lead", "", undecided, "3/4 in", `"0.75 in"`},
		{"screw.lead", "", undecided, `1-1/2"`, `"1.5 in"`},
		{"screw.lead", "", undecided, "1 1/2 inch", `"1.5 in"`},
		{"screw.lead", "in", undecided, "1½", `"1.5 in"`},
		{"screw.lead", "in", undecided, "⅜", `"0.375 in"`},
		{"screw.lead", "in", undecided, "7/64", `"0.109375 in"`},
		{"screw.lead", "in", undecided, "1/3", "!no exact decimal"},
		{"screw.lead", "in", undecided, "1/0", "!not a readable fraction"},
		{"screw.lead", "in", undecided, "1 5/4", "!not a readable fraction"},
		{"screw.lead", "mm", undecided, "3/4", "!read only in"},
		{"screw.lead", "", undecided, "2 Zoll", `"2 in"`},
		{"screw.lead", "mm", undecided, "20 kg", "!is a mass"},
		{"screw.lead", "mm", undecided, "ca. 20", "!does not begin with a number"},
		{"screw.lead", "mm", undecided, "0", "!above zero"},
		{"screw.lead", "mm", undecided, "-5", "!above zero"},
		{"screw.lead", "", undecided, "12,5 mm/rev", `"12.5 mm"`},
		{"screw.lead", "", undecided, "10 mm/U", `"10 mm"`},
		{"screw.lead", "mm", undecided, "−5", "!above zero"},
		{"screw.lead", "mm", undecided, "1e400", "!"},
		{"screw.lead", "mm", undecided, "1e1", `"1e1 mm"`},
		{"load.mass", "kg", undecided, "35-45", `"35 kg … 45 kg"`},
		{"load.mass", "", undecided, "35 to 45 KG", `"35 kg … 45 kg"`},
		{"load.mass", "kg", undecided, "40 ± 5", `"40 kg ± 5 kg"`},
		{"load.mass", "kg", undecided, "40,5 +/- 0,5", `"40.5 kg ± 0.5 kg"`},
		{"load.mass", "kg", undecided, "40 ± 10 %", `"40 kg ± 10 %"`},
		{"load.mass", "", undecided, "40 kg ± 1.500 kg", "!may be"},
		{"load.mass", "kg", undecided, "45-35", "!low end"},
		{"load.standstill", "N", undecided, "-200", `"-200 N"`},
		{"motion.move.distance", "mm", undecided, "−720,5", `"-720.5 mm"`},
		{"motion.move.distance", "mm", undecided, "0", "!not be zero"},
		{"screw.expansion", "", undecided, "11,5e-6 1/K", `"11.5e-6 1/K"`},
		{"screw.expansion", "", undecided, "11.5e-6 K-1", `"11.5e-6 K-1"`},
		{"supports.drag", "", undecided, "", ""},
		{"duty.reliability", "", undecided, "95%", `"95 %"`},
		{"duty.reliability", "", undecided, "0,95", "!has no unit"},
		{"duty.reliability", "%", undecided, "0.95", "!from 90 % to 99 %"},
		{"screw.efficiency", "", undecided, "0,9", "0.9"},
		{"screw.efficiency", "", undecided, "90 %", "90 / 100"},
		{"screw.efficiency", "", undecided, "90", "!from 0.2 to 1"},
		{"screw.lead", "mm", undecided, "1e-7", "!lead must be at least 0.5 µm"},
		{"screw.efficiency", "", undecided, "1e-51", "!too small"},
		{"screw.efficiency", "", undecided, "1e-51 %", "!too small"},
		{"duty.hours_per_day", "h", undecided, "016 h", "16"},
		{"duty.hours_per_day", "", undecided, "16 h", "!follows it"},
		{"duty.hours_per_day", "", undecided, "2:1", "!follows it"},
		{"orientation", "", undecided, "Vertical", `"vertical"`},
		{"orientation", "", undecided, "vertikal", "!near: vertical"},
		{"screw.cover", "", undecided, "none", `"none"`},
		{"nut.wipers", "", undecided, "YES", "true"},
		{"nut.wipers", "", undecided, "x", "!neither yes nor no"},
		{"description", "", undecided, "say \"${x}\" %{if}", `"say \"$${x}\" %%{if}"`},
		{"description", "", undecided, "two\nlines", `"two\nlines"`},
		{"description", "", undecided, "bell\a", "!control"},
		{"description", "", undecided, strings.Repeat("x", 5000), "!longer"},
		{"screw.part", "", undecided, "G 20/10", "screw.G-20-10"},
		{"screw.part", "", undecided, "20x10", `screw["20x10"]`},
		{"screw.part", "", undecided, "//", "!no letter"},
		{"load.mass", "kg", undecided, "=A1*2", "!formula"},
		{"load.mass", "kg", undecided, "#DIV/0!", "!spreadsheet error"},
		{"load.mass", "kg", undecided, "\ufffd5", "!could not be read"},
		{"load.mass", "kg", undecided, "TBD", ""},
		{"load.mass", "kg", undecided, "N/A", ""},
		{"load.mass", "kg", undecided, "#N/A", ""},
		{"load.mass", "kg", undecided, "–", ""},
		{"load.mass", "kg", undecided, "?", ""},
		{"load.mass", "kg", undecided, " \u00a0", ""},
	} {
		f := writable()[c.field]
		if f == nil {
			f = writable()["load.drag"]
		}
		r := reader{field: f, mapping: testMapping(), unit: c.unit, marks: marks{decided: c.decided}}
		v, why := r.read(cell{text: c.cell})
		got := ""
		if v != nil {
			got = v.text
		}
		if why != "" {
			got = "!" + why
		}
		if rest, ok := strings.CutPrefix(c.want, "!"); ok {
			if why == "" || !strings.Contains(why, rest) {
				t.Errorf("%s %q: %s; want a reason with %q", c.field, c.cell, got, rest)
			}
		} else if got != c.want {
			t.Errorf("%s %q: %s; want %s", c.field, c.cell, got, c.want)
		}
	}
}

// TestDeclaredDecimal holds that a number which contradicts the mapping is not
// read.
func TestDeclaredDecimal(t *testing.T) {
	for cell, want := range map[string]string{"1.234": `"1234 mm"`, "1,5": `"1.5 mm"`, "1.5": "", "1,234.5": "", "1,234,567": ""} {
		r := reader{field: writable()["screw.lead"], mapping: testMapping(), unit: "mm", marks: marks{decided: comma, declared: true}}
		v, why := r.read(celled(cell))
		if (v == nil) != (want == "") || v != nil && v.text != want || v == nil && why == "" {
			t.Errorf("%q: %v %s; want %q", cell, v, why, want)
		}
	}
}

func celled(s string) cell { return cell{text: s} }

// TestRoundTrip writes a number in every usual way and holds that the value
// read is that number.
func TestRoundTrip(t *testing.T) {
	f := writable()["screw.lead"]
	for _, n := range []string{"1", "12", "123", "1234", "12345", "1234567", "0"} {
		for _, frac := range []string{"", "5", "25", "125", "0625"} {
			exact := n
			if frac != "" {
				exact += "." + frac
			}
			want, err := unit.Parse(exact+" mm", unit.Length)
			if err != nil {
				t.Fatal(err)
			}
			for _, way := range [][2]string{{",", "."}, {".", ","}, {" ", ","}, {"'", "."}, {"\u00a0", "."}, {"", ","}, {"", "."}} {
				text := grouped(n, way[0])
				if frac != "" {
					text += way[1] + frac
				}
				r := reader{field: f, mapping: testMapping(), unit: "mm", marks: marks{decided: markOf(rune(way[1][0]))}}
				v, why := r.read(celled(text))
				switch {
				case want.Nominal == 0:
					if v != nil {
						t.Errorf("%q: zero was read as %s", text, v.text)
					}
				case v == nil:
					t.Errorf("%q: not read: %s", text, why)
				case math.Abs(v.num.Nominal-want.Nominal) > 1e-12*want.Nominal:
					t.Errorf("%q: read as %s", text, v.text)
				}
				// Without a decision it is the same number or none.
				r.marks = marks{}
				if v, _ := r.read(celled(text)); v != nil && math.Abs(v.num.Nominal-want.Nominal) > 1e-12*want.Nominal {
					t.Errorf("%q: guessed as %s", text, v.text)
				}
			}
		}
	}
}

func grouped(digits, by string) string {
	for i := len(digits) - 3; i > 0 && by != ""; i -= 3 {
		digits = digits[:i] + by + digits[i:]
	}
	return digits
}

func TestHeaderUnit(t *testing.T) {
	for _, c := range []struct{ field, title, want string }{
		{"screw.lead", "Lead [mm]", "mm"},
		{"screw.lead", "Lead (in)", "in"},
		{"screw.lead", "Lead mm", "mm"},
		{"screw.lead", "mm", ""},
		{"screw.lead", "Lead (see note)", ""},
		{"screw.lead", "Lead [kg]", "!"},
		{"screw.lead", "Steigung [Zoll]", "in"},
		{"nut.stiffness", "Stiffness N/um", "N/um"},
		{"load.side_moment", "Moment N m", "N m"},
		{"load.side_moment", "Moment [kgf cm]", "kgf cm"},
		{"duty.reliability", "Reliability [%]", "%"},
		{"duty.hours_per_day", "Hours [h]", ""},
		{"screw.efficiency", "Efficiency (%)", "%"},
		{"screw.efficiency", "Efficiency %", "%"},
	} {
		u, _, err := testMapping().headerUnit(writable()[c.field], c.title)
		if err != nil {
			u = "!"
		}
		if u != c.want {
			t.Errorf("%s %q: %q, want %q (%v)", c.field, c.title, u, c.want, err)
		}
	}
}

// FuzzCell holds that whatever a cell reads, what is written of it the
// language reads again, without a problem of syntax, unit or value.
func FuzzCell(f *testing.F) {
	for _, s := range []string{"20 mm", "1.234,5", "3/4 in", "1-1/2 in", "35-45 kg", "40 ± 5 %", "n/a", "95%", "g20x10", "${x}", "\"", "1e-5", "½", "yes", "vertical", "−5", "1'000", "#", "a\x00b", "%{"} {
		for i := range uint8(6) {
			f.Add(s, i*11, i, "mm")
		}
	}
	fields := spec.Language().Fields
	tree := spec.NewTree(emptyFS{})
	f.Fuzz(func(t *testing.T, text string, at, how uint8, u string) {
		field := writable()[fields[int(at)%len(fields)].Path]
		if field == nil || field.Sort == spec.AxisRefs {
			return
		}
		r := reader{field: field, mapping: testMapping(), unit: u, percent: how&8 != 0, marks: marks{decided: decimal(how & 3), declared: how&4 != 0 && how&3 != 0 && how&3 != 3}}
		c := cell{text: text, number: how&16 != 0, percent: how&32 != 0}
		v, why := r.read(c)
		if v == nil {
			return
		}
		if why != "" {
			t.Fatalf("%q: both a value %s and a reason %s", text, v.text, why)
		}
		v.comment = comment(text)
		d := &draft{axis: "x", called: text}
		m := d.newMove("m")
		d.set(field, 0, m, v)
		d.set(field, 1, m, v)
		src, sure := d.text("fuzz, row 1")
		tidy := mustTidy(t, src)
		if sure && string(tidy) != string(src) {
			t.Fatalf("it is not in its layout:\n%s\nbut\n%s", src, tidy)
		}
		src = seal(tidy)
		if !untouched(src) {
			t.Fatalf("the sum does not fit\n%s", src)
		}
		file := tree.AxesOf("x.axis.hcl", src, nil)
		for _, p := range file.Problems {
			if p.Rule != "unknown-name" || field.Sort != spec.PartRef {
				t.Fatalf("%q for %s: %s [%s]\n%s", text, field.Path, p.Message, p.Rule, src)
			}
		}
		if len(file.Axes) != 1 {
			t.Fatalf("%q: no axis\n%s", text, src)
		}
		var got *spec.Value
		if isMove(field) {
			got = file.Axes[0].Moves[0].Get(field)
		} else {
			got = file.Axes[0].Get(field)
		}
		if got == nil {
			t.Fatalf("%q for %s: the value is lost\n%s", text, field.Path, src)
		}
		if field.Sort == spec.Text && got.Text != norm.NFC.String(strings.TrimSpace(text)) { // as the language reads all text
			t.Fatalf("%q became %q", text, got.Text)
		}
		if (field.Sort == spec.Quantity && !field.Pair || field.Sort == spec.Number) && math.Abs(got.Num.Nominal-v.num.Nominal) > 1e-9*math.Abs(v.num.Nominal) {
			t.Fatalf("%q: %v became %v\n%s", text, v.num, got.Num, src)
		}
	})
}
