package rules

import (
	"fmt"

	"trammel/spec"
)

var gearRatio = Rule{
	Name:     "gear-ratio",
	Question: "Is the ratio of a declared belt or gear declared too?",
	Doc: `What only a belt or gear has (its efficiency, inertia, torque, speed, play, the pull of the
belt) says that one stands between motor and screw. Without drive.ratio it counts as 1, and
torque, speed and inertia at the motor are those of a direct drive: wrong by the ratio,
inertia by its square. A belt of 1 : 1 is declared as ratio = 1.`,
	Source:   "elementary logic",
	Severity: Error,
	Reasons:  []Reason{{"nothing is declared that only a belt or gear has", func(v *View) bool { return gearLine(v) == nil }}},
	Check: func(v *View) []Fault {
		x := gearLine(v)
		if x == nil || v.Axis.Get(field("drive.ratio")) == nil || v.Axis.Get(field("drive.ratio")).Origin != spec.Default {
			return nil
		}
		return []Fault{{At: x.Field, Move: -1, Enters: fields("drive.ratio"),
			Message: fmt.Sprintf("%s %s is declared, and no ratio: write ratio, ratio = 1 for a belt of 1 : 1", words(x.Field.Name), v.Text(x))}}
	},
}

// gearLines are the lines that only a belt or gear has.
var gearLines = fields("drive.gear_efficiency", "drive.gear_inertia", "drive.gear_torque", "drive.gear_speed", "drive.backlash", "drive.belt_pull")

// gearLine is a declared value that only a belt or gear has, nil for none.
func gearLine(v *View) *spec.Value {
	for _, f := range gearLines {
		if v.Declared(f) {
			return v.Value(f)
		}
	}
	return nil
}
