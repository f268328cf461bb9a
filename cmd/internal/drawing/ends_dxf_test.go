package drawing

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/rules/judge"
)

// A dxfEntity is one of a DXF file: its groups by code.
type dxfEntity map[int]string

func (e dxfEntity) at(code int) float64 {
	x, err := strconv.ParseFloat(e[code], 64)
	if err != nil {
		return math.NaN()
	}
	return x
}

// readDXF reads pairs of lines, as the form prescribes, and gives the entities.
func readDXF(t *testing.T, text string) (header map[string]string, layers []string, out []dxfEntity) {
	t.Helper()
	lines := strings.Split(strings.TrimSuffix(text, "\r\n"), "\r\n")
	if len(lines)%2 != 0 || strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\n") {
		t.Fatalf("%d lines are no pairs", len(lines))
	}
	header = map[string]string{}
	section, table, variable := "", "", ""
	var e dxfEntity
	for i := 0; i < len(lines); i += 2 {
		code, err := strconv.Atoi(strings.TrimSpace(lines[i]))
		value := lines[i+1]
		if err != nil || len(value) > 255 || strings.ContainsFunc(value, func(r rune) bool { return r < ' ' || r > '~' }) {
			t.Fatalf("line %d: %q %q", i+1, lines[i], value)
		}
		switch {
		case code == 0 && section == "ENTITIES" && value != "ENDSEC":
			e = dxfEntity{0: value}
			out = append(out, e)
		case code == 0:
			e, table = nil, value
		case e != nil:
			e[code] = value
		case code == 2 && table == "SECTION":
			section = value
		case code == 2 && table == "LAYER" && section == "TABLES" && value != "LAYER":
			layers = append(layers, value)
		case code == 9:
			variable = value
		case section == "HEADER":
			header[variable+strconv.Itoa(code)] = value
		}
	}
	if lines[len(lines)-1] != "EOF" {
		t.Error("no end of file")
	}
	return header, layers, out
}

// drawnDXF writes the drawing of the one axis of a text.
func drawnDXF(t *testing.T, text string) (string, error) {
	t.Helper()
	var b strings.Builder
	err, seen := error(nil), 0
	each(fstest.MapFS{"e.axis.hcl": {Data: []byte(text)}}, nil, func(rep *judge.Report) {
		seen++
		err = OfEnds(rep.View).DXF(&b)
	})
	if seen != 1 {
		t.Fatalf("%d axes", seen)
	}
	return b.String(), err
}

// wholeEnds is an axis of which the steps fill the ends: 5 + 23 + 12 + 22 = 62 mm.
var wholeEnds = strings.NewReplacer(`["70 mm", "25 mm"]`, `["62 mm", "13 mm"]`, `drive_at  = "end"`, `drive_at  = "start"`,
	`nominal_diameter = "25 mm"`, "nominal_diameter = \"25 mm\"\n    root_diameter = \"21.9 mm\"").Replace(declaredEnds)

// heightAt is the outline's distance from the axis at a place, and whether it is symmetric.
func heightAt(list []dxfEntity, layer string, x float64) (y float64, both bool) {
	high, low := math.Inf(-1), math.Inf(1)
	for _, e := range list {
		if a, b := min(e.at(10), e.at(11)), max(e.at(10), e.at(11)); e[0] == "LINE" && e[8] == layer && e.at(20) == e.at(21) && a <= x && x <= b {
			high, low = max(high, e.at(20)), min(low, e.at(20))
		}
	}
	return high, high == -low
}

// TestDXFToScale holds the drawing against what is declared, one to one in millimetres: the
// height of the outline at each step, its closed shape, its extents.
func TestDXFToScale(t *testing.T) {
	t.Parallel()
	text, err := drawnDXF(t, wholeEnds)
	if err != nil {
		t.Fatal(err)
	}
	header, layers, list := readDXF(t, text)
	if header["$ACADVER1"] != "AC1009" {
		t.Errorf("header %v", header)
	}
	for _, want := range []string{onOutline, onThread, onOpen, onCentre, onDimensions, onWords} {
		if !slices.Contains(layers, want) {
			t.Errorf("no layer %s among %v", want, layers)
		}
	}
	// From the driven end: stub 22 × ⌀12, thread M15 × 12, seat 23 × ⌀15, shoulder 5 × ⌀20, thread ⌀25.
	for x, d := range map[float64]float64{1: 12, 21: 12, 23: 15, 33: 15, 35: 15, 56: 15, 58: 20, 61: 20, 63: 25, 500: 25, 986: 25, 988: 15, 999.5: 15} {
		if y, both := heightAt(list, onOutline, x); y != d/2 || !both {
			t.Errorf("at %g mm the outline is %g mm from the axis, both sides: %v; declared diameter %g mm", x, y, both, d)
		}
	}
	if y, _ := heightAt(list, onThread, 500); y != 21.9/2 {
		t.Errorf("root at %g", y)
	}
	if y, _ := heightAt(list, onThread, 28); math.Abs(2*y-13.773) > 1e-3 { // M15x1, ISO 724: d3 = 13.773 mm
		t.Errorf("core of M15x1 at %g", 2*y)
	}
	closed(t, list, onOutline, 1000, 25)
	for _, want := range []string{"22", "12", "23", "62", "1000", "(925)"} {
		if !slices.ContainsFunc(list, func(e dxfEntity) bool { return e[0] == "TEXT" && e[8] == onDimensions && e[1] == want }) {
			t.Errorf("no dimension %s", want)
		}
	}
	if !strings.Contains(text, "%%c15 h5, datum A, run-out 0.008 to A-B") || !strings.Contains(text, "%%c25 x 10") {
		t.Errorf("words are missing in\n%s", text)
	}
}

// closed holds that the lines of a layer bound an area: each end of a line lies on another,
// and the whole is so long and so thick.
func closed(t *testing.T, list []dxfEntity, layer string, long, thick float64) {
	t.Helper()
	var lines []dxfEntity
	for _, e := range list {
		if e[0] == "LINE" && e[8] == layer {
			lines = append(lines, e)
		}
	}
	low, high := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for i, e := range lines {
		for _, end := range [2][2]float64{{e.at(10), e.at(20)}, {e.at(11), e.at(21)}} {
			low, high = [2]float64{min(low[0], end[0]), min(low[1], end[1])}, [2]float64{max(high[0], end[0]), max(high[1], end[1])}
			if !slices.ContainsFunc(lines, func(o dxfEntity) bool {
				return &o != &lines[i] && (o.at(10) == o.at(11)) != (e.at(10) == e.at(11)) && on(o, end)
			}) {
				t.Errorf("the line %v ends at %v, where no other is", e, end)
			}
		}
	}
	if low != [2]float64{0, -thick / 2} || high != [2]float64{long, thick / 2} {
		t.Errorf("the outline reaches from %v to %v; declared %g long, %g thick", low, high, long, thick)
	}
}

// on reports whether a point lies on an upright or lying line.
func on(e dxfEntity, p [2]float64) bool {
	return p[0] >= min(e.at(10), e.at(11)) && p[0] <= max(e.at(10), e.at(11)) && p[1] >= min(e.at(20), e.at(21)) && p[1] <= max(e.at(20), e.at(21))
}

// TestDXFOpen: what is not declared is not on the outline, and what contradicts itself or
// does not suffice is not drawn at all.
func TestDXFOpen(t *testing.T) {
	t.Parallel()
	for _, x := range []struct {
		old, new string
		open     []float64 // places where the outline is not known
		sure     []float64 // and some where it still is
	}{
		{`    seat_length        = "23 mm"`, ``, []float64{35, 56}, []float64{21, 33, 58}},
		{`    stub_diameter      = "12 mm"`, ``, []float64{1, 21}, []float64{23, 35, 58}},
		{`    shoulder_diameter  = "20 mm"`, ``, []float64{58}, []float64{21, 35}},
	} {
		text, err := drawnDXF(t, strings.Replace(wholeEnds, x.old, x.new, 1))
		if err != nil {
			t.Errorf("without %s: %v", x.old, err)
			continue
		}
		_, _, list := readDXF(t, text)
		for _, at := range x.open {
			if y, _ := heightAt(list, onOutline, at); !math.IsInf(y, 0) {
				t.Errorf("without %s the outline is known at %g mm: %g", x.old, at, y)
			}
			if y, _ := heightAt(list, onOpen, at); !(y > 0) {
				t.Errorf("without %s nothing is dashed at %g mm", x.old, at)
			}
		}
		for _, at := range x.sure {
			if y, _ := heightAt(list, onOutline, at); math.IsInf(y, 0) {
				t.Errorf("without %s the outline is not known at %g mm", x.old, at)
			}
		}
	}
	for old, want := range map[string]string{
		`    length           = "1000 mm"`:                 "declare screw.length",
		`    end_diameters    = ["20 mm", "15 mm"]`:        "declare screw.end_diameters",
		`"62 mm", "13 mm"`:                                 "driven end: the lengths of its steps do not fit end_lengths",
		`    nominal_diameter = "25 mm"`:                   "declare screw.nominal_diameter",
		"    seat_length        = \"23 mm\"\n    seat_fit": "driven end: the lengths of its steps",
	} {
		new := map[bool]string{true: "    seat_length = \"24 mm\"\n    seat_fit", false: ""}[strings.Contains(old, "seat_fit")]
		if strings.HasPrefix(old, `"62`) {
			new = `"61 mm", "13 mm"`
		}
		if text, err := drawnDXF(t, strings.Replace(wholeEnds, old, new, 1)); err == nil || text != "" || !strings.Contains(err.Error(), want) {
			t.Errorf("%s as %q: %v, want %s", old, new, err, want)
		}
	}
}

// TestDXFText: no text makes groups of its own, or signs that it does not hold.
func TestDXFText(t *testing.T) {
	t.Parallel()
	if got := dxfText("⌀20 ±0.1 µm 5 % a\\b^J\n"); got != `%%c20 %%p0.1 \U+00B5m 5 \U+0025 a\U+005Cb\U+005EJ\U+005Cn` {
		t.Error(got)
	}
}
