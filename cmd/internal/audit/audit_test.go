package audit

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"
	"unsafe"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
	"trammel/spec/amount"
)

var today = time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)

// build audits the files of a tree.
func build(t testing.TB, fsys fs.FS, workers int) (*Fleet, *run.Summary) {
	t.Helper()
	f, sum := gather(t, fsys, workers)
	f.FindMerges(context.Background(), workers)
	return f, sum
}

// gather is build without trying screws for one another.
func gather(t testing.TB, fsys fs.FS, workers int) (*Fleet, *run.Summary) {
	t.Helper()
	tree := spec.NewTree(fsys)
	var files []string
	problems := tree.Walk(".", func(f string) { files = append(files, f) })
	f := New(today, Tree{Tree: tree, Files: files, Show: func(p spec.Place) spec.Place { return p }})
	sum := run.Files(rules.Book(), tree, files, run.Options{Today: today, Workers: workers, Whole: true, As: run.Look{Lean: true, Each: func(rep *judge.Report) { f.Add(0, rep) }}})
	for _, p := range problems {
		sum.Findings = append(sum.Findings, judge.FindingOf(p))
	}
	f.AddFindings(0, sum.Findings)
	f.Finish()
	return f, sum
}

func bakery() fs.FS { return os.DirFS(filepath.Join("..", "..", "..", "fixtures", "bakery")) }

// manyBakeries are copies of the bakery's machines, with ages, all using the
// same parts.
func manyBakeries(t testing.TB, n int) fstest.MapFS {
	out := fstest.MapFS{}
	err := fs.WalkDir(bakery(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		src, err := fs.ReadFile(bakery(), name)
		if err != nil {
			return err
		}
		rest, ok := strings.CutPrefix(name, "machines/")
		if !ok {
			out[name] = &fstest.MapFile{Data: src}
			return nil
		}
		for i := range n {
			text := strings.Replace(string(src), `machine "`, fmt.Sprintf(`machine "n%d_`, i), 1)
			if strings.HasSuffix(name, spec.MachineFile) {
				text = strings.Replace(text, "hours_per_day", fmt.Sprintf("commissioned = \"%d-03-0%d\"\n    hours_per_day", 2000+i%26, 1+i%9), 1)
			}
			out[fmt.Sprintf("machines/hall%d/%s", i, rest)] = &fstest.MapFile{Data: []byte(text)}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func forms(f *Fleet) map[string]func(io.Writer) error {
	return map[string]func(io.Writer) error{
		"text": func(w io.Writer) error { return f.Text(w, 10) }, "json": f.JSON, "csv": f.CSV, "html": f.HTML,
	}
}

func render(t testing.TB, do func(io.Writer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := do(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The audit counts what a check counts.
func TestTotals(t *testing.T) {
	f, _ := build(t, bakery(), 4)
	tree := spec.NewTree(bakery())
	var files []string
	tree.Walk(".", func(f string) { files = append(files, f) })
	want := run.Files(rules.Book(), tree, files, run.Options{Today: today, Whole: true})
	var c Counts
	byRule := map[string]int{}
	for _, x := range want.Findings {
		c.add(x.Severity, x.Waiver != nil)
		byRule[x.Rule]++
	}
	got := f.Totals()
	if got.Counts != c || got.Axes != want.Axes || got.Judged != want.Judged || got.Unjudged != want.Unjudged {
		t.Errorf("got %+v, a check finds %+v and %d axes, %d judged, %d not", got, c, want.Axes, want.Judged, want.Unjudged)
	}
	for _, s := range f.Rules() {
		if n := s.Counts.total() + s.Counts.Waived; n != byRule[s.Rule] {
			t.Errorf("%s: %d findings, a check has %d", s.Rule, n, byRule[s.Rule])
		}
	}
	axes, errs := 0, 0
	for _, m := range f.Machines() {
		axes += m.Axes
		errs += m.Counts.Errors
	}
	if axes != got.Axes || errs+f.loose.Errors != got.Counts.Errors {
		t.Errorf("the machines have %d axes and %d errors", axes, errs)
	}
	if n := len(f.gaps.steps(1000)); n == 0 {
		t.Error("no missing lines")
	}
	sum := 0
	for _, s := range f.gaps.steps(1000) {
		sum += s.Judged
	}
	if sum != f.gaps.waiting || f.gaps.waiting+f.gaps.other != got.Unjudged {
		t.Errorf("all steps together let %d of %d be judged; %d wait for another reason; %d are not judged", sum, f.gaps.waiting, f.gaps.other, got.Unjudged)
	}
}

// The same files give the same bytes, with one worker and with eight.
func TestWorkersLeaveNoTrace(t *testing.T) {
	files := manyBakeries(t, amount.Of(6, 2))
	files["machines/hall0/broken.axis.hcl"] = &fstest.MapFile{Data: []byte("axis \"x\" {\n")}
	one, _ := build(t, files, 1)
	for range amount.Of(3, 1) {
		eight, _ := build(t, files, 8)
		for name, do := range forms(one) {
			if a, b := render(t, do), render(t, forms(eight)[name]); !bytes.Equal(a, b) {
				t.Errorf("%s differs between 1 and 8 workers", name)
			}
		}
	}
}

func TestWear(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	day := func(s string) int32 {
		d, err := time.Parse(time.DateOnly, s)
		if err != nil {
			t.Fatal(err)
		}
		return int32(d.Unix() / 86400)
	}
	near := func(a, b float64) bool { return a == b || a != a && b != b || math.Abs(a-b) < 0.01 }
	for _, c := range []struct {
		name                   string
		commissioned           int32
		hours, perYear, life   float64
		basis                  string
		years, remaining, used float64
		ends                   string
	}{
		{"no age", noDay, nan, 4000, 8, "", nan, nan, nan, "–"},
		{"calendar", day("2020-11-25"), nan, 4000, 8, "calendar", 6, 2, 6 * 1e6, "2028-11-25"},
		{"hours", noDay, 20000, 4000, 8, "hours", 5, 3, 5e6, "2029-11-24"},
		{"hours precede the calendar", day("2020-11-25"), 20000, 4000, 8, "hours", 5, 3, 5e6, "2029-11-24"},
		{"hours without duty fall back", day("2020-11-25"), 20000, nan, 8, "calendar", 6, 2, 6e6, "2028-11-25"},
		{"over", day("2016-11-25"), nan, 4000, 8, "calendar", 10, -2, 1e7, "2024-11-24"},
		{"still to come", day("2027-11-25"), nan, 4000, 8, "calendar", 0, 8, 0, "2035-11-25"},
		{"no life", day("2020-11-25"), nan, 4000, nan, "calendar", 6, nan, 6e6, "–"},
		{"no end", day("2020-11-25"), nan, 4000, inf, "calendar", 6, inf, 6e6, "–"},
		{"too far off", day("2020-11-25"), nan, 4000, 1000, "calendar", 6, 994, 6e6, "–"},
	} {
		r := &Row{commissioned: c.commissioned, hours: c.hours, hoursPerYear: c.perYear, lifeYears: c.life, revsPerYear: 1e6}
		w := r.wear(today)
		if w.Basis != c.basis || !near(w.Years, c.years) || !near(w.Remaining, c.remaining) || !near(w.Used/1e6, c.used/1e6) || w.ends() != c.ends {
			t.Errorf("%s: %+v, ends %s", c.name, w, w.ends())
		}
	}
	r := &Row{commissioned: day("2022-11-25"), hours: 20000, hoursPerYear: 4000, lifeYears: 8, revsPerYear: 1e6}
	if w := r.wear(today); !near(w.Duty, 1.25) {
		t.Errorf("20,000 hours in 4 years of 4000 are %g of the duty", w.Duty)
	}
}

// TestWearDayByDay lets screws turn one calendar day after the other, from the day
// of commissioning on, and looks when their revolutions are used up: a second way
// to what is used, what is left, and the day on which the life ends.
func TestWearDayByDay(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 15))
	for range 200 {
		born := today.AddDate(0, 0, -rnd.IntN(20*365))
		perYear, life := 1e4+rnd.Float64()*1e8, 0.2+25*rnd.Float64() // revolutions a year; years
		r := &Row{commissioned: int32(born.Unix() / 86400), hours: math.NaN(), hoursPerYear: 4000, lifeYears: life, revsPerYear: perYear}
		w := r.wear(today)
		budget, used, spent := perYear*life, 0.0, 0.0 // revolutions
		ends, days := born, 0
		for day := born; spent < budget || day.Before(today); day = day.AddDate(0, 0, 1) {
			turns := perYear / 365.25
			if day.Before(today) {
				used += turns
			}
			if spent < budget {
				spent += turns
				ends = day
			}
			days++
		}
		near := func(what string, got, want, abs float64) {
			if !(math.Abs(got-want) <= abs) {
				t.Errorf("born %s, life %.3f years: %s is %.8g, day by day %.8g", born.Format(time.DateOnly), life, what, got, want)
			}
		}
		near("used", w.Used, used, 1e-9*budget+1e-6*used)
		near("share", w.Share, used/budget, 1e-6*w.Share+1e-9)
		near("remaining", w.Remaining, (budget-used)/perYear, 1e-6*float64(days)/365.25)
		if off := w.Out.Sub(ends).Hours() / 24; math.Abs(off) > 1 {
			t.Errorf("born %s, life %.3f years: ends %s, day by day %s", born.Format(time.DateOnly), life, w.Out.Format(time.DateOnly), ends.Format(time.DateOnly))
		}
		// The same age by its hours.
		h := &Row{commissioned: noDay, hours: used / perYear * 4000, hoursPerYear: 4000, lifeYears: life, revsPerYear: perYear}
		near("remaining by hours", h.wear(today).Remaining, (budget-used)/perYear, 1e-6*float64(days)/365.25)
	}
}

func TestGreasing(t *testing.T) {
	f := New(today)
	march := time.Date(2024, 3, 10, 0, 0, 0, 0, time.UTC)
	f.rows = []*Row{
		{every: 6 * month, commissioned: int32(march.Unix() / 86400)}, // about 10 March and 9 September
		{every: 3 * month, commissioned: noDay},                       // 1 January, then every three months
		{every: month / 4, commissioned: noDay},                       // each week, on 24 November and 1 December
		{every: math.NaN()},
	}
	got, without := f.Greasing()
	if len(got) != 12 || got[0].Month != "2026-11" || got[11].Month != "2027-10" || without != 1 {
		t.Fatalf("%v, %d without", got, without)
	}
	var axes []int
	for _, m := range got {
		axes = append(axes, m.Axes)
	}
	// The year of 365.25 days makes the quarters of 2027 fall on 1 January, 2
	// April and so on.
	if want := []int{0, 1, 2, 1, 2, 2, 1, 1, 2, 1, 2, 2}; !slices.Equal(axes, want) {
		t.Errorf("axes due %v, expected %v", axes, want)
	}
	if n := got[2].Greasings; n < 5 || n > 6 {
		t.Errorf("%d greasings in January", n)
	}
}

// fleetOf is a fleet of one machine a folder, each with axes that differ in
// their screw only.
const screwText = `screw %q {
  nominal_diameter = "20 mm"
  lead             = "10 mm"
  root_diameter    = "17.3 mm"
  ball_diameter    = "3.1 mm"
  dynamic_rating   = "%g kN"
  static_rating    = "%g kN"
  process          = "ground"
  longest          = "%d mm"
}
`

const axisText = `axis %q {
  orientation = "horizontal"
  load {
    mass     = "%d kg"
    friction = 0.01
  }
  motion {
    stroke = "400 mm"
    move "out" {
      distance = "400 mm"
      speed    = "0.3 m/s"
      ramp     = "0.2 s"
    }
    move "back" {
      distance = "-400 mm"
      speed    = "0.3 m/s"
      ramp     = "0.2 s"
    }
  }
  duty {
    hours_per_day = 16
    days_per_year = 250
    service_life  = "8 years"
    shock         = "ordinary"
  }
  screw {
    part   = screw.%s
    length = "%d mm"
    grade  = "C7"
  }
  nut {
    backlash = "5 um"
  }
}
`

func TestMerges(t *testing.T) {
	file := func(s string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(s)} }
	files := fstest.MapFS{
		"a/s.parts.hcl":   file(fmt.Sprintf(screwText, "big", 13.0, 22.0, 900) + fmt.Sprintf(screwText, "mid", 12.0, 20.0, 900)),
		"b/s.parts.hcl":   file(fmt.Sprintf(screwText, "mid", 12.5, 21.0, 900) + fmt.Sprintf(screwText, "long", 12.4, 21.0, 2000)),
		"a/x.axis.hcl":    file(fmt.Sprintf(axisText, "x", 20, "big", 700) + fmt.Sprintf(axisText, "y", 20, "mid", 700)),
		"b/z.axis.hcl":    file(fmt.Sprintf(axisText, "z", 20, "mid", 700) + fmt.Sprintf(axisText, "w", 20, "long", 1500)),
		"c/s.parts.hcl":   file(strings.ReplaceAll(fmt.Sprintf(screwText, "other", 12.0, 20.0, 900), "10 mm", "5 mm")),
		"c/lone.axis.hcl": file(fmt.Sprintf(axisText, "lone", 20, "other", 700)),
	}
	f, _ := build(t, files, 2)
	if len(f.merges) != 1 {
		t.Fatalf("%d sizes: %+v", len(f.merges), f.merges)
	}
	// big serves for all but the long shaft; long serves for all, though weaker.
	m := f.merges[0]
	if m.Into != "screw.long" || m.Axes != 3 || m.Keep != 3 || len(m.Parts) != 3 || m.OutOf != 4 {
		t.Errorf("%+v", m)
	}
	for _, p := range m.Parts {
		if len(p.Worse) != 0 || !p.Near {
			t.Errorf("%+v", p)
		}
		if inB := strings.Contains(p.Part, "(b/"); p.Moved == inB {
			t.Errorf("%s: must move is %v", p.Part, p.Moved)
		}
	}
	list, _ := f.Variety(screws)
	if len(list) != 5 || f.machineName(f.rows[0]) != "folder a" {
		t.Errorf("%v, %s", list, f.machineName(f.rows[0]))
	}
	// Where the only longer screw is not there, the shaft that is too long says so.
	files["b/z.axis.hcl"] = file(fmt.Sprintf(axisText, "z", 20, "mid", 700))
	files["a/x.axis.hcl"] = file(fmt.Sprintf(axisText, "x", 20, "big", 700) + fmt.Sprintf(axisText, "y", 900, "mid", 700))
	files["a/s.parts.hcl"] = file(fmt.Sprintf(screwText, "big", 13.0, 22.0, 600) + fmt.Sprintf(screwText, "mid", 12.0, 20.0, 900))
	f, _ = build(t, files, 2)
	for _, m := range f.merges {
		if m.Into == "screw.big" {
			t.Errorf("a screw too short was chosen: %+v", m)
		}
	}
}

func TestCell(t *testing.T) {
	for in, want := range map[string]string{
		"plain": "plain", "": "", "-12.5": "-12.5", "+3": "+3", "-1e-7": "-1e-7", "1=2": "1=2",
		"=1+1": "'=1+1", "+1+1": "'+1+1", "-2+3": "'-2+3", "@SUM(A1)": "'@SUM(A1)", "\tx": "'\tx", "\rx": "'\rx", "\nx": "'\nx",
		`"=1+1`: `'"=1+1`, `'=1+1`: `''=1+1`, `""=cmd|' /C calc'!A0`: `'""=cmd|' /C calc'!A0`, " =1": "' =1", "\u00a0=1": "'\u00a0=1",
		"＝1": "'＝1", "-": "'-", "--1": "'--1", "-1 kg": "'-1 kg", "|x": "'|x", "%0A": "'%0A", `'`: `'`,
	} {
		if got := Cell(in); got != want {
			t.Errorf("%q became %q, expected %q", in, got, want)
		}
	}
}

// What is in file names and texts of files reaches a spreadsheet and a page as
// harmless text.
func hostileFiles() fstest.MapFS {
	axis := fmt.Sprintf(axisText, "x", 20, "a", 700)
	out := fstest.MapFS{"s.parts.hcl": {Data: []byte(fmt.Sprintf(screwText, "a", 12.0, 20.0, 900))}}
	for _, dir := range []string{"=cmd|' \\C calc'!A0", "@SUM(1)", "-2+3", "<img src=x onerror=alert(1)>", "<script>alert(1)<", "a\"b'&amp;", "\u202egnp", "]]>", "<!--", "</b>"} {
		for _, part := range strings.Split(dir, "/") {
			out[strings.ReplaceAll(part, "\\", "")+"/x.axis.hcl"] = &fstest.MapFile{Data: []byte(axis)}
		}
	}
	out["bad/y.axis.hcl"] = &fstest.MapFile{Data: []byte("axis \"y\" {\n  orientation = \"</script><script>document.title='taken'</script><b onclick=alert(1)>\"\n  waive \"min-lead\" {\n    reason = \"=1+1<script>\"\n    until  = \"2020-01-01\"\n  }\n}\n")}
	out["bad/z.axis.hcl"] = &fstest.MapFile{Data: []byte("axis \"</script><script>alert(2)</script>\" {\n}\naxis {")}
	return out
}

func TestCSV(t *testing.T) {
	for name, files := range map[string]fs.FS{"bakery": bakery(), "hostile": hostileFiles(), "many": manyBakeries(t, 2)} {
		f, _ := build(t, files, 2)
		text := render(t, f.CSV)
		if !bytes.HasSuffix(text, []byte("\r\n")) {
			t.Errorf("%s: lines do not end as RFC 4180 has it", name)
		}
		rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll() // refuses rows of differing length
		if err != nil {
			t.Fatal(err)
		}
		if len(rows) != f.Axes()+1 {
			t.Errorf("%s: %d rows of %d axes", name, len(rows), f.Axes())
		}
		seen := map[string]bool{}
		for _, h := range rows[0] {
			if seen[h] {
				t.Errorf("two columns %s", h)
			}
			seen[h] = true
		}
		unjudged, margins := 0, 0
		for i, row := range rows {
			for k, c := range row {
				if c != Cell(c) && !strings.HasPrefix(c, "'") {
					t.Errorf("%s: a spreadsheet would execute %q", name, c)
				}
				if i > 0 && strings.HasPrefix(rows[0][k], "margin: ") {
					switch {
					case c == "not judged":
						unjudged++
					case c != "" && c != "passed" && c != "failed":
						if !plainNumber.MatchString(c) && c != "unlimited" {
							t.Errorf("%s: a margin of %q", name, c)
						}
						margins++
					}
				}
			}
		}
		if unjudged != f.Totals().Unjudged || margins == 0 {
			t.Errorf("%s: %d cells not judged of %d, %d margins", name, unjudged, f.Totals().Unjudged, margins)
		}
	}
}

func TestJSON(t *testing.T) {
	files := manyBakeries(t, 2)
	files["bad.axis.hcl"] = &fstest.MapFile{Data: []byte("axis \"x\" {\n")}
	for name, files := range map[string]fs.FS{"many": files, "hostile": hostileFiles(), "none": fstest.MapFS{}} {
		f, _ := build(t, files, 2)
		var doc struct {
			Schema string
			Totals struct {
				Axes   int
				Errors int
				Broken int `json:"files_not_read"`
			}
			Rules []struct {
				Rule   string
				Errors int
			}
			Life    struct{ Shortest []any }
			Axes    []struct{ Axis, File string }
			Broken  []struct{ File string } `json:"files_not_read"`
			Expired []any                   `json:"expired_waivers"`
		}
		if err := json.Unmarshal(render(t, f.JSON), &doc); err != nil {
			t.Fatal(name, err)
		}
		if doc.Schema != Schema || doc.Totals.Axes != f.Axes() || len(doc.Axes) != f.Axes() || len(doc.Broken) != doc.Totals.Broken {
			t.Errorf("%s: %+v", name, doc.Totals)
		}
		n := 0
		for _, r := range doc.Rules {
			n += r.Errors
		}
		if n != doc.Totals.Errors {
			t.Errorf("%s: %d errors, %d by rule", name, doc.Totals.Errors, n)
		}
		if name == "many" && (len(doc.Broken) != 1 || len(doc.Expired) != 2 || len(doc.Life.Shortest) == 0) {
			t.Errorf("%+v, %d expired", doc.Broken, len(doc.Expired))
		}
	}
}

func TestHTMLEscapes(t *testing.T) {
	f, _ := build(t, hostileFiles(), 2)
	page := string(render(t, f.HTML))
	for _, bad := range []string{"<img", "<script>alert", "<b onclick", "</script><script>document", "<!--", "onerror=alert(1)>", "\u202e"} {
		if strings.Contains(page, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	if n := strings.Count(page, "<script"); n != 2 {
		t.Errorf("%d script elements", n)
	}
	if !strings.Contains(page, "<script>"+script+"</script>") || !strings.Contains(page, style) || strings.Contains(page, ">\\n") {
		t.Error("the page's own lines are shown as escapes")
	}
	sum := sha256.Sum256([]byte(script))
	if !strings.Contains(page, "script-src 'sha256-"+base64.StdEncoding.EncodeToString(sum[:])+"'") || strings.Contains(page, "http://www") && !strings.Contains(page, "xmlns") {
		t.Error("the page's policy does not hold its script")
	}
}

// A row stays small, whatever is found about the axis.
func TestMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("measures")
	}
	f, _ := build(t, manyBakeries(t, amount.Of(20, 4)), 2)
	per := rowBytes(f)
	t.Logf("%d bytes an axis", per)
	if per > 1000 {
		t.Errorf("%d bytes an axis", per)
	}
}

func rowBytes(f *Fleet) int {
	n := 0
	for _, r := range f.rows {
		n += int(unsafe.Sizeof(*r)) + len(r.states) + 4*len(r.uses) + 12*len(r.house) + len(r.lackBrake) + len(r.Axis) + 8
	}
	return n / len(f.rows)
}
