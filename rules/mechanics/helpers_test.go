package mechanics

import (
	"encoding/csv"
	"flag"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"trammel/spec/amount"
	"trammel/spec/unit"
)

// TestMain lets the properties draw the same numbers each time, unless everything is
// tried, and in short runs as many as ever: some ask what was met, and rapid takes a
// fifth of the number then.
func TestMain(m *testing.M) {
	flag.Parse()
	given := map[string]bool{}
	flag.Visit(func(f *flag.Flag) { given[f.Name] = true })
	set := func(name, value string) {
		if !given[name] {
			if err := flag.Set(name, value); err != nil {
				panic(err)
			}
		}
	}
	if !amount.All() {
		set("rapid.seed", "1")
	}
	if testing.Short() {
		set("rapid.checks", "500")
	}
	os.Exit(m.Run())
}

const (
	mm  = 1e-3
	rpm = 2 * math.Pi / 60
	deg = math.Pi / 180
)

// reporter is what tests of both kinds can do.
type reporter interface {
	Helper()
	Errorf(format string, args ...any)
}

// within fails unless got is want up to a relative difference.
func within(t reporter, what string, got, want, rel float64) {
	t.Helper()
	if got == want {
		return
	}
	if math.IsInf(got, 0) || !(math.Abs(got-want) <= rel*math.Max(math.Abs(got), math.Abs(want))) {
		t.Errorf("%s is %.10g, expected %.10g within %g", what, got, want, rel)
	}
}

// near fails unless got is want up to an absolute difference.
func near(t reporter, what string, got, want, abs float64) {
	t.Helper()
	if !(math.Abs(got-want) <= abs) {
		t.Errorf("%s is %.10g, expected %.10g ± %g", what, got, want, abs)
	}
}

// vals are the values of scalar leaves, and of leaves that are alike for all
// moves.
type vals map[*Quantity]float64

// aSpring is a counterbalance that moves no mass.
const aSpring = 1

// aMove is a move as the tests write it.
type aMove struct {
	dist, speed     float64
	up, down        float64 // accelerations
	thrust, payload float64
	dwell, hold     float64
}

// axisOf evaluates the graph for some leaves and moves.
func axisOf(leaves vals, moves ...aMove) *Calc {
	c := NewCalc()
	c.Reset(len(moves))
	for i, m := range moves {
		c.SetMove(MoveDistance, i, m.dist)
		c.SetMove(MoveSpeed, i, m.speed)
		c.SetMove(MoveAcceleration, i, m.up)
		c.SetMove(MoveDeceleration, i, m.down)
		c.SetMove(MoveThrust, i, m.thrust)
		c.SetMove(MovePayload, i, m.payload)
		c.SetMove(MoveDwell, i, m.dwell)
		c.SetMove(MoveHold, i, m.hold)
	}
	for q, v := range leaves {
		if !q.Leaf() {
			panic(q.Name + " is computed: a run would write over it")
		}
		if q.Shape == Scalar {
			c.Set(q, v)
			continue
		}
		for i := range moves {
			c.SetMove(q, i, v)
		}
	}
	c.Run()
	return c
}

// with returns the leaves with some changed.
func (v vals) with(changed vals) vals {
	out := vals{}
	for q, x := range v {
		out[q] = x
	}
	for q, x := range changed {
		out[q] = x
	}
	return out
}

// sensible holds a value for every scalar leaf of a realistic lifting axis.
// Leaves added later get a value by their kind.
var sensible = vals{
	Orientation: Vertical, InclineGiven: 0.6,
	Mass: 30, MovedMassGiven: 52, CarriedMass: 20,
	Friction: 0.01, DragGiven: 20, Counterbalance: 150, BalanceKept: 0, RopeRatio: 1.5, Standstill: 500, SideForce: 10, SideMoment: 2,
	Screws: 2, Unevenness: 1.15,
	Stroke: 0.8, Overtravel: 0.03, EmergencyDecel: 8, EndSpeed: 0.02, EndStiffness: 40e6, BrakeDelayGiven: 0.08, BrakeSlipGiven: 0.6, TorqueLimit: 3.5, ReactionTimeGiven: 0.02,
	HoursPerDay: 16, DaysPerYear: 250, ServiceLife: 8 * 31557600, Shock: Ordinary, LoadFactorGiven: 1.3, Reliability: 0.95,
	NominalDiameter: 0.025, Lead: 0.01, RootDiameter: 0.0216, BallCircleGiven: 0.0258,
	DynamicRating: 16e3, StaticRating: 36e3, Hardness: 60, GradeFactorGiven: 0.95,
	YieldStrengthGiven: 550e6, ElasticModulus: 206e9, Density: 7850, Expansion: 11.5e-6,
	ThreadFrictionGiven: 0.003, EfficiencyGiven: 0.92, DNLimit: 100e3, LongestShaft: 3, ShaftLength: 1.2, EndLengths: 0.16,
	Grade: 3, Process: 0, Recirculation: 0, Turning: ShaftTurns,
	NutLength: 0.06, Preload: 800, Backlash: 5e-6, NutStiffness: 400e6, NutInertia: 2e-4,
	DriveEnd: FixedEnd, FarEnd: FixedEnd, DriveAt: DriveAtBottom, Span: 1.05, LoadedLengthGiven: 0.95,
	BucklingEnds: FixedSupported, Stretch: 15e-6, HousingStiffnessGiven: 900e6,
	DriveSupportStiffness: 200e6, DriveSupportDynamic: 22e3, DriveSupportStatic: 30e3, DriveSupportDrag: 0.05,
	FarSupportStiffness: 150e6, FarSupportDynamic: 20e3, FarSupportStatic: 28e3, FarSupportDrag: 0.04,
	Ratio: 2, MotorScrewsGiven: 2, GearEfficiencyGiven: 0.96, GearInertiaGiven: 2e-5, BrakeGiven: 3,
	MotorMaxSpeed: 628, MotorRatedSpeedGiven: 314, MotorTorque: 1.3, MotorPeakTorque: 4, MotorTopTorqueGiven: 2.5,
	RotorInertia: 3e-5, MotorBrake: 1.5, CouplingTorque: 12, CouplingInertia: 1e-5, CouplingTwistGiven: 3000, GearPlayGiven: 1e-3,
	Positioning: 50e-6, Repeatability: 10e-6, Approach: BothSides, Scale: 4e-6, ScatterGiven: 0.7e-6, UnderForce: ProcessForce, TemperatureRise: 4, Bandwidth: 10, TransportFactor: 2,
	RegreaseEvery: 31557600 / 2.0, GreaseMin: 253, GreaseMax: 393, EnvironmentMin: 283, EnvironmentMax: 308,
}

// sensibleMoves is a closed cycle with a triangle, a thrust that helps, and
// payloads. Every way to declare a ramp is given.
var sensibleMoves = map[*Quantity][]float64{
	MoveDistance:     {0.7, -0.3, 0.05, -0.45},
	MoveSpeed:        {0.5, 0.6, 0.5, 0.8},
	MoveRamp:         {0.18, 0.2, 0.15, 0.2},
	MoveRampUp:       {0.15, 0.16, 0.2, 0.25},
	MoveRampDown:     {0.2, 0.22, 0.25, 0.3},
	MoveAcceleration: {3, 3.5, 2.5, 4},
	MoveDeceleration: {4, 3, 3.5, 5},
	MoveHold:         {60, 0, -20, 300},
	MoveThrust:       {80, 0, -30, 15},
	MovePayload:      {10, 10, 0, 4},
	MoveDwell:        {0.3, 0.2, 0, 0.5},
}

// byKind is the value of a leaf that sensible does not name.
func byKind(k unit.Kind) float64 {
	switch k {
	case unit.Length:
		return 0.1
	case unit.Force:
		return 100
	case unit.Temperature:
		return 300
	case unit.Stiffness:
		return 1e8
	case unit.Stress:
		return 1e8
	}
	return 1
}

// sensibleValue is the value of a leaf for a move, or of a scalar one.
func sensibleValue(q *Quantity, move int) float64 {
	if q.Shape == PerMove {
		if s := sensibleMoves[q]; s != nil {
			return s[move%len(s)]
		}
		return byKind(q.Kind)
	}
	if v, ok := sensible[q]; ok {
		return v
	}
	if q.Words != nil {
		return 0
	}
	return byKind(q.Kind)
}

// fullAxis is an axis of which everything is declared; it is not run yet.
func fullAxis(moves int) *Calc {
	c := NewCalc()
	c.Reset(moves)
	for _, q := range All() {
		switch {
		case !q.Leaf():
		case q.Shape == Scalar:
			c.Set(q, sensibleValue(q, 0))
		default:
			for i := range moves {
				c.SetMove(q, i, sensibleValue(q, i))
			}
		}
	}
	return c
}

// table reads a CSV file into records by column name.
func table(t testing.TB, file string) []map[string]string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, r := range rows[1:] {
		m := map[string]string{}
		for i, h := range rows[0] {
			m[h] = r[i]
		}
		out = append(out, m)
	}
	return out
}

// num reads a number that may have thousands separators.
func num(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(strings.ReplaceAll(s, ",", ""), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
