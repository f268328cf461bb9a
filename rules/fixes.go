package rules

import (
	"slices"

	"trammel/rules/mechanics"
	"trammel/rules/tables"
)

// What a designer can change, shared by the rules that offer it as a fix.
var (
	slower        = &Lever{Leaf: mechanics.MoveSpeed, Words: "speed ≤ %s"}
	longerRamp    = &Lever{Leaf: mechanics.MoveRamp, Words: "ramp ≥ %s", Up: true}
	gentler       = &Lever{Leaf: mechanics.MoveAcceleration, Words: "acceleration ≤ %s"}
	longerMove    = &Lever{Leaf: mechanics.MoveDwell, Words: "dwell ≥ %s", Up: true}
	lessThrust    = &Lever{Leaf: mechanics.MoveThrust, Words: "thrust ≤ %s"}
	lessPayload   = &Lever{Leaf: mechanics.MovePayload, Words: "payload ≤ %s"}
	lighter       = &Lever{Leaf: mechanics.Mass, Words: "mass ≤ %s"}
	shorterSpan   = &Lever{Leaf: mechanics.Span, Words: "span ≤ %s"}
	longerSpan    = &Lever{Leaf: mechanics.Span, Words: "span ≥ %s", Up: true}
	longerPush    = &Lever{Leaf: mechanics.LoadedLengthGiven, Words: "loaded length ≥ %s", Up: true}
	shorterPush   = &Lever{Leaf: mechanics.LoadedLengthGiven, Words: "loaded length ≤ %s"}
	higherLead    = &Lever{Leaf: mechanics.Lead, Words: "lead ≥ %s", Up: true, Steps: tables.PreferredLeads}
	lowerLead     = &Lever{Leaf: mechanics.Lead, Words: "lead ≤ %s", Steps: tables.PreferredLeads}
	thicker       = &Lever{Leaf: mechanics.RootDiameter, Words: "root diameter ≥ %s", Up: true}
	higherCa      = &Lever{Leaf: mechanics.DynamicRating, Words: "dynamic rating ≥ %s", Up: true}
	higherC0a     = &Lever{Leaf: mechanics.StaticRating, Words: "static rating ≥ %s", Up: true}
	lessLife      = &Lever{Leaf: mechanics.ServiceLife, Words: "service life ≤ %s"}
	fewerHours    = &Lever{Leaf: mechanics.HoursPerDay, Words: "hours per day ≤ %s"}
	fasterMotor   = &Lever{Leaf: mechanics.MotorMaxSpeed, Words: "motor speed ≥ %s", Up: true}
	lowerRatio    = &Lever{Leaf: mechanics.Ratio, Words: "ratio ≤ %s"}
	higherRatio   = &Lever{Leaf: mechanics.Ratio, Words: "ratio ≥ %s", Up: true}
	lessPreload   = &Lever{Leaf: mechanics.Preload, Words: "preload ≤ %s"}
	morePreload   = &Lever{Leaf: mechanics.Preload, Words: "preload ≥ %s", Up: true}
	farFixed      = &Lever{Leaf: mechanics.FarEnd, Words: "far end fixed", To: mechanics.FixedEnd}
	farHeld       = &Lever{Leaf: mechanics.FarEnd, Words: "far end supported", To: mechanics.SupportedEnd}
	driveFixed    = &Lever{Leaf: mechanics.DriveEnd, Words: "drive end fixed", To: mechanics.FixedEnd}
	shorterRamp   = &Lever{Leaf: mechanics.MoveRamp, Words: "ramp ≤ %s"}
	sharper       = &Lever{Leaf: mechanics.MoveAcceleration, Words: "acceleration ≥ %s", Up: true}
	regrease      = &Lever{Leaf: mechanics.RegreaseEvery, Words: "regrease every %s"}
	moreRoom      = &Lever{Leaf: mechanics.Overtravel, Words: "overtravel ≥ %s", Up: true}
	harderStop    = &Lever{Leaf: mechanics.EmergencyDecel, Words: "emergency deceleration ≥ %s", Up: true}
	gentleStop    = &Lever{Leaf: mechanics.EmergencyDecel, Words: "emergency deceleration ≤ %s"}
	longerShaft   = &Lever{Leaf: mechanics.ShaftLength, Words: "length ≥ %s", Up: true}
	shorterBar    = &Lever{Leaf: mechanics.ShaftLength, Words: "length ≤ %s"}
	thickerD0     = &Lever{Leaf: mechanics.NominalDiameter, Words: "nominal diameter ≥ %s", Up: true, Steps: tables.PreferredDiameters}
	moreStroke    = &Lever{Leaf: mechanics.Stroke, Words: "stroke ≥ %s", Up: true, If: closes}
	moreBrake     = &Lever{Leaf: mechanics.BrakeGiven, Words: "brake torque on the screw ≥ %s", Up: true, Create: true}
	motorBrake    = &Lever{Leaf: mechanics.MotorBrake, Words: "motor brake ≥ %s", Up: true}
	balance       = &Lever{Leaf: mechanics.Counterbalance, Words: "counterbalance ≥ %s", Up: true}
	limitTorque   = &Lever{Leaf: mechanics.TorqueLimit, Words: "torque limit of the drive ≤ %s", From: mechanics.MotorPeakTorque}
	lessHold      = &Lever{Leaf: mechanics.MoveHold, Words: "hold ≤ %s"}
	slowerEnd     = &Lever{Leaf: mechanics.EndSpeed, Words: "speed against the end ≤ %s"}
	softerEnd     = &Lever{Leaf: mechanics.EndStiffness, Words: "stiffness of the end ≤ %s"}
	soonerBrake   = &Lever{Leaf: mechanics.BrakeDelayGiven, Words: "brake delay ≤ %s"}
	soonerStop    = &Lever{Leaf: mechanics.ReactionTimeGiven, Words: "reaction time ≤ %s"}
	moreTorque    = &Lever{Leaf: mechanics.MotorTorque, Words: "rated motor torque ≥ %s", Up: true}
	morePeak      = &Lever{Leaf: mechanics.MotorPeakTorque, Words: "peak motor torque ≥ %s", Up: true}
	moreRotor     = &Lever{Leaf: mechanics.RotorInertia, Words: "rotor inertia ≥ %s", Up: true}
	strongerCross = &Lever{Leaf: mechanics.CrossRating, Words: "torque between the screws ≥ %s", Up: true}
	strongerGear  = &Lever{Leaf: mechanics.GearTorque, Words: "torque of belt or gear ≥ %s", Up: true}
	fasterGear    = &Lever{Leaf: mechanics.GearSpeedGiven, Words: "speed of belt or gear ≥ %s", Up: true}
	coupler       = &Lever{Leaf: mechanics.CouplingTorque, Words: "coupling torque ≥ %s", Up: true}
	cooler        = &Lever{Leaf: mechanics.TemperatureRise, Words: "temperature rise ≤ %s"}
	stifferNut    = &Lever{Leaf: mechanics.NutStiffness, Words: "nut stiffness ≥ %s", Up: true}
	stifferEnd    = &Lever{Leaf: mechanics.DriveSupportStiffness, Words: "bearing stiffness at the driven end ≥ %s", Up: true}
	lessPlay      = &Lever{Leaf: mechanics.Backlash, Words: "backlash ≤ %s"}
	lessGearPlay  = &Lever{Leaf: mechanics.GearPlayGiven, Words: "play of belt or gear ≤ %s"}
	lessScatter   = &Lever{Leaf: mechanics.ScatterGiven, Words: "scatter ≤ %s"}
	finerScale    = &Lever{Leaf: mechanics.Scale, Words: "accuracy of the scale ≤ %s"}
	stifferLink   = &Lever{Leaf: mechanics.CouplingTwistGiven, Words: "torsional stiffness of the coupling ≥ %s", Up: true}
	lessFriction  = &Lever{Leaf: mechanics.Friction, Words: "guide friction ≤ %s"}
	lessDrag      = &Lever{Leaf: mechanics.Drag, Words: "drag ≤ %s"}
	bearingC      = &Lever{Leaf: mechanics.DriveSupportDynamic, Words: "bearing rating at the driven end ≥ %s", Up: true}
	bearingC0     = &Lever{Leaf: mechanics.DriveSupportStatic, Words: "static bearing rating at the driven end ≥ %s", Up: true}
	lessStretch   = &Lever{Leaf: mechanics.Stretch, Words: "stretch ≤ %s"}
	lessAsked     = &Lever{Leaf: mechanics.Bandwidth, Words: "bandwidth ≤ %s"}
	oneSide       = &Lever{Leaf: mechanics.Approach, Words: "positions approached from one side", To: mechanics.OneSide}
)

// held are the levers on how the shaft is held, mildest first.
var held = []*Lever{farHeld, farFixed, driveFixed}

// finer are the accuracy grades to go to, mildest first.
var finer = func() []*Lever {
	var out []*Lever
	for _, g := range []string{"C7", "C5", "C3", "C1", "C0"} {
		i := slices.Index(mechanics.GradeWords, g)
		out = append(out, &Lever{Leaf: mechanics.Grade, Words: "grade " + g, To: float64(i), If: func(v *View) bool {
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
func closes(v *View) bool { return !(v.V(mechanics.CycleOffset) > 1e-6) }

func levers(groups ...any) []*Lever {
	var out []*Lever
	for _, g := range groups {
		switch g := g.(type) {
		case *Lever:
			out = append(out, g)
		case []*Lever:
			out = append(out, g...)
		}
	}
	return out
}
