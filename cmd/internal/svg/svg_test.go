package svg

import (
	"encoding/xml"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// A drawn is what a test reads of a picture.
type drawn struct {
	XMLName xml.Name `xml:"svg"`
	Role    string   `xml:"role,attr"`
	Box     string   `xml:"viewBox,attr"`
	Title   string   `xml:"title"`
	Desc    string   `xml:"desc"`
	Texts   []struct {
		X      float64 `xml:"x,attr"`
		Y      float64 `xml:"y,attr"`
		Anchor string  `xml:"text-anchor,attr"`
		Weight string  `xml:"font-weight,attr"`
		Text   string  `xml:",chardata"`
	} `xml:"text"`
	Circles []struct {
		X float64 `xml:"cx,attr"`
		Y float64 `xml:"cy,attr"`
		R float64 `xml:"r,attr"`
	} `xml:"circle"`
	Paths []struct {
		D string `xml:"d,attr"`
	} `xml:"path"`
}

type tester interface {
	Helper()
	Fatal(...any)
	Errorf(string, ...any)
}

// draw draws a chart in both widths and reads it.
func draw(t tester, c *Chart) []drawn {
	t.Helper()
	s, err := c.Draw("A title", "Words for it")
	if err != nil {
		t.Fatal(err)
	}
	var both struct {
		List []drawn `xml:"svg"`
	}
	if err := xml.Unmarshal([]byte("<x>"+s+"</x>"), &both); err != nil || len(both.List) != 2 {
		t.Fatal(err, s)
	}
	return both.List
}

func (d *drawn) size() (w, h float64) {
	fmt.Sscanf(d.Box, "0 0 %g %g", &w, &h)
	return w, h
}

type rect struct{ x0, y0, x1, y1 float64 }

// boxes are those of the texts, as high as letters are.
func (d *drawn) boxes() []rect {
	var out []rect
	for _, x := range d.Texts {
		w := Width(x.Text, Letter)
		if x.Weight != "" {
			w *= 1.12
		}
		left := x.X - map[string]float64{"": 0, "middle": w / 2, "end": w}[x.Anchor]
		out = append(out, rect{left, x.Y - 0.75*Letter, left + w, x.Y + 0.2*Letter})
	}
	return out
}

var part = regexp.MustCompile(`([MLHVmlhvzZ])|(-?[\d.]+)`)

// points are the corners of a path.
func points(way string) [][2]float64 {
	var out [][2]float64
	var x, y float64
	var command byte
	var pair []float64
	for _, m := range part.FindAllString(way, -1) {
		v, err := strconv.ParseFloat(m, 64)
		if err != nil {
			command = m[0]
			continue
		}
		base := [2]float64{}
		if command >= 'a' {
			base = [2]float64{x, y}
		}
		switch command | 0x20 {
		case 'h':
			x = base[0] + v
		case 'v':
			y = base[1] + v
		default:
			if pair = append(pair, v); len(pair) < 2 {
				continue
			}
			x, y, pair = base[0]+pair[0], base[1]+pair[1], nil
		}
		out = append(out, [2]float64{x, y})
	}
	return out
}

// sound checks what holds for every picture: it has words, no two texts overlap, and nothing
// leaves the frame.
func sound(t tester, d *drawn) {
	t.Helper()
	if d.Role != "img" || d.Title != "A title" || d.Desc != "Words for it" {
		t.Errorf("role %q, title %q, description %q", d.Role, d.Title, d.Desc)
	}
	w, h := d.size()
	inside := func(what string, r rect) {
		if !(r.x0 >= -0.1 && r.y0 >= -0.1 && r.x1 <= w+0.1 && r.y1 <= h+0.1) {
			t.Errorf("%s leaves the frame of %g × %g: %.1f", what, w, h, r)
		}
	}
	boxes := d.boxes()
	for i, a := range boxes {
		inside(d.Texts[i].Text, a)
		for k, b := range boxes[:i] {
			if a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1 {
				t.Errorf("%q overlaps %q", d.Texts[i].Text, d.Texts[k].Text)
			}
		}
	}
	for _, c := range d.Circles {
		inside("a circle", rect{c.X, c.Y, c.X, c.Y})
	}
	for _, p := range d.Paths {
		for _, at := range points(p.D) {
			inside("a path "+p.D, rect{at[0], at[1], at[0], at[1]})
		}
	}
}

func (d *drawn) has(text string) bool {
	for _, x := range d.Texts {
		if x.Text == text {
			return true
		}
	}
	return false
}

// Whatever is drawn, texts keep apart and nothing leaves the frame.
func TestAnyChart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := func(name string) float64 {
			return rapid.Float64Range(-100, 1000).Draw(t, name) * math.Pow(10, float64(rapid.IntRange(-6, 6).Draw(t, "power")))
		}
		name := func() string { return rapid.StringMatching(`[A-Za-zµ0-9 .,–]{0,30}`).Draw(t, "name") }
		c := &Chart{X: Axis{Label: name()}, Y: Axis{Label: name(), Log: rapid.Bool().Draw(t, "log")}, Ends: rapid.Bool().Draw(t, "ends")}
		if rapid.Bool().Draw(t, "rows") {
			c.Limit, c.Name, c.Y.Log, c.X.End = 100, name(), false, float64(rapid.IntRange(0, 1).Draw(t, "end"))*125
			for i := range rapid.IntRange(1, 9).Draw(t, "n") {
				c.Rows = append(c.Rows, name())
				c.Bars = append(c.Bars, Bar{Row: float64(i), From: rapid.Float64Range(0, 50).Draw(t, "from"), To: rapid.Float64Range(50, 400).Draw(t, "to"), Name: name()}, Bar{Row: float64(i), To: 70, Thin: true})
				c.Spots = append(c.Spots, Spot{Point{rapid.Float64Range(0, 300).Draw(t, "x"), float64(i)}, Square, ""})
			}
		} else {
			for range rapid.IntRange(1, 5).Draw(t, "lines") {
				l := Line{Name: name(), Weight: Weight(rapid.IntRange(0, 3).Draw(t, "weight"))}
				for range rapid.IntRange(0, 8).Draw(t, "points") {
					p := Point{value("x"), value("y")}
					if c.Y.Log {
						p.Y = math.Abs(p.Y) + 1e-9
					}
					l.Points = append(l.Points, p)
				}
				c.Lines = append(c.Lines, l)
				c.Spans = append(c.Spans, Span{float64(len(c.Spans)), float64(len(c.Spans) + 1), name()})
			}
			c.Spots = append(c.Spots, Spot{Point{value("x"), math.Abs(value("y")) + 1e-9}, Shape(rapid.IntRange(0, 3).Draw(t, "shape")), name()})
		}
		for _, d := range draw(t, c) {
			sound(t, &d)
		}
	})
}

// Points land where the scale says: halfway between the ticks of 100 and 200 for 150, a third
// of the way from 10 to 10,000 on a logarithmic axis for 100.
func TestPointsLand(t *testing.T) {
	for _, log := range []bool{false, true} {
		c := &Chart{X: Axis{Label: "x"}, Y: Axis{Label: "y", Log: log}, Spots: []Spot{{Point{150, 100}, Ring, ""}, {Point{400, 10}, Ring, ""}, {Point{0, 10_000}, Ring, ""}}}
		for _, d := range draw(t, c) {
			sound(t, &d)
			at := map[string][2]float64{} // of the texts of ticks
			for _, x := range d.Texts {
				at[x.Text+x.Anchor] = [2]float64{x.X, x.Y}
			}
			a, b, p := at["200middle"], at["400middle"], d.Circles[0]
			if want := a[0] - (b[0]-a[0])/4; math.Abs(p.X-want) > 0.2 {
				t.Errorf("150 lies at %g between 200 at %g and 400 at %g", p.X, a[0], b[0])
			}
			low, high := d.Circles[1].Y, d.Circles[2].Y
			share := (p.Y - low) / (high - low)
			if want := map[bool]float64{false: 90.0 / 9990, true: 1.0 / 3}[log]; math.Abs(share-want) > 0.002 {
				t.Errorf("log %v: 100 lies at %g of the way from 10 to 10,000, expected %g", log, share, want)
			}
		}
	}
}

// Ticks are 1, 2 or 5 times a power of ten apart, within the axis, and neither few nor many.
func TestTicksAreRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := scale{from: 0, to: rapid.Float64Range(150, 700).Draw(t, "room")}
		s.low = rapid.Float64Range(-1e6, 0).Draw(t, "low") * float64(rapid.IntRange(0, 1).Draw(t, "below"))
		s.high = rapid.Float64Range(1e-6, 1e6).Draw(t, "high")
		list := s.ticks(70)
		if len(list) < 1 || float64(len(list)) > math.Max(2, s.to/70)+1 {
			t.Fatalf("%d ticks from %g to %g", len(list), s.low, s.high)
		}
		for i, v := range list {
			if v < s.low || v > s.high*(1+1e-9) {
				t.Errorf("a tick %g outside %g … %g", v, s.low, s.high)
			}
			if i == 0 {
				continue
			}
			step := v - list[i-1]
			lead := step / math.Pow(10, math.Floor(math.Log10(step)+1e-9))
			if near := math.Round(lead); math.Abs(lead-near) > 1e-6 || near != 1 && near != 2 && near != 5 {
				t.Errorf("ticks %g apart", step)
			}
		}
	})
}

// What an axis is about is named in any case, and what is over its limit is seen without colour.
func TestNamesAndMarks(t *testing.T) {
	var crowd []Spot
	for i := range 30 {
		crowd = append(crowd, Spot{Point{float64(i), float64(i % 7)}, Ring, "one of many"})
	}
	c := &Chart{X: Axis{Label: "x"}, Y: Axis{Label: "y"}, Spots: append(crowd, Spot{Point{15, 3}, Dot, "this axis"})}
	for _, d := range draw(t, c) {
		if sound(t, &d); !d.has("this axis") {
			t.Error("the axis's own point is not named")
		}
	}
	bars := &Chart{X: Axis{Label: "%", End: 125}, Rows: []string{"holds", "over", "far over"}, Limit: 100, Name: "limit", Bars: []Bar{{To: 80, Name: "80 %"}, {Row: 1, To: 110, Name: "110 %"}, {Row: 2, To: 900, Name: "900 %"}}}
	for _, d := range draw(t, bars) {
		sound(t, &d)
		pieces := map[float64]int{} // of bars, by their height
		for _, p := range d.Paths {
			if strings.HasSuffix(p.D, "Z") {
				pieces[points(p.D)[0][1]]++
			}
		}
		var n []int
		for _, x := range d.Texts {
			if strings.HasSuffix(x.Text, "%") && x.Anchor == "end" && x.Text != "%" {
				n = append(n, pieces[x.Y-9])
			}
		}
		if fmt.Sprint(n) != "[1 2 3]" {
			t.Errorf("the bars have %v pieces, expected one, two behind a gap, three with a break", n)
		}
	}
}

// A limit is hatched on the side where nothing may be.
func TestHatch(t *testing.T) {
	for _, w := range []Weight{LimitLeft, LimitRight} {
		c := &Chart{X: Axis{Label: "x"}, Y: Axis{Label: "y"}, Lines: []Line{{Weight: w, Points: []Point{{0, 5}, {10, 5}}}, {Points: []Point{{0, 0}, {10, 10}}}}}
		d := draw(t, c)[0]
		strokes := 0
		for _, p := range d.Paths {
			if pts := points(p.D); strings.Count(p.D, "M") > 5 {
				for i := 0; i < len(pts); i += 2 {
					strokes++
					if above := pts[i+1][1] < pts[i][1]; above != (w == LimitLeft) {
						t.Fatalf("weight %d: a stroke from %v to %v", w, pts[i], pts[i+1])
					}
				}
			}
		}
		if strokes < 20 {
			t.Errorf("%d strokes", strokes)
		}
	}
}

// What would be counted for ever is refused or drawn, and soon.
func TestHostileValues(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	start := time.Now()
	for _, v := range [][2]float64{{0, inf}, {-inf, inf}, {nan, 1}, {0, nan}, {0, 1e300}, {1, 0}, {1e20, 1e20 + 20000}, {0, 0}, {5, 5}, {-1e-300, 1e-300}, {1e-40, 1e-39}, {1e-29, 1e29}, {1e9, 1e9 + 1e-6}, {-3, -3}} {
		for _, log := range []bool{false, true} {
			c := &Chart{X: Axis{Label: strings.Repeat("x", 3000)}, Y: Axis{Label: "y", Log: log}, Lines: []Line{{Name: strings.Repeat("W", 3000), Points: []Point{{v[0], v[1]}, {v[1], v[0]}}}}}
			s, err := c.Draw("t", "w")
			if err == nil && (strings.Contains(s, "NaN") || strings.Contains(s, "Inf") || len(s) > 50_000) {
				t.Errorf("%v: a picture of %d bytes", v, len(s))
			}
			if bad := v[0] != v[0] || v[1] != v[1] || math.IsInf(v[1], 0); bad && err == nil {
				t.Errorf("%v was drawn", v)
			}
		}
	}
	if d := time.Since(start); d > 20*time.Second {
		t.Errorf("took %v", d)
	}
}

func TestFit(t *testing.T) {
	for _, c := range []struct{ text, want string }{{"short", "short"}, {"a name that is much too long", "a name t…"}} {
		if got := Fit(c.text, Letter, 66); got != c.want {
			t.Errorf("%q fits as %q, expected %q", c.text, got, c.want)
		}
		if w := Width(Fit(c.text, Letter, 66), Letter); w > 66 {
			t.Errorf("%q is %g wide", c.text, w)
		}
	}
}
