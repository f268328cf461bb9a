package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

// tooClose is how much of the ball's diameter the groove must leave room for.
// Tables round ball circles, and some give the nominal diameter for one, which
// eats up a part.
const tooClose = 0.85

var partContradiction = judge.Rule{
	Name:     "part-contradiction",
	Question: "Do the values of a part agree with each other?",
	Doc: `Some values of a part contradict each other, whatever its maker: a typing error, or two
columns of a table exchanged. Every axis that uses the part would be judged by them.

- Screw: a root diameter of the nominal diameter or more; a ball circle of the root diameter or
  less; balls that reach below the root (root diameter above the ball circle less 85 % of the
  ball, the rest being left for rounded tables and for a nominal diameter given as ball circle);
  neighbouring turns of balls that overlap: ball diameter of (lead / starts) · cos φ or more,
  one start where none are given.
- Motor: a peak torque below the rated torque; a rated speed above the maximum speed; a peak
  torque at the maximum speed above the peak torque.
- Grease: a minimum temperature equal to or above the maximum. Environment: a minimum temperature
  above the maximum.
- Screw, where both are given: an efficiency above the one its thread friction leaves, (1 −
  μ·tan φ)/(1 + μ/tan φ), by more than 0.03, or below three quarters of it. A maker's efficiency
  includes wipers and grease, so a somewhat lower one is plausible.

Nominal values are used. What is not given is not judged.`,
	Source:   "geometry, and the meaning of the words",
	Severity: judge.Error,
	Part: func(p *judge.PartView) []judge.PartFault {
		var out []judge.PartFault
		say := func(at string, others []string, format string, args ...any) {
			out = append(out, judge.PartFault{At: at, Inputs: others, Message: fmt.Sprintf(format, args...)})
		}
		// against says that at must not exceed other.
		against := func(at, other string) {
			if judge.Above(p.Num(at), p.Num(other)) {
				say(at, []string{other}, "%s of %s exceeds its %s", p.Say(at), p.Ref(), p.Say(other))
			}
		}
		switch p.Kind {
		case "screw":
			root, circle, ball := p.Num("root_diameter"), p.Num("ball_circle_diameter"), p.Num("ball_diameter")
			if judge.Reaches(root, p.Num("nominal_diameter")) {
				say("root_diameter", []string{"nominal_diameter"}, "%s of %s is not smaller than its %s", p.Say("root_diameter"), p.Ref(), p.Say("nominal_diameter"))
			}
			switch {
			case judge.Reaches(root, circle):
				say("ball_circle_diameter", []string{"root_diameter"}, "%s of %s is not larger than its %s", p.Say("ball_circle_diameter"), p.Ref(), p.Say("root_diameter"))
			case judge.Above(root, circle-tooClose*ball):
				say("ball_diameter", []string{"root_diameter", "ball_circle_diameter"}, "balls of %s do not fit between %s and %s of %s",
					p.Text("ball_diameter"), p.Say("root_diameter"), p.Say("ball_circle_diameter"), p.Ref())
			}
			if d, from := ballCircle(p); judge.Reaches(ball, turns(p, d)) {
				say("ball_diameter", []string{"lead", "starts", from}, "balls of %s in %s overlap between turns: %s leaves %s for each",
					p.Text("ball_diameter"), p.Ref(), sayLead(p), length(p, turns(p, d)))
			}
			out = append(out, friction(p)...)
		case "motor":
			against("rated_torque", "peak_torque")
			against("torque_at_max_speed", "peak_torque")
			against("rated_speed", "max_speed")
		case "environment":
			against("min_temperature", "max_temperature")
		case "grease":
			against("min_temperature", "max_temperature")
			if p.Num("min_temperature") == p.Num("max_temperature") {
				say("min_temperature", []string{"max_temperature"}, "%s of %s equals its %s: it has no working range", p.Say("min_temperature"), p.Ref(), p.Say("max_temperature"))
			}
		}
		return out
	},
}

// friction compares an efficiency with the friction of the thread, where both
// are given.
func friction(v *judge.PartView) []judge.PartFault {
	d, from := ballCircle(v)
	mu, eta, phi := v.Num("friction"), v.Num("efficiency"), m.AngleOfLead(v.Num("lead"), d)
	follows := m.DrivingEfficiency(phi, mu)
	if !(eta > follows+0.03 || eta < 0.75*follows) {
		return nil
	}
	is, other := v.Apart(eta, follows, unit.None)
	return []judge.PartFault{{At: "efficiency", Inputs: []string{"friction", "lead", from}, Message: fmt.Sprintf(
		"efficiency %s of %s contradicts its %s, which gives %s at its lead angle", is, v.Ref(), v.Say("friction"), other)}}
}

// ballCircle is the ball pitch circle of a screw, and what it rests on: the nominal
// diameter where none is given.
func ballCircle(v *judge.PartView) (d float64, from string) {
	if v.Has("ball_circle_diameter") {
		return v.Num("ball_circle_diameter"), "ball_circle_diameter"
	}
	return v.Num("nominal_diameter"), "nominal_diameter"
}

// turns is the distance between neighbouring turns of balls of a screw with a
// ball circle, one start where none are given.
func turns(v *judge.PartView, circle float64) float64 {
	starts := v.Num("starts")
	if math.IsNaN(starts) {
		starts = 1
	}
	return m.TurnDistance(v.Num("lead"), circle, starts)
}

func sayLead(v *judge.PartView) string {
	s := v.Say("lead")
	if v.Has("starts") {
		s += " with starts " + v.Text("starts")
	}
	return s
}
