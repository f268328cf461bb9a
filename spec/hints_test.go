package spec

import (
	"strings"
	"testing"
	"testing/fstest"
)

// TestMessagesThatMend types what people type who do not know the language yet. What
// is said must be how to write it.
func TestMessagesThatMend(t *testing.T) {
	in := map[string]string{
		"axis":  "axis \"a\" {\n  %\n}\n",
		"load":  "axis \"a\" {\n  load {\n    %\n  }\n}\n",
		"screw": "axis \"a\" {\n  screw {\n    %\n  }\n}\n",
		"move":  "axis \"a\" {\n  motion {\n    move \"out\" {\n      %\n    }\n  }\n}\n",
		"rule":  "rule \"ball-speed\" {\n  %\n}\n",
		"house": "require \"r\" {\n  %\n}\n",
	}
	for _, c := range []struct{ where, typed, want string }{
		{"axis", `description = lift`, `"lift" is not a value; put text in quotes, "lift"; a value of this file is written given.NAME`},
		{"load", `people_below = yes`, `"yes" is not a value; write true`},
		{"load", `people_below = TRUE`, `"TRUE" is not a value; write true`},
		{"load", `people_below = off`, `"off" is not a value; write false`},
		{"load", `mass = 38`, `mass needs a unit; the bare number 38 has none; write it in quotes, such as "38 kg"`},
		{"load", `mass = 38kg`, `a number with its unit is text; put it in quotes: "38 kg"`},
		{"load", `mass = 38 kg`, `a number with its unit is text; put it in quotes: "38 kg"`},
		{"load", `mass = 38.5 kg # laden`, `put it in quotes: "38.5 kg"`},
		{"load", `friction = 0,01`, `a decimal number has a point, not a comma; write 0.01`},
		{"load", `friction = .01`, `a number begins with a digit; write 0.01`},
		{"load", `friction = "0.01"`, `friction is a number without unit or quotes, found the text "0.01"; write friction = 0.01`},
		{"load", `friction = "0,01"`, `write friction = 0.01`},
		{"load", "mass\u00a0= \"38 kg\"", `a no-break space (U+00A0) is here; delete it, or type a plain space`},
		{"load", "mass = \"38 kg\"\u200b", `a space without width (U+200B) is here`},
		{"load", "mass = „38 kg“", `text needs straight quotes ("), not „; replace the quotes on both sides`},
		{"load", "mass = “38 kg”", `text needs straight quotes ("), not curly ones`},
		{"load", "ma\u0455s = \"38 kg\"", "its letter \u0455 is U+0455, which only looks like one of the keyboard"},
		{"axis", `mass = "38 kg"`, `axis has no attribute "mass"; it belongs in load { }`},
		{"axis", "move \"out\" {\n  }", `axis has no block "move"; it belongs in motion { }`},
		{"axis", `distance = "1 m"`, `it belongs in motion { move { } }`},
		{"load", `lead = "10 mm"`, `load has no attribute "lead"; it belongs in screw { }`},
		{"load", `length = "900 mm"`, `it belongs in screw { } or nut { }`},
		{"screw", `diameter = "20 mm"`, `screw has no attribute "diameter"; write nominal_diameter`},
		{"screw", `pitch = "10 mm"`, `screw has no attribute "pitch"; write lead`},
		{"screw", `lead "10 mm"`, `a value follows its name after one equals sign; write lead = "10 mm"`},
		{"screw", `lead: "10 mm"`, `write lead = "10 mm"`},
		{"screw", `lead == "10 mm" # on the label`, `write lead = "10 mm"`},
		{"screw", `part = screw.20x10`, `write a name that begins with a digit in brackets and quotes: screw["20x10"]`},
		{"axis", "spindle {\n  }", `axis has no block "spindle"; write screw`},
		{"axis", "bearings {\n  }", `axis has no block "bearings"; write supports`},
		{"load", `people_below = ja`, `people_below is true or false, not ja`},
		{"load", `people_below = "Yes"`, `people_below is true or false, not the text "Yes"; write people_below = true`},
		{"load", `people_below = 1`, `people_below is true or false, not`},
		{"load", "mass = \"38\u200b kg\"", `holds a space without width (U+200B); write "38 kg"`},
		{"load", "mass = \"38 \u043ag\"", "holds the letter \u043a (U+043A), which only looks like one of the keyboard; type it again"},
		{"load", `mass = "ca. 38 kg"`, `"ca. 38 kg" does not begin with its number; write "38 kg"`},
		{"load", `mass = "1,200 kg"`, `"1,200 kg" can be read in two ways; write "1200 kg" or "1.200 kg"`},
		{"screw", `length = "700 mm/rev"`, `did you mean "700 mm"?`},
		{"load", `masse = "38 kg"`, `did you mean mass?`},
		{"move", `ramp = "5 m/s2"`, `ramp: "5 m/s2" is an acceleration; a time is expected, such as s, ms, min or h; for an acceleration write acceleration = "5 m/s2"`},
		{"move", `velocity = "0.3 m/s"`, `write speed`},
		{"rule", `severity = off`, `"off" is not a value; put text in quotes, "off"`},
		{"house", `that = life_hours > 5 and preload > 1`, `and is not an operator; write && for and, || for or, ! for not`},
		{"load", `people_below = true or false`, `there is a choice here; write one of the values, without or`},
		{"load", `mass = … # of the carriage`, `a value is left open here; write it in the place of …, or put # before the line`},
		{"load", `mass = "… kg"`, `"… kg" is not understood: the … stands for a number to fill in`},
		{"house", `that = life_hours = 5`, `a single = sets a value; write == to compare`},
	} {
		name, policy := "x.axis.hcl", c.where == "house" || c.where == "rule"
		if policy {
			name = "x.policy.hcl"
		}
		tree := NewTree(fstest.MapFS{name: {Data: []byte(strings.Replace(in[c.where], "%", c.typed, 1))}})
		var said []string
		problems := tree.Folder(".").Problems
		if !policy {
			problems = tree.ReadAxes(name).Problems
		}
		for _, p := range problems {
			text := p.Message
			if p.Help != "" {
				text += "; " + p.Help
			}
			said = append(said, text)
		}
		if len(said) != 1 || !strings.Contains(said[0], c.want) {
			t.Errorf("%s: %s\n  says %q\n  want %q", c.where, c.typed, said, c.want)
		}
	}
}

// TestLeadPerRevolution: a lead may be written as data sheets write it, wherever one is
// read; nothing else may.
func TestLeadPerRevolution(t *testing.T) {
	for _, c := range []struct{ written, text string }{
		{`"10 mm/rev"`, "10 mm"}, {`"10 mm per turn"`, "10 mm"}, {`"10 mm/U"`, "10 mm"}, {`"0.5 in/rev"`, "0.5 in"},
		{`"10 mm/rev ± 0.1 mm/rev"`, "10 mm ± 0.1 mm"}, {`"9 mm/rev … 11 mm/rev"`, "9 mm … 11 mm"},
	} {
		axis := "axis \"a\" {\n  screw {\n    lead = " + c.written + "\n  }\n}\n"
		given := "given {\n  l = " + c.written + "\n}\n" + strings.Replace(axis, c.written, "given.l", 1)
		row := "series \"g\" {\n  of      = \"screw\"\n  columns = [\"name\", \"lead\"]\n  sizes   = [[\"a\", " + c.written + "]]\n}\n"
		tree := NewTree(fstest.MapFS{"x.axis.hcl": {Data: []byte(axis)}, "y.axis.hcl": {Data: []byte(given)}, "x.parts.hcl": {Data: []byte(row)}})
		for _, name := range []string{"x.axis.hcl", "y.axis.hcl"} {
			file := tree.ReadAxes(name)
			if len(file.Problems) > 0 {
				t.Fatal(file.Problems)
			}
			if v := file.Axes[0].Get(Language().FieldAt("screw.lead")); v.Text != c.text {
				t.Errorf("%s in %s is %q", c.written, name, v.Text)
			}
		}
		f := tree.Folder(".")
		if len(f.Problems) > 0 {
			t.Fatal(f.Problems)
		}
		if v := f.Parts()[0].Get("lead"); v.Text != c.text {
			t.Errorf("%s in a series is %q", c.written, v.Text)
		}
	}
	column := "series \"g\" {\n  of      = \"screw\"\n  columns = [\"name\", \"lead mm/rev\"]\n  sizes   = [[\"a\", 10]]\n}\n"
	f := NewTree(fstest.MapFS{"x.parts.hcl": {Data: []byte(column)}}).Folder(".")
	if len(f.Problems) > 0 || f.Parts()[0].Get("lead").Text != "10 mm" {
		t.Errorf("a column per revolution: %v", f.Problems)
	}
}

// TestWhereTheSearchEnds: who looks for a part in vain is told why no folder above was
// searched.
func TestWhereTheSearchEnds(t *testing.T) {
	tree := NewTree(fstest.MapFS{"x.axis.hcl": {Data: []byte("axis \"a\" {\n  screw {\n    part = screw.b\n  }\n}\n")}})
	tree.Ends("it lies in no repository")
	if p := tree.ReadAxes("x.axis.hcl").Problems; len(p) != 1 || !strings.HasSuffix(p[0].Help, "declares a screw; it lies in no repository") {
		t.Errorf("%+v", p)
	}
}
