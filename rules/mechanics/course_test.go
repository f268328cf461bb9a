package mechanics

import (
	"math"
	"math/rand/v2"
	"slices"
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
		case !q.Leaf() || r.IntN(5) == 0, q == MoveHold && r.IntN(2) == 0: // most do not say what goes on at rest
		case len(q.Words) > 0:
			c.Set(q, float64(r.IntN(len(q.Words))))
		case q == InclineGiven:
			c.Set(q, [...]float64{0, 0.3, math.Pi / 2, -0.3}[r.IntN(4)])
		case q.Shape == Scalar:
			c.Set(q, about(sensibleValue(q, 0)))
		default:
			for i := range moves {
				c.SetMove(q, i, about(sensibleValue(q, i)))
			}
		}
	}
	for _, q := range qs(MoveThrust, MoveHold) {
		for i := range moves {
			c.SetMove(q, i, c.row(q)[i]*float64(1-2*r.IntN(2)))
		}
	}
	c.Set(Standstill, c.one[Standstill.id]*float64(1-2*r.IntN(2)))
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
	turnAt(r, c, Counterbalance, func() float64 {
		sin, _ := sinCos(c.one[Incline.id])
		return c.one[HeaviestMass.id] * Gravity * sin
	})
	turnAt(r, c, EmergencyDecel, func() float64 { return c.one[StopReached.id] })
	return c
}

// turnAt gives a leaf, one time in three, a value close to the one at which what hangs on it
// turns round: a counterbalance the weight, a stop the deceleration that is just reached.
func turnAt(r *rand.Rand, c *Calc, leaf *Quantity, turns func() float64) {
	if r.IntN(3) > 0 {
		return
	}
	c.Run()
	if x := turns() * (0.8 + 0.4*r.Float64()); x > 0 {
		c.Set(leaf, x)
	}
}

// someLeaves are those that courses are known for.
var someLeaves = qs(Mass, MovedMassGiven, CarriedMass, MovePayload, Friction, DragGiven, Counterbalance, Standstill, EmergencyDecel, DynamicRating, StaticRating, RotorInertia, MoveThrust, MoveHold, ShaftLength, CouplingInertia, Span, LoadedLengthGiven)

// otherLeaves are more that may have tolerances at the same time.
var otherLeaves = append(qs(MoveDwell, MoveSpeed, MoveRamp, Lead, EfficiencyGiven, InclineGiven, DriveSupportDrag, NutDragGiven, BrakeGiven, MotorBrake, BrakeSlipGiven, MotorPeakTorque, GearInertiaGiven, Preload), someLeaves...)

// A width is the range of a leaf, of one move's value where it has several.
type width struct {
	leaf      *Quantity
	move      int
	low, high float64
}

func (w width) set(c *Calc, part float64) float64 {
	x := w.low + (w.high-w.low)*part
	if w.leaf.Shape == Scalar {
		c.Set(w.leaf, x)
	} else {
		c.SetMove(w.leaf, w.move, x)
	}
	return x
}

// aBox draws ranges: the first of a leaf that courses are known for, and none to two more.
func aBox(r *rand.Rand, c *Calc) (box []width) {
	n := [...]int{1, 1, 2, 3}[r.IntN(4)]
	parts := []float64{0.05, 0.3, 1}
	for i := range n {
		list := otherLeaves
		if i == 0 {
			list = someLeaves
		}
		w := width{leaf: list[r.IntN(len(list))]}
		was := c.one[w.leaf.id]
		if w.leaf.Shape != Scalar {
			w.move = r.IntN(c.moves)
			was = c.row(w.leaf)[w.move]
		}
		part := parts[r.IntN(len(parts))]
		w.low, w.high = was*(1-part), was*(1+2*part)
		switch w.leaf {
		case EfficiencyGiven:
			w.high = math.Min(w.high, 1)
		case InclineGiven: // a level axis may be not quite so
			w.high = was + 0.1*part
		}
		twice := slices.ContainsFunc(box, func(o width) bool { return o.leaf == w.leaf && o.move == w.move })
		if was == was && !twice {
			box = append(box, w)
		} else if i == 0 {
			return nil
		}
	}
	return box
}

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

// courseAt finds the courses for the first leaf of a box, and the values at places over its
// range with the others somewhere in theirs.
func courseAt(r *rand.Rand, c *Calc, box []width, places int) (*Courses, []float64, []*Calc) {
	var loose Set
	for _, w := range box {
		loose.AddOver(w.leaf)
	}
	c.Run()
	at := func(part func(i int) float64) *Calc {
		a := NewCalc()
		a.CopyFrom(c)
		for i, w := range box {
			w.set(a, part(i))
		}
		a.Run()
		return a
	}
	spots := &Spots{At: make([][]*Calc, 1)}
	for k := range 1 << len(box) {
		spots.At[0] = append(spots.At[0], at(func(i int) float64 { return float64(k >> i & 1) }))
	}
	var all []*Courses
	for _, w := range box {
		all = append(all, new(Courses))
		all[len(all)-1].Find(c, w.leaf, &loose, nil)
	}
	spots.Trust(all)
	all[0].Find(c, box[0].leaf, &loose, spots)
	var others [3]float64
	for i := range others {
		others[i] = r.Float64()
	}
	var xs []float64
	var values []*Calc
	for k := range places {
		others[0] = float64(k) / float64(places-1)
		values = append(values, at(func(i int) float64 { return others[i] }))
		xs = append(xs, box[0].low+(box[0].high-box[0].low)*others[0])
	}
	return all[0], xs, values
}

// TestCourses: what is said of how a quantity goes with a leaf holds at places all over
// wide ranges, wherever other leaves are in theirs, on axes of every kind.
func TestCourses(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 7))
	seen := map[*Quantity]Course{}
	broken := map[*Quantity]bool{}
	for range amount.Of(40000, 3000) {
		c := anAxis(r)
		box := aBox(r, c)
		if box == nil {
			continue
		}
		x, xs, at := courseAt(r, c, box, 13)
		for _, q := range computed {
			if !box[0].leaf.fates.has(q.id) || x.Of(q) == unknown || broken[q] {
				continue
			}
			seen[q] |= x.Of(q)
			if claims(t, q, x.Of(q), xs, at) {
				broken[q] = true
				t.Logf("  over %s of %d, course %b", box[0].leaf.Name, len(box), x.Of(q))
			}
		}
	}
	for _, q := range computed {
		if q.goes != nil && seen[q] == 0 {
			t.Errorf("no course of %s was tried", q.Name)
		}
	}
}
