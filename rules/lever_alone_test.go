package rules

import (
	"math"
	"slices"
	"strings"
	"testing"

	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// TestBoundOnlyHelps: a bound leaves alone what is on its side; a preferred size
// takes the place of the value, whichever way it lies.
func TestBoundOnlyHelps(t *testing.T) {
	sizes := func() []float64 { return []float64{1, 2, 3} }
	for _, x := range []struct {
		l             *Lever
		have, x, want float64
	}{
		{&Lever{Up: true}, 5, 7, 7}, {&Lever{Up: true}, 5, 3, 5}, {&Lever{}, 5, 7, 5}, {&Lever{}, 5, 3, 3},
		{&Lever{Up: true, Steps: sizes}, 5, 3, 3}, {&Lever{Steps: sizes}, 2, 3, 3}, {&Lever{Up: true, Steps: sizes}, 1, 3, 3},
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
		l := &Lever{Leaf: mechanics.Mass, Up: x.up}
		if got := l.value(have, x.x); got.Num != x.want {
			t.Errorf("up %v, %g: %+v, expected %+v", x.up, x.x, got.Num, x.want)
		}
	}
	word := &spec.Value{Word: mechanics.SupportedEnd, Text: "supported"}
	if got := farFixed.value(word, farFixed.To); got.Word != mechanics.FixedEnd || got.Text != "fixed" {
		t.Errorf("%d %q", got.Word, got.Text)
	}
	if have.Num.Nominal != 5 || word.Text != "supported" {
		t.Error("what is declared was changed")
	}
}

// TestSpreadsLeft: a tolerance beyond the bound is gone, one across it is cut,
// others stay.
func TestSpreadsLeft(t *testing.T) {
	all := []spread{{mechanics.Mass, -1, 4, 6}, {mechanics.Span, -1, 4, 6}}
	for _, x := range []struct {
		x    float64
		want []spread
	}{
		{7, all},
		{5, []spread{{mechanics.Mass, -1, 4, 5}, all[1]}},
		{4, all[1:]}, // nothing is left of it
		{1, all[1:]},
	} {
		if got := (&Lever{Leaf: mechanics.Mass}).spreads(all, x.x); !slices.Equal(got, x.want) {
			t.Errorf("mass up to %g: %v, expected %v", x.x, got, x.want)
		}
	}
}

// TestPresent: a lever on moves stands at the value that is worst for it; moves
// without the line do not count.
func TestPresent(t *testing.T) {
	s := wholeSheet()
	s.moves = nil
	for i, text := range []string{"", `"0.5 m/s"`, `"0.2 m/s"`, "", `"0.4 m/s"`} {
		m := &sheetMove{string(rune('a' + i)), map[string]string{"distance": `"720 mm"`, "ramp": `"0.15 s"`}}
		if i%2 == 1 {
			m.lines["distance"] = `"-720 mm"`
		}
		if text != "" {
			m.lines["speed"] = text
		}
		s.moves = append(s.moves, m)
	}
	_, _, v := s.load(t)
	if x, ok := present(v.Calc, slower); !ok || math.Abs(x-0.5) > 1e-12 {
		t.Errorf("slower begins at %g, %v", x, ok)
	}
	if x, ok := present(v.Calc, &Lever{Leaf: mechanics.MoveSpeed, Up: true}); !ok || math.Abs(x-0.2) > 1e-12 {
		t.Errorf("faster begins at %g, %v", x, ok)
	}
	if x, ok := present(v.Calc, gentler); ok {
		t.Errorf("there is no acceleration, but it begins at %g", x)
	}
	if x, ok := present(v.Calc, shorterSpan); !ok || math.Abs(x-0.8) > 1e-12 {
		t.Errorf("the span begins at %g, %v", x, ok)
	}
}

// TestRoundThreeDigits: three digits of the unit the line is written in, down
// or up as asked; SI units where there is no line.
func TestRoundThreeDigits(t *testing.T) {
	for _, x := range []struct {
		span string
		to   func(float64) float64
		x    float64
		want float64
	}{
		{`"800 mm"`, math.Floor, 0.789_99, 0.789}, {`"800 mm"`, math.Ceil, 0.789_01, 0.790}, {`"800 mm"`, math.Round, 0.789_49, 0.789},
		{`"31 in"`, math.Floor, 30.19 * 0.0254, 30.1 * 0.0254}, {`"31 in"`, math.Ceil, 30.11 * 0.0254, 30.2 * 0.0254},
		{`"800 mm"`, math.Floor, 1.239_9, 1.23}, {`"800 mm"`, math.Floor, 0.099_99, 0.0999}, {"", math.Floor, 0.012_39, 0.0123},
	} {
		_, _, v := wholeSheet().with("supports.span", x.span).load(t)
		tr := &trial{v: *v, l: shorterSpan}
		if got := tr.round(x.x, x.to); math.Abs(got-x.want) > 1e-9 {
			t.Errorf("%g m beside %s: %g, expected %g", x.x, x.span, got, x.want)
		}
	}
	_, _, v := wholeSheet().load(t)
	tr := &trial{v: *v, l: lessFriction} // a bare number
	if got := tr.round(0.012_39, math.Floor); math.Abs(got-0.0123) > 1e-12 {
		t.Errorf("a friction of %g", got)
	}
	if got := tr.round(0, math.Floor); got != 0 {
		t.Errorf("nothing becomes %g", got)
	}
}

// TestNewFault: a fault is new unless there was one about the same line and
// move that was as serious. Off is a fault as serious as its rule.
func TestNewFault(t *testing.T) {
	a, b := field("screw.lead"), field("screw.grade")
	at := func(f *spec.Field, move int, s Severity) []Fault { return []Fault{{At: f, Move: move, Severity: s}} }
	for _, x := range []struct {
		before, now []Fault
		want        bool
	}{
		{nil, nil, false}, {at(a, -1, Error), nil, false}, {nil, at(a, -1, Note), true},
		{at(a, -1, Error), at(a, -1, Error), false}, {at(a, -1, Off), at(a, -1, Off), false},
		{at(a, -1, Error), at(b, -1, Error), true}, {at(a, 0, Error), at(a, 1, Error), true},
		{at(a, -1, Error), at(a, -1, Warning), false}, {at(a, -1, Warning), at(a, -1, Error), true},
		{at(a, -1, Off), at(a, -1, Warning), false}, {at(a, -1, Warning), at(a, -1, Off), true},
		{at(a, -1, Error), at(a, -1, Off), true},
		{append(at(b, -1, Error), at(a, -1, Error)...), at(a, -1, Error), false},
		{at(a, -1, Error), append(at(a, -1, Error), at(b, -1, Error)...), true},
	} {
		if got := newFault(x.before, x.now); got != x.want {
			t.Errorf("before %+v, now %+v: %v", x.before, x.now, got)
		}
	}
}

// TestFaultsWhereAsked: a check's faults are those it finds where it is asked,
// none where its question does not arise or a fact is missing.
func TestFaultsWhereAsked(t *testing.T) {
	_, _, v := wholeSheet().load(t)
	one := func(*View) []Fault { return []Fault{{Message: "one"}} }
	yes, no := func(*View) string { return "" }, func(*View) string { return "no" }
	for i, x := range []struct {
		r    Rule
		want int
	}{
		{Rule{}, 0}, {Rule{Check: one}, 1}, {Rule{Check: one, Applies: yes}, 1}, {Rule{Check: one, Applies: no}, 0},
		{Rule{Check: one, Facts: fields("screw.lead")}, 1}, {Rule{Check: one, Facts: fields("screw.lead", "screw.efficiency")}, 0},
	} {
		if got := v.faults(&x.r); len(got) != x.want {
			t.Errorf("%d: %v", i, got)
		}
	}
}

// TestAdviceCounts: a way out meets the advice as well, unless a policy has made
// the rule a note, which asks for no advice.
func TestAdviceCounts(t *testing.T) {
	tried := 0
	for _, r := range ordered {
		for k := range r.Tests {
			x := &r.Tests[k]
			if x.Advice == nil {
				continue
			}
			_, _, v := wholeSheet().load(t)
			v.Calc.Run()
			if r.Applies != nil && r.Applies(v) != "" || x.Applies != nil && x.Applies(v) != "" || !v.knows(x) {
				continue
			}
			limit, _, ok := v.limit(r, &x.Limit)
			advice, _, okToo := v.limit(r, x.Advice)
			if !ok || !okToo {
				continue
			}
			plain, advised := x.use(v.Calc, limit), x.use(v.Calc, advice)
			if !(advised > plain) {
				t.Errorf("%s: the advice is no stricter than the limit", r.Name)
			}
			tried++
			own := v.force.settings[r.index()].Severity
			for s, want := range map[Severity]float64{Note: plain, Warning: advised, Error: advised} {
				v.force.settings[r.index()].Severity = s
				if got := v.use(r, x); got != want {
					t.Errorf("%s as %s: %g is used, expected %g", r.Name, s, got, want)
				}
			}
			v.force.settings[r.index()].Severity = own
		}
	}
	if tried == 0 {
		t.Error("no rule has an advice")
	}
	// One without advice, and one not known.
	_, _, v := wholeSheet().with("screw.root_diameter", "", "screw.nominal_diameter", "").load(t)
	v.Calc.Run()
	r := ByName("critical-speed")
	if got := v.use(r, &r.Tests[0]); got == got {
		t.Errorf("the critical speed of a shaft of no diameter: %g", got)
	}
}

// TestFails: with and without tolerances, on both sides of the limit. The use of
// the static safety goes with one over the rating.
func TestFails(t *testing.T) {
	r := ByName("static-safety")
	x := &r.Tests[0]
	base := wholeSheet().judge(Options{}).results["static-safety"].Use
	if !(base > 0 && base < 1) {
		t.Fatal(base)
	}
	// 21 kN are used to base; a static rating of 21 kN times base is used to 1.
	at := 21e3 * base
	for _, y := range []struct {
		nominal, spread float64
		want            bool
	}{
		{1.001, 0, false}, {0.999, 0, true}, {1.05, 0.02, false}, {1.05, 0.08, true}, {0.9, 0.02, true},
	} {
		text := exactly(at*y.nominal, unit.Force)
		if y.spread > 0 {
			text = strings.TrimSuffix(exactly(at*(y.nominal-y.spread), unit.Force), ` N"`) + " N .. " + strings.TrimPrefix(exactly(at*(y.nominal+y.spread), unit.Force), `"`)
		}
		_, b, v := wholeSheet().with("screw.static_rating", text).load(t)
		v.Calc.Run()
		if (len(b.spreads) > 0) != (y.spread > 0) {
			t.Fatalf("%s: %v", text, b.spreads)
		}
		if got := v.fails(b, r, x); got != y.want {
			t.Errorf("%g ± %g of the least rating: fails %v", y.nominal, y.spread, got)
		}
	}
	// What cannot be paid for counts as failing; what is not known does not.
	_, b, v := wholeSheet().with("screw.static_rating", `"21 kN ± 1 kN"`).load(t)
	v.Calc.Run()
	if v.fails(b, r, x) {
		t.Error("21 kN ± 1 kN fail")
	}
	b.left = 10
	if !v.fails(b, r, x) {
		t.Error("what cannot be paid for does not fail")
	}
	_, b, v = wholeSheet().with("screw.static_rating", "", "screw.nominal_diameter", "", "screw.dynamic_rating", `"12 kN ± 1 kN"`).load(t)
	v.Calc.Run()
	if v.fails(b, r, x) {
		t.Error("what is not known fails")
	}
}
