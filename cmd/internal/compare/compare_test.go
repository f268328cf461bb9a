package compare

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/rules"
	"trammel/rules/judge/run"
	"trammel/spec"
)

const axisText = `axis "NAME" {
  orientation = "horizontal"
  load {
    mass = "24 kg"
  }
  motion {
    stroke = "900 mm"
    move "out" {
      distance = "900 mm"
      speed    = "SPEED"
      ramp     = "0.2 s"
    }
    move "back" {
      distance = "-900 mm"
      speed    = "0.2 m/s"
      ramp     = "0.2 s"
    }
  }
  screw {
    lead          = "10 mm"
    root_diameter = "17.3 mm"
  }
  supports {
    drive_end = "fixed"
    far_end   = "supported"
    span      = "1100 mm"
  }
}
`

// files makes a tree; a value of two words is an axis with its name and speed.
func files(list map[string]string) fs.FS {
	out := fstest.MapFS{}
	for name, text := range list {
		if axis, speed, ok := strings.Cut(text, "@"); ok && !strings.Contains(text, "{") {
			text = strings.NewReplacer("NAME", axis, "SPEED", speed).Replace(axisText)
		}
		out[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return out
}

func side(t *testing.T, fsys fs.FS) *Side {
	t.Helper()
	tree := spec.NewTree(fsys)
	var list []string
	tree.Walk(".", func(f string) { list = append(list, f) })
	s := NewSide()
	for _, f := range run.Files(rules.Book(), tree, list, run.Options{As: run.Look{Each: s.Add}}).Findings {
		if f.OfText() {
			t.Fatalf("%s: %s", f.Place, f.Message)
		}
	}
	return s
}

func compared(t *testing.T, was, is map[string]string, names map[string]string) *Comparison {
	t.Helper()
	return Sides(side(t, files(was)), side(t, files(is)), names)
}

func summary(c *Comparison) string {
	var out []string
	for _, a := range c.Axes {
		s := a.Machine + "/" + a.Name
		if a.Only != "" {
			s += " " + a.Only
		}
		for _, v := range a.Rules {
			s += ", " + v.Rule + " " + v.Kind.String()
		}
		out = append(out, s)
	}
	return strings.Join(out, "; ")
}

func TestPairs(t *testing.T) {
	for _, c := range []struct {
		name    string
		was, is map[string]string
		names   map[string]string
		want    string
	}{
		{"same", map[string]string{"a.axis.hcl": "a@0.2 m/s"}, map[string]string{"a.axis.hcl": "a@0.2 m/s"}, nil, ""},
		{"written another way", map[string]string{"a.axis.hcl": "a@0.2 m/s"}, map[string]string{"a.axis.hcl": "# x\n" + strings.NewReplacer("NAME", "a", "SPEED", "0.2 m/s").Replace(axisText)}, nil, ""},
		{"crossed", map[string]string{"a.axis.hcl": "a@0.2 m/s"}, map[string]string{"a.axis.hcl": "a@0.7 m/s"}, nil, "./a, critical-speed limit crossed"},
		{"fixed", map[string]string{"a.axis.hcl": "a@0.7 m/s"}, map[string]string{"a.axis.hcl": "a@0.2 m/s"}, nil, "./a, critical-speed fixed"},
		{"worse", map[string]string{"a.axis.hcl": "a@0.2 m/s"}, map[string]string{"a.axis.hcl": "a@0.3 m/s"}, nil, "./a, critical-speed worse"},
		{"better", map[string]string{"a.axis.hcl": "a@0.3 m/s"}, map[string]string{"a.axis.hcl": "a@0.2 m/s"}, nil, "./a, critical-speed better"},
		{"failed before and fails more", map[string]string{"a.axis.hcl": "a@0.7 m/s"}, map[string]string{"a.axis.hcl": "a@0.8 m/s"}, nil, "./a, critical-speed worse"},
		{"added and removed", map[string]string{"a.axis.hcl": "a@0.2 m/s"}, map[string]string{"a.axis.hcl": "b@0.2 m/s"}, nil, "./a removed; ./b added"},
		{"added, and fails", nil, map[string]string{"a.axis.hcl": "b@0.7 m/s"}, nil, "./b added, critical-speed limit crossed"},
		{"moved without a machine", map[string]string{"x/a.axis.hcl": "a@0.2 m/s"}, map[string]string{"y/a.axis.hcl": "a@0.2 m/s"}, nil, "x/a removed; y/a added"},
		{"renamed without a machine", map[string]string{"x/a.axis.hcl": "a@0.2 m/s"}, map[string]string{"y/b.axis.hcl": "a@0.2 m/s"}, map[string]string{"y/b.axis.hcl": "x/a.axis.hcl"}, ""},
		{"moved with its machine", map[string]string{"x/machine.axis.hcl": "machine \"m\" {\n}\n", "x/a.axis.hcl": "a@0.2 m/s"}, map[string]string{"y/machine.axis.hcl": "machine \"m\" {\n}\n", "y/b.axis.hcl": "a@0.2 m/s"}, nil, ""},
		{"machine with another name", map[string]string{"x/machine.axis.hcl": "machine \"m\" {\n}\n", "x/a.axis.hcl": "a@0.2 m/s"}, map[string]string{"x/machine.axis.hcl": "machine \"n\" {\n}\n", "x/a.axis.hcl": "a@0.2 m/s"}, nil, ""},
		{"two that change places", map[string]string{"x/a.axis.hcl": "a@0.2 m/s", "y/a.axis.hcl": "a@0.3 m/s"}, map[string]string{"x/a.axis.hcl": "a@0.3 m/s", "y/a.axis.hcl": "a@0.2 m/s"}, map[string]string{"x/a.axis.hcl": "y/a.axis.hcl", "y/a.axis.hcl": "x/a.axis.hcl"}, ""},
		{
			"two of one name", map[string]string{"x/machine.axis.hcl": "machine \"m\" {\n}\n", "y/machine.axis.hcl": "machine \"m\" {\n}\n", "x/a.axis.hcl": "a@0.2 m/s", "y/a.axis.hcl": "a@0.7 m/s"},
			map[string]string{"x/machine.axis.hcl": "machine \"m\" {\n}\n", "y/machine.axis.hcl": "machine \"m\" {\n}\n", "x/a.axis.hcl": "a@0.2 m/s", "y/a.axis.hcl": "a@0.6 m/s"}, nil, "m/a, critical-speed better",
		},
		{"one of two is gone", map[string]string{"x/a.axis.hcl": "a@0.2 m/s", "x/b.axis.hcl": "b@0.2 m/s"}, map[string]string{"x/b.axis.hcl": "b@0.2 m/s"}, nil, "x/a removed"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for range 3 {
				if got := summary(compared(t, c.was, c.is, c.names)); got != c.want {
					t.Fatalf("got %q, want %q", got, c.want)
				}
			}
		})
	}
}

func TestHeadline(t *testing.T) {
	if got := (&Comparison{}).Headline(); got != "no axis differs" {
		t.Error(got)
	}
	c := compared(t, map[string]string{"a.axis.hcl": "a@0.2 m/s"}, map[string]string{"a.axis.hcl": "a@0.7 m/s"}, nil)
	if got := c.Headline(); got != "1 axis on 1 machine differs: 1 limit crossed" {
		t.Error(got)
	}
	c = compared(t, map[string]string{"a.axis.hcl": "a@0.2 m/s", "x/a.axis.hcl": "a@0.3 m/s"}, map[string]string{"a.axis.hcl": "a@0.3 m/s", "x/a.axis.hcl": "a@0.2 m/s"}, nil)
	if got := c.Headline(); got != "2 axes on 2 machines differ: 1 margin worse, 1 margin better" {
		t.Error(got)
	}
}

// TestPolicies holds that what a policy sets is a cause.
func TestPolicies(t *testing.T) {
	policy := func(s string) map[string]string {
		return map[string]string{"a.axis.hcl": "a@0.2 m/s", "h.policy.hcl": s}
	}
	limit := func(s string) string {
		return "rule \"critical-speed\" {\n  limit = \"" + s + " %\"\n  reason = \"x\"\n}\n"
	}
	require := func(s string) string {
		return "require \"own\" {\n  when = " + s + "\n  message = \"x\"\n  reason = \"x\"\n  severity = \"error\"\n}\n"
	}
	for _, c := range []struct{ was, is, words, kinds string }{
		{limit("70"), limit("60"), "policy critical-speed: limit 70 % → 60 %", "critical-speed worse"},
		{"", limit("60"), "policy critical-speed: limit 60 % (new)", "critical-speed worse"},
		{limit("60"), "", "policy critical-speed: limit 60 % (removed)", "critical-speed better"},
		{limit("70"), "# so\n" + limit("70"), "", ""},
		{"", "rule \"critical-speed\" {\n  severity = \"off\"\n  reason = \"x\"\n}\n", "policy critical-speed: severity off (new)", "critical-speed no longer judged"},
		{"rule \"critical-speed\" {\n  severity = \"off\"\n  reason = \"x\"\n}\n", "", "policy critical-speed: severity off (removed)", "critical-speed newly judged"},
		{require(`true
  that = screw.lead > "5 mm"`), "", `house rule own screw.lead > "5 mm" when true (removed); house rule own: severity error (removed)`, "own no longer judged"},
		{"", require(`!(screw.lead < "2 mm" || false)
  that = screw.lead > "50 mm"`), `house rule own screw.lead > "50 mm" when !((screw.lead < "2 mm") || false) (new); house rule own: severity error (new)`, "own limit crossed"},
	} {
		got := compared(t, policy(c.was), policy(c.is), nil)
		var words, kinds []string
		for _, x := range got.Causes {
			words = append(words, x.words())
		}
		for _, a := range got.Axes {
			for _, v := range a.Rules {
				kinds = append(kinds, v.Rule+" "+v.Kind.String())
			}
		}
		slices.Sort(words)
		if w, k := strings.Join(words, "; "), strings.Join(kinds, "; "); w != c.words || k != c.kinds {
			t.Errorf("from\n%sto\n%s got %q and %q,\nwant %q and %q", c.was, c.is, w, k, c.words, c.kinds)
		}
	}
}

// A model that changed while the text did not is a change.
func TestModelChanged(t *testing.T) {
	t.Parallel()
	pin, err := os.ReadFile("../../../spec/step/testdata/pin.step")
	if err != nil {
		t.Fatal(err)
	}
	text := "axis \"a\" {\n  screw {\n    model  = \"a.step\"\n    length = \"80 mm\"\n  }\n}\n"
	was := map[string]string{"a.axis.hcl": text, "a.step": string(pin)}
	is := map[string]string{"a.axis.hcl": text, "a.step": strings.ReplaceAll(string(pin), "80.)", "90.)")}
	c := compared(t, was, is, nil)
	if len(c.Axes) != 1 || len(c.Axes[0].Text) != 1 {
		t.Fatalf("got %+v", c.Axes)
	}
	change := c.Axes[0].Text[0]
	if change.Name != "screw.model: content" || !strings.HasSuffix(change.Was, " 80 mm") || !strings.HasSuffix(change.Is, " 90 mm") || change.Place.Line != 3 {
		t.Errorf("got %+v", change)
	}
	if c.Count(Crossed) != 1 {
		t.Errorf("no limit is crossed: %+v", c.Axes[0].Rules)
	}
	if again := compared(t, was, was, nil); len(again.Axes) > 0 {
		t.Errorf("the same model differs: %+v", again.Axes)
	}
}

func same(p spec.Place) spec.Place { return p }

// TestWriters feeds names and texts that nobody should write.
func TestWriters(t *testing.T) {
	evil := "a\x1b[31m\n|<b>`_*[x](y)@me\u202e\u2028"
	c := &Comparison{
		Causes: []Cause{{Change{evil, evil, evil, spec.Place{File: evil, Line: 3, Col: 1}}, 1, 1}},
		Axes: []Axis{{
			Machine: evil, Name: evil, Only: "added", Place: spec.Place{File: evil, Line: 1, Col: 1},
			Text:       []Change{{evil, evil, "", spec.Place{}}},
			Quantities: []Move{{evil, evil, evil, evil, math.Inf(1)}, {"n", "t", "1", "2", 1}},
			Rules:      []Verdict{{evil, Crossed, "", "failed", math.NaN(), math.Inf(-1), ""}, {"r", Worse, "passed", "passed", 3, math.Inf(1), ""}},
		}},
	}
	for _, all := range []bool{false, true} {
		var text, mark bytes.Buffer
		if err := c.Text(&text, all, same); err != nil {
			t.Fatal(err)
		}
		if err := c.Markdown(&mark, all); err != nil {
			t.Fatal(err)
		}
		for _, s := range []string{text.String(), mark.String()} {
			if strings.ContainsAny(s, "\x1b\u202e\u2028") || strings.Contains(s, "Inf") || strings.Contains(s, "NaN") {
				t.Errorf("%q", s)
			}
		}
		if want := map[bool]int{false: 7, true: 11}[all]; strings.Count(text.String(), "\n") != want {
			t.Errorf("%d lines:\n%s", strings.Count(text.String(), "\n"), text.String())
		}
		for _, s := range []string{"<b>", "`_", "[x](", " @me", "*["} {
			if strings.Contains(strings.NewReplacer("\\`", "", `\_`, "", `\*`, "").Replace(mark.String()), s) {
				t.Errorf("%q is in\n%s", s, mark.String())
			}
		}
		for l := range strings.Lines(mark.String()) {
			if strings.HasPrefix(l, "|") && strings.Count(strings.ReplaceAll(l, `\|`, ""), "|") != 6 {
				t.Errorf("a row with other cells: %q", l)
			}
		}
	}
	var out bytes.Buffer
	if err := c.JSON(&out, evil, "to"); err != nil {
		t.Fatal(err)
	}
	var doc struct {
		From string
		Axes []struct {
			Machine    string
			Quantities []struct{ By *float64 }
			Rules      []struct {
				Was *float64 `json:"was_margin"`
				Is  *float64 `json:"is_margin"`
			}
		}
	}
	if err := json.Unmarshal(out.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	a := doc.Axes[0]
	if doc.From != evil || a.Machine != evil || a.Quantities[0].By != nil || *a.Quantities[1].By != 1 || a.Rules[0].Was != nil || a.Rules[0].Is != nil || *a.Rules[1].Was != 3 || a.Rules[1].Is != nil {
		t.Errorf("%s", out.Bytes())
	}
}

// TestTooLong holds that a long comparison stays on a screen, with nothing grave cut off.
func TestTooLong(t *testing.T) {
	c := &Comparison{}
	for i := range 40 {
		a := Axis{Machine: "m", Name: string(rune('A' + i)), Place: spec.Place{File: "f", Line: 1, Col: 1}}
		a.Rules = []Verdict{{"grave", Crossed, "passed", "failed", 1, -1, ""}, {"bad", Worse, "passed", "passed", 2, 1, ""}, {"bad2", Worse, "passed", "passed", 2, 1, ""}, {"good", Better, "passed", "passed", 1, 2, ""}}
		if i >= 25 {
			a.Rules = a.Rules[1:]
		}
		c.Axes = append(c.Axes, a)
		c.Causes = append(c.Causes, Cause{Change{"n", "a", "b", spec.Place{File: "f", Line: int32(i), Col: 1}}, 1, 1})
	}
	for _, all := range []bool{false, true} {
		var b, m bytes.Buffer
		if err := c.Text(&b, all, same); err != nil {
			t.Fatal(err)
		}
		if err := c.Markdown(&m, all); err != nil {
			t.Fatal(err)
		}
		if strings.Count(b.String(), "limit crossed\n") != 25 || strings.Count(m.String(), "**limit crossed**") != 25 {
			t.Errorf("crossed limits are cut off:\n%s", b.String())
		}
		if n := strings.Count(b.String(), "\n"); !all && n > 48 || all && n < 180 {
			t.Errorf("%d lines", n)
		}
		if !all && (!strings.Contains(b.String(), "and 28 more changed lines\n") || !strings.Contains(b.String(), "and 115 more; --all shows them\n")) {
			t.Errorf("%s", b.String())
		}
	}
}
