package mechanics

import (
	"math"
	"math/rand/v2"
	"testing"

	"trammel/spec/amount"
)

// anAxis draws an axis: any of the leaves may be missing, each is up to eight times what a
// real one has or as little, and what may have either sign has it.
func anAxis(r *rand.Rand) *Calc {
	c := NewCalc()
	moves := 1 + r.IntN(3)
	c.Reset(moves)
	about := func(x float64) float64 { return x * math.Pow(2, 3*(2*r.Float64()-1)) }
	for _, q := range All() {
		switch {
		case !q.Leaf() || r.IntN(5) == 0:
		case len(q.Words) > 0:
			c.Set(q, float64(r.IntN(len(q.Words))))
		case q == InclineGiven:
			c.Set(q, [...]float64{0, 0.3, math.Pi / 2}[r.IntN(3)])
		case q.Shape == Scalar:
			c.Set(q, about(sensibleValue(q, 0)))
		default:
			for i := range moves {
				c.SetMove(q, i, about(sensibleValue(q, i)))
			}
		}
	}
	// What must be there and in its range for anything to be known.
	for q, x := range map[*Quantity]float64{Hardness: 60, Reliability: 0.9, Screws: 1 + float64(r.IntN(2)), Case: float64(r.IntN(3) - 1)} {
		c.Set(q, x)
	}
	for _, q := range []*Quantity{Mass, CarriedMass, Friction, Lead, NominalDiameter, RootDiameter, Ratio, MotorScrewsGiven, Unevenness, Orientation, Turning, DriveEnd, FarEnd, DriveAt} {
		if c.one[q.id] != c.one[q.id] {
			c.Set(q, sensibleValue(q, 0))
		}
	}
	for _, q := range []*Quantity{EfficiencyGiven, GearEfficiencyGiven} {
		c.Set(q, math.Min(c.one[q.id], 0.98)) // none is beyond one
	}
	c.Set(MotorScrewsGiven, 1+float64(r.IntN(2)))
	for i := range moves {
		for _, q := range []*Quantity{MoveDistance, MoveSpeed, MoveRamp} {
			c.SetMove(q, i, sensibleValue(q, i))
		}
		if r.IntN(2) == 0 {
			c.SetMove(MoveThrust, i, 0)
		}
	}
	return c
}

// someLeaves are those that courses are known for.
var someLeaves = qs(Mass, MovedMassGiven, CarriedMass, MovePayload, Friction, DragGiven, Counterbalance, Standstill, EmergencyDecel, DynamicRating, StaticRating, RotorInertia, MoveThrust, MoveHold)

// claims fails for each value of q that does not keep to its course at some places.
func claims(t *testing.T, q *Quantity, c Course, xs []float64, at []*Calc) (broken bool) {
	n := max(1, length(q.Shape, at[0].moves))
	for j := range n {
		var y []float64
		size := 0.0
		for _, a := range at {
			v := a.one[q.id]
			if q.Shape != Scalar {
				v = a.row(q)[j]
			}
			y = append(y, v)
			if !math.IsInf(v, 0) {
				size = math.Max(size, math.Abs(v))
			}
		}
		if what := breaks(c, xs, y, 1e-9*size); what != "" {
			t.Errorf("%s[%d] is no %s: %g at %g", q.Name, j, what, y, xs)
			return true
		}
	}
	return false
}

// breaks names what values at some places, in order, are not although a course says so.
func breaks(c Course, xs, y []float64, eps float64) string {
	for _, v := range y {
		if v != v {
			return "" // nothing is said of what is not known
		}
	}
	rose, fell := false, false
	for i := 1; i < len(y); i++ {
		rose, fell = rose || y[i] > y[i-1]+eps, fell || y[i] < y[i-1]-eps
		if c&resting != 0 && y[i] != y[0] {
			return "constant"
		}
	}
	if c&oneWay != 0 && rose && fell {
		return "one-way street"
	}
	for i := range y {
		for _, k := range [...]int{i + 2, i + 5, len(y) - 1} {
			if k >= len(y) || k <= i {
				continue
			}
			for j := i + 1; j < k; j++ {
				on := y[i] + (y[k]-y[i])*(xs[j]-xs[i])/(xs[k]-xs[i])
				switch {
				case c&valley != 0 && y[j] > math.Max(y[i], y[k])+eps:
					return "valley"
				case c&hill != 0 && y[j] < math.Min(y[i], y[k])-eps:
					return "hill"
				case c&deep != 0 && math.Abs(y[j]) > math.Max(math.Abs(y[i]), math.Abs(y[k]))+eps:
					return "valley in magnitude"
				case c&convex != 0 && y[j] > on+eps:
					return "convex"
				case c&concave != 0 && y[j] < on-eps:
					return "concave"
				}
			}
		}
	}
	return ""
}

// courseAt finds the courses for a leaf over a range, and the values at places in it.
func courseAt(c *Calc, leaf *Quantity, move int, low, high float64, places int) (*Courses, []float64, []*Calc) {
	var loose Set
	loose.AddOver(leaf)
	c.Run()
	var xs []float64
	var at []*Calc
	for k := range places {
		a := NewCalc()
		a.CopyFrom(c)
		xs = append(xs, low+(high-low)*float64(k)/float64(places-1))
		if leaf.Shape == Scalar {
			a.Set(leaf, xs[k])
		} else {
			a.SetMove(leaf, move, xs[k])
		}
		a.Run()
		at = append(at, a)
	}
	x, spots := new(Courses), &Spots{At: [][]*Calc{{at[0], at[places-1]}}}
	x.Find(c, leaf, &loose, nil)
	spots.Trust([]*Courses{x})
	x.Find(c, leaf, &loose, spots)
	return x, xs, at
}

// TestCourses: what is said of how a quantity goes with a leaf holds at places all over
// wide ranges, on axes of every kind.
func TestCourses(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 7))
	seen := map[*Quantity]Course{}
	broken := map[*Quantity]bool{}
	for range amount.Of(20000, 3000) {
		c := anAxis(r)
		leaf := someLeaves[r.IntN(len(someLeaves))]
		move, was := 0, c.one[leaf.id]
		if leaf.Shape != Scalar {
			move = r.IntN(c.moves)
			was = c.row(leaf)[move]
		}
		if was != was {
			continue
		}
		width := [...]float64{0.05, 0.5, 1}[r.IntN(3)]
		x, xs, at := courseAt(c, leaf, move, was*(1-width), was*(1+2*width), 13)
		for _, q := range computed {
			if !leaf.fates.has(q.id) || x.Of(q) == unknown || broken[q] {
				continue
			}
			seen[q] |= x.Of(q)
			if claims(t, q, x.Of(q), xs, at) {
				broken[q] = true
				t.Logf("  over %s, course %b", leaf.Name, x.Of(q))
			}
		}
	}
	for _, q := range computed {
		if q.goes != nil && seen[q] == 0 {
			t.Errorf("no course of %s was tried", q.Name)
		}
	}
}
