package drawing

import (
	"encoding/xml"
	"math"
	"os"
	"path"
	"strings"
	"testing"
	"testing/fstest"
	"unicode/utf8"

	"pgregory.net/rapid"

	"trammel/rules/judge"
	"trammel/rules/judge/testaxis"
)

// TestEndsMeetNothing draws the ends of axes in both forms: no two texts meet, nothing
// leaves the frame, and the SVG can be read and holds no number that is none.
func TestEndsMeetNothing(t *testing.T) {
	t.Parallel()
	seen := 0
	for _, dir := range []string{"bakery", "rules/end-steps", "rules/end-journal", "rules/shaft-layout"} {
		each(os.DirFS(path.Join(fixtures, dir)), nil, func(rep *judge.Report) {
			e := OfEnds(rep.View)
			for _, small := range []bool{false, true} {
				seen++
				s := e.sheet("x", small)
				for _, w := range wrong(s.canvas, s.below) {
					t.Errorf("%s: axis %s, narrow %v: %s", dir, rep.View.Axis.Name, small, w)
				}
				svg := e.SVG("x", small)
				if err := xml.Unmarshal([]byte(svg), new(struct{})); err != nil || strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
					t.Errorf("%s: axis %s: %v", dir, rep.View.Axis.Name, err)
				}
			}
		})
	}
	if seen < 80 {
		t.Errorf("only %d drawings", seen)
	}
}

// declaredEnds is an axis whose ends are declared in full, the hand of its thread apart.
const declaredEnds = `axis "e" {
  screw {
    nominal_diameter = "25 mm"
    lead             = "10 mm"
    length           = "1000 mm"
    end_lengths      = ["70 mm", "25 mm"]
    end_diameters    = ["20 mm", "15 mm"]
  }
  supports {
    drive_end = "fixed"
    far_end   = "supported"
    drive_at  = "end"
  }
  drive_journal {
    shoulder_diameter  = "20 mm"
    shoulder_length    = "5 mm"
    face_run_out       = "4 um"
    seat_diameter      = "15 mm"
    seat_length        = "23 mm"
    seat_fit           = "h5"
    run_out            = "8 um"
    lock_thread        = "M15x1"
    lock_thread_length = "12 mm"
    stub_diameter      = "12 mm"
    stub_length        = "22 mm"
    stub_fit           = "h6"
    keyway             = "end-milled"
    keyway_width       = "4 mm"
    keyway_length      = "16 mm"
    keyway_depth       = "2.5 mm"
    centre_hole        = "permitted"
  }
  far_journal {
    seat_diameter   = "15 mm"
    seat_length     = "13 mm"
    seat_fit        = "h6"
    run_out         = "10 um"
    groove          = "ring"
    groove_width    = "1.1 mm"
    groove_diameter = "14.3 mm"
    groove_at       = "9 mm"
    centre_hole     = "permitted"
  }
}
`

// TestEndsSayWhatIsDeclared: every declared size stands in the drawing and in its words,
// lengths as far as they are not derived; what is not declared has a letter.
func TestEndsSayWhatIsDeclared(t *testing.T) {
	t.Parallel()
	each(fstest.MapFS{"x.axis.hcl": {Data: []byte(declaredEnds)}}, nil, func(rep *judge.Report) {
		e := OfEnds(rep.View)
		for _, small := range []bool{false, true} {
			svg := e.SVG("x", small)
			_, drawn, _ := strings.Cut(svg, "</desc>")
			for _, want := range []string{"⌀20", ">23<", "⌀15 h5", ">0.004<", ">0.008<", "M15x1", ">12<", ">22<", "⌀12 h6, keyway 4 × 16, 2.5 deep", "⌀15 h6", ">0.01<", "groove ⌀14.3 × 1.1, 9 from the end", ">70<", ">25<", "A–B", "hand of the thread"} {
				if !strings.Contains(drawn, want) {
					t.Errorf("narrow %v: no %q", small, want)
				}
			}
			// 70 - 62 and 25 - 13 mm are left, and in brackets.
			for _, want := range []string{"(8)", "(12)"} {
				if !strings.Contains(drawn, want) {
					t.Errorf("narrow %v: no derived length %s", small, want)
				}
			}
		}
		if len(e.open) != 1 || e.open[0].words != "hand of the thread" {
			t.Errorf("open: %v", e.open)
		}
		if !e.right || e.ends[1].words != "driven end" { // the driven end stands at the end of the travel
			t.Errorf("%+v", e.ends)
		}
		if w := e.Words(); !strings.Contains(w, "Driven end, length 70: plain") || !strings.Contains(w, "seat ⌀15 h5 × 23, run-out 0.008 to A–B") {
			t.Error(w)
		}
	})
}

// TestEndsToScale: ends are drawn in their proportion; a step of 23 mm is 23/12 as long as
// one of 12 mm, and 15 mm thick as many units as its length has.
func TestEndsToScale(t *testing.T) {
	each(fstest.MapFS{"x.axis.hcl": {Data: []byte(declaredEnds)}}, nil, func(rep *judge.Report) {
		s := OfEnds(rep.View).sheet("x", false)
		v := &endView{s, &s.e.ends[1], 0, 1, 0, nil}
		if got := (v.at(0.023) - v.at(0)) / (v.at(0.012) - v.at(0)); math.Abs(got-23.0/12) > 1e-9 {
			t.Errorf("lengths are as %g", got)
		}
		if s.times != 1 || math.Abs(2*s.half(0.015)-(v.at(0.015)-v.at(0))) > 1e-9 {
			t.Errorf("a diameter of 15 mm is drawn %g, a length %g", 2*s.half(0.015), v.at(0.015)-v.at(0))
		}
	})
}

// TestAnyEnds draws the ends of random axes with random steps, some of which contradict
// each other: whatever is declared, no two texts meet.
func TestAnyEnds(t *testing.T) {
	testaxis.Check(t, 60, func(rt *rapid.T) {
		s := testaxis.DrawSheet(rt)
		lengths := []string{`"1 mm"`, `"2.5 mm"`, `"12 mm"`, `"23.75 mm"`, `"80 mm"`, `"400 mm"`}
		for _, end := range []string{"drive_journal.", "far_journal."} {
			for _, f := range []string{"shoulder_diameter", "shoulder_length", "seat_diameter", "seat_length", "lock_thread_length", "stub_diameter", "stub_length", "groove_width", "groove_diameter", "groove_at"} {
				if rapid.Bool().Draw(rt, "declared") {
					s.Set(end+f, -1, rapid.SampledFrom(lengths).Draw(rt, f))
				}
			}
			if rapid.Bool().Draw(rt, "thread") {
				s.Set(end+"lock_thread", -1, `"M15x1"`)
			}
			if rapid.Bool().Draw(rt, "run-out") {
				s.Set(end+"run_out", -1, `"8 um"`)
			}
		}
		each(s.Files(), nil, func(rep *judge.Report) {
			e := OfEnds(rep.View)
			for _, small := range []bool{false, true} {
				drawn := e.sheet("x", small)
				for _, w := range wrong(drawn.canvas, drawn.below) {
					rt.Errorf("narrow %v: %s\n%s", small, w, s)
				}
			}
			for _, l := range e.Sketch() {
				if utf8.RuneCountInString(l) > 76 {
					rt.Errorf("%d columns: %s", utf8.RuneCountInString(l), l)
				}
			}
			if strings.Contains(e.SVG("x", false)+e.Words(), "NaN") {
				rt.Errorf("no number\n%s", s)
			}
		})
	})
}

// TestPlaced: where bearing and nut are declared the drawing puts them there, measured
// from the driven end: 1000 - 45 = 955 mm and 1000 - 150 - 700 = 150 mm where that end is
// the right one.
func TestPlaced(t *testing.T) {
	t.Parallel()
	const axis = `axis "e" {
  motion {
    stroke      = "700 mm"
    nut_nearest = "150 mm"
  }
  screw {
    length      = "1000 mm"
    end_lengths = ["60 mm", "40 mm"]
  }
  supports {
    drive_at         = "WHERE"
    drive_bearing_at = "45 mm"
    span             = "930 mm"
  }
}
`
	for where, want := range map[string][3]float64{"start": {0.045, 0.975, 0.150}, "end": {0.025, 0.955, 0.150}} {
		each(fstest.MapFS{"x.axis.hcl": {Data: []byte(strings.Replace(axis, "WHERE", where, 1))}}, nil, func(rep *judge.Report) {
			p := Of(rep.View, nil)
			for i, got := range [3]float64{p.planes[0], p.planes[1], p.start} {
				if math.Abs(got-want[i]) > 1e-9 {
					t.Errorf("%s: %v, expected %v", where, [3]float64{p.planes[0], p.planes[1], p.start}, want)
				}
			}
			if w := p.takenWords(); strings.Contains(w, "even") || strings.Contains(w, "middle of the thread") {
				t.Error(w)
			}
		})
	}
}

// TestEndsSketch: thicker parts take more rows, in the order of the shaft: thread 25, shoulder
// 20, seat 15, stub 12 mm at the driven end, here the right one.
func TestEndsSketch(t *testing.T) {
	each(fstest.MapFS{"x.axis.hcl": {Data: []byte(declaredEnds)}}, nil, func(rep *judge.Report) {
		lines := OfEnds(rep.View).Sketch()
		rows := func(r string) (n int) { // above the first line over a letter
			at := strings.LastIndex(lines[4], r)
			if at < 0 {
				t.Fatalf("no %s in %q", r, lines[4])
			}
			for _, l := range lines[:9] {
				if at < len(l) && strings.ContainsAny(l[at:at+1], "-=.") {
					return n
				}
				n++
			}
			return n
		}
		if a, b, c, d := rows("//"), rows("o"), rows("b"), rows("s"); a != 0 || b != 1 || c < 2 || d != 3 {
			t.Errorf("first rows %d %d %d %d of\n%s", a, b, c, d, strings.Join(lines, "\n"))
		}
	})
}
