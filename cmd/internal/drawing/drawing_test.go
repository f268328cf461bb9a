package drawing

import (
	"encoding/xml"
	"io/fs"
	"os"
	"path"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
	"trammel/spec/amount"
	"trammel/spec/unit"
)

// testDay is the day on which waivers are judged in the fixtures.
var testDay = time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)

const fixtures = "../../../fixtures"

// each judges every axis of a tree.
func each(fsys fs.FS, sys *unit.System, see func(rep *judge.Report)) {
	tree := spec.NewTree(fsys)
	var files []string
	tree.Walk(".", func(f string) { files = append(files, f) })
	run.Files(rules.Book(), tree, files, run.Options{Today: testDay, Workers: 1, As: run.Look{Units: sys, Each: see}})
}

// trees are those of all fixtures.
func trees(t *testing.T) (out []string) {
	t.Helper()
	out = append(out, path.Join(fixtures, "bakery"), path.Join(fixtures, "library"))
	list, err := os.ReadDir(path.Join(fixtures, "rules"))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		out = append(out, path.Join(fixtures, "rules", e.Name()))
	}
	return out
}

// wrong lists what is wrong with a drawing: texts that meet and texts beyond the frame.
func wrong(s *canvas, bottom float64) (out []string) {
	for i, a := range s.texts {
		if a.x0 < -.5 || a.x1 > s.width+.5 || a.y0 < -.5 || a.y1 > bottom+2.5 {
			out = append(out, "beyond the frame: "+a.text)
		}
		for _, b := range s.texts[:i] {
			if a.meets(b) {
				out = append(out, a.text+" meets "+b.text)
			}
		}
	}
	return out
}

// TestNothingMeets draws axes of the fixtures in both forms: no two texts meet,
// nothing leaves the frame, and the SVG can be read and holds no number that is none.
func TestNothingMeets(t *testing.T) {
	t.Parallel()
	seen := 0
	for _, dir := range amount.Some(trees(t), 3, path.Base) {
		each(os.DirFS(dir), nil, func(rep *judge.Report) {
			p := Of(rep.View, Number(rep.Findings))
			for _, small := range []bool{false, true} {
				seen++
				s := p.sheet("x", small)
				for _, w := range wrong(s.canvas, s.bottom) {
					t.Errorf("%s: axis %s, narrow %v: %s", dir, rep.View.Axis.Name, small, w)
				}
				svg := p.SVG("x", small)
				if err := xml.Unmarshal([]byte(svg), new(struct{})); err != nil || strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
					t.Errorf("%s: axis %s: %v", dir, rep.View.Axis.Name, err)
				}
			}
		})
	}
	if seen < amount.Of(400, 100) {
		t.Errorf("only %d drawings", seen)
	}
}

// TestPlacesNameRules: every rule that has a place in the drawing exists, and stands at
// something that is drawn.
func TestPlacesNameRules(t *testing.T) {
	drawn := map[string]bool{"span": true, "loaded": true, "stroke": true, "overall": true, "thread": true, "brake": true, "motor": true, "coupling": true, "support": true, "nut": true, "screw": true, "cover": true, "load": true}
	for rule, at := range places {
		if rules.Book().ByName(rule) == nil || !drawn[at] {
			t.Errorf("%s stands at %s", rule, at)
		}
	}
}

// TestAdvances: widths of the metric files of Helvetica, by hand: "Ab 1" is 667 + 556 +
// 278 + 556 thousandths.
func TestAdvances(t *testing.T) {
	if w := advance("Ab 1", 10, false); w < 20.569 || w > 20.571 {
		t.Errorf("%g", w)
	}
	if s := fit("screw.with-a-very-long-name", 10, 60, false); advance(s, 10, false) > 60 || !strings.HasSuffix(s, "…") {
		t.Errorf("%q", s)
	}
}

// TestAnyAxis draws random axes, some lines left out and some lengths of another
// magnitude: whatever is declared, no two texts meet, nothing leaves the frame.
func TestAnyAxis(t *testing.T) {
	testaxis.Check(t, 60, func(rt *rapid.T) {
		s := testaxis.DrawSheet(rt)
		for path := range s.Lines {
			if rapid.IntRange(0, 5).Draw(rt, "left out") == 0 {
				delete(s.Lines, path)
			}
		}
		for _, path := range []string{"screw.length", "supports.span", "motion.stroke", "motion.overtravel", "supports.loaded_length"} {
			if rapid.IntRange(0, 3).Draw(rt, "odd") == 0 {
				s.Set(path, -1, rapid.SampledFrom([]string{`"1 mm"`, `"19 m"`, `"123.456 mm"`, `"0.5 m"`}).Draw(rt, path))
			}
		}
		each(s.Files(), nil, func(rep *judge.Report) {
			p := Of(rep.View, Number(rep.Findings))
			for _, small := range []bool{false, true} {
				drawn := p.sheet("x", small)
				for _, w := range wrong(drawn.canvas, drawn.bottom) {
					rt.Errorf("narrow %v: %s\n%s", small, w, s)
				}
			}
			if p.Sketch(); strings.Contains(p.SVG("x", false)+p.Words(), "NaN") {
				rt.Errorf("no number\n%s", s)
			}
		})
	})
}
