package rules

import (
	"slices"

	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/rules/tables"
)

// What a designer can change, shared by the rules that offer it as a fix.
var (
	slower        = &judge.Parameter{Leaf: mechanics.MoveSpeed, Words: "speed ≤ %s"}
	longerRamp    = &judge.Parameter{Leaf: mechanics.MoveRamp, Words: "ramp ≥ %s", Up: true}
	gentler       = &judge.Parameter{Leaf: mechanics.MoveAcceleration, Words: "acceleration ≤ %s"}
	longerMove    = &judge.Parameter{Leaf: mechanics.MoveDwell, Words: "dwell ≥ %s", Up: true}
	lessThrust    = &judge.Parameter{Leaf: mechanics.MoveThrust, Words: "thrust ≤ %s"}
	lessPayload   = &judge.Parameter{Leaf: mechanics.MovePayload, Words: "payload ≤ %s"}
	lighter       = &judge.Parameter{Leaf: mechanics.Mass, Words: "mass ≤ %s"}
	shorterSpan   = &judge.Parameter{Leaf: mechanics.Span, Words: "span ≤ %s"}
	longerSpan    = &judge.Parameter{Leaf: mechanics.Span, Words: "span ≥ %s", Up: true}
	longerPush    = &judge.Parameter{Leaf: mechanics.LoadedLengthGiven, Words: "loaded length ≥ %s", Up: true}
	shorterPush   = &judge.Parameter{Leaf: mechanics.LoadedLengthGiven, Words: "loaded length ≤ %s"}
	higherLead    = &judge.Parameter{Leaf: mechanics.Lead, Words: "lead ≥ %s", Up: true, Steps: tables.PreferredLeads}
	lowerLead     = &judge.Parameter{Leaf: mechanics.Lead, Words: "lead ≤ %s", Steps: tables.PreferredLeads}
	thicker       = &judge.Parameter{Leaf: mechanics.RootDiameter, Words: "root diameter ≥ %s", Up: true}
	higherCa      = &judge.Parameter{Leaf: mechanics.DynamicRating, Words: "dynamic rating ≥ %s", Up: true}
	higherC0a     = &judge.Parameter{Leaf: mechanics.StaticRating, Words: "static rating ≥ %s", Up: true}
	lessLife      = &judge.Parameter{Leaf: mechanics.ServiceLife, Words: "service life ≤ %s"}
	fewerHours    = &judge.Parameter{Leaf: mechanics.HoursPerDay, Words: "hours per day ≤ %s"}
	fasterMotor   = &judge.Parameter{Leaf: mechanics.MotorMaxSpeed, Words: "maximum motor speed ≥ %s", Up: true}
	lowerRatio    = &judge.Parameter{Leaf: mechanics.Ratio, Words: "ratio ≤ %s"}
	higherRatio   = &judge.Parameter{Leaf: mechanics.Ratio, Words: "ratio ≥ %s", Up: true}
	lessPreload   = &judge.Parameter{Leaf: mechanics.Preload, Words: "preload ≤ %s"}
	morePreload   = &judge.Parameter{Leaf: mechanics.Preload, Words: "preload ≥ %s", Up: true}
	farFixed      = &judge.Parameter{Leaf: mechanics.FarEnd, Words: "far end fixed", To: mechanics.FixedEnd}
	farHeld       = &judge.Parameter{Leaf: mechanics.FarEnd, Words: "far end supported", To: mechanics.SupportedEnd}
	driveFixed    = &judge.Parameter{Leaf: mechanics.DriveEnd, Words: "drive end fixed", To: mechanics.FixedEnd}
	shorterRamp   = &judge.Parameter{Leaf: mechanics.MoveRamp, Words: "ramp ≤ %s"}
	sharper       = &judge.Parameter{Leaf: mechanics.MoveAcceleration, Words: "acceleration ≥ %s", Up: true}
	regrease      = &judge.Parameter{Leaf: mechanics.RegreaseEvery, Words: "regreasing interval ≤ %s"}
	moreRoom      = &judge.Parameter{Leaf: mechanics.Overtravel, Words: "overtravel ≥ %s", Up: true}
	harderStop    = &judge.Parameter{Leaf: mechanics.EmergencyDecel, Words: "emergency deceleration ≥ %s", Up: true}
	gentleStop    = &judge.Parameter{Leaf: mechanics.EmergencyDecel, Words: "emergency deceleration ≤ %s"}
	longerShaft   = &judge.Parameter{Leaf: mechanics.ShaftLength, Words: "length ≥ %s", Up: true}
	shorterBar    = &judge.Parameter{Leaf: mechanics.ShaftLength, Words: "length ≤ %s"}
	thickerD0     = &judge.Parameter{Leaf: mechanics.NominalDiameter, Words: "nominal diameter ≥ %s", Up: true, Steps: tables.PreferredDiameters}
	moreStroke    = &judge.Parameter{Leaf: mechanics.Stroke, Words: "stroke ≥ %s", Up: true, If: closes}
	moreBrake     = &judge.Parameter{Leaf: mechanics.BrakeGiven, Words: "brake torque on the screw ≥ %s", Up: true, Create: true}
	motorBrake    = &judge.Parameter{Leaf: mechanics.MotorBrake, Words: "holding torque of the motor brake ≥ %s", Up: true}
	balance       = &judge.Parameter{Leaf: mechanics.Counterbalance, Words: "counterbalance ≥ %s", Up: true}
	limitTorque   = &judge.Parameter{Leaf: mechanics.TorqueLimit, Words: "torque limit of the drive ≤ %s", From: mechanics.MotorPeakTorque}
	lessHold      = &judge.Parameter{Leaf: mechanics.MoveHold, Words: "holding force ≤ %s"}
	slowerEnd     = &judge.Parameter{Leaf: mechanics.EndSpeed, Words: "speed against the end ≤ %s"}
	softerEnd     = &judge.Parameter{Leaf: mechanics.EndStiffness, Words: "stiffness of the end ≤ %s"}
	soonerBrake   = &judge.Parameter{Leaf: mechanics.BrakeDelayGiven, Words: "brake delay ≤ %s"}
	soonerStop    = &judge.Parameter{Leaf: mechanics.ReactionTimeGiven, Words: "reaction time ≤ %s"}
	moreTorque    = &judge.Parameter{Leaf: mechanics.MotorTorque, Words: "rated motor torque ≥ %s", Up: true}
	morePeak      = &judge.Parameter{Leaf: mechanics.MotorPeakTorque, Words: "peak motor torque ≥ %s", Up: true}
	moreRotor     = &judge.Parameter{Leaf: mechanics.RotorInertia, Words: "rotor inertia ≥ %s", Up: true}
	strongerCross = &judge.Parameter{Leaf: mechanics.CrossRating, Words: "permitted torque between the screws ≥ %s", Up: true}
	strongerGear  = &judge.Parameter{Leaf: mechanics.GearTorque, Words: "permitted torque of belt or gear ≥ %s", Up: true}
	fasterGear    = &judge.Parameter{Leaf: mechanics.GearSpeedGiven, Words: "permitted speed of belt or gear ≥ %s", Up: true}
	coupler       = &judge.Parameter{Leaf: mechanics.CouplingTorque, Words: "rated torque of the coupling ≥ %s", Up: true}
	cooler        = &judge.Parameter{Leaf: mechanics.TemperatureRise, Words: "temperature rise ≤ %s"}
	stifferNut    = &judge.Parameter{Leaf: mechanics.NutStiffness, Words: "nut stiffness ≥ %s", Up: true}
	stifferEnd    = &judge.Parameter{Leaf: mechanics.DriveSupportStiffness, Words: "bearing stiffness at the driven end ≥ %s", Up: true}
	lessPlay      = &judge.Parameter{Leaf: mechanics.Backlash, Words: "backlash ≤ %s"}
	lessGearPlay  = &judge.Parameter{Leaf: mechanics.GearPlayGiven, Words: "play of belt or gear ≤ %s"}
	lessScatter   = &judge.Parameter{Leaf: mechanics.ScatterGiven, Words: "scatter ≤ %s"}
	finerScale    = &judge.Parameter{Leaf: mechanics.Scale, Words: "accuracy of the scale ≤ %s"}
	stifferLink   = &judge.Parameter{Leaf: mechanics.CouplingTwistGiven, Words: "torsional stiffness of the coupling ≥ %s", Up: true}
	lessFriction  = &judge.Parameter{Leaf: mechanics.Friction, Words: "guide friction ≤ %s"}
	lessDrag      = &judge.Parameter{Leaf: mechanics.Drag, Words: "drag ≤ %s"}
	bearingC      = &judge.Parameter{Leaf: mechanics.DriveSupportDynamic, Words: "dynamic bearing rating at the driven end ≥ %s", Up: true}
	bearingC0     = &judge.Parameter{Leaf: mechanics.DriveSupportStatic, Words: "static bearing rating at the driven end ≥ %s", Up: true}
	lessStretch   = &judge.Parameter{Leaf: mechanics.Stretch, Words: "stretch ≤ %s"}
	lessBandwidth = &judge.Parameter{Leaf: mechanics.Bandwidth, Words: "bandwidth ≤ %s"}
	oneSide       = &judge.Parameter{Leaf: mechanics.Approach, Words: "positions approached from one side", To: mechanics.OneSide}
)

// held are what can be changed of how the shaft is held, mildest first.
var held = []*judge.Parameter{farHeld, farFixed, driveFixed}

// finer are the accuracy grades to go to, mildest first.
var finer = func() []*judge.Parameter {
	var out []*judge.Parameter
	for _, g := range []string{"C7", "C5", "C3", "C1", "C0"} {
		i := slices.Index(mechanics.GradeWords, g)
		out = append(out, &judge.Parameter{Leaf: mechanics.Grade, Words: "grade " + g, To: float64(i), If: func(v *judge.View) bool {
			now, ok := tables.ParseGrade(v.Calc.Word(mechanics.Grade))
			to, _ := tables.ParseGrade(g)
			// A rolled screw is not made finer than C7.
			return ok && to.Number < now.Number && (to.Number >= 7 || v.Calc.Word(mechanics.Process) == "ground")
		}, Group: "grade"})
	}
	return out
}()

// closes reports whether the cycle returns to its start: else how far it reaches
// says nothing about the stroke.
func closes(v *judge.View) bool { return !(v.V(mechanics.CycleOffset) > 1e-6) }

func parameters(groups ...any) []*judge.Parameter {
	var out []*judge.Parameter
	for _, g := range groups {
		switch g := g.(type) {
		case *judge.Parameter:
			out = append(out, g)
		case []*judge.Parameter:
			out = append(out, g...)
		}
	}
	return out
}
