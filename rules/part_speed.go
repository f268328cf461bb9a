package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

// turnsAt is a test of the speed at which a part turns.
func turnsAt(limit, what, ref string, value, against *m.Quantity, r judge.Reason, also ...*m.Quantity) judge.Test {
	return judge.Test{
		Limit:   judge.Limit{Name: limit, Doc: "speed of the screw over the maximum speed of the " + what, Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
		Value:   value,
		Against: against,
		Also:    also,
		Reasons: []judge.Reason{r},
		Say: func(v *judge.View, limit float64) string {
			return fmt.Sprintf("screw speed %s exceeds the maximum speed %s of the %s", v.F(value), v.Show(limit*v.V(against), unit.RotationSpeed), what)
		},
		At:         at(ref),
		Inputs:     quantities(m.MoveSpeed, m.Lead, m.NominalDiameter),
		Parameters: parameters(slower, higherLead),
	}
}

var partSpeed = judge.Rule{
	Name:     "part-speed",
	Question: "Are supports and coupling rated for the screw speed?",
	Doc: `The highest speed of the screw in the cycle against max_speed of the supports at both
ends and of the coupling. Above it support bearings run hot or lose their grease, and a coupling
vibrates.

A maximum speed that a part does not declare is assumed as a range: greased bearings of supports
turn at 60,000 to 300,000 mm·rpm (bore times speed, the nominal diameter of the screw where no
bore is given), couplings at 4000 to 20,000 rpm. Below the lower end the part passes; between
the ends the rule is not judged and says which max_speed is needed. Where the nut turns, the
shaft stands still in its supports.`,
	Source:   "the part's data; the ranges: common practice, no source",
	Severity: judge.Error,
	Tests: []judge.Test{
		turnsAt("drive_support", "support of the driven end", "supports.drive_end_part", m.MaxRotation, m.DriveSupportSpeed,
			judge.Reason{Words: "no support of the driven end is named, or the shaft stands still", If: standsOrNone("supports.drive_end_part")}, m.Turning),
		turnsAt("far_support", "support of the far end", "supports.far_end_part", m.MaxRotation, m.FarSupportSpeed,
			judge.Reason{Words: "no support of the far end is named, or the shaft stands still", If: standsOrNone("supports.far_end_part")}),
		turnsAt("coupling", "coupling", "drive.coupling", m.MaxRotation, m.CouplingSpeed, judge.Reason{Words: "no coupling is named", If: undeclared("drive.coupling")}),
	},
}

// standsOrNone is for questions about a support in which a shaft turns.
func standsOrNone(path string) func(*judge.View) bool {
	none := undeclared(path)
	return func(v *judge.View) bool { return none(v) || v.V(m.Turning) == m.NutTurns }
}
