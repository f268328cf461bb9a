package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var repeatability = judge.Rule{
	Name:     "repeatability",
	Question: "Do play and lost motion allow the required repeatability?",
	Doc: `A position approached from both sides scatters by the lost motion: the play of nut and of
belt or gear (drive.backlash), and twice the friction that changes sign on reversal over the
axial stiffness including torsion of shaft and coupling. Half of it is compared with the
required repeatability, which is half the band.

Where positions are approached from one side only (accuracy.approach = "one-side") the lost
motion does not matter. What is left is scatter of friction, sensor and drive, which no formula
gives: accuracy.scatter, as measured. Without it ±0.2 to ±2 µm are assumed: a requirement
within that range is not judged, one below it fails.`,
	Source:   "common practice, no source",
	Severity: judge.Error,
	Reasons:  []judge.Reason{required("accuracy.repeatability", "repeatability")},
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "half the lost motion, or the scatter from one side, over the required repeatability", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
		Value:   m.RepeatError,
		Against: m.Repeatability,
		Say: func(v *judge.View, _ float64) string {
			if v.V(m.Approach) == m.OneSide {
				return fmt.Sprintf("positions approached from one side scatter by ±%s; required ±%s", v.F(m.RepeatError), v.F(m.Repeatability))
			}
			return fmt.Sprintf("lost motion %s (play %s, friction %s on stiffness %s) gives ±%s; required ±%s",
				v.F(m.LostMotion), wholePlay(v), v.F(m.ReversalFriction), v.F(m.DriveRigidity), v.F(m.RepeatError), v.F(m.Repeatability))
		},
		At:         at("accuracy.repeatability"),
		Inputs:     quantities(m.Backlash, m.Preload, m.GearPlayGiven, m.ScatterGiven, m.CouplingTwistGiven, m.Friction, m.Drag),
		Parameters: parameters(lessPlay, lessGearPlay, lessScatter, lessFriction, lessDrag, stifferNut, stifferEnd, stifferLink, oneSide),
	}},
}

// wholePlay is the play of nut and drive together, as it is printed.
func wholePlay(v *judge.View) string {
	play := v.V(m.Play)
	if drive, ok := v.Calc.Value(m.DrivePlay); ok {
		play += drive
	}
	return v.Show(play, unit.Length)
}
