package judge

import (
	"math"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// TestBoundOnlyHelps: a bound leaves alone what is on its side; a preferred size
// takes the place of the value, whichever way it lies.
func TestBoundOnlyHelps(t *testing.T) {
	sizes := func() []float64 { return []float64{1, 2, 3} }
	for _, x := range []struct {
		l             *Parameter
		have, x, want float64
	}{
		{&Parameter{Up: true}, 5, 7, 7}, {&Parameter{Up: true}, 5, 3, 5}, {&Parameter{}, 5, 7, 5}, {&Parameter{}, 5, 3, 3},
		{&Parameter{Up: true, Steps: sizes}, 5, 3, 3}, {&Parameter{Steps: sizes}, 2, 3, 3}, {&Parameter{Up: true, Steps: sizes}, 1, 3, 3},
	} {
		if got := x.l.bound(x.have, x.x); got != x.want {
			t.Errorf("%g with the lever at %g (up %v, steps %v) becomes %g, expected %g", x.have, x.x, x.l.Up, x.l.Steps != nil, got, x.want)
		}
	}
}

// TestLeverValue: a value with a tolerance is cut where the bound lies; a word
// becomes the lever's with its text, and what was declared stays as it was.
func TestLeverValue(t *testing.T) {
	have := &spec.Value{Num: unit.Quantity{Nominal: 5, Low: 4, High: 6}, Text: "5 ± 1"}
	for _, x := range []struct {
		up   bool
		x    float64
		want unit.Quantity
	}{
		{true, 5.5, unit.Quantity{Nominal: 5.5, Low: 5.5, High: 6}}, {true, 4.5, unit.Quantity{Nominal: 5, Low: 4.5, High: 6}}, {true, 3, unit.Quantity{Nominal: 5, Low: 4, High: 6}},
		{false, 4.5, unit.Quantity{Nominal: 4.5, Low: 4, High: 4.5}}, {false, 5.5, unit.Quantity{Nominal: 5, Low: 4, High: 5.5}}, {false, 1, unit.Quantity{Nominal: 1, Low: 1, High: 1}},
	} {
		l := &Parameter{Leaf: mechanics.Mass, Up: x.up}
		if got := l.value(have, x.x); got.Num != x.want {
			t.Errorf("up %v, %g: %+v, expected %+v", x.up, x.x, got.Num, x.want)
		}
	}
	word := &spec.Value{Word: mechanics.SupportedEnd, Text: "supported"}
	if got := lever("far end fixed").value(word, lever("far end fixed").To); got.Word != mechanics.FixedEnd || got.Text != "fixed" {
		t.Errorf("%d %q", got.Word, got.Text)
	}
	if have.Num.Nominal != 5 || word.Text != "supported" {
		t.Error("what is declared was changed")
	}
}

// TestPresent: a lever on moves stands at the value that is worst for it; moves
// without the line do not count.
func TestPresent(t *testing.T) {
	s := testaxis.WholeSheet()
	s.Moves = nil
	for i, text := range []string{"", `"0.5 m/s"`, `"0.2 m/s"`, "", `"0.4 m/s"`} {
		m := &testaxis.SheetMove{Name: string(rune('a' + i)), Lines: map[string]string{"distance": `"720 mm"`, "ramp": `"0.15 s"`}}
		if i%2 == 1 {
			m.Lines["distance"] = `"-720 mm"`
		}
		if text != "" {
			m.Lines["speed"] = text
		}
		s.Moves = append(s.Moves, m)
	}
	_, _, v := load(s, t)
	if x, ok := present(v.Calc, lever("speed ≤ %s"), -1); !ok || math.Abs(x-0.5) > 1e-12 {
		t.Errorf("slower begins at %g, %v", x, ok)
	}
	if x, ok := present(v.Calc, &Parameter{Leaf: mechanics.MoveSpeed, Up: true}, -1); !ok || math.Abs(x-0.2) > 1e-12 {
		t.Errorf("faster begins at %g, %v", x, ok)
	}
	if x, ok := present(v.Calc, lever("acceleration ≤ %s"), -1); ok {
		t.Errorf("there is no acceleration, but it begins at %g", x)
	}
	if x, ok := present(v.Calc, lever("span ≤ %s"), -1); !ok || math.Abs(x-0.8) > 1e-12 {
		t.Errorf("the span begins at %g, %v", x, ok)
	}
}

// TestAdviceCounts: a fix meets the advice as well, unless a policy has made
// the rule a note, which asks for no advice.
func TestAdviceCounts(t *testing.T) {
	tried := 0
	for _, r := range Book().All() {
		for k := range r.Tests {
			x := &r.Tests[k]
			if x.Advice == nil {
				continue
			}
			_, _, v := load(testaxis.WholeSheet(), t)
			v.Calc.Run()
			if r.Applies != nil && r.Applies(v) != "" || x.Applies != nil && x.Applies(v) != "" || !v.knows(x) {
				continue
			}
			limit, _, ok := v.limit(r, &x.Limit)
			advice, _, okToo := v.limit(r, x.Advice)
			if !ok || !okToo {
				continue
			}
			plain, advised := x.utilisation(v.Calc, limit), x.utilisation(v.Calc, advice)
			if !(advised > plain) {
				t.Errorf("%s: the advice is no stricter than the limit", r.Name)
			}
			tried++
			own := v.InForce.Settings[r.Index].Severity
			for s, want := range map[Severity]float64{Note: plain, Warning: advised, Error: advised} {
				v.InForce.Settings[r.Index].Severity = s
				if got := v.utilisation(r, x); got != want {
					t.Errorf("%s as %s: %g is used, expected %g", r.Name, s, got, want)
				}
			}
			v.InForce.Settings[r.Index].Severity = own
		}
	}
	if tried == 0 {
		t.Error("no rule has an advice")
	}
	// One without advice, and one not known.
	_, _, v := load(testaxis.WholeSheet().With("screw.root_diameter", "", "screw.nominal_diameter", ""), t)
	v.Calc.Run()
	r := Book().ByName("critical-speed")
	if got := v.utilisation(r, &r.Tests[0]); got == got {
		t.Errorf("the critical speed of a shaft of no diameter: %g", got)
	}
}

// TestWriteOut: so many digits of a unit, down or up as asked, and the number that
// is read of it. 0.767 m are 30.196… in.
func TestWriteOut(t *testing.T) {
	for _, x := range []struct {
		x      float64
		k      unit.Kind
		u      string
		digits int
		to     func(float64) float64
		want   string
	}{
		{0.789_99, unit.Length, "mm", 3, math.Floor, "789 mm"}, {0.789_01, unit.Length, "mm", 3, math.Ceil, "790 mm"}, {0.789_49, unit.Length, "mm", 3, math.Round, "789 mm"},
		{0.767, unit.Length, "in", 3, math.Floor, "30.1 in"}, {0.767, unit.Length, "in", 3, math.Ceil, "30.2 in"}, {0.767, unit.Length, "in", 6, math.Floor, "30.1968 in"},
		{1.239_9, unit.Length, "mm", 3, math.Floor, "1230 mm"}, {0.099_99, unit.Length, "mm", 3, math.Floor, "99.9 mm"}, {0.099_99, unit.Length, "mm", 3, math.Ceil, "100 mm"},
		{0.012_39, unit.None, "", 3, math.Floor, "0.0123"}, {2, unit.None, "", 3, math.Ceil, "2"}, {-0.72, unit.Length, "mm", 3, math.Round, "-720 mm"},
		{0.016, unit.Length, "mm", 6, math.Round, "16 mm"}, {0, unit.Length, "mm", 3, math.Round, ""}, {1, unit.Length, "kg", 3, math.Round, ""},
	} {
		got, n, ok := WriteOut(x.x, x.k, x.u, x.digits, x.to)
		if ok != (x.want != "") || ok && got != x.want {
			t.Errorf("%g %s: %q %v, expected %q", x.x, x.u, got, ok, x.want)
			continue
		}
		if q, err := unit.Parse(got, x.k); ok && (err != nil || q.Nominal != n) {
			t.Errorf("%q is read as %g, not %g", got, q.Nominal, n)
		}
	}
}
