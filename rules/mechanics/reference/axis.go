// Package reference calculates an axis a second time, for tests of the first.
//
// It shares no code, no constant and no table with the product, and works by
// another way where there is one: a cycle is driven in steps of time, a shaft
// is cut into finite elements, life is damage added up. Its constants are
// typed from the standards or handbooks named beside them. Only tests use it.
//
// Everything is in SI units. What is not declared is NaN, or "" for a word.
package reference

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
)

// An Axis is what is declared of an axis. The tag of a field is the path of
// its declaration.
type Axis struct {
	Orientation string  `path:"orientation"` // horizontal, vertical
	Incline     float64 `path:"incline"`

	Mass           float64 `path:"load.mass"`
	MovedMass      float64 `path:"load.moved_mass"`
	CarriedMass    float64 `path:"carried.mass"`
	Friction       float64 `path:"load.friction"`
	Drag           float64 `path:"load.drag"`
	Counterbalance float64 `path:"load.counterbalance"`
	BalanceBy      string  `path:"load.counterbalance_by"` // weight, spring, gas, pneumatic, hydraulic
	RopeRatio      float64 `path:"load.rope_ratio"`
	BalanceKept    float64 `path:"load.counterbalance_cannot_fail"` // 1: it cannot
	Standstill     float64 `path:"load.standstill"`
	Screws         float64 `path:"load.screws"`
	Unevenness     float64 `path:"load.unevenness"`

	Stroke        float64 `path:"motion.stroke"`
	Overtravel    float64 `path:"motion.overtravel"`
	EmergencyStop float64 `path:"motion.emergency_deceleration"`
	ReactionTime  float64 `path:"motion.reaction_time"`
	StopBy        string  `path:"motion.stop_by"` // motor, brake
	EndSpeed      float64 `path:"motion.end_speed"`
	EndStiffness  float64 `path:"motion.end_stiffness"`
	Moves         []Move

	HoursPerDay float64 `path:"duty.hours_per_day"`
	DaysPerYear float64 `path:"duty.days_per_year"`
	ServiceLife float64 `path:"duty.service_life"`
	LifeBasis   string  `path:"duty.life_basis"` // calendar, working
	Shock       string  `path:"duty.shock"`      // smooth, ordinary, shocks
	LoadFactor  float64 `path:"duty.load_factor"`
	Reliability float64 `path:"duty.reliability"`

	NominalDiameter float64 `path:"screw.nominal_diameter"`
	Lead            float64 `path:"screw.lead"`
	RootDiameter    float64 `path:"screw.root_diameter"`
	BallCircle      float64 `path:"screw.ball_circle_diameter"`
	DynamicRating   float64 `path:"screw.dynamic_rating"`
	StaticRating    float64 `path:"screw.static_rating"`
	Hardness        float64 `path:"screw.hardness"`
	GradeFactor     float64 `path:"screw.grade_factor"`
	YieldStrength   float64 `path:"screw.yield_strength"`
	TensileStrength float64 `path:"screw.tensile_strength"`
	ElasticModulus  float64 `path:"screw.elastic_modulus"`
	Density         float64 `path:"screw.density"`
	Expansion       float64 `path:"screw.expansion"`
	ThreadFriction  float64 `path:"screw.friction"`
	Efficiency      float64 `path:"screw.efficiency"`
	ShaftLength     float64 `path:"screw.length"`
	EndLengths      float64 `path:"screw.end_lengths"`
	Grade           string  `path:"screw.grade"`
	Turning         string  `path:"screw.turning"` // shaft, nut

	NutLength    float64 `path:"nut.length"`
	Preload      float64 `path:"nut.preload"`
	Backlash     float64 `path:"nut.backlash"`
	NutStiffness float64 `path:"nut.stiffness"`
	NutInertia   float64 `path:"nut.inertia"`

	NutBearingDynamic float64 `path:"nut.bearing_dynamic_rating"`
	NutBearingStatic  float64 `path:"nut.bearing_static_rating"`

	DriveEnd         string  `path:"supports.drive_end"` // fixed, supported, free
	FarEnd           string  `path:"supports.far_end"`
	DriveAt          string  `path:"supports.drive_at"` // start, end, bottom, top
	Span             float64 `path:"supports.span"`
	LoadedLength     float64 `path:"supports.loaded_length"`
	BucklingEnds     string  `path:"supports.buckling_ends"` // as fixed-supported
	Stretch          float64 `path:"supports.stretch"`
	HousingStiffness float64 `path:"supports.housing_stiffness"`
	DriveStiffness   float64 `path:"drive_support.stiffness"`
	DriveDynamic     float64 `path:"drive_support.dynamic_rating"`
	DriveStatic      float64 `path:"drive_support.static_rating"`
	NutDrag          float64 `path:"nut.drag_torque"`
	DriveDrag        float64 `path:"drive_support.drag_torque"`
	FarStiffness     float64 `path:"far_support.stiffness"`
	FarDynamic       float64 `path:"far_support.dynamic_rating"`
	FarStatic        float64 `path:"far_support.static_rating"`
	FarDrag          float64 `path:"far_support.drag_torque"`

	DriveBore    float64 `path:"drive_support.bore"`
	FarBore      float64 `path:"far_support.bore"`
	CouplingBore float64 `path:"coupling.bore"`

	DriveJournal  float64 `path:"drive_journal.diameter"`
	DriveShoulder string  `path:"drive_journal.shoulder"` // sharp, rounded
	DriveKeyway   string  `path:"drive_journal.keyway"`   // none, end-milled
	DriveGroove   string  `path:"drive_journal.groove"`   // none, ring
	FarJournal    float64 `path:"far_journal.diameter"`
	FarShoulder   string  `path:"far_journal.shoulder"`
	FarGroove     string  `path:"far_journal.groove"`

	BeltPull       float64 `path:"drive.belt_pull"`
	BeltOverhang   float64 `path:"drive.belt_overhang"`
	CouplingTorque float64 `path:"coupling.rated_torque"`

	Ratio           float64 `path:"drive.ratio"`
	MotorScrews     float64 `path:"drive.screws"`
	GearEfficiency  float64 `path:"drive.gear_efficiency"`
	GearInertia     float64 `path:"drive.gear_inertia"`
	Brake           float64 `path:"drive.brake_torque"`
	BrakeDelay      float64 `path:"drive.brake_delay"`
	BrakeSlip       float64 `path:"drive.brake_slip"`
	TorqueLimit     float64 `path:"drive.torque_limit"`
	MotorMaxSpeed   float64 `path:"motor.max_speed"`
	MotorRatedSpeed float64 `path:"motor.rated_speed"`
	MotorPeak       float64 `path:"motor.peak_torque"`
	MotorTop        float64 `path:"motor.torque_at_max_speed"`
	RotorInertia    float64 `path:"motor.rotor_inertia"`
	MotorBrake      float64 `path:"motor.brake_torque"`
	CouplingTwist   float64 `path:"coupling.torsional_stiffness"`
	GearPlay        float64 `path:"drive.backlash"`
	CouplingInertia float64 `path:"coupling.inertia"`
	CouplingPeak    float64 `path:"coupling.max_torque"`
	CouplingSpeed   float64 `path:"coupling.max_speed"`
	GearTorque      float64 `path:"drive.gear_torque"`
	CrossRating     float64 `path:"drive.cross_torque"`
	GearSpeed       float64 `path:"drive.gear_speed"`
	DriveSpeed      float64 `path:"drive_support.max_speed"`
	FarSpeed        float64 `path:"far_support.max_speed"`

	EnvironmentMax     float64 `path:"environment.max_temperature"`
	GreaseMax          float64 `path:"grease.max_temperature"`
	EnvironmentCooling float64 `path:"environment.cooling"`
	StabilisedTo       float64 `path:"screw.stabilised_to"`

	Approach        string  `path:"accuracy.approach"` // one-side, both-sides
	Scatter         float64 `path:"accuracy.scatter"`
	Scale           float64 `path:"accuracy.scale"`
	Force           string  `path:"accuracy.force"` // none, process
	TemperatureRise float64 `path:"accuracy.temperature_rise"`
	TransportFactor float64 `path:"accuracy.transport_factor"`
	Case            float64 `path:"assumed.case"` // -1, 0, 1, or not known
	RegreaseEvery   float64 `path:"lubrication.regrease_every"`
}

// A Move is one move of the cycle.
type Move struct {
	Distance     float64 `path:"motion.move.distance"`
	Speed        float64 `path:"motion.move.speed"`
	Ramp         float64 `path:"motion.move.ramp"`
	RampUp       float64 `path:"motion.move.ramp_up"`
	RampDown     float64 `path:"motion.move.ramp_down"`
	Acceleration float64 `path:"motion.move.acceleration"`
	Deceleration float64 `path:"motion.move.deceleration"`
	Thrust       float64 `path:"motion.move.thrust"`
	Hold         float64 `path:"motion.move.hold"`
	Payload      float64 `path:"motion.move.payload"`
	Dwell        float64 `path:"motion.move.dwell"`
}

// Each calls f for every field of the axis with the path of its declaration
// and, for fields of a move, the move's index, else -1. A field is a *float64
// or a *string.
func (a *Axis) Each(f func(path string, move int, field any)) {
	fields := func(v reflect.Value, move int) {
		for i := range v.NumField() {
			if path, ok := v.Type().Field(i).Tag.Lookup("path"); ok {
				f(path, move, v.Field(i).Addr().Interface())
			}
		}
	}
	fields(reflect.ValueOf(a).Elem(), -1)
	for i := range a.Moves {
		fields(reflect.ValueOf(&a.Moves[i]).Elem(), i)
	}
}

// String lists what is declared.
func (a *Axis) String() string {
	var b strings.Builder
	a.Each(func(path string, move int, field any) {
		at := path
		if move >= 0 {
			at = fmt.Sprintf("%s[%d]", path, move)
		}
		switch v := field.(type) {
		case *float64:
			if !math.IsNaN(*v) {
				fmt.Fprintf(&b, "  %s = %.17g\n", at, *v)
			}
		case *string:
			if *v != "" {
				fmt.Fprintf(&b, "  %s = %s\n", at, *v)
			}
		}
	})
	return b.String()
}

// Random draws an axis from the whole range of what can be declared. Lengths
// are drawn in the steps in which people write them, so that edges of bands
// are met. From two axes in five, lines are missing.
func Random(rnd *rand.Rand) *Axis {
	d := draw{rnd}
	a := &Axis{}
	blank(reflect.ValueOf(a).Elem())
	d.load(a)
	d.screw(a)
	d.supports(a)
	d.drive(a)
	d.cycle(a)
	if d.chance(0.4) {
		share := d.log(0.002, 0.2)
		a.Each(func(_ string, _ int, field any) {
			if !d.chance(share) {
				return
			}
			switch v := field.(type) {
			case *float64:
				*v = math.NaN()
			case *string:
				*v = ""
			}
		})
	}
	return a
}

// blank makes every number of a struct NaN.
func blank(v reflect.Value) {
	for i := range v.NumField() {
		if f := v.Field(i); f.Kind() == reflect.Float64 {
			f.SetFloat(math.NaN())
		}
	}
}

type draw struct{ *rand.Rand }

func (d draw) chance(p float64) bool { return d.Float64() < p }

func (d draw) between(lo, hi float64) float64 { return lo + (hi-lo)*d.Float64() }

// log draws evenly over the orders of magnitude.
func (d draw) log(lo, hi float64) float64 { return lo * math.Pow(hi/lo, d.Float64()) }

// mm draws a length in whole or tenth millimetres, in metres.
func (d draw) mm(lo, hi float64) float64 {
	v := d.log(lo, hi)
	if v > 20 {
		return math.Round(v) / 1e3
	}
	return math.Ceil(v*10) / 1e4
}

func (d draw) oneOf(words ...string) string { return words[d.IntN(len(words))] }

func (d draw) numOf(list ...float64) float64 { return list[d.IntN(len(list))] }

// maybe sets a field in some of the axes.
func (d draw) maybe(p float64, field *float64, v float64) {
	if d.chance(p) {
		*field = v
	}
}

func (d draw) load(a *Axis) {
	if d.chance(0.5) {
		a.Orientation = d.oneOf("horizontal", "vertical")
	} else {
		a.Incline = d.numOf(d.between(0, math.Pi/2), math.Pi/4, 0, math.Pi/2)
	}
	d.maybe(0.05, &a.Incline, d.between(0, math.Pi/2))
	a.Mass, a.CarriedMass = d.log(0.5, 2000), 0
	d.maybe(0.3, &a.CarriedMass, d.log(0.5, 500))
	d.maybe(0.2, &a.MovedMass, d.log(0.5, 2500))
	a.Friction = d.numOf(d.log(0.001, 0.5), d.between(0, 0.1), 0)
	d.maybe(0.6, &a.Drag, d.log(1, 1000))
	d.maybe(0.7, &a.Case, d.numOf(-1, 0, 1))
	d.maybe(0.3, &a.Counterbalance, d.between(0, 1.5)*9.81*a.Mass)
	if d.chance(0.8) {
		a.BalanceBy = d.oneOf("weight", "spring", "gas", "pneumatic", "hydraulic")
	}
	d.maybe(0.5, &a.RopeRatio, d.numOf(1, 2, d.between(0.2, 4)))
	d.maybe(0.3, &a.BalanceKept, 1)
	d.maybe(0.35, &a.Standstill, d.log(10, 50e3)*d.numOf(-1, 1))
	a.Screws = 1
	if d.chance(0.3) {
		a.Screws = float64(1 + d.IntN(8))
	}
	if a.Screws > 1 || d.chance(0.1) {
		a.Unevenness = d.between(1, 2)
		d.maybe(0.8, &a.MotorScrews, d.numOf(1, a.Screws))
	}
	a.HoursPerDay, a.DaysPerYear = d.between(1, 24), d.between(1, 366)
	a.ServiceLife = d.between(0.5, 30) * year
	if d.chance(0.3) {
		a.LifeBasis = d.oneOf("calendar", "working")
	}
	if d.chance(0.7) {
		a.Shock = d.oneOf("smooth", "ordinary", "shocks")
	}
	if a.Shock == "" || d.chance(0.1) {
		a.LoadFactor = d.between(1, 5)
	}
	a.Reliability = d.numOf(0.9, 0.9, 0.95, 0.96, 0.97, 0.98, 0.99, d.between(0.9, 0.99))
	a.RegreaseEvery = d.between(0.01, 2) * year
}

func (d draw) screw(a *Axis) {
	a.NominalDiameter = d.mm(6, 125)
	a.Lead = d.numOf(0.001, 0.0025, 0.005, 0.01, 0.016, 0.02, 0.025, 0.04, d.mm(1, 100))
	a.RootDiameter = a.NominalDiameter * d.between(0.65, 0.95)
	d.maybe(0.7, &a.BallCircle, a.NominalDiameter*d.between(1, 1.08))
	a.DynamicRating, a.StaticRating = d.log(500, 300e3), d.log(1e3, 900e3)
	a.Hardness = d.numOf(58, 60, 62, 68, 70, 56, 54, 50, 45, 40)
	d.maybe(0.1, &a.Hardness, d.between(40, 70))
	d.maybe(0.3, &a.GradeFactor, d.between(0.3, 1))
	a.TensileStrength = d.between(250e6, 2000e6)
	a.YieldStrength, a.ElasticModulus = d.between(150e6, 1500e6), d.between(70e9, 220e9)
	if known(a.Case) && d.chance(0.5) {
		a.YieldStrength = unknown
	}
	a.Density, a.Expansion = d.between(2600, 8500), d.between(5e-6, 25e-6)
	a.ThreadFriction = d.numOf(d.between(0.002, 0.01), d.log(0.002, 0.2))
	if known(a.Case) && d.chance(0.5) {
		a.ThreadFriction = unknown
	}
	d.maybe(0.4, &a.Efficiency, d.between(0.2, 1))
	a.Stroke = d.mm(20, 4000)
	if d.chance(0.2) { // the edges of the bands, and just beyond
		a.Stroke = (d.numOf(100, 200, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000) + d.numOf(0, 0, 0.01)) / 1e3
	}
	a.ShaftLength, a.EndLengths = a.Stroke+d.mm(50, 800), d.mm(10, 400)
	d.maybe(0.8, &a.Overtravel, d.mm(1, 200))
	a.Grade = d.oneOf("C0", "C1", "C3", "C5", "C7", "C10", "P1", "P3", "P5", "T5", "T7", "T10", "P0", "P2", "P4", "P7", "P10")
	a.Turning = d.oneOf("shaft", "shaft", "nut")
	a.NutLength, a.NutStiffness, a.NutInertia = d.mm(15, 300), d.log(20e6, 5e9), d.log(1e-6, 0.1)
	a.NutBearingDynamic, a.NutBearingStatic = d.log(1e3, 300e3), d.log(1e3, 500e3)
	switch d.IntN(4) {
	case 0, 1:
		a.Preload = a.DynamicRating * d.log(0.005, 0.3)
	case 2:
		a.Backlash = d.between(0, 100e-6)
	default:
		a.Preload, a.Backlash = d.numOf(0, d.log(10, 20e3)), d.between(0, 50e-6)
	}
	d.maybe(0.3, &a.NutDrag, d.log(0.001, 20))
	a.Approach = d.oneOf("one-side", "both-sides")
	a.TemperatureRise = d.numOf(d.between(-50, 100), d.between(0, 10))
	d.maybe(0.7, &a.EnvironmentMax, 273.15+d.numOf(d.between(-20, 100), d.between(0, 260), 120, 150, 175, 200, 250))
	d.maybe(0.6, &a.GreaseMax, 273.15+d.between(60, 300))
	d.maybe(0.5, &a.EnvironmentCooling, d.between(1, 100))
	d.maybe(0.8, &a.StabilisedTo, 273.15+d.between(100, 400))
	d.maybe(0.3, &a.Scale, d.log(0.1e-6, 50e-6))
	d.maybe(0.3, &a.Scatter, d.log(0.1e-6, 50e-6))
	a.Force = d.oneOf("none", "process", "process")
	d.maybe(0.5, &a.CouplingTwist, d.log(1, 1e6))
	d.maybe(0.3, &a.GearPlay, d.between(0, 0.02))
	a.TransportFactor = d.numOf(1, 2, d.between(1, 2))
}

func (d draw) supports(a *Axis) {
	a.DriveEnd, a.FarEnd = d.oneOf("fixed", "fixed", "supported", "free"), d.oneOf("fixed", "supported", "supported", "free")
	if d.chance(0.8) {
		a.DriveAt = d.oneOf("start", "end", "bottom", "top")
	}
	a.Span = a.Stroke + d.mm(20, 800)
	d.maybe(0.4, &a.LoadedLength, a.Span*d.between(0.3, 1))
	if d.chance(0.2) {
		a.BucklingEnds = d.oneOf("fixed-free", "supported-supported", "fixed-supported", "fixed-fixed")
	}
	d.maybe(0.5, &a.Stretch, a.Span*d.numOf(0, d.log(1e-6, 1e-3)))
	d.maybe(0.5, &a.HousingStiffness, d.log(20e6, 5e9))
	a.DriveStiffness, a.FarStiffness = d.log(10e6, 3e9), d.log(10e6, 3e9)
	a.DriveDynamic, a.FarDynamic = d.log(1e3, 200e3), d.log(1e3, 200e3)
	a.DriveStatic, a.FarStatic = d.log(1e3, 400e3), d.log(1e3, 400e3)
	a.DriveBore, a.FarBore = d.mm(4, 100), d.mm(4, 100)
	d.maybe(0.5, &a.CouplingBore, d.mm(4, 100))
	d.maybe(0.5, &a.DriveJournal, d.mm(2, 100))
	d.maybe(0.5, &a.FarJournal, d.mm(2, 100))
	a.DriveShoulder, a.DriveKeyway, a.DriveGroove = d.oneOf("sharp", "rounded"), d.oneOf("none", "end-milled"), d.oneOf("none", "none", "ring")
	a.FarShoulder, a.FarGroove = d.oneOf("sharp", "rounded"), d.oneOf("none", "none", "ring")
	d.maybe(0.5, &a.BeltPull, d.numOf(0, d.log(1, 5e3)))
	d.maybe(0.8, &a.BeltOverhang, d.mm(2, 200))
	d.maybe(0.7, &a.CouplingTorque, d.log(0.1, 500))
	d.maybe(0.5, &a.CouplingPeak, d.log(0.1, 1000))
	d.maybe(0.5, &a.CouplingSpeed, d.between(50, 2000))
	d.maybe(0.5, &a.GearTorque, d.log(0.1, 5000))
	d.maybe(0.5, &a.CrossRating, d.log(0.1, 5000))
	d.maybe(0.5, &a.GearSpeed, d.between(50, 2000))
	d.maybe(0.5, &a.DriveSpeed, d.between(50, 2000))
	d.maybe(0.5, &a.FarSpeed, d.between(50, 2000))
	d.maybe(0.5, &a.DriveDrag, d.log(0.001, 2))
	d.maybe(0.5, &a.FarDrag, d.log(0.001, 2))
}

func (d draw) drive(a *Axis) {
	a.Ratio = d.numOf(1, 1, 2, d.log(0.1, 20))
	d.maybe(0.5, &a.GearEfficiency, d.between(0.3, 1))
	d.maybe(0.5, &a.GearInertia, d.log(1e-7, 0.01))
	d.maybe(0.3, &a.Brake, d.log(0.1, 200))
	d.maybe(0.5, &a.MotorBrake, d.log(0.1, 100))
	d.maybe(0.5, &a.CouplingInertia, d.log(1e-7, 0.01))
	a.RotorInertia, a.MotorPeak = d.log(1e-6, 0.02), d.log(0.1, 300)
	a.MotorMaxSpeed = d.between(500, 8000) * 2 * math.Pi / 60
	if d.chance(0.7) {
		a.MotorRatedSpeed, a.MotorTop = a.MotorMaxSpeed*d.between(0.2, 1.1), a.MotorPeak*d.between(0.1, 1.2)
	}
	d.maybe(0.7, &a.EmergencyStop, d.log(0.2, 60))
	d.maybe(0.5, &a.ReactionTime, d.between(0, 0.3))
	if d.chance(0.8) {
		a.StopBy = d.oneOf("motor", "brake")
	}
	a.BrakeDelay, a.BrakeSlip = d.between(0, 0.3), d.between(0.3, 1)
	d.maybe(0.3, &a.TorqueLimit, a.MotorPeak*d.between(0.2, 1.5))
	d.maybe(0.5, &a.EndSpeed, d.numOf(0, d.log(1e-3, 1)))
	d.maybe(0.5, &a.EndStiffness, d.log(1e6, 1e9))
}

func (d draw) cycle(a *Axis) {
	n := 1 + d.IntN(8)
	if d.chance(0.01) {
		n = 0
	}
	closed, at := d.chance(0.5), 0.0
	for i := range n {
		m := Move{}
		blank(reflect.ValueOf(&m).Elem())
		m.Distance = d.mm(0.2, 2500) * d.numOf(-1, 1)
		switch {
		case d.chance(0.02):
			m.Distance = 0
		case closed && i == n-1 && i > 0:
			m.Distance = -at
		}
		m.Speed = d.log(0.002, 3)
		switch d.IntN(8) {
		case 0, 1:
			m.Ramp = d.log(0.005, 2)
		case 2, 3:
			m.RampUp, m.RampDown = d.log(0.005, 2), d.log(0.005, 2)
		case 4:
			m.Acceleration = d.log(0.05, 50)
		case 5, 6:
			m.Acceleration, m.Deceleration = d.log(0.05, 50), d.log(0.05, 50)
		default: // several ways at once: the nearer one counts
			d.maybe(0.5, &m.Ramp, d.log(0.005, 2))
			d.maybe(0.5, &m.RampUp, d.log(0.005, 2))
			d.maybe(0.5, &m.RampDown, d.log(0.005, 2))
			d.maybe(0.5, &m.Acceleration, d.log(0.05, 50))
			d.maybe(0.5, &m.Deceleration, d.log(0.05, 50))
		}
		if up, down := m.rates(); known(up+down) && d.chance(0.02) { // just long enough for its speed
			m.Distance = math.Copysign(m.Speed*m.Speed/2*(1/up+1/down), m.Distance)
		}
		d.maybe(0.5, &m.Thrust, d.log(1, 20e3)*d.numOf(-1, 1))
		d.maybe(0.8, &m.Hold, d.log(1, 20e3)*d.numOf(-1, 0, 1))
		d.maybe(0.4, &m.Payload, d.log(0.1, 500))
		d.maybe(0.6, &m.Dwell, d.log(0.01, 20))
		at += m.Distance
		a.Moves = append(a.Moves, m)
	}
}
