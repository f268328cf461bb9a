package mechanics

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"trammel/spec/unit"
)

// draw changes the leaves of a full axis at random. missing is how many in a
// hundred are taken away. Only a seed is drawn: shrinking a hundred leaves one
// by one would take minutes and make no axis plainer.
func draw(rt *rapid.T, moves, missing int) *Calc {
	rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
	c := fullAxis(moves)
	for _, q := range All() {
		if !q.Leaf() {
			continue
		}
		if q.Shape == Scalar {
			c.Set(q, drawLeaf(rnd, q, 0, missing))
			continue
		}
		for i := range moves {
			c.SetMove(q, i, drawLeaf(rnd, q, i, missing))
		}
	}
	return c
}

func drawLeaf(rnd *rand.Rand, q *Quantity, move, missing int) float64 {
	if rnd.IntN(100) < missing || q == Case { // nothing is assumed
		return math.NaN()
	}
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rnd.Float64() }
	switch {
	case q.Words != nil:
		return float64(rnd.IntN(len(q.Words)))
	case q == Reliability:
		return [...]float64{0.9, 0.95, 0.96, 0.97, 0.98, 0.99}[rnd.IntN(6)]
	case q == Hardness:
		return between(50, 66)
	case q == Screws:
		return float64(1 + rnd.IntN(4))
	case q == InclineGiven:
		return between(0, math.Pi/2)
	case q == Stroke:
		return between(0.05, 1.5)
	case q == EfficiencyGiven || q == GearEfficiencyGiven || q == GradeFactorGiven:
		return between(0.5, 1)
	}
	return sensibleValue(q, move) * between(0.5, 2)
}

// same holds two evaluations against each other bit for bit.
func same(t interface{ Errorf(string, ...any) }, got, want *Calc, only func(*Quantity) bool) {
	for _, q := range All() {
		if q.Leaf() || !only(q) {
			continue
		}
		if q.Shape == Scalar {
			if math.Float64bits(got.V(q)) != math.Float64bits(want.V(q)) && !(got.V(q) != got.V(q) && want.V(q) != want.V(q)) {
				t.Errorf("%s is %g, by a full run %g", q.Name, got.V(q), want.V(q))
			}
			continue
		}
		for i, v := range got.Series(q) {
			if w := want.Series(q)[i]; v != w && !(v != v && w != w) {
				t.Errorf("%s[%d] is %g, by a full run %g", q.Name, i, v, w)
			}
		}
	}
}

func TestRegistry(t *testing.T) {
	for _, err := range registryFaults() {
		t.Error(err)
	}
	symbols := map[string]string{}
	for i, q := range All() {
		if q.ID() != i || ByName(q.Name) != q || q.String() != q.Name {
			t.Errorf("%s is not found by its name or place", q.Name)
		}
		if q.Symbol == "" {
			continue
		}
		if other := symbols[q.Symbol]; other != "" && !q.Leaf() {
			t.Errorf("%s and %s share the symbol %s", q.Name, other, q.Symbol)
		}
		symbols[q.Symbol] = q.Name
	}
	if ByName("no such quantity") != nil {
		t.Error("a quantity that is not there was found")
	}
	if !AnyDepends([]*Quantity{Critical, Buckling}, Density) || AnyDepends([]*Quantity{Buckling}, Density) {
		t.Error("only the critical speed depends on the density")
	}
}

// TestFullAxisKnowsAll: an axis of which all is declared has a value for
// every quantity.
func TestFullAxisKnowsAll(t *testing.T) {
	for _, n := range []int{1, 4, 7} {
		c := fullAxis(n)
		c.Run()
		for _, q := range All() {
			if !c.Known(q) {
				t.Errorf("%s is not known; missing %v", q.Name, c.Gaps(q))
			}
			if !q.Leaf() && q.Shape == Scalar && math.IsInf(c.V(q), 0) {
				t.Errorf("%s is infinite", q.Name)
			}
			if len(c.Gaps(q)) > 0 {
				t.Errorf("%s is known and has gaps", q.Name)
			}
		}
	}
}

// TestPlanEqualsRun: after a change of some leaves the plan brings the
// targets, and all they rest on, to what a full run gives.
func TestPlanEqualsRun(t *testing.T) {
	var leaves, calcs []*Quantity
	for _, q := range All() {
		if q.Leaf() {
			leaves = append(leaves, q)
		} else {
			calcs = append(calcs, q)
		}
	}
	rapid.Check(t, func(rt *rapid.T) {
		moves := rapid.IntRange(1, 4).Draw(rt, "moves")
		c := draw(rt, moves, 5)
		c.Run()
		targets := rapid.SliceOfN(rapid.SampledFrom(calcs), 1, 4).Draw(rt, "targets")
		changed := rapid.SliceOfN(rapid.SampledFrom(leaves), 1, 4).Draw(rt, "changed")
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed of the change"), 2))
		for _, q := range changed {
			if q.Shape == Scalar {
				c.Set(q, drawLeaf(rnd, q, 0, 10))
			} else {
				c.SetMove(q, moves-1, drawLeaf(rnd, q, 0, 10))
			}
		}
		full := NewCalc()
		full.CopyFrom(c)
		full.Run()
		plan := Plan(targets, changed...)
		c.RunPlan(plan)
		same(rt, c, full, func(q *Quantity) bool {
			for _, x := range targets {
				if x.DependsOn(q) {
					return true
				}
			}
			return false
		})
		// Nothing is planned that the change cannot reach.
		for _, q := range plan {
			if !slices.ContainsFunc(changed, q.DependsOn) || !slices.ContainsFunc(targets, func(x *Quantity) bool { return x.DependsOn(q) }) {
				rt.Errorf("%s is planned for nothing", q.Name)
			}
		}
	})
}

// TestDependsOnIsTrue: a change of a leaf changes nothing that does not say so.
func TestDependsOnIsTrue(t *testing.T) {
	base := fullAxis(3)
	base.Run()
	c := NewCalc()
	for _, leaf := range All() {
		if !leaf.Leaf() {
			continue
		}
		c.CopyFrom(base)
		switch {
		case leaf.Words != nil:
			c.Set(leaf, math.Mod(sensibleValue(leaf, 0)+1, float64(len(leaf.Words))))
		case leaf.Shape == Scalar:
			c.Set(leaf, sensibleValue(leaf, 0)*1.1)
		default:
			c.SetMove(leaf, 1, sensibleValue(leaf, 1)*1.1)
		}
		c.Run()
		same(t, c, base, func(q *Quantity) bool { return !q.DependsOn(leaf) })
	}
}

// TestResetForgets: a Calc used again knows nothing of its last axis.
func TestResetForgets(t *testing.T) {
	c := fullAxis(5)
	c.Run()
	for _, n := range []int{5, 2, 0, 3, 9} {
		c.Reset(n)
		if c.Moves() != n {
			t.Fatalf("%d moves instead of %d", c.Moves(), n)
		}
		c.Run()
		for _, q := range All() {
			if c.Known(q) && !slices.Contains(needless, q) {
				t.Errorf("%s is known after Reset(%d)", q.Name, n)
			}
			if q.Shape == PerPhase && len(c.Series(q)) != n*PhasesPerMove || q.Shape == PerMove && len(c.Series(q)) != n {
				t.Errorf("%s has %d values for %d moves", q.Name, len(c.Series(q)), n)
			}
		}
		fresh, again := fullAxis(n), c
		for _, q := range All() {
			if q.Leaf() && q.Shape == Scalar {
				again.Set(q, fresh.V(q))
			}
			if q.Leaf() && q.Shape == PerMove {
				copy(again.Series(q), fresh.Series(q))
			}
		}
		fresh.Run()
		again.Run()
		same(t, again, fresh, func(*Quantity) bool { return true })
	}
}

// needless are the computed quantities that have a value though nothing is
// declared.
var needless = qs(BalanceMass, BrakeTorque, StopMeans, StopDelay)

// TestUnknownNeedsGiveNoNumber: a quantity is unknown as long as one of its
// needs is.
func TestUnknownNeedsGiveNoNumber(t *testing.T) {
	hold := func(t interface{ Errorf(string, ...any) }, c *Calc) {
		for _, q := range All() {
			for _, n := range q.Needs {
				switch {
				case c.Known(n):
				case q.Shape == Scalar || n.Shape == Scalar:
					if q.Shape == Scalar && c.Known(q) || q.Shape != Scalar && slices.ContainsFunc(c.Series(q), known) {
						t.Errorf("%s has a value without %s", q.Name, n.Name)
					}
				default:
					for i, v := range c.Series(q) {
						from := i
						if n.Shape != q.Shape {
							from = i / PhasesPerMove
						}
						if known(v) && !known(c.Series(n)[from]) {
							t.Errorf("%s[%d] has a value without %s", q.Name, i, n.Name)
						}
					}
				}
			}
		}
	}
	// Every leaf left out by itself, then several at random.
	c := NewCalc()
	base := fullAxis(2)
	for _, q := range All() {
		if !q.Leaf() {
			continue
		}
		c.CopyFrom(base)
		if q.Shape == Scalar {
			c.Set(q, math.NaN())
		} else {
			c.SetMove(q, 1, math.NaN())
		}
		c.Run()
		hold(t, c)
	}
	rapid.Check(t, func(rt *rapid.T) {
		c := draw(rt, 2, 20)
		c.Run()
		hold(rt, c)
	})
}

func known(v float64) bool { return !math.IsNaN(v) }

// fill puts sensible values into gaps.
func fill(c *Calc, gaps []Gap) {
	for _, g := range gaps {
		if g.Move < 0 {
			c.Set(g.Leaf, sensibleValue(g.Leaf, 0))
		} else {
			c.SetMove(g.Leaf, g.Move, sensibleValue(g.Leaf, g.Move))
		}
	}
	c.Run()
}

// TestGapsAreExact: whatever is unknown becomes known once its gaps are
// filled, and stays unknown with any one of them left. Where nothing is
// missing, nothing that is filled in helps.
func TestGapsAreExact(t *testing.T) {
	work := NewCalc()
	rapid.Check(t, func(rt *rapid.T) {
		missing := rapid.SampledFrom([]int{3, 10, 40}).Draw(rt, "part")
		c := draw(rt, 2, missing)
		c.Run()
		for _, q := range All() {
			if c.Known(q) {
				continue
			}
			work.CopyFrom(c)
			var all []Gap
			for round := 0; !work.Known(q); round++ {
				gaps := work.Gaps(q)
				if len(gaps) == 0 {
					break
				}
				if round > 6 {
					rt.Fatalf("%s stays unknown: %v", q.Name, gaps)
				}
				for _, g := range gaps {
					if !q.DependsOn(g.Leaf) || slices.Contains(all, g) {
						rt.Fatalf("%s lacks %s, on which it does not depend or which was filled", q.Name, g.Leaf.Name)
					}
				}
				all = append(all, gaps...)
				fill(work, gaps)
			}
			if !work.Known(q) {
				// Not defined: nothing may be missing, so that no other
				// leaf makes it known but one that overrides.
				fill(work, unknownLeaves(work))
				if work.Known(q) && !slices.ContainsFunc(overrides, func(l *Quantity) bool { return math.IsNaN(c.V(l)) && q.DependsOn(l) }) {
					rt.Errorf("%s lacks nothing and yet becomes known", q.Name)
				}
				continue
			}
			for _, left := range all {
				if left.Leaf == Backlash && slices.Contains(all, Gap{Preload, -1}) || left.Leaf == Preload && slices.Contains(all, Gap{Backlash, -1}) {
					continue // one of them will do, and which is the user's choice
				}
				work.CopyFrom(c)
				fill(work, without(all, left))
				if work.Known(q) {
					rt.Errorf("%s is known without %s of move %d, which it is said to lack", q.Name, left.Leaf.Name, left.Move)
				}
			}
		}
	})
}

// overrides are leaves that take the place of other declarations. They are
// not named as missing, since what they stand for is there.
var overrides = []*Quantity{BucklingEnds, MovedMassGiven, GradeFactorGiven, BrakeGiven, MotorBrake, Ratio, DriveAt, LoadedLengthGiven, EmergencyDecel, Standstill, Scale, Preload, Backlash, NutDragGiven}

func unknownLeaves(c *Calc) []Gap {
	var out []Gap
	for _, q := range All() {
		if !q.Leaf() {
			continue
		}
		if q.Shape == Scalar && !c.Known(q) {
			out = append(out, Gap{q, -1})
		}
		if q.Shape == PerMove {
			for i, v := range c.Series(q) {
				if math.IsNaN(v) {
					out = append(out, Gap{q, i})
				}
			}
		}
	}
	return out
}

func without(list []Gap, one Gap) []Gap {
	return slices.DeleteFunc(slices.Clone(list), func(g Gap) bool { return g == one })
}

// TestGapsByName: what is named where little is declared.
func TestGapsByName(t *testing.T) {
	names := func(c *Calc, q *Quantity) (out []string) {
		for _, g := range c.Gaps(q) {
			s := g.Leaf.Name
			if g.Move >= 0 {
				s += []string{" 0", " 1"}[g.Move]
			}
			out = append(out, s)
		}
		slices.Sort(out)
		return out
	}
	ends := vals{DriveEnd: FixedEnd, FarEnd: SupportedEnd}
	for _, x := range []struct {
		c    *Calc
		q    *Quantity
		want []string
	}{
		{axisOf(nil), MinLead, []string{"drive.ratio", "motion.move.distance", "motion.move.speed", "motor.max_speed"}},
		{axisOf(ends), Critical, []string{"screw.density", "screw.elastic_modulus", "screw.root_diameter", "supports.span"}},
		{axisOf(ends), BearingRigidity, []string{"drive_support.stiffness"}},
		{axisOf(ends.with(vals{DriveEnd: SupportedEnd})), BearingRigidity, nil},
		{axisOf(vals{DriveEnd: SupportedEnd, FarEnd: FreeEnd, Span: 1, RootDiameter: 1, ElasticModulus: 1, Density: 1}), Critical, nil},
		{axisOf(nil), BucklingFixity, []string{"supports.drive_end", "supports.far_end"}},
		{axisOf(vals{BucklingEnds: FixedFree}), BucklingFixity, nil},
		{axisOf(nil), MovedMass, []string{"carried.mass", "load.mass"}},
		{axisOf(vals{Mass: 1}), MovedMass, []string{"carried.mass"}},
		{axisOf(vals{Turning: ShaftTurns, NominalDiameter: 1}), TurningInertia, []string{"screw.density", "screw.length"}},
		{axisOf(vals{Turning: NutTurns}), TurningInertia, []string{"nut.inertia"}},
		{axisOf(nil, aMove{dist: 1, speed: 1, up: math.NaN(), down: math.NaN()}, aMove{dist: 1, speed: 1, up: 1, down: 1}), TopSpeed, []string{"motion.move.ramp 0"}},
		{axisOf(nil, aMove{dist: math.NaN(), speed: 1, up: 1, down: 1}, aMove{dist: 1, speed: math.NaN(), up: 1, down: 1}), TopSpeed, []string{"motion.move.distance 0", "motion.move.speed 1"}},
		{axisOf(vals{MovedMassGiven: 1, Friction: 0, Orientation: 0, Screws: 2}, aMove{dist: 1, speed: 1, up: 1, down: 1}), WorkingForce, []string{"load.unevenness"}},
		{axisOf(nil), MotorScrews, []string{"load.screws"}},
		{axisOf(vals{Screws: 2}), MotorScrews, []string{"drive.screws"}},
		{axisOf(vals{Screws: 1}), MotorScrews, nil},
		{axisOf(vals{Lead: 1, NominalDiameter: 1}), DragTorque, []string{"nut.preload"}},
		{axisOf(vals{Preload: 0, NutStiffness: 1, DynamicRating: 1, MovedMassGiven: 1, Friction: 0}, aMove{dist: 1, speed: 1, up: 1, down: 1}), NutRigidity, []string{"orientation"}},
	} {
		if got := names(x.c, x.q); !slices.Equal(got, x.want) {
			t.Errorf("%s lacks %v, expected %v", x.q.Name, got, x.want)
		}
	}
}

// TestUndefinedStaysUndefined: where a formula does not hold there is no
// number, and nothing is named as missing.
func TestUndefinedStaysUndefined(t *testing.T) {
	c := fullAxis(2)
	gone := func(q *Quantity, change vals) {
		t.Helper()
		x := NewCalc()
		x.CopyFrom(c)
		for l, v := range change {
			if l.Shape == Scalar {
				x.Set(l, v)
			} else {
				x.SetMove(l, 0, v)
			}
		}
		x.Run()
		if x.Known(q) {
			t.Errorf("%s is %g", q.Name, x.V(q))
		}
		if g := x.Gaps(q); len(g) > 0 {
			t.Errorf("%s is said to lack %s", q.Name, g[0].Leaf.Name)
		}
	}
	nan := math.NaN()
	gone(Critical, vals{DriveEnd: SupportedEnd, FarEnd: FreeEnd})
	gone(Critical, vals{DriveEnd: FreeEnd, FarEnd: FreeEnd})
	gone(CriticalShare, vals{DriveEnd: SupportedEnd, FarEnd: FreeEnd})
	gone(Buckling, vals{BucklingEnds: nan, DriveEnd: FreeEnd, FarEnd: SupportedEnd})
	gone(Rigidity, vals{DriveEnd: SupportedEnd, FarEnd: SupportedEnd})
	gone(SupportLife, vals{DriveEnd: SupportedEnd, FarEnd: SupportedEnd})
	gone(Life, vals{Reliability: 0.8})
	gone(Life, vals{Reliability: 0.999})
	gone(Life, vals{Hardness: 35})
	gone(StaticSafety, vals{Hardness: 72})
	gone(CycleTime, vals{MoveRampUp: 0})
	gone(MeanDeviation, vals{Stroke: 50})
	gone(MeanDeviation, vals{Stroke: 50, Grade: 9}) // T5
	gone(Variation, vals{Stroke: 50})
	for i, pair := range [][2]float64{{SupportedEnd, FreeEnd}, {FreeEnd, FreeEnd}, {math.NaN(), FixedEnd}} {
		if v := EndPair(pair[0], pair[1]); known(v) {
			t.Errorf("pair %d has the name %g", i, v)
		}
	}
	if known(Fixity(math.NaN())) || known(Fixity(7)) {
		t.Error("an unknown pair of ends has a fixity")
	}
}

// TestWords: a choice reads as its word.
func TestWords(t *testing.T) {
	c := axisOf(vals{FarEnd: SupportedEnd})
	if c.Word(FarEnd) != "supported" || c.Word(DriveEnd) != "" {
		t.Errorf("far end %q, driven end %q", c.Word(FarEnd), c.Word(DriveEnd))
	}
	if RampDown.String() != "ramp down" {
		t.Error(RampDown.String())
	}
}

// calendar: a quantity of kind Span counts calendar years, whose length in
// seconds is built in.
func exponents(q *Quantity) [4]float64 {
	switch q {
	case HoursPerDay: // hours: the 3600 s of an hour are built in
		return [4]float64{0, 0, 1, 0}
	case DN, DNLimit: // millimetres times revolutions a minute
		return [4]float64{0, 1, -1, 0}
	}
	if q.Kind == unit.Span {
		return [4]float64{}
	}
	var out [4]float64
	for i, e := range q.Kind.Exponents() {
		out[i] = float64(e)
	}
	return out
}

// TestDimensions evaluates axes in units of another size. Kilogram and kelvin
// change freely; metre and second change together so that gravity keeps its
// number. Each value must change as its kind says. Quantities that rest on
// the travel tables or on an endurance limit are exempt: those are kept in
// millimetres and N/mm²; so is what takes degrees Celsius or a cooling without unit, and an empirical interval of greasing.
func TestDimensions(t *testing.T) {
	exempt := func(q *Quantity) bool {
		return q.DependsOn(MeanDeviation) || q.DependsOn(Variation) || q.DependsOn(DriveEndurance) || q.DependsOn(FarEndurance) ||
			q.DependsOn(EnvironmentCooling) || q == EnvironmentOverRise || q == NutTemperature || q == HeatFactor || q == GreasePart || q.DependsOn(UsualTurns) ||
			q == LastingTorque // of rests of a second
	}
	checked := map[*Quantity]bool{}
	rapid.Check(t, func(rt *rapid.T) {
		decades := func(what string, n float64) float64 { return math.Pow(10, between(rt, what, -n, n)) }
		kg, s, kelvin := decades("kilogram", 6), decades("second", 2), decades("kelvin", 3)
		m := s * s // so that m/s² keeps its number
		size := func(q *Quantity) float64 {
			e := exponents(q)
			return math.Pow(kg, e[0]) * math.Pow(m, e[1]) * math.Pow(s, e[2]) * math.Pow(kelvin, e[3])
		}
		c := draw(rt, 3, 0)
		may := []*Quantity{EfficiencyGiven, BallCircleGiven, MovedMassGiven, LoadedLengthGiven, Backlash, BucklingEnds, LoadFactorGiven, GradeFactorGiven}
		for _, x := range counts {
			if x.leaf.Shape == Scalar && x.leaf != Screws {
				may = append(may, x.leaf)
			}
		}
		for _, l := range may {
			if rapid.Bool().Draw(rt, "without "+l.Name) {
				c.Set(l, math.NaN())
			}
		}
		c.Set(EnvironmentMax, math.NaN()) // its factor is kept in °C
		other := NewCalc()
		other.CopyFrom(c)
		for _, q := range All() {
			if q == ServiceLife && c.V(LifeBasis) == WorkingTime {
				other.Set(q, c.V(q)*s) // hours, as those of a day
			} else if q.Leaf() && q.Shape == Scalar {
				other.Set(q, c.V(q)*size(q))
			} else if q.Leaf() {
				for i, v := range c.Series(q) {
					other.SetMove(q, i, v*size(q))
				}
			}
		}
		c.Run()
		other.Run()
		for _, q := range All() {
			if q.Leaf() || exempt(q) {
				continue
			}
			if q.Shape == Scalar {
				scales(rt, q, c.V(q), other.V(q), size(q), checked)
				continue
			}
			// Differences of series may cancel: what counts is the largest.
			top := 0.0
			for _, v := range c.Series(q) {
				top = math.Max(top, math.Abs(v))
			}
			for i, v := range c.Series(q) {
				if w := other.Series(q)[i]; !(math.Abs(w-v*size(q)) <= 1e-9*top*size(q)) {
					rt.Errorf("%s[%d] is %g and %g in units that differ by %g", q.Name, i, v, w, size(q))
				}
			}
			checked[q] = true
		}
	})
	for _, q := range All() {
		if !q.Leaf() && !exempt(q) && !checked[q] {
			t.Errorf("the dimension of %s was never checked", q.Name)
		}
	}
}

func scales(t interface{ Errorf(string, ...any) }, q *Quantity, v, w, size float64, checked map[*Quantity]bool) {
	if v != v && w != w || math.IsInf(v, 0) && v == w {
		return
	}
	if v != 0 {
		checked[q] = true
	}
	if !(math.Abs(w-v*size) <= 1e-8*math.Max(math.Abs(w), math.Abs(v*size))) {
		t.Errorf("%s is %.12g and %.12g in units that differ by %.12g", q.Name, v, w, size)
	}
}

// registryFaults: every computed quantity has a formula, a source and needs of fitting shapes.
func registryFaults() []error {
	var errs []error
	bad := func(q *Quantity, format string, args ...any) {
		errs = append(errs, fmt.Errorf("%s: %s", q.Name, fmt.Sprintf(format, args...)))
	}
	for _, q := range registry {
		if q.Title == "" {
			bad(q, "no title")
		}
		if q.Leaf() {
			continue
		}
		if q.Formula == "" || q.Source == "" || q.Symbol == "" {
			bad(q, "needs a symbol, a formula and a source")
		}
		if len(q.args) == 0 || len(q.args) > 30 {
			bad(q, "needs %d quantities", len(q.args))
		}
		for _, n := range q.args {
			if n.id >= q.id {
				bad(q, "stands before %s, which it needs", n.Name)
			}
			if q.Shape == Scalar && n.Shape != Scalar && q.fold == nil {
				bad(q, "a scalar cannot take the series %s", n.Name)
			}
			if q.Shape == PerMove && n.Shape == PerPhase {
				bad(q, "a move cannot take the phases of %s", n.Name)
			}
		}
	}
	return errs
}
