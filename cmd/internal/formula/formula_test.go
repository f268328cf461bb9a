package formula

import (
	"cmp"
	"encoding/csv"
	"encoding/xml"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"unicode/utf8"

	"trammel/rules/mechanics"
	"trammel/spec/amount"
	"trammel/spec/unit"
)

func computed() []*mechanics.Quantity {
	var out []*mechanics.Quantity
	for _, q := range mechanics.All() {
		if !q.Leaf() {
			out = append(out, q)
		}
	}
	return out
}

// TestEveryFormulaIsComputable: no formula is prose, neither the one of the
// reference nor the case in force for any axis of the fixtures or a random one.
// What they give is held in TestNumbersPutIn.
func TestEveryFormulaIsComputable(t *testing.T) {
	bad, seen := map[string]bool{}, map[string]bool{}
	look := func(q *mechanics.Quantity, f string) {
		if seen[q.Name+": "+f] {
			return
		}
		seen[q.Name+": "+f] = true
		n := Parse(f)
		switch {
		case n == nil:
			bad[q.Name+": "+f] = true
		case !saysTheSame(n, nil):
			t.Errorf("%s: the HTML of %s is not well formed or says something else: %s", q.Name, f, n.HTML(nil, nil))
		case n.op == "where":
			holdNames(t, q, n)
		}
	}
	for _, q := range computed() {
		look(q, q.Formula)
	}
	for _, c := range someAxes(t, amount.Of(400, 80)) {
		for _, q := range computed() {
			look(q, c.FormulaFor(q))
		}
	}
	for f := range bad {
		t.Error("cannot be worked out:", f)
	}
}

// holdNames: a formula's own names are none of what it is made of, each is used, and
// with as many arguments as it has.
func holdNames(t *testing.T, q *mechanics.Quantity, n *Node) {
	t.Helper()
	for _, d := range n.kids[1:] {
		head, used := d.kids[0], 0
		for _, name := range append([]*Node{head}, head.kids...) {
			if slices.ContainsFunc(append(slices.Clone(q.Needs), q.May...), func(x *mechanics.Quantity) bool { return x.Symbol == name.text }) {
				t.Errorf("%s: %s is a quantity's symbol", q.Name, name.text)
			}
		}
		n.each(func(k *Node) {
			if k != head && k.op == head.op && k.text == head.text && len(k.kids) == len(head.kids) {
				used++
			} else if k.text == head.text && (k.op == "sym" || k.op == "call") && k != head {
				t.Errorf("%s: %s is not %s", q.Name, k.Text(nil), head.Text(nil))
			}
		})
		if used == 0 {
			t.Errorf("%s: %s is not used", q.Name, head.Text(nil))
		}
	}
}

// each calls f for every node of a formula.
func (n *Node) each(f func(*Node)) {
	f(n)
	for _, k := range n.kids {
		k.each(f)
	}
}

// saysTheSame reports that a formula's HTML is well-formed and reads as its text but for
// brackets, which raised exponents do without.
func saysTheSame(n *Node, values map[string]string) bool {
	var b strings.Builder
	d := xml.NewDecoder(strings.NewReader("<r>" + n.HTML(values, map[string]bool{"a": true}) + "</r>"))
	for {
		t, err := d.Token()
		switch t := t.(type) {
		case xml.CharData:
			b.Write(t)
		case xml.StartElement:
			b.WriteString(map[string]string{"sub": "_", "sup": "^"}[t.Name.Local])
		}
		if err == io.EOF {
			break
		} else if err != nil {
			return false
		}
	}
	bare := strings.NewReplacer("(", "", ")", "", "\u00a0", " ").Replace
	return bare(b.String()) == bare(n.Last().Text(values))
}

// TestWrittenFormulaMeansTheSame reads a formula again after it was written.
func TestWrittenFormulaMeansTheSame(t *testing.T) {
	seen := map[string]bool{}
	for i, c := range someAxes(t, amount.Of(100, 30)) {
		for _, q := range computed() {
			f := c.FormulaFor(q)
			if i == 0 {
				f = q.Formula
			}
			if seen[f] {
				continue
			}
			seen[f] = true
			n := Parse(f)
			if n == nil || n.op == "=" {
				continue
			}
			once := n.Text(nil)
			again := Parse(once)
			if again == nil {
				t.Fatalf("%s: %s is written as %s, which does not parse", q.Name, c.FormulaFor(q), once)
			}
			if again.Text(nil) != once {
				t.Fatalf("%s: %s is written as %s, and that as %s", q.Name, c.FormulaFor(q), once, again.Text(nil))
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
	out, next := slices.Clone(base), randomAxis(base)
	for range n {
		out = append(out, next())
	}
	return out
}

// randomAxis makes one random axis after the other.
func randomAxis(base []*mechanics.Calc) func() *mechanics.Calc {
	rnd := rand.New(rand.NewPCG(1, 2))
	return func() *mechanics.Calc {
		c := mechanics.NewCalc()
		c.CopyFrom(base[rnd.IntN(len(base))])
		for _, q := range mechanics.All() {
			switch {
			case !q.Leaf():
			case q.Shape == mechanics.PerMove:
				for i := range c.Moves() {
					x := c.Series(q)[i] * (0.5 + rnd.Float64())
					if q == mechanics.MoveDistance && rnd.IntN(20) == 0 {
						x = 0 // a move that only waits
					}
					c.SetMove(q, i, x)
				}
			case q == mechanics.Case:
				c.Set(q, float64(rnd.IntN(3)-1))
			case (q == mechanics.DriveJournalGiven || q == mechanics.FarJournalGiven) && rnd.IntN(2) == 0:
				c.Set(q, 0.008+0.07*rnd.Float64())
			case (q == mechanics.EnvironmentMax || q == mechanics.StabilisedTo) && rnd.IntN(2) == 0:
				c.Set(q, 300+230*rnd.Float64())
			case q == mechanics.Ratio && rnd.IntN(2) == 0:
				c.Set(q, 1)
			case q == mechanics.GearEfficiencyGiven || q == mechanics.EfficiencyGiven: // above 1 it is no efficiency, and not read
				if c.Set(q, math.NaN()); rnd.IntN(2) == 0 {
					c.Set(q, 0.7+0.3*rnd.Float64())
				}
			case rnd.IntN(12) == 0, slices.ContainsFunc(mechanics.Assumptions(), func(a *mechanics.Assumption) bool { return a.Leaf == q }) && rnd.IntN(2) == 0:
				c.Set(q, math.NaN())
			case len(q.Words) > 0:
				if rnd.IntN(3) == 0 {
					c.Set(q, float64(rnd.IntN(len(q.Words))))
				}
			case q == mechanics.Screws:
				c.Set(q, float64(1+rnd.IntN(3)))
			case q == mechanics.Reliability:
				c.Set(q, []float64{0.9, 0.93, 0.95, 0.96, 0.97, 0.98, 0.99}[rnd.IntN(7)])
			case q == mechanics.TemperatureRise:
				c.Set(q, 60*rnd.Float64()-20)
			case q == mechanics.DriveSupportStiffness || q == mechanics.FarSupportStiffness:
				c.Set(q, 1e7*math.Pow(300, rnd.Float64())) // equal ones, and very unequal ones
			case q == mechanics.Hardness:
				c.Set(q, 40+30*rnd.Float64())
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
		return c
	}
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

// TestNumbersPutIn works the formulas out: what a reader gets who puts the
// numbers in must be what the code computes, by the formula of the reference and
// by the case in force. Rotation speeds are counted in revolutions and calendar
// spans in years, as the formulas count them.
func TestNumbersPutIn(t *testing.T) {
	compared, wrong := map[string]int{}, map[string]int{}
	general, taken, parsed := map[*mechanics.Quantity]*Node{}, map[*Node]bool{}, map[string]*Node{}
	for _, q := range computed() {
		general[q] = Parse(q.Formula)
	}
	compare := func(c *mechanics.Calc, list []*mechanics.Quantity) {
		for _, q := range list {
			if !c.Known(q) {
				continue
			}
			forms := []string{q.Formula}
			if f := c.FormulaFor(q); f != q.Formula {
				forms = append(forms, f)
			}
			for _, f := range forms {
				n := general[q]
				if f != q.Formula {
					if _, had := parsed[f]; !had {
						parsed[f] = Parse(f)
					}
					n = parsed[f]
				}
				if n == nil {
					continue // TestEveryFormulaIsComputable says so
				}
				e := evaluator{c: c, q: q, index: -1, general: f == q.Formula, taken: taken}
				got := e.all(n)
				for j, want := range values(c, q) {
					if got[j] != got[j] {
						t.Fatalf("%s = %s has no value", q.Name, f)
					}
					compared[f]++
					e.rest = true
					if !same(got[j], want) && !same(e.all(n)[j], want) {
						if wrong[f]++; wrong[f] == 1 {
							t.Errorf("%s = %s gives %.12g, the code %.12g", q.Name, f, got[j], want)
						}
					}
				}
			}
		}
	}
	for _, c := range someAxes(t, amount.Of(4000, 1000)) {
		compare(c, computed())
	}
	// What no axis has met yet is looked for until one does, whatever the draws are.
	open := func(q *mechanics.Quantity) bool {
		return compared[q.Formula] == 0 || general[q] != nil && len(untaken(general[q], taken)) > 0
	}
	base, err := calcs()
	if err != nil {
		t.Fatal(err)
	}
	next, left := randomAxis(base), computed()
	for range 100_000 {
		if left = slices.DeleteFunc(left, func(q *mechanics.Quantity) bool { return !open(q) }); len(left) == 0 {
			break
		}
		compare(next(), left)
	}
	for f, n := range wrong {
		t.Errorf("%s is wrong in %d of %d", f, n, compared[f])
	}
	for _, q := range computed() {
		if compared[q.Formula] == 0 {
			t.Errorf("%s was never compared", q.Name)
		}
		if general[q] == nil {
			continue
		}
		for _, k := range untaken(general[q], taken) {
			t.Errorf("%s: no axis is one of %s", q.Name, k.Text(nil))
		}
	}
}

// untaken are the cases of a formula that no axis was one of.
func untaken(n *Node, taken map[*Node]bool) (list []*Node) {
	n.each(func(cases *Node) {
		for _, k := range cases.kids {
			if cases.op == "cases" && !taken[k] {
				list = append(list, k)
			}
		}
	})
	return list
}

// same tells whether two ways to a value came to the same but for rounding.
func same(got, want float64) bool {
	return got == want || math.Abs(got-want) <= 1e-9*math.Abs(want)
}

// values are the value or the values of a quantity as its formula counts them.
func values(c *mechanics.Calc, q *mechanics.Quantity) []float64 {
	out := []float64{c.V(q)}
	if q.Shape != mechanics.Scalar {
		out = slices.Clone(c.Series(q))
	}
	for i := range out {
		out[i] = natural(q, out[i])
	}
	return out
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

// An evaluator works out a parsed formula over the values of an axis; what has
// no value is NaN. A formula in general has terms for all that may be declared:
// what is not is left out, which is 1 for a factor and rigid for a stiffness.
type evaluator struct {
	c       *mechanics.Calc
	q       *mechanics.Quantity
	index   int // of the move or phase at hand; -1 outside of any
	shape   mechanics.Shape
	general bool
	taken   map[*Node]bool // cases that were met
	rest    bool           // what rounding leaves of a sum that cancels stays, as the code may leave it
	defs    map[string]*Node
	bound   map[string]float64 // the arguments of the definition at hand
}

// own works out a name that the formula itself gives, in the light of its arguments.
func (e *evaluator) own(n *Node) float64 {
	def := e.defs[n.text]
	bound := map[string]float64{}
	for i, arg := range def.kids[0].kids {
		bound[arg.text] = e.eval(n.kids[i])
	}
	around := e.bound
	e.bound = bound
	defer func() { e.bound = around }()
	return e.eval(def.kids[1])
}

// all works out every value of the quantity.
func (e *evaluator) all(n *Node) []float64 {
	if e.q.Shape == mechanics.Scalar {
		return []float64{e.eval(n)}
	}
	out := make([]float64, len(e.c.Series(e.q)))
	for j := range out {
		e.index, e.shape = j, e.q.Shape
		out[j] = e.eval(n)
	}
	return out
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

// plain is the value of a quantity at the move or phase at hand.
func (e *evaluator) plain(q *mechanics.Quantity) float64 {
	switch {
	case q.Shape == mechanics.Scalar:
		return e.c.V(q)
	case q.Shape == e.shape && e.index >= 0:
		return e.c.Series(q)[e.index]
	case q.Shape == mechanics.PerMove && e.index >= 0:
		return e.c.Series(q)[e.index/mechanics.PhasesPerMove]
	}
	return math.NaN()
}

func (e *evaluator) symbol(s string) float64 {
	switch s {
	case "π":
		return math.Pi
	case "g":
		return mechanics.Gravity
	case "grade": // counts as its number
		n, err := strconv.Atoi(strings.TrimLeft(e.word(s), "CPT"))
		if err != nil {
			return math.NaN()
		}
		return float64(n)
	}
	q := e.quantity(s)
	if q == nil {
		return math.NaN()
	}
	one := e.plain(q)
	if q == mechanics.Unevenness && !(e.c.V(mechanics.Screws) > 1) {
		one = 1 // one screw has no uneven share
	}
	// The case in force leaves out what is not given; a move may have none of it still.
	if one != one && (e.general || q.Shape == mechanics.PerMove) && slices.Contains(e.q.May, q) {
		switch {
		case q == mechanics.Screws || q == mechanics.GearEfficiency || q == mechanics.RopeRatio:
			one = 1
		case q.Kind == unit.Stiffness:
			one = math.Inf(1)
		default:
			one = 0
		}
	}
	return natural(q, one)
}

// word is the word a choice, the two ends together, or the phase at hand is.
func (e *evaluator) word(name string) string {
	switch name {
	case "phase":
		return strings.ReplaceAll(mechanics.Part(e.index%mechanics.PhasesPerMove).String(), " ", "-")
	case "ends":
		ends := []float64{e.c.V(mechanics.DriveEnd), e.c.V(mechanics.FarEnd)}
		slices.Sort(ends) // in the order of the words: fixed, supported, free
		if ends[0] != ends[0] {
			return ""
		}
		return mechanics.DriveEnd.Words[int(ends[0])] + "-" + mechanics.DriveEnd.Words[int(ends[1])]
	}
	for _, q := range mechanics.All() {
		group, last, _ := strings.Cut(q.Name, ".")
		if len(q.Words) > 0 && (name == group && last == "" || name == last || name == group+"_"+last) {
			return e.c.Word(q)
		}
	}
	panic("no choice is named " + name)
}

// holds works out a condition.
func (e *evaluator) holds(n *Node) bool {
	switch n.op {
	case "or":
		return e.holds(n.kids[0]) || e.holds(n.kids[1])
	case "and":
		return e.holds(n.kids[0]) && e.holds(n.kids[1])
	case "is", "is not":
		is := false
		if n.text == "given" {
			x := e.plain(e.quantity(n.kids[0].text))
			is = x == x
		} else {
			is = slices.Contains(strings.Split(n.text, "/"), e.word(n.kids[0].text))
		}
		return is == (n.op == "is")
	case "compare":
		for i, sign := range []rune(n.text) {
			a, b := e.eval(n.kids[i]), e.eval(n.kids[i+1])
			more := 1e-9 * math.Max(math.Abs(a), math.Abs(b)) // of rounding
			if math.IsInf(more, 0) {
				more = 0
			}
			if !map[rune]bool{'<': a < b-more, '≤': a <= b+more, '>': a > b+more, '≥': a >= b-more, '=': math.Abs(a-b) <= more}[sign] {
				return false
			}
		}
		return true
	}
	panic("no condition: " + n.op)
}

// series is the shape of the series a formula holds, Scalar for none.
func (e *evaluator) series(n *Node) mechanics.Shape {
	shape := mechanics.Scalar
	switch def := e.defs[n.text]; {
	case goesOverAll(n):
		return mechanics.Scalar
	case def != nil && (n.op == "sym" || n.op == "call"):
		shape = e.series(def.kids[1])
	case n.op == "sym" && n.text != "π" && n.text != "g":
		if q := e.quantity(n.text); q != nil {
			shape = q.Shape
		}
	}
	for _, k := range n.kids {
		shape = max(shape, e.series(k))
	}
	return shape
}

// goesOverAll reports a sum, or a least or greatest of one thing, which goes over
// all moves or phases whatever stands around it.
func goesOverAll(n *Node) bool {
	return n.op == "Σ" || n.op == "call" && (n.text == "max" || n.text == "min") && len(n.kids) == 1
}

// names reports whether a formula holds the symbol of a quantity.
func (e *evaluator) names(n *Node, q *mechanics.Quantity) bool {
	return n.op == "sym" && n.text == q.Symbol || slices.ContainsFunc(n.kids, func(k *Node) bool { return e.names(k, q) })
}

// over works out a term for every move, or every phase that lasts.
func (e *evaluator) over(n *Node, take func(float64)) bool {
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
		if shape == mechanics.PerMove && e.names(n, mechanics.MovePeakSpeed) && e.c.Series(mechanics.MovePeakSpeed)[j] == 0 {
			continue
		}
		e.index = j
		if x := e.eval(n); x == x { // a case that does not count has none
			take(x)
		}
	}
	e.index = -1
	return true
}

func (e *evaluator) eval(n *Node) float64 {
	if goesOverAll(n) {
		index, shape := e.index, e.shape
		e.index = -1
		defer func() { e.index, e.shape = index, shape }()
	}
	kid := func(i int) float64 { return e.eval(n.kids[i]) }
	switch n.op {
	case "where":
		e.defs = map[string]*Node{}
		for _, d := range n.kids[1:] {
			e.defs[d.kids[0].text] = d
		}
		return kid(0)
	case "num":
		v, err := strconv.ParseFloat(strings.ReplaceAll(n.text, "−", "-"), 64)
		if err != nil {
			panic(err)
		}
		return v
	case "unit":
		return kid(0) * map[string]float64{"mm": 1e-3, "µm": 1e-6, "rpm": 1.0 / 60, "°": math.Pi / 180, "%": 0.01, "N": 1, "MPa": 1e6, "ms": 1e-3}[n.text]
	case "cases":
		for _, k := range n.kids {
			if k.op == "if" && !e.holds(k.kids[1]) {
				continue
			}
			e.taken[k] = true
			if k.op == "if" {
				k = k.kids[0]
			}
			return e.eval(k)
		}
		return math.NaN()
	case "sym":
		if x, ok := e.bound[n.text]; ok {
			return x
		}
		if e.defs[n.text] != nil {
			return e.own(n)
		}
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
			return math.NaN()
		}
		return sum
	case "call":
		return e.call(n)
	}
	panic("no operation: " + n.op)
}

func (e *evaluator) call(n *Node) float64 {
	kid := func(i int) float64 { return e.eval(n.kids[i]) }
	if e.defs[n.text] != nil {
		return e.own(n)
	}
	switch n.text {
	case "sin":
		return right(math.Sin(kid(0)))
	case "cos":
		return right(math.Cos(kid(0)))
	case "tan":
		return math.Tan(kid(0))
	case "arctan":
		return math.Atan(kid(0))
	case "quantile":
		return quantile(kid(0))
	case "HV":
		return mechanics.Vickers(kid(0))
	case "deviation":
		return published(e.word("grade"), "ep", kid(1))
	case "variation":
		return published(e.word("grade"), "vup", kid(1))
	case "spread":
		return published(e.word("grade"), "v300p", 0)
	case "before":
		at, moves := e.index, e.c.Moves()
		for back := 1; back <= moves; back++ {
			if e.index = (at - back + moves) % moves; e.c.Series(mechanics.MoveDistance)[e.index] != 0 {
				break
			}
		}
		x := kid(0)
		e.index = at
		return x
	case "run":
		at := e.index
		sum := 0.0
		for e.index = 0; e.index <= at; e.index++ {
			sum += kid(0)
		}
		e.index = at
		return sum
	}
	out, better := math.Inf(1), math.Min
	if n.text == "max" {
		out, better = math.Inf(-1), math.Max
	}
	for _, k := range n.kids {
		if e.over(k, func(x float64) { out = better(out, x) }) {
			continue
		}
		if x := e.eval(k); x == x || k.op != "cases" { // a case that does not count has none
			out = better(out, x)
		}
	}
	if math.IsInf(out, 0) && len(n.kids) == 1 {
		return 0 // the greatest or the least of nothing
	}
	return out
}

// quantile is found by halving.
func quantile(share float64) float64 {
	lo, hi := -10.0, 10.0
	for range 100 {
		if mid := (lo + hi) / 2; math.Erfc(-mid/math.Sqrt2)/2 < share {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// right lets sine and cosine of a right angle be nothing.
func right(x float64) float64 {
	if math.Abs(x) < 1e-12 {
		return 0
	}
	return x
}

// published looks into the table of travel that testdata/published holds: a
// length of up to and including the end of a band.
func published(grade, quantity string, length float64) float64 {
	grade = cmp.Or(map[string]string{"P0": "P1", "P2": "P3", "P4": "P5", "P7": "T7", "P10": "T10"}[grade], grade) // of no standard: the next coarser
	for _, r := range travelTable() {
		if r[2] != grade || r[3] != quantity {
			continue
		}
		if over, upto := cell(r[4])/1e3, cell(r[5])/1e3; quantity == "v300p" || length > over+1e-9 && length <= upto+1e-9 {
			return cell(r[6]) * 1e-6
		}
	}
	return math.NaN()
}

var travelTable = sync.OnceValue(func() [][]string {
	f, err := os.Open(filepath.Join("..", "..", "..", "testdata", "published", "travel_deviation.csv"))
	if err != nil {
		panic(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		panic(err)
	}
	return rows[1:]
})

func cell(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

// near lets a sum that cancels be nothing, as the code does where it matters.
func (e *evaluator) near(a, b, sum float64) float64 {
	if !e.rest && math.Abs(sum) < 1e-9*math.Max(math.Abs(a), math.Abs(b)) {
		return 0
	}
	return sum
}

func TestParse(t *testing.T) {
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
		{"a if b<c ;−a if b ≤ c<d and e is given;0", "a if b < c; −a if b ≤ c < d and e is given; 0"},
		{"Σ (t_j if phase is not rest)", "Σ (t_j if phase is not rest)"},
		{"min(a if drive_at is start/top or ends is fixed-free, 90°)", "min(a if drive_at is start/top or ends is fixed-free, 90°)"},
		{"25 µm if 315 mm < l_u ≤ 400 mm", "25 µm if 315 mm < l_u ≤ 400 mm"},
		{"(D/1 mm)·(n/1 rpm)", "(D / 1 mm) · (n / 1 rpm)"},
		{"f(a, b)·c where f(x, y) = x/y if c is fixed; x,  c = max(a, b)+1", "f(a, b) · c where f(x, y) = x / y if c is fixed; x, c = max(a, b) + 1"},
	} {
		n := Parse(c.formula)
		if n == nil {
			t.Errorf("%s does not parse", c.formula)
			continue
		}
		if got := n.Text(nil); got != c.want {
			t.Errorf("%s is written %s, expected %s", c.formula, got, c.want)
		}
	}
	for _, f := range []string{"", "the fixed end", "a +", "(a", "a)", "|a", "a ·", "1 2 =", "1.", "1.2.3·a", "٣·a", "√", "Σ", "max(", "a, b",
		"a if", "a if b", "a if b is", "a if b is c/", "a if b <", "a; b", "a if b < c;", "a if b < c or", "if a", "a is b", "a if b < c words", "a fixed",
		"f(a) where", "f(a) where f", "f(a) where f(x) =", "f(a) where f(x+1) = x", "f(a, b) where g(x) = x", "f where f(x) = x", "max(a) where max(x) = x", "a where b = c where d = e",
		"a where (b) = c", "a where b = c,",
	} {
		if n := Parse(f); n != nil {
			t.Errorf("%q parses as %s", f, n.Text(nil))
		}
	}
	deep := strings.Repeat("(", 1000) + "a" + strings.Repeat(")", 1000)
	if n := Parse(deep); n == nil {
		t.Error("deep brackets do not parse")
	}
}

// FuzzParse writes what parses: as text it parses to the same text again,
// as HTML it is well-formed and says the same.
func FuzzParse(f *testing.F) {
	for _, q := range computed() {
		f.Add(q.Formula)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n := Parse(s)
		if n == nil {
			return
		}
		text := n.Text(nil)
		if again := Parse(text); again == nil {
			t.Errorf("%q is written %q, which does not parse", s, text)
		} else if got := again.Text(nil); got != text {
			t.Errorf("%q is written %q, and that %q", s, text, got)
		}
		n.Text(map[string]string{"a": "1 mm"})
		if html := n.HTML(nil, nil); utf8.ValidString(s) && !strings.ContainsAny(s, "\x00\r") && !saysTheSame(n, map[string]string{"a": "1 <mm>"}) {
			t.Errorf("%q is %q as HTML", s, html)
		}
	})
}
