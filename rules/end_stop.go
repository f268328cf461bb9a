package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// against says with what the axis runs against an end.
func against(v *judge.View) string {
	what := fmt.Sprintf("motor torque %s pushes against an end stop with %s", v.F(m.StallTorque), v.F(m.EndForce))
	if v.V(m.EndSpeed) > 0 {
		what = fmt.Sprintf("motor torque %s runs against an end stop at %s with %s", v.F(m.StallTorque), v.F(m.EndSpeed), v.F(m.EndForce))
	}
	return what
}

var endStop = judge.Rule{
	Name:     "end-stop",
	Question: "Do screw and bearings survive when the axis runs against an end stop?",
	Doc: `Sooner or later a carriage runs against an obstacle and the motor keeps pushing: a lost
reference, a tool in the way, homing on an end. The thread turns the motor's peak torque, or
drive.torque_limit, into an axial force at its best efficiency. Static ratings of screw and
fixed-side bearing, buckling load and yield strength of the root section must withstand it once.

motion.end_speed, the speed against an end, adds the energy of screw and rotor and the work of
the motor, taken up by the axial stiffness and that of the end (motion.end_stiffness, rigid if
not declared). The energy of the carriage goes into the end. No screw survives this at full
travel speed; overtravel and buffers prevent it.

Bolts of nut and bearing housings are not judged. A torque limit is the usual fix.`,
	Source:   "statics of the thread, balance of energy; ISO 76; Euler and Johnson; the limits: common practice, no source",
	Severity: judge.Warning,
	Facts:    judge.Fields("drive.motor"),
	Tests: []judge.Test{
		{
			Limit: judge.Limit{Name: "static", Doc: "static rating over the force against an end", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
			Value: m.EndStaticSafety,
			Needs: quantities(m.EndForce, m.StallTorque, m.ModifiedStaticRating),
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("%s; effective static rating %s: safety %s, minimum %s", against(v), v.F(m.ModifiedStaticRating), v.Ratio(v.V(m.EndStaticSafety)), v.Ratio(limit))
			},
			At: atLimit, Inputs: endInputs(m.StaticRating, m.Grade), Parameters: parameters(limitTorque, slowerEnd, softerEnd, higherC0a),
		},
		{
			Limit: judge.Limit{Name: "buckling", Doc: "buckling load over the force against an end", Kind: unit.None, Sense: judge.AtLeast, Default: 1.5},
			Value: m.EndBuckling,
			Needs: quantities(m.EndForce, m.StallTorque, m.Buckling),
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("%s; buckling load %s: safety %s, minimum %s", against(v), v.F(m.Buckling), v.Ratio(v.V(m.EndBuckling)), v.Ratio(limit))
			},
			At: atLimit, Inputs: endInputs(m.RootDiameter, m.Span, m.LoadedLengthGiven, m.DriveEnd, m.FarEnd),
			Parameters: parameters(limitTorque, slowerEnd, softerEnd, thicker, held),
		},
		{
			Limit: judge.Limit{Name: "bearing", Doc: "static rating of the fixed-side bearing over the force against an end", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
			Value: m.EndSupport,
			Needs: quantities(m.EndForce, m.StallTorque, m.SupportStatic),
			Reasons: []judge.Reason{{Words: "no end is fixed (see support-kind)", If: func(v *judge.View) bool {
				return v.V(m.DriveEnd) > m.FixedEnd && v.V(m.FarEnd) > m.FixedEnd
			}}},
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("%s; static rating of the fixed-side bearing %s: safety %s, minimum %s", against(v), v.F(m.SupportStatic), v.Ratio(v.V(m.EndSupport)), v.Ratio(limit))
			},
			At: atLimit, Inputs: endInputs(m.DriveSupportStatic, m.FarSupportStatic), Parameters: parameters(limitTorque, slowerEnd, softerEnd, bearingC0),
		},
		{
			Limit:   judge.Limit{Name: "stress", Doc: "equivalent stress in the root section over yield strength", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
			Value:   m.EndStress,
			Against: m.YieldStrength,
			Needs:   quantities(m.EndForce, m.StallTorque),
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("%s; stress %s in the root section exceeds the yield strength %s", against(v), v.F(m.EndStress), v.F(m.YieldStrength))
			},
			At: atLimit, Inputs: endInputs(m.RootDiameter, m.YieldStrength), Parameters: parameters(limitTorque, slowerEnd, softerEnd, thicker),
		},
	},
}

// endInputs is what takes part in all tests of an end, and more.
func endInputs(more ...*m.Quantity) []*m.Quantity {
	return append(more, m.MotorPeakTorque, m.TorqueLimit, m.Ratio, m.GearEfficiency, m.Lead, m.EfficiencyGiven, m.EndSpeed, m.EndStiffness)
}

// atLimit points at the torque limit of the drive, or at its motor.
func atLimit(v *judge.View) (*spec.Field, int) {
	if v.Declared(judge.Field("drive.torque_limit")) {
		return judge.Field("drive.torque_limit"), -1
	}
	return judge.Field("drive.motor"), -1
}
