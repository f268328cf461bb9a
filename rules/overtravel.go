package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var overtravel = judge.Rule{
	Name:     "overtravel",
	Question: "Does an emergency stop end within the overtravel?",
	Doc: `From top speed at the end of the stroke the axis runs on until the stop acts, and then
until it stands still. The overtravel must be longer than that, or the carriage hits the end.
The deceleration is the declared one, or what the motor or the brakes can reach where that is
less (see emergency-stop). Where the brakes stop it, nothing drives or holds the axis before
they engage (motion.reaction_time and drive.brake_delay): weight and a process that helps make
it faster.

Where it is not known what stops the axis and how hard, the stop with the declared deceleration
must fit at least; whether it does is then not judged. Limit switches and buffers are not
included: declare their delay as motion.reaction_time.`,
	Source:   "kinematics; Newton's law",
	Severity: judge.Error,
	Tests: []judge.Test{
		{
			Limit:   judge.Limit{Name: "declared", Doc: "overtravel over stopping distance with the declared deceleration", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
			Value:   m.Overtravel,
			Against: m.StoppingDistance,
			Needs:   quantities(m.TopSpeed),
			Also:    quantities(m.RunOn),
			Reasons: []judge.Reason{{Words: "the deceleration that can be reached is known", If: func(v *judge.View) bool { return v.Calc.Known(m.RunOn) }}},
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("emergency stop from %s needs %s; overtravel is %s", v.F(m.TopSpeed), v.F(m.StoppingDistance), v.F(m.Overtravel))
			},
			At:         at("motion.overtravel"),
			Inputs:     quantities(m.EmergencyDecel, m.ReactionTime),
			Parameters: parameters(moreRoom, slower, harderStop),
		},
		{
			Limit:   judge.Limit{Name: "limit", Doc: "overtravel over the distance of the stop that can be reached", Kind: unit.None, Sense: judge.AtLeast, Default: 1},
			Value:   m.Overtravel,
			Against: m.RunOn,
			Needs:   quantities(m.TopSpeed, m.StopReached, m.StopFall, m.StopDelay, m.EmergencyDecel),
			Say: func(v *judge.View, _ float64) string {
				if math.IsInf(v.V(m.RunOn), 1) {
					return fmt.Sprintf("emergency stop from %s does not end within overtravel %s: %s, too little to stop the axis", v.F(m.TopSpeed), v.F(m.Overtravel), stopper(v))
				}
				return fmt.Sprintf("emergency stop from %s needs %s; overtravel is %s%s", v.F(m.TopSpeed), v.F(m.RunOn), v.F(m.Overtravel), whyFar(v))
			},
			At:         at("motion.overtravel"),
			Inputs:     quantities(m.EmergencyDecel, m.ReactionTime),
			More:       stoppers,
			Parameters: parameters(moreRoom, slower, harderStop, soonerStop, soonerBrake, morePeak, motorBrake),
		},
	},
}

// whyFar says why a stop is longer than declared.
func whyFar(v *judge.View) string {
	why := ""
	if v.V(m.StopReached) < v.V(m.EmergencyDecel) {
		why = fmt.Sprintf("; %s: deceleration %s instead of %s", stopper(v), v.F(m.StopReached), v.F(m.EmergencyDecel))
	}
	if v.V(m.StopFall) > 0 {
		why += fmt.Sprintf("; it speeds up at %s for %s before the brakes engage", v.F(m.StopFall), v.F(m.StopDelay))
	} else if v.V(m.StopDelay) > 0 {
		why += fmt.Sprintf("; %s of it before deceleration starts", v.Show(v.V(m.TopSpeed)*v.V(m.StopDelay), unit.Length))
	}
	return why
}
