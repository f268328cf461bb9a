package reference

import "math"

// Elements is the number of beam elements of a shaft. The error of the lowest
// root is (k·h)⁴/720 of a buckling load and (k·h)⁴/2880 of a frequency, where h
// is the length of an element and k the wave number: for two fixed ends
// (2π/24)⁴/720 = 7·10⁻⁶.
const elements = 24

const dofs = 2 * (elements + 1) // deflection and slope of each node

// A matrix is symmetric with three diagonals beside the main one: m[i][j] is
// the entry (i, i−j).
type matrix [dofs][4]float64

// assemble adds the matrix of an element up over a shaft.
func assemble(element [4][4]float64) *matrix {
	var m matrix
	for e := range elements {
		for i := range 4 {
			for j := range i + 1 {
				m[2*e+i][i-j] += element[i][j]
			}
		}
	}
	return &m
}

// times is m·x.
func (m *matrix) times(x *[dofs]float64) (y [dofs]float64) {
	for i := range dofs {
		y[i] += m[i][0] * x[i]
		for j := 1; j < 4 && j <= i; j++ {
			y[i] += m[i][j] * x[i-j]
			y[i-j] += m[i][j] * x[i]
		}
	}
	return y
}

// factor splits m into L·D·Lᵀ in place. It is false for a matrix that is not
// positive definite: the shaft is not held.
func (m *matrix) factor() bool {
	for i := range dofs {
		whole := m[i][0]
		for j := min(3, i); j >= 1; j-- {
			k := i - j
			for p := max(0, i-3); p < k; p++ {
				m[i][j] -= m[i][i-p] * m[k][k-p] * m[p][0]
			}
			m[i][j] /= m[k][0]
		}
		for j := 1; j < 4 && j <= i; j++ {
			m[i][0] -= m[i][j] * m[i][j] * m[i-j][0]
		}
		if !(m[i][0] > 1e-9*whole) {
			return false
		}
	}
	return true
}

// solve is x with L·D·Lᵀ·x = y.
func (m *matrix) solve(y [dofs]float64) [dofs]float64 {
	for i := range dofs {
		for j := 1; j < 4 && j <= i; j++ {
			y[i] -= m[i][j] * y[i-j]
		}
	}
	for i := range dofs {
		y[i] /= m[i][0]
	}
	for i := dofs - 1; i >= 0; i-- {
		for j := 1; j < 4 && j <= i; j++ {
			y[i-j] -= m[i][j] * y[i]
		}
	}
	return y
}

// hold takes the degrees of freedom away that an end does not have.
func (m *matrix) hold(node int, end string, pivot float64) {
	drop := func(d int) {
		for j := range 4 {
			m[d][j] = 0
			if d+j < dofs {
				m[d+j][j] = 0
			}
		}
		m[d][0] = pivot
	}
	if end != "free" {
		drop(2 * node)
	}
	if end == "fixed" {
		drop(2*node + 1)
	}
}

// lowest is the least x with K·u = x·B·u for a beam with the given ends, by
// inverse iteration; NaN where the beam is not held.
func lowest(stiff, other *matrix, ends [2]string) float64 {
	for i, e := range ends {
		if e != "fixed" && e != "supported" && e != "free" {
			return unknown
		}
		stiff.hold(i*elements, e, stiff[2][0])
		other.hold(i*elements, e, 0)
	}
	factored := *stiff
	if !factored.factor() {
		return unknown
	}
	var u [dofs]float64
	for i := range u {
		u[i] = math.Sin(float64(i*i + 1)) // any start that has a share of the lowest mode
	}
	last := 0.0
	for range 200 {
		f := other.times(&u)
		u = factored.solve(f)
		bu, ku := other.times(&u), stiff.times(&u)
		top, bottom, size := 0.0, 0.0, 0.0
		for i := range u {
			top += u[i] * ku[i]
			bottom += u[i] * bu[i]
			size = math.Max(size, math.Abs(u[i]))
		}
		x := top / bottom
		for i := range u {
			u[i] /= size
		}
		if math.Abs(x-last) <= 1e-13*x {
			return x
		}
		last = x
	}
	return last
}

// bending is the stiffness of an Euler–Bernoulli shaft of Hermite elements.
func bending(length, ei float64) *matrix {
	h := length / elements
	k := ei / (h * h * h)
	return assemble([4][4]float64{
		{12 * k},
		{6 * h * k, 4 * h * h * k},
		{-12 * k, -6 * h * k, 12 * k},
		{6 * h * k, 2 * h * h * k, -6 * h * k, 4 * h * h * k},
	})
}

// whirl is the lowest natural frequency of bending in rad/s, at which a shaft
// whirls: length in m, bending stiffness in N·m², mass per length in kg/m. A
// push in N takes its geometric stiffness from that of bending; 0 where nothing
// is left.
func whirl(length, ei, mass, push float64, ends [2]string) float64 {
	h := length / elements
	m := mass * h / 420
	consistent := assemble([4][4]float64{
		{156 * m},
		{22 * h * m, 4 * h * h * m},
		{54 * m, 13 * h * m, 156 * m},
		{-13 * h * m, -3 * h * h * m, -22 * h * m, 4 * h * h * m},
	})
	stiff := bending(length, ei)
	if push > 0 {
		for i, row := range geometric(length) {
			for j := range row {
				stiff[i][j] -= push * row[j]
			}
		}
		if x := lowest(stiff, consistent, ends); x > 0 {
			return math.Sqrt(x)
		}
		return 0
	}
	return math.Sqrt(lowest(stiff, consistent, ends))
}

// geometric is the stiffness that a push of 1 N takes away.
func geometric(length float64) *matrix {
	h := length / elements
	g := 1 / (30 * h)
	return assemble([4][4]float64{
		{36 * g},
		{3 * h * g, 4 * h * h * g},
		{-36 * g, -3 * h * g, 36 * g},
		{3 * h * g, -h * h * g, -3 * h * g, 4 * h * h * g},
	})
}

// buckle is the load in N whose geometric stiffness takes the bending
// stiffness of a column away.
func buckle(length, ei float64, ends [2]string) float64 {
	return lowest(bending(length, ei), geometric(length), ends)
}

// bars is the number of bar elements of a shaft under thrust; even, so that
// mid span is a node.
const bars = 40

// flexibilities are the displacements in m/N of each node of a shaft of bar
// elements under a force at that node. ae is the axial stiffness in N, and the
// bearings at its ends have stiffnesses in N/m: 0 takes no thrust, infinity
// does not yield.
func flexibilities(length, ae, start, end float64) (flex [bars + 1]float64) {
	k := ae / length * bars
	rigid := 1e9 * k
	for node := range flex {
		// Thomas's elimination of the chain: each row holds its diagonal and
		// the force on it.
		var diagonal, force [bars + 1]float64
		force[node] = 1
		for i := range diagonal {
			diagonal[i] = 2 * k
		}
		diagonal[0] = k + math.Min(start, rigid)
		diagonal[bars] = k + math.Min(end, rigid)
		for i := 1; i <= bars; i++ {
			w := k / diagonal[i-1]
			diagonal[i] -= w * k
			force[i] += w * force[i-1]
		}
		x := force[bars] / diagonal[bars]
		for i := bars - 1; i >= node; i-- {
			x = (force[i] + k*x) / diagonal[i]
		}
		flex[node] = x
	}
	return flex
}

// worst is the flexibility in m/N at the softest place of a shaft held at both
// ends, and whether that is an end of it: over the places the flexibility is a
// parabola, and where bearings are unequal enough its vertex lies beyond.
func worst(length, ae, start, end float64) (softest float64, off bool) {
	f := flexibilities(length, ae, start, end)
	// Through three nodes: f(x) = f0 + b·x + c·x², x from 0 to 1.
	f0, fm, f1 := f[0], f[bars/2], f[bars]
	c := 2*f0 - 4*fm + 2*f1
	b := f1 - f0 - c
	if x := -b / (2 * c); x < 0 || x > 1 {
		return math.Max(f0, f1), true
	}
	return f0 - b*b/(4*c), false
}

// grown warms a shaft of bars by dT and pulls its far end until the whole is
// longer by stretch; it gives the force in N that this takes, a pull above
// zero. The start is held.
func grown(length, ae, alpha, dT, stretch float64) float64 {
	h := length / bars
	// Each bar is longer by its strain; the force is the same in all. It is
	// found by two trials, since the length is linear in it.
	far := func(pull float64) float64 {
		x := 0.0
		for range bars {
			x += h*alpha*dT + pull*h/ae
		}
		return x
	}
	at0, at1 := far(0), far(ae*1e-6)
	return (stretch - at0) / (at1 - at0) * ae * 1e-6
}
