package sheet

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"trammel/rules/mechanics"
	"trammel/spec/unit"
)

// prose are the quantities whose formula is words, on purpose: tables, choices
// between cases, and what a formula would not make plainer. What else is no
// formula is a slip.
var prose = []string{
	"move_acceleration", "move_deceleration", "move_direction", "phase_time", "phase_distance", "phase_top_speed", "phase_acceleration",
	"moving_time", "reach", "shortest_ramp", "incline_angle", "flank_load_plus", "pushed_force", "thrust_side",
	"load_factor", "reliability_factor", "grade_factor", "hardness_factor", "static_hardness_factor",
	"end_root", "buckling_fixity", "dn", "axial_play", "play_part", "travel_deviation", "travel_variation",
	"phase_screw_torque", "phase_motor_torque", "torque_share", "screws_per_motor", "drag_torque", "holding_safety",
	"stop_means", "stop_torque_available", "standing_thrust", "brake_deceleration", "stop_torque", "reachable_deceleration", "fall_acceleration",
	"stop_screw_torque", "standing_torque", "standing_time", "run_on_distance",
}

// never are formulas that must never fall back to words where they are known:
// those an engineer follows with a calculator.
var never = []string{
	"efficiency", "ball_circle_diameter", "moved_mass", "loaded_length", "buckling_load", "shaft_stiffness", "nut_stiffness",
	"bearing_stiffness", "turning_inertia", "thermal_growth", "growth_force", "support_load", "support_dynamic_rating",
	"support_static_rating", "support_static_safety", "emergency_force", "self_motion", "standing_force", "load_inertia", "lost_motion",
}

func computed() []*mechanics.Quantity {
	var out []*mechanics.Quantity
	for _, q := range mechanics.All() {
		if !q.Leaf() {
			out = append(out, q)
		}
	}
	return out
}

// TestEveryFormulaParses holds that a formula is either readable as one or
// words on purpose, for every axis of the fixtures and for random ones.
func TestEveryFormulaParses(t *testing.T) {
	seen := map[string]bool{}
	bad := map[string]bool{}
	for _, c := range someAxes(t, 400) {
		for _, q := range computed() {
			f := c.FormulaFor(q)
			n := parseFormula(f)
			if n == nil && !slices.Contains(prose, q.Name) && q.Formula != f {
				bad[q.Name+": "+f] = true
			}
			if n == nil && slices.Contains(never, q.Name) && c.Known(q) {
				bad[q.Name+": "+f] = true
			}
			if n == nil {
				seen[q.Name] = true
				continue
			}
			if !wellFormed(n.mathML(nil)) {
				t.Errorf("%s: the MathML of %s is not well formed: %s", q.Name, f, n.mathML(nil))
			}
		}
	}
	for f := range bad {
		t.Error("neither a formula nor words on purpose:", f)
	}
	for _, n := range prose {
		if !seen[n] {
			t.Errorf("%s is listed as words but always parses", n)
		}
		if mechanics.ByName(n) == nil {
			t.Errorf("%s is no quantity", n)
		}
	}
}

func wellFormed(s string) bool {
	d := xml.NewDecoder(strings.NewReader("<r>" + s + "</r>"))
	for {
		if _, err := d.Token(); err == io.EOF {
			return true
		} else if err != nil {
			return false
		}
	}
}

// TestWrittenFormulaMeansTheSame reads a formula again after it was written.
func TestWrittenFormulaMeansTheSame(t *testing.T) {
	for _, c := range someAxes(t, 100) {
		for _, q := range computed() {
			n := parseFormula(c.FormulaFor(q))
			if n == nil || n.op == "=" {
				continue
			}
			once := n.put(nil)
			again := parseFormula(once)
			if again == nil {
				t.Fatalf("%s: %s is written as %s, which does not parse", q.Name, c.FormulaFor(q), once)
			}
			if again.put(nil) != once {
				t.Fatalf("%s: %s is written as %s, and that as %s", q.Name, c.FormulaFor(q), once, again.put(nil))
			}
		}
	}
}

// someAxes are all axes of the fixtures and n random ones made from them: values
// moved, mixed from several axes, or taken away.
func someAxes(t *testing.T, n int) []*mechanics.Calc {
	t.Helper()
	base, err := calcs()
	if err != nil {
		t.Fatal(err)
	}
	if raceOn {
		n /= 5
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	out := slices.Clone(base)
	for range n {
		c := mechanics.NewCalc()
		c.CopyFrom(base[rnd.IntN(len(base))])
		for _, q := range mechanics.All() {
			switch {
			case !q.Leaf():
			case q.Shape == mechanics.PerMove:
				for i := range c.Moves() {
					c.SetMove(q, i, c.Series(q)[i]*(0.5+rnd.Float64()))
				}
			case rnd.IntN(12) == 0:
				c.Set(q, math.NaN())
			case len(q.Words) > 0:
				if rnd.IntN(3) == 0 {
					c.Set(q, float64(rnd.IntN(len(q.Words))))
				}
			case q == mechanics.Screws:
				c.Set(q, float64(1+rnd.IntN(3)))
			case q == mechanics.Reliability || q == mechanics.Hardness:
			default:
				if v, ok := base[rnd.IntN(len(base))].Value(q); ok {
					c.Set(q, v)
				}
				if v, ok := c.Value(q); ok {
					c.Set(q, v*(0.7+0.6*rnd.Float64()))
				} else if rnd.IntN(2) == 0 {
					c.Set(q, byKind(q.Kind)*(0.5+rnd.Float64()))
				}
			}
		}
		c.Run()
		out = append(out, c)
	}
	return out
}

// byKind is a likely value of a leaf no fixture declares.
func byKind(k unit.Kind) float64 {
	switch k {
	case unit.Length:
		return 1e-4
	case unit.Force:
		return 500
	case unit.Stiffness:
		return 3e8
	case unit.Inertia:
		return 2e-5
	}
	return 1
}

// TestNumbersPutIn works the written formulas out: what a reader gets who puts
// the numbers in must be what the code computes. Rotation speeds are counted
// in revolutions and calendar spans in years, as the formulas count them.
func TestNumbersPutIn(t *testing.T) {
	compared := map[string]int{}
	wrong := map[string]int{}
	for _, c := range someAxes(t, 1500) {
		for _, q := range computed() {
			f := c.FormulaFor(q)
			n := parseFormula(f)
			if n == nil || !c.Known(q) {
				continue
			}
			e := &evaluator{c: c, q: q, index: -1}
			count := 1
			if q.Shape != mechanics.Scalar {
				count = len(c.Series(q))
			}
			for j := range count {
				want := natural(q, c.V(q))
				if q.Shape != mechanics.Scalar {
					e.index, e.shape = j, q.Shape
					want = natural(q, c.Series(q)[j])
					if q.Shape == mechanics.PerPhase && mechanics.Part(j%mechanics.PhasesPerMove) == mechanics.Rest {
						continue // a rest has no friction and no drag
					}
				}
				got := e.eval(n)
				if e.unknown != "" {
					t.Fatalf("%s = %s: %s has no value", q.Name, f, e.unknown)
				}
				compared[q.Name]++
				if !(math.Abs(got-want) <= 1e-9*math.Abs(want)) && got != want {
					if wrong[q.Name]++; wrong[q.Name] == 1 {
						t.Errorf("%s = %s gives %.12g, the code %.12g", q.Name, f, got, want)
					}
				}
			}
		}
	}
	for name, n := range wrong {
		t.Errorf("%s is wrong in %d of %d", name, n, compared[name])
	}
	for _, q := range computed() {
		if compared[q.Name] == 0 && !slices.Contains(prose, q.Name) {
			t.Errorf("%s was never compared", q.Name)
		}
	}
}

// natural gives a value in the unit its formula counts in.
func natural(q *mechanics.Quantity, v float64) float64 {
	switch {
	case q.Kind == unit.RotationSpeed:
		return v / (2 * math.Pi)
	case q.Kind == unit.Span:
		return v / mechanics.Year
	case q.Name == "hours_per_year":
		return v / 3600
	}
	return v
}

// An evaluator works out a parsed formula over the values of an axis.
type evaluator struct {
	c       *mechanics.Calc
	q       *mechanics.Quantity
	index   int // of the move or phase at hand; -1 outside of any
	shape   mechanics.Shape
	unknown string
}

func (e *evaluator) quantity(symbol string) *mechanics.Quantity {
	for _, list := range [][]*mechanics.Quantity{e.q.Needs, e.q.May, mechanics.All()} {
		for _, n := range list {
			if n.Symbol == symbol {
				return n
			}
		}
	}
	return nil
}

func (e *evaluator) symbol(s string) float64 {
	switch s {
	case "π":
		return math.Pi
	case "g":
		return mechanics.Gravity
	}
	q := e.quantity(s)
	if q == nil {
		e.unknown = s
		return 0
	}
	one, z := math.NaN(), e.c.V(mechanics.Screws)
	switch {
	case q == mechanics.Unevenness && !(z > 1):
		one = 1 // one screw has no uneven share
	case q.Shape == mechanics.Scalar:
		one = e.c.V(q)
	case q.Shape == e.shape && e.index >= 0:
		one = e.c.Series(q)[e.index]
	case q.Shape == mechanics.PerMove && e.index >= 0:
		one = e.c.Series(q)[e.index/mechanics.PhasesPerMove]
	}
	if one != one && e.q.Shape != mechanics.Scalar {
		// The formula of a series is not cut down to what is known.
		switch q {
		case mechanics.MovePayload, mechanics.MoveThrust, mechanics.Drag, mechanics.Counterbalance:
			one = 0
		case mechanics.Screws:
			one = 1
		}
	}
	if one != one {
		e.unknown = s
	}
	return natural(q, one)
}

// series is the shape of the series a formula holds, Scalar for none.
func (e *evaluator) series(n *node) mechanics.Shape {
	shape := mechanics.Scalar
	if n.op == "sym" && n.text != "π" && n.text != "g" {
		if q := e.quantity(n.text); q != nil {
			shape = q.Shape
		}
	}
	for _, k := range n.kids {
		shape = max(shape, e.series(k))
	}
	return shape
}

// over works out a term for every move, or every phase that lasts.
func (e *evaluator) over(n *node, take func(float64)) bool {
	shape := e.series(n)
	if shape == mechanics.Scalar || e.index >= 0 {
		return false
	}
	e.shape = shape
	count := e.c.Moves()
	if shape == mechanics.PerPhase {
		count *= mechanics.PhasesPerMove
	}
	for j := range count {
		if shape == mechanics.PerPhase && e.c.Series(mechanics.PhaseTime)[j] == 0 {
			continue
		}
		if shape == mechanics.PerMove && e.c.Known(mechanics.MovePeakSpeed) && e.c.Series(mechanics.MovePeakSpeed)[j] == 0 {
			continue
		}
		e.index = j
		take(e.eval(n))
	}
	e.index = -1
	return true
}

func (e *evaluator) eval(n *node) float64 {
	kid := func(i int) float64 { return e.eval(n.kids[i]) }
	switch n.op {
	case "num":
		v, err := strconv.ParseFloat(strings.ReplaceAll(n.text, "−", "-"), 64)
		if err != nil {
			e.unknown = n.text
		}
		return v
	case "sym":
		return e.symbol(n.text)
	case "=":
		return kid(1)
	case "neg":
		return -kid(0)
	case "+":
		a, b := kid(0), kid(1)
		return e.near(a, b, a+b)
	case "−":
		a, b := kid(0), kid(1)
		return e.near(a, b, a-b)
	case "·", "2π":
		return kid(0) * kid(1)
	case "/":
		return kid(0) / kid(1)
	case "^":
		return math.Pow(kid(0), kid(1))
	case "√":
		return math.Sqrt(kid(0))
	case "()", "[]":
		return kid(0)
	case "||":
		return math.Abs(kid(0))
	case "Σ":
		sum := 0.0
		if !e.over(n.kids[0], func(x float64) { sum = e.near(sum, x, sum+x) }) {
			e.unknown = "Σ"
		}
		return sum
	case "call":
		switch n.text {
		case "sin":
			return math.Sin(kid(0))
		case "cos":
			return math.Cos(kid(0))
		case "tan":
			return math.Tan(kid(0))
		case "arctan":
			return math.Atan(kid(0))
		}
		out, better := math.Inf(1), math.Min
		if n.text == "max" {
			out, better = math.Inf(-1), math.Max
		}
		for _, k := range n.kids {
			if !e.over(k, func(x float64) { out = better(out, x) }) {
				out = better(out, e.eval(k))
			}
		}
		return out
	}
	e.unknown = fmt.Sprint("operation ", n.op)
	return 0
}

// near lets a sum that cancels be nothing: the code does the same.
func (e *evaluator) near(a, b, sum float64) float64 {
	if math.Abs(sum) < 1e-9*math.Max(math.Abs(a), math.Abs(b)) {
		return 0
	}
	return sum
}

func TestParseFormula(t *testing.T) {
	for _, c := range []struct{ formula, want string }{
		{"a/b·c", "a / b · c"},
		{"√(a/b)/2π", "√(a / b) / 2π"},
		{"min(a, b)", "min(a, b)"},
		{"|a − b|·c", "|a − b| · c"},
		{"a^(1/3)", "a^(1/3)"},
		{"cos θ_i·m", "cos(θ_i) · m"},
		{"a²·b", "a² · b"},
		{"a^12·b", "a¹² · b"},
		{"a^1.5·b", "a^1.5 · b"},
	} {
		n := parseFormula(c.formula)
		if n == nil {
			t.Errorf("%s does not parse", c.formula)
			continue
		}
		if got := n.put(nil); got != c.want {
			t.Errorf("%s is written %s, expected %s", c.formula, got, c.want)
		}
	}
	for _, f := range []string{"", "the fixed end", "a +", "(a", "a)", "|a", "a ·", "1 2 =", "1.", "1.2.3·a", "٣·a", "√", "Σ", "max(", "a, b"} {
		if n := parseFormula(f); n != nil {
			t.Errorf("%q parses as %s", f, n.put(nil))
		}
	}
	deep := strings.Repeat("(", 1000) + "a" + strings.Repeat(")", 1000)
	if n := parseFormula(deep); n == nil {
		t.Error("deep brackets do not parse")
	}
}

// FuzzParseFormula writes what parses: as text it parses to the same text again,
// as MathML it is well-formed.
func FuzzParseFormula(f *testing.F) {
	for _, q := range computed() {
		f.Add(q.Formula)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n := parseFormula(s)
		if n == nil {
			return
		}
		text := n.put(nil)
		if again := parseFormula(text); again == nil {
			t.Errorf("%q is written %q, which does not parse", s, text)
		} else if got := again.put(nil); got != text {
			t.Errorf("%q is written %q, and that %q", s, text, got)
		}
		n.put(map[string]string{"a": "1 mm"})
		d := xml.NewDecoder(strings.NewReader("<math>" + n.mathML(map[string]string{"a": "1 <mm>"}) + "</math>"))
		for {
			if _, err := d.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%q: %v in %s", s, err, n.mathML(nil))
			}
		}
	})
}
