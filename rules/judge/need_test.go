package judge

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec/amount"
	"trammel/spec/unit"
)

// needsOf gives the needs of a leaf on a sheet.
func needsOf(t tester, s *testaxis.Sheet, leaf *mechanics.Quantity, more ...string) []Need {
	t.Helper()
	var out []Need
	sum := run(s.Files(more...), Options{Each: func(rep *Report) { out = rep.View.Needs(leaf) }})
	for _, f := range sum.Findings {
		if f.OfText() {
			t.Fatalf("%s: %s", f.Place, f.Message)
		}
	}
	return out
}

func needOf(t *testing.T, list []Need, rule, limit string) Need {
	t.Helper()
	for _, n := range list {
		if n.Rule == rule && n.Limit.Name == limit {
			return n
		}
	}
	t.Fatalf("no need by %s, %s", rule, limit)
	return Need{}
}

// TestNeedsPublished makes an axis of the givens of a textbook's example and
// solves it for what the book solves it for. Sources stand in the rows of
// worked_examples.csv.
func TestNeedsPublished(t *testing.T) {
	// An axis on which nothing acts but what an example adds.
	bare := func(pairs ...string) *testaxis.Sheet {
		s := &testaxis.Sheet{Name: "cross", Lines: map[string]string{"orientation": `"horizontal"`, "load.mass": `"1 g"`, "load.friction": "0", "screw.lead": `"10 mm"`},
			Moves: []*testaxis.SheetMove{
				{Name: "out", Lines: map[string]string{"distance": `"1 m"`, "speed": `"0.1 m/s"`, "acceleration": `"1 m/s2"`}},
				{Name: "back", Lines: map[string]string{"distance": `"-1 m"`, "speed": `"0.1 m/s"`, "acceleration": `"1 m/s2"`}},
			}}
		return s.With(pairs...)
	}
	for _, c := range []struct {
		id, rule, limit string
		leaf            *mechanics.Quantity
		sheet           *testaxis.Sheet
		policy          string
		unit            string
	}{
		// 400 lbf for 5000 h at 1725 rpm: a weight of 400 lb on one flank, moved
		// so far that the ramps are nothing.
		{"SH111", "life-margin", "limit", mechanics.DynamicRating, bare(
			"orientation", `"vertical"`, "load.mass", `"400 lb"`, "nut.backlash", `"1 um"`, "screw.grade", `"C5"`, "duty.load_factor", "1",
			"duty.hours_per_day", "10", "duty.days_per_year", "100", "duty.service_life", `"5 years"`,
			"motion.move.speed", `"0.2875 m/s"`, "motion.move.acceleration", `"0.001 m/s2"`), "", "lbf"},
		// Columns of 1.5 m and 375 mm that carry 22 kN with a safety of 4.
		{"SH417", "buckling", "limit", mechanics.RootDiameter, bare(
			"load.standstill", `"22 kN"`, "supports.drive_end", `"supported"`, "supports.far_end", `"supported"`, "supports.span", `"1.5 m"`,
			"screw.elastic_modulus", `"207 GPa"`, "screw.yield_strength", `"500 MPa"`), "rule \"buckling\" {\n  limit = 4\n}\n", "mm"},
		{"SH418", "buckling", "limit", mechanics.RootDiameter, bare(
			"load.standstill", `"22 kN"`, "supports.drive_end", `"supported"`, "supports.far_end", `"supported"`, "supports.span", `"375 mm"`,
			"screw.elastic_modulus", `"207 GPa"`, "screw.yield_strength", `"500 MPa"`), "rule \"buckling\" {\n  limit = 4\n}\n", "mm"},
	} {
		if c.id == "SH111" {
			c.sheet.Set("motion.move.distance", 0, `"1000000 m"`)
			c.sheet.Set("motion.move.distance", 1, `"-1000000 m"`)
		}
		var more []string
		if c.policy != "" {
			more = []string{"house.policy.hcl", c.policy}
		}
		n := needOf(t, needsOf(t, c.sheet, c.leaf, more...), c.rule, c.limit)
		want, tol := testaxis.Published(t, "../..", c.id)
		got, ok := unit.In(n.Value, c.leaf.Kind, c.unit)
		if !ok || !(math.Abs(got-want) <= tol*want) || !n.Least {
			t.Errorf("%s: %s needs %s %.6g %s (%s %v), printed is %g", c.id, c.rule, c.leaf, got, c.unit, n.Why, n.Missing, want)
		}
	}
	// A shaft of 1 in turns at 520.4 rad/s, its critical speed: the other way
	// round, at this speed and a limit of 100 % it needs to be 1 in thick.
	want, tol := testaxis.Published(t, "../..", "SH75f")
	s := bare("supports.drive_end", `"supported"`, "supports.far_end", `"supported"`, "supports.span", `"31 in"`, "screw.elastic_modulus", `"30e6 psi"`, "screw.density", `"0.282 lb/in3"`,
		"motion.move.acceleration", `"100 m/s2"`, "motion.move.speed", fmt.Sprintf(`"%.6f m/s"`, want/(2*math.Pi)*0.01))
	n := needOf(t, needsOf(t, s, mechanics.RootDiameter, "house.policy.hcl", "rule \"critical-speed\" {\n  limit = \"100 %\"\n  reason = \"as in the book\"\n}\n"), "critical-speed", "limit")
	if d := n.Value / 0.0254; !(math.Abs(d-1) <= tol) {
		t.Errorf("SH75f: a shaft of %.5f in, the book has 1 in (%s %v)", d, n.Why, n.Missing)
	}
}

// A tester is a test or a property's.
type tester interface {
	Helper()
	Errorf(string, ...any)
	Fatalf(string, ...any)
}

// needsAreLimits writes what is needed into an axis and judges it as any other:
// a little more passes, a little less does not. What is declared for the leaf
// must not matter.
func needsAreLimits(t tester, name string, s *testaxis.Sheet, compared map[string]int, leaves ...*mechanics.Quantity) {
	t.Helper()
	for _, leaf := range leaves {
		undeclared := needsOf(t, s.With(leaf.Name, ""), leaf)
		for i, n := range needsOf(t, s, leaf) {
			if u := undeclared[i]; u.Value != n.Value && (u.Known() || n.Known()) {
				t.Errorf("%s: %s needs %s %.9g, and %.9g where none is declared (%s)", name, n.Rule, leaf, n.Value, u.Value, u.Why)
			}
			if !n.Known() || n.Value == 0 || math.IsInf(n.Value, 0) || n.Rule == "motor-speed" {
				continue // motor-speed leaves the word to min-lead
			}
			if f := FieldOfLeaf[leaf.ID()]; n.Value <= max(f.Min, f.Least)*(1+1e-3) {
				continue // the language has no such value
			}
			compared[n.Rule]++
			safe, bad := n.Value*(1+1e-6), n.Value*(1-1e-6)
			if !n.Least {
				safe, bad = bad, safe
			}
			fails := func(x float64) bool {
				v := judge(s.With(leaf.Name, exactly(x, leaf.Kind)), Options{})
				for _, f := range v.of(n.Rule) {
					// The advice speaks only where the limit is kept.
					if f.test != nil && f.test.Limit.Name == firstLimit(n) && (n.Advised || f.Severity == Book().ByName(n.Rule).Severity) {
						return true
					}
				}
				return false
			}
			if fails(safe) || !fails(bad) {
				t.Errorf("%s: %s, %s: %s of %.9g: fails with a little more %v, with a little less %v\n%s", name, n.Rule, n.Limit.Name, leaf, n.Value, fails(safe), fails(bad), s)
			}
		}
	}
}

// firstLimit names the limit of the test that a need is of.
func firstLimit(n Need) string {
	for _, t := range Book().ByName(n.Rule).Tests {
		if t.Advice == n.Limit {
			return t.Limit.Name
		}
	}
	return n.Limit.Name
}

// certain is the whole sheet with nothing left to be assumed.
func certain() *testaxis.Sheet { return sure(testaxis.WholeSheet()) }

// sure declares what would be assumed.
func sure(s *testaxis.Sheet) *testaxis.Sheet {
	o := s.With("duty.shock", "", "duty.load_factor", "1.2")
	for path, text := range map[string]string{
		"screw.ball_circle_diameter": `"20.8 mm"`, "screw.yield_strength": `"300 MPa"`, "screw.friction": "0.003", "supports.housing_stiffness": `"900 N/um"`,
		"load.drag": `"0 N"`, "drive.backlash": `"0 deg"`, "coupling.torsional_stiffness": `"6000 N m/rad"`, "drive.gear_efficiency": "0.9", "drive.gear_inertia": `"0.1 kg cm2"`, "motor.rated_speed": `"3000 rpm"`, "motor.torque_at_max_speed": `"2 N m"`,
		"drive_support.max_speed": `"6000 rpm"`, "far_support.max_speed": `"6000 rpm"`, "coupling.max_speed": `"10000 rpm"`, "coupling.max_torque": `"40 N m"`, "nut.drag_torque": `"79.7885 mN m"`,
		"drive.gear_speed": `"6000 rpm"`, "drive.gear_torque": `"40 N m"`,
	} {
		if o.Lines[path] == "" {
			o.Set(path, -1, text)
		}
	}
	return o
}

// TestNeedsOverRange: what is needed does whatever is assumed: with it the rule
// passes, and with less it does not. Nothing else would be worth ordering by.
func TestNeedsOverRange(t *testing.T) {
	compared := 0
	s := testaxis.WholeSheet().With("drive.ratio", "1.5", "load.drag", "", "motor.torque_at_max_speed", "", "motor.rated_speed", "")
	for _, leaf := range []*mechanics.Quantity{mechanics.DynamicRating, mechanics.MotorTorque, mechanics.NutStiffness, mechanics.RootDiameter} {
		most := map[string]float64{}
		for _, n := range needsOf(t, s, leaf) {
			if f := FieldOfLeaf[leaf.ID()]; n.Known() && n.Value > max(f.Min, f.Least) && !math.IsInf(n.Value, 0) && n.Least {
				most[n.Rule] = max(most[n.Rule], n.Value)
			}
		}
		for rule, x := range most {
			state := func(x float64) State {
				return judge(s.With(leaf.Name, exactly(x, leaf.Kind)), Options{}).results[rule].State
			}
			if safe, bad := state(x*(1+1e-6)), state(x*(1-1e-6)); safe != Passed || bad == Passed {
				t.Errorf("%s: %s of %g: %s, a little less is %s", rule, leaf, x, safe, bad)
			}
			compared++
		}
	}
	if compared < 5 {
		t.Errorf("%d needs", compared)
	}
}

func TestLongNeedsAreLimits(t *testing.T) {
	amount.Long(t)
	compared := map[string]int{}
	for name, s := range map[string]*testaxis.Sheet{
		"whole":     certain(),
		"spread":    certain().With("load.mass", `"30 kg ± 4 kg"`, "load.drag", `"18 N ± 6 N"`, "supports.span", `"800 mm ± 20 mm"`, "screw.root_diameter", `"17.3 mm ± 0.5 mm"`),
		"lifting":   certain().With("orientation", `"vertical"`, "supports.drive_at", `"bottom"`, "load.standstill", `"2 kN"`),
		"bandwidth": certain().With("accuracy.bandwidth", `"12 Hz"`),
		"balanced":  certain().With("orientation", `"vertical"`, "load.counterbalance", `"300 N ± 60 N"`, "load.counterbalance_by", `"spring"`, "load.counterbalance_cannot_fail", `"many springs"`, "load.mass", `"30 kg ± 5 kg"`),
	} {
		needsAreLimits(t, name, s, compared,
			mechanics.DynamicRating, mechanics.StaticRating, mechanics.RootDiameter, mechanics.NominalDiameter, mechanics.NutStiffness, mechanics.Lead, mechanics.Span, mechanics.MotorTorque)
	}
	for _, r := range []string{"life-margin", "static-safety", "critical-speed", "buckling", "shaft-stress", "stiffness", "preload-range", "slenderness"} {
		if compared[r] == 0 {
			t.Errorf("%s was never compared", r)
		}
	}
}

// TestNeedsOfAny is the same on axes drawn at random, tolerances included.
func TestNeedsOfAny(t *testing.T) {
	compared := map[string]int{}
	testaxis.Check(t, amount.Of(60, 6), func(t *rapid.T) {
		s := sure(testaxis.DrawSheet(t))
		if rapid.Bool().Draw(t, "tolerances") {
			widen(t, s)
		}
		needsAreLimits(t, "drawn", s, compared, mechanics.DynamicRating, mechanics.StaticRating, mechanics.RootDiameter, mechanics.NutStiffness)
	})
	for _, r := range []string{"life-margin", "static-safety", "critical-speed", "buckling", "shaft-stress"} {
		if compared[r] < amount.Of(20, 2) {
			t.Errorf("%s was compared %d times only", r, compared[r])
		}
	}
}

// TestNeedsOpen says what is missing, and gives no number then.
func TestNeedsOpen(t *testing.T) {
	for _, c := range []struct {
		change         []string
		leaf           *mechanics.Quantity
		rule           string
		missing, why   string
		policy, absent string
	}{
		{change: []string{"duty.service_life", ""}, leaf: mechanics.DynamicRating, rule: "life-margin", missing: "duty.service_life"},
		{change: []string{"screw.grade", ""}, leaf: mechanics.DynamicRating, rule: "life-margin", missing: "screw.grade"},
		{change: []string{"duty.shock", ""}, leaf: mechanics.StaticRating, rule: "static-safety", missing: "duty.shock"},
		{change: []string{"supports.span", ""}, leaf: mechanics.RootDiameter, rule: "critical-speed", missing: "supports.span"},
		{change: []string{"screw.turning", `"nut"`}, leaf: mechanics.RootDiameter, rule: "critical-speed", why: "the nut turns"},
		{change: []string{"supports.drive_end", `"supported"`, "supports.far_end", `"free"`}, leaf: mechanics.RootDiameter, rule: "critical-speed", why: "not defined"},
		{leaf: mechanics.DynamicRating, rule: "life-margin", why: "a policy switches life-margin off", policy: "rule \"life-margin\" {\n  severity = \"off\"\n  reason = \"none\"\n}\n"},
		// Whether a motor has a brake must be known before how strong that is.
		{change: []string{"orientation", `"vertical"`, "drive.motor", ""}, leaf: mechanics.Lead, rule: "holding-brake", missing: "drive.motor"},
		// Root diameter cannot buy speed where the lead is not known.
		{change: []string{"screw.lead", ""}, leaf: mechanics.RootDiameter, rule: "critical-speed", missing: "screw.lead"},
	} {
		var more []string
		if c.policy != "" {
			more = []string{"house.policy.hcl", c.policy}
		}
		n := needOf(t, needsOf(t, testaxis.WholeSheet().With(c.change...), c.leaf, more...), c.rule, "limit")
		words := ""
		for _, m := range n.Missing {
			words += m.Words + " "
		}
		if n.Known() || !strings.Contains(words, c.missing) || !strings.Contains(n.Why, c.why) || (n.Why == "") != (c.why == "") {
			t.Errorf("%v: %s: value %g, missing %s, why %q", c.change, c.rule, n.Value, words, n.Why)
		}
	}
	// The axes it carries are not known: nothing that hangs on them is.
	files := testaxis.WholeSheet().With("load.carries", "[axis.none]").Files()
	run(files, Options{Each: func(rep *Report) {
		if n := needOf(t, rep.View.Needs(mechanics.StaticRating), "static-safety", "limit"); n.Known() || !strings.Contains(n.Why, "carried") {
			t.Errorf("with an unknown load: %g, %q", n.Value, n.Why)
		}
	}})
}

// TestMost: no point within the tolerances has more, and some point has it.
func TestMost(t *testing.T) {
	compared := 0
	testaxis.Check(t, amount.Of(80, 12), func(t *rapid.T) {
		s := testaxis.DrawSheet(t)
		widen(t, s)
		_, b, v := load(s, t)
		for _, q := range quantities(mechanics.PeakForce, mechanics.MeanLoad, mechanics.MeanPlus, mechanics.MeanMinus, mechanics.HeaviestMass, mechanics.MaxRotation, mechanics.RequiredRevs, mechanics.DN, mechanics.RootDiameter) {
			most := v.Most(func(c *mechanics.Calc) float64 { return c.V(q) }, q)
			if most != most {
				continue // a corner may have no ramp
			}
			highest, c := math.Inf(-1), mechanics.NewCalc()
			r := rand.New(rand.NewPCG(1, 2))
			for p := range 200 + 1<<len(b.tolerances) {
				c.CopyFrom(v.Calc)
				for i, s := range b.tolerances {
					share := r.Float64()
					if p < 1<<len(b.tolerances) {
						share = float64(p >> i & 1)
					}
					s.set(c, s.low+(s.high-s.low)*share)
				}
				c.Run()
				highest = math.Max(highest, c.V(q))
			}
			compared++
			if !(most >= highest*(1-1e-9)) || most > highest*1.1 { // samples may miss a peak between them
				t.Errorf("%s: most %g, sampled %g\n%s", q, most, highest, s)
			}
		}
	})
	if compared < amount.Of(300, 40) {
		t.Errorf("compared %d times only", compared)
	}
	// Nothing is known of a sum of which a part is missing.
	_, _, v := load(testaxis.WholeSheet().With("load.drag", `"18 N ± 6 N"`, "load.mass", ""), t)
	if x := v.Most(func(c *mechanics.Calc) float64 { return c.V(mechanics.PeakForce) }, mechanics.PeakForce); x == x {
		t.Errorf("%g N without a mass", x)
	}
}

// TestNeedsTryValues asks with another lead than the declared one: what a lead
// of 20 mm needs is what an axis that declares it needs.
func TestNeedsTryValues(t *testing.T) {
	for _, declared := range []string{`"10 mm"`, `"10 mm ± 0.1 mm"`} {
		for _, leaf := range []*mechanics.Quantity{mechanics.DynamicRating, mechanics.RootDiameter} {
			want := needsOf(t, testaxis.WholeSheet().With("screw.lead", `"20 mm"`), leaf)
			run(testaxis.WholeSheet().With("screw.lead", declared).Files(), Options{Each: func(rep *Report) {
				v := *rep.View
				v.Calc = mechanics.NewCalc()
				v.Calc.CopyFrom(rep.View.Calc)
				v.Calc.Set(mechanics.Lead, 0.02)
				v.Calc.Run()
				for i, n := range v.Needs(leaf) {
					if n.Value != want[i].Value && (n.Known() || want[i].Known()) {
						t.Errorf("%s, %s: %g, declared so it needs %g", n.Rule, n.Limit.Name, n.Value, want[i].Value)
					}
				}
			}})
		}
	}
}
