package sheet

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"
	"unicode/utf8"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/formula"
	"trammel/cmd/internal/svg"
	"trammel/rules"
	"trammel/rules/mechanics"
	"trammel/spec/amount"
	"trammel/spec/unit"
)

// TestSections holds that each section has a title and quantities to show.
func TestSections(t *testing.T) {
	for n := mechanics.Declared + 1; n < mechanics.Sections; n++ {
		if sections[n].id == "" || sections[n].title == "" || len(inSection(n)) == 0 {
			t.Errorf("section %d: %q with %d quantities", n, sections[n].title, len(inSection(n)))
		}
	}
	for _, f := range side {
		if mechanics.ByName(f.quantity) == nil {
			t.Errorf("the table side by side shows %s, which is no quantity", f.quantity)
		}
	}
}

func TestLongSameBytes(t *testing.T) {
	amount.Long(t)
	defer func(l *time.Location) { time.Local = l }(time.Local)
	var first string
	runs := amount.Of([]int{1, 8, 8}, []int{1, 8})
	for i, workers := range runs {
		if i == len(runs)-1 {
			time.Local = time.FixedZone("far", 14*3600)
		}
		axes := build(t, fixtureTree("bakery"), buildOptions{workers: workers})
		if len(axes) < 20 {
			t.Fatalf("only %d axes", len(axes))
		}
		var b strings.Builder
		for _, f := range forms {
			b.WriteString(f.write(t, machineOf(axes)...))
		}
		if i == 0 {
			first = b.String()
		} else if b.String() != first {
			k := 0
			for k < min(len(first), b.Len()) && first[k] == b.String()[k] {
				k++
			}
			t.Errorf("run %d gave other bytes: …%q… is …%q…", i, first[max(0, k-100):min(len(first), k+100)], b.String()[max(0, k-100):min(b.Len(), k+100)])
		}
	}
}

// everyFixture calls f with the sheets of each tree of the fixtures, in the units of the
// axes, in metric and in inch units; of a sample in one of them each, the largest in inch.
func everyFixture(t *testing.T, f func(t *testing.T, sheets []*document.Document, sys *unit.System)) {
	trees := fixtureTrees(t)
	trees = append(trees[:1:1], amount.Some(trees[1:], 16, func(name string) string { return name })...)
	if raceOn {
		trees = trees[:1]
	}
	systems := []*unit.System{nil, new(unit.Metric), new(unit.Inch)}
	for i, name := range trees {
		for _, sys := range amount.Of(systems, systems[2-i%3:3-i%3]) {
			shown := "own"
			if sys != nil {
				shown = [...]string{"metric", "inch"}[*sys]
			}
			t.Run(name+"/"+shown, func(t *testing.T) {
				t.Parallel()
				axes := build(t, fixtureTree(name), buildOptions{sys: sys})
				if len(axes) == 0 {
					t.Skip("no axis")
				}
				f(t, machineOf(axes), sys)
			})
		}
	}
}

// slips are what no reader is meant to see.
var slips = []string{"NaN", "%!", "+Inf", "-Inf", "undefined", "<nil>", "&lt;nil&gt;", "0xc000", "map["}

func TestNothingUnreadable(t *testing.T) {
	everyFixture(t, func(t *testing.T, sheets []*document.Document, _ *unit.System) {
		for _, f := range forms {
			out := f.write(t, sheets...)
			for _, x := range slips {
				if at := strings.Index(out, x); at >= 0 {
					t.Errorf("%s: …%s…", f.name, out[max(0, at-120):min(len(out), at+40)])
				}
			}
			if strings.Contains(out, "No picture") {
				t.Errorf("%s: a plot could not be drawn", f.name)
			}
		}
		for _, s := range sheets {
			for _, sec := range s.Sections {
				for _, st := range steps(&sec) {
					if put := st.Formula.Text(st.Values); st.Note == "" && st.Result != document.SeeTable && strings.Contains(put, "—") {
						t.Errorf("%s: %s has a gap though its value is known: %s = %s", s.Title, st.Title, put, st.Result)
					}
				}
				for _, p := range blocks[*document.Figure](&sec) {
					pic, err := p.Draw()
					if err != nil {
						t.Errorf("%s: %v", p.Title, err)
					}
					if len(pic) > 200_000 {
						t.Errorf("%s: a picture of %d bytes", p.Title, len(pic))
					}
					if hex := regexp.MustCompile(`#[0-9A-Fa-f]{6}`).FindString(pic); hex != "" {
						t.Errorf("%s: colour %s is not one of the page's", p.Title, hex)
					}
				}
			}
		}
	})
}

// asXML reads a page as XML, which is stricter than HTML is.
func asXML(page string) *xml.Decoder {
	d := xml.NewDecoder(strings.NewReader(regexp.MustCompile(`<meta ([^>]*)>`).ReplaceAllString(page, "<meta $1/>")))
	d.Entity = xml.HTMLEntity
	return d
}

// harmless holds a page to elements and attributes of our own.
func harmless(t *testing.T, page string) {
	t.Helper()
	d := asXML(page)
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return
		}
		if err != nil {
			t.Error(err)
			return
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		if slices.Contains([]string{"script", "img", "iframe", "object", "base", "form", "link"}, strings.ToLower(e.Name.Local)) {
			t.Errorf("the page has an element %s", e.Name.Local)
		}
		for _, a := range e.Attr {
			if strings.HasPrefix(strings.ToLower(a.Name.Local), "on") || a.Name.Local == "href" && !strings.HasPrefix(a.Value, "#") {
				t.Errorf("the page has an attribute %s of %q", a.Name.Local, a.Value)
			}
		}
	}
}

// TestHTMLIsWellFormed reads the page strictly: elements closed, ids once,
// links that lead somewhere, headings that skip no level.
func TestHTMLIsWellFormed(t *testing.T) {
	axes := bakerySheets(t)
	page := forms[2].write(t, machineOf(axes)...)
	d := asXML(page)
	ids, level := map[string]bool{}, 0
	var targets []string
	for {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		for _, a := range e.Attr {
			switch {
			case a.Name.Local == "id" && ids[a.Value]:
				t.Errorf("id %s stands twice", a.Value)
			case a.Name.Local == "id":
				ids[a.Value] = true
			case a.Name.Local == "href" && strings.HasPrefix(a.Value, "#"):
				targets = append(targets, a.Value[1:])
			case a.Name.Local == "href" || a.Name.Local == "src":
				t.Errorf("the page refers to %s", a.Value)
			}
		}
		if n := e.Name.Local; len(n) == 2 && n[0] == 'h' && n[1] >= '1' && n[1] <= '6' {
			if l := int(n[1] - '0'); l > level+1 {
				t.Errorf("h%d follows h%d", l, level)
			} else {
				level = l
			}
		}
	}
	for _, x := range targets {
		if !ids[x] {
			t.Errorf("nothing bears the id %s", x)
		}
	}
}

// units of one system that must not stand in a sheet of the other. What both
// share (rpm, s, °, %, years) is in neither list.
var (
	metricUnits = regexp.MustCompile(`\d ?(mm|µm|nm|m|km|m/s|mm/s|m/s²|mm/s²|N|kN|MN|mN|kg|g|t|N·m|mN·m|kN·m|kg·m²|kg·cm²|kg·mm²|N/µm|N/mm|MPa|GPa|kPa|°C|K|mm²|m²|mm⁴|cm⁴|kg/m³|W|kW|µm/\(m·K\))([^\pL\d²·/]|$)`)
	inchUnits   = regexp.MustCompile(`\d ?(in|ft|mil|in/s|in/s²|lbf|lb|lbf·in|lbf·ft|lb·in²|kip/in|lbf/in|psi|ksi|°F|in²|in⁴|lb/in³|hp|µin/\(in·°F\))([^\pL\d²·/]|$)`)
)

// quoted is what the words of a rule take from a file or part as it stands there,
// and the fixed temperature that lengths are told at (ISO 1).
var quoted = map[string]*regexp.Regexp{
	"magnitude":         regexp.MustCompile(`: was .* meant\?|end lengths [^:]*: .* is`),
	"nut-fits":          regexp.MustCompile(` with [^;]*;`),
	"shaft-layout":      regexp.MustCompile(`with ends of [^;]*;`),
	"stated-values":     regexp.MustCompile(`description says [^;]*, but|has a payload of .*`),
	"temperature-range": regexp.MustCompile(`from 20 °C`),
}

// TestUnitsOfTheWholeSheet holds that a sheet is in one system of units
// throughout. Texts of the spec files themselves and formulas that count in
// fixed units may name others.
func TestUnitsOfTheWholeSheet(t *testing.T) {
	everyFixture(t, func(t *testing.T, sheets []*document.Document, sys *unit.System) {
		if sys == nil {
			return
		}
		wrong := inchUnits
		if *sys == unit.Inch {
			wrong = metricUnits
		}
		look := func(where, s string) {
			if m := wrong.FindString(s); m != "" {
				t.Errorf("%s: %q in %q", where, m, s)
			}
		}
		for _, s := range sheets {
			for _, sec := range s.Sections {
				where := s.Title + ", " + sec.Title
				for _, st := range steps(&sec) {
					look(where, st.Result)
					for _, v := range st.Values {
						look(where, v)
					}
				}
				for _, tb := range blocks[*document.Table](&sec) {
					look(where, tb.Caption)
					for _, r := range tb.Rows {
						for i, c := range r {
							if i < len(tb.Number) && tb.Number[i] || tb.Named {
								look(where, c)
							}
						}
					}
				}
				for _, p := range blocks[*document.Figure](&sec) {
					look(where, p.Alt)
					pic, _ := p.Draw()
					for _, m := range regexp.MustCompile(`>([^<]+)</text>`).FindAllStringSubmatch(pic, -1) {
						look(where+", "+p.Title, m[1])
						look(where+", "+p.Title, strings.NewReplacer("(", "1 ", ")", "").Replace(m[1])) // the unit of an axis
					}
				}
				for _, f := range blocks[*document.Finding](&sec) {
					// A house rule has words of its own, and these rules quote what the file says.
					if rules.Book().ByName(f.Rule) != nil && !slices.Contains([]string{"contradiction", "side-load", "preferred-size"}, f.Rule) {
						said := f.Message
						if q := quoted[f.Rule]; q != nil {
							said = q.ReplaceAllString(said, "")
						}
						look(where, said)
					}
				}
			}
		}
	})
}

// TestFormsSayTheSame looks in each form for all the model holds.
func TestFormsSayTheSame(t *testing.T) {
	axes := bakerySheets(t)
	// Signs are written differently in each form; only letters and digits
	// are compared with each other.
	same := regexp.MustCompile(`[^\pL\pN]+`)
	tags := regexp.MustCompile(`</?[a-zA-Z!][^>]*>|&[a-z#0-9]+;`) // a tag, not the sign of less than
	letters := func(s string) string {
		s = tags.ReplaceAllString(s, "")
		return same.ReplaceAllString(s, "")
	}
	waived, unjudged, found := 0, 0, 0
	some := slices.Clip(amount.Some(axes, 4, func(a axisSheet) string { return a.name }))
	for _, id := range []string{"waivers", "not-judged"} {
		some = append(some, axes[slices.IndexFunc(axes, func(a axisSheet) bool { return len(items(a.sheet.Section(id))) > 0 })])
	}
	for _, a := range some {
		s := a.sheet
		out := map[string]string{}
		for _, f := range forms {
			out[f.name] = letters(f.write(t, s))
		}
		want := func(what string) {
			what = same.ReplaceAllString(what, "")
			for _, f := range forms {
				if !strings.Contains(out[f.name], what) {
					t.Errorf("%s: %s does not hold %q", a.name, f.name, what)
				}
			}
		}
		for _, id := range []string{"given", "symbols", "motion", "forces", "means", "life", "speed", "strength", "accuracy", "drive", "layout", "service", "margins", "findings", "waivers", "not-judged", "sensitivity", "caution"} {
			if s.Section(id) == nil {
				t.Errorf("%s has no section %s", a.name, id)
			}
		}
		for _, sec := range s.Sections {
			want(sec.Title)
			for _, p := range blocks[document.Paragraph](&sec) {
				want(string(p))
			}
			for _, l := range items(&sec) {
				want(l.Text)
			}
			for _, st := range steps(&sec) {
				want(st.Title)
				want(st.Result)
				want(st.Note)
				want(st.Source)
			}
			for _, tb := range blocks[*document.Table](&sec) {
				want(tb.Caption)
				for _, r := range tb.Rows {
					for _, c := range r {
						want(c)
					}
				}
			}
			for _, p := range blocks[*document.Figure](&sec) {
				want(p.Title)
				want(p.Alt)
			}
			for _, f := range blocks[*document.Finding](&sec) {
				want(f.Message)
				want(f.Rule)
				for _, l := range f.More {
					want(l)
				}
			}
		}
		found += len(blocks[*document.Finding](s.Section("findings")))
		waived += len(items(s.Section("waivers")))
		unjudged += len(items(s.Section("not-judged")))
		open := 0
		for _, f := range a.rep.Findings {
			if f.Waiver == nil {
				open++
			}
		}
		if got := len(blocks[*document.Finding](s.Section("findings"))); got != open {
			t.Errorf("%s: %d findings in the sheet, %d in the report", a.name, got, open)
		}
		if got := len(items(s.Section("not-judged"))); got != len(a.rep.MissingInputs) {
			t.Errorf("%s: %d gaps in the sheet, %d in the report", a.name, got, len(a.rep.MissingInputs))
		}
	}
	if found == 0 || waived == 0 || unjudged == 0 {
		t.Errorf("the fixtures have %d findings, %d waivers, %d gaps: too few to tell", found, waived, unjudged)
	}
}

// TestPlotsArePresent counts the pictures of a whole axis.
func TestPlotsArePresent(t *testing.T) {
	for _, a := range build(t, fixtureTree("bakery"), buildOptions{under: "machines/loader"}) {
		var got []string
		for _, sec := range a.sheet.Sections {
			for _, p := range blocks[*document.Figure](&sec) {
				got = append(got, p.ID)
			}
		}
		want := []string{"plot-speed", "plot-force", "plot-life", "plot-critical", "plot-buckling", "plot-budget", "plot-torque", "plot-margins"}
		if a.name == "dip" { // hangs from its thrust bearing: nothing pushes its shaft
			want = slices.Delete(want, 4, 5)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s has the plots %v, expected %v", a.name, got, want)
		}
	}
}

// nasty are texts that must be shown as text.
var nasty = []string{
	`<script>alert(1)</script>`, `</style><script>x</script>`, `"><img src=x onerror=alert(1)>`, `a & b &amp; &lt;`, "`code` ``` fence", `a | b || c`,
	`[x](javascript:alert(1))`, `![x](http://example.com/x.png)`, `](javascript:alert(1))`, "\u202egnp.exe\u202c \u2066x\u2069", "\x1b[31mred\x1b[0m \a\b\x00",
	"one\ntwo\r\n# three\u2028four", `- a list`, `1. a list`, `===`, `# a heading`, `    indented`, `$\mathrm{x}$`, `~~gone~~`, `*bold* _slanted_ __x__`, `--><!--`, `]]>`, `' onload='x`,
	`<a href="https://example.com">x</a>`, `a\`, `\| \<b>`, "\xff\xfe broken", `' OR 1=1`, `{{.}} ${x} %s %d %!`, `@everyone`, strings.Repeat("x", 3000),
}

// dangers are what none of the forms may hold when fed with nasty texts.
var dangers = map[string]*regexp.Regexp{
	"text":     regexp.MustCompile("[\x00-\x09\x0b-\x1f\x7f\u0080-\u009f\u202a-\u202e\u2066-\u2069\u2028\u2029]"),
	"markdown": regexp.MustCompile("[\x00-\x09\x0b-\x1f\x7f\u0080-\u009f\u202a-\u202e\u2066-\u2069\u2028\u2029]|<|[^\\\\]`|[^\\\\]\\]\\(|[^\\\\]!\\[|\n[-+=] ?a list|\n1\\. a list|\n===|\n    indented|\n# three|[^\\\\]\\$|[^\\\\]~~"),
	"html":     regexp.MustCompile("(?i)[\x00-\x08\x0b-\x1f\x7f\u0080-\u009f\u202a-\u202e\u2066-\u2069\u2028\u2029]|<script|<img|<!--|<a href=\"http|</style>.*</style>"),
}

func TestNastyTexts(t *testing.T) {
	for _, x := range nasty {
		s := &document.Document{Title: x, About: x, Facts: document.Facts{{Name: "Machine", Value: x}}, Sections: []document.Section{{ID: "a", Title: "A", Blocks: []document.Block{
			document.Paragraph(x), document.Facts{{Name: "Fact", Value: x}},
			document.List{{Text: x, At: x, Items: []string{x}}, {Text: x + ": more"}},
			document.Steps{{Title: "t", Symbol: "s", Formula: formula.Parse("a where a = b"), Result: x, Note: x, Source: "c"}},
			&document.Table{
				Caption: x, Head: []string{x, "head"}, Number: []bool{false, true}, Named: true, Rows: [][]string{{x, x}, {x, x}}, Rest: x,
				Marks: map[[2]int]document.Mark{{0, 0}: {Strong: true}, {1, 0}: {Href: "#a", Data: [2]string{"name", x}}},
			},
			figure("p", "T", x, &svg.Chart{X: svg.Axis{Label: x}, Rows: []string{x}, Bars: []svg.Bar{{To: 1, Name: x}}, Spots: []svg.Spot{{Shape: svg.Dot, Name: x}}, Spans: []svg.Span{{To: 1, Name: x}}, Limit: 1, Name: x}),
			&document.Finding{Rule: "r", Message: x, Place: x, Level: "error", More: []string{x}},
		}}}}
		for _, f := range forms {
			out := f.write(t, s, s)
			if f.name == "html" {
				out = regexp.MustCompile(`(?s)<style>.*?</style>`).ReplaceAllString(out, "")
			}
			if at := dangers[f.name].FindStringIndex(out); at != nil {
				t.Errorf("%s of %.40q: …%q…", f.name, x, out[max(0, at[0]-60):min(len(out), at[1]+60)])
			}
			if f.name == "html" {
				harmless(t, out)
			}
			if f.name == "markdown" {
				for _, l := range strings.Split(out, "\n") {
					if strings.HasPrefix(l, "|") && len(regexp.MustCompile(`(^|[^\\])\|`).FindAllString(strings.ReplaceAll(l, `\\`, ""), -1)) > 7 {
						t.Errorf("markdown of %.40q: a row has too many cells: %.200s", x, l)
					}
				}
			}
		}
	}
}

// TestNastySpec feeds the texts through spec files.
func TestNastySpec(t *testing.T) {
	src, err := os.ReadFile("../../../fixtures/bakery/machines/slicer/outfeed.axis.hcl")
	if err != nil {
		t.Fatal(err)
	}
	all := fixtureTree("bakery")
	for _, x := range amount.Some(nasty, 3, strings.Clone) {
		if strings.Contains(x, "\x00") || !utf8.ValidString(x) || len(x) > 500 {
			continue // refused by the reader or cut by it
		}
		quoted := strings.NewReplacer("${", "$${", "%{", "%%{").Replace(fmt.Sprintf("%q", x))
		quoted = strings.NewReplacer(`\x1b`, `\u001b`, `\a`, `\u0007`, `\b`, `\u0008`).Replace(quoted)
		text := regexp.MustCompile(`description = ".*"`).ReplaceAllLiteralString(string(src), "description = "+quoted)
		text = regexp.MustCompile(`reason = ".*"`).ReplaceAllLiteralString(text, "reason = "+quoted)
		text = strings.Replace(text, `flange_toward = "fixed"`, `flange_toward = "supported"`+"\n    flange_reason = "+quoted, 1)
		fsys := fstest.MapFS{"machines/slicer/outfeed.axis.hcl": {Data: []byte(text)}}
		for _, n := range []string{"parts/screws.parts.hcl", "parts/nuts.parts.hcl", "parts/supports.parts.hcl", "parts/greases.parts.hcl", "parts/drives.parts.hcl", "parts/environments.parts.hcl", "machines/slicer/machine.axis.hcl"} {
			f, err := all.Open(n)
			if err != nil {
				t.Fatal(err)
			}
			data, _ := io.ReadAll(f)
			fsys[n] = &fstest.MapFile{Data: data}
		}
		axes := build(t, fsys, buildOptions{})
		if len(axes) != 1 {
			t.Fatalf("%q: %d axes", x, len(axes))
		}
		if axes[0].sheet.About == "" {
			t.Errorf("%q: no description arrived", x)
		}
		for _, f := range forms {
			out := f.write(t, machineOf(axes)...)
			if f.name == "html" {
				harmless(t, out)
				out = regexp.MustCompile(`(?s)<style>.*?</style>`).ReplaceAllString(out, "")
			}
			if at := dangers[f.name].FindStringIndex(out); at != nil {
				t.Errorf("%s of %.40q: …%q…", f.name, x, out[max(0, at[0]-60):min(len(out), at[1]+60)])
			}
		}
	}
}

// TestManyMoves holds the work of a hostile cycle within bounds.
func TestLongManyMoves(t *testing.T) {
	amount.Long(t)
	src, err := os.ReadFile("../../../fixtures/bakery/machines/loader/dip.axis.hcl")
	if err != nil {
		t.Fatal(err)
	}
	var moves strings.Builder
	for i := range 250 {
		fmt.Fprintf(&moves, "    move \"d%d\" {\n      distance = \"-210 mm\"\n      speed = \"0.25 m/s\"\n      ramp = \"0.2 s\"\n    }\n    move \"u%d\" {\n      distance = \"210 mm\"\n      speed = \"%g m/s\"\n      ramp = \"0.2 s\"\n    }\n", i, i, 0.1+float64(i)/1000)
	}
	at := strings.Index(string(src), `    move "down"`)
	end := strings.Index(string(src), "  }\n  screw {")
	text := string(src[:at]) + moves.String() + string(src[end:])
	all := fixtureTree("bakery")
	fsys := fstest.MapFS{"machines/loader/dip.axis.hcl": {Data: []byte(text)}}
	for _, n := range []string{"parts/screws.parts.hcl", "parts/nuts.parts.hcl", "parts/supports.parts.hcl", "parts/greases.parts.hcl", "parts/drives.parts.hcl", "parts/environments.parts.hcl", "machines/loader/machine.axis.hcl"} {
		f, err := all.Open(n)
		if err != nil {
			t.Fatal(err)
		}
		data, _ := io.ReadAll(f)
		fsys[n] = &fstest.MapFile{Data: data}
	}
	start := time.Now()
	axes := build(t, fsys, buildOptions{})
	if len(axes) != 1 || len(blocks[*document.Table](axes[0].sheet.Section("motion"))[0].Rows) != 500 {
		t.Fatal("not one axis of 500 moves")
	}
	made := time.Since(start)
	for _, f := range forms {
		f.write(t, axes[0].sheet)
	}
	t.Logf("built in %v, with all forms in %v", made, time.Since(start))
	if d := time.Since(start); d > 20*time.Second {
		t.Errorf("a cycle of 500 moves took %v", d)
	}
}

// TestTree draws carried masses that are carried in a circle, by two, or by
// many.
func TestTree(t *testing.T) {
	row := func(name string, carries ...string) Row { return Row{name: name, mass: "1 kg", carries: carries} }
	for _, c := range []struct {
		rows []Row
		want []string
	}{
		{[]Row{row("a", "b"), row("b", "c"), row("c"), row("d")}, []string{"a: 1 kg", "└ b: 1 kg", "└   c: 1 kg", "d: 1 kg"}},
		{[]Row{row("a", "b"), row("b", "a")}, []string{"a: 1 kg", "└ b: 1 kg"}},
		{[]Row{row("a", "a")}, []string{"a: 1 kg"}},
		{[]Row{row("a", "c"), row("b", "c"), row("c")}, []string{"a: 1 kg", "└ c: 1 kg", "b: 1 kg"}},
		{[]Row{row("a", "gone")}, []string{"a: 1 kg"}},
	} {
		if got := tree(c.rows); !slices.Equal(got, c.want) {
			t.Errorf("tree of %v is %q, expected %q", c.rows, got, c.want)
		}
	}
	var many []Row
	var names []string
	for i := range 60 {
		names = append(names, fmt.Sprint("x", i))
	}
	for _, n := range names {
		many = append(many, row(n, names...))
	}
	if got := tree(many); len(got) != 60 {
		t.Errorf("sixty axes that carry each other give %d lines", len(got))
	}
}

func TestGreasing(t *testing.T) {
	month := mechanics.Year / 12
	for _, c := range []struct {
		every float64
		want  string
	}{
		{math.NaN(), "------------"}, {2 * month, "-●-●-●-●-●-●"}, {12 * month, "-----------●"}, {month / 4, "●●●●●●●●●●●●"},
		{2.5 * month, "-●--●-●--●-●"}, {24 * month, "------------"},
	} {
		s := greasing([]Row{{name: "a", every: c.every}}, Options{})
		got := ""
		for _, m := range s.Rows[0][4:] {
			if m == "" {
				m = "-"
			}
			got += m
		}
		if got != c.want {
			t.Errorf("greased every %g months: %s, expected %s", c.every/month, got, c.want)
		}
	}
}

// What is wrong with a part stands in the sheets of the axes that use it.
func TestFindingsAboutParts(t *testing.T) {
	fsys := fstest.MapFS{
		"s.parts.hcl": {Data: []byte("screw \"s\" {\n  nominal_diameter = \"16 mm\"\n  root_diameter = \"17 mm\"\n}\n")},
		"a.axis.hcl":  {Data: []byte("axis \"with\" {\n  screw {\n    part = screw.s\n  }\n}\naxis \"without\" {\n}\n")},
	}
	for _, a := range build(t, fsys, buildOptions{}) {
		var b strings.Builder
		if err := document.Text(&b, a.sheet); err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(strings.Join(strings.Fields(b.String()), " "), "root diameter 17 mm of screw.s is not smaller than its nominal diameter 16 mm"); got != (a.name == "with") {
			t.Errorf("%s: %v\n%s", a.name, got, b.String())
		}
	}
}

// TestSymbolsAreExplained: each symbol of a formula is a quantity's, and stands among the
// declared values, in the legend or beside a step of its section.
func TestSymbolsAreExplained(t *testing.T) {
	t.Parallel()
	known := map[string]bool{"g": true}
	for _, q := range mechanics.All() {
		known[q.Symbol] = true
	}
	for _, a := range bakerySheets(t) {
		meaning := map[string]int{}
		for _, id := range []string{"given", "symbols"} {
			for _, tb := range blocks[*document.Table](a.sheet.Section(id)) {
				if at := slices.Index(tb.Head, "symbol"); at >= 0 {
					for _, r := range tb.Rows {
						meaning[r[at]]++
					}
				}
			}
		}
		for _, r := range blocks[*document.Table](a.sheet.Section("symbols"))[0].Rows {
			if meaning[r[0]] != 1 {
				t.Errorf("%s: %s has %d meanings", a.name, r[0], meaning[r[0]])
			}
		}
		for _, sec := range a.sheet.Sections {
			own := map[string]bool{}
			for _, st := range steps(&sec) {
				own[st.Symbol] = own[st.Symbol] || st.Note == ""
			}
			for _, st := range steps(&sec) {
				for _, name := range st.Formula.Symbols() {
					if known[name] && meaning[name] == 0 && !own[name] {
						t.Errorf("%s: nothing says what %s of %s is", a.name, name, st.Title)
					}
				}
			}
		}
	}
}
