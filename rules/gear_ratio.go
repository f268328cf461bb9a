package rules

import (
	"fmt"

	"trammel/rules/judge"
	"trammel/spec"
)

var gearRatio = judge.Rule{
	Name:     "gear-ratio",
	Question: "Is the ratio of a declared belt or gear declared too?",
	Doc: `A value that only a belt or gear has (its efficiency, inertia, torque, speed, play, belt
pull) shows that one sits between motor and screw. Without drive.ratio the ratio is taken as 1, and
torque, speed and inertia at the motor are those of a direct drive: wrong by the ratio,
inertia by its square. A belt of 1 : 1 is declared as ratio = 1.`,
	Source:   "elementary logic",
	Severity: judge.Error,
	Reasons:  []judge.Reason{{Words: "no value of a belt or gear is declared", If: func(v *judge.View) bool { return gearLine(v) == nil }}},
	Check: func(v *judge.View) []judge.Fault {
		x := gearLine(v)
		if x == nil || v.Axis.Get(judge.Field("drive.ratio")) == nil || v.Axis.Get(judge.Field("drive.ratio")).Origin != spec.Default {
			return nil
		}
		return []judge.Fault{{At: x.Field, Move: -1, Inputs: judge.Fields("drive.ratio"),
			Message: fmt.Sprintf("%s %s is declared without a ratio: declare ratio (ratio = 1 for a 1 : 1 belt)", judge.Readable(x.Field.Name), v.Text(x))}}
	},
}

// gearLines are the lines that only a belt or gear has.
var gearLines = judge.Fields("drive.gear_efficiency", "drive.gear_inertia", "drive.gear_torque", "drive.gear_speed", "drive.backlash", "drive.belt_pull")

// gearLine is a declared value that only a belt or gear has, nil for none.
func gearLine(v *judge.View) *spec.Value {
	for _, f := range gearLines {
		if v.Declared(f) {
			return v.Value(f)
		}
	}
	return nil
}
