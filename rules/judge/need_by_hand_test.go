package judge

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
)

// TestNeedsAdvice: a need is told for the advice of a rule too. Life goes with
// the cube of the dynamic rating over a load that does not change with it
// (ISO 3408-5), so that 1.25 times the life asks for the cube root of 1.25 of
// the rating. Asking changes nothing in what was asked of.
func TestNeedsAdvice(t *testing.T) {
	run(testaxis.WholeSheet().Files(), Options{Each: func(rep *Report) {
		before := rep.View.V(mechanics.DynamicRating)
		list := rep.View.Needs(mechanics.DynamicRating)
		limit, advice := needOf(t, list, "life-margin", "limit"), needOf(t, list, "life-margin", "advice")
		if limit.Advised || !advice.Advised || limit.Asked != 1 || advice.Asked != 1.25 || !limit.Least {
			t.Errorf("%+v, %+v", limit, advice)
		}
		if want := math.Cbrt(1.25); !(math.Abs(advice.Value/limit.Value-want) <= 1e-9) {
			t.Errorf("%g times the rating, expected %g", advice.Value/limit.Value, want)
		}
		if after := rep.View.V(mechanics.DynamicRating); after != before {
			t.Errorf("the declared rating has become %g", after)
		}
	}})
	// What is required and why: smooth running requires a static safety of 1.5.
	if n := needOf(t, needsOf(t, testaxis.WholeSheet(), mechanics.StaticRating), "static-safety", "limit"); n.Asked != 1.5 || !strings.Contains(n.Because, "smooth") {
		t.Errorf("%g because %q", n.Asked, n.Because)
	}
}

// TestNeedsAtTheEnds: where every value passes the least is 0; where none does
// it says so.
func TestNeedsAtTheEnds(t *testing.T) {
	still := testaxis.WholeSheet().With("motion.move.speed", `"0.00006 mm/s"`, "supports.span", `"500 mm"`)
	still.Moves[0].Lines["distance"], still.Moves[1].Lines["distance"] = `"1 mm"`, `"-1 mm"`
	if n := needOf(t, needsOf(t, still, mechanics.RootDiameter), "critical-speed", "limit"); n.Value != 0 || !n.Least || n.Why != "" {
		t.Errorf("of a shaft that hardly turns: %+v", n)
	}
	n := needOf(t, needsOf(t, testaxis.WholeSheet(), mechanics.StaticRating, "house.policy.hcl", "rule \"static-safety\" {\n  limit = 1e12\n  reason = \"for a test\"\n}\n"), "static-safety", "limit")
	if n.Known() || n.Why != "no value is enough" {
		t.Errorf("for a safety of 1e12: %+v", n)
	}
}

// TestMostByHand: 30 kg with 4 kg of tolerance are at most 34 kg; what has no
// tolerance is what it is; what is not defined somewhere within, or not known,
// is told nowhere.
func TestMostByHand(t *testing.T) {
	_, _, v := load(testaxis.WholeSheet().With("load.mass", `"30 kg ± 4 kg"`, "load.drag", `"18 N ± 6 N"`), t)
	mass := func(c *mechanics.Calc) float64 { return c.V(mechanics.HeaviestMass) }
	if got := v.Most(mass, mechanics.HeaviestMass); !(math.Abs(got-34) <= 1e-9) {
		t.Errorf("at most %g kg", got)
	}
	if got := v.Most(func(c *mechanics.Calc) float64 { return -mass(c) }, mechanics.HeaviestMass); !(math.Abs(got+26) <= 1e-9) {
		t.Errorf("at least %g kg", -got)
	}
	if got := v.Most(func(c *mechanics.Calc) float64 { return c.V(mechanics.Lead) }, mechanics.Lead); got != 0.010 {
		t.Errorf("a lead of %g m", got)
	}
	for _, above := range []float64{33.9, 30.5, 0} {
		if got := v.Most(func(c *mechanics.Calc) float64 {
			if x := mass(c); x < above {
				return x
			}
			return math.NaN()
		}, mechanics.HeaviestMass); got == got {
			t.Errorf("not defined above %g kg: %g", above, got)
		}
	}
	// Both ends of what drag and mass add up to: nothing else moves the sum.
	sum := func(c *mechanics.Calc) float64 { return c.V(mechanics.HeaviestMass) + c.V(mechanics.Drag) }
	if got := v.Most(sum, mechanics.HeaviestMass, mechanics.Drag); !(math.Abs(got-58) <= 1e-9) {
		t.Errorf("at most %g", got)
	}
	if v.V(mechanics.HeaviestMass) != 30 {
		t.Error("what was asked of has changed")
	}
}

// TestMostOfCarried: an axis of 40 kg that carries 20 kg ± 2 kg, which carries
// 10 kg ± 1 kg and up to 3 kg, moves 76 kg at most. Where what it carries is not
// known, nothing is told.
func TestMostOfCarried(t *testing.T) {
	x, y, z := testaxis.Zyx()
	y.Set("load.mass", -1, `"20 kg ± 2 kg"`)
	z.Set("load.mass", -1, `"10 kg ± 1 kg"`)
	a, p := testaxis.Texts(x, y, z)
	most := func(v *View) float64 {
		return v.Most(func(c *mechanics.Calc) float64 { return c.V(mechanics.HeaviestMass) }, mechanics.HeaviestMass)
	}
	seen := 0
	run(testaxis.Memory("m/all.axis.hcl", a[0]+a[1]+a[2], "m/all.parts.hcl", p), Options{Workers: 1, Each: func(rep *Report) {
		if rep.View.Axis.Name != "x" {
			return
		}
		seen++
		if got := most(rep.View); !(math.Abs(got-76) <= 1e-9) {
			t.Errorf("at most %g kg", got)
		}
	}})
	run(testaxis.Memory("m/all.axis.hcl", a[0]+a[1], "m/all.parts.hcl", p), Options{Workers: 1, Each: func(rep *Report) {
		if rep.View.Axis.Name != "x" {
			return
		}
		seen++
		if got := most(rep.View); got == got {
			t.Errorf("with an unknown load at most %g kg", got)
		}
	}})
	if seen != 2 {
		t.Errorf("%d axes", seen)
	}
}

// TestNeedsHold: what is needed is never more than what the rule asks for, by
// however little: the static safety goes with the static rating, so that the
// declared one times its use of the limit would do.
func TestNeedsHold(t *testing.T) {
	run(testaxis.WholeSheet().Files(), Options{Each: func(rep *Report) {
		i := Book().ByName("static-safety").Index
		exact := rep.View.V(mechanics.StaticRating) * rep.Results[i].Utilisation
		if n := needOf(t, rep.View.Needs(mechanics.StaticRating), "static-safety", "limit"); n.Value > exact*(1+1e-12) || n.Value < exact*(1-1e-8) {
			t.Errorf("%.12g N are needed, %.12g N would do", n.Value, exact)
		}
	}})
}

// TestNeedsDoNotArise: a test that makes no demand says why; one of an axis
// that cannot be read neither.
func TestNeedsDoNotArise(t *testing.T) {
	words := func(list []Need) (out []string) {
		for _, n := range list {
			if n.Rule == "stiffness" {
				if n.Known() == (n.Why != "") {
					t.Errorf("%+v", n)
				}
				out = append(out, n.Why)
			}
		}
		return out
	}
	none, some := words(needsOf(t, testaxis.WholeSheet(), mechanics.NutStiffness)), words(needsOf(t, testaxis.WholeSheet().With("accuracy.bandwidth", `"12 Hz"`), mechanics.NutStiffness))
	asked := 0
	for i := range some {
		if some[i] == "" && strings.Contains(none[i], "bandwidth") {
			asked++
		}
	}
	if asked == 0 {
		t.Errorf("without a bandwidth %q, with one %q", none, some)
	}
	axis, parts := testaxis.WholeSheet().Text()
	seen := false
	run(testaxis.Memory(testaxis.SheetFile, axis+"\naxis \"half\" {\n", "parts/all.parts.hcl", parts), Options{Each: func(rep *Report) {
		for _, n := range rep.View.Needs(mechanics.StaticRating) {
			if rep.View.Axis.Name != "half" {
				continue
			}
			seen = true
			if n.Known() || n.Why != "the axis has syntax errors" {
				t.Errorf("%+v", n)
			}
		}
	}})
	if !seen {
		t.Error("no needs")
	}
}

// TestNeedsOfLongCycles: a cycle can be too long to look everywhere within the
// tolerances of its moves; without them it is not.
func TestNeedsOfLongCycles(t *testing.T) {
	for speed, want := range map[string]string{`"0.1 m/s"`: "", `"0.1 m/s ± 0.01 m/s"`: "too many values with a tolerance in a cycle this long"} {
		s := testaxis.WholeSheet()
		s.Moves = nil
		for i := range 480 {
			sign := [...]string{"", "-"}[i%2]
			s.Moves = append(s.Moves, &testaxis.SheetMove{Name: fmt.Sprint("m", i), Lines: map[string]string{"distance": fmt.Sprintf(`"%s100 mm"`, sign), "speed": speed, "ramp": `"0.15 s"`}})
		}
		_, b, v := load(s, t)
		v.Calc.Run()
		r := Book().ByName("static-safety")
		for range 2 {
			b.Left = 0
			if n := v.need(b, r, &r.Tests[0], mechanics.StaticRating, true, &r.Tests[0].Limit); n.Why != want || n.Known() != (want == "") {
				t.Errorf("speed %s: %g, %q, expected %q", speed, n.Value, n.Why, want)
			}
		}
		if most := v.Most(func(c *mechanics.Calc) float64 { return c.V(mechanics.PeakForce) }, mechanics.PeakForce); (most == most) != (want == "") {
			t.Errorf("speed %s: at most %g N", speed, most)
		}
	}
}

// TestNeedsOfSpan: the critical speed goes with the square of the length between
// the supports, turned round: what is declared over the root of its use of the
// limit is the greatest.
func TestNeedsOfSpan(t *testing.T) {
	run(testaxis.WholeSheet().Files(), Options{Each: func(rep *Report) {
		want := rep.View.V(mechanics.Span) / math.Sqrt(rep.Results[Book().ByName("critical-speed").Index].Utilisation)
		if n := needOf(t, rep.View.Needs(mechanics.Span), "critical-speed", "limit"); n.Least || !(math.Abs(n.Value-want) <= 1e-6*want) {
			t.Errorf("%g m, expected %g m: %+v", n.Value, want, n)
		}
	}})
}

// TestNeedsWithTolerance: what is needed with a mass of 30 kg ± 4 kg is what is
// needed with 34 kg.
func TestNeedsWithTolerance(t *testing.T) {
	with, heavy := needsOf(t, testaxis.WholeSheet().With("load.mass", `"30 kg ± 4 kg"`), mechanics.StaticRating), needsOf(t, testaxis.WholeSheet().With("load.mass", `"34 kg"`), mechanics.StaticRating)
	n, want := needOf(t, with, "static-safety", "limit"), needOf(t, heavy, "static-safety", "limit")
	if !(math.Abs(n.Value-want.Value) <= 1e-9*want.Value) || n.Value == 0 {
		t.Errorf("%g N, with the upper end %g N", n.Value, want.Value)
	}
}

// TestNeedsBetweenTheEnds: needs are looked for between a thousand millionth and
// a million million. The static rating that is needed goes with the safety that
// is required.
func TestNeedsBetweenTheEnds(t *testing.T) {
	one := needOf(t, needsOf(t, testaxis.WholeSheet(), mechanics.StaticRating), "static-safety", "limit").Value / 1.5
	for needed, told := range map[float64]float64{0.9e12: 0.9e12, 1.5e12: math.NaN(), 1.5e-9: 1.5e-9, 0.7e-9: 0} {
		policy := fmt.Sprintf("rule \"static-safety\" {\n  limit = %.17g\n  reason = \"for a test\"\n}\n", needed/one)
		n := needOf(t, needsOf(t, testaxis.WholeSheet(), mechanics.StaticRating, "house.policy.hcl", policy), "static-safety", "limit")
		if n.Known() != (told == told) || n.Known() && !(math.Abs(n.Value-told) <= 1e-8*told) {
			t.Errorf("where %g N are needed it says %g N: %s", needed, n.Value, n.Why)
		}
	}
}

// TestNeedsThatArise: an axis that is balanced needs no brake, but where its mass
// may be more it does.
func TestNeedsThatArise(t *testing.T) {
	balanced := testaxis.WholeSheet().With("orientation", `"vertical"`, "load.mass", `"30 kg"`, "load.counterbalance", `"294.2 N"`, "load.counterbalance_by", `"spring"`, "load.counterbalance_cannot_fail", `"many springs"`, "motor.brake_torque", `"1 N m"`)
	exact := needOf(t, needsOf(t, balanced, mechanics.Lead), "holding-brake", "limit")
	wide := needOf(t, needsOf(t, balanced.With("load.mass", `"30 kg ± 5 kg"`), mechanics.Lead), "holding-brake", "limit")
	if exact.Known() || exact.Why == "" || !wide.Known() || wide.Why != "" {
		t.Errorf("balanced %+v, with a tolerance %+v", exact, wide)
	}
}
