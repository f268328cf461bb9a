package mechanics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// Independent routes by finite elements. Nothing here calls a formula of the
// product except to compare it.

// A beam of Hermite elements: two degrees of freedom a node, deflection and
// slope.
type beam struct {
	n                  int // elements
	length, ei, rhoA   float64
	stiff, mass, geoms *mat.SymDense
}

func newBeam(n int, length, ei, rhoA float64) *beam {
	b := &beam{n: n, length: length, ei: ei, rhoA: rhoA}
	size := 2 * (n + 1)
	b.stiff, b.mass, b.geoms = mat.NewSymDense(size, nil), mat.NewSymDense(size, nil), mat.NewSymDense(size, nil)
	h := length / float64(n)
	k := [4][4]float64{{12, 6 * h, -12, 6 * h}, {6 * h, 4 * h * h, -6 * h, 2 * h * h}, {-12, -6 * h, 12, -6 * h}, {6 * h, 2 * h * h, -6 * h, 4 * h * h}}
	m := [4][4]float64{{156, 22 * h, 54, -13 * h}, {22 * h, 4 * h * h, 13 * h, -3 * h * h}, {54, 13 * h, 156, -22 * h}, {-13 * h, -3 * h * h, -22 * h, 4 * h * h}}
	g := [4][4]float64{{36, 3 * h, -36, 3 * h}, {3 * h, 4 * h * h, -3 * h, -h * h}, {-36, -3 * h, 36, -3 * h}, {3 * h, -h * h, -3 * h, 4 * h * h}}
	for e := range n {
		for i := range 4 {
			for j := i; j < 4; j++ {
				r, c := 2*e+i, 2*e+j
				b.stiff.SetSym(r, c, b.stiff.At(r, c)+ei/(h*h*h)*k[i][j])
				b.mass.SetSym(r, c, b.mass.At(r, c)+rhoA*h/420*m[i][j])
				b.geoms.SetSym(r, c, b.geoms.At(r, c)+g[i][j]/(30*h))
			}
		}
	}
	return b
}

// held lists the degrees of freedom left by the conditions of the two ends.
func (b *beam) held(ends [2]float64) []int {
	fixed := map[int]bool{}
	for i, e := range ends {
		node := i * b.n
		if e != FreeEnd {
			fixed[2*node] = true
		}
		if e == FixedEnd {
			fixed[2*node+1] = true
		}
	}
	var free []int
	for d := range 2 * (b.n + 1) {
		if !fixed[d] {
			free = append(free, d)
		}
	}
	return free
}

func pick(m *mat.SymDense, rows []int) *mat.SymDense {
	out := mat.NewSymDense(len(rows), nil)
	for i, r := range rows {
		for j := i; j < len(rows); j++ {
			out.SetSym(i, j, m.At(r, rows[j]))
		}
	}
	return out
}

// lowestRoot is the least x with K·u = x·B·u: one over the greatest eigenvalue
// of L⁻¹·B·L⁻ᵀ, where K = L·Lᵀ.
func lowestRoot(t testing.TB, k, b *mat.SymDense) float64 {
	t.Helper()
	var ch mat.Cholesky
	if !ch.Factorize(k) {
		t.Fatal("the structure is not held")
	}
	var l mat.TriDense
	ch.LTo(&l)
	var half, full mat.Dense
	if err := half.Solve(&l, b); err != nil {
		t.Fatal(err)
	}
	if err := full.Solve(&l, half.T()); err != nil {
		t.Fatal(err)
	}
	n := k.SymmetricDim()
	sym := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			sym.SetSym(i, j, (full.At(i, j)+full.At(j, i))/2)
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(sym, false) {
		t.Fatal("no eigenvalues")
	}
	v := eig.Values(nil)
	return 1 / v[len(v)-1]
}

var fourEnds = [][2]float64{
	{FixedEnd, FreeEnd}, {SupportedEnd, SupportedEnd}, {FixedEnd, SupportedEnd}, {FixedEnd, FixedEnd},
}

// TestCriticalSpeedByElements: a shaft whirls at the natural frequency of its
// bending. A beam of 24 elements gives it to a few parts in a million.
func TestCriticalSpeedByElements(t *testing.T) {
	for _, s := range []struct{ d, l, e, rho float64 }{
		{21.6 * mm, 1.05, 206e9, 7850}, {34 * mm, 2.6, 200e9, 7700},
	} {
		area, inertia := math.Pi*s.d*s.d/4, math.Pi*s.d*s.d*s.d*s.d/64
		b := newBeam(24, s.l, s.e*inertia, s.rho*area)
		for _, ends := range fourEnds {
			free := b.held(ends)
			omega := math.Sqrt(lowestRoot(t, pick(b.stiff, free), pick(b.mass, free)))
			c := axisOf(vals{DriveEnd: ends[0], FarEnd: ends[1], Span: s.l, RootDiameter: s.d, ElasticModulus: s.e, Density: s.rho})
			within(t, "critical speed", c.V(Critical), omega, 1e-5)
			within(t, "root of the ends", c.V(EndRoot), math.Sqrt(omega*s.l*s.l*math.Sqrt(s.rho*area/(s.e*inertia))), 1e-5)
		}
	}
}

// TestBucklingByElements: the load at which the geometric stiffness takes all
// bending stiffness away.
func TestBucklingByElements(t *testing.T) {
	d, l, e := 21.6*mm, 1.9, 206e9
	b := newBeam(24, l, e*math.Pi*math.Pow(d, 4)/64, 1)
	for _, ends := range fourEnds {
		free := b.held(ends)
		load := lowestRoot(t, pick(b.stiff, free), pick(b.geoms, free))
		// A yield strength so high that Euler holds.
		c := axisOf(vals{DriveEnd: ends[0], FarEnd: ends[1], LoadedLengthGiven: l, Span: 9, RootDiameter: d, ElasticModulus: e, YieldStrength: 1e13})
		within(t, "buckling load", c.V(Buckling), load, 2e-5)
		within(t, "fixity", c.V(BucklingFixity), load*l*l/(math.Pi*math.Pi*b.ei), 2e-5)
	}
}

// root finds a zero of f between lo and hi, where f changes sign.
func root(f func(float64) float64, lo, hi float64) float64 {
	for range 200 {
		mid := (lo + hi) / 2
		if (f(mid) > 0) == (f(lo) > 0) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// TestRootsOfTheEndConditions solves the equations of frequency and of
// stability by bisection.
func TestRootsOfTheEndConditions(t *testing.T) {
	for _, x := range []struct {
		ends [2]float64
		f    func(x float64) float64
		lo   float64
		hi   float64
	}{
		{[2]float64{FixedEnd, FreeEnd}, func(x float64) float64 { return math.Cos(x)*math.Cosh(x) + 1 }, 1, 3},
		{[2]float64{SupportedEnd, SupportedEnd}, math.Sin, 2, 4},
		{[2]float64{FixedEnd, SupportedEnd}, func(x float64) float64 { return math.Sin(x)*math.Cosh(x) - math.Cos(x)*math.Sinh(x) }, 3, 4.5},
		{[2]float64{FixedEnd, FixedEnd}, func(x float64) float64 { return math.Cos(x)*math.Cosh(x) - 1 }, 4, 6},
	} {
		within(t, "λ", Lambda(x.ends[0], x.ends[1]), root(x.f, x.lo, x.hi), 1e-13)
	}
	// tan x = x, without the pole.
	x := root(func(x float64) float64 { return math.Sin(x) - x*math.Cos(x) }, 4, 4.6)
	within(t, "fixity of fixed–supported", Fixity(FixedSupported), x*x/(math.Pi*math.Pi), 1e-9)
}

// springs is a chain of springs between nodes, held to ground by others.
type springs struct{ k *mat.SymDense }

func newSprings(nodes int) *springs { return &springs{mat.NewSymDense(nodes, nil)} }

func (s *springs) join(i, j int, k float64) {
	s.k.SetSym(i, i, s.k.At(i, i)+k)
	s.k.SetSym(j, j, s.k.At(j, j)+k)
	s.k.SetSym(i, j, s.k.At(i, j)-k)
}

func (s *springs) ground(i int, k float64) { s.k.SetSym(i, i, s.k.At(i, i)+k) }

// softest is the least stiffness felt at any of the nodes from lo to hi.
func (s *springs) softest(t testing.TB, lo, hi int) float64 {
	t.Helper()
	var ch mat.Cholesky
	if !ch.Factorize(s.k) {
		t.Fatal("the chain is not held")
	}
	var inv mat.SymDense
	if err := ch.InverseTo(&inv); err != nil {
		t.Fatal(err)
	}
	worst := math.Inf(1)
	for i := lo; i <= hi; i++ {
		worst = math.Min(worst, 1/inv.At(i, i))
	}
	return worst
}

// shaftChain is a shaft of bar elements in bearings of stiffness b1 and b2 (0
// for a bearing that takes no thrust).
func shaftChain(n int, ae, l, b1, b2 float64) *springs {
	s := newSprings(n + 1)
	for i := range n {
		s.join(i, i+1, ae/l*float64(n))
	}
	s.ground(0, b1)
	s.ground(n, b2)
	return s
}

// TestShaftStiffnessByElements searches the nut's worst position on a shaft
// of 200 bars.
func TestShaftStiffnessByElements(t *testing.T) {
	const rigid = 1e15
	d, e, l := 21.6*mm, 206e9, 1.2
	area := math.Pi * d * d / 4
	base := vals{RootDiameter: d, ElasticModulus: e, Span: l, DriveAt: DriveAtStart, DriveEnd: FixedEnd}
	one := axisOf(base.with(vals{FarEnd: SupportedEnd}))
	within(t, "thrust at one end", one.V(ShaftRigidity), shaftChain(200, area*e, l, rigid, 0).softest(t, 0, 200), 1e-5)
	both := axisOf(base.with(vals{FarEnd: FixedEnd}))
	within(t, "thrust at both ends", both.V(ShaftRigidity), shaftChain(200, area*e, l, rigid, rigid).softest(t, 0, 200), 1e-5)
	// With thrust at both ends the nut is softest at mid span, whatever the
	// stretch that may buckle.
	both = axisOf(base.with(vals{FarEnd: FixedEnd, LoadedLengthGiven: 0.7}))
	within(t, "thrust at both ends, loaded length", both.V(ShaftRigidity), shaftChain(200, area*e, l, rigid, rigid).softest(t, 0, 200), 1e-5)
	// The worst place of a shorter loaded stretch is its far end.
	short := axisOf(base.with(vals{FarEnd: FreeEnd, LoadedLengthGiven: 0.9}))
	within(t, "loaded length", short.V(ShaftRigidity), shaftChain(200, area*e, l, rigid, 0).softest(t, 0, 150), 1e-5)
}

// TestAxialStiffnessByElements puts bearings, nut and housing on the shaft of
// bars and searches the worst position again. With unequal bearings it is not
// mid span, and where the search meets an end of the shaft the product may be
// lower, never higher.
func TestAxialStiffnessByElements(t *testing.T) {
	d, e, l := 21.6*mm, 206e9, 1.2
	ae := math.Pi * d * d / 4 * e
	base := vals{
		RootDiameter: d, ElasticModulus: e, Span: l, DriveAt: DriveAtStart,
		DynamicRating: 16e3, Preload: 1600, NutStiffness: 500e6, HousingStiffness: 900e6,
		Mass: 60, CarriedMass: 0, DriveEnd: FixedEnd,
	}
	// A preload of a tenth of the rating leaves 0.8 of the published stiffness.
	const nut, housing = 400e6, 900e6
	for _, x := range []struct {
		b1, b2 float64
		exact  bool
	}{{200e6, 0, true}, {200e6, 200e6, true}, {200e6, 120e6, true}, {90e6, 130e6, true}, {300e6, 30e6, false}} {
		leaves := base.with(vals{FarEnd: SupportedEnd, DriveSupportStiffness: x.b1})
		if x.b2 > 0 {
			leaves = leaves.with(vals{FarEnd: FixedEnd, FarSupportStiffness: x.b2})
		}
		c := axisOf(leaves, aMove{dist: 0.1, speed: 0.1, up: 1, down: 1})
		shaft := shaftChain(300, ae, l, x.b1, x.b2).softest(t, 0, 300)
		want := 1 / (1/shaft + 1/nut + 1/housing)
		got := c.V(Rigidity)
		if x.exact {
			within(t, "axial stiffness", got, want, 2e-5)
		} else if got > want || got < want/2 {
			t.Errorf("axial stiffness %.4g, at the worst position %.4g", got, want)
		}
	}
}

// TestNaturalFrequencyByElements: a mass at the end of bearing, shaft of bars,
// nut and housing, by the eigenvalue of the whole chain.
func TestNaturalFrequencyByElements(t *testing.T) {
	const n = 40
	d, e, l, mass := 21.6*mm, 206e9, 1.2, 75.0
	ae := math.Pi * d * d / 4 * e
	s := newSprings(n + 3)
	s.ground(0, 200e6)
	for i := range n {
		s.join(i, i+1, ae/l*n)
	}
	s.join(n, n+1, 400e6) // nut
	s.join(n+1, n+2, 900e6)
	m := mat.NewSymDense(n+3, nil)
	m.SetSym(n+2, n+2, mass)
	want := math.Sqrt(lowestRoot(t, s.k, m)) / (2 * math.Pi)
	leaves := vals{
		RootDiameter: d, ElasticModulus: e, Span: l, DriveAt: DriveAtEnd, DriveEnd: FixedEnd, FarEnd: SupportedEnd,
		DynamicRating: 16e3, Preload: 1600, NutStiffness: 500e6, HousingStiffness: 900e6, DriveSupportStiffness: 200e6,
		Mass: 50, CarriedMass: 15,
	}
	up := aMove{dist: 0.3, speed: 0.5, up: 5, down: 5, payload: 10}
	back := aMove{dist: -0.3, speed: 0.25, up: 10, down: 2.5}
	c := axisOf(leaves, up, back)
	within(t, "natural frequency", c.V(NaturalFrequency), want, 1e-6)
	// The shortest ramp is 0.25/10 = 0.025 s.
	within(t, "periods in the ramp", c.V(RampPeriods), 0.025*want, 1e-6)
	// Two screws carry the mass side by side.
	two := axisOf(leaves.with(vals{Screws: 2, Unevenness: 1}), up, back)
	within(t, "two screws", two.V(NaturalFrequency), want*math.Sqrt2, 1e-6)
}

// TestThermalByElements: a bar of 60 elements is warmed; its ends are free to
// grow, or stretched apart and held.
func TestThermalByElements(t *testing.T) {
	const n = 60
	d, e, l, alpha := 28*mm, 206e9, 1.0, 11.5e-6
	ae := math.Pi * d * d / 4 * e
	// held returns the pull on the far end that keeps its displacement at
	// delta while the bar is warmed by dT, and the most a point at x of it
	// moves toward the far end relative to the start when dT comes on.
	held := func(delta, dT float64) float64 {
		s := newSprings(n)
		k := ae / l * n
		for i := range n - 1 { // node i is the point (i+1)·h
			s.join(i, i+1, k)
		}
		s.ground(0, k)
		// Forces of thermal strain cancel at inner nodes; the last is prescribed.
		f := mat.NewVecDense(n, nil)
		f.SetVec(n-1, ae*alpha*dT)
		var ch mat.Cholesky
		if !ch.Factorize(s.k) {
			t.Fatal("not held")
		}
		var free, unit, one mat.VecDense
		if err := ch.SolveVecTo(&free, f); err != nil {
			t.Fatal(err)
		}
		one.CloneFromVec(mat.NewVecDense(n, nil))
		one.SetVec(n-1, 1)
		if err := ch.SolveVecTo(&unit, &one); err != nil {
			t.Fatal(err)
		}
		return (delta - free.AtVec(n-1)) / unit.AtVec(n-1)
	}
	leaves := vals{Expansion: alpha, TemperatureRise: 5, Stroke: 0.8, Span: l, RootDiameter: d, ElasticModulus: e, Stretch: 0, DriveEnd: FixedEnd, FarEnd: SupportedEnd}
	c := axisOf(leaves)
	within(t, "growth force", c.V(GrowthForce), -held(0, 5), 1e-9)
	// Growth over the stroke, by adding up millimetres.
	sum := 0.0
	for range 800 {
		sum += alpha * 5 * 1 * mm
	}
	within(t, "thermal growth", c.V(ThermalGrowth), sum, 1e-9)

	both := leaves.with(vals{FarEnd: FixedEnd, Stretch: 30e-6})
	c = axisOf(both)
	within(t, "stretch force", c.V(StretchForce), held(30e-6, 0), 1e-9)
	within(t, "growth force after stretch", c.V(GrowthForce), -held(30e-6, 5), 1e-9)
	// The stretch takes up 30 of the 57.5 µm over the span, and as much of
	// the stroke's share: (57.5 − 30)·0.8 = 22 µm.
	within(t, "thermal growth after stretch", c.V(ThermalGrowth), 22e-6, 1e-9)
	// A stretch of 80 µm takes up all.
	c = axisOf(both.with(vals{Stretch: 80e-6}))
	within(t, "growth taken up", c.V(ThermalGrowth), 0, 0)
	within(t, "force taken up", c.V(GrowthForce), 0, 0)
	// A shaft cooler than the machine is as wrong as a warmer one, and pulls at
	// two fixed ends more than the stretch did.
	c = axisOf(both.with(vals{Stretch: 30e-6, TemperatureRise: -5}))
	within(t, "pull of a cold shaft", c.V(GrowthForce), held(30e-6, -5), 1e-9)
	cold := axisOf(leaves.with(vals{TemperatureRise: -5}))
	within(t, "shrinkage", cold.V(ThermalGrowth), sum, 1e-9)
	// A stretch is nothing to a shaft with a loose end.
	loose := axisOf(leaves.with(vals{Stretch: 30e-6}))
	within(t, "stretch with a loose end", loose.V(ThermalGrowth), sum, 1e-9)
}

// TestVonMises takes the equivalent stress from the principal stresses of
// tension with torsion.
func TestVonMises(t *testing.T) {
	f, torque, d := 6400.0, 23.0, 21.6*mm
	sigma := f / (math.Pi * d * d / 4)
	tau := torque * (d / 2) / (math.Pi * math.Pow(d, 4) / 32) // torque · radius over polar moment
	var eig mat.EigenSym
	if !eig.Factorize(mat.NewSymDense(3, []float64{sigma, tau, 0, tau, 0, 0, 0, 0, 0}), false) {
		t.Fatal("no principal stresses")
	}
	p := eig.Values(nil)
	want := math.Sqrt(((p[0]-p[1])*(p[0]-p[1]) + (p[1]-p[2])*(p[1]-p[2]) + (p[2]-p[0])*(p[2]-p[0])) / 2)
	within(t, "equivalent stress", CombinedStress(f, torque, d), want, 1e-12)
}

// TestThreadByForcePolygon: a block on an incline, pushed up by a horizontal
// force and held down by the axial one, with friction. The two equations of
// equilibrium are solved for the normal and the horizontal force.
func TestThreadByForcePolygon(t *testing.T) {
	lead, dm, f := 10*mm, 25.8*mm, 5000.0
	for _, mu := range []float64{0.002, 0.003, 0.01, 0.1, 0.3} {
		phi := math.Atan2(lead, math.Pi*dm)
		sin, cos := math.Sincos(phi)
		torque := func(mu float64) float64 {
			var x mat.VecDense
			a := mat.NewDense(2, 2, []float64{cos - mu*sin, 0, -(sin + mu*cos), 1})
			if err := x.SolveVec(a, mat.NewVecDense(2, []float64{f, 0})); err != nil {
				t.Fatal(err)
			}
			return x.AtVec(1) * dm / 2
		}
		c := axisOf(vals{Lead: lead, BallCircleGiven: dm, ThreadFriction: mu})
		within(t, "lead angle", c.V(LeadAngle), phi, 1e-12)
		eta, back := DrivingEfficiency(c.V(LeadAngle), mu), c.V(BackEfficiency)
		within(t, "driving torque", ThreadTorque(f, lead, eta, back), torque(mu), 1e-9)
		within(t, "efficiency", c.V(Efficiency), math.Min(0.9, f*lead/(2*math.Pi)/torque(mu)), 1e-9)
		// Lowering turns the friction round.
		lower := torque(-mu)
		within(t, "back-driving efficiency", back, lower/(f*lead/(2*math.Pi)), 1e-9)
		within(t, "load drives", ThreadTorque(-f, lead, eta, back), -math.Max(0, lower), 1e-9)
	}
}

// TestInertiaByIntegration sums r²·dm over shells and slices, and gets the
// inertia at the motor from the kinetic energy of all that moves.
func TestInertiaByIntegration(t *testing.T) {
	rho, d, l := 7850.0, 25*mm, 1.2
	const n = 4000
	j := 0.0
	for i := range n {
		r, dr := (float64(i)+0.5)/n*d/2, d/2/n
		j += r * r * rho * 2 * math.Pi * r * dr * l
	}
	within(t, "cylinder", CylinderInertia(rho, d, l), j, 1e-6)
	leaves := vals{
		Density: rho, NominalDiameter: d, ShaftLength: l, Turning: ShaftTurns, CouplingInertia: 1e-5, NutInertia: 3e-4,
		Mass: 50, CarriedMass: 12, Lead: 20 * mm, Ratio: 3, GearInertia: 2e-5, RotorInertia: 8e-5, Screws: 2, MotorScrewsGiven: 1,
	}
	c := axisOf(leaves, aMove{dist: 0.3, speed: 0.5, up: 5, down: 5, payload: 10})
	within(t, "shaft", c.V(ShaftInertia), j, 1e-6)
	within(t, "turning", c.V(TurningInertia), j+1e-5, 1e-6)
	// Motor at 1 rad/s: screw at 1/3 rad/s, half the mass of 72 kg for each
	// screw at 20 mm/(2π)/3.
	energy := 0.5*2e-5 + 0.5*(j+1e-5)/9 + 0.5*36*math.Pow(20*mm/(2*math.Pi)/3, 2)
	within(t, "load inertia", c.V(LoadInertia), 2*energy, 1e-6)
	within(t, "inertia ratio", c.V(InertiaRatio), 2*energy/8e-5, 1e-6)
	// Both screws on one motor: it moves two screws and the whole mass, but one
	// gear.
	both := axisOf(leaves.with(vals{MotorScrewsGiven: 2}), aMove{dist: 0.3, speed: 0.5, up: 5, down: 5, payload: 10})
	energy = 0.5*2e-5 + 2*0.5*(j+1e-5)/9 + 0.5*72*math.Pow(20*mm/(2*math.Pi)/3, 2)
	within(t, "load inertia of both screws", both.V(LoadInertia), 2*energy, 1e-6)
	nut := axisOf(leaves.with(vals{Turning: NutTurns}))
	within(t, "turning nut", nut.V(TurningInertia), 3e-4+1e-5, 1e-12)
}

// TestSectionByIntegration: area and second moment of the root section by
// adding up strips.
func TestSectionByIntegration(t *testing.T) {
	d := 21.6 * mm
	const n = 200000
	area, second := 0.0, 0.0
	for i := range n {
		y := (float64(i)+0.5)/n*d - d/2
		strip := 2 * math.Sqrt(d*d/4-y*y) * d / n
		area += strip
		second += y * y * strip
	}
	c := axisOf(vals{RootDiameter: d})
	within(t, "area", c.V(RootArea), area, 1e-6)
	within(t, "second moment", c.V(RootMoment), second, 1e-6)
}
